//! The plans as data: what is cut from each stock length, in order, and where each piece goes.

use super::costs::shown;
use super::mark::Mark;
use super::{CutLists, List, Part, Place};
use crate::compute::cutting::{self, CutPlan, LeftOut, Name, Problem, Source, WhyLeftOut};
use crate::compute::exact::{Nm, micros};
use crate::units::decimal::whole;
use crate::units::money::share_out;
use crate::units::show::{LINE, Show, counted, worded};
use crate::units::{Amount, Length, Percent, Price, Quantity};
use crate::wire_enum;
use rust_decimal::Decimal;
use serde::Serialize;
use smallvec::SmallVec;
use std::fmt::Write as _;
use std::mem;
use utoipa::ToSchema;

wire_enum! {
    /// Where a stock piece comes from.
    pub enum StockSource {
        /// bought new for this job
        Bought = "bought",
        /// an offcut brought along
        Yard = "yard",
    }
}

/// One piece in cutting order, where it goes; for a row of several stock pieces, one of each.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct CutPiece {
    /// The leg it goes to.
    #[schema(value_type = String, example = "run drive, leg 2")]
    pub leg: Name,
    /// Station on that leg where it begins, from the start of the leg of the run; of several, the first.
    pub from: Quantity,
    /// Station where it ends; of several, the last.
    pub to: Quantity,
    /// Length of one.
    pub length: Quantity,
    /// The same as a foreman writes it and a tape shows it: rounded down to a sixteenth of an inch, or to a millimetre, so that the
    /// piece fits; at least one of them. `whole` for a stock piece that no saw touches, `the rest` for what the last cut leaves of one
    /// that is used up: neither is marked, and sawing either to a tape would make it short.
    #[schema(value_type = String, example = "3 ft 5 7/8 in")]
    pub mark: Mark,
}

/// One row of the cutting sheet: a stock piece and what is cut from it, or as many as go whole onto one leg, one after the
/// other.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct CutSheetRow {
    /// Number of the stock piece, from 1; of the first, where they are several.
    pub number: i64,
    /// How many stock pieces, numbered on from `number`; more than one only where none of them is cut.
    pub count: i64,
    /// Item code, or the name of the offcut.
    #[schema(value_type = String)]
    pub stock: Name,
    /// Where it comes from.
    pub source: StockSource,
    /// Whole length of each.
    pub length: Quantity,
    /// Price of each.
    pub price: Price,
    /// The pieces of one, in cutting order.
    #[schema(value_type = Vec<CutPiece>)]
    pub pieces: SmallVec<[CutPiece; 1]>,
    /// Cuts made in one.
    pub cuts: i64,
    /// What is left after the last cut.
    pub left: Quantity,
}

/// An assembled length that is lifted and set at once.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct SettingOut {
    /// Station where it begins.
    pub from: Quantity,
    /// Station where it ends.
    pub to: Quantity,
}

/// One leg from end to end.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct CutLeg {
    /// Its name.
    #[schema(value_type = String, example = "run drive, leg 2")]
    pub leg: Name,
    /// Length covered, between its fittings.
    pub length: Quantity,
    /// The rows of the sheet it is made from, from its start, each by its `number`.
    #[schema(value_type = Vec<i64>)]
    pub from_stock: SmallVec<[i64; 6]>,
    /// Joints within it.
    pub joints: i64,
    /// What is assembled and set one after the other.
    #[schema(value_type = Vec<SettingOut>)]
    pub settings: SmallVec<[SettingOut; 1]>,
}

/// An offcut worth keeping.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct KeptOffcut {
    /// Stock piece it is left of.
    pub stock_piece: i64,
    /// Item code.
    #[schema(value_type = String)]
    pub stock: Name,
    /// Its length.
    pub length: Quantity,
}

/// The cut list of everything that is cut from one stock.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct CutListOut {
    /// What is cut.
    pub part: Part,
    /// Code of the channel system, grate, pipe, board or bar.
    pub code: String,
    /// What a saw cut takes.
    pub kerf: Quantity,
    /// Gap between pieces; a lap when negative.
    pub gap: Quantity,
    /// Shortest piece that may be made.
    pub least_piece: Quantity,
    /// The cutting sheet, row by row.
    pub sheet: Vec<CutSheetRow>,
    /// Every leg.
    pub legs: Vec<CutLeg>,
    /// What is left and worth keeping.
    pub offcuts: Vec<KeptOffcut>,
    /// Stock pieces used.
    pub stock_pieces: i64,
    /// Joints.
    pub joints: i64,
    /// Cuts.
    pub cuts: i64,
    /// Price of the stock: for each length the least that one costs in the numbers that the list may take, by the offers that
    /// can be used on the day of the order, else the item's own. `basis` says whose; `notes` say what it comes to in whole packs
    /// where that is another amount.
    pub stock_cost: Amount,
    /// What the joints cost by the book's rates; steers the plan. Joints and cuts share by largest remainder what `total` leaves
    /// beside `stock_cost`, so that the three make it to the cent.
    pub joint_cost: Amount,
    /// What the cuts cost by the book's rates; steers the plan. Rounded with `joint_cost`.
    pub cut_cost: Amount,
    /// Stock, joints and cuts: their exact sum, rounded once.
    pub total: Amount,
    /// No plan costs less than this that takes at most one piece for a leg out of one stock piece. Where the gap of a joint is
    /// wider than the kerf, cutting a stock piece in two for the same leg could stretch it a little further. Stock longer than
    /// the longest setting counts as not there: sawn into pieces that can be lifted it might be cheaper.
    pub lower_bound: Amount,
    /// Total over lower bound, in percent of the total.
    pub gap_pct: Percent,
    /// Whether the plan is proved to be the cheapest of those that `lower_bound` holds for.
    pub proven: bool,
    /// Search steps taken.
    pub nodes: u64,
    /// Total of the plain list: every leg on its own from whole lengths, nothing shared. Absent where limited stock does not
    /// reach that way.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub plain_list: Option<Amount>,
    /// What the plan saves against the plain list.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub saving: Option<Amount>,
    /// How the cost of one joint came about.
    pub joint_basis: String,
    /// How the cost of one cut came about.
    pub cut_basis: String,
    /// What was left out or should be known.
    pub notes: Vec<String>,
    /// The sum in words.
    pub basis: String,
}

