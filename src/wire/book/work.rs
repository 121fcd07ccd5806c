//! Trades, labor rates, machines, consumables and the load-out.

use super::planning::HoursSpread;
use crate::domain::words::{Difficulty, Measure, Soil, Task, Weather, Weekday};
use crate::units::quantity::Span;
use crate::units::{Amount, Factor, Length, Percent, Price, Unit};
use crate::wire::scalar::Flag;
use crate::wire::{Code, Label, List, Whole};
use crate::wire_object;

wire_object! {
    /// A trade.
    pub struct Trade {
        /// The office's own code.
        pub code: Code,
        /// What it is.
        pub name: Label,
        /// Wage per hour.
        pub wage: Price,
        /// Payroll taxes, insurance and the like on top of the wage.
        pub burden_pct: Percent,
    }
}

wire_object! {
    /// People of one trade in a crew.
    pub struct CrewMember {
        /// Trade code.
        pub trade: Code,
        /// How many.
        pub count: Whole<1, 20>,
    }
}

wire_object! {
    /// Person-hours for one unit of a measured quantity.
    pub struct UnitRate {
        /// What is measured.
        pub measure: Measure,
        /// The unit the hours are for.
        pub unit: Unit,
        /// Person-hours per unit.
        pub hours: Factor,
        /// Soils this holds for; all when left out.
        pub soils: List<Soil, 0, 4>,
    }
}

wire_object! {
    /// How one task is done by one method: its crew, its setup, its rates.
    pub struct LaborRate {
        /// The task.
        pub task: Task,
        /// The method, for example `hand` or `mini-excavator`.
        pub method: Code,
        /// Whether this method is taken where the notes name none.
        pub usual: Flag,
        /// Who does it.
        pub crew: List<CrewMember, 1, 10>,
        /// Person-hours before the first unit, once per job, when there is anything to do.
        pub setup: Option<Span>,
        /// Rates; their hours add up.
        pub rates: List<UnitRate, 1, 20>,
        /// Machines that must be on site.
        pub equipment: List<Code, 0, 10>,
        /// The method does not reach deeper: the trench for digging, the slab or pavement for sawing.
        pub greatest_depth: Option<Length>,
        /// Soils the method cannot work in, whatever its task.
        pub not_in: List<Soil, 0, 4>,
        /// How far actual hours lie from those of this rate.
        pub spread: Option<HoursSpread>,
    }
}

wire_object! {
    /// A factor on hours for one difficulty.
    pub struct DifficultyFactor {
        /// How hard the place is.
        pub difficulty: Difficulty,
        /// Hours are multiplied by it.
        pub factor: Factor,
    }
}

wire_object! {
    /// A factor on digging hours below a depth. It goes onto what is dug where a line is that deep by its dig table, and onto the
    /// whole of a run that is that deep at its deepest.
    pub struct DepthFactor {
        /// Parts of trenches deeper than this.
        pub deeper_than: Length,
        /// Hours are multiplied by it.
        pub factor: Factor,
    }
}

wire_object! {
    /// A factor on hours for one kind of weather.
    pub struct WeatherFactor {
        /// The weather that is expected.
        pub weather: Weather,
        /// Hours are multiplied by it.
        pub factor: Factor,
    }
}

wire_object! {
    /// When hours count as overtime and what they are paid. Federal law sets the week, states may add a day: ask.
    pub struct OvertimeRates {
        /// Hours a day of one person at the plain rate; no limit when left out.
        pub daily_limit: Option<Span>,
        /// Hours a week of one person at the plain rate; 40 when left out (29 U.S.C. 207, from memory).
        pub weekly_limit: Option<Span>,
        /// Hours a day above which the double rate is due; none when left out.
        pub daily_double_limit: Option<Span>,
        /// First day of the week; `sunday` when left out.
        pub week_starts: Option<Weekday>,
        /// Pay of an overtime hour in plain hours, from 1 to 10; 1.5 when left out.
        pub multiplier: Option<Factor>,
        /// Pay of an hour at the double rate in plain hours, from 1 to 10; 2 when left out.
        pub double_multiplier: Option<Factor>,
    }
    example = serde_json::json!({"daily_limit": "8 hr", "weekly_limit": "40 hr", "multiplier": "1.5"});
}

wire_object! {
    /// Day length, factors and rounding of hours.
    pub struct LaborRules {
        /// Working hours of a day.
        pub day: Span,
        /// Factors by difficulty.
        pub difficulty: List<DifficultyFactor, 0, 3>,
        /// Factors by depth of dig; the deepest that applies is taken, part by part of a trench.
        pub depth: List<DepthFactor, 0, 10>,
        /// Factors by weather.
        pub weather: List<WeatherFactor, 0, 4>,
        /// Paid travel of each person on each working day, there and back, at most 24 hours; none when left out.
        pub travel: Option<Span>,
        /// Overtime; never reckoned when left out.
        pub overtime: Option<OvertimeRates>,
        /// Crew-hours of a task are rounded up to this.
        pub step: Span,
    }
}

wire_object! {
    /// What owning a machine would cost, to be held against its hire.
    pub struct OwnTerms {
        /// Price to buy it.
        pub price: Amount,
        /// What it will still be worth; nothing when left out.
        pub resale: Option<Amount>,
        /// Upkeep per day of use, half a day counting as a whole one; nothing when left out. Fuel aside, which hire pays too.
        pub upkeep_per_day: Option<Amount>,
        /// Days of use over which it is looked at; 365 when left out.
        pub horizon_days: Option<Whole<1, 3650>>,
    }
}

wire_object! {
    /// A machine or gear for hire.
    pub struct Equipment {
        /// The office's own code.
        pub code: Code,
        /// What it is.
        pub name: Label,
        /// Half a day.
        pub half_day: Option<Amount>,
        /// A day.
        pub day: Amount,
        /// A week.
        pub week: Option<Amount>,
        /// Four weeks.
        pub four_weeks: Option<Amount>,
        /// Days on site that a week covers; 7 when left out, 5 where the yard counts working days.
        pub days_per_week: Option<Whole<1, 7>>,
        /// Days on site that four weeks cover; 28 when left out.
        pub days_per_four_weeks: Option<Whole<1, 28>>,
        /// Delivery and collection of one stay. When left out the yard brings nothing: the crew fetches it and takes it back, which the
        /// load-out tells; `"0.00"` where it is brought for nothing.
        pub transport: Option<Amount>,
        /// What owning it would cost; hire is held against it where given.
        pub own: Option<OwnTerms>,
        /// Owned by the office: no hire is charged.
        pub owned: Flag,
    }
}

wire_object! {
    /// Something used up in proportion to a measured quantity, bought in whole packs.
    pub struct Consumable {
        /// Item code.
        pub item: Code,
        /// What it is used up by.
        pub measure: Measure,
        /// The measure is multiplied by this first, for example two passes of tape.
        pub times: Option<Factor>,
        /// How much one unit of the item serves …
        pub coverage: Factor,
        /// … in this unit of the measure.
        pub coverage_unit: Unit,
    }
}

wire_object! {
    /// A tool the crew puts on the truck.
    pub struct LoadOutRule {
        /// What it is.
        pub name: Label,
        /// How many.
        pub count: Whole<1, 200>,
        /// Only when this task is on the job; always when left out.
        pub task: Option<Task>,
        /// Only when the task is done by this method.
        pub method: Option<Code>,
    }
}
