//! Quotes, blanks, and rows whose cells cannot be told.

use super::{RULES, demo, faults, read};

#[test]
fn quotes_are_read_as_they_are_written_or_refused() {
    // What another program would read otherwise is not guessed; every such row is told, each once.
    for (list, rows) in [
        ("code,price,name\nchannel-4-light-4ft,27.40,\"4\" channel\"\n", &[2][..]),
        ("code,price,name\n\"a\"b,1,\"c\"d\nchannel-4-light-4ft,27.40,\"x\n\ny\" z\n", &[2, 3]),
        ("code,price\r\n\r\nchannel-4-light-4ft,\"27.40\" \"\r\n", &[3]),
        ("\u{feff}\"code\" x,price\n", &[1]),
        ("code,price,name\nchannel-4-light-4ft,27.40,\"Channel\nhanger,6.00,Hanger\n", &[2]),
    ] {
        let found = faults(list);
        assert!(
            found.iter().all(|(_, column, code)| (column.as_str(), *code) == ("", "not_csv")),
            "{found:?}"
        );
        assert_eq!(found.iter().map(|f| f.0).collect::<Vec<_>>(), rows, "{list}: {found:?}");
    }
    let name = |list: &str| {
        let (report, items) = read(list.as_bytes(), &demo(), RULES);
        assert!(report.importable, "{list}: {:?}", report.errors);
        items.iter().find(|i| i.code.as_str() == "channel-4-light-4ft").unwrap().name.to_string()
    };
    // Two quotes within quotes are one; in a cell that has none around it a quote is a quote; blanks behind a number in quotes do no
    // harm.
    for (cell, read) in [("\"4\"\" channel\"", "4\" channel"), ("4\" channel", "4\" channel")] {
        assert_eq!(name(&format!("code,price,name\nchannel-4-light-4ft,27.40,{cell}\n")), read);
    }
    assert_eq!(name("name,price,code\n\"4 in channel\",\"27.40\" ,channel-4-light-4ft"), "4 in channel");
    // A quote in a plain cell opens nothing: empty lines behind it are counted.
    let list = "code,price,name\nchannel-4-light-4ft,27.40,4\" channel\n\nnone,1,\n";
    assert!(faults(list).iter().all(|f| f.0 == 4), "{:?}", faults(list));
}

#[test]
fn blanks_behind_a_quote_are_no_part_of_a_cell() {
    let name = |list: &str| {
        let (report, items) = read(list.as_bytes(), &demo(), RULES);
        assert!(report.importable, "{list}: {:?}", report.errors);
        items.iter().find(|i| i.code.as_str() == "channel-4-light-4ft").unwrap().name.to_string()
    };
    for (cell, read) in [
        ("\"x\" ", "x"),
        ("\"x\"\t ", "x"),
        ("\"x\"\"\" ", "x\""),
        // Within quotes, and where there are none, they are.
        ("\" x \"", " x "),
        (" x ", " x "),
        (" 4\" channel", " 4\" channel"),
    ] {
        assert_eq!(name(&format!("code,price,name\nchannel-4-light-4ft,27.40,{cell}\n")), read, "{cell}");
        assert_eq!(name(&format!("name,code,price\r\n{cell},channel-4-light-4ft,27.40\r\n")), read, "{cell}");
        assert_eq!(name(&format!("price,code,name\n27.40,channel-4-light-4ft,{cell}")), read, "{cell}");
    }
    // A quote behind blanks opens no cell that the reader could tell: nothing is guessed, and the lines are counted as they stand.
    for cell in [" \"Quoted\"", "\t\"Quoted", "  \"4\"\" channel\""] {
        let list = format!("code,price,name\nchannel-4-light-4ft,27.40,{cell}\nnone,1,\n");
        let found = faults(&list);
        assert_eq!(found[0], (2, String::new(), "not_csv"), "{cell}: {found:?}");
        assert!(found.iter().skip(1).all(|f| f.0 == 3), "{cell}: {found:?}");
        let (report, _) = read(list.as_bytes(), &demo(), RULES);
        assert!(report.errors[0].detail.contains("take the blanks out"), "{}", report.errors[0].detail);
    }
    // Lines of nothing but blanks are counted.
    let list = "code,price\n \t\n\nnone,1\n  \r\nnone-2,1\n";
    let rows: Vec<usize> = faults(list).iter().map(|f| f.0).collect();
    assert_eq!((rows.first(), rows.last()), (Some(&4), Some(&6)), "{rows:?}");
    assert!(rows.iter().all(|row| [4, 6].contains(row)), "{rows:?}");
}

