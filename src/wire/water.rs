//! Water in the site notes: the storm, what drains to which run, and what flows in by itself.

use crate::units::{Area, Factor, Flow, Length, Percent, RainRate};
use crate::wire::{Code, List, Whole};
use crate::{wire_enum, wire_object, wire_union};

wire_enum! {
    /// Units of the constants of a rain formula.
    pub enum RainFormulaUnit {
        /// inches an hour
        InPerHr = "in_per_hr",
        /// millimetres an hour
        MmPerHr = "mm_per_hr",
    }
}

wire_union! {
    /// How hard it rains.
    pub enum RainNotes {
        /// one intensity, whatever the duration
        Intensity as RainOfIntensity = "intensity" {
            /// The intensity.
            intensity: RainRate,
        }
        /// `i = a / (t + b)^c` with the duration `t` in minutes
        Formula as RainByFormula = "formula" {
            /// `a` of the formula: the intensity, in `unit`, where `t + b` is one minute.
            a: crate::units::percent::Constant,
            /// `b` of the formula, in minutes: added to the duration.
            b: Factor,
            /// `c` of the formula, the power, above 0 and up to 3; without unit.
            c: Factor,
            /// Unit of the intensity `i` that it gives.
            unit: RainFormulaUnit,
        }
        /// a stored rain table, read at the return period of the storm
        Table as RainByTable = "table" {
            /// Code of the table; `GET /v1/rain-tables` lists them.
            table: Code,
        }
    }
}

wire_object! {
    /// The storm the drain is made for. Local rules govern it.
    pub struct Storm {
        /// Return period in years; that of the price book's water rules when left out.
        pub return_period_years: Option<Whole<1, 1000>>,
        /// Where the intensity comes from.
        pub rain: RainNotes,
    }
}

wire_enum! {
    /// A surface that sheds water; each has a published range of runoff coefficients.
    pub enum Shedding {
        /// concrete, 0.80 to 0.95
        Concrete = "concrete",
        /// asphalt, 0.70 to 0.95
        Asphalt = "asphalt",
        /// brick paving, 0.70 to 0.85
        Brick = "brick",
        /// drives and walks, 0.75 to 0.85
        DrivesAndWalks = "drives_and_walks",
        /// roof, 0.75 to 0.95
        Roof = "roof",
        /// lawn on sandy soil, flat to 2 %, 0.05 to 0.10
        LawnSandyFlat = "lawn_sandy_flat",
        /// lawn on sandy soil, 2 to 7 %, 0.10 to 0.15
        LawnSandyAverage = "lawn_sandy_average",
        /// lawn on sandy soil, from 7 %, 0.15 to 0.20
        LawnSandySteep = "lawn_sandy_steep",
        /// lawn on heavy soil, flat to 2 %, 0.13 to 0.17
        LawnHeavyFlat = "lawn_heavy_flat",
        /// lawn on heavy soil, 2 to 7 %, 0.18 to 0.22
        LawnHeavyAverage = "lawn_heavy_average",
        /// lawn on heavy soil, from 7 %, 0.25 to 0.35
        LawnHeavySteep = "lawn_heavy_steep",
    }
}

wire_object! {
    /// A part of a catchment.
    pub struct CatchmentSurface {
        /// What it is covered with.
        pub cover: Shedding,
        /// Area in plan.
        pub area: Area,
        /// Runoff coefficient from 0 to 1; the high end of the published range when left out.
        pub coefficient: Option<Factor>,
    }
}

wire_union! {
    /// A part of the longest way of the water to the run.
    pub enum FlowPath {
        /// a thin sheet over a plane (kinematic wave), up to 100 ft or what the water rules set
        Sheet as SheetPath = "sheet" {
            /// Length.
            length: Length,
            /// Fall in percent, above 0 and up to 100.
            fall_pct: Percent,
            /// Manning's n of the surface for sheet flow, from 0.001 to 0.8: for example `"0.011"` for smooth paving, `"0.24"`
            /// for dense grass, `"0.80"` for woods with dense underbrush.
            roughness: Factor,
        }
        /// overland flow by the formula of the US Federal Aviation Administration, up to 500 ft or what the water rules set
        Overland as OverlandPath = "overland" {
            /// Length.
            length: Length,
            /// Fall in percent, above 0 and up to 100.
            fall_pct: Percent,
            /// Runoff coefficient of the ground it runs over, from 0 to 1.
            coefficient: Factor,
        }
        /// shallow gathered flow, velocity = factor x root of the fall
        Shallow as ShallowPath = "shallow" {
            /// Length.
            length: Length,
            /// Fall in percent, above 0 and up to 100.
            fall_pct: Percent,
            /// Velocity factor in feet a second, from 0.1 to 100: 20.3 paved, 16.1 unpaved.
            velocity_factor: Factor,
        }
    }
}

