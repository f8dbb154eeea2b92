//! Text of a terminal as a picture: one line of text an SVG `<text>`, bold and the few colours kept.

use std::fmt::Write;

/// Size of a character of the monospaced face, px.
const CHARACTER: (f64, f64) = (7.8, 18.0);
const MARGIN: f64 = 16.0;

/// How a run of characters looks.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
struct Look {
    bold: bool,
    colour: Option<u8>,
}

/// The picture of an output, cut after `lines` lines.
pub fn svg(command: &str, output: &str, lines: usize) -> String {
    let shown: Vec<&str> = output.lines().take(lines).collect();
    let columns = shown.iter().map(|line| characters(line).len()).max().unwrap_or(0).max(command.chars().count() + 2);
    let (width, height) = (2.0 * MARGIN + columns as f64 * CHARACTER.0, 2.0 * MARGIN + (shown.len() + 2) as f64 * CHARACTER.1);
    let mut text = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width:.0}\" height=\"{height:.0}\" viewBox=\"0 0 {width:.0} {height:.0}\" role=\"img\">\n\
         <title>{}</title>\n\
         <rect width=\"100%\" height=\"100%\" fill=\"#fdfcf8\"/>\n\
         <g font-family=\"'DejaVu Sans Mono', Menlo, Consolas, monospace\" font-size=\"13\" fill=\"#1a1a1a\" xml:space=\"preserve\">\n",
        escaped(command)
    );
    let prompt = format!("\u{1b}[1m$ {command}\u{1b}[0m");
    for (index, line) in [prompt.as_str(), ""].into_iter().chain(shown).enumerate() {
        let baseline = MARGIN + (index as f64 + 0.75) * CHARACTER.1;
        for (column, run, look) in runs(line) {
            let weight = if look.bold { " font-weight=\"bold\"" } else { "" };
            let fill = look.colour.map_or(String::new(), |colour| format!(" fill=\"{}\"", ink(colour)));
            let _ = writeln!(
                text,
                "<text x=\"{:.1}\" y=\"{baseline:.1}\"{weight}{fill}>{}</text>",
                MARGIN + column as f64 * CHARACTER.0,
                escaped(&run)
            );
        }
    }
    text + "</g>\n</svg>\n"
}

/// Runs of one look, each with the column of its first letter. Two blanks part runs, so that columns stay in line whatever the face.
fn runs(line: &str) -> Vec<(usize, String, Look)> {
    let mut found: Vec<(usize, String, Look)> = Vec::new();
    let mut open = false;
    for (column, (character, look)) in characters(line).into_iter().enumerate() {
        match found.last_mut() {
            Some((_, run, before)) if open && *before == look => {
                run.push(character);
                open = !run.ends_with("  ");
            }
            _ if character == ' ' => open = false,
            _ => {
                found.push((column, character.to_string(), look));
                open = true;
            }
        }
    }
    found.into_iter().map(|(column, run, look)| (column, run.trim_end().to_owned(), look)).collect()
}

/// Characters with their look, escape sequences taken out.
fn characters(line: &str) -> Vec<(char, Look)> {
    let (mut found, mut look, mut rest) = (Vec::new(), Look::default(), line);
    while let Some(first) = rest.chars().next() {
        if let Some((codes, after)) = rest.strip_prefix("\u{1b}[").and_then(|after| after.split_once('m')) {
            (look, rest) = (changed(look, codes), after);
        } else {
            found.push((first, look));
            rest = &rest[first.len_utf8()..];
        }
    }
    found
}

/// A look after the codes of one escape sequence.
fn changed(before: Look, codes: &str) -> Look {
    match codes.split(';').map(|code| code.parse().unwrap_or(0)).collect::<Vec<u8>>()[..] {
        [38, 5, colour] => Look { colour: Some(colour), ..before },
        [1] => Look { bold: true, ..before },
        [39] => Look { colour: None, ..before },
        [22] => Look { bold: false, ..before },
        [code @ 30..=37] => Look { colour: Some(code - 30), ..before },
        _ => Look::default(),
    }
}

/// Ink of a terminal's colour, dark enough for paper.
fn ink(colour: u8) -> &'static str {
    match colour {
        1 | 9 => "#a02020",
        2 | 10 => "#1d6b34",
        3 | 11 => "#7a5a00",
        4 | 12 => "#1d4f91",
        _ => "#1a1a1a",
    }
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn looks_begin_and_end_where_the_codes_stand() {
        let line = "a \u{1b}[1mbold\u{1b}[0m \u{1b}[38;5;3mwatch\u{1b}[39m";
        let wanted = [
            (0, "a", Look::default()),
            (2, "bold", Look { bold: true, colour: None }),
            (7, "watch", Look { bold: false, colour: Some(3) }),
        ];
        assert_eq!(runs(line), wanted.map(|(column, run, look)| (column, run.to_owned(), look)));
    }

    #[test]
    fn columns_keep_their_place() {
        let drawn = svg("x", "name      12\nlonger    13", 9);
        let at = |word: &str| {
            drawn.lines().find(|line| line.contains(&format!(">{word}<"))).and_then(|line| line.split('"').nth(1)).map(str::to_owned)
        };
        assert_eq!(at("12"), at("13"));
        assert!(at("12").is_some());
    }

    #[test]
    fn signs_of_markup_are_harmless() {
        assert!(svg("a < b & c", "", 1).contains("a &lt; b &amp; c"));
    }
}
