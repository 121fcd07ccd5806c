//! The plan of a job, made from its layout: the tasks and their order, then [`crate::compute::plan`] for the dates.
//!
//! ```text
//! layout + hours ─▶ parts (minutes by run and line) ─▶ pours ─▶ tasks ─▶ plan::schedule ─▶ answer
//! price book ─▶ office (calendars, crews, machines, waits)        └▶ days worked ─▶ hire, overtime, travel
//! ```
//!
//! | file | subject |
//! |---|---|
//! | [`office`] | calendars, crews, machines, waits out of the book |
//! | [`parts`] | hours shared among runs and lines |
//! | [`pours`] | what is poured together |
//! | [`tasks`] | tasks and what each waits for |
//! | `growing` | the list of them as it grows |
//! | `placing` | each pour, and what passes by itself after it |
//! | [`about`] | the runs and lines a task is about |
//! | [`report`] | reported starts and finishes |
//! | `faults` | why a job cannot be planned, at the place that asked for it |
//! | `goods` | the day on which goods are first needed, against that of the orders |
//! | [`answer`] | the plan as it is handed out |
//! | `handed_out` | the dates of the plan and the tasks of the job, made into it |
//! | [`words`] | its words |
//! | [`risk`] | how sure hours, cost and finish are |
//! | [`kept`] | issued plans as text, to be kept |

// Each rule has a function of its own.
#![warn(clippy::too_many_lines)]

pub mod about;
pub mod answer;
mod faults;
mod goods;
mod growing;
mod handed_out;
pub mod kept;
pub mod office;
pub mod parts;
mod placing;
pub mod pours;
pub mod report;
pub mod risk;
pub mod tasks;
pub mod words;

pub use answer::PlanAnswer;

use crate::compute::answers::BookUsed;
use crate::compute::calendar::CalendarError;
use crate::compute::labor::days::DayWork;
use crate::compute::labor::{Conditions, LaborHours};
use crate::compute::plan::{Anchor, Plan, PlanRequest, TaskKind, schedule};
use crate::compute::takeoff::Takeoff;
use crate::domain::book::PriceBook;
use crate::domain::layout::Layout;
use crate::domain::lines::{Check, Outcome};
use crate::domain::words::Task;
use crate::units::show::counted;
use crate::wire::book::planning::ClearUpWhen;
use crate::wire::notes::ScheduleNotes;
use crate::wire::planning::PlanInputs;
use crate::wire::{At, Faults};
use jiff::civil::Date;
use office::Office;
use report::Carried;
use tasks::{Item, Source};

/// A job with its tasks, ready to be planned.
#[derive(Debug)]
pub struct Prepared {
    /// The tasks.
    pub items: Vec<Item>,
    /// The office.
    pub office: Office,
    /// Task and method of the hours, in their order: what [`Item::made_of`] names.
    pub rates: Vec<(Task, String)>,
}

/// The tasks of a job.
///
/// # Errors
/// Faults of the book's calendars; a published book has none.
pub fn prepare(
    layout: &Layout<'_>,
    taken: &Takeoff<'_>,
    conditions: &Conditions<'_>,
    labor: &LaborHours,
    book: &PriceBook,
) -> Result<Prepared, Faults> {
    let office = office::office(book, layout.schedule).map_err(calendar_faults)?;
    let parts = parts::share(labor, taken, conditions, book);
    let permit = tasks::has_permit(layout, book);
    let items = tasks::tasks(&Source { layout, labor, parts: &parts, office: &office, permit });
    let rates = labor.tasks.iter().map(|t| (t.task, t.method.clone())).collect();
    Ok(Prepared { items, office, rates })
}

