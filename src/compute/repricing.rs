//! What another price book does to an estimate: figures before and after, and line by line.

use crate::domain::book::difference::Change;
use crate::domain::words::Category;
use crate::units::{Amount, Unit};
use serde::Serialize;
use serde_json::Value;
use utoipa::ToSchema;

/// The figures of an estimate that are compared.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, ToSchema)]
pub struct Figures {
    /// Direct cost.
    pub direct_cost: Amount,
    /// Price before tax.
    pub price_before_tax: Amount,
    /// Tax on the sale.
    pub tax: Amount,
    /// Price with tax.
    pub total: Amount,
}

impl Figures {
    /// These figures less others.
    #[must_use]
    pub fn less(self, other: Figures) -> Figures {
        Figures {
            direct_cost: self.direct_cost - other.direct_cost,
            price_before_tax: self.price_before_tax - other.price_before_tax,
            tax: self.tax - other.tax,
            total: self.total - other.total,
        }
    }
}

/// A quantity as an estimate shows it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct ShownQuantity {
    /// The number.
    #[schema(example = "6")]
    pub value: String,
    /// The unit.
    pub unit: Unit,
}

/// One line of an estimate, as it is compared.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PricedLine {
    /// Code.
    pub code: String,
    /// Description.
    pub description: String,
    /// Category; `None` for a tax on purchases.
    pub category: Option<Category>,
    /// Quantity; `None` for a tax.
    pub quantity: Option<ShownQuantity>,
    /// Price of one unit as text; `None` for a tax.
    pub unit_price: Option<String>,
    /// Cost.
    pub cost: Amount,
    rule: String,
}

/// An estimate, as it is compared.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Priced {
    /// Its figures.
    pub figures: Figures,
    /// Its cost lines and, after them, its taxes on purchases: they sum to the direct cost.
    pub lines: Vec<PricedLine>,
}

/// A line that differs.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct LineDifference {
    /// Item, trade, machine or tax code.
    pub code: String,
    /// What it is.
    pub description: String,
    /// Category of the build-up; absent for a tax on purchases.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub category: Option<Category>,
    /// Whether the line is new, gone or changed.
    pub change: Change,
    /// Quantity before.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub quantity_before: Option<ShownQuantity>,
    /// Quantity after.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub quantity_after: Option<ShownQuantity>,
    /// Price of one unit before.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false, example = "27.40")]
    pub unit_price_before: Option<String>,
    /// Price of one unit after.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false, example = "28.50")]
    pub unit_price_after: Option<String>,
    /// Cost before; nothing when the line is new.
    pub cost_before: Amount,
    /// Cost after; nothing when the line is gone.
    pub cost_after: Amount,
    /// After less before.
    pub difference: Amount,
}

/// What differs between two estimates of the same work.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct EstimateDifference {
    /// Figures before.
    pub before: Figures,
    /// Figures after.
    pub after: Figures,
    /// After less before.
    pub difference: Figures,
    /// Lines that differ; their differences sum to that of the direct cost.
    pub lines: Vec<LineDifference>,
}

fn amount(value: &Value) -> Option<Amount> {
    let text = value.as_str()?;
    let (sign, digits) = text.strip_prefix('-').map_or((1, text), |rest| (-1, rest));
    Some(Amount::from_minor(
        sign * crate::units::decimal_text::plain_decimal(digits, crate::units::money::MINOR_DIGITS)?,
    ))
}

impl Priced {
    /// Reads the estimate of an answer, stored or just made. `None` when it has not the shape of one.
    pub fn read(estimate: &Value) -> Option<Priced> {
        let summary = estimate.get("summary")?;
        let figures = Figures {
            direct_cost: amount(summary.get("direct_cost")?)?,
            price_before_tax: amount(summary.get("price_before_tax")?)?,
            tax: amount(summary.get("tax")?)?,
            total: amount(summary.get("total")?)?,
        };
        let mut lines = Vec::new();
        let text = |value: &Value, name: &str| value.get(name).and_then(Value::as_str).map(ToOwned::to_owned);
        for line in estimate.get("cost_lines")?.as_array()? {
            let quantity = line.get("quantity")?;
            lines.push(PricedLine {
                code: text(line, "code")?,
                description: text(line, "description")?,
                category: Some(Category::from_word(line.get("category")?.as_str()?)?),
                quantity: Some(ShownQuantity {
                    value: text(quantity, "value")?,
                    unit: Unit::from_word(quantity.get("unit")?.as_str()?)?,
                }),
                unit_price: Some(text(line, "unit_price")?),
                cost: amount(line.get("cost")?)?,
                rule: text(line, "rule")?,
            });
        }
        for tax in estimate.get("price")?.get("purchase_taxes")?.as_array()? {
            lines.push(PricedLine {
                code: text(tax, "tax")?,
                description: text(tax, "name")?,
                category: None,
                quantity: None,
                unit_price: None,
                cost: amount(tax.get("amount")?)?,
                rule: "tax".to_owned(),
            });
        }
        Some(Priced { figures, lines })
    }
}

