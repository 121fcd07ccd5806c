//! How the answer for a run is put together.

use super::balance;
use super::branch::Branch;
use super::compose::Strip;
use super::error::RunError;
use super::extremes;
use super::input::Run;
use super::profile::{
    ControlSection, DividePoint, Jump, OutletControl, OutletResult, OutletSide, Overtopping, Regime,
    RegimeStretch, Residuals, RunProfile, Station,
};
use super::remarks;
use super::solve::{self, Solution, SolvedBranch};
use super::terms::Follow;
use crate::compute::water::section::Prismatic;

impl Run {
    /// Computes the water surface along the run.
    ///
    /// # Errors
    /// When no steady water surface exists as described (an outlet that feeds the run), or it could not be followed.
    pub fn profile(&self) -> Result<RunProfile, RunError> {
        let solution = solve::solve(self, Follow::FINE, None)?;
        Ok(assemble(self, &solution))
    }
}

fn assemble(run: &Run, solution: &Solution) -> RunProfile {
    let stations = stations(run, solution);
    let extremes = extremes::find(run, solution).with_drawn(&stations);
    let overtopping = (extremes.least_freeboard.value < 0.0).then(|| {
        let worst = extremes.least_freeboard;
        let above = |s: &&Station| s.freeboard_m < 0.0;
        Overtopping {
            from_m: stations.iter().find(above).map_or(worst.station_m, |s| s.station_m.min(worst.station_m)),
            to_m: stations
                .iter()
                .rev()
                .find(above)
                .map_or(worst.station_m, |s| s.station_m.max(worst.station_m)),
            worst_m: worst.station_m,
            by_m: -worst.value,
        }
    });
    let inflow = run.total_inflow_m3_per_s();
    let outflow: f64 = solution.outflows.iter().sum();
    let mut profile = RunProfile {
        stations,
        greatest_depth: extremes.greatest_depth,
        least_freeboard: extremes.least_freeboard,
        greatest_velocity: extremes.greatest_velocity,
        greatest_fill: extremes.greatest_fill,
        overtopping,
        regimes: regimes(solution),
        controls: Vec::new(),
        jumps: Vec::new(),
        divides: solution
            .divides
            .iter()
            .map(|d| DividePoint {
                station_m: d.station,
                depth_m: 0.5 * (d.depth_left + d.depth_right),
                mismatch_m: d.depth_left - d.depth_right,
            })
            .collect(),
        outlets: outlets(run, solution),
        inflow_m3_per_s: inflow,
        residuals: Residuals {
            momentum: balance::momentum(solution),
            mass: if inflow > 0.0 { (inflow - outflow) / inflow } else { 0.0 },
        },
        warnings: Vec::new(),
    };
    for solved in &solution.branches {
        let place = |reach: usize, x: f64| solved.branch.run_station(reach, x);
        profile.controls.extend(solved.surface.controls.iter().map(|control| ControlSection {
            station_m: place(control.reach, control.station),
            depth_m: control.depth,
            kind: control.kind,
        }));
        profile.jumps.extend(solved.surface.jumps.iter().map(|jump| Jump {
            station_m: place(jump.reach, jump.station),
            depth_before_m: jump.before,
            depth_after_m: jump.after,
        }));
    }
    profile.controls.sort_by(|a, b| a.station_m.total_cmp(&b.station_m));
    profile.jumps.sort_by(|a, b| a.station_m.total_cmp(&b.station_m));
    profile.warnings = remarks::find(run, solution, &profile, &extremes.near_critical);
    profile
}

/// Regime of a strip of a branch.
pub(super) fn regime_of(solved: &SolvedBranch, strip: &Strip) -> Regime {
    let still = solved.branch.reaches.get(strip.segment.reach).is_none_or(super::terms::Reach::is_still);
    match (still, strip.supercritical) {
        (true, _) => Regime::Still,
        (false, false) => Regime::Subcritical,
        (false, true) => Regime::Supercritical,
    }
}

fn station_at(solution: &Solution, solved: &SolvedBranch, strip: &Strip, x: f64, depth: f64) -> Station {
    let reach = strip.segment.reach;
    let flow = solved.branch.reaches.get(reach).map_or(0.0, |r| r.flow_at(x).max(0.0));
    station(solution, &solved.branch, (reach, x), (depth, flow), regime_of(solved, strip))
}

/// The water behind what joins at the upper end of a branch.
fn upper_station(solution: &Solution, solved: &SolvedBranch) -> Option<Station> {
    let (depth, flow) = (solved.behind_joining()?, solved.branch.carried);
    let regime = if flow > 0.0 { Regime::Subcritical } else { Regime::Still };
    Some(station(solution, &solved.branch, (0, 0.0), (depth, flow), regime))
}

fn station(
    solution: &Solution,
    branch: &Branch,
    (reach, x): (usize, f64),
    (depth, flow): (f64, f64),
    regime: Regime,
) -> Station {
    let channel = solution.channel.get();
    let (bed_m, channel_depth_m) = branch.bed_and_depth(reach, x);
    let (velocity, froude) = if depth > 0.0 && flow > 0.0 {
        let at = channel.section.wet(depth);
        let velocity = flow / at.area_m2;
        (velocity, channel.froude(velocity, &at))
    } else {
        (0.0, 0.0)
    };
    Station {
        station_m: branch.run_station(reach, x),
        bed_m,
        depth_m: depth,
        channel_depth_m,
        freeboard_m: channel_depth_m - depth,
        flow_m3_per_s: branch.direction * flow,
        velocity_m_per_s: branch.direction * velocity,
        froude,
        regime,
    }
}

