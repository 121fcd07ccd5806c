//! Bad and hostile requests: every fault named, no panic, no endless loop.

use crate::cutting_properties::job;
use proptest::prelude::*;
use rillcast::compute::{
    cutting::{self, CuttingFault, LeftOut, Leg, Problem, Source, Stock, WhyLeftOut, Work},
    exact::Nm,
};
use rust_decimal::Decimal;

fn faults(p: &Problem) -> Vec<CuttingFault> {
    cutting::plan(p).unwrap_err()
}

#[test]
fn nothing_at_all() {
    assert_eq!(faults(&Problem::default()), vec![CuttingFault::NoLegs, CuttingFault::NoStock]);
}

#[test]
fn every_fault_at_once() {
    let mut p = job(2, 2_000, 1);
    p.legs[1] = Leg::new("leg 0", Nm(-5));
    p.stock[0].length = Nm(0);
    p.stock[1].price = Decimal::from(-1);
    p.kerf = Nm(i64::MAX);
    p.joint.minutes = Decimal::MAX;
    let found = faults(&p);
    assert_eq!(found.len(), 6, "{found:?}");
    assert!(found.iter().any(
        |f| f.to_string() == "leg `leg 0` is given twice: names must differ, or give a quantity instead"
    ));
}

#[test]
fn a_least_piece_longer_than_a_leg_is_named() {
    let mut p = job(1, 2_000, 1);
    p.legs = vec![Leg::new("stub", Nm::mm(100)), Leg::new("long", Nm::mm(3_000))];
    let found = faults(&p);
    assert!(
        matches!(&found[..], [CuttingFault::LeastPieceLongerThanLeg { leg, .. }] if leg == "stub"),
        "{found:?}"
    );
}

#[test]
fn a_leg_below_the_least_piece_is_one_piece_where_it_may_be() {
    let mut p = job(1, 2_000, 1);
    p.legs = vec![Leg::new("stub", Nm::mm(100)), Leg::new("long", Nm::mm(3_050))];
    p.short_legs_whole = true;
    let plan = cutting::plan(&p).unwrap();
    cutting::verify(&plan, &p).unwrap();
    let of = |leg: &str| {
        let pieces = plan.sheet.iter().flat_map(|row| row.pieces.iter().map(|p| (row.count, p)));
        let mut pieces: Vec<i64> = pieces
            .filter(|(_, piece)| piece.leg.as_str() == leg)
            .flat_map(|(count, piece)| vec![piece.length.0 / 1_000_000; count])
            .collect();
        pieces.sort_unstable();
        pieces
    };
    assert_eq!(of("stub"), [100]);
    assert!(of("long").iter().all(|mm| *mm >= 150) && of("long").iter().sum::<i64>() == 3_050, "{plan:?}");
    // a plan whose long leg has a piece as short is still refused
    p.least_piece = Nm::mm(2_000);
    assert!(cutting::verify(&plan, &p).is_err());
}

#[test]
fn a_leg_no_longer_than_the_lap_is_named_with_the_lap() {
    let mut p = job(1, 2_000, 1);
    (p.gap, p.least_piece) = (Nm::mm(-500), Nm(0));
    p.legs = vec![Leg::new("stub", Nm::mm(500)), Leg::new("long", Nm::mm(501))];
    let found = faults(&p);
    assert!(
        matches!(&found[..], [CuttingFault::ShorterThanLap { leg, lap, .. }] if leg == "stub" && *lap == Nm::mm(500)),
        "{found:?}"
    );
    // a least piece that was asked for is still named as such
    p.least_piece = Nm::mm(600);
    assert!(matches!(&faults(&p)[..], [CuttingFault::LeastPieceLongerThanLeg { .. }, _]));
}

#[test]
fn a_leg_no_stock_can_make_is_named_with_what_would_fix_it() {
    let mut p = job(1, 2_000, 1);
    p.legs = vec![Leg::new("far", Nm::mm(10_000))];
    p.max_joints_per_leg = Some(2);
    let found = faults(&p);
    assert!(matches!(&found[..], [CuttingFault::LegImpossible { fewest: 4, most: 3, .. }]), "{found:?}");
    assert!(found[0].to_string().ends_with("allow more joints in a leg or offer a longer stock length"));
    // pieces of at least 2.5 m from 3 m cannot make 4 m
    p.max_joints_per_leg = None;
    p.least_piece = Nm::mm(2_500);
    p.legs = vec![Leg::new("between", Nm::mm(4_000))];
    assert!(matches!(&faults(&p)[..], [CuttingFault::LegImpossible { fewest: 2, most: 1, .. }]));
}

