//! Purchase orders of stored estimates: nothing of the materials is left out, one order a supplier, delivered to the job.

use crate::app::{Ask, TestApp, text};
use crate::records::terms;
use rillcast::domain::demo::{BOOK, NOTES};
use rust_decimal::Decimal;
use serde_json::{Value, json};

fn figure(value: &Value) -> Decimal {
    value.as_str().unwrap_or_default().parse().unwrap_or_else(|e| panic!("{value}: {e}"))
}

/// The id of a version of the demo book, changed and published.
pub(crate) async fn published(app: &TestApp, change: impl FnOnce(&mut Value)) -> String {
    let mut book: Value = serde_json::from_str(BOOK).unwrap();
    change(&mut book);
    let made = app.post("/v1/price-books", &json!({"document": book})).await.ok(201).json();
    let id = text(&made["versions"][0], "id");
    let publish = Ask::post(&format!("/v1/price-book-versions/{id}/publish")).key(&app.key);
    app.send(publish.header("if-match", "*").json(&json!({}))).await.ok(200);
    id
}

#[tokio::test]
async fn the_orders_are_the_materials_of_the_estimate() {
    let app = TestApp::start().await;
    // Somebody offers the bags of the pour, and more of the same are wanted beside it.
    let version = published(&app, |book| {
        book["offers"].as_array_mut().unwrap().push(json!({"supplier": "millbrook", "item": "bag-80",
            "order_code": "M-BAG", "price": "7.50"}));
    })
    .await;
    let mut notes: Value = serde_json::from_str(NOTES).unwrap();
    notes["options"] = json!({"concrete_way": "bags-80"});
    notes["extras"] = json!([{"item": "bag-80", "quantity": "7"}]);
    let path = format!("/v1/jobs/{}/estimates", app.job);
    let body = json!({"notes": notes, "price_book_version": version});
    let made = app.post(&path, &body).await.ok(201).json();
    let (id, estimate) = (text(&made, "id"), &made["estimate"]);
    let orders = app.get(&format!("/v1/estimates/{id}/purchase-orders")).await.ok(200).json();
    let lines = estimate["cost_lines"].as_array().unwrap().iter().filter(|l| l["category"] == "material");
    let materials: Decimal = lines.map(|l| figure(&l["cost"])).sum();
    assert_eq!(figure(&orders["total"]), materials, "{orders}");
    let list = orders["orders"].as_array().unwrap();
    for (i, order) in list.iter().enumerate() {
        let goods: Decimal = order["lines"].as_array().unwrap().iter().map(|l| figure(&l["cost"])).sum();
        assert_eq!(figure(&order["goods"]), goods);
        assert_eq!(figure(&order["total"]), goods + figure(&order["delivery"]));
        assert!(list.iter().skip(i + 1).all(|o| o["supplier"] != order["supplier"]), "one order a supplier");
    }
    // The bags of the pour are loaded by the crew.
    let loaded = estimate["load_out"].as_array().unwrap();
    assert!(loaded.iter().any(|l| l["because"] == "concrete.bags"), "{loaded:?}");
}

/// What nobody offers is ordered from the usual supplier, and is needed on the same day.
#[tokio::test]
async fn they_say_by_when_with_offers_and_without() {
    let app = TestApp::start().await;
    let with = published(&app, |_| {}).await;
    let without = published(&app, |book| book["offers"] = json!([])).await;
    let path = format!("/v1/jobs/{}/estimates", app.job);
    for (version, offered) in [(&with, true), (&without, false)] {
        for (options, expected) in [
            (json!({"order_on": "2027-03-01", "needed_by": "2027-03-20"}), json!("2027-03-20")),
            // 30 days after the orders, as the notes say where they name no day.
            (json!({"order_on": "2027-03-01"}), json!("2027-03-31")),
            (json!({}), Value::Null),
        ] {
            let mut notes: Value = serde_json::from_str(NOTES).unwrap();
            notes["options"] = options;
            let body = json!({"notes": notes, "price_book_version": version});
            let made = app.post(&path, &body).await.ok(201).json();
            assert_eq!(made["estimate"].get("purchases").is_some(), offered, "{version}");
            let orders = format!("/v1/estimates/{}/purchase-orders", text(&made, "id"));
            let list = app.get(&orders).await.ok(200).json();
            let list = list["orders"].as_array().unwrap();
            assert!(!list.is_empty());
            for order in list {
                assert_eq!(order["needed_by"], expected, "{order}");
            }
        }
    }
}

