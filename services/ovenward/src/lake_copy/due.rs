//! What waits to be published, and the notes of what was.

use std::collections::{BTreeMap, BTreeSet};

use ::lake::{Chapter, Manifest, sha256};
use anyhow::Result;
use chrono::{NaiveDate, NaiveTime};
use reading::{ShiftCalendar, ShiftInstance, Span, Timestamp};
use serde::{Deserialize, Serialize};
use store::SealedFile;

use super::LakeCopy;
use crate::stored::LEAD;

const DAY: Span = Span::minutes(24 * 60);

/// A chapter that waits.
#[derive(Debug, Clone)]
pub(crate) struct Due {
    /// Which.
    pub(crate) chapter: Chapter,
    /// The sealed readings of that day.
    pub(super) files: Vec<SealedFile>,
    /// The shifts whose last moment lies in that day.
    pub(super) shifts: Vec<ShiftInstance>,
    /// What is noted once it is published.
    made_of: MadeOf,
}

/// What a published chapter was made of, by short checksums: it waits again when something is new.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
struct MadeOf {
    /// The plant as the config says it.
    plant: String,
    /// Sealed files: of the day, and of those before it that its shifts reach into. Of the plant: normals.
    inputs: BTreeSet<String>,
}

impl MadeOf {
    /// Whether a day made of these has to be made again. What is gone is no reason: readings that grew too old here
    /// stay in the lake, and tables made without them would be worse.
    fn differs_from(&self, noted: &Self) -> bool {
        let something_new = !self.inputs.is_subset(&noted.inputs);
        let nothing_gone = noted.inputs.is_subset(&self.inputs);
        something_new || (self.plant != noted.plant && nothing_gone)
    }
}

impl Due {
    /// Why this must not take the place of what is there: it would show less.
    pub(super) fn falls_short_of(&self, there: &Manifest) -> Option<String> {
        let lines: BTreeSet<&str> = there.objects.iter().filter_map(|object| object.line.as_deref()).collect();
        lines.into_iter().find_map(|line| {
            let stored: u64 = self.files.iter().filter(|file| file.line == line).map(|file| file.rows).sum();
            let shown = there.readings_of(line);
            let Chapter::Day(date) = self.chapter else { return None };
            (shown > stored).then(|| {
                format!(
                    "the lake has {shown} readings of {line} on {date} and the store {stored}: the day stays there as \
                     it is; load what is missing here, or put up with it by `ovenward lake push --replace {date}`"
                )
            })
        })
    }
}

impl LakeCopy {
    /// What waits: the plant first, then days, oldest first.
    ///
    /// # Errors
    /// The store or the normals cannot be read.
    pub(crate) fn due(&self, now: Timestamp) -> Result<Vec<Due>> {
        Ok(self.chapters(now)?.into_iter().filter(|(_, noted, due)| due.waits(noted)).map(|(.., due)| due).collect())
    }

    /// Everything of this store that belongs into the lake, and what is noted of it.
    pub(super) fn chapters(&self, now: Timestamp) -> Result<Vec<(Chapter, Option<MadeOfNote>, Due)>> {
        let notes: BTreeMap<String, String> = self.store.metas(&self.note_key(""))?.into_iter().collect();
        let noted = |chapter: Chapter| {
            let text = notes.get(&self.note_key(&chapter.to_string()))?;
            Some(MadeOfNote(serde_json::from_str(text).ok()?))
        };
        let mut due = vec![self.plant_chapter()?];
        due.extend(self.day_chapters(now, &due[0].made_of.plant)?);
        Ok(due.into_iter().map(|due| (due.chapter, noted(due.chapter), due)).collect())
    }

    fn plant_chapter(&self) -> Result<Due> {
        let plant = short(&sha256(self.plant_file()?.as_bytes()));
        let normals = self.normals.all()?;
        let inputs = normals.iter().map(|normal| short(&sha256(normal.to_json().as_bytes()))).collect();
        let made_of = MadeOf { plant, inputs };
        Ok(Due { chapter: Chapter::Plant, files: Vec::new(), shifts: Vec::new(), made_of })
    }

    fn day_chapters(&self, now: Timestamp, plant: &str) -> Result<Vec<Due>> {
        let until = (now - self.settings.store.seal_after).floor(DAY);
        let mut files: BTreeMap<NaiveDate, Vec<SealedFile>> = BTreeMap::new();
        for file in self.store.sealed_before(until)? {
            files.entry(file.date).or_default().push(file);
        }
        let calendar = &self.plant.shifts;
        // A shift may end on a day of which there are no readings at all.
        let reached = files.keys().flat_map(|date| calendar.between(starts(*date), starts(*date) + DAY));
        let reached = reached.filter(|shift| shift.ends <= until).filter_map(|shift| date(last_moment(&shift)));
        let days: BTreeSet<NaiveDate> = files.keys().copied().chain(reached).collect();
        let due = |day: NaiveDate| {
            let shifts = ended_on(calendar, day);
            let from = shifts.first().and_then(|shift| date(shift.starts - LEAD)).unwrap_or(day).min(day);
            let inputs = files.range(from..=day).flat_map(|(_, files)| files).map(fingerprint).collect();
            let made_of = MadeOf { plant: plant.to_owned(), inputs };
            let files = files.get(&day).cloned().unwrap_or_default();
            Due { chapter: Chapter::Day(day), files, shifts, made_of }
        };
        Ok(days.into_iter().map(due).collect())
    }

