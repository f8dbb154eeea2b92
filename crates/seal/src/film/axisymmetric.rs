//! Axisymmetric film: mass, momentum and energy along the radius.
//!
//! **What.** Pressure, enthalpy and mass flow of the film at given gap and face temperatures, curvature kept.
//! **Equation.** `dp/dr = -12 mu M/(2 pi r rho phi_p h^3) + rho r (3 w1^2 + 4 w1 w2 + 3 w2^2)/10 - a rho u du/dr`, `u = M/(2 pi r rho h)`;
//! `M dH/dr = 2 pi r (q_v - q)`, `q_v = tau w r`, `tau = mu w r phi_f/h` bounded for oils by a limiting shear stress, `q = (12 k/h)(T - (T1 + T2)/2)`; entry `p0 - p = (1 + zeta) rho u^2/2`.
//! **Valid when.** Thin laminar film (`rho r w h/mu` below 1000), equilibrium fluid, exit not choked.
//! **Source.** Pinkus and Lund 1981 and Findlay 1968 (averaged inertia), Patir and Cheng 1978 (roughness); energy across the film from
//! the Couette parabola, derived here.
//! **Checked by.** F1, F2, F4.
//!
//! Stations are numbered along the flow, so that each depends on itself and its upstream neighbour only: the Newton matrix is
//! lower block-bidiagonal with the mass flow as a border.

use faer::Mat;
use halfmicron_numerics::marching::{Block, MarchingMatrix};
use halfmicron_properties::FluidState;
use std::f64::consts::PI;

use super::roughness::{WithSlope, flow_cube, mean_gap, shear_per_gap};
use super::{FilmError, FilmInput, FilmResult};

/// Two-point Gauss abscissa on [0, 1].
const GAUSS_2: [f64; 2] = [0.211_324_865_405_187_1, 0.788_675_134_594_812_9];
const MAX_ITERATIONS: usize = 40;
/// Relative correction after which Newton stops: it converges quadratically, so what is left is about its square.
const TOLERANCE: f64 = 3e-7;

/// A film to start from: pressure, enthalpy at each node (inner to outer) and mass flow (outward).
#[derive(Debug, Clone, PartialEq)]
pub struct FilmStart {
    /// Pa.
    pub pressure_pa: Vec<f64>,
    /// J/kg.
    pub enthalpy_j_per_kg: Vec<f64>,
    /// kg/s, positive outward.
    pub mass_flow_kg_per_s: f64,
}

/// Derivatives of a film; matrices are n x n, row = node of the result, column = node of the cause.
#[derive(Debug, Clone)]
pub struct FilmSensitivity {
    /// Pa/m.
    pub pressure_by_gap: Mat<f64>,
    /// Pa/K.
    pub pressure_by_face_temperature: Mat<f64>,
    /// W/m2 per m.
    pub flux_by_gap: Mat<f64>,
    /// W/m2 per K.
    pub flux_by_face_temperature: Mat<f64>,
}

/// Mechanics of one node that depend on the gap alone.
#[derive(Clone, Copy)]
struct NodeGap {
    /// Mean gap hT for storage, conduction and mean speed.
    mean: WithSlope,
    /// phi_f/h.
    shear: WithSlope,
}

/// Part of an interval around one Gauss point.
#[derive(Clone, Copy, Default)]
struct GaussPoint {
    /// Share of the way from the upstream to the downstream station.
    share: f64,
    /// Pressure drop per mass flow and kinematic viscosity, 1/m3.
    weight: f64,
    /// Relative slope of the conductance with the gap, 1/m.
    log_slope: f64,
}

/// Everything that stays fixed while Newton works.
struct Film<'a> {
    input: &'a FilmInput<'a>,
    node_gap: Vec<NodeGap>,
    /// Conductance of each interval at its two Gauss points; the first is unused.
    conductances: Vec<[GaussPoint; 2]>,
    entry_enthalpy: f64,
    /// +1 outward, -1 inward.
    direction: f64,
    /// Node number of each station along the flow.
    order: Vec<usize>,
    entry_pressure: f64,
    exit_pressure: f64,
    spin: f64,
    sliding: f64,
    limiting_shear_pa: Option<f64>,
}

