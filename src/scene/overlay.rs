//! What is written over the picture of the boot: handles, gaps, labels, the marker.

use bevy_egui::egui::{
    Align2, Color32, CornerRadius, FontId, Painter, Pos2, Rect, Stroke, StrokeKind, Vec2, epaint,
};

use super::figures;
use super::grip::{self, Hold};
use super::marks;
use super::orbit::Orbit;
use super::theme::{self, Palette};
use super::view::{Marker, View};
use crate::checks::{Boot, Scorecard, Verdict};
use crate::model::{Place, Point};

/// How many of the closest gaps are written out.
const GAPS_SHOWN: usize = 3;

/// Labels already placed, so that the next one keeps clear of them.
pub(crate) struct Labels<'a> {
    painter: &'a Painter,
    palette: Palette,
    area: Rect,
    taken: Vec<Rect>,
}

impl<'a> Labels<'a> {
    /// No labels yet, in an area of the window.
    pub(crate) fn new(painter: &'a Painter, palette: Palette, area: Rect) -> Labels<'a> {
        Labels { painter, palette, area, taken: Vec::new() }
    }

    /// Keeps labels out of a part of the window.
    pub(crate) fn keep_clear(&mut self, rect: Rect) {
        self.taken.push(rect);
    }

    /// Writes a label near `at`, with a verdict's shape before it, moved until it is free.
    pub(crate) fn write(&mut self, at: Pos2, words: &str, verdict: Option<Verdict>) {
        if !self.area.contains(at) {
            return;
        }
        let font = FontId::proportional(12.0);
        let galley = self.painter.layout_no_wrap(words.to_string(), font, self.palette.ink);
        let lead = if verdict.is_some() { 16.0 } else { 0.0 };
        let size = galley.size() + Vec2::new(12.0 + lead, 6.0);
        let Some(rect) = self.free_place(at, size) else { return };
        self.taken.push(rect.expand(1.0));
        let anchor =
            Pos2::new(at.x.clamp(rect.left(), rect.right()), at.y.clamp(rect.top(), rect.bottom()));
        if (anchor - at).length() > 3.0 {
            self.painter.line_segment([at, anchor], Stroke::new(1.0, self.palette.faint));
        }
        let colour = verdict.map_or(self.palette.line, |verdict| self.palette.verdict(verdict));
        let sheet = self.palette.card;
        self.painter.rect(
            rect,
            CornerRadius::same(4),
            sheet,
            Stroke::new(1.0, colour),
            StrokeKind::Inside,
        );
        if let Some(verdict) = verdict {
            let middle = Pos2::new(rect.left() + 12.0, rect.center().y);
            marks::paint(self.painter, middle, 9.0, verdict, colour);
        }
        let corner = rect.min + Vec2::new(6.0 + lead, 3.0);
        self.painter.galley(corner, galley, self.palette.ink);
    }

    fn free_place(&self, at: Pos2, size: Vec2) -> Option<Rect> {
        let steps = [(14.0, -10.0), (14.0, 14.0), (-14.0 - size.x, -10.0), (-14.0 - size.x, 14.0)];
        let inside = self.area.shrink(4.0);
        (0..7_u8).map(f32::from).find_map(|round| {
            steps.iter().find_map(|&(x, y)| {
                let down = if y < 0.0 { -1.0 } else { 1.0 };
                let corner = at + Vec2::new(x, y + down * round * (size.y + 3.0) - size.y / 2.0);
                let rect = Rect::from_min_size(corner, size);
                let free = self.taken.iter().all(|taken| !taken.intersects(rect));
                (free && inside.contains_rect(rect)).then_some(rect)
            })
        })
    }
}

/// The three axis handles and the turn ring; what is held or under the pointer stands out.
pub(crate) fn handles(
    labels: &mut Labels,
    orbit: &Orbit,
    boot: &Boot,
    place: &Place,
    hold: Option<&Hold>,
    pointer: Option<Pos2>,
) {
    let (painter, palette) = (labels.painter, labels.palette);
    let at = grip::middle_at(boot, place);
    let Some(middle) = orbit.screen(&at) else { return };
    let lit = match hold {
        Some(Hold::Axis { axis, .. }) => Some(*axis),
        Some(Hold::Ring { .. }) => Some(3),
        Some(Hold::Body { .. }) => None,
        None => pointer.and_then(|pointer| grip::handle_under(orbit, &at, pointer)),
    };
    let halo = Stroke::new(5.0, palette.card.gamma_multiply(0.55));
    let ring: Vec<Pos2> =
        grip::ring(orbit, &at).iter().filter_map(|point| orbit.screen(point)).collect();
    let width = if lit == Some(3) { 3.5 } else { 1.8 };
    painter.add(epaint::PathShape::line(ring.clone(), halo));
    painter.add(epaint::PathShape::line(ring, Stroke::new(width, palette.accent)));
    for (index, words) in ["front", "left", "up"].into_iter().enumerate() {
        let Some(tip) = orbit.screen(&grip::handle_tip(orbit, &at, index)) else { continue };
        let along = tip - middle;
        if along.length() < 14.0 {
            continue; // seen end on
        }
        let colour = theme::AXES[index];
        let width = if lit == Some(index) { 4.5 } else { 2.5 };
        let start = middle + along * 0.35;
        painter.line_segment([start, tip], halo);
        painter.line_segment([start, tip], Stroke::new(width, colour));
        let ahead = along.normalized();
        let side = Vec2::new(-ahead.y, ahead.x) * 6.5;
        let corners = vec![tip + ahead * grip::HEAD, tip + side, tip - side];
        painter.add(epaint::PathShape::convex_polygon(corners, colour, Stroke::NONE));
        let words = outlined(painter, tip + ahead * 24.0, words, colour, &palette);
        labels.keep_clear(words);
        labels.keep_clear(Rect::from_center_size(tip, Vec2::splat(20.0)));
    }
}

fn outlined(painter: &Painter, at: Pos2, words: &str, colour: Color32, palette: &Palette) -> Rect {
    let font = FontId::proportional(11.5);
    let galley = painter.layout_no_wrap(words.to_string(), font, colour);
    let rect = Align2::CENTER_CENTER.anchor_size(at, galley.size());
    painter.rect_filled(rect.expand2(Vec2::new(3.0, 0.0)), 3.0, palette.card);
    painter.galley(rect.min, galley, colour);
    rect.expand(2.0)
}

/// The closest gaps with their numbers, and the lines that don't pass with their names.
pub(crate) fn findings(
    labels: &mut Labels,
    orbit: &Orbit,
    view: &View,
    card: &Scorecard,
    fresh: bool,
) {
    if view.layers.lines {
        for line in card.drawn.lines.iter().filter(|line| line.verdict != Verdict::Pass) {
            let middle = line.centreline.get(line.centreline.len() / 2);
            if let Some(at) = middle.and_then(|point| orbit.screen(point)) {
                labels.write(at, &line.name, Some(line.verdict));
            }
        }
    }
    if !view.layers.gaps || !fresh {
        return;
    }
    let mut gaps: Vec<&(Point, Point, f64)> = card.drawn.gaps.iter().collect();
    gaps.sort_by(|a, b| a.2.total_cmp(&b.2));
    let mut written = Vec::new();
    for (from, to, gap_mm) in gaps.into_iter().take(GAPS_SHOWN) {
        let (Some(a), Some(b)) = (orbit.screen(from), orbit.screen(to)) else { continue };
        let ink = labels.palette.ink;
        labels.painter.line_segment([a, b], Stroke::new(3.5, labels.palette.card));
        labels.painter.line_segment([a, b], Stroke::new(1.5, ink));
        for end in [a, b] {
            labels.painter.circle(end, 2.0, labels.palette.card, Stroke::new(1.2, ink));
        }
        labels.keep_clear(Rect::from_two_pos(a, b).expand(3.0));
        written.push((a + (b - a) * 0.5, *gap_mm));
    }
    // All the lines first, so that none crosses a number.
    for (at, gap_mm) in written {
        let words = if gap_mm < 0.0 {
            format!("overlap {}", figures::length(-gap_mm, view.inches))
        } else {
            format!("gap {}", figures::length(gap_mm, view.inches))
        };
        labels.write(at, &words, None);
    }
}

/// The place that was asked for: a ring that beats for a while, and what is there.
pub(crate) fn marker(labels: &mut Labels, orbit: &Orbit, marker: &Marker, now_s: f64) -> bool {
    let Some(at) = orbit.screen(&marker.at) else { return false };
    if !labels.area.contains(at) {
        return false;
    }
    let age_s = (now_s - marker.since_s).max(0.0) as f32;
    let beating = age_s < 2.4;
    let beat = if beating { (age_s * 1.25).fract() } else { 0.35 };
    let colour = labels.palette.accent;
    let halo = labels.palette.card;
    labels.painter.circle_stroke(at, 13.0, Stroke::new(5.0, halo));
    labels.painter.circle_stroke(at, 13.0, Stroke::new(2.5, colour));
    labels.painter.circle_stroke(
        at,
        13.0 + 18.0 * beat,
        Stroke::new(2.0, colour.gamma_multiply(1.0 - beat)),
    );
    labels.painter.circle_filled(at, 3.0, colour);
    labels.write(at + Vec2::new(10.0, -10.0), &marker.words, None);
    beating
}
