//! Soils, existing surfaces, trench rules and haul.

use crate::domain::words::Soil;
use crate::units::quantity::{Density, Mass, Span};
use crate::units::{Distance, Factor, Length, Percent, Speed, Volume};
use crate::wire::{Code, List, Whole};
use crate::{wire_enum, wire_object};

wire_enum! {
    /// What lies on top before the work.
    pub enum SurfaceKind {
        /// bare soil or lawn
        BareSoil = "bare_soil",
        /// loose gravel
        Gravel = "gravel",
        /// concrete slab
        ConcreteSlab = "concrete_slab",
        /// asphalt
        Asphalt = "asphalt",
        /// pavers on a bed
        Pavers = "pavers",
    }
}

wire_object! {
    /// How a soil behaves. US Army FM 5-434 table 1-1 has the usual factors.
    pub struct SoilFacts {
        /// Which soil.
        pub soil: Soil,
        /// Loose volume over bank volume.
        pub bank_to_loose: Factor,
        /// Compacted volume over bank volume.
        pub bank_to_compacted: Factor,
        /// Density in the bank: with its unit, or the mass of a cubic foot.
        pub weight_per_ft3: Density,
    }
}

wire_object! {
    /// What an existing surface weighs, how its rubble bulks, and how it is made good.
    pub struct SurfaceRule {
        /// Which surface.
        pub surface: SurfaceKind,
        /// Density: with its unit, or the mass of a cubic foot.
        pub weight_per_ft3: Density,
        /// Loose rubble over solid volume.
        pub bulking: Factor,
        /// Item that restores it, priced by area, volume or weight; where it is left out nothing is bought, which is warned of
        /// unless the surface is reused.
        pub restore_item: Option<Code>,
        /// Item of the tipping fee, priced by volume (loose), weight or load.
        pub disposal_item: Option<Code>,
        /// Whether what is taken up goes back, as pavers do.
        pub reused: crate::wire::scalar::Flag,
    }
}

wire_object! {
    /// Least fall of pipes up to a bore.
    pub struct FallBand {
        /// Bores up to and including this.
        pub bore_up_to: Length,
        /// Least fall in percent.
        pub least_pct: Percent,
    }
}

wire_object! {
    /// Trench, bedding, fill and fall of drain lines.
    pub struct LineRules {
        /// Fall used where the notes name none and neither a discharge level nor a line that is joined fixes it.
        pub usual_fall_pct: Percent,
        /// Least fall by bore, smallest bore first.
        pub least_falls: List<FallBand, 1, 10>,
        /// Trench width: outside diameter plus this (ASTM D2321-05: 16 in) …
        pub width_plus: Length,
        /// … or this many times the outside diameter (1.25) …
        pub width_times: Factor,
        /// … plus this (12 in), whichever is greater.
        pub width_times_plus: Length,
        /// Bedding below the pipe.
        pub bedding: Length,
        /// Bedding over rock.
        pub bedding_over_rock: Length,
        /// Zone fill above the top of the pipe.
        pub zone_over_pipe: Length,
        /// Item of the bedding, priced by volume or weight.
        pub bedding_item: Code,
        /// Item of the zone fill.
        pub zone_item: Code,
        /// Loose volume to order for one compacted volume of bedding and zone fill.
        pub fill_loose_to_compacted: Factor,
        /// Density of loose bedding, for items priced by weight: with its unit, or the mass of a cubic foot.
        pub fill_weight_per_ft3: Density,
        /// Stations of the dig table.
        pub dig_table_interval: Length,
        /// A clean-out where the line has turned more than this in all, in degrees.
        pub clean_out_turn: Whole<1, 720>,
        /// A clean-out at least every so far.
        pub clean_out_every: Length,
        /// Least cover over the pipe.
        pub least_cover: Length,
    }
}

wire_object! {
    /// Trucks and where the spoil goes.
    pub struct HaulRule {
        /// Loose volume a truck takes.
        pub truck_volume: Volume,
        /// Weight a truck may carry.
        pub truck_payload: Mass,
        /// Item paid per load hauled.
        pub haul_item: Option<Code>,
        /// Item of the tipping fee for soil, priced by volume (loose), weight or load.
        pub soil_disposal_item: Option<Code>,
        /// From the site to the tip by road, one way; the notes may say another. Without it trips have no time.
        pub distance: Option<Distance>,
        /// Mean speed of a truck, there and back.
        pub speed: Option<Speed>,
        /// Time to load a truck; none when left out.
        pub loading: Option<Span>,
        /// Time to tip; none when left out.
        pub tipping: Option<Span>,
        /// Trucks that run at once; one when left out.
        pub trucks: Option<Whole<1, 50>>,
        /// Item paid per hour of truck and driver, priced by time.
        pub truck_hour_item: Option<Code>,
    }
}
