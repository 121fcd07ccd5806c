//! What differs between two versions of a price book, entry by entry.

mod order;

use super::price_moves::{Moved, moved};
use crate::units::Price;
use crate::wire::book::BookDoc;
use crate::wire_enum;
use rust_decimal::Decimal;
use serde::Serialize;
use serde_json::Value;
use std::collections::BTreeMap;
use utoipa::ToSchema;

wire_enum! {
    /// What happened to an entry.
    pub enum Change {
        /// it is new
        Added = "added",
        /// it is gone
        Removed = "removed",
        /// members of it differ
        Changed = "changed",
    }
}

/// A member that differs.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct MemberChange {
    /// The member.
    pub member: String,
    /// Before: text as it is, everything else as JSON; absent when there was none.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false, example = "27.40")]
    pub before: Option<String>,
    /// After; absent when there is none.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false, example = "28.50")]
    pub after: Option<String>,
}

/// An item that differs.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct ItemChange {
    /// Code of the item.
    pub code: String,
    /// Its name, the later one.
    pub name: String,
    /// What happened to it.
    pub change: Change,
    /// Price before.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub price_before: Option<Price>,
    /// Price after.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub price_after: Option<Price>,
    /// The price after by the unit before, where the unit differs and both are of one kind.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub price_after_by_unit_before: Option<Price>,
    /// How far the price moved by the unit before, in percent of the price before, signed, two decimals; absent where it did not,
    /// was nothing, or the two units are not of one kind.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = String, nullable = false, example = "4.01")]
    pub move_pct: Option<Decimal>,
    /// Members that differ.
    pub members: Vec<MemberChange>,
}

/// An entry of another list, or a setting, that differs.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct EntryChange {
    /// Member of the document.
    pub section: String,
    /// What tells the entry apart in its list; absent for a setting, and for the order of a list, whose only member is `order`. That
    /// of the rates of a task goes by the task.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false, example = "dig_run hand")]
    pub entry: Option<String>,
    /// What happened to it.
    pub change: Change,
    /// Members that differ.
    pub members: Vec<MemberChange>,
}

/// What differs between two documents.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct BookDifference {
    /// Items, by code.
    pub items: Vec<ItemChange>,
    /// Everything else, in the order of the document.
    pub others: Vec<EntryChange>,
}

/// Compares two documents. Order within a list counts where it decides what is taken.
pub fn books(before: &BookDoc, after: &BookDoc) -> BookDifference {
    let items = items(before, after);
    let value = |doc: &BookDoc| serde_json::to_value(doc).unwrap_or(Value::Null);
    let (before, after) = (value(before), value(after));
    let mut others = Vec::new();
    let mut sections: Vec<&String> = Vec::new();
    for name in [&after, &before].into_iter().filter_map(Value::as_object).flat_map(|o| o.keys()) {
        if name != "items" && !sections.contains(&name) {
            sections.push(name);
        }
    }
    for section in sections {
        let (old, new) = (before.get(section), after.get(section));
        if old == new {
            continue;
        }
        match (old, new) {
            (None | Some(Value::Array(_)), None | Some(Value::Array(_))) => {
                lists(section, old, new, &mut others);
                order::told(section, old, new, &mut others);
            }
            _ => others.extend(entry(section, None, old, new)),
        }
    }
    BookDifference { items, others }
}

