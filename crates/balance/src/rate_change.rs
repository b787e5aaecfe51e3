//! The record of a rate change: proposed, agreed by those who answer for it, made, and looked at a day later.

use std::fmt;

use reading::{Span, Timestamp};
use serde::{Deserialize, Serialize};
use thiserror::Error;

use crate::review::{RemedyKind, ZoneProfile};

/// What came is looked at when a change has stood this long.
pub const LOOKED_AT_AFTER: Span = Span::minutes(24 * 60);

/// Who has to agree.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Role {
    /// Those who need the output.
    Production,
    /// Those who answer for the product and the oven's settings.
    Process,
    /// Those who keep the oven, its burners and fans.
    Maintenance,
}

impl Role {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Production, Self::Process, Self::Maintenance];

    /// In words, and on the command line.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Production => "production",
            Self::Process => "process",
            Self::Maintenance => "maintenance",
        }
    }
}

/// Somebody, at a time.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Signature {
    /// Who.
    pub by: String,
    /// When.
    pub at: Timestamp,
}

/// An agreement.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Agreement {
    /// In which role.
    pub role: Role,
    /// Who and when.
    pub signed: Signature,
}

/// A zone a day later.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ZoneOutcome {
    /// What was foretold.
    pub foretold: ZoneProfile,
    /// What came: the mean at rest at the new speed, % vol.
    pub came_pct: f64,
    /// Whether that lies in the band.
    pub inside: bool,
}

/// What came of a change.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Outcome {
    /// Who looked, and when.
    pub looked: Signature,
    /// Hours at rest at the new speed that it rests on.
    pub hours: f64,
    /// Zone by zone.
    pub zones: Vec<ZoneOutcome>,
}

/// A rate change and what became of it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RateChange {
    /// Such as `tunnel-1/rate/3`.
    pub id: String,
    /// The line.
    pub line: String,
    /// The product's code.
    pub product: String,
    /// Usual speed when it was proposed, m/min.
    pub from_m_min: f64,
    /// Speed proposed, m/min.
    pub to_m_min: f64,
    /// With which remedy; none if nothing but the band is to be touched.
    pub remedy: Option<RemedyKind>,
    /// What for.
    pub reason: String,
    /// The balance that was asked.
    pub balance: String,
    /// What it foretold.
    pub foretold: Vec<ZoneProfile>,
    /// The chance of carryover that it foretold, %.
    pub carryover_chance_pct: f64,
    /// Who proposed it, and when.
    pub proposed: Signature,
    /// Who has agreed.
    pub agreed: Vec<Agreement>,
    /// Who made it, and when.
    pub made: Option<Signature>,
    /// What came of it.
    pub outcome: Option<Outcome>,
}

/// How far a rate change has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum RateChangeState {
    /// Not everybody has agreed.
    Proposed,
    /// Everybody has agreed.
    Agreed,
    /// The band runs at the new speed.
    Made,
    /// What came of it has been looked at.
    LookedAt,
}

/// A step that is not possible.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum RateChangeRefusal {
    /// Nobody's name.
    #[error("needs a name")]
    NoName,
    /// That role has agreed.
    #[error("has been agreed by {role} already: {by}")]
    AgreedAlready {
        /// Which.
        role: &'static str,
        /// Who.
        by: String,
    },
    /// It has been made.
    #[error("was made already by {by}")]
    MadeAlready {
        /// Who.
        by: String,
    },
    /// Not everybody has agreed.
    #[error("has not been agreed by {0}: `ovenward rate agree`")]
    NotAgreed(String),
    /// It has not been made.
    #[error("has not been made: `ovenward rate made`")]
    NotMade,
    /// Too soon.
    #[error("has not stood for 24 h; look again after {0}")]
    TooSoon(Timestamp),
    /// No time can be before the one it follows.
    #[error("cannot be made before it was agreed")]
    BeforeAgreement,
}

impl RateChange {
    /// How far it has come.
    #[must_use]
    pub fn state(&self) -> RateChangeState {
        match (&self.outcome, &self.made, self.not_agreed().is_empty()) {
            (Some(_), ..) => RateChangeState::LookedAt,
            (None, Some(_), _) => RateChangeState::Made,
            (None, None, true) => RateChangeState::Agreed,
            (None, None, false) => RateChangeState::Proposed,
        }
    }

