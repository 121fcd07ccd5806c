//! The most flow and the longest run that still fit.

use super::error::RunError;
use super::extremes;
use super::input::{Run, RunInput};
use super::profile::Extreme;
use super::solve;
use super::terms::Follow;
use super::together::Parting;
use crate::compute::water::bounds::{LEG_LENGTH, STATION};
use crate::compute::water::roots;
use std::cell::RefCell;

/// How far a run is from its limits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RunLimits {
    /// The most flow that keeps the least freeboard, with all inflow grown alike; `None` when there is no inflow, or
    /// standing water alone leaves too little room.
    pub most_flow_m3_per_s: Option<f64>,
    /// Design flow over the most flow: the share of the capacity that is used.
    pub share_of_capacity: Option<f64>,
    /// Length of the run, stretched or shrunk as [`RunInput::with_length_times`] or the caller does, that just keeps the
    /// least freeboard.
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

/// Relative width to which the limits are found.
const TOLERANCE: f64 = 1e-7;
/// To which they are found at first; a last step of no more along the slope leaves an error far below it.
const NEAR: f64 = 1e-5;
/// Longest such step: about what the rough water surface lies off the fine one.
const LAST_STEP: f64 = 2e-5;
/// Powers of the factor that the depth grows with, about: critical and normal depth go with 0.6 to 0.7 of the flow, and a
/// longer run also loses more to friction.
const FLOW_POWER: f64 = 0.65;
const LENGTH_POWER: f64 = 0.75;
/// Farthest first guess by it: where least room is, there may be hardly any water yet.
const FARTHEST_GUESS: f64 = 2.0;
/// Last step of that on the rough water surface: what the power is off, times it, is no more than that surface is.
const CLOSE: f64 = 1e-3;
/// What three places tell of the root beyond the last two, when they leave no more than [`LAST_STEP`] untold: about a fifth.
const FAINT_BEND: f64 = 1e-4;
/// How much shorter than the step before one must be for it to close in.
const SHRINKS: f64 = 0.8;
/// Trials in which that closes in.
const MOST_TRIALS: usize = 8;
/// A deep enough lack of room for a flow that has no steady surface at all, m.
const NO_SURFACE: f64 = -1.0;

impl Run {
    /// Least freeboard along the run and where, m, without the rest of the profile.
    ///
    /// # Errors
    /// As [`Run::profile`].
    pub fn least_freeboard(&self) -> Result<Extreme, RunError> {
        Ok(extremes::least_freeboard(&solve::solve(self, Follow::FINE, None)?))
    }

    /// Finds the most flow and the longest run that keep the least freeboard of the settings.
    ///
    /// # Errors
    /// When the run as it stands has no steady water surface.
    pub fn limits(&self) -> Result<RunLimits, RunError> {
        Ok(self.limits_from(self.least_freeboard()?))
    }

    /// The same for a run whose least freeboard is known: from its profile, say.
    #[must_use]
    pub fn limits_from(&self, least_freeboard: Extreme) -> RunLimits {
        Search::new(self, least_freeboard, None).limits()
    }

    /// The same where a longer run is not the same channel drawn out, as with fall built into its sections: `stretched`
    /// describes the run at a factor of its length, inflow per length and point inflows as they are.
    #[must_use]
    pub fn limits_stretched_by(
        &self,
        least_freeboard: Extreme,
        stretched: &dyn Fn(f64) -> RunInput,
    ) -> RunLimits {
        Search::new(self, least_freeboard, Some(stretched)).limits()
    }
}

/// The search for the limits of one run.
struct Search<'a> {
    run: &'a Run,
    /// The run at a factor of its length, where that is not the same channel drawn out.
    stretched: Option<&'a dyn Fn(f64) -> RunInput>,
    wanted: f64,
    /// Room left as the run stands, m.
    now: f64,
    /// Depth of the water where there is least of it, m.
    depth: f64,
    /// Where the flow parted last: it does so in about the same shares when the run changes a little.
    parting: RefCell<Option<Parting>>,
}

impl<'a> Search<'a> {
    fn new(run: &'a Run, least: Extreme, stretched: Option<&'a dyn Fn(f64) -> RunInput>) -> Self {
        let wanted = run.input().settings.least_freeboard_m;
        let depth = run.layout.channel_depth_at(least.station_m) - least.value;
        Self { run, stretched, wanted, now: least.value - wanted, depth, parting: RefCell::new(None) }
    }

    fn limits(&self) -> RunLimits {
        let most = self.most_flow_factor();
        let inflow = self.run.total_inflow_m3_per_s();
        RunLimits {
            most_flow_m3_per_s: most.map(|factor| factor * inflow),
            share_of_capacity: most.map(|factor| 1.0 / factor),
            longest: self.longest(),
        }
    }

    /// Room left with a changed description; a description without a steady surface has none.
    fn spare(&self, input: RunInput, follow: Follow) -> f64 {
        let Ok(run) = Run::new(input) else { return NO_SURFACE };
        let hint = self.parting.take();
        let solved = match solve::solve(&run, follow, hint.as_ref()) {
            // Followed coarsely a surface may miss what it meets: only one that is followed finely is not there.
            Err(_) if follow != Follow::FINE => solve::solve(&run, Follow::FINE, hint.as_ref()),
            solved => solved,
        };
        let Ok(solution) = solved else { return NO_SURFACE };
        let least = extremes::least_freeboard(&solution);
        self.parting.replace(Some(solution.parting));
        least.value - self.wanted
    }

