//! All stages in order. No engineering of its own: read this file to see how an estimate comes about.
//!
//! ```text
//! notes + book -> choose -> resolve -> take off -> water -> consumables -> concrete -> labor -> hire -> extras -> price
//!                                    checks and cautions gathered on the way -> estimate
//! ```

use super::drainage::answer::WaterAnswer;
use super::drainage::shelf::RainShelf;
use super::drainage::{self, choose};
use super::job_plan::{self, PlanAnswer, risk::RiskAnswer};
use super::job_record::JobActuals;
use super::labor::{self, Conditions};
use super::needs::Need;
use super::plan::Plan;
use super::pricing::terms::Terms;
use super::purchase;
use super::ready::Ready;
use super::takeoff::levels::Levels;
use super::takeoff::{self, Takeoff};
use super::{ENGINE, cautions, consumables, load_out, machines, options, pouring, pricing};
use super::{short_forms, summary, unconnected, uplift};
use crate::domain::answers::{BookUsed, Estimate, FlowAnswer, LaborAnswer, LayoutAnswer, PlanBrief};
use crate::domain::book::{BookRef, PriceBook};
use crate::domain::layout::{Layout, choices};
use crate::domain::lines::{Check, Outcome};
use crate::domain::measures::Measures;
use crate::domain::words::{Difficulty, Measure, Soil, Task};
use crate::units::Percent;
use crate::units::show::Show;
use crate::wire::calc::{FlowRequest, LaborRequest, LayoutRequest};
use crate::wire::notes::SiteNotes;
use crate::wire::planning::{PlanInputs, RiskRequestBody};
use crate::wire::{At, Code, Faults, List};
use std::borrow::Cow;

/// The whole estimate of a job.
///
/// # Errors
/// Every fault of the notes, with pointers into them.
pub fn estimate(
    notes: &SiteNotes,
    book: &PriceBook,
    used: &BookRef,
    rains: &RainShelf,
) -> Result<Estimate, Faults> {
    let mut estimate = one(&options::with_chosen(notes, book), book, used, rains)?;
    let outlined = |notes: &SiteNotes, book: &PriceBook, used: &BookRef| {
        Ok(summary::outline(&one(notes, book, used, rains)?))
    };
    estimate.options = options::priced(notes, book, used, &summary::outline(&estimate), &outlined)?;
    Ok(estimate)
}

/// The estimate of the notes as they stand, their options left alone.
fn one(notes: &SiteNotes, book: &PriceBook, used: &BookRef, rains: &RainShelf) -> Result<Estimate, Faults> {
    let ready = Ready::as_they_stand(Cow::Borrowed(notes), book, rains)?;
    let layout = ready.layout(book, rains)?;
    let mut taken = takeoff::take_off(&layout, book);
    let mut checks = std::mem::take(&mut taken.checks);
    let water = water(&layout, &taken.levels, &ready, book, rains, &mut checks)?;

    let (order, measures) = pouring::ordered(&layout, &taken, book)?;
    checks.extend(order.days.iter().flat_map(|d| d.checks()));
    consumables::add(&measures, layout.show, book, &mut taken.needs, &mut checks);
    for extra in layout.extras {
        let note = extra.note.as_ref().map_or("added by hand", |n| n.as_str());
        taken.needs.add(book, &extra.item, Need::Units(extra.quantity.number()), "extra", note);
    }
    checks.append(&mut taken.needs.problems);

    let conditions = conditions_of(&layout, &taken);
    let mut labor = labor::hours(&measures, &conditions, book, layout.show);
    checks.extend(labor.checks.iter().cloned());
    let planned = dated_plan(&layout, &taken, &conditions, &labor, book)?;
    checks.extend(planned.as_ref().and_then(job_plan::Planned::wish));
    lay_on_days(&mut labor, planned.as_ref(), &layout, book);
    let hired = match &planned {
        Some(planned) => machines::on_site(&planned.plan.machine_windows, &labor, book),
        None => machines::machines(&labor, book),
    };
    let hires = machines::hires(planned.as_ref().map(|p| p.plan.machine_windows.as_slice()), &labor, book);

    let buying = purchase::Terms::of(&layout);
    let bought = purchase::buy(&taken.needs, book, buying, &mut checks);
    let purchases = bought.plan(&taken.needs, book, buying);
    let mut cost_lines = bought.lines;
    let load_out = load_out::list(&labor.methods_in_use(), &cost_lines, book);
    cost_lines.extend(order.chosen_lines().cloned());
    cost_lines.extend(labor.cost_lines.iter().cloned());
    cost_lines.extend(hired);
    let terms = Terms::of(notes.pricing.as_ref());
    cost_lines.extend(terms.cost_lines());
    // By category, in the order in which lines arose.
    cost_lines.sort_by_key(|line| line.category);

    let scheme = layout
        .markup_scheme
        .and_then(|code| book.doc().markup_schemes.iter().find(|s| s.code == *code))
        .or_else(|| book.doc().markup_schemes.first());
    let Some(scheme) = scheme else {
        let mut faults = Faults::new();
        faults.add(&At::ROOT, "no_markup_scheme", "the price book has no markup scheme");
        return Err(faults);
    };
    let taxes = &book.doc().taxes;
    let price = pricing::build_up_with(&cost_lines, scheme, taxes, book.currency(), &terms, &mut checks);
    checks.extend(terms.check(taxes));

    checks.extend(uplift::checks(&layout, &taken, book));
    checks.extend(unconnected::checks(&layout));
    summary::sort(&mut checks);
    let mut cautions = cautions::all(&layout, &taken, &measures);
    cautions.extend(cautions::pour_weather(&order));
    let summary = summary::summarize(&layout, &measures, &order, &labor, &price, &checks);
    let plan = planned.map(|p| PlanBrief::of(&p.answer(&layout, &labor, BookUsed::from(used))));
    let layout_out = summary::quantities(&layout, taken, &measures);
    Ok(Estimate {
        engine: ENGINE,
        price_book: BookUsed::from(used),
        title: notes.title.as_ref().map(ToString::to_string),
        customer: notes.customer.clone(),
        site: notes.site.clone(),
        unit_system: layout.show.0,
        currency: book.currency(),
        summary,
        checks,
        cautions,
        layout: layout_out,
        water,
        concrete: order,
        labor,
        hires,
        plan,
        cost_lines,
        purchases,
        price,
        options: Vec::new(),
        load_out,
        excluded: notes.excluded.iter().map(ToString::to_string).collect(),
        by_others: notes.by_others.iter().map(ToString::to_string).collect(),
        notes_to_customer: notes.notes_to_customer.as_ref().map(ToString::to_string),
    })
}

