//! Sheets of estimates as pages: the working for the office, and what the crew takes along.

use crate::job::read;
use crate::printed::{parsed, select, text_of};
use rillcast::documents::print::Revision;
use rillcast::documents::print::estimate::{Shown, estimate};
use rillcast::documents::print::site::site_sheet;
use rillcast::wire::contract::facts::JobFact;
use scraper::Html;
use serde_json::{Value, json};

fn demo_notes() -> Value {
    serde_json::from_str(rillcast::domain::demo::NOTES).unwrap()
}

fn demo() -> Value {
    estimated_of(&demo_notes())
}

/// Notes as they are stored.
fn stored(notes: &Value) -> Value {
    serde_json::to_value(read::<rillcast::wire::notes::SiteNotes>(notes)).unwrap()
}

/// The one revision of a job.
const ALONE: Revision = Revision { own: 1, agreed: None, newest: 1 };

fn estimated_of(notes: &Value) -> Value {
    let book = rillcast::domain::book::PriceBook::check(read(
        &serde_json::from_str(rillcast::domain::demo::BOOK).unwrap(),
    ));
    let used = rillcast::domain::book::BookRef { version_id: "v".into(), name: "Demo".into(), number: 1 };
    let notes = read(notes);
    let rains = rillcast::domain::demo::rains().unwrap();
    serde_json::to_value(
        rillcast::compute::pipeline::estimate(&notes, &book.unwrap(), &used, &rains).unwrap(),
    )
    .unwrap()
}

/// The demo's job; it stands where its notes may say otherwise.
fn the_job() -> JobFact {
    read(
        &json!({"job_id": "job_x", "title": "Drains of the job", "customer": {"name": "Example Household", "phone": "555-0101"},
        "site": {"address": "16 Corrected Road", "access": "Ring first."}}),
    )
}

/// The members of this name, wherever they stand below one of the parts.
fn members<'v>(value: &'v Value, name: &str, out: &mut Vec<&'v str>) {
    match value {
        Value::Object(object) => {
            for (key, member) in object {
                match member.as_str().filter(|_| key == name) {
                    Some(text) => out.push(text),
                    None => members(member, name, out),
                }
            }
        }
        Value::Array(list) => list.iter().for_each(|v| members(v, name, out)),
        _ => {}
    }
}

#[test]
fn an_estimate_is_printed_with_every_working() {
    let answer = demo();
    let notes = stored(&demo_notes());
    let stands = Revision { own: 3, agreed: None, newest: 3 };
    let page = estimate(Shown { id: "est_1", stands, job: &the_job(), answer: &answer, notes: &notes });
    let html = parsed(&page);
    assert_eq!(select(&html, "title"), ["Estimate: Drains of the job"]);
    let text = text_of(&html);
    let mut told = Vec::new();
    for part in ["cost_lines", "labor", "price"] {
        members(&answer[part], "basis", &mut told);
    }
    for part in ["runs", "drain_lines", "earth", "totals"] {
        let quantities = &answer["layout"][part];
        match part {
            "runs" | "drain_lines" => quantities
                .as_array()
                .unwrap()
                .iter()
                .for_each(|r| members(&r["quantities"], "basis", &mut told)),
            _ => members(quantities, "basis", &mut told),
        }
    }
    members(&answer["checks"], "reason", &mut told);
    members(&answer["cautions"], "text", &mut told);
    assert!(told.len() > 150, "{}", told.len());
    for basis in told {
        let plain = basis.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(text.contains(&plain), "{plain}");
    }
    for figure in ["10,635.00 USD", "Revision 3", "est_1", "Demo version 1"] {
        assert!(text.contains(figure), "{figure}");
    }
}

#[test]
fn the_crew_gets_every_cut_depth_and_tool_and_no_price() {
    let answer = demo();
    let notes = stored(&demo_notes());
    let shown = Shown { id: "est_1", stands: ALONE, job: &the_job(), answer: &answer, notes: &notes };
    let html = parsed(&site_sheet(shown));
    assert_eq!(select(&html, ".stamp"), Vec::<String>::new());
    let stands = Revision { agreed: Some(2), newest: 2, ..ALONE };
    let out_of_date = parsed(&site_sheet(Shown { stands, ..shown }));
    assert_eq!(
        select(&out_of_date, "main > .stamp"),
        ["Out of date: this is revision 1, and revision 2 is agreed"]
    );
    let text = text_of(&html);
    let mut told = Vec::new();
    members(&answer["layout"]["cut_lists"], "mark", &mut told);
    assert!(told.len() > 20);
    told.extend([
        "Ring first.",
        "16 Corrected Road",
        "Drains of the job",
        "555-0101",
        "1.055 %",
        "1.75 yd3",
        "String line and pins",
        "Electrical work",
    ]);
    for said in &told {
        assert!(text.contains(said), "{said}");
    }
    assert_eq!(select(&html, "td.box").len(), answer["load_out"].as_array().unwrap().len());
    // 1.0938 ft below the ground are 1 ft 1 1/8 in on a tape.
    assert!(text.contains("1 0 in 1 ft 1 1/8 in 0 in -8 1/8 in"), "{text}");
    let mut prices = Vec::new();
    for name in ["cost", "unit_price", "total", "price", "stock_cost", "wage", "all_in"] {
        members(&answer, name, &mut prices);
    }
    assert!(prices.len() > 100);
    let words: Vec<&str> = text.split(|c: char| !(c.is_ascii_digit() || c == '.')).collect();
    let shown: Vec<&&str> =
        prices.iter().filter(|p| p.contains('.') && p.len() > 4 && words.contains(*p)).collect();
    assert_eq!((shown, text.contains("USD")), (Vec::new(), false));
}

