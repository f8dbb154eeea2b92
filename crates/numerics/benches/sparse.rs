//! Sparse Cholesky of ring-sized meshes (about 5 000 nodes), against the general one of `faer`.

use divan::{Bencher, black_box};
use faer::linalg::solvers::Solve;
use faer::sparse::linalg::solvers::{Llt, SymbolicLlt};
use faer::sparse::{SparseColMat, Triplet};
use faer::{Mat, Par, Side};
use halfmicron_numerics::sparse::{Factor, Symbolic};

fn main() {
    faer::set_global_parallelism(Par::Seq);
    for problem in [Problem::elasticity(), Problem::heat()] {
        println!("{} unknowns, {} trailing: {:?}", problem.unknowns(), problem.trailing.len(), problem.symbolic().work());
    }
    divan::main();
}

struct Problem {
    coordinates: Vec<[f64; 2]>,
    elements: Vec<[usize; 8]>,
    unknowns_per_node: usize,
    trailing: Vec<usize>,
    block: Vec<f64>,
}

const WIDE: usize = 30;
const TALL: usize = 54;

impl Problem {
    /// Both unknowns of the 61 nodes of one face trailing.
    fn elasticity() -> Problem {
        Problem::new(2, |x, y| y == 0 && x <= 2 * WIDE)
    }

    /// Three sides, about 300 nodes, trailing.
    fn heat() -> Problem {
        Problem::new(1, |x, y| (y == 0 || x == 0 || x == 2 * WIDE) && y < 2 * TALL + 1)
    }

    fn new(unknowns_per_node: usize, is_trailing: impl Fn(usize, usize) -> bool) -> Problem {
        let mut number = vec![usize::MAX; (2 * WIDE + 1) * (2 * TALL + 1)];
        let mut coordinates = Vec::new();
        let mut trailing = Vec::new();
        let mut elements = Vec::new();
        for j in 0..TALL {
            for i in 0..WIDE {
                let places = [(0, 0), (2, 0), (2, 2), (0, 2), (1, 0), (2, 1), (1, 2), (0, 1)];
                elements.push(places.map(|(a, b)| {
                    let (x, y) = (2 * i + a, 2 * j + b);
                    let number = &mut number[y * (2 * WIDE + 1) + x];
                    if *number == usize::MAX {
                        *number = coordinates.len();
                        if is_trailing(x, y) {
                            let first = coordinates.len() * unknowns_per_node;
                            trailing.extend(first..first + unknowns_per_node);
                        }
                        coordinates.push([x as f64, y as f64 * (1.0 + 0.02 * y as f64)]);
                    }
                    *number
                }));
            }
        }
        Problem { coordinates, elements, unknowns_per_node, trailing, block: element_matrix(8 * unknowns_per_node) }
    }

    fn unknowns(&self) -> usize {
        self.coordinates.len() * self.unknowns_per_node
    }

    fn symbolic(&self) -> Symbolic {
        Symbolic::new(&self.coordinates, &self.elements, self.unknowns_per_node, &self.trailing, &[]).expect("good mesh")
    }

    fn factor(&self, symbolic: &Symbolic) -> Factor {
        Factor::new(symbolic, |_, block| block.copy_from_slice(&self.block), &[]).expect("definite")
    }

    fn matrix(&self) -> SparseColMat<usize, f64> {
        let (n, u) = (self.unknowns(), self.unknowns_per_node);
        let size = 8 * u;
        let mut triplets = Vec::new();
        for nodes in &self.elements {
            for j in 0..size {
                for i in 0..size {
                    triplets.push(Triplet::new(nodes[i / u] * u + i % u, nodes[j / u] * u + j % u, self.block[i + j * size]));
                }
            }
        }
        SparseColMat::try_new_from_triplets(n, n, &triplets).expect("in range")
    }
}

/// Definite, full, otherwise of no meaning: the work does not depend on the values.
fn element_matrix(size: usize) -> Vec<f64> {
    let entry = |i: usize, j: usize| if i == j { size as f64 } else { ((3 * i + 3 * j + i * j) % 7) as f64 / 7.0 - 0.5 };
    (0..size * size).map(|k| entry(k % size, k / size)).collect()
}

fn problem(name: &str) -> Problem {
    match name {
        "elasticity" => Problem::elasticity(),
        _ => Problem::heat(),
    }
}

const NAMES: [&str; 2] = ["elasticity", "heat"];

#[divan::bench(args = NAMES)]
fn symbolic(bencher: Bencher, name: &str) {
    let problem = problem(name);
    bencher.bench_local(|| problem.symbolic());
}

#[divan::bench(args = NAMES)]
fn numeric(bencher: Bencher, name: &str) {
    let problem = problem(name);
    let symbolic = problem.symbolic();
    bencher.bench_local(|| problem.factor(&symbolic));
}

#[divan::bench(args = NAMES)]
fn extend_60(bencher: Bencher, name: &str) {
    let problem = problem(name);
    let factor = problem.factor(&problem.symbolic());
    let values = Mat::<f64>::from_fn(problem.trailing.len(), 60, |i, j| if i == 2 * j { 1.0 } else { 0.0 });
    bencher.bench_local(|| factor.extend(values.as_ref()));
}

#[divan::bench(args = NAMES)]
fn restrict_4(bencher: Bencher, name: &str) {
    let problem = problem(name);
    let factor = problem.factor(&problem.symbolic());
    let loads = Mat::<f64>::from_fn(problem.unknowns(), 4, |i, j| (i + j) as f64);
    bencher.bench_local(|| factor.restrict(loads.as_ref()));
}

#[divan::bench(args = [("elasticity", 1), ("elasticity", 8), ("elasticity", 60), ("heat", 1)])]
fn solve(bencher: Bencher, (name, count): (&str, usize)) {
    let problem = problem(name);
    let factor = problem.factor(&problem.symbolic());
    let loads = Mat::<f64>::from_fn(problem.unknowns(), count, |i, j| (i + j) as f64);
    bencher.bench_local(|| {
        let mut x = loads.clone();
        factor.solve(&mut x).expect("definite");
        x
    });
}

#[divan::bench(args = NAMES)]
fn whole(bencher: Bencher, name: &str) {
    let problem = problem(name);
    let values = Mat::<f64>::from_fn(problem.trailing.len(), 60, |i, j| if i == 2 * j { 1.0 } else { 0.0 });
    bencher.bench_local(|| {
        let symbolic = problem.symbolic();
        let factor = problem.factor(&symbolic);
        (factor.trailing_schur(), factor.extend(values.as_ref()))
    });
}

#[divan::bench(args = NAMES, sample_count = 5)]
fn faer_whole(bencher: Bencher, name: &str) {
    let problem = problem(name);
    let matrix = problem.matrix();
    let loads = Mat::<f64>::from_fn(problem.unknowns(), 60, |i, j| if i == 2 * j { 1.0 } else { 0.0 });
    bencher.bench_local(|| {
        let symbolic = SymbolicLlt::try_new(matrix.symbolic(), Side::Lower).expect("square");
        let factor = Llt::try_new_with_symbolic(symbolic, matrix.as_ref(), Side::Lower).expect("definite");
        black_box(factor.solve(&loads))
    });
}
