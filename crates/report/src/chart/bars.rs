//! Bars of parts, one a duty.

use halfmicron::sheet::chart::{Chart, Role};

use super::boxes::{Rect, text_width};
use super::key::{Fill, Key, Sample, row};
use super::style::{Paint, text_size, typeset_unit};
use super::ticks::Ticks;
use super::write::{ABOVE, Hold, Svg, Weight};
use super::{Placing, words};
use crate::digits::number;

/// Greatest height of a bar, px.
const TALLEST: f64 = 22.0;
/// Width below which the names of bars stand above them.
const NARROW: f64 = 330.0;

struct Bars<'a> {
    chart: &'a Chart,
    size: f64,
    frame: Rect,
    low: f64,
    high: f64,
    names_above: bool,
}

/// The chart as SVG.
pub(super) fn svg(chart: &Chart, placing: &Placing) -> String {
    let size = text_size(placing.style);
    let parts: Vec<(Sample, String)> = chart.series.iter().map(|part| (Sample::Area(fill(part.role)), part.label.clone())).collect();
    let key = Key::new(&parts, placing.width_px, size);
    let names_above = placing.width_px < NARROW;
    let names = chart.bars.iter().map(|name| text_width(name, size)).fold(0.0, f64::max);
    let top = row(size) + key.height + 8.0;
    let left = if names_above { 1.0 } else { (names + 10.0).min(0.4 * placing.width_px) };
    let frame = Rect {
        left,
        top,
        right: (placing.width_px - 0.9 * size).max(left + 2.0),
        bottom: (placing.height_px - row(size) - 6.0).max(top + 2.0),
    };
    let (low, high) = (chart.across.low.min(0.0), chart.across.high.max(0.0));
    let sound = low.is_finite() && high.is_finite() && low < high;
    let (low, high) = if sound { (1.04 * low, 1.04 * high) } else { (0.0, 1.0) };
    // Numbers stand behind their bars, where there is room for both.
    let numbers = (0..chart.bars.len()).map(|bar| text_width(&numbers(chart, &values(chart, bar)), size)).fold(0.0, f64::max) + 10.0;
    let high = if numbers < 0.5 * frame.width() { high * frame.width() / (frame.width() - numbers) } else { high };
    let bars = Bars { chart, size, frame, low, high, names_above };

    let data = format!(
        " data-across-low=\"{low}\" data-across-high=\"{high}\" data-across-left=\"{}\" data-across-right=\"{}\"",
        number(frame.left),
        number(frame.right)
    );
    let mut svg = Svg::open(placing, &words::title(chart), &words::description(chart), &data);
    let ticks = bars.draw_axis(&mut svg);
    svg.heading(&chart.title, &ticks.unit(&typeset_unit(&chart.across.unit)), [0.0, row(size) - 0.3 * size]);
    key.draw(&mut svg, 0.0, row(size) + 2.0);
    for bar in 0..chart.bars.len() {
        bars.draw_bar(&mut svg, bar);
    }
    svg.close()
}

fn fill(role: Role) -> Fill {
    match role {
        Role::Rotating => Fill::Full,
        Role::Stationary => Fill::Hatched,
        _ => Fill::Open,
    }
}

/// The parts that a bar has.
fn values(chart: &Chart, bar: usize) -> Vec<(Role, f64)> {
    chart.series.iter().filter_map(|part| Some((part.role, part.across.get(bar).copied().flatten()?))).collect()
}

/// The parts as a sum, each with the digits that three of the greatest part of all bars have.
fn numbers(chart: &Chart, values: &[(Role, f64)]) -> String {
    let all = chart.series.iter().flat_map(|part| part.across.iter().flatten());
    let greatest = all.map(|value| value.abs()).fold(0.0, f64::max);
    if greatest == 0.0 || !greatest.is_finite() {
        return "0".to_owned();
    }
    let decimals = (2 - greatest.log10().floor() as i32).clamp(0, 9) as usize;
    let rounded = |value: &f64| format!("{value:.decimals$}");
    let nothing = |text: &String| text.chars().all(|c| matches!(c, '0' | '.' | '-'));
    let shown = values.iter().map(|(_, value)| rounded(value)).map(|text| if nothing(&text) { "0".to_owned() } else { text });
    let shown: Vec<String> = shown.collect();
    if shown.iter().all(|text| text == "0") {
        "0".to_owned()
    } else {
        shown.join(" + ").replace("+ -", "\u{2212} ").replace('-', "\u{2212}")
    }
}

