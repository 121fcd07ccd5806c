//! The command line of rillcast.

use clap::{Parser, Subcommand};
use rillcast::app::{AppState, serve};
use rillcast::config::{Config, database_file};
use rillcast::http::auth::{Scope, create_key};
use rillcast::store::backup::BackupError;
use rillcast::store::keys::KeyRow;
use rillcast::store::{Store, StoreError};
use rillcast::wire::Label;
use rillcast::{demo, health, telemetry};
use std::error::Error;
use std::io::Write as _;
use std::net::SocketAddr;
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use tokio::net::TcpListener;

#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

/// Site notes of a channel drain job in; checked quantities, orders, hours and price out.
#[derive(Debug, Parser)]
#[command(name = "rillcast", version, about)]
struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Serve the API; settings come from RILLCAST_* variables
    #[command(after_help = Config::help())]
    Serve,
    /// Make a database with the demo price book and job, and serve it on 127.0.0.1
    Demo {
        /// SQLite file
        #[arg(long, default_value = "rillcast-demo.sqlite", value_parser = database_file)]
        database: PathBuf,
        /// Port on 127.0.0.1; 0 takes a free one
        #[arg(long, default_value_t = 8080)]
        port: u16,
    },
    /// Bring the database to the schema of this build
    Migrate,
    /// Copy the database into a new file, also while it is served
    Backup {
        /// File to make; one that is there is not overwritten
        #[arg(long)]
        to: PathBuf,
    },
    /// Print the OpenAPI document
    Openapi,
    /// API keys
    Key {
        #[command(subcommand)]
        command: KeyCommand,
    },
    /// Ask a running service whether it is ready; for container health checks
    Healthcheck {
        /// Address of the service; RILLCAST_LISTEN when left out
        #[arg(long)]
        address: Option<SocketAddr>,
    },
    /// Print the effective settings, secrets masked
    #[command(after_help = Config::help())]
    Config,
}

#[derive(Debug, Subcommand)]
enum KeyCommand {
    /// Make a key and print it once
    Create {
        /// What the key is for
        #[arg(long, value_parser = key_name)]
        name: String,
        /// Scopes, separated by commas; all when left out
        #[arg(long, value_delimiter = ',')]
        scopes: Vec<String>,
    },
    /// List the keys: id, when it was made and revoked, name, scopes
    List,
    /// Revoke a key
    Revoke {
        /// Its id, the part between the underscores, or the whole key
        key: String,
    },
}

fn main() -> ExitCode {
    let cli = Cli::parse();
    let runtime = match tokio::runtime::Builder::new_multi_thread().enable_all().build() {
        Ok(runtime) => runtime,
        Err(error) => return fail(&error),
    };
    let done = runtime.block_on(run(cli));
    // The store is closed by now; a search that nobody waits for any more does not hold the end.
    runtime.shutdown_background();
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => fail(error.as_ref()),
    }
}

fn fail(error: &dyn Error) -> ExitCode {
    let _ = writeln!(std::io::stderr(), "rillcast: {error}");
    ExitCode::FAILURE
}

/// The name of a key: it is one line of the audit trail and must say something.
fn key_name(text: &str) -> Result<String, String> {
    Label::new(text)
        .map(|name| name.to_string())
        .ok_or_else(|| "a name of 1 to 200 characters on one line, at least one of them visible".to_owned())
}

/// What looks like a setting in the environment and is none.
fn unknown_settings() -> Vec<String> {
    Config::unknown(std::env::vars_os().filter_map(|(name, _)| name.into_string().ok()))
}

/// Tells on standard error what looks like a setting and is none: a misspelled RILLCAST_DATABASE would have a command work on another
/// file without a word.
fn tell_unknown() {
    for told in unknown_settings() {
        let _ = writeln!(std::io::stderr(), "rillcast: {told}");
    }
}

/// Takes the address and opens the database; a failure names which of them it was.
async fn started(config: Config) -> Result<(TcpListener, AppState), Box<dyn Error>> {
    let (address, database) = (config.listen, config.database.clone());
    let listener = TcpListener::bind(address)
        .await
        .map_err(|e| format!("cannot listen on {address} (RILLCAST_LISTEN): {e}"))?;
    let state = AppState::open(config).await.map_err(|e| cannot_open(&database, &e))?;
    Ok((listener, state))
}

fn cannot_open(database: &Path, error: &StoreError) -> String {
    format!("cannot open {} (RILLCAST_DATABASE): {error}", database.display())
}

/// The store of a command that serves nothing.
async fn store(config: &Config) -> Result<Store, String> {
    Store::open(&config.database, 1).await.map_err(|e| cannot_open(&config.database, &e))
}

/// The store of a command that has nothing to do where there is none: a mistyped name makes no new one.
async fn there(config: &Config) -> Result<Store, String> {
    if !config.database.exists() {
        return Err(format!("there is no database {} (RILLCAST_DATABASE)", config.database.display()));
    }
    store(config).await
}