    /// The roles that have not agreed.
    #[must_use]
    pub fn not_agreed(&self) -> Vec<Role> {
        let agreed = |role: &Role| self.agreed.iter().any(|agreement| agreement.role == *role);
        Role::ALL.into_iter().filter(|role| !agreed(role)).collect()
    }

    /// Notes that a role agrees.
    ///
    /// # Errors
    /// No name, that role has agreed, or the change has been made.
    pub fn agree(&mut self, role: Role, by: &str, at: Timestamp) -> Result<(), RateChangeRefusal> {
        let signed = Signature::of(by, at)?;
        if let Some(before) = self.agreed.iter().find(|agreement| agreement.role == role) {
            return Err(RateChangeRefusal::AgreedAlready { role: role.name(), by: before.signed.by.clone() });
        }
        self.agreed.push(Agreement { role, signed });
        self.agreed.sort_by_key(|agreement| agreement.role);
        Ok(())
    }

    /// Notes that the band runs at the new speed.
    ///
    /// # Errors
    /// No name, not everybody has agreed, or it has been made.
    pub fn make(&mut self, by: &str, at: Timestamp) -> Result<(), RateChangeRefusal> {
        let signed = Signature::of(by, at)?;
        if let Some(made) = &self.made {
            return Err(RateChangeRefusal::MadeAlready { by: made.by.clone() });
        }
        let missing: Vec<&str> = self.not_agreed().into_iter().map(Role::name).collect();
        if !missing.is_empty() {
            return Err(RateChangeRefusal::NotAgreed(missing.join(", ")));
        }
        if self.agreed.iter().any(|agreement| agreement.signed.at > at) {
            return Err(RateChangeRefusal::BeforeAgreement);
        }
        self.made = Some(signed);
        Ok(())
    }

    /// From when on what came can be looked at, and until when it counts.
    ///
    /// # Errors
    /// It has not been made, or has not stood for 24 h.
    pub fn day_after(&self, now: Timestamp) -> Result<(Timestamp, Timestamp), RateChangeRefusal> {
        let made = self.made.as_ref().ok_or(RateChangeRefusal::NotMade)?.at;
        let until = made + LOOKED_AT_AFTER;
        if now < until { Err(RateChangeRefusal::TooSoon(until)) } else { Ok((made, until)) }
    }

    /// Notes what came, from means of the zones in % vol at rest at the new speed; a zone of which nothing is known is left
    /// out.
    ///
    /// # Errors
    /// No name, it has not been made, or has not stood for 24 h.
    pub fn look_at(
        &mut self,
        came_pct: &[Option<f64>],
        hours: f64,
        by: &str,
        at: Timestamp,
    ) -> Result<(), RateChangeRefusal> {
        let looked = Signature::of(by, at)?;
        self.day_after(at)?;
        let zone = |(foretold, came_pct): (&ZoneProfile, &Option<f64>)| {
            let came_pct = (*came_pct)?;
            let inside = (foretold.low_pct..=foretold.high_pct).contains(&came_pct);
            Some(ZoneOutcome { foretold: *foretold, came_pct, inside })
        };
        let zones = self.foretold.iter().zip(came_pct).filter_map(zone).collect();
        self.outcome = Some(Outcome { looked, hours, zones });
        Ok(())
    }

    /// Whether it speaks of a rise to this speed (m/min) that began then: agreed before, and to no less than 2 % below.
    #[must_use]
    pub fn reviews(&self, line: &str, product: Option<&str>, to_m_min: f64, began: Timestamp) -> bool {
        let before = self.not_agreed().is_empty() && self.agreed.iter().all(|agreement| agreement.signed.at <= began);
        self.line == line && product == Some(&self.product) && before && self.to_m_min >= 0.98 * to_m_min
    }
}

impl Signature {
    /// Somebody with a name.
    ///
    /// # Errors
    /// The name is empty.
    pub fn of(by: &str, at: Timestamp) -> Result<Self, RateChangeRefusal> {
        let by = by.trim();
        if by.is_empty() { Err(RateChangeRefusal::NoName) } else { Ok(Self { by: by.to_owned(), at }) }
    }
}

