//! Few legs: the best partition into groups, by dynamic programming over sets of legs.
//!
//! Legs of equal length are one type with a count, so that a state is a count per type. Group costs start as
//! the bound of the covering problem; the groups of the best partition are then realised, bounds that cannot
//! be reached are raised, and the partition is found again, until every group of it is real.

use super::component::{Best, Budget, Group, NEVER, Terms, cheapest};
use super::model::UNLIMITED;
use super::simple::{self, Alone};
use smallvec::{SmallVec, smallvec};
use std::ops::Range;

/// Not worked out yet.
const UNKNOWN: i64 = i64::MIN;

/// The best partition found and what is proved about it.
#[derive(Debug, Clone)]
pub(super) struct Outcome {
    /// States whose groups are settled.
    real: List<usize>,
    /// States of one leg each that stays on its own.
    apart: Vec<(usize, Alone)>,
    /// What all these cost.
    pub cost: i64,
    /// No plan costs less.
    pub bound: i64,
}

/// A group worked out.
#[derive(Debug, Clone)]
enum Made {
    /// A leg on its own.
    Alone(Alone),
    /// Legs that share stock pieces, or one from limited stock.
    Together(Group),
}

impl Made {
    fn cost(&self) -> i64 {
        match self {
            Self::Alone(alone) => alone.cost,
            Self::Together(group) => group.cost,
        }
    }
}

/// A list of mostly a few.
type List<T> = SmallVec<[T; 8]>;

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
    /// Legs of this length, by their places among the legs.
    Legs(i64, Range<usize>),
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

/// What a state holds, and what is known of it.
#[derive(Debug, Clone, Copy)]
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
    /// Bound of the state as one group.
    one: i64,
    /// Bound of the best proper partition.
    split: i64,
    /// First group of the best partition.
    first: usize,
}

impl Content {
    /// Nothing at all.
    const NOTHING: Self = Self {
        packed: 0,
        lowest: NO_LEG,
        legs: 0,
        sum: 0,
        covered: 0,
        paid: 0,
        one: UNKNOWN,
        split: NEVER,
        first: 0,
    };
}

/// The states over one set of legs and the limited stock at hand, with the bound of each.
pub(super) struct Few<'a> {
    t: Terms<'a>,
    legs: &'a [usize],
    types: List<Type>,
    guard: u64,
    content: Vec<Content>,
    /// Bound of the best partition, apart from the rest: it is read far more often.
    best: Vec<i64>,
    /// Groups worked out, in the order of their states.
    settled: Vec<(usize, Made)>,
}

