//! Files under VAT against the rules of EN 16931, which are from memory here; `tests/outside/ubl_check.py` puts the stored ones
//! before the rules themselves.

use crate::job::{Course, read};
use crate::read_back::{all, foots, one, stored};
use rillcast::compute::contract::accept;
use rillcast::compute::contract::sums::{ByCategory, tax};
use rillcast::documents::ubl::{Taxes, invoice};
use rillcast::domain::words::Category;
use rillcast::units::Amount;
use rillcast::wire::contract::Signed;
use rillcast::wire::contract::facts::TaxRule;
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// The demo job under one VAT of 19 % on everything, without retainage; `change` changes its quote.
fn under_vat(change: impl FnOnce(&mut Value)) -> Course {
    let mut course = Course::accepted();
    let mut quote = serde_json::to_value(&course.quote).unwrap();
    quote["terms"]["tax_scheme"] = json!("VAT");
    quote["terms"]["retainage"] = json!({"pct": "0"});
    quote["terms"]["additions"] = json!([]);
    quote["terms"]["seller"]["tax_number"] = json!("DE123456789");
    quote["terms"]["seller"]["country"] = json!("DE");
    quote["job"]["customer"]["address"] = json!("14 Alder Bend");
    quote["estimate"]["tax_rules"] =
        json!([vat("vat", "19", &["material", "labor", "hire", "subcontract", "disposal", "permit"])]);
    change(&mut quote);
    let list = |pointer: &str| quote.pointer(pointer).unwrap().as_array().unwrap().clone();
    let sums = ByCategory::collect(
        list("/estimate/categories")
            .iter()
            .map(|c| (read::<Category>(&c["category"]), read::<Signed>(&c["price"]).0)),
    );
    let taxes: Vec<Value> = list("/estimate/tax_rules")
        .iter()
        .map(read::<TaxRule>)
        .map(|r| json!({"code": r.code, "taxable": sums.taxable(&r).to_string(), "amount": tax(&r, &sums).to_string()}))
        .collect();
    quote["estimate"]["taxes"] = json!(taxes);
    course.quote = read(&quote);
    course.scheme = "VAT";
    let decision = read(&json!({"by": "Household", "on": "2026-03-05"}));
    course.components = accept::accept(&course.quote, &decision, crate::job::last_day()).unwrap();
    course
}

/// A VAT of a rate on categories.
fn vat(code: &str, rate: &str, categories: &[&str]) -> Value {
    json!({"code": code, "name": format!("VAT {code}"), "rate_pct": rate, "categories": categories, "rounding": "per_document"})
}

/// The prices of the quote, in one line for each category.
fn prices(quote: &mut Value, prices: &[(&str, &str)]) {
    quote["terms"]["lines"] = json!([]);
    quote["estimate"]["categories"] =
        prices.iter().map(|(c, p)| json!({"category": c, "price": p, "cost": p})).collect();
}

/// The quote without this member of its seller.
fn without(quote: &mut Value, member: &str) {
    quote["terms"]["seller"].as_object_mut().unwrap().remove(member);
}

/// The file of an invoice; it foots and asks for what its JSON says.
fn billed(course: &mut Course, bill: &Value) -> Vec<u8> {
    let paper = course.bill(bill);
    let taxes = Taxes { rules: course.rules(), scheme: read(&json!(course.scheme)) };
    let bytes = invoice::invoice(&paper, "job_x", taxes).unwrap();
    foots(&bytes, "Invoice", "InvoiceLine");
    assert_eq!(one(&bytes, "Invoice/LegalMonetaryTotal/PayableAmount"), paper.payable);
    bytes
}

/// The file of a credit note on the last invoice.
fn credited(course: &mut Course) -> Vec<u8> {
    let paper = course.credit(&json!({"kind": "whole"}));
    let taxes = Taxes { rules: course.rules(), scheme: read(&json!(course.scheme)) };
    let bytes = invoice::credit_note(&paper, taxes).unwrap();
    foots(&bytes, "CreditNote", "CreditNoteLine");
    assert_eq!(one(&bytes, "CreditNote/LegalMonetaryTotal/PayableAmount"), paper.payable);
    bytes
}

