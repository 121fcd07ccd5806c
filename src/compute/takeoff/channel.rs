//! Channel, grates, fittings, hangers, strip of one run.

use super::{check, quantity};
use crate::compute::cut_list::{CutLists, Part, Share, grate_gap};
use crate::compute::cutting::Name;
use crate::compute::needs::{Need, Needs};
use crate::domain::book::PriceBook;
use crate::domain::layout::{Layout, Run};
use crate::domain::lines::{Check, Outcome, QuantityLine};
use crate::domain::measures::Measures;
use crate::domain::words::Measure;
use crate::units::show::{Show, counted, joined, worded};
use crate::units::{Length, Quantity};
use serde::Serialize;
use std::fmt::{self, Display as _};
use utoipa::ToSchema;

/// A piece of channel or grate, where it goes and what it is cut from; or as many whole ones as lie one after the other.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct PieceOut {
    /// `channel` or `grate`.
    pub part: &'static str,
    /// Number of the leg, the first being 1.
    pub leg: i64,
    /// How many; more than one only where they are whole.
    pub count: i64,
    /// Distance of the near end of the first from the start of the leg.
    pub from: Quantity,
    /// Distance of the far end of the last.
    pub to: Quantity,
    /// Length of one.
    pub length: Quantity,
    /// Item code of the stock length.
    #[schema(value_type = String)]
    pub item: Name,
    /// Whether it is cut.
    pub cut: bool,
    /// Whether it comes from the offcut of an earlier piece or from the yard.
    pub from_offcut: bool,
    /// `number` on the sheet of the cut list of its part and system: of the stock piece, or of the first of them.
    pub stock_piece: i64,
}

/// Takes off the channel of one run.
#[expect(clippy::too_many_arguments, reason = "the collectors of the stage")]
pub fn take_off<'a>(
    run: &Run<'a>,
    index: usize,
    cuts: &CutLists<'a>,
    layout: &Layout<'a>,
    book: &'a PriceBook,
    measures: &mut Measures,
    needs: &mut Needs<'a>,
    q: &mut Vec<QuantityLine>,
    checks: &mut Vec<Check>,
) -> Vec<PieceOut> {
    let system = run.system;
    let show = layout.show;
    let at = |l: Length| show.length(l);
    let net = run.net_channel();
    measures.add_length(Measure::ChannelLength, net);
    q.push(quantity(
        "net_channel",
        show.long(net),
        "run.net_channel",
        worded!("legs {} less {} used up by fittings", at(run.length()), at(run.length() - net)),
    ));

    let channel = cuts.share(Part::Channel, index);
    measures.add_count(Measure::ChannelSections, channel.count);
    measures.add_count(Measure::ChannelCuts, channel.cuts);
    q.push(quantity(
        "channel_sections",
        Quantity::pieces(channel.count),
        "run.channel_stock",
        worded!("by the cut list of `{}`: {} made for this run", system.code, counted(channel.cuts, "cut")),
    ));

    // Joints: inside the spans, at corners and tees, and on both sides of an outlet that takes a place in the channel.
    let at_corners = run.corner.map_or(0, |c| c.joints.get()) * run.corners;
    let at_tees = run.tee.map_or(0, |t| t.joints.get()) * run.tees;
    let inline = run
        .outlets
        .iter()
        .filter(|o| o.bottom && o.fitting.uses_length.is_some_and(Length::is_positive))
        .count() as i64;
    let joints = channel.joints + at_corners + at_tees + inline * 2;
    measures.add_count(Measure::ChannelJoints, joints);
    let joints_basis = worded!(
        "{} between sections, {at_corners} at {}, {at_tees} at {}, {} at {} in the channel",
        channel.joints,
        counted(run.corners, "corner"),
        counted(run.tees, "tee"),
        inline * 2,
        counted(inline, "outlet")
    );
    if let Some(coupling) = &system.coupling {
        needs.add(
            book,
            coupling,
            Need::Pieces(joints),
            "run.joints",
            format_args!("run {}: {joints_basis}", run.id),
        );
    }
    q.push(quantity("joints", Quantity::pieces(joints), "run.joints", joints_basis));

    fittings(run, book, measures, needs, q);
    let grate = cuts.share(Part::Grate, index);
    grates(run, grate, layout, book, measures, needs, q, checks);
    hangers(run, layout, book, measures, needs, q);
    strip(run, layout, book, measures, needs, q, checks);
    [channel.pieces.as_slice(), &grate.pieces].concat()
}

