//! Film coefficients of heat transfer on ring surfaces.
//!
//! **What.** A coefficient with its low and high for each kind of surface: turning or standing, cylinder or plane, liquid or gas.
//! **Equation.** Each function names its own. In a closed chamber the fluid turns with 0.45 of the shaft speed: turning
//! surfaces see the rest, standing surfaces see the core (turbulent enclosed discs, Daily and Nece 1960, from memory).
//! **Valid when.** Each function gives its Reynolds range; beyond it low and high are half and double, and a notice says so. A real
//! chamber (ports, flush jet, narrow gaps, baffles) is none of these shapes: half and double are carried always.
//! **Source.** As named at each function; constants from memory where it says so, to be confirmed.
//! **Checked by.** H4 (arithmetic); hand values of the other correlations in the tests here.

use std::f64::consts::PI;

use crate::model::{PressureSide, Ring, RingRole};
use crate::notice::Notice;
use crate::ring::SurfaceCoefficients;

/// Share of the shaft speed at which the fluid between turning and standing walls rotates (turbulent enclosed flow, from memory).
pub const CORE_ROTATION: f64 = 0.45;

/// Speed below which a shaft counts as standing, rad/s.
const STANDSTILL_RAD_PER_S: f64 = 1e-3;

/// Rise of the wall over the fluid assumed for natural convection, K.
const NATURAL_RISE_K: f64 = 5.0;

/// Acceleration of gravity, m/s2.
const GRAVITY: f64 = 9.806_65;

/// Fluid far from the wall.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bulk {
    /// Density, kg/m3.
    pub density_kg_per_m3: f64,
    /// Viscosity, Pa s.
    pub viscosity_pa_s: f64,
    /// Conductivity, W/(m K).
    pub conductivity_w_per_m_k: f64,
    /// Specific heat at constant pressure, J/(kg K).
    pub specific_heat_j_per_kg_k: f64,
    /// Thermal expansion by volume, 1/K.
    pub expansion_per_k: f64,
}

/// A film coefficient with its range.
#[derive(Debug, Clone, PartialEq)]
pub struct FilmCoefficient {
    /// Nominal, W/(m2 K).
    pub nominal: f64,
    /// Low, W/(m2 K).
    pub low: f64,
    /// High, W/(m2 K).
    pub high: f64,
    /// Why the range is wide, when the correlation is used beyond its data.
    pub out_of_range: Option<String>,
}

impl Bulk {
    /// Air at ambient pressure, as a gas of constant heat capacity with Sutherland's viscosity and a Prandtl number of 0.71
    /// (handbook values, from memory).
    pub fn air(pressure_pa: f64, temperature_k: f64) -> Self {
        let viscosity_pa_s = 1.716e-5 * (temperature_k / 273.15).powf(1.5) * (273.15 + 110.4) / (temperature_k + 110.4);
        Self {
            density_kg_per_m3: pressure_pa / (287.05 * temperature_k),
            viscosity_pa_s,
            conductivity_w_per_m_k: viscosity_pa_s * 1006.0 / 0.71,
            specific_heat_j_per_kg_k: 1006.0,
            expansion_per_k: 1.0 / temperature_k,
        }
    }

    /// Prandtl number.
    pub fn prandtl(&self) -> f64 {
        self.viscosity_pa_s * self.specific_heat_j_per_kg_k / self.conductivity_w_per_m_k
    }

    /// Reynolds number of a speed (m/s) and a length (m).
    pub fn reynolds(&self, speed: f64, length: f64) -> f64 {
        self.density_kg_per_m3 * speed.abs() * length / self.viscosity_pa_s
    }

    fn coefficient(&self, nusselt: f64, length: f64, out_of_range: Option<String>) -> FilmCoefficient {
        let nominal = nusselt * self.conductivity_w_per_m_k / length;
        let factor = if out_of_range.is_some() { 2.0 } else { 1.25 };
        FilmCoefficient { nominal, low: nominal / factor, high: nominal * factor, out_of_range }
    }
}

