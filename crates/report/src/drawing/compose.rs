//! The sheet put together.

use halfmicron::model::{Model, PressureSide, Ring, RingRole};
use halfmicron::outcome::{DutyOutcome, Equilibrium, Status};
use halfmicron::sheet::UnitSet;
use halfmicron::sheet::rounding::{nominal, significant};
use halfmicron::sheet::units::{Kind, unit};

use super::bodies::{Body, bodies, extent, ring_name, rings};
use super::detail::{self, Detail};
use super::dimensions::{self, dimensions, floats_right};
use super::faces::Deformed;
use super::field::{self, Bands};
use super::fittings::{self, Fitted, behind_mm};
use super::labels::{self, KEY_MM, MARGIN_MM, NOTES_TOP_MM, Named, NamedKind, ROW_MM};
use super::{Drawing, DrawingError, Frame, Layer, Scale, Stroke, Wanted};

/// Height of the axis, and of the free space between rings and the row of numbers, mm of paper.
const AXIS_MM: f64 = NOTES_TOP_MM + 4.5;
const BELOW_ROW_MM: f64 = 8.0;
/// Height of the row of numbers above the rings where there is room, mm of paper.
const ABOVE_RINGS_MM: f64 = 18.0;
/// Width for the support behind the fixed ring, mm of paper.
const SUPPORT_MM: f64 = 4.5;
/// What film and deflection take on paper at most where the factor is chosen, mm.
const AUTOMATIC_MM: f64 = 2.5;
/// Gap whose size on paper is stated, m.
const SHOWN_M: f64 = 1e-6;
/// Light blue of the film.
const FILM: [u8; 3] = [0xa9, 0xcc, 0xe2];

pub(super) fn compose(model: &Model, solved: Option<&DutyOutcome>, wanted: &Wanted) -> Result<Drawing, DrawingError> {
    let Placed { frame, ends, row, beside } = placed(model)?;
    let equilibrium = chosen(solved, wanted.temperature || wanted.deformed.is_some())?;
    let deformed = match (wanted.deformed, equilibrium) {
        (Some(exaggeration), Some(equilibrium)) => Deformed::new(model, equilibrium, AUTOMATIC_MM / frame.scale.mm_per_m(), exaggeration)?,
        _ => None,
    };
    let bands = equilibrium.filter(|_| wanted.temperature).and_then(|equilibrium| Bands::new(equilibrium, wanted.units));
    let mut drawing = Drawing { title: model.title.clone(), description: String::new(), units: wanted.units, frame, items: Vec::new() };
    let bodies = bodies(model);
    let heat = bands.as_ref().zip(equilibrium);
    sections(&mut drawing, model, &bodies, heat, deformed.as_ref());
    let mut fitted = Fitted::default();
    for ring in rings(model).filter(|ring| !ring.parts.is_empty()) {
        // what touches a ring goes with it
        let seal = ring.secondary_seal_m;
        let moved = deformed.as_ref().map_or(seal, |deformed| deformed.moved(ring.role, seal));
        drawing.frame.origin_mm[0] += frame.on_paper(ring.role, moved)[0] - frame.on_paper(ring.role, seal)[0];
        if ring.floating {
            fittings::floating(&mut drawing, model, ring, wanted.units, &mut fitted);
        } else {
            fittings::fixed(&mut drawing, ring, seal_by_default(model, ring), &mut fitted);
        }
        drawing.frame = frame;
    }
    fittings::shaft(&mut drawing, model, ends);
    dimensions(&mut drawing, model, ends, wanted.units);
    if let Some((tip, tail, _)) = inner_flush(model, &frame, wanted.units) {
        fittings::flow(&mut drawing, tail, tip);
    }
    let named = named(model, &frame, &bodies, fitted, bands.is_none(), wanted.units);
    labels::row(&mut drawing, row, &named);
    let mut y = labels::key(&mut drawing, &named);
    if let Some(bands) = &bands {
        y = labels::temperature_key(&mut drawing, bands, y - 2.0);
    }
    if let (Some(duty), Some(equilibrium)) = (solved, equilibrium) {
        y = labels::words(&mut drawing, y - 1.0, &results(duty, equilibrium, wanted.units));
    }
    if let Some(detail) = Detail::new(model, &frame, beside, y) {
        let mut close = Drawing { frame: detail.frame, items: Vec::new(), ..drawing.clone() };
        sections(&mut close, model, &bodies, heat, deformed.as_ref());
        detail.put(&mut drawing, close, model);
    }
    finish(&mut drawing, model, solved.filter(|_| equilibrium.is_some()), deformed.as_ref(), bands.is_some(), wanted.units);
    drawing.items.sort_by_key(|item| item.layer);
    Ok(drawing)
}

