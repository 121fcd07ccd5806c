//! Purchase orders as data.

use crate::compute::contract::sums::ByCategory;
use crate::documents::job_orders::StoredQuantity;
use crate::domain::words::Category;
use crate::units::{Amount, Currency, Price, Quantity};
use crate::wire::day::Day;
use serde::Serialize;
use utoipa::ToSchema;

/// One line of a purchase order.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct PurchaseOrderLine {
    /// The supplier's order code; the item code where the supplier's is not known.
    pub order_code: String,
    /// Item code of the office.
    pub item: String,
    /// What it is.
    pub description: String,
    /// Category of its cost.
    pub category: Category,
    /// How many packs, or of the unit.
    pub count: String,
    /// What one of them is.
    #[schema(value_type = Quantity)]
    pub pack: StoredQuantity,
    /// Price of one.
    #[schema(value_type = Price)]
    pub price: String,
    /// Cost of the line.
    #[schema(value_type = Amount)]
    pub cost: String,
    /// Codes of the additions it is ordered for; absent for what the estimate itself takes.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub additions: Vec<String>,
}

/// What is ordered from one supplier.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct PurchaseOrder {
    /// Number of the order: id of the estimate and place in the list.
    #[schema(example = "est_01m897fr4pvf9w8v46dhgd8fsk-1")]
    pub number: String,
    /// Name of the supplier.
    pub supplier: String,
    /// Whether any of it is ordered. Nothing is of `own stock`, which is charged by its wear: it cannot be recorded as placed and
    /// leaves as no file.
    pub ordered: bool,
    /// Where the order goes; absent where the book does not say.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub contact: Option<String>,
    /// Where it is delivered to: the site of the job.
    pub deliver_to: String,
    /// Gates, parking and the like.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub access: Option<String>,
    /// The day everything must be there; for concrete that comes mixed the day on which the plan of the estimate places it.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false, format = Date)]
    pub needed_by: Option<String>,
    /// Last day to order by the lead times offered.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false, format = Date)]
    pub order_by: Option<String>,
    /// Lines.
    pub lines: Vec<PurchaseOrderLine>,
    /// Sum of the lines.
    #[schema(value_type = Amount)]
    pub goods: String,
    /// Delivery charge.
    #[schema(value_type = Amount)]
    pub delivery: String,
    /// Goods and delivery, before tax.
    #[schema(value_type = Amount)]
    pub total: String,
}

impl PurchaseOrder {
    /// Goods by category, the delivery with the materials as in the estimate; only categories that it holds something of.
    pub fn by_category(&self) -> Vec<(Category, Amount)> {
        let amount = |text: &str| text.parse().map_or(Amount::ZERO, Amount::line);
        let mut sums = ByCategory::collect(self.lines.iter().map(|l| (l.category, amount(&l.cost))));
        sums.add(Category::Material, amount(&self.delivery));
        let held = |c: &Category| sums.of(*c) != Amount::ZERO;
        Category::ALL.iter().copied().filter(held).map(|c| (c, sums.of(c))).collect()
    }
}

/// A purchase order of the job that was recorded as placed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct PlacedOrder {
    /// Its number: id of the estimate and place in its list.
    #[schema(example = "est_01m897fr4pvf9w8v46dhgd8fsk-1")]
    pub number: String,
    /// Name of the supplier; absent where no estimate has the order any more.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub supplier: Option<String>,
    /// The day it was placed.
    pub on: Day,
    /// Before tax: as confirmed by the supplier, else what the order came to when it was recorded.
    pub total: Amount,
    /// Whether the supplier confirmed it.
    pub confirmed: bool,
}

/// Every purchase order of an estimate.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct PurchaseOrders {
    /// The estimate.
    pub estimate_id: String,
    /// Its revision.
    pub revision: i64,
    /// What the job is called.
    pub title: String,
    /// ISO 4217 code of every amount.
    #[schema(value_type = Currency)]
    pub currency: String,
    /// One for each supplier: first those whose offers were chosen, then the usual suppliers of what is bought at the price
    /// of the book; what a supplier of both sells is one order, its delivery as the purchase plan charges it. Concrete that comes
    /// mixed is ordered by the day on which it is placed; where no plan dates several pour days, each line names its own. What the book
    /// names no supplier for stands under `any supplier`; what is charged by its wear, a part of a piece, under `own stock`:
    /// nothing of it is ordered.
    pub orders: Vec<PurchaseOrder>,
    /// What has been recorded as placed for the job, from this estimate or another. Each estimate buys the whole job: after a change
    /// order only what is missing beside these is placed.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub placed: Vec<PlacedOrder>,
    /// What is to be ordered: the orders that are `ordered`, whoever they go to, whether placed yet or not.
    #[schema(value_type = Amount)]
    pub to_order: String,
    /// What is charged by its wear and comes from the office's own stock: nothing of it is ordered.
    #[schema(value_type = Amount)]
    pub own_stock: String,
    /// `to_order` and `own_stock` together, before tax: the material that the estimate and the additions taken with it charge.
    #[schema(value_type = Amount)]
    pub total: String,
}
