//! Shapes that say the same as the colours, for those who see no colours or stand far away.

use crate::html::Element;

/// What a shape says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Shape {
    /// A filled triangle with a stroke in it: act now.
    Act,
    /// A diamond with a rising arrow: watch.
    Watch,
    /// A ring with a tick: as it should be.
    Well,
    /// A broken ring: nobody knows.
    Unknown,
}

impl Shape {
    /// Its name in the style sheet.
    pub(crate) fn class(self) -> &'static str {
        match self {
            Self::Act => "act",
            Self::Watch => "watch",
            Self::Well => "well",
            Self::Unknown => "unknown",
        }
    }

    /// The drawing; the words beside it are read instead.
    pub(crate) fn drawing(self) -> Element {
        let path = |class, data| Element::new("path").class(class).attribute("d", data);
        let paths = match self {
            Self::Act => {
                vec![path("filled", "M12 1.8 23 21.6H1Z"), path("cut", "M12 8.6v6.2M12 17.6v1.2")]
            }
            Self::Watch => {
                vec![path("filled", "M12 .8 23.2 12 12 23.2.8 12Z"), path("cut", "M12 17.4V7.2M7.6 11.4 12 7l4.4 4.4")]
            }
            Self::Well => vec![
                path("ring", "M12 2.5a9.5 9.5 0 1 1 0 19 9.5 9.5 0 1 1 0-19"),
                path("line", "m7.6 12.4 3.1 3.1 5.9-6.4"),
            ],
            Self::Unknown => vec![path("broken ring", "M12 2.5a9.5 9.5 0 1 1 0 19 9.5 9.5 0 1 1 0-19")],
        };
        Element::new("svg")
            .class(format_args!("shape {}", self.class()))
            .attribute("viewBox", "0 0 24 24")
            .attribute("aria-hidden", "true")
            .children(paths)
    }
}