/// Cylinder turning in still fluid: the larger of Becker's and of the skin-friction analogy.
///
/// Becker, Int. J. Heat Mass Transfer 6 (1963) 1053: `Nu = 0.133 Re^(2/3) Pr^(1/3)` on the diameter, 1e3 < Re < 4.6e4 (from memory).
/// Above: `Nu = (C/2) Re Pr^(1/3)` (Chilton and Colburn 1934) with the skin friction `C` of turning cylinders,
/// [`cylinder_skin_friction`], to Re = 1e7, 0.6 < Pr < 100.
pub fn rotating_cylinder(fluid: &Bulk, diameter_m: f64, relative_speed_m_per_s: f64) -> FilmCoefficient {
    let (re, pr) = (fluid.reynolds(relative_speed_m_per_s, diameter_m), fluid.prandtl());
    let becker = 0.133 * re.powf(2.0 / 3.0) * pr.cbrt();
    let analogy = if re > 1e3 { 0.5 * cylinder_skin_friction(0.5 * re) * re * pr.cbrt() } else { 0.0 };
    let natural = natural_nusselt(fluid, diameter_m);
    fluid.coefficient(becker.max(analogy).max(natural), diameter_m, outside("a turning cylinder", re, [1e3, 1e7], pr, [0.6, 100.0]))
}

/// Skin friction `tau / (rho u^2 / 2)` of a smooth turning cylinder at the Reynolds number of speed and *radius*.
///
/// Theodorsen and Regier, NACA Report 793 (1944): `1/sqrt(C) = -0.6 + 4.07 log10(Re sqrt C)`.
pub fn cylinder_skin_friction(reynolds: f64) -> f64 {
    // below a radius Reynolds number of about 50 the law has no use; hold it there
    let re = reynolds.max(50.0);
    let mut inverse_root = 10.0_f64;
    for _ in 0..60 {
        let next = -0.6 + 4.07 * (re / inverse_root).log10();
        let settled = (next - inverse_root).abs() < 1e-13 * next;
        inverse_root = 0.5 * (inverse_root + next.max(0.5));
        if settled {
            break;
        }
    }
    1.0 / (inverse_root * inverse_root)
}

/// Face of a disc turning in still fluid, local at a radius.
///
/// Turbulent: Dorfman (1963), `Nu = 0.0197 (2.6)^0.2 Re^0.8 0.71^0.6` on radius at uniform temperature in air (from memory),
/// carried to other fluids by `Pr^(1/3)` (Chilton and Colburn 1934). Laminar: Levich with the series of Gregory and Riddiford
/// (1956), `Nu = 0.620 Re^(1/2) Pr^(1/3) / (1 + 0.298 Pr^(-1/3) + 0.145 Pr^(-2/3))`. The larger of the two, which near their
/// crossing (Re of some 1e5) is high.
pub fn rotating_disc(fluid: &Bulk, radius_m: f64, relative_speed_rad_per_s: f64) -> FilmCoefficient {
    let (re, pr) = (fluid.reynolds(relative_speed_rad_per_s * radius_m, radius_m), fluid.prandtl());
    let root = pr.cbrt();
    let laminar = 0.620 * re.sqrt() * root / (1.0 + 0.298 / root + 0.145 / (root * root));
    let turbulent = 0.0197 * 2.6_f64.powf(0.2) * re.powf(0.8) * 0.71_f64.powf(0.6) * (pr / 0.71).cbrt();
    let natural = natural_nusselt(fluid, 2.0 * radius_m) * 0.5;
    fluid.coefficient(laminar.max(turbulent).max(natural), radius_m, outside("a turning disc", re, [1e2, 1e7], pr, [0.6, 100.0]))
}

/// Standing surface swept by a turning core at the given speed.
///
/// The analogy of [`rotating_cylinder`] with the core's speed past the wall; no measured range belongs to this use, so it is
/// always out of range.
pub fn standing_wall(fluid: &Bulk, diameter_m: f64, core_speed_m_per_s: f64) -> FilmCoefficient {
    let moving = rotating_cylinder(fluid, diameter_m, core_speed_m_per_s);
    let why = "a standing wall has no correlation of its own and the friction analogy of a turning cylinder is used".to_owned();
    fluid.coefficient(moving.nominal * diameter_m / fluid.conductivity_w_per_m_k, diameter_m, Some(why))
}

