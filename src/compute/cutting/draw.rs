//! From groups of pieces to the drawn plan: stations along the legs, numbers on the cutting sheet, totals.

use super::component::Group;
use super::many::Found;
use super::model::{Model, len_i64};
use super::plan::{CutPlan, LegPiece, LegPlan, Offcut, Piece, Setting, StockPiece, Totals};
use super::problem::Problem;
use crate::compute::exact::{Fraction, Nm, from_micros, micros, times};
use rust_decimal::Decimal;

/// One stock piece before it has a number: its kind, and its pieces as (leg of the request, length).
struct Bar {
    kind: usize,
    pieces: Vec<(usize, i64)>,
}

/// Leg of the request, station where a piece begins, station where it ends.
type Place = (usize, i64, i64);

/// The drawn plan of the groups found.
pub(super) fn draw(p: &Problem, m: &Model, simple: Option<&[Group]>, found: &Found) -> CutPlan {
    let bars = bars(m, &found.groups);
    let (legs, stations) = legs(p, m, &bars);
    let stock: Vec<StockPiece> = bars
        .iter()
        .zip(stations)
        .enumerate()
        .filter_map(|(i, (bar, pieces))| stock_piece(p, m, i + 1, bar, pieces))
        .collect();
    let totals = totals(p, &stock);
    let simple = simple.map(|groups| simple_totals(p, m, groups));
    // a bound in search units is a bound in millionths after rounding up, since every total is whole
    // millionths
    let bound = i128::from(super::model::div_up(found.bound, m.scale));
    let lower_bound = from_micros(bound).min(totals.total).max(Decimal::ZERO);
    let gap = totals.total - lower_bound;
    let share = ratio(gap, totals.total);
    let offcuts: Vec<Offcut> = stock
        .iter()
        .filter(|s| s.left.0 > 0 && s.left >= p.keep)
        .map(|s| Offcut { stock_piece: s.number, stock: s.stock.clone(), length: s.left })
        .collect();
    let kept = offcuts.iter().fold(0_i64, |sum, o| sum.saturating_add(o.length.0));
    CutPlan {
        saving: simple.as_ref().map(|s| s.total - totals.total),
        basis: basis(p, &totals),
        notes: notes(p, m),
        offcut_value: times(Nm(kept).metres(), p.offcut_value_per_metre).round_dp(6),
        proven: gap.is_zero(),
        nodes: found.nodes,
        stock,
        legs,
        offcuts,
        totals,
        simple,
        lower_bound,
        gap,
        gap_share: share,
    }
}

/// Stock pieces with their pieces, longest stock first, then by the first leg they serve.
fn bars(m: &Model, groups: &[Group]) -> Vec<Bar> {
    let mut bars = Vec::new();
    for g in groups {
        let mut own: Vec<Bar> = g.stock.iter().map(|&kind| Bar { kind, pieces: Vec::new() }).collect();
        for c in &g.cuts {
            let leg = g.legs.get(c.leg).and_then(|&l| m.order.get(l)).copied();
            if let (Some(bar), Some(leg)) = (own.get_mut(c.stock), leg) {
                bar.pieces.push((leg, c.len));
            }
        }
        for bar in &mut own {
            bar.pieces.sort_by_key(|&(leg, len)| (std::cmp::Reverse(len), leg));
        }
        bars.extend(own);
    }
    bars.sort_by(|a, b| {
        let first = |bar: &Bar| bar.pieces.iter().map(|p| p.0).min();
        let longest = |bar: &Bar| bar.pieces.first().map(|p| p.1);
        (a.kind, first(a))
            .cmp(&(b.kind, first(b)))
            .then_with(|| longest(b).cmp(&longest(a)))
            .then_with(|| a.pieces.cmp(&b.pieces))
    });
    bars
}

/// Every leg from end to end: whole stock lengths first, then cut pieces, longest first. Also the station of
/// every piece of every stock piece.
fn legs(p: &Problem, m: &Model, bars: &[Bar]) -> (Vec<LegPlan>, Vec<Vec<Place>>) {
    let mut of_leg: Vec<Vec<(bool, i64, usize, usize)>> = vec![Vec::new(); p.legs.len()];
    for (b, bar) in bars.iter().enumerate() {
        let len = m.kinds.get(bar.kind).map_or(0, |k| k.len);
        for (i, &(leg, x)) in bar.pieces.iter().enumerate() {
            if let Some(list) = of_leg.get_mut(leg) {
                list.push((x == len, x, b, i));
            }
        }
    }
    let mut stations: Vec<Vec<Place>> =
        bars.iter().map(|b| b.pieces.iter().map(|&(leg, _)| (leg, 0, 0)).collect()).collect();
    let mut plans = Vec::with_capacity(p.legs.len());
    for (i, (leg, mut list)) in p.legs.iter().zip(of_leg).enumerate() {
        list.sort_by_key(|&(whole, x, b, _)| (std::cmp::Reverse(whole), std::cmp::Reverse(x), b));
        let mut at = 0_i64;
        let mut pieces = Vec::with_capacity(list.len());
        for (whole, x, b, place) in list {
            pieces.push(LegPiece { stock_piece: b + 1, from: Nm(at), to: Nm(at + x), whole });
            if let Some(s) = stations.get_mut(b).and_then(|s| s.get_mut(place)) {
                *s = (i, at, at + x);
            }
            at += x + m.gap;
        }
        let settings = settings(&pieces, p.longest_setting);
        let joints = pieces.len().saturating_sub(1);
        plans.push(LegPlan { leg: leg.id.clone(), length: leg.length, pieces, joints, settings });
    }
    (plans, stations)
}

