//! One number of a case swept.

use std::path::Path;

use halfmicron::model::Model;
use halfmicron::rules::is_computed;
use halfmicron::sheet::sweep_sheet;
use halfmicron::study::{Request, sweep as swept};

use super::cases::{self, Opened};
use super::{Format, SolveArguments, charts, table};
use crate::{Answer, Terminal};

/// Most values of a sweep.
const MOST: usize = 10_000;
const SYNTAX: &str = "PATH=FROM..TO/COUNT, e.g. duty.normal.temperature=\"120 degC..180 degC/61\"";

/// A sweep as it was asked for; its ends are read with the case, which knows their kind.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Asked {
    path: String,
    ends: [String; 2],
    count: usize,
}

/// Read `PATH=FROM..TO/COUNT`.
pub fn request(text: &str) -> Result<Asked, String> {
    let (path, range) = text.split_once('=').ok_or_else(|| format!("no `=` after the path: write {SYNTAX}"))?;
    let (from, rest) = range.split_once("..").ok_or_else(|| format!("no `..` between the two ends: write {SYNTAX}"))?;
    let (to, count) = rest.rsplit_once('/').ok_or_else(|| format!("no `/COUNT` at the end: write {SYNTAX}"))?;
    let [path, from, to, count] = [path, from, to, count].map(str::trim);
    if let Some(missing) = [(path, "path"), (from, "first value"), (to, "last value")].iter().find(|(part, _)| part.is_empty()) {
        return Err(format!("no {} is given: write {SYNTAX}", missing.1));
    }
    let number = count.parse::<usize>().map_err(|_| format!("\"{count}\" after the last `/` is no count of values: write {SYNTAX}"))?;
    if !(2..=MOST).contains(&number) {
        return Err(format!("a sweep has from 2 to {MOST} values, both ends among them; {number} is asked for"));
    }
    Ok(Asked { path: path.to_owned(), ends: [from.to_owned(), to.to_owned()], count: number })
}

/// Sweep a number of every case.
pub fn sweep(asked: &Asked, chart: Option<&Path>, arguments: &SolveArguments, terminal: Terminal) -> Answer {
    cases::for_each(arguments, terminal, |opened| one(asked, chart, opened, arguments, terminal))
}

fn one(asked: &Asked, chart: Option<&Path>, opened: &Opened, arguments: &SolveArguments, terminal: Terminal) -> Answer {
    let shown = opened.path.display();
    let request = match request_of(asked, &opened.model, &opened.path, arguments, terminal) {
        Ok(request) => request,
        Err(message) => return Answer::error(message),
    };
    let sweep = match swept(&opened.model, &request) {
        Ok(sweep) => sweep,
        Err(error) => return Answer::error(format!("error: {shown}: {error}\n")),
    };
    let sheet = sweep_sheet(&sweep, arguments.units.set());
    let code = if sweep.rows.iter().all(|row| is_computed(row.status)) { 0 } else { 2 };
    let out = match arguments.format {
        Format::Json => match serde_json::to_string_pretty(&sweep) {
            Ok(text) => text + "\n",
            Err(error) => return Answer::error(format!("error: the result cannot be written as JSON: {error}\n")),
        },
        Format::Table => table::draw_sweep(&sheet, terminal),
    };
    match chart.map(|file| charts::write(file, &sheet.title, &sheet.charts)) {
        Some(Err(message)) => Answer::error(message),
        _ => Answer { out, code, ..Answer::default() },
    }
}

/// The request in the terms of the case: duty named, ends read as the file would read them.
fn request_of(asked: &Asked, model: &Model, file: &Path, arguments: &SolveArguments, terminal: Terminal) -> Result<Request, String> {
    let duty = duty_of(asked, model, &arguments.duties)?;
    let path = match asked.path.strip_prefix("duty.") {
        // `duty.temperature` is of the duty that is swept.
        Some(key) if !key.contains('.') => format!("duty.{duty}.{key}"),
        _ => asked.path.clone(),
    };
    let mut ends = [0.0; 2];
    for (end, text) in ends.iter_mut().zip(&asked.ends) {
        let mut set = arguments.clone();
        set.settings.push((path.clone(), text.clone()));
        let opened = cases::open(file, &set).map_err(|problem| cases::draw(&problem, terminal))?;
        *end = opened.model.get(&path).map_err(|error| format!("error: --sweep: {error}\n"))?;
    }
    if ends[0] == ends[1] {
        return Err(format!("error: --sweep: both ends of `{path}` are the same: nothing is swept\n"));
    }
    let step = (ends[1] - ends[0]) / (asked.count - 1) as f64;
    let values = (0..asked.count).map(|k| if k + 1 == asked.count { ends[1] } else { ends[0] + step * k as f64 });
    Ok(Request { duty, path, values: values.collect() })
}

/// The duty that is swept: the one selected, the one in the path, or the only one.
fn duty_of(asked: &Asked, model: &Model, selected: &[String]) -> Result<String, String> {
    let known = cases::duties(model, selected).map_err(|message| format!("error: {message}\n"))?;
    if let [only] = known[..] {
        return Ok(only.name.clone());
    }
    let rest = asked.path.strip_prefix("duty.").and_then(|rest| rest.rsplit_once('.')).map(|(name, _)| name);
    match rest.filter(|_| selected.is_empty()) {
        Some(name) if model.duties.iter().any(|duty| duty.name == name) => Ok(name.to_owned()),
        _ => {
            let names: Vec<String> = known.iter().map(|duty| format!("\"{}\"", duty.name)).collect();
            Err(format!("error: a sweep is of one duty: name it with --duty; there are {}\n", names.join(", ")))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sweep_is_path_ends_and_count() {
        let asked = request("duty.normal.temperature=120degC..180degC/61").expect("a sweep");
        assert_eq!((asked.path.as_str(), asked.count), ("duty.normal.temperature", 61));
        assert_eq!(asked.ends, ["120degC", "180degC"]);
        let slashed = request("seal.flush = 1 m3/h..2.5 m3/h/5").expect("units may hold a slash");
        assert_eq!((slashed.ends[1].as_str(), slashed.count), ("2.5 m3/h", 5));
    }

    #[test]
    fn wrong_syntax_names_the_fix() {
        for (wrong, part) in [
            ("duty.pressure", "no `=`"),
            ("duty.pressure=1 bar(g)", "no `..`"),
            ("duty.pressure=1 bar(g)..2 bar(g)", "no `/COUNT`"),
            ("seal.flush=1 m3/h..2 m3/h", "\"h\" after the last `/`"),
            ("duty.pressure=..2 bar(g)/3", "no first value"),
            ("duty.pressure=1 bar(g)../3", "no last value"),
            ("=1 bar(g)..2 bar(g)/3", "no path"),
            ("duty.pressure=1 bar(g)..2 bar(g)/1", "from 2 to"),
        ] {
            let error = request(wrong).expect_err(wrong);
            assert!(error.contains(part), "{wrong}: {error}");
        }
    }
}
