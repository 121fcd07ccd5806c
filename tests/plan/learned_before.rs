//! Rates that were learned before, and the jobs that come after.

use std::collections::BTreeMap;

use jiff::{ToSpan, civil::date};
use rillcast::compute::learning::{
    propose::{Quote, propose},
    *,
};

use crate::learning::{no_fading, normal_normal, observation, rate, request};

/// Learned in two goes, a rate is what it would be in one: the posterior of the first is the prior of the second. The second judges
/// the book that has the rate of the first, be it the median or the mean.
#[test]
fn learned_in_two_goes_a_rate_is_what_it_is_in_one() {
    let pour = rate("pour");
    let lines = |numbers: std::ops::Range<i32>, took: f64, by_book: f64| -> Vec<Observation> {
        let line = |n| Observation {
            job: JobId::new(format!("job-{n}")).unwrap(),
            finished_on: date(2026, 5, 1),
            rate: pour.clone(),
            estimated_hours: by_book,
            actual_hours: took + f64::from(n % 3) / 10.0,
            excluded: None,
        };
        numbers.map(line).collect()
    };
    let settings =
        LearnSettings { own_sd: 0.25, job_sd: 0.0, class_share: 0.0, learn_spread: false, ..no_fading() };
    let of = |request: LearnRequest| learn(&request).unwrap().rates.remove(&pour).unwrap();
    let first = learn(&request(lines(0..10, 7.2, 5.0), settings)).unwrap();
    let left = &first.rates[&pour];
    let together = of(request([lines(0..10, 7.2, 5.0), lines(10..15, 4.6, 5.0)].concat(), settings));
    assert!(together.mean_log_sd < left.mean_log_sd && left.mean_log_sd < settings.tau);
    for quote in [Quote::Median, Quote::Mean] {
        let ratio = propose(&[(pour.clone(), 1.0)].into(), &first, quote).unwrap()[&pour].ratio;
        let known = Known {
            lines: 10,
            median_log: left.spread(&pour, ratio).median_log,
            sd: left.mean_log_sd,
            as_of: date(2026, 6, 1),
        };
        let known = BTreeMap::from([(pour.clone(), known)]);
        let new = lines(10..15, 4.6, 5.0 * ratio);
        let again = of(LearnRequest { known: known.clone(), ..request(new, settings) });
        assert!((ratio * again.median_ratio - together.median_ratio).abs() < 1e-12, "{quote:?}");
        assert!((ratio * again.mean_ratio - together.mean_ratio).abs() < 1e-12, "{quote:?}");
        assert!((again.mean_log_sd - together.mean_log_sd).abs() < 1e-12, "{quote:?}");
        assert_eq!((again.lines, again.lines_before, again.enough.yes), (5, 10, true));
        // One more line of a rate that is well known takes nothing from that.
        let one =
            of(LearnRequest { known: known.clone(), ..request(lines(10..11, 4.6, 5.0 * ratio), settings) });
        let why = "1 line counted beside 10 in the rate already (from 5 on is enough)";
        assert!(one.enough.yes && one.enough.why.starts_with(why), "{}", one.enough.why);
        // Without new lines nothing moves.
        let none = of(LearnRequest { known, ..request(Vec::new(), settings) });
        assert!((ratio * none.median_ratio - left.median_ratio).abs() < 1e-12, "{quote:?}");
        assert!((none.mean_log_sd - left.mean_log_sd).abs() < 1e-12, "{quote:?}");
    }
}

/// What a rate was learned from fades as it would if it were counted anew: five years on both know it equally well.
#[test]
fn what_was_learned_before_fades_as_its_lines_do() {
    let settings = LearnSettings {
        job_sd: 0.0,
        class_share: 0.0,
        learn_spread: false,
        half_life_days: Some(730.0),
        ..LearnSettings::default()
    };
    let line = |n: i32, finished_on| Observation {
        job: JobId::new(format!("job-{n}")).unwrap(),
        finished_on,
        rate: rate("pour"),
        estimated_hours: 1.0,
        actual_hours: 1.0,
        excluded: None,
    };
    let old: Vec<Observation> =
        (0..8).map(|n| line(n, date(2026, 5, 1).checked_sub((90 * n).days()).unwrap())).collect();
    let of = |request: LearnRequest| learn(&request).unwrap().rates.remove(&rate("pour")).unwrap();
    let left = of(request(old.clone(), settings));
    let later = |known, seen| LearnRequest { known, as_of: date(2031, 6, 1), ..request(seen, settings) };
    let known = Known { lines: 8, median_log: 0.0, sd: left.mean_log_sd, as_of: date(2026, 6, 1) };
    let new = line(8, date(2031, 5, 1));
    let again = of(later([(rate("pour"), known)].into(), vec![new.clone()]));
    let together = of(later(BTreeMap::new(), [old, vec![new]].concat()));
    assert!((again.mean_log_sd - together.mean_log_sd).abs() < 1e-12);
    assert!(again.mean_log_sd > left.mean_log_sd, "{} {}", again.mean_log_sd, left.mean_log_sd);
}

