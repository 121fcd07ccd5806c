//! ETags, and the preconditions that name them.

use super::Together as _;
use crate::http::auth::hex;
use crate::http::problem::{self, Problem};
use crate::wire::faults::shorten;
use axum::http::{HeaderMap, HeaderName, header};
use sha2::{Digest as _, Sha256};

/// What a precondition of a request names.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Named {
    /// Not sent.
    Nothing,
    /// `*`.
    Any,
    /// A list of tags.
    Tags(Vec<String>),
    /// What is no list of tags, as sent.
    Malformed(String),
}

impl Named {
    fn of(headers: &HeaderMap, name: HeaderName) -> Self {
        match tags(headers, name) {
            None => Named::Nothing,
            Some(tags) if is_any(&tags) => Named::Any,
            Some(tags) if !tags.is_empty() && tags.iter().all(|t| is_tag(t)) => Named::Tags(tags),
            Some(tags) => Named::Malformed(tags.into_iter().find(|t| !is_tag(t)).unwrap_or_default()),
        }
    }

    fn formed(&self, name: &str) -> Result<(), Problem> {
        let Named::Malformed(sent) = self else { return Ok(()) };
        let rule = format!(
            "`{name}` has `{}`, which is no ETag: send the ETag as it was read, in its quotes, as \"est_1.1\", several with \
             commas between them, or `*`",
            shorten(sent)
        );
        Err(Problem::bad_header(name, rule))
    }
}

/// The preconditions of a request that writes: `If-Match` names what it may change, `If-None-Match` what it must not meet (RFC 9110
/// sections 13.1.1 and 13.1.2).
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Preconditions {
    wanted: Named,
    unwanted: Named,
}

/// The lines of a precondition as the one list that they are (RFC 9110 section 5.3); `None` where there is no line. A line that is
/// no text names nothing of ours, and is not the same as none.
fn tags(headers: &HeaderMap, name: HeaderName) -> Option<Vec<String>> {
    let lines: Vec<_> =
        headers.get_all(name).iter().map(|v| String::from_utf8_lossy(v.as_bytes()).into_owned()).collect();
    // Strong ones are kept as sent, weak ones with their `W/`.
    let parts = lines.iter().flat_map(|line| listed(line)).map(|t| t.trim().to_owned());
    (!lines.is_empty()).then(|| parts.filter(|t| !t.is_empty()).collect())
}

/// The members of a list; a comma between quotes is a part of a tag.
fn listed(line: &str) -> impl Iterator<Item = &str> {
    let mut quoted = false;
    line.split(move |c: char| {
        quoted ^= c == '"';
        c == ',' && !quoted
    })
}

/// Whether a text is an entity tag (RFC 9110 section 8.8.3).
fn is_tag(text: &str) -> bool {
    let opaque = text.strip_prefix("W/").unwrap_or(text).strip_prefix('"').and_then(|t| t.strip_suffix('"'));
    opaque.is_some_and(|t| t.chars().all(|c| c > ' ' && c != '"' && c != '\u{7f}'))
}

fn is_any(tags: &[String]) -> bool {
    matches!(tags, [one] if one == "*")
}

/// The ETag of a row.
pub fn etag(id: &str, row_version: i64) -> String {
    format!("\"{id}.{row_version}\"")
}

/// The ETag of bytes put together from several rows: whatever may precede it, a digest of them ends it, because they change also where
/// no row version of theirs does.
pub fn etag_of(id: &str, bytes: &[u8]) -> String {
    let digest = hex(&Sha256::digest(bytes));
    format!("\"{id}.{}\"", &digest[..DIGEST])
}

/// Digits of a digest that make two pages of one resource differ.
const DIGEST: usize = 24;

/// The ETag of a page with a row version of its own: that of the row, then a digest as in [`etag_of`].
pub fn page_etag(id: &str, row_version: i64, bytes: &[u8]) -> String {
    etag_of(&format!("{id}.{row_version}"), bytes)
}

/// Whether a tag is that of a page in this row version, whatever its digest, or of the row version alone.
fn is_of_version(tag: &str, id: &str, row_version: i64) -> bool {
    let opaque = tag.strip_prefix('"').and_then(|t| t.strip_suffix('"')).unwrap_or_default();
    let rest = opaque.strip_prefix(&format!("{id}.{row_version}"));
    let is_digest = |t: &str| t.len() == DIGEST && t.bytes().all(|b| b.is_ascii_hexdigit());
    rest.is_some_and(|rest| rest.is_empty() || rest.strip_prefix('.').is_some_and(is_digest))
}

impl Preconditions {
    /// Reads both headers.
    pub fn of(headers: &HeaderMap) -> Self {
        let of = |name| Named::of(headers, name);
        Self { wanted: of(header::IF_MATCH), unwanted: of(header::IF_NONE_MATCH) }
    }

