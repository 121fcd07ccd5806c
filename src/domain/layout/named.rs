//! What notes name by code and the price book must have: one rule and one wording for each, wherever it is named.

use crate::domain::book::PriceBook;
use crate::domain::words::Task;
use crate::wire::book::systems::ChannelSystem;
use crate::wire::{At, Code, Faults, nearest};

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
    /// A trade.
    Trade,
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
            Self::Trade => "trade",
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
            Self::Trade => doc.trades.iter().map(|t| t.code.as_str()).collect(),
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

    /// Whether the book has such a thing.
    pub(crate) fn is_known(self, code: &Code, book: &'b PriceBook) -> bool {
        self.known(book).contains(&code.as_str())
    }

    /// Notes the code where the book has no such thing.
    pub(crate) fn check(self, code: &Code, book: &'b PriceBook, at: &At<'_>, faults: &mut Faults) {
        if !self.is_known(code, book) {
            self.unknown(code, book, at, faults);
        }
    }
}
