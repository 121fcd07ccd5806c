//! The bound for many legs: prices per leg that no group of legs can undercut.
//!
//! If every group of legs costs at least the sum of the prices of its legs, every plan costs at least the sum
//! of all prices. Good prices come from the linear programme over groups. They are then made safe: a knapsack
//! over the summed lengths finds the group that falls short most, and all prices shrink by just so much.
//! Groups longer than the knapsack are covered by a cap on each price.

use super::component::Budget;
use super::master::{Column, Master};
use super::menu::Menu;
use super::model::{Model, len_i64};
use crate::compute::exact::gcd;

/// Most cells of the knapsack, with whole lengths and with rounded ones.
const MOST_CELLS: i64 = 1 << 17;
const CELLS: i64 = 1 << 14;
/// Rounds of new groups.
const ROUNDS: usize = 60;
/// Groups of little excess kept per leg.
const HINTS: usize = 8;
/// Most stock choices looked at for one pair of legs.
const MOST_ENDS: usize = 24;
/// Most cells times legs of a knapsack: 256 MB of marks.
const MOST_WORK: usize = 1 << 31;
/// Unreachable.
const NONE: i64 = i64::MIN / 4;

/// Prices per leg and the bound they prove.
#[derive(Debug, Clone)]
pub(super) struct Prices {
    pub price: Vec<i64>,
    pub bound: i64,
    /// Groups the linear programme takes, most first.
    pub taken: Vec<Vec<usize>>,
    /// Groups that cost little more than their prices.
    pub near: Vec<Vec<usize>>,
}

/// Legs on a grid of lengths, and the least cost of every summed length.
struct Grid<'a> {
    m: &'a Model,
    menu: &'a Menu,
    /// Cells of each leg, kerf included.
    cell: Vec<usize>,
    /// Most each price may be.
    cap: Vec<i64>,
    /// Least cost of a group of that many cells, without the cuts of its legs.
    least: Vec<i64>,
    /// The same without the chance of a saved cut: rises only.
    rising: Vec<i64>,
}

/// Prices for these legs under this menu; `None` when there is nothing to gain or the budget does not allow
/// it.
pub(super) fn prices(m: &Model, menu: &Menu, start: &[Vec<usize>], budget: &mut Budget) -> Option<Prices> {
    let grid = Grid::new(m, menu)?;
    let alone: Vec<f64> = grid.cap.iter().map(|&c| c as f64).collect();
    let mut master = Master::new(&alone);
    let mut pool: Vec<Column> = start.iter().map(|g| grid.column(g)).collect();
    let total: f64 = alone.iter().sum();
    let eps = total / (m.legs.len().max(1) as f64) * 1e-6;
    let mut best: Option<Prices> = None;
    for _ in 0..ROUNDS {
        settle(&mut master, &pool, eps, budget);
        let mut new = grid.triples(&master.price, eps);
        // on the grid a group may look cheaper than it is
        new.retain(|c| master.reduced(c) < -eps);
        if !budget.take(m.legs.len() * m.legs.len()) {
            break;
        }
        if new.len() < m.legs.len() / 10 + 1 {
            let price: Vec<i64> = master.price.iter().map(|p| p.floor() as i64).collect();
            let (safe, groups) = grid.safe(&price);
            budget.take(grid.least.len() * m.legs.len() / 32);
            let bound = safe.iter().sum();
            if best.as_ref().is_none_or(|b| bound > b.bound) {
                best = Some(Prices { price: safe, bound, taken: Vec::new(), near: Vec::new() });
            }
            new.extend(groups.iter().map(|g| grid.column(g)).filter(|c| master.reduced(c) < -eps));
        }
        if new.is_empty() {
            break;
        }
        pool.extend(new);
        // groups far from being taken are forgotten
        if pool.len() > 40 * m.legs.len() + 1_000 {
            pool.sort_by(|a, b| {
                master.reduced(a).total_cmp(&master.reduced(b)).then_with(|| a.legs.cmp(&b.legs))
            });
            pool.truncate(20 * m.legs.len());
        }
    }
    let taken: Vec<Vec<usize>> = master.taken().into_iter().map(|(_, c)| c.legs.clone()).collect();
    pool.sort_by(|a, b| master.reduced(a).total_cmp(&master.reduced(b)).then_with(|| a.legs.cmp(&b.legs)));
    pool.dedup_by(|a, b| a.legs == b.legs);
    pool.truncate(HINTS * m.legs.len());
    let near = pool.into_iter().map(|c| c.legs).collect();
    best.map(|b| Prices { taken, near, ..b })
}

