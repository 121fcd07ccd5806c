//! What the notes say about pricing must name things that are there.

use super::named::Named;
use super::within::Within;
use crate::domain::book::PriceBook;
use crate::units::Percent;
use crate::wire::notes::{Alternate, Discount, PricingNotes, SiteNotes, SystemChange};
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
    Within::Allowance.each_once(allowances.iter().map(|a| &a.code), &at.member("allowances"), "code", faults);
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
    Within::Optional.each_once(optional.iter().map(|o| &o.code), &list, "code", faults);
    for (i, line) in optional.iter().enumerate() {
        let here = list.element(i);
        let extras = here.member("extras");
        for (e, extra) in line.extras.iter().enumerate().filter(|(_, e)| book.item(&e.item).is_none()) {
            let there = extras.element(e);
            Named::Item.unknown(&extra.item, book, &there.member("item"), faults);
        }
    }
    let list = at.member("alternates");
    Within::Alternate.each_once(alternates.iter().map(|a| &a.code), &list, "code", faults);
    for (i, alternate) in alternates.iter().enumerate() {
        let here = list.element(i);
        if optional.iter().any(|o| o.code == alternate.code) {
            Within::Optional.twice(&alternate.code, &here.member("code"), faults);
        }
        check_alternate(alternate, notes, book, &here, faults);
    }
    check_chosen(pricing, chosen, &at.member("chosen"), faults);
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
            let known: Vec<&str> = notes.runs.iter().map(|r| r.id.as_str()).collect();
            Within::Run.unknown(run, &known, &here.member("run"), faults);
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
            let optional = pricing.optional.iter().map(|o| o.code.as_str());
            let known: Vec<&str> =
                optional.chain(pricing.alternates.iter().map(|a| a.code.as_str())).collect();
            Within::Choice.unknown(code, &known, &here, faults);
        }
    }
}
