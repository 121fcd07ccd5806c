//! Proposed rates put into a copy of a price book.

use super::proposals::Found;
use crate::units::quantity::Span;
use crate::units::{Factor, Percent};
use crate::wire::List;
use crate::wire::book::BookDoc;
use crate::wire::book::planning::{HoursSpread, PlanRules};
use crate::wire::book::work::UnitRate;
use std::collections::BTreeMap;

/// The document with the taken rates: hours per unit and setup times the ratio, their spread, and the spread of jobs.
pub fn with_rates(doc: &BookDoc, found: &Found) -> BookDoc {
    with_taken(doc, &found.taken, found.job_spread)
}

/// The same of ratio and spread by place in the book.
pub(super) fn with_taken(
    doc: &BookDoc,
    taken: &BTreeMap<usize, (f64, HoursSpread)>,
    job_spread: Percent,
) -> BookDoc {
    let mut out = doc.clone();
    if taken.is_empty() {
        return out;
    }
    let mut labor = out.labor.to_vec();
    for (place, (ratio, spread)) in taken {
        let Some(rate) = labor.get_mut(*place) else { continue };
        let rates: Vec<UnitRate> =
            rate.rates.iter().map(|r| UnitRate { hours: scaled(r.hours, *ratio), ..r.clone() }).collect();
        if let Some(rates) = List::new(rates) {
            rate.rates = rates;
        }
        rate.setup = rate.setup.map(|s| Span::from_seconds(scaled_setup(s.seconds(), *ratio)));
        rate.spread = Some(spread.clone());
    }
    if let Some(labor) = List::new(labor) {
        out.labor = labor;
    }
    let rules = out.plan_rules.get_or_insert_with(|| PlanRules {
        calendars: List::default(),
        notice_calendar: None,
        crews: List::default(),
        machines: List::default(),
        waits: None,
        keep_machine_idle_days: None,
        spread: None,
        job_spread_pct: None,
    });
    rules.job_spread_pct = Some(job_spread);
    out
}

/// Hours after a ratio, rounded to a millionth, never nothing.
pub(super) fn scaled(hours: Factor, ratio: f64) -> Factor {
    let millionths = (hours.millionths() as f64 * ratio).round() as i64;
    Factor::from_millionths(millionths.max(1))
}

/// Seconds of setup after a ratio, rounded to the second.
pub(super) fn scaled_setup(seconds: i64, ratio: f64) -> i64 {
    ((seconds as f64 * ratio).round() as i64).clamp(0, 366 * 86_400)
}
