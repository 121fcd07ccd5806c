//! The water surface along a run with inflow all along it: spatially varied flow.
//!
//! ```text
//! RunInput ─check─> Run ─layout─> nodes and cells ─solve─> branches (one per side of each outlet)
//!    branch: sweep upstream (slow water) ─> compose downstream (fast water, jumps) ─> strips
//!    strips ─> stations, extremes, balance, remarks ─> RunProfile
//! ```
//!
//! | file | subject |
//! |---|---|
//! | `input`, `check` | the description and its check |
//! | `layout`, `branch` | the run cut where anything changes, and its parts that drain one way |
//! | `terms` | the equation |
//! | `march`, `dormand_prince`, `radau`, `singular`, `segment` | its integration |
//! | `joint` | point inflows and corners |
//! | `control`, `sweep`, `compose` | what controls the flow; slow water upstream, fast water downstream, jumps |
//! | `solve`, `together`, `divides` | which water goes to which outlet |
//! | `profile`, `assemble`, `extremes`, `balance`, `remarks` | the answer and what it says of itself |
//! | `limits` | most flow and longest run |
//! | `error` | why a run cannot be computed, in words that say what to change |
//!
//! A run may rise, fall, turn, and drain at either end, both, or in between. A bed that falls away from its
//! outlet is computed (the water piles up until it flows) and named: it keeps water after the storm.

mod assemble;
mod balance;
mod branch;
mod check;
mod compose;
mod control;
mod divides;
mod dormand_prince;
mod error;
mod extremes;
mod input;
mod joint;
mod layout;
mod limits;
mod march;
mod profile;
mod radau;
mod remarks;
mod segment;
mod singular;
mod solve;
mod sweep;
mod terms;
mod together;

pub use error::RunError;
pub use input::{
    LateralInflow, Leg, Outlet, PointInflow, Run, RunInput, RunSettings, corner_loss_coefficient,
};
pub use limits::{LongestRun, RunLimits};
pub use profile::{
    ControlSection, DividePoint, Extreme, Jump, OutletControl, OutletResult, OutletSide, Overtopping, Regime,
    RegimeStretch, Residuals, RunProfile, Station,
};
pub use sweep::ControlKind;
pub use terms::water_surface_slope;
