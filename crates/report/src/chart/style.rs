//! How lines and texts look. No line is told from another by colour alone.

use halfmicron::sheet::chart::Role;

use super::Style;

/// Things that are painted: the property that a page may set, the property of the whole page behind it, the plain colour.
///
/// The plain colours keep 4.5 : 1 against white, and blue, vermilion and dark amber stay apart for the common kinds of colour blindness
/// (after the palette of Okabe and Ito, darkened; from memory).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Paint {
    Paper,
    Ink,
    Soft,
    Rule,
    Held,
    Film,
    Contact,
    Rotating,
    Stationary,
    Limit,
}

impl Paint {
    fn names(self) -> (&'static str, &'static str, &'static str) {
        match self {
            Paint::Paper => ("--chart-paper", "--paper", "#ffffff"),
            Paint::Ink => ("--chart-ink", "--ink", "#1c1b19"),
            Paint::Soft => ("--chart-soft", "--soft", "#5f5c55"),
            Paint::Rule => ("--chart-rule", "--rule", "#d9d5ca"),
            Paint::Held => ("--chart-held", "--held", "#8d8a83"),
            Paint::Film => ("--chart-film", "--sealed", "#1d5c87"),
            Paint::Contact => ("--chart-contact", "--low", "#7a5a0c"),
            Paint::Rotating => ("--chart-rotating", "--heat", "#a63c1a"),
            Paint::Stationary => ("--chart-stationary", "--ink", "#1c1b19"),
            Paint::Limit => ("--chart-limit", "--ink", "#1c1b19"),
        }
    }

    /// The value of a `fill` or `stroke`.
    pub fn on(self, style: Style) -> String {
        let (own, page, plain) = self.names();
        match style {
            Style::Page => format!("var({own}, var({page}, {plain}))"),
            Style::Paper => plain.to_owned(),
        }
    }
}

/// A kind of line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Pen {
    pub paint: Paint,
    /// Width, px.
    pub width: f64,
    /// Dashes and gaps, px; empty for a whole line.
    pub dashes: &'static str,
}

/// What marks a point that belongs to no line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Dot {
    Full,
    Open,
    Cross,
}

/// Class by which a page may find a series.
pub(super) fn class(role: Role) -> &'static str {
    match role {
        Role::Film => "film",
        Role::Contact => "contact",
        Role::Rotating => "rotating",
        Role::Stationary => "stationary",
        Role::Saturation => "saturation",
        Role::Leak => "leak",
        Role::Limit => "limit",
        Role::Other => "other",
        Role::Unstable => "unstable",
    }
}

/// The line of a series.
pub(super) fn pen(role: Role, style: Style) -> Pen {
    let whole = if style == Style::Page { 1.75 } else { 1.4 };
    let (paint, share, dashes) = match role {
        Role::Film | Role::Leak | Role::Other => (Paint::Film, 1.0, ""),
        Role::Contact => (Paint::Contact, 1.0, "6 3"),
        Role::Rotating => (Paint::Rotating, 1.0, "9 3"),
        Role::Stationary => (Paint::Stationary, 0.9, "2 2.5"),
        Role::Saturation => (Paint::Ink, 0.7, "8 2.5 1.5 2.5"),
        Role::Limit => (Paint::Limit, 0.8, ""),
        Role::Unstable => (Paint::Ink, 0.7, "3 3"),
    };
    Pen { paint, width: whole * share, dashes }
}

/// Whether a series is single points.
pub(super) fn dot(role: Role) -> Dot {
    match role {
        Role::Other => Dot::Open,
        Role::Unstable => Dot::Cross,
        _ => Dot::Full,
    }
}

/// Whether points of a series are joined.
pub(super) fn joined(role: Role) -> bool {
    !matches!(role, Role::Other | Role::Unstable)
}

/// Hairlines of frame and grid, px.
pub(super) fn hair(style: Style) -> f64 {
    if style == Style::Page { 0.75 } else { 0.5 }
}

