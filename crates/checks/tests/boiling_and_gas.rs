//! Would an engineer in the field believe it? Films that boil, gas films, standstill, reversed pressure and vacuum: signs, trends and
//! orders of magnitude, from case text to outcome.
//!
//! Trends are common practice, no source, unless one is named.

use halfmicron::case;
use halfmicron::film::{FilmAlone, film_alone};
use halfmicron::model::{ChamberTemperature, Model};
use halfmicron::outcome::{DutyOutcome, Equilibrium, Status};
use halfmicron::point::{Options, Prepared};

const FEED_PUMP: &str = include_str!("../../../cases/feed-pump.toml");
const BLOWER: &str = include_str!("../../../cases/nitrogen-blower.toml");
const CONDENSATE: &str = include_str!("../../../cases/vacuum-condensate.toml");

const LEAST: Options = Options { search: true, ranges: false, fields: false, margins: false, at_rest: false, waves: false };

fn lowered(text: &str) -> Model {
    case::parse(text).and_then(|case| case.model()).unwrap_or_else(|error| panic!("{error}"))
}

fn with(text: &str, settings: &[(&str, &str)]) -> Model {
    lowered(&case::with_settings(text, settings).unwrap_or_else(|error| panic!("{error}")))
}

/// The equilibrium alone, without ranges, fields and margins: trends need no more.
fn duty(model: &Model, name: &str) -> DutyOutcome {
    let prepared = Prepared::new(model).unwrap_or_else(|error| panic!("{error}"));
    let duty = model.duties.iter().find(|duty| duty.name == name).unwrap_or_else(|| panic!("no duty {name}"));
    prepared.solve_with(duty, None, LEAST).0
}

fn chosen(duty: &DutyOutcome) -> Equilibrium {
    assert_eq!(duty.status, Status::Solved, "{}: {}", duty.name, duty.reason);
    duty.equilibria[duty.chosen.expect("a solved duty has a chosen equilibrium")].clone()
}

/// One duty under each of several settings that leave the rings as they are, each followed from the one before.
fn followed(text: &str, key: &str, values: &[&str], name: &str) -> Vec<Equilibrium> {
    let prepared = Prepared::new(&with(text, &[])).unwrap_or_else(|error| panic!("{error}"));
    let mut start = None;
    let follow = |value: &&str| {
        let model = with(text, &[(key, value)]);
        let duty = model.duties.iter().find(|duty| duty.name == name).unwrap_or_else(|| panic!("no duty {name}")).clone();
        let options = Options { search: start.is_none(), ..LEAST };
        let (outcome, state) = prepared.with_model(model).solve_with(&duty, start.as_ref(), options);
        start = state;
        chosen(&outcome)
    };
    values.iter().map(follow).collect()
}

fn point(text: &str, settings: &[(&str, &str)], name: &str) -> Equilibrium {
    chosen(&duty(&with(text, settings), name))
}

fn falls(values: &[f64]) -> bool {
    values.windows(2).all(|pair| pair[1] < pair[0])
}

fn rises(values: &[f64]) -> bool {
    values.windows(2).all(|pair| pair[1] > pair[0])
}

/// A parallel film between rigid smooth faces, 100 to 120 mm, at rest.
fn parallel(fluid: &str, pressure: &str, temperature: &str, gap_m: f64, switches: &str) -> Model {
    let mut model = lowered(&format!(
        "halfmicron = 1\n{fluid}\n[[duty]]\nname = \"film\"\nspeed = \"0 rpm\"\npressure = \"{pressure}\"\nlow_pressure = \"0 bar(g)\"\n\
         temperature = \"{temperature}\"\n[seal]\npressure_side = \"outside\"\n[gap]\nthickness = \"1 um\"\n\
         face = {{ inner = \"100 mm\", outer = \"120 mm\" }}\n[switches]\n{switches}"
    ));
    let gap = model.gap.as_mut().expect("a gap");
    (gap.inner_m, gap.outer_m) = (gap_m, gap_m);
    model
}

fn film(model: &Model) -> FilmAlone {
    film_alone(model, &model.duties[0]).unwrap_or_else(|error| panic!("{error}"))
}

