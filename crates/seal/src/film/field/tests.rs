//! The two-dimensional film against the axisymmetric one, balances and slopes.

use halfmicron_properties::{ConstantFluid, ConstantGas, Fluid};

use super::*;
use crate::film::{Gap, film as solved};
use crate::model::{Grooves, RingRole, Switches, Texture, TextureForm};
use crate::ring::BandNodes;

struct Bench {
    nodes: BandNodes,
    fluid: Fluid,
    gap: Vec<f64>,
    face: Vec<f64>,
    pressures: [f64; 2],
    entry_k: f64,
    speed: f64,
    roughness_m: f64,
    switches: Switches,
}

impl Bench {
    /// Faces of the ammonia compressor, coned by `cone` and warmer inside.
    fn gas(name: &str, gap: f64, cone: f64) -> Self {
        let nodes = BandNodes::uniform(59e-3, 78e-3, 16);
        let share = |r: &f64| (r - 59e-3) / 19e-3;
        Self {
            gap: nodes.radius_m.iter().map(|r| gap + cone * share(r)).collect(),
            face: nodes.radius_m.iter().map(|r| 375.0 - 6.0 * share(r)).collect(),
            nodes,
            fluid: if name.is_empty() { ideal() } else { Fluid::named(name).unwrap() },
            pressures: [1.1e5, 16e5],
            entry_k: 368.15,
            speed: 1099.6,
            roughness_m: 7e-8,
            switches: Switches { convective_inertia: false, ..Switches::default() },
        }
    }

    fn water(gap: f64, cone: f64) -> Self {
        let constants =
            ConstantFluid { name: "water-like".to_owned(), density: 1000.0, viscosity: 1e-3, heat_capacity: 4180.0, conductivity: 0.6 };
        let fluid = Fluid::thinning(constants, 0.02, 293.15).unwrap();
        let nodes = BandNodes::uniform(24.45e-3, 30.8e-3, 16);
        let share = |r: &f64| (r - 24.45e-3) / 6.35e-3;
        Self {
            gap: nodes.radius_m.iter().map(|r| gap + cone * share(r)).collect(),
            face: nodes.radius_m.iter().map(|r| 320.0 - 5.0 * share(r)).collect(),
            nodes,
            fluid,
            pressures: [1.013e5, 12e5],
            entry_k: 311.15,
            speed: 310.0,
            roughness_m: 1.3e-7,
            switches: Switches { convective_inertia: false, ..Switches::default() },
        }
    }

    fn input<'a>(&'a self, field: Option<&'a FieldGrid>) -> FilmInput<'a> {
        FilmInput {
            nodes: &self.nodes,
            gap: Gap { profile_m: &self.gap, rate_m_per_s: None, field },
            fluid: &self.fluid,
            inner_pressure_pa: self.pressures[0],
            outer_pressure_pa: self.pressures[1],
            entry_temperature_k: self.entry_k,
            face_temperature_k: &self.face,
            speeds_rad_per_s: [self.speed, 0.0],
            roughness_m: self.roughness_m,
            switches: &self.switches,
        }
    }

    fn grid(&self, texture: Texture, per_interval: usize, columns: usize) -> FieldGrid {
        FieldGrid::new(&[texture], &self.nodes, Cells { per_interval, columns, most_columns: 6 * columns }).unwrap().unwrap()
    }
}

fn ideal() -> Fluid {
    let gas = ConstantGas {
        name: "ideal".to_owned(),
        gas_constant: 296.8,
        viscosity: 2e-5,
        heat_capacity: 1040.0,
        conductivity: 0.03,
        reference_temperature: 273.15,
    };
    Fluid::constant_gas(gas).unwrap()
}

fn wave(count: u32, amplitude_m: f64) -> Texture {
    Texture { on: RingRole::Stationary, form: TextureForm::Waves { count, amplitude_m } }
}

fn spiral(on: RingRole) -> Texture {
    let grooves = Grooves { count: 12, depth_m: 6e-6, radii_m: [68.5e-3, 78e-3], width_ratio: 0.5 };
    Texture { on, form: TextureForm::SpiralGrooves { grooves, angle_rad: 15f64.to_radians(), pumps_outward: false } }
}

