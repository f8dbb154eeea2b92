//! F7: stability threshold of a flexibly mounted stator.

use crate::coned_motion;
use crate::green_etsion_1983_coefficients::seal;
use crate::{Check, Kind, Quantity};

/// Half-speed whirl threshold.
pub const CHECK: Check = Check {
    id: "F7",
    title: "Flexibly mounted stator: critical speed and whirl frequency",
    source: "Green and Etsion, ASLE Trans. 28 (1985) 449-460 (citation read, paper from memory); digits: closed form of \
             I x'' + (Df + Ds) x' + (Kf + Ks - i Df w/2) x = 0 evaluated independently, coefficients of the first row of F6",
    kind: Kind::Arithmetic,
    from_memory: false,
    models: &[],
    run,
};

/// The threshold of a whole seal, from its two-dimensional film.
pub const MOTION_CHECK: Check = Check {
    id: "F7b",
    title: "Flexibly mounted stator: threshold speed of a whole seal with narrow coned faces",
    source: "Green and Etsion, ASLE Trans. 28 (1985) 449-460 (citation read, paper from memory), closed form with the coefficients of F6",
    kind: Kind::Proof,
    from_memory: false,
    models: &["motion.threshold", "motion.following"],
    run: of_motion,
};

const SUPPORT_STIFFNESS: f64 = 50.0;
const INERTIA: f64 = 1e-4;

fn run(distortion: f64) -> Vec<Quantity> {
    let seal = seal(1e-4, distortion);
    let (stiffness, film_damping) = (seal.angular_stiffness() + SUPPORT_STIFFNESS, seal.angular_damping());
    let mut lines = Vec::new();
    for (label, support_share, expected) in
        [("without support damping", 0.0, 40_143.839), ("support damping half the film's", 0.5, 60_215.759)]
    {
        let damping = film_damping * (1.0 + support_share);
        let critical = 2.0 * (1.0 + support_share) * (stiffness / INERTIA).sqrt();
        let reason = "same formula, 8 digits";
        lines.push(Quantity::relative(format!("critical speed, {label}"), "rad/s", expected, Ok(critical), 1e-6, reason));
        let whirl = critical * film_damping / (2.0 * damping);
        lines.push(Quantity::relative(format!("whirl frequency, {label}"), "rad/s", 20_071.92, Ok(whirl), 1e-6, reason));
        let crossing = growth_crossing(stiffness, film_damping, damping, critical);
        lines.push(Quantity::relative(
            format!("speed where an eigenvalue turns unstable, {label}"),
            "rad/s",
            expected,
            crossing,
            1e-6,
            "bisection to 1e-10",
        ));
    }
    lines
}

/// Greatest real part of the roots of `I s^2 + D s + K - i Df w/2`.
fn growth(stiffness: f64, film_damping: f64, damping: f64, speed: f64) -> f64 {
    // s = (-D + sqrt(D^2 - 4 I (K - i Df w/2)))/(2 I): the principal root has the greatest real part.
    let (re, im) = (damping * damping - 4.0 * INERTIA * stiffness, 2.0 * INERTIA * film_damping * speed);
    let root = ((re.hypot(im) + re) / 2.0).sqrt();
    (root - damping) / (2.0 * INERTIA)
}

fn growth_crossing(stiffness: f64, film_damping: f64, damping: f64, near: f64) -> Result<f64, String> {
    let (mut low, mut high) = (0.5 * near, 2.0 * near);
    let unstable = |speed: f64| growth(stiffness, film_damping, damping, speed) > 0.0;
    if unstable(low) || !unstable(high) {
        return Err(format!("no change of stability between {low} and {high} rad/s"));
    }
    while high - low > 1e-10 * near {
        let middle = 0.5 * (low + high);
        if unstable(middle) { high = middle } else { low = middle }
    }
    Ok(low)
}

/// A ring so heavy that the threshold lies some times above the speed of the duty.
fn of_motion(distortion: f64) -> Vec<Quantity> {
    let reason = "closed form of narrow faces: width over mean radius is 1 %, and the film enters as its root";
    let inertia = 1.0;
    ["0 N s/m", "20 N s/mm"]
        .into_iter()
        .flat_map(|damping| {
            let found = coned_motion::solved(&[
                ("seal.spring_rate", "2000 N/mm"),
                ("seal.spring_damping", damping),
                ("stationary_ring.tilt_inertia", "1 kg m2"),
            ]);
            let read = found.and_then(|duty| {
                let still = duty.following.and_then(|following| following.with_runout).map(|with| with.least_film_still_m);
                let all = duty.stability.zip(duty.support).zip(still);
                let ((stability, support), still) = all.ok_or_else(|| format!("no threshold: {:?}", duty.refusals))?;
                let threshold = stability.threshold_rad_per_s.zip(stability.threshold_whirl_rad_per_s);
                let threshold = threshold.ok_or_else(|| format!("stable up to {} rad/s", stability.searched_to_rad_per_s))?;
                Ok((threshold, support, still))
            });
            let (speed, whirl) = read.as_ref().map_or((f64::NAN, f64::NAN), |(_, support, still)| {
                let [_, stiffness, _, film_damping] = coned_motion::closed_forms(*still * (1.0 + 0.05 * distortion));
                let share = 1.0 + support.tilt_damping_n_m_s_per_rad / film_damping;
                let natural = ((stiffness + support.tilt_stiffness_n_m_per_rad) / inertia).sqrt();
                (2.0 * share * natural, natural)
            });
            let of = |value: fn((f64, f64)) -> f64| read.clone().map(|(threshold, ..)| value(threshold));
            [
                Quantity::relative(format!("threshold speed, springs damped by {damping}"), "rad/s", speed, of(|t| t.0), 0.01, reason),
                Quantity::relative(format!("whirl there, springs damped by {damping}"), "rad/s", whirl, of(|t| t.1), 0.01, reason),
            ]
        })
        .collect()
}
