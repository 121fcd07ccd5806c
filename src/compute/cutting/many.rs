//! From the model to the best plan found: exact for few legs, bounded improvement for many and for few that the exact search
//! does not settle.
//!
//! Many legs start from the best pairs of legs and from the linear programme over groups, and are improved
//! step by step; the bound says how much there is left to gain at most. Very many legs are planned in
//! portions first.

use super::component::{Budget, Group, Terms};
use super::few::Few;
use super::improve::{Guide, Step, improve, left_over, start, take};
use super::matching::pairs;
use super::menu::Menu;
use super::model::{Kind, Model, UNLIMITED};
use super::simple::Alike;
use super::{bound, simple, unjoined};
use smallvec::SmallVec;

/// Nodes one pattern search may take when it decides the whole plan.
const EFFORT: usize = 200_000;
/// Most states of the whole problem.
const MOST_STATES: usize = 1 << 14;
/// Limited stock up to this many is handed out piece by piece from the start.
const FEW_STOCK: u32 = 3;
/// Most legs that are priced at once, and the legs of a portion beyond that.
const MOST_PAIRED: usize = 400;
const PORTION: usize = 120;

/// The best plan found.
#[derive(Debug, Clone)]
pub(super) struct Found<'a> {
    pub way: Way<'a>,
    /// In search units.
    pub bound: i64,
    pub nodes: u64,
}

/// How the legs are cut.
#[derive(Debug, Clone)]
pub(super) enum Way<'a> {
    /// The plain list: nothing found costs less.
    Plain(&'a [Alike]),
    /// In groups that share stock pieces.
    Groups(Vec<Group>),
}

/// The best plan within the budget; `None` when none was found within limited stock.
pub(super) fn solve<'a>(m: &Model, simple: Option<&'a [Alike]>, nodes: u64) -> Option<Found<'a>> {
    // what the exact search of few legs does not settle is improved as many are: half of the budget is kept for that
    let reserved = nodes / 2;
    let mut budget = Budget::new((nodes - reserved).max(1));
    let limits: Vec<u32> = m.kinds.iter().map(|k| k.avail).collect();
    let mut state = State { m, limits, bound: 0, simple, groups: None };
    if !state.whole(&mut budget) || !state.proven() {
        budget.open(reserved);
        state.many(&mut budget);
    }
    let cost = state.cost();
    let bound = state.bound.min(cost);
    let way = state.groups.map(Way::Groups).or(simple.map(Way::Plain))?;
    Some(Found { way, bound, nodes: budget.used })
}

/// Scarcity charge per kind: what the same length costs where it is not limited, less its price.
fn charges(m: &Model) -> Vec<i64> {
    let open = m.kinds.iter().filter(|k| k.avail == UNLIMITED);
    let rate = open
        .map(|k| (i128::from(k.price + m.joint), i128::from(k.len + m.gap)))
        .reduce(|a, b| if b.0 * a.1 < a.0 * b.1 { b } else { a });
    let fair = |k: &Kind| -> i64 {
        let Some((cost, len)) = rate.filter(|_| k.avail != UNLIMITED) else {
            return 0;
        };
        // rounded up, so that a limited length is never the best rate by a rounding
        let worth = (cost * i128::from(k.len + m.gap) + len - 1) / len - i128::from(k.price + m.joint);
        i64::try_from(worth.max(0)).unwrap_or(0)
    };
    m.kinds.iter().map(fair).collect()
}

/// What the charges on limited stock give back at most.
fn refund(limits: &[u32], charge: &[i64]) -> i64 {
    let one = |(&n, &c): (&u32, &i64)| if c == 0 { 0 } else { c.saturating_mul(i64::from(n)) };
    limits.iter().zip(charge).map(one).fold(0, i64::saturating_add)
}

/// A list of mostly a few.
type Short<T> = SmallVec<[T; 8]>;

struct State<'a> {
    m: &'a Model,
    limits: Vec<u32>,
    bound: i64,
    /// The plain list stands until there is something better.
    simple: Option<&'a [Alike]>,
    groups: Option<Vec<Group>>,
}

