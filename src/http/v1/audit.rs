//! The audit trail.

use super::{page_type, with_link};
use crate::app::AppState;
use crate::http::auth::{Caller, may};
use crate::http::extract::Params;
use crate::http::page::{Cursor, cut, limit};
use crate::http::problem::Problem;
use crate::http::reply;
use crate::http::timestamp::{Timestamp, timestamp};
use crate::store::audit::AuditRow;
use axum::extract::{OriginalUri, State};
use axum::http::StatusCode;
use axum::response::Response;
use serde::Serialize;
use serde_json::Value;
use utoipa::ToSchema;

/// One entry.
#[derive(Debug, Serialize, ToSchema)]
pub struct AuditEntry {
    /// When.
    pub at: Timestamp,
    /// Key that did it; `cli` for the command line.
    pub key_id: String,
    /// Request it was done under.
    pub request_id: String,
    /// What was done: the kind of object and the act, for example `quote.issue`.
    pub action: String,
    /// Id of what it was done to.
    pub object: String,
    /// More about it, by its action; members may be added.
    ///
    /// An edit lists the members that changed under `changes`, each with its `pointer`, its value `before` and
    /// `after` (a side left out where the member was not there; long texts cut), and counts under `more_changes` what is not
    /// listed; that of a job or price book names the version it was made on, `from_row_version`.
    ///
    /// What is done with a paper (`quote.accept`, `invoice.pay` …) has how it stood `before` and `after`: `state`, `number`,
    /// `version`, `total`, `paid`, `credited`; and what was sent: `decision`, `payment` or `void`, or the id of the `credit_note` or
    /// of the quote it is `superseded_by`.
    ///
    /// What is made names what it belongs to, as it has: `job`, `book`, `name`, `title`, `number`, `revision`, `version`; a
    /// paper also how it stands, as `after`.
    #[schema(value_type = std::collections::BTreeMap<String, serde_json::Value>)]
    pub detail: serde_json::Value,
}

page_type! {
    /// A page of the audit trail, newest first.
    AuditPage of AuditEntry
}

/// Read the audit trail
///
/// Every write leaves an entry in the same transaction. Entries can neither be changed nor deleted.
#[utoipa::path(get, path = "/v1/audit", tag = "audit", operation_id = "listAudit",
    params(("object" = Option<String>, Query, description = "Only entries about the object of this id: of a job, an estimate, a paper, a price-book version …"),
        ("limit" = Option<i64>, Query, description = "1 to 200; 50 when left out.", minimum = 1, maximum = 200),
        ("cursor" = Option<String>, Query, description = "`next_cursor` of the page before.")),
    responses((status = 200, description = "A page.", body = AuditPage)))]
pub async fn list_audit(
    State(state): State<AppState>,
    _: Caller<may::AuditRead>,
    OriginalUri(uri): OriginalUri,
    params: Params,
) -> Result<Response, Problem> {
    let list = format!("audit {}", params.get("object").unwrap_or(""));
    let (limit, after) = params.all(
        &["object", "limit", "cursor"],
        (limit(&params), Cursor::read(&params, &state.inner.cursor_secret, &list)),
    )?;
    let mut rows =
        state.inner.store.audit_trail(params.get("object"), after.map(|c| c.key), limit + 1).await?;
    let next_cursor =
        cut(&mut rows, limit, &state.inner.cursor_secret, &list, |r| Cursor { key: r.id, id: String::new() });
    let items = rows
        .into_iter()
        .map(|row| {
            let AuditRow { id: _, at, key_id, request_id, action, object, detail } = row;
            let detail = serde_json::from_str(&detail).map(without_nulls).unwrap_or_default();
            AuditEntry { at: timestamp(at), key_id, request_id, action, object, detail }
        })
        .collect();
    let page = AuditPage { items, next_cursor };
    Ok(with_link(reply::json(StatusCode::OK, &page)?, &uri, page.next_cursor.as_deref()))
}

/// What is not there is left out of an answer.
fn without_nulls(value: Value) -> Value {
    match value {
        Value::Object(members) => {
            members.into_iter().filter(|(_, v)| !v.is_null()).map(|(k, v)| (k, without_nulls(v))).collect()
        }
        Value::Array(list) => list.into_iter().map(without_nulls).collect(),
        other => other,
    }
}
