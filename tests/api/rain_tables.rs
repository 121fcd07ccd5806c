//! Rain tables: stored, imported as served, read between their durations.

use crate::app::{Answer, Ask, TestApp};
use axum::http::Method;
use rillcast::domain::demo::RAIN_FILE;
use serde_json::{Value, json};

async fn import(app: &TestApp, query: &str, text: &str) -> Answer {
    let ask = Ask::new(Method::POST, &format!("/v1/rain-table-imports?{query}"))
        .typed("text/csv", text)
        .key(&app.key);
    app.send(ask).await
}

/// The Champaign file as the server writes it, from its published values.
///
/// Source: NOAA Atlas 14 volume 2 version 3, Precipitation Frequency Data Server export (read; US government work).
fn champaign(data: &str, unit: &str, value: impl Fn(f64, f64) -> f64, series: &str, heading: &str) -> String {
    let all: Value = serde_json::from_str(include_str!("../water/cases/rainfall_tables.json")).unwrap();
    let table = &all["tables"][0];
    let mut text = format!(
        "Point precipitation frequency estimates ({unit})\nNOAA Atlas 14 Volume 2 Version 3\nData type: Precipitation {data}\n\
         Time series type: {series}\nProject area: Ohio River Basin\nLocation name (map): Champaign, Illinois, USA\n\
         Station Name: -\nLatitude: 40.0962 Degree\nLongitude: -88.2574 Degree\nElevation (USGS): 755 ft\n\n\n\
         PRECIPITATION FREQUENCY ESTIMATES\nby duration for {heading}\n"
    );
    for ((label, minutes), row) in table["duration_label"]
        .as_array()
        .unwrap()
        .iter()
        .zip(table["duration_min"].as_array().unwrap())
        .zip(table["values"].as_array().unwrap())
    {
        let minutes = minutes.as_f64().unwrap();
        let cells: Vec<String> = row
            .as_array()
            .unwrap()
            .iter()
            .map(|v| format!("{:.3}", value(v.as_f64().unwrap(), minutes)))
            .collect();
        text.push_str(&format!("{}:, {}\n", label.as_str().unwrap().trim_end_matches(':'), cells.join(",")));
    }
    text + "\nDate/time (GMT):  Mon Jun 19 19:39:12 2023\n"
}

const ARI: &str = "ARI (years):, 1,2,5,10,25,50,100,200,500,1000";

#[tokio::test]
async fn the_published_table_is_read_as_it_is_served() {
    let app = TestApp::start().await;
    let text = champaign("depth", "inches", |v, _| v, "Partial duration", ARI);
    let made = import(&app, "code=champaign", &text).await.ok(201).json();
    assert_eq!(made["table"]["name"], "Champaign, Illinois, USA");
    assert_eq!(made["table"]["values"], "depth_in");
    let read = app
        .get("/v1/rain-tables/champaign/intensity?duration=5%20min&return_period_years=10")
        .await
        .ok(200)
        .json();
    // 0.647 in in 5 min (read): 7.764 in/h.
    assert_eq!(read["depth"], json!({"value": "0.647", "unit": "in"}));
    assert_eq!(read["intensity"], json!({"value": "7.764", "unit": "in_per_hr"}));
    // A storm in the notes may name it.
    let notes = json!({"runs": [{"id": "a", "legs": [{"length": "40 ft"}], "channel_system": "channel-6-u", "crossing": "feet",
        "outlets": [{"kind": "end", "id": "a-out", "at": "finish"}]}],
        "storm": {"return_period_years": 10, "rain": {"kind": "table", "table": "champaign"}},
        "catchments": [{"id": "x", "surfaces": [{"cover": "concrete", "area": "500 ft2"}], "reaches": [{"run": "a"}]}]});
    let answer = app.post("/v1/calculators/flow-check", &json!({"notes": notes})).await.ok(200).json();
    assert_eq!(answer["water"]["catchments"][0]["intensity"]["value"], "7.764");
    // A period it does not have is refused with those it has.
    let mut other = notes.clone();
    other["storm"]["return_period_years"] = json!(7);
    let told = app
        .post("/v1/calculators/flow-check", &json!({"notes": other}))
        .await
        .problem(422, "validation-failed");
    assert_eq!(told["errors"][0]["pointer"], "#/notes/storm/return_period_years");
    assert!(told["errors"][0]["allowed"].as_array().unwrap().contains(&json!("25")));
    // So is a time of concentration beyond it, and a storm without a period.
    let mut slow = notes.clone();
    slow["catchments"][0]["path"] =
        json!([{"kind": "shallow", "length": "9000 ft", "fall_pct": "0.0001", "velocity_factor": "0.2"}]);
    let told = app
        .post("/v1/calculators/flow-check", &json!({"notes": slow}))
        .await
        .problem(422, "validation-failed");
    assert_eq!(told["errors"][0]["code"], "duration_outside_rain_table", "{told}");
    let mut none = notes;
    none["storm"].as_object_mut().unwrap().remove("return_period_years");
    let told = app
        .post("/v1/calculators/flow-check", &json!({"notes": none}))
        .await
        .problem(422, "validation-failed");
    assert_eq!(told["errors"][0]["pointer"], "#/notes/storm/return_period_years");
}

