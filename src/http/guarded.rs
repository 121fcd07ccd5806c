//! The scope of an operation, read off the signature of its handler, so that the document says what is enforced.

use super::auth::{Caller, Needs, Scope};
use super::layers;
use crate::app::AppState;
use axum::extract::State;
use axum::middleware::from_fn;
use utoipa::openapi::path::Operation;
use utoipa::openapi::security::SecurityRequirement;
use utoipa_axum::router::UtoipaMethodRouter;

/// Name of the security scheme.
pub const SCHEME: &str = "api_key";
/// Name of the one that a calendar takes as well.
pub const CALENDAR_SCHEME: &str = "api_key_as_password";

/// A handler whose caller must have a scope; `Arguments` are those of the handler. One that does not take a [`Caller`] is
/// none, and cannot be a route under `/v1`.
pub trait Guarded<Arguments> {
    /// The scope.
    const SCOPE: Scope;
}

macro_rules! guarded {
    ($(($($before:ty)?: $($argument:ident)*))+) => {$(
        impl<Handler, Answer, Scoped: Needs, $($argument),*> Guarded<($($before,)? Caller<Scoped>, $($argument,)*)> for Handler
        where
            Handler: Fn($($before,)? Caller<Scoped>, $($argument),*) -> Answer,
        {
            const SCOPE: Scope = Scoped::SCOPE;
        }
    )+};
}

guarded! {
    (: A)
    (State<AppState>: A)
    (State<AppState>: A B)
    (State<AppState>: A B C)
    (State<AppState>: A B C D)
}

/// The scope that callers of a handler must have.
pub fn scope_of<Arguments, Handler: Guarded<Arguments>>(_: &Handler) -> Scope {
    Handler::SCOPE
}

/// The route of one handler, its scope in the document. One that changes or computes something and reads no body takes none.
pub fn guarded_by(scope: Scope, route: UtoipaMethodRouter<AppState>) -> UtoipaMethodRouter<AppState> {
    let (schemas, mut paths, mut router) = route;
    let mut bare = false;
    for item in paths.paths.values_mut() {
        bare |= item.post.as_ref().is_some_and(|operation| operation.request_body.is_none());
        let methods = [&mut item.get, &mut item.post, &mut item.patch, &mut item.delete, &mut item.put];
        for operation in methods.into_iter().flatten() {
            operation.security = Some(vec![SecurityRequirement::new(SCHEME, [scope.word()])]);
        }
    }
    if bare {
        router = router.route_layer(from_fn(layers::without_body));
    }
    (schemas, paths, router)
}

/// Two routes of one path.
pub fn together(
    (mut schemas, mut paths, router): UtoipaMethodRouter<AppState>,
    (more, others, other): UtoipaMethodRouter<AppState>,
) -> UtoipaMethodRouter<AppState> {
    schemas.extend(more);
    for (path, item) in others.paths {
        match paths.paths.get_mut(&path) {
            Some(there) => there.merge_operations(item),
            None => {
                paths.paths.insert(path, item);
            }
        }
    }
    (schemas, paths, router.merge(other))
}

/// The scope that an operation of the document names.
pub fn scope_named(operation: &Operation) -> Option<Scope> {
    let requirement = serde_json::to_value(operation.security.as_ref()?.first()?).ok()?;
    Scope::from_word(requirement.get(SCHEME)?.get(0)?.as_str()?)
}

/// The routes of the handlers of one path, each with the scope that its signature asks for.
macro_rules! routes {
    ($($part:ident)::+) => {
        $crate::http::guarded::guarded_by(
            $crate::http::guarded::scope_of(&$($part)::+),
            utoipa_axum::routes!($($part)::+),
        )
    };
    ($($part:ident)::+, $($more:tt)+) => {
        $crate::http::guarded::together(
            $crate::http::guarded::routes!($($part)::+),
            $crate::http::guarded::routes!($($more)+),
        )
    };
}
pub(crate) use routes;
