//! What was typed, what it means, what is done about it.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::{Args, Parser, Subcommand};

use super::answer::{Answer, Runs, one_of};
use super::compare::CompareArguments;
use super::hand_over::{ExportArguments, PictureArguments, SheetArguments};
use super::library::{ChangesArguments, FindArguments, NewArguments};
use super::matrix::MatrixArguments;
use super::table::{Style, folded, text};
use super::take_in::TakeInArguments;
use super::template::TemplateArguments;
use super::trial::TrialArguments;
use crate::checks::Boot;
use crate::compare::CarOptions;
use crate::format::{DEMOS, FileError, Opened, open, open_demo};

/// Says at the end of a table what the figures are.
pub(super) const CAUTION: &str = "The figures are planning aids. The car maker's instructions, local rules and \
a licensed technician's judgement come first. Before any work: support the roof, let the pressure \
out, disconnect the battery.";

/// Where can the roof pump go? Checks candidate spots for a convertible's hydraulic roof pump.
///
/// Without a command it opens the 3D window on the built-in demo.
#[derive(Debug, Parser)]
#[command(name = "dryberth", version, args_conflicts_with_subcommands = true)]
struct Typed {
    #[command(subcommand)]
    command: Option<Command>,
    /// A layout file, or the name of a built-in demo, to open in the window.
    layout: Option<PathBuf>,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Check the spots of a layout in the terminal.
    ///
    /// Exit status: 0 nothing fails or some spot doesn't, 1 the named spot or every spot fails,
    /// 2 the input can't be used.
    Check(CheckArguments),
    /// Open the 3D window.
    #[cfg(feature = "scene")]
    Scene(SceneArguments),
    /// Turn a 3D scan into a body that a layout can name: scaled, placed, cleaned, cut, simplified.
    ///
    /// Reads .glb, .obj, .stl and .ply, and writes a .glb in the vehicle frame. What is to be done
    /// stands in a plan (RON); without one the scan is only cleaned and turned into our frame.
    /// Exit status: 0 written, 2 the input can't be used and nothing was written.
    TakeIn(TakeInArguments),
    /// Check every spot on every car that the layout's options allow, or on those named.
    ///
    /// Exit status: 0 some spot serves some car, 1 none does, 2 the input can't be used.
    Matrix(MatrixArguments),
    /// Put spots side by side, check by check.
    Compare(CompareArguments),
    /// Search a folder for layouts by words of the model, options and pump.
    Find(FindArguments),
    /// Begin a new layout from another one.
    New(NewArguments),
    /// Say what changed between two versions of a layout.
    Changes(ChangesArguments),
    /// Bring a layout file to the newest schema; the original is kept beside it.
    Upgrade {
        /// The layout file.
        layout: PathBuf,
    },
    /// Keep what the car said at a trial fit, beside what was predicted.
    Trial(TrialArguments),
    /// Write the customer's sheet or the fitting sheet.
    Sheet(SheetArguments),
    /// Write the closing panel of an opening, or a plate, at true size.
    Template(TemplateArguments),
    /// Write a picture of the boot with the pump at a spot, without a window.
    Picture(PictureArguments),
    /// Write the boot with the pump at a spot as a GLB file, for a phone's viewer.
    Export(ExportArguments),
    /// Write the built-in demo layouts and their assets to a folder.
    Unpack {
        /// The folder to write to.
        #[arg(default_value = "dryberth-demo")]
        folder: PathBuf,
    },
}

#[derive(Debug, Default, Args)]
pub(super) struct LayoutArguments {
    /// A layout file, or the name of a built-in demo; the first demo when left out.
    layout: Option<PathBuf>,
    /// The car has this option, by name or code, and none that isn't named so; may be given several
    /// times, and `none` stands for a car without any.
    #[arg(long = "option", value_name = "CODE", conflicts_with_all = ["with", "without"])]
    option: Vec<String>,
    /// Take this option as fitted, besides the usual ones; may be given several times.
    #[arg(long = "with", value_name = "OPTION")]
    with: Vec<String>,
    /// Take this option as not fitted; may be given several times.
    #[arg(long = "without", value_name = "OPTION")]
    without: Vec<String>,
}

