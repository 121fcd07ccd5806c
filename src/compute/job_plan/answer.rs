//! A plan as it is handed to a scheduling system.

use super::words::{PlanHoldKind, PlanLinkKind, PlanTaskKind, PlanTaskStatus};
use crate::compute::answers::BookUsed;
use crate::compute::labor::CrewOut;
use crate::compute::plan::TaskId;
use crate::compute::plan::issued::{IssuedItem, IssuedPlan};
use crate::domain::lines::Check;
use crate::domain::words::Task;
use crate::units::Quantity;
use serde::Serialize;
use std::collections::BTreeMap;
use utoipa::ToSchema;

/// A plan.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
#[schema(as = JobPlan)]
pub struct PlanAnswer {
    /// Version of the engine.
    pub engine: &'static str,
    /// Price book used.
    pub price_book: BookUsed,
    /// Calendar of the crews.
    pub calendar: String,
    /// Calendar of notices, permits and inspections.
    pub notice_calendar: String,
    /// First day of anything in the plan.
    #[schema(format = Date)]
    pub start: String,
    /// Last day of anything in the plan.
    #[schema(format = Date)]
    pub finish: String,
    /// Last day if crews and machines never ran out.
    #[schema(format = Date)]
    pub finish_without_limits: String,
    /// Days on which a crew works.
    pub crew_days: usize,
    /// The finish against the wished one.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub wish: Option<WishOut>,
    /// The tasks, each before those that wait for it.
    pub tasks: Vec<TaskOut>,
    /// Critical tasks with crews and machines unlimited, in order of time.
    pub critical_path: Vec<String>,
    /// Tasks that hold the finish with crews and machines as they are, in order of time.
    pub holding_chain: Vec<String>,
    /// People held by day, crew and trade: everybody that a task needs for all of its time. What is done as one task, such as
    /// placing and finishing concrete, holds the people of both from its beginning to its end, so that these are more than the
    /// hours paid, which are those of the labor.
    pub crew_loading: Vec<LoadOut>,
    /// Stretches for which each machine is on site.
    pub machines: Vec<MachineOut>,
    /// Where the job stops until something has happened.
    pub hold_points: Vec<HoldOut>,
    /// What the reader must know.
    pub cautions: Vec<String>,
    /// Checks of methods against depth and soil and of figures of the notes, failed ones first.
    pub checks: Vec<Check>,
    /// How tasks were placed.
    pub placing_rule: &'static str,
}

/// The finish against the wished one.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
#[schema(as = PlanWish)]
pub struct WishOut {
    /// Wished last day.
    #[schema(format = Date)]
    pub wished: String,
    /// Planned last day.
    #[schema(format = Date)]
    pub planned: String,
    /// Working days to spare; negative when late.
    pub working_days_to_spare: i64,
}

/// A task that must be finished before.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
#[schema(as = PlanPredecessor)]
pub struct PredecessorOut {
    /// Id of the task.
    pub task: String,
    /// How it goes before.
    pub kind: PlanLinkKind,
}

/// A machine that a task needs.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
#[schema(as = PlanMachineNeed)]
pub struct MachineNeedOut {
    /// Machine code.
    pub machine: String,
    /// How many.
    pub count: u32,
}

