//! Speeds of the orders core.

use criterion::{Criterion, criterion_group, criterion_main};
use jiff::civil::date;
use rillcast::compute::{
    buying::{self, Need, Offer, Request, Supplier},
    cutting::{self, Leg, Problem, Stock, Work},
    exact::Nm,
};
use rust_decimal::Decimal;

/// Repeatable legs between 0.8 m and `longest` metres, in 64ths of an inch.
fn legs(n: usize, longest_mm: i64, mut seed: u64) -> Vec<Leg> {
    (0..n)
        .map(|i| {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            let span = u64::try_from((longest_mm - 800) * 64 * 10 / 254).unwrap_or(1);
            let low = 800 * 64 * 10 / 254;
            Leg::new(format!("leg {i}"), Nm::in_64ths(low + i64::try_from((seed >> 33) % span).unwrap_or(0)))
        })
        .collect()
}

fn job(legs: Vec<Leg>, stock: Vec<Stock>) -> Problem {
    Problem {
        legs,
        stock,
        kerf: Nm::in_64ths(8),
        least_piece: Nm::mm(150),
        joint: Work { parts: Decimal::from(3), minutes: Decimal::from(5) },
        cut: Work { parts: Decimal::ONE, minutes: Decimal::from(4) },
        rate_per_hour: Decimal::from(60),
        keep: Nm::mm(300),
        ..Problem::default()
    }
}

fn metres() -> Vec<Stock> {
    vec![
        Stock::bought("1 m", Nm::mm(1_000), Decimal::from(60)),
        Stock::bought("0.5 m", Nm::mm(500), Decimal::from(36)),
    ]
}

fn three() -> Vec<Stock> {
    vec![
        Stock::bought("1 m", Nm::mm(1_000), Decimal::from(60)),
        Stock::bought("2 m", Nm::mm(2_000), Decimal::from(112)),
        Stock::bought("3 m", Nm::mm(3_000), Decimal::from(165)),
    ]
}

fn cutting(c: &mut Criterion) {
    let yard = |mut p: Problem| {
        p.stock.extend((1..4).map(|i| Stock::yard(format!("yard {i}"), Nm::mm(230 * i + 111))));
        p
    };
    let cases = [
        ("10 legs, 1 length", job(legs(10, 9_000, 1), metres()[..1].to_vec())),
        ("10 legs, 2 lengths", job(legs(10, 9_000, 1), metres())),
        ("10 legs, 3 lengths", job(legs(10, 9_000, 2), three())),
        ("10 legs, 2 lengths, 3 yard offcuts", yard(job(legs(10, 9_000, 1), metres()))),
        ("14 legs, 3 lengths", job(legs(14, 9_000, 2), three())),
        ("30 legs, 3 lengths", job(legs(30, 9_000, 3), three())),
        ("200 legs, 3 lengths", job(legs(200, 9_000, 4), three())),
        ("200 short legs, 3 lengths", job(legs(200, 3_000, 5), three())),
        ("200 legs, 3 lengths, 3 yard offcuts", yard(job(legs(200, 9_000, 4), three()))),
    ];
    let mut group = c.benchmark_group("cutting");
    for (name, problem) in &cases {
        if let Ok(p) = cutting::plan(problem) {
            let simple = p.simple.map(|s| s.total).unwrap_or_default();
            let t = p.totals.total;
            eprintln!(
                "{name}: {t} plain {simple} bound {} gap {} proven {} nodes {}",
                p.lower_bound, p.gap_share, p.proven, p.nodes
            );
        }
        group.sample_size(10).bench_function(*name, |b| b.iter(|| cutting::plan(problem)));
    }
    group.finish();
}

/// A job of so many items at so many suppliers, in cents.
fn shopping(items: i64, suppliers: i64) -> Request<'static> {
    let mut r = Request::on(date(2026, 5, 4), date(2026, 5, 18));
    let mut seed = 7_u64;
    let mut roll = |n: i64| {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        i64::try_from(seed >> 33).unwrap_or(0) % n
    };
    for s in 0..suppliers {
        let free_from = (s % 3 > 0).then(|| Decimal::from(400 + roll(1_500)));
        r.suppliers.push(Supplier {
            id: format!("s{s}").into(),
            delivery: Decimal::from(30 + roll(60)),
            free_from,
        });
    }
    for n in 0..items {
        r.needs.push(Need::new(format!("n{n}"), Decimal::from(1 + roll(60)), "each"));
        let worth = 100 + roll(800);
        for s in (0..suppliers).filter(|s| (n + s) % 3 != 0) {
            let pack = [1, 5, 10][usize::try_from(roll(3)).unwrap_or(0)];
            r.offers.push(Offer {
                id: format!("n{n} s{s}").into(),
                supplier: format!("s{s}").into(),
                item: format!("n{n}").into(),
                unit: "each".into(),
                pack: Decimal::from(pack),
                price: Decimal::new(pack * worth * (80 + roll(50)) / 100, 2),
                ..Offer::default()
            });
        }
    }
    r
}

fn buying(c: &mut Criterion) {
    let mut group = c.benchmark_group("buying");
    for (name, request) in
        [("20 items, 4 suppliers", shopping(20, 4)), ("60 items, 8 suppliers", shopping(60, 8))]
    {
        if let Ok(p) = buying::plan(&request) {
            eprintln!("{name}: {} bound {} proven {} nodes {}", p.total, p.lower_bound, p.proven, p.nodes);
        }
        group.sample_size(10).bench_function(name, |b| b.iter(|| buying::plan(&request)));
    }
    group.finish();
}

criterion_group!(benches, cutting, buying);
criterion_main!(benches);
