//! The fitting sheet's figures, headline by headline.

use super::Handed;
use super::blocks::{Block, details, table};
use crate::checks::hold::NOT_CERTIFIED;
use crate::checks::{Check, HeadlineId, Note};

pub(super) fn add_figures(handed: &Handed, blocks: &mut Vec<Block>, id: HeadlineId, title: &str) {
    let Some(headline) = handed.card.headline(id) else { return };
    let mut checks: Vec<&Check> = headline.checks.iter().collect();
    let ease = |check: &Check| {
        let span = (check.comfort - check.limit).abs().max(1e-9);
        check.margin.map_or(f64::NEG_INFINITY, |margin| margin / span)
    };
    checks.sort_by(|a, b| ease(a).total_cmp(&ease(b)));
    let row = |check: &&Check| {
        let figure = check.figure.map_or("–".to_string(), |figure| number(figure, check.unit));
        // What is shown for information only has no limit to keep.
        let limit =
            if check.id == "crash" { "–".to_string() } else { number(check.limit, check.unit) };
        vec![
            format!("{}: {}", check.id, check.subject),
            figure,
            limit,
            check.verdict.word().to_string(),
            check.why.clone(),
        ]
    };
    let rows: Vec<Vec<String>> = checks.iter().take(12).map(row).collect();
    if !rows.is_empty() {
        blocks.push(Block::Heading(title.to_string()));
        let head = ["About", "Figure", "Limit", "Verdict", "Why"];
        blocks.push(table(&[2.6, 1.3, 1.2, 1.1, 5.6], &head, rows));
    }
}

/// A figure with its unit: whole, factors to a hundredth; never a zero with a sign.
fn number(value: f64, unit: &str) -> String {
    match unit {
        "" => format!("{:.2}", value + 0.0),
        "×" => format!("{:.2} ×", value + 0.0),
        _ => format!("{:.0} {unit}", value.round() + 0.0),
    }
}

/// What a headline found out beyond its verdicts; what is about the same thing in one row.
pub(super) fn add_notes(handed: &Handed, blocks: &mut Vec<Block>, id: HeadlineId) {
    let Some(details) = details(handed) else { return };
    let rows = by_title(details.notes(id));
    if !rows.is_empty() {
        blocks.push(table(&[2.6, 9.0], &["About", "Figures"], rows));
    }
}

/// Notes as rows, those about the same thing as one.
fn by_title(notes: Vec<Note>) -> Vec<Vec<String>> {
    let mut rows: Vec<Vec<String>> = Vec::new();
    for note in notes {
        match rows.iter_mut().find(|row| row[0] == note.title) {
            Some(row) => row[1] = format!("{}; {}", row[1], note.text),
            None => rows.push(vec![note.title, note.text]),
        }
    }
    rows
}

/// Each load case with what gives out first and what every fixing takes; what to buy, and what to mind. What the
/// details offer instead of these fixings is for deciding, not for fitting, and isn't on the sheet.
pub(super) fn add_loads(handed: &Handed, blocks: &mut Vec<Block>) {
    let Some(hold) = details(handed).map(|details| &details.hold) else { return };
    let crash = hold.crash.iter().map(|case| (format!("crash, {}", case.case), case));
    let cases: Vec<_> =
        hold.cases.iter().map(|case| (case.case.clone(), case)).chain(crash).collect();
    let names: Vec<&str> = cases.first().map_or_else(Vec::new, |(_, case)| {
        case.reactions.iter().map(|reaction| reaction.what.as_str()).collect()
    });
    let number = |what: &str| names.iter().position(|name| *name == what).map(|at| at + 1);
    let rows: Vec<Vec<String>> = cases
        .iter()
        .map(|(title, case)| {
            let taken: Vec<String> = case
                .reactions
                .iter()
                .map(|reaction| format!("{:.0}", reaction.force_n.norm()))
                .collect();
            let first = case.governing.first();
            let first = first.and_then(|what| number(what).map(|number| number.to_string()));
            let factor = if case.any_multiple {
                "any".to_string()
            } else {
                format!("{:.2} ×", case.factor)
            };
            vec![title.clone(), factor, first.unwrap_or_default(), taken.join(" · ")]
        })
        .collect();
    if !rows.is_empty() {
        let head = ["Load case", "Holds", "First to go", "Each takes, N"];
        blocks.push(table(&[4.0, 1.4, 1.6, 4.6], &head, rows));
        let list: Vec<String> =
            names.iter().enumerate().map(|(at, name)| format!("{} {name}", at + 1)).collect();
        blocks.push(Block::Text(format!(
            "The numbers: {}. Holds: how many times the case all of them bear. The crash-type cases are {}.",
            list.join("; "),
            NOT_CERTIFIED
        )));
    }
    let instead = |title: &str| {
        ["one more tie", "more ties", "to hold it", "holes on bolts"].contains(&title)
            || title.starts_with("from nothing")
    };
    let is_case = |title: &str| cases.iter().any(|(case, _)| case == title);
    let notes = hold.notes().into_iter();
    let rows =
        by_title(notes.filter(|note| !instead(&note.title) && !is_case(&note.title)).collect());
    if !rows.is_empty() {
        blocks.push(table(&[2.6, 9.0], &["To buy, to mind", "Figures"], rows));
    }
}
