//! From groups of pieces to the drawn plan: stations along the legs, numbers on the cutting sheet, totals.

use super::component::Group;
use super::many::{Found, Way};
use super::model::{Kind, Model, div_up, len_i64};
use super::name::Name;
use super::plan::{CutPlan, LeftOut, LegPiece, LegPlan, Offcut, Piece, Row, Setting, Totals, WhyLeftOut};
use super::problem::{Problem, Stock};
use super::simple::Alike;
use crate::compute::exact::{Fraction, Nm, from_micros, times};
use crate::units::decimal::rounded;
use rust_decimal::Decimal;
use smallvec::SmallVec;
use std::cmp::Reverse;

/// One piece before its stock piece has a number, or whole stock pieces of a kind that go onto one leg.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Part {
    /// Stock piece, in the order of the groups, and its kind.
    bar: usize,
    kind: usize,
    /// Leg of the request.
    leg: usize,
    len: i64,
    /// How many; more than one only where they are whole.
    count: usize,
}

/// A list of one thing for each piece or stock piece, which are mostly few.
type Few<T> = SmallVec<[T; 8]>;

/// What a leg gets from one row of the sheet.
#[derive(Debug, Clone, Copy)]
struct Placed {
    leg: usize,
    whole: bool,
    len: i64,
    /// Row of the sheet, and which of its pieces.
    row: usize,
    place: usize,
}

/// The drawn plan of the groups found.
pub(super) fn draw(p: &Problem, m: &Model, simple: Option<&[Alike]>, found: &Found<'_>) -> CutPlan {
    let mut parts = match &found.way {
        Way::Plain(list) => plain_parts(m, list),
        Way::Groups(groups) => parts(m, groups),
    };
    let bars = bars(&mut parts);
    let (mut sheet, placed) = sheet(p, m, &bars);
    let legs = legs(p, m, &placed, &mut sheet);
    let plain = simple.map(|list| plain_sums(m, list).close(m));
    let (total, totals) = match (&found.way, &plain) {
        (Way::Plain(_), Some(plain)) => plain.clone(),
        _ => sums(m, &bars).close(m),
    };
    // a bound in search units is a bound in millionths after rounding up, since every total is whole
    // millionths
    let lower_bound = i128::from(div_up(found.bound, m.scale)).min(total).max(0);
    let gap = from_micros(total - lower_bound);
    let offcuts: Vec<Offcut> = sheet
        .iter()
        .filter(|s| s.left.0 > 0 && s.left >= p.keep)
        .map(|s| Offcut { stock_piece: s.number, stock: s.stock.clone(), length: s.left })
        .collect();
    CutPlan {
        saving: plain.as_ref().map(|(plain, _)| from_micros(plain - total)),
        left_out: left_out(p, m),
        offcut_value: offcut_value(p, &offcuts),
        proven: gap.is_zero(),
        nodes: found.nodes,
        sheet,
        legs,
        offcuts,
        gap_share: ratio(gap, totals.total),
        totals,
        simple: plain.map(|(_, totals)| totals),
        lower_bound: from_micros(lower_bound),
        gap,
    }
}

impl Part {
    fn is_whole(&self, m: &Model) -> bool {
        m.kinds.get(self.kind).is_some_and(|kind| kind.len == self.len)
    }

    /// Whether the other is of the same kind, length and leg.
    fn is_like(&self, other: &Self) -> bool {
        (self.kind, self.leg, self.len) == (other.kind, other.leg, other.len)
    }
}

/// The pieces of all groups, stock piece by stock piece, each in cutting order: longest first.
fn parts(m: &Model, groups: &[Group]) -> Few<Part> {
    let mut parts: Few<Part> = Few::with_capacity(groups.iter().map(|g| g.cuts.len()).sum());
    let mut before = 0;
    for g in groups {
        let first = parts.len();
        for c in &g.cuts {
            let leg = g.legs.get(c.leg).and_then(|&l| m.order.get(l));
            if let (Some(&kind), Some(&leg)) = (g.stock.get(c.stock), leg) {
                let part = Part { bar: before + c.stock, kind, leg, len: c.len, count: 1 };
                // a leg is of one group, and mostly its whole pieces of a kind follow each other
                let own = parts.get_mut(first..).into_iter().flatten();
                match own.rev().find(|like| part.is_whole(m) && like.is_like(&part)) {
                    Some(like) => like.count += 1,
                    None => parts.push(part),
                }
            }
        }
        before += g.stock.len();
    }
    parts.sort_unstable_by_key(|part| (part.bar, Reverse(part.len), part.leg));
    parts
}

