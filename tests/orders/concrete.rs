//! Concrete orders against published and recomputed cases.

use crate::cases::{case, decimal, read, volume};
use proptest::prelude::*;
use rillcast::compute::{
    exact::{Nm, Nm3},
    pour::{
        Bags, Crew, Haul, LastLoad, Mixer, Pallet, Pour, PourFault, PourWarning, ReadyMix, ShortLoad, Way,
        Weather, WeatherLimits, break_even, check_weather, compare, compare_days, evaporation_rate,
        last_load, loads, order, sequence, with_waste,
    },
};
use rust_decimal::Decimal;
use serde_json::json;

const YD3: Nm3 = Nm3::CUBIC_YARD;

fn yd3(n: &str) -> Nm3 {
    volume(&serde_json::from_str(n).unwrap(), YD3)
}

fn ready_mix() -> ReadyMix {
    ReadyMix {
        id: "plant".into(),
        unit: YD3,
        price: Decimal::from(150),
        increment: yd3("0.25"),
        least_order: yd3("1"),
        short_load: ShortLoad::PerMissing { below: yd3("4"), charge: Decimal::from(40) },
        truck: yd3("10"),
        delivery_per_load: Decimal::from(25),
        free_minutes: Decimal::from(60),
        waiting_per_minute: Decimal::from(2),
        place_per_hour: yd3("8"),
    }
}

fn bags() -> Bags {
    Bags {
        id: "80 lb".into(),
        yield_each: volume(&json!(0.6), Nm3::CUBIC_FOOT),
        price: Decimal::from(6),
        pallet: Some(Pallet {
            bags: 42,
            price: Some(Decimal::from(230)),
            whole_only: false,
            delivery: Decimal::from(15),
        }),
        delivery: Decimal::from(30),
        minutes_per_bag: Decimal::from(4),
        mixers: 1,
        mixer_per_day: Decimal::from(60),
        hours_per_day: Decimal::from(8),
    }
}

fn trailer() -> Mixer {
    Mixer {
        id: "trailer".into(),
        unit: YD3,
        price: Decimal::from(190),
        increment: yd3("0.25"),
        least_order: yd3("0.5"),
        capacity: yd3("1.25"),
        hire_per_trip: Decimal::from(45),
        trip_minutes: Decimal::from(50),
        fetchers: 1,
        crew_waits: true,
        place_per_hour: yd3("5"),
    }
}

const CREW: Crew = Crew { people: 3, rate_per_hour: Decimal::from_parts(40, 0, 0, false, 0) };

#[test]
fn the_manuals_order_rounds_up() {
    let c = case("concrete", "con-ea-volume");
    // 527.40 ft3 and 10 %
    let need =
        with_waste(volume(&c["expected"]["total_cf"], Nm3::CUBIC_FOOT), decimal(&c["inputs"]["waste"]))
            .unwrap();
    assert_eq!(need, volume(&c["expected"]["total_with_waste_cf"], Nm3::CUBIC_FOOT));
    let r = case("concrete", "con-order-round");
    let increments = r["inputs"]["increments_cy"].as_array().unwrap();
    for (inc, expected) in increments.iter().zip(r["expected"]["order_cy"].as_array().unwrap()) {
        assert_eq!(order(need, volume(inc, YD3), Nm3(0)), Some(volume(expected, YD3)));
    }
}

#[test]
fn exact_multiples_gain_nothing() {
    let c = case("concrete", "con-order-exact-multiple");
    let i = &c["inputs"];
    let got = order(volume(&i["need_cy"], YD3), volume(&i["increment_cy"], YD3), Nm3(0));
    assert_eq!(got, Some(volume(&c["expected"]["order_cy"], YD3)));
    let c = case("concrete", "con-order-float-trap");
    let i = &c["inputs"];
    let inches = |v: i64| Nm(v * 25_400_000);
    let at = |k: &str| i[k].as_i64().unwrap();
    let net =
        Nm3::product(inches(12 * at("length_ft")), inches(at("width_in")), inches(at("depth_in"))).unwrap();
    let need = with_waste(net, decimal(&i["waste"])).unwrap();
    assert_eq!(
        order(need, volume(&i["increment_cy"], YD3), Nm3(0)),
        Some(volume(&c["expected"]["order_cy"], YD3))
    );
}

