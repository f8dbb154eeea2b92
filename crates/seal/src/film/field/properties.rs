//! Properties of one phase over the pressures and temperatures of one film.
//!
//! Chebyshev interpolation in pressure and temperature from a few states of the property library, so that a film of thousands of cells asks
//! the library some tens of times. Temperature is cut into pieces at fixed places: what a table says of one temperature does not depend on
//! which others were met before, or a film would change a little whenever its table grows.

use std::sync::Arc;

use halfmicron_properties::{Fluid, FluidState, Phase, PropertyError, Saturation};

/// Nodes of the interpolation in pressure and, within a piece, in temperature.
const BY_PRESSURE: usize = 8;
const BY_TEMPERATURE: usize = 4;
/// Width of a piece, K.
const PIECE_K: f64 = 8.0;
/// Share of the saturation pressure up to which a gas is tabulated.
const BELOW_SATURATION: f64 = 0.999;
/// Where the library ends within a piece, it reaches so far beyond the temperatures met (K), and as a share beyond the pressures at the edges.
const SHORT_K: f64 = 1e-3;
const SHORT_SHARE: f64 = 1e-3;
/// Room that a table leaves around the pressures at the edges.
const PRESSURE_ROOM: [f64; 2] = [0.5, 1.8];

/// What a film needs of its fluid at a place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Properties {
    pub density: f64,
    pub viscosity: f64,
    pub viscosity_by_temperature: f64,
    pub conductivity: f64,
    pub enthalpy: f64,
    pub heat_capacity: f64,
}

/// Coefficients of one property by temperature and pressure.
type Coefficients = [[f64; BY_PRESSURE]; BY_TEMPERATURE];

/// A fluid in one phase over a range.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Table {
    pub is_gas: bool,
    /// Lower and higher pressure at the edges, Pa.
    edges: [f64; 2],
    /// Number of the first piece.
    first: i64,
    pieces: Vec<Arc<Piece>>,
}

/// A fluid over one piece of temperature.
#[derive(Debug, Clone, PartialEq)]
struct Piece {
    pressure: [f64; 2],
    temperature: [f64; 2],
    /// Density over pressure of a gas, density of a liquid.
    density: Coefficients,
    viscosity: Coefficients,
    conductivity: Coefficients,
    enthalpy: Coefficients,
}

impl Piece {
    /// The piece of a number; where the library does not reach all over it, what of it was met.
    fn new(fluid: &Fluid, is_gas: bool, edges: [f64; 2], number: i64, met: [f64; 2]) -> Result<Self, PropertyError> {
        let [low, high] = edges;
        let whole = [PIECE_K * number as f64, PIECE_K * (number + 1) as f64];
        Self::over(fluid, is_gas, [PRESSURE_ROOM[0] * low, PRESSURE_ROOM[1] * high], whole).or_else(|_| {
            let met = [whole[0].max(met[0] - SHORT_K), whole[1].min(met[1] + SHORT_K)];
            Self::over(fluid, is_gas, [low * (1.0 - SHORT_SHARE), high * (1.0 + SHORT_SHARE)], met)
        })
    }

    fn over(fluid: &Fluid, is_gas: bool, mut pressure: [f64; 2], temperature: [f64; 2]) -> Result<Self, PropertyError> {
        if is_gas && let Saturation::At(saturation) = fluid.saturation_pressure(temperature[0]) {
            pressure[1] = pressure[1].min(BELOW_SATURATION * saturation).max(1.05 * pressure[0]);
        }
        let none = [[0.0; BY_PRESSURE]; BY_TEMPERATURE];
        let mut piece = Self { pressure, temperature, density: none, viscosity: none, conductivity: none, enthalpy: none };
        for a in 0..BY_TEMPERATURE {
            for b in 0..BY_PRESSURE {
                let (t, p) = (spread(temperature, a, BY_TEMPERATURE), spread(pressure, b, BY_PRESSURE));
                let state = state(fluid, is_gas, p, t)?;
                piece.density[a][b] = if is_gas { state.density_kg_per_m3 / p } else { state.density_kg_per_m3 };
                piece.viscosity[a][b] = state.viscosity_pa_s;
                piece.conductivity[a][b] = state.conductivity_w_per_m_k;
                piece.enthalpy[a][b] = state.enthalpy_j_per_kg;
            }
        }
        for values in [&mut piece.density, &mut piece.viscosity, &mut piece.conductivity, &mut piece.enthalpy] {
            transform(values);
        }
        Ok(piece)
    }

