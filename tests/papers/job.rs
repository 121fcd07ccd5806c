//! The demo job as papers: quote, acceptance, change order, invoices, credit note.

use rillcast::compute::contract::change::{self, ChangeDocument};
use rillcast::compute::contract::credit::{self, CreditDocument};
use rillcast::compute::contract::estimate::{Origin, facts};
use rillcast::compute::contract::invoice::{self, InvoiceDocument};
use rillcast::compute::contract::quote::{self, QuoteDocument};
use rillcast::compute::contract::{accept, account, fold, held};
use rillcast::compute::pipeline;
use rillcast::domain::book::{BookRef, PriceBook};
use rillcast::units::Amount;
use rillcast::wire::contract::account::{Account, Component, Effect};
use rillcast::wire::contract::facts::{EstimateFact, TaxRule};
use rillcast::wire::contract::inputs::{ChangeInputs, CreditInputs, InvoiceInputs, QuoteInputs};
use rillcast::wire::{Wire, read_value};
use serde_json::{Value, json};

#[track_caller]
pub(crate) fn read<T: Wire>(value: &Value) -> T {
    read_value(value).unwrap_or_else(|e| panic!("{e}: {value}"))
}

/// The demo book with taxes on the sale.
pub(crate) fn book() -> PriceBook {
    let mut book: Value = serde_json::from_str(rillcast::domain::demo::BOOK).unwrap();
    book["taxes"] = json!([
        {"code": "state", "name": "State sales tax", "rate_pct": "6.25", "categories": ["material", "hire"],
            "due_on": "sale", "rounding": "per_document"},
        {"code": "city", "name": "City & county", "rate_pct": "1.75", "categories": ["material"], "due_on": "sale",
            "rounding": "per_line"}
    ]);
    PriceBook::check(read(&book)).unwrap_or_else(|e| panic!("{e}"))
}

/// The demo job estimated; `change` changes its notes.
pub(crate) fn estimated(id: &str, revision: i64, change: impl FnOnce(&mut Value)) -> EstimateFact {
    let book = book();
    let mut notes: Value = serde_json::from_str(rillcast::domain::demo::NOTES).unwrap();
    change(&mut notes);
    let used = BookRef { version_id: "pbv_x".to_owned(), name: "Demo".to_owned(), number: 1 };
    let estimate = pipeline::estimate(&read(&notes), &book, &used, &rillcast::domain::demo::rains().unwrap())
        .unwrap_or_else(|e| panic!("{e}"));
    let answer = serde_json::to_value(&estimate).unwrap();
    let origin = Origin { estimate_id: id, revision, price_book_version_id: "pbv_x" };
    facts(origin, &answer, &book.doc().taxes).unwrap_or_else(|e| panic!("{e}"))
}

pub(crate) fn job() -> Value {
    json!({"job_id": "job_x", "title": "Drive <and> path & gate 🌧 \"A\"",
        "customer": {"name": "Example Household & Sons <1>", "email": "household@example.test"},
        "site": {"address": "14 Alder Bend, Millbrook"}})
}

pub(crate) fn terms() -> Value {
    json!({
        "estimate_id": "est_1",
        "seller": {"name": "Example Drainage", "street": "2 Quarry Road", "city": "Millbrook", "region": "MA",
            "postal_code": "01002", "country": "US", "tax_number": "US-0001", "phone": "555-0100"},
        "valid_until": "2026-04-01",
        "scope": "Two runs of channel set in concrete, one line of pipe.",
        "exclusions": ["Painting"],
        "payment_terms": "Thirty days net.",
        "schedule": [
            {"code": "deposit", "name": "On signing", "due": "deposit", "pct": "30"},
            {"code": "poured", "name": "Channel set", "due": "progress", "pct": "40"},
            {"code": "done", "name": "On completion", "due": "completion", "pct": "30"}
        ],
        "retainage": {"pct": "10"},
        "lines": [{"code": "drive", "description": "Drive, materials", "category": "material", "pct": "60"}],
        "additions": [{"code": "cover", "name": "Spare grates", "category": "material", "price": "120.00"}]
    })
}

pub(crate) fn quote_inputs() -> QuoteInputs {
    let estimate = estimated("est_1", 1, |_| {});
    read(
        &json!({"number": "Q-0001", "issued_on": "2026-03-02", "job": job(), "terms": terms(), "estimate": estimate}),
    )
}

/// A job on its way.
pub(crate) struct Course {
    pub(crate) quote: QuoteInputs,
    pub(crate) components: Vec<Component>,
    pub(crate) effects: Vec<Effect>,
    pub(crate) scheme: &'static str,
    /// Each invoice with what it did.
    pub(crate) billed: Vec<(InvoiceInputs, Effect)>,
    /// Credit notes, by the place of their invoice.
    pub(crate) credited: Vec<(usize, Effect)>,
}

/// Which day it is where these papers live.
pub(crate) fn last_day() -> rillcast::wire::day::OfficeDay<'static> {
    let day = rillcast::wire::day::Day::parse("2026-12-31").unwrap();
    rillcast::wire::day::OfficeDay { day, zone: "UTC" }
}

impl Course {
    pub(crate) fn accepted() -> Self {
        let quote = quote_inputs();
        Self::of(quote, &["cover"])
    }