#[test]
fn bags_by_label_yield() {
    let labels: Vec<_> = read("concrete").into_iter().filter(|c| c["inputs"]["bag_lb"].is_number()).collect();
    assert_eq!(labels.len(), 5);
    for c in labels {
        let b =
            Bags { yield_each: volume(&c["expected"]["yield_cf"], Nm3::CUBIC_FOOT), pallet: None, ..bags() };
        let got = compare(YD3, Decimal::ZERO, &[Way::Bags(b)], &CREW, 2).unwrap();
        assert_eq!(
            Decimal::from(got.ways[0].figures.bags),
            decimal(&c["expected"]["bags_per_cy"]).normalize(),
            "{}",
            c["id"]
        );
    }
    let c = case("concrete", "con-bags-count");
    for (field, expected) in [("yield_60lb_cf", "bags_60lb"), ("yield_80lb_cf", "bags_80lb")] {
        let b = Bags { yield_each: volume(&c["inputs"][field], Nm3::CUBIC_FOOT), pallet: None, ..bags() };
        let need = volume(&c["inputs"]["need_cf"], Nm3::CUBIC_FOOT);
        let got = compare(need, Decimal::ZERO, &[Way::Bags(b)], &CREW, 2).unwrap();
        assert_eq!(u64::from(got.ways[0].figures.bags), c["expected"][expected].as_u64().unwrap());
    }
}

#[test]
fn the_truck_split_and_its_short_load() {
    let c = case("concrete", "con-loads");
    let i = &c["inputs"];
    let (n, last) = loads(volume(&i["order_cy"], YD3), volume(&i["truck_cy"], YD3)).unwrap();
    assert_eq!(u64::from(n), c["expected"]["loads"].as_u64().unwrap());
    assert_eq!(last, volume(&c["expected"]["last_load_cy"], YD3));
    let got =
        compare(volume(&i["order_cy"], YD3), Decimal::ZERO, &[Way::ReadyMix(ready_mix())], &CREW, 2).unwrap();
    let warned = got.ways[0].warnings.iter().any(|w| matches!(w, PourWarning::ShortLastLoad { .. }));
    assert_eq!(warned, c["expected"]["short_load"].as_bool().unwrap());
}

#[test]
fn ready_mix_by_hand() {
    let got = compare(yd3("21.5"), Decimal::ZERO, &[Way::ReadyMix(ready_mix())], &CREW, 2).unwrap();
    let line = |label: &str| {
        got.ways[0].lines.iter().find(|l| l.label == label).map(|l| l.amount).unwrap_or_default()
    };
    assert_eq!(line("concrete"), Decimal::from(3_225));
    // the last load of 1.5 misses 2.5 of 4
    assert_eq!(line("short load"), Decimal::from(100));
    assert_eq!(line("delivery"), Decimal::from(75));
    // full trucks take 75 minutes, 15 beyond the free hour, twice; the last takes 11
    assert_eq!(line("waiting"), Decimal::from(60));
    // 2.6875 h of three people at 40
    assert_eq!(line("placing"), Decimal::new(3_225, 1));
    assert_eq!(got.ways[0].total, Decimal::new(37_825, 1));
}

#[test]
fn small_pours_go_to_bags_and_large_ones_to_the_plant() {
    let ways = [Way::ReadyMix(ready_mix()), Way::Bags(bags()), Way::Mixer(trailer())];
    let switches = break_even(&ways, &CREW, yd3("0.05"), yd3("6"), 2).unwrap();
    assert_eq!(switches.first().map(|s| s.way.as_str()), Some("80 lb"));
    assert_eq!(switches.last().map(|s| s.way.as_str()), Some("plant"));
    for s in &switches {
        let least = compare(s.from, Decimal::ZERO, &ways, &CREW, 2).unwrap();
        assert_eq!(least.ways[0].total, s.total);
        let sum: Decimal = least.ways[0].lines.iter().map(|l| l.amount).sum();
        assert_eq!(sum, s.total);
    }
}

