//! The minute axis on which plans are computed.
//!
//! A [`Moment`] is a number of minutes on an axis that gives every calendar day 1,440 of them, counted from
//! the **start of work** of the timeline's first day. On a day with `c` working minutes, work runs from
//! minute 0 to minute `c`; what follows is not worked. So a task of 4 hours that starts 6 hours into an
//! 8-hour day ends 2 hours into the next working day, and a cure simply adds 1,440 minutes per calendar day,
//! over weekends and holidays alike.
//!
//! [`Timeline::worked`] gives the working minutes up to a moment. One working minute has two names where a
//! day ends: the end of that day ([`Timeline::finish_at`]) and the start of the next working day
//! ([`Timeline::start_at`]).

use jiff::civil::Date;

use super::{
    CalendarError, WorkingCalendar,
    count::{LONGEST_SPAN_DAYS, add_calendar_days, calendar_days_between},
};

/// Minutes on the axis per calendar day.
pub const DAY: i64 = 1440;

/// A point on the minute axis of a [`Timeline`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Moment(pub i64);

impl Moment {
    /// Start of work on the day with this index.
    pub fn start_of_day(day: i64) -> Self {
        Moment(day * DAY)
    }

    /// Last minute of the day with this index, after any work.
    pub fn end_of_day(day: i64) -> Self {
        Moment(day * DAY + DAY - 1)
    }

    /// Index of the day, counted from the timeline's first.
    pub fn day(self) -> i64 {
        self.0.div_euclid(DAY)
    }

    /// Minutes after the start of work of that day.
    pub fn minute(self) -> i64 {
        self.0.rem_euclid(DAY)
    }

    /// Some calendar days later, at the same minute.
    pub fn plus_days(self, days: i64) -> Self {
        Moment(self.0 + days * DAY)
    }
}

/// A calendar unrolled from a first day, growing as far as it is asked.
///
/// # Example
/// ```
/// use jiff::civil::date;
/// use rillcast::compute::calendar::{CalendarDraft, Moment, Timeline, WorkingCalendar};
/// let calendar = WorkingCalendar::new(CalendarDraft::us_office()).map_err(|all| all[0].clone())?;
/// let mut line = Timeline::new(&calendar, date(2025, 7, 3));
/// // 12 hours from Thursday's start: 8 on Thursday, Friday is a holiday, 4 on Monday
/// let end = line.finish_at(12 * 60)?;
/// assert_eq!((line.date(end)?, end.minute()), (date(2025, 7, 7), 240));
/// # Ok::<(), rillcast::compute::calendar::CalendarError>(())
/// ```
#[derive(Debug, Clone)]
pub struct Timeline<'a> {
    calendar: &'a WorkingCalendar,
    first: Date,
    /// Working minutes of each day.
    capacity: Vec<i64>,
    /// Working minutes before each day; one longer than `capacity`.
    before: Vec<i64>,
    /// Index of each working day.
    working: Vec<i64>,
    /// Working days up to and including each day.
    rank: Vec<usize>,
}

impl<'a> Timeline<'a> {
    /// A timeline whose day 0 is `first`.
    pub fn new(calendar: &'a WorkingCalendar, first: Date) -> Self {
        Timeline {
            calendar,
            first,
            capacity: Vec::new(),
            before: vec![0],
            working: Vec::new(),
            rank: Vec::new(),
        }
    }

    /// Day 0.
    pub fn first(&self) -> Date {
        self.first
    }