/// Concrete that comes mixed is needed on the day on which it is placed, each pour day by itself; goods and bags as ordered for.
#[tokio::test]
async fn concrete_is_ordered_for_the_day_of_its_pour() {
    let app = TestApp::start().await;
    let path = format!("/v1/jobs/{}/estimates", app.job);
    let with = |way: &str| {
        let mut notes: Value = serde_json::from_str(NOTES).unwrap();
        notes["schedule"] = json!({"start": "2027-03-22"});
        notes["options"] = json!({"order_on": "2027-03-01", "needed_by": "2027-03-20", "concrete_way": way});
        notes["runs"][1]["pour_days"] = json!([2]);
        json!({"notes": notes})
    };
    let made = app.post(&path, &with("ready-mix")).await.ok(201).json();
    let pours = made["estimate"]["plan"]["pours"].as_array().unwrap();
    assert_eq!(pours.iter().map(|p| &p["day"]).collect::<Vec<_>>(), [1, 2]);
    let on: Vec<&str> = pours.iter().map(|p| p["on"].as_str().unwrap()).collect();
    assert!("2027-03-22" < on[0] && on[0] < on[1], "{on:?}");
    let orders =
        app.get(&format!("/v1/estimates/{}/purchase-orders", text(&made, "id"))).await.ok(200).json();
    let lists = orders["orders"].as_array().unwrap();
    let holds =
        |order: &&Value, item: &str| order["lines"].as_array().unwrap().iter().any(|l| l["item"] == item);
    let mixed: Vec<&Value> = lists.iter().filter(|o| holds(o, "ready-mix-4000")).collect();
    assert_eq!(mixed.iter().map(|o| &o["needed_by"]).collect::<Vec<_>>(), on, "{orders}");
    for order in lists.iter().filter(|o| !holds(o, "ready-mix-4000")) {
        assert_eq!(order["needed_by"], "2027-03-20", "{order}");
    }
    let lines =
        made["estimate"]["cost_lines"].as_array().unwrap().iter().filter(|l| l["category"] == "material");
    assert_eq!(figure(&orders["total"]), lines.map(|l| figure(&l["cost"])).sum::<Decimal>());
    // Where nothing says when work starts, one order has both pours and tells them apart.
    let mut undated = with("ready-mix");
    undated["notes"].as_object_mut().unwrap().remove("schedule");
    let made = app.post(&path, &undated).await.ok(201).json();
    let orders =
        app.get(&format!("/v1/estimates/{}/purchase-orders", text(&made, "id"))).await.ok(200).json();
    let mixed: Vec<&Value> =
        self::lines(&orders).into_iter().filter(|l| text(l, "item") == "ready-mix-4000").collect();
    assert_eq!(mixed.len(), 2, "{orders}");
    for (line, day) in mixed.iter().zip([1, 2]) {
        assert!(text(line, "description").ends_with(&format!(", pour day {day}")), "{line}");
    }
    let made = app.post(&path, &with("bags-80")).await.ok(201).json();
    let orders =
        app.get(&format!("/v1/estimates/{}/purchase-orders", text(&made, "id"))).await.ok(200).json();
    let bags: Vec<&Value> =
        orders["orders"].as_array().unwrap().iter().filter(|o| holds(o, "bag-80")).collect();
    assert_eq!(bags.iter().map(|o| &o["needed_by"]).collect::<Vec<_>>(), ["2027-03-20"]);
}

