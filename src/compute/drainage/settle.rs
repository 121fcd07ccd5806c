//! Runs and lines together: the water behind an outlet depends on its line, and the line's flow on its outlets.

use super::Rules;
use super::line::{self, Tree};
use super::run::{self, TeeWay, Way};
use super::storm::Flows;
use crate::compute::takeoff::levels::Levels;
use crate::compute::wanted::Wanted;
use crate::compute::water::bounds::RangeFaults;
use crate::compute::water::run::{Run as WaterRun, RunError, RunLimits, RunProfile, Station};
use crate::domain::book::PriceBook;
use crate::domain::layout::{Layout, Run};
use crate::units::Length;

/// Rounds in which each takes what the one before gave.
const ROUNDS: usize = 12;
/// Further rounds for flows that swing between two sides of where they balance; those that still move then are taken as they
/// are, and said to.
const LED: usize = 24;
/// Change of a flow or depth that counts as none, m³/s or m.
const STILL: f64 = 1e-7;

/// A chain with its water surface.
#[derive(Debug)]
pub(super) struct Solved {
    pub(super) run: Option<WaterRun>,
    pub(super) profile: Result<RunProfile, RunError>,
    pub(super) limits: Option<RunLimits>,
}

impl Solved {
    fn new(built: Result<WaterRun, RangeFaults>) -> Self {
        let profile = match &built {
            Ok(run) => run.profile(),
            Err(faults) => Err(RunError::Invalid(faults.clone())),
        };
        Self { run: built.ok(), profile, limits: None }
    }
}

/// Everything that has settled.
#[derive(Debug)]
pub(super) struct Settled {
    /// By run and chain.
    pub(super) runs: Vec<Vec<Solved>>,
    pub(super) trees: Vec<Tree>,
    /// Level behind each outlet above the channel's bottom, m, by run and outlet; `None` for free outlets.
    pub(super) behind: Vec<Vec<Option<f64>>>,
    /// Whether flows and levels agree.
    pub(super) agreed: bool,
}

impl Settled {
    /// Finds the most flow and the longest run of every chain.
    pub(super) fn find_limits(&mut self, layout: &Layout<'_>, rules: Rules<'_>, wanted: &Wanted) {
        for (run, chains) in layout.runs.iter().zip(&mut self.runs) {
            for (index, chain) in chains.iter_mut().enumerate() {
                let (Some(water), Ok(profile)) = (&chain.run, &chain.profile) else { continue };
                if wanted.is_over() {
                    return;
                }
                let least = profile.least_freeboard;
                chain.limits = Some(if run.system.section.built_in_fall_pct.is_some() {
                    let stretched = |factor: f64| run::stretched(run, index, water.input(), factor, rules);
                    water.limits_stretched_by(least, &stretched)
                } else {
                    water.limits_from(least)
                });
            }
        }
    }
}

/// Height of the channel's bottom at an outlet.
fn bed_at(run: &Run<'_>, outlet: usize) -> f64 {
    run.outlets
        .get(outlet)
        .map_or(0.0, |o| (o.invert + o.fitting.invert_drop.unwrap_or(Length::ZERO)).metres_f64())
}

