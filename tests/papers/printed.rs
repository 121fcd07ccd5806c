//! Papers as pages, read back by an HTML parser that is not ours (`scraper`, the parser of the HTML Living Standard).

use crate::job::{Course, estimated, quote_inputs, read};
use rillcast::compute::contract::invoice::{OUT_OF_DATE_ORDER, PaperWarning};
use rillcast::compute::contract::moves::PaperState;
use rillcast::compute::contract::quote;
use rillcast::documents::print::{self, Revision, Standing};
use rillcast::units::Amount;
use rust_decimal::Decimal;
use scraper::{ElementRef, Html, Selector};
use serde_json::json;

/// A page that is well formed, all its own, and without script.
pub(crate) fn parsed(page: &str) -> Html {
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
    reads_without_looking(&html);
    html
}

/// What a reader that does not see the page, or sees little of it at once, has to go by: landmarks hold everything, each column is
/// named, and a row of a wide table can be taken apart, each cell with the name of its column.
fn reads_without_looking(html: &Html) {
    assert_eq!(select(html, "body > *").len(), select(html, "body > header, body > main").len());
    assert_eq!(select(html, "th").into_iter().filter(String::is_empty).count(), 0, "a heading says nothing");
    let cells = |row: &ElementRef<'_>, selector: &str| -> Vec<(String, Option<String>)> {
        row.select(&Selector::parse(selector).unwrap())
            .map(|c| (words_of(&c), c.value().attr("data-label").map(str::to_owned)))
            .collect()
    };
    for table in html.select(&Selector::parse("table").unwrap()) {
        let headings: Vec<String> = cells(&table, "thead th").into_iter().map(|(text, _)| text).collect();
        if headings.len() < 3 {
            continue;
        }
        assert!(table.value().classes().any(|class| class == "rows"), "{headings:?}");
        for row in table.select(&Selector::parse("tbody tr").unwrap()) {
            for (i, (text, label)) in cells(&row, "td").into_iter().enumerate() {
                let first = i == 0 || headings[i - 1] == "Tick" || headings[i - 1] == "Loaded";
                assert!(
                    label.as_ref().map_or(first, |l| *l == headings[i]),
                    "{text} below {headings:?}: {label:?}"
                );
            }
        }
    }
}

/// The text of an element, with single blanks.
fn words_of(element: &ElementRef<'_>) -> String {
    element.text().flat_map(str::split_whitespace).collect::<Vec<_>>().join(" ")
}

/// Texts of the elements, with single blanks.
pub(crate) fn select(html: &Html, selector: &str) -> Vec<String> {
    let selector = Selector::parse(selector).unwrap();
    html.select(&selector).map(|e| words_of(&e)).collect()
}

/// All that is read on the page.
pub(crate) fn text_of(html: &Html) -> String {
    select(html, "body").remove(0)
}

