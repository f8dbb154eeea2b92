//! An equilibrium in the words of the outcome.

use halfmicron_properties::{Phase, Saturation};

use super::branch::{Root, least};
use super::coupled::{Coupled, Evaluation, State};
use super::pair::multiply_add;
use super::setting::{Solved, saturation_k};
use super::standing;
use crate::film::{FilmInput, Gap, film};
use crate::model::{Ring, TextureForm};
use crate::outcome::{
    Balances, Coning, DutyOutcome, Equilibrium, FilmPhase, FrictionBand, HeatSplit, Passage, Profiles, Ranged, Regime, Reynolds, RingField,
    RingPair, RingResult, Stiffness,
};
use crate::ring::RingState;
use crate::together::together;

/// Gap at which the film force is held against closing to show how it would open, m.
const WIDE_GAP_M: f64 = 1e-5;
/// Least film over roughness above which a film counts as full.
const FULL_FILM_PARAMETER: f64 = 3.0;

/// The headline numbers of a state, computed alike for the nominal point and for each variation of it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Headlines {
    pub minimum_film_m: f64,
    pub mean_film_m: f64,
    pub leakage_kg_per_s: f64,
    pub leakage_m3_per_s: f64,
    pub torque_n_m: f64,
    pub power_w: f64,
    pub contact_share: f64,
    pub face_temperature_max_k: f64,
    pub film_temperature_max_k: f64,
    pub boiling_margin_k: Option<f64>,
    pub boiling_margin_pa: Option<f64>,
    pub wear_rate_m_per_s: Option<f64>,
}

impl Headlines {
    /// What the band of friction shows, found on another grid than the answer's, as it is there: both nominal equilibria tell the difference.
    pub fn on_the_answer(self, there: &Self, here: &Self) -> Self {
        let ratio = |there: f64, here: f64| if there > 0.0 && here > 0.0 { here / there } else { 1.0 };
        Self {
            minimum_film_m: self.minimum_film_m * ratio(there.minimum_film_m, here.minimum_film_m),
            leakage_kg_per_s: self.leakage_kg_per_s * ratio(there.leakage_kg_per_s, here.leakage_kg_per_s),
            face_temperature_max_k: self.face_temperature_max_k + here.face_temperature_max_k - there.face_temperature_max_k,
            ..self
        }
    }
}

/// Heat made in the film and at the contact, W.
pub(super) fn total_heat_w(solved: &Solved, root: &Root) -> f64 {
    let (viscous, contact) = heats(&solved.coupled(), &root.evaluation);
    viscous + contact
}

fn heats(coupled: &Coupled, evaluation: &Evaluation) -> (f64, f64) {
    let weights = &coupled.pair.nodes.weight_m2;
    (evaluation.film.shear_power_w(&coupled.pair.nodes), integral(weights, &evaluation.friction_heat_w_per_m2))
}

fn integral(weights: &[f64], values: &[f64]) -> f64 {
    weights.iter().zip(values).map(|(w, v)| w * v).sum()
}

pub(super) fn headlines(solved: &Solved, coupled: &Coupled, state: &State, evaluation: &Evaluation) -> Headlines {
    let nodes = &coupled.pair.nodes;
    let area: f64 = nodes.weight_m2.iter().sum();
    let (viscous, contact_heat) = heats(coupled, evaluation);
    let contact = &evaluation.contact.pressure_pa;
    let sliding = coupled.speeds_rad_per_s[0] - coupled.speeds_rad_per_s[1];
    let torque = if sliding == 0.0 {
        standing::torque_n_m(coupled, evaluation, coupled.boundary_friction)
    } else {
        (viscous + contact_heat) / sliding.abs()
    };
    // Positive from the higher to the lower pressure.
    let flow = if solved.setting.outside_is_high { -evaluation.film.mass_flow_kg_per_s } else { evaluation.film.mass_flow_kg_per_s };
    let greatest = |values: &[f64]| values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let wear =
        solved.model().contact.wear_per_pa.map(|k| {
            k[1] * (0..nodes.len()).map(|i| nodes.weight_m2[i] * contact[i] * sliding.abs() * nodes.radius_m[i]).sum::<f64>() / area
        });
    let margin = boiling_margin(solved, evaluation);
    Headlines {
        minimum_film_m: coupled.least_gap_m(&state.gap_m),
        mean_film_m: integral(&nodes.weight_m2, &state.gap_m) / area,
        leakage_kg_per_s: flow,
        leakage_m3_per_s: flow / solved.chamber.density_kg_per_m3,
        torque_n_m: torque,
        power_w: viscous + contact_heat,
        contact_share: integral(&nodes.weight_m2, contact) / (evaluation.opening_force_n + solved.setting.reported_shift_n),
        face_temperature_max_k: greatest(&evaluation.faces.temperature_k[0]).max(greatest(&evaluation.faces.temperature_k[1])),
        film_temperature_max_k: greatest(&evaluation.film.hottest_k),
        boiling_margin_k: margin.map(|(kelvin, _)| kelvin),
        boiling_margin_pa: margin.and_then(|(_, pascal)| pascal),
        wear_rate_m_per_s: wear,
    }
}

