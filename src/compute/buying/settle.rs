//! Which offer each need takes once the suppliers are chosen, where a free delivery asks for more goods.
//!
//! The needs are gone through one by one. What has been chosen so far is summed up in its cost and in the goods bought
//! where a threshold must be reached; of two such sums, one that costs no less and has bought no more can be dropped, and
//! so can one that the bound of the weights or the thresholds themselves rule out.

use super::grid::Grid;
use super::pick::{Goods, Pick};
use super::rows::Wanted;
use super::search::{PARTS, Pending, Search, owed, weighed};

/// The needs of one leaf in the order they are settled.
struct Needs<const W: usize> {
    /// Weighed cost and place of every open offer, least first.
    options: Grid<(i64, usize)>,
    order: Vec<usize>,
    /// Least of the needs from each on.
    rest: Vec<i128>,
    /// Suppliers whose threshold must be reached, and the threshold; places beyond them want nothing of nobody.
    wanted: [Wanted; W],
    /// Most goods that the needs from each on can add at each of them.
    reach: Vec<[i64; W]>,
}

/// What has been chosen for the needs gone through so far.
#[derive(Debug, Clone, Copy)]
struct Sum<const W: usize> {
    /// Weighed cost.
    value: i128,
    /// Cost in minor units.
    cost: i64,
    /// Goods at each wanted supplier, no more than its threshold.
    goods: [i64; W],
    /// The sum it came from, and the offer taken.
    from: (u32, u32),
}

/// Sums of one step that are compared with each other where more than one threshold counts.
const COMPARED: usize = 48;

impl Search<'_> {
    /// Settles what is left, the most promising first.
    pub(super) fn settle_pending(&mut self) {
        let mut pending = std::mem::take(&mut self.pending);
        pending.sort_by_key(|p| p.bound);
        for p in pending {
            if p.bound >= self.bar() {
                break;
            }
            if self.left == 0 {
                self.open = self.open.min(p.bound);
                break;
            }
            match p.wanted.len() {
                0 | 1 => self.settle::<1>(&p),
                2 => self.settle::<2>(&p),
                3 | 4 => self.settle::<4>(&p),
                5..=8 => self.settle::<8>(&p),
                9..=16 => self.settle::<16>(&p),
                _ => self.open = self.open.min(p.bound),
            }
            self.polish();
        }
    }

    /// Moves needs of the best choice to other offers one at a time as long as that gains.
    pub(super) fn polish(&mut self) {
        let t = self.t;
        let Some((_, chosen)) = self.best.as_mut() else { return };
        let Some(mut goods) = Goods::of(t, chosen) else { return };
        let mut improved = true;
        while improved && self.left > 0 {
            improved = false;
            let Some((cost, chosen)) = self.best.as_mut() else { return };
            let mut delivery = goods.delivery(t);
            for (row, place) in t.choices.rows().zip(chosen) {
                for (i, other) in row.iter().enumerate() {
                    let Some(now) = row.get(*place) else { continue };
                    // The offers stand by cost: from one on that is dearer by all that delivery asks for, none can gain.
                    if other.cost - now.cost >= delivery {
                        break;
                    }
                    if i == *place {
                        continue;
                    }
                    goods.exchange(now, other);
                    let with = goods.with_delivery(t);
                    if with < *cost && goods.suppliers() <= t.most {
                        (*cost, *place) = (with, i);
                        delivery = goods.delivery(t);
                        improved = true;
                    } else {
                        goods.exchange(other, now);
                    }
                }
            }
            self.take(t.choices.len() as u64);
        }
    }

    /// Settles the needs one by one under the bound of the weights.
    fn settle<const W: usize>(&mut self, p: &Pending) {
        let needs = self.needs::<W>(p);
        let base = owed(&p.wanted, &p.weight) + i128::from(p.paid) * i128::from(PARTS);
        let start = Sum { value: base, cost: p.paid, goods: [0; W], from: (0, 0) };
        let mut steps: Vec<Vec<Sum<W>>> = vec![vec![start]];
        for at in 0..needs.order.len() {
            let Some(before) = steps.last() else { return };
            let next = self.step(&needs, at, before);
            let done = self.take(next.len() as u64 + 1);
            if !done {
                // what is left unsearched here costs at least the bound of this choice of suppliers
                self.open = self.open.min(p.bound);
                return;
            }
            if next.is_empty() {
                return;
            }
            steps.push(next);
        }
        let last = steps.last().map_or(&[][..], Vec::as_slice);
        let Some(best) = (0..last.len()).min_by_key(|&i| last.get(i).map(|s| s.cost)) else { return };
        let mut pick = vec![0_usize; needs.order.len()];
        let mut i = best;
        for (at, &need) in needs.order.iter().enumerate().rev() {
            let Some(sum) = steps.get(at + 1).and_then(|s| s.get(i)) else { return };
            if let Some(p) = pick.get_mut(need) {
                *p = sum.from.1 as usize;
            }
            i = sum.from.0 as usize;
        }
        if let Some(goods) = Goods::of(self.t, &pick) {
            self.offer(&Pick { places: pick, goods });
        }
    }

    fn needs<const W: usize>(&self, p: &Pending) -> Needs<W> {
        let count = self.t.choices.len();
        let mut options = Grid::with_room(count, self.t.choices.cells().len());
        let mut sorted: Vec<(i64, usize)> = Vec::new();
        for row in p.rows.each() {
            sorted.extend(row.iter().map(|c| (weighed(c, &p.weight), c.place)));
            sorted.sort_unstable();
            options.push(sorted.drain(..));
        }
        // needs whose choice matters most come first
        let mut order: Vec<usize> = (0..count).collect();
        order.sort_by_key(|&n| {
            let o = options.row(n);
            (std::cmp::Reverse(o.get(1).zip(o.first()).map(|(b, a)| b.0 - a.0)), n)
        });
        let mut wanted: [Wanted; W] = [(usize::MAX, 0); W];
        wanted.iter_mut().zip(&p.wanted).for_each(|(place, w)| *place = *w);
        let most: Vec<[i64; W]> = p
            .rows
            .each()
            .map(|row| {
                wanted.map(|(s, _)| row.iter().filter(|c| c.supplier == s).map(|c| c.cost).max().unwrap_or(0))
            })
            .collect();
        let (mut rest, mut reach) = (vec![0_i128; count + 1], vec![[0_i64; W]; count + 1]);
        let (mut sum, mut goods) = (0_i128, [0_i64; W]);
        for (k, &n) in order.iter().enumerate().rev() {
            sum += options.row(n).first().map_or(0, |o| i128::from(o.0));
            goods.iter_mut().zip(most.get(n).unwrap_or(&[0; W])).for_each(|(g, m)| *g += m);
            if let (Some(r), Some(g)) = (rest.get_mut(k), reach.get_mut(k)) {
                (*r, *g) = (sum, goods);
            }
        }
        Needs { options, order, rest, wanted, reach }
    }

    /// Every sum after the need at `at` that can still win.
    fn step<const W: usize>(&self, n: &Needs<W>, at: usize, before: &[Sum<W>]) -> Vec<Sum<W>> {
        let need = n.order.get(at).copied().unwrap_or(0);
        let rest = n.rest.get(at + 1).copied().unwrap_or(0);
        let reach = n.reach.get(at + 1).copied().unwrap_or([0; W]);
        let row = self.t.choices.row(need);
        let bar = i128::from(self.bar() - 1) * i128::from(PARTS);
        let mut next = Vec::with_capacity(before.len() * 2);
        for (i, sum) in (0_u32..).zip(before) {
            for &(weighed, option) in n.options.row(need) {
                let value = sum.value + i128::from(weighed);
                if value + rest > bar {
                    break; // the options after it are no better
                }
                let Some(c) = row.get(option) else { continue };
                let mut goods = sum.goods;
                let mut reached = true;
                for ((g, (s, threshold)), more) in goods.iter_mut().zip(&n.wanted).zip(&reach) {
                    if c.supplier == *s {
                        *g = (*g + c.cost).min(*threshold);
                    }
                    reached &= *g + more >= *threshold;
                }
                if reached {
                    let from = (i, u32::try_from(option).unwrap_or(0));
                    next.push(Sum { value, cost: sum.cost + c.cost, goods, from });
                }
            }
        }
        undominated(next)
    }
}

