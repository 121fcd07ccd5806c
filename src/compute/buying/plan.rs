//! The answer: one order per supplier, and what buying everything in one place would cost.

use super::fault::SetAside;
use rust_decimal::Decimal;
use std::borrow::Cow;

/// The cheapest way to buy everything.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BuyingPlan<'a> {
    /// One order per supplier used, in the order of the request.
    pub orders: Vec<Order<'a>>,
    /// Goods of all orders.
    pub goods: Decimal,
    /// Delivery of all orders.
    pub delivery: Decimal,
    /// Goods and delivery.
    pub total: Decimal,
    /// No choice costs less than this that meets each need at one supplier, by one of its offers or by the cheapest mix of
    /// them, and buys no more packs than the needs, least orders and price breaks ask for.
    pub lower_bound: Decimal,
    /// Total less lower bound.
    pub gap: Decimal,
    /// Whether the plan is proved to be the cheapest.
    pub proven: bool,
    /// Search nodes used.
    pub nodes: u64,
    /// Every supplier on its own, in the order of the request, where it asks for that.
    pub one_stop: Vec<OneStop<'a>>,
    /// Cheapest supplier that sells everything, and what the plan saves against it.
    pub saving_over_one_stop: Option<Decimal>,
    /// Offers that could not be used, and why.
    pub set_aside: Vec<SetAside>,
}

/// What is ordered from one supplier.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Order<'a> {
    /// The supplier.
    pub supplier: Cow<'a, str>,
    /// Its lines, in the order of the needs.
    pub lines: Vec<Line<'a>>,
    /// Sum of the lines.
    pub goods: Decimal,
    /// Delivery charge.
    pub delivery: Decimal,
    /// Goods and delivery.
    pub total: Decimal,
    /// When delivery is charged but would be free from a threshold: how much is missing to it.
    pub free_delivery_short_by: Option<Decimal>,
    /// Longest lead time among the lines, calendar days.
    pub lead_days: u32,
    /// The sum in words.
    pub basis: String,
}

/// One line of an order. Its cost is rounded once to the minor unit, half up.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line<'a> {
    /// The item.
    pub item: Cow<'a, str>,
    /// Its place among the needs of the request.
    pub need: usize,
    /// The offer taken.
    pub offer: Cow<'a, str>,
    /// Its place among the offers of the request.
    pub place: usize,
    /// How much is needed; what this line meets of it, where several offers meet it together.
    pub needed: Decimal,
    /// The unit.
    pub unit: Cow<'a, str>,
    /// Whole packs ordered.
    pub packs: u32,
    /// How much is in one pack.
    pub pack: Decimal,
    /// Price of one pack at this number of packs.
    pub price: Decimal,
    /// Packs times price, rounded.
    pub cost: Decimal,
    /// How much is left over.
    pub over: Decimal,
    /// The sum in words.
    pub basis: String,
}

/// Everything from one supplier.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OneStop<'a> {
    /// The supplier.
    pub supplier: Cow<'a, str>,
    /// Goods and delivery of what it sells.
    pub total: Decimal,
    /// What it cannot supply; empty when it sells everything.
    pub missing: Vec<Cow<'a, str>>,
}
