//! A plan as iCalendar (RFC 5545, with NAME and REFRESH-INTERVAL of RFC 7986): one all-day VEVENT per task
//! and per hold point.
//!
//! Days are dates without time or zone, the end exclusive as the format wants it. There is no METHOD: the
//! file is a feed to be read, not an invitation. The stamp comes in as an argument, so that the same plan
//! gives the same bytes. Lines end with CRLF and are folded at 75 octets, never inside a character; text is
//! escaped. Links between tasks are not in it: they are in the plan itself.

use std::collections::BTreeSet;

use jiff::civil::{Date, DateTime};
use thiserror::Error;

use crate::compute::plan::{
    ids::is_label,
    issued::{IssuedItem, IssuedPlan},
    result::{Nature, Status},
};

/// A calendar file to be written.
#[derive(Debug, Clone, PartialEq)]
pub struct Feed {
    /// Who writes it: the PRODID, such as `-//rillcast//plan 1//EN`.
    pub product_id: String,
    /// What the calendar is called.
    pub name: String,
    /// The right half of every UID, a domain of the office's own.
    pub uid_domain: String,
    /// When the plan was handed out, in UTC: the DTSTAMP of every event.
    pub stamp_utc: DateTime,
    /// How often a reader should look again, in minutes.
    pub refresh_minutes: Option<u32>,
    /// The events.
    pub events: Vec<Event>,
}

/// One event.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Event {
    /// The left half of its UID; the same for the life of the job.
    pub key: String,
    /// Rises with every change of its days or standing.
    pub sequence: u32,
    /// First day.
    pub first_day: Date,
    /// Last day, included.
    pub last_day: Date,
    /// One line.
    pub summary: String,
    /// More, where there is more to say.
    pub description: Option<String>,
    /// Where it is, where that is known.
    pub location: Option<String>,
    /// How it stands.
    pub status: EventStatus,
    /// Whether it takes people's time: work does, a wait does not.
    pub busy: bool,
}

/// How an event stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EventStatus {
    /// May still move.
    Tentative,
    /// Agreed, under way or done.
    Confirmed,
    /// Withdrawn.
    Cancelled,
}

/// A fault that would make the file unreadable.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum FeedError {
    /// A text that must be there is blank.
    #[error("{field}: blank; give a text")]
    Blank {
        /// Which.
        field: &'static str,
    },
    /// A domain that is none.
    #[error("uid_domain: `{0}` is no domain; give 1 to 64 of the characters a-z, A-Z, 0-9, `-`, `_`, `.`")]
    Domain(String),
    /// Two events with one key.
    #[error("events[{index}].key: `{key}` is used twice; a UID stands for one event")]
    KeyTwice {
        /// Where it stands.
        index: usize,
        /// The key.
        key: String,
    },
    /// A key that cannot be part of a UID.
    #[error(
        "events[{index}].key: `{key}` may only have ASCII letters, digits, `-`, `_`, `.` and `+`, 1 to 200 of them"
    )]
    Key {
        /// Where it stands.
        index: usize,
        /// The key.
        key: String,
    },
    /// An event that ends before it begins.
    #[error("events[{index}] `{key}`: last day {last} is before the first {first}")]
    EndsBeforeStart {
        /// Where it stands.
        index: usize,
        /// The key.
        key: String,
        /// First day.
        first: Date,
        /// Last day.
        last: Date,
    },
    /// A year that the format cannot write.
    #[error("{field}: year {year} cannot be written; give a year from 1 to 9998")]
    Year {
        /// Where it stands.
        field: String,
        /// The year.
        year: i16,
    },
}

/// The job of a plan, as its events tell of it.
#[derive(Debug, Clone, Copy)]
pub struct EventsJob<'a> {
    /// Its name for life; with the task's it makes the UID.
    pub id: &'a str,
    /// What it is called.
    pub title: &'a str,
    /// Where it is.
    pub place: Option<&'a str>,
}

/// Most characters of a job's title on the one line of an event, so that the task stays in sight; the description has it whole.
const MOST_OF_TITLE: usize = 40;

/// A title that fits on the line: whole, or its first words.
fn first_words(title: &str) -> String {
    let Some((cut, _)) = title.char_indices().nth(MOST_OF_TITLE) else { return title.to_owned() };
    let fits = title.get(..cut).unwrap_or(title);
    let words = fits.rfind(char::is_whitespace).and_then(|at| fits.get(..at)).unwrap_or(fits);
    format!("{}…", words.trim_end_matches(|c: char| c.is_whitespace() || c == ','))
}

