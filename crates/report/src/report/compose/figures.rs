//! Drawing, section of the worst duty, curves.

use super::super::Subject;
use super::super::content::{Figure, Part, Section};
use super::{nothing, shown_duty};
use crate::drawing::{Exaggeration, Wanted, draw};

/// Sections with the pictures.
pub(super) fn sections(subject: &Subject) -> Vec<Section> {
    vec![cross_section(subject), worst_duty(subject)].into_iter().flatten().collect()
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
        share: 1.0,
    };
    Some(Section { turned: true, ..Section::new("drawing", "Drawing", vec![Part::Figure(figure)]) })
}

/// The duty judged worst: rings with temperatures and deformed faces.
fn worst_duty(subject: &Subject) -> Option<Section> {
    let duty = shown_duty(subject)?;
    let wanted = Wanted { units: subject.sheet.units, temperature: true, deformed: Some(Exaggeration::Automatic) };
    let drawing = draw(subject.model, Some(duty), &wanted).ok()?;
    let figure = Figure {
        name: "worst.svg".to_owned(),
        svg: drawing.svg(),
        caption: format!("Temperatures of both rings and deformed faces at the duty \"{}\".", duty.name),
        words: drawing.description.clone(),
        share: 1.0,
    };
    Some(Section::new("worst-duty", "Worst duty", vec![Part::Figure(figure)]))
}
