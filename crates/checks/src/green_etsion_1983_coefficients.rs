//! F6: dynamic coefficients of a narrow coned seal, and the shipped film beside them.

use std::f64::consts::PI;

use crate::bench::{FACE_A_M, RigidFilm, SPEED_RAD_PER_S};
use crate::coned_motion;
use crate::lebeck_1991_coned_film::width_m;
use crate::{Check, Kind, Quantity};

const SOURCE: &str =
    "Green and Etsion, J. Lub. Tech. 105 (1983) 297-302 (paper from memory); digits: independent re-derivation for narrow faces";

/// The narrow-seal formulas themselves.
pub const CHECK: Check = Check {
    id: "F6",
    title: "Narrow coned seal: axial and angular stiffness and damping by formula",
    source: SOURCE,
    kind: Kind::Arithmetic,
    from_memory: false,
    models: &[],
    run: formulas,
};

/// The shipped film, curvature kept, against the narrow formulas.
pub const SOLVER_CHECK: Check = Check {
    id: "F6b",
    title: "Axial stiffness and squeeze damping of the film against the narrow-seal formulas",
    source: SOURCE,
    kind: Kind::Comparison,
    from_memory: false,
    models: &["film.axisymmetric"],
    run: solver,
};

/// The coefficients of a whole seal with narrow faces, from its two-dimensional film.
pub const MOTION_CHECK: Check = Check {
    id: "F6c",
    title: "Stiffness, damping and cross coupling of a whole seal with narrow coned faces",
    source: SOURCE,
    kind: Kind::Proof,
    from_memory: false,
    models: &["motion.coefficients"],
    run: of_motion,
};

/// Narrow coned seal; the coning opens outward, the film is least at the inner radius.
#[derive(Debug, Clone, Copy)]
pub(crate) struct ConedSeal {
    /// Film at the inner radius, m.
    pub film_m: f64,
    /// Coning, rad.
    pub coning_rad: f64,
    /// Pressure difference, Pa.
    pub pressure_pa: f64,
    /// Viscosity, Pa s.
    pub viscosity_pa_s: f64,
}

impl ConedSeal {
    pub(crate) fn mean_radius_m() -> f64 {
        0.5 * (FACE_A_M[0] + FACE_A_M[1])
    }

    fn shape(&self) -> f64 {
        let s = self.coning_rad * width_m() / self.film_m;
        if s.abs() < 1e-3 { 1.0 / 12.0 - s / 12.0 } else { (s.ln_1p() - 2.0 * s / (2.0 + s)) / s.powi(3) }
    }

    fn spread(&self) -> f64 {
        (2.0 * self.film_m + self.coning_rad * width_m()).powi(2)
    }

    /// N/m.
    pub(crate) fn axial_stiffness(&self) -> f64 {
        2.0 * PI * Self::mean_radius_m() * width_m().powi(2) * self.pressure_pa * self.coning_rad / self.spread()
    }

    /// N m/rad.
    pub(crate) fn angular_stiffness(&self) -> f64 {
        PI * (Self::mean_radius_m() * width_m()).powi(2) * self.pressure_pa * (self.coning_rad * FACE_A_M[0] - self.film_m) / self.spread()
    }

    /// N s/m.
    pub(crate) fn axial_damping(&self) -> f64 {
        24.0 * PI * Self::mean_radius_m() * self.viscosity_pa_s * (width_m() / self.film_m).powi(3) * self.shape()
    }

    /// N m s/rad.
    pub(crate) fn angular_damping(&self) -> f64 {
        0.5 * self.axial_damping() * Self::mean_radius_m().powi(2)
    }
}

/// Coning, then kz, kgam, dz, dgam, cross stiffness.
const ROWS: [(f64, [f64; 5]); 3] = [
    (1e-4, [2.016_036_4e8, 40_238.196, 2.014_009_8e7, 7_684.863_3, 1.207_135_5e6]),
    (2e-4, [2.618_147_4e8, 70_337.348, 1.120_103_5e7, 4_273.982_6, 6.713_556e5]),
    (3e-5, [8.751_739e7, -10_738.475, 3.398_134_2e7, 12_966.271, 2.036_737_2e6]),
];

