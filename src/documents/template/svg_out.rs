//! A template as SVG at true size.

use svg::Document;
use svg::node::element::path::Data;
use svg::node::element::{Circle, Group, Path, Rectangle, Text, Title};

use super::CHECK_MM;
use crate::documents::panel::Panel;
use crate::geometry::Outline;

/// Free room round everything, mm.
const ROUND_MM: f64 = 10.0;

/// An SVG file of the panel at true size: one user unit is 1 mm. Arcs are arcs. Groups: `cut`, `holes`,
/// `opening`, `marks`, and beside the panel a 100 mm square, `check`.
pub fn template_svg(panel: &Panel) -> String {
    let [mut l, mut b, mut r, mut t] = panel.outline.bounds();
    if let Some(more) = &panel.opening {
        let [ol, ob, or, ot] = more.bounds();
        (l, b, r, t) = (l.min(ol), b.min(ob), r.max(or), t.max(ot));
    }
    let width = r - l + CHECK_MM + 3.0 * ROUND_MM;
    let height = (t - b).max(CHECK_MM) + 2.0 * ROUND_MM;
    // y down, the panel's upper left corner at the margin.
    let at = |x: f64, y: f64| (x - l + ROUND_MM, t - y + ROUND_MM);
    let line = |outline: &Outline, colour: &str, width: f64| {
        Path::new()
            .set("d", data(outline, &at))
            .set("fill", "none")
            .set("stroke", colour)
            .set("stroke-width", width)
    };
    let mut document = Document::new()
        .set("width", format!("{width}mm"))
        .set("height", format!("{height}mm"))
        .set("viewBox", (0, 0, width, height))
        .add(Title::new(format!("{}, 1 unit = 1 mm, seen on its face", panel.name)));
    if let Some(opening) = &panel.opening {
        let dashed = line(opening, "#888888", 0.15).set("stroke-dasharray", "3 2");
        document = document.add(Group::new().set("id", "opening").add(dashed));
    }
    document =
        document.add(Group::new().set("id", "cut").add(line(&panel.outline, "#000000", 0.2)));
    let mut holes = Group::new().set("id", "holes");
    for hole in &panel.holes {
        holes = match round(hole) {
            Some((x, y, radius)) => {
                let (x, y) = at(x, y);
                let circle = Circle::new().set("cx", x).set("cy", y).set("r", radius);
                let style = circle.set("fill", "none").set("stroke", "#000000");
                holes.add(style.set("stroke-width", 0.2))
            }
            None => holes.add(line(hole, "#000000", 0.2)),
        };
    }
    document = document.add(holes);
    let words = |x: f64, y: f64, size: f64, text: &str| {
        Text::new(text)
            .set("x", x)
            .set("y", y)
            .set("font-size", size)
            .set("font-family", "sans-serif")
            .set("fill", "#666666")
    };
    let mut marks = Group::new().set("id", "marks");
    for relief in &panel.reliefs {
        let (x, y) = at(relief.at.0, relief.at.1);
        marks = marks.add(words(x + relief.width_mm / 2.0 + 1.0, y, 3.0, &relief.line));
    }
    let aside = r - l + 2.0 * ROUND_MM;
    marks = marks.add(words(aside + 4.0, ROUND_MM + 10.0, 4.0, "100 mm: measure before cutting"));
    if let Some(grain_deg) = panel.grain_deg {
        let text = format!("pile, grain: {grain_deg}° from right; face side shown");
        marks = marks.add(words(aside + 4.0, ROUND_MM + 18.0, 4.0, &text));
    }
    document = document.add(marks);
    let square = Rectangle::new()
        .set("x", aside)
        .set("y", ROUND_MM)
        .set("width", CHECK_MM)
        .set("height", CHECK_MM)
        .set("fill", "none")
        .set("stroke", "#0000ff")
        .set("stroke-width", 0.2);
    document.add(Group::new().set("id", "check").add(square)).to_string()
}

fn data(outline: &Outline, at: &dyn Fn(f64, f64) -> (f64, f64)) -> Data {
    let mut data = Data::new();
    let count = outline.corners.len();
    for (index, corner) in outline.corners.iter().enumerate() {
        let next = outline.corners[(index + 1) % count];
        if index == 0 {
            data = data.move_to(at(corner.x, corner.y));
        }
        let mut from = (corner.x, corner.y);
        for (end, bulge) in pieces((corner.x, corner.y), (next.x, next.y), corner.bulge) {
            let (x, y) = at(end.0, end.1);
            if bulge.abs() < 1e-9 {
                data = data.line_to((x, y));
                continue;
            }
            let chord = (end.0 - from.0).hypot(end.1 - from.1);
            let radius = chord * (1.0 + bulge * bulge) / (4.0 * bulge.abs());
            // y runs down, so a counter-clockwise arc sweeps the other way.
            let sweep = u8::from(bulge < 0.0);
            data = data.elliptical_arc_to((radius, radius, 0.0, 0.0, f64::from(sweep), x, y));
            from = end;
        }
    }
    data.close()
}

/// A side as arcs of at most about 106°, each with its end and bulge. SVG tells an arc by its ends and radius,
/// and near half a turn the last digit of an end moves the arc by a hundredth of a millimetre.
fn pieces(a: (f64, f64), b: (f64, f64), bulge: f64) -> Vec<((f64, f64), f64)> {
    if bulge.is_nan() || bulge.abs() <= 0.5 {
        return vec![(b, bulge)];
    }
    let (dx, dy) = (b.0 - a.0, b.1 - a.1);
    let middle = ((a.0 + b.0 + dy * bulge) / 2.0, (a.1 + b.1 - dx * bulge) / 2.0);
    let half = (bulge.atan() / 2.0).tan();
    let mut all = pieces(a, middle, half);
    all.extend(pieces(middle, b, half));
    all
}

/// Centre and radius when an outline is a whole circle.
pub(super) fn round(outline: &Outline) -> Option<(f64, f64, f64)> {
    let [a, b] = outline.corners[..] else { return None };
    let whole = |bulge: f64| (bulge - 1.0).abs() < 1e-9;
    let radius = (b.x - a.x).hypot(b.y - a.y) / 2.0;
    (whole(a.bulge) && whole(b.bulge)).then_some(((a.x + b.x) / 2.0, (a.y + b.y) / 2.0, radius))
}
