//! Choices by code that notes and calculators share: each either names something of the book or is a fault.

use crate::domain::book::PriceBook;
use crate::domain::words::Task;
use crate::wire::notes::{MethodChoice, ScheduleNotes};
use crate::wire::{At, Code, Faults};

/// A way to get concrete must stand in the book.
pub fn concrete_way(code: Option<&Code>, book: &PriceBook, at: &At<'_>, faults: &mut Faults) {
    let ways = &book.doc().concrete_ways;
    if let Some(code) = code.filter(|c| !ways.iter().any(|w| w.code() == *c)) {
        faults
            .value(at, "unknown_code", code.as_str(), "no such way to get concrete")
            .allow(ways.iter().map(|w| w.code().as_str()));
    }
}

/// The methods chosen by task; each must have a rate in the book.
pub fn methods<'a>(
    choices: &'a [MethodChoice],
    book: &PriceBook,
    at: &At<'_>,
    faults: &mut Faults,
) -> Vec<(Task, &'a Code)> {
    let mut out = Vec::with_capacity(choices.len());
    for (i, choice) in choices.iter().enumerate() {
        if book.labor(choice.task, Some(&choice.method)).is_none() {
            let known = book.doc().labor.iter().filter(|r| r.task == choice.task).map(|r| r.method.as_str());
            faults
                .value(
                    &at.element(i).member("method"),
                    "unknown_code",
                    choice.method.as_str(),
                    format!("the price book has no rate for `{}` by this method", choice.task),
                )
                .allow(known);
        }
        out.push((choice.task, &choice.method));
    }
    out
}

/// Calendar and crews of a schedule must stand in the book; a finish is not before the start.
pub fn schedule(schedule: &ScheduleNotes, book: &PriceBook, at: &At<'_>, faults: &mut Faults) {
    let rules = book.doc().plan_rules.as_ref();
    if let Some(code) = &schedule.calendar {
        let known = || rules.iter().flat_map(|r| r.calendars.iter()).map(|c| c.code.as_str());
        if !known().any(|c| c == code.as_str()) {
            faults
                .value(
                    &at.member("calendar"),
                    "unknown_code",
                    code.as_str(),
                    "the price book has no calendar of this code",
                )
                .allow(known());
        }
    }
    let list = at.member("crews");
    for (i, code) in schedule.crews.iter().enumerate() {
        let known = || rules.iter().flat_map(|r| r.crews.iter()).map(|c| c.code.as_str());
        if !known().any(|c| c == code.as_str()) {
            faults
                .value(
                    &list.element(i),
                    "unknown_code",
                    code.as_str(),
                    "the price book has no crew of this code",
                )
                .allow(known());
        }
        if schedule.crews.iter().take(i).any(|c| c == code) {
            faults.value(&list.element(i), "duplicate", code.as_str(), "this crew is named already");
        }
    }
    if let (Some(start), Some(finish)) = (schedule.start, schedule.finish)
        && finish < start
    {
        faults.value(
            &at.member("finish"),
            "contradiction",
            &finish.to_string(),
            format!("the last day is not before the first, {start}"),
        );
    }
}
