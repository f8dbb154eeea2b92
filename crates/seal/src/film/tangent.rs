//! Slopes of a converged film with respect to its causes.
//!
//! The march is replayed with every step's exact derivatives; the change of each station with the flow, the gaps and the face temperatures
//! is carried along, loads are summed on the way, and the condition at the exit closes the flow.

use faer::Mat;
use halfmicron_numerics::jet::Jet;
use halfmicron_properties::FluidState;

use super::axisymmetric::{FilmSensitivity, FilmStart, averages, marcher, replay};
use super::loads::{Projection, step_loads};
use super::march::{Closure, March, Marcher, Mark};
use super::step::{Causes, Lifted};
use super::trial::Rows;
use super::{FilmError, FilmInput};

/// Directions of a replayed step: 0 to 2 downstream, 3 to 5 upstream, 6 flow, 7 and 8 gaps, 9 and 10 face temperatures.
const DIRECTIONS: usize = 11;

pub(super) fn sensitivity(input: &FilmInput, converged: &FilmStart) -> Result<FilmSensitivity, FilmError> {
    let outward = converged.mass_flow_kg_per_s.is_sign_positive();
    let marcher = marcher(input, outward, Some(converged))?;
    let flow = converged.mass_flow_kg_per_s.abs();
    let march = converged.march.as_ref().ok_or(FilmError::Input("slopes are asked of a film that was not solved"))?;
    Tangent::new(&marcher, flow).follow(march)
}

/// Slopes of a march with respect to the flow and to gap and face temperature at every node, carried along.
struct Tangent<'a> {
    marcher: &'a Marcher<'a>,
    flow: f64,
    projection: Projection,
    /// Columns: the flow, gaps along the flow, face temperatures along the flow.
    columns: usize,
    /// Change of pressure, enthalpy and share of the present station.
    station: [Vec<f64>; 3],
    /// Loads by node (inner to outer), a row of columns each.
    pressure: Vec<f64>,
    heat: Vec<f64>,
    /// Conductivity times the length over which it is averaged, the same way, and that length.
    conductivity: Vec<f64>,
    length: Vec<f64>,
}

impl<'a> Tangent<'a> {
    fn new(marcher: &'a Marcher<'a>, flow: f64) -> Self {
        let n = marcher.band.len();
        let columns = 1 + 2 * n;
        Self {
            marcher,
            flow,
            projection: Projection::new(marcher.band.input.nodes),
            columns,
            station: [vec![0.0; columns], vec![0.0; columns], vec![0.0; columns]],
            pressure: vec![0.0; n * columns],
            heat: vec![0.0; n * columns],
            conductivity: vec![0.0; n * columns],
            length: vec![0.0; n],
        }
    }

    fn follow(mut self, march: &March) -> Result<FilmSensitivity, FilmError> {
        self.enter(&march.marks[0])?;
        let mut flow_by_cause = Vec::new();
        for index in 1..march.marks.len() {
            if march.marks[index].closure == Closure::Flash {
                self.flash(&march.marks[index])?;
                continue;
            }
            if let Some(found) = self.step(march, index)? {
                flow_by_cause = found;
            }
        }
        Ok(self.collect(&flow_by_cause))
    }

    fn enter(&mut self, mark: &Mark) -> Result<(), FilmError> {
        let switches = self.marcher.band.input.switches;
        if !switches.convective_inertia || self.flow == 0.0 {
            return Ok(());
        }
        let gap = Jet::variable(self.marcher.band.gap[0], 3);
        let rows = self.marcher.entry_rows::<4>(&mark.state, Jet::variable(self.flow, 2), Some(gap), 0.5 * (1.0 + switches.entry_loss));
        let ([a, b, m, g], [c, d, n, k]) = (rows[0].slopes, rows[1].slopes);
        let determinant = a * d - b * c;
        let mut set = |column: usize, x: f64, y: f64| {
            self.station[0][column] = -(d * x - b * y) / determinant;
            self.station[1][column] = -(a * y - c * x) / determinant;
        };
        set(0, m, n);
        set(1, g, k);
        Ok(())
    }

