//! Every setting: its variable, default and rule. Checked whole at start; nothing reads the environment after that.

use crate::wire::nearest;
use std::net::SocketAddr;
use std::path::PathBuf;
use std::time::Duration;

/// The effective settings, each read from the variable of the [`Setting`] in its comment.
#[derive(Debug, Clone)]
pub struct Config {
    /// [`LISTEN`].
    pub listen: SocketAddr,
    /// [`DATABASE`].
    pub database: PathBuf,
    /// [`READERS`].
    pub readers: u32,
    /// [`BODY_LIMIT`].
    pub body_limit: usize,
    /// [`DEADLINE_SECONDS`].
    pub deadline: Duration,
    /// [`CONNECTIONS`].
    pub connections: usize,
    /// [`CONCURRENCY`].
    pub concurrency: usize,
    /// [`REQUESTS_PER_MINUTE`].
    pub requests_per_minute: u32,
    /// [`LOG`].
    pub log: String,
    /// Whether [`LOG_FORMAT`] is `json`.
    pub log_json: bool,
    /// [`DRAIN_SECONDS`].
    pub drain: Duration,
    /// [`TIME_ZONE`].
    pub time_zone: jiff::tz::TimeZone,
}

/// A variable of the environment: how it is read and what is told of it come from here alone.
#[derive(Debug)]
pub struct Setting {
    /// Its name.
    pub name: &'static str,
    /// What it means, for whoever asks the program for help.
    pub meaning: &'static str,
    /// The least and the most that it takes, where it is a whole number.
    pub range: Option<(u64, u64)>,
    /// What is told behind the range.
    pub more: &'static str,
}

macro_rules! settings {
    ($($const:ident = $name:literal, $meaning:literal, $range:expr, $more:literal;)+) => {
        $(
            #[doc = concat!("`", $name, "`: ", $meaning, $more, ".")]
            pub const $const: Setting =
                Setting { name: $name, meaning: $meaning, range: $range, more: $more };
        )+
    };
}