/// A blade charged by its wear is not ordered, whoever offers it.
#[tokio::test]
async fn what_is_charged_by_its_wear_is_not_ordered_from_an_offer() {
    let app = TestApp::start().await;
    let version = published(&app, |book| {
        book["offers"].as_array_mut().unwrap().push(json!({"supplier": "millbrook", "item": "saw-blade",
            "order_code": "M-BLADE", "price": "180.00"}));
    })
    .await;
    let body = json!({"notes": serde_json::from_str::<Value>(NOTES).unwrap(), "price_book_version": version});
    let made = app.post(&format!("/v1/jobs/{}/estimates", app.job), &body).await.ok(201).json();
    let orders =
        app.get(&format!("/v1/estimates/{}/purchase-orders", text(&made, "id"))).await.ok(200).json();
    let of = |order: &&Value| order["lines"].as_array().unwrap().iter().any(|l| l["item"] == "saw-blade");
    let holding: Vec<&Value> = orders["orders"].as_array().unwrap().iter().filter(of).collect();
    assert_eq!(holding.iter().map(|o| &o["supplier"]).collect::<Vec<_>>(), ["own stock"]);
    let lines =
        made["estimate"]["cost_lines"].as_array().unwrap().iter().filter(|l| l["category"] == "material");
    assert_eq!(figure(&orders["total"]), lines.map(|l| figure(&l["cost"])).sum::<Decimal>());
}

#[tokio::test]
async fn they_are_delivered_where_the_job_is() {
    let app = TestApp::start().await;
    let job = format!("/v1/jobs/{}", app.job);
    let tag = app.get(&job).await.etag();
    let moved = json!({"title": "New title", "site": {"address": "16 Corrected Road", "access": null}});
    app.patch(&job, &tag, &moved).await.ok(200);
    let id = text(&app.act(&format!("{job}/estimates"), "*").await.ok(201).json(), "id");
    let orders = app.get(&format!("/v1/estimates/{id}/purchase-orders")).await.ok(200).json();
    assert_eq!(orders["title"], "New title");
    for order in orders["orders"].as_array().unwrap() {
        assert_eq!(order["deliver_to"], "16 Corrected Road");
        assert!(order.get("access").is_none(), "{order}");
    }
    let sheet = app.get(&format!("/v1/estimates/{id}/cutting-sheet")).await.ok(200).json();
    assert_eq!((&sheet["title"], &sheet["site"]), (&json!("New title"), &json!("16 Corrected Road")));
}

/// The demo's notes with an optional line.
fn with_optional(extras: &Value) -> Value {
    let mut notes: Value = serde_json::from_str(NOTES).unwrap();
    notes["pricing"] = json!({"optional": [{"code": "spares", "name": "Spare parts", "extras": extras}]});
    notes
}

/// A job accepted with additions; the estimate and its orders before and after.
async fn accepted_with(app: &TestApp, request: &Value, additions: &Value) -> (Value, Value, Value) {
    let path = format!("/v1/jobs/{}/estimates", app.job);
    let made = app.post(&path, request).await.ok(201).json();
    let orders = format!("/v1/estimates/{}/purchase-orders", text(&made, "id"));
    let before = app.get(&orders).await.ok(200).json();
    let mut terms = terms(&text(&made, "id"));
    terms["additions"] = additions.clone();
    let quote = app.issued(&app.job, &terms).await;
    let codes: Vec<&Value> = additions.as_array().unwrap().iter().map(|a| &a["code"]).collect();
    let yes = json!({"by": "H", "on": "2026-02-10", "additions": codes});
    app.money(&format!("/v1/quotes/{quote}/accept"), &yes).await.ok(200);
    let after = app.get(&orders).await.ok(200).json();
    (made, before, after)
}

fn lines(orders: &Value) -> Vec<&Value> {
    orders["orders"].as_array().unwrap().iter().flat_map(|o| o["lines"].as_array().unwrap()).collect()
}

