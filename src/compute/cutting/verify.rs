//! The independent checker: proves a plan against its request, from the drawn data alone.
//!
//! It shares no code with the search. It is run on every plan before it is handed out.

use super::plan::{CutPlan, StockPiece};
use super::problem::{Problem, Stock, Work};
use crate::compute::exact::{Nm, from_micros, micros};
use rust_decimal::Decimal;
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
    let mut used: BTreeMap<&str, u32> = BTreeMap::new();
    let mut covers: BTreeMap<&str, Vec<(i64, i64, usize)>> = BTreeMap::new();
    for s in &plan.stock {
        *used.entry(s.stock.as_str()).or_default() += 1;
        check_stock_piece(s, problem, &mut faults);
        for p in &s.pieces {
            covers.entry(p.leg.as_str()).or_default().push((p.from.0, p.to.0, s.number));
        }
    }
    for stock in &problem.stock {
        let n = used.get(stock.id.as_str()).copied().unwrap_or(0);
        if let Some(available) = stock.available.filter(|a| n > *a) {
            faults.push(PlanFault::TooMany { stock: stock.id.clone(), used: n, available });
        }
    }
    check_legs(plan, problem, &mut covers, &mut faults);
    // what is left in `covers` belongs to no leg of the request
    for (leg, pieces) in covers {
        let piece = pieces.first().map_or(0, |p| p.2);
        faults.push(PlanFault::Unknown { piece, name: leg.to_owned() });
    }
    check_figures(plan, problem, &mut faults);
    check_offcuts(plan, problem, &mut faults);
    if faults.is_empty() { Ok(()) } else { Err(faults) }
}

fn find<'a>(problem: &'a Problem, s: &StockPiece) -> Option<&'a Stock> {
    problem.stock.iter().find(|k| k.id == s.stock)
}

fn check_stock_piece(s: &StockPiece, problem: &Problem, faults: &mut Vec<PlanFault>) {
    let same =
        find(problem, s).is_some_and(|k| k.length == s.length && k.price == s.price && k.source == s.source);
    if !same || s.pieces.is_empty() {
        faults.push(PlanFault::Unknown { piece: s.number, name: s.stock.clone() });
        return;
    }
    let lengths: Vec<i128> = s.pieces.iter().map(|p| i128::from(p.to.0) - i128::from(p.from.0)).collect();
    let sum: i128 = lengths.iter().sum();
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
    for (p, &len) in s.pieces.iter().zip(&lengths) {
        if len < i128::from(problem.least_piece.0) || len < 1 || len > longest {
            faults.push(PlanFault::PieceLength { piece: s.number, leg: p.leg.clone(), length: p.length() });
        }
    }
}

fn check_legs(
    plan: &CutPlan,
    problem: &Problem,
    covers: &mut BTreeMap<&str, Vec<(i64, i64, usize)>>,
    faults: &mut Vec<PlanFault>,
) {
    for (i, leg) in problem.legs.iter().enumerate() {
        let mut pieces = covers.remove(leg.id.as_str()).unwrap_or_default();
        pieces.sort_unstable();
        let mut expected = 0_i64;
        let mut end = 0_i64;
        for &(from, to, _) in &pieces {
            if from != expected {
                faults.push(PlanFault::Cover {
                    leg: leg.id.clone(),
                    expected: Nm(expected),
                    found: Nm(from),
                });
            }
            end = to;
            expected = to.saturating_add(problem.gap.0);
        }
        if end != leg.length.0 {
            faults.push(PlanFault::Cover { leg: leg.id.clone(), expected: leg.length, found: Nm(end) });
        }
        let joints = pieces.len().saturating_sub(1);
        if problem.max_joints_per_leg.is_some_and(|m| joints > m as usize) {
            faults.push(PlanFault::Joints { leg: leg.id.clone(), joints });
        }
        let own =
            plan.legs.get(i).filter(|l| l.leg == leg.id && l.length == leg.length && l.joints == joints);
        let listed: Option<Vec<(i64, i64, usize)>> =
            own.map(|l| l.pieces.iter().map(|p| (p.from.0, p.to.0, p.stock_piece)).collect());
        let settings_fit = own.is_some_and(|l| {
            let short =
                |s: &super::plan::Setting| problem.longest_setting.is_none_or(|m| s.to.0 - s.from.0 <= m.0);
            l.settings.iter().all(short)
                && l.settings.first().is_some_and(|s| s.from.0 == 0)
                && l.settings.last().is_some_and(|s| s.to == leg.length)
                && l.settings.windows(2).all(|w| matches!(w, [a, b] if b.from.0 == a.to.0 + problem.gap.0))
        });
        if listed.as_ref() != Some(&pieces) || !settings_fit {
            faults.push(PlanFault::LegList { leg: leg.id.clone() });
        }
    }
}

