//! Stage: the cut lists of a layout, for channel, grates, pipe, form boards and bars, each over all runs and lines that use
//! one stock.
//!
//! | file | subject |
//! |---|---|
//! | `gather` | the lists of legs by what they are cut from, with their rules |
//! | `gather::parts` | which legs there are of channel, grates, pipe, form boards and bars |
//! | `gather::uncut` | what a run's channel and grates cannot be cut to, before any list is made |
//! | `prices` | what stock lengths are weighed at, by the offers that can be used |
//! | [`costs`] | what one more joint or cut costs by the rates of the book |
//! | `share` | what each run and line gets out of the plans |
//! | [`answer`] | the plans as data: the cutting sheet |
//! | [`mark`] | what a piece is sawn by, and which pieces no cut ends |

pub mod answer;
pub mod costs;
mod gather;
pub mod mark;
mod prices;
mod share;

use super::cutting::{self, CutPlan, CuttingFault, Name, Problem, Source};
use super::needs::{Need, Needs};
use super::takeoff::{boards, check};
use crate::domain::book::PriceBook;
use crate::domain::layout::Layout;
use crate::domain::lines::{Check, Outcome};
use crate::domain::measures::Measures;
use crate::domain::words::Measure;
use crate::units::show::{Show, counted, joined, worded};
use crate::units::{Dimension, Length};
use crate::wire::Code;
use crate::wire::notes::SiteNotes;
use crate::wire_enum;
use gather::Rules;
pub(crate) use gather::{MOST_NODES, grate_gap, uncut, usual_nodes};
use prices::{Prices, Weighed};
use rust_decimal::Decimal;
pub use share::{Laid, Share};
use smallvec::SmallVec;
use std::collections::BTreeMap;
use std::fmt;

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

impl Part {
    /// Whether a leg shorter than the least piece is a piece of its own: a board across a narrow trench or a bar of a short run is
    /// sawn as long as it must be. Channel, grates and pipe are held by what they meet, and a stub holds nothing.
    const fn is_whole_when_short(self) -> bool {
        match self {
            Part::Channel | Part::Grate | Part::Pipe => false,
            Part::FormBoard | Part::Bar => true,
        }
    }
}

/// Where a leg of a cut list lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Place<'a> {
    /// Name of the run or line.
    pub owner: &'a Code,
    /// Run, or line for pipe, in the order of the layout.
    pub of: usize,
    /// Leg of it, counted from 0.
    pub leg: usize,
    /// Distance from the start of that leg.
    pub from: Length,
    /// Length to cover.
    pub length: Length,
}

/// An offcut from the yard.
#[derive(Debug, Clone)]
struct FromYard<'a> {
    /// Its place in the notes.
    number: usize,
    /// What the sheet calls it.
    name: String,
    item: &'a Code,
}

/// Legs cut from one stock.
#[derive(Debug, Clone)]
pub(crate) struct List<'a> {
    rules: Rules<'a>,
    /// What each stock length may cost, in the order of the rules.
    prices: Vec<Option<Prices<'a>>>,
    /// What each of them was weighed at.
    weighed: SmallVec<[Weighed<'a>; 2]>,
    /// What the stock costs as it is bought, where that is not what it was weighed at.
    paid: Option<Decimal>,
    /// Offcuts that may be used.
    yard: Vec<FromYard<'a>>,
    /// Legs, in the order of the problem's.
    places: Vec<Place<'a>>,
    problem: Problem,
    plan: Option<CutPlan>,
}

/// Whether cut lists may be searched for longer than those of a few legs are: by what the book says, or for many legs. Each leg of
/// a run has rows of boards and bars beside its channel and its grates.
pub fn searches_long(book: &PriceBook, notes: Option<&SiteNotes>) -> bool {
    let nodes = book.doc().cutting.as_ref().and_then(|s| s.most_nodes);
    let legs = |notes: &SiteNotes| {
        let of_runs: usize = notes.runs.iter().map(|r| r.legs.len()).sum();
        of_runs + notes.drain_lines.iter().map(|l| l.legs.len()).sum::<usize>()
    };
    match nodes.and_then(|n| u64::try_from(n.get()).ok()) {
        Some(nodes) => nodes > MOST_NODES,
        None => notes.map(legs).is_some_and(|legs| legs > 12),
    }
}

