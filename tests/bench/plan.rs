//! Speed of planning, simulating and learning.

#![allow(missing_docs, clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "benchmark")]

use std::collections::BTreeMap;
use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use jiff::civil::date;
use rillcast::compute::{
    calendar::*,
    learning::{ClassId, JobId, LearnRequest, LearnSettings, Observation, RateId, learn},
    plan::*,
    risk::{RiskRequest, RiskTask, Spread, simulate},
};

fn plan(tasks: usize) -> PlanRequest {
    let laborer = TradeId::new("laborer").unwrap();
    let id = |i: usize| TaskId::new(format!("t{i}")).unwrap();
    let mut made = vec![Task::wait(id(0), "marks", Wait::Marks(MarkNotice::default()))];
    for i in 1..tasks {
        let task = match i % 10 {
            9 => Task::wait(id(i), "cure", Wait::Cure(Cure::default())),
            8 => {
                let mut pour = Work::new(5.0, laborer.clone(), 3);
                pour.within_one_day = true;
                Task::work(id(i), "pour", pour)
            }
            n => Task::work(id(i), "work", Work::new(3.0 + n as f64, laborer.clone(), 1 + (i % 3) as u32)),
        };
        let task = task.after(&id(i - 1 - (i % 3).min(i - 1)));
        made.push(if i % 4 == 0 { task.after(&id(i / 2)) } else { task });
    }
    PlanRequest {
        calendar: WorkingCalendar::new(CalendarDraft::us_office()).unwrap(),
        notice_calendar: None,
        tasks: made,
        crews: vec![
            Crew { id: CrewId::new("crew-1").unwrap(), people: [(laborer.clone(), 4)].into() },
            Crew { id: CrewId::new("crew-2").unwrap(), people: [(laborer, 3)].into() },
        ],
        machines: vec![],
        anchor: Anchor::Start(date(2026, 3, 2)),
        status_date: None,
        settings: PlanSettings::default(),
    }
}

fn benches(c: &mut Criterion) {
    let thirty = plan(30);
    c.bench_function("plan of 30 tasks", |b| b.iter(|| schedule(black_box(&thirty)).unwrap()));
    let many = plan(1_000);
    c.bench_function("plan of 1,000 tasks", |b| b.iter(|| schedule(black_box(&many)).unwrap()));
    let tasks: Vec<RiskTask> = thirty
        .tasks
        .iter()
        .filter_map(|t| match &t.kind {
            TaskKind::Work(work) => Some(RiskTask {
                id: t.id.clone(),
                crew_hours: work.crew_hours,
                spread: Spread {
                    median_log: 0.0,
                    own_sd: 0.2,
                    rate: Some((format!("r{}", t.id.as_str().len()), 0.1)),
                },
                cost_per_crew_hour: 90.0,
            }),
            _ => None,
        })
        .collect();
    let risk = RiskRequest {
        tasks,
        job_sd: 0.15,
        fixed_cost: 1_000.0,
        plan: Some(&thirty),
        draws: 10_000,
        seed: 1,
        confidence: 0.8,
    };
    let mut group = c.benchmark_group("simulation");
    group.sample_size(20);
    group
        .bench_function("10,000 draws of a 30-task plan", |b| b.iter(|| simulate(black_box(&risk)).unwrap()));
    let hours_only = RiskRequest { plan: None, ..risk.clone() };
    group.bench_function("10,000 draws of hours alone", |b| {
        b.iter(|| simulate(black_box(&hours_only)).unwrap())
    });
    let rate = |i: usize| RateId::new(format!("r{i}")).unwrap();
    let learning = LearnRequest {
        rates: (0..30).map(|i| (rate(i), ClassId::new(format!("c{}", i % 5)).unwrap())).collect(),
        known: BTreeMap::new(),
        observations: (0..100 * 20)
            .map(|n| Observation {
                job: JobId::new(format!("j{}", n / 20)).unwrap(),
                finished_on: date(2026, 1, 1),
                rate: rate((n * 7) % 30),
                estimated_hours: 10.0,
                actual_hours: 8.0 + (n % 13) as f64 / 3.0,
                excluded: None,
            })
            .collect(),
        as_of: date(2026, 2, 1),
        settings: LearnSettings::default(),
    };
    group.bench_function("30 rates from 100 jobs of 20 lines", |b| {
        b.iter(|| learn(black_box(&learning)).unwrap())
    });
    group.finish();
}

criterion_group!(all, benches);
criterion_main!(all);
