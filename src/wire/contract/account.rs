//! The lines of a contract and what has been billed of them.

use super::facts::{TaxRule, TaxSum};
use super::terms::StageKind;
use crate::domain::words::Category;
use crate::units::{Currency, Percent};
use crate::wire::contract::terms::Retainage;
use crate::wire::contract::{Number, Signed};
use crate::wire::scalar::Flag;
use crate::wire::{Code, Label, List, Whole};
use crate::wire_object;

wire_object! {
    /// A line of a contract.
    pub struct ContractLine {
        /// Code, unique in the contract.
        pub code: Code,
        /// What the customer reads.
        pub description: Label,
        /// Category, which decides the taxes on it.
        pub category: Category,
        /// Price before tax.
        pub price: Signed,
        /// What it is expected to cost the office.
        pub cost: Signed,
    }
}

wire_object! {
    /// A part of a contract: the quote, an addition taken, a change order accepted.
    pub struct Component {
        /// Code: `quote`, `add-…` or `co-…`.
        pub code: Code,
        /// Number of the paper it stands on.
        pub paper: Label,
        /// What it is.
        pub name: Label,
        /// Its lines.
        pub lines: List<ContractLine, 0, 200>,
        /// Its taxes, by tax.
        pub taxes: List<TaxSum, 0, 20>,
        /// Hours of the crew it adds.
        pub crew_hours: Number,
        /// Estimate revision the contract stands on from here, when it changes.
        pub estimate_id: Option<Label>,
    }
}

wire_object! {
    /// What is billed of a line.
    pub struct BilledLine {
        /// Code of the line.
        pub line: Code,
        /// Amount before tax.
        pub amount: Signed,
    }
}

wire_object! {
    /// What an invoice or a credit note does to the account; a credit note has the other sign.
    pub struct Effect {
        /// Before tax, by line.
        pub lines: List<BilledLine, 0, 1000>,
        /// Taxes.
        pub taxes: List<TaxSum, 0, 20>,
        /// Retainage held.
        pub retained: Signed,
        /// Retainage of an invoice by the terms, where that is not what it holds: it came after one of what was taken out, or takes
        /// out more than was billed. Older papers do not tell.
        pub by_terms: Option<Signed>,
        /// Retainage released.
        pub released: Signed,
        /// Asked for now.
        pub payable: Signed,
        /// Stage of the payment schedule billed.
        pub stage: Option<Code>,
    }
}

wire_object! {
    /// A line with what has been billed of it.
    pub struct LinePosition {
        /// The component it belongs to.
        pub component: Code,
        /// The line.
        pub line: ContractLine,
        /// Billed to date, before tax.
        pub billed: Signed,
    }
}

wire_object! {
    /// A tax with what has been billed of it.
    pub struct TaxPosition {
        /// The rule.
        pub rule: TaxRule,
        /// In the contract.
        pub contract: Signed,
        /// Billed to date.
        pub billed: Signed,
    }
}

wire_object! {
    /// A stage of the payment schedule with its amount.
    pub struct StagePosition {
        /// Code.
        pub code: Code,
        /// What it is due for.
        pub name: Label,
        /// When it falls due.
        pub due: StageKind,
        /// Share of the accepted quote.
        pub pct: Percent,
        /// Amount before tax; the stages foot.
        pub amount: Signed,
        /// Whether it has been billed.
        pub billed: Flag,
    }
}

wire_object! {
    /// A contract and what has been billed of it: what an invoice is computed from.
    pub struct Account {
        /// Currency of every amount.
        pub currency: Currency,
        /// Number of the accepted quote.
        pub quote: Label,
        /// Lines of all components, in order.
        pub lines: List<LinePosition, 0, 10000>,
        /// Taxes.
        pub taxes: List<TaxPosition, 0, 20>,
        /// The payment schedule.
        pub stages: List<StagePosition, 0, 20>,
        /// Retainage, held on every invoice but a deposit and the final one.
        pub retainage: Option<Retainage>,
        /// Retainage held and not released.
        pub retained: Signed,
        /// Asked for to date: invoices less credit notes, without what is held.
        pub invoiced: Signed,
        /// Days from invoice to due date.
        pub due_days: Whole<0, 365>,
    }
}
