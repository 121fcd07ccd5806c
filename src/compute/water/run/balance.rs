//! The momentum balance of a finished water surface: an independent quadrature, not the solver's own sums.

use super::branch::Branch;
use super::compose::Strip;
use super::solve::Solution;
use super::terms::{Channel, Reach};
use crate::compute::water::section::Prismatic;

/// Gauss-Legendre points and weights on 0 to 1, exact to the seventh degree.
const GAUSS: [(f64, f64); 4] = [
    (0.069_431_844_202_973_71, 0.173_927_422_568_726_93),
    (0.330_009_478_207_571_87, 0.326_072_577_431_273_07),
    (0.669_990_521_792_428_1, 0.326_072_577_431_273_07),
    (0.930_568_155_797_026_3, 0.173_927_422_568_726_93),
];

/// Sum of what each strip, jump and point inflow is off, over the greatest specific force found.
pub(super) fn momentum(solution: &Solution) -> f64 {
    let channel = solution.channel.get();
    let (mut off, mut greatest) = (0.0, 0.0_f64);
    for solved in &solution.branches {
        let branch = &solved.branch;
        let mut above: Option<(&Strip, f64)> = None;
        let mut behind = solved.behind_joining().map(|depth| channel.force(branch.carried, depth));
        for strip in &solved.surface.strips {
            let Some(reach) = branch.reaches.get(strip.segment.reach) else {
                continue;
            };
            let force_at = |(x, y): (f64, f64)| channel.force(reach.flow_at(x).max(0.0), y);
            // Where one strip goes on in the next, the force at the seam is the same.
            let goes_on = above.filter(|(last, _)| strip.goes_on_from(last));
            let start = goes_on.map_or_else(|| force_at(strip.start()), |(_, force)| force);
            let end = force_at(strip.end());
            off += strip_off(&channel, reach, strip, (start, end));
            if let Some((last, force)) = above
                && is_balanced(branch, last, strip)
            {
                off += (start - force).abs();
            }
            if let Some(force) = behind.take() {
                off += (start - force).abs();
            }
            greatest = greatest.max(start).max(end);
            above = Some((strip, end));
        }
    }
    if greatest > 0.0 { off / greatest } else { 0.0 }
}

/// Share of the greater force at its ends that a strip may be off before its quadrature is refined.
const REFINE_ABOVE: f64 = 5e-8;
/// Pieces it is then cut into at once: a round bottom may be but the end of a long strip.
const PIECES: u32 = 32;
/// Times a piece may be halved: enough for a depth that vanishes in a round bed.
const HALVINGS: u32 = 24;

/// What the momentum balance of a strip is off, m³: the growth of its specific force less what it gained.
fn strip_off<S: Prismatic>(
    channel: &Channel<'_, S>,
    reach: &Reach,
    strip: &Strip,
    (start, end): (f64, f64),
) -> f64 {
    let small = REFINE_ABOVE * start.max(end);
    let whole = gained(channel, reach, strip, strip.from, strip.to);
    let off = end - start - whole;
    // The width of a round section has no series in the depth at its bottom and its springing: a long strip over either
    // needs finer quadrature before it can be judged.
    if off.abs() <= small {
        return off.abs();
    }
    let piece = (strip.to - strip.from) / f64::from(PIECES);
    let finer: f64 = (0..PIECES)
        .map(|k| {
            let from = strip.from + piece * f64::from(k);
            let to = if k + 1 == PIECES { strip.to } else { from + piece };
            halved(
                channel,
                reach,
                strip,
                (from, to),
                gained(channel, reach, strip, from, to),
                0.1 * small,
                HALVINGS,
            )
        })
        .sum();
    (end - start - finer).abs()
}

/// Gain over a part of a strip, halved until both halves together agree with the whole.
fn halved<S: Prismatic>(
    channel: &Channel<'_, S>,
    reach: &Reach,
    strip: &Strip,
    (from, to): (f64, f64),
    whole: f64,
    allowed: f64,
    left: u32,
) -> f64 {
    let middle = 0.5 * (from + to);
    let (a, b) = (gained(channel, reach, strip, from, middle), gained(channel, reach, strip, middle, to));
    if left == 0 || (a + b - whole).abs() <= allowed {
        return a + b;
    }
    halved(channel, reach, strip, (from, middle), a, allowed, left - 1)
        + halved(channel, reach, strip, (middle, to), b, allowed, left - 1)
}

/// Weight down the slope less friction along a part of a strip, m³, in one piece.
fn gained<S: Prismatic>(channel: &Channel<'_, S>, reach: &Reach, strip: &Strip, from: f64, to: f64) -> f64 {
    let span = to - from;
    GAUSS
        .iter()
        .map(|(point, weight)| {
            let t = from + point * span;
            let (x, y) = (strip.segment.x(t), strip.segment.y(t));
            weight * span * strip.segment.x_rate(t) * channel.force_rate(reach, x, y)
        })
        .sum()
}

/// Whether the specific force must be the same on both sides of a seam: everywhere but at a corner, which takes
/// energy, and where fast flow breaks on a joint.
fn is_balanced(branch: &Branch, above: &Strip, below: &Strip) -> bool {
    if above.segment.reach == below.segment.reach {
        return true;
    }
    let corner = branch.joints.get(below.segment.reach).is_some_and(|joint| joint.corner_loss > 0.0);
    let breaks = above.supercritical && !below.supercritical;
    !(corner || breaks)
}
