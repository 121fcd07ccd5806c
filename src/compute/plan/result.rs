//! The plan that comes out.

use jiff::civil::Date;

use super::{
    ids::{CrewId, MachineId, TaskId, TradeId},
    request::HoldKind,
};
use crate::compute::calendar::WorkMinutes;

/// A plan: dates with unlimited crews and machines (the critical path), and the dates that crews and machines
/// allow.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// First day of anything in the plan.
    pub start: Date,
    /// Last day of anything in the plan, crews and machines limited.
    pub finish: Date,
    /// Last day if crews and machines never ran out.
    pub unlimited_finish: Date,
    /// Working time from the first to the last minute, crews and machines limited.
    pub length: WorkMinutes,
    /// The tasks, in the order of the request.
    pub tasks: Vec<PlannedTask>,
    /// Critical tasks of the unlimited plan, in order of time.
    pub critical_path: Vec<TaskId>,
    /// Tasks that hold the levelled plan's finish, by link, crew or machine, in order of time.
    pub holding_chain: Vec<TaskId>,
    /// People at work by day, crew and trade.
    pub crew_loading: Vec<CrewLoad>,
    /// Stretches for which each machine is on site.
    pub machine_windows: Vec<MachineWindow>,
    /// Where the job stops until something has happened.
    pub hold_points: Vec<HoldPoint>,
    /// How the finish compares with the wish, where there is one.
    pub wish: Option<WishCheck>,
    /// What the reader must know.
    pub cautions: Vec<PlanCaution>,
    /// How tasks were placed, in words.
    pub placing_rule: &'static str,
}

impl Plan {
    /// The planned task with this id.
    pub fn task(&self, id: &TaskId) -> Option<&PlannedTask> {
        self.tasks.iter().find(|t| t.id == *id)
    }
}

/// A day and how far into its work.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Stamp {
    /// The date.
    pub date: Date,
    /// Working time of that day before this point.
    pub into_day: WorkMinutes,
}

/// Start and finish.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Dates {
    /// When it begins.
    pub start: Stamp,
    /// When it ends; the date is the last one touched.
    pub finish: Stamp,
}

/// Where a task stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Status {
    /// Not begun.
    Planned,
    /// Begun.
    UnderWay,
    /// Finished.
    Finished,
}

/// What a task turned out to be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Nature {
    /// Work of a crew or a machine.
    Work,
    /// A wait.
    Wait,
    /// A milestone.
    Milestone,
}

/// A task with its dates.
#[derive(Debug, Clone, PartialEq)]
pub struct PlannedTask {
    /// Its name for life.
    pub id: TaskId,
    /// What people call it.
    pub name: String,
    /// Work, wait or milestone.
    pub nature: Nature,
    /// Where it stands.
    pub status: Status,
    /// Dates with crews and machines limited: the plan.
    pub planned: Dates,
    /// Earliest dates, crews and machines unlimited.
    pub early: Dates,
    /// Latest dates that keep the unlimited finish.
    pub late: Dates,
    /// Working time by which the start can slip without moving the unlimited finish.
    pub total_float: WorkMinutes,
    /// Working time by which the start can slip without moving the start of a successor.
    pub free_float: WorkMinutes,
    /// Whether it lies on the critical path: no float, or a chain without slack to the finish that a slip by more than a
    /// working day would move.
    pub critical: bool,
    /// Working time of the task still to do; none for waits.
    pub work: WorkMinutes,
    /// The crew that does it.
    pub crew: Option<CrewId>,
    /// Working time for which it waits for people or machines beyond its early start.
    pub waits_for_resources: WorkMinutes,
    /// Tasks whose people or machines it waits for.
    pub after_resources_of: Vec<TaskId>,
    /// How the dates come about, to check by hand.
    pub basis: String,
}

/// People at work on one day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CrewLoad {
    /// The day.
    pub date: Date,
    /// The crew.
    pub crew: CrewId,
    /// The trade.
    pub trade: TradeId,
    /// Person-time used.
    pub used: WorkMinutes,
    /// Person-time there is.
    pub available: WorkMinutes,
    /// Most people at work at once.
    pub peak_people: u32,
}

