//! Sections of the rings: pieces, faces and the running band.

use super::super::error::Cause;
use super::super::geometry::{self, Edge, Quad, SAME_M};
use super::super::tree::{Table, Value};
use super::{Lowering, Scope, mm};
use crate::model::{BandLimits, Fit, Part, RingRole};
use crate::notice::Notice;

/// Overhang of the wide face below which the narrow ring may run over its edge, m (common practice, no source).
const LEAST_OVERHANG_M: f64 = 0.5e-3;

/// A ring as far as its section goes.
pub(super) struct Draft {
    pub role: RingRole,
    /// The table of the ring; none when the case has no such ring.
    pub table: Option<Table>,
    pub parts: Vec<Part>,
    pub perimeter: Vec<Edge>,
    /// Whether every stated piece could be placed.
    pub whole: bool,
}

/// The running band and the ring that states it; none when a film alone states it.
pub(super) struct Face {
    pub role: RingRole,
    pub band: BandLimits,
    /// Table that holds `inner` and `outer`.
    table: Table,
}

pub(super) fn ring_key(role: RingRole) -> &'static str {
    match role {
        RingRole::Rotating => "rotating_ring",
        RingRole::Stationary => "stationary_ring",
    }
}

impl Draft {
    /// Greatest axial extent, m.
    pub fn back_z(&self) -> f64 {
        self.parts.iter().flat_map(|part| part.corners_m).map(|corner| corner[1]).fold(0.0, f64::max)
    }

    /// Radial intervals of the rearmost back face, m.
    pub fn back(&self) -> Vec<[f64; 2]> {
        geometry::plane_intervals(&self.perimeter, self.back_z(), true)
    }

    /// Least and greatest radius, m.
    pub fn radii(&self) -> [f64; 2] {
        let radii = || self.parts.iter().flat_map(|part| part.corners_m).map(|corner| corner[0]);
        [radii().fold(f64::INFINITY, f64::min), radii().fold(0.0, f64::max)]
    }
}

