//! Root and the service's data: a file that root makes among them is one that the service cannot write.

use std::fs;
use std::os::unix::fs::MetadataExt;
use std::path::Path;

use crate::failure::Failure;

const ROOT: u32 = 0;

/// Refuses to work as root on data of another user.
///
/// # Errors
/// Who runs the program is root, and the folder somebody else's: with the command to write instead.
pub(crate) fn not_as_root(data_dir: &Path) -> Result<(), Failure> {
    // A folder that is not there yet is nobody's.
    let (Ok(this_process), Ok(folder)) = (fs::metadata("/proc/self"), fs::metadata(data_dir)) else { return Ok(()) };
    if this_process.uid() != ROOT || folder.uid() == ROOT {
        return Ok(());
    }
    let users = fs::read_to_string("/etc/passwd").unwrap_or_default();
    Err(refusal(data_dir, &name_of(folder.uid(), &users)))
}

fn refusal(data_dir: &Path, owner: &str) -> Failure {
    Failure::usage(format!(
        "the data in {} belong to {owner}, and what root writes among them the service could not use: \
         write runuser -u {owner} -- ovenward …",
        data_dir.display()
    ))
}

/// The name of a user; its number where it has none.
fn name_of(user: u32, users: &str) -> String {
    let number = user.to_string();
    let named = users.lines().map(|line| line.split(':').collect::<Vec<_>>());
    let named = named.filter(|fields| fields.get(2) == Some(&number.as_str()));
    named.filter_map(|fields| fields.first().copied()).next().unwrap_or(&number).to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_user_is_told_by_name() {
        let users = "root:x:0:0:root:/root:/bin/bash\novenward:x:990:990::/var/lib/ovenward:/usr/sbin/nologin\n";
        assert_eq!(name_of(990, users), "ovenward");
        assert_eq!(name_of(99, users), "99");
    }
}
