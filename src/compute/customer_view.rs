//! An estimate as the customer sees it: a view of the stored figures. It hides costs, rates and hours; it reckons no price
//! of its own. What it splits, it splits by largest remainder, so that every column foots to the stored total.

use crate::compute::options::OptionKind;
use crate::domain::words::Category;
use crate::units::decimal_text::plain_decimal;
use crate::units::money::share_out;
use crate::units::{Amount, Currency};
use crate::wire_enum;
use serde::Serialize;
use serde_json::Value;
use utoipa::ToSchema;

wire_enum! {
    /// How much the customer sees of what makes up the price.
    pub enum Detail {
        /// the price only
        Total = "total",
        /// the price of each category
        Categories = "categories",
        /// the price of each material, hire, fee and the like; labor in one line
        Lines = "lines",
    }
}

/// A part of the price.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct ViewLine {
    /// What it is.
    pub description: String,
    /// Category.
    pub category: Category,
    /// Quantity with its unit; absent for labor and sums.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false, example = "6 each")]
    pub quantity: Option<String>,
    /// Price before discounts and tax.
    pub price: Amount,
}

/// A named sum.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct ViewSum {
    /// What it is.
    pub name: String,
    /// The sum.
    pub amount: Amount,
}

/// An option, as the customer sees it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct ViewOption {
    /// What it is.
    pub kind: OptionKind,
    /// Its name on this job.
    pub code: String,
    /// What it is, as the customer reads it.
    pub name: String,
    /// Whether it is part of this price.
    pub chosen: bool,
    /// Price with tax of the whole work with it.
    pub total: Amount,
    /// What it adds, or how its total differs.
    pub difference: Amount,
}

/// An estimate as the customer sees it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct CustomerView {
    /// What the job is called.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub title: Option<String>,
    /// ISO 4217 code of every amount.
    #[schema(value_type = Currency)]
    pub currency: String,
    /// How much is shown.
    pub detail: Detail,
    /// The parts of the price; empty when the total only is shown. They sum to `subtotal`.
    pub lines: Vec<ViewLine>,
    /// Price before discounts, allowances and tax.
    pub subtotal: Amount,
    /// Discounts, each a sum taken off.
    pub discounts: Vec<ViewSum>,
    /// Allowances that stand in the price as they are.
    pub allowances: Vec<ViewSum>,
    /// Subtotal less discounts, with allowances: the quoted figure.
    pub price_before_tax: Amount,
    /// Taxes on the sale.
    pub taxes: Vec<ViewSum>,
    /// Price with tax.
    pub total: Amount,
    /// What the customer may choose.
    pub options: Vec<ViewOption>,
    /// What the price does not include.
    pub excluded: Vec<String>,
    /// What others do.
    pub by_others: Vec<String>,
    /// What the customer should read.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub notes_to_customer: Option<String>,
    /// What to mind.
    pub cautions: Vec<String>,
}

fn amount(value: Option<&Value>) -> Option<Amount> {
    let text = value?.as_str()?;
    let (sign, digits) = text.strip_prefix('-').map_or((1, text), |rest| (-1, rest));
    Some(Amount::from_minor(sign * plain_decimal(digits, crate::units::money::MINOR_DIGITS)?))
}

fn text(value: &Value, name: &str) -> Option<String> {
    value.get(name)?.as_str().map(ToOwned::to_owned)
}

fn list<'v>(value: &'v Value, name: &str) -> impl Iterator<Item = &'v Value> + use<'v> {
    value.get(name).and_then(Value::as_array).into_iter().flatten()
}

fn texts(value: &Value, name: &str) -> Vec<String> {
    list(value, name).filter_map(|v| v.as_str().map(ToOwned::to_owned)).collect()
}

fn category(value: &Value) -> Option<Category> {
    Category::from_word(value.get("category")?.as_str()?)
}

/// A category's part of the price, and its cost.
struct Part {
    category: Category,
    price: Amount,
    cost: Amount,
}

/// What parts weigh where a sum falls on all of them: their prices, or their costs where nothing is left of any price.
fn weights(parts: &[Part]) -> Vec<i64> {
    let by_price = parts.iter().any(|p| p.price > Amount::ZERO);
    parts.iter().map(|p| if by_price { p.price.minor() } else { p.cost.minor() }).collect()
}

/// Gives the parts of a price back what a discount took off them.
fn put_back(parts: &mut [Part], discount: Amount, kept_to: Option<Category>) {
    let weights = match kept_to {
        Some(kept_to) => parts.iter().map(|p| i64::from(p.category == kept_to)).collect(),
        None => weights(parts),
    };
    for (part, share) in parts.iter_mut().zip(share_out(discount, &weights)) {
        part.price += share;
    }
}

