//! A scan into a body: read, cleaned, scaled, placed, cut, simplified, written.

use std::path::Path;

use nalgebra::Vector3;
use serde::Serialize;

use super::input::Input;
use super::{obj, ply, stl};
use crate::format::atomic::write_atomically;
use crate::format::error::FileError;
use crate::format::glb::triangles_within;
use crate::format::glb_out::{as_glb_holds, glb_from_triangles};
use crate::format::read::scan_plan_from_text;
use crate::frame::vehicle_from_gltf;
use crate::geometry::{
    Alignment, Bounds, Cleaned, Edges, Triangles, align, cleaned, cropped, cut_away, edges,
    simplified,
};
use crate::model::{Point, Region, ScanPlan, Step};

/// Longest plan, bytes.
const LONGEST_PLAN: u64 = 1 << 20;

/// A mirror image that fits this much better than the best turn tells that left and right, or an
/// axis, were swapped.
const MIRRORED: f64 = 0.2;

/// Farthest that a placed scan may reach, mm.
const FARTHEST_MM: f64 = 1e6;

/// The unit of a scan's numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Unit {
    /// Millimetres.
    Mm,
    /// Centimetres.
    Cm,
    /// Metres.
    M,
    /// Inches of 25.4 mm.
    Inch,
}

impl Unit {
    /// How many mm it is.
    pub fn mm(self) -> f64 {
        match self {
            Unit::Mm => 1.0,
            Unit::Cm => 10.0,
            Unit::M => 1000.0,
            Unit::Inch => 25.4,
        }
    }
}

/// Which of a scan's axes points up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Up {
    /// As glTF has it and phones write it: X left, Y up, Z forward.
    #[default]
    Y,
    /// As the vehicle frame has it: x forward, y left, z up.
    Z,
}

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

/// A named point after placing.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlacedPoint {
    /// Its name in the plan.
    pub name: String,
    /// Where it came to lie, mm.
    pub at: [f64; 3],
    /// How far that is from where it was measured in the boot, mm.
    pub residual_mm: f64,
}

/// The known length after placing.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct KnownLengthReport {
    /// What the tape said, mm.
    pub said_mm: f64,
    /// What it was in the scan in the unit given, before scaling, mm.
    pub before_mm: f64,
    /// What it is in the body, mm; other than said when the points changed the scale too.
    pub after_mm: f64,
}

/// How much there is of a surface.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Size {
    /// Triangles.
    pub triangles: usize,
    /// Corners.
    pub corners: usize,
}

impl Size {
    fn of(surface: &Triangles) -> Size {
        Size { triangles: surface.indices.len(), corners: surface.vertices.len() }
    }
}

/// What was done with a scan. Lengths are mm, places in the vehicle frame.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TakenInReport {
    /// Schema of the report.
    pub schema: u32,
    /// The scan's file.
    pub scan: String,
    /// The body's file.
    pub body: String,
    /// The unit that the scan's numbers were taken as.
    pub unit: Unit,
    /// Whether that unit was only supposed.
    pub unit_supposed: bool,
    /// The axis taken as up.
    pub up: Up,
    /// The scan as read.
    pub read: Size,
    /// What was taken out of it.
    pub cleaned: Cleaned,
    /// What lengths were multiplied by, after turning the unit into mm.
    pub scale: f64,
    /// The length that set the scale.
    pub known_length: Option<KnownLengthReport>,
    /// The points that set the place.
    pub points: Vec<PlacedPoint>,
    /// Root mean square of their residuals; none without points.
    pub residual_rms_mm: Option<f64>,
    /// What was left by the crop and the cuts, and by rounding to the file's 32-bit numbers.
    pub cut: Size,
    /// The deviation asked for.
    pub deviation_asked_mm: Option<f64>,
    /// Largest distance measured from the scan to the body.
    pub deviation_mm: Option<f64>,
    /// The body as written.
    pub written: Size,
    /// Its edges.
    pub edges: Edges,
    /// Whether it encloses a volume; otherwise it is a skin.
    pub closed: bool,
    /// Whether it enclosed a volume inside out and was turned.
    pub turned: bool,
    /// Volume enclosed, litres; none for a skin.
    pub litres: Option<f64>,
    /// Lowest x, y and z.
    pub low: [f64; 3],
    /// Highest x, y and z.
    pub high: [f64; 3],
    /// What whoever uses the body should know.
    pub warnings: Vec<String>,
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

#[derive(Default)]
struct PlanFile {
    name: String,
    text: String,
    plan: ScanPlan,
}

impl PlanFile {
    fn read(path: &Path) -> Result<PlanFile, FileError> {
        let name = path.display().to_string();
        let fail = |found: String, expected: &str| FileError::one(&name, found, expected);
        let about = std::fs::metadata(path).map_err(|error| {
            fail(format!("a file that can't be read ({error})"), "a plan: a RON file")
        })?;
        if !about.is_file() || about.len() > LONGEST_PLAN {
            let found = format!("{} bytes, or no plain file", about.len());
            return Err(fail(found, "a plan: a RON file of at most 1 MiB"));
        }
        let bytes = std::fs::read(path).map_err(|error| {
            fail(format!("a file that can't be read ({error})"), "a plan: a RON file")
        })?;
        let text = String::from_utf8(bytes).map_err(|error| {
            let line = 1 + error.as_bytes()[..error.utf8_error().valid_up_to()]
                .iter()
                .filter(|&&byte| byte == b'\n')
                .count();
            fail(format!("bytes that are not UTF-8 in line {line}"), "text in UTF-8")
        })?;
        let plan = scan_plan_from_text(&name, text.trim_start_matches('\u{feff}'))?;
        Ok(PlanFile { name, text, plan })
    }

