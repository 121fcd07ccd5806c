//! What can be wrong with a cut-list request, and what would fix it.

use crate::compute::exact::Nm;
use rust_decimal::Decimal;

/// A fault of the request. Lengths are given in metres.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum CuttingFault {
    /// No leg was given.
    #[error("there is nothing to cut: give at least one leg")]
    NoLegs,
    /// No stock was given, or none that can be used.
    #[error(
        "there is no usable stock length: give at least one that is longer than the least piece and not longer than the longest setting"
    )]
    NoStock,
    /// A name is used twice.
    #[error("{kind} `{id}` is given twice: names must differ, or give a quantity instead")]
    Twice {
        /// `leg` or `stock`.
        kind: &'static str,
        /// The repeated name.
        id: String,
    },
    /// A length outside what can be computed.
    #[error("{field}: {} m is outside what is allowed: {rule}", value.metres())]
    Length {
        /// The field, such as `legs[north].length`.
        field: String,
        /// The value given.
        value: Nm,
        /// What is allowed.
        rule: &'static str,
    },
    /// An amount of money or minutes outside what can be computed.
    #[error("{field}: {value} is outside what is allowed: {rule}")]
    Amount {
        /// The field, such as `stock[metre].price`.
        field: String,
        /// The value given.
        value: Decimal,
        /// What is allowed.
        rule: &'static str,
    },
    /// The least piece is longer than a leg.
    #[error("leg `{leg}` is {} m, shorter than the least piece of {} m: allow a shorter least piece, or let a fitting take up the leg", length.metres(), least.metres())]
    LeastPieceLongerThanLeg {
        /// The leg.
        leg: String,
        /// Its length.
        length: Nm,
        /// The least piece asked for.
        least: Nm,
    },
    /// A leg that is no longer than the lap of its pieces.
    #[error("leg `{leg}` is {} m, no longer than the lap of {} m, so that its pieces cannot lap: cut such legs from one piece each, in a list without a lap", length.metres(), lap.metres())]
    ShorterThanLap {
        /// The leg.
        leg: String,
        /// Its length.
        length: Nm,
        /// The lap.
        lap: Nm,
    },
    /// No number of pieces can make the leg.
    #[error("leg `{leg}` of {} m cannot be made: it takes at least {fewest} pieces of the longest stock ({} m), but at most {most} are allowed by the least piece and the joints: {fix}", length.metres(), longest.metres())]
    LegImpossible {
        /// The leg.
        leg: String,
        /// Its length.
        length: Nm,
        /// The longest usable stock.
        longest: Nm,
        /// Fewest pieces it takes.
        fewest: i64,
        /// Most pieces allowed.
        most: i64,
        /// What would fix it.
        fix: &'static str,
    },
    /// The limited stock does not reach, or no plan was found within it.
    #[error("the stock on hand does not cover the legs: {} m are needed, {} m are available, and no plan was found within the quantities given: allow more of a stock length or add one without a limit", needed.metres(), available.metres())]
    StockRunsOut {
        /// Length the legs need.
        needed: Nm,
        /// Length there is.
        available: Nm,
    },
    /// More pieces or more money than can be computed exactly.
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