/// A piece that a plan takes from the yard.
#[derive(Debug, Clone)]
pub struct FromYardOut {
    /// Code of its item.
    pub item: Name,
    /// Its length.
    pub length: Length,
    /// How many alike.
    pub count: usize,
    /// Rule of the lines that need it.
    pub rule: &'static str,
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
        for (n, offcut) in layout.yard_offcuts.iter().enumerate() {
            if lists.iter().all(|list| list.yard.iter().all(|y| y.number != n)) {
                let reason = worded!(
                    "an offcut of {} lies in the yard, and nothing on this job is cut from `{}`: it stays there",
                    layout.show.length(offcut.length),
                    offcut.item
                );
                checks.push(check("yard_offcut", offcut.item.as_str(), Outcome::Warn, reason));
            }
        }
        let mut shares = BTreeMap::new();
        for list in &mut lists {
            solve(list, layout, checks);
            list.weigh_again(layout, book);
            share::hand_out(list, layout.show, &mut shares);
        }
        Self { lists, shares }
    }

    /// What a run or line gets of a part.
    pub fn share(&self, part: Part, of: usize) -> &Share {
        static NOTHING: Share = Share { pieces: Vec::new(), count: 0, joints: 0, cuts: 0, laid: Vec::new() };
        self.shares.get(&(part, of)).unwrap_or(&NOTHING)
    }

    /// The longest assembled piece of channel that is set at once; nothing where no plan has any.
    pub fn longest_setting(&self) -> Option<Length> {
        let channel = self.lists.iter().filter(|list| list.rules.part == Part::Channel);
        let legs = channel.flat_map(|list| &list.plan).flat_map(|plan| &plan.legs);
        legs.flat_map(|leg| &leg.settings).map(|s| Length::from_nm(s.to.0 - s.from.0)).max()
    }

    /// What the plans take from the yard: the item, the length and how many, with what is cut from it.
    pub fn from_yard(&self) -> impl Iterator<Item = FromYardOut> {
        self.lists.iter().flat_map(|list| {
            let rows = list.plan.iter().flat_map(|plan| &plan.sheet);
            rows.filter(|row| row.source == Source::Yard).map(move |row| FromYardOut {
                item: list.item_of(row),
                length: Length::from_nm(row.length.0),
                count: row.count,
                rule: list.rule(),
            })
        })
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
            for (item, length) in &list.rules.stock {
                let bought = bought(plan, item);
                if bought == 0 {
                    continue;
                }
                if list.rules.part == Part::FormBoard {
                    measures.add_count(Measure::FormBoards, bought);
                }
                let need = need_of(book, item, *length, bought);
                let forms = book.doc().forms.as_ref().filter(|_| list.rules.part == Part::FormBoard);
                let lumber = forms.and_then(|f| boards::in_words(f, *length, bought)).unwrap_or_default();
                let words = list.words(bought, *length, plan, layout.show);
                needs.add(book, item, need, list.rule(), format_args!("{words}{lumber}"));
            }
        }
    }
}

impl List<'_> {
    /// Code of the item of a row, which the sheet calls by its own name where it comes from the yard.
    fn item_of(&self, row: &cutting::Row) -> Name {
        let from = self.yard.iter().find(|y| row.stock == y.name.as_str());
        from.map_or_else(|| row.stock.clone(), |y| y.item.as_str().into())
    }

    fn rule(&self) -> &'static str {
        match self.rules.part {
            Part::Channel => "run.channel_stock",
            Part::Grate => "run.grates",
            Part::Pipe => "line.pipe",
            Part::FormBoard => "run.forms",
            Part::Bar => "run.bars",
        }
    }

    /// What so many of a stock length are bought for.
    fn words(&self, bought: i64, length: Length, plan: &CutPlan, show: Show) -> impl fmt::Display {
        fmt::from_fn(move |f| {
            let Rules { part, code, .. } = &self.rules;
            let (length, legs) = (show.length(length), counted(self.places.len(), "leg"));
            write!(f, "cut list of {part} `{code}`: {bought} of {length} for {legs} of ")?;
            // the legs of a run or line stand side by side
            let of_owners = || self.places.chunk_by(|a, b| a.owner == b.owner);
            let owners = of_owners().take(6).filter_map(|places| Some(places.first()?.owner));
            write!(f, "{}", joined(owners, ", "))?;
            let more = of_owners().skip(6).count();
            if more > 0 {
                write!(f, " and {more} more")?;
            }
            let totals = &plan.totals;
            write!(f, ", {}, {}", counted(totals.joints, "joint"), counted(totals.cuts, "cut"))
        })
    }
}

