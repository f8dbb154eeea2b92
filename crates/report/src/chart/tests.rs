//! Tests of whole charts: what stands in the SVG, read back from it.

use halfmicron::sheet::chart::{Axis, Chart, ChartKind, Forbidden, LimitLine, Mark, On, Role, Series};
use proptest::prelude::*;

use super::boxes::{Rect, text_width};
use super::*;

fn axis(label: &str, unit: &str, low: f64, high: f64) -> Axis {
    Axis { label: label.to_owned(), unit: unit.to_owned(), low, high }
}

fn series(label: &str, role: Role, across: &[f64], up: &[f64]) -> Series {
    let values = |values: &[f64]| values.iter().map(|value| value.is_finite().then_some(*value)).collect();
    Series { key: label.to_owned(), label: label.to_owned(), role, across: values(across), up: values(up) }
}

fn chart(kind: ChartKind, across: Axis, up: Axis, series: Vec<Series>) -> Chart {
    Chart {
        key: "test".to_owned(),
        title: "a title".to_owned(),
        duty: Some("normal".to_owned()),
        kind,
        across,
        up,
        series,
        bars: Vec::new(),
        limits: Vec::new(),
        marks: Vec::new(),
        note: String::new(),
    }
}

/// Film and contact pressure over a band of three radii.
fn pressures() -> Chart {
    let radius = [24.45, 27.0, 30.8];
    chart(
        ChartKind::Profile,
        axis("pressure", "MPa", 0.0, 1.2),
        axis("radius", "mm", 24.45, 30.8),
        vec![series("film, absolute", Role::Film, &[0.1, 0.9, 1.2], &radius), series("contact", Role::Contact, &[0.3, 0.1, 0.0], &radius)],
    )
}

/// A leakage that folds, with its limit.
fn leakage() -> Chart {
    Chart {
        limits: vec![LimitLine { label: "limit 10.0 mL/h".to_owned(), on: On::Up, value: 10.0, forbidden: Forbidden::Above }],
        marks: vec![Mark { label: "film pops open".to_owned(), on: On::Across, value: 103.4 }],
        ..chart(
            ChartKind::Sweep,
            axis("balance diameter", "mm", 101.0, 104.0),
            axis("leakage", "mL/h", 0.0, 10.0),
            vec![
                series("a title", Role::Film, &[101.0, 102.0, 103.0, 103.4, 104.0], &[0.5, 0.7, 1.4, f64::NAN, 8.0]),
                series("unstable", Role::Unstable, &[101.0, 104.0], &[3.0, 2.0]),
            ],
        )
    }
}

fn heat() -> Chart {
    let up = [0.0, 1.0, 2.0];
    Chart {
        duty: None,
        bars: ["normal", "suction lost", "standstill"].map(str::to_owned).to_vec(),
        ..chart(
            ChartKind::Bars,
            axis("heat", "W", 0.0, 260.0),
            axis("duty", "", -0.5, 2.5),
            vec![
                series("rotating ring", Role::Rotating, &[40.0, 60.0, f64::NAN], &up),
                series("stationary ring", Role::Stationary, &[150.0, 190.0, f64::NAN], &up),
                series("leakage", Role::Leak, &[1.0, 10.0, f64::NAN], &up),
            ],
        )
    }
}

/// Value of an attribute of an element.
fn attribute<'a>(element: &'a str, name: &str) -> Option<&'a str> {
    let from = element.find(&format!(" {name}=\""))? + name.len() + 3;
    element[from..].split('"').next()
}

fn number_of(element: &str, name: &str) -> f64 {
    attribute(element, name).and_then(|text| text.parse().ok()).unwrap_or_else(|| panic!("no {name} in {element}"))
}

fn unescaped(text: &str) -> String {
    text.replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"").replace("&amp;", "&")
}

/// Every text of an SVG with the box that it covers.
fn texts(svg: &str) -> Vec<(String, Rect)> {
    let size = number_of(svg, "font-size");
    let elements = svg.split("<text").skip(1).map(|rest| rest.split("</text>").next().unwrap_or(rest));
    let read = |element: &str| {
        let (head, body) = element.split_once('>').expect("a text");
        let parts: Vec<String> = body.split('<').map(|part| unescaped(part.rsplit('>').next().unwrap_or(part))).collect();
        let content = parts.concat();
        let strong = if head.contains("font-weight") { 1.08 } else { 1.0 };
        let width = strong * text_width(&content, size) + if parts.len() > 1 { 4.0 } else { 0.0 };
        let (x, y) = (number_of(head, "x"), number_of(head, "y"));
        let left = match attribute(head, "text-anchor") {
            Some("middle") => x - 0.5 * width,
            Some("end") => x - width,
            _ => x,
        };
        (content, Rect { left, top: y - 0.72 * size, right: left + width, bottom: y + 0.2 * size })
    };
    elements.map(read).collect()
}

