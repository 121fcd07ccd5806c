//! From the choice to the orders.

use super::packs::Packs;
use super::plan::{BuyingPlan, Line, OneStop, Order};
use super::request::{Need, Request};
use super::search::{Found, solve};
use super::table::{Choice, Table};
use crate::units::Price;
use crate::units::decimal::{kept, whole};
use crate::units::show::{counted, worded};
use rust_decimal::Decimal;

pub(super) fn answer<'a>(r: &Request<'a>, t: &Table, found: &Found) -> BuyingPlan<'a> {
    let picks: Vec<Option<&Choice>> =
        t.choices.rows().zip(&found.chosen).map(|(row, &i)| row.get(i)).collect();
    let orders: Vec<Order<'a>> = (0..r.suppliers.len()).filter_map(|s| order(r, t, s, &picks)).collect();
    let goods: Decimal = orders.iter().map(|o| o.goods).sum();
    let delivery: Decimal = orders.iter().map(|o| o.delivery).sum();
    let total = goods + delivery;
    // mixes of offers that were not looked through may cost less
    let bound = found.bound.saturating_sub(t.slack).max(0);
    let lower_bound = money(r, bound).min(total);
    let alone = if r.one_stop { r.suppliers.len() } else { 0 };
    let one_stop: Vec<OneStop<'a>> = (0..alone).filter_map(|s| one_stop(r, t, s)).collect();
    let best = one_stop.iter().filter(|o| o.missing.is_empty()).map(|o| o.total).min();
    BuyingPlan {
        orders,
        goods,
        delivery,
        total,
        lower_bound,
        gap: total - lower_bound,
        proven: bound >= found.cost,
        nodes: found.nodes,
        saving_over_one_stop: best.map(|b| b - total),
        one_stop,
        set_aside: t.set_aside.clone(),
    }
}

pub(super) fn money(r: &Request<'_>, minor: i64) -> Decimal {
    Decimal::from_i128_with_scale(i128::from(minor), r.minor_digits.min(4))
}

fn order<'a>(r: &Request<'a>, t: &Table, s: usize, picks: &[Option<&Choice>]) -> Option<Order<'a>> {
    let supplier = r.suppliers.get(s)?;
    let own = || picks.iter().enumerate().filter_map(|(n, c)| c.filter(|c| c.supplier == s).map(|c| (n, c)));
    let mut lines: Vec<Line<'a>> = Vec::with_capacity(own().count());
    own().for_each(|(need, c)| put_lines(r, t, need, c, &mut lines));
    if lines.is_empty() {
        return None;
    }
    let minor: i64 = own().map(|(_, c)| c.cost).sum();
    let (goods, delivery) = (money(r, minor), money(r, t.delivery(s, minor)));
    let short = supplier.free_from.map(|f| f - goods).filter(|d| *d > Decimal::ZERO && !delivery.is_zero());
    let lead_days =
        lines.iter().filter_map(|l| r.offers.get(l.place)).map(|o| o.lead_days).max().unwrap_or(0);
    let terms = match supplier.free_from {
        Some(f) if delivery.is_zero() && !supplier.delivery.is_zero() => worded!("free from {}", kept(f)),
        Some(f) if !delivery.is_zero() => worded!("{}, free from {}", kept(delivery), kept(f)),
        _ => kept(delivery).to_string(),
    };
    Some(Order {
        supplier: supplier.id.clone(),
        basis: worded!(
            "{} {} + delivery {terms} = {}",
            counted(lines.len(), "line"),
            kept(goods),
            kept(goods + delivery)
        ),
        lines,
        goods,
        delivery,
        total: goods + delivery,
        free_delivery_short_by: short,
        lead_days,
    })
}

/// The line of a need, or one for each offer that meets a part of it.
fn put_lines<'a>(r: &Request<'a>, t: &Table, place: usize, c: &Choice, lines: &mut Vec<Line<'a>>) {
    let Some(need) = r.needs.get(place) else { return };
    let Some(mix) = c.mix.and_then(|m| t.mixes.get(m)) else {
        lines.extend(line(r, place, need, (c.offer, c.packs), need.quantity));
        return;
    };
    let mut rest = need.quantity;
    for (n, &(offer, packs)) in mix.parts.iter().enumerate() {
        let last = n + 1 == mix.parts.len();
        let pack = r.offers.get(offer).map_or(Decimal::ZERO, |o| o.pack);
        let met = if last { rest } else { pack * Decimal::from(packs.packs) };
        rest -= met;
        lines.extend(line(r, place, need, (offer, packs), met));
    }
}

