//! Holidays as rules, so that an office can state its own.

use jiff::civil::{Date, Weekday};

use super::CalendarError;

/// The day of the year on which a holiday falls.
#[derive(Debug, Clone, PartialEq, Eq)]
enum HolidayDay {
    Fixed { month: i8, day: i8 },
    Nth { month: i8, weekday: Weekday, nth: i8 },
    Last { month: i8, weekday: Weekday },
}

/// One holiday: a name and the rule that gives its day in every year.
///
/// # Example
/// ```
/// use jiff::civil::{date, Weekday};
/// use rillcast::compute::calendar::HolidayRule;
/// let day_after = HolidayRule::nth_weekday("Day before the fourth Saturday", 11, Weekday::Friday, 4)?;
/// assert!(day_after.falls_on(date(2026, 11, 27)));
/// assert!(HolidayRule::fixed("no such day", 2, 30).is_err());
/// # Ok::<(), rillcast::compute::calendar::CalendarError>(())
/// ```
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HolidayRule {
    name: String,
    day: HolidayDay,
    from_year: Option<i16>,
    until_year: Option<i16>,
}

impl HolidayRule {
    /// The same month and day every year (29 February: leap years only).
    ///
    /// # Errors
    /// [`CalendarError::HolidayRule`] when no year has such a day.
    pub fn fixed(name: impl Into<String>, month: i8, day: i8) -> Result<Self, CalendarError> {
        let name = name.into();
        if Date::new(2024, month, day).is_err() {
            return Err(CalendarError::HolidayRule {
                name,
                reason: format!(
                    "month {month} has no day {day}; give month 1 to 12 and a day that month has"
                ),
            });
        }
        Ok(Self::of(name, HolidayDay::Fixed { month, day }))
    }

    /// The `nth` weekday of a month, `nth` from 1 to 5 (a fifth one does not occur every year).
    ///
    /// # Errors
    /// [`CalendarError::HolidayRule`] for a month outside 1 to 12 or `nth` outside 1 to 5.
    pub fn nth_weekday(
        name: impl Into<String>,
        month: i8,
        weekday: Weekday,
        nth: i8,
    ) -> Result<Self, CalendarError> {
        let name = name.into();
        if !(1..=12).contains(&month) || !(1..=5).contains(&nth) {
            return Err(CalendarError::HolidayRule {
                name,
                reason: format!(
                    "weekday number {nth} of month {month}; give month 1 to 12 and number 1 to 5"
                ),
            });
        }
        Ok(Self::of(name, HolidayDay::Nth { month, weekday, nth }))
    }

    fn of(name: String, day: HolidayDay) -> Self {
        HolidayRule { name, day, from_year: None, until_year: None }
    }

    /// The same rule, kept only from this year on.
    #[must_use]
    pub fn from_year(mut self, year: i16) -> Self {
        self.from_year = Some(year);
        self
    }

    /// The same rule, kept only to the end of this year.
    #[must_use]
    pub fn until_year(mut self, year: i16) -> Self {
        self.until_year = Some(year);
        self
    }

    /// What the holiday is called.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Whether the holiday itself (not its substitute day) is on this date.
    pub fn falls_on(&self, date: Date) -> bool {
        if self.from_year.is_some_and(|y| date.year() < y) || self.until_year.is_some_and(|y| date.year() > y)
        {
            return false;
        }
        match self.day {
            HolidayDay::Fixed { month, day } => date.month() == month && date.day() == day,
            HolidayDay::Nth { month, weekday, nth } => {
                date.month() == month && date.weekday() == weekday && (date.day() - 1) / 7 + 1 == nth
            }
            HolidayDay::Last { month, weekday } => {
                date.month() == month && date.weekday() == weekday && date.day() + 7 > date.days_in_month()
            }
        }
    }
}

/// Which day a holiday on a weekend closes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Observance {
    /// The day itself, whatever weekday it is.
    Actual,
    /// The substitute day of a Monday-to-Friday week: a Saturday holiday closes the Friday before, a Sunday
    /// holiday the Monday after; the weekend day itself is not closed by the holiday.
    #[default]
    Observed,
    /// Both the day itself and its substitute, for offices that also work at weekends.
    ActualAndObserved,
}

/// A holiday that closes a date.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct HolidayOn<'a> {
    /// Its name.
    pub name: &'a str,
    /// Whether the date is the substitute day.
    pub substitute: bool,
}

