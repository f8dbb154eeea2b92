//! Slopes of a converged film with respect to its causes.
//!
//! The march is replayed with every step's exact derivatives; the change of each station with the flow, the gaps and the face temperatures
//! is carried along, loads are summed on the way, and the condition at the exit closes the flow.

use std::ops::Range;

use faer::Mat;
use halfmicron_numerics::jet::Jet;
use halfmicron_properties::FluidState;

use super::axisymmetric::{FilmSensitivity, FilmStart, averages, marcher, start_share};
use super::entry::Entry;
use super::hold::Hold;
use super::loads::{Projection, step_loads};
use super::march::{Closure, Found, March, Marcher, Mark};
use super::step::{Causes, Lifted, Local, Step};
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

/// Columns on which an interval depends by its own gaps and face temperatures, with their directions.
fn direct(interval: usize, nodes: usize) -> [(usize, usize); 4] {
    [(1 + interval, 7), (2 + interval, 8), (1 + nodes + interval, 9), (2 + nodes + interval, 10)]
}

/// Change of what the exit decides with every cause, from that of its drive.
fn closed(drive: Vec<f64>) -> Result<Vec<f64>, FilmError> {
    let by_decided = drive[0];
    if by_decided == 0.0 || !by_decided.is_finite() {
        return Err(FilmError::Input("the flow is stalled: its slope vanishes"));
    }
    Ok(drive.iter().map(|d| -d / by_decided).collect())
}

/// Add to columns of a row what a residual or load takes from the start of its step (three changes) and from the flow.
fn add_upstream(of: &Jet<DIRECTIONS>, changes: [&Vec<f64>; 4], columns: Range<usize>, row: &mut [f64]) {
    let [p, h, s, flow] = changes.map(|change| &change[columns.clone()]);
    let by = &of.slopes;
    for (k, row) in row[columns].iter_mut().enumerate() {
        *row += by[3] * p[k] + by[4] * h[k] + by[5] * s[k] + by[6] * flow[k];
    }
}

/// A step with its derivatives.
struct Made {
    causes: Causes<DIRECTIONS>,
    up: Local<DIRECTIONS>,
    down: Local<DIRECTIONS>,
    step: Step<DIRECTIONS>,
}

