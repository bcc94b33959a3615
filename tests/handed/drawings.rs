//! Templates as SVG and DXF, read back. tests/referees/paper.py does the same with ezdxf and
//! svgpathtools.

use dryberth::documents::panel::{Panel, panel_for, plate};
use dryberth::documents::{template_dxf, template_svg};
use dxf::entities::EntityType;

use crate::sandlark;

fn panels() -> Vec<Panel> {
    let ready = sandlark();
    let lines = &ready.card.drawn.lines;
    let openings = &ready.opened.layout.openings;
    let mut panels: Vec<Panel> = openings
        .iter()
        .map(|opening| panel_for(&ready.boot, opening, lines).expect("a panel"))
        .collect();
    let corners = [(0.0, 0.0), (240.0, 0.0), (240.0, 130.0), (200.0, 160.0), (0.0, 130.0)];
    panels.push(
        plate("plate", &corners, &[((20.0, 20.0), 6.5), ((220.0, 20.0), 6.5)]).expect("a plate"),
    );
    panels
}

/// Length of a closed polyline with bulges: chords and arcs, from their definition.
fn length(corners: &[(f64, f64, f64)]) -> f64 {
    (0..corners.len())
        .map(|i| {
            let (a, b) = (corners[i], corners[(i + 1) % corners.len()]);
            let chord = (b.0 - a.0).hypot(b.1 - a.1);
            if a.2 == 0.0 {
                return chord;
            }
            let angle = 4.0 * a.2.abs().atan();
            chord / (2.0 * (angle / 2.0).sin()) * angle
        })
        .sum()
}

#[test]
fn a_drawing_reads_back_in_millimetres_with_the_same_lengths() {
    for panel in panels() {
        let bytes = template_dxf(&panel).expect("a file");
        assert_eq!(bytes, template_dxf(&panel).expect("a file"), "the same bytes");
        let drawing = dxf::Drawing::load(&mut &bytes[..]).expect("a DXF file");
        assert_eq!(drawing.header.default_drawing_units, dxf::enums::Units::Millimeters);
        let mut lengths = std::collections::BTreeMap::new();
        let mut circles = 0;
        for entity in drawing.entities() {
            match &entity.specific {
                EntityType::LwPolyline(line) => {
                    assert!(line.is_closed());
                    let corners: Vec<_> =
                        line.vertices.iter().map(|v| (v.x, v.y, v.bulge)).collect();
                    lengths.insert(entity.common.layer.clone(), length(&corners));
                }
                EntityType::Circle(circle) => {
                    circles += 1;
                    assert!((circle.radius - 3.25).abs() < 1e-9);
                }
                _ => {}
            }
        }
        let cut = lengths["CUT"];
        assert!((cut - panel.outline.length_mm()).abs() < 1e-6, "{}: {cut}", panel.name);
        assert!((lengths["CHECK"] - 400.0).abs() < 1e-9);
        assert_eq!(lengths.contains_key("OPENING"), panel.opening.is_some());
        assert_eq!(circles, panel.holes.len());
    }
}

/// Numbers of an attribute, all of them in order.
fn numbers(text: &str) -> Vec<f64> {
    text.split(|letter: char| !(letter.is_ascii_digit() || "+-.eE".contains(letter)))
        .filter_map(|part| part.parse().ok())
        .collect()
}

#[test]
fn an_svg_has_a_unit_of_one_millimetre() {
    for panel in panels() {
        let text = template_svg(&panel);
        let attribute = |name: &str| -> &str {
            let at = text.find(&format!(" {name}=\"")).unwrap_or_else(|| panic!("no {name}"));
            text[at..].split('"').nth(1).expect("a value")
        };
        // The width in mm is the width of the view in units.
        let view = numbers(attribute("viewBox"));
        let wide: f64 =
            attribute("width").strip_suffix("mm").expect("mm").parse().expect("a number");
        let high: f64 =
            attribute("height").strip_suffix("mm").expect("mm").parse().expect("a number");
        assert!(
            (wide - view[2]).abs() < 1e-3 && (high - view[3]).abs() < 1e-3,
            "{wide} × {high} for {view:?}"
        );
        let check = &text[text.find("<rect").expect("the square")..];
        assert!(check.contains("width=\"100\"") && check.contains("height=\"100\""));
        // Corners of the cut line, in the drawing's own frame, span what the panel does.
        let cut = &text[text.find("id=\"cut\"").expect("the cut line")..];
        let data =
            cut.split(" d=\"").nth(1).and_then(|rest| rest.split('"').next()).expect("a path");
        let mut ends: Vec<(f64, f64)> = Vec::new();
        for part in data.split_inclusive(|letter: char| letter.is_ascii_alphabetic()) {
            let values = numbers(part);
            if values.len() >= 2 {
                ends.push((values[values.len() - 2], values[values.len() - 1]));
            }
        }
        // Wide arcs are written in pieces: every corner is there, in order, with nothing but middles of arcs between.
        let corners = &panel.outline.corners;
        let wide = corners.iter().filter(|corner| corner.bulge.abs() > 0.5).count();
        assert_eq!(ends.len(), corners.len() + wide + 1, "{data}");
        let mut rest = ends.iter();
        for corner in corners {
            let (x, y) = (ends[0].0 + corner.x - corners[0].x, ends[0].1 - corner.y + corners[0].y);
            let here = |end: &&(f64, f64)| (end.0 - x).abs() < 2e-3 && (end.1 - y).abs() < 2e-3;
            assert!(rest.find(here).is_some(), "({x}, {y}) is not in {data}");
        }
        assert_eq!(
            data.matches('A').count(),
            corners.iter().filter(|c| c.bulge != 0.0).count() + wide
        );
    }
}
