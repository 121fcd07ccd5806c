//! Groups of legs that share stock pieces, realised piece by piece.

use super::chain::mended;
use super::choices::choices;
use super::least_cut;
use super::menu::Menu;
use super::model::Model;
use super::support;

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
        let mut used = vec![(0_i64, 0_usize); stock.len()];
        for c in cuts {
            if let Some(u) = used.get_mut(c.stock) {
                u.0 += c.len;
                u.1 += 1;
            }
        }
        let mut place = vec![0; stock.len()];
        let (mut kept, mut prices, mut exact) = (Vec::new(), 0, 0);
        for (i, (&kind, &(len, n))) in stock.iter().zip(&used).enumerate() {
            let Some(k) = m.kinds.get(kind) else { continue };
            if n > 0 {
                if let Some(p) = place.get_mut(i) {
                    *p = kept.len();
                }
                kept.push(kind);
                prices += k.price;
                let kerfs = m.kerf * (super::model::len_i64(n) - 1);
                exact += usize::from(len + kerfs == k.len);
            }
        }
        let cuts: Vec<Cut> =
            cuts.iter().map(|c| Cut { stock: place.get(c.stock).copied().unwrap_or(0), ..*c }).collect();
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
    let positions: Vec<usize> = (0..legs.len()).collect();
    let blocks: Vec<(usize, u32)> =
        counts.iter().enumerate().filter(|(_, n)| **n > 0).map(|(k, &n)| (k, n)).collect();
    let unrolled = |order: &[usize]| -> Vec<usize> {
        let blocks = order.iter().filter_map(|&b| blocks.get(b));
        blocks.flat_map(|&(k, n)| std::iter::repeat_n(k, n as usize)).collect()
    };
    let mut best: Option<Group> = None;
    let mut bar = below;
    let mut chained = |stock: &[usize], order: &[usize], budget: &mut Budget| {
        let line: Vec<(usize, i64)> = order.iter().filter_map(|&i| legs.get(i).map(|&l| (i, l))).collect();
        let (group, nodes) = mended(m, &line, stock, base, bar);
        budget.take(nodes);
        if let Some(group) = group {
            bar = group.cost;
            best = Some(group);
        }
        bar <= base
    };
    let as_given: Vec<usize> = (0..blocks.len()).collect();
    // mostly the legs and the stock as they come make a chain
    if !chained(&unrolled(&as_given), &positions, budget) {
        let leg_orders = orders(legs);
        'orders: for block_order in orders(&blocks) {
            let stock = unrolled(&block_order);
            for order in &leg_orders {
                if !budget.is_open() || chained(&stock, order, budget) {
                    break 'orders;
                }
            }
        }
    }
    if base >= bar {
        return (best, true);
    }
    let (found, complete) = support::search(m, legs, &unrolled(&as_given), base, bar, effort, budget);
    (found.or(best), complete)
}

/// Most orders tried.
const MOST_ORDERS: usize = 60;

/// Orders to try: all that differ where they are few, else falling, rising and some rotations.
fn orders<T: PartialEq>(things: &[T]) -> Vec<Vec<usize>> {
    let mut all = Vec::new();
    if differing(things, &mut Vec::with_capacity(things.len()), &mut all) {
        return all;
    }
    let first: Vec<usize> = (0..things.len()).collect();
    let mut some: Vec<Vec<usize>> = Vec::new();
    for r in 0..things.len().min(6) {
        let mut turned = first.clone();
        turned.rotate_left(r);
        some.push(turned.iter().rev().copied().collect());
        some.push(turned);
    }
    some
}

/// Every order in which equal neighbours keep theirs; `false` when there are too many.
fn differing<T: PartialEq>(things: &[T], begun: &mut Vec<usize>, all: &mut Vec<Vec<usize>>) -> bool {
    if begun.len() == things.len() {
        all.push(begun.clone());
        return all.len() <= MOST_ORDERS;
    }
    for (i, thing) in things.iter().enumerate() {
        let free = !begun.contains(&i);
        let later = i > 0 && things.get(i - 1) == Some(thing) && !begun.contains(&(i - 1));
        if free && !later {
            begun.push(i);
            let few = differing(things, begun, all);
            begun.pop();
            if !few {
                return false;
            }
        }
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
