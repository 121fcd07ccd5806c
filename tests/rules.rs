//! Rules of the source itself: the core is pure, formulas carry their card, lines name rules that are listed.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs, reason = "tests")]

use rillcast::compute::{pipeline, rules};
use rillcast::domain::book::{BookRef, PriceBook};
use rillcast::domain::demo::{BOOK, NOTES};
use rillcast::wire::book::BookDoc;
use rillcast::wire::notes::SiteNotes;
use rillcast::wire::read_document;
use serde_json::Value;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

fn sources(directory: &Path, out: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(directory).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            sources(&path, out);
        } else if path.extension().is_some_and(|e| e == "rs") {
            out.push(path);
        }
    }
}

/// Files of rooms of the crate. A room that is not there yet has none.
fn rooms(names: &[&str]) -> Vec<(PathBuf, String)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = Vec::new();
    for name in names {
        let directory = root.join(name);
        if directory.is_dir() {
            sources(&directory, &mut files);
        }
        let file = root.join(format!("{name}.rs"));
        if file.is_file() {
            files.push(file);
        }
    }
    files.sort();
    files.into_iter().map(|path| (path.clone(), std::fs::read_to_string(path).unwrap())).collect()
}

/// The lines of a file that are compiled into the service: no `#[cfg(test)]` items, no comments.
fn compiled(text: &str) -> Vec<(usize, String)> {
    let mut out = Vec::new();
    let mut lines = text.lines().enumerate();
    while let Some((number, line)) = lines.next() {
        if line.trim_start().starts_with("#[cfg(test)]") {
            // Skip the item: to the end of its statement, or to the brace that closes it at the same depth.
            let mut depth = 0_i64;
            for (_, inside) in lines.by_ref() {
                let code = inside.split("//").next().unwrap_or("");
                depth += code.matches('{').count() as i64 - code.matches('}').count() as i64;
                let attribute = inside.trim_start().starts_with("#[");
                if depth <= 0 && !attribute && (code.contains(';') || code.contains('}')) {
                    break;
                }
            }
            continue;
        }
        let code = line.split("//").next().unwrap_or("").to_owned();
        out.push((number + 1, code));
    }
    out
}

const CORE: &[&str] = &["units", "wire", "domain", "compute", "documents"];

