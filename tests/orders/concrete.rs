//! Concrete by pour days against published cases, sums by hand and its own promises.

use crate::cases::{case, decimal, volume};
use proptest::prelude::*;
use rillcast::compute::concrete::weather::{Weather, WeatherLimits, evaporation_rate};
use rillcast::compute::concrete::{increments, order};
use rillcast::compute::order_concrete::concrete;
use rillcast::domain::book::{BookRef, PriceBook};
use rillcast::domain::demo::{BOOK, rains};
use rillcast::units::show::Show;
use rillcast::units::{Percent, Unit, UnitSystem, Volume};
use rust_decimal::Decimal;
use serde_json::{Value, json};

/// A book of three ways: 150 a yard from the plant, bags of 0.6 ft³ at 6, a trailer at 190 a yard.
fn book_with(change: impl FnOnce(&mut Value)) -> PriceBook {
    let mut book: Value = serde_json::from_str(BOOK).unwrap();
    for (code, price) in [("ready-mix-4000", "150.00"), ("bag-80", "6.00"), ("trailer-mix", "190.00")] {
        let items = book["items"].as_array_mut().unwrap();
        items.iter_mut().find(|i| i["code"] == code).unwrap()["price"] = json!(price);
    }
    book["concrete_ways"] = json!([
        {"kind": "ready_mix", "code": "plant", "name": "Plant", "item": "ready-mix-4000", "increment": "0.25 yd3",
         "least_order": "1 yd3", "short_load": {"kind": "per_missing", "below": "4 yd3", "charge": "40.00"},
         "truck_capacity": "10 yd3", "delivery_per_load": "25.00", "free_unloading": "60 min",
         "waiting_per_hour": "120.00", "unloading_per_unit": "7.5 min", "batching": "10 min", "travel": "20 min"},
        {"kind": "bags", "code": "bags", "name": "80 lb bags", "item": "bag-80", "bag_weight": "80 lb",
         "bag_yield": "0.6 ft3", "bags_per_pallet": 42, "mixing_per_bag": "4 min", "trade": "laborer",
         "pallet_price": "230.00", "delivery": "30.00", "delivery_per_pallet": "15.00"},
        {"kind": "trailer", "code": "trailer", "name": "Trailer", "item": "trailer-mix", "increment": "0.25 yd3",
         "least_order": "0.5 yd3", "capacity": "1.25 yd3", "hire_per_trip": "45.00", "trip_time": "50 min",
         "trade": "laborer", "people": 2}
    ]);
    change(&mut book);
    PriceBook::check(rillcast::wire::read_value(&book).unwrap()).unwrap()
}

fn ask_of(book: &PriceBook, body: Value) -> Value {
    let request = rillcast::wire::read_value(&body).unwrap();
    let used = BookRef { version_id: "pbv_x".to_owned(), name: "Demo".to_owned(), number: 1 };
    let answer = concrete(&request, book, &used, &rains().unwrap()).unwrap_or_else(|e| panic!("{e}"));
    serde_json::to_value(&answer).unwrap()["concrete"].take()
}

fn ask(body: Value) -> Value {
    ask_of(&book_with(|_| ()), body)
}

#[track_caller]
fn number(v: &Value) -> Decimal {
    v.as_str().or_else(|| v["value"].as_str()).unwrap_or_else(|| panic!("{v}")).parse().unwrap()
}

fn way<'a>(order: &'a Value, code: &str) -> &'a Value {
    order["ways"].as_array().unwrap().iter().find(|w| w["code"] == code).unwrap()
}

fn costs(way: &Value) -> Vec<String> {
    way["lines"]
        .as_array()
        .unwrap()
        .iter()
        .map(|l| format!("{} {}", l["rule"].as_str().unwrap(), l["cost"].as_str().unwrap()))
        .collect()
}

#[test]
fn the_manuals_order_rounds_up() {
    let c = case("concrete", "con-order-round");
    let net = volume(&case("concrete", "con-ea-volume")["expected"]["total_cf"], Unit::Ft3);
    let steps = c["inputs"]["increments_cy"].as_array().unwrap();
    for (step, expected) in steps.iter().zip(c["expected"]["order_cy"].as_array().unwrap()) {
        let step_volume = volume(step, Unit::Yd3);
        let count = increments(net, Percent::whole(10), step_volume).unwrap();
        assert_eq!(Decimal::from(count) * decimal(step), decimal(expected));
    }
}

