//! Quotes and change orders from the demo job.

use crate::job::{Course, estimated, job, quote_inputs, read, terms};
use rillcast::compute::contract::{accept, issuing, quote};
use rillcast::units::Amount;
use rillcast::wire::contract::inputs::QuoteInputs;
use serde_json::{Value, json};

fn with(change: impl FnOnce(&mut Value)) -> Result<quote::QuoteDocument, Vec<(String, &'static str)>> {
    let mut terms = terms();
    change(&mut terms);
    let inputs: QuoteInputs = read(&json!({
        "number": "Q-0001", "issued_on": "2026-03-02", "job": job(), "terms": terms, "estimate": quote_inputs().estimate
    }));
    quote::quote(&inputs).map_err(|f| f.list().iter().map(|f| (f.pointer.clone(), f.code)).collect())
}

#[test]
fn a_quote_shows_the_estimate_and_foots() {
    let paper = with(|_| {}).unwrap();
    let lines: Amount = paper.offer.lines.iter().map(|l| l.price).sum();
    assert_eq!(lines, paper.offer.before_tax);
    assert_eq!(paper.offer.total, paper.offer.before_tax + paper.offer.tax);
    let columns = paper.schedule.iter().fold((Amount::ZERO, Amount::ZERO, Amount::ZERO), |s, stage| {
        (s.0 + stage.before_tax, s.1 + stage.tax, s.2 + stage.total)
    });
    assert_eq!(columns, (paper.offer.before_tax, paper.offer.tax, paper.offer.total));
    // The office's own line takes its share of the materials, the rest stays in a line of its own.
    let of = |code: &str| paper.offer.lines.iter().find(|l| l.code == code).unwrap().price;
    let materials = of("drive") + of("material");
    let estimate = quote_inputs().estimate;
    assert_eq!(
        materials,
        estimate.categories.iter().find(|c| c.category.word() == "material").unwrap().price.0
    );
    assert!(paper.exclusions.contains(&"Painting".to_owned()));
    assert!(!paper.cautions.is_empty(), "the cautions of the estimate are on the quote");
}

#[test]
fn shares_that_do_not_foot_are_told_with_their_sum() {
    let mut quote = quote_inputs();
    quote.terms.schedule = read(&json!([
        {"code": "deposit", "name": "Deposit", "due": "deposit", "pct": "50"},
        {"code": "done", "name": "Done", "due": "completion", "pct": "45.5"}
    ]));
    quote.terms.lines = read(&json!([
        {"code": "a", "description": "A", "category": "material", "pct": "60"},
        {"code": "b", "description": "B", "category": "material", "pct": "50"}
    ]));
    let faults = quote::quote(&quote).unwrap_err();
    let told: Vec<&str> = faults.list().iter().map(|f| f.detail.as_str()).collect();
    let expected = [
        "the stages make 95.5 %, and must make 100 %",
        "the lines for material take 110 % of its price, and at most 100 % is there",
    ];
    assert_eq!(told, expected);
}

#[test]
fn each_failed_check_is_named_once_and_the_rest_are_counted() {
    let mut quote = quote_inputs();
    quote.estimate.failed = read(&json!(["one", "two", "three", "one", "four", "five", "six", "seven"]));
    let issue = |confirmed: bool| read(&json!({"on": "2026-03-02", "failed_checks": confirmed}));
    let faults = issuing::check_quote(&issue(false), &quote, None);
    let told: Vec<&str> = faults.list().iter().map(|f| f.detail.as_str()).collect();
    let expected = "7 checks of what this quote offers failed: one; two; three; four; five; 2 more; mend the notes and estimate anew, or \
                    send `failed_checks: true` to issue it nevertheless";
    assert_eq!(told, [expected]);
    assert!(issuing::check_quote(&issue(true), &quote, None).is_empty());
    // The word for failed checks is none for a date.
    let faults = issuing::check_quote(&issue(true), &quote, Some(read(&json!("2026-03-03"))));
    assert_eq!(faults.list()[0].code, "before_issue_date");
    assert!(issuing::check_quote(&issue(true), &quote, Some(read(&json!("2026-03-02")))).is_empty());
}

#[test]
fn faults_of_the_terms_are_listed_at_once() {
    let faults = with(|t| {
        t["schedule"][0]["pct"] = json!("31");
        t["schedule"][1]["code"] = json!("deposit");
        t["valid_until"] = json!("2026-03-01");
        t["retainage"]["pct"] = json!("100");
        t["lines"] = json!([
            {"code": "labor", "description": "x", "category": "material", "pct": "60"},
            {"code": "a", "description": "x", "category": "material", "pct": "50"},
            {"code": "b", "description": "x", "category": "subcontract", "pct": "1"}
        ]);
        t["seller"]["country"] = json!("usa");
    })
    .unwrap_err();
    let mut codes: Vec<String> = faults.iter().map(|(p, c)| format!("{p} {c}")).collect();
    codes.sort();
    assert_eq!(
        codes,
        [
            "#/lines does_not_foot",
            "#/lines/0/code reserved",
            "#/lines/2/category unknown_value",
            "#/retainage/pct out_of_range",
            "#/schedule does_not_foot",
            "#/schedule/1/code duplicate",
            "#/seller/country country",
            "#/valid_until before_issue_date",
        ]
    );
}

