//! Names beside a picture, with a line to the place that each means.

use tiny_skia::{Color, FillRule, Paint, PathBuilder, Pixmap, Rect, Stroke, Transform};

use super::super::typeface::Typeface;

/// A name and the place in the picture that it means, pixels.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Label {
    pub(super) text: String,
    pub(super) at: (f32, f32),
    /// Whether it is what the picture is about.
    pub(super) main: bool,
}

const INK: (u8, u8, u8) = (0x1E, 0x2A, 0x30);
const ACCENT: (u8, u8, u8) = (0x0F, 0x6B, 0x73);

fn paint((r, g, b): (u8, u8, u8), alpha: u8) -> Paint<'static> {
    let mut paint = Paint::default();
    paint.set_color(Color::from_rgba8(r, g, b, alpha));
    paint.anti_alias = true;
    paint
}

struct Box {
    x: f32,
    y: f32,
    width: f32,
    label: Label,
    left: bool,
}

/// Writes the labels at the picture's sides: what lies in its left half at the left, the rest at the
/// right, in the order of their places from top to bottom, so that no two lines cross much.
pub(super) fn write(map: &mut Pixmap, labels: &[Label], size: f32) {
    let (Some(regular), Some(bold)) = (Typeface::regular(), Typeface::bold()) else { return };
    let (width, height) = (map.width() as f32, map.height() as f32);
    let size = size.max(9.0);
    let (pad, line, edge) = (size * 0.55, size * 1.75, size * 0.9);
    let middle = {
        let mut across: Vec<f32> = labels.iter().map(|label| label.at.0).collect();
        across.sort_by(f32::total_cmp);
        // Half of them on each side, but nothing far across the picture.
        across
            .get(across.len() / 2)
            .copied()
            .unwrap_or(width / 2.0)
            .clamp(width * 0.38, width * 0.62)
    };
    let mut boxes: Vec<Box> = Vec::new();
    for left in [true, false] {
        let mut side: Vec<Label> =
            labels.iter().filter(|label| (label.at.0 < middle) == left).cloned().collect();
        side.sort_by(|a, b| a.at.1.total_cmp(&b.at.1).then(a.text.cmp(&b.text)));
        let mut tops: Vec<f32> = side.iter().map(|label| label.at.1 - line / 2.0).collect();
        spread(&mut tops, line * 1.18, edge, height - edge - line);
        for (label, y) in side.into_iter().zip(tops) {
            let face = if label.main { &bold } else { &regular };
            let text = face.printable(&label.text);
            let wide = face.width(&text, size) + 2.0 * pad;
            let x = if left { edge } else { width - edge - wide };
            boxes.push(Box { x, y, width: wide, label: Label { text, ..label }, left });
        }
    }
    let unit = size / 16.0;
    for one in &boxes {
        let colour = if one.label.main { ACCENT } else { INK };
        let from = (if one.left { one.x + one.width } else { one.x }, one.y + line / 2.0);
        let to = one.label.at;
        let elbow = (from.0 + if one.left { size } else { -size }, from.1);
        let mut path = PathBuilder::new();
        path.move_to(from.0, from.1);
        path.line_to(elbow.0, elbow.1);
        path.line_to(to.0, to.1);
        if let Some(path) = path.finish() {
            for (wide, ink, alpha) in [(4.5, (255, 255, 255), 190), (1.6, colour, 255)] {
                let stroke = Stroke { width: wide * unit, ..Stroke::default() };
                map.stroke_path(&path, &paint(ink, alpha), &stroke, Transform::identity(), None);
            }
        }
        for (radius, ink) in [(5.0, (255, 255, 255)), (3.4, colour)] {
            if let Some(dot) = PathBuilder::from_circle(to.0, to.1, radius * unit) {
                map.fill_path(
                    &dot,
                    &paint(ink, 255),
                    FillRule::Winding,
                    Transform::identity(),
                    None,
                );
            }
        }
    }
    for one in &boxes {
        let colour = if one.label.main { ACCENT } else { INK };
        let Some(rect) = Rect::from_xywh(one.x, one.y, one.width, line) else { continue };
        let Some(shape) = rounded(rect, size * 0.35) else { continue };
        let (back, text) =
            if one.label.main { (colour, (255, 255, 255)) } else { ((255, 255, 255), colour) };
        let at = Transform::identity();
        map.fill_path(&shape, &paint(back, 240), FillRule::Winding, at, None);
        let stroke = Stroke { width: 1.2 * unit, ..Stroke::default() };
        map.stroke_path(&shape, &paint(colour, 150), &stroke, at, None);
        let face = if one.label.main { &bold } else { &regular };
        if let Some(letters) =
            face.outlines(&one.label.text, size, one.x + pad, one.y + line / 2.0 + size * 0.36)
        {
            map.fill_path(&letters, &paint(text, 255), FillRule::Winding, at, None);
        }
    }
}

/// Moves tops apart to at least `step`, keeping their order and staying between `low` and `high`.
fn spread(tops: &mut [f32], step: f32, low: f32, high: f32) {
    let mut from = low;
    for top in tops.iter_mut() {
        *top = top.max(from);
        from = *top + step;
    }
    let mut to = high;
    for top in tops.iter_mut().rev() {
        *top = top.min(to);
        to = *top - step;
    }
}

fn rounded(rect: Rect, radius: f32) -> Option<tiny_skia::Path> {
    let (l, t, r, b) = (rect.left(), rect.top(), rect.right(), rect.bottom());
    let mut path = PathBuilder::new();
    path.move_to(l + radius, t);
    path.line_to(r - radius, t);
    path.quad_to(r, t, r, t + radius);
    path.line_to(r, b - radius);
    path.quad_to(r, b, r - radius, b);
    path.line_to(l + radius, b);
    path.quad_to(l, b, l, b - radius);
    path.line_to(l, t + radius);
    path.quad_to(l, t, l + radius, t);
    path.close();
    path.finish()
}