#[test]
fn each_way_by_hand() {
    let answer = ask(json!({"volume": "21.5 yd3", "waste_pct": "0"}));
    // A last load of 1.5 would miss 2.5 of 4, and full trucks take 75 min, 15 beyond the free hour, twice: alike none of it is due.
    assert_eq!(costs(way(&answer, "plant")), ["concrete.order 3225.00", "concrete.delivery 75.00"]);
    assert_eq!(
        way(&answer, "plant")["lines"][0]["basis"],
        "21.5 yd3 x (1 + 0 %) = 21.5 yd3, rounded up to 86 x 0.25 yd3; sent as 2 x 7.25 yd3 + 1 x 7 yd3, which costs 160.00 less \
         than 2 x 10 yd3 + 1 x 1.5 yd3"
    );
    // 2.5 yd³ are 67.5 ft³: 113 bags, two pallets of 42 at 230 and 29 at 6 are 634; three pallets would be 690, and all
    // singly 678. Three pallets are begun.
    let answer = ask(json!({"volume": "2.5 yd3", "waste_pct": "0"}));
    assert_eq!(
        costs(way(&answer, "bags")),
        [
            "concrete.bags 460.00",
            "concrete.bags 174.00",
            "concrete.delivery 30.00",
            "concrete.delivery 45.00"
        ]
    );
    let sold = book_with(|b| b["concrete_ways"][1]["whole_pallets"] = json!(true));
    let whole = ask_of(&sold, json!({"volume": "2.5 yd3", "waste_pct": "0"}));
    assert_eq!(way(&whole, "bags")["order"], json!({"value": "126", "unit": "each"}));
    assert_eq!(costs(way(&whole, "bags"))[0], "concrete.bags 690.00");
    // Two trips of 50 min by two people at 34.155; the least the trailer is filled with is half a yard.
    assert_eq!(
        costs(way(&answer, "trailer")),
        ["concrete.trips 475.00", "concrete.hire 90.00", "concrete.labor 113.85"]
    );
    let little = ask(json!({"volume": "0.1 yd3", "waste_pct": "0"}));
    assert_eq!(way(&little, "trailer")["order"], json!({"value": "0.5", "unit": "yd3"}));
}

#[test]
fn the_pours_of_a_day_are_ordered_together() {
    let pours = |days: [i64; 3]| {
        let list: Vec<Value> = ["a", "b", "c"]
            .iter()
            .zip(days)
            .map(|(name, day)| json!({"name": name, "volume": "2.1 yd3", "day": day}))
            .collect();
        ask(json!({"pours": list, "waste_pct": "0", "concrete_way": "plant"}))
    };
    let two = pours([1, 1, 4]);
    let days = two["days"].as_array().unwrap();
    assert_eq!(days.iter().map(|d| d["day"].as_i64().unwrap()).collect::<Vec<_>>(), [1, 4]);
    let ordered = |d: &Value| number(&way(d, "plant")["order"]);
    assert_eq!((ordered(&days[0]), ordered(&days[1])), (Decimal::new(425, 2), Decimal::new(225, 2)));
    // By hand: 4.25 at 150 and a delivery are 662.50; placing takes 0.75 + 4.0375 h, by three 1.75 h, which is 202.86; tax of
    // 6.25 % is 41.41. 2.25 with 1.75 missing at 40 and a delivery are 432.50; 1 h of placing 115.92; tax 27.03.
    assert_eq!(
        (number(&days[0]["all_in"]), number(&days[1]["all_in"])),
        (Decimal::new(90_677, 2), Decimal::new(57_545, 2))
    );
    let compared = |o: &Value, member: &str| number(&o["compared"][member]);
    assert_eq!(compared(&two, "as_planned"), Decimal::new(148_222, 2));
    assert_eq!(compared(&two, "each_alone"), Decimal::new(3 * 57_545, 2));
    // 6.3 as 6.5 in one truck for 1,000; 2.5 h of placing are 289.81, tax 62.50.
    assert_eq!(compared(&two, "all_together"), Decimal::new(135_231, 2));
    assert_eq!(two["compared"]["pours"].as_array().unwrap().len(), 3);
    // The whole is the sum of its days, each line said to be of its day.
    let whole = way(&two, "plant");
    assert_eq!(number(&whole["all_in"]), compared(&two, "as_planned"));
    assert_eq!((ordered(&two), whole["loads"].as_i64()), (Decimal::new(65, 1), Some(2)));
    assert!(
        whole["lines"]
            .as_array()
            .unwrap()
            .iter()
            .all(|l| l["basis"].as_str().unwrap().starts_with("pour day "))
    );
    let one = pours([1, 1, 1]);
    assert_eq!(compared(&one, "as_planned"), compared(&one, "all_together"));
    assert_eq!(number(&way(&one, "plant")["all_in"]), Decimal::new(135_231, 2));
}