/// Iterate along the flow.
struct Iterate {
    pressure: Vec<f64>,
    enthalpy: Vec<f64>,
    flow: f64,
}

/// Residuals along the flow, `[momentum, energy]` a station and the exit condition.
struct Residual {
    stations: Vec<[f64; 2]>,
    exit: f64,
}

pub(super) fn solve(input: &FilmInput, start: Option<&FilmStart>) -> Result<(FilmResult, FilmStart), FilmError> {
    check(input)?;
    let first = match start {
        Some(start) => start.clone(),
        None => cold_start(input)?,
    };
    // A weak flow can turn round while it converges (spin against pressure): then start again along the other way.
    let direction = if first.mass_flow_kg_per_s < 0.0 { -1.0 } else { 1.0 };
    match newton(input, direction, &first)? {
        Newton::Converged(result) => Ok(*result),
        Newton::Reversed(turned) => match newton(input, -direction, &turned)? {
            Newton::Converged(result) => Ok(*result),
            Newton::Reversed(last) => Err(FilmError::NotConverged {
                iterations: MAX_ITERATIONS,
                correction: last.mass_flow_kg_per_s,
                history: vec![first.mass_flow_kg_per_s, turned.mass_flow_kg_per_s],
            }),
        },
    }
}

fn check(input: &FilmInput) -> Result<(), FilmError> {
    let n = input.nodes.radius_m.len();
    if n < 3 || input.nodes.weight_m2.len() != n || input.gap.profile_m.len() != n || input.face_temperature_k.len() != n {
        return Err(FilmError::Input("band nodes, gap and face temperature must have the same length, at least 3"));
    }
    let finite = input.gap.profile_m.iter().chain(input.face_temperature_k).all(|x| x.is_finite());
    if !(finite && input.inner_pressure_pa.is_finite() && input.outer_pressure_pa.is_finite()) {
        return Err(FilmError::Input("gap, face temperature and pressures must be finite"));
    }
    Ok(())
}

enum Newton {
    Converged(Box<(FilmResult, FilmStart)>),
    Reversed(FilmStart),
}

fn newton(input: &FilmInput, direction: f64, start: &FilmStart) -> Result<Newton, FilmError> {
    let film = Film::new(input, direction)?;
    let mut iterate = film.iterate_from(start);
    let mut states = film.states(&iterate)?;
    let mut history = Vec::new();
    for iteration in 1..=MAX_ITERATIONS {
        let residual = film.residual(&iterate, &states);
        let matrix = film.matrix(&iterate, &states).ok_or_else(|| FilmError::NotConverged {
            iterations: iteration,
            correction: f64::INFINITY,
            history: history.clone(),
        })?;
        let right: Vec<[f64; 2]> = residual.stations.iter().map(|f| [-f[0], -f[1]]).collect();
        let (step, flow_step) = matrix.solve(&right, 0, -residual.exit);
        let correction = film.apply(&mut iterate, &mut states, &step, flow_step)?;
        history.push(correction);
        if correction < TOLERANCE {
            // A squeezed film empties through both edges: then neither is an entry and the order is arbitrary.
            if iterate.flow < 0.0 && input.gap.rate_m_per_s.is_none() {
                return Ok(Newton::Reversed(film.start_from(&iterate)));
            }
            let result = film.result(&iterate, &states, iteration);
            return Ok(Newton::Converged(Box::new((result, film.start_from(&iterate)))));
        }
    }
    Err(FilmError::NotConverged { iterations: MAX_ITERATIONS, correction: history.last().copied().unwrap_or(f64::NAN), history })
}

/// Fluid as it enters: liquid at the opening's pressure.
fn entry_state(input: &FilmInput, outward: bool) -> Result<FluidState, FilmError> {
    let pressure = if outward { input.inner_pressure_pa } else { input.outer_pressure_pa };
    Ok(input.fluid.liquid_at_pressure_temperature(pressure, input.entry_temperature_k)?)
}

