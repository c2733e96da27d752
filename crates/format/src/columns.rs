//! How wide a column is.

/// How many characters wider than the middle cell of its column a cell may be and still count.
pub const ODD: usize = 12;

/// The width of a column with cells of these widths.
pub(crate) fn width(mut cells: Vec<usize>) -> usize {
    cells.sort_unstable();
    let middle = cells.len().checked_sub(1).and_then(|last| cells.get(last / 2)).copied().unwrap_or(0);
    cells.into_iter().rev().find(|width| *width <= middle + ODD).unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::width;

    #[test]
    fn the_widest_cell_counts_unless_it_is_odd() {
        assert_eq!(width(vec![]), 0);
        assert_eq!(width(vec![7]), 7);
        assert_eq!(width(vec![2, 9, 4]), 9);
        assert_eq!(width(vec![2, 17, 4]), 4);
        assert_eq!(width(vec![2, 16, 4]), 16);
        assert_eq!(width(vec![40, 4]), 4);
    }
}