    /// The calendar it unrolls.
    pub fn calendar(&self) -> &'a WorkingCalendar {
        self.calendar
    }

    /// The date of a moment.
    ///
    /// # Errors
    /// [`CalendarError::SpanTooLong`] outside the supported span.
    pub fn date(&self, at: Moment) -> Result<Date, CalendarError> {
        add_calendar_days(self.first, at.day())
    }

    /// Index of a date; negative before the first day.
    pub fn day_of(&self, date: Date) -> i64 {
        calendar_days_between(self.first, date)
    }

    /// Working minutes of a day; none before the first day.
    ///
    /// # Errors
    /// [`CalendarError::SpanTooLong`] outside the supported span.
    pub fn capacity(&mut self, day: i64) -> Result<i64, CalendarError> {
        let Ok(index) = usize::try_from(day) else {
            return Ok(0);
        };
        self.grow(day)?;
        Ok(self.capacity.get(index).copied().unwrap_or_default())
    }

    /// Working minutes from the start of the timeline up to a moment.
    ///
    /// # Errors
    /// [`CalendarError::SpanTooLong`] outside the supported span.
    pub fn worked(&mut self, at: Moment) -> Result<i64, CalendarError> {
        let day = at.day();
        let Ok(index) = usize::try_from(day) else {
            return Ok(0);
        };
        if index >= self.capacity.len() {
            self.grow(day)?;
        }
        let (Some(before), Some(capacity)) = (self.before.get(index), self.capacity.get(index)) else {
            return Ok(0);
        };
        Ok(before + at.minute().min(*capacity))
    }

    /// The earliest moment at which another minute of work can be done after `worked` minutes.
    ///
    /// # Errors
    /// [`CalendarError::SpanTooLong`] outside the supported span.
    pub fn start_at(&mut self, worked: i64) -> Result<Moment, CalendarError> {
        let worked = worked.max(0);
        self.grow_to_work(worked + 1)?;
        let day = self.before.partition_point(|b| *b <= worked).saturating_sub(1);
        Ok(self.moment(day, worked))
    }

    /// The earliest moment at which `worked` minutes are done; the start of the timeline for none.
    ///
    /// # Errors
    /// [`CalendarError::SpanTooLong`] outside the supported span.
    pub fn finish_at(&mut self, worked: i64) -> Result<Moment, CalendarError> {
        if worked <= 0 {
            return self.start_at(0);
        }
        self.grow_to_work(worked)?;
        let day = self.before.partition_point(|b| *b < worked).saturating_sub(1);
        Ok(self.moment(day, worked))
    }

    /// Working minutes before the first day, from `worked` on, that still has `length` minutes of work left
    /// in it: where work that must not stand overnight can start.
    ///
    /// # Errors
    /// [`CalendarError::SpanTooLong`] when no day within the span is long enough.
    pub fn fit_in_one_day(&mut self, worked: i64, length: i64) -> Result<i64, CalendarError> {
        let start = self.start_at(worked)?;
        let mut day = start.day();
        let mut from = worked.max(0);
        loop {
            let capacity = self.capacity(day)?;
            let index = usize::try_from(day).unwrap_or_default();
            let before = self.before.get(index).copied().unwrap_or_default();
            from = from.max(before);
            if before + capacity - from >= length {
                return Ok(from);
            }
            day += 1;
        }
    }

    /// The same hour some working days later. From the end of a day it leads to the end of a day; a closed
    /// day counts as the end of the working day before it.
    ///
    /// # Errors
    /// [`CalendarError::SpanTooLong`] outside the supported span.
    pub fn plus_working_days(&mut self, at: Moment, days: u32) -> Result<Moment, CalendarError> {
        if days == 0 {
            return Ok(at);
        }
        let day = at.day();
        let capacity = self.capacity(day)?;
        let rank = usize::try_from(day).ok().and_then(|d| self.rank.get(d)).copied().unwrap_or_default();
        let target_rank = rank + usize::try_from(days).unwrap_or(usize::MAX / 2);
        let mut reach = i64::try_from(self.capacity.len()).unwrap_or(i64::MAX);
        while self.working.len() < target_rank {
            self.grow(reach + i64::try_from(target_rank - self.working.len()).unwrap_or(DAY))?;
            reach = i64::try_from(self.capacity.len()).unwrap_or(i64::MAX);
        }
        let target = self.working.get(target_rank - 1).copied().unwrap_or_default();
        let target_capacity = self.capacity(target)?;
        let minute = if capacity == 0 || at.minute() >= capacity {
            target_capacity
        } else {
            at.minute().min(target_capacity)
        };
        Ok(Moment(target * DAY + minute))
    }

    /// When a wait of some working days is over: the same hour that many working days later; from the start of a
    /// working day, which is the first of them, the end of the last.
    ///
    /// # Formula
    /// from the start of a working day the end of the `(days - 1)`-th working day after it; else
    /// [`plus_working_days`](Self::plus_working_days)
    /// # Units
    /// working days of the calendar
    /// # Valid for
    /// whole days; work in hours goes by [`finish_at`](Self::finish_at)
    /// # Source
    /// counting rule; example: 5 days from Monday 30 June 2025, holiday 4 July (computed by hand)
    /// # Example
    /// ```
    /// use jiff::civil::date;
    /// use rillcast::compute::calendar::{CalendarDraft, Moment, Timeline, WorkingCalendar};
    /// let calendar = WorkingCalendar::new(CalendarDraft::us_office()).map_err(|all| all[0].clone())?;
    /// let mut line = Timeline::new(&calendar, date(2025, 6, 30));
    /// let over = line.after_working_days(Moment::start_of_day(0), 5)?;
    /// assert_eq!(line.date(over)?, date(2025, 7, 7));
    /// # Ok::<(), rillcast::compute::calendar::CalendarError>(())
    /// ```
    /// # Errors
    /// [`CalendarError::SpanTooLong`] outside the supported span.
    pub fn after_working_days(&mut self, from: Moment, days: u32) -> Result<Moment, CalendarError> {
        match days.checked_sub(1) {
            Some(more) if from.minute() == 0 && self.capacity(from.day())? > 0 => {
                Ok(Moment::end_of_day(self.plus_working_days(from, more)?.day()))
            }
            _ => self.plus_working_days(from, days),
        }
    }

    fn moment(&self, day: usize, worked: i64) -> Moment {
        let before = self.before.get(day).copied().unwrap_or_default();
        Moment(i64::try_from(day).unwrap_or_default() * DAY + worked - before)
    }

    fn grow_to_work(&mut self, worked: i64) -> Result<(), CalendarError> {
        while self.before.last().copied().unwrap_or_default() < worked {
            let known = i64::try_from(self.capacity.len()).unwrap_or(i64::MAX);
            self.grow(known + 27)?;
        }
        Ok(())
    }

    fn grow(&mut self, day: i64) -> Result<(), CalendarError> {
        if day >= LONGEST_SPAN_DAYS {
            return Err(CalendarError::SpanTooLong {
                from: self.first,
                asked: day,
                limit: LONGEST_SPAN_DAYS,
            });
        }
        while i64::try_from(self.capacity.len()).unwrap_or(i64::MAX) <= day {
            let index = i64::try_from(self.capacity.len()).unwrap_or(i64::MAX);
            let date = add_calendar_days(self.first, index)?;
            let minutes = i64::from(self.calendar.minutes_on(date).minutes());
            let before = self.before.last().copied().unwrap_or_default();
            self.capacity.push(minutes);
            self.before.push(before + minutes);
            if minutes > 0 {
                self.working.push(index);
            }
            self.rank.push(self.working.len());
        }
        Ok(())
    }
}
