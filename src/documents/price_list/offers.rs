//! What a price list leaves to be looked at among the offers of its items: offers have figures of their own, which no list moves.

use crate::units::{ItemQuantity, Price, Unit};
use crate::wire::book::BookDoc;
use crate::wire::book::supply::SupplierOffer;
use crate::wire::day::Day;
use crate::wire::{At, Code};
use serde::Serialize;
use std::collections::HashMap;
use utoipa::ToSchema;

/// Most offers with prices of their own that are listed.
pub const MOST_OFFERS: usize = 200;

/// An offer that names no unit, of an item whose unit changes: its figures count in the new unit.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct OfferWithoutUnit {
    /// JSON pointer to it in the document of the version, in URI-fragment form.
    #[schema(example = "#/offers/12")]
    pub pointer: String,
    /// The supplier.
    pub supplier: String,
    /// The supplier's order code.
    pub order_code: String,
    /// Code of the item.
    pub item: String,
}

/// An offer with a price of its own, of an item whose price moves: what is bought by it costs what it did.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct OfferWithPrice {
    /// JSON pointer to it in the document of the version, in URI-fragment form.
    #[schema(example = "#/offers/12")]
    pub pointer: String,
    /// The supplier.
    pub supplier: String,
    /// The supplier's order code.
    pub order_code: String,
    /// Code of the item.
    pub item: String,
    /// How many of the item's unit are in one pack; prices are by the unit where this is left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub pack: Option<ItemQuantity>,
    /// The unit the pack is counted in, where the offer names one.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub unit: Option<Unit>,
    /// Its price; left out where only its lower prices for more packs are its own.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub price: Option<Price>,
    /// How many lower prices for more packs it has.
    pub breaks: usize,
    /// Last day it holds; open when left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub valid_until: Option<Day>,
}

/// Offers of a book by their item.
type ByItem<'b, T> = HashMap<&'b Code, Vec<T>>;

/// Offers that name no unit for what they count, by their item.
pub(super) fn without_unit(doc: &BookDoc) -> ByItem<'_, OfferWithoutUnit> {
    let list = At::ROOT.member("offers");
    let mut of: ByItem<'_, OfferWithoutUnit> = HashMap::new();
    for (i, offer) in doc.offers.iter().enumerate().filter(|(_, o)| o.unit.is_none()) {
        let SupplierOffer { supplier, item, order_code, pack, unit: _, price, breaks, least_packs, .. } =
            offer;
        if pack.is_some() || price.is_some() || !breaks.is_empty() || least_packs.is_some() {
            of.entry(item).or_default().push(OfferWithoutUnit {
                pointer: list.element(i).pointer(),
                supplier: supplier.to_string(),
                order_code: order_code.to_string(),
                item: item.to_string(),
            });
        }
    }
    of
}

/// Offers that have prices of their own, by their item.
pub(super) fn with_price(doc: &BookDoc) -> ByItem<'_, OfferWithPrice> {
    let list = At::ROOT.member("offers");
    let mut of: ByItem<'_, OfferWithPrice> = HashMap::new();
    for (i, offer) in doc.offers.iter().enumerate() {
        let SupplierOffer { supplier, item, order_code, pack, unit, price, breaks, valid_until, .. } = offer;
        if price.is_some() || !breaks.is_empty() {
            of.entry(item).or_default().push(OfferWithPrice {
                pointer: list.element(i).pointer(),
                supplier: supplier.to_string(),
                order_code: order_code.to_string(),
                item: item.to_string(),
                pack: *pack,
                unit: *unit,
                price: *price,
                breaks: breaks.len(),
                valid_until: *valid_until,
            });
        }
    }
    of
}

/// What to look at where a list moves prices of items that offers have prices of their own for; `None` where it moves none.
pub fn to_look_at(moved: &[OfferWithPrice], items: usize) -> Option<String> {
    let first = moved.first()?;
    let what = match items {
        1 => format!("the price of `{}` moves, but offers for it have", first.item),
        more => format!("the prices of {more} items move, but offers for them have"),
    };
    Some(format!(
        "{what} prices of their own, which stay as they were: what is bought by these costs what it did; `offers_with_prices` of the \
         report names them, put those right in the draft whose price moved too"
    ))
}
