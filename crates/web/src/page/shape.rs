//! Shapes that say the same as the colours, for those who see no colours or stand far away.

use crate::html::Element;

/// What a shape says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Shape {
    /// A filled triangle with a stroke in it: act now.
    Act,
    /// A diamond with a rising arrow: watch.
    Watch,
    /// A filled square with a question mark: nobody can tell, and somebody should.
    Silent,
    /// A ring with a tick: as it should be.
    Well,
    /// A broken ring: nobody knows, and that is no fault.
    Unknown,
}

impl Shape {
    /// Its colour in the style sheet.
    pub(crate) fn class(self) -> &'static str {
        match self {
            Self::Act => "act",
            Self::Watch | Self::Silent => "watch",
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
            Self::Silent => vec![
                path("filled", "M4.5 1.5h15a3 3 0 0 1 3 3v15a3 3 0 0 1-3 3h-15a3 3 0 0 1-3-3v-15a3 3 0 0 1 3-3Z"),
                path("cut", "M8.6 9.2a3.4 3.4 0 1 1 5.2 2.9c-1.2.8-1.8 1.3-1.8 2.6M12 18v.4"),
            ],
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
