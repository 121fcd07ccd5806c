//! Estimate against actual over many jobs, by task, method, soil, crew and season.

use super::actuals::{DoneBy, JobActuals};
use super::comparison::person_hours;
use super::entries::EndRecord;
use crate::compute::learning::compare::{CompareSettings, Group, Key, Record, compare};
use crate::compute::learning::{JobId, RateId};
use crate::compute::pipeline::HoursFor;
use crate::units::show::counted;
use crate::units::{Quantity, Unit};
use crate::wire_enum;
use serde::Serialize;
use utoipa::ToSchema;

wire_enum! {
    /// What lines are grouped by.
    pub enum GroupBy {
        /// the job
        Job = "job",
        /// the task
        Task = "task",
        /// the method
        Method = "method",
        /// the soil
        Soil = "soil",
        /// whose crew
        Crew = "crew",
        /// the season in which the job was finished, as in the northern half of the earth
        Season = "season",
    }
}

/// Estimate against actual over many finished jobs.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct ManyComparison {
    /// What lines are grouped by.
    pub by: Vec<GroupBy>,
    /// Finished jobs looked at.
    pub jobs: usize,
    /// Whether there are more finished jobs than were looked at; the newest were.
    pub more_jobs: bool,
    /// The groups, in order of their values.
    pub groups: Vec<GroupOut>,
    /// Jobs whose notes the price book cannot reckon any more, and lines without hours on one side; each with its reason.
    pub left_out: Vec<String>,
}

/// One group of lines; a line is a task of a job.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
#[schema(as = ComparisonGroup)]
pub struct GroupOut {
    /// The value of each key, in the order asked for; `-` where a line does not tell. The method of a line whose hours were by
    /// several is all of them, `hand + mini-excavator`; it is reckoned by the estimated one.
    pub values: Vec<String>,
    /// Lines in it.
    pub lines: usize,
    /// Jobs in it.
    pub jobs: usize,
    /// Hours of people estimated.
    pub estimated: Quantity,
    /// Hours of people, as they were.
    pub actual: Quantity,
    /// Hours that the quantities made.
    pub by_quantity: Quantity,
    /// Hours that the rates made.
    pub by_rate: Quantity,
    /// Actual hours in percent of the estimated ones, of the sums: large lines weigh more.
    pub actual_pct: String,
    /// Typical line: geometric mean of actual hours in percent of those for the quantity done; absent where nothing was done on
    /// any line.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub typical_pct: Option<String>,
    /// Whether there are enough jobs to act on.
    pub enough: bool,
    /// Why, or why not.
    pub enough_basis: String,
}

/// A finished job with its hours by the book of its estimate.
#[derive(Debug)]
pub struct Finished {
    /// Job, `job_…`.
    pub job: String,
    /// What happened.
    pub actuals: JobActuals,
    /// Each record of its end, those that stand no more as well.
    pub ends: Vec<EndRecord>,
    /// Its hours.
    pub hours: HoursFor,
}

fn key(by: GroupBy) -> Key {
    match by {
        GroupBy::Job => Key::Job,
        GroupBy::Task => Key::Task,
        GroupBy::Method => Key::Method,
        GroupBy::Soil => Key::Soil,
        GroupBy::Crew => Key::Crew,
        GroupBy::Season => Key::Season,
    }
}

/// Compares finished jobs.
pub fn many(jobs: &[Finished], by: &[GroupBy], more_jobs: bool, mut left_out: Vec<String>) -> ManyComparison {
    let mut records: Vec<Record> = Vec::new();
    for finished in jobs {
        let Some(finished_on) = finished.actuals.finished_on else { continue };
        let done = finished.actuals.hours.keys().map(|(t, _)| *t);
        let tasks: std::collections::BTreeSet<_> =
            finished.hours.estimated.tasks.iter().map(|t| t.task).chain(done).collect();
        for task in tasks {
            let (estimated, actual) =
                (person_hours(&finished.hours.estimated, task), finished.actuals.hours_of(task));
            if estimated <= 0.0 || actual <= 0.0 {
                let side = if actual <= 0.0 { "recorded" } else { "estimated" };
                left_out.push(format!("{} `{task}`: no hours {side}", finished.job));
                continue;
            }
            let for_done = person_hours(&finished.hours.for_done, task);
            let estimated_by = finished.hours.estimated.tasks.iter().find(|t| t.task == task);
            let method = match finished.actuals.done_by(task) {
                DoneBy::One(method) => Some(method.to_owned()),
                DoneBy::Several(methods) => {
                    let mut names: Vec<&str> = methods.iter().map(|(name, _)| *name).collect();
                    names.sort_unstable();
                    Some(names.join(" + "))
                }
                DoneBy::Untold => estimated_by.map(|t| t.method.clone()),
            };
            let (Ok(job), Ok(rate)) = (JobId::new(finished.job.as_str()), RateId::new(task.word())) else {
                continue;
            };
            records.push(Record {
                job,
                task: rate,
                method,
                soil: Some(finished.hours.soil.word().to_owned()),
                crew: finished.actuals.crew_of(task).map(ToOwned::to_owned),
                finished_on,
                estimated_hours: estimated,
                estimated_for_done: Some(for_done),
                actual_hours: actual,
            });
        }
    }
    let settings = CompareSettings::default();
    let keys: Vec<Key> = by.iter().copied().map(key).collect();
    let groups = compare(&records, &keys, &settings).unwrap_or_default();
    ManyComparison {
        by: by.to_vec(),
        jobs: jobs.len(),
        more_jobs,
        groups: groups.iter().map(|g| group_out(g, &settings)).collect(),
        left_out,
    }
}

fn group_out(group: &Group, settings: &CompareSettings) -> GroupOut {
    let q = |v: f64| Quantity::computed(v, Unit::Hr, 4);
    let pct = |v: f64| Quantity::computed(100.0 * v, Unit::Each, 1).to_string();
    GroupOut {
        values: group.values.clone(),
        lines: group.lines,
        jobs: group.jobs,
        estimated: q(group.estimated_hours),
        actual: q(group.actual_hours),
        by_quantity: q(group.by_quantity),
        by_rate: q(group.by_rate),
        actual_pct: pct(group.ratio_of_sums),
        typical_pct: group.typical_ratio.map(pct),
        enough: group.enough,
        enough_basis: format!(
            "{}; from {} on there is enough data to act on",
            counted(group.jobs, "job"),
            settings.enough_jobs
        ),
    }
}
