//! What signing in keeps in mind: the book as it was read last, sessions, wrong passwords.

use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant, SystemTime};

use chrono::{DateTime, Utc};
use tokio::sync::Semaphore;

use super::attempts::Attempts;
use super::book::UserBook;
use super::role::Role;
use super::sessions::Sessions;

/// Lets people in.
pub(crate) struct Desk {
    path: Option<PathBuf>,
    /// Only this machine can ask.
    loopback: bool,
    book: Mutex<(Option<SystemTime>, Arc<UserBook>)>,
    had_users: AtomicBool,
    sessions: Mutex<Sessions>,
    attempts: Mutex<Attempts>,
    /// One password is checked at a time: it is slow on purpose.
    checking: Semaphore,
}

/// Why somebody is not let in.
pub(super) enum Refused {
    /// The name or the password is wrong.
    Wrong,
    /// Too many wrong passwords.
    Wait(Duration),
}

impl Desk {
    /// Lets in who stands in the file; without a file, who sits at this machine.
    pub(crate) fn new(path: Option<PathBuf>, loopback: bool) -> Self {
        Self {
            path,
            loopback,
            book: Mutex::default(),
            had_users: AtomicBool::new(false),
            sessions: Mutex::default(),
            attempts: Mutex::default(),
            checking: Semaphore::new(1),
        }
    }

    /// The book, read again when its file has changed. One that cannot be read lets in whom it let in before.
    pub(super) fn book(&self) -> Arc<UserBook> {
        let Some(path) = &self.path else { return Arc::default() };
        let changed = std::fs::metadata(path).and_then(|file| file.modified()).ok();
        let mut book = lock(&self.book);
        if changed != book.0 {
            match UserBook::read(path) {
                Ok(read) => *book = (changed, Arc::new(read)),
                Err(error) => {
                    tracing::error!("{error}; those who could sign in before still can");
                    book.0 = changed;
                }
            }
        }
        if !book.1.is_empty() {
            self.had_users.store(true, Ordering::Relaxed);
        }
        book.1.clone()
    }

    /// Whether nobody signs in: there never was a user, and only this machine can ask.
    pub(super) fn is_open(&self) -> bool {
        let nobody = self.book().is_empty();
        self.loopback && nobody && !self.had_users.load(Ordering::Relaxed)
    }

    /// Signs somebody in; gives the id of the new session.
    pub(super) async fn sign_in(self: Arc<Self>, name: String, password: String) -> Result<(String, Role), Refused> {
        // The semaphore is never closed.
        let _place = self.checking.acquire().await.map_err(|_| Refused::Wrong)?;
        if let Some(wait) = lock(&self.attempts).wait(&name, Instant::now()) {
            return Err(Refused::Wait(wait));
        }
        lock(&self.attempts).note(&name, Instant::now());
        let book = self.book();
        let asked = name.clone();
        let checked = tokio::task::spawn_blocking(move || book.check(&asked, &password)).await;
        let role = checked.ok().flatten().ok_or(Refused::Wrong)?;
        lock(&self.attempts).forget(&name);
        Ok((lock(&self.sessions).begin(&name, Instant::now()), role))
    }

    /// Who a session belongs to, with the role that the book has for them now.
    pub(super) fn session(&self, id: &str) -> Option<(String, Role)> {
        let name = lock(&self.sessions).name(id, Instant::now())?;
        self.book().role_of(&name).map(|role| (name, role))
    }

    /// Who a token belongs to.
    pub(super) fn token(&self, token: &str) -> Option<(String, Role)> {
        self.book().token(token, DateTime::<Utc>::from(SystemTime::now()))
    }

    /// Ends a session.
    pub(super) fn sign_out(&self, id: &str) {
        lock(&self.sessions).end(id);
    }
}

fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}
