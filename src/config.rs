//! Every setting: its variable, default and rule. Checked whole at start; nothing reads the environment after that.

use crate::wire::nearest;
use std::net::SocketAddr;
use std::path::PathBuf;
use std::time::Duration;

/// The effective settings.
#[derive(Debug, Clone)]
pub struct Config {
    /// `RILLCAST_LISTEN`: address and port; default `127.0.0.1:8080`.
    pub listen: SocketAddr,
    /// `RILLCAST_DATABASE`: SQLite file; default `rillcast.sqlite`.
    pub database: PathBuf,
    /// `RILLCAST_READERS`: read connections, 1 to 64; default 4.
    pub readers: u32,
    /// `RILLCAST_BODY_LIMIT`: largest JSON body in bytes, 1024 to 64 MiB; default 1 MiB. A price list as CSV may have ten times as many.
    pub body_limit: usize,
    /// `RILLCAST_DEADLINE_SECONDS`: how long a request may take, and how long a connection may be without the whole head of the next
    /// one, or take nothing of its answer, 1 to 600; default 30.
    pub deadline: Duration,
    /// `RILLCAST_CONNECTIONS`: connections at once, 1 to 100000; further ones wait until one of them ends; default 512.
    pub connections: usize,
    /// `RILLCAST_CONCURRENCY`: requests at once, 1 to 10000; default 256.
    pub concurrency: usize,
    /// `RILLCAST_REQUESTS_PER_MINUTE`: per key, 0 for no limit; default 600.
    pub requests_per_minute: u32,
    /// `RILLCAST_LOG`: filter of the log, as `info` or `rillcast=debug,info`; default `info`.
    pub log: String,
    /// `RILLCAST_LOG_FORMAT`: `json` or `text`; default `json`.
    pub log_json: bool,
    /// `RILLCAST_DRAIN_SECONDS`: how long running requests may take after a stop signal, 0 to 300; default 30.
    pub drain: Duration,
    /// `RILLCAST_TIME_ZONE`: where the office is, by its IANA name as `America/Chicago`: its day is the one on
    /// which a price book with dates begins to hold, and after which a day is to come; default `UTC`.
    pub time_zone: jiff::tz::TimeZone,
}

impl Default for Config {
    fn default() -> Self {
        Self {
            listen: SocketAddr::from(([127, 0, 0, 1], 8080)),
            database: PathBuf::from("rillcast.sqlite"),
            readers: 4,
            body_limit: 1024 * 1024,
            deadline: Duration::from_secs(30),
            connections: 512,
            concurrency: 256,
            requests_per_minute: 600,
            log: "info".to_owned(),
            log_json: true,
            drain: Duration::from_secs(30),
            time_zone: jiff::tz::TimeZone::UTC,
        }
    }
}

/// What each setting means and takes, for whoever asks the program for help.
const MEANINGS: [(&str, &str); 12] = [
    ("RILLCAST_LISTEN", "address and port"),
    ("RILLCAST_DATABASE", "the SQLite file"),
    ("RILLCAST_READERS", "connections that read the database, 1 to 64"),
    (
        "RILLCAST_BODY_LIMIT",
        "largest JSON body in bytes, 1024 to 67108864; a price list as CSV may have ten times as many",
    ),
    (
        "RILLCAST_DEADLINE_SECONDS",
        "how long a request may take, and how long a connection may send nothing of the next one or take nothing of its answer, 1 to 600",
    ),
    ("RILLCAST_CONNECTIONS", "connections at once, 1 to 100000; further ones wait until one of them ends"),
    ("RILLCAST_CONCURRENCY", "requests at once, 1 to 10000; further ones are refused with 503"),
    ("RILLCAST_REQUESTS_PER_MINUTE", "requests of one key, 0 for no limit"),
    ("RILLCAST_LOG", "filter of the log, as info or rillcast=debug,info"),
    ("RILLCAST_LOG_FORMAT", "json or text"),
    ("RILLCAST_DRAIN_SECONDS", "how long running requests may take after a stop signal, 0 to 300"),
    (
        "RILLCAST_TIME_ZONE",
        "where the office is, by its IANA name as America/Chicago: decides which day it is",
    ),
];

/// The file of a database by its name.
///
/// # Errors
/// What is wrong with it. SQLite takes some names for no file at all: with those each connection would have a database of its own, in
/// memory or in a file that is gone when it closes.
pub fn database_file(text: &str) -> Result<PathBuf, String> {
    if text.trim().is_empty() || text == ":memory:" || text.starts_with("file:") {
        return Err("the path of a file, as rillcast.sqlite or /data/rillcast.sqlite".to_owned());
    }
    Ok(PathBuf::from(text))
}

/// Settings that do not hold, all of them.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{}", .0.join("\n"))]
pub struct ConfigError(pub Vec<String>);