fn items(before: &BookDoc, after: &BookDoc) -> Vec<ItemChange> {
    type Pair<'a> = (Option<&'a crate::wire::book::Item>, Option<&'a crate::wire::book::Item>);
    let mut by_code: BTreeMap<&str, Pair<'_>> = BTreeMap::new();
    for item in before.items.iter() {
        by_code.entry(item.code.as_str()).or_default().0.get_or_insert(item);
    }
    for item in after.items.iter() {
        by_code.entry(item.code.as_str()).or_default().1.get_or_insert(item);
    }
    let value = |item: Option<&crate::wire::book::Item>| item.and_then(|i| serde_json::to_value(i).ok());
    by_code
        .into_iter()
        .filter(|(_, (old, new))| old != new)
        .filter_map(|(code, (old, new))| {
            let (price_before, price_after) = (old.map(|i| i.price), new.map(|i| i.price));
            let what = old.zip(new).map(|(old, new)| (moved(old, new), old.unit != new.unit));
            Some(ItemChange {
                code: code.to_owned(),
                name: new.or(old)?.name.to_string(),
                change: change(old.is_some(), new.is_some()),
                price_before,
                price_after,
                price_after_by_unit_before: match what {
                    Some((Moved::To { after, .. }, true)) => Some(Price::rounded(after)),
                    Some((Moved::Not, true)) => price_before,
                    _ => None,
                },
                move_pct: match what {
                    Some((Moved::To { pct, .. }, _)) => pct,
                    _ => None,
                },
                members: members(value(old).as_ref(), value(new).as_ref()),
            })
        })
        .collect()
}

fn change(old: bool, new: bool) -> Change {
    match (old, new) {
        (false, _) => Change::Added,
        (_, false) => Change::Removed,
        _ => Change::Changed,
    }
}

fn entry(
    section: &str,
    key: Option<String>,
    old: Option<&Value>,
    new: Option<&Value>,
) -> Option<EntryChange> {
    (old != new).then(|| EntryChange {
        section: section.to_owned(),
        entry: key,
        change: change(old.is_some(), new.is_some()),
        members: members(old, new),
    })
}

/// What tells entries of the lists of a price book apart, each list by the first of these that it has.
const KEYS: &[&[&str]] = &[
    &["code"],
    &["task", "method"],
    &["soil"],
    &["surface"],
    &["crossing"],
    &["order_code", "supplier"],
    &["item", "measure"],
    &["name", "task", "method"],
];

/// Entries of a list with what tells each apart.
fn keyed(list: Option<&Value>) -> Vec<(String, Value)> {
    let mut keys: Vec<(String, Value)> = Vec::new();
    for (i, value) in list.and_then(Value::as_array).into_iter().flatten().enumerate() {
        let text = |name: &str| value.get(name).and_then(Value::as_str);
        let key = KEYS.iter().find(|names| names.first().is_some_and(|n| text(n).is_some())).map_or_else(
            || format!("entry {}", i + 1),
            |names| names.iter().filter_map(|n| text(n)).collect::<Vec<_>>().join(" "),
        );
        // Entries that cannot be told apart are counted.
        let same = keys.iter().filter(|(k, _)| *k == key || k.starts_with(&format!("{key} #"))).count();
        keys.push((if same == 0 { key } else { format!("{key} #{}", same + 1) }, value.clone()));
    }
    keys
}

fn lists(section: &str, old: Option<&Value>, new: Option<&Value>, out: &mut Vec<EntryChange>) {
    let (old, new) = (keyed(old), keyed(new));
    let find =
        |list: &[(String, Value)], key: &str| list.iter().find(|(k, _)| k == key).map(|(_, v)| v.clone());
    let mut names: Vec<&String> = new.iter().map(|(k, _)| k).collect();
    names.extend(old.iter().map(|(k, _)| k).filter(|k| !new.iter().any(|(n, _)| n == *k)));
    for key in names {
        let (was, is) = (find(&old, key), find(&new, key));
        out.extend(entry(section, Some(key.clone()), was.as_ref(), is.as_ref()));
    }
}

