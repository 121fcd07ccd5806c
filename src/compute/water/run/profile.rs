//! The answer for a run; [`super::assemble`] puts it together.

use super::sweep::ControlKind;
use crate::compute::water::warning::Warning;

/// Which way the flow is held.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Regime {
    /// No water moves.
    Still,
    /// Slow: held from downstream.
    Subcritical,
    /// Fast: held from upstream.
    Supercritical,
}

/// The water at one station.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Station {
    /// Distance from the run's start, m. At a jump or a point inflow there are two with the same station, and three
    /// where the flow parts at a point inflow.
    pub station_m: f64,
    /// Bed above the bed at the run's start, m.
    pub bed_m: f64,
    /// Depth of the water, m.
    pub depth_m: f64,
    /// Depth from the underside of the grate to the bed, m.
    pub channel_depth_m: f64,
    /// Room left under the grate, m; negative where the water stands above its underside.
    pub freeboard_m: f64,
    /// Flow, m³/s; positive towards the finish.
    pub flow_m3_per_s: f64,
    /// Mean velocity, m/s; positive towards the finish.
    pub velocity_m_per_s: f64,
    /// Froude number.
    pub froude: f64,
    /// Which way the flow is held.
    pub regime: Regime,
}

/// A value and where it is found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Extreme {
    /// Distance from the run's start, m.
    pub station_m: f64,
    /// The value.
    pub value: f64,
}

/// A stretch of one regime that flows one way.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RegimeStretch {
    /// Start, m.
    pub from_m: f64,
    /// End, m.
    pub to_m: f64,
    /// Regime.
    pub regime: Regime,
    /// Whether the water flows towards the finish.
    pub towards_finish: bool,
}

/// A section that decides the depth above and below it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ControlSection {
    /// Where, m.
    pub station_m: f64,
    /// Critical depth there, m.
    pub depth_m: f64,
    /// What makes it a control.
    pub kind: ControlKind,
}

/// A hydraulic jump.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Jump {
    /// Where, m.
    pub station_m: f64,
    /// Depth of the fast water, m.
    pub depth_before_m: f64,
    /// Depth of the slow water, m.
    pub depth_after_m: f64,
}

/// Where the flow parts to two outlets.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DividePoint {
    /// Where, m.
    pub station_m: f64,
    /// Depth there, m.
    pub depth_m: f64,
    /// Depth from the left less depth from the right, m: 0 but for rounding.
    pub mismatch_m: f64,
}

/// What holds the water at an outlet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OutletControl {
    /// Free fall: critical depth.
    Critical,
    /// The head its opening needs, or the water that backs up there.
    Depth,
    /// Fast flow reaches it: it holds nothing back.
    FastFlow,
    /// No flow reaches it from this side.
    NoFlow,
}

/// The water at an outlet, from one side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OutletSide {
    /// Flow that arrives, m³/s.
    pub flow_m3_per_s: f64,
    /// Depth just before the outlet, m.
    pub depth_m: f64,
    /// What decides that depth.
    pub control: OutletControl,
}

/// An outlet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OutletResult {
    /// Where, m.
    pub station_m: f64,
    /// Flow through it, m³/s.
    pub flow_m3_per_s: f64,
    /// Flow that passes it along the run because it is too small for what arrives, m³/s.
    pub passed_on_m3_per_s: f64,
    /// Depth its opening and tailwater ask for, m; 0 for a free fall.
    pub depth_needed_m: f64,
    /// From the side of the run's start, where the run extends there.
    pub from_start: Option<OutletSide>,
    /// From the side of the run's finish.
    pub from_finish: Option<OutletSide>,
}

/// Water above the underside of the grate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Overtopping {
    /// First station of the profile where it stands above, m.
    pub from_m: f64,
    /// Last one, m.
    pub to_m: f64,
    /// Station of the worst, m.
    pub worst_m: f64,
    /// By how much there, m.
    pub by_m: f64,
}

/// How well the answer keeps the laws it is made from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Residuals {
    /// Sum of what the momentum balance of every stretch, jump and point inflow is off, over the greatest specific
    /// force in the run.
    pub momentum: f64,
    /// Inflow less outflow over inflow.
    pub mass: f64,
}

/// The water along a run.
#[derive(Debug, Clone, PartialEq)]
pub struct RunProfile {
    /// Profile from start to finish, fine enough to draw.
    pub stations: Vec<Station>,
    /// Greatest depth, m.
    pub greatest_depth: Extreme,
    /// Least freeboard, m.
    pub least_freeboard: Extreme,
    /// Greatest velocity, m/s.
    pub greatest_velocity: Extreme,
    /// Greatest share of the channel's depth that water fills.
    pub greatest_fill: Extreme,
    /// Where the water stands above the underside of the grate, if it does.
    pub overtopping: Option<Overtopping>,
    /// Stretches of one regime, from start to finish.
    pub regimes: Vec<RegimeStretch>,
    /// Control sections inside the run. Without any, outlets control it.
    pub controls: Vec<ControlSection>,
    /// Hydraulic jumps.
    pub jumps: Vec<Jump>,
    /// Divides between outlets.
    pub divides: Vec<DividePoint>,
    /// Outlets, by station.
    pub outlets: Vec<OutletResult>,
    /// Inflow of the whole run, m³/s.
    pub inflow_m3_per_s: f64,
    /// How well mass and momentum balance.
    pub residuals: Residuals,
    /// What to read the answer with.
    pub warnings: Vec<Warning>,
}

impl RunProfile {
    /// Whether the least freeboard is kept.
    #[must_use]
    pub fn fits(&self, least_freeboard_m: f64) -> bool {
        self.least_freeboard.value >= least_freeboard_m
    }
}
