//! Clicking and typing as a user does: the panels' widgets by their labels, boxes by their place.

use std::sync::{Arc, Mutex};

use bevy::ecs::query::With;
use bevy::ecs::world::World;
use bevy::input::ButtonState;
use bevy::input::keyboard::{Key, KeyCode, KeyboardInput};
use bevy::input::mouse::{MouseScrollUnit, MouseWheel};
use bevy::input::touch::TouchPhase;
use bevy::window::WindowEvent;
use bevy_egui::egui::{self, Pos2, Rect};
use bevy_egui::{EguiContext, PrimaryEguiContext};
use dryberth::scene::{Orbit, View};

use super::{Progress, Script, key, left_button, move_to, settled, tap, window};

/// The panels' own state.
pub(crate) fn panels(world: &mut World) -> egui::Context {
    let mut found = world.query_filtered::<&mut EguiContext, With<PrimaryEguiContext>>();
    found.single_mut(world).unwrap().get_mut().clone()
}

/// Where the widgets are that have a label, as drawn last, from top to bottom; needs
/// [`Script::see_widgets`].
pub(crate) fn widgets(world: &mut World, label: &str) -> Vec<Rect> {
    let screen = panels(world).viewport_rect();
    let mut found = panels(world).viewport(|viewport| {
        let widgets = &viewport.prev_pass.widgets;
        widgets
            .layers()
            .flat_map(|(_, all)| all)
            .filter(|widget| widgets.info(widget.id).is_some_and(|info| called(info, label)))
            .map(|widget| widget.interact_rect)
            .filter(|rect| rect.is_positive() && screen.contains_rect(*rect))
            .collect::<Vec<_>>()
    });
    found.sort_by(|a, b| (a.min.y, a.min.x).partial_cmp(&(b.min.y, b.min.x)).unwrap());
    found.dedup();
    found
}

/// Whether a widget is told by this label; a list that is shut, by what is chosen in it.
fn called(info: &egui::WidgetInfo, label: &str) -> bool {
    let chosen =
        info.typ == egui::WidgetType::ComboBox && info.current_text_value.as_deref() == Some(label);
    // `Bodies (*)` stands for `Bodies (7)`, however many there are.
    let counted = |stem: &str| {
        info.label.as_deref().is_some_and(|said| said.starts_with(stem) && said.ends_with(')'))
    };
    chosen || info.label.as_deref() == Some(label) || label.strip_suffix("*)").is_some_and(counted)
}

/// Turns the wheel over the left panel towards a widget with this label that is out of sight.
fn scroll_to(world: &mut World, label: &str) {
    let picture = world.resource::<Orbit>().rect;
    let at = Pos2::new(picture.left() / 2.0, 400.0);
    let above = panels(world).viewport(|viewport| {
        let widgets = &viewport.prev_pass.widgets;
        widgets
            .layers()
            .flat_map(|(_, all)| all)
            .filter(|widget| widgets.info(widget.id).is_some_and(|info| called(info, label)))
            .map(|widget| widget.rect.center().y < at.y)
            .next()
    });
    let Some(above) = above else { return };
    move_to(world, at);
    let wheel = MouseWheel {
        unit: MouseScrollUnit::Pixel,
        x: 0.0,
        y: if above { 120.0 } else { -120.0 },
        window: window(world),
        phase: TouchPhase::Moved,
    };
    world.write_message(WindowEvent::MouseWheel(wheel));
    world.write_message(wheel);
}

/// The boxes for numbers inside a part of the window, row by row.
pub(crate) fn number_boxes(world: &mut World, within: Rect) -> Vec<Rect> {
    let mut found = panels(world).viewport(|viewport| {
        let widgets = &viewport.prev_pass.widgets;
        widgets
            .layers()
            .flat_map(|(_, all)| all)
            .filter(|widget| {
                widgets.info(widget.id).is_some_and(|info| info.typ == egui::WidgetType::DragValue)
            })
            .map(|widget| widget.interact_rect)
            .filter(|rect| rect.is_positive() && within.contains_rect(*rect))
            .collect::<Vec<_>>()
    });
    found.sort_by(|a, b| {
        (a.min.y.round(), a.min.x).partial_cmp(&(b.min.y.round(), b.min.x)).unwrap()
    });
    found.dedup();
    found
}

fn typed(world: &mut World, text: &str) {
    for letter in text.chars() {
        let pressed = KeyboardInput {
            key_code: KeyCode::KeyA,
            logical_key: Key::Character(letter.to_string().into()),
            state: ButtonState::Pressed,
            text: Some(letter.to_string().into()),
            repeat: false,
            window: window(world),
        };
        world.write_message(WindowEvent::KeyboardInput(pressed.clone()));
        world.write_message(pressed);
    }
}

/// egui tells where its widgets are only where assertions are built in.
fn mark_widgets(panels: &egui::Context, mark: bool) {
    #[cfg(debug_assertions)]
    panels.all_styles_mut(|style| style.debug.show_interactive_widgets = mark);
    #[cfg(not(debug_assertions))]
    let _ = panels;
    #[cfg(not(debug_assertions))]
    assert!(!mark, "the panels are clicked in the dev profile only, not with --release");
}

impl Script {
    /// Makes the panels say where their widgets are.
    pub(crate) fn see_widgets(&mut self) {
        self.act("seeing where the widgets are", |world| {
            let panels = panels(world);
            mark_widgets(&panels, true);
            // On a loaded machine seconds may pass from one frame to the next.
            panels.options_mut(|options| options.input_options.max_click_duration = 60.0);
        });
    }

