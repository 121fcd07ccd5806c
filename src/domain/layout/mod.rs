//! A layout that has been resolved against a price book: every code found, every end closed, every line ending
//! somewhere. What the stages compute from.
//!
//! | file | subject |
//! |---|---|
//! | [`choices`] | ways and methods chosen by code |
//! | [`named`] | what is named by code and must stand in the book |
//! | `within` | what is named in the notes and must stand in them |
//! | [`resolve`] | site notes + price book to a layout, every fault with its pointer |
//! | [`runs`] | chains, spans, ends and outlets of one run |
//! | [`surface`] | what lies on top of a run or a line |
//! | `pricing` | allowances, discounts, options, alternates and the place of the sale |
//! | [`pours`] | on which day what is poured, in which weather |
//! | [`mod@line`] | a drain line, resolved |
//! | [`lines`] | drain lines, the order in which water passes them |
//! | [`mod@stretches`] | legs of a line that run on into each other |
//! | [`mod@water`] | the storm, the catchments and where their water reaches the runs |

pub mod choices;
pub mod line;
pub mod lines;
pub mod named;
pub mod pours;
mod pricing;
pub mod resolve;
pub mod runs;
pub mod stretches;
pub mod surface;
pub mod water;
pub(crate) mod within;

pub use line::{Degrees, Feed, GroundPoint, Junction, Leg, Line};

use crate::domain::words::{Climate, Crossing, Difficulty, Soil, Task, Weather};
use crate::units::quantity::Span as TimeSpan;
use crate::units::show::Show;
use crate::units::{Grade, Length, Percent};
use crate::wire::Code;
use crate::wire::book::ground::SurfaceKind;
use crate::wire::book::systems::{ChannelSystem, Grate, OutletFitting, SettingDetail, TurnFitting};
use crate::wire::notes::{ConcreteNotes, Extra, HaulNotes, ScheduleNotes, YardOffcut};

/// A resolved layout. Borrows the notes and the book it came from.
#[derive(Debug, Clone)]
pub struct Layout<'a> {
    /// How quantities are shown.
    pub show: Show,
    /// Climate.
    pub climate: Climate,
    /// Soil.
    pub soil: Soil,
    /// Difficulty.
    pub difficulty: Difficulty,
    /// The weather that is expected, when the notes say it.
    pub weather: Option<Weather>,
    /// When the work is done and by whom.
    pub schedule: Option<&'a ScheduleNotes>,
    /// Paid travel of each person on each working day, when the notes set it.
    pub travel: Option<TimeSpan>,
    /// The runs, in the order of the notes.
    pub runs: Vec<Run<'a>>,
    /// The lines, in the order of the notes.
    pub lines: Vec<Line<'a>>,
    /// Indices of `lines`, upstream before downstream.
    pub flow_order: Vec<usize>,
    /// Things added by hand.
    pub extras: &'a [Extra],
    /// Offcuts the crew brings along.
    pub yard_offcuts: &'a [YardOffcut],
    /// The day the orders go out, when the notes name it.
    pub order_on: Option<jiff::civil::Date>,
    /// The day everything must be there, when the notes name it.
    pub needed_by: Option<jiff::civil::Date>,
    /// Most suppliers to buy from, when the notes limit them.
    pub most_suppliers: Option<i64>,
    /// Way to get concrete, when the notes choose one.
    pub concrete_way: Option<&'a Code>,
    /// How the concrete is ordered and poured, when the notes say it.
    pub concrete: Option<&'a ConcreteNotes>,
    /// Where the sale takes place, when the notes say it.
    pub place: Option<&'a Code>,
    /// Where the spoil goes, when the notes say it.
    pub haul: Option<&'a HaulNotes>,
    /// Pour days of each run, then of each line; empty when the notes name none at all.
    pub pour_days: Vec<Vec<i64>>,
    /// Waste of concrete, when the notes set it.
    pub waste: Option<Percent>,
    /// Markup scheme, when the notes choose one.
    pub markup_scheme: Option<&'a Code>,
    /// Methods the notes choose.
    pub methods: Vec<(Task, &'a Code)>,
    /// Visits of the crew.
    pub visits: i64,
    /// The storm and what it brings, when the notes say it.
    pub water: Option<water::Demand<'a>>,
}

