//! What stands at the top of an answer, gathered from what the stages found.

use super::concrete::ConcreteOrder;
use super::options::Outline;
use super::takeoff::Takeoff;
use super::{labor, pricing};
use crate::compute::answers::{Estimate, LayoutQuantities, Summary};
use crate::domain::layout::Layout;
use crate::domain::lines::{Check, Outcome, QuantityLine};
use crate::domain::measures::Measures;
use crate::domain::words::Measure;

/// What of an estimate its options are compared by.
pub(super) fn outline(estimate: &Estimate) -> Outline {
    let summary = &estimate.summary;
    Outline {
        by_category: estimate.price.by_category.clone(),
        direct_cost: summary.direct_cost,
        price_before_tax: summary.price_before_tax,
        tax: summary.tax,
        total: summary.total,
        outcome: summary.outcome,
        failed: summary.failed.clone(),
    }
}

/// Failed first, then warnings; within each in the order in which they arose.
pub(super) fn sort(checks: &mut [Check]) {
    checks.sort_by_key(|c| std::cmp::Reverse(c.outcome));
}

/// The worst outcome of all checks.
pub(super) fn outcome(checks: &[Check]) -> Outcome {
    checks.iter().map(|c| c.outcome).max().unwrap_or(Outcome::Pass)
}

/// The quantities of a layout with their totals.
pub(super) fn quantities(layout: &Layout<'_>, taken: Takeoff<'_>, measures: &Measures) -> LayoutQuantities {
    let mut totals = Vec::with_capacity(measures.present().count());
    totals.extend(measures.present().map(|m| QuantityLine {
        name: m.word().into(),
        quantity: measures.shown(m, layout.show.0),
        rule: "total",
        basis: total_of(m).into(),
    }));
    let cut_lists = taken.cuts.answer(layout.show);
    LayoutQuantities { runs: taken.runs, drain_lines: taken.lines, earth: taken.earth, cut_lists, totals }
}

/// What a total is the sum of.
const fn total_of(measure: Measure) -> &'static str {
    match measure {
        Measure::ExportLoose => "spoil and rubble taken away, loose",
        Measure::HaulLoads => "loads of all spoil and rubble together",
        Measure::ConcreteOrdered => "as ordered, all pours together",
        Measure::BagsMixed => "as ordered, all pours together, where bags are mixed",
        Measure::FormBoards => "bought for all runs together, by the cut list",
        Measure::Visits => "times the crew comes, as the notes say; once where they do not",
        _ => "sum over all runs and lines",
    }
}

/// The summary of an estimate.
pub(super) fn summarize(
    layout: &Layout<'_>,
    measures: &Measures,
    order: &ConcreteOrder,
    labor: &labor::LaborHours,
    price: &pricing::PriceBuildUp,
    checks: &[Check],
) -> Summary {
    let system = layout.show.0;
    Summary {
        outcome: outcome(checks),
        failed: checks.iter().filter(|c| c.outcome == Outcome::Fail).map(failed).collect(),
        channel: measures.shown(Measure::ChannelLength, system),
        pipe: measures.shown(Measure::PipeLength, system),
        concrete: measures.shown(Measure::ConcreteOrdered, system),
        concrete_way: order.ways_taken(),
        crew_hours: labor.crew_hours,
        person_hours: labor.person_hours,
        direct_cost: price.direct_cost,
        price_before_tax: price.price_before_tax,
        tax: price.sale_tax,
        total: price.total,
    }
}

/// A failed check in one line; reasons that begin with what they are about do not say it twice.
fn failed(check: &Check) -> String {
    let Check { subject, reason, .. } = check;
    if reason.starts_with(subject.as_str()) { reason.clone() } else { format!("{subject}: {reason}") }
}