#[tokio::test]
async fn depth_and_intensity_inches_and_millimetres_give_the_same_rain() {
    let app = TestApp::start().await;
    let at = |v: &Value| v["intensity"]["value"].as_str().unwrap().parse::<f64>().unwrap();
    let mut found = Vec::new();
    for (code, text, in_mm) in [
        ("di", champaign("depth", "inches", |v, _| v, "Partial duration", ARI), 25.4),
        ("dm", champaign("depth", "millimeters", |v, _| v * 25.4, "Partial duration", ARI), 1.0),
        ("ii", champaign("intensity", "inches/hour", |v, t| v * 60.0 / t, "Partial duration", ARI), 25.4),
        (
            "im",
            champaign("intensity", "millimeters/hour", |v, t| v * 60.0 / t * 25.4, "Partial duration", ARI),
            1.0,
        ),
    ] {
        import(&app, &format!("code={code}"), &text).await.ok(201);
        let path = format!("/v1/rain-tables/{code}/intensity?duration=12%20min&return_period_years=25");
        found.push(at(&app.get(&path).await.ok(200).json()) * in_mm);
    }
    for other in &found {
        assert!((other / found[0] - 1.0).abs() < 1e-3, "{found:?}");
    }
}

#[tokio::test]
async fn annual_maximum_series_bounds_and_spreadsheet_saves_are_read() {
    let app = TestApp::start().await;
    let annual = champaign(
        "depth",
        "inches",
        |v, _| v,
        "Annual maximum",
        "AEP:, 1/2,1/5,1/10,1/25,1/50,1/100,1/200,1/400,1/500,1/1000",
    );
    let made = import(&app, "code=annual", &annual).await.ok(201).json();
    assert_eq!(made["table"]["series"], "annual_maximum");
    assert_eq!(made["table"]["return_periods"][0], 2);
    // Three tables in one file.
    let mean = champaign("depth", "inches", |v, _| v, "Partial duration", ARI);
    let rows =
        |text: &str| text[text.find("by duration").unwrap()..text.find("\nDate/time").unwrap()].to_owned();
    let upper = champaign("depth", "inches", |v, _| v * 1.1, "Partial duration", ARI);
    let lower = champaign("depth", "inches", |v, _| v * 0.9, "Partial duration", ARI);
    let bounds = format!(
        "{}\n\nPRECIPITATION FREQUENCY ESTIMATES UPPER BOUND OF 90% CONFIDENCE INTERVAL\n{}\n\n\
         PRECIPITATION FREQUENCY ESTIMATES LOWER BOUND OF 90% CONFIDENCE INTERVAL\n{}\n",
        mean.trim_end(),
        rows(&upper),
        rows(&lower)
    );
    let made = import(&app, "code=below&bound=lower", &bounds).await.ok(201).json();
    // 0.9 · 0.647 in, to the three decimals of the file.
    assert_eq!(made["table"]["rows"][0]["values"][3], "0.582");
    // It is told apart from the estimates wherever it is shown, and where it is used.
    let said = "lower bound of the 90 % confidence interval";
    assert_eq!(made["table"]["bound"], "lower");
    assert_eq!(made["table"]["name"], format!("Champaign, Illinois, USA, {said}"));
    assert!(made["table"]["source"].as_str().unwrap().ends_with(said), "{made}");
    let listed = app.get("/v1/rain-tables").await.ok(200).json();
    let mut items = listed["items"].as_array().unwrap().iter();
    assert!(items.any(|t| t["code"] == "below" && t["name"] == made["table"]["name"]), "{listed}");
    let at = "intensity?duration=5%20min&return_period_years=10";
    let read = app.get(&format!("/v1/rain-tables/below/{at}")).await.ok(200).json();
    assert!(read["basis"].as_str().unwrap().contains(said), "{read}");
    let notes = json!({"runs": [{"id": "a", "legs": [{"length": "40 ft"}], "channel_system": "channel-6-u", "crossing": "feet",
        "outlets": [{"kind": "end", "id": "a-out", "at": "finish"}]}],
        "storm": {"return_period_years": 10, "rain": {"kind": "table", "table": "below"}},
        "catchments": [{"id": "x", "surfaces": [{"cover": "concrete", "area": "500 ft2"}], "reaches": [{"run": "a"}]}]});
    let answer = app.post("/v1/calculators/flow-check", &json!({"notes": notes})).await.ok(200).json();
    let rain = answer["water"]["rain"].as_str().unwrap();
    assert!(rain.starts_with(&format!("rain table `below` ({said}), 10-year")), "{rain}");
    // A name that the office gives stands as given; the rest tells.
    let named = import(&app, "code=named&bound=lower&name=Yard", &bounds).await.ok(201).json();
    assert_eq!((&named["table"]["name"], &named["table"]["bound"]), (&json!("Yard"), &json!("lower")));
    let made = import(&app, "code=bounds&bound=upper", &bounds).await.ok(201).json();
    assert_eq!(made["table"]["rows"][0]["values"][3], "0.712");
    let made = import(&app, "code=mean&bound=mean", &bounds).await.ok(201).json();
    assert!(made["table"].get("bound").is_none(), "{made}");
    assert_eq!(made["table"]["name"], "Champaign, Illinois, USA");
    assert_eq!(made["table"]["rows"][0]["values"][3], "0.647");
    // What a spreadsheet leaves of it: padding commas, no trailing zeros.
    let shorter =
        |cell: &str| if cell.contains('.') { cell.trim_end_matches('0').to_owned() } else { cell.to_owned() };
    let saved: String =
        mean.lines().map(|l| l.split(',').map(shorter).collect::<Vec<_>>().join(",") + ",,,\n").collect();
    import(&app, "code=saved", &saved).await.ok(201);
}