#[test]
fn an_acceptance_says_what_is_taken() {
    let inputs = quote_inputs();
    let accept = |decision: Value| {
        accept::accept(&inputs, &read(&decision), crate::job::last_day())
            .map(|list| list.iter().map(|c| c.code.to_string()).collect::<Vec<_>>())
            .map_err(|f| f.list().iter().map(|f| format!("{} {}", f.pointer, f.code)).collect::<Vec<_>>())
    };
    assert_eq!(accept(json!({"by": "H", "on": "2026-03-05"})).unwrap(), ["quote"]);
    assert_eq!(
        accept(json!({"by": "H", "on": "2026-04-01", "additions": ["cover"]})).unwrap(),
        ["quote", "add-cover"]
    );
    let refused = accept(
        json!({"by": "H", "on": "2026-04-02", "alternate": "x", "additions": ["cover", "cover", "y"]}),
    );
    assert_eq!(
        refused.unwrap_err(),
        [
            "#/on after_valid_until",
            "#/alternate unknown_code",
            "#/additions/1 duplicate",
            "#/additions/2 unknown_code"
        ]
    );
    assert_eq!(accept(json!({"by": "H", "on": "2026-03-01"})).unwrap_err(), ["#/on before_issue_date"]);
}

#[test]
fn a_change_is_the_difference_of_two_revisions() {
    let mut course = Course::accepted();
    let before = course.account().total();
    let from = course.quote.estimate.clone();
    let to = estimated("est_2", 2, |n| n["runs"][0]["legs"][0]["length"] = json!("30 ft"));
    let paper = course.change(&json!({"kind": "revision", "estimate_id": "est_2"}), Some(to.clone()));
    let price = |e: &rillcast::wire::contract::facts::EstimateFact| -> Amount {
        e.categories.iter().map(|c| c.price.0).sum()
    };
    let tax = |e: &rillcast::wire::contract::facts::EstimateFact| -> Amount {
        e.taxes.iter().map(|t| t.amount.0).sum()
    };
    assert_eq!(paper.before_tax, price(&to) - price(&from));
    assert_eq!(paper.tax, tax(&to) - tax(&from));
    assert_eq!(paper.contract_before, before);
    assert_eq!(paper.contract_after, course.account().total());
    let channel = paper.quantities.iter().find(|q| q.name == "channel_length").unwrap();
    let (was, is) = (channel.before.as_ref().unwrap(), channel.after.as_ref().unwrap());
    assert_eq!(is.value.decimal() - was.value.decimal(), channel.change.value.decimal());
    assert!(channel.change.value.decimal() != rust_decimal::Decimal::ZERO);
    let hours = to.crew_hours.decimal() - from.crew_hours.decimal();
    assert_eq!(paper.work.crew_hours.value.decimal(), hours.normalize());

    // Back again: the same figures with the other sign.
    let mut back = Course::accepted();
    back.quote.estimate = to;
    let reverse = back.change(&json!({"kind": "revision", "estimate_id": "est_1"}), Some(from));
    assert_eq!(
        (reverse.before_tax, reverse.tax, reverse.total),
        (-paper.before_tax, -paper.tax, -paper.total)
    );
}

#[test]
fn invoices_refuse_what_the_contract_does_not_hold() {
    let mut course = Course::accepted();
    let codes = |course: &mut Course, request: Value| -> Vec<String> {
        let faults = course.try_bill(&request).unwrap_err();
        faults.list().iter().map(|f| format!("{} {}", f.pointer, f.code)).collect()
    };
    let bill = |bill: Value| json!({"bill": bill, "on": "2026-03-20"});
    let line = |line: &str, amount: &str| {
        bill(json!({"kind": "lines", "lines": [{"line": line, "amount": amount}]}))
    };
    assert_eq!(codes(&mut course, line("labor", "999999.00")), ["#/bill/lines/0 over_contract"]);
    assert_eq!(codes(&mut course, line("nothing", "1.00")), ["#/bill/lines/0/line unknown_code"]);
    assert_eq!(codes(&mut course, line("labor", "-1.00")), ["#/bill/lines/0/amount negative_billing"]);
    assert_eq!(
        codes(&mut course, bill(json!({"kind": "stage", "stage": "poured2"}))),
        ["#/bill/stage unknown_code"]
    );
    assert_eq!(codes(&mut course, bill(json!({"kind": "retainage"}))), ["#/bill/amount over_retained"]);
    assert_eq!(
        codes(&mut course, bill(json!({"kind": "change_order", "change_order": "co-1"}))),
        ["#/bill/change_order unknown_code"]
    );
    let mut early = bill(json!({"kind": "percent", "pct_to_date": "10"}));
    early["due_on"] = json!("2026-03-19");
    assert_eq!(codes(&mut course, early), ["#/due_on before_issue_date"]);

    course.bill(&json!({"kind": "stage", "stage": "deposit"}));
    assert_eq!(
        codes(&mut course, bill(json!({"kind": "stage", "stage": "deposit"}))),
        ["#/bill/stage already_billed"]
    );
    // The deposit is ahead of a tenth of the work.
    assert_eq!(
        codes(&mut course, bill(json!({"kind": "percent", "pct_to_date": "10"}))),
        ["#/bill nothing_to_bill"]
    );
    // Said so, it goes out, and says so itself.
    let mut over = line("labor", "9999.00");
    over["over_contract"] = json!(true);
    let paper = course.try_bill(&over).unwrap();
    assert_eq!(paper.warnings.iter().map(|w| w.code).collect::<Vec<_>>(), ["over_contract"]);
    assert!(paper.lines[0].open < Amount::ZERO);
    // The final invoice brings the account back to the contract.
    let last = course.bill(&json!({"kind": "final"}));
    assert_eq!((last.account.open, last.account.retained), (Amount::ZERO, Amount::ZERO));
    assert_eq!(last.account.invoiced, last.account.contract);
}

