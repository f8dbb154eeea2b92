//! Rings as bodies of one material each, with outline and hatching.

use halfmicron::case::outlines;
use halfmicron::model::{Model, Part, Ring, RingRole};

use super::hatch::{Pattern, class_of};

/// Pieces of one material of one ring.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Body {
    pub role: RingRole,
    pub material: String,
    /// Place in its ring: 0 carries the face.
    pub index: usize,
    /// Closed outlines `[r, z]` in the ring's own coordinates, m.
    pub outlines: Vec<Vec<[f64; 2]>>,
    pub pattern: Pattern,
    /// A point inside, near its greatest radius, to which a leader goes.
    pub inside: [f64; 2],
}

/// Every body of both rings; neighbours are hatched in opposite directions.
pub(super) fn bodies(model: &Model) -> Vec<Body> {
    rings(model).flat_map(of_ring).collect()
}

/// Both rings.
pub(super) fn rings(model: &Model) -> impl Iterator<Item = &Ring> {
    [&model.rotating_ring, &model.stationary_ring].into_iter()
}

/// Name of a ring.
pub(super) fn ring_name(role: RingRole) -> &'static str {
    match role {
        RingRole::Rotating => "rotating ring",
        RingRole::Stationary => "stationary ring",
    }
}

fn of_ring(ring: &Ring) -> Vec<Body> {
    let mut materials: Vec<&str> = Vec::new();
    for part in &ring.parts {
        if !materials.contains(&part.material.name.as_str()) {
            materials.push(&part.material.name);
        }
    }
    let body = |(index, material): (usize, &str)| {
        let parts: Vec<&Part> = ring.parts.iter().filter(|part| part.material.name == material).collect();
        let first = parts.first()?;
        let pieces: Vec<[[f64; 2]; 4]> = parts.iter().map(|part| part.corners_m).collect();
        let mirrored = (index % 2 == 1) != (ring.role == RingRole::Stationary);
        Some(Body {
            role: ring.role,
            material: material.to_owned(),
            index,
            outlines: outlines(&pieces),
            pattern: Pattern { class: class_of(first), mirrored },
            inside: inside(&pieces),
        })
    };
    materials.into_iter().enumerate().filter_map(body).collect()
}

fn inside(pieces: &[[[f64; 2]; 4]]) -> [f64; 2] {
    let reach = |piece: &[[f64; 2]; 4]| piece.iter().fold(f64::NEG_INFINITY, |most, corner| most.max(corner[0]));
    let Some(outer) = pieces.iter().max_by(|a, b| reach(a).total_cmp(&reach(b))) else { return [0.0; 2] };
    let middle = [0, 1].map(|axis| outer.iter().map(|corner| corner[axis]).sum::<f64>() / 4.0);
    // three quarters of the way up from the middle
    [middle[0] + 0.5 * (reach(outer) - middle[0]), middle[1]]
}

/// Whether a point `[r, z]` lies inside a ring.
pub(super) fn is_inside(ring: &Ring, [r, z]: [f64; 2]) -> bool {
    ring.parts.iter().any(|part| {
        let corner = |i: usize| part.corners_m[i % 4];
        (0..4).all(|i| {
            let ([ra, za], [rb, zb]) = (corner(i), corner(i + 1));
            (rb - ra) * (z - za) - (zb - za) * (r - ra) > 0.0
        })
    })
}

/// Least and greatest radius and z of a ring, m; none where it has no section.
pub(super) fn extent(ring: &Ring) -> Option<[[f64; 2]; 2]> {
    let corners = || ring.parts.iter().flat_map(|part| part.corners_m);
    corners().next()?;
    let range = |axis: usize| corners().fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], c| [low.min(c[axis]), high.max(c[axis])]);
    Some([range(0), range(1)])
}
