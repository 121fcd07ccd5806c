//! A plan as it is handed to a scheduling system.

use super::tasks::Item;
use crate::compute::calendar::WorkMinutes;
use crate::compute::labor::{CrewOut, LaborAnswer};
use crate::compute::plan::issued::{IssuedItem, IssuedPlan};
use crate::compute::plan::result::{Nature, PlannedTask, Status};
use crate::compute::plan::{HoldKind, Plan, TaskId, TaskKind};
use crate::domain::answers::BookUsed;
use crate::domain::lines::Check;
use crate::domain::words::Task;
use crate::units::{Quantity, Unit};
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
    /// People at work by day, crew and trade.
    pub crew_loading: Vec<LoadOut>,
    /// Stretches for which each machine is on site.
    pub machines: Vec<MachineOut>,
    /// Where the job stops until something has happened.
    pub hold_points: Vec<HoldOut>,
    /// What the reader must know.
    pub cautions: Vec<String>,
    /// Checks of methods against depth and soil, failed ones first.
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
    /// Always `finish_to_start`: begins when the other is finished.
    pub kind: &'static str,
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
    /// `work`, `wait` or `milestone`.
    pub kind: &'static str,
    /// `planned`, `under_way` or `finished`.
    pub status: &'static str,
    /// Rises with every change of its days or its standing; 0 in a plan that is not kept.
    pub sequence: u32,
    /// Tasks of the hours it stands for.
    pub work_of: Vec<Task>,
    /// Run or line it is about.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub part: Option<String>,
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
    /// Whether it is critical.
    pub critical: bool,
    /// Working time for which it waits for people or machines.
    pub waits_for_resources: Quantity,
    /// Tasks whose people or machines it waits for.
    pub after_resources_of: Vec<String>,
    /// The numbers its dates came from.
    pub basis: String,
}

/// People at work on one day.
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
    /// Person-hours used.
    pub used: Quantity,
    /// Person-hours there are.
    pub available: Quantity,
    /// Most people at work at once.
    pub peak_people: u32,
}

/// A stretch for which a machine is on site.
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
    /// `call_before_digging`, `inspection_before_pour`, `wheels_may_cross` or `other`.
    pub kind: &'static str,
    /// Id of the task it belongs to.
    pub task: String,
    /// Rises with every change of its day or its standing; 0 in a plan that is not kept.
    pub sequence: u32,
    /// The planned day of it: of the call, of the inspection, of the end of the cure.
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

fn hours(minutes: WorkMinutes) -> Quantity {
    Quantity::decimal(
        rust_decimal::Decimal::from(minutes.minutes()) / rust_decimal::Decimal::from(60),
        Unit::Hr,
        4,
    )
}

fn kind(nature: Nature) -> &'static str {
    match nature {
        Nature::Work => "work",
        Nature::Wait => "wait",
        Nature::Milestone => "milestone",
    }
}

fn status(status: Status) -> &'static str {
    match status {
        Status::Planned => "planned",
        Status::UnderWay => "under_way",
        Status::Finished => "finished",
    }
}

/// What stands around a plan.
#[derive(Debug)]
pub(super) struct Around<'a> {
    pub(super) price_book: BookUsed,
    pub(super) calendar: &'a str,
    pub(super) notice: &'a str,
    pub(super) labor: &'a LaborAnswer,
    pub(super) cautions: Vec<String>,
}

