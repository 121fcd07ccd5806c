//! Dates of papers: what is to come is not issued, nothing is billed before it is promised, nor paid before it is billed; what was
//! released goes back once; the ledger speaks the contract's currency.

use crate::app::{TestApp, fault, faults_in, text};
use crate::purchase_orders::published;
use crate::records::{Records, job, make_job, short_notes, terms};
use serde_json::{Value, json};

async fn estimate(app: &TestApp) -> String {
    text(&app.post(&format!("/v1/jobs/{}/estimates", app.job), &json!({})).await.ok(201).json(), "id")
}

#[tokio::test]
async fn a_paper_is_not_dated_ahead() {
    let app = TestApp::start().await;
    let records = Records::make(&app).await;
    let ahead = json!({"on": "2126-03-01"});
    let mut long = terms(&estimate(&app).await);
    long["valid_until"] = json!("2199-12-31");
    let quote = app.quote(&app.job, &long).await;
    let before = records.papers["issueQuote"].clone();
    let invoice = json!({"bill": {"kind": "percent", "pct_to_date": "5"}, "on": "2126-03-01"});
    let credit = json!({"credit": {"kind": "whole"}, "on": "2126-03-01", "reason": "x"});
    for (path, body) in [
        (format!("/v1/quotes/{quote}/issue"), &ahead),
        (format!("/v1/change-orders/{}/issue", records.papers["issueChangeOrder"]), &ahead),
        (format!("/v1/jobs/{}/invoices", app.job), &invoice),
        (format!("/v1/invoices/{}/credit-notes", records.papers["createCreditNote"]), &credit),
    ] {
        let problem = app.money(&path, body).await.problem(422, "validation-failed");
        assert_eq!(faults_in(&problem), fault("#/on", "in_the_future"), "{path}");
        let detail = text(&problem["errors"][0], "detail");
        assert!(detail.contains("the last day that can have happened is"), "{detail}");
    }
    // A day that has come is as good as ever, where the job has no contract yet.
    let today = json!({"on": "2026-03-01"});
    app.money(&format!("/v1/quotes/{before}/issue"), &today).await.ok(200);
    app.money(&format!("/v1/quotes/{before}/withdraw"), &json!({"on": "2026-03-02"})).await.ok(200);
    let told = app.money(&format!("/v1/quotes/{quote}/issue"), &today).await.problem(409, "state-conflict");
    assert!(text(&told, "detail").contains("is changed by change orders"), "{told}");
    app.money(&format!("/v1/quotes/{quote}/withdraw"), &today).await.ok(200);
}

/// On its last day a quote can be accepted, and so not expire: whichever day it is elsewhere, that of the office counts.
#[tokio::test]
async fn a_quote_does_not_expire_on_its_last_day() {
    let app = TestApp::start().await;
    let today = jiff::tz::TimeZone::UTC.to_datetime(jiff::Timestamp::now()).date();
    let mut terms = terms(&estimate(&app).await);
    terms["valid_until"] = json!(today.to_string());
    let quote = app.issued(&app.job, &terms).await;
    let expire = async |on: jiff::civil::Date| {
        app.money(&format!("/v1/quotes/{quote}/expire"), &json!({"on": on.to_string()})).await
    };
    let told = expire(today).await.problem(422, "validation-failed");
    assert_eq!(faults_in(&told), fault("#/on", "before_valid_until"), "{told}");
    let told = expire(today.tomorrow().unwrap()).await.problem(422, "validation-failed");
    assert_eq!(faults_in(&told), fault("#/on", "in_the_future"), "{told}");
    let yes = json!({"by": "H", "on": today.to_string()});
    app.money(&format!("/v1/quotes/{quote}/accept"), &yes).await.ok(200);
}

