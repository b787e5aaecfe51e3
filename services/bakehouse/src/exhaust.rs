//! What a damper lets through: monotone, and far from straight.

use std::f64::consts::FRAC_PI_2;

/// What a shut damper still lets through, as a share of the open one.
const LEAK: f64 = 0.03;

/// Flow through a butterfly damper as a share of its full flow, from its opening (0 to 1): the
/// free area of a turning disc.
pub(crate) fn flow_share(opening: f64) -> f64 {
    LEAK + (1.0 - LEAK) * (1.0 - (FRAC_PI_2 * opening.clamp(0.0, 1.0)).cos())
}

/// The opening that lets this share of the full flow through; shut or open where none does.
pub(crate) fn opening_for(share: f64) -> f64 {
    let turned = ((share.clamp(LEAK, 1.0) - LEAK) / (1.0 - LEAK)).clamp(0.0, 1.0);
    (1.0 - turned).acos() / FRAC_PI_2
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn opening_is_the_inverse_of_flow() {
        for percent in 1..=100 {
            let opening = percent as f64 / 100.0;
            assert!((opening_for(flow_share(opening)) - opening).abs() < 1e-9);
        }
    }

    #[test]
    fn the_same_turn_opens_more_when_half_open_than_when_nearly_shut() {
        assert!(flow_share(0.6) - flow_share(0.5) > 2.0 * (flow_share(0.15) - flow_share(0.05)));
    }
}