/// Viscous isothermal film with spin, as a first guess.
fn cold_start(input: &FilmInput) -> Result<FilmStart, FilmError> {
    let radius = &input.nodes.radius_m;
    let n = radius.len();
    let state = entry_state(input, input.inner_pressure_pa > input.outer_pressure_pa)?;
    let (nu, rho) = (state.viscosity_pa_s / state.density_kg_per_m3, state.density_kg_per_m3);
    let spin = spin_factor(input);
    let mut resistance = vec![0.0; n];
    for k in 1..n {
        let h = 0.5 * (input.gap.profile_m[k] + input.gap.profile_m[k - 1]);
        let cube = flow_cube(h, input.roughness_m, input.switches.flow_factor).value;
        resistance[k] = resistance[k - 1] + 12.0 * nu / (2.0 * PI * cube) * (radius[k] / radius[k - 1]).ln();
    }
    let spin_rise = |k: usize| 0.5 * rho * spin * (radius[k].powi(2) - radius[0].powi(2));
    let flow = (input.inner_pressure_pa - input.outer_pressure_pa + spin_rise(n - 1)) / resistance[n - 1];
    let pressure_pa = (0..n).map(|k| input.inner_pressure_pa + spin_rise(k) - flow * resistance[k]).collect();
    let enthalpy_j_per_kg = input
        .face_temperature_k
        .iter()
        .map(|t| state.enthalpy_j_per_kg + (t - state.temperature_k) / state.derivatives.temperature_by_enthalpy)
        .collect();
    Ok(FilmStart { pressure_pa, enthalpy_j_per_kg, mass_flow_kg_per_s: flow })
}

/// `(3 w1^2 + 4 w1 w2 + 3 w2^2)/10`, rad2/s2.
fn spin_factor(input: &FilmInput) -> f64 {
    let [w1, w2] = input.speeds_rad_per_s;
    if input.switches.spin { (3.0 * w1 * w1 + 4.0 * w1 * w2 + 3.0 * w2 * w2) / 10.0 } else { 0.0 }
}

impl<'a> Film<'a> {
    fn new(input: &'a FilmInput<'a>, direction: f64) -> Result<Self, FilmError> {
        let n = input.nodes.radius_m.len();
        let outward = direction > 0.0;
        let node_gap = input
            .gap
            .profile_m
            .iter()
            .map(|&h| NodeGap {
                mean: mean_gap(h, input.roughness_m),
                shear: shear_per_gap(h, input.roughness_m, input.switches.shear_factor),
            })
            .collect();
        let order: Vec<usize> = if outward { (0..n).collect() } else { (0..n).rev().collect() };
        Ok(Self {
            input,
            node_gap,
            conductances: (0..n).map(|k| if k == 0 { Default::default() } else { gauss_points(input, order[k - 1], order[k]) }).collect(),
            entry_enthalpy: entry_state(input, outward)?.enthalpy_j_per_kg,
            direction,
            order,
            entry_pressure: if outward { input.inner_pressure_pa } else { input.outer_pressure_pa },
            exit_pressure: if outward { input.outer_pressure_pa } else { input.inner_pressure_pa },
            spin: spin_factor(input),
            sliding: input.speeds_rad_per_s[0] - input.speeds_rad_per_s[1],
            limiting_shear_pa: super::limiting_shear_pa(input.fluid),
        })
    }

    fn iterate_from(&self, start: &FilmStart) -> Iterate {
        Iterate {
            pressure: self.order.iter().map(|&i| start.pressure_pa[i]).collect(),
            enthalpy: self.order.iter().map(|&i| start.enthalpy_j_per_kg[i]).collect(),
            flow: self.direction * start.mass_flow_kg_per_s,
        }
    }

    fn start_from(&self, iterate: &Iterate) -> FilmStart {
        FilmStart {
            pressure_pa: self.by_node(&iterate.pressure),
            enthalpy_j_per_kg: self.by_node(&iterate.enthalpy),
            mass_flow_kg_per_s: self.direction * iterate.flow,
        }
    }

    fn by_node<T: Copy>(&self, along: &[T]) -> Vec<T> {
        // The order is its own inverse: either identity or reversal.
        self.order.iter().map(|&i| along[i]).collect()
    }

