//! What stands in the way of issuing a quote or a change order: the date of what it replaces, and checks that nobody has looked at.

use crate::wire::contract::facts::EstimateFact;
use crate::wire::contract::inputs::{ChangeInputs, QuoteInputs};
use crate::wire::contract::requests::IssueIn;
use crate::wire::day::Day;
use crate::wire::{At, Faults, Label, Note};
use std::collections::BTreeSet;

/// Failed checks that are named; how many more there are is said.
const MOST_NAMED: usize = 5;

/// What is wrong with issuing a quote: it is dated before the one whose place it takes, which was issued on `replaced`, or checks of
/// what it offers failed and that is not confirmed.
pub fn check_quote(issue: &IssueIn, quote: &QuoteInputs, replaced: Option<Day>) -> Faults {
    let mut faults = Faults::new();
    if let Some(before) = replaced.filter(|before| issue.on < *before) {
        let other = quote.supersedes.as_ref().map_or("another", Label::as_str);
        let detail = format!(
            "it takes the place of {other}, which was issued on {before}: date it on that day or later"
        );
        faults.value(&At::ROOT.member("on"), "before_issue_date", &issue.on.to_string(), detail);
    }
    failed_checks(issue, offered(quote), "quote", &mut faults);
    faults
}

/// Every estimate that a quote offers.
fn offered(quote: &QuoteInputs) -> impl Iterator<Item = &EstimateFact> {
    std::iter::once(&quote.estimate).chain(quote.alternates.iter().map(|a| &a.estimate))
}

/// Whether a check of anything that a quote offers failed.
pub fn quote_has_failed(quote: &QuoteInputs) -> bool {
    offered(quote).any(|e| !e.failed.is_empty())
}

/// Whether a check of the changed layout failed.
pub fn change_has_failed(change: &ChangeInputs) -> bool {
    change.to.iter().any(|e| !e.failed.is_empty())
}

/// What is wrong with issuing a change order: checks of the changed layout failed and that is not confirmed.
pub fn check_change(issue: &IssueIn, change: &ChangeInputs) -> Faults {
    let mut faults = Faults::new();
    failed_checks(issue, change.to.iter(), "change order", &mut faults);
    faults
}

fn failed_checks<'e>(
    issue: &IssueIn,
    estimates: impl Iterator<Item = &'e EstimateFact>,
    paper: &str,
    faults: &mut Faults,
) {
    let mut seen = BTreeSet::new();
    let failed: Vec<&Note> = estimates.flat_map(|e| e.failed.iter()).filter(|f| seen.insert(*f)).collect();
    if failed.is_empty() || issue.failed_checks.0 {
        return;
    }
    let named: Vec<&str> = failed.iter().take(MOST_NAMED).map(|f| f.as_str()).collect();
    let more = failed.len() - named.len();
    let more = if more > 0 { format!("; {more} more") } else { String::new() };
    let what = if failed.len() == 1 { "a check".to_owned() } else { format!("{} checks", failed.len()) };
    let detail = format!(
        "{what} of what this {paper} offers failed: {}{more}; mend the notes and estimate anew, or send `failed_checks: true` to issue it \
         nevertheless",
        named.join("; ")
    );
    faults.add(&At::ROOT.member("failed_checks"), "failed_checks", detail);
}
