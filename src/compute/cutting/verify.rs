//! The independent checker: proves a plan against its request, from the drawn data alone.
//!
//! It shares no code with the search. It is run on every plan before it is handed out.

use super::plan::{CutPlan, Piece, Row};
use super::problem::{Leg, Problem, Stock, Work};
use crate::compute::exact::{Nm, from_micros, micros};
use rust_decimal::Decimal;
use rustc_hash::{FxBuildHasher, FxHashMap};
use smallvec::SmallVec;
use std::collections::BTreeMap;

/// What is wrong with a plan.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PlanFault {
    /// A name that the request does not have, or a stock piece that differs from the stock of that name.
    #[error("stock piece {piece}: `{name}` is not in the request as drawn")]
    Unknown {
        /// Number of the stock piece.
        piece: usize,
        /// The name.
        name: String,
    },
    /// More of a stock length than there is.
    #[error("stock `{stock}`: {used} used, {available} available")]
    TooMany {
        /// The stock length.
        stock: String,
        /// How many the plan uses.
        used: u32,
        /// How many there are.
        available: u32,
    },
    /// Pieces and kerfs are longer than the stock piece, or cuts and rest do not fit them.
    #[error("stock piece {piece}: pieces {} m, {cuts} cuts, left {} m do not fit {} m", pieces.metres(), left.metres(), length.metres())]
    Overfull {
        /// Number of the stock piece.
        piece: usize,
        /// Sum of its pieces.
        pieces: Nm,
        /// Cuts drawn.
        cuts: usize,
        /// Rest drawn.
        left: Nm,
        /// Its length.
        length: Nm,
    },
    /// Numbers that leave out or repeat a stock piece, or a row of several that are not whole.
    #[error("stock piece {piece}: the row of {count} does not follow on, or is not of whole pieces")]
    Row {
        /// Number of the stock piece.
        piece: usize,
        /// How many stand on the row.
        count: usize,
    },
    /// A piece shorter than the least piece or longer than the crew can lift.
    #[error("stock piece {piece}: a piece of {} m for leg `{leg}` is not allowed", length.metres())]
    PieceLength {
        /// Number of the stock piece.
        piece: usize,
        /// The leg it is for.
        leg: String,
        /// Its length.
        length: Nm,
    },
    /// A leg that is not covered once from end to end.
    #[error("leg `{leg}`: at {} m the next piece starts at {} m", expected.metres(), found.metres())]
    Cover {
        /// The leg.
        leg: String,
        /// Where a piece should start (or the leg end).
        expected: Nm,
        /// Where it does.
        found: Nm,
    },
    /// More joints in a leg than allowed.
    #[error("leg `{leg}`: {joints} joints")]
    Joints {
        /// The leg.
        leg: String,
        /// Its joints.
        joints: usize,
    },
    /// The leg list and the stock list tell different stories, or a setting is too long.
    #[error("leg `{leg}`: its own list does not match the stock pieces")]
    LegList {
        /// The leg.
        leg: String,
    },
    /// A figure that does not follow from the drawing.
    #[error("{figure} is {stated}, the drawing gives {drawn}")]
    Figure {
        /// Which figure.
        figure: &'static str,
        /// As stated.
        stated: Decimal,
        /// As drawn.
        drawn: Decimal,
    },
    /// The offcut list does not match what is left.
    #[error("the offcuts listed are not those left")]
    Offcuts,
}

/// Proves that the plan covers every leg once from end to end within its stock, and that its figures add up.
///
/// # Errors
/// Everything that is wrong with the plan.
pub fn verify(plan: &CutPlan, problem: &Problem) -> Result<(), Vec<PlanFault>> {
    let mut faults = Vec::new();
    let legs = ByName::new(&problem.legs);
    let mut covers: SmallVec<[Cover; 8]> =
        SmallVec::with_capacity(plan.sheet.iter().map(|s| s.pieces.len()).sum());
    // pieces that belong to no leg of the request
    let mut strays: BTreeMap<&str, usize> = BTreeMap::new();
    let mut next = 1;
    for (row, s) in plan.sheet.iter().enumerate() {
        let uncut = s.pieces.len() == 1 && s.pieces.iter().all(|p| p.length == s.length);
        if s.number != next || s.count == 0 || (s.count > 1 && !uncut) {
            faults.push(PlanFault::Row { piece: s.number, count: s.count });
        }
        next = s.number.saturating_add(s.count);
        check_stock_piece(s, problem, &mut faults);
        for (place, p) in s.pieces.iter().enumerate() {
            match legs.find(p.leg.as_str()) {
                Some(leg) => {
                    let (count, whole) = (s.count, p.length == s.length);
                    covers.push(Cover {
                        leg,
                        from: p.from.0,
                        to: p.to.0,
                        row,
                        place,
                        count,
                        len: p.length.0,
                        whole,
                    });
                }
                None => _ = strays.entry(p.leg.as_str()).or_insert(s.number),
            }
        }
    }
    for stock in &problem.stock {
        let Some(available) = stock.available else { continue };
        let used: usize = plan.sheet.iter().filter(|s| s.stock.as_str() == stock.id).map(|s| s.count).sum();
        let used = u32::try_from(used).unwrap_or(u32::MAX);
        if used > available {
            faults.push(PlanFault::TooMany { stock: stock.id.clone(), used, available });
        }
    }
    covers.sort_unstable();
    check_legs(plan, problem, &covers, &mut faults);
    faults.extend(strays.into_iter().map(|(leg, piece)| PlanFault::Unknown { piece, name: leg.to_owned() }));
    check_figures(plan, problem, &mut faults);
    check_offcuts(plan, problem, &mut faults);
    if faults.is_empty() { Ok(()) } else { Err(faults) }
}

