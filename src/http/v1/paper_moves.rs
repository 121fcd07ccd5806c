//! How a move on a paper begins: its kept answer, its row, its version and whether its state allows it.
//!
//! By [`begin`] where all of it follows on each other; by [`taken_up`] where the handler opens the transaction itself, since something is
//! read or made before it; by [`allowed`] where the row is needed before its version and state are looked at.

use super::papers::{moved, of_kind};
use crate::app::AppState;
use crate::compute::contract::moves::{Move, PaperKind, PaperState};
use crate::http::auth::Caller;
use crate::http::problem::Problem;
use crate::http::reply::{Asked, Opened, Session};
use crate::store::papers::PaperRow;
use axum::response::Response;

/// A move that may go on.
pub(super) struct Moving {
    /// The transaction it is made in.
    pub session: Box<Session>,
    /// The paper as this transaction sees it.
    pub row: PaperRow,
    /// The state the move leads to.
    pub to: PaperState,
}

/// What came of beginning a move.
pub(super) enum Begun {
    /// The answer to the same request, kept from the first time.
    Replay(Response),
    /// It may go on.
    Fresh(Box<Moving>),
}

/// Begins a move on a paper of this kind, under the request's Idempotency-Key.
pub(super) async fn begin<S>(
    state: &AppState,
    caller: &Caller<S>,
    asked: &Asked,
    bytes: &[u8],
    id: &str,
    (kind, by): (PaperKind, Move),
) -> Result<Begun, Problem> {
    let mut session = match asked.open_keyed(state, caller, bytes).await? {
        Opened::Replay(response) => return Ok(Begun::Replay(response)),
        Opened::Fresh(session) => session,
    };
    let (row, to) = taken_up(&mut session, asked, id, (kind, by)).await?;
    Ok(Begun::Fresh(Box::new(Moving { session, row, to })))
}

/// The paper of a move and the state it leads to, in a transaction that is open: a paper of this kind, of the version in
/// `If-Match`, in a state that allows it.
pub(super) async fn taken_up(
    session: &mut Session,
    asked: &Asked,
    id: &str,
    (kind, by): (PaperKind, Move),
) -> Result<(PaperRow, PaperState), Problem> {
    let row = of_kind(session.write.paper(id).await?, kind)?;
    let to = allowed(asked, &row, by)?;
    Ok((row, to))
}

/// The state a move leads to, where the paper is of the version in `If-Match` and its state allows it.
pub(super) fn allowed(asked: &Asked, row: &PaperRow, by: Move) -> Result<PaperState, Problem> {
    asked.preconditions().check(&row.id, row.row_version)?;
    moved(row, by)
}

/// The moves that end a paper of one kind without anything else: the customer's no, the office's taking back, the end of its days.
macro_rules! closing {
    ($kind:ident, $out:ident, $tag:literal, $id:literal, $etag:literal, $answer:literal;
        $($name:ident, $by:ident, $path:literal, $operation:literal, $title:literal, $text:literal, $example:tt;)+) => {$(
        #[doc = $title]
        #[doc = ""]
        #[doc = $text]
        #[utoipa::path(post, path = $path, tag = $tag, operation_id = $operation,
            request_body(content = CloseIn, example = json!($example)),
            params(("id" = String, Path, description = $id),
                ("If-Match" = String, Header, description = $etag),
                ("validate_only" = Option<bool>, Query, description = "Check everything, write nothing."),
                ("Idempotency-Key" = String, Header, description = "Repeats of the same request are answered from the first.")),
            responses((status = 200, description = $answer, body = $out,
                headers(("ETag" = String, description = "For `If-Match`.")))))]
        pub async fn $name(
            State(state): State<AppState>,
            caller: Caller<may::QuotesWrite>,
            Path(id): Path<String>,
            asked: Asked,
            body: Body<CloseIn>,
        ) -> Result<Response, Problem> {
            close(&state, &caller, &asked, &id, (PaperKind::$kind, Move::$by), body, changed).await
        }
    )+};
}
pub(super) use closing;