    /// A quote accepted with additions.
    pub(crate) fn of(quote: QuoteInputs, additions: &[&str]) -> Self {
        let decision = json!({"by": "Household", "on": "2026-03-05", "additions": additions});
        let components =
            accept::accept(&quote, &read(&decision), last_day()).unwrap_or_else(|e| panic!("{e}"));
        Self {
            quote,
            components,
            effects: Vec::new(),
            scheme: "STT",
            billed: Vec::new(),
            credited: Vec::new(),
        }
    }

    pub(crate) fn quote(&self) -> QuoteDocument {
        quote::quote(&self.quote).unwrap_or_else(|e| panic!("{e}"))
    }

    pub(crate) fn rules(&self) -> &[TaxRule] {
        &self.quote.estimate.tax_rules
    }

    pub(crate) fn account(&self) -> Account {
        account::open(&self.quote, &self.components, &self.effects).unwrap()
    }

    /// The retainage that the invoices hold net of their credit notes.
    pub(crate) fn held_on_invoices(&self) -> Amount {
        let of = |invoice: usize| -> Vec<Effect> {
            self.credited.iter().filter(|(of, _)| *of == invoice).map(|(_, e)| e.clone()).collect()
        };
        let invoices = self.billed.iter().enumerate();
        invoices.map(|(i, (inputs, billed))| held::still_held(invoice::held_on(inputs), billed, &of(i))).sum()
    }

    pub(crate) fn change(&mut self, basis: &Value, to: Option<EstimateFact>) -> ChangeDocument {
        let number = self.components.iter().filter(|c| account::is_change(c)).count() + 1;
        let mut inputs = json!({
            "number": format!("CO-{number}"), "code": format!("co-{number}"), "issued_on": "2026-03-12", "job": job(),
            "seller": self.quote.terms.seller, "quote": "Q-0001", "currency": "USD", "tax_scheme": self.scheme,
            "request": {"title": "Longer drive run", "reason": "Asked for on site", "basis": basis},
            "from": self.quote.estimate, "tax_rules": self.quote.estimate.tax_rules.to_vec(),
            "contract_before": self.account().total().to_string(), "crew_hours_per_day": 8
        });
        if let Some(to) = to {
            inputs["names_books"] = json!(true);
            inputs["to"] = json!(to);
        }
        let inputs: ChangeInputs = read(&inputs);
        let (document, component) = change::change(&inputs).unwrap_or_else(|e| panic!("{e}"));
        self.components.push(component);
        document
    }

    pub(crate) fn try_bill(&mut self, request: &Value) -> Result<InvoiceDocument, rillcast::wire::Faults> {
        let inputs = InvoiceInputs {
            number: read(&json!(format!("INV-{:04}", self.billed.len() + 1))),
            job: read(&job()),
            seller: self.quote.terms.seller.clone(),
            tax_scheme: read(&json!(self.scheme)),
            payment_terms: self.quote.terms.payment_terms.clone(),
            deposits_due_at_once: read(&json!(true)),
            request: read(request),
            account: self.account(),
            held_on_invoices: Some(read(&json!(self.held_on_invoices()))),
            dated_after: None,
            quoted: None,
        };
        let (document, effect) = invoice::invoice(&inputs)?;
        self.effects.push(effect.clone());
        self.billed.push((inputs, effect));
        Ok(document)
    }

    #[track_caller]
    pub(crate) fn bill(&mut self, bill: &Value) -> InvoiceDocument {
        let request = json!({"bill": bill, "on": "2026-03-20"});
        self.try_bill(&request).unwrap_or_else(|e| panic!("{e}"))
    }

    /// A credit note on the last invoice.
    #[track_caller]
    pub(crate) fn credit(&mut self, asked: &Value) -> CreditDocument {
        let last = self.billed.len() - 1;
        self.try_credit(last, &[], asked).unwrap_or_else(|e| panic!("{e}")).0
    }

    /// What a credit note on an invoice that had earlier ones is computed from.
    pub(crate) fn credit_snapshot(&self, invoice: usize, earlier: &[Effect], asked: &Value) -> Value {
        let account = self.account();
        let (inputs, billed) = &self.billed[invoice];
        let retainage = invoice::held_on(inputs);
        let lines: Vec<_> = account
            .lines
            .iter()
            .filter(|p| billed.lines.iter().any(|l| l.line == p.line.code))
            .map(|p| p.line.clone())
            .collect();
        let mut snapshot = json!({
            "number": "CN-0001", "invoice": format!("INV-{:04}", invoice + 1), "invoice_on": "2026-03-20", "job": job(),
            "seller": self.quote.terms.seller, "currency": "USD", "tax_scheme": self.scheme,
            "request": {"credit": asked, "on": "2026-03-21", "reason": "Billed too early"},
            "lines": lines, "tax_rules": self.rules(), "billed": billed,
            "before": fold::sum(earlier).unwrap(), "held": account.retained,
            "held_on_invoices": self.held_on_invoices(), "owed": billed.payable
        });
        if let Some(retainage) = retainage {
            snapshot["retainage"] = json!(retainage);
        }
        snapshot
    }

    /// A credit note on an invoice that had earlier ones, with what it does.
    pub(crate) fn try_credit(
        &mut self,
        invoice: usize,
        earlier: &[Effect],
        asked: &Value,
    ) -> Result<(CreditDocument, Effect), rillcast::wire::Faults> {
        let snapshot = self.credit_snapshot(invoice, earlier, asked);
        let inputs: CreditInputs = read(&snapshot);
        let made = credit::credit(&inputs)?;
        self.effects.push(made.1.clone());
        self.credited.push((invoice, made.1.clone()));
        Ok(made)
    }
}