/// The site sheet of the one revision of a job.
fn sheet_of(answer: &Value, notes: &Value) -> Html {
    parsed(&site_sheet(Shown { id: "est_1", stands: ALONE, job: &the_job(), answer, notes }))
}

/// The sheet has what a trench is dug and poured by: widths, sides, cuts, thicknesses, where outlets are, which concrete.
#[test]
fn the_sheet_can_be_built_from() {
    let mut notes = demo_notes();
    notes["runs"][1]["surface"] = json!({"kind": "asphalt", "thickness": "3 in"});
    let answer = estimated_of(&notes);
    let notes = stored(&notes);
    let html = sheet_of(&answer, &notes);
    let text = text_of(&html);
    for said in [
        "On top concrete slab, 4 in thick",
        "On top asphalt, 3 in thick",
        "Legs 1: 24 ft; 2: 9 ft 6 in, round a corner",
        "Outlets drive-out: through the bottom, leg 2 at 9 ft",
        "Outlets path-out: through the bottom, at 17 ft 9 in",
        "(8 in + 2 x 4 in side) x (9 in + 4 in base + 1/8 in recess) = 34 ft 2 in x 1 ft 4 in x 1 ft 1 1/8 in",
        "Saw cut, all round 2 x (34 ft 6 in + 1 ft 8 in), 4 in deep 72 ft 4 in",
        "Asphalt taken up",
        "Form boards 2 sides of",
        "Digging 78 ft long, 1.856 ft (1 ft 10 1/4 in on a tape) wide",
        "Takes outlet drive-out at the upper end",
        "Ends in line main at 42 ft",
        "Ends at swale, invert -2 ft 6 in",
        "To order: Ready-mix concrete, 4000 psi; mix: 4000 psi, 3/4 in stone, Type I cement.",
    ] {
        assert!(text.contains(said), "{said}: {text}");
    }
    let headings = select(&html, "table.figures th");
    assert_eq!(headings[..3], ["Leg", "Station", "Dig below ground"], "the depth stands beside its station");
}

/// Runs of an engine that had no dig table yet are dug by what it had, and by their notes.
#[test]
fn a_run_without_a_dig_table_is_on_the_sheet() {
    let notes = stored(&demo_notes());
    let mut answer = estimated_of(&demo_notes());
    let titles =
        |html: &Html| select(html, "h2").into_iter().filter(|t| t.starts_with("Dig ")).collect::<Vec<_>>();
    let all = titles(&sheet_of(&answer, &notes));
    assert_eq!(all.len(), 4, "{all:?}");
    for run in answer["layout"]["runs"].as_array_mut().unwrap() {
        run.as_object_mut().unwrap().remove("dig_table").unwrap();
    }
    let html = sheet_of(&answer, &notes);
    assert_eq!(titles(&html), all);
    assert!(text_of(&html).contains("through the bottom, leg 2 at 9 ft"));
}

/// What failed or warns and is the crew's to know stands on the sheet; what it costs and when offers hold does not.
#[test]
fn the_crew_reads_what_does_not_hold() {
    let mut notes = demo_notes();
    notes["runs"][0]["surface"]["thickness"] = json!("8 in");
    let answer = estimated_of(&notes);
    let notes = stored(&notes);
    let html = sheet_of(&answer, &notes);
    let told = select(&html, "ul.checks li");
    assert!(
        told[0].starts_with(
            "Failed: method reach, saw cut : `walk-behind-saw` cuts 6 in deep; 8 in is sawn: it does not go through"
        ),
        "{told:?}"
    );
    assert!(!told[0].contains("both faces"), "a slab on the ground has one: {told:?}");
    let of = |outcome: &str| {
        let checks = answer["checks"].as_array().unwrap().iter();
        checks.filter(|c| c["outcome"] == outcome).map(|c| c["reason"].as_str().unwrap()).collect::<Vec<_>>()
    };
    let (failed, warned) = (of("fail"), of("warn"));
    assert!(warned.iter().any(|w| w.contains("order_on")));
    for reason in failed.iter().chain(&warned) {
        let is_told = told.iter().any(|t| t.contains(reason));
        assert_eq!(is_told, !reason.contains("order_on"), "{reason}: {told:?}");
    }
    assert!(of("pass").iter().all(|reason| told.iter().all(|t| !t.contains(reason))));
    // Every check that is kept from the crew is one there is.
    for name in rillcast::documents::print::site::OF_THE_OFFICE {
        assert!(rillcast::compute::rules::find(name).is_some(), "{name}");
    }
}

