//! Pressure and heat of a two-dimensional film as loads on the nodes of the band.
//!
//! Between two lines the pressure runs as that of the axisymmetric film does between two stations: density straight in the pressure, resistance
//! per length straight in the radius, so that a smooth face carries the same load in both.

use std::f64::consts::PI;

use halfmicron_numerics::quadrature::THREE_POINTS;
use halfmicron_numerics::reynolds::Field;
use halfmicron_numerics::serendipity::edge_shape;

use super::arrays::{Laws, Line};
use super::grid::FieldGrid;
use crate::film::loads::Projection;
use crate::film::resistance::SlipAt;
use crate::ring::BandNodes;

/// Density and its slope by pressure at a line and a pressure.
pub(super) type Density<'a> = dyn Fn(usize, f64) -> (f64, f64) + Sync + 'a;

/// One layer against the shape functions of its element.
pub(super) struct Layer {
    /// First node of the element.
    pub first: usize,
    /// Radii of its ends, m.
    inner: f64,
    outer: f64,
    /// At the three points: share of the layer, area (m2, whole ring), shape functions, radius.
    pub points: [(f64, f64, [f64; 3], f64); 3],
}

/// Layers of a grid against the elements of its band.
pub(super) fn layers(grid: &FieldGrid, nodes: &BandNodes) -> Vec<Layer> {
    let radii = grid.grid.across();
    (0..grid.grid.rows())
        .map(|i| {
            let interval = grid.place[i].0;
            let first = interval - interval % 2;
            let (inner, outer) = (nodes.radius_m[first], nodes.radius_m[first + 2]);
            let points = THREE_POINTS.map(|(x, weight)| {
                let share = 0.5 * (1.0 + x);
                let radius = radii[i] + share * (radii[i + 1] - radii[i]);
                let area = weight * PI * radius * (radii[i + 1] - radii[i]);
                (share, area, edge_shape((2.0 * radius - inner - outer) / (outer - inner)), radius)
            });
            Layer { first, inner, outer, points }
        })
        .collect()
}

/// Share of the circumference of each node of a line.
pub(super) fn node_shares(grid: &FieldGrid) -> Vec<f64> {
    let angles = grid.grid.along();
    let columns = grid.grid.columns();
    let span = angles[columns] - angles[0];
    let mut shares = vec![0.0; columns];
    for j in 0..columns {
        let half = 0.5 * (angles[j + 1] - angles[j]) / span;
        shares[j] += half;
        shares[(j + 1) % columns] += half;
    }
    shares
}

/// Weights of the pressures at both ends of each column of each layer in the loads on the three nodes of its element, and those loads.
pub(super) struct PressureLoads {
    /// Loads by node, N.
    pub loads: Vec<f64>,
    /// By layer and column: derivative of the three loads by the pressure at the inner and at the outer end, m2.
    pub weights: Vec<[[f64; 3]; 2]>,
}

