//! Viscosity and thermal conductivity of water and steam.
//!
//! **What.** The international formulations for general and scientific use.
//!
//! **Equation.** Viscosity `mu0(T) mu1(rho, T) mu2`, conductivity `lambda0(T) lambda1(rho, T) + lambda2`;
//! `mu2` and `lambda2` are critical enhancements, functions of the reduced susceptibility
//! `dchi = rho_r (d rho_r/d p_r (T) - d rho_r/d p_r (T_R) T_R/T)`, `T_R = 1.5 T_c`, taken from the equation of
//! state itself at both temperatures.
//!
//! **Valid when.** Viscosity up to 1173 K, conductivity up to 1173 K, pressure up to 300 MPa below 433 K and less above;
//! both formulations ask for reasonable extrapolation beyond, and for metastable liquid near saturation.
//!
//! **Source.** IAPWS R12-08 (2008), Huber et al., J. Phys. Chem. Ref. Data 38 (2009) 101; IAPWS R15-11 (2011),
//! Huber et al., J. Phys. Chem. Ref. Data 41 (2012) 033102. Coefficients written from memory of the releases and
//! verified by their check tables and by the stored values of the outside library (`tests/`).
//!
//! **Checked by.** Check tables of both releases, stored values of the outside library (`tests/`).

use super::jets::Dual;

const TEMPERATURE: f64 = 647.096;
const DENSITY: f64 = 322.0;
/// Reference pressure of both releases, Pa.
pub(crate) const PRESSURE: f64 = 22.064e6;
/// Reference temperature of the critical enhancements, K.
pub(crate) const REFERENCE_TEMPERATURE: f64 = 1.5 * TEMPERATURE;
const GAS_CONSTANT: f64 = 461.518_05;

const VISCOSITY_DILUTE: [f64; 4] = [1.677_52, 2.204_62, 0.636_656_4, -0.241_605];
/// (i, j, H_ij) of R12-08 table 2.
const VISCOSITY_RESIDUAL: [(usize, usize, f64); 21] = [
    (0, 0, 5.200_94e-1),
    (1, 0, 8.508_95e-2),
    (2, 0, -1.083_74),
    (3, 0, -2.895_55e-1),
    (0, 1, 2.225_31e-1),
    (1, 1, 9.991_15e-1),
    (2, 1, 1.887_97),
    (3, 1, 1.266_13),
    (5, 1, 1.205_73e-1),
    (0, 2, -2.813_78e-1),
    (1, 2, -9.068_51e-1),
    (2, 2, -7.724_79e-1),
    (3, 2, -4.898_37e-1),
    (4, 2, -2.570_40e-1),
    (0, 3, 1.619_13e-1),
    (1, 3, 2.573_99e-1),
    (0, 4, -3.253_72e-2),
    (3, 4, 6.984_52e-2),
    (4, 5, 8.721_02e-3),
    (3, 6, -4.356_73e-3),
    (5, 6, -5.932_64e-4),
];
const CONDUCTIVITY_DILUTE: [f64; 5] = [2.443_221e-3, 1.323_095e-2, 6.770_357e-3, -3.454_586e-3, 4.096_266e-4];
/// `L_ij` of R15-11 table 2: rows by temperature, columns by density.
const CONDUCTIVITY_RESIDUAL: [[f64; 6]; 5] = [
    [1.603_973_57, -0.646_013_523, 0.111_443_906, 0.102_997_357, -0.050_412_363_4, 0.006_098_592_58],
    [2.337_718_42, -2.788_437_78, 1.536_161_67, -0.463_045_512, 0.083_282_701_9, -0.007_192_012_45],
    [2.196_505_29, -4.545_807_85, 3.557_772_44, -1.409_449_78, 0.275_418_278, -0.020_593_881_6],
    [-1.210_513_78, 1.608_129_89, -0.621_178_141, 0.071_637_322_4, 0.0, 0.0],
    [-2.720_337_0, 4.575_863_31, -3.183_692_45, 1.116_834_8, -0.192_683_05, 0.012_913_842],
];

const CORRELATION_LENGTH: f64 = 0.13;
const SUSCEPTIBILITY: f64 = 0.06;
const EXPONENT: f64 = 0.630 / 1.239;

/// Correlation length in nm; zero where the susceptibility is not positive.
fn correlation_length(dchi: Dual) -> Option<Dual> {
    (dchi.v > 0.0).then(|| (dchi * (1.0 / SUSCEPTIBILITY)).powf(EXPONENT) * CORRELATION_LENGTH)
}

