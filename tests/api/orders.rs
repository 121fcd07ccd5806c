//! Order calculators, as a caller sees them.

use crate::app::{Ask, TestApp, fault, faults_in, text};
use crate::records::{job, make_job, short_notes, terms};
use rillcast::domain::demo::NOTES;
use rillcast::units::Length;
use rillcast::wire::read_value;
use serde_json::{Value, json};

fn notes() -> Value {
    serde_json::from_str(NOTES).unwrap()
}

#[tokio::test]
async fn bare_calls_answer() {
    let app = TestApp::start().await;
    let post = async |path: &str, body: Value| {
        app.post(&format!("/v1/calculators/{path}"), &body).await.ok(200).json()
    };
    // Two legs of 1.5 m share one of three metres; the plain list buys four.
    let cut = json!({"legs": [{"id": "a", "length": "1.5 m"}, {"id": "b", "length": "1.5 m"}],
        "stock": [{"id": "metre", "length": "1 m", "price": "60.00"}], "unit_system": "metric"});
    let list = post("cut-list", cut).await;
    let list = &list["cut_lists"][0];
    assert_eq!(
        (&list["total"], &list["plain_list"], &list["saving"]),
        (&json!("180.00"), &json!("240.00"), &json!("60.00"))
    );
    assert_eq!(list["proven"], true);
    // The system of the book lends its stock, kerf and least piece.
    let system = post(
        "cut-list",
        json!({"legs": [{"id": "a", "length": "10 ft"}], "channel_system": "channel-4-light"}),
    )
    .await;
    assert_eq!(system["cut_lists"][0]["sheet"].as_array().unwrap().len(), 2);
    assert_eq!(system["cut_lists"][0]["kerf"], json!({"value": "0.125", "unit": "in"}));
    // 130 screws: 25s at 10.50 cost 63.00 and 45.00 to bring, hundreds at 34.00 cost 68.00 and 28.00.
    let buy = post("purchase-plan", json!({"needs": [{"item": "grate-screw", "quantity": "130"}]})).await;
    assert_eq!(buy["purchases"]["proven"], true);
    let own = json!({
        "needs": [{"item": "clip", "quantity": "130"}],
        "suppliers": [{"code": "depot", "name": "Depot", "delivery": "10.00", "free_delivery_from": "40.00"}],
        "offers": [
            {"supplier": "depot", "item": "clip", "order_code": "c100", "pack": "100", "price": "9.00"},
            {"supplier": "depot", "item": "clip", "order_code": "c50", "pack": "50", "price": "5.00"}
        ]
    });
    let own = post("purchase-plan", own).await;
    // a hundred and a fifty beside it
    assert_eq!(own["purchases"]["total"], "24.00");
    let lines = own["purchases"]["orders"][0]["lines"].as_array().unwrap();
    assert_eq!(lines.iter().map(|l| &l["packs"]).collect::<Vec<_>>(), [1, 1]);
    assert_eq!(own["purchases"]["orders"][0]["free_delivery_short_by"], "26.00");
    // A rental yard's published answers: 9 days cost 500, 21 days 800.
    let rates = json!({"day": "100.00", "week": "300.00", "four_weeks": "800.00"});
    for (half_days, cost) in [(18, "500.00"), (42, "800.00")] {
        let hire = post("hire-plan", json!({"rates": rates, "half_days": half_days})).await;
        assert_eq!(hire["total"], cost);
    }
    let held = json!({"rates": {"day": "100.00"}, "transport": "80.00",
        "stretches": [{"first": 0, "last": 1}, {"first": 10, "last": 11}],
        "own": {"price": "1500.00", "resale": "450.00"}});
    let held = post("hire-plan", held).await;
    assert_eq!(
        (&held["hires"][0]["total"], &held["hires"][0]["held_throughout"]),
        (&json!("560.00"), &json!("1280.00"))
    );
    // the days are called as they were sent
    assert_eq!(
        held["hires"][0]["basis"],
        "days 0 to 1: 2 days on site: 2 x day at 100.00 = 200.00 + transport 80.00; \
         days 10 to 11: 2 days on site: 2 x day at 100.00 = 200.00 + transport 80.00 = 560.00"
    );
    let near = json!({"rates": {"day": "100.00"}, "transport": "200.00",
        "stretches": [{"first": 1, "last": 2}, {"first": 4, "last": 4}],
        "own": {"price": "1500.00", "resale": "450.00"}});
    let near = post("hire-plan", near).await;
    let owning = near["hires"][0]["owning"]["basis"].as_str().unwrap();
    let told = "hire days 1 to 4: 4 days on site: 4 x day at 100.00 = 400.00 + transport 200.00 = 600.00, needed on 3 of \
                these 4 days; own 1500.00 - 450.00 + 0 x 3 days = ";
    assert!(owning.starts_with(told), "{owning}");
    let apart = json!({"rates": {"day": "140", "week": "480"}, "transport": "0",
        "stretches": [{"first": 0, "last": 0}, {"first": 30, "last": 30}]});
    assert_eq!(
        post("hire-plan", apart).await["hires"][0]["basis"],
        "day 0: 1 day on site: 1 x day at 140.00 = 140.00 + transport 0.00; \
         day 30: 1 day on site: 1 x day at 140.00 = 140.00 + transport 0.00 = 280.00"
    );
    // one stay of 10 days costs 1080.00 with its transport, owning 1050.00
    assert_eq!(held["hires"][0]["owning"]["break_even_days"], 10);
}