fn close(found: f64, expected: f64, tolerance: f64, what: &str) {
    assert!((found - expected).abs() <= tolerance * expected.abs(), "{what}: {found} against {expected}: {:.1e}", found / expected - 1.0);
}

fn totals(bench: &Bench, film: &FilmResult) -> [f64; 4] {
    let heat = bench.nodes.weight_m2.iter().zip(&film.flux_w_per_m2).map(|(w, q)| w * q).sum();
    [film.force_n(&bench.nodes, bench.pressures[0]), film.mass_flow_kg_per_s, film.shear_power_w(&bench.nodes), heat]
}

/// Where a gas expands much between two nodes the axisymmetric film sets stations of its own between them.
fn expanding_little(mut bench: Bench) -> Bench {
    bench.pressures[0] = 6e5;
    bench
}

/// Spin of a gas whose density steps from line to line is weighed by other means of the density: equal in the limit of fine lines alone.
fn without_spin(mut bench: Bench) -> Bench {
    bench.switches.spin = false;
    bench
}

#[test]
fn a_smooth_face_is_the_axisymmetric_film() {
    let benches = [
        ("ideal gas", without_spin(expanding_little(Bench::gas("", 3e-6, 0.4e-6))), 1e-6),
        (
            "ideal gas, no heat",
            {
                let mut bench = without_spin(expanding_little(Bench::gas("", 2e-6, -0.2e-6)));
                bench.switches.heat = false;
                bench
            },
            1e-6,
        ),
        ("ideal gas, spin", Bench::gas("", 3e-6, 0.4e-6), 1e-4),
        // Of real fluids the axisymmetric film reads its table, good to a ten-thousandth.
        ("nitrogen", without_spin(Bench::gas("nitrogen", 3e-6, 0.4e-6)), 1e-4),
        ("ammonia", without_spin(Bench::gas("ammonia", 3e-6, 0.4e-6)), 1e-4),
        (
            "ammonia, no heat",
            {
                let mut bench = without_spin(Bench::gas("ammonia", 2e-6, -0.2e-6));
                bench.switches.heat = false;
                bench
            },
            1e-4,
        ),
        ("water", Bench::water(0.6e-6, 0.3e-6), 1e-6),
        (
            "water, wide and turbulent",
            {
                let mut bench = Bench::water(18e-6, 2e-6);
                bench.speed = 2500.0;
                bench
            },
            3e-4,
        ),
        ("water, rough", Bench::water(0.1e-6, 0.05e-6), 1e-6),
    ];
    for (name, bench, tolerance) in benches {
        let grid = bench.grid(wave(4, 0.0), 1, 8);
        let (plain, _) = solved(&bench.input(None), None).unwrap();
        let (field, _) = solved(&bench.input(Some(&grid)), None).unwrap();
        let film_power = plain.shear_power_w(&bench.nodes).abs();
        for (what, (found, expected)) in
            ["force", "flow", "power", "heat"].iter().zip(totals(&bench, &field).iter().zip(totals(&bench, &plain)))
        {
            // What is left for the faces where the leak carries most is told against all that is made.
            let scale = if *what == "heat" { film_power } else { expected.abs() };
            let off = (*found - expected).abs() / scale;
            assert!(off < tolerance, "{name}, {what}: {found} against {expected}: {off:.1e}");
        }
        assert!(field.mass_balance < 1e-11, "{name}: {:e}", field.mass_balance);
        for k in 0..bench.nodes.len() {
            close(
                field.pressure_pa[k],
                plain.pressure_pa[k],
                if tolerance < 1e-5 { 5.0 } else { 20.0 } * tolerance,
                &format!("{name}, pressure at node {k}"),
            );
            close(field.states[k].temperature_k, plain.states[k].temperature_k, tolerance, &format!("{name}, temperature at node {k}"));
            close(field.hottest_k[k], plain.hottest_k[k], tolerance, &format!("{name}, hottest at node {k}"));
        }
    }
}

