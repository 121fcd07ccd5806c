//! What the crew puts on the truck.

use super::cut_list::CutLists;
use super::labor::LaborHours;
use super::purchase;
use crate::domain::book::PriceBook;
use crate::domain::lines::CostLine;
use crate::domain::words::Category;
use crate::units::decimal::{Plain, plain};
use crate::units::show::{Show, worded};
use crate::units::{Quantity, Unit};
use crate::wire::Code;
use crate::wire_enum;
use serde::Serialize;
use std::borrow::Cow;
use utoipa::ToSchema;

wire_enum! {
    /// What kind of thing is loaded.
    pub enum LoadKind {
        /// a tool
        Tool = "tool",
        /// a machine of the office's own
        Machine = "machine",
        /// gear that nobody is paid to bring: the crew fetches it
        Hired = "hired",
        /// brought along from the yard
        Offcut = "offcut",
        /// small material that is bought for the job
        Material = "material",
    }
}

/// One thing to load.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct LoadOutLine {
    /// What kind of thing it is.
    pub kind: LoadKind,
    /// What it is.
    pub name: String,
    /// How many: whole pieces, or a quantity with its unit. What is charged by its wear counts as a whole piece.
    pub count: Cow<'static, str>,
    /// Why it is on the list.
    pub because: Cow<'static, str>,
}

/// Something bought, with the pour day it is for where there are several.
#[derive(Debug, Clone, Copy)]
pub struct BoughtFor<'l> {
    /// Its line.
    pub line: &'l CostLine,
    /// The pour day.
    pub pour_day: Option<i64>,
}

/// How many to load: of what is charged by its wear or share, still one whole piece.
fn whole(quantity: &Quantity) -> Cow<'static, str> {
    if quantity.unit() == Unit::Each {
        plain(quantity.value().ceil(), 0).text()
    } else {
        Cow::Owned(worded!("{quantity}"))
    }
}

/// Tools, the office's own machines and hired gear without a charge for its transport, by the tasks and methods in use, offcuts that the cut lists count on, then the small
/// material that is bought for the job.
pub fn list<'l>(
    labor: &LaborHours,
    cuts: &CutLists<'_>,
    bought: impl Iterator<Item = BoughtFor<'l>>,
    book: &PriceBook,
    show: Show,
) -> Vec<LoadOutLine> {
    let mut out = Vec::with_capacity(book.doc().load_out.len() + bought.size_hint().0);
    for rule in &book.doc().load_out {
        let because = match (rule.task, &rule.method) {
            (None, _) => Some(Cow::Borrowed("always")),
            (Some(task), method) => labor
                .tasks
                .iter()
                .find(|t| t.task == task && method.as_ref().is_none_or(|wanted| wanted.as_str() == t.method))
                .map(|t| Cow::Owned(worded!("{} by {}", t.task, t.method))),
        };
        if let Some(because) = because {
            out.push(LoadOutLine {
                kind: LoadKind::Tool,
                name: rule.name.as_str().to_owned(),
                count: Plain::Small(rule.count.get(), 0).text(),
                because,
            });
        }
    }
    for machine in &book.doc().equipment {
        let (kind, fetched) = match (machine.owned.0, &machine.transport) {
            (true, _) => (LoadKind::Machine, ""),
            (false, None) => (LoadKind::Hired, ": hired without transport, to be fetched and taken back"),
            // its yard brings it
            (false, Some(_)) => continue,
        };
        let uses = labor.tasks.iter().find(|t| t.equipment.iter().any(|e| e == machine.code.as_str()));
        out.extend(uses.map(|t| LoadOutLine {
            kind,
            name: machine.name.as_str().to_owned(),
            count: Cow::Borrowed("1"),
            because: Cow::Owned(worded!("{} by {}{fetched}", t.task, t.method)),
        }));
    }
    for piece in cuts.from_yard() {
        let item = Code::new(piece.item.as_str()).and_then(|code| book.item(&code));
        let name = item.map_or(piece.item.as_str(), |i| i.name.as_str());
        out.push(LoadOutLine {
            kind: LoadKind::Offcut,
            name: worded!("{name}: offcut of {}", show.length(piece.length)),
            count: Plain::Small(piece.count as i64, 0).text(),
            because: Cow::Borrowed(piece.rule),
        });
    }
    // What a supplier asks for bringing it is bought, and nothing to load.
    let to_load =
        |b: &BoughtFor<'_>| b.line.category == Category::Material && b.line.rule != purchase::DELIVERY;
    for BoughtFor { line, pour_day } in bought.filter(to_load) {
        let rule = Cow::Borrowed(line.rule);
        let because = pour_day.map_or(rule, |day| Cow::Owned(worded!("{}, pour day {day}", line.rule)));
        out.push(LoadOutLine {
            kind: LoadKind::Material,
            name: line.description.clone(),
            count: whole(&line.quantity),
            because,
        });
    }
    out
}
