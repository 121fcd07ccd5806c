//! What the records of a job cost: hours by trade, and purchase orders placed.

use super::actuals::JobActuals;
use crate::compute::labor::hour_with_burden;
use crate::domain::book::PriceBook;
use crate::units::quantity::Span;
use crate::units::{Amount, Price};
use crate::wire::Code;
use crate::wire::day::Day;
use std::collections::BTreeMap;

/// A purchase order of an estimate, as far as a record of placing it needs it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Placeable {
    /// Its number.
    pub number: String,
    /// Name of the supplier.
    pub supplier: String,
    /// Goods and delivery, before tax.
    pub total: Amount,
}

/// Recorded hours of a trade at the rates of the book.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TradeCost {
    /// Trade code.
    pub trade: Code,
    /// Its name in the book.
    pub name: String,
    /// Hours of its people.
    pub worked: Span,
    /// Wage with burden.
    pub hour: Price,
    /// Hours times wage with burden.
    pub cost: Amount,
}

/// A purchase order that was placed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OrderCost {
    /// Its number.
    pub number: String,
    /// Name of the supplier; empty where no estimate has the order any more.
    pub supplier: String,
    /// The day it was placed.
    pub on: Day,
    /// As confirmed by the supplier, else the total of the order.
    pub cost: Amount,
    /// Whether it is as confirmed.
    pub confirmed: bool,
}

/// Seconds of people by trade.
pub fn seconds_by_trade(actuals: &JobActuals) -> BTreeMap<&str, i64> {
    let mut by_trade = BTreeMap::<&str, i64>::new();
    for ((_, trade), seconds) in &actuals.hours {
        let sum = by_trade.entry(trade).or_default();
        *sum = sum.saturating_add(*seconds);
    }
    by_trade
}

/// Recorded hours at the wage with burden of the book, trade by trade, without overtime. A trade the book does not have
/// costs nothing here: records of it are refused.
pub fn trade_costs(actuals: &JobActuals, book: &PriceBook) -> Vec<TradeCost> {
    let cost_of = |(code, seconds): (&str, i64)| {
        let trade = book.trade(&Code::new(code)?)?;
        let (worked, hour) = (Span::from_seconds(seconds), hour_with_burden(trade));
        Some(TradeCost {
            trade: trade.code.clone(),
            name: trade.name.to_string(),
            worked,
            hour,
            cost: hour.times(worked.hours()),
        })
    };
    seconds_by_trade(actuals).into_iter().filter_map(cost_of).collect()
}

/// Orders placed, at what the supplier confirmed or else at the total of the order.
pub fn order_costs(actuals: &JobActuals, orders: &[Placeable]) -> Vec<OrderCost> {
    let cost_of = |(number, placed): (&String, &super::actuals::Placed)| {
        let known = orders.iter().find(|o| o.number == *number);
        OrderCost {
            number: number.clone(),
            supplier: known.map(|o| o.supplier.clone()).unwrap_or_default(),
            on: placed.on,
            cost: placed.total.or(known.map(|o| o.total)).unwrap_or(Amount::ZERO),
            confirmed: placed.total.is_some(),
        }
    };
    actuals.orders.iter().map(cost_of).collect()
}
