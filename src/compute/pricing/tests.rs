//! The build-up by hand, and that its columns foot for any cost.

#![expect(clippy::unwrap_used, reason = "a test stops where a scheme or tax cannot be read")]

use super::terms::{PriceStepName, Terms, taken_off};
use super::{PriceBuildUp, build_up, build_up_with};
use crate::domain::lines::{Check, CostLine};
use crate::domain::words::Category;
use crate::units::{Amount, Currency, Price, Quantity};
use crate::wire::book::pricing::{MarkupScheme, Tax};
use crate::wire::notes::{Discount, PricingNotes};
use proptest::prelude::*;
use serde_json::{Value, json};

fn scheme(change: impl Fn(&mut Value)) -> MarkupScheme {
    let mut scheme = json!({
        "code": "test", "name": "Test",
        "overhead": {"pct": "12", "as_kind": "markup"},
        "contingency": {"pct": "0", "as_kind": "markup"},
        "profit": {"pct": "8", "as_kind": "markup"},
        "compounding": "compound", "rounding": "up"
    });
    change(&mut scheme);
    crate::wire::read_value(&scheme).unwrap()
}

fn tax(due_on: &str, rounding: &str, pct: &str) -> Tax {
    crate::wire::read_value(&json!({
        "code": "tax", "name": "Tax", "rate_pct": pct, "categories": ["material", "hire"],
        "due_on": due_on, "rounding": rounding
    }))
    .unwrap()
}

fn line(category: Category, minor: i64) -> CostLine {
    CostLine {
        code: "x".to_owned(),
        description: "x".to_owned(),
        category,
        quantity: Quantity::pieces(1),
        unit_price: Price::from_millionths(minor * 10_000),
        cost: Amount::from_minor(minor),
        rule: "extra",
        basis: "x".to_owned(),
    }
}

fn built(lines: &[CostLine], scheme: &MarkupScheme, taxes: &[Tax]) -> PriceBuildUp {
    build_up(lines, scheme, taxes, Currency::Usd)
}

#[test]
fn overhead_and_profit_compound_or_add() {
    let lines = [line(Category::Labor, 1_000_000)];
    assert_eq!(built(&lines, &scheme(|_| ()), &[]).total.to_string(), "12096.00");
    let additive = scheme(|s| s["compounding"] = json!("additive"));
    assert_eq!(built(&lines, &additive, &[]).total.to_string(), "12000.00");
}

#[test]
fn each_step_is_one_rounded_amount_with_its_working() {
    let margin = scheme(|s| s["profit"] = json!({"pct": "15", "as_kind": "margin"}));
    let answer = built(&[line(Category::Material, 33_333)], &margin, &[]);
    let steps: Vec<_> =
        answer.steps.iter().map(|s| format!("{} {} + {} = {}", s.name, s.base, s.amount, s.sum)).collect();
    assert_eq!(
        steps,
        [
            "overhead 333.33 + 40.00 = 373.33",
            "contingency 373.33 + 0.00 = 373.33",
            "profit 373.33 + 65.88 = 439.21",
        ]
    );
    assert_eq!(answer.steps[2].basis, "373.33 / (1 - 15 %) less 373.33, margin");
}

/// Steps of an additive scheme of overhead, contingency and profit on a cost of labor.
fn side_by_side(rates: [(&str, &str); 3], cost: i64, own: Value) -> PriceBuildUp {
    let scheme = scheme(|s| {
        s["compounding"] = json!("additive");
        for (name, (pct, kind)) in ["overhead", "contingency", "profit"].into_iter().zip(rates) {
            s[name] = json!({"pct": pct, "as_kind": kind});
        }
        s["by_category"] = own.clone();
    });
    built(&[line(Category::Labor, cost)], &scheme, &[])
}