#[test]
fn a_short_last_load_is_compared_and_dealt_with_as_wished() {
    // Two trucks alike would both be short.
    let book = book_with(|b| {
        b["concrete_ways"][0]["short_load"] = json!({"kind": "flat", "below": "6 yd3", "charge": "140.00"});
    });
    let ask = |body: Value| ask_of(&book, body);
    let body = |wish: Option<&str>| {
        let mut body = json!({"volume": "10.3 yd3", "waste_pct": "0", "concrete_way": "plant"});
        if let Some(wish) = wish {
            body["concrete"] = json!({"short_last_load": wish});
        }
        ask(body)
    };
    let answer = body(None);
    let choices = answer["days"][0]["last_load"].as_array().unwrap().clone();
    let find = |what: &str| choices.iter().find(|c| c["what"] == what).unwrap();
    // 10.5 at 150, a short load, two loads at 25, 15 min of waiting at 2; 3.75 h of placing by three; tax of 6.25 %.
    assert_eq!(
        number(&find("as_is")["all_in"]),
        Decimal::from(1_575 + 140 + 50 + 30) + Decimal::new(43_470 + 11_219, 2)
    );
    assert_eq!(find("as_is")["chosen"], true);
    // 16 at 150, two loads of 8 that need not wait; 5.5 h of placing, 375.71 and 261.86 by trade; tax.
    assert_eq!(
        number(&find("order_more")["all_in"]),
        Decimal::from(2_400 + 50) + Decimal::new(63_757 + 15_313, 2)
    );
    // 10 at 150, one load, waiting; 0.3 yd³ are 8.1 ft³, so 14 bags at 6 delivered for 30 + 15; mixing takes 0.5 +
    // 14 x 0.06 h, by two 0.75 h at 34.155; half a day of the mixer at 52; 3.75 h of placing; tax on what is bought.
    let bags = find("bags");
    assert_eq!((bags["loads"].as_i64(), bags["bags"].as_i64()), (Some(1), Some(14)));
    let work = Decimal::new(5_123 + 43_470 + 10_525, 2);
    let by_bags = Decimal::from(1_500 + 25 + 30 + 84 + 45 + 52) + work;
    assert_eq!(number(&bags["all_in"]), by_bags);
    assert_eq!(choices.iter().filter(|c| c["cheapest"] == true).count(), 1);
    assert_eq!(bags["cheapest"], true);
    // As wished, the order is made so and costs what its choice says.
    for (wish, what) in
        [("as_is", "as_is"), ("order_more", "order_more"), ("bags", "bags"), ("cheapest", "bags")]
    {
        let answer = body(Some(wish));
        let chosen =
            answer["days"][0]["last_load"].as_array().unwrap().iter().find(|c| c["chosen"] == true).unwrap();
        assert_eq!(chosen["what"], what);
        assert_eq!(way(&answer, "plant")["all_in"], chosen["all_in"]);
        assert_eq!(answer["days"][0]["all_in"], chosen["all_in"]);
    }
    assert!(
        ask(json!({"volume": "18 yd3", "waste_pct": "0", "concrete_way": "plant"}))["days"][0]["last_load"]
            .is_null()
    );
}

/// The cures of a short last load at their limits: common practice, no source.
#[test]
fn a_cure_may_just_fill_a_truck_or_just_meet_the_least_order() {
    let cures = |volume: &str, change: fn(&mut Value)| -> Vec<String> {
        let body = json!({"volume": volume, "waste_pct": "0", "concrete_way": "plant"});
        let answer = ask_of(&book_with(change), body);
        let choices = answer["days"][0]["last_load"].as_array().unwrap();
        choices
            .iter()
            .map(|c| format!("{} {}", c["what"].as_str().unwrap(), number(&c["order"]).normalize()))
            .collect()
    };
    // What is below a full truck is short: 12 yd³ are raised to two full ones, or one is filled and bags take 2.
    let full = |b: &mut Value| {
        b["concrete_ways"][0]["short_load"] = json!({"kind": "flat", "below": "10 yd3", "charge": "140.00"});
    };
    assert_eq!(cures("12 yd3", full), ["as_is 12", "order_more 20", "bags 10"]);
    // One full truck of 10 is just the least order.
    let least = |b: &mut Value| {
        b["concrete_ways"][0]["short_load"] = json!({"kind": "flat", "below": "10 yd3", "charge": "140.00"});
        b["concrete_ways"][0]["least_order"] = json!("10 yd3");
    };
    assert_eq!(cures("12 yd3", least), ["as_is 12", "order_more 20", "bags 10"]);
}

/// 9.25 yd³ at 7.55 min a yard take 4190.25 s to unload: 591 s begun beyond the hour that is free, at 120 an hour
/// 0.164167 h x 120 = 19.70.
#[test]
fn a_second_of_waiting_that_is_begun_is_paid() {
    let book = book_with(|b| b["concrete_ways"][0]["unloading_per_unit"] = json!("7.55 min"));
    let answer = ask_of(&book, json!({"volume": "9.25 yd3", "waste_pct": "0", "concrete_way": "plant"}));
    let lines = way(&answer, "plant")["lines"].as_array().unwrap();
    let waiting = lines.iter().find(|l| l["description"] == "Waiting").unwrap();
    assert_eq!((number(&waiting["quantity"]), &waiting["cost"]), (Decimal::new(164_167, 6), &json!("19.70")));
}

