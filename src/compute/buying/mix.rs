//! Packs of several offers of one supplier for one need: boxes, and single pieces beside them.

use super::packs::{Packs, cheapest, line, whole_packs};
use super::request::Offer;
use rust_decimal::Decimal;
use smallvec::SmallVec;

/// Steps after which a mix is no longer looked for.
const STEPS: u64 = 20_000;
/// What a rate may be off by, in minor units, from having been divided.
const DIVIDED: Decimal = Decimal::from_parts(1, 0, 0, false, 6);

/// Packs of several offers that meet a need together.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Mix {
    /// The offers by their places in the request, with their packs. Only the last one may have something left over.
    pub parts: Parts,
    /// What they cost together, in minor units.
    pub cost: i64,
}

pub(super) type Parts = SmallVec<[(usize, Packs); 2]>;

/// What was found for a need at one supplier.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Mixed {
    /// The cheapest mix, where one costs less than every offer by itself.
    pub mix: Option<Mix>,
    /// No mix costs less than this; no more than what was found where all were looked through.
    pub bound: i64,
}

/// The cheapest mix of packs that covers a quantity, where it costs less than `below`. Takes its steps from `left`.
///
/// Offers stand by the least they ask for a unit, so that fewer packs of one can only make what follows dearer: once the
/// packs taken and the rest at the rate of the offer behind them reach the best known, no fewer packs are tried.
pub(super) fn cheapest_mix(
    offers: &[(usize, &Offer<'_>)],
    quantity: Decimal,
    minor_digits: u32,
    below: i64,
    left: &mut u64,
) -> Mixed {
    let mut sorted: SmallVec<[Rated<'_>; 4]> = offers
        .iter()
        .map(|&(place, offer)| Rated { place, offer, rate: rate(offer, minor_digits) })
        .collect();
    sorted.sort_by(|a, b| {
        a.rate.cmp(&b.rate).then(b.offer.pack.cmp(&a.offer.pack)).then(a.place.cmp(&b.place))
    });
    let exact = offers.iter().all(|(_, o)| {
        let whole = |price: Decimal| price.normalize().scale() <= minor_digits;
        whole(o.price) && o.breaks.iter().all(|b| whole(b.price))
    });
    // a line is rounded by half a minor unit at most
    let rounding = if exact { Decimal::ZERO } else { Decimal::new(5, 1) * Decimal::from(offers.len()) };
    let steps = STEPS.min(*left);
    let mut search = Search {
        offers: &sorted,
        minor_digits,
        slack: rounding + DIVIDED,
        best: below,
        found: None,
        open: i64::MAX,
        left: steps,
    };
    search.walk(0, quantity, 0, &mut Parts::new());
    *left -= steps - search.left;
    Mixed { bound: search.open.min(search.best), mix: search.found }
}

/// An offer with the least it asks for a unit, in minor units.
struct Rated<'o> {
    place: usize,
    offer: &'o Offer<'o>,
    rate: Decimal,
}

/// Zero where it cannot be written, which bounds nothing.
fn rate(offer: &Offer<'_>, minor_digits: u32) -> Decimal {
    let prices = offer.breaks.iter().map(|b| b.price).chain([offer.price]);
    let least = prices.min().unwrap_or_default();
    let minor = Decimal::from(10_i64.pow(minor_digits.min(4)));
    least.checked_mul(minor).and_then(|p| p.checked_div(offer.pack)).unwrap_or_default()
}

struct Search<'s> {
    offers: &'s [Rated<'s>],
    minor_digits: u32,
    slack: Decimal,
    /// Cost to be beaten.
    best: i64,
    found: Option<Mix>,
    /// Least bound of what was left unsearched.
    open: i64,
    left: u64,
}

