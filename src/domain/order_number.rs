//! Numbers of purchase orders.

use std::fmt;

/// Number of a purchase order: the estimate it is of, and its place in the list of that estimate, from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct OrderNumber<'e> {
    /// Id of the estimate.
    pub estimate: &'e str,
    /// Its place, from 1.
    pub place: usize,
}

impl fmt::Display for OrderNumber<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { estimate, place } = self;
        write!(f, "{estimate}-{place}")
    }
}

impl OrderNumber<'_> {
    /// The estimate that a number names, whatever stands behind it: who mistakes the place is told the orders that there are.
    pub fn estimate_of(number: &str) -> Option<&str> {
        number.rsplit_once('-').map(|(estimate, _)| estimate)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_names_its_estimate() {
        let number = OrderNumber { estimate: "est_01", place: 12 }.to_string();
        assert_eq!(number, "est_01-12");
        assert_eq!(OrderNumber::estimate_of(&number), Some("est_01"));
        assert_eq!(OrderNumber::estimate_of("est_01-x"), Some("est_01"));
        assert_eq!(OrderNumber::estimate_of("est_01"), None);
    }
}