#[tokio::test]
async fn figures_of_a_hire_beyond_reckoning_are_told_where_they_stand() {
    let app = TestApp::start().await;
    let body = json!({"rates": {"day": "2000000000.00", "week": "2000000000.00"}, "transport": "2000000000.00",
        "stretches": [{"first": 0, "last": 1}]});
    let told = app.post("/v1/calculators/hire-plan", &body).await.problem(422, "validation-failed");
    let pointers: Vec<String> = faults_in(&told).into_iter().map(|(pointer, _)| pointer).collect();
    assert_eq!(pointers, ["#/rates/day", "#/rates/week", "#/transport"]);
    let body = json!({"rates": {"day": "100.00"}, "stretches": [{"first": 0, "last": 1}],
        "own": {"price": "100.00", "resale": "200.00"}});
    let told = app.post("/v1/calculators/hire-plan", &body).await.problem(422, "validation-failed");
    assert_eq!(faults_in(&told), fault("#/own/resale", "out_of_range"));
}

#[tokio::test]
async fn a_cut_list_foots_and_says_in_its_own_units_what_it_leaves_out() {
    let app = TestApp::start().await;
    let legs = json!([{"id": "a", "length": "4 ft"}, {"id": "b", "length": "4 ft"}]);
    let list = async |stock: Value, more: Value| {
        let mut body = json!({"legs": legs, "stock": stock});
        body.as_object_mut().unwrap().extend(more.as_object().unwrap().clone());
        app.post("/v1/calculators/cut-list", &body).await.ok(200).json()["cut_lists"][0].clone()
    };
    // 30.004 less 20.005: each is rounded once, and what is saved is the difference of the two.
    let stock = json!([{"id": "s", "length": "8 ft", "price": "20.005"}, {"id": "t", "length": "4 ft", "price": "15.002"}]);
    let shared = list(stock, json!({})).await;
    assert_eq!(
        (&shared["plain_list"], &shared["total"], &shared["saving"]),
        (&json!("30.00"), &json!("20.01"), &json!("9.99"))
    );
    let stock = json!([{"id": "s", "length": "8 ft", "price": "20.00"}, {"id": "t", "length": "4 ft", "price": "15.00"}]);
    let lifted = list(stock, json!({"longest_setting": "6 ft"})).await;
    assert_eq!(lifted["total"], "30.00");
    assert_eq!(
        lifted["notes"],
        json!([
            "stock `s` (8 ft) was not used: longer than the longest setting of 6 ft; stock that long is not used, not even sawn"
        ])
    );
}

