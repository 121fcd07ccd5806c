//! What a program asks that follows jobs and papers: which jobs were accepted, which papers changed.

use crate::app::{TestApp, fault, faults_in, text};
use crate::document::operations;
use crate::records::{Records, job, make_job, short_notes, terms};
use serde_json::{Value, json};

fn ids(items: &[Value]) -> Vec<String> {
    items.iter().map(|item| text(item, "id")).collect()
}

/// A job with an estimate; the ids of both.
async fn estimated(app: &TestApp, number: usize) -> (String, String) {
    let mut body = job(number);
    body["notes"] = short_notes();
    let made = text(&make_job(app, &body).await.json(), "id");
    let estimate = app.post(&format!("/v1/jobs/{made}/estimates"), &json!({})).await.ok(201).json();
    (made, text(&estimate, "id"))
}

#[tokio::test]
async fn accepted_jobs_are_listed_with_their_estimate() {
    let app = TestApp::start().await;
    let (signed, estimate) = estimated(&app, 1).await;
    let (marked, by_hand) = estimated(&app, 2).await;
    let (open, _) = estimated(&app, 3).await;
    let before = app.get(&format!("/v1/jobs/{signed}")).await.ok(200);
    assert!(before.json().get("accepted_on").is_none(), "{}", before.json());
    app.contract(&signed, &terms(&estimate)).await;
    app.post(&format!("/v1/jobs/{marked}/acceptance"), &json!({"accepted_on": "2026-03-02"})).await.ok(201);

    let accepted = app.all("/v1/jobs?accepted=true&sort=created_at").await;
    assert_eq!(ids(&accepted), [signed.clone(), marked.clone()]);
    let told: Vec<_> =
        accepted.iter().map(|j| (text(j, "accepted_on"), text(j, "accepted_estimate_id"))).collect();
    assert_eq!(told, [("2026-02-10".to_owned(), estimate), ("2026-03-02".to_owned(), by_hand)]);
    assert_eq!(ids(&app.all("/v1/jobs?accepted=false&sort=created_at").await), [app.job.clone(), open]);

    // An acceptance is a change of the job: who holds the page before hears of it.
    let after = app.get(&format!("/v1/jobs/{signed}")).await.ok(200);
    assert_ne!(before.etag(), after.etag());
    assert!(text(&before.json(), "updated_at") < text(&after.json(), "updated_at"));
    app.get("/v1/jobs?accepted=yes").await.problem(400, "bad-query");
}

/// Who asks for what changed since the last instant it saw would miss a change that was dated before it and committed after it.
#[tokio::test]
async fn a_write_that_waited_is_dated_when_its_turn_came() {
    let app = TestApp::start().await;
    let actor = rillcast::store::Actor { key_id: "k".to_owned(), request_id: "r".to_owned(), now: 1 };
    let other = app.state.inner.store.begin(actor).await.unwrap();
    let body = job(1);
    let release = async {
        tokio::time::sleep(std::time::Duration::from_millis(50)).await;
        let now = jiff::Timestamp::now().as_millisecond();
        drop(other);
        now
    };
    let (made, released) = tokio::join!(make_job(&app, &body), release);
    let created: jiff::Timestamp = text(&made.json(), "created_at").parse().unwrap();
    assert!(created.as_millisecond() >= released, "{created} before {released}");
}

#[tokio::test]
async fn a_job_is_found_by_what_another_system_calls_it() {
    let app = TestApp::start().await;
    let called = |number: usize, system: &str, id: &str| {
        let mut body = job(number);
        body["external_refs"] = json!([{"system": system, "id": id}]);
        body
    };
    let first = text(&make_job(&app, &called(1, "scheduling", "S-7")).await.json(), "id");
    let second = text(&make_job(&app, &called(2, "accounting", "S-7")).await.json(), "id");
    make_job(&app, &called(3, "scheduling", "S-77")).await;
    let found = |query: &'static str| {
        let app = &app;
        async move { ids(&app.all(&format!("/v1/jobs?sort=created_at&{query}")).await) }
    };
    assert_eq!(found("external_id=S-7").await, [first.clone(), second.clone()]);
    assert_eq!(found("external_id=S-7&external_system=accounting").await, std::slice::from_ref(&second));
    assert!(found("external_id=s-7").await.is_empty(), "exactly as it is written");
    app.get("/v1/jobs?external_system=accounting").await.problem(400, "bad-query");

    // Who takes a name that is taken is told by whom.
    let refused = app.post("/v1/jobs", &called(4, "scheduling", "S-7")).await.problem(409, "conflict");
    assert!(text(&refused, "detail").contains(&first), "{refused}");
    assert_eq!(faults_in(&refused), fault("#/external_refs/0", "reference_taken"));
    let change = json!({"external_refs": [{"system": "accounting", "id": "new"}, {"system": "scheduling", "id": "S-7"}]});
    let refused = app.patch(&format!("/v1/jobs/{second}"), "*", &change).await.problem(409, "conflict");
    assert!(text(&refused, "detail").contains(&first), "{refused}");
    assert_eq!(faults_in(&refused), fault("#/external_refs/1", "reference_taken"));
}

