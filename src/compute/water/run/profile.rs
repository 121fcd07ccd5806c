//! The answer for a run, and how it is put together.

use super::balance;
use super::compose::Strip;
use super::error::RunError;
use super::extremes;
use super::input::Run;
use super::remarks;
use super::solve::{self, Solution, SolvedBranch};
use super::sweep::ControlKind;
use super::terms::Follow;
use crate::compute::water::section::Prismatic;
use crate::compute::water::warning::Warning;

/// Which way the flow is held.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Regime {
    /// No water moves.
    Still,
    /// Slow: held from downstream.
    Subcritical,
    /// Fast: held from upstream.
    Supercritical,
}

/// The water at one station.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Station {
    /// Distance from the run's start, m. At a jump or a point inflow there are two with the same station.
    pub station_m: f64,
    /// Bed above the bed at the run's start, m.
    pub bed_m: f64,
    /// Depth of the water, m.
    pub depth_m: f64,
    /// Depth from the underside of the grate to the bed, m.
    pub channel_depth_m: f64,
    /// Room left under the grate, m; negative where the water stands above its underside.
    pub freeboard_m: f64,
    /// Flow, m³/s; positive towards the finish.
    pub flow_m3_per_s: f64,
    /// Mean velocity, m/s; positive towards the finish.
    pub velocity_m_per_s: f64,
    /// Froude number.
    pub froude: f64,
    /// Which way the flow is held.
    pub regime: Regime,
}

/// A value and where it is found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Extreme {
    /// Distance from the run's start, m.
    pub station_m: f64,
    /// The value.
    pub value: f64,
}

/// A stretch of one regime that flows one way.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RegimeStretch {
    /// Start, m.
    pub from_m: f64,
    /// End, m.
    pub to_m: f64,
    /// Regime.
    pub regime: Regime,
    /// Whether the water flows towards the finish.
    pub towards_finish: bool,
}

/// A section that decides the depth above and below it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ControlSection {
    /// Where, m.
    pub station_m: f64,
    /// Critical depth there, m.
    pub depth_m: f64,
    /// What makes it a control.
    pub kind: ControlKind,
}

/// A hydraulic jump.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Jump {
    /// Where, m.
    pub station_m: f64,
    /// Depth of the fast water, m.
    pub depth_before_m: f64,
    /// Depth of the slow water, m.
    pub depth_after_m: f64,
}

/// Where the flow parts to two outlets.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DividePoint {
    /// Where, m.
    pub station_m: f64,
    /// Depth there, m.
    pub depth_m: f64,
    /// Depth from the left less depth from the right, m: 0 but for rounding.
    pub mismatch_m: f64,
}

/// What holds the water at an outlet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OutletControl {
    /// Free fall: critical depth.
    Critical,
    /// The head its opening needs, or the water that backs up there.
    Depth,
    /// Fast flow reaches it: it holds nothing back.
    FastFlow,
    /// No flow reaches it from this side.
    NoFlow,
}

/// The water at an outlet, from one side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OutletSide {
    /// Flow that arrives, m³/s.
    pub flow_m3_per_s: f64,
    /// Depth just before the outlet, m.
    pub depth_m: f64,
    /// What decides that depth.
    pub control: OutletControl,
}

/// An outlet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OutletResult {
    /// Where, m.
    pub station_m: f64,
    /// Flow through it, m³/s.
    pub flow_m3_per_s: f64,
    /// Flow that passes it along the run because it is too small for what arrives, m³/s.
    pub passed_on_m3_per_s: f64,
    /// Depth its opening and tailwater ask for, m; 0 for a free fall.
    pub depth_needed_m: f64,
    /// From the side of the run's start, where the run extends there.
    pub from_start: Option<OutletSide>,
    /// From the side of the run's finish.
    pub from_finish: Option<OutletSide>,
}

/// Water above the underside of the grate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Overtopping {
    /// First station of the profile where it stands above, m.
    pub from_m: f64,
    /// Last one, m.
    pub to_m: f64,
    /// Station of the worst, m.
    pub worst_m: f64,
    /// By how much there, m.
    pub by_m: f64,
}

/// How well the answer keeps the laws it is made from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Residuals {
    /// Sum of what the momentum balance of every stretch, jump and point inflow is off, over the greatest specific
    /// force in the run.
    pub momentum: f64,
    /// Inflow less outflow over inflow.
    pub mass: f64,
}

/// The water along a run.
#[derive(Debug, Clone, PartialEq)]
pub struct RunProfile {
    /// Profile from start to finish, fine enough to draw.
    pub stations: Vec<Station>,
    /// Greatest depth, m.
    pub greatest_depth: Extreme,
    /// Least freeboard, m.
    pub least_freeboard: Extreme,
    /// Greatest velocity, m/s.
    pub greatest_velocity: Extreme,
    /// Greatest share of the channel's depth that water fills.
    pub greatest_fill: Extreme,
    /// Where the water stands above the underside of the grate, if it does.
    pub overtopping: Option<Overtopping>,
    /// Stretches of one regime, from start to finish.
    pub regimes: Vec<RegimeStretch>,
    /// Control sections inside the run. Without any, outlets control it.
    pub controls: Vec<ControlSection>,
    /// Hydraulic jumps.
    pub jumps: Vec<Jump>,
    /// Divides between outlets.
    pub divides: Vec<DividePoint>,
    /// Outlets, by station.
    pub outlets: Vec<OutletResult>,
    /// Inflow of the whole run, m³/s.
    pub inflow_m3_per_s: f64,
    /// How well mass and momentum balance.
    pub residuals: Residuals,
    /// What to read the answer with.
    pub warnings: Vec<Warning>,
}

impl RunProfile {
    /// Whether the least freeboard is kept.
    #[must_use]
    pub fn fits(&self, least_freeboard_m: f64) -> bool {
        self.least_freeboard.value >= least_freeboard_m
    }
}

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
    let channel = solution.channel.get();
    let branch = &solved.branch;
    let reach = strip.segment.reach;
    let flow = branch.reaches.get(reach).map_or(0.0, |r| r.flow_at(x).max(0.0));
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
        regime: regime_of(solved, strip),
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
        let mut here: Vec<Station> = Vec::new();
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
