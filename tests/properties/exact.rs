//! Orders, shares, lengths.

use proptest::prelude::*;
use rillcast::compute::concrete::increments;
use rillcast::units::grammar::parse;
use rillcast::units::money::share_out;
use rillcast::units::show::Show;
use rillcast::units::{Amount, Dimension, Length, Percent, UnitSystem, Volume};

fn sixteenths(n: i64) -> Length {
    Length::inches(n, 16)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 10_000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn parts_always_foot(total in -10_000_000_i64..10_000_000, weights in prop::collection::vec(0_i64..1_000_000, 1..12)) {
        let parts = share_out(Amount::from_minor(total), &weights);
        prop_assert_eq!(parts.len(), weights.len());
        prop_assert_eq!(parts.iter().copied().sum::<Amount>(), Amount::from_minor(total));
        // No part is a whole unit away from its exact share.
        let sum: i64 = weights.iter().sum();
        for (part, weight) in parts.iter().zip(&weights).filter(|_| sum > 0) {
            let off = i128::from(part.minor()) * i128::from(sum) - i128::from(total) * i128::from(*weight);
            prop_assert!(off.abs() < i128::from(sum));
        }
    }

    #[test]
    fn an_order_covers_the_need_and_no_more(
        l in 1_i64..200_000, w in 1_i64..2_000, d in 1_i64..1_000, waste in 0_i64..500_000, step in 1_i64..200,
    ) {
        let net = sixteenths(l) * sixteenths(w) * sixteenths(d);
        let foot = Length::FOOT * Length::FOOT * Length::FOOT;
        let increment = Volume::from_nm3(foot.nm3() * i128::from(step) / 100);
        let count = increments(net, Percent::from_millionths(waste), increment).expect("within the range");
        // Both sides times a million, so that nothing is rounded.
        let need = net.nm3() * i128::from(1_000_000 + waste);
        let ordered = increment.nm3() * i128::from(count) * 1_000_000;
        prop_assert!(ordered >= need);
        prop_assert!(ordered - need < increment.nm3() * 1_000_000);
    }

    #[test]
    fn lengths_read_back_as_they_are_shown(n in 1_i64..1_000_000, mm in 1_i64..2_000_000) {
        let us = sixteenths(n);
        let shown = Show(UnitSystem::Us).length(us).to_string();
        prop_assert_eq!(parse(&shown, Dimension::Length).map(|(v, _)| v), Ok(i128::from(us.nm())), "{}", shown);
        let metric = Length::millimetres(mm);
        let shown = Show(UnitSystem::Metric).length(metric).to_string();
        prop_assert_eq!(parse(&shown, Dimension::Length).map(|(v, _)| v), Ok(i128::from(metric.nm())), "{}", shown);
    }
}
