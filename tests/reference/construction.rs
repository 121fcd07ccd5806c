//! Whole stages against published figures: the concrete order, hours, hire, price, bars.

use rillcast::compute::concrete::{ConcreteOrder, order};
use rillcast::compute::hire::{Rates, cheapest_mix};
use rillcast::compute::labor::{Conditions, LaborHours, Trenches, crew_seconds, hours, person_hours};
use rillcast::compute::machines::{cost_lines, hires};
use rillcast::compute::pricing::{PriceBuildUp, build_up};
use rillcast::domain::book::PriceBook;
use rillcast::domain::demo::BOOK;
use rillcast::domain::lines::CostLine;
use rillcast::domain::measures::Measures;
use rillcast::domain::steel::bar_weight;
use rillcast::domain::words::{Category, Difficulty, Measure, Soil, Task};
use rillcast::units::quantity::{Mass, Span};
use rillcast::units::show::Show;
use rillcast::units::{Amount, Currency, Factor, Length, Percent, Price, Quantity, Unit, UnitSystem, Volume};
use rillcast::wire::Code;
use rust_decimal::Decimal;
use rust_decimal::prelude::{FromPrimitive, ToPrimitive};
use serde_json::{Value, json};

fn case(id: &str) -> Value {
    let cases: Vec<Value> = serde_json::from_str(include_str!("cases/construction.json")).unwrap();
    let found = cases.into_iter().find(|c| c["id"] == id).unwrap_or_else(|| panic!("no case {id}"));
    for name in ["source", "source_basis"] {
        assert!(found[name].as_str().is_some_and(|t| !t.is_empty()), "{id} has no {name}");
    }
    found
}

fn number(case: &Value, pointer: &str) -> f64 {
    case.pointer(pointer).and_then(Value::as_f64).unwrap_or_else(|| panic!("{pointer} of {case}"))
}

fn decimal(case: &Value, pointer: &str) -> Decimal {
    Decimal::from_f64(number(case, pointer)).unwrap()
}

fn near(got: Decimal, want: f64, case: &Value) {
    let got = got.to_f64().unwrap();
    let tolerance = case["rel_tol"].as_f64().unwrap_or(0.0).max(1e-9);
    assert!((got - want).abs() <= tolerance * want.abs(), "{got} is not {want}: {case}");
}

fn book_with(change: impl Fn(&mut Value)) -> PriceBook {
    let mut book: Value = serde_json::from_str(BOOK).unwrap();
    change(&mut book);
    PriceBook::check(rillcast::wire::read_value(&book).unwrap()).unwrap()
}

fn yards(value: f64) -> Volume {
    let millionths = (value * 1e6).round() as i128;
    Volume::from_nm3(Unit::Yd3.factor().unwrap() / 1_000_000 * millionths)
}

fn by_way(net: Volume, waste: i64, way: &str, book: &PriceBook) -> ConcreteOrder {
    let wish = Code::new(way).unwrap();
    order(net, Percent::whole(waste), Some(&wish), book, Show(UnitSystem::Us)).unwrap()
}

fn first_order(order: &ConcreteOrder) -> Decimal {
    order.chosen_way().unwrap().order.value()
}

#[test]
fn a_truck_brings_whole_increments() {
    let rounding = case("con-order-round");
    let steps = rounding["inputs"]["increments_cy"].as_array().unwrap();
    for (step, want) in steps.iter().zip(rounding["expected"]["order_cy"].as_array().unwrap()) {
        let book = book_with(|b| b["concrete_ways"][0]["increment"] = json!(format!("{step} yd3")));
        let got = by_way(yards(number(&rounding, "/inputs/need_cy")), 0, "ready-mix", &book);
        near(first_order(&got), want.as_f64().unwrap(), &rounding);
    }
    let trap = case("con-order-float-trap");
    let net = Length::feet(25) * Length::inches(36, 1) * Length::inches(9, 1);
    near(
        first_order(&by_way(net, 8, "ready-mix", &book_with(|_| ()))),
        number(&trap, "/expected/order_cy"),
        &trap,
    );
    let allowance = case("con-order-4-10");
    let fine = book_with(|b| b["concrete_ways"][0]["increment"] = json!("0.1 yd3"));
    for (waste, pointer) in [(4, "/expected/low_cy"), (10, "/expected/high_cy")] {
        let got = by_way(yards(number(&allowance, "/inputs/plan_cy")), waste, "ready-mix", &fine);
        near(first_order(&got), number(&allowance, pointer), &allowance);
    }
}

