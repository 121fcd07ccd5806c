//! Bearer API keys: `rc_<id>_<secret>`. Everything under `/v1` needs one; a scope per operation, deny by default.

use super::credential::Schemes;
use super::problem::{self, Problem};
use crate::app::AppState;
use crate::store::{Actor, StoreError};
use axum::extract::{FromRequestParts, Request, State};
use axum::http::{HeaderValue, header, request::Parts};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use base64::Engine as _;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use sha2::{Digest, Sha256};
use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};
use subtle::ConstantTimeEq as _;

macro_rules! scopes {
    ($($(#[doc = $doc:literal])+ $name:ident = $word:literal;)+) => {
        /// What a key may do.
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        pub enum Scope { $($(#[doc = $doc])+ $name,)+ }

        impl Scope {
            /// Every scope.
            pub const ALL: &'static [Scope] = &[$(Scope::$name),+];
            /// The word of a scope.
            pub const fn word(self) -> &'static str { match self { $(Scope::$name => $word,)+ } }
            /// What it lets a key do.
            pub const fn about(self) -> &'static str { match self { $(Scope::$name => concat!($($doc),+),)+ } }
            /// The scope of a word.
            pub fn from_word(word: &str) -> Option<Scope> { match word { $($word => Some(Scope::$name),)+ _ => None } }
        }

        /// One marker type per scope, for handlers to name in their signature.
        pub mod may {
            $($(#[doc = $doc])+ #[derive(Debug, Clone, Copy)] pub struct $name;
            impl super::Needs for $name { const SCOPE: super::Scope = super::Scope::$name; })+
        }
    };
}

scopes! {
    /// Use the calculators.
    Calculate = "calculate";
    /// Read price books.
    PriceBooksRead = "price-books:read";
    /// Write and publish price books.
    PriceBooksWrite = "price-books:write";
    /// Read rain tables.
    RainTablesRead = "rain-tables:read";
    /// Store rain tables.
    RainTablesWrite = "rain-tables:write";
    /// Read jobs.
    JobsRead = "jobs:read";
    /// Write jobs.
    JobsWrite = "jobs:write";
    /// Read estimates.
    EstimatesRead = "estimates:read";
    /// Make estimates.
    EstimatesWrite = "estimates:write";
    /// Read quotes and change orders.
    QuotesRead = "quotes:read";
    /// Write quotes and change orders and record what the customer decided.
    QuotesWrite = "quotes:write";
    /// Read invoices, credit notes and the ledger.
    InvoicesRead = "invoices:read";
    /// Make invoices and credit notes.
    InvoicesWrite = "invoices:write";
    /// Report payments, voids and costs, as the accounting system does.
    AccountingWrite = "accounting:write";
    /// Read plans.
    PlansRead = "plans:read";
    /// Make plans and report progress.
    PlansWrite = "plans:write";
    /// Read what happened on jobs, and estimate against actual.
    ActualsRead = "actuals:read";
    /// Record what happened on jobs.
    ActualsWrite = "actuals:write";
    /// Read the audit trail.
    AuditRead = "audit:read";
}

/// A scope as a type.
pub trait Needs {
    /// The scope.
    const SCOPE: Scope;
}

/// Who is calling. Handlers take [`Caller`]`<may::…>`: a handler that does not cannot compile an [`Actor`].
#[derive(Debug, Clone)]
pub struct Caller<S> {
    /// Id of the key.
    pub key_id: String,
    scope: std::marker::PhantomData<S>,
}

#[derive(Debug, Clone)]
struct Verified {
    key_id: String,
    scopes: Arc<[Scope]>,
}

/// Keys checked a moment ago, so that calculators do not read the database; by their SHA-256, so that none of them stands in memory.
/// A revoked key stops within these seconds.
#[derive(Debug, Default)]
pub struct KeyCache(Mutex<HashMap<[u8; 32], (Verified, Instant)>>);

const TRUSTED_FOR: Duration = Duration::from_secs(3);

/// A fresh key: its id, its secret part, and the whole text to show once.
pub fn make_key() -> (String, String, String) {
    const BASE32: &[u8; 32] = b"abcdefghijklmnopqrstuvwxyz234567";
    let random: [u8; 12] = rand::random();
    let id: String = random.iter().map(|b| BASE32[usize::from(b % 32)] as char).collect();
    let bytes: [u8; 32] = rand::random();
    let secret = URL_SAFE_NO_PAD.encode(bytes);
    let whole = format!("rc_{id}_{secret}");
    (id, secret, whole)
}

/// SHA-256 of a secret, hex. A random 256-bit secret needs no slow hash.
pub fn hash(secret: &str) -> String {
    hex(&Sha256::digest(secret.as_bytes()))
}

pub(crate) fn hex(bytes: &[u8]) -> String {
    use std::fmt::Write as _;
    bytes.iter().fold(String::with_capacity(bytes.len() * 2), |mut out, b| {
        let _ = write!(out, "{b:02x}");
        out
    })
}

async fn verify(state: &AppState, text: &str, schemes: Schemes) -> Result<Verified, Problem> {
    let invalid = || {
        let detail = "the API key is unknown, revoked or mistyped";
        schemes.refuse(problem::BAD_CREDENTIAL, detail, Some("invalid_token"))
    };
    let digest: [u8; 32] = Sha256::digest(text.as_bytes()).into();
    {
        let cache = state.inner.keys.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((verified, at)) = cache.get(&digest)
            && at.elapsed() < TRUSTED_FOR
        {
            return Ok(verified.clone());
        }
    }
    let mut parts = text.splitn(3, '_');
    let (Some("rc"), Some(id), Some(secret)) = (parts.next(), parts.next(), parts.next()) else {
        return Err(invalid());
    };
    let row = state.inner.store.key(id).await?;
    // An unknown id costs the same comparison as a wrong secret.
    let stored = row.as_ref().map_or_else(|| "0".repeat(64), |r| r.secret_hash.clone());
    let same: bool = hash(secret).as_bytes().ct_eq(stored.as_bytes()).into();
    match row {
        Some(row) if same && row.revoked_at.is_none() => {
            let scopes: Arc<[Scope]> = row.scopes.split(' ').filter_map(Scope::from_word).collect();
            let verified = Verified { key_id: row.id, scopes };
            let mut cache = state.inner.keys.0.lock().unwrap_or_else(PoisonError::into_inner);
            if cache.len() > 1000 {
                cache.clear();
            }
            cache.insert(digest, (verified.clone(), Instant::now()));
            Ok(verified)
        }
        _ => Err(invalid()),
    }
}

/// Checks the key of every request under `/v1`, then its quota.
pub async fn require_key(State(state): State<AppState>, mut request: Request, next: Next) -> Response {
    let schemes = Schemes::of(&request);
    let verified = match schemes.key(&request) {
        Ok(key) => verify(&state, &key, schemes).await,
        Err(problem) => Err(problem),
    };
    let verified = match verified {
        Ok(verified) => verified,
        Err(problem) => return problem.into_response(),
    };
    super::layers::asked_by(&verified.key_id);
    let per_minute = state.inner.config.requests_per_minute;
    let limited = per_minute > 0;
    let taken = limited.then(|| state.inner.quota.take(&verified.key_id, per_minute, Instant::now()));
    let mut response = match taken {
        Some(taken) if !taken.granted => {
            Problem::new(problem::QUOTA_USED, format!("this key may ask {per_minute} times a minute"))
                .header(header::RETRY_AFTER, &taken.wait.to_string())
                .into_response()
        }
        _ => {
            request.extensions_mut().insert(verified);
            next.run(request).await
        }
    };
    for (name, value) in taken.into_iter().flat_map(|taken| taken.headers(per_minute)) {
        if let Ok(value) = HeaderValue::from_str(&value) {
            response.headers_mut().insert(name, value);
        }
    }
    response
}

impl<S: Needs + Send> FromRequestParts<AppState> for Caller<S> {
    type Rejection = Problem;

    async fn from_request_parts(parts: &mut Parts, _: &AppState) -> Result<Self, Problem> {
        let Some(verified) = parts.extensions.get::<Verified>() else {
            return Err(Schemes::Bearer.none_sent());
        };
        if !verified.scopes.contains(&S::SCOPE) {
            let word = S::SCOPE.word();
            let detail = format!("this operation needs the scope `{word}`");
            let challenge =
                format!("Bearer realm=\"rillcast\", error=\"insufficient_scope\", scope=\"{word}\"");
            return Err(
                Problem::new(problem::MISSING_SCOPE, detail).header(header::WWW_AUTHENTICATE, &challenge)
            );
        }
        Ok(Self { key_id: verified.key_id.clone(), scope: std::marker::PhantomData })
    }
}

impl<S> Caller<S> {
    /// Who writes now.
    pub fn actor(&self) -> Actor {
        Actor {
            key_id: self.key_id.clone(),
            request_id: super::layers::current_request_id(),
            now: super::now_ms(),
        }
    }
}

/// Makes and stores a key; gives the text to show once.
///
/// # Errors
/// When the database refuses.
pub async fn create_key(
    store: &crate::store::Store,
    name: &str,
    scopes: &[Scope],
    revoke_same_name: bool,
) -> Result<String, StoreError> {
    let (id, secret, whole) = make_key();
    let words: Vec<&str> = scopes.iter().map(|s| s.word()).collect();
    let actor = Actor { key_id: "cli".to_owned(), request_id: "cli".to_owned(), now: super::now_ms() };
    let mut write = store.begin(actor).await?;
    if revoke_same_name {
        write.revoke_keys_named(name).await?;
    }
    write.put_key(&id, name, &hash(&secret), &words.join(" ")).await?;
    write.commit().await?;
    Ok(whole)
}

/// Revokes a key by its id; says whether there was a live one.
///
/// # Errors
/// When the database refuses.
pub async fn revoke_key(store: &crate::store::Store, id: &str) -> Result<bool, StoreError> {
    let actor = Actor { key_id: "cli".to_owned(), request_id: "cli".to_owned(), now: super::now_ms() };
    let mut write = store.begin(actor).await?;
    let revoked = write.revoke_key(id).await?;
    write.commit().await?;
    Ok(revoked)
}
