//! The part of a lake that belongs to one site.

use std::sync::Arc;

use futures_util::TryStreamExt;
use object_store::path::Path;
use object_store::{Error, ObjectStore, ObjectStoreExt, PutMode, PutOptions, PutPayload};
use serde::{Deserialize, Serialize};

use crate::access::Access;
use crate::checksum::sha256;
use crate::error::LakeError;
use crate::layout::{Chapter, Kind};
use crate::manifest::{FORMAT, Manifest, Object};
use crate::open::open;
use crate::place::Place;

/// So many digits of the checksum stand in a name.
const DIGITS_IN_NAME: usize = 16;

/// The part of one site. It can name no path of another: every one it makes has the site's own folder in it.
#[derive(Debug, Clone)]
pub struct SiteLake {
    pub(crate) store: Arc<dyn ObjectStore>,
    pub(crate) place: Place,
    pub(crate) site: Arc<str>,
}

/// Something to be brought.
#[derive(Debug, Clone)]
pub struct NewObject {
    /// What it holds.
    pub kind: Kind,
    /// The folders below the site's, such as `line=tunnel-1/date=2026-11-02`; none if empty.
    pub folders: String,
    /// Its name before the checksum.
    pub name: String,
    /// How its name ends.
    pub ending: &'static str,
    /// What it holds.
    pub bytes: Vec<u8>,
    /// The line it tells of.
    pub line: Option<String>,
    /// How many rows it has.
    pub rows: Option<u64>,
}

/// What became of something that was brought: it is there now, whole.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Brought {
    /// As a manifest lists it.
    pub object: Object,
    /// How it came there.
    pub how: How,
}

/// How an object came to be there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum How {
    /// It was sent.
    Sent,
    /// It was there, whole.
    WasThere,
    /// It was there with another content, and was sent again.
    SentAgain,
}

/// How an object is found that a manifest lists.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Condition {
    /// As it was brought.
    Whole,
    /// Not there.
    Missing,
    /// There, with another content.
    Altered,
}

#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Owner {
    format: String,
    site: String,
    store: String,
}

impl SiteLake {
    /// Makes the client; asks nobody yet. A folder must be there.
    ///
    /// # Errors
    /// The key cannot be read, the settings do not go together, or there is no such folder.
    pub fn open(access: &Access, site: &str) -> Result<Self, LakeError> {
        Ok(Self { store: open(access)?, place: access.place.clone(), site: site.into() })
    }

    /// Brings something there, whole or not at all, and reads it back. What is there already is not sent again; what
    /// is there and differs is, and the log hears of it.
    ///
    /// # Errors
    /// See [`LakeError`]. Nothing counts before a manifest lists it, so the same call may be made again at any time.
    pub async fn bring(&self, new: NewObject) -> Result<Brought, LakeError> {
        let checksum = sha256(&new.bytes);
        let path = self.path_of(&new, &checksum);
        let how = match self.condition(&path, &checksum).await? {
            Condition::Whole => How::WasThere,
            Condition::Missing => How::Sent,
            Condition::Altered => {
                tracing::warn!(place = %self.place, object = %path, "it is not what was sent there: it is sent again");
                How::SentAgain
            }
        };
        let bytes = new.bytes.len() as u64;
        if how != How::WasThere {
            let mode = if how == How::Sent { PutMode::Create } else { PutMode::Overwrite };
            self.put(&path, new.bytes, mode).await?;
            if self.condition(&path, &checksum).await? != Condition::Whole {
                return Err(LakeError::Altered { place: self.place.to_string(), path: path.to_string() });
            }
        }
        let object =
            Object { kind: new.kind, path: path.to_string(), bytes, sha256: checksum, line: new.line, rows: new.rows };
        Ok(Brought { object, how })
    }

