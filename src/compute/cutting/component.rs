//! Groups of legs that share stock pieces, realised piece by piece.

use super::chain::mended;
use super::choices::choices;
use super::least_cut;
use super::menu::Menu;
use super::model::Model;
use super::support;
use smallvec::{SmallVec, smallvec};

/// A cost no plan reaches.
pub(super) const NEVER: i64 = i64::MAX / 4;

/// Search nodes left; everything that searches takes from it.
#[derive(Debug, Clone)]
pub(super) struct Budget {
    left: u64,
    pub used: u64,
}

impl Budget {
    /// A budget of so many nodes.
    pub(super) fn new(nodes: u64) -> Self {
        Self { left: nodes, used: 0 }
    }

    /// Puts more nodes to what is left.
    pub(super) fn open(&mut self, nodes: u64) {
        self.left = self.left.saturating_add(nodes);
    }

    /// Takes nodes; `false` when they are used up.
    pub(super) fn take(&mut self, nodes: usize) -> bool {
        let n = nodes as u64;
        self.used = self.used.saturating_add(n.min(self.left));
        self.left = self.left.saturating_sub(n);
        self.left > 0
    }

    /// Whether anything is left.
    pub(super) fn is_open(&self) -> bool {
        self.left > 0
    }

    /// Nodes left.
    pub(super) fn left(&self) -> u64 {
        self.left
    }
}

/// One piece: so much of a stock piece for a leg.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Cut {
    /// Position in [`Group::legs`].
    pub leg: usize,
    /// Position in [`Group::stock`].
    pub stock: usize,
    pub len: i64,
}

/// Legs, the stock pieces they share, and the pieces cut.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Group {
    /// Model legs.
    pub legs: Vec<usize>,
    /// Kind of each stock piece.
    pub stock: Vec<usize>,
    pub cuts: Vec<Cut>,
    /// Cost in search units, without scarcity charges.
    pub cost: i64,
}

impl Group {
    /// A group with its cost worked out from its pieces; stock that gives no piece is dropped.
    pub(super) fn new(m: &Model, legs: Vec<usize>, stock: &[usize], cuts: &[Cut]) -> Self {
        // length and pieces taken of each stock piece, and its position among those used
        let mut used: SmallVec<[(i64, usize, usize); 8]> = smallvec![(0, 0, 0); stock.len()];
        for c in cuts {
            if let Some(u) = used.get_mut(c.stock) {
                u.0 += c.len;
                u.1 += 1;
            }
        }
        let (mut kept, mut prices, mut exact) = (Vec::with_capacity(stock.len()), 0, 0);
        for (&kind, (len, n, place)) in stock.iter().zip(&mut used) {
            let Some(k) = m.kinds.get(kind) else { continue };
            if *n > 0 {
                *place = kept.len();
                kept.push(kind);
                prices += k.price;
                let kerfs = m.kerf * (super::model::len_i64(*n) - 1);
                exact += usize::from(*len + kerfs == k.len);
            }
        }
        let place = |c: &Cut| Cut { stock: used.get(c.stock).map_or(0, |u| u.2), ..*c };
        let cuts: Vec<Cut> = cuts.iter().map(place).collect();
        let cost = m.cost(prices, legs.len(), cuts.len(), exact);
        Self { legs, stock: kept, cuts, cost }
    }

    /// Cost with a charge per stock piece of each kind.
    pub(super) fn charged(&self, charge: &[i64]) -> i64 {
        self.cost + self.stock.iter().map(|&k| charge.get(k).copied().unwrap_or(0)).sum::<i64>()
    }
}

