//! Runs of a travelling logger: looked at and kept as the command `transit` does.

use physics::units::MetrePerMinute;
use reading::LineIndex;
use store::StoreError;
use web::api::{
    KeptTransitRun, LeftOutRows, Refusal, TransitAnswers, TransitChange, TransitColumns, TransitComparison,
    TransitFile, TransitRun, TransitSummary,
};

use super::same::same;
use super::{Api, failed, timestamp};
use crate::transit::{
    FileColumns, KeptRuns, LoggerFile, Naming, ReviewInput, RunReview, alike, changes, read_samples, review, write_page,
};

/// What the file is called where something is wrong with it.
const NAME: &str = "the file";

impl TransitAnswers for Api {
    fn keep_transit_run(&self, file: &TransitFile) -> Result<KeptTransitRun, Refusal> {
        let line = self.line_of_run(file.line.as_deref())?;
        if file.speed_m_min.is_some_and(|speed| !(0.01..=60.0).contains(&speed)) {
            return Err(Refusal::Wrong("\"speed_m_min\" is a band speed of 0.01 to 60 m/min.".into()));
        }
        if let Some(code) = file.product.as_deref().filter(|code| self.plant.product(code).is_none()) {
            let known: Vec<&str> = self.plant.products.iter().map(|product| &*product.code).collect();
            return Err(Refusal::NotFound(format!("There is no product {code:?}. Write one of {}.", known.join(", "))));
        }
        let (zone, pressure) = (self.plant.shifts.time_zone(), self.plant.pressure);
        let LoggerFile { samples, left_out } =
            read_samples(NAME, file.csv.as_slice(), &columns(&file.columns), zone, pressure).map_err(wrong)?;
        let normals = self.approved()?;
        let run = review(&ReviewInput {
            store: &self.store,
            normals: &normals,
            plant: &self.plant,
            settings: &self.settings,
            line,
            samples: &samples,
            entered: file.entered.map(timestamp),
            speed: file.speed_m_min.map(MetrePerMinute),
            product: file.product.as_deref(),
            injectors: &file.injectors_m,
            naming: Naming::Parameters,
        });
        // What the store does not give is not for the sender to put right; all else is about the file.
        let run = run.map_err(|error| if error.is::<StoreError>() { failed(error) } else { wrong(error) })?;
        self.kept_runs().keep(&run).map_err(failed)?;
        Ok(KeptTransitRun { run: same(&run)?, left_out: left_out.map(|(rows, first)| LeftOutRows { rows, first }) })
    }

    fn transit_runs(&self, line: Option<&str>) -> Result<Vec<TransitSummary>, Refusal> {
        if let Some(line) = line {
            self.line(line)?;
        }
        let mut runs = self.kept_runs().all().map_err(failed)?;
        runs.retain(|run| line.is_none_or(|line| line == run.line));
        runs.sort_by_key(|run| std::cmp::Reverse(run.entered));
        Ok(runs.into_iter().map(summary).collect())
    }

    fn transit_run(&self, id: &str) -> Result<TransitRun, Refusal> {
        same(&self.kept_run(id)?)
    }

    fn transit_sheet(&self, id: &str) -> Result<String, Refusal> {
        let mut page = Vec::new();
        write_page(&self.kept_run(id)?, &self.plant.shifts, &mut page).map_err(failed)?;
        String::from_utf8(page).map_err(failed)
    }

    fn transit_comparison(&self, before: &str, after: &str) -> Result<TransitComparison, Refusal> {
        let (before, after) = (self.kept_run(before)?, self.kept_run(after)?);
        let row = |change: crate::transit::Change| TransitChange {
            change: change.difference(),
            what: change.what,
            unit: change.unit.into(),
            before: change.before,
            after: change.after,
        };
        Ok(TransitComparison {
            alike: alike(&before, &after),
            rows: changes(&before, &after).into_iter().map(row).collect(),
            before: same(&before)?,
            after: same(&after)?,
        })
    }
}

impl Api {
    fn kept_runs(&self) -> KeptRuns {
        KeptRuns::new(&self.settings.data_dir)
    }

    fn kept_run(&self, id: &str) -> Result<RunReview, Refusal> {
        let found = self.kept_runs().all().map_err(failed)?.into_iter().find(|run| run.id == id);
        found.ok_or_else(|| Refusal::NotFound(format!("There is no run {id:?}. /api/v1/transit-runs lists them.")))
    }

    /// The line that is named, or the only one.
    fn line_of_run(&self, named: Option<&str>) -> Result<LineIndex, Refusal> {
        match (named, self.plant.lines.as_slice()) {
            (Some(named), _) => Ok(self.line(named)?.0),
            (None, [_]) => Ok(LineIndex(0)),
            (None, several) => {
                let ids: Vec<&str> = several.iter().map(|line| &*line.id).collect();
                Err(Refusal::Wrong(format!("Write \"line\" with one of {}.", ids.join(", "))))
            }
        }
    }
}

fn wrong(error: anyhow::Error) -> Refusal {
    Refusal::Wrong(format!("{error:#}."))
}

fn columns(named: &TransitColumns) -> FileColumns {
    let usual = FileColumns::default();
    FileColumns {
        time_column: named.time.clone().unwrap_or(usual.time_column),
        temperature_column: named.temperature.clone().unwrap_or(usual.temperature_column),
        dew_point_column: named.dew_point.clone(),
        moisture_column: named.moisture.clone(),
        temperature_unit: named.temperature_unit.clone().unwrap_or(usual.temperature_unit),
        separator: named.separator.unwrap_or(usual.separator),
        naming: Naming::Parameters,
    }
}

fn summary(run: RunReview) -> TransitSummary {
    TransitSummary {
        entered: run.entered.to_string(),
        band_speed_m_min: run.band_speed_m_min,
        is_whole: run.is_whole,
        peak_moisture_pct: run.peak.map(|peak| peak.moisture_pct),
        zone3_moisture_pct: run.zones.get(2).and_then(|zone| zone.moisture_pct),
        dead_injectors: run.injectors.iter().filter(|injector| injector.works == Some(false)).count(),
        id: run.id,
        line: run.line,
        product: run.product,
    }
}
