//! What is cut from which piece, in order, and where it goes.

use super::stored::{list, on_tape, quantity, text, words};
use crate::documents::job_orders::cutting_sheet::mark_of;
use maud::{Markup, html};
use serde_json::Value;

/// Numbers of the stock pieces of a row: those that go whole onto one leg are one row.
fn numbers(stock: &Value) -> String {
    let number = |name: &str| stock.get(name).and_then(Value::as_u64);
    match (number("number"), number("count")) {
        (Some(first), Some(count)) if count > 1 => format!("{first} to {}", first + count - 1),
        (Some(first), _) => first.to_string(),
        _ => String::new(),
    }
}

/// The rows of one stock piece.
fn pieces(stock: &Value) -> Markup {
    let pieces = list(stock, "pieces");
    let cuts = stock.get("cuts").and_then(Value::as_i64);
    html! {
        @for (i, piece) in pieces.iter().enumerate() {
            tr {
                td data-label="Stock piece" { @if i == 0 { (numbers(stock)) } }
                td data-label="From" { @if i == 0 { (text(stock, "stock")) ", " (on_tape(stock, "length")) } }
                td.figure data-label="Mark" { (mark_of(text(piece, "mark"), i, cuts)) }
                td data-label="Goes to" { (text(piece, "leg")) ", " (on_tape(piece, "from")) " to " (on_tape(piece, "to")) }
                td.figure data-label="Left over" { @if i + 1 == pieces.len() { (on_tape(stock, "left")) } }
            }
        }
    }
}

/// Every cut list of a stored layout.
pub(super) fn cutting(layout: &Value) -> Markup {
    html! {
        @for cut in list(layout, "cut_lists") {
            @let sheet = list(cut, "sheet");
            @if !sheet.is_empty() {
                h2 { "Cut " (words(cut, "part")) " " (text(cut, "code")) ", saw cut " (quantity(cut, "kerf")) }
                table.rows {
                    thead { tr {
                        th scope="col" { "Stock piece" }
                        th scope="col" { "From" }
                        th.figure scope="col" { "Mark" }
                        th scope="col" { "Goes to" }
                        th.figure scope="col" { "Left over" }
                    } }
                    tbody { @for stock in sheet { (pieces(stock)) } }
                }
            }
        }
    }
}
