//! Concrete orders, bags, loads, weights, boards.

use crate::support::{Cases, base, book, in_unit, length, near, number, used, volume};
use rillcast::compute::concrete::increments;
use rillcast::compute::needs::weigh;
use rillcast::compute::takeoff::boards::board_feet;
use rillcast::domain::book::PriceBook;
use rillcast::domain::demo::BOOK;
use rillcast::units::quantity::Mass;
use rillcast::units::{Percent, Unit, Volume};
use rillcast::wire::calc::ConcreteRequest;
use rust_decimal::prelude::ToPrimitive;
use serde_json::{Value, json};

fn cases() -> Cases {
    Cases::of(include_str!("cases/concrete.json"))
}

fn percent(share: f64) -> Percent {
    Percent::from_millionths((share * 1e6).round() as i64)
}

fn list(case: &Value, pointer: &str) -> Vec<f64> {
    let list = case.pointer(pointer).and_then(Value::as_array).expect("a list");
    list.iter().map(|v| v.as_f64().expect("a number")).collect()
}

fn ordered(net: Volume, waste: Percent, step: f64) -> f64 {
    let step_volume = volume(step, Unit::Yd3);
    increments(net, waste, step_volume).expect("an order") as f64 * step
}

#[test]
fn the_worked_volume_of_a_foundation() {
    let cases = cases();
    let case = cases.get("con-ea-volume");
    let parts = case["inputs"]["parts_ft"].as_array().expect("parts");
    let mut total = Volume::ZERO;
    for (part, printed) in parts.iter().zip(list(case, "/expected/parts_cf")) {
        let d: Vec<f64> =
            part.as_array().expect("sizes").iter().map(|v| v.as_f64().expect("a size")).collect();
        let one = length(d[0], Unit::Ft) * length(d[1], Unit::Ft) * length(d[2], Unit::Ft) * (d[3] as i64);
        near(in_unit(one.nm3(), Unit::Ft3), printed, case);
        total += one;
    }
    near(in_unit(total.nm3(), Unit::Ft3), number(case, "/expected/total_cf"), case);
    let waste = percent(number(case, "/inputs/waste"));
    let with = waste.on_top().of(total);
    near(in_unit(with.nm3(), Unit::Ft3), number(case, "/expected/total_with_waste_cf"), case);
    near(in_unit(with.nm3(), Unit::Yd3), number(case, "/expected/cy_exact"), case);
    let rounding = cases.get("con-order-round");
    let steps = list(rounding, "/inputs/increments_cy");
    for (step, want) in steps.into_iter().zip(list(rounding, "/expected/order_cy")) {
        near(ordered(total, waste, step), want, rounding);
        let need = volume(number(rounding, "/inputs/need_cy"), Unit::Yd3);
        near(ordered(need, Percent::ZERO, step), want, rounding);
    }
}

#[test]
fn an_exact_multiple_gains_no_increment() {
    let cases = cases();
    let case = cases.get("con-order-exact-multiple");
    let need = volume(number(case, "/inputs/need_cy"), Unit::Yd3);
    near(
        ordered(need, Percent::ZERO, number(case, "/inputs/increment_cy")),
        number(case, "/expected/order_cy"),
        case,
    );
    let case = cases.get("con-order-float-trap");
    let net = length(number(case, "/inputs/length_ft"), Unit::Ft)
        * length(number(case, "/inputs/width_in"), Unit::In)
        * length(number(case, "/inputs/depth_in"), Unit::In);
    let got = ordered(net, percent(number(case, "/inputs/waste")), number(case, "/inputs/increment_cy"));
    near(got, number(case, "/expected/order_cy"), case);
}

fn ask(request: Value) -> rillcast::compute::answers::ConcreteAnswer {
    ask_of(request, &book())
}

fn ask_of(request: Value, book: &PriceBook) -> rillcast::compute::answers::ConcreteAnswer {
    let request: ConcreteRequest = rillcast::wire::read_value(&request).unwrap_or_else(|e| panic!("{e}"));
    rillcast::compute::order_concrete::concrete(
        &request,
        book,
        &used(),
        &rillcast::domain::demo::rains().unwrap(),
    )
    .unwrap_or_else(|e| panic!("{e}"))
}

