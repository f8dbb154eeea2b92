//! A hand-made case with a hand-made outcome: what the rules and the sheet are tested against.

use std::sync::Arc;

use halfmicron_properties::Fluid;

use crate::hand::{Chamber, hand};
use crate::model::*;
use crate::outcome::*;

use super::facts::FluidFacts;
use super::view::{CaseView, DutyView};
use super::{Judge, Skip, rule, verdict};

/// A case, its outcome, and the few fluid facts that a test sets by hand.
pub(crate) struct Bench {
    pub(crate) model: Model,
    pub(crate) outcome: Outcome,
    pub(crate) specific_heat: Option<f64>,
    pub(crate) vapour_pressure: Option<f64>,
    pub(crate) toxic: bool,
    pub(crate) flammable: bool,
    pub(crate) freezes: Option<f64>,
}

impl Bench {
    /// The brine booster of the scenario at its normal duty, with round solved numbers.
    pub(crate) fn booster() -> Self {
        Self::with_faces("carbon graphite, resin impregnated", "silicon carbide, sintered")
    }

    pub(crate) fn with_faces(rotating: &str, stationary: &str) -> Self {
        let model = model(rotating, stationary);
        let duty = duty_outcome(&model, &model.duties[0]);
        let outcome = Outcome {
            title: model.title.clone(),
            duties: vec![duty],
            notices: Vec::new(),
            verdicts: Vec::new(),
            provenance: Provenance {
                version: "0.1.0".to_owned(),
                case_hash: "0123456789abcdef".to_owned(),
                data_version: "1".to_owned(),
                seed: None,
            },
        };
        Self { model, outcome, specific_heat: Some(3845.0), vapour_pressure: Some(6.4e3), toxic: false, flammable: false, freezes: None }
    }

    pub(crate) fn duty_mut(&mut self) -> &mut Duty {
        &mut self.model.duties[0]
    }

    pub(crate) fn outcome_mut(&mut self) -> &mut DutyOutcome {
        &mut self.outcome.duties[0]
    }

    pub(crate) fn equilibrium_mut(&mut self) -> &mut Equilibrium {
        &mut self.outcome.duties[0].equilibria[0]
    }

    pub(crate) fn add_duty(&mut self, name: &str, change: impl FnOnce(&mut Duty)) {
        let mut duty = self.model.duties[0].clone();
        duty.name = name.to_owned();
        change(&mut duty);
        let mut outcome = self.outcome.duties[0].clone();
        outcome.name = name.to_owned();
        self.model.duties.push(duty);
        self.outcome.duties.push(outcome);
    }

    pub(crate) fn rename(&mut self, name: &str) {
        self.model.duties[0].name = name.to_owned();
        self.outcome.duties[0].name = name.to_owned();
    }

    pub(crate) fn lose_solution(&mut self, reason: &str) {
        let duty = self.outcome_mut();
        duty.status = Status::NotConverged;
        duty.reason = reason.to_owned();
        duty.chosen = None;
        duty.equilibria.clear();
    }

    fn with_facts<'a>(&self, mut view: DutyView<'a>) -> DutyView<'a> {
        let name = &view.outcome.conditions.fluid;
        let conditions = &view.outcome.conditions;
        // A fluid that the library does not hold is one of which nothing but its name is known.
        let known = Fluid::named(name).map_or_else(
            |_| FluidFacts::named(name),
            |fluid| FluidFacts::of(&fluid, name, conditions.pressure_pa, conditions.chamber_temperature_k, conditions.low_pressure_pa),
        );
        view.fluid = FluidFacts {
            specific_heat_j_per_kg_k: self.specific_heat,
            vapour_pressure_pa: self.vapour_pressure,
            toxic: self.toxic,
            flammable: self.flammable,
            freezes_k: self.freezes,
            ..known
        };
        view
    }
}

/// Word that a rule gives to the first duty (or to the case); none where it does not apply.
pub(crate) fn word_of(bench: &Bench, id: &str) -> Option<Word> {
    verdict_of(bench, id).map(|verdict| verdict.word)
}

/// Reason that a rule gives.
pub(crate) fn reason_of(bench: &Bench, id: &str) -> String {
    verdict_of(bench, id).map(|verdict| verdict.reason).unwrap_or_default()
}

fn verdict_of(bench: &Bench, id: &str) -> Option<Verdict> {
    let rule = rule(id).unwrap_or_else(|| panic!("no rule {id}"));
    let judged = match rule.judge {
        Judge::Duty(function) => {
            let view = DutyView::new(&bench.model, &bench.model.duties[0], &bench.outcome.duties[0]);
            function(&bench.with_facts(view))
        }
        Judge::Case(function) => {
            let mut view = CaseView::new(&bench.model, &bench.outcome);
            view.duties = view.duties.into_iter().map(|duty| bench.with_facts(duty)).collect();
            function(&view)
        }
    };
    if let Err(Skip::NotComputed(reason)) = &judged {
        assert!(!reason.is_empty(), "{id}: not computed without a reason");
    }
    verdict(rule, judged)
}

