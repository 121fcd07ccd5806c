//! What reading a price list found: counts, price moves, and everything that is wrong.

use super::offers::{MOST_OFFERS, OfferWithPrice, OfferWithoutUnit, with_price, without_unit};
use crate::domain::book::difference::{MemberChange, members};
use crate::domain::book::price_moves::{Moved, moved, moves_beyond};
use crate::units::{Percent, Price, Unit};
use crate::wire::book::{BookDoc, Item};
use rust_decimal::Decimal;
use serde::Serialize;
use std::collections::{HashMap, HashSet};
use utoipa::ToSchema;

/// Most faults listed.
pub const MOST_FAULTS: usize = 100;
/// Most price moves listed.
pub const MOST_MOVES: usize = 20;

/// Most rows listed that change more than their price.
pub const MOST_CHANGES: usize = 200;

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
    /// The unit before, where it differs.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub unit_before: Option<Unit>,
    /// The unit after, where it differs.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub unit_after: Option<Unit>,
    /// Price after by the unit before, where the unit differs and both are of one kind.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub after_by_unit_before: Option<Price>,
    /// How far it moved by the unit before, in percent of the price before, signed; absent when that was nothing, and when the
    /// two units are not of one kind.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = String, nullable = false, example = "4.01")]
    pub move_pct: Option<Decimal>,
    /// Whether it moved further than the guard lets through unconfirmed, or is by a unit of another kind.
    pub is_large: bool,
}

/// A row whose name, category, unit, increment or supplier changes.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct RowChange {
    /// Row as a spreadsheet counts it.
    pub row: usize,
    /// Code of the item.
    pub code: String,
    /// Members that differ; its price is among the price moves.
    pub members: Vec<MemberChange>,
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
    /// How many prices moved further than the guard lets through unconfirmed, or are by a unit of another kind.
    pub large_moves: usize,
    /// Rows that change more than their price, in the order of the list; up to 200 are listed.
    pub changes: Vec<RowChange>,
    /// How many rows change more than their price.
    pub changed_rows: usize,
    /// Whether more rows change than are listed.
    pub changes_truncated: bool,
    /// Offers without `unit` of items whose unit changes; they must be confirmed too.
    pub offers_without_unit: Vec<OfferWithoutUnit>,
    /// Offers with prices of their own of items whose price moves: what is bought by them costs what it did. In the order of the
    /// list; up to 200 are listed.
    pub offers_with_prices: Vec<OfferWithPrice>,
    /// How many items whose price moves have such offers.
    pub items_with_offers: usize,
    /// Whether there are more such offers than are listed.
    pub offers_truncated: bool,
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
    /// Every code it names, those of rows with faults too, where the cell can be told.
    pub codes: HashSet<String>,
}

/// How the price of a row moved by the unit before; `None` where it did not.
fn price_move(row: usize, before: &Item, after: &Item, most: Percent) -> Option<PriceMove> {
    let units = (before.unit != after.unit).then_some((before.unit, after.unit));
    let (by_before, move_pct, is_large) = match moved(before, after) {
        Moved::Not => return None,
        Moved::To { after, pct } => (Some(after), pct, moves_beyond(before.price, after, most)),
        Moved::OtherKind => (None, None, true),
    };
    Some(PriceMove {
        row,
        code: after.code.to_string(),
        name: after.name.to_string(),
        before: before.price,
        after: after.price,
        unit_before: units.map(|u| u.0),
        unit_after: units.map(|u| u.1),
        after_by_unit_before: units.and(by_before).map(Price::rounded),
        move_pct,
        is_large,
    })
}

/// What changes of a row besides its price; `None` where nothing does.
fn change(row: usize, before: &Item, after: &Item) -> Option<RowChange> {
    let value = |item: &Item| serde_json::to_value(item).ok();
    let mut members = members(value(before).as_ref(), value(after).as_ref());
    members.retain(|m| m.member != "price");
    (!members.is_empty()).then(|| RowChange { row, code: after.code.to_string(), members })
}

const CONFIRM: &str = "`confirm_large_changes=true`, once it is right";

