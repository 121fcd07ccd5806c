//! Stage: from cost lines to the quoted figure.

pub mod rates;
pub mod tax;
pub mod terms;
#[cfg(test)]
mod tests;

pub use rates::added;

use crate::domain::lines::{Check, CostLine};
use crate::domain::words::Category;
use crate::units::money::share_out;
use crate::units::show::worded;
use crate::units::{Amount, Currency, Percent};
use crate::wire::book::pricing::{Compounding, MarkupScheme, QuoteRounding, RateKind, Tax, TaxPoint};
use crate::wire::{At, Code, Faults};
use rates::{Adding, Beside};
use serde::Serialize;
use smallvec::SmallVec;
use tax::tax_due;
use terms::{AllowanceLine, PriceStepName, Running, Terms};
use utoipa::ToSchema;

/// From direct cost to the price with tax, every step one rounded amount.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct PriceBuildUp {
    /// ISO 4217 code of every amount.
    pub currency: Currency,
    /// Markup scheme used.
    pub scheme: String,
    /// Where the sale takes place, as taxes name it.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub place: Option<String>,
    /// Cost and price by category; both columns foot.
    pub by_category: Vec<CategoryPrice>,
    /// Sum of the rounded cost lines and of purchase taxes.
    pub direct_cost: Amount,
    /// The steps in order.
    pub steps: Vec<PriceStep>,
    /// Sums for what is not known yet.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub allowances: Vec<AllowanceLine>,
    /// The quoted figure before tax.
    pub price_before_tax: Amount,
    /// Taxes on purchases, part of the direct cost.
    pub purchase_taxes: Vec<TaxLine>,
    /// Taxes on the sale.
    pub sale_taxes: Vec<TaxLine>,
    /// Sum of the taxes on the sale.
    pub sale_tax: Amount,
    /// Price with tax.
    pub total: Amount,
}

/// Cost and price of one category.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct CategoryPrice {
    /// The category.
    pub category: Category,
    /// Sum of its rounded cost lines, with purchase tax.
    pub cost: Amount,
    /// Its share of the price before tax, by largest remainder.
    pub price: Amount,
}

/// One step of the build-up.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct PriceStep {
    /// What it is.
    pub name: PriceStepName,
    /// What a discount is for.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub label: Option<String>,
    /// The category a discount is kept to; absent where it is on everything.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub category: Option<Category>,
    /// Percentage; absent where the step is none of a rate.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub pct: Option<Percent>,
    /// What the percentage is taken on.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub as_kind: Option<RateKind>,
    /// The amount the step starts from.
    pub base: Amount,
    /// What it adds, rounded half away from zero.
    pub amount: Amount,
    /// The sum after it.
    pub sum: Amount,
    /// The step category by category, where categories have rates of their own; the amounts sum to that of the step.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub by_category: Vec<CategoryStep>,
    /// The numbers it came from.
    pub basis: String,
}

/// One step for one category.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct CategoryStep {
    /// The category.
    pub category: Category,
    /// Percentage.
    pub pct: Percent,
    /// What the percentage is taken on.
    pub as_kind: RateKind,
    /// The amount the step starts from.
    pub base: Amount,
    /// What it adds, rounded half away from zero.
    pub amount: Amount,
    /// The sum after it.
    pub sum: Amount,
}

/// One tax.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct TaxLine {
    /// Code of the tax.
    pub tax: String,
    /// Its name.
    pub name: String,
    /// What it falls on.
    pub taxable: Amount,
    /// Rate.
    pub rate_pct: Percent,
    /// The tax, carried to the third decimal, up when that is above 4.
    pub amount: Amount,
    /// Rule it follows; `GET /v1/rules` lists them all.
    pub rule: &'static str,
    /// The numbers it came from.
    pub basis: String,
}

/// Builds the price up from cost lines. The lines foot: direct cost is the sum of the rounded lines and purchase taxes.
pub fn build_up(
    lines: &[CostLine],
    scheme: &MarkupScheme,
    taxes: &[Tax],
    currency: Currency,
) -> PriceBuildUp {
    build_up_with(lines, scheme, taxes, currency, &Terms::default(), &mut Vec::new())
}

