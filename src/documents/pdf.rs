//! Pages in millimetres, written as PDF.

use krilla::color::rgb;
use krilla::geom::{PathBuilder, Point, Size, Transform};
use krilla::image::Image;
use krilla::num::NormalizedF32;
use krilla::page::PageSettings;
use krilla::paint::{Fill, FillRule, LineCap, Stroke, StrokeDash};
use krilla::surface::Surface;
use krilla::text::{Font, TextDirection};

use super::typeface::{BOLD, REGULAR, Typeface};
use crate::geometry::Outline;

/// Points of PDF in a millimetre: 72 to the inch.
pub(super) const POINTS_PER_MM: f64 = 72.0 / crate::units::MM_PER_INCH;

/// A point of type in millimetres.
pub(super) const MM_PER_POINT: f64 = 1.0 / POINTS_PER_MM;

/// Red, green and blue.
pub(super) type Colour = (u8, u8, u8);

pub(super) const INK: Colour = (0x1E, 0x2A, 0x30);
pub(super) const FAINT: Colour = (0x5A, 0x67, 0x6D);
pub(super) const LINE: Colour = (0xC4, 0xC9, 0xC7);
pub(super) const ACCENT: Colour = (0x0F, 0x6B, 0x73);
pub(super) const PALE: Colour = (0xEE, 0xF4, 0xF3);
pub(super) const AMBER: Colour = (0xFD, 0xF6, 0xE6);
pub(super) const AMBER_LINE: Colour = (0xC9, 0x8A, 0x2B);

/// The cut of a text.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Cut {
    Regular,
    Bold,
}

/// Fonts, ready to set and to measure.
pub(super) struct Fonts {
    regular: Font,
    bold: Font,
    pub(super) measure: [Typeface; 2],
}

impl Fonts {
    pub(super) fn new() -> Option<Fonts> {
        Some(Fonts {
            regular: Font::new(REGULAR.to_vec().into(), 0)?,
            bold: Font::new(BOLD.to_vec().into(), 0)?,
            measure: [Typeface::regular()?, Typeface::bold()?],
        })
    }

    pub(super) fn face(&self, cut: Cut) -> &Typeface {
        &self.measure[usize::from(cut == Cut::Bold)]
    }

    /// Width of a line, mm; size in points.
    pub(super) fn width_mm(&self, text: &str, size: f64, cut: Cut) -> f64 {
        f64::from(self.face(cut).width(text, size as f32)) * MM_PER_POINT
    }

    /// The text, its end left out where it is wider than that.
    pub(super) fn cut_short(&self, text: &str, size: f64, cut: Cut, width_mm: f64) -> String {
        if self.width_mm(text, size, cut) <= width_mm {
            return text.to_string();
        }
        let mut kept: Vec<char> = text.chars().collect();
        while kept.pop().is_some() {
            let short: String = kept.iter().collect::<String>().trim_end().to_string() + "…";
            if self.width_mm(&short, size, cut) <= width_mm {
                return short;
            }
        }
        String::new()
    }

    pub(super) fn folded(&self, text: &str, size: f64, cut: Cut, width_mm: f64) -> Vec<String> {
        let face = self.face(cut);
        let text = face.printable(text);
        face.folded(&text, size as f32, (width_mm * POINTS_PER_MM) as f32)
    }
}

/// A page being drawn: millimetres from its upper left corner, y down.
pub(super) struct Canvas<'a, 'b> {
    pub(super) surface: &'a mut Surface<'b>,
    pub(super) fonts: &'a Fonts,
}

fn pt(mm: f64) -> f32 {
    (mm * POINTS_PER_MM) as f32
}

fn fill((r, g, b): Colour) -> Fill {
    Fill {
        paint: rgb::Color::new(r, g, b).into(),
        opacity: NormalizedF32::ONE,
        rule: FillRule::NonZero,
    }
}

