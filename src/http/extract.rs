//! Bodies, queries and preconditions, each with its own refusal.
//!
//! | file | subject |
//! |---|---|
//! | this one | bodies |
//! | `etags` | ETags and preconditions |
//! | `merge_patch` | merge patches |
//! | `query` | query parameters |

mod etags;
mod merge_patch;
mod query;

pub use etags::{Preconditions, etag, etag_of, not_modified, page_etag};
pub use merge_patch::patched;
pub use query::{Params, Together};

use super::layers::waiting_for_the_body;
use super::problem::{self, Problem};
use crate::app::AppState;
use crate::compute::besides;
use crate::wire::{self, At, Faults, ReadError, Wire, read_document, strict, wrong_kind};
use axum::body::Bytes;
use axum::extract::{FromRequest, Request};
use axum::http::{HeaderMap, HeaderName, HeaderValue, header};
use serde_json::Value;

/// For a [`Body`] that is computed from a price book: where its form is at fault, what else is wrong with it by that book is told as
/// well.
pub const BY_BOOK: bool = true;

/// For a [`Body`] of which the price book is not known.
pub const ALONE: bool = false;

/// For what may hold a whole price book, or is a list of its prices: how many times as large as others such a body may be. What the
/// service holds can be sent back to it.
pub const WHOLE_BOOK: usize = 10;

/// A JSON body read into a checked type, every fault at once. It may have `TIMES` as many bytes as the settings say.
#[derive(Debug)]
pub struct Body<T, const BOOK: bool = ALONE, const TIMES: usize = 1> {
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

/// A merge patch (RFC 7396). It may be as large as a [`Body`] of so many `TIMES`.
#[derive(Debug)]
pub struct Patch<const TIMES: usize = 1> {
    /// The patch.
    pub value: Value,
    /// Its bytes.
    pub bytes: Bytes,
}

/// A body that may be missing; empty reads as `{}`. Else as [`Body`].
#[derive(Debug)]
pub struct OptionalBody<T, const BOOK: bool = ALONE, const TIMES: usize = 1> {
    /// The document.
    pub document: T,
    /// Its bytes, `{}` where it was left out.
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
    // `identity` says that there is none.
    let is_plain = |coding: &HeaderValue| coding.as_bytes().trim_ascii().eq_ignore_ascii_case(b"identity");
    if !headers.get_all(header::CONTENT_ENCODING).iter().all(is_plain) {
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
/// Media type of a merge patch.
pub(super) const MERGE_PATCH: &str = "application/merge-patch+json";

async fn bytes(request: Request, limit: usize) -> Result<Bytes, Problem> {
    let too_large = || Problem::new(problem::TOO_LARGE, format!("a body may have at most {limit} bytes"));
    let declared =
        request.headers().get(header::CONTENT_LENGTH).and_then(|v| v.to_str().ok()?.parse::<usize>().ok());
    if declared.is_some_and(|d| d > limit) {
        return Err(too_large());
    }
    let come = waiting_for_the_body(axum::body::to_bytes(request.into_body(), limit)).await;
    come.map_err(|error| {
        use std::error::Error as _;
        let is_limit = error.source().is_some_and(|s| s.is::<http_body_util::LengthLimitError>());
        if is_limit { too_large() } else { Problem::new(problem::NOT_JSON, "the body broke off") }
    })
}

impl<T: Wire, const BOOK: bool, const TIMES: usize> FromRequest<AppState> for Body<T, BOOK, TIMES> {
    type Rejection = Problem;

    async fn from_request(request: Request, state: &AppState) -> Result<Self, Problem> {
        expect_media(request.headers(), JSON)?;
        let bytes = bytes(request, TIMES * state.inner.config.body_limit).await?;
        let document = read::<T, BOOK>(&bytes, state).await?;
        Ok(Self { document, bytes })
    }
}

impl<T: Wire, const BOOK: bool, const TIMES: usize> FromRequest<AppState> for OptionalBody<T, BOOK, TIMES> {
    type Rejection = Problem;

    async fn from_request(request: Request, state: &AppState) -> Result<Self, Problem> {
        let typed = request.headers().contains_key(header::CONTENT_TYPE);
        if typed {
            expect_media(request.headers(), JSON)?;
        }
        let bytes = bytes(request, TIMES * state.inner.config.body_limit).await?;
        if !typed && !bytes.is_empty() {
            return Err(wrong_media(format!("say `Content-Type: {JSON}`"), JSON));
        }
        // Left out it is the same request as `{}`, for its Idempotency-Key too.
        let bytes = if bytes.is_empty() { Bytes::from_static(b"{}") } else { bytes };
        let document = read::<T, BOOK>(&bytes, state).await?;
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
        Ok(Self { bytes: bytes(request, WHOLE_BOOK * state.inner.config.body_limit).await? })
    }
}

impl<const TIMES: usize> FromRequest<AppState> for Patch<TIMES> {
    type Rejection = Problem;

    async fn from_request(request: Request, state: &AppState) -> Result<Self, Problem> {
        expect_media(request.headers(), MERGE_PATCH)?;
        let bytes = bytes(request, TIMES * state.inner.config.body_limit).await?;
        let value = strict::parse(&bytes).map_err(|e| Problem::new(problem::NOT_JSON, e.message))?;
        if !matches!(value, wire::Value::Object(_)) {
            let mut faults = Faults::new();
            wrong_kind(&value, "an object", &At::ROOT, &mut faults);
            return Err(faults.into());
        }
        let value = value.into();
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
    if let Ok(request) = strict::parse(text).map(Value::from)
        && let Ok((book, _)) = state.book(request.get("price_book_version").and_then(Value::as_str)).await
    {
        let table = besides::rain_table(&request);
        let rains = super::v1::shelf(state, table.as_ref()).await.unwrap_or_default();
        besides::besides_form(&request, &book, &rains, &mut faults);
    }
    faults
}
