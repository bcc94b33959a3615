//! What each check means, where it comes from, and what to mind.

use bevy_egui::egui::{Context, RichText, ScrollArea};

use super::{Desk, dialog};
use crate::checks::HeadlineId;
use crate::scene::{figures, moves};

/// What is said about a check.
pub(crate) struct Meaning {
    /// The check's id.
    pub(crate) id: &'static str,
    /// What its figure is.
    pub(crate) means: &'static str,
    /// Where its method or limit comes from.
    pub(crate) source: &'static str,
    /// What to mind.
    pub(crate) mind: &'static str,
}

/// Every check that the program asks, and one for what it doesn't know yet.
pub(crate) const MEANINGS: &[Meaning] = &[
    Meaning {
        id: "slack",
        means: "How much of the line is left over when it runs from where the car holds it to the \
                pump, with straight ends and bends no tighter than allowed. Below zero it doesn't reach.",
        source: "Bend radius on the inside of the bend as EN 853 gives it; hoses up to 4 % shorter \
                 under pressure as SAE J1273 advises; straight ends of 1.5 diameters are a catalogue \
                 rule, from memory.",
        mind: "Let the pressure out before opening a line. A hose that is stretched pulls off its fitting.",
    },
    Meaning {
        id: "spare",
        means: "Length that hangs about when the line is in: it chafes, and it catches fingers and \
                luggage.",
        source: "Common practice, no source.",
        mind: "Clip what is left over where nothing moves or is hot.",
    },
    Meaning {
        id: "span",
        means: "The longest run of the line between two places that hold it: exit, clips, fitting.",
        source: "ISO 10133 practice, a support every 450 mm; taken for hoses too.",
        mind: "A long run swings, chafes and pulls at its fitting. One more clip mends it.",
    },
    Meaning {
        id: "release-pull",
        means: "How far the release cord pulls from its lever's own direction.",
        source: "The lever's cone as measured.",
        mind: "A lever pulled askew jams or slips off, on the day that it is needed. Try it before the \
               trim goes back.",
    },
    Meaning {
        id: "release-hand",
        means: "The thickest round thing that comes straight to the release's handle and valve, lid open \
                and trim out.",
        source: "EN 349 as a public page gives it: 100 mm for a fist, 25 mm for a finger.",
        mind: "Whoever frees the roof by hand does it at night, in the rain, for the first time.",
    },
    Meaning {
        id: "line-gap",
        means: "The smallest room between the line and what it passes.",
        source: "Common practice, no source: more to what is sharp, live or moves.",
        mind: "A hose on a sharp edge fails years later, when nobody looks.",
    },
    Meaning {
        id: "volts",
        means: "Share of the supply voltage that the feed cable loses while the pump runs.",
        source: "Conductor resistance of IEC 60228, class 5; 3 % as ISO 10133 practice has it.",
        mind: "Put the fuse close to the supply, and choose it for the cable.",
    },
    Meaning {
        id: "clearance",
        means: "The smallest gap between the pump and a body; below zero they overlap.",
        source: "Distance between the solids as measured. The gaps wanted are common practice, no source.",
        mind: "Keep sparks from the battery and don't block its vent.",
    },
    Meaning {
        id: "travel",
        means: "The smallest gap between the pump and a moving part over the whole of its travel.",
        source: "Bounded between the positions looked at, never just sampled.",
        mind: "Support the roof: it can fall. Keep fingers clear of moving parts.",
    },
    Meaning {
        id: "lift",
        means: "How far pump or lines push a carpet or a board out of the place it must go back to.",
        source: "Along the surface's normal; a board gives nothing, a carpet its own give.",
        mind: "A board that is pushed up is stepped on sooner or later.",
    },
    Meaning {
        id: "sight",
        means: "Whether the level line can be read from somewhere a person can put their head.",
        source: "A straight line of sight; common practice, no source.",
        mind: "Read the level with the roof as the car maker says, on level ground.",
    },
    Meaning {
        id: "seen",
        means: "The share of the pump's skin that shows with the trim in.",
        source: "Counted over about 750 points of the skin.",
        mind: "What is seen is also what luggage hits.",
    },
    Meaning {
        id: "space",
        means: "Luggage space that the pump takes.",
        source: "Volume inside the space as measured.",
        mind: "",
    },
    Meaning {
        id: "blocks",
        means: "Luggage blocks of 200 × 100 × 50 mm that no longer go in.",
        source: "ISO 3832 uses such blocks.",
        mind: "",
    },
    Meaning {
        id: "service",
        means: "How wide the straight way is that a hand and a bottle have to the filler.",
        source: "Looked for in 37 directions; 60 mm is common practice, no source.",
        mind: "Fill with the fluid that the car maker names, and nothing else.",
    },
    Meaning {
        id: "head",
        means: "How far the fluid's surface stands above the gear pump's inlet on that slope.",
        source: "The surface in the tank's real shape, found by root search on the clipped volume.",
        mind: "A pump that draws air foams, and the roof stops half way.",
    },
    Meaning {
        id: "pickup",
        means: "How deep the foot of the pickup lies below the fluid's surface.",
        source: "As for the fluid's surface.",
        mind: "A pump that draws air foams, and the roof stops half way.",
    },
    Meaning {
        id: "breather",
        means: "How far the breather stays above the fluid's surface.",
        source: "As for the fluid's surface.",
        mind: "Fluid on paint and trim leaves marks.",
    },
    Meaning {
        id: "tilt",
        means: "How far the pump leans.",
        source: "The pump maker's own limit, from the pump's file.",
        mind: "",
    },
    Meaning {
        id: "level-line",
        means: "How far the level line misreads because the unit leans.",
        source: "Fluid that the line says, against fluid that is there, at this attitude.",
        mind: "Mark the right level on the tank before the trim goes back.",
    },
    Meaning {
        id: "freeboard",
        means: "How far the lowest live part stands above the water that would lie there.",
        source: "Water fills the floor to where it spills over, with drains as found, each one blocked, \
                 and all blocked. 25 mm is common practice, no source.",
        mind: "Clean the drains all the same. Water under the pump is water in the car.",
    },
    Meaning {
        id: "drain",
        means: "How far a drain, as measured, lies from the nearest sheet of the floor.",
        source: "The bodies as measured; a drain in mid-air is taken as shut.",
        mind: "Measure it again: water finds the drain that is there, not the one that is drawn.",
    },
    Meaning {
        id: "floor",
        means: "Holes that the measured floor leaves open, with floor all round; they are taken as shut.",
        source: "The bodies as measured.",
        mind: "",
    },
    Meaning {
        id: "drips",
        means: "How far a leak's drips run past the pump.",
        source: "They fall to the first surface and follow its steepest slope.",
        mind: "Mend the leak; a shield is second best.",
    },
    Meaning {
        id: "anchors",
        means: "How many places that can hold are in reach of the pump's mounts.",
        source: "Common practice, no source.",
        mind: "Don't drill where tank, lines or looms lie behind.",
    },
    Meaning {
        id: "fixings",
        means: "How many of the spot's fixings reach their anchor, go in, have nothing in their way and stay on.",
        source: "Reach of bolts and ties from the layout's limits; a band's grip on a stud is common practice.",
        mind: "A tie pulled towards a stud's end needs a nut over it.",
    },
    Meaning {
        id: "fixing-length",
        means: "The longest fixing, from mount to anchor.",
        source: "Reach of bolts and ties from the layout's limits.",
        mind: "A long tie slackens; use a strap.",
    },
    Meaning {
        id: "shake",
        means: "The lowest frequency at which the pump rings on its fixings. Below 20 Hz rough roads shake it \
                far; what that takes off every gap counts against the clearance.",
        source: "Usual stiffnesses, or the frequency that tapping the fitted unit gives; the road as the \
                 body profile of ISO 16750-3. 20 Hz is common practice, no source.",
        mind: "What touches only when the road is bad rattles first and chafes later.",
    },
    Meaning {
        id: "tool",
        means: "How much room there is over the nut that a spanner gets to worst.",
        source: "Common practice, no source.",
        mind: "A bolt that can't be reached is a bolt that nobody tightens. Feet that stand flat on a bracket \
               leave no room for the rubber under them: raise the pump by the rubber's height, usually 10 to \
               15 mm.",
    },
    Meaning {
        id: "drill",
        means: "How far behind a hole that has to be drilled the next thing lies.",
        source: "The bodies as measured.",
        mind: "Don't drill where tank, lines or looms lie behind.",
    },
    Meaning {
        id: "load",
        means: "The share of a load that the fixings and rests can balance; 1 is all of it.",
        source: "A linear programme over bolts, one-way straps and rests; 0.9 g forward, 0.5 g back, \
                 0.7 g sideways, as published for light-vehicle cargo.",
        mind: "A pump that comes loose is a projectile. Ties count with half their loop strength.",
    },
];

