//! What stops a price book from being published.

use crate::wire::Faults;
use crate::wire::book::BookDoc;

/// Every fault of the document.
pub fn faults(_doc: &BookDoc) -> Faults {
    Faults::new()
}
