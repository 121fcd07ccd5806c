//! What can be wrong with a purchase request, and what would fix it.

use jiff::civil::Date;
use rust_decimal::Decimal;

/// An offer that cannot be used, and why.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("offer `{offer}` of {supplier}: {why}")]
pub struct SetAside {
    /// The offer.
    pub offer: String,
    /// Its supplier.
    pub supplier: String,
    /// The item it offers.
    pub item: String,
    /// Why it is not used.
    pub why: Why,
}

/// Why an offer cannot be used.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Why {
    /// Its validity is over.
    #[error("expired on {valid_until}, the order goes out on {as_of}: ask for a new offer")]
    Expired {
        /// Last day it was valid.
        valid_until: Date,
        /// Day of the order.
        as_of: Date,
    },
    /// It would come too late.
    #[error(
        "delivered after {lead_days} days, on {arrives}, but needed by {needed_by}: order earlier or need it later"
    )]
    TooLate {
        /// Days from order to delivery.
        lead_days: u32,
        /// Day of delivery.
        arrives: Date,
        /// Day it is needed.
        needed_by: Date,
    },
    /// It counts in another unit.
    #[error("sold by `{offered}`, needed by `{needed}`: state the need or the pack in the same unit")]
    Unit {
        /// Unit of the offer.
        offered: String,
        /// Unit of the need.
        needed: String,
    },
}

/// A fault of the request.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum BuyingFault {
    /// Nothing is needed.
    #[error("there is nothing to buy: give at least one need")]
    NoNeeds,
    /// A name is used twice.
    #[error("{kind} `{id}` is given twice: names must differ; add needs of one item together")]
    Twice {
        /// `need`, `supplier` or `offer`.
        kind: &'static str,
        /// The name.
        id: String,
    },
    /// An offer of a supplier that is not listed.
    #[error("offer `{offer}`: supplier `{supplier}` is not listed: add it with its delivery terms")]
    NoSuchSupplier {
        /// The offer.
        offer: String,
        /// The supplier it names.
        supplier: String,
    },
    /// A figure outside what can be computed.
    #[error("{field}: {value} is outside what is allowed: {rule}")]
    Amount {
        /// The field, such as `offers[box].pack`.
        field: String,
        /// The value.
        value: Decimal,
        /// What is allowed.
        rule: &'static str,
    },
    /// Price breaks out of order.
    #[error("offers[{offer}].breaks: {rule}")]
    Breaks {
        /// The offer.
        offer: String,
        /// What is allowed.
        rule: &'static str,
    },
    /// The needed-by day is before the order.
    #[error("needed by {needed_by}, but the order goes out on {as_of}: move one of them")]
    Dates {
        /// Day of the order.
        as_of: Date,
        /// Day of need.
        needed_by: Date,
    },
    /// Nobody offers the item.
    #[error("nobody sells `{item}`: add an offer for it or take it off the list")]
    NobodySells {
        /// The item.
        item: String,
    },
    /// There are offers, but none can be used.
    #[error("no offer for `{item}` can be used: {}", list(offers))]
    NoUsableOffer {
        /// The item.
        item: String,
        /// Every offer of it with its reason.
        offers: Vec<SetAside>,
    },
    /// So few suppliers cannot sell everything.
    #[error("no {most} suppliers together sell everything: allow more, or find another source for {}", hard.join(", "))]
    TooFewSuppliers {
        /// The limit given.
        most: u32,
        /// Items that fewest suppliers sell.
        hard: Vec<String>,
    },
    /// More than can be computed.
    #[error("the request is too large to compute exactly ({what}): split it")]
    TooLarge {
        /// What is too large.
        what: &'static str,
    },
    /// The checker rejected the plan; a defect of this program, never of the request.
    #[error(
        "the plan failed its own check ({first}); this is a defect of the program, please report it with the request"
    )]
    PlanRejected {
        /// First finding of the checker.
        first: String,
    },
}

fn list(offers: &[SetAside]) -> String {
    offers.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ")
}
