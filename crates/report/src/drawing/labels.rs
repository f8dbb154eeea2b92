//! Labels: numbered parts with leaders above the picture, their key, notes, title.

use super::fittings::flow;
use super::hatch::Pattern;
use super::{Anchor, Drawing, LABEL_MM, Layer, SHEET_MM, Stroke, text_width};

/// Edge of the sheet that stays empty, mm.
pub(super) const MARGIN_MM: f64 = 9.0;
/// Left edge of the key.
pub(super) const KEY_MM: f64 = 214.0;
/// Greatest height of the row of numbers, and the height at which the key begins.
pub(super) const ROW_MM: f64 = SHEET_MM[1] - MARGIN_MM - 19.0;
/// Notes begin below this height.
pub(super) const NOTES_TOP_MM: f64 = 25.0;

const TITLE_SIZE: f64 = 5.0;
const NOTE_SIZE: f64 = 2.6;
const DISC_MM: f64 = 2.7;
const LINE_MM: f64 = 4.2;
/// Blue of the sealed side.
pub(super) const SEALED: [u8; 3] = [0x1d, 0x5c, 0x87];

/// One thing that is named.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Named {
    /// Where its leader ends, mm of paper.
    pub at: [f64; 2],
    pub words: String,
    pub pattern: Option<Pattern>,
    pub kind: NamedKind,
}

/// How it is named.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum NamedKind {
    /// A number above, words in the key.
    Number(usize),
    /// Words above and an arrow that flows in.
    Flow,
}

/// The row above the picture: numbers and flows in the order of their places, apart from each other, each with its leader.
pub(super) fn row(drawing: &mut Drawing, height: f64, named: &[Named]) {
    let mut sorted: Vec<&Named> = named.iter().collect();
    sorted.sort_by(|a, b| a.at[0].total_cmp(&b.at[0]));
    let widths: Vec<f64> = sorted.iter().map(|named| width(named)).collect();
    let wanted: Vec<f64> = sorted.iter().map(|named| named.at[0]).collect();
    let firm: Vec<bool> = sorted.iter().map(|named| named.kind == NamedKind::Flow).collect();
    let places = apart(&wanted, &widths, &firm, [MARGIN_MM, KEY_MM - 4.0]);
    for (named, x) in sorted.into_iter().zip(places) {
        match named.kind {
            NamedKind::Number(number) => {
                leader(drawing, [x, height - DISC_MM], named.at);
                disc(drawing, [x, height], number);
            }
            NamedKind::Flow => {
                let begin = [x, height - 2.0];
                flow(drawing, begin, named.at);
                drawing.text(Layer::Flush, [x, height - 0.5], Anchor::Middle, LABEL_MM, &named.words);
            }
        }
    }
}

fn width(named: &Named) -> f64 {
    match named.kind {
        NamedKind::Number(_) => 2.0 * DISC_MM,
        NamedKind::Flow => text_width(&named.words, LABEL_MM),
    }
}

/// Places near those wanted, in the same order, with 2.5 mm between neighbours; firm ones stay as long as there is room.
pub(super) fn apart(wanted: &[f64], widths: &[f64], firm: &[bool], [low, high]: [f64; 2]) -> Vec<f64> {
    let need = |i: usize| 0.5 * (widths[i - 1] + widths[i]) + 2.5;
    let mut places = wanted.to_vec();
    // a few rounds of pushing neighbours apart evenly, then one sweep each way that leaves nothing too near
    for _ in 0..200 {
        for i in 1..places.len() {
            let lack = need(i) - (places[i] - places[i - 1]);
            if lack > 0.0 {
                let share = if firm[i - 1] == firm[i] { 0.5 } else { f64::from(firm[i]) };
                places[i - 1] -= share * lack;
                places[i] += (1.0 - share) * lack;
            }
        }
    }
    for i in 0..places.len() {
        let least = if i == 0 { low + 0.5 * widths[0] } else { places[i - 1] + need(i) };
        places[i] = places[i].max(least);
    }
    for i in (0..places.len()).rev() {
        let most = if i + 1 == places.len() { high - 0.5 * widths[i] } else { places[i + 1] - need(i + 1) };
        places[i] = places[i].min(most);
    }
    places
}

