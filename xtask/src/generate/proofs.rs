//! Tables of the published checks, as `halfmicron prove` computes them.
//!
//! They show how much of its tolerance each difference uses, in coarse steps: the last bits differ between processors, and a table that
//! changed with the machine could not be compared.

use anyhow::{Context, Result, ensure};
use serde::Deserialize;

use super::program::says;
use super::reference::cell;

/// One compared quantity, with the keys of `halfmicron prove --format json`. A value that could not be computed is null.
#[derive(Debug, Clone, Deserialize)]
struct Line {
    id: String,
    title: String,
    source: String,
    quantity: String,
    unit: String,
    expected: f64,
    difference: Option<f64>,
    tolerance: f64,
    tolerance_reason: String,
    verdict: String,
    kind: String,
    from_memory: bool,
    note: String,
}

/// Kinds in the order of their weight, with heading and meaning.
const KINDS: &[(&str, &str, &str)] = &[
    ("proof", "Proofs", "the shipped model against an exact solution or a published number"),
    (
        "comparison",
        "Comparisons",
        "the shipped model against a coarser theory or a measurement: they show the size of the difference and prove nothing",
    ),
    ("arithmetic", "Arithmetic", "a formula against its own digits: guards against slips, never a proof of a model"),
];

/// Every quantity, for `docs/checks.md`.
pub fn page() -> Result<String> {
    let lines = lines()?;
    let mut page = String::from(
        "# Published checks\n\n<!-- Written by `cargo xtask generate`; do not edit. -->\n\nThe same code runs in the tests and as `halfmicron prove`. Each check is also run with a \
         distorted input, which every quantity must notice. *From memory* means that the expected value was recalled, not read in its source.\n",
    );
    for (kind, heading, meaning) in KINDS {
        page += &format!("\n## {heading}\n\n{}.\n", capital(meaning));
        for check in checks(&lines, kind) {
            page += &check_section(&check);
        }
    }
    Ok(page)
}

/// One line a check, for the README.
pub fn summary() -> Result<String> {
    let lines = lines()?;
    let mut summary = String::new();
    for (kind, heading, meaning) in KINDS {
        let checks = checks(&lines, kind);
        if checks.is_empty() {
            continue;
        }
        summary += &format!("**{heading}**: {meaning}.\n\n| Check | What | Quantities | Verdict |\n|---|---|---|---|\n");
        for check in checks {
            let disagree = check.iter().filter(|line| line.verdict != "agrees").count();
            let verdict = if disagree == 0 {
                "agrees".to_string()
            } else {
                format!("**{disagree} of {} off by more than the tolerance**", check.len())
            };
            let memory = if check[0].from_memory { " (from memory)" } else { "" };
            summary += &format!("| {} | {}{memory} | {} | {verdict} |\n", check[0].id, cell(&check[0].title), check.len());
        }
        summary.push('\n');
    }
    Ok(summary)
}

fn lines() -> Result<Vec<Line>> {
    let lines: Vec<Line> =
        serde_json::from_str(&says(&["prove", "--format", "json"])?).context("the answer of `halfmicron prove` has other keys")?;
    ensure!(!lines.is_empty(), "no check was run");
    if let Some(line) = lines.iter().find(|line| KINDS.iter().all(|(kind, ..)| *kind != line.kind)) {
        anyhow::bail!("check {} is of the unknown kind {}", line.id, line.kind);
    }
    Ok(lines)
}

/// Lines of that kind, grouped by check.
fn checks(lines: &[Line], kind: &str) -> Vec<Vec<Line>> {
    let of_kind: Vec<Line> = lines.iter().filter(|line| line.kind == kind).cloned().collect();
    of_kind.chunk_by(|a, b| a.id == b.id && a.title == b.title).map(<[Line]>::to_vec).collect()
}

