//! Published figures and worked examples, each computed through the crate. Every case carries its source.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs, reason = "tests")]

mod concrete;
mod construction;
mod demo_values;
mod earth;
mod labor;
mod limits;
mod line_levels;
mod lines;
mod money;
mod pricing;
mod support;
mod takeoff;
mod trenches;
mod units;
