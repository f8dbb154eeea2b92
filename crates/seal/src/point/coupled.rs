//! Film, contact, heat and distortion together at a given gap of the inner edge.
//!
//! **What.** The state in which film, asperities, both rings' temperatures and both rings' shapes agree with each other.
//! **Equation.** `h = h0 + lapped + G_p (p - p_low + p_c) + G_1 q_1 + G_2 q_2`; `T_i = T_i0 + M_i q_i`; `q_1 + q_2` from the film and the
//! friction of contact, `q_1 - q_2 = (2 k/h)(T_2 - T_1)`; `p`, `q` from the film at `h` and `(T_1 + T_2)/2`, `p_c(h)` from the contact. An
//! equilibrium has `sum w (p - p_low + p_c) = closing`. It is stable when the force falls as the ring travels open, everything following.
//! **Valid when.** Quasi-steady, axisymmetric, a film of any kind that the film model takes, linear rings with surroundings held.
//! **Source.** Derived here from the parts' own models; stability by the sign of the slope as in Lebeck, Principles and Design of Mechanical
//! Face Seals, Wiley 1991, with the axial datum where the rings are held.
//! **Checked by.** Q1.
//!
//! Unknowns are the gap and the mean temperature of both faces at each node: both are smooth over the band, also where a boiling front
//! takes heat from a spot narrower than an element. The film answers with pressure and flux, the rings with shape and temperature; the
//! Newton matrix is made of the exact slopes of both and condensed to `2 n`.

use faer::linalg::matmul::matmul;
use faer::linalg::solvers::{PartialPivLu, Solve};
use faer::{Accum, Mat, Par};
use halfmicron_properties::Fluid;

use super::pair::{Faces, Following, Pair};
use crate::contact::{BandContact, ContactLaw};
use crate::film::{FieldGrid, FilmError, FilmInput, FilmResult, FilmStart, Gap, film, sensitivity};
use crate::model::Switches;
use crate::outcome::Work;

/// Scales that make the unknowns of order one: gap and temperature.
const GAP_SCALE_M: f64 = 1e-6;
pub(super) const TEMPERATURE_SCALE_K: f64 = 10.0;

/// One seal at one duty, everything but the gap fixed.
#[derive(Debug)]
pub struct Coupled<'a> {
    /// Both rings.
    pub pair: &'a Pair,
    /// Contact.
    pub contact: ContactLaw,
    /// Fluid in the film.
    pub fluid: &'a Fluid,
    /// Absolute pressure inside the band, Pa.
    pub inner_pressure_pa: f64,
    /// Absolute pressure outside the band, Pa.
    pub outer_pressure_pa: f64,
    /// Absolute pressure on the low side of the seal: base of the forces, Pa.
    pub base_pressure_pa: f64,
    /// Temperature of the fluid that enters, K.
    pub entry_temperature_k: f64,
    /// Speeds of rotating and stationary face, rad/s.
    pub speeds_rad_per_s: [f64; 2],
    /// Boundary friction coefficient.
    pub boundary_friction: f64,
    /// Switches.
    pub switches: &'a Switches,
    /// Grid of the textures that vary round the circumference.
    pub field: Option<&'a FieldGrid>,
}

/// Unknowns and what to start the film from.
#[derive(Debug, Clone, PartialEq)]
pub struct State {
    /// Gap at the inner edge, m.
    pub inner_gap_m: f64,
    /// Gap at each node, m.
    pub gap_m: Vec<f64>,
    /// Mean temperature of both faces at each node, K.
    pub face_temperature_k: Vec<f64>,
    /// Conductivity of the film at each node, W/(m K).
    pub conductivity_w_per_m_k: Vec<f64>,
    /// Film.
    pub film: Option<FilmStart>,
}

/// Everything evaluated at a state.
#[derive(Debug, Clone)]
pub struct Evaluation {
    /// Faces.
    pub faces: Faces,
    /// Film.
    pub film: FilmResult,
    /// Contact at each node: pressures whose forces and heats, like those of the film, are those of the contact between the nodes too.
    pub contact: BandContact,
    /// Friction heat of contact at each node, W/m2.
    pub friction_heat_w_per_m2: Vec<f64>,
    /// Film and contact pressure above the base, Pa.
    pub face_pressure_pa: Vec<f64>,
    /// Force on the face, N.
    pub opening_force_n: f64,
    /// Heat of film and contact less heat taken by the faces, over the greater of heat and 1 W.
    pub heat_mismatch: f64,
    /// Scaled residual: gap rows, then flux rows.
    residual: Vec<f64>,
    between: Between,
}