impl Config {
    /// Reads the settings from a lookup of variables.
    ///
    /// # Errors
    /// Every variable whose value does not hold, named with its rule.
    pub fn read(lookup: impl Fn(&str) -> Option<String>) -> Result<Config, ConfigError> {
        let mut config = Config::default();
        let mut wrong = Vec::new();
        if let Some(text) = lookup("RILLCAST_LISTEN") {
            match text.parse() {
                Ok(address) => config.listen = address,
                Err(_) => {
                    wrong.push(format!("RILLCAST_LISTEN={text}: an address with a port, as 127.0.0.1:8080"))
                }
            }
        }
        if let Some(text) = lookup("RILLCAST_DATABASE") {
            match database_file(&text) {
                Ok(file) => config.database = file,
                Err(rule) => wrong.push(format!("RILLCAST_DATABASE={text}: {rule}")),
            }
        }
        let mut number = |name: &str, least: u64, most: u64, set: &mut dyn FnMut(u64)| {
            if let Some(text) = lookup(name) {
                match text.parse::<u64>().ok().filter(|n| (least..=most).contains(n)) {
                    Some(n) => set(n),
                    None => wrong.push(format!("{name}={text}: a whole number from {least} to {most}")),
                }
            }
        };
        number("RILLCAST_READERS", 1, 64, &mut |n| config.readers = n as u32);
        number("RILLCAST_BODY_LIMIT", 1024, 64 << 20, &mut |n| config.body_limit = n as usize);
        number("RILLCAST_DEADLINE_SECONDS", 1, 600, &mut |n| config.deadline = Duration::from_secs(n));
        number("RILLCAST_CONNECTIONS", 1, 100_000, &mut |n| config.connections = n as usize);
        number("RILLCAST_CONCURRENCY", 1, 10_000, &mut |n| config.concurrency = n as usize);
        number("RILLCAST_REQUESTS_PER_MINUTE", 0, 10_000_000, &mut |n| config.requests_per_minute = n as u32);
        number("RILLCAST_DRAIN_SECONDS", 0, 300, &mut |n| config.drain = Duration::from_secs(n));
        if let Some(text) = lookup("RILLCAST_TIME_ZONE") {
            match jiff::tz::TimeZone::get(&text) {
                Ok(zone) => config.time_zone = zone,
                Err(_) => wrong.push(format!("RILLCAST_TIME_ZONE={text}: an IANA name, as America/Chicago")),
            }
        }
        if let Some(text) = lookup("RILLCAST_LOG") {
            match crate::telemetry::filter(&text) {
                Ok(_) => config.log = text,
                Err(error) => wrong.push(format!(
                    "RILLCAST_LOG={text}: {error}: off, error, warn, info, debug or trace, for single modules behind their \
                     names, separated by commas, as info or rillcast=debug,info"
                )),
            }
        }
        match lookup("RILLCAST_LOG_FORMAT").as_deref() {
            None => {}
            Some("json") => config.log_json = true,
            Some("text") => config.log_json = false,
            Some(other) => wrong.push(format!("RILLCAST_LOG_FORMAT={other}: json or text")),
        }
        if wrong.is_empty() { Ok(config) } else { Err(ConfigError(wrong)) }
    }

    /// What to say of each of these variables that looks like a setting and is none: it is read by nobody.
    pub fn unknown(variables: impl Iterator<Item = String>) -> Vec<String> {
        let lines = Config::default().lines();
        let known: Vec<&str> =
            lines.iter().filter_map(|line| line.split_once('=')).map(|(name, _)| name).collect();
        let mut unknown: Vec<String> = variables
            .filter(|name| name.starts_with("RILLCAST_") && !known.contains(&name.as_str()))
            .collect();
        unknown.sort();
        let told = |name: &String| {
            let near = nearest(name, &known).map(|n| format!("; did you mean `{n}`?"));
            format!("`{name}` is no setting and is not read{}", near.unwrap_or_default())
        };
        unknown.iter().map(told).collect()
    }

    /// Every setting with its meaning and default, as the program's help tells them.
    pub fn help() -> String {
        let mut text = "Settings, each a variable of the environment:\n".to_owned();
        for (line, (name, meaning)) in Config::default().lines().iter().zip(MEANINGS) {
            let default = line.split_once('=').map_or("", |(_, default)| default);
            text += &format!("  {name}\n          {meaning} [default: {default}]\n");
        }
        text
    }

