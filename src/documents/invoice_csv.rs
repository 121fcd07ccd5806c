//! Invoices and credit notes of a job as CSV (RFC 4180), one row per line, tax and retainage: what an accounting system
//! reads without retyping. The rows of a paper add up to what it asks for.

use crate::compute::contract::credit::CreditDocument;
use crate::compute::contract::invoice::InvoiceDocument;
use crate::compute::contract::quote::PaperTax;
use crate::units::Amount;

/// The columns. New ones go behind the others: some readers go by the place.
pub const COLUMNS: [&str; 14] = [
    "paper",
    "number",
    "issued_on",
    "due_on",
    "customer",
    "row",
    "code",
    "description",
    "category",
    "amount",
    "currency",
    "credits",
    "job_id",
    "job_title",
];

/// A paper as rows.
#[derive(Debug)]
pub enum Paper {
    /// An invoice.
    Invoice(Box<InvoiceDocument>),
    /// A credit note; its amounts leave with the other sign.
    Credit(Box<CreditDocument>),
}

/// Text that a spreadsheet does not run: what begins as a formula does gets an apostrophe (OWASP, CSV injection; from memory).
///
/// ```
/// use rillcast::documents::invoice_csv::safe;
/// assert_eq!(safe("=1+1"), "'=1+1");
/// assert_eq!(safe("Channel, 4 in"), "Channel, 4 in");
/// ```
pub fn safe(text: &str) -> String {
    const FIRST: [char; 11] = ['=', '+', '-', '@', '\t', '\r', '\n', '＝', '＋', '－', '＠'];
    if text.starts_with(FIRST) { format!("'{text}") } else { text.to_owned() }
}

struct Head<'a> {
    paper: &'static str,
    number: &'a str,
    issued_on: String,
    due_on: String,
    customer: &'a str,
    currency: &'static str,
    /// Number of the invoice that a credit note gives back of; blank on an invoice.
    credits: &'a str,
    job_id: &'a str,
    job_title: &'a str,
}

type Row = [String; COLUMNS.len()];

impl Head<'_> {
    fn row(&self, row: &str, code: &str, description: &str, category: &str, amount: Amount) -> Row {
        [
            self.paper.to_owned(),
            safe(self.number),
            self.issued_on.clone(),
            self.due_on.clone(),
            safe(self.customer),
            row.to_owned(),
            safe(code),
            safe(description),
            category.to_owned(),
            amount.to_string(),
            self.currency.to_owned(),
            safe(self.credits),
            self.job_id.to_owned(),
            safe(self.job_title),
        ]
    }

    fn taxes(&self, taxes: &[PaperTax], sign: fn(Amount) -> Amount, out: &mut Vec<Row>) {
        for tax in taxes.iter().filter(|t| t.amount != Amount::ZERO) {
            out.push(self.row("tax", &tax.code, &tax.name, "", sign(tax.amount)));
        }
    }

    fn retainage(&self, retained: Amount, released: Amount, out: &mut Vec<Row>) {
        for (row, amount) in [("retained", -retained), ("released", released)] {
            if amount != Amount::ZERO {
                out.push(self.row(row, "retainage", "Retainage", "", amount));
            }
        }
    }
}

/// The papers of a job, oldest first.
///
/// # Errors
/// When memory cannot be written, which does not happen.
pub fn rows(papers: &[Paper], job_id: &str) -> Result<Vec<u8>, csv::Error> {
    let mut writer = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    writer.write_record(COLUMNS)?;
    for paper in papers {
        let mut out = Vec::new();
        match paper {
            Paper::Invoice(p) => {
                let head = Head {
                    paper: "invoice",
                    number: &p.number,
                    issued_on: p.issued_on.to_string(),
                    due_on: p.due_on.to_string(),
                    customer: p.customer.name.as_str(),
                    currency: p.currency.word(),
                    credits: "",
                    job_id,
                    job_title: &p.title,
                };
                for l in &p.lines {
                    out.push(head.row("line", &l.code, &l.description, l.category.word(), l.amount));
                }
                head.taxes(&p.taxes, |a| a, &mut out);
                head.retainage(p.retained, p.released, &mut out);
            }
            Paper::Credit(p) => {
                let head = Head {
                    paper: "credit_note",
                    number: &p.number,
                    issued_on: p.issued_on.to_string(),
                    due_on: String::new(),
                    customer: p.customer.name.as_str(),
                    currency: p.currency.word(),
                    credits: &p.invoice,
                    job_id,
                    job_title: &p.title,
                };
                for l in &p.lines {
                    out.push(head.row("line", &l.code, &l.description, l.category.word(), -l.price));
                }
                head.taxes(&p.taxes, |a| -a, &mut out);
                head.retainage(-p.retained, -p.released, &mut out);
            }
        }
        for row in out {
            writer.write_record(&row)?;
        }
    }
    writer.into_inner().map_err(|e| e.into_error().into())
}