/// What stands within each element of this name.
fn groups<'t>(text: &'t str, name: &str) -> Vec<&'t str> {
    let (open, close) = (format!("<cac:{name}>"), format!("</cac:{name}>"));
    text.split(&open).skip(1).filter_map(|rest| rest.split(&close).next()).collect()
}

/// The texts of each element of this name.
fn texts<'t>(text: &'t str, name: &str) -> Vec<&'t str> {
    text.split(&format!("<cbc:{name}"))
        .skip(1)
        .filter_map(|rest| rest.split_once('>')?.1.split('<').next())
        .collect()
}

fn money(text: &str, name: &str) -> Amount {
    read::<Signed>(&json!(texts(text, name)[0])).0
}

/// Category code and rate, of which there is one.
fn carried(text: &str, group: &str) -> (String, String) {
    let list = groups(text, group);
    assert_eq!(list.len(), 1, "{group} in {text}");
    (texts(list[0], "ID")[0].to_owned(), texts(list[0], "Percent")[0].to_owned())
}

/// A breakdown as code, rate, taxable amount and tax.
fn breakdown(bytes: &[u8]) -> Vec<String> {
    groups(std::str::from_utf8(bytes).unwrap(), "TaxSubtotal")
        .iter()
        .map(|s| {
            let (code, rate) = carried(s, "TaxCategory");
            format!("{code} {rate}: {} {}", money(s, "TaxableAmount"), money(s, "TaxAmount"))
        })
        .collect()
}

const MARK: &str = "urn:cen.eu:en16931:2017";

/// What EN 16931 asks of a file that says it keeps to it (rules from memory, each named).
fn european(bytes: &[u8], kind: &str) {
    let text = std::str::from_utf8(bytes).unwrap();
    assert_eq!(all(bytes, &format!("{kind}/CustomizationID")), [MARK]);
    let mut sums: BTreeMap<(String, String), Amount> = BTreeMap::new();
    for line in groups(text, &format!("{kind}Line")) {
        // BR-CO-04: each line has one category, which is all that BT-151 holds.
        *sums.entry(carried(line, "ClassifiedTaxCategory")).or_default() +=
            money(line, "LineExtensionAmount");
    }
    for each in groups(text, "AllowanceCharge") {
        let amount = money(each, "Amount");
        let signed = if texts(each, "ChargeIndicator")[0] == "true" { amount } else { -amount };
        *sums.entry(carried(each, "TaxCategory")).or_default() += signed;
    }
    let subtotals = groups(text, "TaxSubtotal");
    let mut stated: BTreeMap<(String, String), Amount> = BTreeMap::new();
    for each in &subtotals {
        let of = carried(each, "TaxCategory");
        let (taxable, amount) = (money(each, "TaxableAmount"), money(each, "TaxAmount"));
        // BR-S-09 within the unit that the published rules allow; BR-Z-09, BR-E-09.
        let exact = taxable.decimal() * of.1.parse::<rust_decimal::Decimal>().unwrap()
            / rust_decimal::Decimal::ONE_HUNDRED;
        assert!((exact - amount.decimal()).abs() < rust_decimal::Decimal::ONE, "{each}");
        // BR-S-05, BR-Z-05, BR-E-05.
        assert_eq!(of.0 == "S", of.1 != "0", "{each}");
        // BR-E-10, BR-S-10, BR-Z-10.
        assert_eq!(texts(each, "TaxExemptionReason").len(), usize::from(of.0 == "E"), "{each}");
        stated.insert(of, taxable);
    }
    let exempt = stated.keys().filter(|(code, _)| code == "E").count();
    assert_eq!(texts(text, "TaxExemptionReason").len(), exempt, "reasons beside the breakdown");
    assert_eq!(stated.len(), subtotals.len(), "one breakdown for each category and rate (BR-S-08, BR-E-01)");
    // BR-S-01, BR-Z-01, BR-E-01 and BR-S-08, BR-Z-08, BR-E-08.
    assert_eq!(stated, sums);
    // BR-CO-25.
    if one(bytes, &format!("{kind}/LegalMonetaryTotal/PayableAmount")) > Amount::ZERO {
        let due = ["DueDate", "PaymentTerms/Note", "PaymentMeans/PaymentDueDate"];
        assert!(
            due.iter().any(|d| !all(bytes, &format!("{kind}/{d}")).is_empty()),
            "no due date and no terms"
        );
    }
    // BR-09, BR-CO-26.
    let party = format!("{kind}/AccountingSupplierParty/Party");
    assert_eq!(all(bytes, &format!("{party}/PostalAddress/Country/IdentificationCode")).len(), 1);
    assert_eq!(all(bytes, &format!("{party}/PartyTaxScheme/CompanyID")).len(), 1);
}

