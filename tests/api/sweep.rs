//! Every operation of the document against every way to get a request wrong: each refusal is a problem.

use crate::app::{Ask, TestApp, text};
use crate::document::{Operation, operations};
use crate::records::Records;
use axum::http::Method;
use rillcast::http::auth::Scope;
use serde_json::json;

async fn ready() -> (TestApp, Records) {
    let app = TestApp::start().await;
    let records = Records::make(&app).await;
    (app, records)
}

fn with_body() -> Vec<Operation> {
    let list: Vec<Operation> = operations().into_iter().filter(|o| o.media().is_some()).collect();
    assert!(list.len() >= 9, "only {} operations with a body", list.len());
    list
}

/// Those that read JSON; what is refused in a CSV list has tests of its own.
fn with_json() -> Vec<Operation> {
    with_body().into_iter().filter(Operation::reads_json).collect()
}

fn broken(operation: &Operation, records: &Records, app: &TestApp, body: &str) -> Ask {
    operation.working(records).typed(&operation.media().unwrap(), body).key(&app.key)
}

#[tokio::test]
async fn bad_json_is_refused_with_its_place() {
    let (app, records) = ready().await;
    for operation in with_json() {
        for body in ["{\"a\":", "{} x", "", "{\"a\":1,\"a\":2}", "nul", "\u{1}", "{'a': 1}"] {
            if body.is_empty() && operation.body_optional() {
                continue;
            }
            let problem = app.send(broken(&operation, &records, &app, body)).await;
            problem.problem(400, "not-json");
        }
        let invalid_utf8 = operation
            .working(&records)
            .typed(&operation.media().unwrap(), vec![b'{', b'"', 0xff, b'"', b':', b'1', b'}'])
            .key(&app.key);
        app.send(invalid_utf8).await.problem(400, "not-json");
        // Deeper than the reader goes: refused, not a crash.
        let deep = format!("{{\"a\":{}1{}}}", "[".repeat(50_000), "]".repeat(50_000));
        app.send(broken(&operation, &records, &app, &deep)).await.problem(400, "not-json");
    }
}

#[tokio::test]
async fn a_body_of_the_wrong_shape_is_refused() {
    let (app, records) = ready().await;
    for operation in with_json() {
        let patch = operation.method == Method::PATCH;
        for body in ["[]", "5", "null", "\"text\"", "true"] {
            let answer = app.send(broken(&operation, &records, &app, body)).await;
            assert_eq!(answer.pointers(), ["#"], "{} {body}", operation.id);
        }
        if !patch && !operation.body_optional() {
            let answer = app.send(broken(&operation, &records, &app, "{}")).await;
            answer.problem(422, "validation-failed");
        }
    }
}

#[tokio::test]
async fn a_wrong_or_missing_media_type_is_refused() {
    let (app, records) = ready().await;
    for operation in with_body() {
        let wanted = operation.media().unwrap();
        let mut body = operation.working(&records).body;
        if body.is_empty() {
            body = b"{}".to_vec();
        }
        for sent in ["text/plain", "application/xml", "application/x-www-form-urlencoded", "json", ""] {
            let ask = operation.working(&records).typed(sent, body.clone()).key(&app.key);
            let answer = app.send(ask).await;
            assert_eq!(answer.header("accept"), wanted, "{} {sent}", operation.id);
            answer.problem(415, "wrong-media-type");
        }
        let other =
            if wanted == "application/json" { "application/merge-patch+json" } else { "application/json" };
        let ask = operation.working(&records).typed(other, body.clone()).key(&app.key);
        app.send(ask).await.problem(415, "wrong-media-type");
        let mut ask = operation.working(&records).typed(&wanted, "{\"x\":1}").key(&app.key);
        ask.headers.remove("content-type");
        let answer = app.send(ask).await;
        if operation.method == Method::PATCH {
            assert_eq!(answer.header("accept-patch"), wanted);
        }
        answer.problem(415, "wrong-media-type");
        let ask = operation.working(&records).typed(&wanted, body.clone()).key(&app.key);
        let answer = app.send(ask.header("content-encoding", "gzip")).await;
        assert_eq!(answer.header("accept-encoding"), "identity");
        answer.problem(415, "wrong-media-type");
        let with_charset = operation
            .working(&records)
            .typed(&format!("{wanted}; charset=utf-8"), body.clone())
            .key(&app.key);
        let answer = app.send(with_charset).await;
        assert!(answer.status.is_success(), "{}: {}", operation.id, answer.text());
    }
}

#[tokio::test]
async fn a_body_that_says_it_is_not_compressed_is_read() {
    let app = TestApp::start().await;
    let ask =
        || Ask::post("/v1/calculators/concrete-order").key(&app.key).json(&json!({"volume": "2.1 yd3"}));
    let plain = app.send(ask()).await.ok(200);
    for coding in ["identity", "Identity", " identity "] {
        let said = app.send(ask().header("content-encoding", coding)).await.ok(200);
        assert_eq!(said.bytes, plain.bytes, "{coding}");
    }
    for coding in ["gzip", "identity, gzip", ""] {
        app.send(ask().header("content-encoding", coding)).await.problem(415, "wrong-media-type");
    }
    let both = ask().header("content-encoding", "identity").line("content-encoding", "br");
    app.send(both).await.problem(415, "wrong-media-type");
}

