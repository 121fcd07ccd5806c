//! Hire against a yard's published examples and plain trial.

use crate::cases::{decimal, read};
use crate::random::Dice;
use proptest::prelude::*;
use rillcast::compute::hire::{HireFault, Own, Rates, Stretch, charge, own_or_hire, plan};
use rust_decimal::Decimal;

#[test]
fn published_and_recomputed_mixes() {
    let cases = read("hire");
    assert_eq!(cases.len(), 5);
    for c in cases {
        let i = &c["inputs"];
        let rates = Rates {
            day: Some(decimal(&i["day"])),
            week: Some(decimal(&i["week"])),
            four_weeks: Some(decimal(&i["month28"])),
            ..Rates::default()
        };
        let days = u32::try_from(i["days"].as_u64().unwrap()).unwrap();
        let got = charge(&rates, 2 * days).unwrap();
        assert_eq!(got.total, decimal(&c["expected"]["charge"]), "{} {}", c["id"], got.basis);
    }
}

#[test]
fn the_working_can_be_followed() {
    let rates = Rates { day: Some(Decimal::from(100)), week: Some(Decimal::from(300)), ..Rates::default() };
    let got = charge(&rates, 18).unwrap();
    assert_eq!(got.basis, "9 days on site: 1 x week at 300 + 2 x day at 100 = 500");
}

/// Every mix by plain trial.
fn trial(r: &[(u32, i64)], half_days: u32) -> i64 {
    match r.split_first() {
        None => {
            if half_days == 0 {
                0
            } else {
                i64::MAX / 4
            }
        }
        Some((&(covers, rate), rest)) => (0..=half_days.div_ceil(covers))
            .map(|n| i64::from(n) * rate + trial(rest, half_days.saturating_sub(n * covers)))
            .min()
            .unwrap(),
    }
}

#[test]
fn equals_plain_trial() {
    let mut d = Dice::new(5);
    for _ in 0..300 {
        let (half, day) = (d.within(10, 80), d.within(20, 120));
        let (week, four) = (d.within(50, 600), d.within(100, 2_000));
        let rates = Rates {
            half_day: Some(Decimal::from(half)),
            day: Some(Decimal::from(day)),
            week: Some(Decimal::from(week)),
            four_weeks: Some(Decimal::from(four)),
            ..Rates::default()
        };
        let n = u32::try_from(d.within(0, 90)).unwrap();
        let expected = trial(&[(56, four), (14, week), (2, day), (1, half)], n);
        assert_eq!(charge(&rates, n).unwrap().total, Decimal::from(expected));
    }
}

proptest! {
    #[test]
    fn more_days_never_cost_less(day in 1_i64..500, week in 1_i64..2_000, n in 0_u32..200) {
        let rates = Rates { day: Some(Decimal::from(day)), week: Some(Decimal::from(week)), ..Rates::default() };
        prop_assert!(charge(&rates, n).unwrap().total <= charge(&rates, n + 1).unwrap().total);
    }

    #[test]
    fn returning_is_never_dearer_than_holding(gaps in proptest::collection::vec((1_u32..6, 1_u32..30), 1..8), transport in 0_i64..300) {
        let rates = Rates { day: Some(Decimal::from(90)), week: Some(Decimal::from(280)), ..Rates::default() };
        let mut day = 0;
        let stretches: Vec<Stretch> = gaps.iter().map(|&(busy, idle)| {
            let s = Stretch { first: day, last: day + busy - 1 };
            day += busy + idle;
            s
        }).collect();
        let p = plan(&rates, Decimal::from(transport), &stretches).unwrap();
        prop_assert!(p.total <= p.held_throughout);
        let sum: Decimal = p.stays.iter().map(|s| s.hire.total + s.transport).sum();
        prop_assert_eq!(sum, p.total);
        for s in &stretches {
            prop_assert!(p.stays.iter().any(|t| t.first <= s.first && s.last <= t.last));
        }
    }
}

#[test]
fn a_short_gap_is_held_and_a_long_one_is_not() {
    let rates = Rates { day: Some(Decimal::from(100)), ..Rates::default() };
    let at = |first| [Stretch { first: 0, last: 0 }, Stretch { first, last: first }];
    assert_eq!(plan(&rates, Decimal::from(150), &at(2)).unwrap().stays.len(), 1);
    assert_eq!(plan(&rates, Decimal::from(150), &at(3)).unwrap().stays.len(), 2);
}

#[test]
fn faults_are_named_all_at_once() {
    let rates = Rates { day: Some(Decimal::from(-1)), days_per_week: 0, ..Rates::default() };
    let faults = charge(&rates, 20_000).unwrap_err();
    assert_eq!(faults.len(), 3, "{faults:?}");
    assert_eq!(charge(&Rates::default(), 2).unwrap_err(), vec![HireFault::NoRates]);
    let rates = Rates { day: Some(Decimal::ONE), ..Rates::default() };
    let overlap = [Stretch { first: 3, last: 2 }, Stretch { first: 0, last: u32::MAX }];
    assert!(plan(&rates, Decimal::ONE, &overlap).is_err());
    let own = Own { price: Decimal::MAX, resale: Decimal::MIN, upkeep_per_day: Decimal::ONE };
    assert_eq!(own_or_hire(&rates, &own, 1, 1).unwrap_err().len(), 2);
}

#[test]
fn owning_pays_for_good_only_after_hire_stops_stepping_down() {
    // 6 days cost 600, a week 300: owning for 450 is cheaper on days 5 and 6, but for good only from the
    // second week
    let rates = Rates { day: Some(Decimal::from(100)), week: Some(Decimal::from(300)), ..Rates::default() };
    let own = Own { price: Decimal::from(290), resale: Decimal::ZERO, upkeep_per_day: Decimal::ZERO };
    assert_eq!(own_or_hire(&rates, &own, 3, 60).unwrap().break_even_days, Some(3));
    let own = Own { price: Decimal::from(310), ..own };
    assert_eq!(own_or_hire(&rates, &own, 3, 60).unwrap().break_even_days, Some(8));
}
