//! Textures of the faces.

use super::super::error::Cause;
use super::super::tree::Table;
use super::{Lowering, mm, rounded, um};
use crate::model::{BandLimits, DimpleShape, Grooves, PressureSide, RingRole, Texture, TextureForm};
use crate::notice::Notice;

/// How far a texture may stand over the edge of the band and count as ending there, m.
const AT_EDGE_M: f64 = 1e-6;
/// Slopes of walls and waves beyond which a film is no longer thin beside its length (common practice, no source).
const STEEPEST: f64 = 0.1;

/// By how much a texture brings the faces nearer somewhere, m.
pub(super) fn rise_m(form: &TextureForm, outer_radius_m: f64) -> f64 {
    match form {
        TextureForm::Waves { amplitude_m, .. } => *amplitude_m,
        TextureForm::Tilt { angle_rad } => angle_rad * outer_radius_m,
        _ => 0.0,
    }
}

impl Lowering<'_> {
    pub(super) fn textures(&mut self, side: Option<PressureSide>, band: Option<BandLimits>) -> Vec<Texture> {
        let root = self.root;
        let (Some(side), Some(band)) = (side, band) else { return Vec::new() };
        let mut textures: Vec<(&Table, Texture)> = Vec::new();
        for table in root.list("texture") {
            let Some(on) = table.text("on").map(role) else { continue };
            let Some(form) = self.form(table, side, band) else { continue };
            let texture = Texture { on, form };
            self.check_together(table, &texture, &textures);
            textures.push((table, texture));
        }
        textures.into_iter().map(|(_, texture)| texture).collect()
    }

    fn form(&mut self, table: &Table, side: PressureSide, band: BandLimits) -> Option<TextureForm> {
        match table.text("kind")? {
            "spiral grooves" => {
                let grooves = self.grooves(table, band)?;
                let angle_rad = self.needed(table, "angle", "spiral grooves")?;
                if angle_rad <= 0.02 {
                    let message =
                        format!("the angle {} deg leaves no groove: it runs along the circumference", rounded(angle_rad.to_degrees()));
                    self.error(
                        table,
                        "angle",
                        Cause::Geometry(message),
                        "state the angle between groove and circumference, 2 deg to 89 deg",
                    );
                    return None;
                }
                let pumps_outward = self.sense(table, grooves.radii_m, band);
                Some(TextureForm::SpiralGrooves { grooves, angle_rad, pumps_outward })
            }
            "radial grooves" => self.grooves(table, band).map(TextureForm::RadialGrooves),
            "pads" => self.grooves(table, band).map(TextureForm::Pads),
            "T grooves" => self.t_grooves(table, side, band),
            "dimples" => self.dimples(table, band),
            "waves" => {
                let count = self.needed(table, "count", "waves")? as u32;
                let amplitude_m = self.needed(table, "amplitude", "waves")?;
                self.check_slope(table, "amplitude", f64::from(count) * amplitude_m / band.inner_radius_m);
                Some(TextureForm::Waves { count, amplitude_m })
            }
            "tilt" => {
                let angle_rad = self.needed(table, "angle", "tilt")?;
                self.check_slope(table, "angle", angle_rad);
                Some(TextureForm::Tilt { angle_rad })
            }
            _ => {
                let depth_m = self.needed(table, "depth", "a taper")?;
                let radii_m = self.radii(table, band, false)?;
                Some(TextureForm::Taper { depth_m, radii_m, deep_outside: side == PressureSide::Outside })
            }
        }
    }

    fn needed(&mut self, table: &Table, name: &str, of: &str) -> Option<f64> {
        if !table.has(name) {
            self.missing(table, name, &format!("{of} need it"));
        }
        table.number(name)
    }

    /// Radii stated as diameters, within the band.
    fn radii(&mut self, table: &Table, band: BandLimits, required: bool) -> Option<[f64; 2]> {
        let edges = [band.inner_radius_m, band.outer_radius_m];
        let mut radii = [0.0; 2];
        for (place, name) in ["inner", "outer"].into_iter().enumerate() {
            radii[place] = if table.has(name) {
                0.5 * table.number(name)?
            } else if required {
                self.missing(table, name, "");
                return None;
            } else {
                let words = mm(2.0 * edges[place]);
                self.number_or(table, name, 2.0 * edges[place], &words, "the edge of the band") * 0.5
            };
        }
        for (place, name) in ["inner", "outer"].into_iter().enumerate() {
            if radii[place] < edges[0] - AT_EDGE_M || radii[place] > edges[1] + AT_EDGE_M {
                let message = format!(
                    "the diameter {} lies outside the band, which reaches from {} to {}",
                    mm(2.0 * radii[place]),
                    mm(2.0 * edges[0]),
                    mm(2.0 * edges[1])
                );
                self.error(table, name, Cause::Geometry(message), "a texture lies on the running band: state diameters between its edges");
                return None;
            }
            if (radii[place] - edges[place]).abs() <= AT_EDGE_M {
                radii[place] = edges[place];
            }
        }
        if radii[1] - radii[0] < 1e-5 {
            let message = format!("inner diameter {} is not below outer diameter {}", mm(2.0 * radii[0]), mm(2.0 * radii[1]));
            self.error(table, "inner", Cause::Geometry(message), "exchange the two, or correct one; both are diameters");
            return None;
        }
        Some(radii)
    }

    fn grooves(&mut self, table: &Table, band: BandLimits) -> Option<Grooves> {
        let kind = table.text("kind")?.to_owned();
        let count = self.needed(table, "count", &kind)?;
        let depth_m = self.needed(table, "depth", &kind)?;
        let radii_m = self.radii(table, band, true)?;
        let width_ratio = self.number_or(table, "width_ratio", 0.5, "0.5", "groove and land of equal width");
        if radii_m == [band.inner_radius_m, band.outer_radius_m] {
            let message = format!("the {kind} cross the whole band: no dam is left to hold the pressure");
            let hint = "leave a dam between the grooves and the low-pressure edge, unless the seal is meant to leak there";
            self.notices.push(Notice::caution("texture.no-dam", &table.path, message, hint));
        }
        let narrowest = std::f64::consts::TAU * radii_m[0] / count * width_ratio.min(1.0 - width_ratio);
        if depth_m > STEEPEST * narrowest {
            let message =
                format!("the depth {} is not small beside the width {} of groove or land at the inner end", um(depth_m), mm(narrowest));
            self.error(
                table,
                "depth",
                Cause::Geometry(message),
                format!("a thin film asks for a depth below {}, or fewer grooves", um(STEEPEST * narrowest)),
            );
            return None;
        }
        Some(Grooves { count: count as u32, depth_m, radii_m, width_ratio })
    }

    fn sense(&mut self, table: &Table, radii_m: [f64; 2], band: BandLimits) -> bool {
        if let Some(word) = table.text("sense") {
            return word == "outward";
        }
        let outward = radii_m[0] == band.inner_radius_m && radii_m[1] < band.outer_radius_m;
        let word = if outward { "outward" } else { "inward" };
        self.default(&table.path_of("sense"), &format!("\"{word}\""), "away from the edge at which the grooves are open");
        outward
    }

    fn t_grooves(&mut self, table: &Table, side: PressureSide, band: BandLimits) -> Option<TextureForm> {
        let grooves = self.grooves(table, band)?;
        let [inner, outer] = grooves.radii_m;
        let third = grooves.width_ratio / 3.0;
        let stem_width_ratio = self.number_or(table, "stem_width_ratio", third, &format!("{}", rounded(third)), "a third of the bar");
        if stem_width_ratio >= grooves.width_ratio {
            let message = format!(
                "the stem takes {} of the pitch and the bar {}: that is no T",
                rounded(stem_width_ratio),
                rounded(grooves.width_ratio)
            );
            self.error(table, "stem_width_ratio", Cause::Geometry(message), "make it less than `width_ratio`, the share of the bar");
            return None;
        }
        let length = outer - inner;
        let bar = self.number_or(table, "bar", length / 3.0, &mm(length / 3.0), "a third of the radial length");
        if bar >= 0.95 * length {
            let message = format!("the bar is {} wide and the whole T {} long", mm(bar), mm(length));
            self.error(table, "bar", Cause::Geometry(message), format!("state the radial width of the bar, below {}", mm(0.95 * length)));
            return None;
        }
        // The stem opens to an edge of the band; where that does not tell, to the sealed side.
        let bar_inside = match (inner == band.inner_radius_m, outer == band.outer_radius_m) {
            (false, true) => true,
            (true, false) => false,
            _ => side == PressureSide::Outside,
        };
        let bar_radius_m = if bar_inside { inner + bar } else { outer - bar };
        Some(TextureForm::TGrooves { grooves, stem_width_ratio, bar_radius_m, bar_inside })
    }

    fn dimples(&mut self, table: &Table, band: BandLimits) -> Option<TextureForm> {
        let count = self.needed(table, "count", "dimples")?;
        let depth_m = self.needed(table, "depth", "dimples")?;
        let radius_m = self.needed(table, "radius", "dimples")?;
        let radii_m = self.radii(table, band, false)?;
        let rows = self.number_or(table, "rows", 1.0, "1", "one row in the middle");
        let shape = if self.text_or(table, "shape", "spherical cap", "the usual form of ablated dimples") == "cylinder" {
            DimpleShape::Cylinder
        } else {
            DimpleShape::SphericalCap
        };
        let pitch = (radii_m[1] - radii_m[0]) / rows;
        if 2.0 * radius_m > pitch {
            let message =
                format!("{rows} rows of dimples {} wide do not fit between the diameters: a row has {}", mm(2.0 * radius_m), mm(pitch));
            self.error(table, "radius", Cause::Geometry(message), "make the dimples smaller, or state fewer `rows`");
            return None;
        }
        let innermost = radii_m[0] + 0.5 * pitch;
        if 2.0 * radius_m > std::f64::consts::TAU * innermost / count {
            let apart = std::f64::consts::TAU * innermost / count;
            let message =
                format!("{count} dimples {} wide overlap in the innermost row, where they stand {} apart", mm(2.0 * radius_m), mm(apart));
            self.error(table, "count", Cause::Geometry(message), "state fewer dimples in a row, or smaller ones");
            return None;
        }
        self.check_slope(table, "depth", depth_m / radius_m);
        Some(TextureForm::Dimples { count: count as u32, rows: rows as u32, radius_m, depth_m, shape, radii_m })
    }

    /// The film is thin beside everything along it.
    fn check_slope(&mut self, table: &Table, name: &str, slope: f64) {
        if slope > STEEPEST {
            let message = format!("the face would slope by {} there: the film is not thin beside it", rounded(slope));
            self.error(table, name, Cause::Geometry(message), format!("the thin-film equations ask for slopes below {STEEPEST}"));
        }
    }

    /// Whether a texture can be with those before it.
    fn check_together(&mut self, table: &Table, texture: &Texture, before: &[(&Table, Texture)]) {
        let varies = |texture: &Texture| !texture.form.is_axisymmetric();
        if let Some((other, _)) = before.iter().find(|(_, other)| varies(other) && varies(texture) && other.on != texture.on) {
            let message = format!("`{}` is on the other ring: the film between two textured faces changes all the time", other.path);
            let help = "put all that varies round the circumference on one ring; a film that changes within every turn is not computed";
            return self.error(table, "on", Cause::NotComputed(message), help);
        }
        let Some([inner, outer]) = texture.form.cut_radii_m() else { return };
        let overlapping = before.iter().find(|(_, other)| {
            other
                .form
                .cut_radii_m()
                .is_some_and(|[other_inner, other_outer]| inner < other_outer - AT_EDGE_M && outer > other_inner + AT_EDGE_M)
        });
        if let Some((other, _)) = overlapping {
            let message = format!("it overlaps `{}` between the same diameters", other.path);
            self.error(
                table,
                "inner",
                Cause::Geometry(message),
                "what is cut into a face lies side by side along the radius: change `inner` or `outer`",
            );
        }
    }
}

fn role(word: &str) -> RingRole {
    if word == "rotating" { RingRole::Rotating } else { RingRole::Stationary }
}