/// What has happened did so up to today at the office, however late it is elsewhere: papers, reports, records and marks alike.
#[tokio::test]
async fn a_day_that_has_not_come_at_the_office_is_to_come() {
    // Both are behind UTC; in at least one of them it is not about midnight.
    let now = jiff::Timestamp::now();
    let (name, today) = ["Etc/GMT+12", "Etc/GMT+6"]
        .into_iter()
        .map(|name| (name, jiff::tz::TimeZone::get(name).unwrap().to_datetime(now)))
        .find(|(_, there)| (1..=22).contains(&there.hour()))
        .map(|(name, there)| (name, there.date()))
        .unwrap();
    let app = TestApp::start_with(|c| c.time_zone = jiff::tz::TimeZone::get(name).unwrap()).await;
    app.contract(&app.job, &terms(&estimate(&app).await)).await;
    let other = text(&make_job(&app, &job(1)).await.json(), "id");
    let day = |of: jiff::civil::Date| of.to_string();
    let (today, tomorrow) = (day(today), day(today.tomorrow().unwrap()));
    let invoice = |on: &str| json!({"bill": {"kind": "stage", "stage": "deposit"}, "on": on});
    let cost = |on: &str| json!({"system": "books", "reference": "C-1", "on": on, "category": "material", "amount": "1.00"});
    let hours = |on: &str| json!({"entries": [{"kind": "hours", "on": on, "task": "dig_run", "trade": "laborer", "hours": "1 hr"}]});
    let mark = |on: &str| json!({"accepted_on": on});
    let jobs = |job: &str, rest: &str| format!("/v1/jobs/{job}/{rest}");
    for (path, body, pointer, come) in [
        (jobs(&app.job, "invoices"), &invoice as &dyn Fn(&str) -> Value, "#/on", 201),
        (jobs(&app.job, "costs"), &cost, "#/on", 201),
        (jobs(&app.job, "actuals"), &hours, "#/entries/0/on", 201),
        // It has no estimate, which is told once the day is right.
        (jobs(&other, "acceptance"), &mark, "#/accepted_on", 409),
    ] {
        let told = app.money(&path, &body(&tomorrow)).await.problem(422, "validation-failed");
        assert_eq!(faults_in(&told), fault(pointer, "in_the_future"), "{path}");
        let detail = text(&told["errors"][0], "detail");
        let expected =
            format!("the last day that can have happened is {today}, today at the office ({name})");
        assert!(detail.contains(&expected), "{detail}");
        assert_eq!(app.money(&path, &body(&today)).await.status, come, "{path}");
    }
}

/// A mark for a day to come is none that is set today; one that is there is answered when it is sent again, as any other.
#[tokio::test]
async fn a_mark_that_is_there_is_not_held_against_today() {
    let app = TestApp::start().await;
    let estimate = estimate(&app).await;
    let path = format!("/v1/jobs/{}/acceptance", app.job);
    let mark = |on: &str| json!({"accepted_on": on});
    let told = app.post(&path, &mark("2126-03-01")).await.problem(422, "validation-failed");
    assert_eq!(faults_in(&told), fault("#/accepted_on", "in_the_future"));
    let actor = rillcast::store::Actor {
        key_id: "before".to_owned(),
        request_id: "before".to_owned(),
        now: jiff::Timestamp::now().as_millisecond(),
    };
    let mut write = app.state.inner.store.begin(actor).await.unwrap();
    write.set_acceptance(&app.job, &estimate, "2126-03-01", "mark", None).await.unwrap();
    write.commit().await.unwrap();
    let held = app.post(&path, &mark("2126-03-01")).await.ok(200).json();
    assert_eq!(held, app.get(&path).await.ok(200).json());
    let told = app.post(&path, &mark("2026-03-01")).await.problem(409, "state-conflict");
    assert_eq!(faults_in(&told), fault("#/accepted_on", "accepted_already"));
    let told = app.post(&path, &mark("2126-03-02")).await.problem(422, "validation-failed");
    assert_eq!(faults_in(&told), fault("#/accepted_on", "in_the_future"));
}

