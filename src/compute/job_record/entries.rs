//! Records of what happened: which are in force, and what is wrong with new ones.

use super::costs::Placeable;
use crate::domain::book::PriceBook;
use crate::domain::layout::named::Named;
use crate::domain::layout::within::Within;
use crate::domain::measures::measured_as;
use crate::domain::words::Category;
use crate::units::Amount;
use crate::wire::day::OfficeDay;
use crate::wire::records::ActualEntry;
use crate::wire::{At, Code, Faults, Label};
use jiff::civil::Date;
use std::collections::BTreeSet;

/// A record as it is kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Recorded {
    /// Id, `act_…`.
    pub id: String,
    /// What was recorded.
    pub entry: ActualEntry,
    /// Of a purchase order that was placed: what it held then by category, before tax. Records of old do not have it.
    pub held: Vec<(Category, Amount)>,
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

/// A record that a job was finished, and while it stood: in milliseconds of the clock by which records are kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct EndRecord {
    /// The day on which the job was finished.
    pub on: Date,
    /// When it was recorded.
    pub recorded_at: i64,
    /// When another record came in its place, or took it out.
    pub replaced_at: Option<i64>,
}

impl EndRecord {
    /// Whether it stood among the records that were there before this instant.
    pub fn stood_before(&self, at: i64) -> bool {
        self.recorded_at < at && self.replaced_at.is_none_or(|replaced| replaced >= at)
    }
}

/// All ends that were ever recorded of a job, from its records with when each was recorded.
pub fn ends(records: &[(i64, &Recorded)]) -> Vec<EndRecord> {
    let replaced = |id: &str| {
        let other = records.iter().find(|(_, r)| r.entry.corrects().is_some_and(|c| c.as_str() == id));
        other.map(|(at, _)| *at)
    };
    let end = |(at, record): &(i64, &Recorded)| match &record.entry {
        ActualEntry::Finished { on, .. } => {
            Some(EndRecord { on: on.date(), recorded_at: *at, replaced_at: replaced(&record.id) })
        }
        _ => None,
    };
    records.iter().filter_map(end).collect()
}

fn order_of(entry: &ActualEntry) -> Option<String> {
    match entry {
        ActualEntry::Ordered { order, .. } => Some(order.to_string()),
        _ => None,
    }
}

/// Longest time one record of hours may tell of: twenty people round the clock.
const MOST_SECONDS: i64 = 20 * 24 * 3600;

/// A concrete ticket that stands, as others are compared with it.
struct Ticket {
    /// Which record it is, in words; its id where it is kept already.
    record: String,
    id: Option<String>,
    supplier: Option<String>,
    number: String,
    /// The number as it was written.
    written: String,
}

impl Ticket {
    fn of(entry: &ActualEntry, id: Option<&str>) -> Option<Self> {
        let ActualEntry::Concrete { on, ticket, supplier, .. } = entry else { return None };
        let plain = |text: &Label| text.as_str().trim().to_lowercase();
        Some(Self {
            record: id.map_or_else(|| format!("of {on} in this request"), |id| format!("of {on}, `{id}`")),
            id: id.map(ToOwned::to_owned),
            supplier: supplier.as_ref().map(plain),
            number: plain(ticket),
            written: ticket.to_string(),
        })
    }

    /// Whether both can be one truck: of one number, unless both say that they are of different suppliers.
    fn may_be(&self, other: &Self) -> bool {
        let apart = |(a, b): (&String, &String)| a != b;
        self.number == other.number && !self.supplier.as_ref().zip(other.supplier.as_ref()).is_some_and(apart)
    }
}

/// What records must fit.
#[derive(Debug, Clone, Copy)]
pub struct Grounds<'a> {
    /// The price book of the accepted estimate.
    pub book: &'a PriceBook,
    /// The price book that holds today, where there is one: crews may have been hired since.
    pub today: Option<&'a PriceBook>,
    /// Runs and drain lines of the job: of the estimates that its contract stands on and of its notes as they are now.
    pub parts: &'a [Code],
    /// Purchase orders that can be placed.
    pub orders: &'a [Placeable],
    /// Which day it is at the office: what happened did so up to it.
    pub office_day: OfficeDay<'a>,
}