    /// Across the phase line at one place: the enthalpy follows the saturated vapour.
    fn flash(&mut self, mark: &Mark) -> Result<(), FilmError> {
        let slope = self.marcher.vapour_enthalpy_slope(mark.state.pressure_pa).ok_or(FilmError::Input("no phase line"))?;
        for column in 0..self.columns {
            self.station[1][column] = slope * self.station[0][column];
        }
        Ok(())
    }

    /// Carry the slopes over one step; over the last one they give the change of the flow with every cause.
    fn step(&mut self, march: &March, index: usize) -> Result<Option<Vec<f64>>, FilmError> {
        let marcher = self.marcher;
        let band = &marcher.band;
        let mark = &march.marks[index];
        let k = mark.interval;
        let (causes, a, b) = replay::<DIRECTIONS>(marcher, march, index, Jet::variable(self.flow, 6));
        let causes = Causes {
            gap: [Jet::variable(band.gap[k], 7), Jet::variable(band.gap[k + 1], 8)],
            face: [Jet::variable(band.face[k], 9), Jet::variable(band.face[k + 1], 10)],
            ..causes
        };
        let variable = |state: &FluidState, share: f64, first: usize| {
            Lifted::new(
                state,
                Jet::variable(state.pressure_pa, first),
                Jet::variable(state.enthalpy_j_per_kg, first + 1),
                Jet::variable(share, first + 2),
            )
        };
        let a = variable(&march.marks[index - 1].state, a.share.value, 3);
        let b = variable(&mark.state, b.share.value, 0);
        let (up, down) = (band.local(k, a, &causes), band.local(k, b, &causes));
        let step = band.step(k, &up, &down, &causes, mark.mixed);
        let loads = step_loads(band, k, &up, &down, &step, &causes);
        let step = step.balance;
        let touched = self.touched(k);
        let direct = [(0, 6), (1 + k, 7), (2 + k, 8), (1 + band.len() + k, 9), (2 + band.len() + k, 10)];
        let exit = mark.closure == Closure::Exit;
        let mut after = [vec![0.0; self.columns], vec![0.0; self.columns], vec![0.0; self.columns]];
        let mut flow_by_cause = None;
        let upstream = |row: &Jet<DIRECTIONS>, column: usize| -> f64 {
            (0..3).map(|i| row.slopes[3 + i] * self.station[i][column]).sum::<f64>()
                + direct.iter().find(|(at, _)| *at == column).map_or(0.0, |&(_, direction)| row.slopes[direction])
        };
        if exit {
            let mut drive = vec![0.0; self.columns];
            for &column in &touched {
                let by_energy = if step.energy.slopes[1] != 0.0 { -upstream(&step.energy, column) / step.energy.slopes[1] } else { 0.0 };
                after[1][column] = by_energy;
                drive[column] = upstream(&step.momentum, column) + step.momentum.slopes[1] * by_energy;
            }
            if drive[0] == 0.0 || !drive[0].is_finite() {
                return Err(FilmError::Input("the flow is stalled: its slope vanishes"));
            }
            flow_by_cause = Some(drive.iter().map(|d| -d / drive[0]).collect());
            if march.choked
                && let Some(slopes) = marcher.choked_pressure_slopes(march, self.flow)
            {
                for &column in &touched {
                    let upstream: f64 = (0..3).map(|i| slopes[i] * self.station[i][column]).sum();
                    let own = direct.iter().position(|(at, _)| *at == column).map_or(0.0, |place| slopes[3 + place]);
                    after[0][column] = upstream + own;
                    if step.energy.slopes[1] != 0.0 {
                        after[1][column] -= step.energy.slopes[0] / step.energy.slopes[1] * after[0][column];
                    }
                }
            }
        } else {
            let closing = marcher.closing(mark.closure, &b).map_err(|_| FilmError::Input("no phase line where the film boils"))?;
            let system = Rows::new(&[step.momentum, step.energy, closing], marcher.entry.pressure_pa);
            let unit = |right| system.solve(right).ok_or(FilmError::Input("the flow is choked inside the band: its matrix is singular"));
            let (by_momentum, by_energy) = (unit([1.0, 0.0, 0.0])?, unit([0.0, 1.0, 0.0])?);
            for &column in &touched {
                let (momentum, energy) = (upstream(&step.momentum, column), upstream(&step.energy, column));
                for i in 0..3 {
                    after[i][column] = -(by_momentum[i] * momentum + by_energy[i] * energy);
                }
            }
            if mark.closure == Closure::Short {
                // Choked on the phase line: the edge stays just saturated.
                let drive = |column: usize| after[0][column] - marcher.saturation_slope(&mark.state, after[0][column], after[1][column]);
                let by_flow = drive(0);
                if by_flow == 0.0 || !by_flow.is_finite() {
                    return Err(FilmError::Input("the flow is stalled: its slope vanishes"));
                }
                flow_by_cause = Some((0..self.columns).map(|column| -drive(column) / by_flow).collect());
            }
        }
        let averages = averages(band, k, &a, &b);
        averages.iter().for_each(|(node, _, length)| self.length[*node] += length.value);
        let on_nodes = (0..3).flat_map(|j| [(0, loads.first + j, &loads.pressure[j]), (1, loads.first + j, &loads.heat[j])]);
        for (kind, node, load) in on_nodes.chain(averages.iter().map(|(node, conductivity, _)| (2, *node, conductivity))) {
            let sum = match kind {
                0 => &mut self.pressure,
                1 => &mut self.heat,
                _ => &mut self.conductivity,
            };
            let row = &mut sum[node * self.columns..(node + 1) * self.columns];
            for &column in &touched {
                for i in 0..3 {
                    row[column] += load.slopes[i] * after[i][column] + load.slopes[3 + i] * self.station[i][column];
                }
            }
            for (column, direction) in direct {
                row[column] += load.slopes[direction];
            }
        }
        self.station = after;
        if matches!(mark.closure, Closure::Node) {
            self.station[2].fill(0.0);
        }
        Ok(flow_by_cause)
    }

