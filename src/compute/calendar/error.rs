//! What can be wrong with a calendar or a date, and what would fix it.

use jiff::civil::Date;
use thiserror::Error;

/// A fault in a calendar, or a count that a calendar cannot answer.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum CalendarError {
    /// No weekday has working hours.
    #[error("week: no weekday has working hours; give at least one of the seven days more than 0 hours")]
    NoWorkday,
    /// Hours that are no number, negative, or more than a day holds.
    #[error("{field}: {value} hours is not allowed; give a number from {min} to {max} hours")]
    Hours {
        /// Where the value stands.
        field: String,
        /// The value as given.
        value: f64,
        /// Least allowed, in hours.
        min: f64,
        /// Most allowed, in hours.
        max: f64,
    },
    /// The same date is listed as open and as closed.
    #[error("extra_open and extra_closed both list {date}; keep it in one of them")]
    OpenAndClosed {
        /// The date listed twice.
        date: Date,
    },
    /// A holiday rule names a day that does not exist.
    #[error("holiday `{name}`: {reason}")]
    HolidayRule {
        /// Name of the rule.
        name: String,
        /// The rule that was broken, with what is allowed.
        reason: String,
    },
    /// No working day within the search limit.
    #[error(
        "no working day within {days} days of {from}: every day there is closed; open a weekday or remove closures"
    )]
    AlwaysClosed {
        /// Where the search began.
        from: Date,
        /// How many days were looked at.
        days: u32,
    },
    /// A count would leave the supported span.
    #[error("{from} and {asked} days: longer than the {limit} days a calendar counts; give a nearer date")]
    SpanTooLong {
        /// Where the count began.
        from: Date,
        /// Days asked for.
        asked: i64,
        /// Most days counted.
        limit: i64,
    },
    /// Strength that cannot be reached, or that is no strength.
    #[error("{field}: {value} is not allowed; {allowed}")]
    Strength {
        /// Where the value stands.
        field: &'static str,
        /// The value as given.
        value: f64,
        /// What is allowed.
        allowed: String,
    },
}
