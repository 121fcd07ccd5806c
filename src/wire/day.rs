//! A civil date, as `2026-03-09`.

use super::faults::{At, Faults};
use super::read::{Wire, wrong_kind};
use jiff::civil::Date;
use serde::{Serialize, Serializer};
use serde_json::Value;
use utoipa::openapi::schema::{KnownFormat, ObjectBuilder, SchemaFormat, Type};
use utoipa::openapi::{RefOr, Schema};
use utoipa::{PartialSchema, ToSchema};

/// First and last year a date may have: what lies outside is a slip of the pen, not a day of a job.
const YEARS: std::ops::RangeInclusive<i16> = 1980..=2199;

/// A civil date without time or zone: the day as it is written on the wall of the office.
///
/// ```
/// use rillcast::wire::day::Day;
/// assert_eq!(Day::parse("2026-03-09").map(|d| d.to_string()).as_deref(), Some("2026-03-09"));
/// assert_eq!(Day::parse("2026-02-30"), None); // no such day
/// assert_eq!(Day::parse("20260309"), None);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Day(Date);

impl Day {
    /// A day of a civil date, when its year is one in which jobs are done.
    pub fn of(date: Date) -> Option<Day> {
        YEARS.contains(&date.year()).then_some(Day(date))
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
            .examples([serde_json::json!("2026-03-09")])
            .into()
    }
}

impl ToSchema for Day {}

impl Wire for Day {
    fn read(value: &Value, at: &At<'_>, faults: &mut Faults) -> Option<Self> {
        let Some(text) = value.as_str() else {
            wrong_kind(value, "a date as \"2026-03-09\"", at, faults);
            return None;
        };
        let day = Day::parse(text);
        if day.is_none() {
            faults.value(
                at,
                "date",
                text,
                format!(
                    "a day that exists, as YYYY-MM-DD, from {} to {}, for example \"2026-03-09\"",
                    YEARS.start(),
                    YEARS.end()
                ),
            );
        }
        day
    }

    fn member_schema() -> RefOr<Schema> {
        Self::schema()
    }

    fn register(_: &mut Vec<(String, RefOr<Schema>)>) {}
}
