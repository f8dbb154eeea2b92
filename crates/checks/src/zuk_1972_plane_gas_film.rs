//! K3 and K4: plane film of an isothermal ideal gas with inertia, choked or not.

use halfmicron::model::Switches;

use crate::ring_film::{AIR_TEMPERATURE_K, AIR_VISCOSITY_PA_S, ATMOSPHERE_PA, RingFilm, RingFilmResult, air};
use crate::section::read;
use crate::{Check, Kind, Quantity};

/// Mass flux and exit pressure of a plane film.
pub const CHECK: Check = Check {
    id: "K3",
    title: "Plane film of isothermal ideal gas with inertia: mass flux, choked exit pressure",
    source: "theory of Zuk, Ludwig and Johnson, NASA TN D-6668 (1972) (abstract read, theory from memory); digits: \
             (p1^2 - p2^2)/(2 R T) - G^2 ln(p1/p2) = 12 mu G b/h^2, choked where p2 = G sqrt(R T), evaluated independently",
    kind: Kind::Proof,
    from_memory: false,
    models: &["film.axisymmetric", "fluid.constant"],
    run,
};

/// Stiffness of a choked parallel film.
pub const STIFFNESS_CHECK: Check = Check {
    id: "K4",
    title: "Choked parallel gas film: it pushes back, but only by what is lost at the entry",
    source: "Zuk, Ludwig and Johnson, NASA TN D-6668 (1972), abstract: a parallel film can have positive stiffness when choked; gaps and the film \
             without entry loss: plane closed form of K3 behind p1 = p0 - (1 + zeta) G^2 R T/(2 p1), evaluated independently",
    kind: Kind::Comparison,
    from_memory: false,
    models: &["film.axisymmetric"],
    run: run_stiffness,
};

/// A ring so large that it is plane, m.
const RADIUS_M: f64 = 1000.0;
/// Length of K3's film along the flow, m.
const LENGTH_M: f64 = 6.35e-3;
/// No drop at the entry, not even the dynamic pressure: K3 starts inside the gap.
const NO_DROP: f64 = -1.0;

/// Gap m, entry pressure Pa, mass flux kg/(m2 s), exit pressure Pa where the film is choked.
const ROWS: [(f64, f64, f64, Option<f64>); 12] = [
    (3e-6, 0.3e6, 3.037_64, None),
    (3e-6, 1e6, 37.685_9, None),
    (3e-6, 4e6, 600.991, Some(176_363.0)),
    (5e-6, 0.3e6, 8.436_66, None),
    (5e-6, 1e6, 104.288, None),
    (5e-6, 4e6, 1_573.29, Some(461_687.0)),
    (10e-6, 0.3e6, 33.662_6, None),
    (10e-6, 1e6, 393.322, Some(115_422.0)),
    (10e-6, 4e6, 4_441.31, Some(1.303_32e6)),
    (20e-6, 0.3e6, 129.685, None),
    (20e-6, 1e6, 1_110.33, Some(325_829.0)),
    (20e-6, 4e6, 7_946.76, Some(2.332e6)),
];

fn run(distortion: f64) -> Vec<Quantity> {
    let gap_share = 1.0 + 0.01 * distortion;
    let mut lines = Vec::new();
    for (gap_m, entry_pa, flux, exit_pa) in ROWS {
        let film = plane(gap_m * gap_share, LENGTH_M, entry_pa, true, NO_DROP);
        let name = |what: &str| format!("{what}, {:.0} um, {} MPa", gap_m * 1e6, entry_pa / 1e6);
        lines.push(Quantity::relative(
            name("mass flux"),
            "kg/(m2 s)",
            flux,
            read(&film, |film| flux_of(film, gap_m * gap_share, LENGTH_M)),
            1e-5,
            "6 digits are stored",
        ));
        if let Some(exit_pa) = exit_pa {
            // Not choked would be no answer at all.
            let exit = read(&film, |film| if film.film.choked { film.film.exit_pressure_pa } else { f64::NAN });
            lines.push(Quantity::relative(
                name("choked exit pressure"),
                "Pa",
                exit_pa,
                exit,
                1e-5,
                "4 to 6 digits are stored, the march adds 4e-6 at most",
            ));
        }
    }
    lines.push(Quantity::relative(
        "mass flux over that without inertia, 10 um, 4 MPa",
        "",
        0.656_15,
        throttling(gap_share),
        1e-5,
        "5 decimals are stored",
    ));
    lines
}

fn throttling(gap_share: f64) -> Result<f64, String> {
    let flux = |inertia: bool| plane(10e-6 * gap_share, LENGTH_M, 4e6, inertia, NO_DROP).map(|film| film.inflow_kg_per_s);
    Ok(flux(true)? / flux(false)?)
}