    /// Makes this the list of what counts, in place of the one before, and reads it back.
    ///
    /// # Errors
    /// See [`LakeError`]. The list before counts until this one does.
    pub async fn publish(&self, manifest: &Manifest) -> Result<(), LakeError> {
        let path = self.manifest_path(manifest.chapter());
        let bytes = serde_json::to_vec_pretty(manifest).map_err(|error| self.foreign(&path, error))?;
        let checksum = sha256(&bytes);
        self.put(&path, bytes, PutMode::Overwrite).await?;
        match self.condition(&path, &checksum).await? {
            Condition::Whole => Ok(()),
            _ => Err(LakeError::Altered { place: self.place.to_string(), path: path.to_string() }),
        }
    }

    /// What counts of a day or of the plant; `None` if nothing was published of it.
    ///
    /// # Errors
    /// It cannot be read, or is none of this program's. See [`LakeError`].
    pub async fn manifest(&self, chapter: Chapter) -> Result<Option<Manifest>, LakeError> {
        let path = self.manifest_path(chapter);
        let Some(bytes) = self.get(&path).await? else { return Ok(None) };
        let manifest: Manifest = serde_json::from_slice(&bytes).map_err(|error| self.foreign(&path, error))?;
        if manifest.format != FORMAT || *manifest.site != *self.site || manifest.chapter() != chapter {
            return Err(self.foreign(&path, format!("{} of site {}", manifest.format, manifest.site)));
        }
        Ok(Some(manifest))
    }

    /// Every manifest of the site, by its day, the plant's last.
    ///
    /// # Errors
    /// One cannot be read. See [`LakeError`].
    pub async fn manifests(&self) -> Result<Vec<Manifest>, LakeError> {
        let mut manifests = Vec::new();
        for (path, _) in self.list(&format!("manifests/site={}", self.site)).await? {
            let name = path.rsplit('/').next().unwrap_or_default().trim_end_matches(".json");
            let day = name.strip_prefix("date=").and_then(|date| date.parse().ok());
            let chapter = match (day, name) {
                (Some(date), _) => Chapter::Day(date),
                (None, "plant") => Chapter::Plant,
                _ => return Err(self.foreign(&Path::from(path.as_str()), "no manifest has that name")),
            };
            manifests.extend(self.manifest(chapter).await?);
        }
        manifests.sort_by_key(Manifest::chapter);
        Ok(manifests)
    }

    /// Every object of the site with its size, whether a manifest lists it or not.
    ///
    /// # Errors
    /// They cannot be listed. See [`LakeError`].
    pub async fn objects(&self) -> Result<Vec<(String, u64)>, LakeError> {
        let mut objects = Vec::new();
        for kind in Kind::ALL {
            objects.extend(self.list(&format!("{}/site={}", kind.folder(), self.site)).await?);
        }
        Ok(objects)
    }

    /// Reads an object from end to end and holds it against its checksum.
    ///
    /// # Errors
    /// It cannot be read. See [`LakeError`].
    pub async fn look_at(&self, object: &Object) -> Result<Condition, LakeError> {
        self.condition(&Path::from(object.path.as_str()), &object.sha256).await
    }

    /// Claims the site's part for a store, so that two plants with one id do not write into one another. Gives whether
    /// it was not this store's before.
    ///
    /// # Errors
    /// [`LakeError::OfAnother`], unless it is to be taken over; it cannot be read or written.
    pub async fn claim(&self, store: &str, take_over: bool) -> Result<bool, LakeError> {
        let path = Path::from(format!("owners/site={}.json", self.site));
        let found = match self.get(&path).await? {
            Some(bytes) => {
                Some(serde_json::from_slice::<Owner>(&bytes).map_err(|error| self.foreign(&path, error))?.store)
            }
            None => None,
        };
        match found {
            Some(owner) if owner == store => return Ok(false),
            Some(owner) if !take_over => {
                return Err(LakeError::OfAnother { place: self.place.to_string(), site: self.site.to_string(), owner });
            }
            _ => {}
        }
        let owner = Owner { format: FORMAT.into(), site: self.site.to_string(), store: store.into() };
        let bytes = serde_json::to_vec_pretty(&owner).map_err(|error| self.foreign(&path, error))?;
        self.put(&path, bytes, PutMode::Overwrite).await?;
        Ok(true)
    }