/// Compares two estimates. Lines are matched by category, code, rule and unit, those that are alike in their order.
pub fn difference(before: &Priced, after: &Priced) -> EstimateDifference {
    let mut left: Vec<Option<&PricedLine>> = before.lines.iter().map(Some).collect();
    let mut lines = Vec::new();
    let alike = |a: &PricedLine, b: &PricedLine| {
        let unit = |l: &PricedLine| l.quantity.as_ref().map(|q| q.unit);
        a.category == b.category && a.code == b.code && a.rule == b.rule && unit(a) == unit(b)
    };
    for new in &after.lines {
        let place = left.iter().position(|old| old.is_some_and(|old| alike(old, new)));
        let old = place.and_then(|i| left.get_mut(i)).and_then(Option::take);
        lines.extend(line_difference(old, Some(new)));
    }
    for old in left.into_iter().flatten() {
        lines.extend(line_difference(Some(old), None));
    }
    EstimateDifference {
        before: before.figures,
        after: after.figures,
        difference: after.figures.less(before.figures),
        lines,
    }
}

fn line_difference(old: Option<&PricedLine>, new: Option<&PricedLine>) -> Option<LineDifference> {
    let shown = new.or(old)?;
    if old.is_some_and(|o| {
        new.is_some_and(|n| o.quantity == n.quantity && o.unit_price == n.unit_price && o.cost == n.cost)
    }) {
        return None;
    }
    let cost = |line: Option<&PricedLine>| line.map_or(Amount::ZERO, |l| l.cost);
    Some(LineDifference {
        code: shown.code.clone(),
        description: shown.description.clone(),
        category: shown.category,
        change: match (old, new) {
            (None, _) => Change::Added,
            (_, None) => Change::Removed,
            _ => Change::Changed,
        },
        quantity_before: old.and_then(|l| l.quantity.clone()),
        quantity_after: new.and_then(|l| l.quantity.clone()),
        unit_price_before: old.and_then(|l| l.unit_price.clone()),
        unit_price_after: new.and_then(|l| l.unit_price.clone()),
        cost_before: cost(old),
        cost_after: cost(new),
        difference: cost(new) - cost(old),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn priced(lines: &[(u8, i64)]) -> Priced {
        let lines: Vec<PricedLine> = lines
            .iter()
            .map(|(code, minor)| PricedLine {
                code: code.to_string(),
                description: "x".to_owned(),
                category: Some(Category::Material),
                quantity: Some(ShownQuantity { value: "1".to_owned(), unit: Unit::Each }),
                unit_price: Some(Amount::from_minor(*minor).to_string()),
                cost: Amount::from_minor(*minor),
                rule: "extra".to_owned(),
            })
            .collect();
        let direct_cost = lines.iter().map(|l| l.cost).sum();
        Priced { figures: Figures { direct_cost, ..Figures::default() }, lines }
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn line_differences_sum_to_that_of_the_direct_cost(
            before in prop::collection::vec((0_u8..6, 0_i64..100_000), 0..12),
            after in prop::collection::vec((0_u8..6, 0_i64..100_000), 0..12),
        ) {
            let there = difference(&priced(&before), &priced(&after));
            let sum: Amount = there.lines.iter().map(|l| l.difference).sum();
            prop_assert_eq!(sum, there.difference.direct_cost);
            let back = difference(&priced(&after), &priced(&before));
            prop_assert_eq!(back.difference.direct_cost, -there.difference.direct_cost);
            prop_assert!(difference(&priced(&before), &priced(&before)).lines.is_empty());
        }
    }
}