/// The legs cut from exactly these stock counts, for less than `below`; the second part says whether the
/// answer is final for this stock.
pub(super) fn realise(
    m: &Model,
    legs: &[i64],
    counts: &[u32],
    base: i64,
    below: i64,
    effort: usize,
    budget: &mut Budget,
) -> (Option<Group>, bool) {
    let base = base.max(least_cut::bound(m, legs, counts));
    if base >= below {
        return (None, true);
    }
    let mut best: Option<Group> = None;
    let mut bar = below;
    let mut chained = |line: &[(usize, i64)], stock: &[usize], budget: &mut Budget| {
        let (group, nodes) = mended(m, line, stock, base, bar);
        budget.take(nodes);
        if let Some(group) = group {
            bar = group.cost;
            best = Some(group);
        }
        bar <= base
    };
    let as_given = unrolled(counts.iter().copied().enumerate());
    let line: Vec<(usize, i64)> = legs.iter().copied().enumerate().collect();
    // mostly the legs and the stock as they come make a chain
    if !chained(&line, &as_given, budget) {
        let blocks: Vec<(usize, u32)> = counts.iter().copied().enumerate().filter(|(_, n)| *n > 0).collect();
        let mut turned = line.clone();
        each_order(&blocks, |block_order| {
            let stock = unrolled(block_order.iter().filter_map(|&b| blocks.get(b)).copied());
            each_order(legs, |order| {
                turned.clear();
                turned.extend(order.iter().filter_map(|&i| line.get(i)));
                budget.is_open() && !chained(&turned, &stock, budget)
            })
        });
    }
    if base >= bar {
        return (best, true);
    }
    let (found, complete) = support::search(m, legs, &as_given, base, bar, effort, budget);
    (found.or(best), complete)
}

/// The stock pieces behind counts of kinds.
fn unrolled(counts: impl Iterator<Item = (usize, u32)>) -> Vec<usize> {
    counts.flat_map(|(k, n)| std::iter::repeat_n(k, n as usize)).collect()
}

/// Most orders tried.
const MOST_ORDERS: usize = 60;

/// Visits orders until one says stop: all that differ where they are few, else falling, rising and some rotations.
/// Returns whether none did.
fn each_order<T: PartialEq>(things: &[T], mut visit: impl FnMut(&[usize]) -> bool) -> bool {
    let mut order: Vec<usize> = (0..things.len()).collect();
    // equal neighbours keep their order: what differs is the order of their runs
    let mut ends = Vec::new();
    for run in things.chunk_by(PartialEq::eq) {
        ends.push(ends.last().copied().unwrap_or(0) + run.len());
    }
    if !are_few(&ends) {
        return (0..things.len().min(6)).all(|_| {
            let rising: Vec<usize> = order.iter().rev().copied().collect();
            let go_on = visit(&rising) && visit(&order);
            order.rotate_left(1);
            go_on
        });
    }
    let run_of = |i: usize| ends.partition_point(|end| *end <= i);
    let mut runs: Vec<usize> = order.iter().map(|&i| run_of(i)).collect();
    loop {
        if !visit(&order) {
            return false;
        }
        if !to_next(&mut runs) {
            return true;
        }
        let mut next: Vec<usize> = std::iter::once(0).chain(ends.iter().copied()).collect();
        for (place, run) in order.iter_mut().zip(&runs) {
            if let Some(n) = next.get_mut(*run) {
                *place = *n;
                *n += 1;
            }
        }
    }
}

/// Whether the orders of runs that end at these places number at most [`MOST_ORDERS`].
fn are_few(ends: &[usize]) -> bool {
    let (mut orders, mut begin) = (1_usize, 0);
    for &end in ends {
        // places of this run among all up to its end: a binomial coefficient, whole at each step
        let mut ways = 1_usize;
        for i in 1..=end - begin {
            ways = ways * (begin + i) / i;
            if ways * orders > MOST_ORDERS {
                return false;
            }
        }
        orders *= ways;
        begin = end;
    }
    true
}

/// The next sequence in dictionary order; `false` when it is the last.
fn to_next(runs: &mut [usize]) -> bool {
    let Some(at) = runs.windows(2).rposition(|w| matches!(w, [a, b] if a < b)) else { return false };
    let pivot = runs.get(at).copied().unwrap_or(0);
    if let Some(with) = runs.iter().rposition(|r| *r > pivot) {
        runs.swap(at, with);
    }
    if let Some(tail) = runs.get_mut(at + 1..) {
        tail.reverse();
    }
    true
}

