//! The ground and the concrete of one run.

use super::collect::Collect;
use super::top::Opening;
use super::trench::Trench;
use super::{channel, check, depths, formwork, outlets, setting, top};
use crate::compute::cut_list::{CutLists, Part};
use crate::domain::layout::Run;
use crate::domain::lines::{Check, Outcome, QuantityLine};
use crate::domain::measures::Dug;
use crate::domain::words::Measure;
use crate::units::show::{Show, joined, worded};
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
pub(super) fn take_off<'a>(
    run: &Run<'a>,
    index: usize,
    cuts: &CutLists<'a>,
    collect: &mut Collect<'_, 'a>,
) -> RunTakeoff {
    collect.begin(28);
    let ground = Ground::of(run);
    let Ground { trench, opening, height, deepest, .. } = &ground;
    let channel = cuts.share(Part::Channel, index);
    length(run, collect);
    let pieces = channel::take_off(run, channel, cuts.share(Part::Grate, index), collect);
    collect.checks.extend(outlets::bores(run, &channel.laid, collect.show));
    ground.trench(collect);
    // What lies on top is lifted first and is no excavation.
    top::take_off(run, trench, opening, collect);
    ground.excavation(collect);
    ground.surround(collect);
    let fill = ground.fill(collect);
    let patch = ground.patch(collect);
    ground.finish(collect);
    if !ground.in_slab() {
        formwork::forms(run, trench, cuts.share(Part::FormBoard, index), collect);
    }
    formwork::bars(run, trench, cuts.share(Part::Bar, index), collect);
    collect.checks.push(setting::made_for(run, collect.book));
    checks_of(run, trench, collect);
    // Concrete beside the channel alone presses it from both sides and lifts nothing.
    let is_below = run.detail.base.is_positive() || opening.below().is_positive();
    RunTakeoff {
        run: run.id.as_str().to_owned(),
        channel_system: run.system.code.as_str().to_owned(),
        setting_detail: run.detail.code.as_str().to_owned(),
        quantities: collect.end(),
        pieces,
        dig_table: depths::dig_table(run, collect.show),
        concrete_net: trench.surround + fill + patch,
        deepest: *deepest,
        displaced: if is_below {
            trench.channel * run.system.section.overall_width * *height
        } else {
            Volume::ZERO
        },
    }
}

/// Length along the grate, leg by leg.
fn length(run: &Run<'_>, collect: &mut Collect<'_, '_>) {
    let (show, length) = (collect.show, run.length());
    collect.measures.add_length(Measure::RunLength, length);
    let basis = worded!("{}", joined(run.legs.iter().map(|leg| show.length(leg.length)), " + "));
    collect.quantity("run_length", show.long(length), "run.length", basis);
}

/// A run in the ground.
struct Ground<'r, 'a> {
    run: &'r Run<'a>,
    trench: Trench,
    opening: Opening,
    /// Mean outside height of the channel.
    height: Length,
    /// The trench at its deepest.
    deepest: Length,
    /// That the height is a mean, where it changes along the run.
    mean: &'static str,
}

impl<'r, 'a> Ground<'r, 'a> {
    fn of(run: &'r Run<'a>) -> Self {
        let trench = Trench::of(run);
        let opening = Opening::of(run, &trench);
        let deepest = run.greatest_height() + run.detail.base + run.detail.recess;
        let mean = if depths::changes(run) { " mean" } else { "" };
        Self { run, trench, opening, height: run.mean_height(), deepest, mean }
    }

    /// Whether the concrete is poured against the slab beside it.
    fn in_slab(&self) -> bool {
        self.run.top.kind == SurfaceKind::ConcreteSlab
    }

