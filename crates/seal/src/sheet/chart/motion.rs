//! Charts of motion: least film and tilt between the faces over speed, least film and orbit in time.

use crate::motion::{CurvePoint, DutyMotion, Instant};

use super::super::units::{Kind, UnitSet, unit};
use super::{Chart, ChartKind, Mark, On, Role, Series, axis, value, values};

/// Charts of one duty.
pub(in super::super) fn of_motion(duty: &DutyMotion, units: UnitSet) -> Vec<Chart> {
    let of = Of { duty, units };
    let mut charts = Vec::new();
    if duty.curve.len() > 1 {
        charts.extend([of.least_film_over_speed(), of.following_over_speed()]);
    }
    if let Some(in_time) = &duty.in_time {
        charts.extend([of.least_film_over_turns(&in_time.series), of.orbit(&in_time.series)]);
    }
    charts
}

struct Of<'a> {
    duty: &'a DutyMotion,
    units: UnitSet,
}

/// What a curve is called, what it is, and its values.
type Drawn<'a> = (&'a str, &'a str, Role, Vec<Option<f64>>);

impl Of<'_> {
    fn chart(&self, key: &str, title: &str, across: (&str, Kind, Vec<Option<f64>>), up: (&str, Kind), drawn: Vec<Drawn>) -> Chart {
        let places = values(unit(across.1, self.units), across.2);
        let series: Vec<Series> = drawn
            .into_iter()
            .map(|(key, label, role, up_values)| Series {
                key: key.to_owned(),
                label: label.to_owned(),
                role,
                across: places.clone(),
                up: values(unit(up.1, self.units), up_values),
            })
            .filter(|series| series.up.iter().any(Option::is_some))
            .collect();
        Chart {
            key: format!("motion.{key}"),
            title: title.to_owned(),
            duty: Some(self.duty.name.clone()),
            kind: ChartKind::Sweep,
            across: axis(across.0, across.1, self.units, &places),
            up: axis(up.0, up.1, self.units, series.iter().flat_map(|curve| &curve.up)).with_nothing_if_near(),
            series,
            bars: Vec::new(),
            limits: Vec::new(),
            marks: Vec::new(),
            note: String::new(),
        }
    }

    fn speeds(&self) -> (&'static str, Kind, Vec<Option<f64>>) {
        ("shaft speed", Kind::ShaftSpeed, self.duty.curve.iter().map(|point| Some(point.speed_rad_per_s.abs())).collect())
    }

    fn of_curve(&self, of: impl Fn(&CurvePoint) -> Option<f64>) -> Vec<Option<f64>> {
        self.duty.curve.iter().map(of).collect()
    }

    /// The speed of the duty as a mark.
    fn marked(&self, chart: Chart) -> Chart {
        let place = value(unit(Kind::ShaftSpeed, self.units), self.duty.speed_rad_per_s.abs());
        let marks = place.map(|value| Mark { label: self.duty.name.clone(), on: On::Across, value }).into_iter().collect();
        Chart { marks, ..chart }
    }

    fn least_film_over_speed(&self) -> Chart {
        let drawn = vec![
            ("least_film_still_m", "without run-out", Role::Other, self.of_curve(|point| point.least_film_still_m)),
            ("least_film_m", "with run-out", Role::Film, self.of_curve(|point| point.least_film_m)),
        ];
        self.marked(self.chart("least-film", "Least film over speed", self.speeds(), ("least film", Kind::SmallLength), drawn))
    }

    fn following_over_speed(&self) -> Chart {
        let drawn = vec![("relative_ratio", "tilt between the faces", Role::Film, self.of_curve(|point| point.relative_ratio))];
        let title = "Tilt between the faces over that of the mating face";
        self.marked(self.chart("relative-tilt", title, self.speeds(), ("tilt not followed", Kind::Share), drawn))
    }

    fn least_film_over_turns(&self, series: &[Instant]) -> Chart {
        let turns = ("turns of the shaft", Kind::Number, series.iter().map(|at| Some(at.turns)).collect());
        let drawn = vec![("least_film_m", "least film", Role::Film, series.iter().map(|at| Some(at.least_film_m)).collect())];
        self.chart("time.least-film", "Least film in time", turns, ("least film", Kind::SmallLength), drawn)
    }

    fn orbit(&self, series: &[Instant]) -> Chart {
        let about = |k: usize| -> Vec<Option<f64>> { series.iter().map(|at| Some(at.relative_tilt_rad[k])).collect() };
        let across = ("tilt between the faces about x", Kind::SmallAngle, about(0));
        let drawn = vec![("relative_tilt_rad", "orbit", Role::Film, about(1))];
        self.chart("time.orbit", "Orbit of the tilt between the faces", across, ("about y", Kind::SmallAngle), drawn)
    }
}
