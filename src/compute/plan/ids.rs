//! Names that stay the same for the life of a job.

use thiserror::Error;

/// A name that breaks the rule of [`is_label`].
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("`{value}` is no {what}: give 1 to 64 of the characters a-z, A-Z, 0-9, `-`, `_`, `.`")]
pub struct LabelError {
    /// What the name was for.
    pub what: &'static str,
    /// The name as given, shortened to 80 characters.
    pub value: String,
}

/// Whether a text is 1 to 64 ASCII letters, digits, `-`, `_` or `.`.
pub fn is_label(text: &str) -> bool {
    (1..=64).contains(&text.len())
        && text.bytes().all(|b| b.is_ascii_alphanumeric() || matches!(b, b'-' | b'_' | b'.'))
}

/// Declares a name type with one constructor.
macro_rules! label {
    ($(#[$doc:meta])* $name:ident, $what:literal) => {
        $(#[$doc])*
        #[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(String);

        impl $name {
            /// Checks the text.
            ///
            /// # Errors
            /// [`LabelError`](crate::compute::plan::ids::LabelError) unless it is 1 to 64 ASCII letters,
            /// digits, `-`, `_`, `.`.
            pub fn new(text: impl Into<String>) -> Result<Self, $crate::compute::plan::ids::LabelError> {
                let text = text.into();
                if $crate::compute::plan::ids::is_label(&text) {
                    return Ok($name(text));
                }
                Err($crate::compute::plan::ids::LabelError {
                    what: $what,
                    value: text.chars().take(80).collect(),
                })
            }

            /// The text.
            pub fn as_str(&self) -> &str {
                &self.0
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str(&self.0)
            }
        }

        impl std::str::FromStr for $name {
            type Err = $crate::compute::plan::ids::LabelError;

            fn from_str(text: &str) -> Result<Self, Self::Err> {
                Self::new(text)
            }
        }
    };
}
pub(crate) use label;

label!(
    /// A task of a plan; the same for the life of the job, so that calendars and schedulers can follow it.
    TaskId,
    "task id"
);
label!(
    /// A crew.
    CrewId,
    "crew id"
);
label!(
    /// A trade, such as laborer or operator.
    TradeId,
    "trade id"
);
label!(
    /// A machine, or a kind of machine of which there are several.
    MachineId,
    "machine id"
);
