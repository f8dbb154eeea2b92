use faer::Mat;
use faer::linalg::solvers::Solve;
use faer::sparse::linalg::solvers::{Llt, SymbolicLlt};
use faer::sparse::{SparseColMat, Triplet};
use proptest::prelude::*;

use super::{Factor, SparseError, Symbolic};

/// Deterministic numbers in (-1, 1) (a 64-bit linear congruential generator).
struct Numbers(u64);

impl Numbers {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407);
        (self.0 >> 11) as f64 / (1u64 << 52) as f64 - 1.0
    }
}

struct Mesh {
    coordinates: Vec<[f64; 2]>,
    elements: Vec<[usize; 8]>,
}

/// 8-node elements on the cells of an `nx` by `ny` grid for which `inside` holds.
fn grid(nx: usize, ny: usize, inside: impl Fn(usize, usize) -> bool) -> Mesh {
    let mut number = std::collections::HashMap::new();
    let mut coordinates = Vec::new();
    let mut elements = Vec::new();
    for j in 0..ny {
        for i in 0..nx {
            if !inside(i, j) {
                continue;
            }
            let corner = [(0, 0), (2, 0), (2, 2), (0, 2), (1, 0), (2, 1), (1, 2), (0, 1)];
            elements.push(corner.map(|(a, b)| {
                let (x, y) = (2 * i + a, 2 * j + b);
                *number.entry((x, y)).or_insert_with(|| {
                    // A skewed, graded picture of the grid.
                    let (x, y) = (x as f64, y as f64);
                    coordinates.push([x + 0.3 * y, y * (1.0 + 0.02 * y)]);
                    coordinates.len() - 1
                })
            }));
        }
    }
    Mesh { coordinates, elements }
}

fn shape(kind: usize, nx: usize, ny: usize) -> Mesh {
    match kind {
        0 => grid(nx, ny, |_, _| true),
        1 => grid(nx, ny, |i, j| i < nx.div_ceil(2) || j < ny.div_ceil(2)), // L
        2 => grid(nx, ny, |i, j| j == ny - 1 || i == nx / 2),               // T, one element wide
        3 => grid(nx, ny, |i, j| i % 3 != 1 || j % 3 != 1),                 // holes
        4 => grid(nx, 1, |_, _| true),                                      // strip
        _ => grid(nx, ny, |i, _| i != nx / 2 || nx < 3),                    // two pieces
    }
}

/// Element matrices `G G^T + small I` with random `G`: definite, but weakly so.
fn element_matrices(mesh: &Mesh, unknowns_per_node: usize, seed: u64) -> Vec<Vec<f64>> {
    let size = 8 * unknowns_per_node;
    let mut numbers = Numbers(seed);
    mesh.elements
        .iter()
        .map(|_| {
            let g: Vec<f64> = (0..size * size).map(|_| numbers.next()).collect();
            let mut block = vec![0.0; size * size];
            for i in 0..size {
                for j in 0..size {
                    let mut sum: f64 = (0..size / 2).map(|k| g[i * size + k] * g[j * size + k]).sum();
                    if i == j {
                        sum += 0.05;
                    }
                    block[i + j * size] = sum;
                }
            }
            block
        })
        .collect()
}

/// The whole matrix with fixed unknowns replaced by unit rows.
fn triplets(mesh: &Mesh, u: usize, blocks: &[Vec<f64>], fixed: &[usize], extra: &[(usize, usize, f64)]) -> Vec<Triplet<usize, usize, f64>> {
    let mut free = vec![true; mesh.coordinates.len() * u];
    for &unknown in fixed {
        free[unknown] = false;
    }
    let mut out = Vec::new();
    for (nodes, block) in mesh.elements.iter().zip(blocks) {
        for j in 0..8 * u {
            for i in 0..8 * u {
                let (row, column) = (nodes[i / u] * u + i % u, nodes[j / u] * u + j % u);
                if free[row] && free[column] {
                    out.push(Triplet::new(row, column, block[i + j * 8 * u]));
                }
            }
        }
    }
    for &(row, column, value) in extra {
        if free[row] && free[column] {
            out.push(Triplet::new(row, column, value));
            if row != column {
                out.push(Triplet::new(column, row, value));
            }
        }
    }
    for unknown in 0..free.len() {
        if !free[unknown] {
            out.push(Triplet::new(unknown, unknown, 1.0));
        }
    }
    out
}

