//! Shapes of the document as programs make types from them, and what it says where a shape alone does not.

use crate::app::{Answer, Ask, TestApp, text};
use crate::document::{Operation, document, operations};
use crate::openapi::{against, fits, walk};
use crate::records::Records;
use serde_json::Value;
use std::collections::BTreeSet;

/// A bare `type: object` becomes a type that no value is of.
#[test]
fn no_object_of_the_document_is_bare() {
    let (mut objects, mut bare) = (0, Vec::new());
    walk(&document(), "", &mut |at, value| {
        let is_object =
            |t: &Value| t == "object" || t.as_array().is_some_and(|l| l.contains(&"object".into()));
        if value.get("type").is_some_and(is_object) {
            objects += 1;
            if value.get("properties").is_none() && value.get("additionalProperties").is_none() {
                bare.push(at.to_owned());
            }
        }
    });
    assert!(objects > 200, "only {objects}");
    assert!(bare.is_empty(), "{bare:#?}");
}

fn validates(operation: &Operation) -> bool {
    operation.value["parameters"].as_array().into_iter().flatten().any(|p| p["name"] == "validate_only")
}

/// Takes out what differs from one moment to the next.
fn settle(value: &mut Value) {
    match value {
        Value::Object(members) => {
            members.retain(|name, _| !name.ends_with("_at"));
            members.values_mut().for_each(settle);
        }
        Value::Array(list) => list.iter_mut().for_each(settle),
        _ => {}
    }
}

/// The working request of each operation that can only check, asked to, with what it says of the answer.
async fn checked(mut look: impl FnMut(&Operation, &Answer, &Answer)) {
    let shared = TestApp::start().await;
    let papers = Records::make(&shared).await;
    let mut count = 0;
    for operation in operations().into_iter().filter(validates) {
        count += 1;
        let own = operation.own_ground().await;
        let (app, records) = own.as_ref().map_or((&shared, &papers), |(app, records)| (app, records));
        let ask = || -> Ask {
            let mut ask = operation.working(records).key(&app.key);
            ask.path.push(if ask.path.contains('?') { '&' } else { '?' });
            ask.path.push_str("validate_only=true");
            ask
        };
        look(&operation, &app.send(ask()).await.ok(200), &app.send(ask()).await.ok(200));
    }
    assert!(count >= 30, "only {count} operations that check");
}

#[tokio::test]
async fn what_is_only_checked_has_the_shape_the_document_gives() {
    let document = document();
    checked(|operation, answer, _| {
        let id = &operation.id;
        let response = &operation.value["responses"]["200"];
        let schema = &response["content"]["application/json"]["schema"];
        let mut wrong = Vec::new();
        fits(&document, schema, &answer.json(), "#", &mut wrong);
        wrong.extend(against(&document, schema, &answer.json()));
        assert!(wrong.is_empty(), "{id}: {:#?}", &wrong[..wrong.len().min(20)]);
        for name in ["ETag", "Location"] {
            assert!(!answer.headers.contains_key(name), "{id}: {name}");
            let told = &response["headers"][name]["description"];
            assert!(
                told.is_null() || told.as_str().unwrap().contains("validate_only"),
                "{id}: {name} {told}"
            );
        }
        if operation.value["responses"].get("201").is_some() {
            assert!(text(response, "description").contains("`validate_only"), "{id}: {response}");
        }
    })
    .await;
}

/// Ids are made anew for each request: what two requests that only check answer alike has none that was invented.
#[tokio::test]
async fn what_is_only_checked_has_no_invented_id() {
    checked(|operation, first, second| {
        let id = &operation.id;
        let (mut first, mut second) = (first.json(), second.json());
        settle(&mut first);
        settle(&mut second);
        assert!(first == second, "{id}: {first}\n{second}");
        if operation.value["responses"].get("201").is_some() {
            assert!(first.get("id").is_none(), "{id}");
        }
        if id == "addActuals" {
            let item = &first["items"][0];
            assert!(item["entry"].is_object(), "{item}");
            assert!(item.get("id").is_none() && item.get("number").is_none(), "{item}");
        }
    })
    .await;
}

/// What is stored is served as it was written, also where engines of later say more.
#[tokio::test]
async fn what_was_stored_before_a_member_came_has_the_shape_the_document_gives() {
    let document = document();
    let app = TestApp::start().await;
    let records = Records::make(&app).await;
    for (id, late) in [
        ("getEstimate", &["/estimate/layout/runs/*/dig_table"][..]),
        ("getRateProposal", &["/proposals/more_jobs"]),
        ("getJobPlan", &["/plan/tasks/*/part_codes"]),
    ] {
        let operation = operations().into_iter().find(|o| o.id == id).unwrap();
        let mut stored = app.send(operation.working(&records).key(&app.key)).await.ok(200).json();
        for path in late {
            assert!(take_out(&mut stored, path) > 0, "{id}: {path} is nowhere in {stored}");
        }
        let schema = &operation.value["responses"]["200"]["content"]["application/json"]["schema"];
        let wrong = against(&document, schema, &stored);
        assert!(wrong.is_empty(), "{id}: {wrong:#?}");
    }
}

