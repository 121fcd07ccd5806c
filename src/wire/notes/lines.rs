//! Drain lines: what drains into them, how they lie, where they end.

use super::runs::Surface;
use crate::units::{Factor, Length, Level, Percent};
use crate::wire::{Code, List, Whole};
use crate::{wire_enum, wire_object, wire_union};

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

impl Outfall {
    /// Whether a pipe ends there in the open, where it must come out of the ground; elsewhere it stays below it.
    pub const fn is_open(self) -> bool {
        match self {
            Outfall::Daylight | Outfall::Street | Outfall::Swale | Outfall::Pond => true,
            Outfall::StormSewer | Outfall::ExistingPipe | Outfall::DryWell => false,
        }
    }
}

impl LineEnd {
    /// What the line discharges to; nothing where it joins another.
    pub const fn outfall(&self) -> Option<Outfall> {
        match self {
            LineEnd::Joins { .. } => None,
            LineEnd::Discharges { to, .. } => Some(*to),
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
        /// Fall in percent. Left out, the line is laid down to the discharge level or to the invert of the line it joins, and by
        /// the book's usual fall where neither is known.
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
