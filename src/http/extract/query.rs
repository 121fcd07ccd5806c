//! Query parameters: their names and their values, every fault of both at once.

use crate::app::AppState;
use crate::http::problem::{self, Problem};
use crate::wire::Words;
use crate::wire::day::Day;
use axum::extract::FromRequestParts;
use axum::http::request::Parts;

/// Query parameters. [`Params::all`] refuses unknown names and takes the values that were read.
#[derive(Debug, Clone, Default)]
pub struct Params(Vec<(String, String)>);

impl FromRequestParts<AppState> for Params {
    type Rejection = Problem;

    async fn from_request_parts(parts: &mut Parts, _: &AppState) -> Result<Self, Problem> {
        let query = parts.uri.query().unwrap_or("");
        let read = axum::extract::Query::<Vec<(String, String)>>::try_from_uri(&parts.uri);
        match read {
            Ok(axum::extract::Query(list)) => Ok(Self(list)),
            Err(_) => Err(Problem::new(
                problem::BAD_QUERY,
                format!("the query of {} characters cannot be read", query.len()),
            )),
        }
    }
}

impl Params {
    /// Refuses parameters that are not in `known`, and those sent twice.
    ///
    /// # Errors
    /// Every such parameter.
    pub fn only(&self, known: &[&str]) -> Result<(), Problem> {
        let mut all = Ok(());
        let mut seen: Vec<&str> = Vec::new();
        for (name, value) in &self.0 {
            let fault = if !known.contains(&name.as_str()) {
                // What the value of an unknown parameter is, nobody knows: it is not shown.
                Problem::parameter(name, None, "unknown_parameter", "there is no such parameter here", known)
            } else if seen.contains(&name.as_str()) {
                Problem::parameter(name, Some(value), "duplicate", "this parameter is sent twice", &[])
            } else if value.contains(['\0', char::REPLACEMENT_CHARACTER]) {
                let rule = "UTF-8 text without a NUL character";
                Problem::parameter(name, Some(value), "text_rule", rule, &[])
            } else {
                seen.push(name);
                continue;
            };
            all = (all, Err::<(), _>(fault)).together().map(|_| ());
        }
        all
    }

    /// The parameters with what was sent of a list in several parts (`state=paid&state=issued`) as the one list that it is
    /// (`state=paid,issued`): programs send lists either way.
    #[must_use]
    pub fn listing(mut self, name: &str) -> Self {
        let Some(first) = self.0.iter().position(|(n, _)| n == name) else { return self };
        let parts: Vec<&str> = self.0.iter().filter(|(n, _)| n == name).map(|(_, v)| v.as_str()).collect();
        if parts.len() > 1 {
            let list = (name.to_owned(), parts.join(","));
            self.0.retain(|(n, _)| n != name);
            self.0.insert(first, list);
        }
        self
    }

    /// The values that were read, if the names are those of `known`.
    ///
    /// # Errors
    /// Every fault of the names and of the values.
    pub fn all<T: Together>(&self, known: &[&str], values: T) -> Result<T::All, Problem> {
        (self.only(known), values.together()).together().map(|((), values)| values)
    }

    /// A parameter.
    pub fn get(&self, name: &str) -> Option<&str> {
        self.0.iter().find(|(n, _)| n == name).map(|(_, v)| v.as_str())
    }

    /// A parameter that must be sent.
    ///
    /// # Errors
    /// When it was not.
    pub fn required(&self, name: &str, rule: &str) -> Result<&str, Problem> {
        self.get(name).ok_or_else(|| self.fault(name, "required", rule, &[]))
    }

    /// What is wrong with the value of a parameter.
    pub fn fault(&self, name: &str, code: &str, rule: impl Into<String>, allowed: &[&str]) -> Problem {
        Problem::parameter(name, self.get(name), code, rule, allowed)
    }

    /// A parameter that is a text on one line, if it was sent.
    ///
    /// # Errors
    /// When it is none, or too long.
    pub fn line(&self, name: &str) -> Result<Option<String>, Problem> {
        match self.get(name) {
            Some(t) if t.is_empty() || t.chars().count() > 200 || t.contains(char::is_control) => {
                Err(self.fault(name, "out_of_range", "1 to 200 characters on one line", &[]))
            }
            other => Ok(other.map(ToOwned::to_owned)),
        }
    }

    /// A parameter that is a word of a closed list; `usual` when left out.
    ///
    /// # Errors
    /// When it is none of them.
    pub fn one_of<W: Words>(&self, name: &str, rule: &str, usual: W) -> Result<W, Problem> {
        Ok(self.word(name, rule)?.unwrap_or(usual))
    }

