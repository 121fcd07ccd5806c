//! Cross-sections: what water of a given depth fills, wets and weighs.
//!
//! [`Prismatic`] is all that the flow computations need of a section. [`OpenSection`] is the choice of
//! channel shapes; [`Circle`] is the pipe.
//!
//! | file | subject |
//! |---|---|
//! | `rectangle`, `trapezoid`, `u_shape` | the shapes of channels |
//! | `circle` | the pipe |
//! | `critical` | critical depth, Froude number, force |
//! | `normal` | normal depth |

mod circle;
mod critical;
mod normal;
mod rectangle;
mod trapezoid;
mod u_shape;

pub use circle::Circle;
pub use critical::{critical_depth_m, critical_flow_m3_per_s, froude, specific_energy_m, specific_force_m3};
pub use normal::{conveyance_m3_per_s, normal_depth_m};
pub use rectangle::Rectangle;
pub use trapezoid::Trapezoid;
pub use u_shape::UShape;

/// What a section holds at one depth, with the derivatives by depth that slopes and Newton steps need.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Geometry {
    /// Area of water, m².
    pub area_m2: f64,
    /// Width of the water surface, m; also the derivative of the area by depth.
    pub top_width_m: f64,
    /// Wetted perimeter, m.
    pub wetted_perimeter_m: f64,
    /// Derivative of the top width by depth.
    pub top_width_rate: f64,
    /// Derivative of the wetted perimeter by depth.
    pub wetted_perimeter_rate: f64,
}

impl Geometry {
    /// Hydraulic radius, area over wetted perimeter, m.
    #[must_use]
    pub fn hydraulic_radius_m(&self) -> f64 {
        self.area_m2 / self.wetted_perimeter_m
    }
}

/// What of a section the water touches.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wet {
    /// Area of water, m².
    pub area_m2: f64,
    /// Width of its surface, m.
    pub top_width_m: f64,
    /// Length of the wetted boundary, m.
    pub wetted_perimeter_m: f64,
}

/// A section that stays the same along a channel.
pub trait Prismatic {
    /// Area, widths and perimeters at a depth above zero.
    fn geometry(&self, depth_m: f64) -> Geometry;

    /// Area, top width and wetted perimeter alone, at a depth above zero.
    fn wet(&self, depth_m: f64) -> Wet {
        let Geometry { area_m2, top_width_m, wetted_perimeter_m, .. } = self.geometry(depth_m);
        Wet { area_m2, top_width_m, wetted_perimeter_m }
    }

    /// First moment of the water's area about its surface, `A` times the depth of its centroid, m³: the
    /// pressure force on the section divided by the unit weight of water.
    fn first_moment_m3(&self, depth_m: f64) -> f64;

    /// Width used for a first guess of a depth, m.
    fn nominal_width_m(&self) -> f64;

    /// Area of water, m².
    fn area_m2(&self, depth_m: f64) -> f64 {
        self.geometry(depth_m).area_m2
    }
}

/// The shapes an open channel can have.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum OpenSection {
    /// Flat bottom, vertical walls.
    Rectangle(Rectangle),
    /// Semicircular bottom, vertical walls above it.
    UShape(UShape),
    /// Flat bottom, sloping walls.
    Trapezoid(Trapezoid),
}

impl Prismatic for OpenSection {
    fn geometry(&self, depth_m: f64) -> Geometry {
        match self {
            Self::Rectangle(section) => section.geometry(depth_m),
            Self::UShape(section) => section.geometry(depth_m),
            Self::Trapezoid(section) => section.geometry(depth_m),
        }
    }

    fn wet(&self, depth_m: f64) -> Wet {
        match self {
            Self::Rectangle(section) => section.wet(depth_m),
            Self::UShape(section) => section.wet(depth_m),
            Self::Trapezoid(section) => section.wet(depth_m),
        }
    }

    fn first_moment_m3(&self, depth_m: f64) -> f64 {
        match self {
            Self::Rectangle(section) => section.first_moment_m3(depth_m),
            Self::UShape(section) => section.first_moment_m3(depth_m),
            Self::Trapezoid(section) => section.first_moment_m3(depth_m),
        }
    }

    fn nominal_width_m(&self) -> f64 {
        match self {
            Self::Rectangle(section) => section.nominal_width_m(),
            Self::UShape(section) => section.nominal_width_m(),
            Self::Trapezoid(section) => section.nominal_width_m(),
        }
    }

    fn area_m2(&self, depth_m: f64) -> f64 {
        match self {
            Self::Rectangle(section) => section.area_m2(depth_m),
            Self::UShape(section) => section.area_m2(depth_m),
            Self::Trapezoid(section) => section.area_m2(depth_m),
        }
    }
}

impl From<Rectangle> for OpenSection {
    fn from(section: Rectangle) -> Self {
        Self::Rectangle(section)
    }
}

impl From<UShape> for OpenSection {
    fn from(section: UShape) -> Self {
        Self::UShape(section)
    }
}

impl From<Trapezoid> for OpenSection {
    fn from(section: Trapezoid) -> Self {
        Self::Trapezoid(section)
    }
}

#[cfg(test)]
mod tests {
    use super::{Circle, OpenSection, Prismatic, Rectangle, Trapezoid, UShape};
    use crate::compute::water::bounds::RangeFault;

    fn differences_agree(section: &dyn Prismatic, depth: f64) {
        let step = depth * 1e-5;
        let (low, mid, high) =
            (section.geometry(depth - step), section.geometry(depth), section.geometry(depth + step));
        let rate = |a: f64, b: f64| (b - a) / (2.0 * step);
        let near = |a: f64, b: f64, scale: f64| assert!((a - b).abs() < 1e-5 * scale, "{a} {b} at {depth}");
        near(mid.top_width_m, rate(low.area_m2, high.area_m2), mid.top_width_m);
        near(mid.top_width_rate, rate(low.top_width_m, high.top_width_m), mid.top_width_m / depth);
        let perimeter = mid.wetted_perimeter_m / depth;
        near(mid.wetted_perimeter_rate, rate(low.wetted_perimeter_m, high.wetted_perimeter_m), perimeter);
        let moments = rate(section.first_moment_m3(depth - step), section.first_moment_m3(depth + step));
        near(mid.area_m2, moments, mid.area_m2);
        assert!((section.area_m2(depth) - mid.area_m2).abs() <= 1e-15 * mid.area_m2);
    }

    #[test]
    fn derivatives_agree_with_differences() -> Result<(), RangeFault> {
        let sections: [OpenSection; 4] = [
            Rectangle::new(0.15)?.into(),
            UShape::new(0.15)?.into(),
            Trapezoid::new(0.3, 0.5)?.into(),
            Trapezoid::new(0.0, 1.5)?.into(),
        ];
        for depth in [1e-6, 1e-4, 1e-3, 0.00187, 0.01, 0.05, 0.074, 0.08, 0.3] {
            for section in &sections {
                differences_agree(section, depth);
            }
            if depth < 0.1 {
                differences_agree(&Circle::new(0.1)?, depth);
            }
        }
        Ok(())
    }
}
