//! What the customer may take on top: with a price written by hand, or an optional line of the estimate.

use super::quote::own_taxes;
use super::sums::ByCategory;
use crate::domain::words::Category;
use crate::units::Amount;
use crate::wire::contract::Signed;
use crate::wire::contract::account::ContractLine;
use crate::wire::contract::facts::{EstimateFact, OptionalFact, TaxRule, TaxSum};
use crate::wire::contract::terms::Addition;
use crate::wire::{At, Code, Faults, Label};

/// Begins the code of an addition in the contract.
pub(super) const PREFIX: &str = "add-";

/// An addition with everything known of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Offered {
    pub(super) code: Code,
    pub(super) name: Label,
    category: Category,
    price: Amount,
    cost: Amount,
    basis: String,
}

fn optional<'a>(addition: &Addition, estimate: &'a EstimateFact) -> Option<&'a OptionalFact> {
    estimate.optional.iter().find(|o| o.code == addition.code)
}

/// What is wrong with the additions of a quote on this estimate.
pub(super) fn check(additions: &[Addition], estimate: &EstimateFact, list: &At<'_>, faults: &mut Faults) {
    for (i, addition) in additions.iter().enumerate() {
        let here = list.element(i);
        if estimate.chosen.contains(&addition.code) {
            let detail = format!(
                "revision {} has it in its price already: leave the addition out, or quote a revision without it in \
                 `pricing.chosen`",
                estimate.revision.get()
            );
            faults.value(&here.member("code"), "included_already", addition.code.as_str(), detail);
            continue;
        }
        match (optional(addition, estimate), addition.price) {
            (Some(found), None) if found.price.0 < Amount::ZERO => {
                let detail =
                    format!("the estimate has it at {}: less than nothing is no addition", found.price);
                faults.value(&here.member("code"), "out_of_range", addition.code.as_str(), detail);
            }
            (Some(_), _) => {}
            (None, None) => {
                let detail = "neither a price nor an optional line of this code in the estimate";
                faults
                    .value(&here.member("code"), "unknown_code", addition.code.as_str(), detail)
                    .allow(estimate.optional.iter().map(|o| o.code.as_str()));
            }
            (None, Some(_)) => {
                for (name, sent) in
                    [("name", addition.name.is_some()), ("category", addition.category.is_some())]
                {
                    if !sent {
                        faults.add(&here.member(name), "required", "what has a price of its own needs it");
                    }
                }
            }
        }
    }
}

/// The addition as it is offered; `None` where [`check`] finds a fault.
pub(super) fn offered(addition: &Addition, estimate: &EstimateFact) -> Option<Offered> {
    let found = optional(addition, estimate);
    let revision = estimate.revision.get();
    Some(Offered {
        code: addition.code.clone(),
        name: addition.name.clone().or_else(|| found.map(|o| o.name.clone()))?,
        category: addition.category.or(found.map(|o| o.category))?,
        price: addition.price.or(found.map(|o| o.price.0))?,
        cost: addition.cost.or(found.map(|o| o.cost.0)).unwrap_or_default(),
        basis: match addition.price {
            Some(_) => "price as written in the terms".to_owned(),
            None => format!("what it adds to the price before tax of revision {revision}"),
        },
    })
}

/// Its line in the contract.
pub(super) fn lines(offered: &Offered) -> Vec<(ContractLine, String)> {
    let line = Code::new(&format!("{PREFIX}{}", offered.code)).map(|code| ContractLine {
        code,
        description: offered.name.clone(),
        category: offered.category,
        price: Signed(offered.price),
        cost: Signed(offered.cost),
    });
    line.map(|line| (line, offered.basis.clone())).into_iter().collect()
}

/// The taxes on it.
pub(super) fn taxes(rules: &[TaxRule], offered: &Offered) -> Vec<TaxSum> {
    own_taxes(rules, &ByCategory::collect([(offered.category, offered.price)]))
}
