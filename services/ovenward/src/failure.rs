//! How a command ends when it does not end well.

use std::fmt;

use crate::config::ConfigFaults;

/// Why a command did not do what was asked, with the exit status that says so to a script.
#[derive(Debug)]
pub enum Failure {
    /// It was tried and failed: status 1.
    Failed(anyhow::Error),
    /// The command or the config is wrong: status 2.
    Usage(anyhow::Error),
    /// The config is wrong: status 2.
    Config(ConfigFaults),
    /// The thing asked for has no data: status 3.
    NoData(String),
}

impl Failure {
    /// A usage failure in words.
    #[must_use]
    pub fn usage(text: impl Into<String>) -> Self {
        Self::Usage(anyhow::Error::msg(text.into()))
    }

    /// The failures among several attempts as one, told line by line.
    ///
    /// # Errors
    /// At least one of them has failed.
    pub fn all(attempts: impl IntoIterator<Item = Result<(), Self>>) -> Result<(), Self> {
        let failed: Vec<Self> = attempts.into_iter().filter_map(Result::err).collect();
        match <[Self; 1]>::try_from(failed) {
            Ok([one]) => Err(one),
            Err(none) if none.is_empty() => Ok(()),
            Err(several) => {
                let told: Vec<String> = several.iter().map(ToString::to_string).collect();
                Err(Self::Failed(anyhow::Error::msg(told.join("\n"))))
            }
        }
    }

    /// The exit status.
    #[must_use]
    pub fn status(&self) -> u8 {
        match self {
            Self::Failed(_) => 1,
            Self::Usage(_) | Self::Config(_) => 2,
            Self::NoData(_) => 3,
        }
    }
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Failed(error) | Self::Usage(error) => write!(f, "{error:#}"),
            Self::Config(faults) => write!(f, "{faults}"),
            Self::NoData(text) => f.write_str(text),
        }
    }
}

impl<E: Into<anyhow::Error>> From<E> for Failure {
    fn from(error: E) -> Self {
        Self::Failed(error.into())
    }
}
