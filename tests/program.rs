//! The program as a process of its own: what it says on its way up, what it refuses, a log and a disk that take nothing more.
#![cfg(unix)]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs, reason = "tests")]

use sqlx::sqlite::{SqliteConnectOptions, SqlitePool};
use std::io::{Read as _, Write as _};
use std::net::{SocketAddr, TcpListener, TcpStream};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};
use std::time::{Duration, Instant};
use tempfile::TempDir;

const PROGRAM: &str = env!("CARGO_BIN_EXE_rillcast");
const JOB: &str = r#"{"title": "T", "customer": {"name": "E"}, "site": {"address": "1 A"}}"#;

/// A directory with a database in it, once something has made one.
struct Office {
    directory: TempDir,
}

impl Office {
    fn new() -> Self {
        Self { directory: tempfile::tempdir().unwrap() }
    }

    fn path(&self, name: &str) -> PathBuf {
        self.directory.path().join(name)
    }

    fn database(&self) -> PathBuf {
        self.path("office.sqlite")
    }

    fn command(&self, program: &str) -> Command {
        let mut command = Command::new(program);
        let mine = std::env::vars_os().filter(|(name, _)| !name.to_string_lossy().starts_with("RILLCAST_"));
        command.env_clear().envs(mine).env("RILLCAST_DATABASE", self.database());
        command
    }

    fn run(&self, words: &[&str]) -> Output {
        self.command(PROGRAM).args(words).output().unwrap()
    }

    fn key(&self) -> String {
        let made = self.run(&["key", "create", "--name", "office"]);
        assert!(made.status.success(), "{}", told(&made));
        String::from_utf8(made.stdout).unwrap().trim().to_owned()
    }

    /// Serves on a free port; `limit` is what a shell does before the program takes its place.
    fn serve(&self, limit: &str, log: impl Into<Stdio>) -> Served {
        self.serve_as(self.command("sh"), limit, log)
    }

    fn serve_as(&self, mut command: Command, limit: &str, log: impl Into<Stdio>) -> Served {
        let address = TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap();
        command.args(["-c", &format!("{limit}; exec \"$0\" serve"), PROGRAM]);
        command.env("RILLCAST_LISTEN", address.to_string()).stderr(log);
        let mut served = Served { process: command.spawn().unwrap(), address };
        let started = Instant::now();
        while TcpStream::connect(address).is_err() {
            let ended = served.process.try_wait().unwrap();
            assert!(ended.is_none() && started.elapsed() < Duration::from_secs(30), "not serving: {ended:?}");
            std::thread::sleep(Duration::from_millis(20));
        }
        served
    }
}

