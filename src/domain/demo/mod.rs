//! The demo: an invented price book and an invented job. Nothing in it is a real price, maker, person or place.

use crate::compute::drainage::shelf::RainShelf;
use crate::wire::rain::RainTableDoc;
use crate::wire::{ReadError, read_document};

/// The demo price book, a whole document.
pub const BOOK: &str = include_str!("book.json");

/// The site notes of the demo job: two runs, a branching drain line.
pub const NOTES: &str = include_str!("notes.json");

/// The rain table that the demo job's storm names, a whole document.
pub const RAIN: &str = include_str!("rain.json");

/// An invented file in the form of a NOAA Atlas 14 point file, as an example of what can be imported.
pub const RAIN_FILE: &str = include_str!("rain_file.csv");

/// The rain tables of the demo, as the calculators take them.
///
/// # Errors
/// Never, as long as the documents above hold.
pub fn rains() -> Result<RainShelf, ReadError> {
    let doc: RainTableDoc = read_document(RAIN.as_bytes())?;
    let table = crate::compute::rain_tables::table(&doc).map_err(ReadError::Faults)?;
    Ok(RainShelf { known: vec![doc.code.clone()], tables: vec![(doc.code, table)], ..RainShelf::default() })
}

#[cfg(test)]
#[expect(clippy::panic, reason = "a test that cannot read the demo must stop")]
mod tests {
    use crate::domain::book::{BookRef, PriceBook};
    use crate::wire::book::BookDoc;
    use crate::wire::notes::SiteNotes;
    use crate::wire::read_document;

    #[test]
    fn the_demo_reads_back_equal_and_gives_an_estimate() {
        let doc: BookDoc = read_document(super::BOOK.as_bytes()).unwrap_or_else(|e| panic!("{e}"));
        let written = serde_json::to_vec(&doc).unwrap_or_else(|e| panic!("{e}"));
        let again: BookDoc = read_document(&written).unwrap_or_else(|e| panic!("{e}"));
        assert_eq!(doc, again);
        let book = PriceBook::check(doc).unwrap_or_else(|e| panic!("{e}"));
        let notes: SiteNotes = read_document(super::NOTES.as_bytes()).unwrap_or_else(|e| panic!("{e}"));
        let used = BookRef { version_id: "v".to_owned(), name: "demo".to_owned(), number: 1 };
        let estimate = crate::compute::pipeline::estimate(
            &notes,
            &book,
            &used,
            &super::rains().unwrap_or_else(|e| panic!("{e}")),
        )
        .unwrap_or_else(|e| panic!("{e}"));
        assert!(estimate.summary.failed.is_empty(), "{:?}", estimate.summary.failed);
    }
}
