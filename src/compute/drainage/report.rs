//! Results in the job's units, their basis and their checks.

use super::Rules;
use super::answer::{
    AtStation, ChainWater, GrateWater, LineWater, Longest, OutletWater, Overtops, PipeWater, ProfileColumn,
    ProfileTable, RunWater, WaterAnswer, WaterSurface, WaterWarning,
};
use super::line::Tree;
use super::run::{self, Way};
use super::settle::{Settled, Solved};
use super::storm::{Flows, RunInflow};
use super::words::Say;
use crate::compute::takeoff::check;
use crate::compute::water::intake::{GrateInlet, SagControl};
use crate::compute::water::pipe::LegResult;
use crate::compute::water::run::{LongestRun, RunProfile};
use crate::compute::water::{STANDARD_GRAVITY, warning};
use crate::domain::layout::{Layout, Run};
use crate::domain::lines::{Check, Outcome};
use crate::units::{Quantity, Unit};

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
            let nothing = (Vec::new(), RunInflow::default(), Vec::new());
            let solved = settled.runs.get(i).unwrap_or(&nothing.0);
            let inflow = flows.runs.get(i).unwrap_or(&nothing.1);
            let behind = settled.behind.get(i).unwrap_or(&nothing.2);
            run_water(run, solved, inflow, behind, rules, say, &mut checks)
        })
        .collect();
    let drain_lines = (0..layout.lines.len())
        .filter_map(|i| line_water(layout, i, &settled.trees, say, &mut checks))
        .collect();
    if !settled.agreed {
        checks.push(check(
            "water_settled",
            "layout",
            Outcome::Warn,
            "the flows of the outlets and the water that backs up from the lines did not settle: read both as estimates, \
             and enlarge the pipe or the outlet that backs up"
                .to_owned(),
        ));
    }
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

fn run_water(
    run: &Run<'_>,
    solved: &[Solved],
    inflow: &RunInflow,
    behind: &[Option<f64>],
    rules: Rules<'_>,
    say: Say,
    checks: &mut Vec<Check>,
) -> RunWater {
    let before = checks.len();
    let subject = format!("run {}", run.id);
    let mut chains = Vec::with_capacity(solved.len());
    for (index, (chain, solved)) in run.chains.iter().zip(solved).enumerate() {
        let total = solved.run.as_ref().map_or(0.0, |r| r.total_inflow_m3_per_s());
        let (refused, surface) = match &solved.profile {
            Ok(profile) => {
                freeboard_check(&subject, profile, rules, say, checks);
                let ways = run::ways(run, index);
                for ((way, _), outlet) in ways.iter().zip(&profile.outlets) {
                    if outlet.passed_on_m3_per_s > 1e-9 {
                        checks.push(check(
                            "outlet_capacity",
                            subject.clone(),
                            Outcome::Warn,
                            format!(
                                "outlet {} takes {} and lets {} pass along the run: a wider outlet would take it",
                                name_of(run, *way),
                                say.flow(outlet.flow_m3_per_s),
                                say.flow(outlet.passed_on_m3_per_s)
                            ),
                        ));
                    }
                }
                (None, Some(surface(run, index, solved, profile, behind, rules, say)))
            }
            Err(error) => {
                let reason = say.refusal(error);
                checks.push(check("run_water", subject.clone(), Outcome::Fail, reason.clone()));
                (Some(reason), None)
            }
        };
        chains.push(ChainWater {
            first_leg: chain.first + 1,
            last_leg: chain.end,
            inflow: say.flow(total),
            refused,
            surface,
        });
    }
    let grate = grate_water(run, &subject, inflow, rules, say, checks);
    let outcome =
        checks.get(before..).into_iter().flatten().map(|c| c.outcome).max().unwrap_or(Outcome::Pass);
    RunWater {
        run: run.id.as_str().to_owned(),
        channel_system: run.system.code.as_str().to_owned(),
        outcome,
        grate,
        chains,
    }
}

