//! Pipe and fittings of one line.

use super::{check, quantity};
use crate::compute::cut_list::Share;
use crate::compute::needs::{Need, Needs};
use crate::domain::book::PriceBook;
use crate::domain::layout::{Degrees, Layout, Line};
use crate::domain::lines::{Check, Outcome, QuantityLine};
use crate::domain::measures::Measures;
use crate::domain::words::Measure;
use crate::units::show::{counted, worded};
use crate::units::{Length, Quantity};
use crate::wire::Code;
use crate::wire::book::ground::LineRules;
use crate::wire::book::systems::{Bend, Pipe};
use smallvec::SmallVec;
use std::fmt;

/// Takes off pipe, joints, bends, branches, clean-outs and connections.
#[expect(clippy::too_many_arguments, reason = "the collectors of the stage")]
pub fn take_off<'a>(
    line: &Line<'a>,
    rules: &LineRules,
    share: &Share,
    layout: &Layout<'a>,
    book: &'a PriceBook,
    measures: &mut Measures,
    needs: &mut Needs<'a>,
    q: &mut Vec<QuantityLine>,
    checks: &mut Vec<Check>,
) {
    let show = layout.show;
    let pipe = line.pipe;
    let subject = worded!("line {}", line.id);
    measures.add_length(Measure::PipeLength, line.length);
    let through = line.laid_through().len();
    let through =
        if through < line.legs.len() { worded!(", laid through as {through}") } else { String::new() };
    q.push(quantity(
        "pipe_pieces",
        Quantity::pieces(share.count),
        "line.pipe",
        worded!(
            "{} in {}{through}, by the cut list of `{}`: {} made for this line",
            show.length(line.length),
            counted(line.legs.len(), "leg"),
            pipe.code,
            counted(share.cuts, "cut")
        ),
    ));

    let mut fittings = 0;
    let mut bend_parts: i64 = 0;
    let mut turns = String::new();
    for (i, turn) in line.legs.iter().enumerate().filter_map(|(i, leg)| Some((i, leg.bend?))) {
        if !turns.is_empty() {
            turns.push_str("; ");
        }
        turns.push_str(&worded!("{turn} after leg {}: ", i + 1));
        match bends_for(pipe, turn) {
            Some(parts) => {
                let degrees = parts.iter().map(|bend| Degrees::of(bend.degrees).to_string());
                turns.push_str(&degrees.collect::<Vec<_>>().join(" + "));
                let basis = worded!("{subject}: {turn} after leg {}", i + 1);
                for bend in &parts {
                    needs.add(book, &bend.item, Need::Pieces(1), "line.bends", &basis);
                }
                bend_parts += parts.len() as i64;
            }
            None => {
                turns.push_str("no bends make it");
                checks.push(check(
                    "bend_on_offer",
                    subject.clone(),
                    Outcome::Fail,
                    worded!("no bend of `{}`, and no two or three of its bends, turn {turn}", pipe.code),
                ));
            }
        }
    }
    if turns.is_empty() {
        turns.push_str("no leg turns at its lower end");
    }
    fittings += bend_parts;
    q.push(quantity("bends", Quantity::pieces(bend_parts), "line.bends", turns));

    // One thing may enter at the upper end without a branch; everything else needs one.
    let enters = |zero: bool| line.entries().filter(|at| (*at == Length::ZERO) == zero).count();
    let reducing = reducing_branches(line, layout);
    let branches = enters(false) as i64 + (enters(true) as i64 - 1).max(0);
    if branches > 0 {
        let basis = match enters(true) {
            0 => worded!("{subject}: {} along the line", enters(false)),
            1 => worded!("{subject}: {} along the line; the one at its upper end needs none", enters(false)),
            n => worded!(
                "{subject}: {} along the line, {} of {n} at its upper end, where the first needs none",
                enters(false),
                n - 1
            ),
        };
        for (found, at, item) in &reducing {
            let at = show.length(*at);
            let basis = format_args!("{subject}: line {} of `{}` joins at {at}", found.id, found.pipe.code);
            needs.add(book, item, Need::Pieces(1), "line.branches", basis);
        }
        let plain = branches - reducing.len() as i64;
        let basis = match reducing.len() {
            0 => basis,
            _ => {
                worded!("{basis}; {} for a line of another pipe", counted(reducing.len(), "reducing branch"))
            }
        };
        match &pipe.branch {
            _ if plain == 0 => {}
            Some(item) => needs.add(book, item, Need::Pieces(plain), "line.branches", &basis),
            None => checks.push(check(
                "branch_on_offer",
                subject.clone(),
                Outcome::Fail,
                worded!("`{}` has no branch fitting in the price book", pipe.code),
            )),
        }
        fittings += branches;
        q.push(quantity("branches", Quantity::pieces(branches), "line.branches", basis));
    }
    let CleanOuts { count: clean_outs, stations } = clean_outs(line, rules);
    if clean_outs > 0 {
        let said = stations.iter().map(|at| show.length(*at).to_string()).collect::<Vec<_>>().join(", ");
        let more = match clean_outs - stations.len() as i64 {
            0 => String::new(),
            more => worded!(" and {more} more"),
        };
        let basis = worded!(
            "one for more than {} of turn in all and one at least every {}: at {said}{more}",
            Degrees::of(rules.clean_out_turn),
            show.length(rules.clean_out_every)
        );
        match &pipe.clean_out {
            Some(item) => {
                needs.add(
                    book,
                    item,
                    Need::Pieces(clean_outs),
                    "line.clean_outs",
                    format_args!("{subject}: {basis}"),
                );
            }
            None => checks.push(check(
                "clean_out_on_offer",
                subject.clone(),
                Outcome::Warn,
                worded!(
                    "{} called for, but `{}` has none in the price book",
                    counted(clean_outs, "clean-out"),
                    pipe.code
                ),
            )),
        }
        fittings += clean_outs;
        q.push(quantity("clean_outs", Quantity::pieces(clean_outs), "line.clean_outs", basis));
    }
    let outlets = line.from.len() as i64;
    let connections = outlets + i64::from(line.joins.is_none());
    measures.add_count(Measure::Connections, connections);
    if let Some(adapter) = pipe.adapter.as_ref().filter(|_| outlets > 0) {
        needs.add(
            book,
            adapter,
            Need::Pieces(outlets),
            "line.connections",
            format_args!("{subject}: one for each outlet that drains into it"),
        );
    }
    q.push(quantity(
        "connections",
        Quantity::pieces(connections),
        "line.connections",
        worded!("{}{}", counted(outlets, "outlet"), if line.joins.is_none() { ", 1 discharge" } else { "" }),
    ));
    let joints = share.joints + bend_parts * 2 + branches * 3 + clean_outs * 2 + outlets;
    if let Some(coupling) = &pipe.coupling {
        needs.add(
            book,
            coupling,
            Need::Pieces(share.joints),
            "line.joints",
            format_args!("{subject}: {} of pipe to pipe", counted(share.joints, "joint")),
        );
    }
    measures.add_count(Measure::PipeJoints, joints);
    measures.add_count(Measure::PipeFittings, fittings);
    q.push(quantity(
        "pipe_joints",
        Quantity::pieces(joints),
        "line.joints",
        worded!(
            "{} pipe to pipe, 2 at each of {}, 3 at each of {}, 2 at each of {}, 1 at each of {}",
            share.joints,
            counted(bend_parts, "bend"),
            counted(branches, "branch"),
            counted(clean_outs, "clean-out"),
            counted(outlets, "outlet")
        ),
    ));
    against_outlets(line, layout, checks);
    of_other_sizes(line, &reducing, layout, checks);
}

