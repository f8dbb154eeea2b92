//! What is around the rings: the sealed and the low side, holders, springs, secondary seals, shaft. The case gives diameters and places of
//! seals; what it does not give is drawn thin, only as far as the two sides need it to be told apart.

use halfmicron::case::outlines;
use halfmicron::model::{Model, PressureSide, Ring, RingRole, SecondarySealKind, Support};

use super::super::bodies::{extent, is_inside, ring_name, rings};
use super::super::fittings::{back_at, section_m, zigzag};
use super::super::hatch::{Class, Pattern};
use super::canvas::{Canvas, Ink};
use super::rings::{Scene, hatch, path_of};

/// Length of springs and bellows, whose length the case does not give, px.
const SPRING_PX: f64 = 52.0;
const SPRING_NARROW_PX: f64 = 26.0;
/// How far what is cut off goes on outside the picture, px.
const OUTSIDE_PX: f64 = 12.0;
/// Clearance between a ring and what is beside it, px.
const CLEAR_PX: f64 = 3.0;

/// Places for words and leaders, px.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Placed {
    pub springs: Option<[f64; 2]>,
    pub sliding_seal: Option<[f64; 2]>,
    pub shaft_y: Option<f64>,
    /// Boxes of what is drawn here, left, top, right, bottom, px.
    pub boxes: Vec<[f64; 4]>,
}

/// The two sides: the whole picture in the tint of the outer one, what lies inside the faces in the other; returns the inner one.
pub(super) fn sides(canvas: &mut Canvas, scene: &Scene) -> Vec<[f64; 2]> {
    let (outer, inner) = match scene.model.seal.pressure_side {
        PressureSide::Outside => (Ink::SealedTint, Ink::LowTint),
        PressureSide::Inside => (Ink::LowTint, Ink::SealedTint),
    };
    let (width, height) = (scene.window.width_px, scene.window.height_px);
    let paint = canvas.paint(outer);
    canvas.fill(&[[[0.0, 0.0], [width, 0.0], [width, height], [0.0, height]]], &paint);
    let half = |role: RingRole| -> Vec<[f64; 2]> {
        let Some(ring) = rings(scene.model).find(|ring| ring.role == role) else { return Vec::new() };
        let mut points: Vec<[f64; 2]> = inner_arc(ring, scene.model).into_iter().map(|p| scene.at(role, p)).collect();
        let end = scene.window.end_z(role);
        let r = if ring.floating { scene.model.seal.balance_radius_m } else { ring.secondary_seal_m[0] };
        let from = ring.secondary_seal_m[1];
        points.extend([[r, from], [r, end.max(from)]].map(|p| scene.window.at(role, p)));
        points
    };
    let mut around = half(RingRole::Stationary);
    around.reverse();
    around.extend(half(RingRole::Rotating));
    if let (Some(first), Some(last)) = (around.first().copied(), around.last().copied()) {
        around.extend([[last[0], height], [first[0], height]]);
        let paint = canvas.paint(inner);
        canvas.fill(&[&around], &paint);
    }
    around
}

/// The outline of a ring from the inner edge of the band to its secondary seal, on the side of the shaft.
fn inner_arc(ring: &Ring, model: &Model) -> Vec<[f64; 2]> {
    let pieces: Vec<[[f64; 2]; 4]> = ring.parts.iter().map(|part| part.corners_m).collect();
    let Some(mut around) = outlines(&pieces).into_iter().max_by_key(Vec::len) else { return vec![[model.band.inner_radius_m, 0.0]] };
    let marks = [[model.band.inner_radius_m, 0.0], [model.band.outer_radius_m, 0.0], ring.secondary_seal_m].map(|p| put_in(&mut around, p));
    let index = |mark: [f64; 2]| around.iter().position(|p| *p == mark).unwrap_or_default();
    let [inner, outer, seal] = marks.map(index);
    let count = around.len();
    let walk = |step: usize| -> Vec<usize> {
        let mut places = vec![inner];
        while places.last() != Some(&seal) && places.len() <= count {
            places.push((places.last().copied().unwrap_or_default() + step) % count);
        }
        places
    };
    let (forth, back) = (walk(1), walk(count - 1));
    let chosen = if forth.contains(&outer) { back } else { forth };
    chosen.into_iter().map(|k| around[k]).collect()
}