/// The bound over all legs at once: stock for the whole length, every leg a group of its own as far as joints
/// go.
pub(super) fn whole(m: &Model, menu: &Menu, charge: &[i64]) -> i64 {
    let n = len_i64(m.legs.len());
    let sum: i64 = m.legs.iter().sum();
    if m.max_pieces == 1 {
        return unjoined_bound(m, charge, sum + n * m.kerf, n);
    }
    // as many groups as legs where that needs less, one group where gaps make it need less
    let slack = if m.gap > m.kerf { 0 } else { (n - 1) * (m.kerf - m.gap) };
    menu.least_cost(m.legs.len(), sum - slack, 0) - m.cut * n - m.joint * (n - 1)
}

/// Without joints: every stock piece holds its length and one kerf of legs and kerfs, and saves at most one
/// cut.
fn unjoined_bound(m: &Model, charge: &[i64], need: i64, legs: i64) -> i64 {
    let each = m
        .kinds
        .iter()
        .zip(charge)
        .map(|(k, c)| (i128::from((k.price + c - m.cut).max(0)), i128::from(k.len + m.kerf)));
    let Some((cost, len)) = each.reduce(|a, b| if b.0 * a.1 < a.0 * b.1 { b } else { a }) else {
        return 0;
    };
    let need = i128::from(need);
    // whole stock pieces when there is one kind only
    let stock =
        if m.kinds.len() == 1 { (need + len - 1) / len * cost } else { (need * cost + len - 1) / len };
    i64::try_from(stock).unwrap_or(0) + m.cut * legs
}

/// Prices from elsewhere made safe for these legs; `None` when the budget does not allow it.
pub(super) fn made_safe(m: &Model, menu: &Menu, price: &[i64], budget: &mut Budget) -> Option<Vec<i64>> {
    let grid = Grid::new(m, menu)?;
    let work = grid.least.len().saturating_mul(m.legs.len());
    // the marks of the knapsack take a bit per cell and leg
    (work <= MOST_WORK && budget.take(work / 32)).then(|| grid.safe(price).0)
}

/// Runs the linear programme over the pool until no group in it pays.
fn settle(master: &mut Master, pool: &[Column], eps: f64, budget: &mut Budget) {
    let most = 4 * master.price.len() + 100;
    for _ in 0..most {
        let least = pool
            .iter()
            .map(|c| (master.reduced(c), c))
            .min_by(|a, b| a.0.total_cmp(&b.0).then_with(|| a.1.legs.cmp(&b.1.legs)));
        let Some((_, column)) = least.filter(|l| l.0 < -eps) else {
            return;
        };
        let column = column.clone();
        if !master.enter(&column) || !budget.take(pool.len() / 16 + master.price.len() + 1) {
            return;
        }
    }
}

impl<'a> Grid<'a> {
    fn new(m: &'a Model, menu: &'a Menu) -> Option<Self> {
        let n = m.legs.len();
        let (rate_cost, rate_len) = menu.rate();
        let (rate_cost, rate_len) = (i128::from(rate_cost), i128::from(rate_len));
        let long: Vec<i64> = m.legs.iter().map(|l| l + m.kerf).collect();
        let sum: i64 = long.iter().sum();
        let longest = *long.first()?;
        let reach = (8 * (sum / len_i64(n))).max(5 * (longest / 2)).max(longest + 1);
        let step = long.iter().fold(0_i128, |g, &l| gcd(g, i128::from(l)));
        let step = i64::try_from(step).unwrap_or(1).max(1);
        let whole = reach / step <= MOST_CELLS;
        let size = if whole { step } else { (reach / CELLS).max(1) };
        let cells = usize::try_from(reach / size).ok()? + 1;
        // a group longer than the grid saves at most this over the rate, shared among its legs by length
        let saved = rate_cost * i128::from(m.kerf - m.gap) / rate_len + i128::from(m.joint + m.cut) + 1;
        let cap = long
            .iter()
            .zip(&m.legs)
            .map(|(&l, &leg)| {
                let rate = rate_cost * i128::from(l) / rate_len + i128::from(m.cut);
                let part = saved * i128::from(l) / i128::from(reach) + 2;
                let cap = i64::try_from(rate - part).unwrap_or(0);
                cap.min(menu.least_cost(1, leg, 0)).max(0)
            })
            .collect();
        let cell = long.iter().map(|l| usize::try_from(l / size).unwrap_or(0)).collect();
        let most_legs = reach / long.last().copied().unwrap_or(1).max(1) + 1;
        let (least, rising) = menu.least_by_cells(&super::menu::Cells {
            count: cells,
            size,
            // legs of a group lose up to one cell each when lengths are rounded down
            slack: if whole { 0 } else { usize::try_from(most_legs).ok()? },
            step,
        });
        Some(Self { m, menu, cell, cap, least, rising })
    }

    fn column(&self, legs: &[usize]) -> Column {
        let sum = legs.iter().filter_map(|&l| self.m.legs.get(l)).sum();
        Column { legs: legs.to_vec(), cost: self.menu.least_cost(legs.len(), sum, 0) as f64 }
    }

