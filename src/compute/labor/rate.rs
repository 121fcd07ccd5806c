//! Person-hours and crew-hours of one task.

use super::method::{method_checks, missing};
use super::place::PlaceAndWeather;
use super::{Conditions, depth};
use crate::domain::book::PriceBook;
use crate::domain::lines::Check;
use crate::domain::measures::Measures;
use crate::domain::words::{Measure, Soil};
use crate::units::decimal::{Plain, in_parts, plain, rounded, trimmed, whole};
use crate::units::quantity::Span;
use crate::units::show::{Show, measured};
use crate::units::{Factor, Quantity, Unit, UnitSystem};
use crate::wire::book::work::{LaborRate, UnitRate};
use rust_decimal::Decimal;
use smallvec::SmallVec;
use std::fmt::{Arguments, Write as _};

/// Person-hours of a task.
///
/// # Formula
/// `hours = setup + sum of quantity x unit hours x difficulty x depth`; depth for digging only. Setup is not multiplied. A factor
/// for the weather is in the quantity hours that come in.
/// # Units
/// person-hours, rounded half away from zero to a millionth
/// # Valid for
/// quantities and rates of zero and more
/// # Source
/// common practice, no source; rates are the price book's
/// # Example
/// ```
/// use rillcast::{compute::labor::person_hours, units::Factor};
/// use rust_decimal::Decimal;
/// // 0.5 h + 3.21 yd³ x 1.6 h/yd³ x 1.25 for hard access: 6.92 h.
/// let by_quantity = Decimal::new(321, 2) * Decimal::new(16, 1);
/// let hours = person_hours(Decimal::new(5, 1), by_quantity, Factor::from_millionths(1_250_000), Factor::ONE);
/// assert_eq!(hours, Decimal::new(692, 2));
/// ```
pub fn person_hours(setup: Decimal, quantity_hours: Decimal, difficulty: Factor, depth: Factor) -> Decimal {
    let hours = setup + times(times(quantity_hours, difficulty), depth);
    let millionths = in_parts(hours, 6).and_then(|millionths| trimmed(millionths, 6));
    // Beyond 10^22 hours a decimal has no room for millionths.
    millionths.unwrap_or_else(|| rounded(hours, 6).normalize())
}

/// Most jobs are in a normal place, most trenches are not deep.
fn times(hours: Decimal, factor: Factor) -> Decimal {
    if factor == Factor::ONE { hours } else { hours * factor.number() }
}

/// Time of a crew, rounded up to the office's step.
///
/// # Formula
/// `ceil(person-hours / people / step) x step`, in whole numbers; a step of nothing rounds up to the second
/// # Units
/// person-hours in, seconds out
/// # Valid for
/// person-hours to a millionth, as [`person_hours`] gives them
/// # Source
/// common practice, no source; the step is a setting of the price book
/// # Example
/// ```
/// use rillcast::{compute::labor::crew_seconds, units::quantity::Span};
/// use rust_decimal::Decimal;
/// let half_hour = Span::from_seconds(1800);
/// // 6.92 person-hours by two: 3.46 h each, so 3.5 h.
/// assert_eq!(crew_seconds(Decimal::new(692, 2), 2, half_hour), 12_600);
/// // Exactly seven steps stay seven.
/// assert_eq!(crew_seconds(Decimal::new(7, 0), 2, half_hour), 12_600);
/// ```
pub fn crew_seconds(person_hours: Decimal, people: i64, step: Span) -> i64 {
    let step = step.seconds().max(1);
    let mut micro = person_hours;
    micro.rescale(6);
    // Beyond 10^22 hours a decimal has no room for millionths.
    let need = if micro.scale() == 6 { micro.mantissa().saturating_mul(3600) } else { i128::MAX };
    let each = i128::from(people.max(1)).saturating_mul(i128::from(step)).saturating_mul(1_000_000);
    let steps = if need <= 0 { 0 } else { (need - 1) / each + 1 };
    i64::try_from(steps.saturating_mul(i128::from(step))).unwrap_or(i64::MAX)
}

