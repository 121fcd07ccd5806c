//! Hire by half days, and by the days of a plan.

#![expect(clippy::unwrap_used, reason = "a test stops where the book cannot be read")]

use super::{Hire, cost_lines, half_days, held, mix};
use crate::compute::calendar::WorkMinutes;
use crate::compute::calendar::count::calendar_days_between;
use crate::compute::plan::MachineId;
use crate::compute::plan::result::MachineWindow;
use crate::domain::demo;
use crate::units::Amount;
use crate::units::quantity::Span;
use crate::wire::Whole;
use crate::wire::book::BookDoc;
use crate::wire::book::work::Equipment;
use crate::wire::read_document;
use jiff::civil::{Date, date};

/// The machine of [`compactor`] at other rates.
fn at(half_day: Option<i64>, day: i64, week: Option<i64>) -> Equipment {
    let money = |minor: i64| Amount::from_minor(minor);
    let (half_day, week) = (half_day.map(money), week.map(money));
    Equipment { half_day, day: money(day), week, four_weeks: None, ..compactor(0) }
}

#[test]
fn half_days_cheaper_than_half_a_day_are_used() {
    let mix = mix(&at(Some(4_000), 10_000, None), 2);
    assert_eq!((mix.half_days, mix.days, mix.cost.minor()), (2, 0, 8_000));
}

/// A yard that counts working days counts them however long the machine stays.
#[test]
fn a_long_hire_is_paid_for_whole_by_the_days_that_the_yard_counts() {
    assert_eq!(mix(&at(None, 10_000, None), 60_000).days, 30_000);
    let by_working_days = Equipment { days_per_week: Whole::new(5), ..at(None, 10_000, Some(30_000)) };
    for (half_days, weeks, days) in [(14_600, 1_460, 0), (15_000, 1_500, 0), (15_004, 1_500, 2)] {
        let mix = mix(&by_working_days, half_days);
        assert_eq!((mix.weeks, mix.days), (weeks, days), "{half_days}");
        assert_eq!(mix.cost.minor(), weeks * 30_000 + days * 10_000);
    }
}

#[test]
fn nothing_is_hired_for_no_time() {
    assert_eq!(mix(&at(None, 1, None), 0).cost, Amount::ZERO);
    assert_eq!(half_days(0, Span::from_seconds(28_800)), 0);
    assert_eq!(half_days(1, Span::from_seconds(28_800)), 1);
}

fn window(from: Date, to: Date, longest_day: u32) -> MachineWindow {
    let days = u32::try_from(calendar_days_between(from, to) + 1).unwrap();
    MachineWindow {
        machine: MachineId::new("plate-compactor").unwrap(),
        from,
        to,
        calendar_days: days,
        used_days: days,
        longest_day: WorkMinutes::new(longest_day),
        units: 1,
    }
}

/// The plate compactor of the demonstration (60.00 a half day, 86.00 a day, 300.00 a week), brought and collected for so much.
fn compactor(transport: i64) -> Equipment {
    let book: BookDoc = read_document(demo::BOOK.as_bytes()).unwrap();
    let mut found = book.equipment.iter().find(|e| e.code.as_str() == "plate-compactor").unwrap().clone();
    found.transport = Some(Amount::from_minor(transport * 100));
    found
}

fn hired(machine: &Equipment, windows: &[MachineWindow]) -> (usize, i64) {
    let mut hires: Vec<Hire<'_>> = Vec::new();
    let all: Vec<&MachineWindow> = windows.iter().collect();
    held::add(machine, &all, Span::from_seconds(8 * 3600), date(2027, 3, 1), &mut hires);
    let stays = hires.iter().map(|h| h.stays.len()).sum();
    (stays, cost_lines(&hires).iter().map(|l| l.cost.minor()).sum())
}

#[test]
fn half_a_day_is_hired_where_it_lasts_from_the_first_use_to_the_last() {
    let day = date(2027, 3, 12);
    let cost = |minutes: u32| hired(&compactor(0), &[window(day, day, minutes)]).1;
    assert_eq!(cost(240), 6_000);
    // 2.75 h of use, but five and a half hours from the first to the last
    assert_eq!(cost(330), 8_600);
}

/// Monday to Friday are a week, 300.00, however short its days are; three days are 86.00 each.
#[test]
fn a_machine_that_stays_is_paid_for_every_day() {
    let until = |day: i8| hired(&compactor(0), &[window(date(2027, 3, 8), date(2027, 3, day), 120)]);
    assert_eq!(until(12), (1, 30_000));
    assert_eq!(until(10), (1, 3 * 8_600));
    assert_eq!(until(9), (1, 2 * 8_600));
}

#[test]
fn a_weekend_between_two_uses_is_weighed_with_delivery_and_collection() {
    let uses = [date(2027, 3, 12), date(2027, 3, 15)].map(|day| window(day, day, 300));
    // twice a day, or a week for the four days
    assert_eq!(hired(&compactor(0), &uses), (2, 2 * 8_600));
    assert_eq!(hired(&compactor(90), &uses), (2, 2 * (8_600 + 9_000)));
    assert_eq!(hired(&compactor(130), &uses), (1, 30_000 + 13_000));
}