/// 7686.54 / (1 - 0.30) = 10980.77, of which 10, 5 and 15 % are 1098.08, 549.04 and 1647.12, a cent more than there is.
#[test]
fn margins_side_by_side_are_shares_of_the_price_they_make() {
    let margins = [("10", "margin"), ("5", "margin"), ("15", "margin")];
    let answer = side_by_side(margins, 768_654, json!([]));
    assert_eq!(answer.price_before_tax.to_string(), "10980.77");
    let steps: Vec<_> = answer.steps.iter().map(|s| (s.base.to_string(), s.amount.to_string())).collect();
    assert_eq!(
        steps.iter().map(|(base, amount)| (base.as_str(), amount.as_str())).collect::<Vec<_>>(),
        [("7686.54", "1098.08"), ("7686.54", "549.04"), ("7686.54", "1647.11")]
    );
    assert_eq!(
        answer.steps[2].basis,
        "15 % margin of the price, 10980.77 = 7686.54 / (1 - 30 %); all margins are 3294.23, shared out by their percentages"
    );
    // Category by category the same, and told as well.
    let apart = side_by_side(margins, 768_654, json!([{"category": "hire"}]));
    assert_eq!(apart.price_before_tax.to_string(), "10980.77");
    assert!(
        apart.steps[2].basis.contains("(cost + markups) / (1 - sum of margins)"),
        "{}",
        apart.steps[2].basis
    );
}

/// 10 and 5 % on 1000.00 of cost are 150.00; 1150.00 / 0.85 = 1352.94, 15 % of which are 202.94.
#[test]
fn a_margin_beside_markups_is_a_share_of_the_price_with_them() {
    let answer = side_by_side([("10", "markup"), ("5", "markup"), ("15", "margin")], 100_000, json!([]));
    assert_eq!(answer.price_before_tax.to_string(), "1352.94");
    assert_eq!(answer.steps[0].basis, "1000.00 x 10 % markup");
    assert_eq!(
        answer.steps[2].basis,
        "15 % margin of the price, 1352.94 = (1000.00 + 150.00 markups) / (1 - 15 %)"
    );
    let alone = side_by_side([("0", "markup"), ("0", "margin"), ("15", "margin")], 100_000, json!([]));
    assert_eq!(alone.price_before_tax.to_string(), "1176.47");
    assert_eq!(alone.steps[2].basis, "1000.00 / (1 - 15 %) less 1000.00, margin");
}

/// No price book is published so; one of old is priced all the same.
#[test]
fn margins_that_leave_nothing_of_a_price_are_taken_on_the_cost() {
    let answer = side_by_side([("50", "margin"), ("0", "markup"), ("50", "margin")], 100_000, json!([]));
    assert_eq!(answer.price_before_tax.to_string(), "3000.00");
    assert!(answer.steps[0].basis.ends_with("each taken on the cost alone"), "{}", answer.steps[0].basis);
}

#[test]
fn no_job_is_quoted_below_the_least_charge_however_rounded() {
    for (rounding, quoted) in [("nearest", "2000.00"), ("up", "2000.00")] {
        let least = scheme(|s| {
            s["least_charge"] = json!("1700.00");
            s["round_to"] = json!("500.00");
            s["rounding"] = json!(rounding);
        });
        assert_eq!(built(&[line(Category::Labor, 10_000)], &least, &[]).price_before_tax.to_string(), quoted);
    }
    let nearest = scheme(|s| {
        s["round_to"] = json!("5.00");
        s["rounding"] = json!("nearest");
        s["profit"]["pct"] = json!("0");
        s["overhead"]["pct"] = json!("0");
    });
    assert_eq!(built(&[line(Category::Labor, 10_249)], &nearest, &[]).price_before_tax.to_string(), "100.00");
    assert_eq!(built(&[line(Category::Labor, 10_250)], &nearest, &[]).price_before_tax.to_string(), "105.00");
}

/// A scheme that adds nothing.
fn at_cost(change: impl Fn(&mut Value)) -> MarkupScheme {
    scheme(|s| {
        s["overhead"]["pct"] = json!("0");
        s["profit"]["pct"] = json!("0");
        change(s);
    })
}

/// A price that comes to the least charge by itself is raised by nothing.
#[test]
fn a_price_of_just_the_least_charge_has_no_step_for_it() {
    let least = at_cost(|s| s["least_charge"] = json!("100.00"));
    let steps = |minor: i64| built(&[line(Category::Labor, minor)], &least, &[]).steps;
    assert!(steps(10_000).iter().all(|s| s.name != PriceStepName::LeastCharge));
    assert!(steps(9_999).iter().any(|s| s.name == PriceStepName::LeastCharge && s.amount.minor() == 1));
}

/// By these notes on pricing, with what is checked.
fn by_notes(lines: &[CostLine], scheme: &MarkupScheme, notes: Value) -> (PriceBuildUp, Vec<Check>) {
    let notes: PricingNotes = crate::wire::read_value(&notes).unwrap();
    let mut checks = Vec::new();
    let answer = build_up_with(lines, scheme, &[], Currency::Usd, &Terms::of(Some(&notes)), &mut checks);
    (answer, checks)
}

