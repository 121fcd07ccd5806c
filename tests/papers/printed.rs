//! Papers as pages, read back by an HTML parser that is not ours (`scraper`, the parser of the HTML Living Standard).

use crate::job::{Course, quote_inputs, read};
use rillcast::compute::contract::invoice::{OUT_OF_DATE_ORDER, PaperWarning};
use rillcast::compute::contract::moves::PaperState;
use rillcast::compute::contract::quote;
use rillcast::documents::print::estimate::{Shown, estimate};
use rillcast::documents::print::site::site_sheet;
use rillcast::documents::print::{self, Standing};
use rillcast::units::Amount;
use rillcast::wire::contract::facts::JobFact;
use rust_decimal::Decimal;
use scraper::{Html, Selector};
use serde_json::{Value, json};

/// A page that is well formed, all its own, and without script.
fn parsed(page: &str) -> Html {
    let html = Html::parse_document(page);
    assert_eq!(html.errors, Vec::<std::borrow::Cow<'static, str>>::new());
    let foreign = select(
        &html,
        "script, link, img, iframe, object, embed, form, a, [src], [href], [onload], [onclick]",
    );
    assert_eq!(foreign, Vec::<String>::new());
    assert!(
        !page.contains("http:") && !page.contains("https:") && !page.contains("url("),
        "nothing from elsewhere"
    );
    assert_eq!(select(&html, "html[lang=en] > head > title").len(), 1);
    html
}

/// Texts of the elements, with single blanks.
fn select(html: &Html, selector: &str) -> Vec<String> {
    let selector = Selector::parse(selector).unwrap();
    html.select(&selector)
        .map(|e| e.text().flat_map(str::split_whitespace).collect::<Vec<_>>().join(" "))
        .collect()
}

/// All that is read on the page.
fn text_of(html: &Html) -> String {
    select(html, "body").remove(0)
}

/// A figure of a page as a number.
fn number(text: &str) -> Decimal {
    let plain: String =
        text.chars().filter(|c| !c.is_whitespace()).map(|c| if c == '\u{2212}' { '-' } else { c }).collect();
    plain.parse().unwrap_or_else(|e| panic!("{text:?}: {e}"))
}

/// Sums below the first table, by name.
fn foot(html: &Html) -> Vec<(String, Decimal)> {
    let names = select(html, "tfoot th");
    let figures = select(html, "tfoot td");
    assert_eq!(names.len(), figures.len());
    names.into_iter().zip(figures.iter().map(|f| number(f))).collect()
}

fn of(sums: &[(String, Decimal)], start: &str) -> Decimal {
    sums.iter().find(|(name, _)| name.starts_with(start)).unwrap_or_else(|| panic!("{start}: {sums:?}")).1
}

fn decimal(amount: Amount) -> Decimal {
    amount.decimal()
}

#[test]
fn a_quote_reads_as_it_was_written_and_foots() {
    let paper = quote::quote(&quote_inputs()).unwrap();
    let html = parsed(&print::quote::quote(&paper, &Standing::of(PaperState::Issued)));
    let text = text_of(&html);
    // What would be markup is text.
    for said in [
        "Quote Q-0001",
        "Drive <and> path & gate 🌧 \"A\"",
        "Example Household & Sons <1>",
        "14 Alder Bend, Millbrook",
        "Example Drainage",
        "Tax number US-0001",
        "Two runs of channel set in concrete, one line of pipe.",
        "Painting",
        "Thirty days net.",
        "On signing before the work begins 30 %",
        "Spare grates",
    ] {
        assert!(text.contains(said), "{said}: {text}");
    }
    assert!(paper.cautions.iter().all(|c| text.contains(c.as_str())));
    let lines: Vec<Decimal> = select(&html, "table:first-of-type tbody td.figure")
        .iter()
        .map(|f| number(f))
        .take(paper.offer.lines.len())
        .collect();
    let sums = foot(&html);
    assert_eq!(lines.iter().sum::<Decimal>(), of(&sums, "Before tax"));
    let taxes = of(&sums, "State sales tax") + of(&sums, "City & county");
    assert_eq!(of(&sums, "Before tax") + taxes, of(&sums, "Total"));
    assert_eq!(of(&sums, "Total"), decimal(paper.offer.total));
    assert_eq!(select(&html, ".sign span"), ["Name", "Date", "Signature"]);
    assert_eq!(select(&html, ".stamp"), Vec::<String>::new());
    assert!(text.contains("We accept this quote, with what is ticked above."));
}

#[test]
fn a_page_says_where_its_paper_stands() {
    let mut paper = quote::quote(&quote_inputs()).unwrap();
    paper.failed_checks = vec!["cover of line main".to_owned()];
    let on = read(&json!("2026-03-09"));
    for (state, stamp) in [
        (PaperState::Accepted, "Accepted on 2026-03-09 by R. Example"),
        (PaperState::Declined, "Declined on 2026-03-09 by R. Example"),
        (PaperState::Expired, "Expired on 2026-03-09 by R. Example"),
        (PaperState::Withdrawn, "Withdrawn on 2026-03-09 by R. Example"),
        (PaperState::Superseded, "Another has taken its place on 2026-03-09 by R. Example"),
    ] {
        let standing = Standing { on: Some(on), by: Some("R. Example".to_owned()), ..Standing::of(state) };
        let html = parsed(&print::quote::quote(&paper, &standing));
        assert_eq!(select(&html, ".stamp"), [stamp]);
        assert_eq!(
            select(&html, ".sign, .box, .office"),
            Vec::<String>::new(),
            "nobody signs what no longer stands: {state}"
        );
    }
    // What was taken is marked, with what it comes to.
    let accepted = Standing {
        taken: vec!["cover".to_owned()],
        contract: Some(Amount::from_minor(123_456)),
        ..Standing::of(PaperState::Accepted)
    };
    let mut both = paper.clone();
    both.additions.push(rillcast::compute::contract::quote::Offer {
        code: "other".to_owned(),
        ..both.additions[0].clone()
    });
    let html = parsed(&print::quote::quote(&both, &accepted));
    let decided: Vec<String> =
        select(&html, "td").into_iter().filter(|t| t == "taken" || t == "not taken").collect();
    assert_eq!(decided, ["taken", "not taken"]);
    assert!(text_of(&html).contains("Agreed in all, with tax: 1 234.56 USD"));
    // Once its last day has passed nobody signs it, whether that was recorded or not.
    for (today, stamps, signs) in [("2026-04-01", &[][..], 3), ("2026-04-02", &["Expired on 2026-04-01"], 0)]
    {
        let standing = Standing { today: Some(read(&json!(today))), ..Standing::of(PaperState::Issued) };
        let html = parsed(&print::quote::quote(&paper, &standing));
        assert_eq!(
            (select(&html, ".stamp"), select(&html, ".sign span").len()),
            (stamps.iter().map(ToString::to_string).collect(), signs)
        );
    }
    // What failed is for the office, and only while nothing is out.
    paper.number = None;
    paper.issued_on = None;
    let html = parsed(&print::quote::quote(&paper, &Standing::of(PaperState::Draft)));
    assert_eq!(select(&html, ".stamp"), ["Draft, not sent: nobody can agree to this"]);
    assert!(select(&html, ".office")[0].contains("cover of line main"));
    assert_eq!(select(&html, ".sign"), Vec::<String>::new());
}

#[test]
fn change_orders_invoices_and_credit_notes_foot_on_their_pages() {
    let mut course = Course::accepted();
    let change = course.change(
        &json!({"kind": "lines", "lines": [
        {"code": "less", "description": "Less digging", "category": "labor", "price": "-1000.00"}]}),
        None,
    );
    let html = parsed(&print::change_order::change_order(&change, &Standing::of(PaperState::Issued)));
    let contract: Vec<Decimal> =
        select(&html, "th[scope=row] + td.figure").iter().rev().take(2).map(|f| number(f)).collect();
    assert_eq!(contract[0] - contract[1], of(&foot(&html), "Total"));
    assert_eq!(contract[0], decimal(change.contract_after));
    assert!(text_of(&html).contains(
        "Less digging \u{2212}1\u{202f}000.00".split_whitespace().collect::<Vec<_>>().join(" ").as_str()
    ));

    let mut paper = course.bill(&json!({"kind": "percent", "pct_to_date": "50"}));
    paper.warnings = ["over_contract", OUT_OF_DATE_ORDER]
        .map(|code| PaperWarning { code, text: format!("said of {code}") })
        .to_vec();
    let html = parsed(&print::invoice::invoice(&paper, &Standing::of(PaperState::Issued)));
    let sums = foot(&html);
    let billed: Decimal =
        select(&html, "table:first-of-type tbody td:nth-child(4)").iter().map(|f| number(f)).sum();
    assert_eq!(billed, of(&sums, "Before tax"));
    assert_eq!(of(&sums, "Total") + of(&sums, "Retainage held"), of(&sums, "To pay by"));
    assert_eq!(of(&sums, "To pay by"), decimal(paper.payable));
    assert_eq!(select(&html, "th.part"), ["Quote Q-0001", "Taken on top of the quote", "Change order CO-1"]);
    let settled = Standing { paid: paper.payable, ..Standing::of(PaperState::Paid) };
    let html_paid = parsed(&print::invoice::invoice(&paper, &settled));
    assert_eq!(select(&html_paid, ".stamp"), ["Paid"]);
    assert_eq!(of(&foot(&html_paid), "Paid so far"), decimal(paper.payable));
    let account: Vec<Decimal> =
        select(&html, "table:last-of-type tbody td").iter().map(|f| number(f)).collect();
    assert_eq!(account[0], account[1] + account[2] + account[3], "contract = asked for + retained + open");

    // The customer reads of more than the contract; in which order the office dates its papers is its own affair.
    let text = text_of(&html);
    assert!(text.contains("said of over_contract") && !text.contains("said of out_of"), "{text}");

    // What is owed to the customer is not asked of him.
    let mut back = paper.clone();
    back.payable = -paper.payable;
    let sums = foot(&parsed(&print::invoice::invoice(&back, &Standing::of(PaperState::Issued))));
    assert_eq!(of(&sums, "Goes back to the customer"), decimal(paper.payable));
    assert!(sums.iter().all(|(name, _)| !name.starts_with("To pay")), "{sums:?}");

    let note = course.credit(&json!({"kind": "lines", "lines": [{"line": "labor", "amount": "10.00"}]}));
    let html = parsed(&print::credit_note::credit_note(&note, &Standing::of(PaperState::Issued)));
    let sums = foot(&html);
    assert_eq!(of(&sums, "Given back"), decimal(note.payable));
    assert_eq!(of(&sums, "Total") + of(&sums, "Retainage no longer held"), of(&sums, "Given back"));
    let void = Standing::of(PaperState::Voided);
    assert_eq!(select(&parsed(&print::invoice::invoice(&paper, &void)), ".stamp"), ["Void"]);
}

/// The page of a purchase order comes to what its lines and its delivery come to.
pub(crate) fn order_page_foots(paper: &rillcast::documents::ubl::order::OrderPaper) {
    let html = parsed(&print::order::order(paper));
    let lines: Vec<Decimal> = select(&html, "tbody td:last-child").iter().map(|f| number(f)).collect();
    let sums = foot(&html);
    assert_eq!(
        (lines.len(), lines.iter().sum::<Decimal>() + decimal(paper.delivery)),
        (paper.lines.len(), of(&sums, "Total, before tax"))
    );
    let text = text_of(&html);
    for said in [
        &paper.number,
        &paper.supplier.name,
        &paper.job_id,
        &paper.issued_on.to_string(),
        paper.note.as_ref().unwrap(),
    ] {
        assert!(text.contains(said.as_str()), "{said}: {text}");
    }
    for line in &paper.lines {
        assert!(
            text.contains(&line.description) && text.contains(line.order_code.as_ref().unwrap_or(&line.item)),
            "{}",
            line.item
        );
    }
}

fn demo() -> Value {
    estimated_of(&serde_json::from_str(rillcast::domain::demo::NOTES).unwrap())
}

fn estimated_of(notes: &Value) -> Value {
    let book = rillcast::domain::book::PriceBook::check(read(
        &serde_json::from_str(rillcast::domain::demo::BOOK).unwrap(),
    ));
    let used = rillcast::domain::book::BookRef { version_id: "v".into(), name: "Demo".into(), number: 1 };
    let notes = read(notes);
    let rains = rillcast::domain::demo::rains().unwrap();
    serde_json::to_value(
        rillcast::compute::pipeline::estimate(&notes, &book.unwrap(), &used, &rains).unwrap(),
    )
    .unwrap()
}

/// The demo's job; it stands where its notes may say otherwise.
fn the_job() -> JobFact {
    read(
        &json!({"job_id": "job_x", "title": "Drains of the job", "customer": {"name": "Example Household", "phone": "555-0101"},
        "site": {"address": "16 Corrected Road", "access": "Ring first."}}),
    )
}

/// The members of this name, wherever they stand below one of the parts.
fn members<'v>(value: &'v Value, name: &str, out: &mut Vec<&'v str>) {
    match value {
        Value::Object(object) => {
            for (key, member) in object {
                match member.as_str().filter(|_| key == name) {
                    Some(text) => out.push(text),
                    None => members(member, name, out),
                }
            }
        }
        Value::Array(list) => list.iter().for_each(|v| members(v, name, out)),
        _ => {}
    }
}

