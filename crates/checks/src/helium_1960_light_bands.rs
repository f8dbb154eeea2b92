//! O1: light bands.

use crate::{Check, Kind, Quantity};

/// Half wavelengths.
pub const CHECK: Check = Check {
    id: "O1",
    title: "Light bands: half wavelengths of helium, sodium and mercury light",
    source: "helium band of 0.0000116 inch, lapped to within three bands, leakage at about five (read in public training pages on flatness); wavelengths \
             587.562, 589.3 and 546.07 nm of the spectral lines, common tables",
    kind: Kind::Arithmetic,
    from_memory: false,
    models: &[],
    run,
};

const INCH: f64 = 0.0254;

fn run(distortion: f64) -> Vec<Quantity> {
    let scale = 0.5e-9 * (1.0 + 0.05 * distortion);
    let helium = 587.562 * scale;
    let line = |name: &str, expected: f64, computed: f64, tolerance, reason| {
        Quantity::relative(name, "m", expected, Ok(computed), tolerance, reason)
    };
    vec![
        line("helium band", 293.781e-9, helium, 1e-6, "six printed digits"),
        line("helium band against 0.0000116 inch", 0.000_011_6 * INCH, helium, 5e-3, "three printed digits"),
        line(
            "three bands against 0.000033 inch",
            0.000_033 * INCH,
            3.0 * helium,
            0.06,
            "the page rounds to two digits, and its three bands are not three times its band",
        ),
        line("two bands", 0.587_56e-6, 2.0 * helium, 1e-5, "five printed digits"),
        line("three bands", 0.881_34e-6, 3.0 * helium, 1e-5, "five printed digits"),
        line("five bands", 1.468_91e-6, 5.0 * helium, 1e-5, "six printed digits"),
        line("sodium band", 294.65e-9, 589.3 * scale, 1e-5, "five printed digits"),
        line("mercury green band", 273.04e-9, 546.07 * scale, 3e-5, "five printed digits"),
    ]
}
