//! A civil date, as `2026-03-09`.

use super::faults::{At, Faults};
use super::read::{Extreme, Wire, wrong_kind};
use crate::wire::Value;
use jiff::civil::{Date, date};
use serde::{Serialize, Serializer};
use utoipa::openapi::schema::{KnownFormat, ObjectBuilder, SchemaFormat, Type};
use utoipa::openapi::{RefOr, Schema};
use utoipa::{PartialSchema, ToSchema};

/// First and last day there is: what lies outside is a slip of the pen, not a day of a job.
const DAYS: (Date, Date) = (date(1980, 1, 1), date(2199, 12, 31));

const RULE: &str =
    "a day that exists, as YYYY-MM-DD, from 1980-01-01 to 2199-12-31, for example \"2026-03-09\"";

/// A civil date without time or zone: the day as it is written on the wall of the office.
///
/// ```
/// use rillcast::wire::day::Day;
/// assert_eq!(Day::parse("2026-03-09").map(|d| d.to_string()).as_deref(), Some("2026-03-09"));
/// for refused in
///     ["2026-02-30", "20260309", "2026-3-9", "2026-03-09T00:00", " 2026-03-09", "+002026-03-09", "0226-03-09"]
/// {
///     assert_eq!(Day::parse(refused), None, "{refused}");
/// }
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Day(Date);

impl Day {
    /// A day of a civil date, when its year is one in which jobs are done.
    pub fn of(date: Date) -> Option<Day> {
        (DAYS.0..=DAYS.1).contains(&date).then_some(Day(date))
    }

    /// Reads `YYYY-MM-DD` and nothing else.
    pub fn parse(text: &str) -> Option<Day> {
        let form = text.len() == 10
            && text.bytes().enumerate().all(
                |(i, b)| {
                    if matches!(i, 4 | 7) { b == b'-' } else { b.is_ascii_digit() }
                },
            );
        form.then(|| text.parse::<Date>().ok()).flatten().and_then(Day::of)
    }

    /// The civil date.
    pub const fn date(self) -> Date {
        self.0
    }

    /// So many days later, or earlier; the last or first day there is when that is beyond it.
    ///
    /// ```
    /// use rillcast::wire::day::Day;
    /// let later = |from: &str, days| Day::parse(from).map(|d| d.plus_days(days).to_string());
    /// assert_eq!(later("2028-02-15", 30).as_deref(), Some("2028-03-16")); // a leap year
    /// assert_eq!(later("2199-12-01", 60).as_deref(), Some("2199-12-31"));
    /// assert_eq!(later("1980-01-05", i64::MIN).as_deref(), Some("1980-01-01"));
    /// ```
    #[must_use]
    pub fn plus_days(self, days: i64) -> Day {
        // 220 years are some 80,000 days: more than that leads to the same end.
        let days = jiff::Span::new().days(days.clamp(-100_000, 100_000));
        Day(self.0.saturating_add(days).clamp(DAYS.0, DAYS.1))
    }
}

/// The day that it is at the office, with the zone whose day it is: a day after it has not come.
///
/// ```
/// use rillcast::wire::day::{Day, OfficeDay};
/// let day = |text| Day::parse(text).unwrap();
/// let today = OfficeDay { day: day("2026-03-09"), zone: "America/Chicago" };
/// assert_eq!(today.to_come(day("2026-03-09")), None);
/// let told = today.to_come(day("2026-03-10")).unwrap();
/// assert_eq!(told, "the last day that can have happened is 2026-03-09, today at the office (America/Chicago)");
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct OfficeDay<'a> {
    /// The day.
    pub day: Day,
    /// Where the office is: the IANA name of its zone.
    pub zone: &'a str,
}

impl OfficeDay<'_> {
    /// What is wrong with a day on which something is said to have happened: that it is to come.
    pub fn to_come(self, on: Day) -> Option<String> {
        let Self { day, zone } = self;
        (on > day)
            .then(|| format!("the last day that can have happened is {day}, today at the office ({zone})"))
    }
}

impl std::fmt::Display for Day {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        self.0.fmt(f)
    }
}

impl Serialize for Day {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        s.collect_str(self)
    }
}

impl PartialSchema for Day {
    fn schema() -> RefOr<Schema> {
        ObjectBuilder::new()
            .schema_type(Type::String)
            .format(Some(SchemaFormat::KnownFormat(KnownFormat::Date)))
            .description(Some(RULE))
            .pattern(Some("^(19[89][0-9]|20[0-9]{2}|21[0-9]{2})-[0-9]{2}-[0-9]{2}$"))
            .examples([serde_json::json!("2026-03-09")])
            .into()
    }
}

impl ToSchema for Day {
    fn name() -> std::borrow::Cow<'static, str> {
        "Day".into()
    }
}

impl Wire for Day {
    fn read(value: &Value<'_>, at: &At<'_>, faults: &mut Faults) -> Option<Self> {
        let Some(text) = value.as_str() else {
            wrong_kind(value, "a date as \"2026-03-09\"", at, faults);
            return None;
        };
        let day = Day::parse(text);
        if day.is_none() {
            faults.value(at, "date", text, RULE);
        }
        day
    }

    fn stand_in(extreme: Extreme) -> Option<Self> {
        Self::of(extreme.of(DAYS.0, DAYS.1))
    }

    crate::wire_named!();
}
