//! What stock lengths are weighed at: the offers that can be used, in the numbers that a list may need.
//!
//! A plan is weighed at what one length costs at least, where no more of them are bought than the plain list takes. Where so
//! few of them come dearer, in packs that are too large or below a price break, the plans of other prices are weighed by what
//! is paid for them, and the cheapest is taken: what one more offer asks never makes the list dearer.

use super::{List, MOST_NODES, bought, need_of};
use crate::compute::calendar::count::calendar_days_between;
use crate::compute::cutting::{self, CutPlan, Problem, Source};
use crate::compute::exact::{ceil_div, times, to_minor};
use crate::compute::needs::Needs;
use crate::compute::purchase::{Market, Terms, goods};
use crate::domain::book::PriceBook;
use crate::domain::layout::Layout;
use crate::units::decimal::kept;
use crate::units::show::worded;
use crate::units::{Dimension, Length, Price};
use crate::wire::Code;
use crate::wire::book::supply::SupplierOffer;
use rust_decimal::Decimal;
use smallvec::SmallVec;
use std::fmt::Write as _;

/// Most other plans that are weighed.
const MOST_TRIED: usize = 16;

/// A price that holds from so many units on.
#[derive(Debug, Clone, Copy)]
struct Level<'a> {
    /// Price of one unit of the item.
    rate: Decimal,
    /// Fewest units it is asked for.
    least: Decimal,
    /// How many units are sold together; zero for any amount.
    pack: Decimal,
    /// Whose price it is; the item's own where there is none.
    offer: Option<&'a SupplierOffer>,
    /// Whether it is that of a price break.
    of_break: bool,
}

/// What one stock length may cost.
#[derive(Debug, Clone)]
pub(super) struct Prices<'a> {
    /// How many of the item's unit are in one.
    units: Decimal,
    levels: SmallVec<[Level<'a>; 4]>,
    own: Level<'a>,
}

/// What one stock length is weighed at.
#[derive(Debug, Clone, Copy)]
pub(super) struct Weighed<'a> {
    pub(super) price: Decimal,
    level: Option<Level<'a>>,
}

/// A plan of other prices.
struct Cheaper<'a> {
    plan: CutPlan,
    weighed: SmallVec<[Weighed<'a>; 2]>,
    /// What its stock costs as it is bought.
    paid: Decimal,
}

/// Which offers count.
#[derive(Clone, Copy)]
struct Counted<'o> {
    /// All where not named.
    offers: Option<&'o [&'o SupplierOffer]>,
    breaks: bool,
}

impl Counted<'_> {
    const ALL: Self = Self { offers: None, breaks: true };

    fn holds(&self, level: &Level<'_>) -> bool {
        let named = |offers: &[&SupplierOffer]| {
            offers.iter().any(|o| level.offer.is_some_and(|l| std::ptr::eq(l, *o)))
        };
        (self.breaks || !level.of_break) && self.offers.is_none_or(named)
    }
}

impl<'a> Prices<'a> {
    /// Those of a stock length; `None` when the item is priced in a unit that fits no length.
    pub(super) fn of(item: &Code, length: Length, layout: &Layout<'_>, book: &'a PriceBook) -> Option<Self> {
        let facts = book.item(item)?;
        let units = match (facts.unit.dimension(), facts.unit.factor()) {
            (Dimension::Length, Some(factor)) => {
                let unit = Decimal::try_from_i128_with_scale(factor, 0).unwrap_or(Decimal::ONE);
                Decimal::from(length.nm()) / unit
            }
            (Dimension::Count, _) => Decimal::ONE,
            _ => return None,
        };
        let terms = Terms::of(layout);
        let market = Market::of(book);
        let step = facts.increment.map_or(Decimal::ONE, |f| f.number());
        let mut levels = SmallVec::new();
        for offer in book.offers_of(item).filter(|o| is_usable(o, terms)) {
            let pack = offer.pack.map_or(step, |p| p.number());
            // without a pack, prices and numbers are those of units
            let counted = offer.pack.map_or(Decimal::ONE, |p| p.number());
            let fewest = offer.least_packs.map_or(0, |n| n.get());
            let mut level = |price: Decimal, packs: i64, of_break: bool| {
                let least = times(Decimal::from(packs.max(fewest)), counted).max(pack);
                levels.push(Level { rate: price / counted, least, pack, offer: Some(offer), of_break });
            };
            level(market.price(offer), 0, false);
            offer.breaks.iter().for_each(|b| level(b.price.decimal(), b.packs.get(), true));
        }
        let own =
            Level { rate: facts.price.decimal(), least: step, pack: step, offer: None, of_break: false };
        Some(Self { units, levels, own })
    }

