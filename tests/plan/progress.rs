//! Reported starts and finishes, and plans handed out again.

use jiff::civil::date;
use rillcast::compute::calendar::MarkNotice;
use rillcast::compute::plan::{
    issued::{Change, IssuedPlan},
    result::{PlanCaution, Status},
    *,
};

use crate::{
    common::{office, request, task, work},
    plans::driveway,
};

fn march(day: i8) -> jiff::civil::Date {
    date(2026, 3, day)
}

#[test]
fn what_is_done_stays_and_the_rest_moves() {
    let tasks = vec![work("a", 8.0), work("b", 16.0).after(&task("a")), work("c", 8.0).after(&task("b"))];
    let mut made = request(office(), march(2), tasks);
    let plan = schedule(&made).unwrap();
    assert_eq!(plan.finish, march(5));

    // a took until Wednesday, b is under way with ten hours to go on Thursday
    made.tasks[0].progress = Progress::Finished { start: march(2), finish: march(4) };
    made.tasks[1].progress = Progress::Started { on: march(4), remaining_crew_hours: Some(10.0) };
    made.status_date = Some(march(5));
    let moved = schedule(&made).unwrap();
    let of = |id: &str| moved.task(&task(id)).unwrap();
    assert_eq!((of("a").planned.start.date, of("a").planned.finish.date), (march(2), march(4)));
    assert_eq!(of("a").status, Status::Finished);
    assert!(!of("a").critical);
    assert_eq!((of("b").planned.start.date, of("b").planned.finish.date), (march(4), march(6)));
    assert_eq!((of("c").planned.start.date, of("c").planned.start.into_day.hours()), (march(6), 2.0));
    assert_eq!(moved.finish, march(9));
    assert_eq!(moved.start, march(2));
    assert_eq!(moved.cautions, []);
}

#[test]
fn work_not_begun_waits_for_the_status_date() {
    let mut made = request(office(), march(2), vec![work("a", 8.0)]);
    made.status_date = Some(march(10));
    assert_eq!(schedule(&made).unwrap().finish, march(10));
}

#[test]
fn a_cure_runs_whether_reported_or_not() {
    let mut made = driveway(date(2026, 6, 15));
    let june = |d| date(2026, 6, d);
    for (id, start, finish) in [
        ("marks", 15, 19),
        ("saw-cut", 22, 22),
        ("dig", 22, 23),
        ("set-channel", 23, 24),
        ("inspection", 25, 25),
        ("pour", 25, 25),
    ] {
        let t = made.tasks.iter_mut().find(|t| t.id == task(id)).unwrap();
        t.progress = Progress::Finished { start: june(start), finish: june(finish) };
    }
    made.status_date = Some(june(30));
    let plan = schedule(&made).unwrap();
    // poured a day early, on Thursday 25 June: cured at the end of Thursday 2 July; Friday is the holiday
    assert_eq!(plan.task(&task("cure")).unwrap().planned.finish.date, date(2026, 7, 2));
    assert_eq!(plan.finish, date(2026, 7, 6));
}

#[test]
fn begun_before_its_turn_is_told_and_what_is_left_waits() {
    let mut made = request(office(), march(2), vec![work("a", 8.0), work("b", 8.0).after(&task("a"))]);
    made.tasks[1].progress = Progress::Started { on: march(2), remaining_crew_hours: None };
    made.status_date = Some(march(3));
    let plan = schedule(&made).unwrap();
    assert_eq!(
        plan.cautions,
        [
            PlanCaution::RemainingAssumed { task: task("b") },
            PlanCaution::OutOfSequence { task: task("b"), predecessor: task("a") },
        ]
    );
    assert_eq!(plan.task(&task("b")).unwrap().planned.start.date, march(2));
    assert!(plan.task(&task("b")).unwrap().planned.finish.date > march(3));
}