fn pen((r, g, b): Colour, width_mm: f64, dash_mm: &[f64]) -> Stroke {
    Stroke {
        paint: rgb::Color::new(r, g, b).into(),
        width: pt(width_mm),
        line_cap: LineCap::Butt,
        dash: (!dash_mm.is_empty()).then(|| StrokeDash {
            array: dash_mm.iter().map(|length| pt(*length)).collect(),
            offset: 0.0,
        }),
        ..Stroke::default()
    }
}

impl Canvas<'_, '_> {
    pub(super) fn text(&mut self, x: f64, y: f64, size: f64, cut: Cut, colour: Colour, text: &str) {
        let text = self.fonts.face(cut).printable(text);
        if text.is_empty() {
            return;
        }
        let font = match cut {
            Cut::Regular => self.fonts.regular.clone(),
            Cut::Bold => self.fonts.bold.clone(),
        };
        self.surface.set_stroke(None);
        self.surface.set_fill(Some(fill(colour)));
        let at = Point::from_xy(pt(x), pt(y));
        self.surface.draw_text(at, font, size as f32, &text, false, TextDirection::LeftToRight);
    }

    /// A text that ends at x.
    pub(super) fn text_to(
        &mut self,
        x: f64,
        y: f64,
        size: f64,
        cut: Cut,
        colour: Colour,
        text: &str,
    ) {
        let width = self.fonts.width_mm(text, size, cut);
        self.text(x - width, y, size, cut, colour, text);
    }

    /// A text around x.
    pub(super) fn text_mid(
        &mut self,
        x: f64,
        y: f64,
        size: f64,
        cut: Cut,
        colour: Colour,
        text: &str,
    ) {
        let width = self.fonts.width_mm(text, size, cut);
        self.text(x - width / 2.0, y, size, cut, colour, text);
    }

    pub(super) fn line(
        &mut self,
        from: (f64, f64),
        to: (f64, f64),
        width_mm: f64,
        colour: Colour,
        dash: &[f64],
    ) {
        let mut path = PathBuilder::new();
        path.move_to(pt(from.0), pt(from.1));
        path.line_to(pt(to.0), pt(to.1));
        self.draw(path, None, Some(pen(colour, width_mm, dash)));
    }

    pub(super) fn rect(
        &mut self,
        x: f64,
        y: f64,
        w: f64,
        h: f64,
        filled: Option<Colour>,
        edge: Option<(Colour, f64)>,
    ) {
        let mut path = PathBuilder::new();
        path.move_to(pt(x), pt(y));
        path.line_to(pt(x + w), pt(y));
        path.line_to(pt(x + w), pt(y + h));
        path.line_to(pt(x), pt(y + h));
        path.close();
        self.draw(path, filled.map(fill), edge.map(|(colour, width)| pen(colour, width, &[])));
    }

    pub(super) fn circle(
        &mut self,
        x: f64,
        y: f64,
        radius: f64,
        filled: Option<Colour>,
        edge: Option<(Colour, f64)>,
    ) {
        let outline = Outline::circle(x, y, radius);
        let at = |(x, y): (f64, f64)| (x, y);
        let path = along(&outline, &at);
        self.draw(path, filled.map(fill), edge.map(|(colour, width)| pen(colour, width, &[])));
    }

    /// An outline, each of its points where `at` says on the page.
    pub(super) fn outline(
        &mut self,
        outline: &Outline,
        at: &dyn Fn((f64, f64)) -> (f64, f64),
        filled: Option<Colour>,
        edge: Option<(Colour, f64, &[f64])>,
    ) {
        let path = along(outline, at);
        self.draw(
            path,
            filled.map(fill),
            edge.map(|(colour, width, dash)| pen(colour, width, dash)),
        );
    }

    /// A closed shape of corners.
    pub(super) fn polygon(&mut self, corners: &[(f64, f64)], filled: Colour) {
        let mut path = PathBuilder::new();
        for (index, (x, y)) in corners.iter().enumerate() {
            if index == 0 { path.move_to(pt(*x), pt(*y)) } else { path.line_to(pt(*x), pt(*y)) }
        }
        path.close();
        self.draw(path, Some(fill(filled)), None);
    }