/// Scale and place, the ends of the picture along x, the height of the row of numbers.
struct Placed {
    frame: Frame,
    ends: [f64; 2],
    row: f64,
    /// Corners of the room beside the picture, where the band is small enough to be shown there once more.
    beside: Option<[[f64; 2]; 2]>,
}

fn placed(model: &Model) -> Result<Placed, DrawingError> {
    let extents: Vec<[[f64; 2]; 2]> = rings(model).filter_map(extent).collect();
    if extents.is_empty() {
        return Err(DrawingError::NoSection);
    }
    let radius = extents.iter().fold(0.0_f64, |most, [[_, r], _]| most.max(*r));
    let depth =
        |role: RingRole| rings(model).filter(|ring| ring.role == role).filter_map(extent).fold(0.0_f64, |most, [_, [_, z]]| most.max(z));
    let [left_dimensions, right_dimensions] = dimensions::widths(model);
    let room = [KEY_MM - 4.0 - MARGIN_MM - left_dimensions - right_dimensions, ROW_MM - BELOW_ROW_MM - AXIS_MM];
    let length = depth(RingRole::Rotating) + depth(RingRole::Stationary);
    let behind = |scale: Scale| behind_mm(model, scale.mm_per_m());
    let mut scale = Scale::fitting([length, radius], [room[0] - SUPPORT_MM - 16.0, room[1]]);
    // fittings have a size of their own on paper: they may ask for the next smaller scale
    while let Some(tried) = scale.filter(|scale| length * scale.mm_per_m() + SUPPORT_MM + behind(*scale) > room[0]) {
        scale = Scale::fitting([0.0, 0.999 * room[1] / tried.mm_per_m() * 1.01], [1.0, room[1]]);
    }
    let scale = scale.ok_or(DrawingError::TooLarge { radius_mm: 1e3 * radius, most_mm: room[1] * 200.0 })?;
    let beyond = |role: RingRole| if (role == RingRole::Rotating) == floats_right(model) { behind(scale) } else { SUPPORT_MM };
    let left_length = depth(RingRole::Stationary) * scale.mm_per_m() + beyond(RingRole::Stationary);
    let right_length = depth(RingRole::Rotating) * scale.mm_per_m() + beyond(RingRole::Rotating);
    let spare = room[0] - left_length - right_length;
    let aside = detail::wanted(model, scale) && spare > detail::ROOM_MM;
    let left = MARGIN_MM + left_dimensions + if aside { (0.2 * spare).min(spare - detail::ROOM_MM) } else { 0.5 * spare };
    let height = radius * scale.mm_per_m() + ABOVE_RINGS_MM;
    let axis = AXIS_MM + 0.5 * (ROW_MM - AXIS_MM - height).max(0.0);
    let frame = Frame { scale, origin_mm: [left + left_length, axis] };
    let row = (axis + height).min(ROW_MM);
    let right = left + left_length + right_length;
    let beside = aside.then_some([[right + right_dimensions + 5.0, axis], [KEY_MM - 5.0, row - 6.0]]);
    Ok(Placed { frame, ends: [left, right], row, beside })
}

/// The equilibrium to show; `fields` where its temperatures or deflections are wanted.
pub(super) fn chosen(solved: Option<&DutyOutcome>, fields: bool) -> Result<Option<&Equilibrium>, DrawingError> {
    let equilibrium =
        solved.and_then(|duty| duty.equilibria.get(duty.chosen?)).filter(|_| solved.is_some_and(|duty| duty.status == Status::Solved));
    let has_fields = equilibrium.is_some_and(|found| found.rings.rotating.field.is_some() && found.rings.stationary.field.is_some());
    if fields && !has_fields {
        let (duty, reason) =
            solved.map_or((String::new(), "it was not solved".to_owned()), |duty| (duty.name.clone(), duty.reason.clone()));
        return Err(DrawingError::NotSolved { duty, reason });
    }
    Ok(equilibrium)
}

/// Both rings by the frame of a drawing, and the film between them.
fn sections(drawing: &mut Drawing, model: &Model, bodies: &[Body], heat: Option<(&Bands, &Equilibrium)>, deformed: Option<&Deformed>) {
    if let Some((bands, equilibrium)) = heat {
        temperatures(drawing, model, bands, equilibrium, deformed);
    }
    for body in bodies {
        section(drawing, body, deformed, heat.is_none());
    }
    if let Some(deformed) = deformed {
        let frame = drawing.frame;
        let film = deformed.film(|role, point| frame.on_paper(role, point));
        drawing.fill(Layer::Film, FILM, vec![film]);
    }
}