fn freeboard_check(subject: &str, profile: &RunProfile, rules: Rules<'_>, say: Say, checks: &mut Vec<Check>) {
    let least = profile.least_freeboard;
    let wanted = rules.least_freeboard_m();
    let (outcome, text) = match profile.overtopping {
        Some(over) => (
            Outcome::Fail,
            format!(
                "overtops from {} to {}, at {} by {}: take a deeper or wider channel, another outlet, or lead less water to it",
                say.far(over.from_m),
                say.far(over.to_m),
                say.far(over.worst_m),
                say.depth(over.by_m)
            ),
        ),
        None if least.value < wanted => (
            Outcome::Fail,
            format!(
                "keeps {} of room under the grate at {}; {} is asked for",
                say.depth(least.value),
                say.far(least.station_m),
                say.depth(wanted)
            ),
        ),
        None => (
            Outcome::Pass,
            format!(
                "carries {}: deepest {} at {}, {} of room under the grate at {}",
                say.flow(profile.inflow_m3_per_s),
                say.depth(profile.greatest_depth.value),
                say.far(profile.greatest_depth.station_m),
                say.depth(least.value),
                say.far(least.station_m)
            ),
        ),
    };
    checks.push(check("run_freeboard", subject, outcome, text));
}

fn name_of(run: &Run<'_>, way: Way) -> String {
    match way {
        Way::Outlet(i) => run.outlets.get(i).map_or_else(String::new, |o| o.id.as_str().to_owned()),
        Way::Tee => "tee".to_owned(),
    }
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
            LongestRun::Length(m) => Longest { relation: "just_fits", length: say.far(m) },
            LongestRun::MoreThan(m) => Longest { relation: "more_than", length: say.far(m) },
            LongestRun::LessThan(m) => Longest { relation: "less_than", length: say.far(m) },
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
        warnings: profile.warnings.iter().map(|w| say.warning(w)).collect(),
        basis: format!(
            "spatially varied flow with friction by Manning's n {}, {} {} wide inside; starts at the outlets, balance of momentum \
             closes to {:.0e}, of water to {:.0e}; room asked for {}",
            section.roughness,
            section.bottom,
            say.0.length(section.inside_width),
            profile.residuals.momentum.abs(),
            profile.residuals.mass.abs(),
            say.depth(rules.least_freeboard_m())
        ),
    }
}

fn table(profile: &RunProfile, say: Say) -> ProfileTable {
    let (far, depth, flow, speed) =
        (say.far(0.0).unit(), say.depth(0.0).unit(), say.flow(0.0).unit(), say.speed(0.0).unit());
    let column = |name, unit| ProfileColumn { name, unit };
    let text = |q: Quantity| q.value().to_string();
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
                vec![
                    text(say.far(s.station_m)),
                    text(say.depth(s.bed_m)),
                    text(say.depth(s.depth_m)),
                    text(say.depth(s.channel_depth_m)),
                    text(say.flow(s.flow_m3_per_s)),
                    text(say.speed(s.velocity_m_per_s)),
                ]
            })
            .collect(),
    }
}

fn grate_water(
    run: &Run<'_>,
    subject: &str,
    inflow: &RunInflow,
    rules: Rules<'_>,
    say: Say,
    checks: &mut Vec<Check>,
) -> Option<GrateWater> {
    let arriving = run::most_per_metre(inflow);
    if arriving <= 0.0 {
        return None;
    }
    let Some(open) = run.grate.open_area else {
        checks.push(check(
            "grate_intake",
            subject,
            Outcome::Warn,
            format!(
                "the price book does not say the open area of grate `{}`: what it takes is not checked",
                run.grate.item
            ),
        ));
        return None;
    };
    let length = run.grate.length.metres_f64();
    let (clogged, allowed) = (rules.clogged(), rules.ponding_m());
    // A metre of grate: water falls in over both long edges.
    let inlet = GrateInlet {
        clogged_perimeter: clogged,
        clogged_area: clogged,
        ..GrateInlet::half_clogged(2.0, open.square_metres_f64() / length)
    };
    let (needed, control) = inlet.ponding_depth_m(arriving, STANDARD_GRAVITY);
    let control = match control {
        SagControl::Weir => "weir",
        SagControl::Orifice => "orifice",
    };
    // Per foot or per metre of grate.
    let one = say.far(0.3048);
    let per = if one.unit() == Unit::Ft { 0.3048 } else { 1.0 };
    let basis = format!(
        "{} a {} of grate, {} % of edge and openings blocked; as a {control} (weir 1.66, orifice 0.67, SI) it needs {} of water \
         over it, {} is allowed",
        say.flow(arriving * per),
        one.unit(),
        Quantity::computed(100.0 * clogged, Unit::Each, 1),
        say.depth(needed),
        say.depth(allowed)
    );
    let (outcome, word) =
        if needed <= allowed { (Outcome::Pass, "takes") } else { (Outcome::Fail, "does not take") };
    checks.push(check(
        "grate_intake",
        subject,
        outcome,
        format!("grate `{}` {word} what arrives: {basis}", run.grate.item),
    ));
    Some(GrateWater {
        arriving: say.flow(arriving * per),
        ponding: say.depth(needed),
        control,
        basis: format!("{basis}; arriving is per {}", one.unit()),
    })
}