/// What holds of every chart: finite coordinates, texts inside the picture and none over another.
fn is_sound(svg: &str, width: f64, height: f64) -> Result<(), String> {
    for wrong in ["NaN", "inf", " id=", "style="] {
        if svg.contains(wrong) {
            return Err(format!("{wrong} in {svg}"));
        }
    }
    let picture = Rect { left: -0.5, top: -0.5, right: width + 0.5, bottom: height + 0.5 };
    let texts = texts(svg);
    for (k, (text, rect)) in texts.iter().enumerate() {
        if !picture.holds(rect) {
            return Err(format!("\"{text}\" at {rect:?} leaves {width} x {height}"));
        }
        if let Some((other, over)) = texts[..k].iter().find(|(_, other)| other.overlaps(rect)) {
            return Err(format!("\"{text}\" at {rect:?} lies over \"{other}\" at {over:?}"));
        }
    }
    Ok(())
}

fn drawn(chart: &Chart, width: f64, height: f64) -> String {
    let svg = svg(chart, None, &Placing::page(width, height));
    is_sound(&svg, width, height).expect("a sound chart");
    svg
}

#[test]
fn every_kind_is_sound_at_every_size() {
    for chart in [pressures(), leakage(), heat()] {
        for width in [160.0, 240.0, 320.0, 480.0, 800.0, 1200.0] {
            for height in [160.0, 240.0, 400.0] {
                let svg = svg(&chart, None, &Placing::page(width, height));
                is_sound(&svg, width, height).unwrap_or_else(|wrong| panic!("{} {width} x {height}: {wrong}", chart.series[0].label));
            }
        }
    }
}

#[test]
fn a_chart_says_what_it_is_to_those_who_do_not_see_it() {
    let svg = drawn(&leakage(), 400.0, 240.0);
    assert!(svg.contains("role=\"img\"") && svg.contains("<title>a title, normal</title>"), "{svg}");
    for words in [
        "least 0.5000 mL/h at balance diameter 101.0 mm, greatest 8.000 mL/h",
        "limit 10.0 mL/h.",
        "film pops open at balance diameter 103.4 mm",
    ] {
        assert!(svg.contains(words), "{words}: {svg}");
    }
    assert!(
        drawn(&heat(), 400.0, 240.0)
            .contains("suction lost: rotating ring 60.00 W, stationary ring 190.0 W, leakage 10.00 W. standstill: no result.")
    );
}

#[test]
fn a_cursor_finds_its_radius() {
    let scale = RadiusScale { low_mm: 20.0, high_mm: 40.0, top_px: 60.0, bottom_px: 260.0 };
    let placing = Placing::page(200.0, 300.0).beside(scale).without_radius_numbers();
    let svg = svg(&pressures(), None, &placing);
    assert_eq!([number_of(&svg, "data-radius-low"), number_of(&svg, "data-radius-high")], [24.45, 30.8]);
    assert_eq!([number_of(&svg, "data-radius-bottom"), number_of(&svg, "data-radius-top")], [215.5, 152.0]);
    assert!(!svg.contains(">r mm<"), "numbers of radii stand on the section");
    // In inches the same radii lie at the same heights.
    let mut inches = pressures();
    for value in [&mut inches.up.low, &mut inches.up.high] {
        *value /= 25.4;
    }
    inches.up.unit = "in".to_owned();
    let svg = super::svg(&inches, None, &placing);
    assert_eq!([number_of(&svg, "data-radius-bottom"), number_of(&svg, "data-radius-top")], [215.5, 152.0]);
}

