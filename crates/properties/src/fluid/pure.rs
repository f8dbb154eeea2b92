//! One pure fluid from its Helmholtz equation: states at (density, temperature), (pressure, temperature)
//! and (pressure, enthalpy), the saturation line, and the superheated liquid beyond it.

use std::sync::{Arc, OnceLock};

use serde::Deserialize;

use super::helmholtz::{IdealPart, LogDerivatives, ResidualPart};
use super::jets::Dual;
use super::saturation::{SaturationCurves, SaturationData};
use super::transport::{Conformal, Correlations, Local};
use super::water_transport as water;
use super::{FluidState, PhDerivatives, Phase};
use crate::error::PropertyError;

/// Coefficient file of one fluid.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct PureFluidData {
    pub name: String,
    pub data_version: String,
    pub equation_source: String,
    molar_mass_kg_per_mol: f64,
    gas_constant_j_per_kg_k: f64,
    reducing_temperature_k: f64,
    reducing_density_kg_per_m3: f64,
    critical_temperature_k: f64,
    critical_density_kg_per_m3: f64,
    critical_pressure_pa: f64,
    triple_temperature_k: f64,
    #[allow(dead_code, reason = "the data file states it for its readers; unknown keys are refused, so it is read here")]
    triple_pressure_pa: f64,
    highest_temperature_k: f64,
    highest_pressure_pa: f64,
    ideal: IdealPart,
    residual: ResidualPart,
    saturation: SaturationData,
    /// Absent for water, whose correlations are the international ones.
    pub transport: Option<Box<Correlations>>,
}

/// Which correlations give viscosity and conductivity.
#[derive(Debug, Clone)]
pub(crate) enum Transport {
    /// IAPWS R12-08 and R15-11.
    Water,
    /// Those of the data file.
    Correlations(Box<Correlations>),
}

/// `dp/drho` over that of the ideal gas is not taken below this in heat capacity and susceptibility, which are infinite at
/// the critical point (our choice; it is reached some millikelvin away).
const LEAST_COMPRESSIBILITY: f64 = 1e-5;

/// A pure fluid ready for use.
#[derive(Debug)]
pub(crate) struct PureFluid {
    pub name: String,
    pub data_version: String,
    pub equation_source: String,
    pub gas_constant: f64,
    reducing_temperature: f64,
    reducing_density: f64,
    pub critical_temperature: f64,
    pub critical_density: f64,
    pub critical_pressure: f64,
    pub triple_temperature: f64,
    pub highest_temperature: f64,
    pub highest_pressure: f64,
    ideal: IdealPart,
    residual: ResidualPart,
    saturation: SaturationCurves,
    transport: Transport,
    pub molar_mass: f64,
    /// Fluid of the same family from which transport at high density is taken.
    reference: Option<Arc<PureFluid>>,
    guesses: OnceLock<Vec<SaturatedGuess>>,
}

/// A point of the saturated-liquid line, from which (pressure, enthalpy) searches start.
#[derive(Debug, Clone, Copy)]
struct SaturatedGuess {
    temperature: f64,
    enthalpy: f64,
    pressure: f64,
    density: f64,
    /// dp/drho and dh/dp at constant temperature.
    stiffness: f64,
    enthalpy_by_pressure: f64,
}

/// First derivatives at one (density, temperature), enough for Newton steps.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Basic {
    pub p: f64,
    pub h: f64,
    pub p_rho: f64,
    pub p_t: f64,
    pub h_rho: f64,
    pub h_t: f64,
}

/// What a property surface interpolates at one (pressure, enthalpy): all of these are smooth, which the
/// conductivity itself is not where its critical enhancement sets in.
#[derive(Debug, Clone, Copy)]
pub(crate) struct SmoothState {
    pub temperature: f64,
    pub density: f64,
    pub viscosity: f64,
    pub conductivity_background: f64,
    pub susceptibility: f64,
    pub heat_capacity_ratio: f64,
    pub isobaric_heat_capacity: f64,
    pub basic: Basic,
}

struct Full {
    basic: Basic,
    cp: Dual,
    cv: Dual,
    dchi: Dual,
    viscosity: Dual,
    background: Dual,
}