    /// The least that one of at most so many costs.
    fn at_most(&self, pieces: i64, counted: Counted<'_>) -> Weighed<'a> {
        let units = times(Decimal::from(pieces.max(1)), self.units);
        // more than can be used of it is paid all the same
        let asked = |level: &Level<'a>| {
            let idle = level.least > units && !units.is_zero();
            if idle { times(level.rate, level.least) / units } else { level.rate }
        };
        let counting = self.levels.iter().filter(|l| counted.holds(l));
        let level = counting.min_by_key(|l| asked(l)).unwrap_or(&self.own);
        Weighed { price: to_minor(times(asked(level), self.units), 6), level: Some(*level) }
    }

    /// Whether so many cost as much as they are weighed at.
    fn is_paid(&self, weighed: &Weighed<'_>, pieces: i64) -> bool {
        let units = times(Decimal::from(pieces), self.units);
        weighed.level.is_some_and(|level| {
            let whole =
                level.pack.is_zero() || units.checked_rem(level.pack).is_some_and(|rest| rest.is_zero());
            units >= level.least && whole
        })
    }
}

/// Whether an offer can be used on the day of the order.
fn is_usable(offer: &SupplierOffer, terms: Terms) -> bool {
    let Some(order_on) = terms.order_on else { return true };
    let holds = offer.valid_until.is_none_or(|day| day.date() >= order_on);
    let days = terms.needed().map_or(i64::MAX, |needed| calendar_days_between(order_on, needed));
    holds && offer.lead_days.is_none_or(|lead| lead.get() <= days)
}

/// How many of a stock length the plain list takes, of that length alone.
fn of_plain_list(problem: &Problem, length: i64) -> i64 {
    let one = length.saturating_add(problem.gap.0).max(1);
    let pieces = problem.legs.iter().map(|l| l.length.0.saturating_add(problem.gap.0).max(1));
    pieces.map(|leg| leg.div_euclid(one) + i64::from(leg.rem_euclid(one) != 0)).sum()
}

/// How many of a stock length cover the legs at least, however they are cut: of one come at most so many pieces as the least
/// piece goes into it, each with a gap behind it.
fn fewest(problem: &Problem, length: i64) -> i64 {
    let (gap, length) = (i128::from(problem.gap.0.max(0)), i128::from(length.max(1)));
    let demand: i128 = problem.legs.iter().map(|leg| i128::from(leg.length.0) + gap).sum();
    let covered = length + length / i128::from(problem.least_piece.0.max(1)) * gap;
    ceil_div(demand, covered).and_then(|n| i64::try_from(n).ok()).unwrap_or(i64::MAX)
}

impl<'a> List<'a> {
    /// What the stock lengths are weighed at where these offers count.
    fn weigh(&self, counted: Counted<'_>) -> SmallVec<[Weighed<'a>; 2]> {
        let prices = self.prices.iter().zip(&self.rules.stock);
        prices
            .map(|(prices, (_, length))| match prices {
                Some(prices) => prices.at_most(of_plain_list(&self.problem, length.nm()), counted),
                None => Weighed { price: Decimal::ZERO, level: None },
            })
            .collect()
    }

    /// Sets the prices of the stock that is bought; what comes from the yard stands behind it.
    pub(super) fn price_stock(&mut self) {
        let weighed = self.weigh(Counted::ALL);
        set(&mut self.problem, &weighed);
        self.weighed = weighed;
    }