const AIR: &str = "[gas]\ngas_constant = \"287.05 J/(kg K)\"\nviscosity = \"18 uPa s\"";
const WATER: &str = "[fluid]\nname = \"water\"";
/// Steam at 175 degC as an ideal gas: viscosity 14.9 uPa s (IAPWS 2008 gives 14.9 at 0.1 MPa).
const STEAM: &str = "[gas]\ngas_constant = \"461.5 J/(kg K)\"\nviscosity = \"14.9 uPa s\"";

/// Vapour takes hundreds of times the room of the liquid: where the film boils on its way out, the pressure must fall there, so it stays
/// high before, and the film carries more than one of liquid alone or of vapour alone (Lebeck, J. Lub. Tech. 102 (1980) 133, as cited
/// in the open literature of boiling films; check P1 has 0.877 of the pressure difference against 0.68 to 0.70 of gas).
#[test]
fn a_boiling_film_carries_more_than_liquid_or_vapour_alone() {
    for gap_m in [0.5e-6, 1e-6, 2e-6] {
        let force = |fluid: &str, switches: &str| film(&parallel(fluid, "12 bar(g)", "175 degC", gap_m, switches)).force_n;
        let boiling = force(WATER, "");
        let (liquid, vapour) = (force(WATER, "flashing = \"frozen\"\n"), force(STEAM, ""));
        println!("{:.1} um: boiling {boiling:.0} N, liquid {liquid:.0} N, vapour {vapour:.0} N", 1e6 * gap_m);
        assert!(liquid < vapour && vapour < boiling, "{gap_m:e}: {liquid} {vapour} {boiling}");
    }
}

/// Flow of gas over upstream pressure: viscous `p1^2 - p2^2` falls toward the first power where the film is so thick that it chokes and
/// the entry decides.
#[test]
fn the_exponent_of_gas_leakage_falls_from_two_toward_one() {
    let pressures = [0.5, 1.0, 2.0, 4.0, 8.0];
    let exponents = |gap_m: f64| -> Vec<f64> {
        let flow = |mpa: f64| film(&parallel(AIR, &format!("{mpa} MPa(a)"), "27 degC", gap_m, "turbulence = false\n")).leakage_kg_per_s;
        let flows: Vec<f64> = pressures.iter().map(|mpa| flow(*mpa)).collect();
        flows.windows(2).map(|pair| (pair[1] / pair[0]).log2()).collect()
    };
    let (thin, thick) = (exponents(2e-6), exponents(20e-6));
    println!("2 um: {thin:.3?}; 20 um: {thick:.3?}");
    // Thin: two, less a little for the entry; slip, which counts most at low pressure, takes the rest.
    assert!(thin.iter().all(|exponent| (1.97..2.02).contains(exponent)), "{thin:?}");
    // Thick: falling all the way, toward one and never below.
    assert!(falls(&thick) && thick[3] < 1.25 && thick[3] > 1.0, "{thick:?}");
}

/// A parallel film that chokes pushes back (Zuk, Ludwig and Johnson, NASA TN D-6668, 1972, abstract: positive stiffness when choked), but
/// only because of the loss at the entry: the wider the gap, the faster the flow and the more pressure is lost before the film begins.
/// Without any drop at the entry the choked exit pressure rises with the gap and the film pulls.
#[test]
fn a_choked_parallel_film_pushes_back_only_by_its_entry_loss() {
    let stiffness = |gap_m: f64, loss: f64| {
        let mut model = parallel(AIR, "4 MPa(a)", "27 degC", gap_m, "turbulence = false\n");
        model.switches.entry_loss = loss;
        film(&model).stiffness_n_per_m
    };
    // A loss of minus one takes the whole drop away, the dynamic pressure as well.
    for gap_m in [4e-6, 6e-6, 10e-6, 15e-6] {
        assert!(stiffness(gap_m, -1.0) < 0.0, "{gap_m:e}");
    }
    let crossing = |loss: f64| {
        let (mut pulls, mut pushes) = (4e-6, 40e-6);
        assert!(stiffness(pulls, loss) < 0.0 && stiffness(pushes, loss) > 0.0, "{} {}", stiffness(pulls, loss), stiffness(pushes, loss));
        while pushes - pulls > 0.01e-6 {
            let middle = 0.5 * (pulls + pushes);
            if stiffness(middle, loss) < 0.0 { pulls = middle } else { pushes = middle }
        }
        0.5 * (pulls + pushes)
    };
    let crossings: Vec<f64> = [0.0, 0.5, 1.0].map(crossing).to_vec();
    println!("gap at which a choked parallel film begins to push back, entry loss 0, 0.5, 1: {crossings:?} m");
    assert!(falls(&crossings), "the more loss, the earlier: {crossings:?}");
    assert!(crossings.iter().all(|gap_m| (8e-6..40e-6).contains(gap_m)), "{crossings:?}");
}

