//! The purchase calculator.

use crate::compute::answers::BookUsed;
use crate::compute::drainage::shelf::RainShelf;
use crate::compute::purchase::{self, answer::PurchasePlan};
use crate::compute::{ENGINE, pipeline};
use crate::domain::book::{BookRef, PriceBook};
use crate::domain::lines::Check;
use crate::units::Currency;
use crate::wire::orders::PurchaseRequest;
use crate::wire::{At, Faults};
use serde::Serialize;
use utoipa::ToSchema;

/// Answer of the purchase calculator.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct PurchaseAnswer {
    /// Version of the engine.
    pub engine: &'static str,
    /// Price book used.
    pub price_book: BookUsed,
    /// ISO 4217 code of every amount.
    pub currency: Currency,
    /// Checks, failed ones first.
    pub checks: Vec<Check>,
    /// The plan; absent where the book has no offers for what the notes need.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub purchases: Option<PurchasePlan>,
}

/// The purchase plan of a request.
///
/// # Errors
/// Every fault of the request.
pub fn purchase_plan(
    request: &PurchaseRequest,
    book: &PriceBook,
    used: &BookRef,
    rains: &RainShelf,
) -> Result<PurchaseAnswer, Faults> {
    let mut faults = Faults::new();
    if request.notes.is_some() != request.needs.is_empty() {
        faults.add(&At::ROOT, "one_of", "say what is needed in exactly one way").allow(["notes", "needs"]);
        return Err(faults);
    }
    let (checks, purchases) = if let Some(notes) = &request.notes {
        let members = [
            ("suppliers", !request.suppliers.is_empty()),
            ("offers", !request.offers.is_empty()),
            ("order_on", request.order_on.is_some()),
            ("needed_by", request.needed_by.is_some()),
            ("most_suppliers", request.most_suppliers.is_some()),
        ];
        for (name, _) in members.iter().filter(|(_, sent)| *sent) {
            faults.add(
                &At::ROOT.member(name),
                "not_here",
                "with `notes` the offers are the price book's and the dates and limits stand in their `options`",
            );
        }
        if !faults.is_empty() {
            return Err(faults);
        }
        let estimate = pipeline::estimate(notes, book, used, rains).map_err(|f| f.under("notes"))?;
        let checks = estimate.checks.into_iter().filter(|c| {
            matches!(c.name, "offers_in_time" | "most_suppliers" | "purchase_plan" | "noted_figure")
        });
        (checks.collect(), estimate.purchases)
    } else {
        (Vec::new(), Some(purchase::given(request, book)?))
    };
    Ok(PurchaseAnswer {
        engine: ENGINE,
        price_book: BookUsed::from(used),
        currency: book.currency(),
        checks,
        purchases,
    })
}
