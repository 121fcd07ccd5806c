//! One reviewed answer per operation. `RILLCAST_REVIEW=1 cargo test --test api answers` writes them anew.

use crate::app::{Ask, TestApp, text};
use crate::document::{open_operations, operations};
use axum::http::Method;
use serde_json::{Value, json};

/// Replaces what differs from run to run by its kind, and asserts that it has the form of its kind.
fn settle(value: &mut Value, member: &str) {
    match value {
        Value::Object(members) => members.iter_mut().for_each(|(k, v)| settle(v, k)),
        Value::Array(list) => list.iter_mut().for_each(|v| settle(v, member)),
        Value::String(text) => {
            let id = |t: &str| {
                t.split_once('_').is_some_and(|(p, rest)| {
                    ["pb", "pbv", "job", "est", "plan", "act", "prop", "quo", "chg", "inv", "crn", "rep"]
                        .contains(&p)
                        && rest.len() == 26
                        && rest.bytes().all(|b| b.is_ascii_digit() || b.is_ascii_lowercase())
                })
            };
            let numbered =
                text.rsplit_once('-').filter(|(head, place)| id(head) && place.parse::<u32>().is_ok());
            let prefix = text.split('_').next().unwrap_or_default().to_owned();
            if id(text) {
                *value = json!(format!("<{prefix} id>"));
            } else if let Some((_, place)) = numbered {
                *value = json!(format!("<{prefix} id>-{place}"));
            } else if member.ends_with("_at") || member == "at" {
                assert!(text.len() == 24 && text.ends_with('Z'), "{member}: {text}");
                assert!(text.parse::<jiff::Timestamp>().is_ok(), "{member}: {text}");
                *value = json!("<instant>");
            } else if member == "next_cursor" {
                *value = json!("<cursor>");
            } else if ["created_by", "key_id", "recorded_by"].contains(&member) {
                let base32 = |b: u8| b.is_ascii_lowercase() || (b'2'..=b'7').contains(&b);
                assert!(text == "cli" || (text.len() == 12 && text.bytes().all(base32)), "{text}");
                *value = json!("<key id>");
            } else if member == "request_id" || member == "instance" {
                let trace = text.strip_prefix("/requests/").unwrap_or(text);
                let hex = trace.len() == 32 && trace.bytes().all(|b| b.is_ascii_hexdigit());
                assert!(text == "cli" || text == "demo" || hex, "{text}");
                *value = json!("<request id>");
            } else if text.starts_with("/v1/") || text.contains("job_0") {
                *value = json!("<text with an id>");
            }
        }
        _ => {}
    }
}

/// A calendar file by lines, without what differs from run to run.
fn settled_calendar(text: &str) -> Vec<String> {
    let unfolded = text.replace("\r\n ", "");
    let line = |l: &str| match l.split_once(':') {
        Some(("DTSTAMP", _)) => "DTSTAMP:<instant>".to_owned(),
        Some(("UID", id)) => format!("UID:<job>{}", &id[id.find('+').unwrap_or(0)..]),
        _ => l.to_owned(),
    };
    unfolded.lines().map(line).collect()
}

fn compare(name: &str, mut answer: Value) {
    settle(&mut answer, "");
    let text = serde_json::to_string_pretty(&answer).unwrap() + "\n";
    let path = format!("tests/api/answers/{name}.json");
    if std::env::var_os("RILLCAST_REVIEW").is_some() {
        std::fs::create_dir_all("tests/api/answers").unwrap();
        std::fs::write(&path, &text).unwrap();
    }
    let reviewed = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(
        reviewed == text,
        "{path} differs: run `RILLCAST_REVIEW=1 cargo test --test api answers` and review it"
    );
}

#[test]
fn every_operation_has_a_reviewed_answer() {
    for operation in operations().into_iter().chain(open_operations()) {
        let path = format!("tests/api/answers/{}.json", operation.id);
        assert!(std::fs::exists(&path).unwrap(), "{path} is missing: add the call below");
    }
}

