//! What the crew puts on the truck.

use super::purchase;
use crate::domain::book::PriceBook;
use crate::domain::lines::CostLine;
use crate::domain::words::{Category, Task};
use crate::units::decimal::{Plain, plain};
use crate::units::show::worded;
use crate::units::{Quantity, Unit};
use serde::Serialize;
use utoipa::ToSchema;

/// One thing to load.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct LoadOutLine {
    /// `tool` or `material`.
    pub kind: &'static str,
    /// What it is.
    pub name: String,
    /// How many: whole pieces, or a quantity with its unit. What is charged by its wear counts as a whole piece.
    pub count: String,
    /// Why it is on the list.
    pub because: String,
}

/// How many to load: of what is charged by its wear or share, still one whole piece.
fn whole(quantity: &Quantity) -> String {
    if quantity.unit() == Unit::Each {
        plain(quantity.value().ceil(), 0).text()
    } else {
        quantity.to_string()
    }
}

/// Tools by the tasks and methods in use, then the small material that is bought for the job.
pub fn list<'l>(
    in_use: &[(Task, String)],
    bought: impl Iterator<Item = &'l CostLine>,
    book: &PriceBook,
) -> Vec<LoadOutLine> {
    let mut out = Vec::new();
    for rule in &book.doc().load_out {
        let because = match (rule.task, &rule.method) {
            (None, _) => Some("always".to_owned()),
            (Some(task), method) => in_use
                .iter()
                .find(|(t, m)| *t == task && method.as_ref().is_none_or(|wanted| wanted.as_str() == m))
                .map(|(t, m)| worded!("{t} by {m}")),
        };
        if let Some(because) = because {
            out.push(LoadOutLine {
                kind: "tool",
                name: rule.name.as_str().to_owned(),
                count: Plain::Small(rule.count.get(), 0).text(),
                because,
            });
        }
    }
    // What a supplier asks for bringing it is bought, and nothing to load.
    for line in bought.filter(|l| l.category == Category::Material && l.rule != purchase::DELIVERY) {
        out.push(LoadOutLine {
            kind: "material",
            name: line.description.clone(),
            count: whole(&line.quantity),
            because: line.rule.to_owned(),
        });
    }
    out
}
