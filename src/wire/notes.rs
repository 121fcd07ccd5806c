//! The site notes: one JSON document that says what a foreman wrote down, without a calculator.

pub mod concrete;
pub mod lines;
pub mod pricing;
pub mod runs;
pub mod work;

use super::water::{Catchment, Inflow, Storm};
use crate::domain::words::{Climate, Difficulty, Soil, Weather};
use crate::units::{Distance, ItemQuantity, Length, Speed, UnitSystem, Volume};
use crate::wire::scalar::Flag;
use crate::wire::{Code, Label, List, Note, Whole};
use crate::wire_object;
pub use concrete::{ConcreteNotes, PourWeather, ShortLastLoad};
pub use lines::{DrainLine, FromOutlet, GroundPoint, LineEnd, LineLeg, Outfall};
pub use pricing::{Allowance, Alternate, Discount, OptionalLine, PricingNotes, SystemChange};
pub use runs::{Leg, LegEnd, Meets, Outlet, Run, Surface};
pub use work::{MethodChoice, Options, PourPlan, ScheduleNotes};

wire_object! {
    /// Who the work is for.
    pub struct Customer {
        /// Name.
        pub name: Label,
        /// Telephone.
        pub phone: Option<Label>,
        /// E-mail.
        pub email: Option<Label>,
        /// Postal address on one line.
        pub address: Option<Label>,
    }
}

wire_object! {
    /// Where the work is.
    pub struct Site {
        /// Address on one line.
        pub address: Label,
        /// Access, gates, parking and the like.
        pub access: Option<Note>,
    }
}

wire_object! {
    /// Where the spoil goes, where it differs from the book.
    pub struct HaulNotes {
        /// Soil kept on site, as a volume in the bank; rubble is always hauled.
        pub spoil_kept: Option<Volume>,
        /// Whether all soil that backfill leaves over is kept on site.
        pub keep_all_spoil: Flag,
        /// From the site to the tip by road, one way.
        pub distance: Option<Distance>,
        /// Mean speed of a truck, there and back.
        pub speed: Option<Speed>,
    }
    example = serde_json::json!({"spoil_kept": "2 yd3", "distance": "6 mi", "speed": "24 mi_per_hr"});
}

wire_object! {
    /// Something of the price book added by hand: a permit, a subcontract, a spare part.
    pub struct Extra {
        /// Item code.
        pub item: Code,
        /// How many of the item's unit.
        pub quantity: ItemQuantity,
        /// Why.
        pub note: Option<Label>,
    }
}

wire_object! {
    /// An offcut that the crew brings along from the yard; it is used before new stock where that is no dearer.
    pub struct YardOffcut {
        /// Item code of the stock length it was cut from.
        pub item: Code,
        /// How long it is.
        pub length: Length,
        /// How many of them; one when left out.
        pub count: Option<Whole<1, 100>>,
    }
}

wire_object! {
    /// The notes of a site walk.
    pub struct SiteNotes {
        /// What the job is called.
        pub title: Option<Label>,
        /// Who it is for.
        pub customer: Option<Customer>,
        /// Where it is.
        pub site: Option<Site>,
        /// Units of the answers; those of the book when left out.
        pub unit_system: Option<UnitSystem>,
        /// `temperate` when left out.
        pub climate: Option<Climate>,
        /// `common_earth` when left out.
        pub soil: Option<Soil>,
        /// `normal` when left out.
        pub difficulty: Option<Difficulty>,
        /// The weather that is expected; no factor when left out.
        pub weather: Option<Weather>,
        /// When the work is done and by whom.
        pub schedule: Option<ScheduleNotes>,
        /// How the concrete is ordered and poured.
        pub concrete: Option<ConcreteNotes>,
        /// Where the spoil goes.
        pub haul: Option<HaulNotes>,
        /// The channels.
        pub runs: List<Run, 1, 100>,
        /// The pipes.
        pub drain_lines: List<DrainLine, 0, 100>,
        /// The storm the drains are made for; without it water is not checked.
        pub storm: Option<Storm>,
        /// What sheds its rain to the runs.
        pub catchments: List<Catchment, 0, 200>,
        /// What flows in by itself.
        pub inflows: List<Inflow, 0, 200>,
        /// Things added by hand.
        pub extras: List<Extra, 0, 100>,
        /// Offcuts the crew brings along.
        pub yard_offcuts: List<YardOffcut, 0, 100>,
        /// What the price does not include.
        pub excluded: List<Label, 0, 50>,
        /// What others do.
        pub by_others: List<Label, 0, 50>,
        /// What the customer should read.
        pub notes_to_customer: Option<Note>,
        /// Where this estimate differs from the book.
        pub options: Option<Options>,
        /// Allowances, discounts, options and alternates, and the place of the sale.
        pub pricing: Option<PricingNotes>,
    }
}