/// Pairs of goods of which none is beaten in both by another: the first rises, the second falls.
#[derive(Debug, Default)]
struct Stairs(Vec<(i64, i64)>);

impl Stairs {
    /// Takes in a pair, unless one already in has no less of both.
    fn climbs(&mut self, one: i64, two: i64) -> bool {
        let from = self.0.partition_point(|(a, _)| *a < one);
        // Of the pairs with no less of the first, the nearest has the most of the second.
        if self.0.get(from).is_some_and(|(_, b)| *b >= two) {
            return false;
        }
        let low = self.0[..from].partition_point(|(_, b)| *b > two);
        let high = if self.0.get(from).is_some_and(|(a, _)| *a == one) { from + 1 } else { from };
        self.0.splice(low..high, [(one, two)]);
        true
    }
}

/// Drops sums that cost no less and have bought no more than another.
fn undominated<const W: usize>(mut all: Vec<Sum<W>>) -> Vec<Sum<W>> {
    all.sort_unstable_by(|a, b| {
        a.cost.cmp(&b.cost).then_with(|| b.goods.cmp(&a.goods)).then(a.from.cmp(&b.from))
    });
    let mut kept: Vec<Sum<W>> = Vec::with_capacity(all.len());
    let mut most = None;
    let mut stairs = Stairs::default();
    for sum in all {
        let beaten = match sum.goods.as_slice() {
            [one] => most.is_some_and(|m| *one <= m),
            [one, two] => !stairs.climbs(*one, *two),
            _ => {
                kept.iter().rev().take(COMPARED).any(|k| k.goods.iter().zip(&sum.goods).all(|(a, b)| a >= b))
            }
        };
        if !beaten {
            most = most.max(sum.goods.first().copied());
            kept.push(sum);
        }
    }
    kept
}

#[cfg(test)]
mod tests {
    use super::Stairs;

    #[test]
    fn stairs_know_every_pair_that_is_beaten() {
        // A small sequence without a pattern, against comparing with all that came before.
        let mut stairs = Stairs::default();
        let mut before: Vec<(i64, i64)> = Vec::new();
        let mut state = 7_u64;
        for _ in 0..3000 {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            let (one, two) = ((state >> 33) as i64 % 60, (state >> 45) as i64 % 60);
            let beaten = before.iter().any(|(a, b)| *a >= one && *b >= two);
            assert_eq!(stairs.climbs(one, two), !beaten, "{one} {two}");
            before.push((one, two));
        }
    }
}
