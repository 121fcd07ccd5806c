//! What the records of a job cost: hours by trade, and purchase orders placed.

use super::actuals::JobActuals;
use crate::compute::labor::hour_with_burden;
use crate::domain::book::PriceBook;
use crate::domain::words::Category;
use crate::units::money::tax_rounding;
use crate::units::quantity::Span;
use crate::units::{Amount, Percent, Price};
use crate::wire::Code;
use crate::wire::day::Day;
use serde::Deserialize;
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
    /// The purchase taxes that its estimate counts on materials.
    pub taxes: Vec<PurchaseTax>,
}

/// A tax that the office pays on what it buys.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PurchaseTax {
    /// Its name.
    pub name: String,
    /// Rate.
    pub rate_pct: Percent,
}

/// The purchase taxes on materials that a stored estimate was priced with; the book knows what they fall on. An answer that
/// is none has none.
pub fn purchase_taxes(answer: &str, book: &PriceBook) -> Vec<PurchaseTax> {
    #[derive(Deserialize)]
    struct Stored {
        price: StoredPrice,
    }
    #[derive(Deserialize)]
    struct StoredPrice {
        #[serde(default)]
        purchase_taxes: Vec<StoredTax>,
    }
    #[derive(Deserialize)]
    struct StoredTax {
        tax: String,
    }
    let stored = serde_json::from_str::<Stored>(answer).map(|s| s.price.purchase_taxes).unwrap_or_default();
    let taxes = book.doc().taxes.iter().filter(|t| t.categories.contains(&Category::Material));
    let paid = taxes.filter(|t| stored.iter().any(|s| s.tax == t.code.as_str()));
    paid.map(|t| PurchaseTax { name: t.name.to_string(), rate_pct: t.rate_pct }).collect()
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
    /// As confirmed by the supplier, else the total of the order; before tax.
    pub cost: Amount,
    /// Whether it is as confirmed.
    pub confirmed: bool,
    /// The purchase taxes on it.
    pub taxes: Vec<(PurchaseTax, Amount)>,
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

/// Recorded hours at the wage with burden of the book, trade by trade, without overtime. A trade that the book does not have
/// is left out: see [`uncounted_hours`].
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

/// Recorded hours of trades that the book does not have, so that nothing says what they cost: another estimate was accepted
/// after they were recorded.
pub fn uncounted_hours(actuals: &JobActuals, book: &PriceBook) -> Vec<(String, Span)> {
    let unknown = |code: &str| Code::new(code).is_none_or(|code| book.trade(&code).is_none());
    seconds_by_trade(actuals)
        .into_iter()
        .filter(|(code, _)| unknown(code))
        .map(|(code, seconds)| (code.to_owned(), Span::from_seconds(seconds)))
        .collect()
}

/// Orders placed, at what the supplier confirmed or else at the total of the order.
pub fn order_costs(actuals: &JobActuals, orders: &[Placeable]) -> Vec<OrderCost> {
    let cost_of = |(number, placed): (&String, &super::actuals::Placed)| {
        let known = orders.iter().find(|o| o.number == *number);
        let cost = placed.total.or(known.map(|o| o.total)).unwrap_or(Amount::ZERO);
        let taxes = known.into_iter().flat_map(|o| &o.taxes);
        let on_it = |tax: &PurchaseTax| (tax.clone(), tax_rounding(cost.decimal() * tax.rate_pct.share()));
        OrderCost {
            number: number.clone(),
            supplier: known.map(|o| o.supplier.clone()).unwrap_or_default(),
            on: placed.on,
            cost,
            confirmed: placed.total.is_some(),
            taxes: taxes.map(on_it).collect(),
        }
    };
    actuals.orders.iter().map(cost_of).collect()
}
