#![allow(clippy::disallowed_methods, reason = "tests read the shipped cases")]

use std::collections::BTreeSet;

use halfmicron::model::Model;
use halfmicron::outcome::{DutyOutcome, Outcome};
use halfmicron::sheet::units::{self, Unit};
use halfmicron::sheet::{Row, Sheet, UnitSet, sheet};
use halfmicron_report::report::{Content, Kind, Paper, Part, ReportError, Subject, TitleBlock, content, html, pdf, report};
use serde_json::Value;

use super::pdf_text::pages;

/// A case with what came out of it.
struct Solved {
    text: String,
    model: Model,
    outcome: Outcome,
}

fn case_text(name: &str) -> String {
    std::fs::read_to_string(format!("{}/../../cases/{name}.toml", env!("CARGO_MANIFEST_DIR"))).expect("a shipped case")
}

fn solved(text: String, duties: &[&str]) -> Solved {
    let model = halfmicron::case::parse(&text).expect("a case").model().expect("a model");
    let duties: Vec<String> = duties.iter().map(|name| (*name).to_owned()).collect();
    let outcome = halfmicron::solve(&model, &duties).expect("solved");
    Solved { text, model, outcome }
}

impl Solved {
    fn sheet(&self, units: UnitSet) -> Sheet {
        sheet(&self.model, &self.outcome, units)
    }

    fn subject<'a>(&'a self, sheet: &'a Sheet) -> Subject<'a> {
        Subject { model: &self.model, outcome: &self.outcome, sheet, case_text: &self.text }
    }
}

fn title() -> TitleBlock {
    TitleBlock {
        project: "Salt ponds".to_owned(),
        revision: "A".to_owned(),
        author: "A. Writer".to_owned(),
        file: "case.toml".to_owned(),
        command: "halfmicron report case.toml -o case.pdf".to_owned(),
    }
}

/// Numbers of a text: digits with a decimal point, an exponent; a sign is left out, since a hyphen may be one.
fn numbers(text: &str) -> BTreeSet<String> {
    let letters: Vec<char> = text.chars().collect();
    let mut found = BTreeSet::new();
    let mut at = 0;
    while at < letters.len() {
        if !letters[at].is_ascii_digit() {
            at += 1;
            continue;
        }
        let from = at;
        while at < letters.len()
            && (letters[at].is_ascii_digit() || (letters[at] == '.' && letters.get(at + 1).is_some_and(char::is_ascii_digit)))
        {
            at += 1;
        }
        if letters.get(at) == Some(&'e') && letters.get(at + 1).is_some_and(|next| *next == '-' || next.is_ascii_digit()) {
            at += 2;
            while letters.get(at).is_some_and(char::is_ascii_digit) {
                at += 1;
            }
        }
        found.insert(letters[from..at].iter().collect());
    }
    found
}

/// Numbers of the texts that the program carries: rules, models, checks, sources.
fn numbers_of_fixed_texts() -> BTreeSet<String> {
    let mut texts: Vec<String> = Vec::new();
    texts.extend(halfmicron::rules::registry().iter().map(|rule| format!("{} {} {} {}", rule.id, rule.statement, rule.limit, rule.hint)));
    texts.extend(halfmicron_checks::models::MODELS.iter().map(|known| format!("{} {} {}", known.title, known.valid_when, known.source)));
    texts.extend(halfmicron_checks::models::MODELS.iter().map(|known| halfmicron::rules::models::proof_state(known.id)));
    texts.extend(halfmicron_properties::all_sources().iter().map(|source| format!("{} {}", source.key, source.text)));
    texts.push("pi/4 0.5 12 BLAKE3".to_owned());
    texts.iter().flat_map(|text| numbers(text)).collect()
}

/// Numbers of sheet, outcome and case, curves left out: their many points would excuse any number.
fn numbers_of_result(case: &Solved, sheet: &Sheet) -> BTreeSet<String> {
    let mut shown = sheet.clone();
    shown.curves.clear();
    shown.charts.clear();
    let json = serde_json::to_string(&shown).expect("JSON");
    let provenance = serde_json::to_string(&case.outcome.provenance).expect("JSON");
    [json.as_str(), &provenance, &case.text].into_iter().flat_map(numbers).collect()
}

#[test]
fn every_number_is_of_the_sheet_the_case_or_a_fixed_text() {
    let fixed = numbers_of_fixed_texts();
    for (name, duties) in [("brine-booster", &[][..]), ("nitrogen-pump", &["normal"][..]), ("thermal-oil", &["normal"][..])] {
        let case = solved(case_text(name), duties);
        for units in [UnitSet::Si, UnitSet::Us] {
            let sheet = case.sheet(units);
            let known = numbers_of_result(&case, &sheet);
            let content = content(&case.subject(&sheet), &title());
            let mut count = 0;
            for text in texts_outside_figures(&content) {
                for number in numbers(text) {
                    count += 1;
                    assert!(known.contains(&number) || fixed.contains(&number), "{name}: {number} of \"{text}\" is in no sheet");
                }
            }
            assert!(count > 300, "{name}: {count} numbers");
        }
    }
}