#[tokio::test]
async fn answers_are_as_reviewed() {
    let app = TestApp::start().await;
    let notes: Value = serde_json::from_str(rillcast::domain::demo::NOTES).unwrap();
    let call = |path: &str| format!("/v1/calculators/{path}");
    compare(
        "calculateLayoutQuantities",
        app.post(&call("layout-quantities"), &json!({"length": "41 ft 6 in"})).await.json(),
    );
    compare(
        "calculateConcreteOrder",
        app.post(&call("concrete-order"), &json!({"volume": "2.1 yd3"})).await.json(),
    );
    let hours = json!({"quantities": [{"measure": "run_excavation", "quantity": "3.2 yd3"}], "soil": "clay"});
    let water = json!({"notes": {"title": "one run", "runs": [{"id": "a", "legs": [{"length": "40 ft", "fall_pct": "0.5"}],
        "crossing": "feet", "outlets": [{"kind": "end", "id": "a-out", "at": "finish"}]}],
        "storm": {"rain": {"kind": "intensity", "intensity": "4 in_per_hr"}}, "catchments": [{"id": "patio",
        "surfaces": [{"cover": "concrete", "area": "600 ft2"}], "reaches": [{"run": "a"}]}]}});
    compare("getLiveness", app.get("/livez").await.json());
    compare("getReadiness", app.get("/readyz").await.json());
    compare("listProblems", app.get("/problems").await.json());
    compare("getProblem", app.get("/problems/validation-failed").await.json());
    compare("listRainTables", app.get("/v1/rain-tables").await.json());
    compare("getRainTable", app.get("/v1/rain-tables/demo-valley").await.json());
    compare(
        "readRainTable",
        app.get("/v1/rain-tables/demo-valley/intensity?duration=20%20min&return_period_years=10")
            .await
            .json(),
    );
    let rain = json!({"code": "millbrook", "name": "Millbrook", "source": "our own gauge", "series": "partial_duration",
        "values": "depth_in", "return_periods": [2, 10], "rows": [
            {"duration": "5 min", "values": ["0.41", "0.58"]}, {"duration": "60 min", "values": ["1.32", "1.94"]}]});
    compare("createRainTable", app.post("/v1/rain-tables", &rain).await.ok(201).json());
    let file = Ask::new(Method::POST, "/v1/rain-table-imports?code=imported")
        .typed("text/csv", rillcast::domain::demo::RAIN_FILE)
        .key(&app.key);
    compare("importRainTable", app.send(file).await.ok(201).json());
    compare("calculateFlowCheck", app.post(&call("flow-check"), &water).await.json());
    compare("calculateLaborHours", app.post(&call("labor-hours"), &hours).await.json());
    compare("calculateEstimate", app.post(&call("estimate"), &json!({"notes": notes})).await.json());
    let cut = json!({"legs": [{"id": "north", "length": "1.5 m"}, {"id": "south", "length": "1.5 m"}],
        "stock": [{"id": "metre", "length": "1 m", "price": "60.00"}], "kerf": "3 mm", "unit_system": "metric"});
    compare("calculateCutList", app.post(&call("cut-list"), &cut).await.json());
    let needs =
        json!({"needs": [{"item": "grate-screw", "quantity": "130"}, {"item": "hanger", "quantity": "14"}]});
    compare("calculatePurchasePlan", app.post(&call("purchase-plan"), &needs).await.json());
    let hire = json!({"rates": {"day": "100.00", "week": "300.00", "four_weeks": "800.00"}, "half_days": 18});
    compare("calculateHirePlan", app.post(&call("hire-plan"), &hire).await.json());
    let planned = json!({"notes": notes, "start": "2027-03-02"});
    compare("calculatePlan", app.post(&call("plan"), &planned).await.json());
    let asked = json!({"notes": notes, "start": "2027-03-02", "draws": 1000, "seed": 7});
    compare("calculateRisk", app.post(&call("risk"), &asked).await.json());
    compare("listRules", app.get("/v1/rules").await.json());
    compare("listPriceBooks", app.get("/v1/price-books").await.json());
    let listed = app.get("/v1/price-books").await.json();
    let book_path = format!("/v1/price-books/{}", text(&listed["items"][0], "id"));
    let version = format!("/v1/price-book-versions/{}", text(&listed["items"][0]["versions"][0], "id"));
    compare("getPriceBook", app.get(&book_path).await.json());
    compare("listPriceBookVersions", app.get(&format!("{book_path}/versions")).await.json());
    compare("getPriceBookVersion", app.get(&version).await.json());
    compare("checkPriceBookVersion", app.act(&format!("{version}/check?on=2027-01-04"), "*").await.json());
    let draft = app.act(&format!("{book_path}/versions"), "*").await.ok(201).json();
    let draft_path = format!("/v1/price-book-versions/{}", draft["id"].as_str().unwrap());
    compare("createPriceBookVersion", draft);
    compare(
        "editPriceBookDocument",
        app.patch(&format!("{draft_path}/document"), "*", &json!({"note": "x"})).await.json(),
    );
    compare("comparePriceBookVersions", app.get(&format!("{draft_path}/difference")).await.json());
    let list = app.get(&format!("{draft_path}/items.csv")).await.ok(200).text();
    compare("exportPriceList", json!(list.split("\r\n").collect::<Vec<_>>()));
    let import = Ask::post(&format!("{book_path}/imports")).key(&app.key);
    let import = import.typed("text/csv", "code,price\r\nchannel-4-light-4ft,28.50\r\n");
    let imported = app.send(import).await.ok(201).json();
    let copied = json!({"copy_of": imported["version"]["id"]});
    compare("importPriceList", imported);
    let days = json!({"effective_from": "2090-01-01"});
    let publish =
        Ask::post(&format!("{draft_path}/publish")).key(&app.key).header("if-match", "*").json(&days);
    compare("publishPriceBookVersion", app.send(publish).await.json());
    let mut timeline = app.get(&format!("{book_path}/timeline")).await.json();
    timeline["today"] = json!("<today>");
    compare("getPriceBookTimeline", timeline);
    compare(
        "getPriceBookVersionInEffect",
        app.get(&format!("{book_path}/in-effect?on=2090-03-01")).await.json(),
    );
    compare("retirePriceBookVersion", app.act(&format!("{draft_path}/retire"), "*").await.json());
    let book: Value = serde_json::from_str(rillcast::domain::demo::BOOK).unwrap();
    compare("createPriceBook", app.post("/v1/price-books", &json!({"document": book})).await.json());
    compare("getPriceBookDocument", app.get(&format!("{version}/document")).await.json());
    let job = json!({"customer": {"name": "Example Household"}, "site": {"address": "14 Alder Bend"}});
    let made = app.post("/v1/jobs", &job).await.json();
    let job_path = format!("/v1/jobs/{}", made["id"].as_str().unwrap());
    compare("createJob", made);
    compare("editJob", app.patch(&job_path, "*", &json!({"title": "Drive"})).await.json());
    compare("getJob", app.get(&format!("/v1/jobs/{}", app.job)).await.json());
    compare("listJobs", app.get("/v1/jobs?sort=created_at").await.json());
    let mut estimate = app.act(&format!("/v1/jobs/{}/estimates", app.job), "*").await.json();
    let estimate_path = format!("/v1/estimates/{}", estimate["id"].as_str().unwrap());
    // The estimate itself is reviewed above; here only what surrounds it.
    assert!(estimate["estimate"]["summary"]["total"].is_string());
    estimate["estimate"] = json!("<the estimate>");
    compare("createEstimate", estimate);
    let mut read = app.get(&estimate_path).await.json();
    read["estimate"] = json!("<the estimate>");
    compare("getEstimate", read);
    compare("getCustomerView", app.get(&format!("{estimate_path}/customer-view?detail=lines")).await.json());
    compare("getEstimateInputs", app.get(&format!("{estimate_path}/inputs")).await.json());
    compare("recomputeEstimate", app.act(&format!("{estimate_path}/recompute"), "*").await.json());
    compare("repriceJob", app.act(&format!("/v1/jobs/{}/reprice", app.job), "*").await.json());
    compare("listPriceBookVersionJobs", app.get(&format!("{version}/jobs")).await.json());
    let next = app.post(&format!("{book_path}/versions"), &copied).await.ok(201).json();
    let next = format!("/v1/price-book-versions/{}", text(&next, "id"));
    let items = app.get(&format!("{next}/document")).await.json()["items"].as_array().unwrap().clone();
    let items: Vec<Value> = items
        .into_iter()
        .map(|mut item| {
            if item["code"] == "pipe-6-sewer-10ft" {
                item["price"] = json!("61.50");
            }
            item
        })
        .collect();
    app.patch(&format!("{next}/document"), "*", &json!({"items": items})).await.ok(200);
    app.act(&format!("{next}/publish"), "*").await.ok(200);
    compare("repriceOpenJobs", app.act(&format!("{next}/reprice"), "*").await.ok(200).json());
    let start = json!({"start": "2027-03-02"});
    let mut plan = app.post(&format!("{estimate_path}/plan"), &start).await.ok(201).json();
    let plan_path = format!("/v1/plans/{}", text(&plan, "id"));
    // The plan itself is reviewed above.
    plan["plan"] = json!("<the plan>");
    compare("createPlan", plan);
    let calendar = app.get(&format!("{plan_path}/calendar")).await.ok(200).text();
    compare("getPlanCalendar", json!(settled_calendar(&calendar)));
    let progress = json!({"status_date": "2027-03-10", "progress": [
        {"task": "call_for_marks", "started_on": "2027-03-02", "finished_on": "2027-03-05"},
        {"task": "permit", "started_on": "2027-03-02", "finished_on": "2027-03-09"}]});
    let report = Ask::post(&format!("{plan_path}/progress")).json(&progress).key(&app.key);
    let mut moved = app.send(report.header("if-match", "*")).await.ok(200).json();
    moved["plan"] = json!("<the plan>");
    compare("reportProgress", moved);
    for (name, path) in [("getPlan", plan_path.clone()), ("getJobPlan", format!("/v1/jobs/{}/plan", app.job))]
    {
        let mut read = app.get(&path).await.ok(200).json();
        read["plan"] = json!("<the plan>");
        compare(name, read);
    }
    compare("listPlanVersions", app.get(&format!("{plan_path}/versions")).await.json());
    let of_job = |rest: &str| format!("/v1/jobs/{}/{rest}", app.job);
    let accepted =
        app.post(&of_job("acceptance"), &json!({"accepted_on": "2026-03-02"})).await.ok(201).json();
    let order = format!("{}-1", text(&accepted, "estimate_id"));
    compare("acceptJob", accepted);
    compare("getAcceptance", app.get(&of_job("acceptance")).await.json());
    let entries = json!({"entries": [
        {"kind": "hours", "on": "2026-03-09", "task": "dig_run", "trade": "laborer", "hours": "6.5 hr", "crew": "crew-1"},
        {"kind": "quantity", "on": "2026-03-09", "measure": "run_excavation", "quantity": "2.5 yd3"},
        {"kind": "concrete", "on": "2026-03-11", "ticket": "T-1", "volume": "1.75 yd3"},
        {"kind": "delivery", "on": "2026-03-08", "item": "permit-drainage", "quantity": "1"},
        {"kind": "order", "on": "2026-03-03", "order": order, "total": "1250.00"},
        {"kind": "finished", "on": "2026-03-20"}]});
    compare("addActuals", app.post(&of_job("actuals"), &entries).await.ok(201).json());
    compare("listActuals", app.get(&of_job("actuals")).await.json());
    compare("compareJob", app.get(&of_job("comparison")).await.json());
    compare("compareJobs", app.get("/v1/comparison?by=task,soil,season").await.json());
    let ask = json!({"take": "all", "as_of": "2026-04-01", "effect_on_job": app.job});
    let proposed = app.post(&format!("{book_path}/rate-proposals"), &ask).await.ok(201).json();
    let proposal_path = format!("/v1/rate-proposals/{}", text(&proposed, "id"));
    compare("proposeRates", proposed);
    compare("getRateProposal", app.get(&proposal_path).await.json());
    let est_id = estimate_path.rsplit('/').next().unwrap().to_owned();
    let csv = |text: String| json!(text.replace(&est_id, "<est id>").split("\r\n").collect::<Vec<_>>());
    let orders = app.get(&format!("{estimate_path}/purchase-orders")).await.json();
    compare("getPurchaseOrders", orders);
    let orders = app.get(&format!("{estimate_path}/purchase-orders.csv")).await.ok(200).text();
    compare("exportPurchaseOrders", csv(orders));
    compare("getCuttingSheet", app.get(&format!("{estimate_path}/cutting-sheet")).await.json());
    let sheet = app.get(&format!("{estimate_path}/cutting-sheet.csv")).await.ok(200).text();
    compare("exportCuttingSheet", csv(sheet));
    compare("listEstimates", app.get(&format!("/v1/jobs/{}/estimates", app.job)).await.json());
    money(&app, &estimate_path).await;
    compare("listAudit", app.get(&format!("/v1/audit?object={}", app.job)).await.json());
    compare("problem", app.post(&call("concrete-order"), &json!({"volum": 1})).await.json());
}

