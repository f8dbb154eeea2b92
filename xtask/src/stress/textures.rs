//! Cases with textured faces: every kind of texture in liquid and gas, most of them as films at a given gap, some as whole seals.

use std::f64::consts::{PI, TAU};
use std::fmt::Write;

use halfmicron_properties::FluidEntry;

use super::case::written;
use super::draw::Draw;
use super::duties::{DrawnDuty, Duties};
use super::media::Medium;
use super::section::Layout;

/// Every so many-th case is a whole seal, the others are films at a given gap: a whole one costs as much as a hundred films.
const WHOLE: u64 = 40;
/// Ends of the given gap, m.
const GAP_M: [f64; 2] = [0.1e-6, 20e-6];
/// Greatest sliding speed that a case may state, m/s.
const FASTEST_M_PER_S: f64 = 159.9;
const FASTEST_RAD_PER_S: f64 = 119_900.0 * TAU / 60.0;
const ATMOSPHERE_PA: f64 = 101_325.0;
/// Pressures that are sealed, Pa.
const SEALED_PA: [f64; 2] = [0.13e6, 12e6];
/// Viscosity times squared speed above which nobody runs a film, N/s, and the share of cases that keep to it.
const MOST_VISCOUS_N_PER_S: f64 = 10.0;
const ORDINARY: f64 = 0.9;
/// Greatest viscosity, Pa s.
const THICKEST_PA_S: f64 = 1.0;
/// Slope of walls, dimples and waves up to which a case is taken: a little below its limit.
const STEEPEST: f64 = 0.09;
/// Share of the gap by which waves or a tilt bring the faces nearer at most.
const NEAREST: f64 = 0.9;
/// The same of a whole seal, m.
const WHOLE_RISE_M: f64 = 1e-6;
/// Fluids drawn until one is a gas.
const TRIES: usize = 12;

/// Whether a sample is a whole seal.
pub fn is_whole(index: u64) -> bool {
    index.is_multiple_of(WHOLE)
}

/// The case file of one sample; none only if the library were empty.
pub fn text(seed: u64, index: u64, library: &[FluidEntry]) -> Option<String> {
    let draw = &mut Draw::of_sample(seed ^ 0x7e87, index);
    let layout = Layout::draw(draw);
    let (medium, duty) = filled(draw, &layout, library)?;
    let liquid_pa = duty.low_pressure_pa.min(duty.pressure_pa);
    let flush_m3_per_s = draw.logarithmic(1.7e-6, 1e-3);
    let duties = Duties { all: vec![duty], flush_m3_per_s };
    let mut out = written(draw, &format!("stress case {index} of seed {seed}, textured"), &layout, &medium, &duties)?;
    let gap_m = draw.logarithmic(GAP_M[0], GAP_M[1]);
    let rise_m = if is_whole(index) { WHOLE_RISE_M } else { NEAREST * gap_m };
    if !is_whole(index) {
        // Toward the outer edge: a cone is stated toward the sealed side.
        let outward_m = if draw.chance(0.4) { draw.between(-0.05, 2.0) * gap_m } else { 0.0 };
        let coning_m = if layout.outside { outward_m } else { -outward_m };
        let _ = writeln!(out, "\n[gap]\nthickness = \"{:.5} um\"\nconing = \"{:.5} um\"", 1e6 * gap_m, 1e6 * coning_m);
    }
    if draw.chance(0.3) {
        // A cavity ahead of every groove and behind every wave that turns fast enough.
        let _ = writeln!(out, "\n[switches]\ncavitation_pressure = \"{:.6} MPa(a)\"", 1e-6 * draw.between(0.3, 0.999) * liquid_pa);
    }
    let on = if draw.chance(0.5) { "rotating" } else { "stationary" };
    out += &texture(draw, &layout, on, rise_m);
    Some(out)
}

