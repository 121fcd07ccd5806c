//! The equation of the water surface: its numerator and denominator, and their derivatives.

use crate::compute::water::manning::{four_thirds, friction_slope};
use crate::compute::water::section::{Prismatic, Wet};

/// Slope of the water depth along a channel into which water falls all along (spatially varied flow with
/// increasing discharge).
///
/// # Formula
/// `dy/dx = (S0 - Sf - 2 Q q / (g A²)) / (1 - Q² T / (g A³))` with `Sf = n² Q² / (A² R^(4/3))`
/// # Units
/// `flow_m3_per_s` m³/s, `lateral_m2_per_s` m³/s per m, `slope` m/m falling with the flow, `depth_m` m,
/// `n` s/m^(1/3), `gravity` m/s²; result m/m. `x` runs with the flow.
/// # Valid for
/// small slopes, hydrostatic pressure, inflow that arrives without velocity along the channel, even velocity
/// over the section; infinite where the flow is critical
/// # Source
/// Chow, Open-Channel Hydraulics (1959), ch. 12 (from memory); Novak et al., Hydraulic Structures, eq. 4.25
/// (read). The example is the closed form for a level frictionless rectangle, from its momentum balance: with
/// `X = x/L`, `u = y/y_c`, `X² = u (1.5 - 0.5 u²)`, so the slope is `(y_c/L) 2 X / (1.5 - 1.5 u²)`.
/// # Example
/// ```
/// use rillcast::compute::water::{run::water_surface_slope, section::Rectangle};
/// let (width, length, flow, g) = (0.15, 20.0, 0.005, 9.80665);
/// let critical = (flow * flow / (g * width * width) as f64).cbrt();
/// let u: f64 = 1.4;
/// let share = (u * (1.5 - 0.5 * u * u)).sqrt();
/// let slope = water_surface_slope(
///     &Rectangle::new(width)?, share * flow, flow / length, 0.0, u * critical, 0.0, g,
/// );
/// let closed_form = critical / length * 2.0 * share / (1.5 - 1.5 * u * u);
/// assert!((slope / closed_form - 1.0).abs() < 1e-12);
/// # Ok::<(), rillcast::compute::water::bounds::RangeFault>(())
/// ```
#[must_use]
pub fn water_surface_slope<S: Prismatic>(
    section: &S,
    flow_m3_per_s: f64,
    lateral_m2_per_s: f64,
    slope: f64,
    depth_m: f64,
    n: f64,
    gravity: f64,
) -> f64 {
    let channel = Channel::new(section, gravity, n * n, Follow::FINE);
    let reach = Reach { length_m: 0.0, slope, lateral: lateral_m2_per_s, flow: flow_m3_per_s };
    let (numerator, denominator) = channel.slopes(&reach, 0.0, depth_m);
    numerator / denominator
}

/// A stretch of a branch over which bed slope and inflow per length do not change.
///
/// Stations run with the flow, from 0 at its start: so a flow that begins there is exact however small it still is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Reach {
    pub(super) length_m: f64,
    pub(super) slope: f64,
    /// Inflow per length, m²/s.
    pub(super) lateral: f64,
    /// Flow just inside the start, m³/s.
    pub(super) flow: f64,
}

impl Reach {
    pub(super) fn flow_at(&self, x: f64) -> f64 {
        self.flow + self.lateral * x
    }

    pub(super) fn end_flow(&self) -> f64 {
        self.flow_at(self.length_m)
    }

    /// Nothing flows here: the water, if any, stands still.
    pub(super) fn is_still(&self) -> bool {
        self.flow <= 0.0 && self.lateral <= 0.0
    }
}

/// Numerator and denominator of the water-surface slope with their partial derivatives.
#[derive(Debug, Clone, Copy)]
pub(super) struct Terms {
    pub(super) numerator: f64,
    pub(super) denominator: f64,
    pub(super) numerator_x: f64,
    pub(super) numerator_y: f64,
    pub(super) denominator_x: f64,
    pub(super) denominator_y: f64,
    /// Sum of the sizes of the numerator's parts: what "small" means for the numerator.
    pub(super) reference: f64,
}

