//! The order against its own promises, for any volume, waste and increment.

#![expect(clippy::unwrap_used, reason = "a test stops where the book or the order cannot be made")]

use super::ways::{Most, with_waste_up};
use super::{ConcreteOrder, WayOrder, increments, order};
use crate::domain::book::{BookRef, PriceBook};
use crate::domain::demo::{BOOK, NOTES, rains};
use crate::units::show::Show;
use crate::units::{Amount, Percent, Unit, UnitSystem, Volume};
use crate::wire::Code;
use proptest::prelude::*;
use serde_json::{Value, json};

fn book_with(change: impl Fn(&mut Value)) -> PriceBook {
    let mut book: Value = serde_json::from_str(BOOK).unwrap();
    change(&mut book);
    PriceBook::check(crate::wire::read_value(&book).unwrap()).unwrap()
}

fn thousandths_of_yard(n: i64) -> Volume {
    Volume::from_nm3(Unit::Yd3.factor().unwrap() / 1000 * i128::from(n))
}

fn ordered(net: Volume, wish: Option<&str>, book: &PriceBook) -> ConcreteOrder {
    let wish = wish.map(|w| Code::new(w).unwrap());
    order(net, Percent::whole(10), wish.as_ref(), book, Show(UnitSystem::Us)).unwrap()
}

fn way<'o>(order: &'o ConcreteOrder, code: &str) -> &'o WayOrder {
    order.ways.iter().find(|w| w.code == code).unwrap()
}

fn line_texts(way: &WayOrder) -> Vec<String> {
    way.lines.iter().map(|l| format!("{}: {} x {} = {}", l.rule, l.quantity, l.unit_price, l.cost)).collect()
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn never_below_the_need_never_a_whole_increment_above(
        net in 0_i128..100_000_000_000_000_000_000_000_000_000_000,
        waste in 0_i64..10_000_000,
        increment in 1_000_000_000_000_000_000_000_i128..1_000_000_000_000_000_000_000_000_000,
    ) {
        let (above, below) = Percent::from_millionths(waste).on_top().reduced();
        let steps = increments(Volume::from_nm3(net), Percent::from_millionths(waste), Volume::from_nm3(increment));
        if let (Some(n), Some(need)) = (steps, net.checked_mul(above)) {
            let covered = i128::from(n) * increment;
            prop_assert!(covered.checked_mul(below).is_none_or(|c| c >= need));
            prop_assert!(n == 0 || (covered - increment) * below < need);
        }
    }

    #[test]
    fn every_way_holds_together(net in 1_i64..40_000, below in 0_i64..6, flat in proptest::bool::ANY) {
        let book = book_with(|b| {
            let kind = if flat { "flat" } else { "per_missing" };
            b["concrete_ways"][0]["short_load"] =
                json!({"kind": kind, "below": format!("{below} yd3"), "charge": "35.00"});
        });
        let net = thousandths_of_yard(net);
        let answer = ordered(net, None, &book);
        let need = Percent::whole(10).on_top().of(net);
        let cheapest = answer.ways.iter().map(|w| w.all_in).min().unwrap();
        prop_assert_eq!(answer.chosen_way().unwrap().all_in, cheapest);
        for way in &answer.ways {
            prop_assert!(way.volume >= need, "{}", way.code);
            for line in &way.lines {
                prop_assert_eq!(line.cost, line.unit_price.times(line.quantity.value()), "{}", line.rule);
                prop_assert!(!line.basis.is_empty() && crate::compute::rules::find(line.rule).is_some());
            }
            let lines: Amount = way.lines.iter().map(|l| l.cost).sum();
            let apart = if way.code == "trailer" { Amount::ZERO } else { way.extra_labor_cost };
            let work = apart + way.extra_hire_cost + way.placing_cost;
            prop_assert_eq!(way.all_in, lines + work + way.purchase_tax, "{}", way.code);
        }
        let truck = way(&answer, "ready-mix");
        let brought: rust_decimal::Decimal = truck.load_sizes.iter().map(|l| l.value()).sum();
        prop_assert_eq!(brought, truck.order.value());
        prop_assert!(truck.trucked.iter().all(|l| *l <= thousandths_of_yard(10_000)));
    }
}

