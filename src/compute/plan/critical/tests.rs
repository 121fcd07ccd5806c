//! Floats held against their definition: start a task later by its float and see what moves.

#![expect(clippy::unwrap_used, reason = "a test stops where its job cannot be planned")]

use super::{early_pass, unlimited};
use crate::compute::calendar::{CalendarDraft, Cure, MarkNotice, Moment, WorkingCalendar};
use crate::compute::plan::request::{Anchor, PlanRequest, PlanSettings, Task, Wait, Work};
use crate::compute::plan::{Crew, CrewId, TaskId, TradeId, check::compile};
use jiff::civil::date;

fn id(name: &str) -> TaskId {
    TaskId::new(name).unwrap()
}

fn work(name: &str, hours: f64, within_one_day: bool) -> Task {
    let made = Work::new(hours, TradeId::new("laborer").unwrap(), 1);
    Task::work(id(name), name, Work { within_one_day, ..made })
}

fn wait(name: &str, wait: Wait) -> Task {
    Task::wait(id(name), name, wait)
}

/// A job with every kind of task, some with time to spare.
fn job() -> PlanRequest {
    let tasks = vec![
        wait("marks", Wait::Marks(MarkNotice::default())),
        wait("permit", Wait::WorkingDays(5)),
        work("saw", 3.5, false).after(&id("marks")).after(&id("permit")),
        work("form", 11.0, false).after(&id("saw")),
        wait("inspect", Wait::WorkingDays(1)).after(&id("form")),
        work("pour", 5.0, true).after(&id("inspect")),
        wait("cure", Wait::Cure(Cure::default())).after(&id("pour")),
        wait("strip", Wait::CalendarDays(1)).after(&id("pour")),
        work("strip-forms", 2.0, false).after(&id("strip")),
        work("aside", 6.0, false).after(&id("saw")),
        wait("delivery", Wait::Until(date(2027, 3, 10))),
        work("fit", 1.0, false).after(&id("delivery")).after(&id("strip-forms")),
        Task::milestone(id("open"), "open").after(&id("cure")),
        work("clear", 2.0, false).after(&id("open")).after(&id("fit")),
    ];
    PlanRequest {
        calendar: WorkingCalendar::new(CalendarDraft::us_office()).unwrap(),
        notice_calendar: None,
        tasks,
        crews: vec![Crew {
            id: CrewId::new("crew").unwrap(),
            people: [(TradeId::new("laborer").unwrap(), 9)].into(),
        }],
        machines: vec![],
        anchor: Anchor::Start(date(2027, 3, 1)),
        status_date: None,
        settings: PlanSettings::default(),
    }
}

#[test]
fn a_float_is_the_most_a_start_can_slip() {
    let made = job();
    let (network, mut lines) = compile(&made, date(2027, 3, 1)).unwrap();
    let plain = unlimited(&network, &mut lines).unwrap();
    let minutes: Vec<i64> = network.nodes.iter().map(|n| n.minutes).collect();
    for (index, task) in made.tasks.iter().enumerate() {
        let mut slipped = |by: i64| {
            let mut later = network.clone();
            let begun = lines.crew.worked(plain.early[index].start).unwrap();
            later.nodes[index].floor = lines.crew.finish_at(begun + by).unwrap();
            let mut spans = later.blank();
            let finish = early_pass(&later, &mut lines, &minutes, &mut spans).unwrap();
            let started = |of: &[super::Span]| -> Vec<Moment> {
                of.iter().enumerate().filter(|(i, _)| *i != index).map(|(_, s)| s.start).collect()
            };
            (started(&spans) == started(&plain.early) && finish == plain.finish, finish == plain.finish)
        };
        let (free, total) = (plain.free_float[index], plain.total_float[index]);
        assert!(free <= total, "{}: {free} of {total}", task.id);
        if free > 0 {
            assert!(slipped(free).0, "{} moves another within its free float", task.id);
        }
        assert!(!slipped(free + 1).0, "{} moves none beyond its free float of {free}", task.id);
        if total > 0 {
            assert!(slipped(total).1, "{} moves the finish within its total float", task.id);
        }
        assert!(!slipped(total + 1).1, "{} does not move the finish beyond its total float", task.id);
    }
    let of = |name: &str| {
        let at = made.tasks.iter().position(|t| t.id == id(name)).unwrap();
        (plain.free_float[at], plain.total_float[at])
    };
    // the call can be made on Tuesday or Wednesday and three clear days still end before the permit does
    assert_eq!(of("marks").0, of("marks").1);
    assert_eq!(of("marks").0, 2 * 480);
    // poured, it cures from some minute of the day to the end of the last one
    assert_eq!(of("cure").0, of("cure").1);
    assert!(of("cure").0 > 0);
}
