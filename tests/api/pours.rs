//! Concrete by pour days, as a caller sees it.

use crate::app::TestApp;
use crate::purchase_orders::published;
use rust_decimal::Decimal;
use serde_json::{Value, json};

fn notes() -> Value {
    serde_json::from_str(rillcast::domain::demo::NOTES).unwrap()
}

#[track_caller]
fn figure(v: &Value) -> Decimal {
    v.as_str().or_else(|| v["value"].as_str()).unwrap_or_else(|| panic!("{v}")).parse().unwrap()
}

/// Cost lines of the concrete in an estimate.
fn concrete_cost(estimate: &Value) -> Decimal {
    let lines = estimate["cost_lines"].as_array().unwrap().iter();
    lines.filter(|l| l["rule"].as_str().unwrap().starts_with("concrete.")).map(|l| figure(&l["cost"])).sum()
}

/// All-in cost of the ways taken, without the work that the labor and the hire of the estimate hold, and the tax.
fn plan_cost(concrete: &Value) -> Decimal {
    let taken = |order: &Value, code: &Value| -> Decimal {
        let way = order["ways"].as_array().unwrap().iter().find(|w| w["code"] == *code).unwrap();
        way["lines"].as_array().unwrap().iter().map(|l| figure(&l["cost"])).sum()
    };
    taken(concrete, &concrete["chosen"])
}

#[tokio::test]
async fn notes_that_say_nothing_of_pouring_leave_the_estimate_as_it_was() {
    let app = TestApp::start().await;
    let plain = app.post("/v1/calculators/estimate", &json!({"notes": notes()})).await.ok(200).json();
    for member in ["days", "compared", "break_even"] {
        assert!(plain["concrete"].get(member).is_none(), "{member}");
    }
    // Saying what holds anyway changes nothing but what is told.
    let mut said = notes();
    for run in said["runs"].as_array_mut().unwrap() {
        run["pour_days"] = json!([1]);
    }
    let told = app.post("/v1/calculators/estimate", &json!({"notes": said})).await.ok(200).json();
    assert_eq!(told["cost_lines"], plain["cost_lines"]);
    assert_eq!(told["price"], plain["price"]);
    assert_eq!(told["concrete"]["days"].as_array().unwrap().len(), 1);
    assert_eq!(concrete_cost(&plain), plan_cost(&plain["concrete"]));
}

#[tokio::test]
async fn an_estimate_by_pour_days_costs_what_its_days_cost() {
    let app = TestApp::start().await;
    let mut split = notes();
    let runs = split["runs"].as_array().unwrap().len();
    assert!(runs > 1);
    for (i, run) in split["runs"].as_array_mut().unwrap().iter_mut().enumerate() {
        run["pour_days"] = if i == 0 { json!([1, 3]) } else { json!([2]) };
    }
    split["options"]["concrete_way"] = json!("ready-mix");
    split["schedule"] = json!({"start": "2026-05-04"});
    let answer = app.post("/v1/calculators/estimate", &json!({"notes": split})).await.ok(200).json();
    let concrete = &answer["concrete"];
    let days = concrete["days"].as_array().unwrap();
    assert!(days.iter().map(|d| d["day"].as_i64().unwrap()).collect::<Vec<_>>().starts_with(&[1, 2, 3]));
    let of_days: Decimal = days.iter().map(|d| figure(&d["all_in"])).sum();
    let trucks = concrete["ways"].as_array().unwrap().iter().find(|w| w["code"] == "ready-mix").unwrap();
    assert_eq!(
        concrete_cost(&answer) + figure(&trucks["placing_cost"]) + figure(&trucks["purchase_tax"]),
        of_days,
        "what is all in is what is paid, placing and tax with it"
    );
    let tasks = answer["labor"]["tasks"].as_array().unwrap();
    let placing = tasks.iter().find(|t| t["task"] == "pour").unwrap();
    assert_eq!(placing["person_hours"], trucks["placing_hours"]);
    assert_eq!(figure(&concrete["compared"]["as_planned"]), of_days);
    assert!(figure(&concrete["compared"]["all_together"]) <= of_days);
    // What arrives over the days is what is placed.
    let ordered: Decimal = days
        .iter()
        .map(|d| {
            figure(&d["ways"].as_array().unwrap().iter().find(|w| w["code"] == d["chosen"]).unwrap()["order"])
        })
        .sum();
    assert_eq!(figure(&answer["summary"]["concrete"]), ordered);
    assert_eq!(answer["summary"]["concrete_way"], "ready-mix");
    // The plan keeps the pour days apart.
    let plan = app.post("/v1/calculators/plan", &json!({"notes": split})).await.ok(200).json();
    let placed: Vec<(String, String)> = plan["tasks"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|t| t["id"].as_str().unwrap().starts_with("pour."))
        .map(|t| (t["name"].as_str().unwrap().to_owned(), t["start"].as_str().unwrap()[..10].to_owned()))
        .collect();
    assert!(placed.len() >= 3, "{placed:?}");
    assert!(placed.windows(2).all(|w| w[0].1 < w[1].1), "{placed:?}");
}

