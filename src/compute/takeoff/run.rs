//! The ground and the concrete of one run.

use super::earth::Earth;
use super::trench::Trench;
use super::{channel, check, deep_from, depths, formwork, outlets, quantity, setting, top};
use crate::compute::cut_list::{CutLists, Part};
use crate::compute::needs::Needs;
use crate::domain::book::PriceBook;
use crate::domain::layout::{Layout, Run};
use crate::domain::lines::{Check, Outcome, QuantityLine};
use crate::domain::measures::{Dug, Measures};
use crate::domain::words::Measure;
use crate::units::show::{joined, worded};
use crate::units::{Length, Volume};
use crate::wire::book::ground::SurfaceKind;
use serde::Serialize;
use std::fmt::{self, Display as _};
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
    /// What the crew digs by, leg by leg: both ends of each, and wherever the depth begins or ceases to change. Between two rows it
    /// changes evenly; beyond an open end the trench goes on as deep as it is there. Where the channel meets an outlet deeper from
    /// one side than from the other, the place has a row for each. Absent in estimates of old.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub dig_table: Vec<depths::RunDigStation>,
    /// Concrete, net; for the stages that follow.
    #[serde(skip)]
    pub concrete_net: Volume,
    /// Depth of the trench at its deepest.
    #[serde(skip)]
    pub deepest: Length,
    /// Uplift on the empty channel in the wet concrete, as displaced volume; nothing where no concrete gets below it.
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
    let mean = if depths::changes(run) { " mean" } else { "" };
    let ends = run.open_ends();
    let t = Trench::of(run);
    let name = run.id.as_str();
    let mut q: Vec<QuantityLine> = Vec::with_capacity(28);
    measures.add_length(Measure::RunLength, length);
    q.push(quantity(
        "run_length",
        show.long(length),
        "run.length",
        worded!("{}", joined(run.legs.iter().map(|l| at(l.length)), " + ")),
    ));

    let pieces = channel::take_off(run, index, cuts, layout, book, measures, needs, &mut q, checks);
    checks.extend(outlets::bores(run, &cuts.share(Part::Channel, index).laid, layout.show));

    q.push(quantity(
        "trench_volume",
        show.volume(t.volume),
        "run.trench",
        worded!(
            "({} + {ends} x {} end{}) x ({} + 2 x {} side) x ({}{mean} + {} base + {} recess) = {} x {} x {}{}",
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
            at(t.depth),
            depths::mean_in_words(run, show)
        ),
    ));
    // What lies on top is lifted first and is no excavation.
    let lifted = if run.top.is_sawn() { run.top.thickness } else { run.top.thickness.min(t.depth) };
    let in_trench = lifted.min(t.depth);
    let over = if run.top.takes_over_cut() { run.over_cut } else { Length::ZERO };
    let (cut_length, cut_width) = (t.length + over * 2, t.width + over * 2);
    let cut_area = cut_length * cut_width;
    if run.top.kind != SurfaceKind::BareSoil {
        top::lift(
            run, &t, cut_length, cut_width, lifted, layout, book, measures, needs, earth, &mut q, checks,
        );
    }
    let dug = t.volume - t.plan * in_trench;
    measures.add_volume(Measure::RunExcavation, dug);
    let deepest = run.greatest_height() + detail.base + detail.recess;
    let over = deep_from(book).filter(|d| deepest > *d).max().unwrap_or_default();
    measures.add_dug(Dug { measure: Measure::RunExcavation, over, deepest, volume: dug });
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
            "trench {} less channel {} x {} x ({}{mean} + {} recess)",
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
        checks.extend(top::one_lift(run, patch, layout, book));
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
        formwork::forms(run, &t, cuts.share(Part::FormBoard, index), layout, book, measures, &mut q);
    }
    formwork::bars(run, &t, cuts.share(Part::Bar, index), layout, measures, &mut q);
    checks.push(setting::made_for(run, book));
    checks_of(run, &t, layout, checks);
    // Concrete beside the channel alone presses it from both sides and lifts nothing.
    let displaced = if detail.base.is_positive() || below.is_positive() {
        t.channel * section.overall_width * height
    } else {
        Volume::ZERO
    };
    RunTakeoff {
        run: name.to_owned(),
        channel_system: run.system.code.as_str().to_owned(),
        setting_detail: detail.code.as_str().to_owned(),
        quantities: q,
        pieces,
        dig_table: depths::dig_table(run, show),
        concrete_net,
        deepest,
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
fn channel_in_plan(run: &Run<'_>, t: &Trench, layout: &Layout<'_>) -> impl fmt::Display {
    fmt::from_fn(|f| {
        let at = |l: Length| layout.show.length(l);
        if run.tees == 0 {
            return at(t.channel).fmt(f);
        }
        let shared = shared_at_tees(run, run.system.section.overall_width, layout);
        write!(f, "({}{shared})", at(run.length()))
    })
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
                "relief cuts of {} are noted, but {}: they are not counted",
                show.length(run.relief_cuts),
                run.top.not_sawn()
            ),
        ));
    }
    if run.over_cut.is_positive() && !run.top.takes_over_cut() {
        checks.push(check(
            "over_cut",
            subject(),
            Outcome::Warn,
            worded!(
                "an over-cut of {} is noted, but {}: it is not counted",
                show.length(run.over_cut),
                run.top.not_sawn()
            ),
        ));
    }
    if run.top.thickness > t.depth {
        checks.push(check(
            "slab_against_trench",
            subject(),
            Outcome::Warn,
            worded!(
                "{} of {} lie on top, deeper than the trench of {}: {}",
                show.length(run.top.thickness),
                run.top.kind,
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
