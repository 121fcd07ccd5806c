//! Payments are read back as they were recorded, and a repeat is told from a clash.

use crate::app::{TestApp, fault, faults_in, text};
use crate::records::terms;
use serde_json::{Value, json};

async fn contracted() -> TestApp {
    let app = TestApp::start().await;
    let made = app.post(&format!("/v1/jobs/{}/estimates", app.job), &json!({})).await.ok(201).json();
    app.contract(&app.job, &terms(&text(&made, "id"))).await;
    app
}

/// An invoice: its number and its path.
async fn invoice(app: &TestApp, stage: &str) -> (String, String) {
    let billed = app.bill(&app.job, &json!({"kind": "stage", "stage": stage})).await.ok(201).json();
    (text(&billed, "number"), format!("/v1/invoices/{}", text(&billed, "id")))
}

fn pay(reference: &str, on: &str, amount: &str) -> Value {
    json!({"system": "accounting", "reference": reference, "on": on, "amount": amount})
}

#[tokio::test]
async fn payments_are_read_back_newest_first_and_page_by_page() {
    let app = contracted().await;
    let (_, deposit) = invoice(&app, "deposit").await;
    let (_, poured) = invoice(&app, "poured").await;
    let list = format!("{deposit}/payments");
    assert_eq!(app.get(&list).await.ok(200).json(), json!({"items": []}));
    let mut sent = vec![pay("P-1", "2026-03-04", "100.00"), pay("P-2", "2026-03-06", "50.00")];
    sent.push(pay("P-3", "2026-03-05", "-20.00"));
    sent[1]["note"] = json!("By check");
    for payment in &sent {
        app.money(&list, payment).await.ok(200);
        // Another place of the order.
        tokio::time::sleep(std::time::Duration::from_millis(3)).await;
    }
    app.money(&format!("{poured}/payments"), &pay("P-4", "2026-03-04", "9.00")).await.ok(200);
    // What is only checked is not recorded.
    app.money(&format!("{list}?validate_only=true"), &pay("P-5", "2026-03-04", "1.00")).await.ok(200);
    let whole = app.all(&list).await;
    sent.reverse();
    assert_eq!(whole.iter().map(|p| p["payment"].clone()).collect::<Vec<_>>(), sent);
    let id = deposit.rsplit('/').next().unwrap();
    for item in &whole {
        assert!(text(item, "id").starts_with("rep_"), "{item}");
        assert_eq!(
            (item["invoice_id"].as_str(), item["job_id"].as_str()),
            (Some(id), Some(app.job.as_str()))
        );
        let by = app.key.split('_').nth(1).unwrap();
        assert_eq!(item["created_by"], by);
    }
    assert_eq!(app.get(&deposit).await.json()["paid"], "130.00");
    let (mut seen, mut path) = (Vec::new(), format!("{list}?limit=2"));
    loop {
        let answer = app.get(&path).await.ok(200);
        let page = answer.json();
        seen.extend(page["items"].as_array().unwrap().iter().cloned());
        let Some(cursor) = page["next_cursor"].as_str() else { break };
        assert_eq!(answer.header("link"), format!("<{list}?limit=2&cursor={cursor}>; rel=\"next\""));
        // It is the place in this list alone.
        let other = format!("{poured}/payments?cursor={cursor}");
        app.get(&other).await.problem(400, "bad-query");
        path = format!("{list}?limit=2&cursor={cursor}");
    }
    assert_eq!(seen, whole);
    for limit in ["0", "201", "x"] {
        app.get(&format!("{list}?limit={limit}")).await.problem(400, "bad-query");
    }
}