/// The events of an issued plan: its tasks and hold points, withdrawn ones as cancelled. Each tells of its job and its place, since
/// a phone shows the events of all jobs together; neither raises a sequence number, which is for days and standing.
///
/// `confirmed` says whether the plan is agreed or may still move; what has begun is confirmed in any case. That is agreed once,
/// at another time than the plan was made, and turns tentative events into confirmed ones: every sequence is one higher from then
/// on.
pub fn events_of(issued: &IssuedPlan, job: EventsJob<'_>, confirmed: bool) -> Vec<Event> {
    let EventsJob { id: job, title, place } = job;
    let short = first_words(title);
    let event = |key: String, item: &IssuedItem, busy: bool| Event {
        key,
        sequence: item.sequence.saturating_add(u32::from(confirmed)),
        first_day: item.start,
        last_day: item.finish,
        summary: format!("{} – {short}", item.name),
        description: Some(match &item.note {
            Some(note) => format!("Job: {title}\n{note}"),
            None => format!("Job: {title}"),
        }),
        location: place.map(str::to_owned),
        status: match (item.withdrawn, item.status, confirmed) {
            (true, ..) => EventStatus::Cancelled,
            (false, Status::Planned, false) => EventStatus::Tentative,
            _ => EventStatus::Confirmed,
        },
        busy,
    };
    let tasks =
        issued.tasks.iter().map(|(id, item)| event(format!("{job}+{id}"), item, item.nature == Nature::Work));
    let holds = issued.holds.iter().map(|(id, item)| event(format!("{job}+{id}+hold"), item, false));
    tasks.chain(holds).collect()
}

/// Writes the file.
///
/// # Example
/// ```
/// use jiff::civil::{date, datetime};
/// use rillcast::documents::icalendar::{Event, EventStatus, Feed, write};
/// let feed = Feed {
///     product_id: "-//rillcast//plan 1//EN".into(),
///     name: "Garden court".into(),
///     uid_domain: "office.example".into(),
///     stamp_utc: datetime(2026, 3, 1, 12, 0, 0, 0),
///     refresh_minutes: Some(60),
///     events: vec![Event {
///         key: "job-0007+dig".into(),
///         sequence: 2,
///         first_day: date(2026, 3, 9),
///         last_day: date(2026, 3, 10),
///         summary: "Dig, north wall (crew of 3)".into(),
///         description: None,
///         location: Some("14 Alder Bend".into()),
///         status: EventStatus::Confirmed,
///         busy: true,
///     }],
/// };
/// let text = write(&feed).map_err(|all| all[0].clone())?;
/// assert!(text.contains("DTSTART;VALUE=DATE:20260309\r\n"));
/// assert!(text.contains("DTEND;VALUE=DATE:20260311\r\n")); // exclusive
/// assert!(text.contains("SUMMARY:Dig\\, north wall (crew of 3)\r\n"));
/// assert!(text.contains("LOCATION:14 Alder Bend\r\n"));
/// # Ok::<(), rillcast::documents::icalendar::FeedError>(())
/// ```
/// # Errors
/// Every [`FeedError`] at once.
pub fn write(feed: &Feed) -> Result<String, Vec<FeedError>> {
    check(feed)?;
    let mut file = Lines::default();
    file.line("BEGIN:VCALENDAR");
    file.line("VERSION:2.0");
    file.text("PRODID", &feed.product_id);
    file.line("CALSCALE:GREGORIAN");
    file.text("NAME", &feed.name);
    if let Some(minutes) = feed.refresh_minutes {
        file.line(&format!("REFRESH-INTERVAL;VALUE=DURATION:PT{}M", minutes.max(1)));
    }
    let at = feed.stamp_utc;
    let stamp = format!("{}T{:02}{:02}{:02}Z", day(at.date()), at.hour(), at.minute(), at.second());
    for event in &feed.events {
        file.event(event, &feed.uid_domain, &stamp);
    }
    file.line("END:VCALENDAR");
    Ok(file.0)
}

/// Content lines of the format.
#[derive(Default)]
struct Lines(String);

/// Most octets of a line, its end not counted (RFC 5545, 3.1).
const MOST_OCTETS: usize = 75;

impl Lines {
    /// A line, folded: what does not fit goes on in the next, after a space that the reader drops.
    fn line(&mut self, content: &str) {
        let mut rest = content;
        let mut room = MOST_OCTETS;
        while rest.len() > room {
            let Some((now, later)) = rest.split_at_checked(fold_point(rest, room)) else {
                break;
            };
            self.0.push_str(now);
            self.0.push_str("\r\n ");
            (rest, room) = (later, MOST_OCTETS - 1);
        }
        self.0.push_str(rest);
        self.0.push_str("\r\n");
    }

