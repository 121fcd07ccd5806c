//! Whether anybody still waits for an answer. Long work looks here between its parts and ends when nobody does. It changes no
//! answer: what is broken off is thrown away.

use crate::wire::{At, Faults};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// Held by whoever waits; when it is dropped, nobody does any more.
#[derive(Debug, Default)]
pub struct Waiting(Arc<AtomicBool>);

impl Waiting {
    /// What the work looks at.
    pub fn wanted(&self) -> Wanted {
        Wanted(Some(Arc::clone(&self.0)))
    }
}

impl Drop for Waiting {
    fn drop(&mut self) {
        self.0.store(true, Ordering::Relaxed);
    }
}

/// What the work looks at; by default it is always wanted.
#[derive(Debug, Clone, Default)]
pub struct Wanted(Option<Arc<AtomicBool>>);

impl Wanted {
    /// Whether nobody waits any more.
    pub fn is_over(&self) -> bool {
        self.0.as_ref().is_some_and(|over| over.load(Ordering::Relaxed))
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
