//! One step of the film along the flow: mass, momentum and energy between two stations.
//!
//! **What.** The residuals that tie a station to the one upstream, for liquid, gas, supercritical fluid and their equilibrium mixture.
//! **Equation.** Momentum times density, so that an isothermal ideal gas is integrated exactly whatever the step:
//! `rho_m (p_b - p_a) + a [G^2 ln(v_b/v_a) + d(G^2)/2] + (12 M/2 pi) int k mu/(r phi_p h^3) dr - rho^2 W d(r^2)/2 = 0`, `G = M/(2 pi r hT)`,
//! `rho_m` the mean of the densities (in a mixture, where the volume is nearly straight in pressure, the inverse logarithmic mean of
//! volumes). Energy: `M d(H + u^2/2) = A [theta e_b + (1 - theta) e_a]`, `e = q_v - (12 k/hT)(T - T_f)`, `theta` exact for linear relaxation to the
//! faces. At rest of heat (`heat` off): `T = T_f`.
//! **Valid when.** Thin film, equilibrium fluid, subsonic along the flow.
//! **Source.** Pinkus and Lund 1981, Findlay 1968 (averaged inertia); Patir and Cheng 1978 (roughness); Zuk, Ludwig and Johnson, NASA TN D-6668
//! (1972) (quasi-one-dimensional compressible film); discretisation derived here.
//! **Checked by.** F1, F2, F3, F4, K1, K3, P1.

use halfmicron_numerics::jet::Jet;
use halfmicron_properties::FluidState;
use std::f64::consts::PI;

use super::resistance::{Gas, LAMINAR_REYNOLDS, slip_flow_factor, slips, turbulent_flow_factor, turbulent_shear_factor};
use super::roughness::{WithSlope, flow_cube, mean_gap, shear_per_gap};
use super::{FilmInput, limiting_shear_pa};

/// Two-point Gauss abscissa on [0, 1].
pub(super) const GAUSS_2: [f64; 2] = [0.211_324_865_405_187_1, 0.788_675_134_594_812_9];

/// Transfer units over the first interval, `C`, at which half of the way to the faces' temperature is made at the lip.
const TRANSFER_UNITS_AT_THE_LIP: f64 = 5.0;
/// Greatest share of that way, `R`.
const MOST_AT_THE_LIP: f64 = 0.999;

/// Ratio of the gaps at both ends of an interval from which it narrows.
const NARROWS: f64 = 2.0;

/// Constants of a film and its band in the order of the flow.
pub(super) struct Band<'a> {
    pub input: &'a FilmInput<'a>,
    /// +1 outward, -1 inward.
    pub direction: f64,
    /// Node number of each place along the flow.
    pub order: Vec<usize>,
    pub radius: Vec<f64>,
    pub gap: Vec<f64>,
    pub face: Vec<f64>,
    /// `(3 w1^2 + 4 w1 w2 + 3 w2^2)/10`, rad2/s2.
    pub spin: f64,
    /// Relative speed of the faces, rad/s.
    pub sliding: f64,
    pub limiting_shear_pa: Option<f64>,
    /// Gas constant and critical density, where the fluid can be a gas.
    pub gas: Option<(f64, f64)>,
    /// `12 k/c` of the entering fluid, for the fitting of the energy step alone, kg/(m s).
    pub relaxation: f64,
    /// `c` itself, J/(kg K).
    pub heat_capacity: f64,
    /// Mass per time lost to squeezing up to each place, kg/s.
    pub stored: Vec<f64>,
    /// What roughness makes of the gap at each place.
    nodes: Vec<Rough>,
    /// Weights of the viscosities at both ends of each interval in `int k/(r phi_p h^3) dr` over its length, 1/m4.
    friction: Vec<[f64; 2]>,
}

/// What roughness makes of a gap.
#[derive(Debug, Clone, Copy)]
struct Rough {
    mean_gap: f64,
    /// 1/m.
    shear_per_gap: f64,
    /// m3.
    flow_cube: f64,
}

/// A station with its slopes.
#[derive(Debug, Clone, Copy)]
pub(super) struct Lifted<const N: usize> {
    pub pressure: Jet<N>,
    pub enthalpy: Jet<N>,
    pub share: Jet<N>,
    pub density: Jet<N>,
    pub temperature: Jet<N>,
    pub viscosity: Jet<N>,
    pub conductivity: Jet<N>,
}

