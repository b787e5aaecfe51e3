//! Normals as files: `normals/LINE/PRODUCT-vN.json`, one a version, replaced as a whole or not at all.

use std::collections::HashMap;
use std::fs::{self, File};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::SystemTime;

use alert::Normals;
use anyhow::{Context, Result, bail};
use normal_profile::{Normal, NormalKey, Standing};
use reading::Plant;

/// The folder of normals of a data directory.
#[derive(Debug, Clone)]
pub struct NormalFiles {
    folder: PathBuf,
}

impl NormalFiles {
    /// The normals of this data directory; the folder need not exist yet.
    #[must_use]
    pub fn new(data_dir: &Path) -> Self {
        Self { folder: data_dir.join("normals") }
    }

    /// Every normal, by line, product and version. A file that cannot be read is reported and left
    /// out: one damaged file must not blind the other ovens.
    ///
    /// # Errors
    /// The folder cannot be listed.
    pub fn all(&self) -> Result<Vec<Normal>> {
        let mut normals = Vec::new();
        for path in files_below(&self.folder)? {
            match read(&path) {
                Ok(normal) => normals.push(normal),
                Err(error) => tracing::warn!("{error:#}; this normal is not used"),
            }
        }
        normals.sort_by_key(sort_key);
        Ok(normals)
    }

    /// The normal with this id, such as `tunnel-1/T800/3`.
    ///
    /// # Errors
    /// The folder cannot be listed.
    pub fn find(&self, id: &str) -> Result<Option<Normal>> {
        Ok(self.all()?.into_iter().find(|normal| normal.key().to_string() == id))
    }

    /// The key of the next version for a line and product.
    ///
    /// # Errors
    /// The folder cannot be listed.
    pub fn next_key(&self, site: &str, line: &str, product: &str) -> Result<NormalKey> {
        let versions = self.all()?.into_iter().map(|normal| normal.key().clone());
        let last = versions.filter(|key| key.line == line && key.product == product).map(|key| key.version).max();
        Ok(NormalKey { site: site.into(), line: line.into(), product: product.into(), version: last.unwrap_or(0) + 1 })
    }

    /// Writes a normal.
    ///
    /// # Errors
    /// The file cannot be written; what stood there before still stands.
    pub fn write(&self, normal: &Normal) -> Result<()> {
        write_whole(&self.path(normal.key()), &normal.to_json())
    }

    /// Approves a normal, and retires the one that was in use for its line and product.
    ///
    /// # Errors
    /// There is no such normal, it has been retired, or a file cannot be written.
    pub fn approve(&self, id: &str, by: &str, at: &str) -> Result<()> {
        let Some(mut chosen) = self.find(id)? else { bail!("there is no normal {id}; `ovenward normals` lists them") };
        chosen.approve(by, at)?;
        for mut other in self.all()? {
            let same = other.key().line == chosen.key().line && other.key().product == chosen.key().product;
            if same && other.key() != chosen.key() && is_approved(&other) {
                other.retire(by, at);
                self.write(&other)?;
            }
        }
        self.write(&chosen)
    }

    /// Retires a normal, for good.
    ///
    /// # Errors
    /// There is no such normal, or the file cannot be written.
    pub fn retire(&self, id: &str, by: &str, at: &str) -> Result<()> {
        let Some(mut normal) = self.find(id)? else { bail!("there is no normal {id}; `ovenward normals` lists them") };
        normal.retire(by, at);
        self.write(&normal)
    }

    /// The approved normals of the plant's lines.
    ///
    /// # Errors
    /// The folder cannot be listed.
    pub fn approved(&self, plant: &Plant) -> Result<Normals> {
        let mut approved = HashMap::new();
        for normal in self.all()?.into_iter().filter(is_approved) {
            let Some((line, found)) = plant.line(&normal.key().line) else { continue };
            if normal.record().columns.zones != found.zones.len() {
                tracing::warn!("normal {} was learned with another number of zones; it is not used", normal.key());
                continue;
            }
            approved.insert((line, Arc::from(normal.key().product.as_str())), Arc::new(normal));
        }
        Ok(approved)
    }

    /// When any normal was last written: tells the running service to read them again.
    #[must_use]
    pub fn changed(&self) -> Option<SystemTime> {
        let paths = files_below(&self.folder).ok()?;
        paths.iter().filter_map(|path| fs::metadata(path).and_then(|data| data.modified()).ok()).max()
    }

    fn path(&self, key: &NormalKey) -> PathBuf {
        file_of(&self.folder, key)
    }
}

/// The JSON files below a folder, however deep; none where there is no folder.
pub(crate) fn files_below(folder: &Path) -> Result<Vec<PathBuf>> {
    if !folder.exists() {
        return Ok(Vec::new());
    }
    let mut paths = Vec::new();
    for entry in fs::read_dir(folder).with_context(|| format!("cannot list {}", folder.display()))? {
        let path = entry.with_context(|| format!("cannot list {}", folder.display()))?.path();
        if path.is_dir() {
            paths.extend(files_below(&path)?);
        } else if path.extension().is_some_and(|end| end == "json") {
            paths.push(path);
        }
    }
    paths.sort();
    Ok(paths)
}

/// Whether a normal is in use.
#[must_use]
pub fn is_approved(normal: &Normal) -> bool {
    matches!(normal.record().standing, Standing::Approved { .. })
}

/// Replaces a file as a whole or not at all, and makes its folder.
pub(crate) fn write_whole(path: &Path, text: &str) -> Result<()> {
    let folder = path.parent().unwrap_or(Path::new("."));
    fs::create_dir_all(folder).with_context(|| format!("cannot make {}", folder.display()))?;
    let unfinished = path.with_extension("json.unfinished");
    let mut file = File::create(&unfinished).with_context(|| format!("cannot write {}", unfinished.display()))?;
    file.write_all(text.as_bytes())?;
    file.sync_all()?;
    fs::rename(&unfinished, path).with_context(|| format!("cannot write {}", path.display()))?;
    File::open(folder)?.sync_all()?;
    Ok(())
}

/// Where the version of a line and product stands below a folder.
pub(crate) fn file_of(folder: &Path, key: &NormalKey) -> PathBuf {
    folder.join(safe(&key.line)).join(format!("{}-v{}.json", safe(&key.product), key.version))
}

fn read(path: &Path) -> Result<Normal> {
    let text = fs::read_to_string(path).with_context(|| format!("cannot read {}", path.display()))?;
    Normal::from_json(&text).with_context(|| format!("{} is not a normal", path.display()))
}

fn sort_key(normal: &Normal) -> (String, String, u32) {
    (normal.key().line.clone(), normal.key().product.clone(), normal.key().version)
}

/// A product code may hold anything; a file name may not.
fn safe(name: &str) -> String {
    let plain = |c: char| c.is_ascii_alphanumeric() || matches!(c, '-' | '_');
    name.chars().map(|c| if plain(c) { c.to_string() } else { format!("%{:X}", u32::from(c)) }).collect()
}