#[test]
fn spiral_grooves_lift_and_run_backwards_they_do_not() {
    let mut bench = Bench::gas("ammonia", 3e-6, 0.0);
    let force = |bench: &Bench, on| {
        let grid = bench.grid(spiral(on), 1, 32);
        let (film, _) = solved(&bench.input(Some(&grid)), None).unwrap();
        film.force_n(&bench.nodes, bench.pressures[0])
    };
    let forward = [RingRole::Rotating, RingRole::Stationary].map(|on| force(&bench, on));
    // Which face carries the grooves changes nothing: where they stand, the film is steady and runs the same way.
    close(forward[0], forward[1], 1e-8, "grooves on the other face");
    bench.speed = 0.0;
    let still = force(&bench, RingRole::Rotating);
    bench.speed = -1099.6;
    let backward = force(&bench, RingRole::Rotating);
    assert!(forward[0] > 1.05 * still && backward < 0.97 * still, "{forward:?} {still} {backward}");
}

#[test]
fn a_wavy_liquid_face_cavitates_and_keeps_its_mass() {
    let mut bench = Bench::water(0.5e-6, 0.0);
    bench.pressures = [1.013e5, 2e5];
    bench.switches.cavitation_pressure_pa = Some(1e5);
    let grid = bench.grid(wave(2, 0.25e-6), 1, 48);
    let (film, _) = solved(&bench.input(Some(&grid)), None).unwrap();
    let field = film.field.as_deref().unwrap();
    assert!(field.cavitated_share > 0.2 && field.cavitated_share < 0.95, "{}", field.cavitated_share);
    assert!(field.fill.iter().all(|fill| (0.0..=1.0).contains(fill)) && field.fill.iter().any(|fill| *fill < 0.95));
    assert!(film.mass_balance < 1e-11, "{:e}", film.mass_balance);
    let flat = solved(&bench.input(None), None).unwrap().0;
    assert!(film.force_n(&bench.nodes, 1.013e5) > 1.5 * flat.force_n(&bench.nodes, 1.013e5), "waves lift");
    bench.switches.cavitation_pressure_pa = Some(1.5e5);
    let refused = solved(&bench.input(Some(&grid)), None).unwrap_err();
    assert!(matches!(refused, FilmError::EdgeCavitates { .. }) && refused.is_not_modelled());
}

#[test]
fn what_a_field_cannot_be_is_refused_by_name() {
    let mut bench = Bench::gas("ammonia", 60e-6, 0.0);
    let grid = bench.grid(spiral(RingRole::Rotating), 1, 16);
    let (film, _) = solved(&bench.input(Some(&grid)), None).unwrap();
    assert!(film.greatest_mach > 1.0, "told, for inertia is left out: {}", film.greatest_mach);
    bench = Bench::gas("water", 3e-6, 0.0);
    bench.face.iter_mut().for_each(|t| *t += 30.0);
    bench.entry_k = 400.0;
    let error = solved(&bench.input(Some(&grid)), None).unwrap_err();
    assert!(matches!(error, FilmError::FieldBoils { .. }), "hot water to the atmosphere: {error:?}");
}

/// An iteration that ran away asked for a table of more pieces than there are numbers.
#[test]
fn temperatures_that_no_film_has_are_refused_without_a_panic() {
    for (name, away) in [("ammonia", 1e300), ("ammonia", -1e300), ("", 1e300), ("", -1e300), ("", 1e6)] {
        let mut bench = Bench::gas(name, 3e-6, 0.0);
        let grid = bench.grid(spiral(RingRole::Rotating), 1, 8);
        bench.face[4] = away;
        let error = solved(&bench.input(Some(&grid)), None).unwrap_err();
        assert!(matches!(error, FilmError::Property(_) | FilmError::NotConverged { .. }), "{name} {away}: {error:?}");
    }
}