/// What lies between the faces at each node.
#[derive(Debug, Clone)]
struct Between {
    /// Thermal resistance between the faces, `hT/k`, m2 K/W.
    resistance: Vec<f64>,
    /// Change of the mean gap `hT` with the gap.
    opening: Vec<f64>,
    /// Turns a mismatch between the temperature that the film sees and the one that the rings give into the error of the former, of order
    /// one, 1/K: the film's heat changes with it much more than the rings' temperature does with heat.
    row_scale: Vec<f64>,
}

impl Between {
    /// Resistance between the mean of the film and its faces, m2 K/W.
    fn film_resistance(&self, node: usize) -> f64 {
        self.resistance[node] / 12.0
    }
}

impl Evaluation {
    /// Largest scaled residual.
    pub fn residual_norm(&self) -> f64 {
        self.residual.iter().fold(0.0, |m: f64, r| m.max(r.abs()))
    }
}

/// Factored Newton matrix at a state.
pub struct Slopes {
    factor: PartialPivLu<f64>,
    determinant_sign: f64,
    /// Change of the (scaled) unknowns per metre of inner gap.
    pub by_inner_gap: Vec<f64>,
    /// Gradient of the opening force by the scaled unknowns, N.
    pub force_gradient: Vec<f64>,
    /// Gradient of the mass flow by the scaled unknowns, kg/s.
    pub flow_gradient: Vec<f64>,
    /// Opening force per metre of inner gap along the curve, N/m; changes sign where the curve folds in the gap.
    pub along_curve_n_per_m: f64,
    /// Opening force per axial travel of the ring, everything following, N/m; negative is stable.
    ///
    /// Travel is counted where the rings are held, not at the edge of the band: a section that rolls under an edge contact can open
    /// its inner edge while it is pressed closer, and a slope by the inner gap would call that unstable. Thermal growth of the bodies is
    /// left out of the travel: the springs follow it at constant force.
    pub by_travel_n_per_m: f64,
    /// Opening force per least gap, everything following, N/m.
    pub coupled_n_per_m: f64,
    /// Opening force per least gap, temperature and thermal shape held, elastic shape following, N/m.
    pub thermally_frozen_n_per_m: f64,
    /// The same per axial travel, N/m.
    pub thermally_frozen_by_travel_n_per_m: f64,
    /// Shape held, N/m.
    pub frozen_n_per_m: f64,
}

