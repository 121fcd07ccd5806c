//! The headers that answers carry are those that the document declares; a tag sent with a `Location` is that of what is there.

use crate::app::{Answer, TestApp};
use crate::document::{Operation, document, operations};
use crate::records::Records;
use std::collections::BTreeSet;

/// On every answer, or about the message itself: the document does not tell them answer by answer.
const OF_EVERY: &[&str] = &[
    "allow",
    "cache-control",
    "content-length",
    "content-type",
    "referrer-policy",
    "x-content-type-options",
    "x-frame-options",
];

/// Names of the headers of an answer that the document declares for its status; those that it does not, into `silent`.
fn declared(operation: &Operation, answer: &Answer, silent: &mut BTreeSet<String>) -> BTreeSet<String> {
    let responses = operation.value["responses"].as_object().unwrap();
    let status = match answer.status.as_u16() {
        500.. => "5XX".to_owned(),
        400.. => "4XX".to_owned(),
        status => status.to_string(),
    };
    let id = &operation.id;
    let response = responses.get(&status).unwrap_or_else(|| panic!("{id}: {status} is not documented"));
    let known: BTreeSet<String> =
        response["headers"].as_object().into_iter().flatten().map(|(n, _)| n.to_lowercase()).collect();
    let sent = answer.headers.keys().map(|name| name.as_str().to_owned());
    let sent: BTreeSet<String> = sent.filter(|name| !OF_EVERY.contains(&name.as_str())).collect();
    silent.extend(sent.difference(&known).map(|name| format!("{id} {status}: {name}")));
    sent.intersection(&known).cloned().collect()
}

#[tokio::test]
async fn every_header_that_is_sent_is_declared() {
    let shared = TestApp::start().await;
    let papers = Records::make(&shared).await;
    let (mut silent, mut seen) = (BTreeSet::new(), BTreeSet::new());
    for operation in operations() {
        let own = operation.own_ground().await;
        let (app, records) = own.as_ref().map_or((&shared, &papers), |(app, records)| (app, records));
        let powerless = app.key_with(&[]).await;
        let working = || operation.working(records).key(&app.key);
        let joint = if working().path.contains('?') { '&' } else { '?' };
        let asking = |more: &str| {
            let mut ask = working();
            ask.path = format!("{}{joint}{more}", ask.path);
            ask
        };
        let twice = || working().header("idempotency-key", &format!("twice-{}", operation.id));
        let mut again = working();
        again.headers.remove("idempotency-key");
        let mut asks = vec![
            twice(),
            twice(),
            again,
            asking("limit=1"),
            asking("validate_only=true"),
            operation.working(records),
            working().key("rc_x_y"),
            working().key(&powerless),
            working().header("if-none-match", "*"),
            working().header("accept", "text/csv"),
            working().header("accept", "image/png"),
        ];
        if operation.media().is_some() {
            asks.push(working().header("content-type", "text/plain"));
            asks.push(working().header("content-encoding", "gzip"));
        }
        for ask in asks {
            seen.extend(declared(&operation, &app.send(ask).await, &mut silent));
        }
    }
    assert!(silent.is_empty(), "sent, but not declared: {silent:#?}");
    // What all operations share was met, but for what only a service without rest sends.
    let document = document();
    let shared = document["components"]["headers"].as_object().unwrap().keys().map(|n| n.to_lowercase());
    let missed: Vec<String> = shared.filter(|name| !seen.contains(name) && name != "retry-after").collect();
    assert!(missed.is_empty(), "declared, but never sent: {missed:?}");
}

/// A working request finds the job priced already, and answers otherwise.
#[tokio::test]
async fn what_a_new_revision_of_a_job_is_sent_with_is_declared_too() {
    let app = TestApp::start().await;
    let records = Records::open(&app).await;
    app.act(&format!("/v1/price-book-versions/{}/publish", records.draft), "*").await.ok(200);
    let operation = operations().into_iter().find(|o| o.id == "repriceJob").unwrap();
    let answer = app.send(operation.working(&records).key(&app.key)).await.ok(201);
    let mut silent = BTreeSet::new();
    let told = declared(&operation, &answer, &mut silent);
    assert!(silent.is_empty(), "sent, but not declared: {silent:?}");
    assert!(told.contains("etag") && told.contains("location"), "{told:?}");
    let read = app.get(&answer.header("location")).await.ok(200);
    assert_eq!(answer.etag(), read.etag());
}

#[tokio::test]
async fn a_tag_sent_with_a_location_is_that_of_what_is_there() {
    let shared = TestApp::start().await;
    let papers = Records::make(&shared).await;
    let mut made = 0;
    for operation in operations() {
        if operation.value["responses"].get("201").is_none() {
            continue;
        }
        let own = operation.own_ground().await;
        let (app, records) = own.as_ref().map_or((&shared, &papers), |(app, records)| (app, records));
        let answer = app.send(operation.working(records).key(&app.key)).await;
        assert!(answer.status.is_success(), "{}: {}", operation.id, answer.text());
        let Some(location) = answer.headers.get("location") else {
            assert!(answer.headers.get("etag").is_none(), "{}: a tag of nothing", operation.id);
            continue;
        };
        made += 1;
        let read = app.get(location.to_str().unwrap()).await.ok(200);
        assert_eq!(answer.headers.get("etag"), read.headers.get("etag"), "{}: {location:?}", operation.id);
    }
    assert!(made >= 15, "only {made} operations that make something");
}