/// Evenly spaced stations, and both sides of every place where the surface bends or breaks.
fn stations(run: &Run, solution: &Solution) -> Vec<Station> {
    let length = run.length_m();
    let count = run.input().settings.stations;
    let spacing = length / count as f64;
    let mut all: Vec<Station> = Vec::with_capacity(2 * count);
    for solved in &solution.branches {
        let branch = &solved.branch;
        let mut here: Vec<Station> = upper_station(solution, solved).into_iter().collect();
        let strips = &solved.surface.strips;
        for (i, strip) in strips.iter().enumerate() {
            let (start, end) = (strip.start(), strip.end());
            let breaks = |other: Option<&Strip>| {
                other.is_none_or(|o| {
                    o.segment.reach != strip.segment.reach || o.supercritical != strip.supercritical
                })
            };
            if breaks(i.checked_sub(1).and_then(|i| strips.get(i))) {
                here.push(station_at(solution, solved, strip, start.0, start.1));
            }
            // Grid stations inside the strip, in the order of the flow.
            let place = |x: f64| branch.run_station(strip.segment.reach, x);
            let (a, b) = (place(start.0), place(end.0));
            let (low, high) = if a < b { (a, b) } else { (b, a) };
            let first = (low / spacing).floor() as usize + 1;
            let mut inside: Vec<Station> = (first..=count)
                .map(|k| length * (k as f64) / (count as f64))
                .take_while(|x| *x < high)
                .filter(|x| *x > low)
                .map(|x| {
                    let along = branch.reach_station(strip.segment.reach, x);
                    station_at(solution, solved, strip, along, strip.depth_at(along))
                })
                .collect();
            if branch.direction < 0.0 {
                inside.reverse();
            }
            here.extend(inside);
            if breaks(strips.get(i + 1)) {
                here.push(station_at(solution, solved, strip, end.0, end.1));
            }
        }
        if branch.direction < 0.0 {
            here.reverse();
        }
        for station in here {
            let same = all.last().is_some_and(|last: &Station| {
                (last.station_m - station.station_m).abs() <= 1e-9
                    && (last.depth_m - station.depth_m).abs() <= 1e-9 * (1.0 + last.depth_m)
                    && (last.flow_m3_per_s == station.flow_m3_per_s)
            });
            if !same {
                all.push(station);
            }
        }
    }
    all
}

fn regimes(solution: &Solution) -> Vec<RegimeStretch> {
    let mut all: Vec<RegimeStretch> = Vec::new();
    for solved in &solution.branches {
        let mut here: Vec<RegimeStretch> = Vec::new();
        for strip in &solved.surface.strips {
            let regime = regime_of(solved, strip);
            let place = |x: f64| solved.branch.run_station(strip.segment.reach, x);
            let (a, b) = (place(strip.start().0), place(strip.end().0));
            let (from_m, to_m) = if a < b { (a, b) } else { (b, a) };
            match here.last_mut().filter(|last| last.regime == regime) {
                Some(last) => {
                    last.from_m = last.from_m.min(from_m);
                    last.to_m = last.to_m.max(to_m);
                }
                None => {
                    let towards_finish = solved.branch.direction > 0.0;
                    here.push(RegimeStretch { from_m, to_m, regime, towards_finish });
                }
            }
        }
        if solved.branch.direction < 0.0 {
            here.reverse();
        }
        all.extend(here);
    }
    all
}

fn outlets(run: &Run, solution: &Solution) -> Vec<OutletResult> {
    let side = |outlet: usize, direction: f64| {
        let solved =
            solution.branches.iter().find(|b| b.outlet == outlet && b.branch.direction == direction)?;
        let last = solved.surface.strips.last();
        let depth_m = last.map_or(solved.outlet_depth, |strip| strip.end().1);
        let flow_m3_per_s = solved.branch.outflow();
        let control = if flow_m3_per_s <= 0.0 {
            OutletControl::NoFlow
        } else if last.is_some_and(|strip| strip.supercritical) {
            OutletControl::FastFlow
        } else if depth_m > solved.outlet_depth * (1.0 + 1e-9) {
            OutletControl::Critical
        } else {
            OutletControl::Depth
        };
        Some(OutletSide { flow_m3_per_s, depth_m, control })
    };
    let gravity = run.input().settings.gravity;
    run.input()
        .outlets
        .iter()
        .zip(&solution.outflows)
        .enumerate()
        .map(|(i, (outlet, &flow_m3_per_s))| OutletResult {
            station_m: outlet.station_m,
            flow_m3_per_s,
            passed_on_m3_per_s: solution.passed.iter().filter(|(at, _)| *at == i).map(|(_, flow)| flow).sum(),
            depth_needed_m: outlet.depth_m(flow_m3_per_s, gravity),
            from_start: side(i, 1.0),
            from_finish: side(i, -1.0),
        })
        .collect()
}
