//! A ring's mesh and its surface: what wets each edge, where it is held, where springs and secondary seal press.

use std::f64::consts::PI;

use halfmicron_numerics::mesh::{Edge, EdgeSpan, FitLine, Mesh, Piece, Plan, PrescribedLine, SizeField, SizeSource};

use super::{BandNodes, RingError, Solid};
use crate::model::{EdgeCondition, EdgeSelector, PressureSide, Ring, Support, Wetting};
use crate::rules::text::length;

/// How fine a ring is meshed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MeshOptions {
    /// Elements over the running band.
    pub band_elements: usize,
    /// Factor on the element sizes away from the band; 1 by default, smaller is finer.
    pub size_factor: f64,
}

impl Default for MeshOptions {
    fn default() -> Self {
        Self { band_elements: 12, size_factor: 1.0 }
    }
}

/// Kind of a surface, which decides its correlation.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SurfaceKind {
    /// Steeper than 45 degrees against the plane of rotation.
    Cylinder,
    /// Flatter.
    Plane,
}

/// Part of the surface outside the running band.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Surface {
    /// Part of an edge.
    pub span: EdgeSpan,
    /// Which fluid wets it.
    pub wetting: Wetting,
    /// Its kind.
    pub kind: SurfaceKind,
    /// Coefficient stated by the case, W/(m2 K).
    pub coefficient_w_per_m2_k: Option<f64>,
    /// Bulk temperature stated by the case, K.
    pub temperature_k: Option<f64>,
    /// Pressure stated by the case, absolute, Pa.
    pub pressure_pa: Option<f64>,
}

/// Where a point load goes: an edge and the local coordinate on it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct EdgePlace {
    pub edge: Edge,
    pub s: f64,
    /// Position, m.
    pub position_m: [f64; 2],
}

/// How the ring is held.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Hold {
    /// At a circle.
    Circle(EdgePlace),
    /// Pressure spread evenly.
    Spread(Vec<EdgeSpan>),
    /// Nodes without axial motion.
    Nodes(Vec<usize>),
}

/// A section ready for the finite elements.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Section {
    pub mesh: Mesh,
    pub surfaces: Vec<Surface>,
    pub secondary_seal: EdgePlace,
    pub spring: Option<EdgePlace>,
    pub hold: Hold,
    /// Singular places: position, radius left out of stress, name.
    pub singular: Vec<SingularPlace>,
}

/// A place where stress is singular and not assessed.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct SingularPlace {
    pub position_m: [f64; 2],
    pub mask_m: f64,
    /// What is not assessed there; empty at a fillet, where only the corner itself is left out.
    pub name: String,
}

impl Section {
    /// `solids` are those of the ring's parts: neighbours with equal properties are one body.
    pub(super) fn new(
        ring: &Ring,
        solids: &[Solid],
        band: &BandNodes,
        side: PressureSide,
        options: &MeshOptions,
    ) -> Result<Self, RingError> {
        let plan = plan(ring, solids, band, options);
        let mesh = plan.mesh()?;
        let perimeter = perimeter(&mesh);
        let secondary_seal = secondary_seal(ring, &mesh, &perimeter)?;
        let mut surfaces = wetted(&mesh, &perimeter, &secondary_seal, side);
        for condition in &ring.edges {
            override_edges(&mesh, &mut surfaces, condition);
        }
        let spring = if ring.floating { Some(spring_place(ring, &mesh, &perimeter)?) } else { None };
        let hold = hold(ring, &mesh, &perimeter, spring)?;
        let singular = singular_places(ring, &mesh, &plan.sizes, &secondary_seal, spring.as_ref(), &hold);
        Ok(Self { mesh, surfaces, secondary_seal, spring, hold, singular })
    }

    /// Axial force (N, into the body) on the surfaces that the sealed fluid wets at 1 Pa, from the radii of their ends alone.
    pub(super) fn projected_area_m2(&self) -> f64 {
        self.surfaces
            .iter()
            .filter(|surface| surface.wetting == Wetting::Sealed)
            .map(|surface| {
                let [a, b] = surface.span.ends(&self.mesh);
                PI * (b[0] * b[0] - a[0] * a[0])
            })
            .sum()
    }
}

