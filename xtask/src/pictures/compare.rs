//! Whether two pictures show the same. Another version of a browser or of a face moves edges by a shade, not what is shown.

use std::fs::File;
use std::io::BufReader;
use std::path::Path;

use anyhow::{Context, Result, bail, ensure};

/// A pixel differs if a channel does by more than this.
const SHADE: u8 = 48;
/// Share of pixels that may differ: text of another face or version, not another content.
const SHARE: f64 = 0.03;
/// Numbers of a drawing may differ by this: the last digit of its coordinates.
const COORDINATE: f64 = 0.021;

/// Checks that a picture made now shows what the committed one shows.
pub fn same(committed: &Path, made: &Path) -> Result<()> {
    ensure!(committed.exists(), "{} is not there", committed.display());
    match committed.extension().and_then(|ending| ending.to_str()) {
        Some("svg") => same_drawing(&read(committed)?, &read(made)?).with_context(|| committed.display().to_string()),
        _ => same_pixels(&pixels(committed)?, &pixels(made)?).with_context(|| committed.display().to_string()),
    }
}

fn read(path: &Path) -> Result<String> {
    std::fs::read_to_string(path).with_context(|| format!("{} cannot be read", path.display()))
}

/// Width, height, and eight-bit channels.
struct Pixels {
    size: (u32, u32),
    channels: usize,
    bytes: Vec<u8>,
}

fn pixels(path: &Path) -> Result<Pixels> {
    let file = File::open(path).with_context(|| format!("{} cannot be read", path.display()))?;
    let mut decoder = png::Decoder::new(BufReader::new(file));
    decoder.set_transformations(png::Transformations::normalize_to_color8());
    let mut reader = decoder.read_info()?;
    let mut bytes = vec![0; reader.output_buffer_size().context("the picture is too large")?];
    let frame = reader.next_frame(&mut bytes)?;
    bytes.truncate(frame.buffer_size());
    Ok(Pixels { size: (frame.width, frame.height), channels: frame.color_type.samples(), bytes })
}

fn same_pixels(left: &Pixels, right: &Pixels) -> Result<()> {
    if left.size != right.size || left.channels != right.channels {
        bail!("{:?} pixels of {} channels, now {:?} of {}", left.size, left.channels, right.size, right.channels);
    }
    let pairs = left.bytes.chunks(left.channels).zip(right.bytes.chunks(right.channels));
    let other = pairs.filter(|(left, right)| left.iter().zip(*right).any(|(a, b)| a.abs_diff(*b) > SHADE)).count();
    let share = other as f64 / f64::from(left.size.0 * left.size.1);
    ensure!(share <= SHARE, "{:.1} % of the pixels differ, at most {:.0} %", 100.0 * share, 100.0 * SHARE);
    Ok(())
}

fn same_drawing(left: &str, right: &str) -> Result<()> {
    let (left, right) = (tokens(left), tokens(right));
    ensure!(left.len() == right.len(), "{} words and numbers, now {}", left.len(), right.len());
    for (a, b) in left.iter().zip(&right) {
        let close = match (a.parse::<f64>(), b.parse::<f64>()) {
            (Ok(a), Ok(b)) => (a - b).abs() <= COORDINATE,
            _ => a == b,
        };
        ensure!(close, "{a} has become {b}");
    }
    Ok(())
}

/// A drawing as words and numbers.
fn tokens(text: &str) -> Vec<&str> {
    let number = |character: char| character.is_ascii_digit() || character == '.' || character == '-';
    let mut found = Vec::new();
    for word in text.split_whitespace() {
        let mut rest = word;
        while let Some(first) = rest.chars().next() {
            let end = rest.find(|character| number(character) != number(first)).unwrap_or(rest.len());
            found.push(&rest[..end]);
            rest = &rest[end..];
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    fn grey(bytes: Vec<u8>) -> Pixels {
        Pixels { size: (bytes.len() as u32, 1), channels: 1, bytes }
    }

    #[test]
    fn shades_pass_and_contents_do_not() {
        let paper = vec![250; 100];
        assert!(same_pixels(&grey(paper.clone()), &grey(vec![230; 100])).is_ok());
        let mut written = paper.clone();
        written[10..14].fill(0);
        assert!(same_pixels(&grey(paper.clone()), &grey(written)).is_err());
        assert!(same_pixels(&grey(paper), &grey(vec![250; 99])).is_err());
    }

    #[test]
    fn coordinates_may_round_and_words_may_not_change() {
        let drawn = "<path d=\"M10.25,3L4,5\"/><text>least film 0.16</text>";
        assert!(same_drawing(drawn, &drawn.replace("10.25", "10.26")).is_ok());
        assert!(same_drawing(drawn, &drawn.replace("10.25", "11.25")).is_err());
        assert!(same_drawing(drawn, &drawn.replace("least", "mean")).is_err());
        assert!(same_drawing(drawn, &drawn.replace("L4,5", "")).is_err());
    }
}
