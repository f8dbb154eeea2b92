//! The table of a study, and whether it meets its demands.

use std::collections::BTreeMap;

use super::judge::{Finding, Kind};

/// What a study must meet.
pub struct Demands {
    /// Share of duties that must be solved.
    least_solved: f64,
    /// Greatest share of duties that may end without convergence.
    most_unconverged: f64,
    /// The slowest hundredth may take so many times the median.
    slowest_over_median: f64,
}

/// Of seals with plain faces.
pub const PLAIN: Demands = Demands { least_solved: 0.85, most_unconverged: 0.005, slowest_over_median: 20.0 };
/// Of textured faces: films that would boil or condense are refused by name, and most are films at a given gap.
pub const TEXTURED: Demands = Demands { least_solved: 0.7, most_unconverged: 0.01, slowest_over_median: f64::INFINITY };
/// Case numbers shown of each cause.
const SHOWN: usize = 6;

/// Prints the study; the demands it breaks, in words.
pub fn print(findings: &[Finding], cases: u64, wanted: &Demands) -> Vec<String> {
    let total = findings.len().max(1) as f64;
    println!("{cases} cases, {} duty points\n", findings.len());
    for kind in Kind::ALL {
        let of_kind: Vec<&Finding> = findings.iter().filter(|finding| finding.kind == kind).collect();
        println!("{:<22} {:>7}  {:>6.2} %", kind.words(), of_kind.len(), 100.0 * of_kind.len() as f64 / total);
        let mut causes: BTreeMap<String, Vec<&Finding>> = BTreeMap::new();
        for finding in of_kind {
            causes.entry(stem(&finding.reason)).or_default().push(finding);
        }
        let mut causes: Vec<(String, Vec<&Finding>)> = causes.into_iter().collect();
        causes.sort_by_key(|(_, found)| usize::MAX - found.len());
        for (cause, found) in causes.iter().filter(|_| kind != Kind::Solved) {
            println!("  {:>6}  {cause}", found.len());
            println!("          cases {}", numbers(found));
        }
    }
    let several = findings.iter().filter(|finding| finding.equilibria > 1).count();
    println!("\nseveral equilibria: {several}");
    by_duty(findings);
    balances(findings);
    let times = times(findings);
    let broken = broken(findings);
    demands(findings, total, times, broken, wanted)
}

/// Every duty point in a row, so that two studies can be compared point by point: tabs between, time in milliseconds.
pub fn rows(findings: &[Finding]) -> String {
    let mut out = "case\tduty\tkind\ttime_ms\tfilms\tequilibria\treason\n".to_owned();
    for f in findings {
        let reason = f.reason.lines().next().unwrap_or_default();
        out +=
            &format!("{}\t{}\t{}\t{:.3}\t{}\t{}\t{reason}\n", f.case, f.duty, f.kind.words(), 1e3 * f.seconds, f.film_solves, f.equilibria);
    }
    out
}

fn numbers(found: &[&Finding]) -> String {
    let some: Vec<String> = found.iter().take(SHOWN).map(|finding| format!("{} ({})", finding.case, finding.duty)).collect();
    let more = if found.len() > SHOWN { ", ..." } else { "" };
    format!("{}{more}", some.join(", "))
}

fn by_duty(findings: &[Finding]) {
    let mut duties: BTreeMap<&str, [usize; 2]> = BTreeMap::new();
    for finding in findings {
        let entry = duties.entry(&finding.duty).or_default();
        entry[0] += 1;
        entry[1] += usize::from(finding.kind == Kind::Solved);
    }
    println!("\nsolved by duty");
    for (name, [all, solved]) in duties {
        println!(
            "  {:<26} {:>6} of {all:>6}  {:>5.1} %",
            if name.is_empty() { "(none)" } else { name },
            solved,
            100.0 * solved as f64 / all as f64
        );
    }
}

fn balances(findings: &[Finding]) {
    println!("\nworst balances");
    for (index, what) in ["mass", "force", "heat"].into_iter().enumerate() {
        let worst = findings.iter().filter_map(|finding| Some((finding.balances?[index], finding))).max_by(|a, b| a.0.total_cmp(&b.0));
        if let Some((residual, finding)) = worst {
            println!("  {what:<6} {residual:.1e}  case {} ({})", finding.case, finding.duty);
        }
    }
}