/// A piece that no cut ends is laid as it is: a crew that sawed it to a tape would make it short.
#[test]
fn whole_pieces_have_no_mark_to_saw_at() {
    let mut notes = demo_notes();
    notes["runs"][0]["channel_system"] = json!("channel-8-fall");
    notes["runs"][0]["crossing"] = json!("feet");
    let answer = estimated_of(&notes);
    let lists = answer["layout"]["cut_lists"].as_array().unwrap();
    let metric = lists.iter().find(|l| l["code"] == "channel-8-fall").unwrap();
    let (mut whole, mut sawn) = (0, 0);
    for row in metric["sheet"].as_array().unwrap() {
        let cuts = row["cuts"].as_u64().unwrap();
        for (i, piece) in row["pieces"].as_array().unwrap().iter().enumerate() {
            let mark = piece["mark"].as_str().unwrap();
            if cuts == 0 {
                whole += 1;
                assert_eq!(mark, "whole");
            } else if (i as u64) < cuts {
                sawn += 1;
                assert!(mark.ends_with(" in") || mark.ends_with(" ft"), "{mark}");
            }
        }
    }
    assert!(whole > 0 && sawn > 0, "{whole} {sawn}");
    let notes = stored(&notes);
    let mut old = answer.clone();
    for list in old["layout"]["cut_lists"].as_array_mut().unwrap() {
        for row in list["sheet"].as_array_mut().unwrap() {
            for piece in row["pieces"].as_array_mut().unwrap() {
                if piece["mark"] == "whole" {
                    piece["mark"] = json!("3 ft 3 5/16 in");
                }
            }
        }
    }
    let page = |answer: &Value| {
        site_sheet(Shown { id: "est_1", stands: ALONE, job: &the_job(), answer, notes: &notes })
    };
    assert!(select(&parsed(&page(&answer)), "td[data-label=Mark]").contains(&"whole".to_owned()));
    assert_eq!(page(&old), page(&answer), "an estimate of old reads the same");
}

/// On several pour days the crew reads what is poured when, by which way, and how much of it is ordered; also where days differ in it.
#[test]
fn pour_days_are_told_day_by_day() {
    let run = |id: &str, length: &str, day: i64, crossing: &str| {
        json!({"id": id, "legs": [{"length": length}], "channel_system": "channel-6-u", "crossing": crossing, "pour_days": [day],
            "outlets": [{"kind": "end", "id": format!("{id}-out"), "at": "finish"}]})
    };
    let answer = estimated_of(
        &json!({"soil": "clay", "runs": [run("a", "100 ft", 1, "wheels"), run("b", "20 ft", 2, "feet")]}),
    );
    assert_eq!(answer["concrete"].get("chosen"), None, "the days differ in their way");
    let job = the_job();
    let shown = Shown { id: "est_1", stands: ALONE, job: &job, answer: &answer, notes: &Value::Null };
    for page in [site_sheet(shown), estimate(shown)] {
        let text = text_of(&parsed(&page));
        for day in answer["concrete"]["days"].as_array().unwrap() {
            let way = day["ways"].as_array().unwrap().iter().find(|w| w["code"] == day["chosen"]).unwrap();
            let of = day["pours"][0]["of"].as_str().unwrap();
            let (waste, order) = (&day["with_waste"], &way["order"]);
            let row = format!(
                "{} {of} {} {} {} {} {} {}",
                day["day"],
                waste["value"].as_str().unwrap(),
                waste["unit"].as_str().unwrap(),
                day["chosen"].as_str().unwrap(),
                order["value"].as_str().unwrap(),
                order["unit"].as_str().unwrap(),
                way["loads"]
            );
            assert!(text.contains(&row), "{row}: {text}");
        }
        assert!(!text.contains("Chosen: ,"), "{text}");
    }
}

/// An estimate of an engine that had less is printed with what it has.
#[test]
fn what_an_old_answer_lacks_is_left_out() {
    for answer in [
        json!({}),
        json!({"title": "Old <b>", "layout": {"runs": [{"run": "a"}]}, "labor": null, "concrete": []}),
    ] {
        let shown =
            Shown { id: "est_1", stands: ALONE, job: &the_job(), answer: &answer, notes: &Value::Null };
        for page in [estimate(shown), site_sheet(shown)] {
            let html = parsed(&page);
            assert_eq!(select(&html, "td"), Vec::<String>::new());
        }
    }
}
