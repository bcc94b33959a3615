//! The two cuts of the one typeface that documents are set in.
//!
//! Open Sans, Apache License 2.0; the licence stands beside the files. PDF files hold only the letters
//! that they use.

use ttf_parser::{Face, GlyphId, OutlineBuilder};

/// The cut for running text.
pub(super) static REGULAR: &[u8] = include_bytes!("../../assets/fonts/OpenSans-Regular.ttf");
/// The cut for headings.
pub(super) static BOLD: &[u8] = include_bytes!("../../assets/fonts/OpenSans-Semibold.ttf");

/// A cut of the typeface, ready to measure and draw.
pub(super) struct Typeface {
    face: Face<'static>,
}

impl Typeface {
    pub(super) fn regular() -> Option<Typeface> {
        Face::parse(REGULAR, 0).ok().map(|face| Typeface { face })
    }

    pub(super) fn bold() -> Option<Typeface> {
        Face::parse(BOLD, 0).ok().map(|face| Typeface { face })
    }

    fn glyph(&self, letter: char) -> GlyphId {
        let shown = |letter| self.face.glyph_index(letter);
        shown(letter).or_else(|| shown('?')).unwrap_or(GlyphId(0))
    }

    /// Width of a line of text, in the unit of `size`.
    pub(super) fn width(&self, text: &str, size: f32) -> f32 {
        let units: f32 = text
            .chars()
            .map(|letter| f32::from(self.face.glyph_hor_advance(self.glyph(letter)).unwrap_or(0)))
            .sum();
        units * size / f32::from(self.face.units_per_em())
    }

    /// Whether the typeface has a letter.
    pub(super) fn has(&self, letter: char) -> bool {
        self.face.glyph_index(letter).is_some()
    }

    /// A text with the letters that the typeface has; others become `?`, other blanks a space.
    pub(super) fn printable(&self, text: &str) -> String {
        let letter = |letter: char| {
            if letter.is_whitespace() {
                ' '
            } else if self.has(letter) {
                letter
            } else {
                '?'
            }
        };
        text.chars().map(letter).collect()
    }

    /// Breaks a text into lines of at most `width`; a word that is wider is broken, a figure and its unit stay
    /// together.
    pub(super) fn folded(&self, text: &str, size: f32, width: f32) -> Vec<String> {
        let mut lines: Vec<String> = Vec::new();
        let mut line = String::new();
        for word in words(text) {
            let longer = if line.is_empty() { word.clone() } else { format!("{line} {word}") };
            if self.width(&longer, size) <= width {
                line = longer;
                continue;
            }
            if !line.is_empty() {
                lines.push(std::mem::take(&mut line));
            }
            for letter in word.chars() {
                line.push(letter);
                if self.width(&line, size) > width && line.chars().count() > 1 {
                    line.pop();
                    lines.push(std::mem::replace(&mut line, letter.to_string()));
                }
            }
        }
        if !line.is_empty() || lines.is_empty() {
            lines.push(line);
        }
        lines
    }

    /// The outlines of a line of text that begins at (x, y) on its foot line, y down.
    pub(super) fn outlines(
        &self,
        text: &str,
        size: f32,
        x: f32,
        y: f32,
    ) -> Option<tiny_skia::Path> {
        let scale = size / f32::from(self.face.units_per_em());
        let mut pen = Pen { path: tiny_skia::PathBuilder::new(), x, y, scale };
        for letter in text.chars() {
            let glyph = self.glyph(letter);
            let _ = self.face.outline_glyph(glyph, &mut pen);
            pen.x += f32::from(self.face.glyph_hor_advance(glyph).unwrap_or(0)) * scale;
        }
        pen.path.finish()
    }
}

/// Units that stay with the figure before them.
const UNITS: [&str; 13] =
    ["%", "mm", "ml", "l", "l/min", "°C", "mbar", "V", "A", "N", "Hz", "g", "kg"];

/// The words of a text; a figure and its unit are one.
fn words(text: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        let unit = UNITS.contains(&word.trim_end_matches([',', ';', ':', '.', ')']));
        match words.last_mut() {
            Some(figure) if unit && figure.ends_with(|last: char| last.is_ascii_digit()) => {
                figure.push(' ');
                figure.push_str(word);
            }
            _ => words.push(word.to_string()),
        }
    }
    words
}

struct Pen {
    path: tiny_skia::PathBuilder,
    x: f32,
    y: f32,
    scale: f32,
}

impl Pen {
    fn at(&self, x: f32, y: f32) -> (f32, f32) {
        (self.x + x * self.scale, self.y - y * self.scale)
    }
}

impl OutlineBuilder for Pen {
    fn move_to(&mut self, x: f32, y: f32) {
        let (x, y) = self.at(x, y);
        self.path.move_to(x, y);
    }
    fn line_to(&mut self, x: f32, y: f32) {
        let (x, y) = self.at(x, y);
        self.path.line_to(x, y);
    }
    fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
        let ((x1, y1), (x, y)) = (self.at(x1, y1), self.at(x, y));
        self.path.quad_to(x1, y1, x, y);
    }
    fn curve_to(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, x: f32, y: f32) {
        let ((x1, y1), (x2, y2), (x, y)) = (self.at(x1, y1), self.at(x2, y2), self.at(x, y));
        self.path.cubic_to(x1, y1, x2, y2, x, y);
    }
    fn close(&mut self) {
        self.path.close();
    }
}
