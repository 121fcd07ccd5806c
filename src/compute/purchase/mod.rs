//! Stage: what is bought from whom, over the whole job, by the offers of the book.
//!
//! Needs that somebody offers go into the purchase plan; everything else is bought at the item's own price. The lines of
//! both become the cost of the estimate.
//!
//! | file | subject |
//! |---|---|
//! | [`answer`] | the purchase plan as data |
//! | `asked` | the request for the needs of an estimate, or for needs given outright |
//! | `given` | a purchase plan for needs given outright |
//! | `beside` | what is bought beside a purchase that stands |

pub mod answer;
mod asked;
mod beside;
mod given;

use super::buying::{self, BuyingFault, BuyingPlan};
use super::needs::{Gathered, Needs};
use super::takeoff::check;
use crate::domain::book::{Listed, PriceBook, price_of_pack};
use crate::domain::layout::Layout;
use crate::domain::lines::{Check, CostLine, Outcome};
use crate::domain::usual;
use crate::domain::words::Category;
use crate::units::show::worded;
use crate::units::{Amount, Price, Quantity, Unit};
use crate::wire::Code;
use crate::wire::book::Item;
use crate::wire::book::supply::{Supplier, SupplierOffer};
use answer::PurchasePlan;
use asked::{Asked, Wanted};
pub(crate) use beside::{Beside, beside};
pub(crate) use given::given;
use jiff::ToSpan;
use jiff::civil::Date;
use rust_decimal::Decimal;
use rustc_hash::FxHashSet;
use smallvec::SmallVec;

/// Rule of the lines for what a supplier asks for bringing.
pub(crate) const DELIVERY: &str = "buying.delivery";
/// Search steps of a purchase plan.
pub(crate) const MOST_NODES: u64 = 400_000;

/// Dates and limits of a purchase.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Terms {
    /// The day the orders go out; without it neither validity nor lead time is checked.
    pub order_on: Option<Date>,
    /// The day everything must be there.
    pub needed_by: Option<Date>,
    /// Most suppliers.
    pub most_suppliers: Option<u32>,
    /// Whether only what is bought is asked for, not the plan with every supplier on its own beside it.
    pub lines_only: bool,
}

impl Terms {
    /// Those of a layout.
    pub fn of(layout: &Layout<'_>) -> Self {
        Self {
            order_on: layout.order_on,
            needed_by: layout.needed_by,
            most_suppliers: layout.most_suppliers.and_then(|n| u32::try_from(n).ok()),
            lines_only: false,
        }
    }

    /// The same where only what is bought is asked for.
    #[must_use]
    pub(super) fn lines_only(self) -> Self {
        Self { lines_only: true, ..self }
    }

    /// The day everything must be there.
    pub fn needed(&self) -> Option<Date> {
        self.needed_by.or_else(|| self.order_on.and_then(|d| d.checked_add(usual::ORDER_DAYS.days()).ok()))
    }
}

/// Who sells, on which offers, and what the items are called.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Market<'b> {
    pub(crate) suppliers: &'b [Supplier],
    pub(crate) offers: &'b [SupplierOffer],
    pub(crate) book: &'b PriceBook,
}

impl<'b> Market<'b> {
    /// That of a price book.
    pub(crate) fn of(book: &'b PriceBook) -> Self {
        Self { suppliers: &book.doc().suppliers, offers: &book.doc().offers, book }
    }

    /// Price of one pack: the offer's, else the item's own times the pack.
    pub(crate) fn price(&self, o: &SupplierOffer) -> Decimal {
        price_of_pack(o, || self.book.item(&o.item).map_or(Decimal::ZERO, |i| i.price.decimal()))
    }

    /// The unit an item is needed in.
    pub(crate) fn unit(&self, item: &Code) -> Option<Unit> {
        self.book.item(item).map(|i| i.unit)
    }
}

