//! The files of other programs: stored, compared, their totals read back. `tests/outside/ubl_check.py` validates the stored
//! files against the OASIS schemas. `RILLCAST_REVIEW=1 cargo test --test papers` writes them anew.

use crate::job::{Course, book, estimated, job, quote_inputs, read};
use crate::read_back::{all, amounts, foots, one, stored};
use rillcast::compute::contract::quote;
use rillcast::documents::ubl::{Taxes, codes, invoice, order, quotation};
use rillcast::units::{Amount, Unit};
use serde_json::json;
use std::collections::BTreeSet;

#[test]
fn a_quote_is_a_quotation() {
    let course = Course::accepted();
    let paper = course.quote();
    let taxes = Taxes { rules: course.rules(), scheme: read(&json!("STT")) };
    let bytes = quotation::quote(&paper, taxes).unwrap();
    stored("quotation", &bytes);
    foots(&bytes, "Quotation", "QuotationLine/LineItem");
    assert_eq!(one(&bytes, "Quotation/QuotedMonetaryTotal/PayableAmount"), paper.offer.total);
    assert_eq!(one(&bytes, "Quotation/TaxTotal/TaxAmount"), paper.offer.tax);
    assert_eq!(
        all(&bytes, "Quotation/BuyerCustomerParty/Party/PartyName/Name"),
        ["Example Household & Sons <1>"]
    );
    assert_eq!(all(&bytes, "Quotation/ValidityPeriod/EndDate"), ["2026-04-01"]);
    let notes = all(&bytes, "Quotation/Note");
    for note in [
        "Retainage of 10 % of the sum before tax on every invoice but that of a deposit and the final one",
        "Invoices are due 30 days after their date, that of a deposit on its date",
    ] {
        assert!(notes.iter().any(|n| n == note), "{notes:?}");
    }
    // What is in the price already is told, as the paper tells it.
    let mut inputs = quote_inputs();
    inputs.estimate = estimated("est_1", 1, |notes| {
        notes["pricing"] = json!({
            "allowances": [{"code": "perm", "name": "Permit", "category": "permit", "amount": "400.00"}],
            "discounts": [{"kind": "amount", "name": "Voucher", "amount": "75.00"}]});
    });
    let priced = quote::quote(&inputs).unwrap();
    let bytes = quotation::quote(&priced, taxes).unwrap();
    foots(&bytes, "Quotation", "QuotationLine/LineItem");
    let notes = all(&bytes, "Quotation/Note");
    for note in ["Allowance in the price: Permit, 400.00", "Discount in the price: Voucher, -75.00"] {
        assert!(notes.iter().any(|n| n == note), "{notes:?}");
    }
    let mut other = course.quote();
    other.retainage = Some(read(&json!({"pct": "5", "held_on": "with_tax"})));
    (other.payment_terms, other.due_days) = (Some("By transfer.".to_owned()), 0);
    let bytes = quotation::quote(&other, taxes).unwrap();
    let notes = all(&bytes, "Quotation/Note");
    for note in [
        "Retainage of 5 % of the sum with tax on every invoice but that of a deposit and the final one",
        "Terms of payment: By transfer.",
        "Invoices are due on their date",
    ] {
        assert!(notes.iter().any(|n| n == note), "{notes:?}");
    }
}

