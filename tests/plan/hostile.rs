//! Inputs nobody means: every answer is a value or an error, none a panic, none an endless loop.

use jiff::civil::{Date, date};
use proptest::prelude::*;
use rillcast::compute::{
    calendar::*,
    learning::*,
    plan::{
        overtime::{OvertimeRule, split},
        rate_units, *,
    },
    risk::{RiskRequest, RiskTask, Spread, simulate},
};

use std::collections::BTreeMap;

use crate::common::{crew, laborer, office, request, task, work};

fn numbers() -> impl Strategy<Value = f64> {
    prop_oneof![
        Just(0.0),
        Just(-0.0),
        Just(-1.0),
        Just(1.0),
        Just(f64::NAN),
        Just(f64::INFINITY),
        Just(f64::NEG_INFINITY),
        Just(f64::MIN_POSITIVE),
        Just(f64::MAX),
        Just(1e-300),
        Just(20_000.0),
        any::<f64>(),
        0.0..100.0_f64
    ]
}

fn any_date() -> impl Strategy<Value = Date> {
    prop_oneof![
        Just(Date::MIN),
        Just(Date::MAX),
        Just(date(2026, 1, 1)),
        Just(date(9998, 12, 31)),
        (-9999..=9999_i16, 1..=12_i8, 1..=28_i8).prop_map(|(y, m, d)| date(y, m, d)),
        (2025..=2027_i16, 1..=12_i8, 1..=28_i8).prop_map(|(y, m, d)| date(y, m, d)),
    ]
}

fn kinds() -> impl Strategy<Value = TaskKind> {
    let any_work = (numbers(), 0..5_u32, any::<bool>(), any::<bool>(), 0..4_usize).prop_map(
        |(hours, people, a, b, crew)| {
            let mut made = Work::new(hours, laborer(), people);
            (made.within_one_day, made.breaks_ground, made.places_concrete) = (a, b, a);
            made.crew = (crew > 1).then(|| CrewId::new(format!("crew-{crew}")).unwrap());
            if b {
                made.machines = vec![MachineNeed { machine: MachineId::new("saw").unwrap(), count: people }];
            }
            TaskKind::Work(made)
        },
    );
    let days = prop_oneof![0..40_u32, Just(36_525), Just(u32::MAX)];
    prop_oneof![
        4 => any_work,
        1 => days.clone().prop_map(|d| TaskKind::Wait(Wait::WorkingDays(d))),
        1 => days.prop_map(|d| TaskKind::Wait(Wait::CalendarDays(d))),
        1 => any_date().prop_map(|d| TaskKind::Wait(Wait::Until(d))),
        1 => any::<u16>().prop_map(|d| TaskKind::Wait(Wait::Cure(Cure { calendar_days: d, end: CureEnd::SameHour }))),
        1 => (any::<u16>(), any::<bool>()).prop_map(|(d, c)| {
            TaskKind::Wait(Wait::Marks(MarkNotice { working_days: d, day_of_call_counts: c, marks_good_for_days: Some(d) }))
        }),
        1 => Just(TaskKind::Milestone),
    ]
}

fn progress() -> impl Strategy<Value = Progress> {
    prop_oneof![
        6 => Just(Progress::NotStarted),
        1 => (any_date(), prop::option::of(numbers()))
            .prop_map(|(on, remaining_crew_hours)| Progress::Started { on, remaining_crew_hours }),
        1 => (any_date(), any_date()).prop_map(|(start, finish)| Progress::Finished { start, finish }),
    ]
}

