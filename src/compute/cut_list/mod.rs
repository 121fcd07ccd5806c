//! Stage: the cut lists of a layout, for channel, grates, pipe, form boards and bars, each over all runs and lines that use
//! one stock.
//!
//! | file | subject |
//! |---|---|
//! | `gather` | the lists of legs by what they are cut from, with their rules |
//! | `gather::parts` | which legs there are of channel, grates, pipe, form boards and bars |
//! | [`costs`] | what one more joint or cut costs by the rates of the book |
//! | `share` | what each run and line gets out of the plans |
//! | [`answer`] | the plans as data: the cutting sheet |

pub mod answer;
pub mod costs;
mod gather;
mod share;

use super::cutting::{self, CutPlan, CuttingFault, Problem};
use super::needs::{Need, Needs};
use super::takeoff::{boards, check};
use crate::domain::book::PriceBook;
use crate::domain::layout::Layout;
use crate::domain::lines::{Check, Outcome};
use crate::domain::measures::Measures;
use crate::domain::words::Measure;
use crate::units::show::{counted, worded};
use crate::units::{Dimension, Length};
use crate::wire::Code;
use crate::wire_enum;
pub(crate) use gather::{MOST_NODES, grate_gap};
pub use share::Share;
use std::collections::BTreeMap;

wire_enum! {
    /// What a cut list is for.
    pub enum Part {
        /// sections of channel
        Channel = "channel",
        /// grates
        Grate = "grate",
        /// drain pipe
        Pipe = "pipe",
        /// boards of forms
        FormBoard = "form_board",
        /// reinforcing bars
        Bar = "bar",
    }
}

/// Where a leg of a cut list lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Place {
    /// Run, or line for pipe, in the order of the layout.
    pub of: usize,
    /// Leg of it, counted from 0.
    pub leg: usize,
    /// Distance from the start of that leg.
    pub from: Length,
    /// Length to cover.
    pub length: Length,
}

/// Legs cut from one stock.
#[derive(Debug, Clone)]
pub(crate) struct List<'a> {
    part: Part,
    /// Code of the channel system, the grate, the pipe, the board or the bar.
    code: &'a Code,
    /// Stock lengths on offer.
    stock: Vec<(&'a Code, Length)>,
    /// Legs, in the order of the problem's.
    places: Vec<Place>,
    /// Names the legs are known by, in the same order.
    owners: Vec<&'a Code>,
    problem: Problem,
    /// How the cost of a joint and of a cut came about.
    joint_basis: String,
    cut_basis: String,
    plan: Option<CutPlan>,
}

/// Whether a book lets its cut lists be searched for longer than usual.
pub fn searches_long(book: &PriceBook) -> bool {
    let nodes = book.doc().cutting.as_ref().and_then(|s| s.most_nodes);
    nodes.and_then(|n| u64::try_from(n.get()).ok()).is_some_and(|n| n > MOST_NODES)
}

/// All cut lists of a layout.
#[derive(Debug, Clone, Default)]
pub struct CutLists<'a> {
    lists: Vec<List<'a>>,
    shares: BTreeMap<(Part, usize), Share>,
}

impl<'a> CutLists<'a> {
    /// Works out every cut list of the layout. What cannot be cut is a failed check and is left out.
    pub fn plan(layout: &Layout<'a>, book: &'a PriceBook, checks: &mut Vec<Check>) -> Self {
        let mut lists = gather::all(layout, book);
        let mut shares = BTreeMap::new();
        for list in &mut lists {
            solve(list, layout, checks);
            share::hand_out(list, layout.show, &mut shares);
        }
        Self { lists, shares }
    }

    /// What a run or line gets of a part.
    pub fn share(&self, part: Part, of: usize) -> &Share {
        static NOTHING: Share = Share { pieces: Vec::new(), count: 0, joints: 0, cuts: 0 };
        self.shares.get(&(part, of)).unwrap_or(&NOTHING)
    }

