//! What the water stage answers.

use crate::domain::lines::Outcome;
use crate::units::{BareNumber, Quantity};
use crate::wire_enum;
use serde::Serialize;
use utoipa::ToSchema;

wire_enum! {
    /// What holds water back over a grate.
    pub enum GrateControl {
        /// it falls in over the edges
        Weir = "weir",
        /// it stands deep, and the openings let through so much
        Orifice = "orifice",
    }
}

wire_enum! {
    /// How the longest run that fits is to a length.
    pub enum LengthRelation {
        /// it is that long
        JustFits = "just_fits",
        /// longer: the longest that was tried still fits
        MoreThan = "more_than",
        /// shorter: the shortest that was tried does not fit
        LessThan = "less_than",
    }
}

/// Water through the whole layout.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct WaterAnswer {
    /// Return period of the storm in years, when there is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub return_period_years: Option<i64>,
    /// Where the rain comes from.
    pub rain: String,
    /// Flow of each catchment.
    pub catchments: Vec<CatchmentFlow>,
    /// Water along each run.
    pub runs: Vec<RunWater>,
    /// Water in each drain line.
    pub drain_lines: Vec<LineWater>,
    /// What was chosen because the notes left it open.
    pub chosen: Vec<Chosen>,
    /// For runs and lines that fail with what the notes name: what would do, all of the price book considered; where
    /// nothing does, the last one tried, and `because` says so.
    pub suggested: Vec<Chosen>,
    /// What to mind when reading this.
    pub caution: &'static str,
}

/// How much water a catchment sends.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct CatchmentFlow {
    /// Name of the catchment.
    pub catchment: String,
    /// Area in plan.
    pub area: Quantity,
    /// Composite runoff coefficient, frequency factor included, at most 1.
    pub coefficient: String,
    /// Time of concentration, the least one included.
    pub concentration: Quantity,
    /// Rain intensity at that duration.
    pub intensity: Quantity,
    /// Peak flow.
    pub flow: Quantity,
    /// Rule it follows; `GET /v1/rules` lists them all. Absent in estimates of old.
    #[schema(required = false)]
    pub rule: &'static str,
    /// The working.
    pub basis: String,
    /// Where a formula is used outside its range.
    pub warnings: Vec<WaterWarning>,
}

/// Something to read a result with.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct WaterWarning {
    /// Stable name, for a program to branch on.
    pub kind: &'static str,
    /// In words.
    pub text: String,
}

/// A value and where it is found.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
pub struct AtStation {
    /// Distance from the start of the chain of legs.
    pub station: Quantity,
    /// The value.
    pub value: Quantity,
}

/// Water along one run.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct RunWater {
    /// Name of the run.
    pub run: String,
    /// Channel system.
    pub channel_system: String,
    /// The worst outcome.
    pub outcome: Outcome,
    /// The grate.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub grate: Option<GrateWater>,
    /// Chains of legs: the main one first, then one for each tee.
    pub chains: Vec<ChainWater>,
}

/// What the grate must take and can take.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct GrateWater {
    /// Most flow that arrives per length of grate.
    pub arriving: Quantity,
    /// Depth of water over the grate that it needs to take it, clogged as the rules say.
    pub ponding: Quantity,
    /// What holds the water back.
    pub control: GrateControl,
    /// Rule it follows; `GET /v1/rules` lists them all. Absent in estimates of old.
    #[schema(required = false)]
    pub rule: &'static str,
    /// The working.
    pub basis: String,
}

/// Water along legs that follow each other round corners.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct ChainWater {
    /// First leg, the first being 1.
    pub first_leg: usize,
    /// Last leg.
    pub last_leg: usize,
    /// Inflow in all, tees included.
    pub inflow: Quantity,
    /// Why there is no result, when there is none.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub refused: Option<String>,
    /// The water surface.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub surface: Option<WaterSurface>,
}

/// The water surface along a chain.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct WaterSurface {
    /// Greatest depth.
    pub greatest_depth: AtStation,
    /// Least room under the grate; negative where water stands above its underside.
    pub least_freeboard: AtStation,
    /// Greatest velocity.
    pub greatest_velocity: AtStation,
    /// Where water stands above the underside of the grate.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub overtops: Option<Overtops>,
    /// Design flow over the most flow that keeps the freeboard.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub share_of_capacity: Option<Quantity>,
    /// Most flow that keeps the freeboard, all inflow grown alike, the water behind the outlets as it stands in this storm.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub most_flow: Option<Quantity>,
    /// Longest run that keeps the freeboard, stretched alike.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub longest: Option<Longest>,
    /// Outlets.
    pub outlets: Vec<OutletWater>,
    /// Where the water parts to two outlets.
    pub divides: Vec<AtStation>,
    /// Sections inside the run that control the depth, with their critical depth.
    pub controls: Vec<AtStation>,
    /// Hydraulic jumps, with the depth after them.
    pub jumps: Vec<AtStation>,
    /// The profile, fine enough to draw.
    pub profile: ProfileTable,
    /// What to read it with.
    pub warnings: Vec<WaterWarning>,
    /// Rule it follows; `GET /v1/rules` lists them all. Absent in estimates of old.
    #[schema(required = false)]
    pub rule: &'static str,
    /// The working.
    pub basis: String,
}

