//! Pricing: whatever is set, columns foot, discounts and options reckon as the whole estimate does, views hide and do not
//! reckon.

use crate::jobs::{BOOK, estimate};
use proptest::prelude::*;
use rillcast::compute::customer_view::{CustomerView, Detail, view};
use rillcast::compute::pricing::terms::Terms;
use rillcast::compute::pricing::{PriceBuildUp, added, build_up, build_up_with};
use rillcast::domain::lines::CostLine;
use rillcast::domain::words::Category;
use rillcast::units::{Amount, Currency, Percent, Price, Quantity};
use rillcast::wire::book::pricing::{MarkupScheme, RateKind, Tax};
use rillcast::wire::notes::PricingNotes;
use rust_decimal::Decimal;
use serde_json::{Value, json};

fn demo() -> Value {
    serde_json::from_str(rillcast::domain::demo::NOTES).unwrap()
}

fn with(pricing: Value) -> Value {
    let mut notes = demo();
    notes["pricing"] = pricing;
    notes
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
        basis: String::new(),
    }
}

fn money(minor: i64) -> String {
    Amount::from_minor(minor).to_string()
}

fn category() -> impl Strategy<Value = Category> {
    prop::sample::select(Category::ALL.to_vec())
}

fn rate() -> impl Strategy<Value = Value> {
    (0_i64..9_000, any::<bool>())
        .prop_map(|(p, m)| json!({"pct": money(p), "as_kind": if m { "margin" } else { "markup" }}))
}

fn scheme() -> impl Strategy<Value = MarkupScheme> {
    let own = (category(), prop::option::of(rate()), prop::option::of(rate()), prop::option::of(rate()));
    let own = prop::collection::vec(own, 0..4);
    let money_of = |most: i64| prop::option::of(0..most);
    (rate(), rate(), rate(), own, any::<bool>(), money_of(3_000_000), money_of(5_000), any::<bool>())
        .prop_map(|(overhead, contingency, profit, own, compound, least, step, up)| {
            let mut value = json!({
                "code": "s", "name": "s", "overhead": overhead, "contingency": contingency, "profit": profit,
                "compounding": if compound { "compound" } else { "additive" },
                "rounding": if up { "up" } else { "nearest" }
            });
            let mut seen = Vec::new();
            let mut rates = Vec::new();
            for (category, overhead, contingency, profit) in own {
                if seen.contains(&category) {
                    continue;
                }
                seen.push(category);
                let mut entry = json!({"category": category.word()});
                for (name, rate) in [("overhead", overhead), ("contingency", contingency), ("profit", profit)]
                {
                    if let Some(rate) = rate {
                        entry[name] = rate;
                    }
                }
                rates.push(entry);
            }
            value["by_category"] = json!(rates);
            if let Some(least) = least {
                value["least_charge"] = json!(money(least));
            }
            if let Some(step) = step {
                value["round_to"] = json!(money(step));
            }
            rillcast::wire::read_value(&value).unwrap()
        })
}

fn pricing() -> impl Strategy<Value = Value> {
    let allowance = (category(), 0_i64..500_000, any::<bool>());
    let discount = (any::<bool>(), 0_i64..10_000, 0_i64..400_000, prop::option::of(category()));
    let lists = (prop::collection::vec(allowance, 0..4), prop::collection::vec(discount, 0..4));
    (lists, any::<bool>()).prop_map(|((allowances, discounts), place)| {
        let allowances: Vec<Value> = allowances
            .into_iter()
            .enumerate()
            .map(|(i, (category, amount, up))| {
                json!({"code": format!("a{i}"), "name": "Lamp", "category": category.word(), "amount": money(amount), "marked_up": up})
            })
            .collect();
        let discounts: Vec<Value> = discounts
            .into_iter()
            .map(|(percent, pct, amount, category)| {
                let mut value = if percent {
                    json!({"kind": "percent", "name": "Neighbor", "pct": money(pct)})
                } else {
                    json!({"kind": "amount", "name": "Neighbor", "amount": money(amount)})
                };
                if let Some(category) = category {
                    value["category"] = json!(category.word());
                }
                value
            })
            .collect();
        let mut value = json!({"allowances": allowances, "discounts": discounts});
        if place {
            value["place"] = json!("here");
        }
        value
    })
}

fn taxes(per_line: bool) -> Vec<Tax> {
    let rounding = if per_line { "per_line" } else { "per_document" };
    let tax = |code: &str, pct: &str, due_on: &str, categories: Value, places: Value| -> Tax {
        let value = json!({"code": code, "name": code, "rate_pct": pct, "categories": categories, "due_on": due_on,
            "rounding": rounding, "places": places});
        rillcast::wire::read_value(&value).unwrap()
    };
    vec![
        tax("bought", "6.25", "purchase", json!(["material", "hire"]), json!([])),
        tax("sold", "8.25", "sale", json!(["material", "labor", "permit"]), json!(["here", "there"])),
        tax("elsewhere", "9", "sale", json!(["material"]), json!(["there"])),
    ]
}

