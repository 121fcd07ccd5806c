//! What a paper takes over from an estimate and a job. It is kept with the paper, so that the paper can be made again from
//! its own snapshot.

use crate::domain::words::Category;
use crate::units::{Currency, Percent, Unit};
use crate::wire::book::pricing::TaxRounding;
use crate::wire::contract::{Number, Signed};
use crate::wire::notes::{Customer, Site};
use crate::wire::{Code, Label, List, Note, Whole};
use crate::wire_object;

wire_object! {
    /// A quantity with its unit, of either sign.
    pub struct Measured {
        /// How much.
        pub value: Number,
        /// In which unit.
        pub unit: crate::units::Unit,
    }
}

impl Measured {
    /// So many hours.
    pub const fn hours(value: Number) -> Self {
        Self { value, unit: Unit::Hr }
    }
}

wire_object! {
    /// Cost and price of a category.
    pub struct CategoryFact {
        /// The category.
        pub category: Category,
        /// What it costs the office.
        pub cost: Signed,
        /// Its part of the price before tax.
        pub price: Signed,
    }
}

wire_object! {
    /// A tax on the sale, as the price book sets it.
    pub struct TaxRule {
        /// Code of the tax.
        pub code: Code,
        /// Its name.
        pub name: Label,
        /// Rate.
        pub rate_pct: Percent,
        /// Categories it falls on.
        pub categories: List<Category, 1, 6>,
        /// Where it is rounded.
        pub rounding: TaxRounding,
    }
}

wire_object! {
    /// A tax and its amount.
    pub struct TaxSum {
        /// Code of the tax.
        pub code: Code,
        /// What it falls on.
        pub taxable: Signed,
        /// The tax.
        pub amount: Signed,
    }
}

wire_object! {
    /// A measured quantity of an estimate.
    pub struct QuantityFact {
        /// Stable name.
        pub name: Code,
        /// The quantity.
        pub quantity: Measured,
    }
}

wire_object! {
    /// A sum that the price of an estimate contains, with its name.
    pub struct NamedSum {
        /// What it is for.
        pub name: Label,
        /// The sum.
        pub amount: Signed,
    }
}

wire_object! {
    /// An optional line of an estimate that is no part of its price.
    pub struct OptionalFact {
        /// Its name on the job.
        pub code: Code,
        /// What the customer reads.
        pub name: Label,
        /// Where most of its cost lies.
        pub category: Category,
        /// What it adds to the price before tax.
        pub price: Signed,
        /// What it adds to the direct cost.
        pub cost: Signed,
    }
}

wire_object! {
    /// What a paper takes over from an estimate.
    pub struct EstimateFact {
        /// Its id.
        pub estimate_id: Label,
        /// Its revision.
        pub revision: Whole<1, 1000000000>,
        /// Price-book version it was priced from.
        pub price_book_version_id: Label,
        /// Name of the price book.
        pub price_book: Label,
        /// Number of the version.
        pub price_book_number: Whole<0, 1000000000>,
        /// Engine it was computed with.
        pub engine: Label,
        /// Currency of every amount.
        pub currency: Currency,
        /// Cost and price by category; both foot.
        pub categories: List<CategoryFact, 0, 6>,
        /// Taxes on the sale: the rules.
        pub tax_rules: List<TaxRule, 0, 20>,
        /// Taxes on the sale: the amounts.
        pub taxes: List<TaxSum, 0, 20>,
        /// Discounts in the price.
        pub discounts: List<NamedSum, 0, 10>,
        /// Allowances in the price.
        pub allowances: List<NamedSum, 0, 20>,
        /// Optional lines that are no part of the price.
        pub optional: List<OptionalFact, 0, 10>,
        /// Optional lines and alternates of its notes that are part of the price, by code.
        pub chosen: List<Code, 0, 15>,
        /// Measured quantities.
        pub quantities: List<QuantityFact, 0, 1000>,
        /// Hours of the crew.
        pub crew_hours: Number,
        /// Hours of people.
        pub person_hours: Number,
        /// Days on which a crew works by the plan; absent where the notes name no day to plan from.
        pub crew_days: Option<Whole<0, 100000>>,
        /// Cautions.
        pub cautions: List<Note, 0, 2000>,
        /// Checks that failed.
        pub failed: List<Note, 0, 5000>,
        /// What the price does not include.
        pub excluded: List<Label, 0, 50>,
        /// What others do.
        pub by_others: List<Label, 0, 50>,
        /// What the customer should read.
        pub notes_to_customer: Option<Note>,
    }
}

wire_object! {
    /// What a paper takes over from a job.
    pub struct JobFact {
        /// Its id.
        pub job_id: Label,
        /// Its title.
        pub title: Label,
        /// Who it is for.
        pub customer: Customer,
        /// Where it is.
        pub site: Site,
    }
}