/// The legs of the request by name; of two of one name, the first.
enum ByName<'a> {
    /// So few that looking through them is quickest.
    Few(&'a [Leg]),
    Many(FxHashMap<&'a str, usize>),
}

impl<'a> ByName<'a> {
    fn new(legs: &'a [Leg]) -> Self {
        if legs.len() <= 8 {
            return Self::Few(legs);
        }
        let mut places = FxHashMap::with_capacity_and_hasher(legs.len(), FxBuildHasher);
        for (i, leg) in legs.iter().enumerate() {
            places.entry(leg.id.as_str()).or_insert(i);
        }
        Self::Many(places)
    }

    fn find(&self, name: &str) -> Option<usize> {
        match self {
            Self::Few(legs) => legs.iter().position(|leg| leg.id == name),
            Self::Many(places) => places.get(name).copied(),
        }
    }
}

/// Pieces of a leg of the request, as a row of the sheet draws them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Cover {
    leg: usize,
    from: i64,
    to: i64,
    /// Row of the sheet, and which of its pieces it is.
    row: usize,
    place: usize,
    count: usize,
    /// Length of one.
    len: i64,
    whole: bool,
}

impl Cover {
    /// Where the last of them ends when the first begins at `from`.
    fn end(&self, gap: i64) -> i128 {
        let count = self.count as i128;
        i128::from(self.from) + count * i128::from(self.len) + (count - 1) * i128::from(gap)
    }
}

fn find<'a>(problem: &'a Problem, s: &Row) -> Option<&'a Stock> {
    problem.stock.iter().find(|k| k.id == s.stock.as_str())
}

fn check_stock_piece(s: &Row, problem: &Problem, faults: &mut Vec<PlanFault>) {
    let same =
        find(problem, s).is_some_and(|k| k.length == s.length && k.price == s.price && k.source == s.source);
    if !same || s.pieces.is_empty() {
        faults.push(PlanFault::Unknown { piece: s.number, name: s.stock.to_string() });
        return;
    }
    let sum: i128 = s.pieces.iter().map(|p| i128::from(p.length.0)).sum();
    let n = s.pieces.len() as i128;
    let kerf = i128::from(problem.kerf.0);
    let whole = i128::from(s.length.0);
    let used_up = sum + (n - 1) * kerf == whole;
    let cuts = if used_up { n - 1 } else { n };
    // the last cut may fall partly beyond the end: then nothing is left
    let left = (whole - sum - cuts * kerf).max(0);
    if sum + (n - 1) * kerf > whole || s.cuts as i128 != cuts || i128::from(s.left.0) != left {
        let pieces = Nm(i64::try_from(sum).unwrap_or(i64::MAX));
        let (piece, cuts, left, length) = (s.number, s.cuts, s.left, s.length);
        faults.push(PlanFault::Overfull { piece, pieces, cuts, left, length });
    }
    let longest = problem.longest_setting.map_or(i128::MAX, |l| i128::from(l.0));
    for p in &s.pieces {
        let len = i128::from(p.length.0);
        let too_short = len < i128::from(problem.least_piece.0) && !is_whole(p, problem);
        if too_short || len < 1 || len > longest {
            let (piece, leg) = (s.number, p.leg.to_string());
            faults.push(PlanFault::PieceLength { piece, leg, length: p.length });
        }
    }
}

/// Whether a piece is the whole of a leg that may be shorter than the least piece.
fn is_whole(piece: &Piece, problem: &Problem) -> bool {
    problem.short_legs_whole
        && problem.legs.iter().any(|l| l.id == piece.leg.as_str() && l.length == piece.length)
}