#[tokio::test]
async fn papers_of_all_jobs_are_followed_by_their_last_change() {
    let app = TestApp::start().await;
    let records = Records::make(&app).await;
    let of_jobs = |kind: &'static str| {
        let app = &app;
        async move {
            let mut all = Vec::new();
            for job in ids(&app.all("/v1/jobs").await) {
                all.extend(ids(&app.all(&format!("/v1/jobs/{job}/{kind}")).await));
            }
            all.sort();
            all
        }
    };
    let sorted = |items: &[Value]| {
        let mut all = ids(items);
        all.sort();
        all
    };
    let invoices = app.all("/v1/invoices?sort=updated_at").await;
    assert_eq!(sorted(&invoices), of_jobs("invoices").await);
    let mut quotes = of_jobs("quotes").await;
    quotes.extend(of_jobs("change-orders").await);
    quotes.sort();
    assert_eq!(sorted(&app.all("/v1/quotes").await), quotes);
    let times: Vec<_> = invoices.iter().map(|i| text(i, "updated_at")).collect();
    assert!(times.is_sorted(), "{times:?}");
    let (mut turned, mut page) = (Vec::new(), "/v1/invoices?limit=2".to_owned());
    loop {
        let answer = app.get(&page).await.ok(200).json();
        turned.extend(ids(answer["items"].as_array().unwrap()));
        let Some(cursor) = answer["next_cursor"].as_str() else { break };
        page = format!("/v1/invoices?limit=2&cursor={cursor}");
    }
    turned.reverse();
    assert_eq!(turned, ids(&invoices));

    // A payment brings an invoice to the end of those that changed since.
    let paid = &records.papers["reportPayment"];
    let seen = times.last().unwrap();
    let payment = json!({"system": "accounting", "reference": "PAY-1", "on": "2026-03-05", "amount": "5.00"});
    app.money(&format!("/v1/invoices/{paid}/payments"), &payment).await.ok(200);
    let since = app.all(&format!("/v1/invoices?sort=updated_at&updated_since={seen}")).await;
    assert_eq!(ids(&since).last(), Some(paid));
    assert!(since.len() < invoices.len());
    let mut in_part = app.all("/v1/invoices").await;
    in_part.retain(|invoice| invoice["state"] == "part_paid");
    assert!(ids(&in_part).contains(paid) && in_part.len() < invoices.len());
    assert_eq!(ids(&app.all("/v1/invoices?state=part_paid").await), ids(&in_part));
    // Several states: all that stand in one of them, through every page, in whichever order they are named.
    let mut unpaid = app.all("/v1/invoices").await;
    unpaid.retain(|invoice| ["part_paid", "issued"].contains(&text(invoice, "state").as_str()));
    assert!(unpaid.len() > in_part.len());
    assert_eq!(ids(&app.all("/v1/invoices?state=issued,part_paid").await), ids(&unpaid));
    let first = app.get("/v1/invoices?state=issued,part_paid&limit=1").await.ok(200).json();
    let cursor = text(&first, "next_cursor");
    let rest = format!("/v1/invoices?state=part_paid,issued&cursor={cursor}");
    assert_eq!(ids(app.get(&rest).await.ok(200).json()["items"].as_array().unwrap()), ids(&unpaid)[1..]);
    assert_eq!(ids(&app.all("/v1/invoices?state=voided,part_paid").await), ids(&in_part));
    app.get("/v1/invoices?state=lost&sort=number").await.problem(400, "bad-query");
}

