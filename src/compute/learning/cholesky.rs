//! Inverse of a small symmetric positive definite matrix.

/// Square matrix, row by row.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Square {
    pub(crate) size: usize,
    cells: Vec<f64>,
}

impl Square {
    pub(crate) fn zero(size: usize) -> Self {
        Square { size, cells: vec![0.0; size * size] }
    }

    pub(crate) fn get(&self, row: usize, column: usize) -> f64 {
        self.cells.get(row * self.size + column).copied().unwrap_or(0.0)
    }

    pub(crate) fn add(&mut self, row: usize, column: usize, value: f64) {
        if let Some(cell) = self.cells.get_mut(row * self.size + column) {
            *cell += value;
        }
    }

    fn set(&mut self, row: usize, column: usize, value: f64) {
        if let Some(cell) = self.cells.get_mut(row * self.size + column) {
            *cell = value;
        }
    }

    /// Product with a vector.
    pub(crate) fn times(&self, vector: &[f64]) -> Vec<f64> {
        let row = |r: usize| vector.iter().enumerate().map(|(c, v)| self.get(r, c) * v).sum();
        (0..self.size).map(row).collect()
    }

    /// The inverse by Cholesky's factors; `None` unless positive definite.
    pub(crate) fn inverse(&self) -> Option<Square> {
        let n = self.size;
        let mut lower = Square::zero(n);
        for row in 0..n {
            for column in 0..=row {
                let known: f64 = (0..column).map(|k| lower.get(row, k) * lower.get(column, k)).sum();
                let rest = self.get(row, column) - known;
                if row == column {
                    if rest <= 0.0 || !rest.is_finite() {
                        return None;
                    }
                    lower.set(row, row, rest.sqrt());
                } else {
                    lower.set(row, column, rest / lower.get(column, column));
                }
            }
        }
        // inverse of the lower factor, then its transpose times itself
        let mut inverse_lower = Square::zero(n);
        for column in 0..n {
            for row in column..n {
                let unit = if row == column { 1.0 } else { 0.0 };
                let known: f64 =
                    (column..row).map(|k| lower.get(row, k) * inverse_lower.get(k, column)).sum();
                inverse_lower.set(row, column, (unit - known) / lower.get(row, row));
            }
        }
        let mut inverse = Square::zero(n);
        for row in 0..n {
            for column in 0..=row {
                let sum = (row..n).map(|k| inverse_lower.get(k, row) * inverse_lower.get(k, column)).sum();
                inverse.set(row, column, sum);
                inverse.set(column, row, sum);
            }
        }
        Some(inverse)
    }
}

#[cfg(test)]
#[expect(clippy::unwrap_used, reason = "a test on a matrix known to have an inverse")]
mod tests {
    use super::Square;

    #[test]
    fn inverse_times_matrix_is_one() {
        let mut m = Square::zero(3);
        for (r, row) in [[4.0, 1.0, 0.5], [1.0, 3.0, -0.2], [0.5, -0.2, 2.0]].iter().enumerate() {
            for (c, value) in row.iter().enumerate() {
                m.add(r, c, *value);
            }
        }
        let inverse = m.inverse().unwrap();
        for column in 0..3 {
            let unit: Vec<f64> = (0..3).map(|r| inverse.get(r, column)).collect();
            for (row, value) in m.times(&unit).iter().enumerate() {
                let expected = if row == column { 1.0 } else { 0.0 };
                assert!((value - expected).abs() < 1e-12);
            }
        }
    }

    #[test]
    fn what_is_not_positive_definite_has_none() {
        assert_eq!(Square::zero(2).inverse(), None);
    }
}
