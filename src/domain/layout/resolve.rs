//! Site notes and a price book to a layout; every fault with its pointer into the notes.

use super::named::Named;
use super::within::Within;
use super::{Layout, choices, lines, pours, runs, water};
use crate::domain::book::PriceBook;
use crate::domain::words::{Climate, Difficulty, Soil};
use crate::units::quantity::WorkTime;
use crate::units::show::Show;
use crate::wire::notes::SiteNotes;
use crate::wire::{At, Faults};

/// Resolves the notes against the book.
///
/// # Errors
/// Every fault of the notes: codes the book does not have, ends that are not open, lines that end nowhere …
pub fn resolve<'a>(notes: &'a SiteNotes, book: &'a PriceBook) -> Result<Layout<'a>, Faults> {
    let SiteNotes {
        title: _,
        customer: _,
        site: _,
        unit_system,
        climate,
        soil,
        difficulty,
        weather,
        schedule,
        concrete,
        haul,
        runs: run_notes,
        drain_lines,
        storm,
        catchments,
        inflows,
        extras,
        yard_offcuts,
        excluded: _,
        by_others: _,
        notes_to_customer: _,
        options,
        pricing,
    } = notes;
    let mut faults = Faults::new();
    let root = At::ROOT;
    let runs_at = root.member("runs");
    Within::Run.each_once(run_notes.iter().map(|r| &r.id), &runs_at, "id", &mut faults);
    let runs: Vec<_> = run_notes
        .iter()
        .enumerate()
        .map(|(i, run)| runs::resolve(run, book, &runs_at.element(i), &mut faults))
        .collect();
    let mut outlet_names = std::collections::HashSet::new();
    for (r, run) in run_notes.iter().enumerate() {
        for (o, outlet) in run.outlets.iter().enumerate() {
            let id = outlet.id();
            if !outlet_names.insert(id) {
                let run_at = runs_at.element(r);
                let outlets_at = run_at.member("outlets");
                Within::Outlet.twice(id, &outlets_at.element(o).member("id"), &mut faults);
            }
        }
    }
    let lines = lines::resolve(drain_lines, run_notes, &runs, book, &root.member("drain_lines"), &mut faults);
    let extras_at = root.member("extras");
    for (i, extra) in extras.iter().enumerate() {
        if book.item(&extra.item).is_none() {
            Named::Item.unknown(&extra.item, book, &extras_at.element(i).member("item"), &mut faults);
        }
    }
    choices::yard_offcuts(yard_offcuts, book, &root.member("yard_offcuts"), &mut faults);
    let options_at = root.member("options");
    let mut methods = Vec::new();
    if let Some(options) = options {
        let way = options.concrete_way.as_ref();
        choices::concrete_way(way, book, &options_at.member("concrete_way"), &mut faults);
        if let Some(code) = &options.markup_scheme
            && !book.doc().markup_schemes.iter().any(|s| s.code == *code)
        {
            Named::MarkupScheme.unknown(code, book, &options_at.member("markup_scheme"), &mut faults);
        }
        methods = choices::methods(&options.methods, book, &options_at.member("methods"), &mut faults);
        choices::dates(options, &options_at, &mut faults);
        choices::travel(options, &options_at, &mut faults);
    }
    if let Some(schedule) = schedule {
        choices::schedule(schedule, book, &root.member("schedule"), &mut faults);
    }
    let pour_days = pours::days(run_notes, drain_lines, &mut faults);
    if let Some(concrete) = concrete {
        let here = root.member("concrete");
        let poured =
            |day| pour_days.iter().flatten().any(|d| *d == day) || (pour_days.is_empty() && day == 1);
        pours::check(concrete, poured, &here, &mut faults);
    }
    if let Some(haul) = haul {
        pours::check_haul(haul, &root.member("haul"), &mut faults);
    }
    let water = water::resolve(storm.as_ref(), catchments, inflows, run_notes, &runs, book, &mut faults);
    if let Some(pricing) = pricing {
        super::pricing::check(pricing, notes, book, &root.member("pricing"), &mut faults);
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let runs: Option<Vec<_>> = runs.into_iter().collect();
    let (Some(runs), Some((lines, flow_order))) = (runs, lines) else {
        return Err(faults);
    };
    let options = options.as_ref();
    Ok(Layout {
        show: Show(unit_system.unwrap_or(book.doc().unit_system)),
        climate: climate.unwrap_or(Climate::Temperate),
        soil: soil.unwrap_or(Soil::CommonEarth),
        difficulty: difficulty.unwrap_or(Difficulty::Normal),
        weather: *weather,
        schedule: schedule.as_ref(),
        travel: options.and_then(|o| o.travel).map(WorkTime::span),
        runs,
        lines,
        flow_order,
        extras,
        yard_offcuts,
        order_on: options.and_then(|o| o.order_on).map(|d| d.date()),
        needed_by: options.and_then(|o| o.needed_by).map(|d| d.date()),
        most_suppliers: options.and_then(|o| o.most_suppliers).map(|n| n.get()),
        concrete_way: options.and_then(|o| o.concrete_way.as_ref()),
        concrete: concrete.as_ref(),
        place: pricing.as_ref().and_then(|p| p.place.as_ref()),
        haul: haul.as_ref(),
        pour_days,
        waste: options.and_then(|o| o.waste_pct),
        markup_scheme: options.and_then(|o| o.markup_scheme.as_ref()),
        methods,
        visits: options.and_then(|o| o.visits).map_or(1, |v| v.get()),
        water,
    })
}
