//! How much water a catchment sends to its run, and how soon.
//!
//! `catchment` puts it together: composite coefficient, time of concentration settled with the rain, design flow,
//! with every intermediate value kept for the working.
//!
//! | file | subject |
//! |---|---|
//! | `catchment` | from surfaces and rain to the design flow |
//! | `surfaces` | coefficients of surfaces, with their source |
//! | `travel` | how long water takes along each kind of path |
//! | `rational` | the rational method |

mod catchment;
mod rational;
mod surfaces;
mod travel;

pub use catchment::{
    Catchment, CatchmentError, ConcentrationSettings, DesignFlow, PathSegment, SurfaceArea, TravelStep,
    design_flow, time_of_concentration,
};
pub use rational::{
    Composite, FlowFactor, FrequencyFactors, applied_coefficient, composite_coefficient,
    rational_flow_m3_per_s, rational_flow_us_cfs,
};
pub use surfaces::{SURFACES, SurfaceRange};
pub use travel::{
    KinematicConstant, faa_minutes, kinematic_wave_minutes, kirpich_minutes, shallow_flow_velocity_m_per_s,
    sheet_flow_minutes, travel_minutes, upland_velocity_factor_fps,
};