#[tokio::test]
async fn material_of_an_addition_that_was_taken_is_ordered() {
    let app = TestApp::start().await;
    // Somebody offers hangers; gravel is bought at the price of the book, the permit is no material.
    let notes = with_optional(
        &json!([{"item": "hanger", "quantity": "10"}, {"item": "gravel-surface", "quantity": "2"},
        {"item": "permit-drainage", "quantity": "1"}]),
    );
    let (made, before, after) =
        accepted_with(&app, &json!({"notes": notes}), &json!([{"code": "spares"}])).await;
    // What the estimate itself takes is ordered as it was, under the same numbers.
    let list = |orders: &Value| orders["orders"].as_array().unwrap().clone();
    for (old, new) in list(&before).iter().zip(list(&after)).filter(|(old, _)| old["supplier"] != "own stock")
    {
        assert_eq!(
            (&old["number"], &old["supplier"], &old["delivery"]),
            (&new["number"], &new["supplier"], &new["delivery"])
        );
        let (old, new) = (old["lines"].as_array().unwrap(), new["lines"].as_array().unwrap());
        assert_eq!(old.as_slice(), &new[..old.len()]);
    }
    let own: Vec<&Value> = lines(&after).into_iter().filter(|l| l.get("additions").is_some()).collect();
    assert_eq!(lines(&after).len(), lines(&before).len() + own.len());
    let items: Vec<(&Value, &Value, &Value)> =
        own.iter().map(|l| (&l["item"], &l["count"], &l["additions"])).collect();
    assert_eq!(
        items,
        [
            (&json!("hanger"), &json!("10"), &json!(["spares"])),
            (&json!("gravel-surface"), &json!("2"), &json!(["spares"]))
        ]
    );
    let cost: Decimal = own.iter().map(|l| figure(&l["cost"])).sum();
    assert_eq!(figure(&after["total"]), figure(&before["total"]) + cost);
    // One order a supplier still.
    for (i, order) in list(&after).iter().enumerate() {
        assert!(list(&after).iter().skip(i + 1).all(|o| o["supplier"] != order["supplier"]), "{after}");
    }
    // The file of the order has the line, and the order is placed at its whole total.
    let of = list(&after).into_iter().find(|o| o["lines"].as_array().unwrap().contains(own[0])).unwrap();
    let place = text(&of, "number").rsplit_once('-').unwrap().1.to_owned();
    let id = text(&made, "id");
    let file = app.get(&format!("/v1/estimates/{id}/purchase-orders/{place}/ubl")).await.ok(200).text();
    assert!(file.contains(&format!(">{}</cbc:PayableAmount>", text(&of, "total"))), "{file}");
    let csv = app.get(&format!("/v1/estimates/{id}/purchase-orders.csv")).await.ok(200).text();
    assert_eq!(csv.lines().filter(|l| l.contains(",hanger,")).count(), 2, "{csv}");
    let placed = json!({"entries": [{"kind": "order", "on": "2026-03-03", "order": of["number"]}]});
    app.post(&format!("/v1/jobs/{}/actuals", app.job), &placed).await.ok(201);
    let ledger = app.get(&format!("/v1/jobs/{}/ledger", app.job)).await.ok(200).json();
    let basis = text(&ledger["costs"][0], "basis");
    assert!(basis.contains(&text(&of, "total")), "{basis}");
    // The orders of the estimate that a change order puts in its place have it as well; those of others do not.
    let mut longer = notes.clone();
    longer["runs"][0]["legs"][0]["length"] = json!("30 ft");
    let path = format!("/v1/jobs/{}/estimates", app.job);
    let second = text(&app.post(&path, &json!({"notes": longer})).await.ok(201).json(), "id");
    let orders = format!("/v1/estimates/{second}/purchase-orders");
    let added = |orders: &Value| lines(orders).iter().filter(|l| l.get("additions").is_some()).count();
    assert_eq!(added(&app.get(&orders).await.ok(200).json()), 0);
    let change = json!({"title": "Longer", "basis": {"kind": "revision", "estimate_id": second}});
    let change = app.money(&format!("/v1/jobs/{}/change-orders", app.job), &change).await.ok(201).json();
    let change = format!("/v1/change-orders/{}", text(&change, "id"));
    app.money(&format!("{change}/issue"), &json!({"on": "2026-02-11"})).await.ok(200);
    app.money(&format!("{change}/accept"), &json!({"by": "H", "on": "2026-02-12"})).await.ok(200);
    assert_eq!(added(&app.get(&orders).await.ok(200).json()), 2);
}

