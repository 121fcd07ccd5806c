//! The working calendar: which days are worked, for how long, and why a day is closed.

use std::collections::BTreeMap;

use jiff::civil::{Date, Weekday};

use super::{CalendarError, HolidaySet, WorkMinutes};

/// Most working hours a day may have; below 24 so that the end of work is always before the end of the date.
pub const MOST_HOURS_PER_DAY: f64 = 23.5;

/// Working hours of each weekday, Monday first.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WeekHours(pub [f64; 7]);

impl WeekHours {
    /// The same hours Monday to Friday, none at the weekend.
    pub fn monday_to_friday(hours: f64) -> Self {
        WeekHours([hours, hours, hours, hours, hours, 0.0, 0.0])
    }

    /// The same hours on the days named, none on the others.
    pub fn on(days: &[Weekday], hours: f64) -> Self {
        let mut week = [0.0; 7];
        for day in days {
            if let Some(slot) = week.get_mut(monday_zero(*day)) {
                *slot = hours;
            }
        }
        WeekHours(week)
    }
}

/// A calendar as it comes in; [`WorkingCalendar::new`] checks it.
#[derive(Debug, Clone, PartialEq)]
pub struct CalendarDraft {
    /// What the calendar is called.
    pub name: String,
    /// Working hours by weekday.
    pub week: WeekHours,
    /// Holidays and how they are observed.
    pub holidays: HolidaySet,
    /// Days closed besides, with the reason shown to the reader.
    pub extra_closed: BTreeMap<Date, String>,
    /// Days open although the week or a holiday closes them, with their hours.
    pub extra_open: BTreeMap<Date, f64>,
}

impl CalendarDraft {
    /// Monday to Friday, 8 hours, US federal holidays as observed, nothing besides; its name says whose holidays these are.
    pub fn us_office() -> Self {
        CalendarDraft {
            name: "Monday to Friday, federal holidays of the United States observed".into(),
            week: WeekHours::monday_to_friday(8.0),
            holidays: HolidaySet::us_federal(super::Observance::Observed),
            extra_closed: BTreeMap::new(),
            extra_open: BTreeMap::new(),
        }
    }
}

/// Why a date is closed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Closure<'a> {
    /// The week has no hours on this weekday.
    WeeklyRest,
    /// A holiday, or its substitute day.
    Holiday {
        /// The holiday's name.
        name: &'a str,
        /// Whether the date is the substitute day.
        substitute: bool,
    },
    /// A closure of the office's own.
    Extra(&'a str),
}

/// A working calendar, valid by construction: at least one weekday is worked.
///
/// A date is open when `extra_open` lists it; else closed when `extra_closed` lists it, a holiday falls on
/// it, or its weekday has no hours; else open for its weekday's hours.
///
/// # Example
/// ```
/// use jiff::civil::date;
/// use rillcast::compute::calendar::{CalendarDraft, Closure, WeekHours, WorkingCalendar};
/// let calendar = WorkingCalendar::new(CalendarDraft::us_office()).map_err(|all| all[0].clone())?;
/// assert_eq!(calendar.minutes_on(date(2025, 7, 3)).minutes(), 480);
/// assert!(matches!(calendar.closure(date(2025, 7, 4)), Some(Closure::Holiday { name: "Independence Day", .. })));
/// let mut idle = CalendarDraft::us_office();
/// idle.week = WeekHours([0.0; 7]);
/// assert!(WorkingCalendar::new(idle).is_err());
/// # Ok::<(), rillcast::compute::calendar::CalendarError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct WorkingCalendar {
    name: String,
    week: [WorkMinutes; 7],
    holidays: HolidaySet,
    extra_closed: BTreeMap<Date, String>,
    extra_open: BTreeMap<Date, WorkMinutes>,
}

