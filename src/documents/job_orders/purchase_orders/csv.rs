//! Purchase orders as a table.

use super::{PurchaseOrderLine, PurchaseOrders};
use crate::documents::job_orders::{StoredQuantity, csv_of};
use crate::domain::words::Category;

/// Columns of purchase orders as CSV.
pub const COLUMNS: [&str; 18] = [
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
    "ordered",
];

type Row = [String; COLUMNS.len()];

/// Purchase orders as CSV: a row for each line and, where it is charged, one for the delivery.
pub fn csv(orders: &PurchaseOrders) -> Vec<u8> {
    let mut rows: Vec<Row> = Vec::new();
    let text = |o: &Option<String>| o.clone().unwrap_or_default();
    for order in &orders.orders {
        let row = |line: &PurchaseOrderLine| -> Row {
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
                order.ordered.to_string(),
            ]
        };
        rows.extend(order.lines.iter().map(row));
        if order.delivery != "0.00" {
            rows.push(row(&PurchaseOrderLine {
                order_code: "delivery".to_owned(),
                item: String::new(),
                description: "Delivery".to_owned(),
                category: Category::Material,
                count: "1".to_owned(),
                pack: StoredQuantity { value: "1".to_owned(), unit: "each".to_owned() },
                price: order.delivery.clone(),
                cost: order.delivery.clone(),
                additions: Vec::new(),
            }));
        }
    }
    csv_of(COLUMNS, &rows)
}
