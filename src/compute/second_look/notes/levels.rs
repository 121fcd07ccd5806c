//! Levels and falls of a line, told beside each other: a level is against whatever datum the job has, and a steep drain is
//! right where the ground is steep.

use super::super::PRACTICE;
use super::figures::Fall;
use super::{Looks, Part, ranges};
use crate::units::show::worded;
use crate::units::{Length, Level};
use crate::wire::notes::{DrainLine, LineEnd, Run};

/// What the notes say of the surface along a line: of the ground where they give it, else of the runs whose outlets it takes.
#[derive(Clone, Copy)]
struct Surface {
    lowest: Length,
    highest: Length,
    /// At its first place and at its last.
    first: Length,
    last: Length,
}

impl Surface {
    fn of(levels: impl Iterator<Item = Length>) -> Option<Self> {
        levels.fold(None, |so_far, level| {
            let Surface { lowest, highest, first, last: _ } =
                so_far.unwrap_or(Surface { lowest: level, highest: level, first: level, last: level });
            Some(Surface { lowest: lowest.min(level), highest: highest.max(level), first, last: level })
        })
    }
}

/// Surface levels of the runs whose outlets a line takes.
fn of_runs<'n>(line: &'n DrainLine, runs: &'n [Run]) -> impl Iterator<Item = (&'n Run, Length)> {
    let run_of = |outlet| runs.iter().find(|run| run.outlets.iter().any(|o| o.id() == outlet));
    let entering = line.from.iter().filter_map(move |entry| run_of(&entry.outlet));
    entering.map(|run| (run, run.surface_level.unwrap_or_default().0))
}

pub(super) fn of_line<'n>(looks: &mut Looks<'n>, line: &'n DrainLine, runs: &[Run], part: Part<'n>) {
    let length: Length = line.legs.iter().map(|leg| leg.length).sum();
    let ground = Surface::of(line.ground.iter().map(|point| point.level.0));
    let surface = ground.or_else(|| Surface::of(of_runs(line, runs).map(|(_, level)| level)));
    if let Some(ground) = ground {
        steps(looks, line, part);
        datum(looks, line, runs, ground, length, part);
    }
    let (invert, water) = match &line.ends {
        LineEnd::Joins { line: _, at: _ } => (None, None),
        LineEnd::Discharges { to: _, invert_level, water_level } => (*invert_level, *water_level),
    };
    if let Some((surface, Level(invert))) = surface.zip(invert) {
        discharge(looks, surface, invert, length, part);
    }
    if let (Some(Level(water)), Some(beside)) =
        (water, invert.map(|i| i.0).or_else(|| surface.map(|s| s.lowest)))
        && (water - beside).abs() > ranges::RUN_ABOVE_LINE
    {
        let what = if invert.is_some() { "the invert there" } else { "the surface along the line" };
        apart(looks, part, ("`water_level`", water), (what, beside), ranges::RUN_ABOVE_LINE);
    }
    fall(looks, line, surface, invert, length, part);
}

/// Ground levels that follow each other steeper than a bank, by more than any trench is deep.
fn steps<'n>(looks: &mut Looks<'n>, line: &'n DrainLine, part: Part<'n>) {
    for (i, pair) in line.ground.windows(2).enumerate() {
        let [before, after] = pair else { continue };
        let (step, way) = ((after.level.0 - before.level.0).abs(), (after.at - before.at).abs());
        if step > way + ranges::LEVELS_APART {
            let show = looks.show;
            looks.tell(part, || {
                worded!(
                    "ground level {} was read as {}, {} than the one before it, {} away (usually no more than {} steeper than 45°; \
                     {PRACTICE}): look at unit and point of both, and of their places",
                    i + 2,
                    show.length(after.level.0),
                    between(show.length(step), after.level.0 > before.level.0),
                    show.length(way),
                    show.length(ranges::LEVELS_APART)
                )
            });
        }
    }
}

