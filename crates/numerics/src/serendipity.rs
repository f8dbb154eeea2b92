//! The 8-node quadrilateral ("serendipity") element and the 3-node edge that bounds it.
//!
//! Corners 0 to 3 run counter-clockwise, node 4 lies between 0 and 1, node 5 between 1 and 2, and so on.
//! Source: Zienkiewicz and Taylor, The Finite Element Method, vol. 1, serendipity family.

/// Nodes of one element side, start, middle, end; the body lies to the left.
pub const SIDES: [[usize; 3]; 4] = [[0, 4, 1], [1, 5, 2], [2, 6, 3], [3, 7, 0]];

/// Local coordinates of the eight nodes.
pub const LOCAL: [[f64; 2]; 8] = [[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0], [0.0, -1.0], [1.0, 0.0], [0.0, 1.0], [-1.0, 0.0]];

/// Shape functions at a local point.
pub fn shape(xi: f64, eta: f64) -> [f64; 8] {
    let mut n = [0.0; 8];
    for (i, [a, b]) in LOCAL[..4].iter().enumerate() {
        n[i] = 0.25 * (1.0 + a * xi) * (1.0 + b * eta) * (a * xi + b * eta - 1.0);
    }
    n[4] = 0.5 * (1.0 - xi * xi) * (1.0 - eta);
    n[5] = 0.5 * (1.0 + xi) * (1.0 - eta * eta);
    n[6] = 0.5 * (1.0 - xi * xi) * (1.0 + eta);
    n[7] = 0.5 * (1.0 - xi) * (1.0 - eta * eta);
    n
}

/// Derivatives of the shape functions by `xi` and `eta`.
pub fn shape_derivatives(xi: f64, eta: f64) -> [[f64; 2]; 8] {
    let mut d = [[0.0; 2]; 8];
    for (i, [a, b]) in LOCAL[..4].iter().enumerate() {
        d[i][0] = 0.25 * a * (1.0 + b * eta) * (2.0 * a * xi + b * eta);
        d[i][1] = 0.25 * b * (1.0 + a * xi) * (2.0 * b * eta + a * xi);
    }
    d[4] = [-xi * (1.0 - eta), -0.5 * (1.0 - xi * xi)];
    d[5] = [0.5 * (1.0 - eta * eta), -eta * (1.0 + xi)];
    d[6] = [-xi * (1.0 + eta), 0.5 * (1.0 - xi * xi)];
    d[7] = [-0.5 * (1.0 - eta * eta), -eta * (1.0 - xi)];
    d
}

/// Shape functions of a quadratic edge at `s` in `[-1, 1]`: start, middle, end.
pub fn edge_shape(s: f64) -> [f64; 3] {
    [0.5 * s * (s - 1.0), 1.0 - s * s, 0.5 * s * (s + 1.0)]
}

/// Derivatives of [`edge_shape`].
pub fn edge_shape_derivatives(s: f64) -> [f64; 3] {
    [s - 0.5, -2.0 * s, s + 0.5]
}

/// What an integrand needs at one point of an element.
#[derive(Debug, Clone, Copy)]
pub struct PointValues {
    /// Position `[r, z]`, m.
    pub position: [f64; 2],
    /// Shape functions.
    pub shape: [f64; 8],
    /// Gradients of the shape functions by `r` and `z`, 1/m.
    pub gradient: [[f64; 2]; 8],
    /// Determinant of the Jacobian, m2.
    pub jacobian: f64,
}

/// Evaluate the isoparametric map at a local point.
pub fn at_point(corners: &[[f64; 2]; 8], xi: f64, eta: f64) -> PointValues {
    map_point(corners, &shape(xi, eta), &shape_derivatives(xi, eta))
}

/// The same from shape functions already known at the local point.
pub fn map_point(corners: &[[f64; 2]; 8], n: &[f64; 8], d: &[[f64; 2]; 8]) -> PointValues {
    let (mut position, mut jac) = ([0.0; 2], [[0.0; 2]; 2]);
    for k in 0..8 {
        for c in 0..2 {
            position[c] += n[k] * corners[k][c];
            jac[0][c] += d[k][0] * corners[k][c];
            jac[1][c] += d[k][1] * corners[k][c];
        }
    }
    let det = jac[0][0] * jac[1][1] - jac[0][1] * jac[1][0];
    let inverse = 1.0 / det;
    let mut gradient = [[0.0; 2]; 8];
    for k in 0..8 {
        gradient[k][0] = inverse * (jac[1][1] * d[k][0] - jac[0][1] * d[k][1]);
        gradient[k][1] = inverse * (jac[0][0] * d[k][1] - jac[1][0] * d[k][0]);
    }
    PointValues { position, shape: *n, gradient, jacobian: det }
}

/// One quadrature point of a rule on the element: shape functions, their local derivatives, weight.
pub type RulePoint = ([f64; 8], [[f64; 2]; 8], f64);

/// Tensor rule on the element.
pub fn tensor_rule<const N: usize>(rule: &[(f64, f64); N]) -> Vec<RulePoint> {
    let mut points = Vec::with_capacity(N * N);
    for (xi, wx) in rule {
        for (eta, we) in rule {
            points.push((shape(*xi, *eta), shape_derivatives(*xi, *eta), wx * we));
        }
    }
    points
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shape_functions_are_nodal_and_sum_to_one() {
        for (i, [xi, eta]) in LOCAL.iter().enumerate() {
            for (k, value) in shape(*xi, *eta).iter().enumerate() {
                assert!((value - f64::from(u8::from(i == k))).abs() < 1e-15);
            }
        }
        let n = shape(0.3, -0.7);
        assert!((n.iter().sum::<f64>() - 1.0).abs() < 1e-15);
        let e = 1e-6;
        let (plus, minus) = (shape(0.3 + e, -0.7), shape(0.3 - e, -0.7));
        for k in 0..8 {
            assert!(((plus[k] - minus[k]) / (2.0 * e) - shape_derivatives(0.3, -0.7)[k][0]).abs() < 1e-9);
        }
    }
}
