//! What a profile must say about itself.

use super::control::slope_needed;
use super::input::Run;
use super::profile::{OutletControl, RunProfile, Station};
use super::solve::{Solution, SolvedBranch};
use super::terms::{Channel, Reach};
use crate::compute::water::manning;
use crate::compute::water::section::{self, OpenSection, Prismatic};
use crate::compute::water::warning::Warning;

/// Depths at which the slope that changes the regime is looked up along a reach.
const SAMPLES: i32 = 12;

/// Collects the warnings of a profile.
pub(super) fn find(
    run: &Run,
    solution: &Solution,
    profile: &RunProfile,
    near_critical: &[(f64, f64)],
) -> Vec<Warning> {
    let settings = &run.input().settings;
    let mut warnings = Vec::new();
    let (residual, limit) = (profile.residuals.momentum, settings.balance_limit);
    // Written so that a NaN says it too.
    let closed = residual <= limit;
    if !closed {
        warnings.push(Warning::BalanceNotClosed { residual, limit });
    }
    if let Some(over) = &profile.overtopping {
        warnings.push(Warning::AboveGrate { station_m: over.from_m, by_m: over.by_m });
    }
    let steepest = run.layout.cells.iter().map(|cell| cell.slope.abs()).fold(0.0, f64::max);
    if steepest > settings.steep_bed {
        warnings.push(Warning::SteepBed { slope: steepest, limit: settings.steep_bed });
    }
    let least = settings.near_critical_share * run.length_m();
    warnings.extend(
        near_critical
            .iter()
            .filter(|(from, to)| to - from > least)
            .map(|&(from_m, to_m)| Warning::NearCritical { from_m, to_m, froude_band: settings.froude_band }),
    );
    let channel = solution.channel.get();
    for solved in &solution.branches {
        warnings.extend(near_regime_change(&channel, solved, settings.regime_margin));
        warnings.extend(fast_at_corners(&channel, solved));
    }
    warnings.extend(profile.jumps.iter().map(|jump| Warning::HydraulicJump {
        station_m: jump.station_m,
        length_m: settings.jump_length_depths * jump.depth_after_m,
    }));
    warnings.extend(jumps_beyond_outlets(solution, profile).map(|(station_m, depth)| {
        Warning::HydraulicJump { station_m, length_m: settings.jump_length_depths * depth }
    }));
    warnings.extend(fast_at_outlets(run, solution, profile));
    warnings.extend(profile.outlets.iter().filter(|outlet| outlet.passed_on_m3_per_s > 0.0).map(|outlet| {
        Warning::PassesOutlet { station_m: outlet.station_m, flow_m3_per_s: outlet.passed_on_m3_per_s }
    }));
    warnings.extend(standing_water(run));
    let fastest = profile.greatest_velocity;
    if run.input().manning_n > 0.0
        && let Some(station) = profile.stations.iter().min_by(|a, b| {
            let off = |s: &Station| (s.station_m - fastest.station_m).abs();
            // Of those that meet where water joins, the faster one.
            let slower = || b.velocity_m_per_s.abs().total_cmp(&a.velocity_m_per_s.abs());
            off(a).total_cmp(&off(b)).then_with(slower)
        })
        && station.depth_m > 0.0
    {
        let radius = channel.section.geometry(station.depth_m).hydraulic_radius_m();
        warnings.extend(manning::validity(fastest.value, radius, fastest.station_m));
    }
    warnings
}

/// Bed slope over the slope needed at critical depth, at its greatest, when that is near one and the water there is
/// near critical depth.
fn near_regime_change(
    channel: &Channel<'_, OpenSection>,
    solved: &SolvedBranch,
    margin: f64,
) -> Option<Warning> {
    let mut greatest: Option<(f64, f64, usize)> = None;
    for (index, reach) in solved.branch.reaches.iter().enumerate() {
        if reach.slope <= 0.0 || reach.end_flow() <= 0.0 {
            continue;
        }
        let top = channel.critical_depth(reach.end_flow());
        let bottom = channel.critical_depth(reach.flow).max(0.05 * top);
        for step in 0..=SAMPLES {
            let depth = bottom + (top - bottom) * f64::from(step) / f64::from(SAMPLES);
            let needed = slope_needed(channel, reach.lateral, depth);
            let ratio = if needed > 0.0 { reach.slope / needed } else { f64::MAX };
            if greatest.is_none_or(|(best, _, _)| ratio > best) {
                greatest = Some((ratio, station_of(channel, reach, depth), index));
            }
        }
    }
    let (slope_ratio, x, index) = greatest?;
    if (slope_ratio - 1.0).abs() > margin {
        return None;
    }
    let reach = solved.branch.reaches.get(index)?;
    let critical = channel.critical_depth(reach.flow_at(x));
    let strip = solved
        .surface
        .strips
        .iter()
        .find(|s| s.segment.reach == index && s.start().0 <= x && x <= s.end().0)?;
    let near = strip.depth_at(x) < 1.5 * critical;
    near.then(|| Warning::NearRegimeChange { station_m: solved.branch.run_station(index, x), slope_ratio })
}