fn foots(answer: &PriceBuildUp) -> Result<(), TestCaseError> {
    let costs: Amount = answer.by_category.iter().map(|c| c.cost).sum();
    let prices: Amount = answer.by_category.iter().map(|c| c.price).sum();
    prop_assert_eq!(costs, answer.direct_cost);
    prop_assert_eq!(prices, answer.price_before_tax);
    let mut sum = answer.direct_cost;
    for step in &answer.steps {
        sum += step.amount;
        prop_assert_eq!(sum, step.sum, "{}", step.name);
        if !step.by_category.is_empty() {
            let parts: Amount = step.by_category.iter().map(|c| c.amount).sum();
            prop_assert_eq!(parts, step.amount, "{}", step.name);
        }
    }
    prop_assert_eq!(sum, answer.price_before_tax);
    prop_assert_eq!(answer.price_before_tax + answer.sale_tax, answer.total);
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn every_column_foots_whatever_is_set(
        costs in prop::collection::vec((category(), 0_i64..3_000_000), 0..20),
        scheme in scheme(),
        pricing in pricing(),
        per_line in any::<bool>(),
    ) {
        let notes: PricingNotes = rillcast::wire::read_value(&pricing).unwrap();
        let terms = Terms::of(Some(&notes));
        let mut lines: Vec<CostLine> = costs.iter().map(|(c, m)| line(*c, *m)).collect();
        lines.extend(terms.cost_lines());
        let mut checks = Vec::new();
        let answer = build_up_with(&lines, &scheme, &taxes(per_line), Currency::Usd, &terms, &mut checks);
        foots(&answer)?;
        if let Some(least) = scheme.least_charge {
            prop_assert!(answer.price_before_tax >= least);
        }
        // Only what is due at the place is levied.
        let levied: Vec<&str> = answer.sale_taxes.iter().map(|t| t.tax.as_str()).collect();
        prop_assert_eq!(levied, if notes.place.is_some() { vec!["sold"] } else { vec![] });
        // Without anything set, the answer is that of the plain build-up, byte for byte.
        let plain = build_up_with(&lines, &scheme, &[], Currency::Usd, &Terms::default(), &mut checks);
        prop_assert_eq!(plain, build_up(&lines, &scheme, &[], Currency::Usd));
    }

    /// A category whose own rates are those of the scheme is priced within a cent per category and step of the whole.
    #[test]
    fn equal_rates_by_category_come_to_the_same_but_for_rounding(
        costs in prop::collection::vec((category(), 1_i64..3_000_000), 1..12),
        rates in (rate(), rate(), rate()),
        compound in any::<bool>(),
    ) {
        let lines: Vec<CostLine> = costs.iter().map(|(c, m)| line(*c, *m)).collect();
        let mut value = json!({"code": "s", "name": "s", "overhead": rates.0, "contingency": rates.1, "profit": rates.2,
            "compounding": if compound { "compound" } else { "additive" }, "rounding": "up"});
        let whole: MarkupScheme = rillcast::wire::read_value(&value).unwrap();
        value["by_category"] = json!([{"category": "material"}]);
        let apart: MarkupScheme = rillcast::wire::read_value(&value).unwrap();
        let price = |s: &MarkupScheme| build_up(&lines, s, &[], Currency::Usd).price_before_tax.minor();
        // Half a cent for each of six categories and three steps, grown by at most two margins of 90 %, or by margins side by side
        // that leave little of the price for the cost.
        let margins: f64 = [&rates.0, &rates.1, &rates.2]
            .into_iter()
            .filter(|r| r["as_kind"] == "margin")
            .map(|r| r["pct"].as_str().unwrap().parse::<f64>().unwrap() / 100.0)
            .sum();
        let grown = if compound || margins >= 1.0 { 100.0 } else { (1.0 / (1.0 - margins)).max(100.0) };
        prop_assert!(((price(&whole) - price(&apart)).abs() as f64) <= 6.0 * 3.0 * grown);
    }

    /// price = cost / (1 - margin): the price times (1 - margin) gives the cost back, and so does the equal markup.
    #[test]
    fn a_margin_and_its_markup_give_one_price(cost in 0_i64..100_000_000, margin in 0_i64..95) {
        let cost = Amount::from_minor(cost);
        let price = cost + added(cost, Percent::whole(margin), RateKind::Margin);
        let kept = Decimal::ONE - Percent::whole(margin).share();
        prop_assert!((price.decimal() * kept - cost.decimal()).abs() <= Decimal::new(5, 3));
        let markup = Percent::whole(margin).share() / kept;
        let exact = Amount::line(cost.decimal() * (Decimal::ONE + markup));
        prop_assert!((exact - price).minor().abs() <= 1);
    }
}

