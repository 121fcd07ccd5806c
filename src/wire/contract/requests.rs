//! What may be done with papers.

use super::facts::Measured;
use crate::domain::words::Category;
use crate::units::{Amount, Percent};
use crate::wire::contract::{Number, Signed};
use crate::wire::day::Day;
use crate::wire::scalar::{Flag, Reference, Reporter};
use crate::wire::{Code, Label, List, Note};
use crate::{wire_object, wire_union};

wire_object! {
    /// A paper goes out.
    pub struct IssueIn {
        /// Date on the paper.
        pub on: Day,
        /// Issue it although checks of what it offers failed. Without it such a paper is refused, with those checks named.
        pub failed_checks: Flag,
    }
}

wire_object! {
    /// The customer says yes.
    pub struct AcceptIn {
        /// Who accepted.
        pub by: Label,
        /// When.
        pub on: Day,
        /// The alternate taken instead; the quoted estimate when left out.
        pub alternate: Option<Code>,
        /// What is taken on top, by code; not what the alternate taken has in its price.
        pub additions: List<Code, 0, 50>,
    }
}

wire_object! {
    /// A paper comes to its end some other way.
    pub struct CloseIn {
        /// When.
        pub on: Day,
        /// Who said so.
        pub by: Option<Label>,
        /// Why.
        pub reason: Option<Note>,
    }
}

wire_object! {
    /// A new draft takes the place of a quote.
    pub struct SupersedeIn {
        /// When.
        pub on: Day,
        /// Estimate of the new draft; the same when left out.
        pub estimate_id: Option<Label>,
        /// Last date on which the new one can be accepted; the same when left out.
        pub valid_until: Option<Day>,
        /// Why.
        pub reason: Option<Note>,
    }
}

wire_object! {
    /// A line of a change order written by hand.
    pub struct ChangeLineIn {
        /// The office's own code.
        pub code: Code,
        /// What the customer reads.
        pub description: Label,
        /// Category, which decides the taxes on it.
        pub category: Category,
        /// Price before tax; negative for a credit.
        pub price: Signed,
        /// What it is expected to cost the office; negative for a saving.
        pub cost: Option<Signed>,
        /// How much more, or less, of it.
        pub quantity: Option<Measured>,
        /// Hours of the crew, more or less.
        pub crew_hours: Option<Number>,
        /// Hours of people, more or less.
        pub person_hours: Option<Number>,
    }
}

wire_union! {
    /// Where a change order comes from.
    pub enum ChangeBasis {
        /// From a changed layout: the difference between the revision the contract stands on and this one. Additions that were
        /// taken stay in the contract beside it, so that it has none of them in its `pricing.chosen`.
        Revision as ChangeByRevision = "revision" {
            /// The estimate of the changed layout, `est_…`.
            estimate_id: Label,
        }
        /// By line.
        Lines as ChangeByLines = "lines" {
            /// What comes on top of the contract, and what goes out of it.
            lines: List<ChangeLineIn, 1, 100>,
        }
    }
}

wire_object! {
    /// A change order.
    pub struct ChangeIn {
        /// What changes.
        pub title: Label,
        /// Why.
        pub reason: Option<Note>,
        /// Where the figures come from.
        pub basis: ChangeBasis,
    }
}

wire_object! {
    /// How much of a line is billed: up to a share of it, or an amount. Exactly one of the two.
    pub struct BilledLineIn {
        /// Code of the line in the contract.
        pub line: Code,
        /// Done to date, as a share of the line; what was billed before is taken off.
        pub pct_to_date: Option<Percent>,
        /// This much now, before tax.
        pub amount: Option<Signed>,
    }
}

