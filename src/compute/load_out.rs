//! What the crew puts on the truck.

use crate::domain::book::PriceBook;
use crate::domain::lines::CostLine;
use crate::domain::words::{Category, Task};
use serde::Serialize;
use utoipa::ToSchema;

/// One thing to load.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct LoadOutLine {
    /// `tool` or `material`.
    pub kind: &'static str,
    /// What it is.
    pub name: String,
    /// How many, as the order or the list says.
    pub count: String,
    /// Why it is on the list.
    pub because: String,
}

/// Tools by the tasks and methods in use, then the small material that is bought for the job.
pub fn list(in_use: &[(Task, String)], bought: &[CostLine], book: &PriceBook) -> Vec<LoadOutLine> {
    let mut out = Vec::new();
    for rule in &book.doc().load_out {
        let because = match (rule.task, &rule.method) {
            (None, _) => Some("always".to_owned()),
            (Some(task), method) => in_use
                .iter()
                .find(|(t, m)| *t == task && method.as_ref().is_none_or(|wanted| wanted.as_str() == m))
                .map(|(t, m)| format!("{t} by {m}")),
        };
        if let Some(because) = because {
            out.push(LoadOutLine {
                kind: "tool",
                name: rule.name.as_str().to_owned(),
                count: rule.count.get().to_string(),
                because,
            });
        }
    }
    for line in bought {
        if line.category == Category::Material {
            out.push(LoadOutLine {
                kind: "material",
                name: line.description.clone(),
                count: line.quantity.to_string(),
                because: line.rule.to_owned(),
            });
        }
    }
    out
}
