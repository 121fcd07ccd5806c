//! What lies on top: how it is counted when lifted, how it is made good.

use super::earth::Earth;
use super::{check, quantity};
use crate::compute::needs::{Need, Needs};
use crate::domain::book::PriceBook;
use crate::domain::layout::{Layout, Top};
use crate::domain::lines::{Check, Outcome, QuantityLine};
use crate::domain::measures::Measures;
use crate::domain::words::Measure;
use crate::units::show::{Show, worded};
use crate::units::{Area, Length, Volume};
use crate::wire::book::ground::SurfaceKind;

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
    measures: &mut Measures,
    earth: &mut Earth,
) {
    match lifted(kind).1 {
        Measure::PaversLifted => measures.add_area(Measure::PaversLifted, cut),
        measure => measures.add_volume(measure, removed),
    }
    earth.lift(kind, removed, again);
}

/// A saw cut, as long and as deep as it goes.
pub(super) fn sawn(
    length: Length,
    deep: Length,
    (rule, basis): (&'static str, String),
    show: Show,
    measures: &mut Measures,
    q: &mut Vec<QuantityLine>,
) {
    measures.add_length(Measure::SawCutLength, length);
    measures.add_area(Measure::SawCutFace, length * deep);
    q.push(quantity("saw_cut", show.long(length), rule, basis));
}

/// Makes good an area of surface; why nothing is bought for it, where the book names nothing and it does not go back as it was.
#[expect(clippy::too_many_arguments, reason = "shared by runs and lines")]
pub(super) fn restore<'a>(
    top: Top,
    area: Area,
    place: &str,
    subject: &str,
    layout: &Layout<'a>,
    book: &'a PriceBook,
    measures: &mut Measures,
    needs: &mut Needs<'a>,
    q: &mut Vec<QuantityLine>,
) -> Option<String> {
    let show = layout.show;
    measures.add_area(Measure::SurfaceRestored, area);
    let basis =
        worded!("{place} = {} of {}, {} thick", show.area(area), top.kind, show.length(top.thickness));
    let rule = book.surface(top.kind);
    if let Some(rule) = rule
        && let Some(item) = &rule.restore_item
    {
        let need = match book.item(item).map(|i| i.unit.dimension()) {
            Some(crate::units::Dimension::Area) => Need::Area(area),
            _ => Need::Volume(area * top.thickness, Some(rule.weight_per_ft3.per_ft3())),
        };
        needs.add(book, item, need, "surface.restored", format_args!("{subject}: {basis}"));
    }
    q.push(quantity("surface_restored", show.area(area), "surface.restored", basis));
    rule.filter(|rule| rule.restore_item.is_none() && !rule.reused.0).map(|_| {
        worded!(
            "{} of {} to be made good, but the price book names no item for it: nothing is bought",
            show.area(area),
            top.kind
        )
    })
}

/// That a surface is made good with nothing bought for it.
pub(super) fn not_on_offer(subject: String, reason: String) -> Check {
    check("restore_on_offer", subject, Outcome::Warn, reason)
}