#[test]
fn an_estimate_is_printed_with_every_working() {
    let answer = demo();
    let page = estimate(Shown { id: "est_1", revision: 3, job: &the_job(), answer: &answer });
    let html = parsed(&page);
    assert_eq!(select(&html, "title"), ["Estimate: Drains of the job"]);
    let text = text_of(&html);
    let mut told = Vec::new();
    for part in ["cost_lines", "labor", "price"] {
        members(&answer[part], "basis", &mut told);
    }
    for part in ["runs", "drain_lines", "earth", "totals"] {
        let quantities = &answer["layout"][part];
        match part {
            "runs" | "drain_lines" => quantities
                .as_array()
                .unwrap()
                .iter()
                .for_each(|r| members(&r["quantities"], "basis", &mut told)),
            _ => members(quantities, "basis", &mut told),
        }
    }
    members(&answer["checks"], "reason", &mut told);
    members(&answer["cautions"], "text", &mut told);
    assert!(told.len() > 150, "{}", told.len());
    for basis in told {
        let plain = basis.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(text.contains(&plain), "{plain}");
    }
    for figure in ["10 635.00 USD", "Revision 3", "est_1", "Demo version 1"] {
        assert!(text.contains(figure), "{figure}");
    }
}

#[test]
fn the_crew_gets_every_cut_depth_and_tool_and_no_price() {
    let answer = demo();
    let html = parsed(&site_sheet(Shown { id: "est_1", revision: 1, job: &the_job(), answer: &answer }));
    let text = text_of(&html);
    let mut told = Vec::new();
    members(&answer["layout"]["cut_lists"], "mark", &mut told);
    assert!(told.len() > 20);
    told.extend([
        "Ring first.",
        "16 Corrected Road",
        "Drains of the job",
        "555-0101",
        "1.055 %",
        "1.75 yd3",
        "String line and pins",
        "Electrical work",
    ]);
    for said in &told {
        assert!(text.contains(said), "{said}");
    }
    assert_eq!(select(&html, "td.box").len(), answer["load_out"].as_array().unwrap().len());
    // 1.0938 ft below the ground are 1 ft 1 1/8 in on a tape.
    assert!(text.contains("0 in -8 1/8 in 1 ft 1 1/8 in"), "{text}");
    let mut prices = Vec::new();
    for name in ["cost", "unit_price", "total", "price", "stock_cost", "wage", "all_in"] {
        members(&answer, name, &mut prices);
    }
    assert!(prices.len() > 100);
    let words: Vec<&str> = text.split(|c: char| !(c.is_ascii_digit() || c == '.')).collect();
    let shown: Vec<&&str> =
        prices.iter().filter(|p| p.contains('.') && p.len() > 4 && words.contains(*p)).collect();
    assert_eq!((shown, text.contains("USD")), (Vec::new(), false));
}

