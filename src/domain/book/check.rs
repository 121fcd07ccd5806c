//! What stops a price book from being published: every fault at once, with its place and how to mend it.
//!
//! | file | subject |
//! |---|---|
//! | `items` | codes, and units that fit their use |
//! | `systems` | channel systems, setting details, pipes |
//! | `rules` | ground, concrete, work and pricing |

mod items;
mod rules;
mod systems;

use crate::units::{Dimension, Length};
use crate::wire::book::{BookDoc, Item};
use crate::wire::{At, Code, Faults};
use std::collections::HashMap;

/// Every fault of the document.
pub fn faults(doc: &BookDoc) -> Faults {
    let mut check =
        Check { doc, items: doc.items.iter().map(|i| (&i.code, i)).collect(), faults: Faults::new() };
    items::check(&mut check);
    systems::check(&mut check);
    rules::check(&mut check);
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

    /// A length that divides must be more than nothing.
    fn positive(&mut self, length: Length, what: &str, at: &At<'_>) {
        if !length.is_positive() {
            self.add(at, "out_of_range", format!("{what} must be more than 0"));
        }
    }

    /// No two of a kind may have one code.
    fn unique<'c>(&mut self, codes: impl Iterator<Item = &'c Code>, list: &At<'_>) {
        for i in crate::domain::layout::runs::duplicates(codes) {
            let here = list.element(i);
            self.add(
                &here.member("code"),
                "duplicate_code",
                "another entry of this list has the same code; rename one",
            );
        }
    }
}

#[cfg(test)]
#[expect(clippy::panic, reason = "a test that cannot read the demo must stop")]
mod tests {
    use crate::domain::book::PriceBook;
    use crate::domain::demo::BOOK;
    use serde_json::{Value, json};

    /// Publishing faults of the demo book with one change, as pointer and code.
    fn with(change: impl Fn(&mut Value)) -> Vec<(String, &'static str)> {
        let mut book: Value = serde_json::from_str(BOOK).unwrap_or_else(|e| panic!("{e}"));
        change(&mut book);
        let doc = crate::wire::read_value(&book).unwrap_or_else(|e| panic!("{e}"));
        match PriceBook::check(doc) {
            Ok(_) => Vec::new(),
            Err(faults) => faults.list().iter().map(|f| (f.pointer.clone(), f.code)).collect(),
        }
    }

    fn remove(book: &mut Value, name: &str) {
        if let Some(members) = book.as_object_mut() {
            members.remove(name);
        }
    }

    #[test]
    fn the_demo_book_may_be_published() {
        assert_eq!(with(|_| ()), []);
    }

    #[test]
    fn each_fault_is_found_where_it_is() {
        type Change = fn(&mut Value);
        let cases: &[(Change, &str, &str)] = &[
            (|b| b["items"][69]["code"] = b["items"][0]["code"].clone(), "#/items/69/code", "duplicate_code"),
            (|b| remove(&mut b["channel_systems"][0], "end_cap"), "#/channel_systems/0/end_cap", "required"),
            (|b| b["channel_systems"][0]["grates"] = json!([]), "#/channel_systems/0/grates", "required"),
            (
                |b| remove(&mut b["channel_systems"][1]["grates"][0], "load_class"),
                "#/channel_systems/1/grates/0/load_class",
                "required",
            ),
            (
                |b| {
                    remove(&mut b["channel_systems"][0], "end_outlet");
                    remove(&mut b["channel_systems"][0], "bottom_outlet");
                },
                "#/channel_systems/0/end_outlet",
                "no_outlet_fitting",
            ),
            (
                |b| b["channel_systems"][0]["section"]["inside_width"] = json!("6 in"),
                "#/channel_systems/0/section/inside_width",
                "contradiction",
            ),
            (
                |b| b["channel_systems"][0]["section"]["roughness"] = json!("0.1"),
                "#/channel_systems/0/section/roughness",
                "out_of_range",
            ),
            (
                |b| remove(&mut b["channel_systems"][2]["section"], "overall_height_deep_end"),
                "#/channel_systems/2/section/built_in_fall_pct",
                "contradiction",
            ),
            (
                |b| b["channel_systems"][0]["least_piece"] = json!("9 ft"),
                "#/channel_systems/0/least_piece",
                "stock_too_short",
            ),
            (
                |b| b["setting_details"][1]["base"] = json!("0 in"),
                "#/setting_details/1/base",
                "base_under_wheels",
            ),
            (
                |b| b["use_classes"][0]["en_1433"] = json!("light_duty"),
                "#/use_classes/0/en_1433",
                "contradiction",
            ),
            (
                |b| b["pipes"][0]["inside_diameter"] = json!("5 in"),
                "#/pipes/0/inside_diameter",
                "contradiction",
            ),
            (|b| b["hangers"]["item"] = json!("no-such"), "#/hangers/item", "unknown_code"),
            (
                |b| b["line_rules"]["bedding_item"] = json!("hanger"),
                "#/line_rules/bedding_item",
                "unit_does_not_fit",
            ),
            (|b| remove(b, "haul"), "#/haul", "required"),
            (|b| remove(b, "line_rules"), "#/line_rules", "required"),
            (
                |b| b["concrete_ways"][1]["bag_yield"] = json!("4.5 ft3"),
                "#/concrete_ways/1/bag_yield",
                "implausible",
            ),
            (|b| b["concrete_ways"][1]["trade"] = json!("mason"), "#/concrete_ways/1/trade", "unknown_code"),
            (
                |b| b["labor"][0]["rates"][0]["unit"] = json!("yd3"),
                "#/labor/0/rates/0/unit",
                "unit_does_not_fit",
            ),
            (|b| b["labor"][2]["equipment"] = json!(["no-such"]), "#/labor/2/equipment/0", "unknown_code"),
            (
                |b| b["markup_schemes"][0]["profit"]["pct"] = json!("100"),
                "#/markup_schemes/0/profit/pct",
                "out_of_range",
            ),
            (|b| b["markup_schemes"] = json!([]), "#/markup_schemes", "required"),
            (|b| b["consumables"][0]["coverage"] = json!("0"), "#/consumables/0/coverage", "out_of_range"),
            (
                |b| b["soils"] = json!([b["soils"][0], b["soils"][1], b["soils"][2]]),
                "#/soils",
                "missing_soil",
            ),
        ];
        for (change, pointer, code) in cases {
            assert_eq!(with(change), [((*pointer).to_owned(), *code)], "{pointer}");
        }
    }

    #[test]
    fn all_faults_come_at_once() {
        let found = with(|b| {
            remove(b, "haul");
            remove(b, "forms");
            b["markup_schemes"] = json!([]);
            b["taxes"] = json!([b["taxes"][0], b["taxes"][0]]);
        });
        assert_eq!(found.len(), 4, "{found:?}");
    }
}
