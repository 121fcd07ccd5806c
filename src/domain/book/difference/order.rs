//! The order of a list of a price book, told where it decides.

use super::{Change, EntryChange, MemberChange, keyed};
use serde_json::Value;

/// Lists whose order decides: the first scheme is the default, the first system that of the short form; of what is as good
/// the one that stands first is taken.
pub(super) const DECIDES: &[&str] = &["markup_schemes", "concrete_ways", "channel_systems", "pipes"];

/// The order of a list where it decides: another one, or another one in front.
pub(super) fn told(section: &str, old: Option<&Value>, new: Option<&Value>, out: &mut Vec<EntryChange>) {
    let (old, new) = (keyed(old), keyed(new));
    if DECIDES.contains(&section) {
        let codes = |list: &[(String, Value)]| list.iter().map(|(key, _)| key.clone()).collect::<Vec<_>>();
        out.extend(order(section, None, &codes(&old), &codes(&new)));
    } else if section == "labor" {
        let mut tasks: Vec<&str> = Vec::new();
        for task in new.iter().filter_map(|(_, rate)| rate.get("task")?.as_str()) {
            if !tasks.contains(&task) {
                tasks.push(task);
            }
        }
        for task in tasks {
            let usual = |rate: &Value| rate.get("usual") == Some(&Value::Bool(true));
            let of_task = |list: &[(String, Value)]| {
                let rates: Vec<&Value> = list
                    .iter()
                    .map(|(_, rate)| rate)
                    .filter(|r| r.get("task").is_some_and(|t| t == task))
                    .collect();
                let method = |rate: &&Value| Some(rate.get("method")?.as_str()?.to_owned());
                (rates.iter().any(|r| usual(r)), rates.iter().filter_map(method).collect::<Vec<_>>())
            };
            let ((usual_before, before), (usual_after, after)) = (of_task(&old), of_task(&new));
            if !(usual_before && usual_after) {
                out.extend(order(section, Some(task), &before, &after));
            }
        }
    }
}

fn order(section: &str, entry: Option<&str>, before: &[String], after: &[String]) -> Option<EntryChange> {
    let shared = |of: &[String], other: &[String]| -> Vec<String> {
        of.iter().filter(|key| other.contains(key)).cloned().collect()
    };
    let same = shared(before, after) == shared(after, before) && before.first() == after.first();
    (!same && !before.is_empty() && !after.is_empty()).then(|| EntryChange {
        section: section.to_owned(),
        entry: entry.map(ToOwned::to_owned),
        change: Change::Changed,
        members: vec![MemberChange {
            member: "order".to_owned(),
            before: Some(before.join(", ")),
            after: Some(after.join(", ")),
        }],
    })
}

/// A document with lists turned round, for tests.
#[cfg(test)]
pub(super) fn reversed(d: &mut Value, which: impl Fn(&str) -> bool) {
    for (name, list) in d.as_object_mut().into_iter().flatten() {
        if let Some(list) = list.as_array_mut().filter(|_| which(name)) {
            list.reverse();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::{BookDifference, books};
    use super::*;
    use crate::domain::demo::BOOK;
    use crate::wire::book::BookDoc;
    use serde_json::json;

    fn doc(change: impl FnOnce(&mut Value)) -> BookDoc {
        let mut value: Value = serde_json::from_str(BOOK).unwrap_or_default();
        change(&mut value);
        crate::wire::read_value(&value).unwrap_or_else(|f| unreachable!("{f}"))
    }

    fn orders(difference: &BookDifference) -> Vec<(&str, Option<&str>, &str, &str)> {
        difference
            .others
            .iter()
            .flat_map(|o| o.members.iter().map(move |m| (o, m)))
            .filter(|(_, m)| m.member == "order")
            .map(|(o, m)| {
                let (before, after) = (m.before.as_deref(), m.after.as_deref());
                (
                    o.section.as_str(),
                    o.entry.as_deref(),
                    before.unwrap_or_default(),
                    after.unwrap_or_default(),
                )
            })
            .collect()
    }

    #[test]
    fn an_order_that_decides_is_told() {
        let schemes = |codes: &[&str]| {
            let mut book: Value = serde_json::from_str(BOOK).unwrap_or_default();
            let scheme = book["markup_schemes"][0].take();
            let named = |code: &&str| {
                let mut scheme = scheme.clone();
                scheme["code"] = json!(code);
                scheme
            };
            let list: Vec<Value> = codes.iter().map(named).collect();
            doc(|d| d["markup_schemes"] = json!(list))
        };
        let found = books(&schemes(&["a", "b"]), &schemes(&["b", "a"]));
        assert_eq!(orders(&found), [("markup_schemes", None, "a, b", "b, a")]);
        // One that comes in front takes the place of the default; one that comes last does not.
        let found = books(&schemes(&["a", "b"]), &schemes(&["c", "a", "b"]));
        assert_eq!(orders(&found), [("markup_schemes", None, "a, b", "c, a, b")]);
        assert!(orders(&books(&schemes(&["a", "b"]), &schemes(&["a", "b", "c"]))).is_empty());
        for list in DECIDES {
            let turned = doc(|d| reversed(d, |name| name == *list));
            let many = turned != doc(|_| ());
            assert_eq!(books(&doc(|_| ()), &turned).others.len(), usize::from(many), "{list}");
        }
    }

    #[test]
    fn the_order_of_the_rates_of_a_task_is_told_where_none_is_the_usual() {
        let rates = |usual: bool, methods: [&str; 2]| {
            doc(|d| {
                let mut rate = d["labor"][0].take();
                rate["task"] = json!("pour");
                let of = |method: &str| {
                    let mut rate = rate.clone();
                    rate["method"] = json!(method);
                    rate["usual"] = json!(usual && method == "pump");
                    rate
                };
                d["labor"] = json!(methods.map(of));
            })
        };
        let found = books(&rates(false, ["pump", "barrow"]), &rates(false, ["barrow", "pump"]));
        assert_eq!(orders(&found), [("labor", Some("pour"), "pump, barrow", "barrow, pump")]);
        let found = books(&rates(true, ["pump", "barrow"]), &rates(true, ["barrow", "pump"]));
        assert!(found.others.is_empty(), "{found:?}");
    }
}