/// A value of the outcome under the key of a row: of the duty, or of its chosen equilibrium.
fn value_of<'a>(duty: &'a Value, key: &str) -> Option<&'a Value> {
    let under = |root: &'a Value| key.split('.').try_fold(root, |value, name| value.get(name));
    let chosen = duty.get("chosen").and_then(Value::as_u64).and_then(|index| duty["equilibria"].get(index as usize));
    under(duty).or_else(|| chosen.and_then(under)).filter(|value| value.is_number() || value.get("nominal").is_some())
}

fn unit_of(row: &Row, units: UnitSet) -> Option<Unit> {
    use units::Kind as K;
    let kinds = [
        K::Number,
        K::Share,
        K::SmallLength,
        K::Length,
        K::AbsolutePressure,
        K::LowAbsolutePressure,
        K::Pressure,
        K::Temperature,
        K::TemperatureDifference,
        K::Force,
        K::Torque,
        K::Power,
        K::Speed,
        K::ShaftSpeed,
        K::PressureSpeed,
        K::VolumeLeakage,
        K::MassLeakage,
        K::Area,
        K::Hours,
    ];
    kinds.into_iter().map(|kind| units::unit(kind, units)).find(|unit| unit.label == row.unit)
}

/// Whether the text is the value rounded to the digits that it shows.
fn rounds(text: &str, value: f64) -> bool {
    let shown: f64 = text.parse().unwrap_or_else(|_| panic!("\"{text}\" is no number"));
    let (mantissa, exponent) = text.split_once('e').unwrap_or((text, "0"));
    let decimals = mantissa.split_once('.').map_or(0, |(_, decimals)| decimals.len() as i32);
    let exponent: i32 = exponent.parse().expect("an exponent");
    // Whole numbers may be rounded to tens and more: trailing zeros count as unknown.
    let zeros = if decimals == 0 { mantissa.chars().rev().take_while(|digit| *digit == '0').count() as i32 } else { 0 };
    (shown - value).abs() <= 0.500_01 * 10f64.powi(exponent - decimals + zeros) || (shown == 0.0 && value.abs() < 0.01)
}

/// The sheet is where numbers are rounded: each must be the outcome's, in its unit, to the digits shown.
#[test]
fn numbers_of_the_sheet_are_roundings_of_the_outcome() {
    let case = solved(case_text("brine-booster"), &["static test", "normal", "maximum"]);
    let duties: Vec<Value> = case.outcome.duties.iter().map(|duty: &DutyOutcome| serde_json::to_value(duty).expect("JSON")).collect();
    for units in [UnitSet::Si, UnitSet::Us] {
        let sheet = case.sheet(units);
        let mut compared: BTreeSet<&str> = BTreeSet::new();
        for row in sheet.blocks.iter().chain([&sheet.hand]).flat_map(|block| &block.rows) {
            let Some(unit) = unit_of(row, units) else { continue };
            for (cell, duty) in row.cells.iter().zip(&duties) {
                let Some(value) = value_of(duty, &row.key) else { continue };
                if let Some(bound) = cell.text.strip_prefix("below ") {
                    let bound: f64 = bound.parse().expect("a number");
                    assert!(value.as_f64().is_some_and(|value| value.abs() < bound), "{}: {value}", row.key);
                    continue;
                }
                let shown = cell.text.trim_start_matches("at least ").replace(['(', ')'], "");
                let shown: Vec<&str> = shown.split_whitespace().filter(|word| *word != "to").collect();
                let expected: Vec<f64> = match value.as_f64() {
                    Some(value) => vec![value],
                    None => ["nominal", "low", "high"].iter().filter_map(|end| value[end].as_f64()).collect(),
                };
                for (text, value) in shown.iter().zip(&expected).filter(|(text, _)| **text != "-") {
                    assert!(rounds(text, unit.convert(*value)), "{}: {text} {} is not {}", row.key, row.unit, unit.convert(*value));
                    compared.insert(&row.key);
                }
            }
        }
        for key in
            ["minimum_film_m", "leakage_m3_per_s", "power_w", "face_temperature_max_k", "contact_share", "closing_force_n", "hand.area_m2"]
        {
            assert!(compared.contains(key), "{key} was not compared");
        }
        assert!(compared.len() > 25, "{compared:?}");
    }
}