/// Takes a member out, by its pointer with `*` for each of a list; how often it was there.
fn take_out(value: &mut Value, path: &str) -> usize {
    let name = path[1..].split('/').next().unwrap();
    let rest = Some(&path[1 + name.len()..]).filter(|rest| !rest.is_empty());
    match (value, rest) {
        (Value::Array(list), Some(rest)) if name == "*" => list.iter_mut().map(|v| take_out(v, rest)).sum(),
        (Value::Object(members), None) => usize::from(members.remove(name).is_some()),
        (Value::Object(members), Some(rest)) => members.get_mut(name).map_or(0, |v| take_out(v, rest)),
        _ => 0,
    }
}

/// What has one of a few words is typed as one of them.
#[test]
fn closed_words_are_listed() {
    let schemas = document()["components"]["schemas"].clone();
    for (shape, member, words) in [
        ("PlanTask", "kind", 3),
        ("PlanTask", "status", 3),
        ("PlanHoldPoint", "kind", 4),
        ("PlanChange", "of", 2),
        ("PlanChange", "change", 6),
        ("PlanWithdrawn", "of", 2),
        ("EstimateFacts", "outcome", 3),
        ("VersionOut", "state", 3),
        ("VersionNamed", "state", 3),
        ("PriceStep", "name", 7),
        ("ChangeDocument", "basis", 2),
        ("GrateWater", "control", 2),
        ("Longest", "relation", 3),
        ("LoadOutLine", "kind", 5),
        ("PieceOut", "part", 2),
        ("PlanPredecessor", "kind", 1),
        ("CustomerView", "currency", 8),
        ("PurchaseOrders", "currency", 8),
    ] {
        let reference = schemas[shape]["properties"][member]["$ref"].as_str().unwrap_or_default();
        let listed = schemas[reference.rsplit('/').next().unwrap_or_default()]["enum"].as_array();
        assert_eq!(listed.map(Vec::len), Some(words), "{shape}.{member}: {reference}");
    }
}

#[test]
fn files_have_their_columns_in_the_document() {
    use rillcast::documents::{invoice_csv, job_orders, price_list};
    let columns: [(&str, &[&str]); 4] = [
        ("getInvoiceRows", &invoice_csv::COLUMNS),
        ("exportPriceList", &price_list::COLUMNS),
        ("exportPurchaseOrders", &job_orders::purchase_orders::COLUMNS),
        ("exportCuttingSheet", &job_orders::cutting_sheet::COLUMNS),
    ];
    let all = operations();
    for (id, columns) in columns {
        let operation = all.iter().find(|o| o.id == id).unwrap();
        let example = text(&operation.value["responses"]["200"]["content"]["text/csv"], "example");
        assert_eq!(example.split("\r\n").next().unwrap(), columns.join(","), "{id}");
        let told = text(&operation.value, "description").replace('\n', " ");
        assert!(told.contains("formula gets a `'` in front"), "{id}: {told}");
    }
    let rows = all.iter().find(|o| o.id == "getInvoiceRows").unwrap();
    let told = text(&rows.value, "description");
    for word in ["line", "tax", "retained", "released", "invoice", "credit_note"] {
        assert!(told.contains(&format!("`{word}`")), "{word}: {told}");
    }
}

/// A sum over papers that leaves voided ones in comes to too much: the document says so wherever it lists them.
#[test]
fn voided_papers_are_told_to_be_left_out() {
    let document = document();
    let schemas = &document["components"]["schemas"];
    let told: BTreeSet<String> = ["PaperFacts", "LedgerPaper"]
        .iter()
        .map(|shape| text(&schemas[*shape]["properties"]["payable"], "description"))
        .chain([text(&schemas["Ledger"]["properties"]["papers"], "description")])
        .chain(operations().iter().filter(|o| o.id == "listInvoices").map(|o| text(&o.value, "description")))
        .collect();
    assert_eq!(told.len(), 4);
    assert!(told.iter().all(|text| text.contains("voided")), "{told:#?}");
}

/// The shapes that a schema leads to.
fn reached(document: &Value, from: &Value, into: &mut BTreeSet<String>) {
    let mut names = Vec::new();
    walk(from, "", &mut |_, value| {
        let at = value.get("$ref").and_then(Value::as_str);
        names.extend(at.map(|at| at.rsplit('/').next().unwrap().to_owned()));
    });
    for name in names {
        if into.insert(name.clone()) {
            reached(document, &document["components"]["schemas"][&name], into);
        }
    }
}

/// The quantity of answers has any unit and any sign: one that is sent has those that are read.
#[test]
fn what_is_sent_has_quantities_of_its_own() {
    let document = document();
    let mut sent = BTreeSet::new();
    for operation in operations() {
        reached(&document, &operation.value["requestBody"], &mut sent);
    }
    assert!(
        ["LengthQuantity", "LevelQuantity", "AnyQuantity", "SiteNotesPatch"]
            .iter()
            .all(|n| sent.contains(*n))
    );
    assert!(!sent.contains("Quantity") && !sent.contains("GrateWater"));
    let length = |value: &str, unit: &str| {
        let schema = serde_json::json!({"$ref": "#/components/schemas/LengthInput"});
        against(&document, &schema, &serde_json::json!({"value": value, "unit": unit})).is_empty()
    };
    assert!(length("20", "ft") && !length("20", "hr") && !length("-20", "ft"));
}
