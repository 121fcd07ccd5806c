//! How cost becomes price.

use crate::domain::words::Category;
use crate::units::{Amount, Percent};
use crate::wire::{Code, Label, List};
use crate::{wire_enum, wire_object};

wire_enum! {
    /// What a percentage is taken on.
    pub enum RateKind {
        /// on the cost: price = cost x (1 + p)
        Markup = "markup",
        /// on the price: price = cost / (1 - p)
        Margin = "margin",
    }
}

wire_enum! {
    /// How overhead, contingency and profit build on each other.
    pub enum Compounding {
        /// each is taken on the sum so far; a margin is a share of the sum with it
        Compound = "compound",
        /// side by side: each markup is taken on the direct cost, each margin on the price that all of them make, price = (cost +
        /// markups) / (1 - sum of margins)
        Additive = "additive",
    }
}

wire_enum! {
    /// How the quoted figure is rounded.
    pub enum QuoteRounding {
        /// to the next step above
        Up = "up",
        /// to the nearest step, half up
        Nearest = "nearest",
    }
}

wire_object! {
    /// One step from cost to price.
    pub struct MarkupRate {
        /// Percentage.
        pub pct: Percent,
        /// What it is a share of: the cost it is taken on, or the price. In an additive scheme that is the price that the three rates
        /// make, before discounts, allowances as they stand, the least charge, rounding and tax.
        pub as_kind: RateKind,
    }
}

wire_object! {
    /// Rates of one category, where they differ from those of the scheme.
    pub struct CategoryMarkup {
        /// The category.
        pub category: Category,
        /// Overhead; that of the scheme when left out.
        pub overhead: Option<MarkupRate>,
        /// Contingency; that of the scheme when left out.
        pub contingency: Option<MarkupRate>,
        /// Profit; that of the scheme when left out.
        pub profit: Option<MarkupRate>,
    }
}

wire_object! {
    /// From direct cost to the quoted figure.
    pub struct MarkupScheme {
        /// The office's own code.
        pub code: Code,
        /// What it is for.
        pub name: Label,
        /// What the office costs: rent, vehicles, people who are on no site.
        pub overhead: MarkupRate,
        /// What nobody foresees.
        pub contingency: MarkupRate,
        /// What the office earns.
        pub profit: MarkupRate,
        /// How the three build on each other.
        pub compounding: Compounding,
        /// No job is priced below this, before tax.
        pub least_charge: Option<Amount>,
        /// The quoted figure before tax is rounded to a multiple of this.
        pub round_to: Option<Amount>,
        /// Which way the quoted figure is rounded to `round_to`.
        pub rounding: QuoteRounding,
        /// Categories with rates of their own. With any, every step is taken category by category.
        pub by_category: List<CategoryMarkup, 0, 6>,
    }
}

wire_enum! {
    /// When a sales tax is due.
    pub enum TaxPoint {
        /// the office pays it when it buys; it is a cost
        Purchase = "purchase",
        /// the customer pays it on the sale
        Sale = "sale",
    }
}

wire_enum! {
    /// Where a tax is rounded.
    pub enum TaxRounding {
        /// line by line; a tax on the sale category by category
        PerLine = "per_line",
        /// once on the sum
        PerDocument = "per_document",
    }
}

impl TaxRounding {
    /// How a tax on the sale is rounded, for the working.
    pub const fn on_sale(self) -> &'static str {
        match self {
            Self::PerLine => "by category",
            Self::PerDocument => "once on the sum",
        }
    }
}

wire_object! {
    /// A sales tax.
    pub struct Tax {
        /// The office's own code.
        pub code: Code,
        /// What it is.
        pub name: Label,
        /// Rate.
        pub rate_pct: Percent,
        /// Categories it falls on.
        pub categories: List<Category, 1, 6>,
        /// When it is due.
        pub due_on: TaxPoint,
        /// Where it is rounded.
        pub rounding: TaxRounding,
        /// Places it is due in, by the office's own codes; everywhere when left out.
        pub places: List<Code, 0, 50>,
    }
}
