//! A scan into a body: read, cleaned, scaled, placed, cut, simplified, written.

use std::path::Path;

use super::input::Input;
use super::placing::Placing;
use super::plan_file::PlanFile;
use super::report::{Size, TakenInReport, warnings};
use super::unit::{Unit, Up};
use super::{obj, ply, stl};
use crate::format::atomic::write_atomically;
use crate::format::error::FileError;
use crate::format::glb::triangles_within;
use crate::format::glb_out::{as_glb_holds, glb_from_triangles};
use crate::geometry::{Bounds, Triangles, cleaned, cropped, cut_away, edges, simplified};
use crate::model::{Point, Region};

/// Farthest that a placed scan may reach, mm.
const FARTHEST_MM: f64 = 1e6;

/// What isn't in the plan.
#[derive(Debug, Clone, Copy, Default)]
pub struct ScanOptions<'a> {
    /// The unit of an OBJ, STL or PLY file, which don't say theirs; metres when left out.
    pub unit: Option<Unit>,
    /// Which axis points up.
    pub up: Up,
    /// The plan's file; without one the scan is only cleaned and turned into our frame.
    pub plan: Option<&'a Path>,
}

/// What is being done, for whoever waits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stage {
    /// Reading the file.
    Read,
    /// Taking out what is there twice or has no area.
    Clean,
    /// Scaling, turning, moving and cutting.
    Place,
    /// Taking out corners that change little.
    Simplify,
    /// Writing the body.
    Write,
}

/// A scan taken in.
#[derive(Debug, Clone)]
pub struct TakenIn {
    /// The body, as reading its file gives it.
    pub triangles: Triangles,
    /// What was done.
    pub report: TakenInReport,
}

/// Reads a scan, does with it what the plan says and writes it as a GLB body in our frame.
/// `progress` is told the stage and how much of it is done, 0 to 1.
///
/// Memory goes with the number of triangles: about 150 bytes each, and as much again to simplify.
///
/// # Errors
/// When a file can't be read, holds what can't be used, or can't be written; when the named points
/// miss by more than the plan allows; when nothing is left to write. Nothing is written then.
pub fn take_in(
    scan: &Path,
    body: &Path,
    options: ScanOptions,
    progress: &mut dyn FnMut(Stage, f64),
) -> Result<TakenIn, FileError> {
    writable(scan, body, options.plan)?;
    let plan = options.plan.map(PlanFile::read).transpose()?.unwrap_or_default();
    let (surface, in_metres) = read(scan, options.unit, progress)?;
    let scan_name = scan.display().to_string();
    let read = Size::of(&surface);

    progress(Stage::Clean, 0.0);
    let (surface, counts) = cleaned(surface);
    if surface.indices.is_empty() {
        return Err(FileError::one(
            scan_name,
            "no triangle with an area",
            "a surface; export it again",
        ));
    }

    progress(Stage::Place, 0.0);
    let unit = if in_metres { Unit::M } else { options.unit.unwrap_or(Unit::M) };
    let placing = Placing::of(&plan, unit, options.up)?;
    let mut surface = surface;
    for vertex in &mut surface.vertices {
        *vertex = placing.apply(vertex);
        if !vertex.iter().all(|value| value.is_finite() && value.abs() <= FARTHEST_MM) {
            return Err(FileError::one(
                scan_name,
                "a corner over a kilometre away once it is scaled and placed",
                "a scan of a boot; check its unit, the known length and the points",
            ));
        }
    }
    let surface = cut(&scan_name, &plan, surface)?;
    let (mut surface, _) = cleaned(as_glb_holds(surface));
    let cut = Size::of(&surface);
    if surface.indices.is_empty() {
        return Err(FileError::one(
            scan_name,
            "triangles too small to be written",
            "a scan of a boot; check its unit and the known length",
        ));
    }
    let mut deviation_mm = None;
    if let Some(within_mm) = plan.plan.deviation_mm {
        progress(Stage::Simplify, 0.0);
        let thin = simplified(&surface, within_mm, &mut |done| progress(Stage::Simplify, done));
        deviation_mm = Some(thin.deviation_mm);
        surface = thin.triangles;
    }

    progress(Stage::Write, 0.0);
    let edges = edges(&surface);
    let closed = edges.closed();
    let turned = closed && surface.volume_mm3() < 0.0;
    if turned {
        surface = surface.reversed();
    }
    let name = body.file_stem().map(|stem| stem.to_string_lossy().into_owned());
    let body_name = body.display().to_string();
    let bytes = glb_from_triangles(&body_name, &name.unwrap_or_default(), &surface)?;
    write_atomically(body, &bytes)?;
    progress(Stage::Write, 1.0);

    let around = surface.bounds().unwrap_or(Bounds { low: Point::origin(), high: Point::origin() });
    let mut report = TakenInReport {
        schema: crate::model::SCHEMA,
        scan: scan_name,
        body: body_name,
        unit,
        unit_supposed: !in_metres && options.unit.is_none(),
        up: options.up,
        read,
        cleaned: counts,
        scale: placing.scale,
        known_length: placing.known_length,
        points: placing.points,
        residual_rms_mm: placing.residual_rms_mm,
        cut,
        deviation_asked_mm: plan.plan.deviation_mm,
        deviation_mm,
        written: Size::of(&surface),
        edges,
        closed,
        turned,
        litres: closed.then(|| surface.volume_mm3() / 1e6),
        low: around.low.into(),
        high: around.high.into(),
        warnings: Vec::new(),
    };
    report.warnings = warnings(&report, &plan.plan);
    Ok(TakenIn { triangles: surface, report })
}