/// Corners of the section, sizes around the band, re-entrant corners and support.
fn plan(ring: &Ring, solids: &[Solid], band: &BandNodes, options: &MeshOptions) -> Plan {
    let first = band.radius_m[0];
    let last = band.radius_m[band.radius_m.len() - 1];
    let element = (last - first) / options.band_elements as f64;
    let corners = || ring.parts.iter().flat_map(|part| part.corners_m);
    let span = |axis: usize| {
        let (low, high) = corners().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), c| (low.min(c[axis]), high.max(c[axis])));
        high - low
    };
    let extent = span(0).max(span(1));
    let factor = options.size_factor.clamp(0.1, 10.0);
    let coarse = factor * (extent / 14.0).min(4.0 * element).max(extent / 40.0);
    let mut sources = vec![SizeSource { ends: [[first, 0.0], [last, 0.0]], size: factor * 1.25 * element, growth: 0.2 }];
    let root = ring.fillet_radius_m.map_or(0.6 * coarse, |fillet| (fillet / 6.0).clamp(0.02 * coarse, 0.6 * coarse));
    for corner in corners().filter(|corner| is_step(ring, *corner)) {
        sources.push(SizeSource { ends: [corner, corner], size: root, growth: 0.3 });
    }
    let pieces = ring
        .parts
        .iter()
        .enumerate()
        .map(|(index, part)| Piece {
            corners: part.corners_m,
            material: solids.iter().position(|solid| *solid == solids[index]).unwrap_or(index),
            fit_radius: part.fit.map(|fit| fit.radius_m),
        })
        .collect();
    let points = match ring.support {
        Support::HeldFace { radius_m, z_m } if !ring.floating => radius_m.map(|r| [r, z_m]).to_vec(),
        _ => Vec::new(),
    };
    Plan { pieces, line: Some(PrescribedLine { radii: band.radius_m.clone() }), points, sizes: SizeField { coarse, sources } }
}

/// Whether a corner lies inside an edge of another piece: a step of the section.
fn is_step(ring: &Ring, corner: [f64; 2]) -> bool {
    ring.parts.iter().any(|part| {
        (0..4).any(|k| {
            let (a, b) = (part.corners_m[k], part.corners_m[(k + 1) % 4]);
            let length = (b[0] - a[0]).hypot(b[1] - a[1]);
            let along = ((corner[0] - a[0]) * (b[0] - a[0]) + (corner[1] - a[1]) * (b[1] - a[1])) / length;
            let off = ((corner[0] - a[0]) * (b[1] - a[1]) - (corner[1] - a[1]) * (b[0] - a[0])).abs() / length;
            off < 1e-6 * length && along > 1e-3 * length && along < (1.0 - 1e-3) * length
        })
    })
}

/// Edges outside the band in order, from the outer end of the band around the ring to its inner end.
fn perimeter(mesh: &Mesh) -> Vec<Edge> {
    let outside = mesh.loops.first().map_or(&[][..], Vec::as_slice);
    let on_band = |edge: &Edge| edge.nodes.iter().all(|node| mesh.line.contains(node));
    let after = outside.iter().position(|edge| on_band(edge) && mesh.line.last() == Some(&edge.nodes[2])).map_or(0, |k| k + 1);
    (0..outside.len()).map(|k| outside[(after + k) % outside.len()]).filter(|edge| !on_band(edge)).collect()
}

fn nearest_place(mesh: &Mesh, edges: &[Edge], point: [f64; 2]) -> Option<(usize, EdgePlace, f64)> {
    edges
        .iter()
        .enumerate()
        .map(|(index, edge)| {
            let (s, distance) = edge.nearest(mesh, point);
            (index, EdgePlace { edge: *edge, s, position_m: edge.at(mesh, s).position }, distance)
        })
        .min_by(|a, b| a.2.total_cmp(&b.2))
}