impl LayoutArguments {
    pub(super) fn of(layout: Option<PathBuf>) -> LayoutArguments {
        LayoutArguments { layout, ..LayoutArguments::default() }
    }

    /// Whether no option was asked for or left out.
    pub(super) fn usual(&self) -> bool {
        self.option.is_empty() && self.with.is_empty() && self.without.is_empty()
    }
}

#[derive(Debug, Args)]
struct CheckArguments {
    #[command(flatten)]
    layout: LayoutArguments,
    /// Only this spot, with every check.
    #[arg(long, value_name = "NAME")]
    spot: Option<String>,
    /// Print one JSON object instead of tables.
    #[arg(long)]
    json: bool,
    /// What to write down beside the verdicts: lengths to cut, fluid to fill, fixings to buy.
    #[arg(long, conflicts_with = "tolerance_runs")]
    details: bool,
    /// Measure the boot again this many times with other errors, and give the chance that each
    /// check holds.
    #[arg(long, value_name = "RUNS", value_parser = clap::value_parser!(u32).range(1..=100_000))]
    tolerance_runs: Option<u32>,
    /// The seed of those errors: the same seed gives the same answer.
    #[arg(long, default_value_t = 1, requires = "tolerance_runs")]
    seed: u64,
}

impl CheckArguments {
    fn runs(&self) -> Option<Runs> {
        self.tolerance_runs.map(|count| Runs { count, seed: self.seed })
    }
}

#[cfg(feature = "scene")]
#[derive(Debug, Args)]
struct SceneArguments {
    #[command(flatten)]
    layout: LayoutArguments,
    /// Begin at this spot.
    #[arg(long, value_name = "NAME")]
    spot: Option<String>,
    /// Begin with the dark theme.
    #[arg(long)]
    dark: bool,
    /// Show lengths in inches.
    #[arg(long)]
    inch: bool,
    /// Save a picture of the window to this PNG file and close.
    #[arg(long, value_name = "FILE")]
    picture: Option<PathBuf>,
    /// Size of the window, such as 1280x800.
    #[arg(long, value_name = "WIDTHxHEIGHT", value_parser = window_size)]
    size: Option<(u32, u32)>,
}

/// Reads the process's arguments, does what they ask and gives the exit status.
pub fn run() -> ExitCode {
    let typed = match Typed::try_parse() {
        Ok(typed) => typed,
        Err(error) => {
            // Help and version go to standard output and are no mistake.
            let status = if error.use_stderr() { 2 } else { 0 };
            drop(error.print());
            return ExitCode::from(status);
        }
    };
    let done = match typed.command {
        None => without_command(LayoutArguments { layout: typed.layout, ..Default::default() }),
        Some(Command::Check(arguments)) => check(&arguments),
        #[cfg(feature = "scene")]
        Some(Command::Scene(arguments)) => scene(arguments),
        Some(Command::TakeIn(arguments)) => super::take_in::run(&arguments),
        Some(Command::Matrix(arguments)) => super::matrix::run(&arguments),
        Some(Command::Compare(arguments)) => super::compare::run(&arguments),
        Some(Command::Find(arguments)) => super::library::find(&arguments),
        Some(Command::New(arguments)) => super::library::new(&arguments),
        Some(Command::Changes(arguments)) => super::library::changed(&arguments),
        Some(Command::Upgrade { layout }) => super::library::upgrade(&layout),
        Some(Command::Trial(arguments)) => super::trial::run(&arguments),
        Some(Command::Sheet(arguments)) => super::hand_over::sheet(&arguments),
        Some(Command::Template(arguments)) => super::template::template(&arguments),
        Some(Command::Picture(arguments)) => super::hand_over::picture(&arguments),
        Some(Command::Export(arguments)) => super::hand_over::export(&arguments),
        Some(Command::Unpack { folder }) => unpack(&folder),
    };
    done.unwrap_or_else(|error| {
        complain(&error.to_string());
        ExitCode::from(2)
    })
}