impl fmt::Display for RateChangeState {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::Proposed => "proposed",
            Self::Agreed => "agreed",
            Self::Made => "made",
            Self::LookedAt => "looked at",
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(hour: i64) -> Timestamp {
        Timestamp(0) + Span::minutes(60 * hour)
    }

    fn proposed() -> RateChange {
        let zone = |zone, moisture_pct| ZoneProfile {
            zone,
            moisture_pct,
            low_pct: moisture_pct - 1.0,
            high_pct: moisture_pct + 1.0,
        };
        RateChange {
            id: "tunnel-1/rate/1".into(),
            line: "tunnel-1".into(),
            product: "T800".into(),
            from_m_min: 1.17,
            to_m_min: 1.3,
            remedy: None,
            reason: "order of June".into(),
            balance: "tunnel-1/T800/1".into(),
            foretold: vec![zone(1, 42.0), zone(2, 21.0), zone(3, 10.0)],
            carryover_chance_pct: 40.0,
            proposed: Signature { by: "Ann".into(), at: at(1) },
            agreed: Vec::new(),
            made: None,
            outcome: None,
        }
    }

    fn agreed() -> RateChange {
        let mut change = proposed();
        for (hour, role) in [(4, Role::Maintenance), (2, Role::Production), (3, Role::Process)] {
            assert_eq!(change.state(), RateChangeState::Proposed);
            change.agree(role, "Bo", at(hour)).unwrap();
        }
        change
    }

    #[test]
    fn it_is_made_when_all_three_have_agreed_and_looked_at_a_day_later() {
        let mut change = agreed();
        assert_eq!(change.state(), RateChangeState::Agreed);
        change.make("Cy", at(5)).unwrap();
        assert_eq!(change.state(), RateChangeState::Made);
        let came = [Some(42.0), None, Some(12.0)];
        assert_eq!(change.look_at(&came, 3.0, "Ann", at(28)), Err(RateChangeRefusal::TooSoon(at(29))));
        change.look_at(&came, 3.0, "Ann", at(29)).unwrap();
        assert_eq!(change.state(), RateChangeState::LookedAt);
        let zones = change.outcome.unwrap().zones;
        let told: Vec<(usize, bool)> = zones.iter().map(|zone| (zone.foretold.zone, zone.inside)).collect();
        assert_eq!(told, [(1, true), (3, false)], "nothing is known of zone 2");
    }

    #[test]
    fn what_is_not_possible_is_refused_with_the_reason() {
        let mut change = proposed();
        assert_eq!(change.agree(Role::Process, " ", at(2)), Err(RateChangeRefusal::NoName));
        change.agree(Role::Process, "Bo", at(2)).unwrap();
        let twice = change.agree(Role::Process, "Cy", at(3)).unwrap_err();
        assert_eq!(twice.to_string(), "has been agreed by process already: Bo");
        let early = change.make("Cy", at(3)).unwrap_err();
        assert_eq!(early.to_string(), "has not been agreed by production, maintenance: `ovenward rate agree`");
        assert_eq!(change.day_after(at(99)), Err(RateChangeRefusal::NotMade));
        let mut change = agreed();
        assert_eq!(change.make("Cy", at(3)), Err(RateChangeRefusal::BeforeAgreement));
        change.make("Cy", at(5)).unwrap();
        assert_eq!(change.make("Di", at(6)), Err(RateChangeRefusal::MadeAlready { by: "Cy".into() }));
    }

    #[test]
    fn a_rise_is_reviewed_by_a_change_that_was_agreed_before_it_and_reaches_as_far() {
        let change = agreed();
        assert!(change.reviews("tunnel-1", Some("T800"), 1.31, at(5)));
        assert!(!change.reviews("tunnel-1", Some("T800"), 1.31, at(3)), "maintenance agreed at 4");
        assert!(!change.reviews("tunnel-1", Some("T800"), 1.40, at(5)));
        assert!(!change.reviews("tunnel-2", Some("T800"), 1.31, at(5)));
        assert!(!change.reviews("tunnel-1", Some("B400"), 1.31, at(5)));
        assert!(!proposed().reviews("tunnel-1", Some("T800"), 1.31, at(5)));
    }
}
