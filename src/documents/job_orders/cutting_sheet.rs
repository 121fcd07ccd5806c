//! The crew's cutting sheet.

use super::{DocumentError, Revision, StoredQuantity, csv_of};
use crate::compute::cut_list::answer::CutListOut;
use crate::compute::cut_list::mark::uncut;
use serde::{Deserialize, Serialize};
use serde_json::value::RawValue;
use utoipa::ToSchema;

/// The cutting sheet of an estimate.
#[derive(Debug, Serialize, ToSchema)]
pub struct CuttingSheet {
    /// The estimate.
    pub estimate_id: String,
    /// Its revision.
    pub revision: i64,
    /// What the job is called.
    pub title: String,
    /// Where the work is.
    pub site: String,
    /// The cut lists, byte for byte as they were stored: what is cut from each stock piece, in order, and where it goes. Those
    /// stored by an engine before 1.6.0 have a row for each stock piece, without `count`; those of an engine before 1.17.0 have a
    /// mark on pieces that no cut ends as well: not to be sawn where `cuts` is 0.
    #[schema(value_type = Vec<CutListOut>)]
    pub cut_lists: Box<RawValue>,
}

#[derive(Debug, Deserialize)]
struct StoredLists {
    layout: StoredLayout,
}

#[derive(Debug, Deserialize)]
struct StoredLayout {
    cut_lists: Option<Box<RawValue>>,
}

/// The cutting sheet of a stored estimate.
///
/// # Errors
/// When the revision is older than cut lists, or cannot be read.
pub fn cutting_sheet(revision: Revision<'_>) -> Result<CuttingSheet, DocumentError> {
    let unreadable = |e: serde_json::Error| DocumentError::Unreadable(e.to_string());
    let lists: StoredLists = serde_json::from_str(revision.answer).map_err(unreadable)?;
    let cut_lists = lists.layout.cut_lists.ok_or(DocumentError::TooOld("cut lists"))?;
    Ok(CuttingSheet {
        estimate_id: revision.id.to_owned(),
        revision: revision.number,
        title: revision.job.title.to_string(),
        site: revision.job.site.address.to_string(),
        cut_lists,
    })
}

#[derive(Debug, Deserialize)]
struct StoredList {
    part: String,
    code: String,
    sheet: Vec<StoredStock>,
}

#[derive(Debug, Deserialize)]
struct StoredStock {
    number: i64,
    #[serde(default = "one")]
    count: i64,
    stock: String,
    source: String,
    length: StoredQuantity,
    pieces: Vec<StoredPiece>,
    cuts: Option<i64>,
    left: StoredQuantity,
}

#[derive(Debug, Deserialize)]
struct StoredPiece {
    leg: String,
    from: StoredQuantity,
    to: StoredQuantity,
    length: StoredQuantity,
    mark: String,
}

/// The mark of the piece at a place, from 0, of a stock piece that is cut so often, as it is stored; what no cut ends says so in place of
/// one, also in estimates of an engine that wrote a mark for every piece.
pub fn mark_of(stored: &str, place: usize, cuts: Option<i64>) -> &str {
    cuts.and_then(|cuts| uncut(place, usize::try_from(cuts).ok()?)).unwrap_or(stored)
}

/// What a row without a count stands for: one stock piece.
fn one() -> i64 {
    1
}

/// Columns of a cutting sheet as CSV.
pub const COLUMNS: [&str; 15] = [
    "part",
    "code",
    "stock_piece",
    "count",
    "stock",
    "source",
    "stock_length",
    "piece",
    "mark",
    "length",
    "leg",
    "from",
    "to",
    "unit",
    "left_over",
];

/// A cutting sheet as CSV: a row for each piece, in cutting order; what is left over stands at the last of its stock piece.
/// Whole stock pieces that go onto one leg one after the other are one row with their `count`; `length` is that of one.
///
/// # Errors
/// When the stored lists cannot be read.
pub fn csv(sheet: &CuttingSheet) -> Result<Vec<u8>, DocumentError> {
    let lists: Vec<StoredList> =
        serde_json::from_str(sheet.cut_lists.get()).map_err(|e| DocumentError::Unreadable(e.to_string()))?;
    let mut rows: Vec<[String; 15]> = Vec::new();
    for list in &lists {
        for stock in &list.sheet {
            for (n, piece) in stock.pieces.iter().enumerate() {
                let last = n + 1 == stock.pieces.len();
                rows.push([
                    list.part.clone(),
                    list.code.clone(),
                    stock.number.to_string(),
                    stock.count.to_string(),
                    stock.stock.clone(),
                    stock.source.clone(),
                    stock.length.value.clone(),
                    (n + 1).to_string(),
                    mark_of(&piece.mark, n, stock.cuts).to_owned(),
                    piece.length.value.clone(),
                    piece.leg.clone(),
                    piece.from.value.clone(),
                    piece.to.value.clone(),
                    piece.length.unit.clone(),
                    if last { stock.left.value.clone() } else { String::new() },
                ]);
            }
        }
    }
    Ok(csv_of(COLUMNS, &rows))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "tests")]
    use super::*;

    fn rows(row: &str) -> String {
        let list = format!(r#"[{{"part":"grate","code":"grate-6","sheet":[{row}]}}]"#);
        let cut_lists = RawValue::from_string(list).unwrap();
        let sheet = CuttingSheet {
            estimate_id: String::new(),
            revision: 1,
            title: String::new(),
            site: String::new(),
            cut_lists,
        };
        String::from_utf8(csv(&sheet).unwrap()).unwrap().lines().skip(1).collect()
    }

    #[test]
    fn a_row_stored_without_a_count_is_one_stock_piece() {
        let row = |count: &str| {
            let long = |n: i64| format!(r#"{{"value":"{n}","unit":"ft"}}"#);
            let (none, two, six) = (long(0), long(2), long(6));
            format!(
                r#"{{"number":1,{count}"stock":"grate-6","source":"bought","length":{two},"left":{none},"pieces":[
                {{"leg":"run a, leg 1","from":{none},"to":{six},"length":{two},"mark":"2 ft"}}]}}"#
            )
        };
        assert_eq!(rows(&row("")), "grate,grate-6,1,1,grate-6,bought,2,1,2 ft,2,\"run a, leg 1\",0,6,ft,0");
        assert_eq!(rows(&row(r#""count":3,"#)), rows(&row("")).replace("grate-6,1,1,", "grate-6,1,3,"));
    }

    /// Estimates of an engine that marked every piece say on the sheet which of them are not sawn.
    #[test]
    fn what_is_not_sawn_has_no_mark_whatever_was_stored() {
        for (place, cuts, mark) in [
            (0, Some(0), "whole"),
            (0, Some(1), "3 ft 3 5/16 in"),
            (1, Some(1), "the rest"),
            (1, Some(2), "3 ft 3 5/16 in"),
            (0, None, "3 ft 3 5/16 in"),
            (0, Some(-1), "3 ft 3 5/16 in"),
        ] {
            assert_eq!(mark_of("3 ft 3 5/16 in", place, cuts), mark);
        }
        let nothing = r#"{"value":"0","unit":"ft"}"#;
        let row = format!(
            r#"{{"number":1,"stock":"s","source":"bought","length":{nothing},"left":{nothing},"cuts":0,"pieces":[
            {{"leg":"l","from":{nothing},"to":{nothing},"length":{nothing},"mark":"3 ft 3 5/16 in"}}]}}"#
        );
        assert!(rows(&row).contains(",whole,"), "{}", rows(&row));
    }
}