impl<const N: usize> Lifted<N> {
    /// The state as a function of pressure, enthalpy and share of the interval, each with its slopes.
    pub fn new(state: &FluidState, pressure: Jet<N>, enthalpy: Jet<N>, share: Jet<N>) -> Self {
        let d = &state.derivatives;
        let of = |value, by_p, by_h| Jet::of_two(pressure, enthalpy, value, by_p, by_h);
        Self {
            pressure,
            enthalpy,
            share,
            density: of(state.density_kg_per_m3, d.density_by_pressure, d.density_by_enthalpy),
            temperature: of(state.temperature_k, d.temperature_by_pressure, d.temperature_by_enthalpy),
            viscosity: of(state.viscosity_pa_s, d.viscosity_by_pressure, d.viscosity_by_enthalpy),
            conductivity: of(state.conductivity_w_per_m_k, d.conductivity_by_pressure, d.conductivity_by_enthalpy),
        }
    }
}

/// How the ends of a step are weighed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Weighing {
    /// One phase: heat by the exact relaxation to the faces.
    Single,
    /// The mixture: both ends alike.
    Mixed,
    /// A boiling film held at its boiling point: from beyond the end downstream, which damps the way to either phase ([`super::hold`]).
    Held,
    /// A film that leaves its boiling point: friction by the end upstream, heat by the end downstream, so that every length has one answer and what
    /// stands off the held film grows.
    Leaving,
}

/// Weight of the end downstream in a held step: of what grows by `exp(z)` over the step it leaves `(1 + (1 - w) z)/(1 - w z)`, less than it was
/// from `z = 2/3` on.
const HELD_WEIGHT: f64 = 2.0;

/// Gap and face temperature at both ends of an interval, and the flow.
#[derive(Debug, Clone, Copy)]
pub(super) struct Causes<const N: usize> {
    pub gap: [Jet<N>; 2],
    pub face: [Jet<N>; 2],
    pub flow: Jet<N>,
}

/// Geometry at a station.
#[derive(Debug, Clone, Copy)]
struct Place<const N: usize> {
    /// The node, where the station stands at one and neither its place nor the gap there varies with anything.
    node: Option<usize>,
    radius: Jet<N>,
    gap: Jet<N>,
    mean_gap: Jet<N>,
    /// Conductance of the gap for the flow of pressure, m3.
    flow_cube: Jet<N>,
    face: Jet<N>,
}

/// What happens at a station.
pub(super) struct Local<const N: usize> {
    pub at: Lifted<N>,
    place: Place<N>,
    /// Mass flow, kg/s.
    flow: Jet<N>,
    /// Mass flow per unit area of the gap, kg/(m2 s).
    pub mass_flux: Jet<N>,
    volume: Jet<N>,
    /// Viscosity that the pressure flow feels where the fluid clings to the walls, Pa s.
    clinging: Jet<N>,
    /// Viscosity that shear feels, Pa s.
    shear_viscosity: Jet<N>,
    /// Factor of slip on the pressure flow, where there is any.
    slip: Option<Jet<N>>,
    /// Shear heat less heat to the faces, W/m2.
    surplus: Jet<N>,
}

/// Residuals of a step.
pub(super) struct Balance<const N: usize> {
    /// Momentum times density, Pa kg/m3.
    pub momentum: Jet<N>,
    /// The part of it that friction takes.
    pub resistance: Jet<N>,
    /// Energy, W; or temperature, K, where heat is off.
    pub energy: Jet<N>,
    /// Heat that the step keeps: shear heat less heat to the faces, W/m2.
    pub kept: Jet<N>,
    /// Mean square of the mass flux times the momentum factor, Pa kg/m3.
    pub inertia: Jet<N>,
}

/// A step with what its loads need.
pub(super) struct Step<const N: usize> {
    pub balance: Balance<N>,
    /// Growth of density over the step and pressure drop times density at its start (Pa kg/m3): with the inertia, how the resistance is
    /// shared over the pressure drop.
    pub growth: Jet<N>,
    pub drop: Jet<N>,
    /// `(f_b - f_a)/(f_a + f_b)` of the resistance per length.
    pub skewness: Jet<N>,
    pub shear_viscosity: [Jet<N>; 2],
}

