use super::{Geometry, Prismatic};
use crate::compute::water::bounds::{Bound, RangeFault, SIDE_SLOPE, WIDTH};

/// Flat bottom and walls that lean outward alike on both sides; a bottom of no width makes it a V.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trapezoid {
    bottom_width_m: f64,
    side_slope: f64,
    wall_length_per_depth: f64,
}

impl Trapezoid {
    /// A trapezoidal section from its bottom width and the slope of its sides, horizontal to vertical.
    ///
    /// # Errors
    /// When a value is outside its bound, or both are nothing.
    pub fn new(bottom_width_m: f64, side_slope: f64) -> Result<Self, RangeFault> {
        let bottom = Bound { min: 0.0, ..WIDTH };
        bottom.check("bottom_width_m", bottom_width_m)?;
        SIDE_SLOPE.check("side_slope", side_slope)?;
        if bottom_width_m < WIDTH.min && side_slope < 0.01 {
            return Err(RangeFault {
                place: "side_slope".to_owned(),
                value: side_slope.to_string(),
                rule: "a channel without a bottom width needs sides that lean by 0.01 or more".to_owned(),
                limit: None,
            });
        }
        Ok(Self::unchecked(bottom_width_m, side_slope))
    }

    fn unchecked(bottom_width_m: f64, side_slope: f64) -> Self {
        Self { bottom_width_m, side_slope, wall_length_per_depth: 2.0 * side_slope.hypot(1.0) }
    }

    /// Width of the bottom, m.
    #[must_use]
    pub fn bottom_width_m(&self) -> f64 {
        self.bottom_width_m
    }

    /// Slope of the sides, horizontal to vertical.
    #[must_use]
    pub fn side_slope(&self) -> f64 {
        self.side_slope
    }
}

impl Prismatic for Trapezoid {
    fn geometry(&self, depth_m: f64) -> Geometry {
        Geometry {
            area_m2: self.area_m2(depth_m),
            top_width_m: self.bottom_width_m + 2.0 * self.side_slope * depth_m,
            wetted_perimeter_m: self.bottom_width_m + self.wall_length_per_depth * depth_m,
            top_width_rate: 2.0 * self.side_slope,
            wetted_perimeter_rate: self.wall_length_per_depth,
        }
    }

    fn first_moment_m3(&self, depth_m: f64) -> f64 {
        depth_m * depth_m * (0.5 * self.bottom_width_m + self.side_slope * depth_m / 3.0)
    }

    fn nominal_width_m(&self) -> f64 {
        self.bottom_width_m.max(0.1 * self.side_slope)
    }

    fn area_m2(&self, depth_m: f64) -> f64 {
        (self.bottom_width_m + self.side_slope * depth_m) * depth_m
    }
}
