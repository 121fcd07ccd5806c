//! Cold, hot, and drying weather on the day of a pour.

use super::Terms;
use crate::domain::book::PriceBook;
use crate::domain::lines::{Check, Outcome};
use crate::units::factors::{KILOGRAMS_PER_POUND, METRES_PER_FOOT};
use crate::units::quantity::Span;
use crate::units::show::{Show, worded};
use crate::units::{Factor, Quantity, Unit, UnitSystem};
use crate::wire::notes::PourWeather;
use rust_decimal::Decimal;
use serde::{Serialize, Serializer};
use utoipa::ToSchema;

/// The weather and the concrete on the day, as the formula takes them.
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

impl WeatherLimits {
    /// The limits of a book; the usual ones where it says nothing.
    pub fn of(book: &PriceBook) -> Self {
        let usual = Self::default();
        let Some(rules) = &book.doc().concrete_rules else { return usual };
        Self {
            cold_air_c: rules.cold_below.map_or(usual.cold_air_c, |t| t.celsius()),
            hot_concrete_c: rules.hot_above.map_or(usual.hot_concrete_c, |t| t.celsius()),
            evaporation: rules.evaporation_limit.map_or(usual.evaporation, |f| f.millionths() as f64 / 1e6),
        }
    }
}

/// Lowest temperature the formula of evaporation holds for, C.
const LEAST_C: f64 = -18.0;

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
/// # use rillcast::compute::concrete::weather::{Weather, evaporation_rate};
/// let day = Weather { air_c: 30.0, concrete_c: 30.0, humidity: 0.5, wind_km_h: 20.0 };
/// assert!((evaporation_rate(&day) - 0.957_754_814_553).abs() < 1e-9);
/// ```
#[must_use]
pub fn evaporation_rate(w: &Weather) -> f64 {
    let part = |c: f64| libm::pow((c - LEAST_C).max(0.0), 2.5);
    let rate = 5.0 * (part(w.concrete_c) - w.humidity * part(w.air_c)) * (w.wind_km_h + 4.0) * 1e-6;
    rate.max(0.0)
}

/// Evaporation in kg/m² an hour to a millionth. JSON: a decimal string.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Evaporation(Decimal);

impl Evaporation {
    /// The nearest to a computed rate.
    fn nearest(rate: f64) -> Self {
        Self(Decimal::new((rate * 1e6).round() as i64, 6).normalize())
    }
}

impl Serialize for Evaporation {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        s.collect_str(&self.0)
    }
}

/// A pour day held against the limits of weather.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct PourWeatherAnswer {
    /// Evaporation from the fresh surface in kg/m² an hour, as a decimal.
    #[schema(value_type = Factor)]
    pub evaporation_kg_per_m2_hr: Evaporation,
    /// The sum in words.
    pub basis: String,
    /// Time limit from batching to the end of discharge on this day.
    pub time_limit: Quantity,
    /// Cold, hot and evaporation checks.
    pub checks: Vec<Check>,
}

/// Whether the concrete of this weather is hot by the book.
pub(super) fn is_hot(weather: &PourWeather, book: &PriceBook) -> bool {
    weather.concrete.celsius() > WeatherLimits::of(book).hot_concrete_c
}

/// The time limit of a day: the book's, or the one for hot concrete.
pub(super) fn time_limit(day: i64, terms: &Terms<'_>, book: &PriceBook) -> Option<Span> {
    let rules = book.doc().concrete_rules.as_ref()?;
    let hot = terms.weather_of(day).is_some_and(|w| is_hot(w, book));
    Some(if hot { rules.time_limit_hot.unwrap_or(rules.time_limit) } else { rules.time_limit })
}

