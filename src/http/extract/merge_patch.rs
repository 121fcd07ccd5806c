//! Merge patches.

use serde_json::Value;

/// Applies a merge patch (RFC 7396): null deletes, lists are replaced whole.
pub fn merge(target: &mut Value, patch: &Value) {
    let Value::Object(changes) = patch else {
        *target = patch.clone();
        return;
    };
    if !target.is_object() {
        *target = Value::Object(serde_json::Map::new());
    }
    if let Value::Object(members) = target {
        for (name, change) in changes {
            if change.is_null() {
                members.remove(name);
            } else {
                merge(members.entry(name.clone()).or_insert(Value::Null), change);
            }
        }
    }
}