#[tokio::test]
async fn the_wish_for_the_last_truck_reaches_order_labor_and_checks() {
    let app = TestApp::start().await;
    // Two trucks alike would both be short.
    let version = published(&app, |book| {
        book["concrete_ways"][0]["short_load"] =
            json!({"kind": "flat", "below": "6 yd3", "charge": "140.00"});
    })
    .await;
    let mut wished = notes();
    wished["options"]["concrete_way"] = json!("ready-mix");
    // The first length whose second truck is short.
    for feet in (200..400).step_by(10) {
        wished["runs"][0]["legs"][0]["length"] = json!(format!("{feet} ft"));
        let body = json!({"notes": wished, "price_book_version": version});
        let order = app.post("/v1/calculators/concrete-order", &body).await.ok(200).json();
        let day = &order["concrete"]["days"][0];
        let trucks = day["trucks"]["trucks"].as_array().unwrap().len();
        if trucks == 2 && day["last_load"].is_array() {
            break;
        }
    }
    let (calls, by) = (&app, &version);
    let estimate = |notes: Value| async move {
        let body = json!({"notes": notes, "price_book_version": by});
        calls.post("/v1/calculators/estimate", &body).await.ok(200).json()
    };
    let as_is = estimate(wished.clone()).await;
    let short =
        |e: &Value| e["cost_lines"].as_array().unwrap().iter().any(|l| l["rule"] == "concrete.short_load");
    assert!(short(&as_is), "the case needs a short last truck");
    wished["concrete"] = json!({"short_last_load": "bags", "plant_travel": "95 min", "weather": [
        {"air": "35 deg_f", "concrete": "60 deg_f", "humidity_pct": "40", "wind": "5 mi_per_hr"}]});
    let by_bags = estimate(wished.clone()).await;
    assert!(!short(&by_bags));
    let day = &by_bags["concrete"]["days"][0];
    let chosen = day["last_load"].as_array().unwrap().iter().find(|c| c["chosen"] == true).unwrap();
    let bags = chosen["bags"].as_i64().unwrap();
    assert!(bags > 0 && chosen["what"] == "bags");
    let mixed =
        by_bags["layout"]["totals"].as_array().unwrap().iter().find(|q| q["name"] == "bags_mixed").unwrap();
    assert_eq!(figure(&mixed["quantity"]), Decimal::from(bags));
    assert!(by_bags["labor"]["tasks"].as_array().unwrap().iter().any(|t| t["task"] == "mix_concrete"));
    assert_eq!(concrete_cost(&by_bags), plan_cost(&by_bags["concrete"]));
    // Trucks that are too long on the road and the cold stand among the checks of the estimate, with a caution.
    let warned: Vec<&str> = by_bags["checks"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|c| c["outcome"] == "warn" && c["subject"] == "pour day 1")
        .map(|c| c["name"].as_str().unwrap())
        .collect();
    assert_eq!(warned, ["concrete_time_limit", "pour_in_cold"]);
    assert!(by_bags["cautions"].as_array().unwrap().iter().any(|c| c["name"] == "pour_weather"));
    // The calculator gives the same days from the same notes.
    let body = json!({"notes": wished, "price_book_version": version});
    let alone = app.post("/v1/calculators/concrete-order", &body).await.ok(200).json();
    assert_eq!(alone["concrete"]["days"], by_bags["concrete"]["days"]);
    // A stored estimate reads and recomputes.
    let etag = app.get(&format!("/v1/jobs/{}", app.job)).await.ok(200).etag();
    app.patch(&format!("/v1/jobs/{}", app.job), &etag, &json!({"notes": wished})).await.ok(200);
    let body = json!({"price_book_version": version});
    let made = app.post(&format!("/v1/jobs/{}/estimates", app.job), &body).await.ok(201).json();
    assert_eq!(made["estimate"]["concrete"]["days"], by_bags["concrete"]["days"]);
    let path = format!("/v1/estimates/{}", made["id"].as_str().unwrap());
    let again = app.act(&format!("{path}/recompute"), "*").await.ok(200).json();
    assert_eq!(again["same"], true);
    // Trucks and bags reach the purchase orders, and these foot to the materials.
    let orders = app.get(&format!("{path}/purchase-orders")).await.ok(200).json();
    let lines = made["estimate"]["cost_lines"].as_array().unwrap().iter();
    let materials: Decimal = lines.filter(|l| l["category"] == "material").map(|l| figure(&l["cost"])).sum();
    assert_eq!(figure(&orders["total"]), materials);
    let bag = chosen["bags_by"].as_str().unwrap().replace("bags-", "bag-");
    assert!(orders.to_string().contains(&format!("\"{bag}\"")), "{bag}");
}

