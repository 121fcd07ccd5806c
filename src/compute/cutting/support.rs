//! Which stock piece serves which legs, when a chain of cuts breaks the least piece or the joint limit.
//!
//! Depth first over the stock pieces of a group. Each takes a set of legs and is either used up or not; equal
//! stock pieces take their sets in one order. Costs follow from the pattern alone, so most patterns are cut
//! off early; the lengths of a full pattern are a transport problem.

use super::component::{Budget, Cut, Group};
use super::flow::{Supply, ship};
use super::model::{Model, len_i64};

/// Most legs a pattern is searched for.
const MOST_LEGS: usize = 8;

/// What one stock piece does.
#[derive(Debug, Clone, Copy)]
struct Role {
    mask: u32,
    /// Used up to its last length.
    all: bool,
}

struct Search<'a> {
    m: &'a Model,
    /// Leg lengths plus one gap: what pieces plus their gaps must add up to.
    goal: Vec<i64>,
    stock: &'a [usize],
    roles: Vec<Role>,
    /// Most that the stock from each index on can add.
    reach: Vec<i64>,
    /// Least that the stock from each index on must add.
    floor: Vec<i64>,
    prices: i64,
    chosen: Vec<usize>,
    low: Vec<i64>,
    high: Vec<i64>,
    count: Vec<i64>,
    bar: i64,
    base: i64,
    best: Option<Group>,
    nodes: usize,
    effort: usize,
    complete: bool,
}

/// The cheapest pattern below `bar` for these legs and exactly this stock (equal kinds side by side), and
/// whether the search was complete.
pub(super) fn search(
    m: &Model,
    legs: &[i64],
    stock: &[usize],
    base: i64,
    bar: i64,
    effort: usize,
    budget: &mut Budget,
) -> (Option<Group>, bool) {
    if legs.len() > MOST_LEGS || effort == 0 {
        return (None, false);
    }
    let a = legs.len();
    let (mut reach, mut floor) = (vec![0_i64; stock.len() + 1], vec![0_i64; stock.len() + 1]);
    let bonus = (m.gap - m.kerf).max(0) * (len_i64(a) - 1);
    let mut prices = 0;
    for (i, &k) in stock.iter().enumerate().rev() {
        let Some(kind) = m.kinds.get(k) else {
            return (None, true);
        };
        prices += kind.price;
        let (r, f) = (reach.get(i + 1).copied().unwrap_or(0), floor.get(i + 1).copied().unwrap_or(0));
        if let (Some(to), Some(least)) = (reach.get_mut(i), floor.get_mut(i)) {
            *to = r + kind.len + m.gap + bonus;
            *least = f + m.least + m.gap;
        }
    }
    let mut search = Search {
        m,
        goal: legs.iter().map(|l| l + m.gap).collect(),
        stock,
        roles: roles(a),
        reach,
        floor,
        prices,
        chosen: Vec::with_capacity(stock.len()),
        low: vec![0; a],
        high: vec![0; a],
        count: vec![0; a],
        bar,
        base,
        best: None,
        nodes: 0,
        effort: effort.min(usize::try_from(budget.left()).unwrap_or(effort)),
        complete: true,
    };
    search.walk(0, 0, 0, 0, 0);
    budget.take(search.nodes);
    (search.best, search.complete)
}

/// Roles by number of legs, those used up first.
fn roles(legs: usize) -> Vec<Role> {
    let mut masks: Vec<u32> = (1..1_u32 << legs).collect();
    masks.sort_by_key(|m| (m.count_ones(), *m));
    let mut roles: Vec<Role> = Vec::with_capacity(masks.len() * 2);
    for size in 1..=u32::try_from(legs).unwrap_or(0) {
        for all in [true, false] {
            roles.extend(masks.iter().filter(|m| m.count_ones() == size).map(|&mask| Role { mask, all }));
        }
    }
    roles
}

