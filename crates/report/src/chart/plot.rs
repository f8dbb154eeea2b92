//! Curves in a frame: profiles with radius upward, and sweeps.

use halfmicron::sheet::chart::{Axis, Chart, ChartKind, Forbidden, LimitLine, Mark, On, Role, Series};

use super::boxes::{Rect, runs, text_width};
use super::key::{Key, Sample, row};
use super::labels::{Field, Line, Placed, wrapped};
use super::style::{Paint, Pen, class, dot, hair, joined, pen, text_size, typeset_unit, typeset_words};
use super::ticks::Ticks;
use super::write::{ABOVE, Hold, Svg, Weight, strong_width};
use super::{Placing, words};
use crate::digits::number;

/// A linear scale from values to px.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Scale {
    low: f64,
    high: f64,
    low_px: f64,
    high_px: f64,
    logarithmic: bool,
}

impl Scale {
    fn px(&self, value: f64) -> f64 {
        let share = if self.logarithmic {
            (value / self.low).ln() / (self.high / self.low).ln()
        } else {
            // Halves do not overflow.
            (0.5 * value - 0.5 * self.low) / (0.5 * self.high - 0.5 * self.low)
        };
        self.low_px + share * (self.high_px - self.low_px)
    }
}

/// Least length of an axis over its greatest value: six digits draw no smaller differences.
const LEAST_SPAN: f64 = 1e-3;
/// Air at the ends of an axis, in lengths of what is shown.
const AIR: f64 = 0.06;

/// The ends of an axis as it is drawn: with air, and with a length where all values are one.
fn drawn(axis: &Axis, held: Option<&Axis>, airy: bool) -> [f64; 2] {
    let finite = |axis: &&Axis| axis.low.is_finite() && axis.high.is_finite() && axis.low <= axis.high;
    let ends = [Some(axis), held].into_iter().flatten().filter(finite);
    let ends = ends.fold(None, |ends: Option<[f64; 2]>, axis| {
        Some(ends.map_or([axis.low, axis.high], |[low, high]| [low.min(axis.low), high.max(axis.high)]))
    });
    let Some([low, high]) = ends else { return [0.0, 1.0] };
    let (greatest, span) = (low.abs().max(high.abs()), high - low);
    if span == 0.0 {
        let about = if greatest > 0.0 { 0.1 * greatest } else { 1.0 };
        return [low - about, high + about];
    }
    if span < LEAST_SPAN * greatest {
        let middle = 0.5 * low + 0.5 * high;
        return [middle - 0.5 * LEAST_SPAN * greatest, middle + 0.5 * LEAST_SPAN * greatest];
    }
    let air = if airy && span.is_finite() { AIR * span } else { 0.0 };
    // What begins at nothing stands on its axis.
    [if low == 0.0 { 0.0 } else { low - air }, if high == 0.0 { 0.0 } else { high + air }]
}

/// Greatest over least value up to which and from which a sweep may be drawn on decades.
const DECADES: [f64; 2] = [30.0, 1e9];

/// The ends of a logarithmic axis, for a sweep most of whose values a plain axis would press onto its foot.
fn on_decades(chart: &Chart, held: Option<&Chart>) -> Option<[f64; 2]> {
    if chart.kind != ChartKind::Sweep || chart.up.unit == "%" {
        return None;
    }
    let curves = chart.series.iter().chain(held.into_iter().flat_map(|held| &held.series));
    let limits = chart.limits.iter().filter(|limit| limit.on == On::Up).map(|limit| limit.value);
    let mut values: Vec<f64> = curves.flat_map(|series| series.up.iter().flatten().copied()).chain(limits).collect();
    values.sort_by(f64::total_cmp);
    let (least, middle, greatest) = (*values.first()?, values[values.len() / 2], *values.last()?);
    let spans = least > 0.0 && greatest.is_finite() && (DECADES[0]..DECADES[1]).contains(&(greatest / least));
    (spans && middle < greatest / 20.0).then(|| [least / 1.3, greatest * 1.3])
}

/// A chart laid out.
struct Plot<'a> {
    chart: &'a Chart,
    held: Option<&'a Chart>,
    placing: &'a Placing,
    size: f64,
    frame: Rect,
    across: Scale,
    up: Scale,
    across_ticks: Ticks,
    up_ticks: Ticks,
    key: Key,
    key_top: f64,
    notes: Vec<String>,
    heading: Vec<(String, String)>,
    heading_bottom: f64,
    labels: Vec<(Placed, Weight)>,
}