/// What the dates hang on: what was asked, else what the notes say; `None` where neither names a day.
pub(crate) fn anchor(
    schedule: Option<&ScheduleNotes>,
    inputs: &PlanInputs,
    at: &At<'_>,
) -> Result<Option<Anchor>, Faults> {
    let start = inputs.start.or_else(|| schedule.and_then(|s| s.start)).map(|d| d.date());
    let finish = inputs.finish.or_else(|| schedule.and_then(|s| s.finish)).map(|d| d.date());
    match (start, finish) {
        // of the two, what was asked is at fault; the days of the notes were held against each other there
        (Some(start), Some(finish))
            if finish < start && (inputs.start.is_some() || inputs.finish.is_some()) =>
        {
            let mut faults = Faults::new();
            if inputs.finish.is_some() {
                let rule = format!("the last day is not before the first, {start}");
                faults.value(&at.member("finish"), "contradiction", &finish.to_string(), rule);
            } else {
                let rule = format!("the first day is not after the last, {finish}");
                faults.value(&at.member("start"), "contradiction", &start.to_string(), rule);
            }
            Err(faults)
        }
        (Some(start), Some(finish)) => Ok(Some(Anchor::StartAndWish { start, finish })),
        (Some(start), None) => Ok(Some(Anchor::Start(start))),
        (None, Some(finish)) => Ok(Some(Anchor::Finish(finish))),
        (None, None) => Ok(None),
    }
}

/// The fault of a plan that nothing names a day for.
pub(crate) fn no_day() -> Faults {
    let mut faults = Faults::new();
    let rule = "a plan hangs on a day: give `start`, `finish` or both, here or in `schedule` of the notes";
    faults.add(&At::ROOT, "required", rule).allow(["start", "finish"]);
    faults
}

/// The request to the core, and what is to be told of tasks that are no longer in the plan.
///
/// # Errors
/// Reports and days that name no task of the plan, or that cannot be.
pub fn request(
    prepared: &Prepared,
    anchor: Anchor,
    inputs: &PlanInputs,
    carried: &Carried,
    at: &At<'_>,
) -> Result<(PlanRequest, Vec<String>), Faults> {
    let mut tasks: Vec<_> = prepared.items.iter().map(|i| i.task.clone()).collect();
    let gone = report::apply(&mut tasks, inputs, carried, at)?;
    let request = PlanRequest {
        calendar: prepared.office.calendar.clone(),
        notice_calendar: prepared.office.notice.clone(),
        tasks,
        crews: prepared.office.crews.clone(),
        machines: prepared.office.machines.clone(),
        anchor,
        status_date: inputs.status_date.map(|d| d.date()),
        settings: prepared.office.settings.clone(),
    };
    Ok((request, gone))
}

/// Where a plan is asked for.
#[derive(Debug, Clone, Copy)]
pub struct Places<'a> {
    /// Its days and reports.
    pub inputs: &'a At<'a>,
    /// Its notes.
    pub notes: &'a At<'a>,
    /// Their schedule, where they have one.
    pub schedule: Option<&'a ScheduleNotes>,
}

fn calendar_faults(errors: Vec<CalendarError>) -> Faults {
    let mut faults = Faults::new();
    for error in errors {
        faults.add(&At::ROOT, "calendar", error.to_string());
    }
    faults
}

/// A plan with what it was made from.
#[derive(Debug)]
pub struct Planned {
    /// The dates.
    pub plan: Plan,
    /// What the core was asked.
    pub request: PlanRequest,
    /// The tasks.
    pub prepared: Prepared,
    /// What is to be told of tasks that are no longer in the plan.
    pub gone: Vec<String>,
}

impl Planned {
    /// The plan as it is handed out.
    pub fn answer(&self, layout: &Layout<'_>, labor: &LaborHours, price_book: BookUsed) -> PlanAnswer {
        let office = &self.prepared.office;
        let calendar = office.calendar.name();
        let mut answer = handed_out::answer(
            &self.plan,
            &self.prepared.items,
            handed_out::Around {
                price_book,
                calendar,
                notice: office.notice.as_ref().map_or(calendar, |n| n.name()),
                labor,
                cautions: self.cautions(layout),
            },
        );
        answer.checks.extend(self.wish());
        answer.checks.sort_by_key(|c| std::cmp::Reverse(c.outcome));
        answer
    }

    /// Whether the job is done by the finish that was wished; none when none was.
    pub fn wish(&self) -> Option<Check> {
        let wish = self.plan.wish?;
        let (wished, planned, days) = (wish.wished, wish.planned, wish.working_days_to_spare);
        let (outcome, reason) = if planned > wished {
            let late = counted(days.unsigned_abs(), "working day");
            let how = "start earlier, send more people, or agree a later day";
            (Outcome::Warn, format!("planned until {planned}, {late} after the wished {wished}: {how}"))
        } else {
            let spare = counted(days, "working day");
            (Outcome::Pass, format!("planned until {planned}; {spare} to spare until {wished}"))
        };
        Some(Check { name: "finish_wished", subject: "plan".to_owned(), outcome, reason })
    }

