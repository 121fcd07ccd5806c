//! What finished jobs teach about the rates. Nothing here changes a rate: it proposes, a person decides.
//!
//! ```text
//! Observation (estimated, actual) ─▶ rates::learn ─▶ RateEvidence ─▶ propose ─▶ Proposal (old, new, evidence)
//!                                        └─▶ risk::Spread of the next estimate
//! Record (by task, method, soil, crew, season) ─▶ compare ─▶ estimate against actual
//! ```
//!
//! | module | holds |
//! |---|---|
//! | [`observation`] | what was estimated and what it took, and a person's word to leave one out |
//! | [`known`] | rates that were learned before: where they stand and how well they are known |
//! | [`settings`] | how strongly the book holds, how fast old jobs fade, when data is enough |
//! | [`rates`] | [`rates::learn`]: every rate's posterior, shrunk from its class |
//! | `mixed`, `cholesky` | the model behind the rates, and the inverse of the matrix that solves it |
//! | [`evidence`] | what is known of one rate: posterior, percentiles, enough data or not, flags |
//! | [`outliers`] | flags, never removals |
//! | [`propose`] | proposed rates |
//! | [`compare`] | estimate against actual, grouped |

mod cholesky;
pub mod compare;
pub mod evidence;
pub mod known;
mod mixed;
pub mod observation;
pub mod outliers;
pub mod propose;
pub mod rates;
pub mod settings;

pub use evidence::RateEvidence;
pub use known::Known;
pub use observation::{ClassId, Exclusion, JobId, Observation, RateId};
pub use rates::{LearnError, LearnRequest, Learned, learn};
pub(crate) use settings::OutOfRange;
pub use settings::{LearnSettings, Setting};
