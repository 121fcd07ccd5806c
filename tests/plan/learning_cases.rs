//! Published cases of learning from few data.

use std::collections::BTreeMap;

use jiff::civil::date;
use rillcast::compute::{
    learning::{ClassId, JobId, LearnRequest, LearnSettings, Observation, RateEvidence, RateId, learn},
    risk::lognormal::{mean_ratio, quantile_ratio},
};

use crate::cases::case;

/// What `learn` makes of one rate without class or job part, its jobs all as far off as `ratios` say.
fn learned(ratios: &[f64], tau: f64, own_sd: f64) -> RateEvidence {
    let rate = RateId::new("dig").unwrap();
    let observations = ratios.iter().enumerate().map(|(n, ratio)| Observation {
        job: JobId::new(format!("job-{n}")).unwrap(),
        finished_on: date(2026, 1, 1),
        rate: rate.clone(),
        estimated_hours: 8.0,
        actual_hours: 8.0 * ratio,
        excluded: None,
    });
    let request = LearnRequest {
        rates: [(rate.clone(), ClassId::new("dig").unwrap())].into(),
        known: BTreeMap::new(),
        observations: observations.collect(),
        as_of: date(2026, 1, 1),
        settings: LearnSettings {
            tau,
            own_sd,
            job_sd: 0.0,
            class_share: 0.0,
            learn_spread: false,
            ..LearnSettings::default()
        },
    };
    learn(&request).unwrap().rates.remove(&rate).unwrap()
}

/// The same for `n` jobs whose logarithms have a mean `off` the book's.
fn learned_off(off: f64, n: f64, tau: f64, own_sd: f64) -> RateEvidence {
    learned(&vec![off.exp(); n as usize], tau, own_sd)
}

/// A rate is learned as its distance from the prior, so the case's prior mean is added.
#[test]
fn normal_normal_forms() {
    let c = case("bay-normal-bayesrules");
    let (prior, data) = (c.input("prior_mean"), c.input("ybar"));
    let found = learned_off(data - prior, c.input("n"), c.input("prior_sd"), c.input("sigma"));
    c.expect("post_mean", prior + found.mean_log);
    // the book prints the deviation to two digits, 0.097
    assert!((found.mean_log_sd - c.value("expected", "post_sd").as_f64().unwrap()).abs() < 5e-4);

    let c = case("bay-normal-rate");
    let (prior, data) = (c.input("prior_mh_per_cy"), c.input("mean_mh_per_cy"));
    let found = learned_off(data - prior, c.input("n_jobs"), c.input("prior_sd"), c.input("job_sd"));
    c.expect("post_mean", prior + found.mean_log);
    c.expect("post_sd", found.mean_log_sd);
    c.expect("weight_on_data", found.weight_on_data);

    // A prior worth M jobs is one whose variance is that of a job's over M.
    let c = case("bay-M-form");
    let (prior, tau) = (c.input("mu0"), 0.2);
    let found = learned_off(c.input("xbar") - prior, c.input("n"), tau, tau * c.input("M").sqrt());
    c.expect("post_mean", prior + found.mean_log);
    c.expect("w", found.weight_on_data);
}

#[test]
fn log_normal_rate() {
    let c = case("bay-lognormal");
    let ratios = c.inputs("ratios");
    let evidence = learned(&ratios, c.input("t"), c.input("s"));
    c.expect("mean_log", evidence.data_mean_log.unwrap());
    c.expect("post_mean_log", evidence.mean_log);
    c.expect("post_sd_log", evidence.mean_log_sd);
    c.expect("median_multiplier", evidence.median_ratio);
    c.expect("predictive_mean_multiplier", evidence.mean_ratio);
    c.expect("p80_multiplier", evidence.next_job.p80);
    let sd = (c.input("s").powi(2) + evidence.mean_log_sd.powi(2)).sqrt();
    c.expect("predictive_mean_multiplier", mean_ratio(evidence.mean_log, sd));
    c.expect("p80_multiplier", quantile_ratio(evidence.mean_log, sd, 0.8).unwrap());
}

/// The variance between rates is that of the prior, the variance within a rate that of its jobs.
#[test]
fn credibility() {
    let c = case("bay-buhlmann");
    let (class, own) = (c.input("class_mean"), c.input("own_mean"));
    let (between, within) = (c.input("between_var").sqrt(), c.input("within_var").sqrt());
    let found = learned_off(own - class, c.input("n"), between, within);
    c.expect("Z", found.weight_on_data);
    c.expect("estimate", class + found.mean_log);
}
