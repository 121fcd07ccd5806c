//! What the notes say about the price of one job: place, allowances, discounts, options and alternates.

use super::Extra;
use crate::domain::words::Category;
use crate::units::{Amount, Percent};
use crate::wire::scalar::Flag;
use crate::wire::{Code, Label, List};
use crate::{wire_object, wire_union};

wire_object! {
    /// A sum for something that is not known yet.
    pub struct Allowance {
        /// Name of the allowance on this job.
        pub code: Code,
        /// What it is for.
        pub name: Label,
        /// Where it goes in the build-up.
        pub category: Category,
        /// The sum.
        pub amount: Amount,
        /// Whether overhead, contingency and profit come on top; in the price as it stands when left out.
        pub marked_up: Flag,
    }
}

wire_union! {
    /// A discount on the price before tax, taken before the least charge and the rounding of the quoted figure.
    pub enum Discount {
        /// a share of the price so far
        Percent as PercentDiscount = "percent" {
            /// What it is for, as the customer reads it.
            name: Label,
            /// Percentage, at most 100.
            pct: Percent,
            /// Only on this category; on the whole when left out.
            category: Option<Category>,
        }
        /// a sum
        Amount as AmountDiscount = "amount" {
            /// What it is for, as the customer reads it.
            name: Label,
            /// The sum; no more is taken off than there is.
            amount: Amount,
            /// Only on this category; on the whole when left out.
            category: Option<Category>,
        }
    }
}

wire_object! {
    /// Something the customer may add.
    pub struct OptionalLine {
        /// Name of the option on this job.
        pub code: Code,
        /// What it is, as the customer reads it.
        pub name: Label,
        /// What it takes, by items of the price book.
        pub extras: List<Extra, 1, 20>,
    }
}

wire_object! {
    /// Another channel system for a run.
    pub struct SystemChange {
        /// Which run; every one when left out.
        pub run: Option<Code>,
        /// Channel system, by its code in the price book.
        pub channel_system: Code,
        /// Grate; the first of the system that carries the load when left out.
        pub grate: Option<Code>,
    }
}

wire_object! {
    /// Another way to do the same work, priced side by side.
    pub struct Alternate {
        /// Name of the alternate on this job.
        pub code: Code,
        /// What it is, as the customer reads it.
        pub name: Label,
        /// Other channel systems.
        pub systems: List<SystemChange, 0, 20>,
        /// Another way to get concrete.
        pub concrete_way: Option<Code>,
    }
}

wire_object! {
    /// How this job is priced, beyond the markup scheme.
    pub struct PricingNotes {
        /// Where the sale takes place, by the code that taxes of the price book name.
        pub place: Option<Code>,
        /// Sums for what is not known yet.
        pub allowances: List<Allowance, 0, 20>,
        /// Discounts, taken one after the other.
        pub discounts: List<Discount, 0, 10>,
        /// What the customer may add.
        pub optional: List<OptionalLine, 0, 10>,
        /// Other ways to do the work.
        pub alternates: List<Alternate, 0, 5>,
        /// Optional lines, and at most one alternate, that are part of this estimate.
        pub chosen: List<Code, 0, 15>,
    }
}
