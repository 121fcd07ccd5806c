//! Lists out and in: unchanged by the round trip, refused with every fault otherwise.

#![expect(clippy::unwrap_used, reason = "a test stops where its own book cannot be read")]

mod cells;
mod offers;

use super::read::read;
use super::report::{PriceListReport, Rules};
use super::write;
use crate::domain::demo::BOOK;
use crate::units::Percent;
use crate::wire::book::{BookDoc, Item};
use crate::wire::{Code, Label, List};
use proptest::prelude::*;

const RULES: Rules = Rules { largest_move_pct: Percent::whole(25), confirmed: false, remove_missing: false };

fn demo() -> BookDoc {
    crate::wire::read_document(BOOK.as_bytes()).unwrap()
}

fn faults(text: &str) -> Vec<(usize, String, &'static str)> {
    let (report, _) = read(text.as_bytes(), &demo(), RULES);
    assert!(!report.importable);
    report.errors.into_iter().map(|e| (e.row, e.column.unwrap_or_default(), e.code)).collect()
}

fn fault_of(cell: &str) -> &'static str {
    let list = format!("code,price\r\nchannel-4-light-4ft,\"{cell}\"\r\n");
    let found = faults(&list);
    assert_eq!(found.len(), 1, "{cell}: {found:?}");
    assert_eq!((found[0].0, found[0].1.as_str()), (2, "price"), "{cell}");
    found[0].2
}

fn counts(report: &PriceListReport) -> (usize, usize, usize, usize) {
    (report.created, report.updated, report.unchanged, report.missing.len())
}

#[test]
fn the_demo_list_comes_back_unchanged() {
    let doc = demo();
    let bytes = write(&doc);
    let text = String::from_utf8(bytes.clone()).unwrap();
    assert!(text.starts_with("code,name,category,unit,price,currency,increment,supplier\r\n"));
    assert_eq!(text.matches("\r\n").count(), doc.items.len() + 1);
    let (report, items) = read(&bytes, &doc, RULES);
    assert!(report.importable);
    assert_eq!(counts(&report), (0, 0, doc.items.len(), 0));
    assert_eq!(items, doc.items.to_vec());
    // With a byte-order mark and bare line feeds, as spreadsheets write, it is the same list.
    let mut marked = vec![0xef, 0xbb, 0xbf];
    marked.extend(text.replace("\r\n", "\n").bytes());
    let (report, items) = read(&marked, &doc, RULES);
    assert_eq!((counts(&report), items == doc.items.to_vec()), ((0, 0, doc.items.len(), 0), true));
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// Names with commas, quotes, apostrophes, formula characters and letters of every alphabet.
    #[test]
    fn any_list_comes_back_unchanged(
        rows in prop::collection::vec(("[ '\"=+@＝,;a-zé漢🙂-]{1,12}", prop::option::of("['=,\"x -]{1,8}"), 0_i64..10_000_000_000, 0_i64..5_000_000), 0..20),
    ) {
        let mut doc = demo();
        let items: Vec<Item> = rows
            .into_iter()
            .enumerate()
            .filter_map(|(i, (name, supplier, price, increment))| {
                Some(Item {
                    code: Code::new(&format!("item-{i}"))?,
                    name: Label::new(&name)?,
                    category: crate::domain::words::Category::Material,
                    unit: crate::units::Unit::Ft,
                    price: crate::units::Price::from_millionths(price),
                    increment: (increment % 2 == 0).then(|| crate::units::Factor::from_millionths(increment)),
                    supplier: supplier.and_then(|s| Label::new(&s)),
                })
            })
            .collect();
        doc.items = List::new(items).unwrap();
        let bytes = write(&doc);
        // No cell of a text column begins as a formula.
        for record in csv::Reader::from_reader(bytes.as_slice()).records() {
            let record = record.unwrap();
            prop_assert!(!super::is_formula(&record[1]) && !super::is_formula(&record[7]));
        }
        let (report, back) = read(&bytes, &doc, RULES);
        prop_assert_eq!(&report.errors, &Vec::new());
        prop_assert_eq!(counts(&report), (0, 0, doc.items.len(), 0));
        prop_assert_eq!(back, doc.items.to_vec());
        // Into an empty book the same list makes the same items.
        let mut empty = demo();
        empty.items = List::default();
        let (report, made) = read(&bytes, &empty, RULES);
        prop_assert_eq!(report.created, doc.items.len());
        prop_assert_eq!(made, doc.items.to_vec());
    }

    #[test]
    fn no_bytes_make_the_reader_stop(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        let (report, _) = read(&bytes, &demo(), RULES);
        prop_assert!(report.rows <= bytes.len());
        let mut headed = b"code,price,name\n".to_vec();
        headed.extend(&bytes);
        let _ = read(&headed, &demo(), RULES);
    }
}

