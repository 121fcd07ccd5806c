//! The greatest and least along a water surface, found between the stations too.

use super::compose::Strip;
use super::input::Run;
use super::profile::{Extreme, Station};
use super::solve::{Solution, SolvedBranch};
use super::terms::Channel;
use crate::compute::water::roots;
use crate::compute::water::section::{OpenSection, Prismatic};

/// Shares of a strip at which it is sampled, and from one to the next.
const SHARES: [f64; 5] = [0.0, 0.25, 0.5, 0.75, 1.0];
const STEP: f64 = 0.25;
/// Share of a strip to which the place of a top is found: the surface is level there.
const NEAR_TOP: f64 = 1e-9;
/// Parts of such a step in which a dip is looked for.
const DIPS: u32 = 8;

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

    /// Climbs to the top between the neighbouring samples: where the rise turns into a fall.
    fn refined(self, solution: &Solution, of: &impl Sought) -> Extreme {
        let Some(solved) = solution.branches.get(self.branch) else {
            return Extreme { station_m: 0.0, value: 0.0 };
        };
        let strip_at = |index: usize| solved.surface.strips.get(index);
        let mut best = self;
        let mut climb = |index: usize, from: f64, to: f64| {
            let Some(strip) = strip_at(index) else { return };
            let toward = (to - from).signum();
            let rise = |share: f64| toward * of.rate(solved, strip, share);
            let start = rise(from);
            if start > 0.0
                && let Some(end) = first_fall(rise, from, to)
            {
                let share = roots::bracketed_plain(rise, (from, start), end, NEAR_TOP);
                best.offer(of.value(solved, strip, share), self.branch, index, share);
            }
        };
        climb(self.strip, self.share, (self.share + STEP).min(1.0));
        climb(self.strip, self.share, (self.share - STEP).max(0.0));
        // When the end of a strip is the highest sample the top may lie just beyond, in the next one.
        if self.share <= 0.0
            && let Some(above) = self.strip.checked_sub(1)
        {
            climb(above, 1.0, 1.0 - STEP);
        } else if self.share >= 1.0 {
            climb(self.strip + 1, 0.0, STEP);
        }
        let station_m = strip_at(best.strip)
            .map_or(0.0, |strip| solved.branch.run_station(strip.segment.reach, strip.at(best.share).0));
        Extreme { station_m, value: best.value }
    }
}

/// The first of some points, from one towards another, at which a rise has turned into a fall, with the rise there.
fn first_fall(rise: impl Fn(f64) -> f64, from: f64, to: f64) -> Option<(f64, f64)> {
    let end = rise(to);
    if end < 0.0 {
        return Some((to, end));
    }
    // No more than a sample at the far end, yet rising towards it: the surface dips between.
    (1..DIPS).map(|k| from + (to - from) * f64::from(k) / f64::from(DIPS)).find_map(|share| {
        let there = rise(share);
        (there < 0.0).then_some((share, there))
    })
}

/// What is looked for along a strip, and how fast it grows with the share of the strip.
trait Sought {
    fn value(&self, solved: &SolvedBranch, strip: &Strip, share: f64) -> f64;
    fn rate(&self, solved: &SolvedBranch, strip: &Strip, share: f64) -> f64;
}

struct Depth;

impl Sought for Depth {
    fn value(&self, _: &SolvedBranch, strip: &Strip, share: f64) -> f64 {
        strip.at(share).1
    }

    fn rate(&self, _: &SolvedBranch, strip: &Strip, share: f64) -> f64 {
        strip.rates_at(share).1
    }
}

/// Depth less the depth of the channel: the freeboard's opposite.
struct Shortage;

impl Sought for Shortage {
    fn value(&self, solved: &SolvedBranch, strip: &Strip, share: f64) -> f64 {
        let (x, y) = strip.at(share);
        y - solved.branch.bed_and_depth(strip.segment.reach, x).1
    }

    fn rate(&self, solved: &SolvedBranch, strip: &Strip, share: f64) -> f64 {
        let (by_x, by_y) = strip.rates_at(share);
        by_y - solved.branch.deepening(strip.segment.reach) * by_x
    }
}

