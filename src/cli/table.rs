//! The answer as text for a terminal.

use comfy_table::{
    Attribute, Cell, CellAlignment, Color, ColumnConstraint, ContentArrangement, LineStyle, Table,
    TableStyle, Width,
};

use super::answer::Answer;
use crate::checks::{Check, Details, HeadlineId, Holds, Scorecard, Verdict};

/// How the text is to look.
#[derive(Debug, Clone, Copy)]
pub(super) struct Style {
    /// Columns to keep within.
    pub(super) width: u16,
    /// Whether to colour it.
    pub(super) colour: bool,
}

/// A line above, below and under the header; none between rows.
const LINES: TableStyle = TableStyle::new()
    .top_border(LineStyle::none().fill('─').junction('─'))
    .header_separator(LineStyle::none().fill('─').junction('─'))
    .bottom_border(LineStyle::none().fill('─').junction('─'));

/// Columns of text that goes to a file or a pipe.
const PIPE_WIDTH: u16 = 110;

/// Narrowest table that is still laid out as one; below, words break in the middle.
const NARROWEST: u16 = 60;

impl Style {
    /// Fits the terminal on standard output. A pipe gets no colour, nor does anyone who set
    /// `NO_COLOR` or whose terminal is `dumb`.
    pub(super) fn of_output() -> Style {
        use std::io::IsTerminal;
        let set = |name: &str| std::env::var_os(name).is_some_and(|value| !value.is_empty());
        let terminal = std::io::stdout().is_terminal();
        let dumb = std::env::var_os("TERM").is_some_and(|term| term == "dumb");
        let asked = std::env::var("COLUMNS").ok().and_then(|columns| columns.parse().ok());
        let measured = if terminal { Table::new().width() } else { Some(PIPE_WIDTH) };
        let width = asked.or(measured).unwrap_or(PIPE_WIDTH).clamp(NARROWEST, 240);
        Style { width, colour: terminal && !dumb && !set("NO_COLOR") }
    }

    pub(super) fn table(self) -> Table {
        let mut table = Table::new();
        table
            .load_style(LINES)
            .set_content_arrangement(ContentArrangement::Dynamic)
            .set_width(self.width);
        if self.colour {
            table.enforce_styling();
        } else {
            table.force_no_tty();
        }
        table
    }

    pub(super) fn verdict(self, verdict: Verdict) -> Cell {
        let cell = Cell::new(format!("{} {}", verdict.mark(), verdict.word()));
        if self.colour { cell.fg(colour(verdict)).add_attribute(Attribute::Bold) } else { cell }
    }
}

impl Style {
    /// A verdict's mark alone; a hammer where something could be unbolted.
    pub(super) fn mark(self, verdict: Verdict, unbolted: bool) -> Cell {
        let mark = if unbolted { "⚒" } else { verdict.mark() };
        let cell = Cell::new(mark);
        if self.colour { cell.fg(colour(verdict)).add_attribute(Attribute::Bold) } else { cell }
    }
}

/// Rows as comma-separated values, RFC 4180: quoted where needed, lines ended by CR LF.
pub(super) fn csv(rows: &[Vec<String>]) -> String {
    let field = |text: &String| {
        if text.contains([',', '"', '\n', '\r']) {
            format!("\"{}\"", text.replace('"', "\"\""))
        } else {
            text.clone()
        }
    };
    let line =
        |row: &Vec<String>| format!("{}\r\n", row.iter().map(field).collect::<Vec<_>>().join(","));
    rows.iter().map(line).collect()
}

fn colour(verdict: Verdict) -> Color {
    match verdict {
        Verdict::Pass => Color::Green,
        Verdict::Tight => Color::Yellow,
        Verdict::Fail => Color::Red,
        Verdict::Unknown => Color::Cyan,
    }
}

/// Every spot in one table, then why; or, for one spot, every check.
pub(super) fn text(answer: &Answer, title: &str, one: bool, style: Style) -> String {
    let mut out = format!("{}\n\n{}\n", folded(title, style.width), spots(answer, style));
    for card in &answer.spots {
        let detail = if one { every_check(card, style) } else { reasons(card, style).to_string() };
        out.push_str(&format!("\n{}\n{detail}\n", folded(&card.name, style.width)));
        if let Some(details) = &card.details {
            out.push_str(&notes(details, style));
        }
    }
    out
}

/// Breaks a text into lines of at most `width` columns, and a word that is longer than that.
pub(super) fn folded(text: &str, width: u16) -> String {
    let width = usize::from(width);
    let mut lines = vec![String::new()];
    let mut column = 0;
    for word in text.split_whitespace() {
        let length = word.chars().count();
        if column > 0 && column + 1 + length > width {
            lines.push(String::new());
            column = 0;
        }
        for (index, letter) in word.chars().enumerate() {
            if column == width {
                lines.push(String::new());
                column = 0;
            }
            if let Some(line) = lines.last_mut() {
                if index == 0 && column > 0 {
                    line.push(' ');
                    column += 1;
                }
                line.push(letter);
                column += 1;
            }
        }
    }
    lines.join("\n")
}

