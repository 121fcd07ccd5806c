//! A kept plan as a calendar program meets it: read, subscribed to, kept up to date.

use crate::app::{Ask, TestApp, text};
use crate::plans::kept;
use axum::http::Method;
use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use icalendar::{Calendar, Component as _};
use rillcast::http::auth::Scope;
use serde_json::json;
use std::collections::BTreeMap;

/// UID to its events' sequence and days, as one library reads them.
fn read_events(file: &str) -> BTreeMap<String, (u32, String, String, String)> {
    let calendar: Calendar = file.parse().unwrap();
    let mut out = BTreeMap::new();
    for event in calendar.components.iter().filter_map(|c| c.as_event()) {
        let value = |name: &str| event.property_value(name).unwrap_or_default().to_owned();
        let sequence = value("SEQUENCE").parse().unwrap();
        assert!(event.get_start().is_some() && event.get_end().is_some());
        let entry = (sequence, value("DTSTART"), value("DTEND"), value("STATUS"));
        assert!(out.insert(event.get_uid().unwrap().to_owned(), entry).is_none(), "a UID twice");
    }
    out
}

/// `Basic` as a program makes it of a name and a password (RFC 7617).
fn basic(name: &str, password: &str) -> String {
    format!("Basic {}", STANDARD.encode(format!("{name}:{password}")))
}

#[tokio::test]
async fn a_calendar_program_shows_the_key_as_a_password() {
    let app = TestApp::start().await;
    let (_, made) = kept(&app).await;
    let path = made.header("location");
    let key = app.key_with(&[Scope::PlansRead]).await;
    let with = |method: Method, path: &str, credential: &str| {
        Ask::new(method, path).header("authorization", credential)
    };
    let calendar = format!("{path}/calendar");
    let expected = app.get(&calendar).await.ok(200).text();
    // the worked example of the standard: what a name and a password look like
    assert_eq!(basic("Aladdin", "open sesame"), "Basic QWxhZGRpbjpvcGVuIHNlc2FtZQ==");
    for name in ["calendar", "", "a name of its own"] {
        let answer = app.send(with(Method::GET, &calendar, &basic(name, &key))).await.ok(200);
        assert_eq!(answer.text(), expected, "{name}");
    }
    app.send(with(Method::HEAD, &calendar, &basic("calendar", &key))).await.ok(200);
    let challenge = "Bearer realm=\"rillcast\", Basic realm=\"rillcast\", charset=\"UTF-8\"";
    let answer = app.send(Ask::get(&calendar)).await;
    assert_eq!(answer.header("www-authenticate"), challenge);
    assert!(text(&answer.problem(401, "no-credential"), "detail").contains("the key as password"));
    // a key that is none, a credential that is no text, one without a password, a key without the scope
    for wrong in
        [&basic("calendar", "rc_x_y"), "Basic ????", &format!("Basic {}", STANDARD.encode("no colon"))]
    {
        app.send(with(Method::GET, &calendar, wrong)).await.problem(401, "bad-credential");
    }
    let other = app.key_with(&[Scope::JobsRead]).await;
    app.send(with(Method::GET, &calendar, &basic("calendar", &other))).await.problem(403, "missing-scope");
    // nothing else takes it: not another route, nor another method of this one
    let answer = app.send(with(Method::GET, &path, &basic("calendar", &key))).await;
    assert!(!answer.header("www-authenticate").contains("Basic"));
    answer.problem(401, "bad-credential");
    app.send(with(Method::POST, &calendar, &basic("calendar", &key))).await.any_problem();
}

