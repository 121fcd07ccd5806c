//! What lies on top of a run: sawn, lifted, made good.

use super::collect::Collect;
use super::trench::Trench;
use super::{check, surface};
use crate::domain::book::PriceBook;
use crate::domain::layout::{Layout, Run};
use crate::domain::lines::{Check, Outcome};
use crate::domain::words::Measure;
use crate::units::show::worded;
use crate::units::{Area, Length, Volume};
use crate::wire::book::ground::SurfaceKind;
use std::fmt;

/// How the surface over a run is opened.
pub(super) struct Opening {
    /// Length of what is lifted, over-cut included.
    pub(super) length: Length,
    /// Width of it.
    pub(super) width: Length,
    pub(super) area: Area,
    /// How thick it is lifted over the trench.
    pub(super) lifted: Length,
    /// How much of that lies within the depth of the trench.
    pub(super) in_trench: Length,
}

impl Opening {
    /// That over a run and its trench.
    pub(super) fn of(run: &Run<'_>, t: &Trench) -> Self {
        let lifted = if run.top.is_sawn() { run.top.thickness } else { run.top.thickness.min(t.depth) };
        let over = if run.top.takes_over_cut() { run.over_cut } else { Length::ZERO };
        let (length, width) = (t.length + over * 2, t.width + over * 2);
        Self { length, width, area: length * width, lifted, in_trench: lifted.min(t.depth) }
    }

    /// How much of it lies below the trench.
    pub(super) fn below(&self) -> Length {
        self.lifted - self.in_trench
    }
}

/// Saw, lift and restore what lies on top of a run.
pub(super) fn take_off<'a>(run: &Run<'a>, t: &Trench, opening: &Opening, collect: &mut Collect<'_, 'a>) {
    if run.top.kind == SurfaceKind::BareSoil {
        return;
    }
    if run.top.is_sawn() {
        saw(run, opening, collect);
    }
    let beside = opening.area - t.plan;
    lift(run, t, opening, beside, collect);
    // Concrete is restored by the pour itself; everything else beside the surround is made good, pavers by laying them again.
    if run.top.kind != SurfaceKind::ConcreteSlab && beside.nm2() > 0 {
        make_good(run, t, opening, beside, collect);
    }
}

fn saw(run: &Run<'_>, opening: &Opening, collect: &mut Collect<'_, '_>) {
    let show = collect.show;
    let length = (opening.length + opening.width) * 2 + run.relief_cuts;
    let relief = fmt::from_fn(|f| {
        if !run.relief_cuts.is_positive() {
            return Ok(());
        }
        write!(f, " + {} relief cuts", show.length(run.relief_cuts))
    });
    let thick = run.top.thickness;
    let basis = worded!(
        "2 x ({} + {}){relief}, {} deep",
        show.length(opening.length),
        show.length(opening.width),
        show.length(thick)
    );
    surface::sawn(length, thick, "run.saw_cut", basis, collect);
}

/// Beside the trench it is lifted whole.
fn lift(run: &Run<'_>, t: &Trench, opening: &Opening, beside: Area, collect: &mut Collect<'_, '_>) {
    let show = collect.show;
    let at = |l: Length| show.length(l);
    let (kind, thick, area) = (run.top.kind, run.top.thickness, opening.area);
    let stays = thick - opening.lifted;
    let removed = area * thick - t.plan * stays;
    surface::count(kind, area, removed, beside * thick, collect);
    let (name, measure) = surface::lifted(kind);
    let (length, width) = (at(opening.length), at(opening.width));
    let (amount, basis) = if measure == Measure::PaversLifted {
        (show.area(area), worded!("{length} x {width}"))
    } else if stays.is_positive() {
        let basis = worded!(
            "{length} x {width} x {} less {} x {} x {} that stays below the trench",
            at(thick),
            at(t.length),
            at(t.width),
            at(stays)
        );
        (show.volume(removed), basis)
    } else {
        (show.volume(removed), worded!("{length} x {width} x {}", at(opening.lifted)))
    };
    collect.quantity(name, amount, "run.surface_removed", basis);
}

fn make_good(run: &Run<'_>, t: &Trench, opening: &Opening, beside: Area, collect: &mut Collect<'_, '_>) {
    let show = collect.show;
    let opened = if run.top.is_sawn() { "cut" } else { "lifted" };
    let place = fmt::from_fn(|f| {
        let (length, width) = (show.length(opening.length), show.length(opening.width));
        let (of_trench, wide) = (show.length(t.length), show.length(t.width));
        write!(f, "{opened} {length} x {width} less trench {of_trench} x {wide}")
    });
    if let Some(reason) = surface::restore(run.top, beside, &place, run.id, collect) {
        collect.checks.push(surface::not_on_offer(worded!("run {}", run.id), reason));
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
