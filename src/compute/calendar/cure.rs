//! Cure of concrete: calendar days, stated or from the strength that is needed.

use super::{CalendarError, Moment, Noted};

/// When, on its last day, a cure counts as done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum CureEnd {
    /// At the end of that day, so that the crew returns on the next working day (the careful reading).
    #[default]
    EndOfDay,
    /// At the hour at which the pour ended.
    SameHour,
}

/// A cure time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cure {
    /// Calendar days from the day of the pour: closed days count, concrete does not rest.
    pub calendar_days: u16,
    /// When on the last day it is done.
    pub end: CureEnd,
}

impl Default for Cure {
    /// Seven calendar days, to the end of the day (UFGS 03301A, Type I cement, read; 14 for Type II).
    fn default() -> Self {
        Cure { calendar_days: 7, end: CureEnd::EndOfDay }
    }
}

impl Cure {
    /// When concrete whose pour ended at `pour` is cured.
    ///
    /// # Formula
    /// `pour + calendar_days`, at the same hour or at the end of that day
    /// # Units
    /// calendar days on the minute axis of a timeline
    /// # Valid for
    /// any pour; work goes on in the next working hour
    /// # Source
    /// cure counts calendar days, work resumes on a working day (common practice; example computed by hand)
    /// # Example
    /// ```
    /// use jiff::civil::date;
    /// use rillcast::compute::calendar::{CalendarDraft, Cure, Moment, Timeline, WorkingCalendar};
    /// let calendar = WorkingCalendar::new(CalendarDraft::us_office()).map_err(|all| all[0].clone())?;
    /// let mut line = Timeline::new(&calendar, date(2025, 6, 27));
    /// let cured = Cure::default().done(Moment::start_of_day(0));
    /// assert_eq!(line.date(cured)?, date(2025, 7, 4));
    /// let worked = line.worked(cured)?;
    /// let on = line.start_at(worked)?;
    /// assert_eq!(line.date(on)?, date(2025, 7, 7));
    /// # Ok::<(), rillcast::compute::calendar::CalendarError>(())
    /// ```
    pub fn done(&self, pour: Moment) -> Moment {
        let same_hour = pour.plus_days(i64::from(self.calendar_days));
        match self.end {
            CureEnd::SameHour => same_hour,
            CureEnd::EndOfDay => Moment::end_of_day(same_hour.day()),
        }
    }
}

/// The strength-gain curve `f(t)/f28 = t / (a + b t)`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StrengthGain {
    /// Constant `a`, days.
    pub a_days: f64,
    /// Constant `b`, dimensionless.
    pub b: f64,
}

impl Default for StrengthGain {
    /// Type I cement, moist cured: a = 4.0 days, b = 0.85 (ACI 209R-92, from memory).
    fn default() -> Self {
        StrengthGain { a_days: 4.0, b: 0.85 }
    }
}

/// Longest cure that strength may ask for, in days: a year.
const LONGEST_CURE_DAYS: f64 = 365.0;

impl StrengthGain {
    /// Fraction of the 28-day strength reached at an age.
    ///
    /// # Formula
    /// `f(t)/f28 = t / (a + b t)`
    /// # Units
    /// `t` days, result dimensionless
    /// # Valid for
    /// moist curing near 73 °F (23 °C) from 1 to 365 days; colder concrete gains strength later
    /// # Source
    /// ACI 209R-92 (from memory)
    /// # Example
    /// ```
    /// use rillcast::compute::calendar::StrengthGain;
    /// let f = StrengthGain::default().fraction_at(7.0)?;
    /// assert!((f.value - 0.703_517_587_939_698_5).abs() < 1e-12);
    /// # Ok::<(), rillcast::compute::calendar::CalendarError>(())
    /// ```
    /// # Errors
    /// [`CalendarError::Strength`] for a negative age, or constants that are not positive.
    pub fn fraction_at(&self, age_days: f64) -> Result<Noted<f64>, CalendarError> {
        self.check()?;
        if !(age_days.is_finite() && age_days >= 0.0) {
            return Err(CalendarError::Strength {
                field: "age_days",
                value: age_days,
                allowed: "give an age of 0 days or more".into(),
            });
        }
        let mut out = Noted::plain(age_days / (self.a_days + self.b * age_days));
        self.note_age(age_days, &mut out.cautions);
        Ok(out)
    }

