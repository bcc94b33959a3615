//! A scan taken in from the window: read, three points clicked in it and in the boot, placed.

use std::fmt::Write as _;
use std::fs;
use std::path::Path;
use std::sync::{Arc, Mutex};

use bevy::input::keyboard::KeyCode;
use bevy_egui::egui::Pos2;
use dryberth::format;
use dryberth::frame::gltf_from_vehicle;
use dryberth::model::{Place, Point, Shape, Vector};
use dryberth::scene::{Document, Orbit, View};

use crate::drive::*;

/// The anchors that the points are clicked on; each lies in the middle of a plate of the scan.
const ANCHORS: [&str; 3] =
    ["lashing eye, right", "lashing eye, left", "sealant bracket hole, front"];

/// How the phone lay: turned and shifted against the boot.
fn phone() -> Place {
    Place { at: Point::new(-310.0, 95.0, 60.0), turn_deg: (0.0, 0.0, 24.0) }
}

/// A scan in metres, y up, of a level plate of 60 × 60 mm round each anchor and a larger one between,
/// in the phone's own frame.
fn scan(anchors: &[Point], to: &Path) {
    let pose = phone().pose().inverse();
    let mut text = String::new();
    let mut corners = 0;
    let mut plate = |middle: Point, half: f64| {
        for (x, y) in [(-half, -half), (half, -half), (half, half), (-half, half)] {
            let [a, b, c] = gltf_from_vehicle(&(pose * (middle + Vector::new(x, y, 0.0))));
            writeln!(text, "v {a} {b} {c}").unwrap();
        }
        let first = corners + 1;
        writeln!(text, "f {} {} {}", first, first + 1, first + 2).unwrap();
        writeln!(text, "f {} {} {}", first, first + 2, first + 3).unwrap();
        corners += 4;
    };
    for anchor in anchors {
        plate(*anchor, 30.0);
    }
    plate(Point::new(400.0, 0.0, 300.0), 90.0);
    fs::write(to, text).unwrap();
}

#[test]
fn a_scan_is_read_clicked_into_place_and_becomes_a_body() {
    if !alone("scanned::a_scan_is_read_clicked_into_place_and_becomes_a_body") {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let path = demo_copy(folder.path()).with_file_name("sandlark-cabriolet.ron");
    let layout = format::open(&path).unwrap().layout;
    let anchors: Vec<Point> = ANCHORS
        .iter()
        .map(|name| layout.anchors.iter().find(|anchor| anchor.name == *name).unwrap().at)
        .collect();
    let file = folder.path().join("phone.obj");
    scan(&anchors, &file);
    let before = layout.bodies.len();
    let known = anchors.clone();
    drive(&path, (1400, 900), move |script| {
        script.past_the_cautions();
        script.click("Above");
        script.click("Measure in");
        script.click("Take in a scan…");
        script.until("its window is open", |world| world.resource::<View>().import.is_some());
        script.write(file.display().to_string());
        script.click("Read");
        script.until("it is shown beside the boot", |world| {
            world.resource::<View>().import.as_ref().is_some_and(|known| known.preview.is_some())
        });
        script.pause(20);
        let inverse = phone().pose().inverse();
        for anchor in known {
            for in_scan in [true, false] {
                let at: Arc<Mutex<Pos2>> = Arc::default();
                let found = Arc::clone(&at);
                script.act("where the point is seen", move |world| {
                    let import = world.resource::<View>().import.clone().unwrap();
                    let said = &world.resource::<View>().said;
                    let picking = import.picking.map(|(_, scan)| scan);
                    assert_eq!(picking, Some(in_scan), "{anchor}: {said:?}");
                    let aside = import.preview.unwrap().aside;
                    let point = if in_scan { inverse * anchor + aside } else { anchor };
                    *found.lock().unwrap() = world.resource::<Orbit>().screen(&point).unwrap();
                });
                script.press_at(move || *at.lock().unwrap());
            }
        }
        script.act("three points are known", |world| {
            let import = world.resource::<View>().import.clone().unwrap();
            assert_eq!(import.known(), 3, "{import:?} {:?}", world.resource::<View>().said);
        });
        script.picture("scan-points");
        script.click("Place it");
        script.until("it is a body", move |world| {
            let wrong = world.resource::<View>().import.as_ref().and_then(|i| i.wrong.clone());
            assert_eq!(wrong, None);
            world.resource::<Document>().layout().bodies.len() == before + 1
        });
        script.until("the boot is ready with it", settled);
        script.act("it lies where it was", |world| {
            let document = world.resource::<Document>();
            let (_, solid) = document
                .boot()
                .bodies()
                .find(|(body, _)| matches!(&body.shape, Shape::Mesh { file } if file.contains("scanned")))
                .unwrap();
            let bounds = solid.bounds();
            // The plates lie round the anchors, from 60 to 325 forward; clicks are good to a few mm.
            assert!((bounds.low.x - 60.0).abs() < 12.0, "{bounds:?}");
            assert!((bounds.high.z - 300.0).abs() < 12.0, "{bounds:?}");
            assert!((bounds.low.y + 420.0).abs() < 12.0, "{bounds:?}");
        });
        with_control(script, "saving", KeyCode::KeyS, "s");
        script.until("it is saved", |world| !world.resource::<Document>().any_unsaved());
    });
    let again = format::open(&path).unwrap();
    assert_eq!(again.layout.bodies.len(), before + 1);
    assert!(path.with_file_name("meshes").join("scanned-panel.scan.ron").exists(), "with its plan");
}