    fn states(&self, iterate: &Iterate) -> Result<Vec<FluidState>, FilmError> {
        iterate.pressure.iter().zip(&iterate.enthalpy).map(|(&p, &h)| Ok(self.input.fluid.superheated_film_state(p, h)?)).collect()
    }

    /// Conductance `12 k/hT` between film and faces, W/(m2 K).
    fn conductance(&self, station: usize, state: &FluidState) -> f64 {
        12.0 * state.conductivity_w_per_m_k / self.node_gap[self.order[station]].mean.value
    }

    fn shear_heat(&self, station: usize, state: &FluidState) -> f64 {
        self.shear(station, state).0
    }

    /// Shear heat, W/m2, and its relative slope with the Newtonian shear stress (1 where the fluid is Newtonian).
    fn shear(&self, station: usize, state: &FluidState) -> (f64, f64) {
        let node = self.order[station];
        let speed = self.sliding * self.input.nodes.radius_m[node];
        let stress = state.viscosity_pa_s * speed.abs() * self.node_gap[node].shear.value;
        match self.limiting_shear_pa {
            None => (stress * speed.abs(), 1.0),
            Some(limit) => {
                let share = 1.0 / (1.0 + (stress / limit).powi(2));
                (stress * share.sqrt() * speed.abs(), share)
            }
        }
    }

    /// Mass flow in the interval that ends at `station`, per the squeeze of the nodes upstream.
    fn interval_flow(&self, flow: f64, station: usize, states: &[FluidState]) -> f64 {
        match self.input.gap.rate_m_per_s {
            None => flow,
            Some(rate) => {
                let stored: f64 = (0..station)
                    .map(|k| self.input.nodes.weight_m2[self.order[k]] * states[k].density_kg_per_m3 * rate[self.order[k]])
                    .sum();
                flow - stored
            }
        }
    }

    fn residual(&self, iterate: &Iterate, states: &[FluidState]) -> Residual {
        let n = self.order.len();
        let stations = (0..n)
            .map(|k| {
                let momentum = if k == 0 {
                    iterate.pressure[0] - self.entry_pressure + self.entry_drop(iterate.flow, &states[0])
                } else {
                    let interval = self.interval(k, states);
                    let flow = self.interval_flow(iterate.flow, k, states);
                    iterate.pressure[k] - iterate.pressure[k - 1] + flow * interval.resistance - interval.spin_rise
                        + self.convection(k, flow, states)
                };
                [momentum, self.energy(k, iterate, states)]
            })
            .collect();
        Residual { stations, exit: iterate.pressure[n - 1] - self.exit_pressure }
    }

    fn energy(&self, k: usize, iterate: &Iterate, states: &[FluidState]) -> f64 {
        let node = self.order[k];
        if !self.input.switches.heat {
            return states[k].temperature_k - self.input.face_temperature_k[node];
        }
        let upstream = if k == 0 { self.entry_enthalpy } else { iterate.enthalpy[k - 1] };
        let to_faces = self.conductance(k, &states[k]) * (states[k].temperature_k - self.input.face_temperature_k[node]);
        let area = self.input.nodes.weight_m2[node];
        iterate.flow * (iterate.enthalpy[k] - upstream) - area * (self.shear_heat(k, &states[k]) - to_faces)
    }

    /// Loss of pressure at the entry, Pa.
    fn entry_drop(&self, flow: f64, state: &FluidState) -> f64 {
        if !self.input.switches.convective_inertia {
            return 0.0;
        }
        let mass_flux = self.mass_flux(0, flow);
        0.5 * (1.0 + self.input.switches.entry_loss) * mass_flux * mass_flux / state.density_kg_per_m3
    }

    /// Mass flow per unit area of the gap at a station, kg/(m2 s).
    fn mass_flux(&self, station: usize, flow: f64) -> f64 {
        let node = self.order[station];
        flow / (2.0 * PI * self.input.nodes.radius_m[node] * self.node_gap[node].mean.value)
    }

    /// `a rho u du` over the interval that ends at `station`, Pa.
    fn convection(&self, station: usize, flow: f64, states: &[FluidState]) -> f64 {
        if !self.input.switches.convective_inertia {
            return 0.0;
        }
        let (up, down) = (self.mass_flux(station - 1, flow), self.mass_flux(station, flow));
        let speed_rise = down / states[station].density_kg_per_m3 - up / states[station - 1].density_kg_per_m3;
        self.input.switches.momentum_factor * 0.5 * (up + down) * speed_rise
    }

