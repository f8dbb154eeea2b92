//! Temperature of the film along the radius, from what its shear makes round the circumference.
//!
//! The film is taken to have one temperature round the circumference. The leak carries heat from line to line; what it does not keep goes
//! into the faces. What enters a thin film takes their temperature at the lip, as in `film::entry`. Enthalpy form: heat is what the shaft puts
//! in, so that the work of the pressure flow is not counted twice.

use std::f64::consts::PI;

use halfmicron_numerics::jet::Jet;

use super::arrays::{Laws, Line};
use super::grid::FieldGrid;
use super::properties::Table;
use crate::film::step::{implicitness_of, share_made_at_the_lip};

/// Newton iterations for one temperature; enthalpy is nearly straight in it.
const MOST: usize = 8;
/// Temperature below which a correction is the last, K.
const SETTLED_K: f64 = 1e-12;

/// Heat at both ends of a layer, means round the circumference.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct End {
    /// Shaft work, W/m2.
    pub made: f64,
    /// Conductance to the faces, W/(m2 K).
    pub cooling: f64,
}

/// Temperatures and what the leak keeps.
#[derive(Debug, Clone)]
pub(super) struct Heat {
    /// At each line, K.
    pub temperature_k: Vec<f64>,
    /// Kept by the leak in each layer, W/m2.
    pub kept: Vec<f64>,
    /// Weight of the downstream end of each layer.
    pub weight: Vec<f64>,
    /// Where it enters.
    pub lip: Lip,
}

/// What a thin film takes of its faces' heat where it enters ([`crate::film::step::share_made_at_the_lip`]).
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Lip {
    /// Share of the way to the faces' temperature.
    pub share: f64,
    /// Rise of the enthalpy, J/kg; it is in what the first layer keeps.
    pub rise: f64,
}

/// Shares of the circumference by depth in every layer, of the filled part.
pub(super) type Shares = Vec<Vec<(f64, f64)>>;

/// Heat made and cooling at both ends of every layer; heat is made where the film is `filled`. `gradient_pa` is the mean shear stress by the
/// pressure gradient in each layer.
pub(super) fn ends(grid: &FieldGrid, filled: &Shares, laws: &Laws, lines: &[Line], gradient_pa: &[f64], sliding: f64) -> Vec<[End; 2]> {
    (0..filled.len())
        .map(|i| {
            [0, 1].map(|end| {
                let line = &lines[i + end];
                let mut sum = End { made: gradient_pa[i] * sliding * line.radius, cooling: 0.0 };
                for &(depth, share) in &filled[i] {
                    sum.made += share * laws.shear_heat(line, line.gap + depth);
                }
                for &(depth, share) in &grid.shares[i] {
                    sum.cooling += share * laws.cooling(line, line.gap + depth);
                }
                sum
            })
        })
        .collect()
}

/// Upstream and downstream end of every layer in the order of the flow: layer, upstream line, downstream line.
pub(super) fn along(flow: f64, layers: usize) -> impl Iterator<Item = (usize, usize, usize)> {
    (0..layers).map(move |k| if flow >= 0.0 { (k, k, k + 1) } else { (layers - 1 - k, layers - k, layers - 1 - k) })
}

/// Area of a layer, m2.
pub(super) fn area(lines: &[Line], layer: usize) -> f64 {
    PI * (lines[layer + 1].radius.powi(2) - lines[layer].radius.powi(2))
}

/// March along the flow from the temperature at which the fluid enters.
pub(super) fn march(grid: &FieldGrid, table: &Table, lines: &[Line], ends: &[[End; 2]], flow: f64, entry_k: f64) -> Heat {
    let layers = grid.grid.rows();
    let mut temperature = vec![entry_k; layers + 1];
    let (mut kept, mut weight) = (vec![0.0; layers], vec![1.0; layers]);
    let carried = flow.abs();
    let mut lip = Lip::default();
    if let Some((layer, up, _)) = along(flow, layers).next() {
        let End { made, cooling } = ends[layer][up - layer];
        let (entering, heat_capacity) = table.enthalpy(lines[up].pressure, entry_k);
        let share = share_made_at_the_lip(Jet::<0>::constant(carried * heat_capacity / (area(lines, layer) * cooling))).value;
        let reached = lines[up].face + made / cooling;
        let rise = share * (table.enthalpy(lines[up].pressure, reached).0 - entering);
        let mut t = entry_k + share * (reached - entry_k);
        for _ in 0..MOST {
            let (there, heat_capacity) = table.enthalpy(lines[up].pressure, t);
            let step = (entering + rise - there) / heat_capacity;
            t += step;
            if step.abs() < SETTLED_K {
                break;
            }
        }
        temperature[up] = t;
        lip = Lip { share, rise };
        kept[layer] = carried * rise / area(lines, layer);
    }
    for (layer, up, down) in along(flow, layers) {
        let area = area(lines, layer);
        let (before, after) = (ends[layer][up - layer], ends[layer][down - layer]);
        let (enthalpy, _) = table.enthalpy(lines[up].pressure, temperature[up]);
        let surplus = before.made - before.cooling * (temperature[up] - lines[up].face);
        let heat_capacity = lines[down].fluid.heat_capacity.max(1.0);
        let theta = implicitness_of(0.5 * area * (before.cooling + after.cooling) / (carried * heat_capacity));
        let mut t = lines[down].face + after.made / after.cooling;
        for _ in 0..MOST {
            let (there, heat_capacity) = table.enthalpy(lines[down].pressure, t);
            let left = carried * (there - enthalpy)
                - area * (theta * (after.made - after.cooling * (t - lines[down].face)) + (1.0 - theta) * surplus);
            let step = -left / (carried * heat_capacity + area * theta * after.cooling);
            t += step;
            if step.abs() < SETTLED_K {
                break;
            }
        }
        temperature[down] = t;
        // What the leak keeps, from the faces' side: across a film that conducts well the last digits of temperature are watts.
        kept[layer] += carried * (table.enthalpy(lines[down].pressure, t).0 - enthalpy) / area;
        weight[layer] = theta;
    }
    Heat { temperature_k: temperature, kept, weight, lip }
}
