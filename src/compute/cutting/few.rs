//! Few legs: the best partition into groups, by dynamic programming over sets of legs.
//!
//! Legs of equal length are one type with a count, so that a state is a count per type. Group costs start as
//! the bound of the covering problem; the groups of the best partition are then realised, bounds that cannot
//! be reached are raised, and the partition is found again, until every group of it is real.

use super::component::{Budget, Group, NEVER, Terms, cheapest};
use super::model::UNLIMITED;
use super::simple;
use std::collections::BTreeMap;

/// Not worked out yet.
const UNKNOWN: i64 = i64::MIN;

/// The best partition found and what is proved about it.
#[derive(Debug, Clone)]
pub(super) struct Outcome {
    pub groups: Vec<Group>,
    /// No plan costs less.
    pub bound: i64,
}

/// Legs of one length, or limited stock of one kind.
#[derive(Debug, Clone)]
struct Type {
    /// What it is.
    item: Item,
    count: usize,
    /// State index step of one.
    stride: usize,
    /// Bit position in the packed counts.
    shift: u32,
}

/// What a type counts.
#[derive(Debug, Clone)]
enum Item {
    /// Legs of this length, by model index.
    Legs(i64, Vec<usize>),
    /// Stock pieces of this kind.
    Stock(usize),
}

/// A set of legs worth cutting together.
#[derive(Debug, Clone, Copy)]
struct Prime {
    packed: u64,
    state: usize,
    cost: i64,
}

/// No leg in the state.
const NO_LEG: u8 = u8::MAX;

/// What a state holds.
#[derive(Debug, Clone, Copy, Default)]
struct Content {
    packed: u64,
    /// Type of its longest leg, or [`NO_LEG`].
    lowest: u8,
    legs: u32,
    /// Summed length of its legs.
    sum: i64,
    /// Effective length of its limited stock, and its cost with joints.
    covered: i64,
    paid: i64,
}

/// The states over one set of legs and the limited stock at hand, with the bound of each.
pub(super) struct Few<'a> {
    t: Terms<'a>,
    types: Vec<Type>,
    guard: u64,
    content: Vec<Content>,
    /// Bound of the state as one group.
    one: Vec<i64>,
    /// Bound of the best proper partition.
    split: Vec<i64>,
    /// Bound of the best partition.
    best: Vec<i64>,
    /// First group of the best partition.
    first: Vec<usize>,
    settled: BTreeMap<usize, Group>,
}

impl<'a> Few<'a> {
    /// The states over these legs (indices into the model, longest first); `None` when there are more than
    /// `most`.
    pub(super) fn new(t: Terms<'a>, legs: &[usize], most: usize) -> Option<Self> {
        let mut types: Vec<Type> = Vec::new();
        for &i in legs {
            let len = *t.m.legs.get(i)?;
            match types.last_mut() {
                Some(Type { item: Item::Legs(l, list), count, .. }) if *l == len => {
                    list.push(i);
                    *count += 1;
                }
                _ => types.push(Type { item: Item::Legs(len, vec![i]), count: 1, stride: 0, shift: 0 }),
            }
        }
        let limited = t.limits.iter().enumerate().filter(|(_, n)| **n != UNLIMITED && **n > 0);
        types.extend(limited.map(|(k, &n)| Type {
            item: Item::Stock(k),
            count: n as usize,
            stride: 0,
            shift: 0,
        }));
        let (mut states, mut shift, mut guard) = (1_usize, 0_u32, 0_u64);
        for ty in &mut types {
            ty.stride = states;
            ty.shift = shift;
            states = states.checked_mul(ty.count + 1)?;
            shift += usize::BITS - ty.count.leading_zeros() + 1;
            if states > most || shift > 63 {
                return None;
            }
            guard |= 1 << (shift - 1);
        }
        let mut few = Self {
            t,
            guard,
            content: Vec::with_capacity(states),
            one: vec![UNKNOWN; states],
            split: vec![NEVER; states],
            best: vec![NEVER; states],
            first: vec![0; states],
            settled: BTreeMap::new(),
            types,
        };
        few.fill(states);
        Some(few)
    }

