//! Stage: measured quantities of a resolved layout.
//!
//! | file | subject |
//! |---|---|
//! | `collect` | what every stage adds to |
//! | [`run`] | excavation, surround, slab of one run |
//! | [`depths`] | how deep its trench is along it: what the crew digs by |
//! | `top`, `formwork` | what lies on top of a run; its forms and bars |
//! | [`form_rows`] | rows of boards, as many as the trench is deep where they stand |
//! | [`mod@trench`] | the trench of a run and the concrete around the channel in it |
//! | [`channel`] | channel, grates, fittings, hangers of one run |
//! | `setting` | whether the setting detail of a run is made for what crosses it |
//! | `outlets` | whether the bores of bottom outlets lie in plain channel |
//! | [`levels`] | inverts and falls of the drain lines |
//! | [`mod@line`] | trench, bedding, fill of one line |
//! | [`profile`] | its depth along it, and the volumes of its trench |
//! | [`pipe`] | its pipe and fittings |
//! | `cover` | the ground and slabs over its pipe |
//! | `way_out` | where there is too little cover, and where a pipe comes out of the ground |
//! | `layers` | bedding and fill of a line in words |
//! | `line_top` | what lies on top of a line |
//! | `surface` | what lies on top: counted when lifted, made good |
//! | [`boards`] | board feet |
//! | [`earth`] | spoil, export and loads |
//! | `trips` | how long the trips take, and who pays the driver |

// Each rule has a function of its own.
#![warn(clippy::too_many_lines)]

pub mod boards;
pub mod channel;
mod collect;
mod cover;
pub mod depths;
pub mod earth;
pub mod form_rows;
mod formwork;
mod layers;
pub mod levels;
pub mod line;
mod line_top;
mod outlets;
pub mod pipe;
pub mod profile;
pub mod run;
mod setting;
mod surface;
mod top;
pub mod trench;
mod trips;
pub(crate) mod way_out;

use crate::compute::cut_list::{CutLists, Part};
use crate::compute::needs::Needs;
use crate::domain::book::PriceBook;
use crate::domain::layout::Layout;
use crate::domain::lines::{Check, Outcome};
use crate::domain::measures::Measures;
use crate::domain::words::Measure;
use crate::units::{Length, Volume};
use collect::Collect;

/// What the take-off of a layout gives.
#[derive(Debug, Clone)]
pub struct Takeoff<'a> {
    /// The cut lists of channel, grates, pipe, boards and bars.
    pub cuts: CutLists<'a>,
    /// Run by run.
    pub runs: Vec<run::RunTakeoff>,
    /// Inverts and falls of the lines, in the order of the notes.
    pub levels: Vec<levels::Levels>,
    /// Line by line, in the order of the notes.
    pub lines: Vec<line::LineTakeoff>,
    /// Sums over the layout.
    pub measures: Measures,
    /// What each run, then each line, adds to the sums.
    pub parts: Vec<Measures>,
    /// What has to be bought, concrete and consumables apart.
    pub needs: Needs<'a>,
    /// Concrete, net.
    pub concrete_net: Volume,
    /// Deepest trench of the runs.
    pub deepest_run: Length,
    /// Deepest trench of the lines.
    pub deepest_line: Length,
    /// Spoil and rubble.
    pub earth: earth::EarthTakeoff,
    /// Checks raised here.
    pub checks: Vec<Check>,
}

/// Takes off a whole layout.
pub fn take_off<'a>(layout: &Layout<'a>, book: &'a PriceBook) -> Takeoff<'a> {
    let mut collect = Collect::new(layout, book);
    let cuts = CutLists::plan(layout, book, &mut collect.checks);
    cuts.buy(layout, book, &mut collect.measures, &mut collect.needs);
    let mut parts = Parts::after(&collect, layout.runs.len() + layout.lines.len());
    let mut runs = Vec::with_capacity(layout.runs.len());
    for (index, run) in layout.runs.iter().enumerate() {
        runs.push(run::take_off(run, index, &cuts, &mut collect));
        parts.add(&collect);
    }
    let levels = levels::all(layout, book);
    collect.checks.extend(levels::checks(layout, book, &levels));
    let mut lines = Vec::with_capacity(layout.lines.len());
    for (index, (line, level)) in layout.lines.iter().zip(&levels).enumerate() {
        lines.push(line::take_off(line, level, cuts.share(Part::Pipe, index), &mut collect));
        parts.add(&collect);
    }
    collect.measures.add_count(Measure::Visits, layout.visits);
    let earth = earth::take_off(&mut collect);
    let Collect { measures, needs, checks, .. } = collect;
    let of_runs = runs.iter().map(|run| run.concrete_net);
    let of_lines = lines.iter().map(|line| line.concrete_net);
    Takeoff {
        concrete_net: of_runs.chain(of_lines).sum(),
        deepest_run: runs.iter().map(|run| run.deepest).fold(Length::ZERO, Length::max),
        deepest_line: lines.iter().map(|line| line.deepest).fold(Length::ZERO, Length::max),
        cuts,
        runs,
        levels,
        lines,
        measures,
        parts: parts.each,
        needs,
        earth,
        checks,
    }
}

/// What each run and line adds to the sums.
struct Parts {
    each: Vec<Measures>,
    before: Measures,
}

impl Parts {
    /// So many, after what belongs to none of them.
    fn after(collect: &Collect<'_, '_>, count: usize) -> Self {
        Self { each: Vec::with_capacity(count), before: collect.measures.clone() }
    }

    /// What has been added since the last.
    fn add(&mut self, collect: &Collect<'_, '_>) {
        self.each.push(collect.measures.since(&self.before));
        self.before.clone_from(&collect.measures);
    }
}

/// A check.
pub(crate) fn check(
    name: &'static str,
    subject: impl Into<String>,
    outcome: Outcome,
    reason: String,
) -> Check {
    Check { name, subject: subject.into(), outcome, reason }
}