/// Litres a minute, not millilitres: a gas film of 3 um, counted at 0 degC and 101 325 Pa.
#[test]
fn a_gas_film_of_three_micrometres_leaks_litres_per_minute() {
    let normal_litres_per_minute = |kg_per_s: f64| kg_per_s / 1.2929 * 6e4;
    let leak = normal_litres_per_minute(film(&parallel(AIR, "10 bar(g)", "27 degC", 3e-6, "")).leakage_kg_per_s);
    println!("3 um of air, 100 to 120 mm, 10 bar(g): {leak:.2} L/min");
    assert!((0.5..20.0).contains(&leak), "{leak}");
}

/// Smooth coned faces on gas: apart by some micrometres turning or not, litres a minute, watts of friction. Closing a cone narrows its
/// exit more than its entry, so the film carries more and pushes back.
#[test]
fn a_coned_gas_seal_lifts_by_itself_and_leaks_litres() {
    for name in ["normal", "standstill"] {
        let seal = point(BLOWER, &[], name);
        let litres = seal.passage.leakage_normal_m3_per_s.expect("gas leaves") * 6e4;
        println!("blower, {name}: {:.2} um, {litres:.2} L/min, {:.1} W", 1e6 * seal.minimum_film_m.nominal, seal.power_w.nominal);
        assert!((2e-6..5e-6).contains(&seal.minimum_film_m.nominal) && seal.contact_share.nominal == 0.0);
        assert!((0.5..20.0).contains(&litres), "{litres}");
        assert!(seal.stable && seal.film_stiffness_n_per_m.frozen < 0.0 && seal.power_w.nominal < 50.0);
    }
    // Without its cone the same seal has nothing that opens it: it rests on its asperities.
    let flat = point(BLOWER, &[("stationary_ring.lapped_coning", "0 um")], "normal");
    assert!(flat.minimum_film_m.nominal < 0.7 * point(BLOWER, &[], "normal").minimum_film_m.nominal, "{:?}", flat.minimum_film_m);
}

/// A result names the law of slip where gas passes and not where only liquid does, and the same with turbulence.
#[test]
fn results_name_slip_and_turbulence_where_they_count() {
    let named = |text: &str, settings: &[(&str, &str)], id: &str| {
        let duty = duty(&with(text, settings), "normal");
        assert_eq!(duty.status, Status::Solved, "{}", duty.reason);
        duty.models.iter().filter(|model| *model == id).count()
    };
    assert_eq!(named(BLOWER, &[], "film.slip"), 1);
    assert_eq!(named(BLOWER, &[("switches.slip", "none")], "film.slip"), 0);
    let cold = ("duty.normal.temperature", "40 degC");
    assert_eq!(named(FEED_PUMP, &[cold], "film.slip"), 0);
    assert_eq!(named(FEED_PUMP, &[cold], "film.turbulence"), 0);
}

/// More cone, more gap, more leakage.
#[test]
fn a_deeper_cone_opens_a_gas_seal() {
    let seals = followed(BLOWER, "stationary_ring.lapped_coning", &["1.5 um", "2 um", "2.5 um", "3 um"], "normal");
    assert!(rises(&seals.iter().map(|seal| seal.minimum_film_m.nominal).collect::<Vec<_>>()));
    assert!(rises(&seals.iter().map(|seal| seal.leakage_kg_per_s.nominal).collect::<Vec<_>>()));
}