impl<const N: usize> Local<N> {
    /// Viscosity that the pressure flow feels, slip included, Pa s.
    fn flow_viscosity(&self) -> Jet<N> {
        self.slip.map_or(self.clinging, |slip| self.clinging / slip)
    }
}

/// Shares and weights of two-point Gauss quadrature over a step in `1/e^2`, `e` the height that the flow feels, straight from one end to the other:
/// what goes by `1/e^3` is then integrated exactly, though faces that touch at one edge may stand a hundred times farther apart at the next node.
/// `ratio` is that of `e` at the end to `e` at the start.
fn fitted_to_the_gap<const N: usize>(ratio: Jet<N>) -> [[Jet<N>; 2]; 2] {
    let square = ratio.squared().recip();
    let lean = (ratio + 1.0) * square;
    GAUSS_2.map(|g| {
        let inside = (square - 1.0) * g + 1.0;
        let root = inside.sqrt();
        [lean * g / (root * (root + 1.0)), lean * 0.25 / (inside * root)]
    })
}

/// Weights of the viscosities at both ends of an interval in `int k/(r phi_p h^3) dr` over its length.
fn friction_weights(input: &FilmInput, radius: [f64; 2], gap: [f64; 2]) -> [f64; 2] {
    let mut weights = [0.0; 2];
    let cube = |gap: f64| flow_cube(gap, input.roughness_m, input.switches.flow_factor).value;
    let ratio = (cube(gap[1]) / cube(gap[0])).cbrt();
    for [share, weight] in fitted_to_the_gap(Jet::<0>::constant(ratio)) {
        let (share, weight) = (share.value, weight.value);
        let between = |ends: [f64; 2]| ends[0] + share * (ends[1] - ends[0]);
        let part = weight * (radius[1] - radius[0]).abs() / (between(radius) * cube(between(gap)));
        weights[0] += (1.0 - share) * part;
        weights[1] += share * part;
    }
    weights
}

fn rough<const N: usize>(gap: Jet<N>, law: impl Fn(f64) -> WithSlope) -> Jet<N> {
    let found = law(gap.value);
    gap.chain(found.value, found.slope)
}

impl<'a> Band<'a> {
    pub fn new(input: &'a FilmInput<'a>, direction: f64, entry: &FluidState) -> Self {
        let n = input.nodes.radius_m.len();
        let order: Vec<usize> = if direction > 0.0 { (0..n).collect() } else { (0..n).rev().collect() };
        let along = |profile: &[f64]| order.iter().map(|&i| profile[i]).collect::<Vec<f64>>();
        let [w1, w2] = input.speeds_rad_per_s;
        let spin = if input.switches.spin { (3.0 * w1 * w1 + 4.0 * w1 * w2 + 3.0 * w2 * w2) / 10.0 } else { 0.0 };
        let radius = along(&input.nodes.radius_m);
        let mut stored = vec![0.0; n];
        if let Some(rate) = input.gap.rate_m_per_s {
            let rate = along(rate);
            for k in 1..n {
                let area = PI * (radius[k].powi(2) - radius[k - 1].powi(2)).abs();
                stored[k] = stored[k - 1] + 0.5 * (rate[k] + rate[k - 1]) * area * entry.density_kg_per_m3;
            }
        }
        let gap = along(input.gap.profile_m);
        let nodes = gap
            .iter()
            .map(|&h| Rough {
                mean_gap: mean_gap(h, input.roughness_m).value,
                shear_per_gap: shear_per_gap(h, input.roughness_m, input.switches.shear_factor).value,
                flow_cube: flow_cube(h, input.roughness_m, input.switches.flow_factor).value,
            })
            .collect();
        Self {
            input,
            direction,
            friction: (0..n - 1).map(|k| friction_weights(input, [radius[k], radius[k + 1]], [gap[k], gap[k + 1]])).collect(),
            nodes,
            gap,
            face: along(input.face_temperature_k),
            radius,
            order,
            spin,
            sliding: w1 - w2,
            limiting_shear_pa: limiting_shear_pa(input.fluid),
            gas: input.fluid.gas_constant_j_per_kg_k().map(|r| (r, input.fluid.critical_density().unwrap_or(f64::INFINITY))),
            heat_capacity: entry.derivatives.temperature_by_enthalpy.recip(),
            relaxation: 12.0 * entry.conductivity_w_per_m_k * entry.derivatives.temperature_by_enthalpy.max(0.0),
            stored,
        }
    }

