//! Zones touch only their neighbours: a system with three diagonals, solved in one sweep down and one up.

/// Solves `off x[i-1] + diagonal[i] x[i] + off x[i+1] = right[i]` (Thomas). Stable where the diagonal outweighs its
/// neighbours, as exhaust makes it.
pub(crate) fn solve(diagonal: &[f64], off: f64, right: &[f64]) -> Vec<f64> {
    let count = diagonal.len();
    let mut above = vec![0.0; count];
    let mut solution = vec![0.0; count];
    for at in 0..count {
        let (above_before, solved_before) = if at > 0 { (above[at - 1], solution[at - 1]) } else { (0.0, 0.0) };
        let below = if at > 0 { off } else { 0.0 };
        let pivot = diagonal[at] - below * above_before;
        above[at] = off / pivot;
        solution[at] = (right[at] - below * solved_before) / pivot;
    }
    for at in (0..count.saturating_sub(1)).rev() {
        solution[at] -= above[at] * solution[at + 1];
    }
    solution
}

#[cfg(test)]
mod tests {
    use super::solve;

    #[test]
    fn the_solution_satisfies_every_row() {
        let (diagonal, off, right) = ([4.0, 5.0, 6.0, 3.0], -1.0, [1.0, 2.0, 3.0, 4.0]);
        let x = solve(&diagonal, off, &right);
        for row in 0..4 {
            let before = if row > 0 { off * x[row - 1] } else { 0.0 };
            let after = if row < 3 { off * x[row + 1] } else { 0.0 };
            assert!((before + diagonal[row] * x[row] + after - right[row]).abs() < 1e-12, "row {row}");
        }
        assert_eq!(solve(&[2.0], -1.0, &[3.0]), [1.5]);
    }
}
