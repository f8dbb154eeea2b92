//! Slopes of a solved field by gap and face temperature at the nodes of the band.
//!
//! What a hat over a node does to the net outflow is taken from the equation itself, at a gap or temperature changed by a little; hats that do
//! not touch share one evaluation. The factors at hand give the pressures that undo it. Temperature follows by the linear march of heat.

use faer::Mat;
use halfmicron_numerics::reynolds::Change;

use super::arrays::{Laws, Line, motion};
use super::grid::FieldGrid;
use super::heat::{self, End, Heat, along, ends, march};
use super::loads::{Layer, layers, pressure_loads};
use super::properties::Isotherm;
use super::{FieldStart, Given, lines};
use crate::film::axisymmetric::FilmSensitivity;
use crate::film::loads::Projection;
use crate::film::{FilmError, FilmInput, FilmStart};

/// Relative change by which slopes are taken.
const SMALL: f64 = 1e-6;
/// Change of temperature by which slopes are taken, K.
const SMALL_K: f64 = 1e-3;
/// Hats of one evaluation are so many apart that no node feels two.
const APART: usize = 3;

/// A hat: its node of the band, and the nodes at which it vanishes.
struct Hat {
    from: usize,
    node: usize,
    to: usize,
}

pub(in crate::film) fn sensitivity(input: &FilmInput, grid: &FieldGrid, converged: &FilmStart) -> Result<FilmSensitivity, FilmError> {
    let start = converged.field.as_deref().filter(|field| field.size == grid.size());
    let start = start.ok_or(FilmError::Input("slopes are asked of a film that was not solved"))?;
    Tangent::new(input, grid, start)?.follow()
}

struct Tangent<'a> {
    input: &'a FilmInput<'a>,
    grid: &'a FieldGrid,
    start: &'a FieldStart,
    hats: Vec<Hat>,
    lines: Vec<Line>,
    heat: Heat,
    ends: Vec<[End; 2]>,
    /// The same at a gap and at a temperature a little greater, per metre and per kelvin.
    ends_by_gap: Vec<[End; 2]>,
    ends_by_kelvin: Vec<[End; 2]>,
    layers: Vec<Layer>,
}

/// Change of everything by one cause.
#[derive(Clone)]
struct Followed {
    /// Loads of pressure by node, N.
    loads: Vec<f64>,
    /// Mass flow outward, kg/s.
    flow: f64,
}

impl<'a> Tangent<'a> {
    fn new(input: &'a FilmInput<'a>, grid: &'a FieldGrid, start: &'a FieldStart) -> Result<Self, FilmError> {
        let lines = lines(input, grid, &start.table, &start.temperature_k, &start.pressure_pa);
        let laws = Laws::new(input, start.table.is_gas, start.flow);
        let filled = if start.table.is_gas { grid.shares.clone() } else { grid.filled_shares(Some(&start.solution.field.fill)) };
        let still = vec![0.0; grid.grid.rows()];
        let of = |lines: &[Line]| ends(grid, &filled, &laws, lines, &still, 0.0);
        let made = of(&lines);
        let step_m = SMALL * lines.iter().map(|line| line.gap.abs()).fold(input.roughness_m, f64::max);
        let higher: Vec<Line> = lines.iter().map(|line| Line { gap: line.gap + step_m, ..*line }).collect();
        let warmer: Vec<f64> = start.temperature_k.iter().map(|t| t + SMALL_K).collect();
        let warmer = self::lines(input, grid, &start.table, &warmer, &start.pressure_pa);
        let (by_gap, by_kelvin) = (per(&of(&higher), &made, step_m), per(&of(&warmer), &made, SMALL_K));
        let heat = march(grid, &start.table, &lines, &made, start.flow, input.entry_temperature_k);
        let hats = hats(input.nodes.len());
        let layers = layers(grid, input.nodes);
        Ok(Self { input, grid, start, hats, lines, heat, ends: made, ends_by_gap: by_gap, ends_by_kelvin: by_kelvin, layers })
    }

