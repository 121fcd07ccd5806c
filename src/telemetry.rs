//! The log: one event per request, fields with their unit in the name, no secrets and no bodies.

use crate::config::Config;
use tracing_subscriber::EnvFilter;

/// Starts the log on standard error. A second call does nothing.
pub fn start(config: &Config) {
    let filter = EnvFilter::try_new(&config.log).unwrap_or_else(|_| EnvFilter::new("info"));
    let builder =
        tracing_subscriber::fmt().with_env_filter(filter).with_writer(std::io::stderr).with_target(false);
    let _ = if config.log_json {
        builder.json().flatten_event(true).with_current_span(false).try_init()
    } else {
        builder.try_init()
    };
}
