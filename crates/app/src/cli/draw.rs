//! The cross-section, or the face, as a file.

use std::io::ErrorKind;
use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};
use halfmicron::outcome::{DutyOutcome, Outcome};
use halfmicron_report::drawing::{Drawing, Exaggeration, Wanted, draw as drawn, draw_face};

use super::cases::{self, Opened};
use super::{Format, Shown, SolveArguments, Units, setting};
use crate::{Answer, Terminal};

/// What to draw, and where.
#[derive(Debug, Clone, Args)]
pub struct DrawArguments {
    /// Case file
    #[arg(value_name = "CASE")]
    case: PathBuf,
    /// File to write; its ending says which kind: .svg or .dxf
    #[arg(short, long, value_name = "FILE")]
    output: PathBuf,
    /// What is drawn: the section along the shaft, or the running face with what is cut into it
    #[arg(long, value_enum, default_value = "section")]
    view: View,
    /// Solve this duty, and state its film and temperature beside the section
    #[arg(long, value_name = "NAME")]
    duty: Option<String>,
    /// Temperatures of both rings, in bands of colour with a key; needs --duty where the case has several
    #[arg(long)]
    temperature: bool,
    /// Faces deformed and the film between them, drawn FACTOR times as large as the rings, or `auto`; needs --duty where the case has several
    #[arg(long, value_name = "FACTOR", allow_negative_numbers = true, value_parser = exaggeration)]
    deformed: Option<Exaggeration>,
    /// Units of dimensions and results
    #[arg(long, value_enum, default_value = "si")]
    units: Units,
    /// Replace one value, e.g. seal.balance_diameter="53 mm"; may be repeated; the file stays as it is
    #[arg(long = "set", value_name = "PATH=VALUE", value_parser = setting)]
    settings: Vec<(String, String)>,
}

/// What is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum View {
    /// Both rings cut along the shaft
    Section,
    /// The face that carries the textures, seen along the shaft
    Face,
}

/// Kinds of file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Svg,
    Dxf,
}

fn exaggeration(text: &str) -> Result<Exaggeration, String> {
    if text == "auto" {
        return Ok(Exaggeration::Automatic);
    }
    match text.parse::<f64>() {
        Ok(factor) if factor.is_finite() && factor > 0.0 => Ok(Exaggeration::Factor(factor)),
        _ => Err("write a positive number, e.g. 2000, or auto".to_owned()),
    }
}

fn kind_of(path: &Path) -> Result<Kind, String> {
    let ending = path.extension().map(|ending| ending.to_string_lossy().to_lowercase());
    match ending.as_deref() {
        Some("svg") => Ok(Kind::Svg),
        Some("dxf") => Ok(Kind::Dxf),
        _ => Err(format!(
            "{} ends in neither .svg nor .dxf: name the file so, e.g. {}",
            path.display(),
            path.with_extension("svg").display()
        )),
    }
}

/// Draw a case into a file.
pub fn draw(arguments: &DrawArguments, terminal: Terminal) -> Answer {
    let kind = match kind_of(&arguments.output) {
        Ok(kind) => kind,
        Err(message) => return Answer::error(format!("error: {message}\n")),
    };
    let opened = match cases::open(&arguments.case, &solving(arguments)) {
        Ok(opened) => opened,
        Err(problem) => return Answer::error(cases::draw(&problem, terminal)),
    };
    let drawing = match drawing(&opened, arguments) {
        Ok(drawing) => drawing,
        Err(message) => return Answer::error(format!("error: {}: {message}\n", opened.path.display())),
    };
    let text = match kind {
        Kind::Svg => drawing.svg(),
        Kind::Dxf => drawing.dxf(),
    };
    write(&arguments.output, &text, &drawing)
}

fn solving(arguments: &DrawArguments) -> SolveArguments {
    SolveArguments {
        cases: vec![arguments.case.clone()],
        duties: arguments.duty.iter().cloned().collect(),
        format: Format::Table,
        units: arguments.units,
        settings: arguments.settings.clone(),
        notices: Shown::Main,
        verdicts: Shown::Main,
    }
}

fn drawing(opened: &Opened, arguments: &DrawArguments) -> Result<Drawing, String> {
    if arguments.view == View::Face {
        let of_section =
            [("--duty", arguments.duty.is_some()), ("--temperature", arguments.temperature), ("--deformed", arguments.deformed.is_some())];
        if let Some((name, _)) = of_section.into_iter().find(|(_, given)| *given) {
            return Err(format!("{name} belongs to the section: the face is drawn as it was made; leave it out, or draw --view section"));
        }
        return draw_face(&opened.model, arguments.units.set()).map_err(|error| error.to_string());
    }
    let outcome = solved(opened, arguments)?;
    let duty: Option<&DutyOutcome> = outcome.as_ref().and_then(|outcome| outcome.duties.first());
    let wanted = Wanted { units: arguments.units.set(), temperature: arguments.temperature, deformed: arguments.deformed };
    if let Some(duty) = duty.filter(|duty| duty.chosen.is_none()) {
        return Err(format!("duty \"{}\" has no equilibrium to show: {}; draw without --duty, or another duty", duty.name, duty.reason));
    }
    drawn(&opened.model, duty, &wanted).map_err(|error| error.to_string())
}

fn solved(opened: &Opened, arguments: &DrawArguments) -> Result<Option<Outcome>, String> {
    let asked = match (&arguments.duty, arguments.temperature || arguments.deformed.is_some()) {
        (Some(name), _) => vec![name.clone()],
        (None, false) => return Ok(None),
        (None, true) => match &opened.model.duties[..] {
            [only] => vec![only.name.clone()],
            several => {
                let known = several.iter().map(|duty| format!("\"{}\"", duty.name)).collect::<Vec<_>>().join(", ");
                return Err(format!("temperatures and deflections belong to a duty: name it by --duty; the case has {known}"));
            }
        },
    };
    cases::duties(&opened.model, &asked)?;
    halfmicron::solve(&opened.model, &asked).map(Some).map_err(|error| error.to_string())
}

fn write(path: &Path, text: &str, drawing: &Drawing) -> Answer {
    let shown = path.display();
    match std::fs::write(path, text) {
        Ok(()) => Answer::result(format!("{shown} written, scale {} on A4\n", drawing.frame.scale.words())),
        Err(error) if error.kind() == ErrorKind::NotFound => {
            Answer::error(format!("error: there is no folder for {shown}: make it first\n"))
        }
        Err(error) => Answer::error(format!("error: {shown} cannot be written: {error}\n")),
    }
}
