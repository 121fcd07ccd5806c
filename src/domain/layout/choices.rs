//! Choices by code that notes and calculators share: each either names something of the book or is a fault.

use super::named::Named;
use crate::domain::book::PriceBook;
use crate::domain::words::Task;
use crate::units::quantity::Span as TimeSpan;
use crate::wire::notes::{MethodChoice, Options, ScheduleNotes, YardOffcut};
use crate::wire::{At, Code, Faults};

/// A way to get concrete must stand in the book.
pub fn concrete_way(code: Option<&Code>, book: &PriceBook, at: &At<'_>, faults: &mut Faults) {
    let ways = &book.doc().concrete_ways;
    if let Some(code) = code.filter(|c| !ways.iter().any(|w| w.code() == *c)) {
        Named::ConcreteWay.unknown(code, book, at, faults);
    }
}

/// The methods chosen by task; each must have a rate in the book.
pub fn methods<'a>(
    choices: &'a [MethodChoice],
    book: &PriceBook,
    at: &At<'_>,
    faults: &mut Faults,
) -> Vec<(Task, &'a Code)> {
    let mut out: Vec<(Task, &Code)> = Vec::with_capacity(choices.len());
    for (i, choice) in choices.iter().enumerate() {
        let here = at.element(i);
        if out.iter().any(|(task, _)| *task == choice.task) {
            let rule = "this task has a method already: name each task once";
            faults.value(&here.member("task"), "duplicate", choice.task.word(), rule);
        }
        if book.labor(choice.task, Some(&choice.method)).is_none() {
            Named::Method(choice.task).unknown(&choice.method, book, &here.member("method"), faults);
        }
        out.push((choice.task, &choice.method));
    }
    out
}

/// Offcuts must come from a stock length of the book and be no longer than it.
pub fn yard_offcuts(offcuts: &[YardOffcut], book: &PriceBook, at: &At<'_>, faults: &mut Faults) {
    for (i, offcut) in offcuts.iter().enumerate() {
        let here = at.element(i);
        match book.stock_length(&offcut.item) {
            None => Named::StockLength.unknown(&offcut.item, book, &here.member("item"), faults),
            Some(whole) if !offcut.length.is_positive() || offcut.length > whole => {
                faults.add(
                    &here.member("length"),
                    "out_of_range",
                    "an offcut is longer than 0 and no longer than the stock length it was cut from",
                );
            }
            Some(_) => {}
        }
    }
}

/// Paid travel of more than this is no travel of a day.
const DAY: TimeSpan = TimeSpan::from_seconds(86_400);

/// What is wrong with paid travel of each person on each working day; the same for a price book and for notes.
pub fn travel_of_day(travel: TimeSpan) -> Option<&'static str> {
    (travel > DAY).then_some("travel of a day is at most 24 hours")
}

/// Paid travel that the notes set.
pub fn travel(options: &Options, at: &At<'_>, faults: &mut Faults) {
    if let Some(travel) = options.travel
        && let Some(rule) = travel_of_day(travel.span())
    {
        faults.value(&at.member("travel"), "out_of_range", &travel.span().to_string(), rule);
    }
}

/// Nothing can be needed before it is ordered.
pub fn dates(options: &Options, at: &At<'_>, faults: &mut Faults) {
    match (options.order_on, options.needed_by) {
        (Some(order), Some(needed)) if needed < order => {
            faults.value(
                &at.member("needed_by"),
                "before_order",
                &needed.to_string(),
                format!("the orders go out on {order}: need it later or order earlier"),
            );
        }
        (None, Some(needed)) => {
            faults.value(
                &at.member("needed_by"),
                "needs_order_on",
                &needed.to_string(),
                "a day of need goes with `order_on`, the day the orders go out",
            );
        }
        _ => {}
    }
}

/// Calendar and crews of a schedule must stand in the book; a finish is not before the start.
pub fn schedule(schedule: &ScheduleNotes, book: &PriceBook, at: &At<'_>, faults: &mut Faults) {
    let rules = book.doc().plan_rules.as_ref();
    if let Some(code) = &schedule.calendar
        && !rules.iter().flat_map(|r| r.calendars.iter()).any(|c| c.code == *code)
    {
        Named::Calendar.unknown(code, book, &at.member("calendar"), faults);
    }
    let list = at.member("crews");
    for (i, code) in schedule.crews.iter().enumerate() {
        if !rules.iter().flat_map(|r| r.crews.iter()).any(|c| c.code == *code) {
            Named::Crew.unknown(code, book, &list.element(i), faults);
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