pub(super) fn answer(plan: &Plan, items: &[Item], around: Around<'_>) -> PlanAnswer {
    let Around { price_book, calendar, notice, labor, cautions } = around;
    let mut all: Vec<String> = plan.cautions.iter().map(ToString::to_string).collect();
    all.extend(cautions);
    let mut checks = labor.checks.clone();
    checks.sort_by_key(|c| std::cmp::Reverse(c.outcome));
    let mut days: Vec<_> = plan.crew_loading.iter().map(|l| l.date).collect();
    days.dedup();
    PlanAnswer {
        engine: crate::compute::ENGINE,
        price_book,
        calendar: calendar.to_owned(),
        notice_calendar: notice.to_owned(),
        start: plan.start.to_string(),
        finish: plan.finish.to_string(),
        finish_without_limits: plan.unlimited_finish.to_string(),
        crew_days: days.len(),
        wish: plan.wish.map(|w| WishOut {
            wished: w.wished.to_string(),
            planned: w.planned.to_string(),
            working_days_to_spare: w.working_days_to_spare,
        }),
        tasks: items.iter().filter_map(|i| Some(task_out(i, plan.task(&i.task.id)?, labor))).collect(),
        critical_path: plan.critical_path.iter().map(ToString::to_string).collect(),
        holding_chain: plan.holding_chain.iter().map(ToString::to_string).collect(),
        crew_loading: plan
            .crew_loading
            .iter()
            .map(|l| LoadOut {
                on: l.date.to_string(),
                crew: l.crew.to_string(),
                trade: l.trade.to_string(),
                used: hours(l.used),
                available: hours(l.available),
                peak_people: l.peak_people,
            })
            .collect(),
        machines: plan
            .machine_windows
            .iter()
            .map(|w| MachineOut {
                machine: w.machine.to_string(),
                from: w.from.to_string(),
                to: w.to.to_string(),
                calendar_days: w.calendar_days,
                used_days: w.used_days,
                units: w.units,
            })
            .collect(),
        hold_points: plan
            .hold_points
            .iter()
            .map(|h| HoldOut {
                kind: match &h.kind {
                    HoldKind::CallBeforeDigging => "call_before_digging",
                    HoldKind::InspectionBeforePour => "inspection_before_pour",
                    HoldKind::WheelsMayCross => "wheels_may_cross",
                    HoldKind::Other(_) => "other",
                },
                task: h.task.to_string(),
                sequence: 0,
                on: h.on.to_string(),
                no_later_than: h.no_later_than.map(|d| d.to_string()),
                then_from: h.then_from.to_string(),
                text: h.text.clone(),
            })
            .collect(),
        cautions: all,
        checks,
        placing_rule: plan.placing_rule,
    }
}

fn task_out(item: &Item, planned: &PlannedTask, labor: &LaborAnswer) -> TaskOut {
    let (people, machines, crew_hours) = match &item.task.kind {
        TaskKind::Work(work) => (
            work.trades
                .iter()
                .map(|t| CrewOut { trade: t.trade.to_string(), count: i64::from(t.people) })
                .collect(),
            work.machines
                .iter()
                .map(|m| MachineNeedOut { machine: m.machine.to_string(), count: m.count })
                .collect(),
            Quantity::computed(work.crew_hours, Unit::Hr, 4),
        ),
        _ => (Vec::new(), Vec::new(), Quantity::new(0, 0, Unit::Hr)),
    };
    let mut basis = String::new();
    for (place, minutes) in &item.made_of {
        use std::fmt::Write as _;
        if let Some(task) = labor.tasks.get(*place) {
            let of = task.seconds.saturating_add(59) / 60;
            let _ = write!(basis, "{}: {minutes} of the {of} crew-minutes estimated; ", task.task);
        }
    }
    if let Some(why) = &item.why {
        basis.push_str(why);
        basis.push_str("; ");
    }
    basis.push_str(&planned.basis);
    TaskOut {
        id: item.task.id.to_string(),
        name: item.task.name.clone(),
        kind: kind(planned.nature),
        status: status(planned.status),
        sequence: 0,
        work_of: item.made_of.iter().filter_map(|(p, _)| Some(labor.tasks.get(*p)?.task)).collect(),
        part: item.part.clone(),
        predecessors: item
            .task
            .predecessors
            .iter()
            .map(|l| PredecessorOut { task: l.task.to_string(), kind: "finish_to_start" })
            .collect(),
        crew: planned.crew.as_ref().map(ToString::to_string),
        people,
        machines,
        crew_hours,
        start: planned.planned.start.date.to_string(),
        start_into_day: hours(planned.planned.start.into_day),
        finish: planned.planned.finish.date.to_string(),
        finish_into_day: hours(planned.planned.finish.into_day),
        early_start: planned.early.start.date.to_string(),
        early_finish: planned.early.finish.date.to_string(),
        late_start: planned.late.start.date.to_string(),
        late_finish: planned.late.finish.date.to_string(),
        total_float: hours(planned.total_float),
        free_float: hours(planned.free_float),
        critical: planned.critical,
        waits_for_resources: hours(planned.waits_for_resources),
        after_resources_of: planned.after_resources_of.iter().map(ToString::to_string).collect(),
        basis,
    }
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