fn dense(n: usize, triplets: &[Triplet<usize, usize, f64>]) -> Mat<f64> {
    let mut out = Mat::zeros(n, n);
    for t in triplets {
        out[(t.row, t.col)] += t.val;
    }
    out
}

fn largest(m: &Mat<f64>) -> f64 {
    m.norm_max()
}

struct Case {
    mesh: Mesh,
    u: usize,
    blocks: Vec<Vec<f64>>,
    trailing: Vec<usize>,
    fixed: Vec<usize>,
    extra: Vec<(usize, usize, f64)>,
}

impl Case {
    fn new(kind: usize, nx: usize, ny: usize, u: usize, trailing_share: f64, fixed_share: f64, seed: u64) -> Case {
        let mesh = shape(kind, nx, ny);
        let mut numbers = Numbers(seed ^ 0x9e37_79b9);
        let mut trailing = Vec::new();
        let mut fixed = Vec::new();
        for unknown in 0..mesh.coordinates.len() * u {
            let draw = 0.5 * (numbers.next() + 1.0);
            if draw < trailing_share {
                trailing.push(unknown);
            } else if draw < trailing_share + fixed_share {
                fixed.push(unknown);
            }
        }
        // Trailing order is the caller's, not the mesh's.
        trailing.reverse();
        let extra = mesh
            .elements
            .iter()
            .step_by(2)
            .flat_map(|nodes| {
                let (a, b) = (nodes[0] * u, nodes[4] * u + u - 1);
                [(a, a, 2.0), (b, b, 2.0), (a, b, -1.0), (b, b, 0.5)]
            })
            .collect();
        let blocks = element_matrices(&mesh, u, seed);
        Case { mesh, u, blocks, trailing, fixed, extra }
    }

    fn unknowns(&self) -> usize {
        self.mesh.coordinates.len() * self.u
    }

    fn factor_with_leaf(&self, leaf: usize) -> Result<Factor, SparseError> {
        let symbolic = Symbolic::with_leaf(&self.mesh.coordinates, &self.mesh.elements, self.u, &self.trailing, &self.fixed, leaf)?;
        Factor::new(&symbolic, |e, block| block.copy_from_slice(&self.blocks[e]), &self.extra)
    }

    fn triplets(&self) -> Vec<Triplet<usize, usize, f64>> {
        triplets(&self.mesh, self.u, &self.blocks, &self.fixed, &self.extra)
    }

    fn loads(&self, count: usize) -> Mat<f64> {
        let mut numbers = Numbers(7);
        let mut free = vec![true; self.unknowns()];
        for &unknown in &self.fixed {
            free[unknown] = false;
        }
        Mat::from_fn(self.unknowns(), count, |row, _| {
            let value = numbers.next();
            if free[row] { value } else { 0.0 }
        })
    }