impl Search<'_> {
    /// What so much, bought at these rates, costs at least.
    fn least(&self, cost: i64, amounts: [(Decimal, Decimal); 2]) -> i64 {
        let sum = amounts
            .into_iter()
            .try_fold(-self.slack, |sum, (rate, amount)| sum.checked_add(rate.checked_mul(amount)?));
        let sum = sum.and_then(|s| i64::try_from(s.ceil().max(Decimal::ZERO)).ok()).unwrap_or(0);
        cost.saturating_add(sum)
    }

    /// Meets the rest of the need from the offers at `at` and behind it.
    fn walk(&mut self, at: usize, rest: Decimal, cost: i64, parts: &mut Parts) {
        let offers = self.offers;
        let Some(here) = offers.get(at) else { return };
        let bound = self.least(cost, [(here.rate, rest), (Decimal::ZERO, Decimal::ZERO)]);
        if bound >= self.best {
            return;
        }
        if self.left == 0 {
            self.open = self.open.min(bound);
            return;
        }
        self.left -= 1;
        if let Some(packs) = cheapest(here.offer, rest, self.minor_digits) {
            let with = cost.saturating_add(packs.cost);
            if with < self.best {
                let mut parts = parts.clone();
                parts.push((here.place, packs));
                self.best = with;
                self.found = Some(Mix { parts, cost: with });
            }
        }
        let Some(behind) = offers.get(at + 1) else { return };
        let Some(covering) = whole_packs(rest, here.offer.pack).and_then(|n| u32::try_from(n).ok()) else {
            // more packs than are counted: only those behind it are taken
            self.open = self.open.min(bound);
            return self.walk(at + 1, rest, cost, parts);
        };
        let fewest = here.offer.least_packs.max(1);
        for packs in (fewest..covering).rev() {
            let taken = here.offer.pack * Decimal::from(packs);
            let bound = self.least(cost, [(here.rate, taken), (behind.rate, rest - taken)]);
            if bound >= self.best {
                return;
            }
            if self.left == 0 {
                self.open = self.open.min(self.least(cost, [(here.rate, rest), (Decimal::ZERO, rest)]));
                return;
            }
            self.left -= 1;
            let Some(line) = line(here.offer, packs, self.minor_digits) else { continue };
            parts.push((here.place, line));
            self.walk(at + 1, rest - taken, cost.saturating_add(line.cost), parts);
            parts.pop();
        }
        self.walk(at + 1, rest, cost, parts);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::compute::buying::request::Break;
    use proptest::prelude::*;

    fn offer(pack: i64, price: i64) -> Offer<'static> {
        Offer { pack: Decimal::from(pack), price: Decimal::new(price, 2), ..Offer::default() }
    }

    fn mixed(offers: &[Offer<'_>], quantity: i64, below: i64) -> Mixed {
        let places: Vec<(usize, &Offer<'_>)> = offers.iter().enumerate().collect();
        cheapest_mix(&places, Decimal::from(quantity), 2, below, &mut 1_000_000)
    }

    #[test]
    fn a_box_and_single_pieces_meet_a_need_together() {
        // 13: two boxes of 10 cost 100, thirteen singles 104, a box and three singles 74
        let found = mixed(&[offer(10, 5_000), offer(1, 800)], 13, 10_000);
        let parts = found.mix.iter().flat_map(|m| &m.parts).map(|(o, p)| (*o, p.packs)).collect::<Vec<_>>();
        assert_eq!((parts, found.bound), (vec![(0, 1), (1, 3)], 7_400));
    }

    #[test]
    fn what_could_not_be_looked_through_lowers_the_bound() {
        let offers = [offer(10, 5_000), offer(1, 800)];
        let places: Vec<(usize, &Offer<'_>)> = offers.iter().enumerate().collect();
        let found = cheapest_mix(&places, Decimal::from(13), 2, 10_000, &mut 0);
        // 13 at the five of a piece out of a box
        assert_eq!(found, Mixed { mix: None, bound: 6_500 });
    }

    /// The least cost of any packs that cover the quantity, by trying all.
    fn tried(offers: &[Offer<'_>], quantity: i64) -> i64 {
        let Some((first, behind)) = offers.split_first() else {
            return if quantity <= 0 { 0 } else { i64::MAX / 2 };
        };
        let pack = i64::try_from(first.pack).unwrap_or(1);
        let cost = |n: u32| if n == 0 { 0 } else { line(first, n, 2).map_or(i64::MAX / 2, |l| l.cost) };
        let allowed = (0..=30_u32).filter(|n| *n == 0 || *n >= first.least_packs);
        allowed.map(|n| cost(n) + tried(behind, quantity - pack * i64::from(n))).min().unwrap_or(i64::MAX / 2)
    }

    proptest! {
        #[test]
        fn no_packs_cost_less(
            made in prop::collection::vec((1_i64..12, 50_i64..900, 0_u32..4, prop::option::of((2_u32..7, 60_i64..100))), 1..4),
            quantity in 1_i64..25,
        ) {
            let offers: Vec<Offer<'_>> = made
                .into_iter()
                .map(|(pack, price, least_packs, step)| {
                    let price = price * pack;
                    let breaks = step.map(|(packs, percent)| Break { packs, price: Decimal::new(price * percent, 4) });
                    Offer { least_packs, breaks: breaks.into_iter().collect(), ..offer(pack, price) }
                })
                .collect();
            let alone = offers.iter().filter_map(|o| cheapest(o, Decimal::from(quantity), 2)).map(|p| p.cost).min();
            let alone = alone.unwrap_or(i64::MAX);
            let found = mixed(&offers, quantity, alone);
            prop_assert_eq!(found.mix.as_ref().map_or(alone, |m| m.cost), tried(&offers, quantity));
            prop_assert_eq!(found.bound, tried(&offers, quantity));
        }
    }
}
