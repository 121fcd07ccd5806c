//! Plans as a whole: a job from the call for marks to open traffic, limits kept, errors that name what is
//! wrong.

use jiff::civil::{Date, date};
use rillcast::compute::{
    calendar::*,
    plan::{issued::IssuedPlan, result::*, *},
};

use crate::common::{crew, laborer, office, request, task, work};

/// An invented driveway: marks, saw and dig, set the channel, inspection, pour, cure, open.
pub fn driveway(start: Date) -> PlanRequest {
    let digging = |id: &str, hours: f64| {
        let mut made = Work::new(hours, laborer(), 2);
        made.breaks_ground = true;
        Task::work(task(id), id, made)
    };
    let mut saw = digging("saw-cut", 4.0);
    if let TaskKind::Work(work) = &mut saw.kind {
        work.machines = vec![MachineNeed { machine: MachineId::new("saw").unwrap(), count: 1 }];
    }
    let mut pour = Work::new(5.0, laborer(), 3);
    (pour.within_one_day, pour.places_concrete) = (true, true);
    let tasks = vec![
        Task::wait(task("marks"), "Utility marks", Wait::Marks(MarkNotice::default())),
        saw.after(&task("marks")),
        digging("dig", 10.0).after(&task("saw-cut")),
        work("set-channel", 9.0).after(&task("dig")),
        Task::wait(task("inspection"), "Inspection", Wait::WorkingDays(1))
            .after(&task("set-channel"))
            .holding(HoldKind::InspectionBeforePour),
        Task::work(task("pour"), "Pour", pour).after(&task("inspection")),
        Task::wait(task("cure"), "Cure", Wait::Cure(Cure::default())).after(&task("pour")),
        Task::milestone(task("wheels"), "Wheels").after(&task("cure")).holding(HoldKind::WheelsMayCross),
        work("open", 2.0).after(&task("wheels")),
    ];
    let mut made = request(office(), start, tasks);
    made.crews = vec![crew("crew-1", 3)];
    made.machines = vec![Machine { id: MachineId::new("saw").unwrap(), count: 1 }];
    made
}

/// Every date by hand. Call Monday 15 June 2026; Tuesday, Wednesday, Thursday pass, Friday 19 June is the
/// holiday: dig from Monday 22. Saw 4 h and dig 4 h on the 22nd, dig 6 h and set 2 h on the 23rd, set 7 h on
/// the 24th; inspection to the same hour (7 h in) of the 25th; the pour of 5 h does not fit the hour left and
/// goes to Friday the 26th; cured at the end of Friday 3 July, the observed holiday; the crew is back on
/// Monday 6 July.
#[test]
fn from_the_call_for_marks_to_open_traffic() {
    let plan = schedule(&driveway(date(2026, 6, 15))).unwrap();
    let dates = |id: &str| {
        let t = plan.task(&task(id)).unwrap();
        let hours = |s: Stamp| (s.date, s.into_day.hours());
        (hours(t.planned.start), hours(t.planned.finish))
    };
    let june = |d| date(2026, 6, d);
    assert_eq!(dates("marks"), ((june(15), 0.0), (june(18), 8.0)));
    assert_eq!(dates("saw-cut"), ((june(22), 0.0), (june(22), 4.0)));
    assert_eq!(dates("dig"), ((june(22), 4.0), (june(23), 6.0)));
    assert_eq!(dates("set-channel"), ((june(23), 6.0), (june(24), 7.0)));
    assert_eq!(dates("inspection"), ((june(24), 7.0), (june(25), 7.0)));
    assert_eq!(dates("pour"), ((june(26), 0.0), (june(26), 5.0)));
    assert_eq!(dates("cure").1.0, date(2026, 7, 3));
    assert_eq!(dates("open"), ((date(2026, 7, 6), 0.0), (date(2026, 7, 6), 2.0)));
    assert_eq!(plan.finish, date(2026, 7, 6));
    assert_eq!(plan.cautions, []);
    assert_eq!(plan.critical_path.len(), 9, "one chain: every task is on it");
    let holds: Vec<(Date, Option<Date>, Date)> =
        plan.hold_points.iter().map(|h| (h.on, h.no_later_than, h.then_from)).collect();
    assert_eq!(
        holds,
        [
            (june(15), Some(june(15)), june(22)),
            (june(25), None, june(25)),
            (date(2026, 7, 3), None, date(2026, 7, 4)),
        ]
    );
    let window = &plan.machine_windows[0];
    assert_eq!((window.from, window.to, window.calendar_days), (june(22), june(22), 1));
    let people: Vec<(Date, u32, u32)> =
        plan.crew_loading.iter().map(|l| (l.date, l.used.minutes(), l.peak_people)).collect();
    assert_eq!(people[0], (june(22), 2 * 480, 2));
    assert_eq!(people[3], (june(26), 3 * 300, 3));
    assert_eq!(
        plan.task(&task("pour")).unwrap().total_float.minutes(),
        180,
        "the rest of the day of the pour"
    );
}

