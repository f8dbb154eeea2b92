//! Why of one result.

use std::path::PathBuf;

use clap::Args;
use comfy_table::Table;
use halfmicron::why::{Origin, Why, WhyInput, WhyModel, WhyRule, keys, why_in};

use super::cases::{self, Opened};
use super::write::{Page, cell};
use super::{Format, Shown, SolveArguments, Units, setting};
use crate::{Answer, Terminal};

/// Arguments of `why`.
#[derive(Debug, Clone, Args)]
pub struct WhyArguments {
    /// Case file
    #[arg(value_name = "CASE")]
    case: PathBuf,
    /// Key of a result, as in the JSON, or id of a rule; without one the keys are listed
    key: Option<String>,
    /// Duty; needed where the case has more than one
    #[arg(long, value_name = "NAME")]
    duty: Option<String>,
    /// How to write
    #[arg(long, value_enum, default_value = "table")]
    format: Format,
    /// Units
    #[arg(long, value_enum, default_value = "si")]
    units: Units,
    /// Replace one value, e.g. duty.normal.pressure="14 bar(g)"; may be repeated; the file stays as it is
    #[arg(long = "set", value_name = "PATH=VALUE", value_parser = setting)]
    settings: Vec<(String, String)>,
}

/// Say why a result of a case is what it is.
pub fn why(arguments: &WhyArguments, terminal: Terminal) -> Answer {
    let solving = SolveArguments {
        cases: vec![arguments.case.clone()],
        duties: arguments.duty.iter().cloned().collect(),
        format: arguments.format,
        units: arguments.units,
        settings: arguments.settings.clone(),
        notices: Shown::Main,
        verdicts: Shown::Main,
    };
    cases::for_each(&solving, terminal, |opened| one(arguments, &solving, opened, terminal))
}

fn one(arguments: &WhyArguments, solving: &SolveArguments, opened: &Opened, terminal: Terminal) -> Answer {
    let duty = match cases::one_duty(&opened.model, &solving.duties, "a why is") {
        Ok(duty) => duty,
        Err(message) => return Answer::error(message),
    };
    // Rules over all duties need them all.
    let outcome = match halfmicron::solve(&opened.model, &[]) {
        Ok(outcome) => outcome,
        Err(error) => return Answer::error(format!("error: {}: {error}\n", opened.path.display())),
    };
    let Some(of_duty) = outcome.duties.iter().find(|known| known.name == duty) else {
        return Answer::error(format!("error: {}: the duty \"{duty}\" was not solved\n", opened.path.display()));
    };
    let units = arguments.units.set();
    let known = keys(&opened.model, of_duty, &outcome.verdicts);
    let Some(key) = arguments.key.as_deref() else {
        let labelled = known.iter().filter_map(|key| why_in(&opened.model, &outcome, &duty, key, units));
        let lines: Vec<Why> = labelled.collect();
        return answer(arguments.format, &lines.iter().map(|why| &why.key).collect::<Vec<_>>(), || listed(&lines, terminal));
    };
    match why_in(&opened.model, &outcome, &duty, key, units) {
        Some(why) => answer(arguments.format, &why, || draw(&why, terminal)),
        None => Answer::error(unknown(key, &known)),
    }
}

fn answer(format: Format, value: &impl serde::Serialize, text: impl FnOnce() -> String) -> Answer {
    match format {
        Format::Table => Answer::result(text()),
        Format::Json => match serde_json::to_string_pretty(value) {
            Ok(text) => Answer::result(text + "\n"),
            Err(error) => Answer::error(format!("error: the result cannot be written as JSON: {error}\n")),
        },
    }
}

fn unknown(key: &str, known: &[String]) -> String {
    let part = key.split(['.', '_']).next().unwrap_or(key);
    let near: Vec<&str> =
        known.iter().map(String::as_str).filter(|other| other.contains(key) || (part.len() > 2 && other.contains(part))).collect();
    let hint =
        if near.is_empty() { "without a key the command lists them all".to_owned() } else { format!("there are {}", near.join(", ")) };
    format!("error: `{key}` is no result or rule of this duty; {hint}\n")
}

