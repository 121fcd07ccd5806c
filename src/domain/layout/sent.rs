//! What a request names, read from it as it was sent: where its form is at fault as well, all is told at once.

use super::named::Named;
use super::within::Within;
use crate::domain::book::PriceBook;
use crate::domain::words::Task;
use crate::wire::{At, Code, Fault, Faults, Wire as _};
use serde_json::Value;

/// Holds every code that a request to compute something names against the book, and every name within its notes against the notes.
/// What is not a name, or not where it should be, is a fault of form and passed over; a list with such a fault may be missing the
/// very name that is looked for, so nothing is said to be unknown to it.
pub fn all_in(request: &Value, book: &PriceBook, faults: &mut Faults) {
    let request = Sent { value: request, at: At::ROOT, book };
    request.code("channel_system", Named::System, faults);
    request.code("concrete_way", Named::ConcreteWay, faults);
    request.code("machine", Named::Machine, faults);
    request.methods(faults);
    request.inside("notes", faults, |notes, faults| {
        codes_of_book(notes, faults);
        names_within(notes, faults);
    });
}

fn codes_of_book(notes: Sent<'_>, faults: &mut Faults) {
    notes.each("runs", faults, |run, faults| {
        run.code("channel_system", Named::System, faults);
        run.codes("channel_systems", Named::System, faults);
        run.code("setting_detail", Named::Detail, faults);
        run.grate(faults);
    });
    notes.each("drain_lines", faults, |line, faults| {
        line.code("pipe", Named::Pipe, faults);
        line.codes("pipes", Named::Pipe, faults);
    });
    notes.each("extras", faults, |extra, faults| extra.code("item", Named::Item, faults));
    notes.each("yard_offcuts", faults, |offcut, faults| offcut.code("item", Named::StockLength, faults));
    notes.inside("options", faults, |options, faults| {
        options.code("concrete_way", Named::ConcreteWay, faults);
        options.code("markup_scheme", Named::MarkupScheme, faults);
        options.methods(faults);
    });
    notes.inside("schedule", faults, |schedule, faults| {
        schedule.code("calendar", Named::Calendar, faults);
        schedule.codes("crews", Named::Crew, faults);
    });
    notes.inside("pricing", faults, |pricing, faults| {
        pricing.code("place", Named::Place, faults);
        pricing.each("optional", faults, |line, faults| {
            line.each("extras", faults, |extra, faults| extra.code("item", Named::Item, faults));
        });
        pricing.each("alternates", faults, |alternate, faults| {
            alternate.code("concrete_way", Named::ConcreteWay, faults);
            alternate.each("systems", faults, |change, faults| {
                change.code("channel_system", Named::System, faults);
                change.grate(faults);
            });
        });
    });
}

/// The names of runs, outlets, lines and choices: each once, and there where something refers to it.
fn names_within(notes: Sent<'_>, faults: &mut Faults) {
    let (mut runs, mut outlets, mut lines) = (Known::default(), Known::default(), Known::default());
    notes.names("runs", "id", Within::Run, &mut runs, faults);
    notes
        .each("runs", faults, |run, faults| run.names("outlets", "id", Within::Outlet, &mut outlets, faults));
    // without runs nothing is known of them, nor of their outlets
    runs.whole &= !runs.names.is_empty();
    outlets.whole &= runs.whole;
    notes.names("drain_lines", "id", Within::Line, &mut lines, faults);
    notes.each("drain_lines", faults, |line, faults| {
        line.each("from", faults, |from, faults| from.refers("outlet", Within::Outlet, &outlets, faults));
        line.inside("ends", faults, |ends, faults| {
            if ends.value.get("kind").is_some_and(|k| k == "joins") {
                ends.refers("line", Within::Line, &lines, faults);
            }
        });
    });
    notes.names("catchments", "id", Within::Catchment, &mut Known::default(), faults);
    notes.names("inflows", "id", Within::Inflow, &mut Known::default(), faults);
    notes.each("catchments", faults, |catchment, faults| {
        catchment.each("reaches", faults, |reach, faults| reach.refers("run", Within::Run, &runs, faults));
    });
    notes.each("inflows", faults, |inflow, faults| inflow.refers("run", Within::Run, &runs, faults));
    notes.inside("pricing", faults, |pricing, faults| {
        let mut choices = Known::default();
        pricing.names("allowances", "code", Within::Allowance, &mut Known::default(), faults);
        pricing.names("optional", "code", Within::Optional, &mut choices, faults);
        pricing.names("alternates", "code", Within::Alternate, &mut choices, faults);
        pricing.each("alternates", faults, |alternate, faults| {
            alternate
                .each("systems", faults, |change, faults| change.refers("run", Within::Run, &runs, faults));
        });
        pricing.each("chosen", faults, |chosen, faults| chosen.is_one_of(Within::Choice, &choices, faults));
    });
}