#[tokio::test]
async fn the_calendar_opens_in_two_parsers_and_keeps_uids_while_sequences_rise() {
    let app = TestApp::start().await;
    let (_, made) = kept(&app).await;
    let record = made.json();
    let plan_path = made.header("location");
    let answer = app.get(&format!("{plan_path}/calendar")).await.ok(200);
    assert_eq!(answer.header("content-type"), "text/calendar; charset=utf-8");
    let file = answer.text();
    for line in file.split_inclusive("\r\n") {
        assert!(line.ends_with("\r\n") && line.len() <= 77, "{line:?}");
    }
    let first = read_events(&file);
    let tasks = record["plan"]["tasks"].as_array().unwrap().len();
    let holds = record["plan"]["hold_points"].as_array().unwrap().len();
    assert_eq!(first.len(), tasks + holds);
    let mut other = 0;
    for calendar in ical::IcalParser::new(file.as_bytes()) {
        other += calendar.unwrap().events.len();
    }
    assert_eq!(other, first.len());
    let pour = format!("{}+pour.1@rillcast", app.job);
    // The end is the day after the last; nothing is agreed before the job is accepted.
    assert_eq!(first[&pour], (0, "20270312".into(), "20270313".into(), "TENTATIVE".into()));
    let report = json!({"status_date": "2027-03-16", "progress": [
        {"task": "call_for_marks", "started_on": "2027-03-02", "finished_on": "2027-03-05"},
        {"task": "permit", "started_on": "2027-03-02", "finished_on": "2027-03-15"}]});
    let ask = Ask::post(&format!("{plan_path}/progress")).json(&report).key(&app.key);
    app.send(ask.header("if-match", "*")).await.ok(200);
    let moved = read_events(&app.get(&format!("{plan_path}/calendar")).await.ok(200).text());
    assert_eq!(moved[&pour], (1, "20270319".into(), "20270320".into(), "TENTATIVE".into()));
    app.post(&format!("/v1/jobs/{}/acceptance", app.job), &json!({"accepted_on": "2026-11-01"}))
        .await
        .ok(201);
    let second = read_events(&app.get(&format!("{plan_path}/calendar")).await.ok(200).text());
    assert_eq!(first.keys().collect::<Vec<_>>(), second.keys().collect::<Vec<_>>());
    // a change of the standing as well: the sequence rises
    assert_eq!(second[&pour], (2, "20270319".into(), "20270320".into(), "CONFIRMED".into()));
    let ask = Ask::get(&format!("{plan_path}/calendar")).key(&app.key);
    assert_ne!(app.send(ask.header("if-none-match", &answer.etag())).await.ok(200).text(), file);
    let now = app.get(&format!("{plan_path}/calendar")).await.etag();
    let ask = || Ask::get(&format!("{plan_path}/calendar")).key(&app.key).header("if-none-match", &now);
    app.send(ask()).await.ok(304);
    // Its name is the title of the job.
    app.patch(&format!("/v1/jobs/{}", app.job), "*", &json!({"title": "Another title"})).await.ok(200);
    let renamed = app.send(ask()).await.ok(200);
    assert!(renamed.text().contains("NAME:Another title") && renamed.etag() != now, "{}", renamed.text());
}

/// Several jobs share one calendar on a phone, and whoever reads an event wants to drive there.
#[tokio::test]
async fn every_event_says_of_which_job_it_is_and_where() {
    let app = TestApp::start().await;
    let (_, made) = kept(&app).await;
    let path = format!("{}/calendar", made.header("location"));
    let first = app.get(&path).await.ok(200);
    let name = format!("attachment; filename=\"plan-{}.ics\"", app.job);
    assert_eq!(first.header("content-disposition"), name);
    let titles = |file: &str, place: &str, described: &str| -> Vec<String> {
        let calendar: Calendar = file.parse().unwrap();
        let event = |c: &icalendar::CalendarComponent| {
            let event = c.as_event().unwrap();
            let value = |name: &str| event.property_value(name).unwrap_or_default().to_owned();
            assert_eq!(value("LOCATION"), place);
            assert!(value("DESCRIPTION").starts_with(described), "{}", value("DESCRIPTION"));
            value("SUMMARY")
        };
        calendar.components.iter().map(event).collect()
    };
    let short = "Drive and garden path drains";
    let seen = titles(&first.text(), "14 Alder Bend, Millbrook", &format!("Job: {short}"));
    assert!(seen.len() > 10 && seen.iter().all(|s| s.ends_with(&format!(" – {short}"))), "{seen:?}");
    assert!(seen.contains(&format!("Backfill: line main – {short}")), "{seen:?}");
    // A long title is told whole, but not on the one line.
    let long = "Channel drains in the drive, along the garden path and around the old stable yard";
    let body = json!({"title": long, "site": {"address": "9 Mill Lane"}});
    app.patch(&format!("/v1/jobs/{}", app.job), "*", &body).await.ok(200);
    let second = app.get(&path).await.ok(200);
    assert_ne!(second.etag(), first.etag());
    let seen = titles(&second.text(), "9 Mill Lane", &format!("Job: {long}"));
    assert!(
        seen.contains(&"Backfill: line main – Channel drains in the drive, along the…".to_owned()),
        "{seen:?}"
    );
}