    /// Residuals of all solves against the plainly assembled matrix, relative to its size.
    fn check(&self, leaf: usize, count: usize) {
        let factor = self.factor_with_leaf(leaf).unwrap();
        let n = self.unknowns();
        let matrix = dense(n, &self.triplets());
        let loads = self.loads(count);
        let near = |difference: Mat<f64>, solution: &Mat<f64>| {
            let scale = largest(&matrix) * largest(solution) + largest(&loads) + f64::MIN_POSITIVE;
            let error = largest(&difference) / scale;
            // Backward error of a Cholesky solve: a modest multiple of n times machine epsilon.
            assert!(error < 8.0 * n as f64 * f64::EPSILON, "relative residual {error:e}");
        };
        let mut x = loads.clone();
        factor.solve(&mut x).unwrap();
        near(&matrix * &x - &loads, &x);

        let mut is_interior = vec![true; n];
        for &unknown in self.trailing.iter().chain(&self.fixed) {
            is_interior[unknown] = false;
        }
        let interior_rows = |m: Mat<f64>| Mat::from_fn(n, m.ncols(), |row, column| if is_interior[row] { m[(row, column)] } else { 0.0 });
        let mut y = loads.clone();
        factor.solve_interior(&mut y).unwrap();
        near(interior_rows(&matrix * &y - &loads), &y);
        assert!((0..n).all(|row| is_interior[row] || y[(row, 0)] == 0.0));

        let t = self.trailing.len();
        let unit = Mat::<f64>::identity(t, t);
        let extension = factor.extend(unit.as_ref()).unwrap();
        let image = &matrix * &extension;
        near(interior_rows(image.clone()), &extension);
        // What the extension leaves on the trailing rows is the Schur complement.
        let schur = factor.trailing_schur();
        let on_trailing = Mat::from_fn(t, t, |row, column| image[(self.trailing[row], column)]);
        near(on_trailing - &schur, &extension);

        let bundle = factor.unit_extension();
        for unknown in 0..n {
            let row = |k: usize| bundle.row(unknown).map_or(0.0, |row| row[k]);
            assert!((0..t).all(|k| row(k) == extension[(unknown, k)]), "row {unknown}");
        }
        let held = Mat::from_fn(t, loads.ncols(), |i, j| (2 * i + j) as f64 - 1.5);
        let mut x = loads.clone();
        factor.solve_held(&mut x, held.as_ref()).unwrap();
        near(interior_rows(&matrix * &x - &loads), &x);
        assert!((0..t).all(|k| (0..loads.ncols()).all(|j| x[(self.trailing[k], j)] == held[(k, j)])));

        let carried = factor.restrict(loads.as_ref()).unwrap();
        let expected = extension.transpose() * &loads;
        let size = largest(&expected) + largest(&extension) * n as f64;
        if t > 0 {
            assert!(largest(&(&carried - &expected)) < 1e-11 * size);
        }
        let (half, _) = factor.forward(loads.as_ref()).unwrap();
        let energy = &half * half.transpose();
        let expected = interior_rows(loads.clone()).transpose() * &y;
        assert!(largest(&(&energy - &expected)) <= 1e-10 * largest(&expected));
    }
}

#[test]
fn residuals_on_every_shape() {
    for kind in 0..6 {
        for u in [1, 2] {
            for leaf in [1, 3, 1000] {
                Case::new(kind, 7, 5, u, 0.05, 0.05, 11 + kind as u64).check(leaf, 5);
            }
        }
    }
}

#[test]
fn elements_collapsed_to_triangles() {
    let mut case = Case::new(0, 6, 4, 2, 0.05, 0.05, 21);
    for nodes in &mut case.mesh.elements[..] {
        // One side shrinks to a node.
        if nodes[0] % 3 == 0 {
            (nodes[3], nodes[7]) = (nodes[0], nodes[0]);
        }
    }
    let used: std::collections::HashSet<usize> = case.mesh.elements.iter().flatten().copied().collect();
    case.fixed = (0..case.unknowns()).filter(|unknown| !used.contains(&(unknown / 2)) || unknown % 19 == 0).collect();
    case.trailing.retain(|unknown| !case.fixed.contains(unknown));
    case.check(3, 4);
}

#[test]
fn no_trailing_block() {
    Case::new(0, 6, 6, 2, 0.0, 0.1, 3).check(2, 3);
}

#[test]
fn everything_trailing() {
    Case::new(0, 3, 2, 1, 1.0, 0.0, 3).check(2, 3);
}

#[test]
fn one_right_hand_side_and_many() {
    for count in [1, 2, 7, 8, 9, 33] {
        Case::new(1, 8, 8, 2, 0.03, 0.02, 5).check(3, count);
    }
}

