//! Case files: reading, writing, and drawing what is wrong with them.

use std::io::ErrorKind;
use std::path::{Path, PathBuf};

use halfmicron::case::{Case, CaseErrors, Diagnostic, MOST_BYTES};
use halfmicron::model::{Duty, Model};
use miette::{GraphicalReportHandler, GraphicalTheme, LabeledSpan, NamedSource, SourceCode};

use super::write::counted;
use super::{Format, SolveArguments};
use crate::{Answer, Terminal};

/// Why a case could not be had.
#[derive(Debug, thiserror::Error)]
pub enum CaseProblem {
    /// The file could not be read.
    #[error("{}", cannot_read(path, source))]
    File {
        /// The file.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
    /// The file is no case.
    #[error("{} in {}", counted(errors.errors().len(), "error", "errors"), path.display())]
    Errors {
        /// The file.
        path: PathBuf,
        /// Its text, as far as it is text.
        text: String,
        /// What is wrong.
        errors: CaseErrors,
    },
}

fn cannot_read(path: &Path, source: &std::io::Error) -> String {
    let shown = path.display();
    match source.kind() {
        ErrorKind::NotFound => format!("no file {shown}: check the path, or write a starter with `halfmicron new NAME`"),
        ErrorKind::PermissionDenied => format!("{shown} may not be read: check its permissions"),
        ErrorKind::IsADirectory => format!("{shown} is a folder: name the case files in it, e.g. {shown}/*.toml"),
        _ if path.is_dir() => format!("{shown} is a folder: name the case files in it, e.g. {shown}/*.toml"),
        _ => format!("{shown} cannot be read: {source}"),
    }
}

/// A case ready to be solved.
#[derive(Debug)]
pub struct Opened {
    /// The file.
    pub path: PathBuf,
    /// Its text, with every replaced value in it.
    pub text: String,
    /// The model.
    pub model: Model,
}

/// Read, set and lower a case.
pub fn open(path: &Path, arguments: &SolveArguments) -> Result<Opened, CaseProblem> {
    let bytes = read(path)?;
    let problem = |text: &str, errors| CaseProblem::Errors { path: path.to_owned(), text: text.to_owned(), errors };
    let text = String::from_utf8_lossy(&bytes).into_owned();
    let case = halfmicron::case::parse_bytes(&bytes).map_err(|errors| problem(&text, errors))?;
    let settings: Vec<(&str, &str)> = arguments.settings.iter().map(|(path, value)| (path.as_str(), value.as_str())).collect();
    let case = if settings.is_empty() { case } else { with_settings(&case, &settings).map_err(|(text, errors)| problem(&text, errors))? };
    let model = case.model().map_err(|errors| problem(case.text(), errors))?;
    Ok(Opened { path: path.to_owned(), text: case.text().to_owned(), model })
}

fn with_settings(case: &Case, settings: &[(&str, &str)]) -> Result<Case, (String, CaseErrors)> {
    let text = halfmicron::case::with_settings(case.text(), settings).map_err(|errors| (case.text().to_owned(), errors))?;
    halfmicron::case::parse(&text).map_err(|errors| (text, errors))
}

/// The first bytes of a file that is far too large are enough to say so.
fn read(path: &Path) -> Result<Vec<u8>, CaseProblem> {
    use std::io::Read;
    let problem = |source| CaseProblem::File { path: path.to_owned(), source };
    let file = std::fs::File::open(path).map_err(problem)?;
    let mut bytes = Vec::new();
    file.take(MOST_BYTES as u64 + 1).read_to_end(&mut bytes).map_err(problem)?;
    Ok(bytes)
}

/// The problem drawn: each error underlined where it stands, with the fix.
pub fn draw(problem: &CaseProblem, terminal: Terminal) -> String {
    let CaseProblem::Errors { path, text, errors } = problem else {
        return format!("error: {problem}\n");
    };
    let name = path.display().to_string();
    if terminal.width.is_none() {
        return format!("{}{problem}\n", errors.plain_text(&name, text));
    }
    let theme = if terminal.colour { GraphicalTheme::unicode() } else { GraphicalTheme::unicode_nocolor() };
    let handler = GraphicalReportHandler::new_themed(theme).with_width(terminal.width.unwrap_or(80).max(40));
    let mut drawn = String::new();
    for diagnostic in errors.diagnostics() {
        let underlined = Underlined { source: NamedSource::new(&name, text.clone()), length: text.len(), diagnostic };
        if handler.render_report(&mut drawn, &underlined).is_err() {
            return format!("{}{problem}\n", errors.plain_text(&name, text));
        }
    }
    format!("{drawn}{problem}\n")
}

/// One error of a case file as miette draws it.
#[derive(Debug)]
struct Underlined {
    source: NamedSource<String>,
    length: usize,
    diagnostic: Diagnostic,
}

impl std::fmt::Display for Underlined {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.diagnostic.message)
    }
}

