//! Stage: will the runs, their grates and outlets, and the drain lines carry the storm.
//!
//! The layout is turned into what [`super::water`] computes with, and its results into an answer in the job's units, with
//! checks that stand at the top of the estimate.
//!
//! | file | subject |
//! |---|---|
//! | this one | the stage: rain, catchments, runs, lines, checks |
//! | [`answer`] | the shapes of the answer |
//! | [`shelf`] | the rain tables a request may name |
//! | `office` | the rules of the price book, with the usual value where it sets none |
//! | `storm` | rain and the flow of each catchment |
//! | `run` | a chain of a run as the hydraulics see it |
//! | `line` | the drain lines as trees of pipe |
//! | `settle` | runs and lines together, until the flows of the outlets stand |
//! | `checks` | what passes and what does not |
//! | `report` | results in the job's units, and their basis |
//! | `words` | numbers and warnings in the job's units |
//! | `candidates` | the systems and pipes that may be chosen, and which of them fit |
//! | `search` | one run or line: its candidates in order |
//! | [`choose`] | the system and the pipe that pass, and why the ones before do not |

pub mod answer;
mod candidates;
mod checks;
pub mod choose;
mod line;
mod office;
mod report;
mod run;
mod search;
mod settle;
pub mod shelf;
mod storm;
mod words;

use super::takeoff::levels::Levels;
use crate::domain::book::PriceBook;
use crate::domain::layout::{self, Layout};
use crate::domain::lines::{Check, Outcome};
use crate::wire::Faults;
use crate::wire::notes::SiteNotes;
use answer::WaterAnswer;
use office::Rules;
use shelf::RainShelf;

/// What an estimate says whose notes have no storm: nobody may take its silence for a channel that carries the water.
pub(super) fn unchecked() -> Check {
    let reason =
        "the notes have no `storm`: whether channel, grate, outlet and pipe carry the water is not checked";
    super::takeoff::check("water_unchecked", "job", Outcome::Warn, reason.to_owned())
}

/// Water through a layout whose lines lie as the take-off found; `None` when the notes say nothing about it.
///
/// # Errors
/// A rain table that is not known or has not what is asked; pointers into the notes. Work that nobody waits for.
pub fn check(
    layout: &Layout<'_>,
    levels: &[Levels],
    book: &PriceBook,
    rains: &RainShelf,
) -> Result<Option<(WaterAnswer, Vec<Check>)>, Faults> {
    let Some(demand) = &layout.water else { return Ok(None) };
    let rules = Rules::of(book);
    let flows = storm::flows(demand, layout, rules, rains)?;
    let mut settled = settle::settle(layout, &flows, levels, (rules, &rains.wanted), book, Vec::new());
    settled.find_limits(layout, rules, &rains.wanted);
    rains.wanted.go_on()?;
    Ok(Some(report::report(layout, &flows, &settled, rules)))
}

/// The faults of notes, and those of the rain that they name.
pub(crate) fn with_rain(
    mut faults: Faults,
    notes: &SiteNotes,
    book: &PriceBook,
    rains: &RainShelf,
) -> Faults {
    if let Some(storm) = &notes.storm {
        storm::rain(storm, layout::water::return_period(storm, book), rains, &mut faults);
    }
    faults
}

/// The checks alone, where only the outcome counts, for one layout after another that differs in little: a chain that is
/// as it was keeps its water.
#[derive(Debug, Default)]
struct Rechecks {
    kept: Vec<Vec<settle::Solved>>,
}

impl Rechecks {
    fn check(
        &mut self,
        layout: &Layout<'_>,
        levels: &[Levels],
        book: &PriceBook,
        rains: &RainShelf,
    ) -> Result<Option<Vec<Check>>, Faults> {
        let Some(demand) = &layout.water else { return Ok(None) };
        let rules = Rules::of(book);
        let flows = storm::flows(demand, layout, rules, rains)?;
        let kept = std::mem::take(&mut self.kept);
        let settled = settle::settle(layout, &flows, levels, (rules, &rains.wanted), book, kept);
        rains.wanted.go_on()?;
        let checks = checks::all(layout, &flows, &settled, rules);
        self.kept = settled.runs;
        Ok(Some(checks))
    }
}