/// A line that meets so much of a need.
fn line<'a>(
    r: &Request<'a>,
    place: usize,
    need: &Need<'a>,
    (of, packs): (usize, Packs),
    met: Decimal,
) -> Option<Line<'a>> {
    let offer = r.offers.get(of)?;
    let cost = money(r, packs.cost);
    let bought = crate::compute::exact::times(offer.pack, Decimal::from(packs.packs));
    Some(Line {
        item: need.item.clone(),
        need: place,
        offer: offer.id.clone(),
        place: of,
        needed: met,
        unit: need.unit.clone(),
        packs: packs.packs,
        pack: offer.pack,
        price: packs.price,
        cost,
        over: bought - met,
        basis: line_basis(need, met, offer.pack, &packs, cost),
    })
}

/// `30 each in packs of 10: 3 packs x 7.00 = 21.00`; single pieces without a word on packs, a part of a need as `7 of 17 each`.
fn line_basis(need: &Need<'_>, met: Decimal, pack: Decimal, bought: &Packs, cost: Decimal) -> String {
    // A purchase has a line for every need: put together without the formatter, which takes longer than the figures.
    let mut text = String::with_capacity(64);
    if met != need.quantity {
        whole(met).put(&mut text);
        text.push_str(" of ");
    }
    whole(need.quantity).put(&mut text);
    text.push(' ');
    text.push_str(&need.unit);
    let single = pack == Decimal::ONE;
    let packs = kept(Decimal::from(bought.packs));
    if !single {
        text.push_str(" in packs of ");
        whole(pack).put(&mut text);
        text.push_str(": ");
        packs.put(&mut text);
        text.push_str(if bought.packs == 1 { " pack" } else { " packs" });
    } else if met != Decimal::from(bought.packs) {
        text.push_str(", bought ");
        packs.put(&mut text);
    }
    text.push_str(" x ");
    Price::rounded(bought.price).put(&mut text);
    text.push_str(" = ");
    kept(cost).put(&mut text);
    text
}

fn one_stop<'a>(r: &Request<'a>, t: &Table, s: usize) -> Option<OneStop<'a>> {
    let supplier = r.suppliers.get(s)?;
    let (mut goods, mut missing) = (0_i64, Vec::new());
    for (need, row) in r.needs.iter().zip(t.choices.rows()) {
        match row.iter().find(|c| c.supplier == s) {
            Some(c) => goods += c.cost,
            None => missing.push(need.item.clone()),
        }
    }
    let any = missing.len() < r.needs.len();
    let charged = if any { t.delivery(s, goods) } else { 0 };
    // A dearer offer may bring the goods to where delivery is free; from a threshold beyond what they cost with their
    // delivery, that only costs more.
    let near = t.free_from.get(s).copied().flatten().is_some_and(|from| from < goods + charged);
    let total = if charged > 0 && near && t.can_be_free(s) {
        let found = solve(&t.alone(s), r.node_budget);
        found.map_or(goods + charged, |found| found.cost)
    } else {
        goods + charged
    };
    Some(OneStop { supplier: supplier.id.clone(), total: money(r, total), missing })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_line_says_what_is_bought_in_which_packs() {
        let line = |quantity: Decimal, pack: i64, packs: u32| {
            let cost = Decimal::new(350 * i64::from(packs), 2);
            let bought = Packs { packs, price: Decimal::new(35, 1), cost: 0 };
            line_basis(&Need::new("tie", quantity, "each"), quantity, Decimal::from(pack), &bought, cost)
        };
        assert_eq!(line(Decimal::from(30), 10, 3), "30 each in packs of 10: 3 packs x 3.50 = 10.50");
        assert_eq!(line(Decimal::new(95, 1), 10, 1), "9.5 each in packs of 10: 1 pack x 3.50 = 3.50");
        assert_eq!(line(Decimal::new(200, 2), 1, 2), "2 each x 3.50 = 7.00");
        assert_eq!(line(Decimal::new(15, 1), 1, 2), "1.5 each, bought 2 x 3.50 = 7.00");
    }
}
