//! What a workshop writes down beside the verdicts: lengths to cut, millilitres to fill, fixings to
//! buy; one part for each headline.

use serde::Serialize;

use super::HeadlineId;
use super::carpet::CarpetDetails;
use super::feed::FeedDetails;
use super::hold::HoldDetails;
use super::reach::ReachDetails;
use super::water::WaterDetails;

/// One line of a sheet: what it is about, and the figures in one plain sentence.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Note {
    /// What it is about.
    pub title: String,
    /// The figures, in words.
    pub text: String,
}

/// Everything that a spot's checks found out beyond their verdicts; only worked out when
/// [`Ask::details`](super::Ask::details) asks for it.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Details {
    /// Lines: routes, what to cut and order.
    pub reach: ReachDetails,
    /// Room, trim, movers.
    pub carpet: CarpetDetails,
    /// Fluid.
    pub feed: FeedDetails,
    /// Water.
    pub water: WaterDetails,
    /// Fixings.
    pub hold: HoldDetails,
}

impl Details {
    /// A headline's details in words, in a fixed order.
    pub fn notes(&self, id: HeadlineId) -> Vec<Note> {
        match id {
            HeadlineId::Reach => self.reach.notes(),
            HeadlineId::Carpet => self.carpet.notes(),
            HeadlineId::Feed => self.feed.notes(),
            HeadlineId::Water => self.water.notes(),
            HeadlineId::Hold => self.hold.notes(),
        }
    }
}