fn check_figures(plan: &CutPlan, problem: &Problem, faults: &mut Vec<PlanFault>) {
    let t = &plan.totals;
    let each = |w: Work| i128::from(micros(w.cost(problem.rate_per_hour)).unwrap_or(0));
    let pieces: usize = plan.stock.iter().map(|s| s.pieces.len()).sum();
    let cuts: usize = plan.stock.iter().map(|s| s.cuts).sum();
    let joints = pieces.saturating_sub(problem.legs.len());
    let stock_cost: i128 = plan.stock.iter().map(|s| i128::from(micros(s.price).unwrap_or(0))).sum();
    let (joint_cost, cut_cost) = (each(problem.joint) * joints as i128, each(problem.cut) * cuts as i128);
    let total = from_micros(stock_cost + joint_cost + cut_cost);
    let length: i128 = plan.stock.iter().map(|s| i128::from(s.length.0)).sum();
    let left: i128 = plan.stock.iter().map(|s| i128::from(s.left.0)).sum();
    let saving = plan.simple.as_ref().map(|s| s.total - total);
    let gap = total - plan.lower_bound;
    let figures = [
        ("stock pieces", Decimal::from(t.stock_pieces), Decimal::from(plan.stock.len())),
        ("pieces", Decimal::from(t.pieces), Decimal::from(pieces)),
        ("joints", Decimal::from(t.joints), Decimal::from(joints)),
        ("cuts", Decimal::from(t.cuts), Decimal::from(cuts)),
        ("stock length", Decimal::from(t.stock_length.0), Decimal::from(length)),
        ("left", Decimal::from(t.left.0), Decimal::from(left)),
        ("stock cost", t.stock_cost, from_micros(stock_cost)),
        ("joint cost", t.joint_cost, from_micros(joint_cost)),
        ("cut cost", t.cut_cost, from_micros(cut_cost)),
        ("total", t.total, total),
        ("saving", plan.saving.unwrap_or_default(), saving.unwrap_or_default()),
        ("gap", plan.gap, gap),
        ("gap below zero", plan.gap.min(Decimal::ZERO), Decimal::ZERO),
        ("proven", Decimal::from(u8::from(plan.proven)), Decimal::from(u8::from(gap.is_zero()))),
    ];
    for (figure, stated, drawn) in figures {
        if stated != drawn {
            faults.push(PlanFault::Figure { figure, stated, drawn });
        }
    }
}

fn check_offcuts(plan: &CutPlan, problem: &Problem, faults: &mut Vec<PlanFault>) {
    let worth = |s: &&StockPiece| s.left.0 > 0 && s.left.0 >= problem.keep.0;
    let left: Vec<(usize, i64)> = plan.stock.iter().filter(worth).map(|s| (s.number, s.left.0)).collect();
    let listed: Vec<(usize, i64)> = plan.offcuts.iter().map(|o| (o.stock_piece, o.length.0)).collect();
    if left != listed {
        faults.push(PlanFault::Offcuts);
    }
}
