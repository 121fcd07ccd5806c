//! On which day a plan begins: each task on the first day of its own calendar.

use jiff::civil::{Date, date};
use rillcast::compute::{
    calendar::*,
    plan::*,
    risk::{RiskRequest, RiskTask, Spread, simulate},
};

use crate::common::{every_day, office, request, task, work};

/// The demo's first tasks: call and permit go to offices that are open while the crews are away.
fn begins(calendar: WorkingCalendar, start: Date) -> PlanRequest {
    let tasks = vec![
        Task::wait(task("marks"), "Marks", Wait::Marks(MarkNotice::default())),
        Task::wait(task("permit"), "Permit", Wait::WorkingDays(5)),
        work("mobilize", 4.0).after(&task("marks")).after(&task("permit")),
        work("yard", 2.0),
        Task::wait(task("delivery"), "Delivery", Wait::CalendarDays(3)),
    ];
    let mut made = request(calendar, start, tasks);
    made.notice_calendar = Some(office());
    made
}

fn span(plan: &Plan, id: &str) -> (Date, Date) {
    let planned = plan.task(&task(id)).unwrap().planned;
    (planned.start.date, planned.finish.date)
}

/// The crews are away from 28 to 31 December 2026; New Year is a holiday for all. By hand: the call on Monday the 28th, three
/// clear days to the 31st; the permit takes the 28th to the 31st and Monday 4 January.
#[test]
fn offices_work_while_the_crews_are_away() {
    let mut draft = CalendarDraft::us_office();
    draft.extra_closed = (28..=31).map(|d| (date(2026, 12, d), "Winter break".to_owned())).collect();
    let made = begins(WorkingCalendar::new(draft).unwrap(), date(2026, 12, 28));
    let plan = schedule(&made).unwrap();
    assert_eq!(span(&plan, "marks"), (date(2026, 12, 28), date(2026, 12, 31)));
    assert_eq!(span(&plan, "permit"), (date(2026, 12, 28), date(2027, 1, 4)));
    assert_eq!(span(&plan, "mobilize").0, date(2027, 1, 5));
    assert_eq!(span(&plan, "yard").0, date(2027, 1, 4));
    assert_eq!(span(&plan, "delivery").0, date(2026, 12, 28));
    assert_eq!((plan.start, plan.finish), (date(2026, 12, 28), date(2027, 1, 5)));
    let call = &plan.hold_points[0];
    assert_eq!((call.on, call.no_later_than), (date(2026, 12, 28), Some(date(2026, 12, 29))));

    // what is simulated begins where the plan does
    let sure =
        RiskTask { id: task("mobilize"), crew_hours: 4.0, spread: Spread::none(), cost_per_crew_hour: 0.0 };
    let risk = simulate(&RiskRequest {
        tasks: vec![sure],
        job_sd: 0.0,
        fixed_cost: 0.0,
        plan: Some(&made),
        draws: 100,
        seed: 1,
        confidence: 0.8,
    })
    .unwrap();
    assert_eq!(risk.finish.unwrap().p50, plan.finish);
}

#[test]
fn a_friday_is_a_day_of_the_offices_where_the_crews_work_four() {
    let mut draft = CalendarDraft::us_office();
    draft.week = WeekHours([10.0, 10.0, 10.0, 10.0, 0.0, 0.0, 0.0]);
    let friday = date(2027, 3, 5);
    let plan = schedule(&begins(WorkingCalendar::new(draft).unwrap(), friday)).unwrap();
    assert_eq!(span(&plan, "marks"), (friday, date(2027, 3, 10)));
    assert_eq!(span(&plan, "permit"), (friday, date(2027, 3, 11)));
    // the permit is there on the evening of Thursday; Friday is no day of the crews
    assert_eq!(span(&plan, "mobilize").0, date(2027, 3, 15));
    assert_eq!(span(&plan, "yard").0, date(2027, 3, 8));
}

#[test]
fn crews_begin_on_a_day_on_which_the_offices_are_closed() {
    let saturday = date(2027, 3, 6);
    let plan = schedule(&begins(every_day(), saturday)).unwrap();
    assert_eq!(span(&plan, "yard").0, saturday);
    assert_eq!(span(&plan, "marks").0, date(2027, 3, 8));
    assert_eq!(span(&plan, "permit"), (date(2027, 3, 8), date(2027, 3, 12)));
    assert_eq!(span(&plan, "mobilize").0, date(2027, 3, 13));
}