impl Terms {
    /// `dy/dx`.
    pub(super) fn slope(&self) -> f64 {
        self.numerator / self.denominator
    }

    /// Derivative of `dy/dx` by depth.
    pub(super) fn slope_y(&self) -> f64 {
        (self.numerator_y - self.slope() * self.denominator_y) / self.denominator
    }

    /// Derivative of `dy/dx` by station.
    pub(super) fn slope_x(&self) -> f64 {
        (self.numerator_x - self.slope() * self.denominator_x) / self.denominator
    }

    /// Second derivative of the depth along the water surface.
    pub(super) fn curvature(&self) -> f64 {
        self.slope_x() + self.slope_y() * self.slope()
    }

    /// So close to critical, and so far from level there, that depth is no longer a tame function of station.
    pub(super) fn is_steep(&self) -> bool {
        let d = self.denominator.abs();
        d < 0.3 && self.numerator.abs() > 2.0 * d * self.reference
    }

    /// Tame enough again; the gap to [`Self::is_steep`] keeps the choice from flickering.
    pub(super) fn is_gentle(&self) -> bool {
        let d = self.denominator.abs();
        d > 0.4 || self.numerator.abs() < d * self.reference
    }
}

/// What does not change along a run: section, roughness, gravity.
#[derive(Debug)]
pub(super) struct Channel<'a, S> {
    pub(super) section: &'a S,
    pub(super) gravity: f64,
    pub(super) per_gravity: f64,
    pub(super) n_squared: f64,
    /// How finely the water surface is followed.
    pub(super) follow: Follow,
}

/// How finely a water surface is followed: relative error of the depth allowed per step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Follow(pub(super) f64);

impl Follow {
    /// For what is handed out.
    pub(super) const FINE: Self = Self(1e-8);
    /// To come near what is searched for.
    pub(super) const COARSE: Self = Self(1e-5);
}

impl<S> Clone for Channel<'_, S> {
    fn clone(&self) -> Self {
        *self
    }
}

impl<S> Copy for Channel<'_, S> {}

impl<'a, S> Channel<'a, S> {
    /// A section with its gravity, m/s², the square of its roughness, and how finely its water is followed.
    pub(super) fn new(section: &'a S, gravity: f64, n_squared: f64, follow: Follow) -> Self {
        Self { section, gravity, per_gravity: 1.0 / gravity, n_squared, follow }
    }
}

