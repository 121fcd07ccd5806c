//! Hire against a yard's published examples and plain trial.

use crate::cases::{decimal, read};
use crate::estimate::{book, estimate};
use crate::random::Dice;
use proptest::prelude::*;
use rillcast::compute::hire::{HireFault, Hired, Own, Rates, Stay, Stretch, charge, own_or_hire, plan};
use rillcast::compute::machines::plan::{OwningOut, Terms};
use rillcast::units::Amount;
use rillcast::wire::book::work::OwnTerms;
use rust_decimal::Decimal;
use serde_json::{Value, json};

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

/// One hour of the saw, as the crew takes at least by the step of the book.
#[test]
fn one_crew_hour_is_one() {
    let book = book(|book| {
        book["labor_rules"]["step"] = json!("1 hr");
        for rate in book["labor"].as_array_mut().unwrap().iter_mut().filter(|l| l["task"] == "saw_cut") {
            rate["setup"] = json!("30 min");
        }
    });
    let estimate = estimate(&book, |notes| {
        *notes = json!({"runs": [{"id": "r", "legs": [{"length": "5 ft"}], "channel_system": "channel-4-light", "crossing": "feet",
            "surface": {"kind": "concrete_slab", "thickness": "4 in"}, "outlets": [{"kind": "end", "id": "o", "at": "finish"}]}]});
    });
    let lines = estimate["cost_lines"].as_array().unwrap();
    let saw = lines.iter().find(|l| l["code"] == "walk-behind-saw").unwrap_or_else(|| panic!("{lines:#?}"));
    let basis = saw["basis"].as_str().unwrap();
    assert!(basis.starts_with("1 crew-hour of saw_cut at 8 h a day, rounded up to 1 half day"), "{basis}");
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
    assert_eq!(own_or_hire(&hired(&rates), &own, 1).unwrap_err().len(), 2);
}

#[test]
fn owning_pays_for_good_only_after_hire_stops_stepping_down() {
    // 6 days cost 600, a week 300: owning for 450 is cheaper on days 5 and 6, but for good only from the
    // second week
    let rates = Rates { day: Some(Decimal::from(100)), week: Some(Decimal::from(300)), ..Rates::default() };
    let own = Own { price: Decimal::from(290), resale: Decimal::ZERO, upkeep_per_day: Decimal::ZERO };
    assert_eq!(own_or_hire(&hired(&rates), &own, 60).unwrap().break_even_days, Some(3));
    let own = Own { price: Decimal::from(310), ..own };
    assert_eq!(own_or_hire(&hired(&rates), &own, 60).unwrap().break_even_days, Some(8));
}

/// Three days that cost nothing: for what does not look at the hire itself.
fn hired(rates: &Rates) -> Hired<'_> {
    Hired { rates, transport: Decimal::ZERO, days: 3, total: Decimal::ZERO, basis: "" }
}

fn terms<'b>(rates: Rates, transport: i64, own: &'b OwnTerms) -> Terms<'b> {
    Terms {
        machine: "",
        name: "rates given",
        rates,
        transport: Amount::from_minor(transport * 100),
        own: Some(own),
    }
}

fn to_own(price: i64, upkeep: i64) -> OwnTerms {
    OwnTerms {
        price: Amount::from_minor(price * 100),
        resale: None,
        upkeep_per_day: Some(Amount::from_minor(upkeep * 100)),
        horizon_days: None,
    }
}

fn figures(owning: &OwningOut) -> (i64, i64, bool) {
    (owning.hire.minor(), owning.own.minor(), owning.own_is_cheaper)
}