fn check(arguments: &CheckArguments) -> Result<ExitCode, FileError> {
    let (opened, boot) = ready(&arguments.layout)?;
    let answer = Answer::of(
        &boot,
        &opened.file.name(),
        arguments.spot.as_deref(),
        arguments.runs(),
        arguments.details,
    )?;
    let out = if arguments.json {
        let json = serde_json::to_string_pretty(&answer).map_err(|error| {
            FileError::one(opened.file.name(), error.to_string(), "an answer that can be written")
        })?;
        format!("{json}\n")
    } else {
        table(&boot, &answer, arguments.spot.is_some())
    };
    say(&out);
    Ok(ExitCode::from(u8::from(answer.fails())))
}

fn table(boot: &Boot, answer: &Answer, one: bool) -> String {
    let options = match boot.fitted() {
        [] => "no options fitted".to_string(),
        fitted => format!("with {}", fitted.join(", ")),
    };
    let title = format!("{} · {} · {options}", boot.layout().name, boot.pump().name);
    let style = Style::of_output();
    format!("{}\n{}\n", text(answer, &title, one, style), folded(CAUTION, style.width))
}

pub(super) fn ready(arguments: &LayoutArguments) -> Result<(Opened, Boot), FileError> {
    let opened = opened(arguments)?;
    let fitted = fitted(&opened, arguments)?;
    if let Ok(car) = CarOptions::chosen(&opened.layout, &fitted) {
        for rule in car.breaks(&opened.layout) {
            complain(&format!("a car with {} breaks the layout's rule `{rule}`", car.name));
        }
    }
    let boot = opened.boot(&fitted)?;
    Ok((opened, boot))
}

pub(super) fn opened(arguments: &LayoutArguments) -> Result<Opened, FileError> {
    match &arguments.layout {
        None => open_demo(None),
        Some(path) => match path.to_str() {
            Some(name) if !path.exists() && DEMOS.iter().any(|demo| demo.name == name) => {
                open_demo(Some(name))
            }
            _ => open(path),
        },
    }
}

/// The options of the car asked for, by name: exactly those of `--option`, or the layout's usual ones
/// with those asked for and without those not wanted. A name or code that the layout doesn't list is
/// refused either way.
fn fitted(opened: &Opened, arguments: &LayoutArguments) -> Result<Vec<String>, FileError> {
    let layout = &opened.layout;
    let named = |name: &String| match layout.option_called(name) {
        Some(option) => Ok(option.name.clone()),
        None => {
            let codes = layout.options.iter().map(|option| option.code.as_str());
            let names = layout.options.iter().map(|option| option.name.as_str());
            let known = names.chain(codes.filter(|code| !code.is_empty()));
            Err(FileError::one(
                opened.file.name(),
                format!("no option `{name}`"),
                one_of(name, known, "an option, but the layout lists none"),
            ))
        }
    };
    let all = |names: &[String]| names.iter().map(named).collect::<Result<Vec<_>, _>>();
    if !arguments.option.is_empty() {
        let none = |name: &&String| *name != "none" || layout.option_called("none").is_some();
        let wanted: Vec<String> = arguments.option.iter().filter(none).cloned().collect();
        return all(&wanted);
    }
    let (with, without) = (all(&arguments.with)?, all(&arguments.without)?);
    let mut fitted = Boot::usual_options(layout);
    fitted.retain(|name| !without.contains(name));
    fitted.extend(with);
    Ok(fitted)
}

