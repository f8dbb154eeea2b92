//! Arrangement and closing: which ring floats, balance, springs, secondary seal.

use super::super::error::Cause;
use super::super::tree::{Table, Value};
use super::section::{Draft, ring_key};
use super::{Lowering, Scope, child, mm};
use crate::model::{PressureSide, RingRole, Seal, SecondaryFriction, SecondarySeal, SecondarySealKind};

impl Lowering<'_> {
    /// The ring that floats: the one whose springs are said to turn or stand, or the one without a support.
    pub(super) fn floating_role(&mut self, scope: Scope) -> Option<RingRole> {
        let seal = self.root.table("seal")?;
        let supported = |role| self.root.table(ring_key(role)).is_some_and(|ring| ring.has("support"));
        let (rotating, stationary) = (supported(RingRole::Rotating), supported(RingRole::Stationary));
        let floating = match (seal.flag("rotating_spring"), rotating, stationary) {
            (Some(true), ..) => RingRole::Rotating,
            (Some(false), ..) => RingRole::Stationary,
            (None, false, true) => RingRole::Rotating,
            (None, true, false) => RingRole::Stationary,
            (None, ..) if !seal.has("rotating_spring") && (scope.film_alone || scope.ring_alone) => RingRole::Rotating,
            (None, ..) => {
                if !seal.has("rotating_spring") {
                    self.missing(seal, "rotating_spring", "the supports do not tell which ring floats");
                }
                return None;
            }
        };
        if !seal.has("rotating_spring") {
            let value = if floating == RingRole::Rotating { "true" } else { "false" };
            let why = if rotating == stationary { "it makes no difference here" } else { "the ring without a support floats" };
            self.default("seal.rotating_spring", value, why);
        }
        Some(floating)
    }

    pub(super) fn seal(
        &mut self,
        side: Option<PressureSide>,
        floating: Option<RingRole>,
        drafts: &[Draft; 2],
        scope: Scope,
    ) -> Option<Seal> {
        let seal = self.root.table("seal")?;
        let closing_open = scope.film_alone || scope.ring_alone;
        let balance = self.closing_number(seal, "balance_diameter", closing_open);
        let spring_force_n = self.closing_number(seal, "spring_force", closing_open);
        let balance = balance.map(|diameter| 0.5 * diameter);
        if let (Some(balance), Some(role)) = (balance, floating) {
            self.check_balance(seal, balance, &drafts[usize::from(role == RingRole::Stationary)]);
        }
        let reverse = match seal.number("reverse_balance_diameter") {
            Some(diameter) => Some(0.5 * diameter),
            None if seal.has("reverse_balance_diameter") => None,
            None => {
                self.default("seal.reverse_balance_diameter", "the balance diameter", "the secondary seal is taken as held on both sides");
                balance
            }
        };
        let heat_soak_w = self.number_or(seal, "heat_soak", 0.0, "0 W", "no hot surroundings are stated");
        let secondary_seal = self.secondary_seal(seal, balance);
        Some(Seal {
            pressure_side: side?,
            balance_radius_m: balance?,
            reverse_balance_radius_m: reverse?,
            spring_force_n: spring_force_n?,
            rotating_spring: floating? == RingRole::Rotating,
            secondary_seal: secondary_seal?,
            flush_m3_per_s: seal.number("flush"),
            heat_soak_w,
        })
    }

    /// A number of the closing force: required, but for a film or a ring alone, which do without.
    fn closing_number(&mut self, seal: &Table, name: &str, open: bool) -> Option<f64> {
        if seal.has(name) {
            return seal.number(name);
        }
        if !open {
            self.missing(seal, name, "");
            return None;
        }
        if name == "spring_force" {
            return Some(self.number_or(seal, name, 0.0, "0 N", "a film or a ring alone needs no closing force"));
        }
        let faces = ["gap", "rotating_ring", "stationary_ring"].map(|place| self.root.table(place).and_then(|table| table.table("face")));
        let face = faces.into_iter().flatten().next()?;
        let mean = 0.5 * (face.number("inner")? + face.number("outer")?);
        Some(self.number_or(
            seal,
            name,
            mean,
            &mm(mean),
            "a film or a ring alone needs no balance; the mean diameter of the band stands in",
        ))
    }

    fn check_balance(&mut self, seal: &Table, balance: f64, draft: &Draft) {
        if !draft.whole || draft.parts.is_empty() {
            return;
        }
        let [inner, outer] = draft.radii();
        let clearance = 0.05 * outer;
        if balance > inner - clearance && balance < outer + clearance {
            return;
        }
        let message = format!(
            "balance diameter {} lies outside the section of the floating ring, which reaches from {} to {} in diameter",
            mm(2.0 * balance),
            mm(2.0 * inner),
            mm(2.0 * outer)
        );
        let help = format!(
            "the secondary seal slides at the bore or outside of `{}`: allowed range {} to {}",
            ring_key(draft.role),
            mm(2.0 * (inner - clearance)),
            mm(2.0 * (outer + clearance))
        );
        self.error(seal, "balance_diameter", Cause::Geometry(message), help);
    }

    fn secondary_seal(&mut self, seal: &Table, balance: Option<f64>) -> Option<SecondarySeal> {
        let table = child(seal, "secondary_seal");
        let kind = match self.text_or(&table, "kind", "O-ring", "the ordinary secondary seal").as_str() {
            "O-ring" => SecondarySealKind::ORing,
            "metal bellows" => SecondarySealKind::MetalBellows,
            _ => SecondarySealKind::Other,
        };
        let material = self.text_or(&table, "material", "not stated", "the case names none; its fitness for the fluid is not judged");
        let friction = self.friction(&table, kind, balance)?;
        Some(SecondarySeal { kind, material, friction })
    }

    fn friction(&mut self, table: &Table, kind: SecondarySealKind, balance: Option<f64>) -> Option<SecondaryFriction> {
        let given = table.node("friction").map(|node| &node.value);
        match (given, kind) {
            (Some(Value::Quantity(force, _)), _) => return Some(SecondaryFriction::Given(*force)),
            (Some(Value::Invalid), _) => return None,
            (_, SecondarySealKind::MetalBellows) => {
                self.default(&table.path_of("friction"), "0 N", "a metal bellows does not slide");
                return Some(SecondaryFriction::Given(0.0));
            }
            (Some(_), _) => {}
            (None, _) => self.default(&table.path_of("friction"), "auto", "the stated formula of section, squeeze and pressure"),
        }
        let section = ring_section_m(balance?);
        let why = "an ordinary section at this diameter (common practice, no source)";
        let section_m = self.number_or(table, "section", section, &mm(section), why);
        let squeeze = self.number_or(table, "squeeze", 0.12, "12 %", "an ordinary squeeze of a moving O-ring (common practice, no source)");
        Some(SecondaryFriction::Automatic { section_m, squeeze })
    }
}

/// Section of an O-ring by the radius on which it slides, m. Sections of ISO 3601-1; the choice is common practice, no source.
fn ring_section_m(balance_radius_m: f64) -> f64 {
    match 2e3 * balance_radius_m {
        diameter if diameter <= 20.0 => 2.62e-3,
        diameter if diameter <= 90.0 => 3.53e-3,
        diameter if diameter <= 150.0 => 5.33e-3,
        _ => 6.99e-3,
    }
}