    /// Holds them against the row's tag; `If-Match` must be one of them.
    ///
    /// # Errors
    /// 428 when it is missing, 400 when one of them is no list of tags, 412 when it does not match or the other does.
    pub fn check(&self, id: &str, row_version: i64) -> Result<(), Problem> {
        let current = etag(id, row_version);
        self.hold(true, |tag| tag == current, &format!("is {current}"))
    }

    /// Holds them against the row version of a page that [`page_etag`] tags: what else the page shows may have changed since it was read
    /// without standing in the way.
    ///
    /// # Errors
    /// As [`Preconditions::check`].
    pub fn check_page(&self, id: &str, row_version: i64) -> Result<(), Problem> {
        let begin = format!("begins with \"{id}.{row_version}.");
        self.hold(true, |tag| is_of_version(tag, id, row_version), &begin)
    }

    /// Holds those that were sent against the tag of what is there, or against there being nothing yet.
    ///
    /// # Errors
    /// As [`Preconditions::check`], except that none needs to be sent.
    pub fn check_sent(&self, there: Option<(&str, i64)>) -> Result<(), Problem> {
        match there {
            Some((id, row_version)) => {
                let current = etag(id, row_version);
                self.hold(false, |tag| tag == current, &format!("is {current}"))
            }
            None => {
                self.formed()?;
                if self.wanted == Named::Nothing {
                    return Ok(());
                }
                let detail =
                    "there is nothing yet that `If-Match` could name: leave it out to make the first";
                Err(Problem::new(problem::VERSION_CONFLICT, detail))
            }
        }
    }

    fn formed(&self) -> Result<(), Problem> {
        (self.wanted.formed("If-Match"), self.unwanted.formed("If-None-Match")).together().map(|_| ())
    }

    fn hold(&self, needed: bool, fits: impl Fn(&str) -> bool, current: &str) -> Result<(), Problem> {
        self.formed()?;
        match &self.wanted {
            Named::Nothing if needed => Err(Problem::new(
                problem::VERSION_NEEDED,
                format!("send `If-Match` with the ETag you read; the current one {current}"),
            )),
            Named::Nothing | Named::Any | Named::Malformed(_) => Ok(()),
            Named::Tags(list) if list.iter().any(|tag| fits(tag)) => Ok(()),
            Named::Tags(list) if list.iter().all(|tag| tag.starts_with("W/")) => Err(Problem::new(
                problem::VERSION_CONFLICT,
                format!(
                    "a weak ETag (`W/…`) never matches here, send the strong one as it was read; it {current}"
                ),
            )),
            Named::Tags(_) => Err(Problem::new(
                problem::VERSION_CONFLICT,
                format!("the record has changed since it was read; its ETag now {current}"),
            )),
        }?;
        // Here a weak tag is as good as the strong one.
        let met = match &self.unwanted {
            Named::Nothing | Named::Malformed(_) => false,
            Named::Any => true,
            Named::Tags(list) => list.iter().any(|tag| fits(tag.strip_prefix("W/").unwrap_or(tag))),
        };
        if !met {
            return Ok(());
        }
        let detail = format!("`If-None-Match` names what is there: its ETag {current}");
        Err(Problem::new(problem::TAG_MATCHES, detail))
    }
}

/// Whether `If-None-Match` says that the client has this already.
pub fn not_modified(headers: &HeaderMap, current: &str) -> bool {
    tags(headers, header::IF_NONE_MATCH).is_some_and(|tags| {
        is_any(&tags) || tags.iter().any(|t| t.strip_prefix("W/").unwrap_or(t) == current)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_tag_of_a_page_is_of_its_row_version_and_no_other() {
        let tag = page_etag("job_1.ledger", 12, b"page");
        assert_eq!(tag.len(), "\"job_1.ledger.12.\"".len() + DIGEST);
        assert_ne!(tag, page_etag("job_1.ledger", 12, b"another"));
        assert!(is_of_version(&tag, "job_1.ledger", 12));
        assert!(is_of_version("\"job_1.ledger.12\"", "job_1.ledger", 12));
        for version in [1, 2, 13, 120] {
            assert!(!is_of_version(&tag, "job_1.ledger", version), "{version}");
        }
        for other in [
            "",
            "*",
            "job_1.ledger.12",
            "W/\"job_1.ledger.12\"",
            "\"job_1.ledger.12.x\"",
            "\"job_1.ledger.12.\"",
        ] {
            assert!(!is_of_version(other, "job_1.ledger", 12), "{other}");
        }
        assert!(!is_of_version(&format!("W/{tag}"), "job_1.ledger", 12));
        assert!(!is_of_version(&tag, "job_2.ledger", 12));
    }
}