/// Loads of a field of pressure; `spin` in rad2/s2.
pub(super) fn pressure_loads(
    grid: &FieldGrid,
    nodes: &BandNodes,
    laws: &Laws,
    lines: &[Line],
    field: &Field,
    density: &Density,
    spin: f64,
) -> PressureLoads {
    let columns = grid.grid.columns();
    let shares = node_shares(grid);
    let slips: Option<Vec<SlipAt>> = if laws.slips(lines) { lines.iter().map(|line| laws.slip(line)).collect() } else { None };
    let mut out = PressureLoads { loads: vec![0.0; nodes.len()], weights: Vec::with_capacity(grid.grid.rows() * columns) };
    for (i, layer) in layers(grid, nodes).iter().enumerate() {
        let lean = skewness(grid, laws, lines, i);
        let squares = lines[i + 1].radius.powi(2) - lines[i].radius.powi(2);
        for j in 0..columns {
            let [pa, pb] = [i, i + 1].map(|line| field.pressure_pa[grid.grid.node(line, j)]);
            let ((rho_a, slope_a), (rho_b, slope_b)) = (density(i, pa), density(i + 1, pb));
            let growth = rho_b / rho_a - 1.0;
            let (growth_by_a, growth_by_b) = (-(1.0 + growth) * slope_a / rho_a, slope_b / rho_a);
            let mut skew = 0.5 * (lean[j] + lean[(j + columns - 1) % columns]);
            if let Some(slips) = &slips {
                let depth = grid.mean_depth(grid.grid.cell(i, j));
                let [a, b] = [(i, pa), (i + 1, pb)].map(|(line, p)| 1.0 / slips[line].factor(laws.mean_gap(lines[line].gap + depth), p).0);
                // Of resistances (1 - s) a and (1 + s) b.
                skew = ((1.0 + skew) * b - (1.0 - skew) * a) / ((1.0 + skew) * b + (1.0 - skew) * a);
            }
            let bump = 0.25 * spin * (rho_a + rho_b);
            let mut weights = [[0.0; 3]; 2];
            let length = lines[i + 1].radius - lines[i].radius;
            for (x, weight) in THREE_POINTS {
                // Points are set in the pressure drop, where everything is smooth however steep the end of a gas film.
                let way = 0.5 * (1.0 + x);
                let (passed, passed_slope) = passed(growth, way);
                let lean = 1.0 - skew;
                let root = (lean * lean + 4.0 * skew * passed).sqrt();
                let share = 2.0 * passed / (lean + root);
                let radius = lines[i].radius + share * length;
                let area = weight * PI * radius * length * passed_slope / root;
                let shape = edge_shape((2.0 * radius - layer.inner - layer.outer) / (layer.outer - layer.inner));
                let pressure = pa + (pb - pa) * way + bump * (radius.powi(2) - lines[i].radius.powi(2) - passed * squares);
                // At a fixed place.
                let by_growth = (pb - pa) * 0.5 * (passed - way * way) / (1.0 + growth * way);
                let (by_a, by_b) = (1.0 - way + by_growth * growth_by_a, way + by_growth * growth_by_b);
                for k in 0..3 {
                    let part = area * shape[k] * shares[j];
                    out.loads[layer.first + k] += part * pressure;
                    weights[0][k] += part * by_a;
                    weights[1][k] += part * by_b;
                }
            }
            out.weights.push(weights);
        }
    }
    out
}

/// Share of the resistance passed where the share `way` of the pressure difference is, and its slope: `(y + c y^2/2)/(1 + c/2)`.
fn passed(growth: f64, way: f64) -> (f64, f64) {
    let whole = 1.0 + 0.5 * growth;
    (way * (1.0 + 0.5 * growth * way) / whole, (1.0 + growth * way) / whole)
}

/// `(f_b - f_a)/(f_a + f_b)` of the resistance per length at both ends of each cell of a layer.
fn skewness(grid: &FieldGrid, laws: &Laws, lines: &[Line], layer: usize) -> Vec<f64> {
    let mut known: Vec<(f64, f64)> = Vec::new();
    (0..grid.grid.columns())
        .map(|j| {
            let depth = grid.mean_depth(grid.grid.cell(layer, j));
            if let Some((_, skew)) = known.iter().find(|(d, _)| *d == depth) {
                return *skew;
            }
            let [before, after] = [0, 1].map(|end| {
                let line = &lines[layer + end];
                laws.flow_viscosity(line, line.gap + depth) / (line.radius * laws.cube(line.gap + depth))
            });
            let skew = (after - before) / (after + before);
            known.push((depth, skew));
            skew
        })
        .collect()
}

/// Loads of what is given at the three points of every layer, W.
pub(super) fn heat_loads(layers: &[Layer], nodes: &BandNodes, at: impl Fn(usize, f64) -> f64) -> Vec<f64> {
    let mut loads = vec![0.0; nodes.len()];
    for (i, layer) in layers.iter().enumerate() {
        for (share, area, shape, _) in &layer.points {
            let value = at(i, *share);
            for k in 0..3 {
                loads[layer.first + k] += area * shape[k] * value;
            }
        }
    }
    loads
}

/// Nodal values that carry loads.
pub(super) fn nodal(nodes: &BandNodes, mut loads: Vec<f64>) -> Vec<f64> {
    Projection::new(nodes).apply(&mut loads);
    loads
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pressure_of_an_ideal_gas_is_straight_in_its_square() {
        // From 1 to 4 bar: half of the resistance lies at the root of 8.5.
        let way = (8.5f64.sqrt() - 1.0) / 3.0;
        assert!((passed(3.0, way).0 - 0.5).abs() < 1e-12);
        for (growth, way) in [(3.0, 0.3), (-0.6, 0.8), (0.0, 0.4)] {
            let quotient = (passed(growth, way + 1e-6).0 - passed(growth, way - 1e-6).0) / 2e-6;
            assert!((passed(growth, way).1 - quotient).abs() < 1e-9, "{growth} {way}");
        }
    }
}
