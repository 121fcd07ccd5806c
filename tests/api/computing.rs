//! Long computations: beside the other requests, within the deadline, so many at once.

use crate::app::{Answer, Ask, TestApp, send, text};
use crate::records::{Records, finish, job, make_job, short_notes};
use rillcast::store::Actor;
use rillcast::store::estimates::NewEstimate;
use serde_json::{Value, json};
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::OwnedSemaphorePermit;

fn legs(count: usize, length: &str) -> Value {
    let leg = |i: usize| match i {
        0 => json!({"length": length}),
        _ => json!({"length": length, "meets": {"kind": "corner"}}),
    };
    Value::Array((0..count).map(leg).collect())
}

/// One run of many legs: more than a moment's work for every calculator.
fn many_legs() -> Value {
    let mut notes = short_notes();
    notes["runs"][0]["legs"] = legs(14, "8 ft");
    notes
}

/// Runs that part between several outlets, with no system named: seconds of work.
fn storm() -> Value {
    let run = |i: usize| {
        let outlets: Vec<Value> = (0..5)
            .map(|k| json!({"kind": "bottom", "id": format!("out-{i}-{k}"), "leg": 2 * k + 1, "at": "9 ft"}))
            .collect();
        json!({"id": format!("run-{i}"), "legs": legs(10, "18 ft"), "crossing": "feet",
            "outlets": outlets})
    };
    let catchment = |i: usize| {
        json!({"id": format!("yard-{i}"), "surfaces": [{"cover": "concrete", "area": "2000 ft2"}],
            "reaches": [{"run": format!("run-{i}")}]})
    };
    json!({"runs": (0..20).map(run).collect::<Vec<_>>(), "catchments": (0..20).map(catchment).collect::<Vec<_>>(),
        "storm": {"rain": {"kind": "intensity", "intensity": "4 in_per_hr"}}})
}

/// Takes every place to compute in.
async fn taken(app: &TestApp) -> OwnedSemaphorePermit {
    let computing = Arc::clone(&app.state.inner.computing);
    let all = u32::try_from(computing.available_permits()).unwrap();
    assert!(all >= 2, "a long computation would hold up every other");
    computing.acquire_many_owned(all).await.unwrap()
}

fn ask(app: &TestApp, path: &str, body: &Value) -> Ask {
    Ask::post(path).key(&app.key).json(body)
}

#[tokio::test]
async fn a_long_calculation_holds_up_no_other_request_and_ends_at_the_deadline() {
    let app = TestApp::start_with(|c| c.deadline = Duration::from_millis(20)).await;
    let places = app.state.inner.computing.available_permits();
    let free = || app.state.inner.computing.available_permits();
    let storm = ask(&app, "/v1/calculators/flow-check", &json!({"notes": storm()}));
    let heavy = loop {
        let heavy = tokio::spawn(send(app.router.clone(), storm.clone()));
        while free() == places && !heavy.is_finished() {
            tokio::task::yield_now().await;
        }
        if free() < places {
            break heavy;
        }
        // On a busy machine the deadline may pass before it is begun; one that was answered was computed where requests are.
        heavy.await.unwrap().problem(503, "deadline");
    };
    app.send(Ask::get("/livez")).await.ok(200);
    assert_eq!(free(), places - 1, "the answer came after the computation, not beside it");
    heavy.await.unwrap().problem(503, "deadline");
    while free() < places {
        tokio::time::sleep(Duration::from_millis(20)).await;
    }
}

/// Minutes of work for a client that is gone would hold up every other for as long.
#[tokio::test]
async fn what_nobody_waits_for_ends() {
    let app = TestApp::start_with(|c| c.deadline = Duration::from_millis(200)).await;
    let places = app.state.inner.computing.available_permits();
    let mut notes = storm();
    // Sloped legs, and a place of outflow on every other one.
    for run in notes["runs"].as_array_mut().unwrap() {
        let mut sloped = legs(50, "8 ft");
        for (leg, fall) in
            sloped.as_array_mut().unwrap().iter_mut().zip(["0", "0.5", "1", "-0.5", "2"].iter().cycle())
        {
            leg["fall_pct"] = json!(fall);
        }
        let id = text(run, "id");
        let outlet =
            |n: usize| json!({"kind": "bottom", "id": format!("{id}-{n}"), "leg": 2 * n + 1, "at": "2 ft"});
        run["outlets"] = (0..20).map(outlet).collect();
        run["legs"] = sloped;
    }
    let extra = json!([{"item": "hanger", "quantity": "1"}]);
    let optional = |n: usize| json!({"code": format!("more-{n}"), "name": "more", "extras": extra});
    notes["pricing"] = json!({"optional": (0..10).map(optional).collect::<Vec<_>>()});
    let asked = ask(&app, "/v1/calculators/estimate", &json!({"notes": notes}));
    app.send(asked).await.problem(503, "deadline");
    let ended = async {
        while app.state.inner.computing.available_permits() < places {
            tokio::time::sleep(Duration::from_millis(20)).await;
        }
    };
    tokio::time::timeout(Duration::from_secs(30), ended).await.unwrap();
}