/// Holds the weather of a pour day against the limits of the book.
pub(super) fn check(
    day: i64,
    weather: &PourWeather,
    limit: Span,
    book: &PriceBook,
    show: Show,
) -> PourWeatherAnswer {
    let limits = WeatherLimits::of(book);
    let w = Weather {
        air_c: weather.air.celsius(),
        concrete_c: weather.concrete.celsius(),
        humidity: weather.humidity_pct.millionths() as f64 / 1e6,
        wind_km_h: weather.wind.km_per_h(),
    };
    let coldest = weather.coldest.map_or(w.air_c, |t| t.celsius()).min(w.air_c);
    let rate = evaporation_rate(&w);
    let subject = worded!("pour day {day}");
    let mut checks = Vec::new();
    let mut add = |name: &'static str, bad: bool, reason: String| {
        let outcome = if bad { Outcome::Warn } else { Outcome::Pass };
        checks.push(Check { name, subject: subject.clone(), outcome, reason });
    };
    let cold = coldest < limits.cold_air_c;
    add(
        "pour_in_cold",
        cold,
        if cold {
            worded!(
                "air down to {} is below {}: no frozen ground, forms or mix; warm the mix and keep it covered from frost as \
                 the specification says",
                both(coldest, show),
                both(limits.cold_air_c, show)
            )
        } else {
            worded!(
                "air of {} or warmer; cold is below {}",
                both(coldest, show),
                both(limits.cold_air_c, show)
            )
        },
    );
    let hot = w.concrete_c > limits.hot_concrete_c;
    add(
        "pour_in_heat",
        hot,
        if hot {
            worded!(
                "concrete at {} is above {}: cool the mix, shade it, or pour at another hour",
                both(w.concrete_c, show),
                both(limits.hot_concrete_c, show)
            )
        } else {
            worded!(
                "concrete at {}; hot is above {}",
                both(w.concrete_c, show),
                both(limits.hot_concrete_c, show)
            )
        },
    );
    let dries = rate > limits.evaporation;
    let mut reason = worded!(
        "evaporation of {} against {}",
        evaporation(rate, show),
        evaporation(limits.evaporation, show)
    );
    if dries {
        reason.push_str(": wind breaks, fog or cover at once against plastic shrinkage cracks");
    }
    if weather.sun.0 {
        reason.push_str(
            "; sun warms the surface beyond the concrete below: measure and reckon with the surface",
        );
    }
    add("pour_evaporation", dries, reason);
    for (what, value) in [("air", w.air_c), ("concrete", w.concrete_c)] {
        if value < LEAST_C {
            add(
                "evaporation_in_range",
                true,
                worded!(
                    "the {what} at {} is below {}, outside the formula's range: the rate is a rough guide",
                    both(value, show),
                    both(LEAST_C, show)
                ),
            );
        }
    }
    PourWeatherAnswer {
        evaporation_kg_per_m2_hr: Evaporation::nearest(rate),
        basis: worded!(
            "5 x ([{:.2} + 18]^2.5 - {} x [{:.2} + 18]^2.5) x ({:.2} + 4) / 1,000,000 = {rate:.3} kg/m² an hour; °C, km/h",
            w.concrete_c,
            w.humidity,
            w.air_c,
            w.wind_km_h
        ),
        time_limit: Quantity::of_base(i128::from(limit.seconds()), Unit::Min, 2),
        checks,
    }
}

/// A temperature in both scales, the job's own first.
fn both(celsius: f64, show: Show) -> String {
    let fahrenheit = celsius * 1.8 + 32.0;
    match show.0 {
        UnitSystem::Us => worded!("{fahrenheit:.1} °F ({celsius:.1} °C)"),
        UnitSystem::Metric => worded!("{celsius:.1} °C ({fahrenheit:.1} °F)"),
    }
}

/// Evaporation in the job's units, beside those of the formula.
fn evaporation(rate: f64, show: Show) -> String {
    let pounds = rate * METRES_PER_FOOT * METRES_PER_FOOT / KILOGRAMS_PER_POUND;
    match show.0 {
        UnitSystem::Us => worded!("{pounds:.2} lb/ft² an hour ({rate:.2} kg/m²)"),
        UnitSystem::Metric => worded!("{rate:.2} kg/m² an hour"),
    }
}
