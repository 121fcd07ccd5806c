//! Points inside a reach where numerator and denominator vanish together.
//!
//! The slope there follows from the derivatives of both (l'Hôpital's rule). At a saddle the section is a control, which a march
//! leaves: of its two slopes, the surface that goes from slow to fast takes the one that falls below critical depth downstream.
//! At a node every surface nearby runs into the point, all but one of them along the same slope, and ends there at critical
//! depth without a control: that is where a march arrives.

use super::segment::Segment;
use super::terms::{Channel, Reach, Terms};
use crate::compute::water::section::Prismatic;

/// Trials of Newton's method for a node: it comes near in a few or not at all.
const MOST_TRIALS: usize = 12;

/// Slope of the water surface that passes from subcritical to supercritical at a singular point.
///
/// With `m` the slope, `D_y m² + (D_x - N_y) m - N_x = 0`; written for the slope relative to that of critical
/// depth, `c = -D_x/D_y`, the equation has one root of each sign where the section is a control.
pub(super) fn slope_through(at: &Terms) -> f64 {
    let critical_slope = -at.denominator_x / at.denominator_y;
    let linear = at.denominator_x + 2.0 * at.denominator_y * critical_slope - at.numerator_y;
    let constant = -(at.numerator_x + at.numerator_y * critical_slope);
    let discriminant = linear * linear - 4.0 * at.denominator_y * constant;
    if discriminant.is_nan() || discriminant <= 0.0 || constant >= 0.0 {
        return critical_slope;
    }
    // The negative root, without cancellation.
    let root = discriminant.sqrt();
    let relative = if linear >= 0.0 {
        -(linear + root) / (2.0 * at.denominator_y)
    } else {
        2.0 * constant / (root - linear)
    };
    critical_slope + relative
}

/// First short stretch away from a singular point towards `end`: `share` of the way over which flow or depth change by themselves.
///
/// Middle and far end are where the slopes at both and at the point lead to them (collocation at three points, Lobatto
/// IIIA), which is exact to the fourth order.
pub(super) fn leave<S: Prismatic>(
    channel: &Channel<'_, S>,
    reach: &Reach,
    index: usize,
    (x, y): (f64, f64),
    end: f64,
    at: &Terms,
    share: f64,
) -> Segment {
    let slope = slope_through(at);
    let room = (end - x).abs();
    let scale = room.min(reach.flow_at(x) / reach.lateral).min(y / slope.abs().max(1e-12));
    let h = (share * scale).max(f64::MIN_POSITIVE).min(room) * (end - x).signum();
    let (mut middle, mut far) = (y + 0.5 * h * slope, y + h * slope);
    let (mut middle_slope, mut far_slope) = (slope, slope);
    for _ in 0..12 {
        let in_middle = channel.terms(reach, x + 0.5 * h, middle);
        let at_far = channel.terms(reach, x + h, far);
        (middle_slope, far_slope) = (in_middle.slope(), at_far.slope());
        let off_middle = middle - y - h * (5.0 * slope + 8.0 * middle_slope - far_slope) / 24.0;
        let off_far = far - y - h * (slope + 4.0 * middle_slope + far_slope) / 6.0;
        let (a, b) = (1.0 - h * in_middle.slope_y() / 3.0, h * at_far.slope_y() / 24.0);
        let (c, d) = (-2.0 / 3.0 * h * in_middle.slope_y(), 1.0 - h * at_far.slope_y() / 6.0);
        let determinant = a * d - b * c;
        let (change_middle, change_far) =
            ((d * off_middle - b * off_far) / determinant, (a * off_far - c * off_middle) / determinant);
        let (next_middle, next_far) = (middle - change_middle, far - change_far);
        // Written so that a NaN fails it.
        let possible = next_middle > 0.0 && next_far > 0.0;
        if !possible {
            break;
        }
        (middle, far) = (next_middle, next_far);
        if change_far.abs() + change_middle.abs() <= 1e-15 * y {
            break;
        }
    }
    let (v0, vm, v1) = (h * slope, h * middle_slope, h * far_slope);
    let cubic = [y, v0, 0.5 * (4.0 * vm - 3.0 * v0 - v1), (2.0 * v0 - 4.0 * vm + 2.0 * v1) / 3.0];
    Segment::straight_cubic(index, x, x + h, cubic)
}

/// Station, depth and slope of the node that lies ahead of a surface close to critical depth, in the direction `toward`.
///
/// Newton's method finds where both terms vanish. With `m` as in [`slope_through`], the distance from a node dies out along the
/// surfaces at the rates `D_x + D_y m`, where they are positive; the surfaces run in along the slope of the slower one.
pub(super) fn node_ahead<S: Prismatic>(
    channel: &Channel<'_, S>,
    reach: &Reach,
    (x, y): (f64, f64),
    toward: f64,
    at: &Terms,
) -> Option<(f64, f64, f64)> {
    let (mut station, mut depth, mut terms) = (x, y, *at);
    let mut left = MOST_TRIALS;
    loop {
        let Terms { numerator, denominator, numerator_x, numerator_y, denominator_x, denominator_y, .. } =
            terms;
        let determinant = denominator_x * numerator_y - denominator_y * numerator_x;
        // A saddle, or nothing in sight; written so that a NaN ends it as well.
        let is_node = determinant > 0.0;
        if !is_node {
            return None;
        }
        let along = (denominator_y * numerator - numerator_y * denominator) / determinant;
        let down = (numerator_x * denominator - denominator_x * numerator) / determinant;
        (station, depth) = (station + along, depth + down);
        let is_ahead = (station - x) * toward > 0.0 && (0.0..=reach.length_m).contains(&station);
        if !is_ahead || depth <= 0.5 * y || depth >= 2.0 * y {
            return None;
        }
        terms = channel.terms(reach, station, depth);
        if down.abs() <= 1e-13 * depth && along.abs() <= 1e-11 * reach.length_m {
            break;
        }
        left -= 1;
        if left == 0 {
            return None;
        }
    }
    let linear = terms.denominator_x - terms.numerator_y;
    let root = (linear * linear + 4.0 * terms.denominator_y * terms.numerator_x).sqrt();
    let slopes = [root, -root].map(|root| (root - linear) / (2.0 * terms.denominator_y));
    let rate = |m: f64| terms.denominator_x + terms.denominator_y * m;
    let [one, other] = slopes;
    // Without real slopes it is a focus, which no surface reaches; and from a node where distances grow they run away.
    if !(rate(one) > 0.0 && rate(other) > 0.0) {
        return None;
    }
    Some((station, depth, if rate(one) <= rate(other) { one } else { other }))
}