/// Called on Saturday the 6th, as reported; three working days pass from Monday to Wednesday: dig on Thursday. Who calls on a
/// working day must do so on the Friday before for that, but this call was on Saturday.
#[test]
fn a_call_on_a_closed_day_is_not_late_for_its_own_plan() {
    let mut made = driveway(date(2026, 6, 5));
    made.tasks[0].progress = Progress::Finished { start: date(2026, 6, 6), finish: date(2026, 6, 10) };
    made.status_date = Some(date(2026, 6, 10));
    let plan = schedule(&made).unwrap();
    let call = plan.hold_points.iter().find(|h| h.kind == HoldKind::CallBeforeDigging).unwrap();
    assert_eq!((call.on, call.then_from), (date(2026, 6, 6), date(2026, 6, 11)));
    assert_eq!(call.no_later_than, Some(date(2026, 6, 6)), "{}", call.text);
}

#[test]
fn a_cure_to_the_hour_frees_the_same_weekday() {
    let mut made = driveway(date(2026, 6, 15));
    for t in &mut made.tasks {
        if let TaskKind::Wait(Wait::Cure(cure)) = &mut t.kind {
            *cure = Cure { calendar_days: 10, end: CureEnd::SameHour };
        }
    }
    let plan = schedule(&made).unwrap();
    let open = plan.task(&task("open")).unwrap();
    // poured Friday 26 June until 5 h into the day; Monday 6 July 5 h into the day
    assert_eq!((open.planned.start.date, open.planned.start.into_day.hours()), (date(2026, 7, 6), 5.0));
    // wheels may cross from that hour on: a calendar has it on that day, not on the one before
    let issued = IssuedPlan::first(&plan);
    assert_eq!(issued.holds[&task("wheels")].start, date(2026, 7, 6));
}

#[test]
fn a_wished_finish_gives_the_latest_start() {
    let mut made = driveway(date(2026, 6, 15));
    made.anchor = Anchor::Finish(date(2026, 7, 8));
    let plan = schedule(&made).unwrap();
    assert!(plan.finish <= date(2026, 7, 8));
    let wish = plan.wish.unwrap();
    assert!(wish.working_days_to_spare >= 0);
    made.anchor = Anchor::Start(office().next_working_day(plan.start).unwrap());
    assert!(schedule(&made).unwrap().finish > date(2026, 7, 8), "a day later would be too late");
}

#[test]
fn a_wish_that_cannot_be_kept_says_so() {
    let mut made = driveway(date(2026, 6, 15));
    made.tasks[1].not_before = Some(date(2026, 8, 3));
    made.anchor = Anchor::Finish(date(2026, 7, 8));
    let fault = schedule(&made).unwrap_err();
    // The day that is waited for holds the finish whatever the start: the steps back grow up to the earliest start there is.
    let PlanError::WishOutOfReach { start, wished, .. } = &fault.0[0] else { panic!("{fault}") };
    assert_eq!(start.until(*wished).unwrap().get_days(), 36_525 / 4, "{fault}");
    made.anchor = Anchor::StartAndWish { start: date(2026, 6, 15), finish: date(2026, 7, 8) };
    let wish = schedule(&made).unwrap().wish.unwrap();
    assert!(wish.working_days_to_spare < -20);
}

