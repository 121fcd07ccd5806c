//! How and when the work is done, where that differs from the book.

use crate::domain::words::Task;
use crate::units::Percent;
use crate::units::quantity::WorkTime;
use crate::wire::day::Day;
use crate::wire::{Code, List, Whole};
use crate::{wire_enum, wire_object};

wire_object! {
    /// A method chosen for a task.
    pub struct MethodChoice {
        /// The task.
        pub task: Task,
        /// The method, by its code in the price book.
        pub method: Code,
    }
}

wire_object! {
    /// Where this estimate differs from the book.
    pub struct Options {
        /// Way to get concrete; the cheapest when left out.
        pub concrete_way: Option<Code>,
        /// Concrete waste.
        pub waste_pct: Option<Percent>,
        /// Markup scheme.
        pub markup_scheme: Option<Code>,
        /// Methods.
        pub methods: List<MethodChoice, 0, 30>,
        /// Visits of the crew; one when left out.
        pub visits: Option<Whole<1, 50>>,
        /// The day the orders go out. Without it neither the validity nor the lead time of an offer is checked.
        pub order_on: Option<crate::wire::day::Day>,
        /// The day everything must be there; 30 days after `order_on` when left out.
        pub needed_by: Option<crate::wire::day::Day>,
        /// Buy from at most so many suppliers; any number when left out.
        pub most_suppliers: Option<Whole<1, 50>>,
        /// Paid travel of each person on each working day, there and back, at most 24 hours; the book's when left out.
        pub travel: Option<WorkTime>,
    }
}

wire_enum! {
    /// How runs are poured.
    pub enum PourPlan {
        /// as few pours as fit a working day each
        Together = "together",
        /// every run by itself
        EachRun = "each_run",
    }
}

wire_object! {
    /// When the work is done and by whom. With a start or a finish, the estimate follows its plan: hire by the days
    /// on site, overtime and travel by the days worked.
    pub struct ScheduleNotes {
        /// First day: of the call for utility marks.
        pub start: Option<Day>,
        /// Wished last day. With a start the plan says whether it is kept; alone it gives the latest start.
        pub finish: Option<Day>,
        /// Calendar of the crews, by its code in the price book; the first when left out.
        pub calendar: Option<Code>,
        /// Crews, by their codes in the price book; the first when left out.
        pub crews: List<Code, 0, 20>,
        /// How runs are poured; `together` when left out.
        pub pours: Option<PourPlan>,
    }
}

impl Options {
    /// No difference from the book.
    pub fn none() -> Options {
        Options {
            concrete_way: None,
            waste_pct: None,
            markup_scheme: None,
            methods: List::default(),
            visits: None,
            order_on: None,
            needed_by: None,
            most_suppliers: None,
            travel: None,
        }
    }
}
