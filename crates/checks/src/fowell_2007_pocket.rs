//! C3: a pad with one pocket that draws its liquid in.

use crate::plane_film::{Slider, lines};
use crate::section::read;
use crate::{Check, Kind, Quantity};

/// Flow, fill and length of the cavity, pressure and load of a pad with a rectangular pocket.
pub const CHECK: Check = Check {
    id: "C3",
    title: "Pad with one rectangular pocket that draws its liquid in (kernel of the film): flow, cavity, pressure behind it, load",
    source: "idea: Fowell, Olver, Gosman, Spikes and Pegg, J. Tribol. 129 (2007) 336, from memory; digits: exact, \
             q = U h0/2 + h0^3 (pa - pc)/(12 mu a), theta = 2 q/(h U), pressure in a straight line over each land",
    kind: Kind::Proof,
    from_memory: false,
    models: &["film.field"],
    run,
};

const INLET_M: f64 = 4e-3;
const POCKET_M: f64 = 6e-3;
const OUTLET_M: f64 = 10e-3;
const LAND_GAP_M: f64 = 1e-6;
const ENDS_PA: f64 = 101_325.0;
/// Lines in the pocket, so many that the end of the cavity is known to four micrometres, which carries over to pressure and load.
const CELLS: [usize; 3] = [40, 1_500, 100];

/// Depth of the pocket, m, cavity length, m, fill in it, load above that of the surroundings, N/m.
const ROWS: [(f64, f64, f64, f64); 3] = [
    (10e-6, 5.213_262_60e-3, 0.090_947_47, 595.465_793),
    (5e-6, 5.744_639_44e-3, 0.166_737_03, 501.242_716),
    (1e-6, 5.952_695_03e-3, 0.500_211_09, 464.350_558),
];

fn run(distortion: f64) -> Vec<Quantity> {
    let mut quantities = Vec::new();
    for (depth, cavity, fill, load) in ROWS {
        let found = pad(depth, LAND_GAP_M * (1.0 + 0.1 * distortion), INLET_M * (1.0 - 0.1 * distortion));
        let name = |what: &str| format!("{what}, pocket {} um deep", depth * 1e6);
        let length = found.as_ref().map_err(Clone::clone).and_then(|slider| slider.cavity(0)).map(|[from, to]| to - from);
        quantities.extend([
            Quantity::relative(
                name("flow"),
                "m2/s",
                5.002_110_94e-7,
                read(&found, Slider::flow),
                1e-7,
                "straight pressures are met exactly",
            ),
            Quantity::relative(name("fill of the cavity"), "", fill, read(&found, |s| s.fill(CELLS[0] + 50)), 1e-6, "digits stored"),
            Quantity::absolute(name("length of the cavity"), "m", cavity, length, 1e-5, "two cells of the pocket and a half"),
            Quantity::relative(
                name("pressure at the pocket's end"),
                "Pa",
                354_637.5,
                read(&found, |s| s.pressure(CELLS[0] + CELLS[1])),
                2e-3,
                "one cell of the pocket in the length that is full",
            ),
            Quantity::relative(
                name("load above the surroundings"),
                "N/m",
                load,
                read(&found, |s| s.load() - ENDS_PA * (INLET_M + POCKET_M + OUTLET_M)),
                2e-3,
                "as the pressure",
            ),
        ]);
    }
    quantities
}

fn pad(depth: f64, land_gap: f64, inlet: f64) -> Result<Slider, String> {
    let [a, b, c] = [inlet, inlet + POCKET_M, inlet + POCKET_M + OUTLET_M];
    let mut along = lines(0.0, a, CELLS[0]);
    along.extend(lines(a, b, CELLS[1]).into_iter().skip(1));
    along.extend(lines(b, c, CELLS[2]).into_iter().skip(1));
    Slider::solve(along, 0.01, 1.0, ENDS_PA, |x| if x > a && x < b { land_gap + depth } else { land_gap })
}
