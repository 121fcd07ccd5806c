//! Proposed rates, and estimate against actual.

use jiff::civil::date;
use rillcast::compute::learning::{
    compare::{CompareSettings, Hemisphere, Key, Record, compare, season},
    propose::{Quote, propose},
    *,
};

use rust_decimal::Decimal;

use crate::learning::{no_fading, rate, request};

/// A job whose pour was estimated at ten hours.
fn poured(number: i32, actual_hours: f64) -> Observation {
    Observation {
        job: JobId::new(format!("job-{number}")).unwrap(),
        finished_on: date(2026, 5, 1),
        rate: rate("pour"),
        estimated_hours: 10.0,
        actual_hours,
        excluded: None,
    }
}

#[test]
fn a_rate_is_proposed_by_the_mean() {
    let seen = (0..20).map(|n| poured(n, 12.0)).collect();
    let learned = learn(&request(seen, no_fading())).unwrap();
    let evidence = &learned.rates[&rate("pour")];
    assert!(evidence.enough.yes, "{}", evidence.enough.why);
    let proposals = propose(&[(rate("pour"), 0.5)].into(), &learned, Quote::Mean).unwrap();
    let proposal = &proposals[&rate("pour")];
    assert_eq!(proposal.new, 0.5 * evidence.mean_ratio);
    assert!(propose(&[(rate("pour"), -0.5)].into(), &learned, Quote::Mean).is_err());
}

#[test]
fn the_evidence_multiplies_out() {
    for (actual, old) in [(12.0, 1.16), (11.0, 0.37), (9.1, 2.85), (10.7, 1.9), (13.3, 0.145)] {
        let seen = (0..5).map(|n| poured(n, actual + f64::from(n) / 7.0)).collect();
        let learned = learn(&request(seen, no_fading())).unwrap();
        let proposals = propose(&[(rate("pour"), old)].into(), &learned, Quote::Mean).unwrap();
        let evidence = &proposals[&rate("pour")].evidence;
        let sum = evidence.split("; ").find(|part| part.contains(" h x ")).unwrap();
        let (factors, product) = sum.strip_suffix(" h per unit").unwrap().split_once(" = ").unwrap();
        let (hours, ratio) = factors.split_once(" h x ").unwrap();
        let number = |text: &str| text.parse::<Decimal>().unwrap();
        assert_eq!((number(hours) * number(ratio)).round_dp(4), number(product), "{evidence}");
    }
}

#[test]
fn comparison_by_every_key() {
    let record = |job: &str, soil: Option<&str>, month: i8, estimated: f64, actual: f64| Record {
        job: JobId::new(job).unwrap(),
        task: rate("dig-hand"),
        method: Some("hand".into()),
        soil: soil.map(Into::into),
        crew: Some("north".into()),
        finished_on: date(2026, month, 10),
        estimated_hours: estimated,
        estimated_for_done: Some(estimated * 1.1),
        actual_hours: actual,
    };
    let records = [
        record("a", Some("clay"), 1, 10.0, 15.0),
        record("b", Some("clay"), 7, 20.0, 20.0),
        record("b", Some("sand"), 7, 10.0, 9.0),
        record("c", None, 12, 5.0, 5.0),
    ];
    let settings = CompareSettings { enough_jobs: 2, ..CompareSettings::default() };
    let by_soil = compare(&records, &[Key::Soil], &settings).unwrap();
    let values: Vec<&str> = by_soil.iter().map(|g| g.values[0].as_str()).collect();
    assert_eq!(values, ["-", "clay", "sand"]);
    let clay = &by_soil[1];
    assert_eq!((clay.lines, clay.jobs, clay.enough), (2, 2, true));
    assert!((clay.by_quantity - 3.0).abs() < 1e-12 && (clay.by_rate - 2.0).abs() < 1e-12);
    assert!((clay.ratio_of_sums - 35.0 / 30.0).abs() < 1e-12);
    let typical = (15.0_f64 / 11.0 * (20.0 / 22.0)).sqrt();
    assert!((clay.typical_ratio.unwrap() - typical).abs() < 1e-12);
    let all =
        compare(&records, &[Key::Task, Key::Method, Key::Crew, Key::Season, Key::Job], &settings).unwrap();
    assert_eq!(all.len(), 3);
    assert!(all.iter().any(|g| g.values == ["dig-hand", "hand", "north", "winter", "c"]));
    let hours: f64 = all.iter().map(|g| g.actual_hours).sum();
    assert_eq!(hours, 49.0);
    assert_eq!(season(date(2026, 1, 1), Hemisphere::South), "summer");
    assert_eq!(compare(&[record("a", None, 1, -1.0, f64::NAN)], &[], &settings).unwrap_err().len(), 3);
    // Of what was estimated nothing was done: all of the estimate is the quantity's, all that it took the rate's.
    let nothing = Record { estimated_for_done: Some(0.0), ..record("a", None, 1, 3.0, 4.0) };
    let alone = &compare(std::slice::from_ref(&nothing), &[], &settings).unwrap()[0];
    assert_eq!((alone.by_quantity, alone.by_rate, alone.typical_ratio), (-3.0, 4.0, None));
    let both = &compare(&[nothing, record("b", None, 1, 10.0, 11.0)], &[], &settings).unwrap()[0];
    assert!((both.typical_ratio.unwrap() - 1.0).abs() < 1e-12, "the line without a ratio moves none");
    assert_eq!(compare(&[], &[Key::Job], &settings).unwrap(), []);
}