    fn interval(&self, station: usize, states: &[FluidState]) -> Interval {
        let (a, b) = (self.order[station - 1], self.order[station]);
        let radius = &self.input.nodes.radius_m;
        let nu = |k: usize| states[k].viscosity_pa_s / states[k].density_kg_per_m3;
        let (nu_a, nu_b) = (nu(station - 1), nu(station));
        let mut interval = Interval::default();
        for point in &self.conductances[station] {
            let (t, weight) = (point.share, point.weight);
            let nu_t = nu_a + t * (nu_b - nu_a);
            interval.resistance += weight * nu_t;
            interval.by_nu[0] += weight * (1.0 - t);
            interval.by_nu[1] += weight * t;
            let by_gap = -weight * nu_t * point.log_slope;
            interval.by_gap[0] += by_gap * (1.0 - t);
            interval.by_gap[1] += by_gap * t;
        }
        let squares = 0.5 * (radius[b].powi(2) - radius[a].powi(2));
        interval.spin_rise = self.spin * 0.5 * (states[station - 1].density_kg_per_m3 + states[station].density_kg_per_m3) * squares;
        interval.spin_by_density = 0.5 * self.spin * squares;
        interval
    }

    fn matrix(&self, iterate: &Iterate, states: &[FluidState]) -> Option<MarchingMatrix> {
        let n = self.order.len();
        let mut diagonal: Vec<Block> = Vec::with_capacity(n);
        let mut upstream: Vec<Block> = Vec::with_capacity(n);
        let mut flow_column = Vec::with_capacity(n);
        for k in 0..n {
            let (momentum_here, momentum_up, momentum_flow) = self.momentum_rows(k, iterate, states);
            let (energy_here, energy_up, energy_flow) = self.energy_rows(k, iterate, states);
            diagonal.push([momentum_here, energy_here]);
            upstream.push([momentum_up, energy_up]);
            flow_column.push([momentum_flow, energy_flow]);
        }
        MarchingMatrix::new(&diagonal, upstream, &flow_column, [1.0, 0.0], 0.0)
    }

    /// Derivatives of the momentum row by this station's and the upstream station's `(p, H)` and by the flow.
    fn momentum_rows(&self, k: usize, iterate: &Iterate, states: &[FluidState]) -> ([f64; 2], [f64; 2], f64) {
        let inertia = self.input.switches.convective_inertia;
        if k == 0 {
            let drop = self.entry_drop(iterate.flow, &states[0]);
            let by_density = -drop / states[0].density_kg_per_m3;
            let d = &states[0].derivatives;
            let by_flow = if inertia && iterate.flow != 0.0 { 2.0 * drop / iterate.flow } else { 0.0 };
            return ([1.0 + by_density * d.density_by_pressure, by_density * d.density_by_enthalpy], [0.0, 0.0], by_flow);
        }
        let interval = self.interval(k, states);
        let flow = self.interval_flow(iterate.flow, k, states);
        let mut rows = [[0.0; 2]; 2];
        for (side, station) in [k - 1, k].into_iter().enumerate() {
            let (state, d) = (&states[station], &states[station].derivatives);
            let rho = state.density_kg_per_m3;
            let nu = state.viscosity_pa_s / rho;
            let mut by_density = -flow * interval.by_nu[side] * nu / rho - interval.spin_by_density;
            if inertia {
                let (up, down) = (self.mass_flux(k - 1, flow), self.mass_flux(k, flow));
                let own = if side == 0 { up } else { -down };
                by_density += self.input.switches.momentum_factor * 0.5 * (up + down) * own / (rho * rho);
            }
            let by_viscosity = flow * interval.by_nu[side] / rho;
            let sign = if side == 0 { -1.0 } else { 1.0 };
            rows[side] = [
                sign + by_density * d.density_by_pressure + by_viscosity * d.viscosity_by_pressure,
                by_density * d.density_by_enthalpy + by_viscosity * d.viscosity_by_enthalpy,
            ];
        }
        let convection_by_flow = if inertia && flow != 0.0 { 2.0 * self.convection(k, flow, states) / flow } else { 0.0 };
        (rows[1], rows[0], interval.resistance + convection_by_flow)
    }