/// What is known of the cheapest way to cut one group of legs.
#[derive(Debug, Clone)]
pub(super) struct Best {
    /// Cheapest group found below the bar.
    pub group: Option<Group>,
    /// Whether nothing cheaper than the group (or the bar) exists.
    pub settled: bool,
}

/// How far one group is searched, and within which stock.
#[derive(Debug, Clone, Copy)]
pub(super) struct Terms<'a> {
    pub m: &'a Model,
    /// The menu of the kinds without limit.
    pub menu: &'a Menu,
    /// Stock left per kind; [`UNLIMITED`] kinds are free to choose, the others are handed out one by one.
    pub limits: &'a [u32],
    /// Nodes for one support search.
    pub effort: usize,
}

impl Terms<'_> {
    /// Effective length, cost (price and joint) and number of limited stock pieces.
    pub(super) fn fixed(&self, fixed: &[u32]) -> (i64, i64, i64) {
        self.m.kinds.iter().zip(fixed).fold((0, 0, 0), |(len, cost, n), (k, &count)| {
            let c = i64::from(count);
            (len + c * (k.len + self.m.gap), cost + c * (k.price + self.m.joint), n + c)
        })
    }
}

/// The cheapest way below `below` to cut these legs together from exactly the limited stock `fixed` and any
/// other.
pub(super) fn cheapest(t: &Terms, legs: &[i64], fixed: &[u32], below: i64, budget: &mut Budget) -> Best {
    let sum: i64 = legs.iter().sum();
    let (covered, paid, _) = t.fixed(fixed);
    let least = t.menu.least_cost(legs.len(), sum, covered) + paid;
    if least >= below {
        return Best { group: None, settled: true };
    }
    let mut best: Option<Group> = None;
    let mut bar = below;
    if let Some(mut counts) = t.menu.least_counts(legs.len(), sum, covered, t.m.kinds.len()) {
        for (c, f) in counts.iter_mut().zip(fixed) {
            *c += f;
        }
        let (group, _) = realise(t.m, legs, &counts, least, bar, 0, budget);
        if let Some(g) = group {
            bar = g.cost;
            best = Some(g);
            if bar <= least {
                return Best { group: best, settled: true };
            }
        }
    }
    let (choices, mut settled) = choices(t, legs.len(), sum, fixed, bar, budget);
    for (base, counts) in choices {
        if base >= bar {
            break;
        }
        let (group, complete) = realise(t.m, legs, &counts, base, bar, t.effort, budget);
        settled &= complete;
        if let Some(g) = group {
            bar = g.cost.min(bar);
            best = Some(g);
        }
        if !budget.is_open() {
            settled = false;
            break;
        }
    }
    Best { group: best, settled }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn orders(things: &[u8]) -> Vec<Vec<usize>> {
        let mut all = Vec::new();
        assert!(each_order(things, |order| {
            all.push(order.to_vec());
            true
        }));
        all
    }

    #[test]
    fn equal_neighbours_keep_their_order() {
        assert_eq!(orders(&[7, 7, 3]), [[0, 1, 2], [0, 2, 1], [2, 0, 1]]);
        assert_eq!(orders(&[7, 7, 7]), [[0, 1, 2]]);
        // 4! of four that differ, 5! / (2! 2!) of five in two pairs and one
        assert_eq!(orders(&[4, 3, 2, 1]).len(), 24);
        assert_eq!(orders(&[3, 3, 2, 2, 1]).len(), 30);
    }

    #[test]
    fn of_many_orders_some_are_tried() {
        let some = orders(&[5, 4, 3, 2, 1]);
        assert_eq!(some.len(), 10);
        assert_eq!(some[..4], [[4, 3, 2, 1, 0], [0, 1, 2, 3, 4], [0, 4, 3, 2, 1], [1, 2, 3, 4, 0]]);
    }

    #[test]
    fn it_stops_where_it_is_told_to() {
        let mut visited = 0;
        assert!(!each_order(&[3, 2, 1], |_| {
            visited += 1;
            visited < 2
        }));
        assert_eq!(visited, 2);
    }
}