/// A stretch for which a machine is on site.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MachineWindow {
    /// The machine.
    pub machine: MachineId,
    /// First day.
    pub from: Date,
    /// Last day.
    pub to: Date,
    /// Calendar days from first to last, both counted: what a hire by the day pays.
    pub calendar_days: u32,
    /// Days on which it is used.
    pub used_days: u32,
    /// Working time from its first use to its last, on the day on which that is longest.
    pub longest_day: WorkMinutes,
    /// Most of them used at once.
    pub units: u32,
}

/// A point at which the job stops until something has happened.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HoldPoint {
    /// What kind.
    pub kind: HoldKind,
    /// The task it belongs to.
    pub task: TaskId,
    /// The planned day of it: of the call, of the inspection, of the end of the cure by its rule.
    pub on: Date,
    /// The last day that keeps the plan, where it can be later.
    pub no_later_than: Option<Date>,
    /// The day from which what follows may begin.
    pub then_from: Date,
    /// The same in words.
    pub text: String,
}

/// The finish against the wished finish.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct WishCheck {
    /// The wished last day.
    pub wished: Date,
    /// The planned last day.
    pub planned: Date,
    /// Working days to spare; negative when late.
    pub working_days_to_spare: i64,
}

/// What the reader of a plan must know.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
#[expect(missing_docs, reason = "the message of each variant says what its fields are")]
pub enum PlanCaution {
    #[error(
        "`{task}` breaks ground but no call for utility marks comes before it; utilities must be located and marked before any digging"
    )]
    GroundWithoutMarks { task: TaskId },
    #[error(
        "the marks of `{marks}` may be relied on until {lapse}, `{task}` breaks ground until {finish}: call again before they lapse"
    )]
    MarksLapse { marks: TaskId, lapse: Date, task: TaskId, finish: Date },
    #[error(
        "`{task}` places concrete but no inspection comes before it; ask the authority whether one is needed"
    )]
    PourWithoutInspection { task: TaskId },
    #[error("`{task}` lets wheels cross but no cure comes before it")]
    WheelsWithoutCure { task: TaskId },
    #[error(
        "`{task}` was begun before `{predecessor}` was finished; what is left of it is planned after that"
    )]
    OutOfSequence { task: TaskId, predecessor: TaskId },
    #[error(
        "`{task}` was begun before `{predecessor}` was finished; it runs on from the day on which it was begun"
    )]
    WaitOutOfSequence { task: TaskId, predecessor: TaskId },
    #[error(
        "`{task}` is reported finished but `{predecessor}`, which comes before it, is not; `{predecessor}` stays in the plan: \
         report it, or look again at what was reported"
    )]
    FinishedOutOfSequence { task: TaskId, predecessor: TaskId },
    #[error(
        "the days of `{wait}`, counted from what comes before it, are over only on {over}, but it is reported finished {finish}: \
         hold back until then, or correct what was reported"
    )]
    EndedTooSoon { wait: TaskId, finish: Date, over: Date },
    #[error(
        "the days of `{wait}`, counted from what comes before it, are over only on {over}, but `{task}` is reported for {on}: \
         hold back until then, or correct what was reported"
    )]
    BegunTooSoon { task: TaskId, on: Date, wait: TaskId, over: Date },
    #[error(
        "`{task}` was to be over by {due} and its end is not reported by {status}: it is planned through that day; report its end"
    )]
    WaitNotEnded { task: TaskId, due: Date, status: Date },
    #[error(
        "work is reported finished on the status date {status}: the reports are those of its end, and what is left goes on from \
         the next working day"
    )]
    StatusDateOver { status: Date },
    #[error("{calendar}: closed {days}, which moves what would fall on it: {reason}")]
    Closed { calendar: String, days: String, reason: String },
    #[error(
        "`{task}`: no remaining hours reported; taken as the planned hours less the working time since it began"
    )]
    RemainingAssumed { task: TaskId },
}