/// Horizontal cylinder in still fluid, 5 K warmer than it.
///
/// Churchill and Chu, Int. J. Heat Mass Transfer 18 (1975) 1049: `Nu = {0.60 + 0.387 Ra^(1/6) / [1 + (0.559/Pr)^(9/16)]^(8/27)}^2`,
/// Ra <= 1e12 (from memory).
pub fn natural(fluid: &Bulk, diameter_m: f64) -> FilmCoefficient {
    let why = format!("natural convection at a rise of {NATURAL_RISE_K} K leaves out what flush flow past the ring adds");
    fluid.coefficient(natural_nusselt(fluid, diameter_m), diameter_m, Some(why))
}

fn natural_nusselt(fluid: &Bulk, diameter: f64) -> f64 {
    let nu = fluid.viscosity_pa_s / fluid.density_kg_per_m3;
    let pr = fluid.prandtl();
    let rayleigh = (GRAVITY * fluid.expansion_per_k.abs() * NATURAL_RISE_K * diameter.powi(3) / (nu * nu) * pr).min(1e12);
    (0.60 + 0.387 * rayleigh.powf(1.0 / 6.0) / (1.0 + (0.559 / pr).powf(9.0 / 16.0)).powf(8.0 / 27.0)).powi(2)
}

fn outside(what: &str, re: f64, re_range: [f64; 2], pr: f64, pr_range: [f64; 2]) -> Option<String> {
    let beyond = |value: f64, range: [f64; 2]| value < range[0] || value > range[1];
    let mut why = Vec::new();
    if beyond(re, re_range) {
        why.push(format!("the Reynolds number {re:.1e} lies outside {:.0e} to {:.0e} of {what}", re_range[0], re_range[1]));
    }
    if beyond(pr, pr_range) {
        why.push(format!("the Prandtl number {pr:.3} lies outside {} to {}", pr_range[0], pr_range[1]));
    }
    (!why.is_empty()).then(|| why.join("; "))
}

/// Coefficients of all surfaces of one ring.
#[derive(Debug, Clone, PartialEq)]
pub struct RingConvection {
    /// Sealed side: low, nominal, high.
    pub sealed: [SurfaceCoefficients; 3],
    /// Low side: low, nominal, high.
    pub low_side: [SurfaceCoefficients; 3],
    /// What the reader must know of the sealed side; [`low_side_notice`] speaks of the other.
    pub notices: Vec<Notice>,
}

/// Coefficients of a ring at a shaft speed (rad/s) between two fluids.
///
/// Sealed surfaces are taken at the outside diameter for outside pressure, at the bore for inside pressure; low-side surfaces at
/// the other. Outside the data and in every real chamber the range is half to double.
pub fn for_ring(ring: &Ring, side: PressureSide, speed_rad_per_s: f64, sealed: &Bulk, low_side: &Bulk) -> RingConvection {
    let radii = ring.parts.iter().flat_map(|part| part.corners_m).map(|corner| corner[0]);
    let (bore, outside) = radii.fold((f64::INFINITY, 0.0_f64), |(low, high), r| (low.min(r), high.max(r)));
    let (sealed_radius, low_radius) = match side {
        PressureSide::Outside => (outside, bore),
        PressureSide::Inside => (bore, outside),
    };
    let ranged = |pair: &[FilmCoefficient; 2]| {
        [0.5, 1.0, 2.0].map(|factor| SurfaceCoefficients { cylinder: factor * pair[0].nominal, plane: factor * pair[1].nominal })
    };
    let pair = coefficients(ring.role, sealed, sealed_radius, speed_rad_per_s.abs());
    let notices = vec![sealed_notice(ring.role, &pair)];
    let low_side = coefficients(ring.role, low_side, low_radius, speed_rad_per_s.abs());
    RingConvection { sealed: ranged(&pair), low_side: ranged(&low_side), notices }
}

