use super::grate::{orifice_flow_m3_per_s, weir_flow_m3_per_s};
use crate::compute::water::bounds::{self, RangeFaults};
use crate::compute::water::section::{Circle, Prismatic, critical_depth_m};

/// A hole in the floor of the channel over a pipe.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FloorOpening {
    /// Edge over which water falls in, m.
    pub edge_m: f64,
    /// Area of the hole, m².
    pub area_m2: f64,
    /// Weir coefficient, m^0.5/s; 1.66.
    pub weir_coefficient: f64,
    /// Orifice coefficient; 0.67.
    pub orifice_coefficient: f64,
}

impl FloorOpening {
    /// A round hole as wide as the bore of its pipe, with the default coefficients.
    #[must_use]
    pub fn round(bore_m: f64) -> Self {
        Self {
            edge_m: std::f64::consts::PI * bore_m,
            area_m2: 0.25 * std::f64::consts::PI * bore_m * bore_m,
            weir_coefficient: 1.66,
            orifice_coefficient: 0.67,
        }
    }

    /// Depth of water over the hole that a flow needs, m: the greater of what the edge and the hole ask for.
    ///
    /// # Formula
    /// `d = max((Q/(Cw P))^(2/3), t + (Q/(Co A))²/(2g))`, with `t` the depth of water that backs up through it, 0 where
    /// none does
    /// # Units
    /// `flow_m3_per_s` m³/s, `tailwater_m` m above the bed, `None` without water, `gravity` m/s², result m
    /// # Valid for
    /// still water around the hole; fast flow shoots past part of it
    /// # Source
    /// weir and orifice as for a grate in a sag, FHWA HEC-22 (from memory)
    /// # Example
    /// ```
    /// use rillcast::compute::water::intake::FloorOpening;
    /// let hole = FloorOpening::round(0.1);
    /// let depth_m = hole.depth_m(0.005, None, 9.80665);
    /// // The edge asks for (0.005 / (1.66 x 0.31416))^(2/3) = 0.04513, the hole for more:
    /// // (0.005 / (0.67 x 0.0078540))² / (2 x 9.80665)
    /// assert!((depth_m - 0.04603).abs() < 1e-5);
    /// ```
    #[must_use]
    pub fn depth_m(&self, flow_m3_per_s: f64, tailwater_m: Option<f64>, gravity: f64) -> f64 {
        let tailwater_m = tailwater_m.unwrap_or(0.0).max(0.0);
        let edge =
            (flow_m3_per_s / weir_flow_m3_per_s(self.weir_coefficient, self.edge_m, 1.0)).powf(2.0 / 3.0);
        let hole = (flow_m3_per_s
            / orifice_flow_m3_per_s(self.orifice_coefficient, self.area_m2, 1.0, gravity))
        .powi(2);
        edge.max(tailwater_m + hole).max(tailwater_m)
    }
}

/// A pipe that leaves through the end wall of the channel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EndOpening {
    /// Bore of the pipe, m.
    pub bore_m: f64,
    /// How far the pipe's invert lies below the bed, m; 0 when they are level.
    pub invert_below_bed_m: f64,
    /// Orifice coefficient when its mouth is under water; 0.6 for a sharp edge (from memory).
    pub orifice_coefficient: f64,
    /// Head lost as water enters the partly full pipe, in velocity heads; 0.5 for a square edge (from memory).
    pub entrance_loss: f64,
}

impl EndOpening {
    /// A square-edged pipe whose invert is level with the bed.
    #[must_use]
    pub fn level_with_bed(bore_m: f64) -> Self {
        Self { bore_m, invert_below_bed_m: 0.0, orifice_coefficient: 0.6, entrance_loss: 0.5 }
    }

