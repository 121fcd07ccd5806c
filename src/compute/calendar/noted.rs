//! A value together with what its reader must know.

/// A result and its cautions, such as "outside the range for which the formula was made": the caution travels
/// with the number instead of being lost in a log.
#[derive(Debug, Clone, PartialEq)]
pub struct Noted<T> {
    /// The result.
    pub value: T,
    /// Cautions, empty when there are none.
    pub cautions: Vec<String>,
}

impl<T> Noted<T> {
    /// A result without cautions.
    pub fn plain(value: T) -> Self {
        Noted { value, cautions: Vec::new() }
    }

    /// The same cautions with another value.
    pub fn map<U>(self, f: impl FnOnce(T) -> U) -> Noted<U> {
        Noted { value: f(self.value), cautions: self.cautions }
    }
}
