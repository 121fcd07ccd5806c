//! The price book as one JSON document: everything the office sets, with the usual value of the trade as default.
//!
//! | file | subject |
//! |---|---|
//! | this one | the whole document, items |
//! | [`systems`] | channel systems, grates, setting details, pipes |
//! | [`ground`] | soils, surfaces, line rules, haul |
//! | [`concrete`] | the ways to get concrete |
//! | [`work`] | trades, labor rates, machines, consumables, load-out |
//! | [`cutting`] | settings of the cut lists |
//! | [`supply`] | suppliers and what they offer |
//! | [`planning`] | calendars, crews, machines at hand, waits |
//! | [`pricing`] | markup schemes and taxes |
//! | [`measures`] | whole numbers of a unit that their name does not say |

pub mod concrete;
pub mod cutting;
pub mod ground;
pub mod measures;
pub mod planning;
pub mod pricing;
pub mod supply;
pub mod systems;
pub mod work;

use crate::domain::words::Category;
use crate::units::{Currency, Factor, Price, Unit, UnitSystem};
use crate::wire::{Code, Label, List, Note};
use crate::wire_object;

wire_object! {
    /// A price book: what things cost, how long work takes, and the office's settings.
    ///
    /// A draft may be incomplete; publishing checks it whole and freezes it for ever.
    pub struct BookDoc {
        /// What the office calls the book.
        pub name: Label,
        /// ISO 4217 code of every price in the book.
        pub currency: Currency,
        /// The unit system of jobs that do not name one.
        pub unit_system: UnitSystem,
        /// Remarks for the office.
        pub note: Option<Note>,
        /// Everything that is bought, hired or paid for, by code.
        pub items: List<Item, 0, 5000>,
        /// The channel systems on offer.
        pub channel_systems: List<systems::ChannelSystem, 0, 200>,
        /// The surround each use or class calls for.
        pub setting_details: List<systems::SettingDetail, 0, 100>,
        /// The load class each use calls for.
        pub use_classes: List<systems::UseClass, 0, 10>,
        /// Hangers and how far apart they stand.
        pub hangers: Option<systems::HangerRule>,
        /// Forms.
        pub forms: Option<systems::FormRule>,
        /// Pipes on offer.
        pub pipes: List<systems::Pipe, 0, 200>,
        /// Trench, bedding and fall of drain lines.
        pub line_rules: Option<ground::LineRules>,
        /// Freeboard, clogging, losses and velocities; the usual values when left out.
        pub water_rules: Option<crate::wire::water::WaterRules>,
        /// Soil factors.
        pub soils: List<ground::SoilFacts, 0, 10>,
        /// Existing surfaces: weight, bulking, restoration, disposal.
        pub surfaces: List<ground::SurfaceRule, 0, 10>,
        /// Over-cut of a slab or asphalt per side when the notes name none; nothing when left out.
        pub over_cut: Option<crate::units::Length>,
        /// Trucks and disposal.
        pub haul: Option<ground::HaulRule>,
        /// The ways to get concrete, in the office's order of preference.
        pub concrete_ways: List<concrete::ConcreteWay, 0, 20>,
        /// Waste, cure and mix.
        pub concrete_rules: Option<concrete::ConcreteRules>,
        /// Cement, sealant, tape, wire, blades and the like, by coverage.
        pub consumables: List<work::Consumable, 0, 100>,
        /// How stock lengths are cut.
        pub cutting: Option<cutting::CuttingRules>,
        /// Who sells what is bought. Without suppliers every item is bought at its own price.
        pub suppliers: List<supply::Supplier, 0, 50>,
        /// What they offer.
        pub offers: List<supply::SupplierOffer, 0, 5000>,
        /// Trades with wage and burden.
        pub trades: List<work::Trade, 0, 50>,
        /// Labor rates by task and method.
        pub labor: List<work::LaborRate, 0, 300>,
        /// Day length, factors and rounding of hours.
        pub labor_rules: Option<work::LaborRules>,
        /// Calendars, crews, machines and waits of plans.
        pub plan_rules: Option<planning::PlanRules>,
        /// Machines and gear for hire.
        pub equipment: List<work::Equipment, 0, 100>,
        /// Tools the crew puts on the truck.
        pub load_out: List<work::LoadOutRule, 0, 200>,
        /// How cost becomes price; the first is the default.
        pub markup_schemes: List<pricing::MarkupScheme, 0, 20>,
        /// Sales taxes.
        pub taxes: List<pricing::Tax, 0, 10>,
    }
}

wire_object! {
    /// Something that is bought, hired or paid for.
    pub struct Item {
        /// The office's own code.
        pub code: Code,
        /// What it is.
        pub name: Label,
        /// Where its cost goes in the build-up.
        pub category: Category,
        /// The unit it is priced in.
        pub unit: Unit,
        /// Price per unit, before tax. Where suppliers offer the item, it is bought by their offers.
        pub price: Price,
        /// Orders are whole multiples of this many units; `"1"` when left out. `"0"` sells any amount. An offer that names no pack
        /// sells such multiples as well.
        pub increment: Option<Factor>,
        /// Who usually supplies it.
        pub supplier: Option<Label>,
    }
}