    fn follow(&self) -> Result<FilmSensitivity, FilmError> {
        let n = self.input.nodes.len();
        let count = self.hats.len();
        let heated = self.input.switches.heat;
        let still = self.outflow(&self.lines)?;
        let mut outflows = self.outflows(true, &still)?;
        outflows.extend(self.outflows(false, &still)?);
        let changes = self.start.solution.undo(&outflows)?;
        let followed = self.followed(&changes)?;
        let (by_gap, by_kelvin) = followed.split_at(count);
        // Temperatures by gap, by face temperature and by flow, at a steady field.
        let lines = self.lines.len();
        let none = vec![0.0; lines];
        let at_hats = |t: &[f64]| -> Vec<f64> { self.hats.iter().map(|hat| t[self.grid.line_of_node[hat.node]]).collect() };
        let shape = |hat: &Hat| self.on_lines(hat);
        let (mut t_gap, mut t_face) = (Vec::new(), Vec::new());
        for hat in &self.hats {
            let shape = shape(hat);
            if heated {
                t_gap.push(self.warmed(&shape, &none, 0.0));
                t_face.push(self.warmed(&none, &shape, 0.0));
            } else {
                t_gap.push((none.clone(), vec![0.0; lines - 1]));
                t_face.push((shape, vec![0.0; lines - 1]));
            }
        }
        let t_flow = if heated { self.warmed(&none, &none, 1.0) } else { (none.clone(), vec![0.0; lines - 1]) };
        let flow_by_kelvin: Vec<f64> = by_kelvin.iter().map(|f| f.flow).collect();
        let through = |t: &[f64]| -> f64 { at_hats(t).iter().zip(&flow_by_kelvin).map(|(a, b)| a * b).sum() };
        // The flow changes the temperatures, and they the flow.
        let closing = 1.0 / (1.0 - through(&t_flow.0));
        let mut out = FilmSensitivity {
            pressure_by_gap: Mat::zeros(n, n),
            pressure_by_face_temperature: Mat::zeros(n, n),
            flux_by_gap: Mat::zeros(n, n),
            flux_by_face_temperature: Mat::zeros(n, n),
            conductivity_by_gap: Mat::zeros(n, n),
            conductivity_by_face_temperature: Mat::zeros(n, n),
            flow_by_gap: vec![0.0; n],
            flow_by_face_temperature: vec![0.0; n],
        };
        let projection = Projection::new(self.input.nodes);
        for (index, hat) in self.hats.iter().enumerate() {
            for gap in [true, false] {
                let (direct, own) = if gap { (by_gap[index].flow, &t_gap[index]) } else { (0.0, &t_face[index]) };
                let flow = closing * (direct + through(&own.0));
                let add = |a: &[f64], b: &[f64]| -> Vec<f64> { a.iter().zip(b).map(|(a, b)| a + flow * b).collect() };
                let (warmed, kept) = (add(&own.0, &t_flow.0), add(&own.1, &t_flow.1));
                let mut pressure = if gap { by_gap[index].loads.clone() } else { vec![0.0; n] };
                for (kelvin, followed) in at_hats(&warmed).iter().zip(by_kelvin) {
                    pressure.iter_mut().zip(&followed.loads).for_each(|(p, by)| *p += kelvin * by);
                }
                let mut flux = self.flux_loads(gap.then(|| shape(hat)).as_deref(), &warmed, &kept);
                projection.apply(&mut pressure);
                projection.apply(&mut flux);
                let (p, q, m) = if gap {
                    (&mut out.pressure_by_gap, &mut out.flux_by_gap, &mut out.flow_by_gap)
                } else {
                    (&mut out.pressure_by_face_temperature, &mut out.flux_by_face_temperature, &mut out.flow_by_face_temperature)
                };
                p.col_as_slice_mut(hat.node).copy_from_slice(&pressure);
                q.col_as_slice_mut(hat.node).copy_from_slice(&flux);
                m[hat.node] = flow;
            }
        }
        Ok(out)
    }

