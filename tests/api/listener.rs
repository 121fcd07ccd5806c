//! Over a real socket: serving, and stopping without cutting anyone off.

use crate::app::TestApp;
use axum::Router;
use rillcast::app::serve;
use std::net::SocketAddr;
use std::time::{Duration, Instant};
use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _};
use tokio::net::{TcpListener, TcpSocket, TcpStream};
use tokio::sync::oneshot;

async fn exchange(address: SocketAddr, request: String) -> String {
    let mut stream = TcpStream::connect(address).await.unwrap();
    stream.write_all(request.as_bytes()).await.unwrap();
    let mut answer = Vec::new();
    stream.read_to_end(&mut answer).await.unwrap();
    String::from_utf8_lossy(&answer).into_owned()
}

fn request(app_key: &str, line: &str, body: &str) -> String {
    format!(
        "{line} HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\nAuthorization: Bearer {app_key}\r\n\
         Content-Type: application/json\r\nContent-Length: {}\r\n\r\n{body}",
        body.len()
    )
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_real_socket_serves_and_stops_in_order() {
    let app = TestApp::start().await;
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let address = listener.local_addr().unwrap();
    let (stop, stopped) = oneshot::channel::<()>();
    let served = tokio::spawn(serve(app.state.clone(), listener, async {
        let _ = stopped.await;
    }));

    rillcast::health::check(address).await.unwrap();
    let answer = exchange(address, request(&app.key, "GET /v1/rules", "")).await;
    assert!(answer.starts_with("HTTP/1.1 200 OK\r\n"), "{answer}");
    let path = format!("POST /v1/jobs/{}/estimates", app.job);
    let answer = exchange(address, request(&app.key, &path, "")).await;
    assert!(answer.starts_with("HTTP/1.1 201 Created\r\n"), "{answer}");
    for (sent, status) in [
        (request("rc_x_y", "GET /v1/rules", ""), "401"),
        (request(&app.key, "POST /v1/calculators/concrete-order", "{"), "400"),
        (request(&app.key, "BREW /v1/jobs", ""), "405"),
        (
            format!(
                "POST /v1/jobs HTTP/1.1\r\nHost: x\r\nConnection: close\r\nAuthorization: Bearer {}\r\n\
                 Content-Type: application/json\r\nContent-Length: 99999999\r\n\r\n{{}}",
                app.key
            ),
            "413",
        ),
    ] {
        let answer = exchange(address, sent).await;
        assert!(answer.starts_with(&format!("HTTP/1.1 {status} ")), "{answer}");
        assert!(answer.to_lowercase().contains("content-type: application/problem+json"), "{answer}");
    }

    // A request whose body is still on its way when the stop comes is answered.
    let body = r#"{"volume": "2.1 yd3"}"#;
    let whole = request(&app.key, "POST /v1/calculators/concrete-order", body);
    let (head, tail) = whole.split_at(whole.len() - 5);
    let mut late = TcpStream::connect(address).await.unwrap();
    late.write_all(head.as_bytes()).await.unwrap();
    tokio::time::sleep(Duration::from_millis(150)).await;
    stop.send(()).unwrap();
    tokio::time::sleep(Duration::from_millis(150)).await;
    assert!(!served.is_finished(), "the service left a request unanswered");
    late.write_all(tail.as_bytes()).await.unwrap();
    let mut answer = Vec::new();
    late.read_to_end(&mut answer).await.unwrap();
    assert!(answer.starts_with(b"HTTP/1.1 200 OK"), "{}", String::from_utf8_lossy(&answer));

    tokio::time::timeout(Duration::from_secs(5), served).await.unwrap().unwrap();
    assert!(TcpStream::connect(address).await.is_err(), "still listening");
    assert!(rillcast::health::check(address).await.is_err());
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_never_becomes_a_request_is_refused_with_a_problem() {
    let app = TestApp::start().await;
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let address = listener.local_addr().unwrap();
    let served = tokio::spawn(serve(app.state.clone(), listener, std::future::pending()));
    let head = |line: &str, headers: &str| format!("{line} HTTP/1.1\r\nHost: localhost\r\n{headers}\r\n");
    let many: String = (0..120).map(|n| format!("X-{n}: a\r\n")).collect();
    for (sent, status, slug) in [
        ("what is this\r\n\r\n".to_owned(), "400 Bad Request", "not-http"),
        (head("GET /livez", "no colon\r\n"), "400 Bad Request", "not-http"),
        (head("POST /v1/jobs", "Content-Length: some\r\n"), "400 Bad Request", "not-http"),
        (head(&format!("GET /{}", "a".repeat(70_000)), ""), "414 URI Too Long", "address-too-long"),
        ("GET /livez HTTP/1.1\r\nConnection: close\r\n\r\n".to_owned(), "400 Bad Request", "not-http"),
        (head("GET /livez", "Host: other\r\nConnection: close\r\n"), "400 Bad Request", "not-http"),
        (head("GET /livez", &many), "431 Request Header Fields Too Large", "headers-too-large"),
        // after another request of the same connection
        (format!("{WHOLE}what is this\r\n\r\n"), "400 Bad Request", "not-http"),
    ] {
        let answers = exchange(address, sent).await;
        let start = answers.find(&format!("HTTP/1.1 {status}\r\n")).unwrap_or_else(|| panic!("{answers}"));
        let (head, body) = answers[start..].split_once("\r\n\r\n").unwrap();
        for header in [
            "connection: close",
            "content-type: application/problem+json",
            "cache-control: no-store",
            "x-content-type-options: nosniff",
            &format!("content-length: {}", body.len()),
        ] {
            assert_eq!(head.lines().filter(|line| *line == header).count(), 1, "{header} of {head}");
        }
        let problem: serde_json::Value = serde_json::from_str(body).unwrap();
        assert_eq!(problem["type"], format!("/problems/{slug}"));
        assert_eq!(problem["instance"].as_str().unwrap().len(), "/requests/".len() + 32);
        let kind = exchange(address, head_of(&format!("GET /problems/{slug}"))).await;
        assert!(kind.starts_with("HTTP/1.1 200 OK\r\n"), "{kind}");
    }
    served.abort();
}

/// A request that closes the connection behind it.
fn head_of(line: &str) -> String {
    format!("{line} HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n")
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_client_that_never_finishes_does_not_hold_up_the_stop() {
    let app = TestApp::start_serving(|c| c.drain = Duration::from_millis(300), Router::new()).await;
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let address = listener.local_addr().unwrap();
    let (stop, stopped) = oneshot::channel::<()>();
    let served = tokio::spawn(serve(app.state.clone(), listener, async {
        let _ = stopped.await;
    }));
    let mut stuck = TcpStream::connect(address).await.unwrap();
    let whole = request(&app.key, "POST /v1/calculators/concrete-order", r#"{"volume": "2.1 yd3"}"#);
    stuck.write_all(&whole.as_bytes()[..whole.len() - 3]).await.unwrap();
    tokio::time::sleep(Duration::from_millis(100)).await;
    stop.send(()).unwrap();
    tokio::time::timeout(Duration::from_secs(5), served).await.unwrap().unwrap();
}

const WHOLE: &str = "GET /livez HTTP/1.1\r\nHost: localhost\r\n\r\n";

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_connection_without_the_head_of_a_request_is_closed_at_the_deadline() {
    let limit = Duration::from_millis(500);
    let app = TestApp::start_serving(|c| c.deadline = limit, Router::new()).await;
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let address = listener.local_addr().unwrap();
    let (stop, stopped) = oneshot::channel::<()>();
    let served = tokio::spawn(serve(app.state.clone(), listener, async {
        let _ = stopped.await;
    }));
    // Nothing, half a line, half a head, and after an answer nothing more.
    for (sent, status) in [
        ("", None),
        ("GET /liv", None),
        ("GET /livez HTTP/1.1\r\nHost: localhost\r\n", None),
        (WHOLE, Some("HTTP/1.1 200 OK\r\n")),
    ] {
        let mut stream = TcpStream::connect(address).await.unwrap();
        let started = Instant::now();
        stream.write_all(sent.as_bytes()).await.unwrap();
        let mut answer = Vec::new();
        let closed = tokio::time::timeout(20 * limit, stream.read_to_end(&mut answer)).await;
        closed.unwrap_or_else(|_| panic!("{sent:?}: still open")).unwrap();
        assert!(started.elapsed() >= limit.mul_f64(0.9), "{sent:?}: closed after {:?}", started.elapsed());
        let answer = String::from_utf8(answer).unwrap();
        match status {
            Some(status) => assert!(answer.starts_with(status), "{answer}"),
            None => assert_eq!(answer, "", "{sent:?}"),
        }
    }
    // A head that comes byte by byte has no longer.
    let (mut read, mut write) = TcpStream::connect(address).await.unwrap().into_split();
    let trickle = tokio::spawn(async move {
        for byte in b"GET /livez HTTP/1.1\r\nHost: ".iter().chain(std::iter::repeat(&b'a')) {
            tokio::time::sleep(Duration::from_millis(20)).await;
            if write.write_all(&[*byte]).await.is_err() {
                break;
            }
        }
    });
    let mut answer = Vec::new();
    let closed = tokio::time::timeout(20 * limit, read.read_to_end(&mut answer)).await;
    assert!(closed.is_ok() && answer.is_empty(), "{closed:?} {}", String::from_utf8_lossy(&answer));
    trickle.abort();
    // Whoever goes on asking keeps the connection for longer than that.
    let mut stream = TcpStream::connect(address).await.unwrap();
    let started = Instant::now();
    while started.elapsed() < 2 * limit {
        stream.write_all(WHOLE.as_bytes()).await.unwrap();
        let mut answer = [0; 1024];
        let length = stream.read(&mut answer).await.unwrap();
        assert!(answer[..length].starts_with(b"HTTP/1.1 200 OK\r\n"), "after {:?}", started.elapsed());
        tokio::time::sleep(limit / 5).await;
    }
    stop.send(()).unwrap();
    tokio::time::timeout(Duration::from_secs(5), served).await.unwrap().unwrap();
}

/// Its client is told that it was slow and that nothing was done, not that something may have been written.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_body_that_does_not_come_is_told_of_at_the_deadline() {
    let app = TestApp::start_serving(|c| c.deadline = Duration::from_millis(300), Router::new()).await;
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let address = listener.local_addr().unwrap();
    let (stop, stopped) = oneshot::channel::<()>();
    let served = tokio::spawn(serve(app.state.clone(), listener, async {
        let _ = stopped.await;
    }));
    // One that is read, one that nobody reads.
    for line in ["POST /v1/jobs", "POST /v1/price-book-versions/x/check"] {
        let whole = request(&app.key, line, r#"{"customer": {"name": "Example Household"}}"#);
        let whole = whole.replace("Connection: close\r\n", "");
        let mut stream = TcpStream::connect(address).await.unwrap();
        stream.write_all(&whole.as_bytes()[..whole.len() - 20]).await.unwrap();
        let mut answer = Vec::new();
        let closed = tokio::time::timeout(Duration::from_secs(10), stream.read_to_end(&mut answer)).await;
        closed.unwrap_or_else(|_| panic!("{line}: still open")).unwrap();
        let answer = String::from_utf8(answer).unwrap();
        assert!(answer.starts_with("HTTP/1.1 408 "), "{line}: {answer}");
        assert!(answer.contains("/problems/body-too-slow") && !answer.contains("retry-after"), "{answer}");
    }
    stop.send(()).unwrap();
    tokio::time::timeout(Duration::from_secs(5), served).await.unwrap().unwrap();
}

/// How often the longest text that is served is asked for: more than the two ends hold of it by themselves.
const TIMES: usize = 20;

/// A connection with little room for what it has not read, after it has asked for all of that.
async fn asking_for_much(address: SocketAddr) -> TcpStream {
    let socket = TcpSocket::new_v4().unwrap();
    socket.set_recv_buffer_size(64 * 1024).unwrap();
    let mut stream = socket.connect(address).await.unwrap();
    let ask = "GET /openapi.json HTTP/1.1\r\nHost: localhost\r\n\r\n".repeat(TIMES - 1);
    stream.write_all((ask + &head_of("GET /openapi.json")).as_bytes()).await.unwrap();
    stream
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_client_that_does_not_take_its_answer_is_given_up() {
    let limit = Duration::from_secs(1);
    let app = TestApp::start_serving(|c| c.deadline = limit, Router::new()).await;
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let address = listener.local_addr().unwrap();
    let served = tokio::spawn(serve(app.state.clone(), listener, std::future::pending()));
    let whole = TIMES * rillcast::http::openapi::text().len();

    let mut idle = asking_for_much(address).await;
    // Meanwhile one that goes on reading gets all of it, though that takes longer.
    let mut slow = asking_for_much(address).await;
    let (mut taken, started, mut part) = (0, Instant::now(), vec![0; 48 * 1024]);
    loop {
        tokio::time::sleep(Duration::from_millis(5)).await;
        match slow.read(&mut part).await.unwrap() {
            0 => break,
            length => taken += length,
        }
    }
    assert!(taken > whole, "{taken} bytes of head and {whole}");
    assert!(started.elapsed() > limit, "all of it went at once");
    tokio::time::sleep(limit).await;
    let mut arrived = Vec::new();
    // The end, or the word that the connection is no more.
    let _ = tokio::time::timeout(Duration::from_secs(5), idle.read_to_end(&mut arrived)).await.unwrap();
    assert!(arrived.starts_with(b"HTTP/1.1 200 OK\r\n"));
    assert!(arrived.len() < whole, "all {} bytes were kept for it", arrived.len());
    served.abort();
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn connections_beyond_those_at_once_wait_for_their_turn() {
    let app = TestApp::start_serving(|c| c.connections = 2, Router::new()).await;
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let address = listener.local_addr().unwrap();
    let (stop, stopped) = oneshot::channel::<()>();
    let served = tokio::spawn(serve(app.state.clone(), listener, async {
        let _ = stopped.await;
    }));
    let mut answer = [0; 1024];
    let mut held = Vec::new();
    for _ in 0..2 {
        let mut stream = TcpStream::connect(address).await.unwrap();
        stream.write_all(WHOLE.as_bytes()).await.unwrap();
        let length = stream.read(&mut answer).await.unwrap();
        assert!(answer[..length].starts_with(b"HTTP/1.1 200 OK\r\n"));
        held.push(stream);
    }
    let mut third = TcpStream::connect(address).await.unwrap();
    third.write_all(WHOLE.as_bytes()).await.unwrap();
    let waited = tokio::time::timeout(Duration::from_millis(300), third.read(&mut answer)).await;
    assert!(waited.is_err(), "a third connection was answered");
    held.pop();
    let length =
        tokio::time::timeout(Duration::from_secs(5), third.read(&mut answer)).await.unwrap().unwrap();
    assert!(answer[..length].starts_with(b"HTTP/1.1 200 OK\r\n"));
    // A full house stops in order too.
    stop.send(()).unwrap();
    tokio::time::timeout(Duration::from_secs(5), served).await.unwrap().unwrap();
}