    /// A parameter that is a word of a closed list, if it was sent.
    ///
    /// # Errors
    /// When it is none of them.
    pub fn word<W: Words>(&self, name: &str, rule: &str) -> Result<Option<W>, Problem> {
        let Some(text) = self.get(name) else { return Ok(None) };
        W::all().iter().copied().find(|w| w.as_word() == text).map(Some).ok_or_else(|| {
            let words: Vec<&str> = W::all().iter().map(|w| w.as_word()).collect();
            self.fault(name, "unknown_value", rule, &words)
        })
    }

    /// A parameter that lists words of a closed list with commas between them, in the order of that list; none where it was not sent.
    ///
    /// # Errors
    /// Every word that is none of them, and every one that stands there twice.
    pub fn words<W: Words>(&self, name: &str, rule: &str) -> Result<Vec<W>, Problem> {
        let Some(text) = self.get(name) else { return Ok(Vec::new()) };
        let known: Vec<&str> = W::all().iter().map(|w| w.as_word()).collect();
        let mut sent: Vec<&str> = Vec::new();
        let mut all = Ok(());
        for word in text.split(',').map(str::trim) {
            let (code, rule) = match (known.contains(&word), sent.contains(&word)) {
                (true, false) => {
                    sent.push(word);
                    continue;
                }
                (true, true) => ("duplicate", "each word once"),
                (false, _) => ("unknown_value", rule),
            };
            let fault = Problem::parameter(name, Some(word), code, rule, &known);
            all = (all, Err::<(), _>(fault)).together().map(|_| ());
        }
        all.map(|()| W::all().iter().copied().filter(|w| sent.contains(&w.as_word())).collect())
    }

    /// A parameter that is an instant (RFC 3339), in unix milliseconds.
    ///
    /// # Errors
    /// When it is none.
    pub fn instant(&self, name: &str) -> Result<Option<i64>, Problem> {
        let rule = "an instant (RFC 3339) as 2026-03-01T00:00:00Z or 2026-03-01T00:00:00-05:00, its offset at most 23:59; a `+` is \
                    sent as `%2B`";
        let read = |text| instant_ms(text).ok_or_else(|| self.fault(name, "instant", rule, &[]));
        self.get(name).map(read).transpose()
    }

    /// A parameter that is a day, if it was sent.
    ///
    /// # Errors
    /// When it is none.
    pub fn day(&self, name: &str) -> Result<Option<Day>, Problem> {
        let read = |text| {
            Day::parse(text).ok_or_else(|| self.fault(name, "day", "a day that exists, as 2027-03-01", &[]))
        };
        self.get(name).map(read).transpose()
    }

    /// `validate_only`: everything is checked, nothing is written.
    ///
    /// # Errors
    /// When it is neither `true` nor `false`.
    pub fn validate_only(&self) -> Result<bool, Problem> {
        self.flag("validate_only")
    }

    /// A parameter that is `true` or `false`; `false` when left out.
    ///
    /// # Errors
    /// When it is neither.
    pub fn flag(&self, name: &str) -> Result<bool, Problem> {
        Ok(self.choice(name)?.unwrap_or(false))
    }

    /// Of a CSV file: whether it is to begin with a byte order mark. Nothing else may be sent.
    ///
    /// # Errors
    /// When `byte_order_mark` is neither `true` nor `false`, and on other parameters.
    pub fn only_byte_order_mark(&self) -> Result<bool, Problem> {
        let (marked,) = self.all(&["byte_order_mark"], (self.flag("byte_order_mark"),))?;
        Ok(marked)
    }

    /// A parameter that is `true` or `false`, if it was sent.
    ///
    /// # Errors
    /// When it is neither.
    pub fn choice(&self, name: &str) -> Result<Option<bool>, Problem> {
        match self.get(name) {
            None => Ok(None),
            Some("false") => Ok(Some(false)),
            Some("true") => Ok(Some(true)),
            Some(_) => Err(self.fault(name, "unknown_value", "true or false", &["false", "true"])),
        }
    }
}

