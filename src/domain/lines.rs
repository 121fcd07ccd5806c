//! What an answer says about one thing: a line with its rule and basis, a check, a caution.

use crate::domain::words::Category;
use crate::units::money::Amount;
use crate::units::{Price, Quantity};
use crate::wire_enum;
use serde::Serialize;
use std::borrow::Cow;
use utoipa::ToSchema;

/// One line of an estimate: a quantity of something, what it costs, and how the quantity came about.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct CostLine {
    /// Item, trade, task or machine code.
    pub code: String,
    /// What it is.
    pub description: String,
    /// Category of the build-up.
    pub category: Category,
    /// Quantity ordered, worked or hired.
    pub quantity: Quantity,
    /// Price of one unit.
    pub unit_price: Price,
    /// Cost, rounded once, half away from zero.
    pub cost: Amount,
    /// Rule the quantity follows; `GET /v1/rules` lists them all.
    pub rule: &'static str,
    /// The numbers it came from, so that it can be checked on paper.
    pub basis: String,
}

/// One measured quantity of the layout.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct QuantityLine {
    /// Stable name of the quantity.
    pub name: Cow<'static, str>,
    /// The quantity.
    pub quantity: Quantity,
    /// Rule it follows; `GET /v1/rules` lists them all.
    pub rule: &'static str,
    /// The numbers it came from.
    pub basis: Cow<'static, str>,
}

wire_enum! {
    /// How a check came out.
    pub enum Outcome {
        /// it holds
        Pass = "pass",
        /// it holds, but look at it
        Warn = "warn",
        /// it does not hold
        Fail = "fail",
    }
}

/// A check of the layout against a rule.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct Check {
    /// Stable name of the check; `GET /v1/rules` says what it holds against what.
    pub name: &'static str,
    /// What it is about: a run, a line, a task.
    pub subject: String,
    /// How it came out.
    pub outcome: Outcome,
    /// The numbers and the reason.
    pub reason: String,
}

/// A caution raised by a quantity that causes it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct Caution {
    /// Stable name, for a program to branch on.
    pub name: &'static str,
    /// What raised it.
    pub raised_by: String,
    /// What to mind. Local codes, the permitting authority and licensed practice go before it.
    pub text: String,
    /// Where the rule is written.
    pub source: &'static str,
}