    pub fn len(&self) -> usize {
        self.radius.len()
    }

    /// `int dr/(r phi_p h^3)` over the band, 1/m4.
    pub fn resistance_per_m4(&self) -> f64 {
        self.friction.iter().flatten().sum()
    }

    pub fn heat(&self) -> bool {
        self.input.switches.heat
    }

    /// Gap, face temperature and flow of an interval as constants but for the flow.
    pub fn causes<const N: usize>(&self, interval: usize, flow: Jet<N>) -> Causes<N> {
        let pair = |profile: &[f64]| [Jet::constant(profile[interval]), Jet::constant(profile[interval + 1])];
        Causes { gap: pair(&self.gap), face: pair(&self.face), flow }
    }

    fn place<const N: usize>(&self, interval: usize, share: Jet<N>, causes: &Causes<N>) -> Place<N> {
        if let Some(node) = self.node_at(interval, share, causes) {
            return Place {
                node: Some(node),
                radius: Jet::constant(self.radius[node]),
                gap: Jet::constant(self.gap[node]),
                mean_gap: Jet::constant(self.nodes[node].mean_gap),
                flow_cube: Jet::constant(self.nodes[node].flow_cube),
                face: causes.face[node - interval],
            };
        }
        let between = |ends: &[Jet<N>; 2]| ends[0] + share * (ends[1] - ends[0]);
        let (a, b) = (self.radius[interval], self.radius[interval + 1]);
        let gap = between(&causes.gap);
        Place {
            node: None,
            radius: share * (b - a) + a,
            gap,
            mean_gap: rough(gap, |h| mean_gap(h, self.input.roughness_m)),
            flow_cube: self.flow_cube(gap),
            face: between(&causes.face),
        }
    }

    fn flow_cube<const N: usize>(&self, gap: Jet<N>) -> Jet<N> {
        rough(gap, |h| flow_cube(h, self.input.roughness_m, self.input.switches.flow_factor))
    }

    fn node_at<const N: usize>(&self, interval: usize, share: Jet<N>, causes: &Causes<N>) -> Option<usize> {
        let end = match share.value {
            0.0 => 0,
            1.0 => 1,
            _ => return None,
        };
        let gap = &causes.gap[end];
        (share.is_constant() && gap.is_constant() && gap.value == self.gap[interval + end]).then_some(interval + end)
    }

    fn flow_at<const N: usize>(&self, interval: usize, share: Jet<N>, flow: Jet<N>) -> Jet<N> {
        if self.input.gap.rate_m_per_s.is_none() {
            return flow;
        }
        flow - (share * (self.stored[interval + 1] - self.stored[interval]) + self.stored[interval])
    }

    /// What happens at a station of an interval.
    pub fn local<const N: usize>(&self, interval: usize, at: Lifted<N>, causes: &Causes<N>) -> Local<N> {
        let place = self.place(interval, at.share, causes);
        let flow = self.flow_at(interval, at.share, causes.flow);
        let mass_flux = match place.node {
            Some(_) => flow * (1.0 / (2.0 * PI * place.radius.value * place.mean_gap.value)),
            None => flow / (place.radius * place.mean_gap * (2.0 * PI)),
        };
        let (clinging, thickened) = self.viscosities(&at, &place, flow);
        let shear_viscosity = thickened.map_or(at.viscosity, |factor| at.viscosity * factor);
        let surplus = if self.heat() {
            let still = match place.node {
                Some(_) => at.conductivity * (12.0 / place.mean_gap.value),
                None => at.conductivity * 12.0 / place.mean_gap,
            };
            let conductance = thickened.map_or(still, |factor| still * factor);
            let shear = match place.node {
                Some(node) => self.shear_heat_at(node, shear_viscosity),
                None => self.shear_heat(shear_viscosity, place.radius, place.gap),
            };
            shear - conductance * (at.temperature - place.face)
        } else {
            Jet::constant(0.0)
        };
        let slip = self.slip(&at, &place);
        Local { at, place, flow, mass_flux, volume: at.density.recip(), clinging, shear_viscosity, slip, surplus }
    }