#[tokio::test]
async fn the_cheapest_ways_are_told_where_they_are_asked_for() {
    let app = TestApp::start().await;
    let ask = |body: Value| {
        let app = &app;
        async move { app.post("/v1/calculators/concrete-order", &body).await.ok(200).json() }
    };
    assert!(ask(json!({"volume": "2.1 yd3"})).await["concrete"].get("break_even").is_none());
    let told = ask(json!({"volume": "2.1 yd3", "break_even_up_to": "5 yd3"})).await;
    let bands = told["concrete"]["break_even"]["bands"].as_array().unwrap();
    assert_eq!(bands.last().unwrap()["up_to"], json!({"value": "5", "unit": "yd3"}));
    // What is needed with waste, 2.31 yd³, lies in the band of the way that is chosen.
    let need = Decimal::new(231, 2);
    let band = bands.iter().find(|b| figure(&b["above"]) < need && need <= figure(&b["up_to"])).unwrap();
    assert_eq!(band["way"], told["concrete"]["chosen"]);
}

#[tokio::test]
async fn faults_of_pour_days_are_named() {
    let app = TestApp::start().await;
    let weather =
        json!({"air": "70 deg_f", "concrete": "70 deg_f", "humidity_pct": "50", "wind": "5 mi_per_hr"});
    let with = |change: &dyn Fn(&mut Value)| {
        let mut notes = notes();
        change(&mut notes);
        json!({"notes": notes})
    };
    for (body, pointer) in [
        (with(&|n| n["runs"][0]["pour_days"] = json!([2, 2])), "#/notes/runs/0/pour_days/1"),
        (with(&|n| n["runs"][0]["pour_days"] = json!([0])), "#/notes/runs/0/pour_days/0"),
        (
            with(&|n| {
                let mut late = weather.clone();
                late["day"] = json!(2);
                n["concrete"] = json!({"weather": [late]});
            }),
            "#/notes/concrete/weather/0/day",
        ),
        (with(&|n| n["concrete"] = json!({"weather": [weather, weather]})), "#/notes/concrete/weather/1/day"),
    ] {
        assert_eq!(app.post("/v1/calculators/concrete-order", &body).await.pointers(), [pointer]);
    }
    let given = |concrete: Value| json!({"volume": "2 yd3", "concrete": concrete});
    let mut damp = weather.clone();
    damp["humidity_pct"] = json!("101");
    let mut bare = weather.clone();
    bare["air"] = json!("70");
    let mut slow = weather.clone();
    slow["wind"] = json!("5 ft");
    for (body, pointer) in [
        (given(json!({"weather": [damp]})), "#/concrete/weather/0/humidity_pct"),
        (given(json!({"weather": [bare]})), "#/concrete/weather/0/air"),
        (given(json!({"weather": [slow]})), "#/concrete/weather/0/wind"),
        (given(json!({"short_last_load": "hope"})), "#/concrete/short_last_load"),
        (json!({"volume": "2 yd3", "pours": [{"name": "a", "volume": "1 yd3"}]}), "#"),
        (json!({"pours": [{"name": "a", "volume": "1 ft"}]}), "#/pours/0/volume"),
    ] {
        assert_eq!(app.post("/v1/calculators/concrete-order", &body).await.pointers(), [pointer], "{body}");
    }
}

#[tokio::test]
async fn the_notes_say_where_the_spoil_goes() {
    let app = TestApp::start().await;
    let layout = |haul: Value| {
        let mut notes = notes();
        notes["haul"] = haul;
        json!({"notes": notes})
    };
    let answer = app
        .post(
            "/v1/calculators/layout-quantities",
            &layout(json!({"spoil_kept": "0.5 yd3", "distance": "9 km", "speed": "36 km_per_hr"})),
        )
        .await
        .ok(200)
        .json();
    let lines = answer["layout"]["earth"]["quantities"].as_array().unwrap();
    let find = |name: &str| lines.iter().find(|q| q["name"] == name).unwrap();
    assert_eq!(find("spoil_kept")["quantity"], json!({"value": "0.5", "unit": "yd3"}));
    // 18 km at 36 km an hour.
    assert_eq!(find("haul_round_trip")["quantity"], json!({"value": "30", "unit": "min"}));
    let rules = app.get("/v1/rules").await.ok(200).json();
    for rule in lines.iter().map(|q| &q["rule"]) {
        assert!(rules["items"].as_array().unwrap().iter().any(|r| r["name"] == *rule), "{rule}");
    }
    for (haul, pointer) in [
        (json!({"spoil_kept": "1 yd3", "keep_all_spoil": true}), "#/notes/haul/spoil_kept"),
        (json!({"speed": "0 km_per_hr"}), "#/notes/haul/speed"),
        (json!({"distance": "2000 km"}), "#/notes/haul/distance"),
    ] {
        let refused = app.post("/v1/calculators/estimate", &layout(haul)).await;
        assert_eq!(refused.pointers(), [pointer]);
    }
}
