//! The part of this site in the lake of all plants: what belongs there, what waits, and bringing it there.
//!
//! ```text
//! store (days over) ─▶ due ─▶ day  (readings, tables, stretches) ─┬─▶ lake: objects, then the day's manifest ─▶ note
//! config, normals   ─▶ due ─▶ plant (plant, normals, profiles)   ─┘
//! ```
//!
//! The store is the queue: what waits is worked out from what it holds and from its notes of what was published. A day's
//! manifest is the last thing written there, and the note of it the last thing written here, so that an end at any line
//! leaves the day to be done again, and what was sent of it is not sent twice.

mod day;
mod due;
mod plant;
#[cfg(test)]
mod tests;
mod verify;

use std::hash::{BuildHasher, RandomState};
use std::sync::Arc;

use ::lake::{Brought, Chapter, How, LakeError, Manifest, NewObject, Object, Place, SiteLake};
use anyhow::{Result, bail};
use reading::{Plant, Timestamp};
use store::Store;

use crate::config::Settings;
use crate::normal_files::NormalFiles;

pub(crate) use due::Due;
pub(crate) use verify::{Finding, Verified};

/// Under which the store keeps by which name its site's part is claimed.
const IDENTITY: &str = "lake-identity";

/// This site, its store and its part of the lake.
pub(crate) struct LakeCopy {
    settings: Arc<Settings>,
    plant: Arc<Plant>,
    store: Store,
    normals: NormalFiles,
    place: Place,
    site: SiteLake,
}

/// What became of something that waited.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(crate) struct Sent {
    /// Objects that were sent.
    pub(crate) objects: usize,
    /// Their size.
    pub(crate) bytes: u64,
    /// Objects that were there already.
    pub(crate) there: usize,
    /// Objects that were there with another content, and were sent again.
    pub(crate) again: usize,
}

impl Sent {
    fn count(&mut self, brought: &Brought) {
        match brought.how {
            How::WasThere => self.there += 1,
            How::Sent | How::SentAgain => {
                self.objects += 1;
                self.bytes += brought.object.bytes;
                self.again += usize::from(brought.how == How::SentAgain);
            }
        }
    }

    /// Both together.
    pub(crate) fn plus(self, other: Self) -> Self {
        Self {
            objects: self.objects + other.objects,
            bytes: self.bytes + other.bytes,
            there: self.there + other.there,
            again: self.again + other.again,
        }
    }
}

/// How an attempt to publish a chapter ended.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Pushed {
    /// It is published.
    Done(Sent),
    /// Its files were joined or dropped meanwhile: it is looked at anew the next time.
    Changed,
    /// The lake has more of that day than the store; which line, and how much more, in words.
    Held(String),
}

impl LakeCopy {
    /// Makes the client of the lake; asks nobody yet. `None` if the config names no lake.
    ///
    /// # Errors
    /// The key cannot be read, or the settings do not go together.
    pub(crate) fn open(settings: &Arc<Settings>, store: &Store) -> Result<Option<Self>, LakeError> {
        let Some(lake) = &settings.lake else { return Ok(None) };
        let plant = Arc::new(settings.plant.clone());
        let site = SiteLake::open(&lake.access, &plant.site)?;
        let normals = NormalFiles::new(&settings.data_dir);
        let (settings, store, place) = (settings.clone(), store.clone(), lake.access.place.clone());
        Ok(Some(Self { settings, plant, store, normals, place, site }))
    }

    /// Where the lake is.
    pub(crate) fn place(&self) -> &Place {
        &self.place
    }

    /// Claims the site's part for this store, which gets a name for that the first time. What was noted while it was
    /// another's says nothing any more: everything waits again, and what is there as it should be is not sent again.
    ///
    /// # Errors
    /// It belongs to another store and is not to be taken over; it cannot be read or written.
    pub(crate) async fn claim(&self, take_over: bool) -> Result<()> {
        let identity = match self.store.meta(IDENTITY)? {
            Some(identity) => identity,
            None => {
                // Keyed anew each time: two stores do not get one name by chance.
                let identity = format!("store-{:016x}", RandomState::new().hash_one(&self.plant.site));
                self.store.set_meta(IDENTITY, &identity)?;
                identity
            }
        };
        if self.site.claim(&identity, take_over).await? {
            self.forget_all()?;
        }
        Ok(())
    }

    /// Everything that waits, one after the other; gives what waits still, in words.
    ///
    /// # Errors
    /// Why it could not go on. What was published is.
    pub(crate) async fn push_all(&self, now: Timestamp) -> Result<Vec<String>> {
        let mut held = Vec::new();
        for due in self.due(now)? {
            match self.push(&due, false).await? {
                Pushed::Done(sent) if sent.objects > 0 => {
                    tracing::info!(chapter = %due.chapter, objects = sent.objects, bytes = sent.bytes, "sent to the lake");
                }
                Pushed::Done(_) | Pushed::Changed => {}
                Pushed::Held(why) => held.push(why),
            }
        }
        Ok(held)
    }

    /// Publishes one chapter. `replace` also puts a day in the place of one that has more readings.
    ///
    /// # Errors
    /// The store or the lake. The chapter as it was published before counts until this one does.
    pub(crate) async fn push(&self, due: &Due, replace: bool) -> Result<Pushed> {
        let there = self.site.manifest(due.chapter).await?;
        if let Some(there) = there.as_ref().filter(|_| !replace)
            && let Some(why) = due.falls_short_of(there)
        {
            return Ok(Pushed::Held(why));
        }
        let mut sent = Sent::default();
        let objects = match due.chapter {
            Chapter::Day(_) => self.bring_day(due, &mut sent).await?,
            Chapter::Plant => Some(self.bring_plant(&mut sent).await?),
        };
        let Some(objects) = objects else { return Ok(Pushed::Changed) };
        let manifest = Manifest::new(&self.plant.site, due.chapter, env!("CARGO_PKG_VERSION"), objects);
        if there.as_ref() != Some(&manifest) {
            self.site.publish(&manifest).await?;
        }
        self.note(due)?;
        Ok(Pushed::Done(sent))
    }

    async fn bring(&self, new: NewObject, sent: &mut Sent) -> Result<Object> {
        let brought = self.site.bring(new).await?;
        sent.count(&brought);
        Ok(brought.object)
    }

    /// Every manifest of the site, by its day.
    ///
    /// # Errors
    /// One cannot be read.
    pub(crate) async fn manifests(&self) -> Result<Vec<Manifest>, LakeError> {
        self.site.manifests().await
    }
}

/// `check --connect`: whether the lake takes, gives back and lists something small.
///
/// # Errors
/// What it does not do.
pub(crate) async fn try_out(settings: &Settings) -> Result<()> {
    let Some(lake) = &settings.lake else { bail!("the config names no lake") };
    Ok(SiteLake::open(&lake.access, &settings.plant.site)?.try_out().await?)
}
