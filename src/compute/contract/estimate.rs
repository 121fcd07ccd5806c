//! What a paper takes over from a stored estimate. The estimate is read as it was written, never computed again, so that a
//! promise rests on the figures the office saw.

use crate::wire::book::pricing::{Tax, TaxPoint};
use crate::wire::contract::facts::EstimateFact;
use crate::wire::{Faults, read_value};
use serde_json::{Map, Value, json};

/// Where an estimate comes from.
#[derive(Debug, Clone, Copy)]
pub struct Origin<'a> {
    /// Id of the estimate.
    pub estimate_id: &'a str,
    /// Revision.
    pub revision: i64,
    /// Price-book version.
    pub price_book_version_id: &'a str,
}

fn list<'v>(value: &'v Value, pointer: &str) -> impl Iterator<Item = &'v Value> {
    value.pointer(pointer).and_then(Value::as_array).into_iter().flatten()
}

fn named(value: &Value, name: &str) -> Value {
    value.get(name).cloned().unwrap_or(Value::Null)
}

/// An optional line or alternate that is in the price of the estimate.
fn is_chosen(option: &Value) -> bool {
    option.get("chosen").and_then(Value::as_bool) == Some(true)
}

/// An optional line that was not taken into the estimate, with all that a paper needs of it.
fn is_open(option: &Value) -> bool {
    let word = |name: &str| option.get(name).and_then(Value::as_str);
    word("kind") == Some("optional") && !is_chosen(option) && word("category").is_some()
}

fn optional(option: &Value) -> Value {
    json!({"code": named(option, "code"), "name": named(option, "name"), "category": named(option, "category"),
        "price": named(option, "difference_before_tax"), "cost": named(option, "difference_in_cost")})
}

/// The facts of a stored estimate, `answer` being its JSON and `taxes` the taxes of its price book.
///
/// # Errors
/// When the stored estimate has not the shape of one, or its figures do not foot.
pub fn facts(origin: Origin<'_>, answer: &Value, taxes: &[Tax]) -> Result<EstimateFact, Faults> {
    let at = |pointer: &str| answer.pointer(pointer).cloned().unwrap_or(Value::Null);
    let applied: Vec<&Value> = list(answer, "/price/sale_taxes").collect();
    let rules: Vec<Value> = taxes
        .iter()
        .filter(|t| t.due_on == TaxPoint::Sale)
        .filter(|t| applied.iter().any(|a| a.get("tax").and_then(Value::as_str) == Some(t.code.as_str())))
        .map(|t| {
            json!({"code": t.code, "name": t.name, "rate_pct": t.rate_pct, "categories": t.categories.to_vec(),
                "rounding": t.rounding})
        })
        .collect();
    let sums: Vec<Value> = applied
        .iter()
        .map(|a| json!({"code": named(a, "tax"), "taxable": named(a, "taxable"), "amount": named(a, "amount")}))
        .collect();
    let mut fact = json!({
        "estimate_id": origin.estimate_id,
        "revision": origin.revision,
        "price_book_version_id": origin.price_book_version_id,
        "price_book": at("/price_book/name"),
        "price_book_number": at("/price_book/number"),
        "engine": at("/engine"),
        "currency": at("/currency"),
        "categories": at("/price/by_category"),
        "tax_rules": rules,
        "taxes": sums,
        "discounts": list(answer, "/price/steps")
            .filter(|s| s.get("name").and_then(Value::as_str) == Some("discount"))
            .map(|s| json!({"name": named(s, "label"), "amount": named(s, "amount")}))
            .collect::<Vec<_>>(),
        "allowances": list(answer, "/price/allowances")
            .map(|a| json!({"name": named(a, "name"), "amount": named(a, "amount")}))
            .collect::<Vec<_>>(),
        "optional": list(answer, "/options").filter(|o| is_open(o)).map(optional).collect::<Vec<_>>(),
        "chosen": list(answer, "/options").filter(|o| is_chosen(o)).map(|o| named(o, "code")).collect::<Vec<_>>(),
        "quantities": list(answer, "/layout/totals")
            .map(|q| json!({"name": named(q, "name"), "quantity": named(q, "quantity")}))
            .collect::<Vec<_>>(),
        "crew_hours": at("/summary/crew_hours/value"),
        "person_hours": at("/summary/person_hours/value"),
        "cautions": list(answer, "/cautions").map(|c| named(c, "text")).collect::<Vec<_>>(),
        "failed": at("/summary/failed"),
        "excluded": at("/excluded"),
        "by_others": at("/by_others"),
    });
    let optional = [("notes_to_customer", "/notes_to_customer"), ("crew_days", "/plan/crew_days")];
    for (name, pointer) in optional {
        if let (Some(there), Some(members)) = (answer.pointer(pointer), fact.as_object_mut()) {
            members.insert(name.to_owned(), there.clone());
        }
    }
    prune(&mut fact);
    let fact: EstimateFact = read_value(&fact)?;
    let mut faults = Faults::new();
    let prices: crate::units::Amount = fact.categories.iter().map(|c| c.price.0).sum();
    let before_tax = at("/price/price_before_tax");
    if before_tax.as_str() != Some(prices.to_string().as_str()) {
        faults.add(
            &crate::wire::At::ROOT,
            "does_not_foot",
            format!("the categories make {prices}, the price before tax is {before_tax}"),
        );
    }
    if fact.tax_rules.len() != fact.taxes.len() {
        faults.add(
            &crate::wire::At::ROOT,
            "unknown_tax",
            "a tax of the estimate is not among those of its price book",
        );
    }
    faults.finish(Some(fact))
}

/// Members of categories that a paper does not take over are dropped; everything else stays as it is.
fn prune(fact: &mut Value) {
    if let Some(Value::Array(categories)) = fact.get_mut("categories") {
        for category in categories {
            if let Value::Object(members) = category {
                let kept: Map<String, Value> = std::mem::take(members)
                    .into_iter()
                    .filter(|(name, _)| ["category", "cost", "price"].contains(&name.as_str()))
                    .collect();
                *members = kept;
            }
        }
    }
}
