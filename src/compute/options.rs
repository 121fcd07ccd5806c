//! Optional lines and alternates: each priced by running the whole estimate with it, so that its total is the one the
//! customer would pay.

use super::pricing::CategoryPrice;
use crate::domain::book::{BookRef, PriceBook};
use crate::domain::lines::Outcome;
use crate::domain::words::Category;
use crate::units::Amount;
use crate::wire::notes::{Alternate, OptionalLine, PricingNotes, SiteNotes};
use crate::wire::{At, Code, Faults, List};
use crate::wire_enum;
use serde::Serialize;
use std::borrow::Cow;
use utoipa::ToSchema;

wire_enum! {
    /// What an option is.
    pub enum OptionKind {
        /// something the customer may add
        Optional = "optional",
        /// another way to do the work
        Alternate = "alternate",
    }
}

/// An optional line or an alternate, with its own totals.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct PricedOption {
    /// What it is.
    pub kind: OptionKind,
    /// Its name on this job.
    pub code: String,
    /// What it is, as the customer reads it.
    pub name: String,
    /// Whether it is part of this estimate.
    pub chosen: bool,
    /// What it changes in the notes.
    pub changes: Vec<String>,
    /// Direct cost of the whole work with it.
    pub direct_cost: Amount,
    /// Price before tax of the whole work with it.
    pub price_before_tax: Amount,
    /// Tax on the sale of the whole work with it.
    pub tax: Amount,
    /// Price with tax of the whole work with it.
    pub total: Amount,
    /// Category in which most of the difference in cost lies; absent where nothing costs more or less.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub category: Option<Category>,
    /// An optional line: what it adds to the price before tax. An alternate: its price less that of this estimate.
    pub difference_before_tax: Amount,
    /// What it adds to the direct cost, or the cost of an alternate less that of this estimate.
    pub difference_in_cost: Amount,
    /// An optional line: what it adds to the total. An alternate: its total less that of this estimate.
    pub difference: Amount,
    /// Worst outcome of the checks of the whole work with it.
    pub outcome: Outcome,
    /// Checks that fail with it, in a sentence each.
    pub failed: Vec<String>,
}

/// The figures of one run of the estimate.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Outline {
    /// Cost and price by category.
    pub by_category: Vec<CategoryPrice>,
    /// Direct cost.
    pub direct_cost: Amount,
    /// Price before tax.
    pub price_before_tax: Amount,
    /// Tax on the sale.
    pub tax: Amount,
    /// Price with tax.
    pub total: Amount,
    /// Worst outcome of the checks.
    pub outcome: Outcome,
    /// Checks that failed.
    pub failed: Vec<String>,
}

/// Runs the estimate of notes whose options are left alone.
pub type Run<'r> = &'r dyn Fn(&SiteNotes, &PriceBook, &BookRef) -> Result<Outline, Faults>;

/// The notes with what is chosen in them. What is not known, or not to the book, is left out: the check of the notes says where
/// it stands.
pub fn with_chosen<'n>(notes: &'n SiteNotes, book: &PriceBook) -> Cow<'n, SiteNotes> {
    match &notes.pricing {
        Some(pricing) if !pricing.chosen.is_empty() => with(notes, pricing, &pricing.chosen, book),
        _ => Cow::Borrowed(notes),
    }
}

fn with<'n>(
    notes: &'n SiteNotes,
    pricing: &PricingNotes,
    codes: &[Code],
    book: &PriceBook,
) -> Cow<'n, SiteNotes> {
    if codes.is_empty() {
        return Cow::Borrowed(notes);
    }
    let mut out = notes.clone();
    for alternate in pricing.alternates.iter().filter(|a| codes.contains(&a.code)) {
        change(&mut out, alternate, book);
    }
    for optional in pricing.optional.iter().filter(|o| codes.contains(&o.code)) {
        add(&mut out, optional, book);
    }
    Cow::Owned(out)
}

fn add(notes: &mut SiteNotes, optional: &OptionalLine, book: &PriceBook) {
    let mut extras = notes.extras.to_vec();
    extras.extend(optional.extras.iter().filter(|e| book.item(&e.item).is_some()).cloned());
    // Beyond the length of the list of the notes nothing is lost: the check of the notes says so first.
    if let Some(extras) = List::new(extras) {
        notes.extras = extras;
    }
}

fn change(notes: &mut SiteNotes, alternate: &Alternate, book: &PriceBook) {
    let mut runs = notes.runs.to_vec();
    for change in alternate.systems.iter() {
        let Some(system) = book.system(&change.channel_system) else { continue };
        let fits = |grate: &&Code| system.grates.iter().any(|g| g.item == **grate);
        for run in runs.iter_mut().filter(|r| change.run.as_ref().is_none_or(|id| r.id == *id)) {
            run.channel_system = Some(change.channel_system.clone());
            run.grate = change.grate.as_ref().filter(fits).cloned();
        }
    }
    if let Some(runs) = List::new(runs) {
        notes.runs = runs;
    }
    let known = |way: &&Code| book.doc().concrete_ways.iter().any(|w| w.code() == *way);
    if let Some(way) = alternate.concrete_way.as_ref().filter(known) {
        let mut options = notes.options.clone().unwrap_or_else(crate::wire::notes::Options::none);
        options.concrete_way = Some(way.clone());
        notes.options = Some(options);
    }
}

