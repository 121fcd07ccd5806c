//! Requests per second of the calculators against a bare axum echo of the same bodies, over loopback, interleaved.
//!
//! `cargo bench --bench serve`. The echo is axum's own `Json` extractor and answer: it reads the request and writes a ready
//! value of the same bytes as our answer, without key, quota, log, limits or any computing. Both run in this process on the
//! same runtime and allocator; five rounds of one second each, the median ratio is printed.

#![allow(missing_docs, clippy::unwrap_used, clippy::print_stdout, reason = "benchmark")]

use axum::routing::post;
use axum::{Json, Router};
use rillcast::app::AppState;
use rillcast::config::Config;
use rillcast::domain::demo::NOTES;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::{Duration, Instant};
use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _};
use tokio::net::{TcpListener, TcpStream};

#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

const CONNECTIONS: usize = 16;
const ROUNDS: usize = 5;

async fn exchange(stream: &mut TcpStream, request: &[u8], buffer: &mut Vec<u8>) -> Vec<u8> {
    stream.write_all(request).await.unwrap();
    buffer.clear();
    loop {
        let mut chunk = [0_u8; 65_536];
        let read = stream.read(&mut chunk).await.unwrap();
        assert!(read > 0, "the server closed the connection");
        buffer.extend_from_slice(&chunk[..read]);
        if let Some(end) = buffer.windows(4).position(|w| w == b"\r\n\r\n") {
            let head = String::from_utf8_lossy(&buffer[..end]).to_ascii_lowercase();
            let length: usize = head
                .lines()
                .find_map(|l| l.strip_prefix("content-length: "))
                .unwrap()
                .trim()
                .parse()
                .unwrap();
            if buffer.len() >= end + 4 + length {
                assert!(head.starts_with("http/1.1 200"), "{head}");
                return buffer[end + 4..end + 4 + length].to_vec();
            }
        }
    }
}

async fn rate(address: std::net::SocketAddr, request: &[u8]) -> f64 {
    let count = Arc::new(AtomicU64::new(0));
    let started = Instant::now();
    let mut tasks = Vec::new();
    for _ in 0..CONNECTIONS {
        let (request, count) = (request.to_vec(), Arc::clone(&count));
        tasks.push(tokio::spawn(async move {
            let mut stream = TcpStream::connect(address).await.unwrap();
            stream.set_nodelay(true).unwrap();
            let mut buffer = Vec::new();
            while started.elapsed() < Duration::from_secs(1) {
                exchange(&mut stream, &request, &mut buffer).await;
                count.fetch_add(1, Ordering::Relaxed);
            }
        }));
    }
    for task in tasks {
        task.await.unwrap();
    }
    count.load(Ordering::Relaxed) as f64 / started.elapsed().as_secs_f64()
}

/// The demo job without its storm: the quantities, hours and price alone.
fn dry() -> String {
    let mut notes: serde_json::Value = serde_json::from_str(NOTES).unwrap();
    for gone in ["storm", "catchments"] {
        notes.as_object_mut().unwrap().remove(gone);
    }
    notes.to_string()
}

#[tokio::main]
async fn main() {
    let folder = tempfile::tempdir().unwrap();
    let config = Config {
        database: folder.path().join("bench.sqlite"),
        requests_per_minute: 0,
        log: "off".to_owned(),
        ..Config::default()
    };
    let state = AppState::open(config).await.unwrap();
    let loaded = rillcast::demo::load(&state).await.unwrap();
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let ours = listener.local_addr().unwrap();
    tokio::spawn(rillcast::app::serve(state, listener, std::future::pending()));
    for (name, path, body) in [
        (
            "estimate of the demo job, water apart",
            "/v1/calculators/estimate",
            format!("{{\"notes\":{}}}", dry()),
        ),
        ("estimate of the demo job", "/v1/calculators/estimate", format!("{{\"notes\":{NOTES}}}")),
        ("layout of one run", "/v1/calculators/layout-quantities", "{\"length\":\"41 ft 6 in\"}".to_owned()),
        ("concrete for a volume", "/v1/calculators/concrete-order", "{\"volume\":\"2.1 yd3\"}".to_owned()),
    ] {
        let request = |path: &str| {
            format!(
                "POST {path} HTTP/1.1\r\nHost: bench\r\nAuthorization: Bearer {}\r\nContent-Type: application/json\r\n\
                 Content-Length: {}\r\n\r\n{body}",
                loaded.key,
                body.len()
            )
            .into_bytes()
        };
        let mut stream = TcpStream::connect(ours).await.unwrap();
        let answer = exchange(&mut stream, &request(path), &mut Vec::new()).await;
        let value: Arc<serde_json::Value> = Arc::new(serde_json::from_slice(&answer).unwrap());
        let echo = Router::new().route(
            "/echo",
            post(move |Json(request): Json<serde_json::Value>| {
                std::hint::black_box(request);
                let value = Arc::clone(&value);
                async move { Json(value) }
            }),
        );
        let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
        let bare = listener.local_addr().unwrap();
        let server = tokio::spawn(async move { axum::serve(listener, echo).await });
        let mut ratios = Vec::new();
        let (mut last_ours, mut last_bare) = (0.0, 0.0);
        for _ in 0..ROUNDS {
            last_bare = rate(bare, &request("/echo")).await;
            last_ours = rate(ours, &request(path)).await;
            ratios.push(last_ours / last_bare);
        }
        ratios.sort_by(f64::total_cmp);
        println!(
            "{name}: {} B in, {} B out; {last_ours:.0}/s against {last_bare:.0}/s of the echo; median ratio {:.2}",
            body.len(),
            answer.len(),
            ratios[ROUNDS / 2]
        );
        server.abort();
    }
}