fn secondary_seal(ring: &Ring, mesh: &Mesh, perimeter: &[Edge]) -> Result<EdgePlace, RingError> {
    let off = |distance_m| RingError::SecondarySealOffRing { point_m: ring.secondary_seal_m, distance_m };
    let (_, place, distance) = nearest_place(mesh, perimeter, ring.secondary_seal_m).ok_or(off(f64::INFINITY))?;
    let depth = ring.parts.iter().flat_map(|part| part.corners_m).fold(0.0_f64, |depth, c| depth.max(c[1]));
    if distance <= 0.25 * depth && distance.is_finite() { Ok(place) } else { Err(off(distance)) }
}

/// The surface split at the secondary-seal point into sealed and low side; hollows inside the section are dry.
fn wetted(mesh: &Mesh, perimeter: &[Edge], seal: &EdgePlace, side: PressureSide) -> Vec<Surface> {
    let at = perimeter.iter().position(|edge| edge.nodes == seal.edge.nodes).unwrap_or(0);
    let (first, second) = match side {
        PressureSide::Outside => (Wetting::Sealed, Wetting::LowSide),
        PressureSide::Inside => (Wetting::LowSide, Wetting::Sealed),
    };
    let mut surfaces = Vec::with_capacity(perimeter.len() + 1);
    for (index, edge) in perimeter.iter().enumerate() {
        match index.cmp(&at) {
            std::cmp::Ordering::Less => surfaces.push(surface(mesh, edge.whole(), first)),
            std::cmp::Ordering::Greater => surfaces.push(surface(mesh, edge.whole(), second)),
            std::cmp::Ordering::Equal => {
                const SLIVER: f64 = 1e-6;
                if seal.s > -1.0 + SLIVER {
                    surfaces.push(surface(mesh, EdgeSpan { edge: *edge, from: -1.0, to: seal.s }, first));
                }
                if seal.s < 1.0 - SLIVER {
                    surfaces.push(surface(mesh, EdgeSpan { edge: *edge, from: seal.s, to: 1.0 }, second));
                }
            }
        }
    }
    let hollows = mesh.loops.iter().skip(1).flatten().map(|edge| surface(mesh, edge.whole(), Wetting::Dry));
    surfaces.extend(hollows);
    surfaces
}

fn surface(mesh: &Mesh, span: EdgeSpan, wetting: Wetting) -> Surface {
    let [r, z] = span.edge.at(mesh, 0.0).outward;
    let kind = if r.abs() > z.abs() { SurfaceKind::Cylinder } else { SurfaceKind::Plane };
    Surface { span, wetting, kind, coefficient_w_per_m2_k: None, temperature_k: None, pressure_pa: None }
}

fn override_edges(mesh: &Mesh, surfaces: &mut [Surface], condition: &EdgeCondition) {
    for surface in surfaces.iter_mut().filter(|surface| selected(mesh, &surface.span, condition.edge)) {
        surface.wetting = condition.wetted_by.unwrap_or(surface.wetting);
        surface.coefficient_w_per_m2_k = condition.coefficient_w_per_m2_k.or(surface.coefficient_w_per_m2_k);
        surface.temperature_k = condition.temperature_k.or(surface.temperature_k);
        surface.pressure_pa = condition.pressure_pa.or(surface.pressure_pa);
    }
}

fn selected(mesh: &Mesh, span: &EdgeSpan, selector: EdgeSelector) -> bool {
    let [r, z] = span.edge.at(mesh, 0.0).outward;
    let cylinder = r.abs() > z.abs();
    match selector {
        EdgeSelector::Bore => cylinder && r < 0.0,
        EdgeSelector::Outside => cylinder && r > 0.0,
        EdgeSelector::Back => !cylinder && z > 0.0,
        EdgeSelector::FaceSide => !cylinder && z < 0.0,
        EdgeSelector::Box { radius_m, z_m } => {
            let [r, z] = span.middle(mesh);
            let slack = 1e-9;
            r >= radius_m[0] - slack && r <= radius_m[1] + slack && z >= z_m[0] - slack && z <= z_m[1] + slack
        }
    }
}