    /// No longer, so that a picture has no marks of it.
    pub(crate) fn hide_widgets(&mut self) {
        self.act("hiding the marks", |world| {
            mark_widgets(&panels(world), false);
        });
    }

    /// Waits for a widget with this label, and clicks the `nth` one from the top.
    pub(crate) fn click_nth(&mut self, label: &'static str, nth: usize) {
        let at: Arc<Mutex<Option<Pos2>>> = Arc::default();
        let (seen, frames) = (Arc::clone(&at), Mutex::new(0));
        self.step(format!("finding “{label}”"), move |world| {
            let mut frames = frames.lock().unwrap();
            *frames += 1;
            let found = widgets(world, label);
            if found.len() <= nth && *frames % 4 == 0 {
                scroll_to(world, label);
            }
            match found.get(nth) {
                // Two frames, so that what moves has come to rest.
                Some(rect) if *seen.lock().unwrap() == Some(rect.center()) => {
                    move_to(world, rect.center());
                    Progress::Done
                }
                found => {
                    *seen.lock().unwrap() = found.map(|rect| rect.center());
                    assert!(*frames < 400, "there is no “{label}” to click");
                    Progress::Wait
                }
            }
        });
        self.press_at(move || at.lock().unwrap().unwrap());
    }

    /// Clicks the only widget with this label, or the topmost.
    pub(crate) fn click(&mut self, label: &'static str) {
        self.click_nth(label, 0);
    }

    /// Clicks somewhere.
    pub(crate) fn press_at(&mut self, at: impl Fn() -> Pos2 + Send + Sync + Clone + 'static) {
        let (first, second) = (at.clone(), at);
        self.act("the pointer goes there", move |world| move_to(world, first()));
        self.act("it presses", move |world| {
            move_to(world, second());
            left_button(world, ButtonState::Pressed);
        });
        self.act("it lets go", |world| left_button(world, ButtonState::Released));
        self.pause(3);
    }

    /// Lets some frames pass.
    pub(crate) fn pause(&mut self, frames: u32) {
        let mut passed = 0;
        self.step("some frames", move |_| {
            passed += 1;
            if passed > frames { Progress::Done } else { Progress::Wait }
        });
    }

    /// Types into whatever has the keyboard.
    pub(crate) fn write(&mut self, text: impl Into<String>) {
        let text = text.into();
        self.act("typing", move |world| typed(world, &text));
        self.pause(2);
    }

    /// Presses a key.
    pub(crate) fn tap(&mut self, code: KeyCode, logical: Key) {
        self.act(format!("{logical:?}"), move |world| tap(world, code, &logical));
        self.pause(3);
    }

    /// Presses Tab, or Shift and Tab, until the widget with this label has the keyboard.
    pub(crate) fn tab_to(&mut self, label: &'static str, back: bool) {
        let mut frames = 0;
        self.step(format!("Tab to “{label}”"), move |world| {
            let panels = panels(world);
            let focused = panels.memory(|memory| memory.focused());
            let has = focused.is_some_and(|focused| {
                panels.viewport(|viewport| {
                    let info = viewport.prev_pass.widgets.info(focused);
                    info.is_some_and(|info| called(info, label))
                })
            });
            if has {
                key(world, KeyCode::ShiftLeft, Key::Shift, ButtonState::Released);
                return Progress::Done;
            }
            assert!(frames < 500, "Tab doesn't lead to “{label}”");
            // Seen a frame later.
            if frames % 2 == 0 {
                if back {
                    key(world, KeyCode::ShiftLeft, Key::Shift, ButtonState::Pressed);
                }
                tap(world, KeyCode::Tab, &Key::Tab);
            } else if back {
                key(world, KeyCode::ShiftLeft, Key::Shift, ButtonState::Released);
            }
            frames += 1;
            Progress::Wait
        });
    }

    /// Types a number into the `nth` box of a part of the window.
    pub(crate) fn number(&mut self, within: fn(&mut World) -> Rect, nth: usize, text: &str) {
        let at: Arc<Mutex<Pos2>> = Arc::default();
        let found = Arc::clone(&at);
        self.step(format!("finding the box for {text}"), move |world| {
            let part = within(world);
            let boxes = number_boxes(world, part);
            let Some(rect) = boxes.get(nth) else { return Progress::Wait };
            *found.lock().unwrap() = rect.center();
            Progress::Done
        });
        self.press_at(move || *at.lock().unwrap());
        self.write(text);
        self.tap(KeyCode::Enter, Key::Enter);
    }

    /// Closes the cautions that a window opens with.
    pub(crate) fn past_the_cautions(&mut self) {
        self.until("the figures land", settled);
        self.see_widgets();
        self.click("Understood");
        self.until("the cautions are closed", |world| !world.resource::<View>().cautions);
    }

    /// Puts the pointer over the middle of the picture, where keys move the pump.
    pub(crate) fn over_the_picture(&mut self) {
        for off in [4.0, 0.0] {
            self.act("the pointer goes over the picture", move |world| {
                let rect = world.resource::<Orbit>().rect;
                let corner = rect.left_bottom() + egui::vec2(rect.width() * 0.5, -60.0 - off);
                move_to(world, corner);
            });
            self.pause(2);
        }
    }
}