impl State<'_> {
    fn cost(&self) -> i64 {
        match (&self.groups, self.simple) {
            (Some(groups), _) => groups.iter().map(|g| g.cost).sum(),
            (None, Some(list)) => simple::cost(list),
            (None, None) => i64::MAX / 4,
        }
    }

    /// The best groups so far.
    fn take(&mut self) -> Option<Vec<Group>> {
        self.groups.take().or_else(|| self.simple.map(simple::groups))
    }

    fn proven(&self) -> bool {
        self.cost() <= self.bound
    }

    fn offer(&mut self, groups: Vec<Group>) {
        if groups.iter().map(|g| g.cost).sum::<i64>() < self.cost() {
            self.groups = Some(groups);
        }
    }

    /// All legs as one small problem; `false` when it is too large.
    fn whole(&mut self, budget: &mut Budget) -> bool {
        let legs: Short<usize> = (0..self.m.legs.len()).collect();
        // plentiful stock first as if there were no limit
        let plenty: Short<u32> =
            self.limits.iter().map(|&l| if l > FEW_STOCK { UNLIMITED } else { l }).collect();
        let tries = if *plenty == *self.limits { 1 } else { 2 };
        for limits in [&*plenty, &*self.limits].into_iter().take(tries) {
            let menu = Menu::open(self.m, limits);
            if let Some(least) = self.closed(&menu, budget) {
                self.bound = least;
                return true;
            }
            let terms = Terms { m: self.m, menu: &menu, limits, effort: EFFORT };
            let Some(mut few) = Few::new(terms, &legs, MOST_STATES) else {
                return false;
            };
            let Some(found) = few.solve(budget) else {
                continue;
            };
            self.bound = self.bound.max(found.bound);
            if found.cost < self.cost() {
                let groups = few.groups(&found);
                if left_over(&groups, &self.limits).is_some() {
                    self.groups = Some(groups);
                }
            }
            if self.proven() {
                break;
            }
        }
        true
    }

    /// One or two legs from unlimited stock whose plain list costs what each leg, and both together, cost at least: there is
    /// nothing to search, and the answer and its nodes are those of the search over few legs.
    fn closed(&self, menu: &Menu, budget: &mut Budget) -> Option<i64> {
        let m = self.m;
        let list = self.simple.filter(|_| m.kinds.iter().all(|k| k.avail == UNLIMITED))?;
        let cost = simple::cost(list);
        let (together, states) = match *m.legs {
            [_] => (cost, 1),
            [a, b] => (menu.least_cost(2, a + b, 0), if a == b { 2 } else { 3 }),
            _ => return None,
        };
        let least: i64 = m.legs.iter().map(|&leg| menu.least_cost(1, leg, 0)).sum();
        if cost > least || cost > together {
            return None;
        }
        budget.take(states);
        Some(cost)
    }

    /// Bounded improvement: all legs at once, or portions first and then all together.
    fn many(&mut self, budget: &mut Budget) {
        let charge = charges(self.m);
        let refund = refund(&self.limits, &charge);
        let priced = Menu::charged(self.m, &charge);
        self.bound = self.bound.max(bound::whole(self.m, &priced, &charge).saturating_sub(refund));
        let n = self.m.legs.len();
        if n <= MOST_PAIRED {
            let p = portion(self.m, &charge, self.take(), self.bound, budget);
            self.bound = self.bound.max(p.bound.saturating_sub(refund));
            self.groups = p.groups;
            return;
        }
        let parts = n.div_ceil(PORTION);
        let (mut price, mut all, mut left) = (vec![0_i64; n], Some(Vec::new()), self.limits.clone());
        let share = budget.left() / (parts as u64 + 1);
        for p in 0..parts {
            let legs: Vec<usize> = (p..n).step_by(parts).collect();
            let part = self.m.portion(&legs, &left);
            let mut own = Budget::new(share.max(1));
            let start = simple::list(&part).map(|list| simple::groups(&list));
            let found = portion(&part, &charge, start, 0, &mut own);
            budget.take(usize::try_from(own.used).unwrap_or(usize::MAX));
            for (&l, &v) in legs.iter().zip(&found.price) {
                price.iter_mut().skip(l).take(1).for_each(|p| *p = v);
            }
            let placed = found.groups.and_then(|groups| {
                left = left_over(&groups, &left)?;
                let name = |l: &usize| legs.get(*l).copied();
                groups
                    .into_iter()
                    .map(|g| Some(Group { legs: g.legs.iter().map(name).collect::<Option<_>>()?, ..g }))
                    .collect::<Option<Vec<Group>>>()
            });
            all = all.zip(placed).map(|(mut a, b)| {
                a.extend(b);
                a
            });
        }
        if let Some(p) = bound::made_safe(self.m, &priced, &price, budget) {
            self.bound = self.bound.max(p.iter().sum::<i64>().saturating_sub(refund));
            price = p;
        }
        if let Some(groups) = all {
            self.offer(groups);
        }
        let Some(groups) = self.take() else { return };
        let menu = open_menu(self.m);
        let t = Step { m: self.m, menu: &menu, charge: &charge };
        let share = price.iter().map(|p| 2 * p).collect();
        let guide = Guide { share, hints: Vec::new(), bound: self.bound };
        self.groups = Some(improve(&t, groups, &self.limits, &guide, budget));
    }
}

