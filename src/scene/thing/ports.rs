//! Which of the pump's ports lines of a kind go to.

use crate::checks::Boot;
use crate::model::{Layout, LineKind, Part, Port};

/// How near a port must lie to a plug's solid to be of it, mm.
const ON_PLUG_MM: f64 = 5.0;

/// What a port is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum PortUse {
    /// A hose of the roof's.
    Hose,
    /// A hydraulic port that is plugged in use, such as one for a gauge.
    Shut,
    /// The electric plug.
    Plug,
    /// The release valve's lever.
    Release,
}

impl PortUse {
    /// What a port is for: by its name, else by the plug that it lies on.
    pub(crate) fn of(boot: &Boot, port: &Port) -> PortUse {
        let name = port.name.to_lowercase();
        let called = |words: &[&str]| words.iter().any(|word| name.contains(word));
        if called(&["release", "lever", "cord"]) {
            return PortUse::Release;
        }
        if called(&["gauge", "test", "bleed"]) {
            return PortUse::Shut;
        }
        let plugs = boot.pump().solids.iter().zip(boot.pump_solids());
        let mut plugs = plugs.filter(|(part, _)| part.part == Part::Plug);
        let on_plug = plugs.any(|(_, solid)| solid.distance_to_point_mm(&port.at) < ON_PLUG_MM);
        if on_plug || called(&["plug", "connector", "socket", "terminal"]) {
            PortUse::Plug
        } else {
            PortUse::Hose
        }
    }

    /// What it is for, in words.
    pub(crate) fn words(self) -> &'static str {
        match self {
            PortUse::Hose => "hydraulic",
            PortUse::Shut => "hydraulic, shut in use",
            PortUse::Plug => "electric",
            PortUse::Release => "release",
        }
    }

    /// What lines of a kind go to.
    pub(crate) fn wanted(kind: &LineKind) -> PortUse {
        match kind {
            LineKind::Hose => PortUse::Hose,
            LineKind::Cable(_) => PortUse::Plug,
            LineKind::Cord => PortUse::Release,
        }
    }
}

/// The pump's ports with what they are for: those that fit a kind of line first, else in the pump's order.
pub(crate) fn fitting_first(boot: &Boot, kind: &LineKind) -> Vec<(String, PortUse)> {
    let wanted = PortUse::wanted(kind);
    let ports = boot.pump().ports.iter();
    let mut ports: Vec<(String, PortUse)> =
        ports.map(|port| (port.name.clone(), PortUse::of(boot, port))).collect();
    ports.sort_by_key(|(_, is)| *is != wanted);
    ports
}

/// The port that a new line of a kind goes to: one that fits and that no line goes to yet, else one that
/// fits, else any. Empty for a pump without ports.
pub(crate) fn usual(boot: &Boot, layout: &Layout, kind: &LineKind) -> String {
    let ports = fitting_first(boot, kind);
    let wanted = PortUse::wanted(kind);
    let free = |name: &str| layout.lines.iter().all(|line| line.to != name);
    let mut fitting = ports.iter().filter(|(_, is)| *is == wanted);
    let first = fitting.clone().next();
    let found = fitting.find(|(name, _)| free(name)).or(first).or(ports.first());
    found.map(|(name, _)| name.clone()).unwrap_or_default()
}

/// What is odd about a line of a kind that goes to a port; none when it fits.
pub(crate) fn odd(boot: &Boot, kind: &LineKind, to: &str) -> Option<String> {
    let port = boot.pump().ports.iter().find(|port| port.name == to)?;
    let is = PortUse::of(boot, port);
    let wanted = PortUse::wanted(kind);
    (is != wanted).then(|| match is {
        PortUse::Hose => format!("{to} takes a hose, not a {}", kind.words()),
        PortUse::Shut => format!("{to} is shut in use; nothing usually goes to it"),
        PortUse::Plug => format!("{to} is electric; a {} does not usually go to it", kind.words()),
        PortUse::Release => {
            format!("{to} is the release; a {} does not usually go to it", kind.words())
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_of_the_demos_go_where_new_ones_would() {
        for demo in &crate::format::DEMOS {
            let opened = crate::format::open_demo(Some(demo.name)).expect("the demo is sound");
            let boot = opened.boot(&Boot::usual_options(&opened.layout)).expect("it is ready");
            for line in &opened.layout.lines {
                assert_eq!(odd(&boot, &line.kind, &line.to), None, "{}", line.name);
                let bare = Layout { lines: Vec::new(), ..opened.layout.clone() };
                let usual = usual(&boot, &bare, &line.kind);
                assert_eq!(odd(&boot, &line.kind, &usual), None, "{usual}");
                assert!(odd(&boot, &line.kind, "gauge port").is_some());
            }
        }
    }

    #[test]
    fn a_second_hose_takes_the_next_port() {
        let opened = crate::format::open_demo(None).expect("the demo is sound");
        let boot = opened.boot(&Boot::usual_options(&opened.layout)).expect("it is ready");
        let mut layout = Layout { lines: Vec::new(), ..opened.layout.clone() };
        let mut taken = Vec::new();
        for line in opened.layout.lines.iter().filter(|it| matches!(it.kind, LineKind::Hose)) {
            let to = usual(&boot, &layout, &LineKind::Hose);
            assert!(!taken.contains(&to), "{to} twice");
            layout.lines.push(crate::model::Line { to: to.clone(), ..line.clone() });
            taken.push(to);
        }
        assert_eq!(taken.len(), 4);
    }
}
