//! The least stock that yields a length: the covering problem behind every bound.
//!
//! A group of `a` legs cut from `b` stock pieces with `a + b - 1` pieces in all needs `sum(stock + gap) >=
//! sum(leg + kerf) - kerf + gap`. The cheapest multiset of stock lengths for such a need is found from a
//! short list: the best length by cost per length fills, and a few mixes of the other lengths round off.

use super::component::NEVER;
use super::model::{Kind, Model, UNLIMITED, div_up};
use crate::compute::exact::gcd;
use smallvec::{SmallVec, smallvec};

/// Most mixes kept; beyond it the bound stays valid and only gets a little weaker.
const MOST_MIXES: usize = 500;

/// A list over the stock on offer: mostly one or two lengths.
type Short<T> = SmallVec<[T; 4]>;

/// One mix of stock lengths other than the best one.
#[derive(Debug, Clone)]
struct Mix {
    /// Count per kind.
    counts: Short<u32>,
    /// Effective length it covers.
    covers: i64,
    cost: i64,
    /// Cost beyond the best length's rate, times the best length.
    excess: i128,
}

/// A grid of summed lengths, kerfs included.
#[derive(Debug, Clone, Copy)]
pub(super) struct Cells {
    pub count: usize,
    /// Length of one cell.
    pub size: i64,
    /// Cells a group may lose by rounding.
    pub slack: usize,
    /// Every summed length is a whole number of these.
    pub step: i64,
}

/// Stock lengths with their effective lengths and costs (price, joint and any scarcity charge).
#[derive(Debug, Clone)]
pub(super) struct Menu {
    /// Effective length per kind; one more entry than kinds when extra pieces gain length through the gap.
    eff: Short<i64>,
    cost: Short<i64>,
    best: usize,
    /// Kind of the model behind each entry.
    kinds: Short<usize>,
    mixes: SmallVec<[Mix; 1]>,
    /// Mixes beyond the list have at least this excess.
    tail: i128,
    joint: i64,
    cut: i64,
    kerf: i64,
    gap: i64,
    /// No joints at all: every group is one stock piece.
    unjoined: bool,
}

impl Menu {
    /// The menu of the kinds that `limits` leaves open, for groups whose limited stock is given.
    pub(super) fn open(m: &Model, limits: &[u32]) -> Self {
        let open = |(i, _): &(usize, &Kind)| limits.get(*i) == Some(&UNLIMITED);
        let kinds: Short<(usize, i64)> =
            m.kinds.iter().enumerate().filter(open).map(|(i, _)| (i, 0)).collect();
        Self::new(m, &kinds)
    }

    /// The menu of all kinds, each charged `scarcity[kind]` on top of its price.
    pub(super) fn charged(m: &Model, scarcity: &[i64]) -> Self {
        Self::new(m, &scarcity.iter().copied().enumerate().collect::<Short<_>>())
    }

    fn new(m: &Model, kinds: &[(usize, i64)]) -> Self {
        let offer =
            |&(i, charge): &(usize, i64)| m.kinds.get(i).map(|k| (k.len + m.gap, k.price + m.joint + charge));
        let (mut eff, mut cost): (Short<i64>, Short<i64>) = kinds.iter().filter_map(offer).unzip();
        let mut most: Short<u32> = kinds.iter().filter_map(|k| m.kinds.get(k.0)).map(|k| k.avail).collect();
        if m.gap > m.kerf && !eff.is_empty() {
            // one piece more covers one gap more and costs one kerf, one joint and one cut
            eff.push(m.gap - m.kerf);
            cost.push(m.joint + m.cut);
            most.push(UNLIMITED);
        }
        let best = (0..eff.len()).reduce(|a, b| if cheaper(&eff, &cost, b, a) { b } else { a }).unwrap_or(0);
        let mut menu = Self {
            eff,
            cost,
            best,
            kinds: kinds.iter().map(|k| k.0).collect(),
            mixes: SmallVec::new(),
            tail: i128::MAX,
            joint: m.joint,
            cut: m.cut,
            kerf: m.kerf,
            gap: m.gap,
            unjoined: m.max_pieces == 1,
        };
        menu.fill(&most);
        menu
    }

    /// Cost per effective length of the best kind, as numerator and denominator.
    pub(super) fn rate(&self) -> (i64, i64) {
        (at(&self.cost, self.best), at(&self.eff, self.best).max(1))
    }

    /// Effective length a group of legs needs.
    pub(super) fn need(&self, legs: usize, sum: i64) -> i64 {
        let a = i64::try_from(legs).unwrap_or(i64::MAX / 4);
        sum + (a - 1).saturating_mul(self.kerf) + self.gap
    }

    /// The least one connected group of legs can cost, beside limited stock that covers `covered` already.
    pub(super) fn least_cost(&self, legs: usize, sum: i64, covered: i64) -> i64 {
        self.find(legs, sum, covered).0
    }

