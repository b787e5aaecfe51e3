//! What waits between the connection and a consumer that has no time just now.
//!
//! The connection must be served at every moment (keep-alive, acknowledgements), so nothing here
//! ever waits for the consumer *instead of* the network: [`Outlet::during`] hands out events while
//! something else is awaited.

use std::collections::VecDeque;
use std::pin::pin;

use tokio::sync::mpsc;

use crate::intake::{Delivery, IntakeEvent};

/// Messages in one [`IntakeEvent::Delivered`]: enough to spread the cost of a channel and of a
/// transaction, few enough to be soon on its way.
const LARGEST_BATCH: usize = 512;

/// Batches in the channel; what does not fit waits in the outlet.
const CHANNEL: usize = 8;

/// From this many waiting messages on, those of QoS 0 are dropped, since the broker sends them
/// whether or not there is room. Those of QoS 1 are not: the broker itself stops at the receive
/// maximum (65,535 at most).
const LARGEST_BACKLOG: usize = 100_000;

pub(crate) struct Outlet {
    /// None once the consumer has been told that nothing follows.
    channel: Option<mpsc::Sender<IntakeEvent>>,
    queue: VecDeque<IntakeEvent>,
    /// Deliveries in the queue.
    backlog: usize,
    finishing: bool,
}

impl Outlet {
    pub(crate) fn new() -> (Self, mpsc::Receiver<IntakeEvent>) {
        let (channel, receiver) = mpsc::channel(CHANNEL);
        let outlet = Self { channel: Some(channel), queue: VecDeque::new(), backlog: 0, finishing: false };
        (outlet, receiver)
    }

    /// Queues an event.
    pub(crate) fn tell(&mut self, event: IntakeEvent) {
        if self.finishing {
            return;
        }
        match (self.queue.back_mut(), &event) {
            // A consumer that sleeps through an outage needs the last reason, not all of them.
            (Some(last @ IntakeEvent::Disconnected { .. }), IntakeEvent::Disconnected { .. }) => *last = event,
            _ => self.queue.push_back(event),
        }
    }

    /// Whether so many messages wait that one which the broker does not keep has to be dropped.
    pub(crate) fn is_full(&self) -> bool {
        self.backlog >= LARGEST_BACKLOG
    }

    /// Whether nothing more is accepted.
    pub(crate) fn is_finishing(&self) -> bool {
        self.finishing
    }

    /// Whether nobody takes what is handed out.
    pub(crate) fn is_abandoned(&self) -> bool {
        self.channel.as_ref().is_some_and(mpsc::Sender::is_closed)
    }

    /// Queues a message.
    pub(crate) fn deliver(&mut self, delivery: Delivery) {
        if self.finishing {
            return;
        }
        match self.queue.back_mut() {
            Some(IntakeEvent::Delivered(batch)) if batch.len() < LARGEST_BATCH => batch.push(delivery),
            _ => {
                // A full batch goes as soon as it can, however busy the connection is.
                self.send_ready();
                self.queue.push_back(IntakeEvent::Delivered(vec![delivery]));
            }
        }
        self.backlog += 1;
    }

    /// Takes back the messages of a connection that has ended, unless they asked for no
    /// acknowledgement: the broker sends the others again.
    pub(crate) fn take_back(&mut self) {
        for event in &mut self.queue {
            if let IntakeEvent::Delivered(batch) = event {
                batch.retain(|delivery| delivery.token == crate::Token::NONE);
            }
        }
        self.queue.retain(|event| !matches!(event, IntakeEvent::Delivered(batch) if batch.is_empty()));
        self.backlog = self.queue.iter().map(deliveries).sum();
    }

    /// Accepts nothing more; closes the channel behind the last event.
    pub(crate) fn finish(&mut self) {
        self.finishing = true;
        if self.queue.is_empty() {
            self.channel = None;
        }
    }

    /// Sends what the channel has room for, without waiting.
    fn send_ready(&mut self) {
        while !self.queue.is_empty() {
            let Some(channel) = &self.channel else { return };
            let Ok(permit) = channel.try_reserve() else { return };
            if let Some(event) = self.queue.pop_front() {
                self.backlog -= deliveries(&event);
                permit.send(event);
            }
        }
    }

    /// Awaits `future` and meanwhile hands out what waits here. `future` goes first: while it is
    /// ready at once, messages gather into larger batches.
    pub(crate) async fn during<T>(&mut self, future: impl Future<Output = T>) -> T {
        let mut future = pin!(future);
        loop {
            tokio::select! {
                biased;
                value = &mut future => return value,
                () = self.send_next() => {}
            }
        }
    }

    /// Waits for room and sends one event; never returns if there is nothing to send.
    async fn send_next(&mut self) {
        let permit = match &self.channel {
            Some(channel) if !self.queue.is_empty() => channel.reserve().await.ok(),
            _ => std::future::pending().await,
        };
        match (permit, self.queue.pop_front()) {
            (Some(permit), Some(event)) => {
                self.backlog -= deliveries(&event);
                permit.send(event);
            }
            // The consumer is gone: what is unacknowledged stays with the broker.
            _ => self.queue.clear(),
        }
        if self.finishing && self.queue.is_empty() {
            self.channel = None;
        }
    }
}

fn deliveries(event: &IntakeEvent) -> usize {
    match event {
        IntakeEvent::Delivered(batch) => batch.len(),
        _ => 0,
    }
}
