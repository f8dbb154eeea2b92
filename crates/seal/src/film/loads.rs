//! Pressure and heat of a film as loads on the nodes of the band.
//!
//! The film has stations between the nodes; the rings know nodes. Each step is integrated against the quadratic shape functions of its
//! element, so that force, its moment over the element and heat are the same on both sides; the nodal values handed on are
//! those whose shape functions carry the same loads (projection with the consistent mass).

use halfmicron_numerics::jet::Jet;
use halfmicron_numerics::quadrature::THREE_POINTS;
use halfmicron_numerics::serendipity::{edge_shape, edge_shape_derivatives};
use std::f64::consts::PI;

use super::step::{Band, Causes, Local, Step};
use crate::ring::BandNodes;

/// Loads of one step on the three nodes of its element: pressure, N; shear heat, W; heat to the faces, W.
pub(super) struct StepLoads<const N: usize> {
    /// First node of the element, inner to outer.
    pub first: usize,
    pub pressure: [Jet<N>; 3],
    pub shear: [Jet<N>; 3],
    pub heat: [Jet<N>; 3],
}

/// Loads of a step.
pub(super) fn step_loads<const N: usize>(
    band: &Band,
    interval: usize,
    up: &Local<N>,
    down: &Local<N>,
    step: &Step<N>,
    causes: &Causes<N>,
) -> StepLoads<N> {
    let (a, b) = (&up.at, &down.at);
    let outward_start = if band.direction > 0.0 { interval } else { band.len() - 2 - interval };
    let first = outward_start - outward_start % 2;
    let radius = &band.input.nodes.radius_m;
    let (middle, half) = (0.5 * (radius[first] + radius[first + 2]), 0.5 * (radius[first + 2] - radius[first]));
    let span = band.radius[interval + 1] - band.radius[interval];
    let length = (b.share - a.share) * span.abs();
    let radius_at = |share: Jet<N>| share * span + band.radius[interval];
    let (before, after) = (radius_at(a.share).squared(), radius_at(b.share).squared());
    let spin = (a.density + b.density) * (0.25 * band.spin);
    let mut loads = StepLoads { first, pressure: [Jet::constant(0.0); 3], shear: [Jet::constant(0.0); 3], heat: [Jet::constant(0.0); 3] };
    let mut kept = [Jet::constant(0.0); 3];
    let mut covered = Jet::constant(0.0);
    for (x, weight) in THREE_POINTS {
        // Points are set in the pressure drop `y`, where everything is smooth however steep the end of a gas film. Share of the resistance
        // passed when the density changes straight with the pressure, and share of the way when the resistance per length is straight.
        let y = 0.5 * (1.0 + x);
        let (psi, psi_slope) = resistance_passed(step, y);
        let lean = -step.skewness + 1.0;
        let root = (lean.squared() + step.skewness * psi * 4.0).sqrt();
        let way = psi * 2.0 / (lean + root);
        let way_slope = psi_slope / root;
        let share = a.share + (b.share - a.share) * way;
        let r = radius_at(share);
        let bump = spin * (r.squared() - before - psi * (after - before));
        let pressure = a.pressure + (b.pressure - a.pressure) * y + bump;
        let viscosity = step.shear_viscosity[0] + (step.shear_viscosity[1] - step.shear_viscosity[0]) * way;
        let gap = causes.gap[0] + share * (causes.gap[1] - causes.gap[0]);
        let shear = band.shear_heat(viscosity, r, gap);
        let area = r * length * way_slope * (PI * weight);
        covered = covered + area;
        let place = (r - middle) * (1.0 / half);
        let shapes = edge_shape(place.value);
        let slopes = edge_shape_derivatives(place.value);
        for j in 0..3 {
            let part = place.chain(shapes[j], slopes[j]) * area;
            loads.pressure[j] = loads.pressure[j] + pressure * part;
            loads.shear[j] = loads.shear[j] + shear * part;
            kept[j] = kept[j] + part;
        }
    }
    // What the fluid keeps is known for the whole step: spread so that its sum is exact.
    let density = step.balance.kept * ((after - before) * (PI * band.direction)) / covered;
    for j in 0..3 {
        loads.heat[j] = loads.shear[j] - density * kept[j];
    }
    loads
}

/// What inertia of an expanding gas may stand above that of a choked end, over its expansion, so that a choked film is not at the bend.
const MARGIN: f64 = 0.3;
/// Growth of density below which inertia does not bend the pressure.
const STEADY: f64 = 1e-6;

