//! Channel, grates, fittings, hangers, strip of one run.

use super::check;
use super::collect::Collect;
use crate::compute::cut_list::{Share, grate_gap};
use crate::compute::cutting::Name;
use crate::compute::needs::Need;
use crate::domain::book::PriceBook;
use crate::domain::layout::Run;
use crate::domain::lines::{Check, Outcome};
use crate::domain::words::Measure;
use crate::units::show::{Show, counted, joined, worded};
use crate::units::{Length, Quantity};
use crate::wire_enum;
use serde::Serialize;
use std::fmt::{self, Display as _};
use utoipa::ToSchema;

wire_enum! {
    /// What is laid along a run piece by piece.
    pub enum PiecePart {
        /// a section of channel
        Channel = "channel",
        /// a grate
        Grate = "grate",
    }
}

/// A piece of channel or grate, where it goes and what it is cut from; or as many whole ones as lie one after the other.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct PieceOut {
    /// What it is a piece of.
    pub part: PiecePart,
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

/// Takes off the channel of one run, by what it gets of channel and grates.
pub(super) fn take_off<'a>(
    run: &Run<'a>,
    channel: &Share,
    grate: &Share,
    collect: &mut Collect<'_, 'a>,
) -> Vec<PieceOut> {
    net_channel(run, collect);
    sections(run, channel, collect);
    joints(run, channel, collect);
    turns(run, collect);
    ends(run, collect);
    grates(run, grate, collect);
    screws(run, grate, collect);
    load_class(run, collect.book, &mut collect.checks);
    hangers(run, collect);
    strip(run, collect);
    [channel.pieces.as_slice(), &grate.pieces].concat()
}

/// Channel to be set, without what fittings use up.
fn net_channel(run: &Run<'_>, collect: &mut Collect<'_, '_>) {
    let show = collect.show;
    let (legs, net) = (run.length(), run.net_channel());
    collect.measures.add_length(Measure::ChannelLength, net);
    let basis = worded!("legs {} less {} used up by fittings", show.length(legs), show.length(legs - net));
    collect.quantity("net_channel", show.long(net), "run.net_channel", basis);
}

/// The sections of the cut list.
fn sections(run: &Run<'_>, share: &Share, collect: &mut Collect<'_, '_>) {
    collect.measures.add_count(Measure::ChannelSections, share.count);
    collect.measures.add_count(Measure::ChannelCuts, share.cuts);
    let (system, cuts) = (&run.system.code, counted(share.cuts, "cut"));
    let basis = worded!("by the cut list of `{system}`: {cuts} made for this run");
    collect.quantity("channel_sections", Quantity::pieces(share.count), "run.channel_stock", basis);
}

/// Joints: inside the spans, at corners and tees, and on both sides of an outlet that takes a place in the channel.
fn joints<'a>(run: &Run<'a>, share: &Share, collect: &mut Collect<'_, 'a>) {
    let at_corners = run.corner.map_or(0, |c| c.joints.get()) * run.corners;
    let at_tees = run.tee.map_or(0, |t| t.joints.get()) * run.tees;
    let inline = run
        .outlets
        .iter()
        .filter(|o| o.bottom && o.fitting.uses_length.is_some_and(Length::is_positive))
        .count() as i64;
    let joints = share.joints + at_corners + at_tees + inline * 2;
    collect.measures.add_count(Measure::ChannelJoints, joints);
    let basis = worded!(
        "{} between sections, {at_corners} at {}, {at_tees} at {}, {} at {} in the channel",
        share.joints,
        counted(run.corners, "corner"),
        counted(run.tees, "tee"),
        inline * 2,
        counted(inline, "outlet")
    );
    if let Some(coupling) = &run.system.coupling {
        let basis = format_args!("run {}: {basis}", run.id);
        collect.need(coupling, Need::Pieces(joints), "run.joints", basis);
    }
    collect.quantity("joints", Quantity::pieces(joints), "run.joints", basis);
}

/// Corners and tees.
fn turns<'a>(run: &Run<'a>, collect: &mut Collect<'_, 'a>) {
    collect.measures.add_count(Measure::ChannelFittings, run.corners + run.tees);
    for (count, fitting, name) in [(run.corners, run.corner, "corners"), (run.tees, run.tee, "tees")] {
        if let Some(fitting) = fitting.filter(|_| count > 0) {
            let basis = worded!("run {}: {count} in the legs", run.id);
            collect.need(&fitting.item, Need::Pieces(count), "run.fittings", &basis);
            collect.quantity(name, Quantity::pieces(count), "run.fittings", basis);
        }
    }
}

