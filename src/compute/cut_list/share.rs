//! What each run and line gets out of the plans.

use super::{List, Part, Place};
use crate::compute::cutting::{CutPlan, LegPlan, Source};
use crate::compute::takeoff::channel::{PieceOut, PiecePart};
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
    /// Where sections of channel lie.
    pub laid: Vec<Laid>,
}

/// Pieces of one length that lie one after the other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Laid {
    /// Leg, counted from 0.
    pub leg: usize,
    /// Distance of the near end of the first from the start of the leg.
    pub from: Length,
    /// Length of one.
    pub each: Length,
    /// How many.
    pub count: i64,
}

impl Laid {
    /// Distances of their near ends.
    pub fn ends(self) -> impl Iterator<Item = Length> {
        (0..self.count).map(move |n| self.from + self.each * n)
    }
}

/// Adds what a list gives to each run or line.
pub(super) fn hand_out(list: &List<'_>, show: Show, shares: &mut BTreeMap<(Part, usize), Share>) {
    let Some(plan) = &list.plan else { return };
    let mut legs = plan.legs.iter();
    // the legs of a run or line stand side by side
    for places in list.places.chunk_by(|a, b| a.of == b.of) {
        let Some(first) = places.first() else { continue };
        let share = shares.entry((list.rules.part, first.of)).or_default();
        for (place, leg) in places.iter().zip(legs.by_ref()) {
            share.add(list, place, leg, plan, show);
        }
    }
}

impl Share {
    /// Adds what one leg gets.
    fn add(&mut self, list: &List<'_>, place: &Place<'_>, leg: &LegPlan, plan: &CutPlan, show: Show) {
        self.joints += leg.joints as i64;
        for own in &leg.pieces {
            let Some(row) = plan.sheet.get(own.row) else { continue };
            let Some(piece) = row.pieces.get(own.place) else { continue };
            let count = row.count as i64;
            self.count += count;
            // the cut after the piece at that place of its stock piece is made for that piece
            self.cuts += i64::from(own.place < row.cuts) * count;
            let part = match list.rules.part {
                Part::Channel => PiecePart::Channel,
                Part::Grate => PiecePart::Grate,
                Part::Pipe | Part::FormBoard | Part::Bar => continue,
            };
            if part == PiecePart::Channel {
                let from = Length::from_nm(place.from.nm() + piece.from.0);
                self.laid.push(Laid { leg: place.leg, from, each: Length::from_nm(piece.length.0), count });
            }
            let from_offcut = own.place > 0 || row.source == Source::Yard;
            self.pieces.push(PieceOut {
                part,
                leg: place.leg as i64 + 1,
                count,
                from: show.long(Length::from_nm(place.from.nm() + piece.from.0)),
                to: show.long(Length::from_nm(place.from.nm() + piece.to.0)),
                length: show.long(Length::from_nm(piece.length.0)),
                item: list.item_of(row),
                cut: !own.whole,
                from_offcut,
                stock_piece: row.number as i64,
            });
        }
    }
}