/// Checks new records against those that are there and what they must fit.
///
/// # Errors
/// Every fault at once: a day to come, a code the book does not have, a part the job does not have, an order it does not have, in
/// another currency or that is placed already, a ticket that is recorded already, a correction of nothing or of what is corrected
/// already, no hours, a second end, hours after the end. Hours before the acceptance are none: work begins on a word that the
/// office puts down later.
pub fn check(before: &[Recorded], new: &[ActualEntry], grounds: Grounds<'_>) -> Faults {
    let mut faults = Faults::new();
    let root = At::ROOT;
    let list = root.member("entries");
    let mut corrected: BTreeSet<String> =
        before.iter().filter_map(|r| r.entry.corrects()).map(ToString::to_string).collect();
    let standing = in_force(before);
    let mut ends = standing.iter().filter(|r| matches!(r.entry, ActualEntry::Finished { .. })).count();
    let mut placed: BTreeSet<String> = standing.iter().filter_map(|r| order_of(&r.entry)).collect();
    let mut tickets: Vec<Ticket> =
        standing.iter().filter_map(|r| Ticket::of(&r.entry, Some(&r.id))).collect();
    for (i, entry) in new.iter().enumerate() {
        let here = list.element(i);
        if let Some(told) = grounds.office_day.to_come(entry.on()) {
            let detail = format!("records tell what has happened; {told}");
            faults.value(&here.member("on"), "in_the_future", &entry.on().to_string(), detail);
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
                    tickets.retain(|t| t.id.as_deref() != Some(id.as_str()));
                }
            }
        }
        fields(entry, grounds, &here, &mut faults);
        if let Some(ticket) = Ticket::of(entry, None) {
            if let Some(same) = tickets.iter().find(|t| t.may_be(&ticket)) {
                let detail = format!(
                    "ticket {} is recorded already ({}): correct that record, or name the `supplier` on both where two suppliers \
                     have a ticket of one number",
                    same.written, same.record
                );
                faults.value(&here.member("ticket"), "recorded_already", &ticket.written, detail);
            }
            tickets.push(ticket);
        }
        if let Some(order) = order_of(entry) {
            let can_be = check_order(&order, grounds, &here.member("order"), &mut faults);
            if can_be && !placed.insert(order.clone()) {
                faults.value(
                    &here.member("order"),
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
    after_the_end(&standing, &corrected, new, &list, &mut faults);
    faults
}

/// Notes hours that are dated after the end of the job, and an end before hours that stand, once what is new has taken the place
/// of what it corrects. What was recorded before is at fault no more.
fn after_the_end(
    standing: &[&Recorded],
    corrected: &BTreeSet<String>,
    new: &[ActualEntry],
    list: &At<'_>,
    faults: &mut Faults,
) {
    let kept = || standing.iter().filter(|r| !corrected.contains(&r.id)).map(|r| &r.entry);
    let end_of = |entry: &ActualEntry| match entry {
        ActualEntry::Finished { on, .. } => Some(*on),
        _ => None,
    };
    let hours_on = |entry: &ActualEntry| match entry {
        ActualEntry::Hours { on, .. } => Some(*on),
        _ => None,
    };
    let Some(end) = new.iter().find_map(end_of).or_else(|| kept().find_map(end_of)) else { return };
    let last_kept = kept().filter_map(hours_on).max();
    for (i, entry) in new.iter().enumerate() {
        let at = list.element(i);
        if let Some(on) = hours_on(entry).filter(|on| *on > end) {
            faults.value(
                &at.member("on"),
                "after_the_end",
                &on.to_string(),
                format!("the job is finished on {end}: correct that record first, or together with this one"),
            );
        }
        if let (Some(end), Some(last)) = (end_of(entry), last_kept)
            && last > end
        {
            faults.value(
                &at.member("on"),
                "before_the_last_hours",
                &end.to_string(),
                format!("hours are recorded for {last}: the job was finished then or later; correct them if they are wrong"),
            );
        }
    }
}

/// Notes an order that the job does not have, or whose amounts are of another currency than what the job costs: both would stand in
/// one sum. Whether it can be placed.
fn check_order(number: &str, grounds: Grounds<'_>, at: &At<'_>, faults: &mut Faults) -> bool {
    let Grounds { book, orders, .. } = grounds;
    let currency = book.currency().word();
    match orders.iter().find(|o| o.number == number) {
        None => {
            let detail =
                "no estimate of this job has a purchase order of this number that goes to a supplier";
            let known = orders.iter().filter(|o| o.currency == currency);
            faults.value(at, "unknown_order", number, detail).allow(known.map(|o| o.number.as_str()));
            false
        }
        Some(order) if order.currency != currency => {
            let detail = format!(
                "the order is in {}, the accepted estimate and the costs of the job are in {currency}: place the order of an \
                 estimate that is priced in {currency}, or report the bill in {currency} as a cost",
                order.currency
            );
            faults.value(at, "currency", number, detail);
            false
        }
        Some(_) => true,
    }
}

/// Notes a crew that neither the book of the estimate nor that of today has. Where a book lists no crews, any name will do.
fn check_crew(crew: &Code, grounds: Grounds<'_>, at: &At<'_>, faults: &mut Faults) {
    let lists = |book: &&PriceBook| book.doc().plan_rules.as_ref().is_some_and(|r| !r.crews.is_empty());
    let Grounds { book, today, .. } = grounds;
    if lists(&book) && !Named::Crew.is_known(crew, book) {
        Named::Crew.check(crew, today.filter(lists).unwrap_or(book), at, faults);
    }
}

fn fields(entry: &ActualEntry, grounds: Grounds<'_>, here: &At<'_>, faults: &mut Faults) {
    let book = grounds.book;
    match entry {
        ActualEntry::Hours { task, method, part, crew, trade, hours, .. } => {
            if hours.span().seconds() <= 0 || hours.span().seconds() > MOST_SECONDS {
                faults.add(
                    &here.member("hours"),
                    "out_of_range",
                    "hours of all people together, more than 0 and at most 480 on one day",
                );
            }
            if let Some(part) = part.as_ref().filter(|part| !grounds.parts.contains(part)) {
                let known: Vec<&str> = grounds.parts.iter().map(Code::as_str).collect();
                Within::Part.unknown(part, &known, &here.member("part"), faults);
            }
            if let Some(crew) = crew {
                check_crew(crew, grounds, &here.member("crew"), faults);
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

#[cfg(test)]
#[expect(clippy::unwrap_used, reason = "a test that cannot read its records must stop")]
mod tests {
    use super::*;
    use jiff::civil::date;

    /// Twenty people for a whole day are as many hours as one day takes.
    #[test]
    fn a_day_takes_four_hundred_and_eighty_hours() {
        let book = crate::wire::read_document(crate::domain::demo::BOOK.as_bytes()).unwrap();
        let book = PriceBook::check(book).unwrap();
        let day = crate::wire::day::Day::parse("2026-03-21").unwrap();
        let office_day = OfficeDay { day, zone: "UTC" };
        let grounds = Grounds { book: &book, today: None, parts: &[], orders: &[], office_day };
        let refused = |hours: &str| {
            let entry = serde_json::json!({"kind": "hours", "on": "2026-03-20", "task": "pour", "trade": "laborer", "hours": hours});
            let faults = check(&[], &[crate::wire::read_value(&entry).unwrap()], grounds);
            faults.list().iter().map(|f| format!("{} {}", f.pointer, f.code)).collect::<Vec<_>>()
        };
        assert_eq!(refused("480 hr"), [""; 0]);
        assert_eq!(refused("480.01 hr"), ["#/entries/0/hours out_of_range"]);
    }

    #[test]
    fn an_end_stands_until_another_record_takes_its_place() {
        let record = |id: &str, entry: serde_json::Value| Recorded {
            id: id.to_owned(),
            entry: crate::wire::read_value(&entry).unwrap(),
            held: Vec::new(),
        };
        let first = record("act_1", serde_json::json!({"kind": "finished", "on": "2026-03-20"}));
        let moved =
            record("act_2", serde_json::json!({"kind": "finished", "on": "2026-03-22", "corrects": "act_1"}));
        let void =
            serde_json::json!({"kind": "void", "on": "2026-03-23", "reason": "not yet", "corrects": "act_2"});
        let void = record("act_3", void);
        let ends = ends(&[(10, &first), (20, &moved), (30, &void)]);
        let end =
            |day, recorded_at, replaced_at| EndRecord { on: date(2026, 3, day), recorded_at, replaced_at };
        assert_eq!(ends, [end(20, 10, Some(20)), end(22, 20, Some(30))]);
        let standing =
            |at| ends.iter().filter(|e| e.stood_before(at)).map(|e| e.on.day()).collect::<Vec<_>>();
        assert_eq!([10, 11, 20, 21, 31].map(standing), [vec![], vec![20], vec![20], vec![22], vec![]]);
    }
}
