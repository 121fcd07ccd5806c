//! The rows an accounting system reads.

use crate::job::{Course, read};
use rillcast::documents::invoice_csv::{COLUMNS, Paper, rows, safe};
use rillcast::units::Amount;
use rillcast::wire::contract::Signed;
use serde_json::json;

#[test]
fn the_rows_of_every_paper_add_up_to_what_it_asks_for() {
    let mut course = Course::accepted();
    let deposit = course.bill(&json!({"kind": "stage", "stage": "deposit"}));
    let progress = course.bill(&json!({"kind": "percent", "pct_to_date": "60"}));
    let credit = course.credit(&json!({"kind": "lines", "lines": [{"line": "labor", "amount": "10.00"}]}));
    let last = course.bill(&json!({"kind": "final"}));
    let expected = [
        (deposit.number.clone(), deposit.payable),
        (progress.number.clone(), progress.payable),
        (credit.number.clone(), -credit.payable),
        (last.number.clone(), last.payable),
    ];
    let papers = [
        Paper::Invoice(Box::new(deposit)),
        Paper::Invoice(Box::new(progress)),
        Paper::Credit(Box::new(credit)),
        Paper::Invoice(Box::new(last)),
    ];
    let bytes = rows(&papers, "job_x").unwrap();
    assert!(bytes.ends_with(b"\r\n"));
    let mut reader = csv::Reader::from_reader(bytes.as_slice());
    assert_eq!(reader.headers().unwrap().iter().collect::<Vec<_>>(), COLUMNS);
    let mut sums: Vec<(String, Amount)> = Vec::new();
    for record in reader.records() {
        let record = record.unwrap();
        let amount = read::<Signed>(&json!(record.get(9).unwrap())).0;
        match sums.last_mut().filter(|(number, _)| number == &record[1]) {
            Some((_, sum)) => *sum += amount,
            None => sums.push((record[1].to_owned(), amount)),
        }
        assert_eq!(&record[10], "USD");
        let credited = if &record[0] == "credit_note" { "INV-0002" } else { "" };
        assert_eq!((&record[11], &record[12]), (credited, "job_x"));
        assert!(record[13].starts_with("Drive <and> path"), "{record:?}");
    }
    assert_eq!(sums, expected);
    assert_eq!(sums.iter().map(|(_, a)| *a).sum::<Amount>(), course.account().total());
}

#[test]
fn text_that_a_spreadsheet_would_run_is_made_safe() {
    for (text, out) in [
        ("=1+1", "'=1+1"),
        ("@x", "'@x"),
        ("\t=1", "'\t=1"),
        ("-2", "'-2"),
        ("＝1", "'＝1"),
        ("4 in channel", "4 in channel"),
        ("a=b", "a=b"),
    ] {
        assert_eq!(safe(text), out);
    }
}
