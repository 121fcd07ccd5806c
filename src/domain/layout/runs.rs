//! One run against the price book.
//!
//! | file | subject |
//! |---|---|
//! | this one | the run with its system, setting detail and grate |
//! | `chains` | legs that follow each other without a tee |
//! | `outlets` | where the outlets lie and how deep water leaves |
//! | `spans` | the legs cut at their fittings |
//! | [`height`] | outside height along a stretch |
//! | [`slopes`] | where along a chain the outside height changes |

mod chains;
pub mod height;
mod outlets;
pub mod slopes;
mod spans;

use super::Run;
use super::named::Named;
use super::surface::top;
use crate::domain::book::PriceBook;
use crate::domain::words::Crossing;
use crate::units::Length;
use crate::wire::book::systems::{ChannelSystem, Grate};
use crate::wire::notes::{self, Meets};
use crate::wire::{At, Faults};

/// Resolves one run.
pub fn resolve<'a>(
    run: &'a notes::Run,
    book: &'a PriceBook,
    at: &At<'_>,
    faults: &mut Faults,
) -> Option<Run<'a>> {
    let before = faults.len();
    let system = run.channel_system.as_ref().and_then(|code| book.system(code));
    if system.is_none() {
        let here = at.member("channel_system");
        match &run.channel_system {
            Some(code) => Named::System.unknown(code, book, &here, faults),
            None => {
                let rule = "name the channel system; with a `storm` and `catchments` it can be left out and is chosen";
                let known = book.doc().channel_systems.iter().map(|s| s.code.as_str());
                faults.add(&here, "required", rule).allow(known);
            }
        }
    }
    let detail = match &run.setting_detail {
        Some(code) => {
            let found = book.detail(code);
            if found.is_none() {
                Named::Detail.unknown(code, book, &at.member("setting_detail"), faults);
            }
            found
        }
        None => {
            let found = book.detail_for(run.crossing);
            if found.is_none() {
                faults.value(
                    &at.member("crossing"),
                    "no_setting_detail",
                    run.crossing.word(),
                    format!(
                        "the price book has no setting detail for `{}`; such a surround follows the channel system's own \
                         data or a licensed engineer: add the detail to the book or name one in `setting_detail`",
                        run.crossing
                    ),
                );
            }
            found
        }
    };
    let top = top(run.surface.as_ref(), &at.member("surface"), faults);
    for (i, leg) in run.legs.iter().enumerate() {
        if !leg.length.is_positive() {
            faults.add(
                &at.member("legs").element(i).member("length"),
                "out_of_range",
                "a leg must be longer than 0",
            );
        }
    }
    let mut chains = chains::of(run, at, faults)?;
    let places = outlets::places(run, &chains, at, faults);
    let system = system?;
    let (corner, tee) = (system.corner.as_ref(), system.tee.as_ref());
    let corners = run.legs.iter().filter(|l| matches!(l.meets, Some(Meets::Corner { .. }))).count() as i64;
    let tees = chains.iter().filter(|c| c.from_tee).count() as i64;
    for (count, fitting, what) in [(corners, corner, "corner"), (tees, tee, "tee")] {
        if count > 0 && fitting.is_none() {
            faults.value(
                &at.member("channel_system"),
                "missing_fitting",
                system.code.as_str(),
                format!("this channel system has no {what}; add one to the price book or split the run"),
            );
        }
    }
    if tees > 0 && system.section.built_in_fall_pct.is_some() {
        faults.value(
            &at.member("channel_system"),
            "tee_with_built_in_fall",
            system.code.as_str(),
            "a system with built-in fall cannot meet itself at a tee: the heights differ; split the run in two",
        );
    }
    let recess = detail.map_or(Length::ZERO, |d| d.recess);
    let outlets = outlets::fit(run, places, system, recess, &mut chains, at, faults);
    let grate = grate(run, system, book, at, faults);
    let legs = spans::cut(run, system, &chains, &outlets, at, faults);
    let open_ends: i64 = chains.iter().map(|c| if c.from_tee { 1 } else { 2 }).sum();
    let end_outlets = outlets.iter().filter(|o| !o.bottom).count() as i64;
    let (detail, grate, top) = (detail?, grate?, top?);
    (faults.len() == before).then_some(Run {
        id: &run.id,
        system,
        detail,
        grate,
        crossing: run.crossing,
        top,
        over_cut: run.over_cut.or(book.doc().over_cut.filter(|_| top.is_sawn())).unwrap_or(Length::ZERO),
        relief_cuts: run.relief_cuts.unwrap_or(Length::ZERO),
        surface_level: run.surface_level.unwrap_or_default().0,
        legs,
        chains,
        corner,
        tee,
        corners,
        tees,
        caps: open_ends - end_outlets,
        outlets,
    })
}

/// The grate of a system where notes name none: the first that carries what crosses; when none does, the strongest, and the
/// check of the load class fails.
pub(crate) fn usual_grate<'a>(
    system: &'a ChannelSystem,
    crossing: Crossing,
    book: &PriceBook,
) -> Option<&'a Grate> {
    let carries = |g: &&Grate| {
        g.load_class
            .is_some_and(|c| book.least_class(crossing, c).is_some_and(|need| c.carries(need) == Some(true)))
    };
    system.grates.iter().find(carries).or_else(|| system.grates.iter().max_by_key(|g| g.load_class))
}

fn grate<'a>(
    run: &notes::Run,
    system: &'a ChannelSystem,
    book: &'a PriceBook,
    at: &At<'_>,
    faults: &mut Faults,
) -> Option<&'a Grate> {
    match &run.grate {
        Some(code) => {
            let found = system.grates.iter().find(|g| g.item == *code);
            if found.is_none() {
                Named::Grate(system).unknown(code, book, &at.member("grate"), faults);
            }
            found
        }
        None => {
            let found = usual_grate(system, run.crossing, book);
            if found.is_none() {
                faults.add(
                    &at.member("channel_system"),
                    "missing_fitting",
                    "no grate fits this channel system",
                );
            }
            found
        }
    }
}
