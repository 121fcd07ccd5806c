//! The headers of answers as the document declares them: what an operation does not say of its own is read off what it takes
//! and answers.

use crate::http::guarded::scope_named;
use utoipa::openapi::header::{Header, HeaderBuilder};
use utoipa::openapi::path::{Operation, Parameter};
use utoipa::openapi::{OpenApi, Ref, RefOr, Response};

/// Headers of many operations, told once under `components`. Those that every answer has, the title page of the document
/// leaves to RFC 9110 and to browsers.
const SHARED: &[(&str, &str)] = &[
    ("Accept", "With 415: the media type that is read."),
    ("Accept-Encoding", "With 415: `identity`, where the body came compressed."),
    ("Accept-Patch", "With 415: the media type of a patch."),
    (
        "Content-Disposition",
        "`attachment; filename=\"…\"`, of pages `inline`: under which name to save the file.",
    ),
    ("Content-Security-Policy", "Lets the page load nothing but the style that stands in it."),
    ("Idempotency-Replayed", "`true` where the answer is that of the first request with this key."),
    ("Link", "`<path of the next page>; rel=\"next\"`; absent on the last page."),
    (
        "RateLimit",
        "`\"perkey\";r=<requests left>;t=<seconds until there is one more>`; absent where keys have no quota.",
    ),
    ("RateLimit-Policy", "`\"perkey\";q=<requests>;w=<seconds>`; absent where keys have no quota."),
    ("Retry-After", "Seconds after which to try again, with 429 and 503."),
    ("Vary", "`accept`: other media types are other answers."),
    ("WWW-Authenticate", "With 401 and 403: `Bearer`, and what is wrong with the key (RFC 6750)."),
];

/// Declares the headers of every answer of every operation.
pub(super) fn declare(document: &mut OpenApi) {
    for item in document.paths.paths.values_mut() {
        let operations = [&mut item.get, &mut item.post, &mut item.patch, &mut item.delete, &mut item.put];
        for operation in operations.into_iter().flatten() {
            declare_of(operation);
        }
    }
    let components = document.components.get_or_insert_default();
    for (name, text) in SHARED {
        let header = HeaderBuilder::new().description(Some(*text)).build();
        components.headers.insert((*name).to_owned(), RefOr::T(header));
    }
}

fn declare_of(operation: &mut Operation) {
    let takes = |name: &str| {
        let named = |p: &RefOr<Parameter>| matches!(p, RefOr::T(p) if p.name == name);
        operation.parameters.iter().flatten().any(named)
    };
    let guarded = scope_named(operation).is_some();
    let (keyed, paged) = (takes("Idempotency-Key"), takes("cursor"));
    let read: Vec<&str> = match &operation.request_body {
        Some(RefOr::T(body)) => body.content.keys().map(String::as_str).collect(),
        _ => Vec::new(),
    };
    let (reads, patches) = (!read.is_empty(), read.iter().any(|media| media.ends_with("merge-patch+json")));
    let tag = match operation.responses.responses.get("200") {
        Some(RefOr::T(response)) => response.headers.get("ETag").cloned(),
        _ => None,
    };
    for (status, response) in &mut operation.responses.responses {
        let RefOr::T(response) = response else { continue };
        if let ("304", Some(tag)) = (status.as_str(), &tag) {
            own(response, "ETag", tag.clone());
        }
        let refused = status == "4XX";
        let good = !refused && status != "5XX";
        let file = |media: &String| {
            ["text/csv", "application/xml", "text/calendar", "text/html"].contains(&media.as_str())
        };
        let is_page = response.content.contains_key("text/html");
        let (saved, varied) = (response.content.keys().any(file), response.content.len() > 1);
        for (sent, name) in [
            (guarded, "RateLimit"),
            (guarded, "RateLimit-Policy"),
            (good && keyed, "Idempotency-Replayed"),
            (good && paged, "Link"),
            (good && saved, "Content-Disposition"),
            (good && is_page, "Content-Security-Policy"),
            (good && varied, "Vary"),
            (!good, "Retry-After"),
            (refused, "WWW-Authenticate"),
            (refused && reads, "Accept"),
            (refused && reads, "Accept-Encoding"),
            (refused && patches, "Accept-Patch"),
        ] {
            if sent {
                own(response, name, RefOr::Ref(Ref::new(format!("#/components/headers/{name}"))));
            }
        }
    }
}

/// What the operation says itself stands.
fn own(response: &mut Response, name: &str, header: RefOr<Header>) {
    response.headers.entry(name.to_owned()).or_insert(header);
}
