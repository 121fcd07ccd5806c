//! Use of one resource over working time, as a step function.

/// Steps `(from, used)` in order of time: `used` holds from there to the next step. Nothing is used before
/// the first.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct Profile {
    steps: Vec<(i64, u32)>,
}

impl Profile {
    pub(crate) fn clear(&mut self) {
        self.steps.clear();
    }

    /// Adds a use from `from` to `to`.
    pub(crate) fn book(&mut self, from: i64, to: i64, amount: u32) {
        let first = self.cut(from);
        let last = self.cut(to);
        for step in self.steps.get_mut(first..last).unwrap_or_default() {
            step.1 = step.1.saturating_add(amount);
        }
    }

    /// Index of the step that begins at `at`; made where there is none.
    fn cut(&mut self, at: i64) -> usize {
        match self.steps.binary_search_by_key(&at, |s| s.0) {
            Ok(index) => index,
            Err(index) => {
                let used = index.checked_sub(1).and_then(|i| self.steps.get(i)).map_or(0, |s| s.1);
                self.steps.insert(index, (at, used));
                index
            }
        }
    }

    /// `None` when `amount` more fits from `from` for `length` minutes; else the first minute from which it
    /// is worth looking again, always later than `from`.
    pub(crate) fn blocked_until(&self, from: i64, length: i64, amount: u32, limit: u32) -> Option<i64> {
        let to = from + length;
        let first = self.steps.partition_point(|s| s.0 <= from).saturating_sub(1);
        let mut blocked = false;
        for &(at, used) in self.steps.get(first..).unwrap_or_default() {
            let over = used.saturating_add(amount) > limit;
            if blocked && !over {
                return Some(at);
            }
            if !blocked && at >= to {
                return None;
            }
            blocked = over;
        }
        None
    }
}

#[cfg(test)]
mod tests {
    use super::Profile;

    #[test]
    fn the_first_gap_long_enough_is_found() {
        let mut profile = Profile::default();
        profile.book(10, 20, 1);
        profile.book(30, 40, 1);
        profile.book(20, 25, 2);
        assert_eq!(profile.blocked_until(0, 10, 2, 2), None);
        assert_eq!(profile.blocked_until(0, 11, 2, 2), Some(25));
        assert_eq!(profile.blocked_until(25, 5, 2, 2), None);
        assert_eq!(profile.blocked_until(25, 6, 2, 2), Some(40));
        assert_eq!(profile.blocked_until(12, 8, 1, 2), None);
        assert_eq!(profile.blocked_until(12, 9, 1, 2), Some(25));
        assert_eq!(profile.blocked_until(40, 1_000, 2, 2), None);
    }
}
