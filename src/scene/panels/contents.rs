//! The left panel: what is in the boot, what is fitted, what is drawn, where water stands.

use bevy::winit::EventLoopProxyWrapper;
use bevy_egui::egui::{
    Align, Checkbox, CollapsingHeader, Color32, ComboBox, Frame, Label, Layout, Margin, Panel,
    RichText, ScrollArea, Sense, Slider, Ui, Vec2,
};

use super::number::Number;
use super::{Desk, heading};
use crate::checks::water::DrainState;
use crate::model::{Point, Role};
use crate::scene::thing::Kind;
use crate::scene::view::Tab;
use crate::scene::{figures, theme};
use crate::units::MM_PER_INCH;

/// Width of the panel, points.
const WIDTH: f32 = 250.0;

/// The left panel.
pub(crate) fn show(root: &mut Ui, desk: &mut Desk, wake: Option<&EventLoopProxyWrapper>) {
    let frame = Frame::new().fill(desk.palette.sheet).inner_margin(Margin {
        left: 12,
        right: 4,
        top: 8,
        bottom: 8,
    });
    Panel::left("contents").frame(frame).resizable(false).exact_size(WIDTH).show(root, |ui| {
        ui.horizontal(|ui| {
            for (tab, words, tip) in [
                (Tab::Boot, "In the boot", "What is there, and how it is drawn"),
                (Tab::Measure, "Measure in", "Add and change things; what isn't measured yet"),
            ] {
                let here = desk.view.tab == tab;
                if ui.selectable_label(here, words).on_hover_text(tip).clicked() {
                    desk.view.tab = tab;
                    desk.view.form = None;
                }
            }
        });
        ScrollArea::vertical().auto_shrink([false, false]).show(ui, |ui| {
            ui.set_width(WIDTH - 30.0);
            if desk.view.import.is_some() && desk.view.tab == Tab::Measure {
                super::import::show(ui, desk, wake);
                return;
            }
            if desk.view.tab == Tab::Measure {
                super::measure::show(ui, desk);
                return;
            }
            options(ui, desk);
            layers(ui, desk);
            super::tools::section(ui, desk);
            super::tools::measuring(ui, desk);
            water(ui, desk);
            super::movers::show(ui, desk);
            bodies(ui, desk);
        });
    });
}

fn options(ui: &mut Ui, desk: &mut Desk) {
    if desk.document.layout().options.is_empty() {
        return;
    }
    heading(ui, &desk.palette, "Fitted to this car");
    let mut fitted = desk.document.boot().fitted().to_vec();
    let busy = desk.scores.preparing_boot();
    let mut asked = None;
    for option in &desk.document.layout().options {
        let mut ticked = fitted.contains(&option.name);
        let words = figures::capital(&option.name);
        let tick = ui.add_enabled(!busy, Checkbox::new(&mut ticked, words));
        let about = if option.about.is_empty() { &option.name } else { &option.about };
        if tick.on_hover_text(about).changed() {
            fitted.retain(|name| *name != option.name);
            if ticked {
                fitted.push(option.name.clone());
            }
            asked = Some(fitted.clone());
        }
    }
    if let Some(options) = asked {
        desk.scores.fit_options(options);
        desk.view.say(format!("{} with these options", super::MAKING_READY));
    }
}