#[tokio::test]
async fn what_is_no_rain_file_is_refused_with_the_reason() {
    let app = TestApp::start().await;
    let whole = champaign("depth", "inches", |v, _| v, "Partial duration", ARI);
    let cut = &whole[..whole.find("24-hr").unwrap()];
    for (text, said) in [
        ("error: the selected location is not within a project area\n".to_owned(), "outside the projects"),
        (cut.to_owned(), "cut off"),
        ("<html><body>busy</body></html>".to_owned(), ""),
        (String::new(), ""),
        (whole.replace("0.647", "0.6x7"), "line"),
        (whole.replace("0.647", "-0.647"), ""),
        // Less for a rarer rain, and a row left out in the middle.
        (whole.replace("0.647", "0.100"), "more frequent rain"),
        (
            whole.lines().filter(|l| !l.starts_with("30-min")).map(|l| format!("{l}\n")).collect(),
            "30 min is missing",
        ),
    ] {
        let told = import(&app, "code=bad", &text).await.problem(422, "not-a-rain-file");
        assert!(told["detail"].as_str().unwrap().contains(said), "{told}");
    }
    assert_eq!(app.get("/v1/rain-tables/bad").await.status, 404);
    import(&app, "", &whole).await.problem(400, "bad-query");
    import(&app, "code=No%20Code", &whole).await.problem(400, "bad-query");
    import(&app, "code=ok&bound=best", &whole).await.problem(400, "bad-query");
    import(&app, "code=ok&bound=upper", &whole).await.problem(400, "bad-query");
}

