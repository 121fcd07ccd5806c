//! Estimate against actual, over one job or many.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use thiserror::Error;

use super::observation::{JobId, RateId};

/// One line of a finished job with all that it may be grouped by.
#[derive(Debug, Clone, PartialEq)]
pub struct Record {
    /// The job.
    pub job: JobId,
    /// The rate it was estimated with.
    pub task: RateId,
    /// How it was done.
    pub method: Option<String>,
    /// What was dug or cut.
    pub soil: Option<String>,
    /// Whose crew did it.
    pub crew: Option<String>,
    /// The day it was finished.
    pub finished_on: Date,
    /// Hours estimated for the quantity estimated.
    pub estimated_hours: f64,
    /// Hours the same rate gives for the quantity done, where that was recorded; 0 where nothing of it was done.
    pub estimated_for_done: Option<f64>,
    /// Hours it took.
    pub actual_hours: f64,
}

/// What to group by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Key {
    /// The job.
    Job,
    /// The task's rate.
    Task,
    /// The method.
    Method,
    /// The soil.
    Soil,
    /// The crew.
    Crew,
    /// The season.
    Season,
}

/// Which half of the earth; it decides the seasons.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Hemisphere {
    /// Winter is December to February.
    #[default]
    North,
    /// Winter is June to August.
    South,
}

/// How to compare.
#[derive(Debug, Clone, PartialEq)]
pub struct CompareSettings {
    /// Which half of the earth.
    pub hemisphere: Hemisphere,
    /// Jobs from which a group has enough data.
    pub enough_jobs: usize,
}

impl Default for CompareSettings {
    /// North; five jobs (common practice, no source).
    fn default() -> Self {
        CompareSettings { hemisphere: Hemisphere::North, enough_jobs: 5 }
    }
}

/// One group of lines.
#[derive(Debug, Clone, PartialEq)]
pub struct Group {
    /// The value of each key, in the order asked for; `-` where a line does not tell.
    pub values: Vec<String>,
    /// Lines in it.
    pub lines: usize,
    /// Jobs in it.
    pub jobs: usize,
    /// Hours estimated.
    pub estimated_hours: f64,
    /// Hours it took.
    pub actual_hours: f64,
    /// Hours that the quantity made: estimate for the quantity done less the estimate; lines without a
    /// quantity done count 0.
    pub by_quantity: f64,
    /// Hours that the rate made: actual less the estimate for the quantity done.
    pub by_rate: f64,
    /// Actual over estimated, of the sums: large lines weigh more.
    pub ratio_of_sums: f64,
    /// Geometric mean of the lines' ratios of actual to the estimate for the quantity done: each line weighs
    /// the same. Lines of which nothing was done have no ratio; none without any other.
    pub typical_ratio: Option<f64>,
    /// Whether there are enough jobs to act on.
    pub enough: bool,
}

/// A line that cannot be compared.
#[derive(Debug, Clone, PartialEq, Error)]
#[error(
    "records[{index}].{field}: {value} hours is not allowed; give a number above 0 and below 1e6, for the quantity done also 0"
)]
pub struct CompareError {
    /// Where it stands.
    pub index: usize,
    /// Which hours.
    pub field: &'static str,
    /// As given.
    pub value: f64,
}