#[tokio::test]
async fn an_unknown_member_is_refused() {
    let (app, records) = ready().await;
    for operation in with_json() {
        let sent = operation.working(&records).body;
        let mut body: serde_json::Value = serde_json::from_slice(&sent).unwrap_or(serde_json::json!({}));
        body["no_such_member"] = serde_json::json!(1);
        let answer = app.send(broken(&operation, &records, &app, &body.to_string())).await;
        assert_eq!(answer.pointers(), ["#/no_such_member"], "{}", operation.id);
    }
}

#[tokio::test]
async fn a_wrong_method_is_refused_with_those_that_are_right() {
    let (app, records) = ready().await;
    let all = operations();
    for operation in &all {
        let path = operation.path_for(&records);
        let right: Vec<&Method> =
            all.iter().filter(|o| o.path == operation.path).map(|o| &o.method).collect();
        let methods = ["GET", "POST", "PUT", "PATCH", "DELETE", "OPTIONS", "TRACE", "PROPFIND"];
        for method in methods.map(|m| Method::from_bytes(m.as_bytes()).unwrap()) {
            if right.contains(&&method) {
                continue;
            }
            let answer = app.send(Ask::new(method.clone(), &path).key(&app.key)).await;
            let allow = answer.header("allow");
            let mut allowed: Vec<&str> = allow.split(',').map(str::trim).filter(|m| *m != "HEAD").collect();
            allowed.sort_unstable();
            let mut expected: Vec<&str> = right.iter().map(|m| m.as_str()).collect();
            expected.sort_unstable();
            assert_eq!(allowed, expected, "{method} {path}");
            answer.problem(405, "wrong-method");
        }
    }
    for path in ["/livez", "/readyz", "/openapi.json", "/problems", "/problems/not-found"] {
        for method in [Method::POST, Method::DELETE, Method::OPTIONS] {
            app.send(Ask::new(method, path)).await.problem(405, "wrong-method");
        }
    }
}

#[tokio::test]
async fn an_unknown_id_is_refused() {
    let (app, records) = ready().await;
    let mut checked = 0;
    for operation in operations().into_iter().filter(Operation::has_id) {
        checked += 1;
        let elsewhere =
            [records.job.as_str(), &records.book, &records.draft, &records.estimate, &records.plan];
        let usual = operation.path_for(&records);
        // An id of another kind of record, which begins otherwise.
        let kind = |id: &str| id.split_inclusive('_').next().unwrap().to_owned();
        let foreign = elsewhere.iter().find(|id| !usual.contains(&kind(id))).unwrap();
        for id in ["job_00000000000000000000000000", "x", "%20", "%27%3B--", "a%2Fb", "%E2%9C%93", foreign] {
            let mut ask = operation.working(&records).key(&app.key);
            ask.path = operation.path.replace("{id}", id).replace("{place}", "1");
            app.send(ask).await.problem(404, "not-found");
        }
        for id in ["%FF", "%C3%28", "job_%ED%A0%80"] {
            let mut ask = operation.working(&records).key(&app.key);
            ask.path = operation.path.replace("{id}", id).replace("{place}", "1");
            let problem = app.send(ask).await.problem(404, "not-found");
            assert_ne!(text(&problem, "detail"), "the request could not be understood", "{}", operation.id);
        }
    }
    assert!(checked >= 12, "only {checked} operations with an id");
}

/// Adds to the query of a request.
fn ask_more(ask: &mut Ask, query: &str) {
    ask.path.push(if ask.path.contains('?') { '&' } else { '?' });
    ask.path.push_str(query);
}

#[tokio::test]
async fn an_unknown_or_repeated_query_parameter_is_refused() {
    let (app, records) = ready().await;
    for operation in operations() {
        let mut ask = operation.working(&records).key(&app.key);
        ask_more(&mut ask, "statuss=x");
        let problem = app.send(ask).await.problem(400, "bad-query");
        assert_eq!(text(&problem["errors"][0], "parameter"), "statuss", "{}", operation.id);
        let known = operation.value["parameters"].as_array().into_iter().flatten();
        for parameter in known.filter(|p| p["in"] == "query") {
            let name = text(parameter, "name");
            let mut ask = operation.working(&records).key(&app.key);
            ask_more(&mut ask, &format!("{name}=true&{name}=true"));
            let problem = app.send(ask).await.problem(400, "bad-query");
            // A list may be sent in parts: what is wrong is the word.
            let is_list = parameter["schema"]["type"] == "array";
            let code = if is_list { "unknown_value" } else { "duplicate" };
            assert_eq!(text(&problem["errors"][0], "code"), code, "{} {name}", operation.id);
        }
        if operation.value["parameters"]
            .as_array()
            .into_iter()
            .flatten()
            .any(|p| p["name"] == "validate_only")
        {
            let mut ask = operation.working(&records).key(&app.key);
            ask_more(&mut ask, "validate_only=yes");
            app.send(ask).await.problem(400, "bad-query");
        }
    }
}