/// What a class told a rate is in it once it was learned: that rate shrinks towards itself, and what others of its class do since
/// then moves it no second time.
#[test]
fn a_rate_that_was_learned_before_stands_apart_from_its_class() {
    let settings = LearnSettings { learn_spread: false, job_sd: 0.0, own_sd: 0.25, ..no_fading() };
    let known = Known { lines: 9, median_log: 0.0, sd: 0.08, as_of: date(2026, 1, 1) };
    let known = BTreeMap::from([(rate("dig-hand"), known)]);
    let close = |a: f64, b: f64| assert!((a - b).abs() < 1e-12, "{a} {b}");
    let seen: Vec<Observation> = (0..6).map(|n| observation(n, "dig-line", 1.4)).collect();
    let learned = learn(&LearnRequest { known: known.clone(), ..request(seen.clone(), settings) }).unwrap();
    let (held, other) = (&learned.rates[&rate("dig-hand")], &learned.rates[&rate("dig-line")]);
    close(held.mean_log, 0.0);
    close(held.mean_log_sd, 0.08);
    close(other.mean_log, normal_normal(0.2, 6.0, 1.4_f64.ln(), 0.25).0);
    let seen = [seen, (0..4).map(|n| observation(n, "dig-hand", 0.7)).collect()].concat();
    let learned = learn(&LearnRequest { known, ..request(seen, settings) }).unwrap();
    let held = &learned.rates[&rate("dig-hand")];
    let (mean, sd) = normal_normal(0.08, 4.0, 0.7_f64.ln(), 0.25);
    close(held.mean_log, mean);
    close(held.mean_log_sd, sd);
    close(learned.rates[&rate("dig-line")].mean_log, other.mean_log);
    close(held.weight_on_lines * held.data_mean_log.unwrap(), held.mean_log);
    close(held.weight_on_data, 1.0 - (sd / 0.08).powi(2));
    assert!(
        learned.basis.contains("one that was learned before as near as that left it"),
        "{}",
        learned.basis
    );
}

/// A line far from a rate that is well known stands far off, though it would not from one of which nothing is known.
#[test]
fn lines_are_far_off_from_what_is_known() {
    let line = Observation {
        job: JobId::new("job").unwrap(),
        finished_on: date(2026, 5, 1),
        rate: rate("pour"),
        estimated_hours: 1.0,
        actual_hours: 2.6,
        excluded: None,
    };
    let flags = |known| {
        let learned = learn(&LearnRequest { known, ..request(vec![line.clone()], no_fading()) }).unwrap();
        learned.rates[&rate("pour")].flagged.len()
    };
    assert_eq!(flags(BTreeMap::new()), 0);
    let known = Known { lines: 50, median_log: 0.0, sd: 0.03, as_of: date(2026, 6, 1) };
    assert_eq!(flags([(rate("pour"), known)].into()), 1);
}

/// What is said to be known must be of a rate that is asked about, and a number that can be.
#[test]
fn what_is_known_of_a_rate_is_checked() {
    let known = Known { lines: 1, median_log: f64::NAN, sd: -0.1, as_of: date(2026, 6, 1) };
    let request = LearnRequest { known: [(rate("plant"), known)].into(), ..request(Vec::new(), no_fading()) };
    let told: Vec<String> = learn(&request).unwrap_err().iter().map(ToString::to_string).collect();
    assert_eq!(told[0], "known: rate `plant` is not among the rates; add it with its class");
    assert_eq!(told[1], "known.median_log (rate `plant`): NaN is not allowed; give -30 to 30");
    assert_eq!(told[2], "known.sd (rate `plant`): -0.1 is not allowed; give 0 to 2");
}

/// A rate that is known without any doubt is known to a thousandth: 1 / (1 / 0.001^2).
#[test]
fn nothing_is_known_to_less_than_a_thousandth() {
    let variance = known::known_variance(0.0, 0.2, 1.0);
    assert!((variance - 1e-6).abs() < 1e-15, "{variance}");
}