    /// Writes a small object, reads it back, lists it and removes it: what a key must be allowed to do. (Removing is
    /// for this alone, and a key that may not do that does all the same.)
    ///
    /// # Errors
    /// Which of the first three failed. See [`LakeError`].
    pub async fn try_out(&self) -> Result<(), LakeError> {
        let folder = format!("probes/site={}", self.site);
        let path = Path::from(format!("{folder}/check.txt"));
        let bytes = b"ovenward check --connect".to_vec();
        let checksum = sha256(&bytes);
        self.put(&path, bytes, PutMode::Overwrite).await?;
        if self.condition(&path, &checksum).await? != Condition::Whole {
            return Err(LakeError::Altered { place: self.place.to_string(), path: path.to_string() });
        }
        self.list(&folder).await?;
        if let Err(error) = self.store.delete(&path).await {
            tracing::warn!(object = %path, "{}", LakeError::of(&self.place, format!("remove {path}"), &error));
        }
        Ok(())
    }

    fn path_of(&self, new: &NewObject, checksum: &str) -> Path {
        let NewObject { kind, folders, name, ending, .. } = new;
        let folder = format!("{}/site={}/{folders}", kind.folder(), self.site);
        let beginning: String = checksum.chars().take(DIGITS_IN_NAME).collect();
        Path::from(format!("{}/{name}-{beginning}.{ending}", folder.trim_end_matches('/')))
    }

    fn manifest_path(&self, chapter: Chapter) -> Path {
        Path::from(format!("manifests/site={}/{chapter}.json", self.site))
    }

    async fn condition(&self, path: &Path, checksum: &str) -> Result<Condition, LakeError> {
        Ok(match self.get(path).await? {
            None => Condition::Missing,
            Some(bytes) if sha256(&bytes) == checksum => Condition::Whole,
            Some(_) => Condition::Altered,
        })
    }

    async fn get(&self, path: &Path) -> Result<Option<Vec<u8>>, LakeError> {
        let got = match self.store.get(path).await {
            Ok(found) => found.bytes().await,
            Err(error) => Err(error),
        };
        match got {
            Ok(bytes) => Ok(Some(bytes.to_vec())),
            Err(Error::NotFound { .. }) => Ok(None),
            Err(error) => Err(LakeError::of(&self.place, format!("read {path}"), &error)),
        }
    }

    async fn put(&self, path: &Path, bytes: Vec<u8>, mode: PutMode) -> Result<(), LakeError> {
        let payload = PutPayload::from(bytes);
        match self.store.put_opts(path, payload.clone(), PutOptions::from(mode)).await {
            // Somebody was quicker with the same name; reading it back tells whether with the same content.
            Ok(_) | Err(Error::AlreadyExists { .. }) => Ok(()),
            // A store without conditional writing: names hold checksums, so it writes the same over the same.
            Err(Error::NotImplemented { .. } | Error::NotSupported { .. }) => {
                let written = self.store.put(path, payload).await;
                written.map(drop).map_err(|error| LakeError::of(&self.place, format!("write {path}"), &error))
            }
            Err(error) => Err(LakeError::of(&self.place, format!("write {path}"), &error)),
        }
    }

    async fn list(&self, folder: &str) -> Result<Vec<(String, u64)>, LakeError> {
        let folder = Path::from(folder);
        let found = self.store.list(Some(&folder)).map_ok(|object| (object.location.to_string(), object.size));
        found.try_collect().await.map_err(|error| LakeError::of(&self.place, format!("list {folder}"), &error))
    }

    fn foreign(&self, path: &Path, detail: impl ToString) -> LakeError {
        LakeError::Foreign { place: self.place.to_string(), path: path.to_string(), detail: detail.to_string() }
    }
}
