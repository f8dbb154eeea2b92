//! Unknowns of the elastic body that are kept, and what links them.

use std::collections::BTreeMap;

use halfmicron_numerics::constraint::Constraints;
use halfmicron_numerics::mesh::{InterfaceSide, Mesh, Twin};

use super::section::{Hold, Section};

/// Unknowns kept: axial motion of the band, what the two sides of interfaces exchange, axial motion of a held face.
pub(super) struct Retained {
    pub unknowns: Vec<usize>,
    pub constraints: Constraints,
    /// Index into the mesh's fits of each jump; none where bodies only touch.
    pub jump_fit: Vec<Option<usize>>,
}

/// How the two sides of an interface node act on each other along the axis.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Axial {
    /// They move together.
    Tied,
    /// They press on each other or part; the side given lies at the greater `z`.
    Pressed(InterfaceSide),
    /// They slide.
    Free,
}

impl Retained {
    pub(super) fn new(section: &Section) -> Self {
        let mesh = &section.mesh;
        let mut unknowns = Vec::new();
        let mut index: BTreeMap<usize, usize> = BTreeMap::new();
        let mut keep = |unknown: usize| {
            *index.entry(unknown).or_insert_with(|| {
                unknowns.push(unknown);
                unknowns.len() - 1
            })
        };
        for node in &mesh.line {
            keep(2 * node + 1);
        }
        let mut constraints = Constraints::default();
        let mut jump_fit = Vec::new();
        for (twin, axial) in mesh.twins.iter().zip(axial_links(mesh)) {
            if let Some(beyond) = twin.cylinder {
                constraints.jumps.push(twin.ordered(beyond).map(|node| keep(2 * node)));
                jump_fit.push(twin.fit);
            }
            match axial {
                Axial::Tied => constraints.ties.push([twin.inner, twin.outer].map(|node| keep(2 * node + 1))),
                Axial::Pressed(beyond) => {
                    constraints.jumps.push(twin.ordered(beyond).map(|node| keep(2 * node + 1)));
                    jump_fit.push(None);
                }
                Axial::Free => {}
            }
        }
        match &section.hold {
            Hold::Nodes(nodes) => constraints.pins = nodes.iter().map(|node| keep(2 * node + 1)).collect(),
            // forces balance: the pin only takes out the rigid motion
            Hold::Circle(_) | Hold::Spread(_) => constraints.pins = vec![0],
        }
        Self { unknowns, constraints, jump_fit }
    }
}

/// A body pressed home on a floor sits there; without a floor the fit alone holds it along its whole length.
fn axial_links(mesh: &Mesh) -> Vec<Axial> {
    let mut body = vec![0; if mesh.twins.is_empty() { 0 } else { mesh.nodes.len() }];
    if !body.is_empty() {
        mesh.elements.iter().for_each(|element| element.nodes.iter().for_each(|node| body[*node] = element.body));
    }
    let pair = |twin: &Twin| [body[twin.inner], body[twin.outer]];
    let mut seats: BTreeMap<[usize; 2], Option<usize>> = BTreeMap::new();
    for twin in &mesh.twins {
        seats.entry(pair(twin)).or_insert_with(|| seat(mesh, &body, pair(twin)));
    }
    mesh.twins
        .iter()
        .enumerate()
        .map(|(k, twin)| match (seats[&pair(twin)], twin.plane) {
            (Some(seat), _) if seat == k => Axial::Tied,
            (None, _) if twin.fit.is_some() => Axial::Tied,
            (_, Some(beyond)) => Axial::Pressed(beyond),
            _ => Axial::Free,
        })
        .collect()
}

/// The node of the fit between two bodies that lies nearest to the floor on which the face presses one of them.
fn seat(mesh: &Mesh, body: &[usize], pair: [usize; 2]) -> Option<usize> {
    let face = mesh.line.first().map(|node| body[*node]);
    let own = || mesh.twins.iter().enumerate().filter(|(_, twin)| [body[twin.inner], body[twin.outer]] == pair);
    let behind = |twin: &Twin| twin.plane.map(|beyond| body[twin.ordered(beyond)[1]]);
    let floor: Vec<[f64; 2]> =
        own().filter(|(_, twin)| behind(twin).is_some_and(|b| Some(b) != face)).map(|(_, twin)| mesh.nodes[twin.inner]).collect();
    let away = |twin: &Twin| {
        let [r, z] = mesh.nodes[twin.inner];
        floor.iter().map(|p| (p[0] - r).hypot(p[1] - z)).fold(f64::INFINITY, f64::min)
    };
    own().filter(|(_, twin)| twin.fit.is_some() && !floor.is_empty()).min_by(|(_, a), (_, b)| away(a).total_cmp(&away(b))).map(|(k, _)| k)
}