/// Force, flow and heat of a bench whose gap and faces are moved along smooth shapes.
fn moved(bench: &Bench, grid: &FieldGrid, by: [f64; 4], start: &FilmStart) -> ([f64; 4], Vec<f64>) {
    let share = |k: usize| k as f64 / (bench.nodes.len() - 1) as f64;
    let n = bench.nodes.len();
    let gap = (0..n).map(|k| bench.gap[k] + by[0] + by[1] * share(k)).collect();
    let face = (0..n).map(|k| bench.face[k] + by[2] + by[3] * share(k)).collect();
    let other = Bench { gap, face, nodes: bench.nodes.clone(), fluid: bench.fluid.clone(), ..*bench };
    let (film, _) = solved(&other.input(Some(grid)), Some(start)).unwrap();
    (totals(&other, &film), film.pressure_pa)
}

#[test]
fn slopes_are_difference_quotients() {
    let gas = Bench::gas("ammonia", 3e-6, 0.3e-6);
    let mut liquid = Bench::water(0.5e-6, 0.1e-6);
    liquid.switches.cavitation_pressure_pa = Some(5e4);
    // Nodes that enter or leave the cavity make the film of a liquid rough on the smallest scale.
    for (name, bench, texture, scale) in [("gas", &gas, spiral(RingRole::Rotating), 1.0), ("liquid", &liquid, wave(3, 0.2e-6), 20.0)] {
        let grid = bench.grid(texture, 1, 16);
        let (film, start) = solved(&bench.input(Some(&grid)), None).unwrap();
        let slopes = crate::film::sensitivity(&bench.input(Some(&grid)), &start).unwrap();
        let n = bench.nodes.len();
        let share = |k: usize| k as f64 / (n - 1) as f64;
        let weights = &bench.nodes.weight_m2;
        let base = totals(bench, &film);
        for (direction, size) in [1e-9, 1e-9, 0.02, 0.02].into_iter().map(|size| scale * size).enumerate() {
            let mut by = [0.0; 4];
            by[direction] = size;
            let (up, _) = moved(bench, &grid, by, &start);
            by[direction] = -size;
            let (down, _) = moved(bench, &grid, by, &start);
            let along = |k: usize| if direction % 2 == 0 { 1.0 } else { share(k) };
            let (pressure, flux, flow) = if direction < 2 {
                (&slopes.pressure_by_gap, &slopes.flux_by_gap, &slopes.flow_by_gap)
            } else {
                (&slopes.pressure_by_face_temperature, &slopes.flux_by_face_temperature, &slopes.flow_by_face_temperature)
            };
            let sum = |m: &faer::Mat<f64>| -> f64 {
                (0..n).map(|j| along(j) * weights.iter().zip(m.col_as_slice(j)).map(|(w, x)| w * x).sum::<f64>()).sum()
            };
            let found = [sum(pressure), (0..n).map(|k| along(k) * flow[k]).sum(), sum(flux)];
            let quotient = [0, 1, 3].map(|k| (up[k] - down[k]) / (2.0 * size));
            for (what, ((found, quotient), whole)) in
                ["force", "flow", "heat"].iter().zip(found.iter().zip(quotient).zip([base[0], base[1], base[3]]))
            {
                // A change of the whole by a tenth of a micrometre or by 10 K is the scale of what matters.
                let floor = 1e-3 * whole.abs() / if direction < 2 { 1e-7 } else { 10.0 };
                assert!(
                    (found - quotient).abs() < if *what == "heat" { 0.3 } else { 0.05 } * quotient.abs() + floor,
                    "{name}, {what} by {direction}: {found:e} against {quotient:e}"
                );
            }
        }
    }
}

