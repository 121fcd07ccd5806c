//! Texts that no log may show.

use std::fmt;
use std::ops::Deref;

/// A secret: read like any text, written out nowhere.
pub struct Secret(String);

impl From<String> for Secret {
    fn from(text: String) -> Self {
        Self(text)
    }
}

impl Deref for Secret {
    type Target = str;

    fn deref(&self) -> &str {
        &self.0
    }
}

impl fmt::Debug for Secret {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("(masked)")
    }
}
