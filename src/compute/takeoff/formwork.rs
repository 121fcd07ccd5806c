//! Forms and bars of one run.

use super::collect::Collect;
use super::trench::Trench;
use super::{depths, form_rows};
use crate::compute::cut_list::Share;
use crate::domain::layout::Run;
use crate::domain::steel::bar_weight;
use crate::domain::words::Measure;
use crate::units::show::{counted, worded};
use crate::units::{Area, Length, Quantity};

/// Forms on both sides and at every open end where there is no slab edge to pour against.
pub(super) fn forms(run: &Run<'_>, t: &Trench, share: &Share, collect: &mut Collect<'_, '_>) {
    let book = collect.book.doc();
    let Some(rule) = &book.forms else { return };
    let show = collect.show;
    let at = |l: Length| show.length(l);
    let mean = if depths::changes(run) { " mean" } else { "" };
    // A tee has an end of its own and opens a side as wide as that end.
    let (ends, tees, end) = (run.open_ends(), run.tees, at(t.width));
    let contact = Area::from_nm2(((t.length + t.width) * 2 * t.depth).nm2());
    collect.measures.add_area(Measure::FormArea, contact);
    let basis = if tees > 0 {
        worded!(
            "(2 x {} - {tees} x {end} open at the tees + {ends} x {end}) x {}{mean}",
            at(t.length),
            at(t.depth)
        )
    } else {
        worded!("2 x ({} + {end}) x {}{mean}", at(t.length), at(t.depth))
    };
    collect.quantity("form_area", show.area(contact), "run.forms", basis);
    let open = if tees > 0 { worded!(", {tees} x {end} less at the tees,") } else { String::new() };
    let least = book.cutting.as_ref().and_then(|s| s.least_piece).unwrap_or(Length::ZERO);
    let basis = worded!(
        "2 sides of {}{open} and {ends} ends of {end}, {}; pieces by the cut list of `{}` from boards {} long",
        at(t.length),
        form_rows::in_words(run, t, rule, least, show),
        rule.item,
        at(rule.board_length)
    );
    collect.quantity("form_pieces", Quantity::pieces(share.count), "run.forms", basis);
}

/// Bars along the run, lapped where they meet.
pub(super) fn bars(run: &Run<'_>, t: &Trench, share: &Share, collect: &mut Collect<'_, '_>) {
    let Some(steel) = &run.detail.reinforcement else { return };
    let show = collect.show;
    let at = |l: Length| show.length(l);
    let bars = steel.bars.get();
    // n pieces with n - 1 laps reach their sum less the laps.
    let total = t.length * bars + steel.lap * share.joints;
    collect.measures.add_length(Measure::BarLength, total);
    let weight = bar_weight(steel.bar_number.get(), total)
        .map(|w| worded!(", {} in place", Quantity::of_base(w.base(), show.weight_unit(), 1)))
        .unwrap_or_default();
    let basis = worded!(
        "{} No. {} x {} + {} x {}, by the cut list of `{}` from stock bars of {}{weight}",
        counted(bars, "bar"),
        steel.bar_number.get(),
        at(t.length),
        counted(share.joints, "lap"),
        at(steel.lap),
        steel.item,
        at(steel.bar_length)
    );
    collect.quantity("bar_length", show.long(total), "run.bars", basis);
}