#[test]
fn trucks_keep_the_time_limit_or_are_named() {
    // The limit of the demo book is the figure of ASTM C94 until its 2021 edition.
    let c94 = &case("concrete", "con-c94")["expected"]["default_limit_min_1933_to_2021"];
    let body = |travel: &str| json!({"volume": "25 yd3", "waste_pct": "0", "concrete_way": "plant", "concrete": {"plant_travel": travel}});
    // Who pays no waiting fills the trucks. 10 + 5 + 75 min are 90: the limit is kept to the minute.
    let free = book_with(|b| {
        b["concrete_ways"][0].as_object_mut().unwrap().remove("waiting_per_hour");
    });
    let ask = |body: Value| ask_of(&free, body);
    let kept = ask(body("5 min"))["days"][0]["trucks"].clone();
    assert_eq!(number(&kept["time_limit"]), decimal(c94));
    assert_eq!(kept["within_limit"], true);
    assert!(kept["trucks"].as_array().unwrap().iter().all(|t| t["within_limit"] == true), "{kept:#}");
    // 75 min are left for 10 yd³; by 5 min a yard they would do for 15, more than a truck carries.
    assert_eq!(number(&kept["largest_load"]), Decimal::from(10));
    let fast = book_with(|b| {
        b["concrete_ways"][0].as_object_mut().unwrap().remove("waiting_per_hour");
        b["concrete_ways"][0]["unloading_per_unit"] = json!("5 min");
    });
    let fast = ask_of(&fast, body("5 min"))["days"][0]["trucks"].clone();
    assert_eq!(number(&fast["largest_load"]), Decimal::from(10));
    assert_eq!(number(&kept["interval"]), Decimal::from(75));
    // A round of 10 + 5 + 75 + 5 = 95 min takes two trucks at a time.
    assert_eq!(kept["trucks_at_once"], 2);
    let trucks = kept["trucks"].as_array().unwrap();
    assert_eq!(trucks.iter().map(|t| number(&t["load"])).collect::<Vec<_>>(), [10, 10, 5].map(Decimal::from));
    assert!(trucks.windows(2).all(|w| w[0]["empty_at"] == w[1]["arrives_at"]));
    assert_eq!(number(&trucks[1]["batched_at"]), Decimal::from(60));
    let late = ask(body("35 min"))["days"][0]["trucks"].clone();
    // Full trucks are 120 min old when empty, the half one 82.5; 45 min are left for 6 yd³ at 7.5.
    let ages: Vec<Decimal> = late["trucks"].as_array().unwrap().iter().map(|t| number(&t["age"])).collect();
    assert_eq!(ages, [Decimal::from(120), Decimal::from(120), Decimal::new(825, 1)]);
    assert_eq!((&late["within_limit"], number(&late["largest_load"])), (&json!(false), Decimal::from(6)));
    // Without a figure of its own the way takes the crew's rate: 0.95 person-hours a yard by three are 19 min.
    let by_crew = book_with(|b| {
        for member in ["unloading_per_unit", "waiting_per_hour"] {
            b["concrete_ways"][0].as_object_mut().unwrap().remove(member);
        }
    });
    let answer = ask_of(&by_crew, body("5 min"));
    assert_eq!(number(&answer["days"][0]["trucks"]["interval"]), Decimal::from(190));
}

