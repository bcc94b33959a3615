//! The sheets, read back: their words, their pages, and that a page asks nothing of another place.

use dryberth::checks::evaluate;
use dryberth::documents::cautions::{CAUTIONS, FOR_THE_OWNER, PLANNING_AID};
use dryberth::documents::{
    Handed, customer_html, customer_pdf, fitting_html, fitting_pdf, positions,
};
use dryberth::format::{job_from_text, workshop_from_text};
use lopdf::Document;

use crate::pages::pages;
use crate::sandlark;

const JOB: &str = r#"(schema: 2, number: "R-0117", car: "blue <one> & only", when: "4 June",
    found: ["The pump's motor stood in water."], not_cut: ["Nothing was cut or drilled."],
    readings: [(what: "motor winding", figure: "open", means: "replace")])"#;
const SHOP: &str = r#"(schema: 2, name: "Harbour Lane Roof Workshop", lines: ["12 Harbour Lane"],
    closing: "We answer for our work for two years.")"#;

/// Words of a PDF with every run of blanks as one.
fn words(pdf: &[u8]) -> (String, usize) {
    let document = Document::load_mem(pdf).expect("a PDF file");
    let numbers: Vec<u32> = document.get_pages().into_keys().collect();
    let text = document.extract_text(&numbers).expect("its text");
    (text.split_whitespace().collect::<Vec<_>>().join(" "), numbers.len())
}

/// The first words of a sentence: a line may break later.
fn first_words(text: &str) -> String {
    text.split_whitespace().take(5).collect::<Vec<_>>().join(" ")
}

fn holds(text: &str, wanted: &str) -> bool {
    // Readers differ in the blanks that they put between pieces of a line.
    let tight =
        |text: &str| text.chars().filter(|letter| !letter.is_whitespace()).collect::<String>();
    tight(text).contains(&tight(wanted))
}

#[test]
fn the_customers_sheet_says_what_it_must_on_two_pages() {
    let ready = sandlark();
    let job = job_from_text("job.ron", JOB).expect("a job");
    let shop = workshop_from_text("shop.ron", SHOP).expect("settings");
    let before = ready.opened.layout.spot("In its well, as built").expect("the spot");
    let was = evaluate(&ready.boot, before);
    let handed = Handed {
        boot: &ready.boot,
        spot: &ready.spot,
        card: &ready.card,
        before: Some((before, &was)),
        unbolting: None,
        job: Some(&job),
        workshop: Some(&shop),
        logo: None,
    };
    let (text, count) = words(&customer_pdf(&handed).expect("a file"));
    assert_eq!(count, 2);
    for wanted in [
        "Where your roof pump sits now",
        "Harbour Lane Roof Workshop",
        "blue <one> & only",
        "The pump's motor stood in water",
        "What was not cut",
        "Nothing was cut or drilled",
        "What you lose in boot space",
        "emergency release",
        "can be seen",
        "lie flat again",
        "As much luggage goes in as before",
        "We answer for our work",
    ] {
        assert!(holds(&text, wanted), "`{wanted}` is not in {text}");
    }
    for caution in FOR_THE_OWNER.iter().chain([&PLANNING_AID]) {
        assert!(holds(&text, &first_words(caution)), "{caution}");
    }
    for step in &ready.opened.layout.handover.release {
        assert!(holds(&text, &first_words(step)), "{step}");
    }

    let html = customer_html(&handed).expect("a page");
    // Four pictures, each in the file; nothing that a browser would fetch or run.
    assert_eq!(html.matches("src=\"data:image/png;base64,").count(), 4);
    assert_eq!(html.matches("src=").count(), 4);
    for fetched in
        ["http:", "https:", "//", "url(", "@import", "<script", "<iframe", "<object", "<embed"]
    {
        // Base64 may hold two slashes; the pictures are looked at above.
        let bare: String =
            html.split("base64,")
                .enumerate()
                .map(|(index, part)| {
                    if index == 0 {
                        part
                    } else {
                        part.split_once('"').map_or("", |(_, rest)| rest)
                    }
                })
                .collect();
        assert!(!bare.contains(fetched), "the page has `{fetched}`");
    }
    assert!(html.contains("default-src 'none'"));
    assert!(html.contains("blue &lt;one&gt; &amp; only"), "names are escaped");
    for caution in FOR_THE_OWNER.iter().chain([&PLANNING_AID]) {
        assert!(html.contains(&caution.replace('\'', "&#39;")), "{caution}");
    }
}