#[test]
fn limited_stock_that_runs_out_is_named() {
    let mut p = job(3, 9_000, 1);
    p.stock = vec![Stock { available: Some(2), ..Stock::bought("last", Nm::mm(3_000), Decimal::ONE) }];
    assert!(matches!(&faults(&p)[..], [CuttingFault::StockRunsOut { .. }]));
}

#[test]
fn stock_that_cannot_be_lifted_is_left_out_and_said_so() {
    let mut p = job(1, 2_000, 1);
    p.longest_setting = Some(Nm::mm(2_000));
    let plan = cutting::plan(&p).unwrap();
    let why = WhyLeftOut::LongerThanSetting(Nm::mm(2_000));
    assert_eq!(plan.left_out, [LeftOut { stock: "3 m".to_owned(), length: Nm::mm(3_000), why }]);
    p.longest_setting = Some(Nm::mm(500));
    assert_eq!(faults(&p), vec![CuttingFault::NoStock]);
}

#[test]
fn far_too_large_is_refused() {
    let mut p = job(1, 2_000, 1);
    p.legs = vec![Leg::new("endless", Nm(1_000_000_000_000_000))];
    p.stock = vec![Stock::bought("crumb", Nm(1_000_000), Decimal::ONE)];
    p.least_piece = Nm(0);
    assert!(matches!(&faults(&p)[..], [CuttingFault::TooLarge { .. }]));
}

#[test]
fn thousands_of_legs_come_back() {
    let mut p = job(3_000, 4_000, 1);
    p.node_budget = 3_000_000;
    let plan = cutting::plan(&p).unwrap();
    assert!(plan.nodes <= p.node_budget && !plan.proven);
    assert!(plan.gap_share < Decimal::new(25, 2), "{}", plan.gap_share);
}

fn hostile() -> impl Strategy<Value = Problem> {
    let length = prop_oneof![
        Just(i64::MIN),
        Just(i64::MAX),
        Just(0),
        Just(1),
        Just(2),
        Just(1_000_000_000_000_000),
        -5_i64..40,
        1_i64..5_000_000_000,
    ];
    let money = prop_oneof![
        Just(Decimal::ZERO),
        Just(Decimal::MAX),
        Just(Decimal::MIN),
        Just(Decimal::new(1, 28)),
        Just(Decimal::from(1_000_000_000)),
        (0_i64..5_000).prop_map(|n| Decimal::new(n, 2)),
    ];
    let stock = (length.clone(), money.clone(), proptest::option::of(0_u32..5), any::<bool>());
    (
        proptest::collection::vec(length.clone(), 0..6),
        proptest::collection::vec(stock, 0..5),
        proptest::array::uniform4(length),
        proptest::array::uniform4(money),
        proptest::option::of(0_u32..4),
        any::<bool>(),
    )
        .prop_map(
            |(legs, stock, [kerf, gap, least, setting], [parts, minutes, cut, rate], joints, set)| Problem {
                legs: legs.into_iter().enumerate().map(|(i, l)| Leg::new(format!("{i}"), Nm(l))).collect(),
                stock: stock
                    .into_iter()
                    .enumerate()
                    .map(|(i, (l, price, available, yard))| Stock {
                        id: format!("{i}"),
                        length: Nm(l),
                        price,
                        available,
                        source: if yard { Source::Yard } else { Source::Bought },
                    })
                    .collect(),
                kerf: Nm(kerf % 1_000),
                gap: Nm(gap % 50),
                least_piece: Nm(least % 100),
                max_joints_per_leg: joints,
                longest_setting: set.then_some(Nm(setting)),
                joint: Work { parts, minutes },
                cut: Work { parts: cut, minutes: Decimal::ZERO },
                rate_per_hour: rate,
                node_budget: 50_000,
                ..Problem::default()
            },
        )
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1_500))]

    #[test]
    fn hostile_requests_end_in_a_plan_or_in_faults(p in hostile()) {
        if let Err(faults) = cutting::plan(&p) {
            prop_assert!(!faults.is_empty());
            for f in faults {
                prop_assert!(!matches!(f, CuttingFault::PlanRejected { .. }), "{}", f);
            }
        }
    }
}