#[test]
fn the_same_input_gives_the_same_bytes() {
    let case = solved(case_text("brine-booster"), &["normal"]);
    let sheet = case.sheet(UnitSet::Si);
    let made = |kind, paper| {
        // What the typesetter remembers of an earlier run would make this true by itself.
        typst::comemo::evict(0);
        report(&case.subject(&sheet), &title(), kind, paper).expect("a report")
    };
    for kind in [Kind::Html, Kind::Pdf] {
        for paper in [Paper::A4, Paper::Letter] {
            assert_eq!(made(kind, paper), made(kind, paper), "{kind:?} {paper:?}");
        }
        assert_ne!(made(kind, Paper::A4), made(kind, Paper::Letter), "{kind:?}");
    }
}

/// Text of the report must be read as text, whatever the reader's typefaces: and all of it, within the page.
#[test]
fn a_pdf_reads_back_whole() {
    let case = solved(case_text("brine-booster"), &["normal", "suction lost"]);
    let sheet = case.sheet(UnitSet::Us);
    let content = content(&case.subject(&sheet), &title());
    for (paper, size) in [(Paper::A4, (595.28, 841.89)), (Paper::Letter, (612.0, 792.0))] {
        let bytes = pdf(&content, paper).expect("a PDF");
        let pages = pages(&bytes);
        let text: String = pages.iter().map(|page| page.text.as_str()).collect();
        for said in words_outside_figures(&content) {
            assert!(text.contains(&said), "{paper:?}: \"{said}\" is not in the file");
        }
        for (index, page) in pages.iter().enumerate() {
            assert_eq!(page.unreadable, 0, "page {}", index + 1);
            let (short, long) = (page.size.0.min(page.size.1), page.size.0.max(page.size.1));
            assert!((short - f64::min(size.0, size.1)).abs() < 0.1 && (long - f64::max(size.0, size.1)).abs() < 0.1, "{:?}", page.size);
            assert!(page.text.contains(&format!("page{}of{}", index + 1, pages.len())), "page {} has no number", index + 1);
            let margin = 28.0;
            let within =
                |place: &(f64, f64)| (margin..page.size.0 - margin).contains(&place.0) && (margin..page.size.1 - margin).contains(&place.1);
            assert!(page.places.iter().all(within), "page {} has letters in its margin", index + 1);
        }
        assert!(pages.iter().any(|page| page.size.0 > page.size.1), "the drawing lies across");
        let raw = String::from_utf8_lossy(&bytes);
        assert!(raw.contains("/StructTreeRoot") && raw.contains("/MarkInfo"), "not tagged");
        assert!(!raw.contains("CreationDate"), "a date would differ from run to run");
    }
}

/// Every text but what is said of pictures, their scales among it, for which the pictures are answerable.
fn texts_outside_figures(content: &Content) -> Vec<&str> {
    let descriptions: Vec<&str> = content.figures().flat_map(|figure| [figure.words.as_str(), &figure.caption]).collect();
    content.texts().into_iter().filter(|text| !descriptions.contains(text)).collect()
}

/// Every word of these.
fn words_outside_figures(content: &Content) -> Vec<String> {
    texts_outside_figures(content).into_iter().flat_map(str::split_whitespace).map(str::to_owned).collect()
}

/// Signs that mean something to the typesetter or to HTML are letters like any other.
#[test]
fn a_title_is_text_and_never_markup() {
    let nasty = r##"#panic("x") $y$ *a* _b_ [c] <b>&amp; @d `e` \f ~ // g"##;
    let text = case_text("brine-booster").replace("title = \"Brine booster pump, drive end\"", &format!("title = '{nasty}'"));
    let case = solved(text, &["normal"]);
    let sheet = case.sheet(UnitSet::Si);
    let title = TitleBlock { project: nasty.to_owned(), author: "#author".to_owned(), ..title() };
    let content = content(&case.subject(&sheet), &title);
    assert_eq!(content.title, nasty);
    let bytes = pdf(&content, Paper::A4).expect("a PDF");
    let text: String = pages(&bytes).iter().map(|page| page.text.as_str()).collect();
    let bare: String = nasty.chars().filter(|letter| !letter.is_whitespace()).collect();
    assert!(text.matches(&bare).count() >= 3, "title, project and foot");
    let page = html(&content, Paper::A4);
    assert!(page.contains("[c] &lt;b&gt;&amp;amp; @d") && !page.contains("<b>&amp; @d"));
}