fn leader(drawing: &mut Drawing, from: [f64; 2], to: [f64; 2]) {
    drawing.line(Layer::Labels, Stroke::Narrow, &[from, to]);
    drawing.circle(Layer::Labels, to, 0.55, true);
}

fn disc(drawing: &mut Drawing, centre: [f64; 2], number: usize) {
    drawing.circle(Layer::Labels, centre, DISC_MM, false);
    let at = [centre[0], centre[1] - 0.36 * LABEL_MM];
    drawing.text(Layer::Labels, at, Anchor::Middle, LABEL_MM, &number.to_string());
}

/// The key at the right; returns the height at which it ends.
pub(super) fn key(drawing: &mut Drawing, named: &[Named]) -> f64 {
    let right = SHEET_MM[0] - MARGIN_MM;
    let words_x = KEY_MM + 20.0;
    let mut y = ROW_MM + 1.0;
    for named in named {
        let NamedKind::Number(number) = named.kind else { continue };
        disc(drawing, [KEY_MM + DISC_MM, y], number);
        if let Some(pattern) = named.pattern {
            let (left, low) = (KEY_MM + 7.5, y - 3.0);
            let swatch = vec![[left, low], [left + 10.0, low], [left + 10.0, low + 6.0], [left, low + 6.0]];
            for line in pattern.lines(std::slice::from_ref(&swatch)) {
                drawing.line(Layer::Hatching, Stroke::Hatch, &line);
            }
            drawing.outline(Layer::Labels, Stroke::Narrow, &swatch);
        }
        let lines = wrapped(&named.words, right - words_x, LABEL_MM);
        for (k, line) in lines.iter().enumerate() {
            drawing.text(Layer::Labels, [words_x, y - 0.36 * LABEL_MM - LINE_MM * k as f64], Anchor::Start, LABEL_MM, line);
        }
        y -= (LINE_MM * lines.len() as f64 + 3.0).max(8.5);
    }
    y
}

/// The scale of temperature below the key.
pub(super) fn temperature_key(drawing: &mut Drawing, bands: &super::field::Bands, top: f64) -> f64 {
    drawing.text(Layer::Labels, [KEY_MM, top], Anchor::Start, LABEL_MM, &format!("ring temperature, {}", bands.label));
    if bands.even {
        drawing.text(
            Layer::Labels,
            [KEY_MM, top - LINE_MM],
            Anchor::Start,
            LABEL_MM,
            &format!("{:.*} throughout", bands.decimals, bands.middle()),
        );
        return top - LINE_MM - 6.0;
    }
    let count = bands.edges.len() - 1;
    let step = 4.6_f64.min((top - 45.0) / count as f64);
    let bottom = top - 4.0 - step * count as f64;
    for band in 0..count {
        let low = bottom + step * band as f64;
        let cell = vec![[KEY_MM, low], [KEY_MM + 8.0, low], [KEY_MM + 8.0, low + step], [KEY_MM, low + step]];
        drawing.fill(Layer::Temperature, bands.colour(band), vec![cell.clone()]);
        drawing.outline(Layer::Labels, Stroke::Hatch, &cell);
    }
    let every = (3.4 / step).ceil().max(1.0) as usize;
    for (k, edge) in bands.edges.iter().enumerate().filter(|(k, _)| k % every == 0) {
        let y = bottom + step * k as f64 - 0.36 * LABEL_MM;
        drawing.text(Layer::Labels, [KEY_MM + 9.5, y], Anchor::Start, LABEL_MM, &format!("{edge:.*}", bands.decimals));
    }
    bottom - 6.0
}

