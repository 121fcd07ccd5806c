/// Why there is no rain to compute with, in words that say what to change.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum RainError {
    /// The duration lies outside the table.
    #[error(
        "a duration of {asked_minutes} min lies outside the rain table, which runs from {least_minutes} to \
         {greatest_minutes} min: use a table that covers it"
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
