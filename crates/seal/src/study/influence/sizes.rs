//! Dimensions of the rings: a diameter or height of the drawing, moved wherever it stands.
//!
//! Pieces of a section share their edges, so a dimension is moved in every piece, and with it what sits there: the running band, the support,
//! the secondary seal, fits and stated edges.

use super::inputs::{Input, SHARE, Source, Step, names, of, ring_mut};
use crate::model::{EdgeSelector, Model, Ring, RingRole, Support};

/// Distance within which two coordinates are one dimension, m.
const SAME_M: f64 = 1e-9;

/// Diameters of the running band, and every other radius and height of both sections.
pub(super) fn sizes(model: &Model) -> Vec<Input> {
    let narrow = names(model.narrow_ring).0;
    let size = |path: String, label: String, value: f64| Input { path, label, value, step: Step::Share(SHARE), source: Source::Case };
    let mut all = vec![
        size(format!("{narrow}.face.inner"), "inner diameter of the running band".to_owned(), 2.0 * model.band.inner_radius_m),
        size(format!("{narrow}.face.outer"), "outer diameter of the running band".to_owned(), 2.0 * model.band.outer_radius_m),
    ];
    for role in [RingRole::Rotating, RingRole::Stationary] {
        let (key, name) = names(role);
        for (axis, word, said) in [(0, "r", "radius"), (1, "z", "height")] {
            for value in coordinates(of(model, role), axis) {
                let of_band = axis == 0 && [model.band.inner_radius_m, model.band.outer_radius_m].iter().any(|edge| same(*edge, value));
                if value <= SAME_M || (of_band && role == model.narrow_ring) {
                    continue;
                }
                let millimetres = (value * 1e6).round() / 1e3;
                all.push(size(
                    format!("{key}.section.{word}.{millimetres} mm"),
                    format!("{said} {millimetres} mm of the {name} ring"),
                    value,
                ));
            }
        }
    }
    all
}

/// Distinct coordinates of a section, the least first.
fn coordinates(ring: &Ring, axis: usize) -> Vec<f64> {
    let mut all: Vec<f64> = ring.parts.iter().flat_map(|part| part.corners_m).map(|corner| corner[axis]).collect();
    all.sort_by(f64::total_cmp);
    all.dedup_by(|a, b| same(*a, *b));
    all
}

fn same(a: f64, b: f64) -> bool {
    (a - b).abs() < SAME_M
}

/// Move the dimension at a path to a value; whether the path names one.
pub(super) fn moved(model: &mut Model, input: &Input, value: f64) -> bool {
    for role in [RingRole::Rotating, RingRole::Stationary] {
        let Some(rest) = input.path.strip_prefix(names(role).0).and_then(|rest| rest.strip_prefix('.')) else { continue };
        if let Some(end) = rest.strip_prefix("face.") {
            let edge = if end == "inner" { &mut model.band.inner_radius_m } else { &mut model.band.outer_radius_m };
            *edge = 0.5 * value;
            shift(ring_mut(model, role), 0, 0.5 * input.value, 0.5 * value);
            return true;
        }
        if let Some((word, _)) = rest.strip_prefix("section.").and_then(|rest| rest.split_once('.')) {
            shift(ring_mut(model, role), usize::from(word == "z"), input.value, value);
            return true;
        }
    }
    false
}

fn shift(ring: &mut Ring, axis: usize, from: f64, to: f64) {
    let go = |coordinate: &mut f64| {
        if same(*coordinate, from) {
            *coordinate = to;
        }
    };
    for part in &mut ring.parts {
        part.corners_m.iter_mut().for_each(|corner| go(&mut corner[axis]));
        if let (Some(fit), 0) = (part.fit.as_mut(), axis) {
            go(&mut fit.radius_m);
        }
    }
    go(&mut ring.secondary_seal_m[axis]);
    match (&mut ring.support, axis) {
        (Support::Circle { radius_m, .. }, 0) => go(radius_m),
        (Support::Annulus { radius_m, .. } | Support::HeldFace { radius_m, .. }, 0) => radius_m.iter_mut().for_each(go),
        (Support::Circle { z_m, .. } | Support::Annulus { z_m, .. } | Support::HeldFace { z_m, .. }, _) => go(z_m),
        (Support::SpringCircle, _) => {}
    }
    for edge in &mut ring.edges {
        if let EdgeSelector::Box { radius_m, z_m } = &mut edge.edge {
            if axis == 0 { radius_m } else { z_m }.iter_mut().for_each(go);
        }
    }
}
