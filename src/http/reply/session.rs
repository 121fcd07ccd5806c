//! Writes in one transaction, that can be repeated.

use super::Reply;
use super::fingerprint::Fingerprint;
use crate::app::AppState;
use crate::http::auth::Caller;
use crate::http::extract::{Params, Preconditions, Together};
use crate::http::now_ms;
use crate::http::problem::{self, Problem};
use crate::store::Write;
use crate::store::idempotency::KeptAnswer;
use axum::extract::{FromRequestParts, OriginalUri};
use axum::http::request::Parts;
use axum::http::{HeaderMap, Method, StatusCode, Uri};
use axum::response::Response;

/// One write in one transaction, with its Idempotency-Key and `validate_only`.
///
/// The handler opens it with [`Asked::open`], works on [`Session::write`], and ends with [`Session::finish`]. Between
/// the two nothing foreign is awaited.
#[derive(Debug)]
pub struct Session {
    /// The open transaction.
    pub write: Write,
    key: Option<(String, String)>,
    validate_only: bool,
}

/// What opening a session gives.
#[derive(Debug)]
pub enum Opened {
    /// Go on.
    Fresh(Box<Session>),
    /// The same request was answered before.
    Replay(Response),
}

/// A request that writes: what its fingerprint, its preconditions and its `validate_only` are read from.
#[derive(Debug)]
pub struct Asked {
    method: Method,
    uri: Uri,
    headers: HeaderMap,
    params: Params,
}

impl FromRequestParts<AppState> for Asked {
    type Rejection = Problem;

    async fn from_request_parts(parts: &mut Parts, state: &AppState) -> Result<Self, Problem> {
        let Ok(OriginalUri(uri)) = OriginalUri::from_request_parts(parts, state).await;
        let params = Params::from_request_parts(parts, state).await?;
        Ok(Self { method: parts.method.clone(), uri, headers: parts.headers.clone(), params })
    }
}

impl Asked {
    /// Refuses query parameters other than `validate_only`.
    ///
    /// # Errors
    /// Every fault of the query.
    pub fn check_query(&self) -> Result<(), Problem> {
        self.check_query_with(&[], ())
    }

    /// The query parameters.
    pub fn params(&self) -> &Params {
        &self.params
    }

    /// The values that were read, if the query parameters are `validate_only` and those of `known`.
    ///
    /// # Errors
    /// Every fault of the names and of the values.
    pub fn check_query_with<T: Together>(&self, known: &[&str], values: T) -> Result<T::All, Problem> {
        let mut all = known.to_vec();
        all.push("validate_only");
        self.params.all(&all, (values.together(), self.params.validate_only())).map(|(values, _)| values)
    }

    /// The preconditions of the request.
    pub fn preconditions(&self) -> Preconditions {
        Preconditions::of(&self.headers)
    }

    /// Opens the transaction and looks for an answer kept for this request's key.
    ///
    /// # Errors
    /// 400 for a malformed key, 422 when the key belongs to another request, 503 when the database is busy.
    pub async fn open<S>(
        &self,
        state: &AppState,
        caller: &Caller<S>,
        body: &[u8],
    ) -> Result<Opened, Problem> {
        let validate_only = self.params.validate_only()?;
        let key = self.idempotency_key()?.filter(|_| !validate_only);
        let mut write = state.inner.store.begin(caller.actor()).await?;
        // It may have waited for another: instants are in the order of the commits, for whoever follows changes by them.
        write.dated(now_ms());
        let key = match key {
            None => None,
            Some(key) => {
                let print = Fingerprint { method: &self.method, uri: &self.uri, body };
                if let Some(kept) = write.kept(&key).await? {
                    if !print.is(&kept.fingerprint) {
                        return Err(Problem::new(
                            problem::KEY_REUSED,
                            "this Idempotency-Key was sent with another request before",
                        ));
                    }
                    let status = u16::try_from(kept.status).ok().and_then(|s| StatusCode::from_u16(s).ok());
                    let reply = Reply {
                        status: status.unwrap_or(StatusCode::OK),
                        location: kept.location,
                        etag: kept.etag,
                        body: kept.body.into_bytes(),
                    };
                    return Ok(Opened::Replay(reply.response(true)));
                }
                Some((key, print.text()))
            }
        };
        Ok(Opened::Fresh(Box::new(Session { write, key, validate_only })))
    }

