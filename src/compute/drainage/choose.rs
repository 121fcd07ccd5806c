//! The system and the pipe that pass, where the notes leave them open.

use super::Rechecks;
use super::answer::Chosen;
use super::candidates::{self, pipes_for, systems_for};
use super::search::Search;
use super::shelf::RainShelf;
use crate::compute::second_look;
use crate::compute::takeoff::levels;
use crate::domain::book::PriceBook;
use crate::domain::layout::resolve::resolve;
use crate::domain::lines::{Check, Outcome};
use crate::wire::notes::{DrainLine, Run, SiteNotes};
use crate::wire::{Fault, Faults, List};
use std::borrow::Cow;

/// Notes with every system and pipe named, and what was chosen.
///
/// Runs go first, with free outlets; then the pipes for what they send, each at least as wide as what enters it; then both
/// together: a run that its pipe backs up too far moves on to its next candidate.
///
/// # Errors
/// Every fault of the notes.
pub fn fill<'n>(
    notes: Cow<'n, SiteNotes>,
    book: &PriceBook,
    rains: &RainShelf,
) -> Result<(Cow<'n, SiteNotes>, Vec<Chosen>), Faults> {
    if !leaves_open(&notes) {
        return Ok((notes, Vec::new()));
    }
    let notes = notes.as_ref();
    let (mut runs, mut lines, faults) = searches(notes, book, rains);
    if !faults.is_empty() {
        return Err(second_look::notes::beside(faults, notes, book));
    }
    let mut water = Rechecks::default();
    let mut filled = notes.clone();
    filled.drain_lines = List::default();
    // may speak of a day on which only a line is poured
    filled.concrete = None;
    for search in &runs {
        set_run(&mut filled, search);
    }
    while advance(&mut runs, &mut filled, set_run, &mut water, book, rains)? {}
    filled.drain_lines = notes.drain_lines.clone();
    filled.concrete = notes.concrete.clone();
    // Every round moves one run on: as many rounds as there are candidates.
    for _ in 0..=runs.iter().map(Search::len).sum::<usize>() {
        for search in &mut lines {
            search.restart();
            set_line(&mut filled, search);
        }
        skip_unfit(&mut lines, &mut filled, book)?;
        while advance(&mut lines, &mut filled, set_line, &mut water, book, rains)? {
            skip_unfit(&mut lines, &mut filled, book)?;
        }
        if !advance(&mut runs, &mut filled, set_run, &mut water, book, rains)? {
            break;
        }
    }
    let chosen = runs.into_iter().chain(lines).map(Search::told).collect();
    Ok((Cow::Owned(filled), chosen))
}

/// Every fault of notes, with nothing chosen.
pub fn faults(notes: &SiteNotes, book: &PriceBook, rains: &RainShelf) -> Faults {
    if leaves_open(notes) { searches(notes, book, rains).2 } else { as_noted(notes, book, rains) }
}

/// Every fault of notes, what they leave open among them.
fn as_noted(notes: &SiteNotes, book: &PriceBook, rains: &RainShelf) -> Faults {
    super::with_rain(resolve(notes, book).err().unwrap_or_default(), notes, book, rains)
}

/// Whether something is to be chosen.
fn leaves_open(notes: &SiteNotes) -> bool {
    let open_runs = notes.runs.iter().any(|r| r.channel_system.is_none());
    let open_lines = notes.drain_lines.iter().any(|l| l.pipe.is_none());
    notes.storm.is_some() && (open_runs || open_lines)
}

/// The candidates of every run and line that is left open, and what is wrong besides.
fn searches<'b>(
    notes: &SiteNotes,
    book: &'b PriceBook,
    rains: &RainShelf,
) -> (Vec<Search<'b>>, Vec<Search<'b>>, Faults) {
    let (mut runs, mut lines) = (Vec::new(), Vec::new());
    let by = if candidates::smallest_first(book) { "size" } else { "cost" };
    let open = |f: &Fault| f.pointer.ends_with("/channel_system") || f.pointer.ends_with("/pipe");
    let mut faults = as_noted(notes, book, rains).without(|f| f.code == "required" && open(f));
    for (i, run) in notes.runs.iter().enumerate().filter(|(_, r)| r.channel_system.is_none()) {
        let candidates = systems_for(notes, i, book, &mut faults);
        runs.push(Search::new(i, format!("run {}", run.id), candidates, by));
    }
    for (i, line) in notes.drain_lines.iter().enumerate().filter(|(_, l)| l.pipe.is_none()) {
        let candidates = pipes_for(notes, i, book, &mut faults);
        lines.push(Search::new(i, format!("line {}", line.id), candidates, "bore"));
    }
    (runs, lines, faults)
}

