//! Files of the searches stay small.

use std::path::{Path, PathBuf};

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
