//! One station of a march: Newton on the three equations of a step, with the trials kept in their phase.

use halfmicron_numerics::jet::Jet;
use halfmicron_properties::{FluidState, Phase};

use super::march::{Closure, ENTHALPY_SCALE, Failure, Found, LOCAL_ITERATIONS, LOCAL_TOLERANCE, Marcher, Region};
use super::step::{Causes, Lifted, Local, Weighing};

/// Share of the exit pressure below which no trial of a gas is followed.
const ASTRAY: f64 = 0.1;
/// Greatest rise of the pressure in one correction, over the pressure at the entry.
const MOST_RISE: f64 = 2.0;
/// Share of the tolerance below which the estimated error of a step must lie.
const LEFT: f64 = 1e-3;
/// Times that a trial may be held at the phase line before the phase is taken to end before the end of the step.
const MOST_HOLDS: usize = 4;
/// Iterations to a level of the volume, and to a place within the mixture, fewer than usual: of what is found there next to nothing takes more.
const TO_A_LEVEL: usize = 18;
const WITHIN_MIXTURE: usize = 15;

impl Marcher<'_> {
    /// Newton for the next station; directions 0 to 2 are pressure, enthalpy and share of that station, 3 the flow.
    pub(super) fn solve(
        &self,
        interval: usize,
        here: &Found,
        closure: Closure,
        region: Region,
        flow: f64,
        guess: Found,
    ) -> Result<Found, Failure> {
        let causes = self.band.causes(interval, Jet::variable(flow, 3));
        let up = self.upstream(interval, here, &causes);
        let weighing = weighing(region, closure);
        let (mut state, mut share) = (guess.state, guess.share);
        if let Closure::Share(at) = closure {
            share = at;
        }
        let mut slow = 0;
        let mut holds = 0;
        let mut before = f64::INFINITY;
        let mut whole = false;
        for _ in 0..most_iterations(closure, region) {
            self.spend()?;
            if holds > MOST_HOLDS {
                return Err(Failure::NoRoot);
            }
            let rows = self.rows(interval, &up, &state, share, closure, weighing, &causes)?;
            let system = Rows::new(&rows, self.entry.pressure_pa);
            let [dp, dh, ds] = system.solve(rows.map(|r| -r.value)).ok_or(Failure::NoRoot)?;
            let size = (dp / self.entry.pressure_pa).abs().max((dh / ENTHALPY_SCALE).abs() * 1e-2).max(ds.abs());
            if !size.is_finite() {
                return Err(Failure::NoRoot);
            }
            // After whole steps what is left shrinks faster than in proportion: then the error left by this step is known without another.
            // A first step as small as this, in one phase, leaves no more than its square.
            let left = match (whole, before.is_infinite() && region != Region::Mixture) {
                (true, _) => size * size / before,
                (false, true) => size * size,
                (false, false) => size,
            };
            if size < LOCAL_TOLERANCE || left < LEFT * LOCAL_TOLERANCE {
                let by_flow = system.solve(rows.map(|r| -r.slopes[3])).ok_or(Failure::NoRoot)?;
                let (kept, held) = self.kept(state.pressure_pa + dp, state.enthalpy_j_per_kg + dh, closure, region)?;
                // What is held at the phase line has not made the whole of the step.
                if !held || size < LOCAL_TOLERANCE {
                    return Ok(Found { state: kept, share: share + ds, by_flow });
                }
            }
            let kelvin = (dp * state.derivatives.temperature_by_pressure + dh * state.derivatives.temperature_by_enthalpy).abs();
            let pressure_part =
                if dp < 0.0 { 0.6 * state.pressure_pa / -dp } else { MOST_RISE * self.entry.pressure_pa.max(state.pressure_pa) / dp };
            let mut part = pressure_part.min(60.0 / kelvin.max(60.0)).min(0.7 / ds.abs().max(0.7)).min(1.0);
            // Held steps are long ways, not poor convergence.
            slow = if size > 0.5 * before && part == 1.0 { slow + 1 } else { 0 };
            if slow > 8 {
                return Err(Failure::NoRoot);
            }
            before = size;
            whole = part == 1.0;
            let mut moved = None;
            for _ in 0..6 {
                match self.kept(state.pressure_pa + part * dp, state.enthalpy_j_per_kg + part * dh, closure, region) {
                    Ok((found, held)) => {
                        holds += usize::from(held);
                        whole &= !held;
                        moved = Some(Ok(found));
                        break;
                    }
                    Err(error) => moved = Some(Err(error)),
                }
                part *= 0.4;
                whole = false;
            }
            state = moved.unwrap_or(Err(Failure::NoRoot))?;
            share += part * ds;
        }
        Err(Failure::NoRoot)
    }

    /// The state of a trial; in one phase held at the phase line, beyond which lies another region with answers of its own. Tells whether it
    /// was held.
    pub(super) fn kept(&self, pressure: f64, enthalpy: f64, closure: Closure, region: Region) -> Result<(FluidState, bool), Failure> {
        // Far below the exit a gas has no business, and may have no states either.
        if region == Region::Light && pressure < ASTRAY * self.exit_pressure {
            return Err(Failure::NoRoot);
        }
        match (region, closure) {
            // Levels lie in the mixture: outside it the volume would not tell them.
            (Region::Mixture, Closure::Level(_) | Closure::Away(_) | Closure::Hold) => {
                return Ok((self.inside(pressure, enthalpy)?, false));
            }
            (Region::Mixture, _) | (_, Closure::Boil | Closure::Dew) => return Ok((self.closed(pressure, enthalpy, closure)?, false)),
            _ => {}
        }
        // What is in the phase needs no look at the line.
        let meant = if region == Region::Dense { Phase::Liquid } else { Phase::Vapour };
        let found = self.state(pressure, enthalpy);
        if let Ok(state) = &found
            && state.phase == meant
        {
            return Ok((*state, false));
        }
        let Some([liquid, vapour]) = self.line_enthalpies(pressure) else { return Ok((found?, false)) };
        let held = match region {
            Region::Dense => enthalpy.min(liquid),
            _ => enthalpy.max(vapour),
        };
        if held == enthalpy {
            return Ok((found?, false));
        }
        let edge = 1e-9 * (vapour - liquid);
        Ok((self.state(pressure, if region == Region::Dense { held - edge } else { held + edge })?, true))
    }

    pub(super) fn closed(&self, pressure: f64, enthalpy: f64, closure: Closure) -> Result<FluidState, Failure> {
        match closure {
            Closure::Boil | Closure::Dew => Ok(self.saturated(pressure, closure)?.0),
            _ => Ok(self.state(pressure, enthalpy)?),
        }
    }

    pub(super) fn upstream(&self, interval: usize, here: &Found, causes: &Causes<4>) -> Local<4> {
        let [by_p, by_h, by_share] = here.by_flow;
        let along = |value: f64, slope: f64| Jet { value, slopes: [0.0, 0.0, 0.0, slope] };
        let at = Lifted::new(
            &here.state,
            along(here.state.pressure_pa, by_p),
            along(here.state.enthalpy_j_per_kg, by_h),
            along(here.share, by_share),
        );
        self.band.local(interval, at, causes)
    }

    #[allow(clippy::too_many_arguments, reason = "one station, how it ends, and where it comes from")]
    pub(super) fn rows(
        &self,
        interval: usize,
        up: &Local<4>,
        state: &FluidState,
        share: f64,
        closure: Closure,
        weighing: Weighing,
        causes: &Causes<4>,
    ) -> Result<[Jet<4>; 3], Failure> {
        let at =
            Lifted::new(state, Jet::variable(state.pressure_pa, 0), Jet::variable(state.enthalpy_j_per_kg, 1), Jet::variable(share, 2));
        // At a node the place is no unknown.
        let at_node = share == 1.0 && matches!(closure, Closure::Node | Closure::Hold | Closure::AwayNode | Closure::Exit | Closure::Short);
        let down = self.band.local(interval, if at_node { Lifted { share: Jet::constant(1.0), ..at } } else { at }, causes);
        let balance = self.band.balance(interval, up, &down, causes, weighing);
        Ok([balance.momentum, balance.energy, self.closing(closure, &at)?])
    }

    /// Residual of the condition that ends a step.
    pub(super) fn closing<const N: usize>(&self, closure: Closure, at: &Lifted<N>) -> Result<Jet<N>, Failure> {
        Ok(match closure {
            Closure::Node | Closure::Hold | Closure::AwayNode | Closure::Exit | Closure::Short => at.share - 1.0,
            // The caller sets it between two nodes.
            Closure::Along => Jet::constant(0.0),
            Closure::Share(share) => at.share - share,
            Closure::Level(level) | Closure::Away(level) => -at.density.ln() - level,
            Closure::Boil | Closure::Dew | Closure::Flash => {
                let [liquid, vapour] = self.line_enthalpies_with_slopes(at.pressure.value).ok_or(Failure::NoRoot)?;
                let [enthalpy, slope] = if closure == Closure::Boil { liquid } else { vapour };
                at.enthalpy - at.pressure.chain(enthalpy, slope)
            }
        })
    }
}

