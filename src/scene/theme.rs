//! Colours, type sizes and spacing of the window, light and dark.

use bevy::color::Color;
use bevy_egui::egui::{
    self, Color32, CornerRadius, FontFamily, FontId, Margin, Shadow, Stroke, TextStyle, Visuals,
};

use crate::checks::Verdict;
use crate::model::{LineKind, MoverKind, Part, Role, TrimKind};

/// The colours of one theme.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Palette {
    /// Behind the boot.
    pub(crate) sky: Color32,
    /// Panels.
    pub(crate) sheet: Color32,
    /// Cards on panels.
    pub(crate) card: Color32,
    /// Thin lines.
    pub(crate) line: Color32,
    /// Text.
    pub(crate) ink: Color32,
    /// Less important text.
    pub(crate) faint: Color32,
    /// What is chosen, and the pump's outline.
    pub(crate) accent: Color32,
    /// Behind what is chosen.
    pub(crate) chosen: Color32,
    /// Edges of bodies.
    pub(crate) edge: Color32,
    pass: Color32,
    tight: Color32,
    fail: Color32,
    unknown: Color32,
}

const fn rgb(hex: u32) -> Color32 {
    Color32::from_rgb((hex >> 16) as u8, (hex >> 8) as u8, hex as u8)
}

const LIGHT: Palette = Palette {
    sky: rgb(0xE4E7E6),
    sheet: rgb(0xF6F6F3),
    card: rgb(0xFFFFFF),
    line: rgb(0xD2D5D2),
    ink: rgb(0x1E2A30),
    faint: rgb(0x5A676D),
    accent: rgb(0x0F6B73),
    chosen: rgb(0xCFE4E4),
    edge: rgb(0x39464C),
    pass: rgb(0x1F7A4A),
    tight: rgb(0x9A6200),
    fail: rgb(0xB3352B),
    unknown: rgb(0x5D6AA0),
};

const DARK: Palette = Palette {
    sky: rgb(0x20282C),
    sheet: rgb(0x171D20),
    card: rgb(0x1F272B),
    line: rgb(0x364147),
    ink: rgb(0xE6EBEA),
    faint: rgb(0xA0ADB1),
    accent: rgb(0x4FB9BE),
    chosen: rgb(0x24494C),
    edge: rgb(0x0C1113),
    pass: rgb(0x5CC48C),
    tight: rgb(0xE3AE4B),
    fail: rgb(0xF08070),
    unknown: rgb(0x9FACE0),
};

impl Palette {
    pub(crate) fn of(dark: bool) -> Palette {
        if dark { DARK } else { LIGHT }
    }

    pub(crate) fn verdict(&self, verdict: Verdict) -> Color32 {
        match verdict {
            Verdict::Pass => self.pass,
            Verdict::Tight => self.tight,
            Verdict::Fail => self.fail,
            Verdict::Unknown => self.unknown,
        }
    }
}

/// A colour and how much of what lies behind it shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Shade {
    /// The colour.
    pub(crate) colour: Color32,
    /// 1 hides what lies behind.
    pub(crate) alpha: f32,
}

/// A colour of the panels as one of the scene.
pub(crate) fn scene_colour(colour: Color32) -> Color {
    Color::srgb_u8(colour.r(), colour.g(), colour.b())
}

/// Shade of a body. Option modules are told apart from what every car has.
pub(crate) fn body_colour(role: Role, optional: bool) -> Color32 {
    match role {
        Role::Module if optional => rgb(0x8D6FB0),
        Role::Floor => rgb(0x8FA0A8),
        Role::Panel => rgb(0xB4BCBD),
        Role::WheelArch => rgb(0x7D8E93),
        Role::Bulkhead => rgb(0xA39E93),
        Role::Bracket => rgb(0xB8924A),
        Role::Module => rgb(0x6F86A6),
        Role::Battery => rgb(0x4B5660),
        Role::Terminal => rgb(0xB4573F),
        Role::Loom => rgb(0x4A4550),
        Role::Other => rgb(0xA08F7C),
    }
}

/// Shade of a part of the pump.
pub(crate) fn part_colour(part: Part) -> Color32 {
    match part {
        Part::Motor => rgb(0x1C8088),
        Part::Tank => rgb(0xF3E6B4),
        Part::Block => rgb(0xE4E9EA),
        Part::Frame => rgb(0x46555C),
        Part::Plug => rgb(0x23292D),
    }
}

/// Shade of a mover.
pub(crate) fn mover_colour(kind: MoverKind) -> Color32 {
    match kind {
        MoverKind::Hinge => rgb(0x7E9483),
        MoverKind::Lid => rgb(0xA9B7AC),
        MoverKind::Roof => rgb(0x6C7A70),
        MoverKind::Tray => rgb(0x94A08A),
    }
}

