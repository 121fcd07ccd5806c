//! Markup, margin, tax, sharing out, hire.

use crate::support::{Cases, number};
use rillcast::compute::machines::cheapest;
use rillcast::compute::pricing::{added, build_up};
use rillcast::domain::lines::CostLine;
use rillcast::domain::words::Category;
use rillcast::units::money::{share_out, tax_rounding};
use rillcast::units::percent::plain_decimal;
use rillcast::units::{Amount, Currency, Percent, Price, Quantity};
use rillcast::wire::book::pricing::{MarkupScheme, RateKind, Tax};
use rust_decimal::Decimal;
use serde_json::{Value, json};

fn cases() -> Cases {
    Cases::of(include_str!("cases/money.json"))
}

fn money(dollars: f64) -> Amount {
    Amount::from_minor((dollars * 100.0).round() as i64)
}

fn percent(share: f64) -> Percent {
    Percent::from_millionths((share * 1e6).round() as i64)
}

fn text(value: &Value) -> &str {
    value.as_str().expect("a text")
}

fn exact(value: &Value) -> Decimal {
    text(value).parse().expect("a decimal")
}

#[test]
fn markup_and_margin() {
    let cases = cases();
    let case = cases.get("pr-markup-margin");
    let cost = money(number(case, "/inputs/cost"));
    let price = cost + added(cost, percent(number(case, "/inputs/markup")), RateKind::Markup);
    assert_eq!(price, money(number(case, "/expected/price")));
    // The margin printed there (a third) gives the same price back, to the cent of rounding 1/3 to a millionth.
    let back = cost + added(cost, percent(number(case, "/expected/margin")), RateKind::Margin);
    assert_eq!(back, price);
    for case in cases.like("pr-margin-") {
        let cost = money(number(case, "/inputs/cost"));
        let price = cost + added(cost, percent(number(case, "/inputs/margin")), RateKind::Margin);
        assert_eq!(price, money(number(case, "/expected/price")), "{case}");
    }
}

fn line(category: Category, cost: Amount) -> CostLine {
    CostLine {
        code: "x".to_owned(),
        description: "x".to_owned(),
        category,
        quantity: Quantity::pieces(1),
        unit_price: Price::from_millionths(cost.minor() * 10_000),
        cost,
        rule: "extra",
        basis: String::new(),
    }
}

fn scheme(overhead: Percent, profit: Percent, compounding: &str) -> MarkupScheme {
    let rate = |p: Percent| json!({"pct": p.number().to_string(), "as_kind": "markup"});
    let value = json!({
        "code": "s", "name": "s", "overhead": rate(overhead), "contingency": rate(Percent::ZERO),
        "profit": rate(profit), "compounding": compounding, "rounding": "nearest"
    });
    rillcast::wire::read_value(&value).unwrap_or_else(|e| panic!("{e}"))
}

fn tax(rate: &str, categories: &[&str], rounding: &str) -> Tax {
    let value = json!({
        "code": "t", "name": "t", "rate_pct": rate, "categories": categories, "due_on": "purchase",
        "rounding": rounding
    });
    rillcast::wire::read_value(&value).unwrap_or_else(|e| panic!("{e}"))
}

#[test]
fn overhead_and_profit() {
    let cases = cases();
    let case = cases.get("pr-oh-profit");
    let direct = money(number(case, "/inputs/direct"));
    let (overhead, profit) =
        (percent(number(case, "/inputs/overhead")), percent(number(case, "/inputs/profit")));
    for (compounding, pointer) in
        [("compound", "/expected/price_compound"), ("additive", "/expected/price_additive")]
    {
        let scheme = scheme(overhead, profit, compounding);
        let built = build_up(&[line(Category::Labor, direct)], &scheme, &[], Currency::Usd);
        assert_eq!(built.price_before_tax, money(number(case, pointer)), "{compounding}");
    }
}

#[test]
fn tax_is_carried_to_the_third_decimal() {
    let cases = cases();
    for case in cases.like("pr-tax-").into_iter().filter(|c| c["inputs"]["raw_tax"].is_string()) {
        let got = tax_rounding(exact(&case["inputs"]["raw_tax"]));
        assert_eq!(got.to_string(), text(&case["expected"]["tax"]), "{case}");
    }
    let trap = cases.get("pr-float-trap");
    let got = Amount::line(exact(&trap["inputs"]["value"]));
    assert_eq!(got.to_string(), text(&trap["expected"]["decimal_half_up"]));
}