/// Share of the channel's depth that water fills.
struct Fill;

impl Sought for Fill {
    fn value(&self, solved: &SolvedBranch, strip: &Strip, share: f64) -> f64 {
        let (x, y) = strip.at(share);
        let (_, channel_depth) = solved.branch.bed_and_depth(strip.segment.reach, x);
        if channel_depth > 0.0 { y / channel_depth } else { 0.0 }
    }

    fn rate(&self, solved: &SolvedBranch, strip: &Strip, share: f64) -> f64 {
        let (x, y) = strip.at(share);
        let (by_x, by_y) = strip.rates_at(share);
        let reach = strip.segment.reach;
        let (_, channel_depth) = solved.branch.bed_and_depth(reach, x);
        // Only its sign matters: the square of the channel's depth is left out.
        by_y * channel_depth - y * solved.branch.deepening(reach) * by_x
    }
}

struct Velocity<'a>(Channel<'a, OpenSection>);

impl Sought for Velocity<'_> {
    fn value(&self, solved: &SolvedBranch, strip: &Strip, share: f64) -> f64 {
        let (x, y) = strip.at(share);
        let flow = solved.branch.reaches.get(strip.segment.reach).map_or(0.0, |r| r.flow_at(x).max(0.0));
        if y > 0.0 && flow > 0.0 { flow / self.0.section.area_m2(y) } else { 0.0 }
    }

    fn rate(&self, solved: &SolvedBranch, strip: &Strip, share: f64) -> f64 {
        let Some(reach) = solved.branch.reaches.get(strip.segment.reach) else { return 0.0 };
        let (x, y) = strip.at(share);
        let (by_x, by_y) = strip.rates_at(share);
        if y > 0.0 {
            let at = self.0.section.wet(y);
            // Only its sign matters: the square of the area is left out.
            reach.lateral * by_x * at.area_m2 - reach.flow_at(x) * at.top_width_m * by_y
        } else {
            0.0
        }
    }
}

/// The greatest, with the water behind what joins at the upper end of a branch: it lies beyond every strip. Its value comes from its
/// depth and that of the channel.
fn with_upper_ends(found: Extreme, solution: &Solution, value: impl Fn(f64, f64) -> f64) -> Extreme {
    let upper = solution.branches.iter().filter_map(|solved| {
        let (_, channel_depth) = solved.branch.bed_and_depth(0, 0.0);
        let value = value(solved.behind_joining()?, channel_depth);
        Some(Extreme { station_m: solved.branch.origin_m, value })
    });
    upper.fold(found, |best, other| if other.value > best.value { other } else { best })
}

fn least_room(solution: &Solution, tightest: Best) -> Extreme {
    let found =
        with_upper_ends(tightest.refined(solution, &Shortage), solution, |depth, channel| depth - channel);
    Extreme { value: -found.value, ..found }
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
                best.offer(Shortage.value(solved, strip, share), b, s, share);
            }
            above = Some(here);
        }
    }
    least_room(solution, best)
}

/// Looks for everything at once.
pub(super) fn find(run: &Run, solution: &Solution) -> Extremes {
    let channel = solution.channel.get();
    let (band_low, band_high) = run.input().settings.froude_band;
    let (mut deepest, mut tightest, mut fastest, mut fullest) =
        (Best::NONE, Best::NONE, Best::NONE, Best::NONE);
    let mut near_critical: Vec<(f64, f64)> = Vec::new();
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
        greatest_depth: with_upper_ends(deepest.refined(solution, &Depth), solution, |depth, _| depth),
        least_freeboard: least_room(solution, tightest),
        greatest_velocity: if fastest.value > 0.0 {
            fastest.refined(solution, &Velocity(channel))
        } else {
            Extreme { station_m: 0.0, value: 0.0 }
        },
        greatest_fill: with_upper_ends(fullest.refined(solution, &Fill), solution, |depth, channel| {
            if channel > 0.0 { depth / channel } else { 0.0 }
        }),
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