impl Coupled<'_> {
    /// Whether heat reaches the rings and whether they deform.
    pub fn following(switches: &Switches) -> Following {
        Following { heat: switches.heat, distortion: switches.distortion }
    }

    fn sliding(&self) -> f64 {
        self.speeds_rad_per_s[0] - self.speeds_rad_per_s[1]
    }

    /// A state to start from at `inner_gap_m`: the unloaded shape, no heat.
    pub fn cold_state(&self, inner_gap_m: f64) -> State {
        let n = self.pair.nodes.len();
        let none = vec![0.0; n];
        let shape = self.pair.shape(&self.linear_pressure(), &[none.clone(), none]);
        State {
            inner_gap_m,
            gap_m: shape.iter().map(|s| inner_gap_m + s).collect(),
            face_temperature_k: vec![self.entry_temperature_k; n],
            conductivity_w_per_m_k: vec![0.1; n],
            film: None,
        }
    }

    fn linear_pressure(&self) -> Vec<f64> {
        let radius = &self.pair.nodes.radius_m;
        let (first, last) = (radius[0], radius[radius.len() - 1]);
        radius
            .iter()
            .map(|r| {
                let share = (r - first) / (last - first);
                self.inner_pressure_pa + share * (self.outer_pressure_pa - self.inner_pressure_pa) - self.base_pressure_pa
            })
            .collect()
    }

    /// Evaluate film, contact and rings at a state; refreshes the film start and conductivities kept in it.
    ///
    /// # Errors
    /// [`FilmError`] of the film.
    pub fn evaluate(&self, state: &mut State, work: &mut Work) -> Result<Evaluation, FilmError> {
        let input = self.film_input(&state.gap_m, &state.face_temperature_k);
        work.film_solves += 1;
        let (film, start) = film(&input, state.film.as_ref())?;
        state.film = Some(start);
        state.conductivity_w_per_m_k.clone_from(&film.conductivity_w_per_m_k);
        let n = self.pair.nodes.len();
        let weights = &self.pair.nodes.weight_m2;
        let contact = self.contact_over(&state.gap_m);
        let friction_heat_w_per_m2: Vec<f64> = (0..n).map(|k| self.friction_speed(k) * contact.pressure_pa[k]).collect();
        let face_pressure_pa: Vec<f64> = (0..n).map(|k| film.pressure_pa[k] - self.base_pressure_pa + contact.pressure_pa[k]).collect();
        let opening_force_n = weights.iter().zip(&face_pressure_pa).map(|(w, p)| w * p).sum();
        let total_flux: Vec<f64> = film.flux_w_per_m2.iter().zip(&friction_heat_w_per_m2).map(|(q, f)| q + f).collect();
        let between = self.between(state);
        let faces = self.faces(&between, &total_flux);
        let shape = self.pair.shape(&face_pressure_pa, &faces.flux_w_per_m2);
        let mut residual = Vec::with_capacity(2 * n);
        residual.extend((0..n).map(|k| (state.gap_m[k] - state.inner_gap_m - shape[k]) / GAP_SCALE_M));
        residual.extend((0..n).map(|k| (state.face_temperature_k[k] - faces.mean_k[k]) * between.row_scale[k]));
        // What the error of each face temperature is worth in heat between film and faces.
        let (mut mismatch, mut heat) = (0.0, 0.0);
        for k in 0..n {
            mismatch += weights[k] * residual[n + k] * TEMPERATURE_SCALE_K / between.film_resistance(k);
            heat += weights[k] * (film.shear_heat_w_per_m2[k] + friction_heat_w_per_m2[k]);
        }
        let heat_mismatch = if self.switches.heat { mismatch.abs() / heat.max(1.0) } else { 0.0 };
        Ok(Evaluation { faces, film, contact, friction_heat_w_per_m2, face_pressure_pa, opening_force_n, heat_mismatch, residual, between })
    }

    /// Contact over the band: of textured faces the mean of what every place round the circumference carries.
    fn contact_over(&self, gap_m: &[f64]) -> BandContact {
        BandContact::new(&self.contact, &self.pair.nodes, gap_m, |node| self.field.map(|field| field.around(node)))
    }

    /// Contact pressure that the gap at each node would have all by itself, Pa.
    pub fn contact_pressure_pa(&self, gap_m: &[f64]) -> Vec<f64> {
        match self.field {
            None => self.contact.over(gap_m).iter().map(|state| state.pressure_pa).collect(),
            Some(field) => gap_m.iter().enumerate().map(|(node, gap)| field.mean(node, *gap, |h| self.contact.at(h).pressure_pa)).collect(),
        }
    }

    /// Least gap over the faces, m.
    pub fn least_gap_m(&self, gap_m: &[f64]) -> f64 {
        self.field.map_or_else(|| gap_m.iter().copied().fold(f64::INFINITY, f64::min), |field| field.least_m(gap_m))
    }

    fn faces(&self, between: &Between, total_flux: &[f64]) -> Faces {
        if self.switches.heat {
            self.pair.faces(total_flux, &between.resistance)
        } else {
            let n = self.pair.nodes.len();
            let even = vec![self.entry_temperature_k; n];
            Faces { temperature_k: [even.clone(), even.clone()], mean_k: even, flux_w_per_m2: [vec![0.0; n], vec![0.0; n]] }
        }
    }

    fn between(&self, state: &State) -> Between {
        let mean = |h: f64| crate::film::roughness::mean_gap(h, self.contact.roughness_m);
        let at = |(node, &h): (usize, &f64)| match self.field {
            None => (mean(h).value, mean(h).slope),
            // Heat passes side by side where the film is thin and where it is thick.
            Some(field) => {
                let passing = field.mean(node, h, |h| 1.0 / mean(h).value);
                (1.0 / passing, field.mean(node, h, |h| mean(h).slope / mean(h).value.powi(2)) / (passing * passing))
            }
        };
        let (value, opening): (Vec<f64>, Vec<f64>) = state.gap_m.iter().enumerate().map(at).unzip();
        let resistance = value.iter().zip(&state.conductivity_w_per_m_k).map(|(h, k)| h / k).collect();
        let mut between = Between { resistance, opening, row_scale: Vec::new() };
        let gain = |(node, rings): (usize, &f64)| if self.switches.heat { rings / between.film_resistance(node) } else { 0.0 };
        between.row_scale =
            self.pair.mean_resistance().iter().enumerate().map(gain).map(|gain| 1.0 / (TEMPERATURE_SCALE_K * (1.0 + gain))).collect();
        between
    }

    /// Change of the temperature difference over the film that its exchange of heat asks for, K, by gap and by face temperature at each node:
    /// the gap opens, and where a front moves liquid turns into vapour, which conducts a third as well.
    fn difference_slopes(&self, state: &State, evaluation: &Evaluation, conductivity: [Mat<f64>; 2]) -> [Mat<f64>; 2] {
        let n = state.gap_m.len();
        let [rotating, stationary] = &evaluation.faces.flux_w_per_m2;
        let Between { resistance, opening, .. } = &evaluation.between;
        let half = |k: usize| 0.5 * (rotating[k] - stationary[k]);
        let by_conductivity: Vec<f64> = (0..n).map(|k| -half(k) * resistance[k] / state.conductivity_w_per_m_k[k]).collect();
        let [mut by_gap, by_temperature] = conductivity.map(|mut difference| {
            for j in 0..n {
                difference.col_as_slice_mut(j).iter_mut().zip(&by_conductivity).for_each(|(entry, by)| *entry *= by);
            }
            difference
        });
        for k in 0..n {
            by_gap[(k, k)] += half(k) * opening[k] / state.conductivity_w_per_m_k[k];
        }
        [by_gap, by_temperature]
    }

    /// Friction heat per contact pressure, m/s.
    fn friction_speed(&self, node: usize) -> f64 {
        self.boundary_friction * self.sliding().abs() * self.pair.nodes.radius_m[node]
    }

    fn film_input<'b>(&'b self, gap_m: &'b [f64], face_temperature_k: &'b [f64]) -> FilmInput<'b> {
        FilmInput {
            nodes: &self.pair.nodes,
            gap: Gap { profile_m: gap_m, rate_m_per_s: None, field: self.field },
            fluid: self.fluid,
            inner_pressure_pa: self.inner_pressure_pa,
            outer_pressure_pa: self.outer_pressure_pa,
            entry_temperature_k: self.entry_temperature_k,
            face_temperature_k,
            speeds_rad_per_s: self.speeds_rad_per_s,
            roughness_m: self.contact.roughness_m,
            switches: self.switches,
        }
    }

    /// Newton matrix and slopes at an evaluated state.
    ///
    /// # Errors
    /// [`FilmError`] of the film.
    pub fn slopes(&self, state: &State, evaluation: &Evaluation, work: &mut Work) -> Result<Slopes, FilmError> {
        let n = self.pair.nodes.len();
        let start = state.film.as_ref().ok_or(FilmError::Input("slopes need an evaluated state"))?;
        let film = sensitivity(&self.film_input(&state.gap_m, &state.face_temperature_k), start)?;
        let weights = &self.pair.nodes.weight_m2;
        let mut pressure_by_gap = film.pressure_by_gap;
        let mut flux_by_gap = film.flux_by_gap;
        for k in 0..n {
            for (j, slope) in evaluation.contact.slopes(k) {
                pressure_by_gap[(k, j)] += slope;
                flux_by_gap[(k, j)] += self.friction_speed(k) * slope;
            }
        }
        let elastic_by_gap = self.pair.gap_per_pressure() * &pressure_by_gap;
        let pressure_by_temperature = if self.switches.heat { film.pressure_by_face_temperature } else { Mat::zeros(n, n) };
        let elastic_by_temperature = self.pair.gap_per_pressure() * &pressure_by_temperature;
        let rows = self.switches.heat.then(|| {
            let slopes = self.pair.flux_slopes(&evaluation.between.resistance);
            let [by_gap, by_temperature] =
                self.difference_slopes(state, evaluation, [film.conductivity_by_gap, film.conductivity_by_face_temperature]);
            let with = |by_flux: &Mat<f64>, by_difference: &Mat<f64>| {
                [
                    two_products([by_flux, &flux_by_gap], [by_difference, &by_gap]),
                    two_products([by_flux, &film.flux_by_face_temperature], [by_difference, &by_temperature]),
                ]
            };
            let thermal = with(&slopes.gap, &slopes.gap_by_difference);
            let temperature = with(&slopes.mean_temperature, &slopes.mean_temperature_by_difference);
            (thermal, temperature)
        });
        let elastic = [&elastic_by_gap, &elastic_by_temperature];
        let follows = rows.as_ref().map(|(thermal, temperature)| [thermal, temperature]);
        let matrix = newton_matrix(elastic, follows, &evaluation.between.row_scale);
        work.factorisations += 1;
        let factor = matrix.partial_piv_lu();
        let determinant_sign = determinant_sign(&factor);
        let mut unit_gap = Mat::from_fn(2 * n, 1, |i, _| if i < n { 1.0 / GAP_SCALE_M } else { 0.0 });
        factor.solve_in_place(&mut unit_gap);
        let by_inner_gap: Vec<f64> = unit_gap.col_as_slice(0).to_vec();
        let column_force = |m: &Mat<f64>, j: usize| -> f64 { weights.iter().zip(m.col_as_slice(j)).map(|(w, p)| w * p).sum() };
        let force_gradient: Vec<f64> = (0..2 * n)
            .map(|j| {
                if j < n {
                    column_force(&pressure_by_gap, j) * GAP_SCALE_M
                } else {
                    column_force(&pressure_by_temperature, j - n) * TEMPERATURE_SCALE_K
                }
            })
            .collect();
        let by_gap = film.flow_by_gap.iter().map(|slope| slope * GAP_SCALE_M);
        let flow_gradient = by_gap.chain(film.flow_by_face_temperature.iter().map(|slope| slope * TEMPERATURE_SCALE_K)).collect();
        let edge: Vec<f64> = (0..2 * n)
            .map(|j| {
                let (matrix, column, scale) =
                    if j < n { (&pressure_by_gap, j, GAP_SCALE_M) } else { (&pressure_by_temperature, j - n, TEMPERATURE_SCALE_K) };
                scale * dot(self.pair.edge_per_pressure(), matrix.col_as_slice(column))
            })
            .collect();
        let along_curve_n_per_m = dot(&force_gradient, &by_inner_gap);
        let elastic = elastic_by_inner_gap(&elastic_by_gap);
        let elastic_force = dot(&force_gradient[..n], &elastic);
        let narrowest = (0..n).min_by(|&a, &b| state.gap_m[a].total_cmp(&state.gap_m[b])).unwrap_or_default();
        let least = |gaps: &[f64]| gaps[narrowest] * GAP_SCALE_M;
        Ok(Slopes {
            along_curve_n_per_m,
            by_travel_n_per_m: along_curve_n_per_m / (1.0 - dot(&edge, &by_inner_gap)),
            coupled_n_per_m: along_curve_n_per_m / least(&by_inner_gap),
            thermally_frozen_n_per_m: elastic_force / least(&elastic),
            thermally_frozen_by_travel_n_per_m: elastic_force / (1.0 - dot(&edge[..n], &elastic)),
            frozen_n_per_m: force_gradient[..n].iter().sum::<f64>() / GAP_SCALE_M,
            factor,
            determinant_sign,
            by_inner_gap,
            force_gradient,
            flow_gradient,
        })
    }

    /// Move the unknowns by a scaled step, and the inner gap; the film is started at the flow changed by its gradient.
    pub fn moved(&self, state: &State, step: &[f64], inner_gap_step_m: f64, flow_gradient: &[f64]) -> State {
        let n = self.pair.nodes.len();
        let mut film = state.film.clone();
        if let Some(film) = &mut film {
            film.flow_change_kg_per_s = dot(flow_gradient, step);
        }
        State {
            inner_gap_m: state.inner_gap_m + inner_gap_step_m,
            gap_m: (0..n).map(|k| state.gap_m[k] + step[k] * GAP_SCALE_M).collect(),
            face_temperature_k: (0..n).map(|k| state.face_temperature_k[k] + step[n + k] * TEMPERATURE_SCALE_K).collect(),
            conductivity_w_per_m_k: state.conductivity_w_per_m_k.clone(),
            film,
        }
    }
}

