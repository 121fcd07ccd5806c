//! That every stored case is exercised by name.
//!
//! Reference cases that are not stored here, because nothing in the water computation answers them:
//!
//! | case | why it does not apply |
//! |---|---|
//! | `load-en1433`, `load-asme`, `load-aashto-patch` | load classes of covers: strength, not water |
//! | `units-exact`: `yd3_m3`, `lbf_N`, `psi_Pa` | volumes of concrete, forces and pressures are no units of this module |
//! | `svf-en12056-semi100`: `Q_L_Ls` | nine tenths of `Q_N_Ls` by the standard's own safety, nothing of the water |
//! | `inl-slot-grade-*`, `inl-gutter-*`, `inl-grate-grade` | gutters and inlets on grade: no channel drain has them |
//! | point file layout, line numbers | the reader finds rows and columns by their labels, never by line number |
//!
//! Cases that are stored, and that we do not reproduce as printed; the test beside each gives both numbers:
//!
//! | case | printed | ours | why |
//! |---|---|---|---|
//! | `tc-kirpich-si` | 7.19167 min | 7.18122 min | metric constant rounded to 0.0195 |
//! | `man-ipc2012-4in` | 78.2 gpm | 78.11 gpm | factor rounded to 0.0104 |
//! | `svf-novak-profile` | x/L 0.936 at u = 1.2 | 0.9675 | read without the square on x/L |
//! | `svf-beij-rect` | 0.2557 ft3/s | 0.264 ft3/s | a fitted rule for all roughness, not a profile |
//! | `svf-en12056-semi100` | 0.864 L/s | 1.024 L/s | a fitted rule for short gutters |

const SOURCES: [&str; 4] = [
    include_str!("formula_cases.rs"),
    include_str!("laws.rs"),
    include_str!("rain_cases.rs"),
    include_str!("run_cases.rs"),
];

const CASES: [&str; 7] = [
    include_str!("cases/critical.json"),
    include_str!("cases/inlets.json"),
    include_str!("cases/manning.json"),
    include_str!("cases/rainfall.json"),
    include_str!("cases/runoff.json"),
    include_str!("cases/spatially_varied.json"),
    include_str!("cases/units.json"),
];

/// Cases that one loop goes over, by how their names begin.
const FAMILIES: [&str; 5] = ["idf-fit", "man-full-1pct", "man-partfull", "svf-0", "svf-1"];

#[test]
fn every_stored_case_is_exercised_by_name() {
    let mut count = 0;
    for file in CASES {
        let cases: serde_json::Value = serde_json::from_str(file).unwrap();
        for case in cases.as_array().unwrap() {
            let id = case["id"].as_str().unwrap();
            let named = |name: &str| SOURCES.iter().any(|source| source.contains(&format!("\"{name}\"")));
            let family = FAMILIES.iter().any(|family| id.starts_with(family) && named(family));
            assert!(named(id) || family, "{id} is stored but not exercised");
            for key in ["source", "source_basis", "expected_basis"] {
                assert!(case[key].as_str().is_some_and(|text| !text.is_empty()), "{id} has no {key}");
            }
            count += 1;
        }
    }
    assert_eq!(count, 87);
}
