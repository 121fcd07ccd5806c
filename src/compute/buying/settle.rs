//! Which offer each need takes once the suppliers are chosen, where a free delivery asks for more goods.

use super::search::{PARTS, Search, weighed};
use crate::compute::exact::ceil_div;

/// The needs of one leaf in the order they are settled.
struct Needs {
    /// Weighed cost and place of every open offer, least first.
    options: Vec<Vec<(i128, usize)>>,
    order: Vec<usize>,
    /// Least of the needs from each on.
    rest: Vec<i128>,
}

impl Search<'_> {
    /// Settles what is left, the most promising first.
    pub fn settle_pending(&mut self) {
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
    pub fn polish(&mut self) {
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
        let needs = self.t.choices.len();
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
        let mut order: Vec<usize> = (0..needs).collect();
        order.sort_by_key(|&n| {
            let o = options.get(n).map_or(&[][..], Vec::as_slice);
            (std::cmp::Reverse(o.get(1).zip(o.first()).map(|(b, a)| b.0 - a.0)), n)
        });
        let mut rest = vec![0_i128; needs + 1];
        for (k, &n) in order.iter().enumerate().rev() {
            let least = options.get(n).and_then(|o| o.first()).map_or(0, |o| o.0);
            let after = rest.get(k + 1).copied().unwrap_or(0);
            if let Some(r) = rest.get_mut(k) {
                *r = after + least;
            }
        }
        let base = self.owed(weight) + i128::from(paid) * i128::from(PARTS);
        let mut pick = vec![0_usize; needs];
        self.fill(&Needs { options, order, rest }, 0, base, &mut pick);
    }

    fn fill(&mut self, n: &Needs, at: usize, value: i128, pick: &mut Vec<usize>) {
        let bound = value + n.rest.get(at).copied().unwrap_or(0);
        let bound = ceil_div(bound, i128::from(PARTS)).unwrap_or(0);
        let bound = i64::try_from(bound).unwrap_or(i64::MAX).max(self.floor);
        if bound >= self.bar() {
            return;
        }
        if !self.take(1) {
            self.open = self.open.min(bound);
            return;
        }
        let Some(&need) = n.order.get(at) else {
            self.offer(pick.clone());
            return;
        };
        for &(cost, i) in n.options.get(need).map_or(&[][..], Vec::as_slice) {
            if let Some(p) = pick.get_mut(need) {
                *p = i;
            }
            self.fill(n, at + 1, value + cost, pick);
        }
    }
}
