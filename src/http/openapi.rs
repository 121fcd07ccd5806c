//! The OpenAPI document, made from the router, and the page that shows it without any outside download.
//!
//! | file | subject |
//! |---|---|
//! | this one | the document, the page |
//! | `headers` | the headers of answers |
//! | `parameters` | what is said of parameters |
//! | `patches` | the shape of merge patches |
//! | `validated` | what `validate_only` answers |

mod headers;
mod parameters;
mod patches;
mod validated;

use super::auth::Scope;
use super::extract::WHOLE_BOOK;
use super::guarded::{CALENDAR_SCHEME, SCHEME, scope_named};
use super::problem::{self, Problem, ProblemOut};
use crate::app::AppState;
use crate::config::Config;
use axum::Router;
use axum::body::Bytes;
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use std::sync::LazyLock;
use utoipa::openapi::security::{HttpAuthScheme, HttpBuilder, SecurityRequirement, SecurityScheme};
use utoipa::openapi::{Content, RefOr, Required, ResponseBuilder};
use utoipa::{Modify, OpenApi};

/// The parts of the document that no route holds.
#[derive(Debug, OpenApi)]
#[openapi(
    info(
        title = "rillcast",
        version = "1",
        license(name = "MIT", identifier = "MIT"),
        description = "Site notes of a surface channel drain job in; checked quantities, concrete order, labor hours and a \
priced estimate out. Every figure carries its `rule` and a `basis` that can be checked on paper.\n\n\
Quantities carry their unit: requests accept `\"41 ft 6 in\"`, `\"3 1/2 in\"`, `\"12.6 m\"` or \
`{\"value\":\"41.5\",\"unit\":\"ft\"}`, answers use the object form. Money is a decimal string in the currency named once at \
the top of the answer. Errors are `application/problem+json` and list every fault with its JSON pointer; `/problems` \
documents the kinds. Unknown members and parameters are refused.\n\n\
What is stored is exact, and is read back in a unit that writes it exactly, not always in the one that was sent: `\"12.6 m\"` comes \
back as `12600 mm`, `\"11.5 m2\"` as `115000 cm2`, `\"1.7 m3\"` as `1700 l`, and no length at all as `0 mm`. Whole numbers may be \
written `18` or `18.0`; a list in the query has commas between its words or is a parameter for each.\n\n\
A body may have up to 1,048,576 bytes; one that may hold a whole price book, or a list as CSV, up to 10,485,760. `RILLCAST_BODY_LIMIT` \
sets another figure, and ten times it. More is refused with 413. What changes a record is a merge patch (RFC 7396) and is sent as \
`application/merge-patch+json`: as `application/json` it is refused with 415.\n\n\
Where keys have a quota, every answer says what is left of it: \
`RateLimit: \"perkey\";r=<requests left>;t=<seconds until there is one more>`, and `RateLimit-Policy: \"perkey\";q=<requests>;w=<seconds>`.\n\n\
What has happened is dated up to today at the office, by its time zone (`RILLCAST_TIME_ZONE`): a paper that goes out, a yes or a \
no, a payment, a cost that was spent, a record of work. A later day is `in_the_future`. Progress reported on a plan is not held \
against today: a plan is tried ahead with it.\n\n\
Cautions and checks are reminders: local codes, the authority that permits the discharge and licensed practice go before \
them."
    ),
    servers((url = "/", description = "The service that answers with this document.")),
    components(schemas(ProblemOut)),
    modifiers(&Finish),
    tags(
        (name = "calculators", description = "Stateless: nothing is stored. They use the current published price book unless told another version."),
        (name = "price books", description = "Versioned: a draft is edited, publishing freezes it for ever."),
        (name = "rain tables", description = "Rain by duration and return period. Stored once, never changed."),
        (name = "jobs", description = "Jobs with customer, site and site notes."),
        (name = "estimates", description = "Numbered revisions of a job that never change once made."),
        (name = "quotes", description = "An estimate as a promise. A draft is edited; issued means frozen."),
        (name = "change orders", description = "Changes of the contract: from a changed layout, or by line."),
        (name = "invoices", description = "Invoices and credit notes; issued at once, never changed. `validate_only=true` shows them first."),
        (name = "ledger", description = "The job on one page, and what the accounting system reports under its own reference."),
        (name = "plans", description = "One plan for the life of a job: ids stay, sequence numbers rise; JSON and iCalendar."),
        (name = "actuals", description = "What happened on accepted jobs, only ever added to, and estimate against actual."),
        (name = "audit", description = "Who did what, when, under which request."),
        (name = "service", description = "How the service is, and what it refuses with. No key needed."),
    )
)]
pub struct Base;

