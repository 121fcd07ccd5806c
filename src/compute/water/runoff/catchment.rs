//! From surfaces and rain to the design flow, with the working.

use super::rational::{
    Composite, FrequencyFactors, applied_coefficient, composite_coefficient, rational_flow_m3_per_s,
};
use super::travel::{
    KinematicConstant, faa_minutes, kinematic_wave_minutes, kirpich_minutes, shallow_flow_velocity_m_per_s,
    travel_minutes,
};
use crate::compute::rain::{Rain, RainError};
use crate::compute::water::bounds::{self, RangeFaults};
use crate::compute::water::manning;
use crate::compute::water::warning::Warning;

/// One surface of a catchment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SurfaceArea {
    /// Runoff coefficient.
    pub coefficient: f64,
    /// Area in plan, m².
    pub area_m2: f64,
}

/// A part of the longest way of the water to the run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PathSegment {
    /// A thin sheet over a plane: kinematic wave, settled with the rain.
    Sheet {
        /// Manning's n of the surface for sheet flow, s/m^(1/3): grass and litter hold a thin sheet back more than the water
        /// of a channel (tables up to 0.80 in USDA NRCS TR-55 and FHWA HEC-22, from memory).
        n: f64,
        /// Length, m.
        length_m: f64,
        /// Slope, m/m.
        slope: f64,
    },
    /// Overland flow by the formula of the Federal Aviation Administration.
    Overland {
        /// Runoff coefficient of the surface.
        coefficient: f64,
        /// Length, m.
        length_m: f64,
        /// Slope, m/m.
        slope: f64,
    },
    /// Shallow gathered flow, `V = K S^0.5`.
    Shallow {
        /// `K`, ft/s.
        factor_fps: f64,
        /// Length, m.
        length_m: f64,
        /// Slope, m/m.
        slope: f64,
    },
    /// A ditch or pipe by Manning's formula.
    Channel {
        /// Manning's n, s/m^(1/3).
        n: f64,
        /// Hydraulic radius, m.
        hydraulic_radius_m: f64,
        /// Length, m.
        length_m: f64,
        /// Slope, m/m.
        slope: f64,
    },
    /// A small rural basin (Kirpich).
    Basin {
        /// Length, m.
        length_m: f64,
        /// Slope, m/m.
        slope: f64,
    },
}

impl PathSegment {
    fn minutes(&self, intensity_mm_per_h: f64, constant: KinematicConstant) -> f64 {
        match *self {
            Self::Sheet { n, length_m, slope } => {
                kinematic_wave_minutes(n, length_m, slope, intensity_mm_per_h, constant)
            }
            Self::Overland { coefficient, length_m, slope } => faa_minutes(coefficient, length_m, slope),
            Self::Shallow { factor_fps, length_m, slope } => {
                travel_minutes(length_m, shallow_flow_velocity_m_per_s(factor_fps, slope))
            }
            Self::Channel { n, hydraulic_radius_m, length_m, slope } => {
                travel_minutes(length_m, manning::velocity_m_per_s(hydraulic_radius_m, slope, n))
            }
            Self::Basin { length_m, slope } => kirpich_minutes(length_m, slope),
        }
    }

    fn check(&self, place: &str, faults: &mut RangeFaults) {
        let (length_m, slope) = match *self {
            Self::Sheet { n, length_m, slope } => {
                faults.check(&bounds::SHEET_N, format!("{place}.n"), n);
                (length_m, slope)
            }
            Self::Overland { coefficient, length_m, slope } => {
                faults.check(&bounds::RUNOFF_COEFFICIENT, format!("{place}.coefficient"), coefficient);
                (length_m, slope)
            }
            Self::Shallow { factor_fps, length_m, slope } => {
                let bound = bounds::Bound {
                    label: "velocity factor",
                    unit: "ft/s",
                    min: 0.1,
                    max: 100.0,
                    why: "published factors run from 2.5 to 20.3",
                };
                faults.check(&bound, format!("{place}.factor_fps"), factor_fps);
                (length_m, slope)
            }
            Self::Channel { n, hydraulic_radius_m, length_m, slope } => {
                let roughness = bounds::Bound { min: 1e-3, ..bounds::MANNING_N };
                faults.check(&roughness, format!("{place}.n"), n);
                let bound = bounds::Bound { label: "hydraulic radius", min: 1e-4, ..bounds::WATER_DEPTH };
                faults.check(&bound, format!("{place}.hydraulic_radius_m"), hydraulic_radius_m);
                (length_m, slope)
            }
            Self::Basin { length_m, slope } => (length_m, slope),
        };
        faults.check(&bounds::FLOW_LENGTH, format!("{place}.length_m"), length_m);
        faults.check(&bounds::FLOW_SLOPE, format!("{place}.slope"), slope);
    }