#[test]
fn the_core_knows_no_clock_no_chance_no_store_and_no_network() {
    let forbidden = [
        "axum",
        "sqlx",
        "tokio",
        "tower",
        "hyper",
        "SystemTime",
        "Instant",
        "Timestamp::now",
        "rand::",
        "ulid",
        "crate::store",
        "crate::http",
        "crate::app",
        "crate::config",
        "std::env",
        "std::fs",
        "std::net",
        "std::thread",
        "std::process",
        "tracing",
    ];
    let files = rooms(CORE);
    assert!(files.len() > 30, "only {} files", files.len());
    let mut wrong = Vec::new();
    for (path, text) in &files {
        for (number, line) in compiled(text) {
            for word in forbidden {
                if line.contains(word) {
                    wrong.push(format!("{}:{number}: {word}: {}", path.display(), line.trim()));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

#[test]
fn the_check_of_the_core_sees_code_and_skips_tests_and_comments() {
    let text = "use a; // tokio\n/// axum\nfn f() {}\n#[cfg(test)]\nmod tests {\n    fn g() { sqlx() }\n    {\n    }\n}\nfn h() { rand::x() }\n#[cfg(test)]\nuse std::env;\nfn i() {}";
    let seen: Vec<(usize, String)> = compiled(text);
    let all: String = seen.iter().map(|(_, l)| l.as_str()).collect();
    assert!(all.contains("rand::x") && all.contains("fn i"));
    assert!(
        !all.contains("sqlx") && !all.contains("tokio") && !all.contains("axum") && !all.contains("std::env")
    );
}

#[test]
fn sql_stands_in_the_store_alone_and_engineering_not_in_http() {
    for (path, text) in
        rooms(&["units", "wire", "domain", "compute", "http", "app", "config", "demo", "main", "telemetry"])
    {
        for (number, line) in compiled(&text) {
            for word in ["SELECT ", "INSERT INTO", "UPDATE ", "DELETE FROM", "sqlx::"] {
                assert!(!line.contains(word), "{}:{number}: {line}", path.display());
            }
        }
    }
    for (path, text) in rooms(&["http"]) {
        for (number, line) in compiled(&text) {
            for word in [
                "compute::takeoff",
                "compute::concrete",
                "compute::labor",
                "compute::hire",
                "compute::pricing",
                "units::exact",
            ] {
                assert!(!line.contains(word), "{}:{number}: {line}", path.display());
            }
        }
    }
}

/// Blocks of doc comments, each with the line it starts on.
fn cards(text: &str) -> Vec<(usize, String)> {
    let mut out: Vec<(usize, String)> = Vec::new();
    let mut open: Option<(usize, String)> = None;
    for (i, line) in text.lines().enumerate() {
        let line = line.trim_start();
        match line.strip_prefix("///").or_else(|| line.strip_prefix("//!")) {
            Some(doc) => {
                let block = open.get_or_insert((i + 1, String::new()));
                block.1.push_str(doc);
                block.1.push('\n');
            }
            None => out.extend(open.take()),
        }
    }
    out.extend(open);
    out
}

#[test]
fn every_formula_carries_its_whole_card() {
    let mut formulas = 0;
    let mut wrong = Vec::new();
    for (path, text) in rooms(&["compute", "units"]) {
        for (number, card) in cards(&text) {
            if !card.contains("# Formula") {
                continue;
            }
            formulas += 1;
            for section in ["# Units", "# Valid for", "# Source", "# Example"] {
                if !card.lines().any(|l| l.trim() == section) {
                    wrong.push(format!("{}:{number}: no `{section}`", path.display()));
                }
            }
            if !card.contains("```") {
                wrong.push(format!("{}:{number}: the example is not run", path.display()));
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
    assert!(formulas >= 5, "only {formulas} formulas carry a card");
}

fn estimate(change: impl FnOnce(&mut Value)) -> Value {
    let doc: BookDoc = read_document(BOOK.as_bytes()).unwrap();
    let book = PriceBook::check(doc).unwrap();
    let mut notes: Value = serde_json::from_str(NOTES).unwrap();
    change(&mut notes);
    let notes: SiteNotes = read_document(notes.to_string().as_bytes()).unwrap();
    let used = BookRef { version_id: "pbv_x".to_owned(), name: "Demo".to_owned(), number: 1 };
    serde_json::to_value(
        pipeline::estimate(&notes, &book, &used, &rillcast::domain::demo::rains().unwrap()).unwrap(),
    )
    .unwrap()
}

fn named(value: &Value, out: &mut BTreeSet<String>) {
    match value {
        Value::Object(members) => {
            for (name, member) in members {
                if name == "rule" {
                    out.insert(member.as_str().unwrap().to_owned());
                }
                named(member, out);
            }
        }
        Value::Array(list) => list.iter().for_each(|v| named(v, out)),
        _ => {}
    }
}

#[test]
fn every_rule_that_a_line_names_is_listed() {
    let mut used = BTreeSet::new();
    named(&estimate(|_| {}), &mut used);
    for way in ["ready-mix", "bags-60", "bags-80", "trailer"] {
        named(&estimate(|n| n["options"] = serde_json::json!({"concrete_way": way})), &mut used);
    }
    named(&estimate(|n| n["unit_system"] = serde_json::json!("metric")), &mut used);
    let listed: BTreeSet<String> = rules::ALL.iter().map(|r| r.name.to_owned()).collect();
    let unlisted: Vec<&String> = used.difference(&listed).collect();
    assert!(unlisted.is_empty(), "named on a line and not in the list of rules: {unlisted:?}");
    assert!(used.len() > 25, "{}", used.len());
}

#[test]
fn rules_are_sorted_named_once_and_say_where_they_come_from() {
    let names: Vec<&str> = rules::ALL.iter().map(|r| r.name).collect();
    let unique: BTreeSet<&str> = names.iter().copied().collect();
    assert_eq!(unique.len(), names.len(), "a rule is listed twice");
    for rule in rules::ALL {
        assert!(!rule.formula.is_empty() && !rule.source.is_empty(), "{}", rule.name);
        assert!(
            rule.name.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || matches!(c, '.' | '_')),
            "{}",
            rule.name
        );
    }
}

/// Each name of the list stands in the code that makes the lines.
#[test]
fn no_rule_is_listed_that_nothing_names() {
    let mut code = String::new();
    for (path, text) in rooms(&["compute", "domain"]) {
        if !path.ends_with("compute/rules.rs") {
            code.extend(compiled(&text).into_iter().map(|(_, l)| l + "\n"));
        }
    }
    let dead: Vec<&str> =
        rules::ALL.iter().map(|r| r.name).filter(|n| !code.contains(&format!("\"{n}\""))).collect();
    assert!(dead.is_empty(), "{dead:?}");
}
