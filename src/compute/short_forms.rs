//! Requests of the calculators that say less than whole notes, made into what the stages take.

use crate::domain::book::PriceBook;
use crate::domain::measures::{Measures, measured_as};
use crate::domain::words::Crossing;
use crate::wire::calc::{LaborRequest, LayoutRequest};
use crate::wire::notes::{Leg, LegEnd, Outlet, Run, SiteNotes};
use crate::wire::{At, Code, Faults, List};
use std::borrow::Cow;

/// The quantities a labor request gives by hand.
pub(super) fn given_measures(request: &LaborRequest, faults: &mut Faults) -> Measures {
    let mut measures = Measures::default();
    let list_at = At::ROOT.member("quantities");
    for (i, given) in request.quantities.iter().enumerate() {
        let here = list_at.element(i);
        measured_as(given.measure, given.quantity, &here.member("quantity"), faults);
        measures.add_base(given.measure, given.quantity.base());
    }
    measures
}

/// Faults of the notes of a layout request, where the request has what is at fault.
pub(super) fn where_sent(request: &LayoutRequest, faults: Faults) -> Faults {
    if request.notes.is_some() {
        return faults.under("notes");
    }
    // the request is the one run, its length that of the one leg
    faults.moved("#/runs/0/legs/0", "#").moved("#/runs/0", "#")
}

/// The notes of a layout request; the short form becomes one straight run.
pub(super) fn layout_notes<'r>(
    request: &'r LayoutRequest,
    book: &PriceBook,
) -> Result<Cow<'r, SiteNotes>, Faults> {
    let LayoutRequest {
        price_book_version: _,
        notes,
        length,
        channel_system,
        crossing,
        surface,
        unit_system,
    } = request;
    let mut faults = Faults::new();
    if let Some(notes) = notes {
        let short = [
            ("length", length.is_some()),
            ("channel_system", channel_system.is_some()),
            ("crossing", crossing.is_some()),
            ("surface", surface.is_some()),
        ];
        for (name, _) in short.iter().filter(|(_, sent)| *sent) {
            faults.add(
                &At::ROOT.member(name),
                "not_here",
                "the short form does not go with `notes`: leave one of them out",
            );
        }
        if let Some(system) = unit_system {
            let mut notes = notes.as_ref().clone();
            notes.unit_system = Some(*system);
            return faults.finish(Some(Cow::Owned(notes)));
        }
        return faults.finish(Some(Cow::Borrowed(notes.as_ref())));
    }
    let Some(length) = length else {
        faults
            .add(&At::ROOT, "one_of", "send whole `notes`, or at least the `length` of one run")
            .allow(["notes", "length"]);
        return Err(faults);
    };
    let system =
        channel_system.clone().or_else(|| book.doc().channel_systems.first().map(|s| s.code.clone()));
    let (Some(system), Some(id), Some(outlet)) = (system, Code::new("run"), Code::new("outlet")) else {
        faults.add(&At::ROOT, "no_channel_system", "the price book has no channel system");
        return Err(faults);
    };
    let legs = List::new(vec![Leg { length: *length, meets: None, fall_pct: None }]);
    let outlets = List::new(vec![Outlet::End { id: outlet, at: LegEnd::Finish, leg: None }]);
    let run = legs.zip(outlets).map(|(legs, outlets)| Run {
        id,
        legs,
        channel_system: Some(system),
        channel_systems: List::default(),
        grate: None,
        crossing: crossing.unwrap_or(Crossing::Feet),
        surface: surface.clone(),
        over_cut: None,
        relief_cuts: None,
        outlets,
        surface_level: None,
        setting_detail: None,
        pour_days: List::default(),
    });
    let notes = run.and_then(|run| List::new(vec![run])).map(|runs| SiteNotes {
        title: None,
        customer: None,
        site: None,
        unit_system: *unit_system,
        climate: None,
        soil: None,
        difficulty: None,
        weather: None,
        schedule: None,
        concrete: None,
        haul: None,
        runs,
        drain_lines: List::default(),
        storm: None,
        catchments: List::default(),
        inflows: List::default(),
        extras: List::default(),
        yard_offcuts: List::default(),
        excluded: List::default(),
        by_others: List::default(),
        notes_to_customer: None,
        options: None,
        pricing: None,
    });
    faults.finish(notes.map(Cow::Owned))
}