    /// Lengths beyond which a formula is not meant to be used.
    fn warning(&self, settings: &ConcentrationSettings) -> Option<Warning> {
        let (what, length_m, limit_m) = match *self {
            Self::Sheet { length_m, .. } => ("sheet flow", length_m, settings.longest_sheet_m),
            Self::Overland { length_m, .. } => ("overland flow", length_m, settings.longest_overland_m),
            _ => return None,
        };
        (length_m > limit_m * (1.0 + 1e-9)).then_some(Warning::LongFlow { what, length_m, limit_m })
    }
}

/// Numbers of the trade for the time of concentration.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ConcentrationSettings {
    /// Least time of concentration, min; 5 (usual floor of the rational method, FHWA HEC-22, from memory).
    pub floor_minutes: f64,
    /// Constant of the kinematic wave.
    pub kinematic_constant: KinematicConstant,
    /// Length up to which water runs as a sheet and the kinematic wave is used, m; 30.48, which is 100 ft (limit of
    /// sheet flow, USDA NRCS and FHWA HEC-22, from memory).
    pub longest_sheet_m: f64,
    /// Length up to which the formula of the Federal Aviation Administration is used, m; 152.4, which is 500 ft (from
    /// memory).
    pub longest_overland_m: f64,
}

impl Default for ConcentrationSettings {
    fn default() -> Self {
        Self {
            floor_minutes: 5.0,
            kinematic_constant: KinematicConstant::Us,
            longest_sheet_m: 30.48,
            longest_overland_m: 152.4,
        }
    }
}

/// One round of settling the time of concentration with the rain.
#[derive(Debug, Clone, PartialEq)]
pub struct TravelStep {
    /// Duration the intensity was read at, min.
    pub duration_minutes: f64,
    /// Intensity, mm/h.
    pub intensity_mm_per_h: f64,
    /// Time of every segment at that intensity, min.
    pub segment_minutes: Vec<f64>,
    /// Their sum, min.
    pub travel_minutes: f64,
}

/// Rounds after which a time of concentration that still grows is refused.
const ROUNDS: usize = 5_000;

/// Why a catchment has no design flow.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum CatchmentError {
    /// Something in the input breaks a rule; all of it at once.
    #[error("the catchment's input breaks a rule: {0}")]
    Invalid(#[from] RangeFaults),
    /// The rain has no intensity for the duration needed.
    #[error(transparent)]
    Rain(#[from] RainError),
    /// The longer it rains the weaker the rain, and the weaker the rain the longer the water takes: without end.
    #[error(
        "the time of concentration does not settle: the rain weakens so fast with its duration that the sheet takes ever \
         longer, {minutes:.0} min and more after {rounds} rounds"
    )]
    Unsettled {
        /// Rounds taken.
        rounds: usize,
        /// Where it stood then, min.
        minutes: f64,
    },
}

/// Settles the time of concentration with the rain: the intensity at a duration gives a travel time, which is the
/// next duration, until both agree.
///
/// Begins with what the time cannot fall below: the floor, the segments that do not hang on the rain, and where a sheet
/// asks for rain, the shortest duration that the rain knows. From there it only grows, so that no rain is read for a
/// duration that the water does not take. Gives the rounds taken; the last one stands.
///
/// # Errors
/// Numbers out of bounds, a duration the rain does not cover, or a time that grows without end.
pub fn time_of_concentration(
    path: &[PathSegment],
    rain: &Rain,
    settings: &ConcentrationSettings,
) -> Result<Vec<TravelStep>, CatchmentError> {
    let mut faults = RangeFaults::default();
    for (i, segment) in path.iter().enumerate() {
        segment.check(&format!("path[{i}]"), &mut faults);
    }
    faults.check(&bounds::DURATION, "settings.floor_minutes", settings.floor_minutes);
    faults.into_result()?;
    let mut steps: Vec<TravelStep> = Vec::new();
    let mut duration = shortest_minutes(path, rain, settings);
    for rounds in 1..=ROUNDS {
        let intensity = rain.intensity_mm_per_h(duration)?;
        let segment_minutes: Vec<f64> = path
            .iter()
            .map(|segment| segment.minutes(intensity.max(f64::MIN_POSITIVE), settings.kinematic_constant))
            .collect();
        let travel_minutes: f64 = segment_minutes.iter().sum();
        steps.push(TravelStep {
            duration_minutes: duration,
            intensity_mm_per_h: intensity,
            segment_minutes,
            travel_minutes,
        });
        let next = travel_minutes.max(settings.floor_minutes);
        if (next - duration).abs() <= 1e-10 * duration {
            return Ok(steps);
        }
        // The first round only finds what an even rain asks for.
        if rounds > 1 && next > bounds::DURATION.max {
            return Err(CatchmentError::Unsettled { rounds, minutes: bounds::DURATION.max });
        }
        duration = next;
    }
    Err(CatchmentError::Unsettled { rounds: ROUNDS, minutes: duration })
}

