//! Another layout opened in the same window, read and made ready beside the frames.

use std::path::{Path, PathBuf};

use bevy::prelude::{App, IntoScheduleConfigs, Res, ResMut, Resource, Single, Update, With};
use bevy::window::{PrimaryWindow, Window};
use bevy::winit::EventLoopProxyWrapper;

use super::beside::{Broken, Slot, beside_the_frames};
use super::chances::Chances;
use super::document::Document;
use super::keeper::{self, Keeper};
use super::orbit::Orbit;
use super::scores::{ScoreSystems, Scores};
use super::view::{Start, Tab, View};
use crate::checks::Boot;
use crate::format::{self, LayoutFile, Opened};
use crate::model::{Layout, Point, Role, SCHEMA, Shape, Viewpoint};
use crate::scene::thing::body;

/// A layout with its boot, or why there is none.
type Ready = Result<(Opened, Boot), String>;

/// The layout that is being opened.
#[derive(Resource, Default)]
pub(crate) struct Opening {
    wanted: Option<PathBuf>,
    slot: Option<Slot<Ready>>,
    /// It was measured in before.
    known: bool,
    /// What is unsaved in the layout open until then is given up.
    leave: bool,
}

impl Opening {
    /// Opens the layout of a new boot when the next frame begins.
    pub(crate) fn open(&mut self, path: PathBuf) {
        (self.wanted, self.known, self.leave) = (Some(path), false, false);
    }

    /// Opens the layout at a path when the next frame begins; `leave` gives up what is unsaved.
    pub(crate) fn open_known(&mut self, path: PathBuf, leave: bool) {
        (self.wanted, self.known, self.leave) = (Some(path), true, leave);
    }

    /// Whether one is being opened.
    pub(crate) fn busy(&self) -> bool {
        self.wanted.is_some() || self.slot.is_some()
    }
}

pub(crate) fn plugin(app: &mut App) {
    app.init_resource::<Opening>().add_systems(Update, open.before(ScoreSystems));
}

fn open(
    mut opening: ResMut<Opening>,
    mut document: ResMut<Document>,
    (mut scores, mut chances): (ResMut<Scores>, ResMut<Chances>),
    mut view: ResMut<View>,
    mut orbit: ResMut<Orbit>,
    mut keeper: ResMut<Keeper>,
    window: Option<Single<&mut Window, With<PrimaryWindow>>>,
    wake: Option<Res<EventLoopProxyWrapper>>,
) {
    if let Some(path) = opening.wanted.take() {
        opening.slot = Some(beside_the_frames(wake.as_deref(), move || read(&path)));
    }
    let Some(done) = opening.slot.as_ref().and_then(Slot::take) else { return };
    opening.slot = None;
    match done {
        Ok(Ok((opened, boot))) => {
            let fresh = View::of(&boot, view.dark);
            let tab = if opening.known { Tab::Boot } else { Tab::Measure };
            let inches = view.inches;
            if opening.leave {
                keeper.close(&document);
            }
            *view = View { inches, tab, cautions: false, ..fresh };
            let bounds = boot.bodies().map(|(_, solid)| *solid.bounds()).reduce(|a, b| a.with(&b));
            let rect = orbit.rect;
            *orbit = Orbit::seeing(bounds, true);
            orbit.set_rect(rect);
            document.go_on_with(opened, boot);
            scores.forget();
            chances.forget();
            keeper.forget();
            view.recovered = keeper::journal(&document).find().map(Box::new);
            if let Some(mut window) = window {
                window.title = format!("Dryberth: {}", document.layout().name);
            }
            view.say(if opening.known {
                format!("Opened {}", document.layout().name)
            } else {
                "Opened; the list on the left says what to measure next".to_string()
            });
        }
        Ok(Err(why)) => view.warn(why),
        Err(Broken(why)) => view.panic = Some(why),
    }
}

fn read(path: &Path) -> Ready {
    let opened = format::open(path).map_err(|error| error.to_string())?;
    let fitted = Boot::usual_options(&opened.layout);
    let boot = opened.boot(&fitted).map_err(|error| error.to_string())?;
    Ok((opened, boot))
}