/// 19 m³ in trucks of 6: three full ones leave one cubic metre, 3 short of 4.
#[test]
fn trucks_are_loaded_alike_where_that_costs_less() {
    let metric = |below: &'static str, kind: &'static str| {
        book_with(move |b| {
            let items = b["items"].as_array_mut().unwrap();
            items.iter_mut().find(|i| i["code"] == "ready-mix-4000").unwrap()["unit"] = json!("m3");
            let plant = &mut b["concrete_ways"][0];
            plant["increment"] = json!("0.25 m3");
            plant["truck_capacity"] = json!("6 m3");
            plant["short_load"] = json!({"kind": kind, "below": below, "charge": "28.00"});
        })
    };
    let body = json!({"volume": "19 m3", "waste_pct": "0", "concrete_way": "plant", "unit_system": "metric"});
    let loads = |order: &Value| -> Vec<Decimal> {
        way(order, "plant")["load_sizes"].as_array().unwrap().iter().map(number).collect()
    };
    let alike = ask_of(&metric("4 m3", "per_missing"), body.clone());
    assert_eq!(loads(&alike), [Decimal::new(475, 2); 4]);
    assert_eq!(number(&way(&alike, "plant")["order"]), Decimal::from(19));
    assert!(costs(way(&alike, "plant")).iter().all(|c| !c.starts_with("concrete.short_load")));
    assert!(
        way(&alike, "plant")["lines"][0]["basis"]
            .as_str()
            .unwrap()
            .ends_with("; sent as 4 x 4.75 m3, which costs 84.00 less than 3 x 6 m3 + 1 x 1 m3")
    );
    // Nothing is short then, and the trucks come as they are loaded.
    assert!(alike["days"][0]["last_load"].is_null());
    let trucks = alike["days"][0]["trucks"]["trucks"].as_array().unwrap();
    assert_eq!(trucks.iter().map(|t| number(&t["load"])).collect::<Vec<_>>(), loads(&alike));
    assert_eq!(number(&alike["days"][0]["trucks"]["interval"]), Decimal::new(3_563, 2));
    // Four charges are more than one, and no charge is not less than none.
    for (below, kind) in [("5 m3", "flat"), ("1 m3", "flat")] {
        let filled = ask_of(&metric(below, kind), body.clone());
        assert_eq!(loads(&filled), [6, 6, 6, 1].map(Decimal::from), "{below}");
    }
}

#[test]
fn the_time_limit_is_checked_in_every_estimate_with_trucks() {
    let far = crate::estimate::book(|b| {
        b["concrete_ways"][0]["travel"] = json!("100 min");
        b["concrete_ways"][0]["batching"] = json!("15 min");
    });
    let limit = |book: &PriceBook, change: fn(&mut Value)| -> Vec<Value> {
        let estimate = crate::estimate::estimate(book, change);
        let checks = estimate["checks"].as_array().unwrap().iter();
        checks.filter(|c| c["name"] == "concrete_time_limit").cloned().collect()
    };
    let late = limit(&far, |_| {});
    assert_eq!((late.len(), &late[0]["outcome"]), (1, &json!("warn")));
    assert!(late[0]["reason"].as_str().unwrap().contains("the limit is 90 min"), "{late:?}");
    // It is the same as where the notes say something of pouring.
    assert_eq!(limit(&far, |n| n["concrete"] = json!({})), late);
    assert_eq!(limit(&crate::estimate::book(|_| {}), |_| {})[0]["outcome"], "pass");
    assert!(limit(&far, |n| n["options"] = json!({"concrete_way": "bags-80"})).is_empty());
}

#[test]
fn trucks_that_unload_faster_than_the_crew_places_are_said() {
    let slow = |minutes: &'static str| {
        let book = crate::estimate::book(|b| b["concrete_ways"][0]["unloading_per_unit"] = json!(minutes));
        let estimate = crate::estimate::estimate(&book, |_| {});
        let checks = estimate["checks"].as_array().unwrap().iter();
        checks.filter(|c| c["name"] == "placing_rate").cloned().collect::<Vec<_>>()
    };
    // 0.95 person-hours a yard by three are 19 min.
    let found = slow("18 min");
    assert_eq!((found.len(), &found[0]["outcome"]), (1, &json!("warn")));
    assert!(
        found[0]["reason"]
            .as_str()
            .unwrap()
            .contains("in 18 min by the way's own rate, but by the rate of `pour` the crew takes 19 min")
    );
    assert!(slow("19 min").is_empty());
}

/// The calculator has no checks: what the crew cannot keep up with stands with the trucks.
#[test]
fn the_calculator_says_that_trucks_unload_faster_than_the_crew_places() {
    let trucks = |minutes: &'static str| {
        let book = book_with(|b| {
            b["concrete_ways"][0]["unloading_per_unit"] = json!(minutes);
            b["concrete_ways"][0]["batching"] = json!("0 min");
        });
        let body = json!({"volume": "6 yd3", "waste_pct": "0", "concrete_way": "plant", "concrete": {"plant_travel": "15 min"}});
        ask_of(&book, body)["days"][0]["trucks"].take()
    };
    // 0.95 person-hours a yard by three are 19 min: 6 yards take 114 min, behind 15 min of travel.
    let fast = trucks("10 min");
    assert_eq!(fast["within_limit"], true);
    let [told] = fast["warnings"].as_array().unwrap().as_slice() else { panic!("{fast}") };
    let told = told.as_str().unwrap();
    assert!(
        told.contains("in 10 min by the way's own rate, but by the rate of `pour` the crew takes 19 min"),
        "{told}"
    );
    assert!(
        told.ends_with("; by it truck 1 is empty 129 min after batching began, the limit is 90 min"),
        "{told}"
    );
    assert_eq!(trucks("19 min")["warnings"].as_array().unwrap().len(), 1, "late, and the crew keeps up");
    // In an estimate it stays a check of its own, once.
    let book = crate::estimate::book(|b| b["concrete_ways"][0]["unloading_per_unit"] = json!("18 min"));
    let estimate = crate::estimate::estimate(&book, |n| n["concrete"] = json!({}));
    let reasons = |name: &str| {
        let checks = estimate["checks"].as_array().unwrap().iter().filter(|c| c["name"] == name);
        checks.map(|c| c["reason"].as_str().unwrap().to_owned()).collect::<Vec<_>>()
    };
    let (limit, placing) = (reasons("concrete_time_limit"), reasons("placing_rate"));
    assert_eq!((limit.len(), placing.len()), (1, 1));
    assert!(!limit[0].contains("rate of `pour`"), "{limit:?}");
    assert!(
        estimate["concrete"]["days"][0]["trucks"]["warnings"].to_string().contains(&placing[0]),
        "{placing:?}"
    );
}

