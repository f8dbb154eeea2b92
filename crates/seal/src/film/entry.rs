//! The first station of a march: the fluid behind the sharp lip at which it enters.
//!
//! **What.** Pressure lost at the lip, and the heat that the fluid takes there where a thin film has the temperature of its faces long before the
//! first node.
//! **Equation.** `p = p0 - (1 + zeta) rho u^2/2`; `H + u^2/2 - H0 = r (H_f + u^2/2 - H0)`, `H_f` the enthalpy at which shear heat and the heat
//! given to the faces agree, `r = R/(1 + (C/N)^4)`, `N` the transfer units between film and faces over the first interval. No farther than nearly
//! to the phase line. Between two stations properties are taken as straight: without this the cold viscosity of an oil that is warm after a
//! nanometre would count for half of the first interval. Where the way to the faces' temperature is long, `r` vanishes faster than any error
//! of the steps.
//! **Valid when.** As [`super::step`].
//! **Source.** Derived here; the loss at a sharp lip: Zuk, Ludwig and Johnson, NASA TN D-6668 (1972).
//! **Checked by.** K3, K4.

use halfmicron_numerics::jet::Jet;
use halfmicron_properties::FluidState;

use super::march::{Closure, ENTHALPY_SCALE, Failure, Found, LOCAL_ITERATIONS, LOCAL_TOLERANCE, Marcher, Region};
use super::step::{Lifted, Local};

/// Share of the way to the phase line that is made at the lip at most: what boils at such faces still has a step to its boiling point.
const MOST_TO_THE_LINE: f64 = 0.9;
/// Least slope of the balance of heat by the enthalpy that is believed; without heat at the lip it is one.
const LEAST_SLOPE: f64 = 0.1;
/// Greatest change of temperature in one correction, K.
const MOST_HEATING_K: f64 = 60.0;

/// What decides the first station, with directions 0 pressure and 1 enthalpy.
pub(super) struct Entry<const N: usize> {
    /// Residual of the pressure, Pa.
    pub pressure: Jet<N>,
    /// Residual of the enthalpy, J/kg; or of the temperature, K, where heat is off.
    pub energy: Jet<N>,
    /// Heat taken from the faces at the lip, J/kg.
    pub heat: Jet<N>,
}

impl Marcher<'_> {
    /// Pressure and enthalpy behind the lip.
    pub(super) fn entry_station(&self, flow: f64) -> Result<Found, Failure> {
        let entry = self.entry;
        let mut state = self.state(entry.pressure_pa, entry.enthalpy_j_per_kg)?;
        let (gap, face) = (Jet::constant(self.band.gap[0]), Jet::constant(self.band.face[0]));
        for _ in 0..LOCAL_ITERATIONS {
            let Entry { pressure, energy, .. } = self.entry_rows::<3>(&state, Jet::variable(flow, 2), gap, face)?;
            let ([a, b, m], [c, slope, n]) = (pressure.slopes, energy.slopes);
            // Far from the answer the slope may lead astray: the fluid is then warmed by what is missing. At the answer it must hold.
            let d = if slope > LEAST_SLOPE || !self.band.heat() { slope } else { 1.0 };
            let determinant = a * d - b * c;
            if !(determinant.is_finite() && determinant > 0.0) {
                return Err(Failure::NoRoot);
            }
            let solve = |x: f64, y: f64| [(d * x - b * y) / determinant, (a * y - c * x) / determinant];
            let [dp, dh] = solve(-pressure.value, -energy.value);
            let kelvin = (dh * state.derivatives.temperature_by_enthalpy).abs();
            let share = (0.5 * state.pressure_pa / dp.abs()).min(MOST_HEATING_K / kelvin.max(MOST_HEATING_K)).min(1.0);
            let (p, h) = (state.pressure_pa + share * dp, state.enthalpy_j_per_kg + share * dh);
            let settled = dp.abs() < LOCAL_TOLERANCE * entry.pressure_pa && dh.abs() < LOCAL_TOLERANCE * ENTHALPY_SCALE;
            state = self.state(p, h)?;
            if settled {
                if d != slope {
                    return Err(Failure::NoRoot);
                }
                let [by_p, by_h] = solve(-m, -n);
                return Ok(Found { state, share: 0.0, by_flow: [by_p, by_h, 0.0] });
            }
        }
        Err(Failure::NoRoot)
    }

    /// Residuals of the first station; gap and face temperature of the first place may carry directions of their own.
    pub(super) fn entry_rows<const N: usize>(
        &self,
        state: &FluidState,
        flow: Jet<N>,
        gap: Jet<N>,
        face: Jet<N>,
    ) -> Result<Entry<N>, Failure> {
        let switches = self.band.input.switches;
        let (pressure, enthalpy) = (Jet::variable(state.pressure_pa, 0), Jet::variable(state.enthalpy_j_per_kg, 1));
        let at = Lifted::new(state, pressure, enthalpy, Jet::constant(0.0));
        let mut causes = self.band.causes(0, flow);
        (causes.gap[0], causes.face[0]) = (gap, face);
        let local = self.band.local(0, at, &causes);
        let kinetic = if switches.convective_inertia { local.mass_flux.squared() / at.density.squared() * 0.5 } else { Jet::constant(0.0) };
        let lost = kinetic * at.density * (1.0 + switches.entry_loss);
        let heat = enthalpy - self.entry.enthalpy_j_per_kg + kinetic;
        let energy =
            if self.band.heat() { heat - self.made_at_the_lip(&local, heat, pressure)? } else { at.temperature - self.entry.temperature_k };
        Ok(Entry { pressure: pressure - self.entry.pressure_pa + lost, energy, heat })
    }

    /// Heat that the fluid should take at the lip, J/kg, where it has taken `heat`.
    fn made_at_the_lip<const N: usize>(&self, local: &Local<N>, heat: Jet<N>, pressure: Jet<N>) -> Result<Jet<N>, Failure> {
        // A mixture keeps its temperature.
        let side = match self.region(&self.entry) {
            Region::Dense => Closure::Boil,
            Region::Light => Closure::Dew,
            Region::Mixture => return Ok(Jet::constant(0.0)),
        };
        let (share, left) = self.band.made_up_at_the_lip(local);
        let whole = heat + left;
        Ok(share
            * match self.line_at(pressure, side)? {
                Some(line) => short_of(whole, line - local.at.enthalpy + heat),
                None => whole,
            })
    }

    /// Enthalpy of one side of the phase line, if there is one at this pressure.
    fn line_at<const N: usize>(&self, pressure: Jet<N>, side: Closure) -> Result<Option<Jet<N>>, Failure> {
        if self.line_enthalpies(pressure.value).is_none() {
            return Ok(None);
        }
        let (state, slope) = self.saturated(pressure.value, side)?;
        Ok(Some(pressure.chain(state.enthalpy_j_per_kg, slope)))
    }
}

/// A way that leads to a line ahead or beyond it, cut short before: smoothly, so that the film does not jump where its faces pass the boiling point.
fn short_of<const N: usize>(way: Jet<N>, line: Jet<N>) -> Jet<N> {
    if way.value * line.value <= 0.0 {
        return way;
    }
    let over = way / (line * MOST_TO_THE_LINE);
    way / (over.squared().squared() + 1.0).sqrt().sqrt()
}
