//! Properties of the working calendar, and examples counted by hand.

use jiff::{
    ToSpan,
    civil::{Date, Weekday, date},
};
use proptest::prelude::*;
use rillcast::compute::calendar::*;

use crate::common::office;

/// Any calendar with at least one workday.
pub fn calendars() -> impl Strategy<Value = WorkingCalendar> {
    let hours = prop::array::uniform7(prop_oneof![Just(0.0), 0.5..12.0_f64]);
    let shifts = prop::collection::btree_map(0..600_i64, 1.0..10.0_f64, 0..6);
    let closed = prop::collection::btree_set(0..600_i64, 0..20);
    let observances = prop_oneof![
        Just(Observance::Actual),
        Just(Observance::Observed),
        Just(Observance::ActualAndObserved)
    ];
    (hours, 0..7_usize, shifts, closed, observances).prop_map(|(mut week, sure, open, closed, observance)| {
        week[sure] = week[sure].max(4.0);
        let at = |days: &i64| base().checked_add(days.days()).unwrap();
        let extra_open: std::collections::BTreeMap<Date, f64> =
            open.iter().map(|(d, h)| (at(d), *h)).collect();
        let extra_closed = closed
            .iter()
            .map(at)
            .filter(|d| !extra_open.contains_key(d))
            .map(|d| (d, "closed".to_string()))
            .collect();
        WorkingCalendar::new(CalendarDraft {
            name: "any".into(),
            week: WeekHours(week),
            holidays: HolidaySet::us_federal(observance),
            extra_closed,
            extra_open,
        })
        .unwrap()
    })
}

pub fn base() -> Date {
    date(2026, 1, 1)
}

fn earliest_dig(notice: &MarkNotice, calendar: &WorkingCalendar, call: Date) -> Date {
    let mut line = Timeline::new(calendar, call);
    let dig = notice.earliest_dig(&mut line, Moment::start_of_day(0)).unwrap();
    line.date(dig).unwrap()
}

pub fn dates() -> impl Strategy<Value = Date> {
    (0..600_i64).prop_map(|d| base().checked_add(d.days()).unwrap())
}

proptest! {
    #[test]
    fn adding_days_lands_on_working_days_in_order(calendar in calendars(), start in dates(), n in 0..60_i32) {
        let later = calendar.add_working_days(start, n).unwrap();
        prop_assert!(calendar.is_working_day(later));
        prop_assert!(later >= start);
        let next = calendar.add_working_days(start, n + 1).unwrap();
        prop_assert!(next > later || n == 0 && next >= later);
        if n > 0 {
            let counted = calendar.count_working_days(start.tomorrow().unwrap(), later.tomorrow().unwrap()).unwrap();
            prop_assert_eq!(counted, n as u32);
        } else {
            prop_assert_eq!(later, calendar.on_or_after(start).unwrap());
        }
    }

    #[test]
    fn back_and_forth(calendar in calendars(), start in dates(), n in 1..40_i32) {
        let from = calendar.on_or_after(start).unwrap();
        let there = calendar.add_working_days(from, n).unwrap();
        prop_assert_eq!(calendar.add_working_days(there, -n).unwrap(), from);
    }

    #[test]
    fn the_latest_call_is_the_latest(
        calendar in calendars(), dig in dates(), days in 0..8_u16, counts in any::<bool>()
    ) {
        let notice = MarkNotice { working_days: days, day_of_call_counts: counts, marks_good_for_days: None };
        let dig = calendar.on_or_after(dig).unwrap();
        let call = notice.latest_call(&calendar, dig).unwrap();
        prop_assert!(earliest_dig(&notice, &calendar, call) <= dig);
        let next = calendar.next_working_day(call).unwrap();
        prop_assert!(earliest_dig(&notice, &calendar, next) > dig);
    }

    #[test]
    fn the_minute_axis_agrees_with_itself(calendar in calendars(), start in dates(), worked in 0..60_000_i64) {
        let mut line = Timeline::new(&calendar, start);
        let (begin, end) = (line.start_at(worked).unwrap(), line.finish_at(worked).unwrap());
        prop_assert_eq!(line.worked(begin).unwrap(), worked);
        prop_assert_eq!(line.worked(end).unwrap(), worked);
        prop_assert!(end <= begin);
        let day = line.date(begin).unwrap();
        prop_assert!(begin.minute() < i64::from(calendar.minutes_on(day).minutes()));
        // as many minutes as the days before hold, counted one by one
        let mut sum = begin.minute();
        let mut date = start;
        while date < day {
            sum += i64::from(calendar.minutes_on(date).minutes());
            date = date.tomorrow().unwrap();
        }
        prop_assert_eq!(sum, worked);
    }

    #[test]
    fn working_days_on_the_axis_are_those_of_the_calendar(
        calendar in calendars(), start in dates(), day in 0..100_i64, minute in 0..1440_i64, n in 1..50_u32
    ) {
        let mut line = Timeline::new(&calendar, start);
        let at = Moment(Moment::start_of_day(day).0 + minute);
        let date = line.date(at).unwrap();
        let moved = line.plus_working_days(at, n).unwrap();
        prop_assert_eq!(line.date(moved).unwrap(), calendar.add_working_days(date, n as i32).unwrap());
    }

    #[test]
    fn one_day_work_fits_its_day(calendar in calendars(), start in dates(), worked in 0..20_000_i64, share in 0.01..1.0_f64) {
        let length = (f64::from(calendar.standard_day().minutes()) * share).ceil() as i64;
        let mut line = Timeline::new(&calendar, start);
        let from = line.fit_in_one_day(worked, length).unwrap();
        prop_assert!(from >= worked);
        let (begin, end) = (line.start_at(from).unwrap(), line.finish_at(from + length).unwrap());
        prop_assert_eq!(begin.day(), end.day());
    }
}