    fn fail<T>(&self, field: &'static str, found: String, expected: &str) -> Result<T, FileError> {
        let path = [Step::Field(field)];
        Err(FileError::one(&self.name, found, expected).at(&self.text, &path))
    }
}

/// From the scan's own coordinates and unit to the vehicle frame.
struct Placing {
    unit: Unit,
    up: Up,
    scale: f64,
    alignment: Option<Alignment>,
    known_length: Option<KnownLengthReport>,
    points: Vec<PlacedPoint>,
    residual_rms_mm: Option<f64>,
}

impl Placing {
    fn of(file: &PlanFile, unit: Unit, up: Up) -> Result<Placing, FileError> {
        let plan = &file.plan;
        let mut placing = Placing {
            unit,
            up,
            scale: 1.0,
            alignment: None,
            known_length: None,
            points: Vec::new(),
            residual_rms_mm: None,
        };
        let length = plan.known_length.as_ref().map(|length| {
            let before_mm = (length.to - length.from).norm() * unit.mm();
            placing.scale = length.mm / before_mm;
            (length, before_mm)
        });
        if !plan.points.is_empty() {
            let from: Vec<Point> =
                plan.points.iter().map(|point| placing.apply(&point.scan)).collect();
            let to: Vec<Point> = plan.points.iter().map(|point| point.boot).collect();
            let alignment = match align(&from, &to, plan.free_scale) {
                Ok(alignment) => alignment,
                Err(error) => {
                    return file.fail(
                        "points",
                        error.to_string(),
                        "3 points or more that don't lie on one line, in the scan and in the boot",
                    );
                }
            };
            placing.accept(file, &from, &to, alignment)?;
        }
        placing.known_length = length.map(|(length, before_mm)| KnownLengthReport {
            said_mm: length.mm,
            before_mm,
            after_mm: (placing.apply(&length.to) - placing.apply(&length.from)).norm(),
        });
        Ok(placing)
    }

    /// Takes an alignment over if the points don't miss by too much.
    fn accept(
        &mut self,
        file: &PlanFile,
        from: &[Point],
        to: &[Point],
        alignment: Alignment,
    ) -> Result<(), FileError> {
        let plan = &file.plan;
        let rms_mm = alignment.rms();
        let sound = alignment.scale.is_finite() && alignment.scale > 1e-9 && rms_mm.is_finite();
        if !sound || rms_mm > plan.most_residual_mm {
            let each: Vec<String> = plan
                .points
                .iter()
                .zip(&alignment.residuals)
                .take(12)
                .map(|(point, miss)| format!("{} {miss:.1}", point.name))
                .collect();
            let mirrored: Vec<Point> =
                from.iter().map(|point| Point::new(point.x, -point.y, point.z)).collect();
            let swapped = align(&mirrored, to, plan.free_scale)
                .is_ok_and(|mirror| mirror.rms() < rms_mm * MIRRORED);
            let expected = if swapped {
                "points that are no mirror image of the scan's: left and right, or an axis, are \
                 swapped in one of the two lists"
            } else {
                "points that fit; check them, the unit and the known length, set `free_scale: \
                 true`, or allow more by `most_residual_mm`"
            };
            return file.fail(
                "points",
                format!(
                    "points that miss by {rms_mm:.1} mm (root mean square; {}) where {} is allowed",
                    each.join(", "),
                    plan.most_residual_mm
                ),
                expected,
            );
        }
        self.points = plan
            .points
            .iter()
            .zip(from.iter().zip(&alignment.residuals))
            .map(|(point, (from, miss))| PlacedPoint {
                name: point.name.clone(),
                at: alignment.apply(from).into(),
                residual_mm: *miss,
            })
            .collect();
        self.residual_rms_mm = Some(rms_mm);
        self.scale *= alignment.scale;
        self.alignment = Some(Alignment { scale: 1.0, ..alignment });
        Ok(())
    }

    fn apply(&self, scan: &Point) -> Point {
        let turned = match self.up {
            Up::Y => vehicle_from_gltf([scan.x, scan.y, scan.z]) / 1000.0,
            Up::Z => *scan,
        };
        let scaled = turned * (self.unit.mm() * self.scale);
        self.alignment.as_ref().map_or(scaled, |alignment| alignment.apply(&scaled))
    }
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

fn warnings(report: &TakenInReport, plan: &ScanPlan) -> Vec<String> {
    let mut said = Vec::new();
    let scaled = plan.known_length.is_some() || plan.free_scale;
    if report.unit_supposed && !scaled {
        said.push("the file doesn't say its unit; metres were supposed (set it by --unit)".into());
    }
    if plan.points.is_empty() {
        said.push("no named points: the body is not placed in the boot, only turned".into());
    }
    let size = Vector3::from(report.high) - Vector3::from(report.low);
    if !(20.0..=10_000.0).contains(&size.max()) {
        said.push(format!(
            "the body is {:.4} × {:.4} × {:.4} mm; check the unit",
            size.x, size.y, size.z
        ));
    }
    if let Some(length) = &report.known_length
        && (length.after_mm - length.said_mm).abs() > 0.005 * length.said_mm
    {
        said.push(format!(
            "the points changed the scale: the known length of {:.1} mm is {:.1} mm in the body",
            length.said_mm, length.after_mm
        ));
    }
    if report.edges.crowded + report.edges.at_odds > 0 {
        said.push(
            "edges with more than two triangles or with triangles that face opposite ways: which \
             side is inside can't be told there"
                .into(),
        );
    }
    if report.deviation_asked_mm.is_some() && report.written == report.cut {
        said.push("nothing could be simplified within the deviation asked for".into());
    }
    said
}
