//! A kept plan as a calendar file.

use super::missing;
use super::papers::job_fact;
use crate::app::AppState;
use crate::compute::job_plan::kept;
use crate::documents::icalendar::{self, EventsJob, Feed};
use crate::http::auth::{Caller, may};
use crate::http::extract::{Params, etag_of};
use crate::http::problem::Problem;
use crate::http::reply::{self, Disposition};
use axum::extract::{Path, State};
use axum::http::HeaderMap;
use axum::response::Response;

/// How often a calendar program should look again, in minutes.
const LOOK_AGAIN: u32 = 60;

/// Get a plan as a calendar
///
/// iCalendar (RFC 5545): an all-day event for every task and hold point, with the sequence numbers of the plan; what was
/// withdrawn is cancelled. Each event tells of its job in `SUMMARY` and `DESCRIPTION`, and has the address of the site as
/// `LOCATION`, both as the job has them now. Events of a job that is not accepted yet are tentative; once it is accepted they are
/// confirmed, and every sequence number is one higher.
///
/// A calendar program subscribes to this address with any name and the key as password.
#[utoipa::path(get, path = "/v1/plans/{id}/calendar", tag = "plans", operation_id = "getPlanCalendar",
    params(("id" = String, Path, description = "Id of the plan, `plan_…`."),
        ("If-None-Match" = Option<String>, Header, description = "304 when the ETag is still this.")),
    responses((status = 200, description = "The calendar.", body = String, content_type = "text/calendar",
        headers(("ETag" = String, description = "Changes with the file."))), (status = 304, description = "Not modified.")))]
pub async fn get_plan_calendar(
    State(state): State<AppState>,
    _: Caller<may::PlansRead>,
    Path(id): Path<String>,
    headers: HeaderMap,
    params: Params,
) -> Result<Response, Problem> {
    params.only(&[])?;
    let row = state.inner.store.plan(&id).await?.ok_or_else(|| missing("plan"))?;
    let job = job_fact(&state.inner.store.job(&row.job_id).await?.ok_or_else(|| missing("job"))?)?;
    let accepted = state.inner.store.acceptance(&row.job_id).await?;
    let issued = kept::read(&row.issued).ok_or_else(|| Problem::internal("stored plan: issued"))?;
    // What was tentative is confirmed by the acceptance, later than the plan was made.
    let last = accepted.as_ref().map_or(row.created_at, |a| a.created_at.max(row.created_at));
    let stamp = jiff::Timestamp::from_millisecond(last)
        .map(|at| jiff::tz::TimeZone::UTC.to_datetime(at))
        .map_err(|e| Problem::internal(e.to_string()))?;
    let file = icalendar::write(&Feed {
        product_id: "-//rillcast//plan 1//EN".to_owned(),
        name: job.title.to_string(),
        uid_domain: "rillcast".to_owned(),
        stamp_utc: stamp,
        refresh_minutes: Some(LOOK_AGAIN),
        events: icalendar::events_of(
            &issued,
            EventsJob { id: &row.job_id, title: job.title.as_str(), place: Some(job.site.address.as_str()) },
            accepted.is_some(),
        ),
    })
    .map_err(|faults| {
        Problem::internal(faults.iter().map(ToString::to_string).collect::<Vec<_>>().join("; "))
    })?;
    // The file is made of the plan, title and site of its job and whether that is accepted.
    let tag = etag_of(&format!("{}.calendar", row.plan_id), file.as_bytes());
    if let Some(response) = reply::unchanged(&headers, &tag) {
        return Ok(response);
    }
    let name = format!("plan-{}.ics", row.job_id);
    let response = reply::file("text/calendar; charset=utf-8", Disposition::Attachment, &name, file);
    Ok(reply::tagged(response, &tag))
}
