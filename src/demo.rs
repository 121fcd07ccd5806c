//! What `rillcast demo` sets up.

use crate::app::AppState;
use crate::domain::demo::{BOOK, NOTES, RAIN};
use crate::http::auth::{Scope, create_key};
use crate::http::now_ms;
use crate::http::v1::new_id;
use crate::store::jobs::JobFields;
use crate::store::{Actor, StoreError};
use crate::wire::book::BookDoc;
use crate::wire::notes::SiteNotes;
use crate::wire::rain::RainTableDoc;
use crate::wire::read_document;
use std::error::Error;
use std::net::SocketAddr;

/// Ids and the key of the demo.
#[derive(Debug, Clone)]
pub struct Loaded {
    /// The demo job.
    pub job: String,
    /// A fresh key with every scope.
    pub key: String,
}

fn actor() -> Actor {
    Actor { key_id: "cli".to_owned(), request_id: "demo".to_owned(), now: now_ms() }
}

/// Loads the demo book and job unless they are there, and makes a fresh key; the one of the last start is revoked.
///
/// # Errors
/// When the database refuses or the demo documents do not hold.
pub async fn load(state: &AppState) -> Result<Loaded, Box<dyn Error>> {
    let store = &state.inner.store;
    if store.current_version(&state.today().to_string()).await?.is_none() {
        let doc: BookDoc = read_document(BOOK.as_bytes())?;
        let (book, version) = (new_id("pb"), new_id("pbv"));
        let mut write = store.begin(actor()).await?;
        write.put_book(&book, doc.name.as_str()).await?;
        write.put_version(&version, &book, &serde_json::to_string(&doc)?).await?;
        write.publish_version(&version, 1).await?;
        write.commit().await?;
    }
    let rain: RainTableDoc = read_document(RAIN.as_bytes())?;
    if store.rain_table(rain.code.as_str()).await?.is_none() {
        let mut write = store.begin(actor()).await?;
        let text = serde_json::to_string(&rain)?;
        write.put_rain_table(rain.code.as_str(), rain.name.as_str(), &text, None).await?;
        write.commit().await?;
    }
    let notes: SiteNotes = read_document(NOTES.as_bytes())?;
    let fields = job_fields(&notes)?;
    let job = match store.job_titled(&fields.title).await? {
        Some(job) => job,
        None => {
            let job = new_id("job");
            let mut write = store.begin(actor()).await?;
            write.put_job(&job, &fields).await?;
            write.commit().await?;
            job
        }
    };
    let key = create_key(store, "demo", Scope::ALL, true).await?;
    Ok(Loaded { job, key })
}

fn job_fields(notes: &SiteNotes) -> Result<JobFields, Box<dyn Error>> {
    let (Some(title), Some(customer), Some(site)) = (&notes.title, &notes.customer, &notes.site) else {
        return Err(Box::new(StoreError::Corrupt("the demo notes lack title, customer or site".to_owned())));
    };
    Ok(JobFields {
        title: title.to_string(),
        customer_name: customer.name.to_string(),
        customer: serde_json::to_string(customer)?,
        site_address: site.address.to_string(),
        site: serde_json::to_string(site)?,
        notes: Some(serde_json::to_string(notes)?),
        refs: Vec::new(),
        external_refs: "[]".to_owned(),
        closed: false,
    })
}

/// What the demo prints: a ready-to-paste command that returns a real estimate.
pub fn greeting(loaded: &Loaded, address: SocketAddr) -> String {
    let Loaded { job, key } = loaded;
    format!(
        "rillcast demo serves on http://{address} (API page: http://{address}/docs). Stop it with Ctrl-C.\n\
         Key for this start: {key}\n\n\
         Estimate the demo job, from another terminal:\n\n\
         curl -sS -X POST http://{address}/v1/jobs/{job}/estimates -H 'Authorization: Bearer {key}'\n"
    )
}
