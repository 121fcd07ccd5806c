//! Rules of the source itself: the core is pure, formulas carry their card, lines name rules that are listed.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs, reason = "tests")]

use rillcast::compute::contract::moves::PaperState;
use rillcast::compute::{pipeline, rules};
use rillcast::domain::book::{BookRef, PriceBook, VersionState};
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

/// A line of code without comments: as it stands, and without what is in its strings.
struct Code {
    number: usize,
    whole: String,
    bare: String,
}

/// The lines of a file without their comments; a `//` in a string is none.
fn lexed(text: &str) -> Vec<Code> {
    #[derive(Clone, Copy, PartialEq)]
    enum In {
        Code,
        Line,
        Block(usize),
        Text,
        Raw(usize),
    }
    let letters: Vec<char> = text.chars().collect();
    let at = |i: usize| letters.get(i).copied().unwrap_or('\0');
    let mut out = Vec::new();
    let mut code = Code { number: 1, whole: String::new(), bare: String::new() };
    let (mut inside, mut i) = (In::Code, 0);
    while i < letters.len() {
        let c = at(i);
        let mut taken = 1;
        if c == '\n' {
            if inside == In::Line {
                inside = In::Code;
            }
            let next = Code { number: code.number + 1, whole: String::new(), bare: String::new() };
            out.push(std::mem::replace(&mut code, next));
            i += 1;
            continue;
        }
        let put = |code: &mut Code, bare: bool, from: usize, count: usize| {
            code.whole.extend(&letters[from..from + count]);
            if bare {
                code.bare.extend(&letters[from..from + count]);
            }
        };
        match inside {
            In::Code => match (c, at(i + 1)) {
                ('/', '/') => inside = In::Line,
                ('/', '*') => (inside, taken) = (In::Block(1), 2),
                ('"', _) => {
                    inside = In::Text;
                    put(&mut code, true, i, 1);
                }
                ('r', '"' | '#')
                    if !at(i.wrapping_sub(1)).is_alphanumeric() || at(i.wrapping_sub(1)) == 'b' =>
                {
                    let hashes = (1..).take_while(|n| at(i + n) == '#').count();
                    if at(i + 1 + hashes) == '"' {
                        (inside, taken) = (In::Raw(hashes), hashes + 2);
                    }
                    put(&mut code, true, i, taken);
                }
                ('\'', '\\') => {
                    taken = (3..).find(|n| at(i + n) == '\'').unwrap() + 1;
                    put(&mut code, false, i, taken);
                }
                ('\'', _) if at(i + 2) == '\'' => {
                    taken = 3;
                    put(&mut code, false, i, taken);
                }
                _ => put(&mut code, true, i, 1),
            },
            In::Line => {}
            In::Block(depth) => match (c, at(i + 1)) {
                ('/', '*') => (inside, taken) = (In::Block(depth + 1), 2),
                ('*', '/') => (inside, taken) = (if depth == 1 { In::Code } else { In::Block(depth - 1) }, 2),
                _ => {}
            },
            In::Text => match c {
                '\\' if at(i + 1) == '\n' => put(&mut code, false, i, 1),
                '\\' => {
                    taken = 2;
                    put(&mut code, false, i, taken);
                }
                '"' => {
                    inside = In::Code;
                    put(&mut code, true, i, 1);
                }
                _ => put(&mut code, false, i, 1),
            },
            In::Raw(hashes) => {
                let ends = c == '"' && (1..=hashes).all(|n| at(i + n) == '#');
                if ends {
                    (inside, taken) = (In::Code, hashes + 1);
                }
                put(&mut code, ends, i, taken);
            }
        }
        i += taken;
    }
    out.push(code);
    out
}

/// The lines of a file that are compiled into the service: no `#[cfg(test)]` items, no comments.
fn compiled(text: &str) -> Vec<(usize, String)> {
    let mut out = Vec::new();
    let mut lines = lexed(text).into_iter();
    while let Some(Code { number, whole, bare }) = lines.next() {
        if bare.trim_start().starts_with("#[cfg(test)]") {
            // Skip the item: to the end of its statement, or to the brace that closes it at the same depth.
            let mut depth = 0_i64;
            for Code { bare, .. } in lines.by_ref() {
                depth += bare.matches('{').count() as i64 - bare.matches('}').count() as i64;
                let attribute = bare.trim_start().starts_with("#[");
                if depth <= 0 && !attribute && (bare.contains(';') || bare.contains('}')) {
                    break;
                }
            }
            continue;
        }
        out.push((number, whole));
    }
    out
}