#[tokio::test]
async fn nothing_is_billed_before_it_was_accepted() {
    let app = TestApp::start().await;
    app.contract(&app.job, &terms(&estimate(&app).await)).await;
    let change = app.change(&app.job, "40.00").await;
    let yes = json!({"by": "H", "on": "2026-02-25"});
    app.money(&format!("/v1/change-orders/{change}/accept"), &yes).await.ok(200);
    let invoices = format!("/v1/jobs/{}/invoices", app.job);
    let deposit = json!({"kind": "stage", "stage": "deposit"});
    let extra = json!({"kind": "change_order", "change_order": "co-1"});
    for (bill, on, code, told) in [
        (&deposit, "2026-02-01", "before_issue_date", "issued on 2026-02-02"),
        (&deposit, "2026-02-09", "before_acceptance", "accepted on 2026-02-10"),
        (
            &extra,
            "2026-02-24",
            "before_acceptance",
            "change order CO-1 promises, which was accepted on 2026-02-25",
        ),
    ] {
        let problem =
            app.money(&invoices, &json!({"bill": bill, "on": on})).await.problem(422, "validation-failed");
        assert_eq!(faults_in(&problem), fault("#/on", code), "{on}");
        assert!(text(&problem["errors"][0], "detail").contains(told), "{problem}");
    }
    // What does not bill the change order may be dated before it.
    let deposit = app.money(&invoices, &json!({"bill": deposit, "on": "2026-02-12"})).await.ok(201).json();
    let extra = app.money(&invoices, &json!({"bill": extra, "on": "2026-02-25"})).await.ok(201).json();

    let pay = |reference: &str, on: &str| json!({"system": "books", "reference": reference, "on": on, "amount": "5.00"});
    let payments = |paper: &Value| format!("/v1/invoices/{}/payments", text(paper, "id"));
    for (paper, on) in [(&extra, "1999-01-01"), (&extra, "2026-02-24"), (&deposit, "2026-02-09")] {
        let problem = app.money(&payments(paper), &pay("P-0", on)).await.problem(422, "validation-failed");
        assert_eq!(faults_in(&problem), fault("#/on", "before_issue_date"), "{on}");
        assert!(text(&problem["errors"][0], "detail").contains("an invoice cannot be paid"), "{problem}");
    }
    // A deposit may come with the yes.
    app.money(&payments(&deposit), &pay("P-1", "2026-02-10")).await.ok(200);
    app.money(&payments(&extra), &pay("P-2", "2026-02-25")).await.ok(200);
}

#[tokio::test]
async fn a_contract_is_not_changed_before_it_began() {
    let app = TestApp::start().await;
    // Issued on 2 February, accepted on 10 February.
    app.contract(&app.job, &terms(&estimate(&app).await)).await;
    let body = json!({"title": "Change", "basis": {"kind": "lines", "lines": [
        {"code": "more", "description": "More", "category": "labor", "price": "40.00", "cost": "1.00"}]}});
    let made = app.money(&format!("/v1/jobs/{}/change-orders", app.job), &body).await.ok(201).json();
    let change = format!("/v1/change-orders/{}", text(&made, "id"));
    let issue = async |on: &str| app.money(&format!("{change}/issue"), &json!({"on": on})).await;
    let told = issue("2026-02-09").await.problem(422, "validation-failed");
    assert_eq!(faults_in(&told), fault("#/on", "before_acceptance"), "{told}");
    assert!(text(&told["errors"][0], "detail").contains("Q-0001 was accepted on 2026-02-10"), "{told}");
    issue("2026-02-10").await.ok(200);
}

#[tokio::test]
async fn the_ledger_speaks_the_currency_of_the_contract() {
    let app = TestApp::start().await;
    app.contract(&app.job, &terms(&estimate(&app).await)).await;
    let path = format!("/v1/jobs/{}/ledger", app.job);
    assert_eq!(app.get(&path).await.ok(200).json()["currency"], "USD");
    let other = published(&app, |book| book["currency"] = json!("EUR")).await;
    let body = json!({"price_book_version": other});
    let euro = text(&app.post(&format!("/v1/jobs/{}/estimates", app.job), &body).await.ok(201).json(), "id");
    app.quote(&app.job, &terms(&euro)).await;
    assert_eq!(app.get(&path).await.ok(200).json()["currency"], "USD", "a later draft is no contract");
    // Without a contract the last quote speaks.
    let bare = text(&make_job(&app, &job(1)).await.json(), "id");
    let body = json!({"price_book_version": other, "notes": short_notes()});
    let made = app.post(&format!("/v1/jobs/{bare}/estimates"), &body).await.ok(201).json();
    app.quote(&bare, &terms(&text(&made, "id"))).await;
    assert_eq!(app.get(&format!("/v1/jobs/{bare}/ledger")).await.ok(200).json()["currency"], "EUR");
}

