//! Reading a CSV price list: every fault of every row at once, nothing taken in unless all of it holds.

use super::misread::misread;
use super::numbers::number_fault;
use super::quotes::Counted;
use super::report::{PriceListReport, ReadRow, ReadRows, RowFault, Rules, report};
use super::{COLUMNS, NEEDED, text};
use crate::domain::words::Category;
use crate::units::decimal_text::plain_decimal;
use crate::units::{Currency, Factor, Price, Unit};
use crate::wire::book::{BookDoc, Item};
use crate::wire::{Code, Label, nearest};
use std::collections::{HashMap, HashSet};

/// Most items of a price book.
const MOST_ITEMS: usize = 5000;

/// Reads a price list against the items of a version. The second part are the items after the import; they count only
/// when the report says that the list is importable.
pub fn read(bytes: &[u8], doc: &BookDoc, rules: Rules) -> (PriceListReport, Vec<Item>) {
    let mut list =
        Reading { faults: Vec::new(), old: doc.items.iter().map(|i| (i.code.as_str(), i)).collect(), doc };
    let read = list.rows(bytes);
    let (mut out, items) = report(doc, read, list.faults, rules);
    if out.importable && items.len() > MOST_ITEMS {
        out.importable = false;
        out.errors.push(fault(1, None, "too_many_rows", "a price book holds up to 5000 items"));
    }
    (out, items)
}

fn fault(row: usize, column: Option<&str>, code: &'static str, detail: impl Into<String>) -> RowFault {
    RowFault {
        row,
        column: column.map(ToOwned::to_owned),
        code,
        detail: detail.into(),
        value: None,
        allowed: Vec::new(),
    }
}

/// What a row says besides its code; none where it is not there or cannot be read.
#[derive(Default)]
struct Rest {
    name: Option<Label>,
    category: Option<Category>,
    unit: Option<Unit>,
    price: Option<Price>,
    increment: Option<Factor>,
    supplier: Option<Label>,
}

struct Reading<'a> {
    faults: Vec<RowFault>,
    old: HashMap<&'a str, &'a Item>,
    doc: &'a BookDoc,
}