/// Members of two objects that differ; a value that is no object counts as one member.
pub(crate) fn members(old: Option<&Value>, new: Option<&Value>) -> Vec<MemberChange> {
    let text = |value: &Value| match value {
        Value::String(text) => text.clone(),
        other => other.to_string(),
    };
    let (olds, news) = (old.and_then(Value::as_object), new.and_then(Value::as_object));
    if olds.is_none() && news.is_none() {
        return vec![MemberChange {
            member: "value".to_owned(),
            before: old.map(text),
            after: new.map(text),
        }];
    }
    let mut names: Vec<&String> = Vec::new();
    for name in [news, olds].into_iter().flatten().flat_map(|o| o.keys()) {
        if !names.contains(&name) {
            names.push(name);
        }
    }
    names
        .into_iter()
        .filter_map(|name| {
            let (was, is) = (olds.and_then(|o| o.get(name)), news.and_then(|o| o.get(name)));
            (was != is).then(|| MemberChange {
                member: name.clone(),
                before: was.map(text),
                after: is.map(text),
            })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::demo::BOOK;
    use serde_json::json;

    fn doc(change: impl FnOnce(&mut Value)) -> BookDoc {
        let mut value: Value = serde_json::from_str(BOOK).unwrap_or_default();
        change(&mut value);
        crate::wire::read_value(&value).unwrap_or_else(|f| unreachable!("{f}"))
    }

    #[test]
    fn a_book_does_not_differ_from_itself_in_another_order() {
        let same = doc(|d| order::reversed(d, |name| !order::DECIDES.contains(&name) && name != "labor"));
        let difference = books(&doc(|_| ()), &same);
        assert_eq!(difference, BookDifference { items: Vec::new(), others: Vec::new() });
    }

    #[test]
    fn each_change_is_named_once_and_the_way_back_mirrors_it() {
        let after = doc(|d| {
            d["items"][0]["price"] = json!("28.50");
            d["items"][1]["supplier"] = json!("Another yard (invented)");
            if let Some(items) = d["items"].as_array_mut() {
                items.push(json!({"code": "new-thing", "name": "New", "category": "permit", "unit": "each", "price": "5"}));
            }
            d["trades"][0]["wage"] = json!("36.00");
            d["labor_rules"]["step"] = json!("30 min");
            d["over_cut"] = json!("3 in");
            if let Some(d) = d.as_object_mut() {
                d.remove("note");
            }
        });
        let before = doc(|_| ());
        let there = books(&before, &after);
        let codes: Vec<_> = there.items.iter().map(|i| (i.code.as_str(), i.change)).collect();
        assert_eq!(codes.len(), 3);
        assert!(codes.contains(&("new-thing", Change::Added)));
        let moved = there
            .items
            .iter()
            .find(|i| i.price_before.is_some() && i.price_before != i.price_after && i.price_after.is_some());
        assert_eq!(moved.and_then(|m| m.move_pct).map(|p| p.to_string()).as_deref(), Some("4.01"));
        let others: Vec<_> =
            there.others.iter().map(|o| (o.section.as_str(), o.entry.as_deref(), o.change)).collect();
        assert_eq!(others.len(), 4, "{others:?}");
        for expected in [
            ("note", None, Change::Removed),
            ("over_cut", None, Change::Changed),
            ("trades", Some("installer"), Change::Changed),
            ("labor_rules", None, Change::Changed),
        ] {
            assert!(others.contains(&expected), "{expected:?} in {others:?}");
        }
        let back = books(&after, &before);
        assert_eq!((back.items.len(), back.others.len()), (there.items.len(), there.others.len()));
        for (a, b) in there.items.iter().zip(&back.items) {
            assert_eq!((a.price_before, a.price_after), (b.price_after, b.price_before));
        }
    }

    #[test]
    fn a_price_by_another_unit_is_compared_by_the_unit_before() {
        let moved = |code: &str, unit: &str| {
            let after = doc(|d| {
                let items = d["items"].as_array_mut().into_iter().flatten();
                for item in items.filter(|i| i["code"] == code) {
                    item["unit"] = json!(unit);
                }
            });
            let found = books(&doc(|_| ()), &after).items;
            serde_json::to_value(&found[0]).unwrap_or_default()
        };
        let by_pound = moved("bedding-stone", "lb");
        assert_eq!(by_pound["move_pct"], "199900.00", "{by_pound}");
        assert_eq!(by_pound["price_after_by_unit_before"], "63000.00");
        // by weight and by volume
        let other = moved("bedding-stone", "yd3");
        assert_eq!(
            (other.get("move_pct"), &other["members"][0]["member"]),
            (None, &json!("unit")),
            "{other}"
        );
    }
}
