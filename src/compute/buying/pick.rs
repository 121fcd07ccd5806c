//! A full choice of offers, and what it buys at each supplier.

use super::rows::{Rows, Wanted};
use super::search::weighed;
use super::table::{Choice, Table};

/// An offer for every need, by its place in the row of the need.
#[derive(Debug, Clone)]
pub(super) struct Pick {
    pub places: Vec<usize>,
    pub goods: Goods,
}

impl Pick {
    /// No need met yet.
    pub(super) fn none(t: &Table) -> Self {
        Self { places: Vec::with_capacity(t.choices.len()), goods: Goods::none(t) }
    }

    /// The cheapest of the offers that are open for every need; `None` where a need has none.
    pub(super) fn of(t: &Table, open: impl Fn(&Choice) -> bool) -> Option<Self> {
        let mut pick = Self::none(t);
        for row in t.choices.rows() {
            let (place, c) = row.iter().enumerate().find(|(_, c)| open(c))?;
            pick.places.push(place);
            pick.goods.add(c.supplier, c.cost);
        }
        Some(pick)
    }

    /// Takes the least weighed offer left of every need instead; what they come to, in parts.
    pub(super) fn relax(&mut self, rows: &Rows, weight: &[i64]) -> i128 {
        self.places.clear();
        self.goods.0.fill((0, 0));
        let mut sum = 0;
        for row in rows.each() {
            let Some((value, c)) =
                row.iter().map(|c| (weighed(c, weight), c)).min_by_key(|(value, _)| *value)
            else {
                continue;
            };
            sum += i128::from(value);
            self.places.push(c.place);
            self.goods.add(c.supplier, c.cost);
        }
        sum
    }
}

/// What is bought at each supplier: how many needs, and for how much in minor units.
#[derive(Debug, Clone)]
pub(super) struct Goods(Vec<(usize, i64)>);

impl Goods {
    fn none(t: &Table) -> Self {
        Self(vec![(0, 0); t.delivery.len()])
    }

    /// Those of the offers at these places; `None` where one is not in the table.
    pub(super) fn of(t: &Table, places: &[usize]) -> Option<Self> {
        let mut goods = Self::none(t);
        for (row, &place) in t.choices.rows().zip(places) {
            let c = row.get(place)?;
            goods.add(c.supplier, c.cost);
        }
        Some(goods)
    }

    fn add(&mut self, supplier: usize, cost: i64) {
        if let Some((needs, goods)) = self.0.get_mut(supplier) {
            *needs += 1;
            *goods += cost;
        }
    }

    /// One need bought at another offer.
    pub(super) fn exchange(&mut self, old: &Choice, new: &Choice) {
        if let Some((needs, goods)) = self.0.get_mut(old.supplier) {
            *needs -= 1;
            *goods -= old.cost;
        }
        self.add(new.supplier, new.cost);
    }

    /// Bought at one supplier.
    pub(super) fn at(&self, supplier: usize) -> i64 {
        self.0.get(supplier).map_or(0, |(_, goods)| *goods)
    }

    /// Whether every threshold is reached.
    pub(super) fn reach(&self, wanted: &[Wanted]) -> bool {
        wanted.iter().all(|&(supplier, threshold)| self.at(supplier) >= threshold)
    }

    /// How many suppliers something is bought from.
    pub(super) fn suppliers(&self) -> usize {
        self.0.iter().filter(|(needs, _)| *needs > 0).count()
    }

    /// Delivery of everything.
    pub(super) fn delivery(&self, t: &Table) -> i64 {
        let used = self.0.iter().enumerate().filter(|(_, (needs, _))| *needs > 0);
        used.map(|(s, (_, goods))| t.delivery(s, *goods)).sum()
    }

    /// Everything with its delivery.
    pub(super) fn with_delivery(&self, t: &Table) -> i64 {
        self.0.iter().map(|(_, goods)| goods).sum::<i64>() + self.delivery(t)
    }
}
