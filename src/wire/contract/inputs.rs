//! The whole input of each paper. It is kept beside the paper; the paper made again from it is the same, byte for byte.

use super::account::{Account, Effect};
use super::facts::{EstimateFact, JobFact, TaxRule};
use super::requests::{ChangeIn, CreditIn, InvoiceIn};
use super::terms::{QuoteTerms, Seller, TaxScheme};
use crate::units::Currency;
use crate::wire::contract::Signed;
use crate::wire::day::Day;
use crate::wire::scalar::Flag;
use crate::wire::{Code, Label, List, Whole};
use crate::wire_object;

wire_object! {
    /// An alternate with its estimate.
    pub struct AlternateFact {
        /// Code of the alternate.
        pub code: Code,
        /// The estimate.
        pub estimate: EstimateFact,
    }
}

wire_object! {
    /// What a quote is computed from.
    pub struct QuoteInputs {
        /// Number; none for a draft.
        pub number: Option<Label>,
        /// Date; none for a draft.
        pub issued_on: Option<Day>,
        /// Number of the quote it takes the place of.
        pub supersedes: Option<Label>,
        /// The job.
        pub job: JobFact,
        /// The terms.
        pub terms: QuoteTerms,
        /// The estimate.
        pub estimate: EstimateFact,
        /// Whether what notes and terms both say is said once; papers from before say it twice.
        pub names_once: Flag,
        /// Whether terms that name no scheme of taxes go by the country of the seller; papers from before have `STT`.
        pub scheme_by_country: Flag,
        /// Estimates of the alternates.
        pub alternates: List<AlternateFact, 0, 10>,
    }
}

impl QuoteInputs {
    /// The scheme of the taxes on sales, of this paper and of all that follow from it.
    pub fn tax_scheme(&self) -> TaxScheme {
        let QuoteTerms { tax_scheme, seller, .. } = &self.terms;
        tax_scheme.unwrap_or_else(|| match self.scheme_by_country {
            Flag(true) => TaxScheme::of_country(seller.country.as_ref().map(Label::as_str)),
            Flag(false) => TaxScheme::Stt,
        })
    }
}

wire_object! {
    /// What a change order is computed from.
    pub struct ChangeInputs {
        /// Number within the job; none for a draft.
        pub number: Option<Label>,
        /// Code of its component in the contract; none for a draft.
        pub code: Option<Code>,
        /// Date; none for a draft.
        pub issued_on: Option<Day>,
        /// The job.
        pub job: JobFact,
        /// The office.
        pub seller: Seller,
        /// Number of the quote it changes.
        pub quote: Label,
        /// Currency.
        pub currency: Currency,
        /// Scheme of the taxes in the hand-off.
        pub tax_scheme: TaxScheme,
        /// What was asked for.
        pub request: ChangeIn,
        /// The revision the contract stands on.
        pub from: EstimateFact,
        /// The revision of the changed layout.
        pub to: Option<EstimateFact>,
        /// Whether the paper names the price books of both revisions; papers from before do not.
        pub names_books: Flag,
        /// The changed layout at the prices of the revision the contract stands on, where it is priced by another version.
        pub at_old_prices: Option<EstimateFact>,
        /// Whether engines are weighed: papers from before do not.
        pub weighs_engines: Flag,
        /// The revision the contract stands on as the engine of the changed layout reckons it, where another one made it.
        pub from_anew: Option<EstimateFact>,
        /// Additions that the customer took with the quote: the contract has them beside every revision.
        pub taken: List<Code, 0, 50>,
        /// Taxes of the contract.
        pub tax_rules: List<TaxRule, 0, 20>,
        /// Contract with tax before it.
        pub contract_before: Signed,
        /// Crew hours of a working day.
        pub crew_hours_per_day: Whole<1, 24>,
        /// The job as the quote has it, where it is named otherwise here; older snapshots have the job of the quote.
        pub quoted: Option<JobFact>,
    }
}

wire_object! {
    /// A paper and its date.
    pub struct DatedPaper {
        /// Number.
        pub number: Label,
        /// Date.
        pub on: Day,
    }
}

wire_object! {
    /// What an invoice is computed from.
    pub struct InvoiceInputs {
        /// Number.
        pub number: Label,
        /// The job.
        pub job: JobFact,
        /// The office.
        pub seller: Seller,
        /// Scheme of the taxes in the hand-off.
        pub tax_scheme: TaxScheme,
        /// Terms of payment in words.
        pub payment_terms: Option<crate::wire::Note>,
        /// Whether a deposit is due on the date of its invoice; papers from before have it due as any other invoice.
        pub deposits_due_at_once: Flag,
        /// What was asked for.
        pub request: InvoiceIn,
        /// The account before it.
        pub account: Account,
        /// Retainage that the invoices before it hold by the terms net of their credit notes, before any of it was released; papers
        /// from before hold theirs whatever that is.
        pub held_on_invoices: Option<Signed>,
        /// The invoice of the job that was issued before it and has the latest date, where that is after its own. Older snapshots do not
        /// say.
        pub dated_after: Option<DatedPaper>,
        /// The job as the quote has it, where it is named otherwise here; older snapshots have the job of the quote.
        pub quoted: Option<JobFact>,
    }
}

wire_object! {
    /// What a credit note is computed from.
    pub struct CreditInputs {
        /// Number.
        pub number: Label,
        /// Number of the invoice.
        pub invoice: Label,
        /// Date of the invoice.
        pub invoice_on: Day,
        /// The job.
        pub job: JobFact,
        /// The office.
        pub seller: Seller,
        /// Currency.
        pub currency: Currency,
        /// Scheme of the taxes in the hand-off.
        pub tax_scheme: TaxScheme,
        /// What was asked for.
        pub request: CreditIn,
        /// Lines of the contract that the invoice bills.
        pub lines: List<super::account::ContractLine, 0, 1000>,
        /// Taxes of the contract.
        pub tax_rules: List<TaxRule, 0, 20>,
        /// What the invoice did.
        pub billed: Effect,
        /// What earlier credit notes on it did, summed.
        pub before: Effect,
        /// Retainage held in the account.
        pub held: Signed,
        /// Retainage that the invoices of the account hold net of their credit notes, before any of it was released.
        pub held_on_invoices: Option<Signed>,
        /// Billed in the account with tax, what is retained of it included: in snapshots without `held_on_invoices`.
        pub billed_to_date: Option<Signed>,
        /// Retainage of the contract.
        pub retainage: Option<super::terms::Retainage>,
        /// What is still owed on the invoice before it; less than nothing where more was paid than asked for. Older snapshots do not
        /// say.
        pub owed: Option<Signed>,
    }
}
