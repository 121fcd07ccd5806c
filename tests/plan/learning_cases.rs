//! The textbook forms of learning.

use jiff::civil::date;
use rillcast::compute::{
    learning::{
        ClassId, JobId, LearnRequest, LearnSettings, Observation, RateId, learn,
        posterior::{GammaRate, buhlmann, normal_normal, pseudo_jobs},
    },
    risk::lognormal::{mean_ratio, quantile_ratio},
};

use crate::cases::case;

#[test]
fn normal_normal_forms() {
    let c = case("bay-normal-bayesrules");
    let p = normal_normal(
        c.input("prior_mean"),
        c.input("prior_sd"),
        c.input("n"),
        c.input("ybar"),
        c.input("sigma"),
    )
    .unwrap();
    c.expect("post_mean", p.mean);
    // the book prints the deviation to two digits, 0.097
    assert!((p.sd - c.value("expected", "post_sd").as_f64().unwrap()).abs() < 5e-4);

    let c = case("bay-normal-rate");
    let p = normal_normal(
        c.input("prior_mh_per_cy"),
        c.input("prior_sd"),
        c.input("n_jobs"),
        c.input("mean_mh_per_cy"),
        c.input("job_sd"),
    )
    .unwrap();
    c.expect("post_mean", p.mean);
    c.expect("post_sd", p.sd);
    c.expect("weight_on_data", p.weight_on_data);

    let c = case("bay-M-form");
    let (mean, weight) = pseudo_jobs(c.input("M"), c.input("mu0"), c.input("n"), c.input("xbar")).unwrap();
    c.expect("post_mean", mean);
    c.expect("w", weight);
}

#[test]
fn gamma_forms() {
    let c = case("bay-gp-bayesrules");
    let y = c.inputs("y");
    let prior = GammaRate::new(c.input("s"), c.input("r")).unwrap();
    let post = prior.update(y.iter().sum(), y.len() as f64).unwrap();
    c.expect("post_s", post.shape);
    c.expect("post_r", post.exposure);
    c.expect("post_mean", post.mean());

    // prior 1/theta: shape and exposure of 0, so the first count makes the first proper posterior
    let c = case("bay-gp-20-24-23");
    let y = c.inputs("y");
    let list = |name: &str| c.value("expected", name).as_array().unwrap().clone();
    let mut rate = GammaRate::new(y[0], 1.0).unwrap();
    for (i, count) in y.iter().enumerate() {
        if i > 0 {
            rate = rate.update(*count, 1.0).unwrap();
        }
        c.near("shape", list("shapes")[i].as_f64().unwrap(), rate.shape);
        c.near("rate", list("rates")[i].as_f64().unwrap(), rate.exposure);
        c.near("mean", list("means")[i].as_f64().unwrap(), rate.mean());
    }

    let c = case("bay-gamma-exposure");
    let prior = GammaRate::new(c.input("a_cy"), c.input("b_hr")).unwrap();
    let post = prior.update(c.input("x_cy"), c.input("T_hr")).unwrap();
    c.expect("post_a", post.shape);
    c.expect("post_b", post.exposure);
    c.expect("rate_cy_per_mh", post.mean());
    c.expect("sd", post.sd());
}

#[test]
fn log_normal_rate() {
    let c = case("bay-lognormal");
    let ratios = c.inputs("ratios");
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
        observations: observations.collect(),
        as_of: date(2026, 1, 1),
        settings: LearnSettings {
            tau: c.input("t"),
            own_sd: c.input("s"),
            job_sd: 0.0,
            class_share: 0.0,
            learn_spread: false,
            ..LearnSettings::default()
        },
    };
    let learned = learn(&request).unwrap();
    let evidence = &learned.rates[&rate];
    c.expect("mean_log", evidence.data_mean_log.unwrap());
    c.expect("post_mean_log", evidence.mean_log);
    c.expect("post_sd_log", evidence.mean_log_sd);
    c.expect("median_multiplier", evidence.median_ratio);
    c.expect("predictive_mean_multiplier", evidence.mean_ratio);
    c.expect("p80_multiplier", evidence.next_job.p80);
    let sd = (c.input("s").powi(2) + evidence.mean_log_sd.powi(2)).sqrt();
    c.expect("predictive_mean_multiplier", mean_ratio(evidence.mean_log, sd));
    c.expect("p80_multiplier", quantile_ratio(evidence.mean_log, sd, 0.8).unwrap());
    let logs: Vec<f64> = ratios.iter().map(|r| r.ln()).collect();
    let mean = logs.iter().sum::<f64>() / 4.0;
    let sample_sd = (logs.iter().map(|y| (y - mean).powi(2)).sum::<f64>() / 3.0).sqrt();
    c.expect("sample_sd_log", sample_sd);
}

#[test]
fn credibility() {
    let c = case("bay-buhlmann");
    let found = buhlmann(
        c.input("n"),
        c.input("within_var"),
        c.input("between_var"),
        c.input("class_mean"),
        c.input("own_mean"),
    )
    .unwrap();
    c.expect("Z", found.z);
    c.expect("estimate", found.estimate);
    let same =
        normal_normal(0.0, c.input("between_var").sqrt(), c.input("n"), c.input("own_mean"), 0.25).unwrap();
    assert!((same.mean - found.estimate).abs() < 1e-12);
}