/// A mark is read off a tape, and the piece that is cut to it fits.
#[tokio::test]
async fn pieces_are_marked_by_what_a_tape_shows() {
    let app = TestApp::start().await;
    let nm = |length: &Value| read_value::<Length>(length).unwrap().nm();
    for (system, step, known) in [("us", 1_587_500, "5 ft 3 9/16 in"), ("metric", 1_000_000, "1615 mm")] {
        let body = json!({"legs": [{"id": "a", "length": "13.3 ft"}, {"id": "b", "length": "10 ft 2 9/32 in"}],
            "channel_system": "channel-4-light", "unit_system": system});
        let list = app.post("/v1/calculators/cut-list", &body).await.ok(200).json()["cut_lists"][0].clone();
        let rows = list["sheet"].as_array().unwrap();
        let (mut pieces, mut uncut) = (Vec::new(), 0);
        for row in rows {
            let cuts = row["cuts"].as_u64().unwrap();
            for (place, piece) in (0..).zip(row["pieces"].as_array().unwrap()) {
                if place < cuts {
                    pieces.push(piece);
                } else {
                    uncut += 1;
                    assert_eq!(piece["mark"], if cuts == 0 { "whole" } else { "the rest" });
                }
            }
        }
        assert!(uncut > 0, "{rows:?}");
        for piece in &pieces {
            let mark = text(piece, "mark");
            assert!(!mark.contains('.') && (system == "us" || mark.ends_with(" mm")), "{mark}");
            assert_eq!(nm(&piece["mark"]) % step, 0, "{piece}");
            // the length beside it has four decimals
            let more = nm(&piece["length"]) - nm(&piece["mark"]);
            assert!((-50_000..step + 50_000).contains(&more), "{piece}");
        }
        assert!(pieces.iter().any(|p| p["mark"] == known), "{known}: {pieces:?}");
    }
}

#[tokio::test]
async fn an_order_goes_out_before_its_offers_lapse() {
    let app = TestApp::start().await;
    let order_by = async |valid_until: &str| {
        let body = json!({"order_on": "2026-05-04", "needed_by": "2026-06-03", "needs": [{"item": "hanger", "quantity": "10"}],
            "suppliers": [{"code": "s", "name": "S"}], "offers": [{"supplier": "s", "item": "hanger", "order_code": "o",
            "price": "10.00", "lead_days": 2, "valid_until": valid_until}]});
        let answer = app.post("/v1/calculators/purchase-plan", &body).await.ok(200).json();
        answer["purchases"]["orders"][0]["order_by"].as_str().unwrap().to_owned()
    };
    assert_eq!(order_by("2026-05-10").await, "2026-05-10");
    assert_eq!(order_by("2026-06-10").await, "2026-06-01");
}

#[tokio::test]
async fn a_layout_gives_what_its_estimate_has() {
    let app = TestApp::start().await;
    let estimate = app.post("/v1/calculators/estimate", &json!({"notes": notes()})).await.ok(200).json();
    let layout =
        app.post("/v1/calculators/layout-quantities", &json!({"notes": notes()})).await.ok(200).json();
    let cut = app.post("/v1/calculators/cut-list", &json!({"notes": notes()})).await.ok(200).json();
    assert_eq!(cut["cut_lists"], estimate["layout"]["cut_lists"]);
    assert_eq!(cut["cut_lists"], layout["layout"]["cut_lists"]);
    let buy = app.post("/v1/calculators/purchase-plan", &json!({"notes": notes()})).await.ok(200).json();
    assert_eq!(buy["purchases"], estimate["purchases"]);
    let hire = app.post("/v1/calculators/hire-plan", &json!({"notes": notes()})).await.ok(200).json();
    assert_eq!(hire["hires"], estimate["hires"]);
}