wire_object! {
    /// Where the water of a catchment reaches a run: along a stretch, or at one place.
    pub struct Reaches {
        /// The run.
        pub run: Code,
        /// Number of the leg, the first being 1; the whole run, tees included, when left out. A run of several legs needs it with
        /// `from` or `to`; with `at` it is the first leg when left out.
        pub leg: Option<Whole<1, 50>>,
        /// Start of the stretch on that leg; the start of the leg when left out.
        pub from: Option<Length>,
        /// End of the stretch on that leg; the end of the leg when left out.
        pub to: Option<Length>,
        /// One place on that leg instead of a stretch: a roof leader.
        pub at: Option<Length>,
        /// Part of the catchment's water that goes here; the parts of a catchment make 100 %. Equal parts when left out everywhere.
        pub share_pct: Option<Percent>,
    }
}

wire_object! {
    /// An area whose rain reaches runs.
    pub struct Catchment {
        /// Its name on this job.
        pub id: Code,
        /// What it is made of.
        pub surfaces: List<CatchmentSurface, 1, 50>,
        /// The longest way of its water; the least time of concentration holds when left out.
        pub path: List<FlowPath, 0, 10>,
        /// Where its water goes.
        pub reaches: List<Reaches, 1, 50>,
    }
}

wire_object! {
    /// Water that flows in by itself: a hose, a pump, a leader of known flow.
    pub struct Inflow {
        /// Its name on this job.
        pub id: Code,
        /// The run it reaches.
        pub run: Code,
        /// Number of the leg; the first when left out.
        pub leg: Option<Whole<1, 50>>,
        /// Where on that leg.
        pub at: Length,
        /// How much.
        pub flow: Flow,
    }
}

wire_enum! {
    /// Which of the systems that pass is taken.
    pub enum Preference {
        /// the one whose channel and grate cost least
        Cheapest = "cheapest",
        /// the smallest section
        Smallest = "smallest",
    }
}

wire_object! {
    /// What runoff coefficients are multiplied by for storms up to a return period.
    pub struct FrequencyStep {
        /// Storms of a return period up to and including this, above that of the step before.
        pub up_to_years: Whole<1, 1000>,
        /// The factor, from 1 to 2. A coefficient with its factor stays at most 1.
        pub factor: Factor,
    }
}

wire_object! {
    /// The office's rules for water. Every one has a usual value when left out.
    pub struct WaterRules {
        /// Return period of storms that name none; none when left out.
        pub return_period_years: Option<Whole<1, 1000>>,
        /// Room under the grate that a run keeps; 1/2 in.
        pub least_freeboard: Option<Length>,
        /// Depth of water over the grate at which it must take everything; 1/2 in.
        pub ponding: Option<Length>,
        /// Part of a grate that leaves and dirt block, at most 99 %; 50 % (usual allowance in a sag).
        pub clogged_pct: Option<Percent>,
        /// Least time of concentration, 1 min or more; 5 min.
        pub least_concentration: Option<crate::units::quantity::Span>,
        /// What rare storms raise runoff coefficients by, shortest return period first; 1 up to 10 years, 1.1 up to 25, 1.2 up to
        /// 50, 1.25 up to 100 when left out. Beyond the last period the last factor holds, with a warning. One step of factor 1
        /// up to 1000 years raises none. A storm whose return period neither the notes nor these rules name has no factor.
        pub frequency_factors: List<FrequencyStep, 0, 20>,
        /// Length up to which water runs as a sheet; a longer `sheet` path is warned about; 100 ft.
        pub longest_sheet_flow: Option<Length>,
        /// Length up to which the formula of overland flow is used; a longer `overland` path is warned about; 500 ft.
        pub longest_overland_flow: Option<Length>,
        /// Head lost at a corner of a run, in velocity heads, at most 20; 1.2 for a mitre.
        pub corner_loss: Option<Factor>,
        /// Head lost at each bend of a pipe, in velocity heads, at most 20; 0.25.
        pub bend_loss: Option<Factor>,
        /// Head lost where a pipe joins another, in velocity heads, at most 20; 0.5.
        pub junction_loss: Option<Factor>,
        /// Velocity below which a full pipe silts up, in feet a second; 2.
        pub least_velocity_ft_per_s: Option<Factor>,
        /// Velocity above which a pipe wears, in feet a second; 10.
        pub greatest_velocity_ft_per_s: Option<Factor>,
        /// Which system is chosen where notes name none; the cheapest when left out.
        pub preference: Option<Preference>,
    }
}

/// Rules that say nothing: every usual value.
pub static USUAL: WaterRules = WaterRules {
    return_period_years: None,
    least_freeboard: None,
    ponding: None,
    clogged_pct: None,
    least_concentration: None,
    frequency_factors: List::EMPTY,
    longest_sheet_flow: None,
    longest_overland_flow: None,
    corner_loss: None,
    bend_loss: None,
    junction_loss: None,
    least_velocity_ft_per_s: None,
    greatest_velocity_ft_per_s: None,
    preference: None,
};