    /// Further cautions of the job: visits that the notes do not count, orders that the pours do not follow.
    fn cautions(&self, layout: &Layout<'_>) -> Vec<String> {
        let mut out = self.gone.clone();
        let task = |word: &str| self.plan.tasks.iter().find(|t| t.id.as_str() == word);
        let last = |kind: fn(&Item) -> bool| {
            self.prepared
                .items
                .iter()
                .filter(|i| kind(i) && i.task.id.as_str() != "clear_up")
                .filter_map(|i| Some(self.plan.task(&i.task.id)?.planned.finish.date))
                .max()
        };
        if let (Some(clear), Some(before)) =
            (task("clear_up"), last(|i| matches!(i.task.kind, TaskKind::Work(_))))
            && self.prepared.office.waits.clear_up == ClearUpWhen::AfterCure
        {
            let back = clear.planned.start.date;
            let between = crate::compute::calendar::count::add_calendar_days(before, 1)
                .and_then(|d| self.prepared.office.calendar.count_working_days(d, back))
                .unwrap_or(0);
            if between > 0 && layout.visits < 2 {
                out.push(format!(
                    "the crew is done on {before} and comes back on {back} to clear up and open; the notes count 1 visit: count 2 in `options.visits`, or clear up with the work"
                ));
            }
        }
        let first = layout.visits - i64::from(tasks::crew_returns(layout, &self.prepared.office));
        if first > 1 && task("mobilize").is_some() {
            out.push(format!(
                "the notes count {} visits: the plan has the mobilizations of {first} of them on the first day, since nothing in \
                 it says when the crew comes back for them",
                layout.visits
            ));
        }
        out.extend(pours::one_order_each(&self.plan, &self.prepared.items, !layout.pour_days.is_empty()));
        out
    }

    /// How many people of a trade a crew has; the crew is a place as in [`Self::days`].
    pub fn strength(&self, crew: usize, trade: &str) -> i64 {
        let people = self.prepared.office.crews.get(crew).map(|c| &c.people);
        people.and_then(|p| p.iter().find(|(t, _)| t.as_str() == trade)).map_or(0, |(_, n)| i64::from(*n))
    }

    /// The work by day, task of the hours and crew.
    pub fn days(&self) -> Vec<DayWork> {
        let calendar = &self.prepared.office.calendar;
        let mut out = Vec::new();
        for item in self.prepared.items.iter().filter(|i| !i.made_of.is_empty()) {
            let Some(planned) = self.plan.task(&item.task.id) else { continue };
            let crew = self.prepared.office.crews.iter().position(|c| Some(&c.id) == planned.crew.as_ref());
            let mut day: Date = planned.planned.start.date;
            let mut used = i64::from(planned.planned.start.into_day.minutes());
            for (task, minutes) in &item.made_of {
                let mut left = *minutes;
                while left > 0 {
                    let room = i64::from(calendar.minutes_on(day).minutes()) - used;
                    let next = day.tomorrow().ok().filter(|next| *next <= planned.planned.finish.date);
                    if let Some(next) = next.filter(|_| room <= 0) {
                        (day, used) = (next, 0);
                        continue;
                    }
                    // Rounding to the minute may leave one over: it stays on the last day.
                    let taken = if room > 0 { left.min(room) } else { left };
                    out.push(DayWork {
                        on: day,
                        task: *task,
                        crew: crew.unwrap_or(0),
                        from: used,
                        minutes: taken,
                    });
                    used += taken;
                    left -= taken;
                }
            }
        }
        out
    }
}

/// Plans a prepared job; of the inputs, `carried` stood in the plan before.
///
/// # Errors
/// Every fault of the inputs, and every reason why the job cannot be planned.
pub fn plan(
    prepared: Prepared,
    anchor: Anchor,
    inputs: &PlanInputs,
    carried: &Carried,
    places: Places<'_>,
) -> Result<Planned, Faults> {
    let (request, gone) = request(&prepared, anchor, inputs, carried, places.inputs)?;
    let plan = schedule(&request).map_err(|e| faults::plan_faults(&e, &prepared, inputs, carried, places))?;
    Ok(Planned { plan, request, prepared, gone })
}
