//! Haul against published and recomputed cases.

use crate::cases::{case, decimal, read, volume};
use proptest::prelude::*;
use rillcast::compute::{
    exact::{Fraction, Nm3},
    haul::{HaulFault, Limit, Spoil, Tip, Truck, plan},
};
use rust_decimal::Decimal;

const YD3: Nm3 = Nm3::CUBIC_YARD;

fn spoil(bank: Nm3, loose: Decimal) -> Spoil {
    Spoil {
        name: "spoil".into(),
        bank,
        loose_per_bank: loose,
        kg_per_bank_m3: Decimal::from(1_700),
        kept: Nm3(0),
    }
}

fn truck(volume: Nm3) -> Truck {
    Truck {
        volume,
        payload_kg: Decimal::from(900_000),
        load_minutes: Decimal::from(8),
        drive_minutes: Decimal::from(35),
        tip_minutes: Decimal::from(5),
        rate_per_hour: Decimal::from(95),
        trucks: 2,
    }
}

#[test]
fn a_textbook_haul() {
    let c = case("haul", "ew-haul-ex9-2");
    let bank = volume(&c["inputs"]["bank_cy"], YD3);
    let loose = Decimal::ONE + decimal(&c["inputs"]["swell"]);
    let h = plan(&[spoil(bank, loose)], &truck(volume(&c["inputs"]["truck_lcy"], YD3)), &Tip::default(), 2)
        .unwrap();
    assert_eq!(h.loose, volume(&c["expected"]["loose_cy"], YD3));
    assert_eq!(u64::from(h.loads), c["expected"]["loads"].as_u64().unwrap());
    assert_eq!(h.limit, Limit::Volume);
}

#[test]
fn bank_to_loose_of_the_army_table() {
    let rows: Vec<_> =
        read("haul").into_iter().filter(|c| c["id"].as_str().unwrap().starts_with("ew-conv")).collect();
    assert_eq!(rows.len(), 4);
    for c in rows {
        let loose = decimal(&c["expected"]["loose_cy"]).round_dp(6) / decimal(&c["inputs"]["bank_cy"]);
        let h = plan(&[spoil(volume(&c["inputs"]["bank_cy"], YD3), loose)], &truck(YD3), &Tip::default(), 2)
            .unwrap();
        assert_eq!(
            h.loose.in_units(YD3),
            decimal(&c["expected"]["loose_cy"]).round_dp(6).normalize(),
            "{}",
            c["id"]
        );
    }
}

#[test]
fn spoil_that_backfill_takes_stays() {
    let c = case("haul", "ew-spoil-balance");
    let i = &c["inputs"];
    let bank = volume(&i["trench_bank_cy"], YD3);
    // 8 yd3 of fill compacted at 0.90 take 8.8889 yd3 of bank
    let fill = volume(&c["expected"]["backfill_compacted_cy"], YD3);
    let kept = fill
        .times_up(
            Fraction::ONE.checked_div(Fraction::from_decimal(decimal(&i["bank_to_compacted"]))).unwrap(),
        )
        .unwrap();
    let s = Spoil { kept, ..spoil(bank, decimal(&i["bank_to_loose"])) };
    let h = plan(&[s], &truck(volume(&i["truck_lcy"], YD3)), &Tip::default(), 2).unwrap();
    assert_eq!(h.loose.in_units(YD3), decimal(&c["expected"]["spoil_loose_cy"]).round_dp(6));
    assert_eq!(u64::from(h.loads), c["expected"]["loads"].as_u64().unwrap());
}

#[test]
fn every_tipping_fee_and_two_trucks() {
    let m3 = |n: i128| Nm3(n * Nm3::CUBIC_METRE.0);
    let s = Spoil { kg_per_bank_m3: Decimal::from(2_000), ..spoil(m3(12), Decimal::new(125, 2)) };
    let tip = Tip { per_load: Decimal::from(10), per_tonne: Decimal::from(2), per_loose_m3: Decimal::ONE };
    let h = plan(&[s], &Truck { payload_kg: Decimal::from(9_000), ..truck(m3(8)) }, &tip, 2).unwrap();
    // 15 m3 loose: 2 loads by volume; 24 t: 3 by weight; 3 x 10 + 24 x 2 + 15 = 93; 3 trips of 48 min at 95
    assert_eq!((h.loads_by_volume, h.loads_by_weight, h.loads, h.limit), (2, 3, 3, Limit::Weight));
    assert_eq!((h.tip_cost, h.truck_cost), (Decimal::from(93), Decimal::from(228)));
    assert_eq!((h.truck_hours, h.elapsed_hours), (Decimal::new(24, 1), Decimal::new(16, 1)));
}

#[test]
fn faults_are_named_all_at_once() {
    let s = Spoil { kept: Nm3(9), loose_per_bank: Decimal::ZERO, ..spoil(Nm3(5), Decimal::ONE) };
    let t = Truck { trucks: 0, payload_kg: Decimal::ZERO, ..truck(Nm3(0)) };
    let faults = plan(&[s], &t, &Tip::default(), 2).unwrap_err();
    assert_eq!(faults.len(), 5, "{faults:?}");
    assert!(faults.iter().any(|f| matches!(f, HaulFault::KeptMoreThanDug { .. })));
    let huge = spoil(Nm3(i128::MAX), Decimal::MAX);
    assert!(plan(&[huge], &truck(Nm3(1)), &Tip::default(), 2).is_err());
}

proptest! {
    #[test]
    fn loads_are_enough_and_one_fewer_is_not(bank in 1_i128..10_000, per_truck in 1_i128..60, swell in 100_i64..180, kg in 500_i64..3_000) {
        let litre = Nm3::CUBIC_METRE.0 / 10;
        let s = Spoil { kg_per_bank_m3: Decimal::from(kg), ..spoil(Nm3(bank * litre), Decimal::new(swell, 2)) };
        let t = Truck { payload_kg: Decimal::from(14_000), ..truck(Nm3(per_truck * litre)) };
        let h = plan(&[s], &t, &Tip::default(), 2).unwrap();
        let n = i128::from(h.loads);
        let weight = bank * i128::from(kg); // in tenths of kg
        let fits = |n: i128| n * per_truck * 100 >= bank * i128::from(swell) && n * 140_000 >= weight;
        prop_assert!(fits(n) && !fits(n - 1));
    }
}
