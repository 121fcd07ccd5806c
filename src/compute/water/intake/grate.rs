use crate::compute::water::bounds::{self, RangeFaults};

/// Flow over the edges of a grate or hole, as over a weir.
///
/// # Formula
/// `Q = Cw P d^1.5`
/// # Units
/// `length_m` m of edge, `depth_m` m of water over it, `coefficient` m^0.5/s (1.66; 3.0 in feet), result m³/s
/// # Valid for
/// shallow water over a grate in a sag, until the openings fill
/// # Source
/// FHWA HEC-22 and TxDOT Hydraulic Design Manual, eq. 10-30 (coefficients read, form from memory)
/// # Example
/// ```
/// use rillcast::compute::water::intake::weir_flow_m3_per_s;
/// assert!((weir_flow_m3_per_s(1.66, 1.8, 0.03) - 0.0155261).abs() < 1e-7);
/// ```
#[must_use]
pub fn weir_flow_m3_per_s(coefficient: f64, length_m: f64, depth_m: f64) -> f64 {
    let depth = depth_m.max(0.0);
    coefficient * length_m * depth * depth.sqrt()
}

/// Flow through openings under water, as through an orifice.
///
/// # Formula
/// `Q = Co A sqrt(2 g d)`
/// # Units
/// `area_m2` m² of openings, `depth_m` m of water over them, `gravity` m/s², `coefficient` without unit (0.67),
/// result m³/s
/// # Valid for
/// deep water over a grate in a sag
/// # Source
/// FHWA HEC-22 and TxDOT Hydraulic Design Manual, eq. 10-31 (coefficients read, form from memory)
/// # Example
/// ```
/// use rillcast::compute::water::intake::orifice_flow_m3_per_s;
/// assert!((orifice_flow_m3_per_s(0.67, 0.14, 0.06, 9.80665) - 0.101755).abs() < 1e-6);
/// ```
#[must_use]
pub fn orifice_flow_m3_per_s(coefficient: f64, area_m2: f64, depth_m: f64, gravity: f64) -> f64 {
    coefficient * area_m2 * (2.0 * gravity * depth_m.max(0.0)).sqrt()
}

/// A grate that water stands over, in a sag or along a level run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GrateInlet {
    /// Edge over which water falls in, m: sides against a kerb or wall are left out.
    pub perimeter_m: f64,
    /// Area of the openings, m².
    pub open_area_m2: f64,
    /// Weir coefficient, m^0.5/s; 1.66 (3.0 in feet), TxDOT Hydraulic Design Manual ch. 10 (read).
    pub weir_coefficient: f64,
    /// Orifice coefficient; 0.67, the same source (read).
    pub orifice_coefficient: f64,
    /// Share of the edge that debris blocks; half is the usual allowance in a sag (TxDOT, read).
    pub clogged_perimeter: f64,
    /// Share of the openings that debris blocks; half likewise.
    pub clogged_area: f64,
}

/// What holds the water back.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SagControl {
    /// Its edge.
    Weir,
    /// Its openings.
    Orifice,
}

/// What a grate takes at a depth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SagCapacity {
    /// As a weir, m³/s.
    pub weir_m3_per_s: f64,
    /// As an orifice, m³/s.
    pub orifice_m3_per_s: f64,
    /// The lesser, m³/s.
    pub flow_m3_per_s: f64,
    /// Which it is.
    pub control: SagControl,
}

impl GrateInlet {
    /// A grate with the default coefficients, half of it clogged.
    #[must_use]
    pub fn half_clogged(perimeter_m: f64, open_area_m2: f64) -> Self {
        Self {
            perimeter_m,
            open_area_m2,
            weir_coefficient: 1.66,
            orifice_coefficient: 0.67,
            clogged_perimeter: 0.5,
            clogged_area: 0.5,
        }
    }

    /// Checks every number.
    ///
    /// # Errors
    /// Every value outside its bound.
    pub fn check(&self, place: &str) -> Result<(), RangeFaults> {
        let Self {
            perimeter_m,
            open_area_m2,
            weir_coefficient,
            orifice_coefficient,
            clogged_perimeter,
            clogged_area,
        } = *self;
        let mut faults = RangeFaults::default();
        faults.check(&bounds::PERIMETER, format!("{place}.perimeter_m"), perimeter_m);
        faults.check(&bounds::OPEN_AREA, format!("{place}.open_area_m2"), open_area_m2);
        faults.check(&bounds::COEFFICIENT, format!("{place}.weir_coefficient"), weir_coefficient);
        faults.check(&bounds::COEFFICIENT, format!("{place}.orifice_coefficient"), orifice_coefficient);
        faults.check(&bounds::CLOGGED, format!("{place}.clogged_perimeter"), clogged_perimeter);
        faults.check(&bounds::CLOGGED, format!("{place}.clogged_area"), clogged_area);
        faults.into_result()
    }

