//! All stages in order. No engineering of its own: read this file to see how an estimate comes about.
//!
//! ```text
//! notes + book -> ready (choose, resolve) -> take off -> water -> consumables -> concrete -> labor -> hire -> extras -> price
//!                                            checks and cautions gathered on the way -> estimate
//! ```
//!
//! | file | subject |
//! |---|---|
//! | this one | the estimate, the quantities alone, the water alone |
//! | `hours` | labor hours: from notes, from quantities by hand, for what was done |
//! | `dates` | the plan and its risk; the days that an estimate is laid on |

mod dates;
mod hours;

use dates::{dated_plan, lay_on_days};
pub use dates::{no_inputs, plan, risk};
pub use hours::{HoursFor, hours_for, labor};

use super::drainage::answer::WaterAnswer;
use super::drainage::shelf::RainShelf;
use super::drainage::{self, choose};
use super::job_plan;
use super::labor::{self, Conditions};
use super::load_out::BoughtFor;
use super::needs::Need;
use super::pricing::terms::Terms;
use super::purchase;
use super::ready::Ready;
use super::takeoff;
use super::takeoff::levels::Levels;
use super::{ENGINE, cautions, consumables, load_out, machines, options, pouring, pricing, second_look};
use super::{short_forms, summary, unconnected, unpaid_driver, uplift};
use crate::compute::answers::{BookUsed, Estimate, FlowAnswer, LayoutAnswer, PlanBrief};
use crate::domain::book::{BookRef, PriceBook};
use crate::domain::layout::Layout;
use crate::domain::lines::{Check, Outcome};
use crate::units::decimal::whole;
use crate::wire::calc::{FlowRequest, LayoutRequest};
use crate::wire::notes::SiteNotes;
use crate::wire::{At, Faults};
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
    checks.extend(water.is_none().then(drainage::unchecked));

    let (order, measures) = pouring::ordered(&layout, &taken, book)?;
    checks.extend(order.days.iter().flat_map(|d| d.checks()));
    checks.extend(pouring::truck_checks(&layout, &taken, &order, book));
    consumables::add(&measures, layout.show, book, &mut taken.needs, &mut checks);
    for extra in layout.extras {
        let note = extra.note.as_ref().map_or("added by hand", |n| n.as_str());
        let units = extra.quantity.number();
        taken.needs.add(
            book,
            &extra.item,
            Need::Units(units),
            "extra",
            format_args!("{note}: {}", whole(units)),
        );
    }
    checks.append(&mut taken.needs.problems);

    let conditions = Conditions::of(&layout, &taken);
    let mut labor = labor::hours(&measures, &conditions, book, layout.show);
    checks.append(&mut labor.checks);
    checks.extend(unpaid_driver::check_of(&taken, &labor));
    let planned = dated_plan(&layout, &taken, &conditions, &labor, book)?;
    checks.extend(planned.as_ref().and_then(job_plan::Planned::wish));
    lay_on_days(&mut labor, planned.as_ref(), &layout, book);
    let hires = machines::hires(planned.as_ref().map(|p| &p.plan), &labor, book);

    let buying = purchase::Terms::of(&layout);
    let needs = std::mem::take(&mut taken.needs);
    let (mut cost_lines, purchases) = purchase::buy(needs, book, buying, &mut checks).with_plan(book, buying);
    let ordered_for = purchases.as_ref().and(buying.order_on).and(buying.needed());
    let planned_for = planned.as_ref().zip(ordered_for);
    checks.extend(planned_for.and_then(|(planned, by)| planned.goods_before(by, &labor)));
    let load_out = {
        let brought = cost_lines.iter().map(|line| BoughtFor { line, pour_day: None });
        let bags = order.bags().map(|(pour_day, line)| BoughtFor { line, pour_day });
        load_out::list(&labor, &taken.cuts, brought.chain(bags), book, layout.show)
    };
    cost_lines.extend(order.chosen_lines().cloned());
    cost_lines.append(&mut labor.cost_lines);
    cost_lines.extend(machines::cost_lines(&hires));
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
    pricing::in_range(&cost_lines, &price)?;

    checks.extend(uplift::checks(&layout, &taken, book));
    checks.extend(unconnected::checks(&layout));
    checks.extend(second_look::notes::checks(notes, layout.show));
    summary::sort(&mut checks);
    let mut cautions = cautions::all(&layout, &taken, &measures, layout.show);
    cautions.extend(cautions::pour_weather(&order));
    let summary = summary::summarize(&layout, &measures, &order, &labor, &price, &checks);
    let brief =
        |p: job_plan::Planned| PlanBrief::of(&p.answer(&layout, &labor, BookUsed::from(used)), p.pour_days());
    let plan = planned.map(brief);
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
        hires: machines::shown(hires),
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
    let measures = pouring::measures(&layout, &taken, book)?;
    consumables::add(&measures, layout.show, book, &mut taken.needs, &mut checks);
    checks.append(&mut taken.needs.problems);
    checks.extend(uplift::checks(&layout, &taken, book));
    checks.extend(unconnected::checks(&layout));
    checks.extend(second_look::notes::checks(notes, layout.show));
    let cautions = cautions::all(&layout, &taken, &measures, layout.show);
    let buying = purchase::Terms::of(&layout).lines_only();
    let needs = std::mem::take(&mut taken.needs);
    let materials = purchase::buy(needs, book, buying, &mut checks).lines;
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
    // Checks of the take-off that belong to the water: least falls, the fall that is there against the fall needed, pipes
    // narrower than the outlets and lines that feed them.
    checks.extend(takeoff::levels::checks(&layout, book, &levels));
    for line in &layout.lines {
        takeoff::pipe::against_outlets(line, &layout, &mut checks);
    }
    checks.extend(second_look::notes::checks(notes, layout.show));
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
        water.suggested = choose::suggest(&ready.notes, &found, book, rains);
    }
    checks.extend(found);
    water.chosen.clone_from(&ready.chosen);
    Ok(Some(water))
}
