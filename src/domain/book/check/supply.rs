//! Suppliers and what they offer.

use super::Check;
use crate::domain::book::price_of_pack;
use crate::units::Price;
use crate::wire::book::supply::SupplierOffer;
use crate::wire::{At, Faults};
use rust_decimal::Decimal;
use std::collections::{HashMap, HashSet};

pub(super) fn check(check: &mut Check<'_>) {
    let root = At::ROOT;
    let doc = check.doc;
    let machines = root.member("equipment");
    for (i, own) in doc.equipment.iter().enumerate().filter_map(|(i, m)| Some((i, m.own.as_ref()?))) {
        if own.resale.is_some_and(|r| r > own.price) {
            let here = machines.element(i);
            let own = here.member("own");
            check.add(&own.member("resale"), "contradiction", "a machine is resold for no more than it cost");
        }
    }
    let list = root.member("suppliers");
    check.unique(doc.suppliers.iter().map(|s| &s.code), &list);
    for (i, country) in doc.suppliers.iter().enumerate().filter_map(|(i, s)| Some((i, s.country.as_ref()?))) {
        let word = country.as_str();
        if word.len() != 2 || !word.bytes().all(|b| b.is_ascii_uppercase()) {
            let here = list.element(i);
            let rule = "two capital letters, for example \"US\"";
            check.faults.value(&here.member("country"), "country", word, rule);
        }
    }
    let suppliers: HashSet<&str> = doc.suppliers.iter().map(|s| s.code.as_str()).collect();
    let mut codes: HashSet<(&str, &str)> = HashSet::new();
    let offers = root.member("offers");
    for (i, offer) in doc.offers.iter().enumerate() {
        let here = offers.element(i);
        if !suppliers.contains(offer.supplier.as_str()) {
            check
                .faults
                .value(
                    &here.member("supplier"),
                    "unknown_code",
                    offer.supplier.as_str(),
                    "no supplier of this code; add it to `suppliers` with its delivery terms",
                )
                .allow(doc.suppliers.iter().map(|s| s.code.as_str()));
        }
        if !codes.insert((offer.supplier.as_str(), offer.order_code.as_str())) {
            check.twice(&here.member("order_code"), offer.order_code.as_str());
        }
        match check.items.get(&offer.item).map(|i| i.unit) {
            None => check.add(
                &here.member("item"),
                "unknown_code",
                format!("no item of the code `{}`; add it to `items`", offer.item),
            ),
            Some(unit) => {
                if let Some(offered) = offer.unit.filter(|u| *u != unit) {
                    check
                        .faults
                        .value(
                            &here.member("unit"),
                            "unit_does_not_fit",
                            offered.word(),
                            format!(
                                "the item is needed by the {unit}: state the pack in that unit, or price the item by the {offered}"
                            ),
                        )
                        .allow([unit.word()]);
                }
            }
        }
        if offer.pack.is_some_and(|p| p.is_zero()) {
            check.add(&here.member("pack"), "out_of_range", "a pack holds more than nothing");
        }
        let own = check.items.get(&offer.item).map(|i| i.price.decimal());
        let pack = offer.pack.map_or(Decimal::ONE, |p| p.number());
        let asked = offer.price.map(|p| p.decimal()).or(own.map(|p| p * pack));
        breaks(offer, asked, &here, &mut check.faults);
        free(check, offer, asked, &here);
    }
    one_price(check, &offers);
}

/// What is free would be taken before every other offer, as free hire would.
fn free(check: &mut Check<'_>, offer: &SupplierOffer, asked: Option<Decimal>, at: &At<'_>) {
    let rule = "an offer costs more than nothing: a free one would be taken before every other. Give its price, or take out the offers of an item that is in stock";
    if asked == Some(Decimal::ZERO) {
        let sent = offer.price.map_or_else(|| "0.00".to_owned(), |p| p.to_string());
        check.faults.value(&at.member("price"), "out_of_range", &sent, rule);
        return;
    }
    let breaks = at.member("breaks");
    for (n, step) in offer.breaks.iter().enumerate().filter(|(_, s)| s.price.decimal().is_zero()) {
        let here = breaks.element(n);
        check.faults.value(&here.member("price"), "out_of_range", &step.price.to_string(), rule);
    }
}

/// Two prices of one supplier for one pack on the same terms: the lower would be bought, whichever holds.
fn one_price(check: &mut Check<'_>, offers: &At<'_>) {
    let doc = check.doc;
    let asked = |offer: &SupplierOffer| {
        price_of_pack(offer, || check.items.get(&offer.item).map_or(Decimal::ZERO, |i| i.price.decimal()))
    };
    let mut seen: HashMap<_, &SupplierOffer> = HashMap::new();
    let mut found = Vec::new();
    for (i, offer) in doc.offers.iter().enumerate() {
        let SupplierOffer {
            supplier,
            item,
            order_code: _,
            pack,
            unit: _,
            price: _,
            breaks: _,
            least_packs,
            lead_days,
            valid_until,
        } = offer;
        let lead = lead_days.map_or(0, |d| d.get());
        let terms = (supplier, item, pack, lead, least_packs.map(|n| n.get()), valid_until);
        let Some(before) = seen.get(&terms) else {
            seen.insert(terms, offer);
            continue;
        };
        let (sum, other) = (asked(offer), asked(before));
        if sum != other {
            let detail = format!(
                "the same supplier offers the same pack on the same terms as `{}` at {}, and the lower price would be taken: keep the one that holds, or name what tells them apart (pack, least order, lead days, last day)",
                before.order_code,
                Price::rounded(other)
            );
            found.push((i, Price::rounded(sum), detail));
        }
    }
    for (i, sum, detail) in found {
        let here = offers.element(i);
        check.faults.value(&here.member("price"), "contradiction", &sum.to_string(), detail);
    }
}

/// Price breaks out of order, and breaks dearer than what stands before them; `asked` is the price of a pack without them.
pub(crate) fn breaks(offer: &SupplierOffer, asked: Option<Decimal>, here: &At<'_>, faults: &mut Faults) {
    let (mut packs, mut price) = (1, asked.unwrap_or(Decimal::MAX));
    for (n, step) in offer.breaks.iter().enumerate() {
        let at = here.member("breaks");
        if step.packs.get() <= packs {
            let rule = "price breaks stand by rising number of packs";
            faults.add(&at.element(n).member("packs"), "order", rule);
        }
        if step.price.decimal() > price {
            let rule = "a price break is no dearer than the price before it";
            faults.add(&at.element(n).member("price"), "contradiction", rule);
        }
        (packs, price) = (step.packs.get(), step.price.decimal());
    }
}