impl PureFluid {
    pub fn new(data: PureFluidData, transport: Transport) -> Result<Self, PropertyError> {
        let broken = |message: String| PropertyError::Data { file: format!("fluids/{}.toml", data.name), message };
        let saturation = SaturationCurves::new(data.saturation.clone()).map_err(broken)?;
        let positive = [
            data.gas_constant_j_per_kg_k,
            data.reducing_temperature_k,
            data.reducing_density_kg_per_m3,
            data.critical_temperature_k - data.triple_temperature_k,
            data.critical_pressure_pa,
            data.critical_density_kg_per_m3,
            data.highest_temperature_k - data.critical_temperature_k,
            data.highest_pressure_pa - data.critical_pressure_pa,
        ];
        if positive.iter().any(|v| !(v.is_finite() && *v > 0.0)) {
            return Err(broken("constants must be finite and in their natural order".to_owned()));
        }
        Ok(Self {
            name: data.name,
            data_version: data.data_version,
            equation_source: data.equation_source,
            gas_constant: data.gas_constant_j_per_kg_k,
            reducing_temperature: data.reducing_temperature_k,
            reducing_density: data.reducing_density_kg_per_m3,
            critical_temperature: data.critical_temperature_k,
            critical_density: data.critical_density_kg_per_m3,
            critical_pressure: data.critical_pressure_pa,
            triple_temperature: data.triple_temperature_k,
            highest_temperature: data.highest_temperature_k,
            highest_pressure: data.highest_pressure_pa,
            ideal: data.ideal,
            residual: data.residual,
            saturation,
            transport,
            molar_mass: data.molar_mass_kg_per_mol,
            reference: None,
            guesses: OnceLock::new(),
        })
    }

    pub fn saturation(&self) -> &SaturationCurves {
        &self.saturation
    }

    /// The same fluid with the one that its transport refers to.
    pub fn with_reference(self, reference: Arc<PureFluid>) -> Self {
        Self { reference: Some(reference), ..self }
    }

    pub fn correlations(&self) -> Option<&Correlations> {
        match &self.transport {
            Transport::Correlations(c) => Some(c),
            Transport::Water => None,
        }
    }

    pub fn critical_density(&self) -> f64 {
        self.critical_density
    }

    /// Logarithmic derivatives of the residual Helmholtz energy.
    pub fn residual_derivatives(&self, rho: f64, t: f64) -> LogDerivatives {
        self.residual.evaluate(rho / self.reducing_density, self.reducing_temperature / t)
    }

    /// Keys of the works behind equation of state, viscosity and conductivity.
    pub fn source_keys(&self) -> [&str; 3] {
        let [viscosity, conductivity] = match &self.transport {
            Transport::Water => ["huber-2009", "huber-2012"],
            Transport::Correlations(c) => c.sources(),
        };
        [&self.equation_source, viscosity, conductivity]
    }

    // ------------------------------------------------------------ (density, temperature)

    /// Pressure, enthalpy and their derivatives.
    pub fn basic(&self, rho: f64, t: f64) -> Basic {
        let (delta, tau) = (rho / self.reducing_density, self.reducing_temperature / t);
        let r = self.residual.evaluate(delta, tau);
        self.basic_from(rho, t, &r, &self.ideal.slopes(tau))
    }

    /// Pressure and its change with density at constant temperature: of these the ideal part is known.
    pub fn pressure_with_stiffness(&self, rho: f64, t: f64) -> (f64, f64) {
        let gas = self.gas_constant;
        let r = self.residual_derivatives(rho, t);
        (rho * gas * t * (1.0 + r[1][0]), gas * t * (1.0 + r[1][0] + r[2][0]))
    }

    fn basic_from(&self, rho: f64, t: f64, r: &LogDerivatives, ideal: &[f64; 3]) -> Basic {
        let gas = self.gas_constant;
        let p = rho * gas * t * (1.0 + r[1][0]);
        let p_rho = gas * t * (1.0 + r[1][0] + r[2][0]);
        let p_t = gas * rho * (1.0 + r[1][0] - r[1][1]);
        let cv = gas * (ideal[0] - ideal[1] + r[0][1] - r[0][2]);
        Basic {
            p,
            h: gas * t * (1.0 + ideal[0] + r[0][1] + r[1][0]),
            p_rho,
            p_t,
            h_rho: p_rho / rho - t * p_t / (rho * rho),
            h_t: cv + p_t / rho,
        }
    }

