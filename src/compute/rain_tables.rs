//! Rain tables between their stored form and the one that is computed with.

use crate::compute::rain::{Bound, DataKind, Frequency, PointFile, PointUnit, RainError, RainTable, Series};
use crate::units::factors::MILLIMETRES_PER_INCH;
use crate::units::percent::Constant;
use crate::units::quantity::Span;
use crate::wire::rain::{RainBound, RainRow, RainSeries, RainTableDoc, RainValues};
use crate::wire::{At, Code, Faults, Label, List, Whole};

/// The table of a document.
///
/// # Errors
/// Rows of the wrong length, durations that do not grow, depths that shrink with the duration, a return period twice.
pub fn table(doc: &RainTableDoc) -> Result<RainTable, Faults> {
    let RainTableDoc {
        code: _,
        name: _,
        place: _,
        source: _,
        note: _,
        series,
        values,
        bound,
        return_periods,
        rows,
    } = doc;
    let mut faults = Faults::new();
    let rows_at = At::ROOT.member("rows");
    for (i, pair) in rows.windows(2).enumerate() {
        if pair[1].duration <= pair[0].duration {
            faults.add(
                &rows_at.element(i + 1).member("duration"),
                "not_ascending",
                "durations rise from the shortest to the longest, each once",
            );
        }
    }
    for (i, row) in rows.iter().enumerate() {
        if row.values.len() != return_periods.len() {
            faults.add(
                &rows_at.element(i).member("values"),
                "wrong_length",
                format!(
                    "one value for each of the {} return periods; there are {}",
                    return_periods.len(),
                    row.values.len()
                ),
            );
        }
    }
    for (i, years) in return_periods.iter().enumerate() {
        if return_periods.iter().take(i).any(|other| other == years) {
            faults.add(&At::ROOT.member("return_periods").element(i), "duplicate", "each return period once");
        }
    }
    if *series == RainSeries::AnnualMaximum {
        for (i, _) in return_periods.iter().enumerate().filter(|(_, y)| y.get() == 1) {
            faults.add(
                &At::ROOT.member("return_periods").element(i),
                "out_of_range",
                "of an annual maximum series every period is more than 1 year: a yearly chance of 1 is a certainty",
            );
        }
    }
    values_hold(doc, &mut faults);
    if !faults.is_empty() {
        return Err(faults);
    }
    let frequency = |years: &Whole<1, 1000>| match series {
        RainSeries::PartialDuration => Frequency::RecurrenceYears(years.get() as f64),
        RainSeries::AnnualMaximum => Frequency::OneIn(years.get() as f64),
    };
    let frequencies = return_periods.iter().map(frequency).collect();
    let durations = rows.iter().map(|r| minutes(r.duration)).collect();
    let inches = values.in_inches();
    let mm = |c: &Constant| c.number_f64() * if inches { MILLIMETRES_PER_INCH } else { 1.0 };
    let numbers = rows.iter().map(|r| r.values.iter().map(mm).collect()).collect();
    let made = match values {
        RainValues::DepthIn | RainValues::DepthMm => {
            RainTable::from_depths_mm(frequencies, durations, numbers)
        }
        RainValues::InPerHr | RainValues::MmPerHr => {
            RainTable::from_intensities_mm_per_h(frequencies, durations, numbers)
        }
    };
    let bound = match bound {
        None => Bound::Mean,
        Some(RainBound::Upper) => Bound::Upper,
        Some(RainBound::Lower) => Bound::Lower,
    };
    made.map(|table| table.of_bound(bound)).map_err(|error| {
        let mut faults = Faults::new();
        faults.add(&rows_at, "rain_table", error.to_string());
        faults
    })
}

/// Values that rain cannot have, each at its place: none at all, less for a rarer rain, less in a longer duration.
fn values_hold(doc: &RainTableDoc, faults: &mut Faults) {
    let rows_at = At::ROOT.member("rows");
    let mut order: Vec<usize> = (0..doc.return_periods.len()).collect();
    order.sort_by_key(|i| doc.return_periods.get(*i).map(|y| y.get()));
    let depths = matches!(doc.values, RainValues::DepthIn | RainValues::DepthMm);
    for (r, row) in doc.rows.iter().enumerate() {
        let row_at = rows_at.element(r);
        let values_at = row_at.member("values");
        let value = |c: usize| row.values.get(c).map(|v| v.number_f64());
        for c in (0..row.values.len()).filter(|c| value(*c) == Some(0.0)) {
            faults.add(&values_at.element(c), "out_of_range", "some rain falls: more than 0");
        }
        for pair in order.windows(2) {
            if let (Some(often), Some(rare)) = (value(pair[0]), value(pair[1]))
                && rare < often
            {
                faults.value(
                    &values_at.element(pair[1]),
                    "not_ascending",
                    &rare.to_string(),
                    format!("a rarer rain is no less than a more frequent one of the same duration, {often}"),
                );
            }
        }
        let Some(shorter) = r.checked_sub(1).and_then(|b| doc.rows.get(b)) else { continue };
        for (c, before) in shorter.values.iter().enumerate() {
            let (Some(here), before) = (value(c), before.number_f64()) else { continue };
            if depths && here < before {
                faults.value(
                    &values_at.element(c),
                    "not_ascending",
                    &here.to_string(),
                    format!("no less falls in a longer duration than in the one before, {before}"),
                );
            } else if !depths && here > before {
                faults.value(
                    &values_at.element(c),
                    "not_descending",
                    &here.to_string(),
                    format!("mean intensity does not rise with the duration; before it is {before}"),
                );
            }
        }
    }
}

