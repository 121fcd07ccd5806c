//! A chain of a run as the hydraulics see it.

use super::Rules;
use super::storm::RunInflow;
use crate::compute::water::bounds::RangeFaults;
use crate::compute::water::intake::{EndOpening, FloorOpening, Opening};
use crate::compute::water::run::{
    LateralInflow, Leg, Outlet, PointInflow, Run as WaterRun, RunInput, RunSettings,
};
use crate::compute::water::section::{OpenSection, Rectangle, UShape};
use crate::domain::layout::{Chain, Layout, Line, Run, RunOutlet, TeeAt};
use crate::units::Length;
use crate::wire::book::systems::{Bottom, OutletFitting};

/// Stations of a profile in an answer.
const STATIONS: usize = 24;
/// Parts of its length by which a chain is drawn out.
const WHOLE: i64 = 1_000_000_000_000;
/// Difference of depth that counts as none, m.
const LEVEL: f64 = 1e-6;

/// What an outlet of a chain is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Way {
    /// An outlet of the run, by its index.
    Outlet(usize),
    /// The tee through which the chain flows into another.
    Tee,
}

/// How a chain lets its water into another at a tee.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct TeeWay {
    /// The chain that takes it.
    pub(super) into: usize,
    /// Where on the chain that lets it go.
    pub(super) here: Length,
    /// Where on the chain that takes it.
    pub(super) there: Length,
}

/// Whether a chain begins at a tee and takes water there from the chain it meets: that one has nowhere else to let it go, and
/// this one, or one that branches from it, has an outlet.
fn takes_from_above(run: &Run<'_>, chain: usize) -> bool {
    let Some((parent, _)) = meets(run, chain) else { return false };
    let leads_here = |outlet: usize| {
        let ways_up = std::iter::successors(Some(outlet), |c| meets(run, *c).map(|(parent, _)| parent));
        ways_up.take_while(|c| *c >= chain).any(|c| c == chain)
    };
    let has_outlet = |chain: usize| run.outlets.iter().any(|o| o.chain == chain);
    let closed = !has_outlet(parent) && (parent == 0 || takes_from_above(run, parent));
    closed && run.outlets.iter().any(|o| leads_here(o.chain))
}

/// The tee through which a chain lets water into another: where it begins, unless it takes water there; else the one where the
/// only branch with outlets begins. Several such branches are none: how water parts between them is not computed.
pub(super) fn tee(run: &Run<'_>, chain: usize) -> Option<TeeWay> {
    if let Some((into, there)) = meets(run, chain)
        && !takes_from_above(run, chain)
    {
        return Some(TeeWay { into, here: Length::ZERO, there });
    }
    let mut branches = (chain + 1..run.chains.len())
        .filter(|c| takes_from_above(run, *c))
        .filter_map(|c| meets(run, c).map(|(to, at)| (c, to, at)))
        .filter(|(_, to, _)| *to == chain);
    let (into, _, here) = branches.next()?;
    branches.next().is_none().then_some(TeeWay { into, here, there: Length::ZERO })
}

/// Where a tee chain meets the chain it branches from: chain and station.
pub(super) fn meets(run: &Run<'_>, chain: usize) -> Option<(usize, Length)> {
    let first = run.chains.get(chain)?.first;
    let TeeAt { leg, at } = run.legs.get(first)?.tee?;
    let (index, parent) = run.chains.iter().enumerate().find(|(_, c)| (c.first..c.end).contains(&leg))?;
    let before: Length = run.legs.iter().take(leg).skip(parent.first).map(|l| l.length).sum();
    Some((index, before + at))
}

/// The outlets of a chain in the order of their stations.
pub(super) fn ways(run: &Run<'_>, chain: usize) -> Vec<(Way, Length)> {
    let mut out: Vec<(Way, Length)> = run
        .outlets
        .iter()
        .enumerate()
        .filter(|(_, o)| o.chain == chain)
        .map(|(i, o)| (Way::Outlet(i), o.at))
        .collect();
    out.extend(tee(run, chain).map(|tee| (Way::Tee, tee.here)));
    out.sort_by_key(|(_, at)| *at);
    out
}

/// Which legs a word about a chain is of, before that word: its stations count along them. Nothing where the run is one chain.
pub(super) fn of_legs(run: &Run<'_>, chain: usize) -> String {
    match (run.chains.get(chain), run.chains.len()) {
        (Some(c), 2..) => format!("{}: ", legs_in_words((c.first + 1, c.end))),
        _ => String::new(),
    }
}

fn legs_in_words((first, last): (usize, usize)) -> String {
    if first == last { format!("leg {first}") } else { format!("legs {first} to {last}") }
}

/// Why a chain without outlet or tee to let its water go is not computed: its first and last leg.
pub(super) fn no_way_out((first, last): (usize, usize)) -> String {
    let legs = legs_in_words((first, last));
    let have = if first == last { "has" } else { "have" };
    format!(
        "{legs} {have} no outlet, and several branches that have one begin there: how the water parts between them is not computed. \
         Water passes a tee from the branch into the leg it meets, or from that leg into the only branch with outlets; give these \
         legs an outlet, or describe each branch as a run of its own with the water that it takes as an inflow"
    )
}

