//! Which columns of a design of non-negative exposures the rows can tell apart.
//!
//! Promises: columns that are equal in every row form one group; a group is determined if no
//! combination of the groups that leaves every row as it is changes it. Stops at linear algebra:
//! what the counts of the rows add to it is `segment_hazard`'s business.

/// What is left of an entry of order 1 that counts as nothing.
const NOTHING: f64 = 1e-9;

/// Groups of equal columns, in the order of their first members; columns without exposure are in
/// none.
pub(super) fn groups(rows: &[&[f64]], columns: usize) -> Vec<Vec<usize>> {
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for column in 0..columns {
        if rows.iter().all(|row| row[column] == 0.0) {
            continue;
        }
        let equal = |group: &&mut Vec<usize>| {
            group.first().is_some_and(|first| rows.iter().all(|row| row[*first] == row[column]))
        };
        match groups.iter_mut().find(equal) {
            Some(group) => group.push(column),
            None => groups.push(vec![column]),
        }
    }
    groups
}

/// Groups and rows that hang together, directly or over others: each part can be fitted alone.
#[derive(Clone, Debug)]
pub(super) struct Part {
    pub groups: Vec<usize>,
    pub rows: Vec<usize>,
}

/// The parts of a design, `rows` giving the groups that each row passes.
pub(super) fn parts(rows: &[Vec<usize>], groups: usize) -> Vec<Part> {
    let mut of: Vec<usize> = (0..groups).collect();
    // Few groups and short chains: relabelling is simpler than a tree.
    for row in rows {
        let Some(label) = row.iter().map(|group| of[*group]).min() else { continue };
        let joined: Vec<usize> = row.iter().map(|group| of[*group]).collect();
        of.iter_mut().filter(|part| joined.contains(part)).for_each(|part| *part = label);
    }
    let labels = (0..groups).filter(|group| of[*group] == *group);
    labels
        .map(|label| Part {
            groups: (0..groups).filter(|group| of[*group] == label).collect(),
            rows: (0..rows.len())
                .filter(|row| rows[*row].first().is_some_and(|group| of[*group] == label))
                .collect(),
        })
        .collect()
}

/// Rows after Gauss-Jordan elimination, and the pivot column of each of the first of them.
///
/// Source: Golub & Van Loan (2013), Matrix Computations, 4th ed., section 3.4 [section from memory].
fn reduced(rows: &[Vec<f64>], columns: usize) -> (Vec<Vec<f64>>, Vec<usize>) {
    let mut rows: Vec<Vec<f64>> = rows.to_vec();
    let mut pivots: Vec<usize> = Vec::new();
    for column in 0..columns {
        let done = pivots.len();
        let size = |row: usize, rows: &[Vec<f64>]| rows[row][column].abs();
        let best = (done..rows.len())
            .max_by(|a, b| size(*a, &rows).total_cmp(&size(*b, &rows)).then(b.cmp(a)));
        let Some(best) = best.filter(|best| size(*best, &rows) > NOTHING) else { continue };
        rows.swap(done, best);
        let pivot = rows[done][column];
        rows[done].iter_mut().for_each(|x| *x /= pivot);
        let pivot = rows[done].clone();
        for (place, row) in rows.iter_mut().enumerate() {
            let share = row[column];
            if place != done && share != 0.0 {
                row.iter_mut().zip(&pivot).for_each(|(x, y)| *x -= share * y);
                row[column] = 0.0;
            }
        }
        pivots.push(column);
    }
    (rows, pivots)
}

/// How many columns the rows tell apart.
pub(super) fn rank(rows: &[Vec<f64>], columns: usize) -> usize {
    reduced(rows, columns).1.len()
}

/// For every column whether the rows determine it: it has no part in the null space.
pub(super) fn determined(rows: &[Vec<f64>], columns: usize) -> Vec<bool> {
    let (rows, pivots) = reduced(rows, columns);
    let loose: Vec<usize> = (0..columns).filter(|column| !pivots.contains(column)).collect();
    let mut determined = vec![false; columns];
    for (row, pivot) in rows.iter().zip(&pivots) {
        determined[*pivot] = loose.iter().all(|column| row[*column].abs() <= NOTHING);
    }
    determined
}