#[test]
fn one_crew_takes_turns_and_says_so() {
    let mut made = request(office(), date(2026, 3, 2), vec![work("a", 8.0), work("b", 8.0), work("c", 12.0)]);
    made.crews = vec![crew("crew-1", 1)];
    let plan = schedule(&made).unwrap();
    assert_eq!(plan.unlimited_finish, date(2026, 3, 3));
    assert_eq!(plan.finish, date(2026, 3, 5));
    // least late start first: the longest has no float
    assert_eq!(plan.task(&task("c")).unwrap().planned.start.date, date(2026, 3, 2));
    let b = plan.task(&task("b")).unwrap();
    assert_eq!(b.after_resources_of, [task("a")]);
    assert_eq!(b.waits_for_resources.minutes(), 20 * 60);
    assert_eq!(plan.holding_chain, [task("c"), task("a"), task("b")]);
}

/// b could follow a at noon, but waits for c's people until the evening: a does not hold the finish.
#[test]
fn only_what_holds_is_in_the_holding_chain() {
    let on = |id: &str, hours: f64, crew: &str| {
        let mut made = Work::new(hours, laborer(), 1);
        made.crew = Some(CrewId::new(crew).unwrap());
        Task::work(task(id), id, made)
    };
    let tasks =
        vec![on("a", 4.0, "crew-2"), on("b", 2.0, "crew-1").after(&task("a")), on("c", 12.0, "crew-1")];
    let mut made = request(office(), date(2026, 3, 2), tasks);
    made.crews = vec![crew("crew-1", 1), crew("crew-2", 1)];
    let plan = schedule(&made).unwrap();
    assert_eq!(plan.task(&task("b")).unwrap().after_resources_of, [task("c")]);
    assert_eq!(plan.holding_chain, [task("c"), task("b")]);
}

#[test]
fn two_crews_share_the_work() {
    let mut made = request(office(), date(2026, 3, 2), vec![work("a", 8.0), work("b", 8.0)]);
    made.crews = vec![crew("crew-1", 1), crew("crew-2", 1)];
    let plan = schedule(&made).unwrap();
    assert_eq!(plan.finish, date(2026, 3, 2));
    let crews: Vec<&str> = plan.tasks.iter().map(|t| t.crew.as_ref().unwrap().as_str()).collect();
    assert_eq!(crews, ["crew-1", "crew-2"]);
}

#[test]
fn machine_windows_join_over_idle_working_days_but_not_over_a_weekend_alone() {
    let saw = || vec![MachineNeed { machine: MachineId::new("saw").unwrap(), count: 1 }];
    let with_saw = |id: &str, hours: f64| {
        let mut made = Work::new(hours, laborer(), 1);
        made.machines = saw();
        Task::work(task(id), id, made)
    };
    // Friday and Monday; then two days without it; then Thursday
    let tasks =
        vec![with_saw("a", 12.0), work("b", 20.0).after(&task("a")), with_saw("c", 4.0).after(&task("b"))];
    let mut made = request(office(), date(2026, 3, 6), tasks);
    made.machines = vec![Machine { id: MachineId::new("saw").unwrap(), count: 1 }];
    let windows = |made: &PlanRequest| -> Vec<(Date, Date, u32, u32)> {
        let found = schedule(made).unwrap().machine_windows;
        found.iter().map(|w| (w.from, w.to, w.calendar_days, w.used_days)).collect()
    };
    let march = |d| date(2026, 3, d);
    let one = |d| (march(d), march(d), 1, 1);
    assert_eq!(windows(&made), [one(6), one(9), one(12)]);
    made.settings.keep_machine_idle_days = 2;
    assert_eq!(windows(&made), [one(6), (march(9), march(12), 4, 2)]);
}

