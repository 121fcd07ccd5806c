//! Results in the job's units, and their basis.

use super::Rules;
use super::answer::{
    AtStation, ChainWater, GrateWater, LengthRelation, LineWater, Longest, OutletWater, Overtops, PipeWater,
    ProfileColumn, ProfileTable, RunWater, WaterAnswer, WaterSurface, WaterWarning,
};
use super::checks::{self, Grate, name_of, stretches};
use super::line::Tree;
use super::run::{self, Way};
use super::settle::{Settled, Solved};
use super::storm::{Flows, RunInflow};
use super::words::Say;
use crate::compute::water::pipe::LegResult;
use crate::compute::water::run::{LongestRun, RunProfile};
use crate::compute::water::warning;
use crate::domain::layout::{Layout, Run};
use crate::domain::lines::{Check, Outcome};
use crate::units::factors::METRES_PER_FOOT;
use crate::units::{BareNumber, Quantity, Unit};
use crate::wire::book::systems::Bottom;
use std::fmt::Write as _;

pub(super) fn report(
    layout: &Layout<'_>,
    flows: &Flows,
    settled: &Settled,
    rules: Rules<'_>,
) -> (WaterAnswer, Vec<Check>) {
    let say = Say(layout.show);
    let mut checks = Vec::new();
    let runs = layout
        .runs
        .iter()
        .enumerate()
        .map(|(i, run)| {
            let before = checks.len();
            let grate = checks::of_run(run, i, flows, settled, rules, say, &mut checks);
            let outcome =
                checks.get(before..).into_iter().flatten().map(|c| c.outcome).max().unwrap_or(Outcome::Pass);
            let (solved, behind) = (settled.runs.get(i), settled.behind.get(i));
            let behind = behind.map_or(&[][..], Vec::as_slice);
            let chains = run
                .chains
                .iter()
                .zip(solved.into_iter().flatten())
                .enumerate()
                .map(|(index, (chain, solved))| ChainWater {
                    first_leg: chain.first + 1,
                    last_leg: chain.end,
                    inflow: say.flow(reaching(run, settled.runs.get(i), index, flows.runs.get(i))),
                    refused: solved
                        .profile
                        .as_ref()
                        .err()
                        .map(|error| checks::refusal(run, index, error, say)),
                    surface: solved
                        .profile
                        .as_ref()
                        .ok()
                        .map(|profile| surface(run, index, solved, profile, behind, rules, say)),
                })
                .collect();
            RunWater {
                run: run.id.as_str().to_owned(),
                channel_system: run.system.code.as_str().to_owned(),
                outcome,
                grate: grate.map(|grate| grate_water(grate, say)),
                chains,
            }
        })
        .collect();
    let drain_lines = (0..layout.lines.len())
        .filter_map(|i| line_water(layout, i, &settled.trees, say, &mut checks))
        .collect();
    checks::of_settling(settled, &mut checks);
    let answer = WaterAnswer {
        return_period_years: flows.return_period,
        rain: flows.rain.clone(),
        catchments: flows.catchments.clone(),
        runs,
        drain_lines,
        chosen: Vec::new(),
        suggested: Vec::new(),
        caution: warning::CAUTION,
    };
    (answer, checks)
}

/// What flows into a chain: what its water is computed from or, where it is not computed, the sum of what is told to and what tees
/// bring, m³/s.
fn reaching(run: &Run<'_>, chains: Option<&Vec<Solved>>, chain: usize, inflow: Option<&RunInflow>) -> f64 {
    let chains = chains.map_or(&[][..], Vec::as_slice);
    if let Some(water) = chains.get(chain).and_then(|solved| solved.run.as_ref()) {
        return water.total_inflow_m3_per_s();
    }
    let joining = chains.iter().enumerate().filter_map(|(other, solved)| {
        run::tee(run, other).filter(|tee| tee.into == chain)?;
        let profile = solved.profile.as_ref().ok()?;
        let ways = run::ways(run, other);
        let (_, outlet) = ways.iter().zip(&profile.outlets).find(|((way, _), _)| *way == Way::Tee)?;
        Some(outlet.flow_m3_per_s)
    });
    inflow.map_or(0.0, |inflow| inflow.reaching(chain)) + joining.sum::<f64>()
}

