//! How much work an estimate is, against the JSON work alone.
//!
//! `cargo bench --bench estimate`

#![allow(missing_docs, clippy::unwrap_used, reason = "benchmark")]

use criterion::{Criterion, criterion_group, criterion_main};
use rillcast::compute::pipeline;
use rillcast::domain::book::{BookRef, PriceBook};
use rillcast::domain::demo::{BOOK, NOTES};
use rillcast::wire::notes::SiteNotes;
use rillcast::wire::{read_document, read_value};
use serde_json::{Value, json};
use std::borrow::Cow;
use std::hint::black_box;

#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

/// Ten runs and four lines, made from the demo job.
fn large() -> Value {
    let demo: Value = serde_json::from_str(NOTES).unwrap();
    let mut runs = Vec::new();
    let mut lines = Vec::new();
    for i in 0..10 {
        let mut run = demo["runs"][i % 2].clone();
        run["id"] = json!(format!("run-{i}"));
        run["outlets"][0]["id"] = json!(format!("out-{i}"));
        runs.push(run);
    }
    for i in 0..4 {
        let mut line = demo["drain_lines"][0].clone();
        line["id"] = json!(format!("line-{i}"));
        line["from"] = json!([{"outlet": format!("out-{}", 2 * i)}]);
        lines.push(line);
    }
    json!({"climate": "hot", "soil": "clay", "runs": runs, "drain_lines": lines})
}

fn benches(c: &mut Criterion) {
    let book = PriceBook::check(read_document(BOOK.as_bytes()).unwrap()).unwrap();
    let used = BookRef { version_id: "v".to_owned(), name: "demo".to_owned(), number: 1 };
    let rains = rillcast::domain::demo::rains().unwrap();
    for (name, text) in [("demo job", NOTES.to_owned()), ("10 runs, 4 lines", large().to_string())] {
        let notes: SiteNotes = read_value(&serde_json::from_str(&text).unwrap()).unwrap();
        let estimate = pipeline::estimate(&notes, &book, &used, &rains).unwrap();
        let answer = serde_json::to_vec(&estimate).unwrap();
        let value: Value = serde_json::from_slice(&answer).unwrap();
        let mut group = c.benchmark_group(name);
        group.bench_function("compute", |b| {
            b.iter(|| pipeline::estimate(black_box(&notes), &book, &used, &rains).unwrap())
        });
        let request: Value = serde_json::from_str(&text).unwrap();
        let request = read_value(&json!({ "notes": request })).unwrap();
        group.bench_function("layout quantities alone", |b| {
            b.iter(|| pipeline::layout(black_box(&request), &book, &used, &rains).unwrap());
        });
        group.bench_function("read, compute, write", |b| {
            b.iter(|| {
                let notes: SiteNotes = read_document(black_box(text.as_bytes())).unwrap();
                serde_json::to_vec(&pipeline::estimate(&notes, &book, &used, &rains).unwrap()).unwrap()
            });
        });
        group.bench_function("read alone", |b| {
            b.iter(|| read_document::<SiteNotes>(black_box(text.as_bytes())).unwrap());
        });
        group.bench_function("write alone", |b| b.iter(|| serde_json::to_vec(black_box(&estimate)).unwrap()));
        group.bench_function("JSON alone: read request, write answer", |b| {
            b.iter(|| {
                let request: Value = serde_json::from_slice(black_box(text.as_bytes())).unwrap();
                black_box(request);
                serde_json::to_vec(black_box(&value)).unwrap()
            });
        });
        group.finish();
    }
}

/// Choosing for ten runs among ten systems, of which most are too small.
fn choosing(c: &mut Criterion) {
    let mut doc: Value = serde_json::from_str(BOOK).unwrap();
    let model = doc["channel_systems"]
        .as_array()
        .unwrap()
        .iter()
        .find(|s| s["code"] == "channel-6-u")
        .unwrap()
        .clone();
    let systems: Vec<Value> = (0..10)
        .map(|i| {
            let mut system = model.clone();
            system["code"] = json!(format!("channel-{i}"));
            system["section"]["inside_width"] = json!(format!("{} mm", 100 + 10 * i));
            system["section"]["water_depth"] = json!(format!("{} mm", 60 + 12 * i));
            system["section"]["overall_height"] = json!(format!("{} mm", 90 + 12 * i));
            system["section"]["overall_width"] = json!(format!("{} mm", 140 + 10 * i));
            system
        })
        .collect();
    doc["channel_systems"] = json!(systems);
    doc["water_rules"] = json!({"preference": "smallest"});
    // Ten widths of one item would not be published today; choosing among them is the same work.
    let book = PriceBook::published(read_value(&doc).unwrap());
    let used = BookRef { version_id: "v".to_owned(), name: "ten".to_owned(), number: 1 };
    let rains = rillcast::domain::demo::rains().unwrap();
    let runs: Vec<Value> = (0..10)
        .map(|i| {
            json!({"id": format!("run-{i}"), "legs": [{"length": format!("{} ft", 20 + 4 * i)}], "crossing": "wheels",
                "outlets": [{"kind": "end", "id": format!("out-{i}"), "at": "finish"}]})
        })
        .collect();
    let catchments: Vec<Value> = (0..10)
        .map(|i| {
            json!({"id": format!("area-{i}"), "surfaces": [{"cover": "concrete", "area": format!("{} ft2", 400 + 150 * i)}],
                "reaches": [{"run": format!("run-{i}")}]})
        })
        .collect();
    let request = json!({"notes": {"runs": runs, "catchments": catchments,
        "storm": {"return_period_years": 10, "rain": {"kind": "table", "table": "demo-valley"}}}});
    let request = read_value(&request).unwrap();
    let found = pipeline::flow(&request, &book, &used, &rains).unwrap();
    assert_eq!(found.water.chosen.len(), 10);
    let passed_over: usize = found.water.chosen.iter().map(|c| c.passed_over.len()).sum();
    assert!(passed_over > 10, "only {passed_over} candidates were too small");
    let rillcast::wire::calc::FlowRequest { notes, .. } = &request;
    c.bench_function("choose among ten systems for ten runs", |b| {
        b.iter(|| {
            rillcast::compute::drainage::choose::fill(Cow::Borrowed(black_box(notes)), &book, &rains).unwrap()
        });
    });
}

/// A length alone, as in a one-line call.
fn one_run(c: &mut Criterion) {
    let book = PriceBook::check(read_document(BOOK.as_bytes()).unwrap()).unwrap();
    let used = BookRef { version_id: "v".to_owned(), name: "demo".to_owned(), number: 1 };
    let rains = rillcast::domain::demo::rains().unwrap();
    let request = read_value(&json!({"length": "41 ft 6 in"})).unwrap();
    c.bench_function("layout of one run", |b| {
        b.iter(|| pipeline::layout(black_box(&request), &book, &used, &rains).unwrap());
    });
}

criterion_group!(all, benches, one_run, choosing);
criterion_main!(all);