    /// Depth of water in front of the pipe that a flow needs, m above the bed of the channel.
    ///
    /// # Formula
    /// the greater of: partly full, critical at the mouth, `y_c + (1 + ke) Q²/(2 g A_c²)`; under water,
    /// `(Q/(Co A))²/(2g) + D/2`; and with water `t` above its centre backing up, `t + (Q/(Co A))²/(2g)`; less
    /// the depth of the invert below the bed, and 0 where the invert lies deeper than that
    /// # Units
    /// `flow_m3_per_s` m³/s, `tailwater_m` m above the bed, below 0 where water stands between the pipe's invert and the
    /// bed, `None` where none backs up, `gravity` m/s², result m
    /// # Valid for
    /// a short pipe or one steep enough that its mouth is its narrowest place; otherwise the grade line of the pipe
    /// gives the tailwater
    /// # Source
    /// critical depth and orifice as in Chow (1959) and HEC-22 (from memory)
    /// # Example
    /// ```
    /// use rillcast::compute::water::intake::EndOpening;
    /// let pipe = EndOpening::level_with_bed(0.1);
    /// // 20 L/s through 100 mm: (0.02 / (0.6 x 0.0078540))² / (2 x 9.80665) + 0.05
    /// assert!((pipe.depth_m(0.02, None, 9.80665) - 0.96839).abs() < 1e-5);
    /// // The same pipe 300 mm below the bed, whether free or with water 100 mm below the bed, 200 mm above its invert:
    /// let low = EndOpening { invert_below_bed_m: 0.3, ..pipe };
    /// assert!((low.depth_m(0.02, None, 9.80665) - 0.66839).abs() < 1e-5);
    /// assert!((low.depth_m(0.02, Some(-0.1), 9.80665) - 0.81839).abs() < 1e-5);
    /// ```
    #[must_use]
    pub fn depth_m(&self, flow_m3_per_s: f64, tailwater_m: Option<f64>, gravity: f64) -> f64 {
        let least = tailwater_m.unwrap_or(0.0).max(0.0);
        let Ok(pipe) = Circle::new(self.bore_m) else {
            return least;
        };
        let critical = critical_depth_m(&pipe, flow_m3_per_s, gravity).min(self.bore_m);
        let area = if critical < self.bore_m { pipe.area_m2(critical) } else { pipe.full_area_m2() };
        let velocity = if area > 0.0 { flow_m3_per_s / area } else { 0.0 };
        let partly_full = critical + (1.0 + self.entrance_loss) * velocity * velocity / (2.0 * gravity);
        let through = flow_m3_per_s
            / orifice_flow_m3_per_s(self.orifice_coefficient, pipe.full_area_m2(), 1.0, gravity);
        let head = through * through;
        // Partly full entry needs more head than the mouth is high only when the mouth is under water; there the
        // orifice rules.
        let free = if partly_full <= self.bore_m {
            partly_full
        } else {
            (head + 0.5 * self.bore_m).max(self.bore_m)
        };
        let drowned = match tailwater_m.map(|level| level + self.invert_below_bed_m) {
            Some(backed_up) if backed_up > 0.5 * self.bore_m => backed_up + head,
            Some(backed_up) => backed_up,
            None => 0.0,
        };
        (free.max(drowned) - self.invert_below_bed_m).max(least)
    }
}

/// A flow and the depth it needs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CurvePoint {
    /// Flow, m³/s.
    pub flow_m3_per_s: f64,
    /// Depth above the bed that the flow needs, m.
    pub depth_m: f64,
}

/// A measured or given rating: straight between its points, and on along its last stretch.
#[derive(Debug, Clone, PartialEq)]
pub struct RatingCurve(Vec<CurvePoint>);

impl RatingCurve {
    /// A rating from two points or more, both flow and depth growing.
    ///
    /// # Errors
    /// Every point that does not grow or is out of bounds.
    pub fn new(points: Vec<CurvePoint>) -> Result<Self, RangeFaults> {
        let mut faults = RangeFaults::default();
        if points.len() < 2 {
            faults.add("rating", points.len(), "a rating has two points or more");
        }
        for (i, point) in points.iter().enumerate() {
            faults.check(&bounds::FLOW, format!("rating[{i}].flow_m3_per_s"), point.flow_m3_per_s);
            faults.check(&bounds::WATER_DEPTH, format!("rating[{i}].depth_m"), point.depth_m);
        }
        for (i, pair) in points.windows(2).enumerate() {
            if let [low, high] = pair
                && !(high.flow_m3_per_s > low.flow_m3_per_s && high.depth_m >= low.depth_m)
            {
                faults.add(
                    format!("rating[{}]", i + 1),
                    format!("{} m3/s at {} m", high.flow_m3_per_s, high.depth_m),
                    "each point has more flow than the one before and no less depth",
                );
            }
        }
        faults.into_result()?;
        Ok(Self(points))
    }