#[test]
fn tax_by_line_and_by_invoice() {
    let cases = cases();
    let case = cases.get("pr-tax-line-vs-invoice");
    let lines: Vec<CostLine> = case["inputs"]["lines"]
        .as_array()
        .expect("lines")
        .iter()
        .map(|l| line(Category::Material, Amount::line(exact(l))))
        .collect();
    let rate = (exact(&case["inputs"]["rate"]) * Decimal::from(100)).normalize().to_string();
    let nothing = scheme(Percent::ZERO, Percent::ZERO, "compound");
    for (rounding, pointer) in [("per_line", "tax_by_line"), ("per_document", "tax_by_invoice")] {
        let built = build_up(&lines, &nothing, &[tax(&rate, &["material"], rounding)], Currency::Usd);
        assert_eq!(
            built.purchase_taxes[0].amount.to_string(),
            text(&case["expected"][pointer]),
            "{rounding}"
        );
    }
}

#[test]
fn shares_by_largest_remainder() {
    let cases = cases();
    for (id, total, parts) in [
        ("pr-lr-7", "/inputs/total", "/expected/alloc"),
        ("pr-lr-cents-3", "/inputs/total_cents", "/expected/alloc_cents"),
    ] {
        let case = cases.get(id);
        let whole = |v: &Value| v.as_i64().expect("a whole number");
        let list = |p: &str| {
            case.pointer(p).and_then(Value::as_array).expect("a list").iter().map(whole).collect::<Vec<_>>()
        };
        let total = Amount::from_minor(number(case, total) as i64);
        let got: Vec<i64> = share_out(total, &list("/inputs/weights")).iter().map(|a| a.minor()).collect();
        assert_eq!(got, list(parts), "{case}");
    }
}

#[test]
fn hire_by_the_cheapest_mix() {
    for case in cases().like("pr-rent-") {
        let days = number(case, "/inputs/days") as i64;
        let rate = |name: &str| money(number(case, &format!("/inputs/{name}")));
        let got = cheapest(days * 2, None, rate("day"), Some(rate("week")), Some(rate("month28")));
        assert_eq!(got.cost, money(number(case, "/expected/charge")), "{case}");
    }
}

/// Quantity times price rounded line by line, half up on the absolute value; totals are sums of rounded lines; tax once
/// on the sum. EN 16931 arithmetic: BT-131, BT-106, BR-CO-13, BR-CO-17 (from memory); the figures recomputed.
#[test]
fn four_traps_of_rounding_in_one_document() {
    let mut sum = Amount::ZERO;
    let mut taxed = Amount::ZERO;
    for (quantity, price, net, is_taxed) in [
        ("137.5", "3.27", "449.63", true), // 449.625: half-even and binary give 449.62
        ("8.75", "58.45", "511.44", true), // 511.4375
        ("3", "184.15", "552.45", true),
        ("26.25", "68.50", "1798.13", false), // 1798.125: half-even gives 1798.12
    ] {
        let price = Price::from_millionths(plain_decimal(price, 6).expect("a price"));
        let line = price.times(quantity.parse().expect("a quantity"));
        assert_eq!(line.to_string(), net);
        sum += line;
        if is_taxed {
            taxed += line;
        }
    }
    assert_eq!(sum.to_string(), "3311.65"); // rounding the exact sum once gives 3311.64
    let allowance = Amount::from_minor(7_500);
    let taxable = taxed - allowance;
    assert_eq!(taxable.to_string(), "1438.52");
    let nothing = scheme(Percent::ZERO, Percent::ZERO, "compound");
    let taxes = [tax("8.25", &["material"], "per_document")];
    let built = build_up(&[line(Category::Material, taxable)], &nothing, &taxes, Currency::Usd);
    let tax = built.purchase_taxes[0].amount;
    assert_eq!(tax.to_string(), "118.68"); // 118.6779; summing the tax of each line gives 118.67
    let total = sum - allowance + tax;
    assert_eq!(total.to_string(), "3355.33");
    assert_eq!((total - Amount::from_minor(50_000)).to_string(), "2855.33");
}