impl Slopes {
    /// Whether the opening force rises along the curve in the sense in which a wide-open film closes.
    ///
    /// Along the curve the inner gap moves as the determinant of the Newton matrix, so that its sign tells the sense without a trace.
    pub fn rises_as_it_closes(&self) -> bool {
        self.determinant_sign * self.along_curve_n_per_m < 0.0
    }

    /// Whether the inner gap closes along the curve in that sense.
    pub(super) fn closes_inner_gap(&self) -> bool {
        self.determinant_sign > 0.0
    }

    /// Newton step of the scaled unknowns at fixed inner gap.
    pub fn step(&self, evaluation: &Evaluation) -> Vec<f64> {
        let mut right = Mat::from_fn(evaluation.residual.len(), 1, |i, _| -evaluation.residual[i]);
        self.factor.solve_in_place(&mut right);
        right.col_as_slice(0).to_vec()
    }
}

/// Matrix of the scaled unknowns: what each is, less what it is made by `elastic` shape and, where faces follow heat, by thermal shape (gap
/// rows) and by the rings (temperature rows). Each by gap and by face temperature.
fn newton_matrix(elastic: [&Mat<f64>; 2], follows: Option<[&[Mat<f64>; 2]; 2]>, row_scale: &[f64]) -> Mat<f64> {
    let n = row_scale.len();
    let mut matrix = Mat::zeros(2 * n, 2 * n);
    for (which, unit) in [GAP_SCALE_M, TEMPERATURE_SCALE_K].into_iter().enumerate() {
        for j in 0..n {
            let (gaps, temperatures) = matrix.col_as_slice_mut(which * n + j).split_at_mut(n);
            for (entry, shape) in gaps.iter_mut().zip(elastic[which].col_as_slice(j)) {
                *entry = -shape;
            }
            if let Some([thermal, temperature]) = follows {
                for (entry, shape) in gaps.iter_mut().zip(thermal[which].col_as_slice(j)) {
                    *entry -= shape;
                }
                for (entry, rings) in temperatures.iter_mut().zip(temperature[which].col_as_slice(j)) {
                    *entry = -rings;
                }
            }
            if which == 0 {
                gaps[j] += 1.0
            } else {
                temperatures[j] += 1.0
            }
            gaps.iter_mut().for_each(|entry| *entry *= unit / GAP_SCALE_M);
            temperatures.iter_mut().zip(row_scale).for_each(|(entry, scale)| *entry *= scale * unit);
        }
    }
    matrix
}

