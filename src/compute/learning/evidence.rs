//! What is known of one rate.

use super::{
    mixed::{Fit, Job, Prior},
    observation::{ClassId, Exclusion, JobId, RateId},
    rates::LearnRequest,
    settings::LearnSettings,
};
use crate::compute::risk::{
    Spread,
    lognormal::{mean_ratio, quantile_ratio},
};
use crate::units::show::counted;

/// What is known of one rate. Ratios are of actual to estimated hours: 1.10 means ten per cent more than the
/// book.
#[derive(Debug, Clone, PartialEq)]
pub struct RateEvidence {
    /// Its class.
    pub class: ClassId,
    /// Lines that counted.
    pub lines: usize,
    /// The same, faded by age.
    pub faded_lines: f64,
    /// Lines that are in the rate already, of which none counted anew.
    pub lines_before: usize,
    /// The deviation to which a rate that was learned before was known ahead of the lines that counted; faded by age.
    pub sd_before: Option<f64>,
    /// Mean of their logarithms, faded; none without lines.
    pub data_mean_log: Option<f64>,
    /// Mean, over the same lines, of what their jobs took as a whole; 0 where the model has no such part.
    pub job_mean_log: f64,
    /// What the rate would be without these lines of its own: what its class learned, 0 where classes share nothing. Of a rate
    /// that was learned before, where its median was left: what its class told is in it.
    pub class_mean_log: f64,
    /// Weight of these lines against that, so that `mean_log = w (data - job) + (1 - w) class`.
    pub weight_on_lines: f64,
    /// Posterior mean of the logarithm.
    pub mean_log: f64,
    /// Its deviation: how well the rate is known.
    pub mean_log_sd: f64,
    /// How much of the prior's variance the data removed, 0 to 1.
    pub weight_on_data: f64,
    /// Typical ratio of the next job: the median.
    pub median_ratio: f64,
    /// Mean ratio of the next job: for cost.
    pub mean_ratio: f64,
    /// Percentiles of the next job's ratio: its rate's, its job's and its own spread together.
    pub next_job: RatioPercentiles,
    /// The median ratio if every flagged line were left out; none without flags.
    pub median_ratio_without_flagged: Option<f64>,
    /// Whether there is enough data to act on.
    pub enough: Enough,
    /// Lines that stand far off and still count.
    pub flagged: Vec<Flag>,
    /// Lines that a person left out.
    pub left_out: Vec<LeftOut>,
    own_sd: f64,
}

/// Percentiles of a ratio.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RatioPercentiles {
    /// Tenth.
    pub p10: f64,
    /// Median.
    pub p50: f64,
    /// Eightieth.
    pub p80: f64,
    /// Ninetieth.
    pub p90: f64,
}

/// Whether there is enough data, and why or why not.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Enough {
    /// Whether.
    pub yes: bool,
    /// Why, in words.
    pub why: String,
}

/// A line that stands far off.
#[derive(Debug, Clone, PartialEq)]
pub struct Flag {
    /// Which job.
    pub job: JobId,
    /// Actual over estimated.
    pub ratio: f64,
    /// How many deviations off.
    pub score: f64,
}

/// A line that a person left out.
#[derive(Debug, Clone, PartialEq)]
pub struct LeftOut {
    /// Which job.
    pub job: JobId,
    /// Actual over estimated.
    pub ratio: f64,
    /// Who and why.
    pub exclusion: Exclusion,
}

/// The fit from which the evidence of each rate is drawn.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Fitted<'a> {
    pub(crate) jobs: &'a [Job],
    pub(crate) prior: Prior<'a>,
    pub(crate) fit: &'a Fit,
    /// The fit without the flagged lines, when there are any.
    pub(crate) without_flagged: Option<&'a Fit>,
    /// Scores of the flagged observations.
    pub(crate) flags: &'a [Option<f64>],
}

