//! Codes within one list.

use crate::wire::Code;

/// The places of codes that stand in the list before.
pub fn duplicates<'a>(codes: impl Iterator<Item = &'a Code>) -> Vec<usize> {
    let mut seen = std::collections::HashSet::new();
    codes.enumerate().filter_map(|(i, code)| (!seen.insert(code)).then_some(i)).collect()
}