#[test]
fn the_pixels_of_a_cursor_are_those_of_the_curve() {
    let svg = drawn(&pressures(), 300.0, 240.0);
    let scale = |name: &str, low: &str, high: &str, value: f64| {
        let of = |end: &str| number_of(&svg, &format!("data-{name}-{end}"));
        of(low) + (value - of("low")) / (of("high") - of("low")) * (of(high) - of(low))
    };
    let film = svg.split("series film").nth(1).and_then(|rest| attribute(rest, "d")).expect("a curve");
    let point = format!(
        "{} {}",
        crate::digits::number(scale("across", "left", "right", 0.9)),
        crate::digits::number(scale("radius", "bottom", "top", 27.0))
    );
    assert!(film.contains(&point), "{point} in {film}");
}

#[test]
fn nothing_to_show_is_an_empty_frame() {
    for kind in [ChartKind::Profile, ChartKind::Sweep, ChartKind::Around, ChartKind::Bars] {
        let none = chart(kind, axis("pressure", "MPa", 0.0, 1.0), axis("radius", "mm", 0.0, 1.0), Vec::new());
        drawn(&none, 240.0, 200.0);
        let missing = Chart { series: vec![series("film", Role::Film, &[f64::NAN; 3], &[f64::NAN; 3])], ..none };
        assert!(!drawn(&missing, 240.0, 200.0).contains("<circle"));
    }
    let wild = chart(ChartKind::Sweep, axis("x", "mm", f64::NAN, 1.0), axis("y", "W", 3.0, f64::INFINITY), Vec::new());
    drawn(&wild, 240.0, 200.0);
}

#[test]
fn one_value_is_a_dot_and_one_height_a_level_line() {
    let one =
        chart(ChartKind::Sweep, axis("x", "mm", 2.0, 2.0), axis("y", "W", 5.0, 5.0), vec![series("power", Role::Film, &[2.0], &[5.0])]);
    let svg = drawn(&one, 300.0, 200.0);
    assert_eq!(svg.matches("<circle").count(), 1);
    let level = chart(
        ChartKind::Sweep,
        axis("x", "mm", 1.0, 3.0),
        axis("y", "degC", 20.0, 20.0),
        vec![series("film", Role::Film, &[1.0, 2.0, 3.0], &[20.0; 3])],
    );
    let svg = drawn(&level, 300.0, 200.0);
    let path = svg.split("series film").nth(1).and_then(|rest| attribute(rest, "d")).expect("a curve");
    let heights: Vec<&str> = path.split(['M', 'L']).skip(1).filter_map(|point| point.split(' ').nth(1)).collect();
    assert!(heights.len() == 3 && heights.iter().all(|height| height == &heights[0]), "{path}");
    assert!(svg.contains(">20</text>"), "{svg}");
}

#[test]
fn what_leaves_the_frame_is_cut_at_it() {
    let mut boiling = pressures();
    boiling.series.push(series("boiling", Role::Saturation, &[1.0, 40.0, 90.0], &[24.45, 27.0, 30.8]));
    let svg = drawn(&boiling, 300.0, 240.0);
    let right = number_of(&svg, "data-across-right");
    let path = svg.split("series saturation").nth(1).and_then(|rest| attribute(rest, "d")).expect("a curve");
    let ends: Vec<f64> = path.split(['M', 'L']).skip(1).filter_map(|point| point.split(' ').next()?.parse().ok()).collect();
    assert_eq!(ends.len(), 2);
    assert!(ends.iter().all(|x| *x <= right + 0.01) && (ends[1] - right).abs() < 0.01, "{path} beyond {right}");
}

#[test]
fn a_sweep_over_decades_is_logarithmic_and_says_so() {
    let mut wide = leakage();
    wide.up.high = 8000.0;
    wide.series = vec![series("a title", Role::Film, &[101.0, 102.0, 103.0, 103.2, 104.0], &[0.5, 0.7, 1.4, 2.0, 8000.0])];
    let svg = drawn(&wide, 400.0, 240.0);
    assert!(svg.contains("data-up-scale=\"log\"") && svg.contains("mL/h, log") && svg.contains(">100</text>"), "{svg}");
    let [low, high, bottom, top] = ["low", "high", "bottom", "top"].map(|end| number_of(&svg, &format!("data-up-{end}")));
    let y = bottom + (0.7 / low).ln() / (high / low).ln() * (top - bottom);
    let film = svg.split("series film").nth(1).and_then(|rest| attribute(rest, "d")).expect("a curve");
    assert!(film.contains(&format!(" {}L", crate::digits::number(y))), "{y} in {film}");
    let around = Chart { kind: ChartKind::Around, ..wide.clone() };
    assert!(!drawn(&around, 400.0, 240.0).contains("data-up-scale"), "round the circumference the peak counts, not the cavities");
    // Values of both signs, and those that a plain axis shows, stay plain.
    wide.series[0].up[4] = Some(8e5);
    wide.up.high = 8e5;
    assert!(drawn(&wide, 400.0, 240.0).contains("data-up-scale"), "a limit beside a popped film");
    wide.series[0].up[0] = Some(-0.5);
    wide.up.low = -0.5;
    assert!(!drawn(&wide, 400.0, 240.0).contains("data-up-scale"));
    assert!(!drawn(&leakage(), 400.0, 240.0).contains("data-up-scale"));
}

