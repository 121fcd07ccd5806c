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
