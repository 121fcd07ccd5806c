//! Buying: whole packs of one supplier for every need, for the least total over the whole job.
//!
//! What is minimised is `sum of lines + delivery charges`, where a supplier's delivery is free once the goods
//! bought there reach its threshold. Of an offer the packs that a need asks for are bought, or those of a price break beyond
//! them that cost less, whichever makes the cheaper order with its delivery: nothing is bought only to reach a threshold.
//! Where packs of several offers of a supplier meet a need together for less than each by itself, the cheapest mix of them
//! stands beside the offers.
//!
//! | file | subject |
//! |---|---|
//! | [`request`] | needs, suppliers, offers, dates, limits |
//! | [`fault`] | what can be wrong with a request, and what would fix it |
//! | `packs` | packs and cost of one need from one offer: least order, price breaks |
//! | `mix` | packs of several offers of one supplier for one need |
//! | `places` | where the offers stand: at which need, at which supplier |
//! | `table`, `grid` | every need against every supplier, and the offers set aside with their reason |
//! | `search`, `pick`, `rows`, `settle` | the exact search over which suppliers are used, then over the offers; its bound |
//! | [`mod@plan`] | the answer: orders per supplier, one-stop comparison, bound |
//! | `answer` | from the choice to the orders |
//! | [`mod@verify`] | the independent checker |

mod answer;
pub mod fault;
mod grid;
mod mix;
mod packs;
mod pick;
mod places;
pub mod plan;
pub mod request;
mod rows;
mod search;
mod settle;
mod table;
#[cfg(test)]
mod tests;
pub mod verify;

pub use fault::{BuyingFault, SetAside, Why};
pub(crate) use places::Places;
pub use plan::{BuyingPlan, Line, OneStop, Order};
pub use request::{Break, Need, Offer, Request, Supplier};
pub use verify::verify;

use rust_decimal::Decimal;

/// The cheapest choice of offers for all needs.
///
/// # Errors
/// Every fault of the request at once, see [`BuyingFault`].
///
/// # Example
/// ```
/// # use rillcast::compute::buying::{self, Need, Offer, Request, Supplier};
/// # use rust_decimal::Decimal;
/// # use jiff::civil::date;
/// // 130 screws: box of 100 at 9.00 or of 50 at 5.00; one of each costs less than three of 50 or two of 100
/// let offer = |pack: i64, price: i64, id: &'static str| Offer {
///     id: id.into(), supplier: "depot".into(), item: "screw".into(), unit: "each".into(),
///     pack: Decimal::from(pack), price: Decimal::from(price), ..Offer::default()
/// };
/// let request = Request {
///     needs: vec![Need::new("screw", Decimal::from(130), "each")],
///     suppliers: vec![Supplier { id: "depot".into(), ..Supplier::default() }],
///     offers: vec![offer(100, 9, "box of 100"), offer(50, 5, "box of 50")],
///     ..Request::on(date(2026, 5, 4), date(2026, 5, 11))
/// };
/// let plan = buying::plan(&request)?;
/// assert_eq!(plan.total, Decimal::from(14));
/// assert!(plan.proven);
/// # Ok::<(), Vec<buying::BuyingFault>>(())
/// ```
pub fn plan<'a>(request: &Request<'a>) -> Result<BuyingPlan<'a>, Vec<BuyingFault>> {
    let places = Places::find(request)?;
    plan_of(request, &places)
}

/// The cheapest choice for a request from a published price book, where it is known at which need and supplier every offer
/// stands: the check of the book made sure that no name of it is given twice. A wrong place makes no wrong plan: the checker
/// goes by the names.
pub(crate) fn plan_at<'a>(
    request: &Request<'a>,
    places: &Places,
) -> Result<BuyingPlan<'a>, Vec<BuyingFault>> {
    places.figures(request)?;
    plan_of(request, places)
}

/// What the needs of a request cost at least where no delivery is charged and any number of suppliers may be used; `None` where
/// one of them cannot be bought.
pub(crate) fn least_goods(request: &Request<'_>, places: &Places) -> Option<Decimal> {
    places.figures(request).ok()?;
    Some(answer::money(request, table::Table::of(request, places).ok()?.least_goods()))
}

fn plan_of<'a>(request: &Request<'a>, places: &Places) -> Result<BuyingPlan<'a>, Vec<BuyingFault>> {
    let table = table::Table::of(request, places)?;
    let found =
        search::solve(&table, request.node_budget).ok_or_else(|| vec![table.too_few_suppliers(request)])?;
    let plan = answer::answer(request, &table, &found);
    match verify::verify(&plan, request) {
        Ok(()) => Ok(plan),
        Err(faults) => {
            Err(vec![BuyingFault::PlanRejected { first: faults.into_iter().next().unwrap_or_default() }])
        }
    }
}