/// Viscosity without the critical enhancement, Pa s.
pub(crate) fn viscosity_background(rho: Dual, t: Dual) -> Dual {
    let d = rho * (1.0 / DENSITY);
    let inverse = t.recip() * TEMPERATURE;
    let dilute = VISCOSITY_DILUTE.iter().rev().fold(Dual::constant(0.0), |s, &h| s * inverse + h);
    let x = powers::<6>(inverse - 1.0);
    let y = powers::<7>(d - 1.0);
    let mut sum = Dual::constant(0.0);
    for &(i, j, h) in &VISCOSITY_RESIDUAL {
        sum = sum + x[i] * y[j] * h;
    }
    (t * (1.0 / TEMPERATURE)).sqrt() * dilute.recip() * (d * sum).exp() * 100e-6
}

/// Critical enhancement factor of the viscosity, R12-08 equations 13 to 22.
pub(crate) fn viscosity_enhancement(dchi: Dual) -> Dual {
    const QC: f64 = 1.0 / 1.9;
    const QD: f64 = 1.0 / 1.1;
    let Some(xi) = correlation_length(dchi) else {
        return Dual::constant(1.0);
    };
    let c = xi * QC;
    let d = xi * QD;
    let y = if xi.v <= 0.381_701_641_6 {
        let d2 = d * d;
        c * d2 * d2 * d * (c * c - c - d2 * (765.0 / 504.0) + 1.0) * 0.2
    } else {
        let psi = {
            let cosine = (d * d + 1.0).sqrt().recip();
            cosine.chain(cosine.v.acos(), -1.0 / (1.0 - cosine.v * cosine.v).sqrt())
        };
        let sine = |k: f64| psi.chain((k * psi.v).sin(), k * (k * psi.v).cos());
        let tangent = psi.chain((psi.v / 2.0).tan(), 0.5 / (psi.v / 2.0).cos().powi(2));
        let ratio = (c - 1.0) / (c + 1.0);
        let ratio = if ratio.v < 0.0 { -ratio } else { ratio };
        let w = (ratio + 1e-300).sqrt() * tangent;
        let l = if c.v > 1.0 {
            let q = (w + 1.0) / (-w + 1.0);
            q.chain(q.v.ln(), 1.0 / q.v)
        } else {
            w.atan() * 2.0
        };
        let square = c * c;
        let edge = square - 1.0;
        let edge = if edge.v < 0.0 { -edge } else { edge };
        let edge = edge * (edge + 1e-300).sqrt();
        sine(3.0) * (1.0 / 12.0) - sine(2.0) / (c * 4.0) + (square * -1.25 + 1.0) * sine(1.0) / square
            - ((square * -1.5 + 1.0) * psi - edge * l) / (square * c)
    };
    (y * 0.068).exp()
}

/// Thermal conductivity without the critical enhancement, W/(m K).
pub(crate) fn conductivity_background(rho: Dual, t: Dual) -> Dual {
    let d = rho * (1.0 / DENSITY);
    let inverse = t.recip() * TEMPERATURE;
    let dilute = CONDUCTIVITY_DILUTE.iter().rev().fold(Dual::constant(0.0), |s, &l| s * inverse + l);
    let y = d - 1.0;
    let x = inverse - 1.0;
    let sum = CONDUCTIVITY_RESIDUAL
        .iter()
        .rev()
        .fold(Dual::constant(0.0), |s, row| s * x + row.iter().rev().fold(Dual::constant(0.0), |r, &l| r * y + l));
    (t * (1.0 / TEMPERATURE)).sqrt() * dilute.recip() * (d * sum).exp() * 1e-3
}

/// Critical enhancement of the conductivity, W/(m K), R15-11 equations 18 to 20.
pub(crate) fn conductivity_enhancement(rho: Dual, t: Dual, cp: Dual, kappa: Dual, viscosity: Dual, dchi: Dual) -> Dual {
    const QD: f64 = 1.0 / 0.40;
    const AMPLITUDE: f64 = 177.851_4;
    let Some(xi) = correlation_length(dchi) else {
        return Dual::constant(0.0);
    };
    let y = xi * QD;
    if y.v < 1.2e-7 {
        return Dual::constant(0.0);
    }
    let d = rho * (1.0 / DENSITY);
    let inverse_kappa = kappa.recip();
    let damping = -(y.recip() + y * y / (d * d * 3.0)).recip();
    let z = ((-inverse_kappa + 1.0) * y.atan() + inverse_kappa * y - (-damping.exp() + 1.0)) * y.recip() * (2.0 / std::f64::consts::PI);
    d * cp * t / viscosity * z * (AMPLITUDE / (GAS_CONSTANT * TEMPERATURE) * 1e-6 * 1e-3)
}

fn powers<const N: usize>(x: Dual) -> [Dual; N] {
    let mut p = [Dual::constant(1.0); N];
    for i in 1..N {
        p[i] = p[i - 1] * x;
    }
    p
}