    fn energy_rows(&self, k: usize, iterate: &Iterate, states: &[FluidState]) -> ([f64; 2], [f64; 2], f64) {
        let d = &states[k].derivatives;
        if !self.input.switches.heat {
            return ([d.temperature_by_pressure, d.temperature_by_enthalpy], [0.0, 0.0], 0.0);
        }
        let node = self.order[k];
        let area = self.input.nodes.weight_m2[node];
        let conductance = self.conductance(k, &states[k]);
        let rise = states[k].temperature_k - self.input.face_temperature_k[node];
        let (shear_heat, newtonian) = self.shear(k, &states[k]);
        let heat_by_viscosity = newtonian * shear_heat / states[k].viscosity_pa_s;
        let by = |temperature: f64, viscosity: f64, conductivity: f64| {
            let to_faces = conductance * temperature + conductance * rise * conductivity / states[k].conductivity_w_per_m_k;
            area * (to_faces - heat_by_viscosity * viscosity)
        };
        let upstream = if k == 0 { self.entry_enthalpy } else { iterate.enthalpy[k - 1] };
        let here = [
            by(d.temperature_by_pressure, d.viscosity_by_pressure, d.conductivity_by_pressure),
            iterate.flow + by(d.temperature_by_enthalpy, d.viscosity_by_enthalpy, d.conductivity_by_enthalpy),
        ];
        (here, [0.0, if k == 0 { 0.0 } else { -iterate.flow }], iterate.enthalpy[k] - upstream)
    }

    /// Apply a Newton step, halved until the fluid answers; returns the relative correction.
    fn apply(&self, iterate: &mut Iterate, states: &mut Vec<FluidState>, step: &[[f64; 2]], flow_step: f64) -> Result<f64, FilmError> {
        let pressure_scale = (self.entry_pressure - self.exit_pressure).abs().max(1e-3 * self.entry_pressure.abs()).max(1.0);
        let largest_kelvin = step
            .iter()
            .zip(states.iter())
            .map(|(s, state)| (s[0] * state.derivatives.temperature_by_pressure + s[1] * state.derivatives.temperature_by_enthalpy).abs())
            .fold(0.0, f64::max);
        let largest_pressure = step.iter().map(|s| s[0].abs()).fold(0.0, f64::max);
        let correction = (largest_pressure / pressure_scale)
            .max(largest_kelvin / 100.0)
            .max(flow_step.abs() / iterate.flow.abs().max((iterate.flow + flow_step).abs()).max(1e-30) * 1e-3);
        let mut share = (60.0 / largest_kelvin.max(60.0)).min(1.0);
        let mut last = None;
        for _ in 0..8 {
            let trial = Iterate {
                pressure: iterate.pressure.iter().zip(step).map(|(p, s)| (p + share * s[0]).max(0.2 * p)).collect(),
                enthalpy: iterate.enthalpy.iter().zip(step).map(|(h, s)| h + share * s[1]).collect(),
                flow: iterate.flow + share * flow_step,
            };
            match self.states(&trial) {
                Ok(found) => {
                    *iterate = trial;
                    *states = found;
                    return Ok(if share < 1.0 { correction.max(1.0) } else { correction });
                }
                Err(error) => last = Some(error),
            }
            share *= 0.4;
        }
        Err(last.unwrap_or(FilmError::Input("no step was tried")))
    }

