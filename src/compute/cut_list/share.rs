//! What each run and line gets out of the plans.

use super::{List, Part};
use crate::compute::cutting::Source;
use crate::compute::takeoff::channel::PieceOut;
use crate::units::Length;
use crate::units::show::Show;
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
pub(super) fn hand_out(list: &List<'_>, show: Show, shares: &mut BTreeMap<(Part, usize), Share>) {
    let Some(plan) = &list.plan else { return };
    for (leg, place) in plan.legs.iter().zip(&list.places) {
        let share = shares.entry((list.part, place.of)).or_default();
        share.joints += leg.joints as i64;
        share.count += leg.pieces.len() as i64;
        for piece in &leg.pieces {
            let Some(stock) = plan.stock.get(piece.stock_piece.saturating_sub(1)) else { continue };
            // the cut after the piece at that place of its stock piece is made for that piece
            share.cuts += i64::from(piece.place < stock.cuts);
            if !matches!(list.part, Part::Channel | Part::Grate) {
                continue;
            }
            let from_offcut = piece.place > 0 || stock.source == Source::Yard;
            share.pieces.push(PieceOut {
                part: list.part.word(),
                leg: place.leg as i64 + 1,
                from: show.long(Length::from_nm(place.from.nm() + piece.from.0)),
                length: show.long(Length::from_nm(piece.to.0 - piece.from.0)),
                item: stock.stock.clone(),
                cut: !piece.whole,
                from_offcut,
                stock_piece: piece.stock_piece as i64,
            });
        }
    }
}
