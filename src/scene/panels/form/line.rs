//! The boxes of a hose, a cable or a cord.

use bevy_egui::egui::{ComboBox, RichText, Ui};

use super::Extra;
use crate::checks::Verdict;
use crate::model::{
    Anchor, AnchorKind, BendRule, Bundle, FeedReading, Layout, Line, LineClip, LineKind, Point,
    Pull, Vector,
};
use crate::scene::figures;
use crate::scene::panels::{Desk, fields};
use crate::scene::thing::ports::{self, PortUse};
use crate::scene::thing::usual_cable;

/// The boxes of a line; what else was asked for.
pub(super) fn line(
    ui: &mut Ui,
    desk: &mut Desk,
    layout: &Layout,
    line: &mut Line,
) -> Option<Extra> {
    let number = |kind: &LineKind| match kind {
        LineKind::Hose => 0_u8,
        LineKind::Cable(_) => 1,
        LineKind::Cord => 2,
    };
    let mut chosen = number(&line.kind);
    let kinds = [(0, "hose"), (1, "feed cable"), (2, "release cord")];
    fields::choice(ui, desk, "Kind", &kinds, &mut chosen);
    let boot = desk.document.boot().clone();
    if chosen != number(&line.kind) {
        line.kind = match chosen {
            0 => LineKind::Hose,
            1 => LineKind::Cable(usual_cable()),
            _ => LineKind::Cord,
        };
        if ports::odd(&boot, &line.kind, &line.to).is_some() {
            line.to = ports::usual(&boot, layout, &line.kind);
        }
    }
    fields::point(ui, desk, "leaves the car at", &mut line.from.at);
    fields::direction(ui, desk, "towards", &mut line.from.towards);
    let wanted = PortUse::wanted(&line.kind);
    let known = ports::fitting_first(&boot, &line.kind);
    ui.horizontal(|ui| {
        fields::label(ui, desk, "goes to");
        ComboBox::from_id_salt("port").selected_text(line.to.as_str()).show_ui(ui, |ui| {
            for (port, is) in known {
                let other = layout.lines.iter().find(|it| it.to == port && it.name != line.name);
                let words = match other {
                    Some(other) => format!("{port} (has {})", other.name),
                    None if is != wanted => format!("{port} ({})", is.words()),
                    None => port.clone(),
                };
                ui.selectable_value(&mut line.to, port, words);
            }
        });
    });
    if let Some(odd) = ports::odd(&boot, &line.kind, &line.to) {
        let colour = desk.palette.verdict(Verdict::Tight);
        ui.label(RichText::new(figures::capital(&odd)).size(12.0).color(colour));
    }
    fields::length(ui, desk, "free length", &mut line.free_mm);
    fields::length(ui, desk, "outside diameter", &mut line.od_mm);
    if matches!(line.kind, LineKind::Hose) {
        fields::maybe_length(ui, desk, "inside diameter", line.od_mm / 2.0, &mut line.bore_mm);
    }
    fields::length(ui, desk, "bend radius", &mut line.bend_mm);
    let rules = [(BendRule::Inside, "inside of the bend"), (BendRule::Centre, "centreline")];
    fields::choice(ui, desk, "given on the", &rules, &mut line.bend_rule);
    let usual = 1.5 * line.od_mm;
    fields::maybe_length(ui, desk, "straight lead", usual, &mut line.lead_mm);
    if let LineKind::Cable(cable) = &mut line.kind {
        fields::figure(ui, desk, "copper", "mm²", 0.1..=200.0, &mut cable.area_mm2);
        fields::length(ui, desk, "upstream", &mut cable.upstream_mm);
        fields::figure(ui, desk, "supply", "V", 1.0..=60.0, &mut cable.supply_v);
        fields::figure(ui, desk, "joints", "mΩ", 0.0..=10_000.0, &mut cable.joints_mohm);
        fields::figure(ui, desk, "conductor", "°C", -60.0..=200.0, &mut cable.conductor_c);
        read_at_plug(ui, desk, cable.supply_v, &mut line.measured);
    }
    if matches!(line.kind, LineKind::Cord) {
        release_pull(ui, desk, line);
    }
    bundle(ui, desk, &mut line.bundle);
    let extra = clips(ui, desk, layout, line);
    fields::option(ui, desk, layout, &mut line.option);
    extra
}

/// What was read at the plug, if it was.
fn read_at_plug(ui: &mut Ui, desk: &mut Desk, supply_v: f64, reading: &mut Option<FeedReading>) {
    let usual = FeedReading { plug_v: supply_v * 0.97, current_a: desk.document.pump().running_a };
    given(ui, desk, "read at the plug, pump running", usual, reading);
    if let Some(reading) = reading {
        fields::figure(ui, desk, "at the plug", "V", 0.1..=supply_v.max(0.1), &mut reading.plug_v);
        fields::figure(ui, desk, "current", "A", 0.1..=1_000.0, &mut reading.current_a);
    }
}

/// How the release is pulled, if it was measured.
fn release_pull(ui: &mut Ui, desk: &mut Desk, line: &mut Line) {
    let usual = Pull { cone_deg: 30.0, handle: line.from.at };
    given(ui, desk, "pull and handle measured", usual, &mut line.pull);
    if let Some(pull) = &mut line.pull {
        fields::figure(ui, desk, "lever's cone", "°", 0.0..=90.0, &mut pull.cone_deg);
        fields::point(ui, desk, "hand takes the handle at", &mut pull.handle);
    }
}

