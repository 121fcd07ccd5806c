//! Learning on simulated jobs whose truth is known.

use std::collections::BTreeMap;

use jiff::{ToSpan, civil::date};
use rillcast::compute::{
    learning::{
        propose::{Quote, propose},
        *,
    },
    plan::TaskId,
    risk::{RiskRequest, RiskTask, draws::NormalDraws, simulate},
};

/// Mean and deviation of a normal mean about 0 with deviation `tau`, after `n` data of mean `mean` and deviation `s`: precisions add.
pub fn normal_normal(tau: f64, n: f64, mean: f64, s: f64) -> (f64, f64) {
    let (of_data, of_prior) = (n / (s * s), 1.0 / (tau * tau));
    (of_data * mean / (of_data + of_prior), 1.0 / (of_data + of_prior).sqrt())
}

pub fn rate(id: &str) -> RateId {
    RateId::new(id).unwrap()
}

const RATES: [(&str, &str, f64); 6] = [
    ("saw", "break", 6.0),
    ("break-out", "break", 10.0),
    ("dig-hand", "dig", 16.0),
    ("dig-line", "dig", 12.0),
    ("set", "set", 20.0),
    ("pour", "set", 9.0),
];

fn rates() -> BTreeMap<RateId, ClassId> {
    RATES.iter().map(|(r, c, _)| (rate(r), ClassId::new(*c).unwrap())).collect()
}

/// One finished job: each rate's true logarithm, plus the job's and the line's own draws.
fn job(draws: &mut NormalDraws, number: usize, truth: &[f64], job_sd: f64, own_sd: f64) -> Vec<Observation> {
    let shared = job_sd * draws.normal();
    let finished_on = date(2025, 1, 1).checked_add((20 * number as i64).days()).unwrap();
    RATES
        .iter()
        .zip(truth)
        .map(|((name, _, hours), truth)| Observation {
            job: JobId::new(format!("job-{number}")).unwrap(),
            finished_on,
            rate: rate(name),
            estimated_hours: *hours,
            actual_hours: hours * (truth + shared + own_sd * draws.normal()).exp(),
            excluded: None,
        })
        .collect()
}

/// One hour by the book that took `ratio` of it, on the `n`th job of its rate.
pub fn observation(n: usize, name: &str, ratio: f64) -> Observation {
    Observation {
        job: JobId::new(format!("job-{name}-{n}")).unwrap(),
        finished_on: date(2026, 1, 1),
        rate: rate(name),
        estimated_hours: 1.0,
        actual_hours: ratio,
        excluded: None,
    }
}

pub fn request(observations: Vec<Observation>, settings: LearnSettings) -> LearnRequest {
    LearnRequest { rates: rates(), known: BTreeMap::new(), observations, as_of: date(2026, 6, 1), settings }
}

pub fn no_fading() -> LearnSettings {
    LearnSettings { half_life_days: None, ..LearnSettings::default() }
}

/// Ten jobs in which digging took 40 % more than the book, sawing 25 % less and setting what the book says.
/// Over 200 repetitions each rate moves the right way, and on average by what the model says it should: its
/// covariance times the truth.
#[test]
fn ten_jobs_move_the_rates_the_right_way_by_the_right_amount() {
    let true_ratios = [0.75, 0.75, 1.4, 1.4, 1.0, 1.0];
    let truth: Vec<f64> = true_ratios.iter().map(|r: &f64| r.ln()).collect();
    let mut draws = NormalDraws::new(5);
    let settings = LearnSettings { learn_spread: false, class_share: 0.0, ..no_fading() };
    let repetitions = 200;
    let mut sums = [0.0; 6];
    let mut right_way = 0;
    for _ in 0..repetitions {
        let jobs: Vec<Observation> = (0..10).flat_map(|n| job(&mut draws, n, &truth, 0.15, 0.20)).collect();
        let learned = learn(&request(jobs, settings)).unwrap();
        for (i, (name, ..)) in RATES.iter().enumerate() {
            sums[i] += learned.rates[&rate(name)].mean_log / f64::from(repetitions);
        }
        let median = |name: &str| learned.rates[&rate(name)].median_ratio;
        right_way += i32::from(
            median("dig-hand") > 1.15 && median("saw") < 0.92 && (median("pour") - 1.0).abs() < 0.2,
        );
    }
    assert!(right_way >= 195, "{right_way} of {repetitions}");
    // with the same jobs seen by every rate, rate i and all rates shrink alike: solve the 6 x 6 model by hand
    // for the two directions that matter, the common mean and the deviations from it
    let (n, own, job, tau) = (10.0, 0.04, 0.0225, 0.04);
    let mean_truth = truth.iter().sum::<f64>() / 6.0;
    let deviations = n / own / (n / own + 1.0 / tau);
    let common_variance = own + 6.0 * job;
    let common = n / common_variance / (n / common_variance + 1.0 / tau);
    for (found, truth) in sums.iter().zip(&truth) {
        let expected = deviations * (truth - mean_truth) + common * mean_truth;
        assert!((found - expected).abs() < 0.015, "{found}, expected {expected}");
    }
}