#[test]
fn bags_by_their_label() {
    let cases = cases();
    let yard = volume(1.0, Unit::Yd3);
    for id in ["con-bag-40lb", "con-bag-50lb", "con-bag-60lb", "con-bag-80lb", "con-bag-90lb"] {
        let case = cases.get(id);
        let yields = volume(number(case, "/expected/yield_cf"), Unit::Ft3);
        let bags = increments(yard, Percent::ZERO, yields).expect("bags");
        near(bags as f64, number(case, "/expected/bags_per_cy"), case);
    }
    let case = cases.get("con-bags-count");
    let answer = ask(json!({"volume": "2.7 ft3", "waste_pct": "0"}));
    for (way, pointer) in [("bags-60", "/expected/bags_60lb"), ("bags-80", "/expected/bags_80lb")] {
        let order = answer.concrete.ways.iter().find(|w| w.code == way).expect("the way");
        near(order.bags as f64, number(case, pointer), case);
    }
}

#[test]
fn loads_and_a_short_last_one() {
    let cases = cases();
    let case = cases.get("con-loads");
    // The demo book's truck takes 10 yd³, and a load below 4 yd³ is short, as in the case. Where nothing is charged for it the trucks
    // are filled.
    let mut doc: Value = serde_json::from_str(BOOK).unwrap();
    let trucks = doc["concrete_ways"][0].as_object_mut().unwrap();
    trucks.remove("waiting_per_hour");
    trucks["short_load"]["charge"] = json!("0.00");
    let free = PriceBook::check(rillcast::wire::read_value(&doc).unwrap()).unwrap_or_else(|e| panic!("{e}"));
    let answer = ask_of(json!({"volume": "21.5 yd3", "waste_pct": "0"}), &free);
    let order = answer.concrete.ways.iter().find(|w| w.code == "ready-mix").expect("the way");
    near(order.loads as f64, number(case, "/expected/loads"), case);
    let last = order.load_sizes.last().expect("a load").value().to_f64().expect("a number");
    near(last, number(case, "/expected/last_load_cy"), case);
    assert!(order.lines.iter().any(|l| l.rule == "concrete.short_load"), "{:?}", order.lines);
    assert!(!order.warnings.is_empty());
}

#[test]
fn weight_coverage_and_waste() {
    let cases = cases();
    let case = cases.get("con-weight");
    let weight = weigh(volume(number(case, "/inputs/cy"), Unit::Yd3), Mass::pounds(150));
    near(in_unit(weight.base(), Unit::Lb), number(case, "/expected/lb"), case);
    let case = cases.get("con-coverage");
    let areas = list(case, "/expected/sf_per_cy");
    for (thickness, area) in list(case, "/inputs/thickness_in").into_iter().zip(areas) {
        let covered = rillcast::units::Area::from_nm2(base(area, Unit::Ft2));
        let poured = covered * length(thickness, Unit::In);
        assert_eq!(poured.nm3(), base(1.0, Unit::Yd3), "{thickness} in");
    }
    let case = cases.get("con-army-waste");
    // The share is a setting: 10 % up to 200 yd³, 5 % above.
    let wants = list(case, "/expected/with_waste_cy");
    for (net, want) in list(case, "/inputs/cy").into_iter().zip(wants) {
        let waste = if net > 200.0 { Percent::whole(5) } else { Percent::whole(10) };
        near(in_unit(waste.on_top().of(volume(net, Unit::Yd3)).nm3(), Unit::Yd3), want, case);
    }
}

#[test]
fn board_feet_of_nominal_lumber() {
    for case in cases().like("con-bf-") {
        let (t, w) = (number(case, "/inputs/t_in"), number(case, "/inputs/w_in"));
        let l = number(case, "/inputs/l_ft");
        let got = board_feet(length(t, Unit::In), length(w, Unit::In), length(l, Unit::Ft));
        near(got.to_f64().expect("a number"), number(case, "/expected/board_feet"), case);
    }
}