    /// A hat on the lines.
    fn on_lines(&self, hat: &Hat) -> Vec<f64> {
        let radius = &self.input.nodes.radius_m;
        let (a, m, b) = (radius[hat.from], radius[hat.node], radius[hat.to]);
        let height = |r: f64| {
            if r <= m {
                if hat.from == hat.node { f64::from(u8::from(r >= m)) } else { ((r - a) / (m - a)).max(0.0) }
            } else if hat.to == hat.node {
                0.0
            } else {
                ((b - r) / (b - m)).max(0.0)
            }
        };
        self.lines.iter().map(|line| height(line.radius)).collect()
    }

    /// Net outflow of every node with the field as it stands, of other lines.
    fn outflow(&self, lines: &[Line]) -> Result<Vec<f64>, FilmError> {
        let laws = Laws::new(self.input, self.start.table.is_gas, self.start.flow);
        let Self { input, grid, start, .. } = *self;
        let given = Given { input, grid, laws: &laws, lines, table: &start.table, cavity_pa: start.cavity_pa };
        given.problem(|problem| Ok(start.solution.outflow(problem)?))
    }

    /// Change of the net outflow by every hat, per metre or per kelvin, from that of the film as it stands.
    fn outflows(&self, gap: bool, still: &[f64]) -> Result<Vec<Vec<f64>>, FilmError> {
        let step = if gap { SMALL * self.lines.iter().map(|line| line.gap.abs()).fold(self.input.roughness_m, f64::max) } else { SMALL_K };
        let wide = self.grid.grid.columns();
        let mut outflows = vec![vec![0.0; still.len()]; self.hats.len()];
        for colour in 0..APART {
            let mut raised = vec![0.0; self.lines.len()];
            for hat in self.hats.iter().skip(colour).step_by(APART) {
                raised.iter_mut().zip(self.on_lines(hat)).for_each(|(sum, height)| *sum += step * height);
            }
            let changed: Vec<Line> = if gap {
                self.lines.iter().zip(&raised).map(|(line, raised)| Line { gap: line.gap + raised, ..*line }).collect()
            } else {
                let warmer: Vec<f64> = self.start.temperature_k.iter().zip(&raised).map(|(t, raised)| t + raised).collect();
                lines(self.input, self.grid, &self.start.table, &warmer, &self.start.pressure_pa)
            };
            let moved = self.outflow(&changed)?;
            for (index, hat) in self.hats.iter().enumerate().skip(colour).step_by(APART) {
                let [from, to] = [hat.from, hat.to].map(|node| self.grid.line_of_node[node]);
                for node in from * wide..(to + 1) * wide {
                    outflows[index][node] = (moved[node] - still[node]) / step;
                }
            }
        }
        Ok(outflows)
    }

    /// Loads and flow of changes of the field.
    fn followed(&self, changes: &[Change]) -> Result<Vec<Followed>, FilmError> {
        let grid = self.grid;
        let laws = Laws::new(self.input, self.start.table.is_gas, self.start.flow);
        let isotherms: Vec<Isotherm> = self.lines.iter().map(|line| self.start.table.isotherm(line.temperature)).collect();
        let is_gas = self.start.table.is_gas;
        let density = |line: usize, pressure: f64| super::density_at(is_gas, &isotherms, &self.lines, line, pressure);
        let spin = motion(grid, self.input).spin;
        let weights = pressure_loads(grid, self.input.nodes, &laws, &self.lines, &self.start.solution.field, &density, spin).weights;
        let columns = grid.grid.columns();
        // Sums over the circumference first: every change is then a walk over the layers.
        let of = |change: &Change| {
            let mut loads = vec![0.0; self.input.nodes.len()];
            for (i, layer) in self.layers.iter().enumerate() {
                for j in 0..columns {
                    let weight = &weights[i * columns + j];
                    let [a, b] = [i, i + 1].map(|line| change.pressure_pa[line * columns + j]);
                    for k in 0..3 {
                        loads[layer.first + k] += weight[0][k] * a + weight[1][k] * b;
                    }
                }
            }
            Followed { loads, flow: -change.outer_flow_kg_per_s }
        };
        Ok(changes.iter().map(of).collect())
    }

