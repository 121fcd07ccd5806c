//! The site notes: one JSON document that says what a foreman wrote down, without a calculator.

pub mod concrete;
pub mod pricing;

use super::book::ground::SurfaceKind;
use super::water::{Catchment, Inflow, Storm};
use crate::domain::words::{Climate, Crossing, Difficulty, Soil, Task, Weather};
use crate::units::quantity::Span;
use crate::units::{Distance, Factor, Grade, Length, Level, Percent, Speed, UnitSystem, Volume};
use crate::wire::day::Day;
use crate::wire::scalar::Flag;
use crate::wire::{Code, Label, List, Note, Whole};
use crate::{wire_enum, wire_object, wire_union};
pub use concrete::{ConcreteNotes, PourWeather, ShortLastLoad};
pub use pricing::{Allowance, Alternate, Discount, OptionalLine, PricingNotes, SystemChange};

wire_object! {
    /// Who the work is for.
    pub struct Customer {
        /// Name.
        pub name: Label,
        /// Telephone.
        pub phone: Option<Label>,
        /// E-mail.
        pub email: Option<Label>,
        /// Postal address on one line.
        pub address: Option<Label>,
    }
}

wire_object! {
    /// Where the work is.
    pub struct Site {
        /// Address on one line.
        pub address: Label,
        /// Access, gates, parking and the like.
        pub access: Option<Note>,
    }
}

wire_object! {
    /// What lies on top before the work.
    pub struct Surface {
        /// Which surface.
        pub kind: SurfaceKind,
        /// How thick; needed for everything but bare soil.
        pub thickness: Option<Length>,
    }
}

wire_union! {
    /// How a leg meets the legs before it.
    pub enum Meets {
        /// a corner at the end of the leg before
        Corner as MeetsCorner = "corner" {}
        /// a tee in an earlier leg
        Tee as MeetsTee = "tee" {
            /// Number of that leg, the first being 1.
            leg: Whole<1, 50>,
            /// Distance from the start of that leg.
            at: Length,
        }
    }
}

wire_object! {
    /// A straight piece of a run.
    pub struct Leg {
        /// Length along the grate, fittings included.
        pub length: Length,
        /// How it meets the legs before it; not for the first, needed for every other.
        pub meets: Option<Meets>,
        /// Fall of the finished surface from the start of the leg to its end, in percent; level when left out.
        pub fall_pct: Option<Grade>,
    }
}

wire_enum! {
    /// An end of a leg.
    pub enum LegEnd {
        /// where the leg starts
        Start = "start",
        /// where it ends
        Finish = "finish",
    }
}

wire_union! {
    /// Where water leaves a run.
    pub enum Outlet {
        /// through an open end of a leg
        End as EndOutletNotes = "end" {
            /// Name that drain lines refer to.
            id: Code,
            /// Which end.
            at: LegEnd,
            /// Number of the leg; the first for `start`, the last for `finish` when left out.
            leg: Option<Whole<1, 50>>,
        }
        /// down through the bottom
        Bottom as BottomOutletNotes = "bottom" {
            /// Name that drain lines refer to.
            id: Code,
            /// Distance from the start of the leg.
            at: Length,
            /// Number of the leg; the first when left out.
            leg: Option<Whole<1, 50>>,
        }
    }
}

wire_object! {
    /// One line of surface channel.
    pub struct Run {
        /// Name of the run on this job.
        pub id: Code,
        /// Its straight pieces, in order.
        pub legs: List<Leg, 1, 50>,
        /// Channel system, by its code in the price book. Left out, one that carries the storm is chosen.
        pub channel_system: Option<Code>,
        /// Systems to choose from when `channel_system` is left out; all of the price book when both are.
        pub channel_systems: List<Code, 0, 50>,
        /// Grate, by its item code; the first of the system that carries the load when left out.
        pub grate: Option<Code>,
        /// What crosses it.
        pub crossing: Crossing,
        /// What lies on top; bare soil when left out.
        pub surface: Option<Surface>,
        /// How much wider than the surround a slab is cut, on each side.
        pub over_cut: Option<Length>,
        /// Saw cuts beyond the closed cut, in all.
        pub relief_cuts: Option<Length>,
        /// Where water leaves it; at least one.
        pub outlets: List<Outlet, 0, 20>,
        /// Level of the finished surface at the run; 0 when left out.
        pub surface_level: Option<Level>,
        /// Setting detail, by its code; the one for the crossing when left out.
        pub setting_detail: Option<Code>,
        /// Days its concrete is poured on, the first pour day of the job being 1; in equal parts on several. What is poured
        /// on one day is ordered together. Day 1 when left out.
        pub pour_days: List<Whole<1, 60>, 0, 10>,
    }
}

wire_object! {
    /// An outlet that drains into a line.
    pub struct FromOutlet {
        /// Outlet of a run.
        pub outlet: Code,
        /// Where on the line it enters; at its upper end when left out.
        pub at: Option<Length>,
    }
}

wire_object! {
    /// A straight piece of a drain line.
    pub struct LineLeg {
        /// Length along the pipe.
        pub length: Length,
        /// Turn at its lower end, in degrees.
        pub bend: Option<Whole<1, 180>>,
        /// What lies on top; bare soil when left out.
        pub surface: Option<Surface>,
    }
}

wire_object! {
    /// A ground level along a line.
    pub struct GroundPoint {
        /// Distance from the upper end.
        pub at: Length,
        /// Level of the ground.
        pub level: Level,
    }
}

