//! One purchase order for each supplier.

mod csv;
mod shapes;

pub use csv::{COLUMNS, csv};
pub use shapes::{PlacedOrder, PurchaseOrder, PurchaseOrderLine, PurchaseOrders};

use super::additions::{self, ByHand, Taken};
use super::stored::{Stored, StoredCost, StoredDates, StoredOrderLine, StoredPlan};
use super::{DocumentError, Revision, StoredQuantity};
use crate::compute::concrete::BAGS;
use crate::compute::purchase::{DELIVERY, Terms};
use crate::domain::book::PriceBook;
use crate::domain::order_number::OrderNumber;
use crate::domain::words::Category;
use crate::units::{Amount, Unit};
use crate::wire::Code;
use crate::wire::contract::facts::JobFact;
use crate::wire::notes::Site;
use jiff::civil::Date;
use rust_decimal::Decimal;
use serde::Deserialize;

/// Stands where the book names no supplier.
pub const ANY_SUPPLIER: &str = "any supplier";
/// Stands where a part of a piece is charged that the office has already.
pub const OWN_STOCK: &str = "own stock";

fn sum<'c>(costs: impl Iterator<Item = &'c str>) -> String {
    let total: Decimal = costs.filter_map(|c| c.parse::<Decimal>().ok()).sum();
    Amount::line(total).to_string()
}

#[derive(Debug, Deserialize)]
struct StoredNotes {
    options: Option<StoredDays>,
}

#[derive(Debug, Deserialize)]
struct StoredDays {
    order_on: Option<String>,
    needed_by: Option<String>,
}

/// The day by which the notes want everything to be there.
fn needed_by(notes: &str) -> Result<Option<String>, DocumentError> {
    let notes: StoredNotes =
        serde_json::from_str(notes).map_err(|e| DocumentError::Unreadable(e.to_string()))?;
    let Some(StoredDays { order_on, needed_by }) = notes.options else { return Ok(None) };
    let day = |text: Option<String>| {
        text.map(|t| t.parse::<Date>().map_err(|e| DocumentError::Unreadable(e.to_string()))).transpose()
    };
    let (order_on, needed_by) = (day(order_on)?, day(needed_by)?);
    let terms = Terms { order_on, needed_by, ..Terms::default() };
    Ok(order_on.and(terms.needed()).map(|day| day.to_string()))
}

/// The purchase orders of a stored estimate, with the material of the additions that were taken with it. The book names the
/// usual suppliers of what no offer was chosen for.
///
/// # Errors
/// When the revision is older than purchase plans, or cannot be read.
pub fn purchase_orders(
    revision: Revision<'_>,
    taken: &[Taken],
    book: &PriceBook,
) -> Result<PurchaseOrders, DocumentError> {
    let stored: Stored =
        serde_json::from_str(revision.answer).map_err(|e| DocumentError::Unreadable(e.to_string()))?;
    if stored.hires.is_none() {
        return Err(DocumentError::TooOld("purchase plans"));
    }
    // Without offers there is no plan of purchases; the days of the notes hold all the same.
    let needed_by = match &stored.purchases {
        Some(plan) => plan.needed_by.clone(),
        None => needed_by(revision.notes)?,
    };
    let JobFact { job_id: _, title, customer: _, site } = revision.job;
    let mut drawn = Drawn { orders: Vec::new(), site, needed_by, plan: stored.plan.as_ref(), book };
    drawn.bought(&stored.cost_lines, stored.purchases.as_ref(), |_| Vec::new());
    if !taken.is_empty() {
        let beside = additions::beside(taken, stored.purchases.as_ref(), book)?;
        let of = |item: &str| beside.of_item.get(item).cloned().unwrap_or_default();
        drawn.bought(&beside.cost_lines, beside.purchases.as_ref(), of);
        for line in &beside.by_hand {
            drawn.by_hand(line);
        }
    }
    let mut orders: Vec<PurchaseOrder> = drawn.orders.into_iter().map(|(_, order)| order).collect();
    // What is not ordered stands behind what is.
    orders.sort_by_key(|order| !order.ordered);
    for (i, order) in orders.iter_mut().enumerate() {
        order.number = OrderNumber { estimate: revision.id, place: i + 1 }.to_string();
        order.goods = sum(order.lines.iter().map(|l| l.cost.as_str()));
        order.total = sum([order.goods.as_str(), order.delivery.as_str()].into_iter());
    }
    let of = |ordered: bool| sum(orders.iter().filter(|o| o.ordered == ordered).map(|o| o.total.as_str()));
    Ok(PurchaseOrders {
        estimate_id: revision.id.to_owned(),
        revision: revision.number,
        title: title.to_string(),
        currency: stored.currency,
        to_order: of(true),
        own_stock: of(false),
        total: sum(orders.iter().map(|o| o.total.as_str())),
        orders,
        placed: Vec::new(),
    })
}

/// Orders as they are drawn. Places once taken stay: what is bought later goes into the orders that are there, or behind them.
struct Drawn<'d> {
    /// Each with the code of its supplier, where it comes of a purchase plan.
    orders: Vec<(Option<String>, PurchaseOrder)>,
    site: &'d Site,
    needed_by: Option<String>,
    plan: Option<&'d StoredDates>,
    book: &'d PriceBook,
}

