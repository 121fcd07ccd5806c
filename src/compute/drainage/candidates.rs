//! The systems and pipes that notes and price book allow, in the order in which they are tried, and which systems fit a run.

use super::Rules;
use super::search::Candidate;
use crate::compute::cut_list::uncut;
use crate::compute::takeoff::levels::least_fall_of;
use crate::compute::takeoff::pipe::bends_for;
use crate::domain::book::PriceBook;
use crate::domain::layout::named::Named;
use crate::domain::layout::runs::{self, usual_grate};
use crate::domain::layout::{self, Degrees};
use crate::domain::words::Climate;
use crate::units::show::Show;
use crate::units::{Length, Price};
use crate::wire::book::systems::{ChannelSystem, Pipe};
use crate::wire::notes::{DrainLine, Run, SiteNotes};
use crate::wire::{At, Code, Faults, nearest};

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
    Rules::of(book).takes_the_smallest()
}

/// Candidates for a run in the order in which they are tried.
pub(super) fn systems_for<'b>(
    notes: &SiteNotes,
    run: usize,
    book: &'b PriceBook,
    faults: &mut Faults,
) -> Vec<Candidate<'b>> {
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
    let tried = fitting(noted, &out, notes, book, &run_at);
    let all_known = noted.channel_systems.is_empty() || noted.channel_systems.len() == out.len();
    if all_known && !tried.is_empty() && tried.iter().all(|t| !t.faults.is_empty()) {
        none_fits(noted, &tried, &run_at, faults);
    }
    let candidate = |Tried { code, faults, unfit }: Tried<'b>| Candidate {
        code,
        buildable: faults.is_empty(),
        unfit: faults.list().iter().map(|f| f.detail.clone()).chain(unfit).collect(),
    };
    tried.into_iter().map(candidate).collect()
}

/// A system tried on a run.
struct Tried<'b> {
    code: &'b Code,
    /// Why it cannot be built in.
    faults: Faults,
    /// Why it does not do where it can be built in: its grate is too weak, or a leg cannot be made of its stock lengths.
    unfit: Vec<String>,
}

/// The systems with what keeps each from being built into the run.
fn fitting<'b>(
    run: &Run,
    systems: &[&'b ChannelSystem],
    notes: &SiteNotes,
    book: &PriceBook,
    at: &At<'_>,
) -> Vec<Tried<'b>> {
    let show = Show(notes.unit_system.unwrap_or(book.doc().unit_system));
    let climate = notes.climate.unwrap_or(Climate::Temperate);
    // What lies in the yard may be longer than anything sold: then only the cut list can tell.
    let in_yard = |items: &layout::Run<'_>| {
        let mut items = items.system.stock.iter().map(|s| &s.item).chain([&items.grate.item]);
        items.any(|item| notes.yard_offcuts.iter().any(|offcut| offcut.item == *item))
    };
    let unfit = |resolved: &layout::Run<'_>| {
        let weak = too_weak(resolved, run.grate.is_some(), book);
        let uncut = if in_yard(resolved) { Vec::new() } else { uncut(resolved, climate, show, book) };
        weak.into_iter().chain(uncut).collect::<Vec<String>>()
    };
    let resolved = |system: Option<&Code>| {
        let with = Run { channel_system: system.cloned(), ..run.clone() };
        let mut faults = Faults::new();
        let unfit = runs::resolve(&with, book, at, &mut faults).map_or_else(Vec::new, |run| unfit(&run));
        (faults, unfit)
    };
    // What is wrong whatever the system is told of the notes as they stand, where the system is missing too.
    let sound = resolved(None).0.len() <= 1;
    let tried = |system: &&'b ChannelSystem| {
        let code = &system.code;
        let (faults, unfit) = if sound { resolved(Some(code)) } else { (Faults::new(), Vec::new()) };
        Tried { code, faults, unfit }
    };
    systems.iter().map(tried).collect()
}

/// Why the grate of a run is too weak for what crosses.
fn too_weak(run: &layout::Run<'_>, named: bool, book: &PriceBook) -> Option<String> {
    let (which, crossing) = (if named { "the grate named" } else { "its strongest grate" }, run.crossing);
    let Some(class) = run.grate.load_class else { return Some(format!("{which} has no load class")) };
    match class.carries(book.least_class(crossing, class)?) {
        Some(true) => None,
        Some(false) => Some(format!("{which} is {class}, too weak for `{crossing}`")),
        None => Some(format!("{which} is {class}, which is of another standard than `{crossing}` calls for")),
    }
}

/// None of the systems can be built in: told at the grate where none has the one that is named, else at the systems.
fn none_fits(run: &Run, tried: &[Tried<'_>], at: &At<'_>, faults: &mut Faults) {
    let all = || tried.iter().map(|t| (t.code, t.faults.list()));
    let grate_at = at.member("grate");
    let pointer = grate_at.pointer();
    if let Some(grate) = &run.grate
        && all().all(|(_, found)| found.iter().any(|f| f.pointer == pointer))
    {
        let rule = "no channel system that may be chosen takes a grate of this item code";
        let grates =
            all().flat_map(|(_, found)| found).filter(|f| f.pointer == pointer).flat_map(|f| &f.allowed);
        let mut known: Vec<&str> = Vec::new();
        for grate in grates {
            if !known.contains(&grate.as_str()) {
                known.push(grate);
            }
        }
        let near =
            nearest(grate.as_str(), &known).map(|n| format!("; did you mean `{n}`?")).unwrap_or_default();
        faults.value(&grate_at, "unknown_code", grate.as_str(), format!("{rule}{near}")).allow(known);
        return;
    }
    let each: Vec<String> = all()
        .map(|(code, found)| {
            let reasons: Vec<&str> = found.iter().map(|f| f.detail.as_str()).collect();
            format!("`{code}`: {}", reasons.join("; "))
        })
        .collect();
    let member = if run.channel_systems.is_empty() { "channel_system" } else { "channel_systems" };
    let rule =
        format!("no channel system that may be chosen can be built into this run. {}", each.join(". "));
    faults.add(&at.member(member), "no_system_fits", rule);
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
) -> Vec<Candidate<'b>> {
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
    let candidate =
        |p: &'b Pipe| Candidate { code: &p.code, buildable: true, unfit: out_of_place(p, noted, book) };
    out.into_iter().map(candidate).collect()
}

/// Why a pipe does not do for a line whatever water comes: it lies too flat for its bore, or cannot be turned as the line turns.
fn out_of_place(pipe: &Pipe, line: &DrainLine, book: &PriceBook) -> Vec<String> {
    let least = least_fall_of(pipe.inside_diameter, book);
    let flat = line.fall_pct.zip(least).filter(|(fall, least)| fall < least);
    let flat = flat.map(|(fall, least)| format!("laid at {fall}, but its bore calls for at least {least}"));
    let turns = line.legs.iter().filter_map(|leg| leg.bend).map(Degrees::of);
    let unturned = turns.filter(|turn| bends_for(pipe, *turn).is_none());
    flat.into_iter()
        .chain(unturned.map(|turn| format!("no bend of it, and no two or three of its bends, turn {turn}")))
        .collect()
}