fn anything() -> impl Strategy<Value = PlanRequest> {
    let lags = prop_oneof![
        Just(Lag::None),
        numbers().prop_map(Lag::WorkingHours),
        any::<u32>().prop_map(Lag::CalendarDays),
        (0..50_u32).prop_map(Lag::WorkingDays)
    ];
    let links = prop::collection::vec((0..12_usize, lags), 0..3);
    let tasks =
        prop::collection::vec((0..12_usize, kinds(), links, prop::option::of(any_date()), progress()), 0..10);
    let anchors = prop_oneof![
        any_date().prop_map(Anchor::Start),
        any_date().prop_map(Anchor::Finish),
        (any_date(), any_date()).prop_map(|(start, finish)| Anchor::StartAndWish { start, finish })
    ];
    (tasks, anchors, prop::option::of(any_date())).prop_map(|(drafts, anchor, status_date)| {
        let tasks = drafts.into_iter().enumerate().map(|(i, (id, kind, links, not_before, progress))| {
            // mostly distinct names, now and then one twice
            let mut made = Task::milestone(task(&format!("t{}", if id == 0 { 0 } else { i })), "any");
            (made.kind, made.not_before, made.progress) = (kind, not_before, progress);
            for (before, lag) in links {
                made = made.after_lag(&task(&format!("t{before}")), lag);
            }
            made
        });
        let mut made = request(office(), date(2026, 1, 5), tasks.collect());
        made.crews = vec![crew("crew-1", 3), crew("crew-2", 1)];
        made.machines = vec![Machine { id: MachineId::new("saw").unwrap(), count: 1 }];
        (made.anchor, made.status_date) = (anchor, status_date);
        made
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]
    #[test]
    fn any_plan_request_is_answered(made in anything()) {
        match schedule(&made) {
            Ok(plan) => {
                prop_assert!(plan.start <= plan.finish);
                for t in &plan.tasks {
                    prop_assert!(t.planned.start.date <= t.planned.finish.date, "{t:?}");
                }
            }
            Err(faults) => prop_assert!(!faults.0.is_empty() && !faults.to_string().is_empty()),
        }
    }

    #[test]
    fn any_number_is_answered(a in numbers(), b in numbers(), c in numbers(), d in numbers()) {
        let finite = |x: Option<f64>| x.is_none_or(f64::is_finite);
        prop_assert!(finite(rate_units::reciprocal(a)));
        prop_assert!(finite(rate_units::per_yd3_from_per_m3(a)));
        let _ = WorkMinutes::from_hours(a);
        let gain = StrengthGain { a_days: a, b };
        let _ = (gain.cure(c, d, 7), gain.fraction_at(c), gain.age_for(d));
        let rule = OvertimeRule { daily_limit: Some(b), weekly_limit: Some(c), multiplier: d, ..OvertimeRule::default() };
        let _ = split(&[(Date::MIN, a), (Date::MAX, a)], &rule);
    }

    #[test]
    fn any_simulation_is_answered(a in numbers(), b in numbers(), c in numbers(), d in numbers(), draws in 0..400_u32) {
        let plan = request(office(), date(2026, 1, 5), vec![work("a", 8.0)]);
        let made = RiskRequest {
            tasks: vec![RiskTask {
                id: task("a"), crew_hours: a, cost_per_crew_hour: b,
                spread: Spread { median_log: c, own_sd: d, rate: Some((String::new(), a)) },
            }],
            job_sd: b, fixed_cost: c, plan: Some(&plan), draws, seed: 1, confidence: d,
        };
        if let Ok(found) = simulate(&made) {
            prop_assert!(found.hours.p10 <= found.hours.p90);
        }
    }

    #[test]
    fn any_observation_is_answered(
        lines in prop::collection::vec((numbers(), numbers(), any_date(), 0..3_usize), 0..12), tau in numbers(), share in numbers(),
        known in prop::collection::vec((0..3_usize, numbers(), numbers(), any_date()), 0..2)
    ) {
        let rate = |n: usize| RateId::new(format!("r{n}")).unwrap();
        let made = LearnRequest {
            rates: (0..2).map(|n| (rate(n), ClassId::new("c").unwrap())).collect(),
            known: known.into_iter().map(|(n, sd, median_log, as_of)| (rate(n), Known { lines: n, sd, median_log, as_of })).collect(),
            observations: lines.into_iter().enumerate().map(|(n, (estimated_hours, actual_hours, finished_on, r))| Observation {
                job: JobId::new(format!("j{}", n / 2)).unwrap(), finished_on, rate: rate(r), estimated_hours, actual_hours,
                excluded: None,
            }).collect(),
            as_of: date(2026, 1, 1),
            settings: LearnSettings { tau, class_share: share, ..LearnSettings::default() },
        };
        if let Ok(found) = learn(&made) {
            prop_assert!(found.rates.values().all(|e| e.median_ratio.is_finite() && e.mean_log_sd >= 0.0));
        }
    }
}

/// Observations at the edge of what is let in, in a number that must not blow up.
#[test]
fn extreme_ratios_are_solved_or_refused() {
    let rate = RateId::new("r").unwrap();
    for (estimated_hours, actual_hours) in [(1e-300, 999_999.0), (999_999.0, 1e-300)] {
        let made = LearnRequest {
            rates: [(rate.clone(), ClassId::new("c").unwrap())].into(),
            known: BTreeMap::new(),
            observations: (0..6)
                .map(|n| Observation {
                    job: JobId::new(format!("j{n}")).unwrap(),
                    finished_on: date(1900, 1, 1),
                    rate: rate.clone(),
                    estimated_hours,
                    actual_hours,
                    excluded: None,
                })
                .collect(),
            as_of: date(2026, 1, 1),
            settings: LearnSettings::default(),
        };
        if let Ok(found) = learn(&made) {
            assert!(found.rates[&rate].mean_log.is_finite());
        }
    }
}

/// The largest plan that is let in, on one crew of one, in a chain of waits, and too long for the calendar.
#[test]
fn the_largest_plans_end() {
    let many: Vec<Task> = (0..2_000).map(|i| work(&format!("t{i}"), 1.0 + f64::from(i % 7))).collect();
    let mut made = request(office(), date(2026, 1, 5), many);
    made.crews = vec![crew("crew-1", 1)];
    let plan = schedule(&made).unwrap();
    assert_eq!(plan.length.minutes(), (0..2_000).map(|i| 60 + 60 * (i % 7)).sum::<u32>());

    let mut dense: Vec<Task> = Vec::new();
    for i in 0..2_000 {
        let mut made = work(&format!("t{i}"), 1.0);
        for back in 1..=10_usize {
            if let Some(before) = (i as usize).checked_sub(back) {
                made = made.after(&task(&format!("t{before}")));
            }
        }
        dense.push(made);
    }
    assert_eq!(schedule(&request(office(), date(2026, 1, 5), dense)).unwrap().length.minutes(), 2_000 * 60);

    let mut chain: Vec<Task> = vec![work("t0", 20_000.0)];
    for i in 1..60 {
        chain.push(work(&format!("t{i}"), 20_000.0).after(&task(&format!("t{}", i - 1))));
    }
    let fault = schedule(&request(office(), date(2026, 1, 5), chain)).unwrap_err();
    assert!(matches!(fault.0[0], PlanError::Calendar(CalendarError::SpanTooLong { .. })), "{fault}");

    let fault = schedule(&request(
        office(),
        date(2026, 1, 5),
        (0..2_001).map(|i| work(&format!("t{i}"), 1.0)).collect(),
    ));
    assert_eq!(fault.unwrap_err().0, [PlanError::TooManyTasks { given: 2_001, most: 2_000 }]);
    assert_eq!(schedule(&request(office(), date(2026, 1, 5), vec![])).unwrap_err().0, [PlanError::NoTasks]);
}
