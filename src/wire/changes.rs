//! What an edit changed, member by member, short enough to be kept beside every edit.

use super::At;
use serde_json::{Map, Value, json};

/// At most so many members are listed; how many more changed is said.
pub const MOST_CHANGES: usize = 50;
/// At most so many characters of a text are kept.
pub const MOST_CHARACTERS: usize = 400;

/// Members that differ between two documents: `changes` with the pointer of each and its value `before` and `after`, a side
/// left out where the member is not there; `more_changes` where there are more than are listed.
///
/// ```
/// use rillcast::wire::changes::changes;
/// use serde_json::json;
/// let (old, new) = (json!({"title": "Drive", "refs": [1]}), json!({"title": "Path", "refs": []}));
/// assert_eq!(
///     changes(&old, &new),
///     json!({"changes": [{"pointer": "#/refs/0", "before": 1}, {"pointer": "#/title", "before": "Drive", "after": "Path"}]})
/// );
/// ```
pub fn changes(before: &Value, after: &Value) -> Value {
    let mut found = Found { list: Vec::new(), more: 0 };
    found.compare(&At::ROOT, Some(before), Some(after));
    let mut out = json!({"changes": found.list});
    if found.more > 0 {
        out["more_changes"] = found.more.into();
    }
    out
}

struct Found {
    list: Vec<Value>,
    more: usize,
}

impl Found {
    fn compare(&mut self, at: &At<'_>, before: Option<&Value>, after: Option<&Value>) {
        if before == after {
            return;
        }
        match (before, after) {
            // A number with its unit is one value.
            _ if before.is_some_and(is_quantity) || after.is_some_and(is_quantity) => {
                self.add(at, before, after);
            }
            (Some(Value::Object(old)), Some(Value::Object(new))) => self.members(at, old, new),
            (Some(Value::Object(old)), None) if !old.is_empty() => self.members(at, old, &Map::new()),
            (None, Some(Value::Object(new))) if !new.is_empty() => self.members(at, &Map::new(), new),
            (Some(Value::Array(old)), Some(Value::Array(new))) => self.elements(at, old, new),
            (Some(Value::Array(old)), None) if !old.is_empty() => self.elements(at, old, &[]),
            (None, Some(Value::Array(new))) if !new.is_empty() => self.elements(at, &[], new),
            _ => self.add(at, before, after),
        }
    }

    fn members(&mut self, at: &At<'_>, old: &Map<String, Value>, new: &Map<String, Value>) {
        for (name, value) in old {
            self.compare(&at.member(name), Some(value), new.get(name));
        }
        for (name, value) in new.iter().filter(|(name, _)| !old.contains_key(*name)) {
            self.compare(&at.member(name), None, Some(value));
        }
    }

    fn elements(&mut self, at: &At<'_>, old: &[Value], new: &[Value]) {
        for place in 0..old.len().max(new.len()) {
            self.compare(&at.element(place), old.get(place), new.get(place));
        }
    }

    fn add(&mut self, at: &At<'_>, before: Option<&Value>, after: Option<&Value>) {
        if self.list.len() >= MOST_CHANGES {
            self.more += 1;
            return;
        }
        let mut change = json!({"pointer": at.pointer()});
        for (side, value) in [("before", before), ("after", after)] {
            if let Some(value) = value {
                change[side] = short(value);
            }
        }
        self.list.push(change);
    }
}

fn is_quantity(value: &Value) -> bool {
    value.as_object().is_some_and(|members| {
        members.len() == 2 && members.contains_key("value") && members.contains_key("unit")
    })
}

/// A value as it is kept: what is long is cut.
fn short(value: &Value) -> Value {
    let text = match value {
        Value::String(text) => text.clone(),
        Value::Object(_) | Value::Array(_) => value.to_string(),
        Value::Null | Value::Bool(_) | Value::Number(_) => return value.clone(),
    };
    if text.chars().count() <= MOST_CHARACTERS {
        return if value.is_string() { text.into() } else { value.clone() };
    }
    let mut cut: String = text.chars().take(MOST_CHARACTERS).collect();
    cut.push('…');
    cut.into()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_differs_is_listed_with_both_sides() {
        let old = json!({"a": {"b": 1, "c/d": "x"}, "length": {"value": "24", "unit": "ft"}, "list": [{"n": "1"}, {"n": "2"}], "same": [1, {"k": null}]});
        let new = json!({"a": {"b": 1, "c/d": "y"}, "length": {"value": "7000", "unit": "mm"}, "list": [{"n": "1"}, {"n": "3"}, {"n": "4"}], "same": [1, {"k": null}],
            "whole": {"deep": [true]}, "none": {}});
        assert_eq!(
            changes(&old, &new),
            json!({"changes": [
                {"pointer": "#/a/c~1d", "before": "x", "after": "y"},
                {"pointer": "#/length", "before": {"value": "24", "unit": "ft"}, "after": {"value": "7000", "unit": "mm"}},
                {"pointer": "#/list/1/n", "before": "2", "after": "3"},
                {"pointer": "#/list/2/n", "after": "4"},
                {"pointer": "#/none", "after": {}},
                {"pointer": "#/whole/deep/0", "after": true}
            ]})
        );
        assert_eq!(changes(&old, &old), json!({"changes": []}));
        // Of another shape than before: both as they are.
        let told = changes(&json!({"a": {"b": 1}}), &json!({"a": "text"}));
        assert_eq!(told["changes"], json!([{"pointer": "#/a", "before": {"b": 1}, "after": "text"}]));
    }

    #[test]
    fn however_much_changes_the_entry_stays_small() {
        let many = |word: &str| -> Value {
            (0..2_000).map(|i| json!({"text": format!("{i} {}", word.repeat(2_000))})).collect()
        };
        let told = changes(&many("ä"), &many("ö"));
        assert_eq!(told["changes"].as_array().map(Vec::len), Some(MOST_CHANGES));
        assert_eq!(told["more_changes"], json!(2_000 - MOST_CHANGES));
        let first = told["changes"][0]["before"].as_str().unwrap_or_default();
        assert_eq!(first.chars().count(), MOST_CHARACTERS + 1);
        assert!(first.ends_with('…'));
        assert!(told.to_string().len() < 2 * MOST_CHANGES * (2 * MOST_CHARACTERS + 100));
    }
}