impl Layout<'_> {
    /// What lies on top of each run and each leg of a line.
    pub fn tops(&self) -> impl Iterator<Item = Top> {
        let of_lines = self.lines.iter().flat_map(|line| line.legs.iter().map(|leg| leg.top));
        self.runs.iter().map(|run| run.top).chain(of_lines)
    }

    /// Thickness of the thickest slab or pavement that is sawn; zero where none is.
    pub fn thickest_sawn(&self) -> Length {
        self.tops().filter(|top| top.is_sawn()).map(|top| top.thickness).max().unwrap_or_default()
    }
}

/// What lies on top.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Top {
    /// Which surface.
    pub kind: SurfaceKind,
    /// How thick; zero for bare soil.
    pub thickness: Length,
}

impl Top {
    /// Whether it is sawn before it is broken out.
    pub const fn is_sawn(self) -> bool {
        matches!(self.kind, SurfaceKind::ConcreteSlab | SurfaceKind::Asphalt)
    }

    /// Whether it is taken up wider than the surround where an over-cut asks for it: what is sawn, and pavers, which are lifted row by
    /// row and laid again.
    pub const fn takes_over_cut(self) -> bool {
        self.is_sawn() || matches!(self.kind, SurfaceKind::Pavers)
    }

    /// That it is not sawn, in words.
    pub const fn not_sawn(self) -> &'static str {
        match self.kind {
            SurfaceKind::BareSoil => "bare soil is not sawn",
            SurfaceKind::Gravel => "gravel is not sawn",
            SurfaceKind::ConcreteSlab => "the concrete slab is not sawn",
            SurfaceKind::Asphalt => "asphalt is not sawn",
            SurfaceKind::Pavers => "pavers are not sawn",
        }
    }
}

/// One run.
#[derive(Debug, Clone)]
pub struct Run<'a> {
    /// Its name.
    pub id: &'a Code,
    /// Channel system.
    pub system: &'a ChannelSystem,
    /// Setting detail.
    pub detail: &'a SettingDetail,
    /// Grate.
    pub grate: &'a Grate,
    /// What crosses.
    pub crossing: Crossing,
    /// What lies on top.
    pub top: Top,
    /// Over-cut per side; of pavers, what is lifted and laid again beside the surround.
    pub over_cut: Length,
    /// Saw cuts beyond the closed cut.
    pub relief_cuts: Length,
    /// Level of the finished surface.
    pub surface_level: Length,
    /// The legs.
    pub legs: Vec<RunLeg>,
    /// Connected legs: the main chain first, then one for each tee.
    pub chains: Vec<Chain>,
    /// Corner fitting, when there is a corner.
    pub corner: Option<&'a TurnFitting>,
    /// Tee fitting, when there is a tee.
    pub tee: Option<&'a TurnFitting>,
    /// Corners in all.
    pub corners: i64,
    /// Tees in all.
    pub tees: i64,
    /// Open ends closed by a cap.
    pub caps: i64,
    /// Where water leaves.
    pub outlets: Vec<RunOutlet<'a>>,
}

/// A leg with the straight spans of channel that lie in it between fittings.
#[derive(Debug, Clone)]
pub struct RunLeg {
    /// Length along the grate.
    pub length: Length,
    /// Level of the finished surface at its start.
    pub surface: Length,
    /// Fall of the surface towards its end.
    pub fall: Grade,
    /// The tee it starts at, if it starts at one.
    pub tee: Option<TeeAt>,
    /// Spans of channel to be set, with their distance from the start of the leg.
    pub spans: Vec<Span>,
}

impl RunLeg {
    /// What grates cover of it: at a tee from the edge of the channel it meets on, by a channel of that width; nothing of a leg
    /// that is no longer.
    pub fn covered(&self, width: Length) -> Option<Span> {
        let from = if self.tee.is_some() { width.half() } else { Length::ZERO };
        Some(Span { from, length: self.length - from }).filter(|span| span.length.is_positive())
    }
}

/// Where a tee lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TeeAt {
    /// Leg that goes through, counted from 0.
    pub leg: usize,
    /// Distance from the start of that leg.
    pub at: Length,
}

/// A straight stretch of channel between two fittings.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Span {
    /// Distance from the start of the leg.
    pub from: Length,
    /// Length.
    pub length: Length,
}

