//! Reading a stored answer for a page: whatever engine made it, what it does not have is left out.

use crate::units::show::Show;
use crate::units::tape::nearest_mark;
use crate::units::{Amount, Currency, Dimension, Length, Unit, UnitSystem, grammar};
use maud::{Markup, html};
use serde_json::Value;

/// The text of a member; nothing where there is none.
pub(super) fn text<'v>(of: &'v Value, name: &str) -> &'v str {
    of.get(name).and_then(Value::as_str).unwrap_or_default()
}

/// The elements of a list.
pub(super) fn list<'v>(of: &'v Value, name: &str) -> &'v [Value] {
    of.get(name).and_then(Value::as_array).map_or(&[], Vec::as_slice)
}

/// Number and unit of a measured member.
pub(super) fn quantity(of: &Value, name: &str) -> String {
    let Some(member) = of.get(name) else { return String::new() };
    let (value, unit) = (text(member, "value"), text(member, "unit"));
    match unit {
        "percent" => format!("{value} %"),
        unit => format!("{value} {unit}").trim_end().to_owned(),
    }
}

/// A stored length and the system it is written in.
fn length_of(of: &Value, name: &str) -> Option<(Length, UnitSystem)> {
    let member = of.get(name)?;
    let unit = Unit::from_word(text(member, "unit")).filter(|u| u.dimension() == Dimension::Length)?;
    let (sign, digits) = match text(member, "value").strip_prefix('-') {
        Some(digits) => (-1, digits),
        None => (1, text(member, "value")),
    };
    let length = Length::from_nm(sign * i64::try_from(grammar::decimal(digits, unit).ok()?).ok()?);
    let is_us = matches!(unit, Unit::Ft | Unit::In | Unit::Yd);
    Some((length, if is_us { UnitSystem::Us } else { UnitSystem::Metric }))
}

/// A length as it is read off a tape; what is no length as [`quantity`] has it.
pub(super) fn on_tape(of: &Value, name: &str) -> String {
    length_of(of, name)
        .map_or_else(|| quantity(of, name), |(length, system)| Show(system).nearest(length).to_string())
}

/// A length as it is read off a tape of this system, whatever unit it is stored in: notes keep what was measured.
pub(super) fn on_tape_of(of: &Value, name: &str, system: UnitSystem) -> String {
    length_of(of, name)
        .map_or_else(|| quantity(of, name), |(length, _)| Show(system).nearest(length).to_string())
}

/// The units in which an answer is written.
pub(super) fn system_of(answer: &Value) -> UnitSystem {
    UnitSystem::from_word(text(answer, "unit_system")).unwrap_or(UnitSystem::Us)
}

/// Levels beyond this are those of a datum, not of the site: surveyors write them in decimals of a foot.
const OF_A_DATUM: Length = Length::feet(100);

/// A level or station: in metres to the millimetre, in feet and inches as on a tape, in decimals of a foot far from the site's own zero.
pub(super) fn level(of: &Value, name: &str) -> String {
    match length_of(of, name) {
        Some((length, UnitSystem::Metric)) => {
            let mm = nearest_mark(length, UnitSystem::Metric).nm() / Length::MILLIMETRE.nm();
            let sign = if mm < 0 { "-" } else { "" };
            format!("{sign}{}.{:03} m", mm.abs() / 1000, mm.abs() % 1000)
        }
        Some((length, UnitSystem::Us)) if length.abs() < OF_A_DATUM => on_tape(of, name),
        _ => quantity(of, name),
    }
}

/// A number as it is stored, or a text.
pub(super) fn figure(of: &Value, name: &str) -> String {
    match of.get(name) {
        Some(Value::String(text)) => text.clone(),
        Some(Value::Number(number)) => number.to_string(),
        _ => String::new(),
    }
}

/// The currency of an answer.
pub(super) fn currency_of(answer: &Value) -> Option<Currency> {
    Currency::from_word(text(answer, "currency"))
}