    /// State of all legs and all limited stock.
    fn full(&self) -> usize {
        self.content.len() - 1
    }

    fn content(&self, state: usize) -> Content {
        self.content.get(state).copied().unwrap_or_default()
    }

    fn bound(&self, state: usize) -> i64 {
        self.best.get(state).copied().unwrap_or(0)
    }

    fn lengths(&self, state: usize) -> Vec<i64> {
        let mut lengths = Vec::new();
        for ty in &self.types {
            if let Item::Legs(len, _) = ty.item {
                lengths.extend(std::iter::repeat_n(len, self.count(ty, state)));
            }
        }
        lengths
    }

    /// Limited stock of a state, per kind.
    fn fixed(&self, state: usize) -> Vec<u32> {
        let mut fixed = vec![0; self.t.m.kinds.len()];
        for ty in &self.types {
            if let Item::Stock(kind) = ty.item
                && let Some(n) = fixed.get_mut(kind)
            {
                *n = u32::try_from(self.count(ty, state)).unwrap_or(0);
            }
        }
        fixed
    }

    /// Puts model legs into groups that know only their lengths.
    fn place(&self, groups: Vec<(usize, Group)>) -> Vec<Group> {
        let mut used = vec![0_usize; self.types.len()];
        let mut placed = Vec::with_capacity(groups.len());
        for (state, mut group) in groups {
            let mut legs = Vec::new();
            for (ty, u) in self.types.iter().zip(&mut used) {
                if let Item::Legs(_, list) = &ty.item {
                    let n = self.count(ty, state);
                    legs.extend(list.iter().skip(*u).take(n));
                    *u += n;
                }
            }
            group.legs = legs;
            placed.push(group);
        }
        placed
    }

    /// The best partition; `None` when some leg cannot be made.
    pub(super) fn solve(&mut self, budget: &mut Budget) -> Option<Outcome> {
        let mut bound = None;
        loop {
            self.partition(budget);
            let now = self.bound(self.full());
            let (mut real, mut raised) = (Vec::new(), Vec::new());
            let mut state = self.full();
            while self.content(state).legs > 0 {
                let group = self.first.get(state).copied().filter(|g| *g > 0)?;
                match self.settle(group, budget) {
                    Settled::Real => real.push(group),
                    Settled::Raised { sure } => {
                        raised.push(group);
                        if !sure {
                            // from here on bounds may pass real optima: what is proved is proved by now
                            bound.get_or_insert(now);
                        }
                    }
                }
                state = state.checked_sub(group)?;
            }
            if raised.is_empty() || !budget.is_open() {
                let known = |state: &usize| Some((*state, self.settled.get(state)?.clone()));
                let mut groups: Vec<(usize, Group)> = real.iter().filter_map(known).collect();
                for group in raised {
                    groups.extend(self.apart(group)?);
                }
                return Some(Outcome { groups: self.place(groups), bound: bound.unwrap_or(now) });
            }
        }
    }

    /// Every leg of a state on its own from unlimited stock, for when the budget is used up.
    fn apart(&self, state: usize) -> Option<Vec<(usize, Group)>> {
        let mut groups = Vec::new();
        for ty in &self.types {
            if let Item::Legs(len, _) = ty.item {
                for _ in 0..self.count(ty, state) {
                    groups.push((ty.stride, self.alone(len)?));
                }
            }
        }
        Some(groups)
    }

    fn alone(&self, len: i64) -> Option<Group> {
        let mut left: Vec<u32> =
            self.t.limits.iter().map(|&l| if l == UNLIMITED { UNLIMITED } else { 0 }).collect();
        simple::leg(self.t.m, len, &mut left)
    }

    fn count(&self, ty: &Type, state: usize) -> usize {
        state / ty.stride % (ty.count + 1)
    }

