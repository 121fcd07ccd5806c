//! Whether anybody still waits for an answer. Long work asks between its parts and ends when nobody does. It changes no answer:
//! what is broken off is thrown away.

use crate::wire::{At, Faults};
use std::fmt;
use std::sync::Arc;

/// Whether anybody still waits, as the caller says; by default somebody always does.
#[derive(Clone, Default)]
pub struct Wanted(Option<Arc<dyn Fn() -> bool + Send + Sync>>);

impl fmt::Debug for Wanted {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_tuple("Wanted").field(&!self.is_over()).finish()
    }
}

impl Wanted {
    /// Work that is wanted as long as `waits` says so.
    pub fn while_waiting(waits: impl Fn() -> bool + Send + Sync + 'static) -> Self {
        Self(Some(Arc::new(waits)))
    }

    /// Whether nobody waits any more.
    pub fn is_over(&self) -> bool {
        self.0.as_ref().is_some_and(|waits| !waits())
    }

    /// Ends work that nobody waits for.
    ///
    /// # Errors
    /// When nobody does: what was computed so far is not whole.
    pub fn go_on(&self) -> Result<(), Faults> {
        let mut faults = Faults::new();
        if self.is_over() {
            faults.add(&At::ROOT, "broken_off", "nobody waits for the answer any more");
        }
        faults.finish(Some(()))
    }
}
