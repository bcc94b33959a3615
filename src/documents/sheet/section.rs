//! The reservoir cut through its middle, as a drawing on paper.

use crate::checks::feed::{TankDrawing, TankView};
use crate::checks::water::SLOPES;
use crate::documents::pdf::{ACCENT, AMBER_LINE, Colour, FAINT, INK, PALE};

/// Width of a drawing with its labels, mm of paper.
pub(crate) const WIDTH_MM: f64 = 86.0;
/// Room for labels on either side, mm.
const LABELS_MM: f64 = 25.0;
/// Most height of the reservoir, mm.
const TALLEST_MM: f64 = 46.0;
/// Room over it for the words, and under it, mm.
const HEAD_MM: f64 = 6.0;
const FOOT_MM: f64 = 3.0;
/// Labels don't stand closer than this, mm.
const APART_MM: f64 = 3.8;

/// One thing in a drawing; millimetres of paper from its upper left corner, y down.
pub(crate) enum Ink {
    /// A closed shape, filled and edged.
    Shape(Vec<(f64, f64)>),
    Line {
        from: (f64, f64),
        to: (f64, f64),
        width_mm: f64,
        colour: Colour,
        dashed: bool,
    },
    Dot((f64, f64)),
    /// Words that begin at a place, or end there.
    Words {
        at: (f64, f64),
        text: String,
        ends: bool,
        bold: bool,
    },
}

/// A drawing with its height.
pub(crate) struct Section {
    pub(crate) words: String,
    pub(crate) height_mm: f64,
    pub(crate) inks: Vec<Ink>,
}

/// What the lines mean.
pub(super) fn legend(drawing: &TankDrawing) -> String {
    format!(
        "The reservoir cut through its middle, with the fluid's surface in each of {} cases, cold and hot \
         fluid among them. Green: parked, level and on slopes. Amber: braking, speeding up, in bends. Dashed: \
         rams out. Thick: level ground, as filled. The pickup must lie under every line, the breather over \
         those of a parked car.",
        drawing.views[0].surfaces.len()
    )
}

/// Both views side by side, at one scale.
pub(super) fn sections(drawing: &TankDrawing) -> Vec<Section> {
    let scale = drawing.views.iter().map(scale).fold(f64::INFINITY, f64::min);
    drawing.views.iter().map(|view| section(view, scale)).collect()
}

/// Low and high corner of what is drawn, mm.
fn bounds(view: &TankView) -> ([f64; 2], [f64; 2]) {
    let marks = view.marks.iter().map(|mark| mark.at);
    let all = view.outline.iter().flatten().copied().chain(marks);
    all.fold(([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]), |(low, high), at| {
        ([low[0].min(at[0]), low[1].min(at[1])], [high[0].max(at[0]), high[1].max(at[1])])
    })
}

/// Paper for a millimetre of reservoir, mm.
fn scale(view: &TankView) -> f64 {
    let (low, high) = bounds(view);
    let wide = (WIDTH_MM - 2.0 * LABELS_MM) / (high[0] - low[0]).max(1.0);
    wide.min(TALLEST_MM / (high[1] - low[1]).max(1.0))
}