fn rectangle(r: [f64; 2], z: [f64; 2]) -> [[f64; 2]; 4] {
    [[r[0], z[0]], [r[1], z[0]], [r[1], z[1]], [r[0], z[1]]].map(|corner| corner.map(|mm| mm * 1e-3))
}

fn part(material: &str, r: [f64; 2], z: [f64; 2]) -> Part {
    Part { material: super::facts::library_material(material), corners_m: rectangle(r, z), fit: None }
}

fn ring(role: RingRole, floating: bool, parts: Vec<Part>, secondary_seal_m: [f64; 2]) -> Ring {
    Ring {
        role,
        floating,
        parts,
        support: if floating { Support::SpringCircle } else { Support::Annulus { radius_m: [24.5e-3, 29e-3], z_m: 12e-3 } },
        spring_radius_m: 30e-3,
        secondary_seal_m,
        roughness_rq_m: 0.125e-6,
        flatness_m: 0.588e-6,
        lapped_coning_m: 0.0,
        edges: Vec::new(),
        stress_free_temperature_k: 293.15,
        fillet_radius_m: None,
        face_load: FaceLoad::default(),
    }
}

fn model(rotating: &str, stationary: &str) -> Model {
    let nose = vec![
        part(rotating, [24.45, 30.8], [0.0, 2.5]),
        part(rotating, [24.45, 35.0], [2.5, 9.0]),
        part(rotating, [26.35, 35.0], [9.0, 15.0]),
    ];
    let seat = vec![part(stationary, [23.7, 33.5], [0.0, 6.0]), part(stationary, [23.7, 30.0], [6.0, 12.0])];
    Model {
        title: "Brine booster pump, drive end".to_owned(),
        machine: Machine {
            kind: "centrifugal pump".to_owned(),
            shaft_diameter_m: Some(45e-3),
            face_runout_m: Some(30e-6),
            end_play_m: Some(0.1e-3),
        },
        fluid: Arc::new(super::facts::library_fluid("sea water, salinity 70 g/kg")),
        duties: vec![Duty {
            name: "normal".to_owned(),
            fluid: None,
            speed_rad_per_s: 2960.0 * std::f64::consts::PI / 30.0,
            pressure_pa: 1.2e6,
            low_pressure_pa: 0.1e6,
            temperature: ChamberTemperature::Stated(311.15),
            hours_per_year: Some(7800.0),
            observed: Observed::default(),
        }],
        seal: Seal {
            pressure_side: PressureSide::Outside,
            balance_radius_m: 26.2e-3,
            reverse_balance_radius_m: 29.3e-3,
            spring_force_n: 190.0,
            rotating_spring: true,
            secondary_seal: SecondarySeal {
                kind: SecondarySealKind::ORing,
                material: "EPDM".to_owned(),
                friction: SecondaryFriction::Given(20.0),
            },
            flush_m3_per_s: Some(1e-4),
            heat_soak_w: 0.0,
        },
        rotating_ring: ring(RingRole::Rotating, true, nose, [26.35e-3, 15e-3]),
        stationary_ring: ring(RingRole::Stationary, false, seat, [30e-3, 9e-3]),
        narrow_ring: RingRole::Rotating,
        band: BandLimits { inner_radius_m: 24.45e-3, outer_radius_m: 30.8e-3 },
        textures: Vec::new(),
        contact: Contact {
            eta_beta_sigma: 0.05,
            sigma_over_beta: 0.001,
            boundary_friction: [0.06, 0.1, 0.14],
            plastic_pressure_pa: 300e6,
            wear_per_pa: None,
            pv_limit_pa_m_per_s: Some(17.5e6),
            source: "handbook habit and memory".to_owned(),
        },
        supply: Supply { arrangement: "single".to_owned(), ..Supply::default() },
        limits: Limits { leakage_m3_per_s: Some(10e-6 / 3600.0), ..Limits::default() },
        switches: Switches::default(),
        gap: None,
        notices: Vec::new(),
        moving: Moving::default(),
        case_hash: "0123456789abcdef".to_owned(),
    }
}

/// A solved duty with round numbers, near to what the scenario's hand table expects.
fn duty_outcome(model: &Model, duty: &Duty) -> DutyOutcome {
    DutyOutcome {
        name: duty.name.clone(),
        status: Status::Solved,
        reason: String::new(),
        chosen: Some(0),
        chosen_reason: "the only one".to_owned(),
        hand: hand(model, duty, Chamber { viscosity_pa_s: 0.8e-3, gas: false }, None),
        conditions: Conditions {
            fluid: "sea water, salinity 70 g/kg".to_owned(),
            speed_rad_per_s: duty.speed_rad_per_s,
            pressure_pa: duty.pressure_pa,
            low_pressure_pa: duty.low_pressure_pa,
            chamber_temperature_k: 311.15,
            balance_radius_m: model.seal.balance_radius_m,
            reverse_pressure: false,
            turning: true,
            chamber_saturation_k: Some(463.0),
            chamber_viscosity_pa_s: 0.8e-3,
            chamber_density_kg_per_m3: 1045.0,
            hours_per_year: duty.hours_per_year,
        },
        equilibria: vec![equilibrium()],
        margins: None,
        trace: Vec::new(),
        notices: Vec::new(),
        verdicts: Vec::new(),
        models: vec!["film.axisymmetric".to_owned()],
        work: Work::default(),
        model_spread: None,
    }
}