#[tokio::test]
async fn durations_are_taken_and_told_as_they_are_asked_for() {
    let app = TestApp::start().await;
    let text = champaign("depth", "inches", |v, _| v, "Partial duration", ARI);
    import(&app, "code=champaign", &text).await.ok(201);
    let ask = |duration: &str| {
        format!("/v1/rain-tables/champaign/intensity?duration={duration}&return_period_years=10")
    };
    let read = app.get(&ask("18.79%20min")).await.ok(200).json();
    assert_eq!(read["duration"], json!({"value": "18.79", "unit": "min"}));
    let basis = read["basis"].as_str().unwrap();
    // ln(18.79 / 15) / ln(2) = 0.3250: whole seconds would give 0.3245.
    assert!(
        basis.contains("in 15 min and ") && basis.contains("ln(18.79/15) / ln(30/15) = 0.3250"),
        "{basis}"
    );
    let told = app.get(&ask("10/3%20min")).await.problem(400, "bad-query");
    let detail = told["errors"][0]["detail"].as_str().unwrap();
    assert!(
        detail.starts_with(
            "a duration of 3.3333 min lies outside the rain table, which runs from 5 to 86400 min"
        ),
        "{detail}"
    );
}

#[tokio::test]
async fn a_value_that_cannot_be_is_told_at_its_line_and_in_the_unit_of_the_file() {
    let app = TestApp::start().await;
    for (unit, size, bad, said) in [
        ("inches", 1.0, "-0.647", "the depth of 5 min, 10-year recurrence, is -0.647 in; allowed is above 0"),
        (
            "millimeters",
            25.4,
            "-16.434",
            "the depth of 5 min, 10-year recurrence, is -16.434 mm; allowed is above 0",
        ),
    ] {
        let text = champaign("depth", unit, |v, _| v * size, "Partial duration", ARI);
        let text = text.replacen(&bad[1..], bad, 1);
        let line = text.lines().position(|l| l.contains(bad)).unwrap() + 1;
        let told = import(&app, "code=bad", &text).await.problem(422, "not-a-rain-file");
        let detail = told["detail"].as_str().unwrap();
        assert!(detail.contains(&format!("line {line} of the rain file: {said}")), "{detail}");
    }
}

