//! Pictures, drawings and cautions in the flow.

use super::{Flow, LEFT_MM, RIGHT_MM, Stroke};
use crate::documents::pdf::{AMBER, AMBER_LINE, Cut, FAINT, INK, LINE, MM_PER_POINT};
use crate::documents::sheet::blocks::Shot;
use crate::documents::sheet::section::{Ink, Section};

impl<'a> Flow<'a> {
    pub(super) fn pictures(&mut self, shots: &'a [Shot]) {
        let gap = 4.0;
        let count = shots.len().max(1) as f64;
        let width = (RIGHT_MM - LEFT_MM - gap * (count - 1.0)) / count;
        let height = shots.iter().map(|shot| width / shot.aspect).fold(0.0, f64::max);
        let size = self.size - 0.8;
        let captions: Vec<Vec<String>> = shots
            .iter()
            .map(|shot| self.fonts.folded(&shot.caption, size, Cut::Regular, width))
            .collect();
        let words =
            captions.iter().map(Vec::len).max().unwrap_or(0) as f64 * size * 1.3 * MM_PER_POINT;
        self.need(height + words + 4.0);
        self.y += 2.0;
        for (index, (shot, caption)) in shots.iter().zip(captions).enumerate() {
            let x = LEFT_MM + (width + gap) * index as f64;
            let h = width / shot.aspect;
            self.put(Stroke::Image(&shot.png, [x, self.y, width, h]));
            self.put(Stroke::Rect([x, self.y, width, h], None, Some((LINE, 0.2))));
            for (line, text) in caption.into_iter().enumerate() {
                let foot = self.y + h + size * MM_PER_POINT * (1.2 + 1.3 * line as f64);
                self.text(x, foot, size, Cut::Regular, FAINT, text);
            }
        }
        self.y += height + words + 1.5;
    }

    pub(super) fn sections(&mut self, sections: &[Section]) {
        let count = sections.len().max(1) as f64;
        let pitch = (RIGHT_MM - LEFT_MM) / count;
        let height = sections.iter().map(|section| section.height_mm).fold(0.0, f64::max);
        self.need(height + 3.0);
        self.y += 2.0;
        for (index, section) in sections.iter().enumerate() {
            let (left, top) = (LEFT_MM + pitch * index as f64, self.y);
            let at = |(x, y): (f64, f64)| (left + x, top + y);
            for ink in &section.inks {
                match ink {
                    Ink::Shape(corners) => {
                        self.put(Stroke::Shape(corners.iter().map(|corner| at(*corner)).collect()));
                    }
                    Ink::Line { from, to, width_mm, colour, dashed: false } => {
                        self.put(Stroke::Line(at(*from), at(*to), *width_mm, *colour));
                    }
                    Ink::Line { from, to, width_mm, colour, dashed: true } => {
                        self.put(Stroke::Dashed(at(*from), at(*to), *width_mm, *colour));
                    }
                    Ink::Dot(place) => {
                        let (x, y) = at(*place);
                        self.put(Stroke::Circle(x, y, 0.6, INK));
                    }
                    Ink::Words { at: place, text, ends, bold } => {
                        let cut = if *bold { Cut::Bold } else { Cut::Regular };
                        let size = self.size - 1.0;
                        let (mut x, y) = at(*place);
                        if *ends {
                            x -= self.fonts.width_mm(text, size, cut);
                        }
                        self.text(x, y, size, cut, INK, text.clone());
                    }
                }
            }
        }
        self.y += height;
    }

    pub(super) fn cautions(&mut self, title: &str, items: &[String], closing: &str) {
        let size = self.size - 0.5;
        let line = size * 1.3 * MM_PER_POINT;
        let width = RIGHT_MM - LEFT_MM - 14.0;
        let folded: Vec<Vec<String>> =
            items.iter().map(|item| self.fonts.folded(item, size, Cut::Regular, width)).collect();
        let last = self.fonts.folded(closing, size, Cut::Bold, width + 4.0);
        let lines = folded.iter().map(Vec::len).sum::<usize>() + last.len();
        let height = 9.0 + line * lines as f64 + 4.0;
        self.need(height + 4.0);
        self.y += 4.0;
        let edge = Some((AMBER_LINE, 0.35));
        self.put(Stroke::Rect([LEFT_MM, self.y, RIGHT_MM - LEFT_MM, height], Some(AMBER), edge));
        let mut y = self.y + 6.0;
        self.text(LEFT_MM + 5.0, y, self.size + 1.5, Cut::Bold, INK, title);
        y += 1.5;
        for lines in folded {
            self.put(Stroke::Circle(LEFT_MM + 6.0, y + line * 0.58, 0.55, AMBER_LINE));
            for text in lines {
                y += line;
                self.text(LEFT_MM + 9.0, y - line * 0.15, size, Cut::Regular, INK, text);
            }
        }
        y += 1.0;
        for text in last {
            y += line;
            self.text(LEFT_MM + 5.0, y - line * 0.1, size, Cut::Bold, INK, text);
        }
        self.y += height + 2.0;
    }
}