#[tokio::test]
async fn bad_input_is_named_with_what_would_fix_it() {
    let app = TestApp::start().await;
    for (path, body, pointer) in [
        ("cut-list", json!({}), "#"),
        ("cut-list", json!({"legs": [{"id": "a", "length": "1 m"}]}), "#/stock"),
        (
            "cut-list",
            json!({"legs": [{"id": "a", "length": "1 m"}, {"id": "b", "length": "10 cm"}], "least_piece": "30 cm",
                "stock": [{"id": "s", "length": "1 m"}]}),
            "#/legs/1/length",
        ),
        (
            "cut-list",
            json!({"legs": [{"id": "a", "length": "5 m"}], "most_joints": 1, "stock": [{"id": "s", "length": "1 m"}]}),
            "#/legs/0/length",
        ),
        (
            "cut-list",
            json!({"legs": [{"id": "a", "length": "1 m"}], "channel_system": "none"}),
            "#/channel_system",
        ),
        (
            "cut-list",
            json!({"legs": [{"id": "a", "length": "5 m"}], "stock": [{"id": "s", "length": "1 m", "available": 2}]}),
            "#/stock",
        ),
        ("purchase-plan", json!({"needs": [{"item": "no-such", "quantity": "1"}]}), "#/needs/0/item"),
        (
            "purchase-plan",
            json!({"needs": [{"item": "grate-screw", "quantity": "1"}, {"item": "grate-screw", "quantity": "2"}]}),
            "#/needs/1/item",
        ),
        (
            "purchase-plan",
            json!({"needs": [{"item": "pipe-4-sewer-10ft", "quantity": "1"}], "order_on": "2027-01-01", "needed_by": "2027-01-01"}),
            "#/needs/0/item",
        ),
        (
            "purchase-plan",
            json!({"needs": [{"item": "a", "quantity": "1", "unit": "ft"}], "suppliers": [{"code": "s", "name": "S"}],
                "offers": [{"supplier": "s", "item": "a", "order_code": "1", "price": "1.00", "unit": "each"}]}),
            "#/needs/0/item",
        ),
        (
            "purchase-plan",
            json!({"needs": [{"item": "a", "quantity": "1"}], "suppliers": [{"code": "s", "name": "S"}],
                "offers": [{"supplier": "s", "item": "a", "order_code": "1", "price": "1.00",
                    "breaks": [{"packs": 5, "price": "0.90"}, {"packs": 10, "price": "0.95"}]}]}),
            "#/offers/0/breaks/1/price",
        ),
        (
            "purchase-plan",
            json!({"needs": [{"item": "a", "quantity": "1"}], "suppliers": [{"code": "s", "name": "S"}],
                "offers": [{"supplier": "s", "item": "a", "order_code": "1", "price": "1.00",
                    "breaks": [{"packs": 5, "price": "1.01"}, {"packs": 5, "price": "0.95"}]}]}),
            "#/offers/0/breaks/0/price #/offers/0/breaks/1/packs",
        ),
        ("hire-plan", json!({"rates": {}, "half_days": 3}), "#/rates"),
        ("hire-plan", json!({"machine": "crane", "half_days": 3}), "#/machine"),
        (
            "hire-plan",
            json!({"machine": "trencher", "stretches": [{"first": 4, "last": 6}, {"first": 5, "last": 7}]}),
            "#/stretches/1",
        ),
    ] {
        let answer = app.post(&format!("/v1/calculators/{path}"), &body).await;
        assert_eq!(answer.pointers().join(" "), pointer, "{path} {body}");
    }
}