/// The same with allowances, discounts and the place of the sale. Marked-up allowances must be among the lines already.
pub fn build_up_with(
    lines: &[CostLine],
    scheme: &MarkupScheme,
    taxes: &[Tax],
    currency: Currency,
    terms: &Terms<'_>,
    checks: &mut Vec<Check>,
) -> PriceBuildUp {
    let taxes: Vec<&Tax> = taxes.iter().filter(|t| terms.is_due(t)).collect();
    let mut by_category: Vec<CategoryPrice> = Category::ALL
        .iter()
        .map(|category| CategoryPrice {
            category: *category,
            cost: lines.iter().filter(|l| l.category == *category).map(|l| l.cost).sum(),
            price: Amount::ZERO,
        })
        .collect();
    let purchase_taxes: Vec<TaxLine> =
        taxes.iter().filter(|t| t.due_on == TaxPoint::Purchase).map(|t| purchase_tax(t, lines)).collect();
    for (tax, line) in taxes.iter().filter(|t| t.due_on == TaxPoint::Purchase).zip(&purchase_taxes) {
        // The tax is a cost of what it falls on, shared by cost.
        let weights: Vec<i64> = by_category
            .iter()
            .map(|c| if tax.categories.contains(&c.category) { c.cost.minor() } else { 0 })
            .collect();
        for (category, part) in by_category.iter_mut().zip(share_out(line.amount, &weights)) {
            category.cost += part;
        }
    }
    let direct_cost: Amount = by_category.iter().map(|c| c.cost).sum();
    let mut running = Running::new(&by_category, scheme);
    let (steps, price_before_tax) = steps(direct_cost, scheme, terms, &mut running, checks);
    // Allowances as they stand keep to their category; the rest is shared by what each category came to.
    let shared = price_before_tax - terms.as_they_stand();
    let standing = |category: &CategoryPrice| terms.as_they_stand_in(category.category);
    if shared < Amount::ZERO {
        // rounded down with nothing but allowances in it: no category goes below nothing
        let weights: Vec<i64> = by_category.iter().map(|c| standing(c).minor()).collect();
        for (category, price) in by_category.iter_mut().zip(share_out(price_before_tax, &weights)) {
            category.price = price;
        }
    } else {
        for (category, price) in by_category.iter_mut().zip(share_out(shared, &running.weights())) {
            category.price = price + standing(category);
        }
    }
    let sale_taxes: Vec<TaxLine> =
        taxes.iter().filter(|t| t.due_on == TaxPoint::Sale).map(|t| sale_tax(t, &by_category)).collect();
    let sale_tax: Amount = sale_taxes.iter().map(|t| t.amount).sum();
    by_category.retain(|c| c.cost != Amount::ZERO || c.price != Amount::ZERO);
    PriceBuildUp {
        currency,
        scheme: scheme.code.as_str().to_owned(),
        place: terms.place.map(ToString::to_string),
        by_category,
        direct_cost,
        steps,
        allowances: terms.lines(),
        price_before_tax,
        purchase_taxes,
        sale_taxes,
        sale_tax,
        total: price_before_tax + sale_tax,
    }
}

fn steps(
    direct_cost: Amount,
    scheme: &MarkupScheme,
    terms: &Terms<'_>,
    running: &mut Running,
    checks: &mut Vec<Check>,
) -> (Vec<PriceStep>, Amount) {
    let mut sum = direct_cost;
    let mut out = Vec::with_capacity(5);
    let rates = [&scheme.overhead, &scheme.contingency, &scheme.profit];
    let beside = (scheme.compounding == Compounding::Additive).then(|| Beside::of(direct_cost, rates));
    for (name, rate) in rates::STEPS.into_iter().zip(rates) {
        if !scheme.by_category.is_empty() {
            let step = running.step(name, scheme);
            sum = step.sum;
            out.push(step);
            continue;
        }
        let base = if beside.is_some() { direct_cost } else { sum };
        let Adding { amount, basis } = match &beside {
            Some(rates) => rates.step(name),
            None => rates::upon(base, rate),
        };
        sum += amount;
        out.push(PriceStep {
            pct: Some(rate.pct),
            as_kind: Some(rate.as_kind),
            ..plain_step(name, base, base + amount, basis)
        });
        if let Some(step) = out.last_mut() {
            step.sum = sum;
        }
    }
    running.close(sum);
    for discount in terms.discounts {
        let step = running.discount(discount, sum, checks);
        sum = step.sum;
        out.push(step);
    }
    if terms.as_they_stand() != Amount::ZERO {
        let after = sum + terms.as_they_stand();
        out.push(plain_step(PriceStepName::Allowances, sum, after, "allowances as they stand".to_owned()));
        sum = after;
    }
    if let Some(least) = scheme.least_charge.filter(|l| *l > sum) {
        out.push(plain_step(
            PriceStepName::LeastCharge,
            sum,
            least,
            worded!("no job is priced below {least}"),
        ));
        sum = least;
    }
    if let Some(step) = scheme.round_to.filter(|s| *s > Amount::ZERO) {
        let mut rounded = match scheme.rounding {
            QuoteRounding::Up => sum.up_to(step),
            QuoteRounding::Nearest => sum.nearest(step),
        };
        let mut basis = worded!("the quoted figure is rounded {} to a multiple of {step}", scheme.rounding);
        if let Some(least) = scheme.least_charge.filter(|l| *l > rounded) {
            // The nearest multiple may lie below the least charge.
            rounded = least.up_to(step);
            basis.push_str(&worded!(", up where that is below the least charge of {least}"));
        }
        out.push(plain_step(PriceStepName::Rounding, sum, rounded, basis));
        sum = rounded;
    }
    (out, sum)
}

