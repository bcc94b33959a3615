//! `compare`: spots side by side.

use std::process::ExitCode;

use clap::Args;
use comfy_table::{Cell, CellAlignment};

use super::answer::{ANSWER_SCHEMA, one_of};
use super::arguments::{CAUTION, LayoutArguments, ready, say};
use super::table::{Style, csv, folded};
use crate::checks::{HeadlineId, Holds, Scorecard, Verdict, evaluate, tolerance_runs};
use crate::compare::{Comparison, Figure, named_weights, side_by_side};
use crate::format::FileError;

#[derive(Debug, Args)]
pub(super) struct CompareArguments {
    #[command(flatten)]
    layout: LayoutArguments,
    /// Only these spots; may be given several times. Every spot when left out.
    #[arg(long, value_name = "NAME")]
    spot: Vec<String>,
    /// The spot that differences are taken to; the best when left out.
    #[arg(long, value_name = "NAME")]
    to: Option<String>,
    /// How much headlines count, such as `water=2,hold=0.5`; the layout's weights for the others.
    #[arg(long, value_name = "WEIGHTS")]
    weights: Option<String>,
    /// Measure the boot again this many times with other errors, and give the chances.
    #[arg(long, value_name = "RUNS", value_parser = clap::value_parser!(u32).range(1..=100_000))]
    tolerance_runs: Option<u32>,
    /// The seed of those errors.
    #[arg(long, default_value_t = 1, requires = "tolerance_runs")]
    seed: u64,
    /// Print comma-separated values.
    #[arg(long, conflicts_with = "json")]
    csv: bool,
    /// Print one JSON object.
    #[arg(long)]
    json: bool,
}

pub(super) fn run(arguments: &CompareArguments) -> Result<ExitCode, FileError> {
    let (opened, boot) = ready(&arguments.layout)?;
    let file = opened.file.name();
    let layout = boot.layout();
    let known = || layout.spots.iter().map(|spot| spot.name.as_str());
    for name in arguments.spot.iter().chain(&arguments.to) {
        if layout.spot(name).is_none() {
            let expected = one_of(name, known(), "a layout with spots");
            return Err(FileError::one(file, format!("no spot `{name}`"), expected));
        }
    }
    let chosen = |name: &str| {
        arguments.spot.is_empty()
            || arguments.spot.iter().any(|wanted| wanted == name)
            || arguments.to.as_deref() == Some(name)
    };
    let cards: Vec<Scorecard> = layout
        .spots
        .iter()
        .filter(|spot| chosen(&spot.name))
        .map(|spot| match arguments.tolerance_runs {
            Some(runs) => tolerance_runs(&boot, spot, runs, arguments.seed),
            None => evaluate(&boot, spot),
        })
        .collect();
    let weights = match &arguments.weights {
        None => layout.weights,
        Some(text) => named_weights(&layout.weights, text)
            .map_err(|error| FileError::one("--weights", error, "such as water=2,hold=0.5"))?,
    };
    let found = side_by_side(&cards, arguments.to.as_deref(), &layout.weights, &weights)
        .ok_or_else(|| FileError::one(file.clone(), "no spot", "at least one spot to compare"))?;
    let out = if arguments.json {
        #[derive(serde::Serialize)]
        struct Answer<'a> {
            schema: u32,
            layout: &'a str,
            options: &'a [String],
            #[serde(flatten)]
            comparison: &'a Comparison,
        }
        let options = boot.fitted();
        let answer =
            Answer { schema: ANSWER_SCHEMA, layout: &layout.name, options, comparison: &found };
        let text = serde_json::to_string_pretty(&answer);
        let text = text.map_err(|error| {
            FileError::one(file, error.to_string(), "an answer that can be written")
        })?;
        format!("{text}\n")
    } else if arguments.csv {
        as_csv(&found)
    } else {
        text(&found, &layout.name)
    };
    say(&out);
    let fails = found.spots.iter().all(|spot| spot.verdict == Verdict::Fail);
    Ok(ExitCode::from(u8::from(fails)))
}

fn number(value: Option<f64>) -> String {
    value.map_or(String::new(), |value| format!("{value}"))
}

fn as_csv(found: &Comparison) -> String {
    let head = [
        "headline",
        "check",
        "subject",
        "unit",
        "spot",
        "figure",
        "margin",
        "margin_difference",
        "score",
        "verdict",
        "chance",
        "chance_low",
        "chance_high",
    ];
    let mut rows = vec![head.map(String::from).to_vec()];
    let chance = |holds: Option<Holds>| {
        [
            holds.map(|holds| holds.chance),
            holds.map(|holds| holds.low),
            holds.map(|holds| holds.high),
        ]
        .map(number)
    };
    // The spots themselves: no headline, the check is `spot`.
    for spot in &found.spots {
        let none = String::new;
        let mut row = vec![none(), "spot".to_string(), none(), none(), spot.name.clone()];
        row.extend([none(), none(), none(), number(spot.score), spot.verdict.word().to_string()]);
        row.extend(chance(spot.holds));
        rows.push(row);
    }
    for check in &found.checks {
        for (spot, figure) in found.spots.iter().zip(&check.figures) {
            let Some(figure) = figure else { continue };
            let mut row = vec![
                id_of(check.headline).to_string(),
                check.id.to_string(),
                check.subject.clone(),
                check.unit.to_string(),
                spot.name.clone(),
                number(figure.figure),
                number(figure.margin),
                number(figure.margin_difference),
                number(figure.score),
                figure.verdict.word().to_string(),
            ];
            row.extend(chance(figure.holds));
            rows.push(row);
        }
    }
    csv(&rows)
}

