//! Every formula carries its whole card.

use std::path::{Path, PathBuf};

const PARTS: [&str; 5] = ["# Formula", "# Units", "# Valid for", "# Source", "# Example"];

fn sources(dir: &Path, out: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(dir).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            sources(&path, out);
        } else if path.extension().is_some_and(|e| e == "rs") {
            out.push(path);
        }
    }
}

#[test]
fn public_formulas_have_all_five_parts() {
    let mut files = Vec::new();
    sources(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src/compute"), &mut files);
    let mut cards = 0;
    for file in files {
        let text = std::fs::read_to_string(&file).unwrap();
        let mut doc = String::new();
        for line in text.lines() {
            let line = line.trim_start();
            if let Some(rest) = line.strip_prefix("///") {
                doc.push_str(rest);
                doc.push('\n');
                continue;
            }
            if line.starts_with("#[") {
                continue;
            }
            if line.starts_with("pub fn") && doc.contains("# Formula") {
                cards += 1;
                for part in PARTS {
                    assert!(doc.contains(part), "{}: {line}: no `{part}`", file.display());
                }
            }
            doc.clear();
        }
    }
    assert!(cards >= 9, "only {cards} cards found");
}

#[test]
fn files_stay_small() {
    let mut files = Vec::new();
    for room in ["buying", "cutting", "concrete", "haul", "hire"] {
        sources(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src/compute").join(room), &mut files);
    }
    assert!(files.len() > 40, "only {} files", files.len());
    for file in files {
        let lines = std::fs::read_to_string(&file).unwrap().lines().count();
        assert!(lines <= 420, "{} has {lines} lines", file.display());
    }
}