fn layers(ui: &mut Ui, desk: &mut Desk) {
    heading(ui, &desk.palette, "Drawn");
    let layers = &mut desk.view.layers;
    let usual: [(&mut bool, &str, &str); 9] = [
        (&mut layers.trims, "Carpet and boards", "The surfaces that must go back where they were"),
        (&mut layers.water, "Standing water", "Water where it would stand, for the case below"),
        (&mut layers.drains, "Drains and leaks", "Drain holes and the places where water comes in"),
        (&mut layers.lines, "Hoses and cables", "Every line as routed to the pump"),
        (
            &mut layers.anchors,
            "Anchors and fixings",
            "Places that can hold, and what holds the pump",
        ),
        (&mut layers.gaps, "Closest gaps", "The nearest bodies with the room that is left"),
        (
            &mut layers.see_through,
            "Clear view of the pump",
            "What stands before the pump is drawn clear",
        ),
        (
            &mut layers.lift,
            "Lift as a map",
            "Where the pump pushes carpet or board out: amber within its give, red beyond",
        ),
        (&mut layers.bends, "Tightest bends", "Where each line bends most, with its radius"),
    ];
    for (on, words, tip) in usual {
        ui.checkbox(on, words).on_hover_text(tip);
    }
    let more: [(&mut bool, &str, &str); 6] = [
        (&mut layers.rests, "Rests", "Where the pump rests, and the way that each rest pushes it"),
        (
            &mut layers.rock,
            "Shaken until it moves",
            "How hard it can be shaken each way: 60 mm for 1 g; the red bar is the weakest way",
        ),
        (
            &mut layers.loads,
            "Loads on fixings",
            "What each fixing and rest takes in a load case, as arrows",
        ),
        (
            &mut layers.cut_outs,
            "Where to cut trim",
            "What would have to be cut out of carpet or board for it to go back, dashed",
        ),
        (
            &mut layers.swept,
            "Room of moving parts",
            "The space that lid, hinges, roof and tray go through",
        ),
        (&mut layers.ghosts, "Other spots", "The pump as the other spots have it, faintly"),
    ];
    let open = more.iter().any(|(on, ..)| **on);
    CollapsingHeader::new("More to draw").default_open(open).show(ui, |ui| {
        for (on, words, tip) in more {
            ui.checkbox(on, words).on_hover_text(tip);
        }
    });
    if desk.view.layers.loads {
        super::tools::loads(ui, desk);
    }
    ui.horizontal(|ui| {
        let inches = desk.view.inches;
        let scale = if inches { MM_PER_INCH } else { 1.0 };
        ui.label("Stand-off when dragged");
        let (unit, decimals) = if inches { ("in", 2) } else { ("mm", 0) };
        let number = Number {
            name: "the stand-off",
            unit,
            with_unit: true,
            range: 0.0..=200.0 / scale,
            decimals,
            speed: 0.2 / scale,
            size: Vec2::new(54.0, 22.0),
        };
        let (response, typed) = number.show(ui, desk.view, desk.view.stand_off_mm / scale);
        response.on_hover_text("Room between the pump and the surface it is dragged over");
        if let Some(room) = typed {
            desk.view.stand_off_mm = room * scale;
        }
    });
}

fn water(ui: &mut Ui, desk: &mut Desk) {
    let boot = desk.document.boot().clone();
    let cases = boot.water();
    let Some(now) = cases.get(desk.view.water_case).or(cases.first()) else { return };
    heading(ui, &desk.palette, "Water would stand");
    let drains = &desk.document.layout().drains;
    let drain_words = |state: DrainState| match state {
        DrainState::AsFound => "drains as found".to_string(),
        DrainState::OneBlocked(index) => {
            format!("{} blocked", drains.get(index).map_or("one drain", |drain| &drain.name))
        }
        DrainState::AllBlocked => "all drains blocked".to_string(),
    };
    let (mut state, mut slope) = (now.drains, now.slope.words);
    let wide = ui.available_width() - 4.0;
    ComboBox::from_id_salt("drains")
        .width(wide)
        .truncate()
        .selected_text(figures::capital(&drain_words(state)))
        .show_ui(ui, |ui| {
            let mut known: Vec<DrainState> = Vec::new();
            for case in cases {
                if !known.contains(&case.drains) {
                    known.push(case.drains);
                    let words = figures::capital(&drain_words(case.drains));
                    ui.selectable_value(&mut state, case.drains, words);
                }
            }
        });
    ComboBox::from_id_salt("slope")
        .width(wide)
        .truncate()
        .selected_text(figures::capital(slope))
        .show_ui(ui, |ui| {
            for case in cases.iter().filter(|case| case.drains == now.drains) {
                ui.selectable_value(
                    &mut slope,
                    case.slope.words,
                    figures::capital(case.slope.words),
                );
            }
        });
    let wanted = cases.iter().position(|case| case.drains == state && case.slope.words == slope);
    if let Some(case) = wanted {
        if desk.view.water_case != case {
            desk.view.slope = None;
        }
        desk.view.water_case = case;
    }
    own_slope(ui, desk);
    worst_case(ui, desk);
}