/// Kelvin from saturation that are rounding.
const AT_SATURATION_K: f64 = 1e-6;

/// Least distance to boiling over the film, in kelvin and in pascal.
fn boiling_margin(solved: &Solved, evaluation: &Evaluation) -> Option<(f64, Option<f64>)> {
    if !enters_as_liquid(solved) {
        return None;
    }
    let mut kelvin = f64::INFINITY;
    let mut pascal: Option<f64> = None;
    for (state, &hottest) in evaluation.film.states.iter().zip(&evaluation.film.hottest_k) {
        let pressure = state.pressure_pa;
        // Above the critical pressure nothing boils, but the film comes down from there to the low side.
        let saturation = match solved.fluid.saturation_temperature(pressure) {
            Saturation::Supercritical => continue,
            // Beyond the end of the known line the margin is at least the distance to that end.
            Saturation::At(limit) | Saturation::Beyond { limit } => limit,
            _ => return None,
        };
        kelvin = kelvin.min(saturation - hottest);
        if let Some(vapour) = solved.fluid.saturation_pressure(hottest).value() {
            pascal = Some(pascal.unwrap_or(f64::INFINITY).min(pressure - vapour));
        }
    }
    // A film at saturation stands there to the rounding of the saturation line.
    let kelvin = if kelvin.abs() < AT_SATURATION_K { 0.0 } else { kelvin };
    kelvin.is_finite().then_some((kelvin, pascal))
}

/// Boiling temperature at the pressure of every node, K, where what enters can boil.
fn boiling_temperatures(solved: &Solved, evaluation: &Evaluation) -> Vec<Option<f64>> {
    if !enters_as_liquid(solved) {
        return Vec::new();
    }
    let boils_at = |pressure_pa: f64| match solved.fluid.saturation_temperature(pressure_pa) {
        Saturation::At(kelvin) => Some(kelvin),
        _ => None,
    };
    let temperatures: Vec<Option<f64>> = evaluation.film.states.iter().map(|state| boils_at(state.pressure_pa)).collect();
    if temperatures.iter().any(Option::is_some) { temperatures } else { Vec::new() }
}

/// Kelvin that the chamber stands below boiling, where it holds liquid.
fn chamber_margin_k(solved: &Solved) -> Option<f64> {
    let saturation = saturation_k(solved.fluid, solved.duty.pressure_pa).filter(|_| enters_as_liquid(solved))?;
    Some(saturation - solved.setting.chamber_temperature_k)
}