/// The plan of a job.
///
/// # Errors
/// Every fault of the notes under `notes`, of the days asked for, and every reason why the job cannot be planned.
pub fn plan(
    notes: &SiteNotes,
    inputs: &PlanInputs,
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
    let prepared = job_plan::prepare(&layout, &taken, &conditions_of(&layout, &taken), &labor, book)?;
    let planned = job_plan::plan(prepared, anchor, inputs, &At::ROOT)?;
    let answer = planned.answer(&layout, &labor, BookUsed::from(used));
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
    let prepared = job_plan::prepare(&layout, &taken, &conditions_of(&layout, &taken), &labor, book)?;
    let tasks = job_plan::risk::tasks(&prepared.items, &labor, book);
    // Without a day there is nothing to hang a finish on; with a wished finish alone its latest start is taken.
    let request = match anchor? {
        None => None,
        Some(anchor) => {
            let planned = job_plan::plan(prepared, anchor, &inputs, &At::ROOT)?;
            let mut request = planned.request;
            request.anchor = crate::compute::plan::Anchor::Start(planned.plan.start);
            Some(request)
        }
    };
    let by_hours: crate::units::Amount = labor.tasks.iter().map(|t| t.cost).sum();
    job_plan::risk::risk(
        &job_plan::risk::Uncertain {
            tasks,
            job_sd: job_plan::risk::job_sd(book),
            fixed_cost: estimate.summary.direct_cost - by_hours,
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

/// The hours of notes by a price book: as estimated, and for the quantities and methods as done.
#[derive(Debug)]
pub struct HoursFor {
    /// Soil of the notes.
    pub soil: Soil,
    /// How quantities are shown.
    pub show: Show,
    /// Hours for the quantities estimated.
    pub estimated: labor::LaborAnswer,
    /// Hours for the quantities done; those estimated where none was recorded.
    pub for_done: labor::LaborAnswer,
    /// Quantities estimated.
    pub measures: Measures,
    /// Quantities done; those estimated where none was recorded.
    pub done: Measures,
}

/// The hours of a job by a price book. `as_done` takes the methods that were recorded where the book has a rate for them.
///
/// # Errors
/// Faults of the notes against this book.
pub fn hours_for(
    notes: &SiteNotes,
    book: &PriceBook,
    actuals: &JobActuals,
    as_done: bool,
    rains: &RainShelf,
) -> Result<HoursFor, Faults> {
    let ready = Ready::of(notes, book, rains)?;
    let layout = ready.layout(book, rains)?;
    let taken = takeoff::take_off(&layout, book);
    let (_, measures) = pouring::ordered(&layout, &taken, book)?;
    let mut done = measures.clone();
    if !actuals.tickets.is_empty() {
        done.set_base(Measure::ConcreteOrdered, actuals.concrete().nm3());
    }
    for (measure, base) in &actuals.quantities {
        done.set_base(*measure, *base);
    }
    let recorded: Vec<(Task, Code)> = Task::ALL
        .iter()
        .filter(|_| as_done)
        .filter_map(|t| Some((*t, Code::new(actuals.method_of(*t)?)?)))
        .filter(|(t, m)| book.labor(*t, Some(m)).is_some())
        .collect();
    let chosen = layout.methods.iter().filter(|(t, _)| !recorded.iter().any(|(r, _)| r == t)).copied();
    let methods: Vec<(Task, &Code)> = recorded.iter().map(|(t, m)| (*t, m)).chain(chosen).collect();
    let conditions = Conditions { methods: &methods, ..conditions_of(&layout, &taken) };
    Ok(HoursFor {
        soil: layout.soil,
        show: layout.show,
        estimated: labor::hours(&measures, &conditions, book, layout.show),
        for_done: labor::hours(&done, &conditions, book, layout.show),
        measures,
        done,
    })
}

/// No day, nothing reported.
pub fn no_inputs() -> PlanInputs {
    PlanInputs {
        start: None,
        finish: None,
        not_before: List::default(),
        status_date: None,
        progress: List::default(),
    }
}

/// The take-off and the hours of a layout.
pub(crate) fn worked<'a>(
    layout: &Layout<'a>,
    book: &'a PriceBook,
) -> Result<(Takeoff<'a>, labor::LaborAnswer), Faults> {
    let taken = takeoff::take_off(layout, book);
    let (_, measures) = pouring::ordered(layout, &taken, book)?;
    let labor = labor::hours(&measures, &conditions_of(layout, &taken), book, layout.show);
    Ok((taken, labor))
}

/// The plan of notes that name a day.
fn dated_plan(
    layout: &Layout<'_>,
    taken: &Takeoff<'_>,
    conditions: &Conditions<'_>,
    labor: &labor::LaborAnswer,
    book: &PriceBook,
) -> Result<Option<job_plan::Planned>, Faults> {
    let at = At::ROOT.member("schedule");
    let inputs = no_inputs();
    let Some(anchor) = job_plan::anchor(layout.schedule, &inputs, &at)? else { return Ok(None) };
    let prepared = job_plan::prepare(layout, taken, conditions, labor, book)?;
    job_plan::plan(prepared, anchor, &inputs, &at).map(Some)
}

/// Overtime and travel: on the days of the plan, else task after task on the weekdays of the crews' calendar.
fn lay_on_days(
    labor: &mut labor::LaborAnswer,
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
    labor::days::add(labor, &days, layout.travel, book, planned.is_some());
}

/// Measured quantities only.
///
/// # Errors
/// Every fault of the request.
pub fn layout(
    request: &LayoutRequest,
    book: &PriceBook,
    used: &BookRef,
    rains: &RainShelf,
) -> Result<LayoutAnswer, Faults> {
    let notes = short_forms::layout_notes(request, book)?;
    quantities(&notes, book, used, rains).map_err(|f| short_forms::where_sent(request, f))
}

/// The measured quantities of notes.
fn quantities(
    notes: &SiteNotes,
    book: &PriceBook,
    used: &BookRef,
    rains: &RainShelf,
) -> Result<LayoutAnswer, Faults> {
    let ready = Ready::of(notes, book, rains)?;
    let layout = ready.layout(book, rains)?;
    let mut taken = takeoff::take_off(&layout, book);
    let mut checks = std::mem::take(&mut taken.checks);
    let water = water(&layout, &taken.levels, &ready, book, rains, &mut checks)?;
    // Consumables that go by the concrete need the order.
    let (_, measures) = pouring::ordered(&layout, &taken, book)?;
    consumables::add(&measures, layout.show, book, &mut taken.needs, &mut checks);
    checks.append(&mut taken.needs.problems);
    checks.extend(uplift::checks(&layout, &taken, book));
    let cautions = cautions::all(&layout, &taken, &measures);
    let materials = purchase::buy(&taken.needs, book, purchase::Terms::of(&layout), &mut checks).lines;
    summary::sort(&mut checks);
    Ok(LayoutAnswer {
        engine: ENGINE,
        price_book: BookUsed::from(used),
        unit_system: layout.show.0,
        checks,
        cautions,
        layout: summary::quantities(&layout, taken, &measures),
        water,
        materials,
    })
}

/// Water only: will runs and lines carry the storm.
///
/// # Errors
/// Every fault of the request; notes without a storm.
pub fn flow(
    request: &FlowRequest,
    book: &PriceBook,
    used: &BookRef,
    rains: &RainShelf,
) -> Result<FlowAnswer, Faults> {
    let FlowRequest { price_book_version: _, notes } = request;
    let under = |f: Faults| f.under("notes");
    let ready = Ready::of(notes, book, rains).map_err(under)?;
    let layout = ready.layout(book, rains).map_err(under)?;
    let mut checks = Vec::new();
    let levels = takeoff::levels::all(&layout, book);
    let Some(water) = water(&layout, &levels, &ready, book, rains, &mut checks).map_err(under)? else {
        let mut faults = Faults::new();
        faults.add(
            &At::ROOT.member("notes").member("storm"),
            "required",
            "a flow check needs the storm and what it brings: `storm` with `catchments` or `inflows`",
        );
        return Err(faults);
    };
    // Least falls, and the fall that is there against the fall needed: checks of the take-off that belong to the water.
    checks.extend(takeoff::levels::checks(&layout, book, &levels));
    summary::sort(&mut checks);
    Ok(FlowAnswer {
        engine: ENGINE,
        price_book: BookUsed::from(used),
        unit_system: layout.show.0,
        outcome: summary::outcome(&checks),
        checks,
        water,
    })
}

/// The water stage, with what was chosen before it.
fn water(
    layout: &Layout<'_>,
    levels: &[Levels],
    ready: &Ready<'_>,
    book: &PriceBook,
    rains: &RainShelf,
    checks: &mut Vec<Check>,
) -> Result<Option<WaterAnswer>, Faults> {
    let Some((mut water, found)) = drainage::check(layout, levels, book, rains)? else { return Ok(None) };
    if found.iter().any(|c| c.outcome == Outcome::Fail) {
        water.suggested = choose::suggest(&ready.notes, &found, book, rains)?;
    }
    checks.extend(found);
    water.chosen.clone_from(&ready.chosen);
    Ok(Some(water))
}

/// Labor hours only.
///
/// # Errors
/// Every fault of the request.
pub fn labor(
    request: &LaborRequest,
    book: &PriceBook,
    used: &BookRef,
    rains: &RainShelf,
) -> Result<LaborAnswer, Faults> {
    let LaborRequest {
        price_book_version: _,
        notes,
        quantities,
        soil,
        difficulty,
        weather,
        depth,
        methods,
        unit_system,
    } = request;
    let mut faults = Faults::new();
    if notes.is_some() != quantities.is_empty() {
        faults
            .add(&At::ROOT, "one_of", "say what the labor is for in exactly one way")
            .allow(["notes", "quantities"]);
        return Err(faults);
    }
    let (labor, show) = if let Some(notes) = notes {
        let ready = Ready::of(notes, book, rains).map_err(|f| f.under("notes"))?;
        let layout = ready.layout(book, rains).map_err(|f| f.under("notes"))?;
        let taken = takeoff::take_off(&layout, book);
        let (_, measures) = pouring::ordered(&layout, &taken, book)?;
        let conditions = conditions_of(&layout, &taken);
        let show = unit_system.map_or(layout.show, Show);
        (labor::hours(&measures, &conditions, book, show), show)
    } else {
        let measures = short_forms::given_measures(request, &mut faults);
        let chosen = choices::methods(methods, book, &At::ROOT.member("methods"), &mut faults);
        if !faults.is_empty() {
            return Err(faults);
        }
        let depth = depth.unwrap_or_default();
        let conditions = Conditions {
            soil: soil.unwrap_or(Soil::CommonEarth),
            difficulty: difficulty.unwrap_or(Difficulty::Normal),
            weather: *weather,
            deepest_run: depth,
            deepest_line: depth,
            thickest_sawn: crate::units::Length::ZERO,
            methods: &chosen,
        };
        let show = Show(unit_system.unwrap_or(book.doc().unit_system));
        (labor::hours(&measures, &conditions, book, show), show)
    };
    let mut checks = labor.checks.clone();
    summary::sort(&mut checks);
    Ok(LaborAnswer {
        engine: ENGINE,
        price_book: BookUsed::from(used),
        unit_system: show.0,
        currency: book.currency(),
        checks,
        labor,
    })
}

fn conditions_of<'a>(layout: &'a Layout<'_>, taken: &Takeoff<'_>) -> Conditions<'a> {
    Conditions {
        soil: layout.soil,
        difficulty: layout.difficulty,
        weather: layout.weather,
        deepest_run: taken.deepest_run,
        deepest_line: taken.deepest_line,
        thickest_sawn: layout.thickest_sawn(),
        methods: &layout.methods,
    }
}