/// Compares estimate with actual, grouped by the keys, in order of their values.
///
/// # Formula
/// `by_quantity = sum (estimate for done - estimate)`; `by_rate = sum (actual - estimate for done)`; the two
/// add to actual less estimate; typical ratio `exp(mean ln(actual / estimate for done))`
/// # Units
/// hours; ratios dimensionless
/// # Valid for
/// hours above 0; 0 for the quantity done, which then has no ratio
/// # Source
/// variance by quantity and by rate (common practice, no source)
/// # Example
/// ```
/// use jiff::civil::date;
/// use rillcast::compute::learning::{JobId, RateId, compare::*};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let record = Record {
///     job: JobId::new("job-1")?,
///     task: RateId::new("dig")?,
///     method: None,
///     soil: Some("clay".into()),
///     crew: None,
///     finished_on: date(2026, 1, 15),
///     estimated_hours: 10.0,
///     estimated_for_done: Some(12.0), // a fifth more was dug
///     actual_hours: 15.0,
/// };
/// let groups = compare(&[record], &[Key::Soil, Key::Season], &CompareSettings::default())
///     .map_err(|all| all[0].clone())?;
/// assert_eq!(groups[0].values, ["clay", "winter"]);
/// assert_eq!((groups[0].by_quantity, groups[0].by_rate), (2.0, 3.0));
/// assert_eq!(groups[0].typical_ratio, Some(1.25));
/// # Ok(())
/// # }
/// ```
/// # Errors
/// Every [`CompareError`] at once.
pub fn compare(
    records: &[Record],
    keys: &[Key],
    settings: &CompareSettings,
) -> Result<Vec<Group>, Vec<CompareError>> {
    check(records)?;
    let mut groups: BTreeMap<Vec<String>, Vec<&Record>> = BTreeMap::new();
    for record in records {
        let values = keys.iter().map(|key| value(record, *key, settings.hemisphere)).collect();
        groups.entry(values).or_default().push(record);
    }
    Ok(groups.into_iter().map(|(values, lines)| group(values, &lines, settings)).collect())
}

fn value(record: &Record, key: Key, hemisphere: Hemisphere) -> String {
    let told = |text: &Option<String>| text.clone().unwrap_or_else(|| "-".into());
    match key {
        Key::Job => record.job.to_string(),
        Key::Task => record.task.to_string(),
        Key::Method => told(&record.method),
        Key::Soil => told(&record.soil),
        Key::Crew => told(&record.crew),
        Key::Season => season(record.finished_on, hemisphere).into(),
    }
}

/// The season by whole months, as weather services count it: December to February is winter in the north.
pub fn season(date: Date, hemisphere: Hemisphere) -> &'static str {
    match (date.month(), hemisphere) {
        (12 | 1 | 2, Hemisphere::North) | (6..=8, Hemisphere::South) => "winter",
        (3..=5, Hemisphere::North) | (9..=11, Hemisphere::South) => "spring",
        (6..=8, Hemisphere::North) | (12 | 1 | 2, Hemisphere::South) => "summer",
        _ => "autumn",
    }
}

fn group(values: Vec<String>, lines: &[&Record], settings: &CompareSettings) -> Group {
    let jobs = lines.iter().map(|r| &r.job).collect::<BTreeSet<_>>().len();
    let for_done = |r: &Record| r.estimated_for_done.unwrap_or(r.estimated_hours);
    let estimated_hours: f64 = lines.iter().map(|r| r.estimated_hours).sum();
    let actual_hours: f64 = lines.iter().map(|r| r.actual_hours).sum();
    let done = lines.iter().filter(|r| for_done(r) > 0.0);
    let logs: Vec<f64> = done.map(|r| libm::log(r.actual_hours / for_done(r))).collect();
    let mean_log = logs.iter().sum::<f64>() / logs.len().max(1) as f64;
    Group {
        values,
        lines: lines.len(),
        jobs,
        estimated_hours,
        actual_hours,
        by_quantity: lines.iter().map(|r| for_done(r) - r.estimated_hours).sum(),
        by_rate: lines.iter().map(|r| r.actual_hours - for_done(r)).sum(),
        ratio_of_sums: actual_hours / estimated_hours,
        typical_ratio: (!logs.is_empty()).then(|| libm::exp(mean_log)),
        enough: jobs >= settings.enough_jobs,
    }
}

fn check(records: &[Record]) -> Result<(), Vec<CompareError>> {
    let mut faults = Vec::new();
    for (index, record) in records.iter().enumerate() {
        let hours = [
            ("estimated_hours", Some(record.estimated_hours)),
            ("estimated_for_done", record.estimated_for_done),
            ("actual_hours", Some(record.actual_hours)),
        ];
        for (field, value) in hours {
            let none_is_allowed = field == "estimated_for_done";
            if let Some(value) = value.filter(|v| !((*v > 0.0 || (none_is_allowed && *v == 0.0)) && *v < 1e6))
            {
                faults.push(CompareError { index, field, value });
            }
        }
    }
    if faults.is_empty() { Ok(()) } else { Err(faults) }
}