struct Finish;

impl Modify for Finish {
    fn modify(&self, openapi: &mut utoipa::openapi::OpenApi) {
        let components = openapi.components.get_or_insert_default();
        components.add_security_scheme(
            SCHEME,
            SecurityScheme::Http(
                HttpBuilder::new()
                    .scheme(HttpAuthScheme::Bearer)
                    .bearer_format("rc_<id>_<secret>")
                    .description(Some(about_keys()))
                    .build(),
            ),
        );
        components.add_security_scheme(
            CALENDAR_SCHEME,
            SecurityScheme::Http(
                HttpBuilder::new()
                    .scheme(HttpAuthScheme::Basic)
                    .description(Some(
                        "The same key as a password, with any name, for calendar programs that subscribe to a plan. Make one \
                         for that alone: `rillcast key create --name calendar --scopes plans:read`.",
                    ))
                    .build(),
            ),
        );
    }
}

/// What a key is and what its scopes let it do.
fn about_keys() -> String {
    use std::fmt::Write as _;
    let mut text = "An API key made with `rillcast key create`. Each operation names the scope that the key must have:\n".to_owned();
    for scope in Scope::ALL {
        let _ = write!(text, "\n- `{}`: {}", scope.word(), scope.about().trim());
    }
    text
}

/// The document: base parts and every route, with problems as `4XX` and `5XX` of each operation under `/v1`.
pub fn build() -> utoipa::openapi::OpenApi {
    let mut document = Base::openapi();
    let (_, routes) = super::v1_routes().split_for_parts();
    document.merge(routes);
    let problem = |what: &str| {
        let schema = utoipa::openapi::schema::Ref::from_schema_name("ProblemOut");
        RefOr::T(
            ResponseBuilder::new()
                .description(what)
                .content("application/problem+json", Content::new(Some(schema)))
                .build(),
        )
    };
    for item in document.paths.paths.values_mut() {
        if let Some(read) = &mut item.get {
            parameters::describe(read, true);
        }
        for write in [&mut item.post, &mut item.patch, &mut item.delete, &mut item.put].into_iter().flatten()
        {
            parameters::describe(write, false);
        }
        let posted = item.post.as_mut().map(|operation| (true, operation));
        let others = [&mut item.get, &mut item.patch, &mut item.delete, &mut item.put];
        let others = others.into_iter().flatten().map(|operation| (false, operation));
        for (is_post, operation) in posted.into_iter().chain(others) {
            // These are read by `OptionalBody`.
            let optional = [
                "createEstimate",
                "createPlan",
                "createPriceBookVersion",
                "proposeRates",
                "publishPriceBookVersion",
                "repriceJob",
                "retirePriceBookVersion",
            ];
            if operation.operation_id.as_deref().is_some_and(|id| optional.contains(&id))
                && let Some(RefOr::T(body)) = &mut operation.request_body
            {
                body.required = Some(Required::False);
            }
            if operation.operation_id.as_deref() == Some("getPlanCalendar")
                && let Some(scope) = scope_named(operation)
            {
                let other = SecurityRequirement::new(CALENDAR_SCHEME, [scope.word()]);
                operation.security.get_or_insert_default().push(other);
            }
            let declared = declared(operation);
            // In front of one that takes no body it is looked whether one is sent.
            let waits = is_post || operation.request_body.is_some();
            let refused = problem(&refusals(operation, &declared, waits));
            operation.responses.responses.insert("4XX".to_owned(), refused);
            operation.responses.responses.insert(
                "5XX".to_owned(),
                problem(
                    "The service could not answer. 500 something went wrong inside; 503 busy or out of time: `Retry-After` says \
                     when to try again. What should be written may have been written all the same: send it again with the same \
                     Idempotency-Key, or read it first.",
                ),
            );
        }
    }
    // They say themselves what they answer: they take no key, no body and no query.
    document.merge(super::open_routes().split_for_parts().1);
    patches::describe(&mut document);
    validated::describe(&mut document);
    headers::declare(&mut document);
    document
}

