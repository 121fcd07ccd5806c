//! One purchase order of a stored estimate as it leaves for other programs.

use super::DocumentError;
use super::purchase_orders::{ANY_SUPPLIER, PurchaseOrder, PurchaseOrders};
use crate::documents::ubl::order::{OrderLine, OrderPaper, OrderSupplier};
use crate::domain::book::PriceBook;
use crate::units::{Amount, Currency, Unit};
use crate::wire::contract::Signed;
use crate::wire::contract::terms::{Seller, TaxScheme};
use crate::wire::day::Day;
use crate::wire::read_value;
use rust_decimal::Decimal;

/// Who orders, for which job, and when.
#[derive(Debug, Clone)]
pub struct Buyer {
    /// The office.
    pub office: Seller,
    /// Scheme of its tax number.
    pub tax_scheme: TaxScheme,
    /// The job.
    pub job_id: String,
    /// Date of the order.
    pub on: Day,
}

/// Why an order does not leave as a file.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum OrderFault {
    /// No order has this place.
    #[error("the estimate has {0} purchase orders, numbered from 1")]
    NoSuchOrder(usize),
    /// It is written to nobody.
    #[error(
        "nobody is named to sell {0}: give the items a supplier in the price book, and make a new revision"
    )]
    Nobody(String),
    /// What is charged by its wear is not bought for the job.
    #[error("{0}: charged by the wear of a piece that the office has, so that nothing is ordered")]
    OwnStock(String),
    /// The stored text cannot be read.
    #[error(transparent)]
    Unreadable(#[from] DocumentError),
}

fn unreadable(what: &str, text: &str) -> OrderFault {
    OrderFault::Unreadable(DocumentError::Unreadable(format!("{what} {text:?}")))
}

fn number(text: &str) -> Result<Decimal, OrderFault> {
    text.parse().map_err(|_| unreadable("a number", text))
}

fn amount(text: &str) -> Result<Amount, OrderFault> {
    read_value::<Signed>(&text.into()).map(|s| s.0).map_err(|_| unreadable("an amount", text))
}

fn day(text: &str) -> Result<Day, OrderFault> {
    Day::parse(text).ok_or_else(|| unreadable("a date", text))
}

/// What the supplier should read that has no element of its own.
fn note(order: &PurchaseOrder) -> Option<String> {
    let parts: Vec<String> = [
        order.order_by.as_ref().map(|on| format!("To be ordered by {on} at the latest.")),
        order.access.as_ref().map(|access| format!("Access: {access}")),
    ]
    .into_iter()
    .flatten()
    .collect();
    (!parts.is_empty()).then(|| parts.join(" "))
}

/// The order at `place`, from 1, as the paper its file is written from. What is known of the supplier is in the book.
///
/// # Errors
/// When there is no such order, nobody is named to sell it, or the stored text cannot be read.
pub fn order_paper(
    orders: &PurchaseOrders,
    place: usize,
    book: &PriceBook,
    buyer: Buyer,
) -> Result<OrderPaper, OrderFault> {
    let none = OrderFault::NoSuchOrder(orders.orders.len());
    let Some(order) = place.checked_sub(1).and_then(|i| orders.orders.get(i)) else { return Err(none) };
    let items = || order.lines.iter().map(|l| l.item.as_str()).collect::<Vec<_>>().join(", ");
    if order.supplier == ANY_SUPPLIER {
        return Err(OrderFault::Nobody(items()));
    }
    if !order.ordered {
        return Err(OrderFault::OwnStock(items()));
    }
    let text = |o: Option<&crate::wire::Label>| o.map(ToString::to_string);
    // Branches of one name are told apart by whom the order goes to.
    let named = book.doc().suppliers.iter().filter(|s| s.name.as_str() == order.supplier);
    let known =
        named.clone().find(|s| text(s.contact.as_ref()) == order.contact).or_else(|| named.clone().next());
    let supplier = OrderSupplier {
        name: order.supplier.clone(),
        contact: order.contact.clone().or_else(|| text(known?.contact.as_ref())),
        address: known.and_then(|s| text(s.address.as_ref())),
        country: known.and_then(|s| text(s.country.as_ref())),
        tax_number: known.and_then(|s| text(s.tax_number.as_ref())),
    };
    let mut lines = Vec::with_capacity(order.lines.len());
    for line in &order.lines {
        lines.push(OrderLine {
            order_code: (line.order_code != line.item).then(|| line.order_code.clone()),
            item: line.item.clone(),
            description: line.description.clone(),
            count: number(&line.count)?,
            pack: number(&line.pack.value)?,
            unit: Unit::from_word(&line.pack.unit).ok_or_else(|| unreadable("a unit", &line.pack.unit))?,
            price: number(&line.price)?,
            amount: amount(&line.cost)?,
        });
    }
    Ok(OrderPaper {
        number: order.number.clone(),
        issued_on: buyer.on,
        wanted_on: order.needed_by.as_deref().map(day).transpose()?,
        note: note(order),
        job_id: buyer.job_id,
        buyer: buyer.office,
        tax_scheme: buyer.tax_scheme,
        supplier,
        deliver_to: Some(order.deliver_to.clone()),
        currency: Currency::from_word(&orders.currency)
            .ok_or_else(|| unreadable("a currency", &orders.currency))?,
        lines,
        delivery: amount(&order.delivery)?,
    })
}
