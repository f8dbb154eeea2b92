//! Labels beside their lines: inside the frame, over no line, over no other label, and nearest to the line that they name.

use super::boxes::{Rect, text_width};
use super::write::ABOVE;

/// Pieces of a line as it is drawn, px.
pub(super) type Line = Vec<Vec<[f64; 2]>>;

/// Where labels go.
pub(super) struct Field {
    /// Frame within which they stay.
    pub frame: Rect,
    /// Every line that is drawn.
    pub lines: Vec<Line>,
    /// Font size, px.
    pub size: f64,
    taken: Vec<Rect>,
}

/// A label that found its place.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Placed {
    pub text: String,
    pub rect: Rect,
}

impl Placed {
    /// Where its text begins, on its line of writing.
    pub fn start(&self, size: f64) -> [f64; 2] {
        [self.rect.left, self.rect.top + ABOVE * size]
    }
}

/// Distances of a label from the point of its line beside which it lies, px; a slanting line needs the greater ones.
const BESIDE: [f64; 4] = [4.0, 7.0, 11.0, 16.0];
/// How much nearer a label is to its own line than to every other, px.
const NEARER: f64 = 3.0;
/// Free space around a label, px.
const AIR: f64 = 1.5;

/// Side of its line on which a label lies.
#[derive(Debug, Clone, Copy)]
enum Side {
    Right,
    Left,
    Above,
    Below,
}

impl Field {
    pub fn new(frame: Rect, lines: Vec<Line>, size: f64) -> Self {
        Self { frame, lines, size, taken: Vec::new() }
    }

    /// A label beside line `own`, at best near `share` of its length.
    pub fn beside(&mut self, own: usize, text: &str, share: f64) -> Option<Placed> {
        let mut best: Option<(f64, Rect)> = None;
        for (at, point) in stations(&self.lines[own]) {
            for (rank, side) in [Side::Right, Side::Above, Side::Left, Side::Below].into_iter().enumerate() {
                let Some((away, rect)) =
                    BESIDE.into_iter().map(|away| (away, self.rect(text, point, side, away))).find(|(_, rect)| self.fits(rect, own))
                else {
                    continue;
                };
                let cost = 4.0 * (at - share).abs() + 0.3 * rank as f64 + 0.1 * away;
                if best.as_ref().is_none_or(|(least, _)| cost < *least) {
                    best = Some((cost, rect));
                }
            }
        }
        best.map(|(_, rect)| self.take(text, rect))
    }

    /// A label in the first free of some rectangles' places; lines of the field may run behind it.
    pub fn first_free(&mut self, text: &str, places: &[Rect]) -> Option<Placed> {
        let crossed = |rect: &Rect| self.lines.iter().filter(|line| distance(line, rect) == 0.0).count();
        let free = places.iter().filter(|rect| self.is_free(rect));
        let rect = free.min_by_key(|rect| crossed(rect)).copied()?;
        Some(self.take(text, rect))
    }

    /// The rectangle of a text whose left upper corner is given.
    pub fn at(&self, text: &str, left: f64, top: f64) -> Rect {
        Rect { left, top, right: left + text_width(text, self.size), bottom: top + self.size }
    }

    fn rect(&self, text: &str, [x, y]: [f64; 2], side: Side, away: f64) -> Rect {
        let (width, height) = (text_width(text, self.size), self.size);
        match side {
            Side::Right => self.at(text, x + away, y - 0.5 * height),
            Side::Left => self.at(text, x - away - width, y - 0.5 * height),
            Side::Above => self.at(text, x - 0.5 * width, y - away - height),
            Side::Below => self.at(text, x - 0.5 * width, y + away),
        }
    }

    fn is_free(&self, rect: &Rect) -> bool {
        self.frame.holds(rect) && !self.taken.iter().any(|taken| taken.overlaps(&rect.grown(AIR)))
    }

    fn fits(&self, rect: &Rect, own: usize) -> bool {
        if !self.is_free(rect) {
            return false;
        }
        let to_own = distance(&self.lines[own], rect);
        let others = self.lines.iter().enumerate().filter(|(index, _)| *index != own);
        to_own > AIR && others.into_iter().all(|(_, line)| distance(line, rect) >= to_own + NEARER)
    }

    fn take(&mut self, text: &str, rect: Rect) -> Placed {
        self.taken.push(rect);
        Placed { text: text.to_owned(), rect }
    }
}

/// Least distance of a line from a rectangle.
fn distance(line: &Line, rect: &Rect) -> f64 {
    let mut least = f64::INFINITY;
    for run in line {
        let alone = (run.len() == 1).then(|| [run[0], run[0]]);
        for [from, to] in run.windows(2).map(|pair| [pair[0], pair[1]]).chain(alone) {
            if rect.square_distance_of_box(from, to) < least {
                least = least.min(rect.square_distance(from, to));
            }
        }
    }
    least.sqrt()
}

