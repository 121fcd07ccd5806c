//! Cover along a pipe: where there is too little of it, and where the pipe comes out of the ground towards an end in the open.

use super::levels::Levels;
use super::profile;
use crate::domain::layout::Line;
use crate::units::Length;
use crate::wire::notes::Outfall;

/// Levels are rounded to the nanometre at every station: what is no further apart than this is one height.
const HAIR: Length = Length::from_nm(1_000);

/// Height of the ground over the top of the pipe at a station; straight from one point to the next.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Point {
    pub(super) at: Length,
    pub(super) over: Length,
}

/// A stretch in which there is too little cover.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Thin {
    /// Where it begins.
    pub(super) from: Length,
    /// Where it ends.
    pub(super) to: Length,
    /// The point of least cover within.
    pub(super) worst: Point,
}

/// The stretches with less cover than `least`.
pub(super) fn thin(covers: &[Point], least: Length) -> Vec<Thin> {
    let mut out = Vec::new();
    let mut open: Option<Thin> = None;
    let mut before: Option<Point> = None;
    for here in covers {
        if here.over < least {
            let from = before.map_or(here.at, |before| passes(before, *here, least));
            let thin = open.get_or_insert(Thin { from, to: here.at, worst: *here });
            thin.to = here.at;
            if here.over < thin.worst.over {
                thin.worst = *here;
            }
        } else if let Some((thin, before)) = open.take().zip(before) {
            out.push(Thin { to: passes(before, *here, least), ..thin });
        }
        before = Some(*here);
    }
    out.extend(open);
    out
}

/// Where the cover passes a height between two points on either side of it.
fn passes(near: Point, far: Point, height: Length) -> Length {
    near.at + (far.at - near.at).share((height - near.over).nm(), (far.over - near.over).nm())
}

fn in_the_open(line: &Line<'_>) -> bool {
    line.ends.outfall().is_some_and(Outfall::is_open)
}

/// The last stretch of a line that ends in the open, in which the cover shrinks steadily to that end, or until the pipe is out for
/// good: it must come out of the ground there. Nothing for a line that ends elsewhere.
pub(super) fn way_out<'c>(line: &Line<'_>, covers: &'c [Point]) -> Option<&'c [Point]> {
    in_the_open(line).then(|| leading_out(covers)).flatten()
}

fn leading_out(covers: &[Point]) -> Option<&[Point]> {
    let is_out = |point: &Point| point.over < Length::ZERO;
    let leads_out = |pair: &&[Point]| matches!(pair, [near, far] if near.over + HAIR >= far.over || is_out(near) && is_out(far));
    let steps = covers.windows(2).rev().take_while(leads_out).count();
    covers.get(covers.len().checked_sub(steps + 1)?..)
}

/// Where on the way out the cover falls below a height that it has at the beginning of the way.
pub(super) fn falls_below(way: &[Point], height: Length) -> Option<Length> {
    way.first().filter(|first| first.over >= height)?;
    let end = way.last()?.at;
    thin(way, height).last().filter(|thin| thin.to == end).map(|thin| thin.from)
}

/// Where the top of a pipe comes out of the ground on its way to an end in the open; nothing where it does not, or where the
/// ground is only what a constant depth makes it.
pub(in crate::compute) fn comes_out(line: &Line<'_>, levels: &Levels) -> Option<Length> {
    if line.ground.is_empty() || !in_the_open(line) {
        return None;
    }
    let (outside, inside) = (line.pipe.outside_diameter, line.pipe.inside_diameter);
    let top = outside - (outside - inside).half();
    let noted = line.ground.iter().map(|point| point.at);
    let between = noted.filter(|at| at.is_positive() && *at < line.length);
    let stations = std::iter::once(Length::ZERO).chain(between).chain([line.length]);
    let over = |at: Length| profile::ground_at(&line.ground, at) - levels.invert(at, line.length) - top;
    let covers: Vec<Point> = stations.map(|at| Point { at, over: over(at) }).collect();
    falls_below(way_out(line, &covers)?, Length::ZERO)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn points(all: &[(i64, i64)]) -> Vec<Point> {
        let point = |&(feet, inches)| Point { at: Length::feet(feet), over: Length::inches(inches, 1) };
        all.iter().map(point).collect()
    }

    #[test]
    fn stretches_begin_and_end_where_the_cover_passes_the_height() {
        let covers = points(&[(0, 6), (10, 16), (20, 16), (30, 8), (40, 10), (50, 20)]);
        let found = thin(&covers, Length::inches(12, 1));
        let feet = |thin: &Thin| (thin.from, thin.to, thin.worst);
        let at = Length::feet;
        assert_eq!(
            found.iter().map(feet).collect::<Vec<_>>(),
            [(at(0), at(6), covers[0]), (at(25), at(42), covers[3])]
        );
        assert!(thin(&covers, Length::inches(6, 1)).is_empty());
        // all along, and no further than the points go
        assert_eq!(feet(&thin(&covers, Length::inches(30, 1))[0]), (at(0), at(50), covers[0]));
    }

    #[test]
    fn a_pipe_that_is_out_and_stays_out_is_on_its_way_out() {
        // over a slope of a bank, then along a level bed that the pipe falls towards
        let bed = points(&[(0, 20), (10, 24), (20, 2), (22, -8), (30, -6)]);
        assert_eq!(leading_out(&bed), Some(&bed[1..]));
        assert_eq!(falls_below(&bed[1..], Length::ZERO), Some(Length::feet(20) + Length::inches(24, 5)));
        // one that goes into the ground once more comes out of it where it leaves it last
        let again = points(&[(0, 20), (10, -4), (20, 8), (30, -2)]);
        assert_eq!(leading_out(&again), Some(&again[2..]));
        // the last of the ground may lie over it
        let low = points(&[(0, 20), (20, 10), (30, 4)]);
        assert_eq!(leading_out(&low), Some(&low[..]));
    }

    #[test]
    fn the_cover_falls_below_a_height_it_had() {
        let way = points(&[(0, 24), (10, 24), (20, 4), (30, -6)]);
        assert_eq!(falls_below(&way, Length::ZERO), Some(Length::feet(24)));
        assert_eq!(falls_below(&way, Length::inches(14, 1)), Some(Length::feet(15)));
        assert_eq!(falls_below(&way, Length::inches(-6, 1)), None);
        assert_eq!(falls_below(&way, Length::inches(30, 1)), None);
    }
}