fn surface(
    run: &Run<'_>,
    chain: usize,
    solved: &Solved,
    profile: &RunProfile,
    behind: &[Option<f64>],
    rules: Rules<'_>,
    say: Say,
) -> WaterSurface {
    let at = |e: crate::compute::water::run::Extreme, value: Quantity| AtStation {
        station: say.far(e.station_m),
        value,
    };
    let limits = solved.limits.as_ref();
    let section = &run.system.section;
    let mut warnings: Vec<WaterWarning> = profile.warnings.iter().map(|w| say.warning(w)).collect();
    warnings.extend(limits.and_then(|_| level_kept(run, chain, behind)));
    let outlets = run::ways(run, chain)
        .into_iter()
        .zip(&profile.outlets)
        .map(|((way, _), o)| OutletWater {
            outlet: name_of(run, way),
            station: say.far(o.station_m),
            flow: say.flow(o.flow_m3_per_s),
            passed_on: say.flow(o.passed_on_m3_per_s),
            depth_needed: say.depth(o.depth_needed_m),
            backed_up: match way {
                Way::Outlet(i) => behind.get(i).copied().flatten().filter(|d| *d > 0.0).map(|d| say.depth(d)),
                Way::Tee => None,
            },
            rule: "water.outlet",
        })
        .collect();
    WaterSurface {
        greatest_depth: at(profile.greatest_depth, say.depth(profile.greatest_depth.value)),
        least_freeboard: at(profile.least_freeboard, say.depth(profile.least_freeboard.value)),
        greatest_velocity: at(profile.greatest_velocity, say.speed(profile.greatest_velocity.value)),
        overtops: profile.overtopping.map(|o| Overtops {
            from: say.far(o.from_m),
            to: say.far(o.to_m),
            worst: say.far(o.worst_m),
            by: say.depth(o.by_m),
        }),
        share_of_capacity: limits
            .and_then(|l| l.share_of_capacity)
            .map(|s| Quantity::computed(100.0 * s, Unit::Percent, 1)),
        most_flow: limits.and_then(|l| l.most_flow_m3_per_s).map(|q| say.flow(q)),
        longest: limits.map(|l| match l.longest {
            LongestRun::Length(m) => Longest { relation: LengthRelation::JustFits, length: say.far(m) },
            LongestRun::MoreThan(m) => Longest { relation: LengthRelation::MoreThan, length: say.far(m) },
            LongestRun::LessThan(m) => Longest { relation: LengthRelation::LessThan, length: say.far(m) },
        }),
        outlets,
        divides: profile
            .divides
            .iter()
            .map(|d| AtStation { station: say.far(d.station_m), value: say.depth(d.depth_m) })
            .collect(),
        controls: profile
            .controls
            .iter()
            .map(|c| AtStation { station: say.far(c.station_m), value: say.depth(c.depth_m) })
            .collect(),
        jumps: profile
            .jumps
            .iter()
            .map(|j| AtStation { station: say.far(j.station_m), value: say.depth(j.depth_after_m) })
            .collect(),
        profile: table(profile, say),
        warnings,
        rule: "water.surface",
        basis: format!(
            "spatially varied flow with friction by Manning's n {}, {} bottom and upright walls, {} wide inside; starts at the \
             outlets; the balance of momentum closes to {}, that of water to {}; room asked for {}",
            section.roughness,
            match section.bottom {
                Bottom::Rectangular => "flat",
                Bottom::U => "semicircular",
            },
            say.0.length(section.inside_width),
            share(profile.residuals.momentum),
            share(profile.residuals.mass),
            say.depth(rules.least_freeboard_m())
        ),
    }
}

/// How much of it a balance leaves open.
fn share(left: f64) -> String {
    if left == 0.0 { "0".to_owned() } else { format!("{:.0e}", left.abs()) }
}

/// What is said of the most flow and the longest run where the water behind a way out stands in the run: they are found with its
/// level as this storm makes it.
fn level_kept(run: &Run<'_>, chain: usize, behind: &[Option<f64>]) -> Option<WaterWarning> {
    let backed_up = |way: &Way| match way {
        Way::Outlet(i) => behind.get(*i).copied().flatten().is_some_and(|depth| depth > 0.0),
        Way::Tee => true,
    };
    let ways: Vec<String> = run::ways(run, chain)
        .into_iter()
        .map(|(way, _)| way)
        .filter(backed_up)
        .map(|way| match way {
            Way::Outlet(_) => format!("outlet {}", name_of(run, way)),
            Way::Tee => "the tee".to_owned(),
        })
        .collect();
    (!ways.is_empty()).then(|| WaterWarning {
        kind: "level_kept",
        text: format!(
            "most flow, share of capacity and longest run leave the water behind {} at the level it has in this storm; it rises and \
             falls with the flow, so that what truly fits lies between what is told and this storm",
            ways.join(", ")
        ),
    })
}

