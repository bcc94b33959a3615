//! What is written over the picture of the boot: handles, gaps, labels, the marker.

use bevy_egui::egui::{
    Align2, Color32, FontId, Painter, Pos2, Rect, Stroke, StrokeKind, Vec2, epaint,
};

use super::figures;
use super::grip::{self, Hold, distance_to_stroke};
use super::labels::Labels;
use super::orbit::Orbit;
use super::scores::Landed;
use super::theme::{self, Palette};
use super::view::{Marker, View};
use crate::checks::hold::CaseResult;
use crate::checks::water::SLOPES;
use crate::checks::{Boot, HeadlineId, Scorecard, Verdict};
use crate::model::{Place, Point, Pose};

/// How many of the closest gaps are drawn.
const GAPS_SHOWN: usize = 3;

/// How near the pointer must come to a gap's line to have it written out, points.
const NEAR: f32 = 9.0;

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
        Some(Hold::Ring { turn, .. }) => Some(5 - turn),
        Some(Hold::Plane { .. }) => Some(grip::SQUARE),
        Some(Hold::Body { .. }) => None,
        None => pointer.and_then(|pointer| grip::handle_under(orbit, &at, place, pointer)),
    };
    let halo = Stroke::new(5.0, palette.card.gamma_multiply(0.55));
    for turn in [0, 1, 2] {
        let on = lit == Some(5 - turn);
        let (colour, width) = match turn {
            2 => (palette.accent, if on { 3.5 } else { 1.8 }),
            turn => (theme::AXES[turn], if on { 3.0 } else { 1.2 }),
        };
        for (a, b) in grip::ring_strokes(orbit, &at, place, turn) {
            if on || turn == 2 {
                painter.line_segment([a, b], halo);
            }
            painter.line_segment([a, b], Stroke::new(width, colour));
        }
        if on && let Some(pointer) = pointer {
            let words = ["roll", "pitch", "yaw"][turn];
            let rect = outlined(painter, pointer + Vec2::new(18.0, -14.0), words, colour, &palette);
            labels.keep_clear(rect);
        }
    }
    let square = Rect::from_center_size(grip::square(middle), Vec2::splat(11.0));
    let on = lit == Some(grip::SQUARE);
    painter.rect_filled(square, 2.0, if on { palette.accent } else { palette.card });
    painter.rect_stroke(square, 2.0, Stroke::new(1.5, palette.accent), StrokeKind::Inside);
    labels.keep_clear(square.expand(2.0));
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
        if lit == Some(index) {
            let words = outlined(painter, tip + ahead * 26.0, words, colour, &palette);
            labels.keep_clear(words);
        }
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

/// Where the pump is seen: labels stay off it as long as there is room beside it.
pub(crate) fn around_pump(orbit: &Orbit, boot: &Boot, place: &Place) -> Option<Rect> {
    let pose = place.pose();
    let seen: Vec<Pos2> = boot
        .pump_solids()
        .iter()
        .flat_map(|solid| &solid.triangles().vertices)
        .filter_map(|corner| orbit.screen(&(pose * corner)))
        .collect();
    (!seen.is_empty()).then(|| Rect::from_points(&seen))
}

/// The fluid's surface in the tank, as an outline over it.
pub(crate) fn fluid(labels: &Labels, orbit: &Orbit, landed: &Landed, place: &Place) {
    let Some(surface) = &landed.card.drawn.surface else { return };
    // Worked out where the pump stood; drawn where it stands now.
    let along: Pose = place.pose() * landed.place.pose().inverse();
    for outline in std::iter::once(&surface.outline).chain(&surface.more) {
        let outline: Vec<Pos2> =
            outline.iter().filter_map(|corner| orbit.screen(&(along * corner))).collect();
        if outline.len() > 2 {
            let stroke = Stroke::new(1.5, theme::FLUID);
            labels.painter.add(epaint::PathShape::closed_line(outline, stroke));
        }
    }
}

/// The tightest bend of each line: a mark, and under the pointer its radius.
pub(crate) fn bends(
    labels: &mut Labels,
    orbit: &Orbit,
    view: &View,
    card: &Scorecard,
    pointer: Option<Pos2>,
) {
    for line in &card.drawn.lines {
        let Some((at, radius_mm)) = tightest(&line.centreline) else { continue };
        let Some(seen) = orbit.screen(&at) else { continue };
        let stroke = Stroke::new(1.5, theme::BEND);
        labels.painter.circle_stroke(seen, 3.5, stroke);
        labels.keep_clear(Rect::from_center_size(seen, Vec2::splat(12.0)));
        if pointer.is_some_and(|at| (at - seen).length() < NEAR) {
            let far = figures::length(radius_mm, view.inches);
            let words = format!("{}: tightest bend {far}", line.name);
            labels.write(seen, &words, None);
        }
    }
}

