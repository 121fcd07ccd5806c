//! Bodies, queries and preconditions, each with its own refusal.
//!
//! | file | subject |
//! |---|---|
//! | this one | bodies, preconditions |
//! | `query` | query parameters |

mod query;

pub use query::{Params, Together};

use super::auth::hex;
use super::problem::{self, Problem};
use crate::app::AppState;
use crate::compute::besides;
use crate::wire::{Faults, ReadError, Wire, read_document, strict};
use axum::body::Bytes;
use axum::extract::{FromRequest, Request};
use axum::http::{HeaderMap, HeaderName, header};
use serde_json::Value;
use sha2::{Digest as _, Sha256};

/// For a [`Body`] that is computed from a price book: where its form is at fault, what else is wrong with it by that book is told as
/// well.
pub const BY_BOOK: bool = true;

/// A JSON body read into a checked type, every fault at once.
#[derive(Debug)]
pub struct Body<T, const BOOK: bool = false> {
    /// The document.
    pub document: T,
    /// Its bytes, for the fingerprint of an Idempotency-Key.
    pub bytes: Bytes,
}

/// For a [`CsvBody`] whose columns are named by its first line.
pub const HEADED: bool = true;

/// A list sent as CSV, unread.
#[derive(Debug)]
pub struct CsvBody<const HEADED: bool = false> {
    /// Its bytes.
    pub bytes: Bytes,
}

/// A merge patch (RFC 7396).
#[derive(Debug)]
pub struct Patch {
    /// The patch.
    pub value: Value,
    /// Its bytes.
    pub bytes: Bytes,
}

/// A body that may be missing; empty reads as `{}`. Else as [`Body`].
#[derive(Debug)]
pub struct OptionalBody<T, const BOOK: bool = false> {
    /// The document.
    pub document: T,
    /// Its bytes.
    pub bytes: Bytes,
}

fn media_type(headers: &HeaderMap) -> Option<String> {
    let text = headers.get(header::CONTENT_TYPE)?.to_str().ok()?;
    Some(text.split(';').next().unwrap_or("").trim().to_ascii_lowercase())
}

/// A parameter of the media type (RFC 9110 section 8.3.1), in lower case.
fn media_parameter(headers: &HeaderMap, name: &str) -> Option<String> {
    let text = headers.get(header::CONTENT_TYPE)?.to_str().ok()?.to_ascii_lowercase();
    let mut parameters = text.split(';').skip(1).filter_map(|p| p.split_once('='));
    let found = parameters.find(|(n, _)| n.trim() == name)?;
    Some(found.1.trim().trim_matches('"').to_owned())
}

fn expect_media(headers: &HeaderMap, wanted: &str) -> Result<(), Problem> {
    if headers.contains_key(header::CONTENT_ENCODING) {
        let problem = wrong_media("compressed bodies are not accepted".to_owned(), wanted);
        return Err(problem.header(header::ACCEPT_ENCODING, "identity"));
    }
    match media_type(headers) {
        Some(sent) if sent == wanted => Ok(()),
        Some(sent) => {
            let sent: String = sent.chars().take(60).collect();
            Err(wrong_media(format!("this operation reads {wanted}, not {sent}"), wanted))
        }
        None => Err(wrong_media(format!("say `Content-Type: {wanted}`"), wanted)),
    }
}

fn wrong_media(detail: String, wanted: &str) -> Problem {
    let problem = Problem::new(problem::WRONG_MEDIA_TYPE, detail).header(header::ACCEPT, wanted);
    if wanted == MERGE_PATCH {
        problem.header(HeaderName::from_static("accept-patch"), wanted)
    } else {
        problem
    }
}

const JSON: &str = "application/json";
const CSV: &str = "text/csv";
/// A list of prices may be so many times as large as a JSON body.
const CSV_BODIES: usize = 10;
const MERGE_PATCH: &str = "application/merge-patch+json";

async fn bytes(request: Request, limit: usize) -> Result<Bytes, Problem> {
    let too_large = || Problem::new(problem::TOO_LARGE, format!("a body may have at most {limit} bytes"));
    let declared =
        request.headers().get(header::CONTENT_LENGTH).and_then(|v| v.to_str().ok()?.parse::<usize>().ok());
    if declared.is_some_and(|d| d > limit) {
        return Err(too_large());
    }
    axum::body::to_bytes(request.into_body(), limit).await.map_err(|error| {
        use std::error::Error as _;
        let is_limit = error.source().is_some_and(|s| s.is::<http_body_util::LengthLimitError>());
        if is_limit { too_large() } else { Problem::new(problem::NOT_JSON, "the body broke off") }
    })
}

impl<T: Wire, const BOOK: bool> FromRequest<AppState> for Body<T, BOOK> {
    type Rejection = Problem;

    async fn from_request(request: Request, state: &AppState) -> Result<Self, Problem> {
        expect_media(request.headers(), JSON)?;
        let bytes = bytes(request, state.inner.config.body_limit).await?;
        let document = read::<T, BOOK>(&bytes, state).await?;
        Ok(Self { document, bytes })
    }
}

impl<T: Wire, const BOOK: bool> FromRequest<AppState> for OptionalBody<T, BOOK> {
    type Rejection = Problem;