const UNKNOWN: Meaning = Meaning {
    id: "",
    means: "The sentence beside the figure says what it is.",
    source: "See the developers' notes.",
    mind: "",
};

/// Words of forms that are not plain by themselves.
const WORDS: &[Meaning] = &[
    Meaning {
        id: "upstream",
        means: "Length of the feed cable from the battery or fuse box to where it comes into the boot, one \
                way. What lies in the boot is the free length.",
        source: "Measured along the cable, or along the sill where it runs.",
        mind: "The way back through the body counts as a second conductor of the same copper.",
    },
    Meaning {
        id: "joints",
        means: "Resistance of everything on the way that is not cable: battery, fuse, relay, crimps and \
                plugs together.",
        source: "3 mΩ is common practice for a sound loom, no source. Two readings at the plug, pump off \
                 and running, replace it.",
        mind: "A plug that has gone green has several times as much.",
    },
    Meaning {
        id: "conductor",
        means: "How warm the copper gets in use: warm copper resists more, 0.4 % for each degree.",
        source: "The temperature coefficient of copper; IEC 60228 gives resistances at 20 °C.",
        mind: "40 °C is a boot in summer.",
    },
];

/// What a form's word means; none for one that is plain by itself.
pub(crate) fn word(word: &str) -> Option<&'static Meaning> {
    WORDS.iter().find(|meaning| meaning.id == word)
}

