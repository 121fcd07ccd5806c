//! From groups of pieces to the drawn plan: stations along the legs, numbers on the cutting sheet, totals.

use super::component::Group;
use super::many::Found;
use super::model::{Kind, Model, div_up, len_i64};
use super::name::Name;
use super::plan::{CutPlan, LegPiece, LegPlan, Offcut, Piece, Setting, StockPiece, Totals};
use super::problem::Problem;
use super::simple::Alike;
use crate::compute::exact::{Fraction, Nm, from_micros, times};
use rust_decimal::Decimal;
use smallvec::SmallVec;
use std::cmp::Reverse;

/// One piece before its stock piece has a number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Part {
    /// Stock piece, in the order of the groups, and its kind.
    bar: usize,
    kind: usize,
    /// Leg of the request.
    leg: usize,
    len: i64,
}

/// One piece of a leg: where it is drawn on the sheet.
#[derive(Debug, Clone, Copy)]
struct Placed {
    leg: usize,
    whole: bool,
    len: i64,
    /// Position of the stock piece on the sheet, and of the piece on the stock piece.
    bar: usize,
    at: usize,
}

/// The drawn plan of the groups found.
pub(super) fn draw(p: &Problem, m: &Model, simple: Option<&[Alike]>, found: &Found) -> CutPlan {
    let mut parts = parts(m, &found.groups);
    let bars = bars(&mut parts);
    let (mut stock, placed) = sheet(p, m, &bars);
    let legs = legs(p, m, placed, &mut stock);
    let totals = totals(m, &bars);
    let simple = simple.map(|list| simple_totals(m, list));
    // a bound in search units is a bound in millionths after rounding up, since every total is whole
    // millionths
    let bound = i128::from(div_up(found.bound, m.scale));
    let lower_bound = from_micros(bound).min(totals.total).max(Decimal::ZERO);
    let gap = totals.total - lower_bound;
    let offcuts: Vec<Offcut> = stock
        .iter()
        .filter(|s| s.left.0 > 0 && s.left >= p.keep)
        .map(|s| Offcut { stock_piece: s.number, stock: s.stock.clone(), length: s.left })
        .collect();
    CutPlan {
        saving: simple.as_ref().map(|s| s.total - totals.total),
        notes: notes(p, m),
        offcut_value: offcut_value(p, &offcuts),
        proven: gap.is_zero(),
        nodes: found.nodes,
        stock,
        legs,
        offcuts,
        gap_share: ratio(gap, totals.total),
        totals,
        simple,
        lower_bound,
        gap,
    }
}

/// The pieces of all groups, stock piece by stock piece, each in cutting order: longest first.
fn parts(m: &Model, groups: &[Group]) -> Vec<Part> {
    let mut parts = Vec::with_capacity(groups.iter().map(|g| g.cuts.len()).sum());
    let mut before = 0;
    for g in groups {
        for c in &g.cuts {
            let leg = g.legs.get(c.leg).and_then(|&l| m.order.get(l));
            if let (Some(&kind), Some(&leg)) = (g.stock.get(c.stock), leg) {
                parts.push(Part { bar: before + c.stock, kind, leg, len: c.len });
            }
        }
        before += g.stock.len();
    }
    parts.sort_unstable_by_key(|part| (part.bar, Reverse(part.len), part.leg));
    parts
}

