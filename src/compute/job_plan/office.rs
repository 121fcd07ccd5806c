//! The office as plans know it: calendars, crews, machines and waits out of a price book.

use crate::compute::calendar::{
    CalendarDraft, CalendarError, Cure, CureEnd, HolidaySet, MarkNotice, Observance, StrengthGain, WeekHours,
    WorkingCalendar, count::add_calendar_days,
};
use crate::compute::plan::{Crew, CrewId, Machine, MachineId, PlanSettings, TradeId};
use crate::domain::book::PriceBook;
use crate::domain::usual;
use crate::units::quantity::Span;
use crate::units::show::counted;
use crate::wire::Code;
use crate::wire::book::planning::{
    ClearUpWhen, HolidayObserved, HolidayRules, StrengthRule, Waits, WorkCalendar,
};
use crate::wire::book::work::CrewMember;
use crate::wire::notes::ScheduleNotes;
use std::collections::{BTreeMap, BTreeSet};

/// Most days of one closure.
pub const CLOSED_DAYS_MOST: i64 = 1_100;

/// The waits of a book with every default filled in.
#[derive(Debug, Clone, PartialEq)]
pub struct WaitDays {
    /// Notice before digging.
    pub marks: MarkNotice,
    /// Working days for a permit.
    pub permit: u32,
    /// Working days for the inspection before a pour.
    pub inspection: u32,
    /// Calendar days before forms are stripped.
    pub strip: u32,
    /// Cure before wheels cross, with the words for its basis.
    pub wheels: (Cure, String),
    /// Cure before people cross.
    pub feet: (Cure, String),
    /// When the site is cleared up.
    pub clear_up: ClearUpWhen,
}

/// What a plan is made with.
#[derive(Debug, Clone, PartialEq)]
pub struct Office {
    /// The crews' calendar.
    pub calendar: WorkingCalendar,
    /// The calendar of notices, where it is another.
    pub notice: Option<WorkingCalendar>,
    /// The crews on the job.
    pub crews: Vec<Crew>,
    /// Machines there are.
    pub machines: Vec<Machine>,
    /// Waits.
    pub waits: WaitDays,
    /// Limits and habits.
    pub settings: PlanSettings,
}

/// The working calendar of the core for one of the book.
///
/// # Errors
/// Every fault of the calendar: no workday, hours that no day has, a day both open and closed.
pub fn calendar(given: &WorkCalendar) -> Result<WorkingCalendar, Vec<CalendarError>> {
    let w = &given.week;
    let week = [w.monday, w.tuesday, w.wednesday, w.thursday, w.friday, w.saturday, w.sunday];
    let kept = match given.kept {
        Some(HolidayObserved::Actual) => Observance::Actual,
        Some(HolidayObserved::Both) => Observance::ActualAndObserved,
        Some(HolidayObserved::Observed) | None => Observance::Observed,
    };
    let mut closed = BTreeMap::new();
    for days in &given.closed {
        let mut day = days.from.date();
        let last = days.to.map_or(day, |d| d.date());
        for _ in 0..=CLOSED_DAYS_MOST {
            if day > last {
                break;
            }
            closed.insert(day, days.reason.to_string());
            day = add_calendar_days(day, 1).map_err(|e| vec![e])?;
        }
    }
    WorkingCalendar::new(CalendarDraft {
        name: given.name.to_string(),
        week: WeekHours(week.map(|h| h.map_or(0.0, hours))),
        holidays: match given.holidays {
            Some(HolidayRules::UsFederal) => HolidaySet::us_federal(kept),
            Some(HolidayRules::None) | None => HolidaySet::none(),
        },
        extra_closed: closed,
        extra_open: given.open.iter().map(|o| (o.on.date(), hours(o.hours))).collect(),
    })
}

fn hours(span: Span) -> f64 {
    span.seconds() as f64 / 3600.0
}