#[test]
fn invoices_of_a_job_ask_for_what_their_json_says() {
    let mut course = Course::accepted();
    let scheme = read(&json!("STT"));
    let rules = course.rules().to_vec();
    let taxes = Taxes { rules: &rules, scheme };
    let longer = estimated("est_2", 2, |n| n["runs"][0]["legs"][0]["length"] = json!("30 ft"));
    let change = course.change(&json!({"kind": "revision", "estimate_id": "est_2"}), Some(longer));
    let bytes = quotation::change_order(&change, taxes).unwrap();
    stored("change_order", &bytes);
    foots(&bytes, "Quotation", "QuotationLine/LineItem");
    assert_eq!(one(&bytes, "Quotation/QuotedMonetaryTotal/PayableAmount"), change.total);
    assert_eq!(all(&bytes, "Quotation/AdditionalDocumentReference/ID"), ["Q-0001"]);
    let work = &change.work;
    let days = work.days.value.decimal();
    assert!(days > rust_decimal::Decimal::ZERO && days < rust_decimal::Decimal::ONE, "{work:?}");
    let told = "The work is done less than a working day later".to_owned();
    let notes = all(&bytes, "Quotation/Note");
    assert!(
        notes.contains(&told) && notes.contains(&"Priced from Demo version 1 before and after".to_owned()),
        "{notes:?}"
    );

    let credit_line = json!({"kind": "lines", "lines": [
        {"code": "less", "description": "No topsoil", "category": "material", "price": "-75.00"}]});
    course.change(&credit_line, None);

    let mut sum = Amount::ZERO;
    let bills = [
        ("deposit", json!({"kind": "stage", "stage": "deposit"})),
        ("progress", json!({"kind": "percent", "pct_to_date": "55.5"})),
        ("by_line", json!({"kind": "lines", "lines": [{"line": "labor", "pct_to_date": "80"}]})),
        ("credit_line", json!({"kind": "change_order", "change_order": "co-2"})),
        ("retainage", json!({"kind": "retainage", "amount": "50.00"})),
        ("final", json!({"kind": "final"})),
    ];
    for (name, bill) in bills {
        let paper = course.bill(&bill);
        let bytes = invoice::invoice(&paper, "job_x", taxes).unwrap();
        stored(name, &bytes);
        foots(&bytes, "Invoice", "InvoiceLine");
        assert_eq!(one(&bytes, "Invoice/LegalMonetaryTotal/PayableAmount"), paper.payable, "{name}");
        assert_eq!(one(&bytes, "Invoice/TaxTotal/TaxAmount"), paper.tax, "{name}");
        assert_eq!(all(&bytes, "Invoice/InvoiceTypeCode"), [codes::invoice_type(paper.kind)]);
        let due = if name == "deposit" { "2026-03-20" } else { "2026-04-19" };
        assert_eq!(all(&bytes, "Invoice/DueDate"), [due], "{name}");
        sum += paper.payable;
    }
    // What all files ask for is the contract.
    assert_eq!(sum, course.account().total());
    let paper = course.credit(&json!({"kind": "whole"}));
    let bytes = invoice::credit_note(&paper, taxes).unwrap();
    stored("credit_note", &bytes);
    foots(&bytes, "CreditNote", "CreditNoteLine");
    assert_eq!(one(&bytes, "CreditNote/LegalMonetaryTotal/PayableAmount"), paper.payable);
    assert_eq!(all(&bytes, "CreditNote/BillingReference/InvoiceDocumentReference/ID"), ["INV-0006"]);
}

#[test]
fn a_credit_note_says_what_becomes_of_its_sum() {
    let mut course = Course::accepted();
    course.bill(&json!({"kind": "lines", "lines": [{"line": "labor", "amount": "1000.00"}]}));
    let rules = course.rules().to_vec();
    let taxes = Taxes { rules: &rules, scheme: read(&json!("STT")) };
    let asked = json!({"kind": "lines", "lines": [{"line": "labor", "amount": "500.00"}]});
    // 500.00 less 50.00 of retainage.
    for (owed, told, parts) in [
        (Some("900.00"), "Set against invoice INV-0001: 450.00 less is owed on it", Some(("450.00", "0.00"))),
        (
            Some("0.00"),
            "Nothing is owed on invoice INV-0001: 450.00 are due back to the customer or set against what else is owed",
            Some(("0.00", "450.00")),
        ),
        (
            Some("-20.00"),
            "Nothing is owed on invoice INV-0001: 450.00 are due back to the customer or set against what else is owed",
            Some(("0.00", "450.00")),
        ),
        (
            Some("100.00"),
            "Set against invoice INV-0001: 100.00 less is owed on it, and 350.00 are due back to the customer or set against what else is owed",
            Some(("100.00", "350.00")),
        ),
        (
            None,
            "Set against invoice INV-0001: 450.00 less is owed on it, or due back as far as it was paid",
            None,
        ),
    ] {
        let mut snapshot = course.credit_snapshot(0, &[], &asked);
        match owed {
            Some(owed) => snapshot["owed"] = json!(owed),
            None => {
                snapshot.as_object_mut().unwrap().remove("owed");
            }
        }
        let (paper, _) = rillcast::compute::contract::credit::credit(&read(&snapshot)).unwrap();
        let settled = paper.settled.map(|s| (s.owed_less.to_string(), s.due_back.to_string()));
        assert_eq!(settled, parts.map(|(a, b)| (a.to_owned(), b.to_owned())));
        let bytes = invoice::credit_note(&paper, taxes).unwrap();
        assert_eq!(all(&bytes, "CreditNote/PaymentTerms/Note"), [told]);
    }
}