fn id_of(id: HeadlineId) -> &'static str {
    match id {
        HeadlineId::Reach => "reach",
        HeadlineId::Carpet => "carpet",
        HeadlineId::Feed => "feed",
        HeadlineId::Water => "water",
        HeadlineId::Hold => "hold",
    }
}

fn right(text: String) -> Cell {
    Cell::new(text).set_alignment(CellAlignment::Right)
}

fn score(value: Option<f64>) -> String {
    value.map_or("–".to_string(), |value| format!("{value:.0}"))
}

fn text(found: &Comparison, layout: &str) -> String {
    let style = Style::of_output();
    let w = &found.weights;
    let title = format!(
        "{layout} · weights: reach {}, carpet line {}, feed {}, water {}, hold {}",
        w.reach, w.carpet, w.feed, w.water, w.hold
    );
    let mut out = format!("{}\n\n", folded(&title, style.width));
    let mut table = style.table();
    let mut head = vec!["", "spot", "verdict", "score", "own order"];
    head.extend(HeadlineId::ALL.map(HeadlineId::title));
    let chances = found.spots.iter().any(|spot| spot.holds.is_some());
    if chances {
        head.push("chance");
    }
    table.set_header(head);
    for (index, spot) in found.spots.iter().enumerate() {
        let mut cells = vec![
            right(format!("{}", index + 1)),
            Cell::new(&spot.name),
            style.verdict(spot.verdict),
            right(score(spot.score)),
            right(if spot.place_own == index + 1 {
                String::new()
            } else {
                format!("{}", spot.place_own)
            }),
        ];
        cells.extend(spot.headlines.iter().map(|value| right(score(*value))));
        if chances {
            cells.push(right(spot.holds.map_or("–".into(), |holds| {
                let [chance, low, high] =
                    [holds.chance, holds.low, holds.high].map(|share| share * 100.0);
                format!("{chance:.0} %\n{low:.0}–{high:.0}")
            })));
        }
        table.add_row(cells);
    }
    out.push_str(&format!("{table}\n"));
    if let Some(holds) = found.spots.iter().find_map(|spot| spot.holds) {
        let line = format!(
            "Chance: how often the spot held in {} runs, each measured again with other errors; under it the \
             range that so many runs leave open, 95 %. Under each check its own.",
            holds.runs
        );
        out.push_str(&format!("{}\n", folded(&line, style.width)));
    }
    for beaten in &found.beaten {
        let line = format!("`{}` is beaten on everything by `{}`.", beaten.spot, beaten.by);
        out.push_str(&format!("{}\n", folded(&line, style.width)));
    }
    for turn in &found.turns_over {
        let line = format!(
            "`{}` goes ahead of `{}` when {} counts {} {:.2} (now {}).",
            turn.then,
            turn.ahead,
            turn.headline.title().to_lowercase(),
            if turn.level_at > turn.now { "more than" } else { "less than" },
            turn.level_at,
            turn.now
        );
        out.push_str(&format!("{}\n", folded(&line, style.width)));
    }
    out.push_str(&format!(
        "\n{}\n",
        folded(&format!("Check by check, differences of margin to `{}`", found.to), style.width)
    ));
    for id in HeadlineId::ALL {
        let rows: Vec<_> = found.checks.iter().filter(|check| check.headline == id).collect();
        if rows.is_empty() {
            continue;
        }
        let mut table = style.table();
        let mut head = vec![id.title().to_string()];
        head.extend((1..=found.spots.len()).map(|number| number.to_string()));
        table.set_header(head);
        for check in rows {
            let unit =
                if check.unit.is_empty() { String::new() } else { format!(", {}", check.unit) };
            let mut cells = vec![Cell::new(format!("{} {}{unit}", check.id, check.subject))];
            cells.extend(check.figures.iter().map(|figure| right(shown(figure.as_ref()))));
            table.add_row(cells);
        }
        out.push_str(&format!("\n{table}\n"));
    }
    out.push_str(&format!("\n{}\n", folded(CAUTION, style.width)));
    out
}

/// The verdict's mark, the figure, and how much better or worse its margin is.
fn shown(figure: Option<&Figure>) -> String {
    let Some(figure) = figure else { return String::new() };
    let value = figure.figure.map_or("–".to_string(), |value| {
        // A zero has no sign.
        let tenths = (value * 10.0).round() / 10.0 + 0.0;
        if value.abs() < 10.0 { format!("{tenths:.1}") } else { format!("{value:.0}") }
    });
    let difference = figure
        .margin_difference
        .filter(|difference| difference.abs() >= 0.05)
        .map_or(String::new(), |difference| format!("\n{difference:+.1}"));
    let chance =
        figure.holds.map_or(String::new(), |holds| format!("\n{:.0} %", holds.chance * 100.0));
    format!("{} {value}{difference}{chance}", figure.verdict.mark())
}