/// Trucks come as the way unloads them; behind a slower crew each waits for those ahead of it.
#[test]
fn concrete_ages_in_the_line_of_trucks_that_wait() {
    let told = |hours: &'static str| {
        let book = book_with(|b| {
            let way = &mut b["concrete_ways"][0];
            (way["unloading_per_unit"], way["travel"]) = (json!("3 min"), json!("15 min"));
            let rates = b["labor"].as_array_mut().unwrap();
            let pour = rates.iter_mut().find(|r| r["task"] == "pour").unwrap();
            let crew = pour["crew"].as_array().unwrap().iter().map(|c| c["count"].as_i64().unwrap());
            assert_eq!(crew.sum::<i64>(), 3);
            let by_volume =
                pour["rates"].as_array_mut().unwrap().iter_mut().find(|r| r["measure"] == "concrete_ordered");
            by_volume.unwrap()["hours"] = json!(hours);
        });
        let body = json!({"volume": "28.75 yd3", "waste_pct": "0", "concrete_way": "plant"});
        let trucks = ask_of(&book, body)["days"][0]["trucks"].take();
        let loads = trucks["trucks"].as_array().unwrap().iter().map(|t| t["load"]["value"].clone());
        assert_eq!(loads.collect::<Vec<_>>(), ["10", "10", "8.75"]);
        assert_eq!(trucks["within_limit"], true);
        let [told] = trucks["warnings"].as_array().unwrap().as_slice() else { panic!("{trucks}") };
        told.as_str().unwrap().split_once("; by it ").map(|(_, late)| late.to_owned())
    };
    // Every 30 min one comes, 25 min old. At 5 min a yard they are empty after 50, 100 and 143.75 min.
    let third = "truck 3 is empty 108.75 min after batching began, the limit is 90 min (2 trucks beyond it)";
    assert_eq!(told("0.25").as_deref(), Some(third));
    // At 7 min after 70, 140 and 201.25 min.
    let third = "truck 3 is empty 166.25 min after batching began, the limit is 90 min (3 trucks beyond it)";
    assert_eq!(told("0.35").as_deref(), Some(third));
    // At 4 min after 40, 80 and 115 min: 65, 75 and 80 min old.
    assert_eq!(told("0.2"), None);
}

#[test]
fn the_mix_is_named_where_concrete_is_bought_by_volume() {
    let answer = ask(json!({"volume": "2 yd3"}));
    let mix = "; mix: 4000 psi, 3/4 in stone, Type I cement";
    let named = |code: &str| way(&answer, code)["lines"][0]["description"].as_str().unwrap().ends_with(mix);
    assert!(named("plant") && named("trailer") && !named("bags"));
    let silent = book_with(|b| {
        b["concrete_rules"].as_object_mut().unwrap().remove("mix");
    });
    let answer = ask_of(&silent, json!({"volume": "2 yd3"}));
    assert_eq!(way(&answer, "plant")["lines"][0]["description"], "Ready-mix concrete, 4000 psi");
}

/// A truck that mixes on site comes by itself: there is no hire and nothing to fetch.
#[test]
fn what_comes_by_itself_has_no_lines_of_nothing() {
    let book = book_with(|b| {
        b["concrete_ways"][2]["hire_per_trip"] = json!("0.00");
        b["concrete_ways"][2]["trip_time"] = json!("0 min");
    });
    let answer = ask_of(&book, json!({"volume": "2 yd3", "waste_pct": "0"}));
    let trips = way(&answer, "trailer");
    assert_eq!(costs(trips), ["concrete.trips 380.00"]);
    assert!(trips["extra_trade"].is_null());
}

