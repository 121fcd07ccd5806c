//! One purchase order for each supplier.

use super::{DocumentError, Revision, StoredJob, StoredQuantity, csv_of};
use crate::compute::purchase::DELIVERY;
use crate::domain::book::PriceBook;
use crate::units::{Amount, Price, Quantity};
use crate::wire::Code;
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
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
}

/// What is ordered from one supplier.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct PurchaseOrder {
    /// Number of the order: id of the estimate and place in the list.
    #[schema(example = "est_01m897fr4pvf9w8v46dhgd8fsk-1")]
    pub number: String,
    /// Name of the supplier.
    pub supplier: String,
    /// Where the order goes; absent where the book does not say.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub contact: Option<String>,
    /// Where it is delivered to.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub deliver_to: Option<String>,
    /// Gates, parking and the like.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub access: Option<String>,
    /// The day everything must be there.
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
    /// The total.
    pub fn amount(&self) -> Amount {
        self.total.parse().map_or(Amount::ZERO, Amount::line)
    }
}

/// Every purchase order of an estimate.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct PurchaseOrders {
    /// The estimate.
    pub estimate_id: String,
    /// Its revision.
    pub revision: i64,
    /// What the job is called.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub title: Option<String>,
    /// ISO 4217 code of every amount.
    pub currency: String,
    /// One for each supplier: first those whose offers were chosen, then the usual suppliers of what is bought at the price
    /// of the book. What the book names no supplier for stands under `any supplier`.
    pub orders: Vec<PurchaseOrder>,
    /// Total of all orders: the materials of the estimate.
    #[schema(value_type = Amount)]
    pub total: String,
}

/// Stands where the book names no supplier.
pub const ANY_SUPPLIER: &str = "any supplier";

#[derive(Debug, Deserialize)]
struct Stored {
    #[serde(flatten)]
    job: StoredJob,
    currency: String,
    cost_lines: Vec<StoredCost>,
    purchases: Option<StoredPlan>,
    hires: Option<serde::de::IgnoredAny>,
}

#[derive(Debug, Deserialize)]
struct StoredCost {
    code: String,
    description: String,
    category: String,
    quantity: StoredQuantity,
    unit_price: String,
    cost: String,
    rule: String,
}

#[derive(Debug, Deserialize)]
struct StoredPlan {
    needed_by: Option<String>,
    orders: Vec<StoredOrder>,
}

#[derive(Debug, Deserialize)]
struct StoredOrder {
    name: String,
    contact: Option<String>,
    lines: Vec<StoredOrderLine>,
    goods: String,
    delivery: String,
    total: String,
    order_by: Option<String>,
}

#[derive(Debug, Deserialize)]
struct StoredOrderLine {
    item: String,
    name: String,
    order_code: String,
    pack: StoredQuantity,
    packs: i64,
    price: String,
    cost: String,
}

fn sum<'c>(costs: impl Iterator<Item = &'c str>) -> String {
    let total: Decimal = costs.filter_map(|c| c.parse::<Decimal>().ok()).sum();
    Amount::line(total).to_string()
}

