//! A scan taken in from the window: read beside the frames, shown beside the boot, placed by three
//! points or more, written next to the layout as a body.

use std::fmt;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};

use bevy::asset::Assets;
use bevy::ecs::entity::Entity;
use bevy::pbr::MeshMaterial3d;
use bevy::prelude::{
    App, Commands, Component, IntoScheduleConfigs, Local, Mesh, Mesh3d, Query, Res, ResMut,
    Transform, Update, Visibility, With,
};
use bevy::winit::EventLoopProxyWrapper;

use super::beside::{Broken, Slot, beside_the_frames};
use super::bodies::BodySystems;
use super::convert::scene_mesh;
use super::document::Document;
use super::orbit::Orbit;
use super::paint::{Paint, paint};
use super::theme::{self, Shade};
use super::view::View;
use crate::format;
use crate::format::scan::{ScanOptions, Stage, Unit, Up, take_in};
use crate::frame::gltf_from_vehicle;
use crate::geometry::{Bounds, Solid, Triangles};
use crate::model::{KnownPoint, Point, Role, ScanPlan, Shape, Vector};
use crate::scene::thing::{Thing, body};

/// Room left between the boot and the scan shown beside it, mm.
const ASIDE_MM: f64 = 200.0;

/// A point that is known in both.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Pair {
    /// In the scan as shown, mm, before it is placed.
    pub scan: Option<Point>,
    /// In the boot, mm.
    pub boot: Option<Point>,
}

/// A scan that was read.
#[derive(Clone)]
pub struct Preview {
    surface: Arc<Triangles>,
    solid: Arc<Solid>,
    /// How far it is shown from where its own coordinates put it, mm.
    pub aside: Vector,
}

/// What came back.
enum Done {
    Read(Box<Preview>),
    Placed { file: String, triangles: Box<Triangles>, rms_mm: f64 },
}

type Job = Slot<Result<Done, String>>;

/// A scan that is being taken in.
#[derive(Clone)]
pub struct Import {
    /// Path of the scan.
    pub scan: String,
    /// Name of the body.
    pub name: String,
    /// Its unit, for files that don't say.
    pub unit: Unit,
    /// Which axis points up.
    pub up: Up,
    /// What the body is.
    pub role: Role,
    /// The points known in both.
    pub pairs: Vec<Pair>,
    /// Which point the next click sets; `true` for its place in the scan.
    pub picking: Option<(usize, bool)>,
    /// How far it may be simplified, mm; not at all when none.
    pub deviation_mm: Option<f64>,
    /// The scan, when it was read.
    pub preview: Option<Preview>,
    /// What went wrong.
    pub wrong: Option<String>,
    pub(crate) age: u64,
    pub(crate) ready: bool,
    job: Option<Job>,
    progress: Arc<Mutex<Option<(Stage, f64)>>>,
}

impl fmt::Debug for Import {
    fn fmt(&self, to: &mut fmt::Formatter) -> fmt::Result {
        to.debug_struct("Import")
            .field("scan", &self.scan)
            .field("pairs", &self.pairs)
            .field("picking", &self.picking)
            .field("wrong", &self.wrong)
            .finish_non_exhaustive()
    }
}

impl Default for Import {
    fn default() -> Import {
        Import {
            scan: String::new(),
            name: "scanned panel".into(),
            unit: Unit::M,
            up: Up::Y,
            role: Role::Panel,
            pairs: vec![Pair::default(); 3],
            picking: None,
            deviation_mm: Some(2.0),
            preview: None,
            wrong: None,
            age: 0,
            ready: false,
            job: None,
            progress: Arc::default(),
        }
    }
}

impl Import {
    /// Whether something is being worked out, and what.
    pub fn busy(&self) -> Option<String> {
        self.job.as_ref()?;
        let stage = self.progress.lock().ok().and_then(|now| *now);
        Some(stage.map_or_else(
            || "Reading…".to_string(),
            |(stage, share)| {
                let words = match stage {
                    Stage::Read => "Reading",
                    Stage::Clean => "Cleaning",
                    Stage::Place => "Placing",
                    Stage::Simplify => "Simplifying",
                    Stage::Write => "Writing",
                };
                format!("{words}… {:.0} %", share.clamp(0.0, 1.0) * 100.0)
            },
        ))
    }

    /// Gives up what is being worked out: its answer is no longer waited for.
    pub fn cancel(&mut self) {
        self.job = None;
    }

    /// How many points are known in both.
    pub fn known(&self) -> usize {
        self.pairs.iter().filter(|pair| pair.scan.is_some() && pair.boot.is_some()).count()
    }

    /// Where a ray meets the scan as shown; in the scan's own place, mm.
    pub(crate) fn pick(&self, from: &Point, way: &Vector) -> Option<Point> {
        let preview = self.preview.as_ref()?;
        let hit = preview.solid.ray(&(from - preview.aside), way, 50_000.0)?;
        Some(hit.point)
    }

