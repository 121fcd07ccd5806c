//! Rebuilds the binary when a migration changes: the SQL is embedded in it.
fn main() {
    println!("cargo:rerun-if-changed=migrations/sqlite");
}