/// What a plan needs beside itself to be written down.
pub(crate) struct About<'p> {
    pub(crate) part: Part,
    pub(crate) code: &'p str,
    pub(crate) joint_basis: String,
    pub(crate) cut_basis: String,
}

impl CutLists<'_> {
    /// Every plan, written down.
    pub fn answer(self, show: Show) -> Vec<CutListOut> {
        self.lists.into_iter().filter_map(|l| l.answer(show)).collect()
    }
}

impl List<'_> {
    fn answer(mut self, show: Show) -> Option<CutListOut> {
        let plan = self.plan.take()?;
        let about = About {
            part: self.rules.part,
            code: self.rules.code.as_str(),
            joint_basis: mem::take(&mut self.rules.joint).words(),
            cut_basis: mem::take(&mut self.rules.cut).words(),
        };
        let mut out = write(&plan, &self.problem, about, show);
        self.put_stations(&plan, &mut out, show);
        for offcut in &mut out.offcuts {
            if let Some(from) = self.yard.iter().find(|y| offcut.stock == y.name.as_str()) {
                offcut.stock = from.item.as_str().into();
            }
        }
        self.put_prices(&mut out.basis);
        out.notes.extend(self.paid_in_words());
        let legs = self.places.iter().zip(&self.problem.legs);
        let open = legs.map(|(place, leg)| (place.length - Length::from_nm(leg.length.0), leg));
        out.notes.extend(open.filter(|(open, _)| open.is_positive()).map(|(open, leg)| {
            let left = show.length(open);
            worded!(
                "leg `{}`: whole pieces and their gaps end {left} short of it, less than one gap: left open",
                leg.id
            )
        }));
        Some(out)
    }
}

impl List<'_> {
    /// Stations count from the start of the leg, before the fitting that its channel may begin behind.
    fn put_stations(&self, plan: &CutPlan, out: &mut CutListOut, show: Show) {
        let begins_behind = |(place, _): &(&Place<'_>, _)| place.from.is_positive();
        let legs = self.places.iter().zip(plan.legs.iter().zip(&mut out.legs));
        for (place, (leg, leg_out)) in legs.filter(begins_behind) {
            let station = |at: Nm| show.long(place.from + Length::from_nm(at.0));
            for (setting, setting_out) in leg.settings.iter().zip(&mut leg_out.settings) {
                (setting_out.from, setting_out.to) = (station(setting.from), station(setting.to));
            }
            for own in &leg.pieces {
                let piece = plan.sheet.get(own.row).and_then(|row| row.pieces.get(own.place));
                let row_out = out.sheet.get_mut(own.row);
                let piece_out = row_out.and_then(|row| row.pieces.get_mut(own.place));
                if let Some((piece, piece_out)) = piece.zip(piece_out) {
                    (piece_out.from, piece_out.to) = (station(piece.from), station(piece.to));
                }
            }
        }
    }
}

fn long(length: Nm, show: Show) -> Quantity {
    show.long(Length::from_nm(length.0))
}

fn piece(p: &cutting::Piece, place: usize, cuts: usize, show: Show) -> CutPiece {
    CutPiece {
        leg: p.leg.clone(),
        from: long(p.from, show),
        to: long(p.to, show),
        length: long(p.length, show),
        mark: Mark::of(Length::from_nm(p.length.0), place, cuts, show),
    }
}

fn row(s: &cutting::Row, show: Show) -> CutSheetRow {
    CutSheetRow {
        number: s.number as i64,
        count: s.count as i64,
        stock: s.stock.clone(),
        source: match s.source {
            Source::Bought => StockSource::Bought,
            Source::Yard => StockSource::Yard,
        },
        length: long(s.length, show),
        price: Price::rounded(s.price),
        pieces: s.pieces.iter().enumerate().map(|(place, p)| piece(p, place, s.cuts, show)).collect(),
        cuts: s.cuts as i64,
        left: long(s.left, show),
    }
}

