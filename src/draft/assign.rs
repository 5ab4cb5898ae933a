//! The best one-to-one assignment of rows to columns of a table of gains.

/// For each row the column it gets, none where nothing is gained. The sum of the gains is the
/// largest possible.
///
/// `gains[row][column]`, 0 or less for a pair that must not be; all rows equally long. Work grows
/// with rows squared times columns.
///
/// Source: shortest augmenting paths with potentials, Jonker & Volgenant (1987), Computing 38,
/// 325-340 [from memory; own formulation]. Each row has a column of its own that gains nothing.
pub fn assign(gains: &[Vec<f64>]) -> Vec<Option<usize>> {
    let rows = gains.len();
    let columns = gains.first().map_or(0, Vec::len);
    let cost = |row: usize, column: usize| -> f64 {
        match gains[row].get(column) {
            Some(gain) if *gain > 0.0 => -gain,
            // Columns behind the last are the rows' own.
            _ if column == columns + row => 0.0,
            _ => f64::INFINITY,
        }
    };
    let mut search = Search::new(rows, columns + rows);
    for row in 0..rows {
        search.insert(row, &cost);
    }
    let mut found = vec![None; rows];
    for (column, row) in search.row_of.iter().enumerate().take(columns) {
        if let Some(row) = row {
            found[*row] = Some(column);
        }
    }
    found
}

/// The assignment of the rows inserted so far, with the potentials that prove it the best.
struct Search {
    row_of: Vec<Option<usize>>,
    row_potential: Vec<f64>,
    column_potential: Vec<f64>,
}

/// Shortest paths from a new row to every column.
struct Paths {
    length: Vec<f64>,
    before: Vec<Option<usize>>,
    done: Vec<bool>,
}

impl Search {
    fn new(rows: usize, columns: usize) -> Self {
        Self {
            row_of: vec![None; columns],
            row_potential: vec![0.0; rows],
            column_potential: vec![0.0; columns],
        }
    }

    fn insert(&mut self, new: usize, cost: &dyn Fn(usize, usize) -> f64) {
        let columns = self.row_of.len();
        let mut paths = Paths {
            length: vec![f64::INFINITY; columns],
            before: vec![None; columns],
            done: vec![false; columns],
        };
        let (mut row, mut from, mut walked) = (new, None, 0.0);
        loop {
            self.relax(&mut paths, row, from, walked, cost);
            let open = (0..columns).filter(|column| !paths.done[*column]);
            let nearest = open.min_by(|a, b| paths.length[*a].total_cmp(&paths.length[*b]));
            // The row's own column is always within reach.
            let Some(nearest) = nearest.filter(|column| paths.length[*column].is_finite()) else {
                return;
            };
            walked = paths.length[nearest];
            paths.done[nearest] = true;
            match self.row_of[nearest] {
                Some(next) => (row, from) = (next, Some(nearest)),
                None => return self.augment(&paths, new, nearest, walked),
            }
        }
    }

    fn relax(
        &self,
        paths: &mut Paths,
        row: usize,
        from: Option<usize>,
        walked: f64,
        cost: &dyn Fn(usize, usize) -> f64,
    ) {
        for column in 0..self.row_of.len() {
            let reduced =
                cost(row, column) - self.row_potential[row] - self.column_potential[column];
            if !paths.done[column] && walked + reduced < paths.length[column] {
                paths.length[column] = walked + reduced;
                paths.before[column] = from;
            }
        }
    }

    fn augment(&mut self, paths: &Paths, new: usize, end: usize, walked: f64) {
        for column in 0..self.row_of.len() {
            if paths.done[column] && column != end {
                let shift = walked - paths.length[column];
                self.column_potential[column] -= shift;
                if let Some(row) = self.row_of[column] {
                    self.row_potential[row] += shift;
                }
            }
        }
        self.row_potential[new] += walked;
        let mut column = end;
        while let Some(before) = paths.before[column] {
            self.row_of[column] = self.row_of[before];
            column = before;
        }
        self.row_of[column] = Some(new);
    }
}
