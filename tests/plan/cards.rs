//! Every formula carries its card.

/// Files whose public functions are formulas; constructors and look-ups are exempt by name.
const FORMULAS: &[(&str, &str)] = &[
    ("rate_units", include_str!("../../src/compute/plan/rate_units.rs")),
    ("lognormal", include_str!("../../src/compute/risk/lognormal.rs")),
    ("outliers", include_str!("../../src/compute/learning/outliers.rs")),
    ("settings", include_str!("../../src/compute/learning/settings.rs")),
    ("cure", include_str!("../../src/compute/calendar/cure.rs")),
    ("simulate", include_str!("../../src/compute/risk/simulate.rs")),
    ("schedule", include_str!("../../src/compute/plan/schedule.rs")),
    ("overtime", include_str!("../../src/compute/plan/overtime.rs")),
    ("rates", include_str!("../../src/compute/learning/rates.rs")),
    ("propose", include_str!("../../src/compute/learning/propose.rs")),
    ("compare", include_str!("../../src/compute/learning/compare.rs")),
];
const EXEMPT: &[&str] = &["new", "cautions", "effect", "season"];
const HEADINGS: &[&str] = &["# Formula", "# Units", "# Valid for", "# Source", "# Example"];

#[test]
fn every_formula_has_its_card() {
    let mut seen = 0;
    for (file, text) in FORMULAS {
        let mut docs = String::new();
        for line in text.lines().map(str::trim) {
            if line.starts_with("///") {
                docs.push_str(line);
                docs.push('\n');
            } else if let Some(rest) = line.strip_prefix("pub fn ") {
                let name = rest.split(['(', '<']).next().unwrap();
                if !EXEMPT.contains(&name) {
                    seen += 1;
                    for heading in HEADINGS {
                        assert!(docs.contains(heading), "{file}::{name} has no {heading}");
                    }
                }
                docs.clear();
            } else if !line.starts_with("#[") {
                docs.clear();
            }
        }
    }
    assert!(seen >= 17, "only {seen} formulas found");
}