#[tokio::test]
async fn what_may_be_long_waits_for_a_place_and_what_is_short_does_not() {
    let app = TestApp::start_with(|c| c.deadline = Duration::from_millis(1_000)).await;
    let mut with_notes = job(1);
    with_notes["notes"] = many_legs();
    let made = text(&make_job(&app, &with_notes).await.json(), "id");
    let estimate = app.post(&format!("/v1/jobs/{made}/estimates"), &json!({})).await.ok(201).json();
    finish(&app, &made).await;
    let book = text(&app.all("/v1/price-books").await[0], "id");
    let version =
        text(&app.post(&format!("/v1/price-books/{book}/versions"), &json!({})).await.ok(201).json(), "id");

    let places = taken(&app).await;
    let short: Vec<(&str, Value)> = vec![
        ("layout-quantities", json!({"length": "41 ft"})),
        ("concrete-order", json!({"volume": "2.1 yd3"})),
        ("labor-hours", json!({"quantities": [{"measure": "run_excavation", "quantity": "3.2 yd3"}]})),
        ("hire-plan", json!({"rates": {"day": "100.00"}, "half_days": 18})),
        ("estimate", json!({"notes": short_notes()})),
        ("layout-quantities", json!({"notes": short_notes()})),
        ("labor-hours", json!({"notes": short_notes()})),
        ("concrete-order", json!({"notes": short_notes()})),
        ("hire-plan", json!({"notes": short_notes()})),
    ];
    for (name, body) in &short {
        app.post(&format!("/v1/calculators/{name}"), body).await.ok(200);
    }
    let pour = |i: usize| json!({"name": format!("pour {i}"), "volume": "2 yd3"});
    let stretch = |i: usize| json!({"first": 10 * i, "last": 10 * i + 3});
    let list = |n: usize, one: &dyn Fn(usize) -> Value| (0..n).map(one).collect::<Vec<_>>();
    let long: Vec<(&str, Value)> = vec![
        ("layout-quantities", json!({"notes": many_legs()})),
        ("concrete-order", json!({"notes": many_legs()})),
        ("concrete-order", json!({"pours": list(100, &pour)})),
        ("concrete-order", json!({"volume": "2 yd3", "break_even_up_to": "40 yd3"})),
        ("labor-hours", json!({"notes": many_legs()})),
        ("flow-check", json!({"notes": storm()})),
        ("estimate", json!({"notes": many_legs()})),
        ("hire-plan", json!({"notes": many_legs()})),
        ("hire-plan", json!({"rates": {"day": "100.00"}, "stretches": list(100, &stretch)})),
        (
            "cut-list",
            json!({"legs": [{"id": "a", "length": "2 m"}], "stock": [{"id": "m", "length": "1 m"}]}),
        ),
        ("purchase-plan", json!({"needs": [{"item": "grate-screw", "quantity": "130"}]})),
        ("plan", json!({"notes": short_notes(), "start": "2027-03-01"})),
        ("risk", json!({"notes": short_notes()})),
    ];
    let mut waiting: Vec<(String, Ask)> = long
        .iter()
        .map(|(name, body)| (name.to_string(), ask(&app, &format!("/v1/calculators/{name}"), body)))
        .collect();
    for path in [
        format!("/v1/jobs/{made}/comparison"),
        format!("/v1/price-book-versions/{version}/difference?estimate={}", text(&estimate, "id")),
    ] {
        waiting.push((path.clone(), Ask::get(&path).key(&app.key)));
    }
    let sent: Vec<_> =
        waiting.into_iter().map(|(name, ask)| (name, tokio::spawn(send(app.router.clone(), ask)))).collect();
    for (name, answer) in sent {
        let answer: Answer = answer.await.unwrap();
        assert_eq!(answer.status, 503, "{name}: {}", answer.text());
        let told = answer.problem(503, "overloaded");
        assert!(text(&told, "detail").contains("computations"), "{name}: {told}");
    }
    drop(places);
    app.post("/v1/calculators/labor-hours", &json!({"notes": many_legs()})).await.ok(200);
}

