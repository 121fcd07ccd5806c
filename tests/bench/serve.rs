//! Requests per second of the calculators against a bare axum echo of the same bodies, over loopback, interleaved.
//!
//! `cargo bench --bench serve`. All servers are processes of their own: ours is the binary as it is shipped, the echo a plain
//! axum program (its own `Json` extractor and answer, the system's allocator) without key, quota, log, limits or any computing.
//! It reads the request and writes an answer of the same bytes as ours, in two ways: `built` puts its answer together anew
//! for each request, as every handler must whose answer is not a constant (here by copying the typed answer, computed once
//! before), and writes it; `ready` writes one value again and again, the least a server can do that writes JSON at all. Five rounds
//! of one second each; the median ratios are printed, and what one answer takes of processor time in either process where the
//! system tells. Rows of one supplier are answered from a version of the demo book without the offers of further suppliers: every
//! item is bought at its own price, and no suppliers are compared.

#![allow(missing_docs, clippy::unwrap_used, clippy::print_stdout, reason = "benchmark")]

use axum::routing::post;
use axum::{Json, Router};
use rillcast::compute::{order_concrete, pipeline};
use rillcast::domain::book::{BookRef, PriceBook};
use rillcast::domain::demo::{BOOK, NOTES, rains};
use rillcast::wire::calc::EstimateRequest;
use rillcast::wire::read_document;
use serde::Serialize;
use serde_json::Value;
use std::io::{BufRead as _, BufReader};
use std::net::SocketAddr;
use std::process::{Child, ChildStdout, Command, Stdio};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::{Duration, Instant};
use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _};
use tokio::net::{TcpListener, TcpStream};

const CONNECTIONS: usize = 16;
const ROUNDS: usize = 5;
/// Names the calculator to the process that is an echo.
const ECHO: &str = "RILLCAST_BENCH_ECHO";
/// Hands it the price book.
const USED_BOOK: &str = "RILLCAST_BENCH_BOOK";
/// Hands it the request whose answer it gives.
const REQUEST: &str = "RILLCAST_BENCH_REQUEST";

/// A server in a process of its own, stopped when dropped.
struct Server {
    process: Child,
    said: BufReader<ChildStdout>,
}

impl Server {
    fn start(command: &mut Command) -> Self {
        let mut process = command.stdout(Stdio::piped()).spawn().unwrap();
        let said = BufReader::new(process.stdout.take().unwrap());
        Self { process, said }
    }

    /// The first word after `mark` in what it prints.
    fn word_after(&mut self, mark: &str) -> String {
        loop {
            let mut line = String::new();
            assert!(self.said.read_line(&mut line).unwrap() > 0, "the server ended before it said `{mark}`");
            if let Some((_, rest)) = line.split_once(mark) {
                return rest.split([' ', '\'', '\n']).next().unwrap_or("").to_owned();
            }
        }
    }

    /// Processor time taken so far, in hundredths of a second.
    fn ticks(&self) -> Option<u64> {
        let stat = std::fs::read_to_string(format!("/proc/{}/stat", self.process.id())).ok()?;
        let (_, fields) = stat.rsplit_once(") ")?;
        let field = |n: usize| fields.split(' ').nth(n)?.parse::<u64>().ok();
        Some(field(11)? + field(12)?)
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

/// The bare echo of an answer: what this program is when [`ECHO`] names a calculator.
async fn echo(answer: impl Serialize + Clone + Send + Sync + 'static) {
    let ready: Arc<Value> = Arc::new(serde_json::to_value(&answer).unwrap());
    let answer = Arc::new(answer);
    let echo = Router::new()
        .route(
            "/ready",
            post(move |Json(request): Json<Value>| {
                std::hint::black_box(request);
                let ready = Arc::clone(&ready);
                async move { Json(ready) }
            }),
        )
        .route(
            "/built",
            post(move |Json(request): Json<Value>| {
                std::hint::black_box(request);
                let built = Arc::unwrap_or_clone(Arc::clone(&answer));
                async move { Json(built) }
            }),
        );
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    println!("echo on {} ", listener.local_addr().unwrap());
    axum::serve(listener, echo).await.unwrap();
}

/// The demo book without the offers of suppliers.
fn one_supplier() -> String {
    let mut book: Value = serde_json::from_str(BOOK).unwrap();
    book.as_object_mut().unwrap().remove("offers").unwrap();
    book.to_string()
}

/// The answer of a calculator to a request, from the book.
async fn echo_of(calculator: &str, book: &str, request: &[u8]) {
    let book = PriceBook::check(read_document(book.as_bytes()).unwrap()).unwrap();
    let used = BookRef {
        version_id: "pbv_".to_owned() + &"0".repeat(26),
        name: "Demo price book".to_owned(),
        number: 1,
    };
    let rains = rains().unwrap();
    match calculator {
        "estimate" => {
            let EstimateRequest { notes, .. } = read_document(request).unwrap();
            echo(pipeline::estimate(&notes, &book, &used, &rains).unwrap()).await;
        }
        "layout-quantities" => {
            echo(pipeline::layout(&read_document(request).unwrap(), &book, &used, &rains).unwrap()).await;
        }
        "labor-hours" => {
            echo(pipeline::labor(&read_document(request).unwrap(), &book, &used, &rains).unwrap()).await;
        }
        _ => {
            echo(order_concrete::concrete(&read_document(request).unwrap(), &book, &used, &rains).unwrap())
                .await;
        }
    }
}

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
                assert!(head.starts_with("http/1.1 20"), "{head}");
                return buffer[end + 4..end + 4 + length].to_vec();
            }
        }
    }
}

