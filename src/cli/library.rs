//! `find`, `new`, `changes`, `upgrade`: the library of layouts.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::Args;

use super::answer::ANSWER_SCHEMA;
use super::arguments::{LayoutArguments, complain, opened, say};
use super::table::{Style, folded};
use crate::compare::{Change, changes};
use crate::format::{FileError, Found, Wanted, open, search_library};

#[derive(Debug, Args)]
pub(super) struct FindArguments {
    /// The folder that is searched, with those in it.
    folder: PathBuf,
    /// Words of the model; all must be found, nearly spelt ones too.
    words: Vec<String>,
    /// An option that the layout must list; may be given several times.
    #[arg(long, value_name = "OPTION")]
    option: Vec<String>,
    /// A word of the pump's name or file; may be given several times.
    #[arg(long, value_name = "WORD")]
    pump: Vec<String>,
    /// Print one JSON object.
    #[arg(long)]
    json: bool,
}

#[derive(Debug, Args)]
pub(super) struct NewArguments {
    /// The new layout's file.
    file: PathBuf,
    /// The layout it begins from: a file or a built-in demo.
    #[arg(long, value_name = "LAYOUT")]
    from: PathBuf,
    /// The new model's name.
    #[arg(long)]
    name: String,
}

#[derive(Debug, Args)]
pub(super) struct ChangesArguments {
    /// The older version: a file or a built-in demo.
    old: PathBuf,
    /// The newer version.
    new: PathBuf,
    /// Print one JSON object.
    #[arg(long)]
    json: bool,
}

pub(super) fn find(arguments: &FindArguments) -> Result<ExitCode, FileError> {
    let wanted = Wanted {
        words: arguments.words.clone(),
        options: arguments.option.clone(),
        pump: arguments.pump.clone(),
    };
    let found = search_library(&arguments.folder, &wanted)?;
    for unread in &found.unread {
        complain(&unread.why);
    }
    let out = if arguments.json {
        #[derive(serde::Serialize)]
        struct Answer<'a> {
            schema: u32,
            #[serde(flatten)]
            found: &'a Found,
        }
        as_json(&arguments.folder, &Answer { schema: ANSWER_SCHEMA, found: &found })?
    } else {
        let style = Style::of_output();
        let mut table = style.table();
        table.set_header(["model", "pump", "options", "spots", "trials", "file"]);
        for entry in &found.layouts {
            table.add_row([
                entry.name.clone(),
                entry.pump.clone(),
                entry.options.join(", "),
                entry.spots.len().to_string(),
                entry.trials.to_string(),
                entry.file.clone(),
            ]);
        }
        // A path stays in one piece, so that it can be copied.
        if let Some(column) = table.column_mut(5) {
            column.set_constraint(comfy_table::ColumnConstraint::ContentWidth);
        }
        match found.layouts.len() {
            0 => "No layout answers.\n".to_string(),
            _ => format!("{table}\n"),
        }
    };
    say(&out);
    Ok(ExitCode::from(u8::from(found.layouts.is_empty())))
}

pub(super) fn new(arguments: &NewArguments) -> Result<ExitCode, FileError> {
    let from = opened(&LayoutArguments::of(Some(arguments.from.clone())))?;
    let layout = from.begin_new(&arguments.file, &arguments.name)?;
    let text = format!(
        "{}: `{}`, begun from {}; {} bodies and {} spots to be measured again\n",
        arguments.file.display(),
        layout.name,
        from.file.name(),
        layout.bodies.len(),
        layout.spots.len()
    );
    say(&text);
    Ok(ExitCode::SUCCESS)
}

pub(super) fn changed(arguments: &ChangesArguments) -> Result<ExitCode, FileError> {
    let old = opened(&LayoutArguments::of(Some(arguments.old.clone())))?;
    let new = opened(&LayoutArguments::of(Some(arguments.new.clone())))?;
    let told = changes(&old.layout, &new.layout);
    if arguments.json {
        #[derive(serde::Serialize)]
        struct Answer<'a> {
            schema: u32,
            changes: &'a [Change],
        }
        say(&as_json(&arguments.new, &Answer { schema: ANSWER_SCHEMA, changes: &told })?);
        return Ok(ExitCode::SUCCESS);
    }
    let width = Style::of_output().width;
    if told.is_empty() {
        say("Nothing that the program reads has changed.\n");
    }
    for change in &told {
        say(&format!("{}\n", folded(&change.to_string(), width)));
    }
    Ok(ExitCode::SUCCESS)
}

pub(super) fn upgrade(layout: &Path) -> Result<ExitCode, FileError> {
    let mut opened = open(layout)?;
    let text = match opened.file.upgrade()? {
        None => format!("{}: in the newest schema already\n", layout.display()),
        Some((path, kept)) => {
            format!(
                "{}: now schema {}\n{}: the original\n",
                path.display(),
                crate::model::SCHEMA,
                kept.display()
            )
        }
    };
    say(&text);
    Ok(ExitCode::SUCCESS)
}

fn as_json(about: &Path, answer: &impl serde::Serialize) -> Result<String, FileError> {
    serde_json::to_string_pretty(answer).map(|text| format!("{text}\n")).map_err(|error| {
        let name = about.display().to_string();
        FileError::one(name, error.to_string(), "an answer that can be written")
    })
}
