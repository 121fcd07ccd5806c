//! The items of a price book as a CSV price list, out and in.
//!
//! RFC 4180: CRLF, quotes around what needs them, a header line; UTF-8 only. What a spreadsheet would run as a formula is
//! written with a leading `'`, and reading takes exactly one such `'` off again, so that a list comes back unchanged.

mod misread;
mod numbers;
pub mod offers;
mod quotes;
pub mod read;
pub mod report;

#[cfg(test)]
mod tests;

use crate::wire::book::BookDoc;

/// Columns of a price list, in the order in which they are written. A list that is read names them in any order.
pub const COLUMNS: [&str; 8] =
    ["code", "name", "category", "unit", "price", "currency", "increment", "supplier"];

/// Columns without which a row says nothing.
pub const NEEDED: [&str; 2] = ["code", "price"];

/// First characters that spreadsheets take for a formula, the full-width forms among them.
///
/// # Source
/// OWASP "CSV Injection" and ASVS 5 section 1.2.10 (from memory): `=`, `+`, `-`, `@`, tab, carriage return, NUL.
pub const FORMULA: [char; 11] = ['=', '+', '-', '@', '\t', '\r', '\0', '＝', '＋', '－', '＠'];

/// Whether a spreadsheet would take the text for a formula.
pub fn is_formula(text: &str) -> bool {
    text.starts_with(FORMULA)
}

/// Whether the text is a formula behind any number of `'`.
fn is_guarded(text: &str) -> bool {
    is_formula(text.trim_start_matches('\''))
}

/// Text as a cell: what would be a formula gets a `'` in front.
///
/// ```
/// use rillcast::documents::price_list::{cell, text};
/// for sent in ["Channel", "=1+1", "'=1+1", "''@x", "'quoted'", "-5 deg elbow", "＝x"] {
///     assert_eq!(text(&cell(sent)).as_deref(), Some(sent));
/// }
/// assert_eq!(cell("=1+1"), "'=1+1");
/// assert_eq!(text("=1+1"), None);
/// ```
pub fn cell(text: &str) -> String {
    if is_guarded(text) { format!("'{text}") } else { text.to_owned() }
}

/// A cell as text: one `'` in front of a formula is taken off; `None` for a formula itself.
pub fn text(cell: &str) -> Option<String> {
    if is_formula(cell) {
        return None;
    }
    match cell.strip_prefix('\'') {
        Some(rest) if is_guarded(rest) => Some(rest.to_owned()),
        _ => Some(cell.to_owned()),
    }
}

/// Writes the items of a price book.
pub fn write(doc: &BookDoc) -> Vec<u8> {
    let mut writer = csv::WriterBuilder::new()
        .terminator(csv::Terminator::CRLF)
        .from_writer(Vec::with_capacity(16 * 1024));
    // Writing to memory does not fail, and every record has the same number of fields.
    let mut write = |record: [String; 8]| writer.write_record(&record).is_ok();
    write(COLUMNS.map(ToOwned::to_owned));
    for item in doc.items.iter() {
        write([
            item.code.to_string(),
            cell(item.name.as_str()),
            item.category.word().to_owned(),
            item.unit.word().to_owned(),
            item.price.to_string(),
            doc.currency.word().to_owned(),
            item.increment.map_or_else(String::new, |f| f.to_string()),
            item.supplier.as_ref().map_or_else(String::new, |s| cell(s.as_str())),
        ]);
    }
    writer.into_inner().unwrap_or_default()
}
