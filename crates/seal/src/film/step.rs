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

use super::resistance::{Gas, slip_flow_factor, turbulent_flow_factor, turbulent_shear_factor};
use super::roughness::{WithSlope, flow_cube, mean_gap, shear_per_gap};
use super::{FilmInput, limiting_shear_pa};

/// Two-point Gauss abscissa on [0, 1].
pub(super) const GAUSS_2: [f64; 2] = [0.211_324_865_405_187_1, 0.788_675_134_594_812_9];

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
    /// Mass per time lost to squeezing up to each place, kg/s.
    pub stored: Vec<f64>,
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
    radius: Jet<N>,
    gap: Jet<N>,
    mean_gap: Jet<N>,
    face: Jet<N>,
}

/// What happens at a station.
pub(super) struct Local<const N: usize> {
    pub at: Lifted<N>,
    place: Place<N>,
    /// Mass flow per unit area of the gap, kg/(m2 s).
    pub mass_flux: Jet<N>,
    volume: Jet<N>,
    /// Viscosity that the pressure flow feels, Pa s.
    flow_viscosity: Jet<N>,
    /// Viscosity that shear feels, Pa s.
    shear_viscosity: Jet<N>,
    /// Factor of slip on the pressure flow, which its viscosity contains.
    slip: Jet<N>,
    /// Shear heat less heat to the faces, W/m2.
    surplus: Jet<N>,
}

