//! Notice to the utilities before digging.

use jiff::civil::Date;

use super::{CalendarError, Moment, Timeline, WorkingCalendar, count::add_calendar_days};

/// The notice a place requires between the call and the first digging. State law sets it: two to three
/// working days is usual, so every number here is a setting.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MarkNotice {
    /// Whole working days that must pass.
    pub working_days: u16,
    /// Whether the day of the call is the first of them.
    pub day_of_call_counts: bool,
    /// For how many calendar days after the call the marks may be relied on, where the place limits it.
    pub marks_good_for_days: Option<u16>,
}

impl Default for MarkNotice {
    /// Three clear working days, the day of the call not counted, no lapse: the longer of the usual two to
    /// three (common practice; state law sets the number).
    fn default() -> Self {
        MarkNotice { working_days: 3, day_of_call_counts: false, marks_good_for_days: None }
    }
}

impl MarkNotice {
    /// The start of the first day on which digging may begin.
    ///
    /// # Formula
    /// the first working day after `working_days` whole working days that lie strictly after the call (or
    /// begin with the day of the call where it counts and is worked)
    /// # Units
    /// working days of `line`: those of the notice law, which may differ from the crew's
    /// # Valid for
    /// notice of 0 to a hundred years of working days; 0 lets digging begin on the day of the call
    /// # Source
    /// 29 CFR 1926.651(b) asks for the call before digging (from memory); the time is set by state law;
    /// counting in clear days is common practice, no source
    /// # Example
    /// ```
    /// use jiff::civil::date;
    /// use rillcast::compute::calendar::{CalendarDraft, MarkNotice, Moment, Timeline, WorkingCalendar};
    /// let calendar = WorkingCalendar::new(CalendarDraft::us_office()).map_err(|all| all[0].clone())?;
    /// // call on Monday 30 June 2025: Tuesday, Wednesday, Thursday pass, Friday is the holiday
    /// let mut line = Timeline::new(&calendar, date(2025, 6, 30));
    /// let dig = MarkNotice::default().earliest_dig(&mut line, Moment::start_of_day(0))?;
    /// assert_eq!(line.date(dig)?, date(2025, 7, 7));
    /// assert_eq!(MarkNotice::default().latest_call(&calendar, date(2025, 7, 7))?, date(2025, 6, 30));
    /// # Ok::<(), rillcast::compute::calendar::CalendarError>(())
    /// ```
    /// # Errors
    /// [`CalendarError::SpanTooLong`].
    pub fn earliest_dig(&self, line: &mut Timeline<'_>, call: Moment) -> Result<Moment, CalendarError> {
        let day = call.day();
        let open = line.capacity(day)? > 0;
        let after = match (self.working_days, open) {
            (0, true) => return Ok(Moment::start_of_day(day)),
            (0, false) => 1,
            (days, open) => u32::from(days) + 1 - u32::from(self.day_of_call_counts && open),
        };
        let first = line.plus_working_days(Moment::start_of_day(day), after)?.day();
        Ok(Moment::start_of_day(first))
    }

    /// Last day on which to call so that digging may begin on `dig`: the latest working day whose
    /// [`earliest_dig`](Self::earliest_dig) is not later.
    ///
    /// # Errors
    /// [`CalendarError::SpanTooLong`], [`CalendarError::AlwaysClosed`].
    pub fn latest_call(&self, calendar: &WorkingCalendar, dig: Date) -> Result<Date, CalendarError> {
        let first_day = calendar.on_or_before(dig)?;
        if self.working_days == 0 {
            return Ok(first_day);
        }
        let back = i32::from(self.working_days) + i32::from(!self.day_of_call_counts);
        calendar.add_working_days(first_day, -back)
    }

    /// Last day on which the marks of a call may be relied on, where the place limits it.
    ///
    /// # Errors
    /// [`CalendarError::SpanTooLong`].
    pub fn marks_lapse(&self, call: Date) -> Result<Option<Date>, CalendarError> {
        self.marks_good_for_days.map(|days| add_calendar_days(call, i64::from(days))).transpose()
    }
}
