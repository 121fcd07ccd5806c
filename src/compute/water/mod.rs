//! Will the channel, its grate, its outlet and its pipe carry the storm.
//!
//! How the numbers travel:
//!
//! ```text
//! rain ─> runoff ─> run (profile, freeboard) ─> intake (grate, outlet) ─> pipe
//!            rational     spatially varied flow     weir or orifice      Manning
//! ```
//!
//! | module | what it answers |
//! |---|---|
//! | [`bounds`] | which values an input may take, and why (one table) |
//! | [`runoff`] | how much water a catchment sends, and how soon |
//! | [`section`] | area, width, perimeter of a cross-section; critical and normal depth |
//! | [`manning`] | friction: velocity, friction slope, and when Manning's formula does not apply |
//! | [`run`] | the water surface along a run with inflow all along it |
//! | [`intake`] | what a grate swallows and what an outlet lets through |
//! | [`pipe`] | pipes flowing full and partly full, and the tree of drain lines |
//! | `roots` | the root of one equation in one unknown, always bracketed |
//! | [`warning`] | what a result says about itself when a formula leaves its range |
//!
//! Which system and which pipe are taken where the notes leave them open is [`choose`](crate::compute::drainage::choose).
//!
//! # Units
//!
//! Everything is SI in `f64`, and every name carries its unit: `_m`, `_m2`, `_m3_per_s` (flow), `_m2_per_s` (inflow per
//! metre of run), `_m_per_s`, `_mm_per_h` (rain), `_minutes` (durations). Slopes and falls are m/m, Manning's `n` is
//! s/m^(1/3), coefficients have no unit. [`factors`](crate::units::factors) holds the exact ones to feet, gallons and inches. Stations are
//! measured from the run's start; depths of water from the bed of the section they are in; levels from any datum.
//!
//! # What to call
//!
//! | question | call | with | gives |
//! |---|---|---|---|
//! | which rain | [`Rain::given`], [`Rain::Formula`], [`Rain::Table`] | mm/h; [`IntensityFormula`]; [`RainTable`] and [`Frequency`] | [`Rain`] |
//! | a NOAA Atlas 14 point file | [`read_point_file`] | its text | [`PointFile`]: `mean`, `upper`, `lower` are [`RainTable`]s |
//! | rain at a duration | [`Rain::intensity_mm_per_h`] | minutes | mm/h |
//! | flow of a catchment | [`runoff::design_flow`] | [`runoff::Catchment`] (surfaces m², path m), [`Rain`], [`runoff::FrequencyFactors`], [`runoff::ConcentrationSettings`] | [`runoff::DesignFlow`]: m³/s with every step |
//! | usual coefficients | [`runoff::SURFACES`] | | ranges with their source |
//! | water along a run | [`run::Run::new`], then [`run::Run::profile`] | [`run::RunInput`] | [`run::RunProfile`] |
//! | least freeboard alone (quick) | [`run::Run::least_freeboard`] | | [`run::Extreme`], m |
//! | most flow, longest run, share of capacity | [`run::Run::limits`] | `settings.least_freeboard_m` of its input | [`run::RunLimits`] |
//! | outlet of a run | [`run::Outlet`] | station m, [`intake::Opening`] or `None` (free fall), tailwater m above the bed | part of [`run::RunInput`] |
//! | a grate in a sag or over a level run | [`intake::GrateInlet::capacity`], [`intake::GrateInlet::ponding_depth_m`] | depth m, or flow m³/s | m³/s and weir or orifice; m |
//! | one pipe | [`pipe::check_pipe`] | bore m, slope, n, flow m³/s, [`pipe::PipeSettings`] | [`pipe::PipeCheck`] |
//! | a drain line with branches | [`pipe::DrainLine::new`], then [`pipe::DrainLine::compute`] | [`pipe::DrainLineInput`]: legs, inverts and ground as levels m | [`pipe::LineResult`]: fall, grade line, cover per leg |
//!
//! # How to describe a run
//!
//! - [`run::RunInput::section`]: [`section::Rectangle::new`], [`section::UShape::new`] (semicircular bottom, vertical walls)
//!   or [`section::Trapezoid::new`], `.into()` an [`section::OpenSection`].
//! - One [`run::Leg`] per straight stretch, or more where slope or channel depth changes. `surface_fall` is the fall of the
//!   finished surface; `depth_start_m` and `depth_end_m` are from the underside of the grate to the bed, so fall built into
//!   the sections makes the second greater. A corner is [`run::corner_loss_coefficient`] of its deflection.
//! - [`run::LateralInflow`] is m³/s per metre between two stations: the flow of a catchment over the length it drains to.
//!   [`run::PointInflow`] is m³/s at a station: roof leaders, hoses, a run that joins.
//! - [`run::Outlet`]s in order of their stations. At the ends (0, the run's length) or between, where [`intake::FloorOpening`]
//!   fits. With several the divides between them are found.
//! - [`run::RunInput::simple`] makes a run of one leg with even inflow and a free outlet at its finish: change what differs.
//!
//! A run, its outlet and its drain line hold each other up: compute the line first ([`pipe::LegResult::grade_upper_m`]), and
//! where that level is above the run's bed at the outlet give the difference as [`run::Outlet::tailwater_depth_m`]. Flow
//! through each outlet is [`run::OutletResult::flow_m3_per_s`]; a run with several outlets shares its flow between them, so
//! go over run and line again until those flows stand.
//!
//! # What comes back
//!
//! - `Err(`[`bounds::RangeFaults`]`)` names every broken rule at once, each with place, value and what is allowed.
//!   `Err(`[`run::RunError`]`)` says why no steady surface exists, and what to change.
//! - [`run::RunProfile::stations`] run from start to finish and can be drawn as they are; at a jump or a point inflow two
//!   have the same station. `bed_m` is measured from the bed at the start; `freeboard_m` is negative where water stands
//!   above the underside of the grate, and [`run::RunProfile::overtopping`] says from where to where and by how much.
//! - `warnings` are values ([`warning::Warning`]) whose `Display` is the text to show and whose
//!   [`kind`](warning::Warning::kind) is a stable name. Show them all, and [`warning::CAUTION`].
//! - [`run::Residuals`] are what mass and momentum are off in the finished surface; where momentum does not close to
//!   [`run::RunSettings::balance_limit`] the answer carries [`warning::Warning::BalanceNotClosed`].
//!
//! ```
//! use rillcast::compute::rain::Rain;
//! use rillcast::compute::water::run::{Leg, Outlet, Run, RunInput};
//! use rillcast::compute::water::runoff::{Catchment, ConcentrationSettings, FrequencyFactors, SurfaceArea, design_flow};
//! use rillcast::compute::water::section::UShape;
//!
//! // 400 m² of concrete under 100 mm/h: 0.9 x 100 mm/h x 400 m² = 10 L/s.
//! let catchment = Catchment {
//!     surfaces: vec![SurfaceArea { coefficient: 0.9, area_m2: 400.0 }],
//!     path: vec![],
//!     return_period_years: 10.0,
//! };
//! let flow = design_flow(
//!     &catchment,
//!     &Rain::given(100.0)?,
//!     &FrequencyFactors::default(),
//!     &ConcentrationSettings::default(),
//! )?;
//! assert!((flow.flow_m3_per_s - 0.010).abs() < 1e-9);
//!
//! // Along 20 m of channel, 150 mm wide and 200 mm deep, falling 0.5 %.
//! let leg = Leg {
//!     length_m: 20.0,
//!     surface_fall: 0.005,
//!     depth_start_m: 0.2,
//!     depth_end_m: 0.2,
//!     corner_loss_at_end: 0.0,
//! };
//! let run = Run::new(RunInput::simple(UShape::new(0.15)?.into(), 0.011, leg, flow.flow_m3_per_s / 20.0))?;
//! let profile = run.profile()?;
//! assert!(profile.fits(0.05));
//! assert!(profile.greatest_depth.value < 0.12);
//!
//! // The same run where water stands 250 mm deep at its outlet overtops there.
//! let mut backed_up = run.input().clone();
//! backed_up.outlets = vec![Outlet { tailwater_depth_m: Some(0.25), ..Outlet::free(20.0) }];
//! let profile = Run::new(backed_up)?.profile()?;
//! assert!(!profile.fits(0.0) && profile.overtopping.is_some());
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! Nothing here panics or returns a NaN for any input its constructors accept, and the same input gives the same digits.
//!
//! Local rules govern the design storm and where water may be discharged. Where a drain that fails can flood
//! a building or a road, a licensed engineer decides; see [`warning::CAUTION`].
//!
//! [`Rain`]: crate::compute::rain::Rain
//! [`Rain::given`]: crate::compute::rain::Rain::given
//! [`Rain::Formula`]: crate::compute::rain::Rain::Formula
//! [`Rain::Table`]: crate::compute::rain::Rain::Table
//! [`Rain::intensity_mm_per_h`]: crate::compute::rain::Rain::intensity_mm_per_h
//! [`IntensityFormula`]: crate::compute::rain::IntensityFormula
//! [`RainTable`]: crate::compute::rain::RainTable
//! [`Frequency`]: crate::compute::rain::Frequency
//! [`read_point_file`]: crate::compute::rain::read_point_file
//! [`PointFile`]: crate::compute::rain::PointFile

pub mod bounds;
pub mod intake;
pub mod manning;
pub mod pipe;
pub mod run;
pub mod runoff;
pub mod section;
pub mod warning;

mod roots;

/// Standard gravity, m/s².
///
/// Source: NIST SP 811 (2008), the conventional value 9.80665 m/s² (exact).
pub const STANDARD_GRAVITY: f64 = 9.80665;