impl<'a> Reading<'a> {
    /// What the list says; nothing where its columns cannot be told.
    fn rows(&mut self, bytes: &[u8]) -> Option<ReadRows> {
        if bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]) {
            self.faults.push(fault(1, None, "not_utf8", "this is UTF-16: save the list as CSV in UTF-8"));
            return None;
        }
        let Counted { bytes, misquoted } = Counted::of(bytes);
        let mut reader = csv::ReaderBuilder::new().has_headers(false).flexible(true).from_reader(&*bytes);
        let mut columns: Option<Vec<&'static str>> = None;
        let mut rows = Vec::new();
        let mut first_of: HashMap<String, usize> = HashMap::new();
        let mut codes = HashSet::new();
        let mut count = 0;
        let mut record = csv::ByteRecord::new();
        let mut row = 0;
        loop {
            match reader.read_byte_record(&mut record) {
                Ok(true) => row += 1,
                Ok(false) => break,
                Err(error) => {
                    self.faults.push(fault(
                        row + 1,
                        None,
                        "not_csv",
                        format!("this row cannot be read: {error}"),
                    ));
                    break;
                }
            }
            // A line of nothing but separators is what spreadsheets leave behind.
            if record.iter().all(|c| c.iter().all(u8::is_ascii_whitespace)) {
                continue;
            }
            let misquoted = misquoted.get(&row).map(|detail| fault(row, None, "not_csv", *detail));
            let Some(columns) = &columns else {
                if let Some(found) = misquoted {
                    self.faults.push(found);
                    return None;
                }
                columns = Some(self.header(&record)?);
                continue;
            };
            count += 1;
            if count > MOST_ITEMS {
                self.faults.push(fault(row, None, "too_many_rows", "a price book holds up to 5000 items"));
                break;
            }
            // A row that is refused names its item all the same.
            let place = columns.iter().position(|column| *column == "code");
            let named = place.and_then(|i| record.get(i)).and_then(|cell| std::str::from_utf8(cell).ok());
            if let Some(code) = named.filter(|cell| !cell.is_empty()) {
                codes.insert(code.to_owned());
            }
            if let Some(found) = misquoted {
                self.faults.push(found);
                continue;
            }
            if record.len() != columns.len() {
                let detail = format!(
                    "{} cells where the header has {}; put quotes around text that has a comma in it",
                    record.len(),
                    columns.len()
                );
                self.faults.push(fault(row, None, "ragged_row", detail));
                continue;
            }
            let Some(cells) = self.cells(&record, columns, row) else { continue };
            let before = self.faults.len();
            let item = self.item(&cells, row);
            if let Some(code) = cells.get("code").filter(|c| !c.is_empty()) {
                match first_of.get(*code) {
                    Some(first) => {
                        let detail = format!("`{code}` stands in row {first} already; keep one of the two");
                        let mut found = fault(row, Some("code"), "duplicate_code", detail);
                        found.value = Some((*code).to_owned());
                        self.faults.push(found);
                    }
                    None => {
                        first_of.insert((*code).to_owned(), row);
                    }
                }
            }
            if let Some(item) = item
                && self.faults.len() == before
            {
                rows.push(ReadRow { row, item });
            }
        }
        if columns.is_none() {
            self.faults.push(fault(
                1,
                None,
                "no_header",
                "the list is empty: its first row names the columns",
            ));
            return None;
        }
        Some(ReadRows { rows, count, codes })
    }

    /// The columns by the header's names, in any order.
    fn header(&mut self, record: &csv::ByteRecord) -> Option<Vec<&'static str>> {
        let before = self.faults.len();
        let cells: Option<Vec<&str>> = record.iter().map(|c| std::str::from_utf8(c).ok()).collect();
        let Some(cells) = cells else {
            self.faults.push(fault(
                1,
                None,
                "not_utf8",
                "the header is not UTF-8: save the list as CSV in UTF-8",
            ));
            return None;
        };
        if let [only] = cells.as_slice()
            && let Some(other) = [';', '\t', '|'].into_iter().find(|d| only.contains(*d))
        {
            let shown = if other == '\t' { "tabs".to_owned() } else { format!("`{other}`") };
            let detail = format!("cells are parted by {shown}; save the list with commas and decimal points");
            self.faults.push(fault(1, None, "wrong_delimiter", detail));
            return None;
        }
        let mut columns: Vec<&'static str> = Vec::new();
        for (place, cell) in cells.into_iter().enumerate() {
            let name = cell.trim();
            if name.is_empty() {
                let detail = format!("column {} has no name: name it, or take it out", place + 1);
                self.faults.push(fault(1, None, "unnamed_column", detail));
                continue;
            }
            match COLUMNS.iter().find(|c| **c == name) {
                Some(column) if columns.contains(column) => {
                    self.faults.push(fault(1, Some(name), "duplicate_column", "this column is named twice"));
                }
                Some(column) => columns.push(column),
                None => {
                    let near =
                        nearest(name, &COLUMNS).map(|n| format!("; did you mean `{n}`?")).unwrap_or_default();
                    let shown: String = name.chars().take(60).collect();
                    let mut found =
                        fault(1, Some(&shown), "unknown_column", format!("there is no such column{near}"));
                    found.allowed = COLUMNS.map(ToOwned::to_owned).to_vec();
                    self.faults.push(found);
                }
            }
        }
        for needed in NEEDED.iter().filter(|n| !columns.contains(n)) {
            self.faults.push(fault(1, Some(needed), "missing_column", "a price list has this column"));
        }
        (self.faults.len() == before).then_some(columns)
    }

    /// The cells of a row by column; `None` when one of them is not UTF-8.
    fn cells<'r>(
        &mut self,
        record: &'r csv::ByteRecord,
        columns: &[&'static str],
        row: usize,
    ) -> Option<HashMap<&'static str, &'r str>> {
        let before = self.faults.len();
        let mut cells = HashMap::with_capacity(columns.len());
        for (column, bytes) in columns.iter().zip(record) {
            match std::str::from_utf8(bytes) {
                Ok(text) => {
                    cells.insert(*column, text);
                }
                Err(_) => {
                    let detail = "this cell is not UTF-8: save the list as CSV in UTF-8";
                    self.faults.push(fault(row, Some(column), "not_utf8", detail));
                }
            }
        }
        (self.faults.len() == before).then_some(cells)
    }

    fn wrong(
        &mut self,
        row: usize,
        column: &'static str,
        code: &'static str,
        value: &str,
        detail: impl Into<String>,
    ) {
        let mut found = fault(row, Some(column), code, detail);
        found.value = Some(value.chars().take(80).collect());
        self.faults.push(found);
    }

    /// The item of a row: cells that are there over what the version has.
    fn item(&mut self, cells: &HashMap<&'static str, &str>, row: usize) -> Option<Item> {
        let code_cell = cells.get("code").copied().unwrap_or_default();
        let Some(code) = Code::new(code_cell) else {
            let fault = if super::is_formula(code_cell) { FORMULA } else { "text_rule" };
            self.wrong(row, "code", fault, code_cell, Code::RULE);
            // Whether the item is new cannot be told: only the cells that are there are looked at.
            self.rest(cells, row, None, &|column| cells.contains_key(column));
            return None;
        };
        let old = self.old.get(code.as_str()).copied();
        let Rest { name, category, unit, price, increment, supplier } = self.rest(cells, row, old, &|_| true);
        Some(Item { code, name: name?, category: category?, unit: unit?, price: price?, increment, supplier })
    }

    /// What a row says besides its code, of the columns that are asked for.
    fn rest(
        &mut self,
        cells: &HashMap<&'static str, &str>,
        row: usize,
        old: Option<&Item>,
        asked: &dyn Fn(&str) -> bool,
    ) -> Rest {
        let mut rest = Rest::default();
        if asked("name") {
            rest.name = self.text(cells, "name", row, old.map(|i| i.name.clone()), true);
        }
        if asked("supplier") {
            rest.supplier = self.text(cells, "supplier", row, old.and_then(|i| i.supplier.clone()), false);
        }
        if asked("category") {
            let old = old.map(|i| i.category);
            rest.category = self.word(cells, "category", row, old, Category::from_word, Category::ALL);
        }
        if asked("unit") {
            rest.unit = self.word(cells, "unit", row, old.map(|i| i.unit), Unit::from_word, Unit::ALL);
        }
        if let Some(cell) = cells.get("currency").filter(|c| !c.trim().is_empty())
            && Currency::from_word(cell.trim()) != Some(self.doc.currency)
        {
            let detail =
                format!("every price of this book is in {}; one list has one currency", self.doc.currency);
            self.wrong(row, "currency", "other_currency", cell, detail);
        }
        rest.price = self.number(cells, "price", row, 6, Price::MOST).map(Price::from_millionths);
        if rest.price.is_none() && cells.get("price").is_none_or(|c| c.trim().is_empty()) {
            self.wrong(row, "price", "required", "", "a price, as 27.40");
        }
        rest.increment = match cells.get("increment") {
            None => old.and_then(|i| i.increment),
            Some(_) => self
                .number(cells, "increment", row, 6, Factor::MOST.millionths())
                .map(Factor::from_millionths),
        };
        rest
    }

    /// A cell of text; a column that is not there keeps what the version has.
    fn text(
        &mut self,
        cells: &HashMap<&'static str, &str>,
        column: &'static str,
        row: usize,
        old: Option<Label>,
        needed: bool,
    ) -> Option<Label> {
        match cells.get(column) {
            None if needed && old.is_none() => {
                self.wrong(row, column, "required", "", "a new item needs this column");
                None
            }
            None => old,
            Some(&"") if !needed => None,
            Some(cell) => {
                let Some(plain) = text(cell) else {
                    self.wrong(row, column, FORMULA, cell, "a spreadsheet would run this as a formula; begin with another character, or put ' in front");
                    return None;
                };
                let label = Label::new(&plain);
                // What the version has already is nothing that this list did.
                if (label.is_none() || label != old)
                    && let Some(detail) = misread(&plain)
                {
                    self.wrong(row, column, "misread_text", cell, detail);
                    return None;
                }
                if label.is_none() {
                    let code = if cell.is_empty() { "required" } else { "text_rule" };
                    self.wrong(row, column, code, cell, Label::RULE);
                }
                label
            }
        }
    }

    /// A cell of a closed list of words; a column that is not there keeps what the version has.
    fn word<T: Copy + std::fmt::Display>(
        &mut self,
        cells: &HashMap<&'static str, &str>,
        column: &'static str,
        row: usize,
        old: Option<T>,
        of: fn(&str) -> Option<T>,
        all: &[T],
    ) -> Option<T> {
        let Some(cell) = cells.get(column) else {
            if old.is_none() {
                self.wrong(row, column, "required", "", "a new item needs this column");
            }
            return old;
        };
        let found = of(cell.trim());
        if found.is_none() {
            self.wrong(row, column, "unknown_value", cell, "this is not one of the words accepted here");
            if let Some(last) = self.faults.last_mut() {
                last.allowed = all.iter().map(ToString::to_string).collect();
            }
        }
        found
    }

    /// A cell of a plain decimal number in units of `10^-places`; an empty cell is `None` without a fault.
    fn number(
        &mut self,
        cells: &HashMap<&'static str, &str>,
        column: &'static str,
        row: usize,
        places: u32,
        most: i64,
    ) -> Option<i64> {
        let cell = cells.get(column).copied().unwrap_or_default();
        let plain = cell.trim();
        if plain.is_empty() {
            return None;
        }
        let read = plain_decimal(plain, places).filter(|n| *n <= most);
        if read.is_none() {
            let large = plain_decimal(plain, places).is_some();
            let (code, detail) = if large {
                ("out_of_range", "more than a price list takes here")
            } else {
                number_fault(plain)
            };
            self.wrong(row, column, code, cell, detail);
        }
        read
    }
}

const FORMULA: &str = "leading_formula_character";
