//! The API as a client sees it, against the real router.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs, reason = "tests")]

mod answers;
mod app;
mod books;
mod calculators;
mod concurrency;
mod estimates;
mod idempotency;
mod listener;
mod openapi;
mod paging;
mod scopes;
mod sweep;
