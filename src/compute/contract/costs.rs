//! What a job costs: as the accounting system reports it, as the job's own records tell it, and what it is expected to leave.
//!
//! Two accounts of the same money are never added up. The accounting system reports what was spent and ordered; the records
//! of the job tell hours that were worked and purchase orders that were placed. In each category the larger of the two
//! stands: hours are known on the day they are worked, a supplier's bill often weeks after the order.

use super::accept::check_report;
use crate::compute::job_record::costs::{OrderCost, OrderPart, TradeCost};
use crate::domain::words::Category;
use crate::units::Amount;
use crate::units::decimal::rounded;
use crate::units::quantity::Span;
use crate::wire::contract::account::Component;
use crate::wire::contract::requests::CostIn;
use crate::wire::day::{Day, OfficeDay};
use crate::wire::{At, Faults};
use rust_decimal::Decimal;
use serde::Serialize;
use utoipa::ToSchema;

/// Where a cost is known from.
/// - `reported_spent`: reported as spent
/// - `reported_ordered`: reported as ordered and not billed yet
/// - `recorded_hours`: hours recorded on the job
/// - `placed_order`: a purchase order recorded as placed
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum CostSource {
    /// Reported as spent.
    ReportedSpent,
    /// Reported as ordered and not billed yet.
    ReportedOrdered,
    /// Hours recorded on the job.
    RecordedHours,
    /// A purchase order recorded as placed.
    PlacedOrder,
}

/// A cost of the job.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct LedgerCost {
    /// Where it is known from.
    pub source: CostSource,
    /// Reference of the accounting system, trade code, or number of the purchase order.
    pub reference: String,
    /// Its date; absent for hours, which are of many days.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub on: Option<Day>,
    /// Category.
    pub category: Category,
    /// How much, with the taxes that the office pays on what it buys, as its estimate counts them.
    pub amount: Amount,
    /// The working.
    pub basis: String,
}

impl LedgerCost {
    /// A cost as the accounting system reported it.
    pub fn reported(
        system: &str,
        reference: String,
        on: Option<Day>,
        category: Category,
        committed: bool,
        amount: Amount,
    ) -> Self {
        let (source, word) = if committed {
            (CostSource::ReportedOrdered, "ordered")
        } else {
            (CostSource::ReportedSpent, "spent")
        };
        let basis = format!("reported as {word} by {system}");
        Self { source, reference, on, category, amount, basis }
    }

    /// Recorded hours of a trade.
    pub fn hours(worked: &TradeCost) -> Self {
        let TradeCost { trade, name, worked, hour, cost } = worked;
        Self {
            source: CostSource::RecordedHours,
            reference: trade.to_string(),
            on: None,
            category: Category::Labor,
            amount: *cost,
            basis: format!(
                "{name}: {} recorded at {hour}, wage with burden of the accepted estimate's price book",
                told(*worked)
            ),
        }
    }

    /// A purchase order that was placed: what it holds of each category.
    pub fn order(placed: &OrderCost) -> Vec<Self> {
        let OrderCost { number, supplier, on, cost: whole, confirmed, grown: _, items: _, parts } = placed;
        let said = if *confirmed { "as confirmed" } else { "goods and delivery of the purchase order" };
        let cost_of = |part: &OrderPart| {
            let OrderPart { category, cost, taxes } = part;
            let with_tax = *cost + taxes.iter().map(|(_, amount)| *amount).sum();
            let mut basis = format!("placed with {supplier}: {said} {whole}");
            if parts.len() > 1 {
                let how = if *confirmed { ", shared as the order has it" } else { "" };
                basis.push_str(&format!(", of which {cost} for {category}{how}"));
            }
            for (tax, amount) in taxes {
                basis.push_str(&format!(" + {} {} {amount}", tax.name, tax.rate_pct));
            }
            if !taxes.is_empty() {
                basis.push_str(&format!(" = {with_tax}"));
            }
            Self {
                source: CostSource::PlacedOrder,
                reference: number.clone(),
                on: Some(*on),
                category: *category,
                amount: with_tax,
                basis,
            }
        };
        parts.iter().map(cost_of).collect()
    }
}

/// Worked time in words, so that the rate makes the cost of it: in hours where hundredths tell it, else to the second.
fn told(worked: Span) -> String {
    let (seconds, hours) = (worked.seconds(), worked.hours());
    if hours.scale() <= 2 {
        return format!("{hours} hr");
    }
    let parts = [(seconds / 3600, "hr"), (seconds / 60 % 60, "min"), (seconds % 60, "s")];
    let parts = parts.iter().filter(|(count, _)| *count != 0).map(|(count, unit)| format!("{count} {unit}"));
    parts.collect::<Vec<_>>().join(" ")
}

/// What was reported for a job as spent, or as ordered, in one category.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ReportedSum {
    /// Category.
    pub category: Category,
    /// Ordered rather than spent.
    pub committed: bool,
    /// What the reports come to.
    pub amount: Amount,
}