pub(crate) fn seal(coning_rad: f64, distortion: f64) -> ConedSeal {
    ConedSeal { film_m: 1e-6 * (1.0 + 0.01 * distortion), coning_rad, pressure_pa: 2e6, viscosity_pa_s: 1e-3 }
}

fn formulas(distortion: f64) -> Vec<Quantity> {
    let mut lines = Vec::new();
    for (coning, expected) in ROWS {
        let seal = seal(coning, distortion);
        let computed = [
            ("axial stiffness", "N/m", seal.axial_stiffness()),
            ("angular stiffness", "N m/rad", seal.angular_stiffness()),
            ("axial damping", "N s/m", seal.axial_damping()),
            ("angular damping", "N m s/rad", seal.angular_damping()),
            ("cross stiffness", "N m/rad", 0.5 * seal.angular_damping() * SPEED_RAD_PER_S),
        ];
        for ((name, unit, value), expected) in computed.into_iter().zip(expected) {
            lines.push(Quantity::relative(
                format!("{name}, coning {:.0} urad", coning * 1e6),
                unit,
                expected,
                Ok(value),
                1e-6,
                "same formula, 8 digits",
            ));
        }
    }
    lines
}

fn solver(distortion: f64) -> Vec<Quantity> {
    let reason = "narrow-seal formula: at ro/ri = 1.26 curvature is worth 6.0 % at s = 1 (rows of F2) and grows with coning";
    // The reference coning of the first two rows is as published; the third has a slope too small to carry the test of damping.
    ROWS[..2]
        .iter()
        .flat_map(|(coning, expected)| {
            let film_m = 1e-6 * (1.0 + 0.1 * distortion);
            let setup = RigidFilm { gap_m: [film_m, film_m + coning * width_m()], ..RigidFilm::default() };
            let name = |quantity: &str| format!("{quantity}, coning {:.0} urad", coning * 1e6);
            [
                Quantity::relative(name("axial stiffness"), "N/m", expected[0], setup.stiffness_n_per_m(), 0.08, reason),
                Quantity::relative(name("squeeze damping"), "N s/m", expected[2], damping(&setup), 0.08, reason),
            ]
        })
        .collect()
}

/// Force per closing speed at equal pressures, N s/m.
fn damping(setup: &RigidFilm) -> Result<f64, String> {
    let rate = 1e-9;
    let at = |gap_rate_m_per_s: f64| RigidFilm { gauge_pressure_pa: [1e6, 1e6], gap_rate_m_per_s, ..*setup }.solve();
    Ok((at(-rate)?.force_n - at(rate)?.force_n) / (2.0 * rate))
}

fn of_motion(distortion: f64) -> Vec<Quantity> {
    let reason = "closed form of narrow faces: width over mean radius is 1 %";
    let speed = 300.0;
    let found = coned_motion::solved(&[]);
    let with = found.as_ref().map_err(Clone::clone).and_then(|duty| {
        let still = duty.following.and_then(|following| following.with_runout).map(|with| with.least_film_still_m);
        duty.film.as_ref().zip(still).ok_or_else(|| format!("no coefficients: {:?}", duty.refusals))
    });
    // The film stands at the gap at which it carries the closing force.
    let [axial, tilt, axial_damping, tilt_damping] =
        coned_motion::closed_forms(with.as_ref().map_or(1e-6, |(_, still)| *still) * (1.0 + 0.05 * distortion));
    type Of = fn(&halfmicron::motion::FilmAnswer) -> f64;
    let lines: [(&str, &str, f64, Of); 5] = [
        ("axial stiffness", "N/m", axial, |film| film.axial_stiffness_n_per_m),
        ("angular stiffness", "N m/rad", tilt, |film| film.tilt_stiffness_n_m_per_rad),
        ("axial damping", "N s/m", axial_damping, |film| film.axial_damping_n_s_per_m),
        ("angular damping", "N m s/rad", tilt_damping, |film| film.tilt_damping_n_m_s_per_rad),
        ("cross stiffness", "N m/rad", 0.5 * tilt_damping * speed, |film| film.cross_stiffness_n_m_per_rad),
    ];
    lines
        .into_iter()
        .map(|(name, unit, expected, of)| Quantity::relative(name, unit, expected, with.clone().map(|(film, _)| of(film)), 0.015, reason))
        .collect()
}
