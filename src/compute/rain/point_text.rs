//! The words and cells of a point file.

use super::error::RainError;
use super::frequency::Frequency;

/// What the values are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DataKind {
    /// Depth that falls in the duration.
    Depth,
    /// Mean intensity over it.
    Intensity,
}

/// Unit the file states its values in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PointUnit {
    /// Inches, or inches per hour.
    Inches,
    /// Millimetres, or millimetres per hour.
    Millimetres,
}

/// Kind of series the estimates come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Series {
    /// Partial duration: recurrence intervals.
    PartialDuration,
    /// Annual maximum: yearly chances.
    AnnualMaximum,
}

/// Which of the three tables.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Bound {
    /// The estimate.
    Mean,
    /// Upper bound of its 90 % confidence interval.
    Upper,
    /// Lower bound.
    Lower,
}

impl Bound {
    /// What the table is, where it is not the estimate itself.
    #[must_use]
    pub const fn words(self) -> Option<&'static str> {
        match self {
            Self::Mean => None,
            Self::Upper => Some("upper bound of the 90 % confidence interval"),
            Self::Lower => Some("lower bound of the 90 % confidence interval"),
        }
    }

    /// The same behind a comma; nothing for the estimate itself.
    #[must_use]
    pub fn appended(self) -> String {
        self.words().map_or_else(String::new, |words| format!(", {words}"))
    }
}

/// A line as spreadsheets and the server write it: without padding commas, quotes and spaces at its ends.
pub(super) fn bare(line: &str) -> &str {
    line.trim_matches(|c: char| c.is_whitespace() || c == ',' || c == '"' || c == '\u{feff}')
}

/// Cells of a table row; empty ones at the end are padding.
pub(super) fn cells(line: &str) -> Vec<&str> {
    let mut all: Vec<&str> = line
        .split(',')
        .map(|cell| cell.trim_matches(|c: char| c.is_whitespace() || c == '"' || c == '\u{feff}'))
        .collect();
    while all.last().is_some_and(|cell| cell.is_empty()) {
        all.pop();
    }
    all
}

/// Minutes of a label such as `5-min:` or `24-hr`.
pub(super) fn duration_minutes(label: &str) -> Option<f64> {
    let (count, unit) = label.trim_end_matches(':').trim().split_once('-')?;
    let count: f64 = count.trim().parse().ok()?;
    let minutes = match unit.trim().to_ascii_lowercase().as_str() {
        "min" => 1.0,
        "hr" | "hour" => 60.0,
        "day" => 1_440.0,
        _ => return None,
    };
    (count > 0.0 && count.is_finite()).then_some(count * minutes)
}

/// Frequency of a column head: `10`, or `'1/10` in an annual-maximum series.
pub(super) fn frequency(cell: &str, series: Series) -> Option<Frequency> {
    let cell = cell.trim_matches(|c: char| matches!(c, '\'' | '\u{2018}' | '\u{2019}' | ' '));
    match series {
        Series::AnnualMaximum => {
            let years: f64 = cell.strip_prefix("1/")?.trim().parse().ok()?;
            (years >= 1.0).then_some(Frequency::OneIn(years))
        }
        Series::PartialDuration => {
            let years: f64 = cell.parse().ok()?;
            (years >= 1.0).then_some(Frequency::RecurrenceYears(years))
        }
    }
}

/// Kind of values and unit from the title, the only place that states the unit.
pub(super) fn title_unit(lines: &[&str]) -> Result<(DataKind, PointUnit), RainError> {
    for line in lines {
        let Some((_, after)) = line.split_once('(') else {
            continue;
        };
        let Some((unit, _)) = after.split_once(')') else {
            continue;
        };
        let words = unit.trim().to_ascii_lowercase();
        let found = match words.as_str() {
            "inches" => (DataKind::Depth, PointUnit::Inches),
            "inches/hour" => (DataKind::Intensity, PointUnit::Inches),
            "millimeters" => (DataKind::Depth, PointUnit::Millimetres),
            "millimeters/hour" => (DataKind::Intensity, PointUnit::Millimetres),
            _ => continue,
        };
        return Ok(found);
    }
    Err(RainError::BadFile {
        line: 1,
        what: "the title names no unit".to_owned(),
        rule: "The title ends in (inches), (inches/hour), (millimeters) or (millimeters/hour)".to_owned(),
    })
}