fn station_of(channel: &Channel<'_, OpenSection>, reach: &Reach, critical_depth: f64) -> f64 {
    if reach.lateral <= 0.0 {
        return 0.5 * reach.length_m;
    }
    let flow = section::critical_flow_m3_per_s(channel.section, critical_depth, channel.gravity);
    ((flow - reach.flow) / reach.lateral).clamp(0.0, reach.length_m)
}

fn fast_at_corners(channel: &Channel<'_, OpenSection>, solved: &SolvedBranch) -> Vec<Warning> {
    let strips = &solved.surface.strips;
    strips
        .iter()
        .zip(strips.iter().skip(1))
        .filter(|(above, below)| {
            above.supercritical
                && above.segment.reach != below.segment.reach
                && solved.branch.joints.get(below.segment.reach).is_some_and(|j| j.corner_loss > 0.0)
        })
        .filter_map(|(above, _)| {
            let (x, y) = above.end();
            let flow = solved.branch.reaches.get(above.segment.reach)?.flow_at(x);
            let froude = section::froude(channel.section, flow, y, channel.gravity);
            Some(Warning::FastFlowAtCorner {
                station_m: solved.branch.run_station(above.segment.reach, x),
                froude,
            })
        })
        .collect()
}

fn fast_at_outlets(run: &Run, solution: &Solution, profile: &RunProfile) -> Vec<Warning> {
    let channel = solution.channel.get();
    let length = run.length_m();
    profile
        .outlets
        .iter()
        .zip(&run.input().outlets)
        .filter(|(result, outlet)| {
            let inside = result.station_m > 1e-6 && result.station_m < length - 1e-6;
            inside || outlet.opening.is_some()
        })
        .flat_map(|(result, _)| [result.from_start, result.from_finish].map(|side| (result.station_m, side)))
        .filter_map(|(station_m, side)| {
            let side = side.filter(|side| side.control == OutletControl::FastFlow)?;
            let froude = section::froude(channel.section, side.flow_m3_per_s, side.depth_m, channel.gravity);
            Some(Warning::FastFlowAtOutlet { station_m, froude })
        })
        .collect()
}

/// Outlets where fast flow sweeps the deeper water out of the run: the jump stands just beyond, and a little less flow
/// lets it in. Station and depth after the jump.
fn jumps_beyond_outlets<'a>(
    solution: &'a Solution,
    profile: &'a RunProfile,
) -> impl Iterator<Item = (f64, f64)> + 'a {
    let channel = solution.channel.get();
    profile.outlets.iter().filter_map(move |outlet| {
        [outlet.from_start, outlet.from_finish]
            .into_iter()
            .flatten()
            .any(|side| {
                side.control == OutletControl::FastFlow
                    && outlet.depth_needed_m
                        > section::critical_depth_m(channel.section, side.flow_m3_per_s, channel.gravity)
            })
            .then_some((outlet.station_m, outlet.depth_needed_m))
    })
}

/// The deepest water that no outlet drains, when there is any.
fn standing_water(run: &Run) -> Option<Warning> {
    let layout = &run.layout;
    let sills = |order: &mut dyn Iterator<Item = usize>| {
        let mut sill = f64::INFINITY;
        let mut all = vec![f64::INFINITY; layout.nodes.len()];
        for node in order {
            let bed = layout.node(node).bed;
            sill = if layout.outlets.contains(&node) { bed } else { sill.max(bed) };
            if let Some(slot) = all.get_mut(node) {
                *slot = sill;
            }
        }
        all
    };
    let from_left = sills(&mut (0..layout.nodes.len()));
    let from_right = sills(&mut (0..layout.nodes.len()).rev());
    let (station_m, depth_m) = layout
        .nodes
        .iter()
        .zip(from_left.iter().zip(&from_right))
        .map(|(node, (left, right))| (node.x, left.min(*right) - node.bed))
        .max_by(|a, b| a.1.total_cmp(&b.1))?;
    (depth_m > 1e-6).then_some(Warning::StandingWater { station_m, depth_m })
}
