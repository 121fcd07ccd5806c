//! The system and the pipe that pass, where the notes leave them open.

use super::Rechecks;
use super::answer::{Chosen, PassedOver};
use super::candidates::{self, pipes_for, systems_for};
use super::shelf::RainShelf;
use crate::compute::takeoff::levels;
use crate::domain::book::PriceBook;
use crate::domain::layout::resolve::resolve;
use crate::domain::layout::runs;
use crate::domain::lines::{Check, Outcome};
use crate::wire::notes::{DrainLine, Run, SiteNotes};
use crate::wire::{At, Code, Fault, Faults, List};
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
        return Err(faults);
    }
    let mut water = Rechecks::default();
    let mut filled = notes.clone();
    filled.drain_lines = List::default();
    // may speak of a day on which only a line is poured
    filled.concrete = None;
    for search in &mut runs {
        skip_unfit(search, &mut filled, book);
    }
    advance_until_passing(&mut runs, &mut filled, set_run, &mut water, book, rains)?;
    filled.drain_lines = notes.drain_lines.clone();
    filled.concrete = notes.concrete.clone();
    // Every round moves one run on: as many rounds as there are candidates.
    for _ in 0..=runs.iter().map(|r| r.candidates.len()).sum::<usize>() {
        for search in &mut lines {
            search.restart();
            set_line(&mut filled, search);
        }
        skip_narrow(&mut lines, &mut filled, book)?;
        advance_until_passing(&mut lines, &mut filled, set_line, &mut water, book, rains)?;
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
        let candidates = systems_for(notes, i, book, &mut faults).into_iter().map(|s| &s.code).collect();
        runs.push(Search::new(i, format!("run {}", run.id), candidates, by));
    }
    for (i, line) in notes.drain_lines.iter().enumerate().filter(|(_, l)| l.pipe.is_none()) {
        let candidates = pipes_for(notes, i, book, &mut faults).into_iter().map(|p| &p.code).collect();
        lines.push(Search::new(i, format!("line {}", line.id), candidates, "bore"));
    }
    (runs, lines, faults)
}

/// What would do for the runs and lines that fail with what the notes name.
///
/// # Errors
/// As [`fill`].
pub fn suggest(
    notes: &SiteNotes,
    checks: &[Check],
    book: &PriceBook,
    rains: &RainShelf,
) -> Result<Vec<Chosen>, Faults> {
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
    fill(Cow::Owned(asked), book, rains).map(|(_, chosen)| chosen)
}

/// The search for one run or line.
#[derive(Debug)]
struct Search<'b> {
    index: usize,
    subject: String,
    candidates: Vec<&'b Code>,
    /// By what they are in order.
    by: &'static str,
    at: usize,
    passed_over: Vec<PassedOver>,
    exhausted: bool,
}

impl<'b> Search<'b> {
    const fn new(index: usize, subject: String, candidates: Vec<&'b Code>, by: &'static str) -> Self {
        Self { index, subject, candidates, by, at: 0, passed_over: Vec::new(), exhausted: false }
    }

    fn restart(&mut self) {
        self.at = 0;
        self.exhausted = false;
        self.passed_over.clear();
    }

    fn code(&self) -> Option<&'b Code> {
        self.candidates.get(self.at).copied()
    }

    /// Goes on to the next candidate; false when there is none.
    fn pass_over(&mut self, reasons: Vec<String>) -> bool {
        let Some(code) = self.code() else { return false };
        if self.exhausted {
            return false;
        }
        self.passed_over.push(PassedOver { code: code.as_str().to_owned(), reasons });
        if self.at + 1 < self.candidates.len() {
            self.at += 1;
            true
        } else {
            self.exhausted = true;
            false
        }
    }

    fn told(self) -> Chosen {
        let because = if self.exhausted {
            "none of those allowed does; the last one tried is shown, and fails".to_owned()
        } else if self.passed_over.is_empty() {
            format!("the first in order of {}, and it does", self.by)
        } else {
            let before = self.passed_over.len();
            let do_not = if before == 1 { "does not" } else { "do not" };
            format!("the first in order of {} that does; {before} before it {do_not}", self.by)
        };
        Chosen {
            code: self.code().map_or_else(String::new, |c| c.as_str().to_owned()),
            subject: self.subject,
            because,
            passed_over: self.passed_over,
        }
    }
}

type Set = fn(&mut SiteNotes, &Search<'_>);

/// Moves on every run or line that fails, together, until none does or none is left.
fn advance_until_passing(
    searches: &mut [Search<'_>],
    notes: &mut SiteNotes,
    set: Set,
    water: &mut Rechecks,
    book: &PriceBook,
    rains: &RainShelf,
) -> Result<(), Faults> {
    if searches.is_empty() {
        return Ok(());
    }
    while advance(searches, notes, set, water, book, rains)? {}
    Ok(())
}

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

/// Faults of a run that another system may not have.
const UNFIT: [&str; 3] = ["missing_fitting", "tee_with_built_in_fall", "fittings_overlap"];

/// Passes over systems whose parts do not fit the run, which do not have the grate that is named, or whose grates do not carry what crosses.
fn skip_unfit(search: &mut Search<'_>, notes: &mut SiteNotes, book: &PriceBook) {
    loop {
        set_run(notes, search);
        let Some(run) = notes.runs.get(search.index) else { return };
        let mut faults = Faults::new();
        let resolved = runs::resolve(run, book, &At::ROOT, &mut faults);
        let mut reasons: Vec<String> = faults
            .list()
            .iter()
            .filter(|f| UNFIT.contains(&f.code) || f.pointer == "#/grate")
            .map(|f| f.detail.clone())
            .collect();
        if let Some(run) = &resolved
            && let Some(class) = run.grate.load_class
            && book.least_class(run.crossing, class).is_some_and(|need| class.carries(need) != Some(true))
        {
            reasons.push(format!("its strongest grate is {class}, too weak for `{}`", run.crossing));
        }
        if reasons.is_empty() || !search.pass_over(reasons) {
            return;
        }
    }
}

/// Passes over pipes narrower than an outlet or a line that enters them.
fn skip_narrow(searches: &mut [Search<'_>], notes: &mut SiteNotes, book: &PriceBook) -> Result<(), Faults> {
    for _ in 0..=searches.iter().map(|s| s.candidates.len()).sum::<usize>() {
        let layout = resolve(notes, book)?;
        let mut narrow: Vec<Option<String>> = Vec::with_capacity(searches.len());
        for search in searches.iter() {
            let Some(line) = layout.lines.get(search.index) else { continue };
            let show = layout.show;
            let bore = line.pipe.inside_diameter;
            let outlets = line
                .from
                .iter()
                .filter_map(|f| layout.runs.get(f.0)?.outlets.get(f.1))
                .map(|o| (o.fitting.bore, format!("outlet {}", o.id)));
            let joining = line
                .joined_by
                .iter()
                .filter_map(|j| layout.lines.get(j.0))
                .map(|l| (l.pipe.inside_diameter, format!("line {}", l.id)));
            narrow.push(outlets.chain(joining).find(|(other, _)| *other > bore).map(|(other, name)| {
                format!(
                    "a bore of {} is narrower than the {} of {name}",
                    show.length(bore),
                    show.length(other)
                )
            }));
        }
        drop(layout);
        let mut moved = false;
        for (search, reason) in searches.iter_mut().zip(narrow) {
            if let Some(reason) = reason
                && search.pass_over(vec![reason])
            {
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