/// The pieces of a plain list, each from a stock piece of its own.
fn plain_parts(m: &Model, list: &[Alike]) -> Few<Part> {
    let mut parts = Few::with_capacity(list.iter().map(|a| a.legs.len() * a.alone.pieces.len()).sum());
    for alike in list {
        for &leg in m.order.get(alike.legs.clone()).into_iter().flatten() {
            for pieces in &alike.alone.pieces {
                let part = Part { bar: 0, kind: pieces.kind, leg, len: pieces.len, count: 1 };
                let (rows, count) = if part.is_whole(m) { (1, pieces.count) } else { (pieces.count, 1) };
                for _ in 0..rows {
                    parts.push(Part { bar: parts.len(), count, ..part });
                }
            }
        }
    }
    parts
}

/// Stock pieces with their pieces, longest stock first, then by the first leg they serve.
fn bars(parts: &mut [Part]) -> Few<&[Part]> {
    let mut bars: Few<_> = parts
        .chunk_by(|a, b| a.bar == b.bar)
        .filter_map(|bar| {
            let longest = bar.first()?;
            let first_leg = bar.iter().map(|part| part.leg).min()?;
            Some(((longest.kind, first_leg, Reverse(longest.len)), bar))
        })
        .collect();
    let piece = |part: &Part| (part.leg, part.len);
    bars.sort_unstable_by(|(key_a, a), (key_b, b)| {
        key_a.cmp(key_b).then_with(|| a.iter().map(piece).cmp(b.iter().map(piece)))
    });
    bars.into_iter().map(|(_, bar)| bar).collect()
}

/// The sheet, every piece still at the start of its leg, and what every leg is made of.
fn sheet(p: &Problem, m: &Model, bars: &[&[Part]]) -> (Vec<Row>, Few<Placed>) {
    let mut sheet = Vec::with_capacity(bars.len());
    let mut placed = Few::with_capacity(bars.iter().map(|bar| bar.len()).sum());
    let mut name: Option<(usize, Name)> = None;
    let mut number = 1;
    for bar in bars {
        let Some(first) = bar.first() else { continue };
        let Some((index, kind)) = m.kinds.get(first.kind).map(|kind| (first.kind, kind)) else { continue };
        let Some(from) = p.stock.get(kind.stock) else { continue };
        let known = name.take().filter(|(of, _)| *of == index);
        let (_, name) = name.insert(known.unwrap_or_else(|| (index, Name::from(from.id.as_str()))));
        let (cuts, left) = cuts_and_left(m, kind, bar.len(), bar.iter().map(|part| part.len).sum());
        let mut pieces = SmallVec::with_capacity(bar.len());
        for part in *bar {
            let Some(leg) = p.legs.get(part.leg) else { continue };
            let (row, place) = (sheet.len(), pieces.len());
            placed.push(Placed { leg: part.leg, whole: part.len == kind.len, len: part.len, row, place });
            pieces.push(Piece { leg: leg.id.clone(), from: Nm(0), to: Nm(0), length: Nm(part.len) });
        }
        sheet.push(Row {
            number,
            count: first.count,
            stock: name.clone(),
            source: from.source,
            length: from.length,
            price: from.price,
            pieces,
            cuts,
            left: Nm(left),
        });
        number += first.count;
    }
    placed.sort_unstable_by_key(|x| (x.leg, Reverse(x.whole), Reverse(x.len), x.row, x.place));
    (sheet, placed)
}

/// Every leg from end to end: whole stock lengths first, then cut pieces, longest first. Every piece of the sheet gets its
/// station.
fn legs(p: &Problem, m: &Model, placed: &[Placed], sheet: &mut [Row]) -> Vec<LegPlan> {
    let mut placed = placed;
    let mut plans = Vec::with_capacity(p.legs.len());
    for (i, leg) in p.legs.iter().enumerate() {
        let (own, others) = placed.split_at(placed.iter().take_while(|x| x.leg == i).count());
        placed = others;
        let (mut at, mut count) = (0_i64, 0);
        let mut pieces = SmallVec::with_capacity(own.len());
        let mut settings = SmallVec::new();
        for x in own {
            let row = sheet.get_mut(x.row);
            let Some((of_row, piece)) = row.and_then(|s| Some((s.count, s.pieces.get_mut(x.place)?))) else {
                continue;
            };
            piece.from = Nm(at);
            for _ in 0..of_row {
                piece.to = Nm(at + x.len);
                set(&mut settings, Setting { from: Nm(at), to: piece.to }, p.longest_setting);
                at += x.len + m.gap;
            }
            count += of_row;
            pieces.push(LegPiece { row: x.row, place: x.place, whole: x.whole });
        }
        let joints = count.saturating_sub(1);
        plans.push(LegPlan { leg: leg.id.clone(), length: leg.length, pieces, joints, settings });
    }
    plans
}

