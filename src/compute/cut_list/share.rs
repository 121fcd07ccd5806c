//! What each run and line gets out of the plans.

use super::{List, Part};
use crate::compute::cutting::{Source, StockPiece};
use crate::compute::exact::Nm;
use crate::compute::takeoff::channel::PieceOut;
use crate::domain::layout::Layout;
use crate::units::Length;
use std::collections::BTreeMap;

/// Pieces, joints and cuts of one run or line.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Share {
    /// Pieces in order of the legs.
    pub pieces: Vec<PieceOut>,
    /// How many pieces.
    pub count: i64,
    /// Joints between pieces of one leg.
    pub joints: i64,
    /// Cuts made for its pieces.
    pub cuts: i64,
}

/// Adds what a list gives to each run or line.
pub(super) fn hand_out(list: &List<'_>, layout: &Layout<'_>, shares: &mut BTreeMap<(Part, usize), Share>) {
    let Some(plan) = &list.plan else { return };
    for (leg, place) in plan.legs.iter().zip(&list.places) {
        let share = shares.entry((list.part, place.of)).or_default();
        share.joints += leg.joints as i64;
        share.count += leg.pieces.len() as i64;
        for piece in &leg.pieces {
            let stock = plan.stock.get(piece.stock_piece.saturating_sub(1));
            // The cut after the piece at that place of its stock piece is made for that piece.
            let cut = stock.and_then(|s| Some((s, place_in(s, &leg.leg, piece.from)?)));
            share.cuts += i64::from(cut.is_some_and(|(s, n)| n < s.cuts));
            if !matches!(list.part, Part::Channel | Part::Grate) {
                continue;
            }
            let from_offcut = cut.is_some_and(|(s, n)| n > 0 || s.source == Source::Yard);
            let item = stock.map_or("", |s| s.stock.as_str());
            share.pieces.push(PieceOut {
                part: list.part.word(),
                leg: place.leg as i64 + 1,
                from: layout.show.long(place.from + Length::from_nm(piece.from.0)),
                length: layout.show.long(Length::from_nm(piece.to.0 - piece.from.0)),
                item: item.to_owned(),
                cut: !piece.whole,
                from_offcut,
                stock_piece: piece.stock_piece as i64,
            });
        }
    }
}

/// Which piece of its stock piece a piece of a leg is, counted from 0.
fn place_in(stock: &StockPiece, leg: &str, from: Nm) -> Option<usize> {
    stock.pieces.iter().position(|p| p.from == from && p.leg == leg)
}
