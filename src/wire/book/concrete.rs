//! The ways to get concrete.

use crate::units::quantity::{Density, Mass, Span};
use crate::units::{Amount, Factor, Length, Percent, Temperature, Volume};
use crate::wire::{Code, Label, Whole};
use crate::{wire_object, wire_union};

wire_object! {
    /// Waste, cure, and what the concrete is.
    pub struct ConcreteRules {
        /// Added to the net volume. NAVEDTRA 14070 takes 10 %.
        pub waste_pct: Percent,
        /// Days before wheels may cross (UFGS 03301A: 7 for Type I cement).
        pub cure_days_wheels: Whole<0, 60>,
        /// Days before people may cross.
        pub cure_days_feet: Whole<0, 60>,
        /// From batching to the end of discharge.
        pub time_limit: Span,
        /// The same when the concrete is hot; `time_limit` when left out.
        pub time_limit_hot: Option<Span>,
        /// The mix as it is ordered, in words: it stands with the concrete on orders and lines. Bags are bought as they are.
        pub mix: Option<Label>,
        /// Density of fresh concrete, for uplift and haul: with its unit, or the mass of a cubic foot.
        pub weight_per_ft3: Density,
        /// Greatest thickness of patch placed in one lift with the surround.
        pub one_lift: Option<Length>,
        /// Air below this is cold; 40 °F when left out (UFGS 03300N, read).
        pub cold_below: Option<Temperature>,
        /// Concrete above this is hot; 95 °F when left out (from memory).
        pub hot_above: Option<Temperature>,
        /// Evaporation above this, in kg/m² an hour, asks for measures; 1 when left out (UFGS 03300N, read).
        pub evaporation_limit: Option<Factor>,
    }
}

wire_union! {
    /// What a supplier charges for a small order.
    pub enum ShortLoad {
        /// one charge for every load below the size
        Flat as ShortLoadFlat = "flat" {
            /// Loads below this pay it.
            below: Volume,
            /// The charge.
            charge: Amount,
        }
        /// a charge for every unit missing to the size
        PerMissing as ShortLoadPerMissing = "per_missing" {
            /// Loads below this pay it.
            below: Volume,
            /// Charge for each unit of the item's own unit that is missing.
            charge: Amount,
        }
    }
}

wire_union! {
    /// One way to get concrete, with the rules it is ordered by.
    pub enum ConcreteWay {
        /// a truck from the plant
        ReadyMix as ReadyMixWay = "ready_mix" {
            /// The office's own code.
            code: Code,
            /// What it is.
            name: Label,
            /// Item priced per yd3 or m3.
            item: Code,
            /// Orders are whole multiples of this.
            increment: Volume,
            /// Nothing smaller is delivered.
            least_order: Volume,
            /// Charge for small loads.
            short_load: Option<ShortLoad>,
            /// What one truck brings.
            truck_capacity: Volume,
            /// Charge per load.
            delivery_per_load: Option<Amount>,
            /// Unloading that is free, per load.
            free_unloading: Option<Span>,
            /// Charge per hour of waiting beyond it.
            waiting_per_hour: Option<Amount>,
            /// How long this crew takes to place one unit of the item's unit.
            unloading_per_unit: Option<Span>,
            /// Time to batch one load; none when left out.
            batching: Option<Span>,
            /// From the plant to the site, one way; the notes may say another. None when left out.
            travel: Option<Span>,
        }
        /// bags mixed on site
        Bags as BagsWay = "bags" {
            /// The office's own code.
            code: Code,
            /// What it is.
            name: Label,
            /// Item priced per bag.
            item: Code,
            /// Weight of a bag.
            bag_weight: Mass,
            /// Mixed volume of a bag: some 0.15 ft3 for each 20 lb, 0.47 l for each kg, and not more than twice that.
            bag_yield: Volume,
            /// Bags on a pallet.
            bags_per_pallet: Option<Whole<1, 200>>,
            /// Mixing time of one person per bag, for the time limit; what mixing costs is reckoned by the rate of `mix_concrete`.
            mixing_per_bag: Span,
            /// Who mixes.
            trade: Code,
            /// Price of a whole pallet; that of its bags when left out.
            pallet_price: Option<Amount>,
            /// Whether bags are sold by whole pallets only.
            whole_pallets: crate::wire::scalar::Flag,
            /// Delivery of an order.
            delivery: Option<Amount>,
            /// Delivery of each pallet begun.
            delivery_per_pallet: Option<Amount>,
        }
        /// a trailer or small mixer fetched by the crew, or a truck that mixes on site: neither hired nor fetched then
        Trailer as TrailerWay = "trailer" {
            /// The office's own code.
            code: Code,
            /// What it is.
            name: Label,
            /// Item priced per yd3 or m3.
            item: Code,
            /// Filled in whole multiples of this.
            increment: Volume,
            /// What one trip brings.
            capacity: Volume,
            /// Hire per trip.
            hire_per_trip: Amount,
            /// Fetching and returning, per trip.
            trip_time: Span,
            /// Who fetches it.
            trade: Code,
            /// Nothing smaller is filled; any amount when left out.
            least_order: Option<Volume>,
            /// People who fetch it; one when left out.
            people: Option<Whole<1, 10>>,
        }
    }
}

impl ConcreteWay {
    /// The office's code of this way.
    pub fn code(&self) -> &Code {
        match self {
            ConcreteWay::ReadyMix { code, .. }
            | ConcreteWay::Bags { code, .. }
            | ConcreteWay::Trailer { code, .. } => code,
        }
    }

    /// Its name.
    pub fn name(&self) -> &Label {
        match self {
            ConcreteWay::ReadyMix { name, .. }
            | ConcreteWay::Bags { name, .. }
            | ConcreteWay::Trailer { name, .. } => name,
        }
    }

    /// The item it is bought as.
    pub fn item(&self) -> &Code {
        match self {
            ConcreteWay::ReadyMix { item, .. }
            | ConcreteWay::Bags { item, .. }
            | ConcreteWay::Trailer { item, .. } => item,
        }
    }
}
