//! Speed of the water computation.
//!
//! `cargo bench --bench water`

#![allow(missing_docs, clippy::expect_used, reason = "benchmark")]

use criterion::{Criterion, criterion_group, criterion_main};
use rillcast::compute::drainage;
use rillcast::compute::takeoff::levels;
use rillcast::compute::water::intake::{FloorOpening, Opening};
use rillcast::compute::water::run::{Leg, Outlet, Run, RunInput};
use rillcast::compute::water::section::{OpenSection, Rectangle, UShape};
use rillcast::domain::book::PriceBook;
use rillcast::domain::demo::{BOOK, NOTES, rains};
use rillcast::domain::layout::resolve::resolve;
use rillcast::wire::notes::SiteNotes;
use rillcast::wire::read_document;
use std::borrow::Cow;
use std::hint::black_box;

fn run(section: OpenSection, n: f64, length_m: f64, fall: f64, depth: f64, flow: f64) -> RunInput {
    let leg = Leg {
        length_m,
        surface_fall: fall,
        depth_start_m: depth,
        depth_end_m: depth,
        corner_loss_at_end: 0.0,
    };
    RunInput::simple(section, n, leg, flow / length_m)
}

fn water(c: &mut Criterion) {
    let rectangle = |b: f64| OpenSection::from(Rectangle::new(b).expect("valid"));
    let u_shape = |b: f64| OpenSection::from(UShape::new(b).expect("valid"));
    let mut both = run(u_shape(0.15), 0.011, 40.0, 0.002, 0.2, 0.005);
    both.outlets = vec![Outlet::free(0.0), Outlet::free(40.0)];
    // Tied together by a narrow hole between two wide ones.
    let hole = |station_m: f64, bore: f64| Outlet {
        opening: Some(Opening::Floor(FloorOpening::round(bore))),
        ..Outlet::free(station_m)
    };
    let mut three = both.clone();
    three.outlets = vec![hole(0.0, 0.1), hole(20.0, 0.03), hole(40.0, 0.1)];
    for (name, input) in [
        ("profile, sloped U", run(u_shape(0.15), 0.011, 20.0, 0.003, 0.2, 0.005)),
        ("profile, level rectangle", run(rectangle(0.15), 0.01, 20.0, 0.0, 0.2, 0.005)),
        ("profile, level U", run(u_shape(0.15), 0.011, 20.0, 0.0, 0.2, 0.005)),
        ("profile, U with interior control", run(u_shape(0.15), 0.01, 40.0, 0.015, 0.2, 0.01)),
        ("profile, U with two outlets and a divide", both),
        ("profile, U with three outlets, the middle one narrow", three),
    ] {
        let run = Run::new(input).expect("valid");
        c.bench_function(name, |b| b.iter(|| black_box(&run).profile()));
    }
    let one = Run::new(run(u_shape(0.15), 0.011, 20.0, 0.003, 0.2, 0.005)).expect("valid");
    c.bench_function("least freeboard alone, U", |b| b.iter(|| black_box(&one).least_freeboard()));
    c.bench_function("most flow and longest run, U", |b| b.iter(|| black_box(&one).limits()));
    // With a fall to one side nearly all flows to the lower outlet: the flow parts close to the upper one.
    let mut sides = run(u_shape(0.15), 0.011, 20.0, 0.02, 0.2, 0.003);
    sides.outlets = vec![Outlet::free(0.0), Outlet::free(20.0)];
    let sides = Run::new(sides).expect("valid");
    c.bench_function("most flow and longest run, U with an outlet at both ends of a fall", |b| {
        b.iter(|| black_box(&sides).limits());
    });
}

/// Rain, catchments, runs, outlets, lines and checks of the demo job, its layout and levels given.
fn stage(c: &mut Criterion) {
    let book = PriceBook::check(read_document(BOOK.as_bytes()).expect("valid")).expect("valid");
    let rains = rains().expect("valid");
    let notes: SiteNotes = read_document(NOTES.as_bytes()).expect("valid");
    let (notes, _) = drainage::choose::fill(Cow::Owned(notes), &book, &rains).expect("valid");
    let layout = resolve(&notes, &book).expect("valid");
    let levels = levels::all(&layout, &book);
    let stage = || drainage::check(black_box(&layout), &levels, &book, &rains).expect("valid");
    assert!(stage().is_some_and(|(_, checks)| !checks.is_empty()));
    c.bench_function("water stage of the demo job", |b| b.iter(stage));
}

criterion_group!(benches, water, stage);
criterion_main!(benches);