#[test]
fn numbers_are_plain_decimals() {
    for (cell, code) in [
        ("1,234.50", "thousands_separator"),
        ("1,234", "thousands_separator"),
        ("1,234,567", "thousands_separator"),
        ("1.234,50", "thousands_separator"),
        ("1.234.567", "thousands_separator"),
        ("1 234.50", "thousands_separator"),
        ("1\u{a0}234.50", "thousands_separator"),
        ("1'234.50", "thousands_separator"),
        ("27,40", "decimal_comma"),
        ("0,125", "decimal_comma"),
        ("$27.40", "currency_sign"),
        ("27.40 €", "currency_sign"),
        ("27.40 USD", "currency_sign"),
        ("1e3", "decimal"),
        ("+27.40", "decimal"),
        (".5", "decimal"),
        ("5.", "decimal"),
        ("1.2345678", "decimal"),
        ("a lot", "decimal"),
        ("-2", "out_of_range"),
        ("=1+1", "decimal"),
        ("", "required"),
    ] {
        assert_eq!(fault_of(cell), code, "{cell}");
    }
}

#[test]
fn every_fault_of_every_row_is_listed() {
    let list = "code,name,category,unit,price,currency\n\
        new-a,=1+1,material,each,1,USD\n\
        new-b,@x,material,each,1,USD\n\
        new-c,-2,materials,eech,1,EUR\n\
        ,Name,material,each,1,USD\n\
        new-d,Name,material,each\n\
        New D,Name,material,each,2,USD\n\
        new-e,Name,material,each,1,USD\n\
        new-e,Name,material,each,1,USD\n\
        =new,Name,material,each,1,USD\n";
    let expected = [
        (2, "name", "leading_formula_character"),
        (3, "name", "leading_formula_character"),
        (4, "category", "unknown_value"),
        (4, "currency", "other_currency"),
        (4, "name", "leading_formula_character"),
        (4, "unit", "unknown_value"),
        (5, "code", "text_rule"),
        (6, "", "ragged_row"),
        (7, "code", "text_rule"),
        (9, "code", "duplicate_code"),
        (10, "code", "leading_formula_character"),
    ];
    let found = faults(list);
    let found: Vec<_> = found.iter().map(|(r, c, k)| (*r, c.as_str(), *k)).collect();
    assert_eq!(found, expected);
    let (report, _) = read(list.as_bytes(), &demo(), RULES);
    let twice = report.errors.iter().find(|e| e.code == "duplicate_code").unwrap();
    assert!(twice.detail.contains("row 8"), "both rows are named: {}", twice.detail);
}

#[test]
fn headers_and_encodings() {
    for (list, column, code) in [
        ("", "", "no_header"),
        ("code;price\na;1\n", "", "wrong_delimiter"),
        ("code\tprice\na\t1\n", "", "wrong_delimiter"),
        ("code,price,price\n", "price", "duplicate_column"),
        ("code,prise\n", "price", "missing_column"),
        ("code,name\n", "price", "missing_column"),
    ] {
        let found = faults(list);
        assert!(found.iter().any(|(r, c, k)| (*r, c.as_str(), *k) == (1, column, code)), "{list}: {found:?}");
    }
    let (report, _) = read(b"code,price\nchannel-4-light-4ft,1\n", &demo(), RULES);
    let hint = read(b"code,prise\n", &demo(), RULES).0;
    assert!(
        hint.errors.iter().any(|e| e.code == "unknown_column" && e.detail.contains("did you mean `price`"))
    );
    assert_eq!(report.errors[0].code, "large_move");
    // Windows-1252 bytes: the row and the column are named, nothing is guessed.
    let (report, _) = read(b"code,name,price\nchannel-4-light-4ft,Rinne gr\xfcn,27.40\n", &demo(), RULES);
    assert_eq!((report.errors[0].row, report.errors[0].code), (2, "not_utf8"));
    assert_eq!(report.errors[0].column.as_deref(), Some("name"));
    let (report, _) = read(b"\xff\xfec\0o\0d\0e\0", &demo(), RULES);
    assert_eq!(report.errors[0].code, "not_utf8");
    // Rows are counted as a spreadsheet counts them, a line break within quotes not among them.
    let list = "code,price,supplier\nchannel-4-light-4ft,27.40,\"a\nb\"\nnone,1,\n";
    let rows: Vec<usize> = faults(list).iter().map(|f| f.0).collect();
    assert_eq!(rows, [2, 3, 3, 3]);
    assert!(faults(list).iter().skip(1).all(|f| f.2 == "required"));
}