#[test]
fn letters_without_a_sign_are_named() {
    let case = solved(case_text("brine-booster"), &["normal"]);
    let sheet = case.sheet(UnitSet::Si);
    let subject = case.subject(&sheet);
    let title = TitleBlock { project: "\u{6d77}\u{6c34} pump".to_owned(), ..title() };
    assert_eq!(report(&subject, &title, Kind::Pdf, Paper::A4), Err(ReportError::Letters(vec!['\u{6c34}', '\u{6d77}'])));
    assert!(report(&subject, &title, Kind::Html, Paper::A4).is_ok(), "a reader of HTML has typefaces of their own");
    let greek = TitleBlock { project: "\u{394}p \u{d8}52 Ма\u{161}ина".to_owned(), ..title };
    assert!(report(&subject, &greek, Kind::Pdf, Paper::A4).is_ok());
}

/// Nothing from outside, no script, and no two things of one name.
#[test]
fn html_stands_alone() {
    let case = solved(case_text("brine-booster"), &["normal"]);
    let sheet = case.sheet(UnitSet::Si);
    let page = html(&content(&case.subject(&sheet), &title()), Paper::A4);
    let outside = page.replace("xmlns=\"http://www.w3.org/2000/svg\"", "");
    for word in ["http://", "https://", "<script", "<link", "@import", "src=", "url(http"] {
        assert!(!outside.contains(word), "{word}");
    }
    let mut ids: Vec<&str> = page.split(" id=\"").skip(1).filter_map(|rest| rest.split('"').next()).collect();
    let count = ids.len();
    ids.sort_unstable();
    ids.dedup();
    assert_eq!(ids.len(), count, "an id twice");
    for named in page.split("aria-labelledby=\"").skip(1).filter_map(|rest| rest.split('"').next()).flat_map(str::split_whitespace) {
        assert!(ids.binary_search(&named).is_ok(), "{named} is nowhere");
    }
}

/// Every section that a signature rests on is there, for a case without an answer, too.
#[test]
fn a_case_without_an_answer_still_reports() {
    let case = solved(case_text("brine-booster").replace("spring_force = \"190 N\"", "spring_force = \"1 N\""), &["static test", "normal"]);
    let sheet = case.sheet(UnitSet::Si);
    let content = content(&case.subject(&sheet), &TitleBlock::default());
    let keys: Vec<&str> = content.sections.iter().map(|section| section.key).collect();
    for key in
        ["summary", "duties", "results", "hand", "verdicts", "notices", "models", "materials", "faces", "cautions", "provenance", "case"]
    {
        assert!(keys.contains(&key), "{key} is missing of {keys:?}");
    }
    assert!(content.title_block.iter().any(|field| field.label == "Signature" && field.text.is_empty()));
    pdf(&content, Paper::Letter).expect("a PDF");
}

/// Grooves are drawn on a page of their own, in both kinds of file; a plain face has none.
#[test]
fn a_textured_face_has_its_page() {
    let grooves = "\n[[texture]]\non = \"stationary\"\nkind = \"radial grooves\"\ncount = 6\ndepth = \"2 um\"\ninner = \"56 mm\"\nouter = \"61.6 mm\"\n";
    let text = case_text("brine-booster");
    for (text, expected) in [(text.clone() + grooves, 1), (text, 0)] {
        let case = solved(text, &["standstill"]);
        let sheet = case.sheet(UnitSet::Si);
        let content = content(&case.subject(&sheet), &title());
        let faces: Vec<_> = content.figures().filter(|figure| figure.name == "face.svg").collect();
        assert_eq!(faces.len(), expected);
        for figure in faces {
            assert!(figure.svg.contains("6 radial grooves in the stationary") && figure.words.contains("2 um deep"), "{}", figure.words);
            let words: String = pages(&pdf(&content, Paper::A4).expect("a PDF")).iter().map(|page| page.text.as_str()).collect();
            assert!(words.contains("\u{d8}56groovesbegin"), "the drawing is in the file");
            assert!(html(&content, Paper::A4).contains("\u{d8}56 grooves begin"));
        }
    }
}

/// More than four duties beside each other cannot be read on a portrait page.
#[test]
fn tables_of_numbers_hold_few_duties() {
    let case = solved(case_text("brine-booster"), &[]);
    let sheet = case.sheet(UnitSet::Si);
    let content = content(&case.subject(&sheet), &title());
    let results = content.sections.iter().find(|section| section.key == "results").expect("results");
    let tables: Vec<_> = results.parts.iter().filter_map(|part| if let Part::Table(table) = part { Some(table) } else { None }).collect();
    assert_eq!(tables.len(), 2);
    let heads: Vec<&str> = tables.iter().flat_map(|table| &table.columns[2..]).map(|column| column.head.as_str()).collect();
    assert_eq!(heads, sheet.columns.iter().map(|duty| duty.name.as_str()).collect::<Vec<_>>());
    assert!(tables.iter().all(|table| table.columns.len() <= 6));
}
