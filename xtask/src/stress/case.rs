//! A case of the study, as the text of a case file.

use std::fmt::Write;

use halfmicron_properties::FluidEntry;
use halfmicron_properties::material::material;

use super::draw::Draw;
use super::duties::Duties;
use super::media::{self, Medium};
use super::section::{Layout, RingDrawing};

/// Ends of roughness Ra, m.
const ROUGHNESS_M: [f64; 2] = [0.01e-6, 0.5e-6];

/// Shaft and pressure up to which faces of polymers are built (common practice, no source).
const SOFT_SHAFT_M: f64 = 0.1;
const SOFT_PRESSURE_PA: f64 = 1.5e6;

/// The case file of one sample; none only if the library were empty.
pub fn text(seed: u64, index: u64, library: &[FluidEntry]) -> Option<String> {
    let draw = &mut Draw::of_sample(seed, index);
    let layout = Layout::draw(draw);
    let (medium, water) = (Medium::draw(draw, library)?, Medium::named("water")?);
    let duties = Duties::draw(draw, &layout, &medium, &water);
    written(draw, &format!("stress case {index} of seed {seed}"), &layout, &medium, &duties)
}

/// The case file of a seal whose band, fluid and duties are drawn: the rest is drawn here.
pub(super) fn written(draw: &mut Draw, title: &str, layout: &Layout, medium: &Medium, duties: &Duties) -> Option<String> {
    let mut out = format!(
        "halfmicron = 1\ntitle = \"{title}\"\n\n[machine]\nshaft = \"{:.3} mm\"\n\n[fluid]\nname = \"{}\"\n",
        1e3 * layout.shaft_m,
        medium.name
    );
    let soft = layout.shaft_m < SOFT_SHAFT_M && duties.all[0].pressure_pa < SOFT_PRESSURE_PA;
    duties.write(&mut out);
    write_seal(draw, layout, duties, &mut out);
    for rotating in [true, false] {
        let _ = writeln!(out, "\n[{}_ring]", if rotating { "rotating" } else { "stationary" });
        let materials = media::ring_materials(draw, duties.temperatures_k(), soft)?;
        let strain = duties.greatest_difference_pa() / material(&materials.face).ok()?.youngs_modulus.value;
        let mut ring = RingDrawing::draw(draw, layout, layout.rotating_floats == rotating, layout.rotating_is_narrow == rotating, strain);
        out += &ring.write(draw, &materials);
        write_face(draw, &mut out);
    }
    Some(out)
}

fn write_seal(draw: &mut Draw, layout: &Layout, duties: &Duties, out: &mut String) {
    let spring_n = (layout.area_m2() * layout.spring_pa).min(49e3);
    let _ = writeln!(out, "\n[seal]\npressure_side = \"{}\"", if layout.outside { "outside" } else { "inside" });
    let _ = writeln!(out, "balance_diameter = \"{:.3} mm\"", 2e3 * layout.balance_m);
    if !layout.bellows && draw.chance(0.75) {
        let reverse = layout.reverse_balance_m(draw.between(0.5, 1.1));
        let _ = writeln!(out, "reverse_balance_diameter = \"{:.3} mm\"", 2e3 * reverse);
    }
    let _ = writeln!(out, "spring_force = \"{spring_n:.4} N\"\nrotating_spring = {}", layout.rotating_floats);
    let secondary = if layout.bellows {
        "{ kind = \"metal bellows\" }".to_owned()
    } else {
        format!("{{ kind = \"O-ring\", material = \"{}\" }}", media::elastomer(draw))
    };
    let _ = writeln!(out, "secondary_seal = {secondary}\nflush = \"{:.4} L/min\"", 6e4 * duties.flush_m3_per_s);
}

fn write_face(draw: &mut Draw, out: &mut String) {
    let _ = writeln!(out, "roughness = \"Ra {:.4} um\"", 1e6 * draw.logarithmic(ROUGHNESS_M[0], ROUGHNESS_M[1]));
    if draw.chance(0.4) {
        let coning = draw.logarithmic(0.05, 3.0) * if draw.chance(0.7) { 1.0 } else { -1.0 };
        let _ = writeln!(out, "lapped_coning = \"{coning:.3} um\"");
    }
    if draw.chance(0.1) {
        let edge = if draw.chance(0.5) { "outside" } else { "bore" };
        let _ = writeln!(out, "edges = [{{ edge = \"{edge}\", coefficient = \"{:.1} W/(m2 K)\" }}]", draw.logarithmic(5.0, 2e4));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use halfmicron::case::parse;

    #[test]
    fn drawn_cases_are_valid_and_reproducible() {
        let library = media::library();
        for index in 0..300 {
            let drawn = text(5, index, &library).unwrap();
            assert_eq!(text(5, index, &library).unwrap(), drawn);
            let read = parse(&drawn).and_then(|case| case.model());
            assert!(read.is_ok(), "case {index}: {}\n{drawn}", read.unwrap_err());
        }
    }
}