    /// Weighs the plan against those of other prices where the stock comes dearer than it was weighed at.
    pub(super) fn weigh_again(&mut self, layout: &Layout<'_>, book: &'a PriceBook) {
        let Some(plan) = &self.plan else { return };
        let counts = self.counts(plan);
        let mut each = self.prices.iter().zip(&self.weighed).zip(&counts);
        if each.all(|((p, w), n)| *n == 0 || p.as_ref().is_none_or(|p| p.is_paid(w, *n))) {
            return;
        }
        let paid = self.goods(plan, layout, book);
        let settled = self.holds_at_any_price(plan, &counts);
        let cheaper = if settled { None } else { self.cheaper(plan, &counts, paid, (layout, book)) };
        let paid = match cheaper {
            Some(Cheaper { plan, weighed, paid }) => {
                set(&mut self.problem, &weighed);
                self.weighed = weighed;
                self.plan = Some(plan);
                paid
            }
            None => paid,
        };
        let shown = self.plan.as_ref().map(|plan| to_minor(plan.totals.stock_cost, 2));
        self.paid = Some(paid).filter(|paid| shown != Some(*paid));
    }

    /// The plan of other prices that costs least where it costs less than this one, whose stock is paid with so much.
    fn cheaper(
        &self,
        plan: &CutPlan,
        counts: &[i64],
        paid: Decimal,
        (layout, book): (&Layout<'_>, &'a PriceBook),
    ) -> Option<Cheaper<'a>> {
        let work = |plan: &CutPlan| plan.totals.joint_cost + plan.totals.cut_cost;
        let mut least = paid + work(plan);
        let mut best = None;
        let mut tried: Vec<Vec<Decimal>> = vec![prices_of(&self.weighed)];
        let mut problem = self.problem.clone();
        problem.node_budget = problem.node_budget.min(MOST_NODES / 2);
        for weighed in self.others(book) {
            let prices = prices_of(&weighed);
            if tried.len() > MOST_TRIED || tried.contains(&prices) {
                continue;
            }
            let first = tried.len() == 1;
            tried.push(prices);
            set(&mut problem, &weighed);
            let Ok(plan) = cutting::plan(&problem) else { continue };
            // of one length, a price between two takes no other number than both of them do
            if first && self.rules.stock.len() == 1 && *self.counts(&plan) == *counts {
                break;
            }
            let paid = self.goods(&plan, layout, book);
            if paid + work(&plan) < least {
                least = paid + work(&plan);
                best = Some(Cheaper { plan, weighed, paid });
            }
        }
        best
    }

    /// Whether no other price gives another plan: the cheapest one by the least price there is, where it takes as few of the one
    /// stock length as can be. A dearer price only makes more of them dearer.
    fn holds_at_any_price(&self, plan: &CutPlan, counts: &[i64]) -> bool {
        let ([(_, length)], [count], [weighed]) = (&*self.rules.stock, counts, &*self.weighed) else {
            return false;
        };
        let own = self.weigh(Counted { offers: Some(&[]), breaks: false });
        plan.proven
            && self.yard.is_empty()
            && *count == fewest(&self.problem, length.nm())
            && own.iter().all(|own| own.price >= weighed.price)
    }

    /// Other prices to plan by: the items' own first, then those of the first offer of the book, of the first two, and so on,
    /// each without and with its price breaks.
    fn others(&self, book: &'a PriceBook) -> impl Iterator<Item = SmallVec<[Weighed<'a>; 2]>> {
        let mine = |o: &&SupplierOffer| self.rules.stock.iter().any(|(item, _)| **item == o.item);
        let offers: Vec<&SupplierOffer> = book.offered().map(|(o, _)| o).filter(mine).collect();
        let sets = (0..=offers.len()).flat_map(|first| [(first, false), (first, true)]);
        sets.map(move |(first, breaks)| self.weigh(Counted { offers: offers.get(..first), breaks }))
    }

    /// How many of each stock length a plan buys.
    fn counts(&self, plan: &CutPlan) -> SmallVec<[i64; 4]> {
        self.rules.stock.iter().map(|(item, _)| bought(plan, item)).collect()
    }

    /// What the stock of a plan costs as it is bought.
    fn goods(&self, plan: &CutPlan, layout: &Layout<'_>, book: &PriceBook) -> Decimal {
        let mut needs = Needs::default();
        for ((item, length), count) in self.rules.stock.iter().zip(self.counts(plan)).filter(|(_, n)| *n > 0)
        {
            needs.add(book, item, need_of(book, item, *length, count), self.rule(), "");
        }
        goods(&needs, book, Terms::of(layout))
    }

    /// By which prices the plan was weighed, behind its sum.
    pub(super) fn put_prices(&self, basis: &mut String) {
        let mut before = "; weighed at ";
        for ((item, _), weighed) in self.rules.stock.iter().zip(&self.weighed) {
            let Some(level) = weighed.level else { continue };
            let price = Price::rounded(weighed.price);
            // writing to a string does not fail
            let _ = write!(basis, "{before}{price} for `{item}` ");
            let _ = match level.offer {
                Some(offer) => write!(basis, "from {}: {}", offer.supplier, offer.order_code),
                None => basis.write_str("by the price book"),
            };
            before = ", ";
        }
    }

    /// What the stock comes to as it is bought where that is another amount.
    pub(super) fn paid_in_words(&self) -> Option<String> {
        self.paid.map(|paid| {
            worded!("as it is bought, in whole packs and delivery left aside, the stock costs {}", kept(paid))
        })
    }
}