impl Lowering<'_> {
    /// The running band: stated on the narrow ring, or in `[gap]` of a case without rings.
    pub(super) fn band(&mut self, scope: Scope) -> Option<Face> {
        let mut stated: Vec<(RingRole, &Table)> = Vec::new();
        let mut unreadable = false;
        for role in [RingRole::Rotating, RingRole::Stationary] {
            let Some(ring) = self.root.table(ring_key(role)) else { continue };
            unreadable |= ring.invalid("face");
            stated.extend(ring.table("face").map(|face| (role, face)));
        }
        if stated.is_empty() {
            stated.extend(self.root.table("gap").and_then(|gap| gap.table("face")).map(|face| (RingRole::Rotating, face)));
        }
        match stated[..] {
            [] if unreadable => None,
            [] => {
                let place = if scope.film_alone { "gap" } else { "rotating_ring" };
                if let Some(table) = self.root.table(place).or(self.root.table("stationary_ring")) {
                    self.missing(table, "face", "it stands on the ring with the narrow face");
                }
                None
            }
            [(role, table)] => self.limits_of_band(table).map(|band| Face { role, band, table: table.clone() }),
            [_, (_, second), ..] => {
                let message = "both rings state a `face`; only the ring with the narrow face does".to_owned();
                self.error_at(second.span.clone(), second.path.clone(), Cause::Contradiction(message), "remove it from the wider ring");
                None
            }
        }
    }

    fn limits_of_band(&mut self, table: &Table) -> Option<BandLimits> {
        let (inner, outer) = (table.number("inner")?, table.number("outer")?);
        if outer - inner > 2.0 * SAME_M {
            return Some(BandLimits { inner_radius_m: 0.5 * inner, outer_radius_m: 0.5 * outer });
        }
        let message = format!("inner diameter {} is not below outer diameter {}", mm(inner), mm(outer));
        self.error(table, "inner", Cause::Geometry(message), "exchange the two, or correct one; both are diameters");
        None
    }

    /// The pieces of one ring.
    pub(super) fn section(&mut self, role: RingRole, scope: Scope) -> Draft {
        let table = self.root.table(ring_key(role)).cloned();
        let mut draft = Draft { role, table: None, parts: Vec::new(), perimeter: Vec::new(), whole: true };
        let Some(ring) = table else {
            draft.whole = !self.root.has(ring_key(role));
            if draft.whole && !scope.film_alone && !scope.ring_alone {
                self.missing(self.root, ring_key(role), "");
            }
            return draft;
        };
        if !(ring.has("section") || scope.film_alone || scope.rigid) {
            self.missing(&ring, "section", "needed unless [gap] is given or heat and distortion are switched off");
        }
        draft.whole = !ring.invalid("section") && !ring.invalid("parts");
        for piece in ring.list("section").iter().chain(ring.list("parts")) {
            match self.piece(piece, &ring) {
                Some(part) => draft.parts.push(part),
                None => draft.whole = false,
            }
        }
        if draft.whole && !draft.parts.is_empty() {
            self.check_pieces(&ring, &mut draft);
        }
        draft.table = Some(ring);
        draft
    }

    fn piece(&mut self, piece: &Table, ring: &Table) -> Option<Part> {
        let corners_m = self.quad(piece);
        let material = if piece.has("material") { self.material(piece, "material") } else { self.material(ring, "material") };
        let fit = if piece.keys.iter().any(|key| key.name == "fit") { piece.table("fit") } else { None };
        let fit = fit.map(|table| {
            let temperature_k = self.number_or(table, "at", 293.15, "20 degC", "the temperature at which rings are assembled and measured");
            Some(Fit { radius_m: table.number("r")?, interference_m: table.number("interference")?, temperature_k })
        });
        let fit = match fit {
            Some(None) => return None,
            Some(fit) => fit,
            None => None,
        };
        Some(Part { material: material?, corners_m: corners_m?, fit })
    }

    fn quad(&mut self, piece: &Table) -> Option<Quad> {
        let [r, z, corners] = ["r", "z", "corners"].map(|name| piece.has(name));
        if corners && (r || z) {
            let message = "a piece has either `r` and `z` or `corners`".to_owned();
            self.error_at(piece.span.clone(), piece.path.clone(), Cause::Contradiction(message), "remove one of the two");
            return None;
        }
        if corners {
            let Some(Value::Corners(quad)) = piece.node("corners").map(|node| &node.value) else { return None };
            let turned = geometry::counter_clockwise(*quad);
            if turned.is_none() {
                let message = "the four corners do not go around a convex piece".to_owned();
                let help =
                    "give them in order around the piece, without crossing sides or inward corners; split an inward corner into two pieces";
                self.error(piece, "corners", Cause::Geometry(message), help);
            }
            return turned;
        }
        for (present, name) in [(r, "r"), (z, "z")] {
            if !present {
                self.missing(piece, name, "or give `corners`");
            }
        }
        Some(geometry::rectangle(piece.pair("r")?, piece.pair("z")?))
    }

    /// Touching the face plane, no overlaps, shared edges, fits on a shared cylinder.
    fn check_pieces(&mut self, ring: &Table, draft: &mut Draft) {
        let places: Vec<&Table> = ring.list("section").iter().chain(ring.list("parts")).collect();
        let quads: Vec<Quad> = draft.parts.iter().map(|part| part.corners_m).collect();
        let lowest = quads[0].iter().map(|corner| corner[1]).fold(f64::INFINITY, f64::min);
        let before = self.errors.len();
        if lowest > SAME_M || geometry::plane_intervals(&geometry::perimeter(&quads[..1]), 0.0, false).is_empty() {
            let message = format!("the first piece does not carry the face: it starts at z = {}, not with an edge at z = 0", mm(lowest));
            let help = "each ring has its own z: the running face is z = 0, the body lies in z > 0, and the first piece carries the face";
            self.error_at(places[0].span.clone(), places[0].path.clone(), Cause::Geometry(message), help);
        }
        for index in 1..quads.len() {
            let place = places[index];
            if let Some(other) = (0..index).find(|other| geometry::common_area(&quads[*other], &quads[index]) > 1e-11) {
                let share = geometry::common_area(&quads[other], &quads[index]) * 1e6;
                let message = format!("overlaps `{}` by {share:.3} mm2", places[other].path);
                self.error_at(place.span.clone(), place.path.clone(), Cause::Geometry(message), "pieces share edges and nothing else");
            } else if (0..index).all(|other| geometry::shared_length(&quads[other], &quads[index]) < SAME_M) {
                let message = "touches no earlier piece along an edge".to_owned();
                let help = format!("pieces share edges; {}", nearest_gap(&quads[..index], &quads[index]));
                self.error_at(place.span.clone(), place.path.clone(), Cause::Geometry(message), help);
            }
            self.check_fit(place, &quads, index, draft.parts[index].fit);
        }
        draft.whole = self.errors.len() == before;
        if draft.whole {
            draft.perimeter = geometry::perimeter(&quads);
        }
    }

    fn check_fit(&mut self, place: &Table, quads: &[Quad], index: usize, fit: Option<Fit>) {
        let Some(fit) = fit else { return };
        let on_cylinder = |edge: Edge| edge.radii().iter().all(|r| (r - fit.radius_m).abs() < SAME_M);
        let shared = geometry::edges(&quads[index]).filter(|edge| on_cylinder(*edge)).any(|edge| {
            let side = [edge.from, edge.to, edge.to, edge.from];
            quads.iter().enumerate().any(|(other, quad)| other != index && geometry::shared_length(&side, quad) > SAME_M)
        });
        let inner = quads[index].iter().map(|corner| corner[0]).fold(f64::INFINITY, f64::min);
        if shared && (inner - fit.radius_m).abs() < SAME_M {
            return;
        }
        let message = format!("the fit at r = {} is not the bore of this part against a neighbour", mm(fit.radius_m));
        let help = format!("the bore of this part is at r = {}; a neighbour must share an edge there", mm(inner));
        self.error_at(place.span_of("fit"), place.path_of("fit"), Cause::Geometry(message), help);
    }

    /// The band lies on the narrow ring's face, and the other face covers it.
    pub(super) fn check_faces(&mut self, face: &Face, drafts: &[Draft; 2]) {
        let narrow_first = if drafts[0].role == face.role { [&drafts[0], &drafts[1]] } else { [&drafts[1], &drafts[0]] };
        for draft in narrow_first.into_iter().filter(|draft| draft.whole && !draft.perimeter.is_empty()) {
            let intervals = geometry::plane_intervals(&draft.perimeter, 0.0, false);
            let (inner, outer) = (face.band.inner_radius_m, face.band.outer_radius_m);
            let cover = intervals.iter().find(|cover| inner >= cover[0] - 1e-6 && outer <= cover[1] + 1e-6);
            let name = ring_key(draft.role);
            match (cover, draft.role == face.role) {
                (None, narrow) => return self.not_covered(face, narrow, name, &intervals),
                (Some(cover), true) if inner > cover[0] + 1e-6 || outer < cover[1] - 1e-6 => {
                    let message = format!(
                        "the face at z = 0 reaches from r = {} to {}; the band takes only {} to {} of it",
                        mm(cover[0]),
                        mm(cover[1]),
                        mm(inner),
                        mm(outer)
                    );
                    let hint = "the rest counts as standing clear of the other face; draw the nose if it does";
                    self.notices.push(Notice::caution("input.face-narrower-than-nose", &format!("{name}.face"), message, hint));
                }
                (Some(cover), false) if inner < cover[0] + LEAST_OVERHANG_M || outer > cover[1] - LEAST_OVERHANG_M => {
                    let overhang = (inner - cover[0]).min(cover[1] - outer);
                    let message = format!("the wide face overhangs the band by only {}", mm(overhang));
                    let hint = "leave 0.5 mm and the radial run-out, so that the narrow ring never runs over an edge";
                    self.notices.push(Notice::caution("input.overhang", &format!("{name}.section"), message, hint));
                }
                _ => {}
            }
        }
    }

    fn not_covered(&mut self, face: &Face, narrow: bool, ring: &str, intervals: &[[f64; 2]]) {
        let faces: Vec<String> = intervals.iter().map(|[a, b]| format!("r = {} to {}", mm(*a), mm(*b))).collect();
        let band = format!("r = {} to {}", mm(face.band.inner_radius_m), mm(face.band.outer_radius_m));
        let faces = faces.join(" and ");
        let (message, help) = if narrow {
            let message = format!("the band {band} is not on the ring: at z = 0 its section has {faces}");
            (message, "`inner` and `outer` are diameters, `r` are radii; draw the first piece as wide as the band".to_owned())
        } else {
            let message = format!("the band {band} is not covered by the other face: `{ring}` has {faces} at z = 0");
            (message, format!("widen the first piece of `{ring}` so that it overhangs the band on both sides"))
        };
        self.error_at(face.table.span.clone(), face.table.path.clone(), Cause::Geometry(message), help);
    }
}

/// How far a piece is from its nearest neighbour, in words.
fn nearest_gap(earlier: &[Quad], piece: &Quad) -> String {
    let around = geometry::perimeter(earlier);
    let apart = piece.iter().map(|corner| geometry::distance(&around, *corner)).fold(f64::INFINITY, f64::min);
    if apart < SAME_M { "it meets another only at a corner".to_owned() } else { format!("its nearest corner stands {} off", mm(apart)) }
}
