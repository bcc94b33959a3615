//! The customer's sheet: before and after, what was left alone, what it costs them, how to live with it.

use super::Handed;
use super::blocks::{Block, Sheet, Shot, facts};
use crate::checks::{Check, HeadlineId, Scorecard, Verdict};
use crate::documents::cautions::{FOR_THE_OWNER, PLANNING_AID};
use crate::documents::picture::{Picture, TrimShown, View, picture};
use crate::documents::positions::positions;

/// Size of the pictures, pixels.
const PIXELS: (u32, u32) = (1120, 700);
/// Height of the names in a picture that is half a page wide.
const LABEL_SHARE: f64 = 1.0 / 25.0;

pub(super) fn sheet(handed: &Handed) -> Option<Sheet> {
    let boot = handed.boot;
    let shot = |spot, card, view, trim, caption: String| -> Option<Shot> {
        let (width, height) = PIXELS;
        let labels = trim != TrimShown::In;
        let water = trim != TrimShown::In;
        let label_share = LABEL_SHARE;
        let wanted = Picture { width, height, view, trim, labels, label_share, water };
        let png = picture(boot, spot, card, &wanted)?;
        Some(Shot { png, caption, aspect: f64::from(width) / f64::from(height) })
    };
    let (spot, card) = (handed.spot, handed.card);
    let behind = View::Behind;
    let mut first = Vec::new();
    if let Some((spot, card)) = handed.before {
        let caption = format!("Before: {}. Carpets and boards shown glassy.", plain(&spot.name));
        first.push(shot(spot, card, behind, TrimShown::SeenThrough, caption)?);
    }
    let now = format!("Now: {}. Carpets and boards shown glassy.", plain(&spot.name));
    first.push(shot(spot, card, behind, TrimShown::SeenThrough, now)?);
    let mut second = vec![shot(
        spot,
        card,
        View::Close,
        TrimShown::Out,
        "The unit close by, without trim.".into(),
    )?];
    let flat = "Your boot as you see it, with everything back in.".to_string();
    second.push(shot(spot, card, behind, TrimShown::In, flat)?);
    let mut blocks = vec![Block::Pictures(first), Block::Pictures(second)];
    let mut section = |title: &str, items: Vec<String>| {
        if !items.is_empty() {
            blocks.push(Block::Heading(title.to_string()));
            blocks.push(if items.len() == 1 {
                Block::Text(items.into_iter().next().unwrap_or_default())
            } else {
                Block::Bullets(items)
            });
        }
    };
    section("What was wrong", wrong(handed));
    section("Where the unit sits now", now_sits(handed));
    section("What was done", handed.job.map(|job| job.done.clone()).unwrap_or_default());
    section("What was not cut", not_cut(handed));
    section("What you lose in boot space", boot_space(card));
    blocks.push(Block::Heading("If the roof stops: the emergency release".to_string()));
    let release = boot.layout().handover.release.clone();
    blocks.push(if release.is_empty() {
        Block::Text(
            "Your car's handbook describes how the roof is closed by hand. The release was checked after \
             the move; ask us to show you where its handle is."
                .to_string(),
        )
    } else {
        Block::Steps(release, false)
    });
    let care = handed.job.map(|job| job.care.clone()).filter(|care| !care.is_empty());
    blocks.push(Block::Heading("Care".to_string()));
    blocks.push(Block::Bullets(care.unwrap_or_else(usual_care)));
    blocks.push(Block::Cautions {
        title: "Please mind".to_string(),
        items: FOR_THE_OWNER.map(String::from).to_vec(),
        closing: PLANNING_AID.to_string(),
    });
    if let Some(closing) =
        handed.workshop.map(|workshop| &workshop.closing).filter(|c| !c.is_empty())
    {
        blocks.push(Block::Text(closing.clone()));
    }
    Some(Sheet {
        title: "Where your roof pump sits now".to_string(),
        subtitle: spot.name.clone(),
        facts: facts(handed),
        blocks,
        workshop: handed.workshop.cloned(),
        logo: handed.logo.cloned(),
        sizes: vec![10.6, 10.0, 9.3],
        most_pages: 2,
    })
}

/// A name as part of a sentence: its first letter small unless it looks like an abbreviation.
fn plain(name: &str) -> String {
    let mut letters = name.chars();
    match (letters.next(), letters.clone().next()) {
        (Some(first), Some(second)) if second.is_lowercase() || second.is_whitespace() => {
            first.to_lowercase().chain(letters).collect()
        }
        _ => name.to_string(),
    }
}

/// A reason as a sentence of its own.
fn sentence(text: &str) -> String {
    let mut letters = text.trim().trim_end_matches('.').chars();
    match letters.next() {
        Some(first) => first.to_uppercase().chain(letters).chain(['.']).collect(),
        None => String::new(),
    }
}