pub(super) fn equilibrium(solved: &Solved, root: &Root, fields: bool, outcome: &mut DutyOutcome) -> Equilibrium {
    let coupled = solved.coupled();
    let (state, evaluation) = (&root.state, &root.evaluation);
    let nodes = &coupled.pair.nodes;
    let head = headlines(solved, &coupled, state, evaluation);
    let shift = solved.setting.reported_shift_n;
    let contact_force = integral(&nodes.weight_m2, &evaluation.contact.pressure_pa);
    let film_force = evaluation.opening_force_n - contact_force + shift;
    let pressure_difference = (solved.duty.pressure_pa - solved.duty.low_pressure_pa).abs();
    let area: f64 = nodes.weight_m2.iter().sum();
    let profile_factor = (pressure_difference > 0.0).then(|| film_force / (area * pressure_difference));
    let (viscous, contact_heat) = heats(&coupled, evaluation);
    let into = |index: usize| integral(&nodes.weight_m2, &evaluation.faces.flux_w_per_m2[index]);
    let rings = ring_results(solved, evaluation);
    let coning = total_coning(solved, &rings);
    let mut equilibrium = Equilibrium {
        stable: root.is_stable(),
        stable_with_heat_frozen: root.slopes.thermally_frozen_by_travel_n_per_m < 0.0,
        inner_gap_m: state.inner_gap_m,
        minimum_film_m: Ranged::exact(head.minimum_film_m),
        mean_film_m: Ranged::exact(head.mean_film_m),
        leakage_kg_per_s: Ranged::exact(head.leakage_kg_per_s),
        leakage_m3_per_s: Ranged::exact(head.leakage_m3_per_s),
        leakage_is_lower_bound: coupled.field.is_none() || !(waves_are_stated(solved) || enters_as_gas(solved)),
        with_wave: None,
        torque_n_m: Ranged::exact(head.torque_n_m),
        break_away_torque_n_m: None,
        power_w: Ranged::exact(head.power_w),
        contact_share: Ranged::exact(head.contact_share),
        opening_force_n: evaluation.opening_force_n + shift,
        closing_force_n: solved.setting.closing_force_n + shift,
        film_force_n: film_force,
        contact_force_n: contact_force,
        pressure_profile_factor: profile_factor,
        coning_m: coning,
        coning_fit_m: fitted_coning(solved, &state.gap_m),
        rings,
        face_temperature_max_k: Ranged::exact(head.face_temperature_max_k),
        film_temperature_max_k: Ranged::exact(head.film_temperature_max_k),
        boiling_margin_k: head.boiling_margin_k.map(Ranged::exact),
        chamber_margin_k: chamber_margin_k(solved),
        boiling_margin_pa: head.boiling_margin_pa,
        boiling_margin_reason: margin_reason(solved, head.boiling_margin_k.is_some()),
        vapour_fraction_max: evaluation.film.vapour_fraction_max,
        passage: passage(solved, evaluation),
        film_stiffness_n_per_m: Stiffness {
            coupled: root.slopes.coupled_n_per_m,
            thermally_frozen: root.slopes.thermally_frozen_n_per_m,
            frozen: root.slopes.frozen_n_per_m,
        },
        heat_split_w: HeatSplit {
            viscous,
            contact: contact_heat,
            rotating: into(0),
            stationary: into(1),
            leak: evaluation.film.leak_heat_w,
        },
        pv_pa_m_per_s: (solved.setting.closing_force_n + shift - film_force) / area
            * (solved.setting.speeds_rad_per_s[0].abs() * solved.model().band.mean_radius_m()),
        regime: regime(head.minimum_film_m / coupled.contact.roughness_m, head.contact_share),
        film_parameter: head.minimum_film_m / coupled.contact.roughness_m,
        duty_parameter: duty_parameter(solved, evaluation),
        reynolds: reynolds(&coupled, state, evaluation),
        friction_band: FrictionBand { friction_n: solved.setting.friction_n, ..FrictionBand::default() },
        profiles: profiles(solved, &coupled, state, evaluation),
        film_field: evaluation.film.field.clone().filter(|_| fields),
        balances: Balances { mass: evaluation.film.mass_balance, ..Balances::default() },
        wear_rate_m_per_s: head.wear_rate_m_per_s.map(|rate| wear_range(solved, rate)),
        wide_gap_force_share: wide_gap_share(solved, &coupled, state, evaluation),
    };
    if fields {
        add_fields(solved, evaluation, &mut equilibrium, outcome);
    }
    equilibrium
}

fn wear_range(solved: &Solved, nominal: f64) -> Ranged {
    match solved.model().contact.wear_per_pa {
        Some([low, middle, high]) if middle > 0.0 => Ranged { low: nominal * low / middle, nominal, high: nominal * high / middle },
        _ => Ranged::exact(nominal),
    }
}

/// Whether the case says how wavy its faces are: then the leakage has it.
fn waves_are_stated(solved: &Solved) -> bool {
    solved.model().textures.iter().any(|texture| matches!(texture.form, TextureForm::Waves { .. }))
}

/// Whether gas enters the film: between grooves it keeps the faces many times further apart than they are wavy.
fn enters_as_gas(solved: &Solved) -> bool {
    matches!(solved.chamber.phase, Phase::Vapour | Phase::Supercritical)
}

