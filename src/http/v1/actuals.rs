//! What happened on accepted jobs: records that are only ever added to, and estimate against actual.

use super::acceptance::{accepted, not_accepted};
use super::contracts;
use super::job_orders::placeable;
use super::papers::json_text;
use super::{apart_where, book, missing, new_id, page_type, rains, stored_notes, with_link};
use crate::app::{AppState, LoadedBook};
use crate::compute::contract::fold::Contract;
use crate::compute::effort::is_long;
use crate::compute::job_record::comparison::{JobComparison, compare};
use crate::compute::job_record::costs::Placeable;
use crate::compute::job_record::entries::Grounds;
use crate::compute::job_record::{Recorded, entries};
use crate::compute::pipeline;
use crate::http::auth::{Caller, may};
use crate::http::extract::{Body, Params};
use crate::http::page::{Cursor, cut, limit_and_cursor};
use crate::http::problem::{self, Problem};
use crate::http::reply::{self, Asked, Opened, Reply};
use crate::http::timestamp::{Timestamp, timestamp};
use crate::store::StoreError;
use crate::store::actuals::{ActualRow, NewActual};
use crate::store::estimates::EstimateRow;
use crate::units::Amount;
use crate::wire::contract::Signed;
use crate::wire::day::OfficeDay;
use crate::wire::notes::SiteNotes;
use crate::wire::records::{ActualEntry, ActualsIn, OrderKept, OrderedSum};
use crate::wire::{Code, List, read_document};
use axum::extract::{OriginalUri, Path, State};
use axum::http::StatusCode;
use axum::response::Response;
use serde::{Deserialize, Serialize};
use serde_json::value::RawValue;
use utoipa::ToSchema;

/// A record of what happened.
#[derive(Debug, Serialize, ToSchema)]
pub struct ActualOut {
    /// Id, `act_…`.
    pub id: String,
    /// Running number within the job, from 1.
    pub number: i64,
    /// What was recorded.
    #[schema(value_type = ActualEntry)]
    pub entry: Box<RawValue>,
    /// Of a purchase order: what it came to when it was recorded, before tax. It is what the order costs where the entry has no
    /// `total` of its own. Absent in records of old.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub order_total: Option<Amount>,
    /// When it was recorded.
    pub recorded_at: Timestamp,
    /// Key that recorded it.
    pub recorded_by: String,
}

/// Records just added.
#[derive(Debug, Serialize, ToSchema)]
pub struct ActualsAdded {
    /// The records, in the order sent.
    pub items: Vec<ActualOut>,
}

page_type! {
    /// A page of records, oldest first.
    ActualPage of ActualOut
}

fn unreadable(error: impl std::fmt::Display) -> Problem {
    Problem::internal(format!("stored record: {error}"))
}

/// A purchase order as its record keeps it; other records, and those of old, are the entry alone.
fn kept_order(document: &str) -> Result<Option<OrderKept>, Problem> {
    #[derive(Deserialize)]
    struct Kept {
        entry: Option<serde::de::IgnoredAny>,
    }
    let kept: Kept = serde_json::from_str(document).map_err(unreadable)?;
    match kept.entry {
        Some(_) => read_document(document.as_bytes()).map(Some).map_err(unreadable),
        None => Ok(None),
    }
}

/// A record as it is kept. A purchase order is kept with what it holds now: the customer may take additions later.
fn kept(entry: &ActualEntry, orders: &[Placeable]) -> Result<String, Problem> {
    let of = match entry {
        ActualEntry::Ordered { order, .. } => orders.iter().find(|o| o.number == order.as_str()),
        _ => None,
    };
    let Some(order) = of else { return json_text(entry) };
    let held = order.by_category.iter();
    let held = held.map(|(category, amount)| OrderedSum { category: *category, amount: Signed(*amount) });
    let held =
        List::new(held.collect()).ok_or_else(|| Problem::internal("an order of too many categories"))?;
    json_text(&OrderKept { entry: entry.clone(), held })
}

fn out(row: ActualRow) -> Result<ActualOut, Problem> {
    let ActualRow {
        id,
        job_id: _,
        number,
        // Of the entry, which says them as well.
        kind: _,
        day: _,
        document,
        corrects: _,
        recorded_at,
        recorded_by,
    } = row;
    let kept = kept_order(&document)?;
    let order_total = kept.as_ref().map(|k| k.held.iter().map(|sum| sum.amount.0).sum());
    let entry = match kept {
        Some(OrderKept { entry, held: _ }) => json_text(&entry)?,
        None => document,
    };
    let entry = RawValue::from_string(entry).map_err(unreadable)?;
    Ok(ActualOut { id, number, entry, order_total, recorded_at: timestamp(recorded_at), recorded_by })
}

/// The last day that can have happened: the office's today. Papers, payments, costs and records are all held against it.
pub(super) fn last_day(state: &AppState) -> Result<OfficeDay<'_>, Problem> {
    state.office_day().ok_or_else(|| Problem::internal("the clock is outside the calendar"))
}

