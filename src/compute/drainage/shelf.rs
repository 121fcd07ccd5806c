//! The rain tables a request may name, handed in from outside; with them, whether anybody waits for what is computed with them.

use crate::compute::rain::RainTable;
use crate::compute::wanted::Wanted;
use crate::wire::Code;
use crate::wire::notes::SiteNotes;
use crate::wire::water::RainNotes;

/// Rain tables by code.
#[derive(Debug, Clone, Default)]
pub struct RainShelf {
    /// The tables the notes name, as far as they exist.
    pub tables: Vec<(Code, RainTable)>,
    /// Some of the codes there are, for messages.
    pub known: Vec<Code>,
    /// Whether anybody still waits: a storm over large notes takes long.
    pub wanted: Wanted,
}

impl RainShelf {
    /// The table of a code.
    pub fn table(&self, code: &Code) -> Option<&RainTable> {
        self.tables.iter().find(|(have, _)| have == code).map(|(_, table)| table)
    }
}

/// The rain table that notes name, if they do.
pub fn named_by(notes: &SiteNotes) -> Option<&Code> {
    match notes.storm.as_ref().map(|s| &s.rain) {
        Some(RainNotes::Table { table }) => Some(table),
        _ => None,
    }
}