/// The spread is learned too: from a prior that is wrong by half towards the truth.
#[test]
fn the_spread_is_learned() {
    let mut draws = NormalDraws::new(9);
    let truth = [0.0; 6];
    let jobs: Vec<Observation> = (0..60).flat_map(|n| job(&mut draws, n % 25, &truth, 0.0, 0.10)).collect();
    let learned = learn(&request(jobs, no_fading())).unwrap();
    assert!((learned.own_sd - 0.10).abs() < 0.02, "{}", learned.own_sd);
    let mut observations = Vec::new();
    for n in 0..25 {
        observations.extend(job(&mut draws, n, &truth, 0.3, 0.1));
    }
    let learned = learn(&request(observations, no_fading())).unwrap();
    assert!((learned.own_sd - 0.1).abs() < 0.03, "{}", learned.own_sd);
    assert!((learned.job_sd - 0.3).abs() < 0.1, "{}", learned.job_sd);
}

/// One rate that the book knows for sure, 200 jobs of 4 lines: the maximum of the likelihood has a closed form, the analysis of
/// variance about a known mean (Searle and others 1992, from memory): `own^2 = W`, `job^2 = (B - W) / 4`.
#[test]
fn the_spread_is_that_of_the_analysis_of_variance() {
    let mut draws = NormalDraws::new(77);
    let (jobs, lines) = (200, 4);
    let (mut between, mut within) = (0.0, 0.0);
    let mut seen = Vec::new();
    for n in 0..jobs {
        let shared = 0.2 * draws.normal();
        let y: Vec<f64> = (0..lines).map(|_| shared + 0.3 * draws.normal()).collect();
        let mean = y.iter().sum::<f64>() / f64::from(lines);
        between += f64::from(lines) * mean * mean / f64::from(jobs);
        within += y.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / f64::from(jobs * (lines - 1));
        seen.extend(y.iter().map(|v| Observation {
            job: JobId::new(format!("job-{n}")).unwrap(),
            finished_on: date(2026, 1, 1),
            rate: rate("pour"),
            estimated_hours: 1.0,
            actual_hours: v.exp(),
            excluded: None,
        }));
    }
    let settings =
        LearnSettings { tau: 0.001, own_sd_worth_lines: 1.0, job_sd_worth_jobs: 1.0, ..no_fading() };
    let learned = learn(&request(seen, settings)).unwrap();
    let (own, job) = (within.sqrt(), ((between - within) / f64::from(lines)).sqrt());
    assert!((learned.own_sd / own - 1.0).abs() < 0.005, "{} {own}", learned.own_sd);
    assert!((learned.job_sd / job - 1.0).abs() < 0.01, "{} {job}", learned.job_sd);
    let evidence = &learned.rates[&rate("pour")];
    let sd = (evidence.mean_log_sd.powi(2) + learned.own_sd.powi(2) + learned.job_sd.powi(2)).sqrt();
    let p80 = (evidence.mean_log + 0.841_621_233_572_914 * sd).exp();
    assert!((evidence.next_job.p80 - p80).abs() < 1e-9, "the next job has its own and its job's spread");
}

/// After ten jobs, the eleventh's whole hours lie under the estimate's P80 in about eight cases of ten. True
/// rates are drawn from what the book is taken to know; the spread of lines and jobs is not what the settings
/// say, but must be learned. With 400 repetitions the share has a standard error of 2 points.
#[test]
fn p80_covers_eight_in_ten_of_the_jobs_held_back() {
    let mut draws = NormalDraws::new(2026);
    let repetitions = 400;
    let mut covered = [0, 0];
    for repetition in 0..repetitions {
        let class = [draws.normal(), draws.normal(), draws.normal()];
        let half = 0.20 * 0.5_f64.sqrt();
        let truth: Vec<f64> = (0..6).map(|i| half * class[i / 2] + half * draws.normal()).collect();
        let (job_sd, own_sd) = (0.12, 0.26);
        let seen: Vec<Observation> =
            (0..10).flat_map(|n| job(&mut draws, n, &truth, job_sd, own_sd)).collect();
        let held_back = job(&mut draws, 10, &truth, job_sd, own_sd);
        let learned = learn(&request(seen, no_fading())).unwrap();
        let book = RATES.iter().map(|(name, _, hours)| (rate(name), *hours)).collect();
        let proposals = propose(&book, &learned, Quote::Median).unwrap();
        let tasks = RATES
            .iter()
            .map(|(name, ..)| {
                let (id, proposal) = (rate(name), &proposals[&rate(name)]);
                RiskTask {
                    id: TaskId::new(*name).unwrap(),
                    crew_hours: proposal.new,
                    spread: learned.rates[&id].spread(&id, proposal.ratio),
                    cost_per_crew_hour: 1.0,
                }
            })
            .collect();
        let risk = simulate(&RiskRequest {
            tasks,
            job_sd: learned.job_sd,
            fixed_cost: 0.0,
            plan: None,
            draws: 1_000,
            seed: repetition,
            confidence: 0.8,
        })
        .unwrap();
        let actual: f64 = held_back.iter().map(|o| o.actual_hours).sum();
        covered[0] += i32::from(actual <= risk.hours.p80);
        let line = &held_back[2];
        let p80 = learned.rates[&line.rate].next_job.p80 * line.estimated_hours;
        covered[1] += i32::from(line.actual_hours <= p80);
    }
    println!("P80 covered {covered:?} of {repetitions}");
    for share in covered.map(|n| f64::from(n) / repetitions as f64) {
        assert!((share - 0.8).abs() < 0.06, "P80 covered {share}");
    }
}