/// No paper is dated ahead any more; one that was is ended on its own date, which is the first that it allows.
#[test]
fn a_paper_that_was_dated_ahead_can_be_ended() {
    use rillcast::compute::contract::accept::{check_closing, check_date};
    use rillcast::compute::contract::moves::{PaperKind, PaperState};
    use rillcast::wire::day::{Day, OfficeDay};
    let day = |text: &str| Day::parse(text).unwrap();
    let (today, ahead) = (day("2026-03-02"), day("2126-03-01"));
    let office = OfficeDay { day: today, zone: "UTC" };
    let closed = |on: Day, issued: Day| {
        let faults = check_closing(on, Some(issued), office, PaperKind::Quote, PaperState::Withdrawn);
        faults.list().iter().map(|f| f.code).collect::<Vec<_>>()
    };
    assert_eq!(closed(ahead, ahead), [""; 0]);
    assert_eq!(closed(today, ahead), ["before_issue_date"]);
    assert_eq!(closed(day("2126-03-02"), ahead), ["in_the_future"]);
    assert_eq!(closed(ahead, today), ["in_the_future"]);
    assert!(check_date(today, office).is_empty());
    assert_eq!(check_date(day("2026-03-03"), office).list()[0].code, "in_the_future");
}

/// Whatever the country of the office: terms of old that name no scheme were written under that of a sales tax.
#[test]
fn papers_from_before_keep_the_scheme_of_taxes_they_were_written_with() {
    let scheme = |by_country: bool, named: Option<&str>| {
        let mut quote = serde_json::to_value(quote_inputs()).unwrap();
        quote["terms"]["seller"]["country"] = json!("CH");
        quote["scheme_by_country"] = json!(by_country);
        match named {
            Some(named) => quote["terms"]["tax_scheme"] = json!(named),
            None => drop(quote["terms"].as_object_mut().unwrap().remove("tax_scheme")),
        }
        read::<QuoteInputs>(&quote).tax_scheme().word()
    };
    assert_eq!((scheme(false, None), scheme(false, Some("VAT"))), ("STT", "VAT"));
    assert_eq!((scheme(true, None), scheme(true, Some("LOC"))), ("VAT", "LOC"));
    // what was stored before does not have the member at all
    let stored = serde_json::to_value(quote_inputs()).unwrap();
    assert_eq!(stored.get("scheme_by_country"), None);
}

/// Material of an addition is ordered with the estimates that its contract stood on, by what the optional line of its code takes.
#[test]
fn an_addition_that_was_taken_brings_what_its_optional_line_takes() {
    use rillcast::compute::contract::fold::Contract;
    use rillcast::documents::job_orders::additions::Additions;
    let course = Course::accepted();
    let contract = Contract::open(quote_inputs(), course.components.clone(), None);
    let mut notes: Value = serde_json::from_str(rillcast::domain::demo::NOTES).unwrap();
    let mut taken = |code: &str, estimate: &str| {
        let line = |code: &str| json!({"code": code, "name": code, "extras": [{"item": "hanger", "quantity": "12"}]});
        notes["pricing"]["optional"] = json!([line("other"), line(code)]);
        let additions = Additions::of(&contract, &read(&notes));
        let told = additions.taken_with(estimate).iter();
        told.map(|t| (t.code.to_string(), t.name.clone(), t.extras.len())).collect::<Vec<_>>()
    };
    let cover = |extras: usize| vec![("cover".to_owned(), "Spare grates".to_owned(), extras)];
    assert_eq!(taken("cover", "est_1"), cover(1));
    assert_eq!(taken("lid", "est_1"), cover(0), "written by hand");
    assert_eq!(taken("cover", "est_2"), []);
}