#[test]
fn a_large_order_comes_in_loads_and_the_short_one_is_told() {
    let case = case("con-loads");
    // Where nothing is charged for it the trucks are filled as the case splits them.
    let free = book_with(|b| {
        let trucks = b["concrete_ways"][0].as_object_mut().unwrap();
        trucks.remove("waiting_per_hour");
        trucks["short_load"]["charge"] = json!("0.00");
    });
    let got = by_way(yards(number(&case, "/inputs/order_cy")), 0, "ready-mix", &free);
    let way = got.chosen_way().unwrap();
    assert_eq!(way.loads as f64, number(&case, "/expected/loads"));
    near(way.load_sizes.last().unwrap().value(), number(&case, "/expected/last_load_cy"), &case);
    let short = way.lines.iter().any(|l| l.rule == "concrete.short_load") && !way.warnings.is_empty();
    assert_eq!(short, case["expected"]["short_load"]);
}

#[test]
fn bags_are_whole_and_no_more_than_needed() {
    let case = case("con-bags-count");
    let net = Volume::from_nm3(Unit::Ft3.factor().unwrap() * 27 / 10);
    for (way, pointer) in [("bags-60", "/expected/bags_60lb"), ("bags-80", "/expected/bags_80lb")] {
        near(first_order(&by_way(net, 0, way, &book_with(|_| ()))), number(&case, pointer), &case);
    }
}

#[test]
fn the_demo_mix_cures_and_is_placed_as_published() {
    let book = book_with(|_| ());
    let rules = book.doc().concrete_rules.as_ref().unwrap();
    let cure = case("con-curing-ufgs");
    assert_eq!(rules.cure_days_wheels.get() as f64, number(&cure, "/expected/type_I_days"));
    let limit = case("con-c94");
    let minutes = number(&limit, "/expected/default_limit_min_1933_to_2021");
    assert_eq!(rules.time_limit.seconds() as f64, minutes * 60.0);
}

#[test]
fn man_days_come_from_person_hours() {
    let drywall = case("lab-drywall-md");
    let units = decimal(&drywall, "/inputs/quantity_sf") / decimal(&drywall, "/inputs/unit_sf");
    let by_quantity = units * decimal(&drywall, "/inputs/mh_per_unit");
    let day = Decimal::from(8);
    let plain = person_hours(Decimal::ZERO, by_quantity, Factor::ONE, Factor::ONE) / day;
    near(plain, number(&drywall, "/expected/man_days"), &drywall);
    let delayed = case("lab-drywall-df");
    let factor = Factor::from_millionths((number(&delayed, "/inputs/delay_factor") * 1e6) as i64);
    let days = person_hours(Decimal::ZERO, by_quantity, factor, Factor::ONE) / day;
    near(days, number(&delayed, "/expected/man_days_rounded"), &delayed);
    let block = case("lab-cmu");
    let work =
        decimal(&block, "/inputs/area_sf") * decimal(&block, "/inputs/mh_per_1000_sf") / Decimal::from(1000);
    let got = person_hours(Decimal::ZERO, work, Factor::ONE, Factor::ONE);
    near(got, number(&block, "/expected/man_hours"), &block);
    let whole = crew_seconds(got, 1, Span::from_seconds(3600)) / 3600;
    assert_eq!(whole as f64, number(&block, "/expected/man_hours_rounded"));
}

fn dug(soil: Soil, methods: &[(Task, &Code)]) -> LaborHours {
    let mut measures = Measures::default();
    measures.set_base(Measure::RunExcavation, yards(100.0).nm3());
    let conditions = Conditions {
        weather: None,
        soil,
        difficulty: Difficulty::Normal,
        deepest_run: Length::FOOT,
        deepest_line: Length::FOOT,
        thickest_sawn: Length::ZERO,
        methods,
        trenches: Trenches::UNNAMED,
    };
    hours(&measures, &conditions, &book_with(|_| ()), Show(UnitSystem::Us))
}