#[tokio::test]
async fn a_repeat_is_told_from_a_clash() {
    let app = contracted().await;
    let (number, deposit) = invoice(&app, "deposit").await;
    let (_, poured) = invoice(&app, "poured").await;
    app.money(&format!("{deposit}/payments"), &pay("P-0", "2026-03-04", "30.00")).await.ok(200);
    // Nothing more could go back: a repeat is told as one all the same.
    let back = pay("P-1", "2026-03-04", "-30.00");
    app.money(&format!("{deposit}/payments"), &back).await.ok(200);
    let mut noted = back.clone();
    noted["note"] = json!("The same one");
    let id = deposit.rsplit('/').next().unwrap();
    let held = format!("a payment of -30.00 on 2026-03-04, for invoice {number} (`{id}`)");
    for (path, body, code) in [
        (&deposit, &back, "recorded_already"),
        (&deposit, &noted, "recorded_already"),
        (&deposit, &pay("P-1", "2026-03-04", "-29.00"), "reference_taken"),
        (&deposit, &pay("P-1", "2026-03-05", "-30.00"), "reference_taken"),
        (&poured, &back, "reference_taken"),
    ] {
        let told = app.money(&format!("{path}/payments"), body).await.problem(409, "conflict");
        assert_eq!(faults_in(&told), fault("#/reference", code), "{body}");
        assert!(text(&told, "detail").contains(&held), "{told}");
        assert_eq!(told["errors"][0]["value"], "P-1");
    }
    // Another system has references of its own, and so has another kind of report.
    let mut other = pay("P-1", "2026-03-04", "1.00");
    other["system"] = json!("bank");
    app.money(&format!("{deposit}/payments"), &other).await.ok(200);
    let void =
        json!({"system": "accounting", "reference": "P-1", "on": "2026-03-04", "reason": "Sent twice"});
    app.money(&format!("{poured}/void"), &void).await.ok(200);
    let (_, again) = invoice(&app, "poured").await;
    let told = app.money(&format!("{again}/void"), &void).await.problem(409, "conflict");
    assert_eq!(faults_in(&told), fault("#/reference", "reference_taken"));
    assert!(text(&told, "detail").contains("has reported a void on 2026-03-04, for invoice "), "{told}");
}

/// What came of the first report is why it is sent again: its answer was lost, and the version and the state are those of after it.
#[tokio::test]
async fn a_repeat_is_told_before_version_and_state() {
    let app = contracted().await;
    let (_, deposit) = invoice(&app, "deposit").await;
    let (_, poured) = invoice(&app, "poured").await;
    let told = |answer: crate::app::Answer, code: &str| {
        let told = answer.problem(409, "conflict");
        assert_eq!(faults_in(&told), fault("#/reference", code), "{told}");
    };

    // A payment under the ETag of before it.
    let payments = format!("{deposit}/payments");
    let tag = app.get(&deposit).await.ok(200).etag();
    let paid = pay("P-1", "2026-03-04", "30.00");
    let keyed = app.ask_money(&payments, &paid, &tag);
    app.send(keyed.clone()).await.ok(200);
    // The same request is answered from the first, a new one is told that it repeats.
    assert_eq!(app.send(keyed).await.ok(200).header("idempotency-replayed"), "true");
    told(app.send(app.ask_money(&payments, &paid, &tag)).await, "recorded_already");
    let clash = pay("P-1", "2026-03-04", "31.00");
    told(app.send(app.ask_money(&payments, &clash, &tag)).await, "reference_taken");
    told(app.money(&format!("{payments}?validate_only=true"), &paid).await, "recorded_already");
    let other = app.ask_money(&payments, &pay("P-2", "2026-03-04", "1.00"), &tag);
    app.send(other).await.problem(412, "version-conflict");

    // A void of what is voided.
    let void = |reference: &str, on: &str| json!({"system": "accounting", "reference": reference, "on": on, "reason": "Sent twice"});
    let path = format!("{poured}/void");
    let tag = app.get(&poured).await.ok(200).etag();
    app.send(app.ask_money(&path, &void("V-1", "2026-03-04"), &tag)).await.ok(200);
    for tag in [&tag, "*"] {
        told(app.send(app.ask_money(&path, &void("V-1", "2026-03-04"), tag)).await, "recorded_already");
        told(app.send(app.ask_money(&path, &void("V-1", "2026-03-05"), tag)).await, "reference_taken");
    }
    app.money(&path, &void("V-2", "2026-03-04")).await.problem(409, "state-conflict");

    // A payment of an invoice that was voided since.
    app.money(&payments, &pay("P-2", "2026-03-05", "-30.00")).await.ok(200);
    app.money(&format!("{deposit}/void"), &void("V-2", "2026-03-06")).await.ok(200);
    told(app.money(&payments, &paid).await, "recorded_already");
    app.money(&payments, &pay("P-3", "2026-03-06", "1.00")).await.problem(409, "state-conflict");
    // Under the path of no invoice nothing is told of what is held.
    app.money("/v1/invoices/inv_none/payments", &paid).await.problem(404, "not-found");
}

