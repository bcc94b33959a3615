//! `template`: a closing panel, an adapter plate or any other plate at true size.

use std::path::PathBuf;
use std::process::ExitCode;

use clap::Args;

use super::answer::one_of;
use super::arguments::{LayoutArguments, ready, say};
use super::hand_over::{chosen, ends_in, named, not_made, shop, wrote};
use crate::documents::panel::{Panel, panel_for, plate};
use crate::documents::{Paper, template_dxf, template_pdf, template_svg};
use crate::format::FileError;

#[derive(Debug, Args)]
pub(super) struct TemplateArguments {
    #[command(flatten)]
    layout: LayoutArguments,
    /// The opening that the panel closes; the first when left out.
    #[arg(long, value_name = "NAME")]
    opening: Option<String>,
    /// The spot whose lines pass through; slots are cut for them. None when left out.
    #[arg(long, value_name = "NAME")]
    spot: Option<String>,
    /// The adapter plate that the hold headline proposes for the spot, instead of a panel.
    #[arg(long, requires = "spot", conflicts_with_all = ["opening", "plate"])]
    adapter: bool,
    /// A plate of its own instead of a panel: corners in mm, `0,0 120,0 120,80 0,80`.
    #[arg(long, value_name = "CORNERS", conflicts_with_all = ["opening", "spot"])]
    plate: Option<String>,
    /// A round hole of the plate, `X,Y,DIAMETER` in mm; may be given several times.
    #[arg(long, value_name = "HOLE", requires = "plate")]
    hole: Vec<String>,
    /// Paper of a PDF.
    #[arg(long, default_value = "a4", value_parser = paper)]
    paper: Paper,
    /// The workshop's settings.
    #[arg(long, value_name = "WORKSHOP.ron")]
    workshop: Option<PathBuf>,
    /// The file to write: .pdf, .svg or .dxf, all at true size.
    #[arg(short = 'o', long = "out", value_name = "FILE")]
    out: PathBuf,
}

fn paper(text: &str) -> Result<Paper, String> {
    named(text, &Paper::ALL)
}

pub(super) fn template(arguments: &TemplateArguments) -> Result<ExitCode, FileError> {
    let ending = ends_in(&arguments.out, &["pdf", "svg", "dxf"])?;
    let panel = match &arguments.plate {
        Some(corners) => plate_of(corners, &arguments.hole)?,
        None if arguments.adapter => adapter_of(arguments)?,
        None => panel_of(arguments)?,
    };
    let (workshop, _) = shop(arguments.workshop.as_deref())?;
    let bytes = match ending.as_str() {
        "svg" => Some(template_svg(&panel).into_bytes()),
        "dxf" => template_dxf(&panel),
        _ => template_pdf(&panel, arguments.paper, workshop.as_ref()),
    };
    let bytes = bytes
        .ok_or_else(|| not_made(&arguments.out, "a panel of at most 400 sheets; is it in mm?"))?;
    for remark in &panel.remarks {
        say(&format!("{remark}\n"));
    }
    wrote(&arguments.out, &bytes)
}

fn panel_of(arguments: &TemplateArguments) -> Result<Panel, FileError> {
    let (opened, boot) = ready(&arguments.layout)?;
    let layout = boot.layout();
    let names = || layout.openings.iter().map(|opening| opening.name.as_str());
    let opening = match &arguments.opening {
        None => layout.openings.first(),
        Some(name) => layout.openings.iter().find(|opening| opening.name == *name),
    };
    let opening = opening.ok_or_else(|| {
        let wanted = arguments.opening.as_deref().unwrap_or_default();
        let found =
            if wanted.is_empty() { "no opening".into() } else { format!("no opening `{wanted}`") };
        FileError::one(opened.file.name(), found, one_of(wanted, names(), "an entry of `openings`"))
    })?;
    let lines = match &arguments.spot {
        None => Vec::new(),
        Some(_) => {
            chosen(&boot, &opened.file.name(), arguments.spot.as_deref(), false)?.1.drawn.lines
        }
    };
    panel_for(&boot, opening, &lines).map_err(|error| {
        FileError::one(
            opened.file.name(),
            error.to_string(),
            "an outline that a panel can be cut from",
        )
    })
}

fn adapter_of(arguments: &TemplateArguments) -> Result<Panel, FileError> {
    let (opened, boot) = ready(&arguments.layout)?;
    let file = opened.file.name();
    let (spot, card) = chosen(&boot, &file, arguments.spot.as_deref(), true)?;
    let wanted = card.details.as_ref().and_then(|details| details.hold.plate.as_ref());
    let wanted = wanted.ok_or_else(|| {
        let found = format!("no adapter plate for `{}`", spot.name);
        FileError::one(file.clone(), found, "a spot whose feet miss the anchors under them")
    })?;
    let holes: Vec<_> = wanted.holes.iter().map(|hole| (hole.at, hole.diameter_mm)).collect();
    let name = format!("adapter plate, {}", spot.name);
    let mut panel = plate(&name, &wanted.outline, &holes)
        .map_err(|error| FileError::one(file, error.to_string(), "a plate that can be cut"))?;
    for (remark, hole) in panel.remarks.iter_mut().zip(&wanted.holes) {
        let side = if hole.pump { "the pump's" } else { "the boot's" };
        *remark = format!("{} For {side} {}.", remark.trim_end(), hole.name);
    }
    let sheet = format!(
        "Sheet {:.1} mm thick, {:.1} mm of spacer between plate and feet; seen from the pump's side.",
        wanted.thickness_mm, wanted.spacer_mm
    );
    if wanted.holes.first().is_some_and(|hole| hole.at == (0.0, 0.0)) {
        panel
            .remarks
            .insert(0, "Places of holes in mm from hole 1, to the right and up.".to_string());
    }
    panel.remarks.insert(0, sheet);
    panel.remarks.extend(wanted.clashes.iter().cloned());
    Ok(panel)
}

fn plate_of(corners: &str, holes: &[String]) -> Result<Panel, FileError> {
    let numbers = |text: &str| -> Option<Vec<f64>> {
        text.split(',')
            .map(|part| part.trim().parse().ok().filter(|x: &f64| x.is_finite()))
            .collect()
    };
    let outline: Option<Vec<(f64, f64)>> = corners
        .split_whitespace()
        .map(|pair| numbers(pair).filter(|pair| pair.len() == 2).map(|pair| (pair[0], pair[1])))
        .collect();
    let outline = outline.ok_or_else(|| {
        FileError::one(
            "--plate",
            format!("`{corners}`"),
            "corners such as `0,0 120,0 120,80 0,80`, mm",
        )
    })?;
    let hole = |text: &String| {
        let found = numbers(text).filter(|parts| parts.len() == 3);
        found.map(|parts| ((parts[0], parts[1]), parts[2])).ok_or_else(|| {
            FileError::one(
                "--hole",
                format!("`{text}`"),
                "`X,Y,DIAMETER` in mm, such as `20,20,6.5`",
            )
        })
    };
    let holes: Vec<_> = holes.iter().map(hole).collect::<Result<_, _>>()?;
    plate("plate", &outline, &holes)
        .map_err(|error| FileError::one("--plate", error.to_string(), "a plate that can be cut"))
}
