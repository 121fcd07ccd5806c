//! The greatest and least along a water surface, found between the stations too.

use super::compose::Strip;
use super::input::Run;
use super::profile::{Extreme, Station};
use super::solve::{Solution, SolvedBranch};
use crate::compute::water::section::Prismatic;

/// Shares of a strip at which it is sampled.
const SHARES: [f64; 5] = [0.0, 0.25, 0.5, 0.75, 1.0];

/// What is looked for, and the stretches near critical flow.
#[derive(Debug, Clone)]
pub(super) struct Extremes {
    pub(super) greatest_depth: Extreme,
    pub(super) least_freeboard: Extreme,
    pub(super) greatest_velocity: Extreme,
    pub(super) greatest_fill: Extreme,
    /// Stretches of the run whose Froude number lies in the settings' band.
    pub(super) near_critical: Vec<(f64, f64)>,
}

impl Extremes {
    /// The same with what is drawn: of two tops of nearly one height the other may be the higher one.
    pub(super) fn with_drawn(mut self, stations: &[Station]) -> Self {
        let raise = |extreme: &mut Extreme, value: f64, station: &Station| {
            if value > extreme.value {
                *extreme = Extreme { station_m: station.station_m, value };
            }
        };
        for s in stations {
            raise(&mut self.greatest_depth, s.depth_m, s);
            raise(&mut self.greatest_velocity, s.velocity_m_per_s.abs(), s);
            if s.channel_depth_m > 0.0 {
                raise(&mut self.greatest_fill, s.depth_m / s.channel_depth_m, s);
            }
            if s.freeboard_m < self.least_freeboard.value {
                self.least_freeboard = Extreme { station_m: s.station_m, value: s.freeboard_m };
            }
        }
        self
    }
}

/// A place in the solution: branch, strip, share of the strip.
#[derive(Debug, Clone, Copy)]
struct Best {
    value: f64,
    branch: usize,
    strip: usize,
    share: f64,
}

impl Best {
    const NONE: Self = Self { value: f64::NEG_INFINITY, branch: 0, strip: 0, share: 0.0 };

    fn offer(&mut self, value: f64, branch: usize, strip: usize, share: f64) {
        if value > self.value {
            *self = Self { value, branch, strip, share };
        }
    }

    /// Climbs to the top between the neighbouring samples of the strip.
    fn refined(self, solution: &Solution, of: impl Fn(&SolvedBranch, usize, f64) -> f64) -> Extreme {
        let Some(solved) = solution.branches.get(self.branch) else {
            return Extreme { station_m: 0.0, value: 0.0 };
        };
        let ratio = 0.5 * (5.0_f64.sqrt() - 1.0);
        let mut best = (self.strip, self.share, self.value);
        // The top may lie in this strip or, when its end is the highest sample, just beyond in the next one.
        let own = (self.strip, (self.share - 0.25).max(0.0), (self.share + 0.25).min(1.0));
        let beside = if self.share <= 0.0 {
            self.strip.checked_sub(1).map(|above| (above, 0.75, 1.0))
        } else if self.share >= 1.0 && self.strip + 1 < solved.surface.strips.len() {
            Some((self.strip + 1, 0.0, 0.25))
        } else {
            None
        };
        for (strip, mut low, mut high) in std::iter::once(own).chain(beside) {
            let mut inside = |share: f64| {
                let value = of(solved, strip, share);
                if value > best.2 {
                    best = (strip, share, value);
                }
                value
            };
            let (mut a, mut b) = (high - ratio * (high - low), low + ratio * (high - low));
            let (mut at_a, mut at_b) = (inside(a), inside(b));
            for _ in 0..24 {
                if at_a > at_b {
                    (high, b, at_b) = (b, a, at_a);
                    a = high - ratio * (high - low);
                    at_a = inside(a);
                } else {
                    (low, a, at_a) = (a, b, at_b);
                    b = low + ratio * (high - low);
                    at_b = inside(b);
                }
            }
        }
        let station_m = solved
            .surface
            .strips
            .get(best.0)
            .map_or(0.0, |strip| solved.branch.run_station(strip.segment.reach, strip.at(best.1).0));
        Extreme { station_m, value: best.2 }
    }
}

fn depth(solved: &SolvedBranch, strip: usize, share: f64) -> f64 {
    solved.surface.strips.get(strip).map_or(0.0, |strip| strip.at(share).1)
}

fn room(solved: &SolvedBranch, strip: usize, share: f64) -> (f64, f64) {
    let Some(strip) = solved.surface.strips.get(strip) else {
        return (0.0, 0.0);
    };
    let (x, y) = strip.at(share);
    let (_, channel_depth) = solved.branch.bed_and_depth(strip.segment.reach, x);
    (y, channel_depth)
}

