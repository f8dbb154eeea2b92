//! Both rings together as the film sees them: face temperatures and gap from what acts on the faces.

use std::borrow::Cow;
use std::sync::OnceLock;

use faer::Mat;
use faer::linalg::solvers::Solve;

use crate::ring::{BandNodes, RingResponse};

/// Linear response of the pair at the surroundings of one duty. Index 0 is the rotating ring, 1 the stationary one.
#[derive(Debug, Clone)]
pub struct Pair {
    /// Nodes of the band.
    pub nodes: BandNodes,
    /// Response of each ring.
    pub rings: [RingResponse; 2],
    /// Lapped form as a gap at each node, relative to the inner edge, m.
    pub lapped_m: Vec<f64>,
    /// Gap without face loads, relative to the inner edge, m: lapped, elastic and thermal.
    gap_m: Vec<f64>,
    /// Gap by face pressure, relative to the inner edge, m/Pa.
    gap_per_pressure: Mat<f64>,
    /// Travel of the inner edge into both bodies, from where they are held, by face pressure, m/Pa.
    edge_per_pressure: Vec<f64>,
    /// Gap by flux into each ring, relative to the inner edge, m/(W/m2).
    gap_per_flux: [Mat<f64>; 2],
    /// Sum of both temperature matrices, K/(W/m2).
    temperature_sum: Mat<f64>,
    /// Rise of the mean face temperature at each node with the total flux all over the band, K/(W/m2).
    mean_resistance: Vec<f64>,
    /// How temperatures and gap follow the total flux while the film is thin.
    thin_film: OnceLock<FluxSlopes>,
}

/// Thermal resistance of a thin film taken for the Newton matrix alone, m2 K/W: half a micrometre of water, a hundredth of the rings'.
const THIN_FILM_RESISTANCE: f64 = 1e-6;
/// Resistance up to which that one value serves the Newton matrix.
const THIN_FILM_LIMIT: f64 = 5e-6;

/// Whether heat and distortion act.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Following {
    /// Rings take heat.
    pub heat: bool,
    /// Rings deform under pressure and heat.
    pub distortion: bool,
}

/// Temperatures of both faces for a total flux.
#[derive(Debug, Clone)]
pub struct Faces {
    /// Face temperatures of both rings, K.
    pub temperature_k: [Vec<f64>; 2],
    /// Mean of both, K.
    pub mean_k: Vec<f64>,
    /// Flux into each ring, W/m2.
    pub flux_w_per_m2: [Vec<f64>; 2],
}

/// How temperatures and gap follow the total flux and what lies between the faces, for the Newton matrix.
#[derive(Debug, Clone)]
pub struct FluxSlopes {
    /// Mean face temperature by total flux, K/(W/m2).
    pub mean_temperature: Mat<f64>,
    /// Gap by total flux, m/(W/m2).
    pub gap: Mat<f64>,
    /// Mean face temperature by a rise of the temperature difference over the film at each node, K/K.
    pub mean_temperature_by_difference: Mat<f64>,
    /// Gap by the same, m/K.
    pub gap_by_difference: Mat<f64>,
}

impl Pair {
    /// Join two responses. `lapped_m` is the lapped form of both as a gap.
    pub fn new(nodes: BandNodes, rings: [RingResponse; 2], lapped_m: Vec<f64>, following: Following) -> Self {
        let n = nodes.len();
        let mut gap_m = relative(&lapped_m);
        let mut gap_per_pressure = Mat::zeros(n, n);
        let mut edge_per_pressure = vec![0.0; n];
        let mut gap_per_flux = [Mat::zeros(n, n), Mat::zeros(n, n)];
        if following.distortion {
            for (ring, per_flux) in rings.iter().zip(&mut gap_per_flux) {
                add(&mut gap_m, &relative(&ring.elastic_deflection_m));
                add(&mut gap_m, &relative(&ring.thermal_deflection_m));
                gap_per_pressure += &relative_rows(&ring.deflection_per_pressure);
                (0..n).for_each(|j| edge_per_pressure[j] += ring.edge_travel_per_pressure[j]);
                if following.heat {
                    *per_flux = relative_rows(&ring.deflection_per_flux);
                }
            }
        }
        let temperature_sum = &rings[0].temperature_per_flux + &rings[1].temperature_per_flux;
        let mut mean_resistance = vec![0.0; n];
        multiply_add(&temperature_sum, &vec![0.25; n], &mut mean_resistance);
        Self {
            nodes,
            rings,
            lapped_m,
            gap_m,
            gap_per_pressure,
            edge_per_pressure,
            gap_per_flux,
            temperature_sum,
            mean_resistance,
            thin_film: OnceLock::new(),
        }
    }

    /// Gap relative to the inner edge under face pressure and fluxes, m.
    pub fn shape(&self, face_pressure_pa: &[f64], flux_w_per_m2: &[Vec<f64>; 2]) -> Vec<f64> {
        let mut shape = self.gap_m.clone();
        multiply_add(&self.gap_per_pressure, face_pressure_pa, &mut shape);
        for (matrix, flux) in self.gap_per_flux.iter().zip(flux_w_per_m2) {
            multiply_add(matrix, flux, &mut shape);
        }
        shape
    }

    /// Gap by face pressure, m/Pa, relative to the inner edge.
    pub fn gap_per_pressure(&self) -> &Mat<f64> {
        &self.gap_per_pressure
    }

