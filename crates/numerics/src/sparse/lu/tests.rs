use std::sync::Arc;

use faer::linalg::solvers::Solve;
use faer::sparse::{SparseColMat, Triplet};
use faer::{Col, c64};

use super::{Lu, LuSymbolic, NOWHERE, Stencil};
use crate::sparse::SparseError;

/// Deterministic numbers in (0, 1) (a 64-bit linear congruential generator).
struct Numbers(u64);

impl Numbers {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Kind {
    /// Rows dominated by their diagonal, couplings of both signs.
    Dominant,
    /// Diffusion and upwinded convection, columns summing to little more than zero.
    Carried,
}

fn matrix(symbolic: &LuSymbolic, kind: Kind, seed: u64) -> Vec<f64> {
    let mut numbers = Numbers(seed);
    let pattern = &symbolic.pattern;
    let mut values = vec![0.0; symbolic.value_count()];
    let mut diagonals = vec![1e-3; symbolic.unknowns()];
    for row in 0..symbolic.unknowns() {
        for value in pattern.row(row) {
            let column = pattern.columns[value];
            if column == NOWHERE || column as usize == row {
                // Must not be read.
                values[value] = f64::NAN;
                continue;
            }
            match kind {
                Kind::Dominant => {
                    values[value] = 2.0 * numbers.next() - 1.0;
                    diagonals[row] += values[value].abs();
                }
                Kind::Carried => {
                    let carried = if (column as usize) < row { 50.0 } else { 0.0 };
                    values[value] = -(0.1 + numbers.next() + carried);
                    diagonals[column as usize] -= values[value];
                }
            }
        }
    }
    for row in 0..symbolic.unknowns() {
        let mut rest = diagonals[row];
        for value in pattern.row(row) {
            if pattern.columns[value] as usize == row {
                values[value] = std::mem::take(&mut rest);
            }
        }
    }
    values
}

fn general(symbolic: &LuSymbolic, values: &[f64]) -> SparseColMat<usize, f64> {
    let n = symbolic.unknowns();
    let mut triplets = Vec::new();
    for row in 0..n {
        for value in symbolic.pattern.row(row) {
            let column = symbolic.pattern.columns[value];
            if column != NOWHERE {
                triplets.push(Triplet::new(row, column as usize, values[value]));
            }
        }
    }
    SparseColMat::try_new_from_triplets(n, n, &triplets).unwrap()
}

fn loads(n: usize, count: usize) -> Vec<f64> {
    let mut numbers = Numbers(7);
    (0..n * count).map(|_| numbers.next() - 0.5).collect()
}

fn largest(values: &[f64]) -> f64 {
    values.iter().fold(0.0, |most: f64, value| most.max(value.abs()))
}

/// Solutions of both systems against those of the general solver, which exchanges rows.
fn agrees(symbolic: LuSymbolic, kind: Kind, count: usize) {
    let symbolic = Arc::new(symbolic);
    let n = symbolic.unknowns();
    let values = matrix(&symbolic, kind, n as u64);
    let lu = Lu::factor(&symbolic, &values).unwrap();
    let reference = general(&symbolic, &values).sp_lu().unwrap();
    let b = loads(n, count);
    let (mut x, mut y) = (b.clone(), b.clone());
    lu.solve(&mut x).unwrap();
    lu.solve_transposed(&mut y).unwrap();
    for ((b, x), y) in b.chunks(n).zip(x.chunks(n)).zip(y.chunks(n)) {
        let right = Col::from_fn(n, |i| b[i]);
        let (plain, transposed) = (reference.solve(&right), reference.solve_transpose(&right));
        for (own, other) in [(x, plain), (y, transposed)] {
            let error = (0..n).fold(0.0, |most: f64, i| most.max((own[i] - other[i]).abs()));
            assert!(error <= 1e-10 * largest(own), "{n} {kind:?} {error:e} of {:e}", largest(own));
        }
        let mut r = vec![0.0; n];
        symbolic.residual(&values, x, b, &mut r).unwrap();
        assert!(largest(&r) < 1e-12 * (largest(b) + 100.0 * largest(x)), "{n} {kind:?} residual {:e}", largest(&r));
        symbolic.multiply_transposed(&values, y, &mut r).unwrap();
        assert!(r.iter().zip(b).all(|(r, b)| (r - b).abs() < 1e-12 * (1.0 + 100.0 * largest(y))));
    }
}

const SIZES: [[usize; 2]; 22] = [
    [1, 1],
    [1, 2],
    [2, 1],
    [1, 3],
    [3, 3],
    [1, 17],
    [1, 90],
    [2, 41],
    [5, 3],
    [40, 3],
    [70, 1],
    [4, 4],
    [7, 9],
    [9, 8],
    [13, 31],
    [31, 13],
    [30, 22],
    [25, 60],
    [60, 25],
    [8, 120],
    [47, 38],
    [17, 33],
];

#[test]
fn cylinders_and_strips_of_any_size_agree_with_the_general_solver() {
    for (index, [radial, circumferential]) in SIZES.into_iter().enumerate() {
        for stencil in [Stencil::Five, Stencil::Nine] {
            for periodic in [false, true] {
                for kind in [Kind::Dominant, Kind::Carried] {
                    agrees(LuSymbolic::cylinder(radial, circumferential, stencil, periodic).unwrap(), kind, 1 + index % 6);
                }
            }
        }
    }
}

/// An annulus of nodes with a hole cut out, two unknowns a node, in no order.
fn annulus(radial: usize, circumferential: usize) -> LuSymbolic {
    let mut numbers = Numbers(11);
    let n = radial * circumferential;
    let mut order: Vec<usize> = (0..n).collect();
    for i in (1..n).rev() {
        order.swap(i, (numbers.next() * (i + 1) as f64) as usize);
    }
    let mut rows = vec![Vec::new(); 2 * n];
    let mut coordinates = vec![[0.0; 2]; 2 * n];
    for c in 0..circumferential {
        for r in 0..radial {
            let node = order[c * radial + r];
            let angle = 2.0 * std::f64::consts::PI * c as f64 / circumferential as f64;
            let radius = 1.0 + r as f64 / circumferential as f64;
            for own in 0..2 {
                coordinates[2 * node + own] = [radius * angle.cos(), radius * angle.sin()];
                rows[2 * node + own].extend([2 * node, 2 * node + 1]);
                for (a, b) in [(r + 1, c), (r.wrapping_sub(1), c), (r, (c + 1) % circumferential)] {
                    if a < radial {
                        rows[2 * node + own].push(2 * order[b * radial + a] + own);
                    }
                }
            }
        }
    }
    let mut offsets = vec![0];
    offsets.extend(rows.iter().scan(0, |end, row| {
        *end += row.len();
        Some(*end)
    }));
    LuSymbolic::new(&offsets, &rows.concat(), &coordinates).unwrap()
}

#[test]
fn any_pattern_in_the_plane_agrees_with_the_general_solver() {
    for (radial, circumferential) in [(1, 4), (3, 7), (9, 40)] {
        agrees(annulus(radial, circumferential), Kind::Dominant, 3);
        agrees(annulus(radial, circumferential), Kind::Carried, 1);
    }
}

#[test]
fn factoring_again_gives_the_same_bits() {
    let symbolic = Arc::new(LuSymbolic::cylinder(23, 37, Stencil::Nine, true).unwrap());
    let first = matrix(&symbolic, Kind::Carried, 1);
    let second = matrix(&symbolic, Kind::Dominant, 2);
    let mut lu = Lu::factor(&symbolic, &first).unwrap();
    lu.refactor(&second).unwrap();
    lu.refactor(&first).unwrap();
    let fresh = Lu::factor(&symbolic, &first).unwrap();
    assert_eq!(lu.panels, fresh.panels);
    assert_eq!(lu.patch_panels.get(), fresh.patch_panels.get());
}

#[test]
fn a_singular_matrix_names_the_unknown_that_lost_its_pivot() {
    let symbolic = Arc::new(LuSymbolic::cylinder(12, 30, Stencil::Five, true).unwrap());
    let mut values = matrix(&symbolic, Kind::Dominant, 3);
    values[5 * 100..5 * 101].fill(0.0);
    let mut lu = Lu::factor(&symbolic, &matrix(&symbolic, Kind::Dominant, 3)).unwrap();
    assert!(matches!(lu.refactor(&values), Err(SparseError::LostPivot { unknown: 100, .. })));
    assert_eq!(lu.solve(&mut [0.0; 360]), Err(SparseError::NotFactored));
    // All rows sum to zero: nothing holds the level.
    for value in values.chunks_exact_mut(5) {
        value.copy_from_slice(&[-1.0, -1.0, 4.0, -1.0, -1.0]);
    }
    for (node, value) in values.chunks_exact_mut(5).enumerate() {
        value[2] = if node % 12 == 0 || node % 12 == 11 { 3.0 } else { 4.0 };
    }
    assert!(matches!(lu.refactor(&values), Err(SparseError::LostPivot { .. })));
    values[5 * 40 + 2] = f64::NAN;
    assert!(matches!(lu.refactor(&values), Err(SparseError::MatrixNotFinite { .. })));
    values[5 * 40 + 2] = 5.0;
    lu.refactor(&values).unwrap();
    lu.solve(&mut [0.0; 360]).unwrap();
}

/// A complex matrix against the real one of twice the size, `[[A, -B], [B, A]]`.
#[test]
fn complex_matrices_agree_with_the_general_solver() {
    for ([radial, circumferential], periodic) in [([5, 3], true), ([13, 31], false), ([30, 47], true), ([9, 8], false)] {
        let symbolic = Arc::new(LuSymbolic::cylinder(radial, circumferential, Stencil::Nine, periodic).unwrap());
        let n = symbolic.unknowns();
        let (real, imaginary) = (matrix(&symbolic, Kind::Carried, 6), matrix(&symbolic, Kind::Carried, 7));
        let values: Vec<c64> = real.iter().zip(&imaginary).map(|(&re, &im)| c64::new(re, 0.3 * im)).collect();
        let mut triplets = Vec::new();
        for row in 0..n {
            for value in symbolic.pattern.row(row).filter(|&value| symbolic.pattern.columns[value] != NOWHERE) {
                let (column, entry) = (symbolic.pattern.columns[value] as usize, values[value]);
                triplets.extend([
                    Triplet::new(row, column, entry.re),
                    Triplet::new(row, column + n, -entry.im),
                    Triplet::new(row + n, column, entry.im),
                    Triplet::new(row + n, column + n, entry.re),
                ]);
            }
        }
        let general = SparseColMat::<usize, f64>::try_new_from_triplets(2 * n, 2 * n, &triplets).unwrap().sp_lu().unwrap();
        let b: Vec<c64> = loads(2 * n, 2).chunks(2).map(|pair| c64::new(pair[0], pair[1])).collect();
        let lu = Lu::factor(&symbolic, &values).unwrap();
        let mut x = b.clone();
        lu.solve(&mut x).unwrap();
        for (b, x) in b.chunks(n).zip(x.chunks(n)) {
            let solution = general.solve(&Col::from_fn(2 * n, |i| if i < n { b[i].re } else { b[i - n].im }));
            let most = x.iter().fold(0.0, |most: f64, x| most.max(x.norm()));
            assert!((0..n).all(|i| (x[i] - c64::new(solution[i], solution[i + n])).norm() < 1e-11 * most), "{radial} x {circumferential}");
        }
        let mut y = b[..n].to_vec();
        lu.solve_transposed(&mut y).unwrap();
        let mut back = vec![c64::new(0.0, 0.0); n];
        symbolic.multiply_transposed(&values, &y, &mut back).unwrap();
        let most = y.iter().fold(0.0, |most: f64, y| most.max(y.norm()));
        assert!(back.iter().zip(&b).all(|(back, b)| (back - b).norm() < 1e-12 * (1.0 + 100.0 * most)));
    }
}

/// Processors with shorter vectors, or none, take the same steps.
#[test]
fn other_instructions_give_the_same_solution() {
    let symbolic = Arc::new(LuSymbolic::cylinder(30, 47, Stencil::Nine, true).unwrap());
    let values = matrix(&symbolic, Kind::Carried, 5);
    let mut lu = Lu::factor(&symbolic, &values).unwrap();
    let mut x = loads(symbolic.unknowns(), 4);
    let (mut y, mut u, mut v) = (x.clone(), x.clone(), x.clone());
    lu.solve(&mut x).unwrap();
    lu.solve_transposed(&mut u).unwrap();
    lu.arch = pulp::Arch::Scalar;
    lu.refactor(&values).unwrap();
    lu.solve(&mut y).unwrap();
    lu.solve_transposed(&mut v).unwrap();
    for (vectors, scalars) in [(x, y), (u, v)] {
        assert!(vectors.iter().zip(&scalars).all(|(a, b)| (a - b).abs() < 1e-11 * largest(&vectors)));
    }
}

/// A worse ordering or fuller fronts would show only as time.
#[test]
fn the_work_of_usual_grids_does_not_grow() {
    for ([radial, circumferential], flops, stored) in
        [([100, 60], 20.6e6, 371_000), ([40, 360], 41.4e6, 848_000), ([400, 200], 1.051e9, 7_090_000)]
    {
        let work = LuSymbolic::cylinder(radial, circumferential, Stencil::Nine, true).unwrap().work();
        assert!(work.flops < flops && work.stored < stored, "{radial} x {circumferential}: {work:?}");
    }
    // By coordinates, a cut falls where it may.
    let work = annulus(20, 80).work();
    assert!(work.flops < 26.5e6 && work.stored < 361_000, "{work:?}");
}

#[test]
fn slices_of_the_wrong_length_are_refused() {
    let symbolic = Arc::new(LuSymbolic::cylinder(3, 4, Stencil::Five, true).unwrap());
    let lu = Lu::factor(&symbolic, &matrix(&symbolic, Kind::Dominant, 3)).unwrap();
    assert_eq!(lu.solve(&mut [0.0; 13]), Err(SparseError::Shape { expected: 24, got: 13 }));
    assert_eq!(Lu::factor(&symbolic, &[1.0; 59]).err(), Some(SparseError::Values { expected: 60, got: 59 }));
    assert!(LuSymbolic::cylinder(0, 4, Stencil::Five, true).is_err());
    assert!(LuSymbolic::new(&[0, 1], &[1], &[[0.0; 2]]).is_err());
    assert!(LuSymbolic::new(&[0, 2], &[0], &[[0.0; 2]]).is_err());
}
