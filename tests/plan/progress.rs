//! Reported starts and finishes, and plans handed out again.

use jiff::civil::date;
use rillcast::compute::calendar::{Cure, CureEnd, MarkNotice};
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
fn work_finished_on_the_status_date_says_that_the_day_is_over() {
    let starts = |finished: jiff::civil::Date, status: jiff::civil::Date| {
        let tasks = vec![work("a", 8.0), work("b", 8.0), work("c", 8.0)];
        let mut made = request(office(), march(2), tasks);
        made.tasks[0].progress = Progress::Finished { start: march(2), finish: finished };
        made.tasks[1].progress = Progress::Started { on: march(2), remaining_crew_hours: Some(8.0) };
        made.status_date = Some(status);
        let plan = schedule(&made).unwrap();
        let told = plan.cautions.contains(&PlanCaution::StatusDateOver { status });
        let of = |id: &str| plan.task(&task(id)).unwrap().planned;
        (of("b").finish.date, of("c").start.date, told)
    };
    assert_eq!(starts(march(5), march(5)), (march(6), march(6), true));
    // Friday: what is left goes on from Monday
    assert_eq!(starts(march(6), march(6)), (march(9), march(9), true));
    // nothing was reported for the status date itself
    assert_eq!(starts(march(4), march(5)), (march(5), march(5), false));
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

/// A pour, the setting before forms are stripped, the cure, wheels.
fn poured() -> PlanRequest {
    let mut pour = work("pour", 4.0);
    if let TaskKind::Work(work) = &mut pour.kind {
        work.within_one_day = true;
    }
    let cure = Cure { calendar_days: 7, end: CureEnd::EndOfDay };
    let tasks = vec![
        pour,
        Task::wait(task("set"), "Set", Wait::CalendarDays(2)).after(&task("pour")),
        work("strip", 2.0).after(&task("set")),
        Task::wait(task("cure"), "Cure", Wait::Cure(cure)).after(&task("pour")),
        Task::milestone(task("open"), "Open").after(&task("cure")).holding(HoldKind::WheelsMayCross),
        work("clear", 2.0).after(&task("open")).after(&task("strip")),
    ];
    request(office(), march(2), tasks)
}

fn finished(made: &mut PlanRequest, id: &str, start: i8, finish: i8) {
    let t = made.tasks.iter_mut().find(|t| t.id == task(id)).unwrap();
    t.progress = Progress::Finished { start: march(start), finish: march(finish) };
}

fn wheels(plan: &Plan) -> (jiff::civil::Date, jiff::civil::Date, String) {
    let hold = plan.hold_points.iter().find(|h| h.kind == HoldKind::WheelsMayCross).unwrap();
    (hold.on, hold.then_from, hold.text.clone())
}

fn too_soon(plan: &Plan) -> Vec<&PlanCaution> {
    let early =
        |c: &&PlanCaution| matches!(c, PlanCaution::BegunTooSoon { .. } | PlanCaution::EndedTooSoon { .. });
    plan.cautions.iter().filter(early).collect()
}

#[test]
fn concrete_is_cured_by_its_days_from_the_pour_whatever_is_reported_of_wheels() {
    let mut made = poured();
    finished(&mut made, "pour", 12, 12);
    finished(&mut made, "open", 15, 15);
    made.status_date = Some(march(16));
    let plan = schedule(&made).unwrap();
    let text = "Open: cure complete 2026-03-19; no wheels before 2026-03-20";
    assert_eq!(wheels(&plan), (march(19), march(20), text.to_owned()));
    let (open, cure) = (task("open"), task("cure"));
    let early = PlanCaution::BegunTooSoon { task: open, on: march(15), wait: cure.clone(), over: march(19) };
    assert_eq!(too_soon(&plan), [&early]);
    // Reported on its day there is nothing to say; wheels from the day that is reported.
    for day in [19, 23] {
        finished(&mut made, "open", day, day);
        made.status_date = Some(march(24));
        let plan = schedule(&made).unwrap();
        assert_eq!(too_soon(&plan), [] as [&PlanCaution; 0]);
        assert_eq!((wheels(&plan).0, wheels(&plan).1), (march(19), march(day.max(20))));
    }
    // A cure reported over a day after the pour.
    let mut made = poured();
    finished(&mut made, "pour", 12, 12);
    finished(&mut made, "cure", 12, 13);
    made.status_date = Some(march(16));
    let plan = schedule(&made).unwrap();
    assert_eq!(plan.task(&task("open")).unwrap().planned.finish.date, march(13));
    assert_eq!((wheels(&plan).0, wheels(&plan).1), (march(19), march(20)));
    assert_eq!(
        too_soon(&plan),
        [&PlanCaution::EndedTooSoon { wait: cure, finish: march(13), over: march(19) }]
    );
    // Reported over on the day on which its days are over.
    finished(&mut made, "cure", 12, 19);
    made.status_date = Some(march(19));
    assert_eq!(too_soon(&schedule(&made).unwrap()), [] as [&PlanCaution; 0]);
    // Wheels before any pour: planned for the 16th, cured on the 23rd.
    let mut made = poured();
    finished(&mut made, "open", 3, 3);
    made.status_date = Some(march(16));
    let plan = schedule(&made).unwrap();
    assert_eq!((wheels(&plan).0, wheels(&plan).1), (march(23), march(24)));
    assert_eq!(too_soon(&plan).len(), 1);
}

#[test]
fn wheels_that_wait_for_a_day_do_not_make_the_cure_longer() {
    let mut made = poured();
    made.tasks[4].not_before = Some(march(31));
    let plan = schedule(&made).unwrap();
    // poured on Monday the 2nd
    let text = "Open: cure complete 2026-03-09; no wheels before 2026-03-31";
    assert_eq!(wheels(&plan), (march(9), march(31), text.to_owned()));
    // a calendar says after which day wheels may cross
    let issued = IssuedPlan::first(&plan);
    assert_eq!(
        (issued.holds[&task("open")].start, issued.holds[&task("open")].finish),
        (march(30), march(30))
    );
    made.tasks[4].not_before = None;
    let issued = IssuedPlan::first(&schedule(&made).unwrap());
    assert_eq!(issued.holds[&task("open")].start, march(9));
}

#[test]
fn days_that_pass_by_themselves_count_from_the_pour_and_not_from_the_status_date() {
    let mut made = poured();
    finished(&mut made, "pour", 10, 10);
    for status in [10, 11, 16] {
        made.status_date = Some(march(status));
        let plan = schedule(&made).unwrap();
        let of = |id: &str| plan.task(&task(id)).unwrap();
        assert_eq!((of("set").planned.start.date, of("set").planned.finish.date), (march(10), march(12)));
        assert_eq!(of("set").basis, "2 calendar days from 2026-03-10: through 2026-03-12");
        assert_eq!(of("strip").planned.start.date, march(status.max(13)), "on {status}");
    }
    // Nobody reports that concrete has set: what follows it in time is in sequence, what comes too soon is told.
    finished(&mut made, "strip", 13, 13);
    let plan = schedule(&made).unwrap();
    assert_eq!(plan.cautions, []);
    let set = plan.task(&task("set")).unwrap().planned;
    assert_eq!((set.start.date, set.finish.date), (march(10), march(12)));
    finished(&mut made, "strip", 11, 11);
    let (strip, set) = (task("strip"), task("set"));
    assert_eq!(
        schedule(&made).unwrap().cautions,
        [PlanCaution::BegunTooSoon { task: strip, on: march(11), wait: set, over: march(12) }]
    );
    // Poured on a Saturday, a day without hours: two days on it is Monday evening.
    let mut made = poured();
    finished(&mut made, "pour", 14, 14);
    made.status_date = Some(march(16));
    let plan = schedule(&made).unwrap();
    assert_eq!(plan.task(&task("set")).unwrap().planned.finish.date, march(16));
    assert_eq!(plan.task(&task("strip")).unwrap().planned.start.date, march(17));
}

#[test]
fn the_rest_of_a_day_leads_to_another_day() {
    let tasks = vec![
        work("a", 2.0),
        Task::wait(task("over"), "Over", Wait::RestOfDay).after(&task("a")),
        work("b", 2.0).after(&task("over")),
    ];
    let mut made = request(office(), march(2), tasks);
    let plan = schedule(&made).unwrap();
    let b = |plan: &Plan| plan.task(&task("b")).unwrap().planned.start;
    assert_eq!((b(&plan).date, b(&plan).into_day.hours()), (march(3), 0.0));
    let over = plan.task(&task("over")).unwrap();
    assert_eq!(over.basis, "rest of the day from 2026-03-02: through 2026-03-02");
    finished(&mut made, "a", 2, 2);
    made.status_date = Some(march(2));
    assert_eq!(b(&schedule(&made).unwrap()).date, march(3));
    made.status_date = Some(march(5));
    assert_eq!(b(&schedule(&made).unwrap()).date, march(5));
}

#[test]
fn a_wait_whose_end_nobody_reported_goes_on_through_the_status_date() {
    let permit = Task::wait(task("permit"), "Permit", Wait::WorkingDays(5));
    let marks = Task::wait(task("marks"), "Marks", Wait::Marks(MarkNotice::default()));
    let mut made = request(
        office(),
        march(2),
        vec![marks, permit, work("a", 8.0).after(&task("permit")).after(&task("marks"))],
    );
    for at in [0, 1] {
        made.tasks[at].progress = Progress::Started { on: march(2), remaining_crew_hours: None };
    }
    let told = |plan: &Plan| plan.cautions.clone();
    // marks after Thursday the 5th, the permit after Friday the 6th
    let late = |of: &str, due: i8, status: i8| PlanCaution::WaitNotEnded {
        task: task(of),
        due: march(due),
        status: march(status),
    };
    for (status, begins, cautions) in [
        (4, 9, vec![]),
        (5, 9, vec![]),
        (6, 9, vec![late("marks", 5, 6)]),
        (9, 10, vec![late("marks", 5, 9), late("permit", 6, 9)]),
        (13, 16, vec![late("marks", 5, 13), late("permit", 6, 13)]),
    ] {
        made.status_date = Some(march(status));
        let plan = schedule(&made).unwrap();
        assert_eq!(told(&plan), cautions, "on {status}");
        assert_eq!(plan.task(&task("a")).unwrap().planned.start.date, march(begins), "on {status}");
    }
    let plan = schedule(&made).unwrap();
    let permit = plan.task(&task("permit")).unwrap();
    assert_eq!((permit.status, permit.planned.finish.date), (Status::UnderWay, march(13)));
    assert_eq!(
        permit.basis,
        "5 working days from 2026-03-02 were over by 2026-03-06; no end is reported: through 2026-03-13"
    );
    // Reported over, the work goes on; and what is done waits for nothing any more.
    finished(&mut made, "permit", 2, 10);
    finished(&mut made, "marks", 2, 5);
    assert_eq!(told(&schedule(&made).unwrap()), []);
    made.tasks[1].progress = Progress::Started { on: march(2), remaining_crew_hours: None };
    finished(&mut made, "a", 10, 10);
    let plan = schedule(&made).unwrap();
    assert_eq!(plan.task(&task("permit")).unwrap().planned.finish.date, march(6));
    assert_eq!(plan.finish, march(10));
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