/// Legs that follow each other round corners.
#[derive(Debug, Clone)]
pub struct Chain {
    /// First leg, counted from 0.
    pub first: usize,
    /// Leg after the last.
    pub end: usize,
    /// Length in all.
    pub length: Length,
    /// Whether it starts at a tee rather than at an open end.
    pub from_tee: bool,
    /// Distances along the chain at which water leaves, in order. Chains that start at a tee drain there, at 0.
    pub outlets: Vec<Length>,
}

/// An outlet of a run.
#[derive(Debug, Clone)]
pub struct RunOutlet<'a> {
    /// Its name.
    pub id: &'a Code,
    /// The fitting.
    pub fitting: &'a OutletFitting,
    /// Whether it goes down through the bottom.
    pub bottom: bool,
    /// Chain it lies on.
    pub chain: usize,
    /// Distance along the chain.
    pub at: Length,
    /// Level of the finished surface over it.
    pub surface: Length,
    /// Level of the outgoing invert.
    pub invert: Length,
}

impl Run<'_> {
    /// Sum of the leg lengths.
    pub fn length(&self) -> Length {
        self.legs.iter().map(|l| l.length).sum()
    }

    /// Channel in plan, which grates and recess strip cover: the leg of a tee begins on the centre line of the other, whose grate
    /// reaches over its half width. Round a corner legs are covered as they are measured: one goes through by half a width that the
    /// other lacks.
    pub fn in_plan(&self) -> Length {
        self.length() - (self.system.section.overall_width * self.tees).half()
    }

    /// Channel to be set, without what fittings use up.
    pub fn net_channel(&self) -> Length {
        self.legs.iter().flat_map(|l| &l.spans).map(|s| s.length).sum()
    }

    /// Hangers: at both ends of each leg and at most `spacing` apart.
    pub fn hangers(&self, spacing: Length) -> i64 {
        self.legs.iter().map(|l| l.length.steps_up(spacing) + 1).sum()
    }

    /// Open ends: two for the main chain, one for each tee.
    pub fn open_ends(&self) -> i64 {
        2 + self.tees
    }

    /// Mean outside height over the run, for its volumes; how high the channel is where, its chains' slopes say. Exact for a constant
    /// height and for a height that varies linearly.
    pub fn mean_height(&self) -> Length {
        let length = self.length();
        if self.system.section.built_in_fall_pct.is_none() || !length.is_positive() {
            return self.system.section.overall_height;
        }
        let profile: i128 = self
            .chains
            .iter()
            .flat_map(Chain::reaches)
            .map(|reach| runs::height::height_profile(&self.system.section, reach.length()).nm2())
            .sum();
        Length::from_nm(crate::units::exact::div_round(profile, i128::from(length.nm())) as i64)
    }

    /// Greatest outside height.
    pub fn greatest_height(&self) -> Length {
        self.chains
            .iter()
            .flat_map(Chain::reaches)
            .map(|reach| runs::height::height_at(&self.system.section, reach.length()))
            .max()
            .unwrap_or(self.system.section.overall_height)
    }
}

impl Chain {
    /// The reaches over which water runs one way: from a closed end to an outlet, or half-way between two outlets; in order along
    /// the chain.
    pub fn reaches(&self) -> Vec<Reach> {
        let (Some(first), Some(last)) = (self.outlets.first(), self.outlets.last()) else {
            return vec![Reach { high: Length::ZERO, outlet: self.length }];
        };
        let mut out = Vec::with_capacity(2 * self.outlets.len());
        out.extend(first.is_positive().then_some(Reach { high: Length::ZERO, outlet: *first }));
        for pair in self.outlets.windows(2) {
            let high = pair[0] + (pair[1] - pair[0]).half();
            out.extend([pair[0], pair[1]].map(|outlet| Reach { high, outlet }));
        }
        out.extend((self.length > *last).then_some(Reach { high: self.length, outlet: *last }));
        out
    }
}

/// A part of a chain over which water runs one way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Reach {
    /// Where it begins, from the start of the chain.
    pub high: Length,
    /// Where it leaves.
    pub outlet: Length,
}

impl Reach {
    /// How far the water runs.
    pub fn length(&self) -> Length {
        (self.outlet - self.high).abs()
    }
}
