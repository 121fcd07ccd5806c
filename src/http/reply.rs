//! Answers: JSON written once into a sized buffer, CSV files, records with their ETag.
//!
//! | file | subject |
//! |---|---|
//! | this one | answers |
//! | `fingerprint` | which requests are one and the same |
//! | `session` | writes in one transaction, that can be repeated |
//! | `writer` | the text of long answers |

mod fingerprint;
mod session;
mod writer;

pub use session::{Asked, LISTED, Opened, Session, UNWRITTEN};

use super::extract::{not_modified, page_etag};
use super::problem::Problem;
use axum::body::{Body, Bytes};
use axum::http::{HeaderMap, HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use serde::Serialize;
use writer::Writer;

/// A JSON answer.
///
/// # Errors
/// When the value cannot be written, which no shape of ours does.
pub fn json<T: Serialize>(status: StatusCode, value: &T) -> Result<Response, Problem> {
    Ok(raw(status, written(value)?))
}

/// The JSON answer of a calculator: the same text as [`json`] writes, by a quicker writer, which cannot embed stored text.
/// Most of these answers take up to `kib` KiB: a buffer much larger than that is dear to get and to give back, and a longer
/// answer makes room for itself.
///
/// # Errors
/// As [`json`].
pub fn computed<T: Serialize>(value: &T, kib: usize) -> Result<Response, Problem> {
    let mut bytes = Vec::with_capacity(kib * 1024);
    value.serialize(Writer(&mut bytes)).map_err(|e| Problem::internal(e.to_string()))?;
    Ok(raw(StatusCode::OK, bytes))
}

fn written<T: Serialize>(value: &T) -> Result<Vec<u8>, Problem> {
    let mut bytes = Vec::with_capacity(16 * 1024);
    serde_json::to_writer(&mut bytes, value).map_err(|e| Problem::internal(e.to_string()))?;
    Ok(bytes)
}

/// An answer from bytes that are JSON.
pub fn raw(status: StatusCode, bytes: impl Into<Bytes>) -> Response {
    let mut response = (status, bytes.into()).into_response();
    response.headers_mut().insert(header::CONTENT_TYPE, HeaderValue::from_static("application/json"));
    response
}

/// A name that somebody gave as part of a file name: lower-case ASCII letters and digits, a `-` for all that stands between
/// them, at most 40 characters. It is for the eye: an id beside it tells apart what is called the same.
///
/// ```
/// use rillcast::http::reply::in_file_name;
/// assert_eq!(in_file_name("Fen Lane \"Trade\" Yard / 2"), "fen-lane-trade-yard-2");
/// assert_eq!(in_file_name("\r\n../Büro"), "b-ro");
/// assert_eq!(in_file_name("水路"), "");
/// ```
pub fn in_file_name(name: &str) -> String {
    let lower = name.to_ascii_lowercase();
    let words: Vec<&str> =
        lower.split(|c: char| !c.is_ascii_alphanumeric()).filter(|word| !word.is_empty()).collect();
    let mut safe = words.join("-");
    safe.truncate(40);
    safe.trim_end_matches('-').to_owned()
}

/// The name of a file: what it is, whose it is in words, where they leave any, and the id or number that tells it apart.
///
/// ```
/// use rillcast::http::reply::file_of;
/// assert_eq!(file_of("price-list", "Demo price book", "pb_1-2"), "price-list-demo-price-book-pb_1-2");
/// assert_eq!(file_of("price-list", "水路", "pb_1-2"), "price-list-pb_1-2");
/// ```
pub fn file_of(what: &str, named: &str, told_apart: &str) -> String {
    match in_file_name(named).as_str() {
        "" => format!("{what}-{told_apart}"),
        named => format!("{what}-{named}-{told_apart}"),
    }
}

/// The byte order mark of UTF-8, by which spreadsheets tell that a file is UTF-8.
const BYTE_ORDER_MARK: &[u8] = "\u{feff}".as_bytes();

/// Whether a browser saves a file or shows it; whoever saves it has its name either way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Disposition {
    /// Saved.
    Attachment,
    /// Shown.
    Inline,
}

/// A file of this media type and name.
pub fn file(media: &'static str, disposition: Disposition, name: &str, bytes: impl Into<Body>) -> Response {
    let mut response = (StatusCode::OK, bytes.into()).into_response();
    let headers = response.headers_mut();
    headers.insert(header::CONTENT_TYPE, HeaderValue::from_static(media));
    let how = match disposition {
        Disposition::Attachment => "attachment",
        Disposition::Inline => "inline",
    };
    if let Ok(value) = HeaderValue::from_str(&format!("{how}; filename=\"{name}\"")) {
        headers.insert(header::CONTENT_DISPOSITION, value);
    }
    response
}