/// Statuses that a handler declares beside those that follow from what it takes: what it reads may not allow it (409), or
/// cannot be computed by this version (422).
const REFUSES: &str = "x-refuses";

/// What an operation declares under [`REFUSES`], taken out of the document: it says so in words.
fn declared(operation: &mut utoipa::openapi::path::Operation) -> Vec<u64> {
    let Some(extensions) = &mut operation.extensions else { return Vec::new() };
    let list = extensions.remove(REFUSES);
    if extensions.is_empty() {
        operation.extensions = None;
    }
    list.as_ref().and_then(|l| l.as_array()).into_iter().flatten().filter_map(|s| s.as_u64()).collect()
}

/// With which statuses an operation refuses, from what it takes and what its handler declares. `waits` says that a body is waited for.
fn refusals(operation: &utoipa::openapi::path::Operation, declared: &[u64], waits: bool) -> String {
    use utoipa::openapi::path::ParameterIn;
    let parameters: Vec<_> = operation
        .parameters
        .iter()
        .flatten()
        .filter_map(|p| match p {
            RefOr::T(parameter) => Some(parameter),
            RefOr::Ref(_) => None,
        })
        .collect();
    let by_path = parameters.iter().any(|p| matches!(p.parameter_in, ParameterIn::Path));
    let header = |name: &str| parameters.iter().any(|p| p.name == name);
    let needed =
        |name: &str| parameters.iter().any(|p| p.name == name && matches!(p.required, Required::True));
    let body = operation.request_body.is_some();
    let too_large = format!(
        "413 the body has more than {} bytes, or than the service is set to",
        grouped(most_bytes(operation))
    );
    let writes = header("Idempotency-Key") || header("If-Match");
    let lacks = scope_named(operation)
        .map_or_else(String::new, |scope| format!("403 the key lacks the scope `{}`", scope.word()));
    let mut out =
        vec!["400 a parameter, a header or the form of the body", "401 no valid key", lacks.as_str()];
    if by_path {
        out.push("404 nothing has this id");
    }
    let negotiated =
        operation.responses.responses.values().any(|r| matches!(r, RefOr::T(r) if r.content.len() > 1));
    if negotiated {
        out.push("406 no form of the answer is in `Accept`");
    }
    if waits {
        out.push("408 the body did not come in time");
    }
    if writes || body || declared.contains(&409) {
        out.push("409 what is there does not allow it; the detail says why");
    }
    if header("If-None-Match") && header("If-Match") {
        out.push("412 it has changed since it was read, or `If-None-Match` names what is there");
    } else if header("If-Match") {
        out.push("412 it has changed since it was read");
    }
    if body {
        out.push(too_large.as_str());
        out.push("415 its media type");
        out.push("422 its members, each with its place");
    } else if header("Idempotency-Key") {
        out.push("422 the Idempotency-Key belongs to another request");
    } else if declared.contains(&422) {
        out.push("422 this version of the service cannot compute what is stored");
    }
    if needed("If-Match") {
        out.push("428 `If-Match` is missing");
    }
    out.push("429 the quota is used up");
    format!("The request was refused: {}. `GET /problems` says what to do about each.", out.join("; "))
}

/// What may hold a whole price book.
const OF_WHOLE_BOOKS: [&str; 3] = ["createPriceBook", "createPriceBookVersion", "editPriceBookDocument"];

/// How many bytes the body of an operation may have where nothing else is set.
fn most_bytes(operation: &utoipa::openapi::path::Operation) -> usize {
    let is_csv =
        matches!(&operation.request_body, Some(RefOr::T(body)) if body.content.contains_key("text/csv"));
    let of_book = operation.operation_id.as_deref().is_some_and(|id| OF_WHOLE_BOOKS.contains(&id));
    Config::default().body_limit * if is_csv || of_book { WHOLE_BOOK } else { 1 }
}

