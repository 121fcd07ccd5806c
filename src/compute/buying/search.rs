//! The exact search: which suppliers are used and pay for delivery, then which offer each need takes.
//!
//! Depth first over the suppliers: left out, used with delivery paid, or used with delivery free. What is
//! left costs at least the cheapest open offer of every need plus the deliveries already decided. Where a
//! supplier is to deliver free, the goods bought there must reach its threshold: a multiplier on that
//! condition bounds the choice of offers. Offers that the threshold or the bound rule out are dropped, the few needs
//! that decide a threshold are tried there and elsewhere, and going through the rest with every choice that can
//! still win settles it.

use super::pick::Pick;
use super::rows::{Left, Rows, Wanted};
use super::table::{Choice, Table};

/// Multipliers are counted in this many parts of one.
pub(super) const PARTS: i64 = 1024;
/// Rounds of adjusting the multipliers.
const ROUNDS: i64 = 60;
/// Most needs that are decided one by one before the rest is settled.
const HINGES: u32 = 6;

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
enum Role {
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
    pub rows: Rows,
    pub wanted: Vec<Wanted>,
    /// Per supplier, in parts.
    pub weight: Vec<i64>,
}

pub(super) struct Search<'a> {
    pub t: &'a Table,
    order: Vec<usize>,
    roles: Vec<Role>,
    pub best: Option<(i64, Vec<usize>)>,
    /// Choices of suppliers still to be settled.
    pub pending: Vec<Pending>,
    /// Least bound of what was left unsearched.
    pub open: i64,
    pub left: u64,
    used: u64,
}