/// Corners, tees, outlets, end caps.
fn fittings<'a>(
    run: &Run<'a>,
    book: &'a PriceBook,
    measures: &mut Measures,
    needs: &mut Needs<'a>,
    q: &mut Vec<QuantityLine>,
) {
    measures.add_count(Measure::ChannelFittings, run.corners + run.tees);
    measures.add_count(Measure::RunEnds, run.caps + run.outlets.len() as i64);
    for (count, fitting, name) in [(run.corners, run.corner, "corners"), (run.tees, run.tee, "tees")] {
        if let Some(fitting) = fitting.filter(|_| count > 0) {
            let basis = worded!("run {}: {count} in the legs", run.id);
            needs.add(book, &fitting.item, Need::Pieces(count), "run.fittings", &basis);
            q.push(quantity(name, Quantity::pieces(count), "run.fittings", basis));
        }
    }
    for outlet in &run.outlets {
        let kind = if outlet.bottom { "bottom outlet" } else { "end outlet" };
        needs.add(
            book,
            &outlet.fitting.item,
            Need::Pieces(1),
            "run.ends",
            format_args!("run {}: {kind} {}", run.id, outlet.id),
        );
    }
    q.push(quantity(
        "outlets",
        Quantity::pieces(run.outlets.len() as i64),
        "run.ends",
        worded!("{}", joined(run.outlets.iter().map(|o| o.id), ", ")),
    ));
    let basis = worded!(
        "{} less {}",
        counted(run.open_ends(), "open end"),
        counted(run.open_ends() - run.caps, "end outlet")
    );
    if let Some(cap) = &run.system.end_cap {
        needs.add(book, cap, Need::Pieces(run.caps), "run.ends", format_args!("run {}: {basis}", run.id));
    }
    q.push(quantity("end_caps", Quantity::pieces(run.caps), "run.ends", basis));
}

/// Grates over every leg, with gaps where the climate asks for them, and their screws.
#[expect(clippy::too_many_arguments, reason = "one step of the take-off, split off for its length")]
fn grates<'a>(
    run: &Run<'a>,
    share: &Share,
    layout: &Layout<'a>,
    book: &'a PriceBook,
    measures: &mut Measures,
    needs: &mut Needs<'a>,
    q: &mut Vec<QuantityLine>,
    checks: &mut Vec<Check>,
) {
    let grate = run.grate;
    let show = layout.show;
    let laid = share.count;
    let screws = laid * grate.screws.get();
    measures.add_count(Measure::Grates, laid);
    measures.add_count(Measure::GrateCuts, share.cuts);
    measures.add_length(Measure::GrateLength, run.in_plan());
    measures.add_count(Measure::GrateScrews, screws);
    let basis = worded!(
        "grates laid, of up to {} with a gap of {} over {}; by the cut list of `{}`: {} made for this run",
        show.length(grate.length),
        show.length(grate_gap(layout.climate, run)),
        covered(run, show),
        grate.item,
        counted(share.cuts, "cut")
    );
    q.push(quantity("grates", Quantity::pieces(laid), "run.grates", basis));
    let screw_basis = worded!("{} x {}", counted(laid, "grate"), grate.screws.get());
    if let Some(screw) = &run.system.screw {
        needs.add(
            book,
            screw,
            Need::Pieces(screws),
            "run.screws",
            format_args!("run {}: {screw_basis}", run.id),
        );
    }
    q.push(quantity("grate_screws", Quantity::pieces(screws), "run.screws", screw_basis));
    load_class(run, book, checks);
}

