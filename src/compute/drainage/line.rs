//! The drain lines as trees of pipe, cut wherever something enters, joins or bends.

use super::Rules;
use super::words::Say;
use crate::compute::takeoff::levels::Levels;
use crate::compute::takeoff::way_out;
use crate::compute::water::bounds::RangeFaults;
use crate::compute::water::pipe::{
    DrainLine, DrainLineInput, GroundPoint, LegResult, LineLeg, LineSettings, PipeSettings,
};
use crate::domain::book::PriceBook;
use crate::domain::layout::{Degrees, Junction, Layout, Line};
use crate::units::Length;
use crate::wire::notes::LineEnd;

/// A stretch of pipe of a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Piece {
    pub(super) line: usize,
    pub(super) from: Length,
    pub(super) to: Length,
    /// Turn at its lower end, where it turns.
    bend: Option<Degrees>,
}

/// The lines that share a discharge.
#[derive(Debug)]
pub(super) struct Tree {
    pub(super) pieces: Vec<Piece>,
    /// The result, or what is wrong.
    pub(super) result: Result<Vec<LegResult>, String>,
    /// Lines at whose lower end something enters that flows in none of their pipe, with its flow, m³/s.
    pub(super) beside: Vec<(usize, f64)>,
}

/// Stretches of every line.
pub(super) fn pieces(layout: &Layout<'_>) -> Vec<Piece> {
    let mut out = Vec::new();
    for (index, line) in layout.lines.iter().enumerate() {
        let mut bends: Vec<(Length, Option<Degrees>)> = Vec::with_capacity(line.legs.len());
        let mut at = Length::ZERO;
        for leg in &line.legs {
            at += leg.length;
            bends.push((at, leg.bend));
        }
        let mut cuts: Vec<Length> = bends.iter().map(|(at, _)| *at).collect();
        cuts.extend(line.entries());
        cuts.retain(|c| c.is_positive() && *c <= line.length);
        cuts.sort();
        cuts.dedup();
        let mut from = Length::ZERO;
        for to in cuts {
            let bend = bends.iter().find(|(at, _)| *at == to).and_then(|(_, bend)| *bend);
            out.push(Piece { line: index, from, to, bend });
            from = to;
        }
    }
    out
}

/// Where in a pipe the water is that enters a line at a station: right there, or, from the lower end of the line, where the line
/// joins another; `None` where it leaves the layout without passing a pipe.
fn taken_up(layout: &Layout<'_>, mut entered: Junction) -> Option<Junction> {
    for _ in 0..layout.lines.len() {
        let here = layout.lines.get(entered.line)?;
        if entered.at < here.length {
            return Some(entered);
        }
        entered = here.joins?;
    }
    None
}

/// The pipe into which a line lets its water, and where.
fn below(layout: &Layout<'_>, line: usize) -> Option<Junction> {
    taken_up(layout, layout.lines.get(line)?.joins?)
}

/// The line at whose end a line's water leaves the pipes.
fn root_of(layout: &Layout<'_>, mut line: usize) -> usize {
    for _ in 0..layout.lines.len() {
        match below(layout, line) {
            Some(next) => line = next.line,
            None => break,
        }
    }
    line
}

/// Level of the water that a line discharges into, by itself or at the lower end of another.
fn tailwater(layout: &Layout<'_>, mut line: usize) -> Option<f64> {
    for _ in 0..layout.lines.len() {
        let here = layout.lines.get(line)?;
        match (here.ends, here.joins) {
            (LineEnd::Discharges { water_level, .. }, _) => {
                return water_level.map(|level| level.0.metres_f64());
            }
            (LineEnd::Joins { .. }, next) => line = next?.line,
        }
    }
    None
}