/// Stiffness of a rough film, plain and grooved, against differences of the solved film; temperatures held as small motions hold them.
#[test]
fn coefficients_are_the_slopes_of_the_solved_film() {
    let mut gas = Bench::gas("", 3e-6, 0.5e-6);
    let mut water = Bench::water(0.5e-6, 0.4e-6);
    for bench in [&mut gas, &mut water] {
        bench.switches.heat = false;
        bench.switches.turbulence = false;
    }
    let grooves = Grooves { count: 12, depth_m: 5e-6, radii_m: [68.5e-3, 78e-3], width_ratio: 0.5 };
    let spirals = Texture {
        on: RingRole::Rotating,
        form: TextureForm::SpiralGrooves { grooves, angle_rad: 15f64.to_radians(), pumps_outward: false },
    };
    let smooth = |bench: &Bench| FieldGrid::smooth(RingRole::Stationary, &bench.nodes, cells(4), 12).unwrap();
    for (bench, grid) in [(&gas, gas.grid(spirals, 1, 24)), (&gas, smooth(&gas)), (&water, smooth(&water))] {
        let (_, settled) = solved(&bench.input(Some(&grid)), None).unwrap();
        let got = small_motions(&bench.input(Some(&grid)), &grid, &settled, 0.0, true).unwrap();
        let step = 1e-4 * bench.gap[0];
        let force = |by: f64| {
            let gap: Vec<f64> = bench.gap.iter().map(|gap| gap + by).collect();
            let (_, start) =
                solved(&FilmInput { gap: Gap { profile_m: &gap, ..bench.input(Some(&grid)).gap }, ..bench.input(Some(&grid)) }, None)
                    .unwrap();
            start.field.unwrap().solution.totals.force_n
        };
        let difference = -(force(step) - force(-step)) / (2.0 * step);
        // Solved anew, the viscosity follows the mean pressure, which small motions leave.
        assert!((got.stiffness[0][0] / difference - 1.0).abs() < 2e-3, "{} for {difference}", got.stiffness[0][0]);
        assert!(got.damping[0][0] > 0.0 && got.damping[1][1] > 0.0);
        // Tilted on the whole ring: h grows by angle x, which is a tilt about y by less the angle.
        let angle = 2e-3 * bench.gap[0] / bench.nodes.radius_m[0];
        let textures: Vec<Texture> =
            grid.textures().iter().copied().chain([Texture { on: grid.on(), form: TextureForm::Tilt { angle_rad: angle } }]).collect();
        let whole = FieldGrid::whole_ring(&textures, grid.on(), &bench.nodes, Cells { most_columns: 288, ..cells(24) }).unwrap();
        let (_, tilted) = solved(&bench.input(Some(&whole)), None).unwrap();
        let totals = &tilted.field.as_ref().unwrap().solution.totals;
        let [about_x, about_y] = [totals.moment_x_n_m / angle, totals.moment_y_n_m / angle];
        let size = got.stiffness[2][2].hypot(got.stiffness[1][2]);
        assert!((about_y - got.stiffness[2][2]).abs() < 5e-3 * size, "{about_y} for {}", got.stiffness[2][2]);
        assert!((about_x - got.stiffness[1][2]).abs() < 5e-3 * size, "{about_x} for {}", got.stiffness[1][2]);
    }
}

fn cells(columns: usize) -> Cells {
    Cells { per_interval: 1, columns, most_columns: columns }
}

/// What a film answers does not depend on how many equal sectors it is cut into.
#[test]
fn a_smooth_film_answers_the_same_on_any_sector() {
    let bench = Bench::water(0.6e-6, 0.3e-6);
    let answers = [8, 24].map(|sectors| {
        let grid = FieldGrid::smooth(RingRole::Stationary, &bench.nodes, cells(96 / sectors as usize), sectors).unwrap();
        let (_, settled) = solved(&bench.input(Some(&grid)), None).unwrap();
        small_motions(&bench.input(Some(&grid)), &grid, &settled, 310.0, true).unwrap()
    });
    for (row, column) in [(0, 0), (1, 1), (1, 2)] {
        let [a, b] = [&answers[0], &answers[1]].map(|answer| answer.stiffness[row][column]);
        assert!((a / b - 1.0).abs() < 1e-6, "{row} {column}: {a} {b}");
    }
    // Seen from the standing face, shear drives the tilted gap round with half the speed.
    let [answer, _] = answers;
    let driven = 0.5 * 310.0 * answer.damping[1][1];
    assert!((-answer.stiffness[1][2] / driven).abs() > 0.9 && (answer.stiffness[1][2].abs() / driven - 1.0).abs() < 0.1);
}
