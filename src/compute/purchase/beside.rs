//! What is bought beside a purchase that stands: for additions taken after the estimate was made.

use super::answer::PurchasePlan;
use super::{Market, Terms, buy_from};
use crate::compute::needs::{Need, Needs};
use crate::domain::book::PriceBook;
use crate::domain::lines::CostLine;
use crate::wire::Code;
use rust_decimal::Decimal;

/// What is bought beside the rest.
#[derive(Debug, Clone)]
pub(crate) struct Beside {
    /// Cost lines of everything bought.
    pub(crate) lines: Vec<CostLine>,
    /// What of it is bought by offers; `None` where nobody offers any of it.
    pub(crate) plan: Option<PurchasePlan>,
}

/// Buys so many units of items of the book. Suppliers that bring something already ask for no second delivery.
pub(crate) fn beside<'c>(
    wanted: impl Iterator<Item = (&'c Code, Decimal)>,
    book: &PriceBook,
    terms: Terms,
    comes_already: impl Fn(&Code) -> bool,
) -> Beside {
    let mut needs = Needs::default();
    for (item, units) in wanted {
        needs.add(book, item, Need::Units(units), "extra", "addition taken");
    }
    let mut suppliers = book.doc().suppliers.to_vec();
    for supplier in suppliers.iter_mut().filter(|s| comes_already(&s.code)) {
        supplier.delivery = None;
    }
    // The checks are those of an estimate: what no offer serves is bought at the price of the book here as well.
    let market = Market { suppliers: &suppliers, ..Market::of(book) };
    let (lines, plan) = buy_from(needs, market, terms, &mut Vec::new()).with_plan(book, terms);
    Beside { lines, plan }
}
