//! From the checked tree to the model: what contradicts itself is refused, what is missing is filled and said.

mod contact;
mod duty;
mod media;
mod ring;
mod seal;
mod section;
mod texture;

use std::ops::Range;

use halfmicron_properties::MixtureViscosity;

use super::error::{CaseError, Cause};
use super::tree::{Table, Value};
use crate::choices::CHOICES;
use crate::model::{
    BandLimits, Flashing, Limits, Machine, Model, Moving, PrescribedGap, PressureSide, RingRole, Slip, Supply, Switches, Texture,
    TextureForm,
};
use crate::notice::Notice;
use crate::units::Dimension;

/// Lower a tree. Errors of the tree itself are reported by the reader; keys that it could not read are passed over here.
pub(super) fn lower(root: &Table, text: &str) -> Result<Model, Vec<CaseError>> {
    let mut lowering = Lowering { root, errors: Vec::new(), notices: Vec::new() };
    match lowering.model(text) {
        Some(model) if lowering.errors.is_empty() => Ok(Model { notices: lowering.notices, ..model }),
        _ => Err(lowering.errors),
    }
}

struct Lowering<'t> {
    root: &'t Table,
    errors: Vec<CaseError>,
    notices: Vec<Notice>,
}

/// What the case is for, as far as it decides which keys must be there.
#[derive(Debug, Clone, Copy)]
struct Scope {
    /// A film alone at a prescribed gap: rings need no section, closing need not be known.
    film_alone: bool,
    /// One ring under stated loads: the other may be left out.
    ring_alone: bool,
    /// Rigid isothermal faces: rings need no section.
    rigid: bool,
}