    /// Notes that a chapter is published.
    pub(super) fn note(&self, due: &Due) -> Result<()> {
        let text = serde_json::to_string(&due.made_of)?;
        Ok(self.store.set_meta(&self.note_key(&due.chapter.to_string()), &text)?)
    }

    /// Makes a chapter wait again.
    pub(super) fn forget(&self, chapter: Chapter) -> Result<()> {
        let nothing = serde_json::to_string(&MadeOf::default())?;
        Ok(self.store.set_meta(&self.note_key(&chapter.to_string()), &nothing)?)
    }

    /// Makes everything wait again.
    pub(super) fn forget_all(&self) -> Result<()> {
        let nothing = serde_json::to_string(&MadeOf::default())?;
        let notes = self.store.metas(&self.note_key(""))?;
        Ok(notes.iter().try_for_each(|(key, _)| self.store.set_meta(key, &nothing))?)
    }

    /// With the place in it: another lake has everything before it.
    fn note_key(&self, chapter: &str) -> String {
        format!("lake/{}/{chapter}", self.place)
    }
}

/// What is noted of a chapter that was published.
pub(super) struct MadeOfNote(MadeOf);

impl Due {
    fn waits(&self, noted: &Option<MadeOfNote>) -> bool {
        match (noted, self.chapter) {
            (None, _) => true,
            (Some(MadeOfNote(noted)), Chapter::Plant) => self.made_of != *noted,
            (Some(MadeOfNote(noted)), Chapter::Day(_)) => self.made_of.differs_from(noted),
        }
    }
}

fn ended_on(calendar: &ShiftCalendar, day: NaiveDate) -> Vec<ShiftInstance> {
    let mut shifts = calendar.between(starts(day), starts(day) + DAY);
    shifts.retain(|shift| date(last_moment(shift)) == Some(day));
    shifts
}

fn last_moment(shift: &ShiftInstance) -> Timestamp {
    shift.ends - Span(1)
}

fn starts(day: NaiveDate) -> Timestamp {
    Timestamp::from(day.and_time(NaiveTime::MIN).and_utc())
}

fn date(time: Timestamp) -> Option<NaiveDate> {
    time.to_utc().map(|time| time.date_naive())
}

fn fingerprint(file: &SealedFile) -> String {
    short(&sha256(format!("{} {} {:?}", file.path.display(), file.bytes, file.checksum).as_bytes()))
}

fn short(checksum: &str) -> String {
    checksum.chars().take(16).collect()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn made_of(plant: &str, inputs: &[&str]) -> MadeOf {
        MadeOf { plant: plant.into(), inputs: inputs.iter().map(|input| (*input).to_owned()).collect() }
    }

    #[test]
    fn a_day_waits_for_what_is_new_and_not_for_what_is_gone() {
        let noted = made_of("plant-1", &["before", "day"]);
        assert!(!made_of("plant-1", &["before", "day"]).differs_from(&noted));
        assert!(made_of("plant-1", &["before", "day", "late"]).differs_from(&noted));
        assert!(made_of("plant-1", &["before", "joined"]).differs_from(&noted));
        assert!(made_of("plant-2", &["before", "day"]).differs_from(&noted));
        assert!(!made_of("plant-1", &["day"]).differs_from(&noted), "the day before grew too old");
        assert!(!made_of("plant-2", &["day"]).differs_from(&noted), "a table without its lead would be worse");
        assert!(made_of("plant-1", &["day"]).differs_from(&MadeOf::default()), "forgotten");
    }

    #[test]
    fn a_shift_belongs_to_the_day_of_its_last_moment() {
        let settings =
            crate::config::parse(include_str!("../../../../config/test-day.toml"), std::path::Path::new("plant.toml"));
        let calendar = settings.unwrap().plant.shifts;
        let day = |text: &str| ended_on(&calendar, text.parse().unwrap());
        let named =
            |text: &str| day(text).iter().map(|shift| format!("{} {}", shift.date, shift.name)).collect::<Vec<_>>();
        // Summer time in London: 22:00 to 06:00 local is 21:00 to 05:00 UTC.
        assert_eq!(named("2026-06-03"), ["2026-06-02 night", "2026-06-03 early", "2026-06-03 late"]);
        // In winter it is the same hours on both clocks.
        assert_eq!(named("2026-12-03"), ["2026-12-02 night", "2026-12-03 early", "2026-12-03 late"]);
    }
}