impl Bars<'_> {
    fn x(&self, value: f64) -> f64 {
        self.frame.left + (value - self.low) / (self.high - self.low) * self.frame.width()
    }

    fn draw_axis(&self, svg: &mut Svg) -> Ticks {
        let Rect { top, bottom, .. } = self.frame;
        let mut count = ((self.frame.width() / (4.0 * self.size)) as usize).clamp(2, 10);
        let mut ticks = Ticks::between(self.low, self.high, count);
        let crowded = |ticks: &Ticks| {
            let at = |k: usize| (self.x(ticks.marks[k].0), 0.5 * text_width(&ticks.marks[k].1, self.size));
            (1..ticks.marks.len()).any(|k| at(k).0 - at(k).1 < at(k - 1).0 + at(k - 1).1 + 0.6 * self.size)
        };
        while count > 1 && crowded(&ticks) {
            count -= 1;
            ticks = Ticks::between(self.low, self.high, count);
        }
        let lines: Vec<[[f64; 2]; 2]> = ticks.marks.iter().map(|(value, _)| self.x(*value)).map(|x| [[x, top], [x, bottom]]).collect();
        svg.open_group("grid");
        svg.hairs(Paint::Rule, &lines);
        svg.close_group();
        svg.open_group("axes");
        for (value, text) in &ticks.marks {
            let half = 0.5 * text_width(text, self.size);
            let x = self.x(*value).max(half);
            svg.words(text, [x, bottom + row(self.size)], Hold::Middle, Weight::Soft);
        }
        svg.hairs(Paint::Ink, &[[[self.x(0.0), top], [self.x(0.0), bottom]]]);
        svg.close_group();
        ticks
    }

    fn draw_bar(&self, svg: &mut Svg, bar: usize) {
        let size = self.size;
        let pitch = (self.frame.bottom - self.frame.top) / self.chart.bars.len() as f64;
        let name_height = if self.names_above { row(size) } else { 0.0 };
        let tall = (pitch - name_height - 5.0).clamp(3.0, TALLEST);
        let top = self.frame.top + pitch * bar as f64 + 0.5 * (pitch - tall - name_height);
        let name = &self.chart.bars[bar];
        if self.names_above {
            svg.words(name, [0.0, top + ABOVE * size], Hold::Start, Weight::Plain);
        } else {
            svg.words(name, [self.frame.left - 8.0, top + 0.5 * tall + (ABOVE - 0.42) * size], Hold::End, Weight::Plain);
        }
        let rect = |from: f64, to: f64| {
            let (from, to) = (self.x(from), self.x(to));
            Rect { left: from.min(to), top: top + name_height, right: from.max(to), bottom: top + name_height + tall }
        };
        let baseline = top + name_height + 0.5 * tall + (ABOVE - 0.42) * size;
        let values = values(self.chart, bar);
        if values.is_empty() {
            svg.words("no result", [self.x(0.0) + 5.0, baseline], Hold::Start, Weight::Soft);
            return;
        }
        svg.open_group("bar");
        let mut ends = [0.0; 2];
        for (role, value) in &values {
            let end = &mut ends[usize::from(*value < 0.0)];
            let part = rect(*end, *end + value);
            *end += value;
            if part.width() >= 0.3 {
                fill(*role).draw(svg, &part);
            }
        }
        let numbers = numbers(self.chart, &values);
        let beside = self.x(ends[0]) + 6.0;
        if beside + text_width(&numbers, size) <= self.frame.right {
            svg.words(&numbers, [beside, baseline], Hold::Start, Weight::Soft);
        }
        svg.close_group();
    }
}