fn wrong(handed: &Handed) -> Vec<String> {
    let told = handed.job.map(|job| job.found.clone()).filter(|found| !found.is_empty());
    told.unwrap_or_else(|| {
        let depth = |check: &&Check| check.margin.unwrap_or(f64::INFINITY);
        let failing = handed
            .before
            .into_iter()
            .flat_map(|(_, card)| checks(card, HeadlineId::Water))
            .filter(|check| check.verdict == Verdict::Fail);
        let worst = failing.min_by(|a, b| depth(a).total_cmp(&depth(b)));
        let mut found: Vec<String> = worst.map(|check| sentence(&check.why)).into_iter().collect();
        if !found.is_empty() {
            found
                .insert(0, "The pump sat where water collects; that is what ruins it.".to_string());
        }
        found
    })
}

fn now_sits(handed: &Handed) -> Vec<String> {
    let mut told = Vec::new();
    if let Some(place) = positions(handed.boot, handed.spot).into_iter().next_back() {
        let [along, across, up] = place.distances;
        told.push(sentence(&format!(
            "{}: the tank's filler is {}, {} and {}",
            plain(&handed.spot.name),
            along.words,
            across.words,
            up.words
        )));
    }
    told.extend(stays_dry(handed.card));
    told.extend(is_seen(handed.card));
    told.extend(lies_flat(handed.card));
    for (out, how) in handed
        .unbolting
        .iter()
        .flat_map(|unbolting| unbolting.bodies.iter().map(|body| (&body.body, &body.refit)))
    {
        told.push(format!("The {out} was moved: {how}."));
    }
    told
}

/// The figure of a check that doesn't fail.
fn good(check: &Check) -> Option<f64> {
    check.figure.filter(|_| matches!(check.verdict, Verdict::Pass | Verdict::Tight))
}

/// The check of this kind with the least margin, as far as it is known.
fn worst<'a>(card: &'a Scorecard, id: &str) -> Option<&'a Check> {
    let all = card.headlines.iter().flat_map(|headline| &headline.checks);
    let margin = |check: &Check| check.margin.unwrap_or(f64::INFINITY);
    all.filter(|check| check.id == id && check.figure.is_some())
        .min_by(|a, b| margin(a).total_cmp(&margin(b)))
}

fn stays_dry(card: &Scorecard) -> Option<String> {
    let worst = worst(card, "freeboard")?;
    let blocked = card.check("freeboard", "all drains blocked").and_then(good);
    Some(match (good(worst), blocked) {
        (Some(_), Some(blocked)) => format!(
            "Even if every drain were blocked, water would stay {blocked:.0} mm below its lowest part that \
             must keep dry."
        ),
        (Some(_), None) => {
            format!("Water that collects stays below its parts that must keep dry: {}.", worst.why)
        }
        (None, _) => sentence(&worst.why),
    })
}

fn is_seen(card: &Scorecard) -> Option<String> {
    let seen = worst(card, "seen")?;
    Some(match good(seen) {
        Some(share) if share < 0.5 => {
            "With everything back in, nothing of it can be seen from where people stand."
                .to_string()
        }
        Some(share) => {
            format!(
                "With everything back in, {share:.0} % of its surface can be seen from where most of it shows."
            )
        }
        None => sentence(&seen.why),
    })
}

fn lies_flat(card: &Scorecard) -> Option<String> {
    let worst = worst(card, "lift")?;
    Some(match good(worst) {
        Some(_) => "Carpets and boards lie flat again, as they were.".to_string(),
        None => sentence(&worst.why),
    })
}

fn not_cut(handed: &Handed) -> Vec<String> {
    let told = handed.job.map(|job| job.not_cut.clone()).filter(|told| !told.is_empty());
    told.unwrap_or_else(|| {
        let mut anchors: Vec<&str> =
            handed.spot.fixings.iter().map(|fixing| fixing.anchor.as_str()).collect();
        anchors.dedup();
        if anchors.is_empty() {
            return Vec::new();
        }
        vec![format!(
            "The unit is held at places that the car already has: {}. The carpets and boards go back where \
             they were.",
            anchors.join("; ")
        )]
    })
}

fn boot_space(card: &Scorecard) -> Vec<String> {
    let mut told: Vec<String> = worst(card, "space").iter().map(|c| sentence(&c.why)).collect();
    if let Some(lost) = worst(card, "blocks").and_then(|check| check.figure) {
        told.push(if lost < 0.5 {
            "As much luggage goes in as before, counted in blocks of 200 × 100 × 50 mm.".to_string()
        } else {
            format!("{lost:.0} fewer blocks of luggage go in, each 200 × 100 × 50 mm, a litre.")
        });
    }
    if told.is_empty() {
        return vec!["The boot's usable space was not measured for this car.".to_string()];
    }
    told
}

fn checks(card: &Scorecard, id: HeadlineId) -> impl Iterator<Item = &Check> {
    card.headline(id).into_iter().flat_map(|headline| &headline.checks)
}

/// Common practice, no source.
fn usual_care() -> Vec<String> {
    [
        "Have the fluid level looked at once a year, roof closed and car level.",
        "Let leaves out of the drains before winter; a blocked drain is what drowned the old unit.",
        "Work the roof once a month, engine running, all the way without stopping.",
        "A wet carpet, a slower roof or a new noise: come by before it stops.",
    ]
    .map(String::from)
    .to_vec()
}