/// Lines of words in the column of the key; returns the height at which they end.
pub(super) fn words(drawing: &mut Drawing, top: f64, paragraphs: &[String]) -> f64 {
    let mut y = top;
    for paragraph in paragraphs {
        for line in wrapped(paragraph, SHEET_MM[0] - MARGIN_MM - KEY_MM, LABEL_MM) {
            drawing.text(Layer::Labels, [KEY_MM, y], Anchor::Start, LABEL_MM, &line);
            y -= LINE_MM;
        }
    }
    y
}

/// Title above, rules, notes and origin below.
pub(super) fn sheet(drawing: &mut Drawing, subtitle: &str, notes: &[String], origin: &str) {
    let (left, right, top) = (MARGIN_MM, SHEET_MM[0] - MARGIN_MM, SHEET_MM[1] - MARGIN_MM);
    let title = shortened(&drawing.title.clone(), right - left, TITLE_SIZE);
    drawing.text(Layer::Sheet, [left, top - 4.0], Anchor::Start, TITLE_SIZE, &title);
    drawing.text(Layer::Sheet, [left, top - 10.0], Anchor::Start, LABEL_MM, &shortened(subtitle, right - left, LABEL_MM));
    drawing.line(Layer::Sheet, Stroke::Narrow, &[[left, top - 13.0], [right, top - 13.0]]);
    drawing.line(Layer::Sheet, Stroke::Narrow, &[[left, NOTES_TOP_MM], [right, NOTES_TOP_MM]]);
    let mut y = NOTES_TOP_MM - 4.0;
    let lines = notes.iter().flat_map(|note| wrapped(note, right - left, NOTE_SIZE));
    for line in lines.chain(std::iter::once(origin.to_owned())) {
        drawing.text(Layer::Sheet, [left, y], Anchor::Start, NOTE_SIZE, &line);
        y -= 3.5;
    }
}

/// Words broken into lines no wider than a width, mm.
pub(super) fn wrapped(words: &str, width: f64, size: f64) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in words.split_whitespace() {
        let line = lines.last().map_or("", String::as_str);
        let longer = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
        if !line.is_empty() && text_width(&longer, size) > width {
            lines.push(word.to_owned());
        } else if let Some(line) = lines.last_mut() {
            *line = longer;
        }
    }
    lines
}

/// A text that fits into a width; what does not is left off, and said so by an ellipsis.
fn shortened(words: &str, width: f64, size: f64) -> String {
    if text_width(words, size) <= width {
        return words.to_owned();
    }
    let keep = words.chars().count().saturating_sub(((text_width(words, size) - width) / text_width("x", size)).ceil() as usize + 3);
    words.chars().take(keep).chain("...".chars()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn neighbours_are_kept_apart_and_in_order() {
        let places = apart(&[50.0, 50.5, 51.0, 208.0], &[5.0, 20.0, 5.0, 5.0], &[false, true, false, false], [9.0, 210.0]);
        assert!(places[1] - places[0] >= 15.0 - 1e-9 && places[2] - places[1] >= 15.0 - 1e-9, "{places:?}");
        assert!((places[1] - 50.5).abs() < 1e-6, "the firm one stays: {places:?}");
        assert!(places[3] <= 207.5 + 1e-9 && places[0] >= 11.5);
        assert_eq!(apart(&[20.0, 60.0], &[5.0, 5.0], &[false; 2], [9.0, 210.0]), [20.0, 60.0], "nothing moves without need");
    }

    #[test]
    fn lines_are_no_wider_than_the_column() {
        let lines = wrapped("carbon graphite, resin impregnated, and more", 30.0, 3.2);
        assert!(lines.len() > 1 && lines.iter().all(|line| text_width(line, 3.2) <= 30.0), "{lines:?}");
        assert_eq!(lines.join(" "), "carbon graphite, resin impregnated, and more");
        assert!(
            shortened(&"x".repeat(300), 100.0, 3.2).ends_with("...") && text_width(&shortened(&"x".repeat(300), 100.0, 3.2), 3.2) <= 100.0
        );
    }
}
