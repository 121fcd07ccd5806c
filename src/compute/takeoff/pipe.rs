//! Pipe and fittings of one line.

use super::check;
use super::collect::Collect;
use crate::compute::cut_list::Share;
use crate::compute::needs::Need;
use crate::domain::layout::{Degrees, Layout, Line};
use crate::domain::lines::{Check, Outcome};
use crate::domain::words::Measure;
use crate::units::show::{counted, joined, worded};
use crate::units::{Length, Quantity};
use crate::wire::Code;
use crate::wire::book::ground::LineRules;
use crate::wire::book::systems::{Bend, Pipe};
use smallvec::{SmallVec, smallvec};
use std::fmt::{self, Write as _};

/// Takes off pipe, bends, branches, clean-outs, connections and joints.
pub(super) fn take_off<'a>(line: &Line<'a>, rules: &LineRules, share: &Share, collect: &mut Collect<'_, 'a>) {
    pieces(line, share, collect);
    let reducing = reducing_branches(line, collect.layout);
    let fittings = Fittings {
        bends: bends(line, collect),
        branches: branches(line, &reducing, collect),
        clean_outs: clean_outs(line, rules, collect),
    };
    connections(line, collect);
    joints(line, share, &fittings, collect);
    against_outlets(line, collect.layout, &mut collect.checks);
    of_other_sizes(line, &reducing, collect);
}

/// How many fittings of each kind a line has.
struct Fittings {
    bends: i64,
    branches: i64,
    clean_outs: i64,
}

/// The pieces of the cut list.
fn pieces(line: &Line<'_>, share: &Share, collect: &mut Collect<'_, '_>) {
    collect.measures.add_length(Measure::PipeLength, line.length);
    let through = line.laid_through().len();
    let laid = fmt::from_fn(|f| {
        if through < line.legs.len() { write!(f, ", laid through as {through}") } else { Ok(()) }
    });
    let basis = worded!(
        "{} in {}{laid}, by the cut list of `{}`: {} made for this line",
        collect.show.length(line.length),
        counted(line.legs.len(), "leg"),
        line.pipe.code,
        counted(share.cuts, "cut")
    );
    collect.quantity("pipe_pieces", Quantity::pieces(share.count), "line.pipe", basis);
}

/// Bends where legs turn; how many.
fn bends<'a>(line: &Line<'a>, collect: &mut Collect<'_, 'a>) -> i64 {
    let pipe = line.pipe;
    let mut count = 0;
    let mut turns = String::new();
    for (i, turn) in line.legs.iter().enumerate().filter_map(|(i, leg)| Some((i, leg.bend?))) {
        let between = if turns.is_empty() { "" } else { "; " };
        // writing to a string does not fail
        let _ = write!(turns, "{between}{turn} after leg {}: ", i + 1);
        let Some(parts) = bends_for(pipe, turn) else {
            turns.push_str("no bends make it");
            collect.checks.push(check(
                "bend_on_offer",
                worded!("line {}", line.id),
                Outcome::Fail,
                worded!("no bend of `{}`, and no two or three of its bends, turn {turn}", pipe.code),
            ));
            continue;
        };
        let degrees = joined(parts.iter().map(|bend| Degrees::of(bend.degrees)), " + ");
        let _ = write!(turns, "{degrees}");
        for bend in &parts {
            let basis = format_args!("line {}: {turn} after leg {}", line.id, i + 1);
            collect.need(&bend.item, Need::Pieces(1), "line.bends", basis);
        }
        count += parts.len() as i64;
    }
    if turns.is_empty() {
        turns.push_str("no leg turns at its lower end");
    }
    collect.quantity("bends", Quantity::pieces(count), "line.bends", turns);
    count
}

/// Branches where something enters; how many. One thing may enter at the upper end without one; everything else needs one.
fn branches<'a>(line: &Line<'a>, reducing: &[Reducing<'_, 'a>], collect: &mut Collect<'_, 'a>) -> i64 {
    let (show, pipe) = (collect.show, line.pipe);
    let at_upper_end = line.entries().filter(|at| *at == Length::ZERO).count();
    let along = line.entries().count() - at_upper_end;
    let count = along as i64 + (at_upper_end as i64 - 1).max(0);
    if count == 0 {
        return 0;
    }
    for Reducing { line: joining, at, item } in reducing {
        let at = show.length(*at);
        let basis =
            format_args!("line {}: line {} of `{}` joins at {at}", line.id, joining.id, joining.pipe.code);
        collect.need(item, Need::Pieces(1), "line.branches", basis);
    }
    let where_they_are = fmt::from_fn(|f| match at_upper_end {
        0 => Ok(()),
        1 => f.write_str("; the one at its upper end needs none"),
        n => write!(f, ", {} of {n} at its upper end, where the first needs none", n - 1),
    });
    let of_another_pipe = fmt::from_fn(|f| match reducing.len() {
        0 => Ok(()),
        some => write!(f, "; {} for a line of another pipe", counted(some, "reducing branch")),
    });
    let basis = worded!("line {}: {along} along the line{where_they_are}{of_another_pipe}", line.id);
    let plain = count - reducing.len() as i64;
    match &pipe.branch {
        _ if plain == 0 => {}
        Some(item) => collect.need(item, Need::Pieces(plain), "line.branches", &basis),
        None => collect.checks.push(check(
            "branch_on_offer",
            worded!("line {}", line.id),
            Outcome::Fail,
            worded!("`{}` has no branch fitting in the price book", pipe.code),
        )),
    }
    collect.quantity("branches", Quantity::pieces(count), "line.branches", basis);
    count
}

