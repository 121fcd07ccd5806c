//! Random plans with few people and one machine: whatever the rule, no limit is broken.

use proptest::prelude::*;
use rillcast::compute::{
    calendar::*,
    plan::{result::*, *},
};

use crate::{
    common::{crew, laborer, request, task},
    working_calendar::{base, calendars},
};

/// Random plans with few people: whatever the rule, nothing may be broken.
fn limited() -> impl Strategy<Value = PlanRequest> {
    let tasks = prop::collection::vec(
        (
            1..60_u32,
            1..4_u32,
            any::<bool>(),
            any::<bool>(),
            prop::collection::vec(any::<prop::sample::Index>(), 0..3),
        ),
        1..18,
    );
    (calendars(), tasks, 3..5_u32).prop_map(|(calendar, drafts, people)| {
        let longest = calendar.standard_day().hours();
        let mut tasks: Vec<Task> = Vec::new();
        for (i, (quarters, needs, one_day, saw, before)) in drafts.into_iter().enumerate() {
            let hours = f64::from(quarters) / 4.0;
            let mut made = Work::new(if one_day { hours.min(longest) } else { hours }, laborer(), needs);
            made.within_one_day = one_day;
            if saw {
                made.machines = vec![MachineNeed { machine: MachineId::new("saw").unwrap(), count: 1 }];
            }
            let mut made = Task::work(task(&format!("t{i}")), "any", made);
            if i > 0 {
                for index in before {
                    made = made.after(&tasks[index.index(i)].id.clone());
                }
            }
            tasks.push(made);
        }
        let mut made = request(calendar, base(), tasks);
        made.crews = vec![crew("crew-1", people), crew("crew-2", 3)];
        made.machines = vec![Machine { id: MachineId::new("saw").unwrap(), count: 1 }];
        made
    })
}

/// Working minutes of a stamp since the base day, counted anew.
fn worked(calendar: &WorkingCalendar, stamp: Stamp) -> u32 {
    let mut sum = stamp.into_day.minutes();
    let mut day = base();
    while day < stamp.date {
        sum += calendar.minutes_on(day).minutes();
        day = day.tomorrow().unwrap();
    }
    sum
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]
    #[test]
    fn limits_are_kept(made in limited()) {
        let plan = schedule(&made).unwrap();
        let spans: Vec<(u32, u32)> = plan.tasks.iter()
            .map(|t| (worked(&made.calendar, t.planned.start), worked(&made.calendar, t.planned.finish)))
            .collect();
        for (i, t) in made.tasks.iter().enumerate() {
            let TaskKind::Work(work) = &t.kind else { unreachable!() };
            let length = (work.crew_hours * 60.0 - 1e-6).ceil() as u32;
            prop_assert_eq!(spans[i].1 - spans[i].0, length, "all its hours, no more");
            for link in &t.predecessors {
                let before = made.tasks.iter().position(|o| o.id == link.task).unwrap();
                prop_assert!(spans[before].1 <= spans[i].0, "after its predecessors");
            }
            let p = &plan.tasks[i];
            if work.within_one_day {
                prop_assert_eq!(p.planned.start.date, p.planned.finish.date);
            }
            prop_assert!(made.calendar.is_working_day(p.planned.start.date));
            prop_assert!(p.planned.start >= p.early.start);
            prop_assert!(p.early.start <= p.late.start);
        }
        for (from, _) in &spans {
            let at = |need: &dyn Fn(&PlannedTask, &Work) -> u32| -> u32 {
                made.tasks.iter().zip(&plan.tasks).zip(&spans)
                    .filter(|(_, s)| s.0 <= *from && *from < s.1)
                    .map(|((t, p), _)| match &t.kind { TaskKind::Work(w) => need(p, w), _ => 0 })
                    .sum()
            };
            for crew in &made.crews {
                let busy = at(&|p, w| if p.crew.as_ref() == Some(&crew.id) { w.trades[0].people } else { 0 });
                prop_assert!(busy <= crew.people[&laborer()], "{} people of {}", busy, crew.id);
            }
            prop_assert!(at(&|_, w| u32::from(!w.machines.is_empty())) <= 1, "one saw");
        }
        let loaded: u32 = plan.crew_loading.iter().map(|l| l.used.minutes()).sum();
        let needed: u32 = made.tasks.iter().map(|t| match &t.kind {
            TaskKind::Work(w) => (w.crew_hours * 60.0 - 1e-6).ceil() as u32 * w.trades[0].people,
            _ => 0,
        }).sum();
        prop_assert_eq!(loaded, needed, "the loading adds up to the work");
        prop_assert!(plan.crew_loading.iter().all(|l| l.used <= l.available));
        prop_assert_eq!(schedule(&made).unwrap(), plan, "the same request, the same plan");
    }

    #[test]
    fn a_later_start_is_never_early(made in limited(), days in 1..30_i64) {
        let plan = schedule(&made).unwrap();
        let later = count::add_calendar_days(base(), days).unwrap();
        let moved = schedule(&PlanRequest { anchor: Anchor::Start(later), ..made }).unwrap();
        prop_assert!(moved.start >= later);
        prop_assert!(moved.unlimited_finish >= plan.unlimited_finish);
    }
}