#[tokio::test]
async fn purchase_orders_foot_to_the_materials_of_the_estimate() {
    let app = TestApp::start().await;
    let made = app.act(&format!("/v1/jobs/{}/estimates", app.job), "*").await.ok(201).json();
    let path = format!("/v1/estimates/{}", made["id"].as_str().unwrap());
    let orders = app.get(&format!("{path}/purchase-orders")).await.ok(200).json();
    let figure = |v: &Value| v.as_str().unwrap().parse::<rust_decimal::Decimal>().unwrap();
    let materials: rust_decimal::Decimal = made["estimate"]["cost_lines"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|l| l["category"] == "material")
        .map(|l| figure(&l["cost"]))
        .sum();
    assert_eq!(figure(&orders["total"]), materials);
    let list = orders["orders"].as_array().unwrap();
    assert_eq!(list.iter().map(|o| figure(&o["total"])).sum::<rust_decimal::Decimal>(), materials);
    assert!(list.iter().all(|o| o["deliver_to"] == "14 Alder Bend, Millbrook"));
    // What comes from the office's own stock is told apart: nothing of it is ordered.
    let of = |ordered: bool| -> rust_decimal::Decimal {
        list.iter().filter(|o| o["ordered"] == ordered).map(|o| figure(&o["total"])).sum()
    };
    let own: Vec<&Value> = list.iter().filter(|o| o["ordered"] == false).map(|o| &o["supplier"]).collect();
    assert_eq!(own, ["own stock"]);
    assert_eq!((figure(&orders["to_order"]), figure(&orders["own_stock"])), (of(true), of(false)));
    assert_eq!(orders["own_stock"], "17.01", "0.09 of a blade at 189.00");
    assert_eq!(figure(&orders["to_order"]) + figure(&orders["own_stock"]), materials);
    // The CSV carries the same lines, and nothing a spreadsheet would run.
    let text = app.get(&format!("{path}/purchase-orders.csv")).await.ok(200).text();
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    let cost = reader.headers().unwrap().iter().position(|h| h == "cost").unwrap();
    assert_eq!(
        rows.iter().map(|r| r[cost].parse::<rust_decimal::Decimal>().unwrap()).sum::<rust_decimal::Decimal>(),
        materials
    );
    assert!(rows.iter().flatten().all(|c| !c.starts_with(['=', '+', '-', '@'])));
    // Whoever sums what is ordered leaves out what is not.
    let place = reader.headers().unwrap().iter().position(|h| h == "ordered").unwrap();
    let stated = |ordered: &str| -> rust_decimal::Decimal {
        rows.iter().filter(|r| &r[place] == ordered).map(|r| figure(&json!(&r[cost]))).sum()
    };
    assert_eq!((stated("true"), stated("false")), (of(true), of(false)));
    let sheet = app.get(&format!("{path}/cutting-sheet")).await.ok(200).json();
    assert_eq!(sheet["cut_lists"], made["estimate"]["layout"]["cut_lists"]);
    let text = app.get(&format!("{path}/cutting-sheet.csv")).await.ok(200).text();
    let pieces: usize = sheet["cut_lists"]
        .as_array()
        .unwrap()
        .iter()
        .flat_map(|l| l["sheet"].as_array().unwrap())
        .map(|s| s["pieces"].as_array().unwrap().len())
        .sum();
    assert_eq!(csv::Reader::from_reader(text.as_bytes()).records().count(), pieces);
    // The document shows the header that the file has.
    let document = app.get("/openapi.json").await.ok(200).json();
    let answer = &document["paths"]["/v1/estimates/{id}/cutting-sheet.csv"]["get"]["responses"]["200"];
    assert_eq!(answer["content"]["text/csv"]["example"], format!("{}\r\n", text.lines().next().unwrap()));
}

