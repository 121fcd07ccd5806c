//! The checks of the water: room under the grates, outlets, grates, lines.

use super::Rules;
use super::answer::GrateControl;
use super::line::{Piece, Tree};
use super::run::{self, Way};
use super::settle::Settled;
use super::storm::{Flows, RunInflow};
use super::words::Say;
use crate::compute::takeoff::check;
use crate::compute::water::STANDARD_GRAVITY;
use crate::compute::water::intake::{GrateInlet, SagControl};
use crate::compute::water::pipe::LegResult;
use crate::compute::water::run::{RunError, RunProfile};
use crate::domain::layout::{Layout, Run};
use crate::domain::lines::{Check, Outcome};
use crate::units::factors::METRES_PER_FOOT;
use crate::units::{Quantity, Unit};

/// All of them, for those who ask for nothing else.
pub(super) fn all(layout: &Layout<'_>, flows: &Flows, settled: &Settled, rules: Rules<'_>) -> Vec<Check> {
    let say = Say(layout.show);
    let mut checks = Vec::new();
    for (i, run) in layout.runs.iter().enumerate() {
        of_run(run, i, flows, settled, rules, say, &mut checks);
    }
    for i in 0..layout.lines.len() {
        of_line(layout, i, &settled.trees, say, &mut checks);
    }
    of_settling(settled, &mut checks);
    checks
}

/// What a grate needs to take what arrives.
#[derive(Debug)]
pub(super) struct Grate {
    /// Most flow that arrives per metre, m³/s.
    pub(super) arriving: f64,
    /// Depth of water over it, m.
    pub(super) needed: f64,
    pub(super) control: GrateControl,
    pub(super) basis: String,
    /// Length in m that the job's units count flow by.
    pub(super) per: f64,
}

/// The checks of one run, and what its grate needs.
pub(super) fn of_run(
    run: &Run<'_>,
    index: usize,
    flows: &Flows,
    settled: &Settled,
    rules: Rules<'_>,
    say: Say,
    checks: &mut Vec<Check>,
) -> Option<Grate> {
    let subject = format!("run {}", run.id);
    let inflow = flows.runs.get(index)?;
    if !flows.catchments.is_empty() && inflow.is_empty() {
        checks.push(unreached(run, &subject));
    }
    for (chain, solved) in settled.runs.get(index).into_iter().flatten().enumerate().take(run.chains.len()) {
        let profile = match &solved.profile {
            Ok(profile) => profile,
            Err(error) => {
                checks.push(check(
                    "run_water",
                    subject.clone(),
                    Outcome::Fail,
                    refusal(run, chain, error, say),
                ));
                continue;
            }
        };
        let legs = run::of_legs(run, chain);
        freeboard_check(&subject, &legs, profile, rules, say, checks);
        for ((way, _), outlet) in run::ways(run, chain).iter().zip(&profile.outlets) {
            if outlet.passed_on_m3_per_s > 1e-9 {
                checks.push(check(
                    "outlet_capacity",
                    subject.clone(),
                    Outcome::Warn,
                    format!(
                        "{legs}outlet {} takes {} and lets {} pass along the run: a wider outlet would take it",
                        name_of(run, *way),
                        say.flow(outlet.flow_m3_per_s),
                        say.flow(outlet.passed_on_m3_per_s)
                    ),
                ));
            }
        }
    }
    grate_check(run, &subject, inflow, rules, say, checks)
}

/// A run that was forgotten in the catchments would pass with no water in it.
fn unreached(run: &Run<'_>, subject: &str) -> Check {
    check(
        "run_reached",
        subject,
        Outcome::Warn,
        format!(
            "no catchment reaches run `{}` and nothing flows in by itself: no water of the storm is checked in it. Name it in \
             `reaches` of the catchments whose water it takes, or in an entry of `inflows`",
            run.id
        ),
    )
}