#[tokio::test]
async fn a_table_never_changes_and_its_faults_are_told_at_once() {
    let app = TestApp::start().await;
    let table = json!({"code": "own", "name": "Own", "source": "gauge", "series": "partial_duration", "values": "depth_mm",
        "return_periods": [2, 10], "rows": [{"duration": "5 min", "values": ["8", "12"]}, {"duration": "1 hr", "values": ["21", "35.5"]}]});
    app.post("/v1/rain-tables", &table).await.ok(201);
    // The same again changes nothing; another one under the same code is refused.
    app.post("/v1/rain-tables", &table).await.ok(200);
    let mut other = table.clone();
    other["rows"][0]["values"][0] = json!("9");
    app.post("/v1/rain-tables", &other).await.problem(409, "conflict");
    let kept = app.get("/v1/rain-tables/own").await.ok(200).json();
    assert_eq!(kept["table"]["rows"][0]["values"][0], "8");
    let wrong = json!({"code": "wrong", "name": "W", "source": "x", "series": "partial_duration", "values": "depth_mm",
        "return_periods": [2, 2], "rows": [{"duration": "1 hr", "values": ["8", "12"]}, {"duration": "5 min", "values": ["21"]}]});
    let told = app.post("/v1/rain-tables", &wrong).await.problem(422, "validation-failed");
    let pointers: Vec<&str> =
        told["errors"].as_array().unwrap().iter().map(|e| e["pointer"].as_str().unwrap()).collect();
    assert_eq!(pointers, ["#/rows/1/duration", "#/rows/1/values", "#/return_periods/1"]);
    let mut shrinking = table.clone();
    shrinking["code"] = json!("shrinking");
    shrinking["rows"][1]["values"] = json!(["7", "35"]);
    let told = app.post("/v1/rain-tables", &shrinking).await.problem(422, "validation-failed");
    assert_eq!(told["errors"][0]["pointer"], "#/rows/1/values/0");
    // A rarer rain that is less, an intensity that rises, a certainty: each at its place.
    let odd = json!({"code": "odd", "name": "O", "source": "x", "series": "annual_maximum", "values": "mm_per_hr",
        "return_periods": [1, 10], "rows": [{"duration": "5 min", "values": ["100", "90"]}, {"duration": "1 hr", "values": ["120", "0"]}]});
    let told = app.post("/v1/rain-tables", &odd).await.problem(422, "validation-failed");
    let pointers: Vec<&str> =
        told["errors"].as_array().unwrap().iter().map(|e| e["pointer"].as_str().unwrap()).collect();
    for expected in ["#/return_periods/0", "#/rows/0/values/1", "#/rows/1/values/0", "#/rows/1/values/1"] {
        assert!(pointers.contains(&expected), "{expected} in {pointers:?}");
    }
    // Intensities whose depths shrink: 8.3 mm in 5 min, then 2 mm in an hour.
    let odd = json!({"code": "odd", "name": "O", "source": "x", "series": "partial_duration", "values": "mm_per_hr",
        "return_periods": [10], "rows": [{"duration": "5 min", "values": ["100"]}, {"duration": "1 hr", "values": ["2"]}]});
    let told = app.post("/v1/rain-tables", &odd).await.problem(422, "validation-failed");
    assert_eq!(told["errors"][0]["code"], "rain_table");
    // Reading outside what it has.
    let base = "/v1/rain-tables/own/intensity";
    let told =
        app.get(&format!("{base}?duration=5%20min&return_period_years=5")).await.problem(400, "bad-query");
    assert_eq!(told["errors"][0]["allowed"], json!(["2", "10"]));
    app.get(&format!("{base}?duration=2%20hr&return_period_years=10")).await.problem(400, "bad-query");
    app.get(&format!("{base}?duration=5&return_period_years=10")).await.problem(400, "bad-query");
    app.get(base).await.problem(400, "bad-query");
    app.get("/v1/rain-tables/none/intensity?duration=5%20min&return_period_years=10")
        .await
        .problem(404, "not-found");
}

#[tokio::test]
async fn the_example_file_is_the_demo_table_and_an_estimate_made_with_it_is_the_same_after_a_restart() {
    let app = TestApp::start().await;
    import(&app, "code=again", RAIN_FILE).await.ok(201);
    let value =
        |code: &str| format!("/v1/rain-tables/{code}/intensity?duration=7%20min&return_period_years=10");
    let one = app.get(&value("again")).await.ok(200).json();
    let two = app.get(&value("demo-valley")).await.ok(200).json();
    assert_eq!(one["intensity"], two["intensity"]);
    let made = app.post(&format!("/v1/jobs/{}/estimates", app.job), &json!({})).await.ok(201).json();
    assert!(made["estimate"]["water"]["rain"].as_str().unwrap().contains("demo-valley"));
    let id = made["id"].as_str().unwrap().to_owned();
    let app = app.restart().await;
    let again = app.act(&format!("/v1/estimates/{id}/recompute"), "*").await.ok(200).json();
    assert_eq!(again["same"], true);
}
