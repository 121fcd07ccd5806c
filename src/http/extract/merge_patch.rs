//! Merge patches.

use crate::wire::faults::Fault;
use crate::wire::{Faults, Wire, read_value};
use serde_json::Value;

/// What a document is after a merge patch (RFC 7396): null deletes, lists are replaced whole.
///
/// # Errors
/// Everything that is wrong with it then, and every name that is deleted and that no document has: a slip of the pen would look
/// like a deletion.
pub fn patched<T: Wire>(before: &Value, patch: &Value) -> Result<T, Faults> {
    let mut after = before.clone();
    let mut unmet = merge(&mut after, patch, false).then(|| before.clone());
    let after = read_value::<T>(&after);
    let Some(with_nulls) = &mut unmet else { return after };
    merge(with_nulls, patch, true);
    let is_other = |fault: &Fault| fault.code != "unknown_member";
    match read_value::<T>(with_nulls).err().map(|faults| faults.without(is_other)) {
        Some(unknown) if !unknown.is_empty() => {
            let told: Vec<&str> = unknown.list().iter().map(|f| f.pointer.as_str()).collect();
            let after = after.map_err(|f| f.without(|f| told.contains(&f.pointer.as_str())));
            Err(unknown.clone().and(&after))
        }
        _ => after,
    }
}

/// Applies a merge patch; whether it deletes what is not there. `keep` leaves such a null standing.
fn merge(target: &mut Value, patch: &Value, keep: bool) -> bool {
    let Value::Object(changes) = patch else {
        *target = patch.clone();
        return false;
    };
    if !target.is_object() {
        *target = Value::Object(serde_json::Map::new());
    }
    let mut unmet = false;
    if let Value::Object(members) = target {
        for (name, change) in changes {
            if !change.is_null() {
                unmet |= merge(members.entry(name.clone()).or_insert(Value::Null), change, keep);
            } else if members.remove(name).is_none() {
                unmet = true;
                if keep {
                    members.insert(name.clone(), Value::Null);
                }
            }
        }
    }
    unmet
}