/// Put a point into the side of an outline to which it is nearest; returns it as it lies there.
fn put_in(around: &mut Vec<[f64; 2]>, p: [f64; 2]) -> [f64; 2] {
    let count = around.len();
    let nearest = |i: usize| {
        let (a, b) = (around[i], around[(i + 1) % count]);
        let (dr, dz) = (b[0] - a[0], b[1] - a[1]);
        let share = (((p[0] - a[0]) * dr + (p[1] - a[1]) * dz) / (dr * dr + dz * dz)).clamp(0.0, 1.0);
        let on = [a[0] + share * dr, a[1] + share * dz];
        ((on[0] - p[0]).hypot(on[1] - p[1]), i, on)
    };
    let Some((_, i, on)) = (0..count).map(nearest).min_by(|a, b| a.0.total_cmp(&b.0)) else { return p };
    if let Some(same) = around.iter().find(|q| (q[0] - on[0]).hypot(q[1] - on[1]) < 1e-9) {
        return *same;
    }
    around.insert(i + 1, on);
    on
}

/// Shaft, holders, springs: everything that lies behind the rings.
pub(super) fn behind(canvas: &mut Canvas, scene: &Scene) -> Placed {
    let mut placed = Placed::default();
    shaft(canvas, scene, &mut placed);
    for ring in rings(scene.model).filter(|ring| !ring.parts.is_empty()) {
        if ring.floating {
            carrier(canvas, scene, ring, &mut placed);
            springs(canvas, scene, ring, &mut placed);
        } else {
            holder(canvas, scene, ring, &mut placed);
        }
    }
    placed
}

fn lowest(scene: &Scene) -> f64 {
    scene.window.radii()[0] - OUTSIDE_PX / scene.window.px_per_m
}

fn shaft(canvas: &mut Canvas, scene: &Scene, placed: &mut Placed) {
    let Some(diameter) = scene.model.machine.shaft_diameter_m else { return };
    let y = scene.window.y(0.5 * diameter);
    if y > scene.window.height_px - 4.0 {
        return;
    }
    let (left, right, low) = (-OUTSIDE_PX, scene.window.width_px + OUTSIDE_PX, scene.window.height_px + OUTSIDE_PX);
    canvas.open("machine.shaft", "shaft");
    solid(canvas, scene, vec![[left, y], [right, y], [right, low], [left, low]], false, placed);
    canvas.close();
    placed.shaft_y = Some(y);
}

/// A part of the machine: hatched, with a thin edge.
fn solid(canvas: &mut Canvas, scene: &Scene, outline: Vec<[f64; 2]>, mirrored: bool, placed: &mut Placed) {
    let paint = canvas.paint(Ink::Paper);
    canvas.fill(&[&outline], &paint);
    let shapes = [outline];
    hatch(canvas, &scene.window, Pattern { class: Class::Carbon, mirrored }, &shapes, Ink::Soft, " stroke-opacity=\"0.55\"");
    canvas.stroke(&shapes, true, Ink::Main, 1.0, "");
    placed.boxes.extend(shapes.iter().map(|shape| bounds(shape)));
}

pub(super) fn bounds(points: &[[f64; 2]]) -> [f64; 4] {
    points.iter().fold([f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY], |[l, t, r, b], p| {
        [l.min(p[0]), t.min(p[1]), r.max(p[0]), b.max(p[1])]
    })
}

