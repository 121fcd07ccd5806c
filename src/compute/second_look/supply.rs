//! Offers beside the prices of their items, and beside the first day of the book.

use super::{Looks, PRACTICE, money, prices};
use crate::domain::book::price_of_pack;
use crate::units::show::worded;
use crate::wire::book::Item;
use crate::wire::book::supply::SupplierOffer;
use crate::wire::{At, Code};
use jiff::civil::Date;
use rust_decimal::Decimal;
use std::collections::HashMap;

const BUYING: &str = "offers are bought by up to their last day";

/// How far the price of an offer lies from that of its item, either way.
const OFFER_TIMES: Decimal = Decimal::from_parts(5, 0, 0, false, 0);

pub(super) fn look(looks: &mut Looks<'_>, day: Date) {
    let book = looks.book;
    let items: HashMap<&Code, &Item> = book.items.iter().map(|i| (&i.code, i)).collect();
    let list = At::ROOT.member("offers");
    for (i, offer) in book.offers.iter().enumerate() {
        let Some(item) = items.get(&offer.item) else { continue };
        one_offer(looks, offer, item, &list.element(i));
    }
    ended(looks, day);
}

fn one_offer(looks: &mut Looks<'_>, offer: &SupplierOffer, item: &Item, at: &At<'_>) {
    let pack = offer.pack.map_or(Decimal::ONE, |p| p.number());
    let asked = price_of_pack(offer, || item.price.decimal());
    let Some(own) = item.price.decimal().checked_mul(pack).filter(|own| !own.is_zero()) else { return };
    let detail = |asked: Decimal| {
        move |usual: &str| {
            worded!(
                "`{}` asks {} for {pack} of `{}` here; by the item's own price, {}, that is {}, usually {usual} ({PRACTICE})",
                offer.order_code,
                prices::sum(asked),
                item.code,
                item.price,
                prices::sum(own)
            )
        }
    };
    if let Some(price) = offer.price {
        let shown = price.to_string();
        prices::far(looks, &at.member("price"), price.decimal(), (own, OFFER_TIMES), shown, detail(asked));
    }
    let breaks = at.member("breaks");
    for (n, step) in offer.breaks.iter().enumerate() {
        let here = breaks.element(n);
        let price = step.price.decimal();
        let shown = step.price.to_string();
        prices::far(looks, &here.member("price"), price, (own, OFFER_TIMES), shown, detail(price));
    }
    if let Some(least) = offer.least_packs {
        let sum = asked.checked_mul(Decimal::from(least.get())).unwrap_or(Decimal::MAX);
        let here = at.member("least_packs");
        let what = worded!(
            "the least order of `{}`, {} packs at {}, costs",
            offer.order_code,
            least.get(),
            prices::sum(asked)
        );
        let value = worded!("{} packs, {} in all", least.get(), prices::sum(sum));
        money::beyond_hours(looks, &here, &what, sum, (value, money::LEAST_ORDER_HOURS));
    }
}

/// Offers that hold no longer when the book begins: nothing is bought by them. One look for a supplier.
fn ended(looks: &mut Looks<'_>, day: Date) {
    let list = At::ROOT.member("offers");
    let mut told: Vec<(&Code, usize, usize)> = Vec::new();
    for (i, offer) in looks.book.offers.iter().enumerate() {
        if offer.valid_until.is_some_and(|last| last.date() < day) {
            match told.iter_mut().find(|(supplier, ..)| *supplier == &offer.supplier) {
                Some((_, _, count)) => *count += 1,
                None => told.push((&offer.supplier, i, 1)),
            }
        }
    }
    for (supplier, first, count) in told {
        let Some(last) = looks.book.offers.get(first).and_then(|o| o.valid_until) else { continue };
        let here = list.element(first);
        let usual = worded!("{day} or later");
        let detail = worded!(
            "offers of `{supplier}` that have ended when this book begins on {day}: {count}, this one on {last}; nothing is bought by them"
        );
        looks.note(&here.member("valid_until"), detail, last.to_string(), usual, BUYING);
    }
}