/// Cuts follow the mesh lines however they are bent.
#[test]
fn a_bent_mesh_costs_no_more_than_a_straight_one() {
    let straight = grid(20, 30, |_, _| true);
    let flops = |map: &dyn Fn(f64, f64) -> [f64; 2]| {
        let coordinates: Vec<[f64; 2]> = straight.coordinates.iter().map(|x| map(x[0], x[1])).collect();
        Symbolic::new(&coordinates, &straight.elements, 2, &[], &[]).unwrap().work().flops
    };
    let fan = |x: f64, y: f64| [(20.0 + y) * (0.03 * x).cos(), (20.0 + y) * (0.03 * x).sin()];
    let flat = flops(&|x, y| [x - 0.3 * y, y]);
    assert!(flops(&fan) < 1.05 * flat);
    assert!(flops(&|x, y| [x + 3.0 * y, y]) < 1.05 * flat);
}

#[test]
fn agrees_with_the_general_sparse_cholesky_of_faer() {
    let case = Case::new(0, 12, 9, 2, 0.02, 0.02, 17);
    let n = case.unknowns();
    let matrix = SparseColMat::<usize, f64>::try_new_from_triplets(n, n, &case.triplets()).unwrap();
    let symbolic = SymbolicLlt::try_new(matrix.symbolic(), faer::Side::Lower).unwrap();
    let reference = Llt::try_new_with_symbolic(symbolic, matrix.as_ref(), faer::Side::Lower).unwrap();
    let loads = case.loads(4);
    let expected = reference.solve(&loads);
    let mut x = loads;
    case.factor_with_leaf(4).unwrap().solve(&mut x).unwrap();
    assert!(largest(&(&x - &expected)) < 1e-9 * largest(&expected));
}

/// Element matrices that vanish on constants: a body that is not held.
fn floating(case: &Case) -> impl FnMut(usize, &mut [f64]) + use<> {
    let size = 8 * case.u;
    move |_, block: &mut [f64]| {
        for j in 0..size {
            for i in 0..size {
                block[i + j * size] = if i == j { size as f64 - 1.0 } else { -1.0 };
            }
        }
    }
}

#[test]
fn a_body_not_held_is_refused() {
    for kind in 0..6 {
        for u in [1, 2] {
            let case = Case::new(kind, 9, 6, u, 0.0, 0.0, 1);
            let mesh = &case.mesh;
            let symbolic = Symbolic::new(&mesh.coordinates, &mesh.elements, u, &[], &[]).unwrap();
            let result = Factor::new(&symbolic, floating(&case), &[]);
            assert!(matches!(result, Err(SparseError::NotPositiveDefinite { .. })), "{kind} {u}");
            // Held by its trailing unknowns, the interior is sound and the Schur complement is not.
            if kind != 5 {
                let symbolic = Symbolic::new(&mesh.coordinates, &mesh.elements, u, &[0, 5, 9], &[]).unwrap();
                let factor = Factor::new(&symbolic, floating(&case), &[]).unwrap();
                let mut rhs = case.loads(1);
                assert!(matches!(factor.solve(&mut rhs), Err(SparseError::NotPositiveDefinite { .. })));
                factor.solve_interior(&mut rhs).unwrap();
            }
            // A weak spring holds it.
            if kind != 5 {
                let symbolic = Symbolic::new(&mesh.coordinates, &mesh.elements, u, &[], &[]).unwrap();
                assert!(Factor::new(&symbolic, floating(&case), &[(3, 3, 1e-6)]).is_ok());
            }
        }
    }
}

#[test]
fn an_indefinite_matrix_names_its_unknown() {
    let case = Case::new(0, 4, 4, 1, 0.0, 0.0, 1);
    let symbolic = Symbolic::new(&case.mesh.coordinates, &case.mesh.elements, 1, &[], &[]).unwrap();
    let fill = |e: usize, block: &mut [f64]| block.copy_from_slice(&case.blocks[e]);
    let result = Factor::new(&symbolic, fill, &[(20, 20, -1e6)]);
    assert!(matches!(result, Err(SparseError::NotPositiveDefinite { unknown: 20, pivot }) if pivot < 0.0), "{result:?}");
}

#[test]
fn no_entry_that_is_not_finite_passes() {
    let mut case = Case::new(0, 4, 4, 1, 0.2, 0.0, 1);
    case.extra.clear();
    for entry in 0..64 {
        for value in [f64::NAN, f64::INFINITY] {
            let (row, column) = (entry % 8, entry / 8);
            let kept = case.blocks[5].clone();
            case.blocks[5][row + 8 * column] = value;
            case.blocks[5][column + 8 * row] = value;
            let result = case.factor_with_leaf(2).map(|_| ());
            assert!(matches!(result, Err(SparseError::MatrixNotFinite { .. })), "{entry} {value} {result:?}");
            case.blocks[5] = kept;
        }
    }
}