    fn covers(&self, number: i64, met: [f64; 2]) -> bool {
        let asked = [met[0].max(PIECE_K * number as f64), met[1].min(PIECE_K * (number + 1) as f64)];
        self.temperature[0] <= asked[0] && asked[1] <= self.temperature[1]
    }

    fn places(&self, pressure: f64, temperature: f64) -> (f64, f64) {
        (unit(self.pressure, pressure).clamp(-1.0, 1.0), unit(self.temperature, temperature))
    }

    fn per_kelvin(&self) -> f64 {
        2.0 / (self.temperature[1] - self.temperature[0])
    }
}

fn number_of(temperature: f64) -> i64 {
    (temperature / PIECE_K).floor() as i64
}

impl Table {
    /// Over a range of temperatures, between the pressures at the edges of a film and around them.
    ///
    /// # Errors
    /// [`PropertyError`] of the library.
    pub fn new(fluid: &Fluid, is_gas: bool, edges: [f64; 2], met: [f64; 2]) -> Result<Self, PropertyError> {
        let empty = Self { is_gas, edges, first: number_of(met[0]), pieces: Vec::new() };
        empty.extended(fluid, met)
    }

    /// Over more temperatures, those of before included.
    ///
    /// # Errors
    /// [`PropertyError`] of the library.
    pub fn extended(&self, fluid: &Fluid, met: [f64; 2]) -> Result<Self, PropertyError> {
        let end = self.first + self.pieces.len() as i64;
        let first = self.first.min(number_of(met[0]));
        let last = (end - 1).max(number_of(met[1]));
        let mut pieces = Vec::with_capacity((last - first + 1) as usize);
        for number in first..=last {
            let known = if number >= self.first && number < end { self.pieces.get((number - self.first) as usize) } else { None };
            pieces.push(match known.filter(|piece| piece.covers(number, met)) {
                Some(piece) => piece.clone(),
                None => {
                    let before = known.map_or(met, |piece| [piece.temperature[0].min(met[0]), piece.temperature[1].max(met[1])]);
                    Arc::new(Piece::new(fluid, self.is_gas, self.edges, number, before)?)
                }
            });
        }
        Ok(Self { is_gas: self.is_gas, edges: self.edges, first, pieces })
    }

    /// Whether it is of the same phase and edges and covers some temperatures.
    pub fn covers(&self, is_gas: bool, edges: [f64; 2], met: [f64; 2]) -> bool {
        self.serves(is_gas, edges)
            && (number_of(met[0])..=number_of(met[1])).all(|number| {
                number >= self.first && self.pieces.get((number - self.first) as usize).is_some_and(|p| p.covers(number, met))
            })
    }

    /// Whether it is of the same phase and edges.
    pub fn serves(&self, is_gas: bool, edges: [f64; 2]) -> bool {
        self.is_gas == is_gas && self.edges == edges
    }

    fn piece(&self, temperature: f64) -> &Piece {
        let index = (number_of(temperature) - self.first).clamp(0, self.pieces.len() as i64 - 1);
        &self.pieces[index as usize]
    }

    /// At a pressure and temperature; beyond the pressures of the table as at their end.
    pub fn at(&self, pressure: f64, temperature: f64) -> Properties {
        let piece = self.piece(temperature);
        let (y, x) = piece.places(pressure, temperature);
        let of = |values: &Coefficients| sum(&collapsed_by_pressure(values, y), x);
        let (density, _) = of(&piece.density);
        let (viscosity, by_x) = of(&piece.viscosity);
        let (enthalpy, heat) = of(&piece.enthalpy);
        Properties {
            density: if self.is_gas { density * pressure } else { density },
            viscosity,
            viscosity_by_temperature: by_x * piece.per_kelvin(),
            conductivity: of(&piece.conductivity).0,
            enthalpy,
            heat_capacity: heat * piece.per_kelvin(),
        }
    }

    /// Enthalpy and its slope by temperature.
    pub fn enthalpy(&self, pressure: f64, temperature: f64) -> (f64, f64) {
        let piece = self.piece(temperature);
        let (y, x) = piece.places(pressure, temperature);
        let (enthalpy, by_x) = sum(&collapsed_by_pressure(&piece.enthalpy, y), x);
        (enthalpy, by_x * piece.per_kelvin())
    }

