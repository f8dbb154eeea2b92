//! From a coarse grid to the next finer one, for first guesses.

use super::grid::Grid;

/// For each fine line the coarse line before it and the share of the one after.
pub(super) fn shares(coarse: &[f64], fine: &[f64]) -> Vec<(usize, f64)> {
    let mut k = 0;
    fine.iter()
        .map(|&x| {
            while k + 2 < coarse.len() && x >= coarse[k + 1] {
                k += 1;
            }
            (k, ((x - coarse[k]) / (coarse[k + 1] - coarse[k])).clamp(0.0, 1.0))
        })
        .collect()
}

/// Bilinear interpolation to all nodes of another grid over the same film.
pub(super) fn interpolate(coarse: &Grid, values: &[f64], fine: &Grid) -> Vec<f64> {
    let across = shares(coarse.s(), fine.s());
    let along = shares(coarse.along(), fine.along());
    let wide = fine.nodes_along();
    let mut out = Vec::with_capacity(fine.nodes());
    for &(i, t) in &across {
        for &(j, u) in &along[..wide] {
            let at = |i: usize, j: usize| values[coarse.node(i, j)];
            let inner = (1.0 - u) * at(i, j) + u * at(i, j + 1);
            let outer = (1.0 - u) * at(i + 1, j) + u * at(i + 1, j + 1);
            out.push((1.0 - t) * inner + t * outer);
        }
    }
    out
}