/// A discount may take all there is, and no more.
#[test]
fn a_discount_takes_at_most_what_there_is() {
    let of = |discount: Value| {
        let lines = [line(Category::Labor, 10_000)];
        let (answer, checks) = by_notes(&lines, &at_cost(|_| ()), json!({"discounts": [discount]}));
        (answer.price_before_tax.to_string(), checks.len())
    };
    let sum = |amount: &str| json!({"kind": "amount", "name": "Debt", "amount": amount});
    assert_eq!(of(sum("100.00")), ("0.00".to_owned(), 0));
    assert_eq!(of(sum("100.01")), ("0.00".to_owned(), 1));
    let beyond: Discount =
        crate::wire::read_value(&json!({"kind": "percent", "name": "x", "pct": "120"})).unwrap();
    assert_eq!(taken_off(&beyond, Amount::from_minor(10_000)).to_string(), "100.00");
}

#[test]
fn tax_on_purchases_is_cost_and_tax_on_the_sale_is_not() {
    let lines =
        [line(Category::Material, 1_003), line(Category::Material, 1_003), line(Category::Labor, 1_003)];
    let plain = scheme(|s| {
        s["overhead"]["pct"] = json!("0");
        s["profit"]["pct"] = json!("0");
    });
    let bought = built(&lines, &plain, &[tax("purchase", "per_line", "8.25")]);
    assert_eq!(bought.purchase_taxes[0].amount.to_string(), "1.66");
    assert_eq!((bought.direct_cost.to_string(), bought.sale_tax), ("31.75".to_owned(), Amount::ZERO));
    assert_eq!(bought.total, bought.direct_cost);
    let sold = built(&lines, &plain, &[tax("sale", "per_document", "8.25")]);
    assert_eq!(sold.direct_cost.to_string(), "30.09");
    assert_eq!(sold.sale_taxes[0].taxable.to_string(), "20.06");
    assert_eq!(sold.total.to_string(), "31.74");
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn every_column_foots(
        costs in prop::collection::vec((0_usize..6, 0_i64..5_000_000), 0..30),
        pcts in prop::collection::vec(0_i64..9_999, 3),
        margin in any::<bool>(),
        compound in any::<bool>(),
        per_line in any::<bool>(),
        least in 0_i64..3_000_000,
        step in prop::sample::select(vec![0_i64, 1, 5, 100, 500, 2_500]),
        up in any::<bool>(),
    ) {
        let lines: Vec<CostLine> = costs.iter().map(|(c, m)| line(Category::ALL[*c], *m)).collect();
        let money = |minor: i64| Amount::from_minor(minor).to_string();
        let scheme = scheme(|s| {
            for (name, pct) in ["overhead", "contingency", "profit"].iter().zip(&pcts) {
                s[*name]["pct"] = json!(Amount::from_minor(*pct).to_string());
            }
            if margin { s["profit"]["as_kind"] = json!("margin"); }
            s["compounding"] = json!(if compound { "compound" } else { "additive" });
            s["least_charge"] = json!(money(least));
            s["round_to"] = json!(money(step));
            s["rounding"] = json!(if up { "up" } else { "nearest" });
        });
        let rounding = if per_line { "per_line" } else { "per_document" };
        let taxes = [tax("purchase", rounding, "6.25"), tax("sale", rounding, "8.875")];
        let answer = built(&lines, &scheme, &taxes);
        let of = |pick: fn(&super::CategoryPrice) -> Amount| -> Amount { answer.by_category.iter().map(pick).sum() };
        prop_assert_eq!(of(|c| c.cost), answer.direct_cost);
        prop_assert_eq!(of(|c| c.price), answer.price_before_tax);
        let bought: Amount = lines.iter().map(|l| l.cost).sum();
        let taxed: Amount = answer.purchase_taxes.iter().map(|t| t.amount).sum();
        prop_assert_eq!(bought + taxed, answer.direct_cost);
        let mut sum = answer.direct_cost;
        for part in &answer.steps {
            sum += part.amount;
            prop_assert_eq!(sum, part.sum, "{}", part.name);
        }
        prop_assert_eq!(sum, answer.price_before_tax);
        prop_assert!(sum.minor() >= least);
        prop_assert!(step == 0 || sum.minor() % step == 0);
        prop_assert_eq!(answer.price_before_tax + answer.sale_tax, answer.total);
    }
}
