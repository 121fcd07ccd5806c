//! Codes that are unique.

use super::Check;
use crate::wire::At;

pub(super) fn check(check: &mut Check<'_>) {
    let root = At::ROOT;
    let doc = check.doc;
    check.unique(doc.items.iter().map(|i| &i.code), &root.member("items"));
    check.unique(doc.channel_systems.iter().map(|s| &s.code), &root.member("channel_systems"));
    check.unique(doc.setting_details.iter().map(|d| &d.code), &root.member("setting_details"));
    check.unique(doc.pipes.iter().map(|p| &p.code), &root.member("pipes"));
    check.unique(doc.concrete_ways.iter().map(|w| w.code()), &root.member("concrete_ways"));
    check.unique(doc.trades.iter().map(|t| &t.code), &root.member("trades"));
    check.unique(doc.equipment.iter().map(|e| &e.code), &root.member("equipment"));
    check.unique(doc.markup_schemes.iter().map(|s| &s.code), &root.member("markup_schemes"));
    check.unique(doc.taxes.iter().map(|t| &t.code), &root.member("taxes"));
}