#[test]
fn a_trench_dug_by_hand_takes_the_published_hours() {
    // From the easiest to the hardest band, as a whole answer and not only as the entry of the book.
    let least = case("lab-handdig-pp-loose_sand_or_soil");
    let most = case("lab-handdig-pp-boulder_clay");
    let band = number(&least, "/expected/mh_per_cy") - 0.005..=number(&most, "/expected/mh_per_cy");
    let hand = Code::new("hand").unwrap();
    let by_hand = [(Task::DigRun, &hand)];
    let mut before = 0.0;
    for soil in [Soil::SandGravel, Soil::CommonEarth, Soil::Clay] {
        let answer = dug(soil, &by_hand);
        let per_yard = answer.tasks[0].person_hours_net.value().to_f64().unwrap() / 100.0;
        assert!(band.contains(&per_yard) && per_yard > before, "{soil}: {per_yard}");
        before = per_yard;
    }
    // Recommended averages of labor-based works: from soft to hard soil, within their own tolerance.
    let averages = case("lab-ilo-hand");
    let soft = number(&averages, "/expected/mh_per_cy_soft");
    let hard = number(&averages, "/expected/mh_per_cy_hard");
    assert!((soft * 0.9..=hard).contains(&before));
}

#[test]
fn machine_and_hand_rates_of_the_demo_stand_to_the_published_ones() {
    let book = book_with(|_| ());
    let rate = |task: Task, measure: Measure| {
        let rates = &book.labor(task, None).unwrap().rates;
        rates.iter().find(|r| r.measure == measure).unwrap().hours.number()
    };
    // A plate compactor is quicker than ramming by hand.
    let ramming = case("lab-is7272-backfill_ram_labor_only");
    let powered = rate(Task::Backfill, Measure::Backfill).to_f64().unwrap();
    assert!(powered > 0.0 && powered < number(&ramming, "/expected/mh_per_cy"));
    // Bars: hours per pound times the weight of a foot of No. 4, to four places as the book writes it.
    let bars = case("lab-rebar-india");
    let pound = Decimal::from_i128_with_scale(bar_weight(4, Length::FOOT).unwrap().base(), 0)
        / Decimal::from_i128_with_scale(Mass::pounds(1).base(), 0);
    let published = number(&bars, "/expected/mh_per_lb") * pound.to_f64().unwrap();
    let ours = rate(Task::HangAndBrace, Measure::BarLength).to_f64().unwrap();
    assert!((ours - published).abs() <= 0.000_05, "{ours} against {published}");
}

#[test]
fn hire_is_the_cheapest_mix() {
    for id in ["pr-rent-9d", "pr-rent-21d"] {
        let case = case(id);
        let rate = |pointer: &str| Some(decimal(&case, pointer));
        let half_days = number(&case, "/inputs/days") as i64 * 2;
        let rates = Rates {
            day: rate("/inputs/day"),
            week: rate("/inputs/week"),
            four_weeks: rate("/inputs/month28"),
            ..Rates::default()
        };
        near(cheapest_mix(&rates, half_days).total, number(&case, "/expected/charge"), &case);
    }
}

#[test]
fn nine_days_of_a_machine_are_hired_as_published() {
    let case = case("pr-rent-9d");
    let book = book_with(|b| {
        b["equipment"][3] = json!({
            "code": "mini-excavator", "name": "Mini excavator", "day": "100.00", "week": "300.00", "four_weeks": "800.00"
        });
        b["labor"][7]["setup"] = json!("0 hr");
        b["labor"][7]["rates"] = json!([{"measure": "run_excavation", "unit": "yd3", "hours": "1.12"}]);
    });
    // 100 yd³ x 1.12 h by two people: 56 crew-hours, seven days of eight hours; with the weekend behind the fifth nine on hire.
    let mut measures = Measures::default();
    measures.set_base(Measure::RunExcavation, yards(100.0).nm3());
    let method = Code::new("mini-excavator").unwrap();
    let conditions = Conditions {
        weather: None,
        soil: Soil::Clay,
        difficulty: Difficulty::Normal,
        deepest_run: Length::FOOT,
        deepest_line: Length::FOOT,
        thickest_sawn: Length::ZERO,
        methods: &[(Task::DigRun, &method)],
        trenches: Trenches::UNNAMED,
    };
    let show = Show(UnitSystem::Us);
    let lines = cost_lines(&hires(None, &hours(&measures, &conditions, &book, show), &book));
    let cost: Amount = lines.iter().map(|l| l.cost).sum();
    near(cost.decimal(), number(&case, "/expected/charge"), &case);
}

