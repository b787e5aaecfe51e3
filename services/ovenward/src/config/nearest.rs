//! The known word that a misspelt one was meant to be.

/// Words less alike than this have nothing to do with each other.
const LEAST_LIKENESS: f64 = 0.6;

/// The most similar of the known words, if one is similar enough. Case does not count.
pub(super) fn nearest<'w>(word: &str, known: impl IntoIterator<Item = &'w str>) -> Option<&'w str> {
    let word = word.to_lowercase();
    let likeness = |known: &str| strsim::normalized_damerau_levenshtein(&word, &known.to_lowercase());
    known
        .into_iter()
        .map(|known| (likeness(known), known))
        .filter(|(likeness, _)| *likeness >= LEAST_LIKENESS)
        .max_by(|one, other| one.0.total_cmp(&other.0))
        .map(|(_, known)| known)
}