/// The room of a file: the directory or file beside `lib.rs`.
fn room_of(path: &Path) -> String {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let first = path.strip_prefix(root).unwrap().components().next().unwrap();
    first.as_os_str().to_str().unwrap().trim_end_matches(".rs").to_owned()
}

/// A file as the lists here name it, from `src` on.
fn named_file(path: &Path) -> String {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    path.strip_prefix(root).unwrap().to_str().unwrap().to_owned()
}

/// Words of a line of code: what a path is made of.
fn words(line: &str) -> impl Iterator<Item = &str> {
    line.split(|c: char| !c.is_alphanumeric() && c != '_').filter(|w| !w.is_empty())
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
        "rand_core",
        "rand_pcg",
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
        // What is remembered from one call to the next.
        "Mutex",
        "RwLock",
        "Atomic",
        "OnceLock",
        "OnceCell",
        "LazyLock",
        "LazyCell",
        "thread_local",
        "static mut",
    ];
    // Draws with a seed: the same seed gives the same draws.
    let seeded = ["compute/risk/draws.rs: rand_core", "compute/risk/draws.rs: rand_pcg"];
    let files = rooms(CORE);
    assert!(files.len() > 30, "only {} files", files.len());
    let mut wrong = Vec::new();
    for (path, text) in &files {
        for (number, line) in compiled(text) {
            for word in forbidden {
                if line.contains(word) && !seeded.contains(&format!("{}: {word}", named_file(path)).as_str())
                {
                    wrong.push(format!("{}:{number}: {word}: {}", path.display(), line.trim()));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

/// Ids of records alone sort by a clock that their library reads by itself.
#[test]
fn what_time_it_is_is_asked_in_one_place() {
    let mut files = Vec::new();
    sources(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src"), &mut files);
    let asks = |path: &PathBuf| {
        let text = std::fs::read_to_string(path).unwrap();
        let clocks = ["Timestamp::now", "Zoned::now", "SystemTime"];
        compiled(&text).iter().any(|(_, line)| clocks.iter().any(|clock| line.contains(clock)))
    };
    let asking: Vec<String> = files.iter().filter(|path| asks(path)).map(|path| named_file(path)).collect();
    assert_eq!(asking, ["http/mod.rs"]);
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
    // A `//` in a string is no comment, a quote in a letter opens no string, a brace in a string closes no test.
    let text = "let a = \"http://x\"; axum();\nlet b = '\"'; /* sqlx\n /* */ tokio */ let c = r#\"a \" // b\"#; rand::x();\n#[cfg(test)]\nmod tests { fn g() { \"}\"; }\n ulid }\nlet d = \"a\\\n// b\";";
    let all: String = compiled(text).into_iter().map(|(_, l)| l + "\n").collect();
    for there in ["http://x", "axum()", "rand::x()", "// b\"#", "\n// b\";"] {
        assert!(all.contains(there), "{there}: {all}");
    }
    for gone in ["sqlx", "tokio", "ulid"] {
        assert!(!all.contains(gone), "{gone}: {all}");
    }
}

#[test]
fn sql_stands_in_the_store_alone() {
    let others = [
        "units",
        "wire",
        "domain",
        "compute",
        "documents",
        "http",
        "app",
        "config",
        "demo",
        "health",
        "main",
        "telemetry",
    ];
    for (path, text) in rooms(&others) {
        for (number, line) in compiled(&text) {
            for word in ["SELECT ", "INSERT INTO", "UPDATE ", "DELETE FROM", "sqlx::"] {
                assert!(!line.contains(word), "{}:{number}: {line}", path.display());
            }
        }
    }
}

/// A state is a type with its words: a word of a handler's own, once misspelt, would let through or refuse without a sign.
#[test]
fn http_has_no_words_of_its_own_for_the_states_of_papers_and_versions() {
    let papers = PaperState::ALL.iter().map(|s| s.word());
    let states: BTreeSet<&str> = papers.chain(VersionState::ALL.iter().map(|s| s.word())).collect();
    for (path, text) in rooms(&["http"]) {
        for (number, line) in compiled(&text) {
            for stem in ["state: ", "state == ", "state != ", "state = "] {
                let words = line.split(stem).skip(1).filter_map(|rest| rest.strip_prefix('"'));
                for word in words.filter_map(|rest| rest.split('"').next()) {
                    assert!(!states.contains(word), "{}:{number}: {line}", path.display());
                }
            }
        }
    }
}

/// What `http` may name of `compute`: what answers a whole request, what a paper allows, and what is read from stored text.
const CALLED_BY_HTTP: &[&str] = &[
    "ENGINE",
    "answers",
    "besides",
    "contract",
    "customer_view",
    "drainage::shelf",
    "effort",
    "job_plan",
    "job_record",
    "order_concrete",
    "orders",
    "pipeline",
    "plan::issued",
    "rain::RainError",
    "rain::RainReading",
    "rain::read_point_file",
    "rain_tables",
    "repricing",
    "rules",
    "second_look",
    "wanted",
];

/// Every path behind `prefix`, braces opened.
fn paths(code: &str, prefix: &str) -> Vec<String> {
    fn open(text: &str, stem: &str, out: &mut Vec<String>) {
        let Some(inner) = text.strip_prefix('{') else {
            let end = text.find(|c: char| !c.is_alphanumeric() && c != '_' && c != ':').unwrap_or(text.len());
            let (path, rest) = text.split_at(end);
            match rest.strip_prefix('{') {
                Some(_) if path.ends_with("::") => open(rest, &format!("{stem}{path}"), out),
                _ => out.push(format!("{stem}{}", path.trim_end_matches(':'))),
            }
            return;
        };
        let (mut depth, mut start) = (0, 0);
        for (i, c) in inner.char_indices() {
            match c {
                '{' => depth += 1,
                '}' if depth > 0 => depth -= 1,
                ',' | '}' if depth == 0 => {
                    let part = inner[start..i].trim();
                    if !part.is_empty() {
                        open(part, stem, out);
                    }
                    start = i + 1;
                    if c == '}' {
                        break;
                    }
                }
                _ => {}
            }
        }
    }
    let mut out = Vec::new();
    for (i, _) in code.match_indices(prefix) {
        let before = code[..i].chars().next_back();
        if !before.is_some_and(|c| c.is_alphanumeric() || c == '_') {
            open(&code[i + prefix.len()..], "", &mut out);
        }
    }
    out
}

#[test]
fn http_calls_what_answers_and_reckons_nothing() {
    assert_eq!(
        paths("use crate::compute::{a::{b, c}, d};\nx(compute::e::f(1))", "compute::"),
        ["a::b", "a::c", "d", "e::f"]
    );
    let mut wrong = Vec::new();
    let mut used = BTreeSet::new();
    for (path, text) in rooms(&["http"]) {
        let lines = compiled(&text);
        let code: String = lines.iter().map(|(_, l)| format!("{l}\n")).collect();
        for named in paths(&code, "compute::") {
            let door = CALLED_BY_HTTP
                .iter()
                .find(|d| named == **d || named.strip_prefix(**d).is_some_and(|rest| rest.starts_with("::")));
            match door {
                Some(door) => {
                    used.insert(*door);
                }
                None => wrong.push(format!("{}: compute::{named}", path.display())),
            }
        }
        for (number, line) in lines {
            for word in [
                "units::exact",
                "units::factors",
                ".ln(",
                ".exp(",
                ".powf(",
                ".powi(",
                ".sqrt(",
                "25.4",
                "0.3048",
            ] {
                if line.contains(word) {
                    wrong.push(format!("{}:{number}: {word}: {}", path.display(), line.trim()));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
    let unused: Vec<&&str> = CALLED_BY_HTTP.iter().filter(|d| !used.contains(*d)).collect();
    assert!(unused.is_empty(), "nothing in http calls {unused:?}");
}

/// The rooms of the table in `lib.rs`: which they are, and which others each may name; `None` for all.
fn table_of_rooms() -> Vec<(Vec<String>, Option<BTreeSet<String>>)> {
    let text = std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("src/lib.rs")).unwrap();
    let linked = |cell: &str| -> Vec<String> {
        cell.split("[`").skip(1).filter_map(|t| Some(t.split_once("`]")?.0.to_owned())).collect()
    };
    let mut out = Vec::new();
    for row in text.lines().filter_map(|l| l.strip_prefix("//! | [`")) {
        let cells: Vec<&str> = row.split(" | ").collect();
        let [names, _, may] = cells.as_slice() else { panic!("{row}") };
        let all = may.starts_with("everything");
        out.push((linked(&format!("[`{names}")), (!all).then(|| linked(may).into_iter().collect())));
    }
    out
}

/// Files of `domain` that ask `compute`: a book is checked by what will be reckoned with it, and the demo's rain is shelved.
const DOMAIN_ASKS: &[&str] = &["domain/book/check/planning.rs", "domain/demo/mod.rs"];

#[test]
fn rooms_name_only_the_rooms_that_their_table_says() {
    let table = table_of_rooms();
    let all: BTreeSet<&str> = table.iter().flat_map(|(names, _)| names.iter().map(String::as_str)).collect();
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    for entry in std::fs::read_dir(&root).unwrap() {
        let name = entry.unwrap().file_name().to_str().unwrap().trim_end_matches(".rs").to_owned();
        assert!(
            all.contains(name.as_str()) || name == "lib" || name == "main",
            "{name} is no room of the table"
        );
    }
    let mut wrong = Vec::new();
    let mut asked = BTreeSet::new();
    for (names, may) in &table {
        let Some(may) = may else { continue };
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        for (path, text) in rooms(&names) {
            let file = named_file(&path);
            let code: String = compiled(&text).into_iter().map(|(_, l)| l + "\n").collect();
            for other in paths(&code, "crate::") {
                let first = words(&other).next().unwrap_or_default();
                let own = room_of(&path) == first;
                let words_alone = file.starts_with("wire/") && first == "domain";
                if !all.contains(first) || own || may.contains(first) && !words_alone {
                    continue;
                }
                if words_alone && other.starts_with("domain::words::") {
                    continue;
                }
                if first == "compute" && DOMAIN_ASKS.contains(&file.as_str()) {
                    asked.insert(file.clone());
                    continue;
                }
                wrong.push(format!("{file}: {other}"));
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
    assert_eq!(asked.len(), DOMAIN_ASKS.len(), "{asked:?}");
}

/// Modules that a file says stand in files of their own, tests apart.
fn modules(text: &str) -> BTreeSet<String> {
    let declared = |(_, line): (usize, String)| {
        let (before, rest) = line.split_once("mod ")?;
        let name = rest.trim_end().strip_suffix(';')?;
        (before.is_empty() || before.starts_with("pub")).then(|| name.to_owned())
    };
    compiled(text).into_iter().filter_map(declared).collect()
}

/// Modules that the tables at the head of a file name in their first column; a path through one of them is not its own row.
fn mapped(text: &str) -> BTreeSet<String> {
    let rows = text.lines().filter_map(|line| line.strip_prefix("//! | "));
    let first = rows.map(|row| row.split_once(" | ").map_or(row, |(cell, _)| cell));
    first
        .flat_map(|cell| cell.split('`').skip(1).step_by(2))
        .map(|name| name.trim_start_matches("mod@").to_owned())
        .filter(|name| name.chars().all(|c| c.is_alphanumeric() || c == '_'))
        .collect()
}

/// What is wrong with the map of a file: a folder has one, and a map names every module and no other.
fn wrong_with_map(file: &str, text: &str) -> Vec<String> {
    let (modules, mapped) = (modules(text), mapped(text));
    if modules.is_empty() || mapped.is_empty() && !file.ends_with("/mod.rs") {
        return Vec::new();
    }
    let unmapped = modules.difference(&mapped).map(|name| format!("{file}: `{name}` stands in no table"));
    let gone =
        mapped.difference(&modules).map(|name| format!("{file}: the table has `{name}`, which is no module"));
    unmapped.chain(gone).collect()
}

#[test]
fn maps_of_folders_name_every_module_and_no_other() {
    let head = "//! | file | subject |\n//! |---|---|\n//! | [`a`], `mod@b` | of `d` |\n//! | `b::c` | x |\n//! | `gone` | x |\n";
    let code = "pub mod a;\nmod b;\npub(crate) mod d;\n#[cfg(test)]\nmod tests;\nmod inner {}\n";
    assert_eq!(
        wrong_with_map("x.rs", &format!("{head}{code}")),
        ["x.rs: `d` stands in no table", "x.rs: the table has `gone`, which is no module"]
    );
    assert_eq!(wrong_with_map("x/mod.rs", "//! X.\n\nmod a;\n").len(), 1, "a folder without a map");
    assert!(wrong_with_map("x.rs", "//! X.\n\nmod a;\n").is_empty());
    let mut files = Vec::new();
    sources(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src"), &mut files);
    let texts = files.iter().map(|path| (named_file(path), std::fs::read_to_string(path).unwrap()));
    let wrong: Vec<String> = texts.flat_map(|(file, text)| wrong_with_map(&file, &text)).collect();
    assert!(wrong.is_empty(), "{wrong:#?}");
}

/// Where a binary number is rounded: everything else that is rounded is a decimal, by the one function of `units::decimal`.
const ROUND_BINARY: &[&str] = &[
    "compute/concrete/weather.rs",
    "compute/job_plan/risk.rs",
    "compute/job_record/draft.rs",
    "compute/job_record/proposals.rs",
    "compute/job_record/proposals/answer.rs",
    "compute/learning/rates.rs",
    "compute/plan/overtime.rs",
    "compute/rain/table.rs",
    "compute/rain_tables.rs",
    "units/exact.rs",
    "units/money.rs",
    "units/percent.rs",
    "units/quantity.rs",
];

/// The library's own rounding is half to even.
#[test]
fn decimals_are_rounded_by_one_function() {
    let mut wrong = Vec::new();
    let mut binary = BTreeSet::new();
    for (path, text) in rooms(&["units", "wire", "domain", "compute", "documents", "http", "store"]) {
        let file = named_file(&path);
        for (number, line) in compiled(&text) {
            let named = ["round_dp", "RoundingStrategy", "round_sf"].iter().any(|w| line.contains(w));
            if named && file != "units/decimal.rs" {
                wrong.push(format!("{file}:{number}: {}", line.trim()));
            }
            if line.contains(".round()") {
                if !ROUND_BINARY.contains(&file.as_str()) {
                    wrong.push(format!("{file}:{number}: {}", line.trim()));
                }
                binary.insert(file.clone());
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
    assert!(ROUND_BINARY.iter().all(|f| binary.contains(*f)), "of the list round nothing: {binary:?}");
}

/// Doc comments with a `# Formula`: the line they end on, the function they stand on, their text.
fn cards(text: &str) -> Vec<(usize, String, String)> {
    let mut out = Vec::new();
    let mut doc = String::new();
    for (i, line) in text.lines().enumerate() {
        let line = line.trim_start();
        if let Some(more) = line.strip_prefix("///").or_else(|| line.strip_prefix("//!")) {
            doc.push_str(more);
            doc.push('\n');
        } else if !line.starts_with("#[") {
            if doc.contains("# Formula") {
                let name = line.split_once("fn ").map_or("", |(_, rest)| rest);
                let name = words(name).next().unwrap_or_default().to_owned();
                out.push((i + 1, name, std::mem::take(&mut doc)));
            }
            doc.clear();
        }
    }
    out
}

/// Cards of functions that a doctest cannot call, and the public one it comes to them by.
const BY_ANOTHER_DOOR: &[(&str, &str)] = &[("compute/buying/packs.rs::cheapest", "buying::plan(")];

/// `tests/cards.txt` lists every card, so that one that is lost is noticed.
#[test]
fn every_formula_carries_its_whole_card_and_runs_it() {
    let mut found = BTreeSet::new();
    let mut wrong = Vec::new();
    for (path, text) in rooms(&["compute", "units", "domain"]) {
        for (number, name, card) in cards(&text) {
            let place = format!("{}::{name}", named_file(&path));
            for section in ["# Formula", "# Units", "# Valid for", "# Source", "# Example"] {
                if !card.lines().any(|l| l.trim() == section) {
                    wrong.push(format!("{place}, line {number}: no `{section}`"));
                }
            }
            let example = card.split_once("# Example").map_or("", |(_, example)| example);
            let run: String = example.split("```").skip(1).step_by(2).collect();
            let door = BY_ANOTHER_DOOR.iter().find(|(of, _)| *of == place);
            let called = door.map_or_else(|| format!("{name}("), |(_, door)| (*door).to_owned());
            if name.is_empty() || !run.contains(&called) {
                wrong.push(format!("{place}, line {number}: the example does not call it"));
            }
            found.insert(place);
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
    let listed: BTreeSet<String> = include_str!("cards.txt").lines().map(str::to_owned).collect();
    let lost: Vec<&String> = listed.difference(&found).collect();
    let new: Vec<&String> = found.difference(&listed).collect();
    assert!(lost.is_empty() && new.is_empty(), "lost: {lost:#?}; not in tests/cards.txt: {new:#?}");
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

/// Text of the first string behind a place in code, where nothing but a new line stands before it.
fn first_string(code: &str) -> Option<&str> {
    let rest = code.trim_start().strip_prefix('"')?;
    rest.split_once('"').map(|(text, _)| text)
}

/// Names of checks, as the code that makes them writes them.
fn checks_in_code() -> BTreeSet<String> {
    let mut out = BTreeSet::new();
    for (path, text) in rooms(&["compute"]) {
        let code: String = compiled(&text).into_iter().map(|(_, l)| l + "\n").collect();
        // The bounds of the hydraulics are held by methods of that name.
        let calls = code.match_indices("check(").filter(|(at, _)| !code[..*at].ends_with(['.', '_']));
        out.extend(
            calls.filter_map(|(at, found)| first_string(&code[at + found.len()..])).map(str::to_owned),
        );
        for (at, _) in code.match_indices("Check {") {
            let body = code[at..].split_once('}').map_or("", |(body, _)| body);
            let name = body.split_once("name:").and_then(|(_, rest)| first_string(rest));
            out.extend(name.map(str::to_owned));
        }
        // Checks that are made by a closure of these names.
        for (file, made_by) in [("concrete/weather.rs", "add("), ("takeoff/pipe.rs", "narrower(")] {
            let calls = code.match_indices(made_by).filter(|_| path.ends_with(file));
            out.extend(
                calls.filter_map(|(at, found)| first_string(&code[at + found.len()..])).map(str::to_owned),
            );
        }
    }
    out
}

/// Names of the checks of an answer.
fn checked(value: &Value, out: &mut BTreeSet<String>) {
    match value {
        Value::Object(members) => {
            if ["name", "subject", "outcome", "reason"].iter().all(|m| members.contains_key(*m)) {
                out.insert(members["name"].as_str().unwrap().to_owned());
            }
            members.values().for_each(|v| checked(v, out));
        }
        Value::Array(list) => list.iter().for_each(|v| checked(v, out)),
        _ => {}
    }
}

#[test]
fn every_check_says_what_it_holds_against_what() {
    let listed: BTreeSet<String> = rules::ALL.iter().map(|r| r.name.to_owned()).collect();
    let in_code = checks_in_code();
    assert!(in_code.len() > 50, "{}: {in_code:?}", in_code.len());
    let unlisted: Vec<&String> = in_code.difference(&listed).collect();
    assert!(unlisted.is_empty(), "checks that are not in the list of rules: {unlisted:?}");
    let mut seen = BTreeSet::new();
    checked(&estimate(|_| {}), &mut seen);
    let unseen: Vec<&String> = seen.difference(&in_code).collect();
    assert!(unseen.is_empty() && seen.len() > 10, "not found in the code: {unseen:?} of {seen:?}");
}

/// The settings of water that stand in no line: each with where it was published, by the figure that it makes.
#[test]
fn the_figures_of_water_name_their_rules() {
    let water = estimate(|_| {})["water"].clone();
    let surface = &water["runs"][0]["chains"][0]["surface"];
    for (figure, name, told) in [
        (&water["catchments"][0], "water.catchment", ["ASCE Manual 37", "HEC-22"]),
        (&water["runs"][0]["grate"], "water.grate", ["TxDOT", "eq. 10-30"]),
        (surface, "water.surface", ["Chow", "Novak"]),
        (&surface["outlets"][0], "water.outlet", ["HEC-22", "Chow"]),
        (&water["drain_lines"][0]["stretches"][0], "water.pipe", ["Ten States", "10 ft/s"]),
    ] {
        assert_eq!(figure["rule"], name, "{figure}");
        let rule = rules::find(name).unwrap();
        assert!(told.iter().all(|t| rule.source.contains(t)), "{rule:?}");
    }
}

#[test]
fn rules_are_named_once_and_say_where_they_come_from() {
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
        if !named_file(&path).starts_with("compute/rules") {
            code.extend(compiled(&text).into_iter().map(|(_, l)| l + "\n"));
        }
    }
    let dead: Vec<&str> =
        rules::ALL.iter().map(|r| r.name).filter(|n| !code.contains(&format!("\"{n}\""))).collect();
    assert!(dead.is_empty(), "{dead:?}");
}