/// The chart as SVG.
pub(super) fn svg(chart: &Chart, held: Option<&Chart>, placing: &Placing) -> String {
    let mut plot = Plot::laid_out(chart, held, placing, &[]);
    let unplaced = plot.label();
    if !unplaced.is_empty() {
        plot = Plot::laid_out(chart, held, placing, &unplaced);
        plot.label();
    }
    plot.drawn()
}

impl<'a> Plot<'a> {
    fn laid_out(chart: &'a Chart, held: Option<&'a Chart>, placing: &'a Placing, keyed: &[(Sample, String)]) -> Self {
        let size = text_size(placing.style);
        let profile = chart.kind == ChartKind::Profile;
        let [width, height] = [placing.width_px, placing.height_px];
        let scale = placing.radius.filter(|_| profile).zip(mm_of(&chart.up.unit));
        let [low, high] = drawn(&chart.across, held.map(|held| &held.across), profile);
        let decades = on_decades(chart, held);
        let [bottom, top] = decades.unwrap_or_else(|| drawn(&chart.up, held.map(|held| &held.up), !profile));

        let count = most(0.75 * height / (2.4 * size));
        let up_ticks = if decades.is_some() { Ticks::logarithmic(bottom, top, count) } else { Ticks::between(bottom, top, count) };
        let numbers = up_ticks.marks.iter().map(|(_, text)| text_width(text, size)).fold(0.0, f64::max);
        let named = if profile { text_width(&format!("r {}", typeset_unit(&chart.up.unit)), size) } else { 0.0 };
        let left = if profile && !placing.radius_numbers { 3.0 } else { numbers.max(named) + 8.0 };
        let air = 0.9 * size;
        let across_ticks = across_ticks(low, high, width - air - left, size);
        // The last number may stand at the very end of the axis.
        let right = width - across_ticks.marks.last().map_or(air, |(_, text)| air.max(0.5 * text_width(text, size) + 1.0));
        let title_left = if profile { left } else { 0.0 };
        let unit =
            if profile { across_ticks.unit(&typeset_unit(&chart.across.unit)) } else { up_ticks.unit(&typeset_unit(&chart.up.unit)) };
        let unit = if decades.is_some() { format!("{unit}, log") } else { unit };
        let heading = heading(&chart.title, &unit, width - title_left, size);
        let heading_height = row(size) * heading.len() as f64;
        let key = Key::new(keyed, width - title_left, size);
        let notes = wrapped(&typeset_words(&chart.note), width - title_left, size);

        let below = row(size) * (if profile { 1.2 } else { 2.3 } + notes.len() as f64) + 3.0;
        let air = 0.6 * size;
        let mut frame = Rect { left, top: heading_height + key.height + air, right, bottom: height - below };
        let mut key_top = heading_height + 2.0;
        let mut heading_bottom = heading_height;
        if let Some((radius, mm)) = scale {
            (frame.top, frame.bottom) = (radius.y_px(top * mm), radius.y_px(bottom * mm));
            let room = frame.top - air;
            if room >= heading_height + key.height {
                (key_top, heading_bottom) = (room - key.height, room - key.height);
            } else {
                (key_top, heading_bottom) = (frame.bottom + below, room.max(heading_height));
            }
        }
        frame.bottom = frame.bottom.max(frame.top + 2.0);
        frame.right = frame.right.max(frame.left + 2.0);
        Self {
            chart,
            held,
            placing,
            size,
            across: Scale { low, high, low_px: frame.left, high_px: frame.right, logarithmic: false },
            up: Scale { low: bottom, high: top, low_px: frame.bottom, high_px: frame.top, logarithmic: decades.is_some() },
            frame,
            across_ticks,
            up_ticks,
            key,
            key_top,
            notes,
            heading,
            heading_bottom,
            labels: Vec::new(),
        }
    }

    fn profile(&self) -> bool {
        self.chart.kind == ChartKind::Profile
    }

    fn points(&self, series: &Series) -> Vec<Option<[f64; 2]>> {
        let point = |(across, up): (&Option<f64>, &Option<f64>)| {
            let point = [self.across.px((*across)?), self.up.px((*up)?)];
            point.iter().all(|px| px.is_finite()).then_some(point)
        };
        series.across.iter().zip(&series.up).map(point).collect()
    }