    /// Specific entropy, J/(kg K).
    #[cfg(test)]
    pub fn entropy(&self, rho: f64, t: f64) -> f64 {
        let (delta, tau) = (rho / self.reducing_density, self.reducing_temperature / t);
        let r = self.residual.evaluate(delta, tau);
        self.gas_constant * (self.ideal.slopes(tau)[0] + r[0][1] - self.ideal.value(delta, tau) - r[0][0])
    }

    fn full(&self, rho: f64, t: f64) -> Full {
        let gas = self.gas_constant;
        let (delta, tau) = (rho / self.reducing_density, self.reducing_temperature / t);
        let r = self.residual.evaluate(delta, tau);
        let ideal = self.ideal.slopes(tau);
        let basic = self.basic_from(rho, t, &r, &ideal);
        let density = Dual::new(rho, 1.0, 0.0);
        let temperature = Dual::new(t, 0.0, 1.0);
        let res = |i: usize, j: usize| Dual::new(r[i][j], r[i + 1][j] / rho, -r[i][j + 1] / t);
        let idl = |j: usize| Dual::new(ideal[j - 1], 0.0, -ideal[j] / t);
        let compressibility = res(1, 0) + res(2, 0) + 1.0;
        let stiff = if compressibility.v < LEAST_COMPRESSIBILITY { Dual::constant(LEAST_COMPRESSIBILITY) } else { compressibility };
        let p_rho = temperature * stiff * gas;
        let p_t = density * (res(1, 0) - res(1, 1) + 1.0) * gas;
        let cv = (idl(1) - idl(2) + res(0, 1) - res(0, 2)) * gas;
        let cp = cv + temperature * p_t * p_t / (density * density * p_rho);
        let (viscosity, background, dchi) = match &self.transport {
            Transport::Water => {
                let scale = water::PRESSURE / (322.0 * 322.0);
                let dchi = self.susceptibility(density, temperature, p_rho, water::REFERENCE_TEMPERATURE, scale);
                let viscosity = water::viscosity_background(density, temperature) * water::viscosity_enhancement(dchi);
                (viscosity, water::conductivity_background(density, temperature), dchi)
            }
            Transport::Correlations(c) => {
                let saturated_vapour = (c.asks_for_saturated_vapour() && t < self.critical_temperature && rho < self.critical_density)
                    .then(|| {
                        let (value, slope) = self.saturation.vapour_density(t);
                        temperature.chain(value, slope)
                    });
                let local = Local {
                    density,
                    temperature,
                    pressure: density * temperature * (res(1, 0) + 1.0) * gas,
                    p_t,
                    p_rho,
                    ideal_curvature: idl(2) - idl(1),
                    gas_constant: gas,
                    saturated_vapour,
                    conformal: self.reference.as_deref().map(|reference| {
                        let start = (
                            density * (reference.critical_density / self.critical_density),
                            temperature * (reference.critical_temperature / self.critical_temperature),
                        );
                        Conformal::find(
                            reference,
                            self.molar_mass / reference.molar_mass,
                            res(0, 0),
                            res(1, 0) + 1.0,
                            start,
                            density * (1.0 / self.critical_density),
                        )
                    }),
                };
                let (viscosity, background) = c.evaluate(&local);
                let dchi = c.enhancement().map_or(Dual::constant(-1.0), |e| {
                    self.susceptibility(density, temperature, p_rho, e.reference_temperature_k, e.susceptibility_scale())
                });
                (viscosity, background, dchi)
            }
        };
        Full { basic, cp, cv, dchi, viscosity, background }
    }

    /// Reduced susceptibility above that of the reference temperature, which has no critical part left.
    fn susceptibility(&self, rho: Dual, t: Dual, p_rho: Dual, reference: f64, scale: f64) -> Dual {
        let r = self.residual.evaluate(rho.v / self.reducing_density, self.reducing_temperature / reference);
        let at_reference = Dual::new(1.0 + r[1][0] + r[2][0], (r[2][0] + r[3][0]) / rho.v, 0.0) * (self.gas_constant * reference);
        rho * (p_rho.recip() - at_reference.recip() * t.recip() * reference) * scale
    }

