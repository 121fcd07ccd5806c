//! Cement, sealant, tape, wire, blades: used up in proportion to a measure, bought in whole packs.

use super::needs::{Need, Needs};
use crate::domain::book::PriceBook;
use crate::domain::lines::{Check, Outcome};
use crate::domain::measures::Measures;
use crate::units::Quantity;
use crate::units::decimal::rounded;
use crate::units::show::{Show, measured, worded};
use rust_decimal::Decimal;
use std::fmt::{self, Display as _};

/// Packs used up, before they are rounded up where they are bought.
///
/// # Formula
/// `packs = sum over the layout of measure x times / coverage`; bought `ceil(packs)`: rounded once per purchase, not per
/// joint or run
/// # Units
/// the measure in the coverage's unit
/// # Valid for
/// coverage above zero
/// # Source
/// common practice, no source; the coverage is the price book's
/// # Example
/// 43 joints at 30 joints a can are two cans:
/// ```
/// use rillcast::compute::consumables::packs_used;
/// use rust_decimal::Decimal;
/// let packs = packs_used(Decimal::from(43), Decimal::ONE, Decimal::from(30));
/// assert_eq!(packs.ceil(), Decimal::TWO);
/// ```
pub fn packs_used(measure: Decimal, times: Decimal, coverage: Decimal) -> Decimal {
    rounded(measure * times / coverage, 10)
}

/// Adds what the measures use up to the needs. The working has the measure as the job shows it and in the unit of the coverage.
pub fn add<'a>(
    measures: &Measures,
    show: Show,
    book: &'a PriceBook,
    needs: &mut Needs<'a>,
    checks: &mut Vec<Check>,
) {
    for rule in &book.doc().consumables {
        let Some(amount) = measures.number(rule.measure, rule.coverage_unit) else {
            checks.push(Check {
                name: "consumable_unit",
                subject: rule.item.as_str().to_owned(),
                outcome: Outcome::Fail,
                reason: worded!("{} is not measured in {}", rule.measure, rule.coverage_unit),
            });
            continue;
        };
        let coverage = rule.coverage.number();
        if amount.is_zero() || coverage.is_zero() {
            continue;
        }
        let times = rule.times.map_or(Decimal::ONE, |t| t.number());
        let units = packs_used(amount, times, coverage);
        let own = Quantity::decimal(amount, rule.coverage_unit, 4);
        let shown = measures.shown(rule.measure, show.0);
        let told_twice = shown.unit() != own.unit();
        let basis = fmt::from_fn(|f| {
            write!(f, "{}: ", rule.measure)?;
            if told_twice {
                write!(f, "{shown} = ")?;
            }
            own.fmt(f)?;
            if rule.times.is_some() {
                let then = if told_twice { "," } else { "" };
                write!(f, "{then} x {}", measured(times, 6, "time"))?;
            }
            write!(f, ", {} a pack", Quantity::decimal(coverage, rule.coverage_unit, 6))
        });
        needs.add(book, &rule.item, Need::Units(units), "consumables.coverage", basis);
    }
}