#[test]
fn a_machine_is_on_site_from_its_first_use_of_a_day_to_its_last() {
    let with_saw = |id: &str, hours: f64| {
        let mut made = Work::new(hours, laborer(), 1);
        made.machines = vec![MachineNeed { machine: MachineId::new("saw").unwrap(), count: 1 }];
        Task::work(task(id), id, made)
    };
    // two hours, three without it, half an hour
    let tasks =
        vec![with_saw("a", 2.0), work("b", 3.0).after(&task("a")), with_saw("c", 0.5).after(&task("b"))];
    let mut made = request(office(), date(2026, 3, 6), tasks);
    made.machines = vec![Machine { id: MachineId::new("saw").unwrap(), count: 1 }];
    let found = schedule(&made).unwrap().machine_windows;
    assert_eq!(found.iter().map(|w| w.longest_day.minutes()).collect::<Vec<_>>(), [330]);
}

/// One laborer: by the priority rule what has float comes last, and the breaker with it comes again.
#[test]
fn tasks_of_a_hired_machine_stay_together_where_nothing_is_later_for_it() {
    let breaker = || MachineId::new("breaker").unwrap();
    let with_breaker = |id: &str| {
        let mut made = Work::new(2.0, laborer(), 1);
        made.machines = vec![MachineNeed { machine: breaker(), count: 1 }];
        Task::work(task(id), id, made)
    };
    let made = |dig: f64, pour: Option<f64>, hired: bool| {
        let mut tasks =
            vec![with_breaker("drive"), work("dig", dig).after(&task("drive")), with_breaker("path")];
        if let Some(hours) = pour {
            let mut placed = Work::new(hours, laborer(), 1);
            (placed.within_one_day, placed.places_concrete) = (true, true);
            tasks.push(Task::work(task("pour"), "pour", placed).after(&task("dig")));
        }
        let mut made = request(office(), date(2026, 3, 9), tasks);
        made.crews = vec![crew("crew-1", 1)];
        made.machines = vec![Machine { id: breaker(), count: 1 }];
        made.settings.hired = hired.then(breaker).into_iter().collect();
        let plan = schedule(&made).unwrap();
        let days: u32 = plan.machine_windows.iter().map(|w| w.used_days).sum();
        (days, plan.finish, plan.task(&task("dig")).unwrap().planned.finish.date)
    };
    let march = |d| date(2026, 3, d);
    // ten hours either way: broken out on the first day or on two
    assert_eq!(made(6.0, None, false), (2, march(10), march(9)));
    assert_eq!(made(6.0, None, true), (1, march(10), march(10)));
    // the pour would come a day later: it does not
    assert_eq!(made(3.5, Some(2.5), true), made(3.5, Some(2.5), false));
    assert_eq!(made(3.5, Some(2.5), true).0, 2);
}

/// By hand: the first task fills Friday 6 March 2026.
#[test]
fn lags_run_by_their_own_clock() {
    let after = |lag| {
        let tasks = vec![work("a", 8.0), work("b", 8.0).after_lag(&task("a"), lag)];
        let plan = schedule(&request(office(), date(2026, 3, 6), tasks)).unwrap();
        let b = plan.task(&task("b")).unwrap().planned.start;
        (b.date, b.into_day.hours())
    };
    let march = |d, h| (date(2026, 3, d), h);
    assert_eq!(after(Lag::None), march(9, 0.0));
    assert_eq!(after(Lag::WorkingHours(10.0)), march(10, 2.0));
    assert_eq!(after(Lag::WorkingDays(1)), march(10, 0.0));
    assert_eq!(after(Lag::CalendarDays(2)), march(9, 0.0));
    assert_eq!(after(Lag::CalendarDays(3)), march(10, 0.0));
    assert_eq!(after(Lag::CalendarDays(0)), march(9, 0.0));
}