    fn draw(&mut self, path: PathBuilder, filled: Option<Fill>, edge: Option<Stroke>) {
        if let Some(path) = path.finish() {
            self.surface.set_fill(filled);
            self.surface.set_stroke(edge);
            self.surface.draw_path(&path);
        }
    }

    /// Draws only inside a rectangle until [`unclip`](Self::unclip).
    pub(super) fn clip(&mut self, x: f64, y: f64, w: f64, h: f64) {
        let mut path = PathBuilder::new();
        path.move_to(pt(x), pt(y));
        path.line_to(pt(x + w), pt(y));
        path.line_to(pt(x + w), pt(y + h));
        path.line_to(pt(x), pt(y + h));
        path.close();
        if let Some(path) = path.finish() {
            self.surface.push_clip_path(&path, &FillRule::NonZero);
        }
    }

    pub(super) fn unclip(&mut self) {
        self.surface.pop();
    }

    /// A PNG picture in a box of this size, mm; nothing when it can't be read.
    pub(super) fn image(&mut self, png: &[u8], x: f64, y: f64, w: f64, h: f64) {
        let (Ok(image), Some(size)) =
            (Image::from_png(png.to_vec().into(), true), Size::from_wh(pt(w), pt(h)))
        else {
            return;
        };
        self.surface.push_transform(&Transform::from_translate(pt(x), pt(y)));
        self.surface.draw_image(image, size);
        self.surface.pop();
    }
}

fn along(outline: &Outline, at: &dyn Fn((f64, f64)) -> (f64, f64)) -> PathBuilder {
    let mut path = PathBuilder::new();
    for (index, curve) in outline.curves().into_iter().enumerate() {
        let placed = curve.map(at);
        let [a, b, c, d] = placed.map(|(x, y)| (pt(x), pt(y)));
        if index == 0 {
            path.move_to(a.0, a.1);
        }
        let [from, _, _, to] = placed;
        let chord = (to.0 - from.0).hypot(to.1 - from.1).max(1e-9);
        let off_mm = |p: (f64, f64)| {
            ((to.0 - from.0) * (p.1 - from.1) - (to.1 - from.1) * (p.0 - from.0)).abs() / chord
        };
        if off_mm(placed[1]) < 1e-6 && off_mm(placed[2]) < 1e-6 {
            path.line_to(d.0, d.1);
        } else {
            path.cubic_to(b.0, b.1, c.0, c.1, d.0, d.1);
        }
    }
    path.close();
    path
}

/// Begins a page of this size, mm.
pub(super) fn page_of(width_mm: f64, height_mm: f64) -> Option<PageSettings> {
    PageSettings::from_wh(pt(width_mm), pt(height_mm))
}

#[cfg(test)]
mod tests {
    use super::{Cut, Fonts};

    #[test]
    fn a_name_gives_way_to_the_room_it_has() {
        let fonts = Fonts::new().expect("the fonts");
        let name = "adapter plate, On the amplifier bracket, set inboard";
        for room in [0.5, 12.0, 40.0, 300.0] {
            let short = fonts.cut_short(name, 9.0, Cut::Bold, room);
            assert!(fonts.width_mm(&short, 9.0, Cut::Bold) <= room, "{short} in {room} mm");
            assert!(short.is_empty() || name.starts_with(short.trim_end_matches('…')), "{short}");
        }
        assert_eq!(fonts.cut_short(name, 9.0, Cut::Bold, 300.0), name);
        assert!(fonts.cut_short(name, 9.0, Cut::Bold, 40.0).ends_with('…'));
    }

    #[test]
    fn a_figure_and_its_unit_stay_on_one_line() {
        let fonts = Fonts::new().expect("the fonts");
        let text =
            "it stands 318 mm clear, nose up 20 %, right side higher by 10 %; then 0.5 l/min";
        for width in [12.0, 15.0, 18.0, 21.0, 30.0, 45.0] {
            for line in fonts.folded(text, 9.0, Cut::Regular, width) {
                let starts = ["mm", "%", "l/min"].iter().any(|unit| line.starts_with(unit));
                assert!(!starts, "`{line}` at {width} mm");
            }
        }
    }
}