/// Days of cure until a strength is reached, never fewer than `at_least`.
///
/// # Errors
/// When the curve never reaches the strength, or only after a year.
pub fn strength_days(rule: &StrengthRule, at_least: u16) -> Result<(Cure, String), CalendarError> {
    let usual = StrengthGain::default();
    let number = |f: Option<crate::units::Factor>, or: f64| f.map_or(or, |f| f.millionths() as f64 / 1e6);
    let curve = StrengthGain { a_days: number(rule.a_days, usual.a_days), b: number(rule.b, usual.b) };
    let (mix, asked) = (rule.mix_psi.get(), rule.wheels_psi.get());
    let found = curve.cure(mix as f64, asked as f64, at_least)?;
    let mut words = format!(
        "{asked} psi of {mix} psi by t / ({} + {} t): {}, at least {at_least}",
        curve.a_days,
        curve.b,
        counted(found.value.calendar_days, "day")
    );
    for caution in &found.cautions {
        words.push_str("; ");
        words.push_str(caution);
    }
    Ok((found.value, words))
}

/// Minutes of each weekday of the crews' calendar, Monday first.
pub fn week_minutes(book: &PriceBook, schedule: Option<&ScheduleNotes>) -> [i64; 7] {
    let day = book.doc().labor_rules.as_ref().map_or(usual::WORKING_DAY, |r| r.day).seconds() / 60;
    match crews_own(book, schedule) {
        Some(given) => {
            let w = &given.week;
            [w.monday, w.tuesday, w.wednesday, w.thursday, w.friday, w.saturday, w.sunday]
                .map(|h| h.map_or(0, |s| s.seconds() / 60))
        }
        None => [day, day, day, day, day, 0, 0],
    }
}

fn crews_own<'a>(book: &'a PriceBook, schedule: Option<&ScheduleNotes>) -> Option<&'a WorkCalendar> {
    let rules = book.doc().plan_rules.as_ref()?;
    let named = schedule.and_then(|s| s.calendar.as_ref());
    match named {
        Some(code) => rules.calendars.iter().find(|c| c.code == *code),
        None => rules.calendars.first(),
    }
}

/// Everything a plan is made with.
///
/// # Errors
/// Faults of the calendars; a published book has none.
pub fn office(book: &PriceBook, schedule: Option<&ScheduleNotes>) -> Result<Office, Vec<CalendarError>> {
    let rules = book.doc().plan_rules.as_ref();
    let own = match crews_own(book, schedule) {
        Some(given) => calendar(given)?,
        None => {
            let mut draft = CalendarDraft::us_office();
            draft.week = WeekHours::monday_to_friday(
                hours(book.doc().labor_rules.as_ref().map_or(usual::WORKING_DAY, |r| r.day)).min(23.5),
            );
            WorkingCalendar::new(draft)?
        }
    };
    let notice = rules
        .and_then(|r| r.notice_calendar.as_ref().map(|code| (r, code)))
        .and_then(|(r, code)| r.calendars.iter().find(|c| c.code == *code))
        .map(calendar)
        .transpose()?;
    let keep = rules.and_then(|r| r.keep_machine_idle_days).map_or(0, |d| small(d.get()));
    let waits = waits(book).map_err(|e| vec![e])?;
    Ok(Office {
        calendar: own,
        notice,
        crews: crews(book, schedule),
        machines: machines(book),
        settings: PlanSettings {
            keep_machine_idle_days: keep,
            hired: hired(book),
            inspection_before_pour: waits.inspection > 0,
            ..PlanSettings::default()
        },
        waits,
    })
}

fn small(n: i64) -> u32 {
    u32::try_from(n).unwrap_or(0)
}

fn days(n: i64) -> u16 {
    u16::try_from(n).unwrap_or(0)
}

