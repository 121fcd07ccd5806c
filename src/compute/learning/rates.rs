//! Every rate's posterior.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use thiserror::Error;

use super::{
    evidence::{Fitted, RateEvidence, evidence},
    known::{Known, Start},
    mixed::{Job, Lines, Prior, fit},
    observation::{ClassId, Exclusion, JobId, Observation, RateId},
    outliers::{QUARTILE, scores},
    settings::{LearnSettings, Setting, age_weight},
};
use crate::compute::calendar::count::calendar_days_between;
use crate::units::show::counted;

/// What is to be learned from what.
#[derive(Debug, Clone, PartialEq)]
pub struct LearnRequest {
    /// Every rate of the book that is asked about, with its class; those without observations learn from
    /// their class.
    pub rates: BTreeMap<RateId, ClassId>,
    /// Those of the rates that were learned before. Each stands where its lines left it, and these are not among the observations.
    pub known: BTreeMap<RateId, Known>,
    /// The lines of finished jobs.
    pub observations: Vec<Observation>,
    /// The day from which age is counted.
    pub as_of: Date,
    /// Settings.
    pub settings: LearnSettings,
}

/// What was learned.
#[derive(Debug, Clone, PartialEq)]
pub struct Learned {
    /// By rate.
    pub rates: BTreeMap<RateId, RateEvidence>,
    /// Deviation of one line about its rate, apart from its job.
    pub own_sd: f64,
    /// Deviation that the lines of a job share.
    pub job_sd: f64,
    /// Jobs that counted.
    pub jobs: usize,
    /// How it was found, in words.
    pub basis: String,
}

/// A fault in a request to learn.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
#[expect(missing_docs, reason = "the message of each variant says what its fields are")]
pub enum LearnError {
    #[error("rates: none given; give at least one")]
    NoRates,
    #[error("rates: {given} given; at most {most} are learned at once")]
    TooManyRates { given: usize, most: usize },
    #[error("observations: {given} given; at most {most} are learned from at once: leave out the oldest")]
    TooManyObservations { given: usize, most: usize },
    #[error("settings.{field}: {value} is not allowed; give {allowed}")]
    Setting { field: Setting, value: f64, allowed: &'static str },
    #[error(
        "observations[{index}] (job `{job}`): rate `{rate}` is not among the rates; add it with its class"
    )]
    UnknownRate { index: usize, job: JobId, rate: RateId },
    #[error(
        "observations[{index}].{field} (job `{job}`): {value} hours is not allowed; give a number above 0 and below 1e6, or leave the line out of the report"
    )]
    Hours { index: usize, job: JobId, field: &'static str, value: f64 },
    #[error(
        "observations[{index}] (job `{job}`): finished on {finished}, after {as_of}; report finished jobs only"
    )]
    InTheFuture { index: usize, job: JobId, finished: Date, as_of: Date },
    #[error("observations[{index}].excluded (job `{job}`): say who leaves it out and why")]
    UnexplainedExclusion { index: usize, job: JobId },
    #[error("known: rate `{rate}` is not among the rates; add it with its class")]
    KnownOfNoRate { rate: RateId },
    #[error("known.{field} (rate `{rate}`): {value} is not allowed; give {allowed}")]
    Known { rate: RateId, field: &'static str, value: f64, allowed: &'static str },
    #[error("the observations cannot be solved for; look for ratios far outside 1/1000 to 1000")]
    Unsolvable,
}