    /// Viscosity that pressure flow feels where the fluid clings to the walls, and the factor on that of shear where turbulence thickens it.
    fn viscosities<const N: usize>(&self, at: &Lifted<N>, place: &Place<N>, flow: Jet<N>) -> (Jet<N>, Option<Jet<N>>) {
        if !self.input.switches.turbulence {
            return (at.viscosity, None);
        }
        let (r, mu) = (place.radius.value, at.viscosity.value);
        let shearing = at.density.value * r * place.mean_gap.value * self.sliding.abs() / mu;
        let flowing = flow.value.abs() / (2.0 * PI * r * mu);
        if shearing <= LAMINAR_REYNOLDS && flowing <= LAMINAR_REYNOLDS {
            return (at.viscosity, None);
        }
        let couette = at.density * place.radius * place.mean_gap * self.sliding.abs() / at.viscosity;
        let pressure = flow * flow.value.signum() / (place.radius * at.viscosity * (2.0 * PI));
        (at.viscosity * turbulent_flow_factor(couette, pressure), Some(turbulent_shear_factor(couette)))
    }

    /// Factor of slip on the pressure flow of a gas.
    fn slip<const N: usize>(&self, at: &Lifted<N>, place: &Place<N>) -> Option<Jet<N>> {
        let (gas_constant, critical_density) = self.gas?;
        if !slips(self.input.switches.slip, at.density.value, critical_density) {
            return None;
        }
        let gas =
            Gas { pressure: at.pressure, temperature: at.temperature, density: at.density, viscosity: at.viscosity, gap: place.mean_gap };
        Some(slip_flow_factor(self.input.switches.slip, &gas, gas_constant, critical_density))
    }

    /// Shear heat, W/m2, bounded for fluids that yield.
    pub fn shear_heat<const N: usize>(&self, viscosity: Jet<N>, radius: Jet<N>, gap: Jet<N>) -> Jet<N> {
        if self.sliding == 0.0 {
            return Jet::constant(0.0);
        }
        let speed = radius * self.sliding.abs();
        let per_gap = rough(gap, |h| shear_per_gap(h, self.input.roughness_m, self.input.switches.shear_factor));
        let stress = viscosity * speed * per_gap;
        self.bounded(stress) * speed
    }

    /// The same at a node.
    fn shear_heat_at<const N: usize>(&self, node: usize, viscosity: Jet<N>) -> Jet<N> {
        if self.sliding == 0.0 {
            return Jet::constant(0.0);
        }
        let speed = self.radius[node] * self.sliding.abs();
        self.bounded(viscosity * (speed * self.nodes[node].shear_per_gap)) * speed
    }

    /// Shear stress, bounded for fluids that yield.
    fn bounded<const N: usize>(&self, stress: Jet<N>) -> Jet<N> {
        match self.limiting_shear_pa {
            None => stress,
            Some(limit) => stress / (stress.squared() * (1.0 / (limit * limit)) + 1.0).sqrt(),
        }
    }

    /// The step between two stations of `interval` with what its loads need.
    pub fn step<const N: usize>(&self, interval: usize, up: &Local<N>, down: &Local<N>, causes: &Causes<N>, weighing: Weighing) -> Step<N> {
        let (a, b) = (&up.at, &down.at);
        Step {
            balance: self.balance(interval, up, down, causes, weighing),
            growth: b.density / a.density - 1.0,
            drop: a.density * (b.pressure - a.pressure),
            skewness: self.skewness(up, down),
            shear_viscosity: [up.shear_viscosity, down.shear_viscosity],
        }
    }