/// One class of two rates by hand: the closed form of the two-level normal model.
#[test]
fn a_class_teaches_its_rates() {
    let settings = LearnSettings { learn_spread: false, job_sd: 0.0, own_sd: 0.25, ..no_fading() };
    let seen = (0..6).map(|n| observation(n, "dig-hand", 1.4)).collect();
    let learned = learn(&request(seen, settings)).unwrap();
    let y = 1.4_f64.ln();
    // seen rate: prior variance 0.04; neighbour: covariance 0.02 with it
    let data_variance = 0.0625 / 6.0;
    let own = normal_normal(0.2, 6.0, y, 0.25);
    let close = |a: f64, b: f64| assert!((a - b).abs() < 1e-12, "{a} {b}");
    close(learned.rates[&rate("dig-hand")].mean_log, own.0);
    close(learned.rates[&rate("dig-hand")].mean_log_sd, own.1);
    let neighbour = &learned.rates[&rate("dig-line")];
    close(neighbour.mean_log, 0.02 / (0.04 + data_variance) * y);
    close(neighbour.mean_log_sd.powi(2), 0.04 - 0.02 * 0.02 / (0.04 + data_variance));
    assert_eq!((neighbour.lines, neighbour.data_mean_log, neighbour.enough.yes), (0, None, false));
    close(learned.rates[&rate("pour")].mean_log, 0.0);
}

#[test]
fn old_jobs_fade() {
    let settings = LearnSettings {
        learn_spread: false,
        class_share: 0.0,
        half_life_days: Some(365.0),
        ..LearnSettings::default()
    };
    let old = Observation {
        job: JobId::new("old").unwrap(),
        finished_on: date(2025, 6, 1),
        rate: rate("pour"),
        estimated_hours: 1.0,
        actual_hours: 2.0,
        excluded: None,
    };
    let learned = learn(&request(vec![old], settings)).unwrap();
    let line_sd = (0.04_f64 + 0.0225).sqrt();
    let expected = normal_normal(0.2, 0.5, 2.0_f64.ln(), line_sd);
    let evidence = &learned.rates[&rate("pour")];
    assert!((evidence.mean_log - expected.0).abs() < 1e-12);
    assert!((evidence.faded_lines - 0.5).abs() < 1e-12);
}

/// A job is as old as its last finish: of two lines, finished today and a half-life ago, both count in full.
#[test]
fn a_job_is_as_old_as_its_last_finish() {
    let settings = LearnSettings { half_life_days: Some(365.0), ..LearnSettings::default() };
    let line = |finished_on| Observation {
        job: JobId::new("long").unwrap(),
        finished_on,
        rate: rate("pour"),
        estimated_hours: 1.0,
        actual_hours: 2.0,
        excluded: None,
    };
    let (old, new) = (line(date(2025, 6, 1)), line(date(2026, 6, 1)));
    for seen in [vec![old.clone(), new.clone()], vec![new, old]] {
        let learned = learn(&request(seen, settings)).unwrap();
        assert!((learned.rates[&rate("pour")].faded_lines - 2.0).abs() < 1e-12);
    }
}