/// What grates and strip cover, for the working.
fn covered(run: &Run<'_>, show: Show) -> impl fmt::Display {
    fmt::from_fn(move |f| {
        let at = |l: Length| show.length(l);
        if run.tees == 0 {
            return at(run.length()).fmt(f);
        }
        let half = at(run.system.section.overall_width.half());
        write!(f, "{} (legs {} less {} x {half} at a tee)", at(run.in_plan()), at(run.length()), run.tees)
    })
}

/// The grate's class against what crosses.
fn load_class(run: &Run<'_>, book: &PriceBook, checks: &mut Vec<Check>) {
    let subject = worded!("run {}", run.id);
    let Some(class) = run.grate.load_class else {
        checks.push(check(
            "load_class",
            subject,
            Outcome::Fail,
            worded!("grate `{}` has no load class", run.grate.item),
        ));
        return;
    };
    let Some(need) = book.least_class(run.crossing, class) else {
        checks.push(check(
            "load_class",
            subject,
            Outcome::Fail,
            worded!("the price book does not say which class `{}` calls for", run.crossing),
        ));
        return;
    };
    let (outcome, reason) = match class.carries(need) {
        Some(true) => {
            (Outcome::Pass, worded!("`{}` crosses: {need} is called for, the grate is {class}", run.crossing))
        }
        Some(false) => (
            Outcome::Fail,
            worded!(
                "`{}` crosses: {need} is called for, but grate `{}` is only {class}",
                run.crossing,
                run.grate.item
            ),
        ),
        None => (
            Outcome::Fail,
            worded!(
                "`{}` calls for {need}, the grate is rated {class} by another standard: the two cannot be compared",
                run.crossing
            ),
        ),
    };
    checks.push(check("load_class", subject, outcome, reason));
}

/// Hangers that hold the channel at level.
fn hangers<'a>(
    run: &Run<'a>,
    layout: &Layout<'a>,
    book: &'a PriceBook,
    measures: &mut Measures,
    needs: &mut Needs<'a>,
    q: &mut Vec<QuantityLine>,
) {
    let show = layout.show;
    if let Some(rule) = &book.doc().hangers {
        let count = run.hangers(rule.spacing);
        measures.add_count(Measure::Hangers, count);
        let basis = worded!(
            "both ends of each of {} and at most {} between",
            counted(run.legs.len(), "leg"),
            show.length(rule.spacing)
        );
        needs.add(
            book,
            &rule.item,
            Need::Pieces(count),
            "run.hangers",
            format_args!("run {}: {basis}", run.id),
        );
        q.push(quantity("hangers", Quantity::pieces(count), "run.hangers", basis));
    }
}

/// The recess strip, for wheels.
fn strip<'a>(
    run: &Run<'a>,
    layout: &Layout<'a>,
    book: &'a PriceBook,
    measures: &mut Measures,
    needs: &mut Needs<'a>,
    q: &mut Vec<QuantityLine>,
    checks: &mut Vec<Check>,
) {
    if !run.detail.recess.is_positive() || !run.crossing.is_wheeled() {
        return;
    }
    let show = layout.show;
    let strip = run.in_plan();
    measures.add_length(Measure::RecessStrip, strip);
    let basis = worded!("{} thick along {}", show.length(run.detail.recess), covered(run, show));
    match &run.detail.recess_strip {
        Some(item) => needs.add(
            book,
            item,
            Need::Length(strip),
            "run.recess_strip",
            format_args!("run {}: {basis}", run.id),
        ),
        None => checks.push(check(
            "recess_strip_on_offer",
            worded!("run {}", run.id),
            Outcome::Warn,
            worded!(
                "a recess strip of {} is called for, but setting detail `{}` names none in the price book: nothing is bought",
                show.length(strip),
                run.detail.code
            ),
        )),
    }
    q.push(quantity("recess_strip", show.long(strip), "run.recess_strip", basis));
}