    /// Critical enhancement of the conductivity, W/(m K), from quantities that are smooth and so may be interpolated:
    /// density, temperature, isobaric heat capacity, ratio of heat capacities, viscosity and reduced susceptibility.
    /// Zero where the susceptibility is not positive. At the critical point itself, where it would be infinite, it is held
    /// at its value where `dp/drho` has fallen to a hundred thousandth of that of an ideal gas, some millikelvin away.
    pub fn conductivity_enhancement(&self, rho: Dual, t: Dual, cp: Dual, kappa: Dual, viscosity: Dual, dchi: Dual) -> Dual {
        match &self.transport {
            Transport::Water => water::conductivity_enhancement(rho, t, cp, kappa, viscosity, dchi),
            Transport::Correlations(c) => c.enhancement().map_or(Dual::constant(0.0), |e| e.evaluate(rho, t, cp, kappa, viscosity, dchi)),
        }
    }

    /// The whole state at density and temperature of one phase.
    pub fn state(&self, rho: f64, t: f64, phase: Phase) -> FluidState {
        let full = self.full(rho, t);
        let b = full.basic;
        let kappa = full.cp / full.cv;
        let conductivity = full.background
            + self.conductivity_enhancement(Dual::new(rho, 1.0, 0.0), Dual::new(t, 0.0, 1.0), full.cp, kappa, full.viscosity, full.dchi);
        let det = b.p_rho * b.h_t - b.p_t * b.h_rho;
        let (rho_p, rho_h) = (b.h_t / det, -b.p_t / det);
        let (t_p, t_h) = (-b.h_rho / det, b.p_rho / det);
        let by_pressure = |q: Dual| q.a * rho_p + q.b * t_p;
        let by_enthalpy = |q: Dual| q.a * rho_h + q.b * t_h;
        FluidState {
            pressure_pa: b.p,
            enthalpy_j_per_kg: b.h,
            temperature_k: t,
            density_kg_per_m3: rho,
            viscosity_pa_s: full.viscosity.v,
            conductivity_w_per_m_k: conductivity.v,
            isobaric_heat_capacity_j_per_kg_k: full.cp.v,
            vapour_mass_fraction: if phase == Phase::Vapour { 1.0 } else { 0.0 },
            phase,
            derivatives: PhDerivatives {
                temperature_by_pressure: t_p,
                temperature_by_enthalpy: t_h,
                density_by_pressure: rho_p,
                density_by_enthalpy: rho_h,
                viscosity_by_pressure: by_pressure(full.viscosity),
                viscosity_by_enthalpy: by_enthalpy(full.viscosity),
                conductivity_by_pressure: by_pressure(conductivity),
                conductivity_by_enthalpy: by_enthalpy(conductivity),
            },
        }
    }

    /// Isochoric heat capacity, J/(kg K).
    #[cfg(test)]
    pub fn isochoric_heat_capacity(&self, rho: f64, t: f64) -> f64 {
        self.full(rho, t).cv.v
    }

    // ------------------------------------------------------------ (pressure, temperature)

    /// Density and phase at pressure and temperature; on the saturation line the liquid.
    pub fn density(&self, p: f64, t: f64) -> Result<(f64, Phase), PropertyError> {
        let gas = self.gas_constant;
        if t >= self.critical_temperature {
            let phase = if p >= self.critical_pressure { Phase::Supercritical } else { Phase::Vapour };
            let guess = if p > self.critical_pressure { self.critical_density } else { p / (gas * t) };
            return Ok((self.bracketed_density(p, t, 1e-3 * p / (gas * t), self.densest(), guess)?, phase));
        }
        // below the line's cold end, where searches may look but nothing is handed out, its last point serves
        let on_line = t.max(self.saturation.lowest_temperature());
        let saturation = self.saturation.pressure(on_line);
        let (liquid, vapour) = self.saturation.densities(on_line);
        if p >= saturation * (1.0 - 1e-12) {
            let stiffness = self.pressure_with_stiffness(liquid, t).1.max(1.0);
            let guess = (liquid + (p - saturation) / stiffness).min(1.2 * liquid);
            // water is densest at 4 degC: colder than the line's end it may be lighter
            let lightest = liquid * if on_line > t { 0.98 } else { 1.0 - 1e-6 };
            return Ok((self.bracketed_density(p, t, lightest, self.densest(), guess)?, Phase::Liquid));
        }
        let guess = p / (gas * t);
        Ok((self.bracketed_density(p, t, 0.5 * guess, vapour * (1.0 + 1e-6), guess)?, Phase::Vapour))
    }