/// What the sliding seal slides on: the step of the sleeve or the carrier under the floating ring.
fn carrier(canvas: &mut Canvas, scene: &Scene, ring: &Ring, placed: &mut Placed) {
    let model = scene.model;
    let balance = model.seal.balance_radius_m;
    if model.seal.secondary_seal.kind == SecondarySealKind::MetalBellows {
        return;
    }
    let shaft = model.machine.shaft_diameter_m.map_or(0.0, |diameter| 0.5 * diameter);
    if balance - shaft < 3e-4 {
        return;
    }
    let px = scene.window.px_per_m;
    let seal_z = ring.secondary_seal_m[1];
    // it begins where the bore lets it pass
    let passes = ring.parts.iter().filter(|part| part.corners_m.iter().any(|corner| corner[0] < balance - 1e-6));
    let narrow = passes.flat_map(|part| part.corners_m).map(|corner| corner[1]).filter(|z| *z < seal_z + 1e-6).fold(0.0, f64::max);
    let begin = (narrow + 0.4 * (seal_z - narrow)).min(narrow + 1.2e-3);
    let end = scene.window.end_z(ring.role) + OUTSIDE_PX / px;
    let low = match ring.role {
        RingRole::Rotating => shaft.max(lowest(scene)),
        RingRole::Stationary => (balance - 3e-3).max(balance - 0.6 * (balance - shaft)).max(lowest(scene)),
    };
    if begin < end && low < balance {
        let outline = [[low, begin], [balance, begin], [balance, end], [low, end]].map(|p| scene.window.at(ring.role, p)).to_vec();
        canvas.open("seal.balance_diameter", "surface on which the secondary seal slides; its length is schematic");
        solid(canvas, scene, outline, ring.role == RingRole::Stationary, placed);
        canvas.close();
    }
}

fn springs(canvas: &mut Canvas, scene: &Scene, ring: &Ring, placed: &mut Placed) {
    let Some([_, [_, back]]) = extent(ring) else { return };
    let model = scene.model;
    let px = scene.window.px_per_m;
    let bellows = model.seal.secondary_seal.kind == SecondarySealKind::MetalBellows;
    let radius = if bellows { ring.secondary_seal_m[0] } else { ring.spring_radius_m };
    let from_z = if bellows { back } else { back_at(ring, radius).unwrap_or(back) };
    let length = if scene.narrow { SPRING_NARROW_PX } else { SPRING_PX } / px;
    let behind_seal = section_m(model).map_or(0.0, |(section, squeeze)| ring.secondary_seal_m[1] + section / (1.0 - squeeze) + 8.0 / px);
    let seat_z = (back + length).max(behind_seal);
    let half = if bellows { 12.0 } else { 6.5 };
    let reach = (half + 8.0) / px;
    let end = seat_z + 12.0 / px;
    let beyond = scene.window.end_z(ring.role) + OUTSIDE_PX / px;
    let outline = match (ring.role, bellows) {
        (RingRole::Rotating, false) => {
            let low = model.seal.balance_radius_m;
            vec![[low, seat_z], [radius + reach, seat_z], [radius + reach, end], [low, end]]
        }
        (RingRole::Rotating, true) => {
            let shaft = model.machine.shaft_diameter_m.map_or(0.0, |diameter| 0.5 * diameter).max(lowest(scene));
            vec![[shaft, seat_z], [radius + reach, seat_z], [radius + reach, beyond], [shaft, beyond]]
        }
        (RingRole::Stationary, _) => {
            let top = scene.window.radii()[1] + OUTSIDE_PX / px;
            let low = if bellows { radius - reach } else { model.seal.balance_radius_m };
            vec![[low, seat_z], [top, seat_z], [top, beyond.max(end)], [low, beyond.max(end)]]
        }
    };
    let outline: Vec<[f64; 2]> = outline.into_iter().map(|p| scene.window.at(ring.role, p)).collect();
    solid(canvas, scene, outline, ring.role == RingRole::Stationary, placed);
    canvas.open("seal.spring_force", if bellows { "metal bellows, schematic" } else { "springs, schematic" });
    let (from, to) = (scene.at(ring.role, [radius, from_z]), scene.window.at(ring.role, [radius, seat_z]));
    canvas.stroke(&[zigzag(from, to, half, if bellows { 6 } else { 4 })], false, Ink::Main, 1.2, " stroke-linejoin=\"round\"");
    canvas.close();
    placed.boxes.push([from[0].min(to[0]), from[1] - half, from[0].max(to[0]), from[1] + half]);
    placed.springs = Some([0.5 * (from[0] + to[0]), from[1] - 0.8 * half]);
}

