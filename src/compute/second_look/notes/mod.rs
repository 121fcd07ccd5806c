//! Figures of site notes that no job has: a unit that is not the one that was meant, a point that moved or was a separator of
//! thousands, per mille written as per cent, a depth written as a level.
//!
//! They are read as they stand, told as checks that warn, and stop nothing. Notes are kept by what they mean and not by how they
//! were written, so only the figure itself is looked at: the same notes are told the same whenever they are computed. The ranges are
//! wider than any job that has been built in earnest; what they cannot tell apart is left alone.
//!
//! | file | subject |
//! |---|---|
//! | this one | what is told, and where |
//! | `ranges` | what figures have on jobs, and who says so: the one table of them |
//! | `figures` | how a figure is put into words, and what was probably meant |
//! | `walk` | every figure of the notes in turn |
//! | `levels` | levels and falls, which are only told beside each other |

mod figures;
mod levels;
mod ranges;
#[cfg(test)]
mod tests;
mod walk;

use super::Usual;
use crate::compute::takeoff::check;
use crate::domain::book::PriceBook;
use crate::domain::lines::{Check, Outcome};
use crate::units::Percent;
use crate::units::show::{Show, worded};
use crate::wire::faults::below;
use crate::wire::notes::{ConcreteNotes, SiteNotes};
use crate::wire::{At, Code, Fault, Faults};
use figures::Noted;
use std::fmt;

/// Name of the check, and of its rule.
const CHECK: &str = "noted_figure";

/// Most figures that are listed; one more says how many are not.
const MOST: usize = 20;

/// What of notes should be looked at again, as checks that warn; nothing is kept where there is nothing.
pub(in crate::compute) fn checks(notes: &SiteNotes, show: Show) -> Vec<Check> {
    of_notes(notes, show).checks()
}

/// The same for what a request says beside its notes, or without any, of its concrete.
pub(in crate::compute) fn of_concrete(
    waste: Option<Percent>,
    concrete: Option<&ConcreteNotes>,
    show: Show,
) -> Vec<Check> {
    let mut looks = Looks::new(show);
    walk::waste(&mut looks, waste);
    if let Some(concrete) = concrete {
        walk::concrete_of(&mut looks, concrete);
    }
    looks.checks()
}

/// Faults of notes with what should be looked at again beside them: where legs, fittings and places do not go together, the one
/// that was written wrong may be another than the one at which it is seen.
pub(in crate::compute) fn beside(mut faults: Faults, notes: &SiteNotes, book: &PriceBook) -> Faults {
    let measured =
        |fault: &Fault| matches!(fault.code, "out_of_range" | "fittings_overlap" | "not_ascending");
    if !faults.list().iter().any(measured) {
        return faults;
    }
    let show = Show(notes.unit_system.unwrap_or(book.doc().unit_system));
    for Look { part, reason } in of_notes(notes, show).found {
        let elsewhere = match part {
            Part::Job => continue,
            Part::Run(..) | Part::Line(..) => true,
            Part::Catchment(..) | Part::Inflow(..) => false,
        };
        let own = part.pointer();
        let here = |fault: &Fault| measured(fault) && below(&fault.pointer, &own).is_some();
        let at = if faults.list().iter().any(here) {
            faults.find(here)
        } else {
            let laid = |fault: &Fault| {
                ["#/runs", "#/drain_lines"].iter().any(|list| below(&fault.pointer, list).is_some())
            };
            faults.find(|fault| elsewhere && measured(fault) && laid(fault))
        };
        if let Some(fault) = at {
            fault.detail.push_str(&worded!("; look at {part} again: {reason}"));
        }
    }
    faults
}

fn of_notes(notes: &SiteNotes, show: Show) -> Looks<'_> {
    let mut looks = Looks::new(show);
    walk::all(&mut looks, notes);
    looks
}

