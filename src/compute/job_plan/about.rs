//! What a task is about: runs and drain lines.

use super::pours::Piece;
use crate::domain::layout::Layout;

/// The runs and lines that a task is about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct About {
    /// In words.
    pub text: String,
    /// Their codes.
    pub codes: Vec<String>,
}

/// Codes of runs and lines by their places.
pub(super) fn codes(layout: &Layout<'_>, parts: &[usize]) -> Vec<String> {
    let count = layout.runs.len();
    let code = |part: &usize| match part.checked_sub(count) {
        None => layout.runs.get(*part).map(|r| r.id.to_string()),
        Some(l) => layout.lines.get(l).map(|l| l.id.to_string()),
    };
    parts.iter().filter_map(code).collect()
}

/// The same in words, with the piece of a pour.
pub(super) fn names(layout: &Layout<'_>, parts: &[usize], piece: Option<Piece>) -> String {
    let count = layout.runs.len();
    let mut parts: Vec<String> = parts
        .iter()
        .filter_map(|p| match p.checked_sub(count) {
            None => layout.runs.get(*p).map(|r| format!("run {}", r.id)),
            Some(l) => layout.lines.get(l).map(|l| format!("line {}", l.id)),
        })
        .collect();
    if let Some(Piece { nth, of }) = piece {
        parts.push(format!("pour {nth} of {of}"));
    }
    parts.join(", ")
}
