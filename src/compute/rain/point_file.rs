//! The point file of the NOAA Atlas 14 precipitation frequency data server (US government work, public domain).
//!
//! Columns are found by the row of frequencies and rows by their labels, never by line number: spreadsheets re-save the
//! file with padding commas, without trailing zeros, sometimes without colons, without the label of the frequency row or
//! without the footer.

use super::error::{RainError, figure};
use super::frequency::Frequency;
use super::point_text::{
    Bound, DataKind, PointUnit, Series, bare, cells, duration_minutes, frequency, title_unit,
};
use super::table::RainTable;
use crate::units::factors::MILLIMETRES_PER_INCH;

/// Durations of a file as served, min (read).
const DURATIONS_MINUTES: [f64; 19] = [
    5.0, 10.0, 15.0, 30.0, 60.0, 120.0, 180.0, 360.0, 720.0, 1_440.0, 2_880.0, 4_320.0, 5_760.0, 10_080.0,
    14_400.0, 28_800.0, 43_200.0, 64_800.0, 86_400.0,
];
/// Longest duration of a file as served, min: a file that ends before it was cut off.
const LAST_DURATION_MINUTES: f64 = 86_400.0;

/// What a point file says.
#[derive(Debug, Clone, PartialEq)]
pub struct PointFile {
    /// Volume of the atlas, as written.
    pub volume: Option<String>,
    /// Version of the volume, as written.
    pub version: Option<String>,
    /// Kind of values in the file.
    pub data: DataKind,
    /// Unit of the values in the file.
    pub unit: PointUnit,
    /// Kind of series.
    pub series: Series,
    /// Project area, as written.
    pub project_area: Option<String>,
    /// Name of the place.
    pub location: Option<String>,
    /// Name of the station.
    pub station: Option<String>,
    /// Latitude, degrees north.
    pub latitude_degrees: Option<f64>,
    /// Longitude, degrees east.
    pub longitude_degrees: Option<f64>,
    /// Elevation, as written with its unit.
    pub elevation: Option<String>,
    /// The estimates.
    pub mean: RainTable,
    /// Upper bound of the 90 % confidence interval, where the file has it.
    pub upper: Option<RainTable>,
    /// Lower bound.
    pub lower: Option<RainTable>,
}

#[derive(Debug)]
struct RawTable {
    bound: Bound,
    header_line: usize,
    frequencies: Vec<Frequency>,
    durations: Vec<f64>,
    rows: Vec<Vec<f64>>,
    /// Line of each row.
    lines: Vec<usize>,
}

/// Reads a point file: one table, or three with the bounds.
///
/// # Errors
/// [`RainError::NoCoverage`] for the short reply about a place no project covers; [`RainError::BadFile`] with the line for
/// a file that was cut off or changed.
pub fn read_point_file(text: &str) -> Result<PointFile, RainError> {
    let lines: Vec<&str> = text.lines().collect();
    let bare_lines: Vec<&str> = lines.iter().map(|line| bare(line)).collect();
    let lower_text = text.to_ascii_lowercase();
    if lower_text.contains("not within a project area") || lower_text.contains("not within the project area")
    {
        let said = bare_lines.iter().find(|line| line.to_ascii_lowercase().contains("not within"));
        return Err(RainError::NoCoverage { said: said.copied().unwrap_or_default().to_owned() });
    }
    let series = series_of(&bare_lines, &lower_text)?;
    let tables = read_tables(&lines, series)?;
    if tables.is_empty() {
        return Err(RainError::BadFile {
            line: lines.len().max(1),
            what: "the file ends without a table".to_owned(),
            rule: "A point file has a row that starts with 'by duration for'; it may have been cut off, save it anew"
                .to_owned(),
        });
    }
    let (data, unit) = title_unit(&bare_lines)?;
    let stated = after(&bare_lines, "Data type:").map(str::to_ascii_lowercase);
    let agrees = stated.is_none_or(|text| match data {
        DataKind::Depth => text.contains("depth"),
        DataKind::Intensity => text.contains("intensity"),
    });
    if !agrees {
        return Err(RainError::BadFile {
            line: 3,
            what: "the data type and the unit in the title disagree".to_owned(),
            rule: "Depth goes with inches or millimeters, intensity with either per hour".to_owned(),
        });
    }
    let (mut mean, mut upper, mut lower) = (None, None, None);
    for raw in tables {
        let slot = match raw.bound {
            Bound::Mean => &mut mean,
            Bound::Upper => &mut upper,
            Bound::Lower => &mut lower,
        };
        if slot.is_some() {
            return Err(RainError::BadFile {
                line: raw.header_line,
                what: "a second table of the same kind".to_owned(),
                rule: "A file has the estimates once, and each bound at most once".to_owned(),
            });
        }
        *slot = Some(finish(raw, data, unit)?);
    }
    let mean = mean.ok_or_else(|| RainError::BadFile {
        line: lines.len(),
        what: "the file has bounds but no estimates".to_owned(),
        rule: "Save the file with the estimates".to_owned(),
    })?;
    let text_of =
        |head: &str| after(&bare_lines, head).filter(|t| !t.is_empty() && *t != "-" && *t != "None");
    let degrees = |head: &str| text_of(head).and_then(|t| t.split_whitespace().next()?.parse::<f64>().ok());
    let atlas = bare_lines.iter().find(|line| line.contains("Atlas 14"));
    let part = |name: &str| {
        let (_, rest) = atlas?.split_once(name)?;
        Some(rest.split(',').next()?.trim().to_owned())
    };
    Ok(PointFile {
        volume: part("Volume"),
        version: part("Version"),
        data,
        unit,
        series,
        project_area: text_of("Project area:").map(str::to_owned),
        location: text_of("Location name")
            .map(|t| place_name(t).to_owned())
            .filter(|t| !t.is_empty() && t != "None"),
        station: text_of("Station Name:").map(str::to_owned),
        latitude_degrees: degrees("Latitude:"),
        longitude_degrees: degrees("Longitude:"),
        elevation: text_of("Elevation (USGS):").filter(|t| *t != "None None").map(str::to_owned),
        mean,
        upper,
        lower,
    })
}

