//! One purchase order of a stored estimate as it leaves for other programs.

use super::DocumentError;
use super::purchase_orders::{ANY_SUPPLIER, PurchaseOrder, PurchaseOrderLine, PurchaseOrders};
use crate::documents::ubl::order::{OrderLine, OrderPaper, OrderSupplier};
use crate::domain::book::PriceBook;
use crate::units::{Amount, Currency, Unit};
use crate::wire::Code;
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
    /// What the job is called.
    pub job: String,
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
    #[error("{}", nobody(.items, .by_hand))]
    Nobody {
        /// Codes of the items that the book names no supplier for.
        items: Vec<String>,
        /// Codes of the additions that were written by hand.
        by_hand: Vec<String>,
    },
    /// What is charged by its wear is not bought for the job.
    #[error("{0}: charged by the wear of a piece that the office has, so that nothing is ordered")]
    OwnStock(String),
    /// The stored text cannot be read.
    #[error(transparent)]
    Unreadable(#[from] DocumentError),
}

/// What can be done about goods of nobody: a supplier in the book sells items alone, not what was written by hand.
fn nobody(items: &[String], by_hand: &[String]) -> String {
    let mut parts = Vec::new();
    if !items.is_empty() {
        let items = items.join(", ");
        parts.push(format!(
            "nobody is named to sell {items}: give the items a supplier in the price book, and make a new revision"
        ));
    }
    if !by_hand.is_empty() {
        let additions = by_hand.join(", ");
        parts.push(format!(
            "{additions}: written by hand as an addition, no item of the price book, so that no supplier can be named for it; \
             order it without a file and record it as placed all the same. An optional line of the notes that names what it takes \
             as `extras` is ordered from the suppliers of those items"
        ));
    }
    parts.join("; ")
}

/// Whether a line is an addition written by hand, bought as what it is called.
fn is_by_hand(line: &PurchaseOrderLine, book: &PriceBook) -> bool {
    let in_book = Code::new(&line.item).is_some_and(|code| book.item(&code).is_some());
    !in_book && line.additions.contains(&line.item)
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

/// What the supplier should read that has no element of its own. By when the office must order is its own affair.
fn note(order: &PurchaseOrder) -> Option<String> {
    order.access.as_ref().map(|access| format!("Access: {access}"))
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
    if order.supplier == ANY_SUPPLIER {
        let (by_hand, items): (Vec<_>, Vec<_>) = order.lines.iter().partition(|l| is_by_hand(l, book));
        let codes = |lines: Vec<&PurchaseOrderLine>| lines.iter().map(|l| l.item.clone()).collect();
        return Err(OrderFault::Nobody { items: codes(items), by_hand: codes(by_hand) });
    }
    if !order.ordered {
        let items: Vec<&str> = order.lines.iter().map(|l| l.item.as_str()).collect();
        return Err(OrderFault::OwnStock(items.join(", ")));
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
        job: buyer.job,
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