fn between(apart: impl std::fmt::Display, above: bool) -> String {
    let word = if above { "higher" } else { "lower" };
    worded!("{apart} {word}")
}

/// A run and the ground of the line that takes its water, against different datums.
fn datum<'n>(
    looks: &mut Looks<'n>,
    line: &'n DrainLine,
    runs: &[Run],
    ground: Surface,
    length: Length,
    part: Part<'n>,
) {
    let most = ranges::RUN_ABOVE_LINE + length;
    // one is enough: all runs of a job have one datum
    let far = |(_, level): &(&Run, Length)| *level > ground.highest + most || *level < ground.lowest - most;
    if let Some((run, level)) = of_runs(line, runs).find(far) {
        let what = worded!("`surface_level` of run {}, whose water it takes,", run.id);
        apart(looks, part, (what.as_str(), level), ("its first ground level", ground.first), most);
    }
}

/// A level that lies from another as nothing on a job does.
fn apart<'n>(
    looks: &mut Looks<'n>,
    part: Part<'n>,
    level: (&str, Length),
    beside: (&str, Length),
    most: Length,
) {
    let show = looks.show;
    looks.tell(part, || {
        worded!(
            "{} was read as {}, {} than {} at {} (usually within {}; {PRACTICE}): levels of a job are against one datum; a level that \
             is left out is 0",
            level.0,
            show.length(level.1),
            between(show.length((level.1 - beside.1).abs()), level.1 > beside.1),
            beside.0,
            show.length(beside.1),
            show.length(most)
        )
    });
}

/// The invert at a discharge: above all ground it is most likely a depth, and no pipe reaches deeper below it than it is long and a
/// trench is deep.
fn discharge<'n>(looks: &mut Looks<'n>, surface: Surface, invert: Length, length: Length, part: Part<'n>) {
    let show = looks.show;
    if invert > surface.highest {
        looks.tell(part, || {
            let below = surface.last - invert;
            let meant = if invert.is_positive() && surface.last.abs() <= ranges::LEVELS_APART {
                let written = show.length(below);
                worded!("; {} below the surface is written \"{written}\"", show.length(invert))
            } else {
                String::new()
            };
            worded!(
                "`invert_level` was read as {}, above all of the surface along the line, {} at its highest, where no water gets: it is a \
                 level and not a depth ({PRACTICE}){meant}",
                show.length(invert),
                show.length(surface.highest)
            )
        });
    } else if invert < surface.lowest - length - ranges::LEVELS_APART {
        looks.tell(part, || {
            worded!(
                "`invert_level` was read as {}, {} below the lowest of the surface along the line, which is {} long (usually no more \
                 than that and {}; {PRACTICE}): look at unit and point; levels of a job are against one datum",
                show.length(invert),
                show.length(surface.lowest - invert),
                show.length(length),
                show.length(ranges::LEVELS_APART)
            )
        });
    }
}

/// A fall that is steeper than drains are laid, where no level shows the ground to be so, and enough of it to matter.
fn fall<'n>(
    looks: &mut Looks<'n>,
    line: &'n DrainLine,
    surface: Option<Surface>,
    invert: Option<Level>,
    length: Length,
    part: Part<'n>,
) {
    let Some(fall) = line.fall_pct.map(Fall) else { return };
    let drop = length.share(fall.0.millionths(), 1_000_000);
    let shown = surface.map_or(Length::ZERO, |surface| {
        surface.highest - invert.map_or(surface.last, |Level(invert)| invert.min(surface.last))
    });
    let unshown = match &line.ends {
        LineEnd::Discharges { .. } => ranges::DROP_UNSHOWN.0,
        LineEnd::Joins { .. } => ranges::DROP_UNSHOWN.1,
    };
    let borne_out = drop <= shown + unshown;
    let usual = if borne_out { &ranges::STEEPEST } else { &ranges::LINE_FALL };
    looks.or_nothing(part, format_args!("the fall"), fall, usual);
}