/// How many of a stock length a plan buys.
fn bought(plan: &CutPlan, item: &Code) -> i64 {
    let rows = plan.sheet.iter().filter(|s| s.stock.as_str() == item.as_str());
    rows.map(|s| s.count as i64).sum()
}

/// So many of a stock length, in what its item is priced by.
fn need_of(book: &PriceBook, item: &Code, length: Length, bought: i64) -> Need {
    match book.item(item).map(|i| i.unit.dimension()) {
        Some(Dimension::Length) => Need::Length(length * bought),
        _ => Need::Pieces(bought),
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
            let leg = of_leg(fault, list.rules.part, layout.show)
                .and_then(|(id, reason)| Some((list.problem.legs.iter().position(|l| l.id == id)?, reason)));
            if let Some((leg, reason)) = leg {
                let owner = list.places.get(leg).map_or("", |place| place.owner.as_str());
                let what = if list.rules.part == Part::Pipe { "line" } else { "run" };
                checks.push(check("least_piece", format!("{what} {owner}"), Outcome::Fail, reason));
                left_out.push(leg);
            } else {
                let subject = format!("{} {}", list.rules.part, list.rules.code);
                let reason = match fault {
                    CuttingFault::Twice { kind: "stock", id } => worded!(
                        "two stock lengths have the item code `{id}`, so that neither can be priced: give each length an item \
                         of its own in the price book"
                    ),
                    _ => fault.to_string(),
                };
                checks.push(check("cut_list", subject, Outcome::Fail, reason));
            }
        }
        if left_out.is_empty() {
            return;
        }
        let keep = |i: &usize| !left_out.contains(i);
        list.places = pick(&list.places, keep);
        list.problem.legs = pick(&list.problem.legs, keep);
    }
}

fn pick<T: Clone>(all: &[T], keep: impl Fn(&usize) -> bool) -> Vec<T> {
    all.iter().enumerate().filter(|(i, _)| keep(i)).map(|(_, t)| t.clone()).collect()
}

/// The leg a fault is about, and why it cannot be made, in the units of the job.
fn of_leg(fault: &CuttingFault, part: Part, show: Show) -> Option<(&str, String)> {
    let at = |nm: i64| show.length(Length::from_nm(nm));
    match fault {
        CuttingFault::LeastPieceLongerThanLeg { leg, length, least } => {
            let fix = match part {
                Part::Grate => "change the leg, or choose a grate that may be cut as short",
                Part::Channel | Part::Pipe | Part::FormBoard | Part::Bar => "move a fitting or change a leg",
            };
            let (length, least) = (at(length.0), at(least.0));
            let reason =
                worded!("{leg}: {part} of {length} is shorter than the least piece of {least}: {fix}");
            Some((leg, reason))
        }
        CuttingFault::ShorterThanLap { leg, length, lap } => Some((
            leg,
            worded!(
                "{leg}: {part} of {} is no longer than the lap of {}, so that it cannot be lapped",
                at(length.0),
                at(lap.0)
            ),
        )),
        CuttingFault::LegImpossible { leg, length, fewest, most, fix, .. } => Some((
            leg,
            worded!(
                "{leg}: {part} of {} cannot be made up: it takes at least {fewest} pieces, and at most {most} are possible: \
                 {fix}",
                at(length.0)
            ),
        )),
        _ => None,
    }
}