/// The crew works Saturdays and on federal holidays, the notice law counts neither: call on Thursday 2 July
/// 2026, whose Friday is the observed holiday; Monday, Tuesday, Wednesday pass; dig on Thursday the 9th.
#[test]
fn notice_runs_on_its_own_calendar() {
    let mut six_days = CalendarDraft::us_office();
    six_days.week = WeekHours([8.0, 8.0, 8.0, 8.0, 8.0, 8.0, 0.0]);
    six_days.holidays = HolidaySet::none();
    let tasks = vec![
        Task::wait(task("marks"), "marks", Wait::Marks(MarkNotice::default())),
        work("dig", 8.0).after(&task("marks")),
    ];
    let mut made = request(WorkingCalendar::new(six_days).unwrap(), date(2026, 7, 2), tasks);
    assert_eq!(schedule(&made).unwrap().finish, date(2026, 7, 7));
    made.notice_calendar = Some(office());
    let plan = schedule(&made).unwrap();
    assert_eq!(plan.finish, date(2026, 7, 9));
    assert_eq!(plan.hold_points[0].no_later_than, Some(date(2026, 7, 2)));
}

#[test]
fn a_circle_is_named() {
    let tasks = vec![
        work("a", 1.0),
        work("b", 1.0).after(&task("d")).after(&task("a")),
        work("c", 1.0).after(&task("b")),
        work("d", 1.0).after(&task("c")),
        work("e", 1.0).after(&task("d")),
    ];
    let fault = schedule(&request(office(), date(2026, 3, 2), tasks)).unwrap_err();
    let PlanError::Cycle { path } = &fault.0[0] else { panic!("{fault}") };
    assert_eq!(path.len(), 4);
    assert_eq!(path[0], path[3]);
    assert!(!path.contains(&task("a")) && !path.contains(&task("e")));
    assert!(fault.to_string().contains("in a circle"));
    let own = vec![work("a", 1.0).after(&task("a"))];
    let fault = schedule(&request(office(), date(2026, 3, 2), own)).unwrap_err();
    assert_eq!(fault.0, [PlanError::Cycle { path: vec![task("a"), task("a")] }]);
}

#[test]
fn every_fault_at_once_with_its_place() {
    let finisher = TradeId::new("finisher").unwrap();
    let mut no_trade = Work::new(4.0, finisher.clone(), 1);
    no_trade.crew = Some(CrewId::new("crew-1").unwrap());
    let mut no_crew = Work::new(-4.0, laborer(), 0);
    no_crew.crew = Some(CrewId::new("crew-9").unwrap());
    let mut no_machine = Work::new(9.0, finisher, 1);
    no_machine.machines = vec![MachineNeed { machine: MachineId::new("crane").unwrap(), count: 1 }];
    no_machine.within_one_day = true;
    let tasks = vec![
        Task::work(task("a"), "a", no_trade),
        Task::work(task("b"), "b", no_crew),
        Task::work(task("c"), "c", no_machine).after(&task("z")),
        work("c", f64::INFINITY),
    ];
    let fault = schedule(&request(office(), date(2026, 3, 2), tasks)).unwrap_err();
    let text = fault.to_string();
    for part in [
        "tasks[3].id: `c` is already used",
        "tasks[0] `a`.crew: crew `crew-1` has 0 of trade `finisher`, 1 are needed",
        "tasks[1] `b`.crew_hours: -4 hours",
        "tasks[1] `b`.trades[0].people: 0 is no need",
        "there is no crew `crew-9`; the crews are crew-1",
        "tasks[2] `c`.predecessors[0]: there is no task `z`",
        "9.00 hours must be done within one day, but no day has more than 8.00",
        "there is no machine `crane`; the machines are none",
        "no single crew has 1 finisher; the crews are crew-1 (1000 laborer)",
        "tasks[3] `c`.crew_hours: inf hours",
    ] {
        assert!(text.contains(part), "`{part}` is missing in:\n{text}");
    }
}