/// Shade of a trim.
pub(crate) fn trim_colour(kind: TrimKind) -> Color32 {
    match kind {
        TrimKind::Carpet => rgb(0x8A7360),
        TrimKind::Board => rgb(0xA78A63),
    }
}

/// Shade of a line that is well routed.
pub(crate) fn line_colour(kind: &LineKind) -> Color32 {
    match kind {
        LineKind::Hose => rgb(0x3C4347),
        LineKind::Cable(_) => rgb(0xA5483B),
        LineKind::Cord => rgb(0xC9B04A),
    }
}

/// Standing water.
pub(crate) const WATER: Color32 = rgb(0x2F7FB8);
/// The fluid in the tank.
pub(crate) const FLUID: Color32 = rgb(0xC98A2B);
/// Anchors.
pub(crate) const ANCHOR: Color32 = rgb(0xD9A62E);
/// Drains.
pub(crate) const DRAIN: Color32 = rgb(0x1F5F8F);
/// A drain that was found blocked.
pub(crate) const DRAIN_BLOCKED: Color32 = rgb(0x8C3A32);
/// A scan that isn't placed yet.
pub(crate) const SCAN: Color32 = rgb(0xB9A7C4);
/// The pump as other spots have it.
pub(crate) const GHOST: Color32 = rgb(0x5E8F93);
/// Trim pushed out within what it gives.
pub(crate) const LIFT_WITHIN: Color32 = rgb(0xE0A53A);
/// Trim pushed out beyond what it gives.
pub(crate) const LIFT_BEYOND: Color32 = rgb(0xC4382C);
/// Where a trim would have to be cut.
pub(crate) const CUT: Color32 = rgb(0xC4382C);
/// The surface of accelerations that move the pump.
pub(crate) const ROCK: Color32 = rgb(0x4C7FB5);
/// The bend that is tightest.
pub(crate) const BEND: Color32 = rgb(0xB0409A);
/// Leak points.
pub(crate) const LEAK: Color32 = rgb(0x3FA4D8);
/// The three axes of the car: forward, left, up.
pub(crate) const AXES: [Color32; 3] = [rgb(0xC2603A), rgb(0x4A8F5A), rgb(0x3E6FB5)];

/// Type size of the total score.
pub(crate) const BIG: f32 = 30.0;

/// Sets fonts, spacing and colours of a theme.
pub(crate) fn wear(ctx: &egui::Context, dark: bool) {
    ctx.set_theme(if dark { egui::Theme::Dark } else { egui::Theme::Light });
    let palette = Palette::of(dark);
    ctx.all_styles_mut(|style| {
        style.text_styles = [
            (TextStyle::Heading, FontId::new(17.0, FontFamily::Proportional)),
            (TextStyle::Body, FontId::new(13.5, FontFamily::Proportional)),
            (TextStyle::Button, FontId::new(13.5, FontFamily::Proportional)),
            (TextStyle::Small, FontId::new(12.0, FontFamily::Proportional)),
            (TextStyle::Monospace, FontId::new(12.5, FontFamily::Monospace)),
        ]
        .into();
        style.spacing.item_spacing = egui::vec2(6.0, 4.0);
        style.spacing.button_padding = egui::vec2(8.0, 3.0);
        style.spacing.interact_size = egui::vec2(30.0, 22.0);
        style.spacing.indent = 14.0;
        style.spacing.window_margin = Margin::same(14);
        style.spacing.scroll.floating = false;
        style.spacing.scroll.bar_width = 7.0;
        style.spacing.scroll.foreground_color = false;
        style.spacing.scroll.fade.strength = 0.0;
        style.interaction.selectable_labels = false;
        style.animation_time = 0.0;
        style.visuals = visuals(&palette, dark);
    });
}