/// Rest of the first line that starts with a head.
fn after<'a>(lines: &[&'a str], head: &str) -> Option<&'a str> {
    lines.iter().find_map(|line| line.strip_prefix(head)).map(str::trim)
}

/// The name of a place, which follows the colon; what stands in brackets before it is no part of the name.
fn place_name(text: &str) -> &str {
    text.split_once(':').map_or(text, |(_, name)| name).trim()
}

fn series_of(lines: &[&str], lower_text: &str) -> Result<Series, RainError> {
    let stated = after(lines, "Time series type:").map(str::to_ascii_lowercase);
    let known = |text: &str| {
        if text.contains("partial") {
            Some(Series::PartialDuration)
        } else if text.contains("annual") {
            Some(Series::AnnualMaximum)
        } else {
            None
        }
    };
    if let Some(series) = stated.as_deref().and_then(known) {
        return Ok(series);
    }
    if lower_text.contains("for ari") {
        Ok(Series::PartialDuration)
    } else if lower_text.contains("for aep") {
        Ok(Series::AnnualMaximum)
    } else {
        Err(RainError::BadFile {
            line: lines.len().max(1),
            what: "neither the series nor a row of frequencies is there".to_owned(),
            rule: "A point file says 'Time series type: Partial duration' or 'Annual maximum'; this may be another \
                   page of the server, or a file that was cut off"
                .to_owned(),
        })
    }
}

/// Frequencies of a header row: its label, or an empty one, then numbers that grow.
fn header(row: &[&str], series: Series) -> Option<Vec<Frequency>> {
    let (label, heads) = row.split_first()?;
    let named = label.to_ascii_lowercase().starts_with("by duration for");
    if !(named || label.is_empty()) || heads.len() < 2 {
        return None;
    }
    let found: Option<Vec<Frequency>> = heads.iter().map(|cell| frequency(cell, series)).collect();
    found.filter(|all| all.windows(2).all(|w| matches!(w, [a, b] if a.years() < b.years())))
}