/// Stored records read back.
pub(super) fn records(rows: &[ActualRow]) -> Result<Vec<Recorded>, Problem> {
    rows.iter()
        .map(|row| {
            let (entry, held) = match kept_order(&row.document)? {
                Some(OrderKept { entry, held }) => {
                    (entry, held.iter().map(|sum| (sum.category, sum.amount.0)).collect())
                }
                None => (read_document(row.document.as_bytes()).map_err(unreadable)?, Vec::new()),
            };
            Ok(Recorded { id: row.id.clone(), entry, held })
        })
        .collect()
}

/// Record what happened
///
/// Hours by task and trade, quantities done, concrete tickets, purchase orders placed, deliveries, the end of the job. Records
/// are only added: a later one corrects an earlier one by naming it. All entries are written or none. A ticket of concrete is
/// recorded once; a part is a run or drain line of the estimates that the contract stands on or of the job's notes as they are
/// now. Hours and orders placed are costs in the job's ledger, so its ETag changes. An order is kept with what it comes to when it is
/// recorded (`order_total`): what the customer takes later is not in it.
#[utoipa::path(post, path = "/v1/jobs/{id}/actuals", tag = "actuals", operation_id = "addActuals",
    request_body(content = ActualsIn, example = json!({"entries": [
        {"kind": "hours", "on": "2026-03-09", "task": "dig_run", "trade": "laborer", "hours": "6.5 hr", "crew": "crew-1"},
        {"kind": "quantity", "on": "2026-03-09", "measure": "run_excavation", "quantity": "1.9 yd3"},
        {"kind": "concrete", "on": "2026-03-11", "ticket": "T-1", "volume": "1.75 yd3"}]})),
    params(("id" = String, Path, description = "Id of the job, `job_…`."),
        ("validate_only" = Option<bool>, Query, description = "Check everything, write nothing."),
        ("Idempotency-Key" = Option<String>, Header, description = "Repeats of the same request are answered from the first.")),
    responses((status = 201, description = "The records.", body = ActualsAdded,
        headers(("Location" = String, description = "Path of the records.")))))]
pub async fn add_actuals(
    State(state): State<AppState>,
    caller: Caller<may::ActualsWrite>,
    Path(id): Path<String>,
    asked: Asked,
    Body { document, bytes }: Body<ActualsIn>,
) -> Result<Response, Problem> {
    asked.check_query()?;
    if let Some(response) = asked.replay(&state, &caller, &bytes).await? {
        return Ok(response);
    }
    state.inner.store.job(&id).await?.ok_or_else(|| missing("job"))?;
    let acceptance = state.inner.store.acceptance(&id).await?.ok_or_else(not_accepted)?;
    let estimate =
        state.inner.store.estimate(&acceptance.estimate_id).await?.ok_or_else(|| missing("estimate"))?;
    let (book, _) = book(&state, Some(&estimate.price_book_version_id)).await?;
    let numbers = document.entries.iter().filter_map(|e| match e {
        ActualEntry::Ordered { order, .. } => Some(order.as_str()),
        _ => None,
    });
    let contract = contracts::contract(&state.inner.store.papers(&id).await?)?.map(|(_, contract)| contract);
    let orders = placeable(&state, &id, &estimate.id, contract.as_ref(), numbers).await?;
    let parts = parts_of(&state, &estimate, contract.as_ref(), &document.entries).await?;
    let today = state.book(None).await.ok();
    let mut session = match asked.open(&state, &caller, &bytes).await? {
        Opened::Replay(response) => return Ok(response),
        Opened::Fresh(session) => session,
    };
    let before = records(&session.write.actuals(&id).await?)?;
    let today = today.as_ref().map(|(book, _)| &**book);
    let grounds =
        Grounds { book: &book, today, parts: &parts, orders: &orders, office_day: last_day(&state)? };
    let faults = entries::check(&before, &document.entries, grounds);
    if !faults.is_empty() {
        return Err(faults.into());
    }
    let new = document
        .entries
        .iter()
        .map(|entry| {
            Ok(NewActual {
                id: new_id("act"),
                kind: entry.kind().to_owned(),
                day: entry.on().to_string(),
                document: kept(entry, &orders)?,
                corrects: entry.corrects().map(ToString::to_string),
            })
        })
        .collect::<Result<Vec<_>, Problem>>()?;
    session.write.put_actuals(&id, &new).await.map_err(|error| match error {
        StoreError::Conflict => {
            Problem::new(problem::CONFLICT, "one of the records is corrected already by a later one")
        }
        other => other.into(),
    })?;
    // Costs of the ledger come from the records.
    session.write.touch_ledger(&id).await?;
    let rows = session.write.actuals(&id).await?;
    let items = rows.into_iter().skip(before.len()).map(out).collect::<Result<_, _>>()?;
    let body = serde_json::to_vec(&ActualsAdded { items }).map_err(|e| Problem::internal(e.to_string()))?;
    let location = Some(format!("/v1/jobs/{id}/actuals"));
    session.finish(Reply { status: StatusCode::CREATED, location, etag: None, body }).await
}

