//! SVG of the close-up: numbers in px with at most two decimals, colours by name.

use std::fmt::Write;

use super::super::colour;
use super::super::svg::escaped;
use super::super::text_width;
use crate::chart::Style;
use crate::digits::number;

/// Size of letters, px.
pub(super) const LETTER_PX: f64 = 12.0;

/// Colours by what they mean; on a page each is a custom property of the same name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Ink {
    Main,
    Soft,
    Paper,
    Wash,
    Sealed,
    SealedTint,
    Low,
    LowTint,
    Film,
    Heat,
}

impl Ink {
    fn named(self) -> (&'static str, &'static str) {
        match self {
            Self::Main => ("ink", "#1c1b19"),
            Self::Soft => ("soft", "#5f5c55"),
            Self::Paper => ("paper", "#fdfcf9"),
            Self::Wash => ("wash", "#f4f2eb"),
            Self::Sealed => ("sealed", "#1d5c87"),
            Self::SealedTint => ("sealed-tint", "#e2edf4"),
            Self::Low => ("low", "#7a5a0c"),
            Self::LowTint => ("low-tint", "#f6edd2"),
            Self::Film => ("film", "#a9cce2"),
            Self::Heat => ("heat", "#a63c1a"),
        }
    }
}

/// Where a text hangs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Hang {
    Start,
    Middle,
}

/// One line of text at a place.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Words {
    pub at: [f64; 2],
    pub hang: Hang,
    pub content: String,
    pub ink: Ink,
    pub bold: bool,
    /// Colour around the letters that keeps lines off them.
    pub halo: Option<String>,
    pub path: Option<String>,
}

impl Words {
    /// Left, top, right, bottom, px.
    pub fn bounds(&self) -> [f64; 4] {
        let width = width(&self.content, self.bold);
        let left = self.at[0]
            - match self.hang {
                Hang::Start => 0.0,
                Hang::Middle => 0.5 * width,
            };
        [left, self.at[1] - 0.78 * LETTER_PX, left + width, self.at[1] + 0.24 * LETTER_PX]
    }
}

/// Estimated width of a text, px.
pub(super) fn width(content: &str, bold: bool) -> f64 {
    text_width(content, LETTER_PX) * if bold { 1.08 } else { 1.0 }
}

/// The element as it grows.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Canvas {
    pub text: String,
    style: Style,
}

impl Canvas {
    pub fn new(style: Style) -> Self {
        Self { text: String::with_capacity(32 * 1024), style }
    }

    pub fn paint(&self, ink: Ink) -> String {
        let (name, plain) = ink.named();
        match (self.style, ink) {
            (Style::Page, _) => format!("var(--{name},{plain})"),
            (Style::Paper, Ink::Paper) => "#fff".to_owned(),
            (Style::Paper, _) => plain.to_owned(),
        }
    }

    /// Colour of a band of temperature.
    pub fn band(&self, band: usize, count: usize) -> String {
        match self.style {
            Style::Page => {
                let [cold, hot] = colour::ENDS.map(hex);
                let percent = 100.0 * colour::share(band, count);
                format!("color-mix(in oklab,var(--hot,{hot}) {}%,var(--cold,{cold}))", number(percent))
            }
            Style::Paper => hex(colour::of_band(band, count)),
        }
    }

    pub fn raw(&mut self, text: &str) {
        self.text.push_str(text);
    }

    /// A path of several pieces with the attributes given.
    pub fn path<P: AsRef<[[f64; 2]]>>(&mut self, pieces: &[P], closed: bool, attributes: &str) {
        if pieces.iter().all(|piece| piece.as_ref().len() < 2) {
            return;
        }
        let _ = write!(self.text, "<path {attributes} d=\"");
        for piece in pieces.iter().map(AsRef::as_ref).filter(|piece| piece.len() > 1) {
            for (k, [x, y]) in piece.iter().enumerate() {
                let _ = write!(self.text, "{}{} {}", if k == 0 { 'M' } else { 'L' }, number(*x), number(*y));
            }
            if closed {
                self.text.push('Z');
            }
        }
        self.text.push_str("\"/>\n");
    }

    pub fn fill<P: AsRef<[[f64; 2]]>>(&mut self, pieces: &[P], paint: &str) {
        self.path(pieces, true, &format!("fill=\"{paint}\" stroke=\"none\""));
    }

    pub fn stroke<P: AsRef<[[f64; 2]]>>(&mut self, pieces: &[P], closed: bool, ink: Ink, width: f64, more: &str) {
        let paint = self.paint(ink);
        self.path(pieces, closed, &format!("fill=\"none\" stroke=\"{paint}\" stroke-width=\"{}\"{more}", number(width)));
    }

    pub fn words(&mut self, words: &Words) {
        let anchor = match words.hang {
            Hang::Start => "",
            Hang::Middle => " text-anchor=\"middle\"",
        };
        let weight = if words.bold { " font-weight=\"600\"" } else { "" };
        let halo = words.halo.as_ref().map_or(String::new(), |paint| {
            format!(" stroke=\"{paint}\" stroke-width=\"3.5\" stroke-linejoin=\"round\" paint-order=\"stroke\"")
        });
        let path = words.path.as_ref().map_or(String::new(), |path| format!(" data-path=\"{}\"", escaped(path)));
        let [x, y] = words.at.map(number);
        let paint = self.paint(words.ink);
        let content = escaped(&words.content);
        let _ = writeln!(self.text, "<text x=\"{x}\" y=\"{y}\"{anchor}{weight}{halo}{path} fill=\"{paint}\">{content}</text>");
    }

    /// Everything up to the matching [`close`](Self::close) belongs to a path of the case.
    pub fn open(&mut self, path: &str, name: &str) {
        let _ = writeln!(self.text, "<g data-path=\"{}\"><title>{}</title>", escaped(path), escaped(name));
    }

    pub fn close(&mut self) {
        self.text.push_str("</g>\n");
    }
}

fn hex([r, g, b]: [u8; 3]) -> String {
    format!("#{r:02x}{g:02x}{b:02x}")
}