/// A line that joins by a branch which takes its pipe, with its station and the fitting.
type Reducing<'l, 'a> = (&'l Line<'a>, Length, &'a Code);

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
        .filter_map(|(other, at)| Some((other, at, &fitting(other)?.item)))
        .collect()
}

/// Lines of another size that join where no fitting of the book takes them: the branch fitting is of the size of the line.
fn of_other_sizes(line: &Line<'_>, taken: &[Reducing<'_, '_>], layout: &Layout<'_>, checks: &mut Vec<Check>) {
    let own = line.pipe;
    for joining in &line.joined_by {
        let Some(found) = layout.lines.get(joining.line) else { continue };
        if found.pipe.outside_diameter == own.outside_diameter || taken.iter().any(|t| t.0.id == found.id) {
            continue;
        }
        let reason = worded!(
            "line {} joins at {}: it is `{}`, the line and its fittings are `{}`; where the fitting does not take both sizes a \
             reducer is needed, and none is counted: add it to the notes as an extra",
            found.id,
            layout.show.length(joining.at),
            found.pipe.code,
            own.code
        );
        checks.push(check("reducer", worded!("line {}", line.id), Outcome::Warn, reason));
    }
}

/// Most bends in a row that make one turn: more are no longer a turn but a curve, which is laid as legs.
const BENDS_IN_A_ROW: usize = 3;

/// The fewest bends that turn a line so far, up to three; `None` where the pipe has none that do.
pub(in crate::compute) fn bends_for(pipe: &Pipe, turn: Degrees) -> Option<Vec<&Bend>> {
    (1..=BENDS_IN_A_ROW).find_map(|count| just(count, pipe, turn))
}

/// So many bends that turn a line so far, the first of the book first.
fn just(count: usize, pipe: &Pipe, turn: Degrees) -> Option<Vec<&Bend>> {
    if count == 1 {
        return pipe.bends.iter().find(|bend| Degrees::of(bend.degrees) == turn).map(|bend| vec![bend]);
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

    fn add(&mut self, station: Length) {
        self.count += 1;
        if self.stations.len() < Self::SAID {
            self.stations.push(station);
        }
    }
}

/// Clean-outs: where the line has turned too far in all, and where it has run too far since the last.
fn clean_outs(line: &Line<'_>, rules: &LineRules) -> CleanOuts {
    let mut found = CleanOuts { count: 0, stations: SmallVec::new() };
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