/// A whole number with commas between its thousands.
fn grouped(number: usize) -> String {
    let digits = number.to_string();
    let mut out = String::with_capacity(digits.len() + digits.len() / 3);
    for (at, digit) in digits.char_indices() {
        if at > 0 && (digits.len() - at).is_multiple_of(3) {
            out.push(',');
        }
        out.push(digit);
    }
    out
}

/// The document as the file and the service give it: pretty, members in a fixed order, a line break at the end.
pub fn text() -> String {
    let mut text = build().to_pretty_json().unwrap_or_default();
    text.push('\n');
    text
}

/// `GET /openapi.json`.
pub async fn document() -> Response {
    // One text for all who ask: it is long, and a slow client holds what it has not taken.
    static TEXT: LazyLock<Bytes> = LazyLock::new(|| text().into());
    super::reply::raw(StatusCode::OK, TEXT.clone())
}

/// `GET /`: whoever opens the bare address in a browser wants the page.
pub async fn front() -> Redirect {
    Redirect::permanent("/docs/")
}

/// The page at `/docs`; its scripts are part of the binary.
pub fn docs() -> Router<AppState> {
    let config = utoipa_swagger_ui::Config::new(["/openapi.json"])
        .try_it_out_enabled(true)
        .validator_url("none")
        .use_base_layout();
    Router::new()
        .merge(utoipa_swagger_ui::SwaggerUi::new("/docs").config(config))
        .layer(axum::middleware::map_response(under_own_title))
}

/// What the page may load: what the binary serves, and the styles and pictures that its scripts set.
const OF_THE_BINARY: &str = "default-src 'none'; script-src 'self'; style-src 'self' 'unsafe-inline'; \
                             img-src 'self' data:; font-src 'self' data:; connect-src 'self'; base-uri 'none'; \
                             form-action 'none'; frame-ancestors 'none'";

/// Its own title and no picture beside it, for which a browser would ask; and a phone shows the page as wide as itself, not as wide as a
/// desk.
const HEAD: &str = "    <title>rillcast: every route</title>\n    <link rel=\"icon\" href=\"data:,\">\n    \
                    <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">";

/// The page under the service's own title, without a foreign mark beside it.
async fn under_own_title(response: Response) -> Response {
    let is_page =
        response.headers().get(header::CONTENT_TYPE).is_some_and(|t| t.as_bytes().starts_with(b"text/html"));
    if !is_page {
        return response;
    }
    let (mut parts, body) = response.into_parts();
    let Ok(bytes) = axum::body::to_bytes(body, 1 << 20).await else {
        return Problem::internal("a page of the binary could not be read").into_response();
    };
    let page: String = String::from_utf8_lossy(&bytes)
        .lines()
        .filter(|line| !line.contains("rel=\"icon\"") && !line.trim_start().starts_with("<!-- "))
        .map(|line| if line.contains("<title>") { HEAD } else { line })
        .flat_map(|line| [line, "\n"])
        .collect();
    parts.headers.remove(header::CONTENT_LENGTH);
    parts.headers.insert(header::CONTENT_SECURITY_POLICY, HeaderValue::from_static(OF_THE_BINARY));
    Response::from_parts(parts, page.into())
}

/// Whatever a library answers by itself with an error leaves as a problem too.
pub async fn problem_for_foreign(response: Response) -> Response {
    let status = response.status();
    let is_problem = response
        .headers()
        .get(header::CONTENT_TYPE)
        .is_some_and(|t| t == HeaderValue::from_static("application/problem+json"));
    if is_problem || !(status.is_client_error() || status.is_server_error()) {
        return response;
    }
    let kind = match status {
        StatusCode::NOT_FOUND => problem::NOT_FOUND,
        StatusCode::METHOD_NOT_ALLOWED => problem::WRONG_METHOD,
        StatusCode::PAYLOAD_TOO_LARGE => problem::TOO_LARGE,
        StatusCode::UNSUPPORTED_MEDIA_TYPE => problem::WRONG_MEDIA_TYPE,
        s if s.is_client_error() => problem::BAD_QUERY,
        _ => problem::INTERNAL,
    };
    let mut out = Problem::new(kind, "the request could not be understood").into_response();
    if let Some(allow) = response.headers().get(header::ALLOW) {
        out.headers_mut().insert(header::ALLOW, allow.clone());
    }
    out
}
