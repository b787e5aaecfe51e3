//! On which side of a band a figure lies.

/// How a moisture stands against the band that is usual.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Side {
    Above,
    Below,
    Within,
    Unjudged,
}

impl Side {
    /// Without the figure or without the ends that it would have to be held against, nobody can say.
    pub(crate) fn of(moisture: Option<f64>, low: Option<f64>, high: Option<f64>) -> Self {
        match (moisture, low, high) {
            (Some(moisture), _, Some(high)) if moisture > high => Self::Above,
            (Some(moisture), Some(low), _) if moisture < low => Self::Below,
            (Some(_), Some(_), Some(_)) => Self::Within,
            _ => Self::Unjudged,
        }
    }

    /// Its name in the style sheet.
    pub(crate) fn class(self) -> &'static str {
        match self {
            Self::Above => "above",
            Self::Below => "below",
            Self::Within => "within",
            Self::Unjudged => "unjudged",
        }
    }

    /// A mark before a figure that lies outside.
    pub(crate) fn mark(self) -> &'static str {
        match self {
            Self::Above => "▲ ",
            Self::Below => "▼ ",
            Self::Within | Self::Unjudged => "",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Side;

    #[test]
    fn what_is_not_known_is_not_judged() {
        assert_eq!(Side::of(Some(6.2), Some(4.1), Some(5.7)), Side::Above);
        assert_eq!(Side::of(Some(5.7), Some(4.1), Some(5.7)), Side::Within);
        assert_eq!(Side::of(Some(4.0), Some(4.1), Some(5.7)), Side::Below);
        assert_eq!(Side::of(None, Some(4.1), Some(5.7)), Side::Unjudged);
        assert_eq!(Side::of(Some(6.2), None, None), Side::Unjudged);
        assert_eq!(Side::of(Some(f64::NAN), None, None), Side::Unjudged);
    }
}