    /// Where searches by temperature begin, a little below the triple point, K.
    pub(super) fn coldest(&self) -> f64 {
        0.9 * self.triple_temperature
    }

    pub(super) fn densest(&self) -> f64 {
        // IAPWS-95 at 1 GPa is 3.9 critical densities; every other fluid of interest stays below this too
        4.5 * self.reducing_density
    }

    /// Newton inside a bracket that shrinks with the sign of the residual; bisection when Newton leaves it.
    fn bracketed_density(&self, p: f64, t: f64, low: f64, high: f64, guess: f64) -> Result<f64, PropertyError> {
        // far above the range of the equation the ideal gas would be denser than anything
        let (mut low, mut high) = (low.min(0.5 * high), high);
        let mut rho = guess.max(low).min(high);
        let mut residual = f64::INFINITY;
        let mut previous = f64::INFINITY;
        for iteration in 0..100 {
            let (pressure, stiffness) = self.pressure_with_stiffness(rho, t);
            residual = pressure - p;
            if residual > 0.0 {
                high = high.min(rho)
            } else {
                low = low.max(rho)
            }
            let mut step = -residual / stiffness;
            let mut next = rho + step;
            if !(stiffness > 0.0 && next >= low && next <= high) || (iteration > 20 && step.abs() > 0.5 * previous) {
                next = 0.5 * (low + high);
                step = next - rho;
            }
            rho = next;
            if step.abs() <= 1e-13 * rho || (previous < 1e-9 * rho && step.abs() >= previous) {
                // an end of the bracket is not a root
                if residual.abs() <= 1e-6 * (p + rho * stiffness.abs()) {
                    return Ok(rho);
                }
                break;
            }
            previous = step.abs();
        }
        Err(self.not_converged(("pressure", p), ("temperature", t), 100, residual / p, t, rho))
    }

    /// Liquid density, below the saturation pressure too, followed from the saturated liquid of the same temperature.
    pub fn liquid_density(&self, p: f64, t: f64) -> Option<f64> {
        let saturation = self.saturation.pressure(t);
        let (mut rho, _) = self.saturation.densities(t);
        if p >= saturation {
            return self.density(p, t).ok().map(|(rho, _)| rho);
        }
        // from the dense side the isotherm is convex: Newton steps never pass below the root
        for _ in 0..60 {
            let (pressure, stiffness) = self.pressure_with_stiffness(rho, t);
            if stiffness < self.least_stiffness(t) {
                return None;
            }
            let step = ((p - pressure) / stiffness).max(-0.05 * rho);
            rho += step;
            if step.abs() < 1e-12 * rho {
                return Some(rho);
            }
        }
        None
    }

    /// Superheated liquid is followed until `dp/drho` at constant temperature has fallen to this: a third of that of an
    /// ideal gas, where the heat capacity has begun to diverge (our choice; the limit of stability itself is at zero).
    fn least_stiffness(&self, t: f64) -> f64 {
        self.gas_constant * t / 3.0
    }

    // ------------------------------------------------------------ (pressure, enthalpy)

    fn guesses(&self) -> &[SaturatedGuess] {
        self.guesses.get_or_init(|| {
            let (low, high) = (self.saturation.lowest_temperature(), self.critical_temperature);
            (0..48)
                .map(|i| {
                    let t = low + (0.9995 * high - low) * f64::from(i) / 47.0;
                    let density = self.saturation.densities(t).0;
                    let b = self.basic(density, t);
                    SaturatedGuess {
                        temperature: t,
                        enthalpy: b.h,
                        pressure: b.p,
                        density,
                        stiffness: b.p_rho,
                        enthalpy_by_pressure: b.h_rho / b.p_rho,
                    }
                })
                .collect()
        })
    }