fn temperatures(drawing: &mut Drawing, model: &Model, bands: &Bands, equilibrium: &Equilibrium, deformed: Option<&Deformed>) {
    let frame = drawing.frame;
    let mut filled: Vec<field::Pieces> = vec![Vec::new(); bands.edges.len() - 1];
    let mut lines = Vec::new();
    for ring in rings(model) {
        let Some(field) = field::of(equilibrium, ring.role) else { continue };
        let nodes = deformed.map_or_else(|| field.nodes_m.clone(), |deformed| deformed.nodes(ring.role));
        let place = |p: [f64; 2]| frame.on_paper(ring.role, p);
        for (all, pieces) in filled.iter_mut().zip(bands.pieces(field, &nodes)) {
            all.extend(pieces.into_iter().map(|piece| piece.into_iter().map(place).collect()));
        }
        lines.extend(bands.lines(field, &nodes).into_iter().map(|line| line.map(place)));
    }
    for (band, polygons) in filled.into_iter().enumerate().filter(|(_, polygons)| !polygons.is_empty()) {
        drawing.fill(Layer::Temperature, bands.colour(band), polygons);
    }
    for line in lines {
        drawing.line(Layer::Temperature, Stroke::Hatch, &line);
    }
}

fn section(drawing: &mut Drawing, body: &Body, deformed: Option<&Deformed>, hatched: bool) {
    let frame = drawing.frame;
    let outlines: Vec<Vec<[f64; 2]>> = deformed
        .map_or_else(|| body.outlines.clone(), |deformed| deformed.outlines(body.role, &body.outlines))
        .into_iter()
        .map(|outline| outline.into_iter().map(|p| frame.on_paper(body.role, p)).collect())
        .collect();
    if hatched {
        for line in body.pattern.lines(&outlines) {
            drawing.line(Layer::Hatching, Stroke::Hatch, &line);
        }
    }
    for outline in &outlines {
        drawing.outline(layer_of(body.role), Stroke::Visible, outline);
    }
}

fn layer_of(role: RingRole) -> Layer {
    match role {
        RingRole::Rotating => Layer::RotatingRing,
        RingRole::Stationary => Layer::StationaryRing,
    }
}

/// Whether the place of a ring's secondary seal was taken by default.
fn seal_by_default(model: &Model, ring: &Ring) -> bool {
    let field = format!("{}.secondary_seal", ring_name(ring.role).replace(' ', "_"));
    model.notices.iter().any(|notice| notice.field.starts_with(&field))
}

fn named(model: &Model, frame: &Frame, bodies: &[Body], fitted: Fitted, hatched: bool, set: UnitSet) -> Vec<Named> {
    let mut named = Vec::new();
    let mut push = |at: [f64; 2], words: String, pattern| {
        let kind = NamedKind::Number(named.len() + 1);
        named.push(Named { at, words, pattern, kind });
    };
    for body in bodies {
        let ring = rings(model).find(|ring| ring.role == body.role);
        let name = match (body.index, ring.is_some_and(|ring| ring.floating)) {
            (0, true) => format!("{}, floating", ring_name(body.role)),
            (0, false) => format!("{}, fixed", ring_name(body.role)),
            (index, _) => format!("{}, part {}", ring_name(body.role), index + 1),
        };
        push(frame.on_paper(body.role, body.inside), format!("{name}: {}", body.material), hatched.then_some(body.pattern));
    }
    for (at, words) in [fitted.sliding_seal, fitted.springs, fitted.fixed_seal].into_iter().flatten() {
        push(at, words, None);
    }
    if let Some((_, tail, words)) = inner_flush(model, frame, set) {
        let kind = NamedKind::Number(named.len() + 1);
        named.push(Named { at: tail, words, pattern: None, kind });
    }
    if let (Some(flush), PressureSide::Outside) = (model.seal.flush_m3_per_s, model.seal.pressure_side) {
        let top = rings(model).filter_map(extent).fold(0.0_f64, |most, [[_, r], _]| most.max(r));
        let at = [frame.origin_mm[0], frame.on_paper(RingRole::Rotating, [top, 0.0])[1] + 1.5];
        let words = format!("flush {}", quantity(Kind::SupplyFlow, flush, set));
        named.push(Named { at, words, pattern: None, kind: NamedKind::Flow });
    }
    named
}