fn negative_freeboard(solved: &SolvedBranch, strip: usize, share: f64) -> f64 {
    let (y, channel_depth) = room(solved, strip, share);
    y - channel_depth
}

fn fill(solved: &SolvedBranch, strip: usize, share: f64) -> f64 {
    let (y, channel_depth) = room(solved, strip, share);
    if channel_depth > 0.0 { y / channel_depth } else { 0.0 }
}

/// Least freeboard alone, for searches that ask for nothing else.
pub(super) fn least_freeboard(solution: &Solution) -> Extreme {
    let mut best = Best::NONE;
    for (b, solved) in solution.branches.iter().enumerate() {
        let mut above = None;
        for (s, strip) in solved.surface.strips.iter().enumerate() {
            let here = (strip.segment.reach, strip.supercritical);
            // Where one strip goes on in the next, its end has been looked at.
            for share in SHARES.into_iter().skip(usize::from(above == Some(here))) {
                best.offer(negative_freeboard(solved, s, share), b, s, share);
            }
            above = Some(here);
        }
    }
    let found = best.refined(solution, negative_freeboard);
    Extreme { value: -found.value, ..found }
}

/// Looks for everything at once.
pub(super) fn find(run: &Run, solution: &Solution) -> Extremes {
    let channel = solution.channel.get();
    let (band_low, band_high) = run.input().settings.froude_band;
    let (mut deepest, mut tightest, mut fastest, mut fullest) =
        (Best::NONE, Best::NONE, Best::NONE, Best::NONE);
    let mut near_critical: Vec<(f64, f64)> = Vec::new();
    let velocity = |solved: &SolvedBranch, strip: usize, share: f64| {
        let Some(strip) = solved.surface.strips.get(strip) else {
            return 0.0;
        };
        let (x, y) = strip.at(share);
        let flow = solved.branch.reaches.get(strip.segment.reach).map_or(0.0, |r| r.flow_at(x).max(0.0));
        if y > 0.0 && flow > 0.0 { flow / channel.section.area_m2(y) } else { 0.0 }
    };
    for (b, solved) in solution.branches.iter().enumerate() {
        // Where one strip goes on in the next, its end has been looked at.
        let mut last: Option<(&Strip, (f64, f64))> = None;
        for (s, strip) in solved.surface.strips.iter().enumerate() {
            let known = last.filter(|(above, _)| strip.goes_on_from(above));
            let reach = solved.branch.reaches.get(strip.segment.reach);
            let mut samples = [(0.0, 0.0); SHARES.len()];
            for (share, sample) in SHARES.into_iter().zip(&mut samples) {
                if let Some((_, seen)) = known.filter(|_| share == 0.0) {
                    *sample = seen;
                    continue;
                }
                let (x, y) = strip.at(share);
                let (_, channel_depth) = solved.branch.bed_and_depth(strip.segment.reach, x);
                deepest.offer(y, b, s, share);
                tightest.offer(y - channel_depth, b, s, share);
                fullest.offer(if channel_depth > 0.0 { y / channel_depth } else { 0.0 }, b, s, share);
                let flow = reach.map_or(0.0, |r| r.flow_at(x).max(0.0));
                *sample = (x, 0.0);
                if y > 0.0 && flow > 0.0 {
                    let at = channel.section.wet(y);
                    let speed = flow / at.area_m2;
                    fastest.offer(speed, b, s, share);
                    sample.1 = channel.froude(speed, &at);
                }
            }
            last = samples.last().map(|sample| (strip, *sample));
            for pair in samples.windows(2) {
                if let [(x0, f0), (x1, f1)] = pair {
                    let middle = 0.5 * (f0 + f1);
                    if middle > band_low && middle < band_high {
                        let place = |x: f64| solved.branch.run_station(strip.segment.reach, x);
                        let (a, c) = (place(*x0), place(*x1));
                        join(&mut near_critical, a.min(c), a.max(c));
                    }
                }
            }
        }
    }
    Extremes {
        greatest_depth: deepest.refined(solution, depth),
        least_freeboard: {
            let found = tightest.refined(solution, negative_freeboard);
            Extreme { value: -found.value, ..found }
        },
        greatest_velocity: if fastest.value > 0.0 {
            fastest.refined(solution, velocity)
        } else {
            Extreme { station_m: 0.0, value: 0.0 }
        },
        greatest_fill: fullest.refined(solution, fill),
        near_critical,
    }
}

/// Adds a stretch, joined to the last one where they touch.
fn join(stretches: &mut Vec<(f64, f64)>, from: f64, to: f64) {
    match stretches.last_mut() {
        Some(last) if from <= last.1 + 1e-9 && to >= last.0 - 1e-9 => {
            last.0 = last.0.min(from);
            last.1 = last.1.max(to);
        }
        _ => stretches.push((from, to)),
    }
}
