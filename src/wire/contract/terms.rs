//! What a quote is written with, beside the estimate it is written from.

use crate::domain::words::Category;
use crate::units::{Amount, Percent};
use crate::wire::day::Day;
use crate::wire::{Code, Label, List, Note, Whole};
use crate::{wire_enum, wire_object};

wire_object! {
    /// The office that promises and bills.
    pub struct Seller {
        /// Name.
        pub name: Label,
        /// Street and number.
        pub street: Option<Label>,
        /// City.
        pub city: Option<Label>,
        /// State, province or county.
        pub region: Option<Label>,
        /// Postal code.
        pub postal_code: Option<Label>,
        /// Country, two letters (ISO 3166-1).
        pub country: Option<Label>,
        /// Number under which it collects tax.
        pub tax_number: Option<Label>,
        /// E-mail.
        pub email: Option<Label>,
        /// Telephone.
        pub phone: Option<Label>,
    }
}

wire_enum! {
    /// When a stage of the payment schedule falls due.
    pub enum StageKind {
        /// before the work begins: due on the date of its invoice unless `due_on` is sent with that; no retainage is held on it
        Deposit = "deposit",
        /// as the work goes on
        Progress = "progress",
        /// when the work is done
        Completion = "completion",
    }
}

wire_object! {
    /// A stage of the payment schedule. The shares of all stages make 100 %.
    pub struct Stage {
        /// The office's own code.
        pub code: Code,
        /// What it is due for.
        pub name: Label,
        /// When it falls due.
        pub due: StageKind,
        /// Share of the price.
        pub pct: Percent,
    }
}

wire_enum! {
    /// What retainage is held on.
    pub enum RetainageBase {
        /// on the sum before tax
        BeforeTax = "before_tax",
        /// on the sum with tax
        WithTax = "with_tax",
    }
}

wire_object! {
    /// What the customer keeps back of each invoice, but of a deposit and of the final one, until the work is accepted.
    pub struct Retainage {
        /// Share held, below 100 %.
        pub pct: Percent,
        /// Of what; `before_tax` when left out.
        pub held_on: Option<RetainageBase>,
    }
}

wire_object! {
    /// A line of the quote: a share of the price of its category. What the lines leave of a category stays in a line of its own.
    pub struct QuoteLine {
        /// The office's own code.
        pub code: Code,
        /// What the customer reads.
        pub description: Label,
        /// Category of the estimate whose price it takes part of.
        pub category: Category,
        /// Share of the price of that category.
        pub pct: Percent,
    }
}

wire_object! {
    /// Another estimate of the same job that the customer may take instead. An alternate of the notes is offered by a revision
    /// that has it in `pricing.chosen`: what is ordered and recorded later then goes by that revision.
    pub struct QuoteAlternate {
        /// The office's own code.
        pub code: Code,
        /// What the customer reads.
        pub name: Label,
        /// Its estimate, `est_…`.
        pub estimate_id: Label,
    }
}

wire_object! {
    /// Something the customer may take on top. An optional line of the estimate is offered by its code alone; what has a price
    /// of its own has a name and a category as well. What the estimate has in its price is no addition.
    pub struct Addition {
        /// The office's own code, or that of an optional line of the estimate.
        pub code: Code,
        /// What the customer reads; that of the optional line when left out.
        pub name: Option<Label>,
        /// Category, which decides the taxes on it; that in which most of the optional line's cost lies when left out.
        pub category: Option<Category>,
        /// Price before tax; what the optional line adds to the estimate's price when left out.
        pub price: Option<Amount>,
        /// What it is expected to cost the office; what the optional line adds to the estimate's cost when left out.
        pub cost: Option<Amount>,
    }
}

wire_enum! {
    /// The scheme a sales tax belongs to, UN/EDIFACT code list 5153 (from memory).
    pub enum TaxScheme {
        /// state or provincial sales tax
        Stt = "STT",
        /// local sales tax
        Loc = "LOC",
        /// goods and services tax
        Gst = "GST",
        /// value added tax
        Vat = "VAT",
    }
}

impl TaxScheme {
    /// What taxes on sales belong to in the country of the office where its terms do not say: sales tax of a state in the United
    /// States, goods and services tax where that is what the tax is called, value added tax elsewhere. An office that names no
    /// country is taken to be in the United States.
    ///
    /// ```
    /// use rillcast::wire::contract::terms::TaxScheme;
    /// assert_eq!(TaxScheme::of_country(None), TaxScheme::Stt);
    /// assert_eq!(TaxScheme::of_country(Some("PR")), TaxScheme::Stt);
    /// assert_eq!(TaxScheme::of_country(Some("CA")), TaxScheme::Gst);
    /// assert_eq!(TaxScheme::of_country(Some("CH")), TaxScheme::Vat);
    /// ```
    pub fn of_country(country: Option<&str>) -> Self {
        match country.unwrap_or("US") {
            // the territories have codes of their own
            "US" | "AS" | "GU" | "MP" | "PR" | "UM" | "VI" => TaxScheme::Stt,
            "AU" | "CA" | "IN" | "NZ" | "SG" => TaxScheme::Gst,
            _ => TaxScheme::Vat,
        }
    }
}

wire_object! {
    /// What a quote is written with.
    pub struct QuoteTerms {
        /// The estimate it promises, `est_…`.
        pub estimate_id: Label,
        /// The office.
        pub seller: Seller,
        /// Last date on which it can be accepted.
        pub valid_until: Day,
        /// What is done for the price.
        pub scope: Option<Note>,
        /// What is not, beside what the estimate excludes.
        pub exclusions: List<Label, 0, 50>,
        /// What to mind, beside the cautions of the estimate.
        pub cautions: List<Note, 0, 50>,
        /// Terms of payment in words.
        pub payment_terms: Option<Note>,
        /// Days from invoice to due date; 30 when left out. A deposit is due on the date of its invoice, whatever this says.
        pub due_days: Option<Whole<0, 365>>,
        /// The payment schedule.
        pub schedule: List<Stage, 0, 20>,
        /// Retainage, held on every invoice but a deposit and the final one; none when left out.
        pub retainage: Option<Retainage>,
        /// Lines the price is shown and billed in; one per category when left out.
        pub lines: List<QuoteLine, 0, 100>,
        /// Estimates the customer may take instead.
        pub alternates: List<QuoteAlternate, 0, 10>,
        /// What the customer may take on top.
        pub additions: List<Addition, 0, 50>,
        /// Scheme of the taxes on sales in the hand-off; by the country of the seller when left out: `STT` in the United States or where
        /// it names no country, `GST` in Australia, Canada, India, New Zealand and Singapore, `VAT` elsewhere. Under `VAT` the files of invoices and credit notes say
        /// that they keep to EN 16931 where they can: the seller has a country and a tax number that begins with one, and no two
        /// taxes on the sale fall on one category.
        pub tax_scheme: Option<TaxScheme>,
        /// Crew hours of a working day, to turn hours of a change into days; 8 when left out.
        pub crew_hours_per_day: Option<Whole<1, 24>>,
    }
}
