//! The stages of a plan and of its risk; the days that an estimate is laid on.

use super::{Ready, estimate};
use crate::compute::answers::BookUsed;
use crate::compute::drainage::shelf::RainShelf;
use crate::compute::job_plan::{self, Places, PlanAnswer, report::Carried, risk::RiskAnswer};
use crate::compute::labor::{self, Conditions};
use crate::compute::plan::{Anchor, Plan};
use crate::compute::pouring;
use crate::compute::second_look;
use crate::compute::summary;
use crate::compute::takeoff::{self, Takeoff};
use crate::domain::book::{BookRef, PriceBook};
use crate::domain::layout::Layout;
use crate::units::Percent;
use crate::wire::notes::SiteNotes;
use crate::wire::planning::{PlanInputs, RiskRequestBody};
use crate::wire::{At, Faults, List};

/// The plan of a job; of the inputs, `carried` stood in the plan before.
///
/// # Errors
/// Every fault of the notes under `notes`, of the days asked for, and every reason why the job cannot be planned.
pub fn plan(
    notes: &SiteNotes,
    inputs: &PlanInputs,
    carried: &Carried,
    book: &PriceBook,
    used: &BookRef,
    rains: &RainShelf,
) -> Result<(PlanAnswer, Plan), Faults> {
    let anchor = job_plan::anchor(notes.schedule.as_ref(), inputs, &At::ROOT)
        .and_then(|anchor| anchor.ok_or_else(job_plan::no_day));
    let ready = Ready::of(notes, book, rains).map_err(|f| f.under("notes").and(&anchor))?;
    let layout = ready.layout(book, rains).map_err(|f| f.under("notes").and(&anchor))?;
    let anchor = anchor?;
    let (taken, labor) = worked(&layout, book).map_err(|f| f.under("notes"))?;
    let prepared = job_plan::prepare(&layout, &taken, &Conditions::of(&layout, &taken), &labor, book)?;
    let sent = At::ROOT.member("notes");
    let places = Places { inputs: &At::ROOT, notes: &sent, schedule: notes.schedule.as_ref() };
    let planned = job_plan::plan(prepared, anchor, inputs, carried, places)?;
    let mut answer = planned.answer(&layout, &labor, BookUsed::from(used));
    answer.checks.extend(second_look::notes::checks(notes, layout.show));
    summary::sort(&mut answer.checks);
    Ok((answer, planned.plan))
}

/// How sure the hours, the cost and the finish of a job are.
///
/// # Errors
/// As [`plan`], and numbers out of range.
pub fn risk(
    request: &RiskRequestBody,
    book: &PriceBook,
    used: &BookRef,
    rains: &RainShelf,
) -> Result<RiskAnswer, Faults> {
    let RiskRequestBody { price_book_version: _, notes, start, draws, seed, confidence_pct } = request;
    let inputs = PlanInputs { start: *start, ..no_inputs() };
    let anchor = job_plan::anchor(notes.schedule.as_ref(), &inputs, &At::ROOT);
    let estimate = estimate(notes, book, used, rains).map_err(|f| f.under("notes").and(&anchor))?;
    let ready = Ready::of(notes, book, rains).map_err(|f| f.under("notes"))?;
    let layout = ready.layout(book, rains).map_err(|f| f.under("notes"))?;
    let (taken, labor) = worked(&layout, book).map_err(|f| f.under("notes"))?;
    let prepared = job_plan::prepare(&layout, &taken, &Conditions::of(&layout, &taken), &labor, book)?;
    let tasks = job_plan::risk::tasks(&prepared.items, &labor, book);
    // Without a day there is nothing to hang a finish on; with a wished finish alone its latest start is taken.
    let request = match anchor? {
        None => None,
        Some(anchor) => {
            let sent = At::ROOT.member("notes");
            let places = Places { inputs: &At::ROOT, notes: &sent, schedule: notes.schedule.as_ref() };
            let planned = job_plan::plan(prepared, anchor, &inputs, &Carried::default(), places)?;
            let mut request = planned.request;
            request.anchor = Anchor::Start(planned.plan.start);
            Some(request)
        }
    };
    job_plan::risk::risk(
        &job_plan::risk::Uncertain {
            tasks,
            job_sd: job_plan::risk::job_sd(book),
            estimated: estimate.summary.direct_cost,
            checks: &estimate.checks,
            plan: request.as_ref(),
        },
        job_plan::risk::Draws {
            count: draws.map_or(10_000, |d| u32::try_from(d.get()).unwrap_or(10_000)),
            seed: seed.map_or(1, |s| u64::try_from(s.get()).unwrap_or(1)),
            confidence: confidence_pct.unwrap_or(Percent::whole(80)),
        },
        BookUsed::from(used),
        book.currency(),
    )
}

/// No day, nothing reported.
pub fn no_inputs() -> PlanInputs {
    PlanInputs { start: None, finish: None, not_before: None, status_date: None, progress: List::default() }
}

/// The take-off and the hours of a layout.
pub(crate) fn worked<'a>(
    layout: &Layout<'a>,
    book: &'a PriceBook,
) -> Result<(Takeoff<'a>, labor::LaborHours), Faults> {
    let taken = takeoff::take_off(layout, book);
    let measures = pouring::measures(layout, &taken, book)?;
    let labor = labor::hours(&measures, &Conditions::of(layout, &taken), book, layout.show);
    Ok((taken, labor))
}

/// The plan of notes that name a day.
pub(super) fn dated_plan(
    layout: &Layout<'_>,
    taken: &Takeoff<'_>,
    conditions: &Conditions<'_>,
    labor: &labor::LaborHours,
    book: &PriceBook,
) -> Result<Option<job_plan::Planned>, Faults> {
    let at = At::ROOT.member("schedule");
    let inputs = no_inputs();
    let Some(anchor) = job_plan::anchor(layout.schedule, &inputs, &at)? else { return Ok(None) };
    let prepared = job_plan::prepare(layout, taken, conditions, labor, book)?;
    let places = Places { inputs: &at, notes: &At::ROOT, schedule: layout.schedule };
    job_plan::plan(prepared, anchor, &inputs, &Carried::default(), places).map(Some)
}

/// Overtime and travel: on the days of the plan, else task after task on the weekdays of the crews' calendar.
pub(super) fn lay_on_days(
    labor: &mut labor::LaborHours,
    planned: Option<&job_plan::Planned>,
    layout: &Layout<'_>,
    book: &PriceBook,
) {
    if !labor::days::wanted(book, layout.travel) {
        return;
    }
    let days = match planned {
        Some(planned) => planned.days(),
        None => labor::days::in_sequence(labor, job_plan::office::week_minutes(book, layout.schedule)),
    };
    let strength = planned.map(|planned| |crew: usize, trade: &str| planned.strength(crew, trade));
    let strength = strength.as_ref().map(|s| s as labor::days::Strength<'_>);
    labor::days::add(labor, &days, layout.travel, book, strength);
}