#[test]
fn a_header_that_cannot_be_read_leaves_nothing_out() {
    for list in ["", "code;price\na;1\n", "code,prise\n", "\"code\"x,price\n", "\u{feff}\n"] {
        let (report, _) = read(list.as_bytes(), &demo(), RULES);
        assert!(!report.importable && report.missing.is_empty(), "{list}: {:?}", report.errors);
    }
    let (report, _) = read(b"code,price\n", &demo(), RULES);
    assert_eq!(report.missing.len(), demo().items.len(), "a list of nothing leaves everything out");
    // A column without a name is told by its place.
    let (report, _) = read(b"code,price,name,\nchannel-4-light-4ft,27.40,Channel,\n", &demo(), RULES);
    assert_eq!(report.errors.len(), 1, "{:?}", report.errors);
    let found = &report.errors[0];
    assert_eq!((found.row, found.column.as_deref(), found.code), (1, None, "unnamed_column"));
    assert!(found.detail.contains("column 4 has no name"), "{}", found.detail);
}

#[test]
fn large_moves_need_a_word() {
    let list = "price,code\n34.25,channel-4-light-4ft\n";
    let (report, items) = read(list.as_bytes(), &demo(), RULES);
    // 27.40 x 1.25 = 34.25 is still within the guard.
    assert!(report.importable);
    assert_eq!(counts(&report), (0, 1, 0, demo().items.len() - 1));
    assert_eq!(report.price_moves[0].move_pct.unwrap().to_string(), "25.00");
    assert_eq!(items[0].price.to_string(), "34.25");
    assert_eq!(items.len(), demo().items.len());
    let list = "code,price\nchannel-4-light-4ft,34.26\nchannel-4-light-8ft,0.01\n";
    let (report, _) = read(list.as_bytes(), &demo(), RULES);
    assert!(!report.importable);
    assert_eq!((report.large_moves, report.errors.len()), (2, 2));
    assert_eq!(report.price_moves[0].code, "channel-4-light-8ft", "the largest first");
    let (report, items) =
        read(list.as_bytes(), &demo(), Rules { confirmed: true, remove_missing: true, ..RULES });
    assert!(report.importable);
    assert_eq!((report.large_moves, items.len()), (2, 2));
}

#[test]
fn more_rows_than_a_book_holds_are_refused_early() {
    let mut list = String::from("code,name,category,unit,price\n");
    for i in 0..100_000 {
        list.push_str(&format!("item-{i},Name,material,each,1\n"));
    }
    let (report, _) = read(list.as_bytes(), &demo(), RULES);
    assert_eq!((report.importable, report.errors.last().unwrap().code), (false, "too_many_rows"));
    assert_eq!(report.errors.last().unwrap().row, 5002);
}

/// What a report says of a list, as it is answered.
fn told(list: &str) -> serde_json::Value {
    serde_json::to_value(read(list.as_bytes(), &demo(), RULES).0).unwrap()
}