impl Drawn<'_> {
    /// The order that this holds of, a new one where there is none.
    fn order(
        &mut self,
        supplier: &str,
        needed_by: Option<String>,
        is_it: impl Fn(Option<&str>, &PurchaseOrder) -> bool,
    ) -> Option<&mut (Option<String>, PurchaseOrder)> {
        let is_this = |(code, order): &(Option<String>, PurchaseOrder)| {
            order.needed_by == needed_by && is_it(code.as_deref(), order)
        };
        let found = self.orders.iter().position(is_this);
        let at = found.unwrap_or(self.orders.len());
        if found.is_none() {
            let new = PurchaseOrder {
                number: String::new(),
                supplier: supplier.to_owned(),
                ordered: supplier != OWN_STOCK,
                contact: None,
                deliver_to: self.site.address.to_string(),
                access: self.site.access.as_ref().map(ToString::to_string),
                needed_by,
                order_by: None,
                lines: Vec::new(),
                goods: String::new(),
                delivery: "0.00".to_owned(),
                total: String::new(),
            };
            self.orders.push((None, new));
        }
        self.orders.get_mut(at)
    }

    /// What is bought by offers, then what is bought at the price of the book.
    fn bought(
        &mut self,
        costs: &[StoredCost],
        plan: Option<&StoredPlan>,
        additions_of: impl Fn(&str) -> Vec<String>,
    ) {
        let planned = plan.map_or(&[] as &[_], |p| &p.orders);
        for from in planned {
            let same = |code: Option<&str>, o: &PurchaseOrder| match code {
                Some(code) => code == from.supplier,
                None => o.supplier == from.name,
            };
            let goods_by = self.needed_by.clone();
            let Some((code, order)) = self.order(&from.name, goods_by, same) else { continue };
            *code = Some(from.supplier.clone());
            order.contact = order.contact.take().or_else(|| from.contact.clone());
            order.order_by = [order.order_by.take(), from.order_by.clone()].into_iter().flatten().min();
            order.delivery = sum([order.delivery.as_str(), from.delivery.as_str()].into_iter());
            let drawn = |line: &StoredOrderLine| {
                let cost = costs.iter().find(|c| c.code == line.item && c.rule != DELIVERY);
                let category = cost.map_or(Category::Material, |c| c.category());
                planned_line(line, category, additions_of(&line.item))
            };
            let (worn, ordered): (Vec<_>, Vec<_>) = from.lines.iter().partition(|l| l.is_part_of_a_piece());
            order.lines.extend(ordered.into_iter().map(drawn));
            let worn: Vec<PurchaseOrderLine> = worn.into_iter().map(drawn).collect();
            if !worn.is_empty() {
                self.own_stock(worn);
            }
        }
        let is_planned = |code: &str| planned.iter().flat_map(|o| &o.lines).any(|l| l.item == code);
        let mut concrete_from = None;
        for line in costs.iter().filter(|l| l.category() == Category::Material && l.rule != DELIVERY) {
            let of_concrete = line.rule.starts_with("concrete.");
            // The concrete of the pours is ordered by its way, whether or not an offer sells more of the same item.
            if is_planned(&line.code) && !of_concrete {
                continue;
            }
            let item = Code::new(&line.code).and_then(|c| self.book.item(&c).cloned());
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
            // Concrete comes on the day it is placed; bags lie there like other goods.
            let comes_mixed = of_concrete && line.rule != BAGS;
            let poured = self.plan.filter(|_| comes_mixed).and_then(|plan| plan.poured(line));
            let by = poured.map(ToOwned::to_owned).or_else(|| self.needed_by.clone());
            // Without a plan that dates them the pour days are in one order: each line says which it comes on.
            let undated = line.pour_day().filter(|_| comes_mixed && poured.is_none());
            let on = undated.map_or(String::new(), |day| format!(", pour day {day}"));
            if let Some((_, order)) = self.order(&supplier, by, |_, o| o.supplier == supplier) {
                order.lines.push(PurchaseOrderLine {
                    order_code: line.code.clone(),
                    item: line.code.clone(),
                    description: format!("{}{on}", line.description),
                    category: line.category(),
                    count: line.quantity.value.clone(),
                    pack: StoredQuantity { value: "1".to_owned(), unit: line.quantity.unit.clone() },
                    price: line.unit_price.clone(),
                    cost: line.cost.clone(),
                    additions: additions_of(&line.code),
                });
            }
        }
    }

    /// What is charged by its wear is not ordered, whoever offers it.
    fn own_stock(&mut self, lines: Vec<PurchaseOrderLine>) {
        let by = self.needed_by.clone();
        if let Some((_, order)) = self.order(OWN_STOCK, by, |_, o| o.supplier == OWN_STOCK) {
            order.lines.extend(lines);
        }
    }

    /// Material that no item of the book stands for: who sells it is not known.
    fn by_hand(&mut self, line: &ByHand) {
        let by = self.needed_by.clone();
        if let Some((_, order)) = self.order(ANY_SUPPLIER, by, |_, o| o.supplier == ANY_SUPPLIER) {
            order.lines.push(PurchaseOrderLine {
                order_code: line.code.clone(),
                item: line.code.clone(),
                description: line.description.clone(),
                category: Category::Material,
                count: line.count.to_string(),
                pack: StoredQuantity { value: "1".to_owned(), unit: Unit::Each.word().to_owned() },
                price: line.cost.to_string(),
                cost: line.cost.to_string(),
                additions: vec![line.addition.clone()],
            });
        }
    }
}

fn planned_line(line: &StoredOrderLine, category: Category, additions: Vec<String>) -> PurchaseOrderLine {
    PurchaseOrderLine {
        order_code: line.order_code.clone(),
        item: line.item.clone(),
        description: line.name.clone(),
        category,
        count: line.packs.to_string(),
        pack: line.pack.clone(),
        price: line.price.clone(),
        cost: line.cost.clone(),
        additions,
    }
}