/// Every key with its label and value.
fn listed(all: &[Why], terminal: Terminal) -> String {
    let mut page = Page::new(terminal);
    page.heading("Results and rules whose why can be asked");
    let mut table = Table::new();
    for why in all {
        table.add_row(vec![cell(&why.key), cell(&why.label), cell(&why.value), cell(&why.unit)]);
    }
    page.table(table);
    page.finish()
}

fn draw(why: &Why, terminal: Terminal) -> String {
    let mut page = Page::new(terminal);
    page.heading(format!("{}: {} {}", why.label, why.value, why.unit).trim_end());
    page.line(&format!("  duty {}, {}", why.duty, why.key));
    page.line("");
    if !why.equation.is_empty() {
        page.paragraph("  ", "    ", &why.equation);
    }
    page.paragraph("  ", "  ", &why.equation_words);
    if !why.remark.is_empty() {
        page.paragraph("  ", "    ", &format!("Here: {}", why.remark));
    }
    entered(&mut page, &why.inputs);
    behind(&mut page, &why.models);
    judged(&mut page, &why.rules);
    page.line("");
    page.paragraph("", "", "Local codes and the licensed or competent person of the place come before this result.");
    page.finish()
}

fn entered(page: &mut Page, inputs: &[WhyInput]) {
    if inputs.is_empty() {
        return;
    }
    page.heading("What entered");
    let mut table = Table::new();
    for input in inputs {
        let from = match (input.from, &input.path, &input.result) {
            (Origin::Case, Some(path), _) => format!("case: {path}"),
            (Origin::Case, None, _) => "case".to_owned(),
            (Origin::Default, Some(path), _) => format!("default: {path}"),
            (Origin::Default, None, _) => "default".to_owned(),
            (Origin::Library, ..) => "library".to_owned(),
            (Origin::Solved, _, Some(key)) => format!("solved: {key}"),
            (Origin::Solved, ..) => "solved".to_owned(),
            (Origin::Constant, ..) => "constant".to_owned(),
        };
        let texts = [&format!("  {}", input.symbol), &input.label, &format!("{} {}", input.value, input.unit), &from];
        table.add_row(texts.map(|text| cell(text.trim_end())).to_vec());
    }
    page.table(table);
    let mut noted: Vec<&str> = Vec::new();
    for input in inputs.iter().filter(|input| !input.note.is_empty()) {
        if !noted.contains(&input.note.as_str()) {
            noted.push(&input.note);
            page.paragraph("  ", "    ", &format!("{}: {}", input.label, input.note));
        }
    }
}

fn behind(page: &mut Page, models: &[WhyModel]) {
    if models.is_empty() {
        return;
    }
    page.heading("Models");
    for model in models {
        let proof = if model.proven { format!("checked by {}", model.checked_by.join(", ")) } else { "unproven".to_owned() };
        page.paragraph("  ", "    ", &format!("{} ({proof}): {}", model.id, model.title));
        let here = match (model.within_range, model.range.as_str()) {
            (_, "") => String::new(),
            (Some(true), range) => format!(" Here inside: {range}."),
            (Some(false), range) => format!(" Here outside: {range}."),
            (None, range) => format!(" Here: {range}."),
        };
        let headings = [
            ("What", model.what.clone()),
            ("Equation", model.equation.clone()),
            ("Valid when", format!("{}{here}", model.valid_when)),
            ("Source", model.source.clone()),
            ("Checked by", model.checks.clone()),
        ];
        for (heading, text) in headings {
            page.paragraph("    ", "      ", &format!("{heading}: {text}"));
        }
    }
}

fn judged(page: &mut Page, rules: &[WhyRule]) {
    if rules.is_empty() {
        return;
    }
    page.heading("Rules that judge it");
    for rule in rules {
        let hint = if rule.hint.is_empty() { String::new() } else { format!(" {}", rule.hint) };
        let reason = rule.reason.trim_end_matches('.');
        page.verdict(rule.word, &format!("{}: {reason}.{hint} Limit: {} ({}).", rule.id, rule.limit, rule.source));
    }
}

#[cfg(test)]
mod tests {
    use super::unknown;

    #[test]
    fn an_unknown_key_is_told_with_those_like_it() {
        let known = ["power_w", "hand.area_m2", "heat.power"].map(str::to_owned);
        assert!(unknown("power", &known).contains("power_w, heat.power"));
        assert!(unknown("colour", &known).contains("lists them all"));
    }
}
