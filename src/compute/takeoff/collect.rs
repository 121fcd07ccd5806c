//! What the take-off gathers on its way over the layout.

use super::earth::Earth;
use crate::compute::needs::{Need, Needs};
use crate::domain::book::PriceBook;
use crate::domain::layout::Layout;
use crate::domain::lines::{Check, QuantityLine};
use crate::domain::measures::Measures;
use crate::units::show::Show;
use crate::units::{Length, Quantity};
use crate::wire::Code;
use std::borrow::Cow;
use std::fmt;

/// What every stage adds to, beside the layout and the book that each of them reads.
#[derive(Debug)]
pub(super) struct Collect<'l, 'a> {
    pub(super) layout: &'l Layout<'a>,
    pub(super) book: &'a PriceBook,
    pub(super) show: Show,
    /// The depths from which the price book's digging takes longer, the least first.
    pub(super) depths: Vec<Length>,
    /// Sums over the layout.
    pub(super) measures: Measures,
    /// What has to be bought.
    pub(super) needs: Needs<'a>,
    /// What is dug, lifted and filled back.
    pub(super) earth: Earth,
    /// Quantities of the run or line that is taken off.
    pub(super) quantities: Vec<QuantityLine>,
    /// Checks of the whole layout.
    pub(super) checks: Vec<Check>,
}

impl<'l, 'a> Collect<'l, 'a> {
    /// Nothing yet.
    pub(super) fn new(layout: &'l Layout<'a>, book: &'a PriceBook) -> Self {
        let rules = book.doc().labor_rules.iter();
        let mut depths: Vec<Length> = rules.flat_map(|r| r.depth.iter().map(|d| d.deeper_than)).collect();
        depths.sort_unstable();
        depths.dedup();
        Self {
            layout,
            book,
            show: layout.show,
            depths,
            measures: Measures::default(),
            needs: Needs::default(),
            earth: Earth::default(),
            quantities: Vec::new(),
            checks: Vec::new(),
        }
    }

    /// Begins the quantities of a run or line, mostly so many.
    pub(super) fn begin(&mut self, usual: usize) {
        self.quantities = Vec::with_capacity(usual);
    }

    /// The quantities since that.
    pub(super) fn end(&mut self) -> Vec<QuantityLine> {
        std::mem::take(&mut self.quantities)
    }

    /// Adds a quantity to those of the run or line.
    pub(super) fn quantity(
        &mut self,
        name: impl Into<Cow<'static, str>>,
        quantity: Quantity,
        rule: &'static str,
        basis: impl Into<Cow<'static, str>>,
    ) {
        self.quantities.push(QuantityLine { name: name.into(), quantity, rule, basis: basis.into() });
    }

    /// Adds what has to be bought of an item; the basis says how it came about.
    pub(super) fn need(&mut self, item: &'a Code, need: Need, rule: &'static str, basis: impl fmt::Display) {
        self.needs.add(self.book, item, need, rule, basis);
    }
}