    /// A property of free text, escaped (RFC 5545, 3.3.11).
    fn text(&mut self, name: &str, text: &str) {
        let mut content = format!("{name}:");
        for character in plain(text).chars() {
            match character {
                '\n' => content.push_str("\\n"),
                '\\' | ';' | ',' => content.extend(['\\', character]),
                _ => content.push(character),
            }
        }
        self.line(&content);
    }

    fn event(&mut self, event: &Event, domain: &str, stamp: &str) {
        self.line("BEGIN:VEVENT");
        self.line(&format!("UID:{}@{domain}", event.key));
        self.line(&format!("DTSTAMP:{stamp}"));
        self.line(&format!("SEQUENCE:{}", event.sequence));
        self.line(&format!("DTSTART;VALUE=DATE:{}", day(event.first_day)));
        // the day after exists: years are checked to stop at 9998
        let end = event.last_day.tomorrow().unwrap_or(event.last_day);
        self.line(&format!("DTEND;VALUE=DATE:{}", day(end)));
        self.text("SUMMARY", &event.summary);
        if let Some(description) = &event.description {
            self.text("DESCRIPTION", description);
        }
        if let Some(location) = &event.location {
            self.text("LOCATION", location);
        }
        self.line(match event.status {
            EventStatus::Tentative => "STATUS:TENTATIVE",
            EventStatus::Confirmed => "STATUS:CONFIRMED",
            EventStatus::Cancelled => "STATUS:CANCELLED",
        });
        self.line(if event.busy { "TRANSP:OPAQUE" } else { "TRANSP:TRANSPARENT" });
        self.line("END:VEVENT");
    }
}

/// Where to fold: the last place within the room that has no white space on either side, since some readers
/// drop it there; where there is none, the last place between two characters.
fn fold_point(text: &str, room: usize) -> usize {
    let mut last = 0;
    let mut clear = 0;
    let mut before = ' ';
    for (at, character) in text.char_indices().take_while(|(at, _)| *at <= room) {
        last = at;
        if !before.is_whitespace() && !character.is_whitespace() {
            clear = at;
        }
        before = character;
    }
    if clear > 0 { clear } else { last }
}

fn day(date: Date) -> String {
    format!("{:04}{:02}{:02}", date.year(), date.month(), date.day())
}

/// Text without control characters: line ends become line feeds, a tab a space, the rest goes; they have no
/// place in the format.
fn plain(text: &str) -> String {
    let text = text.replace("\r\n", "\n").replace('\r', "\n").replace('\t', " ");
    text.chars().filter(|c| *c == '\n' || !c.is_control()).collect()
}

fn check(feed: &Feed) -> Result<(), Vec<FeedError>> {
    let mut faults = Vec::new();
    for (field, text) in [("product_id", &feed.product_id), ("name", &feed.name)] {
        if plain(text).trim().is_empty() {
            faults.push(FeedError::Blank { field });
        }
    }
    if !is_label(&feed.uid_domain) {
        faults.push(FeedError::Domain(feed.uid_domain.chars().take(80).collect()));
    }
    let mut year = |field: String, date: Date| {
        if !(1..=9998).contains(&date.year()) {
            faults.push(FeedError::Year { field, year: date.year() });
        }
    };
    year("stamp_utc".into(), feed.stamp_utc.date());
    for (index, event) in feed.events.iter().enumerate() {
        year(format!("events[{index}].first_day"), event.first_day);
        year(format!("events[{index}].last_day"), event.last_day);
    }
    let mut seen = BTreeSet::new();
    for (index, event) in feed.events.iter().enumerate() {
        let key = event.key.clone();
        let fits = |b: u8| b.is_ascii_alphanumeric() || matches!(b, b'-' | b'_' | b'.' | b'+');
        if !(1..=200).contains(&key.len()) || !key.bytes().all(fits) {
            faults.push(FeedError::Key { index, key: key.chars().take(80).collect() });
        }
        if event.last_day < event.first_day {
            let (first, last) = (event.first_day, event.last_day);
            faults.push(FeedError::EndsBeforeStart { index, key: key.clone(), first, last });
        }
        if !seen.insert(&event.key) {
            faults.push(FeedError::KeyTwice { index, key });
        }
    }
    if faults.is_empty() { Ok(()) } else { Err(faults) }
}