    fn depth_m(&self, flow: f64, tailwater_m: Option<f64>) -> f64 {
        let at = self.0.partition_point(|point| point.flow_m3_per_s <= flow);
        let high = at.clamp(1, self.0.len().saturating_sub(1));
        let depth = match (self.0.get(high - 1), self.0.get(high)) {
            (Some(a), Some(b)) => {
                let share = (flow - a.flow_m3_per_s) / (b.flow_m3_per_s - a.flow_m3_per_s);
                a.depth_m + share.max(0.0) * (b.depth_m - a.depth_m)
            }
            _ => 0.0,
        };
        depth.max(tailwater_m.unwrap_or(0.0))
    }
}

/// What water must pass to leave a run.
#[derive(Debug, Clone, PartialEq)]
pub enum Opening {
    /// A hole in the floor.
    Floor(FloorOpening),
    /// A pipe through the end wall.
    End(EndOpening),
    /// A rating given as points.
    Curve(RatingCurve),
}

impl Opening {
    /// How far below the bed water behind it still counts, m: to the invert of a pipe that lies below the bed.
    #[must_use]
    pub fn invert_below_bed_m(&self) -> f64 {
        match self {
            Self::End(pipe) => pipe.invert_below_bed_m,
            Self::Floor(_) | Self::Curve(_) => 0.0,
        }
    }

    /// Depth above the bed that a flow needs, m; `tailwater_m` is that of the water behind it, `None` without.
    #[must_use]
    pub fn depth_m(&self, flow_m3_per_s: f64, tailwater_m: Option<f64>, gravity: f64) -> f64 {
        match self {
            Self::Floor(hole) => hole.depth_m(flow_m3_per_s, tailwater_m, gravity),
            Self::End(pipe) => pipe.depth_m(flow_m3_per_s, tailwater_m, gravity),
            Self::Curve(curve) => curve.depth_m(flow_m3_per_s, tailwater_m),
        }
    }

    /// Checks every number.
    ///
    /// # Errors
    /// Every value outside its bound.
    pub fn check(&self, place: &str) -> Result<(), RangeFaults> {
        let mut faults = RangeFaults::default();
        match self {
            Self::Floor(FloorOpening { edge_m, area_m2, weir_coefficient, orifice_coefficient }) => {
                faults.check_at(&bounds::PERIMETER, || format!("{place}.edge_m"), *edge_m);
                faults.check_at(&bounds::OPEN_AREA, || format!("{place}.area_m2"), *area_m2);
                faults.check_at(
                    &bounds::COEFFICIENT,
                    || format!("{place}.weir_coefficient"),
                    *weir_coefficient,
                );
                faults.check_at(
                    &bounds::COEFFICIENT,
                    || format!("{place}.orifice_coefficient"),
                    *orifice_coefficient,
                );
            }
            Self::End(EndOpening { bore_m, invert_below_bed_m, orifice_coefficient, entrance_loss }) => {
                faults.check_at(&bounds::BORE, || format!("{place}.bore_m"), *bore_m);
                faults.check_at(
                    &bounds::WATER_DEPTH,
                    || format!("{place}.invert_below_bed_m"),
                    *invert_below_bed_m,
                );
                faults.check_at(
                    &bounds::COEFFICIENT,
                    || format!("{place}.orifice_coefficient"),
                    *orifice_coefficient,
                );
                faults.check_at(
                    &bounds::LOSS_COEFFICIENT,
                    || format!("{place}.entrance_loss"),
                    *entrance_loss,
                );
            }
            Self::Curve(_) => {}
        }
        faults.into_result()
    }
}
