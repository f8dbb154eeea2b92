//! What lies beside the rings: secondary seals, springs or bellows, support, shaft. True to scale as far as the case says, else schematic.

use halfmicron::model::{Model, Ring, SecondaryFriction, SecondarySealKind, Support};
use halfmicron::sheet::UnitSet;
use halfmicron::sheet::units::Kind;

use super::bodies::{extent, is_inside};
use super::compose::quantity;
use super::frame::{Frame, sense};
use super::hatch::{Class, Pattern};
use super::{Drawing, Layer, Stroke};

/// Drawn length of springs whose length the case does not give, mm of paper.
const SPRING_MM: f64 = 13.0;
/// Half height of a spring, of a bellows, half side of a seal of unknown shape, mm of paper.
const COIL_MM: f64 = 1.7;
const BELLOWS_MM: f64 = 3.2;
const SEAL_MM: f64 = 1.8;

/// Where leaders of labels end, mm of paper.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Fitted {
    pub sliding_seal: Option<([f64; 2], String)>,
    pub fixed_seal: Option<([f64; 2], String)>,
    pub springs: Option<([f64; 2], String)>,
}

/// Length that fittings add behind the floating ring, mm of paper.
pub(super) fn behind_mm(model: &Model, mm_per_m: f64) -> f64 {
    let oring = section_m(model).map_or(0.0, |(section, squeeze)| section / (1.0 - squeeze) * mm_per_m + 3.0);
    SPRING_MM.max(oring) + 3.0
}

/// Section (m) and squeeze of an O-ring whose size is known.
pub(super) fn section_m(model: &Model) -> Option<(f64, f64)> {
    match (model.seal.secondary_seal.kind, model.seal.secondary_seal.friction) {
        (SecondarySealKind::ORing, SecondaryFriction::Automatic { section_m, squeeze }) => Some((section_m, squeeze)),
        _ => None,
    }
}

/// Fittings of the floating ring.
pub(super) fn floating(drawing: &mut Drawing, model: &Model, ring: &Ring, set: UnitSet, fitted: &mut Fitted) {
    let Some([_, [_, back]]) = extent(ring) else { return };
    let frame = drawing.frame;
    let scale = frame.scale.mm_per_m();
    let side = sense(ring.role);
    let seat_z = back + (behind_mm(model, scale) - 3.0) / scale;
    let balance = model.seal.balance_radius_m;
    let seal = &model.seal.secondary_seal;
    let force = quantity(Kind::Force, model.seal.spring_force_n, set);
    let turning = if model.seal.rotating_spring { "turning" } else { "standing" };
    let bellows = seal.kind == SecondarySealKind::MetalBellows;
    let coil_radius = if bellows { ring.secondary_seal_m[0] } else { ring.spring_radius_m };
    let from_z = if bellows { back } else { back_at(ring, coil_radius).unwrap_or(back) };
    let half = if bellows { BELLOWS_MM } else { COIL_MM };
    let (from, to) = (frame.on_paper(ring.role, [coil_radius, from_z]), frame.on_paper(ring.role, [coil_radius, seat_z]));
    drawing.line(Layer::Springs, Stroke::Narrow, &zigzag(from, to, half, if bellows { 6 } else { 4 }));
    let middle = [0.5 * (from[0] + to[0]), from[1] + 0.6 * half];
    fitted.springs = Some((
        middle,
        if bellows {
            format!("metal bellows, {turning}, {}, {force}; schematic, on its effective diameter", seal.material)
        } else {
            format!("springs, {turning}, {force} at working length; schematic")
        },
    ));
    seat(drawing, [to[0], to[1] - half - 1.0], [to[0], to[1] + half + 1.0], side);
    if bellows {
        return;
    }
    // the surface on which the secondary seal slides
    let begin = ring.secondary_seal_m[1].min(back);
    let sleeve = [begin - 1.5e-3, seat_z + 2.0 / scale].map(|z| frame.on_paper(ring.role, [balance, z]));
    drawing.line(Layer::Schematic, Stroke::Narrow, &sleeve);
    fitted.sliding_seal = Some(sliding_seal(drawing, model, ring));
}

fn sliding_seal(drawing: &mut Drawing, model: &Model, ring: &Ring) -> ([f64; 2], String) {
    let frame = drawing.frame;
    let seal = &model.seal.secondary_seal;
    let [_, z] = ring.secondary_seal_m;
    let balance = model.seal.balance_radius_m;
    if let Some((section, squeeze)) = section_m(model) {
        // squeezed in height, its area kept
        let (height, length) = (section * (1.0 - squeeze), section / (1.0 - squeeze));
        let centre = [balance + 0.5 * height, z + 0.5 * length];
        if !is_inside(ring, centre) {
            let around: Vec<[f64; 2]> = (0..48)
                .map(|k| f64::from(k) * std::f64::consts::TAU / 48.0)
                .map(|angle| frame.on_paper(ring.role, [centre[0] + 0.5 * height * angle.sin(), centre[1] + 0.5 * length * angle.cos()]))
                .collect();
            let lines = Pattern { class: Class::Polymer, mirrored: false }.lines(std::slice::from_ref(&around));
            // springs stand behind it
            drawing.fill(Layer::Hatching, [255; 3], vec![around.clone()]);
            for line in lines {
                drawing.line(Layer::Hatching, Stroke::Hatch, &line);
            }
            drawing.outline(Layer::SecondarySeals, Stroke::Visible, &around);
            return (frame.on_paper(ring.role, centre), format!("sliding secondary seal: O-ring, {}", seal.material));
        }
    }
    let kind = if seal.kind == SecondarySealKind::ORing { "O-ring, " } else { "" };
    let at = frame.on_paper(ring.role, [balance, z]);
    let centre = [at[0] + sense(ring.role) * SEAL_MM, at[1] + SEAL_MM];
    crossed_box(drawing, centre);
    (centre, format!("sliding secondary seal: {kind}{}; schematic, on the balance diameter", seal.material))
}

