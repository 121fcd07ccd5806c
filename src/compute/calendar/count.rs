//! Next working day, adding working days, counting them.

use jiff::{ToSpan, civil::Date};

use super::{CalendarError, WorkingCalendar};

/// Longest span that is counted, in days: a hundred years.
pub const LONGEST_SPAN_DAYS: i64 = 36_525;

/// Longest stretch of closed days that is searched before the calendar is called closed for good: ten years.
pub const LONGEST_CLOSURE_DAYS: u32 = 3_653;

/// The date some calendar days later (or earlier, when negative).
///
/// # Errors
/// [`CalendarError::SpanTooLong`] beyond [`LONGEST_SPAN_DAYS`] or outside the dates that exist.
pub fn add_calendar_days(date: Date, days: i64) -> Result<Date, CalendarError> {
    let too_long = || CalendarError::SpanTooLong { from: date, asked: days, limit: LONGEST_SPAN_DAYS };
    if days.unsigned_abs() > LONGEST_SPAN_DAYS.unsigned_abs() {
        return Err(too_long());
    }
    date.checked_add(days.days()).map_err(|_| too_long())
}

/// Calendar days from one date to another; negative when `to` is earlier.
pub fn calendar_days_between(from: Date, to: Date) -> i64 {
    i64::from((to - from).get_days())
}

impl WorkingCalendar {
    /// The date itself when it is worked, else the next working day.
    ///
    /// # Errors
    /// [`CalendarError::AlwaysClosed`] when ten years from there are closed.
    pub fn on_or_after(&self, date: Date) -> Result<Date, CalendarError> {
        self.search(date, 1)
    }

    /// The date itself when it is worked, else the working day before.
    ///
    /// # Errors
    /// [`CalendarError::AlwaysClosed`] when ten years before are closed.
    pub fn on_or_before(&self, date: Date) -> Result<Date, CalendarError> {
        self.search(date, -1)
    }

    /// The first working day strictly after a date.
    ///
    /// # Formula
    /// least open date `> date`
    /// # Units
    /// civil dates
    /// # Valid for
    /// calendars without a closure of more than ten years
    /// # Source
    /// counting rule; worked example computed by hand (5-day week, holiday Friday 4 July 2025)
    /// # Example
    /// ```
    /// use jiff::civil::date;
    /// use rillcast::compute::calendar::{CalendarDraft, WorkingCalendar};
    /// let calendar = WorkingCalendar::new(CalendarDraft::us_office()).map_err(|all| all[0].clone())?;
    /// assert_eq!(calendar.next_working_day(date(2025, 7, 4))?, date(2025, 7, 7));
    /// # Ok::<(), rillcast::compute::calendar::CalendarError>(())
    /// ```
    /// # Errors
    /// [`CalendarError::AlwaysClosed`] when ten years from there are closed.
    pub fn next_working_day(&self, date: Date) -> Result<Date, CalendarError> {
        self.on_or_after(add_calendar_days(date, 1)?)
    }

    /// The last working day strictly before a date.
    ///
    /// # Errors
    /// [`CalendarError::AlwaysClosed`] when ten years before are closed.
    pub fn previous_working_day(&self, date: Date) -> Result<Date, CalendarError> {
        self.on_or_before(add_calendar_days(date, -1)?)
    }

    /// Moves by working days.
    ///
    /// # Formula
    /// `n > 0`: the n-th working day strictly after `date`; `n < 0`: the n-th strictly before; `n = 0`:
    /// `date`, or the next working day when it is closed
    /// # Units
    /// working days
    /// # Valid for
    /// results within a hundred years of `date`
    /// # Source
    /// counting rule; example: three working days from Wednesday 1 July 2026 across the observed holiday
    /// (computed by hand)
    /// # Example
    /// ```
    /// use jiff::civil::date;
    /// use rillcast::compute::calendar::{CalendarDraft, WorkingCalendar};
    /// let calendar = WorkingCalendar::new(CalendarDraft::us_office()).map_err(|all| all[0].clone())?;
    /// assert_eq!(calendar.add_working_days(date(2026, 7, 1), 3)?, date(2026, 7, 7));
    /// # Ok::<(), rillcast::compute::calendar::CalendarError>(())
    /// ```
    /// # Errors
    /// [`CalendarError::SpanTooLong`], [`CalendarError::AlwaysClosed`].
    pub fn add_working_days(&self, date: Date, n: i32) -> Result<Date, CalendarError> {
        if n == 0 {
            return self.on_or_after(date);
        }
        let mut day = date;
        for _ in 0..n.unsigned_abs() {
            day = if n > 0 { self.next_working_day(day)? } else { self.previous_working_day(day)? };
            if calendar_days_between(date, day).abs() > LONGEST_SPAN_DAYS {
                return Err(CalendarError::SpanTooLong {
                    from: date,
                    asked: i64::from(n),
                    limit: LONGEST_SPAN_DAYS,
                });
            }
        }
        Ok(day)
    }

    /// Working days from `from` (included) to `to` (not included); none when `to` is not later.
    ///
    /// # Errors
    /// [`CalendarError::SpanTooLong`] over more than a hundred years.
    pub fn count_working_days(&self, from: Date, to: Date) -> Result<u32, CalendarError> {
        let span = calendar_days_between(from, to);
        if span > LONGEST_SPAN_DAYS {
            return Err(CalendarError::SpanTooLong { from, asked: span, limit: LONGEST_SPAN_DAYS });
        }
        let mut count = 0;
        let mut day = from;
        while day < to {
            count += u32::from(self.is_working_day(day));
            match day.tomorrow() {
                Ok(next) => day = next,
                Err(_) => break,
            }
        }
        Ok(count)
    }

    fn search(&self, date: Date, step: i64) -> Result<Date, CalendarError> {
        let mut day = date;
        for _ in 0..LONGEST_CLOSURE_DAYS {
            if self.is_working_day(day) {
                return Ok(day);
            }
            day = add_calendar_days(day, step)?;
        }
        Err(CalendarError::AlwaysClosed { from: date, days: LONGEST_CLOSURE_DAYS })
    }
}