/// What is bought: cost lines, and the plan where the book has offers.
#[derive(Debug, Clone)]
pub struct Bought<'n> {
    /// Cost lines of everything bought.
    pub lines: Vec<CostLine>,
    /// What is bought by plan; `None` where nobody offers anything that is needed.
    planned: Option<Planned<'n>>,
}

#[derive(Debug, Clone)]
struct Planned<'n> {
    wanted: Vec<Wanted<'n>>,
    asked: Asked<'n>,
    plan: BuyingPlan<'n>,
}

impl Bought<'_> {
    /// The cost lines, with the purchase plan written down.
    pub fn with_plan(self, book: &PriceBook, terms: Terms) -> (Vec<CostLine>, Option<PurchasePlan>) {
        let written = |Planned { wanted, asked, plan }| {
            let at_book_prices = wanted.iter().map(Wanted::cost).sum();
            answer::write(plan, &asked, Market::of(book), terms, Some(at_book_prices))
        };
        (self.lines, self.planned.map(written))
    }
}

/// Buys the needs.
pub fn buy<'n>(needs: Needs<'n>, book: &'n PriceBook, terms: Terms, checks: &mut Vec<Check>) -> Bought<'n> {
    buy_from(needs, Market::of(book), terms, checks)
}

/// What needs cost by themselves, delivery left aside: each from whoever sells it for least.
pub(crate) fn goods(needs: &Needs<'_>, book: &PriceBook, terms: Terms) -> Decimal {
    let least = |(place, need): (usize, &Gathered<'_>)| {
        let wanted = Wanted::of(place, need, book.listed(need.code)?);
        let offered = Asked::of_offers(&wanted, Market::of(book), terms).least_goods();
        Some(offered.map_or_else(|| wanted.cost(), Amount::line).decimal())
    };
    needs.gathered().enumerate().filter_map(least).sum()
}

/// Buys the needs from those who sell on a market.
fn buy_from<'n>(needs: Needs<'n>, market: Market<'n>, terms: Terms, checks: &mut Vec<Check>) -> Bought<'n> {
    let book = market.book;
    let mut listed: Vec<(Gathered<'n>, Listed<'n>)> = Vec::with_capacity(needs.gathered().len());
    listed.extend(needs.into_gathered().filter_map(|need| {
        let known = book.listed(need.code)?;
        Some((need, known))
    }));
    let offered =
        listed.iter().enumerate().filter(|(_, (need, known))| known.is_offered && !need.units.is_zero());
    let mut wanted = Vec::with_capacity(offered.clone().count());
    wanted.extend(offered.map(|(place, (need, known))| Wanted::of(place, need, *known)));
    let found = solve(&mut wanted, market, terms, checks);
    let Some((asked, plan)) = found else {
        return Bought {
            lines: listed.into_iter().map(|(need, known)| need.line(known.item)).collect(),
            planned: None,
        };
    };
    // mostly one line for a need, several where packs of several offers meet it together
    let mut planned: Vec<SmallVec<[_; 1]>> = vec![SmallVec::new(); wanted.len()];
    for (order, line) in plan.orders.iter().flat_map(|o| o.lines.iter().map(move |l| (o, l))) {
        if let Some(lines) = planned.get_mut(line.need) {
            lines.push((order, line));
        }
    }
    let mut lines = Vec::with_capacity(listed.len() + plan.orders.len());
    // what is wanted stands in the order of the needs
    let mut planned = wanted.iter().zip(planned).peekable();
    for (place, (need, Listed { item, .. })) in listed.into_iter().enumerate() {
        let next = planned.next_if(|(wanted, _)| wanted.place == place);
        match next.map(|(_, planned)| planned).filter(|planned| !planned.is_empty()) {
            Some(planned) => lines.extend(planned.into_iter().map(|(order, line)| {
                let by_unit = asked.offers.get(line.place).is_some_and(|o| o.pack.is_none());
                cost_line(&need, order, line, item, by_unit)
            })),
            None => lines.push(need.line(item)),
        }
    }
    drop(planned);
    lines.extend(plan.orders.iter().filter(|o| !o.delivery.is_zero()).map(|o| delivery_line(o, book)));
    Bought { lines, planned: Some(Planned { wanted, asked, plan }) }
}

