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
mod report;
mod run;
mod search;
mod settle;
pub mod shelf;
mod storm;
mod words;

use super::takeoff::levels::Levels;
use super::water::runoff::{ConcentrationSettings, FrequencyFactors};
use crate::domain::book::PriceBook;
use crate::domain::layout::{self, Layout};
use crate::domain::lines::{Check, Outcome};
use crate::units::Length;
use crate::units::factors::METRES_PER_FOOT;
use crate::wire::Faults;
use crate::wire::notes::SiteNotes;
use crate::wire::water::{USUAL, WaterRules};
use answer::WaterAnswer;
use shelf::RainShelf;

/// What an estimate says whose notes have no storm: nobody may take its silence for a channel that carries the water.
pub(super) fn unchecked() -> Check {
    let reason =
        "the notes have no `storm`: whether channel, grate, outlet and pipe carry the water is not checked";
    super::takeoff::check("water_unchecked", "job", Outcome::Warn, reason.to_owned())
}

/// The office's rules with the usual value where it sets none.
#[derive(Debug, Clone, Copy)]
struct Rules<'a>(&'a WaterRules);

impl<'a> Rules<'a> {
    fn of(book: &'a PriceBook) -> Self {
        Rules(book.doc().water_rules.as_ref().unwrap_or(&USUAL))
    }
    /// Half an inch (common practice, no source).
    fn least_freeboard_m(self) -> f64 {
        self.0.least_freeboard.unwrap_or(Length::inches(1, 2)).metres_f64()
    }
    /// Half an inch (common practice, no source).
    fn ponding_m(self) -> f64 {
        self.0.ponding.unwrap_or(Length::inches(1, 2)).metres_f64()
    }
    /// Half, the usual allowance in a sag (TxDOT Hydraulic Design Manual, read).
    fn clogged(self) -> f64 {
        self.0.clogged_pct.map_or(0.5, |p| p.millionths() as f64 / 1e6)
    }
    /// The floor and the lengths up to which formulas are used; the usual ones stand with their settings.
    fn concentration(self) -> ConcentrationSettings {
        let usual = ConcentrationSettings::default();
        let metres = |set: Option<Length>, usual: f64| set.map_or(usual, Length::metres_f64);
        ConcentrationSettings {
            floor_minutes: self
                .0
                .least_concentration
                .map_or(usual.floor_minutes, |s| s.seconds() as f64 / 60.0),
            longest_sheet_m: metres(self.0.longest_sheet_flow, usual.longest_sheet_m),
            longest_overland_m: metres(self.0.longest_overland_flow, usual.longest_overland_m),
            ..usual
        }
    }
    /// What a storm of a return period raises coefficients by, none where nothing names the period; the usual factors stand with
    /// their own text.
    fn frequency_factors(self, return_period: Option<i64>) -> FrequencyFactors {
        let set = &self.0.frequency_factors;
        match return_period {
            None => FrequencyFactors(Vec::new()),
            Some(_) if set.is_empty() => FrequencyFactors::default(),
            Some(_) => FrequencyFactors(
                set.iter()
                    .map(|s| (s.up_to_years.get() as f64, s.factor.millionths() as f64 / 1e6))
                    .collect(),
            ),
        }
    }
    fn corner_loss(self) -> f64 {
        self.0
            .corner_loss
            .map_or_else(|| super::water::run::corner_loss_coefficient(90.0), |f| f.millionths() as f64 / 1e6)
    }
    /// 0.25 velocity heads (from memory).
    fn bend_loss(self) -> f64 {
        self.0.bend_loss.map_or(0.25, |f| f.millionths() as f64 / 1e6)
    }
    /// 0.5 velocity heads (from memory).
    fn junction_loss(self) -> f64 {
        self.0.junction_loss.map_or(0.5, |f| f.millionths() as f64 / 1e6)
    }
    /// 2 ft/s flowing full (Ten States Standards, from memory).
    fn least_velocity_m_per_s(self) -> f64 {
        METRES_PER_FOOT * self.0.least_velocity_ft_per_s.map_or(2.0, |f| f.millionths() as f64 / 1e6)
    }
    /// 10 ft/s (common practice, from memory).
    fn greatest_velocity_m_per_s(self) -> f64 {
        METRES_PER_FOOT * self.0.greatest_velocity_ft_per_s.map_or(10.0, |f| f.millionths() as f64 / 1e6)
    }
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