#[test]
fn one_tax_on_everything() {
    let mut course = under_vat(|_| {});
    let bytes = billed(&mut course, &json!({"kind": "percent", "pct_to_date": "40"}));
    stored("vat_invoice", &bytes);
    european(&bytes, "Invoice");
}

/// BR-E-01: 100.00 of untaxed labor less 100.00 of retainage are still a breakdown.
#[test]
fn untaxed_lines_that_retainage_sets_off_have_their_breakdown() {
    let mut course = under_vat(|q| {
        prices(q, &[("material", "900.00"), ("labor", "100.00")]);
        q["estimate"]["tax_rules"] = json!([vat("vat", "19", &["material"])]);
        q["terms"]["retainage"] = json!({"pct": "10"});
    });
    let bytes = billed(&mut course, &json!({"kind": "percent", "pct_to_date": "100"}));
    stored("vat_retainage", &bytes);
    assert_eq!(breakdown(&bytes), ["S 19: 900.00 171.00", "E 0: 0.00 0.00"]);
    european(&bytes, "Invoice");
}

/// BR-S-01: what is put in and what is taken out again are lines with a tax, though they come to nothing.
#[test]
fn taxed_lines_that_come_to_nothing_have_their_breakdown() {
    let mut course = under_vat(|q| prices(q, &[("material", "900.00")]));
    let swap = json!({"kind": "lines", "lines": [
        {"code": "in", "description": "Other grates", "category": "material", "price": "100.00"},
        {"code": "out", "description": "No grates", "category": "material", "price": "-100.00"}]});
    course.change(&swap, None);
    let bytes = billed(&mut course, &json!({"kind": "change_order", "change_order": "co-1"}));
    assert_eq!(breakdown(&bytes), ["S 19: 0.00 0.00"]);
    european(&bytes, "Invoice");
}

/// BR-S-08: one breakdown for a rate, however many taxes of the book have it.
#[test]
fn taxes_of_one_rate_are_one_breakdown() {
    let mut course = under_vat(|q| {
        prices(q, &[("material", "900.00"), ("labor", "100.00"), ("hire", "50.00")]);
        q["estimate"]["tax_rules"] =
            json!([vat("m", "19", &["material"]), vat("h", "7", &["hire"]), vat("l", "19.0", &["labor"])]);
    });
    let bytes = billed(&mut course, &json!({"kind": "percent", "pct_to_date": "100"}));
    stored("vat_rates", &bytes);
    assert_eq!(breakdown(&bytes), ["S 19: 1000.00 190.00", "S 7: 50.00 3.50"]);
    european(&bytes, "Invoice");
}

