//! Inserts shrunk into a carrier and pressed home on its floor.

use halfmicron_numerics::mesh::MeshError;

use super::*;

const CARBON: (f64, f64) = (25e9, 4.5e-6);

fn carbon() -> Solid {
    solid("carbon", CARBON.0, 0.2, CARBON.1, 1820.0, 9.0)
}

fn carrier(expansion: f64) -> Solid {
    solid("carrier", 200e9, 0.3, expansion, 7800.0, 40.0)
}

/// The rings of E5 with a floor behind the carbon: wall and floor are one body, the insert `length` mm long.
fn pressed_home(length: f64, interference: f64, expansion: f64) -> RingReduction {
    let mut ring = ring(
        RingRole::Rotating,
        true,
        &[([25.0, 35.0], [0.0, length]), ([35.0, 45.0], [0.5, length]), ([24.0, 45.0], [length, length + 6.0])],
        [44.0, length + 6.0],
    );
    ring.spring_radius_m = 0.035;
    ring.parts[1].fit = Some(Fit { radius_m: 0.035, interference_m: interference, temperature_k: 293.15 });
    let limits = BandLimits { inner_radius_m: 0.026, outer_radius_m: 0.034 };
    let solids = [carbon(), carrier(expansion), carrier(expansion)];
    RingReduction::with_solids(&ring, &solids, &limits, PressureSide::Outside, &MeshOptions::default()).unwrap()
}

fn none(reduction: &RingReduction) -> Vec<f64> {
    vec![0.0; reduction.band().radius_m.len()]
}

/// E5 far from the floor: bore -42.5338 um for 10.4164406 MPa (Lame, in any text; closed form). The insert slides along the
/// cylinder as the closed form does.
#[test]
fn far_from_the_floor_it_is_lame() {
    let reduction = pressed_home(90.0, 0.05e-3, 2e-6);
    let none = none(&reduction);
    let state = reduction.state(&uniform(293.15), &none, &none).unwrap();
    let bore = state.displacement_m[reduction.mesh().nearest_node([0.025, 0.035])][0];
    assert!((bore / -42.5338e-6 - 1.0).abs() < 2e-3, "{bore:e}");
    let fit = &state.fits[0];
    assert!((fit.pressure_pa / 10.4164406e6 - 1.0).abs() < 0.05, "{}", fit.pressure_pa);
    assert!((fit.interference_m / 0.05e-3 - 1.0).abs() < 1e-6, "{}", fit.interference_m);
    let torque = 0.1 * fit.pressure_pa * 2.0 * std::f64::consts::PI * 0.035 * 0.0895 * 0.035;
    assert!((fit.slip_torque_n_m / torque - 1.0).abs() < 1e-9);
    // a carrier that expands less grips harder when hot
    assert!(fit.loosening_temperature_k.is_none());
    let hot = reduction.state(&uniform(493.15), &none, &none).unwrap();
    let gained = 0.035 * 200.0 * 2.5e-6;
    assert!((hot.fits[0].interference_m - 0.05e-3 - gained).abs() < 1e-9, "{}", hot.fits[0].interference_m);
}

/// Loosened, the insert expands as if alone although the floor and the face press on it: exact without loads.
#[test]
fn the_floor_leaves_the_insert_free_to_slide() {
    let reduction = pressed_home(12.0, 0.005e-3, 12e-6);
    let none = none(&reduction);
    let rise = 150.0;
    let state = reduction.state(&uniform(293.15 + rise), &none, &none).unwrap();
    assert_eq!(state.fits[0].slip_torque_n_m, 0.0);
    let mesh = reduction.mesh();
    for element in mesh.elements.iter().filter(|element| element.material == 0) {
        for node in element.nodes {
            let free = CARBON.1 * rise * mesh.nodes[node][0];
            assert!((state.displacement_m[node][0] - free).abs() < 1e-6 * free, "{:?}", mesh.nodes[node]);
        }
    }
    assert!(state.stress.von_mises_max < 1e3, "{}", state.stress.von_mises_max);
}