#[test]
fn break_even_bands_are_what_any_volume_finds() {
    let book = book_with(|_| ());
    let answer = ask_of(&book, json!({"volume": "1 yd3", "waste_pct": "0", "break_even_up_to": "4 yd3"}));
    let bands = answer["break_even"]["bands"].as_array().unwrap();
    assert_eq!(bands.last().unwrap()["way"], "plant");
    assert!(bands.windows(2).all(|w| w[0]["up_to"] == w[1]["above"] && w[0]["way"] != w[1]["way"]));
    // Every hundredth of a yard, asked by itself, lies in the band of its cheapest way.
    for hundredths in 1..=400_i64 {
        let nm3 = Unit::Yd3.factor().unwrap() / 100 * i128::from(hundredths);
        let found = order(Volume::from_nm3(nm3), Percent::ZERO, None, &book, Show(UnitSystem::Us)).unwrap();
        let at = Decimal::new(hundredths, 2);
        let in_band = |b: &&Value| number(&b["above"]) < at && at <= number(&b["up_to"]);
        let band = bands.iter().find(in_band).unwrap();
        let best = found.ways.first().unwrap().all_in;
        let of_band = found.ways.iter().find(|w| band["way"] == w.code.as_str()).unwrap();
        assert_eq!(of_band.all_in, best, "{at} yd³: {band}");
    }
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
    let evaporation = case("concrete", "con-evap-limit")["expected"]["kg_m2_h"].as_f64().unwrap();
    assert!((limits.evaporation - evaporation).abs() < 1e-12);
    let day = |weather: Value, change: fn(&mut Value)| {
        let body = json!({"volume": "5 yd3", "concrete_way": "plant", "concrete": {"weather": [weather]}});
        ask_of(&book_with(change), body)["days"][0].clone()
    };
    let warned = |day: &Value| -> Vec<String> {
        let checks = day["weather"]["checks"].as_array().unwrap();
        let bad = checks.iter().filter(|c| c["outcome"] == "warn");
        bad.map(|c| c["name"].as_str().unwrap().to_owned()).collect()
    };
    let weather = |air: &str, concrete: &str, humidity: &str, wind: &str| json!({"air": air, "concrete": concrete, "humidity_pct": humidity, "wind": wind});
    let usual = |_: &mut Value| ();
    assert!(warned(&day(weather("20 deg_c", "20 deg_c", "60", "8 km_per_hr"), usual)).is_empty());
    assert_eq!(warned(&day(weather("4 deg_c", "12 deg_c", "90", "0 km_per_hr"), usual)), ["pour_in_cold"]);
    // Exactly 40 °F is not below it; a cold night after it is.
    let mut night = weather("40 deg_f", "60 deg_f", "90", "0 km_per_hr");
    assert!(warned(&day(night.clone(), usual)).is_empty());
    night["coldest"] = json!("39.9 deg_f");
    assert_eq!(warned(&day(night, usual)), ["pour_in_cold"]);
    // Air that is colder than what is named as the coldest is the coldest.
    let mut pour = weather("39 deg_f", "60 deg_f", "90", "0 km_per_hr");
    pour["coldest"] = json!("45 deg_f");
    assert_eq!(warned(&day(pour, usual)), ["pour_in_cold"]);
    let hot = || weather("36 deg_c", "36 deg_c", "20", "30 km_per_hr");
    assert_eq!(warned(&day(hot(), usual)), ["pour_in_heat", "pour_evaporation"]);
    let freezing = day(weather("-25 deg_c", "10 deg_c", "90", "0 km_per_hr"), usual);
    assert_eq!(warned(&freezing), ["pour_in_cold", "evaporation_in_range"]);
    // The limits and the shorter time for hot concrete are settings of the book.
    let own = |b: &mut Value| {
        b["concrete_rules"]["hot_above"] = json!("37 deg_c");
        b["concrete_rules"]["evaporation_limit"] = json!("9");
    };
    assert!(warned(&day(hot(), own)).is_empty());
    // Just as hot as the limit is not above it.
    let just = day(hot(), |b| {
        b["concrete_rules"]["hot_above"] = json!("36 deg_c");
        b["concrete_rules"]["evaporation_limit"] = json!("9");
        b["concrete_rules"]["time_limit_hot"] = json!("60 min");
    });
    assert!(warned(&just).is_empty(), "{just:#}");
    assert_eq!(number(&just["weather"]["time_limit"]), Decimal::from(90));
    let shorter = day(hot(), |b| b["concrete_rules"]["time_limit_hot"] = json!("60 min"));
    assert_eq!(number(&shorter["weather"]["time_limit"]), Decimal::from(60));
    // 10 + 20 min and 5.5 yd³ at 7.5 min: 71.25 min are within 90 but not within 60.
    assert_eq!(shorter["trucks"]["within_limit"], false);
    assert_eq!(day(hot(), usual)["trucks"]["within_limit"], true);
    // The published value leaves the service as it is.
    let uno = day(weather("30 deg_c", "30 deg_c", "50", "20 km_per_hr"), usual);
    assert_eq!(uno["weather"]["evaporation_kg_per_m2_hr"], "0.957755");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn more_concrete_never_costs_less_in_bags_or_by_trailer(a in 1_i64..8_000, b in 1_i64..8_000) {
        let book = book_with(|_| ());
        let cost = |v: i64, code: &str| {
            let net = Volume::from_nm3(Unit::Yd3.factor().unwrap() / 1000 * i128::from(v));
            let found = order(net, Percent::ZERO, None, &book, Show(UnitSystem::Us)).unwrap();
            found.ways.iter().find(|w| w.code == code).unwrap().all_in
        };
        let (low, high) = (a.min(b), a.max(b));
        for code in ["bags", "trailer"] {
            prop_assert!(cost(low, code) <= cost(high, code), "{code}");
        }
    }

    #[test]
    fn the_cheapest_last_load_is_never_dearer_and_never_too_little(net in 1_000_i64..40_000) {
        let book = book_with(|_| ());
        let body = |wish: &str| json!({"volume": format!("{}.{:03} yd3", net / 1000, net % 1000), "concrete_way": "plant",
            "waste_pct": "0", "concrete": {"short_last_load": wish}});
        let need = Decimal::new(net, 3);
        let as_is = number(&way(&ask_of(&book, body("as_is")), "plant")["all_in"]);
        for wish in ["cheapest", "bags", "order_more"] {
            let answer = ask_of(&book, body(wish));
            prop_assert!(number(&way(&answer, "plant")["volume_ordered"]) + Decimal::new(1, 4) >= need);
            prop_assert!(wish != "cheapest" || number(&way(&answer, "plant")["all_in"]) <= as_is);
        }
    }
}