/// Puts the next piece onto the last setting as long as the crew can lift it: as few settings as possible.
fn set(settings: &mut SmallVec<[Setting; 1]>, piece: Setting, longest: Option<Nm>) {
    match settings.last_mut() {
        Some(s) if longest.is_none_or(|l| piece.to.0 - s.from.0 <= l.0) => s.to = piece.to,
        _ => settings.push(piece),
    }
}

/// Cuts made in a stock piece that gives so many pieces of so much length, and the length left over.
fn cuts_and_left(m: &Model, kind: &Kind, pieces: usize, sum: i64) -> (usize, i64) {
    let exact = sum + m.kerf * (len_i64(pieces) - 1) == kind.len;
    let cuts = pieces - usize::from(exact);
    (cuts, (kind.len - sum - m.kerf * len_i64(cuts)).max(0))
}

fn sums(m: &Model, bars: &[&[Part]]) -> Sums {
    let mut sums = Sums::default();
    for bar in bars {
        let Some(first) = bar.first() else { continue };
        if let Some(kind) = m.kinds.get(first.kind) {
            sums.add(m, kind, bar.len(), bar.iter().map(|part| part.len).sum(), first.count);
        }
    }
    sums
}

/// The sums over the plain list, where every piece has a stock piece of its own.
fn plain_sums(m: &Model, list: &[Alike]) -> Sums {
    let mut sums = Sums::default();
    for alike in list {
        for pieces in &alike.alone.pieces {
            if let Some(kind) = m.kinds.get(pieces.kind) {
                sums.add(m, kind, 1, pieces.len, pieces.count * alike.legs.len());
            }
        }
    }
    sums
}

/// Counts and sums over stock pieces.
#[derive(Default)]
struct Sums {
    stock_pieces: usize,
    pieces: usize,
    cuts: usize,
    price: i128,
    length: i64,
    left: i64,
}

impl Sums {
    /// Adds `times` stock pieces that each give so many pieces of `sum` in all.
    fn add(&mut self, m: &Model, kind: &Kind, pieces: usize, sum: i64, times: usize) {
        let (cuts, left) = cuts_and_left(m, kind, pieces, sum);
        let n = len_i64(times);
        self.stock_pieces += times;
        self.pieces += pieces * times;
        self.cuts += cuts * times;
        self.price += i128::from(kind.micros) * i128::from(n);
        self.length += kind.len * n;
        self.left += left * n;
    }

    /// The total in millionths of the currency unit, and all totals.
    fn close(self, m: &Model) -> (i128, Totals) {
        let Self { stock_pieces, pieces, cuts, price, length, left } = self;
        let joints = pieces.saturating_sub(m.legs.len());
        let joint = i128::from(m.joint / m.scale) * i128::from(len_i64(joints));
        let cut = i128::from(m.cut / m.scale) * i128::from(len_i64(cuts));
        let total = price + joint + cut;
        let totals = Totals {
            stock_pieces,
            pieces,
            joints,
            cuts,
            stock_length: Nm(length),
            left: Nm(left),
            stock_cost: from_micros(price),
            joint_cost: from_micros(joint),
            cut_cost: from_micros(cut),
            total: from_micros(total),
        };
        (total, totals)
    }
}

fn offcut_value(p: &Problem, offcuts: &[Offcut]) -> Decimal {
    if p.offcut_value_per_metre.is_zero() {
        return Decimal::ZERO;
    }
    let kept = offcuts.iter().fold(0_i64, |sum, o| sum.saturating_add(o.length.0));
    rounded(times(Nm(kept).metres(), p.offcut_value_per_metre), 6)
}

fn ratio(part: Decimal, whole: Decimal) -> Decimal {
    if part.is_zero() {
        return Decimal::ZERO;
    }
    let parts = Fraction::from_decimal(part).checked_div(Fraction::from_decimal(whole));
    parts.map_or(Decimal::ZERO, |f| f.to_decimal(6))
}

fn left_out(p: &Problem, m: &Model) -> Vec<LeftOut> {
    let unused = p.stock.iter().enumerate().filter(|(i, _)| !m.kinds.iter().any(|k| k.stock == *i));
    let why = |s: &Stock| match p.longest_setting {
        Some(longest) if s.length > longest => WhyLeftOut::LongerThanSetting(longest),
        _ if s.length.0 < m.least => WhyLeftOut::ShorterThanLeast,
        _ if s.available == Some(0) => WhyLeftOut::NoneAvailable,
        _ => WhyLeftOut::NoDearerOther,
    };
    unused.map(|(_, s)| LeftOut { stock: s.id.clone(), length: s.length, why: why(s) }).collect()
}