/// Computes every tree for flows through the outlets: run, outlet, m³/s.
pub(super) fn compute(
    layout: &Layout<'_>,
    levels: &[Levels],
    flow_of: &dyn Fn(usize, usize) -> f64,
    rules: Rules<'_>,
    book: &PriceBook,
) -> Vec<Tree> {
    let all = pieces(layout);
    let mut roots: Vec<usize> = (0..layout.lines.len()).filter(|l| root_of(layout, *l) == *l).collect();
    roots.dedup();
    roots
        .into_iter()
        .map(|root| {
            let mine: Vec<Piece> = all.iter().copied().filter(|p| root_of(layout, p.line) == root).collect();
            let legs = mine
                .iter()
                .enumerate()
                .filter_map(|(i, piece)| leg(i, piece, &mine, layout, levels, flow_of, rules))
                .collect();
            let cover = book.doc().line_rules.as_ref().map(|r| r.least_cover);
            let settings = LineSettings {
                pipe: PipeSettings {
                    least_full_velocity_m_per_s: rules.least_velocity_m_per_s(),
                    greatest_velocity_m_per_s: rules.greatest_velocity_m_per_s(),
                    ..PipeSettings::default()
                },
                // The least fall by bore is a check of the take-off.
                least_slope: 0.0,
                least_cover_m: cover.unwrap_or(Length::FOOT).metres_f64(),
            };
            let input = DrainLineInput { legs, tailwater_level_m: tailwater(layout, root), settings };
            let result = match climbs(&mine, layout, levels) {
                Some(why) => Err(why),
                None => DrainLine::new(input)
                    .map(|line| line.compute().legs)
                    .map_err(|faults| refusal(&faults, &mine, layout)),
            };
            let mut beside: Vec<(usize, f64)> =
                mine.iter().map(|p| (p.line, entering(layout, p.line, flow_of, true))).collect();
            beside.dedup_by_key(|(line, _)| *line);
            beside.retain(|(_, flow)| *flow > 0.0);
            Tree { pieces: mine, result, beside }
        })
        .collect()
}

/// Flow that enters a line, all of it or only what does at its lower end, m³/s.
fn entering(
    layout: &Layout<'_>,
    line: usize,
    flow_of: &dyn Fn(usize, usize) -> f64,
    at_lower_end: bool,
) -> f64 {
    let Some(here) = layout.lines.get(line) else { return 0.0 };
    let counts = |station: Length| !at_lower_end || station == here.length;
    let outlets: f64 = here.from.iter().filter(|f| counts(f.at)).map(|f| flow_of(f.run, f.outlet)).sum();
    let joining = here.joined_by.iter().filter(|j| counts(j.at));
    outlets + joining.map(|j| entering(layout, j.line, flow_of, false)).sum::<f64>()
}

/// Why a line has no grade line, in the job's units.
fn refusal(faults: &RangeFaults, pieces: &[Piece], layout: &Layout<'_>) -> String {
    let say = Say(layout.show);
    say.faults(faults, &|place| {
        let (index, _) = place.strip_prefix("legs[")?.split_once(']')?;
        let piece = pieces.get(index.parse::<usize>().ok()?)?;
        let (from, to) = (say.far(piece.from.metres_f64()), say.far(piece.to.metres_f64()));
        Some(format!(" of line {} from {from} to {to}", layout.lines.get(piece.line)?.id))
    })
}

/// Where water would have to climb, in the job's units.
fn climbs(pieces: &[Piece], layout: &Layout<'_>, levels: &[Levels]) -> Option<String> {
    let say = Say(layout.show);
    let invert = |line: usize, station: Length| {
        Some(levels.get(line)?.invert(station, layout.lines.get(line)?.length).metres_f64())
    };
    pieces.iter().find_map(|piece| {
        let line = layout.lines.get(piece.line)?;
        let (upper, lower) = (invert(piece.line, piece.from)?, invert(piece.line, piece.to)?);
        if lower > upper {
            return Some(format!(
                "line {} rises from {} to {}: water does not climb",
                line.id,
                say.far(upper),
                say.far(lower)
            ));
        }
        let Junction { line: to, at: station } = line.joins.filter(|_| piece.to == line.length)?;
        let entered = invert(to, station)?;
        (lower < entered - 1e-9).then(|| {
            format!(
                "line {} ends at {}, lower than the invert of line {} it joins, {}: raise it, or lower that line",
                line.id,
                say.far(lower),
                layout.lines.get(to).map_or("", |l| l.id.as_str()),
                say.far(entered)
            )
        })
    })
}

