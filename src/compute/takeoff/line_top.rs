//! What lies on top of a line: sawn, lifted, made good.

use super::collect::Collect;
use super::profile::{self, Station};
use super::surface;
use crate::domain::book::PriceBook;
use crate::domain::layout::stretches::Stretch;
use crate::domain::layout::{Line, Top};
use crate::domain::words::Measure;
use crate::units::show::{Show, worded};
use crate::units::{Area, Length, Volume};
use crate::wire::book::ground::SurfaceKind;
use std::fmt;

/// Saws, lifts and makes good what lies over a line; gives the concrete of its slabs, net.
pub(super) fn take_off<'a>(
    line: &Line<'a>,
    width: Length,
    stations: &[Station],
    collect: &mut Collect<'_, 'a>,
) -> Volume {
    let mut concrete = Volume::ZERO;
    for part in line.cut_as_one() {
        let Some(cut) = Cut::of(line, part, width, stations, collect.book) else { continue };
        if cut.top.is_sawn() {
            cut.saw(collect);
        }
        cut.lift(collect);
        if cut.top.kind == SurfaceKind::ConcreteSlab {
            cut.pour_back(collect);
            concrete += cut.removed;
        } else {
            cut.make_good(collect);
        }
    }
    concrete
}

/// A stretch of a line that is opened by one closed cut.
struct Cut<'r, 'a> {
    line: &'r Line<'a>,
    part: Stretch,
    top: Top,
    /// Width of the trench at its bottom.
    trench: Length,
    /// The trench at its deepest there.
    deep: Length,
    /// Over-cut per side.
    over: Length,
    /// How wide the surface is opened.
    width: Length,
    area: Area,
    removed: Volume,
}

impl<'r, 'a> Cut<'r, 'a> {
    /// That over a stretch; nothing where bare soil lies on top.
    fn of(
        line: &'r Line<'a>,
        part: Stretch,
        trench: Length,
        stations: &[Station],
        book: &PriceBook,
    ) -> Option<Self> {
        let top = line.legs.get(part.first)?.top;
        if top.kind == SurfaceKind::BareSoil {
            return None;
        }
        let deep = profile::deepest(stations, part.from, part.from + part.length);
        let over = book.doc().over_cut.filter(|_| top.is_sawn()).unwrap_or(Length::ZERO);
        let width = trench + deep.share(line.side_slope.millionths() * 2, 1_000_000) + over * 2;
        let area = part.length * width;
        Some(Self { line, part, top, trench, deep, over, width, area, removed: area * top.thickness })
    }

    fn saw(&self, collect: &mut Collect<'_, 'a>) {
        let Self { part, width, .. } = self;
        let show = collect.show;
        let (saw, thick) = ((part.length + *width) * 2, self.top.thickness);
        let basis = worded!(
            "{part}: 2 x ({} + {}), {} deep{}",
            show.length(part.length),
            show.length(*width),
            show.length(thick),
            self.why(show)
        );
        surface::sawn(saw, thick, "line.saw_cut", basis, collect);
    }

    fn lift(&self, collect: &mut Collect<'_, 'a>) {
        let (kind, show) = (self.top.kind, collect.show);
        surface::count(kind, self.area, self.removed, self.removed, collect);
        let (what, measure) = surface::lifted(kind);
        let (place, why) = (self.place(show), self.why(show));
        let (amount, basis) = match measure {
            Measure::PaversLifted => (show.area(self.area), worded!("{place}{why}")),
            _ => (show.volume(self.removed), worded!("{place} x {}{why}", show.length(self.top.thickness))),
        };
        collect.quantity(what, amount, "line.surface_removed", basis);
    }

    /// A slab is poured back.
    fn pour_back(&self, collect: &mut Collect<'_, 'a>) {
        let show = collect.show;
        collect.measures.add_area(Measure::FinishArea, self.area);
        let basis = worded!("{}: the slab is poured back over the whole cut", self.part);
        collect.quantity("patch_concrete", show.volume(self.removed), "line.patch", basis);
        let basis = worded!("{}{}", self.place(show), self.why(show));
        collect.quantity("finish_area", show.area(self.area), "line.finish", basis);
    }

    /// What is no slab is laid again, or bought.
    fn make_good(&self, collect: &mut Collect<'_, 'a>) {
        let Self { line, part, .. } = self;
        let (place, subject) = (self.place(collect.show), fmt::from_fn(|f| write!(f, "line {}", line.id)));
        if let Some(reason) = surface::restore(self.top, self.area, &place, &subject, collect) {
            let check = surface::not_on_offer(worded!("{subject}"), worded!("{part}: {reason}"));
            collect.checks.push(check);
        }
    }

    /// Which legs, how long and how wide.
    fn place(&self, show: Show) -> impl fmt::Display {
        fmt::from_fn(move |f| {
            write!(f, "{}: {} x {}", self.part, show.length(self.part.length), show.length(self.width))
        })
    }

    /// How wide the cut is over battered sides: as the trench at its deepest there; nothing for upright sides.
    fn why(&self, show: Show) -> impl fmt::Display {
        fmt::from_fn(move |f| {
            let slope = self.line.side_slope;
            if slope.is_zero() {
                return Ok(());
            }
            let (trench, deep) = (show.length(self.trench), show.length(self.deep));
            write!(f, "; as wide as {trench} + 2 x {slope} x {deep} at its deepest there")?;
            if self.over.is_positive() {
                write!(f, " + 2 x {} over-cut", show.length(self.over))?;
            }
            Ok(())
        })
    }
}