/// Any slope, by two sliders.
fn own_slope(ui: &mut Ui, desk: &mut Desk) {
    let mut own = desk.view.slope.is_some();
    let tip = "Water on any slope, with the drains chosen above; worked out beside the frames";
    if ui.checkbox(&mut own, "Another slope").on_hover_text(tip).changed() {
        desk.view.slope = own.then_some((0.0, 0.0));
    }
    if let Some((along, across)) = &mut desk.view.slope {
        ui.spacing_mut().slider_width = 90.0;
        ui.add(slope_slider(along).text("along")).on_hover_text("Above 0 its nose is up");
        ui.add(slope_slider(across).text("across")).on_hover_text("Above 0 its left side is up");
    }
}

fn slope_slider(value: &mut f64) -> Slider<'_> {
    Slider::new(value, -30.0..=30.0).max_decimals(0).suffix(" %")
}

/// The case that brings water nearest to the pump, one click away; and the reservoir.
fn worst_case(ui: &mut Ui, desk: &mut Desk) {
    let spot = desk.document.current();
    let worst = desk.scores.of(spot).and_then(|landed| landed.card.drawn.water.clone());
    ui.horizontal(|ui| {
        if let Some(worst) = worst {
            let far = figures::length(worst.freeboard_mm.abs(), desk.view.inches);
            let side = if worst.freeboard_mm < 0.0 { "under" } else { "over" };
            let tip = format!("{} is {far} {side} the water there", figures::capital(&worst.part));
            if ui.button("Worst case").on_hover_text(tip).clicked() {
                desk.view.slope = None;
                desk.view.water_case = worst.case;
                desk.view.layers.water = true;
                let words = format!("{}: {far} {side} the water", worst.part);
                desk.view.point_at(worst.at, &words, desk.now_s);
                desk.orbit.go_to(&worst.at);
            }
        }
        let tip = "The reservoir cut open, with the fluid's surface in every case";
        if ui.selectable_label(desk.view.tank, "Reservoir").on_hover_text(tip).clicked() {
            desk.view.tank = !desk.view.tank;
        }
    });
}

fn bodies(ui: &mut Ui, desk: &mut Desk) {
    let boot = desk.document.boot().clone();
    heading(ui, &desk.palette, "In the boot");
    for role in Role::ALL {
        let of_role: Vec<_> = boot.bodies().filter(|(body, _)| body.role == role).collect();
        if of_role.is_empty() {
            continue;
        }
        let names: Vec<String> = of_role.iter().map(|(body, _)| body.name.clone()).collect();
        group(ui, desk, plural(role), &names, |ui, desk| {
            for (body, solid) in &of_role {
                let colour = theme::body_colour(body.role, body.option.is_some());
                let tip = match (&body.option, body.note.as_str()) {
                    (Some(option), "") => format!("Only with {option}"),
                    (Some(option), note) => format!("Only with {option}. {note}"),
                    (None, note) => note.to_string(),
                };
                let middle = solid.bounds().centre();
                thing(ui, desk, &body.name, &tip, colour, Some(middle));
            }
        });
    }
    let trims: Vec<String> = boot.trims().map(|(trim, _)| trim.name.clone()).collect();
    if !trims.is_empty() {
        group(ui, desk, "Carpet and boards", &trims, |ui, desk| {
            for (trim, sheet) in boot.trims() {
                let middle = sheet.bounds().map(|bounds| bounds.centre());
                thing(ui, desk, &trim.name, "", theme::trim_colour(trim.kind), middle);
            }
        });
    }
}

