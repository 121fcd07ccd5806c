//! The answer: every stock piece on its sheet, every leg from end to end, what it costs and how good it is.

use super::name::Name;
use super::problem::Source;
use crate::compute::exact::Nm;
use rust_decimal::Decimal;
use smallvec::SmallVec;

/// A worked-out cut list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CutPlan {
    /// The cutting sheet; its stock pieces are numbered from 1, row after row.
    pub sheet: Vec<Row>,
    /// Legs in the order of the request.
    pub legs: Vec<LegPlan>,
    /// What is left and worth keeping.
    pub offcuts: Vec<Offcut>,
    /// Counts and costs of this plan.
    pub totals: Totals,
    /// The plain list, every leg on its own; `None` when limited stock does not reach that way.
    pub simple: Option<Totals>,
    /// What the plan saves against the plain list.
    pub saving: Option<Decimal>,
    /// No plan costs less than this that takes at most one piece for a leg out of one stock piece.
    pub lower_bound: Decimal,
    /// Total less lower bound, in currency.
    pub gap: Decimal,
    /// The gap as a share of the total, rounded half up to 6 decimals.
    pub gap_share: Decimal,
    /// Whether the plan is proved to be the cheapest.
    pub proven: bool,
    /// Search nodes used.
    pub nodes: u64,
    /// Worth of the offcuts kept, at the value the request gives; not part of the total.
    pub offcut_value: Decimal,
    /// Stock lengths that no plan takes.
    pub left_out: Vec<LeftOut>,
}

/// A stock length that no plan takes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LeftOut {
    /// Name of the stock length.
    pub stock: String,
    /// Its whole length.
    pub length: Nm,
    /// Why.
    pub why: WhyLeftOut,
}

/// Why a stock length is taken by no plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WhyLeftOut {
    /// It is longer than this longest setting.
    LongerThanSetting(Nm),
    /// It is shorter than the least piece.
    ShorterThanLeast,
    /// There is none.
    NoneAvailable,
    /// Another of the same length is no dearer.
    NoDearerOther,
}

/// One row of the cutting sheet: a stock piece and what is cut from it, in cutting order, or as many as go whole onto one
/// leg, one after the other.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    /// Number of the stock piece; of the first, where they are several.
    pub number: usize,
    /// How many stock pieces; more than one only where none is cut.
    pub count: usize,
    /// Name of the stock length.
    pub stock: Name,
    /// Bought or from the yard.
    pub source: Source,
    /// Whole length of each.
    pub length: Nm,
    /// Price of each.
    pub price: Decimal,
    /// The pieces of one, in cutting order; mostly one.
    pub pieces: SmallVec<[Piece; 1]>,
    /// Cuts made in one.
    pub cuts: usize,
    /// What is left after the last cut.
    pub left: Nm,
}

/// One piece of each stock piece of a row: the leg it goes to and the station it covers there.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Piece {
    /// Name of the leg.
    pub leg: Name,
    /// Station where it begins; where they are several, the first.
    pub from: Nm,
    /// Station where it ends; where they are several, the last.
    pub to: Nm,
    /// Length of one.
    pub length: Nm,
}

/// One leg, from its start to its end.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LegPlan {
    /// Name of the leg.
    pub leg: Name,
    /// Its length.
    pub length: Nm,
    /// Its pieces from start to end.
    pub pieces: SmallVec<[LegPiece; 3]>,
    /// Joints within the leg.
    pub joints: usize,
    /// Assembled lengths to be set one after the other, each no longer than the longest setting.
    pub settings: SmallVec<[Setting; 1]>,
}

/// What a leg gets from one row of the sheet: a piece, or several whole ones.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LegPiece {
    /// The row, counted from 0.
    pub row: usize,
    /// Which of the pieces of that row it is, counted from 0.
    pub place: usize,
    /// Whether it is an uncut stock length.
    pub whole: bool,
}

/// An assembled length that is lifted and set at once.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Setting {
    /// Station where it begins.
    pub from: Nm,
    /// Station where it ends.
    pub to: Nm,
}

/// What is left of a stock piece and worth keeping.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Offcut {
    /// Number of the stock piece.
    pub stock_piece: usize,
    /// Name of the stock length.
    pub stock: Name,
    /// Its length.
    pub length: Nm,
}

/// Counts and costs. Each price and each cost of a joint or cut is taken to a millionth of the currency unit
/// (half up); the sums are exact.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Totals {
    /// Stock pieces used.
    pub stock_pieces: usize,
    /// Pieces set.
    pub pieces: usize,
    /// Joints within legs: pieces less legs.
    pub joints: usize,
    /// Cuts made.
    pub cuts: usize,
    /// Length of all stock used.
    pub stock_length: Nm,
    /// Left over after the last cut of each stock piece.
    pub left: Nm,
    /// Price of the stock.
    pub stock_cost: Decimal,
    /// Cost of the joints.
    pub joint_cost: Decimal,
    /// Cost of the cuts.
    pub cut_cost: Decimal,
    /// Stock, joints and cuts.
    pub total: Decimal,
}