fn check_legs(plan: &CutPlan, problem: &Problem, covers: &[Cover], faults: &mut Vec<PlanFault>) {
    let mut covers = covers;
    let name = |leg: &Leg| leg.id.to_string();
    for (i, leg) in problem.legs.iter().enumerate() {
        let (pieces, others) = covers.split_at(covers.iter().take_while(|c| c.leg == i).count());
        covers = others;
        let mut expected = 0_i64;
        let mut end = 0_i64;
        for piece in pieces {
            if piece.from != expected {
                let (expected, found) = (Nm(expected), Nm(piece.from));
                faults.push(PlanFault::Cover { leg: name(leg), expected, found });
            }
            if i128::from(piece.to) != piece.end(problem.gap.0) {
                let expected = Nm(i64::try_from(piece.end(problem.gap.0)).unwrap_or(i64::MAX));
                faults.push(PlanFault::Cover { leg: name(leg), expected, found: Nm(piece.to) });
            }
            end = piece.to;
            expected = piece.to.saturating_add(problem.gap.0);
        }
        if end != leg.length.0 {
            faults.push(PlanFault::Cover { leg: name(leg), expected: leg.length, found: Nm(end) });
        }
        let joints = pieces.iter().map(|c| c.count).sum::<usize>().saturating_sub(1);
        if problem.max_joints_per_leg.is_some_and(|m| joints > m as usize) {
            faults.push(PlanFault::Joints { leg: name(leg), joints });
        }
        let own =
            plan.legs.get(i).filter(|l| l.leg == leg.id && l.length == leg.length && l.joints == joints);
        let listed = own.is_some_and(|l| {
            let listed = l.pieces.iter().map(|p| (p.row, p.place, p.whole));
            listed.eq(pieces.iter().map(|c| (c.row, c.place, c.whole)))
        });
        let settings_fit = own.is_some_and(|l| {
            let short =
                |s: &super::plan::Setting| problem.longest_setting.is_none_or(|m| s.to.0 - s.from.0 <= m.0);
            l.settings.iter().all(short)
                && l.settings.first().is_some_and(|s| s.from.0 == 0)
                && l.settings.last().is_some_and(|s| s.to == leg.length)
                && l.settings.windows(2).all(|w| matches!(w, [a, b] if b.from.0 == a.to.0 + problem.gap.0))
        });
        if !listed || !settings_fit {
            faults.push(PlanFault::LegList { leg: name(leg) });
        }
    }
}

fn check_figures(plan: &CutPlan, problem: &Problem, faults: &mut Vec<PlanFault>) {
    let t = &plan.totals;
    let each = |w: Work| i128::from(micros(w.cost(problem.rate_per_hour)).unwrap_or(0));
    let (mut stock, mut pieces, mut cuts) = (0, 0, 0);
    let (mut stock_cost, mut length, mut left) = (0_i128, 0_i128, 0_i128);
    // rows of one price stand together
    let mut known = (Decimal::ZERO, 0);
    for s in &plan.sheet {
        if known.0 != s.price {
            known = (s.price, i128::from(micros(s.price).unwrap_or(0)));
        }
        let count = s.count as i128;
        stock += count;
        pieces += s.pieces.len() as i128 * count;
        cuts += s.cuts as i128 * count;
        stock_cost += known.1 * count;
        length += i128::from(s.length.0) * count;
        left += i128::from(s.left.0) * count;
    }
    let joints = (pieces - problem.legs.len() as i128).max(0);
    let (joint_cost, cut_cost) = (each(problem.joint) * joints, each(problem.cut) * cuts);
    let mut count = |figure, stated: i128, drawn: i128| {
        if stated != drawn {
            let (stated, drawn) = (Decimal::from(stated), Decimal::from(drawn));
            faults.push(PlanFault::Figure { figure, stated, drawn });
        }
    };
    count("stock pieces", t.stock_pieces as i128, stock);
    count("pieces", t.pieces as i128, pieces);
    count("joints", t.joints as i128, joints);
    count("cuts", t.cuts as i128, cuts);
    count("stock length", i128::from(t.stock_length.0), length);
    count("left", i128::from(t.left.0), left);
    let total = from_micros(stock_cost + joint_cost + cut_cost);
    let saving = plan.simple.as_ref().map(|s| s.total - total);
    let gap = total - plan.lower_bound;
    count("proven", i128::from(plan.proven), i128::from(gap.is_zero()));
    let mut amount = |figure, stated: Decimal, drawn: Decimal| {
        if stated != drawn {
            faults.push(PlanFault::Figure { figure, stated, drawn });
        }
    };
    amount("stock cost", t.stock_cost, from_micros(stock_cost));
    amount("joint cost", t.joint_cost, from_micros(joint_cost));
    amount("cut cost", t.cut_cost, from_micros(cut_cost));
    amount("total", t.total, total);
    amount("saving", plan.saving.unwrap_or_default(), saving.unwrap_or_default());
    amount("gap", plan.gap, gap);
    amount("gap below zero", plan.gap.min(Decimal::ZERO), Decimal::ZERO);
}

fn check_offcuts(plan: &CutPlan, problem: &Problem, faults: &mut Vec<PlanFault>) {
    let worth = |s: &&Row| s.left.0 > 0 && s.left.0 >= problem.keep.0;
    let left = plan.sheet.iter().filter(worth).map(|s| (s.number, s.left.0));
    if !left.eq(plan.offcuts.iter().map(|o| (o.stock_piece, o.length.0))) {
        faults.push(PlanFault::Offcuts);
    }
}
