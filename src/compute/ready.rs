//! Stage: notes as they are worked: the options that are chosen put in, the systems and pipes that are open chosen, every name
//! found.

use super::drainage::answer::Chosen;
use super::drainage::{self, choose, shelf::RainShelf};
use super::options;
use super::second_look;
use crate::domain::book::PriceBook;
use crate::domain::layout::Layout;
use crate::domain::layout::resolve::resolve;
use crate::wire::Faults;
use crate::wire::notes::SiteNotes;
use std::borrow::Cow;

/// Notes with nothing left open.
#[derive(Debug)]
pub struct Ready<'n> {
    /// The notes, with what was chosen in them.
    pub notes: Cow<'n, SiteNotes>,
    /// What was chosen because the notes left it open.
    pub chosen: Vec<Chosen>,
}

/// Every fault of notes, with nothing computed.
pub fn faults(notes: &SiteNotes, book: &PriceBook, rains: &RainShelf) -> Faults {
    choose::faults(&options::with_chosen(notes, book), book, rains)
}

impl<'n> Ready<'n> {
    /// The notes with the options that are chosen in them.
    ///
    /// # Errors
    /// Every fault of the notes, with pointers into them, where something is left open; else [`Self::layout`] tells them.
    pub fn of(notes: &'n SiteNotes, book: &PriceBook, rains: &RainShelf) -> Result<Self, Faults> {
        Self::as_they_stand(options::with_chosen(notes, book), book, rains)
    }

    /// The notes, their options left alone.
    ///
    /// # Errors
    /// As [`Self::of`].
    pub fn as_they_stand(
        notes: Cow<'n, SiteNotes>,
        book: &PriceBook,
        rains: &RainShelf,
    ) -> Result<Self, Faults> {
        let (notes, chosen) = choose::fill(notes, book, rains)?;
        Ok(Self { notes, chosen })
    }

    /// The layout.
    ///
    /// # Errors
    /// Every fault of the notes, with pointers into them.
    pub fn layout<'a>(&'a self, book: &'a PriceBook, rains: &RainShelf) -> Result<Layout<'a>, Faults> {
        resolve(&self.notes, book).map_err(|faults| {
            let faults = drainage::with_rain(faults, &self.notes, book, rains);
            second_look::notes::beside(faults, &self.notes, book)
        })
    }
}