fn prices_of(weighed: &[Weighed<'_>]) -> Vec<Decimal> {
    weighed.iter().map(|w| w.price).collect()
}

fn set(problem: &mut Problem, weighed: &[Weighed<'_>]) {
    let bought = problem.stock.iter_mut().filter(|s| s.source == Source::Bought);
    bought.zip(weighed).for_each(|(stock, weighed)| stock.price = weighed.price);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::compute::cutting::{Leg, Stock, Work};
    use crate::compute::exact::Nm;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn no_plan_takes_fewer_and_one_of_the_fewest_holds_at_dearer_prices(
            legs in prop::collection::vec(200_i64..6_000, 1..6),
            (gap, least, kerf) in (-50_i64..20, 0_i64..200, 0_i64..5),
            (price, dearer, joint, cut) in (1_i64..60, 0_i64..60, 0_i64..30, 0_i64..20),
        ) {
            const LENGTH: i64 = 1_000;
            let each = |cost: i64| Work { parts: Decimal::from(cost), minutes: Decimal::ZERO };
            let at = |price: i64| Problem {
                legs: legs.iter().enumerate().map(|(n, mm)| Leg::new(format!("leg {n}"), Nm::mm(*mm))).collect(),
                stock: vec![Stock::bought("metre", Nm::mm(LENGTH), Decimal::from(price))],
                kerf: Nm::mm(kerf),
                gap: Nm::mm(gap),
                least_piece: Nm::mm(least),
                joint: each(joint),
                cut: each(cut),
                ..Problem::default()
            };
            let fewest = fewest(&at(price), Nm::mm(LENGTH).0);
            let Ok(plan) = cutting::plan(&at(price)) else { return Ok(()) };
            let Ok(other) = cutting::plan(&at(price + dearer)) else { return Ok(()) };
            let taken = |plan: &CutPlan| plan.totals.stock_pieces as i64;
            prop_assert!(taken(&plan) >= fewest && taken(&other) >= fewest);
            if plan.proven && taken(&plan) == fewest {
                // Nothing comes to less at the dearer price than the same plan; a search that ended early may not have found it again.
                let held = plan.totals.total + Decimal::from(dearer * fewest);
                prop_assert!(other.totals.total >= held);
                prop_assert!(!other.proven || (other.totals.total, taken(&other)) == (held, fewest));
            }
        }
    }
}
