//! Normals as their files have them.

use normal_profile::Standing;
use reading::Timestamp;
use web::api::{Band, Normal, NormalDifference, NormalSpeed, Refusal, ZoneNormal};

use super::same::same;
use super::{Api, failed, refusal};
use crate::commands::normals::{self, Shown};

impl Api {
    pub(super) fn list_normals(&self) -> Result<Vec<Normal>, Refusal> {
        Ok(self.files.all().map_err(failed)?.iter().map(described).collect())
    }

    pub(super) fn normal_of(&self, id: &str) -> Result<Normal, Refusal> {
        self.found(id).map(|normal| described(&normal))
    }

    pub(super) fn difference_of(&self, before: &str, after: &str) -> Result<NormalDifference, Refusal> {
        let (before, after) = (self.found(before)?, self.found(after)?);
        same(&normals::NormalDifference::between(&before, &after).map_err(refusal)?)
    }

    pub(super) fn found(&self, id: &str) -> Result<normal_profile::Normal, Refusal> {
        let found = self.files.find(id).map_err(failed)?;
        found.ok_or_else(|| Refusal::NotFound(format!("There is no normal {id:?}. /api/v1/normals lists them.")))
    }
}

fn described(normal: &normal_profile::Normal) -> Normal {
    let (key, record) = (normal.key(), normal.record());
    let (by, at) = match &record.standing {
        Standing::Proposed => (None, None),
        Standing::Approved { by, at } | Standing::Retired { by, at } => (Some(by.clone()), Some(at.clone())),
    };
    let (slowest, fastest) = normals::learned_speeds(normal);
    let band = |shown: Shown| Band { usual: shown.usual, low: shown.low, high: shown.high };
    let at_speed = |speed| NormalSpeed {
        speed_m_min: speed,
        zones: (1..)
            .zip(&normal.expect(physics::units::MetrePerMinute(speed)).zones)
            .map(|(zone, expected)| ZoneNormal {
                zone,
                moisture_pct: band(Shown::humidity(expected)),
                air_temperature_c: Shown::temperature(expected).map(band),
            })
            .collect(),
    };
    Normal {
        id: key.to_string(),
        line: key.line.clone(),
        product: key.product.clone(),
        version: key.version,
        standing: normals::standing(normal).into(),
        by,
        at,
        learned_from: Timestamp(record.data.from_us).to_string(),
        learned_to: Timestamp(record.data.to_us).to_string(),
        hours: record.data.hours,
        runs: record.data.runs,
        windows_used: record.data.windows_used,
        windows_left_out: record.data.windows_given - record.data.windows_used,
        slowest_m_min: slowest.0,
        fastest_m_min: fastest.0,
        rises_learned_from: record.rises.as_ref().map_or(0, |rises| rises.used),
        ways_of_running_pct: record.mixture.components.iter().map(|way| way.weight * 100.0).collect(),
        at_speeds: normals::speeds_between(slowest, fastest).map(|speed| at_speed(speed.0)).into(),
    }
}
