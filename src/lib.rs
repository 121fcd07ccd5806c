//! rillcast
#![allow(missing_docs)]
pub mod compute;
pub mod domain;
pub mod units;
pub mod wire;
