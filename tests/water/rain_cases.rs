//! Rain: published tables, interpolation, formulas, and the point file in every shape it comes in.

use crate::cases::{Case, Cases, Checked};
use rillcast::compute::rain::{
    DataKind, Frequency, IntensityFormula, PointUnit, Rain, RainError, RainTable, Series, formula_intensity,
    intensity_from_depth_mm_per_h, read_point_file, yearly_chance,
};
use serde_json::Value;

fn cases() -> Cases {
    Cases::read(include_str!("cases/rainfall.json"))
}

fn tables() -> Value {
    serde_json::from_str(include_str!("cases/rainfall_tables.json")).expect("valid")
}

fn list(from: &Value) -> Vec<f64> {
    from.as_array().expect("a list").iter().map(|v| v.as_f64().expect("a number")).collect()
}

fn rows(table: &Value) -> Vec<Vec<f64>> {
    table["values"].as_array().expect("rows").iter().map(list).collect()
}

fn table_of(table: &Value) -> Result<RainTable, RainError> {
    let frequencies = list(&table["ARI_years"]).into_iter().map(Frequency::RecurrenceYears).collect();
    let depths = rows(table).iter().map(|row| row.iter().map(|v| v * 25.4).collect()).collect();
    RainTable::from_depths_mm(frequencies, list(&table["duration_min"]), depths)
}

fn one_column(case: &Case) -> Result<RainTable, RainError> {
    let durations = case.inputs("duration_min");
    let ten = vec![Frequency::RecurrenceYears(10.0)];
    let values: Vec<Vec<f64>> = case.inputs("value").iter().map(|v| vec![v * 25.4]).collect();
    if case.inputs["value_unit"].as_str() == Some("in") {
        RainTable::from_depths_mm(ten, durations, values)
    } else {
        RainTable::from_intensities_mm_per_h(ten, durations, values)
    }
}

#[test]
fn depths_and_intensities() -> Checked {
    let all = cases();
    let case = all.get("idf-depth-to-int");
    let found: Vec<f64> = case
        .inputs("depth_in")
        .iter()
        .zip(case.inputs("duration_min"))
        .map(|(depth, t)| intensity_from_depth_mm_per_h(depth * 25.4, t) / 25.4)
        .collect();
    case.all_near("i_in_per_hr", &found);
    let ten = Frequency::RecurrenceYears(10.0);
    let case = all.get("idf-loglog-champaign10");
    let table = one_column(case)?;
    let at: Result<Vec<f64>, RainError> =
        case.inputs("at_min").iter().map(|t| table.intensity_mm_per_h(*t, ten).map(|i| i / 25.4)).collect();
    case.all_near("value", &at?);
    let case = all.get("idf-loglog-depth-champaign10");
    let table = one_column(case)?;
    let at: Result<Vec<f64>, RainError> =
        case.inputs("at_min").iter().map(|t| table.depth_mm(*t, ten).map(|p| p / 25.4)).collect();
    case.all_near("value", &at?);
    Ok(())
}

#[test]
fn formulas_give_what_was_fitted_elsewhere() -> Checked {
    let all = cases();
    for case in all.starting("idf-fit") {
        let formula =
            IntensityFormula::from_inches(case.expected("a"), case.expected("b_min"), case.expected("c"))?;
        let fitted: Vec<f64> =
            case.inputs("duration_min").iter().map(|t| formula_intensity(&formula, *t) / 25.4).collect();
        case.all_near("i_fit_in_per_hr", &fitted);
    }
    let case = all.get("idf-aep-from-ari");
    case.all_near("AEP", &case.inputs("ARI_yr").iter().map(|y| yearly_chance(*y)).collect::<Vec<f64>>());
    assert!(IntensityFormula::new(-1.0, 5.0, 0.8).is_err());
    Ok(())
}

#[test]
fn a_table_refuses_what_it_does_not_cover() -> Checked {
    for table in tables()["tables"].as_array().ok_or("tables")? {
        let rain = table_of(table)?;
        let durations = rain.durations_minutes().to_vec();
        let ten = Frequency::RecurrenceYears(10.0);
        for (row, t) in rain.depths_mm().iter().zip(&durations) {
            let position = rain.frequencies().iter().position(|f| f.is_same(ten)).ok_or("ten years")?;
            assert_eq!(rain.depth_mm(*t, ten)?, row[position]);
        }
        let last = durations.last().copied().ok_or("rows")?;
        for t in [4.999, last * 1.0001] {
            let error = rain.depth_mm(t, ten).expect_err("outside");
            assert!(matches!(error, RainError::DurationOutsideTable { .. }));
        }
        let error = rain.depth_mm(5.0, Frequency::RecurrenceYears(20.0)).expect_err("no such column");
        assert!(error.to_string().contains("10-year") && error.to_string().contains("1000-year"), "{error}");
        assert!(rain.depth_mm(5.0, Frequency::OneIn(10.0)).is_err());
        assert!(Rain::Table(rain, ten).intensity_mm_per_h(f64::NAN).is_err());
    }
    assert!(Rain::given(f64::INFINITY).is_err());
    Ok(())
}