    /// Columns that have had any effect up to the end of an interval.
    fn touched(&self, interval: usize) -> Vec<usize> {
        let n = self.marcher.band.len();
        (0..interval + 3).chain(1 + n..n + interval + 3).collect()
    }

    fn collect(mut self, flow_by_cause: &[f64]) -> FilmSensitivity {
        let n = self.marcher.band.len();
        let columns = self.columns;
        self.projection.apply_rows(&mut self.pressure, columns);
        self.projection.apply_rows(&mut self.heat, columns);
        for (row, length) in self.conductivity.chunks_mut(columns).zip(&self.length) {
            row.iter_mut().for_each(|value| *value /= length);
        }
        let matrix = |loads: &[f64], first: usize| {
            let mut found = Mat::zeros(n, n);
            for cause in 0..n {
                let column = first + cause;
                let place = self.marcher.band.order[cause];
                for node in 0..n {
                    found[(node, place)] = loads[node * columns + column] + loads[node * columns] * flow_by_cause[column];
                }
            }
            found
        };
        let along: Vec<f64> = flow_by_cause.iter().map(|slope| self.marcher.band.direction * slope).collect();
        let flow = |first: usize| {
            let mut found = vec![0.0; n];
            for cause in 0..n {
                found[self.marcher.band.order[cause]] = along.get(first + cause).copied().unwrap_or(0.0);
            }
            found
        };
        FilmSensitivity {
            flow_by_gap: flow(1),
            flow_by_face_temperature: flow(1 + n),
            pressure_by_gap: matrix(&self.pressure, 1),
            pressure_by_face_temperature: matrix(&self.pressure, 1 + n),
            flux_by_gap: matrix(&self.heat, 1),
            flux_by_face_temperature: matrix(&self.heat, 1 + n),
            conductivity_by_gap: matrix(&self.conductivity, 1),
            conductivity_by_face_temperature: matrix(&self.conductivity, 1 + n),
        }
    }
}