/// Share of the resistance of a step passed where the share `y` of its pressure drop is, and its slope; density straight in the pressure.
///
/// `psi (D (1 + c/2) - B ln(1 + c)) = D (y + c y^2/2) - B ln(1 + c y)`: towards a choked exit the pressure falls ever more steeply.
fn resistance_passed<const N: usize>(step: &Step<N>, y: f64) -> (Jet<N>, Jet<N>) {
    let (growth, drop) = (step.growth, step.drop);
    let here = growth * y + 1.0;
    if drop.value == 0.0 || growth.value.abs() < STEADY {
        return (Jet::constant(y), Jet::constant(1.0));
    }
    // No more than what chokes at the faster end: where heat makes most of the density's growth, inertia would turn the pressure round.
    let mut inertia = step.balance.inertia;
    if growth.value * drop.value > 0.0 {
        let fastest = if growth.value < 0.0 { growth + 1.0 } else { Jet::constant(1.0) };
        let margin = if growth.value < 0.0 { growth * -MARGIN + 1.0 } else { Jet::constant(1.0) };
        let choking = drop * fastest.squared() / growth * margin;
        if choking.value < inertia.value {
            inertia = choking;
        }
    }
    let mut passed = drop * ((growth * (0.5 * y) + 1.0) * y);
    let mut slope = drop * here;
    let mut whole = drop * (growth * 0.5 + 1.0);
    if inertia.value != 0.0 {
        passed = passed - inertia * here.ln();
        slope = slope - inertia * growth / here;
        whole = whole - inertia * (growth + 1.0).ln();
    }
    let share = passed / whole;
    // Within the margin the last of the pressure may fall without friction.
    if share.value > 1.0 { (Jet::constant(1.0), Jet::constant(0.0)) } else { (share, slope / whole) }
}

/// Factored consistent mass of the band: loads to nodal values.
pub(super) struct Projection {
    /// Lower factor by rows: the inverse of the diagonal and the two entries before it.
    factor: Vec<[f64; 3]>,
}

impl Projection {
    pub fn new(nodes: &BandNodes) -> Self {
        let count = nodes.radius_m.len();
        let mut mass = vec![[0.0; 3]; count];
        for start in (0..count - 2).step_by(2) {
            let (a, b) = (nodes.radius_m[start], nodes.radius_m[start + 2]);
            for (x, w) in THREE_POINTS {
                let n = edge_shape(x);
                let area = w * PI * (b - a) * (0.5 * (a + b) + 0.5 * (b - a) * x);
                for i in 0..3 {
                    for j in 0..=i {
                        mass[start + i][2 - (i - j)] += area * n[i] * n[j];
                    }
                }
            }
        }
        // Cholesky within a band of two.
        for i in 0..count {
            for back in (0..=2).rev() {
                if back > i {
                    continue;
                }
                let j = i - back;
                let mut sum = mass[i][2 - back];
                for k in i.saturating_sub(2).max(j.saturating_sub(2))..j {
                    sum -= mass[i][2 - (i - k)] * mass[j][2 - (j - k)];
                }
                mass[i][2 - back] = if back == 0 { 1.0 / sum.max(f64::MIN_POSITIVE).sqrt() } else { sum * mass[j][2] };
            }
        }
        Self { factor: mass }
    }

    /// The same for many loads at once, a row of them for each node.
    pub fn apply_rows(&self, loads: &mut [f64], columns: usize) {
        let l = &self.factor;
        let count = l.len();
        for i in 0..count {
            let (before, rest) = loads.split_at_mut(i * columns);
            let row = &mut rest[..columns];
            for back in 1..=2.min(i) {
                let other = &before[(i - back) * columns..(i - back + 1) * columns];
                row.iter_mut().zip(other).for_each(|(x, y)| *x -= l[i][2 - back] * y);
            }
            row.iter_mut().for_each(|x| *x *= l[i][2]);
        }
        for i in (0..count).rev() {
            let (before, rest) = loads.split_at_mut(i * columns);
            let row = &mut rest[..columns];
            row.iter_mut().for_each(|x| *x *= l[i][2]);
            for back in 1..=2.min(i) {
                let other = &mut before[(i - back) * columns..(i - back + 1) * columns];
                other.iter_mut().zip(&*row).for_each(|(x, y)| *x -= l[i][2 - back] * y);
            }
        }
    }

    /// Nodal values that carry the loads.
    pub fn apply(&self, loads: &mut [f64]) {
        let l = &self.factor;
        for i in 0..loads.len() {
            for back in 1..=2.min(i) {
                loads[i] -= l[i][2 - back] * loads[i - back];
            }
            loads[i] *= l[i][2];
        }
        for i in (0..loads.len()).rev() {
            loads[i] *= l[i][2];
            for back in 1..=2.min(i) {
                loads[i - back] -= l[i][2 - back] * loads[i];
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn projection_inverts_the_mass() {
        let nodes = BandNodes::uniform(24e-3, 31e-3, 6);
        let mass = nodes.mass();
        let values: Vec<f64> = (0..nodes.len()).map(|k| 1.0 + ((k * 37 + 11) % 17) as f64).collect();
        let mut loads: Vec<f64> = (0..nodes.len()).map(|i| (0..nodes.len()).map(|j| mass[(i, j)] * values[j]).sum()).collect();
        let projection = Projection::new(&nodes);
        let mut rows: Vec<f64> = loads.iter().flat_map(|load| [*load, -3.0 * load]).collect();
        projection.apply_rows(&mut rows, 2);
        projection.apply(&mut loads);
        for (pair, found) in rows.chunks(2).zip(&loads) {
            assert!((pair[0] - found).abs() < 1e-11 && (pair[1] + 3.0 * found).abs() < 1e-11, "{pair:?} {found}");
        }
        for (found, expected) in loads.iter().zip(&values) {
            assert!((found - expected).abs() < 1e-11, "{found} {expected}");
        }
    }
}