/// Neighbouring pieces put together as long as the crew can lift them: as few settings as possible.
fn settings(pieces: &[LegPiece], longest: Option<Nm>) -> Vec<Setting> {
    let mut settings: Vec<Setting> = Vec::new();
    for p in pieces {
        match settings.last_mut() {
            Some(s) if longest.is_none_or(|l| p.to.0 - s.from.0 <= l.0) => s.to = p.to,
            _ => settings.push(Setting { from: p.from, to: p.to }),
        }
    }
    settings
}

fn stock_piece(p: &Problem, m: &Model, number: usize, bar: &Bar, pieces: Vec<Place>) -> Option<StockPiece> {
    let stock = p.stock.get(m.kinds.get(bar.kind)?.stock)?;
    let (cuts, left) = bar.cuts_and_left(m)?;
    let pieces = pieces
        .into_iter()
        .filter_map(|(leg, from, to)| {
            p.legs.get(leg).map(|l| Piece { leg: l.id.clone(), from: Nm(from), to: Nm(to) })
        })
        .collect();
    let (stock_id, source) = (stock.id.clone(), stock.source);
    let (length, price) = (stock.length, stock.price);
    Some(StockPiece { number, stock: stock_id, source, length, price, pieces, cuts, left: Nm(left) })
}

impl Bar {
    /// Cuts made in it, and the length left over.
    fn cuts_and_left(&self, m: &Model) -> Option<(usize, i64)> {
        let len = m.kinds.get(self.kind)?.len;
        let sum: i64 = self.pieces.iter().map(|p| p.1).sum();
        let n = self.pieces.len();
        let exact = sum + m.kerf * (len_i64(n) - 1) == len;
        let cuts = if exact { n - 1 } else { n };
        Some((cuts, (len - sum - m.kerf * len_i64(cuts)).max(0)))
    }
}

fn totals(p: &Problem, stock: &[StockPiece]) -> Totals {
    let mut sums = Sums::default();
    for s in stock {
        sums.add(s.pieces.len(), s.cuts, s.left.0, s.length, s.price);
    }
    sum_up(p, sums)
}

fn simple_totals(p: &Problem, m: &Model, groups: &[Group]) -> Totals {
    let mut sums = Sums::default();
    for bar in bars(m, groups) {
        let stock = m.kinds.get(bar.kind).and_then(|k| p.stock.get(k.stock));
        if let (Some(stock), Some((cuts, left))) = (stock, bar.cuts_and_left(m)) {
            sums.add(bar.pieces.len(), cuts, left, stock.length, stock.price);
        }
    }
    sum_up(p, sums)
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
    fn add(&mut self, pieces: usize, cuts: usize, left: i64, length: Nm, price: Decimal) {
        self.stock_pieces += 1;
        self.pieces += pieces;
        self.cuts += cuts;
        self.price += i128::from(micros(price).unwrap_or(0));
        self.length += length.0;
        self.left += left;
    }
}

fn sum_up(p: &Problem, sums: Sums) -> Totals {
    let Sums { stock_pieces, pieces, cuts, price, length, left } = sums;
    let joints = pieces.saturating_sub(p.legs.len());
    let each = |w: super::problem::Work| i128::from(micros(w.cost(p.rate_per_hour)).unwrap_or(0));
    let joint = each(p.joint) * i128::from(len_i64(joints));
    let cut = each(p.cut) * i128::from(len_i64(cuts));
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

fn ratio(part: Decimal, whole: Decimal) -> Decimal {
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

fn basis(p: &Problem, t: &Totals) -> String {
    let (joint, cut) = (p.joint.cost(p.rate_per_hour), p.cut.cost(p.rate_per_hour));
    format!(
        "{} stock pieces of {} m in all at {} + {} joints ({} pieces less {} legs) x {} + {} cuts x {} = {}",
        t.stock_pieces,
        t.stock_length.metres(),
        t.stock_cost.normalize(),
        t.joints,
        t.pieces,
        p.legs.len(),
        joint.round_dp(6).normalize(),
        t.cuts,
        cut.round_dp(6).normalize(),
        t.total.normalize()
    )
}