    pub(super) fn liquid_guess(&self, p: f64, h: f64) -> (f64, f64) {
        let table = self.guesses();
        let mut target = h;
        let mut guess = (0.0, 0.0);
        for _ in 0..2 {
            let i = table.partition_point(|g| g.enthalpy <= target).clamp(1, table.len() - 1) - 1;
            let (a, b) = (table[i], table[i + 1]);
            let s = ((target - a.enthalpy) / (b.enthalpy - a.enthalpy)).clamp(-3.0, 1.0);
            let mix = |x: f64, y: f64| x + s * (y - x);
            let excess = p - mix(a.pressure, b.pressure);
            target = h - excess * mix(a.enthalpy_by_pressure, b.enthalpy_by_pressure).clamp(-2e-3, 2e-3);
            let density = mix(a.density, b.density);
            let shift = excess / mix(a.stiffness, b.stiffness);
            guess = (mix(a.temperature, b.temperature), density + shift.clamp(-0.1 * density, 0.2 * density));
        }
        guess
    }

    /// Two-variable Newton for (temperature, density) at pressure and enthalpy.
    pub fn refine(&self, p: f64, h: f64, guess: (f64, f64)) -> Result<(f64, f64), PropertyError> {
        let (mut t, mut rho) = guess;
        let mut size = f64::INFINITY;
        for _ in 0..40 {
            let b = self.basic(rho, t);
            let det = b.p_rho * b.h_t - b.p_t * b.h_rho;
            let (dp, dh) = (p - b.p, h - b.h);
            let mut d_rho = (dp * b.h_t - dh * b.p_t) / det;
            let mut d_t = (dh * b.p_rho - dp * b.h_rho) / det;
            let before = size;
            size = (d_t / t).abs().max((d_rho / rho).abs());
            if !size.is_finite() {
                break;
            }
            if size > 0.1 {
                d_rho *= 0.1 / size;
                d_t *= 0.1 / size;
            }
            t += d_t;
            rho += d_rho;
            if size < 1e-13 || (size < 1e-9 && size >= before) || size < 1e-8 && before < 1e-3 {
                return Ok((t, rho));
            }
        }
        Err(self.not_converged(("pressure", p), ("enthalpy", h), 40, size, t, rho))
    }

    /// Temperature and density of the liquid at pressure and enthalpy, stable or superheated.
    pub fn liquid(&self, p: f64, h: f64) -> Result<(f64, f64), PropertyError> {
        let found = self.refine(p, h, self.liquid_guess(p, h));
        if p >= self.critical_pressure {
            return match found {
                Ok((t, rho)) if rho > 0.0 && rho < self.densest() && self.pressure_with_stiffness(rho, t).1 > 0.0 => found,
                _ => self.by_temperature(p, h, self.coldest(), 1.5 * self.highest_temperature),
            };
        }
        let beyond = || PropertyError::BeyondLiquid {
            fluid: self.name.clone(),
            pressure_pa: p,
            enthalpy_j_per_kg: h,
            limit_temperature_k: self.superheat_limit(p),
        };
        match found {
            Ok((t, rho)) if self.is_liquid(p, t, rho) => Ok((t, rho)),
            _ => Err(beyond()),
        }
    }

    fn is_liquid(&self, p: f64, t: f64, rho: f64) -> bool {
        if rho < 0.98 * self.critical_density || t > self.critical_temperature {
            return false;
        }
        p >= self.saturation.pressure(t) || self.pressure_with_stiffness(rho, t).1 >= self.least_stiffness(t)
    }

    /// Temperature at which the superheated liquid ends, K, to about 0.01 K.
    pub fn superheat_limit(&self, p: f64) -> f64 {
        let (mut low, mut high) = (self.saturation.temperature(p.max(self.saturation.lowest_pressure())), self.critical_temperature);
        while high - low > 0.01 {
            let middle = 0.5 * (low + high);
            if self.liquid_density(p, middle).is_some() { low = middle } else { high = middle }
        }
        low
    }