fn leg(l: &cutting::LegPlan, plan: &CutPlan, show: Show) -> CutLeg {
    CutLeg {
        leg: l.leg.clone(),
        length: long(l.length, show),
        from_stock: l.pieces.iter().filter_map(|p| plan.sheet.get(p.row)).map(|s| s.number as i64).collect(),
        joints: l.joints as i64,
        settings: l
            .settings
            .iter()
            .map(|s| SettingOut { from: long(s.from, show), to: long(s.to, show) })
            .collect(),
    }
}

/// A plan written down.
pub(crate) fn write(plan: &CutPlan, problem: &Problem, about: About<'_>, show: Show) -> CutListOut {
    let small = |nm: i64| show.small(Length::from_nm(nm));
    let money = |d: Decimal| Amount::line(d);
    let (stock_cost, total) = (money(plan.totals.stock_cost), money(plan.totals.total));
    let [joint_cost, cut_cost] = work(plan, total - stock_cost);
    let mut basis = words(plan, problem, show);
    let alone = [money(plan.totals.joint_cost), money(plan.totals.cut_cost)];
    if alone != [joint_cost, cut_cost] {
        let [joints, cuts] = alone;
        // writing to a string does not fail
        let _ = write!(
            basis,
            "; rounded by themselves {joints} for joints and {cuts} for cuts, here {joint_cost} and {cut_cost}: with the stock \
             they make the total"
        );
    }
    CutListOut {
        part: about.part,
        code: about.code.to_owned(),
        kerf: small(problem.kerf.0),
        gap: small(problem.gap.0),
        least_piece: small(problem.least_piece.0),
        sheet: plan.sheet.iter().map(|s| row(s, show)).collect(),
        legs: plan.legs.iter().map(|l| leg(l, plan, show)).collect(),
        offcuts: plan
            .offcuts
            .iter()
            .map(|o| KeptOffcut {
                stock_piece: o.stock_piece as i64,
                stock: o.stock.clone(),
                length: long(o.length, show),
            })
            .collect(),
        stock_pieces: plan.totals.stock_pieces as i64,
        joints: plan.totals.joints as i64,
        cuts: plan.totals.cuts as i64,
        stock_cost,
        joint_cost,
        cut_cost,
        total,
        lower_bound: money(plan.lower_bound),
        gap_pct: percent(plan.gap_share),
        proven: plan.proven,
        nodes: plan.nodes,
        plain_list: plan.simple.as_ref().map(|s| money(s.total)),
        // of the amounts as they stand here, so that the three foot
        saving: plan.simple.as_ref().map(|s| money(s.total) - total),
        joint_basis: about.joint_basis,
        cut_basis: about.cut_basis,
        notes: plan.left_out.iter().map(|l| left_out(l, show)).collect(),
        basis,
    }
}

/// Joints and cuts of a plan: what its total leaves beside the stock, by largest remainder, so that the three make the total.
fn work(plan: &CutPlan, rest: Amount) -> [Amount; 2] {
    let weight = |cost: Decimal| micros(cost).unwrap_or(i64::MAX);
    let joints = share_out(rest, &[weight(plan.totals.joint_cost), weight(plan.totals.cut_cost)]);
    let joints = joints.first().copied().unwrap_or_default();
    [joints, rest - joints]
}

/// Why a stock length is in no plan, in the units of the job.
fn left_out(stock: &LeftOut, show: Show) -> String {
    let at = |length: Nm| show.length(Length::from_nm(length.0));
    let why = match stock.why {
        WhyLeftOut::LongerThanSetting(longest) => {
            worded!(
                "longer than the longest setting of {}; stock that long is not used, not even sawn",
                at(longest)
            )
        }
        WhyLeftOut::ShorterThanLeast => "shorter than the least piece".to_owned(),
        WhyLeftOut::NoneAvailable => "none available".to_owned(),
        WhyLeftOut::NoDearerOther => "another of the same length is no dearer".to_owned(),
    };
    worded!("stock `{}` ({}) was not used: {why}", stock.stock, at(stock.length))
}

/// The sum of a plan in the units of the job, with room for what is said behind it.
fn words(plan: &CutPlan, problem: &Problem, show: Show) -> String {
    let t = &plan.totals;
    let mut words = String::with_capacity(2 * LINE);
    // writing to a string does not fail
    let _ = write!(
        words,
        "{}, {} in all, {} + {} ({} less {}) x {} + {} x {} = {}; {} left over",
        counted(t.stock_pieces, "stock piece"),
        show.length(Length::from_nm(t.stock_length.0)),
        whole(t.stock_cost),
        counted(t.joints, "joint"),
        counted(t.pieces, "piece"),
        counted(problem.legs.len(), "leg"),
        shown(problem.joint.cost(problem.rate_per_hour)),
        counted(t.cuts, "cut"),
        shown(problem.cut.cost(problem.rate_per_hour)),
        shown(t.total),
        show.length(Length::from_nm(t.left.0)),
    );
    words
}

/// A share as percent, to four decimals.
fn percent(share: Decimal) -> Percent {
    Percent::from_millionths(micros(share).unwrap_or(0))
}
