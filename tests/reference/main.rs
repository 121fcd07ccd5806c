//! Published figures and worked examples, each computed through the crate. Every case carries its source.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs, reason = "tests")]

mod construction;
