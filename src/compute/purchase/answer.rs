//! The purchase plan as data: one order per supplier, what one-stop buying would cost, how good the plan is.

use super::asked::Asked;
use super::{Market, Terms};
use crate::compute::buying::{BuyingPlan, Line};
use crate::units::show::{counted, worded};
use crate::units::{Amount, Price, Quantity, Unit};
use jiff::ToSpan;
use rust_decimal::Decimal;
use serde::{Serialize, Serializer};
use std::borrow::Cow;
use utoipa::ToSchema;

/// One line of a purchase order.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct OrderLine {
    /// Item code of the office.
    pub item: String,
    /// What it is.
    pub name: String,
    /// The supplier's order code.
    pub order_code: String,
    /// How much is needed; what this line meets of it, where packs of several offers meet it together.
    pub needed: Quantity,
    /// How much is in a pack.
    pub pack: Quantity,
    /// Whole packs ordered.
    pub packs: i64,
    /// Price of one pack at this number of packs.
    pub price: Price,
    /// Packs times price, rounded once.
    pub cost: Amount,
    /// What is left over.
    pub over: Quantity,
    /// The sum in words.
    pub basis: String,
}

/// What is ordered from one supplier.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct SupplierOrder {
    /// Code of the supplier.
    pub supplier: String,
    /// Its name.
    pub name: String,
    /// Where the order goes.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub contact: Option<String>,
    /// Its lines, in the order of the needs.
    pub lines: Vec<OrderLine>,
    /// Sum of the lines.
    pub goods: Amount,
    /// Delivery charge.
    pub delivery: Amount,
    /// Goods and delivery.
    pub total: Amount,
    /// Where delivery is charged but would be free from a threshold: how much is missing to it.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub free_delivery_short_by: Option<Amount>,
    /// Longest lead time of its lines, calendar days.
    pub lead_days: i64,
    /// Last day to order so that everything is there in time and no offer of it has lapsed; absent where no day is named.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false, format = Date)]
    pub order_by: Option<String>,
    /// The sum in words.
    pub basis: String,
}

/// Everything from one supplier.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct OneStopOut {
    /// Code of the supplier.
    pub supplier: String,
    /// Goods and delivery of what it sells.
    pub total: Amount,
    /// What it cannot supply, by item code; empty when it sells everything.
    #[schema(value_type = Vec<String>)]
    pub missing: Codes,
}

/// Item codes in one text: suppliers by themselves lack dozens of items.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Codes(String);

impl Codes {
    /// Stands behind each code; none has it in it.
    const END: char = ' ';

    fn of(codes: &[Cow<'_, str>]) -> Self {
        let mut text = String::with_capacity(codes.iter().map(|code| code.len() + 1).sum());
        for code in codes {
            text.push_str(code);
            text.push(Self::END);
        }
        Self(text)
    }
}

impl Serialize for Codes {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        s.collect_seq(self.0.split_terminator(Self::END))
    }
}

/// An offer that could not be used.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct SetAsideOut {
    /// Item code.
    pub item: String,
    /// The offer.
    pub offer: String,
    /// Why, and what would mend it.
    pub why: String,
}

/// The cheapest way to buy what is offered.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct PurchasePlan {
    /// The day the orders go out, when named.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false, format = Date)]
    pub order_on: Option<String>,
    /// The day everything must be there, when named.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false, format = Date)]
    pub needed_by: Option<String>,
    /// One order per supplier used.
    pub orders: Vec<SupplierOrder>,
    /// Goods of all orders.
    pub goods: Amount,
    /// Delivery of all orders.
    pub delivery: Amount,
    /// Goods and delivery.
    pub total: Amount,
    /// No choice of offers costs less than this that buys each item at one supplier, by one of its offers or by the cheapest mix
    /// of packs of them. No more packs are bought than a need, a least order or a price break asks for:
    /// `free_delivery_short_by` says where more of them would be brought free.
    pub lower_bound: Amount,
    /// Total less lower bound.
    pub gap: Amount,
    /// Whether the plan is proved to be the cheapest of those that `lower_bound` holds for.
    pub proven: bool,
    /// Search steps taken.
    pub nodes: u64,
    /// Every supplier on its own.
    pub one_stop: Vec<OneStopOut>,
    /// What the plan saves against the cheapest supplier that sells everything; absent when none does.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub saving_over_one_stop: Option<Amount>,
    /// The same needs at the items' own prices, no delivery counted; absent for needs given outright.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub at_book_prices: Option<Amount>,
    /// Offers that could not be used.
    pub set_aside: Vec<SetAsideOut>,
    /// The sum in words.
    pub basis: String,
}

