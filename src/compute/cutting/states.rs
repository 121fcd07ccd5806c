//! Sets of legs and of limited stock as numbers, for the search over few legs.
//!
//! Legs of equal length are one type with a count, and so is limited stock of one kind: a state is a count per type.

use super::component::{NEVER, Terms};
use super::model::{Model, UNLIMITED};
use smallvec::{SmallVec, smallvec};
use std::ops::Range;

/// Not worked out yet.
pub(super) const UNKNOWN: i64 = i64::MIN;

/// A list of mostly a few.
pub(super) type List<T> = SmallVec<[T; 8]>;

/// Legs of one length, or limited stock of one kind.
#[derive(Debug, Clone)]
pub(super) struct Type {
    /// What it is.
    pub item: Item,
    pub count: usize,
    /// State index step of one.
    pub stride: usize,
    /// Bit position in the packed counts.
    shift: u32,
}

/// What a type counts.
#[derive(Debug, Clone)]
pub(super) enum Item {
    /// Legs of this length, by their places among the legs.
    Legs(i64, Range<usize>),
    /// Stock pieces of this kind.
    Stock(usize),
}

/// No leg in the state.
const NO_LEG: u8 = u8::MAX;

/// What a state holds, and what is known of it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Content {
    pub packed: u64,
    /// Type of its longest leg, or [`NO_LEG`].
    pub lowest: u8,
    pub legs: u32,
    /// Summed length of its legs.
    pub sum: i64,
    /// Effective length of its limited stock, and its cost with joints.
    pub covered: i64,
    pub paid: i64,
    /// Bound of the state as one group.
    pub one: i64,
    /// Bound of the best proper partition.
    pub split: i64,
    /// First group of the best partition.
    pub first: usize,
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

/// All states over one set of legs and the limited stock at hand.
pub(super) struct States {
    pub types: List<Type>,
    /// The highest bit of every packed count.
    pub guard: u64,
    pub content: Vec<Content>,
    /// How many kinds of stock there are.
    kinds: usize,
}

impl States {
    /// The states over these legs (indices into the model, longest first); `None` when there are more than `most`.
    pub(super) fn of(t: &Terms<'_>, legs: &[usize], most: usize) -> Option<Self> {
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
        let mut all = Self { guard, content: Vec::with_capacity(states), types, kinds: t.m.kinds.len() };
        all.fill(t.m);
        Some(all)
    }

    /// How many there are.
    pub(super) fn number(&self) -> usize {
        self.content.len()
    }

    /// State of all legs and all limited stock.
    pub(super) fn full(&self) -> usize {
        self.content.len() - 1
    }

    /// What a state holds.
    pub(super) fn content(&self, state: usize) -> Content {
        self.content.get(state).copied().unwrap_or(Content::NOTHING)
    }

    /// The lengths of the legs of a state.
    pub(super) fn lengths(&self, state: usize) -> List<i64> {
        let mut lengths = List::new();
        for ty in &self.types {
            if let Item::Legs(len, _) = ty.item {
                lengths.extend(std::iter::repeat_n(len, Self::count(ty, state)));
            }
        }
        lengths
    }

    /// Limited stock of a state, per kind.
    pub(super) fn fixed(&self, state: usize) -> List<u32> {
        let mut fixed: List<u32> = smallvec![0; self.kinds];
        for ty in &self.types {
            if let Item::Stock(kind) = ty.item
                && let Some(n) = fixed.get_mut(kind)
            {
                *n = u32::try_from(Self::count(ty, state)).unwrap_or(0);
            }
        }
        fixed
    }

    /// How many of a type a state holds.
    pub(super) fn count(ty: &Type, state: usize) -> usize {
        state / ty.stride % (ty.count + 1)
    }

    /// Every state is a smaller one and one thing more of its last type.
    fn fill(&mut self, m: &Model) {
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
}