fn bundle(ui: &mut Ui, desk: &mut Desk, bundle: &mut Option<Bundle>) {
    let usual = Bundle { name: "bundle".into(), bend_mm: 60.0 };
    given(ui, desk, "tied into a bundle", usual, bundle);
    if let Some(bundle) = bundle {
        fields::words(ui, desk, "bundle", &mut bundle.name, "what the workshop calls it");
        fields::length(ui, desk, "its bend radius", &mut bundle.bend_mm);
    }
}

/// The clips that a line goes through, from exit to pump.
fn clips(ui: &mut Ui, desk: &mut Desk, layout: &Layout, line: &mut Line) -> Option<Extra> {
    let mut gone = None;
    let new_place = new_place(desk, line);
    let clips = &mut line.clips;
    for (index, clip) in clips.iter_mut().enumerate() {
        ui.push_id(("clip", index), |ui| {
            ui.horizontal(|ui| {
                fields::label(ui, desk, &format!("clip {} at", index + 1));
                ComboBox::from_id_salt("anchor")
                    .width(150.0)
                    .truncate()
                    .selected_text(clip.anchor.as_str())
                    .show_ui(ui, |ui| {
                        for anchor in &layout.anchors {
                            let name = anchor.name.clone();
                            ui.selectable_value(&mut clip.anchor, name, &anchor.name);
                        }
                    });
                if ui.button("✖").on_hover_text("Take this clip out").clicked() {
                    gone = Some(index);
                }
            });
            fields::direction(ui, desk, "runs", &mut clip.towards);
            ui.horizontal(|ui| {
                fields::label(ui, desk, "at");
                let now = clip.spot.clone().unwrap_or_else(|| "every spot".into());
                ComboBox::from_id_salt("spot").width(170.0).truncate().selected_text(now).show_ui(
                    ui,
                    |ui| {
                        ui.selectable_value(&mut clip.spot, None, "every spot");
                        for spot in &layout.spots {
                            let name = Some(spot.name.clone());
                            ui.selectable_value(&mut clip.spot, name, &spot.name);
                        }
                    },
                );
            });
        });
    }
    if let Some(index) = gone {
        clips.remove(index);
    }
    let (mut extra, way) = (None, way_between(&line.from.at, &new_place.at));
    let clips = &mut line.clips;
    let tip = "A clip sits on an anchor: at a place not measured yet, or on one that is";
    ui.menu_button("Add a clip", |ui| {
        if ui.button("At a new place").clicked() {
            extra = Some(Extra::ClipAt(new_place.clone(), clip_on(&new_place.name, &way)));
        }
        // What holds the pump in a spot has its nut on it.
        let holds = |name: &str| {
            layout.spots.iter().flat_map(|spot| &spot.fixings).any(|fixing| fixing.anchor == name)
        };
        let far = |anchor: &Anchor| (anchor.at - new_place.at).norm();
        let mut free: Vec<&Anchor> =
            layout.anchors.iter().filter(|anchor| !holds(&anchor.name)).collect();
        free.sort_by(|a, b| far(a).total_cmp(&far(b)));
        for anchor in free.into_iter().take(MOST_PLACES) {
            let words = format!("On {} ({})", anchor.name, anchor.kind.words());
            if ui.button(words).clicked() {
                clips.push(clip_on(&anchor.name, &way));
            }
        }
    })
    .response
    .on_hover_text(tip);
    extra
}

/// Most anchors that are offered for a clip, the nearest first.
const MOST_PLACES: usize = 12;

fn clip_on(anchor: &str, way: &Vector) -> LineClip {
    LineClip { anchor: anchor.to_string(), towards: *way, spot: None }
}

/// The axis of the car that a line from one point to another runs along most.
fn way_between(from: &Point, to: &Point) -> Vector {
    let by = to - from;
    let axis = by.iamax();
    let mut way = Vector::zeros();
    way[axis] = if by[axis] < 0.0 { -1.0 } else { 1.0 };
    way
}

/// A place for a clip half way between exit and pump, to be typed over.
fn new_place(desk: &Desk, line: &Line) -> Anchor {
    let pose = desk.document.spot().place.pose();
    let port = desk.document.pump().ports.iter().find(|port| port.name == line.to);
    let end = port.map_or(line.from.at, |port| pose * port.at);
    let half = Point::from((line.from.at.coords + end.coords) / 2.0);
    Anchor {
        name: format!("clip place of {}", line.name),
        kind: AnchorKind::Hole { diameter_mm: 6.5 },
        at: half.map(|value| (value / 10.0).round() * 10.0 + 0.0),
        normal: Vector::z(),
        strength_n: 50.0,
        free_mm: None,
        hot_c: None,
        inside_mm: None,
        option: None,
    }
}

/// A box that says whether something was given; `usual` when it is ticked.
fn given<T>(ui: &mut Ui, desk: &Desk, title: &str, usual: T, value: &mut Option<T>) {
    let mut is = value.is_some();
    if ui.checkbox(&mut is, fields::faint(desk, title)).changed() {
        *value = is.then_some(usual);
    }
}