/// What holds the fixed ring, with its secondary seal.
fn holder(canvas: &mut Canvas, scene: &Scene, ring: &Ring, placed: &mut Placed) {
    let Some([[inner, _], [_, back]]) = extent(ring) else { return };
    let px = scene.window.px_per_m;
    let [seal_r, seal_z] = ring.secondary_seal_m;
    let half = (0.9e-3 * px).clamp(6.0, 15.0) / px;
    let step = 0.3 * half;
    let free =
        [[1.0, 0.0], [-1.0, 0.0], [0.0, 1.0]].into_iter().find(|[dr, dz]| !is_inside(ring, [seal_r + step * dr, seal_z + step * dz]));
    let support_z = match ring.support {
        Support::Annulus { z_m, .. } | Support::HeldFace { z_m, .. } | Support::Circle { z_m, .. } => z_m,
        Support::SpringCircle => back,
    };
    let end = scene.window.end_z(ring.role) + OUTSIDE_PX / px;
    let at_back = |r: f64| back_at(ring, r).is_some_and(|z| (z - support_z).abs() < 1e-6);
    let corners = || ring.parts.iter().flat_map(|part| part.corners_m).filter(|corner| at_back(corner[0]));
    let back_outer = corners().filter(|corner| (corner[1] - support_z).abs() < 1e-6).map(|corner| corner[0]).fold(inner, f64::max);
    let shaft = scene.model.machine.shaft_diameter_m.map_or(0.0, |diameter| 0.5 * diameter).max(lowest(scene));
    let low = if ring.role == RingRole::Rotating { shaft } else { inner };
    let outline = match free {
        Some([dr, _]) if dr > 0.0 => {
            let over = seal_r + 2.0 * half;
            let flange = ring.parts.iter().flat_map(|part| part.corners_m).filter(|c| c[0] > over + 1e-6).map(|c| c[1]).fold(0.0, f64::max);
            let front = (seal_z - 2.2 * half).max(flange + CLEAR_PX / px).min(seal_z - half);
            // the bore of the holder clears the ring from its support to the pocket of the seal
            let pocket = seal_z + 1.2 * half;
            let clear = seal_r + CLEAR_PX / px;
            let top = match ring.role {
                RingRole::Stationary => scene.window.radii()[1] + OUTSIDE_PX / px,
                RingRole::Rotating => over + 2.2 * half,
            };
            vec![[low, end], [low, support_z], [clear, support_z], [clear, pocket], [over, pocket], [over, front], [top, front], [top, end]]
        }
        Some([dr, _]) if dr < 0.0 => {
            let under = seal_r - 2.0 * half;
            let front = seal_z - 2.2 * half;
            vec![
                [lowest(scene), end],
                [lowest(scene), front],
                [under, front],
                [under, support_z],
                [back_outer, support_z],
                [back_outer, end],
            ]
        }
        _ => vec![[low, end], [low, support_z], [back_outer, support_z], [back_outer, end]],
    };
    let outline: Vec<[f64; 2]> = outline.into_iter().map(|p| scene.window.at(ring.role, p)).collect();
    let what = if ring.role == RingRole::Rotating { "collar, schematic" } else { "gland, schematic" };
    canvas.open(&format!("{}.support", path_of(ring.role)), what);
    solid(canvas, scene, outline, ring.role == RingRole::Stationary, placed);
    canvas.close();
    if let Some([dr, dz]) = free {
        let centre = scene.window.at(ring.role, [seal_r + half * dr, seal_z + half * dz]);
        canvas
            .open(&format!("{}.secondary_seal", path_of(ring.role)), &format!("secondary seal of the {}, schematic", ring_name(ring.role)));
        crossed_box(canvas, centre, half * px, placed);
        canvas.close();
    }
}

/// The sign of a seal whose shape the case does not give: a square with a cross.
fn crossed_box(canvas: &mut Canvas, [x, y]: [f64; 2], half: f64, placed: &mut Placed) {
    let square = [[x - half, y - half], [x + half, y - half], [x + half, y + half], [x - half, y + half]];
    let paint = canvas.paint(Ink::Paper);
    canvas.fill(&[square], &paint);
    let c = 0.65 * half;
    canvas.stroke(&[[[x - c, y - c], [x + c, y + c]], [[x - c, y + c], [x + c, y - c]]], false, Ink::Main, 1.0, "");
    canvas.stroke(&[square], true, Ink::Main, 1.0, "");
    placed.boxes.push([x - half, y - half, x + half, y + half]);
}