/// The file as the server writes it, from a table of the reference.
fn served(
    table: &Value,
    unit: &str,
    scale: impl Fn(f64, f64) -> String,
    annual: bool,
    bounds: bool,
) -> String {
    let labels: Vec<&str> =
        table["duration_label"].as_array().expect("labels").iter().filter_map(Value::as_str).collect();
    let minutes = list(&table["duration_min"]);
    let years = list(&table["ARI_years"]);
    let (head, columns): (&str, Vec<String>) = if annual {
        ("by duration for AEP:", years.iter().skip(1).map(|y| format!("'1/{y}")).collect())
    } else {
        ("by duration for ARI (years):", years.iter().map(f64::to_string).collect())
    };
    let kind = if unit.contains("hour") { "intensity" } else { "depth" };
    let series = if annual { "Annual maximum" } else { "Partial duration" };
    let mut text = format!(
        "Point precipitation frequency estimates ({unit})\nNOAA Atlas 14, Volume 2, Version 3\n\
         Data type: Precipitation {kind}\nTime series type: {series}\nProject area: Ohio River Basin\n\
         Location name (map): Somewhere, Illinois, USA\nStation Name: -\nLatitude: 40.0962 Degree\n\
         Longitude: -88.2574 Degree\nElevation (USGS): 755 ft\n\n\n"
    );
    let titles: &[(&str, f64)] = if bounds {
        &[
            ("PRECIPITATION FREQUENCY ESTIMATES", 1.0),
            ("PRECIPITATION FREQUENCY ESTIMATES AT UPPER BOUND OF 90% CONFIDENCE INTERVAL", 1.1),
            ("PRECIPITATION FREQUENCY ESTIMATES AT LOWER BOUND OF 90% CONFIDENCE INTERVAL", 0.9),
        ]
    } else {
        &[("PRECIPITATION FREQUENCY ESTIMATES", 1.0)]
    };
    for (title, factor) in titles {
        text.push_str(&format!("{title}\n{head}, {}\n", columns.join(",")));
        for ((label, t), row) in labels.iter().zip(&minutes).zip(rows(table)) {
            let skip = usize::from(annual);
            let values: Vec<String> = row.iter().skip(skip).map(|v| scale(v * factor, *t)).collect();
            text.push_str(&format!("{label}:, {}\n", values.join(",")));
        }
        text.push('\n');
    }
    text.push_str("Date/time (GMT):  Mon Jun 19 12:00:00 2023\npyRunTime: 0.02\n");
    text
}

/// The same file after a spreadsheet: padded, without trailing zeros, colons, header label and footer.
fn resaved(text: &str) -> String {
    let body = text.split("Date/time").next().unwrap_or_default();
    body.lines()
        .map(|line| {
            let mut cells: Vec<String> = line.split(',').map(str::to_owned).collect();
            if cells[0].starts_with("by duration for") {
                cells.iter_mut().for_each(|cell| *cell = cell.trim().to_owned());
                cells[0].clear();
            }
            let is_row = ["-min:", "-hr:", "-day:"].iter().any(|end| cells[0].ends_with(end));
            if is_row {
                cells[0] = cells[0].trim_end_matches(':').to_owned();
                for cell in cells.iter_mut().skip(1) {
                    *cell = cell.trim().parse::<f64>().map_or(cell.clone(), |v| v.to_string());
                }
            }
            while cells.len() < 11 {
                cells.push(String::new());
            }
            cells.join(",") + "\r\n"
        })
        .collect()
}