    /// The pieces of a series as they are drawn.
    fn line(&self, series: &Series) -> Line {
        let points = self.points(series);
        if joined(series.role) {
            return runs(&points, &self.frame);
        }
        points.into_iter().flatten().filter(|point| self.frame.has(*point)).map(|point| vec![point]).collect()
    }

    fn across_line(&self, on: On, value: f64) -> Option<[[f64; 2]; 2]> {
        let Rect { left, top, right, bottom } = self.frame;
        match on {
            On::Across => {
                let x = self.across.px(value);
                (left..=right).contains(&x).then_some([[x, bottom], [x, top]])
            }
            On::Up => {
                let y = self.up.px(value);
                (top..=bottom).contains(&y).then_some([[left, y], [right, y]])
            }
        }
    }

    /// Place every label; what found no place is returned for the key.
    fn label(&mut self) -> Vec<(Sample, String)> {
        let series_lines = self.chart.series.iter().map(|series| self.line(series));
        let straight =
            self.chart.limits.iter().map(|limit| (limit.on, limit.value)).chain(self.chart.marks.iter().map(|mark| (mark.on, mark.value)));
        let straight_lines = straight.map(|(on, value)| self.across_line(on, value).map(|line| vec![line.to_vec()]).unwrap_or_default());
        let held_lines = self.held.iter().flat_map(|held| &held.series).map(|series| self.line(series));
        let lines: Vec<Line> = series_lines.chain(straight_lines).chain(held_lines).collect();
        let mut field = Field::new(self.frame, lines, self.size);
        let mut unplaced = Vec::new();
        self.label_limits(&mut field, &mut unplaced);
        self.label_marks(&mut field, &mut unplaced);
        self.label_series(&mut field, &mut unplaced);
        self.label_held(&mut field, &mut unplaced);
        unplaced
    }

    fn keyed(&self) -> bool {
        self.key.height > 0.0
    }

    fn label_limits(&mut self, field: &mut Field, unplaced: &mut Vec<(Sample, String)>) {
        for limit in &self.chart.limits {
            let Some(line) = self.across_line(limit.on, limit.value) else { continue };
            let free_first = (limit.on == On::Up) == (limit.forbidden == Forbidden::Below);
            let words = typeset_words(&limit.label);
            let places = beside_straight(field, &words, line, free_first);
            match field.first_free(&words, &places) {
                Some(label) => self.labels.push((label, Weight::Plain)),
                None => unplaced.push((Sample::Line(self.limit_pen()), words)),
            }
        }
    }

    fn label_marks(&mut self, field: &mut Field, unplaced: &mut Vec<(Sample, String)>) {
        for mark in &self.chart.marks {
            let Some(line) = self.across_line(mark.on, mark.value) else { continue };
            let places = beside_straight(field, &mark.label, line, true);
            match field.first_free(&mark.label, &places) {
                Some(label) => self.labels.push((label, Weight::Soft)),
                None => unplaced.push((Sample::Line(self.mark_pen()), self.mark_in_words(mark))),
            }
        }
    }

    fn mark_in_words(&self, mark: &Mark) -> String {
        let axis = if mark.on == On::Across { &self.chart.across } else { &self.chart.up };
        format!("{} at {} {}", mark.label, halfmicron::sheet::rounding::significant(mark.value, 4), typeset_unit(&axis.unit))
            .trim_end()
            .to_owned()
    }

    /// Series are named beside their lines, or all of them in the key.
    fn label_series(&mut self, field: &mut Field, unplaced: &mut Vec<(Sample, String)>) {
        let named: Vec<usize> = (0..self.chart.series.len()).filter(|index| !field.lines[*index].is_empty()).collect();
        // The title names a curve that is alone.
        let titled = |index: &usize| self.chart.series[*index].label == self.chart.title;
        let named: Vec<usize> = named.into_iter().filter(|index| !titled(index)).collect();
        let share = if self.profile() { 0.7 } else { 0.6 };
        let mut placed = Vec::new();
        for index in &named {
            match field.beside(*index, &self.chart.series[*index].label, share) {
                Some(label) => placed.push((label, Weight::Plain)),
                None => break,
            }
        }
        if placed.len() == named.len() && !self.keyed_series(&named) {
            self.labels.extend(placed);
            return;
        }
        for index in named {
            let series = &self.chart.series[index];
            let pen = pen(series.role, self.placing.style);
            let sample = if joined(series.role) { Sample::Line(pen) } else { Sample::Dot(pen, dot(series.role)) };
            unplaced.push((sample, series.label.clone()));
        }
    }

