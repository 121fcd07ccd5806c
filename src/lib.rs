//! rillcast
#![allow(missing_docs)]
pub mod units;
pub mod wire;