/// Clean-outs where the line has turned or run too far; how many.
fn clean_outs<'a>(line: &Line<'a>, rules: &LineRules, collect: &mut Collect<'_, 'a>) -> i64 {
    let (show, pipe) = (collect.show, line.pipe);
    let CleanOuts { count, stations } = CleanOuts::of(line, rules);
    if count == 0 {
        return 0;
    }
    let said = joined(stations.iter().map(|at| show.length(*at)), ", ");
    let and_more = fmt::from_fn(|f| match count - stations.len() as i64 {
        0 => Ok(()),
        more => write!(f, " and {more} more"),
    });
    let basis = worded!(
        "one for more than {} of turn in all and one at least every {}: at {said}{and_more}",
        Degrees::of(rules.clean_out_turn),
        show.length(rules.clean_out_every)
    );
    match &pipe.clean_out {
        Some(item) => {
            let basis = format_args!("line {}: {basis}", line.id);
            collect.need(item, Need::Pieces(count), "line.clean_outs", basis);
        }
        None => collect.checks.push(check(
            "clean_out_on_offer",
            worded!("line {}", line.id),
            Outcome::Warn,
            worded!(
                "{} called for, but `{}` has none in the price book",
                counted(count, "clean-out"),
                pipe.code
            ),
        )),
    }
    collect.quantity("clean_outs", Quantity::pieces(count), "line.clean_outs", basis);
    count
}

/// Where outlets drain into the line, and its discharge.
fn connections<'a>(line: &Line<'a>, collect: &mut Collect<'_, 'a>) {
    let outlets = line.from.len() as i64;
    let (discharges, discharge) = if line.joins.is_none() { (1, ", 1 discharge") } else { (0, "") };
    let connections = outlets + discharges;
    collect.measures.add_count(Measure::Connections, connections);
    if let Some(adapter) = line.pipe.adapter.as_ref().filter(|_| outlets > 0) {
        let basis = format_args!("line {}: one for each outlet that drains into it", line.id);
        collect.need(adapter, Need::Pieces(outlets), "line.connections", basis);
    }
    let basis = worded!("{}{discharge}", counted(outlets, "outlet"));
    collect.quantity("connections", Quantity::pieces(connections), "line.connections", basis);
}

/// Joints of pipe to pipe, at the fittings and at the outlets.
fn joints<'a>(line: &Line<'a>, share: &Share, fittings: &Fittings, collect: &mut Collect<'_, 'a>) {
    let Fittings { bends, branches, clean_outs } = *fittings;
    let outlets = line.from.len() as i64;
    let joints = share.joints + bends * 2 + branches * 3 + clean_outs * 2 + outlets;
    if let Some(coupling) = &line.pipe.coupling {
        let basis = format_args!("line {}: {} of pipe to pipe", line.id, counted(share.joints, "joint"));
        collect.need(coupling, Need::Pieces(share.joints), "line.joints", basis);
    }
    collect.measures.add_count(Measure::PipeJoints, joints);
    collect.measures.add_count(Measure::PipeFittings, bends + branches + clean_outs);
    let basis = worded!(
        "{} pipe to pipe, 2 at each of {}, 3 at each of {}, 2 at each of {}, 1 at each of {}",
        share.joints,
        counted(bends, "bend"),
        counted(branches, "branch"),
        counted(clean_outs, "clean-out"),
        counted(outlets, "outlet")
    );
    collect.quantity("pipe_joints", Quantity::pieces(joints), "line.joints", basis);
}

/// A line that joins by a branch which takes its pipe.
struct Reducing<'l, 'a> {
    line: &'l Line<'a>,
    /// Where it joins.
    at: Length,
    /// The branch.
    item: &'a Code,
}

/// All lines that do.
fn reducing_branches<'l, 'a>(line: &Line<'a>, layout: &'l Layout<'a>) -> Vec<Reducing<'l, 'a>> {
    let fitting =
        |joining: &Line<'_>| line.pipe.reducing_branches.iter().find(|b| b.pipe == joining.pipe.code);
    let joining = line.joined_by.iter().filter_map(|found| Some((layout.lines.get(found.line)?, found.at)));
    // One thing enters at the upper end without a branch: an outlet, else the line that fits best, whatever the order of the notes.
    let is_open = line.from.iter().all(|feed| feed.at != Length::ZERO);
    let at_upper_end = joining.clone().filter(|(_, at)| is_open && *at == Length::ZERO);
    let fits = at_upper_end.map(|(other, _)| {
        let same_size = other.pipe.outside_diameter == line.pipe.outside_diameter;
        (!same_size, fitting(other).is_some(), other.id)
    });
    let straight = fits.min().map(|(.., id)| id);
    joining
        .filter(|(other, _)| straight != Some(other.id))
        .filter_map(|(other, at)| Some(Reducing { line: other, at, item: &fitting(other)?.item }))
        .collect()
}