/// Makes the file of a new boot: a floor and four walls of the lengths typed, the viewpoint of
/// somebody who stands behind the car, and no spot yet. Gives its path.
///
/// # Errors
/// Why it can't be made, in a sentence.
pub(crate) fn begin(start: &Start, folder: &Path) -> Result<PathBuf, String> {
    let name = start.file.trim();
    if name.is_empty() || name.contains(['/', '\\']) {
        return Err("A file name is needed, without a folder".into());
    }
    if start.name.trim().is_empty() {
        return Err("The model needs a name".into());
    }
    if start.origin.trim().is_empty() {
        return Err(
            "Say in words which point the origin is: the next one must find it again".into()
        );
    }
    for (what, value) in [
        ("The floor's length", start.long_mm),
        ("The floor's width", start.wide_mm),
        ("The height", start.high_mm),
    ] {
        if !(50.0..=5_000.0).contains(&value) {
            return Err(format!("{what} is {value:.0} mm; 50 to 5000 mm are taken"));
        }
    }
    let ending = if name.ends_with(".ron") { "" } else { ".ron" };
    let path = folder.join(format!("{name}{ending}"));
    let file = LayoutFile::create(&path, &new_layout(start)).map_err(|error| error.to_string())?;
    Ok(file.path().unwrap_or(&path).to_path_buf())
}

/// Thickness of sheet as drawn, mm; nothing is computed from it but that it is there.
const SHEET_MM: f64 = 6.0;

fn new_layout(start: &Start) -> Layout {
    let (long, half, high) = (start.long_mm, start.wide_mm / 2.0, start.high_mm);
    let sheet = |from: (f64, f64, f64), to: (f64, f64, f64)| Shape::Box {
        from: Point::new(from.0, from.1, from.2),
        to: Point::new(to.0, to.1, to.2),
    };
    let low = -SHEET_MM;
    let floor = sheet((0.0, -half, low), (long, half, 0.0));
    let mut bodies = vec![body("floor", Role::Floor, floor)];
    if start.sill_mm > 1.0 {
        let sill = sheet((-40.0, -half, low), (0.0, half, start.sill_mm));
        bodies.push(body("rear sill", Role::Panel, sill));
    }
    for (side, name) in [(1.0, "quarter panel, left"), (-1.0, "quarter panel, right")] {
        let (a, b) = (side * half, side * (half + SHEET_MM));
        let panel = sheet((-40.0, a.min(b), low), (long + SHEET_MM, a.max(b), high));
        bodies.push(body(name, Role::Panel, panel));
    }
    let bulkhead = sheet((long, -half, low), (long + SHEET_MM, half, high));
    bodies.push(body("bulkhead", Role::Bulkhead, bulkhead));
    Layout {
        schema: SCHEMA,
        name: start.name.trim().to_string(),
        origin: start.origin.trim().to_string(),
        pump: "pumps/two-line-unit.ron".into(),
        bodies,
        viewpoints: vec![Viewpoint {
            name: "standing behind the car".into(),
            at: Point::new(-600.0, 0.0, 1000.0),
        }],
        ..Layout::default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::evaluate;

    #[test]
    fn a_new_boot_is_sound_and_scored_at_once() {
        let folder = tempfile::tempdir().expect("a folder");
        let start = Start { name: "Test car".into(), ..Start::default() };
        let path = begin(&start, folder.path()).expect("it can be begun");
        let (opened, boot) = read(&path).expect("it can be opened");
        assert_eq!(opened.layout.bodies.len(), 5);
        let document = Document::new(opened, boot);
        let card = evaluate(document.boot(), document.spot());
        assert_eq!(card.headlines.len(), 5);
        assert!(begin(&start, folder.path()).is_err(), "never over another file");
        for wrong in [
            Start { name: " ".into(), ..start.clone() },
            Start { origin: String::new(), ..start.clone() },
            Start { file: "../x".into(), ..start.clone() },
            Start { long_mm: 0.0, file: "y".into(), ..start.clone() },
        ] {
            assert!(begin(&wrong, folder.path()).is_err(), "{wrong:?}");
        }
    }
}