fn table(profile: &RunProfile, say: Say) -> ProfileTable {
    let (far, depth, flow, speed) =
        (say.far(0.0).unit(), say.depth(0.0).unit(), say.flow(0.0).unit(), say.speed(0.0).unit());
    let column = |name, unit| ProfileColumn { name, unit };
    ProfileTable {
        columns: vec![
            column("station", far),
            column("bed", depth),
            column("depth", depth),
            column("channel_depth", depth),
            column("flow", flow),
            column("velocity", speed),
        ],
        rows: profile
            .stations
            .iter()
            .map(|s| {
                let row = [
                    say.far(s.station_m),
                    say.depth(s.bed_m),
                    say.depth(s.depth_m),
                    say.depth(s.channel_depth_m),
                    say.flow(s.flow_m3_per_s),
                    say.speed(s.velocity_m_per_s),
                ];
                row.map(BareNumber::from)
            })
            .collect(),
    }
}

fn grate_water(grate: Grate, say: Say) -> GrateWater {
    let Grate { arriving, needed, control, basis, per } = grate;
    let one = say.far(METRES_PER_FOOT).unit();
    GrateWater {
        arriving: say.flow(arriving * per),
        ponding: say.depth(needed),
        control,
        rule: "water.grate",
        basis: format!("{basis}; arriving is per {one}"),
    }
}

fn line_water(
    layout: &Layout<'_>,
    index: usize,
    trees: &[Tree],
    say: Say,
    checks: &mut Vec<Check>,
) -> Option<LineWater> {
    let outcome = checks::of_line(layout, index, trees, say, checks)?;
    let line = layout.lines.get(index)?;
    let (refused, stretches) = match stretches(layout, index, trees)? {
        Ok(mine) => (
            None,
            mine.map(|(p, leg)| {
                let mut water = pipe_water(p.from.metres_f64(), p.to.metres_f64(), leg, line, say);
                let ends = trees.iter().flat_map(|t| &t.beside).filter(|_| p.to == line.length);
                for (_, beside) in ends.filter(|(line, _)| *line == index) {
                    let all = leg.flow_m3_per_s + beside;
                    let (more, all) = (say.flow(*beside), say.flow(all));
                    let _ = write!(
                        water.basis,
                        "; {more} more enter at its lower end, so that {all} leave there"
                    );
                }
                water
            })
            .collect(),
        ),
        Err(why) => (Some(why), Vec::new()),
    };
    Some(LineWater {
        line: line.id.as_str().to_owned(),
        pipe: line.pipe.code.as_str().to_owned(),
        outcome,
        refused,
        stretches,
    })
}

fn pipe_water(
    from: f64,
    to: f64,
    leg: &LegResult,
    line: &crate::domain::layout::Line<'_>,
    say: Say,
) -> PipeWater {
    let bore = line.pipe.inside_diameter.metres_f64();
    let runs_full = leg.depth_m.is_none() || leg.full_length_m >= to - from - 1e-9;
    let warnings: Vec<WaterWarning> = leg.warnings.iter().map(|w| say.warning(w)).collect();
    PipeWater {
        from: say.far(from),
        to: say.far(to),
        flow: say.flow(leg.flow_m3_per_s),
        full_flow: say.flow(leg.full_flow_m3_per_s),
        depth: say.depth(if runs_full { bore } else { leg.depth_m.unwrap_or(bore) }),
        runs_full,
        velocity: say.speed(leg.velocity_m_per_s),
        fall: say.depth(leg.fall_available_m),
        fall_needed: say.depth(leg.fall_needed_m),
        grade_upper: say.far(leg.grade_upper_m),
        grade_lower: say.far(leg.grade_lower_m),
        least_cover: leg.least_cover_m.map(|(cover, _)| say.depth(cover)),
        warnings,
        rule: "water.pipe",
        basis: format!(
            "Manning's n {}, bore {}, slope {} %: full bore {} at {}",
            line.pipe.roughness,
            say.0.length(line.pipe.inside_diameter),
            Quantity::computed(100.0 * leg.slope, Unit::Each, 3),
            say.flow(leg.full_flow_m3_per_s),
            say.speed(leg.full_velocity_m_per_s)
        ),
    }
}
