//! What a report says, as plain data: both writers draw the same sections and compute nothing.

use halfmicron::outcome::Word;
use serde::Serialize;

/// A whole report.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Content {
    /// Title of the case.
    pub title: String,
    /// What kind of document this is.
    pub subtitle: String,
    /// Fields of the title block; an empty text is a line to be filled in by hand.
    pub title_block: Vec<Field>,
    /// Left end of every page's foot.
    pub foot: String,
    /// Middle of every page's foot: which case this is.
    pub identity: String,
    /// Author as document property.
    pub author: String,
    /// Sections in the order of the document.
    pub sections: Vec<Section>,
}

/// A labelled text.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Field {
    /// Label.
    pub label: String,
    /// Text.
    pub text: String,
}

/// A section with its heading.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Section {
    /// Short name for links.
    pub key: &'static str,
    /// Heading.
    pub title: &'static str,
    /// Whether it stands on landscape pages of its own.
    pub turned: bool,
    /// Parts.
    pub parts: Vec<Part>,
}

/// A part of a section.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Part {
    /// A heading within the section.
    Heading {
        /// Text.
        text: String,
    },
    /// A paragraph.
    Paragraph {
        /// Text.
        text: String,
        /// How it is meant.
        tone: Tone,
    },
    /// A table.
    Table(Table),
    /// Items with a word in front, each kept together on a page.
    Entries {
        /// Items.
        items: Vec<Entry>,
    },
    /// A figure.
    Figure(Figure),
    /// Lines as they stand in a file.
    Lines {
        /// Lines.
        lines: Vec<String>,
    },
}

/// What a text means; colour repeats it and never says it alone.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Tone {
    /// Nothing special.
    #[default]
    Plain,
    /// Secondary.
    Soft,
    /// Set in bold.
    Strong,
    /// A limit is passed, an answer must not be used.
    Fails,
    /// Someone must look.
    Watch,
    /// Within its limit.
    Holds,
    /// Not known.
    Unknown,
}

/// A table; its head is repeated on every page.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Table {
    /// Columns.
    pub columns: Vec<Column>,
    /// Groups of rows, each under its own heading where it has one.
    pub groups: Vec<Group>,
}

/// A column of a table.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Column {
    /// Head.
    pub head: String,
    /// Share of the width; 0 for as much as its widest text needs.
    pub share: f64,
    /// Whether it holds numbers, set to the right.
    pub numbers: bool,
}

/// Rows under one heading.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Group {
    /// Heading; empty for none.
    pub title: String,
    /// Rows, one cell a column.
    pub rows: Vec<Vec<Cell>>,
}

/// A cell of a table.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Cell {
    /// Text.
    pub text: String,
    /// What stands smaller beneath it: a range, the word `worst`.
    pub below: String,
    /// How it is meant.
    pub tone: Tone,
    /// Whether it belongs to the row above.
    pub inset: bool,
}

/// An item with a word in front.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Entry {
    /// Word in front.
    pub word: String,
    /// How it is meant.
    pub tone: Tone,
    /// What it is about.
    pub title: String,
    /// What it says, of which duties.
    pub lines: Vec<Field>,
    /// What to do, where its limit comes from.
    pub remarks: Vec<Field>,
}

/// A figure.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Figure {
    /// Name of its file within the document.
    pub name: String,
    /// The picture.
    #[serde(skip)]
    pub svg: String,
    /// Caption.
    pub caption: String,
    /// Description for those who do not see it.
    pub words: String,
    /// Whether it fills the page in height; in width otherwise.
    pub whole_page: bool,
}

impl Content {
    /// Every figure in order.
    pub fn figures(&self) -> impl Iterator<Item = &Figure> {
        let parts = self.sections.iter().flat_map(|section| &section.parts);
        parts.filter_map(|part| if let Part::Figure(figure) = part { Some(figure) } else { None })
    }

    /// Every text that a reader sees outside the figures, in order.
    pub fn texts(&self) -> Vec<&str> {
        let mut texts = vec![self.title.as_str(), &self.subtitle, &self.foot, &self.identity];
        self.title_block.iter().for_each(|field| texts.extend([field.label.as_str(), &field.text]));
        for section in &self.sections {
            texts.push(section.title);
            section.parts.iter().for_each(|part| part.texts(&mut texts));
        }
        texts
    }
}

impl Part {
    fn texts<'a>(&'a self, texts: &mut Vec<&'a str>) {
        match self {
            Self::Heading { text } | Self::Paragraph { text, .. } => texts.push(text),
            Self::Lines { lines } => texts.extend(lines.iter().map(String::as_str)),
            Self::Figure(figure) => texts.extend([figure.caption.as_str(), &figure.words]),
            Self::Table(table) => {
                texts.extend(table.columns.iter().map(|column| column.head.as_str()));
                for group in &table.groups {
                    texts.push(&group.title);
                    group.rows.iter().flatten().for_each(|cell| texts.extend([cell.text.as_str(), &cell.below]));
                }
            }
            Self::Entries { items } => {
                for entry in items {
                    texts.extend([entry.word.as_str(), &entry.title]);
                    entry.lines.iter().chain(&entry.remarks).for_each(|line| texts.extend([line.label.as_str(), &line.text]));
                }
            }
        }
    }

    /// A paragraph.
    pub(super) fn paragraph(text: impl Into<String>) -> Self {
        Self::Paragraph { text: text.into(), tone: Tone::Plain }
    }

    /// A paragraph of secondary weight.
    pub(super) fn soft(text: impl Into<String>) -> Self {
        Self::Paragraph { text: text.into(), tone: Tone::Soft }
    }

    /// A heading within a section.
    pub(super) fn heading(text: impl Into<String>) -> Self {
        Self::Heading { text: text.into() }
    }

    /// A table without group headings.
    pub(super) fn table(columns: Vec<Column>, rows: Vec<Vec<Cell>>) -> Self {
        Self::Table(Table { columns, groups: vec![Group { title: String::new(), rows }] })
    }
}

impl Section {
    pub(super) fn new(key: &'static str, title: &'static str, parts: Vec<Part>) -> Self {
        Self { key, title, turned: false, parts }
    }
}

impl Field {
    pub(super) fn new(label: impl Into<String>, text: impl Into<String>) -> Self {
        Self { label: label.into(), text: text.into() }
    }
}

impl Column {
    /// A column of words.
    pub(super) fn words(head: &str, share: f64) -> Self {
        Self { head: head.to_owned(), share, numbers: false }
    }

    /// A column of numbers.
    pub(super) fn numbers(head: &str, share: f64) -> Self {
        Self { head: head.to_owned(), share, numbers: true }
    }
}

impl Cell {
    pub(super) fn text(text: impl Into<String>) -> Self {
        Self { text: text.into(), ..Self::default() }
    }

    pub(super) fn toned(text: impl Into<String>, tone: Tone) -> Self {
        Self { text: text.into(), tone, ..Self::default() }
    }
}

impl From<Word> for Tone {
    fn from(word: Word) -> Self {
        match word {
            Word::Holds => Self::Holds,
            Word::Watch => Self::Watch,
            Word::Fails => Self::Fails,
            Word::NotComputed => Self::Unknown,
        }
    }
}

/// The word of a verdict as the sheet writes it.
pub(super) fn in_words(word: Word) -> &'static str {
    match word {
        Word::Holds => "holds",
        Word::Watch => "watch",
        Word::Fails => "fails",
        Word::NotComputed => "not computed",
    }
}