fn equilibrium() -> Equilibrium {
    let ring = |face: f64| RingResult {
        coning_m: Coning::default(),
        heat_w: 100.0,
        face_temperature_max_k: face,
        face_rise_k: 15.0,
        stress_pa: Stress { tension_max: 1e6, tension_at_m: [25e-3, 5e-3], ..Stress::default() },
        reaction_n: 0.0,
        secondary_seal_temperature_k: 313.15,
        fits: Vec::new(),
        field: None,
    };
    let radius = vec![24.45e-3, 27.6e-3, 30.8e-3];
    Equilibrium {
        stable: true,
        stable_with_heat_frozen: true,
        inner_gap_m: 0.4e-6,
        minimum_film_m: Ranged { low: 0.35e-6, nominal: 0.47e-6, high: 0.62e-6 },
        mean_film_m: Ranged { low: 0.5e-6, nominal: 0.65e-6, high: 0.8e-6 },
        leakage_kg_per_s: Ranged { low: 0.6e-6, nominal: 1.16e-6, high: 2.3e-6 },
        leakage_m3_per_s: Ranged { low: 0.57e-9, nominal: 1.11e-9, high: 2.2e-9 },
        leakage_is_lower_bound: true,
        with_wave: None,
        torque_n_m: Ranged { low: 0.6, nominal: 0.75, high: 0.95 },
        break_away_torque_n_m: Some(Ranged { low: 1.8, nominal: 2.9, high: 3.6 }),
        power_w: Ranged { low: 186.0, nominal: 232.0, high: 294.0 },
        contact_share: Ranged { low: 0.05, nominal: 0.12, high: 0.2 },
        opening_force_n: 1096.0,
        closing_force_n: 1096.0,
        film_force_n: 964.5,
        contact_force_n: 131.5,
        pressure_profile_factor: Some(0.62),
        coning_m: Coning { total: 0.5e-6, elastic: -0.15e-6, thermal: 0.65e-6, lapped: 0.0, worn: 0.0 },
        coning_fit_m: 0.49e-6,
        rings: RingPair { rotating: ring(330.0), stationary: ring(329.0) },
        face_temperature_max_k: Ranged { low: 322.0, nominal: 330.0, high: 345.0 },
        film_temperature_max_k: Ranged { low: 322.0, nominal: 330.5, high: 346.0 },
        boiling_margin_k: Some(Ranged { low: 25.0, nominal: 41.0, high: 50.0 }),
        chamber_margin_k: Some(151.9),
        boiling_margin_pa: Some(0.08e6),
        boiling_margin_reason: String::new(),
        vapour_fraction_max: 0.0,
        passage: Passage::default(),
        film_stiffness_n_per_m: Stiffness { coupled: -1.2e9, thermally_frozen: -1.0e9, frozen: -0.9e9 },
        heat_split_w: HeatSplit { viscous: 150.0, contact: 82.0, rotating: 40.0, stationary: 191.0, leak: 1.0 },
        pv_pa_m_per_s: 2.7e6,
        regime: Regime::Mixed,
        film_parameter: 3.6,
        duty_parameter: 3e-8,
        reynolds: Reynolds { couette: 8.0, pressure: 0.01 },
        friction_band: FrictionBand {
            friction_n: [5.0, 20.0, 45.0],
            closing_force_n: [1116.0, 1076.0],
            minimum_film_m: [Some(0.44e-6), Some(0.5e-6)],
            leakage_kg_per_s: [Some(1.0e-6), Some(1.3e-6)],
            face_temperature_max_k: [Some(330.8), Some(329.3)],
        },
        profiles: Profiles {
            gap_m: vec![0.47e-6, 0.65e-6, 0.97e-6],
            pressure_pa: vec![0.1e6, 0.8e6, 1.2e6],
            contact_pressure_pa: vec![0.3e6, 0.1e6, 0.0],
            temperature_k: vec![330.0, 330.5, 328.0],
            rotating_face_temperature_k: vec![330.0, 330.0, 328.0],
            stationary_face_temperature_k: vec![329.0, 329.0, 327.0],
            rotating_flux_w_per_m2: vec![4e4, 4e4, 4e4],
            stationary_flux_w_per_m2: vec![1.7e5, 1.7e5, 1.7e5],
            radius_m: radius,
            ..Profiles::default()
        },
        film_field: None,
        balances: Balances { mass: 1e-12, force: 2e-10, heat: 3e-10 },
        wear_rate_m_per_s: Some(Ranged { low: 1e-14, nominal: 1e-13, high: 1e-12 }),
        wide_gap_force_share: 0.9,
    }
}