#[tokio::test]
async fn a_purchase_order_leaves_as_a_file_once_the_office_is_known() {
    let app = TestApp::start().await;
    let made = app.act(&format!("/v1/jobs/{}/estimates", app.job), "*").await.ok(201).json();
    let id = made["id"].as_str().unwrap();
    let path = format!("/v1/estimates/{id}/purchase-orders");
    let told = app.get(&format!("{path}/1/ubl")).await.problem(409, "state-conflict");
    assert!(told["detail"].as_str().unwrap().contains("seller"), "{told}");
    app.quote(&app.job, &terms(id)).await;
    let orders = app.get(&path).await.ok(200).json();
    let list = orders["orders"].as_array().unwrap();
    for (i, stated) in list.iter().enumerate() {
        let answer = app.get(&format!("{path}/{}/ubl", i + 1)).await;
        if stated["supplier"] == "any supplier" || stated["supplier"] == "own stock" {
            let told = answer.problem(409, "state-conflict");
            assert!(told["detail"].as_str().unwrap().contains(stated["lines"][0]["item"].as_str().unwrap()));
            continue;
        }
        let answer = answer.ok(200);
        assert_eq!(answer.header("content-type"), "application/xml");
        // the folder that it is saved in shows whom it goes to
        let to =
            stated["supplier"].as_str().unwrap().to_lowercase().replace(['(', ')'], "").replace(' ', "-");
        let name = format!("purchase-order-{to}-{}.xml", stated["number"].as_str().unwrap());
        assert_eq!(answer.header("content-disposition"), format!("attachment; filename=\"{name}\""));
        let text = answer.text();
        for part in ["<cbc:Name>Example Drainage</cbc:Name>", stated["supplier"].as_str().unwrap()] {
            assert!(text.contains(part), "{part}: {text}");
        }
        let total = format!(">{}</cbc:PayableAmount>", stated["total"].as_str().unwrap());
        assert!(text.contains(&total), "{total}: {text}");
    }
    for place in ["0", "99", "x", "-1"] {
        app.get(&format!("{path}/{place}/ubl")).await.problem(404, "not-found");
    }
}

#[tokio::test]
async fn a_purchase_order_bears_the_day_of_the_office() {
    // At every instant it is another day in one of the two than in UTC.
    for name in ["Pacific/Kiritimati", "Etc/GMT+12"] {
        let zone = jiff::tz::TimeZone::get(name).unwrap();
        let today = || zone.to_datetime(jiff::Timestamp::now()).date().to_string();
        let office = zone.clone();
        let app = TestApp::start_with(|c| c.time_zone = office).await;
        let before = today();
        let made = app.act(&format!("/v1/jobs/{}/estimates", app.job), "*").await.ok(201).json();
        let after = today();
        let id = made["id"].as_str().unwrap();
        app.quote(&app.job, &terms(id)).await;
        let order = app.get(&format!("/v1/estimates/{id}/purchase-orders/1/ubl")).await.ok(200).text();
        let dated = |day: &str| order.contains(&format!("<cbc:IssueDate>{day}</cbc:IssueDate>"));
        assert!(dated(&before) || dated(&after), "{name}, {before}: {order}");
    }
}

/// A spreadsheet opened by a double click tells UTF-8 by the mark alone; whoever reads the file by program gets it plain.
#[tokio::test]
async fn a_csv_file_begins_with_a_byte_order_mark_where_it_is_asked_for() {
    let app = TestApp::start().await;
    let made = app.act(&format!("/v1/jobs/{}/estimates", app.job), "*").await.ok(201).json();
    let id = text(&made, "id");
    app.contract(&app.job, &terms(&id)).await;
    app.bill(&app.job, &json!({"kind": "stage", "stage": "deposit"})).await.ok(201);
    let list = format!("/v1/price-book-versions/{}/items.csv", text(&made, "price_book_version_id"));
    for path in [
        format!("/v1/estimates/{id}/purchase-orders.csv"),
        format!("/v1/estimates/{id}/cutting-sheet.csv"),
        format!("/v1/jobs/{}/invoice-rows", app.job),
        list.clone(),
    ] {
        let plain = app.get(&path).await.ok(200);
        let marked = app.get(&format!("{path}?byte_order_mark=true")).await.ok(200);
        assert_eq!(marked.bytes, [&[0xef, 0xbb, 0xbf][..], &plain.bytes[..]].concat(), "{path}");
        assert_eq!(marked.header("content-disposition"), plain.header("content-disposition"), "{path}");
        let unmarked = app.get(&format!("{path}?byte_order_mark=false")).await.ok(200);
        assert_eq!(unmarked.bytes, plain.bytes, "{path}");
    }
    // Other bytes, another tag: a copy of one is not taken for the other.
    let (plain, marked) =
        (app.get(&list).await.etag(), app.get(&format!("{list}?byte_order_mark=true")).await.etag());
    assert_ne!(plain, marked);
    let ask = |tag: &str| {
        app.send(Ask::get(&format!("{list}?byte_order_mark=true")).key(&app.key).header("if-none-match", tag))
    };
    ask(&plain).await.ok(200);
    ask(&marked).await.ok(304);
}

