//! Query parameters: their names and their values, every fault of both at once.

use crate::app::AppState;
use crate::http::problem::{self, Problem};
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

    /// What is wrong with the value of a parameter.
    pub fn fault(&self, name: &str, code: &str, rule: impl Into<String>, allowed: &[&str]) -> Problem {
        Problem::parameter(name, self.get(name), code, rule, allowed)
    }

    /// A parameter that is one of a few words; the first of them when left out.
    ///
    /// # Errors
    /// When it is none of them.
    pub fn word<'w>(&self, name: &str, rule: &str, words: &[&'w str]) -> Result<&'w str, Problem> {
        match self.get(name) {
            None => Ok(words.first().copied().unwrap_or("")),
            Some(text) => words
                .iter()
                .copied()
                .find(|w| *w == text)
                .ok_or_else(|| self.fault(name, "unknown_value", rule, words)),
        }
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
        Ok(self.word(name, "true or false", &["false", "true"])? == "true")
    }
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