/// The purchase orders of a stored estimate. The book names the usual suppliers of what no offer was chosen for.
///
/// # Errors
/// When the revision is older than purchase plans, or cannot be read.
pub fn purchase_orders(revision: Revision<'_>, book: &PriceBook) -> Result<PurchaseOrders, DocumentError> {
    let stored: Stored =
        serde_json::from_str(revision.answer).map_err(|e| DocumentError::Unreadable(e.to_string()))?;
    if stored.hires.is_none() {
        return Err(DocumentError::TooOld("purchase plans"));
    }
    let needed_by = stored.purchases.as_ref().and_then(|p| p.needed_by.clone());
    let mut orders: Vec<PurchaseOrder> = Vec::new();
    let site = stored.job.site.as_ref();
    let blank = |supplier: String| PurchaseOrder {
        number: String::new(),
        supplier,
        contact: None,
        deliver_to: site.map(|s| s.address.clone()),
        access: site.and_then(|s| s.access.clone()),
        needed_by: needed_by.clone(),
        order_by: None,
        lines: Vec::new(),
        goods: String::new(),
        delivery: "0.00".to_owned(),
        total: String::new(),
    };
    let planned = stored.purchases.map(|p| p.orders).unwrap_or_default();
    for order in &planned {
        orders.push(PurchaseOrder {
            contact: order.contact.clone(),
            order_by: order.order_by.clone(),
            lines: order.lines.iter().map(planned_line).collect(),
            goods: order.goods.clone(),
            delivery: order.delivery.clone(),
            total: order.total.clone(),
            ..blank(order.name.clone())
        });
    }
    let first_other = orders.len();
    let is_planned = |code: &str| planned.iter().flat_map(|o| &o.lines).any(|l| l.item == code);
    let mut concrete_from = None;
    for line in stored.cost_lines.iter().filter(|l| l.category == "material" && l.rule != DELIVERY) {
        if is_planned(&line.code) {
            continue;
        }
        let item = Code::new(&line.code).and_then(|c| book.item(&c).cloned());
        let named = item.as_ref().and_then(|i| i.supplier.as_ref()).map(ToString::to_string);
        // Charges of a concrete order go with the concrete itself.
        let supplier = if line.rule.starts_with("concrete.") {
            concrete_from = named.clone().or(concrete_from);
            named.or(concrete_from.clone())
        } else {
            named
        };
        let supplier = supplier.unwrap_or_else(|| ANY_SUPPLIER.to_owned());
        let at = orders.iter().skip(first_other).position(|o| o.supplier == supplier);
        let at = at.map_or(orders.len(), |i| i + first_other);
        if at == orders.len() {
            orders.push(blank(supplier));
        }
        if let Some(order) = orders.get_mut(at) {
            order.lines.push(PurchaseOrderLine {
                order_code: line.code.clone(),
                item: line.code.clone(),
                description: line.description.clone(),
                count: line.quantity.value.clone(),
                pack: StoredQuantity { value: "1".to_owned(), unit: line.quantity.unit.clone() },
                price: line.unit_price.clone(),
                cost: line.cost.clone(),
            });
        }
    }
    for (i, order) in orders.iter_mut().enumerate() {
        order.number = format!("{}-{}", revision.id, i + 1);
        if order.total.is_empty() {
            order.goods = sum(order.lines.iter().map(|l| l.cost.as_str()));
            order.total.clone_from(&order.goods);
        }
    }
    Ok(PurchaseOrders {
        estimate_id: revision.id.to_owned(),
        revision: revision.number,
        title: stored.job.title,
        currency: stored.currency,
        total: sum(orders.iter().map(|o| o.total.as_str())),
        orders,
    })
}

fn planned_line(line: &StoredOrderLine) -> PurchaseOrderLine {
    PurchaseOrderLine {
        order_code: line.order_code.clone(),
        item: line.item.clone(),
        description: line.name.clone(),
        count: line.packs.to_string(),
        pack: line.pack.clone(),
        price: line.price.clone(),
        cost: line.cost.clone(),
    }
}

/// Columns of purchase orders as CSV.
pub const COLUMNS: [&str; 17] = [
    "order",
    "supplier",
    "contact",
    "order_code",
    "item",
    "description",
    "count",
    "pack",
    "pack_unit",
    "price",
    "cost",
    "currency",
    "order_by",
    "needed_by",
    "deliver_to",
    "access",
    "job",
];

/// Purchase orders as CSV: a row for each line and, where it is charged, one for the delivery.
pub fn csv(orders: &PurchaseOrders) -> Vec<u8> {
    let mut rows: Vec<[String; 17]> = Vec::new();
    let text = |o: &Option<String>| o.clone().unwrap_or_default();
    for order in &orders.orders {
        let row = |line: &PurchaseOrderLine| -> [String; 17] {
            [
                order.number.clone(),
                order.supplier.clone(),
                text(&order.contact),
                line.order_code.clone(),
                line.item.clone(),
                line.description.clone(),
                line.count.clone(),
                line.pack.value.clone(),
                line.pack.unit.clone(),
                line.price.clone(),
                line.cost.clone(),
                orders.currency.clone(),
                text(&order.order_by),
                text(&order.needed_by),
                text(&order.deliver_to),
                text(&order.access),
                text(&orders.title),
            ]
        };
        rows.extend(order.lines.iter().map(row));
        if order.delivery != "0.00" {
            rows.push(row(&PurchaseOrderLine {
                order_code: "delivery".to_owned(),
                item: String::new(),
                description: "Delivery".to_owned(),
                count: "1".to_owned(),
                pack: StoredQuantity { value: "1".to_owned(), unit: "each".to_owned() },
                price: order.delivery.clone(),
                cost: order.delivery.clone(),
            }));
        }
    }
    csv_of(COLUMNS, &rows)
}