    /// Density over pressure at one temperature.
    pub fn isotherm(&self, temperature: f64) -> Isotherm {
        let piece = self.piece(temperature);
        let x = unit(piece.temperature, temperature);
        let mut column = [0.0; BY_PRESSURE];
        for (b, entry) in column.iter_mut().enumerate() {
            let by_temperature: [f64; BY_TEMPERATURE] = std::array::from_fn(|a| piece.density[a][b]);
            *entry = sum(&by_temperature, x).0;
        }
        Isotherm::of_series(piece.pressure, &column)
    }
}

/// Density of a gas at one temperature: density over pressure as a polynomial of the place in the table's range of pressures.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Isotherm {
    pressure: [f64; 2],
    ratio: [f64; BY_PRESSURE],
    /// Of its derivative by the place.
    slope: [f64; BY_PRESSURE],
}

impl Isotherm {
    fn of_series(pressure: [f64; 2], series: &[f64; BY_PRESSURE]) -> Self {
        let ratio = powers(series);
        let slope = std::array::from_fn(|k| ratio.get(k + 1).map_or(0.0, |c| (k + 1) as f64 * c));
        Self { pressure, ratio, slope }
    }

    /// Density and its slope by pressure; beyond the table the gas is an ideal one with the compressibility of its end.
    pub fn density(&self, pressure: f64) -> (f64, f64) {
        let y = unit(self.pressure, pressure);
        let inside = y.clamp(-1.0, 1.0);
        let ratio = polynomial(&self.ratio, inside);
        let slope = if y == inside { polynomial(&self.slope, y) * 2.0 / (self.pressure[1] - self.pressure[0]) } else { 0.0 };
        (ratio * pressure, ratio + slope * pressure)
    }
}

/// Coefficients by powers of a Chebyshev series.
fn powers(series: &[f64; BY_PRESSURE]) -> [f64; BY_PRESSURE] {
    let mut out = [0.0; BY_PRESSURE];
    let (mut before, mut now) = ([0.0; BY_PRESSURE], [0.0; BY_PRESSURE]);
    (before[0], now[1]) = (1.0, 1.0);
    out[0] = series[0];
    for &coefficient in &series[1..] {
        for k in 0..BY_PRESSURE {
            out[k] += coefficient * now[k];
        }
        let next = std::array::from_fn(|k| if k > 0 { 2.0 * now[k - 1] - before[k] } else { -before[k] });
        (before, now) = (now, next);
    }
    out
}

/// A polynomial, its terms taken in pairs: one after the other each would wait for the one before.
fn polynomial(c: &[f64; BY_PRESSURE], y: f64) -> f64 {
    let (square, fourth) = (y * y, y * y * y * y);
    let low = (c[0] + c[1] * y) + (c[2] + c[3] * y) * square;
    let high = (c[4] + c[5] * y) + (c[6] + c[7] * y) * square;
    low + high * fourth
}

/// State in the phase of the film.
pub(super) fn state(fluid: &Fluid, is_gas: bool, pressure: f64, temperature: f64) -> Result<FluidState, PropertyError> {
    if is_gas { fluid.at_pressure_temperature(pressure, temperature) } else { fluid.liquid_at_pressure_temperature(pressure, temperature) }
}

/// Whether what enters flows through the film as a gas.
pub(super) fn enters_as_gas(fluid: &Fluid, entry: &FluidState) -> bool {
    match entry.phase {
        Phase::Vapour => true,
        Phase::Supercritical => fluid.critical_density().is_none_or(|critical| entry.density_kg_per_m3 < critical),
        _ => false,
    }
}

/// Place of a value in a range, from -1 to 1.
fn unit([low, high]: [f64; 2], value: f64) -> f64 {
    (2.0 * value - low - high) / (high - low)
}

/// Chebyshev node of a range.
fn spread([low, high]: [f64; 2], k: usize, count: usize) -> f64 {
    let x = (std::f64::consts::PI * (k as f64 + 0.5) / count as f64).cos();
    0.5 * (low + high) + 0.5 * (high - low) * x
}

/// Values at the nodes to coefficients, in both directions.
fn transform(values: &mut Coefficients) {
    for row in values.iter_mut() {
        *row = coefficients(row);
    }
    for b in 0..BY_PRESSURE {
        let column: [f64; BY_TEMPERATURE] = std::array::from_fn(|a| values[a][b]);
        for (row, value) in values.iter_mut().zip(coefficients(&column)) {
            row[b] = value;
        }
    }
}

fn coefficients<const N: usize>(values: &[f64; N]) -> [f64; N] {
    std::array::from_fn(|m| {
        let sum: f64 = (0..N).map(|k| values[k] * (std::f64::consts::PI * m as f64 * (k as f64 + 0.5) / N as f64).cos()).sum();
        sum * if m == 0 { 1.0 } else { 2.0 } / N as f64
    })
}