/// Five jobs of last month are five jobs. Five that are six years old are as many, but the rate is no longer known well by them.
#[test]
fn five_recent_jobs_are_enough_and_five_old_ones_are_not() {
    let enough = |as_of| {
        let seen = (0..5).map(|n| Observation {
            job: JobId::new(format!("job-{n}")).unwrap(),
            finished_on: date(2026, 5, 1),
            rate: rate("pour"),
            estimated_hours: 1.0,
            actual_hours: 1.1,
            excluded: None,
        });
        let seen = LearnRequest { as_of, ..request(seen.collect(), LearnSettings::default()) };
        learn(&seen).unwrap().rates[&rate("pour")].enough.clone()
    };
    let recent = enough(date(2026, 6, 1));
    assert!(recent.yes, "{}", recent.why);
    assert!(
        recent.why.starts_with("5 lines counted (from 5 on is enough), rate known to 0."),
        "{}",
        recent.why
    );
    let old = enough(date(2032, 5, 1));
    assert!(!old.yes && old.why.starts_with("5 lines counted (from 5 on is enough)"), "{}", old.why);
}

#[test]
fn outliers_are_flagged_and_stay_until_a_person_says_so() {
    let mut draws = NormalDraws::new(1);
    let mut seen: Vec<Observation> = (0..10).flat_map(|n| job(&mut draws, n, &[0.0; 6], 0.05, 0.1)).collect();
    let entry = seen.iter().position(|o| o.rate == rate("set")).unwrap();
    seen[entry].actual_hours = 200.0; // ten times the estimate: a slip of the pen
    let with = learn(&request(seen.clone(), no_fading())).unwrap();
    let evidence = &with.rates[&rate("set")];
    assert_eq!(evidence.flagged.len(), 1);
    assert_eq!(evidence.flagged[0].job.as_str(), "job-0");
    assert_eq!(evidence.lines, 10, "it still counts");
    let without = evidence.median_ratio_without_flagged.unwrap();
    assert!(without < evidence.median_ratio);

    seen[entry].excluded = Some(Exclusion { by: "foreman".into(), reason: "hours of two jobs".into() });
    let learned = learn(&request(seen.clone(), no_fading())).unwrap();
    let evidence = &learned.rates[&rate("set")];
    assert_eq!((evidence.lines, evidence.flagged.len(), evidence.left_out.len()), (9, 0, 1));
    assert!((evidence.median_ratio - without).abs() < 1e-12);

    seen[entry].excluded = Some(Exclusion { by: " ".into(), reason: "".into() });
    assert!(matches!(
        learn(&request(seen, no_fading())).unwrap_err()[0],
        LearnError::UnexplainedExclusion { .. }
    ));
}

#[test]
fn the_order_of_reports_changes_nothing() {
    let mut draws = NormalDraws::new(3);
    let seen: Vec<Observation> = (0..8).flat_map(|n| job(&mut draws, n, &[0.1; 6], 0.1, 0.2)).collect();
    let mut reversed = seen.clone();
    reversed.reverse();
    let (one, two) =
        (learn(&request(seen, no_fading())).unwrap(), learn(&request(reversed, no_fading())).unwrap());
    for (name, evidence) in &one.rates {
        assert!((evidence.mean_log - two.rates[name].mean_log).abs() < 1e-12);
    }
}

/// The evidence in words: the lines without what their jobs took as a whole, and what the class learned, weighed as it says.
#[test]
fn the_evidence_of_a_proposal_can_be_followed() {
    let mut draws = NormalDraws::new(9);
    let truth: Vec<f64> = [0.75_f64, 0.75, 1.4, 1.4, 1.0, 1.0].iter().map(|r| r.ln() + 0.3).collect();
    let jobs: Vec<Observation> = (0..10).flat_map(|n| job(&mut draws, n, &truth, 0.15, 0.20)).collect();
    let learned = learn(&request(jobs, no_fading())).unwrap();
    let book: BTreeMap<RateId, f64> = RATES.iter().map(|(r, ..)| (rate(r), 1.5)).collect();
    let proposals = propose(&book, &learned, Quote::Median).unwrap();
    let mut of_jobs = 0.0_f64;
    for (id, proposal) in &proposals {
        let text = &proposal.evidence;
        let number = |before: &str| -> f64 {
            let rest = text.split_once(before).unwrap_or_else(|| panic!("{before} in {text}")).1;
            rest.split([' ', ':', ';']).next().unwrap().parse().unwrap_or_else(|e| panic!("{e}: {text}"))
        };
        let (took, jobs) = (number("took "), number("their jobs as a whole "));
        let without = text.split_once(" without that").unwrap().0.rsplit(' ').next().unwrap();
        let without: f64 = without.parse().unwrap();
        assert!((took / jobs - without).abs() < 0.002, "{text}");
        let (weight, class) = (number("these lines weigh ") / 100.0, number("` at "));
        let typical = without.powf(weight) * class.powf(1.0 - weight);
        assert!((typical - number("median ")).abs() < 0.002, "{typical}: {text}");
        assert!((typical - learned.rates[id].median_ratio).abs() < 0.002, "{text}");
        of_jobs = of_jobs.max((jobs - 1.0).abs());
    }
    assert!(of_jobs > 0.02, "the jobs as a whole say nothing");
}
