//! The log: one event per request, fields with their unit in the name, no secrets and no bodies.

use crate::config::Config;
use tracing_subscriber::EnvFilter;

/// Levels of a filter.
const LEVELS: [&str; 6] = ["off", "error", "warn", "info", "debug", "trace"];

/// The filter of the log from its text.
///
/// # Errors
/// What is wrong with it. A word alone that is no level would be read as the name of a module, and the log would say nothing: it is
/// refused.
pub fn filter(text: &str) -> Result<EnvFilter, String> {
    let level = |word: &str| LEVELS.iter().any(|l| word.eq_ignore_ascii_case(l));
    let unread = text.split(',').find(|part| !part.contains(['=', '[']) && !level(part));
    if let Some(part) = unread {
        return Err(format!("`{part}` is no level"));
    }
    EnvFilter::try_new(text).map_err(|e| e.to_string())
}

/// Starts the log on standard error. A second call does nothing. A line that cannot be written (a full disk, a pipe that nobody reads
/// any more) is lost without a word: there is nowhere to say it, and no request ends for it.
pub fn start(config: &Config) {
    let filter = filter(&config.log).unwrap_or_else(|_| EnvFilter::new("info"));
    let builder = tracing_subscriber::fmt()
        .with_env_filter(filter)
        .with_writer(std::io::stderr)
        .with_target(false)
        .log_internal_errors(false);
    let _ = if config.log_json {
        builder.json().flatten_event(true).with_current_span(false).try_init()
    } else {
        builder.try_init()
    };
}
