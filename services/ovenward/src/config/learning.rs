//! `[learning]`: how normals are learned.

use normal_profile::LearnSettings;

use super::key::Number;
use super::section::Section;

const WINDOWS: Number = Number::optional("windows", "1500").within(500.0, 100_000.0, "windows");
const MINIMUM_HOURS: Number = Number::optional("minimum_hours", "6").within(1.0, 1000.0, "h of baking");
const MINIMUM_RUNS: Number = Number::optional("minimum_runs", "3").within(1.0, 1000.0, "runs");
const TRIM_SHARE: Number = Number::optional("trim_share", "0.05").within(0.0, 0.25, "of the windows");
const MAX_COMPONENTS: Number = Number::optional("max_components", "6").within(1.0, 12.0, "ways of running");
const SEED: Number = Number::optional("seed", "1").within(0.0, 4_294_967_295.0, "");

/// The settings of learning; `window_s` is what detection uses, for the two must see the same windows.
pub(super) fn read(section: &Section<'_>, window_s: f64) -> LearnSettings {
    let defaults = LearnSettings::default();
    let whole = |number: &Number| section.count(number).and_then(|count| usize::try_from(count).ok());
    let settings = LearnSettings {
        most_windows_fitted: whole(&WINDOWS).unwrap_or(defaults.most_windows_fitted),
        minimum_hours: section.number(&MINIMUM_HOURS).unwrap_or(defaults.minimum_hours),
        minimum_runs: whole(&MINIMUM_RUNS).unwrap_or(defaults.minimum_runs),
        trim_share: section.number(&TRIM_SHARE).unwrap_or(defaults.trim_share),
        max_components: whole(&MAX_COMPONENTS).unwrap_or(defaults.max_components),
        seed: section.count(&SEED).unwrap_or(defaults.seed),
        window_s,
        ..defaults
    };
    section.finish();
    settings
}