#[tokio::test]
async fn released_retainage_goes_back_once_over_the_api() {
    let app = TestApp::start().await;
    app.contract(&app.job, &terms(&estimate(&app).await)).await;
    let mut made = Vec::new();
    for bill in [
        json!({"kind": "percent", "pct_to_date": "40"}),
        json!({"kind": "percent", "pct_to_date": "100"}),
        json!({"kind": "retainage"}),
    ] {
        made.push(app.bill(&app.job, &bill).await.ok(201).json());
    }
    let whole = json!({"credit": {"kind": "whole"}, "on": "2026-03-05", "reason": "Wrong"});
    let credit = |i: usize| format!("/v1/invoices/{}/credit-notes", text(&made[i], "id"));
    app.money(&credit(0), &whole).await.ok(201);
    let void = json!({"system": "s", "reference": "V", "on": "2026-03-05", "reason": "x"});
    let problem = app
        .money(&format!("/v1/invoices/{}/void", text(&made[2], "id")), &void)
        .await
        .problem(409, "state-conflict");
    assert!(text(&problem, "detail").ends_with("the invoice allows `credit`, `pay`"), "{problem}");
    let release = app.money(&credit(2), &whole).await.ok(201);
    let held = &made[1]["document"]["retained"];
    assert_eq!(&release.json()["document"]["payable"], held);
    let read = app.get(&format!("/v1/invoices/{}", text(&made[2], "id"))).await.ok(200).json();
    assert_eq!((&read["state"], &read["allowed"]), (&json!("credited"), &json!(["pay"])));
    let path = format!("/v1/jobs/{}/ledger", app.job);
    assert_eq!(&app.get(&path).await.ok(200).json()["retained"], held);
    let again =
        app.money(&format!("/v1/credit-notes/{}/recompute", text(&release.json(), "id")), &json!({})).await;
    assert_eq!(again.ok(200).json()["same"], true);
    app.money(&credit(1), &whole).await.ok(201);
    let end = app.get(&path).await.ok(200).json();
    let sums = ["retained", "invoiced", "unpaid"].map(|m| text(&end, m));
    assert_eq!(sums, ["0.00", "0.00", "0.00"], "{end}");
    assert_eq!(end["open"], end["contract"]);
}

#[tokio::test]
async fn retainage_is_not_released_before_it_was_held_and_numbers_keep_the_order_of_dates() {
    let app = TestApp::start().await;
    app.contract(&app.job, &terms(&estimate(&app).await)).await;
    let invoices = format!("/v1/jobs/{}/invoices", app.job);
    let bill = async |bill: &Value, on: &str| app.money(&invoices, &json!({"bill": bill, "on": on})).await;
    let half = json!({"kind": "percent", "pct_to_date": "50"});
    let first = bill(&half, "2026-03-10").await.ok(201).json();
    assert_eq!(first["document"]["warnings"], json!([]));
    let held = text(&first["document"], "retained");
    let release = json!({"kind": "retainage"});
    let told = bill(&release, "2026-03-02").await.problem(422, "validation-failed");
    assert_eq!(faults_in(&told), fault("#/on", "before_held"), "{told}");
    let detail = format!(
        "this releases {held} of retainage, and 0.00 was held on 2026-03-02: date it on 2026-03-10 or later"
    );
    assert_eq!(text(&told["errors"][0], "detail"), detail);
    // A final invoice releases it too, unless it keeps it.
    let told = bill(&json!({"kind": "final"}), "2026-03-09").await.problem(422, "validation-failed");
    assert_eq!(faults_in(&told), fault("#/on", "before_held"), "{told}");
    // What releases nothing may be dated before, and says so to the office alone.
    let keep = json!({"kind": "final", "keep_retainage": true});
    let second = bill(&keep, "2026-03-09").await.ok(201).json();
    let number = text(&first, "number");
    let warning = format!(
        "dated 2026-03-09, and {number} before it 2026-03-10: the numbers are not in the order of their dates"
    );
    let warnings = json!([{"code": "out_of_date_order", "text": warning}]);
    assert_eq!(second["document"]["warnings"], warnings);
    let path = format!("/v1/invoices/{}", text(&second, "id"));
    let again = app.money(&format!("{path}/recompute"), &json!({})).await.ok(200).json();
    assert_eq!(again["same"], true, "{again}");
    let file = app.get(&format!("{path}/ubl")).await.ok(200);
    assert!(!file.text().contains("order of their dates"), "{}", file.text());
    let third = bill(&release, "2026-03-10").await.ok(201).json();
    assert_eq!(third["document"]["warnings"], json!([]));
}