fn unpack(folder: &Path) -> Result<ExitCode, FileError> {
    for demo in &DEMOS {
        let kept = demo.layout_in(folder).exists();
        let path = demo.unpack(folder)?;
        let remark = if kept { " (there already, left as it is)" } else { "" };
        say(&format!("{}{remark}\n", path.display()));
    }
    Ok(ExitCode::SUCCESS)
}

#[cfg(feature = "scene")]
fn without_command(layout: LayoutArguments) -> Result<ExitCode, FileError> {
    if crate::scene::display_available() {
        scene(SceneArguments {
            layout,
            spot: None,
            dark: false,
            inch: false,
            picture: None,
            size: None,
        })
    } else {
        answer_without_window(&layout, "There is no display here, so this is the answer in text.")
    }
}

#[cfg(not(feature = "scene"))]
fn without_command(layout: LayoutArguments) -> Result<ExitCode, FileError> {
    answer_without_window(
        &layout,
        "This build has no window (it was made without the `scene` feature).",
    )
}

fn answer_without_window(layout: &LayoutArguments, why: &str) -> Result<ExitCode, FileError> {
    let (opened, boot) = ready(layout)?;
    let answer = Answer::of(&boot, &opened.file.name(), None, None, false)?;
    say(&table(&boot, &answer, false));
    let width = Style::of_output().width;
    let advice = "To see the scene, run `dryberth` on a desktop (X11 or Wayland) with a Vulkan \
        driver; over ssh, set DISPLAY. Where there is no graphics card, a software driver such as \
        Debian's mesa-vulkan-drivers under Xvfb will do:";
    let own = "To check a layout of your own: dryberth check LAYOUT.ron";
    say(&format!(
        "\n{}\n{}\n    xvfb-run -s '-screen 0 1280x800x24' \\\n        dryberth scene --picture \
         scene.png\n{}\n",
        folded(why, width),
        folded(advice, width),
        folded(own, width)
    ));
    Ok(ExitCode::SUCCESS)
}

#[cfg(feature = "scene")]
fn scene(arguments: SceneArguments) -> Result<ExitCode, FileError> {
    let opened = opened(&arguments.layout)?;
    let fitted = fitted(&opened, &arguments.layout)?;
    if let Some(name) = &arguments.spot
        && opened.layout.spot(name).is_none()
    {
        let boot = opened.boot(&fitted)?;
        return Answer::of(&boot, &opened.file.name(), Some(name), None, false)
            .map(|_| ExitCode::SUCCESS);
    }
    let settings = crate::scene::WindowSettings {
        size: arguments.size.unwrap_or((1280, 800)),
        fitted,
        spot: arguments.spot,
        dark: arguments.dark,
        inches: arguments.inch,
        picture: arguments.picture,
        ..Default::default()
    };
    match crate::scene::open_window(opened, settings) {
        Ok(()) => Ok(ExitCode::SUCCESS),
        Err(error) => {
            complain(&format!("the window can't be opened: {error}"));
            complain("`dryberth check` gives the same scores in the terminal");
            Ok(ExitCode::from(2))
        }
    }
}

#[cfg(feature = "scene")]
fn window_size(text: &str) -> Result<(u32, u32), String> {
    let parse = |part: &str| part.parse::<u32>().ok().filter(|side| (320..=8192).contains(side));
    text.split_once(['x', '×'])
        .and_then(|(width, height)| Some((parse(width)?, parse(height)?)))
        .ok_or_else(|| "expected WIDTHxHEIGHT in pixels, each 320 to 8192".to_string())
}

/// Writes to standard output; whoever closed the other end has seen enough.
pub(super) fn say(text: &str) {
    let mut out = std::io::stdout().lock();
    drop(out.write_all(text.as_bytes()).and_then(|()| out.flush()));
}

pub(super) fn complain(text: &str) {
    drop(writeln!(std::io::stderr().lock(), "dryberth: {text}"));
}
