//! Few legs: the best partition into groups, by dynamic programming over sets of legs.
//!
//! Legs of equal length are one type with a count, so that a state is a count per type. Group costs start as
//! the bound of the covering problem; the groups of the best partition are then realised, bounds that cannot
//! be reached are raised, and the partition is found again, until every group of it is real.

use super::component::{Best, Budget, Group, NEVER, Terms, cheapest};
use super::simple::{self, Alone};
use super::states::{Item, List, States, UNKNOWN};
use smallvec::{SmallVec, smallvec};

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

/// A set of legs worth cutting together.
#[derive(Debug, Clone, Copy)]
struct Prime {
    packed: u64,
    state: usize,
    cost: i64,
}

/// The search over one set of legs and the limited stock at hand.
pub(super) struct Few<'a> {
    t: Terms<'a>,
    legs: &'a [usize],
    states: States,
    /// Bound of the best partition, apart from the rest: it is read far more often.
    best: Vec<i64>,
    /// Groups worked out, in the order of their states.
    settled: Vec<(usize, Made)>,
}

impl<'a> Few<'a> {
    /// The search over these legs (indices into the model, longest first); `None` when they have more than `most` states.
    pub(super) fn new(t: Terms<'a>, legs: &'a [usize], most: usize) -> Option<Self> {
        let states = States::of(&t, legs, most)?;
        Some(Self { t, legs, best: vec![NEVER; states.number()], settled: Vec::new(), states })
    }

    fn bound(&self, state: usize) -> i64 {
        self.best.get(state).copied().unwrap_or(0)
    }

    /// The groups of a partition, with the model legs that the states know only by their lengths.
    pub(super) fn groups(&self, found: &Outcome) -> Vec<Group> {
        let mut used: List<usize> = smallvec![0; self.states.types.len()];
        let mut legs = |state: usize| {
            let mut own = Vec::with_capacity(self.states.content(state).legs as usize);
            for (ty, u) in self.states.types.iter().zip(&mut used) {
                if let Item::Legs(_, places) = &ty.item {
                    let n = States::count(ty, state);
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
            let now = self.bound(self.states.full());
            let (mut real, mut raised) = (List::new(), List::new());
            let mut state = self.states.full();
            while self.states.content(state).legs > 0 {
                let group = Some(self.states.content(state).first).filter(|g| *g > 0)?;
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
        for ty in &self.states.types {
            if let Item::Legs(len, _) = ty.item {
                for _ in 0..States::count(ty, state) {
                    legs.push((ty.stride, self.alone(len)?));
                }
            }
        }
        Some(legs)
    }

    fn alone(&self, len: i64) -> Option<Alone> {
        simple::from_open_stock(self.t.m, len, self.t.limits)
    }

    /// The dynamic programme: best partition of every state from the groups known to be worth it.
    fn partition(&mut self, budget: &mut Budget) {
        let mut primes: List<SmallVec<[Prime; 4]>> = smallvec![SmallVec::new(); self.states.types.len()];
        let mut steps = 0;
        for (s, c) in self.states.content.iter_mut().enumerate() {
            let mut best = NEVER;
            let (mut split, mut first) = (NEVER, s);
            match primes.get_mut(usize::from(c.lowest)) {
                // limited stock may stay unused
                None => best = 0,
                Some(list) => {
                    let room = c.packed | self.states.guard;
                    for p in list.iter() {
                        if (room - p.packed) & self.states.guard == self.states.guard {
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
        let c = self.states.content(state);
        let alone = if c.legs == 1 && c.covered == 0 { self.alone(c.sum) } else { None };
        let below = alone.as_ref().map_or(c.split, |alone| alone.cost);
        let bound = c.one;
        let found = if alone.is_some() && below <= bound {
            // nothing costs less than its bound
            Best { group: None, settled: true }
        } else {
            cheapest(&self.t, &self.states.lengths(state), &self.states.fixed(state), below, budget)
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
        if let Some(c) = self.states.content.get_mut(state) {
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
