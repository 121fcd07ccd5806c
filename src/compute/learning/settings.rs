//! How strongly the book holds, how fast old jobs fade, when data is enough.

/// Settings of learning. All deviations are of the natural logarithm of `actual / estimated`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LearnSettings {
    /// How far a rate of the book may be off before any job is seen: deviation of its true mean. Of one that was learned before
    /// [`Known`](super::Known) says it.
    pub tau: f64,
    /// Share of `tau` squared that the rates of a class have in common, 0 to 0.95: how much one task teaches
    /// its neighbours.
    pub class_share: f64,
    /// Deviation of one line about its rate, apart from what its whole job shares.
    pub own_sd: f64,
    /// Deviation that all lines of a job share.
    pub job_sd: f64,
    /// Whether the two deviations are learned from the jobs as well, or stay as given.
    pub learn_spread: bool,
    /// How many lines the given `own_sd` is worth when it is learned.
    pub own_sd_worth_lines: f64,
    /// How many jobs the given `job_sd` is worth when it is learned.
    pub job_sd_worth_jobs: f64,
    /// Days after which a job counts half; none: jobs do not fade.
    pub half_life_days: Option<f64>,
    /// Score above which a line is flagged.
    pub outlier_score: f64,
    /// Lines of a rate from which the score is taken against their own median.
    pub outlier_least_lines: usize,
    /// Lines from which a rate has enough data, whatever their age: that old ones say less, the deviation tells.
    pub enough_lines: f64,
    /// Deviation of the posterior up to which a rate has enough data.
    pub enough_sd: f64,
    /// Most rates in one run.
    pub most_rates: usize,
    /// Most observations in one run.
    pub most_observations: usize,
}

impl Default for LearnSettings {
    /// A line spreads 0.25 in all (0.20 of its own, 0.15 of its job), a rate of the book 0.20, half of its
    /// variance common to the class; a job counts half after two years; enough is five lines and a deviation
    /// of 0.12; flags from a score of 3.5. Common practice, no source, but for the score (Iglewicz and
    /// Hoaglin 1993, from memory).
    fn default() -> Self {
        LearnSettings {
            tau: 0.20,
            class_share: 0.5,
            own_sd: 0.20,
            job_sd: 0.15,
            learn_spread: true,
            own_sd_worth_lines: 8.0,
            job_sd_worth_jobs: 4.0,
            half_life_days: Some(730.0),
            outlier_score: 3.5,
            outlier_least_lines: 5,
            enough_lines: 5.0,
            enough_sd: 0.12,
            most_rates: 200,
            most_observations: 50_000,
        }
    }
}

impl LearnSettings {
    /// What of the variance of a rate its class has in common, and what is its own.
    pub(crate) fn shares(&self) -> (f64, f64) {
        let variance = self.tau * self.tau;
        (variance * self.class_share, variance * (1.0 - self.class_share))
    }

    /// Each setting that is out of its range.
    pub(crate) fn faults(&self) -> Vec<OutOfRange> {
        let checks = [
            (Setting::Tau, self.tau, 1e-3, 2.0, "0.001 to 2"),
            (Setting::ClassShare, self.class_share, 0.0, 0.95, "0 to 0.95"),
            (Setting::OwnSd, self.own_sd, 1e-3, 2.0, "0.001 to 2"),
            (Setting::JobSd, self.job_sd, 0.0, 2.0, "0 to 2"),
            (Setting::OwnSdWorthLines, self.own_sd_worth_lines, 1.0, 1e6, "1 to 1,000,000"),
            (Setting::JobSdWorthJobs, self.job_sd_worth_jobs, 1.0, 1e6, "1 to 1,000,000"),
            (Setting::HalfLifeDays, self.half_life_days.unwrap_or(1.0), 1.0, 1e6, "1 to 1,000,000 or none"),
            (Setting::OutlierScore, self.outlier_score, 1.0, 100.0, "1 to 100"),
            (Setting::EnoughLines, self.enough_lines, 0.0, 1e6, "0 to 1,000,000"),
            (Setting::EnoughSd, self.enough_sd, 0.0, 2.0, "0 to 2"),
        ];
        let out = |(setting, value, least, most, allowed): (_, f64, f64, f64, _)| {
            let out = OutOfRange { setting, value, least, most, allowed };
            (!(least..=most).contains(&value)).then_some(out)
        };
        checks.into_iter().filter_map(out).collect()
    }
}

/// A setting that has a range: the member of [`LearnSettings`] of this name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Setting {
    /// [`LearnSettings::tau`].
    Tau,
    /// [`LearnSettings::class_share`].
    ClassShare,
    /// [`LearnSettings::own_sd`].
    OwnSd,
    /// [`LearnSettings::job_sd`].
    JobSd,
    /// [`LearnSettings::own_sd_worth_lines`].
    OwnSdWorthLines,
    /// [`LearnSettings::job_sd_worth_jobs`].
    JobSdWorthJobs,
    /// [`LearnSettings::half_life_days`].
    HalfLifeDays,
    /// [`LearnSettings::outlier_score`].
    OutlierScore,
    /// [`LearnSettings::enough_lines`].
    EnoughLines,
    /// [`LearnSettings::enough_sd`].
    EnoughSd,
}

impl std::fmt::Display for Setting {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Setting::Tau => "tau",
            Setting::ClassShare => "class_share",
            Setting::OwnSd => "own_sd",
            Setting::JobSd => "job_sd",
            Setting::OwnSdWorthLines => "own_sd_worth_lines",
            Setting::JobSdWorthJobs => "job_sd_worth_jobs",
            Setting::HalfLifeDays => "half_life_days",
            Setting::OutlierScore => "outlier_score",
            Setting::EnoughLines => "enough_lines",
            Setting::EnoughSd => "enough_sd",
        })
    }
}

/// A setting out of its range.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct OutOfRange {
    /// Which setting.
    pub(crate) setting: Setting,
    /// What it is.
    pub(crate) value: f64,
    /// The least that is allowed.
    pub(crate) least: f64,
    /// The most that is allowed.
    pub(crate) most: f64,
    /// Both in words.
    pub(crate) allowed: &'static str,
}

/// Weight of a job by its age.
///
/// # Formula
/// `w = 0.5 ^ (age / half-life)`
/// # Units
/// days; result a share of one job
/// # Valid for
/// ages of 0 days or more; younger counts as 0
/// # Source
/// exponential forgetting (common practice, no source)
/// # Example
/// ```
/// use rillcast::compute::learning::settings::age_weight;
/// assert_eq!(age_weight(730, Some(730.0)), 0.5);
/// assert_eq!(age_weight(5000, None), 1.0);
/// ```
pub fn age_weight(age_days: i64, half_life_days: Option<f64>) -> f64 {
    half_life_days.map_or(1.0, |half| libm::pow(0.5, age_days.max(0) as f64 / half))
}
