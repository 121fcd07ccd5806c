//! Random jobs as site notes.

use proptest::prelude::*;
use rillcast::compute::answers::Estimate;
use rillcast::domain::book::{BookRef, PriceBook};
use rillcast::wire::notes::SiteNotes;
use serde_json::{Value, json};
use std::sync::LazyLock;

pub(crate) static BOOK: LazyLock<PriceBook> = LazyLock::new(|| {
    let doc = rillcast::wire::read_document(rillcast::domain::demo::BOOK.as_bytes())
        .unwrap_or_else(|e| panic!("{e}"));
    PriceBook::check(doc).unwrap_or_else(|e| panic!("{e}"))
});

pub(crate) fn read(notes: &Value) -> SiteNotes {
    rillcast::wire::read_value(notes).unwrap_or_else(|e| panic!("{e}: {notes}"))
}

pub(crate) fn estimate(notes: &Value) -> Estimate {
    let used = BookRef { version_id: "v".to_owned(), name: "demo".to_owned(), number: 1 };
    rillcast::compute::pipeline::estimate(
        &read(notes),
        &BOOK,
        &used,
        &rillcast::domain::demo::rains().unwrap(),
    )
    .unwrap_or_else(|e| panic!("{e}: {notes}"))
}

/// A length of whole eighths of an inch, in either system; both say exactly the same.
pub(crate) fn text(eighths: i64, metric: bool) -> String {
    if metric {
        // 1/8 in is 3.175 mm.
        let thousandths = eighths * 3_175;
        format!("{}.{:03} mm", thousandths / 1000, thousandths % 1000)
    } else {
        format!("{} {}/8 in", eighths / 8, eighths % 8)
    }
}

const SYSTEMS: [&str; 3] = ["channel-4-light", "channel-6-u", "channel-8-fall"];
const SOILS: [&str; 3] = ["sand_gravel", "common_earth", "clay"];

#[derive(Debug, Clone)]
pub(crate) struct Job {
    pub(crate) runs: Vec<(i64, usize, bool, usize)>,
    pub(crate) line: i64,
    pub(crate) depth: i64,
    pub(crate) soil: usize,
}

pub(crate) fn job() -> impl Strategy<Value = Job> {
    let run = (192_i64..4_000, 0_usize..3, any::<bool>(), 0_usize..4);
    (prop::collection::vec(run, 2..5), 192_i64..6_000, 160_i64..400, 0_usize..3)
        .prop_map(|(runs, line, depth, soil)| Job { runs, line, depth, soil })
}

impl Job {
    pub(crate) fn notes(&self, metric: bool) -> Value {
        let runs: Vec<Value> = self
            .runs
            .iter()
            .enumerate()
            .map(|(i, (length, system, wheels, surface))| {
                let surface = match surface {
                    0 => json!({"kind": "bare_soil"}),
                    1 => json!({"kind": "concrete_slab", "thickness": text(32, metric)}),
                    2 => json!({"kind": "asphalt", "thickness": text(24, metric)}),
                    _ => json!({"kind": "pavers", "thickness": text(19, metric)}),
                };
                json!({
                    "id": format!("r{i}"), "legs": [{"length": text(*length, metric)}],
                    "channel_system": SYSTEMS[*system],
                    "crossing": if *wheels { "wheels" } else { "feet" }, "surface": surface,
                    "over_cut": text(16, metric),
                    "outlets": [{"kind": "bottom", "id": format!("o{i}"), "at": text(length / 2, metric)}]
                })
            })
            .collect();
        let from: Vec<Value> = (1..self.runs.len()).map(|i| json!({"outlet": format!("o{i}")})).collect();
        json!({
            "soil": SOILS[self.soil], "unit_system": "us", "climate": "hot",
            "runs": runs,
            "drain_lines": [
                {"id": "a", "from": from, "pipe": "pipe-6", "legs": [{"length": text(self.line, metric)}],
                 "depth": text(self.depth, metric), "ends": {"kind": "discharges", "to": "swale"}},
                {"id": "b", "from": [{"outlet": "o0"}], "pipe": "pipe-4", "legs": [{"length": text(self.line / 2, metric)}],
                 "depth": text(self.depth, metric), "ends": {"kind": "joins", "line": "a", "at": text(self.line / 3, metric)}}
            ]
        })
    }
}