/// Runs and lines until they agree; less than that once nobody waits for it.
pub(super) fn settle(
    layout: &Layout<'_>,
    flows: &Flows,
    levels: &[Levels],
    (rules, wanted): (Rules<'_>, &Wanted),
    book: &PriceBook,
    kept: Vec<Vec<Solved>>,
) -> Settled {
    let mut behind: Vec<Vec<Option<f64>>> = layout.runs.iter().map(|r| vec![None; r.outlets.len()]).collect();
    let mut solved = kept;
    let mut outflow: Vec<Vec<f64>> =
        layout.runs.iter().zip(&flows.runs).map(|(r, f)| known_outflow(r, f)).collect();
    let mut trees: Vec<Tree> = Vec::new();
    let mut agreed = false;
    let mut lead = Lead::new();
    for round in 0..ROUNDS + LED {
        trees = line::compute(layout, levels, &|run, outlet| flow_at(&outflow, run, outlet), rules, book);
        let next: Vec<Vec<Option<f64>>> = layout
            .runs
            .iter()
            .enumerate()
            .map(|(r, run)| {
                (0..run.outlets.len())
                    .map(|o| line::level_behind(layout, &trees, r, o).map(|level| level - bed_at(run, o)))
                    .collect()
            })
            .collect();
        let moved =
            round == 0 || behind.iter().flatten().zip(next.iter().flatten()).any(|(a, b)| far(*a, *b));
        behind = next;
        // Levels that stand say nothing of flows that are led.
        if !moved && round < ROUNDS {
            agreed = true;
            break;
        }
        let mut changed = false;
        let mut given = outflow.clone();
        let mut before = std::mem::take(&mut solved).into_iter();
        for (r, run) in layout.runs.iter().enumerate() {
            let empty = Vec::new();
            let standing = behind.get(r).unwrap_or(&empty);
            let mouths = run::mouths(layout, r);
            let kept = before.next().unwrap_or_default();
            let chains = chains(run, flows, r, (standing, &mouths), (rules, wanted), kept);
            for (chain, result) in chains.iter().enumerate() {
                let Ok(profile) = &result.profile else { continue };
                for ((way, _), outlet) in run::ways(run, chain).iter().zip(&profile.outlets) {
                    let Way::Outlet(index) = way else { continue };
                    if let Some(flow) = given.get_mut(r).and_then(|f| f.get_mut(*index)) {
                        changed |= (*flow - outlet.flow_m3_per_s).abs() > STILL;
                        *flow = outlet.flow_m3_per_s;
                    }
                }
            }
            solved.push(chains);
        }
        if !changed {
            agreed = true;
            break;
        }
        outflow = if round + 1 < ROUNDS { given } else { lead.between(&outflow, &given) };
    }
    Settled { runs: solved, trees, behind, agreed }
}

/// Where the next round begins between what the last one began with and what it gave: at a part of the way that the last two
/// rounds would have met at (Aitken's relaxation; Irons and Tuck 1969, from memory).
#[derive(Debug)]
struct Lead {
    /// Part of the way.
    part: f64,
    /// How far each flow went in the last round, m³/s.
    way: Vec<f64>,
}

impl Lead {
    const fn new() -> Self {
        Self { part: 0.5, way: Vec::new() }
    }

    fn between(&mut self, began: &[Vec<f64>], gave: &[Vec<f64>]) -> Vec<Vec<f64>> {
        let way: Vec<f64> =
            began.iter().flatten().zip(gave.iter().flatten()).map(|(from, to)| to - from).collect();
        if !self.way.is_empty() {
            let turns = self.way.iter().zip(&way).map(|(before, now)| now - before);
            let square: f64 = turns.clone().map(|turn| turn * turn).sum();
            let along: f64 = self.way.iter().zip(turns).map(|(before, turn)| before * turn).sum();
            if square > 0.0 {
                self.part = (-self.part * along / square).clamp(0.02, 1.0);
            }
        }
        self.way = way;
        let next = |from: &Vec<f64>, to: &Vec<f64>| {
            from.iter().zip(to).map(|(from, to)| from + self.part * (to - from)).collect()
        };
        began.iter().zip(gave).map(|(from, to)| next(from, to)).collect()
    }
}

fn far(a: Option<f64>, b: Option<f64>) -> bool {
    match (a, b) {
        (Some(a), Some(b)) => (a - b).abs() > STILL,
        (None, None) => false,
        _ => true,
    }
}

fn flow_at(outflow: &[Vec<f64>], run: usize, outlet: usize) -> f64 {
    outflow.get(run).and_then(|f| f.get(outlet)).copied().unwrap_or(0.0)
}

/// Outflow before anything is solved: the whole inflow through a single outlet, equal parts through several.
fn known_outflow(run: &Run<'_>, inflow: &super::storm::RunInflow) -> Vec<f64> {
    let spread: f64 = inflow.spread.iter().map(|(_, from, to, flow)| flow * (to - from)).sum();
    let points: f64 = inflow.points.iter().map(|(_, _, flow)| flow).sum();
    let count = run.outlets.len().max(1);
    vec![(spread + points) / count as f64; run.outlets.len()]
}

/// Chains in an order in which each comes before the one that it flows into.
fn downstream(tees: &[Option<TeeWay>]) -> Vec<usize> {
    let way = |chain: usize| {
        let down =
            std::iter::successors(Some(chain), |c| tees.get(*c).copied().flatten().map(|tee| tee.into));
        down.take(tees.len()).count()
    };
    let mut out: Vec<usize> = (0..tees.len()).rev().collect();
    out.sort_by_key(|chain| std::cmp::Reverse(way(*chain)));
    out
}

/// Solves the chains of a run; one that is as it was among those kept keeps its water. A chain that flows into another at a tee
/// stands as high there as that does.
fn chains(
    run: &Run<'_>,
    flows: &Flows,
    index: usize,
    (behind, mouths): (&[Option<f64>], &[Length]),
    (rules, wanted): (Rules<'_>, &Wanted),
    kept: Vec<Solved>,
) -> Vec<Solved> {
    let nothing = super::storm::RunInflow::default();
    let inflow = flows.runs.get(index).unwrap_or(&nothing);
    let count = run.chains.len();
    let mut tee_depth: Vec<f64> = vec![0.0; count];
    let mut tee_flow: Vec<f64> = vec![0.0; count];
    let mut out: Vec<Option<Solved>> = kept.into_iter().map(Some).collect();
    out.resize_with(count, || None);
    let tees: Vec<Option<TeeWay>> = (0..count).map(|chain| run::tee(run, chain)).collect();
    // What a tee brings is known when the chain that takes it is solved.
    let order = downstream(&tees);
    for _ in 0..ROUNDS {
        let mut moved = false;
        for &chain in &order {
            if wanted.is_over() {
                break;
            }
            let joining: Vec<(f64, f64)> = tees
                .iter()
                .zip(&tee_flow)
                .filter_map(|(tee, flow)| {
                    tee.filter(|t| t.into == chain).map(|t| (t.there.metres_f64(), *flow))
                })
                .collect();
            let standing = |way: Way| match way {
                Way::Outlet(o) => behind.get(o).copied().flatten(),
                Way::Tee => tee_depth.get(chain).copied(),
            };
            let built = run::build(run, chain, inflow, &joining, mouths, &standing, rules);
            let Some(slot) = out.get_mut(chain) else { continue };
            let known =
                slot.take().filter(|known| known.run.is_some() && known.run.as_ref() == built.as_ref().ok());
            let solved = known.unwrap_or_else(|| Solved::new(built));
            if let Ok(profile) = &solved.profile {
                for ((way, _), outlet) in run::ways(run, chain).iter().zip(&profile.outlets) {
                    if let (Way::Tee, Some(flow)) = (way, tee_flow.get_mut(chain)) {
                        moved |= (*flow - outlet.flow_m3_per_s).abs() > STILL;
                        *flow = outlet.flow_m3_per_s;
                    }
                }
            }
            *slot = Some(solved);
        }
        for (tee, known) in tees.iter().zip(&mut tee_depth) {
            let Some(TeeWay { into, there, .. }) = *tee else { continue };
            let Some(Some(Solved { profile: Ok(profile), .. })) = out.get(into) else { continue };
            let depth = depth_at(&profile.stations, there.metres_f64());
            moved |= (*known - depth).abs() > STILL;
            *known = depth;
        }
        if !moved {
            break;
        }
    }
    out.into_iter().flatten().collect()
}

/// Depth at a station, the greater where two meet.
fn depth_at(stations: &[Station], x: f64) -> f64 {
    let near: f64 =
        stations.iter().filter(|s| (s.station_m - x).abs() <= 1e-6).map(|s| s.depth_m).fold(0.0, f64::max);
    if near > 0.0 {
        return near;
    }
    stations.windows(2).find(|pair| pair[0].station_m <= x && x <= pair[1].station_m).map_or(0.0, |pair| {
        let span = pair[1].station_m - pair[0].station_m;
        let share = if span > 0.0 { (x - pair[0].station_m) / span } else { 0.0 };
        pair[0].depth_m + share * (pair[1].depth_m - pair[0].depth_m)
    })
}