pub(crate) fn evidence(
    request: &LearnRequest,
    rate: &RateId,
    class: &ClassId,
    at: usize,
    found: &Fitted<'_>,
) -> RateEvidence {
    let Fitted { jobs, prior, fit: fitted, without_flagged: without, flags } = *found;
    let own =
        || jobs.iter().flat_map(|j| j.rates.iter().map(|l| (j.weight, l))).filter(|(_, l)| l.rate == at);
    let lines: f64 = own().map(|(_, l)| l.count).sum();
    let faded_lines: f64 = own().map(|(w, l)| w * l.count).sum();
    let sum: f64 = own().map(|(w, l)| w * l.sum).sum();
    let mean_of = |at: usize| fitted.mean.get(at).copied().unwrap_or(0.0);
    let mean_log = mean_of(at);
    let of_jobs: f64 = jobs
        .iter()
        .flat_map(|j| j.rates.iter().filter(|l| l.rate == at).map(|l| j.weight * l.count * fitted.of_job(j)))
        .sum();
    let (variance_of_class, variance_of_task) = request.settings.shares();
    let start = prior.start(at);
    let learns_with = |i: usize, c: &ClassId| c == class && prior.start(i).is_none();
    let same_class =
        || request.rates.values().enumerate().filter(|(i, c)| learns_with(*i, c)).map(|(i, _)| i);
    let members = same_class().count() as f64;
    let sum_of_class: f64 = same_class().map(mean_of).sum();
    let of_class = variance_of_class * sum_of_class / (variance_of_task + members * variance_of_class);
    let class_mean_log = start.map_or(of_class, |s| s.mean);
    let variance_before = start.map_or(request.settings.tau * request.settings.tau, |s| s.variance);
    let lines_before = request.known.get(rate).map_or(0, |known| known.lines);
    let precision = faded_lines / fitted.own_variance;
    let variance = fitted.covariance.get(at, at);
    let sd = (variance + fitted.own_variance + fitted.job_variance).sqrt();
    let percentile = |p| quantile_ratio(mean_log, sd, p).unwrap_or(1.0);
    let of_rate = || request.observations.iter().zip(flags).filter(|(o, _)| o.rate == *rate);
    let flagged: Vec<Flag> = of_rate()
        .filter_map(|(o, flag)| flag.map(|score| Flag { job: o.job.clone(), ratio: o.ratio(), score }))
        .collect();
    let left_out = of_rate()
        .filter_map(|(o, _)| {
            let exclusion = o.excluded.clone()?;
            Some(LeftOut { job: o.job.clone(), ratio: o.ratio(), exclusion })
        })
        .collect();
    RateEvidence {
        class: class.clone(),
        lines: lines as usize,
        faded_lines,
        lines_before,
        sd_before: start.map(|s| s.variance.sqrt()),
        data_mean_log: (faded_lines > 0.0).then(|| sum / faded_lines),
        job_mean_log: if faded_lines > 0.0 { of_jobs / faded_lines } else { 0.0 },
        class_mean_log,
        weight_on_lines: precision / (precision + 1.0 / start.map_or(variance_of_task, |s| s.variance)),
        mean_log,
        mean_log_sd: variance.sqrt(),
        weight_on_data: 1.0 - variance / variance_before,
        median_ratio: libm::exp(mean_log),
        mean_ratio: mean_ratio(mean_log, sd),
        next_job: RatioPercentiles {
            p10: percentile(0.1),
            p50: percentile(0.5),
            p80: percentile(0.8),
            p90: percentile(0.9),
        },
        median_ratio_without_flagged: without
            .filter(|_| !flagged.is_empty())
            .and_then(|f| f.mean.get(at))
            .map(|mean| libm::exp(*mean)),
        enough: enough(&request.settings, lines, lines_before, variance.sqrt()),
        flagged,
        left_out,
        own_sd: fitted.own_variance.sqrt(),
    }
}

/// Old lines count like others, also those that are in the rate already: a rate that was well known by them stays so. That they say
/// less, the deviation tells.
fn enough(settings: &LearnSettings, lines: f64, before: usize, sd: f64) -> Enough {
    let yes = lines + before as f64 >= settings.enough_lines && sd <= settings.enough_sd;
    let and_before = match before {
        0 => String::new(),
        n => format!(" beside {n} in the rate already"),
    };
    let why = format!(
        "{} counted{and_before} (from {} on is enough), rate known to {:.3} (up to {:.3} is enough)",
        counted(lines as i64, "line"),
        settings.enough_lines,
        sd,
        settings.enough_sd
    );
    Enough { yes, why }
}

impl RateEvidence {
    /// The spread of a task estimated with this rate, once `applied_ratio` has been put into the book (1
    /// while nothing has). The job's part is [`Learned::job_sd`](super::Learned::job_sd).
    pub fn spread(&self, rate: &RateId, applied_ratio: f64) -> Spread {
        let applied = if applied_ratio > 0.0 { libm::log(applied_ratio) } else { 0.0 };
        Spread {
            median_log: self.mean_log - applied,
            own_sd: self.own_sd,
            rate: Some((rate.to_string(), self.mean_log_sd)),
        }
    }
}
