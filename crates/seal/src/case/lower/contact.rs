//! Contact and boundary friction of the pair.

use halfmicron_properties::material::{FacePair, face_pair};

use super::super::tree::Table;
use super::Lowering;
use crate::model::{Contact, Ring};
use crate::notice::Notice;

/// Mixed friction of a pair that the table does not know (common practice, no source).
const UNKNOWN_PAIR_MIXED_FRICTION: [f64; 2] = [0.05, 0.10];
/// Plastic bearing pressure of a face that the tables do not know, Pa: that of carbon, the softest ordinary face.
const UNKNOWN_PLASTIC_PRESSURE_PA: f64 = 300e6;

impl Lowering<'_> {
    pub(super) fn contact(&mut self, rotating: &Ring, stationary: &Ring) -> Option<Contact> {
        let table = self.child("contact");
        let names = [rotating, stationary].map(|ring| ring.parts.first().map(|part| part.material.name.clone()));
        let pair = match &names {
            [Some(one), Some(other)] => face_pair(self.library_name(one), self.library_name(other)),
            _ => None,
        };
        let eta_beta_sigma = self.number_or(&table, "eta_beta_sigma", 0.05, "0.05", "the usual value of lapped faces");
        let sigma_over_beta = self.number_or(&table, "sigma_over_beta", 0.001, "0.001", "the usual value of lapped faces");
        let boundary_friction = self.boundary_friction(&table, pair.as_ref(), &names);
        let plastic_pressure_pa = self.plastic_pressure(&table, [rotating, stationary]);
        let wear_per_pa = match (table.number("wear"), &pair) {
            (Some(wear), _) => Some([wear; 3]),
            (None, Some(pair)) => {
                let (good, poor) = pair.wear_coefficient;
                Some([good, (good * poor).sqrt(), poor])
            }
            (None, None) => None,
        };
        Some(Contact {
            eta_beta_sigma,
            sigma_over_beta,
            boundary_friction,
            plastic_pressure_pa,
            wear_per_pa,
            pv_limit_pa_m_per_s: pair.as_ref().map(|pair| pair.pressure_speed_limit),
            source: pair.map_or_else(|| "pair not in the table".to_owned(), |pair| pair.source.text.to_owned()),
        })
    }

    /// The library's name of a face material: that which an own material is like.
    fn library_name<'n>(&'n self, name: &'n str) -> &'n str {
        let own = self.root.list("material").iter().find(|own| own.text("name") == Some(name));
        own.and_then(|own| own.text("like")).unwrap_or(name)
    }

    /// The pair table holds the friction of faces at about half load on asperities, so the asperity share has twice that.
    fn boundary_friction(&mut self, table: &Table, pair: Option<&FacePair>, names: &[Option<String>; 2]) -> [f64; 3] {
        if let Some(given) = table.number("boundary_friction") {
            return [given; 3];
        }
        let path = table.path_of("boundary_friction");
        let [low, high] = pair.map_or(UNKNOWN_PAIR_MIXED_FRICTION, |pair| [pair.mixed_friction.0, pair.mixed_friction.1]);
        let friction = [2.0 * low, low + high, 2.0 * high];
        let words = format!("{:.3} ({:.3} to {:.3})", friction[1], friction[0], friction[2]);
        match (pair, names) {
            (Some(_), _) => self.default(&path, &words, "twice the mixed coefficients of the pair table (common practice, no source)"),
            (None, [Some(one), Some(other)]) => {
                let message =
                    format!("`boundary_friction` taken as {words}: the pair \"{one}\" on \"{other}\" is not in the table of pairs");
                let hint = "state `contact.boundary_friction` from tests of this pair; friction heat and torque follow it in proportion";
                self.notices.push(Notice::caution("default.boundary_friction", &path, message, hint));
            }
            _ => self.default(&path, &words, "the case does not name both face materials"),
        }
        friction
    }

    fn plastic_pressure(&mut self, table: &Table, rings: [&Ring; 2]) -> f64 {
        if let Some(given) = table.number("plastic_pressure") {
            return given;
        }
        let faces = rings.map(|ring| ring.parts.first().and_then(|part| part.material.plastic_bearing_pressure.as_ref()));
        let known = faces.into_iter().flatten().map(|pressure| pressure.value).fold(f64::INFINITY, f64::min);
        let (value, why) = if known.is_finite() {
            (known, "that of the softer face, from hardness (order of magnitude)")
        } else {
            (UNKNOWN_PLASTIC_PRESSURE_PA, "the table has none for these faces; that of carbon")
        };
        self.default(&table.path_of("plastic_pressure"), &format!("{:.0} MPa", value * 1e-6), why);
        value
    }
}