/// Where and how much a run overtops.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
pub struct Overtops {
    /// First station.
    pub from: Quantity,
    /// Last station.
    pub to: Quantity,
    /// Station of the worst.
    pub worst: Quantity,
    /// By how much there.
    pub by: Quantity,
}

/// How long a run may be.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
pub struct Longest {
    /// How the longest run is to this length.
    pub relation: LengthRelation,
    /// The length.
    pub length: Quantity,
}

/// Water at an outlet.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct OutletWater {
    /// Name of the outlet; `tee` where a chain flows into another at a tee.
    pub outlet: String,
    /// Station along the chain.
    pub station: Quantity,
    /// Flow through it.
    pub flow: Quantity,
    /// Flow that passes it because it is too small.
    pub passed_on: Quantity,
    /// Depth that its opening and what stands behind it ask for.
    pub depth_needed: Quantity,
    /// Level of the water that backs up from the pipe, above the channel's bottom; none for a free outlet.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub backed_up: Option<Quantity>,
    /// Rule it follows; `GET /v1/rules` lists them all. Absent in estimates of old.
    #[schema(required = false)]
    pub rule: &'static str,
}

/// A table of numbers, one row per station.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct ProfileTable {
    /// What the columns hold, each with its unit: `station`, `bed` (above the bottom at the start), `depth`, `channel_depth`
    /// (bottom to the underside of the grate), `flow` and `velocity` (positive towards the finish).
    pub columns: Vec<ProfileColumn>,
    /// A row for each station from start to finish; two with one station at a jump or where water joins, three where it parts as well.
    #[schema(value_type = Vec<Vec<String>>)]
    pub rows: Vec<[BareNumber; 6]>,
}

/// A column of a profile.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
pub struct ProfileColumn {
    /// What it holds.
    pub name: &'static str,
    /// Its unit.
    pub unit: crate::units::Unit,
}

/// Water in one drain line.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct LineWater {
    /// Name of the line.
    pub line: String,
    /// Pipe.
    pub pipe: String,
    /// The worst outcome.
    pub outcome: Outcome,
    /// Why there is no result, when there is none.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub refused: Option<String>,
    /// Stretches between bends, entries and joins, from the upper end down.
    pub stretches: Vec<PipeWater>,
}

/// Water in a stretch of pipe.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct PipeWater {
    /// Start, from the upper end of the line.
    pub from: Quantity,
    /// End.
    pub to: Quantity,
    /// Flow, with everything from above.
    pub flow: Quantity,
    /// Flow of the full bore.
    pub full_flow: Quantity,
    /// Depth; the bore where it runs full.
    pub depth: Quantity,
    /// Whether it runs full.
    pub runs_full: bool,
    /// Velocity.
    pub velocity: Quantity,
    /// Fall there is.
    pub fall: Quantity,
    /// Fall that the full bore needs for the flow.
    pub fall_needed: Quantity,
    /// Level to which water would stand at the upper end.
    pub grade_upper: Quantity,
    /// The same at the lower end.
    pub grade_lower: Quantity,
    /// Least cover over the pipe, where ground levels are known.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub least_cover: Option<Quantity>,
    /// What to read it with.
    pub warnings: Vec<WaterWarning>,
    /// Rule it follows; `GET /v1/rules` lists them all. Absent in estimates of old.
    #[schema(required = false)]
    pub rule: &'static str,
    /// The working.
    pub basis: String,
}

/// A system or pipe chosen.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct Chosen {
    /// `run` or `line`, with its name.
    pub subject: String,
    /// Code of what was chosen.
    pub code: String,
    /// Why this one.
    pub because: String,
    /// Candidates passed over, each with its reasons.
    pub passed_over: Vec<PassedOver>,
}

/// A candidate that does not do.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct PassedOver {
    /// Its code.
    pub code: String,
    /// Why it does not do.
    pub reasons: Vec<String>,
}
