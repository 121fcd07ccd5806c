//! The running service: what handlers share, and serving from a listener until told to stop.

use crate::compute::rain::RainTable;
use crate::config::Config;
use crate::domain::book::{BookRef, PriceBook};
use crate::http::auth::KeyCache;
use crate::http::layers::Quota;
use crate::http::patience::Patient;
use crate::http::refused::Told;
use crate::http::secret::Secret;
use crate::store::{Store, StoreError};
use crate::wire::Code;
use crate::wire::book::BookDoc;
use crate::wire::day::{Day, OfficeDay};
use crate::wire::rain::RainTableDoc;
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::server::graceful::GracefulShutdown;
use hyper_util::service::TowerToHyperService;
use std::collections::HashMap;
use std::future::Future;
use std::io::ErrorKind;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{OwnedSemaphorePermit, Semaphore};

/// What handlers share. Cheap to clone.
#[derive(Debug, Clone)]
pub struct AppState {
    /// The shared part.
    pub inner: Arc<Inner>,
}

/// The shared part of [`AppState`].
#[derive(Debug)]
pub struct Inner {
    /// Settings.
    pub config: Config,
    /// Store.
    pub store: Store,
    /// Requests at once.
    pub concurrency: Semaphore,
    /// Computations at once on threads of their own.
    pub computing: Arc<Semaphore>,
    /// Keys checked a moment ago.
    pub keys: KeyCache,
    /// Requests per key.
    pub quota: Quota,
    /// Signs cursors.
    pub cursor_secret: Secret,
    /// Whether the service takes new work.
    pub draining: AtomicBool,
    books: Mutex<BookCache>,
    /// Rain tables never change, so those asked for are kept.
    rains: Mutex<HashMap<String, RainTable>>,
}

/// A checked book with the reference answers carry.
pub type LoadedBook = (Arc<PriceBook>, Arc<BookRef>);

/// Published books never change, so they are kept checked in memory; which one is current is asked again after a moment.
#[derive(Debug, Default)]
struct BookCache {
    by_id: HashMap<String, LoadedBook>,
    current: Option<(String, Instant)>,
}

const MOST_BOOKS: usize = 32;
const MOST_RAINS: usize = 256;
const CURRENT_FOR: Duration = Duration::from_secs(1);

/// How many computations run at once: as many as there are cores, more would only take each longer; but two at least, so that a
/// long one does not hold up every other.
fn computations() -> usize {
    std::thread::available_parallelism().map_or(2, |cores| cores.get().max(2))
}

/// Why a book cannot be used.
#[derive(Debug)]
pub enum BookError {
    /// There is no such version.
    Unknown,
    /// It is a draft.
    NotPublished,
    /// It was retired as a draft.
    Withdrawn,
    /// None is published.
    NoneCurrent,
    /// The store failed.
    Store(StoreError),
}

impl From<StoreError> for BookError {
    fn from(error: StoreError) -> Self {
        BookError::Store(error)
    }
}

impl AppState {
    /// Opens the store and makes the state.
    ///
    /// # Errors
    /// When the database cannot be opened or migrated.
    pub async fn open(config: Config) -> Result<AppState, StoreError> {
        let store = Store::open(&config.database, config.readers).await?;
        let cursor_secret = store
            .secret("cursor_secret", || {
                format!("{:032x}{:032x}", rand::random::<u128>(), rand::random::<u128>())
            })
            .await?;
        Ok(AppState {
            inner: Arc::new(Inner {
                concurrency: Semaphore::new(config.concurrency),
                computing: Arc::new(Semaphore::new(computations())),
                config,
                store,
                keys: KeyCache::default(),
                quota: Quota::default(),
                cursor_secret: cursor_secret.into(),
                draining: AtomicBool::new(false),
                books: Mutex::new(BookCache::default()),
                rains: Mutex::new(HashMap::new()),
            }),
        })
    }

