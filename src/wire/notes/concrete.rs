//! How the concrete of a job is poured: days, the last truck, the weather.

use crate::units::quantity::Span;
use crate::units::{Percent, Speed, Temperature};
use crate::wire::scalar::Flag;
use crate::wire::{List, Whole};
use crate::{wire_enum, wire_object};

wire_enum! {
    /// What is done when the last truck of an order would be short.
    pub enum ShortLastLoad {
        /// it comes as it is, with its charge
        AsIs = "as_is",
        /// a little more is ordered, so that it is no longer short
        OrderMore = "order_more",
        /// full trucks only, and bags for the rest
        Bags = "bags",
        /// whichever of these costs least
        Cheapest = "cheapest",
    }
}

wire_object! {
    /// The weather of a pour day, and the concrete as it arrives.
    pub struct PourWeather {
        /// The pour day; the first when left out.
        pub day: Option<Whole<1, 60>>,
        /// Air temperature while concrete is placed.
        pub air: Temperature,
        /// Lowest air temperature expected until the concrete has set; `air` when left out.
        pub coldest: Option<Temperature>,
        /// Temperature of the concrete.
        pub concrete: Temperature,
        /// Relative humidity, at most 100 %.
        pub humidity_pct: Percent,
        /// Wind over the surface.
        pub wind: Speed,
        /// Whether the sun shines on the fresh surface.
        pub sun: Flag,
    }
    example = serde_json::json!({"air": "85 deg_f", "concrete": "80 deg_f", "humidity_pct": "45", "wind": "12 mi_per_hr"});
}

wire_object! {
    /// How the concrete is ordered and poured, where it differs from the book.
    pub struct ConcreteNotes {
        /// What is done about a short last truck; it comes as it is when left out.
        pub short_last_load: Option<ShortLastLoad>,
        /// From the plant to the site, one way; the book's when left out.
        pub plant_travel: Option<Span>,
        /// Weather by pour day.
        pub weather: List<PourWeather, 0, 60>,
    }
    example = serde_json::json!({"short_last_load": "cheapest", "plant_travel": "25 min"});
}