/// Offers whose figures would count in another unit without a word.
fn uncounted(row: usize, item: &Item, offers: &[OfferWithoutUnit]) -> RowFault {
    let mut codes: Vec<String> = offers.iter().take(10).map(|o| format!("`{}`", o.order_code)).collect();
    if offers.len() > codes.len() {
        codes.push(format!("{} more", offers.len() - codes.len()));
    }
    RowFault {
        row,
        column: Some("unit".to_owned()),
        code: "large_move",
        detail: format!(
            "offers of `{}` that name no unit would count by the {} from now on, their packs and prices too: {}; they must be put right in the draft",
            item.code,
            item.unit,
            codes.join(", ")
        ),
        value: Some(item.unit.to_string()),
        allowed: vec![CONFIRM.to_owned()],
    }
}

/// A price beyond the guard.
fn large_move(large: &PriceMove, most: Percent) -> RowFault {
    let PriceMove {
        row,
        code,
        name: _,
        before,
        after,
        unit_before,
        unit_after,
        after_by_unit_before,
        move_pct,
        is_large: _,
    } = large;
    let units = unit_before.zip(*unit_after);
    let (column, detail) = match (units, after_by_unit_before, move_pct) {
        (Some((old, new)), None, _) => (
            "unit",
            format!(
                "`{code}` was {before} by the {old} and is {after} by the {new}: these two cannot be compared"
            ),
        ),
        (Some((old, new)), Some(same), Some(pct)) => (
            "price",
            format!(
                "`{code}` moves from {before} by the {old} to {after} by the {new}, which is {same} by the {old}, by {pct} %: further than {most} either way"
            ),
        ),
        (None, _, Some(pct)) => (
            "price",
            format!("`{code}` moves from {before} to {after}, by {pct} %: further than {most} either way"),
        ),
        (_, _, None) => ("price", format!("`{code}` moves from nothing to {after}")),
    };
    let value = if column == "unit" { unit_after.map(|u| u.to_string()) } else { Some(after.to_string()) };
    RowFault {
        row: *row,
        column: Some(column.to_owned()),
        code: "large_move",
        detail,
        value,
        allowed: vec![CONFIRM.to_owned()],
    }
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
    let mut changes = Vec::new();
    let mut offers_without_unit = Vec::new();
    let mut offers_with_prices = Vec::new();
    let mut items_with_offers = 0;
    let mut unit_less = without_unit(doc);
    let mut priced = with_price(doc);
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
                let moved = price_move(row, before, &item, rules.largest_move_pct);
                if let Some(offers) = moved.as_ref().and_then(|_| priced.remove(&item.code)) {
                    items_with_offers += 1;
                    offers_with_prices.extend(offers);
                }
                moves.extend(moved);
                changes.extend(change(row, before, &item));
                if before.unit != item.unit
                    && let Some(offers) = unit_less.remove(&item.code)
                {
                    if !rules.confirmed {
                        faults.push(uncounted(row, &item, &offers));
                    }
                    offers_without_unit.extend(offers);
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
            faults.push(large_move(large, rules.largest_move_pct));
        }
    }
    moves.sort_by(|a, b| {
        let size = |m: &PriceMove| m.move_pct.map(|p| p.abs());
        // From nothing counts as furthest.
        (size(b).is_none(), size(b)).cmp(&(size(a).is_none(), size(a))).then(a.row.cmp(&b.row))
    });
    moves.truncate(MOST_MOVES.max(large_moves.min(MOST_FAULTS)));
    faults.sort_by(|a, b| a.row.cmp(&b.row).then(a.column.cmp(&b.column)));
    let changed_rows = changes.len();
    changes.truncate(MOST_CHANGES);
    let offers_truncated = offers_with_prices.len() > MOST_OFFERS;
    offers_with_prices.truncate(MOST_OFFERS);
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
        changes,
        changed_rows,
        changes_truncated: changed_rows > MOST_CHANGES,
        offers_without_unit,
        offers_with_prices,
        items_with_offers,
        offers_truncated,
        largest_move_pct: rules.largest_move_pct,
        errors: faults,
        errors_truncated,
    };
    (report, items)
}