    /// Change of the temperature of every line, and of what the leak keeps in every layer, by gap, face temperature and flow.
    fn warmed(&self, gap: &[f64], face: &[f64], flow: f64) -> (Vec<f64>, Vec<f64>) {
        let layers = self.grid.grid.rows();
        let (mut t, mut kept) = (vec![0.0; layers + 1], vec![0.0; layers]);
        let carried = self.start.flow.abs();
        let carried_change = flow * self.start.flow.signum();
        let surplus = |layer: usize, line: usize, kelvin: f64| {
            let end = line - layer;
            let at = &self.lines[line];
            let (e, by_gap, by_kelvin) = (self.ends[layer][end], self.ends_by_gap[layer][end], self.ends_by_kelvin[layer][end]);
            let off = self.heat.temperature_k[line] - at.face;
            by_gap.made * gap[line] + by_kelvin.made * kelvin
                - e.cooling * (kelvin - face[line])
                - (by_gap.cooling * gap[line] + by_kelvin.cooling * kelvin) * off
        };
        if let Some((layer, up, _)) = along(self.start.flow, layers).next() {
            // The share itself hardly changes where it is of any weight.
            let by_kelvin = surplus(layer, up, 1.0) - surplus(layer, up, 0.0);
            t[up] = -self.heat.lip.share * surplus(layer, up, 0.0) / by_kelvin;
            let warmed = carried * self.lines[up].fluid.heat_capacity * t[up];
            kept[layer] = (warmed + carried_change * self.heat.lip.rise) / heat::area(&self.lines, layer);
        }
        // What the first layer keeps behind the lip.
        let mut at_the_lip = self.heat.lip.rise;
        for (layer, up, down) in along(self.start.flow, layers) {
            let area = heat::area(&self.lines, layer);
            let theta = self.heat.weight[layer];
            let rise = if carried > 0.0 { self.heat.kept[layer] * area / carried - std::mem::take(&mut at_the_lip) } else { 0.0 };
            let stored = carried * self.lines[up].fluid.heat_capacity * t[up];
            let driven =
                stored - carried_change * rise + area * (theta * surplus(layer, down, 0.0) + (1.0 - theta) * surplus(layer, up, t[up]));
            let by_kelvin = surplus(layer, down, 1.0) - surplus(layer, down, 0.0);
            let heat_capacity = self.lines[down].fluid.heat_capacity;
            t[down] = driven / (carried * heat_capacity - area * theta * by_kelvin);
            kept[layer] += (carried * heat_capacity * t[down] - stored + carried_change * rise) / area;
        }
        (t, kept)
    }

    /// Loads of the change of heat to the faces, W.
    fn flux_loads(&self, gap: Option<&[f64]>, warmed: &[f64], kept: &[f64]) -> Vec<f64> {
        let change = |layer: usize, end: usize| {
            let line = layer + end;
            self.ends_by_gap[layer][end].made * gap.map_or(0.0, |gap| gap[line]) + self.ends_by_kelvin[layer][end].made * warmed[line]
        };
        super::heat_loads(&self.layers, self.input.nodes, |layer, share| {
            let (a, b) = (change(layer, 0), change(layer, 1));
            a + share * (b - a) - kept[layer]
        })
    }
}

/// A hat at every node of a band.
fn hats(nodes: usize) -> Vec<Hat> {
    (0..nodes).map(|node| Hat { from: node.saturating_sub(1), node, to: (node + 1).min(nodes - 1) }).collect()
}

/// Differences per step.
fn per(after: &[[End; 2]], before: &[[End; 2]], step: f64) -> Vec<[End; 2]> {
    after
        .iter()
        .zip(before)
        .map(|(after, before)| {
            [0, 1].map(|end| End {
                made: (after[end].made - before[end].made) / step,
                cooling: (after[end].cooling - before[end].cooling) / step,
            })
        })
        .collect()
}
