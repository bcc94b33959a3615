//! A template as DXF in millimetres.

use dxf::entities::{Circle, Entity, EntityType, Line, LwPolyline, Text};
use dxf::enums::{AcadVersion, DrawingUnits, Units};
use dxf::tables::Layer;
use dxf::{Color, Drawing, LwPolylineVertex, Point};

use super::CHECK_MM;
use super::svg_out::round;
use crate::documents::panel::Panel;
use crate::geometry::Outline;

/// Layers and their colours by the standard's index.
const LAYERS: [(&str, u8); 5] =
    [("CUT", 7), ("HOLES", 7), ("OPENING", 8), ("MARKS", 3), ("CHECK", 5)];

/// Handle of the first table's head: far beyond what a panel's few entities take, below the seed.
const FIRST_HEAD: u32 = 0xF000;

/// A DXF file (release 2000) of the panel in millimetres, seen on its face. Outlines are closed
/// polylines whose arcs are arcs, round holes are circles. Layers: CUT, HOLES, OPENING, MARKS, and beside
/// the panel a 100 mm square, CHECK. None when it can't be written.
pub fn template_dxf(panel: &Panel) -> Option<Vec<u8>> {
    let mut drawing = Drawing::new();
    drawing.header.version = AcadVersion::R2000;
    drawing.header.default_drawing_units = Units::Millimeters;
    drawing.header.drawing_units = DrawingUnits::Metric;
    drawing.header.fingerprint_guid = Default::default();
    drawing.header.version_guid = Default::default();
    for (name, colour) in LAYERS {
        let layer =
            Layer { name: name.to_string(), color: Color::from_index(colour), ..Layer::default() };
        drawing.add_layer(layer);
    }
    let mut add = |layer: &str, specific: EntityType| {
        let mut entity = Entity::new(specific);
        entity.common.layer = layer.to_string();
        drawing.add_entity(entity);
    };
    add("CUT", polyline(&panel.outline));
    for hole in &panel.holes {
        let specific = match round(hole) {
            Some((x, y, radius)) => EntityType::Circle(Circle {
                center: Point::new(x, y, 0.0),
                radius,
                ..Default::default()
            }),
            None => polyline(hole),
        };
        add("HOLES", specific);
    }
    if let Some(opening) = &panel.opening {
        add("OPENING", polyline(opening));
    }
    let [l, b, r, t] = panel.outline.bounds();
    let text = |x: f64, y: f64, value: &str| {
        EntityType::Text(Text {
            location: Point::new(x, y, 0.0),
            text_height: 3.5,
            value: plain(value),
            ..Default::default()
        })
    };
    let aside = r + 30.0;
    add("MARKS", text(aside, t - CHECK_MM - 8.0, &format!("{}, face side, mm", panel.name)));
    if let Some(grain_deg) = panel.grain_deg {
        let middle = ((l + r) / 2.0, (b + t) / 2.0);
        let (sin, cos) = grain_deg.to_radians().sin_cos();
        let end =
            |sign: f64| Point::new(middle.0 + sign * 15.0 * cos, middle.1 + sign * 15.0 * sin, 0.0);
        add("MARKS", EntityType::Line(Line { p1: end(-1.0), p2: end(1.0), ..Default::default() }));
        let words = format!("line in the middle: pile, grain {grain_deg} deg from right");
        add("MARKS", text(aside, t - CHECK_MM - 14.0, &words));
    }
    for relief in &panel.reliefs {
        add("MARKS", text(relief.at.0 + relief.width_mm / 2.0 + 1.0, relief.at.1, &relief.line));
    }
    let square = [
        (aside, t - CHECK_MM),
        (aside + CHECK_MM, t - CHECK_MM),
        (aside + CHECK_MM, t),
        (aside, t),
    ];
    if let Ok(square) = Outline::through(&square) {
        add("CHECK", polyline(&square));
    }
    let mut bytes = Vec::new();
    drawing.save(&mut bytes).ok()?;
    Some(tidied(&String::from_utf8(bytes).ok()?).into_bytes())
}

fn polyline(outline: &Outline) -> EntityType {
    let vertices = outline
        .corners
        .iter()
        .map(|corner| LwPolylineVertex {
            x: corner.x,
            y: corner.y,
            bulge: corner.bulge,
            ..Default::default()
        })
        .collect();
    let mut line = LwPolyline { vertices, ..Default::default() };
    line.set_is_closed(true);
    EntityType::LwPolyline(line)
}

/// Letters that every reader of release 2000 has.
fn plain(text: &str) -> String {
    text.chars().map(|letter| if letter.is_ascii() { letter } else { '?' }).collect()
}

/// The same text with the times at which it was made set to one day, so that the same panel gives the
/// same bytes, and with the handles that the standard asks of every table's head.
fn tidied(text: &str) -> String {
    let lines: Vec<&str> = text.split_inclusive('\n').collect();
    let times = ["$TDCREATE", "$TDUCREATE", "$TDUPDATE", "$TDUUPDATE"];
    let mut out = String::with_capacity(text.len() + 400);
    let mut heads = 0;
    for (index, line) in lines.iter().enumerate() {
        let before = |back: usize| index.checked_sub(back).map_or("", |at| lines[at].trim());
        if times.contains(&before(2)) {
            // Julian day of 1 January 2000.
            out.push_str("2451545.0\r\n");
        } else if before(2) == "$HANDSEED" {
            out.push_str("FFFF\r\n");
        } else {
            out.push_str(line);
        }
        // `0 TABLE 2 NAME`: the name is the last of these four.
        if before(3) == "0" && before(2) == "TABLE" && before(1) == "2" {
            out.push_str(&format!("  5\r\n{:X}\r\n", FIRST_HEAD + heads));
            heads += 1;
        }
    }
    out
}
