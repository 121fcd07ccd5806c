//! The ground and the concrete of one run.

use super::earth::Earth;
use super::trench::Trench;
use super::{channel, check, quantity, surface};
use crate::compute::cut_list::{CutLists, Part, Share};
use crate::compute::needs::Needs;
use crate::domain::book::PriceBook;
use crate::domain::layout::{Layout, Run};
use crate::domain::lines::{Check, Outcome, QuantityLine};
use crate::domain::measures::Measures;
use crate::domain::steel::bar_weight;
use crate::domain::words::Measure;
use crate::units::show::{counted, worded};
use crate::units::{Area, Length, Quantity, Volume};
use crate::wire::book::ground::SurfaceKind;
use serde::Serialize;
use utoipa::ToSchema;

/// The quantities of one run.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct RunTakeoff {
    /// Name of the run.
    pub run: String,
    /// Channel system it uses.
    pub channel_system: String,
    /// Setting detail it is set by.
    pub setting_detail: String,
    /// Its quantities.
    pub quantities: Vec<QuantityLine>,
    /// The channel and grate pieces, in order of the legs.
    pub pieces: Vec<channel::PieceOut>,
    /// Concrete, net; for the stages that follow.
    #[serde(skip)]
    pub concrete_net: Volume,
    /// Depth of the trench at its deepest.
    #[serde(skip)]
    pub deepest: Length,
    /// Uplift on the empty channel in the wet concrete, as displaced volume.
    #[serde(skip)]
    pub displaced: Volume,
}

/// Takes off one run.
#[expect(clippy::too_many_arguments, reason = "the collectors of the stage")]
pub fn take_off<'a>(
    run: &Run<'a>,
    index: usize,
    cuts: &CutLists<'a>,
    layout: &Layout<'a>,
    book: &'a PriceBook,
    measures: &mut Measures,
    needs: &mut Needs<'a>,
    earth: &mut Earth,
    checks: &mut Vec<Check>,
) -> RunTakeoff {
    let show = layout.show;
    let at = |l: Length| show.length(l);
    let detail = run.detail;
    let section = &run.system.section;
    let (length, height) = (run.length(), run.mean_height());
    let ends = run.open_ends();
    let t = Trench::of(run);
    let name = run.id.as_str();
    let mut q: Vec<QuantityLine> = Vec::with_capacity(28);
    measures.add_length(Measure::RunLength, length);
    q.push(quantity(
        "run_length",
        show.long(length),
        "run.length",
        run.legs.iter().map(|l| at(l.length).to_string()).collect::<Vec<_>>().join(" + "),
    ));

    let pieces = channel::take_off(run, index, cuts, layout, book, measures, needs, &mut q, checks);

    q.push(quantity(
        "trench_volume",
        show.volume(t.volume),
        "run.trench",
        worded!(
            "({} + {ends} x {} end{}) x ({} + 2 x {} side) x ({} + {} base + {} recess) = {} x {} x {}",
            at(length),
            at(detail.end),
            shared_at_tees(run, t.width, layout),
            at(section.overall_width),
            at(detail.side),
            at(height),
            at(detail.base),
            at(detail.recess),
            at(t.length),
            at(t.width),
            at(t.depth)
        ),
    ));
    // What lies on top is lifted first and is no excavation.
    let lifted = if run.top.is_sawn() { run.top.thickness } else { run.top.thickness.min(t.depth) };
    let in_trench = lifted.min(t.depth);
    let over = if run.top.is_sawn() { run.over_cut } else { Length::ZERO };
    let (cut_length, cut_width) = (t.length + over * 2, t.width + over * 2);
    let cut_area = cut_length * cut_width;
    if run.top.kind != SurfaceKind::BareSoil {
        lift_top(run, &t, cut_length, cut_width, lifted, layout, book, measures, needs, earth, &mut q);
    }
    let dug = t.volume - t.plan * in_trench;
    measures.add_volume(Measure::RunExcavation, dug);
    earth.dig(dug);
    q.push(quantity(
        "excavation",
        show.volume(dug),
        "run.excavation",
        if lifted.is_positive() {
            worded!(
                "trench {} less {} of {} lifted over {} x {}",
                show.volume(t.volume),
                at(in_trench),
                run.top.kind,
                at(t.length),
                at(t.width)
            )
        } else {
            worded!("the whole trench, {}", show.volume(t.volume))
        },
    ));
    q.push(quantity(
        "surround_concrete",
        show.volume(t.surround),
        "run.surround",
        worded!(
            "trench {} less channel {} x {} x ({} + {} recess)",
            show.volume(t.volume),
            channel_in_plan(run, &t, layout),
            at(section.overall_width),
            at(height),
            at(detail.recess)
        ),
    ));
    let mut concrete_net = t.surround;
    let below = lifted - in_trench;
    if below.is_positive() {
        let fill = t.plan * below;
        concrete_net += fill;
        q.push(quantity(
            "fill_concrete",
            show.volume(fill),
            "run.fill",
            worded!(
                "trench {} x {} x {} that the {} goes deeper",
                at(t.length),
                at(t.width),
                at(below),
                run.top.kind
            ),
        ));
    }
    if run.top.kind == SurfaceKind::ConcreteSlab {
        let patch = Volume::from_nm3((cut_area - t.plan).nm2() * i128::from(run.top.thickness.nm()));
        concrete_net += patch;
        q.push(quantity(
            "patch_concrete",
            show.volume(patch),
            "run.patch",
            worded!(
                "slab {} x (cut {} x {} less trench {} x {})",
                at(run.top.thickness),
                at(cut_length),
                at(cut_width),
                at(t.length),
                at(t.width)
            ),
        ));
    }
    // Asphalt beside the surround is made good by itself.
    let slab = run.top.kind == SurfaceKind::ConcreteSlab;
    let (poured_length, poured_width) = if slab { (cut_length, cut_width) } else { (t.length, t.width) };
    let finish = poured_length * poured_width - t.channel * section.overall_width;
    measures.add_area(Measure::FinishArea, finish);
    q.push(quantity(
        "finish_area",
        show.area(finish),
        "run.finish",
        worded!(
            "{} x {} less channel {} x {}",
            at(poured_length),
            at(poured_width),
            channel_in_plan(run, &t, layout),
            at(section.overall_width)
        ),
    ));
    if !slab {
        forms(run, &t, cuts.share(Part::FormBoard, index), layout, book, measures, &mut q);
    }
    bars(run, &t, cuts.share(Part::Bar, index), layout, measures, &mut q);
    checks_of(run, &t, layout, checks);
    let displaced = t.channel * section.overall_width * height;
    RunTakeoff {
        run: name.to_owned(),
        channel_system: run.system.code.as_str().to_owned(),
        setting_detail: detail.code.as_str().to_owned(),
        quantities: q,
        pieces,
        concrete_net,
        deepest: run.greatest_height() + detail.base + detail.recess,
        displaced,
    }
}

