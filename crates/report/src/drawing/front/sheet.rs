//! What is said beside the pictures.

use halfmicron::model::{Ring, RingRole};
use halfmicron::sheet::{UnitSet, texture_words};

use super::super::bodies::{ring_name, rings};
use super::super::compose::length_unit;
use super::super::dimensions::length;
use super::super::labels::{self, MARGIN_MM, wrapped};
use super::super::{Anchor, Drawing, LABEL_MM, Layer};
use super::sector::Drawn;
use super::whole::ROOM_MM;
use super::{Face, plane};

const LINE_MM: f64 = 4.4;
const LEFT_MM: f64 = MARGIN_MM + ROOM_MM[0] + 5.0;
/// Distance of the second column from the first, and width of each.
const COLUMN_MM: f64 = 78.0;
const WIDTH_MM: f64 = 70.0;

pub(super) fn words(drawing: &mut Drawing, face: &Face, units: UnitSet, sector: Drawn) {
    let top = sector.bottom - 13.0;
    let mut paragraphs: Vec<String> = Vec::new();
    for texture in &face.model.textures {
        let mut words = texture_words(texture, units);
        for measure in words.iter_mut().skip(1) {
            measure.insert_str(0, "\u{2013} ");
        }
        paragraphs.extend(words);
    }
    if paragraphs.is_empty() {
        paragraphs.push("plain face: nothing is cut into it".to_owned());
    }
    column(drawing, LEFT_MM, top, &paragraphs);
    column(drawing, LEFT_MM + COLUMN_MM, top, &around(face, units));
    finish(drawing, face, units, &sector);
}

/// The ring itself and its counterpart.
fn around(face: &Face, units: UnitSet) -> Vec<String> {
    let band = &face.model.band;
    let unit = length_unit(units);
    let mut said = Vec::new();
    let mut both: Vec<&Ring> = rings(face.model).filter(|ring| !ring.parts.is_empty()).collect();
    both.sort_by_key(|ring| ring.role != face.role);
    for ring in both {
        let material = ring.parts.first().map_or("", |part| part.material.name.as_str());
        let whose = if ring.role == face.role { "drawn" } else { "mating" };
        let diameters = plane(ring).map_or(String::new(), |[inner, outer]| {
            format!(", face \u{d8}{} to \u{d8}{}", length(2.0 * inner, units), length(2.0 * outer, units))
        });
        said.push(format!("{whose}: {}, {material}{diameters}", ring_name(ring.role)));
    }
    said.push(format!("running band {} {unit} wide", length(band.width_m(), units)));
    said
}

fn column(drawing: &mut Drawing, x: f64, top: f64, paragraphs: &[String]) {
    let mut y = top;
    for paragraph in paragraphs {
        for (k, line) in wrapped(paragraph, WIDTH_MM, LABEL_MM).iter().enumerate() {
            let indent = if k > 0 { 3.0 } else { 0.0 };
            drawing.text(Layer::Labels, [x + indent, y], Anchor::Start, LABEL_MM, line);
            y -= LINE_MM;
        }
    }
}

fn finish(drawing: &mut Drawing, face: &Face, units: UnitSet, sector: &Drawn) {
    let ring = ring_name(face.role);
    let scale = drawing.frame.scale.words();
    let subtitle = format!(
        "Shaft seal, face of the {ring} along the shaft; scale {scale}, sector {} on A4, dimensions in {}",
        sector.scale.words(),
        length_unit(units)
    );
    let turns = match face.role {
        RingRole::Rotating => "The arrow shows how this ring turns, seen on its face.",
        RingRole::Stationary => "The arrow shows how the other ring turns, seen through it on this face.",
    };
    let mut notes = vec![format!(
        "Diameters and the edges of what is cut into the face are true to scale, from the case. {turns} Chain line: balance diameter."
    )];
    let varies = face.swell().is_some();
    let cut = face.lines.iter().any(|line| super::place::closed(line).is_some());
    if face.is_crowded() {
        notes.push(
            "What is cut into the face is too fine for the whole face, which shows its extent; the sector shows each piece.".to_owned(),
        );
    }
    let shading = match (cut, varies) {
        (true, true) => "Shaded: what is cut into the face, and where it falls away from the other; lines: where it stands nearest.",
        (true, false) => "Shaded: what is cut into the face; depths are stated, not drawn.",
        (false, true) => {
            "Shaded darker: where the face falls away from the other; lines: where it stands nearest. Heights are stated, not drawn."
        }
        (false, false) => "The running band is shaded.",
    };
    notes.push(shading.to_owned());
    let hash: String = face.model.case_hash.chars().take(12).collect();
    let origin = format!("halfmicron {}, case {hash}", env!("CARGO_PKG_VERSION"));
    let textures: Vec<String> = face.model.textures.iter().map(|texture| texture_words(texture, units).join(", ")).collect();
    let what = if textures.is_empty() { "A plain face".to_owned() } else { textures.join("; ") };
    drawing.description = format!("{subtitle}. {what}. {}", notes.join(" "));
    labels::sheet(drawing, &subtitle, &notes, &origin);
}