/// Sales taxes of two places stay two, whatever their rates.
#[test]
fn taxes_of_one_rate_that_are_no_vat_keep_their_names() {
    let mut course = under_vat(|q| {
        prices(q, &[("material", "900.00")]);
        q["terms"]["tax_scheme"] = json!("STT");
        q["estimate"]["tax_rules"] = json!([vat("a", "2", &["material"]), vat("b", "2", &["material"])]);
    });
    course.scheme = "STT";
    let bytes = billed(&mut course, &json!({"kind": "percent", "pct_to_date": "100"}));
    assert_eq!(breakdown(&bytes), ["S 2: 900.00 18.00", "S 2: 900.00 18.00"]);
    assert_eq!(all(&bytes, "Invoice/TaxTotal/TaxSubtotal/TaxCategory/TaxScheme/Name"), ["VAT a", "VAT b"]);
}

/// UN/EDIFACT code list 5305 (from memory): `Z` is zero rated; BR-S-05: what is `S` has a rate above nothing.
#[test]
fn a_rate_of_nothing_is_zero_rated() {
    let mut course = under_vat(|q| {
        prices(q, &[("material", "900.00"), ("labor", "100.00"), ("permit", "20.00")]);
        q["estimate"]["tax_rules"] = json!([vat("vat", "19", &["material"]), vat("zero", "0", &["labor"])]);
    });
    let bytes = billed(&mut course, &json!({"kind": "percent", "pct_to_date": "100"}));
    stored("vat_zero_rated", &bytes);
    assert_eq!(breakdown(&bytes), ["S 19: 900.00 171.00", "Z 0: 100.00 0.00", "E 0: 20.00 0.00"]);
    european(&bytes, "Invoice");
}

/// A line has one VAT (BT-151), a seller under VAT a country (BR-09) and a number that begins with one (BR-CO-09, BR-CO-26,
/// BR-S-02). A file without them is a UBL invoice still, but says nothing of EN 16931.
#[test]
fn a_file_that_cannot_keep_to_the_rules_does_not_say_it_does() {
    type Change = fn(&mut Value);
    let cases: [(&str, Change); 4] = [
        ("two taxes on one category", |q| {
            q["estimate"]["tax_rules"] =
                json!([vat("a", "9", &["material", "labor"]), vat("b", "9", &["material"])]);
        }),
        ("no country", |q| without(q, "country")),
        ("no number", |q| without(q, "tax_number")),
        ("a number without a country", |q| q["terms"]["seller"]["tax_number"] = json!("123456789")),
    ];
    for (what, change) in cases {
        let mut course = under_vat(|q| {
            prices(q, &[("material", "900.00"), ("labor", "100.00")]);
            change(q);
        });
        let bytes = billed(&mut course, &json!({"kind": "percent", "pct_to_date": "100"}));
        assert!(all(&bytes, "Invoice/CustomizationID").is_empty(), "{what}");
        let note = credited(&mut course);
        assert!(all(&note, "CreditNote/CustomizationID").is_empty(), "{what}");
        if what == "two taxes on one category" {
            // Two taxes then, each with its own name.
            assert_eq!(breakdown(&bytes), ["S 9: 1000.00 90.00", "S 9: 900.00 81.00"]);
            let names = all(&bytes, "Invoice/TaxTotal/TaxSubtotal/TaxCategory/TaxScheme/Name");
            assert_eq!(names, ["VAT a", "VAT b"]);
        }
    }
}

/// BR-S-01 the other way round: a cent of tax that is left when its lines are billed has no line here.
#[test]
fn a_tax_without_a_line_makes_no_european_file() {
    let mut course = under_vat(|q| {
        prices(q, &[("material", "100.00"), ("labor", "100.00")]);
        q["estimate"]["tax_rules"] = json!([vat("vat", "19", &["material"])]);
    });
    let mut paper =
        course.bill(&json!({"kind": "lines", "lines": [{"line": "labor", "pct_to_date": "100"}]}));
    let cent = Amount::from_minor(1);
    paper.taxes[0].amount = cent;
    (paper.tax, paper.total, paper.payable) = (cent, paper.total + cent, paper.payable + cent);
    let taxes = Taxes { rules: course.rules(), scheme: read(&json!("VAT")) };
    let bytes = invoice::invoice(&paper, "job_x", taxes).unwrap();
    foots(&bytes, "Invoice", "InvoiceLine");
    assert_eq!(breakdown(&bytes), ["S 19: 0.00 0.01", "E 0: 100.00 0.00"]);
    assert!(all(&bytes, "Invoice/CustomizationID").is_empty());
}

