//! Bodies of the calculators: a whole layout, or the few numbers of a one-line call.

use super::notes::{ConcreteNotes, MethodChoice, SiteNotes, Surface};
use crate::domain::words::{Crossing, Difficulty, Measure, Soil, Weather};
use crate::units::quantity::AnyQuantity;
use crate::units::{Length, Percent, UnitSystem, Volume};
use crate::wire::{Code, Label, List, Whole};
use crate::wire_object;

wire_object! {
    /// What to lay out: whole site notes, or one straight run by its length.
    pub struct LayoutRequest {
        /// Price-book version; when left out the current one: of all books the version that holds today, a dated one before an undated
        /// one, the one that began or was published last.
        pub price_book_version: Option<Label>,
        /// Whole site notes. Leave out for the short form.
        pub notes: Option<Box<SiteNotes>>,
        /// Short form: length of one straight run with an outlet at its end.
        pub length: Option<Length>,
        /// Short form: channel system; the first of the book when left out.
        pub channel_system: Option<Code>,
        /// Short form: what crosses; `feet` when left out.
        pub crossing: Option<Crossing>,
        /// Short form: what lies on top; bare soil when left out.
        pub surface: Option<Surface>,
        /// Short form: units of the answer; those of the book when left out.
        pub unit_system: Option<UnitSystem>,
    }
    example = serde_json::json!({"length": "41 ft 6 in"});
}

wire_object! {
    /// A pour given outright.
    pub struct GivenPour {
        /// What is poured.
        pub name: Label,
        /// Net volume.
        pub volume: Volume,
        /// Pour day; the first when left out.
        pub day: Option<Whole<1, 60>>,
    }
    example = serde_json::json!({"name": "north side", "volume": "2.1 yd3", "day": 1});
}

wire_object! {
    /// What concrete to order: for site notes, for pours, for a volume, or for bare dimensions.
    pub struct ConcreteRequest {
        /// Price-book version; when left out the current one: of all books the version that holds today, a dated one before an undated
        /// one, the one that began or was published last.
        pub price_book_version: Option<Label>,
        /// For the surround and patches of these notes.
        pub notes: Option<Box<SiteNotes>>,
        /// For pours, each with its volume and its day.
        pub pours: List<GivenPour, 0, 200>,
        /// For a net volume.
        pub volume: Option<Volume>,
        /// For dimensions: length.
        pub length: Option<Length>,
        /// For dimensions: width.
        pub width: Option<Length>,
        /// For dimensions: depth.
        pub depth: Option<Length>,
        /// Waste; the book's when left out.
        pub waste_pct: Option<Percent>,
        /// Way to get it; the cheapest when left out.
        pub concrete_way: Option<Code>,
        /// The last truck, the plant and the weather; those of the notes when left out.
        pub concrete: Option<ConcreteNotes>,
        /// Tell from which volume on which way is the cheapest, up to this volume, waste included; not told when left out.
        pub break_even_up_to: Option<Volume>,
        /// Units of the answer; those of the book when left out.
        pub unit_system: Option<UnitSystem>,
    }
    example = serde_json::json!({"volume": "2.1 yd3"});
}

wire_object! {
    /// A measured quantity given outright.
    pub struct GivenQuantity {
        /// What is measured.
        pub measure: Measure,
        /// How much, in a unit of its dimension; `each` for pieces.
        pub quantity: AnyQuantity,
    }
}

wire_object! {
    /// What labor to reckon: for site notes, or for quantities given outright.
    pub struct LaborRequest {
        /// Price-book version; when left out the current one: of all books the version that holds today, a dated one before an undated
        /// one, the one that began or was published last.
        pub price_book_version: Option<Label>,
        /// For the work of these notes.
        pub notes: Option<Box<SiteNotes>>,
        /// For these quantities.
        pub quantities: List<GivenQuantity, 0, 100>,
        /// Soil, for given quantities; `common_earth` when left out.
        pub soil: Option<Soil>,
        /// Difficulty, for given quantities; `normal` when left out.
        pub difficulty: Option<Difficulty>,
        /// Weather, for given quantities; no factor when left out.
        pub weather: Option<Weather>,
        /// Depth of dig, for given quantities.
        pub depth: Option<Length>,
        /// Methods, for given quantities.
        pub methods: List<MethodChoice, 0, 30>,
        /// Units of the answer; those of the book when left out.
        pub unit_system: Option<UnitSystem>,
    }
    example = serde_json::json!({"quantities": [{"measure": "run_excavation", "quantity": "3.2 yd3"}], "soil": "clay"});
}

wire_object! {
    /// Runs and lines to check for water.
    pub struct FlowRequest {
        /// Price-book version; when left out the current one: of all books the version that holds today, a dated one before an undated
        /// one, the one that began or was published last.
        pub price_book_version: Option<Label>,
        /// The site notes: runs, drain lines, `storm`, which is needed, `catchments` and `inflows` are read.
        pub notes: SiteNotes,
    }
}

wire_object! {
    /// What to estimate.
    pub struct EstimateRequest {
        /// Price-book version; when left out the current one: of all books the version that holds today, a dated one before an undated
        /// one, the one that began or was published last.
        pub price_book_version: Option<Label>,
        /// The site notes.
        pub notes: SiteNotes,
    }
}
