//! What is to be planned.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;

use super::ids::{CrewId, MachineId, TaskId, TradeId};
use crate::compute::calendar::{Cure, MarkNotice, WorkingCalendar};

/// A plan to be made.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanRequest {
    /// The days and hours the crews work.
    pub calendar: WorkingCalendar,
    /// The days that count for utility notices and offices, where they are not the crews' own.
    pub notice_calendar: Option<WorkingCalendar>,
    /// The tasks. Their order breaks ties.
    pub tasks: Vec<Task>,
    /// The crews there are. Their order breaks ties.
    pub crews: Vec<Crew>,
    /// The machines there are.
    pub machines: Vec<Machine>,
    /// What the dates hang on.
    pub anchor: Anchor,
    /// The day from which unfinished work goes on; required once progress is reported.
    pub status_date: Option<Date>,
    /// Limits and habits.
    pub settings: PlanSettings,
}

/// What the dates of a plan hang on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// Begin on this day: each task without predecessors on the first day of its own calendar from then on.
    Start(Date),
    /// Begin as late as still finishes by this day.
    Finish(Date),
    /// Begin on one day and compare the finish with another.
    StartAndWish {
        /// First day.
        start: Date,
        /// Wished last day.
        finish: Date,
    },
}

/// Limits and habits of planning; each a setting.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanSettings {
    /// Most tasks one plan may have.
    pub most_tasks: usize,
    /// Most links between tasks one plan may have.
    pub most_links: usize,
    /// A machine stays on site over this many idle working days between two uses. Closed days alone are no such days.
    pub keep_machine_idle_days: u32,
    /// Machines that are hired: their tasks follow each other where that keeps them on site for less and nothing is later for it.
    pub hired: BTreeSet<MachineId>,
    /// Whether a pour needs an inspection before it.
    pub inspection_before_pour: bool,
}

impl Default for PlanSettings {
    /// 2,000 tasks, 20,000 links; machines leave when idle for a working day; inspection before a pour
    /// (common practice, no source).
    fn default() -> Self {
        PlanSettings {
            most_tasks: 2_000,
            most_links: 20_000,
            keep_machine_idle_days: 0,
            hired: BTreeSet::new(),
            inspection_before_pour: true,
        }
    }
}

/// One line of a plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Task {
    /// Its name for life.
    pub id: TaskId,
    /// What people call it.
    pub name: String,
    /// Work, wait or milestone.
    pub kind: TaskKind,
    /// What must be finished before.
    pub predecessors: Vec<Link>,
    /// Not before this day.
    pub not_before: Option<Date>,
    /// A point at which the job stops until something has happened.
    pub hold: Option<HoldKind>,
    /// What has been reported.
    pub progress: Progress,
}

/// What a task is.
#[derive(Debug, Clone, PartialEq)]
pub enum TaskKind {
    /// A crew works.
    Work(Work),
    /// Time passes and nobody works.
    Wait(Wait),
    /// Nothing takes time; a point is reached.
    Milestone,
}

/// Work of a crew.
#[derive(Debug, Clone, PartialEq)]
pub struct Work {
    /// Hours for which the crew is busy, above 0.
    pub crew_hours: f64,
    /// People by trade for all of that time; at least one, unless machines alone are meant.
    pub trades: Vec<TradeNeed>,
    /// The crew that does it; without one, the crew that can begin first.
    pub crew: Option<CrewId>,
    /// Machines for all of that time.
    pub machines: Vec<MachineNeed>,
    /// Must be done within one day, as a pour is.
    pub within_one_day: bool,
    /// Digs, saws or breaks into the ground: needs marks before it.
    pub breaks_ground: bool,
    /// Places concrete: may need an inspection before it, and a cure after it.
    pub places_concrete: bool,
}

/// People of one trade.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TradeNeed {
    /// The trade.
    pub trade: TradeId,
    /// How many, at least 1.
    pub people: u32,
}

/// Machines of one kind.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MachineNeed {
    /// The machine.
    pub machine: MachineId,
    /// How many, at least 1.
    pub count: u32,
}