    fn result(&self, iterate: &Iterate, states: &[FluidState], iterations: usize) -> FilmResult {
        let n = self.order.len();
        let heat = self.input.switches.heat;
        let shear: Vec<f64> = (0..n).map(|k| self.shear_heat(k, &states[k])).collect();
        let face = |k: usize| self.input.face_temperature_k[self.order[k]];
        let flux: Vec<f64> =
            (0..n).map(|k| if heat { self.conductance(k, &states[k]) * (states[k].temperature_k - face(k)) } else { shear[k] }).collect();
        // Parabola across the gap: its top stands 1.5 times its mean above the faces.
        let hottest: Vec<f64> = (0..n).map(|k| states[k].temperature_k.max(face(k) + 1.5 * (states[k].temperature_k - face(k)))).collect();
        FilmResult {
            pressure_pa: self.by_node(&iterate.pressure),
            shear_heat_w_per_m2: self.by_node(&shear),
            flux_w_per_m2: self.by_node(&flux),
            hottest_k: self.by_node(&hottest),
            states: self.by_node(states),
            mass_flow_kg_per_s: self.direction * iterate.flow,
            end_flows_kg_per_s: [1, n - 1].map(|k| self.direction * self.flow_through(k, iterate, states)),
            leak_heat_w: iterate.flow * (iterate.enthalpy[n - 1] - self.entry_enthalpy),
            iterations,
        }
    }

    /// Mass flow that the converged pressures drive through one interval; equals the common flow when converged.
    fn flow_through(&self, station: usize, iterate: &Iterate, states: &[FluidState]) -> f64 {
        let interval = self.interval(station, states);
        let drop = iterate.pressure[station - 1] - iterate.pressure[station] + interval.spin_rise;
        (drop - self.convection(station, self.interval_flow(iterate.flow, station, states), states)) / interval.resistance
    }

    /// Right-hand sides of unit changes: derivative of the residual by the gap at `node`, as `(first station, rows)`.
    fn by_gap(&self, node_station: usize, iterate: &Iterate, states: &[FluidState]) -> Vec<[f64; 2]> {
        let n = self.order.len();
        let mut rows = vec![[0.0; 2]; n];
        let inertia = self.input.switches.convective_inertia;
        let mean = self.node_gap[self.order[node_station]].mean;
        let flux_slope = -mean.slope / mean.value;
        if node_station == 0 {
            rows[0][0] += 2.0 * self.entry_drop(iterate.flow, &states[0]) * flux_slope;
        }
        for (k, side) in [(node_station, 1), (node_station + 1, 0)] {
            if k == 0 || k >= n {
                continue;
            }
            let interval = self.interval(k, states);
            let flow = self.interval_flow(iterate.flow, k, states);
            rows[k][0] += flow * interval.by_gap[side];
            if inertia {
                let (up, down) = (self.mass_flux(k - 1, flow), self.mass_flux(k, flow));
                let (u_up, u_down) = (up / states[k - 1].density_kg_per_m3, down / states[k].density_kg_per_m3);
                let own = if side == 0 { up } else { down };
                let own_speed = if side == 0 { -u_up } else { u_down };
                rows[k][0] +=
                    self.input.switches.momentum_factor * 0.5 * (own * flux_slope * (u_down - u_up) + (up + down) * own_speed * flux_slope);
            }
        }
        if self.input.switches.heat {
            let (node, state) = (self.order[node_station], &states[node_station]);
            let area = self.input.nodes.weight_m2[node];
            let shear = self.node_gap[node].shear;
            let (shear_heat, newtonian) = self.shear(node_station, state);
            let heat_slope = newtonian * shear_heat * shear.slope / shear.value.max(1e-300);
            let rise = state.temperature_k - self.input.face_temperature_k[node];
            rows[node_station][1] += -area * (heat_slope - self.conductance(node_station, state) * flux_slope * rise);
        }
        rows
    }
}

/// Conductance of the interval between nodes `a` and `b` at two Gauss points.
fn gauss_points(input: &FilmInput, a: usize, b: usize) -> [GaussPoint; 2] {
    let (radius, gap) = (&input.nodes.radius_m, input.gap.profile_m);
    let length = (radius[b] - radius[a]).abs();
    GAUSS_2.map(|share| {
        let cube = flow_cube(gap[a] + share * (gap[b] - gap[a]), input.roughness_m, input.switches.flow_factor);
        let weight = 12.0 / (2.0 * PI) * 0.5 * length / ((radius[a] + share * (radius[b] - radius[a])) * cube.value);
        GaussPoint { share, weight, log_slope: cube.slope / cube.value }
    })
}

