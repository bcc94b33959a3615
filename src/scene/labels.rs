//! Labels over the picture: placed beside what they name, off each other and off the pump.

use std::sync::Arc;

use bevy_egui::egui::{
    CornerRadius, FontId, Galley, Painter, Pos2, Rect, Stroke, StrokeKind, Vec2,
};

use super::marks;
use super::theme::Palette;
use crate::checks::Verdict;

/// Labels already placed, so that the next one keeps clear of them.
pub(crate) struct Labels<'a> {
    /// What they are drawn with.
    pub(crate) painter: &'a Painter,
    /// Their colours.
    pub(crate) palette: Palette,
    /// The part of the window that they stay in.
    pub(crate) area: Rect,
    taken: Vec<Rect>,
    avoided: Vec<Rect>,
    placed: Vec<Placed>,
}

struct Placed {
    at: Pos2,
    rect: Rect,
    words: Arc<Galley>,
    verdict: Option<Verdict>,
}

impl<'a> Labels<'a> {
    /// No labels yet, in an area of the window.
    pub(crate) fn new(painter: &'a Painter, palette: Palette, area: Rect) -> Labels<'a> {
        let (taken, avoided, placed) = (Vec::new(), Vec::new(), Vec::new());
        Labels { painter, palette, area, taken, avoided, placed }
    }

    /// Keeps labels out of a part of the window.
    pub(crate) fn keep_clear(&mut self, rect: Rect) {
        self.taken.push(rect);
    }

    /// Keeps labels out of a part of the window as long as there is room elsewhere.
    pub(crate) fn avoid(&mut self, rect: Rect) {
        self.avoided.push(rect);
    }

    /// Puts a label near `at`, with a verdict's shape before it, moved until it is free. It is drawn
    /// by [`finish`](Self::finish).
    pub(crate) fn write(&mut self, at: Pos2, words: &str, verdict: Option<Verdict>) {
        if !self.area.contains(at) {
            return;
        }
        let font = FontId::proportional(12.0);
        let words = self.painter.layout_no_wrap(words.to_string(), font, self.palette.ink);
        let size = words.size() + Vec2::new(12.0 + lead(verdict), 6.0);
        let place = self.free_place(at, size, true).or_else(|| self.free_place(at, size, false));
        let Some(rect) = place else { return };
        self.taken.push(rect.expand(1.0));
        self.placed.push(Placed { at, rect, words, verdict });
    }

    /// Draws them: every leader first, so that none crosses a text.
    pub(crate) fn finish(self) {
        for label in &self.placed {
            let end = nearest(&label.rect, label.at);
            if (end - label.at).length() > 3.0 {
                let under = Stroke::new(3.0, self.palette.card.gamma_multiply(0.6));
                self.painter.line_segment([label.at, end], under);
                self.painter.line_segment([label.at, end], Stroke::new(1.0, self.palette.faint));
            }
        }
        for label in self.placed {
            let colour =
                label.verdict.map_or(self.palette.line, |verdict| self.palette.verdict(verdict));
            let rim = Stroke::new(1.0, colour);
            let radius = CornerRadius::same(4);
            self.painter.rect(label.rect, radius, self.palette.card, rim, StrokeKind::Inside);
            if let Some(verdict) = label.verdict {
                let middle = Pos2::new(label.rect.left() + 12.0, label.rect.center().y);
                marks::paint(self.painter, middle, 9.0, verdict, colour);
            }
            let corner = label.rect.min + Vec2::new(6.0 + lead(label.verdict), 3.0);
            self.painter.galley(corner, label.words, self.palette.ink);
        }
    }

    /// The free place nearest to `at` on rings round it; with `off_avoided` also off what labels
    /// should stay off.
    fn free_place(&self, at: Pos2, size: Vec2, off_avoided: bool) -> Option<Rect> {
        let inside = self.area.shrink(4.0);
        (0..12_u8).map(f32::from).find_map(|ring| {
            (0..16_u8).map(f32::from).find_map(|step| {
                // To the right and up first, as labels are read.
                let angle = -0.5 + step * std::f32::consts::TAU / 16.0;
                let away = Vec2::angled(angle) * (14.0 + ring * 16.0);
                let out = Vec2::new(away.x.signum() * size.x, away.y.signum() * size.y) / 2.0;
                let rect = Rect::from_center_size(at + away + out, size);
                let free = inside.contains_rect(rect)
                    && self.taken.iter().all(|taken| !taken.intersects(rect))
                    && !(off_avoided && self.avoided.iter().any(|rim| rim.intersects(rect)))
                    && self.leader_is_free(at, nearest(&rect, at));
                free.then_some(rect)
            })
        })
    }

    /// Whether a leader passes the labels that are placed.
    fn leader_is_free(&self, from: Pos2, to: Pos2) -> bool {
        (0..=12_u8)
            .map(|step| from + (to - from) * (f32::from(step) / 12.0))
            .all(|on| self.placed.iter().all(|label| !label.rect.contains(on)))
    }
}

fn lead(verdict: Option<Verdict>) -> f32 {
    if verdict.is_some() { 16.0 } else { 0.0 }
}

fn nearest(rect: &Rect, at: Pos2) -> Pos2 {
    Pos2::new(at.x.clamp(rect.left(), rect.right()), at.y.clamp(rect.top(), rect.bottom()))
}
