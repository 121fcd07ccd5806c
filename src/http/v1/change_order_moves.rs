//! What becomes of a change order: issued, accepted, declined, withdrawn.

use super::change_orders::{ChangeOut, changed};
use super::contracts;
use super::paper_moves::{Begun, Moving, begin, closing};
use super::papers::{self, json_text, last_day};
use super::quote_moves::close;
use crate::app::AppState;
use crate::compute::contract::accept;
use crate::compute::contract::change::{beyond_contract, change};
use crate::compute::contract::fold::Contract;
use crate::compute::contract::issuing;
use crate::compute::contract::moves::{Move, PaperKind};
use crate::http::auth::{Caller, may};
use crate::http::extract::Body;
use crate::http::problem::{self, Problem};
use crate::http::reply::Asked;
use crate::store::papers::Rewritten;
use crate::units::Amount;
use crate::wire::contract::Signed;
use crate::wire::contract::inputs::ChangeInputs;
use crate::wire::contract::requests::{AcceptIn, CloseIn, IssueIn};
use crate::wire::{Code, Label};
use axum::extract::{Path, State};
use axum::response::Response;

/// The revision a change starts from must be the one the contract stands on.
fn still_stands(inputs: &ChangeInputs, contract: &Contract) -> Result<(), Problem> {
    if inputs.to.is_none() || inputs.from.estimate_id == contract.standing.estimate_id {
        return Ok(());
    }
    Err(Problem::new(
        problem::STATE_CONFLICT,
        format!(
            "this change starts from revision {}, and the contract stands on revision {} since: withdraw it and write it \
             anew",
            inputs.from.revision.get(),
            contract.standing.revision.get()
        ),
    ))
}

/// Issue a change order
///
/// It gets its number within the job and the contract sum it leads to, and is frozen. Its date is not to come, and not before that on
/// which the quote was accepted. Where checks of the changed layout failed, it is issued only when that is confirmed by `failed_checks`.
#[utoipa::path(post, path = "/v1/change-orders/{id}/issue", tag = "change orders", operation_id = "issueChangeOrder",
    request_body(content = IssueIn, example = json!({"on": "2026-03-16"})),
    params(("id" = String, Path, description = "Id of the change order, `chg_…`."),
        ("If-Match" = String, Header, description = "ETag of the change order, or `*`."),
        ("validate_only" = Option<bool>, Query, description = "Check everything, write nothing."),
        ("Idempotency-Key" = String, Header, description = "Repeats of the same request are answered from the first.")),
    responses((status = 200, description = "The change order.", body = ChangeOut,
        headers(("ETag" = String, description = "For `If-Match`.")))))]
pub async fn issue_change_order(
    State(state): State<AppState>,
    caller: Caller<may::QuotesWrite>,
    Path(id): Path<String>,
    asked: Asked,
    Body { document, bytes }: Body<IssueIn>,
) -> Result<Response, Problem> {
    let moving =
        match begin(&state, &caller, &asked, &bytes, &id, (PaperKind::ChangeOrder, Move::Issue)).await? {
            Begun::Replay(response) => return Ok(response),
            Begun::Fresh(moving) => moving,
        };
    let Moving { mut session, row, to } = *moving;
    let mut inputs: ChangeInputs = papers::stored(&row.inputs)?;
    let rows = session.write.papers(&row.job_id).await?;
    let (_, contract) = contracts::need_contract(&rows)?;
    still_stands(&inputs, &contract)?;
    let mut faults = accept::check_issue(document.on, &contract.quote, last_day(&state)?, "a change order");
    if faults.is_empty() {
        faults = accept::check_begun(document.on, &contract);
    }
    faults = faults.and::<()>(&Err(issuing::check_change(&document, &inputs)));
    if !faults.is_empty() {
        return Err(faults.into());
    }
    let number = papers::number(&mut session, PaperKind::ChangeOrder, &row.job_id).await?;
    inputs.number = Label::new(&number);
    inputs.code = Code::new(&number.to_ascii_lowercase());
    inputs.issued_on = Some(document.on);
    inputs.contract_before = Signed(contract.total());
    let (paper, component) = change(&inputs)?;
    if let Some(detail) = beyond_contract(paper.contract_before, paper.total) {
        return Err(Problem::new(problem::STATE_CONFLICT, detail));
    }
    let new = Rewritten {
        number: Some(number),
        state: to.word(),
        estimate_id: row.estimate_id.clone(),
        inputs: json_text(&inputs)?,
        document: json_text(&paper)?,
        effect: Some(json_text(&component)?),
        total_minor: paper.total.minor(),
    };
    session.write.write_paper(&id, row.row_version, &new).await?;
    let after = papers::read_back(&mut session, &id).await?;
    papers::audit(
        &mut session,
        "issue",
        &row,
        &after,
        papers::confirmed(&document, issuing::change_has_failed(&inputs)),
    )
    .await?;
    session.finish(changed(after)?).await
}

