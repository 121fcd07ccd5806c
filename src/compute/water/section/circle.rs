use super::{Geometry, Prismatic, Wet};
use crate::compute::water::bounds::{BORE, RangeFault};

/// A round pipe flowing partly full.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Circle {
    bore_m: f64,
}

impl Circle {
    /// A pipe of an inside diameter.
    ///
    /// # Errors
    /// When the bore is outside [`BORE`].
    pub fn new(bore_m: f64) -> Result<Self, RangeFault> {
        Ok(Self { bore_m: BORE.check("bore_m", bore_m)? })
    }

    /// Inside diameter, m.
    #[must_use]
    pub fn bore_m(&self) -> f64 {
        self.bore_m
    }

    /// Area of the whole bore, m².
    #[must_use]
    pub fn full_area_m2(&self) -> f64 {
        0.25 * std::f64::consts::PI * self.bore_m * self.bore_m
    }
}

/// What of a circular segment is wet; `per_radius` is one over the radius. As [`segment`], without what only its derivatives
/// need.
#[inline]
pub(super) fn wet_segment(radius_m: f64, per_radius: f64, depth_m: f64) -> Wet {
    let share = depth_m * per_radius;
    let phi = 2.0 * (0.5 * share).clamp(0.0, 1.0).sqrt().asin();
    let (sin, cos) = ((share * (2.0 - share)).max(0.0).sqrt(), 1.0 - share);
    Wet {
        area_m2: radius_m * radius_m * segment_area_factor(phi, sin, cos),
        top_width_m: 2.0 * radius_m * sin,
        wetted_perimeter_m: 2.0 * radius_m * phi,
    }
}

/// Segment of a circle filled to `depth_m`: half the angle the wetted arc spans, rad.
pub(super) fn half_angle(radius_m: f64, depth_m: f64) -> f64 {
    2.0 * (depth_m / (2.0 * radius_m)).clamp(0.0, 1.0).sqrt().asin()
}

/// Sine and cosine of the half angle, from the triangle instead of the angle.
pub(super) fn sin_cos(radius_m: f64, depth_m: f64) -> (f64, f64) {
    let half_width = (depth_m * (2.0 * radius_m - depth_m)).max(0.0).sqrt();
    (half_width / radius_m, 1.0 - depth_m / radius_m)
}

/// `phi - sin(phi) cos(phi)`, without the cancellation at small angles.
pub(super) fn segment_area_factor(phi: f64, sin: f64, cos: f64) -> f64 {
    if phi < 0.1 {
        let square = phi * phi;
        phi * square * (2.0 / 3.0 - square * (2.0 / 15.0 - square * (4.0 / 315.0 - square * 2.0 / 2835.0)))
    } else {
        phi - sin * cos
    }
}

/// First moment of a segment about its chord over the cube of the radius.
pub(super) fn segment_moment_factor(phi: f64, sin: f64, cos: f64) -> f64 {
    if phi < 0.05 {
        let square = phi * phi;
        phi * square * square * (2.0 / 15.0 - square * (11.0 / 315.0 - square * 17.0 / 3780.0))
    } else {
        sin - sin * sin * sin / 3.0 - phi * cos
    }
}

/// Geometry of a circular segment; `depth_m` from above zero to below the full bore, `per_radius` one over the radius.
pub(super) fn segment(radius_m: f64, per_radius: f64, depth_m: f64) -> Geometry {
    let Wet { area_m2, top_width_m, wetted_perimeter_m } = wet_segment(radius_m, per_radius, depth_m);
    let per_width = 1.0 / top_width_m;
    Geometry {
        area_m2,
        top_width_m,
        wetted_perimeter_m,
        top_width_rate: 4.0 * (radius_m - depth_m) * per_width,
        wetted_perimeter_rate: 4.0 * radius_m * per_width,
    }
}

impl Prismatic for Circle {
    fn geometry(&self, depth_m: f64) -> Geometry {
        segment(0.5 * self.bore_m, 2.0 / self.bore_m, depth_m)
    }

    fn first_moment_m3(&self, depth_m: f64) -> f64 {
        let radius = 0.5 * self.bore_m;
        let phi = half_angle(radius, depth_m);
        let (sin, cos) = sin_cos(radius, depth_m);
        radius * radius * radius * segment_moment_factor(phi, sin, cos)
    }

    fn nominal_width_m(&self) -> f64 {
        self.bore_m
    }
}