/// Three business days from Wednesday 1 July 2026 under two calendars; counted by hand.
#[test]
fn three_days_over_the_fourth() {
    assert_eq!(office().add_working_days(date(2026, 7, 1), 3).unwrap(), date(2026, 7, 7));
    let mut sundays_off = CalendarDraft::us_office();
    sundays_off.week = WeekHours([8.0, 8.0, 8.0, 8.0, 8.0, 8.0, 0.0]);
    sundays_off.holidays = HolidaySet::us_federal(Observance::Actual);
    let sundays_off = WorkingCalendar::new(sundays_off).unwrap();
    assert_eq!(sundays_off.add_working_days(date(2026, 7, 1), 3).unwrap(), date(2026, 7, 6));
}

/// Counted by hand: three clear working days from a Friday over a federal holiday on Monday 25 May 2026.
#[test]
fn notice_over_a_long_weekend() {
    let notice = MarkNotice { marks_good_for_days: Some(14), ..MarkNotice::default() };
    assert_eq!(earliest_dig(&notice, &office(), date(2026, 5, 22)), date(2026, 5, 29));
    let counted = MarkNotice { day_of_call_counts: true, ..MarkNotice::default() };
    assert_eq!(earliest_dig(&counted, &office(), date(2026, 5, 22)), date(2026, 5, 28));
    assert_eq!(earliest_dig(&counted, &office(), date(2026, 5, 23)), date(2026, 5, 29));
    assert_eq!(notice.marks_lapse(date(2026, 5, 22)).unwrap(), Some(date(2026, 6, 5)));
}

#[test]
fn faults_come_all_at_once() {
    let mut draft = CalendarDraft::us_office();
    draft.week = WeekHours([0.0, -1.0, f64::NAN, 24.0, 0.0, 0.0, 0.0]);
    draft.extra_open.insert(date(2026, 1, 2), 0.0);
    draft.extra_closed.insert(date(2026, 1, 2), "shut".into());
    let faults = WorkingCalendar::new(draft).unwrap_err();
    assert_eq!(faults.len(), 5, "{faults:?}");
    assert!(faults.iter().any(|f| f.to_string().contains("week[1]: -1 hours")));
}

#[test]
fn a_calendar_without_workday_is_refused() {
    let mut draft = CalendarDraft::us_office();
    draft.week = WeekHours([0.0; 7]);
    draft.extra_open.insert(date(2026, 1, 2), 8.0);
    assert_eq!(WorkingCalendar::new(draft).unwrap_err(), [CalendarError::NoWorkday]);
}

