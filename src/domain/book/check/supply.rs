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

/// So many different prices for one offer are held against each other, no more.
const MOST_LADDERS: usize = 20;

/// What an offer costs by the pack: from how many packs on, and at what price, the fewest that are sold first.
#[derive(PartialEq, Eq)]
struct Ladder(Vec<(i64, Decimal)>);

impl Ladder {
    fn of(offer: &SupplierOffer, asked: Decimal) -> Self {
        let least = offer.least_packs.map_or(1, |n| n.get());
        let mut steps = vec![(least, asked)];
        for step in &offer.breaks {
            let (packs, price) = (step.packs.get(), step.price.decimal());
            match steps.first_mut() {
                Some(first) if packs <= least => first.1 = price,
                _ => steps.push((packs, price)),
            }
        }
        Self(steps)
    }

    fn at(&self, packs: i64) -> Option<Decimal> {
        self.0.iter().rev().find(|(from, _)| *from <= packs).map(|(_, price)| *price)
    }

    /// From where on both name a price and these differ, and both prices. `None` where they differ nowhere or each is lower
    /// somewhere: then neither is taken whatever is needed.
    fn against(&self, other: &Self) -> Option<(i64, Decimal, Decimal)> {
        let steps = self.0.iter().chain(&other.0);
        let prices: Vec<_> = steps.filter_map(|(n, _)| Some((self.at(*n)?, other.at(*n)?))).collect();
        if prices.iter().any(|(own, its)| own < its) && prices.iter().any(|(own, its)| own > its) {
            return None;
        }
        let mut own = self.0.iter();
        own.find_map(|(n, price)| {
            let (_, its) = other.0.iter().find(|(from, its)| from == n && its != price)?;
            Some((*n, *price, *its))
        })
    }
}

/// Two prices of one supplier for one pack on the same terms, one of them no dearer whatever is needed: it would be bought,
/// whichever holds.
fn one_price(check: &mut Check<'_>, offers: &At<'_>) {
    let doc = check.doc;
    let mut seen: HashMap<_, Vec<(&SupplierOffer, Ladder)>> = HashMap::new();
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
        let own = check.items.get(item);
        let ladder =
            Ladder::of(offer, price_of_pack(offer, || own.map_or(Decimal::ZERO, |i| i.price.decimal())));
        // What names no pack is sold by the increment of its item, and where that is one, by packs of one.
        let by_ones = own.and_then(|i| i.increment).is_none_or(|f| f.number() == Decimal::ONE);
        let pack = pack.map(|p| p.number()).or(by_ones.then_some(Decimal::ONE));
        let (lead, least) = (lead_days.map_or(0, |d| d.get()), least_packs.map_or(1, |n| n.get()));
        let before = seen.entry((supplier, item, pack, lead, least, valid_until)).or_default();
        let other = before.iter().find_map(|(other, its)| Some((&other.order_code, ladder.against(its)?)));
        if let Some((code, (from, own, its))) = other {
            let place = offer.breaks.iter().rposition(|step| step.packs.get() <= from);
            let on = if from > least { format!(" from {from} on") } else { String::new() };
            let detail = format!(
                "the same supplier offers the same pack on the same terms as `{code}` at {}{on}, and the lower price would be taken: keep the one that holds, or name what tells them apart (pack, least order, lead days, last day)",
                Price::rounded(its)
            );
            found.push((i, place, Price::rounded(own), detail));
        }
        if before.len() < MOST_LADDERS && before.iter().all(|(_, its)| *its != ladder) {
            before.push((offer, ladder));
        }
    }
    for (i, place, sum, detail) in found {
        let here = offers.element(i);
        let breaks = here.member("breaks");
        let step = place.map(|place| breaks.element(place));
        let at = step.as_ref().unwrap_or(&here).member("price");
        check.faults.value(&at, "contradiction", &sum.to_string(), detail);
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