fn line_water(
    layout: &Layout<'_>,
    index: usize,
    trees: &[Tree],
    say: Say,
    checks: &mut Vec<Check>,
) -> Option<LineWater> {
    let line = layout.lines.get(index)?;
    let tree = trees.iter().find(|t| t.pieces.iter().any(|p| p.line == index))?;
    let subject = format!("line {}", line.id);
    let named = |outcome, refused, stretches| LineWater {
        line: line.id.as_str().to_owned(),
        pipe: line.pipe.code.as_str().to_owned(),
        outcome,
        refused,
        stretches,
    };
    let legs = match &tree.result {
        Ok(legs) => legs,
        Err(why) => {
            let reason = format!("the grade line cannot be followed: {why}");
            checks.push(check("line_water", subject, Outcome::Fail, reason.clone()));
            return Some(named(Outcome::Fail, Some(reason), Vec::new()));
        }
    };
    let mine: Vec<_> = tree.pieces.iter().zip(legs).filter(|(p, _)| p.line == index).collect();
    let stretches = mine
        .iter()
        .map(|(p, leg)| pipe_water(p.from.metres_f64(), p.to.metres_f64(), leg, line, say))
        .collect();
    let (outcome, text) = line_outcome(&mine, say);
    checks.push(check("line_capacity", subject, outcome, text));
    Some(named(outcome, None, stretches))
}

fn line_outcome(mine: &[(&super::line::Piece, &LegResult)], say: Say) -> (Outcome, String) {
    let station = |p: &super::line::Piece| say.far(p.from.metres_f64());
    if let Some((p, leg)) = mine.iter().find(|(_, l)| l.floods.is_some()) {
        let (along, by) = leg.floods.unwrap_or((0.0, 0.0));
        return (
            Outcome::Fail,
            format!(
                "the grade line stands {} above the ground {} from the upper end: water comes out there",
                say.depth(by),
                say.far(p.from.metres_f64() + along)
            ),
        );
    }
    if let Some((p, leg)) = mine.iter().find(|(_, l)| !l.carries) {
        return (
            Outcome::Fail,
            format!(
                "from {} on {} come and the full bore carries {}: {} of fall are needed, {} are there",
                station(p),
                say.flow(leg.flow_m3_per_s),
                say.flow(leg.full_flow_m3_per_s),
                say.depth(leg.fall_needed_m),
                say.depth(leg.fall_available_m)
            ),
        );
    }
    if let Some((p, leg)) = mine.iter().find(|(_, l)| !l.warnings.is_empty()) {
        let words: Vec<String> = leg.warnings.iter().map(|w| say.warning(w).text).collect();
        return (Outcome::Warn, format!("carries its flow; from {} on {}", station(p), words.join("; ")));
    }
    let fullest = mine
        .iter()
        .map(|(_, l)| if l.full_flow_m3_per_s > 0.0 { l.flow_m3_per_s / l.full_flow_m3_per_s } else { 0.0 })
        .fold(0.0, f64::max);
    (
        Outcome::Pass,
        format!(
            "carries its flow; at most {} % of what the full bore carries",
            Quantity::computed(100.0 * fullest, Unit::Each, 0)
        ),
    )
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
        least_cover: leg.least_cover_m.map(|(_, cover)| say.depth(cover)),
        warnings,
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