#[test]
fn an_order_names_units_by_their_published_codes() {
    let book = book();
    let notes = read(&serde_json::from_str(rillcast::domain::demo::NOTES).unwrap());
    let used = rillcast::domain::book::BookRef { version_id: "v".into(), name: "Demo".into(), number: 1 };
    let estimate = rillcast::compute::pipeline::estimate(
        &notes,
        &book,
        &used,
        &rillcast::domain::demo::rains().unwrap(),
    )
    .unwrap();
    let lines: Vec<order::OrderLine> = estimate
        .cost_lines
        .iter()
        .filter(|l| l.category == rillcast::domain::words::Category::Material)
        .map(|l| order::OrderLine {
            order_code: None,
            item: l.code.clone(),
            description: l.description.clone(),
            count: l.quantity.value(),
            pack: rust_decimal::Decimal::ONE,
            unit: l.quantity.unit(),
            price: l.unit_price.to_string().parse().unwrap(),
            amount: l.cost,
        })
        .collect();
    let total: Amount = lines.iter().map(|l| l.amount).sum();
    let fact: rillcast::wire::contract::facts::JobFact = read(&job());
    let paper = order::OrderPaper {
        number: "PO-0001".to_owned(),
        issued_on: read(&json!("2026-03-06")),
        wanted_on: Some(read(&json!("2026-03-13"))),
        note: Some("Call before you come.".to_owned()),
        job_id: "job_x".to_owned(),
        job: "Drive and path".to_owned(),
        buyer: Course::accepted().quote.terms.seller,
        tax_scheme: read(&json!("STT")),
        supplier: order::OrderSupplier {
            name: "Example Supply".to_owned(),
            contact: None,
            address: None,
            country: None,
            tax_number: None,
        },
        deliver_to: Some(fact.site.address.to_string()),
        currency: estimate.currency,
        lines,
        delivery: Amount::ZERO,
    };
    let bytes = order::order(&paper).unwrap();
    stored("order", &bytes);
    let back: Amount = amounts(&bytes, "Order/OrderLine/LineItem/LineExtensionAmount").into_iter().sum();
    assert_eq!((one(&bytes, "Order/AnticipatedMonetaryTotal/PayableAmount"), back), (total, total));
    let text = String::from_utf8(bytes).unwrap();
    assert!(text.contains("unitCode=\"YDQ\""), "{text}");
}