impl std::error::Error for Underlined {}

impl miette::Diagnostic for Underlined {
    fn code<'a>(&'a self) -> Option<Box<dyn std::fmt::Display + 'a>> {
        Some(Box::new(self.diagnostic.code))
    }
    fn help<'a>(&'a self) -> Option<Box<dyn std::fmt::Display + 'a>> {
        (!self.diagnostic.help.is_empty()).then(|| Box::new(&self.diagnostic.help) as Box<dyn std::fmt::Display>)
    }
    fn source_code(&self) -> Option<&dyn SourceCode> {
        self.diagnostic.span.is_some().then_some(&self.source as &dyn SourceCode)
    }
    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        let span = self.diagnostic.span.clone()?;
        let start = span.start.min(self.length);
        let end = span.end.clamp(start, self.length);
        Some(Box::new(std::iter::once(LabeledSpan::new(Some(self.diagnostic.label.to_owned()), start, end - start))))
    }
}

/// Write a starter case.
pub fn new(name: &str, force: bool) -> Answer {
    let path = file_of(name);
    let title = path.file_stem().map_or_else(|| name.to_owned(), |stem| stem.to_string_lossy().into_owned());
    if title.trim().is_empty() {
        return Answer::error("error: a case needs a name, e.g. `halfmicron new my-pump`\n".to_owned());
    }
    if path.exists() && !force {
        let shown = path.display();
        return Answer::error(format!("error: {shown} exists already: choose another name, or replace it with --force\n"));
    }
    match std::fs::write(&path, halfmicron::case::starter(&title)) {
        Ok(()) => Answer::result(format!("{0} written. Change it, then: halfmicron solve {0}\n", path.display())),
        Err(error) if error.kind() == ErrorKind::NotFound => {
            Answer::error(format!("error: there is no folder for {}: make it first\n", path.display()))
        }
        Err(error) => Answer::error(format!("error: {} cannot be written: {error}\n", path.display())),
    }
}

fn file_of(name: &str) -> PathBuf {
    let path = PathBuf::from(name);
    if path.extension().is_some_and(|extension| extension == "toml") { path } else { PathBuf::from(format!("{name}.toml")) }
}

/// Open every case and answer for each; the worst exit code stands for all. Several JSON answers become one array.
pub fn for_each(arguments: &SolveArguments, terminal: Terminal, one: impl Fn(&Opened) -> Answer) -> Answer {
    let mut whole = Answer::default();
    let mut parts: Vec<String> = Vec::new();
    for path in &arguments.cases {
        let answer = match open(path, arguments) {
            Ok(opened) => one(&opened),
            Err(problem) => Answer::error(draw(&problem, terminal)),
        };
        whole.err.push_str(&answer.err);
        whole.code = whole.code.max(answer.code);
        if !answer.out.is_empty() {
            parts.push(answer.out);
        }
    }
    whole.out = match (arguments.format, arguments.cases.len()) {
        (Format::Json, count) if count > 1 => format!("[\n{}]\n", parts.join(",\n")),
        _ => parts.join("\n\n"),
    };
    whole
}

/// The duties asked for, all without any; an unknown name is told with the known ones.
pub fn duties<'a>(model: &'a Model, asked: &[String]) -> Result<Vec<&'a Duty>, String> {
    let known = || model.duties.iter().map(|duty| format!("\"{}\"", duty.name)).collect::<Vec<_>>().join(", ");
    if let Some(unknown) = asked.iter().find(|name| !model.duties.iter().any(|duty| duty.name == **name)) {
        return Err(format!("no duty is named \"{unknown}\"; the case has {}", known()));
    }
    Ok(model.duties.iter().filter(|duty| asked.is_empty() || asked.contains(&duty.name)).collect())
}

/// The one duty asked for, or the only one of the case; `what` begins the sentence that asks for it.
pub fn one_duty(model: &Model, asked: &[String], what: &str) -> Result<String, String> {
    let found = duties(model, asked).map_err(|message| format!("error: {message}\n"))?;
    match found[..] {
        [only] => Ok(only.name.clone()),
        _ => {
            let names: Vec<String> = found.iter().map(|duty| format!("\"{}\"", duty.name)).collect();
            Err(format!("error: {what} of one duty: name it with --duty; there are {}\n", names.join(", ")))
        }
    }
}