/// Files of two jobs, saved into one folder, do not take each other's place.
#[tokio::test]
async fn a_file_is_named_after_its_job() {
    let app = TestApp::start().await;
    let other = make_job(&app, &job(1)).await.json()["id"].as_str().unwrap().to_owned();
    let mut names = std::collections::BTreeSet::new();
    for job in [&app.job, &other] {
        let body = if *job == app.job { json!({}) } else { json!({"notes": short_notes()}) };
        let made = app.post(&format!("/v1/jobs/{job}/estimates"), &body).await.ok(201).json();
        let id = made["id"].as_str().unwrap();
        app.contract(job, &terms(id)).await;
        let change = app.change(job, "40.00").await;
        for (path, name) in [
            (format!("/v1/estimates/{id}/purchase-orders.csv"), format!("purchase-orders-{job}-1.csv")),
            (format!("/v1/estimates/{id}/cutting-sheet.csv"), format!("cutting-sheet-{job}-1.csv")),
            (format!("/v1/jobs/{job}/invoice-rows"), format!("invoice-rows-{job}.csv")),
            (format!("/v1/change-orders/{change}/ubl"), format!("CO-1-{job}.xml")),
        ] {
            let file = app.get(&path).await.ok(200);
            let expected = format!("attachment; filename=\"{name}\"");
            assert_eq!(file.header("content-disposition"), expected, "{path}");
            names.insert(name);
        }
    }
    assert_eq!(names.len(), 8);
}

#[tokio::test]
async fn the_papers_come_in_the_form_that_is_accepted() {
    let app = TestApp::start().await;
    let made = app.act(&format!("/v1/jobs/{}/estimates", app.job), "*").await.ok(201).json();
    for paper in ["purchase-orders", "cutting-sheet"] {
        let path = format!("/v1/estimates/{}/{paper}", made["id"].as_str().unwrap());
        let file = app.get(&format!("{path}.csv")).await.ok(200);
        let ask = |accept: &str| app.send(Ask::get(&path).key(&app.key).header("accept", accept));
        let csv = ask("text/csv").await.ok(200);
        assert_eq!(csv.header("content-type"), file.header("content-type"));
        assert_eq!(csv.header("content-disposition"), file.header("content-disposition"));
        assert_eq!(csv.header("vary"), "accept");
        assert_eq!(csv.text(), file.text(), "the same bytes");
        let json = app.get(&path).await.ok(200);
        for accept in ["application/json", "*/*", "text/csv;q=0.1, application/json;q=0.2"] {
            let answer = ask(accept).await.ok(200);
            assert_eq!(answer.header("content-type"), "application/json", "{accept}");
            assert_eq!(answer.text(), json.text(), "{accept}");
        }
        ask("application/pdf").await.problem(406, "not-acceptable");
        ask("text/csv;q=0").await.problem(406, "not-acceptable");
        ask("csv").await.problem(400, "bad-header");
    }
}