#[tokio::test]
async fn no_write_waits_for_a_plan_and_of_two_plans_from_one_state_one_is_kept() {
    let app = TestApp::start().await;
    let records = Records::open(&app).await;
    let plan = format!("/v1/plans/{}", records.plan);
    let anew =
        ask(&app, &format!("/v1/estimates/{}/plan", records.estimate), &json!({"start": "2027-03-09"}));
    let progress = json!({"status_date": "2027-03-03", "progress": [
        {"task": "call_for_marks", "started_on": "2027-03-02"}]});
    let report = ask(&app, &format!("{plan}/progress"), &progress).header("if-match", "*");
    let places = taken(&app).await;
    let sent = [anew, report].map(|ask| tokio::spawn(send(app.router.clone(), ask)));
    tokio::time::sleep(Duration::from_millis(200)).await;
    make_job(&app, &job(1)).await;
    assert!(sent.iter().all(|s| !s.is_finished()), "a plan was computed without a place");
    drop(places);
    let mut kept = 0;
    for answer in sent {
        let answer = answer.await.unwrap();
        if answer.status.is_success() {
            kept += 1;
        } else {
            let told = answer.problem(409, "conflict");
            assert!(text(&told, "detail").contains("meanwhile"), "{told}");
        }
    }
    assert_eq!(kept, 1);
    assert_eq!(app.all(&format!("{plan}/versions")).await.len(), 2);
}

/// What was read before an estimate is computed may be another when it is written: other notes, another price book before it.
#[tokio::test]
async fn an_estimate_is_written_only_for_the_job_that_it_was_computed_for() {
    let app = TestApp::start().await;
    let records = Records::open(&app).await;
    app.act(&format!("/v1/price-book-versions/{}/publish", records.draft), "*").await.ok(200);
    let of_job = format!("/v1/jobs/{}", app.job);
    let estimates = format!("{of_job}/estimates");
    // Written beside, as by another request that was done sooner.
    let revision = |id: &str, version: &str| {
        let new = NewEstimate {
            id: format!("est_{id}"),
            job_id: app.job.clone(),
            price_book_version_id: version.to_owned(),
            engine: String::new(),
            notes: "{}".to_owned(),
            answer: "{}".to_owned(),
            total_minor: 0,
            outcome: "pass".to_owned(),
        };
        let actor = Actor { key_id: "other".to_owned(), request_id: "other".to_owned(), now: 0 };
        let store = app.state.inner.store.clone();
        async move {
            let mut write = store.begin(actor).await.unwrap();
            write.put_estimate(&new).await.unwrap();
            write.commit().await.unwrap();
        }
    };
    let waiting = async |body: &Value| {
        let places = taken(&app).await;
        let sent = tokio::spawn(send(app.router.clone(), ask(&app, &estimates, body)));
        tokio::time::sleep(Duration::from_millis(200)).await;
        assert!(!sent.is_finished(), "an estimate was computed without a place");
        (places, sent)
    };
    let refused = |answer: Answer, why: &str| {
        let told = answer.problem(409, "conflict");
        assert_eq!(text(&told, "detail"), format!("the job got {why} meanwhile: ask again"));
    };
    let named = json!({"price_book_version": records.published});

    let (places, sent) = waiting(&named).await;
    app.patch(&of_job, "*", &json!({"notes": {"title": "Drive alone"}})).await.ok(200);
    drop(places);
    refused(sent.await.unwrap(), "other site notes");
    // Notes that were sent are what they are.
    let (places, sent) =
        waiting(&json!({"notes": short_notes(), "price_book_version": records.published})).await;
    app.patch(&of_job, "*", &json!({"notes": {"title": "Path alone"}})).await.ok(200);
    drop(places);
    sent.await.unwrap().ok(201);

    // Nor does a version that is named hang on what came meanwhile.
    let (places, sent) = waiting(&named).await;
    revision("one", &records.draft).await;
    drop(places);
    sent.await.unwrap().ok(201);

    let unnamed = json!({});
    revision("two", &records.draft).await;
    let (places, sent) = waiting(&unnamed).await;
    revision("three", &records.published).await;
    drop(places);
    refused(sent.await.unwrap(), "a revision from another version of a price book");
    // One from the version that this one is priced from as well is another revision and no more.
    let (places, sent) = waiting(&unnamed).await;
    revision("four", &records.draft).await;
    drop(places);
    assert_eq!(sent.await.unwrap().ok(201).json()["revision"], json!(8));
    assert_eq!(app.all(&estimates).await.len(), 8, "what was refused wrote something");
}
