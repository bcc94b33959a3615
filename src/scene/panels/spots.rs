//! All spots side by side: name, verdict, score and the five headlines.

use bevy_egui::egui::{
    Align2, Button, Color32, CornerRadius, FontId, Frame, Margin, Panel, Pos2, Rect, Response,
    RichText, ScrollArea, Sense, Stroke, StrokeKind, TextStyle, Ui, Vec2, WidgetInfo, WidgetType,
};

use super::Desk;
use crate::checks::{HeadlineId, Verdict};
use crate::scene::{figures, marks};

const ROW: f32 = 26.0;

/// The strip with the spots, under the picture.
pub(crate) fn show(root: &mut Ui, desk: &mut Desk) {
    let frame = Frame::new().fill(desk.palette.sheet).inner_margin(Margin::symmetric(10, 6));
    // The picture comes first: the strip grows only where there is room.
    let most = match root.ctx().viewport_rect().height() {
        high if high >= 1000.0 => 9,
        high if high >= 720.0 => 6,
        _ => 4,
    };
    let rows = desk.document.spots().len().clamp(1, most) as f32;
    let height = ROW * rows + 42.0;
    Panel::bottom("spots").frame(frame).resizable(false).exact_size(height).show(root, |ui| {
        titles(ui, desk);
        let list = ScrollArea::vertical().auto_shrink([false, false]).min_scrolled_height(0.0);
        list.show(ui, |ui| {
            ui.spacing_mut().item_spacing.y = 0.0;
            let id = ui.id().with("in sight");
            let in_sight: Option<usize> = ui.data(|data| data.get_temp(id));
            for spot in 0..desk.document.spots().len() {
                let response = row(ui, desk, spot);
                if spot == desk.document.current() && in_sight != Some(spot) {
                    response.scroll_to_me(None);
                    ui.data_mut(|data| data.insert_temp(id, spot));
                }
                if response.clicked() {
                    desk.turn_to(spot);
                }
            }
        });
    });
}

/// Where the columns of a row begin, from its left.
struct Columns {
    name: f32,
    total: f32,
    headlines: [f32; 5],
}

impl Columns {
    fn of(width: f32) -> Columns {
        let each = ((width - 300.0) / 5.0).clamp(47.0, 112.0);
        let first = width - 5.0 * each;
        let headlines = [0.0, 1.0, 2.0, 3.0, 4.0].map(|column| first + each * column);
        Columns { name: 24.0, total: first - if each < 54.0 { 50.0 } else { 68.0 }, headlines }
    }
}

/// The titles over the columns, and whether something is being worked out.
fn titles(ui: &mut Ui, desk: &mut Desk) {
    // As wide as the rows below, which leave room for the scroll bar.
    let width = ui.available_width() - 13.0;
    let (rect, _) = ui.allocate_exact_size(Vec2::new(width, 20.0), Sense::hover());
    let columns = Columns::of(width);
    let small = TextStyle::Small.resolve(ui.style());
    let painter = ui.painter();
    let write = |x: f32, words: &str, colour: Color32| {
        let at = Pos2::new(rect.left() + x, rect.center().y);
        painter.text(at, Align2::LEFT_CENTER, words, small.clone(), colour);
    };
    let title = Pos2::new(rect.left() + 6.0, rect.center().y);
    // In a narrow window the button alone stands over the names.
    let narrow = columns.total < 160.0;
    let heading = if narrow { "" } else { "Spots" };
    let font = FontId::proportional(14.5);
    let drawn = painter.text(title, Align2::LEFT_CENTER, heading, font, desk.palette.ink);
    let busy = if desk.scores.preparing_boot() {
        "making the boot ready…"
    } else if desk.scores.cancelled(desk.document) {
        "as it was"
    } else if desk.scores.settled(desk.document) {
        "keys 1 to 9 over the picture"
    } else {
        "updating…"
    };
    // The hint about keys is left out where it would run into the titles.
    if (busy.len() < 16 && columns.total > 225.0) || columns.total > 315.0 {
        write(drawn.right() + 112.0 - rect.left(), busy, desk.palette.faint);
    }
    write(columns.total, "Score", desk.palette.faint);
    for (id, x) in HeadlineId::ALL.into_iter().zip(columns.headlines) {
        let words = if id == HeadlineId::Carpet { "Carpet" } else { id.title() };
        write(x, words, desk.palette.faint);
    }
    let button = Rect::from_min_size(
        Pos2::new(if narrow { title.x } else { drawn.right() + 8.0 }, rect.top()),
        Vec2::new(96.0, rect.height()),
    );
    let words = RichText::new("Side by side").size(12.0);
    let tip = "Every check of every spot beside the others, and what other weights would change";
    if ui.put(button, Button::new(words).selected(desk.view.compare)).on_hover_text(tip).clicked() {
        desk.view.compare = !desk.view.compare;
    }
}

