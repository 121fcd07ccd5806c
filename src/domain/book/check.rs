//! What stops a price book from being published: every fault at once, with its place and how to mend it.
//!
//! | file | subject |
//! |---|---|
//! | `items` | codes, and units that fit their use |
//! | `figures` | hire, weights and densities of nothing |
//! | `classes` | load classes that uses call for |
//! | `systems` | channel systems, setting details, pipes |
//! | `stock` | one item for one thing; stock that cannot be cut |
//! | `rules` | ground and concrete |
//! | `supply` | suppliers and offers |
//! | `planning` | calendars, crews, machines, waits; overtime, weather, spreads |
//! | `rates` | which tasks need a labor rate |
//! | `times` | hours of calendars, overtime pay, crews that suffice |
//! | `work` | hangers, forms, consumables, labor, load-out, pricing |

mod classes;
mod figures;
mod items;
mod planning;
mod rates;
mod rules;
mod stock;
pub(crate) mod supply;
mod systems;
#[cfg(test)]
mod tests;
mod times;
mod work;

use crate::units::{Dimension, Length};
use crate::wire::book::{BookDoc, Item};
use crate::wire::{At, Code, Faults};
pub(crate) use rates::can_be_called_for;
use std::collections::HashMap;

/// Every fault of the document.
pub fn faults(doc: &BookDoc) -> Faults {
    let mut check =
        Check { doc, items: doc.items.iter().map(|i| (&i.code, i)).collect(), faults: Faults::new() };
    items::check(&mut check);
    figures::check(&mut check);
    systems::check(&mut check);
    stock::check(&mut check);
    rules::check(&mut check);
    work::check(&mut check);
    supply::check(&mut check);
    planning::check(&mut check);
    times::crews(&mut check);
    check.faults
}

/// The document with its items by code, and what is wrong so far.
struct Check<'a> {
    doc: &'a BookDoc,
    items: HashMap<&'a Code, &'a Item>,
    faults: Faults,
}

impl Check<'_> {
    fn add(&mut self, at: &At<'_>, code: &'static str, detail: impl Into<String>) {
        self.faults.add(at, code, detail);
    }

    /// The item of a code must exist and be priced in a unit of one of the dimensions.
    fn item(&mut self, code: &Code, fits: &[Dimension], use_of: &str, at: &At<'_>) {
        match self.items.get(code) {
            None => {
                self.faults.value(
                    at,
                    "unknown_code",
                    code.as_str(),
                    format!("no item of this code; add it to `items` or name another as {use_of}"),
                );
            }
            Some(item) if !fits.contains(&item.unit.dimension()) => {
                let units =
                    fits.iter().flat_map(|d| crate::units::Unit::of(*d)).map(crate::units::Unit::word);
                self.faults
                    .value(
                        at,
                        "unit_does_not_fit",
                        item.unit.word(),
                        format!(
                            "{use_of} cannot be bought by the {}; price the item in another unit",
                            item.unit
                        ),
                    )
                    .allow(units);
            }
            Some(_) => {}
        }
    }

    fn optional(&mut self, code: Option<&Code>, fits: &[Dimension], use_of: &str, at: &At<'_>) {
        if let Some(code) = code {
            self.item(code, fits, use_of, at);
        }
    }

    /// A trade must be listed.
    fn trade(&mut self, trade: &Code, at: &At<'_>) {
        if !self.doc.trades.iter().any(|t| t.code == *trade) {
            self.faults
                .value(at, "unknown_code", trade.as_str(), "no trade of this code; add it to `trades`")
                .allow(self.doc.trades.iter().map(|t| t.code.as_str()));
        }
    }

    /// Something that may stand in a list once only.
    fn twice(&mut self, at: &At<'_>, what: &str) {
        self.add(at, "duplicate", format!("`{what}` is listed already; keep one"));
    }

    /// A length that divides must be more than nothing.
    fn positive(&mut self, length: Length, what: &str, at: &At<'_>) {
        if !length.is_positive() {
            self.add(at, "out_of_range", format!("{what} must be more than 0"));
        }
    }

    /// No two of a kind may have one code.
    fn unique<'c>(&mut self, codes: impl Iterator<Item = &'c Code>, list: &At<'_>) {
        for i in crate::domain::codes::duplicates(codes) {
            let here = list.element(i);
            self.add(
                &here.member("code"),
                "duplicate_code",
                "another entry of this list has the same code; rename one",
            );
        }
    }
}
