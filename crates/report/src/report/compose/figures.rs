//! Drawing, section of the worst duty, curves.

use super::super::Subject;
use super::super::content::{Figure, Part, Section};
use halfmicron::sheet::Chart;

use super::{nothing, sentence, shown_duty};
use crate::chart::{Placing, Style, svg};
use crate::drawing::view::{ViewWanted, view};
use crate::drawing::{Exaggeration, Wanted, draw, draw_face};

/// Sections with the pictures.
pub(super) fn sections(subject: &Subject) -> Vec<Section> {
    vec![cross_section(subject), face(subject), worst_duty(subject)].into_iter().flatten().collect()
}

/// The cross-section to scale on a page of its own.
fn cross_section(subject: &Subject) -> Option<Section> {
    let wanted = Wanted { units: subject.sheet.units, ..Wanted::default() };
    let drawing = match draw(subject.model, shown_duty(subject), &wanted) {
        Ok(drawing) => drawing,
        Err(error) => return Some(nothing("drawing", "Drawing", &format!("There is no drawing: {error}"))),
    };
    let figure = Figure {
        name: "drawing.svg".to_owned(),
        svg: drawing.svg(),
        caption: "Cross-section. Its scale is that of an A4 sheet; here it is fitted to the page: take sizes from the figures.".to_owned(),
        words: drawing.description.clone(),
        whole_page: true,
    };
    Some(Section { turned: true, ..Section::new("drawing", "Drawing", vec![Part::Figure(figure)]) })
}

/// The face with its textures on a page of its own, where it has any.
fn face(subject: &Subject) -> Option<Section> {
    if subject.model.textures.is_empty() {
        return None;
    }
    let drawing = match draw_face(subject.model, subject.sheet.units) {
        Ok(drawing) => drawing,
        Err(error) => return Some(nothing("textured-face", FACE, &format!("There is no drawing of the face: {error}"))),
    };
    let figure = Figure {
        name: "face.svg".to_owned(),
        svg: drawing.svg(),
        caption: "The textured face along the shaft. Its scales are those of an A4 sheet; here it is fitted to the page.".to_owned(),
        words: drawing.description.clone(),
        whole_page: true,
    };
    Some(Section { turned: true, ..Section::new("textured-face", FACE, vec![Part::Figure(figure)]) })
}

const FACE: &str = "Textured face";

/// Width of a landscape page's text, px of CSS: 263 mm.
const ACROSS_PX: f64 = 994.0;
/// Width of a portrait page's text, px of CSS: 176 mm.
const UPRIGHT_PX: f64 = 665.0;
/// Height of the section with its curves, px.
const ROW_PX: f64 = 490.0;
/// Width of the section, px; the curves share the rest.
const SECTION_PX: f64 = 400.0;
/// Blank between neighbours, px.
const GAP_PX: f64 = 10.0;

/// The duty judged worst: rings with temperatures and deformed faces, and the curves over the band at the same heights.
fn worst_duty(subject: &Subject) -> Option<Section> {
    let duty = shown_duty(subject)?;
    let deformed = Some(Exaggeration::Automatic);
    let size_px = [SECTION_PX, ROW_PX];
    let wanted = ViewWanted { units: subject.sheet.units, temperature: true, deformed, style: Style::Paper, size_px };
    let Ok(section) = view(subject.model, Some(duty), &wanted) else {
        return Some(nothing("worst-duty", TITLE, "There is no picture of rings without a section."));
    };
    let charts: Vec<&Chart> = ["profile.gap", "profile.pressure", "profile.temperature"]
        .iter()
        .filter_map(|key| subject.sheet.charts.iter().find(|chart| chart.key == *key && chart.duty.as_deref() == Some(&duty.name)))
        .collect();
    let width_px = (ACROSS_PX - SECTION_PX) / charts.len().max(1) as f64 - GAP_PX;
    let mut pictures = vec![(section.svg, section.width_px)];
    for (index, chart) in charts.iter().enumerate() {
        let placing = Placing { style: Style::Paper, ..Placing::page(width_px, section.height_px) }.beside(section.radius);
        let placing = if index == 0 { placing } else { placing.without_radius_numbers() };
        pictures.push((svg(chart, None, &placing), width_px));
    }
    let titles: Vec<String> = charts.iter().map(|chart| chart.title.to_lowercase()).collect();
    // Pixels mean nothing on paper: how large the film is drawn is said as a factor.
    let notes: Vec<String> = section.notes.iter().filter(|note| !note.contains(" px")).map(|note| sentence(note)).collect();
    let drawn = section
        .factor
        .map_or(String::new(), |factor| format!(" Film and deflection are drawn {factor} times as large as the rings, along the shaft."));
    let figure = Figure {
        name: "worst.svg".to_owned(),
        svg: beside_each_other(&pictures, section.height_px),
        caption: format!(
            "Duty \"{}\": of those with an operating point the one judged worst, of equals a turning one, and of those that with the least film.{drawn} {}",
            duty.name,
            notes.join(" ")
        ),
        words: format!("Section of both rings at the duty {}, with curves over the radius of the band: {}", duty.name, titles.join(", ")),
        whole_page: false,
    };
    Some(Section { turned: true, ..Section::new("worst-duty", TITLE, vec![Part::Figure(figure)]) })
}

const TITLE: &str = "Worst duty";

/// Pictures in one row, so that no writer can shift one against another.
fn beside_each_other(pictures: &[(String, f64)], height_px: f64) -> String {
    let mut left = 0.0;
    let mut row = String::new();
    for (picture, width_px) in pictures {
        row.push_str(&picture.replacen("<svg ", &format!("<svg x=\"{left:.2}\" y=\"0\" "), 1));
        left += width_px + GAP_PX;
    }
    let width = left - GAP_PX;
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width:.2}\" height=\"{height_px:.2}\" viewBox=\"0 0 {width:.2} {height_px:.2}\">{row}</svg>"
    )
}

/// Where the heat of each duty goes.
pub(super) fn heat(subject: &Subject) -> Option<Part> {
    let chart = subject.sheet.charts.iter().find(|chart| chart.key == "heat.split")?;
    let height_px = 80.0 + 26.0 * chart.bars.len() as f64;
    let placing = Placing { style: Style::Paper, ..Placing::page(UPRIGHT_PX, height_px) };
    Some(Part::Figure(Figure {
        name: "heat.svg".to_owned(),
        svg: svg(chart, None, &placing),
        caption: sentence(&chart.note),
        words: format!("{} of each duty, as bars", chart.title),
        whole_page: false,
    }))
}