fn names(role: RingRole) -> [&'static str; 2] {
    match role {
        RingRole::Rotating => ["rotating_ring", "rotating ring"],
        RingRole::Stationary => ["stationary_ring", "stationary ring"],
    }
}

/// One sentence on the sealed side of a ring: coefficients, their range, each cause once.
fn sealed_notice(role: RingRole, pair: &[FilmCoefficient; 2]) -> Notice {
    let mut causes: Vec<&str> = Vec::new();
    for cause in pair.iter().filter_map(|c| c.out_of_range.as_deref()).flat_map(|words| words.split("; ")) {
        if !causes.contains(&cause) {
            causes.push(cause);
        }
    }
    if causes.is_empty() {
        causes.push("a seal chamber is neither an open tank nor a plain gap");
    }
    let [field, name] = names(role);
    let message = format!(
        "the sealed fluid takes {:.0} W/(m2 K) from cylinders and {:.0} from planes of the {name}, each taken from half to double because {}",
        pair[0].nominal,
        pair[1].nominal,
        causes.join(" and ")
    );
    Notice::note("range.convection", field, message)
}

/// One sentence on the air behind the seal: its temperature (K) and what it takes from each ring.
pub fn low_side_notice(temperature_k: f64, taken_from: &str, rings: &[(RingRole, &RingConvection)]) -> Notice {
    let each: Vec<String> = rings
        .iter()
        .map(|(role, convection)| {
            let nominal = convection.low_side[1];
            format!("{:.0} W/(m2 K) from cylinders and {:.0} from planes of the {}", nominal.cylinder, nominal.plane, names(*role)[1])
        })
        .collect();
    let message = format!(
        "the air behind the seal is taken at {taken_from}, {:.0} degC, and takes {}, each from half to double; it carries little heat",
        temperature_k - 273.15,
        each.join(", ")
    );
    Notice::note("default.low-side-temperature", "duty.temperature", message)
}

/// Cylinder and plane of a ring in a chamber.
fn coefficients(role: RingRole, fluid: &Bulk, radius: f64, speed: f64) -> [FilmCoefficient; 2] {
    if speed < STANDSTILL_RAD_PER_S {
        return [natural(fluid, 2.0 * radius), natural(fluid, 2.0 * radius)];
    }
    match role {
        RingRole::Rotating => {
            let relative = (1.0 - CORE_ROTATION) * speed;
            [rotating_cylinder(fluid, 2.0 * radius, relative * radius), rotating_disc(fluid, radius, relative)]
        }
        RingRole::Stationary => {
            let wall = standing_wall(fluid, 2.0 * radius, CORE_ROTATION * speed * radius);
            [wall.clone(), wall]
        }
    }
}

