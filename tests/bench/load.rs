//! How long does it take to read the demo and make it ready?
//!
//! Beside the reading stands the same layout written as JSON and read by serde_json; beside the
//! floor's height grid the same grid by a ray cast down on every cell's centre.

#![allow(missing_docs, clippy::print_stdout, reason = "a bench prints its table")]

mod stopwatch;

use std::time::Duration;

use dryberth::checks::Boot;
use dryberth::format::{layout_from_text, open_demo};
use dryberth::geometry::{HeightGrid, NO_FLOOR_MM, Triangles};
use dryberth::model::Layout;
use parry3d::math::{Pose, Vector};
use parry3d::query::{Ray, RayCast};
use parry3d::shape::TriMesh;
use stopwatch::{print, timed};

const BUDGET: Duration = Duration::from_millis(1_500);

fn main() {
    let opened = open_demo(None).expect("the demo");
    let fitted = Boot::usual_options(&opened.layout);
    let text = opened.file.text();
    let json = serde_json::to_string(&opened.layout).expect("a layout as JSON");
    let rows = [
        timed("open_demo and boot: read and made ready", BUDGET, || {
            let opened = open_demo(None).expect("the demo");
            opened.boot(&fitted).expect("a boot")
        }),
        timed("open_demo: layout, pump and mesh read and proven sound", BUDGET, || {
            open_demo(None).expect("the demo")
        }),
        timed("boot: trees, height grid, floods, routing field", BUDGET, || {
            opened.boot(&fitted).expect("a boot")
        }),
    ];
    print("wrenfield-drop-top, from text to ready", &rows);

    let rows = [
        timed("layout_from_text: RON, every value checked", BUDGET, || {
            layout_from_text("demo", text).expect("the layout")
        }),
        timed("serde_json: the same layout as JSON, nothing checked", BUDGET, || {
            serde_json::from_str::<Layout>(&json).expect("the layout")
        }),
    ];
    print("reading the layout alone", &rows);

    let boot = opened.boot(&fitted).expect("a boot");
    floor(&boot);
}

fn floor(boot: &Boot) {
    let sheets: Vec<&Triangles> = boot
        .bodies()
        .filter(|(body, _)| body.role.holds_water())
        .map(|(_, solid)| solid.triangles())
        .collect();
    let step_mm = boot.layout().limits.water_step_mm;
    let grid = HeightGrid::of(&sheets, step_mm).expect("a floor");
    let mut all = Triangles::default();
    sheets.iter().for_each(|sheet| all.append(sheet));
    let high_mm = all.bounds().expect("a floor").high.z + 10.0;
    let corners = all.vertices.iter().map(|at| Vector::new(at.x, at.y, at.z)).collect();
    let mesh = TriMesh::new(corners, all.indices.clone()).expect("a surface");
    let here = Pose::IDENTITY;
    let cast = || -> Vec<f64> {
        (0..grid.height_mm.len())
            .map(|cell| {
                let centre = grid.centre(cell);
                let from = Vector::new(centre.x, centre.y, high_mm);
                let ray = Ray::new(from, -Vector::Z);
                mesh.cast_ray(&here, &ray, f64::MAX, false)
                    .map_or(NO_FLOOR_MM, |down_mm| high_mm - down_mm)
            })
            .collect()
    };
    // The two differ on purpose only where upright sheet thinner than a cell dams.
    let by_rays = cast();
    let same = grid
        .height_mm
        .iter()
        .zip(&by_rays)
        .filter(|(a, b)| (*a - *b).abs() < 0.01 || a.total_cmp(b).is_eq());
    let share = 100.0 * same.count() as f64 / by_rays.len() as f64;
    assert!(share > 80.0, "only {share:.0} % of the cells agree");
    let rows = [
        timed("HeightGrid::of: triangle by triangle", BUDGET, || {
            HeightGrid::of(&sheets, step_mm).expect("a floor")
        }),
        timed("parry3d: a ray cast down on every cell's centre", BUDGET, cast),
    ];
    let cells = grid.height_mm.len();
    print(&format!("floor grid of {cells} cells of {step_mm} mm ({share:.1} % alike)"), &rows);
}
