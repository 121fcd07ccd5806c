//! Bodies of the order calculators: cut list, purchase plan, hire plan; from bare numbers or for whole site notes.

use super::book::supply::{Supplier, SupplierOffer};
use super::book::work::OwnTerms;
use super::notes::SiteNotes;
use crate::units::{Amount, ItemQuantity, Length, Price, Unit, UnitSystem};
use crate::wire::day::Day;
use crate::wire::scalar::Flag;
use crate::wire::{Code, Label, List, Whole};
use crate::wire_object;

wire_object! {
    /// A leg to be covered from end to end.
    pub struct CutLegIn {
        /// Name of the leg; the cutting sheet uses it. Names differ.
        pub id: Label,
        /// Length to cover.
        pub length: Length,
    }
}

wire_object! {
    /// A stock length on offer, or an offcut at hand.
    pub struct CutStockIn {
        /// Name or code. Names differ.
        pub id: Label,
        /// Its whole length.
        pub length: Length,
        /// Price of one; nothing when left out.
        pub price: Option<Price>,
        /// How many there are; any number when left out.
        pub available: Option<Whole<0, 100000>>,
        /// Whether it is an offcut from the yard: used first where that is no dearer.
        pub yard: Flag,
    }
}

wire_object! {
    /// What to cut: the channel, grates, pipe, boards and bars of site notes, or legs from stock lengths given outright.
    pub struct CutListRequest {
        /// Price-book version; when left out the current one: of all books the version that holds today, a dated one before an undated
        /// one, the one that began or was published last.
        pub price_book_version: Option<Label>,
        /// For everything that these notes cut. Leave out for legs and stock.
        pub notes: Option<Box<SiteNotes>>,
        /// Legs to be covered.
        pub legs: List<CutLegIn, 0, 500>,
        /// What they are covered from; with `channel_system`, its stock when left out.
        pub stock: List<CutStockIn, 0, 100>,
        /// Takes stock lengths, prices, kerf and least piece from this channel system of the price book.
        pub channel_system: Option<Code>,
        /// Width of a saw cut.
        pub kerf: Option<Length>,
        /// Gap between pieces laid end to end, as between grates.
        pub gap: Option<Length>,
        /// Lap of pieces, as of bars; instead of a gap.
        pub lap: Option<Length>,
        /// Shortest piece that may be made.
        pub least_piece: Option<Length>,
        /// Longest assembled piece that is lifted at once; no single piece is longer, and stock that is longer is not used, not
        /// even sawn.
        pub longest_setting: Option<Length>,
        /// Most joints in one leg.
        pub most_joints: Option<Whole<0, 10000>>,
        /// What one joint costs, parts and minutes together.
        pub joint_cost: Option<Price>,
        /// What one cut costs.
        pub cut_cost: Option<Price>,
        /// Offcuts at least this long are listed; all of the least piece and more when left out.
        pub keep_offcut: Option<Length>,
        /// Search steps; 20000 for each leg when left out, at least 400000 and at most 2000000.
        pub most_nodes: Option<Whole<1000, 20000000>>,
        /// Units of the answer; those of the book when left out.
        pub unit_system: Option<UnitSystem>,
    }
    example = serde_json::json!({
        "legs": [{"id": "north", "length": "1.5 m"}, {"id": "south", "length": "1.5 m"}],
        "stock": [{"id": "metre", "length": "1 m", "price": "60.00"}],
        "kerf": "3 mm"
    });
}

wire_object! {
    /// So much of one item.
    pub struct NeedIn {
        /// The item, by its code.
        pub item: Code,
        /// How much, in its unit.
        pub quantity: ItemQuantity,
        /// The unit; that of the price book's item, or `each`, when left out.
        pub unit: Option<Unit>,
    }
}

wire_object! {
    /// What to buy: everything that site notes need, or needs given outright; by the offers of the price book, or by
    /// suppliers and offers given outright.
    pub struct PurchaseRequest {
        /// Price-book version; when left out the current one: of all books the version that holds today, a dated one before an undated
        /// one, the one that began or was published last.
        pub price_book_version: Option<Label>,
        /// For what these notes need. Leave out for needs given outright.
        pub notes: Option<Box<SiteNotes>>,
        /// What is needed; an item stands once.
        pub needs: List<NeedIn, 0, 500>,
        /// Suppliers; those of the book when left out. They go with `offers`.
        pub suppliers: List<Supplier, 0, 50>,
        /// Offers; those of the book when left out. They go with `suppliers`.
        pub offers: List<SupplierOffer, 0, 5000>,
        /// The day the orders go out; without it neither validity nor lead time is checked.
        pub order_on: Option<Day>,
        /// The day everything must be there; 30 days after `order_on` when left out.
        pub needed_by: Option<Day>,
        /// Buy from at most so many suppliers.
        pub most_suppliers: Option<Whole<1, 50>>,
    }
    example = serde_json::json!({"needs": [{"item": "grate-screw", "quantity": "130"}]});
}

wire_object! {
    /// What a hire yard charges; leave out what it does not offer.
    pub struct HireRatesIn {
        /// Half a day.
        pub half_day: Option<Amount>,
        /// A day.
        pub day: Option<Amount>,
        /// A week.
        pub week: Option<Amount>,
        /// Four weeks.
        pub four_weeks: Option<Amount>,
        /// Days on site that a week covers; 7 when left out, 5 where the yard counts working days.
        pub days_per_week: Option<Whole<1, 7>>,
        /// Days on site that four weeks cover; 28 when left out.
        pub days_per_four_weeks: Option<Whole<1, 28>>,
    }
}

wire_object! {
    /// Days on site without a break.
    pub struct StretchIn {
        /// First day, the first of the job being 0.
        pub first: Whole<0, 7000>,
        /// Last day.
        pub last: Whole<0, 7000>,
    }
}

wire_object! {
    /// What to hire: the machines that site notes call for, or one machine for half days or stretches given outright.
    pub struct HireRequest {
        /// Price-book version; when left out the current one: of all books the version that holds today, a dated one before an undated
        /// one, the one that began or was published last.
        pub price_book_version: Option<Label>,
        /// For the machines of these notes. Leave out for one machine.
        pub notes: Option<Box<SiteNotes>>,
        /// A machine of the price book, by its code; its rates hold.
        pub machine: Option<Code>,
        /// Rates given outright, instead of a machine.
        pub rates: Option<HireRatesIn>,
        /// Half days on site in one stay.
        pub half_days: Option<Whole<1, 14600>>,
        /// Days on site in several stretches, in order.
        pub stretches: List<StretchIn, 0, 200>,
        /// Delivery and collection for one stay; that of the machine when left out.
        pub transport: Option<Amount>,
        /// What owning it would cost; that of the machine when left out.
        pub own: Option<OwnTerms>,
    }
    example = serde_json::json!({"rates": {"day": "100.00", "week": "300.00", "four_weeks": "800.00"}, "half_days": 18});
}
