//! Runs of channel: their legs, outlets and surfaces.

use crate::domain::words::Crossing;
use crate::units::{Grade, Length, Level};
use crate::wire::book::ground::SurfaceKind;
use crate::wire::{Code, List, Whole};
use crate::{wire_enum, wire_object, wire_union};

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
        /// a tee in an earlier leg; water passes it from this leg into that one, or the other way where only this leg and what
        /// follows it have outlets
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
            /// Number of the leg; the first for `start`, the last before a tee for `finish` when left out.
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

impl Outlet {
    /// Its name.
    pub const fn id(&self) -> &Code {
        let (Self::End { id, .. } | Self::Bottom { id, .. }) = self;
        id
    }
}

wire_object! {
    /// One line of surface channel.
    pub struct Run {
        /// Name of the run on this job.
        pub id: Code,
        /// Its straight pieces, in order. A loop whose last leg would meet the first cannot be told: note its legs as a chain, add the
        /// corner and couplings that close it as `extras`, and take off by hand the two end caps and the concrete and forms of two
        /// ends that are counted where they meet.
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
        /// How much wider than the surround a slab or asphalt is cut, on each side and at each end; the book's when left out. Pavers
        /// are lifted and laid again as much wider where the notes say so, without a cut; nothing for other surfaces.
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
        /// on one day is ordered together; mixing and placing are set up on each. Day 1 when left out.
        pub pour_days: List<Whole<1, 60>, 0, 10>,
    }
}