/// Whether what enters the film can boil.
pub(super) fn enters_as_liquid(solved: &Solved) -> bool {
    matches!(solved.chamber.phase, Phase::Liquid | Phase::LiquidMetastable)
        || (solved.chamber.phase == Phase::Supercritical
            && solved.fluid.critical_density().is_some_and(|critical| solved.chamber.density_kg_per_m3 > critical))
}

fn margin_reason(solved: &Solved, known: bool) -> String {
    if !enters_as_liquid(solved) {
        return format!("{} enters the film as gas", solved.fluid.name());
    }
    let lower = solved.duty.pressure_pa.min(solved.duty.low_pressure_pa);
    if !known && solved.fluid.saturation_temperature(lower) == Saturation::Supercritical {
        return format!("{}: above its critical pressure all over the film, where nothing boils", solved.fluid.name());
    }
    if !known {
        return format!("{}: no vapour-pressure data, so no boiling margin", solved.fluid.name());
    }
    match solved.fluid.saturation_temperature(solved.duty.pressure_pa) {
        Saturation::Beyond { limit } => {
            format!("saturation lies beyond {:.0} degC, the end of the vapour data: the margin is at least this", limit - 273.15)
        }
        _ => String::new(),
    }
}

/// +1 where a gap that opens outward opens toward the high-pressure side.
fn toward_high(solved: &Solved) -> f64 {
    if solved.setting.outside_is_high { 1.0 } else { -1.0 }
}

fn end_to_end(profile: &[f64]) -> f64 {
    profile.last().copied().unwrap_or_default() - profile.first().copied().unwrap_or_default()
}

/// Best-fit slope of the gap times the band width, area-weighted, positive opening toward the high-pressure side.
fn fitted_coning(solved: &Solved, gap_m: &[f64]) -> f64 {
    let nodes = &solved.surroundings.pair.nodes;
    let total: f64 = nodes.weight_m2.iter().sum();
    let mean_r = integral(&nodes.weight_m2, &nodes.radius_m) / total;
    let mean_h = integral(&nodes.weight_m2, gap_m) / total;
    let (mut upper, mut lower) = (0.0, 0.0);
    for k in 0..nodes.len() {
        let r = nodes.radius_m[k] - mean_r;
        upper += nodes.weight_m2[k] * r * (gap_m[k] - mean_h);
        lower += nodes.weight_m2[k] * r * r;
    }
    toward_high(solved) * upper / lower * solved.model().band.width_m()
}

fn ring_results(solved: &Solved, evaluation: &Evaluation) -> RingPair<RingResult> {
    let model = solved.model();
    let one = |index: usize, lapped_m: f64| {
        let response = &solved.surroundings.pair.rings[index];
        let sign = toward_high(solved);
        let following = Coupled::following(&model.switches);
        let mut elastic = response.elastic_deflection_m.clone();
        multiply_add(&response.deflection_per_pressure, &evaluation.face_pressure_pa, &mut elastic);
        let mut thermal = response.thermal_deflection_m.clone();
        if following.heat {
            multiply_add(&response.deflection_per_flux, &evaluation.faces.flux_w_per_m2[index], &mut thermal);
        }
        let acts = if following.distortion { sign } else { 0.0 };
        let lapped = end_to_end(&super::setting::lapped_profile(solved.prepared, lapped_m)) * sign;
        let (elastic, thermal) = (acts * end_to_end(&elastic), acts * end_to_end(&thermal));
        let temperature = &evaluation.faces.temperature_k[index];
        let nodes = &solved.surroundings.pair.nodes;
        RingResult {
            coning_m: Coning { total: elastic + thermal + lapped, elastic, thermal, lapped, worn: 0.0 },
            heat_w: integral(&nodes.weight_m2, &evaluation.faces.flux_w_per_m2[index]),
            face_temperature_max_k: temperature.iter().copied().fold(f64::NEG_INFINITY, f64::max),
            face_rise_k: integral(&nodes.weight_m2, temperature) / nodes.weight_m2.iter().sum::<f64>()
                - solved.setting.chamber_temperature_k,
            ..RingResult::default()
        }
    };
    RingPair { rotating: one(0, model.rotating_ring.lapped_coning_m), stationary: one(1, model.stationary_ring.lapped_coning_m) }
}

fn total_coning(_solved: &Solved, rings: &RingPair<RingResult>) -> Coning {
    let (a, b) = (rings.rotating.coning_m, rings.stationary.coning_m);
    Coning {
        total: a.total + b.total,
        elastic: a.elastic + b.elastic,
        thermal: a.thermal + b.thermal,
        lapped: a.lapped + b.lapped,
        worn: a.worn + b.worn,
    }
}

