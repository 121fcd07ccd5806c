//! The rounding order of EN 16931 (BR-CO-10, 13, 14, 15, 17 as restated; from memory) on one invoice with four traps, each of
//! which gives another cent when it is taken wrongly. The figures were worked out by hand from the rules.
//! `source_basis`: rules from memory, figures by hand.

use rillcast::compute::contract::sums::{ByCategory, tax};
use rillcast::domain::words::Category;
use rillcast::units::{Amount, Price};
use rillcast::wire::contract::facts::TaxRule;
use rust_decimal::Decimal;
use serde_json::json;

#[test]
fn lines_are_rounded_first_and_taxes_once_per_tax() {
    let line = |quantity: &str, price: i64| {
        Price::from_millionths(price).times(quantity.parse::<Decimal>().unwrap())
    };
    let pipe = line("137.5", 3_270_000);
    let rock = line("8.75", 58_450_000);
    let basin = line("3", 184_150_000);
    let labor = line("26.25", 68_500_000);
    // Half to even gives 449.62 and 1798.12; binary floating point gives 449.62.
    assert_eq!([pipe, rock, basin, labor].map(|a| a.to_string()), ["449.63", "511.44", "552.45", "1798.13"]);
    let sum: Amount = [pipe, rock, basin, labor].into_iter().sum();
    // Rounding the exact sum once gives 3311.64.
    assert_eq!(sum.to_string(), "3311.65");
    let allowance = Amount::from_minor(7500);
    let before_tax = sum - allowance;
    assert_eq!(before_tax.to_string(), "3236.65");
    let materials = pipe + rock + basin - allowance;
    let sums = ByCategory::collect([(Category::Material, materials), (Category::Labor, labor)]);
    let rule: TaxRule = rillcast::wire::read_value(&json!({"code": "t", "name": "T", "rate_pct": "8.25",
        "categories": ["material"], "rounding": "per_document"}))
    .unwrap();
    assert_eq!(sums.taxable(&rule).to_string(), "1438.52");
    // 118.6779; taxes of single lines sum to 118.67.
    let due = tax(&rule, &sums);
    assert_eq!(due.to_string(), "118.68");
    let with_tax = before_tax + due;
    assert_eq!(with_tax.to_string(), "3355.33");
    assert_eq!((with_tax - Amount::from_minor(50_000)).to_string(), "2855.33");
}
