//! Every error leaves as `application/problem+json` (RFC 9457), from one table of kinds.

use crate::documents::price_list::report::RowFault;
use crate::store::StoreError;
use crate::wire::faults::{MOST_FAULTS, shorten};
use crate::wire::{Fault, Faults};
use axum::http::{HeaderName, HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use serde::Serialize;
use utoipa::ToSchema;

/// A kind of problem: its place under `/problems/`, its status and title.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Kind {
    /// Last part of the `type`.
    pub slug: &'static str,
    /// Status.
    pub status: u16,
    /// Title.
    pub title: &'static str,
    /// What to do about it.
    pub help: &'static str,
}

macro_rules! kinds {
    ($($name:ident = $slug:literal, $status:literal, $title:literal, $help:literal;)+) => {
        $(#[doc = $title] pub const $name: Kind = Kind { slug: $slug, status: $status, title: $title, help: $help };)+
        /// Every kind.
        pub const KINDS: &[Kind] = &[$($name),+];
    };
}

kinds! {
    NOT_JSON = "not-json", 400, "The body is not one JSON document", "Send one JSON document; the detail names line and column.";
    NO_BODY_HERE = "no-body-here", 400, "A body is not read here", "Send the request without a body; the document lists its query parameters.";
    NOT_HTTP = "not-http", 400, "The request is not HTTP", "The first line, a header or the length of the body cannot be read; most clients never send such a request.";
    BAD_QUERY = "bad-query", 400, "A query parameter is not accepted", "The errors list the parameters that are, and their values.";
    BAD_HEADER = "bad-header", 400, "A header is not accepted", "The detail says which header and which form.";
    NO_CREDENTIAL = "no-credential", 401, "An API key is needed", "Send `Authorization: Bearer rc_…`; `rillcast key create` makes a key.";
    BAD_CREDENTIAL = "bad-credential", 401, "The API key is not valid", "The key is unknown, revoked or mistyped.";
    MISSING_SCOPE = "missing-scope", 403, "The API key lacks a scope", "The detail names the scope; make a key that has it.";
    NOT_FOUND = "not-found", 404, "There is nothing here", "Check the path and the id.";
    WRONG_METHOD = "wrong-method", 405, "The method is not accepted here", "The `Allow` header lists the methods that are.";
    NOT_ACCEPTABLE = "not-acceptable", 406, "No form of the answer is accepted", "The detail lists the media types that are served; name one of them in `Accept`, or leave the header out.";
    BODY_TOO_SLOW = "body-too-slow", 408, "The body did not come in time", "Nothing was done. Send the request again, over a faster connection or with a smaller body.";
    CONFLICT = "conflict", 409, "The request conflicts with what is there", "The detail says with what.";
    STATE_CONFLICT = "state-conflict", 409, "The state does not allow this", "The detail names the state and what it allows.";
    VERSION_CONFLICT = "version-conflict", 412, "The record has changed since it was read", "Read it again and send its new ETag in `If-Match`.";
    TAG_MATCHES = "tag-matches", 412, "If-None-Match names what is there", "Read what is there. To change it, leave `If-None-Match` out and send its ETag in `If-Match`.";
    TOO_LARGE = "too-large", 413, "The body is too large", "The detail names the limit.";
    ADDRESS_TOO_LONG = "address-too-long", 414, "The address is too long", "The detail names the limit; what is long belongs into the body.";
    WRONG_MEDIA_TYPE = "wrong-media-type", 415, "The media type is not accepted here", "The `Accept` header of the answer lists the types that are.";
    VALIDATION_FAILED = "validation-failed", 422, "The request has invalid members", "The errors list each one with its JSON pointer.";
    KEY_REUSED = "idempotency-key-reused", 422, "The Idempotency-Key belongs to another request", "Use a new key for a new request.";
    VERSION_NEEDED = "version-needed", 428, "The change needs If-Match", "Send the record's ETag in `If-Match`, or `*` for whatever is there.";
    QUOTA_USED = "quota-used", 429, "Request quota used up", "Wait as long as `Retry-After` says.";
    HEADERS_TOO_LARGE = "headers-too-large", 431, "The headers are too many or too large", "The detail names the limits.";
    INTERNAL = "internal", 500, "Something went wrong inside", "Report the instance id. What it should write may have been written all the same: send it again with the same Idempotency-Key, or read it first.";
    OVERLOADED = "overloaded", 503, "The service is busy", "Try again after `Retry-After` seconds.";
    DEADLINE = "deadline", 503, "The request took too long", "Where it is too much to compute, ask for less at once: fewer outlets or options, or the channel systems named. What it should write may have been written all the same: send it again with the same Idempotency-Key after `Retry-After` seconds, or read it first.";
    DISK_FULL = "disk-full", 503, "The disk of the database is full", "Nothing was written. Whoever runs the service must make room; then send it again.";
    DISK_FAILS = "disk-fails", 503, "The disk of the database fails", "Whoever runs the service must look at the disk. What it should write may have been written all the same: send it again with the same Idempotency-Key after `Retry-After` seconds, or read it first.";
    PERIOD_OVERLAP = "period-overlap", 409, "Two versions would hold on the same day", "The errors list the days that are free; name other days, or end the version before with `ends_previous`.";
    PERIOD_GAP = "period-gap", 409, "Days would be left without a price book", "The errors list those days; name other days, or accept them with `allow_gap`.";
    LARGE_MOVES = "large-price-moves", 409, "Prices move further than the guard lets through", "Look at the errors; send it again with `confirm_large_changes=true` once they are right.";
    NO_PRICE = "no-price-in-effect", 404, "No version holds on this day", "The detail lists the days for which versions hold.";
    NOT_A_RAIN_FILE = "not-a-rain-file", 422, "The rain file cannot be read", "The detail names the line and what should be there; send the file as it was served.";
    NO_BOOK = "no-price-book", 409, "No price book is published", "Publish a price book, or name a version.";
}

/// One error of a request.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct FieldError {
    /// JSON pointer to the member at fault, in URI-fragment form: `#/runs/0/legs/1/length`; `#` is the whole body. Absent where a
    /// parameter, a header or a row is at fault.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub pointer: Option<String>,
    /// Name of the query parameter at fault.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub parameter: Option<String>,
    /// Name of the header at fault.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub header: Option<String>,
    /// Row of a list sent as CSV, as a spreadsheet counts it: the header is 1.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub row: Option<usize>,
    /// Column of a list sent as CSV.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub column: Option<String>,
    /// Stable snake_case word for the rule, for a program to branch on: `required`, `unknown_code`, `out_of_range` …
    pub code: String,
    /// The rule and how to meet it.
    pub detail: String,
    /// What was sent, shortened; absent where it was no single value.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub value: Option<String>,
    /// What is accepted, where it can be listed.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub allowed: Vec<String>,
}

