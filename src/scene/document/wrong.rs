//! What is wrong with a layout, said of things by their names, not of places in a file.

use crate::model::{Layout, Problem, Step};
use crate::scene::thing::{Kind, Thing};

/// A problem in a sentence: whose it is, what was found, what was expected.
pub(super) fn sentence(layout: &Layout, problem: &Problem) -> String {
    let Problem { found, expected, .. } = problem;
    match whose(layout, &problem.path) {
        whose if whose.is_empty() => format!("{found}; expected {expected}"),
        whose => format!("{whose}: {found}; expected {expected}"),
    }
}

/// A place in a layout: the name of the thing, then what of it.
fn whose(layout: &Layout, path: &[Step]) -> String {
    let list = |name: &str| {
        Some(match name {
            "options" => Kind::Option,
            "bodies" => Kind::Body,
            "trims" => Kind::Trim,
            "movers" => Kind::Mover,
            "drains" => Kind::Drain,
            "leaks" => Kind::Leak,
            "anchors" => Kind::Anchor,
            "lines" => Kind::Line,
            "rams" => Kind::Ram,
            "viewpoints" => Kind::Viewpoint,
            "boot_space" => Kind::Space,
            "option_rules" => Kind::Rule,
            "cars" => Kind::Car,
            "openings" => Kind::Opening,
            "tape_edges" => Kind::Edge,
            "unbolt" => Kind::Unbolt,
            _ => return None,
        })
    };
    let mut rest = path;
    if let [Step::Field("handover"), after @ ..] = rest {
        rest = after;
    }
    let mut words = Vec::new();
    if let [Step::Field(name), Step::Index(index), after @ ..] = rest {
        if *name == "spots" {
            let spot = layout.spots.get(*index).map(|spot| spot.name.clone());
            words.push(spot.unwrap_or_else(|| format!("spot {}", index + 1)));
            rest = after;
        } else if let Some(kind) = list(name) {
            let thing = Thing::get(layout, kind, *index);
            let named = thing.map(|thing| thing.title(*index)).filter(|it| !it.trim().is_empty());
            words.push(named.unwrap_or_else(|| format!("{} {}", kind.word(), index + 1)));
            rest = after;
        }
    }
    let mut steps = rest.iter().peekable();
    while let Some(step) = steps.next() {
        match (step, steps.peek()) {
            (Step::Field(name), Some(Step::Index(index))) => {
                words.push(format!("{} {}", singular(&plain(name)), index + 1));
                steps.next();
            }
            (Step::Field(name), _) => words.push(plain(name)),
            (Step::Index(index), _) => words.push((index + 1).to_string()),
        }
    }
    words.join(", ")
}

/// A field's name as a person says it.
fn plain(field: &str) -> String {
    let known = match field {
        "free_mm" => "free length",
        "od_mm" => "outside diameter",
        "bore_mm" => "inside diameter",
        "bend_mm" => "bend radius",
        "lead_mm" => "straight lead",
        "to_mm" | "to_deg" => "to",
        "from_mm" | "from_deg" => "from",
        "at" => "where it is",
        "towards" => "its direction",
        "through" => "a point on its axis",
        "along" => "its axis",
        "normal" => "out of the metal",
        "radius_mm" => "radius",
        "give_mm" => "how far it gives",
        _ => "",
    };
    if !known.is_empty() {
        return known.to_string();
    }
    let units = ["_mm2", "_mm", "_deg", "_kg", "_mohm", "_l_min", "_n", "_v", "_a", "_c"];
    let bare = units.iter().find_map(|unit| field.strip_suffix(unit)).unwrap_or(field);
    bare.replace('_', " ")
}

/// One of a list's entries.
fn singular(list: &str) -> String {
    list.strip_suffix('s').unwrap_or(list).to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_problem_names_the_thing_and_no_place_in_a_file() {
        let mut layout = crate::format::open_demo(None).expect("the demo is sound").layout;
        layout.trims[0].faces.truncate(1);
        let corner = layout.trims[0].faces[0][0];
        layout.trims[0].faces.push(vec![corner; 3]);
        layout.lines[0].od_mm = -1.0;
        let (carpet, hose) = (layout.trims[0].name.clone(), layout.lines[0].name.clone());
        let wrong: Vec<String> =
            layout.problems().iter().map(|problem| sentence(&layout, problem)).collect();
        assert!(wrong.iter().any(|it| it.starts_with(&format!("{carpet}, face 2"))), "{wrong:?}");
        let diameter = format!("{hose}, outside diameter: ");
        assert!(wrong.iter().any(|it| it.starts_with(&diameter)), "{wrong:?}");
        assert!(wrong.iter().all(|it| !it.contains(['[', '_'])), "{wrong:?}");
    }
}
