//! What the calculators and the estimate answer.

use crate::compute::concrete::ConcreteOrder;
use crate::compute::cut_list::answer::CutListOut;
use crate::compute::drainage::answer::WaterAnswer;
use crate::compute::job_plan::PlanAnswer;
use crate::compute::job_plan::answer::{HoldOut, MachineOut, WishOut};
use crate::compute::labor::LaborHours;
use crate::compute::load_out::LoadOutLine;
use crate::compute::machines::plan::HireOut;
use crate::compute::options::PricedOption;
use crate::compute::pricing::PriceBuildUp;
use crate::compute::purchase::answer::PurchasePlan;
use crate::compute::takeoff::earth::EarthTakeoff;
use crate::compute::takeoff::line::LineTakeoff;
use crate::compute::takeoff::run::RunTakeoff;
use crate::domain::book::BookRef;
use crate::domain::lines::{Caution, Check, CostLine, Outcome, QuantityLine};
use crate::units::{Amount, Currency, Quantity, UnitSystem};
use crate::wire::notes::{Customer, Site};
use serde::Serialize;
use utoipa::ToSchema;

/// Which price book an answer was computed from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct BookUsed {
    /// Id of the version.
    pub version_id: String,
    /// Name of the book.
    pub name: String,
    /// Number of the version within the book.
    pub number: i64,
}

impl From<&BookRef> for BookUsed {
    fn from(book: &BookRef) -> Self {
        let BookRef { version_id, name, number } = book;
        Self { version_id: version_id.clone(), name: name.clone(), number: *number }
    }
}

/// Measured quantities of a layout.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct LayoutQuantities {
    /// Run by run.
    pub runs: Vec<RunTakeoff>,
    /// Line by line.
    pub drain_lines: Vec<LineTakeoff>,
    /// Spoil, rubble and haul.
    pub earth: EarthTakeoff,
    /// What is cut from which stock length, in order, and where each piece goes.
    pub cut_lists: Vec<CutListOut>,
    /// Sums over the layout, by measure.
    pub totals: Vec<QuantityLine>,
}

/// Answer of the layout calculator.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct LayoutAnswer {
    /// Version of the engine.
    pub engine: &'static str,
    /// Price book used.
    pub price_book: BookUsed,
    /// Units of the answer.
    pub unit_system: UnitSystem,
    /// Checks, failed ones first.
    pub checks: Vec<Check>,
    /// Cautions.
    pub cautions: Vec<Caution>,
    /// The quantities.
    pub layout: LayoutQuantities,
    /// Water, when the notes say what storm the drains are made for.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub water: Option<WaterAnswer>,
    /// What to buy, concrete apart.
    pub materials: Vec<CostLine>,
}

/// Answer of the flow check.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct FlowAnswer {
    /// Version of the engine.
    pub engine: &'static str,
    /// Price book used.
    pub price_book: BookUsed,
    /// Units of the answer.
    pub unit_system: UnitSystem,
    /// The worst outcome of all checks.
    pub outcome: Outcome,
    /// Checks, failed ones first.
    pub checks: Vec<Check>,
    /// The water.
    pub water: WaterAnswer,
}

/// Answer of the concrete calculator.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct ConcreteAnswer {
    /// Version of the engine.
    pub engine: &'static str,
    /// Price book used.
    pub price_book: BookUsed,
    /// Units of the answer.
    pub unit_system: UnitSystem,
    /// ISO 4217 code of every amount.
    pub currency: Currency,
    /// How the net volume came about.
    pub net_basis: String,
    /// Checks of the figures of the notes and of the request; absent where there is nothing to look at again. Those of the trucks
    /// and the weather stand with their days.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub checks: Vec<Check>,
    /// The order.
    pub concrete: ConcreteOrder,
    /// Cautions.
    pub cautions: Vec<Caution>,
}

/// Answer of the labor calculator.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct LaborAnswer {
    /// Version of the engine.
    pub engine: &'static str,
    /// Price book used.
    pub price_book: BookUsed,
    /// Units of the answer.
    pub unit_system: UnitSystem,
    /// ISO 4217 code of every amount.
    pub currency: Currency,
    /// Checks, failed ones first.
    pub checks: Vec<Check>,
    /// Cautions.
    pub cautions: Vec<Caution>,
    /// The hours.
    pub labor: LaborHours,
}

