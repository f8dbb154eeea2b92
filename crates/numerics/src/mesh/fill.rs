//! Quadrilaterals filled with elements: equal divisions on opposite edges, nodes shared along common edges.

use std::collections::{BTreeMap, HashMap};

use super::split::{Complex, fit_on_edge};
use super::{Edge, Element, FitLine, InterfaceSide, Mesh, Plan, SizeField, Twin, boundary};
use crate::serendipity::SIDES;

/// A block for [`Mesh::from_blocks`]: the unit square mapped to the section.
pub struct Block<'a> {
    /// Divisions in the first and second direction.
    pub divisions: [usize; 2],
    /// Map from the unit square to `[r, z]`; orientation-preserving.
    pub map: &'a dyn Fn(f64, f64) -> [f64; 2],
    /// Index of the material.
    pub material: usize,
}

/// Undirected edge of the split section.
type EdgeKey = (usize, usize);

/// Where a node stands in the split section.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
enum Site {
    Vertex(usize),
    /// Edge and position along it from its lower vertex, in half divisions.
    Edge(EdgeKey, usize),
    /// Inside a quadrilateral.
    Inside(usize, usize),
}

pub(super) fn fill(plan: &Plan, complex: &Complex, bodies: &[usize]) -> Mesh {
    let divisions = divisions(plan, complex);
    let mut mesh = Mesh::default();
    let points = complex.quads.iter().map(|quad| {
        let v = quad.vertices;
        [v[1], v[3]].map(|end| divisions[&(v[0].min(end), v[0].max(end))].len()).iter().product::<usize>()
    });
    // three of four grid points are nodes
    let expected = points.sum::<usize>() * 3 / 4;
    let mut known: HashMap<(usize, Site), usize> = HashMap::with_capacity(expected);
    let mut places: HashMap<Site, usize> = HashMap::with_capacity(expected);
    for (index, quad) in complex.quads.iter().enumerate() {
        let v = quad.vertices;
        let along = oriented(&divisions, v[0], v[1]);
        let across = oriented(&divisions, v[0], v[3]);
        let (nu, nv) = (along.len() / 2, across.len() / 2);
        let body = bodies[quad.piece];
        let mut grid = vec![usize::MAX; (2 * nu + 1) * (2 * nv + 1)];
        for j in 0..=2 * nv {
            for i in 0..=2 * nu {
                if i % 2 == 1 && j % 2 == 1 {
                    continue;
                }
                let site = site(index, &v, [i, j], [2 * nu, 2 * nv]);
                let node = *known.entry((body, site)).or_insert_with(|| {
                    mesh.nodes.push(bilinear(complex, &v, along[i], across[j]));
                    let next = places.len();
                    mesh.places.push(*places.entry(site).or_insert(next));
                    mesh.nodes.len() - 1
                });
                grid[j * (2 * nu + 1) + i] = node;
            }
        }
        push_elements(&mut mesh.elements, &grid, [nu, nv], plan.pieces[quad.piece].material, body);
    }
    mesh.place_count = places.len();
    mesh.loops = boundary::loops(&mesh);
    join_bodies(&mut mesh, plan, complex, bodies, &divisions, &known);
    place_line(&mut mesh, plan, complex, bodies, &divisions, &known);
    mesh
}

fn push_elements(elements: &mut Vec<Element>, grid: &[usize], [nu, nv]: [usize; 2], material: usize, body: usize) {
    let at = |i: usize, j: usize| grid[j * (2 * nu + 1) + i];
    for b in 0..nv {
        for a in 0..nu {
            let (i, j) = (2 * a, 2 * b);
            let nodes =
                [at(i, j), at(i + 2, j), at(i + 2, j + 2), at(i, j + 2), at(i + 1, j), at(i + 2, j + 1), at(i + 1, j + 2), at(i, j + 1)];
            elements.push(Element { nodes, material, body });
        }
    }
}

fn bilinear(complex: &Complex, v: &[usize; 4], s: f64, t: f64) -> [f64; 2] {
    let p = v.map(|k| complex.vertices[k]);
    [0, 1].map(|c| (1.0 - t) * ((1.0 - s) * p[0][c] + s * p[1][c]) + t * ((1.0 - s) * p[3][c] + s * p[2][c]))
}