/// A step that is no rate.
fn plain_step(name: PriceStepName, base: Amount, sum: Amount, basis: String) -> PriceStep {
    PriceStep {
        name,
        label: None,
        category: None,
        pct: None,
        as_kind: None,
        base,
        amount: sum - base,
        sum,
        by_category: Vec::new(),
        basis,
    }
}

fn purchase_tax(tax: &Tax, lines: &[CostLine]) -> TaxLine {
    let taxed: SmallVec<[Amount; 64]> =
        lines.iter().filter(|l| tax.categories.contains(&l.category)).map(|l| l.cost).collect();
    tax_line(tax, &taxed, tax.rounding.word())
}

/// Refuses a price that cannot be written; nothing of it is kept.
///
/// # Errors
/// A cost line or a sum beyond [`Amount::MOST`].
pub(super) fn in_range(cost_lines: &[CostLine], price: &PriceBuildUp) -> Result<(), Faults> {
    let mut faults = Faults::new();
    let sums = [price.direct_cost, price.price_before_tax, price.total];
    let beyond = |amount: &Amount| *amount > Amount::MOST || *amount < -Amount::MOST;
    if let Some(line) = cost_lines.iter().find(|l| beyond(&l.cost)) {
        let detail = worded!("`{}` alone comes to more than {}", line.code, Amount::MOST);
        faults.add(&At::ROOT, "out_of_range", detail);
    } else if sums.iter().any(beyond) {
        faults.add(&At::ROOT, "out_of_range", worded!("the price comes to more than {}", Amount::MOST));
    }
    if faults.is_empty() { Ok(()) } else { Err(faults) }
}

/// What the taxes on purchases come to on costs by category, by themselves.
pub(super) fn purchase_tax_on(costs: &[(Category, Amount)], place: Option<&Code>, taxes: &[Tax]) -> Amount {
    let terms = Terms { place, ..Terms::default() };
    taxes
        .iter()
        .filter(|t| t.due_on == TaxPoint::Purchase && terms.is_due(t))
        .map(|tax| {
            let taxed: SmallVec<[Amount; 8]> =
                costs.iter().filter(|(c, _)| tax.categories.contains(c)).map(|(_, a)| *a).collect();
            tax_due(tax.rate_pct, tax.rounding, &taxed)
        })
        .sum()
}

fn sale_tax(tax: &Tax, by_category: &[CategoryPrice]) -> TaxLine {
    let taxed: SmallVec<[Amount; 8]> =
        by_category.iter().filter(|c| tax.categories.contains(&c.category)).map(|c| c.price).collect();
    tax_line(tax, &taxed, tax.rounding.on_sale())
}

fn tax_line(tax: &Tax, taxed: &[Amount], rounded: &str) -> TaxLine {
    let taxable: Amount = taxed.iter().copied().sum();
    let amount = tax_due(tax.rate_pct, tax.rounding, taxed);
    TaxLine {
        tax: tax.code.as_str().to_owned(),
        name: tax.name.as_str().to_owned(),
        taxable,
        rate_pct: tax.rate_pct,
        amount,
        rule: "tax",
        basis: worded!("{taxable} x {}, rounded {rounded}", tax.rate_pct),
    }
}
