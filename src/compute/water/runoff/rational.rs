use crate::compute::water::bounds::{self, RangeFaults};
use crate::compute::water::warning::Warning;

/// Peak flow from a small catchment (rational method).
///
/// # Formula
/// `Q = C i A`; with mm/h and hectares `Q = C i A / 360`
/// # Units
/// `coefficient` without unit (frequency factor included), `intensity_mm_per_h` mm/h, `area_m2` m², result m³/s
/// # Valid for
/// small catchments, up to about 80 ha, and rain that lasts the time of concentration
/// # Source
/// FHWA HEC-22 (2009), ch. 3 (from memory); 1 ha mm/h = 1/360 m³/s exactly
/// # Example
/// ```
/// use rillcast::compute::water::runoff::rational_flow_m3_per_s;
/// assert!((rational_flow_m3_per_s(1.0, 1.0, 1e4) - 1.0 / 360.0).abs() < 1e-15);
/// ```
#[must_use]
pub fn rational_flow_m3_per_s(coefficient: f64, intensity_mm_per_h: f64, area_m2: f64) -> f64 {
    coefficient * intensity_mm_per_h * area_m2 / 3.6e6
}

/// The factor of the rational formula in US units.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum FlowFactor {
    /// 121/120: what an acre-inch per hour is.
    #[default]
    Exact,
    /// 1: what handbooks usually take; 0.8 % less.
    Unity,
}

impl FlowFactor {
    /// The factor.
    #[must_use]
    pub fn value(self) -> f64 {
        match self {
            Self::Exact => 121.0 / 120.0,
            Self::Unity => 1.0,
        }
    }
}

/// Peak flow from a small catchment in US units.
///
/// # Formula
/// `Q = k C i A`, `k` = 121/120, usually taken as 1
/// # Units
/// `coefficient` without unit, `intensity_in_per_h` in/h, `area_acre` acres, result ft³/s
/// # Valid for
/// as [`rational_flow_m3_per_s`]
/// # Source
/// 43 560 ft² / 12 / 3600 s; example: USDA NRCS Hydrology Training Series module 206D, example 1 (inputs read)
/// # Example
/// ```
/// use rillcast::compute::water::runoff::{FlowFactor, rational_flow_us_cfs};
/// let q = rational_flow_us_cfs(1.1 * 0.4625, 5.1, 12.0, FlowFactor::Exact);
/// assert!((q - 31.38).abs() < 0.016);
/// ```
#[must_use]
pub fn rational_flow_us_cfs(
    coefficient: f64,
    intensity_in_per_h: f64,
    area_acre: f64,
    factor: FlowFactor,
) -> f64 {
    factor.value() * coefficient * intensity_in_per_h * area_acre
}

/// Coefficient of a catchment of several surfaces.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Composite {
    /// Weighted coefficient.
    pub coefficient: f64,
    /// Total area, m².
    pub area_m2: f64,
    /// Sum of coefficient times area, m².
    pub weighted_area_m2: f64,
}

/// Runoff coefficient of several surfaces together.
///
/// # Formula
/// `C = sum(C A) / sum(A)`
/// # Units
/// pairs of coefficient and area in m²
/// # Valid for
/// surfaces that drain side by side
/// # Source
/// FHWA HEC-22 (2009), example 3-1 (from memory)
/// # Errors
/// Every coefficient or area out of its bound; no area at all.
/// # Example
/// ```
/// use rillcast::compute::water::runoff::composite_coefficient;
/// let both = composite_coefficient(&[(0.25, 8.95e4), (0.22, 8.6e4)])?;
/// assert!((both.coefficient - 0.235).abs() < 7e-4);
/// # Ok::<(), rillcast::compute::water::bounds::RangeFaults>(())
/// ```
pub fn composite_coefficient(surfaces: &[(f64, f64)]) -> Result<Composite, RangeFaults> {
    let mut faults = RangeFaults::default();
    for (i, (coefficient, area)) in surfaces.iter().enumerate() {
        faults.check(&bounds::RUNOFF_COEFFICIENT, format!("surfaces[{i}].coefficient"), *coefficient);
        faults.check(&bounds::AREA, format!("surfaces[{i}].area_m2"), *area);
    }
    let area_m2: f64 = surfaces.iter().map(|(_, area)| area).sum();
    if area_m2.is_nan() || area_m2 <= 0.0 {
        faults.add("surfaces", format!("{area_m2} m2 in all"), "a catchment has some area");
    }
    faults.into_result()?;
    let weighted_area_m2: f64 = surfaces.iter().map(|(coefficient, area)| coefficient * area).sum();
    Ok(Composite { coefficient: weighted_area_m2 / area_m2, area_m2, weighted_area_m2 })
}

/// Factors that raise the coefficient for rare storms: up to this return period, this factor.
#[derive(Debug, Clone, PartialEq)]
pub struct FrequencyFactors(pub Vec<(f64, f64)>);

impl Default for FrequencyFactors {
    /// 1, 1.1, 1.2, 1.25 up to 10, 25, 50, 100 years (FHWA HEC-22 and state manuals, from memory).
    fn default() -> Self {
        Self(vec![(10.0, 1.0), (25.0, 1.1), (50.0, 1.2), (100.0, 1.25)])
    }
}

impl FrequencyFactors {
    /// Factor for a return period: that of the next listed period up. Beyond the last, the last with a warning.
    #[must_use]
    pub fn factor(&self, return_period_years: f64) -> (f64, Option<Warning>) {
        let found = self.0.iter().find(|(years, _)| return_period_years <= *years * (1.0 + 1e-12));
        match (found, self.0.last()) {
            (Some((_, factor)), _) => (*factor, None),
            (None, Some((years, factor))) => {
                let warning = Warning::RarerStorm { years: return_period_years, longest_years: *years };
                (*factor, Some(warning))
            }
            (None, None) => (1.0, None),
        }
    }
}

/// Coefficient with its frequency factor.
///
/// # Formula
/// `min(Cf C, 1)`
/// # Units
/// without units
/// # Valid for
/// the rational method: no more runs off than falls
/// # Source
/// FHWA HEC-22 (2009), ch. 3 (from memory)
/// # Example
/// ```
/// use rillcast::compute::water::runoff::applied_coefficient;
/// assert_eq!(applied_coefficient(0.9, 1.25), 1.0);
/// assert_eq!(applied_coefficient(0.5, 1.25), 0.625);
/// ```
#[must_use]
pub fn applied_coefficient(coefficient: f64, frequency_factor: f64) -> f64 {
    (coefficient * frequency_factor).min(1.0)
}