/// An instant of RFC 3339 in unix milliseconds, parts of a millisecond left out: any of the years 0000 to 9999 under any offset.
fn instant_ms(text: &str) -> Option<i64> {
    let (date, time) = (text.get(..10)?, text.get(11..)?);
    let digits = |t: &str, n: usize| t.len() == n && t.bytes().all(|b| b.is_ascii_digit());
    let pair = |t: Option<&str>, most: i64| {
        t.filter(|t| digits(t, 2)).and_then(|t| t.parse::<i64>().ok()).filter(|n| *n <= most)
    };
    let zone = time.find(['Z', 'z', '+', '-'])?;
    let (clock, offset) = time.split_at(zone);
    let offset_minutes = if offset.eq_ignore_ascii_case("z") {
        0
    } else {
        let (hours, minutes) = offset.get(1..)?.split_once(':')?;
        let minutes = pair(Some(hours), 23)? * 60 + pair(Some(minutes), 59)?;
        if offset.starts_with('-') { -minutes } else { minutes }
    };
    let (whole, part) = clock.split_once('.').map_or((clock, None), |(whole, part)| (whole, Some(part)));
    let mut parts = whole.splitn(3, ':');
    let (hour, minute) = (pair(parts.next(), 23)?, pair(parts.next(), 59)?);
    // A leap second is the second after it here, as in unix time.
    let second = pair(parts.next(), 60)?;
    if !part.is_none_or(|p| !p.is_empty() && p.bytes().all(|b| b.is_ascii_digit())) {
        return None;
    }
    let thousandths = format!("{:0<3}", part.unwrap_or_default()).get(..3)?.parse::<i64>().ok()?;
    let separated = matches!(text.as_bytes().get(10), Some(b'T' | b't' | b' '));
    let mut parts = date.splitn(3, '-');
    let (year, month, day) = (parts.next()?, pair(parts.next(), 12)?, pair(parts.next(), 31)?);
    if !separated || !digits(year, 4) {
        return None;
    }
    let date = jiff::civil::Date::new(year.parse().ok()?, month as i8, day as i8).ok()?;
    let days =
        i64::from(date.since((jiff::Unit::Day, jiff::civil::Date::new(1970, 1, 1).ok()?)).ok()?.get_days());
    let minutes = (days * 24 + hour) * 60 + minute - offset_minutes;
    Some((minutes * 60 + second) * 1_000 + thousandths)
}

/// What was read of a request part by part: all of it, or every fault.
pub trait Together {
    /// All of it.
    type All;

    /// # Errors
    /// The faults of every part that are of the first one's kind.
    fn together(self) -> Result<Self::All, Problem>;
}

impl Together for () {
    type All = ();

    fn together(self) -> Result<(), Problem> {
        Ok(())
    }
}

macro_rules! together {
    ($(($($part:ident $value:ident)+))+) => {$(
        impl<$($value),+> Together for ($(Result<$value, Problem>,)+) {
            type All = ($($value,)+);

            fn together(self) -> Result<Self::All, Problem> {
                let ($($part,)+) = self;
                match ($($part,)+) {
                    ($(Ok($part),)+) => Ok(($($part,)+)),
                    ($($part,)+) => {
                        let faults = [$($part.err()),+];
                        Err(faults.into_iter().flatten().reduce(Problem::and).unwrap_or_else(|| {
                            Problem::internal("a fault was lost")
                        }))
                    }
                }
            }
        }
    )+};
}

together! {
    (first First)
    (first First second Second)
    (first First second Second third Third)
    (first First second Second third Third fourth Fourth)
}

#[cfg(test)]
mod tests {
    use super::instant_ms;

    #[test]
    fn every_instant_of_rfc_3339_is_read() {
        for (text, ms) in [
            ("1970-01-01T00:00:00Z", 0),
            ("1969-12-31t23:59:59.5z", -500),
            ("2026-03-01T00:00:00-05:00", 1_772_341_200_000),
            ("2026-03-01 05:00:00.1239Z", 1_772_341_200_123),
            ("2026-02-28T23:59:00-23:59", 1_772_409_480_000),
            ("2016-12-31T23:59:60Z", 1_483_228_800_000),
            // Its examples (section 5.8): the same instant twice.
            ("1996-12-19T16:39:57-08:00", 851_042_397_000),
            ("1996-12-20T00:39:57Z", 851_042_397_000),
            ("9999-12-31T23:59:59Z", 253_402_300_799_000),
            ("9999-12-31T23:59:59-23:59", 253_402_387_139_000),
            ("0000-01-01T00:00:00+23:59", -62_167_305_540_000),
        ] {
            assert_eq!(instant_ms(text), Some(ms), "{text}");
        }
    }

    #[test]
    fn what_is_none_is_refused() {
        for text in [
            "",
            "2026-03-01",
            "2026-03-01T00:00:00",
            "2026-03-01T00:00Z",
            "2026-3-1T00:00:00Z",
            "2026-02-29T00:00:00Z",
            "2026-13-01T00:00:00Z",
            "2026-00-01T00:00:00Z",
            "2026-03-01T24:00:00Z",
            "2026-03-01T00:60:00Z",
            "2026-03-01T00:00:61Z",
            "2026-03-01T00:00:00.Z",
            "2026-03-01T00:00:00+25:00",
            "2026-03-01T00:00:00+24:00",
            "2026-03-01T00:00:00+00:60",
            "2026-03-01T00:00:00+0500",
            "2026-03-01T00:00:00 05:00",
            "2026-03-01T00:00:00ZZ",
            "2026-03-01T00:00:00Z[UTC]",
            "2026-03-01_00:00:00Z",
            "+2026-03-01T00:00:00Z",
            "2026-03-01T00:00:0é0Z",
            "１２３４-03-01T00:00:00Z",
        ] {
            assert_eq!(instant_ms(text), None, "{text}");
        }
    }
}