/// A set of holiday rules and how they are observed.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct HolidaySet {
    rules: Vec<HolidayRule>,
    observance: Observance,
}

impl HolidaySet {
    /// A set of the office's own rules.
    pub fn new(rules: Vec<HolidayRule>, observance: Observance) -> Self {
        HolidaySet { rules, observance }
    }

    /// No holidays.
    pub fn none() -> Self {
        HolidaySet::default()
    }

    /// The legal public holidays of the United States.
    ///
    /// # Formula
    /// 1 January; third Monday of January; third Monday of February; last Monday of May; 19 June (from 2021);
    /// 4 July; first Monday of September; second Monday of October; 11 November; fourth Thursday of November;
    /// 25 December. Observed: Saturday gives Friday before, Sunday gives Monday after.
    /// # Units
    /// civil dates, Gregorian calendar
    /// # Valid for
    /// 1986 on (the year all but 19 June had their present rule); inauguration day, which closes only the
    /// capital's offices, is left out; state holidays are to be added as rules of their own
    /// # Source
    /// 5 U.S.C. 6103(a) and (b) with Executive Order 11582 for the Sunday rule (from memory; the days are
    /// checked for 2000 to 2100 against an independent library)
    /// # Example
    /// ```
    /// use jiff::civil::date;
    /// use rillcast::compute::calendar::{HolidaySet, Observance};
    /// let set = HolidaySet::us_federal(Observance::Observed);
    /// assert_eq!(set.on(date(2026, 7, 3)).map(|h| (h.name, h.substitute)), Some(("Independence Day", true)));
    /// assert_eq!(set.on(date(2027, 12, 31)).map(|h| h.name), Some("New Year's Day"));
    /// assert_eq!(set.on(date(2020, 6, 19)), None);
    /// ```
    pub fn us_federal(observance: Observance) -> Self {
        use HolidayDay::{Fixed, Last, Nth};
        use Weekday::{Monday, Thursday};
        let rules = [
            ("New Year's Day", Fixed { month: 1, day: 1 }),
            ("Birthday of Martin Luther King, Jr.", Nth { month: 1, weekday: Monday, nth: 3 }),
            ("Washington's Birthday", Nth { month: 2, weekday: Monday, nth: 3 }),
            ("Memorial Day", Last { month: 5, weekday: Monday }),
            ("Juneteenth National Independence Day", Fixed { month: 6, day: 19 }),
            ("Independence Day", Fixed { month: 7, day: 4 }),
            ("Labor Day", Nth { month: 9, weekday: Monday, nth: 1 }),
            ("Columbus Day", Nth { month: 10, weekday: Monday, nth: 2 }),
            ("Veterans Day", Fixed { month: 11, day: 11 }),
            ("Thanksgiving Day", Nth { month: 11, weekday: Thursday, nth: 4 }),
            ("Christmas Day", Fixed { month: 12, day: 25 }),
        ];
        let rules = rules
            .into_iter()
            .map(|(name, day)| {
                let from_year = (name == "Juneteenth National Independence Day").then_some(2021);
                HolidayRule { name: name.into(), day, from_year, until_year: None }
            })
            .collect();
        HolidaySet { rules, observance }
    }

    /// How a weekend holiday is observed.
    pub fn observance(&self) -> Observance {
        self.observance
    }

    /// The rules in the order given.
    pub fn rules(&self) -> &[HolidayRule] {
        &self.rules
    }

    /// The holiday that closes this date, if any. The first rule that matches is named.
    pub fn on(&self, date: Date) -> Option<HolidayOn<'_>> {
        let weekend = matches!(date.weekday(), Weekday::Saturday | Weekday::Sunday);
        let closes_itself = self.observance != Observance::Observed || !weekend;
        if closes_itself && let Some(rule) = self.rules.iter().find(|r| r.falls_on(date)) {
            return Some(HolidayOn { name: &rule.name, substitute: false });
        }
        if self.observance == Observance::Actual {
            return None;
        }
        let stands_for = match date.weekday() {
            Weekday::Friday => date.tomorrow(),
            Weekday::Monday => date.yesterday(),
            _ => return None,
        };
        let stands_for = stands_for.ok()?;
        let rule = self.rules.iter().find(|r| r.falls_on(stands_for))?;
        Some(HolidayOn { name: &rule.name, substitute: true })
    }
}
