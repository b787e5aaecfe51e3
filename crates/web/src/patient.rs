//! A stream that waits only so long for its other end to take what is written.

use std::io::{self, ErrorKind, IoSlice};
use std::pin::Pin;
use std::task::{Context, Poll};
use std::time::Duration;

use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::time::{Sleep, sleep};

/// The stream with its patience.
pub(crate) struct Patient<S> {
    stream: S,
    patience: Duration,
    /// Runs while something waits to be taken.
    waiting: Option<Pin<Box<Sleep>>>,
}

impl<S> Patient<S> {
    pub(crate) fn new(stream: S, patience: Duration) -> Self {
        Self { stream, patience, waiting: None }
    }

    /// What became of an attempt to write; an error once none has succeeded for too long.
    fn judge<T>(&mut self, attempt: Poll<io::Result<T>>, context: &mut Context<'_>) -> Poll<io::Result<T>> {
        if attempt.is_ready() {
            self.waiting = None;
            return attempt;
        }
        let patience = self.patience;
        let waiting = self.waiting.get_or_insert_with(|| Box::pin(sleep(patience)));
        match waiting.as_mut().poll(context) {
            Poll::Ready(()) => Poll::Ready(Err(ErrorKind::TimedOut.into())),
            Poll::Pending => Poll::Pending,
        }
    }
}

impl<S: AsyncRead + Unpin> AsyncRead for Patient<S> {
    fn poll_read(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        buffer: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_read(context, buffer)
    }
}

impl<S: AsyncWrite + Unpin> AsyncWrite for Patient<S> {
    fn poll_write(mut self: Pin<&mut Self>, context: &mut Context<'_>, bytes: &[u8]) -> Poll<io::Result<usize>> {
        let attempt = Pin::new(&mut self.stream).poll_write(context, bytes);
        self.judge(attempt, context)
    }

    fn poll_write_vectored(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        slices: &[IoSlice<'_>],
    ) -> Poll<io::Result<usize>> {
        let attempt = Pin::new(&mut self.stream).poll_write_vectored(context, slices);
        self.judge(attempt, context)
    }

    fn is_write_vectored(&self) -> bool {
        self.stream.is_write_vectored()
    }

    fn poll_flush(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_flush(context)
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_shutdown(context)
    }
}
