//! What lies on top: how it is counted when lifted, how it is made good.

use super::check;
use super::collect::Collect;
use crate::compute::needs::Need;
use crate::domain::layout::Top;
use crate::domain::lines::{Check, Outcome};
use crate::domain::words::Measure;
use crate::units::show::worded;
use crate::units::{Area, Dimension, Length, Volume};
use crate::wire::book::ground::SurfaceKind;
use std::fmt;

/// Name and measure of a surface that is lifted; pavers count by area, everything else by volume.
pub(super) const fn lifted(kind: SurfaceKind) -> (&'static str, Measure) {
    match kind {
        SurfaceKind::ConcreteSlab => ("slab_removed", Measure::SlabRemoved),
        SurfaceKind::Asphalt => ("asphalt_removed", Measure::AsphaltRemoved),
        SurfaceKind::Gravel => ("gravel_stripped", Measure::GravelStripped),
        SurfaceKind::Pavers | SurfaceKind::BareSoil => ("pavers_lifted", Measure::PaversLifted),
    }
}

/// Counts a surface that is lifted, for the hours and for the haul. Where the surface goes back as pavers do, `again` of what
/// is lifted finds its place again.
pub(super) fn count(
    kind: SurfaceKind,
    cut: Area,
    removed: Volume,
    again: Volume,
    collect: &mut Collect<'_, '_>,
) {
    match lifted(kind).1 {
        Measure::PaversLifted => collect.measures.add_area(Measure::PaversLifted, cut),
        measure => collect.measures.add_volume(measure, removed),
    }
    collect.earth.lift(kind, removed, again);
}

/// A saw cut, as long and as deep as it goes.
pub(super) fn sawn(
    length: Length,
    deep: Length,
    rule: &'static str,
    basis: String,
    collect: &mut Collect<'_, '_>,
) {
    collect.measures.add_length(Measure::SawCutLength, length);
    collect.measures.add_area(Measure::SawCutFace, length * deep);
    let shown = collect.show.long(length);
    collect.quantity("saw_cut", shown, rule, basis);
}

/// Makes good an area of surface; why nothing is bought for it, where the book names nothing and it does not go back as it was.
pub(super) fn restore(
    top: Top,
    area: Area,
    place: &impl fmt::Display,
    subject: &impl fmt::Display,
    collect: &mut Collect<'_, '_>,
) -> Option<String> {
    let (book, shown) = (collect.book, collect.show.area(area));
    collect.measures.add_area(Measure::SurfaceRestored, area);
    let thick = collect.show.length(top.thickness);
    let basis = worded!("{place} = {shown} of {}, {thick} thick", top.kind);
    let rule = book.surface(top.kind);
    if let Some(rule) = rule
        && let Some(item) = &rule.restore_item
    {
        let need = match book.item(item).map(|i| i.unit.dimension()) {
            Some(Dimension::Area) => Need::Area(area),
            _ => Need::Volume(area * top.thickness, Some(rule.weight_per_ft3.per_ft3())),
        };
        collect.need(item, need, "surface.restored", format_args!("{subject}: {basis}"));
    }
    collect.quantity("surface_restored", shown, "surface.restored", basis);
    rule.filter(|rule| rule.restore_item.is_none() && !rule.reused.0).map(|_| {
        worded!(
            "{shown} of {} to be made good, but the price book names no item for it: nothing is bought",
            top.kind
        )
    })
}

/// That a surface is made good with nothing bought for it.
pub(super) fn not_on_offer(subject: String, reason: String) -> Check {
    check("restore_on_offer", subject, Outcome::Warn, reason)
}