#[test]
fn bars_carry_their_numbers() {
    let svg = drawn(&heat(), 500.0, 240.0);
    let numbers = texts(&svg);
    for words in ["40 + 150 + 1", "60 + 190 + 10", "no result"] {
        assert!(numbers.iter().any(|(text, _)| text == words), "{words}: {svg}");
    }
}

#[test]
fn bars_share_their_digits_and_say_no_rounding() {
    let mut small = heat();
    for (part, values) in small.series.iter_mut().zip([[-4.9e-5, 0.0177, -2e-6], [-6.5e-5, 0.0162, 0.0], [-0.001, 0.0, 2.6e-6]]) {
        part.across = values.map(Some).to_vec();
    }
    (small.across.low, small.across.high) = (-0.0012, 0.0339);
    let texts = texts(&drawn(&small, 600.0, 240.0));
    for words in ["0 \u{2212} 0.0001 \u{2212} 0.0010", "0.0177 + 0.0162 + 0", "0"] {
        assert!(texts.iter().any(|(text, _)| text == words), "{words}: {texts:?}");
    }
}

#[test]
fn curves_that_lie_together_are_named_in_a_key() {
    let radius = [24.45, 27.0, 30.8];
    let together = chart(
        ChartKind::Profile,
        axis("temperature", "degC", 50.0, 53.0),
        axis("radius", "mm", 24.45, 30.8),
        vec![
            series("film", Role::Film, &[52.0, 53.0, 50.0], &radius),
            series("rotating face", Role::Rotating, &[52.01, 53.0, 50.01], &radius),
            series("stationary face", Role::Stationary, &[52.0, 53.01, 50.0], &radius),
        ],
    );
    let svg = drawn(&together, 200.0, 240.0);
    let top = number_of(&svg, "data-radius-top");
    for name in ["film", "rotating face", "stationary face"] {
        let (_, rect) = texts(&svg).into_iter().find(|(text, _)| text == name).unwrap_or_else(|| panic!("{name}: {svg}"));
        assert!(rect.bottom < top, "{name} in the frame");
    }
    let (_, film) = texts(&drawn(&pressures(), 300.0, 240.0)).into_iter().find(|(text, _)| text == "film, absolute").expect("a label");
    assert!(film.top > 20.0, "apart they are named where they run");
}

#[test]
fn a_held_chart_lies_behind_in_grey() {
    let mut held = pressures();
    held.series[0].across = vec![Some(0.1), Some(0.4), Some(1.2)];
    let svg = super::svg(&pressures(), Some(&held), &Placing::page(320.0, 240.0));
    is_sound(&svg, 320.0, 240.0).expect("sound");
    let (behind, before) = (svg.find("class=\"held\"").expect("held"), svg.find("series film").expect("now"));
    assert!(behind < before && svg[behind..before].contains("--chart-held") && svg.contains(">held</text>"), "{svg}");
    held.across.unit = "psi".to_owned();
    assert!(
        !super::svg(&pressures(), Some(&held), &Placing::page(320.0, 240.0)).contains("class=\"held\""),
        "other units are not compared"
    );
}

#[test]
fn paper_has_millimetres_and_plain_colours() {
    let svg = super::svg(&pressures(), None, &Placing::paper(60.0, 58.0));
    assert_eq!((attribute(&svg, "width"), attribute(&svg, "height")), (Some("60mm"), Some("58mm")));
    assert!(!svg.contains("var(") && svg.contains("#1d5c87"), "{svg}");
    assert!(super::svg(&pressures(), None, &Placing::page(300.0, 240.0)).contains("var(--chart-film"));
}

