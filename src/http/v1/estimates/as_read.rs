//! What a job had when a revision of it was computed, against what it has when the revision is written.

use crate::app::{AppState, LoadedBook};
use crate::http::problem::{self, Problem};
use crate::http::reply::Session;
use crate::http::v1::book;

/// What a job had when a revision of it was computed.
pub(super) struct AsRead {
    /// Its site notes, where the revision is computed from them.
    pub(super) notes: Option<String>,
    /// The version that its last revision is priced from.
    pub(super) last: Option<String>,
    /// Whether the request names the version it is priced from, whatever the last one was.
    pub(super) is_named: bool,
}

impl AsRead {
    /// The version that the last revision is priced from when this one is written. A revision that came meanwhile from the version
    /// `used`, or to a request that names its version, changes nothing of this one but what is said of the currency before it.
    ///
    /// # Errors
    /// Where the revision would not be what is asked for any more: its notes or the choice of its price book are of before.
    pub(super) async fn last_as_written(
        &self,
        session: &mut Session,
        job: &str,
        used: &str,
    ) -> Result<Option<String>, Problem> {
        let changed =
            |what: &str| Problem::new(problem::CONFLICT, format!("the job got {what} meanwhile: ask again"));
        if self.notes.is_some() && session.write.job(job).await?.and_then(|job| job.notes) != self.notes {
            return Err(changed("other site notes"));
        }
        let last = session.write.last_version(job).await?;
        if !self.is_named && last != self.last && last.as_deref() != Some(used) {
            return Err(changed("a revision from another version of a price book"));
        }
        Ok(last)
    }
}

/// A word on a revision that is priced in another currency than the one before.
pub(super) async fn other_currency(
    state: &AppState,
    last: Option<&str>,
    (priced, used): &LoadedBook,
) -> Result<Vec<String>, Problem> {
    let Some(last) = last.filter(|last| *last != used.version_id) else { return Ok(Vec::new()) };
    let (before, was) = book(state, Some(last)).await?;
    let (from, to) = (before.doc().currency, priced.doc().currency);
    let told = || {
        format!(
            "this revision is priced in {to} from `{}`, the one before in {from} from `{}`: a contract in {from} cannot be changed \
             to it",
            used.name, was.name
        )
    };
    Ok((from != to).then(told).into_iter().collect())
}
