//! What can be wrong with a plan request, and what would fix it.

use jiff::civil::Date;
use thiserror::Error;

use super::ids::{CrewId, MachineId, TaskId, TradeId};
use crate::compute::calendar::{CalendarError, minutes::MOST_HOURS};

/// Every fault of a request at once.
#[derive(Debug, Clone, PartialEq, Error)]
#[error("{}", .0.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))]
pub struct PlanErrors(pub Vec<PlanError>);

impl From<PlanError> for PlanErrors {
    fn from(fault: PlanError) -> Self {
        PlanErrors(vec![fault])
    }
}

impl From<CalendarError> for PlanErrors {
    fn from(fault: CalendarError) -> Self {
        PlanErrors(vec![PlanError::Calendar(fault)])
    }
}

/// One fault. `at` says where in the request it stands.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
#[expect(missing_docs, reason = "the message of each variant says what its fields are")]
pub enum PlanError {
    #[error("tasks: none given; a plan needs at least one")]
    NoTasks,
    #[error("tasks: {given} given; at most {most} are planned at once: split the job or raise `most_tasks`")]
    TooManyTasks { given: usize, most: usize },
    #[error(
        "tasks: {given} predecessors in all; at most {most} are planned at once: drop those that follow from others or raise `most_links`"
    )]
    TooManyLinks { given: usize, most: usize },
    #[error("{at}: `{id}` is already used; every id stands for one thing")]
    DuplicateId { at: String, id: String },
    #[error("{at}: there is no task `{task}`; name a task of this plan")]
    UnknownPredecessor { at: String, task: TaskId },
    #[error("tasks: {} wait for each other in a circle; remove one of these links",
        .path.iter().map(|t| format!("`{t}`")).collect::<Vec<_>>().join(" -> "))]
    Cycle { path: Vec<TaskId> },
    #[error("{at}: {value} hours; give more than 0 and at most {MOST_HOURS} hours")]
    Hours { at: String, value: f64 },
    #[error("{at}: {value} hours of lag; give 0 to {MOST_HOURS} hours")]
    LagHours { at: String, value: f64 },
    #[error("{at}: {value} days; at most {most} days")]
    Days { at: String, value: u32, most: u32 },
    #[error(
        "{at}: {hours:.2} hours must be done within one day, but no day has more than {longest:.2}; take a larger crew, split it or allow it to stand overnight"
    )]
    LongerThanADay { at: String, hours: f64, longest: f64 },
    #[error("{at}: 0 is no need; give at least 1 or leave it out")]
    NoNeed { at: String },
    #[error("{at}: needs people or machines; name at least one")]
    NobodyWorks { at: String },
    #[error("{at}: there is no crew `{crew}`; the crews are {known}")]
    UnknownCrew { at: String, crew: CrewId, known: String },
    #[error(
        "{at}: crew `{crew}` has {has} of trade `{trade}`, {needed} are needed; add people, ask for fewer or name another crew"
    )]
    CrewLacksTrade { at: String, crew: CrewId, trade: TradeId, has: u32, needed: u32 },
    #[error("{at}: no single crew has {needed}; the crews are {known}")]
    NoCrewHasTrades { at: String, task: TaskId, needed: String, known: String },
    #[error("{at}: there is no machine `{machine}`; the machines are {known}")]
    UnknownMachine { at: String, machine: MachineId, known: String },
    #[error("{at}: {needed} of machine `{machine}` are needed, there are {has}; hire more or ask for fewer")]
    TooFewMachines { at: String, machine: MachineId, has: u32, needed: u32 },
    #[error("status_date: progress is reported on `{task}`; give the day up to which it is reported")]
    StatusDateMissing { task: TaskId },
    #[error(
        "{at}: {date} is after the status date {status}; report what has happened, or move the status date"
    )]
    InTheFuture { at: String, task: TaskId, date: Date, status: Date },
    #[error("{at}: finished {finish}, before it began {start}")]
    FinishBeforeStart { at: String, task: TaskId, start: Date, finish: Date },
    #[error(
        "{at}: {value} crew-hours remaining; give more than 0 and at most {MOST_HOURS}, or report it finished"
    )]
    Remaining { at: String, task: TaskId, value: f64 },
    #[error("{at}: a milestone is reached, not begun; report it finished")]
    MilestoneStarted { at: String, task: TaskId },
    #[error("anchor: a job with reported progress has a start; give it instead of a wished finish alone")]
    FinishAnchorWithProgress,
    #[error(
        "anchor: {wished} cannot be kept; begun on {start} the plan still ends on {finish}: look for a `not_before` or a wait until a fixed day"
    )]
    WishOutOfReach { wished: Date, start: Date, finish: Date },
    #[error("{at}: {date} is more than {most} days from the start; give a nearer date")]
    TooFarAway { at: String, date: Date, most: i64 },
    #[error(transparent)]
    Calendar(#[from] CalendarError),
}