fn changes_of_optional(optional: &OptionalLine) -> Vec<String> {
    optional.extras.iter().map(|e| format!("{} of {}", e.quantity, e.item)).collect()
}

fn changes_of_alternate(alternate: &Alternate) -> Vec<String> {
    let mut out: Vec<String> = alternate
        .systems
        .iter()
        .map(|s| {
            let run = s.run.as_ref().map_or_else(|| "every run".to_owned(), |r| format!("run {r}"));
            let grate = s.grate.as_ref().map_or_else(String::new, |g| format!(" with {g}"));
            format!("{run}: {}{grate}", s.channel_system)
        })
        .collect();
    out.extend(alternate.concrete_way.iter().map(|w| format!("concrete by {w}")));
    out
}

/// Prices every optional line and alternate of the notes. `base` is the estimate with what is chosen in it.
///
/// # Errors
/// Options with which the notes cannot be computed, with their places.
pub fn priced(
    notes: &SiteNotes,
    book: &PriceBook,
    used: &BookRef,
    base: &Outline,
    run: Run<'_>,
) -> Result<Vec<PricedOption>, Faults> {
    let Some(pricing) = &notes.pricing else { return Ok(Vec::new()) };
    let mut faults = Faults::new();
    let mut out = Vec::with_capacity(pricing.optional.len() + pricing.alternates.len());
    let root = At::ROOT;
    let pricing_at = root.member("pricing");
    let mut computed = |codes: &[Code], at: &At<'_>| match run(&with(notes, pricing, codes, book), book, used)
    {
        Ok(outline) => Some(outline),
        Err(found) => {
            for fault in found.list() {
                let detail =
                    format!("with this the notes cannot be computed: {}: {}", fault.pointer, fault.detail);
                faults.add(at, "option_fails", detail).allow(fault.allowed.iter().cloned());
            }
            None
        }
    };
    let list = pricing_at.member("alternates");
    for (i, alternate) in pricing.alternates.iter().enumerate() {
        let chosen = pricing.chosen.contains(&alternate.code);
        let mut codes: Vec<Code> = pricing
            .chosen
            .iter()
            .filter(|c| !pricing.alternates.iter().any(|a| a.code == **c))
            .cloned()
            .collect();
        codes.push(alternate.code.clone());
        let outline = if chosen { Some(base.clone()) } else { computed(&codes, &list.element(i)) };
        let Some(outline) = outline else { continue };
        let difference = Difference::between(base, &outline);
        let changes = changes_of_alternate(alternate);
        out.push(option(
            OptionKind::Alternate,
            &alternate.code,
            alternate.name.as_str(),
            chosen,
            changes,
            outline,
            difference,
        ));
    }
    let list = pricing_at.member("optional");
    for (i, optional) in pricing.optional.iter().enumerate() {
        let chosen = pricing.chosen.contains(&optional.code);
        let mut codes: Vec<Code> = pricing.chosen.iter().filter(|c| **c != optional.code).cloned().collect();
        if !chosen {
            codes.push(optional.code.clone());
        }
        let Some(other) = computed(&codes, &list.element(i)) else { continue };
        let difference =
            if chosen { Difference::between(&other, base) } else { Difference::between(base, &other) };
        let with = if chosen { base.clone() } else { other };
        let changes = changes_of_optional(optional);
        out.push(option(
            OptionKind::Optional,
            &optional.code,
            optional.name.as_str(),
            chosen,
            changes,
            with,
            difference,
        ));
    }
    faults.finish(Some(out))
}

/// What one run costs more than another.
struct Difference {
    category: Option<Category>,
    cost: Amount,
    before_tax: Amount,
    total: Amount,
}

impl Difference {
    fn between(without: &Outline, with: &Outline) -> Self {
        let cost_in = |outline: &Outline, category: Category| -> Amount {
            outline.by_category.iter().filter(|c| c.category == category).map(|c| c.cost).sum()
        };
        let differing =
            Category::ALL.iter().map(|c| (*c, (cost_in(with, *c) - cost_in(without, *c)).minor().abs()));
        // Of equal differences the first category stands.
        let most = differing.rev().max_by_key(|(_, minor)| *minor).filter(|(_, minor)| *minor > 0);
        Self {
            category: most.map(|(category, _)| category),
            cost: with.direct_cost - without.direct_cost,
            before_tax: with.price_before_tax - without.price_before_tax,
            total: with.total - without.total,
        }
    }
}

fn option(
    kind: OptionKind,
    code: &Code,
    name: &str,
    chosen: bool,
    changes: Vec<String>,
    outline: Outline,
    difference: Difference,
) -> PricedOption {
    let Outline { by_category: _, direct_cost, price_before_tax, tax, total, outcome, failed } = outline;
    let Difference { category, cost, before_tax, total: difference } = difference;
    PricedOption {
        kind,
        code: code.to_string(),
        name: name.to_owned(),
        chosen,
        changes,
        direct_cost,
        price_before_tax,
        tax,
        total,
        category,
        difference_before_tax: before_tax,
        difference_in_cost: cost,
        difference,
        outcome,
        failed,
    }
}
