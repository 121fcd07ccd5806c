//! Which offer each need takes once the suppliers are chosen, where a free delivery asks for more goods.
//!
//! The needs are gone through one by one. What has been chosen so far is summed up in its cost and in the goods bought
//! where a threshold must be reached; of two such sums, one that costs no less and has bought no more can be dropped, and
//! so can one that the bound of the weights or the thresholds themselves rule out.

use super::search::{PARTS, Role, Search, weighed};
use crate::compute::exact::ceil_div;

/// The needs of one leaf in the order they are settled.
struct Needs {
    /// Weighed cost and place of every open offer, least first.
    options: Vec<Vec<(i128, usize)>>,
    order: Vec<usize>,
    /// Least of the needs from each on.
    rest: Vec<i128>,
    /// Suppliers whose threshold must be reached, and the threshold.
    wanted: Vec<(usize, i64)>,
    /// Most goods that the needs from each on can add at each of them.
    reach: Vec<Vec<i64>>,
}

/// What has been chosen for the needs gone through so far.
#[derive(Debug, Clone)]
struct Sum {
    /// Weighed cost.
    value: i128,
    /// Cost in minor units.
    cost: i64,
    /// Goods at each wanted supplier, no more than its threshold.
    goods: Vec<i64>,
    /// The sum it came from, and the offer taken.
    from: (usize, usize),
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
            self.roles = p.roles;
            self.floor = p.bound;
            self.settle(p.paid, &p.weight);
            self.polish();
        }
    }

    /// Moves needs of the best choice to other offers one at a time as long as that gains.
    pub(super) fn polish(&mut self) {
        let mut improved = true;
        while improved && self.left > 0 {
            improved = false;
            let Some((_, chosen)) = self.best.clone() else {
                return;
            };
            for (need, row) in self.t.choices.iter().enumerate() {
                for i in 0..row.len() {
                    let before = self.bar();
                    let mut other = self.best.as_ref().map_or_else(|| chosen.clone(), |b| b.1.clone());
                    if let Some(o) = other.get_mut(need) {
                        *o = i;
                    }
                    self.offer(other);
                    improved |= self.bar() < before;
                }
            }
            self.take(self.t.choices.len() as u64);
        }
    }

    /// Settles the needs one by one under the bound of the weights.
    fn settle(&mut self, paid: i64, weight: &[i64]) {
        let needs = self.needs(weight);
        let base = self.owed(weight) + i128::from(paid) * i128::from(PARTS);
        let start = Sum { value: base, cost: paid, goods: vec![0; needs.wanted.len()], from: (0, 0) };
        let mut steps: Vec<Vec<Sum>> = vec![vec![start]];
        for at in 0..needs.order.len() {
            let Some(before) = steps.last() else { return };
            let next = self.step(&needs, at, before);
            let done = self.take(next.len() as u64 + 1);
            if !done {
                // what is left unsearched here costs at least the bound of this choice of suppliers
                self.open = self.open.min(self.floor);
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
                *p = sum.from.1;
            }
            i = sum.from.0;
        }
        self.offer(pick);
    }

    fn needs(&self, weight: &[i64]) -> Needs {
        let count = self.t.choices.len();
        let options: Vec<Vec<(i128, usize)>> = self
            .t
            .choices
            .iter()
            .map(|row| {
                let open = row.iter().enumerate().filter(|(_, c)| self.is_open(c));
                let mut options: Vec<(i128, usize)> = open.map(|(i, c)| (weighed(c, weight), i)).collect();
                options.sort_unstable();
                options
            })
            .collect();
        // needs whose choice matters most come first
        let mut order: Vec<usize> = (0..count).collect();
        order.sort_by_key(|&n| {
            let o = options.get(n).map_or(&[][..], Vec::as_slice);
            (std::cmp::Reverse(o.get(1).zip(o.first()).map(|(b, a)| b.0 - a.0)), n)
        });
        let wanted: Vec<(usize, i64)> = (0..self.roles.len())
            .filter(|&s| {
                self.roles.get(s) == Some(&Role::Free) && self.t.delivery.get(s).is_some_and(|d| *d > 0)
            })
            .filter_map(|s| Some((s, self.t.free_from.get(s).copied().flatten()?)))
            .collect();
        let mut rest = vec![0_i128; count + 1];
        let mut reach = vec![vec![0_i64; wanted.len()]; count + 1];
        for (k, &n) in order.iter().enumerate().rev() {
            let least = options.get(n).and_then(|o| o.first()).map_or(0, |o| o.0);
            let after = rest.get(k + 1).copied().unwrap_or(0);
            if let Some(r) = rest.get_mut(k) {
                *r = after + least;
            }
            let more: Vec<i64> = wanted
                .iter()
                .enumerate()
                .map(|(w, (s, _))| {
                    let row = self.t.choices.get(n).map_or(&[][..], Vec::as_slice);
                    let most = row.iter().filter(|c| c.supplier == *s).map(|c| c.cost).max().unwrap_or(0);
                    most + reach.get(k + 1).and_then(|r| r.get(w)).copied().unwrap_or(0)
                })
                .collect();
            if let Some(r) = reach.get_mut(k) {
                *r = more;
            }
        }
        Needs { options, order, rest, wanted, reach }
    }

    /// Every sum after the need at `at` that can still win.
    fn step(&self, n: &Needs, at: usize, before: &[Sum]) -> Vec<Sum> {
        let need = n.order.get(at).copied().unwrap_or(0);
        let rest = n.rest.get(at + 1).copied().unwrap_or(0);
        let reach = n.reach.get(at + 1).map_or(&[][..], Vec::as_slice);
        let row = self.t.choices.get(need).map_or(&[][..], Vec::as_slice);
        let mut next = Vec::with_capacity(before.len() * 2);
        for (i, sum) in before.iter().enumerate() {
            for &(weighed, option) in n.options.get(need).map_or(&[][..], Vec::as_slice) {
                let value = sum.value + weighed;
                let bound = ceil_div(value + rest, i128::from(PARTS)).unwrap_or(0);
                if i64::try_from(bound).unwrap_or(i64::MAX) >= self.bar() {
                    break; // the options after it are no better
                }
                let Some(c) = row.get(option) else { continue };
                let mut goods = sum.goods.clone();
                let mut reached = true;
                for ((g, (s, threshold)), more) in goods.iter_mut().zip(&n.wanted).zip(reach) {
                    if c.supplier == *s {
                        *g = (*g + c.cost).min(*threshold);
                    }
                    reached &= *g + more >= *threshold;
                }
                if reached {
                    next.push(Sum { value, cost: sum.cost + c.cost, goods, from: (i, option) });
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
fn undominated(mut all: Vec<Sum>) -> Vec<Sum> {
    all.sort_by(|a, b| a.cost.cmp(&b.cost).then_with(|| b.goods.cmp(&a.goods)).then(a.from.cmp(&b.from)));
    let mut kept: Vec<Sum> = Vec::with_capacity(all.len());
    let mut most = None;
    let mut stairs = Stairs::default();
    for sum in all {
        let beaten = match sum.goods.as_slice() {
            [] => !kept.is_empty(),
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
