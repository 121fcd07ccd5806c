//! The drain lines as trees of pipe, cut wherever something enters, joins or bends.

use super::Rules;
use super::words::Say;
use crate::compute::takeoff::levels::Levels;
use crate::compute::water::pipe::{
    DrainLine, DrainLineInput, GroundPoint, LegResult, LineLeg, LineSettings, PipeSettings,
};
use crate::domain::book::PriceBook;
use crate::domain::layout::{Layout, Line};
use crate::units::Length;
use crate::wire::notes::LineEnd;

/// A stretch of pipe of a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Piece {
    pub(super) line: usize,
    pub(super) from: Length,
    pub(super) to: Length,
    /// Turn at its lower end, degrees.
    bend: i64,
}

/// The lines that share a discharge.
#[derive(Debug)]
pub(super) struct Tree {
    pub(super) pieces: Vec<Piece>,
    /// The result, or what is wrong.
    pub(super) result: Result<Vec<LegResult>, String>,
}

/// Stretches of every line.
pub(super) fn pieces(layout: &Layout<'_>) -> Vec<Piece> {
    let mut out = Vec::new();
    for (index, line) in layout.lines.iter().enumerate() {
        let mut bends: Vec<(Length, i64)> = Vec::with_capacity(line.legs.len());
        let mut at = Length::ZERO;
        for leg in &line.legs {
            at += leg.length;
            bends.push((at, leg.bend));
        }
        let mut cuts: Vec<Length> = bends.iter().map(|(at, _)| *at).collect();
        cuts.extend(line.from.iter().map(|f| f.2));
        cuts.extend(line.joined_by.iter().map(|j| j.1));
        cuts.retain(|c| c.is_positive() && *c <= line.length);
        cuts.sort();
        cuts.dedup();
        let mut from = Length::ZERO;
        for to in cuts {
            let bend = bends.iter().find(|(at, _)| *at == to).map_or(0, |(_, bend)| *bend);
            out.push(Piece { line: index, from, to, bend });
            from = to;
        }
    }
    out
}

/// The piece at whose upper end something enters at a station; the last one for the lower end of the line.
fn entered(pieces: &[Piece], line: usize, station: Length) -> Option<usize> {
    pieces
        .iter()
        .position(|p| p.line == line && p.from == station)
        .or_else(|| pieces.iter().rposition(|p| p.line == line))
}

/// The line at whose end a line's water leaves the layout.
fn root_of(layout: &Layout<'_>, mut line: usize) -> usize {
    for _ in 0..layout.lines.len() {
        match layout.lines.get(line).and_then(|l| l.joins) {
            Some((next, _)) => line = next,
            None => break,
        }
    }
    line
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
            let tailwater = match layout.lines.get(root).map(|l| l.ends) {
                Some(LineEnd::Discharges { water_level, .. }) => {
                    water_level.map(|level| level.0.metres_f64())
                }
                _ => None,
            };
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
            let result = DrainLine::new(DrainLineInput { legs, tailwater_level_m: tailwater, settings })
                .map(|line| line.compute().legs)
                .map_err(|faults| climbs(&mine, layout, levels).unwrap_or_else(|| faults.to_string()));
            Tree { pieces: mine, result }
        })
        .collect()
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
        let (to, station) = line.joins.filter(|_| piece.to == line.length)?;
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
        line.joins.and_then(|(to, station)| entered(pieces, to, station))
    } else {
        Some(index + 1)
    };
    let inflow = line
        .from
        .iter()
        .filter(|f| entered(pieces, piece.line, f.2) == Some(index))
        .map(|f| flow_of(f.0, f.1))
        .sum();
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
        bend_loss: if piece.bend > 0 { rules.bend_loss() } else { 0.0 },
        junction_loss: if last && line.joins.is_some() { rules.junction_loss() } else { 0.0 },
        ground: ground(line, piece),
    })
}

/// Ground along a piece: the noted points within it and the levels at its ends.
fn ground(line: &Line<'_>, piece: &Piece) -> Vec<GroundPoint> {
    let at = |station: Length| {
        let above = line.ground.iter().rev().find(|(s, _)| *s <= station);
        let below = line.ground.iter().find(|(s, _)| *s >= station);
        match (above, below) {
            (Some((s0, l0)), Some((s1, l1))) if s1 > s0 => {
                Some(*l0 + (*l1 - *l0).share((station - *s0).nm(), (*s1 - *s0).nm()))
            }
            (Some((_, l)), _) | (None, Some((_, l))) => Some(*l),
            (None, None) => None,
        }
    };
    let mut stations = vec![piece.from];
    stations.extend(line.ground.iter().map(|(s, _)| *s).filter(|s| *s > piece.from && *s < piece.to));
    stations.push(piece.to);
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
    let (line, station) = layout
        .lines
        .iter()
        .enumerate()
        .find_map(|(i, l)| l.from.iter().find(|f| f.0 == run && f.1 == outlet).map(|f| (i, f.2)))?;
    trees.iter().find_map(|tree| {
        let index = entered(&tree.pieces, line, station)?;
        let piece = tree.pieces.get(index).filter(|p| p.line == line)?;
        let legs = tree.result.as_ref().ok()?;
        let leg = legs.get(index)?;
        Some(if piece.from == station { leg.grade_upper_m } else { leg.grade_lower_m })
    })
}