/// Slopes of a march with respect to the flow and to gap and face temperature at every node, carried along.
struct Tangent<'a> {
    marcher: &'a Marcher<'a>,
    flow: f64,
    projection: Projection,
    /// Columns: what the exit decides, gaps along the flow, face temperatures along the flow.
    columns: usize,
    /// Change of the flow by column. The exit decides the flow itself, or, where the film follows its boiling point, the place where it leaves.
    flow_by: Vec<f64>,
    /// Change, by column, of the first level of `ln v` behind the place where the film leaves its boiling point.
    leaving: Vec<f64>,
    /// Change of the node that is touched, by column, where the film leaves its boiling point before it.
    beyond: [Vec<f64>; 3],
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
        let mut flow_by = vec![0.0; columns];
        flow_by[0] = 1.0;
        Self {
            marcher,
            flow,
            projection: Projection::new(marcher.band.input.nodes),
            columns,
            flow_by,
            leaving: Vec::new(),
            beyond: Default::default(),
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
            let touch = march.hold.as_deref().filter(|hold| hold.touch == index);
            if let Some(hold) = touch.filter(|hold| hold.sooner) {
                let before = &march.marks[index - 1];
                self.beyond = self.carried(&self.lift(&before.state, start_share(march, index), &hold.ahead), &hold.ahead)?;
                self.touch(&hold.ahead, hold)?;
            }
            if let Some(found) = self.step(march, index)? {
                flow_by_cause = found;
            }
            if let Some(hold) = touch.filter(|hold| !hold.sooner) {
                self.touch(&march.marks[index], hold)?;
            }
        }
        Ok(self.collect(&flow_by_cause))
    }

    fn enter(&mut self, mark: &Mark) -> Result<(), FilmError> {
        let band = &self.marcher.band;
        let flow = Jet::<5>::variable(self.flow, 2);
        let (gap, face) = (Jet::variable(band.gap[0], 3), Jet::variable(band.face[0], 4));
        let Entry { pressure, energy, heat } = self
            .marcher
            .entry_rows(&mark.state, flow, gap, face)
            .map_err(|_| FilmError::Input("the phase line ends where the film enters"))?;
        let heat = flow * heat;
        let ([a, b, ..], [c, d, ..]) = (pressure.slopes, energy.slopes);
        let determinant = a * d - b * c;
        let node = band.order[0];
        for (column, direction) in [(0, 2), (1, 3), (1 + band.len(), 4)] {
            let (x, y) = (pressure.slopes[direction], energy.slopes[direction]);
            let (by_p, by_h) = (-(d * x - b * y) / determinant, -(a * y - c * x) / determinant);
            self.station[0][column] = by_p;
            self.station[1][column] = by_h;
            if band.heat() {
                self.heat[node * self.columns + column] -= heat.slopes[0] * by_p + heat.slopes[1] * by_h + heat.slopes[direction];
            }
        }
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

    /// The liquid touches its boiling point whatever changes: that gives the change of the flow, and leaves what the exit decides to a place
    /// further on.
    ///
    /// Where it comes there as a mixture, its enthalpy hardly changes beside what a change of the flow alone would make of it.
    fn touch(&mut self, mark: &Mark, hold: &Hold) -> Result<(), FilmError> {
        let (_, slope) = self
            .marcher
            .saturated(mark.state.pressure_pa, Closure::Boil)
            .map_err(|_| FilmError::Input("no phase line where the film boils"))?;
        let slope = if hold.merged { 0.0 } else { slope };
        let there = if hold.sooner { &self.beyond } else { &self.station };
        let off = |column: usize| there[1][column] - slope * there[0][column];
        let by_flow = off(0);
        if by_flow == 0.0 || !by_flow.is_finite() {
            return Err(FilmError::Input("the flow is stalled: its slope vanishes"));
        }
        let change: Vec<f64> = (0..self.columns).map(|column| if column == 0 { -1.0 } else { -off(column) / by_flow }).collect();
        let turn = |row: &mut [f64]| {
            let by_flow = row[0];
            row.iter_mut().zip(&change).for_each(|(value, change)| *value += by_flow * change);
        };
        self.station.iter_mut().chain(self.beyond.iter_mut().filter(|row| !row.is_empty())).for_each(|row| turn(row));
        for loads in [&mut self.pressure, &mut self.heat, &mut self.conductivity] {
            loads.chunks_mut(self.columns).for_each(turn);
        }
        turn(&mut self.flow_by);
        Ok(())
    }

    /// Slopes of the place between two held nodes at which the film leaves its boiling point, from those of the node beyond it.
    fn along(&mut self, before: &Mark, mark: &Mark, hold: &Hold, beyond: &[Vec<f64>; 3]) -> Result<[Vec<f64>; 3], FilmError> {
        let ([mut pressure, mut enthalpy], decided) = self
            .marcher
            .along_slopes(hold, before, [&self.station, beyond])
            .ok_or(FilmError::Input("the phase line ends where the film leaves it"))?;
        let mut share: Vec<f64> = self.station[2].iter().map(|start| (1.0 - hold.way.part) * start).collect();
        pressure[0] += decided[0];
        enthalpy[0] += decided[1];
        share[0] += decided[2];
        let d = &mark.state.derivatives;
        let here = Found { state: mark.state, share: mark.share, by_flow: [0.0; 3] };
        let (_, weight, by_rise) =
            self.marcher.first_target(&here, &hold.way).ok_or(FilmError::Input("the phase line ends where the film leaves it"))?;
        self.leaving = (0..self.columns)
            .map(|c| -weight * (d.density_by_pressure * pressure[c] + d.density_by_enthalpy * enthalpy[c]) / mark.state.density_kg_per_m3)
            .collect();
        if hold.way.by_rise {
            self.leaving[0] += by_rise;
        }
        Ok([pressure, enthalpy, share])
    }

    /// A step with its derivatives, from a state at a share of an interval to a station.
    fn lift(&self, from: &FluidState, share: f64, mark: &Mark) -> Made {
        let band = &self.marcher.band;
        let k = mark.interval;
        let causes = Causes {
            gap: [Jet::variable(band.gap[k], 7), Jet::variable(band.gap[k + 1], 8)],
            face: [Jet::variable(band.face[k], 9), Jet::variable(band.face[k + 1], 10)],
            flow: Jet::variable(self.flow, 6),
        };
        let variable = |state: &FluidState, share: f64, first: usize| {
            Lifted::new(
                state,
                Jet::variable(state.pressure_pa, first),
                Jet::variable(state.enthalpy_j_per_kg, first + 1),
                Jet::variable(share, first + 2),
            )
        };
        let up = band.local(k, variable(from, share, 3), &causes);
        let down = band.local(k, variable(&mark.state, mark.share, 0), &causes);
        let step = band.step(k, &up, &down, &causes, mark.weighing());
        Made { causes, up, down, step }
    }

    /// Change of a residual with every column, but for what the end of its step does.
    fn upstream(&self, row: &Jet<DIRECTIONS>, interval: usize) -> Vec<f64> {
        let mut change = vec![0.0; self.columns];
        for columns in self.touched(interval) {
            add_upstream(row, [&self.station[0], &self.station[1], &self.station[2], &self.flow_by], columns, &mut change);
        }
        for (column, direction) in direct(interval, self.marcher.band.len()) {
            change[column] += row.slopes[direction];
        }
        change
    }

    /// Slopes of the station at the end of a step.
    fn carried(&self, made: &Made, mark: &Mark) -> Result<[Vec<f64>; 3], FilmError> {
        let closing =
            self.marcher.closing(mark.closure, &made.down.at).map_err(|_| FilmError::Input("no phase line where the film boils"))?;
        let system = Rows::new(&[made.step.balance.momentum, made.step.balance.energy, closing], self.marcher.entry.pressure_pa);
        let unit = |right| system.solve(right).ok_or(FilmError::Input("the flow is choked inside the band: its matrix is singular"));
        let (by_momentum, by_energy) = (unit([1.0, 0.0, 0.0])?, unit([0.0, 1.0, 0.0])?);
        let by_level = if matches!(mark.closure, Closure::Away(_)) { Some(unit([0.0, 0.0, 1.0])?) } else { None };
        let mut after = self.nothing();
        let momentum = self.upstream(&made.step.balance.momentum, mark.interval);
        let energy = self.upstream(&made.step.balance.energy, mark.interval);
        for (i, after) in after.iter_mut().enumerate() {
            for ((after, momentum), energy) in after.iter_mut().zip(&momentum).zip(&energy) {
                *after = -(by_momentum[i] * momentum + by_energy[i] * energy);
            }
            if let Some(by_level) = by_level {
                for column in self.touched(mark.interval).into_iter().flatten() {
                    after[column] += by_level[i] * self.leaving[column];
                }
            }
        }
        Ok(after)
    }

    fn nothing(&self) -> [Vec<f64>; 3] {
        std::array::from_fn(|_| vec![0.0; self.columns])
    }

    /// Carry the slopes over one step; over the last one they give the change of what the exit decides with every cause.
    fn step(&mut self, march: &March, index: usize) -> Result<Option<Vec<f64>>, FilmError> {
        let mark = &march.marks[index];
        let before = &march.marks[index - 1];
        let made = self.lift(&before.state, start_share(march, index), mark);
        let mut decided = None;
        let after = match (mark.closure, march.hold.as_deref()) {
            (Closure::Exit, _) => {
                let (after, found) = self.leave(march, &made, mark)?;
                decided = Some(found);
                after
            }
            (Closure::Along, Some(hold)) => {
                let beyond =
                    if hold.sooner { self.beyond.clone() } else { self.carried(&self.lift(&before.state, 0.0, &hold.ahead), &hold.ahead)? };
                self.along(before, mark, hold, &beyond)?
            }
            _ => self.carried(&made, mark)?,
        };
        if mark.closure == Closure::Short {
            // Choked on the phase line: the edge stays just saturated.
            let drive = |column: usize| after[0][column] - self.marcher.saturation_slope(&mark.state, after[0][column], after[1][column]);
            decided = Some(closed((0..self.columns).map(drive).collect())?);
        }
        self.load(&made, mark, &after);
        self.station = after;
        if mark.ends_interval() {
            self.station[2].fill(0.0);
        }
        Ok(decided)
    }

    /// The exit, and the change of what it decides.
    fn leave(&self, march: &March, made: &Made, mark: &Mark) -> Result<([Vec<f64>; 3], Vec<f64>), FilmError> {
        let step = &made.step.balance;
        let k = mark.interval;
        let mut after = self.nothing();
        let mut drive = vec![0.0; self.columns];
        let (momentum, energy) = (self.upstream(&step.momentum, k), self.upstream(&step.energy, k));
        for column in self.touched(k).into_iter().flatten() {
            let by_energy = if step.energy.slopes[1] != 0.0 { -energy[column] / step.energy.slopes[1] } else { 0.0 };
            after[1][column] = by_energy;
            drive[column] = momentum[column] + step.momentum.slopes[1] * by_energy;
        }
        if march.choked
            && let Some(slopes) = self.marcher.choked_pressure_slopes(march, self.flow)
        {
            let direct = direct(k, self.marcher.band.len());
            for column in self.touched(k).into_iter().flatten() {
                let upstream: f64 = (0..3).map(|i| slopes[i] * self.station[i][column]).sum();
                let own = direct.iter().position(|(at, _)| *at == column).map_or(0.0, |place| slopes[4 + place]);
                after[0][column] = upstream + slopes[3] * self.flow_by[column] + own;
                if step.energy.slopes[1] != 0.0 {
                    after[1][column] -= step.energy.slopes[0] / step.energy.slopes[1] * after[0][column];
                }
            }
        }
        Ok((after, closed(drive)?))
    }

    /// Add the loads of a step.
    fn load(&mut self, made: &Made, mark: &Mark, after: &[Vec<f64>; 3]) {
        let k = mark.interval;
        let loads = step_loads(&self.marcher.band, k, &made.up, &made.down, &made.step, &made.causes);
        let averages = averages(&self.marcher.band, k, &made.up.at, &made.down.at);
        averages.iter().for_each(|(node, _, length)| self.length[*node] += length.value);
        let direct = direct(k, self.marcher.band.len());
        let touched = self.touched(k);
        let on_nodes = (0..3).flat_map(|j| [(0, loads.first + j, &loads.pressure[j]), (1, loads.first + j, &loads.heat[j])]);
        for (kind, node, load) in on_nodes.chain(averages.iter().map(|(node, conductivity, _)| (2, *node, conductivity))) {
            let sum = match kind {
                0 => &mut self.pressure,
                1 => &mut self.heat,
                _ => &mut self.conductivity,
            };
            let row = &mut sum[node * self.columns..(node + 1) * self.columns];
            for columns in touched.clone() {
                add_upstream(load, [&self.station[0], &self.station[1], &self.station[2], &self.flow_by], columns.clone(), row);
                let (by, [p, h, s]) = (&load.slopes, after.each_ref().map(|after| &after[columns.clone()]));
                for (k, row) in row[columns].iter_mut().enumerate() {
                    *row += by[0] * p[k] + by[1] * h[k] + by[2] * s[k];
                }
            }
            for (column, direction) in direct {
                row[column] += load.slopes[direction];
            }
        }
    }

    /// Columns that have had any effect up to the end of an interval.
    fn touched(&self, interval: usize) -> [Range<usize>; 2] {
        let n = self.marcher.band.len();
        [0..interval + 3, 1 + n..n + interval + 3]
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
            let mut found = Mat::<f64>::zeros(n, n);
            for cause in 0..n {
                let column = first + cause;
                let by_node = found.col_as_slice_mut(self.marcher.band.order[cause]).iter_mut();
                for (found, row) in by_node.zip(loads.chunks_exact(columns)) {
                    *found = row[column] + row[0] * flow_by_cause[column];
                }
            }
            found
        };
        let along: Vec<f64> = flow_by_cause
            .iter()
            .zip(&self.flow_by)
            .map(|(decided, own)| self.marcher.band.direction * (own + self.flow_by[0] * decided))
            .collect();
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
