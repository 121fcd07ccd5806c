//! The offers still worth taking for each need, once it is decided which suppliers deliver free.
//!
//! Two rules throw offers out, and neither can lose the cheapest choice: without the offer's goods a threshold can
//! no longer be reached whatever the other needs take, or the bound with the offer taken is no better than the best
//! choice known.

use super::search::{PARTS, weighed};
use super::table::{Choice, Table};
use crate::compute::exact::ceil_div;

/// A supplier and the goods that must be bought there.
pub(super) type Wanted = (usize, i64);

/// Places of the offers left in the table, cheapest first, need by need.
#[derive(Debug, Clone)]
pub(super) struct Rows(Vec<Vec<usize>>);

/// A need that one supplier's threshold hangs on, where it can be bought there or elsewhere.
#[derive(Debug, Clone, Copy)]
pub(super) struct Hinge {
    need: usize,
    supplier: usize,
}

impl Rows {
    /// The offers of the suppliers that are open.
    pub(super) fn of(table: &Table, open: impl Fn(&Choice) -> bool) -> Self {
        let row = |row: &Vec<Choice>| (0..row.len()).filter(|&i| row.get(i).is_some_and(&open)).collect();
        Self(table.choices.iter().map(row).collect())
    }

    /// Every need in the order of the table, with the place and the figures of each offer left.
    pub(super) fn each<'a>(
        &'a self,
        table: &'a Table,
    ) -> impl DoubleEndedIterator<Item = impl Iterator<Item = (usize, &'a Choice)> + Clone> + ExactSizeIterator
    {
        self.0
            .iter()
            .zip(&table.choices)
            .map(|(left, row)| left.iter().filter_map(move |&i| row.get(i).map(|choice| (i, choice))))
    }

    /// Throws out what would leave a threshold out of reach; `false` when it is so already.
    pub(super) fn keep_reachable(&mut self, table: &Table, wanted: &[Wanted]) -> bool {
        let mut again = true;
        while again {
            again = false;
            for &(supplier, threshold) in wanted {
                let goods = |c: &Choice| if c.supplier == supplier { c.cost } else { 0 };
                let most: Vec<i64> =
                    self.each(table).map(|row| row.map(|(_, c)| goods(c)).max().unwrap_or(0)).collect();
                let spare = most.iter().sum::<i64>() - threshold;
                if spare < 0 {
                    return false;
                }
                for ((left, row), most) in self.0.iter_mut().zip(&table.choices).zip(&most) {
                    let before = left.len();
                    left.retain(|&i| row.get(i).is_some_and(|c| goods(c) >= most - spare));
                    again |= left.len() < before;
                }
            }
        }
        true
    }

    /// Throws out every offer with which the bound reaches the bar; whether there was one.
    ///
    /// `value` is the bound in parts with every need at its least weighed offer.
    pub(super) fn drop_dear(&mut self, table: &Table, weight: &[i64], value: i128, bar: i64) -> bool {
        let mut dropped = false;
        for (left, row) in self.0.iter_mut().zip(&table.choices) {
            let cost = |i: &usize| row.get(*i).map(|c| weighed(c, weight));
            let Some(least) = left.iter().filter_map(cost).min() else { continue };
            let before = left.len();
            left.retain(|i| {
                let with = cost(i).and_then(|c| ceil_div(value + c - least, i128::from(PARTS)));
                with.is_some_and(|with| with < i128::from(bar))
            });
            dropped |= left.len() < before;
        }
        dropped
    }

    /// The need that counts most towards a threshold, where it is a good part of what is not yet certain.
    pub(super) fn hinge(&self, table: &Table, wanted: &[Wanted]) -> Option<Hinge> {
        let mut best: Option<(i64, Hinge)> = None;
        for &(supplier, threshold) in wanted {
            let goods = |c: &Choice| if c.supplier == supplier { c.cost } else { 0 };
            let certain: i64 = self.each(table).map(|r| r.map(|(_, c)| goods(c)).min().unwrap_or(0)).sum();
            let lack = threshold - certain;
            for (need, row) in self.each(table).enumerate() {
                let elsewhere = row.clone().any(|(_, c)| c.supplier != supplier);
                let most = row.map(|(_, c)| goods(c)).max().unwrap_or(0);
                if elsewhere && most > 0 && most >= lack / 4 && best.is_none_or(|(m, _)| most > m) {
                    best = Some((most, Hinge { need, supplier }));
                }
            }
        }
        best.map(|(_, hinge)| hinge)
    }

    /// The same with one need bought at its supplier, or elsewhere.
    pub(super) fn with(&self, table: &Table, hinge: Hinge, there: bool) -> Self {
        let mut rows = self.clone();
        if let (Some(left), Some(row)) = (rows.0.get_mut(hinge.need), table.choices.get(hinge.need)) {
            left.retain(|&i| row.get(i).is_some_and(|c| (c.supplier == hinge.supplier) == there));
        }
        rows
    }
}
