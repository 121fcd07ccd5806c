//! rillcast
#![allow(missing_docs)]
pub mod domain;
pub mod units;
pub mod wire;
