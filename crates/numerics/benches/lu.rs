//! Sparse LU of film grids, against the general one of `faer`.

use std::sync::Arc;

use divan::Bencher;
use faer::linalg::solvers::Solve;
use faer::sparse::linalg::solvers::{Lu as GeneralLu, SymbolicLu};
use faer::sparse::{SparseColMat, Triplet};
use faer::{Mat, Par, c64};
use halfmicron_numerics::sparse::lu::{Lu, LuSymbolic, Stencil};

fn main() {
    faer::set_global_parallelism(Par::Seq);
    for [radial, circumferential] in SIZES {
        let symbolic = symbolic(radial, circumferential);
        println!("{radial} x {circumferential}, {} unknowns: {:?}", symbolic.unknowns(), symbolic.work());
    }
    divan::main();
}

/// Radial by circumferential nodes.
const SIZES: [[usize; 2]; 5] = [[100, 60], [40, 360], [80, 720], [100, 710], [400, 200]];

fn symbolic(radial: usize, circumferential: usize) -> Arc<LuSymbolic> {
    Arc::new(LuSymbolic::cylinder(radial, circumferential, Stencil::Nine, true).expect("a grid"))
}

/// Diffusion and upwinded convection around, a trace of a source.
fn values(unknowns: usize) -> Vec<f64> {
    let stencil = [-0.1, -3.0, -0.1, -1.0, 6.41, -1.0, -0.1, -1.0, -0.1];
    (0..unknowns * 9).map(|k| stencil[k % 9] * (1.0 + 1e-3 * ((k / 9) % 13) as f64)).collect()
}

fn loads(unknowns: usize, count: usize) -> Vec<f64> {
    (0..unknowns * count).map(|k| (k % 17) as f64 - 8.0).collect()
}

#[divan::bench(args = SIZES)]
fn ordering(bencher: Bencher, [radial, circumferential]: [usize; 2]) {
    bencher.bench_local(|| symbolic(radial, circumferential));
}

#[divan::bench(args = SIZES)]
fn first_factor(bencher: Bencher, [radial, circumferential]: [usize; 2]) {
    let symbolic = symbolic(radial, circumferential);
    let values = values(symbolic.unknowns());
    bencher.bench_local(|| Lu::factor(&symbolic, &values));
}

#[divan::bench(args = SIZES)]
fn refactor(bencher: Bencher, [radial, circumferential]: [usize; 2]) {
    let symbolic = symbolic(radial, circumferential);
    let values = values(symbolic.unknowns());
    let mut lu = Lu::factor(&symbolic, &values).expect("regular");
    bencher.bench_local(|| lu.refactor(&values));
}

#[divan::bench(args = SIZES)]
fn solve(bencher: Bencher, size: [usize; 2]) {
    solves(bencher, size, 1);
}

#[divan::bench(args = SIZES)]
fn solve_6(bencher: Bencher, size: [usize; 2]) {
    solves(bencher, size, 6);
}

fn solves(bencher: Bencher, [radial, circumferential]: [usize; 2], count: usize) {
    let symbolic = symbolic(radial, circumferential);
    let lu = Lu::factor(&symbolic, &values(symbolic.unknowns())).expect("regular");
    let mut x = loads(symbolic.unknowns(), count);
    bencher.bench_local(|| lu.solve(&mut x));
}

#[divan::bench(args = SIZES)]
fn solve_transposed(bencher: Bencher, [radial, circumferential]: [usize; 2]) {
    let symbolic = symbolic(radial, circumferential);
    let lu = Lu::factor(&symbolic, &values(symbolic.unknowns())).expect("regular");
    let mut x = loads(symbolic.unknowns(), 1);
    bencher.bench_local(|| lu.solve_transposed(&mut x));
}

#[divan::bench(args = SIZES)]
fn factor_and_solve(bencher: Bencher, [radial, circumferential]: [usize; 2]) {
    let symbolic = symbolic(radial, circumferential);
    let values = values(symbolic.unknowns());
    let mut lu = Lu::factor(&symbolic, &values).expect("regular");
    let loads = loads(symbolic.unknowns(), 1);
    bencher.bench_local(|| {
        let mut x = loads.clone();
        lu.refactor(&values).and_then(|()| lu.solve(&mut x)).map(|()| x)
    });
}

#[divan::bench(args = SIZES)]
fn complex_factor_and_solve(bencher: Bencher, [radial, circumferential]: [usize; 2]) {
    let symbolic = symbolic(radial, circumferential);
    let values: Vec<c64> = values(symbolic.unknowns()).iter().map(|&value| c64::new(value, 0.1 * value.max(0.0))).collect();
    let mut lu = Lu::factor(&symbolic, &values).expect("regular");
    let loads: Vec<c64> = loads(symbolic.unknowns(), 1).iter().map(|&load| c64::new(load, 1.0)).collect();
    bencher.bench_local(|| {
        let mut x = loads.clone();
        lu.refactor(&values).and_then(|()| lu.solve(&mut x)).map(|()| x)
    });
}

/// Numeric factorisation and one solve.
#[divan::bench(args = SIZES, sample_count = 3)]
fn general_factor_and_solve(bencher: Bencher, [radial, circumferential]: [usize; 2]) {
    let n = radial * circumferential;
    let values = values(n);
    let mut triplets = Vec::new();
    for c in 0..circumferential {
        for r in 0..radial {
            for (place, step) in Stencil::Nine.steps().iter().enumerate() {
                let other = r as i32 + step[0];
                if (0..radial as i32).contains(&other) {
                    let line = (c as i32 + step[1]).rem_euclid(circumferential as i32);
                    let node = c * radial + r;
                    triplets.push(Triplet::new(node, line as usize * radial + other as usize, values[node * 9 + place]));
                }
            }
        }
    }
    let matrix = SparseColMat::<usize, f64>::try_new_from_triplets(n, n, &triplets).expect("in range");
    let symbolic = SymbolicLu::try_new(matrix.symbolic()).expect("square");
    let loads = Mat::from_fn(n, 1, |row, _| (row % 17) as f64 - 8.0);
    bencher.bench_local(|| GeneralLu::try_new_with_symbolic(symbolic.clone(), matrix.as_ref()).expect("regular").solve(&loads));
}
