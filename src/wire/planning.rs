//! Bodies of plans: start, wish, what was reported, and what a simulation is asked.

use super::notes::SiteNotes;
use crate::units::Percent;
use crate::units::quantity::WorkTime;
use crate::wire::day::Day;
use crate::wire::scalar::Flag;
use crate::wire::{Label, List, Whole};
use crate::wire_object;

wire_object! {
    /// What was reported of a task of the plan.
    pub struct TaskProgress {
        /// Id of the task in the plan, for example `dig_run.run.drive`.
        pub task: Label,
        /// The day it began.
        pub started_on: Option<Day>,
        /// The day it was finished.
        pub finished_on: Option<Day>,
        /// Crew-hours still to do, for a task that has begun; the planned hours less the working time since when left out.
        /// Work alone has hours.
        pub remaining: Option<WorkTime>,
        /// It has not begun after all: takes back what was reported of it before.
        pub not_begun: Flag,
    }
    example = serde_json::json!({"task": "mobilize", "started_on": "2027-03-08", "finished_on": "2027-03-08"});
}

wire_object! {
    /// A day before which a task must not begin: a delivery, a promise, a neighbour.
    pub struct NotBefore {
        /// Id of the task in the plan.
        pub task: Label,
        /// The day.
        pub day: Day,
    }
    example = serde_json::json!({"task": "pour.1", "day": "2027-03-18"});
}

wire_object! {
    /// What the dates of a plan hang on.
    pub struct PlanInputs {
        /// First day, of the call for utility marks; that of the notes when left out. Notices and permits begin on the first
        /// day of their calendar from then on, work on the first of the crews'.
        pub start: Option<Day>,
        /// Wished last day; that of the notes when left out. Alone it gives the latest start.
        pub finish: Option<Day>,
        /// Days before which tasks must not begin, each task once. Where the job has a plan, those asked before stay when this
        /// is left out, and a list takes the place of theirs: an empty one lifts them all.
        pub not_before: Option<List<NotBefore, 0, 200>>,
        /// The day up to which progress is reported; needed with `progress`. Where work is reported finished on it, the reports
        /// are those of its end and what is left goes on from the next working day; else it goes on from this day.
        pub status_date: Option<Day>,
        /// What was reported. Where the job has a plan, what was reported before stays, task by task, unless it is reported
        /// again; what was said of a task that is no longer in the plan is kept and holds nothing.
        pub progress: List<TaskProgress, 0, 2000>,
    }
    example = serde_json::json!({"start": "2027-03-01"});
}

wire_object! {
    /// A plan of site notes.
    pub struct PlanRequest {
        /// Price-book version; when left out the current one: of all books the version that holds today, a dated one before an undated
        /// one, the one that began or was published last.
        pub price_book_version: Option<Label>,
        /// The site notes.
        pub notes: SiteNotes,
        /// First day, of the call for utility marks; that of the notes when left out. Notices and permits begin on the first
        /// day of their calendar from then on, work on the first of the crews'.
        pub start: Option<Day>,
        /// Wished last day; that of the notes when left out. Alone it gives the latest start.
        pub finish: Option<Day>,
        /// Days before which tasks must not begin, each task once.
        pub not_before: List<NotBefore, 0, 200>,
    }
}

wire_object! {
    /// Progress of a stored plan.
    pub struct ProgressReport {
        /// The day up to which it is reported, not before the day of a start or finish that was reported already. Where work is reported finished on
        /// it, the reports are those of its end and unfinished work goes on from the next working day; else it goes on from
        /// this day.
        pub status_date: Day,
        /// What was reported; a task reported again replaces what was said of it before, and `not_begun` takes
        /// that back.
        pub progress: List<TaskProgress, 1, 2000>,
    }
    example = serde_json::json!({"status_date": "2027-03-02",
        "progress": [{"task": "call_for_marks", "started_on": "2027-03-01"}]});
}

wire_object! {
    /// How sure an estimate is.
    pub struct RiskRequestBody {
        /// Price-book version; when left out the current one: of all books the version that holds today, a dated one before an undated
        /// one, the one that began or was published last.
        pub price_book_version: Option<Label>,
        /// The site notes.
        pub notes: SiteNotes,
        /// First day of the plan; that of the notes when left out. Without one, no finish is simulated.
        pub start: Option<Day>,
        /// How many draws; 10000 when left out.
        pub draws: Option<Whole<100, 100000>>,
        /// The seed: the same seed gives the same answer; 1 when left out.
        pub seed: Option<Whole<0, 9007199254740991>>,
        /// Wished confidence, in percent, from 1 to 99; 80 when left out.
        pub confidence_pct: Option<Percent>,
    }
}