/// What stands behind an outlet, m above the channel's bottom.
pub(super) type Standing<'f> = &'f dyn Fn(Way) -> Option<f64>;

/// Bores through which the outlets of a run let the water out: their own, or that of a narrower pipe that begins there.
pub(super) fn mouths(layout: &Layout<'_>, run: usize) -> Vec<Length> {
    let pipes = |outlet: usize| {
        let joined =
            move |line: &&Line<'_>| line.from.iter().any(|feed| (feed.run, feed.outlet) == (run, outlet));
        layout.lines.iter().filter(joined).map(|line| line.pipe.inside_diameter)
    };
    let outlets = layout.runs.get(run).into_iter().flat_map(|run| run.outlets.iter());
    outlets.enumerate().map(|(i, outlet)| pipes(i).fold(outlet.fitting.bore, Length::min)).collect()
}

/// Builds the chain.
///
/// `joining` is what tees bring: station in m and flow in m³/s; `mouths` are the bores of the run's outlets.
pub(super) fn build(
    run: &Run<'_>,
    chain: usize,
    inflow: &RunInflow,
    joining: &[(f64, f64)],
    mouths: &[Length],
    standing: Standing<'_>,
    rules: Rules<'_>,
) -> Result<WaterRun, RangeFaults> {
    let Some(of) = run.chains.get(chain) else { return Err(RangeFaults::default()) };
    let section = &run.system.section;
    let width = section.inside_width.metres_f64();
    let shape: OpenSection = match section.bottom {
        Bottom::Rectangular => Rectangle::new(width)?.into(),
        Bottom::U => UShape::new(width)?.into(),
    };
    let outlets = ways(run, chain)
        .into_iter()
        .map(|(way, at)| {
            let opening = match way {
                Way::Outlet(i) => run.outlets.get(i).zip(mouths.get(i)).map(|(o, bore)| opening(o, *bore)),
                Way::Tee => None,
            };
            let below = opening.as_ref().map_or(0.0, Opening::invert_below_bed_m);
            let tailwater_depth_m = standing(way).filter(|depth| *depth > -below);
            Outlet { station_m: at.metres_f64(), opening, tailwater_depth_m }
        })
        .collect();
    WaterRun::new(RunInput {
        section: shape,
        manning_n: section.roughness.millionths() as f64 / 1e6,
        legs: legs(run, of, WHOLE, rules),
        lateral: inflow
            .spread
            .iter()
            .filter(|(c, from, to, _)| *c == chain && to > from)
            .map(|&(_, from_m, to_m, flow_m2_per_s)| LateralInflow { from_m, to_m, flow_m2_per_s })
            .collect(),
        points: inflow
            .points
            .iter()
            .filter(|(c, _, _)| *c == chain)
            .map(|&(_, station_m, flow_m3_per_s)| PointInflow { station_m, flow_m3_per_s })
            .chain(joining.iter().map(|&(station_m, flow_m3_per_s)| PointInflow { station_m, flow_m3_per_s }))
            .collect(),
        entering_at_start_m3_per_s: 0.0,
        entering_at_finish_m3_per_s: 0.0,
        outlets,
        settings: RunSettings {
            least_freeboard_m: rules.least_freeboard_m(),
            stations: STATIONS,
            ..RunSettings::default()
        },
    })
}

/// A chain at a factor of its length: fall built into the sections stays what it is, and deepens a longer one further, as far as
/// it reaches.
pub(super) fn stretched(
    run: &Run<'_>,
    chain: usize,
    as_it_is: &RunInput,
    factor: f64,
    rules: Rules<'_>,
) -> RunInput {
    let parts = (factor * WHOLE as f64) as i64;
    let alike = as_it_is.with_length_times(parts as f64 / WHOLE as f64);
    match run.chains.get(chain) {
        Some(of) => RunInput { legs: legs(run, of, parts, rules), ..alike },
        None => alike,
    }
}

fn opening(outlet: &RunOutlet<'_>, bore: Length) -> Opening {
    let OutletFitting { item: _, bore: _, uses_length: _, invert_drop } = outlet.fitting;
    let bore_m = bore.metres_f64();
    if outlet.bottom {
        return Opening::Floor(FloorOpening::round(bore_m));
    }
    Opening::End(EndOpening {
        invert_below_bed_m: invert_drop.unwrap_or(Length::ZERO).metres_f64(),
        ..EndOpening::level_with_bed(bore_m)
    })
}