fn score(score: Option<f64>) -> Cell {
    let text = score.map_or("–".to_string(), |score| format!("{score:.0}"));
    Cell::new(text).set_alignment(CellAlignment::Right)
}

fn spots(answer: &Answer, style: Style) -> Table {
    let mut table = style.table();
    let mut header = vec![Cell::new("Spot"), Cell::new("Verdict"), Cell::new("Score")];
    header.extend(HeadlineId::ALL.map(|id| Cell::new(id.title())));
    let asked = answer.spots.iter().any(asked_for_chances);
    if asked {
        header.push(Cell::new("All hold"));
    }
    table.set_header(header);
    for card in &answer.spots {
        let mut row = vec![Cell::new(&card.name), style.verdict(card.verdict), score(card.score)];
        row.extend(HeadlineId::ALL.map(|id| match card.headline(id) {
            Some(headline) => {
                let points =
                    headline.score.map_or("–".to_string(), |score| format!("{score:.0}"));
                let cell = Cell::new(format!("{} {points}", headline.verdict.mark()));
                if style.colour { cell.fg(colour(headline.verdict)) } else { cell }
            }
            None => Cell::new("–"),
        }));
        if asked {
            row.push(chance(card.holds));
        }
        table.add_row(row);
    }
    table
}

fn asked_for_chances(card: &Scorecard) -> bool {
    card.headlines.iter().flat_map(|headline| &headline.checks).any(|check| check.holds.is_some())
}

/// The chance that something holds, and its 95 % interval below.
fn chance(holds: Option<Holds>) -> Cell {
    let text = holds.map_or("–".to_string(), |holds| {
        let [chance, low, high] = [holds.chance, holds.low, holds.high].map(|part| 100.0 * part);
        format!("{chance:.0} %\n{low:.0} to {high:.0}")
    });
    Cell::new(text).set_alignment(CellAlignment::Right)
}

/// The deciding check of each headline.
fn reasons(card: &Scorecard, style: Style) -> Table {
    let mut table = style.table();
    table.set_header(["Headline", "Verdict", "Why"]);
    for headline in &card.headlines {
        let why = headline.deciding().map(|check| check.why.clone());
        table.add_row([
            Cell::new(headline.id.title()),
            style.verdict(headline.verdict),
            Cell::new(why.unwrap_or_default()),
        ]);
    }
    table
}

/// Every check, a table a headline.
fn every_check(card: &Scorecard, style: Style) -> String {
    let mut out = String::new();
    let asked = asked_for_chances(card);
    for headline in &card.headlines {
        let mut table = style.table();
        let mut header = vec![headline.id.title(), "Check", "Figure", "Margin", "Why"];
        if asked {
            header.insert(4, "Holds");
        }
        table.set_header(header);
        for check in &headline.checks {
            let mut row = vec![
                style.verdict(check.verdict),
                Cell::new(format!("{}\n{}", check.id, check.subject)),
                Cell::new(format!(
                    "{}\nlimit {:.*}",
                    figure(check.figure, check),
                    decimals(check),
                    check.limit
                ))
                .set_alignment(CellAlignment::Right),
                Cell::new(margin(check)).set_alignment(CellAlignment::Right),
                Cell::new(&check.why),
            ];
            if asked {
                row.insert(4, chance(check.holds));
            }
            table.add_row(row);
        }
        let widths = [12, 24, 16, 16, 12].into_iter().take(if asked { 5 } else { 4 });
        table.set_constraints(
            widths.map(|width| ColumnConstraint::UpperBoundary(Width::Fixed(width))),
        );
        out.push_str(&format!("{table}\n"));
    }
    out.pop();
    out
}

/// What to write down, a table a headline that has anything.
fn notes(details: &Details, style: Style) -> String {
    let mut out = String::new();
    for id in HeadlineId::ALL {
        let notes = details.notes(id);
        if notes.is_empty() {
            continue;
        }
        let mut table = style.table();
        table.set_header([format!("{}: to write down", id.title()), String::new()]);
        for note in notes {
            table.add_row([note.title, note.text]);
        }
        out.push_str(&format!("{table}\n"));
    }
    out
}

fn decimals(check: &Check) -> usize {
    match check.unit {
        "×" | "%" => 2,
        "mm" | "°" => 1,
        _ => 0,
    }
}

fn figure(value: Option<f64>, check: &Check) -> String {
    value.map_or("–".to_string(), |value| format!("{value:.*} {}", decimals(check), check.unit))
}

fn margin(check: &Check) -> String {
    let Some(margin) = check.margin else { return "–".to_string() };
    let digits = decimals(check);
    if check.tolerance > 0.0 {
        format!("{margin:+.digits$} ± {:.digits$}", check.tolerance)
    } else {
        format!("{margin:+.digits$}")
    }
}