    /// End of the vapour-liquid line, Pa: the critical pressure, or the last of the saturation curves.
    pub fn line_end(&self) -> f64 {
        self.critical_pressure.min(self.saturation.highest_pressure())
    }

    /// The prescribed pair itself instead of its last rounding.
    pub(super) fn with_exact(&self, p: f64, h: f64, state: FluidState) -> FluidState {
        FluidState { pressure_pa: p, enthalpy_j_per_kg: h, ..state }
    }

    /// Safeguarded search for the temperature at constant pressure, enthalpy rising with it.
    pub(super) fn by_temperature(&self, p: f64, h: f64, low: f64, high: f64) -> Result<(f64, f64), PropertyError> {
        let (mut low, mut high) = (low, high);
        let mut t = low + (high - low) * 0.1;
        let mut best = (t, 0.0);
        let mut residual = f64::INFINITY;
        for _ in 0..80 {
            let (rho, _) = self.density(p, t)?;
            let b = self.basic(rho, t);
            best = (t, rho);
            let before = residual;
            residual = b.h - h;
            if residual > 0.0 {
                high = t
            } else {
                low = t
            }
            let cp = b.h_t - b.h_rho * b.p_t / b.p_rho;
            let mut next = t - residual / cp;
            // across the steep middle of a near-critical isobar Newton steps alternate without gaining
            if !(next > low && next < high) || residual.abs() > 0.5 * before.abs() {
                next = 0.5 * (low + high);
            }
            if (next - t).abs() < 1e-6 * t {
                if let Ok(polished) = self.refine(p, h, (next, rho + (next - t) * -b.p_t / b.p_rho)) {
                    return Ok(polished);
                }
                if (next - t).abs() < 1e-13 * t {
                    return Ok((t, rho));
                }
            }
            t = next;
        }
        Err(self.not_converged(("pressure", p), ("enthalpy", h), 80, residual / h.abs().max(1e3), best.0, best.1))
    }

    // ------------------------------------------------------------ for the property surface

    /// The smooth quantities of the liquid at pressure and enthalpy.
    pub fn smooth(&self, p: f64, h: f64) -> Result<SmoothState, PropertyError> {
        let (t, rho) = self.liquid(p, h)?;
        Ok(self.smooth_at(rho, t))
    }

    /// The smooth quantities at density and temperature.
    pub fn smooth_at(&self, rho: f64, t: f64) -> SmoothState {
        let full = self.full(rho, t);
        SmoothState {
            temperature: t,
            density: rho,
            viscosity: full.viscosity.v,
            conductivity_background: full.background.v,
            susceptibility: full.dchi.v,
            heat_capacity_ratio: full.cp.v / full.cv.v,
            isobaric_heat_capacity: full.cp.v,
            basic: full.basic,
        }
    }

    /// Liquid, stable or superheated, straight from the equation.
    pub fn liquid_state(&self, p: f64, h: f64) -> Result<FluidState, PropertyError> {
        let (t, rho) = self.liquid(p, h)?;
        let phase = self.liquid_phase(p, t);
        Ok(self.with_exact(p, h, self.state(rho, t, phase)))
    }

    /// Phase of a state known to lie on the liquid's side.
    pub fn liquid_phase(&self, p: f64, t: f64) -> Phase {
        if t >= self.critical_temperature {
            Phase::Supercritical
        } else if t > self.saturation.lowest_temperature() && p < self.critical_pressure && p < self.saturation.pressure(t) {
            Phase::LiquidMetastable
        } else {
            Phase::Liquid
        }
    }

    pub(super) fn not_converged(
        &self,
        first: (&'static str, f64),
        second: (&'static str, f64),
        iterations: usize,
        residual: f64,
        t: f64,
        rho: f64,
    ) -> PropertyError {
        PropertyError::NotConverged {
            fluid: self.name.clone(),
            first_name: first.0,
            first: first.1,
            second_name: second.0,
            second: second.1,
            iterations,
            residual,
            best_temperature_k: t,
            best_density_kg_per_m3: rho,
        }
    }
}