    /// Pairs and triples that cost less than their prices: the best few of each leg.
    fn triples(&self, price: &[f64], eps: f64) -> Vec<Column> {
        let cut = self.m.cut as f64;
        let n = price.len();
        // legs by cells, with the three best values up to each
        let mut order: Vec<usize> = (0..n).collect();
        order.sort_by_key(|&i| (self.cell[i], i));
        let sizes: Vec<usize> = order.iter().map(|&i| self.cell[i]).collect();
        let mut tops: Vec<[usize; 3]> = Vec::with_capacity(n);
        let mut top: Vec<usize> = Vec::new();
        for &i in &order {
            top.push(i);
            top.sort_by(|&a, &b| price[b].total_cmp(&price[a]).then(a.cmp(&b)));
            top.truncate(3);
            let t = |k: usize| top.get(k).copied().unwrap_or(usize::MAX);
            tops.push([t(0), t(1), t(2)]);
        }
        let ends: Vec<usize> = (0..self.rising.len())
            .filter(|&c| self.rising.get(c + 1).is_none_or(|next| *next > self.rising[c]))
            .collect();
        let mut found = Vec::new();
        for i in 0..n {
            let mut own: Vec<(f64, Vec<usize>)> = Vec::new();
            for j in i + 1..n {
                let base = self.cell[i] + self.cell[j];
                let paid = price[i] + price[j] - 2.0 * cut;
                if let Some(&l) = self.least.get(base) {
                    own.push((l as f64 - paid, vec![i, j]));
                }
                let first = ends.partition_point(|&e| e < base + sizes[0]);
                let last = (ends.partition_point(|&e| e <= base + sizes[n - 1]) + 1).min(ends.len());
                let stride = (last - first.min(last)) / MOST_ENDS + 1;
                for &end in ends[first.min(last)..last].iter().step_by(stride) {
                    let fit = sizes.partition_point(|&s| s <= end - base);
                    let third = fit
                        .checked_sub(1)
                        .and_then(|f| tops.get(f))
                        .and_then(|t| t.iter().copied().find(|&k| k != i && k != j && k != usize::MAX));
                    if let Some(k) = third {
                        let value = self.rising[end] as f64 - paid - price[k] + cut;
                        if value < -eps {
                            own.push((value, vec![i, j, k]));
                        }
                    }
                }
            }
            own.retain(|o| o.0 < -eps);
            own.sort_by(|a, b| a.0.total_cmp(&b.0).then_with(|| a.1.cmp(&b.1)));
            own.truncate(3);
            found.extend(own.into_iter().map(|(_, mut legs)| {
                legs.sort_unstable();
                self.column(&legs)
            }));
        }
        found
    }

    /// The prices made safe, and the groups that fell short of them most.
    fn safe(&self, price: &[i64]) -> (Vec<i64>, Vec<Vec<usize>>) {
        let price: Vec<i64> = price.iter().zip(&self.cap).map(|(&p, &c)| p.clamp(0, c)).collect();
        let cells = self.least.len();
        let mut value = vec![NONE; cells];
        value[0] = 0;
        let words = cells.div_ceil(64);
        let mut taken = vec![0_u64; words * price.len()];
        let mut top = 0_usize;
        for (i, (&p, &size)) in price.iter().zip(&self.cell).enumerate() {
            let gain = p - self.m.cut;
            top = (top + size).min(cells - 1);
            for c in (size..=top).rev() {
                let from = value[c - size];
                if from > NONE && from + gain > value[c] {
                    value[c] = from + gain;
                    taken[i * words + c / 64] |= 1 << (c % 64);
                }
            }
        }
        let mut short: Vec<(i64, usize)> =
            (1..cells).filter(|&c| value[c] > self.least[c]).map(|c| (self.least[c] - value[c], c)).collect();
        short.sort_unstable();
        let mut groups = Vec::new();
        for &(_, c) in short.iter().take(4 * price.len()) {
            let (mut at, mut legs) = (c, Vec::new());
            for i in (0..price.len()).rev() {
                if taken[i * words + at / 64] >> (at % 64) & 1 == 1 {
                    legs.push(i);
                    at -= self.cell[i];
                }
            }
            legs.reverse();
            groups.push(legs);
        }
        groups.sort();
        groups.dedup();
        // prices shrink by length, by the largest shortfall per cell
        let worst = short
            .iter()
            .map(|&(v, c)| (i128::from(-v), c as i128))
            .reduce(|a, b| if b.0 * a.1 > a.0 * b.1 { b } else { a });
        let Some((lack, over)) = worst else {
            return (price, groups);
        };
        let shrink = |(&p, &size): (&i64, &usize)| {
            let less = (lack * size as i128 + over - 1) / over;
            i64::try_from((i128::from(p) - less).max(0)).unwrap_or(0)
        };
        let safe = price.iter().zip(&self.cell).map(shrink).collect();
        if value[0] > self.least[0] { (vec![0; price.len()], groups) } else { (safe, groups) }
    }
}