/// Outlets, and caps on the open ends that have none.
fn ends<'a>(run: &Run<'a>, collect: &mut Collect<'_, 'a>) {
    let outlets = run.outlets.len() as i64;
    collect.measures.add_count(Measure::RunEnds, run.caps + outlets);
    for outlet in &run.outlets {
        let kind = if outlet.bottom { "bottom outlet" } else { "end outlet" };
        let basis = format_args!("run {}: {kind} {}", run.id, outlet.id);
        collect.need(&outlet.fitting.item, Need::Pieces(1), "run.ends", basis);
    }
    let names = worded!("{}", joined(run.outlets.iter().map(|o| o.id), ", "));
    collect.quantity("outlets", Quantity::pieces(outlets), "run.ends", names);
    let open = run.open_ends();
    let basis = worded!("{} less {}", counted(open, "open end"), counted(open - run.caps, "end outlet"));
    if let Some(cap) = &run.system.end_cap {
        let basis = format_args!("run {}: {basis}", run.id);
        collect.need(cap, Need::Pieces(run.caps), "run.ends", basis);
    }
    collect.quantity("end_caps", Quantity::pieces(run.caps), "run.ends", basis);
}

/// Grates over every leg, with gaps where the climate asks for them.
fn grates(run: &Run<'_>, share: &Share, collect: &mut Collect<'_, '_>) {
    let (grate, show) = (run.grate, collect.show);
    collect.measures.add_count(Measure::Grates, share.count);
    collect.measures.add_count(Measure::GrateCuts, share.cuts);
    collect.measures.add_length(Measure::GrateLength, run.in_plan());
    let basis = worded!(
        "grates laid, of up to {} with a gap of {} over {}; by the cut list of `{}`: {} made for this run",
        show.length(grate.length),
        show.length(grate_gap(collect.layout.climate, run)),
        covered(run, show),
        grate.item,
        counted(share.cuts, "cut")
    );
    collect.quantity("grates", Quantity::pieces(share.count), "run.grates", basis);
}

/// Their screws.
fn screws<'a>(run: &Run<'a>, share: &Share, collect: &mut Collect<'_, 'a>) {
    let each = run.grate.screws.get();
    let screws = share.count * each;
    collect.measures.add_count(Measure::GrateScrews, screws);
    let basis = worded!("{} x {each}", counted(share.count, "grate"));
    if let Some(screw) = &run.system.screw {
        let basis = format_args!("run {}: {basis}", run.id);
        collect.need(screw, Need::Pieces(screws), "run.screws", basis);
    }
    collect.quantity("grate_screws", Quantity::pieces(screws), "run.screws", basis);
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
fn hangers<'a>(run: &Run<'a>, collect: &mut Collect<'_, 'a>) {
    let Some(rule) = &collect.book.doc().hangers else { return };
    let count = run.hangers(rule.spacing);
    collect.measures.add_count(Measure::Hangers, count);
    let basis = worded!(
        "both ends of each of {} and at most {} between",
        counted(run.legs.len(), "leg"),
        collect.show.length(rule.spacing)
    );
    collect.need(&rule.item, Need::Pieces(count), "run.hangers", format_args!("run {}: {basis}", run.id));
    collect.quantity("hangers", Quantity::pieces(count), "run.hangers", basis);
}

/// The recess strip, for wheels.
fn strip<'a>(run: &Run<'a>, collect: &mut Collect<'_, 'a>) {
    if !run.detail.recess.is_positive() || !run.crossing.is_wheeled() {
        return;
    }
    let show = collect.show;
    let strip = run.in_plan();
    collect.measures.add_length(Measure::RecessStrip, strip);
    let basis = worded!("{} thick along {}", show.length(run.detail.recess), covered(run, show));
    match &run.detail.recess_strip {
        Some(item) => {
            let basis = format_args!("run {}: {basis}", run.id);
            collect.need(item, Need::Length(strip), "run.recess_strip", basis);
        }
        None => collect.checks.push(check(
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
    collect.quantity("recess_strip", show.long(strip), "run.recess_strip", basis);
}