/// BR-16: an invoice has a line. A cent that roundings left of the tax once all lines are billed has one that says so.
#[test]
fn an_invoice_of_tax_alone_has_a_line_that_says_what_it_is() {
    let mut course = under_vat(|q| {
        prices(q, &[("material", "100.03"), ("permit", "20.00")]);
        q["estimate"]["tax_rules"] = json!([vat("vat", "19", &["material"])]);
    });
    // 0.03 too much is billed and given back: 19.01 of tax on 100.06 less 0.01 on 0.03, and 19.01 on 100.03 in the contract.
    let asked = json!({"bill": {"kind": "lines", "lines": [
        {"line": "material", "amount": "100.06"}, {"line": "permit", "amount": "20.00"}]}, "on": "2026-03-20", "over_contract": true});
    course.try_bill(&asked).unwrap_or_else(|e| panic!("{e}"));
    course.credit(&json!({"kind": "lines", "lines": [{"line": "material", "amount": "0.03"}]}));
    assert_eq!(course.account().open(), Amount::from_minor(1));
    let paper = course
        .try_bill(&json!({"bill": {"kind": "final"}, "on": "2026-03-20"}))
        .unwrap_or_else(|e| panic!("{e}"));
    course.effects.pop();
    let [line] = paper.lines.as_slice() else { panic!("{:?}", paper.lines) };
    assert_eq!(
        (line.code.as_str(), line.category, line.amount),
        ("material", Category::Material, Amount::ZERO)
    );
    assert_eq!(
        (line.billed_before, line.billed_to_date, line.open),
        (line.contract, line.contract, Amount::ZERO)
    );
    assert!(line.description.starts_with("Tax left"), "{line:?}");
    assert!(line.basis.contains("0.01") && line.basis.contains("VAT vat"), "{line:?}");
    let bytes = billed(&mut course, &json!({"kind": "final"}));
    stored("vat_tax_alone", &bytes);
    assert_eq!(breakdown(&bytes), ["S 19: 0.00 0.01"]);
    assert_eq!(all(&bytes, "Invoice/InvoiceLine/Item/Name"), [line.description.as_str()]);
    european(&bytes, "Invoice");
    assert_eq!(course.account().open(), Amount::ZERO);
    // Nothing more is billed by it: what it did is the tax alone.
    assert!(
        course.effects.last().is_some_and(|e| e.lines.is_empty() && e.payable.0 == Amount::from_minor(1))
    );
    let last = course.billed.len() - 1;
    let told = course.try_credit(last, &[], &json!({"kind": "whole"})).unwrap_err();
    assert!(told.list()[0].detail.contains("tax alone"), "{told}");
}

/// BR-CO-25: what is positive has a due date or terms of payment. A UBL 2.1 credit note has no `DueDate` of its own.
#[test]
fn a_credit_note_says_what_becomes_of_its_sum() {
    let mut course = under_vat(|q| {
        prices(q, &[("material", "900.00"), ("labor", "100.00")]);
        q["estimate"]["tax_rules"] = json!([vat("vat", "19", &["material"])]);
        q["terms"]["retainage"] = json!({"pct": "5"});
    });
    billed(&mut course, &json!({"kind": "percent", "pct_to_date": "100"}));
    let bytes = credited(&mut course);
    stored("vat_credit_note", &bytes);
    assert_eq!(
        all(&bytes, "CreditNote/PaymentTerms/Note"),
        ["Set against invoice INV-0001: 1121.00 less is owed on it"]
    );
    european(&bytes, "CreditNote");
}