    async fn from_request(request: Request, state: &AppState) -> Result<Self, Problem> {
        let typed = request.headers().contains_key(header::CONTENT_TYPE);
        if typed {
            expect_media(request.headers(), JSON)?;
        }
        let bytes = bytes(request, state.inner.config.body_limit).await?;
        if !typed && !bytes.is_empty() {
            return Err(wrong_media(format!("say `Content-Type: {JSON}`"), JSON));
        }
        let text: &[u8] = if bytes.is_empty() { b"{}" } else { &bytes };
        let document = read::<T, BOOK>(text, state).await?;
        Ok(Self { document, bytes })
    }
}

impl<const HEADED: bool> FromRequest<AppState> for CsvBody<HEADED> {
    type Rejection = Problem;

    async fn from_request(request: Request, state: &AppState) -> Result<Self, Problem> {
        expect_media(request.headers(), CSV)?;
        if HEADED && media_parameter(request.headers(), "header").is_some_and(|v| v == "absent") {
            let rule = "the list is sent with `header=absent`, but its columns are named by its first line: send it with one, as \
                        `text/csv; header=present` or `text/csv`";
            return Err(wrong_media(rule.to_owned(), CSV));
        }
        Ok(Self { bytes: bytes(request, CSV_BODIES * state.inner.config.body_limit).await? })
    }
}

impl FromRequest<AppState> for Patch {
    type Rejection = Problem;

    async fn from_request(request: Request, state: &AppState) -> Result<Self, Problem> {
        expect_media(request.headers(), MERGE_PATCH)?;
        let bytes = bytes(request, state.inner.config.body_limit).await?;
        let value = strict::parse(&bytes).map_err(|e| Problem::new(problem::NOT_JSON, e.message))?;
        if !value.is_object() {
            return Err(Problem::new(problem::NOT_JSON, "a merge patch must be an object"));
        }
        Ok(Self { value, bytes })
    }
}

async fn read<T: Wire, const BOOK: bool>(text: &[u8], state: &AppState) -> Result<T, Problem> {
    let faults = match read_document(text) {
        Ok(document) => return Ok(document),
        Err(ReadError::NotJson(e)) => return Err(Problem::new(problem::NOT_JSON, e.message)),
        Err(ReadError::Faults(faults)) => faults,
    };
    Err(Problem::faults(if BOOK { with_others(faults, text, state).await } else { faults }))
}

/// The faults of the form of a request, and what else is wrong with it by its price book. A book that cannot be had is no fault yet:
/// it is told once the form is right.
async fn with_others(mut faults: Faults, text: &[u8], state: &AppState) -> Faults {
    if let Ok(request) = strict::parse(text)
        && let Ok((book, _)) = state.book(request.get("price_book_version").and_then(Value::as_str)).await
    {
        let table = besides::rain_table(&request);
        let rains = super::v1::shelf(state, table.as_ref()).await.unwrap_or_default();
        besides::besides_form(&request, &book, &rains, &mut faults);
    }
    faults
}

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

/// `If-Match` of a request.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum IfMatch {
    /// Not sent.
    Missing,
    /// `*`.
    Any,
    /// A list of tags; weak ones never match.
    Tags(Vec<String>),
}

/// The lines of a precondition as the one list that they are (RFC 9110 section 5.3); `None` where there is no line. A line that is
/// no text names nothing of ours, and is not the same as none.
fn tags(headers: &HeaderMap, name: HeaderName) -> Option<Vec<String>> {
    let lines: Vec<_> =
        headers.get_all(name).iter().map(|v| String::from_utf8_lossy(v.as_bytes()).into_owned()).collect();
    // Tags of this service have no comma in them. Strong ones are kept as sent, weak ones with their `W/`.
    let parts = lines.iter().flat_map(|line| line.split(',')).map(|t| t.trim().to_owned());
    (!lines.is_empty()).then(|| parts.filter(|t| !t.is_empty()).collect())
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

impl IfMatch {
    /// Reads the header.
    pub fn of(headers: &HeaderMap) -> Self {
        match tags(headers, header::IF_MATCH) {
            None => IfMatch::Missing,
            Some(tags) if is_any(&tags) => IfMatch::Any,
            Some(tags) => IfMatch::Tags(tags),
        }
    }

    /// Holds the precondition against the row's tag.
    ///
    /// # Errors
    /// 428 when it is missing, 412 when it does not match.
    pub fn check(&self, id: &str, row_version: i64) -> Result<(), Problem> {
        let current = etag(id, row_version);
        self.hold(|tag| tag == current, &format!("is {current}"))
    }

    /// Holds the precondition against the row version of a page that [`page_etag`] tags: what else the page shows may have changed since
    /// it was read without standing in the way.
    ///
    /// # Errors
    /// As [`IfMatch::check`].
    pub fn check_page(&self, id: &str, row_version: i64) -> Result<(), Problem> {
        let begin = format!("begins with \"{id}.{row_version}.");
        self.hold(|tag| is_of_version(tag, id, row_version), &begin)
    }

    fn hold(&self, fits: impl Fn(&str) -> bool, current: &str) -> Result<(), Problem> {
        match self {
            IfMatch::Missing => Err(Problem::new(
                problem::VERSION_NEEDED,
                format!("send `If-Match` with the ETag you read; the current one {current}"),
            )),
            IfMatch::Any => Ok(()),
            IfMatch::Tags(list) if list.iter().any(|tag| fits(tag)) => Ok(()),
            IfMatch::Tags(_) => Err(Problem::new(
                problem::VERSION_CONFLICT,
                format!("the record has changed since it was read; its ETag now {current}"),
            )),
        }
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