/// An item whose row is refused is not said to be missing from the list.
#[test]
fn a_refused_row_names_its_item() {
    let all = demo().items.len();
    for (list, named) in [
        (&b"code,price,name\nhanger,6.80,\"Hanger\" bar\ntie-wire,7.80,Wire\n"[..], 2),
        (b"code,price,name\nhanger,6.80, \"Hanger bar\"\n", 1),
        (b"code,price,name\nhanger,6.80,Hanger bar, long\ntie-wire,7.80\n", 2),
        (b"name,code,price\nB\xfcgel,hanger,6.80\n", 1),
        (b"code,price,name\nhanger,6.80,\"Hanger\n", 1),
        // Where the cell cannot be told, nothing is.
        (b"name,price,code\nHanger bar,6.80\n", 0),
        (b"code,price\nhang\xfcer,6.80\n", 0),
    ] {
        let (report, _) = read(list, &demo(), RULES);
        assert!(!report.importable);
        assert_eq!(report.missing.len(), all - named, "{}", String::from_utf8_lossy(list));
        assert_eq!(report.missing.iter().any(|code| code == "hanger"), named == 0);
    }
}

/// A list opened by the wrong encoding and saved again is refused, cell by cell; what the book has already is left alone.
#[test]
fn text_read_by_the_wrong_encoding_is_refused() {
    let list = "code,price,name,supplier\nhanger,6.35,Haken fÃ¼r Rinne,MÃ¼hle\ntie-wire,7.80,Bindedraht für Körbe,Mühle\n";
    assert_eq!(
        faults(list),
        [(2, "name".to_owned(), "misread_text"), (2, "supplier".to_owned(), "misread_text")]
    );
    let (report, _) = read(list.as_bytes(), &demo(), RULES);
    assert!(
        report.errors[0].detail.starts_with("`Haken für Rinne`, read by the wrong encoding"),
        "{:?}",
        report.errors[0]
    );
    // nor is a list with letters that were lost taken in, nor one whose signs became controls
    for name in ["Haken f\u{fffd}r", "3 \u{e2}\u{80}\u{93} 4"] {
        let found = faults(&format!("code,price,name\nhanger,6.35,{name}\n"));
        assert_eq!(found, [(2, "name".to_owned(), "misread_text")], "{name}");
    }
    let mut doc = demo();
    let mut items = doc.items.to_vec();
    items.iter_mut().find(|i| i.code.as_str() == "hanger").unwrap().name =
        crate::wire::Label::new("fÃ¼r").unwrap();
    doc.items = crate::wire::List::new(items).unwrap();
    let (report, _) = read("code,price,name\nhanger,6.40,fÃ¼r\n".as_bytes(), &doc, RULES);
    assert!(report.importable, "{:?}", report.errors);
}

/// A code that cannot be read hides nothing else of its row; what is missing is told of no item, old or new.
#[test]
fn what_else_is_wrong_is_told_beside_a_code_that_cannot_be_read() {
    let list = "code,price,unit,currency\nRohr-3,\"16,80\",Stk,EUR\nRohr 6,31.20,each,\n";
    let of = |row, column: &str, code| (row, column.to_owned(), code);
    assert_eq!(
        faults(list),
        [
            of(2, "code", "text_rule"),
            of(2, "currency", "other_currency"),
            of(2, "price", "decimal_comma"),
            of(2, "unit", "unknown_value"),
            of(3, "code", "text_rule")
        ]
    );
}