/// A fluid, half of them gases, with a duty in which it enters as that.
fn filled(draw: &mut Draw, layout: &Layout, library: &[FluidEntry]) -> Option<(Medium, DrawnDuty)> {
    let gas = draw.chance(0.5);
    for _ in 0..TRIES {
        let medium = Medium::draw(draw, library)?;
        let [lowest, highest] = medium.pressure_pa;
        let [coldest, hottest] = medium.temperature_k;
        let pressure_pa = draw.logarithmic(SEALED_PA[0].max(lowest), SEALED_PA[1].min(highest).max(1.01 * SEALED_PA[0].max(lowest)));
        let low_pressure_pa = if draw.chance(0.75) { ATMOSPHERE_PA.max(lowest) } else { pressure_pa * draw.between(0.02, 0.95) };
        let low_pressure_pa = low_pressure_pa.max(lowest);
        let speed = speed(draw);
        let viscous = if draw.chance(ORDINARY) { (MOST_VISCOUS_N_PER_S / (speed * speed)).min(THICKEST_PA_S) } else { THICKEST_PA_S };
        let [from, to] = if gas {
            [medium.boiling_k(pressure_pa.max(low_pressure_pa)).map_or(coldest, |t| t + 3.0), hottest - 30.0]
        } else {
            let boiling = medium.boiling_k(pressure_pa.min(low_pressure_pa)).map_or(hottest, |t| t - 5.0);
            [medium.thin_from_k(pressure_pa, viscous), boiling.min(hottest - 30.0)]
        };
        let known = medium.boiling_k(pressure_pa).is_some() || medium.boiling_k(ATMOSPHERE_PA).is_some();
        if from >= to || gas && !known {
            continue;
        }
        let speed_rad_per_s = (speed / layout.mean_m()).min(FASTEST_RAD_PER_S) * if draw.chance(0.2) { -1.0 } else { 1.0 };
        let temperature_k = draw.between(from.max(coldest), to);
        let duty =
            DrawnDuty { name: "normal", fluid: None, speed_rad_per_s, pressure_pa, low_pressure_pa, temperature_k, from_flush: false };
        return Some((medium, duty));
    }
    let medium = Medium::named(if gas { "nitrogen" } else { "water" })?;
    let speed_rad_per_s = (speed(draw) / layout.mean_m()).min(FASTEST_RAD_PER_S);
    let duty = DrawnDuty {
        name: "normal",
        fluid: None,
        speed_rad_per_s,
        pressure_pa: 1e6,
        low_pressure_pa: ATMOSPHERE_PA,
        temperature_k: 320.0,
        from_flush: false,
    };
    Some((medium, duty))
}

/// Sliding speed, m/s: the whole range, its end and rest.
fn speed(draw: &mut Draw) -> f64 {
    match draw.unit() {
        share if share < 0.06 => 0.0,
        share if share < 0.2 => FASTEST_M_PER_S,
        _ => draw.logarithmic(0.3, FASTEST_M_PER_S),
    }
}

/// One texture or two, as text.
fn texture(draw: &mut Draw, layout: &Layout, on: &str, rise_m: f64) -> String {
    let kinds: [fn(&mut Draw, &Layout, f64) -> String; 8] = [spiral, radial, tee, pads, dimples, waves, tilt, taper];
    let first = (draw.unit() * kinds.len() as f64) as usize;
    // Waves and tilt go with everything; both take half of what may be taken.
    let more = [5, 6].into_iter().filter(|kind| *kind != first).filter(|_| draw.chance(0.2)).collect::<Vec<_>>();
    let share = 1.0 / (1 + more.len()) as f64;
    let mut out = String::new();
    for kind in std::iter::once(first).chain(more) {
        let _ = write!(out, "\n[[texture]]\non = \"{on}\"\n{}", kinds[kind](draw, layout, share * rise_m));
    }
    // A cone of its own is the same at every angle: with a wave it is a textured film too.
    if first == 7 {
        let _ = write!(out, "\n[[texture]]\non = \"{on}\"\n{}", waves(draw, layout, share * rise_m));
    }
    out
}

/// Radii between which grooves are cut: open to one edge or to none, m.
fn cut(draw: &mut Draw, layout: &Layout) -> [f64; 2] {
    let at = |share: f64| layout.inner_m + share * layout.width_m();
    let dam = draw.between(0.15, 0.75);
    match draw.unit() {
        u if u < 0.5 => [at(dam), layout.outer_m],
        u if u < 0.8 => [layout.inner_m, at(1.0 - dam)],
        _ => {
            let wide = draw.between(0.1, 0.7);
            let from = draw.between(0.05, 0.95 - wide);
            [at(from), at(from + wide)]
        }
    }
}