/// The ways of the leaks' drips on the slope of the water case shown; falls through air are dotted.
pub(crate) fn drips(
    labels: &Labels,
    orbit: &Orbit,
    view: &View,
    boot: &Boot,
    card: Option<&Scorecard>,
) {
    let Some(case) = boot.water().get(view.water_case).or(boot.water().first()) else { return };
    let slope = SLOPES.iter().position(|slope| *slope == case.slope);
    let aside = card.map_or(&[][..], |card| &card.drawn.drips);
    for track in boot.drips_with(aside).filter(|track| Some(track.slope) == slope) {
        for (index, pair) in track.points.windows(2).enumerate() {
            let (Some(a), Some(b)) = (orbit.screen(&pair[0]), orbit.screen(&pair[1])) else {
                continue;
            };
            let stroke = Stroke::new(1.6, theme::LEAK);
            if track.falls.contains(&index) {
                labels.painter.add(epaint::Shape::Vec(epaint::Shape::dotted_line(
                    &[a, b],
                    theme::LEAK,
                    6.0,
                    1.3,
                )));
            } else {
                labels.painter.line_segment([a, b], stroke);
            }
        }
    }
}

/// Where the pump rests: a dot, and a short arrow the way that it is pushed.
pub(crate) fn rests(labels: &Labels, orbit: &Orbit, card: &Scorecard) {
    let colour = theme::AXES[1];
    for rest in &card.drawn.rests {
        let tip = rest.at + rest.push * (orbit.mm_per_point(&rest.at) * 26.0);
        let (Some(a), Some(b)) = (orbit.screen(&rest.at), orbit.screen(&tip)) else { continue };
        labels.painter.line_segment([a, b], Stroke::new(3.5, labels.palette.card));
        labels.painter.line_segment([a, b], Stroke::new(1.5, colour));
        labels.painter.circle(a, 3.0, colour, Stroke::new(1.0, labels.palette.card));
        if (b - a).length() > 6.0 {
            let ahead = (b - a).normalized();
            let side = Vec2::new(-ahead.y, ahead.x) * 3.5;
            let corners = vec![b + ahead * 6.0, b + side, b - side];
            labels.painter.add(epaint::PathShape::convex_polygon(corners, colour, Stroke::NONE));
        }
    }
}

/// Where carpets and boards would have to be cut to go back: a dashed outline on each, with its name.
pub(crate) fn cut_outs(labels: &mut Labels, orbit: &Orbit, view: &View, card: &Scorecard) {
    let mut named: Vec<&str> = Vec::new();
    for piece in &card.drawn.cut_outs {
        if view.hidden.contains(&piece.trim) {
            continue;
        }
        let mut outline: Vec<Pos2> =
            piece.outline.iter().filter_map(|corner| orbit.screen(corner)).collect();
        let (Some(first), true) =
            (outline.first().copied(), outline.len() == piece.outline.len() && outline.len() > 2)
        else {
            continue;
        };
        outline.push(first);
        let under = Stroke::new(4.0, labels.palette.card);
        labels.painter.add(epaint::PathShape::line(outline.clone(), under));
        let stroke = Stroke::new(2.0, theme::CUT);
        labels
            .painter
            .add(epaint::Shape::Vec(epaint::Shape::dashed_line(&outline, stroke, 7.0, 4.0)));
        if !named.contains(&piece.trim.as_str()) {
            named.push(&piece.trim);
            let top = outline.iter().min_by(|a, b| a.y.total_cmp(&b.y)).copied().unwrap_or(first);
            labels.write(top, &format!("cut {} here", piece.trim), None);
        }
    }
}

/// Length of an arrow of the largest force in its case, points.
const ARROW: f64 = 70.0;

/// What each fixing and rest takes in a load case: an arrow the way that it holds the pump, with its
/// force and how much of its strength that is.
pub(crate) fn loads(labels: &mut Labels, orbit: &Orbit, case: &CaseResult) {
    let most = case.reactions.iter().map(|reaction| reaction.force_n.norm()).fold(0.0, f64::max);
    for reaction in &case.reactions {
        let force_n = reaction.force_n.norm();
        if force_n < 0.5 || most < 0.5 {
            continue; // less than 50 g hanging on it
        }
        let long = orbit.mm_per_point(&reaction.at) * (10.0 + ARROW * force_n / most);
        let tip = reaction.at + reaction.force_n / force_n * long;
        let (Some(a), Some(b)) = (orbit.screen(&reaction.at), orbit.screen(&tip)) else { continue };
        let colour = match reaction.share {
            Some(share) if share > 0.99 => labels.palette.verdict(Verdict::Fail),
            Some(share) if share > 0.5 => labels.palette.verdict(Verdict::Tight),
            Some(_) => labels.palette.verdict(Verdict::Pass),
            None => theme::AXES[1],
        };
        labels.painter.line_segment([a, b], Stroke::new(5.0, labels.palette.card));
        labels.painter.line_segment([a, b], Stroke::new(2.5, colour));
        labels.painter.circle(a, 3.5, colour, Stroke::new(1.0, labels.palette.card));
        if (b - a).length() > 6.0 {
            let ahead = (b - a).normalized();
            let side = Vec2::new(-ahead.y, ahead.x) * 5.0;
            let corners = vec![b + ahead * 9.0, b + side, b - side];
            labels.painter.add(epaint::PathShape::convex_polygon(corners, colour, Stroke::NONE));
        }
        labels.keep_clear(Rect::from_two_pos(a, b).expand(3.0));
        let of = reaction.share.map_or_else(String::new, |share| {
            format!(", {:.0} % of its strength", share.max(0.0) * 100.0)
        });
        labels.write(b, &format!("{force_n:.0} N{of}"), None);
    }
}