/// Stock pieces with their pieces, longest stock first, then by the first leg they serve.
fn bars(parts: &mut [Part]) -> Vec<&[Part]> {
    let mut bars: Vec<_> = parts
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
fn sheet(p: &Problem, m: &Model, bars: &[&[Part]]) -> (Vec<StockPiece>, Vec<Placed>) {
    let mut stock = Vec::with_capacity(bars.len());
    let mut placed = Vec::with_capacity(bars.iter().map(|bar| bar.len()).sum());
    let mut name: Option<(usize, Name)> = None;
    for bar in bars {
        let kind = bar.first().and_then(|part| Some((part.kind, m.kinds.get(part.kind)?)));
        let Some((index, kind)) = kind else { continue };
        let Some(from) = p.stock.get(kind.stock) else { continue };
        let known = name.take().filter(|(of, _)| *of == index);
        let (_, name) = name.insert(known.unwrap_or_else(|| (index, Name::from(from.id.as_str()))));
        let (cuts, left) = cuts_and_left(m, kind, bar.len(), bar.iter().map(|part| part.len).sum());
        let mut pieces = SmallVec::with_capacity(bar.len());
        for part in *bar {
            let Some(leg) = p.legs.get(part.leg) else { continue };
            let (bar, at) = (stock.len(), pieces.len());
            placed.push(Placed { leg: part.leg, whole: part.len == kind.len, len: part.len, bar, at });
            pieces.push(Piece { leg: leg.id.clone(), from: Nm(0), to: Nm(part.len) });
        }
        stock.push(StockPiece {
            number: stock.len() + 1,
            stock: name.clone(),
            source: from.source,
            length: from.length,
            price: from.price,
            pieces,
            cuts,
            left: Nm(left),
        });
    }
    placed.sort_unstable_by_key(|x| (x.leg, Reverse(x.whole), Reverse(x.len), x.bar, x.at));
    (stock, placed)
}

/// Every leg from end to end: whole stock lengths first, then cut pieces, longest first. Every piece of the sheet gets its
/// station.
fn legs(p: &Problem, m: &Model, placed: Vec<Placed>, stock: &mut [StockPiece]) -> Vec<LegPlan> {
    let mut placed = placed.as_slice();
    let mut plans = Vec::with_capacity(p.legs.len());
    for (i, leg) in p.legs.iter().enumerate() {
        let (own, others) = placed.split_at(placed.iter().take_while(|x| x.leg == i).count());
        placed = others;
        let mut at = 0_i64;
        let mut pieces = Vec::with_capacity(own.len());
        for x in own {
            let (from, to) = (Nm(at), Nm(at + x.len));
            if let Some(piece) = stock.get_mut(x.bar).and_then(|s| s.pieces.get_mut(x.at)) {
                (piece.from, piece.to) = (from, to);
            }
            pieces.push(LegPiece { stock_piece: x.bar + 1, place: x.at, from, to, whole: x.whole });
            at += x.len + m.gap;
        }
        let settings = settings(&pieces, p.longest_setting);
        let joints = pieces.len().saturating_sub(1);
        plans.push(LegPlan { leg: leg.id.clone(), length: leg.length, pieces, joints, settings });
    }
    plans
}

/// Neighbouring pieces put together as long as the crew can lift them: as few settings as possible.
fn settings(pieces: &[LegPiece], longest: Option<Nm>) -> SmallVec<[Setting; 1]> {
    let mut settings: SmallVec<[Setting; 1]> = SmallVec::new();
    for p in pieces {
        match settings.last_mut() {
            Some(s) if longest.is_none_or(|l| p.to.0 - s.from.0 <= l.0) => s.to = p.to,
            _ => settings.push(Setting { from: p.from, to: p.to }),
        }
    }
    settings
}

/// Cuts made in a stock piece that gives so many pieces of so much length, and the length left over.
fn cuts_and_left(m: &Model, kind: &Kind, pieces: usize, sum: i64) -> (usize, i64) {
    let exact = sum + m.kerf * (len_i64(pieces) - 1) == kind.len;
    let cuts = pieces - usize::from(exact);
    (cuts, (kind.len - sum - m.kerf * len_i64(cuts)).max(0))
}

fn totals(m: &Model, bars: &[&[Part]]) -> Totals {
    let mut sums = Sums::default();
    for bar in bars {
        if let Some(kind) = bar.first().and_then(|part| m.kinds.get(part.kind)) {
            sums.add(m, kind, bar.len(), bar.iter().map(|part| part.len).sum(), 1);
        }
    }
    sums.close(m)
}

/// The totals of the plain list, where every piece has a stock piece of its own.
fn simple_totals(m: &Model, list: &[Alike]) -> Totals {
    let mut sums = Sums::default();
    for alike in list {
        for c in &alike.group.cuts {
            let kind = alike.group.stock.get(c.stock).and_then(|&k| m.kinds.get(k));
            if let Some(kind) = kind {
                sums.add(m, kind, 1, c.len, alike.legs.len());
            }
        }
    }
    sums.close(m)
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

    fn close(self, m: &Model) -> Totals {
        let Self { stock_pieces, pieces, cuts, price, length, left } = self;
        let joints = pieces.saturating_sub(m.legs.len());
        let joint = i128::from(m.joint / m.scale) * i128::from(len_i64(joints));
        let cut = i128::from(m.cut / m.scale) * i128::from(len_i64(cuts));
        Totals {
            stock_pieces,
            pieces,
            joints,
            cuts,
            stock_length: Nm(length),
            left: Nm(left),
            stock_cost: from_micros(price),
            joint_cost: from_micros(joint),
            cut_cost: from_micros(cut),
            total: from_micros(price + joint + cut),
        }
    }
}

fn offcut_value(p: &Problem, offcuts: &[Offcut]) -> Decimal {
    if p.offcut_value_per_metre.is_zero() {
        return Decimal::ZERO;
    }
    let kept = offcuts.iter().fold(0_i64, |sum, o| sum.saturating_add(o.length.0));
    times(Nm(kept).metres(), p.offcut_value_per_metre).round_dp(6)
}

fn ratio(part: Decimal, whole: Decimal) -> Decimal {
    if part.is_zero() {
        return Decimal::ZERO;
    }
    let parts = Fraction::from_decimal(part).checked_div(Fraction::from_decimal(whole));
    parts.map_or(Decimal::ZERO, |f| f.to_decimal(6))
}

fn notes(p: &Problem, m: &Model) -> Vec<String> {
    let mut notes = Vec::new();
    for (i, s) in p.stock.iter().enumerate() {
        if m.kinds.iter().any(|k| k.stock == i) {
            continue;
        }
        let why = match p.longest_setting {
            Some(l) if s.length > l => {
                format!("longer than the longest setting of {} m the crew can lift", l.metres())
            }
            _ if s.length.0 < m.least => "shorter than the least piece".to_owned(),
            _ if s.available == Some(0) => "none available".to_owned(),
            _ => "another of the same length is no dearer".to_owned(),
        };
        notes.push(format!("stock `{}` ({} m) was not used: {why}", s.id, s.length.metres()));
    }
    notes
}