fn collapsed_by_pressure(values: &Coefficients, y: f64) -> [f64; BY_TEMPERATURE] {
    std::array::from_fn(|a| sum(&values[a], y).0)
}

/// Sum of a Chebyshev series and its derivative.
fn sum<const N: usize>(coefficients: &[f64; N], x: f64) -> (f64, f64) {
    let (mut b1, mut b2, mut d1, mut d2) = (0.0, 0.0, 0.0, 0.0);
    for &c in coefficients.iter().skip(1).rev() {
        let d = 2.0 * b1 + 2.0 * x * d1 - d2;
        (d2, d1) = (d1, d);
        let b = c + 2.0 * x * b1 - b2;
        (b2, b1) = (b1, b);
    }
    (coefficients[0] + x * b1 - b2, b1 + x * d1 - d2)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_table_agrees_with_the_library() {
        for (name, is_gas, pressure, temperature) in [
            ("ammonia", true, [0.8e5, 25e5], [350.0, 390.0]),
            ("nitrogen", true, [1e5, 20e5], [280.0, 330.0]),
            ("water", false, [0.5e5, 30e5], [300.0, 340.0]),
        ] {
            let fluid = Fluid::named(name).unwrap();
            let table = Table::new(&fluid, is_gas, [2.0 * pressure[0], pressure[1] / 1.8], temperature).unwrap();
            for (a, b) in [(0.0, 0.0), (0.3, 0.7), (1.0, 1.0), (0.5, 0.1)] {
                let p = pressure[0] + a * (pressure[1] - pressure[0]);
                let t = temperature[0] + b * (temperature[1] - temperature[0]);
                let (found, exact) = (table.at(p, t), state(&fluid, is_gas, p, t).unwrap());
                assert!(
                    (found.density / exact.density_kg_per_m3 - 1.0).abs() < 1e-5,
                    "{name} {p} {t}: {}",
                    found.density / exact.density_kg_per_m3 - 1.0
                );
                assert!(
                    (found.viscosity / exact.viscosity_pa_s - 1.0).abs() < 2e-4,
                    "{name} {p} {t}: {}",
                    found.viscosity / exact.viscosity_pa_s - 1.0
                );
                assert!((found.conductivity / exact.conductivity_w_per_m_k - 1.0).abs() < 1e-4, "{name} {p} {t}");
                assert!((found.heat_capacity / exact.isobaric_heat_capacity_j_per_kg_k - 1.0).abs() < 1e-3, "{name} {p} {t}");
                if is_gas {
                    let (density, slope) = table.isotherm(t).density(p);
                    assert!((density / found.density - 1.0).abs() < 1e-12);
                    let step = 1e-4 * (pressure[1] - pressure[0]);
                    let inside = p.clamp(pressure[0] + step, pressure[1] - step);
                    let slope = if inside == p { slope } else { table.isotherm(t).density(inside).1 };
                    assert_eq!(table.enthalpy(p, t), (found.enthalpy, found.heat_capacity));
                    let quotient = (table.at(inside + step, t).density - table.at(inside - step, t).density) / (2.0 * step);
                    assert!((slope / quotient - 1.0).abs() < 1e-6, "{name} {p} {t}: {slope} {quotient}");
                }
            }
        }
    }

    #[test]
    fn a_table_says_the_same_whatever_was_met_before() {
        let fluid = Fluid::named("ammonia").unwrap();
        let edges = [1.1e5, 16e5];
        let narrow = Table::new(&fluid, true, edges, [371.0, 373.0]).unwrap();
        let grown = Table::new(&fluid, true, edges, [350.0, 352.0]).unwrap().extended(&fluid, [340.0, 430.0]).unwrap();
        assert!(!narrow.covers(true, edges, [371.0, 430.0]) && grown.covers(true, edges, [340.0, 430.0]));
        assert_eq!(narrow.at(9e5, 372.0), grown.at(9e5, 372.0));
        // Pieces meet.
        for joint in [352.0, 376.0, 400.0] {
            let [a, b] = [-1e-9, 1e-9].map(|d| grown.at(9e5, joint + d));
            assert!((a.viscosity / b.viscosity - 1.0).abs() < 1e-7 && (a.density / b.density - 1.0).abs() < 1e-7, "{joint}: {a:?} {b:?}");
        }
    }
}