/// The cheapest choice within the budget; `None` when the limit on suppliers cannot be kept.
pub(super) fn solve(t: &Table, nodes: u64) -> Option<Found> {
    let suppliers = t.delivery.len();
    // suppliers that are cheapest for most needs are decided first
    let mut wins = vec![0_usize; suppliers];
    for row in t.choices.rows() {
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
        left: nodes.max(1),
        used: 0,
    };
    search.start();
    if let Some(goods) = search.least_goods() {
        search.walk(0, goods, 0, 0);
    }
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
        let cheapest = Pick::of(self.t, |_| true);
        let alone = (0..self.t.delivery.len()).filter_map(|s| Pick::of(self.t, |c| c.supplier == s));
        for pick in cheapest.into_iter().chain(alone) {
            self.offer(&pick);
        }
    }

    /// Keeps a full choice when it is allowed and cheaper.
    pub(super) fn offer(&mut self, pick: &Pick) {
        let cost = pick.goods.with_delivery(self.t);
        if cost < self.bar() && pick.goods.suppliers() <= self.t.most {
            self.best = Some((cost, pick.places.clone()));
        }
    }

    fn is_open(&self, c: &Choice) -> bool {
        self.roles.get(c.supplier).is_some_and(|r| *r != Role::Out)
    }

    /// Sum of the cheapest open offers of every need; `None` where a need has none.
    fn least_goods(&self) -> Option<i64> {
        let (mut met, mut sum) = (0, 0);
        for c in self.t.choices.cells() {
            if c.need == met && self.is_open(c) {
                met += 1;
                sum += c.cost;
            }
        }
        (met == self.t.choices.len()).then_some(sum)
    }

    /// Decides the supplier at `at`; `goods` is the sum of the cheapest open offers, `paid` the delivery decided so far,
    /// `count` the suppliers used.
    fn walk(&mut self, at: usize, goods: i64, paid: i64, count: usize) {
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
            self.leaf(paid, bound);
            return;
        };
        let delivery = self.t.delivery.get(s).copied().unwrap_or(0);
        let free = delivery == 0 || self.t.can_be_free(s);
        // a supplier without a charge is only left out to keep within the limit
        let out = delivery > 0 || !rest_open;
        if free {
            self.set(s, Role::Free);
            self.walk(at + 1, goods, paid, count + 1);
        }
        if delivery > 0 {
            self.set(s, Role::Pays);
            self.walk(at + 1, goods, paid + delivery, count + 1);
        }
        if out {
            self.set(s, Role::Out);
            if let Some(goods) = self.least_goods() {
                self.walk(at + 1, goods, paid, count);
            }
        }
        self.set(s, Role::Open);
    }

    fn set(&mut self, supplier: usize, role: Role) {
        if let Some(r) = self.roles.get_mut(supplier) {
            *r = role;
        }
    }

    /// All suppliers decided: the cheapest offers, unless a free delivery needs more goods.
    fn leaf(&mut self, paid: i64, bound: i64) {
        // thresholds that must be reached
        let wanted: Vec<Wanted> = (0..self.roles.len())
            .filter(|&s| self.roles.get(s) == Some(&Role::Free))
            .filter(|&s| self.t.delivery.get(s).is_some_and(|d| *d > 0))
            .filter_map(|s| Some((s, self.t.free_from.get(s).copied().flatten()?)))
            .collect();
        let Some(cheapest) = Pick::of(self.t, |c| self.is_open(c)) else { return };
        self.offer(&cheapest);
        if !cheapest.goods.reach(&wanted) {
            let rows = Rows::of(self.t, |c| self.is_open(c));
            self.decide(rows, &wanted, paid, bound, HINGES);
        }
    }

    /// Narrows the offers down; what is left is split at a need that decides, or kept to be settled.
    fn decide(&mut self, mut rows: Rows, wanted: &[Wanted], paid: i64, bound: i64, hinges: u32) {
        let mut bound = bound;
        let weight = loop {
            if !self.take(1) {
                self.open = self.open.min(bound);
                return;
            }
            if !rows.keep_reachable(wanted) {
                return;
            }
            let Some(found) = self.bounded(&rows, wanted, paid) else { return };
            bound = bound.max(found.bound);
            if bound >= self.bar() {
                return;
            }
            if !rows.drop_dear(&found.weight, found.value, self.bar()) {
                break found.weight;
            }
        };
        match rows.hinge(wanted).filter(|_| hinges > 0) {
            Some(hinge) => {
                for there in [true, false] {
                    self.decide(rows.with(hinge, there), wanted, paid, bound, hinges - 1);
                }
            }
            None => self.pending.push(Pending { bound, paid, rows, wanted: wanted.to_vec(), weight }),
        }
    }

    /// The best bound of these offers over the weights of the thresholds; `None` when it reaches the bar, or the
    /// cheapest offers reach every threshold.
    fn bounded(&mut self, rows: &Rows, wanted: &[Wanted], paid: i64) -> Option<Bounded> {
        let mut weight = vec![0_i64; self.roles.len()];
        let mut best: Option<Bounded> = None;
        let mut pick = Pick::none(self.t);
        for round in 0..=ROUNDS {
            let value =
                pick.relax(rows, &weight) + owed(wanted, &weight) + i128::from(paid) * i128::from(PARTS);
            // whole minor units: the bound rounds up
            let bound = crate::compute::exact::ceil_div(value, i128::from(PARTS)).unwrap_or(0);
            let bound = i64::try_from(bound).unwrap_or(i64::MAX);
            self.offer(&pick);
            if bound >= self.bar() {
                return None;
            }
            if best.as_ref().is_none_or(|b| value > b.value) {
                best = Some(Bounded { bound, value, weight: weight.clone() });
            }
            if round == 0 && pick.goods.reach(wanted) {
                return None;
            }
            let step = ((PARTS / 4) >> (round / 6)).max(1);
            let mut moved = false;
            for &(s, threshold) in wanted {
                let Some(w) = weight.get_mut(s) else { continue };
                let lack = threshold - pick.goods.at(s);
                let new = if lack > 0 { (*w + step).min(2 * PARTS) } else { (*w - step).max(0) };
                moved |= new != *w;
                *w = new;
            }
            if !moved {
                break;
            }
        }
        best
    }
}

/// A bound with the weights behind it.
struct Bounded {
    /// In minor units, rounded up.
    bound: i64,
    /// In parts.
    value: i128,
    weight: Vec<i64>,
}

/// Thresholds times their weights.
pub(super) fn owed(wanted: &[Wanted], weight: &[i64]) -> i128 {
    wanted.iter().map(|&(s, f)| i128::from(weight.get(s).copied().unwrap_or(0)) * i128::from(f)).sum()
}

/// Cost of an offer less its weighted part towards the threshold, in parts.
pub(super) fn weighed(c: &Left, weight: &[i64]) -> i64 {
    let w = weight.get(c.supplier).copied().unwrap_or(0);
    // a line and a weight are both bounded so that this stays far within 64 bits
    (PARTS - w) * c.cost
}
