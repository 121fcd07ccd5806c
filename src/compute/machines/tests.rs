//! Hire against a search of every mix.

use super::{cheapest, half_days};
use crate::units::Amount;
use crate::units::quantity::Span;
use proptest::prelude::*;

/// Every mix that could matter, tried.
fn by_search(need: i64, h: Option<i64>, d: i64, w: Option<i64>, m: Option<i64>) -> i64 {
    let up = |n: i64, each: i64| (n.max(0) + each - 1) / each;
    let most = |rate: Option<i64>, each: i64| if rate.is_some() { up(need, each) } else { 0 };
    let mut best = i64::MAX;
    for months in 0..=most(m, 56) {
        for weeks in 0..=most(w, 14) {
            for halves in 0..=most(h, 1) {
                let days = up(need - 56 * months - 14 * weeks - halves, 2);
                let cost =
                    months * m.unwrap_or(0) + weeks * w.unwrap_or(0) + days * d + halves * h.unwrap_or(0);
                best = best.min(cost);
            }
        }
    }
    best
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn no_mix_is_cheaper_and_the_mix_covers_the_need(
        need in 0_i64..180,
        h in proptest::option::of(0_i64..200),
        d in 0_i64..300,
        w in proptest::option::of(0_i64..1200),
        m in proptest::option::of(0_i64..4000),
    ) {
        let mix = cheapest(
            need,
            h.map(Amount::from_minor),
            Amount::from_minor(d),
            w.map(Amount::from_minor),
            m.map(Amount::from_minor),
        );
        prop_assert_eq!(mix.cost.minor(), by_search(need, h, d, w, m));
        prop_assert!(mix.half_days + 2 * mix.days + 14 * mix.weeks + 56 * mix.four_weeks >= need);
        let paid = mix.half_days * h.unwrap_or(0) + mix.days * d + mix.weeks * w.unwrap_or(0)
            + mix.four_weeks * m.unwrap_or(0);
        prop_assert_eq!(mix.cost.minor(), paid);
    }
}

#[test]
fn half_days_cheaper_than_half_a_day_are_used() {
    let mix = cheapest(2, Some(Amount::from_minor(4_000)), Amount::from_minor(10_000), None, None);
    assert_eq!((mix.half_days, mix.days, mix.cost.minor()), (2, 0, 8_000));
}

#[test]
fn a_long_hire_is_paid_for_whole() {
    assert_eq!(cheapest(60_000, None, Amount::from_minor(10_000), None, None).days, 30_000);
}

#[test]
fn nothing_is_hired_for_no_time() {
    assert_eq!(cheapest(0, None, Amount::from_minor(1), None, None).cost, Amount::ZERO);
    assert_eq!(half_days(0, Span::from_seconds(28_800)), 0);
    assert_eq!(half_days(1, Span::from_seconds(28_800)), 1);
}
