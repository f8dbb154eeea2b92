//! One ring beyond its section: support, springs, secondary-seal point, face finish, stated edges.

use super::super::error::Cause;
use super::super::geometry;
use super::super::tree::{Table, Value};
use super::section::{Draft, Face, ring_key};
use super::{Lowering, Scope, mm};
use crate::model::{EdgeCondition, EdgeSelector, FaceLoad, PressureSide, Ring, RingRole, Seal, SecondarySealKind, Support, Wetting};
use crate::notice::Notice;
use crate::units::LIGHT_BAND_M;

/// Distance from the perimeter within which a stated point lies on it, m.
const ON_PERIMETER_M: f64 = 20e-6;
/// Radial distance between balance radius and secondary-seal point that deserves a look, m.
const FAR_FROM_BALANCE_M: f64 = 0.5e-3;

impl Lowering<'_> {
    /// A ring of the model; one without parts when the case has none.
    pub(super) fn ring(&mut self, draft: Draft, seal: &Seal, face: &Face, floating: Option<RingRole>, scope: Scope) -> Option<Ring> {
        let role = draft.role;
        let floats = floating? == role;
        let Some(table) = draft.table.clone() else {
            return draft.whole.then(|| self.absent_ring(role, floats, face));
        };
        let support = self.support(&table, &draft, floats, scope);
        let spring_radius_m = if floats { self.spring_radius(&draft, seal, face) } else { Some(face.band.mean_radius_m()) };
        let secondary_seal_m = self.secondary_seal_point(&table, &draft, seal, floats);
        let roughness = self.roughness(&table);
        let flatness_m =
            self.number_or(&table, "flatness", 2.0 * LIGHT_BAND_M, "2 bands", "the ordinary tolerance (common practice, no source)");
        let lapped_coning_m = self.lapped_coning(&table, seal.pressure_side);
        let stress_free_temperature_k =
            self.number_or(&table, "stress_free_temperature", 293.15, "20 degC", "faces are lapped and measured at room temperature");
        let edges: Vec<EdgeCondition> = table.list("edges").iter().filter_map(|edge| self.edge(edge)).collect();
        let face_load = FaceLoad { heat_w: table.number("face_heat"), pressure_pa: table.number("face_pressure") };
        if !draft.whole {
            return None;
        }
        Some(Ring {
            role,
            floating: floats,
            parts: draft.parts,
            support: support?,
            spring_radius_m: spring_radius_m?,
            secondary_seal_m: secondary_seal_m?,
            roughness_rq_m: roughness?,
            flatness_m,
            lapped_coning_m,
            edges,
            stress_free_temperature_k,
            fillet_radius_m: table.number("fillet"),
            face_load,
        })
    }

    /// A ring that a film or a ring alone does without: rigid, smooth and flat.
    fn absent_ring(&mut self, role: RingRole, floats: bool, face: &Face) -> Ring {
        self.default(ring_key(role), "a rigid, smooth and flat face", "the case has no such ring");
        Ring {
            role,
            floating: floats,
            parts: Vec::new(),
            support: if floats { Support::SpringCircle } else { Support::Circle { radius_m: face.band.mean_radius_m(), z_m: 0.0 } },
            spring_radius_m: face.band.mean_radius_m(),
            secondary_seal_m: [face.band.mean_radius_m(), 0.0],
            roughness_rq_m: 0.0,
            flatness_m: 0.0,
            lapped_coning_m: 0.0,
            edges: Vec::new(),
            stress_free_temperature_k: 293.15,
            fillet_radius_m: None,
            face_load: FaceLoad::default(),
        }
    }

    fn support(&mut self, ring: &Table, draft: &Draft, floats: bool, scope: Scope) -> Option<Support> {
        let stated = ring.table("support");
        if floats {
            if let Some(support) = stated {
                let message = "the floating ring is held by its springs and has no support of its own".to_owned();
                let help = "move the support to the fixed ring, or correct `seal.rotating_spring`";
                self.error_at(support.span.clone(), support.path.clone(), Cause::Contradiction(message), help);
            }
            return Some(Support::SpringCircle);
        }
        let Some(support) = stated else {
            if ring.has("support") {
                return None;
            }
            if draft.parts.is_empty() || scope.film_alone || scope.rigid {
                return Some(Support::Circle { radius_m: 0.0, z_m: 0.0 });
            }
            self.missing(ring, "support", "where a fixed ring is held changes leakage by tens of per cent, so there is no default");
            return None;
        };
        let z_m = support.number("z");
        let held = match (support.text("kind"), &support.node("r")?.value) {
            (Some("circle") | None, Value::Quantity(radius, _)) => Support::Circle { radius_m: *radius, z_m: z_m? },
            (Some("held face"), Value::Span(radius_m)) => Support::HeldFace { radius_m: *radius_m, z_m: z_m? },
            (Some("annulus") | None, Value::Span(radius_m)) => Support::Annulus { radius_m: *radius_m, z_m: z_m? },
            (_, Value::Invalid) => return None,
            (Some(kind), _) => {
                let message = format!("a support of kind \"{kind}\" does not fit this `r`");
                self.error(support, "r", Cause::Contradiction(message), "a circle has one radius, an annulus and a held face have two");
                return None;
            }
            _ => return None,
        };
        self.check_support(support, draft, held);
        Some(held)
    }

    fn check_support(&mut self, table: &Table, draft: &Draft, support: Support) {
        if draft.perimeter.is_empty() {
            return;
        }
        let (radii, z) = match support {
            Support::Circle { radius_m, z_m } => ([radius_m; 2], z_m),
            Support::Annulus { radius_m, z_m } | Support::HeldFace { radius_m, z_m } => (radius_m, z_m),
            Support::SpringCircle => return,
        };
        let covers = geometry::plane_intervals(&draft.perimeter, z, true);
        let inside = |cover: &[f64; 2]| radii[0] >= cover[0] - ON_PERIMETER_M && radii[1] <= cover[1] + ON_PERIMETER_M;
        if covers.iter().any(inside) {
            return;
        }
        let backs = draft.back().iter().map(|[a, b]| format!("r = {} to {}", mm(*a), mm(*b))).collect::<Vec<_>>().join(" and ");
        let message = format!("the support at z = {}, r = {} to {} is not on a back face of the ring", mm(z), mm(radii[0]), mm(radii[1]));
        let help = format!(
            "the rearmost back face is at z = {}, {backs}; allowed is any plane facing away from the running face",
            mm(draft.back_z())
        );
        self.error_at(table.span.clone(), table.path.clone(), Cause::Geometry(message), help);
    }

    fn spring_radius(&mut self, draft: &Draft, closing: &Seal, face: &Face) -> Option<f64> {
        let seal = self.root.table("seal")?;
        let covers = if draft.perimeter.is_empty() { Vec::new() } else { draft.back() };
        let (pressed, why) = match (covers.first(), covers.last()) {
            (Some(first), Some(last)) if closing.secondary_seal.kind == SecondarySealKind::MetalBellows => {
                (closing.balance_radius_m.clamp(first[0], last[1]), "a bellows presses at its effective diameter")
            }
            (Some(first), Some(last)) => (0.5 * (first[0] + last[1]), "the mean diameter of the back face"),
            _ => (face.band.mean_radius_m(), "the mean diameter of the band"),
        };
        let diameter = self.number_or(seal, "spring_diameter", 2.0 * pressed, &mm(2.0 * pressed), why);
        let radius = 0.5 * diameter;
        let on_back = |cover: &[f64; 2]| radius >= cover[0] - ON_PERIMETER_M && radius <= cover[1] + ON_PERIMETER_M;
        if seal.has("spring_diameter") && !covers.is_empty() && !covers.iter().any(on_back) {
            let backs = covers.iter().map(|[a, b]| format!("{} to {}", mm(2.0 * a), mm(2.0 * b))).collect::<Vec<_>>().join(" and ");
            let message = format!("the springs press at {}, which is not on the back of `{}`", mm(diameter), ring_key(draft.role));
            self.error(seal, "spring_diameter", Cause::Geometry(message), format!("allowed range of the diameter: {backs}"));
        }
        Some(radius)
    }

    fn secondary_seal_point(&mut self, ring: &Table, draft: &Draft, seal: &Seal, floats: bool) -> Option<[f64; 2]> {
        if let Some(stated) = ring.table("secondary_seal") {
            return self.stated_point(stated, draft, seal, floats);
        }
        if ring.has("secondary_seal") {
            return None;
        }
        if draft.perimeter.is_empty() {
            return Some([seal.balance_radius_m, 0.0]);
        }
        let (z, back) = (draft.back_z(), draft.back());
        let (inner, outer) = (back.first()?[0], back.last()?[1]);
        let (r, why) = if floats {
            let nearest = back.iter().map(|[a, b]| seal.balance_radius_m.clamp(*a, *b));
            let apart = |r: &f64| (r - seal.balance_radius_m).abs();
            (nearest.min_by(|a, b| apart(a).total_cmp(&apart(b)))?, "the point of the back face nearest to the balance radius")
        } else {
            let corner = if seal.pressure_side == PressureSide::Outside { outer } else { inner };
            (corner, "the corner of the back face on the sealed side, so that the sealed fluid wets the ring up to its seat")
        };
        let name = ring_key(draft.role);
        let message =
            format!("`secondary_seal` taken as r = {}, z = {}: {why}; it bounds the surface that the sealed fluid wets", mm(r), mm(z));
        let hint = "state it: the pressure on the ring, and so its coning, follows from it";
        self.notices.push(Notice::caution("default.secondary_seal", &format!("{name}.secondary_seal"), message, hint));
        self.check_point_against_balance(draft, seal, r, floats);
        Some([r, z])
    }

    fn stated_point(&mut self, stated: &Table, draft: &Draft, seal: &Seal, floats: bool) -> Option<[f64; 2]> {
        let point = [stated.number("r")?, stated.number("z")?];
        if draft.perimeter.is_empty() {
            return Some(point);
        }
        let apart = geometry::distance(&draft.perimeter, point);
        if apart > ON_PERIMETER_M {
            let message = format!(
                "the secondary-seal point r = {}, z = {} is {} away from the perimeter of the section",
                mm(point[0]),
                mm(point[1]),
                mm(apart)
            );
            let help = "give a point on the outline of the ring, where the secondary seal ends the wetted surface";
            self.error_at(stated.span.clone(), stated.path.clone(), Cause::Geometry(message), help);
        } else if point[1] < ON_PERIMETER_M {
            let message = "the secondary seal cannot touch the ring on its running face, z = 0".to_owned();
            self.error(stated, "z", Cause::Geometry(message), "give a point on the back, the bore or the outside of the ring");
        }
        self.check_point_against_balance(draft, seal, point[0], floats);
        Some(point)
    }

    /// The effective balance diameter lies between the track and the bore; far apart they cannot both be right.
    fn check_point_against_balance(&mut self, draft: &Draft, seal: &Seal, r: f64, floats: bool) {
        let slides = seal.secondary_seal.kind != SecondarySealKind::MetalBellows;
        let apart = (r - seal.balance_radius_m).abs();
        if !floats || !slides || apart < FAR_FROM_BALANCE_M {
            return;
        }
        let message = format!(
            "the ring's own diameter at the secondary seal, {}, is far from the balance diameter {}",
            mm(2.0 * r),
            mm(2.0 * seal.balance_radius_m)
        );
        let hint = "the two differ by the sliding clearance only; correct one of them, or state the secondary-seal point";
        let field = format!("{}.secondary_seal", ring_key(draft.role));
        self.notices.push(Notice::caution("input.balance-diameter", &field, message, hint));
    }

    fn roughness(&mut self, ring: &Table) -> Option<f64> {
        if !ring.has("roughness") {
            self.missing(ring, "roughness", "it decides film and contact, so there is no default");
        }
        ring.number("roughness")
    }

    fn lapped_coning(&mut self, ring: &Table, side: PressureSide) -> f64 {
        if ring.has("lapped_form") && ring.has("lapped_coning") {
            let message = "`lapped_form` and `lapped_coning` are two ways to say the same".to_owned();
            self.error(ring, "lapped_form", Cause::Contradiction(message), "keep one of the two");
        }
        if let Some(convex) = ring.number("lapped_form") {
            return if side == PressureSide::Outside { convex } else { -convex };
        }
        if ring.has("lapped_form") {
            return 0.0;
        }
        self.number_or(ring, "lapped_coning", 0.0, "0 um", "flat as lapped; flatness is a tolerance and never enters the nominal gap")
    }

    fn edge(&mut self, edge: &Table) -> Option<EdgeCondition> {
        let selector = match (edge.text("edge"), edge.pair("r"), edge.pair("z")) {
            (Some(name), None, None) => match name {
                "bore" => EdgeSelector::Bore,
                "outside" => EdgeSelector::Outside,
                "back" => EdgeSelector::Back,
                _ => EdgeSelector::FaceSide,
            },
            (None, Some(radius_m), Some(z_m)) => EdgeSelector::Box { radius_m, z_m },
            _ => {
                if !["edge", "r", "z"].iter().any(|name| edge.invalid(name)) {
                    let message = "name the edges by `edge`, or by a box of `r` and `z`, and not by both".to_owned();
                    let help = "for example edge = \"bore\", or r = [\"30 mm\", \"31 mm\"] with z = [\"0 mm\", \"12 mm\"]";
                    self.error_at(edge.span.clone(), edge.path.clone(), Cause::Contradiction(message), help);
                }
                return None;
            }
        };
        if !["coefficient", "temperature", "pressure", "wetted_by"].iter().any(|name| edge.has(name)) {
            let message = "this entry states nothing about its edges".to_owned();
            let help = "give `coefficient`, `temperature`, `pressure` or `wetted_by`";
            self.error_at(edge.span.clone(), edge.path.clone(), Cause::Contradiction(message), help);
        }
        Some(EdgeCondition {
            edge: selector,
            coefficient_w_per_m2_k: edge.number("coefficient"),
            temperature_k: edge.number("temperature"),
            wetted_by: edge.text("wetted_by").map(|word| match word {
                "sealed" => Wetting::Sealed,
                "low side" => Wetting::LowSide,
                _ => Wetting::Dry,
            }),
            pressure_pa: edge.number("pressure"),
        })
    }
}