#[test]
fn the_pours_of_a_day_are_ordered_together() {
    let pour = |name: &str, day, net: &str| Pour { name: name.into(), day, net: yd3(net) };
    let pours = [pour("a", 1, "2.1"), pour("b", 1, "2.1"), pour("c", 4, "2.1")];
    let d = compare_days(&pours, Decimal::ZERO, &[Way::ReadyMix(ready_mix())], &CREW, 2).unwrap();
    assert_eq!(d.days.len(), 2);
    assert_eq!(d.days[0].comparison.ways[0].figures.ordered, yd3("4.25"));
    assert!(d.all_together <= d.total && d.total <= d.each_alone);
}

#[test]
fn a_short_last_load_is_compared() {
    let choices = last_load(yd3("10.3"), Decimal::ZERO, &ready_mix(), &[bags()], &CREW, 2).unwrap();
    let find = |what: &LastLoad| choices.iter().find(|c| c.what == *what).unwrap();
    assert_eq!(find(&LastLoad::AsItIs).ordered, yd3("10.5"));
    assert_eq!(find(&LastLoad::OrderMore).ordered, yd3("14"));
    let by_bags = find(&LastLoad::Bags("80 lb".into()));
    // 0.3 yd3 are 8.1 ft3: 13.5, so 14 bags
    assert_eq!((by_bags.ordered, by_bags.loads, by_bags.bags), (yd3("10"), 1, 14));
    assert!(choices.is_sorted_by_key(|c| c.total));
    // 10.5 at 150, 3.5 missing at 40, 2 loads at 25, 15 minutes of waiting at 2, 1.3125 h of three people at
    // 40
    assert_eq!(find(&LastLoad::AsItIs).total, Decimal::from(1_575 + 140 + 50 + 30) + Decimal::new(1_575, 1));
    assert!(last_load(yd3("18"), Decimal::ZERO, &ready_mix(), &[bags()], &CREW, 2).unwrap().is_empty());
}

#[test]
fn trucks_keep_the_time_limit_or_are_named() {
    let c = case("concrete", "con-c94");
    assert_eq!(Haul::LIMIT_MINUTES, decimal(&c["expected"]["default_limit_min_1933_to_2021"]));
    let haul = Haul {
        truck: yd3("10"),
        batch_minutes: Decimal::from(10),
        travel_minutes: Decimal::from(30),
        place_per_hour: yd3("10"),
        limit_minutes: Haul::LIMIT_MINUTES,
    };
    let s = sequence(yd3("25"), &haul).unwrap();
    // full trucks: 10 + 30 + 60 = 100 minutes; the last half: 70
    let old: Vec<_> = s.warnings.iter().filter(|w| matches!(w, PourWarning::TooOld { .. })).collect();
    assert_eq!(old.len(), 2);
    assert_eq!(s.trucks[2].age, Decimal::from(70));
    assert!(s.trucks.windows(2).all(|w| w[0].empty_at == w[1].arrive_at));
}

/// Fahrenheit as Celsius.
fn celsius(f: f64) -> f64 {
    (f - 32.0) / 1.8
}

#[test]
fn evaporation_of_the_published_formula() {
    for id in ["con-uno-si", "con-uno-cool"] {
        let c = case("concrete", id);
        let at = |k: &str| c["inputs"][k].as_f64().unwrap();
        let day = Weather {
            air_c: at("air_c"),
            concrete_c: at("concrete_c"),
            humidity: at("rh_fraction"),
            wind_km_h: at("wind_km_h"),
        };
        let expected = c["expected"]["kg_m2_h"].as_f64().unwrap();
        assert!((evaporation_rate(&day) / expected - 1.0).abs() < c["rel_tol"].as_f64().unwrap(), "{id}");
    }
    // the US case by way of SI, in lb/ft2/h; 1 kg/m2 is 0.204 816 lb/ft2
    let c = case("concrete", "con-uno-us");
    let at = |k: &str| c["inputs"][k].as_f64().unwrap();
    let day = Weather {
        air_c: celsius(at("air_f")),
        concrete_c: celsius(at("concrete_f")),
        humidity: at("rh_fraction"),
        wind_km_h: at("wind_mph") * 1.609_344,
    };
    let pounds = evaporation_rate(&day) * 0.204_816_14;
    assert!((pounds / c["expected"]["lb_ft2_h_via_si"].as_f64().unwrap() - 1.0).abs() < 1e-6);
    // the illustrated case of the chart, read to about a tenth
    let c = case("concrete", "con-uno-aci-example");
    assert!(
        (pounds / c["expected"]["lb_ft2_h"].as_f64().unwrap() - 1.0).abs() < c["rel_tol"].as_f64().unwrap()
    );
}