    /// Residuals of the step between two stations.
    pub fn balance<const N: usize>(
        &self,
        interval: usize,
        up: &Local<N>,
        down: &Local<N>,
        causes: &Causes<N>,
        weighing: Weighing,
    ) -> Balance<N> {
        let (a, b) = (&up.at, &down.at);
        let switches = self.input.switches;
        let squares = down.place.radius.squared() - up.place.radius.squared();

        let logarithm =
            if switches.convective_inertia || weighing == Weighing::Mixed { (down.volume / up.volume).ln() } else { Jet::constant(0.0) };
        let mean_density = match weighing {
            Weighing::Single => (a.density + b.density) * 0.5,
            Weighing::Mixed => mixture_density(up, down, logarithm),
            Weighing::Held => b.density,
            Weighing::Leaving => a.density,
        };
        let mut momentum = mean_density * (b.pressure - a.pressure);
        let mut inertia = Jet::constant(0.0);
        if switches.convective_inertia {
            let (before, after) = (up.mass_flux.squared(), down.mass_flux.squared());
            inertia = (before + after) * (0.5 * switches.momentum_factor);
            momentum = momentum + inertia * logarithm + (after - before) * (0.5 * switches.momentum_factor);
        }
        if self.spin != 0.0 {
            momentum = momentum - (a.density.squared() + b.density.squared()) * squares * (0.25 * self.spin);
        }
        let middle = (a.share + b.share) * 0.5;
        let flow = self.flow_at(interval, middle, causes.flow);
        let friction = |viscosity: [Jet<N>; 2]| self.friction(interval, [up, down], causes, viscosity);
        let resistance = flow
            * match weighing {
                Weighing::Single | Weighing::Mixed => slip_weighed(up, down, friction([up.clinging, down.clinging])),
                Weighing::Leaving => friction([up.flow_viscosity(); 2]),
                Weighing::Held => {
                    let w = HELD_WEIGHT;
                    friction([down.flow_viscosity() * w + up.flow_viscosity() * (b.density / a.density) * (1.0 - w); 2])
                }
            };
        momentum = momentum + resistance;

        let area = squares * (PI * self.direction);
        let (energy, kept) = self.energy(up, down, area, flow, weighing);
        Balance { momentum, resistance, energy, kept, inertia }
    }

    /// `(12/2 pi) int mu/(r phi_p h^3) dr` between two stations, the viscosity straight from one to the other.
    fn friction<const N: usize>(&self, interval: usize, [up, down]: [&Local<N>; 2], causes: &Causes<N>, viscosity: [Jet<N>; 2]) -> Jet<N> {
        let scale = 12.0 / (2.0 * PI);
        if (up.place.node, down.place.node) == (Some(interval), Some(interval + 1)) {
            let [before, after] = self.friction[interval];
            return viscosity[0] * (scale * before) + viscosity[1] * (scale * after);
        }
        let (from, way) = (up.at.share, down.at.share - up.at.share);
        let span = self.radius[interval + 1] - self.radius[interval];
        let mut sum = Jet::constant(0.0);
        for [part, weight] in fitted_to_the_gap((down.place.flow_cube / up.place.flow_cube).cbrt()) {
            let share = from + way * part;
            let gap = causes.gap[0] + share * (causes.gap[1] - causes.gap[0]);
            let radius = share * span + self.radius[interval];
            sum = sum + (viscosity[0] + (viscosity[1] - viscosity[0]) * part) * weight / (radius * self.flow_cube(gap));
        }
        sum * way * (scale * span.abs())
    }

    /// Whether the faces stand much closer at one end of an interval than at the other.
    pub fn narrows(&self, interval: usize) -> bool {
        let [a, b] = [interval, interval + 1].map(|node| self.nodes[node].mean_gap);
        a.max(b) > NARROWS * a.min(b)
    }

    /// Of the way, in enthalpy (J/kg), from a fluid at the lip to that which its faces and its shear heat make of it: the share made at once
    /// ([`super::entry`]) and what is left of it.
    pub fn made_up_at_the_lip<const N: usize>(&self, at: &Local<N>) -> (Jet<N>, Jet<N>) {
        let gap = at.place.mean_gap;
        let area = PI * (self.radius[1].powi(2) - self.radius[0].powi(2)).abs();
        let per_unit = at.flow * gap * (1.0 / (area * self.relaxation));
        let kelvin = at.surplus * gap / (at.at.conductivity * 12.0);
        (share_made_at_the_lip(per_unit), kelvin * self.heat_capacity)
    }

