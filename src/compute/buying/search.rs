//! The exact search: which suppliers are used and pay for delivery, then which offer each need takes.
//!
//! Depth first over the suppliers: left out, used with delivery paid, or used with delivery free. What is
//! left costs at least the cheapest open offer of every need plus the deliveries already decided. Where a
//! supplier is to deliver free, the goods bought there must reach its threshold: a multiplier on that
//! condition bounds the choice of offers, and going through the needs with every choice that can still win settles
//! it.

use super::table::{Choice, Table};

/// Multipliers are counted in this many parts of one.
pub(super) const PARTS: i64 = 1024;
/// Rounds of adjusting the multipliers.
const ROUNDS: i64 = 60;

/// The choice found: the offer index within each need's list.
#[derive(Debug, Clone)]
pub(super) struct Found {
    pub chosen: Vec<usize>,
    pub cost: i64,
    pub bound: i64,
    pub nodes: u64,
}

/// Role of a supplier.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Role {
    /// Not decided yet: open, its delivery not counted.
    Open,
    Out,
    /// Used; the delivery charge is counted.
    Pays,
    /// Used; the goods must reach the threshold (or there is no charge at all).
    Free,
}

/// A choice of suppliers whose offers are not settled yet.
#[derive(Debug, Clone)]
pub(super) struct Pending {
    pub bound: i64,
    pub paid: i64,
    pub roles: Vec<Role>,
    pub weight: Vec<i64>,
}

pub(super) struct Search<'a> {
    pub t: &'a Table,
    order: Vec<usize>,
    pub roles: Vec<Role>,
    pub best: Option<(i64, Vec<usize>)>,
    /// Choices of suppliers still to be settled.
    pub pending: Vec<Pending>,
    /// Least bound of what was left unsearched.
    pub open: i64,
    /// Bound of the choice of suppliers being settled.
    pub floor: i64,
    pub left: u64,
    used: u64,
}

/// The cheapest choice within the budget; `None` when the limit on suppliers cannot be kept.
pub(super) fn solve(t: &Table, nodes: u64) -> Option<Found> {
    let suppliers = t.delivery.len();
    // suppliers that are cheapest for most needs are decided first
    let mut wins = vec![0_usize; suppliers];
    for row in &t.choices {
        if let Some(w) = row.first().and_then(|c| wins.get_mut(c.supplier)) {
            *w += 1;
        }
    }
    let mut order: Vec<usize> = (0..suppliers).collect();
    order.sort_by_key(|&s| (std::cmp::Reverse(wins.get(s).copied()), s));
    let mut search = Search {
        t,
        order,
        roles: vec![Role::Open; suppliers],
        best: None,
        pending: Vec::new(),
        open: i64::MAX,
        floor: 0,
        left: nodes.max(1),
        used: 0,
    };
    search.start();
    search.walk(0, 0, 0);
    search.polish();
    search.settle_pending();
    let (cost, chosen) = search.best?;
    Some(Found { chosen, cost, bound: search.open.min(cost), nodes: search.used })
}