/// A problem (RFC 9457).
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct ProblemOut {
    /// Which kind; `/problems/…` documents it.
    #[serde(rename = "type")]
    pub kind: String,
    /// Title of the kind.
    pub title: String,
    /// HTTP status, as the answer has it.
    pub status: u16,
    /// What went wrong this time.
    pub detail: String,
    /// This occurrence; the log carries the same id.
    pub instance: String,
    /// Every fault of the request; absent where it has none that can be placed.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub errors: Vec<FieldError>,
    /// Whether there were more faults than are listed.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub errors_truncated: bool,
}

/// What the answer to every error says of itself.
pub(super) const HEADERS: [(HeaderName, &str); 2] =
    [(header::CONTENT_TYPE, "application/problem+json"), (header::CACHE_CONTROL, "no-store")];

/// An error on its way out.
#[derive(Debug)]
pub struct Problem(Box<Parts>);

#[derive(Debug)]
struct Parts {
    kind: Kind,
    detail: String,
    errors: Vec<FieldError>,
    truncated: bool,
    headers: Vec<(HeaderName, HeaderValue)>,
    /// What happened inside; for the log only.
    cause: Option<String>,
}

/// The cause of an internal error, carried to the log.
#[derive(Debug, Clone)]
pub struct Cause(pub String);

impl Problem {
    /// A problem of a kind.
    pub fn new(kind: Kind, detail: impl Into<String>) -> Self {
        Self(Box::new(Parts {
            kind,
            detail: detail.into(),
            errors: Vec::new(),
            truncated: false,
            headers: Vec::new(),
            cause: None,
        }))
    }

    /// An internal error; the cause goes to the log.
    pub fn internal(cause: impl Into<String>) -> Self {
        Self::new(INTERNAL, "the request could not be completed").because(cause)
    }

    /// What happened inside; it goes to the log.
    #[must_use]
    fn because(mut self, cause: impl Into<String>) -> Self {
        self.0.cause = Some(cause.into());
        self
    }

    /// Adds a header.
    #[must_use]
    pub fn header(mut self, name: HeaderName, value: &str) -> Self {
        if let Ok(value) = HeaderValue::from_str(value) {
            self.0.headers.push((name, value));
        }
        self
    }

    /// A fault of a query parameter.
    pub fn parameter(
        name: &str,
        sent: Option<&str>,
        code: &str,
        detail: impl Into<String>,
        allowed: &[&str],
    ) -> Self {
        let mut problem = Self::new(BAD_QUERY, "one query parameter is not accepted");
        problem.0.errors.push(FieldError {
            pointer: None,
            parameter: Some(name.chars().take(60).collect()),
            header: None,
            row: None,
            column: None,
            code: code.to_owned(),
            detail: detail.into(),
            value: sent.map(shorten),
            allowed: allowed.iter().map(|a| (*a).to_owned()).collect(),
        });
        problem
    }

    /// This problem of the query or of headers with the faults of another one; what is not of its kind waits for its turn.
    #[must_use]
    pub fn and(mut self, other: Self) -> Self {
        let of_what = match self.0.kind {
            BAD_QUERY => "query parameters",
            BAD_HEADER => "headers",
            _ => return self,
        };
        if self.0.kind == other.0.kind {
            self.0.errors.extend(other.0.errors);
            self.0.truncated |= other.0.truncated || self.0.errors.len() > MOST_FAULTS;
            self.0.errors.truncate(MOST_FAULTS);
            let more = if self.0.truncated { "more than " } else { "" };
            self.0.detail = format!("{more}{} faults of {of_what} found", self.0.errors.len());
        }
        self
    }

