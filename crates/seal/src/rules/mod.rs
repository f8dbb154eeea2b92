//! Rules of standards and of practice: one function a rule, one registry, one word a verdict.
//!
//! A rule says in our words what it asks, which word a breach earns, where its limit comes from and what to do. Its
//! function returns the verdict with the numbers that it compared, or says why the rule does not apply or cannot be
//! assessed. Every limit is a default of practice unless its source tag says more; the user's `[limits]` replace it.
//!
//! Reasons are written with SI quantities by the functions of [`text`]; the sheet turns these into the reader's units.

mod balance;
mod boiling;
mod duty;
pub mod facts;
mod film;
mod finish;
mod fitness;
mod hazard;
mod heat;
mod honesty;
mod leakage;
pub mod models;
mod secondary;
mod speed;
mod strength;
mod supply;
#[cfg(test)]
pub(crate) mod testing;
pub mod text;
pub mod view;

use crate::model::{Duty, Model};
use crate::outcome::{DutyOutcome, Outcome, Status, Verdict, Word};

pub(crate) use hazard::stored_dangers;
pub(crate) use leakage::volume_limit_m3_per_s;
pub use view::{CaseView, DutyView};

/// What a breach of the rule earns.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Breach {
    /// `fails`: exit code 1.
    Fail,
    /// `watch`: the answer stands, the engineer must look.
    Caution,
    /// `holds` with a note: information.
    Note,
}

/// Where a limit comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Source {
    /// Open standard, clause not verified here.
    Standard,
    /// The standard's figure read in a public secondary text.
    Secondary,
    /// Public regulation, text read.
    Regulation,
    /// Handbook.
    Handbook,
    /// Common practice, no source.
    Practice,
    /// From memory of standards or literature, to be confirmed.
    Memory,
    /// Geometry or physics, needs no source.
    Geometry,
    /// The user's own limit.
    User,
}

impl Source {
    /// Short tag as printed beside a verdict.
    pub fn tag(self) -> &'static str {
        match self {
            Source::Standard => "std",
            Source::Secondary => "sec",
            Source::Regulation => "cfr",
            Source::Handbook => "hb",
            Source::Practice => "cp",
            Source::Memory => "mem",
            Source::Geometry => "geo",
            Source::User => "user",
        }
    }

    /// What a tag means, in words.
    pub fn meaning(tag: &str) -> &'static str {
        match tag {
            "std" => "open standard, clause not verified here",
            "sec" => "standard's figure read in a public secondary text",
            "cfr" => "public regulation, text read",
            "hb" => "handbook",
            "cp" => "common practice, no source",
            "mem" => "from memory, to be confirmed",
            "geo" => "geometry or physics",
            "user" => "your own limit",
            _ => "unknown source",
        }
    }
}

/// One rule.
#[derive(Debug, Clone, Copy)]
pub struct Rule {
    /// Stable id.
    pub id: &'static str,
    /// Heading under which it is listed.
    pub group: &'static str,
    /// What it asks, in our words.
    pub statement: &'static str,
    /// What a breach earns.
    pub breach: Breach,
    /// Where the limit comes from.
    pub source: Source,
    /// The limit in words.
    pub limit: &'static str,
    /// What to do about a breach.
    pub hint: &'static str,
    /// How it is judged.
    pub judge: Judge,
}

/// How a rule is judged.
#[derive(Debug, Clone, Copy)]
pub enum Judge {
    /// At each duty.
    Duty(fn(&DutyView) -> Judged),
    /// Once, over all duties.
    Case(fn(&CaseView) -> Judged),
}

/// How the reason of a `holds` begins that the reader should know all the same.
pub(crate) const NOTE: &str = "note: ";

/// Answer of a rule.
pub type Judged = Result<Assessment, Skip>;

