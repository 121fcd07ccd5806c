//! What documents read of a stored estimate: what it buys and what that costs.

use super::StoredQuantity;
use crate::domain::words::Category;
use rust_decimal::Decimal;
use serde::Deserialize;

#[derive(Debug, Deserialize)]
pub(super) struct Stored {
    pub(super) currency: String,
    pub(super) cost_lines: Vec<StoredCost>,
    pub(super) purchases: Option<StoredPlan>,
    pub(super) hires: Option<serde::de::IgnoredAny>,
}

#[derive(Debug, Deserialize)]
pub(super) struct StoredCost {
    pub(super) code: String,
    pub(super) description: String,
    pub(super) category: String,
    pub(super) quantity: StoredQuantity,
    pub(super) unit_price: String,
    pub(super) cost: String,
    pub(super) rule: String,
}

#[derive(Debug, Deserialize)]
pub(super) struct StoredPlan {
    pub(super) order_on: Option<String>,
    pub(super) needed_by: Option<String>,
    pub(super) orders: Vec<StoredOrder>,
}

impl StoredCost {
    /// Its category; an estimate has no others.
    pub(super) fn category(&self) -> Category {
        Category::from_word(&self.category).unwrap_or(Category::Material)
    }
}

impl StoredPlan {
    /// How much of an item the packs leave over, in its unit.
    pub(super) fn left_over(&self, item: &str) -> Decimal {
        let lines = self.orders.iter().flat_map(|o| &o.lines).filter(|l| l.item == item);
        lines.filter_map(|l| l.over.as_ref()?.value.parse::<Decimal>().ok()).sum()
    }
}

#[derive(Debug, Deserialize)]
pub(super) struct StoredOrder {
    pub(super) supplier: String,
    pub(super) name: String,
    pub(super) contact: Option<String>,
    pub(super) lines: Vec<StoredOrderLine>,
    pub(super) delivery: String,
    pub(super) order_by: Option<String>,
}

#[derive(Debug, Deserialize)]
pub(super) struct StoredOrderLine {
    pub(super) item: String,
    pub(super) name: String,
    pub(super) order_code: String,
    pub(super) pack: StoredQuantity,
    pub(super) packs: i64,
    pub(super) price: String,
    pub(super) cost: String,
    pub(super) over: Option<StoredQuantity>,
}