/// What takes longest to come decides by when a supplier's order must be placed, also where an addition brought it.
#[tokio::test]
async fn an_addition_that_takes_longer_is_ordered_earlier() {
    let app = TestApp::start().await;
    let version = published(&app, |book| {
        book["offers"]
            .as_array_mut()
            .unwrap()
            .push(json!({"supplier": "millbrook", "item": "gravel-surface",
            "order_code": "M-GRAVEL", "price": "0.50", "lead_days": 12}));
    })
    .await;
    let mut notes = with_optional(&json!([{"item": "gravel-surface", "quantity": "2"}]));
    notes["options"] = json!({"order_on": "2027-03-01", "needed_by": "2027-03-20"});
    let request = json!({"notes": notes, "price_book_version": version});
    let (_, before, after) = accepted_with(&app, &request, &json!([{"code": "spares"}])).await;
    let by = |orders: &Value| -> String {
        let list = orders["orders"].as_array().unwrap();
        let of = list.iter().filter(|o| text(o, "supplier").starts_with("Millbrook Supply"));
        let by: Vec<String> = of.map(|o| text(o, "order_by")).collect();
        assert_eq!(by.len(), 1, "{by:?}");
        by.concat()
    };
    // 2 days before the 20th for what the estimate takes, 12 days before it for the gravel.
    assert_eq!((by(&before), by(&after)), ("2027-03-18".to_owned(), "2027-03-08".to_owned()));
}

/// Packs that the estimate buys and does not use up serve the addition first.
#[tokio::test]
async fn what_is_left_over_of_the_packs_is_not_bought_again() {
    let app = TestApp::start().await;
    let made = app.act(&format!("/v1/jobs/{}/estimates", app.job), "*").await.ok(201).json();
    let plan = made["estimate"]["purchases"]["orders"].as_array().unwrap();
    let bought = plan.iter().flat_map(|o| o["lines"].as_array().unwrap());
    let line = bought.clone().find(|l| figure(&l["over"]["value"]) >= Decimal::ONE).unwrap();
    let (item, over) = (text(line, "item"), figure(&line["over"]["value"]));
    let of = |quantity: Decimal| with_optional(&json!([{"item": item, "quantity": quantity.to_string()}]));
    // What costs nothing more is offered at a price of its own.
    let own = json!([{"code": "spares", "name": "Spare parts", "category": "material", "price": "20.00"}]);
    let (_, before, after) = accepted_with(&app, &json!({"notes": of(over)}), &own).await;
    assert_eq!(after, before, "{item}: {over} are left over");
    let app = TestApp::start().await;
    let (_, before, after) = accepted_with(&app, &json!({"notes": of(over + Decimal::ONE)}), &own).await;
    assert_eq!(lines(&after).len(), lines(&before).len() + 1);
    let more = lines(&after).into_iter().find(|l| l.get("additions").is_some()).unwrap();
    assert_eq!(more["count"], "1", "{more}");
}

/// What is written by hand has no items: it is bought as what it is called.
#[tokio::test]
async fn material_written_by_hand_is_ordered_of_nobody_yet() {
    let app = TestApp::start().await;
    let additions = json!([
        {"code": "lamp", "name": "Lamp at the gate", "category": "material", "price": "95.00", "cost": "61.50"},
        {"code": "digging", "name": "More digging", "category": "labor", "price": "80.00"}]);
    let notes: Value = serde_json::from_str(NOTES).unwrap();
    let (made, before, after) = accepted_with(&app, &json!({"notes": notes}), &additions).await;
    let own: Vec<&Value> = lines(&after).into_iter().filter(|l| l.get("additions").is_some()).collect();
    assert_eq!(own.len(), 1, "{own:?}");
    assert_eq!(
        (&own[0]["description"], &own[0]["cost"], &own[0]["additions"]),
        (&json!("Lamp at the gate"), &json!("61.50"), &json!(["lamp"]))
    );
    let any = after["orders"].as_array().unwrap().iter().find(|o| o["supplier"] == "any supplier").unwrap();
    assert!(any["lines"].as_array().unwrap().contains(own[0]), "{any}");
    assert_eq!(figure(&after["total"]), figure(&before["total"]) + Decimal::new(6150, 2));
    // No supplier in the book could sell it: the refusal of a file says what can be done instead.
    let place = text(any, "number").rsplit_once('-').unwrap().1.to_owned();
    let file = app.get(&format!("/v1/estimates/{}/purchase-orders/{place}/ubl", text(&made, "id"))).await;
    let told = text(&file.problem(409, "state-conflict"), "detail");
    let (items, by_hand) = told.split_once("lamp").unwrap();
    assert!(by_hand.contains("by hand") && by_hand.contains("record it as placed"), "{told}");
    assert!(by_hand.contains("`extras`") && !by_hand.contains("new revision"), "{told}");
    let others = any["lines"].as_array().unwrap().len() > 1;
    assert_eq!(items.contains("in the price book, and make a new revision"), others, "{told}");
}