/// Moment coefficient of an enclosed disc, both sides, `M / (rho w^2 R^5 / 2)`, at gap ratio `G` and Reynolds number on radius.
///
/// Daily and Nece, J. Basic Eng. 82 (1960) 217: the largest of the four regimes (from memory). Churning of discs in a chamber.
pub fn enclosed_disc_moment(reynolds: f64, gap_ratio: f64) -> f64 {
    let g = gap_ratio;
    let regimes = [
        2.0 * PI / (g * reynolds),
        3.70 * g.powf(0.1) / reynolds.sqrt(),
        0.08 / (g.powf(1.0 / 6.0) * reynolds.powf(0.25)),
        0.102 * g.powf(0.1) / reynolds.powf(0.2),
    ];
    regimes.into_iter().fold(0.0, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Water near 50 degC (handbook values, from memory).
    fn water() -> Bulk {
        Bulk {
            density_kg_per_m3: 988.0,
            viscosity_pa_s: 5.47e-4,
            conductivity_w_per_m_k: 0.64,
            specific_heat_j_per_kg_k: 4180.0,
            expansion_per_k: 4.6e-4,
        }
    }

    /// H1: Becker at Re 3e4 and Pr 3.55.
    #[test]
    fn becker_by_hand() {
        let fluid = Bulk {
            density_kg_per_m3: 1.0,
            viscosity_pa_s: 1.0 / 3e4,
            conductivity_w_per_m_k: 1.0 / (3e4 * 3.55),
            specific_heat_j_per_kg_k: 1.0,
            expansion_per_k: 0.0,
        };
        let found = rotating_cylinder(&fluid, 1.0, 1.0);
        assert!(
            (found.nominal / fluid.conductivity_w_per_m_k / 195.888 - 1.0).abs() < 1e-5,
            "{}",
            found.nominal / fluid.conductivity_w_per_m_k
        );
        assert!(found.out_of_range.is_none());
    }

    /// H4: Theodorsen and Regier's law at three Reynolds numbers.
    #[test]
    fn skin_friction_by_hand() {
        for (re, c) in [(1e4, 7.71998e-3), (1e5, 4.46396e-3), (1e6, 2.87550e-3)] {
            assert!((cylinder_skin_friction(re) / c - 1.0).abs() < 1e-5, "{re}: {}", cylinder_skin_friction(re));
        }
    }

    /// H3: the largest regime at Re 1e6 and G 0.1 is the fourth.
    #[test]
    fn enclosed_disc_by_hand() {
        assert!((enclosed_disc_moment(1e6, 0.1) / 5.11211e-3 - 1.0).abs() < 1e-5);
    }

    /// A 60 mm ring at 3000 rpm in 50 degC water: of the order of 5 to 20 kW/(m2 K) (common practice, no source).
    #[test]
    fn usual_ring_in_water() {
        let speed = 314.16;
        let [cylinder, plane] = coefficients(RingRole::Rotating, &water(), 0.03, speed);
        assert!((5e3..2.2e4).contains(&cylinder.nominal), "{}", cylinder.nominal);
        assert!((3e3..2.2e4).contains(&plane.nominal), "{}", plane.nominal);
        let [standing, _] = coefficients(RingRole::Stationary, &water(), 0.03, speed);
        assert!((3e3..2e4).contains(&standing.nominal), "{}", standing.nominal);
        let air = Bulk::air(101_325.0, 313.0);
        let [inside, _] = coefficients(RingRole::Rotating, &air, 0.025, speed);
        assert!((20.0..200.0).contains(&inside.nominal), "{}", inside.nominal);
        let [still, _] = coefficients(RingRole::Rotating, &water(), 0.03, 0.0);
        assert!((100.0..2000.0).contains(&still.nominal), "{}", still.nominal);
    }

    /// One sentence a ring and side, that names the ring and says nothing twice.
    #[test]
    fn notices_say_things_once() {
        let model = crate::case::parse(&crate::case::starter("booster")).unwrap().model().unwrap();
        for speed in [0.0, 1.0, 300.0] {
            for ring in [&model.rotating_ring, &model.stationary_ring] {
                let air = Bulk::air(101_325.0, 313.0);
                let thick = Bulk { viscosity_pa_s: 0.5, ..water() };
                let found = for_ring(ring, PressureSide::Outside, speed, &thick, &air);
                let [notice] = &found.notices[..] else { panic!("{:?}", found.notices) };
                let low = low_side_notice(313.0, "the chamber temperature", &[(ring.role, &found)]);
                for message in [&notice.message, &low.message] {
                    assert!(message.contains(names(ring.role)[1]), "{message}");
                    for part in message.split([',', ';']).flat_map(|part| part.split(" and ")).filter(|part| part.len() > 25) {
                        assert_eq!(message.matches(part).count(), 1, "{message}");
                    }
                }
            }
        }
    }

    /// Coefficients rise with speed and never jump.
    #[test]
    fn coefficients_rise_smoothly() {
        let mut before = [0.0; 2];
        for k in 0..400 {
            let speed = 0.1 * 1.03_f64.powi(k);
            let now = coefficients(RingRole::Rotating, &water(), 0.03, speed).map(|c| c.nominal);
            for i in 0..2 {
                assert!(now[i] >= before[i], "{speed}");
                assert!(k == 0 || now[i] < 1.6 * before[i], "{speed}: {} after {}", now[i], before[i]);
            }
            before = now;
        }
    }
}