/// The point on the back of the ring at the spring circle: the rearmost plane there.
fn spring_place(ring: &Ring, mesh: &Mesh, perimeter: &[Edge]) -> Result<EdgePlace, RingError> {
    let mut back = [f64::INFINITY, f64::NEG_INFINITY];
    let mut best: Option<EdgePlace> = None;
    for edge in perimeter {
        let [r, z] = edge.at(mesh, 0.0).outward;
        if z <= r.abs() {
            continue;
        }
        let (a, b) = (mesh.nodes[edge.nodes[2]], mesh.nodes[edge.nodes[0]]);
        back = [back[0].min(a[0]), back[1].max(b[0])];
        if ring.spring_radius_m < a[0] - 1e-9 || ring.spring_radius_m > b[0] + 1e-9 {
            continue;
        }
        let s = (2.0 * (b[0] - ring.spring_radius_m) / (b[0] - a[0]) - 1.0).clamp(-1.0, 1.0);
        let place = EdgePlace { edge: *edge, s, position_m: edge.at(mesh, s).position };
        if best.is_none_or(|found| place.position_m[1] > found.position_m[1]) {
            best = Some(place);
        }
    }
    best.ok_or(RingError::SpringOffRing { radius_m: ring.spring_radius_m, back_m: back })
}

fn hold(ring: &Ring, mesh: &Mesh, perimeter: &[Edge], spring: Option<EdgePlace>) -> Result<Hold, RingError> {
    if let Some(place) = spring {
        return Ok(Hold::Circle(place));
    }
    match ring.support {
        Support::SpringCircle => Ok(Hold::Circle(spring_place(ring, mesh, perimeter)?)),
        Support::Circle { radius_m, z_m } => {
            let off = RingError::SupportOffRing { radius_m: [radius_m; 2], z_m };
            match nearest_place(mesh, perimeter, [radius_m, z_m]) {
                Some((_, place, distance)) if distance < 0.3e-3 => Ok(Hold::Circle(place)),
                _ => Err(off),
            }
        }
        Support::Annulus { radius_m, z_m } => {
            let spans = annulus(mesh, perimeter, radius_m, z_m);
            if spans.is_empty() { Err(RingError::SupportOffRing { radius_m, z_m }) } else { Ok(Hold::Spread(spans)) }
        }
        Support::HeldFace { radius_m, z_m } => {
            let inside = |node: usize| {
                let [r, z] = mesh.nodes[node];
                (z - z_m).abs() < 1e-6 && r > radius_m[0] - 1e-6 && r < radius_m[1] + 1e-6
            };
            let mut nodes: Vec<usize> = perimeter.iter().flat_map(|edge| edge.nodes).filter(|node| inside(*node)).collect();
            nodes.sort_unstable();
            nodes.dedup();
            if nodes.is_empty() { Err(RingError::SupportOffRing { radius_m, z_m }) } else { Ok(Hold::Nodes(nodes)) }
        }
    }
}

/// Parts of plane edges at `z` between two radii.
fn annulus(mesh: &Mesh, perimeter: &[Edge], radius_m: [f64; 2], z_m: f64) -> Vec<EdgeSpan> {
    let (low, high) = (radius_m[0].min(radius_m[1]), radius_m[0].max(radius_m[1]));
    let mut spans = Vec::new();
    for edge in perimeter {
        let (a, b) = (mesh.nodes[edge.nodes[0]], mesh.nodes[edge.nodes[2]]);
        if (a[1] - z_m).abs() > 1e-6 || (b[1] - z_m).abs() > 1e-6 {
            continue;
        }
        let local = |r: f64| 2.0 * (r.clamp(a[0].min(b[0]), a[0].max(b[0])) - a[0]) / (b[0] - a[0]) - 1.0;
        let (from, to) = (local(low).min(local(high)), local(low).max(local(high)));
        if to - from > 1e-9 {
            spans.push(EdgeSpan { edge: *edge, from, to });
        }
    }
    spans
}

