//! R1: integrals of the Gaussian height distribution.

use halfmicron::contact::gaussian::{five_halves, height_integral, tail, three_halves};

use crate::bench::worst;
use crate::{Check, Kind, Quantity};

/// The statistics behind the contact law.
pub const CHECK: Check = Check {
    id: "R1",
    title: "Height integrals F_n(d) of Gaussian faces",
    source: "Greenwood and Williamson, Proc. R. Soc. A 295 (1966) 300; Greenwood and Tripp, Proc. IMechE 185 (1970-71) 625; approximants: \
             Jedynak and Gilewicz 2013, doi 10.1155/2013/459280; digits: quadrature evaluated independently",
    kind: Kind::Proof,
    from_memory: false,
    models: &["contact.greenwood-tripp"],
    run,
};

type HeightIntegral = fn(f64) -> f64;

/// Separations of the columns.
const SEPARATIONS: [f64; 9] = [0.0, 0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0];

/// `(n, F_n at each separation)`, seven digits.
const TABLE: [(f64, [f64; 9]); 6] = [
    (0.0, [0.5, 0.308_537_5, 0.158_655_3, 6.680_720e-2, 2.275_013e-2, 6.209_665e-3, 1.349_898e-3, 2.326_291e-4, 3.167_124e-5]),
    (0.5, [0.411_089_5, 0.225_335_6, 0.104_153_7, 3.988_152e-2, 1.248_004e-2, 3.159_023e-3, 6.418_504e-4, 1.040_715e-4, 1.340_667e-5]),
    (1.0, [0.398_942_3, 0.197_796_6, 8.331_547e-2, 2.930_679e-2, 8.490_703e-3, 2.004_137e-3, 3.821_543e-4, 5.848_092e-5, 7.145_258e-6]),
    (1.5, [0.430_020_0, 0.195_203_6, 7.566_818e-2, 2.463_948e-2, 6.648_178e-3, 1.469_938e-3, 2.639_676e-4, 3.822_708e-5, 4.439_156e-6]),
    (2.0, [0.5, 0.209_639_3, 7.533_978e-2, 2.284_701e-2, 5.768_727e-3, 1.199_322e-3, 2.034_351e-4, 2.794_586e-5, 3.090_208e-6]),
    (2.5, [0.616_634_2, 0.240_401_6, 8.056_234e-2, 2.286_306e-2, 5.423_705e-3, 1.063_689e-3, 1.708_730e-4, 2.231_241e-5, 2.353_381e-6]),
];

fn run(distortion: f64) -> Vec<Quantity> {
    let reason = "seven printed digits";
    let shift = 0.01 * distortion;
    let line = |name: String, expected: f64, computed: f64| Quantity::relative(name, "", expected, Ok(computed), 1e-6, reason);
    let mut lines: Vec<Quantity> = TABLE
        .iter()
        .filter_map(|(n, row)| {
            worst(
                SEPARATIONS
                    .iter()
                    .zip(row)
                    .map(|(d, f)| line(format!("F_{n} at d = {d} by quadrature"), *f, height_integral(*n, d + shift)))
                    .collect(),
            )
        })
        .collect();
    let fast: [(&str, usize, HeightIntegral); 3] = [
        ("bearing-area share (F_0)", 0, tail),
        ("F_1.5 of the contact law", 3, three_halves),
        ("F_2.5 of the contact law", 5, five_halves),
    ];
    lines.extend(fast.iter().filter_map(|(name, row, function)| {
        worst(SEPARATIONS.iter().zip(&TABLE[*row].1).map(|(d, f)| line(format!("{name} at d = {d}"), *f, function(d + shift))).collect())
    }));
    lines
}