/// An order costs what it came to when it was placed: an addition that the customer takes afterwards is still to be ordered.
#[tokio::test]
async fn an_order_that_was_placed_does_not_grow_with_the_quote() {
    let app = TestApp::start().await;
    let job = |rest: &str| format!("/v1/jobs/{}/{rest}", app.job);
    let notes = with_optional(&json!([{"item": "hanger", "quantity": "10"}]));
    let estimate = app.post(&job("estimates"), &json!({"notes": notes})).await.ok(201).json();
    let id = text(&estimate, "id");
    app.post(&job("acceptance"), &json!({"accepted_on": "2026-02-01"})).await.ok(201);
    let path = format!("/v1/estimates/{id}/purchase-orders");
    let orders = async || app.get(&path).await.ok(200).json();
    let ledger = async || app.get(&job("ledger")).await.ok(200).json();
    let of_hangers = async || {
        let holds = |o: &&Value| o["lines"].as_array().unwrap().iter().any(|l| l["item"] == "hanger");
        orders().await["orders"].as_array().unwrap().iter().find(holds).unwrap().clone()
    };
    let before = of_hangers().await;
    let entry = json!({"kind": "order", "on": "2026-02-02", "order": before["number"]});
    let made = app.post(&job("actuals"), &json!({"entries": [entry]})).await.ok(201).json();
    let record = &made["items"][0];
    assert_eq!((&record["entry"], &record["order_total"]), (&entry, &before["total"]));
    let costs = ledger().await["costs"].clone();
    assert!(!costs.as_array().unwrap().is_empty());

    let mut terms = terms(&id);
    terms["additions"] = json!([{"code": "spares"}]);
    let quote = app.issued(&app.job, &terms).await;
    let yes = json!({"by": "H", "on": "2026-02-10", "additions": ["spares"]});
    app.money(&format!("/v1/quotes/{quote}/accept"), &yes).await.ok(200);
    let after = of_hangers().await;
    let more = figure(&after["total"]) - figure(&before["total"]);
    assert!(after["number"] == before["number"] && more > Decimal::ZERO, "{after}");
    let placed = &orders().await["placed"][0];
    assert_eq!((&placed["total"], &placed["confirmed"]), (&before["total"], &json!(false)));
    let page = ledger().await;
    assert_eq!(page["costs"], costs);
    let warnings = page["warnings"].as_array().unwrap();
    assert_eq!(warnings.len(), 1, "{warnings:?}");
    let told = warnings[0].as_str().unwrap();
    let figures =
        [text(&before, "number"), text(&before, "total"), text(&after, "total"), format!(": {more} of it")];
    assert!(figures.iter().all(|f| told.contains(f)) && told.contains("not ordered yet"), "{told}");
    let read = app.all(&job("actuals")).await;
    assert_eq!(&read[0], record, "a record never changes");

    // The rest is ordered: the record is corrected and holds all of it.
    let mut right = entry;
    right["corrects"] = record["id"].clone();
    let made = app.post(&job("actuals"), &json!({"entries": [right]})).await.ok(201).json();
    assert_eq!(made["items"][0]["order_total"], after["total"]);
    assert_eq!(orders().await["placed"][0]["total"], after["total"]);
    assert!(ledger().await.get("warnings").is_none());
}