    /// The stock to be bought, once for the whole layout.
    pub fn buy(
        &self,
        layout: &Layout<'a>,
        book: &'a PriceBook,
        measures: &mut Measures,
        needs: &mut Needs<'a>,
    ) {
        for list in &self.lists {
            let Some(plan) = &list.plan else { continue };
            for (item, length) in &list.stock {
                let rows = plan.sheet.iter().filter(|s| s.stock.as_str() == item.as_str());
                let bought = rows.map(|s| s.count).sum::<usize>() as i64;
                if bought == 0 {
                    continue;
                }
                if list.part == Part::FormBoard {
                    measures.add_count(Measure::FormBoards, bought);
                }
                let need = match book.item(item).map(|i| i.unit.dimension()) {
                    Some(Dimension::Length) => Need::Length(*length * bought),
                    _ => Need::Pieces(bought),
                };
                let mut words = list.words(bought, *length, plan, layout);
                let forms = book.doc().forms.as_ref().filter(|_| list.part == Part::FormBoard);
                if let Some(lumber) = forms.and_then(|f| boards::in_words(f, *length, bought)) {
                    words.push_str("; ");
                    words.push_str(&lumber);
                }
                needs.add(book, item, need, list.rule(), &words);
            }
        }
    }
}

impl List<'_> {
    fn rule(&self) -> &'static str {
        match self.part {
            Part::Channel => "run.channel_stock",
            Part::Grate => "run.grates",
            Part::Pipe => "line.pipe",
            Part::FormBoard => "run.forms",
            Part::Bar => "run.bars",
        }
    }

    fn words(&self, bought: i64, length: Length, plan: &CutPlan, layout: &Layout<'_>) -> String {
        let mut owners: Vec<&str> = self.owners.iter().map(|o| o.as_str()).collect();
        owners.dedup();
        let more = owners.len().saturating_sub(6);
        owners.truncate(6);
        let more = if more > 0 { worded!(" and {more} more") } else { String::new() };
        worded!(
            "cut list of {} `{}`: {bought} of {} for {} of {}{more}, {}, {}",
            self.part,
            self.code,
            layout.show.length(length),
            counted(self.places.len(), "leg"),
            owners.join(", "),
            counted(plan.totals.joints, "joint"),
            counted(plan.totals.cuts, "cut"),
        )
    }
}

/// Finds the plan; legs that no stock can make are checks and are left out, so that the rest is still planned.
fn solve(list: &mut List<'_>, layout: &Layout<'_>, checks: &mut Vec<Check>) {
    for _ in 0..2 {
        if list.places.is_empty() {
            return;
        }
        let faults = match cutting::plan(&list.problem) {
            Ok(plan) => {
                list.plan = Some(plan);
                return;
            }
            Err(faults) => faults,
        };
        let mut left_out = Vec::new();
        for fault in &faults {
            if let Some((leg, reason)) = of_leg(fault, list, layout) {
                let owner = list.owners.get(leg).map_or("", |o| o.as_str());
                let what = if list.part == Part::Pipe { "line" } else { "run" };
                checks.push(check("least_piece", format!("{what} {owner}"), Outcome::Fail, reason));
                left_out.push(leg);
            } else {
                let subject = format!("{} {}", list.part, list.code);
                checks.push(check("cut_list", subject, Outcome::Fail, fault.to_string()));
            }
        }
        if left_out.is_empty() {
            return;
        }
        let keep = |i: &usize| !left_out.contains(i);
        list.places = pick(&list.places, keep);
        list.owners = pick(&list.owners, keep);
        list.problem.legs = pick(&list.problem.legs, keep);
    }
}

fn pick<T: Clone>(all: &[T], keep: impl Fn(&usize) -> bool) -> Vec<T> {
    all.iter().enumerate().filter(|(i, _)| keep(i)).map(|(_, t)| t.clone()).collect()
}

/// The leg a fault is about, and why it cannot be made, in the units of the job.
fn of_leg(fault: &CuttingFault, list: &List<'_>, layout: &Layout<'_>) -> Option<(usize, String)> {
    let find = |id: &str| list.problem.legs.iter().position(|l| l.id == id);
    let at = |nm: i64| layout.show.length(Length::from_nm(nm));
    match fault {
        CuttingFault::LeastPieceLongerThanLeg { leg, length, least } => Some((
            find(leg)?,
            worded!(
                "{leg}: {} of {} is shorter than the least piece of {}: move a fitting or change a leg",
                list.part,
                at(length.0),
                at(least.0)
            ),
        )),
        CuttingFault::LegImpossible { leg, length, fewest, most, fix, .. } => Some((
            find(leg)?,
            worded!(
                "{leg}: {} of {} cannot be made up: it takes at least {fewest} pieces, and at most {most} are possible: \
                 {fix}",
                list.part,
                at(length.0)
            ),
        )),
        _ => None,
    }
}
