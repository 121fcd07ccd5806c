//! One purchase order for each supplier.

use super::{DocumentError, Revision, StoredQuantity, csv_of};
use crate::compute::purchase::DELIVERY;
use crate::domain::book::PriceBook;
use crate::units::{Amount, Price, Quantity};
use crate::wire::Code;
use crate::wire::contract::facts::JobFact;
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
    /// Where it is delivered to: the site of the job.
    pub deliver_to: String,
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
    pub title: String,
    /// ISO 4217 code of every amount.
    pub currency: String,
    /// One for each supplier: first those whose offers were chosen, then the usual suppliers of what is bought at the price
    /// of the book; what a supplier of both sells is one order, its delivery as the purchase plan charges it. What the book
    /// names no supplier for stands under `any supplier`; what is charged by its wear, a part of a piece, under `own stock`:
    /// nothing of it is ordered.
    pub orders: Vec<PurchaseOrder>,
    /// Total of all orders: the materials of the estimate.
    #[schema(value_type = Amount)]
    pub total: String,
}

/// Stands where the book names no supplier.
pub const ANY_SUPPLIER: &str = "any supplier";
/// Stands where a part of a piece is charged that the office has already.
pub const OWN_STOCK: &str = "own stock";

#[derive(Debug, Deserialize)]
struct Stored {
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
    delivery: String,
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
    let JobFact { job_id: _, title, customer: _, site } = revision.job;
    let blank = |supplier: String| PurchaseOrder {
        number: String::new(),
        supplier,
        contact: None,
        deliver_to: site.address.to_string(),
        access: site.access.as_ref().map(ToString::to_string),
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
            delivery: order.delivery.clone(),
            ..blank(order.name.clone())
        });
    }
    let is_planned = |code: &str| planned.iter().flat_map(|o| &o.lines).any(|l| l.item == code);
    let mut concrete_from = None;
    for line in stored.cost_lines.iter().filter(|l| l.category == "material" && l.rule != DELIVERY) {
        let of_concrete = line.rule.starts_with("concrete.");
        // The concrete of the pours is ordered by its way, whether or not an offer sells more of the same item.
        if is_planned(&line.code) && !of_concrete {
            continue;
        }
        let item = Code::new(&line.code).and_then(|c| book.item(&c).cloned());
        let named = item.as_ref().and_then(|i| i.supplier.as_ref()).map(ToString::to_string);
        // Charges of a concrete order go with the concrete itself.
        let supplier = if of_concrete {
            concrete_from = named.clone().or(concrete_from);
            named.or(concrete_from.clone())
        } else {
            named
        };
        let supplier = if line.quantity.is_part_of_a_piece() {
            OWN_STOCK.to_owned()
        } else {
            supplier.unwrap_or_else(|| ANY_SUPPLIER.to_owned())
        };
        let at = orders.iter().position(|o| o.supplier == supplier).unwrap_or(orders.len());
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
    // What is not ordered stands behind what is.
    orders.sort_by_key(|order| order.supplier == OWN_STOCK);
    for (i, order) in orders.iter_mut().enumerate() {
        order.number = format!("{}-{}", revision.id, i + 1);
        order.goods = sum(order.lines.iter().map(|l| l.cost.as_str()));
        order.total = sum([order.goods.as_str(), order.delivery.as_str()].into_iter());
    }
    Ok(PurchaseOrders {
        estimate_id: revision.id.to_owned(),
        revision: revision.number,
        title: title.to_string(),
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
                order.deliver_to.clone(),
                text(&order.access),
                orders.title.clone(),
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