/// Common practice (no source) keeps water 15 to 20 K below boiling at chamber pressure to keep a seal from flashing. The film of the feed
/// pump starts to boil much earlier, with the chamber about 150 K below boiling, and both are right: the chamber boils at 232 degC under
/// 28 bar(g), but the film ends at the atmosphere, where water boils at 100 degC, and the faces run some twenty kelvin above the chamber.
/// So a little vapour at the inner edge is the ordinary state of hot-water seals above a chamber of about 80 degC; what 15 to 20 K keep
/// away is vapour that reaches across the band and opens the faces. The number for that is the margin to the jump, not this one.
#[test]
fn the_feed_pump_film_starts_to_boil_long_before_its_chamber() {
    let prepared = Prepared::new(&with(FEED_PUMP, &[])).unwrap_or_else(|error| panic!("{error}"));
    let mut model = prepared.model().clone();
    let at = model.duties.iter().position(|duty| duty.name == "normal").expect("a normal duty");
    let mut start = None;
    let mut seal_at = |celsius: f64| {
        model.duties[at].temperature = ChamberTemperature::Stated(celsius + 273.15);
        let options = Options { search: start.is_none(), ..LEAST };
        let (duty, state) = prepared.with_model(model.clone()).solve_with(&model.duties[at], start.as_ref(), options);
        start = state;
        chosen(&duty)
    };
    let (mut dry, mut wet) = (60.0, 90.0);
    assert!(seal_at(dry).vapour_fraction_max == 0.0 && seal_at(wet).vapour_fraction_max > 0.0);
    while wet - dry > 0.1 {
        let middle = 0.5 * (dry + wet);
        if seal_at(middle).vapour_fraction_max > 0.0 { wet = middle } else { dry = middle }
    }
    let seal = seal_at(dry);
    let subcooling_k = seal.chamber_margin_k.expect("water has vapour data");
    let rise_k = seal.face_temperature_max_k.nominal - (dry + 273.15);
    println!(
        "the film starts to boil at {dry:.1} degC in the chamber, {subcooling_k:.0} K below boiling there; faces {rise_k:.1} K hotter"
    );
    assert!((130.0..170.0).contains(&subcooling_k), "{subcooling_k}");
    // The edge boils where the face there reaches 100 degC: chamber plus rise.
    assert!((dry + rise_k - 100.0).abs() < 6.0, "{dry} + {rise_k}");
}

/// At rest asperities carry part of the load and the leak creeps through the roughness: rougher faces leak more, more spring less.
#[test]
fn at_rest_the_roughness_carries_and_leaks() {
    let leaks = |key: &str, values: &[&str]| -> Vec<f64> {
        let seals = followed(FEED_PUMP, key, values, "static test");
        for seal in &seals {
            assert!(seal.contact_share.nominal > 0.2 && seal.minimum_film_m.nominal < 0.2e-6, "{:?}", seal.contact_share);
            assert!(seal.leakage_kg_per_s.nominal > 0.0);
        }
        seals.iter().map(|seal| seal.leakage_kg_per_s.nominal).collect()
    };
    let rough = leaks("stationary_ring.roughness", &["Ra 0.05 um", "Ra 0.08 um", "Ra 0.12 um"]);
    assert!(rises(&rough), "{rough:?}");
    let pressed = leaks("seal.spring_force", &["200 N", "360 N", "1500 N"]);
    assert!(falls(&pressed), "{pressed:?}");
}

/// Under vacuum the ambient presses from inside: the secondary seal moves, the ring stays shut by springs and pressure, asperities carry
/// most, and air or water is drawn inward. Numbers by hand: area 1335.2 mm2, balance ratio 0.874, closing 0.250 MPa.
#[test]
fn reversed_pressure_keeps_the_condensate_seal_shut() {
    let model = with(CONDENSATE, &[]);
    for (name, margin_k) in [("standby under vacuum", 9.4), ("vacuum hold test", 28.3)] {
        let duty = duty(&model, name);
        let seal = chosen(&duty);
        assert!(duty.conditions.reverse_pressure && (duty.hand.balance_ratio - 0.874).abs() < 1e-3);
        assert!((seal.closing_force_n / 1335.2e-6 - 0.250e6).abs() < 0.002e6, "{}", seal.closing_force_n);
        assert!(seal.contact_share.nominal > 0.5 && seal.minimum_film_m.nominal < 0.3e-6);
        assert!(seal.leakage_kg_per_s.nominal > 0.0, "from the higher to the lower pressure, which is inward");
        assert!((seal.chamber_margin_k.expect("water") - margin_k).abs() < 0.1);
        assert_eq!(seal.vapour_fraction_max, 0.0, "colder than boiling at the vacuum");
    }
    // Had the secondary seal not moved, less would hold the ring, but enough: 0.195 MPa.
    let fixed = point(CONDENSATE, &[("seal.reverse_balance_diameter", "82.6 mm")], "standby under vacuum");
    assert!((fixed.closing_force_n / 1335.2e-6 - 0.195e6).abs() < 0.002e6, "{}", fixed.closing_force_n);
}
