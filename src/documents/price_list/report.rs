//! What reading a price list found: counts, price moves, and everything that is wrong.

use crate::domain::book::difference::{move_pct, moves_beyond};
use crate::units::{Percent, Price};
use crate::wire::book::{BookDoc, Item};
use rust_decimal::Decimal;
use serde::Serialize;
use std::collections::{HashMap, HashSet};
use utoipa::ToSchema;

/// Most faults listed.
pub const MOST_FAULTS: usize = 100;
/// Most price moves listed.
pub const MOST_MOVES: usize = 20;

/// Something wrong with a price list.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct RowFault {
    /// Row as a spreadsheet counts it, the header being 1.
    #[schema(example = 3)]
    pub row: usize,
    /// Column; absent when it is about the whole row.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false, example = "price")]
    pub column: Option<String>,
    /// Stable code.
    #[schema(example = "thousands_separator")]
    pub code: &'static str,
    /// The rule and how to meet it.
    pub detail: String,
    /// What was sent.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false, example = "1,234.50")]
    pub value: Option<String>,
    /// What is accepted.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub allowed: Vec<String>,
}

/// A price that moved.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct PriceMove {
    /// Row as a spreadsheet counts it.
    pub row: usize,
    /// Code of the item.
    pub code: String,
    /// Its name.
    pub name: String,
    /// Price before.
    pub before: Price,
    /// Price after.
    pub after: Price,
    /// How far it moved, in percent of the price before, signed; absent when that was nothing.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = String, nullable = false, example = "4.01")]
    pub move_pct: Option<Decimal>,
    /// Whether it moved further than the guard lets through unconfirmed.
    pub is_large: bool,
}

/// What a price list does to the items of a version.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct PriceListReport {
    /// Whether the list can be taken in as it was sent.
    pub importable: bool,
    /// Rows without the header.
    pub rows: usize,
    /// Items that are new.
    pub created: usize,
    /// Items that change.
    pub updated: usize,
    /// Items that stay as they are.
    pub unchanged: usize,
    /// Codes of items of the version that the list does not name; none where its header cannot be read.
    pub missing: Vec<String>,
    /// Whether those are taken out; they stay otherwise.
    pub missing_removed: bool,
    /// The largest price moves, largest first; those beyond the guard always among them.
    pub price_moves: Vec<PriceMove>,
    /// How many prices moved further than the guard lets through unconfirmed.
    pub large_moves: usize,
    /// The guard, in percent either way.
    pub largest_move_pct: Percent,
    /// Everything that is wrong; up to 100 are listed.
    pub errors: Vec<RowFault>,
    /// Whether more is wrong than is listed.
    pub errors_truncated: bool,
}

/// How a list is taken in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rules {
    /// Prices that move further, either way, must be confirmed.
    pub largest_move_pct: Percent,
    /// Whether moves beyond it are confirmed.
    pub confirmed: bool,
    /// Whether items that the list does not name are taken out.
    pub remove_missing: bool,
}

/// A row that could be read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadRow {
    /// Row as a spreadsheet counts it.
    pub row: usize,
    /// The item it makes.
    pub item: Item,
}

/// What a list says.
#[derive(Debug, Default)]
pub struct ReadRows {
    /// The rows that could be read.
    pub rows: Vec<ReadRow>,
    /// How many rows there are.
    pub count: usize,
    /// Every code it names, those of rows with faults too.
    pub codes: HashSet<String>,
}

/// Makes the report, and the items of the version after the import. Nothing is said of what a list leaves out that could not be
/// read.
pub fn report(
    doc: &BookDoc,
    read: Option<ReadRows>,
    mut faults: Vec<RowFault>,
    rules: Rules,
) -> (PriceListReport, Vec<Item>) {
    let is_read = read.is_some();
    let ReadRows { rows, count, codes } = read.unwrap_or_default();
    let old: HashMap<&str, &Item> = doc.items.iter().map(|i| (i.code.as_str(), i)).collect();
    let (mut created, mut updated, mut unchanged) = (0, 0, 0);
    let mut moves = Vec::new();
    let mut named: HashMap<String, Item> = HashMap::with_capacity(rows.len());
    let mut fresh = Vec::new();
    for ReadRow { row, item } in rows {
        match old.get(item.code.as_str()) {
            None => {
                created += 1;
                fresh.push(item.clone());
            }
            Some(before) if **before == item => unchanged += 1,
            Some(before) => {
                updated += 1;
                if before.price != item.price {
                    let pct = move_pct(before.price, item.price);
                    moves.push(PriceMove {
                        row,
                        code: item.code.to_string(),
                        name: item.name.to_string(),
                        before: before.price,
                        after: item.price,
                        move_pct: pct,
                        is_large: moves_beyond(before.price, item.price, rules.largest_move_pct),
                    });
                }
            }
        }
        named.insert(item.code.to_string(), item);
    }
    let codes_there = doc.items.iter().map(|i| i.code.to_string()).filter(|_| is_read);
    let missing: Vec<String> = codes_there.filter(|c| !codes.contains(c)).collect();
    let large_moves = moves.iter().filter(|m| m.is_large).count();
    if !rules.confirmed {
        for large in moves.iter().filter(|m| m.is_large) {
            faults.push(RowFault {
                row: large.row,
                column: Some("price".to_owned()),
                code: "large_move",
                detail: match large.move_pct {
                    Some(pct) => format!(
                        "`{}` moves from {} to {}, by {pct} %: further than {} either way",
                        large.code, large.before, large.after, rules.largest_move_pct
                    ),
                    None => format!("`{}` moves from nothing to {}", large.code, large.after),
                },
                value: Some(large.after.to_string()),
                allowed: vec!["`confirm_large_changes=true`, once it is right".to_owned()],
            });
        }
    }
    moves.sort_by(|a, b| {
        let size = |m: &PriceMove| m.move_pct.map(|p| p.abs());
        // From nothing counts as furthest.
        (size(b).is_none(), size(b)).cmp(&(size(a).is_none(), size(a))).then(a.row.cmp(&b.row))
    });
    moves.truncate(MOST_MOVES.max(large_moves.min(MOST_FAULTS)));
    faults.sort_by(|a, b| a.row.cmp(&b.row).then(a.column.cmp(&b.column)));
    let errors_truncated = faults.len() > MOST_FAULTS;
    let importable = faults.is_empty();
    faults.truncate(MOST_FAULTS);
    // Items keep their places; new ones follow in the order of the list.
    let mut items: Vec<Item> = doc
        .items
        .iter()
        .filter_map(|i| match named.get(i.code.as_str()) {
            Some(item) => Some(item.clone()),
            None => (!rules.remove_missing).then(|| i.clone()),
        })
        .collect();
    items.append(&mut fresh);
    let report = PriceListReport {
        importable,
        rows: count,
        created,
        updated,
        unchanged,
        missing,
        missing_removed: rules.remove_missing,
        price_moves: moves,
        large_moves,
        largest_move_pct: rules.largest_move_pct,
        errors: faults,
        errors_truncated,
    };
    (report, items)
}