    /// Sets the point that is being picked, and goes on to the next one.
    pub(crate) fn set(&mut self, at: Point) {
        let Some((index, in_scan)) = self.picking else { return };
        let round = at.map(|value| (value * 10.0).round() / 10.0);
        if let Some(pair) = self.pairs.get_mut(index) {
            if in_scan { pair.scan = Some(at) } else { pair.boot = Some(round) }
        }
        self.picking = if in_scan {
            Some((index, false))
        } else {
            (index + 1 < self.pairs.len()).then_some((index + 1, true))
        };
    }

    /// A point of the scan as shown, in its file's own coordinates and unit.
    fn in_file(&self, at: &Point) -> Point {
        let mesh = Path::new(&self.scan).extension().is_some_and(|ending| {
            ending.eq_ignore_ascii_case("glb") || ending.eq_ignore_ascii_case("gltf")
        });
        let unit_mm = if mesh { 1000.0 } else { self.unit.mm() };
        match self.up {
            Up::Y => {
                let [x, y, z] = gltf_from_vehicle(at);
                Point::new(x, y, z) * (1000.0 / unit_mm)
            }
            Up::Z => at / unit_mm,
        }
    }

    /// Reads the scan, to be shown.
    pub(crate) fn read(&mut self, boot: Option<Bounds>, wake: Option<&EventLoopProxyWrapper>) {
        let scan = PathBuf::from(self.scan.trim());
        let (unit, up) = (self.unit, self.up);
        let progress = Arc::clone(&self.progress);
        self.wrong = None;
        self.job = Some(beside_the_frames(wake, move || {
            let made =
                std::env::temp_dir().join(format!("dryberth-scan-{}.glb", std::process::id()));
            let options = ScanOptions { unit: Some(unit), up, plan: None };
            let taken = take_in(&scan, &made, options, &mut |stage, share| {
                if let Ok(mut now) = progress.lock() {
                    *now = Some((stage, share));
                }
            });
            let _ = std::fs::remove_file(&made);
            let surface = taken.map_err(|error| error.to_string())?.triangles;
            let bounds = surface.bounds().ok_or("the scan has no triangle")?;
            let solid = Solid::sheet(&surface).ok_or("the scan has no triangle")?;
            let aside = boot.map_or_else(Vector::zeros, |boot| {
                let to = Point::new(
                    boot.centre().x,
                    boot.high.y + ASIDE_MM + (bounds.high.y - bounds.low.y) / 2.0,
                    boot.low.z + (bounds.high.z - bounds.low.z) / 2.0,
                );
                to - bounds.centre()
            });
            Ok(Done::Read(Box::new(Preview {
                surface: Arc::new(surface),
                solid: Arc::new(solid),
                aside,
            })))
        }));
    }

    /// Places the scan by the points and writes it beside the layout.
    pub(crate) fn place(
        &mut self,
        layout: Option<&Path>,
        wake: Option<&EventLoopProxyWrapper>,
    ) -> Result<(), String> {
        let folder = layout
            .and_then(Path::parent)
            .ok_or("Save the layout first: a scan is written into its folder")?
            .to_path_buf();
        let stem: String = self
            .name
            .trim()
            .chars()
            .map(
                |letter| {
                    if letter.is_ascii_alphanumeric() { letter.to_ascii_lowercase() } else { '-' }
                },
            )
            .collect();
        let stem = stem.trim_matches('-').to_string();
        if stem.is_empty() {
            return Err("The body needs a name".into());
        }
        let points: Vec<KnownPoint> = self
            .pairs
            .iter()
            .enumerate()
            .filter_map(|(index, pair)| {
                Some(KnownPoint {
                    name: format!("point {}", index + 1),
                    scan: self.in_file(&pair.scan?),
                    boot: pair.boot?,
                })
            })
            .collect();
        if points.len() < 3 {
            return Err("Three points at least must be known in the scan and in the boot".into());
        }
        let plan = ScanPlan { points, deviation_mm: self.deviation_mm, ..ScanPlan::default() };
        let wrong = plan.problems();
        if let Some(wrong) = wrong.first() {
            return Err(format!("{}: {}; expected {}", wrong.place(), wrong.found, wrong.expected));
        }
        let scan = PathBuf::from(self.scan.trim());
        let (unit, up) = (self.unit, self.up);
        let progress = Arc::clone(&self.progress);
        self.job = Some(beside_the_frames(wake, move || {
            let file = format!("meshes/{stem}.glb");
            let meshes = folder.join("meshes");
            std::fs::create_dir_all(&meshes)
                .map_err(|error| format!("`{}` can't be made: {error}", meshes.display()))?;
            let (made, plan_file) = (folder.join(&file), meshes.join(format!("{stem}.scan.ron")));
            if made.exists() {
                return Err(format!("`{}` exists already; give it another name", made.display()));
            }
            format::write_scan_plan(&plan_file, &plan).map_err(|error| error.to_string())?;
            let options = ScanOptions { unit: Some(unit), up, plan: Some(&plan_file) };
            let taken = take_in(&scan, &made, options, &mut |stage, share| {
                if let Ok(mut now) = progress.lock() {
                    *now = Some((stage, share));
                }
            })
            .map_err(|error| error.to_string())?;
            let rms_mm = taken.report.residual_rms_mm.unwrap_or(0.0);
            Ok(Done::Placed { file, triangles: Box::new(taken.triangles), rms_mm })
        }));
        Ok(())
    }
}

