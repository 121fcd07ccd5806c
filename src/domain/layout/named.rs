//! What notes name by code and the price book must have: one rule and one wording for each, wherever it is named.

use crate::domain::book::PriceBook;
use crate::domain::words::Task;
use crate::wire::book::systems::ChannelSystem;
use crate::wire::{At, Code, Faults, Wire as _, nearest};
use serde_json::Value;

/// What a code names.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Named<'b> {
    /// A channel system.
    System,
    /// A grate of a channel system, by its item.
    Grate(&'b ChannelSystem),
    /// A setting detail.
    Detail,
    /// A pipe.
    Pipe,
    /// An item of any kind.
    Item,
    /// An item that is a stock length.
    StockLength,
    /// A way to get concrete.
    ConcreteWay,
    /// A markup scheme.
    MarkupScheme,
    /// A method of a task.
    Method(Task),
    /// A calendar.
    Calendar,
    /// A crew.
    Crew,
    /// A place that a tax names.
    Place,
    /// A machine.
    Machine,
}

impl<'b> Named<'b> {
    /// Notes that the book has no such thing.
    pub(crate) fn unknown(self, code: &Code, book: &'b PriceBook, at: &At<'_>, faults: &mut Faults) {
        let known = self.known(book);
        let near = nearest(code.as_str(), &known).map(|n| format!("; did you mean `{n}`?"));
        let rule = self.rule() + near.as_deref().unwrap_or_default();
        let fault = faults.value(at, "unknown_code", code.as_str(), rule);
        // a book has too many items to list
        if !matches!(self, Self::Item) {
            fault.allow(known);
        }
    }

    fn rule(self) -> String {
        let what = match self {
            Self::System => "channel system",
            Self::Detail => "setting detail",
            Self::Pipe => "pipe",
            Self::Item => "item",
            Self::ConcreteWay => "way to get concrete",
            Self::MarkupScheme => "markup scheme",
            Self::Calendar => "calendar",
            Self::Crew => "crew",
            Self::Machine => "machine",
            Self::Grate(system) => return format!("no grate of this item code fits `{}`", system.code),
            Self::Method(task) => return format!("the price book has no rate for `{task}` by this method"),
            Self::Place => return "no tax of the price book names this place".to_owned(),
            Self::StockLength => {
                let rule = "an offcut comes from a stock length of channel, grate, pipe, board or bar of the price book";
                return rule.to_owned();
            }
        };
        format!("the price book has no {what} of this code")
    }

    /// The codes that would do, each once.
    fn known(self, book: &'b PriceBook) -> Vec<&'b str> {
        let doc = book.doc();
        let rules = doc.plan_rules.iter();
        let mut known: Vec<&str> = match self {
            Self::System => doc.channel_systems.iter().map(|s| s.code.as_str()).collect(),
            Self::Grate(system) => system.grates.iter().map(|g| g.item.as_str()).collect(),
            Self::Detail => doc.setting_details.iter().map(|d| d.code.as_str()).collect(),
            Self::Pipe => doc.pipes.iter().map(|p| p.code.as_str()).collect(),
            Self::Item => doc.items.iter().map(|i| i.code.as_str()).collect(),
            Self::StockLength => book.stock_items().map(|(item, _)| item.as_str()).collect(),
            Self::ConcreteWay => doc.concrete_ways.iter().map(|w| w.code().as_str()).collect(),
            Self::MarkupScheme => doc.markup_schemes.iter().map(|s| s.code.as_str()).collect(),
            Self::Method(task) => {
                doc.labor.iter().filter(|r| r.task == task).map(|r| r.method.as_str()).collect()
            }
            Self::Calendar => rules.flat_map(|r| r.calendars.iter()).map(|c| c.code.as_str()).collect(),
            Self::Crew => rules.flat_map(|r| r.crews.iter()).map(|c| c.code.as_str()).collect(),
            Self::Machine => doc.equipment.iter().map(|m| m.code.as_str()).collect(),
            Self::Place => doc.taxes.iter().flat_map(|t| t.places.iter()).map(Code::as_str).collect(),
        };
        let mut seen = std::collections::HashSet::new();
        known.retain(|code| seen.insert(*code));
        known
    }

    fn has(self, book: &'b PriceBook, code: &Code) -> bool {
        self.known(book).contains(&code.as_str())
    }
}

/// Holds every code that a request to compute something names against the book, from the request as it was sent: where its form
/// is at fault as well, both are told at once. What is not a code, or not where it should be, is a fault of form and passed over.
pub fn all_in(request: &Value, book: &PriceBook, faults: &mut Faults) {
    let request = Sent { value: request, at: At::ROOT, book };
    request.code("channel_system", Named::System, faults);
    request.code("concrete_way", Named::ConcreteWay, faults);
    request.code("machine", Named::Machine, faults);
    request.methods(faults);
    request.inside("notes", faults, in_notes);
}

fn in_notes(sent: Sent<'_>, faults: &mut Faults) {
    sent.each("runs", faults, |run, faults| {
        run.code("channel_system", Named::System, faults);
        run.codes("channel_systems", Named::System, faults);
        run.code("setting_detail", Named::Detail, faults);
        run.grate(faults);
    });
    sent.each("drain_lines", faults, |line, faults| {
        line.code("pipe", Named::Pipe, faults);
        line.codes("pipes", Named::Pipe, faults);
    });
    sent.each("extras", faults, |extra, faults| extra.code("item", Named::Item, faults));
    sent.each("yard_offcuts", faults, |offcut, faults| offcut.code("item", Named::StockLength, faults));
    sent.inside("options", faults, |options, faults| {
        options.code("concrete_way", Named::ConcreteWay, faults);
        options.code("markup_scheme", Named::MarkupScheme, faults);
        options.methods(faults);
    });
    sent.inside("schedule", faults, |schedule, faults| {
        schedule.code("calendar", Named::Calendar, faults);
        schedule.codes("crews", Named::Crew, faults);
    });
    sent.inside("pricing", faults, |pricing, faults| {
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

/// A part of notes as it was sent.
#[derive(Clone, Copy)]
struct Sent<'s> {
    value: &'s Value,
    at: At<'s>,
    book: &'s PriceBook,
}

impl Sent<'_> {
    fn each(&self, name: &'static str, faults: &mut Faults, look: impl Fn(Sent<'_>, &mut Faults)) {
        let at = self.at.member(name);
        for (i, value) in self.value.get(name).and_then(Value::as_array).into_iter().flatten().enumerate() {
            look(Sent { value, at: at.element(i), book: self.book }, faults);
        }
    }

    fn inside(&self, name: &'static str, faults: &mut Faults, look: impl Fn(Sent<'_>, &mut Faults)) {
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