#[test]
fn another_unit_is_a_move() {
    let report = told(
        "code,price,unit\nbedding-stone,31.50,lb\ntip-soil,13.50,ft3\nready-mix-4000,172.00,short_ton\n",
    );
    assert_eq!((&report["importable"], &report["large_moves"]), (&false.into(), &3.into()), "{report}");
    let errors: Vec<_> = report["errors"]
        .as_array()
        .unwrap()
        .iter()
        .map(|e| (e["row"].as_u64().unwrap(), e["column"].as_str().unwrap(), e["code"].as_str().unwrap()))
        .collect();
    let large = "large_move";
    assert_eq!(errors, [(2, "price", large), (2, "unit", large), (3, "price", large), (4, "unit", large)]);
    let moves = report["price_moves"].as_array().unwrap();
    // prices that cannot be compared count as furthest
    assert_eq!((&moves[0]["code"], moves[0].get("move_pct")), (&"ready-mix-4000".into(), None));
    // 2000 x 31.50 a short ton, 27 x 13.50 a cubic yard
    let figures = |i: usize| [&moves[i]["code"], &moves[i]["move_pct"], &moves[i]["after_by_unit_before"]];
    assert_eq!(figures(1), ["bedding-stone", "199900.00", "63000.00"]);
    assert_eq!(figures(2), ["tip-soil", "2600.00", "364.50"]);
    assert_eq!((&moves[2]["unit_before"], &moves[2]["unit_after"]), (&"yd3".into(), &"ft3".into()));
    // what counts in another unit without a word is told by its order codes
    let offers = &report["errors"][1]["detail"];
    assert!(offers.as_str().unwrap().contains("`M-048`, `HS-048`"), "{offers}");
    assert_eq!(report["offers_without_unit"][1]["pointer"], "#/offers/90");
    let confirmed = Rules { confirmed: true, ..RULES };
    let (report, _) = read(b"code,price,unit\nbedding-stone,31.50,lb\n", &demo(), confirmed);
    assert!(report.importable);
}

#[test]
fn the_same_price_by_another_unit_is_no_move() {
    // 27.00 a short ton of 2000 lb
    let report = told("code,price,unit\ngravel-surface,0.0135,lb\n");
    assert_eq!((&report["importable"], &report["updated"]), (&true.into(), &1.into()), "{report}");
    assert_eq!(report["price_moves"].as_array().unwrap().len(), 0, "{report}");
    assert_eq!(report["changes"][0]["members"][0]["member"], "unit");
    // a day has as many hours as the office works
    let report = told("code,price,unit\nhaul-load,118.00,lump_sum\n");
    assert_eq!(report["errors"][0]["column"], "unit", "{report}");
}

#[test]
fn every_row_that_changes_is_named() {
    let report = told(
        "code,price,category,name,increment,supplier\n\
         hanger,6.90,subcontract,Hanger bar for channel,,Millbrook Supply (invented)\n\
         tie-wire,7.80,material,Wire,2,\n\
         form-screws,12.30,material,\"Form screws, box of 100\",,Millbrook Supply (invented)\n",
    );
    assert_eq!((&report["importable"], &report["updated"]), (&true.into(), &2.into()), "{report}");
    let changes = report["changes"].as_array().unwrap();
    let told: Vec<_> =
        changes.iter().map(|c| (c["row"].as_u64().unwrap(), c["code"].as_str().unwrap())).collect();
    assert_eq!(told, [(2, "hanger"), (3, "tie-wire")]);
    let members = |i: usize| -> Vec<&str> {
        let members = changes[i]["members"].as_array().unwrap();
        members.iter().map(|m| m["member"].as_str().unwrap()).collect()
    };
    assert_eq!(members(0), ["category"], "prices are told by themselves");
    assert_eq!(members(1), ["increment", "name", "supplier"]);
    assert_eq!(
        (&changes[0]["members"][0]["before"], &changes[0]["members"][0]["after"]),
        (&"material".into(), &"subcontract".into())
    );
}

/// However long the list is, its report is not.
#[test]
fn rows_that_change_are_counted_and_the_first_of_them_listed() {
    let mut doc = demo();
    let first = doc.items.iter().next().unwrap().clone();
    let code = |i: usize| format!("item-{i}");
    let items = (0..4900).map(|i| Item { code: Code::new(&code(i)).unwrap(), ..first.clone() });
    doc.items = List::new(items.collect()).unwrap();
    let report = |rows: usize| {
        let mut list = String::from("code,price,name\n");
        for i in 0..rows {
            list.push_str(&format!("{},{},Renamed\n", code(i), first.price));
        }
        let (report, _) = read(list.as_bytes(), &doc, RULES);
        serde_json::to_value(report).unwrap()
    };
    for (rows, listed) in [(0, 0), (200, 200), (201, 200), (4900, 200)] {
        let told = report(rows);
        let changes = told["changes"].as_array().unwrap();
        assert_eq!((changes.len(), &told["updated"]), (listed, &rows.into()), "{rows}");
        assert_eq!((&told["changed_rows"], &told["changes_truncated"]), (&rows.into(), &(rows > 200).into()));
        let in_order =
            |(i, change): (usize, &serde_json::Value)| change["row"].as_u64() == Some(i as u64 + 2);
        assert!(changes.iter().enumerate().all(in_order), "{rows}: in the order of the list");
    }
}
