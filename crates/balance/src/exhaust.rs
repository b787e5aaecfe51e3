//! What a zone's exhaust draws, and what its damper has to do with it.

/// What a shut damper still lets through, as a share of the open one (common practice).
const LEAK: f64 = 0.03;

/// Flow through a damper against its opening: a power of it over a small leak. The free area of a turning disc
/// rises with a power of about 1.8 of its opening.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DamperCurve {
    /// The power, 0.3 (quick opening) to 4 (slow opening).
    pub power: f64,
    /// Power of the band speed with which crews let the exhaust grow, as far as no damper shows it.
    pub by_speed: f64,
}

impl DamperCurve {
    /// Share of the full flow at an opening from 0 to 1.
    #[must_use]
    pub fn share(&self, opening: f64) -> f64 {
        LEAK + (1.0 - LEAK) * opening.clamp(0.0, 1.0).powf(self.power)
    }

    /// The opening that lets this share through; 0 or 1 where none does.
    #[must_use]
    pub fn opening(&self, share: f64) -> f64 {
        ((share - LEAK) / (1.0 - LEAK)).clamp(0.0, 1.0).powf(1.0 / self.power)
    }
}

/// The exhaust of one zone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ZoneExhaust {
    /// Dry air that it draws as the oven is usually run, kg/h.
    pub usual_kg_h: f64,
    /// Opening of its damper then, 0 to 1; none without a damper signal.
    pub usual_opening: Option<f64>,
}

/// How far a zone's exhaust is open.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Draught {
    /// Its damper stands at this opening, 0 to 1.
    Opening(f64),
    /// It draws this many times what it usually draws.
    Ratio(f64),
    /// As its crews have it at this many times the usual speed: all that is known where dampers have no signal.
    Practised(f64),
}

impl ZoneExhaust {
    /// Dry air drawn, kg/h. Without a damper signal an opening tells nothing, and the usual exhaust stands.
    #[must_use]
    pub fn draws_kg_h(&self, draught: Draught, damper: &DamperCurve) -> f64 {
        match (draught, self.usual_opening) {
            (Draught::Ratio(ratio), _) => self.usual_kg_h * ratio,
            (Draught::Opening(opening), Some(usual)) => self.usual_kg_h * damper.share(opening) / damper.share(usual),
            (Draught::Practised(speed), _) => self.usual_kg_h * speed.powf(damper.by_speed),
            (Draught::Opening(_), None) => self.usual_kg_h,
        }
    }

    /// The draught that draws this much, as an opening where the damper has a signal. An opening of 1 may draw less.
    #[must_use]
    pub fn draught_for(&self, kg_h: f64, damper: &DamperCurve) -> Draught {
        let ratio = kg_h / self.usual_kg_h;
        self.usual_opening
            .map_or(Draught::Ratio(ratio), |usual| Draught::Opening(damper.opening(ratio * damper.share(usual))))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn opening_undoes_share() {
        let damper = DamperCurve { power: 1.7, by_speed: 1.0 };
        for percent in 0..=100 {
            let opening = f64::from(percent) / 100.0;
            assert!((damper.opening(damper.share(opening)) - opening).abs() < 1e-9, "{opening}");
        }
        assert_eq!(damper.opening(2.0), 1.0);
        assert_eq!(damper.share(0.0), LEAK);
    }

    #[test]
    fn a_draught_is_found_for_what_is_to_be_drawn() {
        let damper = &DamperCurve { power: 1.7, by_speed: 1.0 };
        let exhaust = ZoneExhaust { usual_kg_h: 400.0, usual_opening: Some(0.45) };
        assert!((exhaust.draws_kg_h(Draught::Opening(0.45), damper) - 400.0).abs() < 1e-9);
        let draught = exhaust.draught_for(520.0, damper);
        assert!((exhaust.draws_kg_h(draught, damper) - 520.0).abs() < 1e-9, "{draught:?}");
        let unseen = ZoneExhaust { usual_opening: None, ..exhaust };
        assert_eq!(unseen.draught_for(520.0, damper), Draught::Ratio(1.3));
    }
}