wire_enum! {
    /// What a line discharges to.
    pub enum Outfall {
        /// open air on a slope
        Daylight = "daylight",
        /// a storm sewer
        StormSewer = "storm_sewer",
        /// a pipe that is there already
        ExistingPipe = "existing_pipe",
        /// the gutter of a street
        Street = "street",
        /// a swale or ditch
        Swale = "swale",
        /// a dry well or soakaway
        DryWell = "dry_well",
        /// a pond or basin
        Pond = "pond",
    }
}

wire_union! {
    /// Where a line ends.
    pub enum LineEnd {
        /// in another line
        Joins as JoinsLine = "joins" {
            /// The other line.
            line: Code,
            /// Where on it, from its upper end.
            at: Length,
        }
        /// at the discharge
        Discharges as DischargesTo = "discharges" {
            /// What it discharges to.
            to: Outfall,
            /// Invert level there; unknown when left out, and then the fall cannot be checked.
            invert_level: Option<Level>,
            /// Level of the water there in the storm; a free fall when left out.
            water_level: Option<Level>,
        }
    }
}

wire_object! {
    /// The pipe from outlets to the discharge or to another line.
    pub struct DrainLine {
        /// Name of the line on this job.
        pub id: Code,
        /// What drains into it.
        pub from: List<FromOutlet, 0, 50>,
        /// Pipe, by its code in the price book. Left out, the smallest that carries the storm is chosen.
        pub pipe: Option<Code>,
        /// Pipes to choose from when `pipe` is left out; all of the price book when both are.
        pub pipes: List<Code, 0, 50>,
        /// Its straight pieces from the upper end down.
        pub legs: List<LineLeg, 1, 50>,
        /// Ground levels along it; with `depth` left out, at least one.
        pub ground: List<GroundPoint, 0, 200>,
        /// A constant depth to dig, instead of ground levels.
        pub depth: Option<Length>,
        /// Fall in percent; what the levels allow, or the book's usual one, when left out.
        pub fall_pct: Option<Percent>,
        /// Trench as cut, when narrower or wider than the rule.
        pub trench_width: Option<Length>,
        /// Batter of the sides, horizontal for 1 vertical; vertical sides when left out.
        pub side_slope: Option<Factor>,
        /// Where it ends.
        pub ends: LineEnd,
        /// Days the concrete of its patches is poured on, as for a run.
        pub pour_days: List<Whole<1, 60>, 0, 10>,
    }
}

wire_object! {
    /// Where the spoil goes, where it differs from the book.
    pub struct HaulNotes {
        /// Soil kept on site, as a volume in the bank; rubble is always hauled.
        pub spoil_kept: Option<Volume>,
        /// Whether all soil that backfill leaves over is kept on site.
        pub keep_all_spoil: Flag,
        /// From the site to the tip by road, one way.
        pub distance: Option<Distance>,
        /// Mean speed of a truck, there and back.
        pub speed: Option<Speed>,
    }
    example = serde_json::json!({"spoil_kept": "2 yd3", "distance": "6 mi", "speed": "24 mi_per_hr"});
}

wire_object! {
    /// Something of the price book added by hand: a permit, a subcontract, a spare part.
    pub struct Extra {
        /// Item code.
        pub item: Code,
        /// How many of the item's unit.
        pub quantity: Factor,
        /// Why.
        pub note: Option<Label>,
    }
}

wire_object! {
    /// An offcut that the crew brings along from the yard; it is used before new stock where that is no dearer.
    pub struct YardOffcut {
        /// Item code of the stock length it was cut from.
        pub item: Code,
        /// How long it is.
        pub length: Length,
        /// How many of them; one when left out.
        pub count: Option<Whole<1, 100>>,
    }
}

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
        /// Paid travel of each person on each working day, there and back; the book's when left out.
        pub travel: Option<Span>,
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

wire_object! {
    /// The notes of a site walk.
    pub struct SiteNotes {
        /// What the job is called.
        pub title: Option<Label>,
        /// Who it is for.
        pub customer: Option<Customer>,
        /// Where it is.
        pub site: Option<Site>,
        /// Units of the answers; those of the book when left out.
        pub unit_system: Option<UnitSystem>,
        /// `temperate` when left out.
        pub climate: Option<Climate>,
        /// `common_earth` when left out.
        pub soil: Option<Soil>,
        /// `normal` when left out.
        pub difficulty: Option<Difficulty>,
        /// The weather that is expected; no factor when left out.
        pub weather: Option<Weather>,
        /// When the work is done and by whom.
        pub schedule: Option<ScheduleNotes>,
        /// How the concrete is ordered and poured.
        pub concrete: Option<ConcreteNotes>,
        /// Where the spoil goes.
        pub haul: Option<HaulNotes>,
        /// The channels.
        pub runs: List<Run, 1, 100>,
        /// The pipes.
        pub drain_lines: List<DrainLine, 0, 100>,
        /// The storm the drains are made for; without it water is not checked.
        pub storm: Option<Storm>,
        /// What sheds its rain to the runs.
        pub catchments: List<Catchment, 0, 200>,
        /// What flows in by itself.
        pub inflows: List<Inflow, 0, 200>,
        /// Things added by hand.
        pub extras: List<Extra, 0, 100>,
        /// Offcuts the crew brings along.
        pub yard_offcuts: List<YardOffcut, 0, 100>,
        /// What the price does not include.
        pub excluded: List<Label, 0, 50>,
        /// What others do.
        pub by_others: List<Label, 0, 50>,
        /// What the customer should read.
        pub notes_to_customer: Option<Note>,
        /// Where this estimate differs from the book.
        pub options: Option<Options>,
        /// Allowances, discounts, options and alternates, and the place of the sale.
        pub pricing: Option<PricingNotes>,
    }
}