/// Site of grid point `[i, j]` of a quadrilateral.
fn site(quad: usize, v: &[usize; 4], [i, j]: [usize; 2], [ni, nj]: [usize; 2]) -> Site {
    match ((i == 0, i == ni), (j == 0, j == nj)) {
        ((true, _), (true, _)) => Site::Vertex(v[0]),
        ((_, true), (true, _)) => Site::Vertex(v[1]),
        ((_, true), (_, true)) => Site::Vertex(v[2]),
        ((true, _), (_, true)) => Site::Vertex(v[3]),
        (_, (true, _)) => edge_site(v[0], v[1], i, ni),
        (_, (_, true)) => edge_site(v[3], v[2], i, ni),
        ((true, _), _) => edge_site(v[0], v[3], j, nj),
        ((_, true), _) => edge_site(v[1], v[2], j, nj),
        _ => Site::Inside(quad, j * (ni + 1) + i),
    }
}

fn edge_site(a: usize, b: usize, at: usize, count: usize) -> Site {
    Site::Edge((a.min(b), a.max(b)), if a < b { at } else { count - at })
}

/// Node parameters along the edge from `a` to `b`: 0, ..., 1 with mid-side nodes.
fn oriented(divisions: &BTreeMap<EdgeKey, Vec<f64>>, a: usize, b: usize) -> Vec<f64> {
    let stored = &divisions[&(a.min(b), a.max(b))];
    if a < b { stored.clone() } else { stored.iter().rev().map(|t| 1.0 - t).collect() }
}

/// Node parameters of every edge from its lower to its higher vertex, equal on opposite edges.
fn divisions(plan: &Plan, complex: &Complex) -> BTreeMap<EdgeKey, Vec<f64>> {
    let classes = opposite_classes(complex);
    let mut all = BTreeMap::new();
    for class in classes {
        let nodes = prescribed(plan, complex, &class).unwrap_or_else(|| graded(&plan.sizes, complex, &class));
        for (edge, flipped) in class {
            all.insert(edge, if flipped { nodes.iter().rev().map(|t| 1.0 - t).collect() } else { nodes.clone() });
        }
    }
    all
}

/// Edges that must have equal divisions, each with its sense against the first.
fn opposite_classes(complex: &Complex) -> Vec<Vec<(EdgeKey, bool)>> {
    let mut neighbours: BTreeMap<EdgeKey, Vec<(EdgeKey, bool)>> = BTreeMap::new();
    for quad in &complex.quads {
        let v = quad.vertices;
        for [a, b, c, d] in [[v[0], v[1], v[3], v[2]], [v[0], v[3], v[1], v[2]]] {
            let (first, second) = ((a.min(b), a.max(b)), (c.min(d), c.max(d)));
            let flipped = (a < b) != (c < d);
            neighbours.entry(first).or_default().push((second, flipped));
            neighbours.entry(second).or_default().push((first, flipped));
        }
    }
    let mut seen: BTreeMap<EdgeKey, ()> = BTreeMap::new();
    let mut classes = Vec::new();
    for start in neighbours.keys() {
        if seen.contains_key(start) {
            continue;
        }
        let mut class = vec![(*start, false)];
        seen.insert(*start, ());
        let mut at = 0;
        while at < class.len() {
            let (edge, sense) = class[at];
            for (next, flipped) in &neighbours[&edge] {
                if seen.insert(*next, ()).is_none() {
                    class.push((*next, sense != *flipped));
                }
            }
            at += 1;
        }
        classes.push(class);
    }
    classes
}

/// Node parameters of a class that holds a part of the prescribed line.
fn prescribed(plan: &Plan, complex: &Complex, class: &[(EdgeKey, bool)]) -> Option<Vec<f64>> {
    let line = plan.line.as_ref()?;
    class.iter().find_map(|((a, b), flipped)| {
        let (ia, ib) = (*complex.line_corner.get(a)?, *complex.line_corner.get(b)?);
        let (from, to) = (2 * ia.min(ib), 2 * ia.max(ib));
        let (start, end) = (line.radii[from], line.radii[to]);
        let rising: Vec<f64> = line.radii[from..=to].iter().map(|r| (r - start) / (end - start)).collect();
        let falls = (ia > ib) != *flipped;
        Some(if falls { rising.iter().rev().map(|t| 1.0 - t).collect() } else { rising })
    })
}