async fn rate(address: SocketAddr, request: &[u8]) -> f64 {
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

/// A round against one server: answers a second, and hundredths of a second of processor time for one answer.
async fn round(server: &Server, address: SocketAddr, request: &[u8]) -> (f64, Option<f64>) {
    let (before, started) = (server.ticks(), Instant::now());
    let rate = rate(address, request).await;
    let answers = rate * started.elapsed().as_secs_f64();
    let taken = before.zip(server.ticks()).map(|(before, after)| (after - before) as f64 / answers);
    (rate, taken)
}

fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied().unwrap_or(f64::NAN)
}

/// A request of one of our routes.
fn asking(key: &str, path: &str, headers: &str, body: &str) -> Vec<u8> {
    format!(
        "POST {path} HTTP/1.1\r\nHost: bench\r\nAuthorization: Bearer {key}\r\nContent-Type: application/json\r\n{headers}\
         Content-Length: {}\r\n\r\n{body}",
        body.len()
    )
    .into_bytes()
}

/// Makes this book the current one.
async fn publish(address: SocketAddr, key: &str, book: &str) {
    let mut stream = TcpStream::connect(address).await.unwrap();
    let new = asking(key, "/v1/price-books", "", &format!("{{\"document\":{book}}}"));
    let made: Value = serde_json::from_slice(&exchange(&mut stream, &new, &mut Vec::new()).await).unwrap();
    let version = made["versions"][0]["id"].as_str().unwrap();
    let path = format!("/v1/price-book-versions/{version}/publish");
    exchange(&mut stream, &asking(key, &path, "If-Match: *\r\n", "{}"), &mut Vec::new()).await;
}

/// Our calculator against the echo of its answer.
async fn compare(
    name: &str,
    ours: &Server,
    address: SocketAddr,
    key: &str,
    calculator: &str,
    book: &str,
    body: &str,
) {
    let request = |path: &str| asking(key, path, "", body);
    let mut stream = TcpStream::connect(address).await.unwrap();
    let path = format!("/v1/calculators/{calculator}");
    let answer = exchange(&mut stream, &request(&path), &mut Vec::new()).await;
    let echo = Command::new(std::env::current_exe().unwrap());
    let mut bare = Server::start({ echo }.env(ECHO, calculator).env(USED_BOOK, book).env(REQUEST, body));
    let echo: SocketAddr = bare.word_after("echo on ").parse().unwrap();
    println!("{name}: {} B in, {} B out", body.len(), answer.len());
    for way in ["/built", "/ready"] {
        let mut stream = TcpStream::connect(echo).await.unwrap();
        let same = exchange(&mut stream, &request(way), &mut Vec::new()).await;
        assert_eq!(same.len(), answer.len(), "an answer of as many bytes");
        let (mut ratios, mut shares) = (Vec::new(), Vec::new());
        let (mut last_ours, mut last_bare) = (0.0, 0.0);
        for _ in 0..ROUNDS {
            let (bare_rate, bare_taken) = round(&bare, echo, &request(way)).await;
            let (our_rate, our_taken) = round(ours, address, &request(&path)).await;
            ratios.push(our_rate / bare_rate);
            shares.extend(bare_taken.zip(our_taken).map(|(bare, ours)| bare / ours));
            (last_ours, last_bare) = (our_rate, bare_rate);
        }
        println!(
            "  {last_ours:.0}/s against {last_bare:.0}/s of the echo {way}: median ratio {:.2}, by processor time {:.2}",
            median(ratios),
            median(shares)
        );
    }
}

#[tokio::main]
async fn main() {
    if let Ok(calculator) = std::env::var(ECHO) {
        let said = |name| std::env::var(name).unwrap();
        return echo_of(&calculator, &said(USED_BOOK), said(REQUEST).as_bytes()).await;
    }
    let folder = tempfile::tempdir().unwrap();
    let mut ours = Server::start(
        Command::new(env!("CARGO_BIN_EXE_rillcast"))
            .args(["demo", "--port", "0", "--database"])
            .arg(folder.path().join("bench.sqlite"))
            .env("RILLCAST_REQUESTS_PER_MINUTE", "0"),
    );
    let address: SocketAddr = ours.word_after("http://").parse().unwrap();
    let key = ours.word_after("Bearer ");
    let (dry, wet) = (format!("{{\"notes\":{}}}", dry()), format!("{{\"notes\":{NOTES}}}"));
    let (length, volume) = ("{\"length\":\"41 ft 6 in\"}", "{\"volume\":\"2.1 yd3\"}");
    let dig =
        "{\"quantities\":[{\"measure\":\"run_excavation\",\"quantity\":\"3.2 yd3\"}],\"soil\":\"clay\"}";
    for (name, calculator, body) in [
        ("estimate of the demo job, water apart", "estimate", dry.as_str()),
        ("estimate of the demo job", "estimate", &wet),
        ("layout of one run", "layout-quantities", length),
        ("hours of a quantity", "labor-hours", dig),
        ("concrete for a volume", "concrete-order", volume),
    ] {
        compare(name, &ours, address, &key, calculator, BOOK, body).await;
    }
    let book = one_supplier();
    publish(address, &key, &book).await;
    for (name, calculator, body) in [
        ("estimate of the demo job, water apart, one supplier", "estimate", dry.as_str()),
        ("layout of one run, one supplier", "layout-quantities", length),
    ] {
        compare(name, &ours, address, &key, calculator, &book, body).await;
    }
}