impl<S: Prismatic> Channel<'_, S> {
    /// Numerator and denominator of the water-surface slope.
    #[inline]
    pub(super) fn slopes(&self, reach: &Reach, x: f64, y: f64) -> (f64, f64) {
        let at = self.section.wet(y);
        // Asked for at every stage of every step: one division, and the hydraulic radius upside down.
        let per_area = 1.0 / at.area_m2;
        let velocity = reach.flow_at(x) * per_area;
        let per_weight = per_area * self.per_gravity;
        let per_radius = at.wetted_perimeter_m * per_area;
        let friction = friction_slope(self.n_squared, velocity, per_radius);
        let inflow = 2.0 * velocity * reach.lateral * per_weight;
        (reach.slope - friction - inflow, 1.0 - velocity * velocity * at.top_width_m * per_weight)
    }

    /// Numerator and denominator with their derivatives.
    pub(super) fn terms(&self, reach: &Reach, x: f64, y: f64) -> Terms {
        let at = self.section.geometry(y);
        let (area, top) = (at.area_m2, at.top_width_m);
        let per_area = 1.0 / area;
        let velocity = reach.flow_at(x) * per_area;
        let gained = reach.lateral * per_area;
        let per_weight = per_area * self.per_gravity;
        let per_radius = at.wetted_perimeter_m * per_area;
        let resistance = self.n_squared * four_thirds(per_radius);
        let friction = resistance * velocity * velocity;
        let inflow = 2.0 * velocity * reach.lateral * per_weight;
        let narrowing = top * per_area;
        let widening = at.wetted_perimeter_rate / at.wetted_perimeter_m;
        Terms {
            numerator: reach.slope - friction - inflow,
            denominator: 1.0 - velocity * velocity * top * per_weight,
            numerator_x: -2.0 * gained * (resistance * velocity + reach.lateral * per_weight),
            numerator_y: friction * (10.0 / 3.0 * narrowing - 4.0 / 3.0 * widening)
                + 2.0 * inflow * narrowing,
            denominator_x: -2.0 * velocity * gained * top * per_weight,
            denominator_y: velocity * velocity * per_weight * (3.0 * top * narrowing - at.top_width_rate),
            reference: reach.slope.abs() + friction + inflow,
        }
    }

    /// Froude number of a velocity in what is wet.
    pub(super) fn froude(&self, velocity: f64, at: &Wet) -> f64 {
        (velocity * velocity * at.top_width_m / (self.gravity * at.area_m2)).sqrt()
    }

    /// Specific force `Q²/(gA) + Aȳ`, m³.
    pub(super) fn force(&self, flow: f64, y: f64) -> f64 {
        if y <= 0.0 {
            return 0.0;
        }
        flow * flow / (self.gravity * self.section.area_m2(y)) + self.section.first_moment_m3(y)
    }

    /// Rate at which the specific force grows along the channel, `A (S0 - Sf)`, m².
    pub(super) fn force_rate(&self, reach: &Reach, x: f64, y: f64) -> f64 {
        if y <= 0.0 {
            return 0.0;
        }
        let at = self.section.wet(y);
        let velocity = reach.flow_at(x) / at.area_m2;
        let per_radius = at.wetted_perimeter_m / at.area_m2;
        at.area_m2 * (reach.slope - friction_slope(self.n_squared, velocity, per_radius))
    }

    /// Numerator of the water-surface slope at critical depth: negative where the bed is too flat to turn the
    /// flow fast, positive where it is steep enough.
    pub(super) fn critical_numerator(&self, reach: &Reach, x: f64, critical_depth: f64) -> f64 {
        if critical_depth <= 0.0 {
            return if reach.lateral > 0.0 { f64::NEG_INFINITY } else { reach.slope };
        }
        self.slopes(reach, x, critical_depth).0
    }

    pub(super) fn critical_depth(&self, flow: f64) -> f64 {
        crate::compute::water::section::critical_depth_m(self.section, flow, self.gravity)
    }
}

#[cfg(test)]
mod tests {
    use super::{Channel, Follow, Reach};
    use crate::compute::water::bounds::RangeFault;
    use crate::compute::water::section::{OpenSection, Rectangle, Trapezoid, UShape};

    #[test]
    fn partial_derivatives_agree_with_differences() -> Result<(), RangeFault> {
        let sections: [OpenSection; 3] =
            [Rectangle::new(0.15)?.into(), UShape::new(0.2)?.into(), Trapezoid::new(0.1, 0.7)?.into()];
        let reach = Reach { length_m: 9.0, slope: 0.01, lateral: 4e-4, flow: 1e-3 };
        for section in &sections {
            let channel = Channel::new(section, 9.80665, 1.3e-4, Follow::FINE);
            for y in [0.02, 0.06, 0.13, 0.3] {
                let (x, step) = (4.0, 1e-5);
                let at = channel.terms(&reach, x, y);
                let (n, d) = channel.slopes(&reach, x, y);
                assert!((n - at.numerator).abs() < 1e-14 && (d - at.denominator).abs() < 1e-14);
                let ((n1, d1), (n2, d2)) =
                    (channel.slopes(&reach, x, y - step * y), channel.slopes(&reach, x, y + step * y));
                let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-5 * (1.0 + a.abs()), "{a} {b}");
                near(at.numerator_y, (n2 - n1) / (2.0 * step * y));
                near(at.denominator_y, (d2 - d1) / (2.0 * step * y));
                let ((n1, d1), (n2, d2)) =
                    (channel.slopes(&reach, x - step, y), channel.slopes(&reach, x + step, y));
                near(at.numerator_x, (n2 - n1) / (2.0 * step));
                near(at.denominator_x, (d2 - d1) / (2.0 * step));
            }
        }
        Ok(())
    }
}