impl Lowering<'_> {
    fn model(&mut self, text: &str) -> Option<Model> {
        let root = self.root;
        let switches = self.switches();
        self.other_laws(&switches);
        let scope = self.scope(&switches);
        let title = self.text_or(root, "title", "untitled case", "the case gives none");
        let machine = self.machine();
        let fluid = self.fluid();
        let side = self.pressure_side();
        let floating = self.floating_role(scope);
        let face = self.band(scope);
        let drafts = [RingRole::Rotating, RingRole::Stationary].map(|role| self.section(role, scope));
        if let Some(face) = &face {
            self.check_faces(face, &drafts);
        }
        let seal = self.seal(side, floating, &drafts, scope);
        let (rotating, stationary) = match (&seal, &face) {
            (Some(seal), Some(face)) => {
                let [one, other] = drafts;
                (self.ring(one, seal, face, floating, scope), self.ring(other, seal, face, floating, scope))
            }
            _ => (None, None),
        };
        let duties = self.duties(face.as_ref().map(|face| face.band), seal.as_ref(), &rotating, &stationary, fluid.as_ref());
        let band = face.as_ref().map(|face| face.band);
        let textures = self.textures(side, band);
        let gap = self.gap(side, band, &textures);
        let (rotating, stationary) = (rotating?, stationary?);
        let contact = self.contact(&rotating, &stationary);
        let supply = self.supply();
        let limits = self.limits();
        self.unused(root);
        let face = face?;
        Some(Model {
            title,
            machine,
            fluid: fluid?,
            duties: duties?,
            seal: seal?,
            rotating_ring: rotating,
            stationary_ring: stationary,
            narrow_ring: face.role,
            band: face.band,
            textures,
            contact: contact?,
            supply,
            limits,
            switches,
            moving: self.moving(floating?),
            gap,
            notices: Vec::new(),
            case_hash: blake3::hash(text.as_bytes()).to_hex().to_string(),
        })
    }

    fn scope(&self, switches: &Switches) -> Scope {
        let rings = ["rotating_ring", "stationary_ring"].map(|name| self.root.table(name));
        let loaded = |ring: &Table| ring.has("face_heat") || ring.has("face_pressure");
        Scope {
            film_alone: self.root.has("gap"),
            ring_alone: rings.into_iter().flatten().any(loaded),
            rigid: !switches.heat && !switches.distortion,
        }
    }

    /// What the case says of what moves; of the rings that which floats alone.
    fn moving(&self, floating: RingRole) -> Moving {
        let seal = self.root.table("seal");
        let secondary = seal.and_then(|seal| seal.table("secondary_seal"));
        let ring = self.root.table(section::ring_key(floating));
        let number = |table: Option<&Table>, key| table.and_then(|table| table.number(key));
        Moving {
            spring_rate_n_per_m: number(seal, "spring_rate"),
            spring_damping_n_s_per_m: number(seal, "spring_damping"),
            secondary_stiffness_n_per_m: number(secondary, "stiffness"),
            secondary_damping_n_s_per_m: number(secondary, "damping"),
            mass_kg: number(ring, "mass"),
            tilt_inertia_kg_m2: number(ring, "tilt_inertia"),
            spin_inertia_kg_m2: number(ring, "spin_inertia"),
        }
    }

    fn machine(&self) -> Machine {
        let Some(table) = self.root.table("machine") else { return Machine::default() };
        Machine {
            kind: table.text("kind").unwrap_or_default().to_owned(),
            shaft_diameter_m: table.number("shaft"),
            face_runout_m: table.number("face_runout"),
            end_play_m: table.number("end_play"),
        }
    }

    fn pressure_side(&self) -> Option<PressureSide> {
        match self.root.table("seal")?.text("pressure_side")? {
            "outside" => Some(PressureSide::Outside),
            _ => Some(PressureSide::Inside),
        }
    }

    fn gap(&mut self, side: Option<PressureSide>, band: Option<BandLimits>, textures: &[Texture]) -> Option<PrescribedGap> {
        let table = self.root.table("gap")?;
        let (side, band) = (side?, band?);
        let inner = table.number("thickness")?;
        let coning = table.number("coning").unwrap_or(0.0);
        let outer = match side {
            PressureSide::Outside => inner + coning,
            PressureSide::Inside => inner - coning,
        };
        let mut features = Vec::new();
        let mut feature = |form| features.push(Texture { on: RingRole::Stationary, form });
        for wave in table.list("waves") {
            let (Some(count), Some(amplitude_m)) = (wave.number("count"), wave.number("amplitude")) else { continue };
            feature(TextureForm::Waves { count: count as u32, amplitude_m });
        }
        let tilt = table.number("tilt").unwrap_or(0.0);
        if tilt > 0.0 {
            feature(TextureForm::Tilt { angle_rad: tilt });
        }
        // Features of the gap stand still; beside a texture of one ring they are taken to go with that ring.
        if let Some(texture) = textures.iter().find(|texture| !texture.form.is_axisymmetric()) {
            features.iter_mut().for_each(|feature| feature.on = texture.on);
        }
        let deepest: f64 = features.iter().chain(textures).map(|texture| texture::rise_m(&texture.form, band.outer_radius_m)).sum();
        if inner.min(outer) - deepest <= 0.0 {
            let message = format!(
                "the faces would touch: thickness with coning is {} at its least, waves and tilt take {}",
                um(inner.min(outer)),
                um(deepest)
            );
            let help = "thickness is the gap at the inner edge of the band; make it larger, or coning, waves and tilt smaller";
            self.error(table, "thickness", Cause::Geometry(message), help);
        }
        Some(PrescribedGap { inner_m: inner, outer_m: outer, features })
    }

    fn supply(&mut self) -> Supply {
        let table = self.child("supply");
        let arrangement = self.text_or(&table, "arrangement", "single", "the ordinary arrangement");
        let quench = table.text("quench").filter(|word| *word != "none").map(str::to_owned);
        self.note_wet_quench(quench.as_deref());
        Supply { quench, solids_volume_share: table.number("solids"), clean_flush: table.flag("clean_flush").unwrap_or(false), arrangement }
    }

    /// Water and steam carry heat that the air taken behind the seal does not.
    fn note_wet_quench(&mut self, quench: Option<&str>) {
        let Some(medium @ ("water" | "steam")) = quench else { return };
        let stated = ["rotating_ring", "stationary_ring"].iter().any(|ring| self.root.table(ring).is_some_and(|ring| ring.has("edges")));
        if stated {
            return;
        }
        let message =
            format!("heat that the {medium} quench takes or brings is not computed: behind the seal the rings are taken to stand in air");
        let hint = "state the edges that it wets in `edges` of the rings, each with its temperature and its coefficient";
        self.notices.push(Notice::caution("model.quench-heat", "supply.quench", message, hint));
    }

    fn limits(&self) -> Limits {
        let Some(table) = self.root.table("limits") else { return Limits::default() };
        let leakage = |wanted| match table.node("leakage").map(|node| &node.value) {
            Some(Value::Quantity(value, dimension)) if *dimension == wanted => Some(*value),
            _ => None,
        };
        Limits {
            leakage_m3_per_s: leakage(Dimension::VolumeFlow),
            leakage_kg_per_s: leakage(Dimension::MassFlow),
            face_temperature_k: table.number("face_temperature"),
            boiling_margin_k: table.number("boiling_margin"),
            contact_share: table.number("contact_share"),
            power_w: table.number("power"),
            minimum_film_m: table.number("minimum_film"),
        }
    }

    fn switches(&self) -> Switches {
        let all_on = Switches::default();
        let Some(table) = self.root.table("switches") else { return all_on };
        let flag = |name| table.flag(name).unwrap_or(true);
        Switches {
            convective_inertia: flag("convective_inertia"),
            spin: flag("spin"),
            flow_factor: flag("flow_factor"),
            shear_factor: flag("shear_factor"),
            contact: flag("contact"),
            heat: flag("heat"),
            distortion: flag("distortion"),
            momentum_factor: table.number("momentum_factor").unwrap_or(all_on.momentum_factor),
            entry_loss: table.number("entry_loss").unwrap_or(all_on.entry_loss),
            mixture_viscosity: match table.text("mixture_viscosity") {
                Some("by mass") => MixtureViscosity::ByMass,
                Some("by volume") => MixtureViscosity::ByVolume,
                _ => all_on.mixture_viscosity,
            },
            flashing: if table.text("flashing") == Some("frozen") { Flashing::Frozen } else { all_on.flashing },
            slip: match table.text("slip") {
                Some("first order") => Slip::FirstOrder,
                Some("none") => Slip::None,
                _ => all_on.slip,
            },
            turbulence: flag("turbulence"),
            cavitation_pressure_pa: table.number("cavitation_pressure"),
        }
    }

    /// Say which open choices the case takes another way than the default.
    fn other_laws(&mut self, switches: &Switches) {
        for choice in CHOICES {
            let (taken, usual) = (choice.taken(switches), choice.default());
            if let Some(usual) = usual.filter(|usual| !usual.value.is_set(switches)) {
                let words = taken.map_or("a value of the case", |taken| taken.words);
                let message = format!("{}: {words}, instead of the usual: {}", choice.label, usual.words);
                self.notices.push(Notice::note(&format!("law.{}", choice.short_key()), choice.key, message));
            }
        }
    }

    /// Say which keys were accepted but change nothing yet, and which values were put in by hand.
    fn unused(&mut self, table: &Table) {
        for (name, node) in &table.entries {
            let path = table.path_of(name);
            match &node.value {
                Value::Later(what) => {
                    let hint = "the result is what it would be without this key";
                    self.notices.push(Notice::caution(
                        &format!("not-used.{name}"),
                        &path,
                        format!("not used yet: it is kept for {what}"),
                        hint,
                    ));
                }
                Value::Table(below) => self.unused(below),
                Value::List(tables) => tables.iter().for_each(|below| self.unused(below)),
                _ if node.hand => {
                    let message = format!("`{name}` is a hand value and stands in place of a correlation");
                    self.notices.push(Notice::note(&format!("hand.{name}"), &path, message));
                }
                _ => {}
            }
        }
    }

    /// A table below the top, empty when the case has none.
    fn child(&self, name: &'static str) -> Table {
        child(self.root, name)
    }

    fn error(&mut self, table: &Table, name: &str, cause: Cause, help: impl Into<String>) {
        self.error_at(table.span_of(name), table.path_of(name), cause, help);
    }

    fn error_at(&mut self, span: Range<usize>, path: String, cause: Cause, help: impl Into<String>) {
        self.errors.push(CaseError::at(span, path, cause, help));
    }

    fn missing(&mut self, table: &Table, name: &str, why: &str) {
        let key = table.keys.iter().find(|key| key.name == name);
        let (meaning, words) = key.map_or((String::new(), String::new()), |key| (key.meaning.to_owned(), key.kind.words()));
        let meaning = if why.is_empty() { meaning } else { format!("{meaning} ({why})") };
        let cause = Cause::MissingKey { key: name.to_owned(), meaning };
        self.error_at(table.span.clone(), table.path.clone(), cause, format!("add `{name}`: {words}"));
    }

    /// Record a default that was taken.
    fn default(&mut self, path: &str, value: &str, why: &str) {
        let name = path.rsplit('.').next().unwrap_or(path);
        self.notices.push(Notice::note(&format!("default.{name}"), path, format!("`{name}` taken as {value}: {why}")));
    }

    /// The number of a key, or a default that is recorded.
    fn number_or(&mut self, table: &Table, name: &str, default: f64, words: &str, why: &str) -> f64 {
        if !table.has(name) {
            self.default(&table.path_of(name), words, why);
        }
        table.number(name).unwrap_or(default)
    }

    /// The text of a key, or a default that is recorded.
    fn text_or(&mut self, table: &Table, name: &str, default: &str, why: &str) -> String {
        if !table.has(name) {
            self.default(&table.path_of(name), &format!("\"{default}\""), why);
        }
        table.text(name).unwrap_or(default).to_owned()
    }
}

/// A table below another, empty when absent.
fn child(parent: &Table, name: &'static str) -> Table {
    if let Some(table) = parent.table(name) {
        return table.clone();
    }
    let keys = parent.keys.iter().find(|key| key.name == name).map_or(&[][..], |key| match key.kind {
        super::keys::Kind::Table(keys) => keys,
        _ => &[],
    });
    Table { keys, span: parent.span.clone(), path: parent.path_of(name), entries: Vec::new() }
}

/// A length for messages.
fn mm(m: f64) -> String {
    format!("{} mm", rounded(m * 1e3))
}

/// A small length for messages.
fn um(m: f64) -> String {
    format!("{} um", rounded(m * 1e6))
}

/// Six significant digits without trailing zeros.
fn rounded(value: f64) -> f64 {
    format!("{value:.5e}").parse().unwrap_or(value)
}
