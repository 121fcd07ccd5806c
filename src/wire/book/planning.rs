//! Calendars, crews, machines at hand, waits: what a plan is made with.

use super::measures::{MixPsi, WheelsPsi};
use crate::units::quantity::Span;
use crate::units::{Factor, Percent};
use crate::wire::book::work::CrewMember;
use crate::wire::day::Day;
use crate::wire::scalar::Flag;
use crate::wire::{Code, Label, List, Whole};
use crate::{wire_enum, wire_object};

wire_object! {
    /// Working hours of each weekday; a weekday left out is not worked.
    pub struct WeekTimes {
        /// Monday.
        pub monday: Option<Span>,
        /// Tuesday.
        pub tuesday: Option<Span>,
        /// Wednesday.
        pub wednesday: Option<Span>,
        /// Thursday.
        pub thursday: Option<Span>,
        /// Friday.
        pub friday: Option<Span>,
        /// Saturday.
        pub saturday: Option<Span>,
        /// Sunday.
        pub sunday: Option<Span>,
    }
    example = serde_json::json!({"monday": "8 hr", "tuesday": "8 hr", "wednesday": "8 hr", "thursday": "8 hr", "friday": "8 hr"});
}

wire_enum! {
    /// Which public holidays are kept.
    pub enum HolidayRules {
        /// none but those of the office's own
        None = "none",
        /// the federal holidays of the United States, 5 U.S.C. 6103(a)
        UsFederal = "us_federal",
    }
}

wire_enum! {
    /// Which day a holiday on a weekend closes.
    pub enum HolidayObserved {
        /// the day itself, whatever weekday it is
        Actual = "actual",
        /// the Friday before a Saturday, the Monday after a Sunday
        Observed = "observed",
        /// both
        Both = "both",
    }
}

wire_object! {
    /// Days on which nothing is done, besides holidays.
    pub struct ClosedDays {
        /// First day.
        pub from: Day,
        /// Last day; the first when left out.
        pub to: Option<Day>,
        /// Why, as the plan's reader sees it.
        pub reason: Label,
    }
    example = serde_json::json!({"from": "2026-12-24", "to": "2026-12-31", "reason": "Winter break"});
}

wire_object! {
    /// A day that is worked although the week or a holiday closes it.
    pub struct OpenDay {
        /// The day.
        pub on: Day,
        /// Hours worked.
        pub hours: Span,
    }
    example = serde_json::json!({"on": "2026-04-11", "hours": "6 hr"});
}

wire_object! {
    /// A working calendar as data.
    pub struct WorkCalendar {
        /// The office's own code.
        pub code: Code,
        /// What it is called.
        pub name: Label,
        /// Hours by weekday; at least one is worked.
        pub week: WeekTimes,
        /// Public holidays; none when left out.
        pub holidays: Option<HolidayRules>,
        /// How a holiday on a weekend is kept; `observed` when left out.
        pub kept: Option<HolidayObserved>,
        /// Closures of the office's own.
        pub closed: List<ClosedDays, 0, 200>,
        /// Days worked besides.
        pub open: List<OpenDay, 0, 200>,
    }
}

wire_object! {
    /// A crew: its people by trade.
    pub struct CrewOf {
        /// The office's own code.
        pub code: Code,
        /// What it is called.
        pub name: Label,
        /// Who is in it.
        pub people: List<CrewMember, 1, 10>,
    }
}

wire_object! {
    /// How many of a machine can be on site at once.
    pub struct MachinesAtHand {
        /// Machine code.
        pub machine: Code,
        /// How many.
        pub count: Whole<1, 50>,
    }
}

wire_enum! {
    /// When the crew clears up a site that wheels cross.
    pub enum ClearUpWhen {
        /// when the concrete has cured: barriers come down last
        AfterCure = "after_cure",
        /// with the rest of the work
        WithTheWork = "with_the_work",
    }
}

wire_object! {
    /// Cure by strength instead of by days: `f(t)/f28 = t / (a + b t)` (ACI 209R-92, from memory).
    pub struct StrengthRule {
        /// Strength of the mix at 28 days, in psi; 1 MPa is 145 psi.
        pub mix_psi: MixPsi,
        /// Strength at which wheels may cross, in psi; the cure is never shorter than the days stated.
        pub wheels_psi: WheelsPsi,
        /// Constant `a` in days; 4.0 when left out (Type I cement, moist cured).
        pub a_days: Option<Factor>,
        /// Constant `b`; 0.85 when left out.
        pub b: Option<Factor>,
    }
}

wire_object! {
    /// Waits that are not work. State law, the permit office and the inspector set most of them: ask.
    pub struct Waits {
        /// Whole working days between the call for utility marks and the first digging; 3 when left out. State law sets it.
        pub marks_working_days: Option<Whole<0, 60>>,
        /// Whether the day of the call is the first of them.
        pub day_of_call_counts: Flag,
        /// Calendar days after the call for which the marks hold, where the place limits it.
        pub marks_good_for_days: Option<Whole<1, 365>>,
        /// Working days for a permit, when the notes have one among the extras; 5 when left out.
        pub permit_working_days: Option<Whole<0, 250>>,
        /// Working days for the inspection before a pour; 1 when left out, 0 for none.
        pub inspection_working_days: Option<Whole<0, 60>>,
        /// Calendar days between a pour and the stripping of its forms; 1 when left out.
        pub strip_days: Option<Whole<0, 60>>,
        /// Cure by strength, where the mix gives it; the days of `concrete_rules` otherwise.
        pub strength: Option<StrengthRule>,
        /// When a site that wheels cross is cleared up; `after_cure` when left out.
        pub clear_up: Option<ClearUpWhen>,
    }
}

wire_object! {
    /// How far actual hours lie from estimated ones: deviations of the natural logarithm of their ratio, in percent.
    pub struct HoursSpread {
        /// Of one task about its rate, at most 200 %.
        pub task_pct: Percent,
        /// Of what is not known about the rate itself, at most 200 %.
        pub rate_pct: Percent,
        /// Median of actual over estimated hours, from 0.001 on; 1 when left out. Below 1 where the rate is the mean, above
        /// which fewer jobs lie than below.
        pub median_ratio: Option<Factor>,
    }
    example = serde_json::json!({"task_pct": "20", "rate_pct": "12"});
}

wire_object! {
    /// Calendars, crews, machines and waits of plans; every part may be left out.
    pub struct PlanRules {
        /// Working calendars; the first is the crews' own. Monday to Friday with the hours of a day and the US federal
        /// holidays as observed when there is none.
        pub calendars: List<WorkCalendar, 0, 20>,
        /// Calendar whose days count for notices, permits and inspections; the crews' own when left out.
        pub notice_calendar: Option<Code>,
        /// Crews; the first is sent unless the notes name others. One with the people that the rates need when there is none.
        pub crews: List<CrewOf, 0, 20>,
        /// Machines of which more or fewer than one can be on site at once.
        pub machines: List<MachinesAtHand, 0, 100>,
        /// Waits.
        pub waits: Option<Waits>,
        /// A machine stays on site over this many idle working days between two uses; 0 when left out. Hire keeps it longer, and
        /// over a weekend or a closure alone, where that costs no more than collecting it and hiring again.
        pub keep_machine_idle_days: Option<Whole<0, 60>>,
        /// Spread of the hours of a task whose rate states none; 20 and 20 when left out.
        pub spread: Option<HoursSpread>,
        /// Spread that all tasks of a job share: crew, site, season; 15 when left out.
        pub job_spread_pct: Option<Percent>,
    }
}