fn minutes(span: Span) -> f64 {
    span.seconds() as f64 / 60.0
}

/// What a point file is called here.
#[derive(Debug)]
pub struct Named {
    /// Code.
    pub code: Code,
    /// Name; when left out the place of the file, and which bound it is where it is one.
    pub name: Option<Label>,
}

/// The document of one table of a NOAA Atlas 14 point file.
///
/// # Errors
/// A frequency that is no whole number of years, or a value no document can hold.
pub fn imported(file: &PointFile, table: &RainTable, named: Named) -> Result<RainTableDoc, RainError> {
    let bad = |what: &str, value: String| RainError::BadNumber {
        what: what.to_owned(),
        value,
        rule: "a rain table here has whole years from 1 to 1000 and at most 60 durations".to_owned(),
    };
    let years: Option<Vec<Whole<1, 1000>>> = table
        .frequencies()
        .iter()
        .map(|f| {
            let whole = f.years().round();
            ((whole - f.years()).abs() < 1e-9).then_some(whole as i64).and_then(Whole::new)
        })
        .collect();
    let years = years.and_then(List::new).ok_or_else(|| {
        let whole = |years: f64| (1.0..=1000.0).contains(&years) && (years.round() - years).abs() < 1e-9;
        let odd = table.frequencies().iter().map(|f| f.years()).find(|years| !whole(*years));
        bad("a return period", odd.map_or_else(|| "too many of them".to_owned(), |years| years.to_string()))
    })?;
    let (values, size, intensity) = match (file.data, file.unit) {
        (DataKind::Depth, PointUnit::Inches) => (RainValues::DepthIn, MILLIMETRES_PER_INCH, false),
        (DataKind::Depth, PointUnit::Millimetres) => (RainValues::DepthMm, 1.0, false),
        (DataKind::Intensity, PointUnit::Inches) => (RainValues::InPerHr, MILLIMETRES_PER_INCH, true),
        (DataKind::Intensity, PointUnit::Millimetres) => (RainValues::MmPerHr, 1.0, true),
    };
    let rows: Option<Vec<RainRow>> = table
        .durations_minutes()
        .iter()
        .zip(table.depths_mm())
        .map(|(minutes, depths)| {
            let shown = |mm: &f64| {
                let value = if intensity { mm * 60.0 / minutes } else { *mm };
                Constant::nearest(value / size)
            };
            let values: Option<Vec<Constant>> = depths.iter().map(shown).collect();
            Some(RainRow {
                duration: Span::from_seconds((minutes * 60.0).round() as i64),
                values: List::new(values?)?,
            })
        })
        .collect();
    let rows = rows.and_then(List::new).ok_or_else(|| bad("the table", "its rows".to_owned()))?;
    let label = |text: Option<&str>| text.and_then(|t| Label::new(t.trim()));
    let place = label(file.location.as_deref()).or_else(|| label(file.station.as_deref()));
    let volume = match (&file.volume, &file.version) {
        (Some(volume), Some(version)) => format!(", volume {volume}, version {version}"),
        (Some(volume), None) => format!(", volume {volume}"),
        _ => String::new(),
    };
    let bound = table.bound().appended();
    let source = Label::new(&format!("NOAA Atlas 14 point precipitation frequency estimates{volume}{bound}"))
        .or_else(|| Label::new("NOAA Atlas 14"))
        .ok_or_else(|| bad("the source", String::new()))?;
    let here =
        place.as_ref().map(|place| Label::new(&format!("{place}{bound}")).unwrap_or_else(|| place.clone()));
    let name = named.name.or(here).unwrap_or_else(|| source.clone());
    Ok(RainTableDoc {
        code: named.code,
        name,
        place,
        source,
        note: None,
        series: match file.series {
            Series::PartialDuration => RainSeries::PartialDuration,
            Series::AnnualMaximum => RainSeries::AnnualMaximum,
        },
        values,
        bound: match table.bound() {
            Bound::Mean => None,
            Bound::Upper => Some(RainBound::Upper),
            Bound::Lower => Some(RainBound::Lower),
        },
        return_periods: years,
        rows,
    })
}