fn regime(film_parameter: f64, contact_share: f64) -> Regime {
    if contact_share > 0.9 {
        Regime::Boundary
    } else if film_parameter > FULL_FILM_PARAMETER && contact_share < 0.01 {
        Regime::FullFilm
    } else {
        Regime::Mixed
    }
}

/// `G = mu v b / W` with the mean film viscosity, mean sliding speed, band width and closing force.
fn duty_parameter(solved: &Solved, evaluation: &Evaluation) -> f64 {
    let band = &solved.model().band;
    let count = evaluation.film.states.len() as f64;
    let viscosity = evaluation.film.states.iter().map(|s| s.viscosity_pa_s).sum::<f64>() / count;
    let closing = solved.setting.closing_force_n + solved.setting.reported_shift_n;
    viscosity * solved.setting.speeds_rad_per_s[0].abs() * band.mean_radius_m() * band.width_m() / closing
}

fn reynolds(coupled: &Coupled, state: &State, evaluation: &Evaluation) -> Reynolds {
    let sliding = (coupled.speeds_rad_per_s[0] - coupled.speeds_rad_per_s[1]).abs();
    let mut greatest = Reynolds::default();
    for (k, fluid) in evaluation.film.states.iter().enumerate() {
        let r = coupled.pair.nodes.radius_m[k];
        let couette = fluid.density_kg_per_m3 * r * sliding * state.gap_m[k].max(0.0) / fluid.viscosity_pa_s;
        let pressure = evaluation.film.mass_flow_kg_per_s.abs() / (2.0 * std::f64::consts::PI * r * fluid.viscosity_pa_s);
        greatest = Reynolds { couette: greatest.couette.max(couette), pressure: greatest.pressure.max(pressure) };
    }
    greatest
}

fn profiles(solved: &Solved, coupled: &Coupled, state: &State, evaluation: &Evaluation) -> Profiles {
    Profiles {
        radius_m: coupled.pair.nodes.radius_m.clone(),
        gap_m: state.gap_m.clone(),
        pressure_pa: evaluation.film.states.iter().map(|s| s.pressure_pa).collect(),
        contact_pressure_pa: coupled.contact_pressure_pa(&state.gap_m),
        temperature_k: evaluation.film.states.iter().map(|s| s.temperature_k).collect(),
        film_hottest_k: evaluation.film.hottest_k.clone(),
        boiling_temperature_k: boiling_temperatures(solved, evaluation),
        vapour_fraction: evaluation.film.states.iter().map(|s| s.vapour_mass_fraction).collect(),
        phase: evaluation.film.states.iter().map(|s| film_phase(s.phase)).collect(),
        rotating_face_temperature_k: evaluation.faces.temperature_k[0].clone(),
        stationary_face_temperature_k: evaluation.faces.temperature_k[1].clone(),
        rotating_flux_w_per_m2: evaluation.faces.flux_w_per_m2[0].clone(),
        stationary_flux_w_per_m2: evaluation.faces.flux_w_per_m2[1].clone(),
    }
}

fn film_phase(phase: Phase) -> FilmPhase {
    match phase {
        Phase::Liquid => FilmPhase::Liquid,
        Phase::TwoPhase => FilmPhase::Mixture,
        Phase::Vapour => FilmPhase::Gas,
        Phase::Supercritical => FilmPhase::Supercritical,
        Phase::LiquidMetastable => FilmPhase::Superheated,
    }
}

fn passage(solved: &Solved, evaluation: &Evaluation) -> Passage {
    let film = &evaluation.film;
    Passage {
        phase_changes: film.phase_changes.clone(),
        choked: film.choked,
        exit_pressure_pa: film.exit_pressure_pa,
        greatest_mach: film.greatest_mach,
        leakage_normal_m3_per_s: film.normal_m3_per_s(solved.fluid),
    }
}