/// Accept a change order
///
/// The customer's yes. Its lines join the contract; the decision keeps the contract sum before and after.
#[utoipa::path(post, path = "/v1/change-orders/{id}/accept", tag = "change orders", operation_id = "acceptChangeOrder",
    request_body(content = AcceptIn, example = json!({"by": "Example Household", "on": "2026-03-17"})),
    params(("id" = String, Path, description = "Id of the change order, `chg_…`."),
        ("If-Match" = String, Header, description = "ETag of the change order, or `*`."),
        ("validate_only" = Option<bool>, Query, description = "Check everything, write nothing."),
        ("Idempotency-Key" = String, Header, description = "Repeats of the same request are answered from the first.")),
    responses((status = 200, description = "The change order.", body = ChangeOut,
        headers(("ETag" = String, description = "For `If-Match`.")))))]
pub async fn accept_change_order(
    State(state): State<AppState>,
    caller: Caller<may::QuotesWrite>,
    Path(id): Path<String>,
    asked: Asked,
    Body { document, bytes }: Body<AcceptIn>,
) -> Result<Response, Problem> {
    let moving =
        match begin(&state, &caller, &asked, &bytes, &id, (PaperKind::ChangeOrder, Move::Accept)).await? {
            Begun::Replay(response) => return Ok(response),
            Begun::Fresh(moving) => moving,
        };
    let Moving { mut session, row, to } = *moving;
    let inputs: ChangeInputs = papers::stored(&row.inputs)?;
    let mut faults = accept::check_change(&inputs, &document, last_day(&state)?);
    let rows = session.write.papers(&row.job_id).await?;
    let (_, contract) = contracts::need_contract(&rows)?;
    if faults.is_empty() {
        // One that was issued before the contract began, as they once could be, is not accepted before it either.
        faults = accept::check_begun(document.on, &contract);
    }
    if !faults.is_empty() {
        return Err(faults.into());
    }
    still_stands(&inputs, &contract)?;
    let (before, change) = (contract.total(), Amount::from_minor(row.total_minor));
    // Others may have been accepted since this one was issued.
    if let Some(detail) = beyond_contract(before, change) {
        return Err(Problem::new(problem::STATE_CONFLICT, detail));
    }
    let after = before + change;
    let decision = serde_json::json!({"by": document.by, "on": document.on, "contract_before": before,
        "contract_after": after});
    session.write.decide_paper(&id, row.row_version, to.word(), &decision.to_string(), None).await?;
    session.write.touch_ledger(&row.job_id).await?;
    let after = papers::read_back(&mut session, &id).await?;
    papers::audit(&mut session, "accept", &row, &after, serde_json::json!({"decision": decision})).await?;
    session.finish(changed(after)?).await
}

closing! {
    ChangeOrder, ChangeOut, "change orders", "Id of the change order, `chg_…`.", "ETag of the change order, or `*`.", "The change order.";
    decline_change_order,
    Decline,
    "/v1/change-orders/{id}/decline",
    "declineChangeOrder",
    "Decline a change order",
    "The customer's no.",
    { "on": "2026-03-17", "by": "Example Household", "reason": "The path stays as it was quoted." };
    withdraw_change_order,
    Withdraw,
    "/v1/change-orders/{id}/withdraw",
    "withdrawChangeOrder",
    "Withdraw a change order",
    "The office takes it back, or drops a draft.",
    { "on": "2026-03-18", "reason": "The path falls to the first outlet after all." };
}