/// What is found for one portion of the legs.
struct Portion {
    groups: Option<Vec<Group>>,
    /// Price per leg behind the bound.
    price: Vec<i64>,
    /// Charged bound, refund not taken off.
    bound: i64,
}

fn open_menu(m: &Model) -> Menu {
    let open: Vec<u32> = m.kinds.iter().map(|k| if k.avail == UNLIMITED { UNLIMITED } else { 0 }).collect();
    Menu::open(m, &open)
}

/// Bound and start from pairs and from the linear programme, then improvement.
fn portion(
    m: &Model,
    charge: &[i64],
    start_from: Option<Vec<Group>>,
    known: i64,
    budget: &mut Budget,
) -> Portion {
    let limits: Vec<u32> = m.kinds.iter().map(|k| k.avail).collect();
    let priced = Menu::charged(m, charge);
    let menu = open_menu(m);
    let t = Step { m, menu: &menu, charge };
    let refund = refund(&limits, charge);
    let mut state = State { m, limits, bound: known, simple: None, groups: start_from };
    let mut out = Portion { groups: None, price: vec![0; m.legs.len()], bound: 0 };
    let mut hints = Vec::new();
    if m.max_pieces == 1
        && let Some(groups) = unjoined::best_fit(m)
    {
        state.offer(groups);
    }
    if let Some(a) = pairs(m, &priced, budget) {
        out.bound = (a.total + 1).div_euclid(2);
        if let Some(groups) = start(&t, &a, &state.limits, budget) {
            state.offer(groups);
        }
        out.price = a.share.iter().map(|s| s / 2).collect();
    }
    let groups: Vec<Vec<usize>> = state.groups.iter().flatten().map(|g| g.legs.clone()).collect();
    if let Some(p) = bound::prices(m, &priced, &groups, budget) {
        out.bound = out.bound.max(p.bound);
        out.price = p.price;
        if let Some(groups) = take(&t, &p.taken, &state.limits, budget) {
            state.offer(groups);
        }
        hints = p.near;
    }
    let share = out.price.iter().map(|p| 2 * p).collect();
    let guide = Guide { share, hints, bound: known.max(out.bound.saturating_sub(refund)) };
    let better = |groups| improve(&t, groups, &state.limits, &guide, budget);
    out.groups = state.groups.take().map(better);
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::compute::cutting::problem::{Leg, Problem, Stock, Work};
    use crate::compute::exact::Nm;
    use rust_decimal::Decimal;

    fn job(seed: u64) -> Problem {
        let mut dice = seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1;
        let mut roll = |n: u64| {
            dice = dice.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            i64::try_from((dice >> 33) % n).unwrap_or(0)
        };
        let cost = |parts: i64| Work { parts: Decimal::from(parts), minutes: Decimal::ZERO };
        // every other job in 64ths of an inch, the others in millimetres; some with gaps wider than the kerf,
        // or laps
        let unit = if seed.is_multiple_of(2) { 396_875 } else { 1_000_000 };
        let legs = (0..9).map(|i| Leg::new(format!("{i}"), Nm((400 + roll(6_000)) * unit))).collect();
        let mut stock = vec![Stock::bought("short", Nm::mm(1_000 + roll(500)), Decimal::from(50 + roll(20)))];
        stock.push(Stock::bought("long", Nm::mm(2_000 + roll(1_500)), Decimal::from(90 + roll(60))));
        if roll(2) == 0 {
            stock.push(Stock::yard("offcut", Nm::mm(300 + roll(900))));
        }
        Problem {
            legs,
            stock,
            kerf: Nm::mm(roll(5)),
            gap: Nm::mm([0, 0, 6, -20][usize::try_from(roll(4)).unwrap_or(0)]),
            least_piece: Nm::mm(1 + roll(3) * 60),
            max_joints_per_leg: None,
            joint: cost(roll(15)),
            cut: cost(roll(9)),
            ..Problem::default()
        }
    }

    #[test]
    fn one_or_two_legs_are_closed_as_the_search_would_find() {
        let mut closed = 0;
        for seed in 0..2_000 {
            let mut job = job(seed);
            let twins = seed.is_multiple_of(5);
            job.legs.truncate(if twins { 1 } else { 1 + usize::from(seed % 3 > 0) });
            if twins {
                job.legs.push(Leg::new("twin", job.legs[0].length));
            }
            let Ok(m) = Model::build(&job) else { continue };
            let limits: Vec<u32> = m.kinds.iter().map(|k| k.avail).collect();
            let (list, menu) = (simple::list(&m), Menu::open(&m, &limits));
            let state =
                State { m: &m, limits: limits.clone(), bound: 0, simple: list.as_deref(), groups: None };
            let (mut budget, mut long) = (Budget::new(1 + seed % 4), Budget::new(1 + seed % 4));
            let Some(bound) = state.closed(&menu, &mut budget) else { continue };
            let legs: Vec<usize> = (0..m.legs.len()).collect();
            let terms = Terms { m: &m, menu: &menu, limits: &limits, effort: EFFORT };
            let mut few = Few::new(terms, &legs, MOST_STATES);
            let found =
                few.as_mut().and_then(|few| few.solve(&mut long)).map(|f| (f.cost, f.bound, long.used));
            assert_eq!(found, Some((state.cost(), bound, budget.used)), "seed {seed}");
            closed += 1;
        }
        assert!(closed > 200, "{closed}");
    }

    #[test]
    fn the_bound_for_many_legs_never_passes_the_optimum_and_the_plan_comes_close() {
        let (mut loss, mut total) = (0.0, 0.0);
        for seed in 0..60 {
            let Ok(m) = Model::build(&job(seed)) else { continue };
            let limits: Vec<u32> = m.kinds.iter().map(|k| k.avail).collect();
            let list = simple::list(&m);
            let simple = list.as_deref();
            let new = || State { m: &m, limits: limits.clone(), bound: 0, simple, groups: None };
            let (mut exact, mut many) = (new(), new());
            assert!(exact.whole(&mut Budget::new(20_000_000)));
            many.many(&mut Budget::new(20_000_000));
            assert!(exact.proven(), "seed {seed}");
            assert!(many.bound <= exact.cost() && exact.cost() <= many.cost(), "seed {seed}");
            loss += (many.cost() - exact.cost()) as f64;
            total += exact.cost() as f64;
        }
        assert!(loss <= 0.01 * total, "{loss} of {total}");
    }
}
