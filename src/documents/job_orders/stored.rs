//! What documents read of a stored estimate: what it buys and what that costs.

use super::StoredQuantity;
use crate::domain::words::Category;
use crate::units::Unit;
use rust_decimal::Decimal;
use serde::Deserialize;

#[derive(Debug, Deserialize)]
pub(super) struct Stored {
    pub(super) currency: String,
    pub(super) cost_lines: Vec<StoredCost>,
    pub(super) purchases: Option<StoredPlan>,
    pub(super) hires: Option<serde::de::IgnoredAny>,
    pub(super) plan: Option<StoredDates>,
}

#[derive(Debug, Deserialize)]
pub(super) struct StoredDates {
    #[serde(default)]
    pub(super) pours: Vec<StoredPour>,
}

/// A pour day, and the day of the calendar it is on.
#[derive(Debug, Deserialize)]
pub(super) struct StoredPour {
    day: i64,
    on: String,
}

impl StoredDates {
    /// The day on which the concrete of a line is placed.
    pub(super) fn poured(&self, line: &StoredCost) -> Option<&str> {
        let mut pours = self.pours.iter();
        let found = match line.pour_day() {
            Some(day) => pours.find(|p: &&StoredPour| p.day == day),
            None => pours.next(),
        };
        found.map(|p| p.on.as_str())
    }
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
    #[serde(default)]
    pub(super) basis: String,
}

#[derive(Debug, Deserialize)]
pub(super) struct StoredPlan {
    pub(super) order_on: Option<String>,
    pub(super) needed_by: Option<String>,
    pub(super) orders: Vec<StoredOrder>,
}

impl StoredCost {
    /// The pour day it is for: its working begins with it where there are several.
    pub(super) fn pour_day(&self) -> Option<i64> {
        self.basis.strip_prefix("pour day ").and_then(|rest| rest.split_once(':')?.0.parse().ok())
    }

    /// Its category; an estimate has no others.
    pub(super) fn category(&self) -> Category {
        Category::from_word(&self.category).unwrap_or(Category::Material)
    }
}

impl StoredOrderLine {
    /// Whether it is charged by the wear of a piece, as [`StoredQuantity::is_part_of_a_piece`] says of what is not offered.
    pub(super) fn is_part_of_a_piece(&self) -> bool {
        let ordered = self.pack.value.parse::<Decimal>().ok().map(|pack| pack * Decimal::from(self.packs));
        self.pack.unit == Unit::Each.word() && ordered.is_some_and(|n| n != n.trunc())
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