    /// Travel of the inner edge into both bodies, from where they are held, by face pressure at each node, m/Pa.
    pub fn edge_per_pressure(&self) -> &[f64] {
        &self.edge_per_pressure
    }

    /// Face temperatures for a total flux at each node, when `resistance` (`hT/k`, m2 K/W) lies between the faces.
    ///
    /// `q1 - q2 = (2 k/h)(T2 - T1)` from the parabola across the film, solved together with both rings.
    pub fn faces(&self, total_flux: &[f64], resistance: &[f64]) -> Faces {
        let n = total_flux.len();
        let mut matrix = self.temperature_sum.clone();
        for k in 0..n {
            matrix[(k, k)] += resistance[k];
        }
        let factor = matrix.partial_piv_lu();
        let [rotating, stationary] = &self.rings;
        let mut right = Mat::from_fn(n, 1, |k, _| stationary.temperature_k[k] - rotating.temperature_k[k]);
        let half: Vec<f64> = total_flux.iter().map(|q| 0.5 * q).collect();
        let mut from_flux = vec![0.0; n];
        multiply_add(&stationary.temperature_per_flux, &half, &mut from_flux);
        let mut minus = vec![0.0; n];
        multiply_add(&rotating.temperature_per_flux, &half, &mut minus);
        for k in 0..n {
            right[(k, 0)] += from_flux[k] - minus[k];
        }
        factor.solve_in_place(&mut right);
        let flux_w_per_m2 = [1.0, -1.0].map(|sign| (0..n).map(|k| half[k] + sign * right[(k, 0)]).collect::<Vec<_>>());
        let temperature_k = [0, 1].map(|i| {
            let mut t = self.rings[i].temperature_k.clone();
            multiply_add(&self.rings[i].temperature_per_flux, &flux_w_per_m2[i], &mut t);
            t
        });
        let mean_k = temperature_k[0].iter().zip(&temperature_k[1]).map(|(a, b)| 0.5 * (a + b)).collect();
        Faces { temperature_k, mean_k, flux_w_per_m2 }
    }

    /// Rise of the mean face temperature at each node with the total flux all over the band, K/(W/m2): the order of the rings' resistance.
    pub fn mean_resistance(&self) -> &[f64] {
        &self.mean_resistance
    }

    /// How temperatures and gap follow the total flux.
    pub fn flux_slopes(&self, resistance: &[f64]) -> Cow<'_, FluxSlopes> {
        if resistance.iter().all(|r| *r < THIN_FILM_LIMIT) {
            let thin =
                || flux_slopes(&self.rings, &self.temperature_sum, &self.gap_per_flux, &vec![THIN_FILM_RESISTANCE; resistance.len()]);
            Cow::Borrowed(self.thin_film.get_or_init(thin))
        } else {
            Cow::Owned(flux_slopes(&self.rings, &self.temperature_sum, &self.gap_per_flux, resistance))
        }
    }
}

fn flux_slopes(rings: &[RingResponse; 2], temperature_sum: &Mat<f64>, gap_per_flux: &[Mat<f64>; 2], resistance: &[f64]) -> FluxSlopes {
    let n = temperature_sum.nrows();
    let mut matrix = temperature_sum.clone();
    for k in 0..n {
        matrix[(k, k)] += resistance[k];
    }
    let [rotating, stationary] = rings;
    let difference = &stationary.temperature_per_flux - &rotating.temperature_per_flux;
    // Flux that goes to the rotating ring instead of the stationary one, by the difference of temperature that drives it.
    let mut by_difference = Mat::identity(n, n);
    matrix.partial_piv_lu().solve_in_place(&mut by_difference);
    let exchange = 0.5 * (&by_difference * &difference);
    let mean_temperature = 0.25 * temperature_sum - 0.5 * (&difference * &exchange);
    let sum = &gap_per_flux[0] + &gap_per_flux[1];
    let unlike = &gap_per_flux[0] - &gap_per_flux[1];
    FluxSlopes {
        mean_temperature,
        gap: 0.5 * sum + &unlike * exchange,
        mean_temperature_by_difference: 0.5 * (&difference * &by_difference),
        gap_by_difference: -1.0 * (unlike * by_difference),
    }
}

/// A profile less its value at the inner edge.
pub fn relative(profile: &[f64]) -> Vec<f64> {
    let base = profile.first().copied().unwrap_or_default();
    profile.iter().map(|x| x - base).collect()
}

fn relative_rows(matrix: &Mat<f64>) -> Mat<f64> {
    let mut relative = matrix.clone();
    for j in 0..relative.ncols() {
        let column = relative.col_as_slice_mut(j);
        let base = column.first().copied().unwrap_or_default();
        column.iter_mut().for_each(|x| *x -= base);
    }
    relative
}

fn add(sum: &mut [f64], term: &[f64]) {
    for (s, t) in sum.iter_mut().zip(term) {
        *s += t;
    }
}

/// `y += A x`, column by column.
pub fn multiply_add(matrix: &Mat<f64>, x: &[f64], y: &mut [f64]) {
    for (j, &factor) in x.iter().enumerate() {
        if factor != 0.0 {
            for (y, a) in y.iter_mut().zip(matrix.col_as_slice(j)) {
                *y += factor * a;
            }
        }
    }
}
