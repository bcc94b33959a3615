//! `sheet`, `picture`, `export`: what is handed over. Templates are in [`super::template`].

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::{Args, ValueEnum};

use super::answer::one_of;
use super::arguments::{LayoutArguments, complain, ready, say};
use crate::checks::{Ask, Boot, Scorecard, Verdict, evaluate_some};
use crate::compare::what_to_unbolt;
use crate::documents::picture::{Picture, TrimShown, View, picture as drawn};
use crate::documents::{
    Handed, Logo, boot_glb, customer_html, customer_pdf, fitting_html, fitting_pdf,
};
use crate::format::{FileError, Opened, open_job, open_workshop, write_file};
use crate::model::{Job, Spot, Workshop};

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Which {
    /// For the customer, in plain words: .pdf or .html.
    Customer,
    /// For the file, with positions, cut list, figures, checks to sign: .pdf or .html.
    Fitting,
}

#[derive(Debug, Args)]
pub(super) struct SheetArguments {
    /// Which sheet.
    #[arg(value_enum)]
    which: Which,
    #[command(flatten)]
    layout: LayoutArguments,
    /// The spot; the best one when left out.
    #[arg(long, value_name = "NAME")]
    spot: Option<String>,
    /// The customer's car: what was found, read, done.
    #[arg(long, value_name = "JOB.ron")]
    job: Option<PathBuf>,
    /// The workshop's settings: name, address, logo.
    #[arg(long, value_name = "WORKSHOP.ron")]
    workshop: Option<PathBuf>,
    /// The file to write: .pdf, or .html for the customer's.
    #[arg(short = 'o', long = "out", value_name = "FILE")]
    out: PathBuf,
}

#[derive(Debug, Args)]
pub(super) struct PictureArguments {
    #[command(flatten)]
    layout: LayoutArguments,
    /// The spot; the best one when left out.
    #[arg(long, value_name = "NAME")]
    spot: Option<String>,
    /// Where it is taken from.
    #[arg(long, default_value = "behind", value_parser = view)]
    view: View,
    /// How carpets and boards are shown: in, glassy or out.
    #[arg(long, default_value = "glassy", value_parser = trim)]
    trim: TrimShown,
    /// Leave the names out.
    #[arg(long)]
    plain: bool,
    /// Leave standing water out.
    #[arg(long)]
    dry: bool,
    /// Size in pixels, such as 1600x1000.
    #[arg(long, default_value = "1600x1000", value_parser = size)]
    size: (u32, u32),
    /// The PNG file to write.
    #[arg(short = 'o', long = "out", value_name = "FILE.png")]
    out: PathBuf,
}

#[derive(Debug, Args)]
pub(super) struct ExportArguments {
    #[command(flatten)]
    layout: LayoutArguments,
    /// The spot; the best one when left out.
    #[arg(long, value_name = "NAME")]
    spot: Option<String>,
    /// The GLB file to write.
    #[arg(short = 'o', long = "out", value_name = "FILE.glb")]
    out: PathBuf,
}