/// BR-E-10: the reason has to be that of the case. Under EN 16931 it stands in the breakdown alone (BT-120), once.
#[test]
fn retainage_has_a_reason_of_its_own() {
    let reasons = |scheme: &'static str, rules: &Value| {
        let mut course = under_vat(|q| {
            prices(q, &[("material", "900.00"), ("labor", "100.00")]);
            q["estimate"]["tax_rules"] = rules.clone();
            q["terms"]["retainage"] = json!({"pct": "5"});
        });
        course.scheme = scheme;
        let held = billed(&mut course, &json!({"kind": "percent", "pct_to_date": "100"}));
        let released = billed(&mut course, &json!({"kind": "retainage"}));
        if scheme == "VAT" {
            european(&held, "Invoice");
            european(&released, "Invoice");
        }
        [
            all(&held, "Invoice/AllowanceCharge/TaxCategory/TaxExemptionReason"),
            all(&held, "Invoice/TaxTotal/TaxSubtotal/TaxCategory/TaxExemptionReason"),
            all(&held, "Invoice/InvoiceLine/Item/ClassifiedTaxCategory/TaxExemptionReason"),
            all(&released, "Invoice/TaxTotal/TaxSubtotal/TaxCategory/TaxExemptionReason"),
            all(&released, "Invoice/InvoiceLine/Item/ClassifiedTaxCategory/TaxExemptionReason"),
        ]
        .map(|list| list.join(" | "))
    };
    let own = "Retainage has no tax of its own: any tax is charged with the lines it is held on";
    let unset = "No sales tax is set for this category";
    let both = "No sales tax is set for some of the lines; retainage has no tax of its own: any tax is charged with the lines \
                it is held on";
    let (all_taxed, some) =
        (json!([vat("t", "19", &["material", "labor"])]), json!([vat("t", "19", &["material"])]));
    assert_eq!(reasons("STT", &all_taxed), [own, own, "", own, own]);
    assert_eq!(reasons("VAT", &all_taxed), ["", own, "", own, ""]);
    assert_eq!(reasons("STT", &some), [own, both, unset, own, own]);
    assert_eq!(reasons("VAT", &some), ["", &both.replace("sales tax", "VAT"), "", own, ""]);
    let gst = |text: &str| text.replace("sales tax", "goods and services tax");
    assert_eq!(reasons("GST", &some), [own, &gst(both), &gst(unset), own, own]);
}

/// A note of retainage states no product that is not so: more is never given back than is held.
#[test]
fn a_note_of_retainage_says_when_all_of_it_is_given_back() {
    let mut course = under_vat(|q| {
        prices(q, &[("material", "900.00")]);
        q["terms"]["retainage"] = json!({"pct": "10"});
    });
    let less = |price: &str| {
        json!({"kind": "lines", "lines": [
            {"code": "less", "description": "Less", "category": "material", "price": price}]})
    };
    course.change(&less("-500.00"), None);
    course.change(&less("-5.00"), None);
    course.change(&less("-5.00"), None);
    let mut notes = |bill: &Value| {
        let bytes = billed(&mut course, bill);
        all(&bytes, "Invoice/Note").into_iter().filter(|n| n.starts_with("Retainage")).collect::<Vec<_>>()
    };
    let lines = json!({"kind": "lines", "lines": [{"line": "material", "amount": "15.00"}]});
    assert_eq!(
        notes(&lines),
        ["Retainage held: 15.00 before tax x 10 % = 1.50, without tax, due when released"]
    );
    let change = |code: &str| json!({"kind": "change_order", "change_order": code});
    // What is held bears it.
    assert_eq!(
        notes(&change("co-2")),
        [
            "Retainage no longer held: 0.50 of 1.50 held, counted in this invoice, without tax (-5.00 before tax x 10 % = -0.50)"
        ]
    );
    // 50.00 would be given back of 1.00 that is held.
    assert_eq!(
        notes(&change("co-1")),
        [
            "Retainage no longer held: 1.00, all that was held, counted in this invoice, without tax (-500.00 before tax x 10 % = -50.00, of which -1.00 is held)"
        ]
    );
    // Nothing is held any more.
    assert!(notes(&change("co-3")).is_empty());
}