    /// How the trench is made up.
    fn trench(&self, collect: &mut Collect<'_, '_>) {
        let Self { run, trench: t, mean, .. } = self;
        let show = collect.show;
        let at = |l: Length| show.length(l);
        let detail = run.detail;
        let basis = worded!(
            "({} + {} x {} end{}) x ({} + 2 x {} side) x ({}{mean} + {} base + {} recess) = {} x {} x {}{}",
            at(run.length()),
            run.open_ends(),
            at(detail.end),
            shared_at_tees(run, t.width, show),
            at(run.system.section.overall_width),
            at(detail.side),
            at(self.height),
            at(detail.base),
            at(detail.recess),
            at(t.length),
            at(t.width),
            at(t.depth),
            depths::mean_in_words(run, show)
        );
        collect.quantity("trench_volume", show.volume(t.volume), "run.trench", basis);
    }

    /// What is dug of it.
    fn excavation(&self, collect: &mut Collect<'_, '_>) {
        let Self { run, trench: t, opening: Opening { lifted, in_trench, .. }, deepest, .. } = self;
        let show = collect.show;
        let dug = t.volume - t.plan * *in_trench;
        collect.measures.add_volume(Measure::RunExcavation, dug);
        let over = collect.depths.iter().rev().find(|depth| **depth < *deepest).copied().unwrap_or_default();
        let all = Dug { measure: Measure::RunExcavation, over, deepest: *deepest, volume: dug };
        collect.measures.add_dug(all);
        collect.earth.dig(dug);
        let whole = show.volume(t.volume);
        let basis = if lifted.is_positive() {
            worded!(
                "trench {whole} less {} of {} lifted over {} x {}",
                show.length(*in_trench),
                run.top.kind,
                show.length(t.length),
                show.length(t.width)
            )
        } else {
            worded!("the whole trench, {whole}")
        };
        collect.quantity("excavation", show.volume(dug), "run.excavation", basis);
    }

    /// The concrete around the channel.
    fn surround(&self, collect: &mut Collect<'_, '_>) {
        let Self { run, trench: t, height, mean, .. } = self;
        let show = collect.show;
        let basis = worded!(
            "trench {} less channel {} x {} x ({}{mean} + {} recess)",
            show.volume(t.volume),
            channel_in_plan(run, t, show),
            show.length(run.system.section.overall_width),
            show.length(*height),
            show.length(run.detail.recess)
        );
        collect.quantity("surround_concrete", show.volume(t.surround), "run.surround", basis);
    }

    /// The concrete below it, where what lay on top goes deeper than the trench.
    fn fill(&self, collect: &mut Collect<'_, '_>) -> Volume {
        let Self { run, trench: t, opening, .. } = self;
        let below = opening.below();
        if !below.is_positive() {
            return Volume::ZERO;
        }
        let (show, fill) = (collect.show, t.plan * below);
        let basis = worded!(
            "trench {} x {} x {} that the {} goes deeper",
            show.length(t.length),
            show.length(t.width),
            show.length(below),
            run.top.kind
        );
        collect.quantity("fill_concrete", show.volume(fill), "run.fill", basis);
        fill
    }

    /// The concrete beside it, where a slab was cut.
    fn patch(&self, collect: &mut Collect<'_, '_>) -> Volume {
        let Self { run, trench: t, opening, .. } = self;
        if !self.in_slab() {
            return Volume::ZERO;
        }
        let show = collect.show;
        let thick = run.top.thickness;
        let patch = (opening.area - t.plan) * thick;
        collect.checks.extend(top::one_lift(run, patch, collect.layout, collect.book));
        let basis = worded!(
            "slab {} x (cut {} x {} less trench {} x {})",
            show.length(thick),
            show.length(opening.length),
            show.length(opening.width),
            show.length(t.length),
            show.length(t.width)
        );
        collect.quantity("patch_concrete", show.volume(patch), "run.patch", basis);
        patch
    }

    /// What is floated and broomed; asphalt beside the surround is made good by itself.
    fn finish(&self, collect: &mut Collect<'_, '_>) {
        let Self { run, trench: t, opening, .. } = self;
        let show = collect.show;
        let wide = run.system.section.overall_width;
        let (poured_length, poured_width) =
            if self.in_slab() { (opening.length, opening.width) } else { (t.length, t.width) };
        let finish = poured_length * poured_width - t.channel * wide;
        collect.measures.add_area(Measure::FinishArea, finish);
        let basis = worded!(
            "{} x {} less channel {} x {}",
            show.length(poured_length),
            show.length(poured_width),
            channel_in_plan(run, t, show),
            show.length(wide)
        );
        collect.quantity("finish_area", show.area(finish), "run.finish", basis);
    }
}

