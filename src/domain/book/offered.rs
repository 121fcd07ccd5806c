//! What is known of the offers of a checked book, so that no estimate has to look it up again.

use crate::wire::Code;
use crate::wire::book::supply::SupplierOffer;
use crate::wire::book::{BookDoc, Item};
use rust_decimal::Decimal;
use rustc_hash::FxHashMap;

/// An item of a checked book.
#[derive(Debug, Clone, Copy)]
pub struct Listed<'b> {
    /// Its place among the items.
    pub place: usize,
    /// The item.
    pub item: &'b Item,
    /// Whether anybody offers it.
    pub is_offered: bool,
}

/// What is known of an offer of a checked book.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Offered {
    /// Its place among the offers.
    pub place: usize,
    /// Place of its item.
    pub item: usize,
    /// Place of its supplier.
    pub supplier: usize,
    /// Price of one pack: its own, else the item's times the pack.
    pub price: Decimal,
}

impl Offered {
    /// That of every offer of a document whose check found no fault: items and suppliers that offers name are there.
    pub(super) fn all(doc: &BookDoc, items: &FxHashMap<Code, usize>) -> Vec<Self> {
        let suppliers: FxHashMap<&Code, usize> =
            doc.suppliers.iter().enumerate().map(|(place, s)| (&s.code, place)).collect();
        doc.offers
            .iter()
            .enumerate()
            .filter_map(|(place, o)| {
                let (item, supplier) = (*items.get(&o.item)?, *suppliers.get(&o.supplier)?);
                let own = doc.items.get(item)?.price;
                Some(Self { place, item, supplier, price: price_of_pack(o, || own.decimal()) })
            })
            .collect()
    }
}

/// Price of one pack: the offer's, else the item's own times the pack.
pub fn price_of_pack(offer: &SupplierOffer, own: impl FnOnce() -> Decimal) -> Decimal {
    offer.price.map_or_else(|| own() * offer.pack.map_or(Decimal::ONE, |p| p.number()), |p| p.decimal())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "tests")]
    use super::*;
    use serde_json::json;

    /// Packs of five of an item at 3.00 come to 15.00 where the offer names no price of its own.
    #[test]
    fn a_pack_without_a_price_costs_what_its_pieces_do() {
        let price = |more: serde_json::Value| {
            let mut offer = json!({"supplier": "s", "item": "i", "order_code": "o"});
            offer.as_object_mut().unwrap().extend(more.as_object().unwrap().clone());
            price_of_pack(&crate::wire::read_value(&offer).unwrap(), || Decimal::from(3))
        };
        assert_eq!(price(json!({"pack": "5"})), Decimal::from(15));
        assert_eq!(price(json!({"pack": "5", "price": "14.00"})), Decimal::from(14));
        assert_eq!(price(json!({})), Decimal::from(3));
    }
}
