//! The systems and pipes that notes and price book allow, in the order in which they are tried.

use super::Rules;
use crate::domain::book::PriceBook;
use crate::domain::layout::named::Named;
use crate::domain::layout::runs::usual_grate;
use crate::units::{Length, Price};
use crate::wire::book::systems::{ChannelSystem, Pipe};
use crate::wire::notes::{Run, SiteNotes};
use crate::wire::water::Preference;
use crate::wire::{At, Code, Faults};

fn allowed<'b, T>(
    codes: &[Code],
    all: &'b [T],
    code_of: fn(&T) -> &Code,
    book: &'b PriceBook,
    named: Named<'b>,
    at: &At<'_>,
    faults: &mut Faults,
) -> Vec<&'b T> {
    if codes.is_empty() {
        return all.iter().collect();
    }
    let mut out = Vec::with_capacity(codes.len());
    for (i, code) in codes.iter().enumerate() {
        match all.iter().find(|t| code_of(t) == code) {
            Some(found) => out.push(found),
            None => named.unknown(code, book, &at.element(i), faults),
        }
    }
    out
}

/// Whether systems are tried by their size rather than by their cost.
pub(super) fn smallest_first(book: &PriceBook) -> bool {
    Rules::of(book).0.preference == Some(Preference::Smallest)
}

/// Candidates for a run in the order in which they are tried.
pub(super) fn systems_for<'b>(
    notes: &SiteNotes,
    run: usize,
    book: &'b PriceBook,
    faults: &mut Faults,
) -> Vec<&'b ChannelSystem> {
    let runs_at = At::ROOT.member("runs");
    let run_at = runs_at.element(run);
    let Some(noted) = notes.runs.get(run) else { return Vec::new() };
    let mut out = allowed(
        &noted.channel_systems,
        &book.doc().channel_systems,
        |s| &s.code,
        book,
        Named::System,
        &run_at.member("channel_systems"),
        faults,
    );
    let smallest = smallest_first(book);
    out.sort_by_key(|s| {
        let size = (s.section.inside_width, s.section.water_depth);
        let cost = cost_per_foot(s, noted, book);
        if smallest { (Price::from_millionths(0), size) } else { (cost, size) }
    });
    if book.doc().channel_systems.is_empty() {
        faults.add(
            &run_at.member("channel_system"),
            "no_channel_system",
            "the price book has no channel system",
        );
    }
    out
}

/// What a foot of channel costs with the grate that the run takes, in millionths.
fn cost_per_foot(system: &ChannelSystem, run: &Run, book: &PriceBook) -> Price {
    let per_foot =
        |item: &Code, length: Length| {
            let price = book.item(item).map_or(0, |i| i.price.decimal().mantissa() as i64);
            length.nm().checked_div(1000).filter(|l| *l > 0).map_or(0, |l| {
                (i128::from(price) * i128::from(Length::FOOT.nm() / 1000) / i128::from(l)) as i64
            })
        };
    let stock = system.stock.iter().map(|s| per_foot(&s.item, s.length)).min().unwrap_or(0);
    let named = run.grate.as_ref().and_then(|code| system.grates.iter().find(|g| g.item == *code));
    let grate =
        named.or_else(|| usual_grate(system, run.crossing, book)).map_or(0, |g| per_foot(&g.item, g.length));
    Price::from_millionths(stock.saturating_add(grate))
}

/// Candidates for a line, the narrowest first.
pub(super) fn pipes_for<'b>(
    notes: &SiteNotes,
    line: usize,
    book: &'b PriceBook,
    faults: &mut Faults,
) -> Vec<&'b Pipe> {
    let lines_at = At::ROOT.member("drain_lines");
    let line_at = lines_at.element(line);
    let Some(noted) = notes.drain_lines.get(line) else { return Vec::new() };
    let mut out = allowed(
        &noted.pipes,
        &book.doc().pipes,
        |p| &p.code,
        book,
        Named::Pipe,
        &line_at.member("pipes"),
        faults,
    );
    out.sort_by_key(|p| (p.inside_diameter, p.outside_diameter));
    if book.doc().pipes.is_empty() {
        faults.add(&line_at.member("pipe"), "no_pipe", "the price book has no pipe");
    }
    out
}
