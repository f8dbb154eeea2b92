//! C1, C2: parabolic sliders, where the film breaks and forms again.

use crate::plane_film::{Slider, lines};
use crate::section::read;
use crate::{Check, Kind, Quantity};

/// One parabola: flow, load, greatest pressure and both ends of the cavity.
pub const CHECK: Check = Check {
    id: "C1",
    title: "Parabolic slider, cavity that conserves mass (kernel of the film): flow, load, greatest pressure, rupture and reformation",
    source: "geometry: Vijayaraghavan and Keith, Tribol. Trans. 32 (1989) 225, from memory; digits: exact, flows before, in and behind the cavity \
             matched by quadrature",
    kind: Kind::Proof,
    from_memory: false,
    models: &["film.field"],
    run: |distortion| SINGLE.iter().flat_map(|row| row.quantities(1, distortion)).collect(),
};

/// Two parabolas one behind the other, the second of which gets what the first lets through.
pub const DOUBLE_CHECK: Check = Check {
    id: "C2",
    title: "Two parabolic sliders in one film, two cavities that conserve mass (kernel of the film): the first reforms, or the second starves",
    source: "geometry: two of Vijayaraghavan and Keith's parabolas (1989), from memory; digits: exact, as C1",
    kind: Kind::Proof,
    from_memory: false,
    models: &["film.field"],
    run: |distortion| DOUBLE.iter().flat_map(|row| row.quantities(2, distortion)).collect(),
};

const LENGTH_M: f64 = 76.2e-3;
const LEAST_GAP_M: f64 = 25.4e-6;
const SPEED_M_PER_S: f64 = 4.57;
const VISCOSITY_PA_S: f64 = 0.039;
const CELLS_OF_A_PARABOLA: usize = 800;

/// Exact values of a slider.
struct Row {
    ends_pa: f64,
    flow: f64,
    load: f64,
    greatest_pa: f64,
    /// Ends of the first cavity.
    cavity_m: [f64; 2],
}

const SINGLE: [Row; 2] = [
    Row {
        ends_pa: 101_325.0,
        flow: 6.557_989_4e-5,
        load: 104_640.968,
        greatest_pa: 3.666_656_4e6,
        cavity_m: [51.833_349e-3, 75.640_762e-3],
    },
    Row { ends_pa: 1e6, flow: 6.652_698_7e-5, load: 136_482.570, greatest_pa: 4.341_704_5e6, cavity_m: [52.670_263e-3, 70.739_954e-3] },
];

const DOUBLE: [Row; 3] = [
    Row {
        ends_pa: 101_325.0,
        flow: 6.568_750_4e-5,
        load: 53_996.587,
        greatest_pa: 1.870_894_5e6,
        cavity_m: [25.965_495e-3, 37.542_210e-3],
    },
    Row { ends_pa: 0.3e6, flow: 6.610_742_9e-5, load: 60_861.139, greatest_pa: 2.019_439_8e6, cavity_m: [26.152_799e-3, 36.459_964e-3] },
    Row { ends_pa: 1e6, flow: 6.756_326_5e-5, load: 88_844.343, greatest_pa: 2.556_859_7e6, cavity_m: [26.767_040e-3, 32.449_911e-3] },
];

impl Row {
    fn quantities(&self, parabolas: usize, distortion: f64) -> Vec<Quantity> {
        let pitch = LENGTH_M / parabolas as f64;
        let (least, curve) = (LEAST_GAP_M * (1.0 + 0.1 * distortion), 1.0 + distortion);
        let gap = |x: f64| least * (1.0 + curve * (2.0 * x.rem_euclid(pitch) / pitch - 1.0).powi(2));
        let along = lines(0.0, LENGTH_M, CELLS_OF_A_PARABOLA * parabolas);
        let found = Slider::solve(along, VISCOSITY_PA_S, SPEED_M_PER_S, self.ends_pa, gap);
        let cavities: Vec<Result<[f64; 2], String>> =
            (0..parabolas).map(|k| found.as_ref().map_err(Clone::clone).and_then(|slider| slider.cavity(k))).collect();
        let name = |what: &str| format!("{what}, {} Pa at both ends", self.ends_pa);
        let cell = pitch / CELLS_OF_A_PARABOLA as f64;
        let mut quantities = vec![
            Quantity::relative(name("flow"), "m2/s", self.flow, read(&found, Slider::flow), 1e-4, "800 cells a parabola"),
            Quantity::relative(name("load"), "N/m", self.load, read(&found, Slider::load), 1e-3, "800 cells a parabola"),
            Quantity::relative(
                name("greatest pressure"),
                "Pa",
                self.greatest_pa,
                read(&found, Slider::greatest_pressure),
                1e-3,
                "800 cells a parabola",
            ),
        ];
        let of = ["first", "second"];
        for (k, cavity) in cavities.iter().enumerate() {
            for (end, what) in ["rupture", "reformation"].into_iter().enumerate() {
                let which = if parabolas == 1 { name(what) } else { name(&format!("{what} on the {} slider", of[k])) };
                let expected = self.cavity_m[end] + k as f64 * pitch;
                quantities.push(Quantity::absolute(
                    which,
                    "m",
                    expected,
                    read(cavity, |ends| ends[end]),
                    1.5 * cell,
                    "one cell and a half",
                ));
            }
        }
        quantities
    }
}
