//! The close-up of a page, redrawn at every keystroke.

use divan::{Bencher, black_box};
use halfmicron::{case, solve};
use halfmicron_report::chart::Style;
use halfmicron_report::drawing::{Exaggeration, ViewWanted, view};

const BRINE: &str = include_str!("../../../cases/brine-booster.toml");
/// Two bodies shrunk together: the ring with most nodes.
const NITROGEN: &str = include_str!("../../../cases/nitrogen-pump.toml");

fn main() {
    divan::main();
}

/// Temperatures and deformed faces of a solved duty (target 5 ms).
#[divan::bench(args = ["brine", "nitrogen"])]
fn hot_view(bencher: Bencher, name: &str) {
    let text = if name == "brine" { BRINE } else { NITROGEN };
    let model = case::parse(text).and_then(|case| case.model()).expect("a shipped case");
    let outcome = solve(&model, &["normal".to_owned()]).expect("solved");
    let wanted = ViewWanted {
        units: Default::default(),
        temperature: true,
        deformed: Some(Exaggeration::Automatic),
        style: Style::Page,
        size_px: [704.0, 340.0],
    };
    eprintln!("{}: {} bytes", model.title, view(&model, outcome.duties.first(), &wanted).expect("a view").svg.len());
    bencher.bench_local(|| black_box(view(&model, outcome.duties.first(), &wanted)));
}