/// A figure of a page as a number.
pub(crate) fn number(text: &str) -> Decimal {
    let plain: String = text
        .chars()
        .filter(|c| !c.is_whitespace() && *c != ',')
        .map(|c| if c == '\u{2212}' { '-' } else { c })
        .collect();
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

pub(crate) fn decimal(amount: Amount) -> Decimal {
    amount.decimal()
}

#[test]
fn a_quote_reads_as_it_was_written_and_foots() {
    let inputs = quote_inputs();
    let paper = quote::quote(&inputs).unwrap();
    let html = parsed(&print::quote::quote(&paper, &inputs, &Standing::of(PaperState::Issued)));
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
    let total = select(&html, "tfoot tr.sum td").remove(0);
    // The sum that is signed is the one that a tick changes, and the sentence says how.
    let signed = |paper: &quote::QuoteDocument| {
        let page = print::quote::quote(paper, &inputs, &Standing::of(PaperState::Issued));
        select(&parsed(&page), ".agreed p").remove(0)
    };
    let agreed = format!("We accept quote Q-0001 of 2026-03-02 over {total} USD, with tax.");
    let with_both = format!(
        "{agreed} What is ticked above is added to this sum where it is taken on top, and takes its place where it is taken instead."
    );
    assert_eq!(signed(&paper), format!("{agreed} What is ticked above is added to this sum."));
    let both = quote::QuoteDocument { alternates: paper.additions.clone(), ..paper.clone() };
    assert_eq!(signed(&both), with_both);
    let alternates_alone = quote::QuoteDocument { additions: Vec::new(), ..both };
    assert_eq!(
        signed(&alternates_alone),
        format!("{agreed} What is ticked above takes the place of this sum.")
    );
    let neither = quote::QuoteDocument { alternates: Vec::new(), ..alternates_alone };
    assert_eq!(signed(&neither), agreed);
    assert!(text.contains("What is ticked above changes these sums"), "{text}");
    assert!(!text.contains("What is built"), "the office said what is done");
}

#[test]
fn a_page_says_where_its_paper_stands() {
    let inputs = quote_inputs();
    let mut paper = quote::quote(&inputs).unwrap();
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
        let html = parsed(&print::quote::quote(&paper, &inputs, &standing));
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
    let html = parsed(&print::quote::quote(&both, &inputs, &accepted));
    let decided: Vec<String> =
        select(&html, "td").into_iter().filter(|t| t == "taken" || t == "not taken").collect();
    assert_eq!(decided, ["taken", "not taken"]);
    assert!(text_of(&html).contains("Agreed in all, with tax: 1,234.56 USD"));
    // Once its last day has passed nobody signs it, whether that was recorded or not.
    for (today, stamps, signs) in [("2026-04-01", &[][..], 3), ("2026-04-02", &["Expired on 2026-04-01"], 0)]
    {
        let standing = Standing { today: Some(read(&json!(today))), ..Standing::of(PaperState::Issued) };
        let html = parsed(&print::quote::quote(&paper, &inputs, &standing));
        assert_eq!(
            (select(&html, ".stamp"), select(&html, ".sign span").len()),
            (stamps.iter().map(ToString::to_string).collect(), signs)
        );
    }
    // What failed is for the office, and only while nothing is out.
    paper.number = None;
    paper.issued_on = None;
    let html = parsed(&print::quote::quote(&paper, &inputs, &Standing::of(PaperState::Draft)));
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
    assert!(text_of(&html).contains("Less digging \u{2212}1,000.00"));

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
    assert_eq!(of(&foot(&html_paid), "Nothing is left to pay"), Decimal::ZERO);
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

    let some = Amount::from_minor(4_000);
    let partly = Standing { paid: -some, credited: -some, ..Standing::of(PaperState::PartPaid) };
    let sums = foot(&parsed(&print::invoice::invoice(&back, &partly)));
    assert_eq!(of(&sums, "To go back to the customer"), decimal(paper.payable));
    assert_eq!(
        (of(&sums, "Paid back so far"), of(&sums, "Taken off by credit notes")),
        (decimal(some), decimal(some))
    );
    assert_eq!(of(&sums, "Goes back to the customer"), decimal(paper.payable - some - some));
    let sums = foot(&parsed(&print::invoice::invoice(&back, &Standing::of(PaperState::Voided))));
    assert_eq!(of(&sums, "Was to go back to the customer"), decimal(paper.payable));

    let note = course.credit(&json!({"kind": "lines", "lines": [{"line": "labor", "amount": "10.00"}]}));
    let html = parsed(&print::credit_note::credit_note(&note, &Standing::of(PaperState::Issued)));
    let sums = foot(&html);
    assert_eq!(of(&sums, "Given back"), decimal(note.payable));
    assert_eq!(of(&sums, "Total") + of(&sums, "Retainage no longer held"), of(&sums, "Given back"));
    let void = Standing::of(PaperState::Voided);
    assert_eq!(select(&parsed(&print::invoice::invoice(&paper, &void)), ".stamp"), ["Void"]);
}

/// What is left to pay stands by itself once some was paid or given back, and nothing is asked for that is not owed.
#[test]
fn an_invoice_says_what_is_left_to_pay() {
    let mut course = Course::accepted();
    let paper = course.bill(&json!({"kind": "percent", "pct_to_date": "50"}));
    let cents = Amount::from_minor;
    let sums = |state: PaperState, paid: Amount, credited: Amount| {
        let standing = Standing { paid, credited, ..Standing::of(state) };
        let html = parsed(&print::invoice::invoice(&paper, &standing));
        let strong = select(&html, "tfoot tr.sum th").into_iter().filter(|name| name != "Total").collect();
        (foot(&html), strong)
    };
    let expect = |told: (Vec<(String, Decimal)>, Vec<String>), strong: &str, left: Amount| {
        assert_eq!(told.1, [strong]);
        assert_eq!(of(&told.0, strong), decimal(left));
        told.0
    };
    let due = format!("To pay by {}, USD", paper.due_on);
    expect(sums(PaperState::Issued, Amount::ZERO, Amount::ZERO), &due, paper.payable);
    let part = cents(100_000);
    let still = format!("Still to pay by {}, USD", paper.due_on);
    let told = expect(sums(PaperState::PartPaid, part, Amount::ZERO), &still, paper.payable - part);
    assert_eq!((of(&told, "Asked for"), of(&told, "Paid so far")), (decimal(paper.payable), decimal(part)));
    let told = expect(sums(PaperState::PartPaid, part, part), &still, paper.payable - part - part);
    assert_eq!(of(&told, "Given back by credit notes"), decimal(part));
    let given = sums(PaperState::Credited, Amount::ZERO, paper.payable);
    let told = expect(given, "Nothing is left to pay, USD", Amount::ZERO);
    assert!(told.iter().all(|(name, _)| !name.starts_with("To pay")), "{told:?}");
    expect(sums(PaperState::Credited, part, paper.payable), "Goes back to the customer, USD", part);
    let (told, strong) = sums(PaperState::Voided, Amount::ZERO, Amount::ZERO);
    assert_eq!((of(&told, "Asked for"), strong), (decimal(paper.payable), Vec::<String>::new()));
}

#[test]
fn a_change_order_over_nothing_leaves_the_contract() {
    let mut course = Course::accepted();
    let line = |code: &str, price: &str| json!({"code": code, "description": code, "category": "labor", "price": price});
    let lines = json!({"kind": "lines", "lines": [line("more", "50.00"), line("less", "-50.00")]});
    let paper = course.change(&lines, None);
    let html = parsed(&print::change_order::change_order(&paper, &Standing::of(PaperState::Issued)));
    let signed = select(&html, ".agreed p").remove(0);
    let said = "We agree to change order CO-1 of quote Q-0001: at no change of the price, so that the contract stays at ";
    assert!(signed.starts_with(said), "{signed}");
}

/// The customer reads the money, what changes in plain words and the days; hours and how the office reckons stay with it.
#[test]
fn a_change_order_tells_the_customer_no_hours_and_no_office_words() {
    let mut course = Course::accepted();
    let longer = estimated("est_2", 2, |notes| notes["runs"][1]["legs"][0]["length"] = json!("30 ft"));
    let basis = json!({"kind": "revision", "estimate_id": "est_2"});
    let paper = course.change(&basis, Some(longer));
    assert!(paper.work.crew_hours.value.decimal() > Decimal::ZERO && paper.quantities.len() > 10);
    let html = parsed(&print::change_order::change_order(&paper, &Standing::of(PaperState::Issued)));
    let text = text_of(&html);
    for office in ["hours", "crew", "planned", "loose", "_", "screws", "+44"] {
        assert!(!text.contains(office), "{office}: {text}");
    }
    let changed = paper.quantities.iter().find(|q| q.name == "channel_length").unwrap();
    assert_eq!(changed.change.value.to_string(), "11.75");
    for said in [
        "Channel +11 ft 9 in 50 ft 9 in 62 ft 6 in",
        "Grates +",
        "Concrete +",
        "The work is done less than a working day later.",
        "Before this change, with tax",
    ] {
        assert!(text.contains(said), "{said}: {text}");
    }
    let signed = select(&html, ".agreed p").remove(0);
    assert!(signed.starts_with("We agree to change order CO-1 of quote Q-0001: "), "{signed}");
    let money = |amount: Amount| number(&amount.to_string());
    let sums: Vec<Decimal> = signed
        .split(' ')
        .filter(|w| w.contains('.') && w.len() > 4 && !w.ends_with('.'))
        .map(number)
        .collect();
    assert_eq!(sums, [money(paper.total), money(paper.contract_after)]);
}

/// The page of a purchase order comes to what its lines and its delivery come to.
pub(crate) fn order_page_foots(paper: &rillcast::documents::ubl::order::OrderPaper) {
    let stands = Revision { own: 1, agreed: Some(1), newest: 1 };
    let html = parsed(&print::order::order(paper, stands));
    assert_eq!(select(&html, ".stamp"), Vec::<String>::new());
    let html_old = parsed(&print::order::order(paper, Revision { agreed: Some(2), ..stands }));
    assert_eq!(select(&html_old, ".stamp"), ["Out of date: this is revision 1, and revision 2 is agreed"]);
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
        &paper.job,
        &paper.issued_on.to_string(),
        paper.note.as_ref().unwrap(),
    ] {
        assert!(text.contains(said.as_str()), "{said}: {text}");
    }
    assert!(!text.contains(&paper.job_id), "a supplier knows a job by its name: {text}");
    for line in &paper.lines {
        assert!(
            text.contains(&line.description) && text.contains(line.order_code.as_ref().unwrap_or(&line.item)),
            "{}",
            line.item
        );
    }
}

/// Every sheet of paper says what it is of and which one it is.
#[test]
fn each_sheet_of_paper_names_its_paper() {
    let inputs = quote_inputs();
    let paper = quote::quote(&inputs).unwrap();
    let page = print::quote::quote(&paper, &inputs, &Standing::of(PaperState::Issued));
    parsed(&page);
    for said in [
        r#"@bottom-left { content: "Quote Q-0001\3a  Drive \3c and\3e  path"#,
        r#"@bottom-right { content: counter(page) " / " counter(pages); }"#,
    ] {
        assert!(page.contains(said), "{said}: {page}");
    }
}