/// Why a rule gives no comparison.
#[derive(Debug, Clone, PartialEq)]
pub enum Skip {
    /// It says nothing about this case: no verdict.
    DoesNotApply,
    /// It would, but a quantity is missing: `not-computed` with this reason.
    NotComputed(String),
}

/// How a comparison came out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Comparison {
    Holds,
    Note,
    Watch,
    Fails,
}

/// A comparison made.
#[derive(Debug, Clone, PartialEq)]
pub struct Assessment {
    result: Comparison,
    reason: String,
    value: Option<f64>,
    limit: Option<f64>,
    source: Option<Source>,
    /// Whether the nominal value stands on the good side of the limit, whatever else earned the word.
    good: bool,
}

impl Assessment {
    fn of(result: Comparison, reason: impl Into<String>) -> Self {
        let good = matches!(result, Comparison::Holds | Comparison::Note);
        Self { result, reason: reason.into(), value: None, limit: None, source: None, good }
    }
    /// Within the limit.
    pub fn holds(reason: impl Into<String>) -> Self {
        Self::of(Comparison::Holds, reason)
    }
    /// Nothing is wrong, but the reader should know.
    pub fn note(reason: impl Into<String>) -> Self {
        Self::of(Comparison::Note, reason)
    }
    /// The engineer must look.
    pub fn watch(reason: impl Into<String>) -> Self {
        Self::of(Comparison::Watch, reason)
    }
    /// Not acceptable.
    pub fn fails(reason: impl Into<String>) -> Self {
        Self::of(Comparison::Fails, reason)
    }
    /// `holds` if within, else the breach given.
    pub fn within(within: bool, breach: Breach, reason: impl Into<String>) -> Self {
        match (within, breach) {
            (true, _) => Self::holds(reason),
            (false, Breach::Fail) => Self::fails(reason),
            (false, Breach::Caution) => Self::watch(reason),
            (false, Breach::Note) => Self::note(reason),
        }
    }
    /// Word by two limits: `watch` above the first, `fails` above the second.
    pub fn graded(value: f64, caution_above: f64, fail_above: f64, reason: impl Into<String>) -> Self {
        let assessment = if value > fail_above {
            Self::fails(reason)
        } else if value > caution_above {
            Self::watch(reason)
        } else {
            Self::holds(reason)
        };
        assessment.compared(value, caution_above)
    }
    /// With the numbers that were compared, SI.
    pub fn compared(mut self, value: f64, limit: f64) -> Self {
        self.value = Some(value).filter(|v| v.is_finite());
        self.limit = Some(limit).filter(|l| l.is_finite());
        self
    }
    /// With a source other than the rule's own.
    pub fn sourced(mut self, source: Source) -> Self {
        self.source = Some(source);
        self
    }
    /// Where the nominal holds but the unfavourable end of its range, named by `end`, crosses the limit: what a breach
    /// earns, but `watch` at most.
    pub fn unless_range_crosses(mut self, crosses: bool, breach: Breach, end: impl FnOnce() -> String) -> Self {
        if self.result == Comparison::Holds && crosses {
            self.result = if breach == Breach::Note { Comparison::Note } else { Comparison::Watch };
            self.reason = format!("{}; {}", self.reason, end());
        }
        self
    }
    /// No better than `watch`.
    pub fn at_best_watch(mut self) -> Self {
        if matches!(self.result, Comparison::Holds | Comparison::Note) {
            self.result = Comparison::Watch;
        }
        self
    }
    /// How far the nominal stands beyond the limit, in limits; negative by how much is left.
    fn excess(&self) -> Option<f64> {
        let (value, limit) = (self.value?, self.limit?);
        let away = (value - limit).abs() / if limit == 0.0 { 1.0 } else { limit.abs() };
        Some(if self.good { -away } else { away })
    }
    /// Word of the verdict.
    pub fn word(&self) -> Word {
        match self.result {
            Comparison::Holds | Comparison::Note => Word::Holds,
            Comparison::Watch => Word::Watch,
            Comparison::Fails => Word::Fails,
        }
    }
}