#[test]
fn weather_limits_of_the_guide_specification() {
    let limits = WeatherLimits::default();
    let cold = case("concrete", "con-cold-ufgs")["expected"]["cold_threshold_f"].as_f64().unwrap();
    assert!((limits.cold_air_c - celsius(cold)).abs() < 1e-9);
    assert!(
        (limits.evaporation - case("concrete", "con-evap-limit")["expected"]["kg_m2_h"].as_f64().unwrap())
            .abs()
            < 1e-12
    );
    let day = |air_c, concrete_c, humidity, wind_km_h| Weather { air_c, concrete_c, humidity, wind_km_h };
    let warn = |w: Weather| check_weather(&w, &limits).unwrap().warnings;
    assert!(warn(day(20.0, 20.0, 0.6, 8.0)).is_empty());
    assert!(matches!(warn(day(4.0, 12.0, 0.9, 0.0))[..], [PourWarning::Cold { .. }]));
    assert!(matches!(
        warn(day(36.0, 36.0, 0.2, 30.0))[..],
        [PourWarning::HotConcrete { .. }, PourWarning::Evaporation { .. }]
    ));
    assert!(warn(day(-25.0, 10.0, 0.9, 0.0)).iter().any(|w| matches!(w, PourWarning::OutsideRange { .. })));
    assert_eq!(check_weather(&day(f64::NAN, 500.0, 1.5, -1.0), &limits).unwrap_err().len(), 4);
}

#[test]
fn faults_are_named_all_at_once() {
    let w = ReadyMix { increment: Nm3(0), truck: Nm3(-5), price: Decimal::from(-1), ..ready_mix() };
    let b = Bags { mixers: 0, hours_per_day: Decimal::ZERO, ..bags() };
    let faults =
        compare(Nm3(i128::MAX), Decimal::MAX, &[Way::ReadyMix(w), Way::Bags(b)], &CREW, 9).unwrap_err();
    assert_eq!(faults.len(), 8, "{faults:?}");
    assert_eq!(compare(YD3, Decimal::ZERO, &[], &CREW, 2).unwrap_err(), vec![PourFault::NoWays]);
    let ways = [Way::ReadyMix(ready_mix())];
    assert!(break_even(&ways, &CREW, Nm3(1), yd3("100"), 2).is_err());
    assert!(
        sequence(
            Nm3(i128::MAX),
            &Haul {
                truck: Nm3(1),
                batch_minutes: Decimal::ONE,
                travel_minutes: Decimal::ONE,
                place_per_hour: Nm3(1),
                limit_minutes: Decimal::ONE
            }
        )
        .is_err()
    );
}

proptest! {
    #[test]
    fn orders_never_round_down_and_never_gain_an_increment(need in 1_i128..10_000_000_000, inc in 1_i128..1_000_000) {
        let got = order(Nm3(need), Nm3(inc), Nm3(0)).unwrap().0;
        prop_assert!(got >= need && got - need < inc && got % inc == 0);
    }

    #[test]
    fn more_concrete_never_costs_less_in_bags_or_by_trailer(a in 1_i64..4_000, b in 1_i64..4_000) {
        let cost = |v: i64, way: Way| compare(volume(&json!(v as f64 / 1000.0), YD3), Decimal::ZERO, &[way], &CREW, 2).unwrap().ways[0].total;
        let (low, high) = (a.min(b), a.max(b));
        prop_assert!(cost(low, Way::Bags(bags())) <= cost(high, Way::Bags(bags())));
        prop_assert!(cost(low, Way::Mixer(trailer())) <= cost(high, Way::Mixer(trailer())));
    }
}