fn waits(book: &PriceBook) -> Result<WaitDays, CalendarError> {
    let given = book.doc().plan_rules.as_ref().and_then(|r| r.waits.as_ref());
    let concrete = book.doc().concrete_rules.as_ref();
    let days_of = |f: fn(&Waits) -> Option<i64>, or: i64| given.and_then(f).unwrap_or(or);
    let cure = |n: i64, who: &str| {
        let cure = Cure { calendar_days: days(n), end: CureEnd::EndOfDay };
        (cure, format!("{} before {who} cross, as the price book states", counted(n, "calendar day")))
    };
    let wheels = concrete.map_or(usual::CURE_DAYS_WHEELS, |c| c.cure_days_wheels.get());
    let feet = concrete.map_or(usual::CURE_DAYS_FEET, |c| c.cure_days_feet.get());
    let usual = MarkNotice::default();
    Ok(WaitDays {
        marks: MarkNotice {
            working_days: days(days_of(
                |w| w.marks_working_days.map(|d| d.get()),
                i64::from(usual.working_days),
            )),
            day_of_call_counts: given.is_some_and(|w| w.day_of_call_counts.0),
            marks_good_for_days: given.and_then(|w| w.marks_good_for_days).map(|d| days(d.get())),
        },
        permit: small(days_of(|w| w.permit_working_days.map(|d| d.get()), usual::PERMIT_DAYS)),
        inspection: small(days_of(|w| w.inspection_working_days.map(|d| d.get()), usual::INSPECTION_DAYS)),
        strip: small(days_of(|w| w.strip_days.map(|d| d.get()), usual::STRIP_DAYS)),
        wheels: match given.and_then(|w| w.strength.as_ref()) {
            Some(rule) => strength_days(rule, days(wheels))?,
            None => cure(wheels, "wheels"),
        },
        feet: cure(feet, "people"),
        clear_up: given.and_then(|w| w.clear_up).unwrap_or(ClearUpWhen::AfterCure),
    })
}

fn people(members: &[CrewMember]) -> BTreeMap<TradeId, u32> {
    members
        .iter()
        .filter_map(|m| Some((TradeId::new(m.trade.as_str()).ok()?, small(m.count.get()))))
        .collect()
}

/// The crews that the notes name, else the first of the book, else one with the people that the rates need.
fn crews(book: &PriceBook, schedule: Option<&ScheduleNotes>) -> Vec<Crew> {
    let rules = book.doc().plan_rules.as_ref();
    let listed: &[_] = rules.map_or(&[], |r| &r.crews);
    let named: &[Code] = schedule.map_or(&[], |s| &s.crews);
    let chosen = listed
        .iter()
        .enumerate()
        .filter(|(i, c)| if named.is_empty() { *i == 0 } else { named.contains(&c.code) });
    let out: Vec<Crew> = chosen
        .filter_map(|(_, c)| Some(Crew { id: CrewId::new(c.code.as_str()).ok()?, people: people(&c.people) }))
        .collect();
    if !out.is_empty() {
        return out;
    }
    let mut most: BTreeMap<TradeId, u32> = BTreeMap::new();
    for rate in &book.doc().labor {
        for (trade, count) in people(&rate.crew) {
            let have = most.entry(trade).or_default();
            *have = (*have).max(count);
        }
    }
    CrewId::new("crew").ok().map(|id| Crew { id, people: most }).into_iter().collect()
}

fn machines(book: &PriceBook) -> Vec<Machine> {
    let stated = book.doc().plan_rules.as_ref();
    let count = |code: &Code| {
        stated
            .and_then(|r| r.machines.iter().find(|m| m.machine == *code))
            .map_or(1, |m| small(m.count.get()))
    };
    book.doc()
        .equipment
        .iter()
        .filter_map(|e| Some(Machine { id: MachineId::new(e.code.as_str()).ok()?, count: count(&e.code) }))
        .collect()
}

/// Machines that are not the office's own.
fn hired(book: &PriceBook) -> BTreeSet<MachineId> {
    let hired = book.doc().equipment.iter().filter(|e| !e.owned.0);
    hired.filter_map(|e| MachineId::new(e.code.as_str()).ok()).collect()
}