/// The same for the client alone, and asked for again each time.
pub fn private(mut response: Response) -> Response {
    response.headers_mut().insert(header::CACHE_CONTROL, HeaderValue::from_static("private, no-cache"));
    response
}

/// A CSV file (RFC 4180, UTF-8, a header line) to be saved as `{name}.csv`, `marked` with a byte order mark or plain.
pub fn csv_file(name: &str, marked: bool, mut bytes: Vec<u8>) -> Response {
    if marked {
        bytes.splice(..0, BYTE_ORDER_MARK.iter().copied());
    }
    file("text/csv; charset=utf-8; header=present", Disposition::Attachment, &format!("{name}.csv"), bytes)
}

/// A record with its ETag; 304 when the client has it.
///
/// # Errors
/// As [`json`].
pub fn record<T: Serialize>(headers: &HeaderMap, etag: &str, value: &T) -> Result<Response, Problem> {
    match unchanged(headers, etag) {
        Some(response) => Ok(response),
        None => json(StatusCode::OK, value).map(|response| tagged(response, etag)),
    }
}

/// As [`record`], for a page put together from more than the row of this version: its ETag changes with every byte of it.
/// [`Preconditions::check_page`](super::extract::Preconditions::check_page) takes that tag for a write.
///
/// # Errors
/// As [`json`].
pub fn page<T: Serialize>(
    headers: &HeaderMap,
    id: &str,
    row_version: i64,
    value: &T,
) -> Result<Response, Problem> {
    let bytes = written(value)?;
    let etag = page_etag(id, row_version, &bytes);
    Ok(unchanged(headers, &etag).unwrap_or_else(|| tagged(raw(StatusCode::OK, bytes), &etag)))
}

/// 304 under this ETag when the client has it.
pub fn unchanged(headers: &HeaderMap, etag: &str) -> Option<Response> {
    not_modified(headers, etag).then(|| tagged(StatusCode::NOT_MODIFIED.into_response(), etag))
}

/// With its `ETag`.
pub fn tagged(mut response: Response, etag: &str) -> Response {
    if let Ok(value) = HeaderValue::from_str(etag) {
        response.headers_mut().insert(header::ETAG, value);
    }
    response
}

/// What a write answers.
#[derive(Debug)]
pub struct Reply {
    /// Status.
    pub status: StatusCode,
    /// Path of the record.
    pub location: Option<String>,
    /// ETag of the record.
    pub etag: Option<String>,
    /// Body.
    pub body: Vec<u8>,
}

impl Reply {
    /// A record just made.
    ///
    /// # Errors
    /// As [`json`].
    pub fn created<T: Serialize>(location: String, etag: String, value: &T) -> Result<Reply, Problem> {
        let body = written(value)?;
        Ok(Reply { status: StatusCode::CREATED, location: Some(location), etag: Some(etag), body })
    }

    /// An answer that is no record.
    ///
    /// # Errors
    /// As [`json`].
    pub fn answered<T: Serialize>(value: &T) -> Result<Reply, Problem> {
        let body = serde_json::to_vec(value).map_err(|e| Problem::internal(e.to_string()))?;
        Ok(Reply { status: StatusCode::OK, location: None, etag: None, body })
    }

    /// A record changed.
    ///
    /// # Errors
    /// As [`json`].
    pub fn changed<T: Serialize>(etag: String, value: &T) -> Result<Reply, Problem> {
        let body = written(value)?;
        Ok(Reply { status: StatusCode::OK, location: None, etag: Some(etag), body })
    }

    /// A record just made that has no ETag of its own.
    ///
    /// # Errors
    /// As [`json`].
    pub fn added<T: Serialize>(value: &T) -> Result<Reply, Problem> {
        let body = serde_json::to_vec(value).map_err(|e| Problem::internal(e.to_string()))?;
        Ok(Reply { status: StatusCode::CREATED, location: None, etag: None, body })
    }

    /// With the path of the record.
    #[must_use]
    pub fn at(mut self, location: String) -> Reply {
        self.location = Some(location);
        self
    }

    fn response(self, replayed: bool) -> Response {
        let mut response = raw(self.status, self.body);
        let headers = response.headers_mut();
        let mut set = |name: header::HeaderName, value: &Option<String>| {
            if let Some(value) = value.as_ref().and_then(|v| HeaderValue::from_str(v).ok()) {
                headers.insert(name, value);
            }
        };
        set(header::LOCATION, &self.location);
        set(header::ETAG, &self.etag);
        if replayed {
            headers.insert("idempotency-replayed", HeaderValue::from_static("true"));
        }
        response
    }
}
