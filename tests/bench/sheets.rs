//! How long does what is handed over take, and every spot on every car?
//!
//! A customer's sheet stands beside its four pictures alone, a fitting sheet beside the evaluation that it is
//! made from, a picture beside the same at half the size and at a quarter, a template as PDF beside the panel
//! alone and the same as SVG and DXF; the matrix beside the same cells made ready and evaluated one by one, each
//! from nothing.

#![allow(missing_docs, clippy::print_stdout, reason = "a bench prints its table")]

mod stopwatch;

use std::time::Duration;

use dryberth::checks::{Ask, Boot, Scorecard, evaluate, evaluate_some};
use dryberth::compare::{every_car, matrix};
use dryberth::documents::panel::panel_for;
use dryberth::documents::picture::{Picture, TrimShown, View, picture};
use dryberth::documents::{
    Handed, Paper, customer_html, customer_pdf, fitting_pdf, template_dxf, template_pdf,
    template_svg,
};
use dryberth::format::{Opened, open_demo};
use dryberth::model::Spot;
use stopwatch::{once, print, timed, timed_at_least};

const BUDGET: Duration = Duration::from_millis(1_500);

fn main() {
    for demo in ["wrenfield-drop-top", "sandlark-cabriolet"] {
        let opened = open_demo(Some(demo)).expect("a demo");
        let boot = opened.boot(&Boot::usual_options(&opened.layout)).expect("a boot");
        let ask = Ask { details: true, ..Ask::default() };
        let card_of = |spot: &Spot| evaluate_some(&boot, spot, &ask);
        let cards: Vec<(&Spot, Scorecard)> =
            opened.layout.spots.iter().map(|spot| (spot, card_of(spot))).collect();
        let (spot, card) = cards.iter().min_by(|a, b| a.1.rank(&b.1)).expect("a demo has spots");
        sheets(demo, &boot, spot, card, &cards[0]);
        pictures(demo, &boot, spot, card);
        templates(demo, &boot, card);
        cars(demo, &opened);
    }
}

fn sheets(demo: &str, boot: &Boot, spot: &Spot, card: &Scorecard, before: &(&Spot, Scorecard)) {
    let handed = Handed {
        boot,
        spot,
        card,
        before: Some((before.0, &before.1)),
        unbolting: None,
        job: None,
        workshop: None,
        logo: None,
    };
    let ask = Ask { details: true, ..Ask::default() };
    let (width, height) = (1120, 700);
    let one = |view, trim, labels| {
        picture(
            boot,
            spot,
            card,
            &Picture { width, height, view, trim, labels, ..Picture::default() },
        )
    };
    let four = || {
        let glassy = TrimShown::SeenThrough;
        [
            one(View::Behind, glassy, true),
            one(View::Behind, glassy, true),
            one(View::Close, TrimShown::Out, true),
            one(View::Behind, TrimShown::In, false),
        ]
    };
    let rows = [
        timed_at_least(3, "customer_pdf", BUDGET, || customer_pdf(&handed)),
        timed_at_least(3, "picture: four of the size on that sheet", BUDGET, four),
        timed_at_least(3, "customer_html", BUDGET, || customer_html(&handed)),
        timed_at_least(3, "fitting_pdf", BUDGET, || fitting_pdf(&handed)),
        timed_at_least(3, "evaluate_some: the spot, with details", BUDGET, || {
            evaluate_some(boot, spot, &ask)
        }),
    ];
    print(&format!("{demo}, sheets for `{}`", spot.name), &rows);
}

fn pictures(demo: &str, boot: &Boot, spot: &Spot, card: &Scorecard) {
    let of = |width, height| {
        move || picture(boot, spot, card, &Picture { width, height, ..Picture::default() })
    };
    let rows = [
        timed_at_least(3, "picture: 1600 × 1000", BUDGET, of(1600, 1000)),
        timed("picture: 800 × 500, a quarter of the pixels", BUDGET, of(800, 500)),
        timed("picture: 400 × 250, a sixteenth of the pixels", BUDGET, of(400, 250)),
    ];
    print(&format!("{demo}, a picture"), &rows);
}

fn templates(demo: &str, boot: &Boot, card: &Scorecard) {
    let opening = boot.layout().openings.first().expect("a demo has an opening");
    let made = || panel_for(boot, opening, &card.drawn.lines).expect("a panel");
    let panel = made();
    let rows = [
        timed("panel_for and template_pdf: A4", BUDGET, || template_pdf(&made(), Paper::A4, None)),
        timed("panel_for alone", BUDGET, made),
        timed("template_pdf alone", BUDGET, || template_pdf(&panel, Paper::A4, None)),
        timed("template_svg alone", BUDGET, || template_svg(&panel)),
        timed("template_dxf alone", BUDGET, || template_dxf(&panel)),
    ];
    print(&format!("{demo}, template of `{}`", opening.name), &rows);
}

fn cars(demo: &str, opened: &Opened) {
    let (layout, pump, meshes) = (&opened.layout, &opened.pump, &opened.meshes);
    // Every third of them: all would take minutes, and the ratio is the same.
    let cars: Vec<_> = every_car(layout).expect("cars").into_iter().step_by(3).collect();
    let whole = || matrix(layout, pump, meshes, &cars, false).expect("a matrix");
    let one_by_one = || -> Vec<Scorecard> {
        let cells = cars.iter().flat_map(|car| layout.spots.iter().map(move |spot| (car, spot)));
        let cell = |(car, spot): (&dryberth::compare::CarOptions, &Spot)| {
            let boot = opened.boot(&car.options).expect("a boot");
            evaluate(&boot, spot)
        };
        cells.map(cell).collect()
    };
    let (matrix_row, found) = once("matrix: cars at the same time, each made ready once", whole);
    let (alone_row, alone) =
        once("prepare and evaluate: every cell from nothing, one after another", one_by_one);
    // The two ways agree, cell by cell.
    for (car, _) in cars.iter().enumerate() {
        for (row, found) in found.spots.iter().enumerate() {
            let card = &alone[car * layout.spots.len() + row];
            assert_eq!(
                (found.cells[car].verdict, found.cells[car].score),
                (card.verdict, card.score)
            );
        }
    }
    let rows = [matrix_row, alone_row];
    print(&format!("{demo}, {} spots on {} cars", layout.spots.len(), cars.len()), &rows);
}