    /// Whether the key already names the series: it was made since they had no room.
    fn keyed_series(&self, named: &[usize]) -> bool {
        self.keyed() && named.iter().any(|index| self.key.names(&self.chart.series[*index].label))
    }

    fn label_held(&mut self, field: &mut Field, unplaced: &mut Vec<(Sample, String)>) {
        let Some(held) = self.held else { return };
        let first = self.chart.series.len() + self.chart.limits.len() + self.chart.marks.len();
        let seen: Vec<usize> = (0..held.series.len()).filter(|index| !field.lines[first + index].is_empty()).collect();
        let Some(index) = seen.first() else { return };
        let label = seen.iter().find_map(|index| field.beside(first + index, "held", 0.35));
        match label {
            Some(label) => self.labels.push((label, Weight::Soft)),
            None => unplaced.push((Sample::Line(held_pen(held.series[*index].role, self)), "held".to_owned())),
        }
    }

    fn limit_pen(&self) -> Pen {
        pen(Role::Limit, self.placing.style)
    }

    fn mark_pen(&self) -> Pen {
        Pen { paint: Paint::Soft, width: 1.2 * hair(self.placing.style), dashes: "4 2 1 2" }
    }

    fn drawn(self) -> String {
        let title = words::title(self.chart);
        let mut svg = Svg::open(self.placing, &title, &words::description(self.chart), &self.data());
        self.draw_grid(&mut svg);
        self.draw_held(&mut svg);
        self.draw_straight(&mut svg);
        self.draw_series(&mut svg);
        self.draw_axes(&mut svg);
        svg.open_group("labels");
        for (label, weight) in &self.labels {
            svg.words_over(&label.text, label.start(self.size), *weight);
        }
        svg.close_group();
        svg.close()
    }

    /// What a page needs to place a cursor.
    fn data(&self) -> String {
        let ends = |scale: &Scale, [low, high]: [&str; 2], name: &str| {
            format!(
                " data-{name}-low=\"{}\" data-{name}-high=\"{}\" data-{name}-{low}=\"{}\" data-{name}-{high}=\"{}\"",
                scale.low,
                scale.high,
                number(scale.low_px),
                number(scale.high_px)
            )
        };
        let up = if self.profile() { "radius" } else { "up" };
        let scale = if self.up.logarithmic { " data-up-scale=\"log\"" } else { "" };
        ends(&self.across, ["left", "right"], "across") + &ends(&self.up, ["bottom", "top"], up) + scale
    }

    fn draw_grid(&self, svg: &mut Svg) {
        let Rect { left, top, right, bottom } = self.frame;
        let mut lines: Vec<[[f64; 2]; 2]> =
            self.across_ticks.marks.iter().map(|(value, _)| self.across.px(*value)).map(|x| [[x, top], [x, bottom]]).collect();
        if !self.profile() {
            lines.extend(self.up_ticks.marks.iter().map(|(value, _)| self.up.px(*value)).map(|y| [[left, y], [right, y]]));
        }
        svg.open_group("grid");
        svg.hairs(Paint::Rule, &lines);
        svg.close_group();
    }

    fn draw_held(&self, svg: &mut Svg) {
        let Some(held) = self.held else { return };
        svg.open_group("held");
        for series in &held.series {
            let pen = held_pen(series.role, self);
            if joined(series.role) {
                svg.broken_line(pen, &self.points(series), &self.frame);
            } else {
                self.line(series).iter().flatten().for_each(|point| svg.dot(pen, dot(series.role), *point));
            }
        }
        svg.close_group();
    }

    fn draw_straight(&self, svg: &mut Svg) {
        svg.open_group("limits");
        for limit in &self.chart.limits {
            if let Some(line) = self.across_line(limit.on, limit.value) {
                svg.lines(self.limit_pen(), &[line]);
                svg.hairs(Paint::Limit, &self.hatch(limit, line));
            }
        }
        let marks: Vec<[[f64; 2]; 2]> = self.chart.marks.iter().filter_map(|mark| self.across_line(mark.on, mark.value)).collect();
        svg.lines(self.mark_pen(), &marks);
        svg.close_group();
    }