/// On several pour days the crew reads what is poured when, by which way, and how much of it is ordered; also where days differ in it.
#[test]
fn pour_days_are_told_day_by_day() {
    let run = |id: &str, length: &str, day: i64, crossing: &str| {
        json!({"id": id, "legs": [{"length": length}], "channel_system": "channel-6-u", "crossing": crossing, "pour_days": [day],
            "outlets": [{"kind": "end", "id": format!("{id}-out"), "at": "finish"}]})
    };
    let answer = estimated_of(
        &json!({"soil": "clay", "runs": [run("a", "100 ft", 1, "wheels"), run("b", "20 ft", 2, "feet")]}),
    );
    assert_eq!(answer["concrete"].get("chosen"), None, "the days differ in their way");
    for page in [
        site_sheet(Shown { id: "est_1", revision: 1, job: &the_job(), answer: &answer }),
        estimate(Shown { id: "est_1", revision: 1, job: &the_job(), answer: &answer }),
    ] {
        let text = text_of(&parsed(&page));
        for day in answer["concrete"]["days"].as_array().unwrap() {
            let way = day["ways"].as_array().unwrap().iter().find(|w| w["code"] == day["chosen"]).unwrap();
            let of = day["pours"][0]["of"].as_str().unwrap();
            let (waste, order) = (&day["with_waste"], &way["order"]);
            let row = format!(
                "{} {of} {} {} {} {} {} {}",
                day["day"],
                waste["value"].as_str().unwrap(),
                waste["unit"].as_str().unwrap(),
                day["chosen"].as_str().unwrap(),
                order["value"].as_str().unwrap(),
                order["unit"].as_str().unwrap(),
                way["loads"]
            );
            assert!(text.contains(&row), "{row}: {text}");
        }
        assert!(!text.contains("Chosen: ,"), "{text}");
    }
}

/// An estimate of an engine that had less is printed with what it has.
#[test]
fn what_an_old_answer_lacks_is_left_out() {
    for answer in [
        json!({}),
        json!({"title": "Old <b>", "layout": {"runs": [{"run": "a"}]}, "labor": null, "concrete": []}),
    ] {
        let shown = Shown { id: "est_1", revision: 1, job: &the_job(), answer: &answer };
        for page in [estimate(shown), site_sheet(shown)] {
            let html = parsed(&page);
            assert_eq!(select(&html, "td"), Vec::<String>::new());
        }
    }
}
