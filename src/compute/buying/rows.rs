//! The offers still worth taking for each need, once it is decided which suppliers deliver free.
//!
//! Two rules throw offers out, and neither can lose the cheapest choice: without the offer's goods a threshold can
//! no longer be reached whatever the other needs take, or the bound with the offer taken is no better than the best
//! choice known.

use super::grid::Grid;
use super::search::{PARTS, weighed};
use super::table::{Choice, Table};

/// A supplier and the goods that must be bought there.
pub(super) type Wanted = (usize, i64);

/// An offer left.
#[derive(Debug, Clone, Copy)]
pub(super) struct Left {
    pub need: usize,
    /// Its place in the row of the table.
    pub place: usize,
    pub supplier: usize,
    /// Line cost in minor units.
    pub cost: i64,
}

impl Left {
    /// What it counts towards the threshold of a supplier.
    fn goods(&self, supplier: usize) -> i64 {
        if self.supplier == supplier { self.cost } else { 0 }
    }
}

/// The offers left of each need, in the order of the table: cheapest first.
#[derive(Debug, Clone)]
pub(super) struct Rows(Grid<Left>);

/// A need that one supplier's threshold hangs on, where it can be bought there or elsewhere.
#[derive(Debug, Clone, Copy)]
pub(super) struct Hinge {
    need: usize,
    supplier: usize,
}

impl Rows {
    /// The offers of the suppliers that are open.
    pub(super) fn of(table: &Table, open: impl Fn(&Choice) -> bool) -> Self {
        let mut rows = Grid::with_room(table.choices.len(), table.choices.cells().len());
        for (need, row) in table.choices.rows().enumerate() {
            let left = row.iter().enumerate().filter(|(_, c)| open(c));
            rows.push(left.map(|(place, c)| Left { need, place, supplier: c.supplier, cost: c.cost }));
        }
        Self(rows)
    }

    /// Every need in the order of the table, with the offers left of it.
    pub(super) fn each(&self) -> impl Iterator<Item = &[Left]> {
        self.0.rows()
    }

    /// Throws out what would leave a threshold out of reach; `false` when it is so already.
    pub(super) fn keep_reachable(&mut self, wanted: &[Wanted]) -> bool {
        let mut most = vec![0_i64; self.0.len()];
        let mut again = true;
        while again {
            again = false;
            for &(supplier, threshold) in wanted {
                most.fill(0);
                for c in self.0.cells() {
                    if let Some(most) = most.get_mut(c.need) {
                        *most = c.goods(supplier).max(*most);
                    }
                }
                let spare = most.iter().sum::<i64>() - threshold;
                if spare < 0 {
                    return false;
                }
                let least = |c: &Left| most.get(c.need).map_or(0, |most| most - spare);
                again |= self.0.retain(|c| c.goods(supplier) >= least(c));
            }
        }
        true
    }

    /// Throws out every offer with which the bound reaches the bar; whether there was one.
    ///
    /// `value` is the bound in parts with every need at its least weighed offer.
    pub(super) fn drop_dear(&mut self, weight: &[i64], value: i128, bar: i64) -> bool {
        // The bound is rounded up to whole minor units: one below the bar is the most that wins.
        let spare = i128::from(bar - 1) * i128::from(PARTS) - value;
        let least: Vec<i64> =
            self.each().map(|row| row.iter().map(|c| weighed(c, weight)).min().unwrap_or(0)).collect();
        let more = |c: &Left| weighed(c, weight) - least.get(c.need).copied().unwrap_or(0);
        self.0.retain(|c| i128::from(more(c)) <= spare)
    }

    /// The need that counts most towards a threshold, where it is a good part of what is not yet certain.
    pub(super) fn hinge(&self, wanted: &[Wanted]) -> Option<Hinge> {
        let mut best: Option<(i64, Hinge)> = None;
        for &(supplier, threshold) in wanted {
            let certain: i64 =
                self.each().map(|row| row.iter().map(|c| c.goods(supplier)).min().unwrap_or(0)).sum();
            let lack = threshold - certain;
            for (need, row) in self.each().enumerate() {
                let elsewhere = row.iter().any(|c| c.supplier != supplier);
                let most = row.iter().map(|c| c.goods(supplier)).max().unwrap_or(0);
                if elsewhere && most > 0 && most >= lack / 4 && best.is_none_or(|(m, _)| most > m) {
                    best = Some((most, Hinge { need, supplier }));
                }
            }
        }
        best.map(|(_, hinge)| hinge)
    }

    /// The same with one need bought at its supplier, or elsewhere.
    pub(super) fn with(&self, hinge: Hinge, there: bool) -> Self {
        let mut rows = self.clone();
        rows.0.retain(|c| c.need != hinge.need || (c.supplier == hinge.supplier) == there);
        rows
    }
}