/// Names that something may refer to, and what each is the name of.
struct Known {
    names: Vec<(Code, Within)>,
    /// Whether every name could be read.
    whole: bool,
}

impl Default for Known {
    fn default() -> Self {
        Self { names: Vec::new(), whole: true }
    }
}

/// A part of notes as it was sent.
#[derive(Clone, Copy)]
struct Sent<'s> {
    value: &'s Value,
    at: At<'s>,
    book: &'s PriceBook,
}

impl Sent<'_> {
    fn each(&self, name: &'static str, faults: &mut Faults, mut look: impl FnMut(Sent<'_>, &mut Faults)) {
        let at = self.at.member(name);
        for (i, value) in self.value.get(name).and_then(Value::as_array).into_iter().flatten().enumerate() {
            look(Sent { value, at: at.element(i), book: self.book }, faults);
        }
    }

    fn inside(&self, name: &'static str, faults: &mut Faults, look: impl FnOnce(Sent<'_>, &mut Faults)) {
        if let Some(value) = self.value.get(name) {
            look(Sent { value, at: self.at.member(name), book: self.book }, faults);
        }
    }

    fn code(&self, name: &'static str, named: Named<'_>, faults: &mut Faults) {
        self.inside(name, faults, |sent, faults| sent.is(named, faults));
    }

    fn codes(&self, name: &'static str, named: Named<'_>, faults: &mut Faults) {
        self.each(name, faults, |sent, faults| sent.is(named, faults));
    }

    fn is(&self, named: Named<'_>, faults: &mut Faults) {
        if let Some(code) = self.value.as_str().and_then(Code::new)
            && !named.has(self.book, &code)
        {
            named.unknown(&code, self.book, &self.at, faults);
        }
    }

    /// Reads the names of a list; `member` is where an entry has its name.
    fn names(
        &self,
        list: &'static str,
        member: &'static str,
        kind: Within,
        known: &mut Known,
        faults: &mut Faults,
    ) {
        // the list may stand under a name that is misspelled
        let here = self.at.pointer();
        let strangers = |f: &Fault| {
            f.code == "unknown_member" && f.pointer.rsplit_once('/').is_some_and(|(of, _)| of == here)
        };
        known.whole &= !faults.list().iter().any(strangers);
        known.whole &= self.value.get(list).is_none_or(Value::is_array);
        self.each(list, faults, |entry, faults| {
            let Some(name) = entry.value.get(member).and_then(Value::as_str).and_then(Code::new) else {
                known.whole = false;
                return;
            };
            match known.names.iter().find(|(have, _)| *have == name) {
                Some((_, kind)) => kind.twice(&name, &entry.at.member(member), faults),
                None => known.names.push((name, kind)),
            }
        });
    }

    fn refers(&self, member: &'static str, kind: Within, known: &Known, faults: &mut Faults) {
        self.inside(member, faults, |sent, faults| sent.is_one_of(kind, known, faults));
    }

    fn is_one_of(&self, kind: Within, known: &Known, faults: &mut Faults) {
        if let Some(name) = self.value.as_str().and_then(Code::new)
            && known.whole
            && !known.names.iter().any(|(have, _)| *have == name)
        {
            let names: Vec<&str> = known.names.iter().map(|(name, _)| name.as_str()).collect();
            kind.unknown(&name, &names, &self.at, faults);
        }
    }

    fn methods(&self, faults: &mut Faults) {
        self.each("methods", faults, |choice, faults| {
            let task = choice.value.get("task").and_then(|t| Task::read(t, &At::ROOT, &mut Faults::new()));
            if let Some(task) = task {
                choice.code("method", Named::Method(task), faults);
            }
        });
    }

    /// A grate beside the channel system it must fit.
    fn grate(&self, faults: &mut Faults) {
        let system = self.value.get("channel_system").and_then(Value::as_str).and_then(Code::new);
        if let Some(system) = system.and_then(|code| self.book.system(&code)) {
            self.code("grate", Named::Grate(system), faults);
        }
    }
}