/// Residuals and heats of a step.
pub(super) struct Step<const N: usize> {
    /// Momentum times density, Pa kg/m3.
    pub momentum: Jet<N>,
    /// The part of it that friction takes.
    pub resistance: Jet<N>,
    /// Energy, W; or temperature, K, where heat is off.
    pub energy: Jet<N>,
    /// Heat that the step keeps: shear heat less heat to the faces, W/m2.
    pub kept: Jet<N>,
    /// Growth of density over the step, pressure drop times density at its start (Pa kg/m3) and mean square of the mass flux times the
    /// momentum factor (Pa kg/m3): how the resistance is shared over the pressure drop.
    pub growth: Jet<N>,
    pub drop: Jet<N>,
    pub inertia: Jet<N>,
    /// `(f_b - f_a)/(f_a + f_b)` of the resistance per length.
    pub skewness: Jet<N>,
    pub shear_viscosity: [Jet<N>; 2],
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
        Self {
            input,
            direction,
            gap: along(input.gap.profile_m),
            face: along(input.face_temperature_k),
            radius,
            order,
            spin,
            sliding: w1 - w2,
            limiting_shear_pa: limiting_shear_pa(input.fluid),
            gas: input.fluid.gas_constant_j_per_kg_k().map(|r| (r, input.fluid.critical_density().unwrap_or(f64::INFINITY))),
            relaxation: 12.0 * entry.conductivity_w_per_m_k * entry.derivatives.temperature_by_enthalpy.max(0.0),
            stored,
        }
    }

    pub fn len(&self) -> usize {
        self.radius.len()
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
        let between = |ends: &[Jet<N>; 2]| ends[0] + share * (ends[1] - ends[0]);
        let (a, b) = (self.radius[interval], self.radius[interval + 1]);
        let gap = between(&causes.gap);
        Place {
            radius: share * (b - a) + a,
            gap,
            mean_gap: rough(gap, |h| mean_gap(h, self.input.roughness_m)),
            face: between(&causes.face),
        }
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
        let mass_flux = flow / (place.radius * place.mean_gap * (2.0 * PI));
        let (flow_viscosity, shear_viscosity, slip) = self.viscosities(&at, &place, flow);
        let surplus = if self.heat() {
            let conductance = at.conductivity * 12.0 / place.mean_gap * (shear_viscosity / at.viscosity);
            self.shear_heat(shear_viscosity, place.radius, place.gap) - conductance * (at.temperature - place.face)
        } else {
            Jet::constant(0.0)
        };
        Local { at, place, mass_flux, volume: at.density.recip(), flow_viscosity, shear_viscosity, slip, surplus }
    }

    /// Viscosities that pressure flow and shear feel, and the factor of slip in the first: turbulence thickens, slip thins.
    fn viscosities<const N: usize>(&self, at: &Lifted<N>, place: &Place<N>, flow: Jet<N>) -> (Jet<N>, Jet<N>, Jet<N>) {
        let mut slip = Jet::constant(1.0);
        let mut flow_viscosity = at.viscosity;
        let mut shear_viscosity = at.viscosity;
        if self.input.switches.turbulence {
            let couette = at.density * place.radius * place.mean_gap * self.sliding.abs() / at.viscosity;
            let pressure = flow * flow.value.signum() / (place.radius * at.viscosity * (2.0 * PI));
            flow_viscosity = flow_viscosity * turbulent_flow_factor(couette, pressure);
            shear_viscosity = shear_viscosity * turbulent_shear_factor(couette);
        }
        if let Some((gas_constant, critical_density)) = self.gas {
            let gas = Gas {
                pressure: at.pressure,
                temperature: at.temperature,
                density: at.density,
                viscosity: at.viscosity,
                gap: place.mean_gap,
            };
            slip = slip_flow_factor(self.input.switches.slip, &gas, gas_constant, critical_density);
        }
        (flow_viscosity / slip, shear_viscosity, slip)
    }

    /// Shear heat, W/m2, bounded for fluids that yield.
    pub fn shear_heat<const N: usize>(&self, viscosity: Jet<N>, radius: Jet<N>, gap: Jet<N>) -> Jet<N> {
        if self.sliding == 0.0 {
            return Jet::constant(0.0);
        }
        let speed = radius * self.sliding.abs();
        let per_gap = rough(gap, |h| shear_per_gap(h, self.input.roughness_m, self.input.switches.shear_factor));
        let stress = viscosity * speed * per_gap;
        match self.limiting_shear_pa {
            None => stress * speed,
            Some(limit) => stress * speed / (stress.squared() * (1.0 / (limit * limit)) + 1.0).sqrt(),
        }
    }

    /// Residuals of the step between two stations of `interval`; `mixed` where it runs inside the two-phase region.
    pub fn step<const N: usize>(&self, interval: usize, up: &Local<N>, down: &Local<N>, causes: &Causes<N>, mixed: bool) -> Step<N> {
        let (a, b) = (&up.at, &down.at);
        let switches = self.input.switches;
        let span = (self.radius[interval + 1] - self.radius[interval]).abs();
        let length = (b.share - a.share) * span;
        let squares = down.place.radius.squared() - up.place.radius.squared();

        let logarithm = (down.volume / up.volume).ln();
        let mean_density = if mixed { mixture_density(up, down, logarithm) } else { (a.density + b.density) * 0.5 };
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
        // Slip goes by the inverse of the pressure and the path by the pressure itself: weighed by density, first-order slip of an
        // isothermal ideal gas is integrated exactly too.
        let slip = (a.density * up.slip + b.density * down.slip) / (a.density + b.density);
        let (clinging_up, clinging_down) = (up.flow_viscosity * up.slip, down.flow_viscosity * down.slip);
        let mut resistance = Jet::constant(0.0);
        for g in GAUSS_2 {
            let share = a.share + (b.share - a.share) * g;
            let gap = causes.gap[0] + share * (causes.gap[1] - causes.gap[0]);
            let cube = rough(gap, |h| flow_cube(h, self.input.roughness_m, switches.flow_factor));
            let radius = share * (self.radius[interval + 1] - self.radius[interval]) + self.radius[interval];
            let viscosity = (clinging_up + (clinging_down - clinging_up) * g) / slip;
            resistance = resistance + viscosity / (radius * cube);
        }
        let middle = (a.share + b.share) * 0.5;
        let flow = self.flow_at(interval, middle, causes.flow);
        let resistance = flow * resistance * length * (12.0 / (4.0 * PI));
        momentum = momentum + resistance;

        let area = squares * (PI * self.direction);
        let (energy, kept) = self.energy(up, down, area, flow, mixed);
        Step {
            momentum,
            resistance,
            energy,
            kept,
            growth: b.density / a.density - 1.0,
            drop: a.density * (b.pressure - a.pressure),
            inertia,
            skewness: self.skewness(up, down),
            shear_viscosity: [up.shear_viscosity, down.shear_viscosity],
        }
    }

    /// Change per metre along the flow of pressure and enthalpy, from the equations at a station; none where it is choked.
    pub fn gradients(&self, at: &Local<0>, state: &FluidState, flow: f64) -> Option<(f64, f64)> {
        let (radius, mass_flux) = (at.place.radius.value, at.mass_flux.value);
        let cube = flow_cube(at.place.gap.value, self.input.roughness_m, self.input.switches.flow_factor).value;
        let friction = 12.0 * flow * at.flow_viscosity.value / (2.0 * PI * radius * cube);
        let density = state.density_kg_per_m3;
        let by_enthalpy = if flow > 0.0 && self.heat() { 2.0 * PI * radius * at.surplus.value / flow } else { 0.0 };
        let inertia = if self.input.switches.convective_inertia {
            self.input.switches.momentum_factor * mass_flux * mass_flux / density
        } else {
            0.0
        };
        let d = &state.derivatives;
        let carried = density - inertia * d.density_by_pressure;
        let driven = self.direction * self.spin * density * density * radius - friction + inertia * d.density_by_enthalpy * by_enthalpy;
        (carried > 0.0).then(|| (driven / carried, by_enthalpy))
    }

    /// `(f_b - f_a)/(f_a + f_b)` of the resistance per length at both ends.
    fn skewness<const N: usize>(&self, up: &Local<N>, down: &Local<N>) -> Jet<N> {
        let per_length = |at: &Local<N>| {
            let cube = rough(at.place.gap, |h| flow_cube(h, self.input.roughness_m, self.input.switches.flow_factor));
            at.flow_viscosity / (at.place.radius * cube)
        };
        let (before, after) = (per_length(up), per_length(down));
        (after - before) / (after + before)
    }

    /// Residual of energy and the heat that the step keeps.
    fn energy<const N: usize>(&self, up: &Local<N>, down: &Local<N>, area: Jet<N>, flow: Jet<N>, mixed: bool) -> (Jet<N>, Jet<N>) {
        let (a, b) = (&up.at, &down.at);
        if !self.heat() {
            return (b.temperature - down.place.face, Jet::constant(0.0));
        }
        let mut rise = b.enthalpy - a.enthalpy;
        if self.input.switches.convective_inertia {
            let speed = |at: &Local<N>| at.mass_flux * at.volume;
            rise = rise + (speed(down).squared() - speed(up).squared()) * 0.5;
        }
        let theta = if mixed {
            Jet::constant(0.5)
        } else {
            let gap = (up.place.mean_gap + down.place.mean_gap) * 0.5;
            implicitness(flow * gap, area * self.relaxation)
        };
        let kept = theta * (down.surplus - up.surplus) + up.surplus;
        (flow * rise - area * kept, kept)
    }
}

/// `ln(v_b/v_a)/(v_b - v_a)`: the mean density over a step in which the specific volume is straight in the pressure.
fn mixture_density<const N: usize>(up: &Local<N>, down: &Local<N>, logarithm: Jet<N>) -> Jet<N> {
    if logarithm.value.abs() < 1e-5 {
        return (up.volume + down.volume).recip() * 2.0;
    }
    logarithm / (down.volume - up.volume)
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

#[cfg(test)]
mod tests {
    use super::*;

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
