//! Who sells what, in which packs, on which terms.

use crate::units::{Amount, ItemQuantity, Price, Unit};
use crate::wire::day::Day;
use crate::wire::{Code, Label, List, Whole};
use crate::wire_object;

wire_object! {
    /// A supplier and its delivery terms.
    pub struct Supplier {
        /// The office's own code.
        pub code: Code,
        /// Its name, as it stands on purchase orders.
        pub name: Label,
        /// Where orders go, on one line.
        pub contact: Option<Label>,
        /// Its postal address on one line, as it stands on orders handed to other programs.
        pub address: Option<Label>,
        /// Its country, two letters (ISO 3166-1); that of the office when left out.
        pub country: Option<Label>,
        /// Number under which it collects tax.
        pub tax_number: Option<Label>,
        /// Charge for delivering one order; none when left out.
        pub delivery: Option<Amount>,
        /// Delivery is free when the goods of an order reach this; never when left out.
        pub free_delivery_from: Option<Amount>,
    }
}

wire_object! {
    /// A lower price from so many packs on.
    pub struct PriceBreak {
        /// Fewest packs the price holds for.
        pub packs: Whole<2, 1000000>,
        /// Price of one pack.
        pub price: Price,
    }
}

wire_object! {
    /// What one supplier asks for one item, in packs.
    pub struct SupplierOffer {
        /// The supplier, by its code.
        pub supplier: Code,
        /// The item, by its code.
        pub item: Code,
        /// The supplier's own order code, as it stands on purchase orders; unique at the supplier.
        pub order_code: Label,
        /// How many of the item's unit are in one pack. When left out, the item is sold by its increment, and price, breaks and
        /// least order count units of it.
        pub pack: Option<ItemQuantity>,
        /// The unit the pack is counted in; must be the item's own. That of the item when left out.
        pub unit: Option<Unit>,
        /// Price of one pack, before tax, of one unit where no pack is named; the item's own price for as much when left out.
        pub price: Option<Price>,
        /// Lower prices for more packs, or units where no pack is named, by rising number of them.
        pub breaks: List<PriceBreak, 0, 20>,
        /// Fewest packs sold, or units where no pack is named; as few as are needed when left out.
        pub least_packs: Option<Whole<1, 1000000>>,
        /// Calendar days from order to delivery; 0 when left out.
        pub lead_days: Option<Whole<0, 730>>,
        /// Last day the offer holds; open when left out.
        pub valid_until: Option<Day>,
    }
}