fn section(view: &TankView, scale: f64) -> Section {
    let (low, high) = bounds(view);
    let left = (WIDTH_MM - scale * (high[0] - low[0])) / 2.0;
    let right = WIDTH_MM - left;
    let on_paper =
        |at: &[f64; 2]| (left + scale * (at[0] - low[0]), HEAD_MM + scale * (high[1] - at[1]));
    let mut inks: Vec<Ink> = view
        .outline
        .iter()
        .map(|corners| Ink::Shape(corners.iter().map(on_paper).collect()))
        .collect();
    // Driving under parked under level, so that what matters most is on top.
    let level = |words: &str| words.starts_with(SLOPES[0].words);
    let as_filled = |warmer_k: f64| warmer_k.abs() < 1e-9;
    let mut order: Vec<_> = view.surfaces.iter().collect();
    order.sort_by_key(|surface| {
        (!surface.driving, level(&surface.words) && as_filled(surface.warmer_k))
    });
    let mut said = Vec::new();
    for surface in order {
        let thick = level(&surface.words) && as_filled(surface.warmer_k);
        for [from, to] in &surface.pieces {
            let colour = if surface.driving { AMBER_LINE } else { ACCENT };
            let width_mm = if thick { 0.5 } else { 0.12 };
            let (from, to) = (on_paper(from), on_paper(to));
            inks.push(Ink::Line { from, to, width_mm, colour, dashed: surface.rams_out });
            if thick {
                let rams = if surface.rams_out { "rams out" } else { "rams in" };
                said.push((from, format!("level, {rams}")));
            }
        }
    }
    label(&mut inks, said, left - 2.0, true);
    let marks: Vec<((f64, f64), String)> =
        view.marks.iter().map(|mark| (on_paper(&mark.at), mark.words.to_string())).collect();
    inks.extend(marks.iter().map(|(at, _)| Ink::Dot(*at)));
    label(&mut inks, marks, right + 2.0, false);
    let words = format!("Seen {}", view.words);
    let head = (WIDTH_MM / 2.0 - 14.0, 3.0);
    inks.push(Ink::Words { at: head, text: words.clone(), ends: false, bold: true });
    let height_mm = HEAD_MM + scale * (high[1] - low[1]) + FOOT_MM;
    Section { words, height_mm, inks }
}

/// Words beside a drawing, from the top down, each led to its place.
fn label(inks: &mut Vec<Ink>, mut said: Vec<((f64, f64), String)>, x: f64, ends: bool) {
    said.sort_by(|a, b| a.0.1.total_cmp(&b.0.1));
    let mut next = f64::NEG_INFINITY;
    for (at, text) in said {
        let y = at.1.max(next);
        next = y + APART_MM;
        let to = (x, y);
        inks.push(Ink::Line { from: at, to, width_mm: 0.1, colour: FAINT, dashed: false });
        let beside = if ends { x - 0.8 } else { x + 0.8 };
        inks.push(Ink::Words { at: (beside, y + 0.9), text, ends, bold: false });
    }
}

/// Drawings as one SVG each, for a page.
pub(crate) fn svg(section: &Section) -> String {
    let colour = |(r, g, b): Colour| format!("#{r:02X}{g:02X}{b:02X}");
    let height = section.height_mm;
    let mut out = format!(
        "<svg viewBox=\"0 0 {WIDTH_MM} {height:.2}\" role=\"img\" aria-label=\"{}\" width=\"100%\">",
        section.words
    );
    for ink in &section.inks {
        match ink {
            Ink::Shape(corners) => {
                let points: Vec<String> =
                    corners.iter().map(|(x, y)| format!("{x:.2},{y:.2}")).collect();
                out.push_str(&format!(
                    "<polygon points=\"{}\" fill=\"{}\" stroke=\"{}\" stroke-width=\"0.35\"/>",
                    points.join(" "),
                    colour(PALE),
                    colour(INK)
                ));
            }
            Ink::Line { from, to, width_mm, colour: of, dashed } => {
                let dash = if *dashed { " stroke-dasharray=\"1.2 0.8\"" } else { "" };
                out.push_str(&format!(
                    "<line x1=\"{:.2}\" y1=\"{:.2}\" x2=\"{:.2}\" y2=\"{:.2}\" stroke=\"{}\" \
                     stroke-width=\"{width_mm}\"{dash}/>",
                    from.0,
                    from.1,
                    to.0,
                    to.1,
                    colour(*of)
                ));
            }
            Ink::Dot((x, y)) => out.push_str(&format!(
                "<circle cx=\"{x:.2}\" cy=\"{y:.2}\" r=\"0.6\" fill=\"{}\"/>",
                colour(INK)
            )),
            Ink::Words { at, text, ends, bold } => {
                let anchor = if *ends { "end" } else { "start" };
                let weight = if *bold { "bold" } else { "normal" };
                out.push_str(&format!(
                    "<text x=\"{:.2}\" y=\"{:.2}\" font-size=\"2.8\" text-anchor=\"{anchor}\" \
                     font-weight=\"{weight}\">{text}</text>",
                    at.0, at.1
                ));
            }
        }
    }
    out.push_str("</svg>");
    out
}