fn group(
    ui: &mut Ui,
    desk: &mut Desk,
    words: &str,
    names: &[String],
    each: impl FnOnce(&mut Ui, &mut Desk),
) {
    let shown = names.iter().filter(|name| !desk.view.hidden.contains(*name)).count();
    let title = if shown == names.len() {
        format!("{words} ({shown})")
    } else {
        format!("{words} ({shown} of {})", names.len())
    };
    CollapsingHeader::new(title).id_salt(words).show(ui, |ui| {
        let mut all = shown == names.len();
        let mut faint = names.iter().all(|name| desk.view.faded.contains(name));
        ui.horizontal(|ui| {
            if ui.checkbox(&mut all, "All").on_hover_text("Show or hide all of them").changed() {
                for name in names {
                    if all {
                        desk.view.hidden.remove(name);
                    } else {
                        desk.view.hidden.insert(name.clone());
                    }
                }
            }
            if ui.checkbox(&mut faint, "Faint").on_hover_text("Draw them clear").changed() {
                for name in names {
                    if faint {
                        desk.view.faded.insert(name.clone());
                    } else {
                        desk.view.faded.remove(name);
                    }
                }
            }
        });
        each(ui, desk);
    });
}

/// A line with a tick that shows or hides a thing, and its name, which leads the eye to it.
pub(crate) fn thing(
    ui: &mut Ui,
    desk: &mut Desk,
    name: &str,
    tip: &str,
    colour: Color32,
    at: Option<Point>,
) {
    ui.horizontal(|ui| {
        let mut shown = !desk.view.hidden.contains(name);
        if ui.checkbox(&mut shown, "").on_hover_text("Show or hide").changed() {
            if shown {
                desk.view.hidden.remove(name);
            } else {
                desk.view.hidden.insert(name.to_string());
            }
        }
        let (rect, _) = ui.allocate_exact_size(Vec2::splat(11.0), Sense::hover());
        ui.painter().rect_filled(rect, 2.0, colour);
        ui.with_layout(Layout::left_to_right(Align::Center), |ui| {
            let words = RichText::new(figures::capital(name)).size(13.0);
            let sense = if at.is_some() { Sense::click() } else { Sense::hover() };
            let label = ui.add(Label::new(words).truncate().sense(sense));
            let label = if tip.is_empty() { label } else { label.on_hover_text(tip) };
            if label.double_clicked() {
                edit(desk, name);
            }
            if let Some(at) = at.filter(|_| label.clicked()) {
                desk.view.point_at(at, name, desk.now_s);
                desk.orbit.go_to(&at);
            }
        });
    });
}

/// Opens the form of the body, trim or moving part of that name.
fn edit(desk: &mut Desk, name: &str) {
    let layout = desk.document.layout();
    let body = layout.bodies.iter().position(|thing| thing.name == name);
    let trim = layout.trims.iter().position(|thing| thing.name == name);
    let mover = layout.movers.iter().position(|thing| thing.name == name);
    let found = body
        .map(|index| (Kind::Body, index))
        .or(trim.map(|index| (Kind::Trim, index)))
        .or(mover.map(|index| (Kind::Mover, index)));
    if let Some((kind, index)) = found {
        super::form::open(desk, kind, index);
    }
}

fn plural(role: Role) -> &'static str {
    match role {
        Role::Floor => "Floors",
        Role::Panel => "Panels",
        Role::WheelArch => "Wheel arches",
        Role::Bulkhead => "Bulkheads",
        Role::Bracket => "Brackets",
        Role::Module => "Modules",
        Role::Battery => "Battery",
        Role::Terminal => "Terminals",
        Role::Loom => "Looms",
        Role::Other => "Other things",
    }
}