#[test]
fn owning_is_held_against_the_hire_that_is_planned() {
    // four stays: each pays its own day and its own way
    let rates = Rates { day: Some(Decimal::from(100)), week: Some(Decimal::from(150)), ..Rates::default() };
    let (own, days) = (to_own(500, 0), [0, 30, 60, 90].map(|n| Stretch { first: n, last: n }));
    let hire = terms(rates, 90, &own).for_stretches(&days, Stay::by_number).unwrap();
    assert_eq!(hire.total.minor(), 76_000);
    let owning = hire.owning.unwrap();
    assert_eq!(figures(&owning), (76_000, 50_000, true), "{}", owning.basis);
    assert!(owning.basis.contains(&hire.basis), "{}", owning.basis);

    // half a day is hired by the half day
    let rates = Rates { half_day: Some(Decimal::from(50)), day: Some(Decimal::from(90)), ..Rates::default() };
    let own = to_own(60, 5);
    let owning = terms(rates, 0, &own).for_half_days(1).unwrap().owning.unwrap();
    assert_eq!(figures(&owning), (5_000, 6_500, false), "{}", owning.basis);

    // the way to the site is paid for too
    let rates = Rates { day: Some(Decimal::from(100)), ..Rates::default() };
    let own = to_own(550, 0);
    let owning = terms(rates, 90, &own).for_half_days(10).unwrap().owning.unwrap();
    assert_eq!(figures(&owning), (59_000, 55_000, true), "{}", owning.basis);
    assert_eq!(owning.break_even_days, Some(5), "{}", owning.basis);
    assert!(
        owning.basis.ends_with(
            "from 5 days in one stay on: hire 5 days on site: 5 x day at 100 = 500, with 90.00 for transport 590.00; \
             own 550.00 - 0 + 0.00 x 5 days = 550.00"
        ),
        "{}",
        owning.basis
    );
}

#[test]
fn the_break_even_agrees_with_the_comparison() {
    let mut d = Dice::new(11);
    for _ in 0..200 {
        let rates = Rates {
            day: Some(Decimal::from(d.within(20, 120))),
            week: Some(Decimal::from(d.within(50, 600))),
            ..Rates::default()
        };
        let own = to_own(d.within(1, 3_000), d.within(0, 20));
        let terms = terms(rates, d.within(0, 200), &own);
        let at = |days: u32| terms.for_half_days(2 * days).unwrap().owning.unwrap();
        match at(1).break_even_days {
            Some(n) => {
                assert!(at(n).own_is_cheaper && at(n + 1).own_is_cheaper);
                assert!(n == 1 || !at(n - 1).own_is_cheaper, "{}", at(n).basis);
            }
            None => assert!(!at(365).own_is_cheaper),
        }
    }
}

/// Five and a half days of digging end on the Monday behind a weekend: the yard counts seven and a half.
#[test]
fn without_dates_the_days_off_between_two_weeks_of_work_are_hired_too() {
    let long = |notes: &mut Value| {
        notes["drain_lines"] = json!([{"id": "main", "from": [{"outlet": "drive-out"}], "pipe": "pipe-6", "depth": "4 ft 6 in",
            "legs": [{"length": "560 ft"}], "ends": {"kind": "discharges", "to": "swale"}}]);
        for gone in ["storm", "catchments"] {
            notes.as_object_mut().unwrap().remove(gone);
        }
    };
    let excavator = |change: fn(&mut Value)| {
        let found = estimate(&book(change), long);
        let lines = found["cost_lines"].as_array().unwrap();
        lines.iter().find(|l| l["code"] == "mini-excavator").unwrap()["basis"].as_str().unwrap().to_owned()
    };
    let calendar = excavator(|_| {});
    assert!(calendar.contains("rounded up to 11 half days; 15 half days on site"), "{calendar}");
    assert!(calendar.ends_with("cheapest mix: 1 x week + 1 x half day"), "{calendar}");
    let working = excavator(|b| {
        let machines = b["equipment"].as_array_mut().unwrap();
        machines.iter_mut().find(|m| m["code"] == "mini-excavator").unwrap()["days_per_week"] = json!(5);
    });
    assert!(
        working.contains("rounded up to 11 half days; cheapest mix: 1 x week + 1 x half day"),
        "{working}"
    );
}
