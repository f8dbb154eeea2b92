//! A chart in words, for those who do not see it.

use halfmicron::sheet::Chart;
use halfmicron::sheet::chart::{ChartKind, On, Series};
use halfmicron::sheet::rounding::significant;

/// Its title with the duty.
pub(super) fn title(chart: &Chart) -> String {
    match &chart.duty {
        Some(duty) => format!("{}, {duty}", chart.title),
        None => chart.title.clone(),
    }
}

/// What its curves say.
pub(super) fn description(chart: &Chart) -> String {
    let mut sentences: Vec<String> = match chart.kind {
        ChartKind::Bars => chart.bars.iter().enumerate().map(|(bar, name)| bar_in_words(chart, bar, name)).collect(),
        ChartKind::Profile => {
            chart.series.iter().map(|series| curve(series, &series.up, &series.across, [&chart.up, &chart.across])).collect()
        }
        ChartKind::Sweep | ChartKind::Around => {
            chart.series.iter().map(|series| curve(series, &series.across, &series.up, [&chart.across, &chart.up])).collect()
        }
    };
    sentences.extend(chart.limits.iter().map(|limit| limit.label.clone()));
    sentences.extend(chart.marks.iter().map(|mark| {
        let axis = if mark.on == On::Across { &chart.across } else { &chart.up };
        format!("{} at {} {}", mark.label, axis.label, amount(mark.value, &axis.unit))
    }));
    sentences.extend((!chart.note.is_empty()).then(|| chart.note.clone()));
    sentences.iter().map(|sentence| format!("{sentence}.")).collect::<Vec<_>>().join(" ")
}

fn amount(value: f64, unit: &str) -> String {
    format!("{} {unit}", significant(value, 4)).trim_end().to_owned()
}

fn curve(series: &Series, along: &[Option<f64>], value: &[Option<f64>], [axis, of]: [&halfmicron::sheet::chart::Axis; 2]) -> String {
    let points: Vec<(f64, f64)> = along.iter().zip(value).filter_map(|(along, value)| Some(((*along)?, (*value)?))).collect();
    let at = |(along, value): &(f64, f64)| format!("{} at {} {}", amount(*value, &of.unit), axis.label, amount(*along, &axis.unit));
    let extreme = |greatest: bool| {
        let order = |a: &&(f64, f64), b: &&(f64, f64)| if greatest { a.1.total_cmp(&b.1) } else { b.1.total_cmp(&a.1) };
        points.iter().max_by(order).map(at).unwrap_or_default()
    };
    match points.len() {
        0 => format!("{}: no values", series.label),
        1 => format!("{}: {}", series.label, at(&points[0])),
        _ => format!("{}: least {}, greatest {}", series.label, extreme(false), extreme(true)),
    }
}

fn bar_in_words(chart: &Chart, bar: usize, name: &str) -> String {
    let part = |series: &Series| {
        let value = series.across.get(bar).copied().flatten()?;
        Some(format!("{} {}", series.label, amount(value, &chart.across.unit)))
    };
    let parts: Vec<String> = chart.series.iter().filter_map(part).collect();
    if parts.is_empty() { format!("{name}: no result") } else { format!("{name}: {}", parts.join(", ")) }
}
