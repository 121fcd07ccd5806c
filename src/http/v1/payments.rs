//! Payments of invoices, as the accounting system reports them.

use super::contracts;
use super::invoices::{InvoiceOut, changed};
use super::paper_moves::allowed;
use super::papers::{self, json_text, last_day, of_kind};
use super::reports::ReadBack;
use super::{page_type, reports, with_link};
use crate::app::AppState;
use crate::compute::contract::accept::{check_payment, paid_from};
use crate::compute::contract::moves::{Move, PaperKind, PaperState, Settlement};
use crate::http::auth::{Caller, may};
use crate::http::extract::{Body, Params};
use crate::http::page::{Cursor, cut, limit_and_cursor};
use crate::http::problem::Problem;
use crate::http::reply::{self, Asked, Opened};
use crate::http::timestamp::Timestamp;
use crate::store::reports::ReportRow;
use crate::units::Amount;
use crate::wire::contract::inputs::InvoiceInputs;
use crate::wire::contract::requests::PaymentIn;
use axum::extract::{OriginalUri, Path, State};
use axum::http::StatusCode;
use axum::response::Response;
use serde::Serialize;
use serde_json::value::RawValue;
use utoipa::ToSchema;

/// A payment as it was reported.
#[derive(Debug, Serialize, ToSchema)]
pub struct PaymentOut {
    /// Id, `rep_…`.
    pub id: String,
    /// Job, `job_…`.
    pub job_id: String,
    /// Invoice it was reported for, `inv_…`.
    pub invoice_id: String,
    /// The payment.
    #[schema(value_type = PaymentIn)]
    pub payment: Box<RawValue>,
    /// When it was recorded.
    pub created_at: Timestamp,
    /// Key that reported it.
    pub created_by: String,
}

page_type! {
    /// A page of payments, newest first.
    PaymentPage of PaymentOut
}

fn payment_out(row: ReportRow) -> Result<PaymentOut, Problem> {
    let ReadBack { id, job_id, paper_id, said: payment, created_at, created_by } = reports::read_back(row)?;
    let invoice_id = paper_id.ok_or_else(|| Problem::internal("a payment of no invoice"))?;
    Ok(PaymentOut { id, job_id, invoice_id, payment, created_at, created_by })
}

/// Report a payment
///
/// As the accounting system books it, under its own reference. Negative when money went back. More than is owed is recorded only when
/// that is confirmed by `over_paid`. Not before the date of the invoice; a deposit may have come with the acceptance of the quote.
/// An office that keeps its books by hand sends a word of its own as `system`, such as `office`, and the number of its receipt, of the
/// check or of the transfer as `reference`. One `system` and `reference` is recorded once: a payment under a reference
/// that is recorded is refused with 409, and the error at `#/reference` says which invoice, day and amount are held under it. Its code
/// is `recorded_already` where that is this very payment, so that nothing is left to do, and `reference_taken` where it is another
/// one. That is told before `If-Match` and the state of the invoice are looked at, whatever the payment has changed of them.
/// `GET /v1/invoices/{id}/payments` lists what is held.
#[utoipa::path(post, path = "/v1/invoices/{id}/payments", tag = "invoices", operation_id = "reportPayment",
    request_body(content = PaymentIn, example = json!({"system": "accounting", "reference": "RCPT-2001", "on": "2026-03-20", "amount": "1500.00", "note": "Part of the deposit"})),
    params(("id" = String, Path, description = "Id of the invoice, `inv_…`."),
        ("If-Match" = String, Header, description = "ETag of the invoice, or `*`."),
        ("validate_only" = Option<bool>, Query, description = "Check everything, write nothing."),
        ("Idempotency-Key" = String, Header, description = "Repeats of the same request are answered from the first.")),
    responses((status = 200, description = "The invoice.", body = InvoiceOut,
        headers(("ETag" = String, description = "For `If-Match`.")))))]
pub async fn report_payment(
    State(state): State<AppState>,
    caller: Caller<may::AccountingWrite>,
    Path(id): Path<String>,
    asked: Asked,
    Body { document, bytes }: Body<PaymentIn>,
) -> Result<Response, Problem> {
    let mut session = match asked.open_keyed(&state, &caller, &bytes).await? {
        Opened::Replay(response) => return Ok(response),
        Opened::Fresh(session) => session,
    };
    let row = of_kind(session.write.paper(&id).await?, PaperKind::Invoice)?;
    let amount = document.amount.0;
    let said = (&document.system, &document.reference, document.on);
    let report = reports::of_invoice(&row, "payment", said, amount, json_text(&document)?);
    reports::once(&mut session, &report).await?;
    allowed(&asked, &row, Move::Pay)?;
    let inputs: InvoiceInputs = papers::stored(&row.inputs)?;
    let rows = session.write.papers(&row.job_id).await?;
    let (_, contract) = contracts::need_contract(&rows)?;
    let from = paid_from(document.on, &inputs, &contract);
    let before = Settlement {
        payable: Amount::from_minor(row.payable_minor),
        credited: Amount::from_minor(row.credited_minor),
        credited_whole: papers::state_of(&row)? == PaperState::Credited,
        paid: Amount::from_minor(row.paid_minor),
    };
    let others = rows.iter().filter(|r| r.id != id).map(|r| Amount::from_minor(r.paid_minor)).sum();
    let faults = check_payment(&document, from, (before.due(), before.paid, others), last_day(&state)?);
    if !faults.is_empty() {
        return Err(faults.into());
    }
    session.write.put_report(&report).await?;
    let settled = Settlement { paid: before.paid + amount, ..before };
    let (to, paid) = (settled.state().word(), settled.paid.minor());
    session.write.settle_paper(&id, row.row_version, to, paid, row.credited_minor).await?;
    session.write.touch_ledger(&row.job_id).await?;
    let after = papers::read_back(&mut session, &id).await?;
    papers::audit(&mut session, "pay", &row, &after, serde_json::json!({"payment": document})).await?;
    session.finish(changed(after)?).await
}

/// List payments
///
/// Reported for one invoice, newest first. They come to what the invoice has as `paid`.
#[utoipa::path(get, path = "/v1/invoices/{id}/payments", tag = "invoices", operation_id = "listPayments",
    params(("id" = String, Path, description = "Id of the invoice, `inv_…`."),
        ("limit" = Option<i64>, Query, description = "1 to 200; 50 when left out.", minimum = 1, maximum = 200),
        ("cursor" = Option<String>, Query, description = "`next_cursor` of the page before.")),
    responses((status = 200, description = "A page.", body = PaymentPage)))]
pub async fn list_payments(
    State(state): State<AppState>,
    _: Caller<may::InvoicesRead>,
    Path(id): Path<String>,
    OriginalUri(uri): OriginalUri,
    params: Params,
) -> Result<Response, Problem> {
    let list = format!("payments {id}");
    let secret = &state.inner.cursor_secret;
    let (limit, after) = limit_and_cursor(&params, secret, &list)?;
    let invoice = of_kind(state.inner.store.paper(&id).await?, PaperKind::Invoice)?;
    let before = after.as_ref().map(|c| (c.key, c.id.as_str()));
    let mut rows = state.inner.store.payments(&invoice.job_id, &id, before, limit + 1).await?;
    let next_cursor =
        cut(&mut rows, limit, secret, &list, |r| Cursor { key: r.created_at, id: r.id.clone() });
    let items = rows.into_iter().map(payment_out).collect::<Result<_, _>>()?;
    let page = PaymentPage { items, next_cursor };
    Ok(with_link(reply::json(StatusCode::OK, &page)?, &uri, page.next_cursor.as_deref()))
}