fn sold(costs: &[(Category, &str)], scheme: Value, tax: Option<Value>) -> PriceBuildUp {
    let lines: Vec<CostLine> = costs
        .iter()
        .map(|(category, cost)| {
            let cost: Decimal = cost.parse().unwrap();
            CostLine {
                code: "x".to_owned(),
                description: "x".to_owned(),
                category: *category,
                quantity: Quantity::pieces(1),
                unit_price: Price::from_millionths((cost * Decimal::from(1_000_000)).to_i64().unwrap()),
                cost: Amount::line(cost),
                rule: "extra",
                basis: "x".to_owned(),
            }
        })
        .collect();
    let scheme = rillcast::wire::read_value(&scheme).unwrap();
    let taxes: Vec<_> = tax.iter().map(|t| rillcast::wire::read_value(t).unwrap()).collect();
    build_up(&lines, &scheme, &taxes, Currency::Usd)
}

fn scheme(overhead: &str, profit: &str, compounding: &str) -> Value {
    json!({
        "code": "s", "name": "s", "compounding": compounding, "rounding": "up",
        "overhead": {"pct": overhead, "as_kind": "markup"},
        "contingency": {"pct": "0", "as_kind": "markup"},
        "profit": {"pct": profit, "as_kind": "markup"}
    })
}

#[test]
fn overhead_and_profit_build_the_price() {
    let case = case("pr-oh-profit");
    for (compounding, pointer) in
        [("compound", "/expected/price_compound"), ("additive", "/expected/price_additive")]
    {
        let price = sold(&[(Category::Labor, "10000")], scheme("12", "8", compounding), None);
        near(price.price_before_tax.decimal(), number(&case, pointer), &case);
    }
}

#[test]
fn tax_is_rounded_by_the_line_or_by_the_document() {
    let case = case("pr-tax-line-vs-invoice");
    let lines: Vec<(Category, &str)> = case["inputs"]["lines"]
        .as_array()
        .unwrap()
        .iter()
        .map(|l| (Category::Material, l.as_str().unwrap()))
        .collect();
    for (rounding, want) in [("per_line", "tax_by_line"), ("per_document", "tax_by_invoice")] {
        let tax = json!({
            "code": "t", "name": "t", "rate_pct": "8.25", "categories": ["material"], "due_on": "purchase",
            "rounding": rounding
        });
        let price = sold(&lines, scheme("0", "0", "compound"), Some(tax));
        assert_eq!(price.purchase_taxes[0].amount.to_string(), case["expected"][want].as_str().unwrap());
    }
}

#[test]
fn a_price_is_shared_over_categories_to_the_cent() {
    let case = case("pr-lr-cents-3");
    let mut scheme = scheme("0", "0", "compound");
    scheme["least_charge"] = json!("100.00");
    let thirds = [(Category::Material, "1"), (Category::Labor, "1"), (Category::Hire, "1")];
    let price = sold(&thirds, scheme, None);
    let shares: Vec<i64> = price.by_category.iter().map(|c| c.price.minor()).collect();
    assert_eq!(json!(shares), case["expected"]["alloc_cents"]);
}

#[test]
fn bars_weigh_what_the_standard_says() {
    for id in 3..=6 {
        let nominal = case(&format!("rebar-{id}"));
        let weight = bar_weight(id, Length::feet(1000)).unwrap();
        let per_foot = Decimal::from_i128_with_scale(weight.base(), 0)
            / Decimal::from_i128_with_scale(Mass::pounds(1000).base(), 0);
        near(per_foot, number(&nominal, "/expected/lb_per_ft"), &nominal);
        // 490 lb/ft³ of steel: within a thousandth of the nominal weight.
        let geometry = case(&format!("rebar-geom-{id}"));
        let by_volume = number(&geometry, "/expected/lb_per_ft");
        assert!((per_foot.to_f64().unwrap() / by_volume - 1.0).abs() < 0.001);
    }
}