impl WorkingCalendar {
    /// Checks a draft.
    ///
    /// # Errors
    /// Every fault of the draft at once: hours out of range, a date both open and closed, no workday.
    pub fn new(draft: CalendarDraft) -> Result<Self, Vec<CalendarError>> {
        let CalendarDraft { name, week, holidays, extra_closed, extra_open } = draft;
        let mut faults = Vec::new();
        let mut minutes = [WorkMinutes::ZERO; 7];
        for (index, (slot, hours)) in minutes.iter_mut().zip(week.0).enumerate() {
            match day_minutes(hours, 0.0) {
                Some(m) => *slot = m,
                None => faults.push(CalendarError::Hours {
                    field: format!("week[{index}]"),
                    value: hours,
                    min: 0.0,
                    max: MOST_HOURS_PER_DAY,
                }),
            }
        }
        let mut open = BTreeMap::new();
        for (date, hours) in extra_open {
            if extra_closed.contains_key(&date) {
                faults.push(CalendarError::OpenAndClosed { date });
            }
            match day_minutes(hours, LEAST_OPEN_HOURS) {
                Some(m) => {
                    open.insert(date, m);
                }
                None => faults.push(CalendarError::Hours {
                    field: format!("extra_open[{date}]"),
                    value: hours,
                    min: LEAST_OPEN_HOURS,
                    max: MOST_HOURS_PER_DAY,
                }),
            }
        }
        if week.0.iter().all(|h| *h == 0.0) {
            faults.push(CalendarError::NoWorkday);
        }
        if !faults.is_empty() {
            return Err(faults);
        }
        Ok(WorkingCalendar { name, week: minutes, holidays, extra_closed, extra_open: open })
    }

    /// What the calendar is called.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The holidays it keeps.
    pub fn holidays(&self) -> &HolidaySet {
        &self.holidays
    }

    /// The longest of its weekdays: the day by which floats in days are stated.
    pub fn standard_day(&self) -> WorkMinutes {
        self.week.iter().copied().max().unwrap_or_default()
    }

    /// Working time on a date; none when it is closed.
    pub fn minutes_on(&self, date: Date) -> WorkMinutes {
        match self.closure(date) {
            Some(_) => WorkMinutes::ZERO,
            None => self.extra_open.get(&date).copied().unwrap_or_else(|| self.weekday_minutes(date)),
        }
    }

    /// Whether any work is done on a date.
    pub fn is_working_day(&self, date: Date) -> bool {
        self.closure(date).is_none()
    }

    /// Why a date is closed; `None` when it is open.
    pub fn closure(&self, date: Date) -> Option<Closure<'_>> {
        if self.extra_open.contains_key(&date) {
            return None;
        }
        if let Some(reason) = self.extra_closed.get(&date) {
            return Some(Closure::Extra(reason));
        }
        if self.weekday_minutes(date) == WorkMinutes::ZERO {
            return Some(Closure::WeeklyRest);
        }
        let holiday = self.holidays.on(date)?;
        Some(Closure::Holiday { name: holiday.name, substitute: holiday.substitute })
    }

    /// The reason of a closure of the office's own on a date that would be worked without it.
    pub fn closed_workday(&self, date: Date) -> Option<&str> {
        match self.closure(date) {
            Some(Closure::Extra(reason))
                if self.weekday_minutes(date) > WorkMinutes::ZERO && self.holidays.on(date).is_none() =>
            {
                Some(reason)
            }
            _ => None,
        }
    }

    fn weekday_minutes(&self, date: Date) -> WorkMinutes {
        self.week.get(monday_zero(date.weekday())).copied().unwrap_or_default()
    }
}

/// Least hours of a day that is opened on purpose: one minute.
const LEAST_OPEN_HOURS: f64 = 1.0 / 60.0;

fn day_minutes(hours: f64, least: f64) -> Option<WorkMinutes> {
    (least..=MOST_HOURS_PER_DAY).contains(&hours).then(|| WorkMinutes::from_hours(hours).ok()).flatten()
}

fn monday_zero(day: Weekday) -> usize {
    usize::try_from(day.to_monday_zero_offset()).unwrap_or_default()
}