fn row(ui: &mut Ui, desk: &Desk, spot: usize) -> Response {
    let width = ui.available_width();
    let (rect, response) = ui.allocate_exact_size(Vec2::new(width, ROW), Sense::click());
    let name = &desk.document.spots()[spot].name;
    let current = spot == desk.document.current();
    response.widget_info(|| WidgetInfo::selected(WidgetType::Button, true, current, name));
    let painter = ui.painter_at(rect);
    let inside = rect.shrink2(Vec2::new(0.0, 1.0));
    let radius = CornerRadius::same(4);
    if current {
        painter.rect_filled(inside, radius, ui.visuals().selection.bg_fill);
    } else if response.hovered() {
        painter.rect_filled(inside, radius, ui.visuals().widgets.hovered.weak_bg_fill);
    }
    if response.has_focus() {
        let ring = Stroke::new(1.5, desk.palette.accent);
        painter.rect_stroke(inside, radius, ring, StrokeKind::Inside);
    }
    let columns = Columns::of(width);
    let font = TextStyle::Body.resolve(ui.style());
    let small = TextStyle::Small.resolve(ui.style());
    let middle = rect.center().y;
    let at = |x: f32| Pos2::new(rect.left() + x, middle);
    let number = format!("{}", spot + 1);
    painter.text(at(8.0), Align2::LEFT_CENTER, number, small.clone(), desk.palette.faint);
    let marked = if desk.document.unsaved(spot) { format!("{name} •") } else { name.clone() };
    let ink = desk.palette.ink;
    let marked = super::elided(ui, &marked, font.size, columns.total - columns.name - 8.0);
    let galley = painter.layout_no_wrap(marked, font.clone(), ink);
    painter.galley(at(columns.name) - Vec2::new(0.0, galley.size().y / 2.0), galley, ink);
    let Some(landed) = desk.scores.of(spot) else {
        let broken = desk.scores.broken(desk.document, spot);
        let words = if broken { "could not be worked out" } else { "…" };
        painter.text(at(columns.total), Align2::LEFT_CENTER, words, font, desk.palette.faint);
        return response;
    };
    let fresh = desk.scores.fresh(desk.document, spot);
    let dim = |colour: Color32| if fresh { colour } else { colour.gamma_multiply(0.8) };
    let cell = |x: f32, verdict: Verdict, words: String, strong: bool| {
        let colour = dim(desk.palette.verdict(verdict));
        marks::paint(&painter, at(x + 7.0), 11.0, verdict, colour);
        let font = if strong { font.clone() } else { small.clone() };
        painter.text(at(x + 18.0), Align2::LEFT_CENTER, words, font, dim(ink));
    };
    cell(columns.total, landed.card.verdict, figures::score(landed.card.score), true);
    for (id, x) in HeadlineId::ALL.into_iter().zip(columns.headlines) {
        let Some(headline) = landed.card.headline(id) else { continue };
        let words = figures::score(headline.score);
        cell(x, headline.verdict, words, false);
    }
    let deciding = landed
        .card
        .headlines
        .iter()
        .filter(|headline| headline.verdict != Verdict::Pass)
        .filter_map(|headline| {
            Some(format!("{}: {}", headline.id.title(), headline.deciding()?.why))
        })
        .collect::<Vec<_>>()
        .join("\n");
    if deciding.is_empty() { response } else { response.on_hover_text(deciding) }
}