#[test]
fn what_is_finished_has_nothing_left() {
    let mut made = driveway(date(2026, 6, 15));
    let june = |d| date(2026, 6, d);
    for (id, day) in [("saw-cut", 22), ("pour", 27)] {
        let t = made.tasks.iter_mut().find(|t| t.id == task(id)).unwrap();
        t.progress = Progress::Finished { start: june(day - 1), finish: june(day) };
    }
    let dig = made.tasks.iter_mut().find(|t| t.id == task("dig")).unwrap();
    dig.progress = Progress::Started { on: june(23), remaining_crew_hours: Some(1.0) };
    let inspection = made.tasks.iter_mut().find(|t| t.id == task("inspection")).unwrap();
    inspection.progress = Progress::Started { on: june(25), remaining_crew_hours: None };
    made.status_date = Some(june(29));
    let plan = schedule(&made).unwrap();
    let of = |id: &str| plan.task(&task(id)).unwrap();
    assert_eq!(of("saw-cut").basis, "reported: begun 2026-06-21, finished 2026-06-22");
    assert_eq!(of("dig").basis, "begun 2026-06-23; 1 crew-hour left, to 2026-06-29 (1.00 h into the day)");
    // a Saturday, on which the calendar has no hours
    assert_eq!(of("pour").planned.finish.date, june(27));
    let (id, before) = (task, task);
    assert_eq!(
        plan.cautions,
        [
            PlanCaution::FinishedOutOfSequence { task: id("saw-cut"), predecessor: before("marks") },
            PlanCaution::WaitOutOfSequence { task: id("inspection"), predecessor: before("set-channel") },
            PlanCaution::FinishedOutOfSequence { task: id("pour"), predecessor: before("inspection") },
        ]
    );
    let text = plan.cautions[2].to_string();
    assert!(text.contains("`inspection` stays in the plan") && !text.contains("what is left"), "{text}");
}

#[test]
fn a_notice_that_nobody_reported_stands_before_the_work_that_went_on() {
    let mut made = driveway(date(2026, 6, 15));
    let june = |d| date(2026, 6, d);
    let done = [("saw-cut", 22, 22), ("dig", 22, 23), ("set-channel", 23, 24), ("pour", 26, 26)];
    for (id, start, finish) in done {
        let t = made.tasks.iter_mut().find(|t| t.id == task(id)).unwrap();
        t.progress = Progress::Finished { start: june(start), finish: june(finish) };
    }
    made.status_date = Some(june(29));
    let plan = schedule(&made).unwrap();
    let of = |id: &str| plan.task(&task(id)).unwrap();
    let days = |id: &str| (of(id).planned.start.date, of(id).planned.finish.date);
    assert_eq!(days("marks"), (june(22), june(22)), "no later than the digging that needed them");
    assert_eq!(days("inspection"), (june(26), june(26)));
    assert!(of("marks").basis.starts_with("not reported; over by 2026-06-22"), "{}", of("marks").basis);
    // Nobody has said that it took place.
    assert_eq!(of("marks").status, Status::Planned);
    assert_eq!(
        plan.cautions,
        [
            PlanCaution::FinishedOutOfSequence { task: task("saw-cut"), predecessor: task("marks") },
            PlanCaution::FinishedOutOfSequence { task: task("pour"), predecessor: task("inspection") },
        ]
    );
    // There is nothing left to stop but the wheels.
    assert_eq!(plan.hold_points.iter().map(|h| &h.task).collect::<Vec<_>>(), [&task("wheels")]);
    // They move nothing: the plan ends as if they had been reported.
    for (id, start, finish) in [("marks", 15, 19), ("inspection", 25, 25)] {
        let t = made.tasks.iter_mut().find(|t| t.id == task(id)).unwrap();
        t.progress = Progress::Finished { start: june(start), finish: june(finish) };
    }
    let reported = schedule(&made).unwrap();
    assert_eq!((plan.finish, &plan.critical_path), (reported.finish, &reported.critical_path));
}

