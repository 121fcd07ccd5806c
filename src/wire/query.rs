//! Closed words of query parameters.

use crate::wire_enum;

/// A closed list of words, as `wire_enum!` makes it.
pub trait Words: Copy + 'static {
    /// Every value.
    fn all() -> &'static [Self];

    /// The word of a value.
    fn as_word(self) -> &'static str;
}

wire_enum! {
    /// In which order jobs are listed.
    pub enum JobOrder {
        /// last change, newest first
        UpdatedDescending = "-updated_at",
        /// last change, oldest first
        Updated = "updated_at",
        /// creation, newest first
        CreatedDescending = "-created_at",
        /// creation, oldest first
        Created = "created_at",
    }
}

wire_enum! {
    /// In which order papers of all jobs are listed.
    pub enum PaperOrder {
        /// last change, newest first
        UpdatedDescending = "-updated_at",
        /// last change, oldest first
        Updated = "updated_at",
    }
}

wire_enum! {
    /// Where an invoice or a credit note stands.
    pub enum InvoiceState {
        /// out, and frozen; a credit note stays there
        Issued = "issued",
        /// some of it has been paid
        PartPaid = "part_paid",
        /// paid
        Paid = "paid",
        /// given back in full by credit notes
        Credited = "credited",
        /// voided in the accounting system
        Voided = "voided",
    }
}

wire_enum! {
    /// Where a quote or a change order stands.
    pub enum QuoteState {
        /// being written; nobody outside has seen it
        Draft = "draft",
        /// out, and frozen
        Issued = "issued",
        /// the customer said yes
        Accepted = "accepted",
        /// the customer said no
        Declined = "declined",
        /// its time ran out; of quotes alone
        Expired = "expired",
        /// the office took it back
        Withdrawn = "withdrawn",
        /// another took its place; of quotes alone
        Superseded = "superseded",
    }
}

wire_enum! {
    /// What happens to items of a price book that an imported list does not name.
    pub enum MissingItems {
        /// they stay
        Keep = "keep",
        /// they are taken out
        Remove = "remove",
    }
}

wire_enum! {
    /// Which table of a rain file is read.
    pub enum RainBound {
        /// the estimates themselves
        Mean = "mean",
        /// the upper bound of the 90 % confidence interval
        Upper = "upper",
        /// the lower bound of the 90 % confidence interval
        Lower = "lower",
    }
}
