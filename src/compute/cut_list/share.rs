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
    /// Pieces in order of the legs, whole ones of a kind together.
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
        for own in &leg.pieces {
            let Some(row) = plan.sheet.get(own.row) else { continue };
            let Some(piece) = row.pieces.get(own.place) else { continue };
            let count = row.count as i64;
            share.count += count;
            // the cut after the piece at that place of its stock piece is made for that piece
            share.cuts += i64::from(own.place < row.cuts) * count;
            if !matches!(list.part, Part::Channel | Part::Grate) {
                continue;
            }
            let from_offcut = own.place > 0 || row.source == Source::Yard;
            share.pieces.push(PieceOut {
                part: list.part.word(),
                leg: place.leg as i64 + 1,
                count,
                from: show.long(Length::from_nm(place.from.nm() + piece.from.0)),
                to: show.long(Length::from_nm(place.from.nm() + piece.to.0)),
                length: show.long(Length::from_nm(piece.length.0)),
                item: row.stock.clone(),
                cut: !own.whole,
                from_offcut,
                stock_piece: row.number as i64,
            });
        }
    }
}
