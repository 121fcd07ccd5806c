//! Inverts and falls of the drain lines: upper ends upstream first, then lower ends from the discharges up.

use super::check;
use crate::domain::book::PriceBook;
use crate::domain::layout::{Junction, Layout, Line};
use crate::domain::lines::{Check, Outcome};
use crate::domain::usual;
use crate::units::exact::div_round;
use crate::units::show::worded;
use crate::units::{Length, Percent};
use crate::wire::Code;
use crate::wire::notes::LineEnd;

/// The profile of one line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Levels {
    /// Invert at the upper end.
    pub start: Length,
    /// Invert at the lower end.
    pub finish: Length,
    /// Fall along the line.
    pub fall: Percent,
    /// Why this fall.
    pub why: Why,
}

/// Where the fall of a line comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Why {
    /// The notes set it.
    Notes,
    /// The levels at both ends set it: what enters, and the discharge or the line it joins.
    Levels,
    /// The book's usual fall.
    Usual,
}

impl Levels {
    /// Invert at a station.
    pub fn invert(&self, station: Length, length: Length) -> Length {
        self.start - (self.start - self.finish).share(station.nm(), length.nm().max(1))
    }
}

/// Profiles of all lines, in the order of the notes. Reckoned once for a layout and handed on.
pub fn all(layout: &Layout<'_>, book: &PriceBook) -> Vec<Levels> {
    let nothing = Levels { start: Length::ZERO, finish: Length::ZERO, fall: Percent::ZERO, why: Why::Usual };
    let mut out = vec![nothing; layout.lines.len()];
    for index in &layout.flow_order {
        let Some(line) = layout.lines.get(*index) else { continue };
        let known = match line.ends {
            LineEnd::Discharges { invert_level: Some(level), .. } => Some(level.0),
            _ => None,
        };
        out[*index] = one(line, start(line, layout, &out), known, book);
    }
    // From the discharges up: the line that one joins lies as it stays by then.
    for index in layout.flow_order.iter().rev() {
        let (Some(line), Some(upper)) = (layout.lines.get(*index), out.get(*index)) else { continue };
        if line.fall.is_some() || gives_start(*index, line, layout, &out) {
            continue;
        }
        if let Some(joined) = joined(line, layout, &out) {
            out[*index] = one(line, upper.start, Some(joined.invert), book);
        }
    }
    out
}

/// The line that another joins, and is laid down to where nothing else sets its fall, as a discharge level would have it.
struct Joined<'a> {
    id: &'a Code,
    station: Length,
    invert: Length,
}

/// The line that this one joins.
fn joined<'a>(line: &Line<'a>, layout: &Layout<'a>, levels: &[Levels]) -> Option<Joined<'a>> {
    let Junction { line: to, at: station } = line.joins?;
    let other = layout.lines.get(to)?;
    let invert = levels.get(to)?.invert(station, other.length);
    Some(Joined { id: other.id, station, invert })
}

/// Whether the line that this one joins begins where it does because this one arrives there, by the fall it has by itself: the
/// lowest of those that [`start`] goes by.
fn gives_start(index: usize, line: &Line<'_>, layout: &Layout<'_>, levels: &[Levels]) -> bool {
    let Some(Junction { line: to, at: station }) = line.joins else { return false };
    let (Some(other), Some(there), Some(here)) = (layout.lines.get(to), levels.get(to), levels.get(index))
    else {
        return false;
    };
    (station == Length::ZERO || !fed_at_upper_end(other)) && here.finish <= there.start
}

/// Least falls, the fall that is there against the fall needed, and what arrives below the invert; upstream first.
pub fn checks(layout: &Layout<'_>, book: &PriceBook, levels: &[Levels]) -> Vec<Check> {
    let mut checks = Vec::new();
    for index in &layout.flow_order {
        let (Some(line), Some(here)) = (layout.lines.get(*index), levels.get(*index)) else { continue };
        let joined = joined(line, layout, levels).filter(|_| here.why == Why::Levels);
        fall_checks(line, here, joined, layout, book, &mut checks);
        entry_checks(line, here, layout, levels, &mut checks);
    }
    checks
}

/// The highest invert that takes in what enters at such stations. Lines that join are in `done`: they lie upstream.
fn highest(
    line: &Line<'_>,
    layout: &Layout<'_>,
    done: &[Levels],
    there: impl Fn(Length) -> bool,
) -> Option<Length> {
    let outlets = line.from.iter().filter(|f| there(f.at)).filter_map(|f| Some(layout.outlet(f)?.invert));
    let joined = line.joined_by.iter().filter(|j| there(j.at)).filter_map(|j| Some(done.get(j.line)?.finish));
    outlets.chain(joined).min()
}

/// Whether something enters at the upper end and gives its invert.
pub(super) fn fed_at_upper_end(line: &Line<'_>) -> bool {
    line.entries().any(|at| at == Length::ZERO)
}

/// Invert at the upper end. Nothing there: no higher than the lowest that enters further down, so that all of it enters above the
/// invert.
fn start(line: &Line<'_>, layout: &Layout<'_>, done: &[Levels]) -> Length {
    highest(line, layout, done, |at| at == Length::ZERO)
        .or_else(|| highest(line, layout, done, |_| true))
        .unwrap_or(Length::ZERO)
}

