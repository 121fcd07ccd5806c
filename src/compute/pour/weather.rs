//! Cold, hot, and drying weather on the day of a pour.

use super::fault::{PourFault, PourWarning};

/// The weather and the mix on the day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weather {
    /// Air temperature, C.
    pub air_c: f64,
    /// Concrete temperature, C.
    pub concrete_c: f64,
    /// Relative humidity as a share, 0 to 1.
    pub humidity: f64,
    /// Wind at the surface, km/h.
    pub wind_km_h: f64,
}

/// Limits the day is held against.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WeatherLimits {
    /// Air below this is cold, C. 40 F (UFGS 03300N, read).
    pub cold_air_c: f64,
    /// Concrete above this is hot, C. 95 F (from memory).
    pub hot_concrete_c: f64,
    /// Evaporation above this asks for measures, kg/m2/h (UFGS 03300N, read).
    pub evaporation: f64,
}

impl Default for WeatherLimits {
    fn default() -> Self {
        Self { cold_air_c: 40.0 / 9.0, hot_concrete_c: 35.0, evaporation: 1.0 }
    }
}

/// The outcome of the weather check.
#[derive(Debug, Clone, PartialEq)]
pub struct WeatherCheck {
    /// Evaporation rate, kg/m2/h.
    pub evaporation: f64,
    /// What to know; empty when the day is fit to pour.
    pub warnings: Vec<PourWarning>,
    /// The sum in words.
    pub basis: String,
}

/// Evaporation of bleed water from fresh concrete, kg/m2/h; never below zero.
///
/// # Formula
/// `E = 5 ([Tc + 18]^2.5 - r [Ta + 18]^2.5) (V + 4) 1e-6`
/// # Units
/// temperatures in C, humidity `r` as a share, wind `V` in km/h; result in kg/m2/h
/// # Valid for
/// temperatures of -18 C and above (below, the base is taken as zero), humidity from 0 to 1, wind from 0
/// # Source
/// Uno, ACI Materials Journal 95(4), 1998 (formula read; the value below recomputed)
/// # Example
/// ```
/// # use rillcast::compute::pour::{Weather, evaporation_rate};
/// let day = Weather { air_c: 30.0, concrete_c: 30.0, humidity: 0.5, wind_km_h: 20.0 };
/// assert!((evaporation_rate(&day) - 0.957_754_814_553).abs() < 1e-9);
/// ```
#[must_use]
pub fn evaporation_rate(w: &Weather) -> f64 {
    let part = |c: f64| (c + 18.0).max(0.0).powf(2.5);
    let rate = 5.0 * (part(w.concrete_c) - w.humidity * part(w.air_c)) * (w.wind_km_h + 4.0) * 1e-6;
    rate.max(0.0)
}

/// Holds the day of a pour against the limits.
///
/// # Errors
/// Every figure that is no weather on Earth.
pub fn check_weather(w: &Weather, limits: &WeatherLimits) -> Result<WeatherCheck, Vec<PourFault>> {
    let figures = [
        ("air_c", w.air_c, -60.0, 60.0, "-60 to 60 C"),
        ("concrete_c", w.concrete_c, -60.0, 100.0, "-60 to 100 C"),
        ("humidity", w.humidity, 0.0, 1.0, "0 to 1"),
        ("wind_km_h", w.wind_km_h, 0.0, 400.0, "0 to 400 km/h"),
        ("limits.cold_air_c", limits.cold_air_c, -60.0, 60.0, "-60 to 60 C"),
        ("limits.hot_concrete_c", limits.hot_concrete_c, -60.0, 100.0, "-60 to 100 C"),
        ("limits.evaporation", limits.evaporation, 0.0, 100.0, "0 to 100 kg/m2/h"),
    ];
    // written so that a value that is not a number fails as well
    let bad = figures.iter().filter(|(_, v, low, high, _)| !(v >= low && v <= high));
    let faults: Vec<PourFault> = bad
        .map(|&(field, v, _, _, rule)| PourFault::Weather { field, value: format!("{v}"), rule })
        .collect();
    if !faults.is_empty() {
        return Err(faults);
    }
    let evaporation = evaporation_rate(w);
    let mut warnings = Vec::new();
    if w.air_c < limits.cold_air_c {
        warnings.push(PourWarning::Cold { air_c: w.air_c, limit_c: limits.cold_air_c });
    }
    if w.concrete_c > limits.hot_concrete_c {
        let (concrete_c, limit_c) = (w.concrete_c, limits.hot_concrete_c);
        warnings.push(PourWarning::HotConcrete { concrete_c, limit_c });
    }
    if evaporation > limits.evaporation {
        warnings.push(PourWarning::Evaporation { rate: evaporation, limit: limits.evaporation });
    }
    for (what, value) in [("air temperature", w.air_c), ("concrete temperature", w.concrete_c)] {
        if value < -18.0 {
            warnings.push(PourWarning::OutsideRange { what, range: "-18 C and above" });
        }
    }
    let basis = format!(
        "5 x ([{} + 18]^2.5 - {} x [{} + 18]^2.5) x ({} + 4) / 1e6 = {evaporation:.3} kg/m2/h",
        w.concrete_c, w.humidity, w.air_c, w.wind_km_h
    );
    Ok(WeatherCheck { evaporation, warnings, basis })
}