/// The whole ring balances, the floor takes what the face presses, and no side pulls on the other.
#[test]
fn the_floor_takes_the_axial_force() {
    let reduction = pressed_home(12.0, 0.05e-3, 2e-6);
    let n = reduction.band().radius_m.len();
    let conditions = RingConditions { speed_rad_per_s: 300.0, friction_force_n: 20.0, ..conditions(1e6, 0.028, 200.0, 3000.0) };
    let (pressure, flux) = (vec![1.2e6; n], vec![1e5; n]);
    let state = reduction.state(&conditions, &pressure, &flux).unwrap();
    let face: f64 = pressure.iter().zip(&reduction.band().weight_m2).map(|(p, w)| p * w).sum();
    assert!((state.reaction_n - state.applied_force_n).abs() < 1e-8 * face, "{} {}", state.reaction_n, state.applied_force_n);
    assert!(state.unbalanced_n < 1e-8 * face, "{}", state.unbalanced_n);
    // heat crosses floor and cylinder on its way to the wetted carrier
    assert!((state.convected_heat_w / state.face_heat_w - 1.0).abs() < 1e-8);
    let mesh = reduction.mesh();
    for twin in &mesh.twins {
        assert_eq!(state.temperature_k[twin.inner], state.temperature_k[twin.outer]);
        let [inner, outer] = [twin.inner, twin.outer].map(|node| state.displacement_m[node]);
        if let Some(beyond) = twin.plane {
            let [front, back] = twin.ordered(beyond).map(|node| state.displacement_m[node][1]);
            assert!(back - front > -1e-13, "the sides overlap by {:e}", front - back);
        }
        assert!(twin.cylinder.is_none() || outer[0] - inner[0] > 0.05e-3 - 1e-12);
    }
    assert!(mesh.twins.iter().any(|twin| twin.plane.is_some() && twin.fit.is_some()), "a corner belongs to both");
    let response = reduction.respond_about(&conditions, &pressure, &flux).unwrap();
    for i in 0..n {
        let at = |k: usize| {
            response.elastic_deflection_m[k]
                + response.thermal_deflection_m[k]
                + (0..n)
                    .map(|j| response.deflection_per_pressure[(k, j)] * pressure[j] + response.deflection_per_flux[(k, j)] * flux[j])
                    .sum::<f64>()
        };
        let (a, b) = (at(i) - at(0), state.face_deflection_m[i] - state.face_deflection_m[0]);
        assert!((a - b).abs() < 1e-12, "{i}: {a:e} {b:e}");
    }
}

/// The fluid wets the whole outside, over the mouth of the fit, up to the secondary seal: closing areas follow from radii.
#[test]
fn the_perimeter_runs_over_both_bodies() {
    let reduction = pressed_home(12.0, 0.05e-3, 2e-6);
    // from the outer end of the band (34 mm) to the secondary seal (44 mm) at the back
    let area = std::f64::consts::PI * (0.044 * 0.044 - 0.034 * 0.034);
    assert!((reduction.section.projected_area_m2().abs() / area - 1.0).abs() < 1e-9);
    let inside = reduction.surfaces().iter().filter(|s| s.wetting == Wetting::Dry).count();
    assert_eq!(inside, 0);
}

/// The thermal-oil case: 0.06 mm at 20 degC, of which about 0.02 mm are lost at 320 degC (the scenario's own words).
#[test]
fn thermal_oil_keeps_its_carbon() {
    let case = crate::case::parse(include_str!("../../../../../cases/thermal-oil.toml")).unwrap();
    let model = case.model().unwrap();
    let duty = |name: &str| model.duties.iter().find(|duty| duty.name == name).unwrap();
    // two Lame rings with the radii and stiffnesses of the case, 35/42/45 mm, 0.06 mm: 4.9 MPa, no floor to stiffen them
    let lame = 4.9e6;
    let cold = ring_alone(&model, RingRole::Rotating, duty("static test")).unwrap();
    let hot = ring_alone(&model, RingRole::Rotating, duty("normal")).unwrap();
    assert!((0.057e-3..0.066e-3).contains(&cold.fits[0].interference_m), "{}", cold.fits[0].interference_m);
    assert!((0.036e-3..0.046e-3).contains(&hot.fits[0].interference_m), "{}", hot.fits[0].interference_m);
    assert!((0.9 * lame..1.4 * lame).contains(&cold.fits[0].pressure_pa), "{}", cold.fits[0].pressure_pa);
    let ratio = hot.fits[0].pressure_pa / cold.fits[0].pressure_pa;
    assert!((ratio / (hot.fits[0].interference_m / cold.fits[0].interference_m) - 1.0).abs() < 0.1, "{ratio}");
    for alone in [&cold, &hot] {
        assert!(alone.force_balance < 1e-9 && alone.heat_balance < 1e-8);
        // far more than the starting torque of 4 N m of the hand table
        assert!(alone.fits[0].slip_torque_n_m > 16.0, "{}", alone.fits[0].slip_torque_n_m);
        assert!(alone.fits[0].loosening_temperature_k.unwrap() > 340.0 + 273.15);
        assert!(alone.coning_m.total.abs() < 20e-6);
    }
}

/// A piece of a third material between both sides of a fit could belong to either.
#[test]
fn doubtful_floors_are_refused() {
    let mut ring = ring(
        RingRole::Rotating,
        true,
        &[([25.0, 35.0], [0.0, 12.0]), ([35.0, 45.0], [0.5, 12.0]), ([24.0, 45.0], [12.0, 18.0])],
        [44.0, 18.0],
    );
    ring.spring_radius_m = 0.035;
    ring.parts[1].fit = Some(Fit { radius_m: 0.035, interference_m: 1e-5, temperature_k: 293.15 });
    let limits = BandLimits { inner_radius_m: 0.026, outer_radius_m: 0.034 };
    let solids = [carbon(), carrier(12e-6), silicon_carbide()];
    let refused = RingReduction::with_solids(&ring, &solids, &limits, PressureSide::Outside, &MeshOptions::default()).unwrap_err();
    assert!(matches!(refused, RingError::Mesh(MeshError::FitBridged { piece: 1, .. })), "{refused}");
}