    /// Every state is a smaller one and one thing more of its last type.
    fn fill(&mut self, states: usize) {
        let m = self.t.m;
        self.content.push(Content { lowest: NO_LEG, ..Content::default() });
        let mut last = 0;
        for s in 1..states {
            while self.types.get(last + 1).is_some_and(|ty| ty.stride <= s) {
                last += 1;
            }
            let Some(ty) = self.types.get(last) else { continue };
            let mut c = self.content(s - ty.stride);
            c.packed += 1 << ty.shift;
            match ty.item {
                Item::Legs(len, _) => {
                    c.lowest = c.lowest.min(u8::try_from(last).unwrap_or(NO_LEG));
                    c.legs += 1;
                    c.sum += len;
                }
                Item::Stock(kind) => {
                    let each = m.kinds.get(kind).map_or((0, 0), |k| (k.len + m.gap, k.price + m.joint));
                    c.covered += each.0;
                    c.paid += each.1;
                }
            }
            self.content.push(c);
        }
    }

    /// The dynamic programme: best partition of every state from the groups known to be worth it.
    fn partition(&mut self, budget: &mut Budget) {
        let mut primes: Vec<Vec<Prime>> = vec![Vec::new(); self.types.len()];
        let mut steps = 0;
        for (s, c) in self.content.iter().enumerate() {
            let mut best = NEVER;
            let (mut split, mut first) = (NEVER, s);
            match primes.get_mut(usize::from(c.lowest)) {
                // limited stock may stay unused
                None => best = 0,
                Some(list) => {
                    let room = c.packed | self.guard;
                    for p in list.iter() {
                        if (room - p.packed) & self.guard == self.guard {
                            let cost = self.best.get(s - p.state).copied().unwrap_or(NEVER) + p.cost;
                            if cost < split {
                                split = cost;
                                first = p.state;
                            }
                        }
                    }
                    steps += list.len() / 8 + 1;
                    best = best.min(split);
                    let known = self.one.get(s).copied().unwrap_or(NEVER);
                    let (n, menu) = (c.legs as usize, self.t.menu);
                    if known != UNKNOWN || menu.may_cost_less(n, c.sum, c.covered, split - c.paid) {
                        let new = || menu.least_cost(n, c.sum, c.covered).saturating_add(c.paid);
                        let one = if known == UNKNOWN { new() } else { known };
                        if let Some(o) = self.one.get_mut(s) {
                            *o = one;
                        }
                        if one < split {
                            best = one;
                            first = s;
                            list.push(Prime { packed: c.packed, state: s, cost: one });
                        }
                    }
                }
            }
            if let (Some(b), Some(f), Some(sp)) =
                (self.best.get_mut(s), self.first.get_mut(s), self.split.get_mut(s))
            {
                (*b, *f, *sp) = (best, first, split);
            }
        }
        budget.take(steps);
    }

    /// Makes the group of a state real, or raises its bound.
    fn settle(&mut self, state: usize, budget: &mut Budget) -> Settled {
        if self.settled.contains_key(&state) {
            return Settled::Real;
        }
        let lengths = self.lengths(state);
        let fixed = self.fixed(state);
        let plain = lengths.len() == 1 && fixed.iter().all(|n| *n == 0);
        let alone = lengths.first().filter(|_| plain).and_then(|&len| self.alone(len));
        let split = self.split.get(state).copied().unwrap_or(NEVER);
        let below = alone.as_ref().map_or(split, |g| g.cost);
        let bound = self.one.get(state).copied().unwrap_or(0);
        let found = cheapest(&self.t, &lengths, &fixed, below, budget);
        let sure = found.settled;
        // with nothing below the best proper partition it is not worth cutting together as long as that
        // stands
        let cost = match found.group.or(alone) {
            Some(g) => {
                let cost = g.cost;
                self.settled.insert(state, g);
                if cost <= bound {
                    return Settled::Real;
                }
                cost
            }
            None => below.max(bound + 1),
        };
        if let Some(o) = self.one.get_mut(state) {
            *o = cost;
        }
        Settled::Raised { sure }
    }
}

/// What became of a group of the best partition.
enum Settled {
    /// It costs what its bound said.
    Real,
    /// Its bound went up and the partition has to be found again; `sure` when the new bound is proved.
    Raised { sure: bool },
}