    fn most_flow_factor(&self) -> Option<f64> {
        if self.run.total_inflow_m3_per_s() <= 0.0 {
            return None;
        }
        let spare = |log_factor: f64, follow: Follow| {
            self.spare(self.run.input().with_flow_times(log_factor.exp()), follow)
        };
        let step = if self.now >= 0.0 { 0.7 } else { -0.7 };
        self.limit(spare, FLOW_POWER, step, 60).map(f64::exp)
    }

    fn longest(&self) -> LongestRun {
        let length = self.run.length_m();
        let legs = &self.run.input().legs;
        let spare = |log_factor: f64, follow: Follow| {
            let factor = log_factor.exp();
            let of = |stretched: &dyn Fn(f64) -> RunInput| stretched(factor);
            self.spare(self.stretched.map_or_else(|| self.run.input().with_length_times(factor), of), follow)
        };
        let (step, room): (f64, f64) = if self.now >= 0.0 {
            let longest_leg = legs.iter().map(|leg| leg.length_m).fold(0.0, f64::max);
            // Where the legs do not grow alike, no one is longer than the run.
            let longest_leg = if self.stretched.is_some() { length } else { longest_leg };
            (0.35, (LEG_LENGTH.max / longest_leg).min(STATION.max / length).ln())
        } else {
            let shortest_leg = legs.iter().map(|leg| leg.length_m).fold(f64::INFINITY, f64::min);
            (-0.35, (shortest_leg / LEG_LENGTH.min).ln())
        };
        let steps = (room / step.abs()).floor().max(0.0) as usize;
        match self.limit(spare, LENGTH_POWER, step, steps) {
            Some(log_factor) => LongestRun::Length(length * log_factor.exp()),
            None => {
                let reached = length * (step * steps as f64).exp();
                if self.now >= 0.0 { LongestRun::MoreThan(reached) } else { LongestRun::LessThan(reached) }
            }
        }
    }

    /// Place where `spare` changes sign, on the side that fits, going from 0 as far as `steps` steps.
    fn limit(&self, spare: impl Fn(f64, Follow) -> f64, power: f64, step: f64, steps: usize) -> Option<f64> {
        let root = self
            .by_power(&spare, power, step * steps as f64)
            .or_else(|| crossing(spare, self.now, step, steps))?;
        // Less flow, and a shorter run, leave more room.
        Some(root - 2.0 * TOLERANCE)
    }

    /// The same by way of the depth where there is least room: its logarithm grows about evenly with that of the factor.
    /// `None` where that does not lead to it.
    fn by_power(&self, spare: impl Fn(f64, Follow) -> f64, power: f64, farthest: f64) -> Option<f64> {
        let range = (farthest.min(0.0), farthest.max(0.0));
        let full = self.depth + self.now;
        let risen = |spare: f64| ((full - spare) / full).ln();
        let start = risen(self.now);
        let mut at = (-start / power).min(FARTHEST_GUESS);
        // Where there is hardly any water yet the depth says nothing of how it will grow.
        let mut before = (self.depth > 0.2 * full).then_some((0.0, start));
        let mut earlier = None;
        let mut power = power;
        for _ in 0..MOST_TRIALS {
            if !(range.0..=range.1).contains(&at) {
                return None;
            }
            let there = spare(at, Follow::COARSE);
            let value = risen(there);
            if let Some((last, seen)) = before {
                power = (value - seen) / (at - last);
            }
            let step = value / power;
            // More flow, and a longer run, leave less room. Written so that a NaN fails it.
            let grows = power > 0.0 && there > NO_SURFACE && step.is_finite();
            if !grows || before.is_some_and(|(last, _)| step.abs() > SHRINKS * (at - last).abs()) {
                return None;
            }
            let straight = at - step;
            let bend = earlier.zip(before).map(|(a, b)| roots::through_three(a, b, (at, value)) - straight);
            let bend = bend.filter(|bend| bend.abs() <= step.abs());
            (earlier, before) = (before, Some((at, value)));
            at = straight + bend.unwrap_or(0.0);
            if step.abs() <= CLOSE || bend.is_some_and(|bend| bend.abs() <= FAINT_BEND) {
                break;
            }
        }
        let fine = |at: f64| Ok::<f64, std::convert::Infallible>(spare(at, Follow::FINE));
        let from = roots::Along { place: at, slope: -power * full, range, telling: 0.0, near: LAST_STEP };
        let Ok(root) = roots::near(fine, from);
        root.map(|(root, _)| root)
    }
}

/// Place where `spare` changes sign, going from 0 in growing strides up to `steps` steps.
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
            let to = roots::Closeness { rough: NEAR, slope_step: 1e-3, near: LAST_STEP, fine: TOLERANCE };
            let Ok(root) = roots::rough_then_fine(by, (at, value), (next, there), to);
            return Some(root);
        }
        (at, value) = (next, there);
    }
    None
}
