//! The request: what is needed, who sells it, and on which terms.

use jiff::civil::Date;
use rust_decimal::Decimal;
use std::borrow::Cow;

/// So much of one item.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Need<'a> {
    /// The item, unique in the request.
    pub item: Cow<'a, str>,
    /// How much.
    pub quantity: Decimal,
    /// The unit it is counted in; an offer must use the same.
    pub unit: Cow<'a, str>,
}

impl<'a> Need<'a> {
    /// So much of an item.
    #[must_use]
    pub fn new(item: impl Into<Cow<'a, str>>, quantity: Decimal, unit: impl Into<Cow<'a, str>>) -> Self {
        Self { item: item.into(), quantity, unit: unit.into() }
    }
}

/// A supplier and its delivery terms.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Supplier<'a> {
    /// Name, unique in the request.
    pub id: Cow<'a, str>,
    /// Delivery charge of one order, currency.
    pub delivery: Decimal,
    /// Delivery is free when the goods reach this; `None` when it never is.
    pub free_from: Option<Decimal>,
}

/// A lower price from so many packs on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Break {
    /// Fewest packs the price holds for.
    pub packs: u32,
    /// Price of one pack, currency.
    pub price: Decimal,
}

/// One supplier's offer of one item in packs.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Offer<'a> {
    /// Name or code, unique among the offers of its supplier.
    pub id: Cow<'a, str>,
    /// The supplier.
    pub supplier: Cow<'a, str>,
    /// The item.
    pub item: Cow<'a, str>,
    /// The unit the pack is counted in.
    pub unit: Cow<'a, str>,
    /// How much is in one pack.
    pub pack: Decimal,
    /// Price of one pack, currency.
    pub price: Decimal,
    /// Lower prices for more packs, by rising number of packs.
    pub breaks: Vec<Break>,
    /// Fewest packs sold; 0 and 1 mean the same.
    pub least_packs: u32,
    /// Last day the offer holds; `None` when it is open.
    pub valid_until: Option<Date>,
    /// Calendar days from order to delivery.
    pub lead_days: u32,
}

/// Everything to be bought, and everything on offer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Request<'a> {
    /// What is needed; at least one.
    pub needs: Vec<Need<'a>>,
    /// Who may be bought from.
    pub suppliers: Vec<Supplier<'a>>,
    /// What they offer.
    pub offers: Vec<Offer<'a>>,
    /// The day the orders go out.
    pub as_of: Date,
    /// The day everything must be there.
    pub needed_by: Date,
    /// At most so many suppliers; `None` for any number.
    pub most_suppliers: Option<u32>,
    /// Decimals of the currency's minor unit; each line is rounded once to it, half up.
    pub minor_digits: u32,
    /// Most search nodes.
    pub node_budget: u64,
    /// Whether every supplier on its own is reckoned beside the plan.
    pub one_stop: bool,
}

impl Request<'_> {
    /// An empty request between two days, with cents and the usual budget.
    #[must_use]
    pub fn on(as_of: Date, needed_by: Date) -> Self {
        Self {
            needs: Vec::new(),
            suppliers: Vec::new(),
            offers: Vec::new(),
            as_of,
            needed_by,
            most_suppliers: None,
            minor_digits: 2,
            node_budget: 5_000_000,
            one_stop: true,
        }
    }
}
