//! The model behind the rates, solved exactly.
//!
//! `y = theta_rate + u_job + e`, with `theta = class + task part`. All parts are normal with mean 0: class
//! `tau^2 share`, task part `tau^2 (1 - share)`, job `job^2`, line `own^2`. Integrating the jobs out leaves
//! one precision matrix over the rates (Henderson's mixed model equations with the job part eliminated); with
//! one rate, no class share and no job part it is the normal-normal posterior. A job that counts `w` enters
//! as `w` such jobs. A rate that was learned before starts where it was left, apart from its class: what the class told is in it
//! already. The two deviations are found by expectation-maximisation with the given ones as
//! pseudo-data.

use super::{cholesky::Square, known::Start, settings::LearnSettings};

/// The lines of one job that tell about one rate, summed up: logarithms of actual over estimated.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Lines {
    pub(crate) rate: usize,
    pub(crate) count: f64,
    pub(crate) sum: f64,
    pub(crate) squares: f64,
}

/// One job and what it counts.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Job {
    pub(crate) weight: f64,
    pub(crate) rates: Vec<Lines>,
}

impl Job {
    fn count(&self) -> f64 {
        self.rates.iter().map(|l| l.count).sum()
    }
}

/// What is taken of the rates before any job is seen.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Prior<'a> {
    /// The class of each rate.
    pub(crate) class_of: &'a [usize],
    /// Where each rate starts that was learned before.
    pub(crate) known: &'a [Option<Start>],
}

impl Prior<'_> {
    pub(crate) fn start(&self, rate: usize) -> Option<Start> {
        self.known.get(rate).copied().flatten()
    }

    /// Class of each rate that learns with others.
    fn learning_together(&self) -> impl Iterator<Item = (usize, usize)> {
        self.class_of.iter().copied().enumerate().filter(|(rate, _)| self.start(*rate).is_none())
    }
}

/// What the model makes of the jobs.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Fit {
    pub(crate) mean: Vec<f64>,
    pub(crate) covariance: Square,
    pub(crate) own_variance: f64,
    pub(crate) job_variance: f64,
}

impl Fit {
    /// The logarithm of what a job took as a whole, as it is to be expected.
    pub(crate) fn of_job(&self, job: &Job) -> f64 {
        let gain = self.job_variance / (self.own_variance + job.count() * self.job_variance);
        let mean = |l: &Lines| self.mean.get(l.rate).copied().unwrap_or(0.0);
        gain * job.rates.iter().map(|l| l.sum - l.count * mean(l)).sum::<f64>()
    }
}

/// Steps of expectation-maximisation: fixed, so that the same jobs give the same bytes.
const STEPS: usize = 60;

/// Fits the model. `None` only if numbers overflow.
pub(crate) fn fit(jobs: &[Job], prior: Prior<'_>, settings: &LearnSettings) -> Option<Fit> {
    let mut own = settings.own_sd * settings.own_sd;
    let mut job = settings.job_sd * settings.job_sd;
    let mut fit = solve(jobs, prior, settings, own, job)?;
    if settings.learn_spread {
        for _ in 0..STEPS {
            (own, job) = spread(jobs, &fit, settings);
            fit = solve(jobs, prior, settings, own, job)?;
        }
    }
    Some(fit)
}

fn solve(
    jobs: &[Job],
    prior: Prior<'_>,
    settings: &LearnSettings,
    own_variance: f64,
    job_variance: f64,
) -> Option<Fit> {
    let mut precision = before(prior, settings);
    let mut weighted: Vec<f64> =
        prior.known.iter().map(|start| start.map_or(0.0, |s| s.mean / s.variance)).collect();
    for job in jobs {
        let scale = job.weight / own_variance;
        let shared = job_variance / (own_variance + job.count() * job_variance);
        let sum: f64 = job.rates.iter().map(|l| l.sum).sum();
        for lines in &job.rates {
            precision.add(lines.rate, lines.rate, scale * lines.count);
            for other in &job.rates {
                precision.add(lines.rate, other.rate, -scale * shared * lines.count * other.count);
            }
            if let Some(slot) = weighted.get_mut(lines.rate) {
                *slot += scale * (lines.sum - shared * lines.count * sum);
            }
        }
    }
    let covariance = precision.inverse()?;
    Some(Fit { mean: covariance.times(&weighted), covariance, own_variance, job_variance })
}

/// Precision of the rates before any job is seen.
fn before(prior: Prior<'_>, settings: &LearnSettings) -> Square {
    let (class, task) = settings.shares();
    let mut precision = Square::zero(prior.class_of.len());
    for (row, start) in prior.known.iter().enumerate() {
        if let Some(start) = start {
            precision.add(row, row, 1.0 / start.variance);
        }
    }
    for (row, of_row) in prior.learning_together() {
        let members = prior.learning_together().filter(|(_, c)| *c == of_row).count() as f64;
        precision.add(row, row, 1.0 / task);
        for (column, of_column) in prior.learning_together() {
            if of_row == of_column {
                precision.add(row, column, -class / (task * (task + members * class)));
            }
        }
    }
    precision
}

/// One step: the variances expected under the fit, with the given ones as pseudo-data.
fn spread(jobs: &[Job], fit: &Fit, settings: &LearnSettings) -> (f64, f64) {
    let (own, job) = (fit.own_variance, fit.job_variance);
    let mut own_sum = settings.own_sd_worth_lines * settings.own_sd * settings.own_sd;
    let mut job_sum = settings.job_sd_worth_jobs * settings.job_sd * settings.job_sd;
    let (mut own_count, mut job_count) = (settings.own_sd_worth_lines, settings.job_sd_worth_jobs);
    for group in jobs {
        let count = group.count();
        let gain = job / (own + count * job);
        let left = job * own / (own + count * job);
        let mean = |l: &Lines| fit.mean.get(l.rate).copied().unwrap_or(0.0);
        let row =
            |l: &Lines| group.rates.iter().map(|o| o.count * fit.covariance.get(l.rate, o.rate)).sum::<f64>();
        let expected = fit.of_job(group);
        let all: f64 = group.rates.iter().map(|l| l.count * row(l)).sum();
        let of_job = gain * gain * all + left;
        job_sum += group.weight * (expected * expected + of_job);
        job_count += group.weight;
        for lines in &group.rates {
            let middle = mean(lines) + expected;
            let off = (lines.squares - 2.0 * middle * lines.sum + lines.count * middle * middle).max(0.0);
            let unsure = fit.covariance.get(lines.rate, lines.rate) - 2.0 * gain * row(lines) + of_job;
            own_sum += group.weight * (off + lines.count * unsure);
        }
        own_count += group.weight * count;
    }
    let job = if settings.job_sd == 0.0 { 0.0 } else { job_sum / job_count };
    (own_sum / own_count, job)
}