/// Time that passes without a crew.
#[derive(Debug, Clone, PartialEq)]
pub enum Wait {
    /// Notice to the utilities and their marks: ends on the morning of the first day on which digging may
    /// begin.
    Marks(MarkNotice),
    /// Working days of the notice calendar, to the same hour (permit, inspection, an answer); from the start of a day to the
    /// end of the last of them.
    WorkingDays(u32),
    /// Calendar days, to the same hour.
    CalendarDays(u32),
    /// Cure of concrete.
    Cure(Cure),
    /// What is left of the day: what follows begins on another day of the calendar.
    RestOfDay,
    /// Until the morning of a day (a delivery, a promised permit).
    Until(Date),
}

impl Wait {
    /// Whether its days pass without anybody who must end them and say so.
    pub fn passes_by_itself(&self) -> bool {
        matches!(self, Wait::CalendarDays(_) | Wait::Cure(_) | Wait::RestOfDay)
    }
}

/// A predecessor: finish to start.
#[derive(Debug, Clone, PartialEq)]
pub struct Link {
    /// The task that must be finished.
    pub task: TaskId,
    /// Time that must pass after it.
    pub lag: Lag,
}

/// Time between the finish of one task and the start of the next; never negative.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum Lag {
    /// Straight after.
    #[default]
    None,
    /// Working hours of the crews' calendar.
    WorkingHours(f64),
    /// Working days of the crews' calendar, to the same hour.
    WorkingDays(u32),
    /// Calendar days, to the same hour.
    CalendarDays(u32),
}

/// A point at which the job stops until something has happened.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum HoldKind {
    /// Call for marks before digging.
    CallBeforeDigging,
    /// Inspection before the pour.
    InspectionBeforePour,
    /// Wheels may cross from here on.
    WheelsMayCross,
    /// People may walk on it from here on.
    PeopleMayCross,
}

/// What has been reported of a task.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum Progress {
    /// Nothing yet.
    #[default]
    NotStarted,
    /// Begun, not finished.
    Started {
        /// The day it began.
        on: Date,
        /// Crew-hours still to do; without them, the planned hours less the working time since it began.
        remaining_crew_hours: Option<f64>,
    },
    /// Finished.
    Finished {
        /// The day it began.
        start: Date,
        /// The day it was finished.
        finish: Date,
    },
}

/// A crew: its people by trade. Two tasks share a crew when its people suffice for both.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Crew {
    /// Its name for life.
    pub id: CrewId,
    /// People by trade.
    pub people: BTreeMap<TradeId, u32>,
}

/// A machine, or several of a kind.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Machine {
    /// Its name for life.
    pub id: MachineId,
    /// How many there are.
    pub count: u32,
}

impl Task {
    /// Work not yet begun, without links.
    pub fn work(id: TaskId, name: impl Into<String>, work: Work) -> Self {
        Task::of(id, name, TaskKind::Work(work))
    }

    /// A wait not yet begun, without links.
    pub fn wait(id: TaskId, name: impl Into<String>, wait: Wait) -> Self {
        Task::of(id, name, TaskKind::Wait(wait))
    }

    /// A milestone not yet reached, without links.
    pub fn milestone(id: TaskId, name: impl Into<String>) -> Self {
        Task::of(id, name, TaskKind::Milestone)
    }

    /// The same task after another, without lag.
    #[must_use]
    pub fn after(self, task: &TaskId) -> Self {
        self.after_lag(task, Lag::None)
    }

    /// The same task after another, with a lag.
    #[must_use]
    pub fn after_lag(mut self, task: &TaskId, lag: Lag) -> Self {
        self.predecessors.push(Link { task: task.clone(), lag });
        self
    }

    /// The same task as a hold point.
    #[must_use]
    pub fn holding(mut self, hold: HoldKind) -> Self {
        self.hold = Some(hold);
        self
    }

    fn of(id: TaskId, name: impl Into<String>, kind: TaskKind) -> Self {
        Task {
            id,
            name: name.into(),
            kind,
            predecessors: Vec::new(),
            not_before: None,
            hold: None,
            progress: Progress::NotStarted,
        }
    }
}

impl Work {
    /// Work of so many crew-hours by people of one trade.
    pub fn new(crew_hours: f64, trade: TradeId, people: u32) -> Self {
        Work {
            crew_hours,
            trades: vec![TradeNeed { trade, people }],
            crew: None,
            machines: Vec::new(),
            within_one_day: false,
            breaks_ground: false,
            places_concrete: false,
        }
    }
}