/// `A B + C D`.
fn two_products([a, b]: [&Mat<f64>; 2], [c, d]: [&Mat<f64>; 2]) -> Mat<f64> {
    let mut sum = a * b;
    matmul(sum.as_mut(), Accum::Add, c, d, 1.0, Par::Seq);
    sum
}

/// Sign of the determinant of a factored matrix: of the diagonal of `U` and of the row exchanges.
fn determinant_sign(factor: &PartialPivLu<f64>) -> f64 {
    let upper = factor.U();
    let diagonal: f64 = (0..upper.nrows()).map(|k| upper[(k, k)].signum()).product();
    let (rows, _) = factor.P().arrays();
    let mut seen = vec![false; rows.len()];
    let mut exchanges = 0;
    for first in 0..rows.len() {
        let mut at = first;
        while !seen[at] {
            seen[at] = true;
            at = rows[at];
            exchanges += usize::from(at != first);
        }
    }
    if exchanges % 2 == 0 { diagonal } else { -diagonal }
}

/// Change of the scaled gaps per metre of inner gap when only the elastic shape follows.
fn elastic_by_inner_gap(shape_by_gap: &Mat<f64>) -> Vec<f64> {
    let n = shape_by_gap.nrows();
    let matrix = Mat::from_fn(n, n, |i, j| f64::from(u8::from(i == j)) - shape_by_gap[(i, j)]);
    let mut change = Mat::from_fn(n, 1, |_, _| 1.0 / GAP_SCALE_M);
    matrix.partial_piv_lu().solve_in_place(&mut change);
    change.col_as_slice(0).to_vec()
}

/// Scalar product.
pub fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}