    /// Change per metre along the flow of pressure and enthalpy, from the equations at a station; none where it is choked.
    pub fn gradients(&self, at: &Local<0>, state: &FluidState, flow: f64) -> Option<(f64, f64)> {
        let (radius, mass_flux) = (at.place.radius.value, at.mass_flux.value);
        let friction = 12.0 * flow * at.flow_viscosity().value / (2.0 * PI * radius * at.place.flow_cube.value);
        let density = state.density_kg_per_m3;
        let by_enthalpy = if flow > 0.0 && self.heat() { 2.0 * PI * radius * at.surplus.value / flow } else { 0.0 };
        let inertia = if self.input.switches.convective_inertia {
            self.input.switches.momentum_factor * mass_flux * mass_flux / density
        } else {
            0.0
        };
        let d = &state.derivatives;
        // What gets faster takes its kinetic energy from its enthalpy. Away from the speed of sound a guess does without; near it the fluid would
        // seem to choke before.
        let near_sound = self.heat() && density <= inertia * d.density_by_pressure;
        let slowing = if near_sound { (mass_flux / density).powi(2) / density } else { 0.0 };
        let share = 1.0 / (1.0 - slowing * d.density_by_enthalpy);
        let carried = density - inertia * d.density_by_pressure * share;
        let driven =
            self.direction * self.spin * density * density * radius - friction + inertia * d.density_by_enthalpy * share * by_enthalpy;
        let by_pressure = driven / carried;
        let thickening = (d.density_by_pressure * by_pressure + d.density_by_enthalpy * by_enthalpy) * share;
        (carried > 0.0).then_some((by_pressure, by_enthalpy + slowing * thickening))
    }

    /// `(f_b - f_a)/(f_a + f_b)` of the resistance per length at both ends.
    fn skewness<const N: usize>(&self, up: &Local<N>, down: &Local<N>) -> Jet<N> {
        let per_length = |at: &Local<N>| at.flow_viscosity() / (at.place.radius * at.place.flow_cube);
        let (before, after) = (per_length(up), per_length(down));
        (after - before) / (after + before)
    }

    /// Residual of energy and the heat that the step keeps.
    fn energy<const N: usize>(&self, up: &Local<N>, down: &Local<N>, area: Jet<N>, flow: Jet<N>, weighing: Weighing) -> (Jet<N>, Jet<N>) {
        let (a, b) = (&up.at, &down.at);
        if !self.heat() {
            return (b.temperature - down.place.face, Jet::constant(0.0));
        }
        let mut rise = b.enthalpy - a.enthalpy;
        if self.input.switches.convective_inertia {
            let speed = |at: &Local<N>| at.mass_flux * at.volume;
            rise = rise + (speed(down).squared() - speed(up).squared()) * 0.5;
        }
        // A step of no length keeps nothing.
        let exact = |surplus: Jet<N>| (flow * rise - area * surplus, if area.value == 0.0 { surplus } else { flow * rise / area });
        match weighing {
            Weighing::Single => {
                let gap = (up.place.mean_gap + down.place.mean_gap) * 0.5;
                let (carried, exchanged) = (flow * gap, area * self.relaxation);
                let surplus = implicitness(carried, exchanged) * (down.surplus - up.surplus) + up.surplus;
                // Across a film that conducts well the last digits of temperature are watts: what the fluid carries off tells the heat better.
                if exchanged.value > carried.value.abs() && area.value != 0.0 {
                    exact(surplus)
                } else {
                    (flow * rise - area * surplus, surplus)
                }
            }
            Weighing::Mixed => exact((down.surplus + up.surplus) * 0.5),
            Weighing::Leaving => exact(down.surplus),
            Weighing::Held => exact(down.surplus * HELD_WEIGHT + up.surplus * (1.0 - HELD_WEIGHT)),
        }
    }
}

/// Friction with slip. It goes by the inverse of the pressure and the path by the pressure itself: weighed by density, first-order slip of an
/// isothermal ideal gas is integrated exactly.
fn slip_weighed<const N: usize>(up: &Local<N>, down: &Local<N>, clinging: Jet<N>) -> Jet<N> {
    let (a, b) = (up.at.density, down.at.density);
    match (up.slip, down.slip) {
        (None, None) => clinging,
        (before, after) => {
            let [before, after] = [before, after].map(|slip| slip.unwrap_or(Jet::constant(1.0)));
            clinging * (a + b) / (a * before + b * after)
        }
    }
}