/// A line from its upper end down to a level that is known, or by its fall.
fn one(line: &Line<'_>, start: Length, known: Option<Length>, book: &PriceBook) -> Levels {
    let rules = book.doc().line_rules.as_ref();
    let usual = rules.map_or(usual::LINE_FALL, |r| r.usual_fall_pct);
    let length = line.length.nm().max(1);
    match (line.fall, known) {
        (Some(fall), _) => Levels {
            start,
            finish: start - line.length.share(fall.millionths(), 1_000_000),
            fall,
            why: Why::Notes,
        },
        (None, Some(level)) => {
            let millionths = div_round(i128::from((start - level).nm()) * 1_000_000, i128::from(length));
            let fall = Percent::from_millionths(i64::try_from(millionths.max(0)).unwrap_or(0));
            Levels { start, finish: level.min(start), fall, why: Why::Levels }
        }
        (None, None) => Levels {
            start,
            finish: start - line.length.share(usual.millionths(), 1_000_000),
            fall: usual,
            why: Why::Usual,
        },
    }
}

/// Least fall for the pipe's bore.
pub fn least_fall(line: &Line<'_>, book: &PriceBook) -> Option<Percent> {
    least_fall_of(line.pipe.inside_diameter, book)
}

/// Least fall for a bore.
pub fn least_fall_of(bore: Length, book: &PriceBook) -> Option<Percent> {
    let bands = &book.doc().line_rules.as_ref()?.least_falls;
    bands.iter().find(|b| bore <= b.bore_up_to).or_else(|| bands.last()).map(|b| b.least_pct)
}

fn fall_checks(
    line: &Line<'_>,
    levels: &Levels,
    joined: Option<Joined<'_>>,
    layout: &Layout<'_>,
    book: &PriceBook,
    checks: &mut Vec<Check>,
) {
    let show = layout.show;
    let subject = || worded!("line {}", line.id);
    let Some(least) = least_fall(line, book) else { return };
    let (outcome, reason) = if levels.fall >= least {
        (Outcome::Pass, worded!("laid at {}, at least {least} is called for", levels.fall))
    } else {
        (
            Outcome::Fail,
            worded!(
                "laid at {}, but a bore of {} calls for at least {least}",
                levels.fall,
                show.length(line.pipe.inside_diameter)
            ),
        )
    };
    checks.push(check("least_fall", subject(), outcome, reason));
    let below = match (line.ends, joined) {
        (LineEnd::Discharges { invert_level: Some(level), .. }, _) => {
            (level.0, worded!("the discharge invert {}", show.length(level.0)))
        }
        (LineEnd::Discharges { invert_level: None, .. }, _) => {
            checks.push(check(
                "fall_available",
                subject(),
                Outcome::Warn,
                worded!(
                    "the discharge level is not known: the invert there must be {} or lower",
                    show.length(levels.finish)
                ),
            ));
            return;
        }
        (LineEnd::Joins { .. }, Some(Joined { id, station, invert })) => {
            (invert, worded!("the invert of line {id} at {}, {},", show.length(station), show.length(invert)))
        }
        // Whether it arrives above that line is told with what enters it.
        (LineEnd::Joins { .. }, None) => return,
    };
    let fall = line.fall.unwrap_or(least);
    let needed = line.length.share(fall.millionths(), 1_000_000);
    let available = levels.start - below.0;
    let spare = available - needed;
    let numbers = worded!(
        "from the outlet invert {} to {} there are {}; {fall} over {} needs {}",
        show.length(levels.start),
        below.1,
        show.length(available),
        show.length(line.length),
        show.length(needed)
    );
    let (outcome, rest) = if spare >= Length::ZERO {
        (Outcome::Pass, worded!("{} to spare", show.length(spare)))
    } else {
        (Outcome::Fail, worded!("{} missing", show.length(spare.abs())))
    };
    checks.push(check("fall_available", subject(), outcome, worded!("{numbers}: {rest}")));
}

/// What enters along the line must arrive at or above its invert; what arrives above its crown drops into it.
fn entry_checks(
    line: &Line<'_>,
    levels: &Levels,
    layout: &Layout<'_>,
    all: &[Levels],
    checks: &mut Vec<Check>,
) {
    let show = layout.show;
    let outlets = line.from.iter().filter_map(|feed| {
        let found = layout.outlet(feed)?;
        Some((worded!("outlet {}", found.id), found.invert, feed.at))
    });
    let joined = line.joined_by.iter().filter_map(|joining| {
        let id = layout.lines.get(joining.line)?.id;
        Some((worded!("line {id}"), all.get(joining.line)?.finish, joining.at))
    });
    for (what, arrives, station) in outlets.chain(joined) {
        let here = levels.invert(station, line.length);
        let above = arrives - here;
        let (outcome, reason) = if above >= Length::ZERO {
            let bore = line.pipe.inside_diameter;
            let drop = if above > bore {
                worded!(
                    ", above its bore of {}: it drops into the line there; pipe and bends of a drop are not counted",
                    show.length(bore)
                )
            } else {
                String::new()
            };
            let (above, station) = (show.length(above), show.length(station));
            (Outcome::Pass, worded!("{what} arrives {above} above the invert at {station}{drop}"))
        } else {
            (
                Outcome::Fail,
                worded!(
                    "{what} arrives {} below the invert at {}: it cannot drain into the line there",
                    show.length(above.abs()),
                    show.length(station)
                ),
            )
        };
        checks.push(check("enters_above_invert", worded!("line {}", line.id), outcome, reason));
    }
}