fn length(run: &[[f64; 2]]) -> f64 {
    run.windows(2).map(|pair| (pair[1][0] - pair[0][0]).hypot(pair[1][1] - pair[0][1])).sum()
}

/// Places along a line beside which a label may lie, each with its share of the whole.
fn stations(line: &Line) -> Vec<(f64, [f64; 2])> {
    const STEPS: usize = 24;
    let whole: f64 = line.iter().map(|run| length(run)).sum();
    if whole == 0.0 {
        let points: Vec<[f64; 2]> = line.iter().flatten().copied().collect();
        return points.iter().enumerate().map(|(k, point)| ((k as f64 + 0.5) / points.len() as f64, *point)).collect();
    }
    let share = |step: usize| (step as f64 + 0.25) / (STEPS as f64 + 0.5);
    (0..=STEPS).filter_map(|step| Some((share(step), along(line, share(step) * whole)?))).collect()
}

/// The point of a line at a length from its beginning.
fn along(line: &Line, mut at: f64) -> Option<[f64; 2]> {
    for pair in line.iter().flat_map(|run| run.windows(2)) {
        let step = length(pair);
        if at <= step && step > 0.0 {
            let share = at / step;
            return Some([pair[0][0] + share * (pair[1][0] - pair[0][0]), pair[0][1] + share * (pair[1][1] - pair[0][1])]);
        }
        at -= step;
    }
    None
}

/// A text in lines no wider than `width`, broken between words.
pub(super) fn wrapped(text: &str, width: f64, size: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut().filter(|line| text_width(&format!("{line} {word}"), size) <= width) {
            Some(line) => {
                line.push(' ');
                line.push_str(word);
            }
            None => lines.push(word.to_owned()),
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    const FRAME: Rect = Rect { left: 0.0, top: 0.0, right: 200.0, bottom: 100.0 };

    #[test]
    fn a_label_lies_beside_its_own_line() {
        let lines = vec![vec![vec![[0.0, 20.0], [200.0, 20.0]]], vec![vec![[0.0, 80.0], [200.0, 80.0]]]];
        let mut field = Field::new(FRAME, lines, 10.0);
        let upper = field.beside(0, "upper", 0.5).expect("room");
        let lower = field.beside(1, "lower", 0.5).expect("room");
        assert!(upper.rect.bottom < 20.0 || (20.0..45.0).contains(&upper.rect.top), "{upper:?}");
        assert!((55.0..80.0).contains(&lower.rect.bottom) || lower.rect.top > 80.0, "{lower:?}");
    }

    #[test]
    fn lines_that_lie_together_are_not_labelled_beside() {
        let lines = vec![vec![vec![[0.0, 20.0], [200.0, 20.0]]], vec![vec![[0.0, 21.0], [200.0, 21.0]]]];
        let mut field = Field::new(FRAME, lines, 10.0);
        assert_eq!(field.beside(0, "upper", 0.5), None);
    }

    #[test]
    fn what_has_no_room_has_no_place() {
        let mut field = Field::new(FRAME, vec![vec![vec![[0.0, 50.0], [200.0, 50.0]]]], 10.0);
        assert_eq!(field.beside(0, "a label that is much wider than its whole chart is", 0.5), None);
        assert_eq!(field.first_free("x", &[]), None);
    }

    proptest::proptest! {
        /// However many labels are asked for, none lies over another, over a line or outside.
        #[test]
        fn labels_never_overlap(lines in proptest::collection::vec(proptest::collection::vec((-20.0..220.0f64, -20.0..120.0f64), 1..8), 1..7)) {
            let lines: Vec<Line> = lines.into_iter().map(|line| {
                let line: Vec<Option<[f64; 2]>> = line.into_iter().map(|(x, y)| Some([x, y])).collect();
                super::super::boxes::runs(&line, &FRAME)
            }).collect();
            let count = lines.len();
            let mut field = Field::new(FRAME, lines, 10.0);
            let placed: Vec<Placed> = (0..count).filter_map(|own| field.beside(own, "some label", 0.6)).collect();
            for (k, label) in placed.iter().enumerate() {
                proptest::prop_assert!(FRAME.holds(&label.rect));
                proptest::prop_assert!(placed[..k].iter().all(|other| !other.rect.overlaps(&label.rect)));
                proptest::prop_assert!(field.lines.iter().all(|line| distance(line, &label.rect) > 0.0));
            }
        }
    }

    #[test]
    fn words_break_into_lines() {
        assert_eq!(wrapped("film pops open", 60.0, 10.0), ["film pops", "open"]);
        assert!(wrapped("", 60.0, 10.0).is_empty());
    }
}