/// The runs and drain lines that a job has: those of the estimates it was accepted on and its contract stands or stood on, and
/// of its notes as they are now. Nothing is read where no entry names a part.
async fn parts_of(
    state: &AppState,
    accepted: &EstimateRow,
    contract: Option<&Contract>,
    entries: &[ActualEntry],
) -> Result<Vec<Code>, Problem> {
    if !entries.iter().any(|e| matches!(e, ActualEntry::Hours { part: Some(_), .. })) {
        return Ok(Vec::new());
    }
    let mut notes = vec![stored_notes(&accepted.notes)?];
    for id in contract.iter().flat_map(|c| c.estimates()).filter(|id| id.as_str() != accepted.id) {
        if let Some(row) = state.inner.store.estimate(id.as_str()).await? {
            notes.push(stored_notes(&row.notes)?);
        }
    }
    let job = state.inner.store.job(&accepted.job_id).await?;
    if let Some(text) = job.and_then(|j| j.notes) {
        notes.push(stored_notes(&text)?);
    }
    let named = |n: &SiteNotes| -> Vec<Code> {
        n.runs.iter().map(|r| r.id.clone()).chain(n.drain_lines.iter().map(|l| l.id.clone())).collect()
    };
    Ok(notes.iter().flat_map(named).collect())
}

/// List records of a job
///
/// Everything that was ever recorded, corrected or not, oldest first.
#[utoipa::path(get, path = "/v1/jobs/{id}/actuals", tag = "actuals", operation_id = "listActuals",
    params(("id" = String, Path, description = "Id of the job, `job_…`."),
        ("limit" = Option<i64>, Query, description = "1 to 200; 50 when left out.", minimum = 1, maximum = 200),
        ("cursor" = Option<String>, Query, description = "`next_cursor` of the page before.")),
    responses((status = 200, description = "A page.", body = ActualPage)))]
pub async fn list_actuals(
    State(state): State<AppState>,
    _: Caller<may::ActualsRead>,
    Path(id): Path<String>,
    OriginalUri(uri): OriginalUri,
    params: Params,
) -> Result<Response, Problem> {
    let secret = &state.inner.cursor_secret;
    let list = format!("actuals {id}");
    let (limit, after) = limit_and_cursor(&params, secret, &list)?;
    state.inner.store.job(&id).await?.ok_or_else(|| missing("job"))?;
    let mut rows = state.inner.store.actuals(&id, after.map(|c| c.key), limit + 1).await?;
    let next_cursor = cut(&mut rows, limit, secret, &list, |r| Cursor { key: r.number, id: String::new() });
    let items = rows.into_iter().map(out).collect::<Result<_, _>>()?;
    let page = ActualPage { items, next_cursor };
    Ok(with_link(reply::json(StatusCode::OK, &page)?, &uri, page.next_cursor.as_deref()))
}

/// Compare estimate and actual of a job
///
/// Line by line: what the quantities made of the difference and what the rates did. Hours are reckoned by the price book of
/// the accepted estimate; once change orders were accepted, against the revision that the contract stands on and by its book.
#[utoipa::path(get, path = "/v1/jobs/{id}/comparison", tag = "actuals", operation_id = "compareJob",
    extensions(("x-refuses" = json!([409, 422]))),
    params(("id" = String, Path, description = "Id of the job, `job_…`.")),
    responses((status = 200, description = "The comparison.", body = JobComparison)))]
pub async fn compare_job(
    State(state): State<AppState>,
    _: Caller<may::ActualsRead>,
    Path(id): Path<String>,
    params: Params,
) -> Result<Response, Problem> {
    params.only(&[])?;
    state.inner.store.job(&id).await?.ok_or_else(|| missing("job"))?;
    let job = accepted(&state, &id).await?.ok_or_else(not_accepted)?;
    let (book, _): LoadedBook = book(&state, Some(&job.book_version)).await?;
    let rains = rains(&state, Some(&job.notes)).await?;
    let long = is_long(Some(&job.notes), 0, &book);
    apart_where(&state, long, move || {
        let hours = pipeline::hours_for(&job.notes, &book, &job.actuals, false, &rains)?;
        reply::json(StatusCode::OK, &compare((&id, &job.estimate_id), &job.actuals, &hours, &book))
    })
    .await?
}

#[cfg(test)]
mod tests {
    #![expect(clippy::unwrap_used, reason = "a test that cannot read its records must stop")]
    use super::*;

    #[test]
    fn records_of_old_are_the_entry_alone() {
        let entry = r#"{"kind":"order","on":"2026-03-03","order":"est_1-1"}"#;
        assert_eq!(kept_order(entry).unwrap(), None);
        let kept = format!(r#"{{"entry":{entry},"held":[{{"category":"material","amount":"70.00"}}]}}"#);
        let read = kept_order(&kept).unwrap().unwrap();
        assert_eq!(json_text(&read).unwrap(), kept);
    }
}
