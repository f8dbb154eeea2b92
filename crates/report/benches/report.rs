//! The report of a solved case: what a reader waits for between the result and the file.

use divan::{Bencher, black_box};
use halfmicron::sheet::{UnitSet, sheet};
use halfmicron::{case, solve};
use halfmicron_report::report::{Kind, Paper, Subject, TitleBlock, report};

const BRINE: &str = include_str!("../../../cases/brine-booster.toml");

fn main() {
    divan::main();
}

/// Six duties, as PDF without anything that the typesetter remembers (target 1 s), and as HTML.
#[divan::bench(args = ["pdf", "html"], sample_count = 10)]
fn brine(bencher: Bencher, kind: &str) {
    let model = case::parse(BRINE).and_then(|case| case.model()).expect("a shipped case");
    let outcome = solve(&model, &[]).expect("solved");
    let sheet = sheet(&model, &outcome, UnitSet::Si);
    let subject = Subject { model: &model, outcome: &outcome, sheet: &sheet, case_text: BRINE };
    let kind = if kind == "pdf" { Kind::Pdf } else { Kind::Html };
    bencher.bench_local(|| {
        typst::comemo::evict(0);
        black_box(report(&subject, &TitleBlock::default(), kind, Paper::A4))
    });
}
