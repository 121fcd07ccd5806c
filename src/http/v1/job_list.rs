//! The list of jobs, filtered and in pages.

use super::jobs::{JobPage, out};
use super::with_link;
use crate::app::AppState;
use crate::http::auth::{Caller, may};
use crate::http::extract::{Params, Together};
use crate::http::page::{Cursor, cut, limit};
use crate::http::problem::Problem;
use crate::http::reply;
use crate::store::jobs::{JobFilter, JobSort};
use crate::wire::query::JobOrder;
use axum::extract::{OriginalUri, State};
use axum::http::StatusCode;
use axum::response::Response;

/// What the query of the list asks for: filter, order, limit, the list that cursors are bound to, and where to go on.
fn job_query(
    params: &Params,
    secret: &str,
) -> Result<(JobFilter, JobSort, i64, String, Option<Cursor>), Problem> {
    let text = |name: &str| params.line(name);
    let named = (text("q"), text("customer"), text("site")).together();
    let called = match (text("external_id"), text("external_system")) {
        (Ok(None), Ok(Some(_))) => {
            let rule = "only beside `external_id`, which it belongs to";
            Err(params.fault("external_system", "needs_another", rule, &[]))
        }
        called => called.together(),
    };
    let filter = (named, called, params.instant("updated_since"), params.choice("accepted")).together().map(
        |((text, customer, site), (external_id, external_system), updated_since, accepted)| JobFilter {
            text,
            customer,
            site,
            updated_since,
            accepted,
            external_id,
            external_system,
        },
    );
    let sort = params.one_of("sort", "this order is not offered", JobOrder::UpdatedDescending);
    // Which list a cursor belongs to can be said only where filter and order can be read.
    let list = match (&filter, &sort) {
        (Ok(filter), Ok(sort)) => Some(format!("jobs {sort} {filter:?}")),
        _ => None,
    };
    let after = match &list {
        Some(list) => Cursor::read(params, secret, list),
        None => Cursor::formed(params).map(|()| None),
    };
    let (filter, sort, limit, after) = params.all(
        &[
            "q",
            "customer",
            "site",
            "updated_since",
            "accepted",
            "external_id",
            "external_system",
            "sort",
            "limit",
            "cursor",
        ],
        (filter, sort, limit(params), after),
    )?;
    let sort = match sort {
        JobOrder::Updated => JobSort::Updated,
        JobOrder::UpdatedDescending => JobSort::UpdatedDesc,
        JobOrder::Created => JobSort::Created,
        JobOrder::CreatedDescending => JobSort::CreatedDesc,
    };
    Ok((filter, sort, limit, list.unwrap_or_default(), after))
}

/// List jobs
///
/// Filter by text, customer, site, last change, acceptance or what another system calls a job; newest change first unless sorted
/// otherwise. Whoever wants every job once,
/// while others edit, sorts by `created_at`: a job that is changed moves in an order by `updated_at`, and may be passed over or
/// met again.
#[utoipa::path(get, path = "/v1/jobs", tag = "jobs", operation_id = "listJobs",
    params(("q" = Option<String>, Query, description = "Text in title, customer or site address.", min_length = 1, max_length = 200),
        ("customer" = Option<String>, Query, description = "Text in the customer's name.", min_length = 1, max_length = 200),
        ("site" = Option<String>, Query, description = "Text in the site address.", min_length = 1, max_length = 200),
        ("updated_since" = Option<String>, Query, description = "Changed at or after this instant, RFC 3339; a `+` is sent as `%2B`.", format = DateTime),
        ("accepted" = Option<bool>, Query, description = "`true`: only jobs that were accepted; `false`: only the others."),
        ("external_id" = Option<String>, Query, description = "Exactly what another system calls it, as in its `external_refs`.", min_length = 1, max_length = 200),
        ("external_system" = Option<String>, Query, description = "The system that `external_id` is from; any where left out. Only beside `external_id`.", min_length = 1, max_length = 200),
        ("sort" = inline(Option<JobOrder>), Query, description = "In which order; `-updated_at` when left out."),
        ("limit" = Option<i64>, Query, description = "1 to 200; 50 when left out.", minimum = 1, maximum = 200),
        ("cursor" = Option<String>, Query, description = "`next_cursor` of the page before.")),
    responses((status = 200, description = "A page.", body = JobPage)))]
pub async fn list_jobs(
    State(state): State<AppState>,
    _: Caller<may::JobsRead>,
    OriginalUri(uri): OriginalUri,
    params: Params,
) -> Result<Response, Problem> {
    let (filter, sort, limit, list, after) = job_query(&params, &state.inner.cursor_secret)?;
    let secret = &state.inner.cursor_secret;
    let mut rows = state
        .inner
        .store
        .jobs(&filter, sort, after.as_ref().map(|c| (c.key, c.id.as_str())), limit + 1)
        .await?;
    let by_update = matches!(sort, JobSort::Updated | JobSort::UpdatedDesc);
    let next_cursor = cut(&mut rows, limit, secret, &list, |r| Cursor {
        key: if by_update { r.updated_at } else { r.created_at },
        id: r.id.clone(),
    });
    let items = rows.into_iter().map(|r| out(r, false)).collect::<Result<_, _>>()?;
    let page = JobPage { items, next_cursor };
    Ok(with_link(reply::json(StatusCode::OK, &page)?, &uri, page.next_cursor.as_deref()))
}