/// What would do for the runs and lines that fail with what the notes name; nothing where that cannot be said, since an answer
/// stands without it.
pub fn suggest(notes: &SiteNotes, checks: &[Check], book: &PriceBook, rains: &RainShelf) -> Vec<Chosen> {
    let fails = |subject: String| checks.iter().any(|c| c.outcome == Outcome::Fail && c.subject == subject);
    let mut asked = notes.clone();
    let runs: Vec<Run> = notes
        .runs
        .iter()
        .map(|r| {
            if r.channel_system.is_some() && fails(format!("run {}", r.id)) {
                // A grate of the system named may not fit another.
                Run { channel_system: None, channel_systems: List::default(), grate: None, ..r.clone() }
            } else {
                r.clone()
            }
        })
        .collect();
    let lines: Vec<DrainLine> = notes
        .drain_lines
        .iter()
        .map(|l| {
            if l.pipe.is_some() && fails(format!("line {}", l.id)) {
                DrainLine { pipe: None, pipes: List::default(), ..l.clone() }
            } else {
                l.clone()
            }
        })
        .collect();
    if let (Some(runs), Some(lines)) = (List::new(runs), List::new(lines)) {
        asked.runs = runs;
        asked.drain_lines = lines;
    }
    fill(Cow::Owned(asked), book, rains).map_or_else(|_| Vec::new(), |(_, chosen)| chosen)
}

type Set = fn(&mut SiteNotes, &Search<'_>);

/// Checks once and moves on what fails; says whether something moved.
fn advance(
    searches: &mut [Search<'_>],
    notes: &mut SiteNotes,
    set: Set,
    water: &mut Rechecks,
    book: &PriceBook,
    rains: &RainShelf,
) -> Result<bool, Faults> {
    if searches.is_empty() {
        return Ok(false);
    }
    let layout = resolve(notes, book)?;
    let levels = levels::all(&layout, book);
    let Some(checks) = water.check(&layout, &levels, book, rains)? else { return Ok(false) };
    let failures: Vec<Vec<String>> = searches
        .iter()
        .map(|s| {
            checks
                .iter()
                .filter(|c| c.outcome == Outcome::Fail && c.subject == s.subject)
                .map(|c| c.reason.clone())
                .collect()
        })
        .collect();
    drop(layout);
    let mut moved = false;
    for (search, reasons) in searches.iter_mut().zip(failures) {
        if !reasons.is_empty() && search.pass_over(reasons) {
            set(notes, search);
            moved = true;
        }
    }
    Ok(moved)
}

/// Passes over pipes narrower than an outlet or a line that enters them, and those whose bore calls for more fall than the levels
/// leave.
fn skip_unfit(searches: &mut [Search<'_>], notes: &mut SiteNotes, book: &PriceBook) -> Result<(), Faults> {
    for _ in 0..=searches.iter().map(Search::len).sum::<usize>() {
        let layout = resolve(notes, book)?;
        let levels = levels::all(&layout, book);
        let falls = levels::checks(&layout, book, &levels);
        let mut unfit: Vec<Vec<String>> = Vec::with_capacity(searches.len());
        for search in searches.iter() {
            let Some(line) = layout.lines.get(search.index) else {
                unfit.push(Vec::new());
                continue;
            };
            let show = layout.show;
            let bore = line.pipe.inside_diameter;
            let outlets = line
                .from
                .iter()
                .filter_map(|feed| layout.outlet(feed))
                .map(|o| (o.fitting.bore, format!("outlet {}", o.id)));
            let joining = line
                .joined_by
                .iter()
                .filter_map(|joining| layout.lines.get(joining.line))
                .map(|l| (l.pipe.inside_diameter, format!("line {}", l.id)));
            let narrow = outlets.chain(joining).find(|(other, _)| *other > bore).map(|(other, name)| {
                let [bore, other] = show.lengths_apart(bore, other);
                format!("a bore of {bore} is narrower than the {other} of {name}")
            });
            // A fall that is noted is the same whatever the levels are: it was judged before.
            let flat = falls.iter().filter(|_| line.fall.is_none()).find(|c| {
                let of_fall = matches!(c.name, "least_fall" | "fall_available");
                of_fall && c.outcome == Outcome::Fail && c.subject == search.subject
            });
            unfit.push(narrow.into_iter().chain(flat.map(|c| c.reason.clone())).collect());
        }
        drop(layout);
        let mut moved = false;
        for (search, reasons) in searches.iter_mut().zip(unfit) {
            if !reasons.is_empty() && search.pass_over(reasons) {
                set_line(notes, search);
                moved = true;
            }
        }
        if !moved {
            break;
        }
    }
    Ok(())
}

fn set_run(notes: &mut SiteNotes, search: &Search<'_>) {
    let runs: Vec<Run> = notes
        .runs
        .iter()
        .enumerate()
        .map(|(i, r)| {
            if i == search.index {
                Run { channel_system: search.code().cloned(), ..r.clone() }
            } else {
                r.clone()
            }
        })
        .collect();
    if let Some(list) = List::new(runs) {
        notes.runs = list;
    }
}

fn set_line(notes: &mut SiteNotes, search: &Search<'_>) {
    let lines: Vec<DrainLine> = notes
        .drain_lines
        .iter()
        .enumerate()
        .map(|(i, l)| {
            if i == search.index {
                DrainLine { pipe: search.code().cloned(), ..l.clone() }
            } else {
                l.clone()
            }
        })
        .collect();
    if let Some(list) = List::new(lines) {
        notes.drain_lines = list;
    }
}
