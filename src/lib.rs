//! rillcast
#![allow(missing_docs)]
pub mod app;
pub mod compute;
pub mod config;
pub mod demo;
pub mod domain;
pub mod http;
pub mod store;
pub mod telemetry;
pub mod units;
pub mod wire;