/// The plan written down.
pub(super) fn write(
    plan: BuyingPlan<'_>,
    asked: &Asked<'_>,
    market: Market<'_>,
    terms: Terms,
    at_book_prices: Option<Amount>,
) -> PurchasePlan {
    let orders: Vec<SupplierOrder> = plan
        .orders
        .into_iter()
        .map(|order| {
            let supplier = market.suppliers.iter().find(|s| s.code.as_str() == order.supplier);
            // Lead times count even where no day is named: they are part of what was offered.
            let offers = || order.lines.iter().filter_map(|l| asked.offers.get(l.place));
            let lead_days = offers().map(|o| o.lead_days.map_or(0, |d| d.get())).max().unwrap_or(0);
            let in_time =
                terms.order_on.and(terms.needed()).and_then(|d| d.checked_sub(lead_days.days()).ok());
            let lapses = offers().filter_map(|o| o.valid_until).map(|d| d.date()).min();
            let order_by = in_time.map(|day| lapses.map_or(day, |last| last.min(day)));
            SupplierOrder {
                supplier: order.supplier.into_owned(),
                name: supplier.map_or("", |s| s.name.as_str()).to_owned(),
                contact: supplier.and_then(|s| s.contact.as_ref()).map(|c| c.as_str().to_owned()),
                lines: order.lines.into_iter().map(|l| line(l, asked)).collect(),
                goods: Amount::line(order.goods),
                delivery: Amount::line(order.delivery),
                total: Amount::line(order.total),
                free_delivery_short_by: order.free_delivery_short_by.map(Amount::line),
                lead_days,
                order_by: order_by.map(|d| d.to_string()),
                basis: order.basis,
            }
        })
        .collect();
    let sums: Vec<String> = orders.iter().map(|o| worded!("{} {}", o.name, o.total)).collect();
    PurchasePlan {
        order_on: terms.order_on.map(|d| d.to_string()),
        needed_by: terms.order_on.and(terms.needed()).map(|d| d.to_string()),
        goods: Amount::line(plan.goods),
        delivery: Amount::line(plan.delivery),
        total: Amount::line(plan.total),
        lower_bound: Amount::line(plan.lower_bound),
        gap: Amount::line(plan.gap),
        proven: plan.proven,
        nodes: plan.nodes,
        one_stop: plan
            .one_stop
            .into_iter()
            .map(|s| OneStopOut {
                supplier: s.supplier.into_owned(),
                total: Amount::line(s.total),
                missing: Codes::of(&s.missing),
            })
            .collect(),
        saving_over_one_stop: plan.saving_over_one_stop.map(Amount::line),
        at_book_prices,
        set_aside: plan
            .set_aside
            .into_iter()
            .map(|s| SetAsideOut {
                offer: format!("{}: {}", s.supplier, s.offer),
                why: s.why.to_string(),
                item: s.item,
            })
            .collect(),
        basis: worded!(
            "{} = {} for {} out of {}",
            sums.join(" + "),
            Amount::line(plan.total),
            counted(asked.request.needs.len(), "need"),
            counted(asked.offers.len(), "offer")
        ),
        orders,
    }
}

fn line(line: Line<'_>, asked: &Asked<'_>) -> OrderLine {
    let item = asked.items.get(line.need).copied().flatten();
    let offer = asked.offers.get(line.place);
    let unit = Unit::from_word(&line.unit).unwrap_or(Unit::Each);
    let quantity = |d: Decimal| Quantity::decimal(d, unit, 6);
    OrderLine {
        name: item.map_or(line.item.as_ref(), |i| i.name.as_str()).to_owned(),
        item: line.item.into_owned(),
        order_code: offer.map_or("", |o| o.order_code.as_str()).to_owned(),
        needed: quantity(line.needed),
        pack: quantity(line.pack),
        packs: i64::from(line.packs),
        price: Price::rounded(line.price),
        cost: Amount::line(line.cost),
        over: quantity(line.over),
        basis: line.basis,
    }
}