/// Where a path bends most, and its radius there, mm: the circle through points 8 mm apart or more.
/// None where it runs straight.
pub(crate) fn tightest(path: &[Point]) -> Option<(Point, f64)> {
    let mut spread: Vec<Point> = Vec::new();
    for point in path {
        if spread.last().is_none_or(|last| (point - last).norm() > 8.0) {
            spread.push(*point);
        }
    }
    spread
        .windows(3)
        .filter_map(|three| {
            let (a, b, c) = (three[1] - three[0], three[2] - three[1], three[2] - three[0]);
            let twice = a.cross(&b).norm();
            (twice > 1e-6).then(|| (three[1], a.norm() * b.norm() * c.norm() / (2.0 * twice)))
        })
        .filter(|(_, radius_mm)| *radius_mm < 400.0)
        .min_by(|a, b| a.1.total_cmp(&b.1))
}

/// The lines that don't pass, with their names, and the closest gaps: what fails or is tight with
/// its verdict and the body's name, what passes only under the pointer.
pub(crate) fn findings(
    labels: &mut Labels,
    orbit: &Orbit,
    view: &View,
    card: &Scorecard,
    fresh: bool,
    pointer: Option<Pos2>,
) {
    if view.layers.gaps && fresh {
        gaps(labels, orbit, view, card, pointer);
    }
    if view.layers.lines {
        for line in card.drawn.lines.iter().filter(|line| line.verdict != Verdict::Pass) {
            let middle = line.centreline.get(line.centreline.len() / 2);
            if let Some(at) = middle.and_then(|point| orbit.screen(point)) {
                labels.write(at, &line.name, Some(line.verdict));
            }
        }
    }
}

fn gaps(labels: &mut Labels, orbit: &Orbit, view: &View, card: &Scorecard, pointer: Option<Pos2>) {
    // The gaps are in the order of their checks.
    let checks = card
        .headline(HeadlineId::Carpet)
        .into_iter()
        .flat_map(|headline| headline.checks.iter().filter(|check| check.id == "clearance"));
    let mut written = Vec::new();
    for ((from, to, gap_mm), check) in card.drawn.gaps.iter().zip(checks).take(GAPS_SHOWN) {
        let (Some(a), Some(b)) = (orbit.screen(from), orbit.screen(to)) else { continue };
        let passes = check.verdict == Verdict::Pass;
        let hovered = pointer.is_some_and(|at| distance_to_stroke(at, a, b) < NEAR);
        let ink = if passes { labels.palette.ink } else { labels.palette.verdict(check.verdict) };
        let wide = if passes && !hovered { 1.0 } else { 2.0 };
        labels.painter.line_segment([a, b], Stroke::new(wide + 2.0, labels.palette.card));
        labels.painter.line_segment([a, b], Stroke::new(wide, ink));
        for end in [a, b] {
            labels.painter.circle(end, 2.0, labels.palette.card, Stroke::new(1.2, ink));
        }
        labels.keep_clear(Rect::from_two_pos(a, b).expand(3.0));
        if hovered || !passes {
            written.push((a + (b - a) * 0.5, *gap_mm, check));
        }
    }
    // All the lines first, so that none crosses a number.
    for (at, gap_mm, check) in written {
        let far = figures::length(gap_mm.abs(), view.inches);
        let joint = if gap_mm < 0.0 { " into" } else { "" };
        labels.write(at, &format!("{far}{joint} {}", check.subject), Some(check.verdict));
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_tightest_bend_of_a_path_of_two_arcs_is_the_smaller_one() {
        let mut path: Vec<Point> = Vec::new();
        for step in 0..=20 {
            let angle = std::f64::consts::FRAC_PI_2 * f64::from(step) / 20.0;
            path.push(Point::new(200.0 * angle.sin(), 200.0 * (1.0 - angle.cos()), 0.0));
        }
        for step in 1..=20 {
            let angle = std::f64::consts::FRAC_PI_2 * f64::from(step) / 20.0;
            path.push(Point::new(
                200.0 - 60.0 * (1.0 - angle.cos()),
                200.0 + 60.0 * angle.sin(),
                0.0,
            ));
        }
        let (_, radius_mm) = tightest(&path).expect("it bends");
        assert!((radius_mm - 60.0).abs() < 2.0, "{radius_mm}");
        assert!(tightest(&path[..2]).is_none());
    }
}