/// A body is a .glb file that is neither the scan nor the plan.
fn writable(scan: &Path, body: &Path, plan: Option<&Path>) -> Result<(), FileError> {
    let refuse = |found: &str, expected: &str| {
        Err(FileError::one(body.display().to_string(), found, expected))
    };
    if !ends_with(body, "glb") {
        return refuse("a body's file that doesn't end in .glb", "a name such as boot.glb");
    }
    let Ok(real) = body.canonicalize() else { return Ok(()) };
    let same = |other: &Path| other.canonicalize().is_ok_and(|other| other == real);
    if same(scan) || plan.is_some_and(same) {
        return refuse("the file that is read", "another file to write to; nothing was written");
    }
    if !real.is_file() {
        return refuse("something that is no plain file", "a new file, or one to replace");
    }
    Ok(())
}

fn ends_with(path: &Path, ending: &str) -> bool {
    path.extension().is_some_and(|found| found.eq_ignore_ascii_case(ending))
}

/// The scan in its own coordinates and unit, and whether that is metres by the format.
fn read(
    scan: &Path,
    unit: Option<Unit>,
    progress: &mut dyn FnMut(Stage, f64),
) -> Result<(Triangles, bool), FileError> {
    let mut told = |done: u64, all: u64| progress(Stage::Read, done as f64 / all.max(1) as f64);
    let mut input = Input::open(scan, &mut told)?;
    if ends_with(scan, "obj") {
        return Ok((obj::read(&mut input)?, false));
    }
    if ends_with(scan, "stl") {
        return Ok((stl::read(&mut input)?, false));
    }
    if ends_with(scan, "ply") {
        return Ok((ply::read(&mut input)?, false));
    }
    if !ends_with(scan, "glb") {
        return input.fail(
            "a file whose name ends in none of the known formats",
            "a .glb, .obj, .stl or .ply file",
        );
    }
    if unit.is_some_and(|unit| unit != Unit::M) {
        return input.fail(
            "a GLB file with another unit asked for",
            "metres, as the format has it; a `known_length` in a plan sets another scale",
        );
    }
    let bytes = input.rest()?;
    // Many a program writes mm as metres; whether the scale is set right shows after placing.
    let mut surface = triangles_within(&input.name, &bytes, FARTHEST_MM * 1000.0)?;
    // Back to the file's own frame and unit, in which the plan's points are.
    for vertex in &mut surface.vertices {
        *vertex = Point::new(vertex.y, vertex.z, vertex.x) / 1000.0;
    }
    Ok((surface, true))
}

fn cut(scan: &str, file: &PlanFile, mut surface: Triangles) -> Result<Triangles, FileError> {
    let span = surface.bounds();
    if let Some(region) = &file.plan.crop {
        surface = cropped(surface, &bounds(region));
        if surface.indices.is_empty() {
            let span = span.map_or_else(String::new, |span| {
                format!("; it spans {} to {}", shown(&span.low), shown(&span.high))
            });
            return file.fail(
                "crop",
                format!("a box with nothing of the scan in it{span}"),
                "a box round the boot in the vehicle frame, mm",
            );
        }
    }
    for region in &file.plan.cut_away {
        surface = cut_away(surface, &bounds(region));
    }
    if surface.indices.is_empty() {
        return file.fail(
            "cut_away",
            format!("boxes that leave nothing of {scan}"),
            "boxes round what doesn't belong to the boot, mm",
        );
    }
    Ok(surface)
}

fn bounds(region: &Region) -> Bounds {
    Bounds { low: region.from.inf(&region.to), high: region.from.sup(&region.to) }
}

fn shown(point: &Point) -> String {
    format!("({:.0}, {:.0}, {:.0})", point.x, point.y, point.z)
}
