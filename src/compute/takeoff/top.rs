//! What lies on top of a run: sawn, lifted, made good.

use super::earth::Earth;
use super::trench::Trench;
use super::{check, quantity, surface};
use crate::compute::needs::Needs;
use crate::domain::book::PriceBook;
use crate::domain::layout::{Layout, Run};
use crate::domain::lines::{Check, Outcome, QuantityLine};
use crate::domain::measures::Measures;
use crate::domain::words::Measure;
use crate::units::show::worded;
use crate::units::{Length, Volume};
use crate::wire::book::ground::SurfaceKind;

/// Saw, lift and restore what lies on top of a run.
#[expect(clippy::too_many_arguments, reason = "one step of the take-off, split off for its length")]
pub(super) fn lift<'a>(
    run: &Run<'a>,
    t: &Trench,
    cut_length: Length,
    cut_width: Length,
    lifted: Length,
    layout: &Layout<'a>,
    book: &'a PriceBook,
    measures: &mut Measures,
    needs: &mut Needs<'a>,
    earth: &mut Earth,
    q: &mut Vec<QuantityLine>,
    checks: &mut Vec<Check>,
) {
    let show = layout.show;
    let at = |l: Length| show.length(l);
    let cut_area = cut_length * cut_width;
    if run.top.is_sawn() {
        let saw = (cut_length + cut_width) * 2 + run.relief_cuts;
        let relief = if run.relief_cuts.is_positive() {
            worded!(" + {} relief cuts", at(run.relief_cuts))
        } else {
            String::new()
        };
        let thick = run.top.thickness;
        let basis = worded!("2 x ({} + {}){relief}, {} deep", at(cut_length), at(cut_width), at(thick));
        surface::sawn(saw, thick, ("run.saw_cut", basis), show, measures, q);
    }
    // Beside the trench it is lifted whole.
    let stays = run.top.thickness - lifted;
    let removed = cut_area * run.top.thickness - t.plan * stays;
    let (name, measure) = surface::lifted(run.top.kind);
    let beside = cut_area - t.plan;
    surface::count(run.top.kind, cut_area, removed, beside * run.top.thickness, measures, earth);
    if measure == Measure::PaversLifted {
        q.push(quantity(
            name,
            show.area(cut_area),
            "run.surface_removed",
            worded!("{} x {}", at(cut_length), at(cut_width)),
        ));
    } else {
        q.push(quantity(
            name,
            show.volume(removed),
            "run.surface_removed",
            if stays.is_positive() {
                worded!(
                    "{} x {} x {} less {} x {} x {} that stays below the trench",
                    at(cut_length),
                    at(cut_width),
                    at(run.top.thickness),
                    at(t.length),
                    at(t.width),
                    at(stays)
                )
            } else {
                worded!("{} x {} x {}", at(cut_length), at(cut_width), at(lifted))
            },
        ));
    }
    // Concrete is restored by the pour itself; everything else beside the surround is made good, pavers by laying them again.
    if run.top.kind != SurfaceKind::ConcreteSlab && beside.nm2() > 0 {
        let opened = if run.top.is_sawn() { "cut" } else { "lifted" };
        let place = worded!(
            "{opened} {} x {} less trench {} x {}",
            at(cut_length),
            at(cut_width),
            at(t.length),
            at(t.width)
        );
        let unbought =
            surface::restore(run.top, beside, &place, run.id.as_str(), layout, book, measures, needs, q);
        checks.extend(unbought.map(|reason| surface::not_on_offer(worded!("run {}", run.id), reason)));
    }
}

/// Whether the patch beside the surround is thin enough to be placed with it; nothing where the book does not say how thick that is.
pub(super) fn one_lift(run: &Run<'_>, patch: Volume, layout: &Layout<'_>, book: &PriceBook) -> Option<Check> {
    let most = book.doc().concrete_rules.as_ref()?.one_lift.filter(|_| patch.nm3() > 0)?;
    let (thick, limit) = (layout.show.length(run.top.thickness), layout.show.length(most));
    let (outcome, reason) = if run.top.thickness <= most {
        (
            Outcome::Pass,
            worded!("the patch is {thick} thick: up to {limit} is placed in one lift with the surround"),
        )
    } else {
        (
            Outcome::Warn,
            worded!(
                "the patch is {thick} thick, and no more than {limit} is placed in one lift with the surround: place it in lifts, \
                 which the hours of the pour do not count"
            ),
        )
    };
    Some(check("one_lift", worded!("run {}", run.id), outcome, reason))
}