    /// A fault of a request header.
    pub fn bad_header(name: &str, detail: impl Into<String>) -> Self {
        let mut problem = Self::new(BAD_HEADER, format!("the header {name} is not accepted"));
        problem.0.errors.push(FieldError {
            pointer: None,
            parameter: None,
            header: Some(name.to_owned()),
            row: None,
            column: None,
            code: "header_form".to_owned(),
            detail: detail.into(),
            value: None,
            allowed: Vec::new(),
        });
        problem
    }

    /// A problem of a kind whose places in the body are known.
    pub fn with_faults(kind: Kind, detail: impl Into<String>, faults: &Faults) -> Self {
        let mut problem = Self::new(kind, detail);
        problem.0.truncated = faults.truncated();
        problem.0.errors = faults.list().iter().map(field_error).collect();
        problem
    }

    /// Faults of a list sent as CSV.
    pub fn rows(kind: Kind, detail: impl Into<String>, faults: &[RowFault], truncated: bool) -> Self {
        let mut problem = Self::new(kind, detail);
        problem.0.truncated = truncated;
        problem.0.errors = faults
            .iter()
            .map(|f| FieldError {
                pointer: None,
                parameter: None,
                header: None,
                row: Some(f.row),
                column: f.column.clone(),
                code: f.code.to_owned(),
                detail: f.detail.clone(),
                value: f.value.clone(),
                allowed: f.allowed.clone(),
            })
            .collect();
        problem
    }

    /// Faults of the body of this kind.
    pub fn faults(faults: Faults) -> Self {
        let count = faults.len();
        let mut problem = Self::new(
            VALIDATION_FAILED,
            match count {
                1 => "1 problem found".to_owned(),
                _ if faults.truncated() => format!("more than {count} problems found; these are the first"),
                _ => format!("{count} problems found"),
            },
        );
        problem.0.truncated = faults.truncated();
        problem.0.errors = faults.list().iter().map(field_error).collect();
        problem
    }

    /// The kind.
    pub fn kind(&self) -> Kind {
        self.0.kind
    }

    /// The body for a request of this id.
    pub fn body(&self, request_id: &str) -> ProblemOut {
        ProblemOut {
            kind: format!("/problems/{}", self.0.kind.slug),
            title: self.0.kind.title.to_owned(),
            status: self.0.kind.status,
            detail: self.0.detail.clone(),
            instance: format!("/requests/{request_id}"),
            errors: self.0.errors.clone(),
            errors_truncated: self.0.truncated,
        }
    }
}

/// A fault as an answer lists it.
pub fn field_error(fault: &Fault) -> FieldError {
    let Fault { pointer, code, detail, value, allowed } = fault;
    FieldError {
        pointer: Some(pointer.clone()),
        parameter: None,
        header: None,
        row: None,
        column: None,
        code: (*code).to_owned(),
        detail: detail.clone(),
        value: value.clone(),
        allowed: allowed.clone(),
    }
}

impl From<Faults> for Problem {
    fn from(faults: Faults) -> Self {
        Self::faults(faults)
    }
}

impl From<StoreError> for Problem {
    fn from(error: StoreError) -> Self {
        match error {
            StoreError::Conflict => {
                Self::new(CONFLICT, "something with this name or reference exists already")
            }
            StoreError::Stale => Self::new(VERSION_CONFLICT, "the record has changed since it was read"),
            StoreError::Busy => {
                Self::new(OVERLOADED, "the database is busy").header(header::RETRY_AFTER, "1")
            }
            StoreError::Full(_) => {
                Self::new(DISK_FULL, "the disk of the database is full: nothing was written")
                    .header(header::RETRY_AFTER, "30")
                    .because(error.to_string())
            }
            StoreError::Disk(_) => {
                Self::new(DISK_FAILS, "the disk of the database could not be read or written")
                    .header(header::RETRY_AFTER, "30")
                    .because(error.to_string())
            }
            StoreError::Corrupt(_) | StoreError::Db(_) | StoreError::Migrate(_) => {
                Self::internal(error.to_string())
            }
        }
    }
}

impl IntoResponse for Problem {
    fn into_response(self) -> Response {
        let status = StatusCode::from_u16(self.0.kind.status).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR);
        let id = super::layers::current_request_id();
        let body = serde_json::to_vec(&self.body(&id)).unwrap_or_default();
        let mut response = (status, body).into_response();
        let headers = response.headers_mut();
        for (name, value) in HEADERS {
            headers.insert(name, HeaderValue::from_static(value));
        }
        for (name, value) in self.0.headers {
            headers.insert(name, value);
        }
        if let Some(cause) = self.0.cause {
            response.extensions_mut().insert(Cause(cause));
        }
        response
    }
}