#[test]
fn wrong_input_is_named() {
    let mesh = grid(2, 2, |_, _| true);
    let n = mesh.coordinates.len();
    let new = |trailing: &[usize], fixed: &[usize]| Symbolic::new(&mesh.coordinates, &mesh.elements, 1, trailing, fixed).map(|_| ());
    assert!(matches!(new(&[n], &[]), Err(SparseError::OutOfRange { index, .. }) if index == n));
    assert_eq!(new(&[1, 1], &[]), Err(SparseError::NamedTwice { unknown: 1 }));
    assert_eq!(new(&[1], &[1]), Err(SparseError::NamedTwice { unknown: 1 }));
    assert_eq!(new(&[], &[1, 1]), Ok(()));
    let mut loose = mesh.coordinates.clone();
    loose.push([0.0, 0.0]);
    let result = Symbolic::new(&loose, &mesh.elements, 1, &[], &[]).map(|_| ());
    assert_eq!(result, Err(SparseError::Unconnected { unknown: n }));
    loose[0][1] = f64::NAN;
    let result = Symbolic::new(&loose, &mesh.elements, 1, &[], &[]).map(|_| ());
    assert_eq!(result, Err(SparseError::NotFinite { node: 0 }));
    let wide = grid(8, 8, |_, _| true);
    let symbolic = Symbolic::new(&wide.coordinates, &wide.elements, 1, &[], &[]).unwrap();
    let far = wide.elements[63][2];
    let result = Factor::new(&symbolic, |_, _| (), &[(wide.elements[0][0], far, 1.0)]);
    assert!(matches!(result, Err(SparseError::OutsidePattern { .. })));
    let case = Case::new(0, 2, 2, 1, 0.0, 0.0, 1);
    let factor = case.factor_with_leaf(1).unwrap();
    assert!(matches!(factor.solve(&mut Mat::zeros(3, 1)), Err(SparseError::Shape { got: 3, .. })));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn residuals_hold_for_any_choice(
        kind in 0usize..6, nx in 1usize..8, ny in 1usize..7, u in 1usize..4, leaf in 1usize..9,
        trailing in 0.0f64..0.3, fixed in 0.0f64..0.3, count in 1usize..6, seed in 0u64..1000,
    ) {
        Case::new(kind, nx, ny, u, trailing, fixed, seed).check(leaf, count);
    }

    #[test]
    fn numbering_of_nodes_does_not_matter(seed in 0u64..1000) {
        let case = Case::new(1, 6, 5, 2, 0.04, 0.0, seed);
        let n = case.mesh.coordinates.len();
        let mut numbers = Numbers(seed);
        let mut new_number: Vec<usize> = (0..n).collect();
        new_number.sort_by_cached_key(|_| (numbers.next() * 1e15) as i64);
        let mut coordinates = vec![[0.0; 2]; n];
        for node in 0..n {
            coordinates[new_number[node]] = case.mesh.coordinates[node];
        }
        let renumber = |unknown: usize| new_number[unknown / 2] * 2 + unknown % 2;
        let permuted = Case {
            mesh: Mesh {
                coordinates,
                elements: case.mesh.elements.iter().map(|e| e.map(|node| new_number[node])).collect(),
            },
            u: 2,
            blocks: case.blocks.clone(),
            trailing: case.trailing.iter().map(|&unknown| renumber(unknown)).collect(),
            fixed: Vec::new(),
            extra: case.extra.iter().map(|&(r, c, v)| (renumber(r), renumber(c), v)).collect(),
        };
        let a = case.factor_with_leaf(3).unwrap().trailing_schur();
        let b = permuted.factor_with_leaf(3).unwrap().trailing_schur();
        prop_assert!((&a - &b).norm_max() <= 1e-10 * a.norm_max());
    }
}