fn leg(
    index: usize,
    piece: &Piece,
    pieces: &[Piece],
    layout: &Layout<'_>,
    levels: &[Levels],
    flow_of: &dyn Fn(usize, usize) -> f64,
    rules: Rules<'_>,
) -> Option<LineLeg> {
    let line = layout.lines.get(piece.line)?;
    let profile = levels.get(piece.line)?;
    let last = piece.to == line.length;
    let flows_into = if last {
        below(layout, piece.line)
            .and_then(|into| pieces.iter().position(|p| (p.line, p.from) == (into.line, into.at)))
    } else {
        Some(index + 1)
    };
    // What enters a line at its lower end flows in with it further down.
    let upper = Some(Junction { line: piece.line, at: piece.from });
    let entering =
        layout.lines.iter().enumerate().flat_map(|(line, l)| l.from.iter().map(move |feed| (line, feed)));
    let here = entering.filter(|&(line, feed)| taken_up(layout, Junction { line, at: feed.at }) == upper);
    let inflow = here.map(|(_, feed)| flow_of(feed.run, feed.outlet)).sum();
    let pipe = line.pipe;
    Some(LineLeg {
        name: line.id.as_str().to_owned(),
        flows_into,
        length_m: (piece.to - piece.from).metres_f64(),
        bore_m: pipe.inside_diameter.metres_f64(),
        wall_m: (pipe.outside_diameter - pipe.inside_diameter).half().metres_f64(),
        n: pipe.roughness.millionths() as f64 / 1e6,
        invert_upper_m: profile.invert(piece.from, line.length).metres_f64(),
        invert_lower_m: profile.invert(piece.to, line.length).metres_f64(),
        inflow_m3_per_s: inflow,
        bend_loss: if piece.bend.is_some() { rules.bend_loss() } else { 0.0 },
        junction_loss: if last && line.joins.is_some() { rules.junction_loss() } else { 0.0 },
        ground: ground(line, piece, way_out::comes_out(line, profile)),
    })
}

/// Ground along a piece: the noted points within it and the levels at its ends. There is none over a pipe that has come out of it
/// on its way to an end in the open: water comes out at that end and nowhere before.
fn ground(line: &Line<'_>, piece: &Piece, out: Option<Length>) -> Vec<GroundPoint> {
    let to = out.map_or(piece.to, |out| out.min(piece.to));
    if to <= piece.from {
        return Vec::new();
    }
    let at = |station: Length| {
        let above = line.ground.iter().rev().find(|point| point.at <= station);
        let below = line.ground.iter().find(|point| point.at >= station);
        match (above, below) {
            (Some(above), Some(below)) if below.at > above.at => {
                let part = ((station - above.at).nm(), (below.at - above.at).nm());
                Some(above.level + (below.level - above.level).share(part.0, part.1))
            }
            (Some(point), _) | (None, Some(point)) => Some(point.level),
            (None, None) => None,
        }
    };
    let mut stations = vec![piece.from];
    stations.extend(line.ground.iter().map(|point| point.at).filter(|s| *s > piece.from && *s < to));
    stations.push(to);
    stations
        .into_iter()
        .filter_map(|s| {
            at(s).map(|level| GroundPoint {
                along_m: (s - piece.from).metres_f64(),
                level_m: level.metres_f64(),
            })
        })
        .collect()
}

/// Level to which water stands where an outlet enters its line, m; `None` when it enters none.
pub(super) fn level_behind(layout: &Layout<'_>, trees: &[Tree], run: usize, outlet: usize) -> Option<f64> {
    let (line, station) =
        layout.lines.iter().enumerate().find_map(|(i, l)| {
            l.from.iter().find(|f| (f.run, f.outlet) == (run, outlet)).map(|f| (i, f.at))
        })?;
    trees.iter().find_map(|tree| {
        let legs = tree.result.as_ref().ok()?;
        let mine = || tree.pieces.iter().zip(legs).filter(|(p, _)| p.line == line);
        let entered = mine().find(|(p, _)| p.from == station).map(|(_, leg)| leg.grade_upper_m);
        entered.or_else(|| mine().find(|(p, _)| p.to == station).map(|(_, leg)| leg.grade_lower_m))
    })
}
