//! Leaving a control section inside a reach, where numerator and denominator vanish together.
//!
//! The slope there follows from the derivatives of both (l'Hôpital's rule). Of the two slopes a saddle has, the
//! surface that goes from slow to fast takes the one that falls below critical depth downstream.

use super::segment::Segment;
use super::terms::{Channel, Reach, Terms};
use crate::compute::water::section::Prismatic;

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

/// First short stretch away from a singular point towards `end`.
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
) -> Segment {
    let slope = slope_through(at);
    let room = (end - x).abs();
    let scale = room.min(reach.flow_at(x) / reach.lateral).min(y / slope.abs().max(1e-12));
    let h = (0.01 * scale).max(f64::MIN_POSITIVE).min(room) * (end - x).signum();
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