/// Secondary seal and support of the ring that does not float.
pub(super) fn fixed(drawing: &mut Drawing, ring: &Ring, place_is_default: bool, fitted: &mut Fitted) {
    let frame = drawing.frame;
    let half = SEAL_MM / frame.scale.mm_per_m();
    let [r, z] = ring.secondary_seal_m;
    let step = 0.3 * half;
    let free =
        [[1.0, 0.0], [-1.0, 0.0], [0.0, 1.0], [0.0, -1.0]].into_iter().find(|[dr, dz]| !is_inside(ring, [r + step * dr, z + step * dz]));
    if let Some([dr, dz]) = free {
        let centre = frame.on_paper(ring.role, [r + half * dr, z + half * dz]);
        crossed_box(drawing, centre);
        let place = if place_is_default { "place taken by default" } else { "place from the case" };
        fitted.fixed_seal = Some((centre, format!("secondary seal of the fixed ring: schematic, {place}")));
    }
    let (radii, z) = match ring.support {
        Support::Annulus { radius_m, z_m } | Support::HeldFace { radius_m, z_m } => (radius_m, z_m),
        Support::Circle { radius_m, z_m } => ([radius_m - half, radius_m + half], z_m),
        Support::SpringCircle => return,
    };
    let [from, to] = radii.map(|r| frame.on_paper(ring.role, [r, z]));
    let gap = 0.6 * sense(ring.role);
    seat(drawing, [from[0] + gap, from[1]], [to[0] + gap, to[1]], sense(ring.role));
}

/// A line with short strokes behind it: something that holds.
fn seat(drawing: &mut Drawing, from: [f64; 2], to: [f64; 2], side: f64) {
    drawing.line(Layer::Schematic, Stroke::Narrow, &[from, to]);
    let count = ((to[1] - from[1]).abs() / 1.6).floor().max(1.0) as usize;
    for k in 0..=count {
        let y = from[1] + (to[1] - from[1]) * k as f64 / count as f64;
        drawing.line(Layer::Schematic, Stroke::Hatch, &[[from[0], y], [from[0] + 1.6 * side, y - 1.6]]);
    }
}

/// The sign of a seal whose shape is not given: a square with a cross.
fn crossed_box(drawing: &mut Drawing, [x, y]: [f64; 2]) {
    let h = SEAL_MM;
    drawing.outline(Layer::SecondarySeals, Stroke::Narrow, &[[x - h, y - h], [x + h, y - h], [x + h, y + h], [x - h, y + h]]);
    for sign in [1.0, -1.0] {
        let c = 0.65 * h;
        drawing.line(Layer::SecondarySeals, Stroke::Narrow, &[[x - c, y - sign * c], [x + c, y + sign * c]]);
    }
}

pub(super) fn zigzag(from: [f64; 2], to: [f64; 2], half: f64, turns: usize) -> Vec<[f64; 2]> {
    let count = 2 * turns;
    let mut points = vec![from];
    points.extend((0..count).map(|k| {
        let share = (k as f64 + 0.5) / count as f64;
        [from[0] + share * (to[0] - from[0]), from[1] + if k % 2 == 0 { half } else { -half }]
    }));
    points.push(to);
    points
}

/// Greatest z of a ring at a radius, m.
pub(super) fn back_at(ring: &Ring, r: f64) -> Option<f64> {
    let pieces = ring.parts.iter().filter(|part| {
        let radii = part.corners_m.map(|corner| corner[0]);
        radii.iter().any(|x| *x <= r + 1e-7) && radii.iter().any(|x| *x >= r - 1e-7)
    });
    pieces.flat_map(|part| part.corners_m).map(|corner| corner[1]).max_by(f64::total_cmp)
}

/// Shaft from end to end of the picture, with break lines.
pub(super) fn shaft(drawing: &mut Drawing, model: &Model, [left, right]: [f64; 2]) {
    let Frame { origin_mm: [_, axis], scale } = drawing.frame;
    drawing.line(Layer::CentreLine, Stroke::Centre, &[[left - 4.0, axis], [right + 4.0, axis]]);
    let Some(diameter) = model.machine.shaft_diameter_m else { return };
    let top = axis + 0.5 * diameter * scale.mm_per_m();
    drawing.line(Layer::Shaft, Stroke::Visible, &[[left, top], [right, top]]);
    for x in [left, right] {
        let middle = 0.5 * (axis + top);
        let broken = [[x, axis], [x, middle - 2.0], [x - 1.2, middle - 0.7], [x + 1.2, middle + 0.7], [x, middle + 2.0], [x, top]];
        drawing.line(Layer::Schematic, Stroke::Narrow, &broken);
    }
}

/// An arrow of a flow.
pub(super) fn flow(drawing: &mut Drawing, from: [f64; 2], to: [f64; 2]) {
    let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
    let long = dx.hypot(dy);
    let along = [dx / long, dy / long];
    drawing.line(Layer::Flush, Stroke::Visible, &[from, [to[0] - 2.0 * along[0], to[1] - 2.0 * along[1]]]);
    drawing.arrow_head(Layer::Flush, to, along, [0, 0, 0]);
}
