//! The most flow and the longest run that still fit.

use super::error::RunError;
use super::extremes;
use super::input::{Run, RunInput};
use super::profile::Extreme;
use super::solve;
use super::terms::Follow;
use crate::compute::water::bounds::{LEG_LENGTH, STATION};
use crate::compute::water::roots;

/// How far a run is from its limits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RunLimits {
    /// The most flow that keeps the least freeboard, with all inflow grown alike; `None` when there is no inflow, or
    /// standing water alone leaves too little room.
    pub most_flow_m3_per_s: Option<f64>,
    /// Design flow over the most flow: the share of the capacity that is used.
    pub share_of_capacity: Option<f64>,
    /// Length of the run, stretched or shrunk as [`RunInput::with_length_times`] does, that just keeps the least
    /// freeboard.
    pub longest: LongestRun,
}

/// Answer to how long the run may be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum LongestRun {
    /// It just fits at this length, m.
    Length(f64),
    /// It still fits at this length, the longest that was tried, m.
    MoreThan(f64),
    /// It does not fit at this length, the shortest that was tried, m.
    LessThan(f64),
}

/// Relative width to which the limits are found, and to which they are found at first.
const TOLERANCE: f64 = 1e-7;
const NEAR: f64 = 1e-5;
/// A deep enough lack of room for a flow that has no steady surface at all, m.
const NO_SURFACE: f64 = -1.0;

impl Run {
    /// Least freeboard along the run and where, m, without the rest of the profile.
    ///
    /// # Errors
    /// As [`Run::profile`].
    pub fn least_freeboard(&self) -> Result<Extreme, RunError> {
        self.least_freeboard_by(Follow::FINE)
    }

    fn least_freeboard_by(&self, follow: Follow) -> Result<Extreme, RunError> {
        Ok(extremes::least_freeboard(&solve::solve(self, follow)?))
    }

    /// Finds the most flow and the longest run that keep the least freeboard of the settings.
    ///
    /// # Errors
    /// When the run as it stands has no steady water surface.
    pub fn limits(&self) -> Result<RunLimits, RunError> {
        let wanted = self.input().settings.least_freeboard_m;
        let now = self.least_freeboard()?.value - wanted;
        let most = self.most_flow_factor(now, wanted);
        let inflow = self.total_inflow_m3_per_s();
        Ok(RunLimits {
            most_flow_m3_per_s: most.map(|factor| factor * inflow),
            share_of_capacity: most.map(|factor| 1.0 / factor),
            longest: self.longest(now, wanted),
        })
    }

    /// Room left with a changed description; a description without a steady surface has none.
    fn spare(input: RunInput, wanted: f64, follow: Follow) -> f64 {
        Run::new(input)
            .ok()
            .and_then(|run| run.least_freeboard_by(follow).ok())
            .map_or(NO_SURFACE, |least| least.value - wanted)
    }

    fn most_flow_factor(&self, now: f64, wanted: f64) -> Option<f64> {
        if self.total_inflow_m3_per_s() <= 0.0 {
            return None;
        }
        let spare = |log_factor: f64, follow: Follow| {
            Self::spare(self.input().with_flow_times(log_factor.exp()), wanted, follow)
        };
        let step = if now >= 0.0 { 0.7 } else { -0.7 };
        crossing(spare, now, step, 60).map(f64::exp)
    }

    fn longest(&self, now: f64, wanted: f64) -> LongestRun {
        let length = self.length_m();
        let shortest_leg = self.input().legs.iter().map(|leg| leg.length_m).fold(f64::INFINITY, f64::min);
        let spare = |log_factor: f64, follow: Follow| {
            Self::spare(self.input().with_length_times(log_factor.exp()), wanted, follow)
        };
        let (step, room): (f64, f64) = if now >= 0.0 {
            let longest_leg = self.input().legs.iter().map(|leg| leg.length_m).fold(0.0, f64::max);
            (0.35, (LEG_LENGTH.max / longest_leg).min(STATION.max / length).ln())
        } else {
            (-0.35, (shortest_leg / LEG_LENGTH.min).ln())
        };
        let steps = (room / step.abs()).floor().max(0.0) as usize;
        match crossing(spare, now, step, steps) {
            Some(log_factor) => LongestRun::Length(length * log_factor.exp()),
            None => {
                let reached = length * (step * steps as f64).exp();
                if now >= 0.0 { LongestRun::MoreThan(reached) } else { LongestRun::LessThan(reached) }
            }
        }
    }
}

/// Place where `spare` changes sign, going from 0 in growing strides up to `steps` steps; on the side that fits.
fn crossing(spare: impl Fn(f64, Follow) -> f64, now: f64, step: f64, steps: usize) -> Option<f64> {
    let fits = now >= 0.0;
    let rough = |at: f64| spare(at, Follow::COARSE);
    let (mut at, mut value) = (0.0, now);
    let (mut gone, mut stride) = (0, 1);
    while gone < steps {
        gone = (gone + stride).min(steps);
        stride *= 2;
        let next = step * gone as f64;
        let there = rough(next);
        if (there >= 0.0) != fits {
            let by = |at: f64, fine: bool| {
                let follow = if fine { Follow::FINE } else { Follow::COARSE };
                Ok::<f64, std::convert::Infallible>(spare(at, follow))
            };
            let to = roots::Closeness { rough: NEAR, slope_step: 1e-3, near: TOLERANCE, fine: TOLERANCE };
            let Ok(root) = roots::rough_then_fine(by, (at, value), (next, there), to);
            // Less flow, and a shorter run, leave more room.
            return Some(root - 2.0 * TOLERANCE);
        }
        (at, value) = (next, there);
    }
    None
}
