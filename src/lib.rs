//! rillcast: the notes of a site walk in; what a surface channel drain job needs and costs out.
//!
//! An office posts site notes (runs of channel, drain lines, what crosses, what lies on top) and gets back measured
//! quantities, the concrete order, the hours, the price, checks and cautions, every figure with its working.
//!
//! ```text
//! bytes ─▶ wire::read_document ─▶ SiteNotes, BookDoc        every fault at once, with its pointer
//! SiteNotes + PriceBook ─▶ domain::layout::resolve ─▶ Layout  codes found, ends closed, lines ordered
//! Layout ─▶ compute::pipeline ─▶ Estimate                    all stages in one file
//! Estimate ─▶ http::v1 ─▶ store                              one transaction per request
//! ```
//!
//! | room | what it holds | may use |
//! |---|---|---|
//! | [`units`] | exact lengths, areas, volumes; units; percentages; money and its roundings | [`wire`] for reading |
//! | [`wire`] | JSON to checked types; the shapes of price book, notes and calculator bodies | [`units`], the words of [`domain`] |
//! | [`domain`] | checked price book, resolved layout, measures; the demo data | [`units`], [`wire`]; two files ask `compute`: the check of a book's hours and days, and the demo's rain |
//! | [`compute`] | the stages: take-off, concrete, labor, hire, price; plan, risk, records, learning; rules, cautions, answers | [`units`], [`wire`], [`domain`] |
//! | [`documents`] | what leaves as a file: papers as printed pages, UBL and CSV; purchase orders and cutting sheets; price lists; the calendar of a plan | [`units`], [`wire`], [`domain`], [`compute`] |
//! | [`store`] | all SQL | no other: it has row shapes of its own |
//! | [`http`] | routes, keys, problems, paging; no engineering | everything |
//! | [`app`], [`config`], [`telemetry`], [`demo`], [`health`] | starting, serving, settings, log, demo set-up, health check | everything |
//!
//! The first five rooms are pure: no clock, no random number, no environment, no store, no network. A test says so, and
//! another holds this table against the code.
//!
//! Where to look: a quantity of a run is in [`compute::takeoff::run`] or [`compute::takeoff::channel`], of a line in
//! [`compute::takeoff::line`] and [`compute::takeoff::pipe`]; the order of the stages is [`compute::pipeline`]; the text of
//! a rule is in [`compute::rules`]; water starts in [`compute::drainage`]; the tasks of a plan are in [`compute::job_plan::tasks`], their dates in
//! [`mod@compute::plan::schedule`]; what stops a price book from being published is [`domain::book::check`]; a route is in
//! [`http`].
//!
//! What it does not do: it draws nothing, it decides nothing a licensed engineer must decide, and it knows no maker's
//! products: everything it offers stands in the office's own price book.

pub mod app;
pub mod compute;
pub mod config;
pub mod demo;
pub mod documents;
pub mod domain;
pub mod health;
pub mod http;
pub mod store;
pub mod telemetry;
pub mod units;
pub mod wire;