    /// Short strokes on the side that a limit forbids.
    fn hatch(&self, limit: &LimitLine, [from, to]: [[f64; 2]; 2]) -> Vec<[[f64; 2]; 2]> {
        const APART: f64 = 8.0;
        const REACH: f64 = 4.0;
        let along = [to[0] - from[0], to[1] - from[1]];
        let length = along[0].hypot(along[1]);
        let away = match (limit.on, limit.forbidden) {
            (On::Across, Forbidden::Above) => [REACH, -REACH],
            (On::Across, Forbidden::Below) => [-REACH, REACH],
            (On::Up, Forbidden::Above) => [REACH, -REACH],
            (On::Up, Forbidden::Below) => [-REACH, REACH],
        };
        let stroke = |k: usize| {
            let share = (k as f64 + 0.5) * APART / length;
            let foot = [from[0] + share * along[0], from[1] + share * along[1]];
            super::boxes::clipped(foot, [foot[0] + away[0], foot[1] + away[1]], &self.frame)
        };
        (0..(length / APART) as usize).filter_map(stroke).collect()
    }

    fn draw_series(&self, svg: &mut Svg) {
        for series in &self.chart.series {
            let pen = pen(series.role, self.placing.style);
            svg.open_group(&format!("series {}", class(series.role)));
            if self.is_a_shape(series) {
                for run in self.line(series).iter().filter(|run| run.len() > 1) {
                    let foot = |point: Option<&[f64; 2]>| point.map(|point| [self.frame.left, point[1]]);
                    let shape: Vec<[f64; 2]> = foot(run.first()).into_iter().chain(run.iter().copied()).chain(foot(run.last())).collect();
                    svg.area(Paint::Film, 0.14, &shape);
                }
            }
            if joined(series.role) {
                svg.broken_line(pen, &self.points(series), &self.frame);
            } else {
                self.line(series).iter().flatten().for_each(|point| svg.dot(pen, dot(series.role), *point));
            }
            svg.close_group();
        }
    }

    /// The gap is the shape of the film: it is filled from the one face to the other.
    fn is_a_shape(&self, series: &Series) -> bool {
        self.profile() && self.chart.series.len() == 1 && series.role == Role::Film && self.across.low == 0.0
    }

    fn draw_axes(&self, svg: &mut Svg) {
        let Rect { left, top, right, bottom } = self.frame;
        svg.open_group("axes");
        svg.hairs(Paint::Ink, &[[[left, top], [left, bottom]], [[left, bottom], [right, bottom]]]);
        let ticks: Vec<[[f64; 2]; 2]> =
            self.across_ticks.marks.iter().map(|(value, _)| self.across.px(*value)).map(|x| [[x, bottom], [x, bottom + 3.0]]).collect();
        svg.hairs(Paint::Ink, &ticks);
        for (value, text) in &self.across_ticks.marks {
            svg.words(text, [self.across.px(*value), bottom + 5.5 + 0.9 * self.size], Hold::Middle, Weight::Soft);
        }
        if !self.profile() || self.placing.radius_numbers {
            let ticks: Vec<[[f64; 2]; 2]> =
                self.up_ticks.marks.iter().map(|(value, _)| self.up.px(*value)).map(|y| [[left - 3.0, y], [left, y]]).collect();
            svg.hairs(Paint::Ink, &ticks);
            for (value, text) in &self.up_ticks.marks {
                svg.words(text, [left - 5.0, self.up.px(*value) + (ABOVE - 0.42) * self.size], Hold::End, Weight::Soft);
            }
        }
        self.draw_words(svg);
        svg.close_group();
    }

    fn draw_words(&self, svg: &mut Svg) {
        let (size, Rect { left, top, right, bottom }) = (self.size, self.frame);
        let title_left = if self.profile() { left } else { 0.0 };
        let last = self.heading.len();
        for (k, (title, unit)) in self.heading.iter().enumerate() {
            let y = self.heading_bottom - row(size) * (last - 1 - k) as f64 - 0.3 * size;
            svg.heading(title, unit, [title_left, y]);
        }
        self.key.draw(svg, title_left, self.key_top);
        let mut y = bottom + 2.2 * row(size);
        if self.profile() {
            if self.placing.radius_numbers {
                let unit = typeset_unit(&self.chart.up.unit);
                svg.words(&format!("r {unit}"), [left - 5.0, top - 0.6 * size - 0.3 * size], Hold::End, Weight::Soft);
            }
        } else {
            let unit = self.across_ticks.unit(&typeset_unit(&self.chart.across.unit));
            let label = format!("{} {unit}", self.chart.across.label);
            svg.words(label.trim_end(), [right, y], Hold::End, Weight::Plain);
            y += row(size);
        }
        for line in &self.notes {
            svg.words(line, [title_left, y], Hold::Start, Weight::Soft);
            y += row(size);
        }
    }
}