/// Where settling begins: no time of concentration that the rain covers is shorter.
fn shortest_minutes(path: &[PathSegment], rain: &Rain, settings: &ConcentrationSettings) -> f64 {
    let sheet = |segment: &&PathSegment| matches!(segment, PathSegment::Sheet { .. });
    // No intensity enters the others.
    let others: f64 = path
        .iter()
        .filter(|segment| !sheet(segment))
        .map(|segment| segment.minutes(1.0, settings.kinematic_constant))
        .sum();
    let known = rain.least_minutes().filter(|_| path.iter().any(|segment| sheet(&segment))).unwrap_or(0.0);
    others.max(settings.floor_minutes).max(known)
}

/// A catchment that drains to one run.
#[derive(Debug, Clone, PartialEq)]
pub struct Catchment {
    /// Its surfaces.
    pub surfaces: Vec<SurfaceArea>,
    /// The longest way of the water; empty takes the floor.
    pub path: Vec<PathSegment>,
    /// Return period that picks the frequency factor, years.
    pub return_period_years: f64,
}

/// The design flow and how it came about.
#[derive(Debug, Clone, PartialEq)]
pub struct DesignFlow {
    /// Composite coefficient and areas.
    pub composite: Composite,
    /// Frequency factor.
    pub frequency_factor: f64,
    /// Coefficient used, `min(Cf C, 1)`.
    pub applied_coefficient: f64,
    /// Rounds of settling the time of concentration.
    pub steps: Vec<TravelStep>,
    /// Time of concentration, min.
    pub duration_minutes: f64,
    /// Whether the floor decided it.
    pub at_floor: bool,
    /// Intensity, mm/h.
    pub intensity_mm_per_h: f64,
    /// Design flow, m³/s.
    pub flow_m3_per_s: f64,
    /// What to read it with.
    pub warnings: Vec<Warning>,
}

/// Design flow of a catchment.
///
/// # Errors
/// Numbers out of bounds, or a duration or return period the rain does not cover.
pub fn design_flow(
    catchment: &Catchment,
    rain: &Rain,
    factors: &FrequencyFactors,
    settings: &ConcentrationSettings,
) -> Result<DesignFlow, CatchmentError> {
    let Catchment { surfaces, path, return_period_years } = catchment;
    bounds::RETURN_PERIOD.check("return_period_years", *return_period_years).map_err(RangeFaults::from)?;
    let pairs: Vec<(f64, f64)> = surfaces.iter().map(|s| (s.coefficient, s.area_m2)).collect();
    let composite = composite_coefficient(&pairs)?;
    let (frequency_factor, factor_warning) = factors.factor(*return_period_years);
    let applied = applied_coefficient(composite.coefficient, frequency_factor);
    let steps = time_of_concentration(path, rain, settings)?;
    let (duration, intensity, travel) = steps.last().map_or((settings.floor_minutes, 0.0, 0.0), |s| {
        (s.duration_minutes, s.intensity_mm_per_h, s.travel_minutes)
    });
    let mut warnings: Vec<Warning> = path.iter().filter_map(|segment| segment.warning(settings)).collect();
    warnings.extend(factor_warning);
    Ok(DesignFlow {
        composite,
        frequency_factor,
        applied_coefficient: applied,
        duration_minutes: duration,
        at_floor: travel <= settings.floor_minutes,
        intensity_mm_per_h: intensity,
        flow_m3_per_s: rational_flow_m3_per_s(applied, intensity, composite.area_m2),
        steps,
        warnings,
    })
}
