//! The key that a request shows: `Authorization: Bearer`, and for a calendar `Basic` as well, the one scheme that calendar
//! programs know (RFC 7617: the key is the password, the user's name is not looked at).

use super::problem::{self, Kind, Problem};
use axum::extract::{MatchedPath, Request};
use axum::http::{Method, header};
use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;

/// The route that a calendar program subscribes to.
const CALENDAR: &str = "/v1/plans/{id}/calendar";

/// The schemes a route takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Schemes {
    /// `Bearer`.
    Bearer,
    /// `Bearer` or `Basic`.
    BearerOrBasic,
}

impl Schemes {
    /// Those of the route a request is for. `Basic` is for reading alone: a browser sends it again by itself.
    pub(super) fn of(request: &Request) -> Self {
        let reads = matches!(*request.method(), Method::GET | Method::HEAD);
        match request.extensions().get::<MatchedPath>() {
            Some(path) if reads && path.as_str() == CALENDAR => Self::BearerOrBasic,
            _ => Self::Bearer,
        }
    }

    /// How a key is sent.
    const fn how(self) -> &'static str {
        match self {
            Self::Bearer => "`Authorization: Bearer <key>`",
            Self::BearerOrBasic => {
                "`Authorization: Bearer <key>`, or `Authorization: Basic` with any name and the key as password"
            }
        }
    }

    /// A refusal with the challenge of these schemes; `error` is that of a bearer token (RFC 6750).
    pub(super) fn refuse(self, kind: Kind, detail: &str, error: Option<&str>) -> Problem {
        let error = error.map_or_else(String::new, |error| format!(", error=\"{error}\""));
        let more = match self {
            Self::Bearer => "",
            Self::BearerOrBasic => ", Basic realm=\"rillcast\", charset=\"UTF-8\"",
        };
        let challenge = format!("Bearer realm=\"rillcast\"{error}{more}");
        Problem::new(kind, detail).header(header::WWW_AUTHENTICATE, &challenge)
    }

    /// Nothing was sent.
    pub(super) fn none_sent(self) -> Problem {
        self.refuse(problem::NO_CREDENTIAL, &format!("send {}", self.how()), None)
    }

    /// The key that a request shows.
    ///
    /// # Errors
    /// Where there is none, or it is shown in another way than these.
    pub(super) fn key(self, request: &Request) -> Result<String, Problem> {
        let mut lines = request.headers().get_all(header::AUTHORIZATION).iter();
        let value = lines.next().ok_or_else(|| self.none_sent())?;
        if lines.next().is_some() {
            let detail = "the header is sent more than once, and which of the keys is meant cannot be told";
            return Err(self.refuse(problem::BAD_CREDENTIAL, detail, Some("invalid_request")));
        }
        let shown = value.to_str().ok().and_then(|text| text.split_once(' ')).and_then(|(scheme, rest)| {
            let rest = rest.trim();
            if scheme.eq_ignore_ascii_case("bearer") {
                Some(rest.to_owned())
            } else if scheme.eq_ignore_ascii_case("basic") && self == Self::BearerOrBasic {
                password(rest)
            } else {
                None
            }
        });
        shown.ok_or_else(|| {
            let detail = format!("the header must read {}", self.how());
            self.refuse(problem::BAD_CREDENTIAL, &detail, Some("invalid_request"))
        })
    }
}

/// The password of a `Basic` credential.
fn password(encoded: &str) -> Option<String> {
    let text = String::from_utf8(STANDARD.decode(encoded).ok()?).ok()?;
    text.split_once(':').map(|(_, password)| password.to_owned())
}