/// Median and mean of the slowest hundredth, s.
fn times(findings: &[Finding]) -> [f64; 2] {
    let mut sorted: Vec<&Finding> = findings.iter().filter(|finding| finding.seconds > 0.0).collect();
    sorted.sort_by(|a, b| a.seconds.total_cmp(&b.seconds));
    let Some(middle) = sorted.get(sorted.len() / 2) else { return [0.0; 2] };
    let slowest = &sorted[sorted.len() - sorted.len().div_ceil(100)..];
    let mean = slowest.iter().map(|finding| finding.seconds).sum::<f64>() / slowest.len() as f64;
    println!(
        "\ntime of a duty point: median {:.1} ms, slowest hundredth from {:.1} ms, {:.1} ms on average ({:.1} medians), longest {:.1} ms",
        1e3 * middle.seconds,
        1e3 * slowest[0].seconds,
        1e3 * mean,
        mean / middle.seconds,
        1e3 * slowest[slowest.len() - 1].seconds
    );
    let last: Vec<String> =
        slowest.iter().rev().take(SHOWN).map(|f| format!("{} ({}, {}, {} films)", f.case, f.duty, f.kind.words(), f.film_solves)).collect();
    println!("  slowest: {}", last.join(", "));
    [middle.seconds, mean]
}

fn broken(findings: &[Finding]) -> usize {
    let mut causes: BTreeMap<String, Vec<&Finding>> = BTreeMap::new();
    for finding in findings {
        for words in &finding.broken {
            causes.entry(stem(words)).or_default().push(finding);
        }
    }
    println!("\nclaims not borne out: {}", causes.values().map(Vec::len).sum::<usize>());
    for (cause, found) in &causes {
        println!("  {:>6}  {cause}\n          cases {}", found.len(), numbers(found));
    }
    findings.iter().filter(|finding| !finding.broken.is_empty()).count()
}

fn demands(findings: &[Finding], total: f64, [median, slowest]: [f64; 2], broken: usize, wanted: &Demands) -> Vec<String> {
    let count = |kind| findings.iter().filter(|finding| finding.kind == kind).count();
    let mut missed = Vec::new();
    let solved = count(Kind::Solved) as f64 / total;
    if solved < wanted.least_solved {
        missed.push(format!("{:.2} % are solved, {:.0} % must be", 100.0 * solved, 100.0 * wanted.least_solved));
    }
    let lost = count(Kind::NotConverged) as f64 / total;
    if lost > wanted.most_unconverged {
        missed.push(format!("{:.2} % did not converge, {} % may", 100.0 * lost, 100.0 * wanted.most_unconverged));
    }
    for kind in [Kind::Panic, Kind::Refused] {
        if count(kind) > 0 {
            missed.push(format!("{} {}", count(kind), kind.words()));
        }
    }
    if broken > 0 {
        missed.push(format!("{broken} duty points claim what their numbers do not bear out"));
    }
    if slowest > wanted.slowest_over_median * median {
        missed.push(format!("the slowest hundredth takes {:.1} medians, {} may be", slowest / median, wanted.slowest_over_median));
    }
    missed
}

/// A message without its numbers, so that equal causes fall together.
fn stem(message: &str) -> String {
    let mut out = String::new();
    let mut inside = false;
    let characters: Vec<char> = message.lines().next().unwrap_or_default().chars().collect();
    for (at, &c) in characters.iter().enumerate() {
        let next_is_digit = characters.get(at + 1).is_some_and(char::is_ascii_digit);
        let number = c.is_ascii_digit() || (inside && matches!(c, '.' | 'e' | 'E')) || (c == '-' && next_is_digit);
        if number && !inside {
            out.push('#');
        }
        if !number {
            out.push(c);
        }
        inside = number;
    }
    let short: String = out.chars().take(230).collect();
    short.trim().to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn messages_fall_together_without_their_numbers() {
        assert_eq!(stem("at -12.3 degC and 1.5e-3 MPa"), "at # degC and # MPa");
        assert_eq!(stem("force 1e5 N.\nmore"), "force # N.");
    }

    #[test]
    fn a_study_that_misses_its_demands_says_which() {
        let finding = |kind| Finding {
            case: 0,
            duty: "normal".to_owned(),
            kind,
            reason: "why".to_owned(),
            broken: Vec::new(),
            balances: None,
            seconds: 0.01,
            film_solves: 1,
            equilibria: 0,
        };
        let good = vec![finding(Kind::Solved); 100];
        assert!(print(&good, 100, &PLAIN).is_empty());
        let lost = [vec![finding(Kind::NotConverged)], good.clone()].concat();
        assert_eq!(print(&lost, 101, &PLAIN).len(), 1);
        assert!(print(&lost, 101, &TEXTURED).is_empty(), "one in a hundred may");
        let panicked = [vec![finding(Kind::Panic)], good.clone()].concat();
        assert_eq!(print(&panicked, 101, &PLAIN).len(), 1);
        let slow = [vec![Finding { seconds: 1.0, ..finding(Kind::Solved) }], good].concat();
        assert_eq!(print(&slow, 101, &PLAIN).len(), 1);
    }
}