    /// The effective settings as lines to print. There is no secret among them; keys live in the database, hashed.
    pub fn lines(&self) -> Vec<String> {
        let Config {
            listen,
            database,
            readers,
            body_limit,
            deadline,
            connections,
            concurrency,
            requests_per_minute,
            log,
            log_json,
            drain,
            time_zone,
        } = self;
        vec![
            format!("RILLCAST_LISTEN={listen}"),
            format!("RILLCAST_DATABASE={}", database.display()),
            format!("RILLCAST_READERS={readers}"),
            format!("RILLCAST_BODY_LIMIT={body_limit}"),
            format!("RILLCAST_DEADLINE_SECONDS={}", deadline.as_secs()),
            format!("RILLCAST_CONNECTIONS={connections}"),
            format!("RILLCAST_CONCURRENCY={concurrency}"),
            format!("RILLCAST_REQUESTS_PER_MINUTE={requests_per_minute}"),
            format!("RILLCAST_LOG={log}"),
            format!("RILLCAST_LOG_FORMAT={}", if *log_json { "json" } else { "text" }),
            format!("RILLCAST_DRAIN_SECONDS={}", drain.as_secs()),
            format!("RILLCAST_TIME_ZONE={}", time_zone.iana_name().unwrap_or("UTC")),
            "cursor signing secret=(in the database, masked)".to_owned(),
        ]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_wrong_setting_is_named() {
        let wrong = Config::read(|name| match name {
            "RILLCAST_LISTEN" => Some("here".to_owned()),
            "RILLCAST_READERS" => Some("0".to_owned()),
            "RILLCAST_LOG_FORMAT" => Some("xml".to_owned()),
            "RILLCAST_TIME_ZONE" => Some("Atlantis/Harbor".to_owned()),
            _ => None,
        });
        assert!(wrong.is_err_and(|e| e.0.len() == 4));
        assert!(Config::read(|_| None).is_ok());
    }

    #[test]
    fn a_database_is_a_file() {
        let read = |text: &str| Config::read(|name| (name == "RILLCAST_DATABASE").then(|| text.to_owned()));
        for sound in ["office.sqlite", "/data/rillcast.sqlite", "./:memory:", "a b"] {
            assert!(read(sound).is_ok_and(|c| c.database == std::path::Path::new(sound)), "{sound}");
        }
        for unsound in ["", "  ", ":memory:", "file:office.sqlite?mode=memory", "file::memory:"] {
            let wrong = read(unsound).map_or_else(|e| e.to_string(), |_| "was taken".to_owned());
            assert!(
                wrong.starts_with(&format!("RILLCAST_DATABASE={unsound}: the path of a file")),
                "{wrong}"
            );
        }
    }

    #[test]
    fn a_variable_that_is_no_setting_is_told_with_the_one_that_was_meant() {
        let names =
            ["RILLCAST_READER", "PATH", "RILLCAST_LISTEN", "RILLCAST_", "RILLCAST_COLOR", "rillcast_log"];
        let told = Config::unknown(names.into_iter().map(str::to_owned));
        assert_eq!(told.len(), 3, "{told:#?}");
        assert!(told[0].starts_with("`RILLCAST_` is no setting"), "{told:#?}");
        assert!(told[1].starts_with("`RILLCAST_COLOR` is no setting"), "{told:#?}");
        assert!(told[2].ends_with("; did you mean `RILLCAST_READERS`?"), "{told:#?}");
        // Every setting that is read is one.
        let asked = std::cell::RefCell::new(Vec::new());
        let read = Config::read(|name| {
            asked.borrow_mut().push(name.to_owned());
            None
        });
        assert!(read.is_ok() && asked.borrow().len() == 12, "{asked:?}");
        assert_eq!(Config::unknown(asked.into_inner().into_iter()), Vec::<String>::new());
    }

    #[test]
    fn the_help_tells_each_setting_with_its_own_default() {
        let help = Config::help();
        let lines = Config::default().lines();
        let settings: Vec<_> = lines.iter().filter_map(|line| line.split_once('=')).collect();
        let told: Vec<&str> = MEANINGS.iter().map(|(name, _)| *name).collect();
        let printed: Vec<&str> =
            settings.iter().map(|(name, _)| *name).filter(|name| name.starts_with("RILLCAST_")).collect();
        assert_eq!(told, printed);
        assert!(help.contains(
            "connections at once, 1 to 100000; further ones wait until one of them ends [default: 512]"
        ));
        assert!(help.contains("decides which day it is [default: UTC]"), "{help}");
    }

    #[test]
    fn a_filter_of_the_log_that_would_not_hold_is_named() {
        let read = |text: &str| {
            Config::read(|name| (name == "RILLCAST_LOG").then(|| text.to_owned())).map(|config| config.log)
        };
        for sound in ["info", "WARN", "rillcast=debug,info", "off", "rillcast::http=trace,sqlx=warn"] {
            assert_eq!(read(sound).as_deref(), Ok(sound));
        }
        for (unsound, told) in [
            ("inof", "`inof` is no level"),
            ("rillcast=loud", "RILLCAST_LOG=rillcast=loud: "),
            ("", "`` is no level"),
            ("info,", "`` is no level"),
            ("info;debug", "`info;debug` is no level"),
            ("rillcast=debug, info", "` info` is no level"),
        ] {
            let wrong = read(unsound).map_or_else(|e| e.to_string(), |log| format!("`{log}` was taken"));
            assert!(wrong.contains(told) && wrong.contains("as info or rillcast=debug,info"), "{wrong}");
        }
    }
}