/// Why a chain has no water surface.
pub(super) fn refusal(run: &Run<'_>, chain: usize, error: &RunError, say: Say) -> String {
    let ways = run::ways(run, chain);
    let legs = run.chains.get(chain).map_or((0, 0), |c| (c.first + 1, c.end));
    if ways.is_empty() {
        return run::no_way_out(legs);
    }
    if let RunError::OutletFeedsRun { station_m, excess_m, .. } = error
        && ways.iter().any(|(way, at)| *way == Way::Tee && (at.metres_f64() - station_m).abs() < 1e-6)
    {
        return say.fed_at_tee(legs, *excess_m);
    }
    let of_legs = run::of_legs(run, chain);
    let RunError::Invalid(faults) = error else {
        return of_legs + &say.refusal(error);
    };
    if let Some(step) = run::bed_step(run, chain) {
        return of_legs + &say.bed_step(step);
    }
    let told = say.faults(faults, &|place| {
        let (index, member) = place.strip_prefix("outlets[")?.split_once("].")?;
        let (way, _) = ways.get(index.parse::<usize>().ok()?)?;
        let side = if member == "tailwater_depth_m" { "behind" } else { "of" };
        Some(match way {
            Way::Outlet(_) => format!(" {side} outlet {}", name_of(run, *way)),
            Way::Tee => format!(" {side} the tee"),
        })
    });
    of_legs + &told
}

fn freeboard_check(
    subject: &str,
    legs: &str,
    profile: &RunProfile,
    rules: Rules<'_>,
    say: Say,
    checks: &mut Vec<Check>,
) {
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
        None if least.value < wanted => {
            let [room, wanted] = say.depths_apart(least.value, wanted);
            let at = say.far(least.station_m);
            (Outcome::Fail, format!("keeps {room} of room under the grate at {at}; {wanted} is asked for"))
        }
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
    checks.push(check("run_freeboard", subject, outcome, format!("{legs}{text}")));
}

pub(super) fn name_of(run: &Run<'_>, way: Way) -> String {
    match way {
        Way::Outlet(i) => run.outlets.get(i).map_or_else(String::new, |o| o.id.as_str().to_owned()),
        Way::Tee => "tee".to_owned(),
    }
}

fn grate_check(
    run: &Run<'_>,
    subject: &str,
    inflow: &RunInflow,
    rules: Rules<'_>,
    say: Say,
    checks: &mut Vec<Check>,
) -> Option<Grate> {
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
    let (article, control) = match control {
        SagControl::Weir => ("a", GrateControl::Weir),
        SagControl::Orifice => ("an", GrateControl::Orifice),
    };
    // Per foot or per metre of grate.
    let one = say.far(METRES_PER_FOOT);
    let per = if one.unit() == Unit::Ft { METRES_PER_FOOT } else { 1.0 };
    let basis = format!(
        "{} a {} of grate, {} % of edge and openings blocked; as {article} {control} (weir 1.66, orifice 0.67, SI) it needs {} of water \
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
    Some(Grate { arriving, needed, control, basis, per })
}

/// The stretches of a line with what flows in them, or why there is no grade line; `None` where the line is in no tree.
pub(super) fn stretches<'t>(
    layout: &Layout<'_>,
    index: usize,
    trees: &'t [Tree],
) -> Option<Result<impl Iterator<Item = (&'t Piece, &'t LegResult)>, String>> {
    layout.lines.get(index)?;
    let tree = trees.iter().find(|t| t.pieces.iter().any(|p| p.line == index))?;
    Some(match &tree.result {
        Ok(legs) => Ok(tree.pieces.iter().zip(legs).filter(move |(p, _)| p.line == index)),
        Err(why) => Err(format!("the grade line cannot be followed: {why}")),
    })
}

/// The check of one line, and how it comes out.
pub(super) fn of_line(
    layout: &Layout<'_>,
    index: usize,
    trees: &[Tree],
    say: Say,
    checks: &mut Vec<Check>,
) -> Option<Outcome> {
    let subject = format!("line {}", layout.lines.get(index)?.id);
    match stretches(layout, index, trees)? {
        Ok(mine) => {
            let (outcome, text) = line_outcome(&mine.collect::<Vec<_>>(), say);
            checks.push(check("line_capacity", subject, outcome, text));
            Some(outcome)
        }
        Err(why) => {
            checks.push(check("line_water", subject, Outcome::Fail, why));
            Some(Outcome::Fail)
        }
    }
}

/// Whether runs and lines agree.
pub(super) fn of_settling(settled: &Settled, checks: &mut Vec<Check>) {
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
}

fn line_outcome(mine: &[(&Piece, &LegResult)], say: Say) -> (Outcome, String) {
    let station = |p: &Piece| say.far(p.from.metres_f64());
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