fn read_tables(lines: &[&str], series: Series) -> Result<Vec<RawTable>, RainError> {
    let mut tables: Vec<RawTable> = Vec::new();
    let mut bound = Bound::Mean;
    for (index, line) in lines.iter().enumerate() {
        let number = index + 1;
        let upper = line.to_ascii_uppercase();
        if upper.contains("UPPER BOUND") {
            bound = Bound::Upper;
        } else if upper.contains("LOWER BOUND") {
            bound = Bound::Lower;
        } else if bare(line).eq_ignore_ascii_case("PRECIPITATION FREQUENCY ESTIMATES") {
            bound = Bound::Mean;
        }
        let row = cells(line);
        if let Some(frequencies) = header(&row, series) {
            tables.push(RawTable {
                bound,
                header_line: number,
                frequencies,
                durations: Vec::new(),
                rows: Vec::new(),
                lines: Vec::new(),
            });
            continue;
        }
        let label = row.first().copied().unwrap_or_default();
        if label.to_ascii_lowercase().starts_with("by duration for") {
            return Err(RainError::BadFile {
                line: number,
                what: "the row of frequencies cannot be read".to_owned(),
                rule: "It lists years (1,2,5,...) for a partial-duration series, or chances ('1/2,'1/5,...) for an \
                       annual-maximum series"
                    .to_owned(),
            });
        }
        let Some(duration) = duration_minutes(label) else {
            continue;
        };
        let Some(table) = tables.last_mut() else { continue };
        let values: Option<Vec<f64>> = row.iter().skip(1).map(|cell| cell.parse().ok()).collect();
        let values =
            values.filter(|v| v.len() == table.frequencies.len()).ok_or_else(|| RainError::BadFile {
                line: number,
                what: format!("the row {label} has not one number per frequency"),
                rule: format!(
                    "It needs {} numbers; the file may have been cut off or changed, save it anew",
                    table.frequencies.len()
                ),
            })?;
        table.durations.push(duration);
        table.rows.push(values);
        table.lines.push(number);
    }
    for table in &tables {
        let last = table.durations.last().copied().unwrap_or(0.0);
        if last != LAST_DURATION_MINUTES {
            return Err(RainError::BadFile {
                line: lines.len(),
                what: format!("the table of line {} ends at a duration of {last} min", table.header_line),
                rule: "As served it runs to 60 days (86400 min): the file was cut off, save it anew"
                    .to_owned(),
            });
        }
    }
    Ok(tables)
}

fn finish(raw: RawTable, data: DataKind, unit: PointUnit) -> Result<RainTable, RainError> {
    let (Some(first), Some(last)) = (raw.durations.first(), raw.durations.last()) else {
        return Err(RainError::BadFile {
            line: raw.header_line,
            what: "a table without rows".to_owned(),
            rule: "It may have been cut off, save it anew".to_owned(),
        });
    };
    let served = DURATIONS_MINUTES.iter().filter(|d| *d > first && *d < last);
    if let Some(missing) = served.into_iter().find(|d| !raw.durations.contains(d)) {
        return Err(RainError::BadFile {
            line: raw.header_line,
            what: format!("the row of {missing} min is missing"),
            rule: "The file as served has every duration; it was changed, save it anew".to_owned(),
        });
    }
    let bound = raw.bound;
    let mut rows = raw.rows.clone();
    if unit == PointUnit::Inches {
        rows.iter_mut().flatten().for_each(|value| *value *= MILLIMETRES_PER_INCH);
    }
    match data {
        DataKind::Depth => RainTable::from_depths_mm(raw.frequencies.clone(), raw.durations.clone(), rows),
        DataKind::Intensity => {
            RainTable::from_intensities_mm_per_h(raw.frequencies.clone(), raw.durations.clone(), rows)
        }
    }
    .map(|table| table.of_bound(bound))
    .map_err(|error| {
        let (line, what) = in_the_file(&raw, data, unit, &error).unwrap_or((raw.header_line, error.to_string()));
        RainError::BadFile {
        line,
        what,
        rule: "Rain grows with duration and rarity, as far as the rounding of the file shows it; save the file anew if it \
               was changed"
            .to_owned(),
    }})
}

/// A value that cannot be, at its line and as the file has it.
fn in_the_file(
    raw: &RawTable,
    data: DataKind,
    unit: PointUnit,
    error: &RainError,
) -> Option<(usize, String)> {
    let RainError::BadDepth { row, column, minutes, depth_mm: _, rule } = error else { return None };
    let (kind, unit) = match (data, unit) {
        (DataKind::Depth, PointUnit::Inches) => ("depth", "in"),
        (DataKind::Depth, PointUnit::Millimetres) => ("depth", "mm"),
        (DataKind::Intensity, PointUnit::Inches) => ("intensity", "in/h"),
        (DataKind::Intensity, PointUnit::Millimetres) => ("intensity", "mm/h"),
    };
    let value = raw.rows.get(*row)?.get(*column)?;
    let what = format!(
        "the {kind} of {} min, {}, is {value} {unit}; allowed is {rule}",
        figure(*minutes),
        raw.frequencies.get(*column)?
    );
    Some((*raw.lines.get(*row)?, what))
}