/// The legs at so many parts of their length, cut wherever slope or depth of the channel bends.
fn legs(run: &Run<'_>, chain: &Chain, parts: i64, rules: Rules<'_>) -> Vec<Leg> {
    let drawn_out = |length: Length| length.share(parts, WHOLE);
    let chain = &Chain {
        length: drawn_out(chain.length),
        outlets: chain.outlets.iter().map(|at| drawn_out(*at)).collect(),
        ..chain.clone()
    };
    let mut ends: Vec<(Length, usize)> = Vec::new();
    let mut at = Length::ZERO;
    for (i, leg) in run.legs.iter().enumerate().take(chain.end).skip(chain.first) {
        at += leg.length;
        ends.push((drawn_out(at), i));
    }
    let mut cuts: Vec<Length> = ends.iter().map(|(at, _)| *at).collect();
    if run.system.section.built_in_fall_pct.is_some() {
        let high: Vec<Length> = high_points(chain);
        let reach = reach_of_fall(run);
        cuts.extend(chain.outlets.iter().copied());
        cuts.extend(high.iter().copied());
        // The bottom bends so little within a millimetre that another cut stands for it.
        let apart = |bend: &Length| {
            bend.abs() > Length::MILLIMETRE
                && cuts.iter().all(|cut| (*cut - *bend).abs() > Length::MILLIMETRE)
        };
        let bends: Vec<Length> = high.iter().flat_map(|h| [*h + reach, *h - reach]).filter(apart).collect();
        cuts.extend(bends);
    }
    cuts.retain(|c| c.is_positive() && *c <= chain.length);
    cuts.sort();
    cuts.dedup();
    let mut from = Length::ZERO;
    let mut out = Vec::with_capacity(cuts.len());
    for to in cuts {
        let leg = ends.iter().find(|(end, _)| *end >= to).map_or(chain.first, |(_, i)| *i);
        let corner = to < chain.length && ends.iter().any(|(end, _)| *end == to);
        let high = high_point_of(chain, from, to);
        out.push(Leg {
            length_m: (to - from).metres_f64(),
            surface_fall: run.legs.get(leg).map_or(0.0, |l| l.fall.millionths() as f64 / 1e6),
            depth_start_m: depth_at(run, (from - high).abs()),
            depth_end_m: depth_at(run, (to - high).abs()),
            corner_loss_at_end: if corner { rules.corner_loss() } else { 0.0 },
        });
        from = to;
    }
    out
}

/// Where the bottom of a channel with built-in fall arrives at an outlet deeper from one side than from the other: the
/// place, and the depth before and behind it in m.
pub(super) fn bed_step(run: &Run<'_>, chain: usize) -> Option<(Length, f64, f64)> {
    let of = run.chains.get(chain)?;
    let inner = of.outlets.iter().copied().filter(|o| o.is_positive() && *o < of.length);
    inner
        .map(|at| {
            let before = at - high_point_of(of, at - Length::MILLIMETRE, at);
            let behind = high_point_of(of, at, at + Length::MILLIMETRE) - at;
            (at, depth_at(run, before), depth_at(run, behind))
        })
        .find(|(_, before, behind)| (before - behind).abs() > LEVEL)
}

/// Channel bottom to underside of grate at a distance from the high point.
fn depth_at(run: &Run<'_>, distance: Length) -> f64 {
    let section = &run.system.section;
    let deep = section.water_depth_deep_end.unwrap_or(section.water_depth);
    let fall = section.built_in_fall_pct.map_or(0, |p| p.millionths());
    (section.water_depth + distance.share(fall, 1_000_000)).min(deep).metres_f64()
}

/// How far from the high point the built-in fall reaches.
fn reach_of_fall(run: &Run<'_>) -> Length {
    let section = &run.system.section;
    let rise = section.water_depth_deep_end.unwrap_or(section.water_depth) - section.water_depth;
    let fall = section.built_in_fall_pct.map_or(0, |p| p.millionths());
    if fall == 0 { Length::ZERO } else { rise.share(1_000_000, fall) }
}

/// Where the bottom is highest: closed ends, and half-way between two outlets.
fn high_points(chain: &Chain) -> Vec<Length> {
    let mut out = Vec::with_capacity(chain.outlets.len() + 1);
    out.extend(chain.outlets.first().filter(|o| o.is_positive()).map(|_| Length::ZERO));
    out.extend(chain.outlets.windows(2).map(|pair| pair[0] + (pair[1] - pair[0]).half()));
    out.extend(chain.outlets.last().filter(|o| **o < chain.length).map(|_| chain.length));
    out
}

/// The high point from which the bottom falls between two places.
fn high_point_of(chain: &Chain, from: Length, to: Length) -> Length {
    let middle = from + (to - from).half();
    let below = chain.outlets.iter().rev().find(|o| **o <= middle);
    let above = chain.outlets.iter().find(|o| **o > middle);
    match (below, above) {
        (Some(a), Some(b)) => *a + (*b - *a).half(),
        (None, _) => Length::ZERO,
        (Some(_), None) => chain.length,
    }
}

/// Most flow that arrives per metre of grate, m³/s per m: stretches that overlap add up.
pub(super) fn most_per_metre(inflow: &RunInflow) -> f64 {
    let edges = inflow.spread.iter().map(|(chain, from, _, _)| (*chain, *from));
    edges
        .map(|(chain, at)| {
            inflow
                .spread
                .iter()
                .filter(|(c, from, to, _)| *c == chain && *from <= at && at < *to)
                .map(|(_, _, _, flow)| flow)
                .sum::<f64>()
        })
        .fold(0.0, f64::max)
}