    /// Age at which a fraction of the 28-day strength is reached.
    ///
    /// # Formula
    /// `t = a p / (1 - b p)`
    /// # Units
    /// `p` dimensionless, result days
    /// # Valid for
    /// `0 <= p < 1/b`; as [`fraction_at`](Self::fraction_at)
    /// # Source
    /// ACI 209R-92 solved for t (from memory)
    /// # Example
    /// ```
    /// use rillcast::compute::calendar::StrengthGain;
    /// let t = StrengthGain::default().age_for(3000.0 / 4000.0)?;
    /// assert!((t.value - 8.275_862_068_965_516).abs() < 1e-12);
    /// assert!(StrengthGain::default().age_for(1.2).is_err());
    /// # Ok::<(), rillcast::compute::calendar::CalendarError>(())
    /// ```
    /// # Errors
    /// [`CalendarError::Strength`] when the curve never reaches the fraction.
    pub fn age_for(&self, fraction: f64) -> Result<Noted<f64>, CalendarError> {
        self.check()?;
        let limit = 1.0 / self.b;
        if !(fraction.is_finite() && fraction >= 0.0 && self.b * fraction < 1.0) {
            return Err(CalendarError::Strength {
                field: "required strength / 28-day strength",
                value: fraction,
                allowed: format!(
                    "the curve stays below {limit:.3} of the 28-day strength: order a stronger mix or ask for less"
                ),
            });
        }
        let age = self.a_days * fraction / (1.0 - self.b * fraction);
        let mut out = Noted::plain(age);
        self.note_age(age, &mut out.cautions);
        Ok(out)
    }

    /// Cure in whole calendar days until a strength is reached, and not less than `at_least_days`.
    ///
    /// # Formula
    /// `max(at_least_days, ceil(age_for(required / f28)))`: rounded up to whole days
    /// # Units
    /// strengths in one unit (psi or MPa), days
    /// # Valid for
    /// as [`age_for`](Self::age_for); ages to one year
    /// # Source
    /// ACI 209R-92 solved for t (from memory)
    /// # Example
    /// ```
    /// use rillcast::compute::calendar::StrengthGain;
    /// let cure = StrengthGain::default().cure(4000.0, 3000.0, 7)?;
    /// assert_eq!(cure.value.calendar_days, 9);
    /// # Ok::<(), rillcast::compute::calendar::CalendarError>(())
    /// ```
    /// # Errors
    /// [`CalendarError::Strength`] for strengths that are not positive, or not reached within a year.
    pub fn cure(&self, f28: f64, required: f64, at_least_days: u16) -> Result<Noted<Cure>, CalendarError> {
        for (field, value) in [("28-day strength", f28), ("required strength", required)] {
            if !(value.is_finite() && value > 0.0) {
                return Err(CalendarError::Strength {
                    field,
                    value,
                    allowed: "give a strength above 0".into(),
                });
            }
        }
        let age = self.age_for(required / f28)?;
        if age.value > LONGEST_CURE_DAYS {
            return Err(CalendarError::Strength {
                field: "required strength / 28-day strength",
                value: required / f28,
                allowed: format!(
                    "it is reached after {:.0} days, the limit is {LONGEST_CURE_DAYS:.0}: order a stronger mix",
                    age.value
                ),
            });
        }
        // a billionth of a day is noise of binary fractions
        let days = (age.value - 1e-9).ceil().max(0.0) as u16;
        Ok(age.map(|_| Cure { calendar_days: days.max(at_least_days), end: CureEnd::EndOfDay }))
    }

    fn check(&self) -> Result<(), CalendarError> {
        for (field, value) in [("a_days", self.a_days), ("b", self.b)] {
            if !(value.is_finite() && value > 0.0) {
                return Err(CalendarError::Strength {
                    field,
                    value,
                    allowed: "give a constant above 0".into(),
                });
            }
        }
        Ok(())
    }

    fn note_age(&self, age_days: f64, cautions: &mut Vec<String>) {
        if !(1.0..=LONGEST_CURE_DAYS).contains(&age_days) {
            cautions.push(format!(
                "age {age_days:.2} days is outside 1 to {LONGEST_CURE_DAYS:.0} days, for which the strength curve holds"
            ));
        }
    }
}