fn groove(draw: &mut Draw, layout: &Layout, kind: &str, depth_m: [f64; 2]) -> (String, [f64; 2], f64) {
    let radii = cut(draw, layout);
    let count = draw.logarithmic(3.0, 60.0).round();
    let ratio = draw.between(0.12, 0.88);
    let narrowest = TAU * radii[0] / count * ratio.min(1.0 - ratio);
    let depth = draw.logarithmic(depth_m[0], depth_m[1]).min(STEEPEST * narrowest).max(0.011e-6);
    let text = format!(
        "kind = \"{kind}\"\ncount = {count}\ndepth = \"{:.4} um\"\ninner = \"{:.5} mm\"\nouter = \"{:.5} mm\"\nwidth_ratio = {ratio:.4}\n",
        1e6 * depth,
        2e3 * radii[0],
        2e3 * radii[1]
    );
    (text, radii, ratio)
}

fn spiral(draw: &mut Draw, layout: &Layout, _: f64) -> String {
    let (text, ..) = groove(draw, layout, "spiral grooves", [0.5e-6, 20e-6]);
    let sense = if draw.chance(0.5) { "inward" } else { "outward" };
    format!("{text}angle = \"{:.2} deg\"\nsense = \"{sense}\"\n", draw.logarithmic(4.0, 85.0))
}

fn radial(draw: &mut Draw, layout: &Layout, _: f64) -> String {
    groove(draw, layout, "radial grooves", [0.5e-6, 100e-6]).0
}

fn tee(draw: &mut Draw, layout: &Layout, _: f64) -> String {
    let (text, radii, ratio) = groove(draw, layout, "T grooves", [0.5e-6, 20e-6]);
    let bar = (draw.between(0.15, 0.85) * (radii[1] - radii[0])).max(0.051e-3);
    let bar = if bar < 0.9 * (radii[1] - radii[0]) { format!("bar = \"{:.5} mm\"\n", 1e3 * bar) } else { String::new() };
    format!("{text}stem_width_ratio = {:.4}\n{bar}", (draw.between(0.2, 0.8) * ratio).max(0.021))
}

fn pads(draw: &mut Draw, layout: &Layout, _: f64) -> String {
    groove(draw, layout, "pads", [0.1e-6, 10e-6]).0
}

fn dimples(draw: &mut Draw, layout: &Layout, _: f64) -> String {
    let rows = draw.logarithmic(1.0, 6.0).round();
    let pitch = layout.width_m() / rows;
    let radius = (0.45 * draw.between(0.2, 1.0) * pitch).clamp(6e-6, 9.9e-3);
    let most = (PI * layout.inner_m / (1.05 * radius)).floor();
    let count = draw.logarithmic(6.0, 150.0).round().min(most).max(1.0);
    let depth = draw.logarithmic(0.5e-6, 30e-6).min(STEEPEST * radius);
    let shape = if draw.chance(0.5) { "spherical cap" } else { "cylinder" };
    format!(
        "kind = \"dimples\"\ncount = {count}\nrows = {rows}\nradius = \"{:.5} mm\"\ndepth = \"{:.4} um\"\nshape = \"{shape}\"\n",
        1e3 * radius,
        1e6 * depth
    )
}

fn waves(draw: &mut Draw, _: &Layout, rise_m: f64) -> String {
    let count = draw.logarithmic(1.0, 12.0).round();
    format!("kind = \"waves\"\ncount = {count}\namplitude = \"{:.5} um\"\n", 1e6 * rise_m * draw.between(0.05, 1.0))
}

fn tilt(draw: &mut Draw, layout: &Layout, rise_m: f64) -> String {
    format!("kind = \"tilt\"\nangle = \"{:.5} urad\"\n", 1e6 * rise_m * draw.between(0.05, 1.0) / layout.outer_m)
}

fn taper(draw: &mut Draw, layout: &Layout, _: f64) -> String {
    let [inner, outer] = cut(draw, layout);
    format!(
        "kind = \"taper\"\ndepth = \"{:.4} um\"\ninner = \"{:.5} mm\"\nouter = \"{:.5} mm\"\n",
        1e6 * draw.logarithmic(0.1e-6, 10e-6),
        2e3 * inner,
        2e3 * outer
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stress::media;
    use halfmicron::case::parse;
    use halfmicron::model::is_two_dimensional;

    #[test]
    fn drawn_textured_cases_are_valid_textured_and_reproducible() {
        let library = media::library();
        for index in 0..300 {
            let drawn = text(5, index, &library).unwrap();
            assert_eq!(text(5, index, &library).unwrap(), drawn);
            let model = parse(&drawn).and_then(|case| case.model()).unwrap_or_else(|errors| panic!("case {index}: {errors}\n{drawn}"));
            assert!(is_two_dimensional(&model.textures), "case {index}");
            assert_eq!(model.gap.is_none(), is_whole(index));
        }
    }
}