/// What of the notes a figure belongs to.
#[derive(Debug, Clone, Copy)]
enum Part<'n> {
    Job,
    Run(usize, &'n Code),
    Line(usize, &'n Code),
    Catchment(usize, &'n Code),
    Inflow(usize, &'n Code),
}

impl Part<'_> {
    /// JSON pointer to it in the notes.
    fn pointer(self) -> String {
        let (list, index) = match self {
            Part::Job => return At::ROOT.pointer(),
            Part::Run(index, _) => ("runs", index),
            Part::Line(index, _) => ("drain_lines", index),
            Part::Catchment(index, _) => ("catchments", index),
            Part::Inflow(index, _) => ("inflows", index),
        };
        At::ROOT.member(list).element(index).pointer()
    }
}

impl fmt::Display for Part<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (word, id) = match self {
            Part::Job => return f.write_str("job"),
            Part::Run(_, id) => ("run ", id),
            Part::Line(_, id) => ("line ", id),
            Part::Catchment(_, id) => ("catchment ", id),
            Part::Inflow(_, id) => ("inflow ", id),
        };
        f.write_str(word)?;
        f.write_str(id.as_str())
    }
}

/// A figure that should be looked at again.
struct Look<'n> {
    part: Part<'n>,
    reason: String,
}

/// What has been found so far.
struct Looks<'n> {
    show: Show,
    found: Vec<Look<'n>>,
    /// How many more there are than are listed.
    more: usize,
}

impl<'n> Looks<'n> {
    const fn new(show: Show) -> Self {
        Self { show, found: Vec::new(), more: 0 }
    }

    fn checks(self) -> Vec<Check> {
        let Looks { show: _, found, more } = self;
        let warn = |part: Part<'_>, reason| check(CHECK, worded!("{part}"), Outcome::Warn, reason);
        let mut out: Vec<Check> = found.into_iter().map(|look| warn(look.part, look.reason)).collect();
        if more > 0 {
            let reason = worded!("{more} more figures are not listed: look at these first");
            out.push(warn(Part::Job, reason));
        }
        out
    }

    fn tell(&mut self, part: Part<'n>, reason: impl FnOnce() -> String) {
        if self.found.len() < MOST {
            self.found.push(Look { part, reason: reason() });
        } else {
            self.more += 1;
        }
    }

    /// A figure beyond what jobs have. The place is written only where it is.
    fn figure<T: Noted>(
        &mut self,
        part: Part<'n>,
        place: fmt::Arguments<'_>,
        figure: T,
        usual: &'static Usual<T>,
    ) {
        self.figure_or(part, place, figure, usual, "");
    }

    /// The same where something else than the range is right as well, in words.
    fn figure_or<T: Noted>(
        &mut self,
        part: Part<'n>,
        place: fmt::Arguments<'_>,
        figure: T,
        usual: &'static Usual<T>,
        other: &str,
    ) {
        if figure < usual.least || figure > usual.most {
            self.beyond(part, place, figure, usual, other);
        }
    }

    /// The same where 0 is a word of its own: there is none of it, or it is where things begin.
    fn or_nothing<T: Noted>(
        &mut self,
        part: Part<'n>,
        place: fmt::Arguments<'_>,
        figure: T,
        usual: &'static Usual<T>,
    ) {
        if !figure.is_nothing() {
            self.figure_or(part, place, figure, usual, "none or ");
        }
    }

    /// The same where 0 is a fault of the notes, and told as one.
    fn but_nothing<T: Noted>(
        &mut self,
        part: Part<'n>,
        place: fmt::Arguments<'_>,
        figure: T,
        usual: &'static Usual<T>,
    ) {
        if !figure.is_nothing() {
            self.figure(part, place, figure, usual);
        }
    }

    #[cold]
    fn beyond<T: Noted>(
        &mut self,
        part: Part<'n>,
        place: fmt::Arguments<'_>,
        figure: T,
        usual: &Usual<T>,
        none: &str,
    ) {
        let show = self.show;
        // in metres a range reaches a little further, to round ends
        let usual = &usual.shown_in(show.0);
        if figure >= usual.least && figure <= usual.most {
            return;
        }
        self.tell(part, || {
            let Usual { what, least, most: _, source } = usual;
            let (low, high) = T::WORDS;
            let amount = if figure < *least { low } else { high };
            let (value, range) = (figure.read(show), usual.range(show));
            let meant = figure.meant_instead(usual, show).unwrap_or_default();
            worded!("{place} was read as {value}, {amount} for {what} ({none}{range}; {source}){meant}")
        });
    }
}