/// `ln(v_b/v_a)/(v_b - v_a)`: the mean density over a step in which the specific volume is straight in the pressure.
fn mixture_density<const N: usize>(up: &Local<N>, down: &Local<N>, logarithm: Jet<N>) -> Jet<N> {
    if logarithm.value.abs() < 1e-5 {
        return (up.volume + down.volume).recip() * 2.0;
    }
    logarithm / (down.volume - up.volume)
}

/// Share of the way to the faces' temperature made at the lip, `R/(1 + (C/N)^4)`, by `1/N`.
pub(super) fn share_made_at_the_lip<const N: usize>(per_transfer_unit: Jet<N>) -> Jet<N> {
    let fewness = per_transfer_unit * TRANSFER_UNITS_AT_THE_LIP;
    (fewness.squared().squared() + 1.0).recip() * MOST_AT_THE_LIP
}

/// Weight of the downstream end that integrates a linear relaxation exactly: `1/(1 - exp(-N)) - 1/N`, `N = area relaxation/(flow gap)`.
fn implicitness<const N: usize>(flow_gap: Jet<N>, exchange: Jet<N>) -> Jet<N> {
    let units = exchange.value / flow_gap.value.abs();
    if !units.is_finite() || units > 1e8 {
        return Jet::constant(1.0);
    }
    let sign = flow_gap.value.signum();
    let units = exchange / (flow_gap * sign);
    let x = units.value;
    if x < 1e-2 {
        return units.chain(0.5 + x / 12.0, 1.0 / 12.0);
    }
    let decay = (-x).exp();
    let gain = 1.0 - decay;
    units.chain(1.0 / gain - 1.0 / x, -decay / (gain * gain) + 1.0 / (x * x))
}

/// The same for a number of transfer units.
pub(super) fn implicitness_of(units: f64) -> f64 {
    implicitness(Jet::<0>::constant(1.0), Jet::constant(units)).value
}

#[cfg(test)]
mod tests {
    use super::*;

    /// `int ds/e^3` with `e` straight from 1 to the ratio is `(1 + 1/ratio)/(2 ratio)`; of a length alone the rule is good to the fourth order.
    #[test]
    fn two_points_integrate_the_inverse_cube_of_a_straight_gap_whatever_its_ratio() {
        for ratio in [1e-3_f64, 0.1, 0.999, 1.0, 1.3, 8.0, 300.0] {
            let points = fitted_to_the_gap(Jet::<1>::variable(ratio, 0));
            let sum = points.iter().map(|[share, weight]| weight.value * (1.0 + share.value * (ratio - 1.0)).powi(-3)).sum::<f64>();
            let exact = 0.5 * (1.0 + 1.0 / ratio) / ratio;
            assert!((sum / exact - 1.0).abs() < 1e-12, "{ratio}: {sum} instead of {exact}");
            let beside = fitted_to_the_gap(Jet::<0>::constant(ratio * (1.0 + 1e-6)));
            for (point, beside) in points.iter().flatten().zip(beside.iter().flatten()) {
                let quotient = (beside.value - point.value) / (1e-6 * ratio);
                assert!((point.slopes[0] - quotient).abs() < 1e-4 * (1.0 + quotient.abs()), "{ratio}: {} and {quotient}", point.slopes[0]);
            }
        }
        let length = |ratio| fitted_to_the_gap(Jet::<0>::constant(ratio)).iter().map(|[_, weight]| weight.value).sum::<f64>();
        assert!((length(1.1) - 1.0).abs() < 1e-4 && (length(1.05) - 1.0).abs() < 1e-5);
    }

    #[test]
    fn weight_of_the_downstream_end_runs_from_a_half_to_one() {
        let at = |x: f64| implicitness(Jet::<1>::constant(1.0), Jet::variable(x, 0));
        assert!((at(1e-6).value - 0.5).abs() < 1e-6 && (at(1e6).value - 1.0).abs() < 2e-6);
        for x in [0.003, 0.1, 1.0, 20.0] {
            let quotient = (at(x * (1.0 + 1e-5)).value - at(x * (1.0 - 1e-5)).value) / (2e-5 * x);
            assert!((at(x).slopes[0] - quotient).abs() < 1e-5, "{x}");
        }
        assert!((at(0.00999).value - at(0.01001).value).abs() < 1e-5);
    }
}