settings! {
    LISTEN = "RILLCAST_LISTEN", "address and port", None, "";
    DATABASE = "RILLCAST_DATABASE", "the SQLite file", None, "";
    READERS = "RILLCAST_READERS", "connections that read the database", Some((1, 64)), "";
    BODY_LIMIT = "RILLCAST_BODY_LIMIT", "largest JSON body in bytes", Some((1024, 64 << 20)),
        "; a price book or a list as CSV may have ten times as many";
    DEADLINE_SECONDS = "RILLCAST_DEADLINE_SECONDS",
        "how long a request may take, and how long a connection may send nothing of the next one or take nothing of its answer",
        Some((1, 600)), "";
    CONNECTIONS = "RILLCAST_CONNECTIONS", "connections at once", Some((1, 100_000)),
        "; further ones wait until one of them ends";
    CONCURRENCY = "RILLCAST_CONCURRENCY", "requests at once", Some((1, 10_000)),
        "; further ones are refused with 503";
    REQUESTS_PER_MINUTE = "RILLCAST_REQUESTS_PER_MINUTE", "requests of one key", Some((0, 10_000_000)),
        "; 0 for no limit";
    LOG = "RILLCAST_LOG", "filter of the log, as info or rillcast=debug,info", None, "";
    LOG_FORMAT = "RILLCAST_LOG_FORMAT", "json or text", None, "";
    DRAIN_SECONDS = "RILLCAST_DRAIN_SECONDS", "how long running requests may take after a stop signal",
        Some((0, 300)), "";
    TIME_ZONE = "RILLCAST_TIME_ZONE",
        "where the office is, by its IANA name as America/Chicago: decides which day it is", None, "";
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

impl Setting {
    /// What to say of a value that does not hold.
    fn refused(&self, text: &str, rule: &str) -> String {
        format!("{}={text}: {rule}", self.name)
    }
}

impl Config {
    /// Reads the settings from a lookup of variables.
    ///
    /// # Errors
    /// Every variable whose value does not hold, named with its rule.
    pub fn read(lookup: impl Fn(&str) -> Option<String>) -> Result<Config, ConfigError> {
        let mut config = Config::default();
        let mut wrong = Vec::new();
        if let Some(text) = lookup(LISTEN.name) {
            match text.parse() {
                Ok(address) => config.listen = address,
                Err(_) => wrong.push(LISTEN.refused(&text, "an address with a port, as 127.0.0.1:8080")),
            }
        }
        if let Some(text) = lookup(DATABASE.name) {
            match database_file(&text) {
                Ok(file) => config.database = file,
                Err(rule) => wrong.push(DATABASE.refused(&text, &rule)),
            }
        }
        let mut number = |setting: Setting, set: &mut dyn FnMut(u64)| {
            let (least, most) = setting.range.unwrap_or((0, u64::MAX));
            if let Some(text) = lookup(setting.name) {
                match text.parse::<u64>().ok().filter(|n| (least..=most).contains(n)) {
                    Some(n) => set(n),
                    None => {
                        wrong.push(setting.refused(&text, &format!("a whole number from {least} to {most}")));
                    }
                }
            }
        };
        number(READERS, &mut |n| config.readers = n as u32);
        number(BODY_LIMIT, &mut |n| config.body_limit = n as usize);
        number(DEADLINE_SECONDS, &mut |n| config.deadline = Duration::from_secs(n));
        number(CONNECTIONS, &mut |n| config.connections = n as usize);
        number(CONCURRENCY, &mut |n| config.concurrency = n as usize);
        number(REQUESTS_PER_MINUTE, &mut |n| config.requests_per_minute = n as u32);
        number(DRAIN_SECONDS, &mut |n| config.drain = Duration::from_secs(n));
        if let Some(text) = lookup(TIME_ZONE.name) {
            match jiff::tz::TimeZone::get(&text) {
                Ok(zone) => config.time_zone = zone,
                Err(_) => wrong.push(TIME_ZONE.refused(&text, "an IANA name, as America/Chicago")),
            }
        }
        if let Some(text) = lookup(LOG.name) {
            match crate::telemetry::filter(&text) {
                Ok(_) => config.log = text,
                Err(error) => {
                    let rule = format!(
                        "{error}: off, error, warn, info, debug or trace, for single modules behind their names, separated by \
                         commas, as info or rillcast=debug,info"
                    );
                    wrong.push(LOG.refused(&text, &rule));
                }
            }
        }
        match lookup(LOG_FORMAT.name).as_deref() {
            None => {}
            Some("json") => config.log_json = true,
            Some("text") => config.log_json = false,
            Some(other) => wrong.push(LOG_FORMAT.refused(other, "json or text")),
        }
        if wrong.is_empty() { Ok(config) } else { Err(ConfigError(wrong)) }
    }

    /// What to say of each of these variables that looks like a setting and is none: it is read by nobody.
    pub fn unknown(variables: impl Iterator<Item = String>) -> Vec<String> {
        let known = Config::default().values().map(|(setting, _)| setting.name);
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
        for (Setting { name, meaning, range, more }, default) in Config::default().values() {
            let range = range.map_or_else(String::new, |(least, most)| format!(", {least} to {most}"));
            text += &format!("  {name}\n          {meaning}{range}{more} [default: {default}]\n");
        }
        text
    }

    /// Every setting with its value.
    fn values(&self) -> [(Setting, String); 12] {
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
        [
            (LISTEN, listen.to_string()),
            (DATABASE, database.display().to_string()),
            (READERS, readers.to_string()),
            (BODY_LIMIT, body_limit.to_string()),
            (DEADLINE_SECONDS, deadline.as_secs().to_string()),
            (CONNECTIONS, connections.to_string()),
            (CONCURRENCY, concurrency.to_string()),
            (REQUESTS_PER_MINUTE, requests_per_minute.to_string()),
            (LOG, log.clone()),
            (LOG_FORMAT, if *log_json { "json" } else { "text" }.to_owned()),
            (DRAIN_SECONDS, drain.as_secs().to_string()),
            (TIME_ZONE, time_zone.iana_name().unwrap_or("UTC").to_owned()),
        ]
    }

    /// The effective settings as lines to print. There is no secret among them; keys live in the database, hashed.
    pub fn lines(&self) -> Vec<String> {
        let values = self.values().map(|(setting, value)| format!("{}={value}", setting.name));
        let secret = "cursor signing secret=(in the database, masked)".to_owned();
        values.into_iter().chain([secret]).collect()
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
        for (setting, default) in Config::default().values() {
            let told =
                help.split_once(&format!("  {}\n", setting.name)).and_then(|(_, rest)| rest.lines().next());
            let told = told.unwrap_or_default();
            assert!(
                told.contains(setting.meaning) && told.ends_with(&format!("[default: {default}]")),
                "{told}"
            );
        }
        assert!(help.contains(
            "connections at once, 1 to 100000; further ones wait until one of them ends [default: 512]"
        ));
        assert!(help.contains("decides which day it is [default: UTC]"), "{help}");
    }

    #[test]
    fn a_number_is_taken_within_the_range_that_the_help_tells() {
        let help = Config::help();
        let mut numbers = 0;
        for (setting, _) in Config::default().values() {
            let Some((least, most)) = setting.range else { continue };
            numbers += 1;
            assert!(help.contains(&format!("{}, {least} to {most}", setting.meaning)), "{}", setting.name);
            let read = |n: i128| {
                let read = Config::read(|name| (name == setting.name).then(|| n.to_string()));
                read.map(|config| config.lines().contains(&format!("{}={n}", setting.name)))
            };
            for sound in [least, most] {
                assert_eq!(read(sound.into()), Ok(true), "{}={sound}", setting.name);
            }
            for beyond in [i128::from(least) - 1, i128::from(most) + 1] {
                let told = format!("{}={beyond}: a whole number from {least} to {most}", setting.name);
                assert_eq!(read(beyond), Err(ConfigError(vec![told])));
            }
        }
        assert_eq!(numbers, 7);
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
