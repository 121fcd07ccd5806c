//! The version before: what changed with it and what did not.

use super::prices::far;
use super::{Looks, PRACTICE};
use crate::domain::book::price_moves::price_by;
use crate::units::Price;
use crate::units::show::worded;
use crate::wire::book::{BookDoc, Item};
use crate::wire::{At, Code};
use rust_decimal::Decimal;
use std::collections::HashMap;

/// How far a price by another unit lies from the one before, either way.
const UNIT_TIMES: Decimal = Decimal::TWO;

pub(super) fn look(looks: &mut Looks<'_>, before: &BookDoc) {
    currency(looks, before);
    units(looks, before);
}

/// Another currency than before, with most prices as they were: the figures have not been changed with it.
fn currency(looks: &mut Looks<'_>, before: &BookDoc) {
    let book = looks.book;
    if book.currency == before.currency {
        return;
    }
    let old: HashMap<&Code, Price> = before.items.iter().map(|i| (&i.code, i.price)).collect();
    let kept: Vec<bool> = book.items.iter().filter_map(|i| Some(*old.get(&i.code)? == i.price)).collect();
    let same = kept.iter().filter(|same| **same).count();
    if 2 * same <= kept.len() {
        return;
    }
    let usual = worded!("{}, or other prices", before.currency);
    let detail = worded!(
        "prices are in {} and were in {} in the version before, yet {same} of {} have the same figure ({PRACTICE})",
        book.currency,
        before.currency,
        kept.len()
    );
    looks.note(&At::ROOT.member("currency"), detail, book.currency.to_string(), usual, PRACTICE);
}

/// Items that are priced by another unit than before, where the price has not changed with it.
fn units(looks: &mut Looks<'_>, before: &BookDoc) {
    let old: HashMap<&Code, &Item> = before.items.iter().map(|i| (&i.code, i)).collect();
    let list = At::ROOT.member("items");
    for (i, item) in looks.book.items.iter().enumerate() {
        let Some(old) = old.get(&item.code).filter(|old| old.unit != item.unit) else { continue };
        let here = list.element(i);
        let here = here.member("unit");
        let Item { code, unit, price, .. } = item;
        // of what is free, or was, no unit tells anything; what is free is told by itself
        if price.decimal().is_zero() || old.price.decimal().is_zero() {
            continue;
        }
        let value = worded!("{price} by the {unit}");
        let was = worded!("{} by the {}", old.price, old.unit);
        match price_by(*price, *unit, old.unit) {
            None => {
                let detail = worded!(
                    "`{code}` is {value} here and was {was} in the version before: these two cannot be compared ({PRACTICE})"
                );
                looks.note(&here, detail, value, worded!("by the {}", old.unit), PRACTICE);
            }
            Some(same) => {
                let detail = |usual: &str| {
                    worded!(
                        "`{code}` is {value} here, {} by the {}, and was {was} in the version before: usually {usual} by the {} ({PRACTICE})",
                        Price::rounded(same),
                        old.unit,
                        old.unit
                    )
                };
                far(looks, &here, same, (old.price.decimal(), UNIT_TIMES), value.clone(), detail);
            }
        }
    }
}
