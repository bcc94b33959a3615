//! What is handed over, read back: paper, drawings, models, pages, pictures.

mod drawings;
mod models;
mod pages;
mod panels;
mod paper;
mod pictures;
mod sheets;

use std::sync::OnceLock;

use dryberth::checks::{Ask, Boot, Scorecard, evaluate_some};
use dryberth::format::{Opened, open_demo};
use dryberth::model::Spot;

pub(crate) struct Ready {
    pub(crate) opened: Opened,
    pub(crate) boot: Boot,
    pub(crate) spot: Spot,
    pub(crate) card: Scorecard,
}

/// The Sandlark demo with its usual options and its favourite spot, made ready once.
pub(crate) fn sandlark() -> &'static Ready {
    static READY: OnceLock<Ready> = OnceLock::new();
    READY.get_or_init(|| {
        let opened = open_demo(Some("sandlark-cabriolet")).expect("the demo");
        let boot = opened.boot(&Boot::usual_options(&opened.layout)).expect("a boot");
        let spot = opened.layout.spot("On the jack bracket").expect("the spot").clone();
        let card = evaluate_some(&boot, &spot, &Ask { details: true, ..Ask::default() });
        Ready { opened, boot, spot, card }
    })
}
