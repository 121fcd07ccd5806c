//! Packs and cost of one need from one offer.

use super::request::Offer;
use super::table::minor;
use crate::compute::exact::{Fraction, ceil_div};
use crate::units::decimal::in_parts;
use rust_decimal::Decimal;
use smallvec::SmallVec;

/// So many packs at so much.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Packs {
    pub packs: u32,
    pub price: Decimal,
    /// Line total in minor units, rounded once.
    pub cost: i64,
}

/// The cheapest number of packs that covers a quantity.
///
/// # Formula
/// `packs = max(ceil(quantity / pack), least order)`, or the first number of packs of a price break beyond that when it
/// costs less; `cost = packs x price`, rounded half up to the minor unit
/// # Units
/// quantity and pack in the unit of the offer; price per pack
/// # Valid for
/// quantities above zero; at most 2^31 packs
/// # Source
/// definition
/// # Example
/// ```
/// # use rillcast::compute::buying::{self, Break, Need, Offer, Request, Supplier};
/// # use rust_decimal::Decimal;
/// // 85 of an item in packs of 10: nine packs at 7 cost 63, ten at the break's price of 5 cost 50
/// let offer = Offer {
///     id: "pack of 10".into(), supplier: "depot".into(), item: "clip".into(), unit: "each".into(),
///     pack: Decimal::TEN, price: Decimal::from(7),
///     breaks: vec![Break { packs: 10, price: Decimal::from(5) }], ..Offer::default()
/// };
/// let request = Request {
///     needs: vec![Need::new("clip", Decimal::from(85), "each")],
///     suppliers: vec![Supplier { id: "depot".into(), ..Supplier::default() }],
///     offers: vec![offer],
///     ..Request::on(jiff::civil::date(2026, 5, 4), jiff::civil::date(2026, 5, 11))
/// };
/// let line = &buying::plan(&request)?.orders[0].lines[0];
/// assert_eq!((line.packs, line.cost), (10, Decimal::from(50)));
/// # Ok::<(), Vec<buying::BuyingFault>>(())
/// ```
pub(super) fn cheapest(offer: &Offer<'_>, quantity: Decimal, minor_digits: u32) -> Option<Packs> {
    let fewest = fewest(offer, quantity)?;
    let mut best = line(offer, fewest, minor_digits);
    for further in further(offer, fewest, minor_digits) {
        if best.is_none_or(|best| (further.cost, further.packs) < (best.cost, best.packs)) {
            best = Some(further);
        }
    }
    best
}

/// The dearer ways to buy what [`cheapest`] buys at a price break beyond the need: the packs that the need asks for, and
/// further breaks that cost less than these. With free delivery the dearer line can make the cheaper order.
pub(super) fn dearer(
    offer: &Offer<'_>,
    quantity: Decimal,
    minor_digits: u32,
    cheapest: Packs,
) -> SmallVec<[Packs; 2]> {
    let mut out = SmallVec::new();
    // it takes more packs than are needed only where a break holds from there on
    if offer.breaks.iter().all(|b| b.packs != cheapest.packs) {
        return out;
    }
    let Some(fewest) = fewest(offer, quantity).filter(|n| *n < cheapest.packs) else { return out };
    let Some(asked) = line(offer, fewest, minor_digits) else { return out };
    for way in std::iter::once(asked).chain(further(offer, fewest, minor_digits)) {
        let known = |cost: i64| cost == cheapest.cost || out.iter().any(|p: &Packs| p.cost == cost);
        if way.cost <= asked.cost && !known(way.cost) {
            out.push(way);
        }
    }
    out
}

/// The fewest packs that cover a quantity and may be ordered.
fn fewest(offer: &Offer<'_>, quantity: Decimal) -> Option<u32> {
    let whole = whole_packs(quantity, offer.pack)?;
    Some(u32::try_from(whole).ok().filter(|n| *n < 1 << 31)?.max(offer.least_packs).max(1))
}