/// What the legs of tees share with the trench they meet, for the working.
fn shared_at_tees(run: &Run<'_>, width: Length, layout: &Layout<'_>) -> String {
    if run.tees == 0 {
        return String::new();
    }
    worded!(" - {} x half of {} shared at a tee", run.tees, layout.show.length(width))
}

/// The length of the channel in plan, for the working.
fn channel_in_plan(run: &Run<'_>, t: &Trench, layout: &Layout<'_>) -> String {
    let at = |l: Length| layout.show.length(l);
    if run.tees == 0 {
        return at(t.channel).to_string();
    }
    let shared = shared_at_tees(run, run.system.section.overall_width, layout);
    worded!("({}{shared})", at(run.length()))
}

/// Saw, lift and restore what lies on top of a run.
#[expect(clippy::too_many_arguments, reason = "one step of the take-off, split off for its length")]
fn lift_top<'a>(
    run: &Run<'a>,
    t: &Trench,
    cut_length: Length,
    cut_width: Length,
    lifted: Length,
    layout: &Layout<'a>,
    book: &'a PriceBook,
    measures: &mut Measures,
    needs: &mut Needs<'a>,
    earth: &mut Earth,
    q: &mut Vec<QuantityLine>,
) {
    let show = layout.show;
    let at = |l: Length| show.length(l);
    let cut_area = cut_length * cut_width;
    if run.top.is_sawn() {
        let saw = (cut_length + cut_width) * 2 + run.relief_cuts;
        measures.add_length(Measure::SawCutLength, saw);
        measures.add_area(Measure::SawCutFace, saw * run.top.thickness);
        q.push(quantity(
            "saw_cut",
            show.long(saw),
            "run.saw_cut",
            worded!(
                "2 x ({} + {}){}, {} deep",
                at(cut_length),
                at(cut_width),
                if run.relief_cuts.is_positive() {
                    worded!(" + {} relief cuts", at(run.relief_cuts))
                } else {
                    String::new()
                },
                at(run.top.thickness)
            ),
        ));
    }
    // Beside the trench it is lifted whole.
    let stays = run.top.thickness - lifted;
    let removed = cut_area * run.top.thickness - t.plan * stays;
    let (name, measure) = surface::lifted(run.top.kind);
    let beside = cut_area - t.plan;
    surface::count(run.top.kind, cut_area, removed, beside * run.top.thickness, measures, earth);
    if measure == Measure::PaversLifted {
        q.push(quantity(
            name,
            show.area(cut_area),
            "run.surface_removed",
            worded!("{} x {}", at(cut_length), at(cut_width)),
        ));
    } else {
        q.push(quantity(
            name,
            show.volume(removed),
            "run.surface_removed",
            if stays.is_positive() {
                worded!(
                    "{} x {} x {} less {} x {} x {} that stays below the trench",
                    at(cut_length),
                    at(cut_width),
                    at(run.top.thickness),
                    at(t.length),
                    at(t.width),
                    at(stays)
                )
            } else {
                worded!("{} x {} x {}", at(cut_length), at(cut_width), at(lifted))
            },
        ));
    }
    // Concrete is restored by the pour itself; everything else beside the surround is made good.
    if run.top.kind != SurfaceKind::ConcreteSlab && beside.nm2() > 0 {
        let place = worded!(
            "cut {} x {} less trench {} x {}",
            at(cut_length),
            at(cut_width),
            at(t.length),
            at(t.width)
        );
        surface::restore(run.top, beside, &place, run.id.as_str(), layout, book, measures, needs, q);
    }
}

