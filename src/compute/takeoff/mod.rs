//! Stage: measured quantities of a resolved layout.
//!
//! | file | subject |
//! |---|---|
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
//! | `surface` | what lies on top: counted when lifted, made good |
//! | [`boards`] | board feet |
//! | [`earth`] | spoil, export and loads |
//! | `trips` | how long the trips take, and who pays the driver |

pub mod boards;
pub mod channel;
mod cover;
pub mod depths;
pub mod earth;
pub mod form_rows;
mod formwork;
mod layers;
pub mod levels;
pub mod line;
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
use crate::domain::lines::{Check, Outcome, QuantityLine};
use crate::domain::measures::Measures;
use crate::units::{Length, Quantity, Volume};
use std::borrow::Cow;

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
    let mut measures = Measures::default();
    let mut needs = Needs::default();
    let mut checks = Vec::new();
    let mut earth = earth::Earth::default();
    let mut runs = Vec::with_capacity(layout.runs.len());
    let mut concrete_net = Volume::ZERO;
    let mut deepest_run = Length::ZERO;
    let cuts = CutLists::plan(layout, book, &mut checks);
    cuts.buy(layout, book, &mut measures, &mut needs);
    let mut parts = Vec::with_capacity(layout.runs.len() + layout.lines.len());
    let mut before = measures.clone();
    for (index, run) in layout.runs.iter().enumerate() {
        let taken = run::take_off(
            run,
            index,
            &cuts,
            layout,
            book,
            &mut measures,
            &mut needs,
            &mut earth,
            &mut checks,
        );
        concrete_net += taken.concrete_net;
        deepest_run = deepest_run.max(taken.deepest);
        runs.push(taken);
        parts.push(measures.since(&before));
        before.clone_from(&measures);
    }
    let levels = levels::all(layout, book);
    checks.extend(levels::checks(layout, book, &levels));
    let mut lines = Vec::with_capacity(layout.lines.len());
    let mut deepest_line = Length::ZERO;
    for (index, (line, level)) in layout.lines.iter().zip(&levels).enumerate() {
        let share = cuts.share(Part::Pipe, index);
        let taken = line::take_off(
            line,
            level,
            share,
            layout,
            book,
            &mut measures,
            &mut needs,
            &mut earth,
            &mut checks,
        );
        concrete_net += taken.concrete_net;
        deepest_line = deepest_line.max(taken.deepest);
        lines.push(taken);
        parts.push(measures.since(&before));
        before.clone_from(&measures);
    }
    measures.add_count(crate::domain::words::Measure::Visits, layout.visits);
    let earth = earth.close(layout, book, &mut measures, &mut needs, &mut checks);
    Takeoff {
        cuts,
        runs,
        levels,
        lines,
        measures,
        parts,
        needs,
        concrete_net,
        deepest_run,
        deepest_line,
        earth,
        checks,
    }
}

/// The depths from which the price book's digging takes longer, in the order of the book.
fn deep_from(book: &PriceBook) -> impl Iterator<Item = Length> {
    let rules = book.doc().labor_rules.iter();
    rules.flat_map(|r| r.depth.iter().map(|d| d.deeper_than))
}

/// A quantity line.
pub(crate) fn quantity(
    name: impl Into<Cow<'static, str>>,
    quantity: Quantity,
    rule: &'static str,
    basis: String,
) -> QuantityLine {
    QuantityLine { name: name.into(), quantity, rule, basis: basis.into() }
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