fn told(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

/// Ended when dropped.
struct Served {
    process: Child,
    address: SocketAddr,
}

impl Drop for Served {
    fn drop(&mut self) {
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

impl Served {
    /// The whole answer; empty where the connection is cut off.
    fn ask(&self, line: &str, key: &str, body: &str) -> String {
        let mut stream = TcpStream::connect(self.address).unwrap();
        stream.set_read_timeout(Some(Duration::from_secs(30))).unwrap();
        let length = body.len();
        let head = format!(
            "{line} HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\nAuthorization: Bearer {key}\r\n\
             Content-Type: application/json\r\nContent-Length: {length}\r\n\r\n{body}"
        );
        let mut answer = Vec::new();
        let _ = stream.write_all(head.as_bytes()).and_then(|()| stream.read_to_end(&mut answer));
        String::from_utf8_lossy(&answer).into_owned()
    }

    #[track_caller]
    fn expect(&self, status: u16, line: &str, key: &str, body: &str) -> String {
        let answer = self.ask(line, key, body);
        assert!(answer.starts_with(&format!("HTTP/1.1 {status} ")), "{line}: `{answer}`");
        answer
    }

    fn jobs(&self, key: &str) -> usize {
        self.expect(200, "GET /v1/jobs?limit=200", key, "").matches("\"id\":\"job_").count()
    }
}

/// A pipe whose other end nobody holds.
fn nobody_reads() -> Stdio {
    let (reader, writer) = std::io::pipe().unwrap();
    drop(reader);
    writer.into()
}

#[test]
fn a_log_that_cannot_be_written_costs_no_answer() {
    let office = Office::new();
    let key = office.key();
    let full = Path::new("/dev/full");
    let full = full.exists().then(|| Stdio::from(std::fs::File::options().write(true).open(full).unwrap()));
    for (number, log) in [Some(nobody_reads()), full].into_iter().flatten().enumerate() {
        let served = office.serve(":", log);
        served.expect(200, "GET /readyz", &key, "");
        served.expect(201, "POST /v1/jobs", &key, JOB);
        served.expect(404, "GET /nothing", &key, "");
        assert_eq!(served.jobs(&key), number + 1);
    }
}

/// Files may not grow beyond a limit, as a disk without room; what the log of the database held is room again.
#[test]
fn after_the_disk_was_full_writing_goes_on_without_a_restart() {
    let office = Office::new();
    let key = office.key();
    // 512 bytes or 1 KiB a block, as the shell has it: between one and two MiB.
    let served = office.serve("trap '' XFSZ; ulimit -f 2048", Stdio::null());
    let long = format!(
        r#"{{"title": "T", "customer": {{"name": "E"}}, "site": {{"address": "1 A", "access": "{}"}}}}"#,
        "x".repeat(1500)
    );
    let refused = (0..1000).map(|_| served.ask("POST /v1/jobs", &key, &long));
    let refused = refused.into_iter().find(|answer| !answer.starts_with("HTTP/1.1 201 ")).unwrap();
    assert!(refused.starts_with("HTTP/1.1 503 "), "{refused}");
    assert!(refused.contains("/problems/disk-f") && refused.contains("retry-after: 30\r\n"), "{refused}");
    let before = served.jobs(&key);
    for _ in 0..5 {
        assert!(!served.ask("POST /v1/jobs", &key, &long).contains("internal"));
    }

    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
    runtime.block_on(async {
        let file = SqliteConnectOptions::new().filename(office.database());
        let raw = SqlitePool::connect_with(file).await.unwrap();
        sqlx::query("PRAGMA wal_checkpoint(TRUNCATE)").execute(&raw).await.unwrap();
        raw.close().await;
    });
    served.expect(201, "POST /v1/jobs", &key, &long);
    served.expect(200, "GET /readyz", &key, "");
    assert!(served.jobs(&key) > before.min(199));
}

#[test]
fn connections_that_cannot_be_taken_are_told_in_the_log() {
    let office = Office::new();
    let key = office.key();
    let log = office.path("log");
    let served = office.serve("ulimit -n 48", std::fs::File::create(&log).unwrap());
    let held: Vec<TcpStream> = (0..80).map(|_| TcpStream::connect(served.address).unwrap()).collect();
    let started = Instant::now();
    let said = || std::fs::read_to_string(&log).unwrap();
    while !said().contains("a connection could not be taken") {
        assert!(started.elapsed() < Duration::from_secs(10), "{}", said());
        std::thread::sleep(Duration::from_millis(50));
    }
    drop(held);
    served.expect(200, "GET /readyz", &key, "");
}

#[test]
fn a_start_that_fails_says_what_was_in_the_way() {
    let office = Office::new();
    let taken = TcpListener::bind("127.0.0.1:0").unwrap();
    let address = taken.local_addr().unwrap().to_string();
    let failed = office.command(PROGRAM).arg("serve").env("RILLCAST_LISTEN", &address).output().unwrap();
    assert!(!failed.status.success());
    let says = format!("rillcast: cannot listen on {address} (RILLCAST_LISTEN): ");
    assert!(told(&failed).contains(&says), "{}", told(&failed));

    let nowhere = office.path("none").join("office.sqlite");
    for words in [&["serve"][..], &["migrate"], &["key", "create", "--name", "office"]] {
        let mut command = office.command(PROGRAM);
        let command = command.args(words).env("RILLCAST_LISTEN", "127.0.0.1:0");
        let failed = command.env("RILLCAST_DATABASE", &nowhere).output().unwrap();
        let says = format!("rillcast: cannot open {} (RILLCAST_DATABASE): ", nowhere.display());
        assert!(!failed.status.success() && told(&failed).contains(&says), "{}", told(&failed));
    }
    for name in ["", ":memory:", "file:x?mode=memory"] {
        let failed = office.command(PROGRAM).arg("migrate").env("RILLCAST_DATABASE", name).output().unwrap();
        let says = format!("RILLCAST_DATABASE={name}: the path of a file");
        assert!(!failed.status.success() && told(&failed).contains(&says), "{}", told(&failed));
    }
}

#[test]
fn the_log_of_a_start_names_the_database_and_variables_that_are_no_setting() {
    let office = Office::new();
    let log = office.path("log");
    let mut command = office.command("sh");
    command.env("RILLCAST_DEADLINE_SECOND", "5").env("RILLCAST_LOG_FORMAT", "text");
    let served = office.serve_as(command, ":", std::fs::File::create(&log).unwrap());
    served.expect(200, "GET /livez", "", "");
    drop(served);
    let said = std::fs::read_to_string(&log).unwrap();
    assert!(said.contains("`RILLCAST_DEADLINE_SECOND` is no setting and is not read"), "{said}");
    assert!(said.contains("did you mean `RILLCAST_DEADLINE_SECONDS`?"), "{said}");
    let serving = said.lines().find(|line| line.contains("serving")).unwrap();
    assert!(serving.contains(office.database().to_str().unwrap()), "{serving}");
    assert!(!said.contains("`RILLCAST_DATABASE`") && !said.contains("`RILLCAST_LISTEN`"), "{said}");

    let shown = office.command(PROGRAM).arg("config").env("RILLCAST_COLOR", "blue").output().unwrap();
    assert!(shown.status.success() && told(&shown).contains("`RILLCAST_COLOR` is no setting"));
    assert!(!String::from_utf8_lossy(&shown.stdout).contains("COLOR"));
    assert_eq!(told(&office.run(&["config"])), "");
}

/// A misspelled RILLCAST_DATABASE has a command work on the file of the default name.
#[test]
fn every_command_tells_variables_that_are_no_setting() {
    let office = Office::new();
    office.key();
    let nobody = TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().to_string();
    let copy = office.path("copy.sqlite");
    for (words, succeeds) in [
        (&["migrate"][..], true),
        (&["backup", "--to", copy.to_str().unwrap()], true),
        (&["openapi"], true),
        (&["config"], true),
        (&["key", "create", "--name", "office"], true),
        (&["key", "list"], true),
        (&["key", "revoke", "nobody"], false),
        (&["healthcheck", "--address", &nobody], false),
    ] {
        let ran = office.command(PROGRAM).args(words).env("RILLCAST_DATABSE", "x").output().unwrap();
        assert_eq!(ran.status.success(), succeeds, "{words:?}: {}", told(&ran));
        let says =
            "rillcast: `RILLCAST_DATABSE` is no setting and is not read; did you mean `RILLCAST_DATABASE`?\n";
        assert_eq!(told(&ran).matches(says).count(), 1, "{words:?}: {}", told(&ran));
        assert!(!String::from_utf8_lossy(&ran.stdout).contains("DATABSE"), "{words:?}");
    }
    // The demo, which has a log of its own, tells it once as well; and so does a service that does not start for its settings.
    let mut demo = office.command(PROGRAM);
    demo.args(["demo", "--port", "0", "--database"]).arg(office.path("demo.sqlite"));
    let mut demo =
        demo.env("RILLCAST_COLOR", "blue").stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    let mut first = [0];
    demo.stdout.as_mut().unwrap().read_exact(&mut first).unwrap();
    demo.kill().unwrap();
    let ran = demo.wait_with_output().unwrap();
    assert_eq!(told(&ran).matches("`RILLCAST_COLOR` is no setting").count(), 1, "{}", told(&ran));
    let mut serve = office.command(PROGRAM);
    let ran = serve.arg("serve").env("RILLCAST_COLOR", "blue").env("RILLCAST_READERS", "0").output().unwrap();
    assert!(!ran.status.success() && told(&ran).contains("RILLCAST_READERS=0"), "{}", told(&ran));
    assert_eq!(told(&ran).matches("`RILLCAST_COLOR` is no setting").count(), 1, "{}", told(&ran));
}

/// The copy of an empty file would pass for a backup until somebody needs it.
#[test]
fn what_is_no_database_of_ours_is_not_backed_up() {
    let office = Office::new();
    let copy = office.path("copy.sqlite");
    let refused = |says: &str| {
        let refused = office.run(&["backup", "--to", copy.to_str().unwrap()]);
        assert_eq!(refused.status.code(), Some(1), "{}", told(&refused));
        assert!(told(&refused).contains(says), "{}", told(&refused));
        assert!(!copy.exists());
    };
    refused("there is no database");
    assert!(!office.database().exists());

    std::fs::write(office.database(), "").unwrap();
    refused("is no database of rillcast");
    assert_eq!(std::fs::metadata(office.database()).unwrap().len(), 0, "left as it is");

    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
    runtime.block_on(async {
        let file = SqliteConnectOptions::new().filename(office.database());
        let raw = SqlitePool::connect_with(file).await.unwrap();
        sqlx::query("CREATE TABLE meta (name TEXT)").execute(&raw).await.unwrap();
        raw.close().await;
    });
    let before = std::fs::read(office.database()).unwrap();
    refused("is no database of rillcast");
    assert_eq!(std::fs::read(office.database()).unwrap(), before, "left as it is");

    std::fs::write(office.database(), "Notes of Monday, which are no database at all.\n".repeat(40)).unwrap();
    refused("cannot open ");
}

/// Whoever revokes a key that leaked pastes the whole of it.
#[test]
fn a_key_is_revoked_by_the_whole_of_it_and_its_secret_is_not_said_again() {
    let office = Office::new();
    for words in [&["key", "revoke", "abcdefghijkl"][..], &["key", "list"]] {
        let refused = office.run(words);
        assert!(!refused.status.success() && told(&refused).contains("there is no database"), "{words:?}");
        assert!(!office.database().exists(), "{words:?} makes none");
    }
    let made = office.run(&["key", "create", "--name", "office, leaked", "--scopes", "jobs:read,calculate"]);
    assert!(told(&made).contains("office.sqlite is made anew"), "{}", told(&made));
    let key = String::from_utf8(made.stdout).unwrap().trim().to_owned();
    let (id, secret) = key.strip_prefix("rc_").unwrap().split_once('_').unwrap();
    let listed = || String::from_utf8(office.run(&["key", "list"]).stdout).unwrap();
    let line = listed();
    assert!(line.starts_with(id) && line.contains("  live  office, leaked  "), "{line}");
    assert!(line.contains("jobs:read") && !line.contains(secret), "{line}");
    assert!(office.run(&["key", "revoke", &key]).status.success());
    assert!(listed().contains("  revoked 20"), "{}", listed());
    for leaked in [format!("Authorization: Bearer {key}"), key.strip_prefix("rc_").unwrap().to_owned()] {
        let again = office.run(&["key", "revoke", &leaked]);
        let says = format!("there is no live key of the id `{id}`");
        assert!(!again.status.success() && told(&again).contains(&says), "{}", told(&again));
    }
    let nothing = office.run(&["key", "revoke", secret]);
    assert!(!nothing.status.success() && !told(&nothing).contains(secret), "{}", told(&nothing));
    let again = office.run(&["key", "revoke", &key]);
    assert!(!again.status.success() && told(&again).contains(id) && !told(&again).contains(secret));
}

/// Customers, prices and wages stand in them.
#[cfg(unix)]
#[test]
fn only_their_owner_reads_a_database_and_its_copy() {
    use std::os::unix::fs::PermissionsExt as _;
    let office = Office::new();
    office.key();
    let copy = office.path("copy.sqlite");
    assert!(office.run(&["backup", "--to", copy.to_str().unwrap()]).status.success());
    let (link, elsewhere) = (office.path("link.sqlite"), office.path("elsewhere.sqlite"));
    std::os::unix::fs::symlink(&elsewhere, &link).unwrap();
    assert!(
        office
            .command(PROGRAM)
            .arg("migrate")
            .env("RILLCAST_DATABASE", &link)
            .output()
            .unwrap()
            .status
            .success()
    );
    for file in [office.database(), copy, elsewhere] {
        let rights = std::fs::metadata(&file).unwrap().permissions().mode();
        assert_eq!(rights & 0o777, 0o600, "{}", file.display());
    }
}

#[test]
fn a_key_has_a_name_of_one_line() {
    let office = Office::new();
    for name in ["", "  ", "\u{200b}", "two\nlines", "a\rb", "tab\there", &"x".repeat(201)] {
        let refused = office.run(&["key", "create", "--name", name]);
        assert!(!refused.status.success() && refused.stdout.is_empty(), "{name:?}");
        assert!(told(&refused).contains("a name of 1 to 200 characters on one line"), "{}", told(&refused));
    }
    assert!(office.run(&["key", "create", "--name", "Büro, 2nd floor"]).status.success());
}

#[test]
fn a_backup_made_while_serving_is_served_again() {
    let office = Office::new();
    let copy = office.path("copy.sqlite");
    let backup = || office.run(&["backup", "--to", copy.to_str().unwrap()]);
    // There is nothing to copy yet, and nothing is made.
    let refused = backup();
    assert!(
        !refused.status.success() && told(&refused).contains("there is no database"),
        "{}",
        told(&refused)
    );
    assert!(!office.database().exists() && !copy.exists());

    let key = office.key();
    let served = office.serve(":", Stdio::null());
    served.expect(201, "POST /v1/jobs", &key, JOB);
    let made = backup();
    assert!(made.status.success(), "{}", told(&made));
    served.expect(201, "POST /v1/jobs", &key, JOB);
    let refused = backup();
    assert!(!refused.status.success() && told(&refused).contains("overwrites nothing"), "{}", told(&refused));
    drop(served);

    let restored = Office::new();
    std::fs::copy(&copy, restored.database()).unwrap();
    let served = restored.serve(":", Stdio::null());
    assert_eq!(served.jobs(&key), 1);
}