/// Tip and tail of the arrow of a flush that enters inside the faces, and its words.
fn inner_flush(model: &Model, frame: &Frame, set: UnitSet) -> Option<([f64; 2], [f64; 2], String)> {
    let flush = model.seal.flush_m3_per_s.filter(|_| model.seal.pressure_side == PressureSide::Inside)?;
    let low = rings(model).filter_map(extent).fold(f64::INFINITY, |least, [[r, _], _]| least.min(r));
    let tip = [frame.origin_mm[0], frame.on_paper(RingRole::Rotating, [low, 0.0])[1] - 0.8];
    let shaft = model.machine.shaft_diameter_m.map_or(0.0, |diameter| 0.5 * diameter);
    let room = tip[1] - frame.on_paper(RingRole::Rotating, [shaft, 0.0])[1];
    // along the shaft where there is little room above it
    let tail = if room > 7.0 { [tip[0], tip[1] - 6.0] } else { [tip[0] + 7.0, tip[1] - 0.4 * room] };
    Some((tip, tail, format!("flush {}, inside the faces; its way in is not drawn", quantity(Kind::SupplyFlow, flush, set))))
}

/// A number that the case states, with its unit.
pub(super) fn quantity(kind: Kind, si: f64, set: UnitSet) -> String {
    let shown = unit(kind, set);
    let text = significant(shown.convert(si), 3);
    let short = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    format!("{short} {}", shown.label)
}

/// The duty in a few lines.
fn results(duty: &DutyOutcome, equilibrium: &Equilibrium, set: UnitSet) -> Vec<String> {
    let shown = |name: &str, kind: Kind, value: halfmicron::outcome::Ranged| {
        let unit = unit(kind, set);
        let [low, middle, high] = [value.low, value.nominal, value.high].map(|v| unit.convert(v));
        format!("{name} {} {}", nominal(halfmicron::outcome::Ranged { low, nominal: middle, high }), unit.label)
    };
    vec![
        format!("duty \"{}\"", duty.name),
        shown("least film", Kind::SmallLength, equilibrium.minimum_film_m),
        shown("hottest face", Kind::Temperature, equilibrium.face_temperature_max_k),
    ]
}

fn finish(drawing: &mut Drawing, model: &Model, duty: Option<&DutyOutcome>, deformed: Option<&Deformed>, coloured: bool, set: UnitSet) {
    let scale = drawing.frame.scale.words();
    let of_duty = duty.map_or(String::new(), |duty| format!(", duty \"{}\"", duty.name));
    let what = match (coloured, deformed) {
        (true, Some(_)) => "temperatures and deformed faces",
        (true, None) => "temperatures",
        (false, Some(_)) => "deformed faces",
        (false, None) => "cross-section",
    };
    let subtitle = format!("Shaft seal, {what}{of_duty}; half section, scale {scale} on A4, dimensions in {}", length_unit(set));
    let side = match model.seal.pressure_side {
        PressureSide::Outside => "outside",
        PressureSide::Inside => "inside",
    };
    let mut notes = vec![format!(
        "Ring sections, diameters and the section of an O-ring are true to scale, from the case. The sealed fluid stands {side} the faces."
    )];
    if let Some(deformed) = deformed {
        notes.push(format!(
            "Across the film, deflection and film thickness are drawn {} times as large as the rings ({} of gap measures {:.2} mm on paper). The rings are displaced along the shaft as computed, but for the even stretch of each; radial displacements are not drawn.",
            deformed.factor,
            quantity(Kind::SmallLength, SHOWN_M, set),
            SHOWN_M * deformed.factor * drawing.frame.scale.mm_per_m()
        ));
    }
    notes.push(
        "Thin lines are schematic, since the case does not give them: springs, seals marked by a crossed square, seats, sleeve and the ends of the shaft. Housing and gland are not drawn.".to_owned(),
    );
    let hash: String = model.case_hash.chars().take(12).collect();
    let origin = format!("halfmicron {}, case {hash}", env!("CARGO_PKG_VERSION"));
    let parts: Vec<String> = bodies(model).iter().map(|body| format!("{} of {}", ring_name(body.role), body.material)).collect();
    drawing.description = format!("{subtitle}. {}. {}", parts.join(", "), notes.join(" "));
    labels::sheet(drawing, &subtitle, &notes, &origin);
}

pub(super) fn length_unit(set: UnitSet) -> &'static str {
    match set {
        UnitSet::Si => "mm",
        UnitSet::Us => "inches",
    }
}
