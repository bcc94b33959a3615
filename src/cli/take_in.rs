//! `take-in`: a scan becomes a body, with a progress bar and a report.

use std::io::IsTerminal;
use std::path::PathBuf;
use std::process::ExitCode;
use std::time::Duration;

use clap::{Args, ValueEnum};
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

use super::arguments::{complain, say};
use super::table::{Style, folded};
use crate::format::FileError;
use crate::format::scan::{ScanOptions, Stage, TakenInReport, Unit, Up, take_in};

/// Steps of the progress bar for one stage.
const STEPS: u64 = 1000;

#[derive(Debug, Args)]
pub(super) struct TakeInArguments {
    /// The scan: a .glb, .obj, .stl or .ply file.
    scan: PathBuf,
    /// The body to write: a .glb file, replaced if it is there.
    #[arg(short = 'o', long = "out", value_name = "BODY.glb")]
    body: PathBuf,
    /// What is to be done with it: known length, named points, crop, cuts, deviation.
    #[arg(long, value_name = "PLAN.ron")]
    plan: Option<PathBuf>,
    /// Unit of an OBJ, STL or PLY file, which don't say theirs; metres when left out.
    #[arg(long, value_enum)]
    unit: Option<TypedUnit>,
    /// The axis of the scan that points up: y as glTF has it and phones write it (x left, z
    /// forward), z as the vehicle frame has it (x forward, y left).
    #[arg(long, value_enum, default_value = "y")]
    up: TypedUp,
    /// Print one JSON object instead of text.
    #[arg(long)]
    json: bool,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum TypedUnit {
    Mm,
    Cm,
    M,
    Inch,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum TypedUp {
    Y,
    Z,
}

pub(super) fn run(arguments: &TakeInArguments) -> Result<ExitCode, FileError> {
    let options = ScanOptions {
        unit: arguments.unit.map(|unit| match unit {
            TypedUnit::Mm => Unit::Mm,
            TypedUnit::Cm => Unit::Cm,
            TypedUnit::M => Unit::M,
            TypedUnit::Inch => Unit::Inch,
        }),
        up: match arguments.up {
            TypedUp::Y => Up::Y,
            TypedUp::Z => Up::Z,
        },
        plan: arguments.plan.as_deref(),
    };
    let bar = bar();
    let mut told = |stage: Stage, done: f64| {
        bar.set_message(match stage {
            Stage::Read => "reading",
            Stage::Clean => "cleaning",
            Stage::Place => "placing and cutting",
            Stage::Simplify => "simplifying",
            Stage::Write => "writing",
        });
        bar.set_position((done.clamp(0.0, 1.0) * STEPS as f64) as u64);
    };
    let taken = take_in(&arguments.scan, &arguments.body, options, &mut told);
    bar.finish_and_clear();
    let report = taken?.report;
    for warning in &report.warnings {
        complain(&format!("{}: {warning}", report.scan));
    }
    if arguments.json {
        let json = serde_json::to_string_pretty(&report).map_err(|error| {
            FileError::one(&report.scan, error.to_string(), "a report that can be written")
        })?;
        say(&format!("{json}\n"));
    } else {
        say(&text(&report));
    }
    Ok(ExitCode::SUCCESS)
}

/// A bar for whoever looks at a terminal, and none for a file or a pipe.
fn bar() -> ProgressBar {
    let target = if std::io::stderr().is_terminal() {
        ProgressDrawTarget::stderr()
    } else {
        ProgressDrawTarget::hidden()
    };
    let bar = ProgressBar::with_draw_target(Some(STEPS), target);
    if let Ok(style) = ProgressStyle::with_template("{msg:20} {bar:40} {elapsed}") {
        bar.set_style(style);
    }
    if !bar.is_hidden() {
        bar.enable_steady_tick(Duration::from_millis(200));
    }
    bar
}

fn text(report: &TakenInReport) -> String {
    let mut lines = Vec::new();
    let mut line = |name: &str, value: String| lines.push(format!("{name:<12} {value}"));
    let unit = match report.unit {
        Unit::Mm => "millimetres",
        Unit::Cm => "centimetres",
        Unit::M => "metres",
        Unit::Inch => "inches",
    };
    let supposed = if report.unit_supposed { " (supposed)" } else { "" };
    line(
        "scan",
        format!(
            "{} triangles, {} corners, in {unit}{supposed}",
            report.read.triangles, report.read.corners
        ),
    );
    let out = &report.cleaned;
    line(
        "cleaned",
        format!(
            "{} equal corners made one, {} triangles without area and {} there twice left out",
            out.equal_corners, out.without_area, out.twice
        ),
    );
    match &report.known_length {
        Some(length) => line(
            "scale",
            format!(
                "{:.6}; the known length of {:.1} mm was {:.1} mm and is {:.1} mm",
                report.scale, length.said_mm, length.before_mm, length.after_mm
            ),
        ),
        None => line("scale", format!("{:.6}", report.scale)),
    }
    if let Some(rms_mm) = report.residual_rms_mm {
        line("placed", format!("by {} points, {rms_mm:.2} mm rms", report.points.len()));
        for point in &report.points {
            line("", format!("{:>8.2} mm  {}", point.residual_mm, point.name));
        }
    }
    if report.cut.triangles != report.read.triangles - out.without_area - out.twice {
        line("cut", format!("to {} triangles", report.cut.triangles));
    }
    if let (Some(asked_mm), Some(mm)) = (report.deviation_asked_mm, report.deviation_mm) {
        line(
            "simplified",
            format!(
                "to {} triangles; the scan lies within {mm:.3} mm of them ({asked_mm} asked)",
                report.written.triangles
            ),
        );
    }
    let edges = &report.edges;
    line(
        "edges",
        format!(
            "{} open, {} with more than two triangles, {} at odds, of {}",
            edges.open, edges.crowded, edges.at_odds, edges.all
        ),
    );
    let turned = if report.turned { ", turned inside out" } else { "" };
    line(
        "body",
        match report.litres {
            Some(litres) => format!("closed, {litres:.3} litres{turned}"),
            None => "open: a skin without an inside".to_string(),
        },
    );
    let shown = |at: &[f64; 3]| format!("({:.1}, {:.1}, {:.1})", at[0], at[1], at[2]);
    line("spans", format!("{} to {} mm", shown(&report.low), shown(&report.high)));
    line("written", report.body.clone());
    let caution = "In a layout, name it as shape: Mesh(file: …). A phone scan is rarely better than \
        10 mm: give the body that tolerance, and take what matters with a tape.";
    format!("{}\n\n{}\n", lines.join("\n"), folded(caution, Style::of_output().width))
}