/// The working from person-hours down to the crew's: `seconds` as [`crew_seconds`] gives them.
pub(super) fn put_crew_hours(
    person_hours: Decimal,
    people: i64,
    seconds: i64,
    step: Span,
    working: &mut String,
) {
    // Put together by hand: there is one for every task.
    working.push_str(" = ");
    // a few hours shown shorter would round up to another step
    let short = person_hours.scale() <= 3 || crew_seconds(rounded(person_hours, 3), people, step) == seconds;
    measured(person_hours, if short { 3 } else { 6 }, "person-hour").put(working);
    working.push_str("; crew of ");
    Plain::Small(people, 0).put(working);
    working.push_str(": ");
    measured(Span::from_seconds(seconds).hours(), 6, "crew-hour").put(working);
    working.push_str(" after rounding up to ");
    plain(step.hours(), 6).put(working);
    working.push_str(" h");
}

/// Whether a rate holds in a soil: one for the soil goes before one for all soils of the same measure.
pub(in crate::compute) fn holds(unit_rate: &UnitRate, rate: &LaborRate, soil: Soil) -> bool {
    if unit_rate.soils.is_empty() {
        !rate.rates.iter().any(|r| r.measure == unit_rate.measure && r.soils.contains(&soil))
    } else {
        unit_rate.soils.contains(&soil)
    }
}

/// Whether a rate counts a measure here.
pub(super) fn counts(rate: &LaborRate, measure: Measure, conditions: &Conditions<'_>) -> bool {
    rate.rates.iter().any(|r| r.measure == measure && holds(r, rate, conditions.soil))
}

/// Person-hours that a rate gives for quantities alone, deep digging included: no setup, no other factor. What parts of a job share
/// a task's hours by.
pub(crate) fn quantity_hours(
    rate: &LaborRate,
    measures: &Measures,
    conditions: &Conditions<'_>,
    book: &PriceBook,
) -> Decimal {
    let bands = depth::bands(rate.task, measures, conditions, book.doc().labor_rules.as_ref());
    let flat: Decimal = rate
        .rates
        .iter()
        .filter(|r| holds(r, rate, conditions.soil))
        .filter_map(|r| Some(measures.number(r.measure, r.unit)? * r.hours.number()))
        .sum();
    depth::shared(flat, &bands).iter().zip(&bands).map(|(part, band)| *part * band.factor.number()).sum()
}

/// Person-hours by a rate. What it lacks goes to `checks`, where anyone asks; the numbers they come from are written behind
/// `working`.
pub(super) fn reckon(
    rate: &LaborRate,
    measures: &Measures,
    conditions: &Conditions<'_>,
    book: &PriceBook,
    checks: Option<&mut Vec<Check>>,
    working: Option<&mut String>,
    show: Show,
) -> Decimal {
    let rules = book.doc().labor_rules.as_ref();
    let setup = rate.setup.map_or(Decimal::ZERO, Span::hours);
    let bands = depth::bands(rate.task, measures, conditions, rules);
    // Where it is deep in parts each part has its factor; else one stands behind all of it.
    let by_part = bands.len() > 1;
    let mut parts = working.map(|text| Parts::after_setup(setup, text));
    let mut counted: SmallVec<[Measure; 8]> = SmallVec::new();
    let mut sum = Decimal::ZERO;
    for unit_rate in rate.rates.iter().filter(|r| holds(r, rate, conditions.soil)) {
        let Some(amount) = measures.number(unit_rate.measure, unit_rate.unit) else { continue };
        counted.push(unit_rate.measure);
        if amount.is_zero() {
            continue;
        }
        if !by_part {
            sum += amount * unit_rate.hours.number();
            if let Some(parts) = &mut parts {
                let shown = || measures.shown(unit_rate.measure, show.0);
                write_part(parts.next(), amount, unit_rate, shown, show);
            }
            continue;
        }
        for (part, band) in depth::shared(amount, &bands).iter().zip(&bands) {
            sum += *part * unit_rate.hours.number() * band.factor.number();
            if let Some(parts) = &mut parts {
                let shown = || in_units_of(*part, unit_rate.unit, measures.shown(unit_rate.measure, show.0));
                write_part(parts.next(), *part, unit_rate, shown, show);
                parts.factor(band.factor, format_args!("{}", band.words(show)));
            }
        }
    }
    if let Some(checks) = checks {
        missing(rate, measures, conditions, &counted, book, checks);
        method_checks(rate, conditions, checks, show);
    }
    let around = PlaceAndWeather::of(conditions.difficulty, conditions.weather, rules);
    let deep = bands.first().filter(|b| !by_part && b.factor != Factor::ONE);
    let depth = deep.map_or(Factor::ONE, |b| b.factor);
    if let Some(mut parts) = parts.filter(|parts| parts.first.is_some()) {
        if !around.is_plain() || depth != Factor::ONE {
            parts.bracketed();
        }
        // writing to a string does not fail
        let _ = write!(parts.text, "{around}");
        if let Some(deep) = deep {
            parts.factor(depth, format_args!("{}", deep.words(show)));
        }
    }
    person_hours(setup, times(sum, around.weather), around.place, depth)
}