#[test]
fn a_small_chart_as_it_stands() {
    insta::assert_snapshot!(svg(&leakage(), None, &Placing::paper(80.0, 55.0)));
}

#[test]
fn charts_stand_together_on_a_sheet() {
    let all = [pressures(), pressures(), pressures(), heat(), leakage(), leakage(), leakage()];
    let svg = sheet("Brine <booster>", &all);
    assert_eq!(svg.matches("role=\"img\"").count(), 7);
    assert!(svg.contains("Brine &lt;booster&gt;"));
    let places: Vec<[f64; 2]> = svg
        .split("<svg x=")
        .skip(1)
        .map(|rest| format!("<svg x={rest}"))
        .map(|child| [number_of(&child, "x"), number_of(&child, "y")])
        .collect();
    assert!(places[0][1] == places[2][1] && places[3][1] > places[2][1] && places[4][1] == places[5][1] && places[6][1] > places[5][1]);
}

prop_compose! {
    fn any_value()(kind in 0..12u8, value in -1.0..1.0f64, power in -40..40i32) -> f64 {
        match kind {
            0 => f64::NAN,
            1 => 0.0,
            2 => value * 10f64.powi(power),
            _ => value,
        }
    }
}

prop_compose! {
    fn any_chart()(
        profile in any::<bool>(),
        size in -12..12i32,
        offset in -3.0..3.0f64,
        curves in prop::collection::vec((prop::collection::vec(any_value(), 0..9), 0..9usize), 0..5),
        limits in prop::collection::vec((any_value(), any::<bool>()), 0..3),
        marks in prop::collection::vec(0.0..1.0f64, 0..4),
    ) -> Chart {
        const ROLES: [Role; 9] = [Role::Film, Role::Contact, Role::Rotating, Role::Stationary, Role::Saturation, Role::Leak, Role::Limit, Role::Other, Role::Unstable];
        const NAMES: [&str; 5] = ["film, absolute", "contact", "rotating face", "stationary face", "boiling"];
        let factor = 10f64.powi(size);
        let up = |count: usize| (0..count).map(|k| 20.0 + 10.0 * k as f64 / count as f64).collect::<Vec<f64>>();
        let series: Vec<Series> = curves.iter().enumerate().map(|(k, (values, role))| {
            let values: Vec<f64> = values.iter().map(|value| (value + offset) * factor).collect();
            let along = up(values.len());
            if profile { series(NAMES[k], ROLES[*role], &values, &along) } else { series(NAMES[k], ROLES[*role], &along, &values) }
        }).collect();
        let along = axis("radius", "mm", 20.0, 30.0);
        let of = axis("pressure", "MPa", (offset - 1.0) * factor, (offset + 1.0) * factor);
        let (across, vertical) = if profile { (of, along) } else { (along, of) };
        let [on, mark_on] = if profile { [On::Across, On::Up] } else { [On::Up, On::Across] };
        Chart {
            limits: limits.into_iter().filter(|(value, _)| value.is_finite()).map(|(value, above)| LimitLine {
                label: "usual limit 12.3 mL/h".to_owned(),
                on,
                value: (value + offset) * factor,
                forbidden: if above { Forbidden::Above } else { Forbidden::Below },
            }).collect(),
            marks: marks.into_iter().map(|share| Mark { label: "begins to boil".to_owned(), on: mark_on, value: 20.0 + 10.0 * share }).collect(),
            note: if size > 6 { "boils at 101 degC or more".to_owned() } else { String::new() },
            ..chart(if profile { ChartKind::Profile } else { ChartKind::Sweep }, across, vertical, series)
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    /// Whatever the numbers are, every coordinate is finite and no text lies over another or leaves the picture.
    #[test]
    fn any_chart_is_sound(chart in any_chart(), held in prop::option::of(any_chart()), width in 160.0..1200.0f64, height in 280.0..500.0f64) {
        let svg = svg(&chart, held.as_ref(), &Placing::page(width, height));
        let sound = is_sound(&svg, width, height);
        prop_assert!(sound.is_ok(), "{sound:?}");
    }
}

#[test]
fn an_axis_whose_round_values_are_crowded_keeps_two_numbers() {
    let ticks = super::plot::across_ticks(55.61, 55.79, 90.0, 12.0);
    let texts: Vec<&str> = ticks.marks.iter().map(|(_, text)| text.as_str()).collect();
    assert_eq!(texts, ["55.62", "55.78"]);
}