/// Iterations after which a step has no answer.
fn most_iterations(closure: Closure, region: Region) -> usize {
    match (closure, region) {
        (Closure::Node | Closure::Share(_), Region::Mixture) => WITHIN_MIXTURE,
        (Closure::Level(_), _) => TO_A_LEVEL,
        _ => LOCAL_ITERATIONS,
    }
}

/// How a step in a region is weighed that ends so.
pub(super) fn weighing(region: Region, closure: Closure) -> Weighing {
    match (region, closure) {
        (Region::Mixture, Closure::Hold) => Weighing::Held,
        (Region::Mixture, Closure::Away(_) | Closure::AwayNode) => Weighing::Leaving,
        (Region::Mixture, _) => Weighing::Mixed,
        _ => Weighing::Single,
    }
}

/// A 3 x 3 system of scaled rows.
pub(super) struct Rows {
    matrix: [[f64; 3]; 3],
    row_scale: [f64; 3],
    column_scale: [f64; 3],
}

impl Rows {
    pub fn new<const N: usize>(rows: &[Jet<N>; 3], pressure_scale: f64) -> Self {
        let column_scale = [pressure_scale, ENTHALPY_SCALE, 1.0];
        let mut matrix = [[0.0; 3]; 3];
        let mut row_scale = [1.0; 3];
        for (i, row) in rows.iter().enumerate() {
            for j in 0..3 {
                matrix[i][j] = row.slopes[j] * column_scale[j];
            }
            let largest = matrix[i].iter().fold(0.0, |m: f64, x| m.max(x.abs()));
            row_scale[i] = if largest > 0.0 { 1.0 / largest } else { 1.0 };
            matrix[i].iter_mut().for_each(|x| *x *= row_scale[i]);
        }
        Self { matrix, row_scale, column_scale }
    }

