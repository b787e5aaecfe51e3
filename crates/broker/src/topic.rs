//! Rules for topic names and topic filters (MQTT 5.0, 4.7), checked before anything is sent: a
//! broker answers a malformed topic by closing the connection, which would hide the reason.

use crate::ConnectError;

/// The longest UTF-8 string an MQTT packet can carry (MQTT 5.0, 1.5.4), in bytes.
pub(crate) const LONGEST_STRING: usize = 65_535;

/// Accepts what may stand in a SUBSCRIBE packet: `+` for a whole level, `#` for all that follows.
pub(crate) fn check_filter(filter: &str) -> Result<(), ConnectError> {
    let wrong = |reason: &str| Err(ConnectError::Topic { topic: filter.to_owned(), reason: reason.to_owned() });
    if filter.is_empty() || filter.len() > LONGEST_STRING || filter.contains('\0') {
        return wrong("a topic has 1 to 65,535 bytes and no NUL character");
    }
    let levels: Vec<&str> = filter.split('/').collect();
    for (index, level) in levels.iter().enumerate() {
        if level.contains('#') && (*level != "#" || index + 1 != levels.len()) {
            return wrong("`#` stands alone, as the last level");
        }
        if level.contains('+') && *level != "+" {
            return wrong("`+` stands alone in its level");
        }
    }
    Ok(())
}

/// Whether a message may be published to `topic`: inside the tree `root`, and a plain name.
pub(crate) fn is_inside(root: &str, topic: &str) -> bool {
    topic.strip_prefix(root).and_then(|rest| rest.strip_prefix('/')).is_some_and(|rest| !rest.is_empty())
        && is_name(topic)
}

/// Whether `name` can be published to at all: no wildcard, no NUL, not too long.
pub(crate) fn is_name(name: &str) -> bool {
    !name.is_empty() && name.len() <= LONGEST_STRING && !name.contains(['+', '#', '\0'])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn filters_follow_the_standard() {
        for good in ["mill/1/z1/dew", "mill/+/z1", "mill/#", "#", "+", "/", "spBv1.0/+/NDATA/+"] {
            assert!(check_filter(good).is_ok(), "{good}");
        }
        for bad in ["", "mill/#/z1", "mill#", "mill/z+", "a\0b"] {
            assert!(check_filter(bad).is_err(), "{bad:?}");
        }
    }

    #[test]
    fn only_names_below_the_root_are_inside() {
        for inside in ["ovenward/millbrook/status", "ovenward/x"] {
            assert!(is_inside("ovenward", inside), "{inside}");
        }
        for outside in ["ovenward", "ovenward/", "ovenwardly/x", "mill/x", "ovenward/+", "ovenward/#", ""] {
            assert!(!is_inside("ovenward", outside), "{outside}");
        }
    }
}