    /// The choice behind [`Menu::least_cost`], as counts over `kinds` kinds; `None` when the bound is not a
    /// choice.
    pub(super) fn least_counts(&self, legs: usize, sum: i64, covered: i64, kinds: usize) -> Option<Vec<u32>> {
        let (mix, fills) = self.find(legs, sum, covered).1?;
        let mut counts = vec![0; kinds];
        for (i, &n) in self.mixes.get(mix)?.counts.iter().enumerate().filter(|(_, n)| **n > 0) {
            *counts.get_mut(*self.kinds.get(i)?)? += n;
        }
        if fills > 0 {
            *counts.get_mut(*self.kinds.get(self.best)?)? += u32::try_from(fills).ok()?;
        }
        Some(counts)
    }

    /// Whether [`Menu::least_cost`] may be below `bar`, by the best rate alone.
    pub(super) fn may_cost_less(&self, legs: usize, sum: i64, covered: i64, bar: i64) -> bool {
        let (rate_cost, rate_len) = self.rate();
        let need = i128::from((self.need(legs, sum) - covered).max(0));
        let fixed = self.cut * (i64::try_from(legs).unwrap_or(0) - 1) - self.joint;
        need * i128::from(rate_cost) < i128::from(bar - fixed) * i128::from(rate_len)
    }

    fn find(&self, legs: usize, sum: i64, covered: i64) -> (i64, Option<(usize, i64)>) {
        let need = self.need(legs, sum) - covered;
        if self.eff.is_empty() && need > 0 {
            return (NEVER, None);
        }
        if self.unjoined {
            return self.find_unjoined(legs, need, covered);
        }
        let (rate_cost, rate_len) = self.rate();
        let mut best: Option<(i64, usize, i64)> = None;
        let base = i128::from(need.max(0)) * i128::from(rate_cost);
        for (i, mix) in self.mixes.iter().enumerate() {
            if let Some((c, ..)) = best
                && base + mix.excess >= (i128::from(c) + i128::from(self.cut)) * i128::from(rate_len)
            {
                break;
            }
            let open = need - mix.covers;
            let fills = if open > 0 { div_up(open, rate_len) } else { 0 };
            let exact = mix.covers + fills * rate_len == need;
            let c = mix.cost + fills * rate_cost - if exact { self.cut } else { 0 };
            if best.is_none_or(|(b, ..)| c < b) {
                best = Some((c, i, fills));
            }
        }
        let fixed = self.cut * i64::try_from(legs).unwrap_or(0) - self.joint;
        let tail = self.tail.checked_add(base).map(|t| t / i128::from(rate_len) - i128::from(self.cut));
        let tail = tail.and_then(|t| i64::try_from(t).ok()).unwrap_or(i64::MAX / 2);
        match best {
            Some((c, i, fills)) if c <= tail => (c + fixed, Some((i, fills))),
            Some((c, ..)) => (c.min(tail) + fixed, None),
            None => (tail + fixed, None),
        }
    }

    /// The least cost of a group by its summed cells, without the cuts of its legs: with the chance of a
    /// saved cut where lengths can come out even, and without it (which only rises).
    pub(super) fn least_by_cells(&self, c: &Cells) -> (Vec<i64>, Vec<i64>) {
        let mut rising = vec![NEVER; c.count];
        let mut even = vec![NEVER; c.count];
        let (rate_cost, rate_len) = self.rate();
        let last = c.count.saturating_sub(1);
        let cell = |eff: i64| usize::try_from((eff + self.kerf - self.gap).div_euclid(c.size)).ok();
        let end = c.size.saturating_mul(i64::try_from(c.count).unwrap_or(i64::MAX)).saturating_add(self.gap);
        for mix in &self.mixes {
            let (mut eff, mut cost) = (mix.covers, mix.cost);
            loop {
                if let Some(at) = cell(eff).filter(|_| eff > 0) {
                    let k = at.min(last);
                    if let Some(r) = rising.get_mut(k) {
                        *r = (*r).min(cost);
                    }
                    if (eff + self.kerf - self.gap).rem_euclid(c.step) == 0 {
                        let low = at.saturating_sub(c.slack);
                        for e in even.iter_mut().take(at + 1).skip(low) {
                            *e = (*e).min(cost - self.cut);
                        }
                    }
                }
                if self.unjoined && eff > 0 || eff >= end {
                    break;
                }
                eff += rate_len;
                cost += rate_cost;
            }
        }
        for i in (0..last).rev() {
            let next = rising.get(i + 1).copied().unwrap_or(NEVER);
            if let Some(r) = rising.get_mut(i) {
                *r = (*r).min(next);
            }
        }
        // mixes beyond the list
        if self.tail < i128::MAX {
            for (i, r) in rising.iter_mut().enumerate() {
                let need =
                    i128::try_from(i).unwrap_or(0) * i128::from(c.size) - i128::from(self.kerf - self.gap);
                let tail = (need.max(0) * i128::from(rate_cost) + self.tail) / i128::from(rate_len)
                    - i128::from(self.cut);
                *r = (*r).min(i64::try_from(tail).unwrap_or(NEVER));
            }
        }
        let fixed = |v: i64| v - self.joint;
        let least = rising.iter().zip(&even).map(|(r, e)| fixed(*r.min(e))).collect();
        (least, rising.into_iter().map(fixed).collect())
    }

