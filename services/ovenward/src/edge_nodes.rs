//! What is known of Sparkplug edge nodes, as the store keeps it.

use anyhow::Result;
use sparkplug::Nodes;
use store::Store;

use crate::config::Settings;

/// The edge nodes of the config, with what was heard of them before.
///
/// # Errors
/// The store cannot be read.
pub(crate) fn restored(settings: &Settings, store: &Store) -> Result<Nodes> {
    let mut nodes = settings.edge_nodes();
    for (key, json) in store.metas(Nodes::NOTES)? {
        if let Err(error) = nodes.restore(&key, &json) {
            tracing::warn!(
                "what was noted under {key} cannot be read ({error}); the node's next birth will tell it again"
            );
        }
    }
    Ok(nodes)
}
