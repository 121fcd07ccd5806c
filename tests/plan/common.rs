//! Small builders for plans.

use jiff::civil::Date;
use rillcast::compute::{calendar::*, plan::*};

pub fn task(id: &str) -> TaskId {
    TaskId::new(id).unwrap()
}

pub fn laborer() -> TradeId {
    TradeId::new("laborer").unwrap()
}

pub fn office() -> WorkingCalendar {
    WorkingCalendar::new(CalendarDraft::us_office()).unwrap()
}

/// Every day of the week, 8 hours, no holidays.
pub fn every_day() -> WorkingCalendar {
    let mut draft = CalendarDraft::us_office();
    draft.week = WeekHours([8.0; 7]);
    draft.holidays = HolidaySet::none();
    WorkingCalendar::new(draft).unwrap()
}

pub fn crew(id: &str, people: u32) -> Crew {
    Crew { id: CrewId::new(id).unwrap(), people: [(laborer(), people)].into() }
}

pub fn work(id: &str, hours: f64) -> Task {
    Task::work(task(id), format!("Work {id}"), Work::new(hours, laborer(), 1))
}

pub fn request(calendar: WorkingCalendar, start: Date, tasks: Vec<Task>) -> PlanRequest {
    PlanRequest {
        calendar,
        notice_calendar: None,
        tasks,
        crews: vec![crew("crew-1", 1_000)],
        machines: vec![],
        anchor: Anchor::Start(start),
        status_date: None,
        settings: PlanSettings::default(),
    }
}