/// Finds the plan. Needs that no offer can serve go back to the book's price, each with a check that says why.
fn solve<'n>(
    wanted: &mut Vec<Wanted<'n>>,
    market: Market<'n>,
    terms: Terms,
    checks: &mut Vec<Check>,
) -> Option<(Asked<'n>, BuyingPlan<'n>)> {
    let mut terms_used = terms;
    for _ in 0..3 {
        if wanted.is_empty() {
            return None;
        }
        let asked = Asked::of_book(wanted, market, terms_used);
        let faults = match asked.plan() {
            Ok(plan) => {
                if terms.order_on.is_none() && market.offers.iter().any(|o| o.valid_until.is_some()) {
                    checks.push(check(
                        "offers_in_time",
                        "purchase",
                        Outcome::Warn,
                        "the notes name no `order_on`: neither the validity nor the lead time of the offers is checked"
                            .to_owned(),
                    ));
                }
                return Some((asked, plan));
            }
            Err(faults) => faults,
        };
        let mut given_up: FxHashSet<String> = FxHashSet::default();
        for fault in faults {
            match &fault {
                BuyingFault::NobodySells { item } | BuyingFault::NoUsableOffer { item, .. } => {
                    let reason = format!("{fault}; the item's own price is taken");
                    checks.push(check("offers_in_time", item.clone(), Outcome::Warn, reason));
                    given_up.insert(item.clone());
                }
                BuyingFault::TooFewSuppliers { .. } => {
                    let reason = format!("{fault}; planned without the limit");
                    checks.push(check("most_suppliers", "purchase", Outcome::Fail, reason));
                    terms_used.most_suppliers = None;
                }
                _ => {
                    checks.push(check("purchase_plan", "purchase", Outcome::Fail, fault.to_string()));
                    return None;
                }
            }
        }
        wanted.retain(|w| !given_up.contains(w.code.as_str()));
    }
    None
}

/// One line of an order as cost: packs at the price of a pack, units at the price of one where the offer names no pack.
fn cost_line(
    need: &Gathered<'_>,
    order: &buying::Order<'_>,
    line: &buying::Line<'_>,
    item: &Item,
    by_unit: bool,
) -> CostLine {
    let by_unit = by_unit && line.pack != Decimal::ONE;
    let single = by_unit || line.pack == Decimal::ONE;
    let unit = if single { item.unit } else { Unit::Each };
    let packs = Decimal::from(line.packs);
    let of_unit = if by_unit { line.price.checked_div(line.pack) } else { None };
    let (quantity, price) = match of_unit {
        Some(price) => (line.needed + line.over, price),
        None => (packs, line.price),
    };
    let description = if single {
        item.name.as_str().to_owned()
    } else {
        worded!("{}, pack of {} {}", item.name, line.pack.normalize(), item.unit)
    };
    CostLine {
        code: item.code.as_str().to_owned(),
        description,
        category: item.category,
        quantity: Quantity::decimal(quantity, unit, 6),
        unit_price: Price::rounded(price),
        cost: Amount::line(line.cost),
        rule: need.rule,
        basis: [&need.basis, "; ", &line.basis, " from ", &order.supplier, ": ", &line.offer].concat(),
    }
}

fn delivery_line(order: &buying::Order<'_>, book: &PriceBook) -> CostLine {
    let name = book.doc().suppliers.iter().find(|s| s.code.as_str() == order.supplier);
    CostLine {
        code: order.supplier.to_string(),
        description: format!("Delivery, {}", name.map_or(order.supplier.as_ref(), |s| s.name.as_str())),
        category: Category::Material,
        quantity: Quantity::pieces(1),
        unit_price: Price::rounded(order.delivery),
        cost: Amount::line(order.delivery),
        rule: DELIVERY,
        basis: order.basis.clone(),
    }
}