#[tokio::test]
async fn retainage_that_no_invoice_holds_is_not_left_by_a_void() {
    let app = TestApp::start().await;
    app.contract(&app.job, &terms(&estimate(&app).await)).await;
    let all = json!({"kind": "percent", "pct_to_date": "100"});
    let first = app.bill(&app.job, &all).await.ok(201).json();
    let change = app.change(&app.job, "-200.00").await;
    let yes = json!({"by": "H", "on": "2026-02-25"});
    app.money(&format!("/v1/change-orders/{change}/accept"), &yes).await.ok(200);
    let out = json!({"kind": "change_order", "change_order": "co-1"});
    let out = app.bill(&app.job, &out).await.ok(201).json();
    assert_eq!(text(&out["document"], "retained"), "-20.00");
    let whole = json!({"credit": {"kind": "whole"}, "on": "2026-03-05", "reason": "Wrong"});
    let credit = |paper: &Value| format!("/v1/invoices/{}/credit-notes", text(paper, "id"));
    app.money(&credit(&first), &whole).await.ok(201);
    let ledger = format!("/v1/jobs/{}/ledger", app.job);
    let before = app.get(&ledger).await.ok(200).json();
    let void = json!({"system": "s", "reference": "V", "on": "2026-03-05", "reason": "x"});
    let told = app
        .money(&format!("/v1/invoices/{}/void", text(&out, "id")), &void)
        .await
        .problem(409, "state-conflict");
    let detail = "`void` is not possible: what it took off the retainage has gone, at least in part, with the invoices it was held on; give \
                  back what is left of it by a credit note, with the retainage that belongs to it: the invoice allows `credit`, \
                  `pay`";
    assert_eq!(text(&told, "detail"), detail);
    assert_eq!(app.get(&ledger).await.ok(200).json(), before);
    // Billed anew beside what was taken out, the share of both is held.
    let anew = app.bill(&app.job, &all).await.ok(201).json();
    let basis = text(&anew["document"], "retained_basis");
    assert!(basis.ends_with("less 20.00 on what was taken out before"), "{basis}");
    let path = format!("/v1/invoices/{}/recompute", text(&anew, "id"));
    assert_eq!(app.money(&path, &json!({})).await.ok(200).json()["same"], true);
    app.money(&credit(&anew), &whole).await.ok(201);
    app.money(&credit(&out), &whole).await.ok(201);
    let end = app.get(&ledger).await.ok(200).json();
    let sums = ["retained", "invoiced", "unpaid"].map(|m| text(&end, m));
    assert_eq!(sums, ["0.00", "0.00", "0.00"], "{end}");
}

/// As much may have been held once before and given back since: the day that is named lies ahead.
#[tokio::test]
async fn a_release_that_comes_too_early_names_a_day_ahead() {
    let app = TestApp::start().await;
    app.contract(&app.job, &terms(&estimate(&app).await)).await;
    let half = json!({"kind": "percent", "pct_to_date": "50"});
    let bill = async |bill: &Value, on: &str| {
        app.money(&format!("/v1/jobs/{}/invoices", app.job), &json!({"bill": bill, "on": on})).await
    };
    let first = bill(&half, "2026-03-10").await.ok(201).json();
    let credit = json!({"credit": {"kind": "whole"}, "on": "2026-03-20", "reason": "Sent twice"});
    app.money(&format!("/v1/invoices/{}/credit-notes", text(&first, "id")), &credit).await.ok(201);
    bill(&half, "2026-03-25").await.ok(201);
    let told = bill(&json!({"kind": "retainage"}), "2026-03-22").await.problem(422, "validation-failed");
    let detail = text(&told["errors"][0], "detail");
    assert!(detail.ends_with("0.00 was held on 2026-03-22: date it on 2026-03-25 or later"), "{detail}");
}
