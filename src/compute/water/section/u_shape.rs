use super::circle::{half_angle, segment, segment_area_factor, segment_moment_factor, sin_cos, wet_segment};
use super::{Geometry, Prismatic, Wet};
use crate::compute::water::bounds::{RangeFault, WIDTH};
use std::f64::consts::{FRAC_PI_2, PI};

/// Semicircular bottom of the inside width, vertical walls above it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct UShape {
    width_m: f64,
    radius_m: f64,
    per_radius: f64,
}

impl UShape {
    /// A U section of an inside width; the bottom has half of it as its radius.
    ///
    /// # Errors
    /// When the width is outside [`WIDTH`].
    pub fn new(width_m: f64) -> Result<Self, RangeFault> {
        let width_m = WIDTH.check("width_m", width_m)?;
        Ok(Self { width_m, radius_m: 0.5 * width_m, per_radius: 2.0 / width_m })
    }

    /// Inside width, m.
    #[must_use]
    pub fn width_m(&self) -> f64 {
        self.width_m
    }
}

impl Prismatic for UShape {
    fn geometry(&self, depth_m: f64) -> Geometry {
        if depth_m < self.radius_m {
            segment(self.radius_m, self.per_radius, depth_m)
        } else {
            let above = depth_m - self.radius_m;
            Geometry {
                area_m2: FRAC_PI_2 * self.radius_m * self.radius_m + self.width_m * above,
                top_width_m: self.width_m,
                wetted_perimeter_m: PI * self.radius_m + 2.0 * above,
                top_width_rate: 0.0,
                wetted_perimeter_rate: 2.0,
            }
        }
    }

    #[inline]
    fn wet(&self, depth_m: f64) -> Wet {
        if depth_m < self.radius_m {
            wet_segment(self.radius_m, self.per_radius, depth_m)
        } else {
            let above = depth_m - self.radius_m;
            Wet {
                area_m2: FRAC_PI_2 * self.radius_m * self.radius_m + self.width_m * above,
                top_width_m: self.width_m,
                wetted_perimeter_m: PI * self.radius_m + 2.0 * above,
            }
        }
    }

    fn first_moment_m3(&self, depth_m: f64) -> f64 {
        let radius = self.radius_m;
        if depth_m < radius {
            let phi = half_angle(radius, depth_m);
            let (sin, cos) = sin_cos(radius, depth_m);
            radius * radius * radius * segment_moment_factor(phi, sin, cos)
        } else {
            let above = depth_m - radius;
            radius * radius * radius * 2.0 / 3.0
                + above * (FRAC_PI_2 * radius * radius + 0.5 * self.width_m * above)
        }
    }

    fn nominal_width_m(&self) -> f64 {
        self.width_m
    }

    fn area_m2(&self, depth_m: f64) -> f64 {
        let radius = self.radius_m;
        if depth_m < radius {
            let phi = half_angle(radius, depth_m);
            let (sin, cos) = sin_cos(radius, depth_m);
            radius * radius * segment_area_factor(phi, sin, cos)
        } else {
            FRAC_PI_2 * radius * radius + self.width_m * (depth_m - radius)
        }
    }
}
