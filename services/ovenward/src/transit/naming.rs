//! What is asked for has one name on the command line and one in the API: an error says the one that can be written.

/// Where somebody writes.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(crate) enum Naming {
    /// On the command line: `--time-column`.
    #[default]
    Options,
    /// In the API: `time_column`.
    Parameters,
}

impl Naming {
    /// The name of an option as it is written there.
    pub(crate) fn of(self, option: &str) -> String {
        match (self, option) {
            (Self::Options, _) => option.to_owned(),
            (Self::Parameters, "--speed") => "speed_m_min".to_owned(),
            (Self::Parameters, _) => option.trim_start_matches('-').replace('-', "_"),
        }
    }
}