    /// Edge left by the debris, m.
    #[must_use]
    pub fn working_perimeter_m(&self) -> f64 {
        self.perimeter_m * (1.0 - self.clogged_perimeter)
    }

    /// Openings left by the debris, m².
    #[must_use]
    pub fn working_area_m2(&self) -> f64 {
        self.open_area_m2 * (1.0 - self.clogged_area)
    }

    /// What the grate takes at a depth of water over it: the lesser of weir and orifice.
    #[must_use]
    pub fn capacity(&self, depth_m: f64, gravity: f64) -> SagCapacity {
        let weir = weir_flow_m3_per_s(self.weir_coefficient, self.working_perimeter_m(), depth_m);
        let orifice =
            orifice_flow_m3_per_s(self.orifice_coefficient, self.working_area_m2(), depth_m, gravity);
        let (flow_m3_per_s, control) =
            if weir <= orifice { (weir, SagControl::Weir) } else { (orifice, SagControl::Orifice) };
        SagCapacity { weir_m3_per_s: weir, orifice_m3_per_s: orifice, flow_m3_per_s, control }
    }

    /// Depth of water over the grate at which it takes a flow, m, and what holds the water back there.
    ///
    /// # Formula
    /// `d = max((Q / (Cw P))^(2/3), (Q / (Co A))² / (2 g))`
    /// # Units
    /// `flow_m3_per_s` m³/s, `gravity` m/s², result m
    /// # Valid for
    /// a grate in a sag
    /// # Source
    /// the inverse of [`Self::capacity`]; example: FHWA HEC-22 (2009), example 4-13, 6.7 ft³/s over 8 ft of edge
    /// stand 0.43 ft (from memory)
    /// # Example
    /// ```
    /// use rillcast::compute::water::intake::GrateInlet;
    /// let grate = GrateInlet {
    ///     weir_coefficient: 3.0 * 0.3048f64.sqrt(),
    ///     clogged_perimeter: 0.0,
    ///     clogged_area: 0.0,
    ///     ..GrateInlet::half_clogged(8.0 * 0.3048, 10.0)
    /// };
    /// let (depth_m, _) = grate.ponding_depth_m(6.7 * 0.028316846592, 9.80665);
    /// assert!((depth_m / 0.3048 - 0.43).abs() < 0.005);
    /// ```
    #[must_use]
    pub fn ponding_depth_m(&self, flow_m3_per_s: f64, gravity: f64) -> (f64, SagControl) {
        let flow = flow_m3_per_s.max(0.0);
        let as_weir = (flow / (self.weir_coefficient * self.working_perimeter_m())).powf(2.0 / 3.0);
        let as_orifice =
            (flow / (self.orifice_coefficient * self.working_area_m2())).powi(2) / (2.0 * gravity);
        if as_weir >= as_orifice { (as_weir, SagControl::Weir) } else { (as_orifice, SagControl::Orifice) }
    }

    /// Depth at which the weir turns into an orifice, m.
    ///
    /// # Formula
    /// `d = Co A sqrt(2 g) / (Cw P)`
    /// # Units
    /// `gravity` m/s², result m
    /// # Valid for
    /// a grate in a sag
    /// # Source
    /// weir and orifice set equal; example computed
    /// # Example
    /// ```
    /// use rillcast::compute::water::intake::GrateInlet;
    /// let grate = GrateInlet::half_clogged(1.8, 0.14);
    /// let crossing = grate.crossing_depth_m(9.80665);
    /// let there = grate.capacity(crossing, 9.80665);
    /// assert!((there.weir_m3_per_s / there.orifice_m3_per_s - 1.0).abs() < 1e-12);
    /// ```
    #[must_use]
    pub fn crossing_depth_m(&self, gravity: f64) -> f64 {
        self.orifice_coefficient * self.working_area_m2() * (2.0 * gravity).sqrt()
            / (self.weir_coefficient * self.working_perimeter_m())
    }
}
