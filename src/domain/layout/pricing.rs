//! What the notes say about pricing must name things that are there.

use super::named::Named;
use crate::domain::book::PriceBook;
use crate::domain::codes::duplicates;
use crate::units::Percent;
use crate::wire::notes::{
    Allowance, Alternate, Discount, OptionalLine, PricingNotes, SiteNotes, SystemChange,
};
use crate::wire::{At, Code, Faults};

/// Most extras that notes hold.
const MOST_EXTRAS: usize = 100;

/// Checks the pricing part of the notes.
pub(super) fn check(
    pricing: &PricingNotes,
    notes: &SiteNotes,
    book: &PriceBook,
    at: &At<'_>,
    faults: &mut Faults,
) {
    let PricingNotes { place, allowances, discounts, optional, alternates, chosen } = pricing;
    if let Some(place) = place {
        check_place(place, book, &at.member("place"), faults);
    }
    twice(allowances.iter().map(|a: &Allowance| &a.code), &at.member("allowances"), faults);
    let list = at.member("discounts");
    for (i, discount) in discounts.iter().enumerate() {
        if let Discount::Percent { pct, .. } = discount
            && *pct > Percent::whole(100)
        {
            let here = list.element(i);
            faults.add(&here.member("pct"), "out_of_range", "a discount takes off at most 100 %");
        }
    }
    let list = at.member("optional");
    let extras = notes.extras.len() + optional.iter().map(|o| o.extras.len()).sum::<usize>();
    if extras > MOST_EXTRAS {
        let detail =
            format!("with all optional lines the notes have {extras} extras; they hold {MOST_EXTRAS}");
        faults.add(&list, "list_length", detail);
    }
    twice(optional.iter().map(|o: &OptionalLine| &o.code), &list, faults);
    for (i, line) in optional.iter().enumerate() {
        let here = list.element(i);
        let extras = here.member("extras");
        for (e, extra) in line.extras.iter().enumerate().filter(|(_, e)| book.item(&e.item).is_none()) {
            let there = extras.element(e);
            Named::Item.unknown(&extra.item, book, &there.member("item"), faults);
        }
    }
    let list = at.member("alternates");
    twice(alternates.iter().map(|a: &Alternate| &a.code), &list, faults);
    for (i, alternate) in alternates.iter().enumerate() {
        let here = list.element(i);
        if optional.iter().any(|o| o.code == alternate.code) {
            faults.value(
                &here.member("code"),
                "duplicate",
                alternate.code.as_str(),
                "an optional line has this name",
            );
        }
        check_alternate(alternate, notes, book, &here, faults);
    }
    check_chosen(pricing, chosen, &at.member("chosen"), faults);
}

fn twice<'c>(codes: impl Iterator<Item = &'c Code>, list: &At<'_>, faults: &mut Faults) {
    for i in duplicates(codes) {
        let here = list.element(i);
        faults.add(&here.member("code"), "duplicate", "another entry of this list has this name");
    }
}

fn check_place(place: &Code, book: &PriceBook, at: &At<'_>, faults: &mut Faults) {
    if !book.doc().taxes.iter().any(|t| t.places.contains(place)) {
        Named::Place.unknown(place, book, at, faults);
    }
}

fn check_alternate(
    alternate: &Alternate,
    notes: &SiteNotes,
    book: &PriceBook,
    at: &At<'_>,
    faults: &mut Faults,
) {
    let Alternate { code: _, name: _, systems, concrete_way } = alternate;
    super::choices::concrete_way(concrete_way.as_ref(), book, &at.member("concrete_way"), faults);
    if systems.is_empty() && concrete_way.is_none() {
        faults.add(at, "required", "say what is done in another way").allow(["systems", "concrete_way"]);
    }
    let list = at.member("systems");
    for (i, change) in systems.iter().enumerate() {
        let here = list.element(i);
        let SystemChange { run, channel_system, grate } = change;
        if let Some(run) = run.as_ref().filter(|r| !notes.runs.iter().any(|have| have.id == **r)) {
            faults
                .value(&here.member("run"), "unknown_run", run.as_str(), "the notes have no run of this name")
                .allow(notes.runs.iter().map(|r| r.id.as_str()));
        }
        let Some(system) = book.system(channel_system) else {
            Named::System.unknown(channel_system, book, &here.member("channel_system"), faults);
            continue;
        };
        if let Some(grate) = grate.as_ref().filter(|code| !system.grates.iter().any(|g| g.item == **code)) {
            Named::Grate(system).unknown(grate, book, &here.member("grate"), faults);
        }
    }
}

fn check_chosen(pricing: &PricingNotes, chosen: &[Code], at: &At<'_>, faults: &mut Faults) {
    let mut alternate: Option<&Code> = None;
    for (i, code) in chosen.iter().enumerate() {
        let here = at.element(i);
        if chosen.iter().take(i).any(|have| have == code) {
            faults.value(&here, "duplicate", code.as_str(), "this is chosen already");
        } else if pricing.alternates.iter().any(|a| a.code == *code) {
            if let Some(first) = alternate {
                let detail = format!("`{first}` is chosen already: of the alternates one is done at most");
                faults.value(&here, "one_alternate", code.as_str(), detail);
            }
            alternate = alternate.or(Some(code));
        } else if !pricing.optional.iter().any(|o| o.code == *code) {
            let known =
                pricing.optional.iter().map(|o| &o.code).chain(pricing.alternates.iter().map(|a| &a.code));
            faults
                .value(&here, "unknown_code", code.as_str(), "no optional line or alternate has this name")
                .allow(known.map(Code::as_str));
        }
    }
}