#[test]
fn the_fitting_sheet_has_positions_lists_and_checks_to_sign() {
    let ready = sandlark();
    let handed = Handed {
        boot: &ready.boot,
        spot: &ready.spot,
        card: &ready.card,
        before: None,
        unbolting: None,
        job: None,
        workshop: None,
        logo: None,
    };
    let pdf = fitting_pdf(&handed).expect("a file");
    for page in pages(&pdf) {
        assert!((page.size.0 - 210.0).abs() < 0.01 && (page.size.1 - 297.0).abs() < 0.01);
    }
    let (text, _) = words(&pdf);
    for caution in CAUTIONS.iter().chain([&PLANNING_AID]) {
        assert!(holds(&text, &first_words(caution)), "{caution}");
    }
    for wanted in [
        "Positions by tape",
        "Order of work",
        "cut list",
        "Fixings",
        "Fluid in the reservoir",
        "in each of 78 cases",
        "Seen from the right",
        "Seen from behind",
        "level, rams out",
        "breather",
        "Fluid and level",
        "Checks to sign",
    ] {
        assert!(holds(&text, wanted), "{wanted}");
    }
    // The same drawing on a page: both views, each with a line for every case that the section meets.
    let html = fitting_html(&handed).expect("a page");
    assert_eq!(html.matches("<svg ").count(), 2);
    assert!(html.contains("aria-label=\"Seen from behind\""));
    let tank = ready.card.drawn.tank.as_ref().expect("a drawing");
    let met = tank.views.iter().flat_map(|view| &view.surfaces).map(|line| line.pieces.len());
    let led = tank.views.iter().map(|view| view.marks.len() + 2).sum::<usize>();
    assert_eq!(html.matches("<line ").count(), met.sum::<usize>() + led);
    for line in &ready.opened.layout.lines {
        assert!(holds(&text, &first_words(&line.name)), "{}", line.name);
    }
    let details = ready.card.details.as_ref().expect("details were asked for");
    for id in dryberth::checks::HeadlineId::ALL {
        for note in details.notes(id) {
            // Orders and loads stand in tables of their own; what could be done instead is not for fitting.
            let instead = ["one more tie", "holes on bolts"].contains(&note.title.as_str())
                || note.title.starts_with("from nothing");
            if note.title.starts_with("To order for") {
                let because = note.text.split_once(": ").expect("what it is made up of").1;
                assert!(holds(&text, &first_words(because)), "{}", note.text);
            } else if note.text.contains(" gives out first") {
                assert!(holds(&text, &note.title), "{}", note.title);
                let factor = note.text.split(" ×").next().and_then(|text| text.rsplit(' ').next());
                let factor = factor.expect("how many times it holds");
                assert!(holds(&text, &format!("{factor} ×")), "{}", note.text);
            } else {
                let wanted = if instead { note.title.clone() } else { first_words(&note.text) };
                assert_eq!(holds(&text, &wanted), !instead, "{}", note.text);
            }
        }
    }
}

#[test]
fn positions_are_taken_from_the_nearest_edge() {
    // On the jack bracket the front right foot hole is at (240 + 95, −516 − 52, 194): 335 from the
    // sill's inner face, 32 from the quarter panel at −600, 15 over the bracket's face at 179.
    let ready = sandlark();
    let found = positions(&ready.boot, &ready.spot);
    let foot = found.iter().find(|place| place.name == "foot front right").expect("the foot");
    let [along, across, up] = &foot.distances;
    assert_eq!(along.words, "335 mm forward of the rear sill's inner face");
    assert_eq!(across.words, "32 mm left of the right quarter panel");
    assert_eq!(up.words, "15 mm above the jack bracket's face");
}