/// Flow resistance of one interval and its derivatives.
#[derive(Default)]
struct Interval {
    /// Pressure drop per mass flow, Pa s/kg.
    resistance: f64,
    /// Derivative by kinematic viscosity at the upstream and downstream station.
    by_nu: [f64; 2],
    /// Derivative by the gap at the upstream and downstream station.
    by_gap: [f64; 2],
    /// Pressure rise by spin along the flow, Pa.
    spin_rise: f64,
    /// Its derivative by either density.
    spin_by_density: f64,
}

pub(super) fn sensitivity(input: &FilmInput, converged: &FilmStart) -> Result<FilmSensitivity, FilmError> {
    let direction = if converged.mass_flow_kg_per_s < 0.0 { -1.0 } else { 1.0 };
    let film = Film::new(input, direction)?;
    let iterate = film.iterate_from(converged);
    let states = film.states(&iterate)?;
    let matrix = film.matrix(&iterate, &states).ok_or(FilmError::Input("the flow is stalled or choked: its matrix is singular"))?;
    let n = film.order.len();
    let mut sensitivity = FilmSensitivity {
        pressure_by_gap: Mat::zeros(n, n),
        pressure_by_face_temperature: Mat::zeros(n, n),
        flux_by_gap: Mat::zeros(n, n),
        flux_by_face_temperature: Mat::zeros(n, n),
    };
    let heat = input.switches.heat;
    for cause in 0..n {
        let column = film.order[cause];
        let rows = film.by_gap(cause, &iterate, &states);
        let (x, _) = matrix.solve(&negated(&rows), cause, 0.0);
        film.fill(&mut sensitivity.pressure_by_gap, &mut sensitivity.flux_by_gap, column, &x, &states);
        let node_gap = &film.node_gap[column];
        sensitivity.flux_by_gap[(column, column)] += if heat {
            let rise = states[cause].temperature_k - input.face_temperature_k[column];
            -film.conductance(cause, &states[cause]) * rise * node_gap.mean.slope / node_gap.mean.value
        } else {
            let (shear_heat, newtonian) = film.shear(cause, &states[cause]);
            newtonian * shear_heat * node_gap.shear.slope / node_gap.shear.value.max(1e-300)
        };

        let conductance = film.conductance(cause, &states[cause]);
        let mut rows = vec![[0.0; 2]; n];
        rows[cause][1] = if heat { -input.nodes.weight_m2[column] * conductance } else { -1.0 };
        let (x, _) = matrix.solve(&negated(&rows), cause, 0.0);
        film.fill(&mut sensitivity.pressure_by_face_temperature, &mut sensitivity.flux_by_face_temperature, column, &x, &states);
        if heat {
            sensitivity.flux_by_face_temperature[(column, column)] -= conductance;
        }
    }
    Ok(sensitivity)
}

fn negated(rows: &[[f64; 2]]) -> Vec<[f64; 2]> {
    rows.iter().map(|f| [-f[0], -f[1]]).collect()
}

impl Film<'_> {
    /// Write one column of pressure and flux derivatives from the change of `(p, H)` along the flow.
    fn fill(&self, pressure: &mut Mat<f64>, flux: &mut Mat<f64>, column: usize, change: &[[f64; 2]], states: &[FluidState]) {
        let heat = self.input.switches.heat;
        for (k, dx) in change.iter().enumerate() {
            let (node, state, d) = (self.order[k], &states[k], &states[k].derivatives);
            pressure[(node, column)] = dx[0];
            flux[(node, column)] = if heat {
                let conductance = self.conductance(k, state);
                let rise = state.temperature_k - self.input.face_temperature_k[node];
                let temperature = d.temperature_by_pressure * dx[0] + d.temperature_by_enthalpy * dx[1];
                let conductivity = d.conductivity_by_pressure * dx[0] + d.conductivity_by_enthalpy * dx[1];
                conductance * (temperature + rise * conductivity / state.conductivity_w_per_m_k)
            } else {
                let viscosity = d.viscosity_by_pressure * dx[0] + d.viscosity_by_enthalpy * dx[1];
                let (shear_heat, newtonian) = self.shear(k, state);
                newtonian * shear_heat * viscosity / state.viscosity_pa_s
            };
        }
    }
}