#[test]
fn dangers_are_told() {
    let mut dig = Work::new(4.0, laborer(), 1);
    dig.breaks_ground = true;
    let mut pour = Work::new(4.0, laborer(), 1);
    pour.places_concrete = true;
    let tasks = vec![
        Task::work(task("dig"), "dig", dig.clone()),
        Task::work(task("pour"), "pour", pour).after(&task("dig")),
        Task::milestone(task("wheels"), "wheels").after(&task("pour")).holding(HoldKind::WheelsMayCross),
    ];
    let plan = schedule(&request(office(), date(2026, 3, 2), tasks)).unwrap();
    assert_eq!(
        plan.cautions,
        [
            PlanCaution::GroundWithoutMarks { task: task("dig") },
            PlanCaution::PourWithoutInspection { task: task("pour") },
            PlanCaution::WheelsWithoutCure { task: task("wheels") },
        ]
    );
    let notice = MarkNotice { marks_good_for_days: Some(10), ..MarkNotice::default() };
    let dug_for = |hours: f64| {
        let tasks = vec![
            Task::wait(task("marks"), "marks", Wait::Marks(notice.clone())),
            Task::work(task("dig"), "dig", Work { crew_hours: hours, ..dig.clone() }).after(&task("marks")),
        ];
        schedule(&request(office(), date(2026, 3, 2), tasks)).unwrap()
    };
    // Friday the 6th and Monday the 9th to Thursday the 12th, the last day on which the marks may be relied on.
    assert_eq!(dug_for(40.0).cautions, []);
    assert_eq!(dug_for(41.0).cautions.len(), 1);
    let plan = dug_for(80.0);
    let [PlanCaution::MarksLapse { lapse, finish, .. }] = plan.cautions.as_slice() else { panic!() };
    assert_eq!((*lapse, *finish), (date(2026, 3, 12), date(2026, 3, 19)));
}

/// Monday 1 March 2027: five working days are over on Friday the 5th, three clear ones after a Tuesday too.
#[test]
fn waits_of_working_days_end_on_one() {
    let wait = |id: &str, wait| Task::wait(task(id), id, wait);
    let days =
        Task { not_before: Some(date(2027, 3, 2)), ..wait("marks", Wait::Marks(MarkNotice::default())) };
    let short = MarkNotice { working_days: 1, ..MarkNotice::default() };
    let tasks = vec![
        wait("permit", Wait::WorkingDays(5)),
        days,
        wait("day", Wait::WorkingDays(1)),
        wait("night", Wait::CalendarDays(1)),
        wait("week", Wait::CalendarDays(7)),
        wait("call", Wait::Marks(short)),
        work("dig", 8.0).after(&task("permit")).after(&task("marks")),
    ];
    let plan = schedule(&request(office(), date(2027, 3, 1), tasks)).unwrap();
    let of = |id: &str| plan.task(&task(id)).unwrap();
    assert_eq!(of("permit").planned.finish.date, date(2027, 3, 5));
    assert_eq!(of("permit").late.finish.date, date(2027, 3, 5));
    let bases = ["permit", "marks", "day", "night", "week", "call"].map(|id| of(id).basis.as_str());
    assert_eq!(
        bases,
        [
            "5 working days from 2027-03-01: through 2027-03-05",
            "notice of 3 clear working days from 2027-03-02: through 2027-03-05",
            "1 working day from 2027-03-01: through 2027-03-01",
            "1 calendar day from 2027-03-01: through 2027-03-01",
            "7 calendar days from 2027-03-01: through 2027-03-07",
            "notice of 1 clear working day from 2027-03-01: through 2027-03-02",
        ]
    );
    assert_eq!(of("dig").planned.start.date, date(2027, 3, 8));
}
