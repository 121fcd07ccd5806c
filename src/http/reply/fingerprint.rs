//! What tells one request under an Idempotency-Key from another.

use crate::http::auth::hex;
use axum::http::{Method, Uri};
use sha2::{Digest as _, Sha256};

/// A body that says nothing, as one that was left out reads.
const NOTHING: &str = "{}";

/// A request as its fingerprint is taken of it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Fingerprint<'a> {
    pub(super) method: &'a Method,
    pub(super) uri: &'a Uri,
    pub(super) body: &'a [u8],
}

impl Fingerprint<'_> {
    /// SHA-256 over method, path, query and the canonical body: the order of members and of query parameters does not matter.
    pub(super) fn text(self) -> String {
        self.over(&self.sorted(), &self.canonical())
    }

    /// Whether an answer was kept of this request. Once the query was taken as it was sent, and a body that was left out was not the one
    /// that says nothing: answers kept then are found as well.
    pub(super) fn is(self, kept: &str) -> bool {
        let (canonical, sent) = (self.canonical(), self.query());
        let says_nothing = canonical == NOTHING.as_bytes();
        kept == self.over(&self.sorted(), &canonical)
            || kept == self.over(sent, &canonical)
            || (says_nothing && kept == self.over(sent, b""))
    }

    fn query(&self) -> &str {
        self.uri.query().unwrap_or("")
    }

    fn sorted(&self) -> String {
        let mut pairs: Vec<&str> = self.query().split('&').collect();
        pairs.sort_unstable();
        pairs.join("&")
    }

    fn canonical(&self) -> Vec<u8> {
        serde_json::from_slice::<serde_json::Value>(self.body)
            .map_or_else(|_| self.body.to_vec(), |v| canonical(&v).into_bytes())
    }

    fn over(&self, query: &str, body: &[u8]) -> String {
        let mut hasher = Sha256::new();
        for part in [self.method.as_str(), self.uri.path(), query] {
            hasher.update(part);
            hasher.update("\n");
        }
        hasher.update(body);
        hex(&hasher.finalize())
    }
}

/// JSON with members in order of their names.
fn canonical(value: &serde_json::Value) -> String {
    use serde_json::Value;
    match value {
        Value::Object(members) => {
            let mut names: Vec<&String> = members.keys().collect();
            names.sort();
            let parts: Vec<String> = names
                .into_iter()
                .map(|n| {
                    format!(
                        "{}:{}",
                        Value::String(n.clone()),
                        members.get(n).map_or(String::new(), canonical)
                    )
                })
                .collect();
            format!("{{{}}}", parts.join(","))
        }
        Value::Array(list) => format!("[{}]", list.iter().map(canonical).collect::<Vec<_>>().join(",")),
        other => other.to_string(),
    }
}
