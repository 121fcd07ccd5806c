//! What of a price book is not wrong, but worth a second look: rates that lie outside what has been published, hire for
//! nothing, holidays of another country.

use super::plan::bands::{PublishedWork, compare};
use super::plan::rate_units::{M3_PER_YD3, per_yd3_from_per_m3};
use crate::domain::words::{Measure, Task};
use crate::units::show::worded;
use crate::units::{Amount, Currency, Quantity, Unit};
use crate::wire::At;
use crate::wire::book::BookDoc;
use crate::wire::book::concrete::ConcreteWay;
use crate::wire::book::work::{LaborRate, UnitRate};
use serde::Serialize;
use utoipa::ToSchema;

/// What of a price book should be looked at again; it stops nothing.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct SecondLook {
    /// JSON pointer to it in the document of the version, in URI-fragment form.
    pub pointer: String,
    /// Why it should be looked at again.
    pub detail: String,
}

/// Share by which a rate may lie outside before it is told: books round their rates.
const ROUNDING: f64 = 0.01;

/// Everything of a book that should be looked at again.
pub fn of(book: &BookDoc) -> Vec<SecondLook> {
    let mut out = rates(book);
    out.extend(trailers(book));
    out.extend(holidays(book));
    out
}

/// A trailer may be lent for nothing; more often its hire was forgotten.
fn trailers(book: &BookDoc) -> Vec<SecondLook> {
    let list = At::ROOT.member("concrete_ways");
    let ways = book.concrete_ways.iter().enumerate();
    ways.filter_map(|(i, way)| match way {
        ConcreteWay::Trailer { hire_per_trip, .. } if *hire_per_trip == Amount::ZERO => Some(SecondLook {
            pointer: list.element(i).member("hire_per_trip").pointer(),
            detail: "the trailer costs no hire; right where it is lent with the concrete".to_owned(),
        }),
        _ => None,
    })
    .collect()
}

/// Without a calendar plans keep the holidays of the United States, whatever the currency.
fn holidays(book: &BookDoc) -> Option<SecondLook> {
    let rules = book.plan_rules.as_ref();
    if book.currency == Currency::Usd || rules.is_some_and(|r| !r.calendars.is_empty()) {
        return None;
    }
    let here = At::ROOT.member("plan_rules");
    let pointer = if rules.is_some() { here.member("calendars").pointer() } else { here.pointer() };
    let detail = worded!(
        "prices are in {} and no calendar is given: plans keep Monday to Friday and the federal holidays of the United States; list the office's own calendar",
        book.currency
    );
    Some(SecondLook { pointer, detail })
}

/// Rates outside the published ones of their kind, in the order of the book.
pub fn rates(book: &BookDoc) -> Vec<SecondLook> {
    let mut out = Vec::new();
    let labor = At::ROOT.member("labor");
    for (i, rate) in book.labor.iter().enumerate() {
        let at = labor.element(i);
        let rates = at.member("rates");
        for (j, unit_rate) in rate.rates.iter().enumerate() {
            if let Some(detail) = outside(rate, unit_rate) {
                let pointer = rates.element(j).member("hours").pointer();
                out.push(SecondLook { pointer, detail });
            }
        }
    }
    out
}

/// Why a rate should be looked at again; `None` where it lies among those published or nothing is.
fn outside(rate: &LaborRate, unit_rate: &UnitRate) -> Option<String> {
    let (work, name) = published_as(rate, unit_rate.measure)?;
    let hours = unit_rate.hours.millionths() as f64 / 1e6;
    let metric = unit_rate.unit == Unit::M3;
    let per_yd3 = match unit_rate.unit {
        Unit::Yd3 => hours,
        Unit::M3 => per_yd3_from_per_m3(hours).unwrap_or_default(),
        _ => return None,
    };
    let band = compare(work, "yd3", per_yd3)?;
    if (band.low * (1.0 - ROUNDING)..=band.high * (1.0 + ROUNDING)).contains(&per_yd3) {
        return None;
    }
    let in_unit =
        |per_yd3: f64| Quantity::computed(if metric { per_yd3 / M3_PER_YD3 } else { per_yd3 }, Unit::Each, 2);
    Some(worded!(
        "{} by `{}` at {} h/{} lies outside the published {name}, {} to {} h/{}",
        rate.task,
        rate.method,
        unit_rate.hours,
        unit_rate.unit,
        in_unit(band.low),
        in_unit(band.high),
        unit_rate.unit
    ))
}

/// As what the work of a rate has been published: by hand where it takes no machine.
fn published_as(rate: &LaborRate, measure: Measure) -> Option<(PublishedWork, &'static str)> {
    let by_hand = rate.equipment.is_empty();
    match (rate.task, measure, by_hand) {
        (Task::DigRun, Measure::RunExcavation, true) | (Task::DigLine, Measure::LineExcavation, true) => {
            Some((PublishedWork::HandDigging, "rates of digging by hand"))
        }
        (Task::BreakOut, Measure::SlabRemoved, true) => {
            Some((PublishedWork::BreakingByHand, "rates of breaking slabs by hand"))
        }
        (Task::BreakOut, Measure::SlabRemoved | Measure::AsphaltRemoved, false) => {
            Some((PublishedWork::BreakingPowered, "rates of breaking with powered tools"))
        }
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    #![expect(clippy::unwrap_used, reason = "a test that cannot read the demo must stop")]
    use super::of;
    use serde_json::{Value, json};

    fn looks(change: impl Fn(&mut Value)) -> Vec<(String, String)> {
        let mut book: Value = serde_json::from_str(crate::domain::demo::BOOK).unwrap();
        change(&mut book);
        let found = of(&crate::wire::read_value(&book).unwrap());
        found.into_iter().map(|l| (l.pointer, l.detail)).collect()
    }

    #[test]
    fn hire_for_nothing_and_foreign_holidays_are_looked_at_again() {
        let usual = looks(|_| ());
        let new = |change: fn(&mut Value)| -> Vec<(String, String)> {
            looks(change).into_iter().filter(|l| !usual.contains(l)).collect()
        };
        let found = new(|b| b["concrete_ways"][3]["hire_per_trip"] = json!("0.00"));
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].0, "#/concrete_ways/3/hire_per_trip");
        let found = new(|b| {
            b["currency"] = json!("EUR");
            b["plan_rules"]["calendars"] = json!([]);
        });
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].0, "#/plan_rules/calendars");
        assert!(found[0].1.contains("EUR") && found[0].1.contains("United States"), "{found:?}");
        let found = new(|b| {
            b["currency"] = json!("EUR");
            b["plan_rules"] = json!({"calendars": b["plan_rules"]["calendars"]});
        });
        assert_eq!(found, []);
    }
}