    /// Solution for a right-hand side, if there is one.
    pub fn solve(&self, right: [f64; 3]) -> Option<[f64; 3]> {
        let mut m = self.matrix;
        let mut f = [right[0] * self.row_scale[0], right[1] * self.row_scale[1], right[2] * self.row_scale[2]];
        if m[2][0] == 0.0 && m[2][1] == 0.0 && m[0][2] == 0.0 && m[1][2] == 0.0 {
            // The place stands for itself.
            let determinant = m[0][0] * m[1][1] - m[0][1] * m[1][0];
            let x = [(f[0] * m[1][1] - f[1] * m[0][1]) / determinant, (f[1] * m[0][0] - f[0] * m[1][0]) / determinant, f[2] / m[2][2]];
            return self.unscaled(x);
        }
        for column in 0..3 {
            let pivot = (column..3).max_by(|&a, &b| m[a][column].abs().total_cmp(&m[b][column].abs()))?;
            m.swap(column, pivot);
            f.swap(column, pivot);
            if m[column][column].abs() < 1e-300 || !m[column][column].is_finite() {
                return None;
            }
            for row in column + 1..3 {
                let factor = m[row][column] / m[column][column];
                for k in column..3 {
                    m[row][k] -= factor * m[column][k];
                }
                f[row] -= factor * f[column];
            }
        }
        let mut x = [0.0; 3];
        for row in (0..3).rev() {
            let known: f64 = (row + 1..3).map(|k| m[row][k] * x[k]).sum();
            x[row] = (f[row] - known) / m[row][row];
        }
        self.unscaled(x)
    }

    fn unscaled(&self, x: [f64; 3]) -> Option<[f64; 3]> {
        x.iter().all(|v| v.is_finite()).then(|| [x[0] * self.column_scale[0], x[1] * self.column_scale[1], x[2] * self.column_scale[2]])
    }
}