/// Learns every rate's ratio of actual to estimated hours.
///
/// Few jobs move a rate little, many move it much; a rate follows the other rates of its class where it has
/// no data of its own; what a whole job had in common (crew, site, weather) is not taken for a fault of each
/// rate; old jobs fade. With one rate, no class share, a fixed spread and no job part, this is the
/// normal-normal posterior. A rate that was learned before starts at that posterior in place of the book's usual spread: learned
/// in two goes it is what it would be in one.
///
/// # Formula
/// `ln(actual / estimated) = theta_rate + u_job + e`; `theta_rate = class + task`; all normal with mean 0;
/// `theta_rate` normal about where it was left with
/// [`known_variance`](super::known::known_variance) if it was learned before; posterior of every `theta` jointly; next job's ratio
/// log-normal with mean `theta` and variance `sd(theta)^2 + job_sd^2 + own_sd^2`
/// # Units
/// hours in; ratios out
/// # Valid for
/// ratios spread log-normally; hours estimated by the present book for the quantity done
/// # Source
/// normal-normal precision weighting (read, CRAN glmbayes vignette ch. 2), Henderson's mixed model equations
/// (from memory); example computed: ratios 1.10, 0.95, 1.25, 1.40, s 0.25, tau 0.20
/// # Example
/// ```
/// use jiff::civil::date;
/// use rillcast::compute::learning::*;
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let dig = RateId::new("dig-hand")?;
/// let observations = [1.10, 0.95, 1.25, 1.40].iter().enumerate().map(|(n, ratio)| {
///     Ok(Observation {
///         job: JobId::new(format!("job-{n}"))?,
///         finished_on: date(2026, 3, 1),
///         rate: dig.clone(),
///         estimated_hours: 10.0,
///         actual_hours: 10.0 * ratio,
///         excluded: None,
///     })
/// });
/// let request = LearnRequest {
///     rates: [(dig.clone(), ClassId::new("dig")?)].into(),
///     known: Default::default(),
///     observations: observations.collect::<Result<_, Box<dyn std::error::Error>>>()?,
///     as_of: date(2026, 3, 1),
///     settings: LearnSettings { own_sd: 0.25, job_sd: 0.0, class_share: 0.0, learn_spread: false, ..Default::default() },
/// };
/// let learned = learn(&request).map_err(|all| all[0].clone())?;
/// let evidence = &learned.rates[&dig];
/// assert!((evidence.mean_log - 0.108_518_233_411_630_93).abs() < 1e-12);
/// assert!((evidence.median_ratio - 1.114_625_231_773_724_9).abs() < 1e-12);
/// assert!((evidence.next_job.p80 - 1.400_816_298_353_764_2).abs() < 1e-9);
/// # Ok(())
/// # }
/// ```
/// # Errors
/// Every [`LearnError`] of the request at once.
pub fn learn(request: &LearnRequest) -> Result<Learned, Vec<LearnError>> {
    check(request)?;
    let unsolvable = || vec![LearnError::Unsolvable];
    let index: BTreeMap<&RateId, usize> = request.rates.keys().enumerate().map(|(i, r)| (r, i)).collect();
    let classes: BTreeSet<&ClassId> = request.rates.values().collect();
    let class_of: Vec<usize> = request
        .rates
        .values()
        .map(|class| classes.iter().position(|c| *c == class).unwrap_or_default())
        .collect();
    let known: Vec<Option<Start>> = request
        .rates
        .keys()
        .map(|rate| Some(request.known.get(rate)?.start(request.as_of, &request.settings)))
        .collect();
    let prior = Prior { class_of: &class_of, known: &known };
    let flags = flag(request, &index, prior);
    let all = jobs(request, &index, |_| true);
    let fitted = fit(&all, prior, &request.settings).ok_or_else(unsolvable)?;
    let without = if flags.iter().all(Option::is_none) {
        None
    } else {
        let kept = jobs(request, &index, |i| flags.get(i).is_some_and(Option::is_none));
        Some(fit(&kept, prior, &request.settings).ok_or_else(unsolvable)?)
    };
    let found = Fitted { jobs: &all, prior, fit: &fitted, without_flagged: without.as_ref(), flags: &flags };
    let evidence = request
        .rates
        .iter()
        .enumerate()
        .map(|(i, (rate, class))| (rate.clone(), evidence(request, rate, class, i, &found)));
    let (own_sd, job_sd) = (fitted.own_variance.sqrt(), fitted.job_variance.sqrt());
    let basis = format!(
        "{}, a rate of the book taken to be within {:.0} % two times in three{}; spread of a line {own_sd:.3}, of a \
         job {job_sd:.3} ({}); {}",
        counted(all.len(), "job"),
        100.0 * (libm::exp(request.settings.tau) - 1.0),
        if request.known.is_empty() { "" } else { ", one that was learned before as near as that left it" },
        if request.settings.learn_spread { "learned" } else { "as set" },
        match request.settings.half_life_days {
            Some(days) => format!("a job counts half after {}", counted(days.round() as i64, "day")),
            None => "jobs do not fade".into(),
        }
    );
    Ok(Learned { rates: evidence.collect(), own_sd, job_sd, jobs: all.len(), basis })
}