/// Forms on both sides and at every open end where there is no slab edge to pour against.
fn forms(
    run: &Run<'_>,
    t: &Trench,
    share: &Share,
    layout: &Layout<'_>,
    book: &PriceBook,
    measures: &mut Measures,
    q: &mut Vec<QuantityLine>,
) {
    let Some(rule) = &book.doc().forms else { return };
    let at = |l: Length| layout.show.length(l);
    // A tee has an end of its own and opens a side as wide as that end.
    let (ends, tees, end) = (run.open_ends(), run.tees, at(t.width));
    let contact = Area::from_nm2(((t.length + t.width) * 2 * t.depth).nm2());
    measures.add_area(Measure::FormArea, contact);
    q.push(quantity(
        "form_area",
        layout.show.area(contact),
        "run.forms",
        if tees > 0 {
            worded!(
                "(2 x {} - {tees} x {end} open at the tees + {ends} x {end}) x {}",
                at(t.length),
                at(t.depth)
            )
        } else {
            worded!("2 x ({} + {end}) x {}", at(t.length), at(t.depth))
        },
    ));
    let open = if tees > 0 { worded!(", {tees} x {end} less at the tees,") } else { String::new() };
    let basis = worded!(
        "2 sides of {}{open} and {ends} ends of {end}, {} high: {}; pieces by the cut list of `{}` from boards {} long",
        at(t.length),
        at(t.depth),
        counted(t.form_rows(rule.board_width), "row"),
        rule.item,
        at(rule.board_length)
    );
    q.push(quantity("form_pieces", crate::units::Quantity::pieces(share.count), "run.forms", basis));
}

/// Bars along the run, lapped where they meet.
fn bars(
    run: &Run<'_>,
    t: &Trench,
    share: &Share,
    layout: &Layout<'_>,
    measures: &mut Measures,
    q: &mut Vec<QuantityLine>,
) {
    let Some(steel) = &run.detail.reinforcement else { return };
    let at = |l: Length| layout.show.length(l);
    let bars = steel.bars.get();
    // n pieces with n - 1 laps reach their sum less the laps.
    let total = t.length * bars + steel.lap * share.joints;
    measures.add_length(Measure::BarLength, total);
    let weight = bar_weight(steel.bar_number.get(), total)
        .map(|w| worded!(", {} in place", Quantity::of_base(w.base(), layout.show.weight_unit(), 1)))
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
    q.push(quantity("bar_length", layout.show.long(total), "run.bars", basis));
}

/// Base under wheels, load class of the grate, slab against trench depth.
fn checks_of(run: &Run<'_>, t: &Trench, layout: &Layout<'_>, checks: &mut Vec<Check>) {
    let subject = || worded!("run {}", run.id);
    let show = layout.show;
    if run.crossing.is_wheeled() {
        let (outcome, reason) = if run.detail.base.is_positive() {
            (
                Outcome::Pass,
                worded!("wheels cross and the surround has a base of {}", show.length(run.detail.base)),
            )
        } else {
            (
                Outcome::Fail,
                worded!(
                    "wheels cross but setting detail `{}` has no concrete below the channel",
                    run.detail.code
                ),
            )
        };
        checks.push(check("base_under_wheels", subject(), outcome, reason));
    }
    if run.relief_cuts.is_positive() && !run.top.is_sawn() {
        checks.push(check(
            "relief_cuts",
            subject(),
            Outcome::Warn,
            worded!(
                "relief cuts of {} are noted, but {} is not sawn: they are not counted",
                show.length(run.relief_cuts),
                run.top.kind
            ),
        ));
    }
    if run.top.thickness > t.depth {
        checks.push(check(
            "slab_against_trench",
            subject(),
            Outcome::Warn,
            worded!(
                "the {} is {} thick, deeper than the trench of {}: {}",
                run.top.kind,
                show.length(run.top.thickness),
                show.length(t.depth),
                if run.top.is_sawn() {
                    "it is lifted whole, and concrete fills what is below the surround"
                } else {
                    "over the trench only its depth is lifted"
                }
            ),
        ));
    }
    if run.crossing.is_heavier_than_wheels() {
        checks.push(check(
            "surround_by_engineer",
            subject(),
            Outcome::Warn,
            worded!(
                "`{}` is heavier than a car's wheels: the surround must follow the channel system's own data or a licensed engineer",
                run.crossing
            ),
        ));
    }
}
