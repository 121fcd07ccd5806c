//! What the proposed rates would have done to a past job.

use super::EffectOut;
use crate::compute::drainage::shelf::RainShelf;
use crate::compute::job_record::many::Finished;
use crate::compute::pipeline;
use crate::domain::book::PriceBook;
use crate::units::{Quantity, Unit};
use crate::wire::Faults;
use crate::wire::notes::SiteNotes;

/// What the hours of a past job are reckoned from.
#[derive(Debug)]
pub struct Past<'a> {
    /// Its notes.
    pub notes: &'a SiteNotes,
    /// The rain they name.
    pub rains: &'a RainShelf,
}

/// The effect of the draft: its hours are rounded as those of any estimate are, so they are reckoned anew and not scaled.
///
/// # Errors
/// Faults of the notes against the draft.
pub(super) fn effect(finished: &Finished, past: &Past<'_>, draft: &PriceBook) -> Result<EffectOut, Faults> {
    let by_draft = pipeline::hours_for(past.notes, draft, &finished.actuals, true, past.rains)?;
    let tasks = &finished.hours.for_done.tasks;
    let is_told = tasks.iter().all(|t| finished.actuals.hours_of(t.task) > 0.0);
    Ok(EffectOut {
        job_id: finished.job.clone(),
        old: finished.hours.for_done.person_hours,
        new: by_draft.for_done.person_hours,
        actual: is_told.then(|| Quantity::computed(finished.actuals.all_hours(), Unit::Hr, 3)),
    })
}
