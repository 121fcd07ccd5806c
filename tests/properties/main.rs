//! What must hold for every job, tried on random ones.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs, reason = "tests")]

mod contract;
mod exact;
mod jobs;
mod layouts;
mod pricing;
