//! What the records of a job cost: hours by trade, and purchase orders placed.

use super::actuals::JobActuals;
use crate::compute::labor::hour_with_burden;
use crate::domain::book::PriceBook;
use crate::domain::order_number::OrderNumber;
use crate::domain::words::Category;
use crate::units::money::{share_out, tax_rounding};
use crate::units::quantity::Span;
use crate::units::{Amount, Percent, Price};
use crate::wire::Code;
use crate::wire::day::Day;
use rust_decimal::Decimal;
use serde::Deserialize;
use std::cmp::Ordering;
use std::collections::{BTreeMap, BTreeSet};

/// A purchase order of an estimate, as far as a record of placing it needs it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Placeable {
    /// Its number.
    pub number: String,
    /// Name of the supplier.
    pub supplier: String,
    /// ISO 4217 code of its amounts.
    pub currency: String,
    /// Goods and delivery by category, before tax.
    pub by_category: Vec<(Category, Amount)>,
    /// Codes of the items it holds.
    pub items: BTreeSet<String>,
    /// The purchase taxes that its estimate counts.
    pub taxes: Vec<PurchaseTax>,
}

impl Placeable {
    /// Goods and delivery, before tax.
    pub fn total(&self) -> Amount {
        self.by_category.iter().map(|(_, amount)| *amount).sum()
    }
}

/// A tax that the office pays on what it buys.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PurchaseTax {
    /// Its name.
    pub name: String,
    /// Rate.
    pub rate_pct: Percent,
    /// What it falls on.
    pub categories: Vec<Category>,
}

/// The purchase taxes that a stored estimate was priced with; the book knows what they fall on. An answer that is none has
/// none.
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
    let paid = book.doc().taxes.iter().filter(|t| stored.iter().any(|s| s.tax == t.code.as_str()));
    paid.map(|t| PurchaseTax {
        name: t.name.to_string(),
        rate_pct: t.rate_pct,
        categories: t.categories.to_vec(),
    })
    .collect()
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
    /// As confirmed by the supplier, else what the order came to when it was recorded; before tax.
    pub cost: Amount,
    /// Whether it is as confirmed.
    pub confirmed: bool,
    /// What the order came to when it was recorded and what it comes to now, where that is more: the rest is not ordered yet.
    pub grown: Option<(Amount, Amount)>,
    /// Codes of the items it holds; none where no estimate has the order any more.
    pub items: BTreeSet<String>,
    /// The cost by category; the parts foot.
    pub parts: Vec<OrderPart>,
}

impl OrderCost {
    fn estimate(&self) -> Option<&str> {
        OrderNumber::estimate_of(&self.number)
    }

    /// Whether what both hold is counted twice: they are of two estimates, and nobody said what the later one costs. What is
    /// confirmed for it is taken for what it adds; of two of one day either may be the later.
    fn counts_again(&self, other: &Self) -> bool {
        let said = match self.on.cmp(&other.on) {
            Ordering::Less => other.confirmed,
            Ordering::Greater => self.confirmed,
            Ordering::Equal => self.confirmed || other.confirmed,
        };
        self.estimate() != other.estimate() && !said
    }
}

/// Orders of several estimates that stand as placed, and the items that more than one of them holds.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct OrderedAgain<'o> {
    /// The orders: number and supplier.
    pub orders: BTreeMap<&'o str, &'o str>,
    /// Codes of the items.
    pub items: BTreeSet<&'o str>,
}

/// What a purchase order holds of a category.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OrderPart {
    /// The category.
    pub category: Category,
    /// Its part of the cost, before tax.
    pub cost: Amount,
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
    let of_trade = |(code, seconds): (&str, i64)| {
        let trade = book.trade(&Code::new(code)?)?;
        let (worked, hour) = (Span::from_seconds(seconds), hour_with_burden(trade));
        Some(TradeCost {
            trade: trade.code.clone(),
            name: trade.name.to_string(),
            worked,
            hour,
            cost: cost_of(hour, worked),
        })
    };
    seconds_by_trade(actuals).into_iter().filter_map(of_trade).collect()
}

/// What worked time costs, as one rounded line. Multiplied first and divided then: a third of an hour has no end in decimals, and
/// half a cent cut short would go down.
fn cost_of(hour: Price, worked: Span) -> Amount {
    let seconds = Decimal::from(worked.seconds());
    let cost = hour.decimal().checked_mul(seconds).map(|cost| cost / Decimal::from(SECONDS_PER_HOUR));
    Amount::line(cost.unwrap_or(Decimal::MAX))
}

const SECONDS_PER_HOUR: i64 = 3600;

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