#[tokio::test]
async fn a_cost_under_a_reference_that_is_held_is_told_with_it() {
    let app = TestApp::start().await;
    let costs = format!("/v1/jobs/{}/costs", app.job);
    let cost = |committed: bool| {
        json!({"system": "accounting", "reference": "B-1", "on": "2026-03-11", "category": "material",
            "amount": "412.60", "committed": committed})
    };
    app.money(&costs, &cost(true)).await.ok(201);
    for (committed, code) in [(true, "recorded_already"), (false, "reference_taken")] {
        let told = app.money(&costs, &cost(committed)).await.problem(409, "conflict");
        assert_eq!(faults_in(&told), fault("#/reference", code));
        let held = format!("a cost of 412.60 on 2026-03-11 ordered for material, for the job `{}`", app.job);
        assert!(text(&told, "detail").contains(&held), "{told}");
    }
}

/// A slip of the keys is not recorded as paid; what was really paid too much is, once that is said, and what went back always.
#[tokio::test]
async fn more_than_is_owed_is_confirmed() {
    let app = contracted().await;
    let (_, deposit) = invoice(&app, "deposit").await;
    let payments = format!("{deposit}/payments");
    let owed = text(&app.get(&deposit).await.ok(200).json(), "payable");
    let told =
        app.money(&payments, &pay("P-1", "2026-03-04", "99999.00")).await.problem(422, "validation-failed");
    assert_eq!(faults_in(&told), fault("#/amount", "over_paid"));
    assert_eq!(told["errors"][0]["value"], "99999.00");
    let detail = text(&told["errors"][0], "detail");
    assert!(
        detail.starts_with(&format!("0.00 of {owed} are paid and {owed} are left to pay: this is ")),
        "{detail}"
    );
    assert_eq!(app.get(&deposit).await.ok(200).json()["paid"], "0.00");

    // The whole of it needs no word, and the same reference is still free.
    app.money(&payments, &pay("P-1", "2026-03-04", &owed)).await.ok(200);
    let mut more = pay("P-2", "2026-03-05", "0.05");
    app.money(&payments, &more).await.problem(422, "validation-failed");
    more["over_paid"] = json!(true);
    let paid = app.money(&payments, &more).await.ok(200).json();
    assert_eq!(paid["state"], "paid");
    assert_eq!(app.all(&payments).await[0]["payment"], more);
    let ledger = app.get(&format!("/v1/jobs/{}/ledger", app.job)).await.ok(200).json();
    assert_eq!(ledger["unpaid"], "-0.05");
    // A correction downwards is none of it, also where more is paid than owed after it.
    app.money(&payments, &pay("P-3", "2026-03-05", "-0.01")).await.ok(200);

    // Beside an invoice that nothing is paid of, the sums of the ledger do not show it: it is told of the invoice.
    let warnings = async || {
        let ledger = app.get(&format!("/v1/jobs/{}/ledger", app.job)).await.ok(200).json();
        let told = ledger["warnings"].as_array().cloned().unwrap_or_default();
        told.iter().map(|w| w.as_str().unwrap().to_owned()).collect::<Vec<_>>()
    };
    let together = warnings().await;
    assert!(together.len() == 1 && together[0].contains(": 0.04 more, to be given back"), "{together:?}");
    let (_, poured) = invoice(&app, "poured").await;
    let told = "INV-0001 is paid 0.04 beyond what it asks for, while other invoices are not paid in full: was it for one of them?";
    assert_eq!(warnings().await, [told]);
    app.money(&payments, &pay("P-4", "2026-03-05", "-0.04")).await.ok(200);
    assert_eq!(warnings().await, Vec::<String>::new());
    assert_eq!(app.get(&poured).await.ok(200).json()["paid"], "0.00");
}

/// What is missing of a report is told with what to send where no other system reports.
#[tokio::test]
async fn an_office_without_another_system_is_told_what_to_send() {
    let app = contracted().await;
    let (_, deposit) = invoice(&app, "deposit").await;
    let bare = json!({"on": "2026-03-04", "amount": "5.00"});
    let told = app.money(&format!("{deposit}/payments"), &bare).await.problem(422, "validation-failed");
    let errors = told["errors"].as_array().unwrap();
    let told: Vec<_> =
        errors.iter().map(|e| (text(e, "pointer"), text(e, "code"), text(e, "detail"))).collect();
    assert_eq!((told[0].0.as_str(), told[0].1.as_str()), ("#/system", "required"));
    assert!(told[0].2.contains("by hand, a word such as `office`"), "{}", told[0].2);
    assert_eq!((told[1].0.as_str(), told[1].1.as_str()), ("#/reference", "required"));
    assert!(told[1].2.contains("by hand, the number of the receipt"), "{}", told[1].2);
    let by_hand =
        json!({"system": "office", "reference": "check 1042", "on": "2026-03-04", "amount": "5.00"});
    app.money(&format!("{deposit}/payments"), &by_hand).await.ok(200);
}