/// The sliding secondary seal, true to size where the case gives its section.
pub(super) fn sliding_seal(canvas: &mut Canvas, scene: &Scene, placed: &mut Placed) {
    let model = scene.model;
    let seal = &model.seal.secondary_seal;
    let Some(ring) = rings(model).find(|ring| ring.floating && !ring.parts.is_empty()) else { return };
    if seal.kind == SecondarySealKind::MetalBellows {
        return;
    }
    let px = scene.window.px_per_m;
    let (balance, z) = (model.seal.balance_radius_m, ring.secondary_seal_m[1]);
    let shift = scene.at(ring.role, ring.secondary_seal_m)[0] - scene.window.at(ring.role, ring.secondary_seal_m)[0];
    canvas.open("seal.secondary_seal", &format!("sliding secondary seal, {}", seal.material));
    if let Some((section, squeeze)) = section_m(model) {
        // squeezed in height, its area kept
        let (height, length) = (section * (1.0 - squeeze), section / (1.0 - squeeze));
        let centre = [balance + 0.5 * height, z + 0.5 * length];
        if !is_inside(ring, centre) {
            let [x, y] = scene.window.at(ring.role, centre);
            let round: Vec<[f64; 2]> = (0..48)
                .map(|k| f64::from(k) * std::f64::consts::TAU / 48.0)
                .map(|angle| [x + shift + 0.5 * length * px * angle.cos(), y + 0.5 * height * px * angle.sin()])
                .collect();
            let paint = canvas.paint(Ink::Paper);
            canvas.fill(&[&round], &paint);
            let shapes = [round];
            hatch(canvas, &scene.window, Pattern { class: Class::Polymer, mirrored: false }, &shapes, Ink::Main, "");
            canvas.stroke(&shapes, true, Ink::Main, 1.2, "");
            placed.boxes.push(bounds(&shapes[0]));
            placed.sliding_seal = Some([x + shift, y]);
            canvas.close();
            return;
        }
    }
    let half = (0.9e-3 * px).clamp(6.0, 15.0);
    let [x, y] = scene.window.at(ring.role, [balance, z]);
    let outward = super::super::frame::sense(ring.role);
    let centre = [x + shift + outward * half, y - half];
    crossed_box(canvas, centre, half, placed);
    placed.sliding_seal = Some(centre);
    canvas.close();
}

/// Wavy lines where the picture breaks off.
pub(super) fn breaks(canvas: &mut Canvas, scene: &Scene) {
    let (width, height) = (scene.window.width_px, scene.window.height_px);
    let wave = |from: [f64; 2], to: [f64; 2]| -> Vec<[f64; 2]> {
        let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
        let long = dx.hypot(dy);
        let count = (long / 3.0).ceil().max(8.0) as usize;
        let across = [-dy / long, dx / long];
        (0..=count)
            .map(|k| {
                let share = k as f64 / count as f64;
                let off = 1.6 * (share * long / 24.0 * std::f64::consts::TAU).sin();
                [from[0] + share * dx + off * across[0], from[1] + share * dy + off * across[1]]
            })
            .collect()
    };
    let mut waves = vec![wave([1.6, 0.0], [1.6, height]), wave([width - 1.6, 0.0], [width - 1.6, height])];
    let (least, greatest) = (scene.window.radii()[0], scene.window.radii()[1]);
    let reaches = |test: &dyn Fn(f64) -> bool| rings(scene.model).filter_map(extent).any(|[[low, high], _]| test(low) || test(high));
    if scene.model.machine.shaft_diameter_m.is_some_and(|diameter| 0.5 * diameter > least) || reaches(&|r| r < least) {
        waves.push(wave([0.0, height - 1.6], [width, height - 1.6]));
    }
    if reaches(&|r| r > greatest) {
        waves.push(wave([0.0, 1.6], [width, 1.6]));
    }
    canvas.stroke(&waves, false, Ink::Main, 0.75, "");
}
