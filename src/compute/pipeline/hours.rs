//! The stages of labor hours: from notes, from quantities given by hand, and for what was done on a job.

use super::Ready;
use super::dates::{dated_plan, lay_on_days};
use crate::compute::answers::{BookUsed, LaborAnswer};
use crate::compute::drainage::shelf::RainShelf;
use crate::compute::job_record::JobActuals;
use crate::compute::job_record::actuals::DoneBy;
use crate::compute::labor::{self, Conditions, Trenches};
use crate::compute::{ENGINE, cautions, pouring, second_look, short_forms, summary, takeoff};
use crate::domain::book::{BookRef, PriceBook};
use crate::domain::layout::choices;
use crate::domain::measures::Measures;
use crate::domain::words::{Difficulty, Measure, Soil, Task};
use crate::units::Length;
use crate::units::show::Show;
use crate::wire::calc::LaborRequest;
use crate::wire::notes::SiteNotes;
use crate::wire::{At, Code, Faults};

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
    let (labor, show, cautions) = if let Some(notes) = notes {
        let of_quantities = [
            ("soil", soil.is_some()),
            ("difficulty", difficulty.is_some()),
            ("weather", weather.is_some()),
            ("depth", depth.is_some()),
            ("methods", !methods.is_empty()),
        ];
        for (name, _) in of_quantities.iter().filter(|(_, sent)| *sent) {
            let rule = "goes with `quantities`: `notes` say it themselves";
            faults.add(&At::ROOT.member(name), "not_here", rule);
        }
        if !faults.is_empty() {
            return Err(faults);
        }
        let ready = Ready::of(notes, book, rains).map_err(|f| f.under("notes"))?;
        let layout = ready.layout(book, rains).map_err(|f| f.under("notes"))?;
        let taken = takeoff::take_off(&layout, book);
        let measures = pouring::measures(&layout, &taken, book)?;
        let conditions = Conditions::of(&layout, &taken);
        let show = unit_system.map_or(layout.show, Show);
        let mut labor = labor::hours(&measures, &conditions, book, show);
        if labor::days::wanted(book, layout.travel) {
            let planned =
                dated_plan(&layout, &taken, &conditions, &labor, book).map_err(|f| f.under("notes"))?;
            lay_on_days(&mut labor, planned.as_ref(), &layout, book);
        }
        (labor, show, cautions::all(&layout, &taken, &measures, show))
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
            thickest_sawn: Length::ZERO,
            methods: &chosen,
            trenches: Trenches::UNNAMED,
        };
        let show = Show(unit_system.unwrap_or(book.doc().unit_system));
        let mut labor = labor::hours(&measures, &conditions, book, show);
        let uncounted = labor::uncounted(&measures, &conditions, book, &labor.checks);
        labor.checks.extend(uncounted);
        (labor, show, cautions::of_quantities(&measures, depth, show))
    };
    let mut checks = labor.checks.clone();
    checks.extend(notes.iter().flat_map(|notes| second_look::notes::checks(notes, show)));
    summary::sort(&mut checks);
    Ok(LaborAnswer {
        engine: ENGINE,
        price_book: BookUsed::from(used),
        unit_system: show.0,
        currency: book.currency(),
        checks,
        cautions,
        labor,
    })
}

/// The hours of notes by a price book: as estimated, and for the quantities and methods as done.
#[derive(Debug)]
pub struct HoursFor {
    /// Soil of the notes.
    pub soil: Soil,
    /// How quantities are shown.
    pub show: Show,
    /// Hours for the quantities estimated.
    pub estimated: labor::LaborHours,
    /// Hours for the quantities done; those estimated where none was recorded.
    pub for_done: labor::LaborHours,
    /// Quantities estimated.
    pub measures: Measures,
    /// Quantities done; those estimated where none was recorded.
    pub done: Measures,
}

/// The hours of a job by a price book. `as_done` takes the method of each task that was done by one method alone, where the book
/// has a rate for it; elsewhere that of the notes stands.
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
    let measures = pouring::measures(&layout, &taken, book)?;
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
        .filter_map(|t| match actuals.done_by(*t) {
            DoneBy::One(method) => Some((*t, Code::new(method)?)),
            DoneBy::Untold | DoneBy::Several(_) => None,
        })
        .filter(|(t, m)| book.labor(*t, Some(m)).is_some())
        .collect();
    let chosen = layout.methods.iter().filter(|(t, _)| !recorded.iter().any(|(r, _)| r == t)).copied();
    let methods: Vec<(Task, &Code)> = recorded.iter().map(|(t, m)| (*t, m)).chain(chosen).collect();
    let conditions = Conditions { methods: &methods, ..Conditions::of(&layout, &taken) };
    Ok(HoursFor {
        soil: layout.soil,
        show: layout.show,
        estimated: labor::hours(&measures, &conditions, book, layout.show),
        for_done: labor::hours(&done, &conditions, book, layout.show),
        measures,
        done,
    })
}