/// Four hours on Friday, eight on other days: the end of Friday leads to the end of Monday, its middle to the same hour.
#[test]
fn the_end_of_a_short_day_leads_to_the_end_of_a_long_one() {
    let mut draft = CalendarDraft::us_office();
    draft.week = WeekHours([8.0, 8.0, 8.0, 8.0, 4.0, 0.0, 0.0]);
    let calendar = WorkingCalendar::new(draft).unwrap();
    let mut line = Timeline::new(&calendar, date(2026, 3, 6));
    assert_eq!(line.plus_working_days(Moment(240), 1).unwrap(), Moment(3 * 1440 + 480));
    assert_eq!(line.plus_working_days(Moment(120), 1).unwrap(), Moment(3 * 1440 + 120));
    // Saturday counts as the end of Friday; seven hours into Thursday is past the end of Friday's four
    assert_eq!(line.plus_working_days(Moment(1440), 1).unwrap(), Moment(3 * 1440 + 480));
    assert_eq!(line.plus_working_days(Moment(6 * 1440 + 420), 1).unwrap(), Moment(7 * 1440 + 240));
}

/// Every Thursday is a holiday and only Thursdays are worked: the search must end, with an error that says
/// so.
#[test]
fn a_calendar_that_is_always_closed_is_found_out() {
    let mut rules = Vec::new();
    for month in 1..=12 {
        for nth in 1..=5 {
            rules.push(HolidayRule::nth_weekday("off", month, Weekday::Thursday, nth).unwrap());
        }
    }
    let mut draft = CalendarDraft::us_office();
    draft.week = WeekHours::on(&[Weekday::Thursday], 8.0);
    draft.holidays = HolidaySet::new(rules, Observance::Actual);
    let calendar = WorkingCalendar::new(draft).unwrap();
    let fault = calendar.next_working_day(date(2026, 1, 1)).unwrap_err();
    assert!(matches!(fault, CalendarError::AlwaysClosed { .. }), "{fault}");
    let mut line = Timeline::new(&calendar, date(2026, 1, 1));
    assert!(matches!(line.finish_at(1), Err(CalendarError::SpanTooLong { .. })));
}

#[test]
fn closures_say_why() {
    let mut draft = CalendarDraft::us_office();
    draft.extra_closed.insert(date(2026, 7, 6), "stock-taking".into());
    draft.extra_open.insert(date(2026, 7, 4), 5.0);
    let calendar = WorkingCalendar::new(draft).unwrap();
    assert_eq!(calendar.closure(date(2026, 7, 5)), Some(Closure::WeeklyRest));
    assert_eq!(calendar.closure(date(2026, 7, 6)), Some(Closure::Extra("stock-taking")));
    let holiday = Some(Closure::Holiday { name: "Independence Day", substitute: true });
    assert_eq!(calendar.closure(date(2026, 7, 3)), holiday);
    assert_eq!(calendar.minutes_on(date(2026, 7, 4)).minutes(), 300);
}

#[test]
fn the_ends_of_time_are_errors() {
    let calendar = office();
    assert!(calendar.add_working_days(Date::MAX, 1).is_err());
    assert!(calendar.add_working_days(Date::MIN, -1).is_err());
    assert!(calendar.add_working_days(date(2026, 1, 1), i32::MAX).is_err());
    assert!(calendar.add_working_days(date(2026, 1, 1), i32::MIN).is_err());
    assert!(calendar.count_working_days(Date::MIN, Date::MAX).is_err());
    assert_eq!(calendar.count_working_days(Date::MAX, Date::MIN).unwrap(), 0);
    assert!(count::add_calendar_days(date(2026, 1, 1), i64::MIN).is_err());
    let cure = Cure { calendar_days: u16::MAX, end: CureEnd::EndOfDay };
    let today = Moment::start_of_day(0);
    assert!(Timeline::new(&calendar, date(2026, 1, 1)).date(cure.done(today)).is_err());
    assert!(Timeline::new(&calendar, Date::MAX).date(Cure::default().done(today)).is_err());
    assert!(Timeline::new(&calendar, date(2026, 1, 1)).after_working_days(today, u32::MAX).is_err());
}

#[test]
fn strengths_that_cannot_be() {
    let gain = StrengthGain::default();
    assert!(gain.cure(3000.0, 4000.0, 7).is_err());
    assert!(gain.cure(0.0, 4000.0, 7).is_err());
    assert!(gain.cure(f64::NAN, 4000.0, 7).is_err());
    assert!(gain.cure(3000.0, 3500.0, 7).is_err(), "reached only after years");
    assert!(StrengthGain { a_days: 4.0, b: 0.0 }.age_for(0.5).is_err());
    assert_eq!(gain.cure(5000.0, 2000.0, 7).unwrap().value.calendar_days, 7, "not less than the stated days");
}
