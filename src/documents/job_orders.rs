//! Purchase orders and the crew's cutting sheet of a stored estimate, as data and as CSV.
//!
//! They are made from the estimate as it was stored, so that what was quoted and what is ordered cannot drift apart. CSV
//! follows RFC 4180; a text that a spreadsheet would run as a formula gets a `'` in front.

pub mod additions;
pub mod cutting_sheet;
pub mod order_file;
pub mod purchase_orders;
mod stored;

use crate::units::Unit;
use crate::wire::contract::facts::JobFact;
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

/// A quantity as answers carry it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct StoredQuantity {
    /// The number, as a decimal.
    pub value: String,
    /// Its unit.
    pub unit: String,
}

impl StoredQuantity {
    /// Whether it is less than whole pieces.
    pub(crate) fn is_part_of_a_piece(&self) -> bool {
        self.unit == Unit::Each.word()
            && self.value.parse::<Decimal>().is_ok_and(|value| value != value.trunc())
    }
}

/// Which revision a document is made from, and the job it is of.
#[derive(Debug, Clone, Copy)]
pub struct Revision<'e> {
    /// The job as it stands: its title and site go before those of the notes, which may be older.
    pub job: &'e JobFact,
    /// Id of the estimate.
    pub id: &'e str,
    /// Number of the revision.
    pub number: i64,
    /// The estimate as it was stored.
    pub answer: &'e str,
    /// The site notes it was computed from.
    pub notes: &'e str,
}

/// Why a document cannot be made.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum DocumentError {
    /// The revision was computed before such documents were.
    #[error("this revision was computed by an older engine, without {0}; make a new revision")]
    TooOld(&'static str),
    /// The stored text cannot be read.
    #[error("stored estimate: {0}")]
    Unreadable(String),
}

/// CSV from rows of equal length.
pub(crate) fn csv_of<const N: usize>(header: [&str; N], rows: &[[String; N]]) -> Vec<u8> {
    let mut writer =
        csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::with_capacity(8 * 1024));
    // Writing to memory does not fail, and every record has the same number of fields.
    let mut fine = writer.write_record(header).is_ok();
    for row in rows {
        fine &= writer.write_record(row.each_ref().map(|c| super::price_list::cell(c))).is_ok();
    }
    debug_assert!(fine);
    writer.into_inner().unwrap_or_default()
}