#[tokio::test]
async fn an_oversize_body_is_refused_with_and_without_its_length() {
    let mut large = 0;
    for (operation, chunked) in with_body().into_iter().flat_map(|o| [(o.clone(), false), (o, true)]) {
        // What fits is done, and may be doable only once.
        let app = TestApp::start_with(|c| c.body_limit = 256 * 1024).await;
        let records = Records::make(&app).await;
        // A price book or a list of prices may be ten times as large as others, and the document says which those are.
        let refused = text(&operation.value["responses"]["4XX"], "description");
        let limit = if refused.contains("413 the body has more than 10,485,760 bytes") {
            large += 1;
            2560 * 1024
        } else {
            assert!(refused.contains("413 the body has more than 1,048,576 bytes"), "{refused}");
            256 * 1024
        };
        // Padding keeps the body valid, so that its size alone decides.
        let mut body = String::from_utf8(operation.working(&records).body).unwrap();
        if body.is_empty() {
            body.push_str("{}");
        }
        let media = operation.media().unwrap();
        let at_limit = body.clone() + &" ".repeat(limit - body.len());
        assert_eq!(at_limit.len(), limit);
        for (sent, fits) in [(at_limit.clone(), true), (format!("{at_limit} "), false)] {
            let mut ask = operation.working(&records).typed(&media, sent).key(&app.key);
            if chunked {
                ask = ask.chunked();
            }
            let answer = app.send(ask).await;
            if fits {
                assert!(answer.status.is_success(), "{} {chunked}: {}", operation.id, answer.text());
            } else {
                answer.problem(413, "too-large");
            }
        }
    }
    assert!(large >= 8, "three of price books and one of their lists at least, each in two ways: {large}");
}

#[tokio::test]
async fn without_a_good_key_nothing_is_answered() {
    let (app, records) = ready().await;
    let revoked = app.key_with(Scope::ALL).await;
    let id = revoked.split('_').nth(1).unwrap().to_owned();
    assert!(rillcast::http::auth::revoke_key(&app.state.inner.store, &id).await.unwrap());
    let swapped = {
        let other = app.key_with(Scope::ALL).await;
        let (_, secret) = other.rsplit_once('_').unwrap_or_default();
        format!("rc_{}_{secret}", app.key.split('_').nth(1).unwrap())
    };
    let cut = app.key[..app.key.len() - 1].to_owned();
    for operation in operations() {
        let ask = || operation.working(&records);
        app.send(ask()).await.problem(401, "no-credential");
        let bad = ["garbage", "rc_", "rc__", "rc_x_y", "", &revoked, &swapped, &cut, "Bearer", "rc_\u{e9}_x"];
        for key in bad {
            app.send(ask().key(key)).await.problem(401, "bad-credential");
        }
        for scheme in ["Basic", "Token", "bearerx"] {
            let header = format!("{scheme} {}", app.key);
            app.send(ask().header("authorization", &header)).await.problem(401, "bad-credential");
        }
        for name in ["key", "token", "access_token", "api_key"] {
            let mut in_query = ask();
            in_query.path.push_str(&format!("?{name}={}", app.key));
            app.send(in_query).await.problem(401, "no-credential");
        }
    }
    // The scheme's name has no case (RFC 9110 section 11.1, from memory).
    app.send(Ask::get("/v1/jobs").header("authorization", &format!("bEARER {}", app.key))).await.ok(200);
    // Of two keys nobody can tell which is meant, in either order.
    for (first, second) in [(app.key.as_str(), "rc_x_y"), ("rc_x_y", &app.key), (&app.key, &app.key)] {
        let ask = Ask::get("/v1/jobs").key(first).line("authorization", &format!("Bearer {second}"));
        let problem = app.send(ask).await.problem(401, "bad-credential");
        assert!(text(&problem, "detail").contains("more than once"), "{problem}");
    }
}

#[tokio::test]
async fn a_revoked_key_that_was_in_use_stops() {
    let app = TestApp::start().await;
    let key = app.key_with(Scope::ALL).await;
    app.send(Ask::get("/v1/jobs").key(&key)).await.ok(200);
    let id = key.split('_').nth(1).unwrap();
    assert!(rillcast::http::auth::revoke_key(&app.state.inner.store, id).await.unwrap());
    // What was checked a moment ago is trusted for three seconds.
    tokio::time::sleep(std::time::Duration::from_millis(3200)).await;
    app.send(Ask::get("/v1/jobs").key(&key)).await.problem(401, "bad-credential");
}