/// The parts of a working as they are written one behind the other: a setup, quantities times rates, what multiplies them.
struct Parts<'t> {
    text: &'t mut String,
    has_setup: bool,
    /// Where the first quantity begins.
    first: Option<usize>,
    several: bool,
}

impl<'t> Parts<'t> {
    fn after_setup(setup: Decimal, text: &'t mut String) -> Self {
        if !setup.is_zero() {
            text.push_str("setup ");
            plain(setup, 4).put(text);
            text.push_str(" h");
        }
        Self { text, has_setup: !setup.is_zero(), first: None, several: false }
    }

    /// The text behind which the next quantity is written.
    fn next(&mut self) -> &mut String {
        self.several = self.first.is_some();
        if self.has_setup || self.several {
            self.text.push_str(" + ");
        }
        self.first.get_or_insert(self.text.len());
        self.text
    }

    /// Brackets around several quantities.
    fn bracketed(&mut self) {
        if let Some(first) = self.first.filter(|_| self.several) {
            self.text.insert(first, '(');
            self.text.push(')');
        }
    }

    /// What the quantities are multiplied by, and why.
    fn factor(&mut self, factor: Factor, why: Arguments<'_>) {
        let _ = write!(self.text, " x {factor} ({why})");
    }
}

/// A number of a unit as the measure is shown in the job's own.
fn in_units_of(amount: Decimal, unit: Unit, shown: Quantity) -> Quantity {
    let factor = |u: Unit| u.factor().and_then(|f| Decimal::try_from_i128_with_scale(f, 0).ok());
    let own = factor(unit).zip(factor(shown.unit())).map_or(amount, |(from, to)| amount * (from / to));
    Quantity::decimal(own, shown.unit(), 4)
}

/// A quantity times the hours for one of it.
fn write_part(
    text: &mut String,
    amount: Decimal,
    unit_rate: &UnitRate,
    own: impl FnOnce() -> Quantity,
    show: Show,
) {
    // Put together by hand: there are dozens of them in an answer.
    plain(amount, 3).put(text);
    if unit_rate.unit != Unit::Each {
        text.push(' ');
        text.push_str(unit_rate.unit.word());
        // a rate of the other system says what that is in the job's own
        if unit_rate.unit.is_metric() != (show.0 == UnitSystem::Metric) {
            let _ = write!(text, " ({})", own());
        }
    }
    let word = unit_rate.measure.word();
    // One of what is counted is one visit, not one visits.
    let one = unit_rate.unit == Unit::Each && amount == Decimal::ONE;
    text.push(' ');
    text.push_str(if one { word.strip_suffix('s').unwrap_or(word) } else { word });
    text.push_str(" x ");
    whole(unit_rate.hours.number()).put(text);
    text.push_str(" h");
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hours_are_shown_so_that_their_rounding_up_can_be_followed() {
        let quarter = Span::from_seconds(900);
        let told = |hours: Decimal| {
            let mut text = String::new();
            put_crew_hours(hours, 2, crew_seconds(hours, 2, quarter), quarter, &mut text);
            text
        };
        let rounded_up = "after rounding up to 0.25 h";
        assert_eq!(
            told(Decimal::new(4, 0)),
            format!(" = 4 person-hours; crew of 2: 2 crew-hours {rounded_up}")
        );
        // shown as 4 it would be 2 crew-hours
        assert_eq!(
            told(Decimal::new(4_000_100, 6)),
            format!(" = 4.0001 person-hours; crew of 2: 2.25 crew-hours {rounded_up}")
        );
        assert_eq!(
            told(Decimal::new(4_100_100, 6)),
            format!(" = 4.1 person-hours; crew of 2: 2.25 crew-hours {rounded_up}")
        );
    }
}
