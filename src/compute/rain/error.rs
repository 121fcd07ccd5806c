/// Why there is no rain to compute with, in words that say what to change.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum RainError {
    /// The duration lies outside the table.
    #[error(
        "a duration of {} min lies outside the rain table, which runs from {} to {} min: use a table that covers it",
        figure(*.asked_minutes),
        figure(*.least_minutes),
        figure(*.greatest_minutes)
    )]
    DurationOutsideTable {
        /// Asked, min.
        asked_minutes: f64,
        /// Shortest of the table, min.
        least_minutes: f64,
        /// Longest, min.
        greatest_minutes: f64,
    },
    /// The table has no column for the frequency.
    #[error("the rain table has no {asked}; it has {}", .available.join(", "))]
    NoSuchFrequency {
        /// Asked.
        asked: String,
        /// What it has.
        available: Vec<String>,
    },
    /// A number that rain cannot have.
    #[error("{what} is {value}: {rule}")]
    BadNumber {
        /// Which.
        what: String,
        /// The number.
        value: String,
        /// What is allowed.
        rule: String,
    },
    /// A depth that rain cannot have among the others of its table.
    #[error("the depth of {} min, column {}, is {} mm: {rule}", figure(*.minutes), .column + 1, figure(*.depth_mm))]
    BadDepth {
        /// Its row, from 0.
        row: usize,
        /// Its column, from 0.
        column: usize,
        /// Duration of the row, min.
        minutes: f64,
        /// The depth, mm.
        depth_mm: f64,
        /// What is allowed.
        rule: &'static str,
    },
    /// The reply says that the place is not covered.
    #[error(
        "the rain file holds no table: it says \"{said}\". The place lies outside the projects published so far; \
         give an intensity or another station's table"
    )]
    NoCoverage {
        /// What it says.
        said: String,
    },
    /// The file is not what it should be.
    #[error("line {line} of the rain file: {what}. {rule}")]
    BadFile {
        /// Line, from 1.
        line: usize,
        /// What was found.
        what: String,
        /// What should be there.
        rule: String,
    },
}

/// A number to four decimals, without what a binary fraction adds.
pub(super) fn figure(number: f64) -> String {
    let text = format!("{number:.4}");
    let short = text.trim_end_matches('0').trim_end_matches('.');
    if short == "-0" { "0".to_owned() } else { short.to_owned() }
}