/// The orders of the demo estimate as they leave: packs, a charge for the delivery, what the book knows of the supplier.
#[test]
fn purchase_orders_of_an_estimate_leave_with_their_sums() {
    use rillcast::documents::job_orders::order_file::{Buyer, OrderFault, order_paper};
    use rillcast::documents::job_orders::{Revision, purchase_orders::purchase_orders};
    let mut doc: serde_json::Value = serde_json::from_str(rillcast::domain::demo::BOOK).unwrap();
    for (i, supplier) in doc["suppliers"].as_array_mut().unwrap().iter_mut().enumerate() {
        supplier["address"] = json!(format!("{i} Example Row"));
        supplier["country"] = json!("CA");
        supplier["tax_number"] = json!("EX-77");
    }
    let book = rillcast::domain::book::PriceBook::check(read(&doc)).unwrap();
    let used = rillcast::domain::book::BookRef { version_id: "v".into(), name: "Demo".into(), number: 1 };
    let notes = read(&serde_json::from_str(rillcast::domain::demo::NOTES).unwrap());
    let rains = rillcast::domain::demo::rains().unwrap();
    let estimate = rillcast::compute::pipeline::estimate(&notes, &book, &used, &rains).unwrap();
    let answer = serde_json::to_string(&estimate).unwrap();
    let job = read(&super::job::job());
    let revision = Revision { job: &job, id: "est_1", number: 1, answer: &answer, notes: "{}" };
    let mut orders = purchase_orders(revision, &[], &book).unwrap();
    for order in &mut orders.orders {
        order.order_by = Some("2026-03-09".to_owned());
        order.access = Some("Gate on the left.".to_owned());
    }
    let buyer = Buyer {
        office: Course::accepted().quote.terms.seller,
        tax_scheme: read(&json!("STT")),
        job_id: "job_x".to_owned(),
        job: "Drive and path".to_owned(),
        on: read(&json!("2026-03-06")),
    };
    let (mut written, mut charged, mut packed) = (0, 0, 0);
    for (i, stated) in orders.orders.iter().enumerate() {
        let paper = match order_paper(&orders, i + 1, &book, buyer.clone()) {
            Ok(paper) => paper,
            Err(fault) => {
                let own = stated.supplier == "own stock";
                assert!(own || stated.supplier == "any supplier");
                assert!(matches!(fault, OrderFault::Nobody { .. } | OrderFault::OwnStock(_)), "{fault}");
                continue;
            }
        };
        let bytes = order::order(&paper).unwrap();
        stored(&format!("order_{}", i + 1), &bytes);
        written += 1;
        crate::printed::order_page_foots(&paper);
        // The supplier reads how to get there, not the office's own reminder of when to order.
        assert_eq!(all(&bytes, "Order/Note"), ["Access: Gate on the left."]);
        let figure = |text: &str| read::<rillcast::wire::contract::Signed>(&json!(text)).0;
        let total = one(&bytes, "Order/AnticipatedMonetaryTotal/PayableAmount");
        assert_eq!(total, figure(&stated.total), "{}", stated.number);
        let lines: Amount = amounts(&bytes, "Order/OrderLine/LineItem/LineExtensionAmount").into_iter().sum();
        assert_eq!(lines, figure(&stated.goods));
        let charge: Amount = amounts(&bytes, "Order/AllowanceCharge/Amount").into_iter().sum();
        assert_eq!(charge, figure(&stated.delivery));
        charged += usize::from(charge != Amount::ZERO);
        // Quantity / base quantity · price is the line, to the cent.
        let text = String::from_utf8(bytes.clone()).unwrap();
        for line in text.split("<cac:LineItem>").skip(1) {
            let of = |name: &str| -> Option<rust_decimal::Decimal> {
                let (_, rest) = line.split_once(&format!("<cbc:{name} "))?;
                rest.split_once('>')?.1.split_once('<')?.0.parse().ok()
            };
            let base = of("BaseQuantity").unwrap_or(rust_decimal::Decimal::ONE);
            packed += usize::from(base != rust_decimal::Decimal::ONE);
            let exact = of("Quantity").unwrap() / base * of("PriceAmount").unwrap();
            assert_eq!(Amount::line(exact).decimal(), of("LineExtensionAmount").unwrap(), "{line}");
        }
    }
    assert!(written > 1 && charged > 0 && packed > 0, "{written} {charged} {packed}");
    let beyond = order_paper(&orders, orders.orders.len() + 1, &book, buyer.clone());
    assert_eq!(beyond.unwrap_err(), OrderFault::NoSuchOrder(orders.orders.len()));
    assert!(order_paper(&orders, 0, &book, buyer).is_err());
}

#[test]
fn every_unit_that_things_are_sold_by_has_a_code_of_its_own() {
    let coded: Vec<&str> = Unit::ALL.iter().filter_map(|u| codes::unit(*u)).collect();
    let unique: BTreeSet<&&str> = coded.iter().collect();
    assert_eq!(unique.len(), coded.len());
    assert_eq!(coded.len(), 26);
    let mut listed = coded.clone();
    listed.sort_unstable();
    stored_codes(&listed);
}

/// The codes as the outside check reads them.
fn stored_codes(codes: &[&str]) {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/papers/ubl/unit_codes.txt");
    let text = codes.join("\n") + "\n";
    if std::env::var_os("RILLCAST_REVIEW").is_some() {
        std::fs::write(path, &text).unwrap();
    }
    assert_eq!(std::fs::read_to_string(path).unwrap_or_default(), text);
}

#[test]
fn text_that_xml_cannot_hold_is_replaced() {
    let mut course = Course::accepted();
    let mut paper = course.bill(&json!({"kind": "stage", "stage": "deposit"}));
    paper.title = "x".to_owned();
    paper.note = Some("a\u{1}b\u{fffe}c ]]> <!-- & --> é 🌧".to_owned());
    let rules = course.rules().to_vec();
    let bytes =
        invoice::invoice(&paper, "job_x", Taxes { rules: &rules, scheme: read(&json!("STT")) }).unwrap();
    assert_eq!(all(&bytes, "Invoice/Note")[0], "a\u{fffd}b\u{fffd}c ]]> <!-- & --> é 🌧");
    stored("hostile_text", &bytes);
}
