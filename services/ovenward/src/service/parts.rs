//! The parts of the service that run, and which of them ended although nobody asked it to.

use anyhow::{Result, anyhow};
use tokio::task::JoinHandle;

/// The running parts of the service.
pub(super) struct Parts {
    pub(super) detection: JoinHandle<Result<()>>,
    pub(super) outbox: JoinHandle<()>,
    pub(super) intake: JoinHandle<()>,
    /// The host application of Sparkplug, and its client.
    pub(super) host: Option<(JoinHandle<()>, JoinHandle<()>)>,
    pub(super) shifts: JoinHandle<()>,
    pub(super) database: JoinHandle<()>,
    pub(super) keeping: JoinHandle<()>,
    pub(super) recovery: JoinHandle<()>,
    pub(super) looking_after: JoinHandle<()>,
    pub(super) telling: JoinHandle<()>,
    pub(super) copying: JoinHandle<()>,
    pub(super) web: JoinHandle<std::io::Result<()>>,
    pub(super) publishing: JoinHandle<()>,
    pub(super) intake_task: JoinHandle<()>,
}

impl Parts {
    /// Waits for a part to end although nobody asked it to, and says which it was and why.
    pub(super) async fn first_to_end(&mut self) -> anyhow::Error {
        let (part, why) = tokio::select! {
            ended = &mut self.detection => ("detection", cause(ended.map_err(Into::into).and_then(|result| result))),
            ended = &mut self.outbox => ("publishing of the outbox", cause(ended.map_err(Into::into))),
            ended = &mut self.intake => ("intake", cause(ended.map_err(Into::into))),
            ended = first_of(&mut self.host) => ("the Sparkplug host application", cause(ended.map_err(Into::into))),
            ended = &mut self.shifts => ("closing of shifts", cause(ended.map_err(Into::into))),
            ended = &mut self.database => ("writing into the database", cause(ended.map_err(Into::into))),
            ended = &mut self.keeping => ("sealing", cause(ended.map_err(Into::into))),
            ended = &mut self.recovery => ("recovery of the store", cause(ended.map_err(Into::into))),
            ended = &mut self.looking_after => ("looking after the certificate", cause(ended.map_err(Into::into))),
            ended = &mut self.telling => ("telling people of alerts", cause(ended.map_err(Into::into))),
            ended = &mut self.copying => ("copying to the lake", cause(ended.map_err(Into::into))),
            ended = &mut self.web => ("the status page", cause(ended.map_err(Into::into).and_then(|result| Ok(result?)))),
            ended = &mut self.publishing => ("the publishing client", cause(ended.map_err(Into::into))),
            ended = &mut self.intake_task => ("the receiving client", cause(ended.map_err(Into::into))),
        };
        why.context(format!("{part} has ended"))
    }
}

/// Waits for either of two that need not be there; for ever, if they are not.
async fn first_of(pair: &mut Option<(JoinHandle<()>, JoinHandle<()>)>) -> Result<(), tokio::task::JoinError> {
    match pair {
        Some((one, other)) => tokio::select! { ended = one => ended, ended = other => ended },
        None => std::future::pending().await,
    }
}

fn cause(ended: Result<()>) -> anyhow::Error {
    ended.err().unwrap_or_else(|| anyhow!("nobody asked it to"))
}