/// The view of a stored estimate. `None` when it has not the shape of one.
///
/// # Formula
/// subtotal = price before tax - allowances as they stand + discounts; the part of a category = its price - its allowances +
/// what discounts took off it: all of a discount kept to the category, its share by price of one on everything; within the
/// category by the cost of its line, by largest remainder
/// # Units
/// currency
/// # Valid for
/// every estimate
/// # Source
/// largest-remainder (Hamilton) method of apportionment (from memory)
/// # Example
/// ```
/// use rillcast::compute::customer_view::{Detail, view};
/// let estimate = serde_json::json!({"currency": "USD", "cost_lines": [], "price": {
///     "by_category": [{"category": "labor", "cost": "70.00", "price": "95.00"}],
///     "steps": [{"name": "discount", "label": "Neighbor", "amount": "-5.00"}],
///     "price_before_tax": "95.00", "sale_taxes": [], "total": "95.00"}});
/// let seen = view(&estimate, Detail::Categories).unwrap();
/// assert_eq!((seen.subtotal.to_string(), seen.lines[0].price.to_string()), ("100.00".into(), "100.00".into()));
/// ```
pub fn view(estimate: &Value, detail: Detail) -> Option<CustomerView> {
    let price = estimate.get("price")?;
    let price_before_tax = amount(price.get("price_before_tax"))?;
    let (mut discounts, mut kept_to) = (Vec::new(), Vec::new());
    for step in list(price, "steps").filter(|s| s["name"] == "discount") {
        let name = text(step, "label").unwrap_or_else(|| "discount".to_owned());
        discounts.push(ViewSum { name, amount: -amount(step.get("amount"))? });
        kept_to.push(category(step));
    }
    let mut allowances = Vec::new();
    let mut standing: Vec<(Category, Amount)> = Vec::new();
    for allowance in list(price, "allowances").filter(|a| a["marked_up"] == false) {
        let sum = amount(allowance.get("amount"))?;
        standing.push((category(allowance)?, sum));
        allowances.push(ViewSum { name: text(allowance, "name")?, amount: sum });
    }
    let off: Amount = discounts.iter().map(|d| d.amount).sum();
    let subtotal = price_before_tax - standing.iter().map(|(_, a)| *a).sum() + off;
    let mut parts: Vec<Part> = Vec::new();
    for part in list(price, "by_category") {
        let category = category(part)?;
        let stands: Amount = standing.iter().filter(|(c, _)| *c == category).map(|(_, a)| *a).sum();
        let (price, cost) = (amount(part.get("price"))? - stands, amount(part.get("cost"))?);
        parts.push(Part { category, price, cost });
    }
    // From the last discount to the first: each was taken off what those before it had left.
    for (discount, kept_to) in discounts.iter().zip(kept_to).rev() {
        put_back(&mut parts, discount.amount, kept_to);
    }
    let shares = share_out(subtotal, &weights(&parts));
    let mut lines = Vec::new();
    for (Part { category, .. }, part) in parts.into_iter().zip(shares) {
        let whole =
            |price| ViewLine { description: category.title().to_owned(), category, quantity: None, price };
        let own: Vec<&Value> =
            list(estimate, "cost_lines").filter(|l| l["category"] == category.word()).collect();
        match detail {
            Detail::Total => {}
            Detail::Lines if category != Category::Labor && !own.is_empty() => {
                let mut costs = Vec::with_capacity(own.len());
                for line in &own {
                    costs.push(amount(line.get("cost"))?.minor());
                }
                for (line, price) in own.into_iter().zip(share_out(part, &costs)) {
                    let quantity = line.get("quantity")?;
                    let (value, unit) = (text(quantity, "value")?, text(quantity, "unit")?);
                    lines.push(ViewLine {
                        description: text(line, "description")?,
                        category,
                        quantity: (unit != "lump_sum").then(|| format!("{value} {unit}")),
                        price,
                    });
                }
            }
            _ => lines.push(whole(part)),
        }
    }
    let mut taxes = Vec::new();
    for tax in list(price, "sale_taxes") {
        taxes.push(ViewSum { name: text(tax, "name")?, amount: amount(tax.get("amount"))? });
    }
    let mut options = Vec::new();
    for option in list(estimate, "options") {
        options.push(ViewOption {
            kind: OptionKind::from_word(option.get("kind")?.as_str()?)?,
            code: text(option, "code")?,
            name: text(option, "name")?,
            chosen: option.get("chosen")?.as_bool()?,
            total: amount(option.get("total"))?,
            difference: amount(option.get("difference"))?,
        });
    }
    Some(CustomerView {
        title: text(estimate, "title"),
        currency: text(estimate, "currency")?,
        detail,
        lines,
        subtotal,
        discounts,
        allowances,
        price_before_tax,
        taxes,
        total: amount(price.get("total"))?,
        options,
        excluded: texts(estimate, "excluded"),
        by_others: texts(estimate, "by_others"),
        notes_to_customer: text(estimate, "notes_to_customer"),
        cautions: list(estimate, "cautions").filter_map(|c| text(c, "text")).collect(),
    })
}
