use super::{Geometry, Prismatic};
use crate::compute::water::bounds::{RangeFault, WIDTH};

/// Flat bottom and vertical walls.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rectangle {
    width_m: f64,
}

impl Rectangle {
    /// A rectangular section of an inside width.
    ///
    /// # Errors
    /// When the width is outside [`WIDTH`].
    pub fn new(width_m: f64) -> Result<Self, RangeFault> {
        Ok(Self { width_m: WIDTH.check("width_m", width_m)? })
    }

    /// Inside width, m.
    #[must_use]
    pub fn width_m(&self) -> f64 {
        self.width_m
    }
}

impl Prismatic for Rectangle {
    fn geometry(&self, depth_m: f64) -> Geometry {
        Geometry {
            area_m2: self.width_m * depth_m,
            top_width_m: self.width_m,
            wetted_perimeter_m: self.width_m + 2.0 * depth_m,
            top_width_rate: 0.0,
            wetted_perimeter_rate: 2.0,
        }
    }

    fn first_moment_m3(&self, depth_m: f64) -> f64 {
        0.5 * self.width_m * depth_m * depth_m
    }

    fn nominal_width_m(&self) -> f64 {
        self.width_m
    }

    fn area_m2(&self, depth_m: f64) -> f64 {
        self.width_m * depth_m
    }
}
