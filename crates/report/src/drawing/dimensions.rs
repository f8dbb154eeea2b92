//! Diameters, measured from the axis: a half view shows one arrow, and the line goes on a little beyond the centre line.

use halfmicron::model::{Model, RingRole};
use halfmicron::sheet::UnitSet;
use halfmicron::sheet::units::{Kind, unit};

use super::{Drawing, LABEL_MM, Layer, Stroke};

/// Distance of dimension lines, mm of paper.
pub(super) const COLUMN_MM: f64 = 8.0;
/// Distance of the first from the picture.
const FIRST_MM: f64 = 7.0;
/// How far lines go beyond the axis, and extension lines beyond the dimension line.
const BEYOND_MM: f64 = 3.0;
const OVER_MM: f64 = 1.5;

/// A diameter to be stated.
#[derive(Debug, Clone, PartialEq)]
struct Diameter {
    name: &'static str,
    radius_m: f64,
    /// Where its extension line begins, mm of paper along x.
    from: f64,
}

/// Width that the dimensions on each side of the picture take, left and right, mm.
pub(super) fn widths(model: &Model) -> [f64; 2] {
    let width = |count: usize| if count == 0 { 0.0 } else { FIRST_MM + COLUMN_MM * count as f64 };
    let (fixed, floating) = (2 + usize::from(model.machine.shaft_diameter_m.is_some()), 1 + usize::from(reverses(model)));
    if floats_right(model) { [width(fixed), width(floating)] } else { [width(floating), width(fixed)] }
}

/// Whether the floating ring lies to the right.
pub(super) fn floats_right(model: &Model) -> bool {
    model.rotating_ring.floating
}

fn reverses(model: &Model) -> bool {
    (model.seal.reverse_balance_radius_m - model.seal.balance_radius_m).abs() > 1e-6
}

/// Face diameters and shaft on the side of the fixed ring, balance diameters on the side of the floating one.
pub(super) fn dimensions(drawing: &mut Drawing, model: &Model, [left, right]: [f64; 2], set: UnitSet) {
    let face = drawing.frame.origin_mm[0];
    let (fixed_end, floating_end) = if floats_right(model) { (left, right) } else { (right, left) };
    let mut fixed = vec![
        Diameter { name: "face inside", radius_m: model.band.inner_radius_m, from: face },
        Diameter { name: "face outside", radius_m: model.band.outer_radius_m, from: face },
    ];
    if let Some(diameter) = model.machine.shaft_diameter_m {
        fixed.push(Diameter { name: "shaft", radius_m: 0.5 * diameter, from: fixed_end });
    }
    let floating = if model.rotating_ring.floating { &model.rotating_ring } else { &model.stationary_ring };
    let back = drawing.frame.on_paper(floating.role, [0.0, floating.secondary_seal_m[1]])[0];
    let mut balance = vec![Diameter { name: "balance", radius_m: model.seal.balance_radius_m, from: back }];
    if reverses(model) {
        balance.push(Diameter { name: "balance, reversed", radius_m: model.seal.reverse_balance_radius_m, from: back });
    }
    let outward = if floating.role == RingRole::Rotating { 1.0 } else { -1.0 };
    column(drawing, fixed, fixed_end, -outward, set);
    column(drawing, balance, floating_end, outward, set);
}

/// Smaller diameters nearer to the picture, so that no extension line crosses a dimension line.
fn column(drawing: &mut Drawing, mut diameters: Vec<Diameter>, end: f64, outward: f64, set: UnitSet) {
    diameters.sort_by(|a, b| a.radius_m.total_cmp(&b.radius_m));
    let axis = drawing.frame.origin_mm[1];
    for (k, diameter) in diameters.iter().enumerate() {
        let x = end + outward * (FIRST_MM + COLUMN_MM * k as f64);
        let y = axis + diameter.radius_m * drawing.frame.scale.mm_per_m();
        let begin = diameter.from + outward * 0.6;
        drawing.line(Layer::Dimensions, Stroke::Narrow, &[[begin, y], [x + outward * OVER_MM, y]]);
        drawing.line(Layer::Dimensions, Stroke::Narrow, &[[x, axis - BEYOND_MM], [x, y]]);
        drawing.arrow_head(Layer::Dimensions, [x, y], [0.0, 1.0], [0, 0, 0]);
        let words = format!("{} \u{d8}{}", diameter.name, length(2.0 * diameter.radius_m, set));
        drawing.upright_text(Layer::Dimensions, [x - 1.2, 0.5 * (axis + y)], LABEL_MM, &words);
    }
}

/// A length in mm with at most two decimals, or in inches with three; its unit is stated on the sheet.
pub(super) fn length(length_m: f64, set: UnitSet) -> String {
    let decimals = if set == UnitSet::Us { 3 } else { 2 };
    let text = format!("{:.decimals$}", unit(Kind::Length, set).convert(length_m));
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_keep_what_the_case_says() {
        assert_eq!([0.0524, 0.105, 0.04885, 0.1].map(|d| length(d, UnitSet::Si)), ["52.4", "105", "48.85", "100"]);
        assert_eq!(length(0.0508, UnitSet::Us), "2");
        assert_eq!(length(0.0524, UnitSet::Us), "2.063");
    }
}