impl<'a> Few<'a> {
    /// The states over these legs (indices into the model, longest first); `None` when there are more than
    /// `most`.
    pub(super) fn new(t: Terms<'a>, legs: &'a [usize], most: usize) -> Option<Self> {
        let mut types: List<Type> = List::new();
        for (place, &i) in legs.iter().enumerate() {
            let len = *t.m.legs.get(i)?;
            match types.last_mut() {
                Some(Type { item: Item::Legs(l, places), count, .. }) if *l == len => {
                    places.end = place + 1;
                    *count += 1;
                }
                _ => {
                    let item = Item::Legs(len, place..place + 1);
                    types.push(Type { item, count: 1, stride: 0, shift: 0 });
                }
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
            legs,
            guard,
            content: Vec::with_capacity(states),
            best: vec![NEVER; states],
            settled: Vec::new(),
            types,
        };
        few.fill();
        Some(few)
    }

    /// State of all legs and all limited stock.
    fn full(&self) -> usize {
        self.content.len() - 1
    }

    fn content(&self, state: usize) -> Content {
        self.content.get(state).copied().unwrap_or(Content::NOTHING)
    }

    fn bound(&self, state: usize) -> i64 {
        self.best.get(state).copied().unwrap_or(0)
    }

    fn lengths(&self, state: usize) -> List<i64> {
        let mut lengths = List::new();
        for ty in &self.types {
            if let Item::Legs(len, _) = ty.item {
                lengths.extend(std::iter::repeat_n(len, self.count(ty, state)));
            }
        }
        lengths
    }

    /// Limited stock of a state, per kind.
    fn fixed(&self, state: usize) -> List<u32> {
        let mut fixed: List<u32> = smallvec![0; self.t.m.kinds.len()];
        for ty in &self.types {
            if let Item::Stock(kind) = ty.item
                && let Some(n) = fixed.get_mut(kind)
            {
                *n = u32::try_from(self.count(ty, state)).unwrap_or(0);
            }
        }
        fixed
    }

    /// The groups of a partition, with the model legs that the states know only by their lengths.
    pub(super) fn groups(&self, found: &Outcome) -> Vec<Group> {
        let mut used: List<usize> = smallvec![0; self.types.len()];
        let mut legs = |state: usize| {
            let mut own = Vec::with_capacity(self.content(state).legs as usize);
            for (ty, u) in self.types.iter().zip(&mut used) {
                if let Item::Legs(_, places) = &ty.item {
                    let n = self.count(ty, state);
                    own.extend(self.legs.iter().skip(places.start + *u).take(n));
                    *u += n;
                }
            }
            own
        };
        let real = found.real.iter().filter_map(|&state| Some((state, self.made(state)?)));
        let mut groups = Vec::with_capacity(found.real.len() + found.apart.len());
        groups.extend(real.map(|(state, made)| match made {
            Made::Alone(alone) => alone.group(legs(state)),
            Made::Together(g) => {
                Group { legs: legs(state), stock: g.stock.clone(), cuts: g.cuts.clone(), cost: g.cost }
            }
        }));
        groups.extend(found.apart.iter().map(|(state, alone)| alone.group(legs(*state))));
        groups
    }

    /// The group of a settled state.
    fn made(&self, state: usize) -> Option<&Made> {
        let place = self.settled.binary_search_by_key(&state, |(state, _)| *state).ok()?;
        self.settled.get(place).map(|(_, made)| made)
    }

    /// The best partition; `None` when some leg cannot be made.
    pub(super) fn solve(&mut self, budget: &mut Budget) -> Option<Outcome> {
        let mut bound = None;
        loop {
            self.partition(budget);
            let now = self.bound(self.full());
            let (mut real, mut raised) = (List::new(), List::new());
            let mut state = self.full();
            while self.content(state).legs > 0 {
                let group = Some(self.content(state).first).filter(|g| *g > 0)?;
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
                let mut apart = Vec::new();
                for group in raised {
                    apart.extend(self.apart(group)?);
                }
                let known = real.iter().filter_map(|&state| self.made(state)).map(Made::cost).sum::<i64>();
                let cost = known + apart.iter().map(|(_, alone)| alone.cost).sum::<i64>();
                return Some(Outcome { real, apart, cost, bound: bound.unwrap_or(now) });
            }
        }
    }

    /// Every leg of a state on its own from unlimited stock, for when the budget is used up.
    fn apart(&self, state: usize) -> Option<Vec<(usize, Alone)>> {
        let mut legs = Vec::new();
        for ty in &self.types {
            if let Item::Legs(len, _) = ty.item {
                for _ in 0..self.count(ty, state) {
                    legs.push((ty.stride, self.alone(len)?));
                }
            }
        }
        Some(legs)
    }

    fn alone(&self, len: i64) -> Option<Alone> {
        simple::from_open_stock(self.t.m, len, self.t.limits)
    }

    fn count(&self, ty: &Type, state: usize) -> usize {
        state / ty.stride % (ty.count + 1)
    }

    /// Every state is a smaller one and one thing more of its last type.
    fn fill(&mut self) {
        let m = self.t.m;
        self.content.push(Content::NOTHING);
        for (place, ty) in self.types.iter().enumerate() {
            let mut one = Content { packed: 1 << ty.shift, ..Content::NOTHING };
            match ty.item {
                Item::Legs(len, _) => {
                    one.lowest = u8::try_from(place).unwrap_or(NO_LEG);
                    (one.legs, one.sum) = (1, len);
                }
                Item::Stock(kind) => {
                    let each = m.kinds.get(kind).map_or((0, 0), |k| (k.len + m.gap, k.price + m.joint));
                    (one.covered, one.paid) = each;
                }
            }
            for smaller in 0..ty.stride * ty.count {
                let Some(c) = self.content.get(smaller) else { break };
                let more = Content {
                    packed: c.packed + one.packed,
                    lowest: c.lowest.min(one.lowest),
                    legs: c.legs + one.legs,
                    sum: c.sum + one.sum,
                    covered: c.covered + one.covered,
                    paid: c.paid + one.paid,
                    ..Content::NOTHING
                };
                self.content.push(more);
            }
        }
    }

    /// The dynamic programme: best partition of every state from the groups known to be worth it.
    fn partition(&mut self, budget: &mut Budget) {
        let mut primes: List<SmallVec<[Prime; 4]>> = smallvec![SmallVec::new(); self.types.len()];
        let mut steps = 0;
        for (s, c) in self.content.iter_mut().enumerate() {
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
                    let (n, menu) = (c.legs as usize, self.t.menu);
                    if c.one == UNKNOWN && menu.may_cost_less(n, c.sum, c.covered, split - c.paid) {
                        c.one = menu.least_cost(n, c.sum, c.covered).saturating_add(c.paid);
                    }
                    if c.one != UNKNOWN && c.one < split {
                        best = c.one;
                        first = s;
                        list.push(Prime { packed: c.packed, state: s, cost: c.one });
                    }
                }
            }
            (c.first, c.split) = (first, split);
            if let Some(b) = self.best.get_mut(s) {
                *b = best;
            }
        }
        budget.take(steps);
    }

    /// Makes the group of a state real, or raises its bound.
    fn settle(&mut self, state: usize, budget: &mut Budget) -> Settled {
        let Err(place) = self.settled.binary_search_by_key(&state, |(state, _)| *state) else {
            return Settled::Real;
        };
        let c = self.content(state);
        let alone = if c.legs == 1 && c.covered == 0 { self.alone(c.sum) } else { None };
        let below = alone.as_ref().map_or(c.split, |alone| alone.cost);
        let bound = c.one;
        let found = if alone.is_some() && below <= bound {
            // nothing costs less than its bound
            Best { group: None, settled: true }
        } else {
            cheapest(&self.t, &self.lengths(state), &self.fixed(state), below, budget)
        };
        let sure = found.settled;
        // with nothing below the best proper partition it is not worth cutting together as long as that
        // stands
        let cost = match found.group.map(Made::Together).or(alone.map(Made::Alone)) {
            Some(made) => {
                let cost = made.cost();
                self.settled.insert(place, (state, made));
                if cost <= bound {
                    return Settled::Real;
                }
                cost
            }
            None => below.max(bound + 1),
        };
        if let Some(c) = self.content.get_mut(state) {
            c.one = cost;
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