/// Markup and margin side by side for 1,000.00 of cost. price = cost (1 + markup) = cost / (1 - margin), the first column
/// read at a markup calculator's page, the prices computed.
#[test]
fn the_markup_and_margin_table() {
    for (pct, by_markup, by_margin) in [
        (5, "1050.00", "1052.63"),
        (10, "1100.00", "1111.11"),
        (15, "1150.00", "1176.47"),
        (20, "1200.00", "1250.00"),
        (25, "1250.00", "1333.33"),
        (30, "1300.00", "1428.57"),
        (40, "1400.00", "1666.67"),
        (50, "1500.00", "2000.00"),
        (75, "1750.00", "4000.00"),
    ] {
        let cost = Amount::from_minor(100_000);
        let price = |kind| (cost + added(cost, Percent::whole(pct), kind)).to_string();
        assert_eq!(
            (price(RateKind::Markup).as_str(), price(RateKind::Margin).as_str()),
            (by_markup, by_margin),
            "{pct}"
        );
    }
}

#[test]
fn notes_that_say_nothing_about_pricing_give_the_same_bytes() {
    let bytes = |notes: &Value| serde_json::to_string(&estimate(notes)).unwrap();
    assert_eq!(bytes(&demo()), bytes(&with(json!({}))));
    assert_eq!(bytes(&demo()), bytes(&with(json!({"allowances": [], "optional": [], "chosen": []}))));
}

fn options() -> Value {
    json!({
        "discounts": [{"kind": "percent", "name": "Neighbor", "pct": "5"}],
        "alternates": [
            {"code": "steel", "name": "Wider channel in the drive", "systems": [{"run": "drive", "channel_system": "channel-8-fall"}]},
            {"code": "bags", "name": "Concrete from bags", "concrete_way": "bags-80"}
        ],
        "optional": [{"code": "spare", "name": "A spare hanger", "extras": [{"item": "hanger", "quantity": "40"}]}]
    })
}

/// What is shown for an option is the total of the estimate in which it is chosen.
#[test]
fn the_total_of_an_option_is_that_of_the_estimate_with_it() {
    let shown = estimate(&with(options()));
    assert_eq!(shown.options.len(), 3);
    for option in &shown.options {
        let mut pricing = options();
        pricing["chosen"] = json!([option.code]);
        let chosen = estimate(&with(pricing));
        assert_eq!(chosen.summary.total, option.total, "{}", option.code);
        assert_eq!(option.difference, chosen.summary.total - shown.summary.total);
        let own = chosen.options.iter().find(|o| o.code == option.code).unwrap();
        assert!(own.chosen && own.total == option.total);
        // An optional line that is chosen says what it adds, an alternate that is chosen differs by nothing.
        let adds = if own.kind.word() == "optional" { option.difference } else { Amount::ZERO };
        assert_eq!(own.difference, adds, "{}", option.code);
    }
    // Two together are priced as a whole: the least charge, the rounding and the tax of the whole.
    let mut both = options();
    both["chosen"] = json!(["spare", "bags"]);
    let both = estimate(&with(both));
    let mut by_hand = with(json!({"discounts": options()["discounts"]}));
    by_hand["options"] = json!({"concrete_way": "bags-80"});
    let extras = by_hand["extras"].as_array_mut().unwrap();
    extras.push(json!({"item": "hanger", "quantity": "40"}));
    assert_eq!(estimate(&by_hand).summary.total, both.summary.total);
}

const DETAILS: &[Detail] = Detail::ALL;

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, cases: 24, ..ProptestConfig::default() })]

    /// The view shows the stored figures, foots, and lets no cost, rate, wage or hour through.
    #[test]
    fn the_view_of_the_customer_foots_and_hides(pricing in pricing(), residential in any::<bool>()) {
        let mut pricing = pricing;
        pricing.as_object_mut().unwrap().remove("place");
        let mut notes = with(pricing);
        let scheme = if residential { &BOOK.doc().markup_schemes[0] } else { &BOOK.doc().markup_schemes[1] };
        notes["options"] = json!({"markup_scheme": scheme.code.as_str()});
        let stored = estimate(&notes);
        foots(&stored.price)?;
        let value = serde_json::to_value(&stored).unwrap();
        for detail in DETAILS {
            let seen = view(&value, *detail).unwrap();
            prop_assert_eq!(seen.total, stored.summary.total);
            prop_assert_eq!(seen.price_before_tax, stored.summary.price_before_tax);
            let parts: Amount = seen.lines.iter().map(|l| l.price).sum();
            if *detail != Detail::Total {
                prop_assert_eq!(parts, seen.subtotal);
            }
            let off: Amount = seen.discounts.iter().map(|d| d.amount).sum();
            let stands: Amount = seen.allowances.iter().map(|d| d.amount).sum();
            prop_assert_eq!(seen.subtotal - off + stands, seen.price_before_tax);
            let taxes: Amount = seen.taxes.iter().map(|t| t.amount).sum();
            prop_assert_eq!(seen.price_before_tax + taxes, seen.total);
            // Cautions are the same words for everybody.
            let shown = serde_json::to_string(&CustomerView { cautions: Vec::new(), ..seen }).unwrap();
            for hidden in ["cost", "pct", "wage", "hours", "basis", "overhead", "profit", "contingency", " hr\""] {
                prop_assert!(!shown.contains(hidden), "{} shows {}: {}", detail, hidden, shown);
            }
        }
    }
}
