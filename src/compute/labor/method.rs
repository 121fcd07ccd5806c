//! Whether the method of a task can do its work, and whether its hours are all there.

use super::work::{counted_by, left_out};
use super::{Conditions, depth};
use crate::compute::takeoff::check;
use crate::domain::book::PriceBook;
use crate::domain::lines::{Check, Outcome};
use crate::domain::measures::Measures;
use crate::domain::words::{Difficulty, Measure, Task, Weather};
use crate::domain::work::{kind_of, measures_of};
use crate::units::Length;
use crate::units::show::{Show, worded};
use crate::wire::book::work::{LaborRate, LaborRules};

/// What the layout has of this task and no rate counts: its hours would be missing without a word.
pub(super) fn missing(
    rate: &LaborRate,
    measures: &Measures,
    conditions: &Conditions<'_>,
    counted: &[Measure],
    book: &PriceBook,
    checks: &mut Vec<Check>,
) {
    let present = |m: Measure| measures.base(m) > 0;
    let mut lost: Vec<Measure> = Vec::new();
    for unit_rate in &rate.rates {
        let m = unit_rate.measure;
        if present(m) && !counted.contains(&m) && !lost.contains(&m) {
            lost.push(m);
        }
    }
    for m in lost {
        checks.push(check(
            "labor_rate",
            rate.task.word(),
            Outcome::Fail,
            worded!(
                "`{}` has no rate for {m} in {}, or there is more of it than can be reckoned: its hours are \
                 missing; choose another method in `options.methods`",
                rate.method,
                conditions.soil
            ),
        ));
    }
    let beside = |m: &Measure| counted_by(*m, rate.task, measures, conditions, book).is_some();
    // One measure of a kind of work counts it whole, whoever's rate it is.
    let done = |m: &&Measure| {
        let kind = kind_of(**m, rate.task).unwrap_or_default();
        beside(m) || kind.iter().any(|of| present(*of) && beside(of))
    };
    let words: Vec<&str> = if rate.rates.iter().any(|r| present(r.measure)) {
        let kinds = left_out(rate, present).flat_map(|kind| kind.iter());
        kinds.filter(|m| present(**m) && !done(m)).map(|m| m.word()).collect()
    } else {
        let own = measures_of(rate.task).iter();
        own.filter(|m| present(**m) && !done(m)).map(|m| m.word()).collect()
    };
    if !words.is_empty() {
        checks.push(check(
            "labor_rate",
            rate.task.word(),
            Outcome::Fail,
            worded!("no rate of `{}` counts {}: its hours are missing", rate.method, words.join(", ")),
        ));
    }
}

/// Whether the method reaches as deep as it must, and works in the soil.
pub(super) fn method_checks(
    rate: &LaborRate,
    conditions: &Conditions<'_>,
    checks: &mut Vec<Check>,
    show: Show,
) {
    let deepest = depth::digs(rate.task, conditions).map(|(_, deepest)| deepest);
    let sawn = (rate.task == Task::SawCut).then_some(conditions.thickest_sawn);
    let wanted = deepest.or(sawn).filter(|d| d.is_positive());
    if let (Some(reach), Some(wanted)) = (rate.greatest_depth, wanted) {
        let reaches = wanted <= reach;
        // What is deeper than the method reaches, else the deepest alone.
        let named = conditions.trenches.of(rate.task, if reaches { wanted } else { reach }, reaches, show);
        let [most, wanted] = show.lengths_apart(reach, wanted);
        let method = &rate.method;
        let reason = match (sawn.is_some(), reaches) {
            (false, true) => worded!("`{method}` digs to {most} and reaches {wanted}{named}"),
            (false, false) => worded!("`{method}` digs to {most} and does not reach {wanted}{named}"),
            (true, true) => worded!("`{method}` cuts {most} deep; {wanted} is sawn: it goes through"),
            (true, false) => worded!(
                "`{method}` cuts {most} deep; {wanted} is sawn: it does not go through: choose another method in \
                 `options.methods`, or break out what stays below the cut"
            ),
        };
        let outcome = if reaches { Outcome::Pass } else { Outcome::Fail };
        checks.push(check("method_reach", rate.task.word(), outcome, reason));
    }
    if rate.not_in.contains(&conditions.soil) {
        checks.push(check(
            "method_in_soil",
            rate.task.word(),
            Outcome::Fail,
            worded!(
                "`{}` cannot work in {}: choose another method in `options.methods`",
                rate.method,
                conditions.soil
            ),
        ));
    }
}

impl super::Trenches<'_> {
    /// The trenches of a task that are deeper than this, or as deep where `as_deep` is told, each with its depth where there are
    /// several: ` (line main)`; nothing where nobody says which is how deep.
    fn of(&self, task: Task, over: Length, as_deep: bool, show: Show) -> String {
        let deep = |depth: Length| depth > over || (as_deep && depth == over);
        let (runs, lines) = (self.runs.iter(), self.lines.iter());
        let found: Vec<(String, Length)> = match task {
            Task::DigRun => {
                runs.filter(|r| deep(r.deepest)).map(|r| (worded!("run {}", r.run), r.deepest)).collect()
            }
            Task::DigLine => {
                lines.filter(|l| deep(l.deepest)).map(|l| (worded!("line {}", l.line), l.deepest)).collect()
            }
            _ => Vec::new(),
        };
        let several = found.iter().any(|(_, depth)| Some(*depth) != found.first().map(|f| f.1));
        let words =
            found.iter().map(
                |(name, depth)| {
                    if several { worded!("{name}: {}", show.length(*depth)) } else { name.clone() }
                },
            );
        let words = words.collect::<Vec<_>>().join(", ");
        if words.is_empty() { words } else { worded!(" ({words})") }
    }
}

/// Where the place or the weather is not the usual one and the book has no factor for it.
pub(super) fn without_factor(conditions: &Conditions<'_>, rules: Option<&LaborRules>) -> Vec<Check> {
    let told = |what: &'static str, word: &str, has: Vec<&str>| {
        let only = match &*has {
            [] => worded!("the price book has no factors for {what}"),
            has => worded!("the price book has no {what} factor for `{word}`, only for {}", has.join(", ")),
        };
        check("labor_factor", what, Outcome::Warn, worded!("{only}: `{word}` changes no hours"))
    };
    let mut out = Vec::new();
    let known: Vec<Difficulty> =
        rules.iter().flat_map(|r| r.difficulty.iter().map(|d| d.difficulty)).collect();
    let place = conditions.difficulty;
    if place != Difficulty::Normal && !known.contains(&place) {
        out.push(told("difficulty", place.word(), known.iter().map(|d| d.word()).collect()));
    }
    let known: Vec<Weather> = rules.iter().flat_map(|r| r.weather.iter().map(|w| w.weather)).collect();
    if let Some(weather) = conditions.weather.filter(|w| *w != Weather::Fair && !known.contains(w)) {
        out.push(told("weather", weather.word(), known.iter().map(|w| w.word()).collect()));
    }
    out
}