/// Node parameters by equal share of wanted divisions.
fn graded(sizes: &SizeField, complex: &Complex, class: &[(EdgeKey, bool)]) -> Vec<f64> {
    const SAMPLES: usize = 48;
    let mut density = [0.0_f64; SAMPLES];
    for ((a, b), flipped) in class {
        let (mut p, mut q) = (complex.vertices[*a], complex.vertices[*b]);
        if *flipped {
            std::mem::swap(&mut p, &mut q);
        }
        let length = (q[0] - p[0]).hypot(q[1] - p[1]);
        for (k, value) in density.iter_mut().enumerate() {
            let t = (k as f64 + 0.5) / SAMPLES as f64;
            *value = value.max(length / sizes.at([p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1])]));
        }
    }
    let total = density.iter().sum::<f64>() / SAMPLES as f64;
    let count = (total.round() as usize).max(1);
    let mut corners = vec![0.0];
    let (mut sum, mut at) = (0.0, 0);
    for k in 1..count {
        let wanted = total * k as f64 / count as f64;
        while sum + density[at] / SAMPLES as f64 <= wanted && at + 1 < SAMPLES {
            sum += density[at] / SAMPLES as f64;
            at += 1;
        }
        corners.push((at as f64 + (wanted - sum) * SAMPLES as f64 / density[at]) / SAMPLES as f64);
    }
    corners.push(1.0);
    let mut nodes = Vec::with_capacity(2 * count + 1);
    for pair in corners.windows(2) {
        nodes.push(pair[0]);
        nodes.push(0.5 * (pair[0] + pair[1]));
    }
    nodes.push(1.0);
    nodes
}

/// An edge between two bodies.
struct Interface {
    key: EdgeKey,
    /// Body on either side.
    bodies: [usize; 2],
    /// Outward normal of the first body times the length, m.
    normal: [f64; 2],
    /// The piece whose fit it lies on.
    carrier: Option<usize>,
}

fn interfaces(plan: &Plan, complex: &Complex, bodies: &[usize]) -> Vec<Interface> {
    let mut owners: BTreeMap<EdgeKey, usize> = BTreeMap::new();
    let mut found = Vec::new();
    for quad in &complex.quads {
        for k in 0..4 {
            let (a, b) = (quad.vertices[k], quad.vertices[(k + 1) % 4]);
            let key = (a.min(b), a.max(b));
            let Some(other) = owners.insert(key, quad.piece) else { continue };
            if bodies[other] == bodies[quad.piece] {
                continue;
            }
            let (p, q) = (complex.vertices[a], complex.vertices[b]);
            found.push(Interface {
                key,
                bodies: [bodies[quad.piece], bodies[other]],
                normal: [q[1] - p[1], p[0] - q[0]],
                carrier: fit_on_edge(&plan.pieces, complex, [other, quad.piece], [a, b]),
            });
        }
    }
    found
}

/// Twins and fit cylinders along edges between two bodies.
fn join_bodies(
    mesh: &mut Mesh,
    plan: &Plan,
    complex: &Complex,
    bodies: &[usize],
    divisions: &BTreeMap<EdgeKey, Vec<f64>>,
    known: &HashMap<(usize, Site), usize>,
) {
    let interfaces = interfaces(plan, complex, bodies);
    if interfaces.is_empty() {
        return;
    }
    // bodies that meet are the two sides of a fit: the carrier's body is the outer one wherever they meet
    let outer_of: BTreeMap<[usize; 2], usize> =
        interfaces.iter().rev().filter_map(|i| i.carrier.map(|piece| (sorted(i.bodies), bodies[piece]))).collect();
    let side_of: HashMap<(usize, usize), usize> =
        mesh.elements.iter().enumerate().flat_map(|(k, e)| SIDES.map(|s| ((e.nodes[s[0]], e.nodes[s[2]]), k))).collect();
    let mut twins: BTreeMap<(usize, usize), Twin> = BTreeMap::new();
    for interface in &interfaces {
        let outer = outer_of.get(&sorted(interface.bodies)).copied().unwrap_or(interface.bodies[1]);
        let [first, second] = interface.bodies;
        let inner = if outer == first { second } else { first };
        let sites = edge_sites(interface.key, divisions[&interface.key].len() - 1);
        let fit = interface.carrier.map(|piece| {
            let index = mesh.fits.iter().position(|f| f.piece == piece).unwrap_or_else(|| {
                let radius = plan.pieces[piece].fit_radius.unwrap_or_default();
                mesh.fits.push(FitLine { radius, piece, edges: Vec::new() });
                mesh.fits.len() - 1
            });
            let inside = if bodies[piece] == first { second } else { first };
            mesh.fits[index].edges.extend(edges_along(&sites, inside, known, &side_of));
            index
        });
        let [r, z] = interface.normal;
        let beyond = |along: f64| if (along > 0.0) == (second == outer) { InterfaceSide::Outer } else { InterfaceSide::Inner };
        let on_cylinder = r.abs() > z.abs();
        for site in &sites {
            let pair = (known[&(inner, *site)], known[&(outer, *site)]);
            let twin = twins.entry(pair).or_insert(Twin { inner: pair.0, outer: pair.1, fit: None, cylinder: None, plane: None });
            twin.fit = twin.fit.or(fit);
            if on_cylinder {
                twin.cylinder = twin.cylinder.or(Some(beyond(r)));
            } else {
                twin.plane = twin.plane.or(Some(beyond(z)));
            }
        }
    }
    mesh.twins = twins.into_values().collect();
}

