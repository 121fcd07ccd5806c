//! Whole stock pieces for what the cut ones leave open of each leg; the lengths of the cut ones are a transport problem.

use super::{Placed, Search};
use crate::compute::cutting::component::{Cut, Group};
use crate::compute::cutting::flow::{Supply, ship};
use crate::compute::cutting::model::len_i64;

impl Search<'_> {
    /// Hands the whole stock pieces out to the legs.
    pub(super) fn fill(&mut self, p: Placed) {
        let mut left: Vec<usize> = self.blocks.iter().map(|b| b.count).collect();
        for (_, block) in &self.chosen {
            if let Some(l) = left.get_mut(*block) {
                *l = l.saturating_sub(1);
            }
        }
        let mut given = vec![vec![0_usize; self.blocks.len()]; self.goal.len()];
        self.hand_out(0, 0, 0, p.tied, &mut left, &mut given);
    }

    /// Gives leg `leg` whole pieces of the blocks from `block` on; `sum` is what it has been given.
    fn hand_out(
        &mut self,
        leg: usize,
        block: usize,
        sum: i64,
        tied: u32,
        left: &mut Vec<usize>,
        given: &mut Vec<Vec<usize>>,
    ) {
        if self.spent() || self.bar <= self.base {
            return;
        }
        let at = |v: &[i64]| v.get(leg).copied().unwrap_or(0);
        let (Some(&goal), most) = (self.goal.get(leg), at(&self.high)) else {
            self.finish(given);
            return;
        };
        let room = goal - at(&self.low) - sum;
        let lack = goal - most - sum;
        let Some(&b) = self.blocks.get(block) else {
            // nothing more to give: what is left must fit the legs after it
            let rest: i64 =
                left.iter().zip(&self.blocks).map(|(&n, b)| len_i64(n) * (b.len + self.m.gap)).sum();
            let over = |v: &[i64]| -> i64 {
                self.goal.iter().zip(v).skip(leg + 1).map(|(g, x)| (g - x).max(0)).sum()
            };
            if lack <= 0 && rest <= over(&self.low) && rest >= over(&self.high) {
                self.hand_out(leg + 1, 0, 0, tied, left, given);
            }
            return;
        };
        let unit = b.len + self.m.gap;
        let has = left.get(block).copied().unwrap_or(0);
        let have = given.get(leg).map_or(0, |g| g.iter().sum::<usize>());
        let joints = self.m.max_pieces.saturating_sub(at(&self.count) + len_i64(have)).max(0);
        let most = has.min(usize::try_from(room.div_euclid(unit).min(joints)).unwrap_or(0));
        let last = block + 1 == self.blocks.len();
        let least = if last { usize::try_from((lack + unit - 1).div_euclid(unit)).unwrap_or(0) } else { 0 };
        for n in (least..=most).rev() {
            if let Some(g) = given.get_mut(leg).and_then(|g| g.get_mut(block)) {
                *g = n;
            }
            // of legs that nothing tells apart, the first has no less than the next
            let swapped = last
                && tied >> leg & 1 == 1
                && leg.checked_sub(1).and_then(|l| given.get(l)) < given.get(leg);
            if !swapped {
                left.iter_mut().skip(block).take(1).for_each(|l| *l -= n);
                self.hand_out(leg, block + 1, sum + len_i64(n) * unit, tied, left, given);
                left.iter_mut().skip(block).take(1).for_each(|l| *l += n);
            }
        }
        if let Some(g) = given.get_mut(leg).and_then(|g| g.get_mut(block)) {
            *g = 0;
        }
    }

    /// Finds the lengths of the full pattern and keeps it when it is possible and cheaper.
    fn finish(&mut self, given: &[Vec<usize>]) {
        let mut next: Vec<usize> = self.blocks.iter().map(|b| b.from).collect();
        let mut take = |block: usize| {
            let at = next.get_mut(block)?;
            *at += 1;
            Some(*at - 1)
        };
        let mut open: Vec<i64> = self.goal.iter().zip(&self.low).map(|(g, l)| g - l).collect();
        let mut cuts = Vec::new();
        for (leg, (given, open)) in given.iter().zip(&mut open).enumerate() {
            for (block, (&n, b)) in given.iter().zip(&self.blocks).enumerate() {
                for _ in 0..n {
                    let Some(stock) = take(block) else { return };
                    cuts.push(Cut { leg, stock, len: b.len });
                    *open -= b.len + self.m.gap;
                }
            }
        }
        let mut supplies = Vec::with_capacity(self.chosen.len());
        let mut from = Vec::with_capacity(self.chosen.len());
        for &(r, block) in &self.chosen {
            let (Some(role), Some(b), Some(stock)) = (self.roles.get(r), self.blocks.get(block), take(block))
            else {
                return;
            };
            let legs: Vec<usize> = (0..self.goal.len()).filter(|l| role.mask >> l & 1 == 1).collect();
            let n = len_i64(legs.len());
            let spare = b.len - (n - 1) * self.m.kerf - role.least;
            supplies.push(Supply { spare, all: role.all, legs });
            from.push(stock);
        }
        self.nodes += supplies.len();
        let Some(flow) = ship(&supplies, &open) else {
            return;
        };
        for ((supply, lens), &stock) in supplies.iter().zip(&flow).zip(&from) {
            for (&leg, &extra) in supply.legs.iter().zip(lens) {
                let least = self.least.get(leg).copied().unwrap_or(0);
                cuts.push(Cut { leg, stock, len: least + extra });
            }
        }
        let group = Group::new(self.m, (0..self.goal.len()).collect(), self.stock, &cuts);
        if group.cost < self.bar {
            self.bar = group.cost;
            self.best = Some(group);
        }
    }
}