/// An amount with its thousands apart; as it is stored where it is no amount of two decimals, or of no known currency.
pub(super) fn money(of: &Value, name: &str, currency: Option<Currency>) -> String {
    let stored = figure(of, name);
    let digits = stored.strip_prefix('-').unwrap_or(&stored);
    let minor = crate::units::decimal_text::plain_decimal(digits, crate::units::money::MINOR_DIGITS);
    minor.zip(currency).map_or(stored.clone(), |(minor, currency)| {
        let amount = Amount::from_minor(minor);
        super::parts::money(if digits.len() == stored.len() { amount } else { -amount }, currency)
    })
}

/// A stable name in words: `run_excavation` as `run excavation`.
pub(super) fn words(of: &Value, name: &str) -> String {
    text(of, name).replace('_', " ")
}

/// A column of a table: what it is called, what stands in it, and whether it is a figure.
pub(super) struct Column<'c> {
    heading: &'static str,
    cell: Box<dyn Fn(&Value) -> String + 'c>,
    is_figure: bool,
}

/// A column of text.
pub(super) fn says<'c>(heading: &'static str, cell: impl Fn(&Value) -> String + 'c) -> Column<'c> {
    Column { heading, cell: Box::new(cell), is_figure: false }
}

/// A column of figures.
pub(super) fn counts<'c>(heading: &'static str, cell: impl Fn(&Value) -> String + 'c) -> Column<'c> {
    Column { heading, cell: Box::new(cell), is_figure: true }
}

/// A row for each element, with its `basis` below the first cell where there is one and it is asked for; nothing where the list is
/// empty. On a narrow screen the cells of a row stand below each other, those of a table of figures alone behind each other.
pub(super) fn table(rows: &[Value], columns: &[Column<'_>], with_basis: bool) -> Markup {
    let figures = columns.iter().all(|column| column.is_figure);
    html! {
        @if !rows.is_empty() {
            table.rows[columns.len() > 2].figures[figures] {
                thead { tr {
                    @for column in columns { th.figure[column.is_figure] scope="col" { (column.heading) } }
                } }
                tbody {
                    @for row in rows {
                        tr {
                            @for (i, column) in columns.iter().enumerate() {
                                @let is_named = i == 0 && !column.is_figure;
                                td.figure[column.is_figure] data-label=[(!is_named).then_some(column.heading)] {
                                    ((column.cell)(row))
                                    @if i == 0 && with_basis && !text(row, "basis").is_empty() { small { (text(row, "basis")) } }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{level, money, on_tape, on_tape_of, quantity};
    use crate::units::{Currency, UnitSystem};
    use serde_json::json;

    #[test]
    fn what_is_stored_is_shown_and_nothing_else() {
        let row = json!({"a": "-1234.50", "b": "3.333333", "c": {"value": "1.055", "unit": "percent"},
            "d": {"value": "7", "unit": "yd3"}});
        let dollars = Some(Currency::Usd);
        assert_eq!(money(&row, "a", dollars), "\u{2212}1,234.50");
        assert_eq!(money(&row, "a", None), "-1234.50");
        assert_eq!(money(&row, "b", dollars), "3.333333");
        assert_eq!(money(&row, "none", dollars), "");
        let dug = json!({"a": {"value": "-1.6771", "unit": "ft"}, "b": {"value": "0.4167", "unit": "m"}});
        assert_eq!(
            (on_tape(&dug, "a"), on_tape(&dug, "b")),
            ("-1 ft 8 1/8 in".to_owned(), "417 mm".to_owned())
        );
        assert_eq!(on_tape(&row, "d"), "7 yd3");
        assert_eq!(
            (on_tape_of(&dug, "b", UnitSystem::Us), on_tape_of(&dug, "a", UnitSystem::Metric)),
            ("1 ft 4 3/8 in".to_owned(), "-511 mm".to_owned())
        );
        let levels = json!({"a": {"value": "312.4", "unit": "m"}, "b": {"value": "-0.0125", "unit": "m"},
            "c": {"value": "-1.6771", "unit": "ft"}, "d": {"value": "1024.3312", "unit": "ft"}});
        assert_eq!(
            ["a", "b", "c", "d"].map(|name| level(&levels, name)),
            ["312.400 m", "-0.013 m", "-1 ft 8 1/8 in", "1024.3312 ft"]
        );
        assert_eq!((quantity(&row, "c"), quantity(&row, "d")), ("1.055 %".to_owned(), "7 yd3".to_owned()));
    }
}