/// Share of a fillet's radius at which the field of the sharp corner stands for the stress in the fillet.
///
/// Creager and Paris, Int. J. Fract. Mech. 3 (1967) 247: the tip of a blunt crack carries the stress that the sharp one has at an
/// eighth of the radius (from memory). Inner corners of 90 degrees are a little less singular: the estimate is high.
const FILLET_SHARE: f64 = 0.125;

/// Re-entrant corners without a stated fillet, circles on which forces act, and ends of fits. At a stated fillet the sharp corner
/// is left out only nearer than [`FILLET_SHARE`] of its radius, and counts as assessed.
fn singular_places(
    ring: &Ring,
    mesh: &Mesh,
    sizes: &SizeField,
    seal: &EdgePlace,
    spring: Option<&EdgePlace>,
    hold: &Hold,
) -> Vec<SingularPlace> {
    let mut places = Vec::new();
    let mut push = |position_m: [f64; 2], name: String| {
        places.push(SingularPlace { position_m, mask_m: 1.5 * sizes.at(position_m), name });
    };
    let named = |what: &str, p: [f64; 2]| format!("{what} at r {}, z {}", length(p[0]), length(p[1]));
    if ring.fillet_radius_m.is_none() {
        for corner in re_entrant_corners(mesh) {
            push(corner, named("inner corner", corner));
        }
    }
    if ring.floating {
        push(seal.position_m, named("secondary-seal circle", seal.position_m));
    }
    if let Some(place) = spring {
        push(place.position_m, named("spring circle", place.position_m));
    }
    match hold {
        Hold::Circle(place) if spring.is_none() => push(place.position_m, named("support circle", place.position_m)),
        Hold::Nodes(nodes) => {
            for end in [
                nodes.iter().min_by(|a, b| mesh.nodes[**a][0].total_cmp(&mesh.nodes[**b][0])),
                nodes.iter().max_by(|a, b| mesh.nodes[**a][0].total_cmp(&mesh.nodes[**b][0])),
            ]
            .into_iter()
            .flatten()
            {
                push(mesh.nodes[*end], named("edge of the held face", mesh.nodes[*end]));
            }
        }
        _ => {}
    }
    for end in mesh.fits.iter().flat_map(|fit| fit_ends(mesh, fit)) {
        push(end, named("end of the fit", end));
    }
    if let Some(fillet) = ring.fillet_radius_m {
        let assessed = re_entrant_corners(mesh).into_iter();
        places.extend(assessed.map(|position_m| SingularPlace { position_m, mask_m: FILLET_SHARE * fillet, name: String::new() }));
    }
    places
}

fn re_entrant_corners(mesh: &Mesh) -> Vec<[f64; 2]> {
    let mut corners = Vec::new();
    for chain in &mesh.loops {
        for k in 0..chain.len() {
            let (edge, next) = (&chain[k], &chain[(k + 1) % chain.len()]);
            let direction = |e: &Edge| {
                let (a, b) = (mesh.nodes[e.nodes[0]], mesh.nodes[e.nodes[2]]);
                let length = (b[0] - a[0]).hypot(b[1] - a[1]);
                [(b[0] - a[0]) / length, (b[1] - a[1]) / length]
            };
            let (a, b) = (direction(edge), direction(next));
            // a right turn with the body on the left: less than about 10 degrees is no corner
            if a[0] * b[1] - a[1] * b[0] < -0.17 {
                corners.push(mesh.nodes[edge.nodes[2]]);
            }
        }
    }
    corners
}

pub(super) fn fit_ends(mesh: &Mesh, fit: &FitLine) -> Vec<[f64; 2]> {
    let nodes = || fit.edges.iter().flat_map(|edge| edge.nodes).map(|node| mesh.nodes[node]);
    let low = nodes().min_by(|a, b| a[1].total_cmp(&b[1]));
    let high = nodes().max_by(|a, b| a[1].total_cmp(&b[1]));
    low.into_iter().chain(high).collect()
}