/// What is wrong with a cost of a job for which so much was reported before: spent on a day to come, or more than can be written
/// in one of the sums it goes into. What is ordered may be for a day to come.
pub fn check_cost(cost: &CostIn, before: &[ReportedSum], today: OfficeDay<'_>) -> Faults {
    let mut faults =
        if cost.committed.0 { Faults::new() } else { check_report(cost.on, None, today, "spent") };
    let amount = cost.amount.0;
    let of = |counts: &dyn Fn(&ReportedSum) -> bool| -> Amount {
        before.iter().filter(|r| counts(r)).map(|r| r.amount).sum()
    };
    let in_category = |r: &ReportedSum| r.category == cost.category;
    let alike = of(&|r| in_category(r) && r.committed == cost.committed.0);
    let sums = [alike, of(&in_category), of(&|_| true)];
    // What leads back from beyond is let be.
    let beyond = |sum: &Amount| {
        let after = *sum + amount;
        if amount < Amount::ZERO { after < -Amount::MOST } else { after > Amount::MOST }
    };
    if let Some(sum) = sums.into_iter().find(beyond) {
        let detail = format!(
            "{sum} were reported before; the costs reported for a job come to at most {} in one category and in all",
            Amount::MOST
        );
        faults.value(&At::ROOT.member("amount"), "out_of_range", &amount.to_string(), detail);
    }
    faults
}

/// Costs of a category.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct CategoryCost {
    /// Category.
    pub category: Category,
    /// In the estimate the contract stands on, with change orders.
    pub estimated: Amount,
    /// Reported as spent.
    pub actual: Amount,
    /// Reported as ordered.
    pub committed: Amount,
    /// Hours recorded on the job, at the rates of the accepted estimate.
    pub recorded: Amount,
    /// Purchase orders recorded as placed.
    pub ordered: Amount,
    /// The larger of what was reported (spent and ordered) and what was recorded (hours and orders placed): both tell of the
    /// same money.
    pub to_date: Amount,
    /// The larger of estimated and to date.
    pub expected: Amount,
    /// The working.
    pub basis: String,
}

/// What the job is expected to leave.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct Margin {
    /// Costs by category.
    pub by_category: Vec<CategoryCost>,
    /// Estimated cost.
    pub estimated_cost: Amount,
    /// Cost to date of all categories.
    pub cost_to_date: Amount,
    /// Expected cost.
    pub expected_cost: Amount,
    /// Contract before tax less expected cost.
    pub expected_margin: Amount,
    /// As a share of the contract before tax, in percent, one decimal; absent without a contract.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub expected_margin_pct: Option<String>,
    /// The working.
    pub basis: String,
}

fn category_cost(category: Category, components: &[Component], costs: &[LedgerCost]) -> CategoryCost {
    let lines = components.iter().flat_map(|c| c.lines.iter());
    let estimated: Amount = lines.filter(|l| l.category == category).map(|l| l.cost.0).sum();
    let of = |source: CostSource| -> Amount {
        costs.iter().filter(|c| c.category == category && c.source == source).map(|c| c.amount).sum()
    };
    let actual = of(CostSource::ReportedSpent);
    let committed = of(CostSource::ReportedOrdered);
    let recorded = of(CostSource::RecordedHours);
    let ordered = of(CostSource::PlacedOrder);
    let to_date = (actual + committed).max(recorded + ordered);
    let expected = estimated.max(to_date);
    let basis = format!(
        "to date {to_date}, the larger of {} reported ({actual} spent, {committed} ordered) and {} recorded ({recorded} \
         hours, {ordered} orders placed); expected {expected}, the larger of that and {estimated} estimated",
        actual + committed,
        recorded + ordered,
    );
    CategoryCost { category, estimated, actual, committed, recorded, ordered, to_date, expected, basis }
}

/// What the job is expected to leave: in each category the larger of what was estimated and what it has cost to date.
pub fn margin(contract: Amount, components: &[Component], costs: &[LedgerCost]) -> Margin {
    let nothing = |c: &CategoryCost| {
        [c.estimated, c.actual, c.committed, c.recorded, c.ordered].iter().all(|a| *a == Amount::ZERO)
    };
    let by_category: Vec<CategoryCost> = Category::ALL
        .iter()
        .map(|category| category_cost(*category, components, costs))
        .filter(|c| !nothing(c))
        .collect();
    let expected_cost: Amount = by_category.iter().map(|c| c.expected).sum();
    let expected_margin = contract - expected_cost;
    let share = expected_margin.decimal().checked_div(contract.decimal()).map(|s| {
        let shown = rounded(s * Decimal::ONE_HUNDRED, 1);
        format!("{shown:.1}")
    });
    Margin {
        estimated_cost: by_category.iter().map(|c| c.estimated).sum(),
        cost_to_date: by_category.iter().map(|c| c.to_date).sum(),
        expected_cost,
        expected_margin,
        expected_margin_pct: share,
        basis: format!(
            "contract {contract} before tax less {expected_cost}, in each category the larger of estimated and to date; \
             reports of the accounting system and the job's own records tell of the same money and are not added up"
        ),
        by_category,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn worked_time_is_told_so_that_its_cost_follows() {
        for (seconds, words) in [
            (23_400, "6.5 hr"),
            (36, "0.01 hr"),
            (0, "0 hr"),
            (1_200, "20 min"),
            (44_616, "12 hr 23 min 36 s"),
            (3_601, "1 hr 1 s"),
        ] {
            assert_eq!(told(Span::from_seconds(seconds)), words);
        }
    }
}