    /// A rain table by its code.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn rain_table(&self, code: &Code) -> Result<Option<RainTable>, StoreError> {
        let lock = || self.inner.rains.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(found) = lock().get(code.as_str()) {
            return Ok(Some(found.clone()));
        }
        let Some(row) = self.inner.store.rain_table(code.as_str()).await? else { return Ok(None) };
        let corrupt = |e: String| StoreError::Corrupt(e);
        let doc: RainTableDoc =
            crate::wire::read_document(row.document.as_bytes()).map_err(|e| corrupt(e.to_string()))?;
        let table = crate::compute::rain_tables::table(&doc).map_err(|e| corrupt(e.to_string()))?;
        let mut cache = lock();
        if cache.len() >= MOST_RAINS {
            cache.clear();
        }
        cache.insert(row.code, table.clone());
        Ok(Some(table))
    }

    fn cached(&self, id: &str) -> Option<LoadedBook> {
        self.inner.books.lock().unwrap_or_else(PoisonError::into_inner).by_id.get(id).cloned()
    }

    /// Which day it is at the office.
    pub fn today(&self) -> jiff::civil::Date {
        self.day_at(crate::http::now())
    }

    /// Which day it was at the office at an instant.
    pub fn day_at(&self, instant: jiff::Timestamp) -> jiff::civil::Date {
        self.inner.config.time_zone.to_datetime(instant).date()
    }

    /// The day that everything said to have happened is held against, papers and records alike; `None` when the clock is outside
    /// the calendar.
    pub fn office_day(&self) -> Option<OfficeDay<'_>> {
        let zone = self.inner.config.time_zone.iana_name().unwrap_or("UTC");
        Day::of(self.today()).map(|day| OfficeDay { day, zone })
    }

    /// Forgets which version is current; called when one is published or retired.
    pub fn forget_current(&self) {
        self.inner.books.lock().unwrap_or_else(PoisonError::into_inner).current = None;
    }

    /// The book of a version, or the current one.
    ///
    /// # Errors
    /// [`BookError`].
    pub async fn book(&self, version: Option<&str>) -> Result<LoadedBook, BookError> {
        let id = match version {
            Some(id) => id.to_owned(),
            None => {
                let fresh = {
                    let cache = self.inner.books.lock().unwrap_or_else(PoisonError::into_inner);
                    cache.current.clone().filter(|(_, at)| at.elapsed() < CURRENT_FOR)
                };
                match fresh {
                    Some((id, _)) => id,
                    None => {
                        let id = self
                            .inner
                            .store
                            .current_version(&self.today().to_string())
                            .await?
                            .ok_or(BookError::NoneCurrent)?;
                        let mut cache = self.inner.books.lock().unwrap_or_else(PoisonError::into_inner);
                        cache.current = Some((id.clone(), Instant::now()));
                        id
                    }
                }
            }
        };
        if let Some(found) = self.cached(&id) {
            return Ok(found);
        }
        let row = self.inner.store.version(&id).await?.ok_or(BookError::Unknown)?;
        if row.published_at.is_none() {
            let withdrawn = row.retired_at.is_some();
            return Err(if withdrawn { BookError::Withdrawn } else { BookError::NotPublished });
        }
        let corrupt = |e: String| BookError::Store(StoreError::Corrupt(e));
        let doc: BookDoc =
            crate::wire::read_document(row.document.as_bytes()).map_err(|e| corrupt(e.to_string()))?;
        let book = PriceBook::published(doc);
        let reference = BookRef { version_id: row.id, name: row.name, number: row.number };
        let loaded = (Arc::new(book), Arc::new(reference));
        let mut cache = self.inner.books.lock().unwrap_or_else(PoisonError::into_inner);
        if cache.by_id.len() >= MOST_BOOKS {
            cache.by_id.clear();
        }
        cache.by_id.insert(id, loaded.clone());
        Ok(loaded)
    }
}

/// How long to wait before the next connection is taken where one could not be.
const ACCEPT_AGAIN: Duration = Duration::from_secs(1);
/// How often at most the log tells that connections wait.
const TELL_AGAIN: Duration = Duration::from_secs(10);

/// The next connection, with its place among those that are held at once.
async fn next_connection(
    listener: &TcpListener,
    places: &Arc<Semaphore>,
    told: &mut Option<Instant>,
) -> (TcpStream, Option<OwnedSemaphorePermit>) {
    if places.available_permits() == 0 && told.is_none_or(|at| at.elapsed() >= TELL_AGAIN) {
        *told = Some(Instant::now());
        tracing::warn!("as many connections as may be at once (RILLCAST_CONNECTIONS): further ones wait");
    }
    // The places are never closed: there is one.
    let place = Arc::clone(places).acquire_owned().await.ok();
    loop {
        match listener.accept().await {
            Ok((stream, _)) => return (stream, place),
            // Gone before it was taken.
            Err(error)
                if matches!(
                    error.kind(),
                    ErrorKind::ConnectionAborted | ErrorKind::ConnectionReset | ErrorKind::ConnectionRefused
                ) => {}
            Err(error) => {
                tracing::error!(%error, "a connection could not be taken");
                tokio::time::sleep(ACCEPT_AGAIN).await;
            }
        }
    }
}

/// Serves until `shutdown` resolves, then drains.
pub async fn serve(state: AppState, listener: TcpListener, shutdown: impl Future<Output = ()>) {
    let router = crate::http::router(state.clone()).with_state::<()>(());
    let connections = GracefulShutdown::new();
    let limit = state.inner.config.deadline;
    let places = Arc::new(Semaphore::new(state.inner.config.connections));
    let mut told = None;
    let mut http = http1::Builder::new();
    // A client that never ends the head of its request, or that keeps a connection without asking, would hold it for ever.
    http.timer(TokioTimer::new()).header_read_timeout(limit);
    let mut shutdown = std::pin::pin!(shutdown);
    loop {
        let (stream, place) = tokio::select! {
            taken = next_connection(&listener, &places, &mut told) => taken,
            () = &mut shutdown => break,
        };
        let service = TowerToHyperService::new(router.clone());
        let stream = TokioIo::new(Told::new(Patient::new(stream, limit)));
        let connection = connections.watch(http.serve_connection(stream, service));
        tokio::spawn(async move {
            if let Err(error) = connection.await {
                tracing::debug!(%error, "a connection broke off");
            }
            drop(place);
        });
    }
    state.inner.draining.store(true, Ordering::SeqCst);
    drop(listener);
    let drain = state.inner.config.drain;
    if tokio::time::timeout(drain, connections.shutdown()).await.is_err() {
        tracing::warn!(
            drain_seconds = drain.as_secs(),
            "requests still running at the end of the drain are cut off"
        );
    }
    state.inner.store.close().await;
}
