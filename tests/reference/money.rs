//! Markup, margin, tax, sharing out, hire.

use crate::support::{Cases, number};
use rillcast::compute::hire::{Rates, charge};
use rillcast::compute::pricing::terms::Terms;
use rillcast::compute::pricing::{added, build_up, build_up_with};
use rillcast::domain::lines::CostLine;
use rillcast::domain::words::Category;
use rillcast::units::decimal_text::plain_decimal;
use rillcast::units::money::{share_out, tax_rounding};
use rillcast::units::{Amount, Currency, Percent, Price, Quantity};
use rillcast::wire::book::pricing::{MarkupScheme, RateKind, Tax};
use rillcast::wire::notes::PricingNotes;
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
        let days = number(case, "/inputs/days") as u32;
        let rate = |name: &str| Some(money(number(case, &format!("/inputs/{name}"))).decimal());
        let rates =
            Rates { day: rate("day"), week: rate("week"), four_weeks: rate("month28"), ..Rates::default() };
        let got = charge(&rates, days * 2).expect("rates within the range");
        assert_eq!(Amount::line(got.total), money(number(case, "/expected/charge")), "{case}");
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

/// The same document as one price build-up: a discount on the materials, tax once on what is left of them, nothing on
/// labor; and the tax of the place where the sale is. EN 16931 BT-107, BR-S-08, BR-CO-13 to BR-CO-17 (from memory).
#[test]
fn the_four_traps_through_the_build_up() {
    let lines: Vec<CostLine> = [("449.63", true), ("511.44", true), ("552.45", true), ("1798.13", false)]
        .into_iter()
        .map(|(net, taxed)| {
            let category = if taxed { Category::Material } else { Category::Labor };
            line(category, Amount::line(net.parse().expect("an amount")))
        })
        .collect();
    let tax: Tax = rillcast::wire::read_value(&json!({
        "code": "t", "name": "t", "rate_pct": "8.25", "categories": ["material"], "due_on": "sale",
        "rounding": "per_document", "places": ["north"]
    }))
    .unwrap_or_else(|e| panic!("{e}"));
    let notes: PricingNotes = rillcast::wire::read_value(&json!({
        "place": "north",
        "discounts": [{"kind": "amount", "name": "Allowance on materials", "amount": "75.00", "category": "material"}]
    }))
    .unwrap_or_else(|e| panic!("{e}"));
    let nothing = scheme(Percent::ZERO, Percent::ZERO, "compound");
    let mut checks = Vec::new();
    let built = build_up_with(
        &lines,
        &nothing,
        std::slice::from_ref(&tax),
        Currency::Usd,
        &Terms::of(Some(&notes)),
        &mut checks,
    );
    assert_eq!(built.direct_cost.to_string(), "3311.65");
    assert_eq!(built.price_before_tax.to_string(), "3236.65");
    assert_eq!(built.sale_taxes[0].taxable.to_string(), "1438.52");
    assert_eq!(built.sale_tax.to_string(), "118.68");
    assert_eq!(built.total.to_string(), "3355.33");
    // Elsewhere the tax is not due.
    let elsewhere: PricingNotes =
        rillcast::wire::read_value(&json!({"discounts": [{"kind": "percent", "name": "x", "pct": "2.5"}]}))
            .unwrap_or_else(|e| panic!("{e}"));
    let built =
        build_up_with(&lines, &nothing, &[tax], Currency::Usd, &Terms::of(Some(&elsewhere)), &mut checks);
    // 2.5 % of 3311.65 is 82.79125, computed once and kept.
    assert_eq!(
        (built.steps[3].amount.to_string(), built.total.to_string()),
        ("-82.79".into(), "3228.86".into())
    );
}

/// Rates by category: 10 % markup on materials, a margin of 20 % on labor, nothing on the permit. Computed by hand from
/// price = cost (1 + markup) = cost / (1 - margin).
#[test]
fn rates_by_category() {
    let scheme: MarkupScheme = rillcast::wire::read_value(&json!({
        "code": "s", "name": "s",
        "overhead": {"pct": "12", "as_kind": "markup"}, "contingency": {"pct": "0", "as_kind": "markup"},
        "profit": {"pct": "10", "as_kind": "markup"}, "compounding": "compound", "rounding": "up",
        "by_category": [
            {"category": "labor", "profit": {"pct": "20", "as_kind": "margin"}},
            {"category": "permit", "overhead": {"pct": "0", "as_kind": "markup"}, "profit": {"pct": "0", "as_kind": "markup"}}
        ]
    }))
    .unwrap_or_else(|e| panic!("{e}"));
    let dollars = |d: i64| Amount::from_minor(d * 100);
    let lines = [
        line(Category::Material, dollars(1000)),
        line(Category::Labor, dollars(1000)),
        line(Category::Permit, dollars(250)),
    ];
    let built = build_up(&lines, &scheme, &[], Currency::Usd);
    let prices: Vec<String> = built.by_category.iter().map(|c| c.price.to_string()).collect();
    // 1000 x 1.12 x 1.10; 1000 x 1.12 / 0.8; 250 as it is.
    assert_eq!(prices, ["1232.00", "1400.00", "250.00"]);
    assert_eq!(built.price_before_tax.to_string(), "2882.00");
    assert_eq!(built.steps[2].amount.to_string(), "392.00");
    assert!(built.steps[2].pct.is_none() && built.steps[2].by_category.len() == 3);
}