/// Counted observations by job, in order of the job's id.
fn jobs(request: &LearnRequest, index: &BTreeMap<&RateId, usize>, keep: impl Fn(usize) -> bool) -> Vec<Job> {
    let mut by_job: BTreeMap<&JobId, (Date, BTreeMap<usize, Lines>)> = BTreeMap::new();
    for (number, observation) in request.observations.iter().enumerate() {
        let (None, true, Some(&rate)) = (&observation.excluded, keep(number), index.get(&observation.rate))
        else {
            continue;
        };
        let slot = by_job.entry(&observation.job).or_insert((observation.finished_on, BTreeMap::new()));
        slot.0 = slot.0.max(observation.finished_on);
        let y = libm::log(observation.ratio());
        let lines = slot.1.entry(rate).or_default();
        *lines = Lines { rate, count: lines.count + 1.0, sum: lines.sum + y, squares: lines.squares + y * y };
    }
    let weight =
        |date| age_weight(calendar_days_between(date, request.as_of), request.settings.half_life_days);
    let job = |(date, rates): (Date, BTreeMap<usize, Lines>)| Job {
        weight: weight(date),
        rates: rates.into_values().collect(),
    };
    by_job.into_values().map(job).collect()
}

/// Scores of the observations that stand far off and still count.
fn flag(request: &LearnRequest, index: &BTreeMap<&RateId, usize>, prior: Prior<'_>) -> Vec<Option<f64>> {
    let s = &request.settings;
    let line_sd = (s.own_sd * s.own_sd + s.job_sd * s.job_sd).sqrt();
    let mut flags = vec![None; request.observations.len()];
    for (rate, place) in index {
        let Start { mean, variance } =
            prior.start(*place).unwrap_or(Start { mean: 0.0, variance: s.tau * s.tau });
        let prior_sd = (line_sd * line_sd + variance).sqrt();
        let counted = |o: &Observation| o.rate == **rate && o.excluded.is_none();
        let at: Vec<usize> =
            request.observations.iter().enumerate().filter(|(_, o)| counted(o)).map(|(i, _)| i).collect();
        let values: Vec<f64> = at
            .iter()
            .filter_map(|i| request.observations.get(*i))
            .map(|o| libm::log(o.ratio()) - mean)
            .collect();
        // half of the spread that is expected anyway: closer lines are no reason to call another one far
        let found = scores(&values, prior_sd, QUARTILE * line_sd / 2.0, s.outlier_least_lines);
        for (i, score) in at.into_iter().zip(found).filter(|(_, score)| score.abs() > s.outlier_score) {
            if let Some(slot) = flags.get_mut(i) {
                *slot = Some(score);
            }
        }
    }
    flags
}

fn check(request: &LearnRequest) -> Result<(), Vec<LearnError>> {
    let mut faults = Vec::new();
    let (given, most) = (request.rates.len(), request.settings.most_rates);
    if given == 0 {
        faults.push(LearnError::NoRates);
    }
    if given > most {
        faults.push(LearnError::TooManyRates { given, most });
    }
    let (given, most) = (request.observations.len(), request.settings.most_observations);
    if given > most {
        faults.push(LearnError::TooManyObservations { given, most });
    }
    for out in request.settings.faults() {
        faults.push(LearnError::Setting { field: out.setting, value: out.value, allowed: out.allowed });
    }
    for (rate, known) in &request.known {
        if !request.rates.contains_key(rate) {
            faults.push(LearnError::KnownOfNoRate { rate: rate.clone() });
        }
        for (field, value, allowed) in known.faults() {
            faults.push(LearnError::Known { rate: rate.clone(), field, value, allowed });
        }
    }
    for (index, observation) in request.observations.iter().enumerate() {
        let job = || observation.job.clone();
        if !request.rates.contains_key(&observation.rate) {
            faults.push(LearnError::UnknownRate { index, job: job(), rate: observation.rate.clone() });
        }
        let hours =
            [("estimated_hours", observation.estimated_hours), ("actual_hours", observation.actual_hours)];
        for (field, value) in hours {
            if !(value > 0.0 && value < 1e6) {
                faults.push(LearnError::Hours { index, job: job(), field, value });
            }
        }
        if observation.finished_on > request.as_of {
            let finished = observation.finished_on;
            faults.push(LearnError::InTheFuture { index, job: job(), finished, as_of: request.as_of });
        }
        let blank = |e: &Exclusion| e.by.trim().is_empty() || e.reason.trim().is_empty();
        if observation.excluded.as_ref().is_some_and(blank) {
            faults.push(LearnError::UnexplainedExclusion { index, job: job() });
        }
    }
    if faults.is_empty() { Ok(()) } else { Err(faults) }
}
