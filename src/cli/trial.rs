//! `trial`: what the car said, beside what was predicted, kept with the layout.

use std::process::ExitCode;

use clap::Args;

use super::answer::one_of;
use super::arguments::{LayoutArguments, ready, say};
use super::table::{Style, folded};
use crate::checks::{Boot, evaluate};
use crate::compare::{adjustments, predicted};
use crate::format::FileError;
use crate::model::{Said, Trial};

#[derive(Debug, Args)]
pub(super) struct TrialArguments {
    #[command(flatten)]
    layout: LayoutArguments,
    /// The spot that was tried.
    #[arg(long, value_name = "NAME")]
    spot: String,
    /// A carpet or board stood proud by so much, `side carpet=4`; 0 when it lay flat.
    #[arg(long, value_name = "TRIM=MM")]
    proud: Vec<String>,
    /// Gap to a body or mover, `quarter panel=6.5`; 0 when they touched.
    #[arg(long, value_name = "BODY=MM")]
    gap: Vec<String>,
    /// Spare length of a line pulled straight, `hose 1=25`; negative when it was short.
    #[arg(long, value_name = "LINE=MM", allow_hyphen_values = true)]
    slack: Vec<String>,
    /// A line that touched what it should have cleared.
    #[arg(long, value_name = "LINE")]
    touched: Vec<String>,
    /// Whether the unit rocked when shaken by hand.
    #[arg(long, value_name = "yes|no", value_parser = yes_or_no)]
    rocked: Option<bool>,
    /// Whether the level line could be seen.
    #[arg(long, value_name = "yes|no", value_parser = yes_or_no)]
    level_seen: Option<bool>,
    /// Anything else, in words; may be given several times.
    #[arg(long, value_name = "WORDS")]
    said: Vec<String>,
    /// When it was tried.
    #[arg(long, default_value = "")]
    when: String,
    /// By whom.
    #[arg(long, default_value = "")]
    by: String,
    /// Make tolerances as large as the car showed them to be, in the layout's file too.
    #[arg(long)]
    adjust: bool,
    /// Only say what would be kept; write nothing.
    #[arg(long)]
    dry_run: bool,
}

fn yes_or_no(text: &str) -> Result<bool, String> {
    match text {
        "yes" => Ok(true),
        "no" => Ok(false),
        _ => Err("expected yes or no".to_string()),
    }
}

pub(super) fn run(arguments: &TrialArguments) -> Result<ExitCode, FileError> {
    let (mut opened, boot) = ready(&arguments.layout)?;
    let layout = boot.layout();
    let Some(spot) = layout.spot(&arguments.spot) else {
        let names = layout.spots.iter().map(|spot| spot.name.as_str());
        let expected = one_of(&arguments.spot, names, "a layout with spots");
        let found = format!("no spot `{}`", arguments.spot);
        return Err(FileError::one(opened.file.name(), found, expected));
    };
    let card = evaluate(&boot, spot);
    let said = said(&boot, arguments)?;
    let trial = Trial {
        spot: spot.name.clone(),
        when: arguments.when.clone(),
        by: arguments.by.clone(),
        options: boot.fitted().to_vec(),
        remarks: said.into_iter().map(|said| predicted(&card, said, "")).collect(),
    };
    if trial.remarks.is_empty() {
        let expected =
            "at least one of --proud, --gap, --slack, --touched, --rocked, --level-seen, --said";
        return Err(FileError::one("trial", "nothing that the car said", expected));
    }
    let style = Style::of_output();
    let mut table = style.table();
    table.set_header(["the car said", "predicted", "off by", "borne out"]);
    for remark in &trial.remarks {
        let foretold = match remark.predicted_words() {
            none if none.is_empty() => "nothing".to_string(),
            words => words,
        };
        let off = remark.off_mm().map_or("–".to_string(), |off| format!("{off:+.1} mm"));
        let borne = match remark.borne_out() {
            Some(true) => "yes",
            Some(false) => "no",
            None => "–",
        };
        table.add_row([remark.words(), foretold, off, borne.to_string()]);
    }
    let mut out = format!("{table}\n");
    let wanted = adjustments(layout, &trial);
    for adjustment in &wanted {
        let whose = adjustment.body.as_ref().map_or("the tape's tolerance".to_string(), |body| {
            format!("the tolerance of `{body}`")
        });
        let text = format!(
            "{whose}: ± {} mm would have been ± {:.1} mm ({}).",
            adjustment.now_mm, adjustment.to_mm, adjustment.because
        );
        out.push_str(&format!("{}\n", folded(&text, style.width)));
    }
    let applied = if arguments.adjust { &wanted[..] } else { &[] };
    if !arguments.adjust && !wanted.is_empty() {
        out.push_str("With --adjust the layout takes these tolerances.\n");
    }
    if arguments.dry_run {
        out.push_str("Nothing was written.\n");
    } else {
        let path = opened.file.save_trial(&trial, applied)?;
        out.push_str(&format!("{}: kept\n", path.display()));
    }
    say(&out);
    Ok(ExitCode::SUCCESS)
}

fn said(boot: &Boot, arguments: &TrialArguments) -> Result<Vec<Said>, FileError> {
    let layout = boot.layout();
    let trims: Vec<&str> = layout.trims.iter().map(|trim| trim.name.as_str()).collect();
    let lines: Vec<&str> = layout.lines.iter().map(|line| line.name.as_str()).collect();
    let bodies: Vec<&str> = layout
        .bodies
        .iter()
        .map(|body| body.name.as_str())
        .chain(layout.movers.iter().map(|mover| mover.name.as_str()))
        .collect();
    let known = |what: &str, name: &str, names: &[&str]| -> Result<String, FileError> {
        if names.contains(&name) {
            return Ok(name.to_string());
        }
        let expected = one_of(name, names.iter().copied(), "a layout that has one");
        Err(FileError::one(what, format!("`{name}`"), expected))
    };
    let pair = |what: &str, text: &str, names: &[&str]| -> Result<(String, f64), FileError> {
        let wrong =
            || FileError::one(what, format!("`{text}`"), "NAME=MM, such as `side carpet=4`");
        let (name, mm) = text.rsplit_once('=').ok_or_else(wrong)?;
        let mm: f64 = mm.trim().parse().ok().filter(|mm: &f64| mm.is_finite()).ok_or_else(wrong)?;
        Ok((known(what, name.trim(), names)?, mm))
    };
    let mut said = Vec::new();
    for text in &arguments.proud {
        let (trim, mm) = pair("--proud", text, &trims)?;
        said.push(Said::Proud { trim, mm });
    }
    for text in &arguments.gap {
        let (body, mm) = pair("--gap", text, &bodies)?;
        said.push(Said::Gap { body, mm });
    }
    for text in &arguments.slack {
        let (line, mm) = pair("--slack", text, &lines)?;
        said.push(Said::Slack { line, mm });
    }
    for line in &arguments.touched {
        said.push(Said::Touched { line: known("--touched", line, &lines)? });
    }
    said.extend(arguments.rocked.map(Said::Rocked));
    said.extend(arguments.level_seen.map(Said::LevelSeen));
    said.extend(arguments.said.iter().cloned().map(Said::Other));
    Ok(said)
}