#[test]
fn the_units_of_the_answer_do_not_change_the_order() {
    let book = book_with(|_| ());
    let net = thousandths_of_yard(2_345);
    let us = order(net, Percent::whole(10), None, &book, Show(UnitSystem::Us)).unwrap();
    let metric = order(net, Percent::whole(10), None, &book, Show(UnitSystem::Metric)).unwrap();
    let orders = |o: &ConcreteOrder| {
        o.ways.iter().map(|w| (w.code.clone(), w.order, w.volume, w.all_in)).collect::<Vec<_>>()
    };
    assert_eq!(orders(&us), orders(&metric));
}

#[test]
fn a_truck_is_paid_for_delivery_short_load_and_waiting() {
    let book = book_with(|b| {
        b["concrete_ways"][0]["short_load"] = json!({"kind": "flat", "below": "7 yd3", "charge": "90.00"});
        b["concrete_ways"][0]["unloading_per_unit"] = json!("10 min");
        b["concrete_ways"][0]["free_unloading"] = json!("30 min");
    });
    // 10.5 net with 10 % is 11.55: 11.75 yd³ in a load of 10 and one of 1.75.
    // The first takes 100 min, 70 beyond the free ones; the last 17.5 min. Two alike would both be short.
    let answer = ordered(thousandths_of_yard(10_500), Some("ready-mix"), &book);
    let truck = way(&answer, "ready-mix");
    assert_eq!(
        line_texts(truck),
        [
            "concrete.order: 11.75 yd3 x 172.00 = 2021.00",
            "concrete.delivery: 2 x 65.00 = 130.00",
            "concrete.short_load: 1 x 90.00 = 90.00",
            "concrete.waiting: 1.166667 hr x 120.00 = 140.00",
        ]
    );
    assert!(truck.warnings[0].contains("1.75 yd3"), "{:?}", truck.warnings);
}

/// Ten minutes at 500.00 an hour are 83.33, not what 0.1667 h would come to.
#[test]
fn waiting_is_paid_by_the_minute() {
    let book = book_with(|b| {
        b["concrete_ways"][0]["unloading_per_unit"] = json!("10 min");
        b["concrete_ways"][0]["free_unloading"] = json!("30 min");
        b["concrete_ways"][0]["waiting_per_hour"] = json!("500.00");
    });
    let answer = order(thousandths_of_yard(4_000), Percent::ZERO, None, &book, Show(UnitSystem::Us)).unwrap();
    let lines = line_texts(way(&answer, "ready-mix"));
    assert_eq!(lines.last().unwrap(), "concrete.waiting: 0.166667 hr x 500.00 = 83.33");
}

#[test]
fn the_least_order_holds() {
    let answer = ordered(thousandths_of_yard(300), None, &book_with(|_| ()));
    let truck = way(&answer, "ready-mix");
    assert_eq!(truck.order.to_string(), "1 yd3");
    assert!(truck.lines[0].basis.ends_with("rounded up to 2 x 0.25 yd3; the least order is 1 yd3"));
}

#[test]
fn bags_count_mixing_and_the_mixer_but_an_owned_mixer_is_free() {
    let net = thousandths_of_yard(1_000);
    let hired = ordered(net, None, &book_with(|_| ()));
    let bags = way(&hired, "bags-80");
    // 29.7 ft³ at 0.60: 50 bags of 7.95. Half an hour of setup and 3 h of mixing are 1.75 h by two at 34.155; half a day of the
    // mixer. Placing 1.1111 yd³ is 0.75 + 1.0556 h, so 0.75 h by an installer at 47.61 and two at 34.155. Tax on the bags.
    // The volume stands alone: plain conditions.
    assert_eq!(line_texts(bags), ["concrete.bags: 50 x 7.95 = 397.50"]);
    assert_eq!(bags.extra_hours.to_string(), "3.5 hr");
    assert_eq!(bags.extra_trade.as_deref(), Some("laborer"));
    assert_eq!(bags.extra_labor_cost.to_string(), "119.54");
    assert_eq!(bags.extra_hire_cost.to_string(), "52.00");
    assert_eq!(
        (bags.placing_cost.to_string(), bags.purchase_tax.to_string()),
        ("86.94".into(), "24.84".into())
    );
    assert_eq!(bags.all_in.to_string(), "680.82");
    assert!(bags.work_basis.contains("; plain conditions: "), "{}", bags.work_basis);
    assert_eq!(bags.loads, 2, "pallets of 42");
    let owned = ordered(net, None, &book_with(|b| b["equipment"][5]["owned"] = json!(true)));
    assert_eq!(way(&owned, "bags-80").all_in.to_string(), "628.82");
}