#[test]
fn ground_that_is_still_to_be_broken_waits_for_the_notice() {
    let marks = Task::wait(task("marks"), "Marks", Wait::Marks(MarkNotice::default()));
    let mut dig = work("dig", 4.0).after(&task("mobilize"));
    if let TaskKind::Work(work) = &mut dig.kind {
        work.breaks_ground = true;
    }
    let tasks = vec![
        marks,
        work("mobilize", 1.0).after(&task("marks")),
        work("tidy", 1.0).after(&task("mobilize")),
        dig,
    ];
    let mut made = request(office(), march(2), tasks);
    made.tasks[1].progress = Progress::Finished { start: march(9), finish: march(9) };
    made.status_date = Some(march(10));
    let plan = schedule(&made).unwrap();
    let of = |id: &str| plan.task(&task(id)).unwrap();
    let hold = &plan.hold_points[0];
    assert_eq!((&hold.kind, hold.on), (&HoldKind::CallBeforeDigging, march(10)));
    assert!(of("dig").planned.start.date >= hold.then_from, "{hold:?}");
    assert!(of("dig").planned.start.date > of("marks").planned.finish.date);
    assert_eq!(of("tidy").planned.start.date, march(10), "what breaks no ground goes on");
    // Once the marks are reported the digging goes on too.
    made.tasks[0].progress = Progress::Finished { start: march(3), finish: march(6) };
    let plan = schedule(&made).unwrap();
    assert_eq!(plan.task(&task("dig")).unwrap().planned.start.date, march(10));
}

#[test]
fn reports_that_cannot_be() {
    let mut made = request(office(), march(2), vec![work("a", 8.0), Task::milestone(task("m"), "m")]);
    made.tasks[0].progress = Progress::Finished { start: march(5), finish: march(4) };
    let fault = |made: &PlanRequest| schedule(made).unwrap_err().0;
    assert_eq!(fault(&made), [PlanError::StatusDateMissing { task: task("a") }]);
    made.status_date = Some(march(4));
    made.tasks[1].progress = Progress::Started { on: march(2), remaining_crew_hours: None };
    let faults = fault(&made);
    assert!(matches!(faults[0], PlanError::InTheFuture { .. }));
    assert!(matches!(faults[1], PlanError::FinishBeforeStart { .. }));
    assert!(matches!(faults[2], PlanError::MilestoneStarted { .. }));
    made.tasks[0].progress = Progress::Started { on: march(2), remaining_crew_hours: Some(f64::NAN) };
    made.tasks[1].progress = Progress::NotStarted;
    assert!(matches!(fault(&made)[0], PlanError::Remaining { .. }));
    made.tasks[0].progress = Progress::Started { on: march(2), remaining_crew_hours: Some(1.0) };
    made.anchor = Anchor::Finish(march(9));
    assert_eq!(fault(&made), [PlanError::FinishAnchorWithProgress]);
}

#[test]
fn sequences_rise_only_where_days_move() {
    let mut made = driveway(date(2026, 6, 15));
    let first = IssuedPlan::first(&schedule(&made).unwrap());
    assert!(first.tasks.values().chain(first.holds.values()).all(|t| t.sequence == 0));
    let (same, changes) = first.revise(&schedule(&made).unwrap());
    assert_eq!(same, first);
    assert!(changes.tasks.is_empty() && changes.holds.is_empty());

    // the dig grows by a day: what is before it stays
    if let TaskKind::Work(work) = &mut made.tasks[2].kind {
        work.crew_hours += 8.0;
    }
    let (second, changes) = first.revise(&schedule(&made).unwrap());
    assert_eq!(second.version, 2);
    let sequence = |plan: &IssuedPlan, id: &str| plan.tasks[&task(id)].sequence;
    assert_eq!(
        (sequence(&second, "saw-cut"), sequence(&second, "dig"), sequence(&second, "open")),
        (0, 1, 1)
    );
    assert!(matches!(changes.tasks[&task("dig")], Change::Moved { .. }));
    assert_eq!(second.holds[&task("marks")].sequence, 0);
    assert_eq!(second.holds[&task("wheels")].sequence, 1);

    // the milestone goes and comes back
    let mut without = made.clone();
    without.tasks.retain(|t| t.id != task("wheels"));
    without.tasks.last_mut().unwrap().predecessors[0].task = task("cure");
    let (third, changes) = second.revise(&schedule(&without).unwrap());
    assert_eq!(changes.tasks[&task("wheels")], Change::Withdrawn);
    assert!(third.tasks[&task("wheels")].withdrawn && third.holds[&task("wheels")].withdrawn);
    assert_eq!(sequence(&third, "wheels"), 2);
    let (still, changes) = third.revise(&schedule(&without).unwrap());
    assert_eq!((still, changes.tasks.len()), (third.clone(), 0));
    let (fourth, changes) = third.revise(&schedule(&made).unwrap());
    assert_eq!(changes.tasks[&task("wheels")], Change::Restored);
    assert_eq!(sequence(&fourth, "wheels"), 3);
}