fn check_section(check: &[Line]) -> String {
    let first = &check[0];
    let memory = if first.from_memory { " *From memory.*" } else { "" };
    let mut section = format!(
        "\n### {}: {}\n\n{}{memory}\n\n| Quantity | Expected | Tolerance | Difference | Verdict |\n|---|---|---|---|---|\n",
        first.id,
        first.title,
        sentence(&first.source)
    );
    for line in check {
        section += &format!(
            "| {} | {} {} | {}: {} | {} | {} |\n",
            cell(&line.quantity),
            figure(line.expected),
            line.unit,
            tolerance(line),
            cell(&line.tolerance_reason),
            share_of_tolerance(line),
            line.verdict
        );
    }
    let mut notes: Vec<&str> = check.iter().map(|line| line.note.as_str()).filter(|note| !note.is_empty()).collect();
    notes.dedup();
    for note in notes {
        section += &format!("\n{}\n", sentence(note));
    }
    section
}

fn share_of_tolerance(line: &Line) -> &'static str {
    let Some(difference) = line.difference else { return "not computed" };
    let share = difference.abs() / line.tolerance;
    match share {
        _ if share < 0.01 => "below 1 % of it",
        _ if share < 0.1 => "below 10 % of it",
        _ if share < 0.5 => "below half of it",
        _ if share <= 1.0 => "within it",
        _ => "beyond it",
    }
}

fn tolerance(line: &Line) -> String {
    let relative = line.tolerance / line.expected.abs();
    match relative {
        _ if !relative.is_finite() => format!("{:.0e} {}", line.tolerance, line.unit),
        _ if relative >= 0.9e-3 => format!("{} %", figure((relative * 1e5).round() / 1e3)),
        _ => format!("{relative:.0e} of it"),
    }
}

/// Up to seven digits, without trailing zeros.
fn figure(value: f64) -> String {
    let magnitude = value.abs();
    if magnitude != 0.0 && !(1e-3..1e6).contains(&magnitude) {
        let (digits, exponent) = format!("{value:.6e}").split_once('e').map(|(a, b)| (a.to_string(), b.to_string())).unwrap_or_default();
        return format!("{}e{exponent}", trimmed(&digits));
    }
    let decimals = if magnitude == 0.0 { 0 } else { (6 - magnitude.log10().floor() as i32).max(0) as usize };
    trimmed(&format!("{value:.decimals$}")).to_string()
}

fn trimmed(digits: &str) -> &str {
    if digits.contains('.') { digits.trim_end_matches('0').trim_end_matches('.') } else { digits }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

fn sentence(text: &str) -> String {
    let text = capital(text.trim());
    if text.ends_with('.') { text } else { text + "." }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(expected: f64, difference: Option<f64>, tolerance: f64) -> Line {
        Line {
            id: "F1".into(),
            title: "t".into(),
            source: "s".into(),
            quantity: "q".into(),
            unit: "N".into(),
            expected,
            difference,
            tolerance,
            tolerance_reason: "r".into(),
            verdict: "agrees".into(),
            kind: "proof".into(),
            from_memory: false,
            note: String::new(),
        }
    }

    #[test]
    fn figures_keep_seven_digits() {
        assert_eq!(figure(1186.71465), "1186.715");
        assert_eq!(figure(0.5383447), "0.5383447");
        assert_eq!(figure(4.535591e-9), "4.535591e-9");
        assert_eq!(figure(0.0), "0");
        assert_eq!(figure(12000.0), "12000");
        assert_eq!(figure(-2.5e8), "-2.5e8");
    }

    #[test]
    fn differences_are_told_in_shares_of_the_tolerance() {
        assert_eq!(share_of_tolerance(&line(1.0, Some(-0.4), 1.0)), "below half of it");
        assert_eq!(share_of_tolerance(&line(1.0, Some(1.1), 1.0)), "beyond it");
        assert_eq!(share_of_tolerance(&line(1.0, None, 1.0)), "not computed");
        assert_eq!(tolerance(&line(200.0, None, 1.0)), "0.5 %");
        assert_eq!(tolerance(&line(200.0, None, 2e-4)), "1e-6 of it");
        assert_eq!(tolerance(&line(0.0, None, 2e-4)), "2e-4 N");
    }
}