    /// Opens the transaction of an operation that moves money or promises it: it needs an Idempotency-Key, unless it only
    /// validates.
    ///
    /// # Errors
    /// As [`Asked::open`], and 400 when there is no key.
    pub async fn open_keyed<S>(
        &self,
        state: &AppState,
        caller: &Caller<S>,
        body: &[u8],
    ) -> Result<Opened, Problem> {
        self.check_query()?;
        if !self.params.validate_only()? && self.idempotency_key()?.is_none() {
            return Err(Problem::bad_header(
                "Idempotency-Key",
                "this operation needs one, so that sending it again does not do it again: 8 to 64 letters, digits, `-` and \
                 `_`, for example a UUID",
            ));
        }
        self.open(state, caller, body).await
    }

    /// The answer kept for this request's key, for requests whose work is refused once it is done.
    ///
    /// # Errors
    /// As [`Asked::open`].
    pub async fn replay<S>(
        &self,
        state: &AppState,
        caller: &Caller<S>,
        body: &[u8],
    ) -> Result<Option<Response>, Problem> {
        if self.params.validate_only()? || self.idempotency_key()?.is_none() {
            return Ok(None);
        }
        match self.open(state, caller, body).await? {
            Opened::Replay(response) => Ok(Some(response)),
            // Rolled back: the work is done first.
            Opened::Fresh(_) => Ok(None),
        }
    }

    /// The Idempotency-Key, quoted or bare.
    fn idempotency_key(&self) -> Result<Option<String>, Problem> {
        let mut sent = self.headers.get_all("idempotency-key").iter();
        let Some(value) = sent.next() else { return Ok(None) };
        if sent.next().is_some() {
            let rule = "sent more than once: a request has one key, and which of them it is cannot be told";
            return Err(Problem::bad_header("Idempotency-Key", rule));
        }
        let text = value.to_str().unwrap_or("").trim();
        let bare = text.strip_prefix('"').and_then(|t| t.strip_suffix('"')).unwrap_or(text);
        let sound = (8..=64).contains(&bare.len())
            && bare.bytes().all(|b| b.is_ascii_alphanumeric() || matches!(b, b'-' | b'_'));
        if sound {
            Ok(Some(bare.to_owned()))
        } else {
            Err(Problem::bad_header(
                "Idempotency-Key",
                "8 to 64 letters, digits, `-` and `_`, quoted or bare, for example a UUID",
            ))
        }
    }
}

impl Session {
    /// The instant this write carries, unix milliseconds.
    pub fn now(&self) -> i64 {
        self.write.actor.now
    }

    /// Whether nothing will be written in the end.
    pub fn is_dry_run(&self) -> bool {
        self.validate_only
    }

    /// Keeps the answer and commits, or rolls everything back for `validate_only`.
    ///
    /// # Errors
    /// When the database refuses; then nothing is written.
    pub async fn finish(mut self, reply: Reply) -> Result<Response, Problem> {
        if self.validate_only {
            drop(self.write);
            let is_new = reply.status == StatusCode::CREATED;
            let body = if is_new { unwritten(&reply.body) } else { reply.body };
            return Ok(Reply { status: StatusCode::OK, location: None, etag: None, body }.response(false));
        }
        if let Some((key, fingerprint)) = &self.key {
            let kept = KeptAnswer {
                fingerprint: fingerprint.clone(),
                status: i64::from(reply.status.as_u16()),
                location: reply.location.clone(),
                etag: reply.etag.clone(),
                body: String::from_utf8_lossy(&reply.body).into_owned(),
            };
            self.write.keep(key, &kept).await?;
        }
        self.write.commit().await?;
        Ok(reply.response(false))
    }
}

/// Members of an answer that list records made with it: the entries of a job, the draft of a book.
pub const LISTED: &[&str] = &["items", "versions"];
/// What only writing gives the records of such a list: their id and number, and the id of the book made with them.
pub const UNWRITTEN: &[&str] = &["id", "number", "price_book_id"];

/// The body without the ids of records that were not made.
fn unwritten(body: &[u8]) -> Vec<u8> {
    let Ok(serde_json::Value::Object(mut members)) = serde_json::from_slice(body) else {
        return body.to_vec();
    };
    members.remove("id");
    for list in LISTED {
        let records = members.get_mut(*list).and_then(serde_json::Value::as_array_mut);
        for record in records.into_iter().flatten().filter_map(serde_json::Value::as_object_mut) {
            record.retain(|member, _| !UNWRITTEN.contains(&member.as_str()));
        }
    }
    serde_json::to_vec(&members).unwrap_or_else(|_| body.to_vec())
}