pub(super) fn named<T: Copy>(text: &str, all: &[(&'static str, T)]) -> Result<T, String> {
    let names: Vec<&str> = all.iter().map(|(name, _)| *name).collect();
    let found = all.iter().find(|(name, _)| *name == text).map(|(_, value)| *value);
    found.ok_or_else(|| format!("expected one of {}", names.join(", ")))
}

fn view(text: &str) -> Result<View, String> {
    named(text, &View::ALL)
}

fn trim(text: &str) -> Result<TrimShown, String> {
    let all = [("in", TrimShown::In), ("glassy", TrimShown::SeenThrough), ("out", TrimShown::Out)];
    named(text, &all)
}

fn size(text: &str) -> Result<(u32, u32), String> {
    let side = |part: &str| part.parse::<u32>().ok().filter(|side| (64..=4096).contains(side));
    text.split_once(['x', '×'])
        .and_then(|(width, height)| Some((side(width)?, side(height)?)))
        .ok_or_else(|| "expected WIDTHxHEIGHT in pixels, each 64 to 4096".to_string())
}

/// The spot asked for, or the best, with its scorecard; with details where they are asked for.
pub(super) fn chosen(
    boot: &Boot,
    file: &str,
    wanted: Option<&str>,
    details: bool,
) -> Result<(Spot, Scorecard), FileError> {
    let layout = boot.layout();
    let scored =
        |spot: &Spot, details| evaluate_some(boot, spot, &Ask { details, ..Ask::default() });
    if let Some(name) = wanted {
        let spot = layout.spot(name).ok_or_else(|| {
            let names = layout.spots.iter().map(|spot| spot.name.as_str());
            FileError::one(
                file,
                format!("no spot `{name}`"),
                one_of(name, names, "a layout with spots"),
            )
        })?;
        return Ok((spot.clone(), scored(spot, details)));
    }
    let cards = layout.spots.iter().map(|spot| (spot, scored(spot, false)));
    let best = cards.min_by(|a, b| a.1.rank(&b.1));
    let (spot, card) = best.ok_or_else(|| FileError::one(file, "no spot", "at least one spot"))?;
    // Details take longer than verdicts, so only the best one's are worked out.
    let card = if details { scored(spot, true) } else { card };
    Ok((spot.clone(), card))
}

pub(super) fn ends_in(out: &Path, endings: &[&str]) -> Result<String, FileError> {
    let ending = out.extension().map(|ending| ending.to_string_lossy().to_lowercase());
    let listed: Vec<String> = endings.iter().map(|ending| format!(".{ending}")).collect();
    ending.filter(|ending| endings.contains(&ending.as_str())).ok_or_else(|| {
        let expected = format!("a file name ending in {}", listed.join(" or "));
        FileError::one(out.display().to_string(), "that ending", expected)
    })
}

/// What only a bug or a size beyond reason leads to.
pub(super) fn not_made(out: &Path, expected: &str) -> FileError {
    FileError::one(out.display().to_string(), "a document that can't be made", expected)
}

pub(super) fn wrote(out: &Path, bytes: &[u8]) -> Result<ExitCode, FileError> {
    write_file(out, bytes)?;
    say(&format!("{}\n", out.display()));
    Ok(ExitCode::SUCCESS)
}

pub(super) fn shop(path: Option<&Path>) -> Result<(Option<Workshop>, Option<Logo>), FileError> {
    let Some(path) = path else { return Ok((None, None)) };
    let (workshop, png) = open_workshop(path)?;
    let logo = match png {
        None => None,
        Some(png) => Some(Logo::of(png).ok_or_else(|| {
            let shown = path.display().to_string();
            FileError::one(
                shown,
                "a logo that can't be read",
                "a PNG picture of at most 4000 pixels a side",
            )
        })?),
    };
    Ok((Some(workshop), logo))
}

pub(super) fn sheet(arguments: &SheetArguments) -> Result<ExitCode, FileError> {
    let ending = ends_in(&arguments.out, &["pdf", "html"])?;
    let job: Option<Job> = arguments.job.as_deref().map(open_job).transpose()?;
    let (workshop, logo) = shop(arguments.workshop.as_deref())?;
    let (opened, boot) = with_job(&arguments.layout, job.as_ref())?;
    let (spot, card) = chosen(&boot, &opened.file.name(), arguments.spot.as_deref(), true)?;
    if card.verdict == Verdict::Fail {
        complain(&format!(
            "`{}` fails on this car; the sheet says so where it is for the file",
            spot.name
        ));
    }
    let before = boot.layout().handover.before.as_ref().and_then(|name| boot.layout().spot(name));
    let before = before.map(|spot| (spot, evaluate_some(&boot, spot, &Ask::default())));
    let (layout, pump) = (boot.layout(), boot.pump());
    let unbolting =
        what_to_unbolt(layout, pump, &opened.meshes, boot.fitted(), &spot).map_err(|error| {
            FileError::one(opened.file.name(), error.to_string(), "shapes with a volume")
        })?;
    let handed = Handed {
        boot: &boot,
        spot: &spot,
        card: &card,
        before: before.as_ref().map(|(spot, card)| (*spot, card)),
        unbolting: unbolting.as_ref(),
        job: job.as_ref(),
        workshop: workshop.as_ref(),
        logo: logo.as_ref(),
    };
    let bytes = match (arguments.which, ending.as_str()) {
        (Which::Customer, "html") => customer_html(&handed).map(String::into_bytes),
        (Which::Customer, _) => customer_pdf(&handed),
        (Which::Fitting, "html") => fitting_html(&handed).map(String::into_bytes),
        (Which::Fitting, _) => fitting_pdf(&handed),
    };
    wrote(&arguments.out, &bytes.ok_or_else(|| not_made(&arguments.out, "a layout with bodies"))?)
}

/// The boot as the job's car has it, unless options were asked for on the command line.
fn with_job(arguments: &LayoutArguments, job: Option<&Job>) -> Result<(Opened, Boot), FileError> {
    let (opened, boot) = ready(arguments)?;
    let Some(names) = job.and_then(|job| job.options.as_ref()).filter(|_| arguments.usual()) else {
        return Ok((opened, boot));
    };
    let car = crate::compare::CarOptions::chosen(&opened.layout, names).map_err(|error| {
        FileError::one("job", error.to_string(), "options of the layout, by name or code")
    })?;
    let boot = opened.boot(&car.options)?;
    Ok((opened, boot))
}

pub(super) fn picture(arguments: &PictureArguments) -> Result<ExitCode, FileError> {
    ends_in(&arguments.out, &["png"])?;
    let (opened, boot) = ready(&arguments.layout)?;
    let (spot, card) = chosen(&boot, &opened.file.name(), arguments.spot.as_deref(), false)?;
    let wanted = Picture {
        width: arguments.size.0,
        height: arguments.size.1,
        view: arguments.view,
        trim: arguments.trim,
        labels: !arguments.plain,
        water: !arguments.dry,
        ..Picture::default()
    };
    let bytes = drawn(&boot, &spot, &card, &wanted);
    wrote(&arguments.out, &bytes.ok_or_else(|| not_made(&arguments.out, "a layout with bodies"))?)
}

pub(super) fn export(arguments: &ExportArguments) -> Result<ExitCode, FileError> {
    ends_in(&arguments.out, &["glb"])?;
    let (opened, boot) = ready(&arguments.layout)?;
    let (spot, card) = chosen(&boot, &opened.file.name(), arguments.spot.as_deref(), false)?;
    let bytes = boot_glb(&arguments.out.display().to_string(), &boot, &spot, &card)?;
    wrote(&arguments.out, &bytes)
}