impl Search<'_> {
    pub(super) fn bar(&self) -> i64 {
        self.best.as_ref().map_or(i64::MAX, |b| b.0)
    }

    pub(super) fn take(&mut self, nodes: u64) -> bool {
        self.used += nodes.min(self.left);
        self.left = self.left.saturating_sub(nodes);
        self.left > 0
    }

    /// First answers: every need at its cheapest, and everything from one supplier.
    fn start(&mut self) {
        self.offer(vec![0; self.t.choices.len()]);
        for s in 0..self.t.delivery.len() {
            let one: Option<Vec<usize>> =
                self.t.choices.iter().map(|row| row.iter().position(|c| c.supplier == s)).collect();
            if let Some(chosen) = one {
                self.offer(chosen);
            }
        }
    }

    /// Keeps a full choice when it is allowed and cheaper.
    pub(super) fn offer(&mut self, chosen: Vec<usize>) {
        let mut goods: Vec<Option<i64>> = vec![None; self.t.delivery.len()];
        for (row, &i) in self.t.choices.iter().zip(&chosen) {
            let Some(c) = row.get(i) else { return };
            if let Some(g) = goods.get_mut(c.supplier) {
                *g = Some(g.unwrap_or(0) + c.cost);
            }
        }
        if goods.iter().flatten().count() > self.t.most {
            return;
        }
        let cost: i64 =
            goods.iter().enumerate().filter_map(|(s, g)| g.map(|g| g + self.t.delivery(s, g))).sum();
        if cost < self.bar() {
            self.best = Some((cost, chosen));
        }
    }

    pub(super) fn is_open(&self, c: &Choice) -> bool {
        self.roles.get(c.supplier).is_some_and(|r| *r != Role::Out)
    }

    /// Cheapest open offer of every need, and their sum.
    fn cheapest(&self) -> Option<(i64, Vec<usize>)> {
        let mut sum = 0_i64;
        let mut chosen = Vec::with_capacity(self.t.choices.len());
        for row in &self.t.choices {
            let (i, c) = row.iter().enumerate().find(|(_, c)| self.is_open(c))?;
            sum += c.cost;
            chosen.push(i);
        }
        Some((sum, chosen))
    }

    /// Decides the supplier at `at`; `paid` is the delivery decided so far, `count` the suppliers used.
    fn walk(&mut self, at: usize, paid: i64, count: usize) {
        let Some((goods, chosen)) = self.cheapest() else {
            return;
        };
        let bound = goods + paid;
        if bound >= self.bar() || count > self.t.most {
            return;
        }
        if !self.take(1) {
            self.open = self.open.min(bound);
            return;
        }
        let rest_open = count + (self.order.len() - at) <= self.t.most;
        let Some(&s) = self.order.get(at) else {
            self.leaf(paid, bound, chosen);
            return;
        };
        let delivery = self.t.delivery.get(s).copied().unwrap_or(0);
        let threshold = self.t.free_from.get(s).copied().flatten();
        let reach: i64 = self
            .t
            .choices
            .iter()
            .map(|row| row.iter().filter(|c| c.supplier == s).map(|c| c.cost).max().unwrap_or(0))
            .sum();
        let mut roles: Vec<(Role, i64, usize)> = Vec::new();
        if delivery == 0 || threshold.is_some_and(|t| reach >= t) {
            roles.push((Role::Free, 0, 1));
        }
        if delivery > 0 {
            roles.push((Role::Pays, delivery, 1));
        }
        // a supplier without a charge is only left out to keep within the limit
        if delivery > 0 || !rest_open {
            roles.push((Role::Out, 0, 0));
        }
        for (role, charge, one) in roles {
            self.set(s, role);
            self.walk(at + 1, paid + charge, count + one);
        }
        self.set(s, Role::Open);
    }

    fn set(&mut self, supplier: usize, role: Role) {
        if let Some(r) = self.roles.get_mut(supplier) {
            *r = role;
        }
    }

    /// All suppliers decided: the cheapest offers, unless a free delivery needs more goods.
    fn leaf(&mut self, paid: i64, bound: i64, chosen: Vec<usize>) {
        // thresholds that must be reached
        let target: Vec<Option<i64>> = (0..self.roles.len())
            .map(|s| {
                let charged = self.t.delivery.get(s).is_some_and(|d| *d > 0);
                let free = self.roles.get(s) == Some(&Role::Free) && charged;
                self.t.free_from.get(s).copied().flatten().filter(|_| free)
            })
            .collect();
        let suppliers = self.roles.len();
        let mut weight = vec![0_i64; suppliers];
        let mut best_bound = bound;
        let mut best_weight = weight.clone();
        let mut pick = chosen;
        for round in 0..ROUNDS {
            let mut goods = vec![0_i64; suppliers];
            for (row, &i) in self.t.choices.iter().zip(&pick) {
                if let Some(c) = row.get(i)
                    && let Some(g) = goods.get_mut(c.supplier)
                {
                    *g += c.cost;
                }
            }
            let mut moved = false;
            for (s, w) in weight.iter_mut().enumerate() {
                let Some(threshold) = target.get(s).copied().flatten() else {
                    continue;
                };
                let lack = threshold - goods.get(s).copied().unwrap_or(0);
                let step = ((PARTS / 4) >> (round / 6)).max(1);
                let new = if lack > 0 { (*w + step).min(2 * PARTS) } else { (*w - step).max(0) };
                moved |= new != *w;
                *w = new;
            }
            if round == 0 && !moved {
                self.offer(pick);
                return;
            }
            self.offer(pick);
            let (value, next) = self.relaxed(&weight);
            // whole minor units: the bound rounds up
            let value = crate::compute::exact::ceil_div(value, i128::from(PARTS)).unwrap_or(0);
            let value = i64::try_from(value).unwrap_or(i64::MAX).saturating_add(paid);
            if value > best_bound {
                best_bound = value;
                best_weight.clone_from(&weight);
            }
            if best_bound >= self.bar() {
                return;
            }
            pick = next;
        }
        let (roles, weight) = (self.roles.clone(), best_weight);
        self.pending.push(Pending { bound: best_bound, paid, roles, weight });
    }

    /// The least of goods less the weighted reach of the thresholds, in parts, and the choice behind it.
    fn relaxed(&self, weight: &[i64]) -> (i128, Vec<usize>) {
        let mut sum = self.owed(weight);
        let mut pick = Vec::with_capacity(self.t.choices.len());
        for row in &self.t.choices {
            let open = row.iter().enumerate().filter(|(_, c)| self.is_open(c));
            let least = open.map(|(i, c)| (weighed(c, weight), i)).min();
            let Some((value, i)) = least else { continue };
            sum += value;
            pick.push(i);
        }
        (sum, pick)
    }

    /// Thresholds times their weights.
    pub(super) fn owed(&self, weight: &[i64]) -> i128 {
        weight.iter().zip(&self.t.free_from).map(|(&w, f)| i128::from(w) * i128::from(f.unwrap_or(0))).sum()
    }
}

/// Cost of a choice less its weighted part towards the threshold, in parts.
pub(super) fn weighed(c: &Choice, weight: &[i64]) -> i128 {
    let w = weight.get(c.supplier).copied().unwrap_or(0);
    i128::from(PARTS - w) * i128::from(c.cost)
}