/// A task with its dates.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
#[schema(as = PlanTask)]
pub struct TaskOut {
    /// Its id, the same for the life of the job.
    pub id: String,
    /// What people call it.
    pub name: String,
    /// What it is.
    pub kind: PlanTaskKind,
    /// How far it is.
    pub status: PlanTaskStatus,
    /// Rises with every change of its days or its standing; 0 in a plan that is not kept.
    pub sequence: u32,
    /// Tasks of the hours it stands for.
    pub work_of: Vec<Task>,
    /// Runs and lines it is about, in words; of a pour in pieces also which piece. Absent where it is about the whole job.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub part: Option<String>,
    /// Their codes, each of which records of hours take as `part`. Absent where `part` is, and in plans kept before there were any.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub part_codes: Vec<String>,
    /// What must be finished before.
    pub predecessors: Vec<PredecessorOut>,
    /// Crew that does it.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub crew: Option<String>,
    /// People by trade for all of its time.
    pub people: Vec<CrewOut>,
    /// Machines for all of its time.
    pub machines: Vec<MachineNeedOut>,
    /// Hours of the crew.
    pub crew_hours: Quantity,
    /// First day.
    #[schema(format = Date)]
    pub start: String,
    /// Working time of the first day before it begins.
    pub start_into_day: Quantity,
    /// Last day.
    #[schema(format = Date)]
    pub finish: String,
    /// Working time of the last day before it ends.
    pub finish_into_day: Quantity,
    /// Earliest start, crews and machines unlimited.
    #[schema(format = Date)]
    pub early_start: String,
    /// Earliest finish.
    #[schema(format = Date)]
    pub early_finish: String,
    /// Latest start that keeps the unlimited finish.
    #[schema(format = Date)]
    pub late_start: String,
    /// Latest finish.
    #[schema(format = Date)]
    pub late_finish: String,
    /// Working time by which it can slip without moving the unlimited finish.
    pub total_float: Quantity,
    /// Working time by which it can slip without moving another task.
    pub free_float: Quantity,
    /// Whether it is critical: it cannot slip at all, or stands on a chain without slack to the finish, which a slip by more
    /// than a working day would move.
    pub critical: bool,
    /// Working time for which it waits for people or machines.
    pub waits_for_resources: Quantity,
    /// Tasks whose people or machines it waits for.
    pub after_resources_of: Vec<String>,
    /// Rule its time follows; `GET /v1/rules` lists them all. Absent of what takes no time, and in plans kept before there were any.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub rule: Option<&'static str>,
    /// The numbers its dates came from.
    pub basis: String,
}

/// People held on one day.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
#[schema(as = PlanCrewLoad)]
pub struct LoadOut {
    /// The day.
    #[schema(format = Date)]
    pub on: String,
    /// Crew.
    pub crew: String,
    /// Trade.
    pub trade: String,
    /// Person-hours held; not the hours paid, see `crew_loading`.
    pub used: Quantity,
    /// Person-hours there are.
    pub available: Quantity,
    /// Most people at work at once.
    pub peak_people: u32,
}

/// A stretch for which a machine is needed on site, closed days alone ending it; hire keeps it from one to the next where that
/// costs no more.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
#[schema(as = PlanMachineDays)]
pub struct MachineOut {
    /// Machine code.
    pub machine: String,
    /// First day.
    #[schema(format = Date)]
    pub from: String,
    /// Last day.
    #[schema(format = Date)]
    pub to: String,
    /// Days from first to last, both counted: what a hire by the day pays.
    pub calendar_days: u32,
    /// Days on which it is used.
    pub used_days: u32,
    /// Most of them used at once.
    pub units: u32,
}

/// A point at which the job stops until something has happened.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
#[schema(as = PlanHoldPoint)]
pub struct HoldOut {
    /// What it waits for.
    pub kind: PlanHoldKind,
    /// Id of the task it belongs to.
    pub task: String,
    /// Rises with every change of its day or its standing; 0 in a plan that is not kept.
    pub sequence: u32,
    /// The planned day of it: of the call, of the inspection, of the end of the cure by its days from the pour,
    /// whatever is reported of the cure.
    #[schema(format = Date)]
    pub on: String,
    /// The last day that keeps the plan, where it can be later.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false, format = Date)]
    pub no_later_than: Option<String>,
    /// The day from which what follows may begin.
    #[schema(format = Date)]
    pub then_from: String,
    /// The same in words.
    pub text: String,
}

impl PlanAnswer {
    /// Takes the sequence numbers of an issued plan.
    pub fn number(&mut self, issued: &IssuedPlan) {
        let of = |items: &BTreeMap<TaskId, IssuedItem>, id: &str| {
            items.iter().find(|(task, _)| task.as_str() == id).map_or(0, |(_, i)| i.sequence)
        };
        for task in &mut self.tasks {
            task.sequence = of(&issued.tasks, &task.id);
        }
        for hold in &mut self.hold_points {
            hold.sequence = of(&issued.holds, &hold.task);
        }
    }
}