/// The scan as shown.
#[derive(Component)]
struct Shown;

pub(crate) fn plugin(app: &mut App) {
    app.add_systems(Update, (land, show).chain().in_set(BodySystems));
}

fn land(mut view: ResMut<View>, mut document: ResMut<Document>, mut orbit: ResMut<Orbit>) {
    let Some(done) =
        view.import.as_ref().and_then(|import| import.job.as_ref()).and_then(Slot::take)
    else {
        return;
    };
    let Some(mut import) = view.import.take() else { return };
    import.job = None;
    match done {
        Ok(Ok(Done::Read(preview))) => {
            // Both in the picture, so that points can be clicked in both.
            let scan = preview.surface.bounds().map(|bounds| Bounds {
                low: bounds.low + preview.aside,
                high: bounds.high + preview.aside,
            });
            let boot = document.boot().bodies().map(|(_, solid)| *solid.bounds());
            if let Some(both) = boot.chain(scan).reduce(|a, b| a.with(&b)) {
                orbit.frame(&both);
            }
            import.preview = Some(*preview);
            import.age += 1;
            import.picking = Some((0, true));
            view.import = Some(import);
        }
        Ok(Ok(Done::Placed { file, triangles, rms_mm })) => {
            document.add_mesh(&file, *triangles);
            let mut thing = body(import.name.trim(), import.role, Shape::Mesh { file });
            thing.tolerance_mm = Some((rms_mm * 10.0).round().max(1.0) / 10.0);
            thing.note = format!("A scan, placed by {} points.", import.known());
            let mut thing = Thing::Body(thing);
            thing.call_apart(document.layout());
            let gesture = document.gesture();
            match document.measure("take in a scan", gesture, |layout| {
                thing.add_to(layout);
            }) {
                Ok(()) => {
                    view.say(format!(
                        "Taken in; the points miss by {rms_mm:.1} mm (root mean square)"
                    ));
                }
                Err(wrong) => {
                    import.wrong = Some(wrong.join("; "));
                    view.import = Some(import);
                }
            }
        }
        Ok(Err(why)) => {
            import.wrong = Some(why);
            view.import = Some(import);
        }
        Err(Broken(why)) => {
            view.panic = Some(why);
            view.import = Some(import);
        }
    }
}

fn show(
    mut commands: Commands,
    view: Res<View>,
    mut made: Local<Option<u64>>,
    old: Query<Entity, With<Shown>>,
    mut meshes: ResMut<Assets<Mesh>>,
    mut materials: ResMut<Assets<Paint>>,
) {
    let preview =
        view.import.as_ref().and_then(|import| Some((import.age, import.preview.as_ref()?)));
    let wanted = preview.map(|(age, _)| age);
    if *made == wanted {
        return;
    }
    *made = wanted;
    for entity in &old {
        commands.entity(entity).despawn();
    }
    if let Some((_, preview)) = preview {
        let shade = Shade { colour: theme::SCAN, alpha: 1.0 };
        let mut surface = (*preview.surface).clone();
        surface.vertices.iter_mut().for_each(|corner| *corner += preview.aside);
        commands.spawn((
            Shown,
            Mesh3d(meshes.add(scene_mesh(&surface))),
            MeshMaterial3d(paint(&mut materials, shade)),
            Transform::IDENTITY,
            Visibility::default(),
        ));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::frame::vehicle_from_gltf;

    #[test]
    fn a_point_as_shown_is_found_again_in_the_file() {
        let at = Point::new(120.0, -45.0, 300.0);
        let glb = Import { scan: "a.glb".into(), ..Import::default() };
        let file = glb.in_file(&at);
        assert!((vehicle_from_gltf([file.x, file.y, file.z]) - at).norm() < 1e-9);
        let ply = Import { scan: "a.ply".into(), unit: Unit::Mm, up: Up::Z, ..Import::default() };
        assert!((ply.in_file(&at) - at).norm() < 1e-9);
    }

    #[test]
    fn points_are_picked_in_turn() {
        let mut import = Import { picking: Some((0, true)), ..Import::default() };
        for step in 0..6 {
            import.set(Point::new(f64::from(step), 0.0, 0.0));
        }
        assert_eq!((import.known(), import.picking), (3, None));
    }
}