fn plane(gap_m: f64, length_m: f64, entry_pa: f64, inertia: bool, entry_loss: f64) -> Result<RingFilmResult, String> {
    RingFilm {
        fluid: &air(AIR_VISCOSITY_PA_S)?,
        radii_m: [RADIUS_M, RADIUS_M + length_m],
        gap_m,
        temperature_k: AIR_TEMPERATURE_K,
        pressures_pa: [ATMOSPHERE_PA, entry_pa],
        switches: Switches { convective_inertia: inertia, entry_loss, ..Switches::viscous_alone() },
    }
    .solve()
}

/// Mass flux at the mean radius.
fn flux_of(film: &RingFilmResult, gap_m: f64, length_m: f64) -> f64 {
    film.inflow_kg_per_s / (std::f64::consts::TAU * (RADIUS_M + 0.5 * length_m) * gap_m)
}

/// Length of K4's film along the flow, m.
const STIFF_LENGTH_M: f64 = 10e-3;
const STIFF_ENTRY_PA: f64 = 4e6;
const CLOSED: &str = "closed form, 7 digits; the march follows the steep end itself: 2e-5 off at most, with 32 elements as with 96";
/// At what width the search for a crossing stops, m: a millionth of its gap.
const CROSSING_M: f64 = 1e-11;
/// Twice and a half the error found.
const CLOSED_WITHIN: f64 = 5e-5;

fn run_stiffness(distortion: f64) -> Vec<Quantity> {
    let gap_share = 1.0 + 0.02 * distortion;
    // Distorted, the film that loses pressure at its entry and the one that does not change places.
    let swapped = |loss: f64, other: f64| if distortion == 0.0 { loss } else { other };
    let mut lines = vec![
        Quantity::absolute(
            "sign of the stiffness, choked, 20 um, entry loss 0.5",
            "",
            1.0,
            stiffness(20e-6, swapped(0.5, NO_DROP)).map(f64::signum),
            0.1,
            "a sign",
        )
        .noted("what the abstract says"),
        Quantity::absolute(
            "sign of the stiffness, choked, 20 um, no drop at the entry",
            "",
            -1.0,
            stiffness(20e-6, swapped(NO_DROP, 0.5)).map(f64::signum),
            0.1,
            "a sign",
        )
        .noted("without any drop at the entry the closed form pulls at every gap: the choked exit pressure rises with the gap"),
    ];
    for (gap_m, per_length) in [(10e-6, -4.798_065e8), (20e-6, -2.643_747e8)] {
        lines.push(Quantity::relative(
            format!("stiffness of a metre of film, choked, {:.0} um, no drop at the entry", gap_m * 1e6),
            "N/m2",
            per_length,
            stiffness(gap_m * gap_share, NO_DROP),
            CLOSED_WITHIN,
            CLOSED,
        ));
    }
    for (loss, gap_m) in [(0.0, 20.489_005e-6), (0.5, 13.622_482e-6), (1.0, 10.694_549e-6)] {
        lines.push(Quantity::relative(
            format!("gap from which the choked film pushes back, entry loss {loss}"),
            "m",
            gap_m,
            crossing(loss + 0.2 * distortion),
            CLOSED_WITHIN,
            CLOSED,
        ));
    }
    lines
}

/// Stiffness of one metre of a choked film across the flow, N/m2.
fn stiffness(gap_m: f64, entry_loss: f64) -> Result<f64, String> {
    let film = plane(gap_m, STIFF_LENGTH_M, STIFF_ENTRY_PA, true, entry_loss)?;
    if !film.film.choked {
        return Err(format!("the film of {gap_m} m is not choked"));
    }
    Ok(film.stiffness_n_per_m / (std::f64::consts::TAU * (RADIUS_M + 0.5 * STIFF_LENGTH_M)))
}

/// Gap at which the stiffness of a choked film turns from pulling to pushing, by halving.
fn crossing(entry_loss: f64) -> Result<f64, String> {
    let (mut pulls, mut pushes) = (6e-6, 25e-6);
    if stiffness(pulls, entry_loss)? > 0.0 || stiffness(pushes, entry_loss)? < 0.0 {
        return Err("the stiffness does not change its sign between 6 and 25 um".to_owned());
    }
    while pushes - pulls > CROSSING_M {
        let middle = 0.5 * (pulls + pushes);
        if stiffness(middle, entry_loss)? < 0.0 { pulls = middle } else { pushes = middle }
    }
    Ok(0.5 * (pulls + pushes))
}
