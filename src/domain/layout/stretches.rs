//! Stretches of a drain line: legs that run on into each other, so that it does not matter where one ends and the next begins.

use super::{Leg, Line};
use crate::units::Length;
use smallvec::SmallVec;
use std::fmt;

/// Legs of a line that run on into each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stretch {
    /// First leg, counted from 0.
    pub first: usize,
    /// Last leg.
    pub last: usize,
    /// Where it begins, from the upper end of the line.
    pub from: Length,
    /// Length in all.
    pub length: Length,
}

impl fmt::Display for Stretch {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (first, last) = (self.first + 1, self.last + 1);
        if first == last { write!(f, "leg {first}") } else { write!(f, "legs {first} to {last}") }
    }
}

impl Line<'_> {
    /// Legs that one pipe is laid through: nothing turns and nothing enters where they meet.
    pub fn laid_through(&self) -> SmallVec<[Stretch; 2]> {
        self.stretches(|_, _, at| !self.entries().any(|station| station == at))
    }

    /// Legs over which the surface is opened by one closed cut: they lie in line under the same surface.
    pub fn cut_as_one(&self) -> SmallVec<[Stretch; 2]> {
        self.stretches(|before, after, _| before.top == after.top)
    }

    /// Legs in line that run on into each other, by the leg before, the leg after and the station where they meet.
    fn stretches(&self, runs_on: impl Fn(&Leg, &Leg, Length) -> bool) -> SmallVec<[Stretch; 2]> {
        let mut out: SmallVec<[Stretch; 2]> = SmallVec::new();
        let mut before: Option<&Leg> = None;
        let mut from = Length::ZERO;
        for (i, leg) in self.legs.iter().enumerate() {
            let on = before.is_some_and(|b| b.bend.is_none() && runs_on(b, leg, from));
            match out.last_mut().filter(|_| on) {
                Some(stretch) => {
                    stretch.last = i;
                    stretch.length += leg.length;
                }
                None => out.push(Stretch { first: i, last: i, from, length: leg.length }),
            }
            from += leg.length;
            before = Some(leg);
        }
        out
    }
}