fn held_pen(role: Role, plot: &Plot) -> Pen {
    let pen = pen(role, plot.placing.style);
    Pen { paint: Paint::Held, width: 0.6 * pen.width, ..pen }
}

/// Places of a label along a straight line across the frame, the better ones first.
fn beside_straight(field: &Field, text: &str, [from, to]: [[f64; 2]; 2], near_side_first: bool) -> Vec<Rect> {
    const BESIDE: f64 = 3.0;
    let (width, height) = (text_width(text, field.size), field.size);
    let mut places = Vec::new();
    let vertical = from[0] == to[0];
    for share in [0.0, 0.12, 0.24, 0.36, 0.5, 0.64, 0.76, 0.88, 1.0] {
        let (left, top) =
            (to[0] - width - 2.0 + share * (from[0] + 4.0 - to[0] + width), to[1] + 2.0 + share * (from[1] - to[1] - height - 4.0));
        let sides = if vertical {
            [(from[0] + BESIDE, top), (from[0] - BESIDE - width, top)]
        } else {
            [(left, from[1] - BESIDE - height), (left, from[1] + BESIDE)]
        };
        let sides = if near_side_first { sides } else { [sides[1], sides[0]] };
        places.extend(sides.map(|(left, top)| field.at(text, left, top)));
    }
    places
}

/// Numbers along the horizontal axis, as many as have room beside each other.
pub(super) fn across_ticks(low: f64, high: f64, length: f64, size: f64) -> Ticks {
    let mut count = most(length / (2.4 * size));
    loop {
        let ticks = Ticks::between(low, high, count);
        let widest = ticks.marks.iter().map(|(_, text)| text_width(text, size)).fold(0.0, f64::max);
        let apart = match &ticks.marks[..] {
            [(first, _), (second, _), ..] => (0.5 * second - 0.5 * first) / (0.5 * high - 0.5 * low) * length,
            _ => f64::INFINITY,
        };
        if count <= 1 || widest + 0.7 * size <= apart {
            return if ticks.marks.len() < 2 { outermost(low, high, length, size).unwrap_or(ticks) } else { ticks };
        }
        count -= 1;
    }
}

/// The first and the last of many round values: one number alone gives an axis no scale.
fn outermost(low: f64, high: f64, length: f64, size: f64) -> Option<Ticks> {
    let mut ticks = Ticks::between(low, high, 12);
    let [first, .., last] = &ticks.marks[..] else { return None };
    let apart = (0.5 * last.0 - 0.5 * first.0) / (0.5 * high - 0.5 * low) * length;
    let widths = text_width(&first.1, size).max(text_width(&last.1, size));
    if widths + 0.7 * size > apart {
        return None;
    }
    ticks.marks = vec![first.clone(), last.clone()];
    Some(ticks)
}

fn most(room: f64) -> usize {
    (room as usize).clamp(2, 12)
}

/// Title and unit in one line, or in two where one is too long.
fn heading(title: &str, unit: &str, width: f64, size: f64) -> Vec<(String, String)> {
    if strong_width(title, size) + 4.0 + text_width(unit, size) <= width {
        return vec![(title.to_owned(), unit.to_owned())];
    }
    let mut lines: Vec<(String, String)> = wrapped(title, width / 1.08, size).into_iter().map(|line| (line, String::new())).collect();
    match lines.last_mut().filter(|(line, _)| strong_width(line, size) + 4.0 + text_width(unit, size) <= width) {
        Some(last) => last.1 = unit.to_owned(),
        None => lines.push((String::new(), unit.to_owned())),
    }
    lines
}

/// Millimetres of a unit of radius.
fn mm_of(unit: &str) -> Option<f64> {
    match unit {
        "mm" => Some(1.0),
        "in" => Some(25.4),
        _ => None,
    }
}