/// Every rule, in the order of the groups.
pub fn registry() -> &'static [Rule] {
    use std::sync::OnceLock;
    static REGISTRY: OnceLock<Vec<Rule>> = OnceLock::new();
    REGISTRY.get_or_init(|| {
        [
            duty::RULES,
            balance::RULES,
            speed::RULES,
            heat::RULES,
            boiling::RULES,
            film::RULES,
            finish::RULES,
            secondary::RULES,
            strength::RULES,
            supply::RULES,
            hazard::RULES,
            fitness::RULES,
            leakage::RULES,
            honesty::RULES,
        ]
        .concat()
    })
}

/// The rule of that id.
pub fn rule(id: &str) -> Option<&'static Rule> {
    registry().iter().find(|rule| rule.id == id)
}

/// Verdicts of the rules that look at one duty.
pub fn judge(model: &Model, duty: &Duty, outcome: &DutyOutcome) -> Vec<Verdict> {
    let view = DutyView::new(model, duty, outcome);
    let judged = registry().iter().filter_map(|rule| match rule.judge {
        Judge::Duty(function) => verdict(rule, function(&view)),
        Judge::Case(_) => None,
    });
    judged.collect()
}

/// Verdicts of the rules that look over all duties of a case.
pub fn case_verdicts(model: &Model, outcome: &Outcome) -> Vec<Verdict> {
    let view = CaseView::new(model, outcome);
    let judged = registry().iter().filter_map(|rule| match rule.judge {
        Judge::Case(function) => verdict(rule, function(&view)),
        Judge::Duty(_) => None,
    });
    judged.collect()
}

fn verdict(rule: &Rule, judged: Judged) -> Option<Verdict> {
    let written = |word, reason, source: Source, value, limit, excess| Verdict {
        rule: rule.id.to_owned(),
        word,
        reason,
        hint: rule.hint.to_owned(),
        source: source.tag().to_owned(),
        value,
        limit,
        excess,
    };
    match judged {
        Err(Skip::DoesNotApply) => None,
        Err(Skip::NotComputed(reason)) => Some(written(Word::NotComputed, reason, rule.source, None, None, None)),
        Ok(a) => {
            let note = if a.result == Comparison::Note { NOTE } else { "" };
            Some(written(a.word(), format!("{note}{}", a.reason), a.source.unwrap_or(rule.source), a.value, a.limit, a.excess()))
        }
    }
}

/// Whether the duty was answered: solved, or shown to have no equilibrium.
pub fn is_computed(status: Status) -> bool {
    match status {
        Status::Solved | Status::NoneFacesTouch | Status::NoneFacesPart | Status::NoneStable => true,
        Status::NotConverged | Status::NotModelled | Status::OutOfRange => false,
    }
}

/// Exit code of a result: 0 acceptable, 1 computed but a rule fails, 2 something was not computed.
pub fn exit_code(outcome: &Outcome) -> u8 {
    if outcome.duties.is_empty() || outcome.duties.iter().any(|duty| !is_computed(duty.status)) {
        return 2;
    }
    let mut verdicts = outcome.duties.iter().flat_map(|duty| &duty.verdicts).chain(&outcome.verdicts);
    u8::from(verdicts.any(|verdict| verdict.word == Word::Fails))
}

/// The worst word of some verdicts: `fails` before `watch` before `not-computed` before `holds`.
pub fn worst_word<'a>(verdicts: impl IntoIterator<Item = &'a Verdict>) -> Option<Word> {
    verdicts.into_iter().map(|verdict| verdict.word).max_by_key(|word| weight(*word))
}

/// Order in which verdicts are read: the worst first.
pub fn weight(word: Word) -> u8 {
    match word {
        Word::Holds => 0,
        Word::NotComputed => 1,
        Word::Watch => 2,
        Word::Fails => 3,
    }
}