#[test]
fn a_trailer_is_paid_by_the_trip() {
    // 1.65 yd³ ordered as 1.75: two trips of 1.25 h each at 34.155.
    let answer = ordered(thousandths_of_yard(1_500), None, &book_with(|_| ()));
    assert_eq!(
        line_texts(way(&answer, "trailer")),
        [
            "concrete.trips: 1.75 yd3 x 214.00 = 374.50",
            "concrete.hire: 2 x 45.00 = 90.00",
            "concrete.labor: 2.5 hr x 34.155 = 85.39",
        ]
    );
}

#[test]
fn a_wish_is_followed_and_its_price_is_told() {
    let book = book_with(|_| ());
    let net = thousandths_of_yard(2_100);
    let answer = ordered(net, Some("trailer"), &book);
    assert_eq!(answer.chosen.as_deref(), Some("trailer"));
    assert_eq!(answer.because, "asked for in the notes; `ready-mix` would be 156.80 cheaper");
    let unknown = Code::new("pump").unwrap();
    let refused = order(net, Percent::ZERO, Some(&unknown), &book, Show(UnitSystem::Us)).unwrap_err();
    assert_eq!(refused.list()[0].code, "unknown_code");
    assert!(refused.list()[0].allowed.contains(&"ready-mix".to_owned()));
}

#[test]
fn no_concrete_no_order() {
    let answer = ordered(Volume::ZERO, None, &book_with(|_| ()));
    assert_eq!((answer.chosen, answer.ways.len()), (None, 0));
}

#[test]
fn an_order_beyond_reckoning_is_refused_not_cut_short() {
    let book = book_with(|b| b["concrete_ways"][3]["capacity"] = json!("0.25 yd3"));
    let refused =
        order(Volume::LARGEST, Percent::ZERO, None, &book, Show(UnitSystem::Us)).unwrap_err().to_string();
    assert!(refused.contains("out_of_range"), "{refused}");
}

#[test]
fn the_most_that_is_told_goes_and_a_hundredth_more_does_not() {
    // 999.9999 % has the longest fraction, so that exact numbers end before the loads of bags do.
    for (i, code, waste) in [
        (0, "ready-mix", 82_500),
        (0, "ready-mix", 0),
        (3, "trailer", 82_500),
        (3, "trailer", 1_000_000),
        (1, "bags-60", 9_999_999),
    ] {
        let book = book_with(|b| b["concrete_ways"] = json!([b["concrete_ways"][i]]));
        let waste = Percent::from_millionths(waste);
        let order = |net| order(net, waste, None, &book, Show(UnitSystem::Us));
        let most = Most::of(&book.doc().concrete_ways[0], waste, Unit::Yd3);
        assert_eq!(most.by_loads, code != "bags-60");
        assert_eq!(order(most.net).unwrap().ways[0].code, code);
        let refused = order(most.net + thousandths_of_yard(10)).unwrap_err();
        assert_eq!(refused.list()[0].allowed, [format!("at most {}", Show(UnitSystem::Us).volume(most.net))]);
    }
}

#[test]
fn notes_that_pour_too_much_are_told_so_as_the_member_they_are() {
    let book = book_with(|b| {
        b["concrete_ways"][3]["increment"] = json!("0.001 yd3");
        b["concrete_ways"][3]["capacity"] = json!("0.001 yd3");
    });
    let notes: Value = serde_json::from_str(NOTES).unwrap();
    let request = crate::wire::read_value(&json!({"notes": notes, "waste_pct": "1000"})).unwrap();
    let used = BookRef { version_id: "v".to_owned(), name: "demo".to_owned(), number: 1 };
    let refused = crate::compute::order_concrete::concrete(&request, &book, &used, &rains().unwrap());
    let refused = refused.unwrap_err();
    let fault = &refused.list()[0];
    assert_eq!((refused.len(), fault.pointer.as_str(), fault.code), (1, "#/notes", "out_of_range"));
    assert_eq!((&fault.value, fault.allowed.as_slice()), (&None, &["at most 0.9 yd3".to_owned()][..]));
}

/// What must be there is never cut short: of 1 nm³ with 10 % a whole second one.
#[test]
fn a_need_with_waste_is_rounded_up() {
    let need = |nm3: i128| with_waste_up(Volume::from_nm3(nm3), Percent::whole(10)).map(Volume::nm3);
    assert_eq!([need(0), need(1), need(10), need(11)], [0, 2, 11, 13].map(Some));
}