/// 40 ft of the lightest channel for feet by the demo book, which mixes a bag in 3.6 min and places it within an hour and a half.
fn bags_for_a_walk(more: &Value) -> Vec<String> {
    let mut notes = json!({"runs": [{"id": "a", "legs": [{"length": "40 ft"}], "channel_system": "channel-4-light",
        "crossing": "feet", "outlets": [{"kind": "end", "id": "o", "at": "finish"}]}], "soil": "clay"});
    notes.as_object_mut().unwrap().extend(more.as_object().unwrap().clone());
    let book = PriceBook::check(rillcast::wire::read_document(BOOK.as_bytes()).unwrap()).unwrap();
    let order = ask_of(&book, json!({"notes": notes}));
    let bags = way(&order, "bags-80");
    assert_eq!(number(&bags["order"]), Decimal::from(21));
    bags["warnings"].as_array().unwrap().iter().map(|w| w.as_str().unwrap().to_owned()).collect()
}

/// 21 bags are 1.26 h, which one person does in time; by 1.25 for a hard place and 1.2 for wet weather 1.89 h, which take two.
#[test]
fn mixing_against_the_time_limit_takes_place_and_weather_as_its_hours_do() {
    assert_eq!(bags_for_a_walk(&json!({})), [""; 0]);
    assert_eq!(
        bags_for_a_walk(&json!({"weather": "wet"})),
        ["mixing takes 21 x 3.6 min x 1.2 (wet weather) = 1.51 \
        person-hours; the mix is to be placed within 1.5 h of mixing, so pour in parts or let 2 mix at once"]
    );
    let hard = bags_for_a_walk(&json!({"weather": "wet", "difficulty": "hard"}));
    let told = "mixing takes 21 x 3.6 min x 1.25 (hard place) x 1.2 (wet weather) = 1.89 person-hours; ";
    assert!(hard.len() == 1 && hard[0].starts_with(told), "{hard:?}");
}

/// 2.1 yd³ with 10 % are ordered as 2.5: at 19 min a yard they are placed in 47.5 min.
#[test]
fn a_single_truck_is_told_by_what_it_carries() {
    let book = PriceBook::check(rillcast::wire::read_document(BOOK.as_bytes()).unwrap()).unwrap();
    let alone =
        json!({"volume": "2.1 yd3", "concrete_way": "ready-mix", "concrete": {"plant_travel": "30 min"}});
    let trucks = ask_of(&book, alone)["days"][0]["trucks"].take();
    assert_eq!(trucks["trucks"].as_array().unwrap().len(), 1);
    assert_eq!(number(&trucks["interval"]), Decimal::new(475, 1));
    assert_eq!(trucks["trucks_at_once"], 1);
    assert_eq!(
        trucks["basis"],
        "one truck of 2.5 yd3 at 19 min a yd3 by the way's own rate: 0 min batching + 30 min travel + 47.5 min \
         unloading = 77.5 min"
    );
    assert_eq!(number(&trucks["trucks"][0]["age"]), Decimal::new(775, 1));
}
