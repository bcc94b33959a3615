//! What is named in a picture, and where it is.

use super::camera::{Camera, View};
use super::labels::Label;
use super::raster::Layer;
use super::scene::{FINER, Picture, TrimShown};
use crate::checks::{Boot, Scorecard};
use crate::geometry::Triangles;
use crate::model::{Part, Point, Spot};

/// A thing whose middle lies farther than this behind what is seen in its place is hidden, mm.
const HIDDEN_MM: f64 = 200.0;

/// What is named in a picture, and where it is.
pub(super) fn names(
    boot: &Boot,
    spot: &Spot,
    card: &Scorecard,
    camera: &Camera,
    solid: &Layer,
    wanted: &Picture,
) -> Vec<Label> {
    let (width, height) = (f64::from(wanted.width), f64::from(wanted.height));
    let pose = spot.place.pose();
    let pump = boot.pump();
    let mut labels: Vec<Label> = Vec::new();
    let mut add = |text: &str, point: &Point, main: bool| {
        let Some((x, y, ahead)) = camera.pixel(point, width, height) else { return };
        if (0.0..width).contains(&x) && (0.0..height).contains(&y) {
            // What lies well behind something solid is not named: the line would end on that.
            let pixel = (y as usize * FINER) * solid.width + x as usize * FINER;
            let near = f64::from(solid.nearness[pixel]);
            if !main && near > 0.0 && 1.0 / near < ahead - HIDDEN_MM {
                return;
            }
            let text: String = if text.chars().count() > 44 {
                text.chars().take(42).chain(['…']).collect()
            } else {
                text.to_string()
            };
            labels.push(Label { text, at: (x as f32, y as f32), main });
        }
    };
    let behind_trim = wanted.trim == TrimShown::In;
    let middle_of = |surface: &Triangles| surface.bounds().map(|bounds| bounds.centre());
    if !behind_trim {
        let motor = pump.solids.iter().position(|solid| solid.part == Part::Motor).unwrap_or(0);
        if let Some(middle) =
            boot.pump_solids().get(motor).and_then(|solid| middle_of(solid.triangles()))
        {
            add("roof pump", &(pose * middle), true);
        }
    }
    if wanted.view == View::Close {
        add("filler", &(pose * pump.reservoir.filler), false);
        add("level line", &(pose * pump.reservoir.level_line), false);
        let ends: Vec<(String, Point)> = card
            .drawn
            .lines
            .iter()
            .filter_map(|line| {
                let known = boot.lines().find(|known| known.name == line.name)?;
                let at = line.centreline.get(line.centreline.len().saturating_sub(4))?;
                Some((known.kind.words().to_string(), *at))
            })
            .collect();
        let mut told: Vec<&str> = Vec::new();
        for (kind, at) in &ends {
            if !told.contains(&kind.as_str()) {
                told.push(kind);
                let many = ends.iter().filter(|(other, _)| other == kind).count();
                let text = if many > 1 { format!("{kind}s") } else { kind.clone() };
                add(&text, at, false);
            }
        }
        let mounts = spot.fixings.iter().filter_map(|fixing| {
            pump.mounts.iter().find(|mount| mount.name == fixing.mount).map(|mount| (fixing, mount))
        });
        // The one that is seen best: how far it lies behind what the picture shows there.
        let behind_mm = |mount: &crate::model::Mount| -> f64 {
            let Some((x, y, ahead)) = camera.pixel(&(pose * mount.at), width, height) else {
                return f64::INFINITY;
            };
            if !(0.0..width).contains(&x) || !(0.0..height).contains(&y) {
                return f64::INFINITY;
            }
            let pixel = (y as usize * FINER) * solid.width + x as usize * FINER;
            let near = f64::from(solid.nearness[pixel]);
            if near > 0.0 { (ahead - 1.0 / near).max(0.0) } else { 0.0 }
        };
        let clearest = mounts.min_by(|a, b| behind_mm(a.1).total_cmp(&behind_mm(b.1)));
        if let Some((fixing, mount)) = clearest {
            let more = spot.fixings.len();
            let kind = fixing.kind.words();
            let text = if more > 1 { format!("{more} fixings") } else { kind.to_string() };
            add(&text, &(pose * mount.at), false);
        }
    } else {
        use crate::model::Role;
        let large = wanted.label_share > 1.0 / 35.0;
        for (body, solid) in boot.bodies() {
            let option = body.option.is_some() && body.role != Role::Loom;
            let told =
                body.role == Role::Battery || option || (body.role == Role::Module && !large);
            if told
                && !behind_trim
                && let Some(middle) = middle_of(solid.triangles())
            {
                add(&body.name, &middle, false);
            }
        }
        for (trim, surface) in boot.trims() {
            if wanted.trim != TrimShown::Out
                && !large
                && let Some(middle) = middle_of(surface)
            {
                add(&trim.name, &middle, false);
            }
        }
    }
    labels
}