impl Search<'_> {
    /// Places the stock piece `at`; `pieces` and `exact` count what is placed, `most` and `least` bound what
    /// it adds.
    fn walk(&mut self, at: usize, pieces: usize, exact: usize, most: i64, least: i64) {
        self.nodes += 1;
        if self.nodes > self.effort {
            self.complete = false;
            return;
        }
        let rest = self.stock.len() - at;
        let cost = self.m.cost(self.prices, self.goal.len(), pieces + rest, exact + rest);
        if cost >= self.bar || self.bar <= self.base {
            return;
        }
        let need: i64 = self.goal.iter().sum();
        let reach = self.reach.get(at).copied().unwrap_or(0);
        if most + reach < need || least + self.floor.get(at).copied().unwrap_or(0) > need {
            return;
        }
        let missing: i64 = self.goal.iter().zip(&self.high).map(|(g, h)| (g - h).max(0)).sum();
        if missing > reach {
            return;
        }
        let Some(&kind) = self.stock.get(at) else {
            self.finish();
            return;
        };
        let Some(len) = self.m.kinds.get(kind).map(|k| k.len) else {
            return;
        };
        let same = at > 0 && self.stock.get(at - 1) == Some(&kind);
        let first = if same { self.chosen.last().copied().unwrap_or(0) } else { 0 };
        for r in first..self.roles.len() {
            let Some(&role) = self.roles.get(r) else { break };
            let n = len_i64(role.mask.count_ones() as usize);
            let give = len - (n - 1) * self.m.kerf - i64::from(!role.all);
            let top = give - (n - 1) * self.m.least;
            if top < self.m.least || !self.enter(role, top, n) {
                continue;
            }
            self.chosen.push(r);
            let add_least = if role.all { give + n * self.m.gap } else { n * (self.m.least + self.m.gap) };
            let pieces_now = pieces + role.mask.count_ones() as usize;
            self.walk(
                at + 1,
                pieces_now,
                exact + usize::from(role.all),
                most + give + n * self.m.gap,
                least + add_least,
            );
            self.chosen.pop();
            self.leave(role, top, n);
            if self.nodes > self.effort {
                return;
            }
        }
    }

    /// Least and most one piece of this role adds to a leg.
    fn span(&self, role: Role, top: i64, n: i64) -> (i64, i64) {
        let least = if n == 1 && role.all { top } else { self.m.least };
        (least + self.m.gap, top + self.m.gap)
    }

    fn enter(&mut self, role: Role, top: i64, n: i64) -> bool {
        let (low, high) = self.span(role, top, n);
        let ok = (0..self.goal.len()).filter(|i| role.mask >> i & 1 == 1).all(|i| {
            let at = |v: &[i64]| v.get(i).copied().unwrap_or(0);
            at(&self.low) + low <= at(&self.goal) && at(&self.count) < self.m.max_pieces
        });
        if ok {
            self.shift(role, low, high, 1);
        }
        ok
    }

    fn leave(&mut self, role: Role, top: i64, n: i64) {
        let (low, high) = self.span(role, top, n);
        self.shift(role, -low, -high, -1);
    }

    fn shift(&mut self, role: Role, low: i64, high: i64, one: i64) {
        for i in (0..self.goal.len()).filter(|i| role.mask >> i & 1 == 1) {
            if let (Some(l), Some(h), Some(c)) =
                (self.low.get_mut(i), self.high.get_mut(i), self.count.get_mut(i))
            {
                *l += low;
                *h += high;
                *c += one;
            }
        }
    }

    /// Finds the lengths of the full pattern and keeps it when it is possible and cheaper.
    fn finish(&mut self) {
        let open: Vec<i64> = self.goal.iter().zip(&self.low).map(|(g, l)| g - l).collect();
        let mut supplies = Vec::new();
        let mut from = Vec::new();
        let mut cuts = Vec::new();
        for (i, &r) in self.chosen.iter().enumerate() {
            let (Some(role), Some(kind)) = (self.roles.get(r), self.stock.get(i)) else {
                return;
            };
            let Some(len) = self.m.kinds.get(*kind).map(|k| k.len) else {
                return;
            };
            let legs: Vec<usize> = (0..self.goal.len()).filter(|l| role.mask >> l & 1 == 1).collect();
            let n = len_i64(legs.len());
            if n == 1 && role.all {
                cuts.extend(legs.iter().map(|&leg| Cut { leg, stock: i, len }));
                continue;
            }
            let spare = len - (n - 1) * self.m.kerf - n * self.m.least;
            supplies.push(Supply { spare, all: role.all, legs });
            from.push(i);
        }
        // every leg ends with a piece, not with a gap
        if self.count.contains(&0) {
            return;
        }
        self.nodes += supplies.len();
        let Some(flow) = ship(&supplies, &open) else {
            return;
        };
        for ((supply, lens), &stock) in supplies.iter().zip(&flow).zip(&from) {
            for (&leg, &extra) in supply.legs.iter().zip(lens) {
                cuts.push(Cut { leg, stock, len: self.m.least + extra });
            }
        }
        let group = Group::new(self.m, (0..self.goal.len()).collect(), self.stock, &cuts);
        if group.cost < self.bar {
            self.bar = group.cost;
            self.best = Some(group);
        }
    }
}
