//! Labor rates beside published ones of their kind.

use super::SecondLook;
use crate::compute::plan::bands::{PublishedWork, compare};
use crate::compute::plan::rate_units::{M3_PER_YD3, per_yd3_from_per_m3};
use crate::domain::words::{Measure, Task};
use crate::units::show::worded;
use crate::units::{Quantity, Unit};
use crate::wire::At;
use crate::wire::book::BookDoc;
use crate::wire::book::work::{LaborRate, UnitRate};

/// Share by which a rate may lie outside before it is told: books round their rates.
const ROUNDING: f64 = 0.01;

const DIGGING: &str =
    "Guild of Project Controls, hand excavation of trenches; IS 7272 (Part 1):1974 (both read)";
const BREAKING: &str = "Guild of Project Controls, breaking out and removing (read)";
const BY_HAND: &str = "open labour table of a forum page (read)";

/// What has been published of some work: from the least of one kind to the greatest of another.
struct Band {
    name: &'static str,
    from: PublishedWork,
    to: PublishedWork,
    /// How far honest rates lie from what is published, either way: 1 where several are.
    times: f64,
    source: &'static str,
}

/// Rates outside the published ones of their kind, in the order of the book.
pub fn rates(book: &BookDoc) -> Vec<SecondLook> {
    let mut out = Vec::new();
    let labor = At::ROOT.member("labor");
    for (i, rate) in book.labor.iter().enumerate() {
        let at = labor.element(i);
        let rates = at.member("rates");
        for (j, unit_rate) in rate.rates.iter().enumerate() {
            let here = rates.element(j);
            out.extend(outside(rate, unit_rate, &here.member("hours")));
        }
    }
    out
}

/// Why a rate should be looked at again; `None` where it lies among those published or nothing is.
fn outside(rate: &LaborRate, unit_rate: &UnitRate, at: &At<'_>) -> Option<SecondLook> {
    let Band { name, from, to, times, source } = published_as(rate, unit_rate.measure)?;
    let hours = unit_rate.hours.millionths() as f64 / 1e6;
    let metric = unit_rate.unit == Unit::M3;
    let per_yd3 = match unit_rate.unit {
        Unit::Yd3 => hours,
        Unit::M3 => per_yd3_from_per_m3(hours).unwrap_or_default(),
        _ => return None,
    };
    let low = compare(from, "yd3", per_yd3)?.low / times;
    let high = compare(to, "yd3", per_yd3)?.high * times;
    if (low * (1.0 - ROUNDING)..=high * (1.0 + ROUNDING)).contains(&per_yd3) {
        return None;
    }
    let in_unit =
        |per_yd3: f64| Quantity::computed(if metric { per_yd3 / M3_PER_YD3 } else { per_yd3 }, Unit::Each, 2);
    let value = worded!("{} h/{}", unit_rate.hours, unit_rate.unit);
    let usual = worded!("{} to {} h/{}", in_unit(low), in_unit(high), unit_rate.unit);
    let detail =
        worded!("{} by `{}` at {value} lies outside {name}, {usual} ({source})", rate.task, rate.method);
    Some(SecondLook { pointer: at.pointer(), detail, value, usual, source })
}

/// As what the work of a rate has been published: by hand where it takes no machine.
fn published_as(rate: &LaborRate, measure: Measure) -> Option<Band> {
    let by_hand = rate.equipment.is_empty();
    let band = |name, from, to, times, source| Some(Band { name, from, to, times, source });
    match (rate.task, measure, by_hand) {
        (Task::DigRun, Measure::RunExcavation, true) | (Task::DigLine, Measure::LineExcavation, true) => {
            let work = PublishedWork::HandDigging;
            band("the published rates of digging by hand", work, work, 1.0, DIGGING)
        }
        (Task::BreakOut, Measure::SlabRemoved, true) => {
            let work = PublishedWork::BreakingByHand;
            band("the published rates of breaking slabs by hand", work, work, 1.0, BY_HAND)
        }
        (Task::BreakOut, Measure::SlabRemoved, false) => band(
            "the published rates of breaking slabs with powered tools, plain to reinforced",
            PublishedWork::BreakingPowered,
            PublishedWork::BreakingReinforced,
            1.0,
            BREAKING,
        ),
        // one rate is published: half to twice of it
        (Task::BreakOut, Measure::AsphaltRemoved, false) => {
            let work = PublishedWork::BreakingAsphalt;
            band(
                "half to twice the published rate of breaking asphalt with powered tools",
                work,
                work,
                2.0,
                BREAKING,
            )
        }
        _ => None,
    }
}