/// Font size, px.
pub(super) fn text_size(style: Style) -> f64 {
    if style == Style::Page { 11.0 } else { 10.0 }
}

/// The unit as it is typeset.
pub fn typeset_unit(unit: &str) -> String {
    let mut typeset = match unit {
        "um" => return "\u{b5}m".to_owned(),
        "uin" => return "\u{b5}in".to_owned(),
        other => other.replace("degC", "\u{b0}C").replace("degF", "\u{b0}F").replace("/um", "/\u{b5}m").replace("/uin", "/\u{b5}in"),
    };
    for (plain, raised) in [("m2", "m\u{b2}"), ("m3", "m\u{b3}"), ("ft3", "ft\u{b3}"), ("in2", "in\u{b2}")] {
        typeset = typeset.replace(plain, raised);
    }
    typeset
}

/// Words with the units among them typeset.
pub(super) fn typeset_words(text: &str) -> String {
    let word = |word: &str| match word.trim_end_matches([';', ',', '.']) {
        unit @ ("um" | "uin" | "degC" | "degF") => typeset_unit(unit) + &word[unit.len()..],
        _ => word.to_owned(),
    };
    text.split(' ').map(word).collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    const ROLES: [Role; 9] = [
        Role::Film,
        Role::Contact,
        Role::Rotating,
        Role::Stationary,
        Role::Saturation,
        Role::Leak,
        Role::Limit,
        Role::Other,
        Role::Unstable,
    ];

    /// Series of one chart differ in more than colour: dashes, or the kind of their points.
    #[test]
    fn lines_differ_without_colour() {
        let charts: [&[Role]; 3] = [
            &[Role::Film, Role::Contact],
            &[Role::Film, Role::Rotating, Role::Stationary, Role::Saturation],
            &[Role::Film, Role::Other, Role::Unstable],
        ];
        for style in [Style::Page, Style::Paper] {
            for roles in charts {
                for (k, a) in roles.iter().enumerate() {
                    for b in &roles[..k] {
                        assert!(pen(*a, style).dashes != pen(*b, style).dashes || dot(*a) != dot(*b), "{a:?} {b:?}");
                    }
                }
            }
        }
    }

    /// Relative luminance and contrast as in WCAG 2.
    #[test]
    fn plain_colours_read_on_white() {
        let channel = |hex: &str| {
            let value = f64::from(u8::from_str_radix(hex, 16).expect("two digits")) / 255.0;
            if value <= 0.04045 { value / 12.92 } else { ((value + 0.055) / 1.055).powf(2.4) }
        };
        for role in ROLES {
            let (.., plain) = pen(role, Style::Paper).paint.names();
            let luminance = 0.2126 * channel(&plain[1..3]) + 0.7152 * channel(&plain[3..5]) + 0.0722 * channel(&plain[5..7]);
            assert!(1.05 / (luminance + 0.05) > 4.5, "{role:?} {plain}");
        }
    }

    #[test]
    fn paper_knows_no_properties() {
        assert_eq!(Paint::Film.on(Style::Paper), "#1d5c87");
        assert_eq!(Paint::Film.on(Style::Page), "var(--chart-film, var(--sealed, #1d5c87))");
    }

    #[test]
    fn units_are_typeset() {
        assert_eq!(typeset_words("limit 0.1 um; boils at 101 degC or more"), "limit 0.1 \u{b5}m; boils at 101 \u{b0}C or more");

        let typeset = ["um", "degC", "degF diff", "N/um", "W/cm2", "m3/h", "mL/h", "MPa(a)"].map(typeset_unit);
        assert_eq!(typeset, ["\u{b5}m", "\u{b0}C", "\u{b0}F diff", "N/\u{b5}m", "W/cm\u{b2}", "m\u{b3}/h", "mL/h", "MPa(a)"]);
    }
}
