//! Who may use the console: the file of users, and where the console may listen without any.

use std::path::{Path, PathBuf};

use anyhow::{Result, bail};
use web::sign_in::UserBook;

use crate::config::Settings;

/// Where the users of the console stand.
pub(crate) fn users_file(data_dir: &Path) -> PathBuf {
    data_dir.join("users.json")
}

/// Says who may come in.
///
/// # Errors
/// There are no users, and the console would listen to more than this machine.
pub(super) fn check(settings: &Settings, users: &Path) -> Result<()> {
    let (bind, nobody) = (settings.console.bind, UserBook::read(users)?.is_empty());
    let is_plain = settings.console.tls.is_none();
    match (bind.ip().is_loopback(), nobody) {
        (true, true) => {
            tracing::info!(
                "there are no users: the console is for this machine alone, and whoever sits at it acts as engineer"
            );
        }
        (false, true) => bail!(
            "[console] bind = \"{bind}\" listens to the network, and there are no users; add one with `ovenward user add \
             NAME --role engineer`, or bind to \"127.0.0.1:{}\"",
            bind.port()
        ),
        (false, false) if is_plain => {
            tracing::warn!(
                "the console speaks plain HTTP to the network: browsers sign in only over TLS; write [console] tls = \
                 {{ cert_file, key_file }}, or put a proxy before it that speaks TLS"
            );
        }
        (_, false) => {}
    }
    Ok(())
}