/// A line of so many packs.
pub(super) fn line(offer: &Offer<'_>, packs: u32, minor_digits: u32) -> Option<Packs> {
    let price = offer.breaks.iter().rev().find(|b| b.packs <= packs).map_or(offer.price, |b| b.price);
    // most prices are whole minor units
    let cost = if price.scale() <= minor_digits {
        minor(price, minor_digits)?.checked_mul(i64::from(packs))?
    } else {
        minor(price.checked_mul(Decimal::from(packs))?, minor_digits)?
    };
    Some(Packs { packs, price, cost })
}

/// The first packs of every price break beyond so many packs.
fn further(offer: &Offer<'_>, fewest: u32, minor_digits: u32) -> impl Iterator<Item = Packs> {
    offer
        .breaks
        .iter()
        .filter(move |b| b.packs > fewest)
        .filter_map(move |b| line(offer, b.packs, minor_digits))
}

/// How many packs cover a quantity; nothing rounded on the way.
pub(super) fn whole_packs(quantity: Decimal, pack: Decimal) -> Option<i128> {
    // Both as whole numbers of the finer scale, which nearly always fit; the fraction in lowest terms otherwise.
    let (q, p) = (quantity.scale(), pack.scale());
    match (in_parts(quantity, q.max(p)), in_parts(pack, q.max(p))) {
        (Some(quantity), Some(pack)) => ceil_div(quantity, pack),
        _ => Some(Fraction::from_decimal(quantity).checked_div(Fraction::from_decimal(pack))?.ceil()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::compute::buying::request::Break;

    fn offer(breaks: Vec<Break>, least_packs: u32) -> Offer<'static> {
        Offer { pack: Decimal::from(10), price: Decimal::from(7), breaks, least_packs, ..Offer::default() }
    }

    #[test]
    fn an_exact_multiple_gains_no_pack() {
        let p = cheapest(&offer(vec![], 0), Decimal::from(30), 2);
        assert_eq!(p.map(|p| (p.packs, p.cost)), Some((3, 2_100)));
    }

    #[test]
    fn a_price_break_beyond_the_need_is_taken_when_cheaper() {
        // 9 packs at 7 cost 63, 10 packs at 5 cost 50
        let p = cheapest(&offer(vec![Break { packs: 10, price: Decimal::from(5) }], 0), Decimal::from(85), 2);
        assert_eq!(p.map(|p| (p.packs, p.cost)), Some((10, 5_000)));
    }

    #[test]
    fn the_packs_asked_for_stand_beside_a_break_that_is_cheaper() {
        let at = |packs: u32, price: i64| Break { packs, price: Decimal::from(price) };
        let ways = |breaks: Vec<Break>| {
            let offer = offer(breaks, 0);
            let dearer = |best| dearer(&offer, Decimal::from(85), 2, best);
            let ways = cheapest(&offer, Decimal::from(85), 2).map(dearer).unwrap_or_default();
            ways.iter().map(|p| (p.packs, p.cost)).collect::<Vec<_>>()
        };
        // 9 packs at 7 cost 63; 10 at 6 cost 60, 11 at 5 cost 55, 16 at 4 cost 64
        assert_eq!(ways(vec![at(10, 6), at(11, 5), at(16, 4)]), [(9, 6_300), (10, 6_000)]);
        // 10 at 6 are the cheapest; what a break makes dearer than the need is bought by nobody
        assert_eq!(ways(vec![at(10, 6), at(16, 5)]), [(9, 6_300)]);
        assert_eq!(ways(vec![at(12, 6)]), []);
        assert_eq!(ways(vec![at(2, 6)]), []);
    }

    #[test]
    fn the_least_order_counts() {
        let p = cheapest(&offer(vec![], 5), Decimal::ONE, 2);
        assert_eq!(p.map(|p| p.packs), Some(5));
    }
}
