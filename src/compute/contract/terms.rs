//! What one member of the terms of a quote alone does not show: sums, codes used twice, dates.

use super::account::of_change;
use crate::domain::words::Category;
use crate::units::Percent;
use crate::wire::contract::inputs::QuoteInputs;
use crate::wire::contract::terms::QuoteTerms;
use crate::wire::{At, Code, Faults};
use std::collections::BTreeSet;

fn unique<'c>(codes: impl Iterator<Item = &'c Code>, list: &At<'_>, faults: &mut Faults) {
    let mut seen = BTreeSet::new();
    for (i, code) in codes.enumerate() {
        let here = list.element(i);
        if !seen.insert(code) {
            faults.value(&here.member("code"), "duplicate", code.as_str(), "this code is used twice");
        }
        if code.as_str().len() > 40 {
            let detail = "a code of a paper has at most 40 characters";
            faults.value(&here.member("code"), "text_rule", code.as_str(), detail);
        }
    }
}

/// Codes of offers beside the quote's own and those of change orders.
fn not_reserved<'c>(codes: impl Iterator<Item = &'c Code>, list: &At<'_>, faults: &mut Faults) {
    for (i, code) in codes.enumerate().filter(|(_, c)| c.as_str() == "quote" || of_change(c)) {
        let here = list.element(i);
        let detail = "`quote` stands for the quote itself, `co-` begins the codes of change orders";
        faults.value(&here.member("code"), "reserved", code.as_str(), detail);
    }
}

/// Every fault of the terms, with pointers into them.
pub(super) fn check(inputs: &QuoteInputs) -> Faults {
    let QuoteInputs { issued_on, terms, estimate, alternates, .. } = inputs;
    let QuoteTerms { valid_until, schedule, retainage, lines, additions, alternates: names, .. } = terms;
    let root = At::ROOT;
    let mut faults = Faults::new();
    if issued_on.is_some_and(|on| on > *valid_until) {
        faults.value(
            &root.member("valid_until"),
            "before_issue_date",
            &valid_until.to_string(),
            "a quote is valid at least on the day it is issued",
        );
    }
    let at = root.member("schedule");
    unique(schedule.iter().map(|s| &s.code), &at, &mut faults);
    // A draft is told; what was issued with such a stage before stays what it was.
    let drafted = issued_on.is_none();
    for (i, _) in schedule.iter().enumerate().filter(|(_, s)| drafted && s.pct.millionths() == 0) {
        let here = at.element(i);
        faults.value(&here.member("pct"), "out_of_range", "0", "a stage asks for more than nothing");
    }
    let whole: i64 = schedule.iter().map(|s| s.pct.millionths()).sum();
    if !schedule.is_empty() && whole != 1_000_000 {
        let sum = Percent::from_millionths(whole);
        let detail = format!("the stages make {sum}, and must make 100 %");
        faults.value(&at, "does_not_foot", &sum.to_string(), detail);
    }
    if retainage.as_ref().is_some_and(|r| r.pct.millionths() >= 1_000_000) {
        let here = root.member("retainage");
        faults.add(&here.member("pct"), "out_of_range", "retainage is below 100 %");
    }
    let country = terms.seller.country.as_ref().map_or("US", |c| c.as_str());
    if country.len() != 2 || !country.bytes().all(|b| b.is_ascii_uppercase()) {
        let here = root.member("seller");
        faults.value(&here.member("country"), "country", country, "two capital letters, for example \"US\"");
    }
    let at = root.member("lines");
    unique(lines.iter().map(|l| &l.code), &at, &mut faults);
    for (i, line) in lines.iter().enumerate() {
        let here = at.element(i);
        let kept = line.code.as_str().starts_with(super::additions::PREFIX) || of_change(&line.code);
        if Category::from_word(line.code.as_str()).is_some() || kept {
            let detail = "this code is kept for the lines the service makes itself: those of a category, `add-` and `co-`";
            faults.value(&here.member("code"), "reserved", line.code.as_str(), detail);
        }
        if !estimate.categories.iter().any(|c| c.category == line.category) {
            faults
                .value(
                    &here.member("category"),
                    "unknown_value",
                    line.category.word(),
                    "the estimate has no price in this category",
                )
                .allow(estimate.categories.iter().map(|c| c.category.word()));
        }
    }
    for category in Category::ALL {
        let sum: i64 = lines.iter().filter(|l| l.category == *category).map(|l| l.pct.millionths()).sum();
        if sum > 1_000_000 {
            let shown = Percent::from_millionths(sum).to_string();
            let detail =
                format!("the lines for {category} take {shown} of its price, and at most 100 % is there");
            faults.value(&at, "does_not_foot", &shown, detail);
        }
    }
    let at = root.member("additions");
    unique(additions.iter().map(|a| &a.code), &at, &mut faults);
    not_reserved(additions.iter().map(|a| &a.code), &at, &mut faults);
    super::additions::check(additions, estimate, &at, &mut faults);
    let at = root.member("alternates");
    unique(names.iter().map(|a| &a.code), &at, &mut faults);
    not_reserved(names.iter().map(|a| &a.code), &at, &mut faults);
    for (i, name) in names.iter().enumerate() {
        let fact = alternates.iter().find(|f| f.code == name.code);
        if fact.is_some_and(|f| f.estimate.currency != estimate.currency) {
            let here = at.element(i);
            faults.add(
                &here.member("estimate_id"),
                "currency",
                "the alternate is priced in another currency than the quote",
            );
        }
        if fact.is_some_and(|f| f.estimate.tax_rules != estimate.tax_rules) {
            let here = at.element(i);
            faults.add(
                &here.member("estimate_id"),
                "tax_rules",
                "the alternate is priced with other taxes than the quote: price it from the same book",
            );
        }
    }
    faults
}
