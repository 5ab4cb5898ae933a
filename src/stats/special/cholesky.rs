//! Symmetric positive definite matrices of a few dozen rows, by their Cholesky factor.
//!
//! Promises to name the first column that the ones before it determine. Stops at dense matrices.

/// Smallest share of a column's own square that may be left once the columns before it are taken out.
const COLLINEAR: f64 = 1e-11;

/// Inverse of the symmetric positive definite `matrix` (rows of equal length).
///
/// # Errors
/// The first column that is a combination of the ones before it.
///
/// Source: Golub & Van Loan (2013), Matrix Computations, 4th ed., section 4.2 [section from memory].
pub fn inverse(matrix: &[Vec<f64>]) -> Result<Vec<Vec<f64>>, usize> {
    let size = matrix.len();
    let factor = factor(matrix)?;
    let mut inverse = vec![vec![0.0; size]; size];
    invert(&factor, &mut inverse, &mut vec![0.0; size]);
    Ok(inverse)
}

/// The same of a matrix of a known size, which needs no memory beside it.
///
/// # Errors
/// As [`inverse`].
pub fn inverse_of<const SIZE: usize>(
    matrix: &[[f64; SIZE]; SIZE],
) -> Result<[[f64; SIZE]; SIZE], usize> {
    let mut factor = [[0.0; SIZE]; SIZE];
    factorise(matrix, &mut factor)?;
    let mut inverse = [[0.0; SIZE]; SIZE];
    invert(&factor, &mut inverse, &mut [0.0; SIZE]);
    Ok(inverse)
}

/// The inverse from the factor, with room for a column.
fn invert<R: AsRef<[f64]> + AsMut<[f64]>>(factor: &[R], inverse: &mut [R], x: &mut [f64]) {
    let size = factor.len();
    let of = |i: usize, k: usize| factor[i].as_ref()[k];
    for column in 0..size {
        x.fill(0.0);
        for i in column..size {
            let unit = if i == column { 1.0 } else { 0.0 };
            let known: f64 = (column..i).map(|k| of(i, k) * x[k]).sum();
            x[i] = (unit - known) / of(i, i);
        }
        for i in (0..size).rev() {
            let known: f64 = (i + 1..size).map(|k| of(k, i) * x[k]).sum();
            x[i] = (x[i] - known) / of(i, i);
        }
        for (row, value) in inverse.iter_mut().zip(&*x) {
            row.as_mut()[column] = *value;
        }
    }
}

/// Solution `x` of `matrix x = right`, the matrix as for [`inverse`].
///
/// # Errors
/// As [`inverse`].
pub fn solve(matrix: &[Vec<f64>], right: &[f64]) -> Result<Vec<f64>, usize> {
    let factor = factor(matrix)?;
    let mut x = right.to_vec();
    for i in 0..x.len() {
        let known = dot(&factor[i][..i], &x[..i]);
        x[i] = (x[i] - known) / factor[i][i];
    }
    for i in (0..x.len()).rev() {
        let known: f64 = (i + 1..x.len()).map(|k| factor[k][i] * x[k]).sum();
        x[i] = (x[i] - known) / factor[i][i];
    }
    Ok(x)
}

/// Product of a square matrix and a vector.
pub fn times(matrix: &[Vec<f64>], vector: &[f64]) -> Vec<f64> {
    matrix.iter().map(|row| dot(row, vector)).collect()
}

/// Sum of products.
pub fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

fn factor(matrix: &[Vec<f64>]) -> Result<Vec<Vec<f64>>, usize> {
    let size = matrix.len();
    let mut factor = vec![vec![0.0; size]; size];
    factorise(matrix, &mut factor)?;
    Ok(factor)
}

/// The factor, into a matrix of zeros.
fn factorise<R: AsRef<[f64]> + AsMut<[f64]>>(matrix: &[R], factor: &mut [R]) -> Result<(), usize> {
    for i in 0..matrix.len() {
        for j in 0..=i {
            let known = dot(&factor[i].as_ref()[..j], &factor[j].as_ref()[..j]);
            let left = matrix[i].as_ref()[j] - known;
            if i == j {
                // Written so that NaN fails too.
                let sound = left > COLLINEAR * matrix[i].as_ref()[i] && left.is_finite();
                if !sound {
                    return Err(i);
                }
                factor[i].as_mut()[i] = left.sqrt();
            } else {
                factor[i].as_mut()[j] = left / factor[j].as_ref()[j];
            }
        }
    }
    Ok(())
}