#[test]
fn the_point_file_is_read_in_all_its_shapes() -> Checked {
    let reference = tables();
    let champaign = &reference["tables"][0];
    let expected = table_of(champaign)?;
    let plain = served(champaign, "inches", |v, _| format!("{v:.3}"), false, false);
    let file = read_point_file(&plain)?;
    assert_eq!(
        (file.data, file.unit, file.series),
        (DataKind::Depth, PointUnit::Inches, Series::PartialDuration)
    );
    assert_eq!((file.volume.as_deref(), file.version.as_deref()), (Some("2"), Some("3")));
    assert_eq!((file.latitude_degrees, file.longitude_degrees), (Some(40.0962), Some(-88.2574)));
    assert_eq!(file.location.as_deref(), Some("Somewhere, Illinois, USA"));
    assert_eq!((file.station.as_deref(), file.elevation.as_deref()), (None, Some("755 ft")));
    assert_eq!(file.mean, expected);
    assert!(file.upper.is_none() && file.lower.is_none());
    // Re-saved by a spreadsheet, it says the same.
    assert_eq!(read_point_file(&resaved(&plain))?, file);
    // Millimetres, and intensities in both units.
    let near = |table: &RainTable, tolerance: f64| {
        for (got, wanted) in table.depths_mm().iter().flatten().zip(expected.depths_mm().iter().flatten()) {
            assert!((got / wanted - 1.0).abs() < tolerance, "{got} {wanted}");
        }
    };
    let metric =
        read_point_file(&served(champaign, "millimeters", |v, _| format!("{}", v * 25.4), false, false))?;
    assert_eq!(metric.unit, PointUnit::Millimetres);
    near(&metric.mean, 1e-12);
    for (unit, factor) in [("inches/hour", 1.0), ("millimeters/hour", 25.4)] {
        let text = served(champaign, unit, |v, t| format!("{}", v * factor * 60.0 / t), false, false);
        let file = read_point_file(&text)?;
        assert_eq!(file.data, DataKind::Intensity);
        near(&file.mean, 1e-12);
        near(&read_point_file(&resaved(&text))?.mean, 1e-12);
    }
    // Intensities in whole millimetres an hour, as far as they are not printed as none: what rounding does to the depths of long
    // durations is no fault of the file, a value that rounding does not explain is.
    let whole = |v: f64, t: f64| format!("{:.0}", (v * 25.4 * 60.0 / t).round().max(1.0));
    let text = served(champaign, "millimeters/hour", whole, false, false);
    assert!(read_point_file(&text).is_ok());
    let wrong = text.replacen("3-day:, ", "3-day:, 9", 1);
    assert!(read_point_file(&wrong).is_err());
    // Annual maximum: chances instead of years, no one-year column.
    let text = served(champaign, "inches", |v, _| format!("{v:.3}"), true, false);
    for text in [text.clone(), resaved(&text)] {
        let file = read_point_file(&text)?;
        assert_eq!(file.series, Series::AnnualMaximum);
        assert_eq!(file.mean.frequencies().len(), 9);
        assert!((file.mean.depth_mm(5.0, Frequency::OneIn(10.0))? - 0.647 * 25.4).abs() < 1e-12);
        assert!(file.mean.depth_mm(5.0, Frequency::RecurrenceYears(10.0)).is_err());
    }
    // With bounds.
    let text = served(champaign, "inches", |v, _| format!("{v:.4}"), false, true);
    for text in [text.clone(), resaved(&text)] {
        let file = read_point_file(&text)?;
        let at = |table: &Option<RainTable>| {
            table
                .as_ref()
                .ok_or("bound")?
                .depth_mm(60.0, Frequency::RecurrenceYears(10.0))
                .map_err(|_| "depth")
        };
        assert!((at(&file.upper)? / (2.17 * 25.4 * 1.1) - 1.0).abs() < 1e-4);
        assert!((at(&file.lower)? / (2.17 * 25.4 * 0.9) - 1.0).abs() < 1e-4);
    }
    Ok(())
}

#[test]
fn replies_that_are_no_table_say_so() {
    let reference = tables();
    let text = served(&reference["tables"][0], "inches", |v, _| format!("{v:.3}"), false, false);
    let error =
        read_point_file("Error 3.0: Selected location is not within a project area").expect_err("none");
    assert!(matches!(error, RainError::NoCoverage { .. }), "{error}");
    // Cut anywhere before the end of the table it is refused, never read short.
    let table_end = text.find("Date/time").expect("footer");
    let last_value = text[..table_end].trim_end().rfind(',').expect("values");
    for cut in (0..last_value).filter(|cut| text.is_char_boundary(*cut)) {
        let error = read_point_file(&text[..cut]).expect_err("cut");
        assert!(matches!(error, RainError::BadFile { .. }), "{cut}: {error}");
    }
    let swapped = text.replace("(inches)", "(furlongs)");
    assert!(read_point_file(&swapped).expect_err("unit").to_string().contains("inches/hour"));
    let kinds = text.replace("Precipitation depth", "Precipitation intensity");
    assert!(read_point_file(&kinds).is_err());
    assert!(
        read_point_file(&text.replace("0.409", "0.x09")).expect_err("number").to_string().contains("5-min")
    );
}
