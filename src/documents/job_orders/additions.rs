//! Material of the additions that the customer took on top: it is in no estimate, and ordered with that of the estimate.

use super::DocumentError;
use super::stored::{StoredCost, StoredPlan};
use crate::compute::contract::fold::Contract;
use crate::compute::purchase::{self, Terms};
use crate::domain::book::PriceBook;
use crate::domain::words::Category;
use crate::units::Amount;
use crate::wire::Code;
use crate::wire::day::Day;
use crate::wire::notes::{Extra, SiteNotes};
use rust_decimal::Decimal;
use serde::Deserialize;
use std::collections::BTreeMap;

/// An addition that was taken, as far as its material is ordered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Taken {
    /// Its code.
    pub code: Code,
    /// What it is.
    pub name: String,
    /// Its category.
    pub category: Category,
    /// What it is expected to cost.
    pub cost: Amount,
    /// What it takes by items of a price book; nothing where it was written by hand.
    pub extras: Vec<Extra>,
}

/// The additions of a contract, and the estimates beside which they are in it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Additions {
    beside: Vec<String>,
    taken: Vec<Taken>,
}

impl Additions {
    /// Those that were taken. The optional lines are those of the notes of the estimate that was quoted, whichever was taken.
    pub fn of(contract: &Contract, quoted: &SiteNotes) -> Self {
        let optional = quoted.pricing.iter().flat_map(|p| p.optional.iter());
        let extras_of = |code: &Code| {
            optional.clone().find(|o| o.code == *code).map_or_else(Vec::new, |o| o.extras.to_vec())
        };
        let taken = contract.taken().filter_map(|(code, part)| {
            let line = part.lines.first()?;
            let extras = extras_of(&code);
            Some(Taken {
                name: part.name.to_string(),
                category: line.category,
                cost: line.cost.0,
                extras,
                code,
            })
        });
        Self { taken: taken.collect(), beside: contract.estimates().map(ToString::to_string).collect() }
    }

    /// Those that go with the orders of an estimate: none where the contract never stood on it.
    pub fn taken_with(&self, estimate: &str) -> &[Taken] {
        if self.beside.iter().any(|id| id == estimate) { &self.taken } else { &[] }
    }
}

/// Material that the book has no item of, bought as what it is called.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct ByHand {
    pub(super) code: String,
    pub(super) description: String,
    pub(super) count: Decimal,
    pub(super) cost: Amount,
    pub(super) addition: String,
}

/// What is bought for additions, in the shape of a stored estimate.
#[derive(Debug, Default, Deserialize)]
pub(super) struct Beside {
    pub(super) cost_lines: Vec<StoredCost>,
    pub(super) purchases: Option<StoredPlan>,
    #[serde(skip)]
    pub(super) by_hand: Vec<ByHand>,
    /// Codes of the additions that an item is for.
    #[serde(skip)]
    pub(super) of_item: BTreeMap<String, Vec<String>>,
}

/// What is bought for additions beside the purchase that stands in an estimate. What its packs leave over serves first.
///
/// # Errors
/// When the stored text cannot be read.
pub(super) fn beside(
    taken: &[Taken],
    stored: Option<&StoredPlan>,
    book: &PriceBook,
) -> Result<Beside, DocumentError> {
    let mut by_hand = Vec::new();
    let mut of_item: BTreeMap<String, Vec<String>> = BTreeMap::new();
    let mut wanted: Vec<(&Code, Decimal)> = Vec::new();
    for addition in taken {
        let hand = |code: &Code, description: String, count: Decimal, cost: Amount| ByHand {
            code: code.to_string(),
            description,
            count,
            cost,
            addition: addition.code.to_string(),
        };
        if addition.extras.is_empty() && addition.category == Category::Material {
            by_hand.push(hand(&addition.code, addition.name.clone(), Decimal::ONE, addition.cost));
        }
        for extra in &addition.extras {
            let units = extra.quantity.number();
            if book.item(&extra.item).is_none() {
                let description = format!("{}: {}", addition.name, extra.item);
                by_hand.push(hand(&extra.item, description, units, Amount::ZERO));
                continue;
            }
            match wanted.iter_mut().find(|(item, _)| **item == extra.item) {
                Some((_, sum)) => *sum += units,
                None => wanted.push((&extra.item, units)),
            }
            let codes = of_item.entry(extra.item.to_string()).or_default();
            if !codes.iter().any(|c| c == addition.code.as_str()) {
                codes.push(addition.code.to_string());
            }
        }
    }
    let left = |item: &Code| stored.map_or(Decimal::ZERO, |plan| plan.left_over(item.as_str()));
    let wanted = wanted
        .into_iter()
        .map(|(item, units)| (item, units - left(item)))
        .filter(|(_, units)| *units > Decimal::ZERO);
    let day = |text: Option<&String>| text.and_then(|t| Day::parse(t)).map(|d| d.date());
    let terms = Terms {
        order_on: day(stored.and_then(|p| p.order_on.as_ref())),
        needed_by: day(stored.and_then(|p| p.needed_by.as_ref())),
        most_suppliers: None,
        lines_only: false,
    };
    let comes_already =
        |code: &Code| stored.is_some_and(|p| p.orders.iter().any(|o| o.supplier == code.as_str()));
    let purchase::Beside { lines, plan } = purchase::beside(wanted, book, terms, comes_already);
    // One shape for what was stored and what is bought beside it.
    let bought = serde_json::json!({"cost_lines": lines, "purchases": plan});
    let bought: Beside =
        serde_json::from_value(bought).map_err(|e| DocumentError::Unreadable(e.to_string()))?;
    Ok(Beside { by_hand, of_item, ..bought })
}
