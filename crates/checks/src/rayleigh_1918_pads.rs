//! C8: tapered pads and a step pad of infinite width, without a cavity.

use crate::plane_film::{Slider, lines};
use crate::section::read;
use crate::{Check, Kind, Quantity};

/// Load and drag of fixed pads.
pub const CHECK: Check = Check {
    id: "C8",
    title: "Tapered pads and Rayleigh's step pad of infinite width (kernel of the film): load and drag",
    source: "Rayleigh, Phil. Mag. 35 (1918) 1, and any text on lubrication, from memory; digits: closed forms of Reynolds' equation in one \
             dimension, evaluated independently",
    kind: Kind::Proof,
    from_memory: false,
    models: &["film.field"],
    run,
};

/// Ratio of gaps, load W h0^2/(mu U B^2), drag F h0/(mu U B).
const TAPERS: [(f64, f64, f64); 4] =
    [(1.5, 0.131_162_6, 0.843_720_9), (2.0, 0.158_883_1, 0.772_588_7), (2.188, 0.160_243_1, 0.754_265_1), (3.0, 0.147_918_4, 0.697_224_6)];
const CELLS: usize = 400;
/// Where the step pad steps, and by how much.
const STEP: [f64; 2] = [0.718, 1.866];
/// Both ends, so high above no pressure that nothing tears.
const ENDS: f64 = 1.0;

fn run(distortion: f64) -> Vec<Quantity> {
    let mut quantities = Vec::new();
    for (ratio, load, drag) in TAPERS {
        let least = 1.0 + 0.1 * distortion;
        let pad = Slider::solve(lines(0.0, 1.0, CELLS), 1.0, 1.0, ENDS, |x| least + (ratio - 1.0) * (1.0 - x));
        let name = |what: &str| format!("{what}, gap at the entry {ratio} times that at the end");
        quantities.extend([
            Quantity::relative(name("load"), "", load, read(&pad, |pad| pad.load() - ENDS), 3e-5, "400 cells, second order"),
            Quantity::relative(name("drag"), "", drag, read(&pad, Slider::drag), 1e-5, "400 cells, second order"),
        ]);
    }
    let [place, height] = STEP;
    let mut along = lines(0.0, place, 10);
    along.extend(lines(place, 1.0, 10).into_iter().skip(1));
    let pad = Slider::solve(along, 1.0, 1.0, ENDS, |x| if x < place { height + 0.1 * distortion } else { 1.0 });
    let load = read(&pad, |pad| (pad.load() - ENDS) / 6.0);
    quantities.push(Quantity::relative("load of the step pad", "", 0.034_377_89, load, 1e-6, "straight pressures are met exactly"));
    quantities
}