/// A file, with the media type it leaves with.
fn file(answer: &crate::app::Answer) -> Value {
    json!({"content_type": answer.header("content-type"), "lines": answer.text().lines().collect::<Vec<_>>()})
}

/// A page, an element a line.
fn page(answer: &crate::app::Answer) -> Value {
    let text = answer.text().replace("><", ">\n<");
    json!({"content_type": answer.header("content-type"), "lines": text.lines().collect::<Vec<_>>()})
}

/// Quotes, change orders, invoices, credit notes, the ledger.
async fn money(app: &TestApp, estimate_path: &str) {
    let job = app.job.clone();
    let estimate = estimate_path.rsplit('/').next().unwrap();
    let terms = crate::records::terms(estimate);
    let on = |date: &str| json!({"on": date, "reason": "As asked"});
    let act = async |path: String, body: Value| app.money(&path, &body).await.json();

    let draft = act(format!("/v1/jobs/{job}/quotes"), terms.clone()).await;
    let quote = format!("/v1/quotes/{}", text(&draft, "id"));
    compare("createQuote", draft);
    compare("editQuote", app.patch(&quote, "*", &json!({"scope": "Drive and path."})).await.json());
    compare("issueQuote", act(format!("{quote}/issue"), json!({"on": "2026-02-02"})).await);
    for (name, action, date) in [
        ("declineQuote", "decline", "2026-02-03"),
        ("expireQuote", "expire", "2026-04-01"),
        ("withdrawQuote", "withdraw", "2026-02-03"),
        ("supersedeQuote", "supersede", "2026-02-03"),
    ] {
        let other = app.issued(&job, &terms).await;
        compare(name, act(format!("/v1/quotes/{other}/{action}"), on(date)).await);
    }
    let yes = json!({"by": "Example Household", "on": "2026-02-10", "additions": ["spare"]});
    compare("acceptQuote", act(format!("{quote}/accept"), yes.clone()).await);
    compare("getQuote", app.get(&quote).await.json());
    compare("recomputeQuote", app.act(&format!("{quote}/recompute"), "*").await.json());
    let order = file(&app.get(&format!("{estimate_path}/purchase-orders/1/ubl")).await);
    let today = jiff::Timestamp::now().strftime("%Y-%m-%d").to_string();
    let settled = order.to_string().replace(estimate, "<est id>").replace(&job, "<job id>");
    compare("getPurchaseOrderUbl", serde_json::from_str(&settled.replace(&today, "<today>")).unwrap());
    let order = page(&app.get(&format!("{estimate_path}/purchase-orders/1/print")).await).to_string();
    let settled = order.replace(estimate, "<est id>").replace(&job, "<job id>").replace(&today, "<today>");
    compare("printPurchaseOrder", serde_json::from_str(&settled).unwrap());
    compare("getQuoteUbl", file(&app.get(&format!("{quote}/ubl")).await));
    compare("printQuote", page(&app.get(&format!("{quote}/print")).await));
    for (name, path) in [("printEstimate", "print"), ("printSiteSheet", "site-sheet")] {
        let shown = page(&app.get(&format!("{estimate_path}/{path}")).await).to_string();
        compare(name, serde_json::from_str(&shown.replace(estimate, "<est id>")).unwrap());
    }
    compare("listAllQuotes", app.get("/v1/quotes").await.json());
    compare("listQuotes", app.get(&format!("/v1/jobs/{job}/quotes")).await.json());

    let mut notes: Value = serde_json::from_str(rillcast::domain::demo::NOTES).unwrap();
    notes["runs"][0]["legs"][0]["length"] = json!("30 ft");
    let longer =
        app.post(&format!("/v1/jobs/{job}/estimates"), &json!({"notes": notes})).await.ok(201).json();
    let change =
        json!({"title": "Longer drive run", "basis": {"kind": "revision", "estimate_id": longer["id"]}});
    let draft = act(format!("/v1/jobs/{job}/change-orders"), change).await;
    let change = format!("/v1/change-orders/{}", text(&draft, "id"));
    compare("createChangeOrder", draft);
    compare("issueChangeOrder", act(format!("{change}/issue"), json!({"on": "2026-02-20"})).await);
    let yes = json!({"by": "Example Household", "on": "2026-02-21"});
    compare("acceptChangeOrder", act(format!("{change}/accept"), yes).await);
    for (name, action) in [("declineChangeOrder", "decline"), ("withdrawChangeOrder", "withdraw")] {
        let other = app.change(&job, "40.00").await;
        compare(name, act(format!("/v1/change-orders/{other}/{action}"), on("2026-02-22")).await);
    }
    compare("getChangeOrder", app.get(&change).await.json());
    compare("recomputeChangeOrder", app.act(&format!("{change}/recompute"), "*").await.json());
    compare("getChangeOrderUbl", file(&app.get(&format!("{change}/ubl")).await));
    compare("printChangeOrder", page(&app.get(&format!("{change}/print")).await));
    compare("listChangeOrders", app.get(&format!("/v1/jobs/{job}/change-orders")).await.json());

    app.bill(&job, &json!({"kind": "stage", "stage": "deposit"})).await.ok(201);
    let progress = app.bill(&job, &json!({"kind": "percent", "pct_to_date": "60"})).await.ok(201).json();
    let invoice = format!("/v1/invoices/{}", text(&progress, "id"));
    compare("createInvoice", progress);
    let paid = json!({"system": "accounting", "reference": "RCPT-1", "on": "2026-03-20", "amount": "100.00"});
    compare("reportPayment", act(format!("{invoice}/payments"), paid).await);
    compare("listPayments", app.get(&format!("{invoice}/payments")).await.json());
    let wrong = app.bill(&job, &json!({"kind": "percent", "pct_to_date": "70"})).await.ok(201).json();
    let void =
        json!({"system": "accounting", "reference": "VOID-1", "on": "2026-03-21", "reason": "Sent twice"});
    compare("reportVoid", act(format!("/v1/invoices/{}/void", text(&wrong, "id")), void).await);
    let credit = json!({"credit": {"kind": "lines", "lines": [{"line": "labor", "amount": "50.00"}]},
        "on": "2026-03-22", "reason": "Billed too early"});
    let credit = act(format!("{invoice}/credit-notes"), credit).await;
    let note = format!("/v1/credit-notes/{}", text(&credit, "id"));
    compare("createCreditNote", credit);
    compare("getInvoice", app.get(&invoice).await.json());
    compare("recomputeInvoice", app.act(&format!("{invoice}/recompute"), "*").await.json());
    compare("getInvoiceUbl", file(&app.get(&format!("{invoice}/ubl")).await));
    compare("printInvoice", page(&app.get(&format!("{invoice}/print")).await));
    compare("listAllInvoices", app.get("/v1/invoices").await.json());
    compare("listInvoices", app.get(&format!("/v1/jobs/{job}/invoices")).await.json());
    compare("getCreditNote", app.get(&note).await.json());
    compare("recomputeCreditNote", app.act(&format!("{note}/recompute"), "*").await.json());
    compare("getCreditNoteUbl", file(&app.get(&format!("{note}/ubl")).await));
    compare("printCreditNote", page(&app.get(&format!("{note}/print")).await));
    let cost = json!({"system": "accounting", "reference": "BILL-1", "on": "2026-03-11", "category": "material",
        "amount": "412.60"});
    compare("reportCost", act(format!("/v1/jobs/{job}/costs"), cost).await);
    compare("listCosts", app.get(&format!("/v1/jobs/{job}/costs")).await.json());
    compare("getLedger", app.get(&format!("/v1/jobs/{job}/ledger")).await.json());
    let mut rows = file(&app.get(&format!("/v1/jobs/{job}/invoice-rows")).await);
    for row in rows["lines"].as_array_mut().unwrap() {
        *row = json!(row.as_str().unwrap().replace(&job, "<job>"));
    }
    compare("getInvoiceRows", rows);
}