fn sorted([a, b]: [usize; 2]) -> [usize; 2] {
    [a.min(b), a.max(b)]
}

fn edge_sites(key: EdgeKey, count: usize) -> Vec<Site> {
    (0..=count)
        .map(|i| match i {
            0 => Site::Vertex(key.0),
            _ if i == count => Site::Vertex(key.1),
            _ => Site::Edge(key, i),
        })
        .collect()
}

/// Element edges of one body along a list of sites.
fn edges_along(sites: &[Site], body: usize, known: &HashMap<(usize, Site), usize>, side_of: &HashMap<(usize, usize), usize>) -> Vec<Edge> {
    sites
        .windows(3)
        .step_by(2)
        .filter_map(|three| {
            let [a, middle, b] = [0, 1, 2].map(|k| known[&(body, three[k])]);
            [[a, middle, b], [b, middle, a]]
                .into_iter()
                .find_map(|nodes| side_of.get(&(nodes[0], nodes[2])).map(|element| Edge { nodes, element: *element }))
        })
        .collect()
}

/// Find the nodes of the prescribed line and give them exactly the prescribed radii.
fn place_line(
    mesh: &mut Mesh,
    plan: &Plan,
    complex: &Complex,
    bodies: &[usize],
    divisions: &BTreeMap<EdgeKey, Vec<f64>>,
    known: &HashMap<(usize, Site), usize>,
) {
    let Some(line) = &plan.line else { return };
    let mut nodes = vec![usize::MAX; line.radii.len()];
    for quad in &complex.quads {
        for k in 0..4 {
            let (a, b) = (quad.vertices[k], quad.vertices[(k + 1) % 4]);
            let (Some(ia), Some(ib)) = (complex.line_corner.get(&a), complex.line_corner.get(&b)) else { continue };
            let key = (a.min(b), a.max(b));
            let body = bodies[quad.piece];
            for (i, site) in edge_sites(key, divisions[&key].len() - 1).into_iter().enumerate() {
                let at = if (key.0 == a) == (ia < ib) { 2 * ia.min(ib) + i } else { 2 * ia.max(ib) - i };
                nodes[at] = known[&(body, site)];
            }
        }
    }
    for (node, radius) in nodes.iter().zip(&line.radii) {
        mesh.nodes[*node] = [*radius, 0.0];
    }
    mesh.line = nodes;
}

pub(super) fn from_blocks(blocks: &[Block<'_>], tolerance: f64) -> Mesh {
    let mut mesh = Mesh::default();
    for block in blocks {
        let [nu, nv] = block.divisions;
        let mut grid = vec![usize::MAX; (2 * nu + 1) * (2 * nv + 1)];
        let before = mesh.nodes.len();
        for j in 0..=2 * nv {
            for i in 0..=2 * nu {
                if i % 2 == 1 && j % 2 == 1 {
                    continue;
                }
                let point = (block.map)(i as f64 / (2 * nu) as f64, j as f64 / (2 * nv) as f64);
                let rim = i == 0 || j == 0 || i == 2 * nu || j == 2 * nv;
                let near = |node: &[f64; 2]| (node[0] - point[0]).hypot(node[1] - point[1]) < tolerance;
                let joined = if rim { mesh.nodes[..before].iter().position(near) } else { None };
                grid[j * (2 * nu + 1) + i] = joined.unwrap_or_else(|| {
                    mesh.nodes.push(point);
                    mesh.nodes.len() - 1
                });
            }
        }
        push_elements(&mut mesh.elements, &grid, [nu, nv], block.material, 0);
    }
    mesh.places = (0..mesh.nodes.len()).collect();
    mesh.place_count = mesh.nodes.len();
    mesh.loops = boundary::loops(&mesh);
    mesh
}