wire_union! {
    /// What an invoice bills.
    pub enum Bill {
        /// A stage of the payment schedule; a deposit is one of them.
        Stage as BillStage = "stage" {
            /// Code of the stage, as in the `schedule` of the quote.
            stage: Code,
        }
        /// Progress: every line up to this share; what was billed before is taken off.
        Percent as BillPercent = "percent" {
            /// Done to date.
            pct_to_date: Percent,
        }
        /// Progress by line.
        Lines as BillLines = "lines" {
            /// The lines that are billed, each once.
            lines: List<BilledLineIn, 1, 200>,
        }
        /// The lines of one change order, whole.
        ChangeOrder as BillChangeOrder = "change_order" {
            /// Its code in the contract, for example `co-1`.
            change_order: Code,
        }
        /// Retainage that is due now.
        Retainage as BillRetainage = "retainage" {
            /// How much; all that is held when left out.
            amount: Option<Amount>,
        }
        /// Everything that is open, and the retainage.
        Final as BillFinal = "final" {
            /// Whether the retainage stays held, and is held on this invoice too.
            keep_retainage: Flag,
        }
    }
}

wire_object! {
    /// An invoice.
    pub struct InvoiceIn {
        /// What it bills.
        pub bill: Bill,
        /// Date on the invoice.
        pub on: Day,
        /// When it is due. When left out, a deposit is due on its date, any other so many days after it as the quote says.
        pub due_on: Option<Day>,
        /// What the customer should read.
        pub note: Option<Note>,
        /// Bill more than the contract holds. Without it such an invoice is refused; with it the invoice says so.
        pub over_contract: Flag,
    }
}

wire_object! {
    /// An amount given back on a line.
    pub struct CreditedLineIn {
        /// Code of the line.
        pub line: Code,
        /// How much, before tax, in the direction of the invoice.
        pub amount: Signed,
    }
}

wire_union! {
    /// What a credit note gives back.
    pub enum Credit {
        /// All that is left of the invoice.
        Whole as CreditWhole = "whole" {}
        /// Amounts of its lines.
        Lines as CreditLines = "lines" {
            /// The lines on which something is given back, each once.
            lines: List<CreditedLineIn, 1, 200>,
        }
    }
}

wire_object! {
    /// A credit note on an invoice.
    pub struct CreditIn {
        /// What it gives back.
        pub credit: Credit,
        /// Date on the credit note.
        pub on: Day,
        /// Why.
        pub reason: Note,
    }
}

wire_object! {
    /// A payment, as the accounting system reports it.
    pub struct PaymentIn {
        /// The accounting system; where the office reports by hand, a word of its own such as `office`.
        pub system: Reporter,
        /// Its own reference; unique per system, so that nothing is recorded twice. By hand, the number of the receipt, the check or the
        /// transfer.
        pub reference: Reference,
        /// Date of the payment.
        pub on: Day,
        /// How much; negative when money went back.
        pub amount: Signed,
        /// More was paid than is owed. Without it such a payment is refused; with it the ledger says so.
        pub over_paid: Flag,
        /// More about it.
        pub note: Option<Label>,
    }
}

wire_object! {
    /// A void, as the accounting system reports it.
    pub struct VoidIn {
        /// The accounting system; where the office reports by hand, a word of its own such as `office`.
        pub system: Reporter,
        /// Its own reference; unique per system, so that nothing is recorded twice. By hand, the number of the receipt, the check or the
        /// transfer.
        pub reference: Reference,
        /// Date of the void.
        pub on: Day,
        /// Why.
        pub reason: Note,
    }
}

wire_object! {
    /// A cost of the job, as the accounting system reports it.
    pub struct CostIn {
        /// The accounting system; where the office reports by hand, a word of its own such as `office`.
        pub system: Reporter,
        /// Its own reference; unique per system, so that nothing is recorded twice. By hand, the number of the receipt, the check or the
        /// transfer.
        pub reference: Reference,
        /// Date of the cost.
        pub on: Day,
        /// What it is for.
        pub category: Category,
        /// How much, with the taxes that the office pays on what it buys, as its estimate counts them; negative for a refund.
        pub amount: Signed,
        /// Ordered and not yet billed by the supplier; an actual cost when left out.
        pub committed: Flag,
        /// More about it.
        pub note: Option<Label>,
    }
}
