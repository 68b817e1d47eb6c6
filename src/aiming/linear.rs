//! The little linear algebra that the estimator needs, on square matrices stored row by row.

/// Lower triangle L with L·Lᵀ = `matrix` (of order `n`). A pivot that rounding made negative counts as zero.
pub fn cholesky(matrix: &[f64], n: usize) -> Vec<f64> {
    let mut l = vec![0.0; n * n];
    for i in 0..n {
        for j in 0..=i {
            let dot: f64 = (0..j).map(|k| l[i * n + k] * l[j * n + k]).sum();
            let rest = matrix[i * n + j] - dot;
            l[i * n + j] = if i == j {
                libm::sqrt(rest.max(0.0))
            } else if l[j * n + j] > 1e-9 {
                rest / l[j * n + j]
            } else {
                0.0
            };
        }
    }
    l
}

/// L⁻¹·x of a lower triangle; a row without a pivot gives 0.
pub fn forward(l: &[f64], n: usize, x: &[f64]) -> Vec<f64> {
    let mut y = vec![0.0; n];
    for i in 0..n {
        let dot: f64 = (0..i).map(|k| l[i * n + k] * y[k]).sum();
        let pivot = l[i * (n + 1)];
        y[i] = if pivot > 1e-9 { (x[i] - dot) / pivot } else { 0.0 };
    }
    y
}

/// Row `i` of a lower triangle times a vector.
pub fn row_times(l: &[f64], n: usize, i: usize, x: &[f64]) -> f64 {
    l[i * n..=i * n + i].iter().zip(x).map(|(a, b)| a * b).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_factor_multiplies_back() {
        let matrix = [4.0, 2.0, 0.6, 2.0, 5.0, 1.0, 0.6, 1.0, 3.0];
        let l = cholesky(&matrix, 3);
        for i in 0..3 {
            for j in 0..3 {
                let product: f64 = (0..3).map(|k| l[i * 3 + k] * l[j * 3 + k]).sum();
                assert!((product - matrix[i * 3 + j]).abs() < 1e-12);
            }
        }
        assert_eq!(row_times(&l, 3, 0, &[3.0, 9.0, 9.0]), 6.0);
        let x = forward(&l, 3, &[6.0, 1.0, 2.0]);
        for (i, y) in [6.0, 1.0, 2.0].into_iter().enumerate() {
            assert!((row_times(&l, 3, i, &x) - y).abs() < 1e-12);
        }
    }

    #[test]
    fn a_singular_matrix_has_a_factor_too() {
        let l = cholesky(&[1.0, 1.0, 1.0, 1.0], 2);
        assert_eq!(l, [1.0, 0.0, 1.0, 0.0]);
    }
}