/// What the legs of tees share with the trench they meet, for the working.
fn shared_at_tees(run: &Run<'_>, width: Length, show: Show) -> impl fmt::Display {
    let tees = run.tees;
    fmt::from_fn(move |f| {
        if tees == 0 {
            return Ok(());
        }
        write!(f, " - {tees} x half of {} shared at a tee", show.length(width))
    })
}

/// The length of the channel in plan, for the working.
fn channel_in_plan(run: &Run<'_>, t: &Trench, show: Show) -> impl fmt::Display {
    fmt::from_fn(move |f| {
        if run.tees == 0 {
            return show.length(t.channel).fmt(f);
        }
        let shared = shared_at_tees(run, run.system.section.overall_width, show);
        write!(f, "({}{shared})", show.length(run.length()))
    })
}

/// What crosses the run and lies on it against how it is set.
fn checks_of(run: &Run<'_>, t: &Trench, collect: &mut Collect<'_, '_>) {
    let show = collect.show;
    collect.checks.extend(base_under_wheels(run, show));
    collect.checks.extend(relief_cuts(run, show));
    collect.checks.extend(over_cut(run, show));
    collect.checks.extend(slab_against_trench(run, t, show));
    collect.checks.extend(surround_by_engineer(run));
}

fn subject(run: &Run<'_>) -> String {
    worded!("run {}", run.id)
}

fn base_under_wheels(run: &Run<'_>, show: Show) -> Option<Check> {
    if !run.crossing.is_wheeled() {
        return None;
    }
    let (base, detail) = (run.detail.base, &run.detail.code);
    let (outcome, reason) = if base.is_positive() {
        (Outcome::Pass, worded!("wheels cross and the surround has a base of {}", show.length(base)))
    } else {
        let reason = worded!("wheels cross but setting detail `{detail}` has no concrete below the channel");
        (Outcome::Fail, reason)
    };
    Some(check("base_under_wheels", subject(run), outcome, reason))
}

fn relief_cuts(run: &Run<'_>, show: Show) -> Option<Check> {
    if !run.relief_cuts.is_positive() || run.top.is_sawn() {
        return None;
    }
    let (cuts, not_sawn) = (show.length(run.relief_cuts), run.top.not_sawn());
    let reason = worded!("relief cuts of {cuts} are noted, but {not_sawn}: they are not counted");
    Some(check("relief_cuts", subject(run), Outcome::Warn, reason))
}

fn over_cut(run: &Run<'_>, show: Show) -> Option<Check> {
    if !run.over_cut.is_positive() || run.top.takes_over_cut() {
        return None;
    }
    let (over, not_sawn) = (show.length(run.over_cut), run.top.not_sawn());
    let reason = worded!("an over-cut of {over} is noted, but {not_sawn}: it is not counted");
    Some(check("over_cut", subject(run), Outcome::Warn, reason))
}

fn slab_against_trench(run: &Run<'_>, t: &Trench, show: Show) -> Option<Check> {
    if run.top.thickness <= t.depth {
        return None;
    }
    let how = if run.top.is_sawn() {
        "it is lifted whole, and concrete fills what is below the surround"
    } else {
        "over the trench only its depth is lifted"
    };
    let reason = worded!(
        "{} of {} lie on top, deeper than the trench of {}: {how}",
        show.length(run.top.thickness),
        run.top.kind,
        show.length(t.depth)
    );
    Some(check("slab_against_trench", subject(run), Outcome::Warn, reason))
}

fn surround_by_engineer(run: &Run<'_>) -> Option<Check> {
    if !run.crossing.is_heavier_than_wheels() {
        return None;
    }
    let reason = worded!(
        "`{}` is heavier than a car's wheels: the surround must follow the channel system's own data or a licensed engineer",
        run.crossing
    );
    Some(check("surround_by_engineer", subject(run), Outcome::Warn, reason))
}
