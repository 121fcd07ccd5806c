//! Rows of different length, held in one piece.

/// Cells row by row.
#[derive(Debug, Clone)]
pub(super) struct Grid<T> {
    cells: Vec<T>,
    /// Where each row begins, and behind them where the last one ends.
    bounds: Vec<usize>,
}

impl<T> Grid<T> {
    /// No rows, with room for so many of them and for so many cells.
    pub(super) fn with_room(rows: usize, cells: usize) -> Self {
        let mut bounds = Vec::with_capacity(rows + 1);
        bounds.push(0);
        Self { cells: Vec::with_capacity(cells), bounds }
    }

    /// So many rows of cells that each name the row they belong to; within a row they keep their order.
    pub(super) fn grouped(rows: usize, cells: impl Iterator<Item = (usize, T)> + Clone) -> Self
    where
        T: Copy + Default,
    {
        // where each row begins, from how many cells there are before it
        let mut bounds = vec![0; rows + 1];
        for (row, _) in cells.clone() {
            if let Some(end) = bounds.get_mut(row + 1) {
                *end += 1;
            }
        }
        let mut sum = 0;
        for bound in &mut bounds {
            sum += *bound;
            *bound = sum;
        }
        let mut next = bounds.clone();
        let mut placed = vec![T::default(); sum];
        for (row, cell) in cells {
            // a row beyond the last has no place
            let Some(at) = next.get_mut(row).filter(|_| row < rows) else { continue };
            if let Some(place) = placed.get_mut(*at) {
                *place = cell;
            }
            *at += 1;
        }
        Self { cells: placed, bounds }
    }

    /// A further row.
    pub(super) fn push(&mut self, row: impl IntoIterator<Item = T>) {
        self.cells.extend(row);
        self.bounds.push(self.cells.len());
    }

    /// How many rows there are.
    pub(super) fn len(&self) -> usize {
        self.bounds.len() - 1
    }

    /// The cells of all rows, one after the other.
    pub(super) fn cells(&self) -> &[T] {
        &self.cells
    }

    /// A row; none of its cells where there is no such row.
    pub(super) fn row(&self, at: usize) -> &[T] {
        let bounds = self.bounds.get(at).zip(self.bounds.get(at + 1));
        bounds.and_then(|(from, to)| self.cells.get(*from..*to)).unwrap_or_default()
    }

    /// Every row.
    pub(super) fn rows(&self) -> impl ExactSizeIterator<Item = &[T]> {
        let ends = self.bounds.get(1..).unwrap_or_default();
        self.bounds.iter().zip(ends).map(|(from, to)| self.cells.get(*from..*to).unwrap_or_default())
    }

    /// Throws out cells; whether there was one.
    pub(super) fn retain(&mut self, keep: impl Fn(&T) -> bool) -> bool {
        // mostly there is none
        if self.cells.iter().all(&keep) {
            return false;
        }
        let (mut from, mut kept) = (0, 0);
        for bound in self.bounds.iter_mut().skip(1) {
            kept += self.cells.get(from..*bound).unwrap_or_default().iter().filter(|cell| keep(cell)).count();
            from = *bound;
            *bound = kept;
        }
        self.cells.retain(keep);
        true
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn is_the_same_as_a_list_of_rows(rows in prop::collection::vec(prop::collection::vec(0_u32..9, 0..5), 0..9), out in 0_u32..9) {
            let mut grid = Grid::with_room(0, 0);
            rows.iter().for_each(|row| grid.push(row.iter().copied()));
            let list = |grid: &Grid<u32>| grid.rows().map(<[u32]>::to_vec).collect::<Vec<_>>();
            prop_assert_eq!(list(&grid), rows.clone());
            prop_assert_eq!(grid.len(), rows.len());
            prop_assert_eq!(grid.cells(), rows.concat());
            prop_assert_eq!((0..=rows.len()).map(|n| grid.row(n).to_vec()).collect::<Vec<_>>(), [rows.clone(), vec![vec![]]].concat());
            let left: Vec<Vec<u32>> = rows.iter().map(|row| row.iter().copied().filter(|c| *c != out).collect()).collect();
            prop_assert_eq!(grid.retain(|cell| *cell != out), left != rows);
            prop_assert_eq!(list(&grid), left);
        }

        #[test]
        fn groups_as_a_stable_sort_by_row_does(cells in prop::collection::vec((0_usize..6, 0_u32..99), 0..30), rows in 0_usize..7) {
            let grid = Grid::grouped(rows, cells.iter().copied());
            let of = |row: usize| cells.iter().filter(|(r, _)| *r == row).map(|(_, cell)| *cell).collect::<Vec<_>>();
            prop_assert_eq!(grid.rows().map(<[u32]>::to_vec).collect::<Vec<_>>(), (0..rows).map(of).collect::<Vec<_>>());
        }
    }
}
