//! Rates of a price book that lie outside what has been published: not wrong, but worth a second look.

use super::plan::bands::{PublishedWork, compare};
use super::plan::rate_units::{M3_PER_YD3, per_yd3_from_per_m3};
use crate::domain::words::{Measure, Task};
use crate::units::show::worded;
use crate::units::{Quantity, Unit};
use crate::wire::At;
use crate::wire::book::BookDoc;
use crate::wire::book::work::{LaborRate, UnitRate};
use serde::Serialize;
use utoipa::ToSchema;

/// What of a price book should be looked at again; it stops nothing.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct SecondLook {
    /// Where it stands in the document.
    pub pointer: String,
    /// Why.
    pub detail: String,
}

/// Share by which a rate may lie outside before it is told: books round their rates.
const ROUNDING: f64 = 0.01;

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
