//! Records of what happened: which are in force, and what is wrong with new ones.

use super::costs::Placeable;
use crate::domain::book::PriceBook;
use crate::domain::layout::named::Named;
use crate::domain::measures::measured_as;
use crate::wire::day::Day;
use crate::wire::records::ActualEntry;
use crate::wire::{At, Faults, Label};
use std::collections::BTreeSet;

/// A record as it is kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Recorded {
    /// Id, `act_…`.
    pub id: String,
    /// What was recorded.
    pub entry: ActualEntry,
}

/// The records that no later one stands in place of, voids left out, oldest first.
pub fn in_force(records: &[Recorded]) -> Vec<&Recorded> {
    let replaced: BTreeSet<&str> =
        records.iter().filter_map(|r| r.entry.corrects()).map(Label::as_str).collect();
    records
        .iter()
        .filter(|r| !replaced.contains(r.id.as_str()) && !matches!(r.entry, ActualEntry::Void { .. }))
        .collect()
}

fn order_of(entry: &ActualEntry) -> Option<String> {
    match entry {
        ActualEntry::Ordered { order, .. } => Some(order.to_string()),
        _ => None,
    }
}

/// Longest time one record of hours may tell of: twenty people round the clock.
const MOST_SECONDS: i64 = 20 * 24 * 3600;

/// What records must fit.
#[derive(Debug, Clone, Copy)]
pub struct Grounds<'a> {
    /// The price book of the accepted estimate.
    pub book: &'a PriceBook,
    /// Purchase orders that can be placed.
    pub orders: &'a [Placeable],
    /// The last day that can have happened.
    pub last_day: Day,
}

/// Checks new records against those that are there and what they must fit.
///
/// # Errors
/// Every fault at once: a day to come, a code the book does not have, an order the job does not have or that is placed
/// already, a correction of nothing or of what is corrected already, no hours, a second end.
pub fn check(before: &[Recorded], new: &[ActualEntry], grounds: Grounds<'_>) -> Faults {
    let Grounds { book, orders, last_day } = grounds;
    let mut faults = Faults::new();
    let root = At::ROOT;
    let list = root.member("entries");
    let mut corrected: BTreeSet<String> =
        before.iter().filter_map(|r| r.entry.corrects()).map(ToString::to_string).collect();
    let standing = in_force(before);
    let mut ends = standing.iter().filter(|r| matches!(r.entry, ActualEntry::Finished { .. })).count();
    let mut placed: BTreeSet<String> = standing.iter().filter_map(|r| order_of(&r.entry)).collect();
    for (i, entry) in new.iter().enumerate() {
        let here = list.element(i);
        if entry.on() > last_day {
            faults.value(
                &here.member("on"),
                "in_the_future",
                &entry.on().to_string(),
                format!("records tell what has happened; the last day that can have is {last_day}"),
            );
        }
        if let Some(id) = entry.corrects() {
            let at = here.member("corrects");
            match before.iter().find(|r| r.id == id.as_str()) {
                None => {
                    faults.value(&at, "unknown_record", id.as_str(), "this job has no record of this id");
                }
                Some(_) if corrected.contains(id.as_str()) => {
                    faults.value(
                        &at,
                        "corrected_already",
                        id.as_str(),
                        "a later record stands in its place; correct that one",
                    );
                }
                Some(old) if matches!(old.entry, ActualEntry::Void { .. }) => {
                    faults.value(&at, "not_correctable", id.as_str(), "a void is not corrected; record anew");
                }
                Some(old)
                    if !matches!(entry, ActualEntry::Void { .. }) && old.entry.kind() != entry.kind() =>
                {
                    faults
                        .value(
                            &at,
                            "other_kind",
                            old.entry.kind(),
                            "a record is corrected by one of its own kind, or by a void",
                        )
                        .allow([old.entry.kind(), "void"]);
                }
                Some(old) => {
                    corrected.insert(id.to_string());
                    ends -= usize::from(matches!(old.entry, ActualEntry::Finished { .. })).min(ends);
                    if let Some(order) = order_of(&old.entry) {
                        placed.remove(&order);
                    }
                }
            }
        }
        fields(entry, book, &here, &mut faults);
        if let Some(order) = order_of(entry) {
            let at = here.member("order");
            if !orders.iter().any(|o| o.number == order) {
                faults
                    .value(
                        &at,
                        "unknown_order",
                        &order,
                        "no estimate of this job has a purchase order of this number",
                    )
                    .allow(orders.iter().map(|o| o.number.as_str()));
            } else if !placed.insert(order.clone()) {
                faults.value(
                    &at,
                    "placed_already",
                    &order,
                    "the order is placed already; correct that record",
                );
            }
        }
        if matches!(entry, ActualEntry::Finished { .. }) {
            ends += 1;
            if ends > 1 {
                faults.add(&here, "finished_already", "the job is finished already; correct that record");
            }
        }
    }
    faults
}

fn fields(entry: &ActualEntry, book: &PriceBook, here: &At<'_>, faults: &mut Faults) {
    match entry {
        ActualEntry::Hours { task, method, trade, hours, .. } => {
            if hours.seconds() <= 0 || hours.seconds() > MOST_SECONDS {
                faults.add(
                    &here.member("hours"),
                    "out_of_range",
                    "hours of all people together, more than 0 and at most 480 on one day",
                );
            }
            Named::Trade.check(trade, book, &here.member("trade"), faults);
            if let Some(method) = method {
                Named::Method(*task).check(method, book, &here.member("method"), faults);
            }
        }
        ActualEntry::Quantity { measure, quantity, .. } => {
            measured_as(*measure, *quantity, &here.member("quantity"), faults);
        }
        ActualEntry::Delivery { item, .. } => {
            if book.item(item).is_none() {
                Named::Item.unknown(item, book, &here.member("item"), faults);
            }
        }
        ActualEntry::Concrete { .. }
        | ActualEntry::Ordered { .. }
        | ActualEntry::Finished { .. }
        | ActualEntry::Void { .. } => {}
    }
}