/// The figures an office looks at first.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct Summary {
    /// The worst outcome of all checks.
    pub outcome: Outcome,
    /// Checks that failed, in a sentence each.
    pub failed: Vec<String>,
    /// Channel to be set.
    pub channel: Quantity,
    /// Pipe to be laid.
    pub pipe: Quantity,
    /// Concrete to order.
    pub concrete: Quantity,
    /// How the concrete comes.
    pub concrete_way: String,
    /// Hours of the crew.
    pub crew_hours: Quantity,
    /// Hours of people.
    pub person_hours: Quantity,
    /// Direct cost.
    pub direct_cost: Amount,
    /// Price before tax.
    pub price_before_tax: Amount,
    /// Tax on the sale.
    pub tax: Amount,
    /// Price with tax.
    pub total: Amount,
}

/// The plan of an estimate in short; `POST /v1/calculators/plan` gives the whole.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct PlanBrief {
    /// First day of anything in the plan.
    #[schema(format = Date)]
    pub start: String,
    /// Last day of anything in the plan.
    #[schema(format = Date)]
    pub finish: String,
    /// Days on which a crew works.
    pub crew_days: usize,
    /// The finish against the wished one.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub wish: Option<WishOut>,
    /// On which days concrete is placed; empty where none is.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub pours: Vec<PouredOn>,
    /// Stretches for which each machine is on site.
    pub machines: Vec<MachineOut>,
    /// Where the job stops until something has happened.
    pub hold_points: Vec<HoldOut>,
    /// What the reader must know.
    pub cautions: Vec<String>,
}

/// The day on which the concrete of a pour day is placed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct PouredOn {
    /// Number of the pour day, from 1.
    pub day: i64,
    /// The day of the calendar; the first of several.
    #[schema(format = Date)]
    pub on: String,
}

impl PlanBrief {
    /// The plan in short.
    pub fn of(plan: &PlanAnswer, pours: Vec<PouredOn>) -> Self {
        Self {
            pours,
            start: plan.start.clone(),
            finish: plan.finish.clone(),
            crew_days: plan.crew_days,
            wish: plan.wish.clone(),
            machines: plan.machines.clone(),
            hold_points: plan.hold_points.clone(),
            cautions: plan.cautions.clone(),
        }
    }
}

/// A priced estimate with its whole working.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct Estimate {
    /// Version of the engine.
    pub engine: &'static str,
    /// Price book used.
    pub price_book: BookUsed,
    /// What the job is called.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub title: Option<String>,
    /// Who it is for.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub customer: Option<Customer>,
    /// Where it is.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub site: Option<Site>,
    /// Units of the answer.
    pub unit_system: UnitSystem,
    /// ISO 4217 code of every amount.
    pub currency: Currency,
    /// The figures an office looks at first.
    pub summary: Summary,
    /// Checks, failed ones first.
    pub checks: Vec<Check>,
    /// Cautions.
    pub cautions: Vec<Caution>,
    /// Measured quantities.
    pub layout: LayoutQuantities,
    /// Water, when the notes say what storm the drains are made for.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub water: Option<WaterAnswer>,
    /// Concrete: every way compared.
    pub concrete: ConcreteOrder,
    /// Hours by task and trade.
    pub labor: LaborHours,
    /// Machines hired: periods, transport, and what owning would cost.
    pub hires: Vec<HireOut>,
    /// When it is done; only where the notes name a day. Hire, overtime and travel follow it.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub plan: Option<PlanBrief>,
    /// Everything that costs money, by category.
    pub cost_lines: Vec<CostLine>,
    /// Who supplies what; absent where the book has no offers for what is needed.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub purchases: Option<PurchasePlan>,
    /// From cost to price.
    pub price: PriceBuildUp,
    /// Optional lines and alternates, each with its own totals.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub options: Vec<PricedOption>,
    /// What goes on the truck.
    pub load_out: Vec<LoadOutLine>,
    /// What the price does not include.
    pub excluded: Vec<String>,
    /// What others do.
    pub by_others: Vec<String>,
    /// What the customer should read.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub notes_to_customer: Option<String>,
}
