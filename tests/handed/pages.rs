//! Lines of a PDF page as an independent reader (lopdf) finds them, in millimetres from its upper left
//! corner.

use lopdf::content::Content;
use lopdf::{Document, Object};

/// Points of PDF in a millimetre: ISO 32000, 8.3.2.3, 1/72 inch.
const POINTS_PER_MM: f64 = 72.0 / 25.4;

/// One path that was drawn.
#[derive(Debug, Clone)]
pub(crate) struct Path {
    /// Ends of its sides; of a curve the handles too.
    pub(crate) points: Vec<(f64, f64)>,
    /// Whether it has curves.
    pub(crate) curved: bool,
    /// Width of its line, mm; 0 where it is only filled.
    pub(crate) line_mm: f64,
}

impl Path {
    pub(crate) fn bounds(&self) -> [f64; 4] {
        let mut b = [f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY];
        for (x, y) in &self.points {
            b = [b[0].min(*x), b[1].min(*y), b[2].max(*x), b[3].max(*y)];
        }
        b
    }

    pub(crate) fn size(&self) -> (f64, f64) {
        let [l, t, r, b] = self.bounds();
        (r - l, b - t)
    }
}

pub(crate) struct Page {
    pub(crate) size: (f64, f64),
    pub(crate) paths: Vec<Path>,
}

fn number(object: &Object) -> f64 {
    match object {
        Object::Integer(value) => *value as f64,
        Object::Real(value) => f64::from(*value),
        other => panic!("{other:?} is no number"),
    }
}

pub(crate) fn pages(pdf: &[u8]) -> Vec<Page> {
    let document = Document::load_mem(pdf).expect("a PDF file");
    let mut pages = Vec::new();
    for id in document.get_pages().into_values() {
        let page = document.get_dictionary(id).expect("a page");
        let media = page.get(b"MediaBox").and_then(Object::as_array).expect("a size");
        let media: Vec<f64> = media.iter().map(number).collect();
        let (width, height) = (media[2] - media[0], media[3] - media[1]);
        let content = document.get_page_content(id);
        let content = Content::decode(&content).expect("operations");
        pages.push(Page {
            size: (width / POINTS_PER_MM, height / POINTS_PER_MM),
            paths: paths(&content, height),
        });
    }
    pages
}

fn paths(content: &Content, height: f64) -> Vec<Path> {
    let mut found = Vec::new();
    let mut matrix = [1.0, 0.0, 0.0, 1.0, 0.0, 0.0];
    let mut line = 1.0;
    let mut kept = Vec::new();
    let mut points: Vec<(f64, f64)> = Vec::new();
    let mut curved = false;
    for operation in &content.operations {
        let values = || -> Vec<f64> { operation.operands.iter().map(number).collect() };
        let place = |m: &[f64; 6], x: f64, y: f64| {
            let (x, y) = (m[0] * x + m[2] * y + m[4], m[1] * x + m[3] * y + m[5]);
            (x / POINTS_PER_MM, (height - y) / POINTS_PER_MM)
        };
        match operation.operator.as_str() {
            "q" => kept.push((matrix, line)),
            "Q" => (matrix, line) = kept.pop().expect("as many q as Q"),
            "cm" => {
                let n = values();
                let m = matrix;
                matrix = [
                    n[0] * m[0] + n[1] * m[2],
                    n[0] * m[1] + n[1] * m[3],
                    n[2] * m[0] + n[3] * m[2],
                    n[2] * m[1] + n[3] * m[3],
                    n[4] * m[0] + n[5] * m[2] + m[4],
                    n[4] * m[1] + n[5] * m[3] + m[5],
                ];
            }
            "w" => line = values()[0],
            "m" | "l" => {
                let v = values();
                points.push(place(&matrix, v[0], v[1]));
            }
            "c" => {
                let v = values();
                curved = true;
                for pair in v.chunks(2) {
                    points.push(place(&matrix, pair[0], pair[1]));
                }
            }
            "re" => {
                let v = values();
                for (x, y) in [(0.0, 0.0), (v[2], 0.0), (v[2], v[3]), (0.0, v[3])] {
                    points.push(place(&matrix, v[0] + x, v[1] + y));
                }
            }
            "S" | "s" | "B" | "b" | "f" | "F" | "B*" | "b*" | "f*" | "n" => {
                let stroked =
                    ["S", "s", "B", "b", "B*", "b*"].contains(&operation.operator.as_str());
                let path = Path {
                    points: std::mem::take(&mut points),
                    curved: std::mem::take(&mut curved),
                    line_mm: if stroked { line * matrix[0].abs() / POINTS_PER_MM } else { 0.0 },
                };
                if operation.operator != "n" {
                    found.push(path);
                }
            }
            _ => {}
        }
    }
    found
}
