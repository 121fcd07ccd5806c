//! Lengths in the units of the answer: stations and pieces come in few lengths, each is converted once.

use crate::units::show::Show;
use crate::units::{Length, Quantity};
use rustc_hash::FxHashMap;

/// The lengths converted so far.
#[derive(Debug, Clone)]
pub(super) struct Lengths {
    show: Show,
    known: FxHashMap<i64, Quantity>,
}

impl Lengths {
    /// None yet.
    pub(super) fn new(show: Show) -> Self {
        Self { show, known: FxHashMap::default() }
    }

    /// How lengths are shown.
    pub(super) const fn show(&self) -> Show {
        self.show
    }

    /// A length as an answer carries it.
    pub(super) fn long(&mut self, nm: i64) -> Quantity {
        let show = self.show;
        *self.known.entry(nm).or_insert_with(|| show.long(Length::from_nm(nm)))
    }
}
