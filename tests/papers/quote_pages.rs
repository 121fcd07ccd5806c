//! Pages of quotes beyond their sums: what is built, the order of the lines, the stages, no tax where there is none.

use crate::job::{Course, quote_inputs, read};
use crate::printed::{decimal, number, parsed, select, text_of};
use rillcast::compute::contract::moves::PaperState;
use rillcast::compute::contract::quote;
use rillcast::documents::print::{self, Standing};
use rillcast::units::Amount;
use rust_decimal::Decimal;
use serde_json::json;

/// A quote of an office that wrote no scope says by its quantities what is built, and has its lines in the order they were written in.
#[test]
fn a_quote_says_what_is_built_and_keeps_the_order_of_its_lines() {
    let mut inputs = quote_inputs();
    inputs.terms.scope = None;
    let line = |code: &str, category: &str| json!({"code": code, "description": code, "category": category, "pct": "20"});
    inputs.terms.lines =
        read(&json!([line("z", "labor"), line("a", "material"), line("m", "labor"), line("b", "material")]));
    let paper = quote::quote(&inputs).unwrap();
    let html = parsed(&print::quote::quote(&paper, &inputs, &Standing::of(PaperState::Issued)));
    let lines = select(&html, "table:first-of-type tbody td:first-child");
    assert_eq!(lines[..4], ["z", "a", "m", "b"]);
    assert_eq!(lines.len(), select(&html, "table:first-of-type tbody tr").len());
    let text = text_of(&html);
    for said in ["What is built", "Channel 50 ft 9 in", "Grates 27", "Drain pipe 92 ft", "Concrete 1.75 yd3"]
    {
        assert!(text.contains(said), "{said}: {text}");
    }
    for office in ["export", "haul", "channel_length", "screws"] {
        assert!(!text.contains(office), "{office}: {text}");
    }
}

/// Nothing is said of tax where none falls on the paper.
#[test]
fn papers_without_tax_do_not_speak_of_it() {
    let mut inputs = quote_inputs();
    inputs.estimate.tax_rules = read(&json!([]));
    inputs.estimate.taxes = read(&json!([]));
    let mut course = Course::of(inputs, &["cover"]);
    let paper = course.quote();
    let open = print::quote::quote(&paper, &course.quote, &Standing::of(PaperState::Issued));
    let accepted = Standing { contract: Some(Amount::from_minor(1)), ..Standing::of(PaperState::Accepted) };
    let agreed = print::quote::quote(&paper, &course.quote, &accepted);
    let line = json!({"code": "more", "description": "More", "category": "labor", "price": "10.00"});
    let change = course.change(&json!({"kind": "lines", "lines": [line]}), None);
    let change = print::change_order::change_order(&change, &Standing::of(PaperState::Issued));
    let mut billed = course.bill(&json!({"kind": "percent", "pct_to_date": "50"}));
    billed.retained = Amount::ZERO;
    let invoice = print::invoice::invoice(&billed, &Standing::of(PaperState::Issued));
    for page in [open, agreed, change, invoice] {
        let html = parsed(&page);
        let said = select(&html, "th, p, dt")
            .into_iter()
            .find(|t| t.to_lowercase().contains("tax") && !t.starts_with("Retainage"));
        assert_eq!(said, None);
    }
}

/// What is signed and paid after the acceptance is all that was taken, and the stages say so.
#[test]
fn stages_of_an_accepted_quote_are_those_that_are_billed() {
    let mut course = Course::accepted();
    let paper = course.quote();
    let stages = quote::agreed_schedule(&course.quote, &course.components);
    let contract = course.account().total();
    let standing = Standing {
        taken: vec!["cover".to_owned()],
        contract: Some(contract),
        stages: stages.clone(),
        ..Standing::of(PaperState::Accepted)
    };
    let html = parsed(&print::quote::quote(&paper, &course.quote, &standing));
    let told: Vec<Decimal> = select(&html, "h2 + table.rows tbody tr td[data-label=Share] + td")
        .iter()
        .map(|f| number(f))
        .collect();
    assert_eq!(told.len(), 3);
    assert_eq!(told.iter().sum::<Decimal>(), decimal(contract));
    assert!(!text_of(&html).contains("What is ticked above"));
    for (stage, told) in stages.iter().zip(told) {
        let billed = course.bill(&json!({"kind": "stage", "stage": stage.code}));
        assert_eq!(decimal(billed.total), told, "{}", stage.code);
    }
    // A change order is billed by itself.
    let line = json!({"code": "more", "description": "More", "category": "labor", "price": "1000.00"});
    course.change(&json!({"kind": "lines", "lines": [line]}), None);
    assert_eq!(quote::agreed_schedule(&course.quote, &course.components), stages);
}