/// The id of a key in what was given: the id, the key, or a header with it. What has none is not said again, for it may be a secret.
fn key_id(text: &str) -> Result<&str, String> {
    let is_id =
        |part: &&str| part.len() == 12 && part.bytes().all(|b| matches!(b, b'a'..=b'z' | b'2'..=b'7'));
    text.split(|c: char| !c.is_ascii_alphanumeric()).find(is_id).ok_or_else(|| {
        "the id of a key has 12 small letters and digits; `rillcast key list` lists them".to_owned()
    })
}

fn key_line(key: &KeyRow) -> String {
    let KeyRow { id, name, secret_hash: _, scopes, created_at, revoked_at } = key;
    let told = |at: i64| {
        jiff::Timestamp::from_millisecond(at).map_or_else(|_| at.to_string(), |t| format!("{t:.0}"))
    };
    let ended = revoked_at.map_or_else(|| "live".to_owned(), |at| format!("revoked {}", told(at)));
    format!("{id}  made {}  {ended}  {name}  {}", told(*created_at), scopes.replace(' ', ","))
}

fn say(text: &str) {
    let _ = writeln!(std::io::stdout(), "{text}");
}

async fn run(cli: Cli) -> Result<(), Box<dyn Error>> {
    let config = || Config::read(|name| std::env::var(name).ok());
    // What a service says goes into its log, which one program may read line by line.
    if !matches!(cli.command, Command::Serve) {
        tell_unknown();
    }
    match cli.command {
        Command::Serve => {
            let config = config().inspect_err(|_| tell_unknown())?;
            telemetry::start(&config);
            for told in unknown_settings() {
                tracing::warn!("{told}");
            }
            let (listener, state) = started(config).await?;
            let database = std::path::absolute(&state.inner.config.database)?;
            tracing::info!(address = %listener.local_addr()?, database = %database.display(), "serving");
            serve(state, listener, stop_signal()).await;
        }
        Command::Demo { database, port } => {
            let mut config = config()?;
            config.database = database;
            config.listen = SocketAddr::from(([127, 0, 0, 1], port));
            config.log = "warn".to_owned();
            config.log_json = false;
            telemetry::start(&config);
            let (listener, state) = started(config).await?;
            let address = listener.local_addr()?;
            let loaded = demo::load(&state).await?;
            say(&demo::greeting(&loaded, address));
            serve(state, listener, stop_signal()).await;
        }
        Command::Migrate => {
            let config = config()?;
            store(&config).await?.close().await;
            say(&format!("{} is at the schema of this build", config.database.display()));
        }
        Command::Backup { to } => {
            let database = config()?.database;
            let store = Store::to_copy(&database).await.map_err(|error| match error {
                BackupError::Store(error) => cannot_open(&database, &error),
                other => format!("{other} (RILLCAST_DATABASE)"),
            })?;
            let copied = store.back_up(&to).await;
            store.close().await;
            copied?;
            say(&format!("{} is {} as it was now", to.display(), database.display()));
        }
        Command::Openapi => {
            let _ = write!(std::io::stdout(), "{}", rillcast::http::openapi::text());
        }
        Command::Key { command: KeyCommand::List } => {
            let store = there(&config()?).await?;
            let keys = store.keys().await;
            store.close().await;
            for key in keys? {
                say(&key_line(&key));
            }
        }
        Command::Key { command: KeyCommand::Create { name, scopes } } => {
            let mut chosen = Vec::new();
            for word in &scopes {
                let known = Scope::ALL.iter().map(|s| s.word()).collect::<Vec<_>>().join(", ");
                chosen
                    .push(Scope::from_word(word).ok_or(format!("`{word}` is no scope; there are: {known}"))?);
            }
            if chosen.is_empty() {
                chosen = Scope::ALL.to_vec();
            }
            let config = config()?;
            let is_new = !config.database.exists();
            let store = store(&config).await?;
            if is_new {
                let _ = writeln!(std::io::stderr(), "rillcast: {} is made anew", config.database.display());
            }
            let key = create_key(&store, &name, &chosen, false).await?;
            store.close().await;
            say(&key);
        }
        Command::Key { command: KeyCommand::Revoke { key } } => {
            // Whoever revokes a key that leaked has the whole of it at hand.
            let id = key_id(&key)?;
            let store = there(&config()?).await?;
            let revoked = rillcast::http::auth::revoke_key(&store, id).await?;
            store.close().await;
            if !revoked {
                return Err(format!("there is no live key of the id `{id}`").into());
            }
            say("revoked");
        }
        Command::Healthcheck { address } => {
            let address = match address {
                Some(address) => address,
                None => config()?.listen,
            };
            health::check(address).await?;
        }
        Command::Config => {
            for line in config()?.lines() {
                say(&line);
            }
        }
    }
    Ok(())
}

/// Resolves on Ctrl-C or, on Unix, on SIGTERM.
async fn stop_signal() {
    let interrupt = async {
        let _ = tokio::signal::ctrl_c().await;
    };
    #[cfg(unix)]
    {
        let terminate = async {
            match tokio::signal::unix::signal(tokio::signal::unix::SignalKind::terminate()) {
                Ok(mut signal) => {
                    signal.recv().await;
                }
                Err(_) => std::future::pending().await,
            }
        };
        tokio::select! {
            () = interrupt => {}
            () = terminate => {}
        }
    }
    #[cfg(not(unix))]
    interrupt.await;
}