fn visuals(palette: &Palette, dark: bool) -> Visuals {
    let mut visuals = if dark { Visuals::dark() } else { Visuals::light() };
    visuals.panel_fill = palette.sheet;
    visuals.window_fill = palette.sheet;
    visuals.window_stroke = Stroke::new(1.0, palette.line);
    visuals.window_corner_radius = CornerRadius::same(8);
    visuals.menu_corner_radius = CornerRadius::same(6);
    visuals.window_shadow =
        Shadow { offset: [0, 6], blur: 24, spread: 0, color: Color32::from_black_alpha(70) };
    visuals.popup_shadow =
        Shadow { offset: [0, 3], blur: 10, spread: 0, color: Color32::from_black_alpha(50) };
    visuals.extreme_bg_color = palette.card;
    visuals.faint_bg_color = palette.card;
    visuals.weak_text_color = Some(palette.faint);
    visuals.hyperlink_color = palette.accent;
    visuals.selection.bg_fill = palette.chosen;
    visuals.selection.stroke = Stroke::new(1.5, palette.accent);
    visuals.warn_fg_color = palette.verdict(Verdict::Tight);
    visuals.error_fg_color = palette.verdict(Verdict::Fail);
    let at_rest = if dark { rgb(0x2C363B) } else { rgb(0xE7EAE7) };
    let under = if dark { rgb(0x3A464C) } else { rgb(0xDADFDC) };
    let radius = CornerRadius::same(5);
    for (widget, fill, edge) in [
        (&mut visuals.widgets.noninteractive, palette.sheet, palette.line),
        (&mut visuals.widgets.inactive, at_rest, palette.line),
        (&mut visuals.widgets.hovered, under, palette.accent),
        (&mut visuals.widgets.active, under, palette.accent),
        (&mut visuals.widgets.open, under, palette.accent),
    ] {
        widget.bg_fill = fill;
        widget.weak_bg_fill = fill;
        widget.bg_stroke = Stroke::new(1.0, edge);
        widget.fg_stroke = Stroke::new(1.0, palette.ink);
        widget.corner_radius = radius;
        widget.expansion = 0.0;
    }
    visuals.widgets.active.fg_stroke = Stroke::new(1.5, palette.ink);
    visuals
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What a colour looks like without one kind of cone, linear light; Machado, Oliveira and Fernandes
    /// (2009), full severity, from memory.
    const WITHOUT: [[[f64; 3]; 3]; 3] = [
        [
            [0.152_286, 1.052_583, -0.204_868],
            [0.114_503, 0.786_281, 0.099_216],
            [-0.003_882, -0.048_116, 1.051_998],
        ],
        [
            [0.367_322, 0.860_646, -0.227_968],
            [0.280_085, 0.672_501, 0.047_413],
            [-0.011_820, 0.042_940, 0.968_881],
        ],
        [
            [1.255_528, -0.076_749, -0.178_779],
            [-0.078_411, 0.930_809, 0.147_602],
            [0.004_733, 0.691_367, 0.303_900],
        ],
    ];

    /// CIE 1976 L*a*b* of linear sRGB under D65 (IEC 61966-2-1).
    fn lab(light: [f64; 3]) -> [f64; 3] {
        let [r, g, b] = light.map(|part| part.clamp(0.0, 1.0));
        let curve = |t: f64| if t > 0.008_856 { t.cbrt() } else { 7.787 * t + 16.0 / 116.0 };
        let x = curve((0.4124 * r + 0.3576 * g + 0.1805 * b) / 0.950_47);
        let y = curve(0.2126 * r + 0.7152 * g + 0.0722 * b);
        let z = curve((0.0193 * r + 0.1192 * g + 0.9505 * b) / 1.088_83);
        [116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)]
    }

    fn linear(colour: Color32) -> [f64; 3] {
        [colour.r(), colour.g(), colour.b()].map(|part| {
            let part = f64::from(part) / 255.0;
            if part <= 0.040_45 { part / 12.92 } else { ((part + 0.055) / 1.055).powf(2.4) }
        })
    }

    fn apart(a: [f64; 3], b: [f64; 3]) -> f64 {
        a.iter().zip(&b).map(|(a, b)| (a - b).powi(2)).sum::<f64>().sqrt()
    }

    /// About 2.3 is just told apart (from memory); verdicts also have a word and a shape.
    const CLEARLY: f64 = 10.0;

    #[test]
    fn verdicts_are_told_apart_without_one_kind_of_cone() {
        let all = [Verdict::Pass, Verdict::Tight, Verdict::Fail, Verdict::Unknown];
        for dark in [false, true] {
            let palette = Palette::of(dark);
            for matrix in WITHOUT {
                let seen = |verdict: Verdict| {
                    let light = linear(palette.verdict(verdict));
                    lab(matrix.map(|row| row.iter().zip(&light).map(|(a, b)| a * b).sum()))
                };
                for (index, &one) in all.iter().enumerate() {
                    for &other in &all[index + 1..] {
                        let by = apart(seen(one), seen(other));
                        assert!(by > CLEARLY, "dark {dark}: {one:?} {other:?} {by:.1}");
                    }
                }
            }
        }
    }

    #[test]
    fn text_stands_out_from_what_it_lies_on() {
        // Contrast of WCAG 2.1, criterion 1.4.3: 4.5 to 1 for text of this size.
        let luminance = |colour: Color32| {
            let [r, g, b] = linear(colour);
            0.2126 * r + 0.7152 * g + 0.0722 * b + 0.05
        };
        for dark in [false, true] {
            let palette = Palette::of(dark);
            for ground in [palette.sheet, palette.card] {
                let all = [Verdict::Pass, Verdict::Tight, Verdict::Fail, Verdict::Unknown];
                let verdicts = all.map(|verdict| palette.verdict(verdict));
                for ink in verdicts.into_iter().chain([palette.ink, palette.faint, palette.accent])
                {
                    let (a, b) = (luminance(ink), luminance(ground));
                    let contrast = a.max(b) / a.min(b);
                    assert!(contrast >= 4.5, "dark {dark}: {ink:?} on {ground:?}: {contrast:.2}");
                }
            }
        }
    }
}