/// Lines of another size that join where no fitting of the book takes them: the branch fitting is of the size of the line.
fn of_other_sizes(line: &Line<'_>, taken: &[Reducing<'_, '_>], collect: &mut Collect<'_, '_>) {
    let own = line.pipe;
    for joining in &line.joined_by {
        let Some(found) = collect.layout.lines.get(joining.line) else { continue };
        let is_taken = || taken.iter().any(|reducing| reducing.line.id == found.id);
        if found.pipe.outside_diameter == own.outside_diameter || is_taken() {
            continue;
        }
        let reason = worded!(
            "line {} joins at {}: it is `{}`, the line and its fittings are `{}`; where the fitting does not take both sizes a \
             reducer is needed, and none is counted: add it to the notes as an extra",
            found.id,
            collect.show.length(joining.at),
            found.pipe.code,
            own.code
        );
        collect.checks.push(check("reducer", worded!("line {}", line.id), Outcome::Warn, reason));
    }
}

/// Most bends in a row that make one turn: more are no longer a turn but a curve, which is laid as legs.
const BENDS_IN_A_ROW: usize = 3;

/// Bends one after the other.
type InARow<'p> = SmallVec<[&'p Bend; BENDS_IN_A_ROW]>;

/// The fewest bends that turn a line so far, up to three; `None` where the pipe has none that do.
pub(in crate::compute) fn bends_for(pipe: &Pipe, turn: Degrees) -> Option<InARow<'_>> {
    (1..=BENDS_IN_A_ROW).find_map(|count| just(count, pipe, turn))
}

/// So many bends that turn a line so far, the first of the book first.
fn just(count: usize, pipe: &Pipe, turn: Degrees) -> Option<InARow<'_>> {
    if count == 1 {
        let mut bends = pipe.bends.iter();
        return bends.find(|bend| Degrees::of(bend.degrees) == turn).map(|bend| smallvec![bend]);
    }
    pipe.bends.iter().find_map(|first| {
        let mut rest = just(count - 1, pipe, turn - Degrees::of(first.degrees))?;
        rest.insert(0, first);
        Some(rest)
    })
}

/// How many clean-outs a line has, and where the first few of them stand.
struct CleanOuts {
    count: i64,
    stations: SmallVec<[Length; CleanOuts::SAID]>,
}

impl CleanOuts {
    /// A long line has hundreds, which nobody reads in one line of working.
    const SAID: usize = 8;

    /// Where the line has turned too far in all, and where it has run too far since the last.
    fn of(line: &Line<'_>, rules: &LineRules) -> Self {
        let mut found = Self { count: 0, stations: SmallVec::new() };
        let (mut turned, mut last, mut at) = (Degrees::ZERO, Length::ZERO, Length::ZERO);
        for leg in &line.legs {
            at += leg.length;
            if rules.clean_out_every.is_positive() {
                while at - last > rules.clean_out_every {
                    last += rules.clean_out_every;
                    found.add(last);
                    turned = Degrees::ZERO;
                }
            }
            turned += leg.bend.unwrap_or(Degrees::ZERO);
            if turned > Degrees::of(rules.clean_out_turn) {
                found.add(at);
                (turned, last) = (Degrees::ZERO, at);
            }
        }
        found
    }

    fn add(&mut self, station: Length) {
        self.count += 1;
        if self.stations.len() < Self::SAID {
            self.stations.push(station);
        }
    }
}

/// A pipe narrower than the outlet or the line that feeds it is a bottleneck.
pub(crate) fn against_outlets(line: &Line<'_>, layout: &Layout<'_>, checks: &mut Vec<Check>) {
    let show = layout.show;
    let bore = line.pipe.inside_diameter;
    let mut narrower = |name, fed: Length, by: fmt::Arguments<'_>| {
        if bore < fed {
            let [bore, fed] = show.lengths_apart(bore, fed);
            let reason = worded!("the bore of {bore} is less than that of {by}, {fed}");
            checks.push(check(name, worded!("line {}", line.id), Outcome::Warn, reason));
        }
    };
    for feed in &line.from {
        let Some(found) = layout.outlet(feed) else { continue };
        narrower("pipe_against_outlet", found.fitting.bore, format_args!("outlet {}", found.id));
    }
    for joining in &line.joined_by {
        let Some(found) = layout.lines.get(joining.line) else { continue };
        let by = format_args!("line {} that joins it", found.id);
        narrower("pipe_against_line", found.pipe.inside_diameter, by);
    }
}