/// Whether a check is about what holds the pump.
pub(crate) fn about_holding(id: &str) -> bool {
    matches!(id, "anchors" | "fixings" | "fixing-length" | "shake" | "tool" | "drill" | "load")
}

/// What is said about a check; a check whose name has a part after a dash or dot may share the part
/// before it.
pub(crate) fn meaning(id: &str) -> &'static Meaning {
    MEANINGS.iter().chain(WORDS).find(|meaning| meaning.id == id).unwrap_or(&UNKNOWN)
}

/// What would help to hold the pump where it stands now: rubber under its feet, packing, other advice.
fn holding(desk: &Desk) -> Vec<String> {
    let inches = desk.view.inches;
    let mut words = Vec::new();
    let spot = desk.document.spot();
    if let Some(short_mm) = moves::rubber_short_mm(desk.document.boot(), spot, &spot.place) {
        let by = figures::length(short_mm, inches);
        words.push(format!("Its feet stand flat: raise the pump by {by} for the rubber."));
    }
    let landed = desk.scores.of(desk.document.current());
    if let Some(details) = landed.and_then(|landed| landed.card.details.as_ref()) {
        let notes = details.notes(HeadlineId::Hold).into_iter();
        let notes = notes.filter(|note| matches!(note.title.as_str(), "packing" | "to hold it"));
        words.extend(notes.map(|note| figures::capital(&figures::reason(&note.text, inches))));
    }
    words
}

/// The dialog, while something is asked about.
pub(crate) fn show(ctx: &Context, desk: &mut Desk) {
    let Some(id) = desk.view.help else { return };
    let meaning = meaning(id);
    let here = if about_holding(id) { holding(desk) } else { Vec::new() };
    let of_check = WORDS.iter().all(|word| word.id != id);
    let mut close = false;
    dialog(ctx, "meaning", &figures::question(id), 440.0, |ui| {
        let part = |ui: &mut bevy_egui::egui::Ui, title: &str, words: &str| {
            if !words.is_empty() {
                ui.label(RichText::new(title).size(12.0).strong().color(desk.palette.faint));
                ui.label(words);
                ui.add_space(4.0);
            }
        };
        ScrollArea::vertical().max_height(360.0).show(ui, |ui| {
            part(ui, "What it is", meaning.means);
            part(ui, "Where it comes from", meaning.source);
            part(ui, "Mind", meaning.mind);
            part(ui, "At this spot", &here.join("\n"));
            if of_check {
                part(
                    ui,
                    "What a verdict means",
                    "Pass: inside the limit with room to spare. Tight: inside it, but by less than the \
                     tolerance or half the way to comfort. Fail: outside. Unknown: something was not \
                     measured.",
                );
            }
        });
        ui.label(
            RichText::new(
                "A planning aid: the car maker's instructions, local rules and a licensed technician's \
                 judgement come first.",
            )
            .size(12.0),
        );
        ui.add_space(4.0);
        let button = ui.button("Close");
        if ui.memory(|memory| memory.focused().is_none()) {
            button.request_focus();
        }
        close = button.clicked();
    });
    if close {
        desk.view.help = None;
    }
}

#[cfg(test)]
mod tests {
    use super::meaning;
    use crate::checks::{Boot, evaluate};

    #[test]
    fn every_check_of_the_demos_has_a_meaning() {
        for demo in &crate::format::DEMOS {
            let opened = crate::format::open_demo(Some(demo.name)).expect("the demo is sound");
            let boot = opened.boot(&Boot::usual_options(&opened.layout)).expect("it is ready");
            let card = evaluate(&boot, &opened.layout.spots[0]);
            for check in card.headlines.iter().flat_map(|headline| &headline.checks) {
                assert!(!meaning(check.id).id.is_empty(), "`{}` has no meaning", check.id);
            }
        }
    }
}