/// A state that no paper of a list is ever in gives no empty page, which would pass for an answer.
#[tokio::test]
async fn papers_are_asked_for_by_a_state_they_can_be_in() {
    let app = TestApp::start().await;
    let quoted = json!(["draft", "issued", "accepted", "declined", "expired", "withdrawn", "superseded"]);
    let invoiced = json!(["issued", "part_paid", "paid", "credited", "voided"]);
    for (path, id, others, own) in [
        ("/v1/invoices", "listAllInvoices", &quoted, &invoiced),
        ("/v1/quotes", "listAllQuotes", &invoiced, &quoted),
    ] {
        for state in own.as_array().unwrap() {
            app.get(&format!("{path}?state={}", state.as_str().unwrap())).await.ok(200);
        }
        for state in others.as_array().unwrap().iter().filter(|s| *s != "issued") {
            let state = state.as_str().unwrap();
            let problem = app.get(&format!("{path}?state={state}")).await.problem(400, "bad-query");
            let fault = &problem["errors"][0];
            assert_eq!((&fault["parameter"], &fault["value"]), (&json!("state"), &json!(state)), "{problem}");
            assert_eq!(fault["allowed"], *own, "{path}: {problem}");
        }
        let operation = operations().into_iter().find(|o| o.id == id).unwrap();
        let mut parameters = operation.value["parameters"].as_array().unwrap().iter();
        let listed = parameters.find(|p| p["name"] == "state").unwrap();
        assert_eq!((&listed["style"], &listed["explode"]), (&json!("form"), &json!(false)), "{id}");
        assert_eq!(listed["schema"]["type"], "array", "{id}: {listed}");
        assert_eq!(listed["schema"]["items"]["enum"], *own, "{id}: {listed}");
    }
}

/// Who has a paper in hand finds it by its number, in the lists of all jobs and of one.
#[tokio::test]
async fn papers_are_found_by_their_number() {
    let app = TestApp::start().await;
    let records = Records::make(&app).await;
    let job = &records.job;
    let numbered = |items: Vec<Value>| -> Vec<(String, String)> {
        items.iter().map(|p| (text(p, "kind"), text(p, "number"))).collect()
    };
    for (all, of_job, number, kind) in [
        ("/v1/invoices", format!("/v1/jobs/{job}/invoices"), "INV-0002", "invoice"),
        ("/v1/invoices", format!("/v1/jobs/{job}/invoices"), "CN-0001", "credit_note"),
        ("/v1/quotes", format!("/v1/jobs/{job}/quotes"), "Q-0002", "quote"),
        ("/v1/quotes", format!("/v1/jobs/{job}/change-orders"), "CO-2", "change_order"),
    ] {
        for list in [all, of_job.as_str()] {
            let found = app.all(&format!("{list}?number={number}")).await;
            assert_eq!(numbered(found), [(kind.to_owned(), number.to_owned())], "{list}");
            // Exactly as it stands on the paper; a draft has none.
            assert!(app.all(&format!("{list}?number={}", number.to_lowercase())).await.is_empty(), "{list}");
            app.get(&format!("{list}?number=")).await.problem(400, "bad-query");
        }
    }
    // Beside what else is asked for, and each list goes on with its own cursor alone.
    assert_eq!(app.all("/v1/quotes?number=Q-0002&state=draft").await, Vec::<Value>::new());
    for list in ["/v1/invoices".to_owned(), format!("/v1/jobs/{job}/invoices")] {
        let page = app.get(&format!("{list}?limit=1")).await.ok(200).json();
        let cursor = text(&page, "next_cursor");
        app.get(&format!("{list}?cursor={cursor}")).await.ok(200);
        app.get(&format!("{list}?number=INV-0002&cursor={cursor}")).await.problem(400, "bad-query");
    }
    // Change orders are numbered within their job.
    let (other, estimate) = estimated(&app, 2).await;
    app.contract(&other, &terms(&estimate)).await;
    app.change(&other, "40.00").await;
    let (here, everywhere) = ("change-orders?number=CO-1", app.all("/v1/quotes?number=CO-1").await);
    assert_eq!(everywhere.len(), 2, "{everywhere:?}");
    assert_eq!(app.all(&format!("/v1/jobs/{other}/{here}")).await, [everywhere[0].clone()]);
    let page = app.get("/v1/quotes?number=CO-1&limit=1").await.ok(200).json();
    let next = format!("/v1/quotes?number=CO-1&cursor={}", text(&page, "next_cursor"));
    assert_eq!(ids(&app.all(&next).await), [text(&everywhere[1], "id")]);
}