    /// Without joints a group is one stock piece: the cheapest that is long enough, or the limited one given.
    fn find_unjoined(&self, legs: usize, need: i64, covered: i64) -> (i64, Option<(usize, i64)>) {
        let fixed = self.cut * i64::try_from(legs).unwrap_or(0) - self.joint;
        if covered > 0 {
            // the stock piece given must do; its own mix is none
            let cost = if need == 0 { fixed - self.cut } else { fixed };
            return (if need > 0 { NEVER } else { cost }, Some((0, 0)));
        }
        let single = |mix: &Mix| mix.counts.iter().sum::<u32>() == 1;
        let own = |(i, fills, covers, cost): (usize, i64, i64, i64)| {
            let exact = if covers == need { self.cut } else { 0 };
            (covers >= need).then_some((cost + fixed - exact, (i, fills)))
        };
        let others = self.mixes.iter().enumerate().filter(|(_, m)| single(m));
        let all = others.map(|(i, m)| (i, 0, m.covers, m.cost));
        let best = all.filter_map(own).min();
        best.map_or((NEVER, None), |(cost, choice)| (cost, Some(choice)))
    }

    /// Lists the mixes by growing excess, as far as they can matter and fit.
    fn fill(&mut self, most: &[u32]) {
        if self.unjoined {
            self.mixes = self.singles();
            return;
        }
        let (rate_cost, rate_len) = self.rate();
        // a mix dearer than one more best length, or one saved cut, never wins
        let mut limit = (i128::from(rate_cost) + i128::from(self.cut) + 1) * i128::from(rate_len);
        loop {
            if let Some(mixes) = self.mixes_within(limit, most) {
                self.mixes = mixes;
                self.tail = if limit < 0 { 0 } else { limit + 1 };
                break;
            }
            limit = if limit > 1 { limit / 4 } else { limit - 1 };
        }
        let complete = (i128::from(rate_cost) + i128::from(self.cut)) * i128::from(rate_len);
        if self.tail > complete {
            self.tail = i128::MAX;
        }
        self.mixes.sort_by(|a, b| {
            a.excess.cmp(&b.excess).then(b.covers.cmp(&a.covers)).then(a.counts.cmp(&b.counts))
        });
    }

    /// No stock piece, then one of each kind.
    fn singles(&self) -> SmallVec<[Mix; 1]> {
        let none = Mix { counts: smallvec![0; self.eff.len()], covers: 0, cost: 0, excess: 0 };
        let one = |k: usize| {
            let mut counts = none.counts.clone();
            if let Some(c) = counts.get_mut(k) {
                *c = 1;
            }
            Mix { counts, covers: at(&self.eff, k), cost: at(&self.cost, k), excess: 0 }
        };
        std::iter::once(none.clone()).chain((0..self.kinds.len()).map(one)).collect()
    }

    fn mixes_within(&self, limit: i128, most: &[u32]) -> Option<SmallVec<[Mix; 1]>> {
        let none = Mix { counts: smallvec![0; self.eff.len()], covers: 0, cost: 0, excess: 0 };
        let mut mixes = smallvec![none];
        if limit < 0 {
            return Some(mixes);
        }
        let (rate_cost, rate_len) = self.rate();
        for k in 0..self.eff.len() {
            if k == self.best {
                continue;
            }
            let (eff, cost) = (at(&self.eff, k), at(&self.cost, k));
            let step = i128::from(cost) * i128::from(rate_len) - i128::from(eff) * i128::from(rate_cost);
            // so many of this kind are as long as a whole number of the best kind, at no lower cost
            let cycle = i128::from(rate_len) / gcd(i128::from(rate_len), i128::from(eff)).max(1);
            let top = (cycle - 1).min(i128::from(most.get(k).copied().unwrap_or(0)));
            let known = mixes.len();
            for i in 0..known {
                let Some(from) = mixes.get(i).cloned() else {
                    continue;
                };
                for n in 1..=top {
                    let excess = from.excess + step * n;
                    if excess > limit {
                        break;
                    }
                    if mixes.len() >= MOST_MIXES {
                        return None;
                    }
                    let (Ok(times), Ok(count)) = (i64::try_from(n), u32::try_from(n)) else {
                        return None;
                    };
                    let mut counts = from.counts.clone();
                    if let Some(c) = counts.get_mut(k) {
                        *c = count;
                    }
                    let covers = from.covers.checked_add(eff.checked_mul(times)?)?;
                    let cost = from.cost.checked_add(cost.checked_mul(times)?)?;
                    mixes.push(Mix { counts, covers, cost, excess });
                }
            }
        }
        Some(mixes)
    }
}

fn at(v: &[i64], i: usize) -> i64 {
    v.get(i).copied().unwrap_or(0)
}

/// Whether kind `a` costs less per effective length than kind `b`, ties to the longer.
fn cheaper(eff: &[i64], cost: &[i64], a: usize, b: usize) -> bool {
    let left = i128::from(at(cost, a)) * i128::from(at(eff, b));
    let right = i128::from(at(cost, b)) * i128::from(at(eff, a));
    left < right || (left == right && at(eff, a) > at(eff, b))
}
