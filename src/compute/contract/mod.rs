//! From estimate to contract to the last invoice. Pure: every paper is made from its snapshot alone.
//!
//! | file | subject |
//! |---|---|
//! | [`moves`] | what may be done with a paper in its state |
//! | [`sums`] | sums by category, taxes on them |
//! | [`estimate`] | what a paper takes over from a stored estimate |
//! | [`quote`], `quote_paper`, [`terms`] | the quote, what it looks like, and what its terms must hold |
//! | [`additions`] | what may be taken on top |
//! | [`accept`] | the parts of the contract an acceptance makes |
//! | [`addressed`] | who and what the papers of a contract name, told where the quote has it otherwise |
//! | [`change`], `change_lines` | the change order: lines (the difference between two revisions, or written by hand), work, contract |
//! | [`fold`] | the papers of a job folded into its contract |
//! | [`account`] | contract lines and what has been billed of them |
//! | [`bill`] | what a bill comes to, line by line |
//! | [`invoice`], `invoice_lines` | the invoice: lines, taxes, retainage |
//! | [`credit`] | what a credit note gives back |
//! | [`held`] | the retainage that invoices hold net of their credit notes |
//! | [`costs`] | costs reported and recorded, expected margin |
//! | [`issuing`] | what stands in the way of issuing a quote or a change order |
//! | [`ledger`] | contract, billed, paid, retained, costs, expected margin |
//!
//! Three sums always hold: contract = quote + accepted change orders; contract = billed + open, line by line and tax by
//! tax; billed = asked for + retained.

pub mod accept;
pub mod account;
pub mod additions;
pub mod addressed;
pub mod bill;
pub mod change;
mod change_lines;
pub mod costs;
pub mod credit;
pub mod estimate;
pub mod fold;
pub mod held;
pub mod invoice;
mod invoice_lines;
pub mod issuing;
pub mod ledger;
pub mod moves;
pub mod quote;
mod quote_paper;
pub mod sums;
pub mod terms;