/// Items that orders of more than one estimate hold, whoever they go to. Every estimate buys the whole job, so what two of them list is
/// counted twice.
pub fn of_several_estimates(placed: &[OrderCost]) -> OrderedAgain<'_> {
    let mut again = OrderedAgain::default();
    for (i, order) in placed.iter().enumerate() {
        for other in placed.iter().skip(i + 1).filter(|other| order.counts_again(other)) {
            let common: Vec<&str> = order.items.intersection(&other.items).map(String::as_str).collect();
            if !common.is_empty() {
                again.orders.extend([order, other].map(|o| (o.number.as_str(), o.supplier.as_str())));
                again.items.extend(common);
            }
        }
    }
    again
}

/// Orders placed, at what the supplier confirmed or else at what the order came to when it was recorded; where a record of old does
/// not tell, at the total it has now. What is confirmed is confirmed as a whole: it is shared over the categories as the order had
/// them, by largest remainder.
pub fn order_costs(actuals: &JobActuals, orders: &[Placeable]) -> Vec<OrderCost> {
    let cost_of = |(number, placed): (&String, &super::actuals::Placed)| {
        let known = orders.iter().find(|o| o.number == *number);
        let lists = [Some(placed.held.as_slice()), known.map(|o| o.by_category.as_slice())];
        let held = lists.into_iter().flatten().find(|held| !held.is_empty());
        let held = held.unwrap_or(&[(Category::Material, Amount::ZERO)]);
        let then: Amount = held.iter().map(|(_, amount)| *amount).sum();
        let cost = placed.total.unwrap_or(then);
        let weights: Vec<i64> = held.iter().map(|(_, amount)| amount.minor()).collect();
        let part = |(category, cost): (Category, Amount)| {
            let taxes = known.into_iter().flat_map(|o| &o.taxes).filter(|t| t.categories.contains(&category));
            let on_it =
                |tax: &PurchaseTax| (tax.clone(), tax_rounding(cost.decimal() * tax.rate_pct.share()));
            OrderPart { category, cost, taxes: taxes.map(on_it).collect() }
        };
        let categories = held.iter().map(|(category, _)| *category);
        OrderCost {
            number: number.clone(),
            supplier: known.map(|o| o.supplier.clone()).unwrap_or_default(),
            on: placed.on,
            cost,
            confirmed: placed.total.is_some(),
            grown: known.map(|o| (then, o.total())).filter(|(then, now)| now > then),
            items: known.map(|o| o.items.clone()).unwrap_or_default(),
            parts: categories.zip(share_out(cost, &weights)).map(part).collect(),
        }
    };
    actuals.orders.iter().map(cost_of).collect()
}

#[cfg(test)]
mod tests {
    #![expect(clippy::unwrap_used, reason = "a test that cannot read its records must stop")]
    use super::super::actuals::Placed;
    use super::*;

    /// What an order costs that comes to 80.00 now.
    fn cost(total: Option<i64>, held: &[i64]) -> OrderCost {
        let sums = |list: &[i64]| list.iter().map(|m| (Category::Material, Amount::from_minor(*m))).collect();
        let placed = Placed {
            on: Day::parse("2026-03-03").unwrap(),
            total: total.map(Amount::from_minor),
            held: sums(held),
        };
        let order = Placeable {
            number: "est_1-1".to_owned(),
            supplier: "Millbrook".to_owned(),
            currency: "USD".to_owned(),
            by_category: sums(&[8_000]),
            items: BTreeSet::new(),
            taxes: Vec::new(),
        };
        let orders = BTreeMap::from([(order.number.clone(), placed)]);
        order_costs(&JobActuals { orders, ..JobActuals::default() }, &[order]).remove(0)
    }

    #[test]
    fn half_a_cent_of_worked_time_goes_up() {
        // 20 min at 50.025 are 16.675; 12 hr 23 min 36 s are 619.97649, and 1 s is 0.0139.
        for (seconds, cents) in [(1_200, 1_668), (44_616, 61_998), (1, 1), (0, 0), (3_600, 5_003)] {
            let cost = cost_of(Price::from_millionths(50_025_000), Span::from_seconds(seconds));
            assert_eq!(cost.minor(), cents, "{seconds} s");
        }
    }

    #[test]
    fn an_order_costs_what_was_confirmed_else_what_it_held_then_else_what_it_holds_now() {
        let minor = |cost: OrderCost| (cost.cost.minor(), cost.confirmed, cost.grown.is_some());
        assert_eq!(minor(cost(Some(7_500), &[7_000])), (7_500, true, true));
        assert_eq!(minor(cost(None, &[7_000])), (7_000, false, true));
        assert_eq!(minor(cost(None, &[8_000])), (8_000, false, false));
        // A record of old does not say what the order held.
        assert_eq!(minor(cost(None, &[])), (8_000, false, false));
        assert_eq!(minor(cost(Some(7_500), &[])), (7_500, true, false));
    }
}