/// Film force at a least gap of 10 um with the shape and temperatures of the equilibrium, over closing.
fn wide_gap_share(solved: &Solved, coupled: &Coupled, state: &State, evaluation: &Evaluation) -> f64 {
    let lift = WIDE_GAP_M - least(&state.gap_m);
    let gap: Vec<f64> = state.gap_m.iter().map(|h| h + lift).collect();
    let input = FilmInput {
        nodes: &coupled.pair.nodes,
        gap: Gap { profile_m: &gap, rate_m_per_s: None, field: coupled.field },
        fluid: coupled.fluid,
        inner_pressure_pa: coupled.inner_pressure_pa,
        outer_pressure_pa: coupled.outer_pressure_pa,
        entry_temperature_k: coupled.entry_temperature_k,
        face_temperature_k: &evaluation.faces.mean_k,
        speeds_rad_per_s: coupled.speeds_rad_per_s,
        roughness_m: coupled.contact.roughness_m,
        switches: coupled.switches,
    };
    let shift = solved.setting.reported_shift_n;
    // A textured film that leaves faster than sound is one whose textures hardly matter: then the plain one tells.
    let plain = FilmInput { gap: Gap { field: None, ..input.gap }, ..input };
    let wide = match film(&input, None) {
        Ok((wide, _)) if coupled.field.is_some() && wide.greatest_mach > 1.0 => film(&plain, None),
        found => found,
    };
    match wide {
        Ok((wide, _)) => (wide.force_n(&coupled.pair.nodes, coupled.base_pressure_pa) + shift) / (solved.setting.closing_force_n + shift),
        Err(_) => f64::MAX,
    }
}

/// Stresses, reactions, fits, and the balances that only the full fields can show.
fn add_fields(solved: &Solved, evaluation: &Evaluation, equilibrium: &mut Equilibrium, outcome: &mut DutyOutcome) {
    let (mut convected, mut exchanged) = (0.0, 0.0);
    let mut floating_reaction = 0.0;
    let state = |index: usize| {
        let conditions = &solved.surroundings.conditions[index];
        solved.rings[index].state(conditions, &evaluation.face_pressure_pa, &evaluation.faces.flux_w_per_m2[index])
    };
    let (rotating, stationary) = together(|| state(0), || state(1));
    for (index, state) in [rotating, stationary].into_iter().enumerate() {
        match state {
            Ok(state) => {
                convected += state.convected_heat_w;
                exchanged += state.exchanged_heat_w;
                let ring = if index == 0 { &solved.model().rotating_ring } else { &solved.model().stationary_ring };
                if ring.floating {
                    floating_reaction = state.reaction_n;
                }
                let result = if index == 0 { &mut equilibrium.rings.rotating } else { &mut equilibrium.rings.stationary };
                result.field = Some(field(solved, index, ring, &state));
                take_fields(result, state);
            }
            Err(error) => outcome.notices.push(crate::notice::Notice::caution("ring.fields", "", error.to_string(), "")),
        }
    }
    let made = equilibrium.heat_split_w.viscous + equilibrium.heat_split_w.contact;
    let following = Coupled::following(&solved.model().switches);
    if following.heat {
        equilibrium.balances.heat = (made - convected - equilibrium.heat_split_w.leak).abs() / made.max(exchanged).max(1.0);
    }
    equilibrium.balances.force = floating_reaction.abs() / equilibrium.closing_force_n.abs().max(1.0);
}

fn field(solved: &Solved, index: usize, ring: &Ring, state: &RingState) -> RingField {
    let mesh = solved.rings[index].mesh();
    let acts = if Coupled::following(&solved.model().switches).distortion { 1.0 } else { 0.0 };
    let lapped = super::setting::lapped_profile(solved.prepared, ring.lapped_coning_m);
    let whole: Vec<f64> = state.face_deflection_m.iter().zip(&lapped).map(|(deflection, lapped)| acts * deflection + lapped).collect();
    let inner = whole.first().copied().unwrap_or_default();
    let edge = state.face_deflection_m.first().copied().unwrap_or_default();
    RingField {
        nodes_m: mesh.nodes.clone(),
        elements: mesh.elements.iter().map(|element| element.nodes).collect(),
        temperature_k: state.temperature_k.clone(),
        axial_m: state.axial_deflection_m.iter().map(|axial| acts * (axial - edge)).collect(),
        face_radius_m: solved.surroundings.pair.nodes.radius_m.clone(),
        face_shape_m: whole.iter().map(|shape| shape - inner).collect(),
    }
}

fn take_fields(result: &mut RingResult, state: RingState) {
    result.stress_pa = state.stress;
    result.reaction_n = state.reaction_n;
    result.secondary_seal_temperature_k = state.secondary_seal_temperature_k;
    result.fits = state.fits;
}
